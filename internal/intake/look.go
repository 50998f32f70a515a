package intake

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/table"
)

// Look says how a sheet's columns are understood, and on which line its headings
// stand (0: it has none), also where the sheet can't be read: for who is to say
// it better. Where no headings are recognised the columns are those of the row
// that may be meant.
func Look(s table.Sheet, m Mapping) (columns []Column, headings int, faults fault.List) {
	d := &Draft{Sheet: s, headings: -1}
	_, faults = d.head(m)
	if len(d.Columns) == 0 {
		d.headings = likeHeadings(&s)
		for i := range s.Width {
			c := Column{At: i}
			if d.headings >= 0 {
				c.Heading = s.Rows[d.headings].At(i).Text
			}
			if role, second, unit, _, ok := m.column(&c); ok {
				c.Role, c.Second, c.Unit = role, second, unit
			}
			d.Columns = append(d.Columns, c)
		}
	}
	if d.headings >= 0 {
		headings = s.Rows[d.headings].Line
	}
	return d.Columns, headings, faults
}

// likeHeadings is the first row that has several words and no figure; −1 where
// there is none.
func likeHeadings(s *table.Sheet) int {
	const look = 30
	for i := range min(look, len(s.Rows)) {
		words := 0
		for _, c := range s.Rows[i].Cells {
			if digit.MatchString(c.Text) {
				words = 0
				break
			}
			if c.Text != "" && !c.Merged {
				words++
			}
		}
		if words > 1 {
			return i
		}
	}
	return -1
}

// Roles are what a column can hold, as a mapping says it.
func Roles() []string { return slices.Clone(roleNames[:]) }

// Kinds are what a row can judge, as a mapping says it.
func Kinds() []string { return slices.Clone(kindNames[1:]) }

// Says is what the column holds, as a mapping says it: "service", "new mm".
func (c *Column) Says() string {
	if c.Second {
		return c.Role.String() + " " + c.Unit.String()
	}
	return c.Role.String()
}

// Key is what a mapping names the column by: its heading, or its letter where it
// has none or shares it.
func (c *Column) Key(all []Column) string {
	for i := range all {
		o := &all[i]
		if o.At != c.At && tidyHeading(o.Heading) == tidyHeading(c.Heading) {
			return letter(c.At)
		}
	}
	if tidyHeading(c.Heading) == "" || (Mapping{Columns: map[string]string{c.Heading: ""}}).byLetter() {
		return letter(c.At)
	}
	return c.Heading
}

// Letter is the column's letter in a spreadsheet.
func (c *Column) Letter() string { return letter(c.At) }

// For is what a mapping says of another table of the manual: of the columns that
// this one has as well, and of the unit where this one names none.
func (m Mapping) For(s table.Sheet) Mapping {
	m.Headings = 0
	was := m.Columns
	m.Columns = map[string]string{}
	columns, _, _ := Look(s, Mapping{})
	for h, says := range was {
		if slices.ContainsFunc(columns, func(c Column) bool { return c.Heading != "" && tidyHeading(h) == tidyHeading(c.Heading) }) {
			m.Columns[h] = says
		}
	}
	unit := m.Unit
	m.Unit = ""
	if d, _ := Read(s, m); d != nil && d.NeedsUnit() {
		m.Unit = unit
	}
	return m
}

// Make is the text of a book with the table in it: of a new one, or of the one
// that is there, added to, and the book that it loads as; name is what its
// faults call it.
func (d *Draft) Make(name string, was []byte, t Title) (text []byte, b *book.Book, err error) {
	switch {
	case d.Whole != nil:
		if text, err = d.Whole.make(name, was, t); err != nil {
			return nil, nil, err
		}
	case len(bytes.TrimSpace(was)) == 0:
		text = d.Book(t)
	default:
		b, err := book.Load(name, was)
		if err != nil {
			return nil, nil, fmt.Errorf("the book that the table is to be added to has faults; nothing was written\n%w", err)
		}
		if text, err = d.Into(was, b); err != nil {
			return nil, nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	if len(text) > book.MaxSize {
		return nil, nil, fmt.Errorf("%s would be larger than %d MB: a book is one engine's table of limits", name, book.MaxSize>>20)
	}
	if b, err = book.Load(name, text); err != nil {
		return nil, nil, fmt.Errorf("the book that the table comes to can't be judged by; nothing was written\n%w", err)
	}
	return text, b, nil
}

// Meanings are what the mark can mean for a whole table.
func Meanings(mark string) []string {
	if strings.EqualFold(mark, "wear") {
		return slices.Clone(bases)
	}
	return slices.Clone(meanings)
}
