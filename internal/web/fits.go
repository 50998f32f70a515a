package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/judge"
)

// A fitRow is a row of clearances with the sizes that it may be the fit of.
type fitRow struct {
	line  *book.Line
	links []check.Link
}

// fitsOf are the rows of clearances that may be fits, and behind them those that
// a person has linked.
func fitsOf(b *book.Book) (suggested, linked []fitRow) {
	for _, k := range check.Links(b) {
		if n := len(suggested); n == 0 || suggested[n-1].line != k.Line {
			suggested = append(suggested, fitRow{line: k.Line})
		}
		at := &suggested[len(suggested)-1]
		at.links = append(at.links, k)
	}
	for _, l := range b.Lines {
		if l.Link != nil {
			linked = append(linked, fitRow{line: l})
		}
	}
	return suggested, linked
}

// A fitChoice is one fit that a row of clearances may be.
type fitChoice struct {
	Value string // as a book writes it
	Sizes []foundLine
	Sum   []string
	Why   string
	But   string // why it can't be linked so
	First bool   // the first that can
}

type fitsBody struct {
	draftHead
	List       []holdLink
	Done, All  int
	None       bool
	At         string
	About      foundLine
	Link       string // as it is linked
	Choices    []fitChoice
	May        bool // one of them can be linked
	Chose      string
	Skip, Back string
	TakeBack   backBody
}

func (s *Server) getFits(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	return s.fitsPage(w, r, http.StatusOK, d, fitsBody{At: r.FormValue("at")})
}

func (s *Server) fitsPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, body fitsBody) error {
	h, ok, err := s.headOfLines(w, r, d, "fits", body.Problem)
	if !ok {
		return err
	}
	body.draftHead = h
	suggested, linked := fitsOf(d.Loaded)
	body.Done, body.All = len(linked), len(linked)+len(suggested)
	all := slices.Concat(suggested, linked)
	at := max(0, slices.IndexFunc(all, func(f fitRow) bool { return f.line.Key == body.At }))
	link := func(n int) string { return h.Path + "/fits?at=" + url.QueryEscape(all[n].line.Key) }
	for i, f := range all {
		one := holdLink{To: link(i), Name: strings.TrimSpace(f.line.Ref + " " + f.line.Name), Text: f.line.Says.New, Here: i == at, Done: i >= len(suggested)}
		one.Small = plural(len(f.links), "fit") + " that it may be"
		if one.Done {
			one.Small = "the fit of its sizes, says " + f.line.Link.By
		}
		body.List = append(body.List, one)
	}
	if body.None = len(all) == 0 || body.At == "" && len(suggested) == 0; !body.None {
		if at > 0 {
			body.Back = link(at - 1)
		}
		body.Skip = h.Path + "/findings"
		if at+1 < len(suggested) {
			body.Skip = link(at + 1)
		}
		fillFit(&body, d, &all[at])
	}
	return s.show(w, r, code, "draft-fits", page{Title: "Fits of " + d.Engine, Here: "books"}, body)
}

// fillFit fills the page in with one row of clearances.
func fillFit(body *fitsBody, d *draft.Draft, f *fitRow) {
	body.At = f.line.Key
	body.About = aboutLine(d, f.line, book.HoldNew)
	body.TakeBack = backBody{Path: body.Path, Of: "fits", At: body.At, Struck: struckOf(d.Loaded, f.line.Key)}
	if k := f.line.Link; k != nil {
		if body.MayPrepare {
			body.TakeBack.Now = "the fit"
		}
		body.Link = k.Fit + ": " + strings.TrimSpace(k.By+" "+k.Date)
	}
	for _, k := range f.links {
		one := fitChoice{Value: k.Fit, Sum: k.Sum, Why: strings.Join(k.Why, "; "), But: butOf(&k), First: k.But == "" && !body.May}
		body.May = body.May || one.First
		for _, l := range k.Sizes {
			one.Sizes = append(one.Sizes, aboutLine(d, l, book.HoldNew))
		}
		body.Choices = append(body.Choices, one)
	}
}

// butOf is why a fit can't be linked, with its sizes by name.
func butOf(k *check.Link) string {
	var names []string
	for _, l := range k.Sizes {
		names = append(names, l.Terms[0].Feature.Ref()+" ", l.Name+" ")
	}
	return strings.NewReplacer(names...).Replace(k.But)
}

// aboutLine is a line with its limits and its row as printed.
func aboutLine(d *draft.Draft, l *book.Line, cells ...string) foundLine {
	one := foundLine{Ref: l.Ref, Name: l.Name, Limits: lineSide(judge.Words{Book: d.Loaded}, l)}
	one.Row, one.RowLine = rowAsPrinted(d, l, cells)
	return one
}

// postFit confirms one.
func (s *Server) postFit(w http.ResponseWriter, r *http.Request) error {
	d, by, err := s.settlingDraft(r)
	if err != nil {
		return err
	}
	body := fitsBody{At: r.FormValue("at"), Chose: r.FormValue("fit")}
	fail := func(problem string) error {
		body.Problem = problem
		return s.fitsPage(w, r, http.StatusUnprocessableEntity, d, body)
	}
	suggested, _ := fitsOf(d.Loaded)
	at := slices.IndexFunc(suggested, func(f fitRow) bool { return f.line.Key == body.At })
	if at < 0 || !slices.ContainsFunc(suggested[at].links, func(k check.Link) bool { return k.Fit == body.Chose }) {
		return fail("Nothing that is suggested is chosen: choose a fit, or leave the clearance as it is.")
	}
	if err := s.options.Drafts.Confirm(d.Name, book.Linking{Line: body.At, Fit: body.Chose, By: by.By, Why: value(r, "words"), Date: by.Date}); err != nil {
		var faults fault.List
		if words, ok := refusedWords(err); ok && !errors.As(err, &faults) {
			return fail(strings.Join(words, " "))
		} else if ok {
			return fail(saidOf(err))
		}
		return err
	}
	if d, err = s.draftOf(r); err != nil {
		return err
	}
	to := draftPath(d.Name) + "/findings"
	if suggested, _ = fitsOf(d.Loaded); at < len(suggested) {
		to = draftPath(d.Name) + "/fits?at=" + url.QueryEscape(suggested[at].line.Key)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}
