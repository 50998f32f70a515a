package reading

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// Columns are the names that a readings file may have in its header, in any
// order. A spot is named by its one text, or by its parts in columns.
var Columns = []string{
	"spot", "part", "position", "feature", "place", "plane", "direction",
	"value", "unit", "setting", "sense", "item", "stage", "step",
	"gauge", "temperature", "by", "when", "note",
}

// A File is what a readings file holds: its readings, and every fault.
// Readings of rows in fault are left out.
type File struct {
	Name     string
	Readings []Reading
	Blank    int // rows that name a spot and have no value: not measured yet
	Faults   fault.List
	Unusable bool // the header is such that no row can be read
}

// Load reads a file of readings taken for the engine that b is of. comma tells
// that the file writes 2,2490 for 2.2490.
func Load(name string, data []byte, b *book.Book, comma bool) *File {
	t, faults := table.CSV(name, data)
	l := &loader{book: b, comma: comma, file: &File{Name: name, Faults: faults}}
	if !l.header(t) {
		l.file.Unusable = true
		l.file.Faults.Sort()
		return l.file
	}
	l.file.Readings = make([]Reading, 0, len(t.Rows))
	for _, row := range t.Rows {
		l.row(row)
	}
	l.file.Faults.Sort()
	return l.file
}

type loader struct {
	book  *book.Book
	comma bool
	file  *File
	at    [colCount]int // column of each name in Columns, −1 where there is none
}

// Indices into Columns.
const (
	colSpot = iota
	colPart
	colPosition
	colFeature
	colPlace
	colPlane
	colDirection
	colValue
	colUnit
	colSetting
	colSense
	colItem
	colStage
	colStep
	colGauge
	colTemperature
	colBy
	colWhen
	colNote
	colCount
)

func (l *loader) fault(line, column int, field, code, text, what, do string) {
	l.file.Faults = append(l.file.Faults, fault.Fault{
		File: l.file.Name, Line: line, Column: column, Field: field, Code: code, Text: text, What: what, Do: do,
	})
}

// header finds the columns; false where no row can be read.
func (l *loader) header(t table.Table) bool {
	if t.Header == nil {
		return false
	}
	for i := range l.at {
		l.at[i] = -1
	}
	for i, h := range t.Header {
		name := strings.ToLower(strings.Join(strings.Fields(h), " "))
		n := slices.Index(Columns, name)
		switch {
		case name == "":
			// A column without a name is let be while it is empty.
			for _, row := range t.Rows {
				if row.Cells[i] != "" {
					l.fault(row.Line, i+1, "", "column", row.Cells[i], "the cell stands in a column that has no name", "name the column, or empty it")
				}
			}
		case n < 0:
			l.fault(t.Line, i+1, name, "column", h, "there is no such column", "the columns are "+strings.Join(Columns, ", "))
		case l.at[n] >= 0:
			l.fault(t.Line, i+1, name, "column", h, "the column stands here a second time", "keep one of the two")
		default:
			l.at[n] = i
		}
	}
	ok := true
	need := func(col int, why string) {
		if l.at[col] < 0 {
			ok = false
			l.fault(t.Line, 1, Columns[col], "header", "", "the file has no such column", why)
		}
	}
	if l.at[colPart] < 0 && l.at[colFeature] < 0 {
		need(colSpot, "add a column \"spot\", as crank.main-1.front.0 (or part, position, feature, place, plane, direction)")
	} else if l.at[colSpot] >= 0 {
		ok = false
		l.fault(t.Line, 1, "spot", "header", "", "the file names spots in two ways", "keep either the column \"spot\" or the columns of its parts")
	} else {
		need(colPart, "name the part that each reading is of")
		need(colFeature, "name the feature that each reading is of")
	}
	need(colValue, "add a column \"value\" with what the gauge showed")
	return ok
}

func (l *loader) cell(row table.Row, col int) string {
	if l.at[col] < 0 {
		return ""
	}
	return row.Cells[l.at[col]]
}

