package check

import (
	"slices"
	"strings"
	"sync"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A cell is one printed limit with what it says by itself: sides that it does
// not name are not set.
type cell struct {
	sheet *sheet
	name  string // new, service, a tier's name, or also-new, steps.m010.new
	text  string
	unit  quantity.Unit
	limit.Range
	fixed  bool // reckoned by the loader from more than this text: not mended
	second bool // of the second printed unit
	unread bool // it can't be read
}

// A sheet is one line as it is printed.
type sheet struct {
	line  *book.Line
	at    int    // in the book's order
	name  string // the line's, folded
	n     limit.Notation
	cells []*cell
	of    []*relation // that it is part of
}

// cell returns the cell of that name, nil where the line has none.
func (s *sheet) cell(name string) *cell {
	for _, c := range s.cells {
		if c.name == name {
			return c
		}
	}
	return nil
}

// asNew is the cell of the new limits; nil where none are printed.
func (s *sheet) asNew() *cell { return s.cell("new") }

// worn is the cell of the widest tier, where that is not the new one.
func (s *sheet) worn() *cell {
	for _, c := range slices.Backward(s.cells) {
		if !c.second && c.name != "new" && !strings.HasPrefix(c.name, "steps.") {
			return c
		}
	}
	return nil
}

// read gives the cell another text; false where it can't be read, or not
// without asking.
func (c *cell) read(text string) bool {
	n := c.sheet.n
	n.Format.Unit = c.unit
	first, second := text, ""
	if c.isWorn() {
		first, second = "", text
	}
	got, err := n.Parse(first, second)
	if err != nil || len(got.Tiers) != 1 || got.Ungraded {
		return false
	}
	c.text, c.Range = text, got.Tiers[0].Range
	return true
}

// isWorn tells a cell of a used part's limit, where one figure alone has a side.
func (c *cell) isWorn() bool { return !strings.HasSuffix(c.name, "new") }

// A side is one edge of a cell.
type side struct {
	*cell
	max bool
}

func (e side) edge() limit.Edge {
	if e.max {
		return e.Max
	}
	return e.Min
}

// An end is one end of a range: its least or its most.
func (e side) end() string {
	if e.max {
		return "max"
	}
	return "min"
}

// A token is one figure in a cell's text: its digits, the sign that touches
// them and the letter behind.
type token struct {
	from, to int // the figure without sign and letter
	sign     int // where its sign stands; from if it has none
	letter   int // where its letter stands; to if it has none
}

// tokens finds the figures of a cell. Words and units between them are passed
// over.
func tokens(text string) (all []token) {
	for i := 0; i < len(text); {
		start := i
		if !digit(text[i]) && !(mark(text[i]) && i+1 < len(text) && digit(text[i+1]) && (i == 0 || text[i-1] != '.')) {
			i++
			continue
		}
		marks := 0
		for i < len(text) && (digit(text[i]) || mark(text[i]) && marks == 0 && i+1 < len(text) && digit(text[i+1])) {
			if mark(text[i]) {
				marks++
			}
			i++
		}
		if i+1 < len(text) && mark(text[i]) && marks == 0 && !mark(text[i+1]) {
			i++ // 5.
		}
		t := token{from: start, to: i, sign: start, letter: i}
		if start > 0 && (text[start-1] == '-' || text[start-1] == '+') && (start == 1 || !digit(text[start-2]) && !letterLT(text[start-2])) {
			t.sign = start - 1
		}
		rest := text[i:]
		if trimmed := strings.TrimLeft(rest, " "); trimmed != "" && letterLT(trimmed[0]) && (len(trimmed) == 1 || !isLetter(trimmed[1])) {
			t.letter = i + len(rest) - len(trimmed)
		}
		all = append(all, t)
	}
	return all
}

func digit(c byte) bool    { return c >= '0' && c <= '9' }
func mark(c byte) bool     { return c == '.' || c == ',' }
func letterLT(c byte) bool { return c == 'L' || c == 'T' }
func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

// decimals is how many decimals a figure is written with.
func decimals(figure string) int {
	if i := strings.IndexAny(figure, ".,"); i >= 0 {
		return len(figure) - i - 1
	}
	return 0
}

// decimalsOf is the most decimals that a figure of the text is written with.
func decimalsOf(text string) int {
	most := 0
	for _, t := range tokens(text) {
		most = max(most, decimals(text[t.from:t.to]))
	}
	return most
}

// decimals is how fine the cell is printed: manuals drop the noughts at the end
// of one figure and not of the next.
func (c *cell) decimals() int { return decimalsOf(c.text) }

// decimals is how fine the line is printed in its own unit.
func (s *sheet) decimals() int {
	most := 0
	for _, c := range s.cells {
		if !c.second {
			most = max(most, c.decimals())
		}
	}
	return most
}

// sheets lays out the lines of a book as they are printed.
func sheets(b *book.Book) []*sheet {
	const some = 256
	all := make([]*sheet, len(b.Lines))
	var wait sync.WaitGroup
	for from := 0; from < len(all); from += some {
		wait.Go(func() {
			for i := from; i < min(from+some, len(all)); i++ {
				all[i] = sheetOf(b, i)
			}
		})
	}
	wait.Wait()
	return all
}

// sheetOf lays out one line.
func sheetOf(b *book.Book, at int) *sheet {
	l := b.Lines[at]
	s := &sheet{line: l, at: at, name: fold(l.Name)}
	if l.Judges == book.YesNo || l.Judges == book.SameStep {
		return s
	}
	s.n = b.Notation(l)
	for _, t := range l.Limit.Tiers {
		s.add(t, l.Unit)
	}
	s.also()
	if asNew := s.asNew(); asNew != nil && !asNew.fixed {
		s.steps()
	}
	return s
}

// add lays out one tier.
func (s *sheet) add(t limit.Tier, unit quantity.Unit) {
	c := &cell{sheet: s, name: t.Name, text: t.Printed, unit: unit, Range: t.Range}
	s.cells = append(s.cells, c)
	plain := s.n.Held != limit.Both && t.Printed != "" && digit(t.Printed[len(t.Printed)-1])
	if c.isWorn() && !plain || s.line.Limit.Kind == limit.Wear {
		if got := c.Range; !c.read(t.Printed) {
			c.Range, c.fixed = got, true
		}
	}
}

// also lays out the second printed unit. A cell that can't be read stands with
// no edges.
func (s *sheet) also() {
	a := s.line.Also
	if a == nil {
		return
	}
	for _, of := range []struct{ name, text string }{{"new", a.New}, {"service", a.Service}} {
		if of.text == "" {
			continue
		}
		c := &cell{sheet: s, name: alsoPrefix + of.name, text: of.text, unit: a.Unit, second: true}
		c.unread = !c.read(of.text)
		s.cells = append(s.cells, c)
	}
}

// steps lays out what a step has for limits of its own.
func (s *sheet) steps() {
	standard := s.asNew().text
	for _, step := range s.line.Terms[0].Feature.Steps {
		own := s.line.AtStep[step.Mark]
		if own == nil || own == s.line.Limit || len(own.Tiers) == 0 || own.Tiers[0].Printed == standard || own.Tiers[0].Name != "new" {
			continue
		}
		c := &cell{sheet: s, name: "steps." + step.Mark + ".new", text: own.Tiers[0].Printed, unit: s.line.Unit, Range: own.Tiers[0].Range}
		s.cells = append(s.cells, c)
	}
}
