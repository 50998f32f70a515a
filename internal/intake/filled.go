package intake

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/table"
	"tenths/metrology/limit"
)

// A Filled is a book that was read from sheets.
type Filled struct {
	Text     []byte
	Book     *book.Book
	Asks     []Ask
	Edition  string // of the book that the sheets were written from; empty if they do not say
	Unfilled int    // lines without limits as yet
	Held     int    // lines with a cell that can't be read for certain

	from *sheetReader
}

// IsBookSheet tells a sheet that [BookSheets] wrote.
func IsBookSheet(s table.Sheet) bool {
	return len(s.Rows) > 0 && s.Rows[0].At(0).Text == SheetFormat
}

// ReadBookSheets makes a book of the sheets that [BookSheets] wrote, filled in or
// changed: of the first of them, which [IsBookSheet] tells, and of what else data,
// the file, has. Of a mapping only the answers are used, what an empty cell or a
// mark means in the column of service limits of lines that are newly filled in, and
// the cells that a person doubts.
func ReadBookSheets(first table.Sheet, data []byte, m Mapping) (*Filled, fault.List) {
	r := &sheetReader{file: first.File, m: m, marks: map[string]int{}}
	r.read(first)
	if first.Name != "" {
		for _, s := range sections[1:] {
			more, faults := table.Read(first.File, s.name, data)
			if len(faults) > 0 {
				return nil, faults
			}
			r.file = first.File + ", sheet " + s.name
			r.read(more)
			r.file = first.File
		}
	}
	f := r.filled()
	if len(r.faults) > 0 {
		r.faults.Sort()
		return nil, r.faults
	}
	return f, nil
}

// A sheetRow is one row of a section: what it is of, and its values by key.
type sheetRow struct {
	file  string
	line  int
	names []string
	at    map[string]int // the key's column
	cells map[string]*yaml.Node
}

func (r *sheetRow) text(key string) string {
	if n := r.cells[key]; n != nil && n.Kind == yaml.ScalarNode && !null(n) {
		return n.Value
	}
	return ""
}

func (r *sheetRow) set(key, text string) {
	if delete(r.cells, key); text != "" {
		r.cells[key] = &yaml.Node{}
		r.cells[key].SetString(text)
	}
}

// held is what is held of a cell, nil where nothing is; unfilled tells that it was
// never entered.
func (r *sheetRow) held(cell string) (h *yaml.Node, unfilled bool) {
	if h = child(r.cells["hold"], cell); h == nil {
		return nil, false
	}
	text, why := child(h, "text"), child(h, "why")
	return h, text != nil && why != nil && text.Value == "" && why.Value == book.NotStated
}

// free takes a cell out of what is held.
func (r *sheetRow) free(cell string) {
	hold := r.cells["hold"]
	for i := 0; i+1 < len(hold.Content); i += 2 {
		if hold.Content[i].Value == cell {
			hold.Content = slices.Delete(hold.Content, i, i+2)
			break
		}
	}
	if len(hold.Content) == 0 {
		delete(r.cells, "hold")
	}
}

// hold holds a cell in place of what it had.
func (r *sheetRow) hold(cell, text, why string, may []string) {
	r.set(cell, "")
	h := &yaml.Node{Kind: yaml.MappingNode}
	add := func(key string, v *yaml.Node) { h.Content = append(h.Content, scalar(key), v) }
	add("text", scalar(text))
	if len(may) > 0 {
		list := &yaml.Node{Kind: yaml.SequenceNode}
		for _, m := range may {
			list.Content = append(list.Content, scalar(m))
		}
		add("may", list)
	}
	add("why", scalar(why))
	hold := r.cells["hold"]
	if hold == nil {
		hold = &yaml.Node{Kind: yaml.MappingNode}
		r.cells["hold"] = hold
	}
	if child(hold, cell) != nil {
		r.free(cell)
		if r.cells["hold"] == nil {
			r.cells["hold"] = hold
		}
	}
	hold.Content = append(hold.Content, scalar(cell), h)
}

func scalar(text string) *yaml.Node {
	n := &yaml.Node{}
	n.SetString(text)
	return n
}

type sheetReader struct {
	file   string // with the sheet's name where it is not the first
	m      Mapping
	faults fault.List
	rows   [3][]*sheetRow // by section
	marks  map[string]int // by mark, the lines that ask for its meaning
}

func (r *sheetReader) fault(line, column int, code, text, what, do string) {
	r.faults = append(r.faults, fault.Fault{File: r.file, Line: line, Column: column, Code: code, Text: text, What: what, Do: do})
}

