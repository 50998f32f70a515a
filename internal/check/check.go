// Package check looks through a book for what the manual, its scan or the
// person who copied it may have got wrong.
//
// A book that loads can be judged by, and still be misprinted: a digit, a
// dropped nought, a letter L or T, two rows exchanged. What is printed more
// than once, or follows from other figures, can be held against itself:
//
//	fit = bore − shaft         stack = bore − 2 shells − journal
//	inch against millimetre, within the rounding of the printed digits
//	service outside new, on the side that wears
//	steps even, siblings alike, one feature the same in every row
//
// All sums are exact, as in metrology/fit; a difference counts where it is more
// than the printed digits can hide.
//
// A [Finding] says what does not agree, with the sum, and what one simple
// change would mend it: one digit, a nought, two digits or rows exchanged, a
// letter, a sign, the point. A mend is offered only where its own equation
// then holds and every other that held still does; it is never applied. Honest
// causes exist (selection, rounding, shims), so a person may acknowledge a
// finding with the reason; it then stays visible and no longer counts.
//
// What can't be read at all is no finding but a hold of the book's.
//
// Common practice, no source: which sums a table of limits must satisfy. What
// is too far for a family, and what makes one mend likelier than another, are
// figures of our own.
package check

import (
	"cmp"
	"slices"
	"sync"

	"tenths/internal/book"
	"tenths/metrology/limit"
)

// A Severity says how sure it is that something is wrong.
type Severity uint8

// The severities: a note is legitimate and worth knowing; a doubt has honest
// causes; a fault has none.
const (
	Note Severity = iota
	Doubt
	Fault
)

var severityNames = [...]string{"note", "doubt", "fault"}

func (s Severity) String() string { return severityNames[s] }

// A Cell is one printed limit of a line: new, service, a tier's name.
type Cell struct {
	Line *book.Line
	Name string
	Text string // as printed
}

// A Mend is one simple change that would make a finding's sum right.
type Mend struct {
	Cell    Cell
	New     string // what the cell would say
	With    *Cell  // of two rows exchanged: the other cell
	WithNew string // and what that would say
	How     string // "one digit", "a nought dropped"
	Why     []string
	cost    float64
	to      limit.Range
	mended  int // how much that was broken it mends
}

// A Finding is one thing that does not agree.
type Finding struct {
	Code     string
	Severity Severity
	Lines    []*book.Line
	Cells    []Cell
	What     string   // in one sentence
	Sum      []string // the arithmetic, line by line
	Mends    []Mend   // the likeliest first; at most three

	// Acknowledged is why the finding may stand; nil: nobody has said so.
	Acknowledged *book.Acknowledged
	// Struck are acknowledgements of it that were taken back, the last one last.
	Struck []*book.Struck
}

// Book checks a book. Findings come in the book's order, the surest first
// within a line.
func Book(b *book.Book) []Finding {
	c := &checker{book: b, sheets: sheets(b)}
	// Looking for mends gives cells other texts for a while: only what looks at
	// no cell can go on beside it.
	beside := &checker{book: b, sheets: c.sheets}
	var wait sync.WaitGroup
	wait.Go(beside.references)
	c.relate()
	c.learn()
	c.order()
	c.sums()
	c.units()
	c.twice()
	c.families()
	wait.Wait()
	c.found = append(c.found, beside.found...)
	at := map[*book.Line]int{}
	for i, l := range b.Lines {
		at[l] = i
	}
	slices.SortStableFunc(c.found, func(x, y Finding) int {
		return cmp.Or(cmp.Compare(at[x.Lines[0]], at[y.Lines[0]]), cmp.Compare(y.Severity, x.Severity))
	})
	return c.found
}

type checker struct {
	book   *book.Book
	sheets []*sheet
	sizes  map[*book.Feature][]*sheet
	fits   map[*book.Feature][]*sheet // only for holds
	found  []Finding
	usual  usual
}

// report adds a finding about some cells, the first of which it stands under.
func (c *checker) report(code string, what string, sum []string, mends []Mend, cells ...*cell) {
	f := Finding{Code: code, Severity: severityOf(code), What: what, Sum: sum, Mends: mends}
	for _, cell := range cells {
		f.Cells = append(f.Cells, cell.public())
		if !slices.Contains(f.Lines, cell.sheet.line) {
			f.Lines = append(f.Lines, cell.sheet.line)
		}
	}
	c.found = append(c.found, f)
}

func (c *cell) public() Cell { return Cell{c.sheet.line, c.name, c.text} }
