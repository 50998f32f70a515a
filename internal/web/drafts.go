package web

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/judge"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/table"
)

// A draftHead is what stands above every page of a draft: where it is, and that
// no row is lost.
type draftHead struct {
	Path, Engine       string
	Here               string // columns, rows, holds, findings, adopt
	SumRows, SumLines  int    // rows = lines + held
	SumHeld            int
	SumOpen            int  // of them without limits yet
	Holds, Found       int  // what waits for a person
	Fits               int  // rows of clearances that may be fits
	Linked             bool // and some are
	Read               bool
	MayPrepare         bool
	MayAdopt           bool
	Edited             string // the file that somebody edited by hand
	Tables             []draftTable
	Table              int  // which of them the page is about
	Whole              bool // and it is a whole book, as a sheet
	Wrong              []string
	Problem, Said      string
	PreparesNot, Adopt string // why not

	Away  []string // what was settled of rows that are not in the book now
	Unfit []string // and of rows that it does not fit any more
}

// A draftTable is a table of a draft in a list of them.
type draftTable struct {
	N       int
	Name    string
	Sheet   string
	Rows    int
	Out     bool
	Problem bool
}

func draftPath(name string) string { return "/drafts/" + url.PathEscape(name) }

// draftOf opens the draft that a request is about.
func (s *Server) draftOf(r *http.Request) (*draft.Draft, error) {
	if s.options.Drafts == nil {
		return nil, draft.ErrNone
	}
	return s.options.Drafts.Open(r.PathValue("draft"))
}

// stamp says who does something to a draft today.
func (s *Server) stamp(r *http.Request) (draft.Stamp, error) {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return draft.Stamp{}, err
	}
	if err := shop.MayPrepare(state, s.handle(r), time.Now()); err != nil {
		return draft.Stamp{}, err
	}
	if s.options.Drafts == nil {
		return draft.Stamp{}, draft.ErrNone
	}
	return draft.Stamp{By: name(state, s.handle(r)), Date: time.Now().Format(time.DateOnly)}, nil
}

// draftToChange opens the draft that a request changes, and says who does.
func (s *Server) draftToChange(r *http.Request) (*draft.Draft, draft.Stamp, error) {
	d, err := s.draftOf(r)
	if err != nil {
		return nil, draft.Stamp{}, err
	}
	by, err := s.stamp(r)
	return d, by, err
}

// headOf is the head of a draft's pages.
func (s *Server) headOf(r *http.Request, d *draft.Draft, here string) (draftHead, error) {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return draftHead{}, err
	}
	h := draftHead{Path: draftPath(d.Name), Engine: d.Engine, Here: here, Read: d.Loaded != nil}
	h.SumRows, h.SumHeld, h.SumOpen = d.Count()
	h.SumLines = h.SumRows - h.SumHeld - h.SumOpen
	now := time.Now()
	h.MayPrepare = shop.MayPrepare(state, s.handle(r), now) == nil
	h.MayAdopt = shop.MayState(state, s.handle(r), &shoplog.EditionAdopted{}, now)
	if d.Edited {
		h.Edited = d.File()
	}
	h.Table = tableNumber(r, d)
	h.Whole = d.Tables[h.Table].Whole
	for i, t := range d.Tables {
		one := draftTable{N: i, Name: t.Entry.Name, Sheet: t.Entry.Sheet, Out: t.Out, Problem: t.Read == nil}
		if t.Read != nil {
			one.Rows = len(t.Read.Rows)
		}
		h.Tables = append(h.Tables, one)
	}
	h.Wrong = wrongOf(d.Wrong)
	h.Away, h.Unfit = asideOf(d)
	if d.Loaded != nil {
		waits, _ := holdsOf(d.Loaded)
		h.Holds = len(waits)
		suggested, linked := fitsOf(d.Loaded)
		h.Fits, h.Linked = len(suggested), len(linked) > 0
		h.Found, _ = openFindings(findingsOf(d.Loaded))
	}
	return h, nil
}

