package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/internal/draft"
	"tenths/internal/intake"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/internal/reading"
	"tenths/internal/record"
)

// A sideRow is a row of a table beside the line that it was read as.
type sideRow struct {
	Line    int
	Name    string // as the table has it
	Printed []printedCell
	Lines   []sideLine
	Note    string // the row is no line: a heading or a note
	Kind    string
	KindAsk bool // its words do not say what it judges
	Held    bool
	Open    bool // its line has no limits yet
	At      measuredAt
}

// A sideLine is a line that a row was read as.
type sideLine struct {
	Key, Name    string
	New, Service string
	Ruler        template.HTML
	Holds        []sideHold
	Settled      []string
	Held         bool
	Open         bool // it has no limits yet
}

// A sideHold is a cell that waits for a person.
type sideHold struct{ Cell, Text, Why, To string }

type rowsBody struct {
	draftHead
	All        []sideRow
	From, To   int
	Count      int // of the rows that are asked for
	Next, Back int // −1: there are no more
	Only       string
	Kinds      []string
	Ask        int // the row whose kind is asked
	AskAt      int // the row of which it is asked where it is measured
	Places     placesBody
	Notes      int
	Unknown    int // rows whose words do not say what they judge
}

// rowsPage is how many rows stand on one page.
const rowsPage = 100

// bookOf is the book that a table comes to by itself.
func bookOf(d *draft.Draft, t *draft.Table) (*book.Book, error) {
	_, b, err := t.Read.Make(d.File(), nil, d.Title())
	return b, err
}

var noReadings judge.Here = func(book.SpotID) []reading.Reading { return nil }

// sidesOf puts rows beside the lines that a book has of them.
func sidesOf(t *draft.Table, b *book.Book, rows []intake.Row) []sideRow {
	words := judge.Words{Book: b}
	var all []sideRow
	for i := range rows {
		r := &rows[i]
		row := sideRow{Line: r.FileLine, Name: r.Name, Printed: printed(t, r.FileLine).Cells, Kind: r.Kind.String(), At: measuredOf(r)}
		if t.Whole { // most of its cells are empty, and its columns have names
			row.Printed = slices.DeleteFunc(row.Printed, func(c printedCell) bool { return c.Text == "" })
		}
		for _, h := range r.Holds {
			if h.Cell == book.HoldKind {
				row.KindAsk, row.Kind = true, ""
			}
		}
		for _, key := range r.Lines {
			l, ok := b.Line(key)
			if !ok {
				continue
			}
			line := lineSide(words, l)
			row.Held, row.Open = row.Held || line.Held, row.Open || line.Open
			if t.Whole {
				row.Kind = l.Judges.String()
			}
			if kind := slices.IndexFunc(l.Settled, func(h book.SettledHold) bool { return h.Cell == book.HoldKind }); kind >= 0 {
				row.KindAsk, row.Kind = false, l.Settled[kind].Says
			}
			row.Lines = append(row.Lines, line)
		}
		all = append(all, row)
	}
	return all
}

// lineSide is a line with its limits drawn.
func lineSide(words judge.Words, l *book.Line) sideLine {
	v := judge.Line(l, 0, noReadings)
	side := sideLine{Key: l.Key, Name: l.Name, Ruler: template.HTML(picture.Column(words, &v)), Held: draft.Held(l), Open: l.Unfilled()}
	if side.Open {
		side.Held, side.Ruler = false, ""
		return side
	}
	if draft.Held(l) {
		// What there is to say of it stands beside its holds.
		side.Ruler = ""
	} else {
		side.New, side.Service = tiers(words, &v)
		if side.Service == "" && l.Limit.Tiers != nil {
			side.Service = silent(words, l)
		}
	}
	for _, h := range l.Holds {
		side.Holds = append(side.Holds, sideHold{h.Cell, h.Text, h.Why, l.Key + " " + h.Cell})
	}
	if l.Contradiction != "" {
		side.Holds = append(side.Holds, sideHold{"limits", words.Limits(l, l.Limit), l.Contradiction, l.Key + " limits"})
	}
	for _, h := range l.Settled {
		side.Settled = append(side.Settled, fmt.Sprintf("%s “%s” is %s: %s, %s", h.Cell, h.Text, h.Says, h.By, h.Settlement.Why))
	}
	return side
}