// read takes the rows of a sheet, which may hold several sections.
func (r *sheetReader) read(s table.Sheet) {
	rows := joinRows(s.Rows)
	at := -1
	var heads map[int]int // by column of the sheet, that of the section
	for i := range rows {
		row := &rows[i]
		if i == 0 && row.At(0).Text == SheetFormat {
			continue
		}
		if n := slices.IndexFunc(sections, func(s *section) bool { return s.heads(row) }); n >= 0 {
			at, heads = n, r.heads(sections[n], row)
			continue
		}
		if at < 0 {
			r.fault(row.Line, 1, "header", row.At(0).Text, "stands above the headings", "let the sheet begin with its headings, as it was written")
			return
		}
		r.row(at, row, heads)
	}
}

// joinRows joins rows that go on where the one above ends.
func joinRows(rows []table.SheetRow) []table.SheetRow {
	var all []table.SheetRow
	for _, row := range rows {
		if row.At(0).Text != more || len(all) == 0 {
			all = append(all, row)
			continue
		}
		last := &all[len(all)-1]
		for i := 1; i < len(row.Cells); i++ {
			for i >= len(last.Cells) {
				last.Cells = append(last.Cells, table.Cell{})
			}
			last.Cells[i].Text += row.Cells[i].Text
		}
	}
	return all
}

// heads tells whether a row has the section's headings.
func (s *section) heads(row *table.SheetRow) bool {
	for i := range 2 {
		if row.At(i).Text != s.columns[i].heading {
			return false
		}
	}
	return true
}

// heads reads the headings of a section. Behind those that say what a row is of,
// columns may be moved and left out.
func (r *sheetReader) heads(s *section, row *table.SheetRow) map[int]int {
	at := map[int]int{}
	seen := map[int]bool{}
	for i := range row.Cells {
		text := row.Cells[i].Text
		n := slices.IndexFunc(s.columns, func(c column) bool { return c.heading == text })
		switch {
		case text == "":
		case n < 0:
			var names []string
			for _, c := range s.columns {
				names = append(names, c.heading)
			}
			r.fault(row.Line, i+1, "column", text, "is no column of the table "+s.name, "its columns are "+strings.Join(names, ", ")+"; take others out")
		case seen[n]:
			r.fault(row.Line, i+1, "column", text, "stands here a second time", "keep one of the two")
		default:
			at[i], seen[n] = n, true
		}
	}
	for n, c := range s.columns {
		if !seen[n] && c.key == "" {
			r.fault(row.Line, 1, "column", c.heading, "the table "+s.name+" has no such column", "put it back: it says what its rows are of")
		}
	}
	return at
}

// row reads one row.
func (r *sheetReader) row(at int, from *table.SheetRow, heads map[int]int) {
	s := sections[at]
	row := &sheetRow{file: r.file, line: from.Line, names: make([]string, len(s.columns)), at: map[string]int{}, cells: map[string]*yaml.Node{}}
	for i := range from.Cells {
		cell := &from.Cells[i]
		if cell.Text == "" && cell.Doubt == "" {
			continue
		}
		n, known := heads[i]
		switch {
		case !known:
			r.fault(from.Line, i+1, "cells", cell.Text, "stands under no heading", "take it out, or put it under one")
			continue
		case cell.Doubt != "":
			r.fault(from.Line, i+1, "value", cell.Text, cell.Doubt, "write it as text")
			continue
		}
		c := s.columns[n]
		if n < s.names {
			row.names[n] = cell.Text
			continue
		}
		v, err := nodeOf(cell.Text)
		if err != nil {
			r.fault(from.Line, i+1, "value", cell.Text, "begins like a list or keys with values, and can't be read as such", "close its brackets; put a text that begins so into quotes")
			continue
		}
		if words := bareList[c.key]; words && v.Kind == yaml.ScalarNode && !null(v) {
			v = listOf(v.Value)
		}
		key := c.key
		if key == "" {
			key = c.heading
		}
		row.cells[key], row.at[key] = v, i+1
	}
	if len(row.cells) == 0 && row.names[0] == "" {
		return
	}
	if row.names[0] == "" {
		r.fault(from.Line, 1, "missing", "", "the row does not say in its first column what it is of", "fill in "+s.columns[0].heading)
		return
	}
	r.rows[at] = append(r.rows[at], row)
}

// bareList are the keys whose lists may be written without brackets.
var bareList = map[string]bool{"planes": true, "directions": true, "made-of": true, "serials": true}

func listOf(text string) *yaml.Node {
	n := &yaml.Node{Kind: yaml.SequenceNode}
	for word := range strings.SplitSeq(text, ",") {
		if word = strings.TrimSpace(word); word != "" {
			n.Content = append(n.Content, scalar(word))
		}
	}
	return n
}

