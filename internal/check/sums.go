package check

import (
	"fmt"
	"slices"
	"strings"

	"tenths/metrology/quantity"
)

// sums holds every fit and stack against its sizes.
func (c *checker) sums() {
	for _, s := range c.sheets {
		if s.line.Judges.String() != "fit" {
			continue
		}
		mended := c.fitNew(s)
		c.fitWorn(s)
		if !mended { // else it follows from the same misprint
			c.belowNew(s)
		}
	}
}

// own returns the relations of that sort that the fit itself makes.
func (s *sheet) own(of sort) (all []*relation) {
	for _, r := range s.of {
		if r.sort == of && r.terms[0].sheet == s {
			all = append(all, r)
		}
	}
	return all
}

// cellsOf lists the cells of relations, each once, the owner's first.
func cellsOf(all []*relation) (cells []*cell) {
	for _, r := range all {
		for _, t := range r.terms {
			if !slices.Contains(cells, t.cell) {
				cells = append(cells, t.cell)
			}
		}
	}
	return cells
}

// fitNew holds the new limits of a fit against its sizes; mended tells whether
// one change would make them agree.
func (c *checker) fitNew(s *sheet) (mended bool) {
	all := s.own(fitNew)
	var wrong []*relation
	rounded := false
	for _, r := range all {
		gap, _ := r.gap()
		rounded = rounded || gap.Sign() != 0
		if r.level() == broken {
			wrong = append(wrong, r)
		}
	}
	var sum []string
	for _, r := range all {
		sum = append(sum, c.sumOf(r))
	}
	switch {
	case len(wrong) > 0:
		code := "fit-sum"
		if len(s.line.Terms) > 2 {
			code = "stack-sum"
		}
		cells := cellsOf(all)
		mends, whole := c.mendEach(wrong, cells)
		c.report(code, "the fit is not what its sizes make: "+c.apart(wrong), sum, mends, cells...)
		return whole
	case rounded:
		c.report("fit-rounded", "the fit is what its sizes make, as far as its decimals go", sum, nil, cellsOf(all)...)
	}
	return false
}

// mendEach looks for a change that mends all; where there is none, for changes
// that mend one each; whole tells which of the two it found.
func (c *checker) mendEach(wrong []*relation, cells []*cell) (all []Mend, whole bool) {
	if m := c.mends(wrong, cells); len(m) > 0 || len(wrong) == 1 {
		return m, len(m) > 0
	}
	for _, r := range wrong {
		for _, m := range c.mends([]*relation{r}, cells) {
			m.Why = append([]string{"for the " + r.what + " only"}, m.Why...)
			all = append(all, m)
		}
	}
	return likeliest(all), false
}

// apart says by how much each end is out.
func (c *checker) apart(wrong []*relation) string {
	var parts []string
	for _, r := range wrong {
		gap, _ := r.gap()
		parts = append(parts, r.what+" by "+c.figure(r.terms[0].cell, abs(gap)))
	}
	return strings.Join(parts, ", ")
}

func (c *checker) fitWorn(s *sheet) {
	for _, r := range s.own(fitWorn) {
		gap, _ := r.gap()
		cells := cellsOf([]*relation{r})
		switch r.level() {
		case tighter:
			c.report("fit-service-tighter", "the fit may wear less than its sizes may, by "+c.figure(r.terms[0].cell, abs(gap))+": both must be met", []string{c.sumOf(r)}, nil, cells...)
		case broken:
			mends := c.mends([]*relation{r}, cells)
			if len(mends) == 0 { // tighter than the sizes make is as legitimate
				mends = likeliest(slices.DeleteFunc(c.mendWorn(s, r.terms[0].cell, 0), func(m Mend) bool { return m.mended == 0 }))
			}
			c.report("fit-service-looser", "no sizes within their service limits make a fit as loose as its service limit allows: "+c.figure(r.terms[0].cell, abs(gap))+" apart", []string{c.sumOf(r)}, mends, cells...)
		}
	}
}

// belowNew tells of a service limit that new sizes may already be beyond.
func (c *checker) belowNew(s *sheet) {
	worn := s.worn()
	if worn == nil || !worn.Max.Set || worn.fixed {
		return
	}
	var r *relation
	for _, of := range s.of {
		if of.terms[0].sheet == s && of.sort == fitNew && of.what == "loosest" {
			r = of
		}
	}
	if r == nil || r.level() != broken {
		return // what the row says of new is then what its order is held against
	}
	at := *r
	at.terms = slices.Clone(r.terms)
	at.terms[0].side = side{worn, true}
	if gap, ok := at.gap(); ok && gap.Sign() < 0 && !within(gap, at.slack()) {
		c.report("fit-service-below-new", "sizes within their new limits may make a fit that is beyond its service limit, by "+c.figure(worn, abs(gap)), []string{c.sumOf(&at)}, nil, cellsOf([]*relation{&at})...)
	}
}

func abs(f quantity.Figure) quantity.Figure {
	if f.Sign() < 0 {
		return f.Negative()
	}
	return f
}

// sumOf writes a fit's relation out: "loosest: bore 2.4015 − pin 2.3988 =
// 0.0027L; printed 0.0030L".
func (c *checker) sumOf(r *relation) string {
	fit := r.terms[0]
	var b strings.Builder
	b.WriteString(r.what + ":")
	for i, t := range r.terms[1:] {
		times := -t.times
		switch {
		case times < 0:
			b.WriteString(" −")
		case i > 0:
			b.WriteString(" +")
		}
		if times = max(times, -times); times > 1 {
			fmt.Fprintf(&b, " %d ×", times)
		}
		b.WriteString(" " + t.sheet.line.Key + " " + c.figure(t.cell, t.edge().At))
		if t.unit != fit.unit {
			b.WriteString(" " + t.unit.String())
		}
	}
	if r.plus.Sign() != 0 {
		plus := r.plus.Negative()
		if plus.Sign() > 0 {
			b.WriteString(" + " + c.figure(fit.cell, plus) + " of the step")
		} else {
			b.WriteString(" − " + c.figure(fit.cell, plus.Negative()) + " of the step")
		}
	}
	gap, _ := r.gap()
	made, err := fit.edge().At.Plus(-1, gap)
	if err != nil {
		return b.String()
	}
	b.WriteString(" = " + c.clearance(fit.cell, made))
	if gap.Sign() == 0 {
		b.WriteString(", as printed")
	} else {
		b.WriteString("; printed " + c.clearance(fit.cell, fit.edge().At) + ", " + c.figure(fit.cell, abs(gap)) + " apart")
	}
	return b.String()
}

// figure prints a figure in the cell's unit, as fine as the cell or as it needs.
func (c *checker) figure(cell *cell, f quantity.Figure) string {
	return c.write(f, cell.unit, max(cell.decimals(), f.Decimals(cell.unit, 6)))
}

func (c *checker) write(f quantity.Figure, u quantity.Unit, decimals int) string {
	text, exact := f.Text(u, decimals)
	if c.book.Comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	if !exact {
		text = "≈" + text
	}
	return text
}

// clearance prints a figure as loose or tight.
func (c *checker) clearance(cell *cell, f quantity.Figure) string {
	switch {
	case !cell.sheet.line.IsClearance() || f.Sign() == 0:
		return c.figure(cell, f)
	case f.Sign() < 0:
		return c.figure(cell, f.Negative()) + "T"
	}
	return c.figure(cell, f) + "L"
}
