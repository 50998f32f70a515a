package web

import (
	"errors"
	"html/template"
	"io"
	"net/http"
	"slices"
	"time"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
)

type peopleBody struct {
	People      []shoplog.Person
	Roles       []string
	MayAdd      bool
	Added       shoplog.PersonAdded
	Problem     string
	Said        string
	TwoPeople   bool
	Key         string
	Fingerprint string
	NotKnown    string // entries that this version does not know
	ClockBack   string
}

func (s *Server) getPeople(w http.ResponseWriter, r *http.Request) error {
	return s.peoplePage(w, r, http.StatusOK, peopleBody{})
}

func (s *Server) peoplePage(w http.ResponseWriter, r *http.Request, code int, body peopleBody) error {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	for _, h := range state.Handles() {
		body.People = append(body.People, state.People[h])
	}
	body.Roles = shoplog.Roles
	body.NotKnown, body.ClockBack = record.Unknown("the shop's log", state.Unknown), record.Back(state.Jumps)
	body.MayAdd = state.People[s.handle(r)].Role == shoplog.Manager
	body.TwoPeople, body.Key, body.Fingerprint = state.Policy.TwoPeople, state.Key, ledger.Fingerprint(state.Key)
	return s.show(w, r, code, "people", page{Title: "People", Here: "people"}, body)
}