// asideOf tells what was settled of a draft and is not in its book now.
func asideOf(d *draft.Draft) (away, unfit []string) {
	aside := d.Aside()
	for i := range aside {
		a := &aside[i]
		text := a.Line
		if n := slices.IndexFunc(d.Tables, func(t *draft.Table) bool { return t.File == a.Table }); n >= 0 {
			text = fmt.Sprintf("%s, row %d", d.Tables[n].Entry.Name, a.Row)
		}
		switch {
		case a.Cell != "":
			text += fmt.Sprintf(", %s: settled as %s", a.Cell, a.Text())
		case a.Finding():
			text += ": the finding " + a.Text() + " may stand"
		default:
			text += ": confirmed as " + a.Text()
		}
		if text += ", " + a.By(); a.But == "" {
			away = append(away, text)
		} else {
			unfit = append(unfit, text+"; but "+a.But)
		}
	}
	return away, unfit
}

// afterHolds is where a draft goes on once its holds are settled.
func (h *draftHead) afterHolds() string {
	if h.Fits > 0 {
		return "/fits"
	}
	return "/findings"
}

// wrongOf is why a book can't be loaded, one thing a line.
func wrongOf(err error) []string {
	var faults fault.List
	switch {
	case err == nil:
		return nil
	case errors.As(err, &faults):
		const most = 20
		var all []string
		for _, f := range faults[:min(most, len(faults))] {
			all = append(all, f.String())
		}
		if more := len(faults) - most; more > 0 {
			all = append(all, fmt.Sprintf("and %d more", more))
		}
		return all
	}
	return strings.Split(err.Error(), "\n")
}

// tableNumber is which of a draft's tables a request is about: as it says, else
// the first that can't be read, else the first that is not left out.
func tableNumber(r *http.Request, d *draft.Draft) int {
	if n, err := strconv.Atoi(r.FormValue("table")); err == nil && n >= 0 && n < len(d.Tables) {
		return n
	}
	for i, t := range d.Tables {
		if t.Read == nil && !t.Out {
			return i
		}
	}
	return max(0, slices.IndexFunc(d.Tables, func(t *draft.Table) bool { return !t.Out }))
}

// wholeWords says what is wrong with a book as a sheet, and at which cell.
func wholeWords(faults fault.List) []string {
	var all []string
	for _, f := range faults {
		text := f.What
		if f.Text != "" {
			text = "“" + fault.Cut(f.Text) + "” " + text
		}
		if f.Line > 0 {
			place := fmt.Sprintf("row %d", f.Line)
			if f.Column > 0 {
				place += ", column " + (&intake.Column{At: f.Column - 1}).Letter()
			}
			if _, sheet, ok := strings.Cut(f.File, ", sheet "); ok {
				place = "sheet " + sheet + ", " + place
			}
			text = place + ": " + text
		}
		if f.Do != "" {
			text += ": " + f.Do
		}
		all = append(all, sentence(text))
	}
	return all
}

// tableWords says what is wrong with a table as one is told who looks at a page.
func tableWords(faults fault.List) []string {
	var all []string
	for _, f := range faults {
		text := f.What
		if f.Text != "" {
			text = "“" + fault.Cut(f.Text) + "” " + text
		}
		if f.Line > 0 {
			text = fmt.Sprintf("Row %d: %s", f.Line, text)
		}
		do := f.Do
		switch f.Code {
		case "header":
			do = "say which row the headings stand on, and below it what each column holds"
		case "column":
			do = "say below what each column holds: one says what is measured, and one and more hold limits"
		case "sheet":
			do = "choose one of its sheets"
		}
		if do != "" {
			text += ": " + do
		}
		all = append(all, sentence(text))
	}
	return all
}

// uploaded is the table that a form brings.
func (s *Server) uploaded(r *http.Request) (up draft.Upload, err error) {
	if up.Stamp, err = s.stamp(r); err != nil {
		return up, err
	}
	f, head, err := r.FormFile("file")
	if err != nil {
		return up, record.Refuse("file", "choose a spreadsheet (.xlsx) or a file of comma-separated values (.csv)", "no file came")
	}
	defer f.Close()
	if head.Size > table.MaxSize {
		return up, record.Refuse("file", "keep the table of limits in a file of its own, without pictures", "the file is larger than %d MB", table.MaxSize>>20)
	}
	up.Name = head.Filename
	up.Data, err = io.ReadAll(f)
	return up, err
}

