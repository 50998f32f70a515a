package web

import (
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/picture"
	"tenths/internal/record"
	"tenths/metrology/quantity"
)

// roleWords say what a column can hold, as a person says it. The keys are what a
// mapping says.
var roleWords = []struct{ Says, Words string }{
	{"skip", "leave out"},
	{"ref", "reference"},
	{"name", "what is measured"},
	{"part", "part it is of"},
	{"new", "new limits"},
	{"new min", "new, least"},
	{"new max", "new, most"},
	{"service", "service limit"},
	{"service min", "service, least"},
	{"service max", "service, most"},
	{"unit", "unit"},
	{"page", "manual’s page"},
	{"note", "note"},
	{"new mm", "new again, in mm"},
	{"service mm", "service again, in mm"},
	{"new in", "new again, in inches"},
	{"service in", "service again, in inches"},
	{"new min mm", "new again, least, mm"},
	{"new max mm", "new again, most, mm"},
	{"service min mm", "service again, least, mm"},
	{"service max mm", "service again, most, mm"},
	{"new min in", "new again, least, inches"},
	{"new max in", "new again, most, inches"},
	{"service min in", "service again, least, inches"},
	{"service max in", "service again, most, inches"},
}

// A columnView is a column with what it holds.
type columnView struct {
	N               int
	Letter, Heading string
	Says            string
}

// An askView is a question about the whole table.
type askView struct {
	N     int
	Mark  string
	Words string
	Rows  int // that have it; 0: it is answered
	May   []askChoice
	Means string
}

type askChoice struct{ Says, Words string }

var askWords = map[string]string{
	"not stated": "the manual states no service limit", "none": "no wear is allowed", "same as new": "the same as new",
	"from min": "from the least new size", "from max": "from the greatest new size",
}

// A headingRow is a row that headings may stand on.
type headingRow struct {
	Line int
	Text string
}

type columnsBody struct {
	draftHead
	Columns   []columnView
	Roles     []struct{ Says, Words string }
	Printed   []printedRow
	More      int // rows that are not shown
	Headings  int
	HeadRows  []headingRow
	Sheets    []string
	Sheet     string
	Unit      string // that lengths are in
	Stated    string // where the table says it
	NoUnit    bool   // nothing says it
	Likely    string // what the figures look like then
	AskUnit   bool   // and nobody has said it
	Decimal   string
	Asks      []askView
	TableSaid []string
	Faults    []string
	First     []sideRow // what the first rows come to
	Notes     int
	RowCount  int
	HeldCount int
	Parts     int           // of a whole book
	Drawing   template.HTML // of its engine
}

// A printedRow is a row as it stands in the table.
type printedRow struct {
	Line  int
	Cells []printedCell
}

type printedCell struct {
	Text   string
	Figure bool // it has digits
	Held   bool
}

// How many rows of a table its columns are shown with.
const (
	previewRows = 8 // beside their lines
	printedRows = 5 // under the columns
)

func (s *Server) getColumns(w http.ResponseWriter, r *http.Request) error {
	d, err := s.draftOf(r)
	if err != nil {
		return err
	}
	t := d.Tables[tableNumber(r, d)]
	if r.Form.Has("headings") && !t.Whole { // as it would be, said so
		m, err := mappingOf(r, t)
		if err != nil {
			return err
		}
		t = t.As(m)
	}
	return s.columnsPage(w, r, http.StatusOK, d, t, "")
}

func (s *Server) columnsPage(w http.ResponseWriter, r *http.Request, code int, d *draft.Draft, t *draft.Table, problem string) error {
	h, err := s.headOf(r, d, "columns")
	if err != nil {
		return err
	}
	h.Problem = problem
	body := columnsOf(h, d, t)
	return s.show(w, r, code, "draft-columns", page{Title: "Columns of " + d.Engine, Here: "books"}, body)
}

