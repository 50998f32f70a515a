// Package fault is how files that people wrote are told to be wrong: every
// fault at once, each with where it is, what it is and what to do about it.
package fault

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Fault is one thing wrong in a file.
type Fault struct {
	File         string
	Line, Column int    // from 1; 0 where the fault is the file's as a whole
	Code         string // stable, for programs: "limit", "doubled-key"
	Text         string // what stands there, cut to a line
	What         string // what is wrong
	Do           string // what to do
	Field        string // the cell's or key's name, where there is one
}

// String returns the fault on one line: file:line:column: field: "text": what;
// what to do [code]. What is in no file has no place.
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", f.Line, f.Column)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if f.Field != "" {
		b.WriteString(f.Field + ": ")
	}
	if f.Text != "" {
		fmt.Fprintf(&b, "%q: ", Cut(f.Text))
	}
	b.WriteString(f.What)
	if f.Do != "" && !strings.HasSuffix(f.What, "?") {
		b.WriteByte(';')
	}
	if f.Do != "" {
		b.WriteString(" " + f.Do)
	}
	return b.String() + " [" + f.Code + "]"
}

// Cut shortens text to what a line of a terminal can show.
func Cut(text string) string {
	const most = 60
	text = strings.ToValidUTF8(strings.Join(strings.Fields(text), " "), "\uFFFD")
	if r := []rune(text); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return text
}

// A List is all that is wrong with a file. It is an error where it is not
// empty.
type List []Fault

// Sort puts the faults in the order of the file.
func (l List) Sort() {
	slices.SortStableFunc(l, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Code, b.Code))
	})
}

// Error returns the faults, one a line.
func (l List) Error() string {
	lines := make([]string, len(l))
	for i, f := range l {
		lines[i] = f.String()
	}
	return strings.Join(lines, "\n")
}