// filled makes the book.
func (r *sheetReader) filled() *Filled {
	f := &Filled{from: r}
	r.rows[2] = slices.DeleteFunc(r.rows[2], func(row *sheetRow) bool {
		if row.names[0] == written {
			f.Edition = row.text("Says")
		}
		return row.names[0] == written
	})
	for _, row := range r.rows[0] {
		r.fill(row)
		r.doubt(row)
	}
	if len(r.faults) > 0 {
		return nil
	}
	text, places := r.write()
	b, err := book.Load(r.file, text)
	// Holding a cell may show that the other can't be read without it.
	var held []heldCell
	for range 2 {
		if more := r.unreadable(err); len(more) > 0 {
			held = append(held, more...)
			text, places = r.write()
			b, err = book.Load(r.file, text)
		}
	}
	if err == nil && len(held) > 0 {
		r.likely(b, held)
		text, places = r.write()
		b, err = book.Load(r.file, text)
	}
	var faults fault.List
	switch {
	case errors.As(err, &faults):
		r.faults = append(r.faults, places.of(r, faults)...)
		return nil
	case err != nil:
		r.fault(0, 0, "size", "", err.Error(), "split the book")
		return nil
	}
	f.Text, f.Book = text, b
	for _, mark := range slices.Sorted(maps.Keys(r.marks)) {
		f.Asks = append(f.Asks, Ask{Mark: mark, Rows: r.marks[mark], May: meanings})
	}
	for _, l := range b.Lines {
		switch {
		case l.Unfilled():
			f.Unfilled++
		case l.Waits():
			f.Held++
		}
	}
	return f
}

// fill takes what was entered into cells that waited to be.
func (r *sheetReader) fill(row *sheetRow) {
	entered := false
	for _, cell := range []string{book.HoldNew, book.HoldService} {
		text := row.text(cell)
		_, unfilled := row.held(cell)
		if entered = entered || text != "" && text != blank; !unfilled {
			continue
		}
		mark := strings.ToLower(text)
		switch {
		case text == blank, cell == book.HoldNew && text != "" && isMark(text):
			row.free(cell)
			row.set(cell, "")
			continue
		case text == "" && (cell == book.HoldNew || !entered):
			continue // not entered yet
		case text == "":
			mark = blank
		case !isMark(text), mark == "none":
			row.free(cell)
			continue
		}
		means, known := r.m.answer(mark)
		switch {
		case !known:
			r.marks[mark]++
			row.hold(cell, text, "what the table means by "+quoted(mark)+" in this column nobody has said", []string{blank, "none", "same as new"})
		case means == "not stated":
			row.free(cell)
			row.set(cell, "")
		default:
			row.free(cell)
			row.set(cell, means)
		}
	}
}

// doubt holds the cells of a row that a person doubts, as [Row.doubt] does.
func (r *sheetReader) doubt(row *sheetRow) {
	for _, h := range r.m.Holds {
		text := row.text(h.Cell)
		if held, _ := row.held(h.Cell); h.Row != row.line || held != nil || text == "" || text != h.Text || h.Cell != book.HoldNew && h.Cell != book.HoldService {
			continue
		}
		row.hold(h.Cell, text, h.Why, h.May)
		if service := row.text(book.HoldService); h.Cell == book.HoldNew && service != "" {
			row.hold(book.HoldService, service, "waits for the new limits", []string{service})
		}
	}
}

// blank is what one writes for a cell in which the manual has nothing.
const blank = "blank"

// A heldCell is a cell that was entered and can't be read.
type heldCell struct {
	row        *sheetRow
	cell, text string
}

var limitField = regexp.MustCompile(`^lines\.([^.]+)\.(new|service)$`)

// unreadable holds the cells of which the loader says that they can't be read.
func (r *sheetReader) unreadable(err error) (all []heldCell) {
	var faults fault.List
	if !errors.As(err, &faults) {
		return nil
	}
	for _, f := range faults {
		m := limitField.FindStringSubmatch(f.Field)
		if m == nil || f.Code != "limit" {
			continue
		}
		n := slices.IndexFunc(r.rows[0], func(row *sheetRow) bool { return row.names[0] == m[1] })
		if n < 0 {
			continue
		}
		row := r.rows[0][n]
		if text := row.text(m[2]); text != "" {
			all = append(all, heldCell{row, m[2], text})
			row.hold(m[2], text, f.What, nil)
		}
	}
	return all
}

// likely gives the cells that are held their likely readings.
func (r *sheetReader) likely(b *book.Book, held []heldCell) {
	for _, h := range held {
		l, ok := b.Line(h.row.names[0])
		if !ok {
			continue
		}
		n := b.Notation(l)
		asNew, service := h.text, ""
		if h.cell == book.HoldService {
			asNew, service = h.row.text(book.HoldNew), h.text
		}
		_, err := n.Parse(asNew, service)
		var cell *limit.CellError
		if !errors.As(err, &cell) {
			continue
		}
		like := Row{New: asNew, Service: service}
		h.row.hold(h.cell, h.text, cell.Err.Error(), like.likely(n, service != "", h.text, cell.Err, cell.May))
	}
}