// postDraft handles POST /drafts: a table begins a book.
func (s *Server) postDraft(w http.ResponseWriter, r *http.Request) error {
	title := titleOf(r)
	up, err := s.uploaded(r)
	if err == nil {
		var made string
		if made, err = s.options.Drafts.Begin(title, up); err == nil {
			http.Redirect(w, r, draftPath(made), http.StatusSeeOther)
			return nil
		}
	}
	words, ok := refusedWords(err)
	if !ok {
		return err
	}
	return s.booksPage(w, r, http.StatusUnprocessableEntity, booksBody{Title: title, NoTable: words})
}

// refusedWords are why something was not done, where that is not a failure of
// ours.
func refusedWords(err error) (words []string, ok bool) {
	var faults fault.List
	var refusal *record.Refusal
	var kept *draft.RefusedError
	var whole *draft.WholeError
	switch {
	case errors.As(err, &whole):
		const most = 20
		words = wholeWords(whole.Faults[:min(most, len(whole.Faults))])
		if more := len(whole.Faults) - most; more > 0 {
			words = append(words, fmt.Sprintf("And %d more.", more))
		}
		return append(words, "Nothing is kept of the sheet: mend it in the spreadsheet, and bring it in again."), true
	case errors.As(err, &faults):
		return tableWords(faults), true
	case errors.As(err, &refusal), errors.As(err, &kept):
		return []string{sentence(err.Error())}, true
	}
	return nil, false
}

func titleOf(r *http.Request) intake.Title {
	return intake.Title{Engine: value(r, "engine"), Manual: value(r, "manual"), Number: value(r, "number"), Revision: value(r, "revision"), Date: value(r, "date")}
}

// getDraft leads to what is to be done next.
func (s *Server) getDraft(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	to := "/columns"
	if len(d.Adopted) > 0 {
		to = "/adopt"
	}
	http.Redirect(w, r, draftPath(d.Name)+to, http.StatusSeeOther)
	return nil
}

// postTable handles POST /drafts/{draft}/tables: one more table, another sheet,
// or one that is left out.
func (s *Server) postTable(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	n := tableNumber(r, d)
	by, err := s.stamp(r)
	if err != nil {
		return err
	}
	to := len(d.Tables)
	switch do := r.FormValue("do"); do {
	case "sheet":
		to, err = n, s.options.Drafts.TakeSheet(d.Name, n, r.FormValue("sheet"))
	case "add-sheet":
		err = s.options.Drafts.AddSheet(d.Name, n, r.FormValue("sheet"), by)
	case "out", "in":
		to, err = n, s.options.Drafts.LeaveOut(d.Name, n, do == "out")
	default:
		var up draft.Upload
		if up, err = s.uploaded(r); err == nil {
			err = s.options.Drafts.Add(d.Name, up)
		}
	}
	if words, ok := refusedWords(err); ok {
		return s.columnsPage(w, r, http.StatusUnprocessableEntity, d, d.Tables[n], strings.Join(words, " "))
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("%s/columns?table=%d", draftPath(d.Name), to), http.StatusSeeOther)
	return nil
}

// An adoptBody is what a draft comes to before it is adopted.
type adoptBody struct {
	draftHead
	Title   intake.Title
	Parts   int
	InBook  int // lines
	Stays   []heldLine
	Without int        // lines that have no limits yet
	Open    []heldLine // findings that nobody has looked at
	Stand   []heldLine // and those that may stand
	Adopted []draft.Adoption
}

// A heldLine is a line that is adopted and not graded.
type heldLine struct{ Ref, Name, Cell, Text, Why, To string }

func (s *Server) getAdopt(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	return s.adoptPage(w, r, http.StatusOK, d, d.Title(), "")
}

func (s *Server) adoptPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, title intake.Title, problem string) error {
	h, err := s.headOf(r, d, "adopt")
	if err != nil {
		return err
	}
	h.Problem = problem
	body := adoptBody{draftHead: h, Title: title, Adopted: d.Adopted}
	if d.Loaded != nil {
		body.Parts, body.InBook = len(d.Loaded.Parts), len(d.Loaded.Lines)
		for _, l := range d.Loaded.Lines {
			if l.Unfilled() {
				body.Without++
				continue
			}
			body.Stays = append(body.Stays, heldOf(judge.Words{Book: d.Loaded}, h.Path, l)...)
		}
		for _, f := range findingsOf(d.Loaded) {
			l := f.Lines[0]
			one := heldLine{l.Ref, l.Name, f.Severity.String(), "", f.What, h.Path + "/findings?at=" + findingID(&f)}
			switch {
			case f.Acknowledged != nil:
				one.Why += ": " + f.Acknowledged.String()
				body.Stand = append(body.Stand, one)
			case f.Severity != check.Note:
				body.Open = append(body.Open, one)
			}
		}
	}
	return s.show(w, r, code, "draft-adopt", page{Title: "Adopt " + d.Engine, Here: "books"}, body)
}

