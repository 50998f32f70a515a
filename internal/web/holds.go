package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/judge"
	"tenths/internal/record"
)

// knownReasons are how one knows what a cell says; any other reason is typed.
var knownReasons = []string{
	"looked at the manual again", "another printing of the manual", "the maker’s letter", "a slip in the table, the manual is plain",
}

// A hold is what is settled at once: a cell that waits for a person, or the two
// cells of a line that contradict each other.
type hold struct {
	line  *book.Line
	cells []book.Doubt
	was   *book.SettledHold // it is settled already
	read  bool              // it can be read
}

// at names the hold in an address.
func (h *hold) at() string {
	if len(h.cells) > 1 {
		return h.line.Key + " limits"
	}
	return h.line.Key + " " + h.cells[0].Cell
}

// holdsOf are what waits in a book, and behind it what was settled. Lines of which
// nobody has entered any limits yet are not among them.
func holdsOf(b *book.Book) (waits, settled []hold) {
	doubts := check.Doubts(b)
	// What a line judges comes first: its limits are read by it.
	slices.SortStableFunc(doubts, func(a, b book.Doubt) int {
		if a.Line != b.Line || a.Cell != book.HoldKind && b.Cell != book.HoldKind {
			return 0
		}
		return map[bool]int{true: -1, false: 1}[a.Cell == book.HoldKind]
	})
	for _, w := range doubts {
		if w.Line.Unfilled() {
			continue
		}
		if n := len(waits); w.Line.Contradiction != "" && n > 0 && waits[n-1].line == w.Line && len(waits[n-1].cells) == 1 && waits[n-1].cells[0].Cell == book.HoldNew && len(w.Line.Holds) == 0 {
			waits[n-1].cells = append(waits[n-1].cells, w)
			continue
		}
		waits = append(waits, hold{line: w.Line, cells: []book.Doubt{w}})
	}
	for _, l := range b.Lines {
		for i := range l.Settled {
			s := &l.Settled[i]
			settled = append(settled, hold{line: l, cells: []book.Doubt{{Line: l, Hold: s.Hold}}, was: s})
		}
	}
	return waits, settled
}

// doubted is a cell that can be read, for who says that the manual has something
// else.
func doubted(b *book.Book, at string) (hold, bool) {
	key, cell, _ := strings.Cut(at, " ")
	l, ok := b.Line(key)
	if !ok || draft.Held(l) || cell != book.HoldNew && cell != book.HoldService {
		return hold{}, false
	}
	says := map[string]string{book.HoldNew: l.Says.New, book.HoldService: l.Says.Service}[cell]
	return hold{line: l, cells: []book.Doubt{{Line: l, Hold: book.Hold{Cell: cell, Text: says}}}, read: true}, true
}

// A holdLink is a hold in the list of all.
type holdLink struct {
	To, Name, Small, Text string
	Here, Done            bool
	Word                  bool // the text is a word, no figure
}

// A holdChoice is one likely reading, with what the line would then be.
type holdChoice struct {
	Value, Says, Words string
	Cell               string // where it is not plain which
	Line               sideLine
	Problem            string
}

// A headedCell is a cell of a row as printed, under its heading.
type headedCell struct {
	Heading, Text string
	Figure, Held  bool
	Spans         []piece // of the text, with what is strange in it marked
}

type piece struct {
	Text string
	Mark bool
}

// spansOf marks in a text what another reading of it has otherwise; all of it
// where they can't be laid side by side.
func spansOf(text, reading string) []piece {
	a, b := []rune(text), []rune(reading)
	if len(a) != len(b) || text == reading {
		if text == "" {
			return nil
		}
		return []piece{{text, true}}
	}
	var all []piece
	for i := range a {
		mark := a[i] != b[i]
		if n := len(all); n > 0 && all[n-1].Mark == mark {
			all[n-1].Text += string(a[i])
			continue
		}
		all = append(all, piece{string(a[i]), mark})
	}
	return all
}

type holdsBody struct {
	draftHead
	List       []holdLink
	Done, All  int
	Left       int
	None       bool
	At         string
	Ref, Name  string
	Page       string
	Texts      []headedCell // what is held, to be shown large
	Why        string
	Row        []headedCell
	RowLine    int
	Beside     string
	Cells      []string // that it may be said of
	Choices    []holdChoice
	Own, Chose string
	Known      string // how one knows
	Reasons    []string
	Skip, Back string
	Was        string
	TakeBack   backBody
	Kind       bool
}

func (s *Server) getHolds(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	body := holdsBody{Known: r.FormValue("known"), At: r.FormValue("at")}
	return s.holdsPage(w, r, http.StatusOK, d, body)
}

