// Package intake makes a book of a table of limits that somebody else laid out:
// table → draft → a book's text. It is pure: no disk, no clock.
//
// Nothing is guessed away. What a column holds is recognised by its heading or
// set by the user; what a row judges is suggested from its words, and asked
// where they do not say; each cell becomes a limit by what it says and by its
// column, or a hold with its likely readings and why it can't be read for
// certain. Every row of the table becomes a line, held or not, and what a whole
// table means by a blank or an asterisk is asked once.
package intake

import (
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// A Draft is a table as it was understood.
type Draft struct {
	Sheet   table.Sheet
	Columns []Column
	Rows    []Row
	Notes   []Note // rows that are no lines: headings and notes
	Asks    []Ask
	Said    []string
	Whole   *Filled // the table is a whole book, as a sheet; nil: it is not

	unit     quantity.Unit
	unasked  bool // nothing says that it is that unit
	comma    bool
	headings int      // which row the headings are; −1: none
	headed   []headed // by column
}

// A Note is a row that is no line of the table.
type Note struct {
	Line    int
	Text    string
	Heading bool // over the rows that follow
}

// An Ask is one question about the whole table: what a mark means, from which
// end amounts of wear are counted, or which unit its lengths are in.
type Ask struct {
	Mark string // as one answers it: blank, *, n/a; wear; unit
	Rows int    // how many rows have it
	May  []string
	// Likely is the one of May that the figures look like, and Why; both empty
	// where they look like none.
	Likely, Why string
}

// A Row is one row of the table and the line that it becomes.
type Row struct {
	FileLine                   int
	Ref, Page, Name, Part, Why string // Why: the note that stands beside it
	Printed                    Cells  // as they are printed
	New, Service               string // as the book has them; empty where held
	Also                       Cells  // in the second unit
	AlsoUnit                   quantity.Unit
	Unit                       quantity.Unit
	Kind                       Kind
	Wears                      string // smaller, larger, either: where the kind leaves it open
	Mean                       bool
	As                         string // how it is measured: at 70 F
	Holds                      []Hold
	Contradiction              string   // why its limits, which can be read, contradict each other
	Lines                      []string // the keys of its lines in the book that was made last
	Positions                  int      // how many of its part there are in that book; 0: one, which stands alone

	stem    []string // what its names are made of
	of      part     // with no features
	at      Measured // as it is said, and for all diameters
	unasked bool     // nothing says that its unit is Unit
	digits  bool     // of a number its digits are unknown
	doubts  [2]string
	mays    [2][]string // what a doubted cell may say
	unfit   Kind        // what the row was said to judge, and can't in its unit
	between bool        // it stands in a column of clearances
	base    bool        // an amount of wear, and nobody has said from which end
}

// Cells are a row's two cells in words.
type Cells struct{ New, Service string }

// A Hold is a cell that can't be read for certain.
type Hold struct {
	Cell string // new, service, kind
	Text string
	May  []string
	Why  string
}

// Held tells whether anything of the row waits for a person.
func (r *Row) Held() bool { return len(r.Holds) > 0 || r.Contradiction != "" }

// Unit is the unit of lengths where a row names no other.
func (d *Draft) Unit() quantity.Unit { return d.unit }

// NeedsUnit tells whether the table has lengths and nothing says which unit they
// are in. Then it is asked, and until it is answered there is no book: with the
// wrong unit every line would look right and be wrong.
func (d *Draft) NeedsUnit() bool {
	return slices.ContainsFunc(d.Asks, func(a Ask) bool { return a.Mark == "unit" })
}

// Count returns how many rows there are, and how many of them are held.
func (d *Draft) Count() (rows, held int) {
	for i := range d.Rows {
		if d.Rows[i].Held() {
			held++
		}
	}
	return len(d.Rows), held
}

// Read understands a sheet, with what the user said of it. Where no row can be
// read there is no draft, and the faults say why.
func Read(s table.Sheet, m Mapping) (*Draft, fault.List) {
	d := &Draft{Sheet: s, Said: slices.Clone(s.Said)}
	head, faults := d.head(m)
	if faults != nil {
		return nil, faults
	}
	if faults := d.readUnit(m); faults != nil {
		return nil, faults
	}
	if len(s.Rows) == head {
		return nil, fault.List{{File: s.File, Code: "empty", What: "below its headings the table has no rows", Do: "look whether this is the sheet that is meant"}}
	}
	d.Rows = make([]Row, 0, len(s.Rows)-head)
	for i := range d.Columns {
		d.headed = append(d.headed, d.Columns[i].heads())
	}
	size := 0 // of the book, at least
	for i := range s.Rows[head:] {
		n := len(d.Rows)
		if d.isHeadings(&s.Rows[head+i], head) {
			d.Notes = append(d.Notes, Note{s.Rows[head+i].Line, "the headings again", false})
			continue
		}
		if d.row(&s.Rows[head+i]); len(d.Rows) > n {
			const least = 60 // a line's keys and blanks
			if size += least + 2*len(d.Rows[n].Name); size > book.MaxSize {
				return nil, fault.List{{
					File: s.File, Line: d.Rows[n].FileLine, Column: 1, Code: "size", What: fmt.Sprintf("the table comes to more than a book has, which is %d MB", book.MaxSize>>20),
					Do: "a book is one engine's table of limits: import each engine's by itself",
				}}
			}
		}
	}
	d.unread(s.Rows[head:], m)
	d.readComma(m)
	d.siblings()
	d.each(func(r *Row) {
		r.named()
		d.kindOf(r, m)
	})
	d.siblings()
	if faults := d.notOf(m); faults != nil {
		return nil, faults
	}
	places, err := m.places()
	if err != nil {
		return nil, fault.List{{File: s.File, Code: "mapping", What: err.Error(), Do: "say it so in the mapping"}}
	}
	d.each(func(r *Row) {
		d.measured(r, m, places)
		d.limits(r, m)
		r.doubt(m)
	})
	d.count(m)
	return d, nil
}

// unread says of columns that nobody knows and that have figures that they are left
// out: one of them may be the service limits.
func (d *Draft) unread(rows []table.SheetRow, m Mapping) {
	for i := range d.Columns {
		c := &d.Columns[i]
		if c.Role != Skip || c.Heading == "" || m.says(c) {
			continue
		}
		figures := 0
		for k := range rows {
			if digit.MatchString(rows[k].At(c.At).Text) {
				figures++
			}
		}
		if figures > 0 {
			d.Said = append(d.Said, fmt.Sprintf("what the column %q holds is not recognised, and its %d figures are left out: if they are limits say so, as --map %q", c.Heading, figures, c.Heading+"=service"))
		}
	}
}

// cellUnit is the unit of a load, a torque, a pressure, an angle or a weight that
// stands in a row's cells behind their figures; NoUnit where none does.
func (r *Row) cellUnit() quantity.Unit {
	for _, text := range []string{r.Printed.New, r.Printed.Service} {
		text = strings.TrimSuffix(strings.TrimSpace(text), ".")
		at := strings.LastIndexAny(text, "0123456789")
		if at < 0 || at == len(text)-1 {
			continue
		}
		u, err := quantity.ParseUnit(strings.TrimSpace(text[at+1:]))
		if err != nil {
			continue
		}
		switch u.Kind() {
		case quantity.ForceKind, quantity.TorqueKind, quantity.PressureKind, quantity.AngleKind:
			return u
		}
		switch {
		case u == quantity.Pound && loadWords.fits(strings.ToLower(r.Name)):
			return quantity.PoundForce // a spring's pounds are what it bears
		case u.Kind() == quantity.MassKind:
			return u
		}
	}
	return quantity.NoUnit
}

// each does something to every row that looks at no other, by as many cores as
// there are.
func (d *Draft) each(do func(r *Row)) {
	const some = 256
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), 1+len(d.Rows)/some) {
		wait.Go(func() {
			for {
				from := int(next.Add(some)) - some
				if from >= len(d.Rows) {
					return
				}
				for i := from; i < min(from+some, len(d.Rows)); i++ {
					do(&d.Rows[i])
				}
			}
		})
	}
	wait.Wait()
}