// silent is what the manual says of service where that is no figure.
func silent(words judge.Words, l *book.Line) string {
	all := strings.Split(words.Limits(l, l.Limit), ", ")
	if n := len(all); n > len(l.Limit.Tiers) {
		return all[n-1]
	}
	return ""
}

func (s *Server) getRows(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	return s.rowsPage(w, r, http.StatusOK, d, "")
}

func (s *Server) rowsPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, problem string) error {
	h, err := s.headOf(r, d, "rows")
	if err != nil {
		return err
	}
	h.Problem = problem
	t := d.Tables[h.Table]
	if t.Read == nil || d.Loaded == nil {
		http.Redirect(w, r, fmt.Sprintf("%s/columns?table=%d", h.Path, h.Table), http.StatusSeeOther)
		return nil
	}
	body := rowsBody{draftHead: h, Kinds: intake.Kinds(), Only: r.FormValue("only"), Notes: len(t.Read.Notes), Back: -1, Next: -1}
	body.Ask, _ = strconv.Atoi(r.FormValue("kind"))
	body.AskAt, _ = strconv.Atoi(r.FormValue("at"))
	if !t.Whole {
		body.Places = placesOf(d, t)
	}
	var rows []intake.Row
	for i := range t.Read.Rows {
		row := &t.Read.Rows[i]
		unknown := slices.ContainsFunc(row.Holds, func(h intake.Hold) bool { return h.Cell == book.HoldKind })
		if unknown {
			body.Unknown++
		}
		switch {
		case body.Only == "held" && !d.HeldRow(row), body.Only == "open" && !d.OpenRow(row), body.Only == "kind" && !unknown:
		default:
			rows = append(rows, *row)
		}
	}
	body.Count = len(rows)
	from, _ := strconv.Atoi(r.FormValue("from"))
	from = max(0, min(from, len(rows)-1))
	to := min(from+rowsPage, len(rows))
	if to < len(rows) {
		body.Next = to
	}
	if from > 0 {
		body.Back = max(0, from-rowsPage)
	}
	body.From, body.To = from+1, to
	body.All = sidesOf(t, d.Loaded, rows[from:to])
	return s.show(w, r, code, "draft-rows", page{Title: "Rows of " + d.Engine, Here: "books"}, body)
}

// postKind says what rows of one name judge.
func (s *Server) postKind(w http.ResponseWriter, r *http.Request) error {
	d, _, err := s.draftToChange(r)
	if err != nil {
		return err
	}
	n := tableNumber(r, d)
	t, row, err := rowSaid(r, d, n)
	if err != nil {
		return err
	}
	m := t.Mapping
	m.Kinds = map[string]string{}
	for k, v := range t.Mapping.Kinds {
		m.Kinds[k] = v
	}
	m.Kinds[row.Name] = value(r, "kind")
	if err := m.Check(); err != nil {
		return record.Refuse("kind", "choose one of the list", "%v", err)
	}
	if err := s.options.Drafts.Say(d.Name, n, m); err != nil {
		return s.rowRefused(w, r, d, row, err)
	}
	http.Redirect(w, r, backToRows(r, d, n, fmt.Sprintf("row-%d", row.FileLine)), http.StatusSeeOther)
	return nil
}

// A besideRow is a row on a page of rows, with what may be asked of it there.
type besideRow struct {
	Path        string
	Row         sideRow
	Table, From int
	Only        string
	May, Asked  bool
	AskedAt     bool
	Kinds       []string
}

func besideOf(b rowsBody, row sideRow) besideRow {
	may := b.MayPrepare && !b.Whole // whose lines say what they judge
	return besideRow{b.Path, row, b.Table, b.From - 1, b.Only, may, may && b.Ask == row.Line, may && b.AskAt == row.Line, b.Kinds}
}

// A cellOf is a cell of a line by its name, which leads to where it is said what
// the manual has.
type cellOf struct{ Path, At, Cell string }
