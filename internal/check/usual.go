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
	ends               map[byte]int
	all                int
}

type pair struct {
	fit bool
	by  quantity.Figure
}

// learn counts what the book prints.
func (c *checker) learn() {
	u := usual{widths: map[pair]int{}, allowances: map[pair]int{}, ends: map[byte]int{}}
	for _, s := range c.sheets {
		for _, cell := range s.cells {
			if cell.second {
				continue
			}
			if w, ok := cell.width(); ok {
				u.widths[w]++
			}
			if a, ok := s.allowance(); ok && cell == s.worn() {
				u.allowances[a]++
			}
			for _, t := range tokens(cell.text) {
				u.ends[cell.text[t.to-1]]++
				u.all++
			}
		}
	}
	c.usual = u
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

// of says how usual a cell's figures are: the more, the better. own is 1 for
// the cell as printed, which was counted itself.
func (u *usual) of(c *cell, own int) float64 {
	score := 0.0
	if w, ok := c.width(); ok {
		score += 0.4 * math.Log1p(float64(max(0, u.widths[w]-own)))
	}
	if a, ok := c.sheet.allowance(); ok && !c.second {
		score += 0.4 * math.Log1p(float64(max(0, u.allowances[a]-own)))
	}
	n, sum := 0.0, 0.0
	for _, t := range tokens(c.text) {
		n++
		sum += math.Log(float64(1+max(0, u.ends[c.text[t.to-1]]-own)) / float64(10+u.all))
	}
	if n > 0 {
		score += sum / n
	}
	return score
}