func (s *Server) holdsPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, body holdsBody) error {
	h, ok, err := s.headOfLines(w, r, d, "holds", body.Problem)
	if !ok {
		return err
	}
	body.draftHead = h
	waits, settled := holdsOf(d.Loaded)
	body.Left, body.Done, body.All = len(waits), len(settled), len(waits)+len(settled)
	all := append(slices.Clone(waits), settled...)
	at := slices.IndexFunc(all, func(h hold) bool { return h.at() == body.At })
	if at < 0 {
		if h, ok := doubted(d.Loaded, body.At); ok {
			// It can be read, and is not as the manual has it.
			all = append(all, h)
			at = len(all) - 1
		}
	}
	if at < 0 && body.At != "" {
		// One of two cells that contradict each other.
		key, _, _ := strings.Cut(body.At, " ")
		at = slices.IndexFunc(all, func(h hold) bool { return h.line.Key == key })
	}
	if at < 0 {
		at = 0
	}
	link := func(n int) string {
		q := url.Values{"at": {all[n].at()}}
		if body.Known != "" {
			q.Set("known", body.Known)
		}
		return h.Path + "/holds?" + q.Encode()
	}
	for i := range all {
		if i >= body.All { // nobody has doubted it yet
			break
		}
		one := holdLink{To: link(i), Name: strings.TrimSpace(all[i].line.Ref + " " + all[i].line.Name), Small: all[i].cells[0].Cell, Text: all[i].cells[0].Text, Here: i == at, Done: i >= len(waits)}
		switch {
		case one.Done:
			one.Text = all[i].was.Says
			one.Small += ", settled by " + all[i].was.By
		case len(all[i].cells) > 1:
			one.Small, one.Text = "new and service", all[i].cells[0].Text+" / "+all[i].cells[1].Text
		}
		if one.Text == "" {
			one.Text = "blank"
		}
		body.List = append(body.List, one)
	}
	if body.None = len(all) == 0 || body.At == "" && len(waits) == 0; !body.None {
		if at > 0 {
			body.Back = link(at - 1)
		}
		switch {
		case at+1 < len(waits):
			body.Skip = link(at + 1)
		case at >= body.All:
			body.Back, body.Skip = "", h.Path+"/rows"
		default:
			body.Skip = h.Path + h.afterHolds()
		}
		fillHold(&body, d, &all[at])
	}
	return s.show(w, r, code, "draft-holds", page{Title: "Holds of " + d.Engine, Here: "books"}, body)
}

// fillHold fills the page in with one hold.
func fillHold(body *holdsBody, d *draft.Draft, h *hold) {
	l := h.line
	body.At, body.Ref, body.Name, body.Page, body.Reasons = h.at(), l.Ref, l.Name, l.Page, knownReasons
	body.Why = strings.TrimSuffix(h.cells[0].Why, ".") + "."
	if len(h.cells) > 1 || h.cells[0].Cell == book.HoldKind {
		body.Why = sentence(body.Why)
	}
	body.Kind = h.cells[0].Cell == book.HoldKind
	if h.read {
		body.Why = "it can be read. Where the manual in your hand has something else, say what; the table stays as it came, and both are kept."
	}
	if h.was != nil {
		body.Was = fmt.Sprintf("Settled as “%s” by %s: %s. It can be settled otherwise; what was said before stays in the file.", h.was.Says, strings.TrimSpace(h.was.By+" "+h.was.Date), h.was.Settlement.Why)
		body.Why = ""
	}
	for _, c := range h.cells {
		body.Cells = append(body.Cells, c.Cell)
		likely := ""
		if len(c.May) > 0 {
			likely = c.May[0]
		}
		body.Texts = append(body.Texts, headedCell{Heading: c.Cell, Spans: spansOf(c.Text, likely)})
		may := c.May
		if c.Cell == book.HoldKind {
			may = kindsFor(may)
		}
		for _, says := range may {
			one := holdChoice{Value: c.Cell + " " + says, Says: says, Words: choiceWords(c.Cell, says)}
			if len(h.cells) > 1 {
				one.Cell = c.Cell
			}
			one.Line, one.Problem = asSaid(d, book.Saying{Line: l.Key, Cell: c.Cell, Says: says})
			body.Choices = append(body.Choices, one)
		}
	}
	const most = 9 // a digit each
	body.Choices = body.Choices[:min(most, len(body.Choices))]
	for _, c := range []struct{ cell, says string }{{book.HoldNew, l.Says.New}, {book.HoldService, l.Says.Service}} {
		if c.says != "" && !slices.Contains(body.Cells, c.cell) {
			body.Beside = strings.TrimPrefix(body.Beside+", "+c.cell+" "+c.says, ", ")
		}
	}
	body.Row, body.RowLine = rowAsPrinted(d, l, body.Cells)
	body.TakeBack = backBody{Path: body.Path, Of: "holds", At: body.At, Struck: struckOf(d.Loaded, l.Key, body.Cells...)}
	if h.was != nil && body.MayPrepare {
		body.TakeBack.Now = "what it was settled as"
	}
}

// rowAsPrinted is the row of the table that a line was made of.
func rowAsPrinted(d *draft.Draft, l *book.Line, held []string) (cells []headedCell, line int) {
	t, row, ok := d.Row(l.Key)
	if !ok {
		return nil, 0
	}
	is := func(c string) bool { return slices.Contains(held, c) }
	from := printed(t, row.FileLine)
	for i, c := range from.Cells {
		says := t.Columns[i].Says()
		if c.Text == "" && (t.Columns[i].Heading == "" || t.Whole && says != "new" && says != "service") {
			continue
		}
		cells = append(cells, headedCell{
			Heading: t.Columns[i].Heading, Text: c.Text, Figure: c.Figure,
			Held: is(book.HoldNew) && strings.HasPrefix(says, "new") || is(book.HoldService) && strings.HasPrefix(says, "service") || is(book.HoldKind) && says == "name",
		})
	}
	return cells, row.FileLine
}

