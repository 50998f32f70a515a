package table

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/fault"
)

// Bounds on what a spreadsheet unpacks to.
const (
	maxPart   = 256 << 20 // bytes of one part
	maxRatio  = 200       // how many times larger a part may be unpacked,
	freeRatio = 32 << 20  // where it is larger than this
	maxText   = 64 << 20  // bytes of shared text that are kept
	maxMerges = 20_000
	maxParts  = 10_000
)

var errTooMuch = errors.New("unpacks to more than a spreadsheet of limits has")

// readXLSX reads one sheet of an Office Open XML workbook. It is read as a
// stream, and no further than is wanted: nothing is kept but the cells.
func readXLSX(name, sheet string, data []byte) (Sheet, fault.List) {
	x := &workbook{file: name}
	s, err := x.read(sheet, data)
	var list fault.List
	switch {
	case errors.As(err, &list):
		return Sheet{File: name, Sheets: s.Sheets}, list
	case errors.Is(err, errTooMuch):
		return Sheet{File: name}, one(name, "size", err.Error(), "save the table of limits in a workbook of its own")
	case err != nil:
		return Sheet{File: name}, one(name, "corrupt", "the spreadsheet can't be read: "+err.Error(), "open it and save it anew as .xlsx, or as CSV")
	}
	return s, nil
}

type workbook struct {
	file    string
	parts   map[string]*zip.File
	shared  []string
	struck  map[int]string // of shared texts of which a part is struck out, what is not
	formats []format       // by style
	started bool           // dates count from 1904
}

func (x *workbook) read(want string, data []byte) (Sheet, error) {
	s := Sheet{File: x.file}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return s, err
	}
	if len(z.File) > maxParts {
		return s, errTooMuch
	}
	x.parts = make(map[string]*zip.File, len(z.File))
	for _, f := range z.File {
		x.parts[strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, "\\", "/"), "/"))] = f
	}
	if x.parts["encryptedpackage"] != nil {
		return s, one(x.file, "encrypted", "the spreadsheet is protected by a password", "open it and save it without one")
	}
	main := "xl/workbook.xml"
	if x.parts[main] == nil {
		main = ""
		rels, err := x.relations("_rels/.rels", "")
		if err != nil {
			return s, err
		}
		for _, r := range rels {
			if strings.HasSuffix(r.kind, "/officeDocument") {
				main = r.target
			}
		}
		if x.parts[main] == nil {
			return s, one(x.file, "format", "this is no spreadsheet that is known", "save the table as .xlsx or as CSV")
		}
	}
	sheets, err := x.sheets(main)
	if err != nil {
		return s, err
	}
	var names []string
	for _, sh := range sheets {
		names = append(names, strconv.Quote(sh.name))
		s.Sheets = append(s.Sheets, sh.name)
	}
	for _, sh := range sheets {
		if want != "" && !strings.EqualFold(sh.name, want) {
			continue
		}
		s = Sheet{File: x.file, Name: sh.name, Sheets: s.Sheets}
		if err := x.sheet(&s, sh.part); err != nil {
			return s, err
		}
		if len(s.Rows) > 0 {
			if want == "" && len(sheets) > 1 {
				s.Said = append(s.Said, fmt.Sprintf("the sheet %q is read; there are %s", sh.name, strings.Join(few(names), ", ")))
			}
			return s, nil
		}
		if want != "" {
			return s, one(x.file, "empty", fmt.Sprintf("the sheet %q has no cells", sh.name), "name another: "+strings.Join(few(names), ", "))
		}
	}
	if want != "" {
		return s, one(x.file, "sheet", fmt.Sprintf("there is no sheet %q", want), "the sheets are "+strings.Join(few(names), ", "))
	}
	return s, one(x.file, "empty", "the spreadsheet has no cells", "save the table of limits in it")
}

// few are as many names as a reader wants to see.
func few(names []string) []string {
	const most = 12
	if len(names) > most {
		return append(names[:most:most], "…")
	}
	return names
}

// open opens a part for reading, within bounds.
func (x *workbook) open(name string) (*xml.Decoder, io.Closer, error) {
	f := x.parts[strings.ToLower(name)]
	if f == nil {
		return nil, nil, fmt.Errorf("it has no %s", name)
	}
	if f.UncompressedSize64 > maxPart || f.UncompressedSize64 > freeRatio && f.UncompressedSize64/max(1, f.CompressedSize64) > maxRatio {
		return nil, nil, errTooMuch
	}
	r, err := f.Open()
	if err != nil {
		return nil, nil, err
	}
	d := xml.NewDecoder(&bounded{r, maxPart})
	return d, r, nil
}

