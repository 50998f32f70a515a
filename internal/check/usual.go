package check

import (
	"math"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// usual is what a book's figures are usually like: how wide new limits are, how
// much wear is allowed, on which digits figures end. A misprint is likely to be
// unlike them.
type usual struct {
	widths, allowances map[pair]int
	ends               map[byte]int // on which digit figures end
	fine               map[int]int  // with how many decimals they are printed
	all                int
	pairs, alike       int // lines with both limits, and those that print both with the same decimals
}

type pair struct {
	fit bool
	by  quantity.Figure
}

// learn counts what the book prints.
func (c *checker) learn() {
	c.usual = usual{widths: map[pair]int{}, allowances: map[pair]int{}, ends: map[byte]int{}, fine: map[int]int{}}
	for _, s := range c.sheets {
		if asNew, worn := s.asNew(), s.worn(); asNew != nil && worn != nil && !worn.fixed && !asNew.fixed {
			c.usual.pairs++
			if sameDecimals(asNew, worn) {
				c.usual.alike++
			}
		}
		for _, cell := range s.cells {
			if !cell.second {
				c.usual.count(cell, 1)
			}
		}
	}
}

// count counts one cell, or with −1 leaves it out again: a figure is not usual
// by itself.
func (u *usual) count(c *cell, n int) {
	if w, ok := c.width(); ok {
		u.widths[w] += n
	}
	if a, ok := c.sheet.allowance(); ok && c == c.sheet.worn() {
		u.allowances[a] += n
	}
	for _, t := range tokens(c.text) {
		u.ends[c.text[t.to-1]] += n
		u.fine[decimals(c.text[t.from:t.to])] += n
		u.all += n
	}
}

// width is how far apart the two ends of a cell are.
func (c *cell) width() (pair, bool) {
	if !c.Min.Set || !c.Max.Set {
		return pair{}, false
	}
	by, err := c.Max.At.Plus(-1, c.Min.At)
	return pair{c.sheet.line.IsClearance(), by}, err == nil
}

// allowance is how much wear the line allows.
func (s *sheet) allowance() (pair, bool) {
	asNew, worn := s.asNew(), s.worn()
	if asNew == nil || worn == nil {
		return pair{}, false
	}
	from, to := asNew.Max, worn.Max
	if s.line.Judges == book.Size && worn.Min.Set && !worn.Max.Set {
		from, to = worn.Min, asNew.Min
	}
	if !from.Set || !to.Set {
		return pair{}, false
	}
	by, err := to.At.Plus(-1, from.At)
	return pair{s.line.IsClearance(), by}, err == nil
}

// of says how usual a cell's figures are: the more, the better.
func (u *usual) of(c *cell) float64 {
	score := 0.0
	if w, ok := c.width(); ok {
		score += 0.4 * math.Log1p(float64(u.widths[w]))
	}
	if a, ok := c.sheet.allowance(); ok {
		score += 0.4 * math.Log1p(float64(u.allowances[a]))
	}
	n, sum := 0.0, 0.0
	for _, t := range tokens(c.text) {
		n++
		sum += math.Log(float64(1+u.ends[c.text[t.to-1]]) / float64(10+u.all))
		sum += math.Log(float64(1+u.fine[decimals(c.text[t.from:t.to])])/float64(10+u.all)) / 2
	}
	if n > 0 {
		score += sum / n
	}
	return score
}