func (s *Server) postPerson(w http.ResponseWriter, r *http.Request) error {
	body := peopleBody{Added: shoplog.PersonAdded{
		Handle: value(r, "handle"), Name: value(r, "name"), Role: value(r, "role"),
		Certificate: value(r, "certificate"), Number: value(r, "number"), Scope: value(r, "scope"),
		Since: time.Now().Format(time.DateOnly),
	}}
	err := shop.GoodPassword(r.FormValue("password"))
	if err == nil {
		err = s.checkPassword(r, s.handle(r), r.FormValue("mine"))
	}
	if err == nil {
		_, err = s.Shop().State(r.Context(), s.who(r), &body.Added)
	}
	if err == nil {
		err = s.Shop().SetPassword(r.Context(), s.who(r), body.Added.Handle, r.FormValue("password"))
	}
	var refusal *record.Refusal
	if errors.As(err, &refusal) {
		body.Problem = sentence(err.Error())
		return s.peoplePage(w, r, refused(refusal), body)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (s *Server) postPassword(w http.ResponseWriter, r *http.Request) error {
	handle := s.handle(r)
	err := s.checkPassword(r, handle, r.FormValue("mine"))
	if err == nil {
		err = s.Shop().SetPassword(r.Context(), s.who(r), handle, r.FormValue("password"))
	}
	var refusal *record.Refusal
	if errors.As(err, &refusal) {
		return s.peoplePage(w, r, refused(refusal), peopleBody{Problem: sentence(err.Error())})
	}
	if err != nil {
		return err
	}
	// Whoever else signed in as them must do so anew.
	s.changed.Store(handle, time.Now().UnixNano())
	if err := s.signIn(r.Context(), handle); err != nil {
		return err
	}
	return s.peoplePage(w, r, http.StatusOK, peopleBody{Said: "Your password is changed. Elsewhere you are signed out."})
}

type booksBody struct {
	Editions   []pictured
	Drafts     []draftRow
	MayAdopt   bool
	MayPrepare bool
	Problem    string
	Faults     fault.List
	Title      intake.Title // of the book that a table is to begin
	NoTable    []string     // why it did not
}

func (s *Server) getBooks(w http.ResponseWriter, r *http.Request) error {
	return s.booksPage(w, r, http.StatusOK, booksBody{})
}

func (s *Server) booksPage(w http.ResponseWriter, r *http.Request, code int, body booksBody) error {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	if body.Editions, err = s.pictured(r.Context(), state); err != nil {
		return err
	}
	now := time.Now()
	body.MayAdopt = shop.MayState(state, s.handle(r), &shoplog.EditionAdopted{}, now)
	body.MayPrepare = s.options.Drafts != nil && shop.MayPrepare(state, s.handle(r), now) == nil
	if body.Drafts, err = s.draftRows(); err != nil {
		return err
	}
	return s.show(w, r, code, "books", page{Title: "Books", Here: "books"}, body)
}

func (s *Server) postBook(w http.ResponseWriter, r *http.Request) error {
	fail := func(err error) error {
		var body booksBody
		if !errors.As(err, &body.Faults) {
			_, body.Problem = said(err)
		}
		return s.booksPage(w, r, http.StatusUnprocessableEntity, body)
	}
	name, text, err := fileOf(r, "book")
	if err != nil {
		return fail(record.Refuse("file", "choose one: a book as docs/formats.md describes it", "no file came"))
	}
	if _, settled, err := fileOf(r, "settled"); err == nil {
		text = book.Join(text, settled)
	}
	e, err := s.Shop().Adopt(r.Context(), s.who(r), name, text)
	var refusal *record.Refusal
	var faults fault.List
	if errors.As(err, &refusal) || errors.As(err, &faults) {
		return fail(err)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/books/"+e.Edition, http.StatusSeeOther)
	return nil
}

// fileOf is a file that a form brings.
func fileOf(r *http.Request, field string) (name string, data []byte, err error) {
	f, head, err := r.FormFile(field)
	if err != nil {
		return "", nil, err
	}
	defer f.Close()
	data, err = io.ReadAll(f)
	return head.Filename, data, err
}

// A bookLine is a line of a book, as it is read beside the manual.
type bookLine struct{ Ref, Name, Limits, Page, Amendment string }

type bookBody struct {
	shoplog.EditionAdopted
	Book    *book.Book
	Lines   []bookLine
	MayOpen bool
	Adopted bool // just now
}

func (s *Server) getBook(w http.ResponseWriter, r *http.Request) error {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	e, ok := state.Editions[r.PathValue("edition")]
	if !ok {
		return errNoPage
	}
	b, err := s.Shop().Book(r.Context(), e.Edition)
	if err != nil {
		return err
	}
	body := bookBody{EditionAdopted: e, Book: b, MayOpen: shop.MayAsk(state, s.handle(r), &job.Open{}, time.Now()), Adopted: r.FormValue("adopted") != ""}
	words := judge.Words{Book: b}
	for _, l := range b.Lines {
		row := bookLine{Ref: l.Ref, Name: l.Name, Limits: words.Limits(l, l.Limit), Page: l.Page}
		if l.Amendment != nil {
			row.Amendment = l.Amendment.Number
		}
		body.Lines = append(body.Lines, row)
	}
	return s.show(w, r, http.StatusOK, "book", page{Title: b.Engine, Here: "books"}, body)
}

// A signBody is what a signature's page shows.
type signBody struct {
	Part, As, Name string
	Statement      string
	Problem        string
	Sealed         *shop.Sealed
	Fingerprint    string
	Parts          []signPart
	Blocks         []job.Block
	Closes         bool // it closes the inspection
}

type signPart struct {
	Key, Name            string
	Performed, Inspected string // by whom, as it stands
	Measured, Spots      int
	Beyond, Undecided    int
	Word                 string // the worst of its lines
	Ruler                template.HTML
}

func (s *Server) getSign(w http.ResponseWriter, r *http.Request) error {
	return s.signPage(w, r, http.StatusOK, signBody{Part: r.FormValue("part"), As: r.FormValue("as"), Closes: r.FormValue("close") != ""})
}

func (s *Server) signPage(w http.ResponseWriter, r *http.Request, code int, body signBody) error {
	j, err := s.stands(r.Context(), r.PathValue("order"))
	if err != nil {
		return err
	}
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	body.Blocks = blocks(j)
	words := judge.Words{Book: j.Book}
	for _, p := range j.Book.Parts {
		if len(j.Of(p.Key)) == 0 {
			continue
		}
		row := signPart{Key: p.Key, Name: p.Name}
		if of, ok := partOf(words, j, p); ok {
			row.Measured, row.Spots, row.Word, row.Ruler = of.Measured, of.Spots, of.Word, of.Ruler
		}
		for _, v := range j.Of(p.Key) {
			switch {
			case v.Grade == judge.Beyond:
				row.Beyond++
			case !v.Decided():
				row.Undecided++
			}
		}
		for _, sig := range slices.Backward(j.State.Signed) {
			to := &row.Performed
			if sig.As == job.Inspected {
				to = &row.Inspected
			}
			if sig.Step == p.Key && *to == "" && j.Stands(&sig) {
				*to = name(state, sig.By)
			}
		}
		if p.Key == body.Part {
			body.Name = p.Name
		}
		body.Parts = append(body.Parts, row)
	}
	if (body.Part != "" && body.As != "" || body.Closes) && body.Sealed == nil {
		_, statement, err := s.Shop().Signature(r.Context(), s.who(r), r.PathValue("order"), body.Part, body.As)
		var refusal *record.Refusal
		switch {
		case errors.As(err, &refusal):
			if body.Problem == "" {
				body.Problem = sentence(err.Error())
			}
		case err != nil:
			return err
		default:
			body.Statement = statement
		}
	}
	body.Fingerprint = ledger.Fingerprint(state.Key)
	return s.show(w, r, code, "sign", s.about(j, "Sign", "sign"), body)
}

func (s *Server) postSign(w http.ResponseWriter, r *http.Request) error {
	body := signBody{Part: r.FormValue("part"), As: r.FormValue("as"), Closes: r.FormValue("close") != ""}
	order := r.PathValue("order")
	request, statement, err := s.Shop().Signature(r.Context(), s.who(r), order, body.Part, body.As)
	if err == nil && statement != r.FormValue("statement") {
		err = record.Refuse("statement", "read it again, then sign", "what you would sign has changed since you read it")
	}
	var sealed shop.Sealed
	if err == nil {
		err = s.guarded(r, s.handle(r), func() error {
			_, sealed, err = s.Shop().Sign(r.Context(), s.who(r), r.FormValue("password"), order, request)
			return err
		})
	}
	var refusal *record.Refusal
	if errors.As(err, &refusal) {
		body.Problem = sentence(err.Error())
		return s.signPage(w, r, refused(refusal), body)
	}
	if err != nil {
		return err
	}
	body.Sealed = &sealed
	return s.signPage(w, r, http.StatusOK, body)
}