// row reads one row of the sheet: a line's, or a heading or note.
func (d *Draft) row(from *table.SheetRow) {
	r := Row{FileLine: from.Line, Unit: d.unit, unasked: d.unasked}
	part := ""
	var lo, hi [2]string // the ends of new and of service, where they have columns
	var alsoLo, alsoHi [2]string
	seen, words := 0, 0
	first := ""
	for i, c := range d.Columns {
		cell := from.At(c.At)
		if cell.Text == "" && cell.Doubt == "" {
			continue
		}
		if !cell.Merged {
			seen++
			first = cell.Text
		}
		if c.Role != Skip && c.Role != Name && c.Role != Part {
			words++
		}
		which := 0
		if c.Role.isService() {
			which = 1
		}
		if (c.Role.isNew() || c.Role.isService()) && !c.Second {
			r.digits = r.digits || cell.Digits
			if cell.Doubt != "" && r.doubts[which] == "" {
				r.doubts[which] = cell.Doubt
				if cell.Holds != "" && (c.Role == New || c.Role == Service) {
					if r.mays[which] = []string{cell.Holds}; plainFigure(cell.Text) {
						r.mays[which] = append(r.mays[which], cell.Text)
					}
				}
			}
		}
		switch {
		case c.Second && c.Role.isEnd():
			if c.Role == NewMax || c.Role == ServiceMax {
				alsoHi[which] = cell.Text
			} else {
				alsoLo[which] = cell.Text
			}
			r.AlsoUnit = c.Unit
		case c.Second && c.Role == New:
			r.Also.New, r.AlsoUnit = cell.Text, c.Unit
		case c.Second && c.Role == Service:
			r.Also.Service, r.AlsoUnit = cell.Text, c.Unit
		case c.Role == NewMin, c.Role == ServiceMin:
			lo[which] = cell.Text
		case c.Role == NewMax, c.Role == ServiceMax:
			hi[which] = cell.Text
		case c.Role == New:
			if r.Printed.New, r.between = cell.Text, d.headed[i].clearances; d.headed[i].bothEnds {
				r.Printed.New = endsApart(cell.Text)
			}
		case c.Role == Service:
			if r.Printed.Service = cell.Text; d.headed[i].bothEnds {
				r.Printed.Service = endsApart(cell.Text)
			}
		case c.Role == Ref:
			r.Ref = cell.Text
		case c.Role == Page:
			r.Page = cell.Text
		case c.Role == Name:
			r.Name = joined(r.Name, cell.Text)
		case c.Role == Part:
			part = cell.Text
		case c.Role == NoteCell:
			r.Why = joined(r.Why, cell.Text)
		case c.Role == Unit:
			if u, err := quantity.ParseUnit(cell.Text); err == nil && (u.Kind() == quantity.LengthKind || kindOfUnit(u) != "") {
				r.Unit, r.unasked = u, false
			} else {
				r.doubts[0] = "the row's unit, \"" + fault.Cut(cell.Text) + "\", is none that a book measures in"
			}
		}
	}
	if seen == 0 {
		return
	}
	for which, to := range []*string{&r.Printed.New, &r.Printed.Service} {
		if text := ends(ofEnd(lo[which], "min"), ofEnd(hi[which], "max")); text != "" {
			*to = joined(*to, text)
		}
	}
	for which, to := range []*string{&r.Also.New, &r.Also.Service} {
		if text := ends(alsoLo[which], alsoHi[which]); text != "" {
			*to = joined(*to, text)
		}
	}
	if u := r.cellUnit(); u != quantity.NoUnit && r.Unit.Kind() == quantity.LengthKind {
		r.Unit, r.unasked = u, false
	} else if u := r.nameUnit(); u != quantity.NoUnit && r.Unit.Kind() == quantity.LengthKind {
		r.Unit, r.unasked = u, false
	}
	figures := r.Printed.New != "" || r.Printed.Service != "" || r.Also != Cells{}
	// A lone text without a figure beside it is a heading or a note; so is one
	// that goes over the whole row, and one that stands in another column than
	// names do.
	if !figures && (words == 0 || seen == 1 && r.Name == "") || seen == 1 && wide(from) {
		text := joined(r.Name, part)
		if text == "" {
			text = first
		}
		heading := len(text) < 60 && !strings.HasSuffix(text, ".") && !strings.HasPrefix(strings.ToLower(text), "note")
		d.Notes = append(d.Notes, Note{from.Line, text, heading})
		return
	}
	r.Part = part
	if part == "" {
		for _, n := range slices.Backward(d.Notes) {
			if n.Heading {
				r.Part = n.Text
				break
			}
		}
	}
	if r.Name == "" {
		r.Name = joined(r.Part, r.Ref)
	}
	if r.Name == "" {
		r.Name = fmt.Sprintf("row %d", from.Line)
	}
	d.Rows = append(d.Rows, r)
}