// places says for each line of a text which row it is of, and of which section.
type places []place

type place struct {
	section int
	row     *sheetRow
}

// of tells a text's faults at the places of the sheet.
func (p places) of(r *sheetReader, faults fault.List) fault.List {
	for i := range faults {
		f := &faults[i]
		at := place{section: -1}
		if f.Line > 0 && f.Line <= len(p) {
			at = p[f.Line-1]
		}
		f.File, f.Line, f.Column = r.file, 0, 0
		if at.row == nil {
			continue
		}
		f.File, f.Line, f.Column = at.row.file, at.row.line, 1
		for key := range strings.SplitSeq(f.Field, ".") {
			if slices.Contains(judgesKeys, key) {
				key = "Of"
			}
			if column := at.row.at[key]; column > 0 {
				f.Column = column
			}
		}
	}
	return faults
}

// A bookWriter writes a book's text, and notes of which row each line is.
type bookWriter struct {
	strings.Builder
	at      places
	section int
	row     *sheetRow
}

func (w *bookWriter) line(depth int, key, value string) {
	if value != "" {
		value = " " + value
	}
	fmt.Fprintf(w, "%s%s:%s\n", strings.Repeat("  ", depth), plain(key), value)
	w.at = append(w.at, place{w.section, w.row})
}

// write writes the book that the rows come to.
func (r *sheetReader) write() ([]byte, places) {
	w := &bookWriter{section: 2}
	late := func(row *sheetRow) bool { return row.names[0] == "layout" || row.names[0] == "sets" }
	open := []string{"", ""}
	whole := func(row *sheetRow) {
		w.row = row
		depth := 0
		for depth < 2 && row.names[depth+1] != "" {
			if open[depth] != row.names[depth] {
				w.line(depth, row.names[depth], "")
				open[depth] = row.names[depth]
				clear(open[depth+1:])
			}
			depth++
		}
		value := ""
		if v := row.cells["Says"]; v != nil {
			value = flow(v)
		}
		w.line(depth, row.names[depth], value)
	}
	for _, row := range r.rows[2] {
		if !late(row) {
			whole(row)
		}
	}
	w.section = 1
	r.writeParts(w)
	w.section = 2
	for _, row := range r.rows[2] {
		if late(row) {
			whole(row)
		}
	}
	w.section = 0
	if len(r.rows[0]) > 0 {
		w.row = nil
		w.line(0, "lines", "")
	}
	for _, row := range r.rows[0] {
		w.row = row
		w.line(1, row.names[0], "")
		for _, c := range limitsSection.columns {
			if c.heading == "Of" && row.text("Judges") != "" {
				w.line(2, row.text("Judges"), flow(orEmpty(row.cells["Of"])))
			}
			if v := row.cells[c.key]; c.key != "" && v != nil {
				w.line(2, c.key, flow(v))
			}
		}
	}
	return []byte(w.String()), w.at
}

func orEmpty(n *yaml.Node) *yaml.Node {
	if n == nil {
		return scalar("")
	}
	return n
}

// writeParts writes each part with its features below it.
func (r *sheetReader) writeParts(w *bookWriter) {
	type one struct {
		own      []*sheetRow // a second one is told as a key that stands twice
		features []*sheetRow
	}
	parts := map[string]*one{}
	var order []string
	for _, row := range r.rows[1] {
		p := parts[row.names[0]]
		if p == nil {
			p = &one{}
			parts[row.names[0]] = p
			order = append(order, row.names[0])
		}
		if row.names[1] == "" {
			p.own = append(p.own, row)
		} else {
			p.features = append(p.features, row)
		}
	}
	if len(order) > 0 {
		w.row = nil
		w.line(0, "parts", "")
	}
	for _, key := range order {
		p := parts[key]
		w.row = slices.Concat(p.own, p.features)[0]
		w.line(1, key, "")
		for _, row := range p.own {
			w.row = row
			for _, c := range partsSection.columns {
				if v := row.cells[c.key]; c.key != "" && v != nil {
					w.line(2, c.key, flow(v))
				}
			}
		}
		if len(p.features) > 0 {
			w.line(2, "features", "")
		}
		for _, row := range p.features {
			w.row = row
			all := &yaml.Node{Kind: yaml.MappingNode}
			for _, c := range partsSection.columns {
				if v := row.cells[c.key]; c.key != "" && v != nil {
					all.Content = append(all.Content, scalar(c.key), v)
				}
			}
			w.line(3, row.names[1], flow(all))
		}
	}
}