// bounded reads at most so many bytes, whatever the archive says of itself.
type bounded struct {
	r    io.Reader
	left int64
}

func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.r.Read(p)
	if b.left -= int64(n); b.left < 0 {
		return 0, errTooMuch
	}
	return n, err
}

// walk calls start for every element that begins in a part, with its local
// name. An attribute's name is local too, but for what relates parts.
func (x *workbook) walk(name string, start func(d *xml.Decoder, e xml.StartElement) error) error {
	d, c, err := x.open(name)
	if err != nil {
		return err
	}
	defer c.Close()
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if e, ok := t.(xml.StartElement); ok {
			if err := start(d, e); err != nil {
				return err
			}
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

type relation struct{ id, kind, target string }

// relations reads what a part is related to; targets are names of parts.
func (x *workbook) relations(name, base string) (all []relation, err error) {
	err = x.walk(name, func(_ *xml.Decoder, e xml.StartElement) error {
		if e.Name.Local == "Relationship" && attr(e, "TargetMode") != "External" {
			target := attr(e, "Target")
			if !strings.HasPrefix(target, "/") {
				target = path.Join(base, target)
			}
			all = append(all, relation{attr(e, "Id"), attr(e, "Type"), strings.ToLower(strings.TrimPrefix(target, "/"))})
		}
		return nil
	})
	return all, err
}

type sheetPart struct{ name, part string }

// sheets lists the sheets in their order, and reads the text and the formats
// that they share.
func (x *workbook) sheets(main string) ([]sheetPart, error) {
	base := path.Dir(main)
	rels, err := x.relations(path.Join(base, "_rels", path.Base(main)+".rels"), base)
	if err != nil {
		return nil, err
	}
	var all []sheetPart
	err = x.walk(main, func(_ *xml.Decoder, e xml.StartElement) error {
		switch e.Name.Local {
		case "workbookPr":
			x.started = attr(e, "date1904") == "1" || attr(e, "date1904") == "true"
		case "sheet":
			id := ""
			for _, a := range e.Attr {
				if a.Name.Local == "id" && a.Name.Space != "" {
					id = a.Value
				}
			}
			n := slices.IndexFunc(rels, func(r relation) bool { return r.id == id && strings.HasSuffix(r.kind, "/worksheet") })
			if n >= 0 && len(all) < maxParts {
				all = append(all, sheetPart{tidy(attr(e, "name")), rels[n].target})
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, r := range rels {
		switch {
		case strings.HasSuffix(r.kind, "/sharedStrings") && x.parts[r.target] != nil:
			err = x.strings(r.target)
		case strings.HasSuffix(r.kind, "/styles") && x.parts[r.target] != nil:
			err = x.styles(r.target)
		}
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}

// strings reads the text that cells share.
func (x *workbook) strings(part string) error {
	size := 0
	return x.walk(part, func(d *xml.Decoder, e xml.StartElement) error {
		if e.Name.Local != "si" {
			return nil
		}
		text, left, struck, err := richText(d, "si")
		if size += len(text) + len(left) + 16; size > maxText {
			return errTooMuch
		}
		if struck {
			if x.struck == nil {
				x.struck = map[int]string{}
			}
			x.struck[len(x.shared)] = left
		}
		x.shared = append(x.shared, text)
		return err
	})
}

// richText is the text of an element that has begun, to its end: its runs one
// after the other, without the reading aids. Raised figures stay raised, so that a
// footnote's is no digit of the figure before it. Where a run is struck out, left is
// what is not.
func richText(d *xml.Decoder, end string) (text, left string, struck bool, err error) {
	var b, rest strings.Builder // rest is begun with the first run that is struck out
	in, aid := 0, 0
	raised, out := false, false
	for {
		t, err := d.RawToken()
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = io.ErrUnexpectedEOF
			}
			return "", "", false, err
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "t":
				in++
			case "rPh":
				aid++
			case "vertAlign":
				raised = attr(t, "val") == "superscript"
			case "strike":
				out = isOn(t)
			}
		case xml.EndElement:
			switch t.Name.Local {
			case "t":
				in--
			case "rPh":
				aid--
			case "r":
				raised, out = false, false
			case end:
				return b.String(), rest.String(), struck, nil
			}
		case xml.CharData:
			if in <= 0 || aid != 0 || b.Len() > 2*MaxChars {
				continue
			}
			if out && !struck {
				struck = true
				rest.WriteString(b.String())
			}
			if raised {
				t = xml.CharData(raisedDigits.Replace(string(t)))
			}
			b.Write(t)
			if struck && !out {
				rest.Write(t)
			}
		}
	}
}

var raisedDigits = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")

// isOn tells whether an element that switches something on does.
func isOn(e xml.StartElement) bool {
	v := attr(e, "val")
	return v != "0" && v != "false"
}

// styles reads how each style shows numbers.
func (x *workbook) styles(part string) error {
	codes := map[int]string{}
	in, fonts := false, false
	struck, font := map[int]bool{}, -1
	return x.walk(part, func(_ *xml.Decoder, e xml.StartElement) error {
		switch e.Name.Local {
		case "numFmt":
			id, err := strconv.Atoi(attr(e, "numFmtId"))
			if err == nil && len(codes) < maxParts {
				codes[id] = attr(e, "formatCode")
			}
		case "fonts":
			fonts = true
		case "fills":
			fonts = false
		case "font":
			if fonts {
				font++
			}
		case "strike":
			if fonts && isOn(e) && font < maxParts {
				struck[font] = true
			}
		case "cellXfs":
			in = true
		case "cellStyleXfs", "cellStyles", "dxfs":
			in = false
		case "xf":
			if in && len(x.formats) < 100_000 {
				id, _ := strconv.Atoi(attr(e, "numFmtId"))
				code, own := codes[id]
				if !own {
					code = builtin[id]
				}
				f := formatOf(code)
				if font, err := strconv.Atoi(attr(e, "fontId")); err == nil {
					f.struck = struck[font]
				}
				x.formats = append(x.formats, f)
			}
		}
		return nil
	})
}

// A span is a cell that spans others, rows and columns from 0.
type span struct{ row, column, lastRow, lastColumn int }

// sheet reads the cells of a sheet.
func (x *workbook) sheet(s *Sheet, part string) error {
	d, c, err := x.open(part)
	if err != nil {
		return err
	}
	defer c.Close()
	var (
		rows   []SheetRow
		cells  []Cell
		merges []span
		row    = -1
		column = -1
		seen   int
		width  int // of the row before: most are alike
		many   int // cells, those of which rows have room only counted too
	)
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "row":
				if seen++; seen > 2*MaxRows {
					return tooManyRows(x.file, row+2)
				}
				row++
				if n, err := strconv.Atoi(attr(t, "r")); err == nil {
					if n <= row {
						return fmt.Errorf("row %d stands out of order", n)
					}
					row = n - 1
				}
				cells, column = nil, -1
			case "c":
				column++
				if r, col, ok := cellName(attr(t, "r")); ok && r == row {
					if col < column {
						return fmt.Errorf("cell %s stands out of order", attr(t, "r"))
					}
					column = col
				}
				cell, err := x.cell(d, t)
				if err != nil {
					return err
				}
				if cell == (Cell{}) {
					continue
				}
				if column >= MaxColumns {
					return fault.List{{File: x.file, Line: row + 1, Column: MaxColumns + 1, Code: "columns", What: fmt.Sprintf("the row has more than %d columns", MaxColumns), Do: "leave out what is not of the table"}}
				}
				if cells == nil {
					cells = make([]Cell, 0, max(width, column+1))
				}
				for len(cells) <= column {
					cells = append(cells, Cell{})
				}
				cells[column] = cell
			case "mergeCell":
				if m, ok := spanOf(attr(t, "ref")); ok && len(merges) < maxMerges {
					merges = append(merges, m)
				}
			}
		case xml.EndElement:
			if t.Name.Local == "row" && len(cells) > 0 {
				if len(rows) == MaxRows {
					return tooManyRows(x.file, row+1)
				}
				if many += len(cells); many > MaxCells {
					return tooManyCells(x.file, row+1)
				}
				rows = append(rows, SheetRow{row + 1, cells})
				width, cells = len(cells), nil
			}
		}
	}
	if !spread(rows, merges, MaxCells-many) {
		return tooManyCells(x.file, rows[0].Line)
	}
	for i := range rows {
		if faults, ok := s.add(rows[i].Line, rows[i].Cells); !ok {
			return faults
		}
	}
	return nil
}

func tooManyRows(file string, line int) error {
	return fault.List{{File: file, Line: line, Column: 1, Code: "rows", What: fmt.Sprintf("the table has more than %d rows", MaxRows), Do: "no manual's table of limits has: import the sheet that is one, or split it"}}
}

// spread writes what a cell says into the cells that it spans, in the rows that
// are there; false where the rows would come to more cells than there is room
// for.
func spread(rows []SheetRow, merges []span, room int) bool {
	left := 4 * MaxRows // a sheet has no more to say by merging than by writing
	for _, m := range merges {
		first, ok := slices.BinarySearchFunc(rows, m.row+1, func(r SheetRow, line int) int { return r.Line - line })
		if !ok {
			continue
		}
		from := rows[first].At(m.column)
		if from.Text == "" && from.Doubt == "" {
			continue
		}
		from.Merged = true
		for i := first; i < len(rows) && rows[i].Line <= m.lastRow+1; i++ {
			r := &rows[i]
			for c := m.column; c <= min(m.lastColumn, MaxColumns-1); c++ {
				if left--; left < 0 {
					return true
				}
				if i == first && c == m.column {
					continue
				}
				if room -= max(0, c+1-len(r.Cells)); room < 0 {
					return false
				}
				for len(r.Cells) <= c {
					r.Cells = append(r.Cells, Cell{})
				}
				if r.Cells[c] == (Cell{}) {
					r.Cells[c] = from
				}
			}
		}
	}
	return true
}

// cell reads a cell that has begun, to its end.
func (x *workbook) cell(d *xml.Decoder, e xml.StartElement) (Cell, error) {
	var kind, style string
	for _, a := range e.Attr {
		switch a.Name.Local {
		case "t":
			kind = a.Value
		case "s":
			style = a.Value
		}
	}
	value, inline, left, has, formula, struck := "", "", "", false, false, false
	in := ""
	for {
		t, err := d.RawToken()
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = io.ErrUnexpectedEOF
			}
			return Cell{}, err
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch in = t.Name.Local; in {
			case "f":
				formula = true
			case "is":
				if inline, left, struck, err = richText(d, "is"); err != nil {
					return Cell{}, err
				}
				has = true
			}
		case xml.CharData:
			if in == "v" && len(value) <= 2*MaxChars {
				value += string(t)
				has = true
			}
		case xml.EndElement:
			in = ""
			if t.Name.Local == "c" {
				c, err := x.shown(kind, style, value, inline, has, formula)
				if struck && err == nil {
					c.Doubt, c.Holds = partStruck, left
				}
				if n, err := strconv.Atoi(style); err == nil && n >= 0 && n < len(x.formats) && x.formats[n].struck && c.Text != "" && c.Doubt == "" {
					c.Doubt = "the cell is struck out"
				}
				return c, err
			}
		}
	}
}

