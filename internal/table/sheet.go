package table

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"tenths/internal/fault"
)

// Bounds on a sheet that somebody else made.
const (
	MaxRows  = 100_000
	MaxCells = 2_000_000
	MaxChars = 2000 // of one cell
)

// A Sheet is the cells of a file as they stand, without a thought of which of
// them is a header. Blank rows are left out.
type Sheet struct {
	File, Name string   // the sheet's name, where the file has several
	Sheets     []string // all that a spreadsheet has
	Rows       []SheetRow
	Width      int      // of the widest row
	Said       []string // what its reader should know: "read as Latin-1"

	cells int
}

// A SheetRow is one row and the line of the file that it begins on.
type SheetRow struct {
	Line  int
	Cells []Cell
}

// A Cell is what one cell shows.
type Cell struct {
	Text string
	// Doubt says why the text may not be what was meant: a formula's error, a
	// date that a spreadsheet made of a range.
	Doubt string
	// Holds is the number of a cell that shows another, and of a cell of which a
	// part is struck out what is not.
	Holds string
	// Digits tells that the text is a number whose format does not say how
	// many decimals it was entered with: 0.003 may have been 0.0030.
	Digits bool
	// Merged tells that the text is that of a cell which spans this one.
	Merged bool
}

// At returns the cell of a column; an empty one behind the last.
func (r *SheetRow) At(column int) Cell {
	if column < 0 || column >= len(r.Cells) {
		return Cell{}
	}
	return r.Cells[column]
}

// Read reads the cells of a spreadsheet (XLSX) or of comma-separated values,
// whichever the file is. sheet names one of a spreadsheet's sheets; empty, the
// first that has any cells.
func Read(name, sheet string, data []byte) (Sheet, fault.List) {
	s := Sheet{File: name}
	switch {
	case len(data) > MaxSize:
		return s, one(name, "size", fmt.Sprintf("the file is larger than %d MB", MaxSize>>20), "keep the table of limits in a file of its own, without pictures")
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("PK\x05\x06")):
		return readXLSX(name, sheet, data)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		return s, one(name, "encrypted", "the spreadsheet is protected by a password, or is of the old kind (.xls)", "open it and save it as .xlsx without a password, or as CSV")
	case bytes.HasPrefix(data, []byte("%PDF")):
		return s, one(name, "format", "this is a PDF", "copy its table into a spreadsheet, and look at every figure")
	}
	if sheet != "" {
		return s, one(name, "sheet", "a file of comma-separated values has no sheets", "leave --sheet out")
	}
	return readCSV(name, data)
}

// one is a fault of the file as a whole.
func one(file, code, what, do string) fault.List {
	return fault.List{{File: file, Code: code, What: what, Do: do}}
}

// add puts a row under the others; false where there are too many.
func (s *Sheet) add(line int, cells []Cell) (fault.List, bool) {
	last := -1
	for i := range cells {
		c := &cells[i]
		if c.Text = tidy(c.Text); c.Text != "" || c.Doubt != "" {
			last = i
		}
		if len(c.Text) > MaxChars {
			c.Text = strings.ToValidUTF8(c.Text[:MaxChars], "") + "…"
			c.Doubt = "the text is longer than a cell of a table of limits"
		}
	}
	if last < 0 {
		return nil, true
	}
	if last >= MaxColumns {
		return fault.List{{File: s.File, Line: line, Column: MaxColumns + 1, Code: "columns", What: fmt.Sprintf("the row has more than %d columns", MaxColumns), Do: "leave out what is not of the table"}}, false
	}
	if len(s.Rows) == MaxRows {
		return fault.List{{File: s.File, Line: line, Column: 1, Code: "rows", What: fmt.Sprintf("the table has more than %d rows", MaxRows), Do: "no manual's table of limits has: import the sheet that is one, or split it"}}, false
	}
	if s.cells += last + 1; s.cells > MaxCells {
		return tooManyCells(s.File, line), false
	}
	s.Width = max(s.Width, last+1)
	if cells = cells[:last+1]; cap(cells) > 2*len(cells)+8 {
		cells = slices.Clone(cells) // so that what is blank takes no room
	}
	s.Rows = append(s.Rows, SheetRow{line, cells})
	return nil, true
}

// Tidy is a text as [Read] has it of a cell.
func Tidy(text string) string { return tidy(text) }

func tooManyCells(file string, line int) fault.List {
	return fault.List{{File: file, Line: line, Column: 1, Code: "cells", What: fmt.Sprintf("the table has more than %d million cells", MaxCells/1_000_000), Do: "leave out the columns that are not of the table"}}
}

// tidy makes one line of a text, with single blanks: what a cell wraps is a
// matter of its width.
func tidy(text string) string {
	plain := true
	for i := range len(text) {
		if c := text[i]; c < ' ' || c >= 0x7f || c == ' ' && (i == 0 || i == len(text)-1 || text[i-1] == ' ') {
			plain = false
			break
		}
	}
	if plain {
		return text
	}
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), unicode.IsSpace(r), r == '\u2007', r == '\ufeff', r == '\u200b', r == '\ufffe', r == '\uffff':
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
	return strings.Join(strings.Fields(text), " ")
}