func columnsOf(h draftHead, d *draft.Draft, t *draft.Table) columnsBody {
	body := columnsBody{
		draftHead: h, Headings: t.Headings, Sheets: t.Sheet.Sheets, Sheet: t.Sheet.Name,
		Faults: tableWords(t.Faults), Decimal: t.Mapping.Decimal, Unit: t.Mapping.Unit,
	}
	if t.Whole {
		body.Faults, body.Sheets = wholeWords(t.Faults), nil
		if t.Read != nil {
			b := t.Read.Whole.Book
			body.Parts, body.RowCount, body.Asks = len(b.Parts), len(b.Lines), asksOf(t)
			body.Drawing = template.HTML(picture.Engine(b, nil, nil, false))
		}
		return body
	}
	used := map[string]bool{}
	for i := range t.Columns {
		c := &t.Columns[i]
		body.Columns = append(body.Columns, columnView{c.At, c.Letter(), c.Heading, c.Says()})
		used[c.Says()] = true
	}
	for i, role := range roleWords {
		if i < 17 || used[role.Says] { // the rare ones only where they are used
			body.Roles = append(body.Roles, role)
		}
	}
	const heads = 30
	for i := range t.Sheet.Rows[:min(heads, len(t.Sheet.Rows))] {
		row := &t.Sheet.Rows[i]
		var words []string
		for _, c := range row.Cells {
			if c.Text != "" && !c.Merged {
				words = append(words, c.Text)
			}
		}
		body.HeadRows = append(body.HeadRows, headingRow{row.Line, fault.Cut(strings.Join(words, ", "))})
	}
	from := 0
	for i := range t.Sheet.Rows {
		if t.Sheet.Rows[i].Line <= t.Headings {
			from = i + 1
		}
	}
	if t.Read != nil && len(t.Read.Rows) > 0 { // the first that is a line
		for from < len(t.Sheet.Rows)-1 && t.Sheet.Rows[from].Line < t.Read.Rows[0].FileLine {
			from++
		}
	}
	to := min(from+printedRows, len(t.Sheet.Rows))
	for i := range t.Sheet.Rows[from:to] {
		body.Printed = append(body.Printed, printed(t, t.Sheet.Rows[from+i].Line))
	}
	body.More = len(t.Sheet.Rows) - to
	if t.Read == nil {
		return body
	}
	body.NoUnit = t.Read.NeedsUnit()
	body.AskUnit = body.Unit == "" && body.NoUnit
	for _, a := range t.Read.Asks {
		if a.Mark == "unit" && a.Likely != "" {
			body.Likely = "Likely " + unitWords[a.Likely] + ": " + a.Why
		}
	}
	if t.Mapping.Unit == "" && !body.NoUnit {
		body.Stated = unitWords[t.Read.Unit().String()]
	}
	for _, said := range t.Read.Said {
		if !strings.Contains(said, "--") { // which is asked here in other words
			body.TableSaid = append(body.TableSaid, sentence(said))
		}
	}
	body.Notes = len(t.Read.Notes)
	body.RowCount, body.HeldCount = t.Read.Count()
	body.Asks = asksOf(t)
	body.First = firstLines(d, t)
	return body
}

// asksOf are the questions about a table as a whole, with what was answered.
var unitWords = map[string]string{"in": "inches", "mm": "millimetres"}

func asksOf(t *draft.Table) []askView {
	var all []askView
	add := func(mark string, rows int) {
		a := askView{N: len(all), Mark: mark, Rows: rows, Means: answered(t.Mapping, mark)}
		for _, may := range intake.Meanings(mark) {
			a.May = append(a.May, askChoice{may, askWords[may]})
		}
		switch mark {
		case "wear":
			a.Words = "Service figures that are amounts of wear are counted"
		case "blank":
			a.Words = "A blank service limit means"
		default:
			a.Words = "“" + mark + "” for a service limit means"
		}
		all = append(all, a)
	}
	// In one order, whether they are answered or not: a question stays in its
	// place when it is.
	rows := map[string]int{}
	for mark := range t.Mapping.Answers {
		rows[strings.ToLower(mark)] = 0
	}
	for _, a := range t.Read.Asks {
		if a.Mark != "unit" { // which has its place by itself
			rows[a.Mark] = a.Rows
		}
	}
	for _, mark := range slices.Sorted(maps.Keys(rows)) {
		add(mark, rows[mark])
	}
	return all
}

func answered(m intake.Mapping, mark string) string {
	for k, means := range m.Answers {
		if strings.EqualFold(k, mark) {
			return means
		}
	}
	return ""
}

