package intake

import (
	"bytes"
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/table"
)

// ReadWhole reads a book that was written as a sheet, which [IsBookSheet] tells, as
// [ReadBookSheets] does; its rows are its lines. It is a draft like any other, but
// that it makes a book by itself and is never added to one.
func ReadWhole(first table.Sheet, data []byte, m Mapping) (*Draft, fault.List) {
	f, faults := ReadBookSheets(first, data, m)
	if len(faults) > 0 {
		return nil, faults
	}
	d := &Draft{Sheet: first, Columns: wholeColumns(&first), Asks: f.Asks, Whole: f}
	for _, row := range f.from.rows[0] {
		r := Row{
			FileLine: row.line, Ref: row.text("ref"), Page: row.text("page"), Name: row.text("name"),
			New: row.text(book.HoldNew), Service: row.text(book.HoldService), Lines: []string{row.names[0]},
		}
		if l, ok := f.Book.Line(row.names[0]); ok {
			for _, h := range l.Holds {
				r.Holds = append(r.Holds, Hold{h.Cell, h.Text, h.May, h.Why})
			}
			r.Contradiction = l.Contradiction
		}
		d.Rows = append(d.Rows, r)
	}
	return d, nil
}

// shown are the columns of a sheet of lines that a person looks at beside what was
// read, and what they hold.
var shown = map[string]Role{"Ref": Ref, "Page": Page, "Name": Name, "Unit": Unit, "New": New, "Service": Service, "Note": NoteCell}

// wholeColumns are those columns where they stand.
func wholeColumns(s *table.Sheet) (all []Column) {
	n := slices.IndexFunc(s.Rows, func(r table.SheetRow) bool { return limitsSection.heads(&r) })
	if n < 0 {
		return nil
	}
	for i, c := range s.Rows[n].Cells {
		if role, ok := shown[c.Text]; ok {
			all = append(all, Column{At: i, Heading: c.Text, Role: role})
		}
	}
	return all
}

// Title is what the book says of itself.
func (f *Filled) Title() Title {
	return Title{Engine: f.Book.Engine, Manual: f.Book.Manual.Title, Number: f.Book.Manual.Number, Revision: f.Book.Manual.Revision, Date: f.Book.Manual.Date}
}

// Titled is the book's text with something else said of the engine and the manual
// that it is of.
func (f *Filled) Titled(t Title) []byte {
	if t == f.Title() {
		return f.Text
	}
	r := *f.from
	one := func(names [3]string, says string) *sheetRow {
		row := &sheetRow{names: names[:], at: map[string]int{}, cells: map[string]*yaml.Node{}}
		row.set("Says", says)
		return row
	}
	title := []*sheetRow{one([3]string{"engine"}, t.Engine)}
	for _, m := range [][2]string{{"title", t.Manual}, {"number", t.Number}, {"revision", t.Revision}, {"date", t.Date}} {
		if m[1] != "" {
			title = append(title, one([3]string{"manual", m[0]}, m[1]))
		}
	}
	var rest []*sheetRow
	for _, row := range f.from.rows[2] {
		switch row.names[0] {
		case "engine", "manual":
			rest, title = append(rest, title...), nil
		default:
			rest = append(rest, row)
		}
	}
	r.rows[2] = append(rest, title...)
	text, _ := r.write()
	return text
}

// make is the book of a sheet that is a whole one.
func (f *Filled) make(name string, was []byte, t Title) (text []byte, err error) {
	if len(bytes.TrimSpace(was)) > 0 {
		return nil, fmt.Errorf("%s: a book as a sheet is not added to another book: import it by itself", name)
	}
	return f.Titled(t), nil
}
