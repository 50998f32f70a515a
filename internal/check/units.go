package check

import (
	"fmt"
	"strings"

	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// units holds the second printed unit against the first.
func (c *checker) units() {
	for _, s := range c.sheets {
		for _, cell := range s.cells {
			if cell.unread {
				c.report("unit-unreadable", "the second unit can't be read: "+cell.text, nil, c.readable(cell), cell)
			}
		}
		for _, name := range []string{"new", "service"} {
			var wrong, cut []*relation
			for _, r := range s.own(inUnits) {
				if r.terms[0].name != name {
					continue
				}
				if r.level() == broken {
					if truncated(r) {
						cut = append(cut, r)
					} else {
						wrong = append(wrong, r)
					}
				}
			}
			switch {
			case len(wrong) > 0:
				c.unitMismatch(wrong)
			case len(cut) > 0:
				c.report("unit-truncated", "one unit is cut off from the other, not rounded", c.unitSums(cut), nil, cellsOf(cut)...)
			}
		}
	}
}

// readable looks for a reading of a second cell that can't be read which says
// what the first does: a comma for a point, a letter for a digit.
func (c *checker) readable(cell *cell) (all []Mend) {
	first := cell.sheet.cell(cell.name[len(alsoPrefix):])
	if first == nil {
		return nil
	}
	printed := cell.text
	defer func() { cell.text, cell.Range = printed, limit.Range{} }()
	for _, as := range []struct{ how, from, to string }{
		{"a comma for a point", ",", "."},
		{"a point for a comma", ".", ","},
		{"the letter O for a nought", "O", "0"},
		{"the letter o for a nought", "o", "0"},
		{"the letter l for a 1", "l", "1"},
		{"the letter i for a 1", "i", "1"},
		{"the letter I for a 1", "I", "1"},
		{"the letter S for a 5", "S", "5"},
	} {
		text := strings.ReplaceAll(printed, as.from, as.to)
		if text == printed || !cell.read(text) {
			continue
		}
		same := true
		for _, max := range []bool{false, true} {
			r := &relation{sort: inUnits, terms: []term{{side{first, max}, 1}, {side{cell, max}, -1}}}
			same = same && r.level() == holds
		}
		if same {
			all = append(all, Mend{Cell: Cell{cell.sheet.line, cell.name, printed}, New: text, How: as.how, Why: []string{"it is then what the first unit says"}})
		}
	}
	return all[:min(len(all), 3)]
}

// truncated tells whether one is the other, cut off at its last digit.
func truncated(r *relation) bool {
	gap, _ := r.gap()
	return within(gap, plus(r.slack(), r.slack())) && r.terms[0].edge().At.Sign() == r.terms[1].edge().At.Sign()
}

func plus(a, b quantity.Figure) quantity.Figure {
	sum, err := a.Plus(1, b)
	if err != nil {
		return a
	}
	return sum
}

func (c *checker) unitSums(all []*relation) (sum []string) {
	for _, r := range all {
		a, b := r.terms[0], r.terms[1]
		from := c.write(a.edge().At, a.unit, decimalsAt(r, 0)) + " " + a.unit.String()
		to := c.write(b.edge().At, b.unit, decimalsAt(r, 1)) + " " + b.unit.String()
		sum = append(sum, fmt.Sprintf("%s: %s is %s; printed %s, which is %s", a.end(), from,
			c.write(a.edge().At, b.unit, a.edge().At.Decimals(b.unit, 6))+" "+b.unit.String(), to,
			c.write(b.edge().At, a.unit, min(decimalsAt(r, 0)+2, 6))+" "+a.unit.String()))
	}
	return sum
}

// decimalsAt is the decimals of one printed figure of a relation.
func decimalsAt(r *relation, i int) int {
	t := r.terms[i]
	return max(r.figureDecimals(i), t.edge().At.Decimals(t.unit, 6))
}

func (c *checker) unitMismatch(wrong []*relation) {
	cells := cellsOf(wrong)
	sum := c.unitSums(wrong)
	what := "the two units do not say the same"
	if a, b := wrong[0].terms[0], wrong[0].terms[1]; a.unit.Kind() == quantity.RatioKind {
		if by, err := a.edge().At.Scaled(254, 10); err == nil && by == b.edge().At {
			what = "a rate is the same in any unit, and was converted as if it were a length"
		}
	}
	sum = append(sum, c.supports(wrong)...)
	mends, _ := c.mendEach(wrong, cells)
	c.report("unit-mismatch", what, sum, mends, cells...)
}

// supports says which of the two units the rest of the book bears out: what the
// figure is in, with the one and with the other.
func (c *checker) supports(wrong []*relation) (words []string) {
	for _, r := range wrong {
		first, second := r.terms[0], r.terms[1]
		var with, without []string
		decimals := r.figureDecimals(0)
		other, _ := second.edge().At.Text(first.unit, decimals)
		n := first.sheet.n.Format
		n.DecimalComma = false
		at, _, err := n.Figure(other)
		if err != nil {
			continue
		}
		was := first.cell.Range
		for _, of := range first.sheet.of {
			if of == r || of.sort == inUnits || !of.has(first.side) {
				continue
			}
			as := of.level()
			if first.max {
				first.cell.Max.At = at
			} else {
				first.cell.Min.At = at
			}
			by := of.level()
			first.cell.Range = was
			name := of.terms[0].sheet.line.Key
			if as == holds && by == broken {
				with = append(with, name)
			}
			if by == holds && as == broken {
				without = append(without, name)
			}
		}
		say := func(names []string, u quantity.Unit) {
			if len(names) > 0 {
				words = append(words, "the sums of "+strings.Join(names, ", ")+" bear out the "+u.String())
			}
		}
		say(with, first.unit)
		say(without, second.unit)
	}
	return words
}

// has tells whether an edge is part of the relation.
func (r *relation) has(e side) bool {
	for _, t := range r.terms {
		if t.side == e {
			return true
		}
	}
	return false
}