func heldOf(words judge.Words, path string, l *book.Line) (all []heldLine) {
	for _, hold := range l.Holds {
		all = append(all, heldLine{l.Ref, l.Name, hold.Cell, hold.Text, hold.Why, path + "/holds?at=" + url.QueryEscape(l.Key+" "+hold.Cell)})
	}
	if l.Contradiction != "" {
		all = append(all, heldLine{l.Ref, l.Name, "limits", words.Limits(l, l.Limit), l.Contradiction, path + "/holds?at=" + url.QueryEscape(l.Key+" limits")})
	}
	return all
}

// postAdopt adopts the draft as an edition: its book and what was settled of it.
func (s *Server) postAdopt(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	title := titleOf(r)
	fail := func(err error) error {
		words, ok := refusedWords(err)
		if !ok {
			return err
		}
		return s.adoptPage(w, r, http.StatusUnprocessableEntity, d, title, strings.Join(words, " "))
	}
	by, err := s.stamp(r)
	if err != nil {
		return fail(err)
	}
	if err := s.options.Drafts.Call(d.Name, title); err != nil {
		return fail(err)
	}
	if d, err = s.draftOf(r); err != nil {
		return err
	}
	if d.Loaded == nil {
		return fail(record.Refuse("draft", "look at its columns", "the draft has no lines yet"))
	}
	if r.FormValue("do") == "call" {
		http.Redirect(w, r, draftPath(d.Name)+"/adopt", http.StatusSeeOther)
		return nil
	}
	if title.Manual == "" && title.Number == "" {
		return fail(record.Refuse("manual", "give its title, its number or both", "the book does not say which manual it is from"))
	}
	e, err := s.Shop().Adopt(r.Context(), s.who(r), d.File(), d.Text())
	if err != nil {
		return fail(err)
	}
	if err := s.options.Drafts.Adopted(d.Name, e.Edition, by); err != nil {
		return err
	}
	http.Redirect(w, r, "/books/"+e.Edition+"?adopted=now", http.StatusSeeOther)
	return nil
}

// draftRows are the drafts as the page of books lists them.
func (s *Server) draftRows() ([]draftRow, error) {
	if s.options.Drafts == nil {
		return nil, nil
	}
	all, err := s.options.Drafts.List()
	if err != nil {
		return nil, err
	}
	var rows []draftRow
	for _, d := range all {
		row := draftRow{Path: draftPath(d.Name), Engine: d.Engine, Manual: strings.TrimSpace(d.Manual + " " + d.Number), By: d.Begun.By, Date: d.Begun.Date}
		for _, t := range d.Tables {
			row.Tables = append(row.Tables, cmp.Or(t.Name, t.File))
		}
		if n := len(d.Adopted); n > 0 {
			row.Adopted = d.Adopted[n-1].Edition
		}
		rows = append(rows, row)
	}
	return rows, nil
}

type draftRow struct {
	Path, Engine, Manual, By, Date, Adopted string
	Tables                                  []string
}

// headOfLines is the head of a page about a draft's lines; false where there are
// none yet: then the way to its columns is shown.
func (s *Server) headOfLines(w http.ResponseWriter, r *http.Request, d *draft.Draft, here, problem string) (draftHead, bool, error) {
	h, err := s.headOf(r, d, here)
	if err != nil {
		return h, false, err
	}
	if d.Loaded == nil {
		http.Redirect(w, r, h.Path+"/columns", http.StatusSeeOther)
		return h, false, nil
	}
	h.Problem, h.Said = problem, struckSaid(r, d)
	return h, true, nil
}

// settlingDraft returns the draft of which something is said that its lines need,
// and who says it.
func (s *Server) settlingDraft(r *http.Request) (*draft.Draft, draft.Stamp, error) {
	d, by, err := s.draftToChange(r)
	if err == nil && d.Loaded == nil {
		err = record.Refuse("draft", "look at its columns", "the draft has no lines yet")
	}
	return d, by, err
}