// printed is a row of the table as it stands there.
func printed(t *draft.Table, line int) printedRow {
	from := t.Printed(line)
	row := printedRow{Line: line}
	for i := range t.Columns {
		c := from.At(t.Columns[i].At)
		text := c.Text
		if c.Merged {
			text = ""
		}
		row.Cells = append(row.Cells, printedCell{Text: text, Figure: strings.ContainsAny(text, "0123456789"), Held: c.Doubt != ""})
	}
	return row
}

// firstLines are what the first rows of a table come to as it is understood now,
// which need not be kept yet.
func firstLines(d *draft.Draft, t *draft.Table) []sideRow {
	few := *t
	n := len(t.Sheet.Rows)
	if len(t.Read.Rows) > previewRows {
		last := t.Read.Rows[previewRows-1].FileLine
		for n > 0 && t.Sheet.Rows[n-1].Line > last {
			n--
		}
	}
	few.Sheet.Rows = t.Sheet.Rows[:n]
	m := t.Mapping
	m.Unit, m.Headings = t.Read.Unit().String(), t.Headings
	if t.Headings == 0 {
		m.Headings = -1
	}
	made := few.As(m)
	if made.Read == nil {
		return nil
	}
	b, err := bookOf(d, made)
	if err != nil {
		return nil
	}
	return sidesOf(made, b, made.Read.Rows)
}

// mappingOf is what a form says of a table.
func mappingOf(r *http.Request, t *draft.Table) (intake.Mapping, error) {
	m := t.Mapping
	m.Format = intake.MappingFormat
	if t.Whole { // it says all else itself
		return answersOf(r, m)
	}
	headings, err := strconv.Atoi(r.FormValue("headings"))
	if err != nil {
		return m, record.Refuse("form", "send it again", "the form does not say where the headings stand")
	}
	if headings == 0 {
		headings = -1
	}
	if was := r.FormValue("headings-were"); was != strconv.Itoa(max(0, headings)) {
		// The columns are recognised anew by those headings.
		m.Headings, m.Columns = headings, nil
		return m, nil
	}
	m.Headings = headings
	columns, _, _ := intake.Look(t.Sheet, intake.Mapping{Headings: headings})
	m.Columns = map[string]string{}
	for i := range columns {
		if says := r.FormValue(fmt.Sprintf("c%d", i)); says != "" {
			m.Columns[columns[i].Key(columns)] = says
		}
	}
	switch unit := r.FormValue("unit"); unit {
	case "", quantity.Inch.String(), quantity.Millimetre.String():
		m.Unit = unit
	default:
		return m, record.Refuse("unit", "choose inches or millimetres", "%q is not a unit of length", unit)
	}
	m.Decimal = r.FormValue("decimal")
	return answersOf(r, m)
}

// answersOf is a mapping with what a form says of the whole table.
func answersOf(r *http.Request, m intake.Mapping) (intake.Mapping, error) {
	m.Answers = map[string]string{}
	for n := 0; ; n++ {
		mark := r.FormValue(fmt.Sprintf("mark%d", n))
		if mark == "" {
			break
		}
		if means := r.FormValue(fmt.Sprintf("means%d", n)); means != "" {
			m.Answers[mark] = means
		}
	}
	if err := m.Check(); err != nil {
		return m, record.Refuse("mapping", "choose what the pages offer", "%v", err)
	}
	return m, nil
}

// postColumns keeps what was said of a table.
func (s *Server) postColumns(w http.ResponseWriter, r *http.Request) error {
	d, _, err := s.draftToChange(r)
	if err != nil {
		return err
	}
	n := tableNumber(r, d)
	m, err := mappingOf(r, d.Tables[n])
	if err != nil {
		return err
	}
	if err := s.options.Drafts.Say(d.Name, n, m); err != nil {
		words, ok := refusedWords(err)
		if !ok {
			return err
		}
		return s.columnsPage(w, r, http.StatusUnprocessableEntity, d, d.Tables[n].As(m), strings.Join(words, " "))
	}
	now := d.Tables[n].As(m)
	to := fmt.Sprintf("%s/rows?table=%d", draftPath(d.Name), n)
	if now.Read == nil || now.Read.NeedsUnit() || r.FormValue("do") == "show" {
		to = fmt.Sprintf("%s/columns?table=%d", draftPath(d.Name), n)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}