const partStruck = "a part of the cell is struck out"

// shown is what a cell shows.
func (x *workbook) shown(kind, style, value, inline string, has, formula bool) (Cell, error) {
	switch {
	case kind == "e" || strings.HasPrefix(value, "#") && formula:
		return Cell{Text: value, Doubt: "the cell's formula comes to an error"}, nil
	case !has && formula:
		return Cell{Doubt: "the cell has a formula whose value is not saved"}, nil
	case !has:
		return Cell{}, nil
	case kind == "s":
		n, err := strconv.Atoi(strings.TrimSpace(value))
		if err != nil || n < 0 || n >= len(x.shared) {
			return Cell{}, fmt.Errorf("a cell has text %q, which is not there", fault.Cut(value))
		}
		c := Cell{Text: x.shared[n]}
		if left, ok := x.struck[n]; ok {
			c.Doubt, c.Holds = partStruck, left
		}
		return c, nil
	case kind == "inlineStr":
		return Cell{Text: inline}, nil
	case kind == "str":
		return Cell{Text: value}, nil
	case kind == "b":
		return Cell{Text: map[string]string{"1": "TRUE", "0": "FALSE"}[value]}, nil
	case kind == "d":
		return Cell{Text: value, Doubt: dateDoubt}, nil
	}
	var f format
	if n, err := strconv.Atoi(style); err == nil && n >= 0 && n < len(x.formats) {
		f = x.formats[n]
	}
	return f.show(value, x.started), nil
}

// cellName reads "B7", rows and columns from 0.
func cellName(name string) (row, column int, ok bool) {
	i := 0
	for i < len(name) && name[i] >= 'A' && name[i] <= 'Z' && i < 4 {
		column = column*26 + int(name[i]-'A') + 1
		i++
	}
	if i == 0 {
		return 0, 0, false
	}
	n, err := strconv.Atoi(name[i:])
	return n - 1, column - 1, err == nil && n > 0
}

// spanOf reads "B7:D7".
func spanOf(ref string) (span, bool) {
	a, b, ok := strings.Cut(ref, ":")
	row, column, okA := cellName(a)
	lastRow, lastColumn, okB := cellName(b)
	return span{row, column, lastRow, lastColumn}, ok && okA && okB && row <= lastRow && column <= lastColumn
}
