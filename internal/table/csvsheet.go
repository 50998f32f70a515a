package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"tenths/internal/fault"
)

// readCSV reads a table of comma-separated values in UTF-8, UTF-16 or, where it
// is neither, Latin-1, which is said. The cells are parted by whichever of comma,
// semicolon and tab the lines agree on.
func readCSV(name string, data []byte) (Sheet, fault.List) {
	s := Sheet{File: name}
	data, said, faults := text(name, data)
	if faults != nil {
		return s, faults
	}
	if said != "" {
		s.Said = append(s.Said, said)
	}
	if !bytes.ContainsRune(data, '\n') {
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.LazyQuotes = true // an inch mark in a cell is none of a quotation
	r.ReuseRecord = true
	r.Comma = parting(data)
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			return s, fault.List{{File: name, Line: parse.StartLine, Column: 1, Code: "csv", What: parse.Err.Error(), Do: "save the table as CSV anew"}}
		}
		if err != nil {
			panic("BUG: reading from memory: " + err.Error())
		}
		line, _ := r.FieldPos(0)
		cells := make([]Cell, len(record))
		for i, c := range record {
			if strings.Count(c, "\n") > 20 {
				return s, fault.List{{File: name, Line: line, Column: i + 1, Code: "csv", Text: c, What: "a quotation mark opens here, and the cell goes on over more than 20 lines", Do: "close the quotation mark, or double one that belongs to the text"}}
			}
			cells[i].Text = unsafe(c)
		}
		if faults, ok := s.add(line, cells); !ok {
			return s, faults
		}
	}
	if len(s.Rows) == 0 {
		return s, one(name, "empty", "the file has no cells", "save the table as CSV")
	}
	return s, nil
}

// text makes UTF-8 of a file's bytes.
func text(name string, data []byte) (out []byte, said string, faults fault.List) {
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		return wide(data[2:], 0, 1), "read as UTF-16", nil
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		return wide(data[2:], 1, 0), "read as UTF-16", nil
	}
	head := data[:min(len(data), 4096)]
	if zeros := bytes.Count(head, []byte{0}); zeros > 0 {
		even, odd := 0, 0
		for i, b := range head {
			if b == 0 && i%2 == 0 {
				even++
			} else if b == 0 {
				odd++
			}
		}
		switch {
		case odd*3 > len(head) && even == 0:
			return wide(data, 0, 1), "read as UTF-16", nil
		case even*3 > len(head) && odd == 0:
			return wide(data, 1, 0), "read as UTF-16", nil
		}
		return nil, "", one(name, "encoding", "the file is neither a spreadsheet that is known nor text", "save the table as .xlsx or as CSV UTF-8")
	}
	if utf8.Valid(data) {
		return data, "", nil
	}
	b := make([]byte, 0, len(data)+len(data)/8)
	for _, c := range data {
		switch {
		case c < 0x80 || c >= 0xa0:
			b = utf8.AppendRune(b, rune(c))
		default:
			b = utf8.AppendRune(b, windows[c-0x80])
		}
	}
	return b, fmt.Sprintf("read as Latin-1 (Windows-1252), since it is not UTF-8 (line %d): look whether ± ° and Ø are right, or save it as CSV UTF-8", lineOfInvalid(data)), nil
}

// windows is what Windows-1252 has where Latin-1 has control characters.
var windows = [32]rune{
	'€', '\ufffd', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\ufffd', 'Ž', '\ufffd',
	'\ufffd', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\ufffd', 'ž', 'Ÿ',
}

// wide makes UTF-8 of UTF-16, whose low and high bytes stand where is said.
func wide(data []byte, low, high int) []byte {
	out := make([]byte, 0, len(data)/2)
	for i := 0; i+1 < len(data); i += 2 {
		r := rune(data[i+low]) | rune(data[i+high])<<8
		if utf16.IsSurrogate(r) && i+3 < len(data) {
			r = utf16.DecodeRune(r, rune(data[i+2+low])|rune(data[i+2+high])<<8)
			if i += 2; r == utf8.RuneError {
				i -= 2
			}
		}
		out = utf8.AppendRune(out, r)
	}
	return out
}

// parting is the separator that the first lines agree on: of which most lines
// have the same number. A decimal comma is in some cells only.
func parting(data []byte) rune {
	const look = 50
	best, agree, most := ',', 0, 0
	for _, sep := range []byte{'\t', ';', ','} {
		counts := map[int]int{}
		lines, quoted, n := 0, false, 0
		for i := 0; i < len(data) && lines < look; i++ {
			switch c := data[i]; {
			case c == '"':
				quoted = !quoted
			case c == sep && !quoted:
				n++
			case c == '\n':
				if n > 0 && !quoted {
					counts[n]++
				}
				if !quoted {
					lines, n = lines+1, 0
				}
			}
		}
		if n > 0 {
			counts[n]++
		}
		for _, n := range sorted(counts) {
			if counts[n] > agree || counts[n] == agree && n > most {
				best, agree, most = rune(sep), counts[n], n
			}
		}
	}
	return best
}

func sorted(m map[int]int) []int {
	var all []int
	for k := range m {
		all = append(all, k)
	}
	slices.Sort(all)
	return all
}
