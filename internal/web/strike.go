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
)

// A backBody is what may be taken back of a page, and what was.
type backBody struct {
	Path, Of, At string // where it is struck, what it is, and which
	Now          string // what is taken back; "" where nothing is to be
	Struck       []string
}

// struckOf are what was taken back of a line and those of its cells; of its link
// without.
func struckOf(b *book.Book, line string, cells ...string) (all []string) {
	for i := range b.Struck {
		s := &b.Struck[i]
		switch {
		case s.Acknowledged != nil || s.Line != line:
		case s.Fit != "" && len(cells) == 0:
			all = append(all, "Once confirmed as "+s.String()+".")
		case s.Fit == "" && slices.Contains(cells, s.Cell):
			all = append(all, "Once settled as "+s.String()+".")
		}
	}
	return all
}

func struckOfFinding(f *check.Finding) (all []string) {
	for _, s := range f.Struck {
		all = append(all, "Once let stand: "+s.String()+".")
	}
	return all
}

// struckSaid is said where something was just taken back.
func struckSaid(r *http.Request, d *draft.Draft) string {
	if r.FormValue("struck") == "" {
		return ""
	}
	return "It is struck: it counts no more, and stays in " + book.SettledName(d.File()) + " with your name."
}

// postTakeBack takes back what was settled, confirmed or let stand.
func (s *Server) postTakeBack(w http.ResponseWriter, r *http.Request) error {
	d, by, err := s.settlingDraft(r)
	if err != nil {
		return err
	}
	at, of := r.FormValue("at"), r.FormValue("of")
	fail := func(problem string) error {
		switch of {
		case "fits":
			return s.fitsPage(w, r, http.StatusUnprocessableEntity, d, fitsBody{At: at, draftHead: draftHead{Problem: problem}})
		case "findings":
			return s.findingsPage(w, r, http.StatusUnprocessableEntity, d, findingsBody{At: at, draftHead: draftHead{Problem: problem}}, "")
		}
		return s.holdsPage(w, r, http.StatusUnprocessableEntity, d, holdsBody{At: at, draftHead: draftHead{Problem: problem}})
	}
	one := book.Striking{By: by.By, Why: value(r, "why"), Date: by.Date}
	switch of {
	case "fits":
		one.Line, one.Link = at, true
	case "findings":
		found := findingsOf(d.Loaded)
		n := slices.IndexFunc(found, func(f check.Finding) bool { return findingID(&f) == at })
		if n < 0 {
			return fail("That finding is not there any more: its figures have changed. Here is what there is.")
		}
		about := found[n].About()
		one.Finding = &about
	default:
		of = "holds"
		one.Line, one.Cell, _ = strings.Cut(at, " ")
	}
	if one.Why == "" {
		return fail("Say why it is taken back.")
	}
	if err := s.options.Drafts.Strike(d.Name, one); err != nil {
		var faults fault.List
		if words, ok := refusedWords(err); ok && !errors.As(err, &faults) {
			return fail(strings.Join(words, " "))
		} else if ok {
			return fail(saidOf(err))
		}
		return err
	}
	http.Redirect(w, r, draftPath(d.Name)+"/"+of+"?"+url.Values{"at": {at}, "struck": {"now"}}.Encode(), http.StatusSeeOther)
	return nil
}
