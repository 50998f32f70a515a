// Package table reads the cells of files of comma-separated values and of
// spreadsheets, within bounds and with each cell's place, and writes them. It
// knows nothing of what they mean.
//
// [CSV] reads a file with a header, as tenths asks for it, and is strict. [Read]
// reads what somebody else made, as it stands. A number in a spreadsheet has the
// digits that its format shows; where the format does not say, they are unknown.
package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"tenths/internal/fault"
)

// Bounds on what is read.
const (
	MaxSize    = 64 << 20 // bytes
	MaxColumns = 200
)

// A Table is a header and the rows under it, blank rows left out.
type Table struct {
	File   string
	Line   int // of the file that the header stands on
	Header []string
	Rows   []Row
}

// A Row is one record and the line of the file that it begins on.
type Row struct {
	Line  int
	Cells []string // as many as the header has, blanks around them cut
}

// CSV reads comma-separated values with a header: RFC 4180, and what
// spreadsheets make of it: a byte order mark, CRLF, semicolons or tabs between
// the cells (whichever the header has most of), short rows, blank rows. Rows
// that can't be read, or that have more cells than the header, are faults; the
// others are returned beside them.
func CSV(name string, data []byte) (Table, fault.List) {
	t := Table{File: name}
	var faults fault.List
	add := func(line, column int, code, text, what, do string) {
		faults = append(faults, fault.Fault{File: name, Line: line, Column: column, Code: code, Text: text, What: what, Do: do})
	}
	if len(data) > MaxSize {
		add(0, 0, "size", "", fmt.Sprintf("the file is larger than %d bytes", MaxSize), "split it")
		return t, faults
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(data) {
		add(lineOfInvalid(data), 1, "encoding", "", "the file is not UTF-8 text", "save it as CSV UTF-8")
		return t, faults
	}
	if !bytes.ContainsRune(data, '\n') {
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.Comma = separator(data)
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			line, column := parse.StartLine, 1 // a mark never closed runs to the end of the file
			if parse.Line == line {
				column = cellAt(data, line, parse.Column, r.Comma)
			}
			add(line, column, "csv", "", parse.Err.Error(), "close the quotation mark, or double one that belongs to the text")
			continue
		}
		if err != nil {
			panic("BUG: reading from memory: " + err.Error())
		}
		line, _ := r.FieldPos(0)
		blank := true
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
			blank = blank && cells[i] == ""
		}
		switch {
		case blank:
		case t.Header == nil:
			if len(cells) > MaxColumns {
				add(line, 1, "csv", "", fmt.Sprintf("the header has more than %d columns", MaxColumns), "leave out what is not needed")
				return t, faults
			}
			t.Line, t.Header = line, cells
		default:
			t.Rows = append(t.Rows, Row{line, cells})
		}
	}
	if t.Header == nil {
		add(1, 1, "header", "", "the file has no header", "begin it with a line of column names: spot,value")
		return t, faults
	}
	width := len(t.Header)
	kept := t.Rows[:0]
	for _, row := range t.Rows {
		if over := extra(row.Cells, width); over >= 0 {
			add(row.Line, over+1, "cells", row.Cells[over], fmt.Sprintf("the row has more cells than the header's %d", width), "quote a cell that has the separator in it")
			continue
		}
		row.Cells = append(row.Cells, make([]string, max(0, width-len(row.Cells)))...)[:width]
		kept = append(kept, row)
	}
	t.Rows = kept
	return t, faults
}

// cellAt returns in which cell of a line a byte of it lies, from 1.
func cellAt(data []byte, line, column int, separator rune) int {
	lines := bytes.SplitAfterN(data, []byte("\n"), line+1)
	if line < 1 || line > len(lines) {
		return 1
	}
	text := lines[line-1]
	return 1 + bytes.Count(text[:min(max(0, column-1), len(text))], []byte(string(separator)))
}

// extra returns the first cell beyond the header that says something, or −1.
func extra(cells []string, width int) int {
	for i := width; i < len(cells); i++ {
		if cells[i] != "" {
			return i
		}
	}
	return -1
}

// separator is the one of comma, semicolon and tab that the first line with
// anything on it has most of.
func separator(data []byte) rune {
	first := bytes.TrimLeft(data, "\r\n \ufeff")
	if i := bytes.IndexByte(first, '\n'); i >= 0 {
		first = first[:i]
	}
	best, most := ',', bytes.Count(first, []byte(","))
	for _, r := range ";\t" {
		if n := bytes.Count(first, []byte(string(r))); n > most {
			best, most = r, n
		}
	}
	return best
}

func lineOfInvalid(data []byte) int {
	n := 0
	for n < len(data) {
		r, size := utf8.DecodeRune(data[n:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		n += size
	}
	return 1 + bytes.Count(data[:n], []byte("\n"))
}
