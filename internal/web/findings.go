package web

import (
	"crypto/sha256"
	"encoding/hex"
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

// findingsOf are what the check finds in a book, with what was acknowledged.
func findingsOf(b *book.Book) []check.Finding {
	found := check.Book(b)
	check.Settle(found, b)
	return found
}

// openFindings counts those that nobody has looked at, notes apart.
func openFindings(found []check.Finding) (open, notes int) {
	for i := range found {
		switch {
		case found[i].Acknowledged != nil:
		case found[i].Severity == check.Note:
			notes++
		default:
			open++
		}
	}
	return open, notes
}

// findingID names a finding in an address: it is another one where the figures
// are others.
func findingID(f *check.Finding) string {
	about := f.About()
	h := sha256.Sum256([]byte(strings.Join(slices.Concat([]string{about.Code}, about.Lines, about.Printed), "\x00")))
	return hex.EncodeToString(h[:8])
}

// A mendChoice is one simple change that would mend a finding.
type mendChoice struct {
	Value, Was, Now string
	Line            string
	Cell            string
	How             string
	Why             []string
	Only            bool // it is of a second unit, which only checks: there is nothing to settle
}

// A foundLine is a line that a finding is about, with its row as printed.
type foundLine struct {
	Ref, Name string
	Limits    sideLine
	Row       []headedCell
	RowLine   int
}

type findingsBody struct {
	draftHead
	List     []holdLink
	All      int
	Open     int
	Notes    int
	None     bool
	At       string
	Severity string
	What     string
	Sum      []string
	Lines    []foundLine
	Mends    []mendChoice
	Reasons  []book.Reason
	Known    []string
	Chose    string
	Why      string
	Words    string
	Stands   string // why it may stand, and who said so
	Skip     string
	Back     string
	TakeBack backBody
}

func (s *Server) getFindings(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	return s.findingsPage(w, r, http.StatusOK, d, findingsBody{At: r.FormValue("at"), Why: r.FormValue("known")}, r.FormValue("line"))
}

// findingsPage shows one finding and the list of all; line: the first that is
// about it.
func (s *Server) findingsPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, body findingsBody, line string) error {
	h, ok, err := s.headOfLines(w, r, d, "findings", body.Problem)
	if !ok {
		return err
	}
	body.draftHead = h
	found := findingsOf(d.Loaded)
	body.All = len(found)
	body.Open, body.Notes = openFindings(found)
	// The surest first, those that stand last.
	rank := func(f *check.Finding) int {
		if f.Acknowledged != nil {
			return 9
		}
		return int(check.Fault - f.Severity)
	}
	slices.SortStableFunc(found, func(a, b check.Finding) int { return rank(&a) - rank(&b) })
	at := slices.IndexFunc(found, func(f check.Finding) bool { return findingID(&f) == body.At })
	if at < 0 && line != "" {
		at = slices.IndexFunc(found, func(f check.Finding) bool {
			return slices.ContainsFunc(f.Lines, func(l *book.Line) bool { return l.Key == line })
		})
	}
	at = max(0, at)
	link := func(n int) string {
		q := url.Values{"at": {findingID(&found[n])}}
		if body.Why != "" {
			q.Set("known", body.Why)
		}
		return h.Path + "/findings?" + q.Encode()
	}
	for i := range found {
		f := &found[i]
		one := holdLink{To: link(i), Name: strings.TrimSpace(f.Lines[0].Ref + " " + f.Lines[0].Name), Small: f.What, Text: f.Severity.String(), Here: i == at, Word: true}
		if f.Acknowledged != nil {
			one.Done, one.Text = true, "may stand"
		}
		body.List = append(body.List, one)
	}
	if body.None = len(found) == 0; !body.None {
		if at > 0 {
			body.Back = link(at - 1)
		}
		body.Skip = h.Path + "/adopt"
		if at+1 < len(found) {
			body.Skip = link(at + 1)
		}
		fillFinding(&body, d, &found[at])
	}
	return s.show(w, r, code, "draft-findings", page{Title: "Findings of " + d.Engine, Here: "books"}, body)
}

