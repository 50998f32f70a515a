package web

import (
	"cmp"
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/judge"
	"tenths/internal/picture"
)

// An enterField is a cell that nobody has entered yet.
type enterField struct{ Cell, Words, Text string }

// The page on which limits are entered of a line that has none yet, one line after
// the other, beside a drawing of what is measured.
type enterBody struct {
	draftHead
	Line, Ref, Name, Page string
	Judges, Of, Unit      string
	Fields                []enterField
	Known                 string
	Sketch                template.HTML
	Before                *sideLine // what was entered last
	Skip                  string
}

func (s *Server) getEnter(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	return s.enterPage(w, r, http.StatusOK, d, enterBody{Line: r.FormValue("line"), Known: r.FormValue("known")}, r.FormValue("before"))
}

// enterPage shows the line that is said, or the first that has no limits yet.
func (s *Server) enterPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, body enterBody, before string) error {
	h, ok, err := s.headOfLines(w, r, d, "rows", body.Problem)
	if !ok {
		return err
	}
	body.draftHead = h
	if l, ok := d.Loaded.Line(before); ok && !l.Unfilled() {
		side := lineSide(judge.Words{Book: d.Loaded}, l)
		body.Before = &side
	}
	l, rest := openLine(d.Loaded, body.Line)
	if body.Line = ""; l != nil {
		fillEnter(&body, d, l)
	}
	if rest != nil {
		body.Skip = h.Path + "/enter?" + url.Values{"line": {rest.Key}, "known": {body.Known}}.Encode()
	}
	return s.show(w, r, code, "draft-enter", page{Title: "Limits of " + d.Engine, Here: "books"}, body)
}

// openLine is the line of that key if it has no limits yet, else the first behind it
// that has none, or the first of all; and the one that follows it.
func openLine(b *book.Book, key string) (l, next *book.Line) {
	from := max(0, slices.IndexFunc(b.Lines, func(l *book.Line) bool { return l.Key == key }))
	for _, one := range slices.Concat(b.Lines[from:], b.Lines[:from]) {
		switch {
		case !one.Unfilled():
		case l == nil:
			l = one
		default:
			return l, one
		}
	}
	return l, nil
}

func fillEnter(body *enterBody, d *draft.Draft, l *book.Line) {
	body.Line, body.Ref, body.Name, body.Page, body.Judges = l.Key, l.Ref, l.Name, l.Page, l.Judges.String()
	var of []string
	for i := range l.Terms {
		of = append(of, l.Terms[i].Feature.Part.Name+", "+strings.ToLower(l.Terms[i].Feature.Name))
	}
	body.Of, body.Unit = strings.Join(of, "; "), cmp.Or(unitWords[l.Unit.String()], l.Unit.String())
	texts := map[string]string{}
	for _, f := range body.Fields {
		texts[f.Cell] = f.Text
	}
	body.Fields = nil
	for _, h := range l.Holds {
		words := map[string]string{book.HoldNew: "New", book.HoldService: "Service"}[h.Cell]
		body.Fields = append(body.Fields, enterField{h.Cell, words, texts[h.Cell]})
	}
	if len(l.Instances) > 0 && len(l.Instances[0].Spots) > 0 {
		body.Sketch = template.HTML(picture.SketchSide(d.Loaded, l.Instances[0].Spots[0], nil))
	}
}

// postEnter takes the limits of a line that has none yet.
func (s *Server) postEnter(w http.ResponseWriter, r *http.Request) error {
	d, by, err := s.settlingDraft(r)
	if err != nil {
		return err
	}
	body := enterBody{Line: r.FormValue("line"), Known: value(r, "known")}
	for _, cell := range []string{book.HoldNew, book.HoldService} {
		body.Fields = append(body.Fields, enterField{Cell: cell, Text: value(r, cell)})
	}
	fail := func(problem string) error {
		body.Problem = problem
		return s.enterPage(w, r, http.StatusUnprocessableEntity, d, body, "")
	}
	l, ok := d.Loaded.Line(body.Line)
	if !ok || !l.Unfilled() {
		body.Fields = nil
		return fail("That line has its limits by now: here is the next.")
	}
	if body.Known == "" {
		return fail("Say how you know: from which manual, or from whom.")
	}
	var all []book.Saying
	for _, h := range l.Holds {
		says := value(r, h.Cell)
		if says == "" {
			return fail("Write what the manual has for " + h.Cell + ", or “blank” where it has nothing.")
		}
		all = append(all, book.Saying{Line: l.Key, Cell: h.Cell, Says: says, By: by.By, Why: body.Known, Date: by.Date})
	}
	if err := s.options.Drafts.Answer(d.Name, all...); err != nil {
		var faults fault.List
		words, ok := refusedWords(err)
		switch {
		case errors.As(err, &faults):
			return fail(saidOf(err))
		case ok:
			return fail(strings.Join(words, " "))
		}
		return err
	}
	q := url.Values{"line": {l.Key}, "before": {l.Key}, "known": {body.Known}}
	http.Redirect(w, r, draftPath(d.Name)+"/enter?"+q.Encode(), http.StatusSeeOther)
	return nil
}