// kindsFor are kinds as they can be settled: of a length it must be said which
// way it wears.
func kindsFor(may []string) []string {
	if len(may) == 0 {
		may = []string{"outside", "inside", "length", "clearance"}
	}
	var all []string
	for _, k := range may {
		if k == "length" {
			all = append(all, "length wears smaller", "length wears larger")
			continue
		}
		all = append(all, k)
	}
	return all
}

// choiceWords explain a reading that is no figure.
func choiceWords(cell, says string) string {
	if cell == book.HoldKind {
		return map[string]string{
			"outside": "a shaft, a pin, a journal: the smallest counts", "inside": "a bore: the largest counts",
			"length wears smaller": "a width, a thickness, a height that wears away", "length wears larger": "a groove, a depth that wears deeper",
			"clearance": "the room between two parts, measured as it is",
		}[says]
	}
	switch says {
	case "blank":
		return "the manual states nothing there"
	case "none":
		return "no wear is allowed"
	case "same as new":
		return "the service limit is the new one"
	}
	return ""
}

// asSaid is what a line would be if a cell said this; or why it can't.
func asSaid(d *draft.Draft, say book.Saying) (sideLine, string) {
	say.By, say.Why = "?", "?"
	_, done, err := book.Answer(d.File(), d.Book, d.Settled, []book.Saying{say}, true)
	if err != nil {
		return sideLine{}, saidOf(err)
	}
	l, ok := done.Book.Line(say.Line)
	if !ok {
		return sideLine{}, ""
	}
	return lineSide(judge.Words{Book: done.Book}, l), ""
}

// saidOf puts what is wrong with an answer into words.
func saidOf(err error) string {
	var faults fault.List
	if errors.As(err, &faults) {
		return spoken(faults)
	}
	return sentence(err.Error())
}

// postHold settles one.
func (s *Server) postHold(w http.ResponseWriter, r *http.Request) error {
	d, by, err := s.draftToChange(r)
	if err != nil {
		return err
	}
	body := holdsBody{At: r.FormValue("at"), Own: value(r, "own"), Known: why(r), Chose: r.FormValue("says")}
	fail := func(problem string) error {
		body.Problem = problem
		return s.holdsPage(w, r, http.StatusUnprocessableEntity, d, body)
	}
	line, _, _ := strings.Cut(body.At, " ")
	cell, says, _ := strings.Cut(body.Chose, " ")
	if cell == "own" {
		cell, says = says, body.Own
	}
	if cell == "" || says == "" {
		return fail("Nothing is chosen: choose a reading, or type what the cell says.")
	}
	if body.Known == "" {
		return fail("Say how you know: choose a reason or type one.")
	}
	if d.Loaded == nil {
		return record.Refuse("draft", "look at its columns", "the draft has no lines yet")
	}
	waits, _ := holdsOf(d.Loaded)
	next := slices.IndexFunc(waits, func(h hold) bool { return h.at() == body.At })
	say := book.Saying{Line: line, Cell: cell, Says: says, By: by.By, Why: body.Known, Date: by.Date}
	settle := func() error { return s.options.Drafts.Answer(d.Name, say) }
	back := ""
	if _, ok := doubted(d.Loaded, line+" "+cell); ok && !isSettled(d.Loaded, line, cell) {
		settle = func() error { return s.options.Drafts.Correct(d.Name, "doubted by "+by.By, say) }
		back = rowPath(d, line)
	}
	if err := settle(); err != nil {
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
	if back != "" {
		http.Redirect(w, r, back, http.StatusSeeOther)
		return nil
	}
	h, err := s.headOf(r, d, "holds")
	if err != nil {
		return err
	}
	to := h.Path + h.afterHolds()
	if waits, _ = holdsOf(d.Loaded); len(waits) > 0 {
		// The next one of the list, where this one stood.
		q := url.Values{"at": {waits[max(0, min(next, len(waits)-1))].at()}, "known": {body.Known}}
		to = draftPath(d.Name) + "/holds?" + q.Encode()
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// rowPath is where a line stands among the rows of its table.
func rowPath(d *draft.Draft, line string) string {
	to := draftPath(d.Name) + "/rows"
	if t, row, ok := d.Row(line); ok {
		to += fmt.Sprintf("?table=%d#row-%d", slices.Index(d.Tables, t), row.FileLine)
	}
	return to
}

// why is how one knows: chosen, typed, or both.
func why(r *http.Request) string {
	known, words := value(r, "known"), value(r, "words")
	if known != "" && words != "" {
		return known + ": " + words
	}
	return known + words
}

func isSettled(b *book.Book, line, cell string) bool {
	l, ok := b.Line(line)
	return ok && slices.ContainsFunc(l.Settled, func(h book.SettledHold) bool { return h.Cell == cell })
}
