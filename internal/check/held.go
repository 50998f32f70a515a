package check

import (
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Held is a cell that waits for a person, with what it may say.
type Held struct {
	Line     *book.Line
	Hold     *book.Hold
	Readings []Reading // the likeliest first
}

// A Reading is one thing that a held cell may say, and what speaks for it beside
// the cell itself: "" where nothing does.
type Reading struct{ Text, Why string }

// Holds goes over the held cells of a book. Where a cell belongs to a fit or a
// stack whose other cells are known, the reading with which the sum comes out
// stands first and says so. Where none of the readings that the cell itself
// suggests does, and the figures that the sum asks for are like those that are
// printed, they stand first. A person settles it all the same.
func Holds(b *book.Book) (all []Held) {
	var c *checker
	for i, l := range b.Lines {
		for k := range l.Holds {
			h := Held{Line: l, Hold: &l.Holds[k]}
			if c == nil {
				c = &checker{book: b, sheets: sheets(b)}
				c.relate()
				c.fits = map[*book.Feature][]*sheet{}
				for _, s := range c.sheets {
					if s.line.Judges == book.Fit {
						for _, t := range s.line.Terms {
							c.fits[t.Feature] = append(c.fits[t.Feature], s)
						}
					}
				}
			}
			h.Readings = c.readings(c.sheets[i], h.Hold)
			all = append(all, h)
		}
	}
	return all
}

// readings ranks what a held cell may say.
func (c *checker) readings(s *sheet, h *book.Hold) (all []Reading) {
	for _, m := range h.May {
		all = append(all, Reading{Text: m})
	}
	if h.Cell == book.HoldKind || s.cell(h.Cell) != nil || s.line.Judges == book.YesNo || s.line.Judges == book.SameStep {
		return all
	}
	fits := c.fitsOf(s)
	if len(fits) == 0 {
		return all
	}
	for i := range all {
		all[i].Why = c.comesOut(s, h, all[i].Text, fits)
	}
	if !slices.ContainsFunc(all, func(r Reading) bool { return r.Why != "" }) {
		if text := c.asked(s, h, fits); text != "" && !slices.Contains(h.May, text) {
			if why := c.comesOut(s, h, text, fits); why != "" {
				all = append(all, Reading{text, why})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Reading) int {
		switch {
		case (a.Why != "") == (b.Why != ""):
			return 0
		case a.Why != "":
			return -1
		}
		return 1
	})
	return all
}

// fitsOf lists the fits that a line is part of, itself if it is one.
func (c *checker) fitsOf(s *sheet) (all []*sheet) {
	if s.line.Judges == book.Fit {
		return []*sheet{s}
	}
	if s.line.Judges != book.Size {
		return nil
	}
	for _, f := range c.fits[s.line.Terms[0].Feature] {
		if together(f.line, s.line) {
			all = append(all, f)
		}
	}
	return all
}

// with calls look while the held cell is there.
func (s *sheet) with(held *cell, look func()) {
	was := s.cells
	if held.name == "new" {
		s.cells = append([]*cell{held}, was...)
	} else {
		s.cells = append(slices.Clone(was), held)
	}
	look()
	s.cells = was
}

// comesOut says which sums come out with a reading of a held cell: all that it
// is part of, and one at least; "" otherwise.
func (c *checker) comesOut(s *sheet, h *book.Hold, text string, fits []*sheet) string {
	held := &cell{sheet: s, name: h.Cell, unit: s.line.Unit}
	if !held.read(text) {
		return ""
	}
	var sums []string
	fails := false
	s.with(held, func() {
		for _, f := range fits {
			for _, r := range c.relateFit(f) {
				if !slices.ContainsFunc(r.terms, func(t term) bool { return t.cell == held }) {
					continue
				}
				if r.level() != holds {
					fails = true
					return
				}
				sums = append(sums, f.line.Key+" "+c.sumOf(r))
			}
		}
	})
	if fails || len(sums) == 0 {
		return ""
	}
	return "the sum comes out: " + strings.Join(sums, "; ")
}

// asked is what the sums ask for, where it is like what is printed.
func (c *checker) asked(s *sheet, h *book.Hold, fits []*sheet) string {
	nought, _, err := quantity.Format{Unit: s.line.Unit}.Figure("0")
	if err != nil {
		return ""
	}
	edge := limit.Edge{At: nought, Set: true}
	held := &cell{sheet: s, name: h.Cell, text: h.Text, unit: s.line.Unit, Range: limit.Range{Min: edge, Max: edge}}
	var want limit.Range
	agree := true
	s.with(held, func() {
		for _, f := range fits {
			for _, r := range c.relateFit(f) {
				for _, t := range r.terms {
					if t.cell != held {
						continue
					}
					gap, _ := r.gap()
					at, err := gap.Scaled(-1, int64(t.times))
					to := &want.Min
					if t.max {
						to = &want.Max
					}
					if err != nil || to.Set && to.At != at {
						agree = false
						return
					}
					*to = limit.Edge{At: at, Set: true}
				}
			}
		}
	})
	if !agree {
		return ""
	}
	var parts []string
	for _, e := range []limit.Edge{want.Min, want.Max} {
		if e.Set {
			parts = append(parts, c.clearance(held, e.At))
		}
	}
	text := strings.Join(parts, "..")
	if text == "" || !likeness(h.Text, text) {
		return ""
	}
	return text
}

// mostApart is how many characters of a held cell a sum may ask to be others: a
// figure of our own.
const mostApart = 2

var confused = strings.NewReplacer("O", "0", "o", "0", "i", "1", "I", "1", "l", "1", "|", "1", "S", "5", "B", "8", ",", "", ".", "", " ", "")

// likeness tells whether two texts have nearly the same digits, letters that are
// taken for digits counted as those.
func likeness(a, b string) bool {
	digits := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r >= '0' && r <= '9' {
				return r
			}
			return -1
		}, confused.Replace(s))
	}
	a, b = digits(a), digits(b)
	return min(len(a), len(b)) >= 3 && apart(a, b) <= mostApart
}

// apart is how many characters are to be changed, added or taken out to make one
// text of another.
func apart(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		last := row[0]
		row[0] = i + 1
		for j := range len(b) {
			here := last
			if a[i] != b[j] {
				here = 1 + min(last, row[j], row[j+1])
			}
			last, row[j+1] = row[j+1], here
		}
	}
	return row[len(b)]
}