// wide tells a row of which one cell goes over several.
func wide(r *table.SheetRow) bool {
	return slices.ContainsFunc(r.Cells, func(c table.Cell) bool { return c.Merged })
}

// ends writes the two ends of a limit that have columns of their own.
func ends(lo, hi string) string {
	switch {
	case isMark(lo) && isMark(hi):
		return lo
	case hi == "" || isMark(hi):
		return "min " + lo
	case lo == "" || isMark(lo):
		return "max " + hi
	}
	if strings.HasPrefix(hi, ".") || strings.HasSuffix(lo, ".") {
		return lo + " to " + hi // three points in a row could be anything
	}
	return lo + ".." + hi
}

func joined(a, b string) string {
	switch {
	case a == "":
		return b
	case b == "", a == b:
		return a
	}
	return a + ", " + b
}

// readComma tells whether the table writes decimal commas: where it writes no
// points at all.
func (d *Draft) readComma(m Mapping) {
	if m.Decimal != "" {
		d.comma = m.Decimal == "comma"
		return
	}
	for i := range d.Rows {
		// The points between the two ends of a range are no decimal points.
		text := strings.ReplaceAll(d.Rows[i].Printed.New+" "+d.Rows[i].Printed.Service, "..", " ")
		if pointFigure.MatchString(text) {
			d.comma = false
			return
		}
		d.comma = d.comma || commaFigure.MatchString(text)
	}
	if d.comma {
		d.Said = append(d.Said, "the figures have decimal commas")
	}
}

// count adds up what is to be said of the whole table.
func (d *Draft) count(m Mapping) {
	d.askUnit()
	unknown := 0
	for i := range d.Rows {
		if d.Rows[i].digits {
			unknown++
		}
	}
	if unknown > 0 {
		d.Said = append(d.Said, fmt.Sprintf("in %d row%s are numbers whose format does not show how many decimals they were entered with: digits unknown, the values are taken", unknown, map[bool]string{true: "s"}[unknown != 1]))
	}
	marks := map[string]int{}
	for i := range d.Rows {
		if mark, asked := d.Rows[i].asked(m); asked {
			marks[mark]++
		}
	}
	for _, mark := range slices.Sorted(maps.Keys(marks)) {
		d.Asks = append(d.Asks, Ask{Mark: mark, Rows: marks[mark], May: meanings})
	}
	amounts := 0
	for i := range d.Rows {
		if d.Rows[i].base {
			amounts++
		}
	}
	if amounts > 0 {
		d.Asks = append(d.Asks, Ask{Mark: "wear", Rows: amounts, May: bases})
	}
}