// fillFinding fills the page in with one finding.
func fillFinding(body *findingsBody, d *draft.Draft, f *check.Finding) {
	body.At, body.Severity, body.What, body.Sum = findingID(f), f.Severity.String(), sentence(f.What), f.Sum
	body.Reasons, body.Known = book.Reasons, knownReasons
	body.TakeBack = backBody{Path: body.Path, Of: "findings", At: body.At, Struck: struckOfFinding(f)}
	if f.Acknowledged != nil {
		if body.MayPrepare {
			body.TakeBack.Now = "that it may stand"
		}
		body.Stands = sentence(f.Acknowledged.String())
	}
	for _, l := range f.Lines {
		var cells []string
		for _, c := range f.Cells {
			if c.Line == l {
				cells = append(cells, c.Name)
			}
		}
		body.Lines = append(body.Lines, aboutLine(d, l, cells...))
	}
	for _, m := range f.Mends {
		body.Mends = append(body.Mends, mendOf(&m))
	}
}

func mendOf(m *check.Mend) mendChoice {
	one := mendChoice{Value: mendValue(m), Was: m.Cell.Text, Now: m.New, Line: strings.TrimSpace(m.Cell.Line.Ref + " " + m.Cell.Line.Name), Cell: m.Cell.Name, How: m.How, Why: m.Why}
	settles := func(cell string) bool { return cell == book.HoldNew || cell == book.HoldService }
	one.Only = !settles(m.Cell.Name) || m.With != nil && !settles(m.With.Name)
	if m.With != nil {
		one.Was += " and " + m.With.Text
		one.Now += " and " + m.WithNew
	}
	return one
}

// mendValue names a mend in a form.
func mendValue(m *check.Mend) string {
	all := []string{"mend", m.Cell.Line.Key, m.Cell.Name, m.New}
	if m.With != nil {
		all = append(all, m.With.Line.Key, m.With.Name, m.WithNew)
	}
	return strings.Join(all, "\n")
}

// postFinding mends a finding as a person says, or says why it may stand.
func (s *Server) postFinding(w http.ResponseWriter, r *http.Request) error {
	d, by, err := s.settlingDraft(r)
	if err != nil {
		return err
	}
	body := findingsBody{At: r.FormValue("at"), Chose: lined(r.FormValue("do")), Why: value(r, "known"), Words: value(r, "words")}
	fail := func(problem string) error {
		body.Problem = problem
		return s.findingsPage(w, r, http.StatusUnprocessableEntity, d, body, "")
	}
	found := findingsOf(d.Loaded)
	at := slices.IndexFunc(found, func(f check.Finding) bool { return findingID(&f) == body.At })
	if at < 0 {
		return fail("That finding is not there any more: its figures have changed. Here is what there is.")
	}
	f := &found[at]
	reason, stands := strings.CutPrefix(body.Chose, "stands\n")
	switch {
	case stands:
		a := f.About()
		a.Reason, a.Note, a.By, a.Date = reason, body.Words, by.By, by.Date
		if !slices.ContainsFunc(book.Reasons, func(b book.Reason) bool { return b.Word == reason }) {
			return fail("Choose why it may stand.")
		}
		err = s.options.Drafts.Acknowledge(d.Name, a)
	case strings.HasPrefix(body.Chose, "mend\n"):
		n := slices.IndexFunc(f.Mends, func(m check.Mend) bool { return mendValue(&m) == body.Chose })
		if n < 0 || mendOf(&f.Mends[n]).Only {
			return fail("That change is not offered any more: look at the finding again.")
		}
		known := why(r)
		if known == "" {
			return fail("Say how you know: choose a reason or type one.")
		}
		say := func(c check.Cell, says string) book.Saying {
			return book.Saying{Line: c.Line.Key, Cell: c.Name, Says: says, By: by.By, Why: known, Date: by.Date}
		}
		m := &f.Mends[n]
		sayings := []book.Saying{say(m.Cell, m.New)}
		if m.With != nil {
			sayings = append(sayings, say(*m.With, m.WithNew))
		}
		err = s.options.Drafts.Correct(d.Name, f.Code+": "+f.What, sayings...)
	default:
		return fail("Nothing is chosen: choose a change, or why it may stand.")
	}
	if err != nil {
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
	if d, err = s.draftOf(r); err != nil {
		return err
	}
	to := draftPath(d.Name) + "/adopt"
	if d.Loaded != nil {
		if open, _ := openFindings(findingsOf(d.Loaded)); open > 0 {
			to = draftPath(d.Name) + "/findings?" + url.Values{"known": {body.Why}}.Encode()
		}
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// lined is a value of a form with its lines as they were made: a browser sends
// each end of a line as two bytes.
func lined(text string) string { return strings.ReplaceAll(text, "\r\n", "\n") }