func (l *loader) row(row table.Row) {
	before := len(l.file.Faults)
	fail := func(col int, code, text, what, do string) {
		l.fault(row.Line, max(0, l.at[col])+1, Columns[col], code, text, what, do)
	}
	id, known := l.spot(row, fail)
	value := l.cell(row, colValue)
	if known && value == "" {
		l.file.Blank++
		return
	}
	n := len(l.file.Readings)
	l.file.Readings = append(l.file.Readings, Reading{
		Spot: id, Item: l.words(row, colItem, fail), Gauge: l.words(row, colGauge, fail),
		By: l.words(row, colBy, fail), Note: l.words(row, colNote, fail), Row: row.Line,
	})
	r := &l.file.Readings[n]
	if known {
		l.value(r, row, l.book.FeatureAt(id), fail)
	}
	if text := l.cell(row, colStage); text != "" {
		var ok bool
		if r.Stage, ok = parseStage(text); !ok {
			fail(colStage, "stage", text, "is not a stage", "write found, rework 1, rework 2 and so on, or assembled")
		}
	}
	if text := l.cell(row, colStep); text != "" {
		if r.Step = text; !stepPattern.MatchString(text) {
			fail(colStep, "step", text, "is not the mark of a step", "write it as the book does, in a–z and 0–9; nothing for a standard part")
		}
	}
	if text := l.cell(row, colTemperature); text != "" {
		f, shown, err := quantity.Format{DecimalComma: l.comma}.Figure(text)
		switch {
		case err != nil:
			what, do := figureFault(err, "it with its unit, as 68 F or 20 C")
			fail(colTemperature, "temperature", text, what, do)
		case f.Kind() != quantity.TemperatureKind:
			fail(colTemperature, "temperature", text, "is not a temperature", "write it with its unit, as 68 F or 20 C")
		}
		r.Temperature = shown
	}
	if text := l.cell(row, colWhen); text != "" {
		if r.When = text; !isWhen(text) {
			fail(colWhen, "when", text, "is not a date or a time", "write it as 2026-03-09 or 2026-03-09 14:30")
		}
	}
	if len(l.file.Faults) > before {
		l.file.Readings = l.file.Readings[:n]
	}
}

var stepPattern = regexp.MustCompile(`^[a-z0-9]+$`)

// words is what a person wrote, on one line; what a terminal would obey is
// refused.
func (l *loader) words(row table.Row, col int, fail failFunc) string {
	text := strings.Join(strings.Fields(l.cell(row, col)), " ")
	if strings.ContainsFunc(text, unicode.IsControl) {
		fail(col, "text", text, "has a control character in it", "write it again")
	}
	return text
}

type failFunc func(col int, code, text, what, do string)

// spot finds where the row's reading was taken.
func (l *loader) spot(row table.Row, fail failFunc) (id book.SpotID, ok bool) {
	text, col := l.cell(row, colSpot), colSpot
	if l.at[colSpot] < 0 {
		var missing int
		if text, missing = l.joined(row); missing >= 0 {
			fail(missing, "spot", "", "is empty", "name the part and the feature that the reading is of")
			return 0, false
		}
		col = colPart
	}
	if text == "" {
		fail(col, "spot", "", "is empty", "say where the reading was taken, as crank.main-1.front.0")
		return 0, false
	}
	if id, ok = l.book.Spot(text); ok {
		return id, true
	}
	s, err := book.ParseSpot(text)
	if err != nil {
		what, do, _ := strings.Cut(err.Error(), ": ")
		fail(col, "spot", text, what, do)
		return 0, false
	}
	fail(col, "spot", text, "the book has no such spot", l.near(s))
	return 0, false
}

// joined makes a spot's text of the columns of its parts.
func (l *loader) joined(row table.Row) (text string, missing int) {
	part, feature := l.cell(row, colPart), l.cell(row, colFeature)
	switch {
	case part == "":
		return "", colPart
	case feature == "":
		return "", colFeature
	}
	if n := l.cell(row, colPosition); n != "" {
		part += "-" + n
	}
	if n := l.cell(row, colPlace); n != "" {
		feature += "-" + n
	}
	text = part + "." + feature
	plane, direction := l.cell(row, colPlane), l.cell(row, colDirection)
	if plane == "" && direction != "" {
		plane = "-"
	}
	if plane != "" {
		text += "." + plane
	}
	if direction != "" {
		text += "." + direction
	}
	return text, -1
}

// near tells which spots the named feature has, or which features the part.
func (l *loader) near(s book.Spot) string {
	for _, p := range l.book.Parts {
		if p.Key != s.Part {
			continue
		}
		var keys []string
		for _, f := range p.Features {
			if f.Key == s.Feature {
				first, last := f.Sites[0].Spots, f.Sites[len(f.Sites)-1].Spots
				return fmt.Sprintf("%s goes from %s to %s", f.Ref(), l.book.Spots[first[0]], l.book.Spots[last[len(last)-1]])
			}
			keys = append(keys, f.Ref())
		}
		return "the part has " + few(keys)
	}
	var keys []string
	for _, p := range l.book.Parts {
		keys = append(keys, p.Key)
	}
	return "the book's parts are " + few(keys)
}

// few lists as many names as a reader wants to see.
func few(names []string) string {
	const most = 12
	if len(names) > most {
		names = append(names[:most:most], "…")
	}
	return strings.Join(names, ", ")
}

// isWhen tells the forms of ISO 8601 that people write.
func isWhen(text string) bool {
	if len(text) == len(time.DateOnly) {
		_, err := time.Parse(time.DateOnly, text)
		return err == nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", time.DateTime, "2006-01-02T15:04:05", time.RFC3339} {
		if _, err := time.Parse(layout, text); err == nil {
			return true
		}
	}
	return false
}
