package check

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tenths/metrology/quantity"
)

// plain tells a figure that nobody would print otherwise: no nought before its
// first digit but the one before the point.
func plain(figure string) bool {
	return len(figure) < 2 || figure[0] != '0' || mark(figure[1])
}

// alike are digits that print, eye or scanner take for one another.
const alike = "06 08 09 38 56 68 89 17 14 27 35 58 49 39"

// simple tells whether one figure becomes another by one simple change, which,
// and what it costs: the likelier, the less.
func simple(old, now string) (how string, cost float64, ok bool) {
	if !plain(now) {
		return "", 0, false
	}
	switch len(now) - len(old) {
	case 0:
		var at []int
		for i := range len(old) {
			if old[i] != now[i] {
				at = append(at, i)
			}
		}
		switch {
		case len(at) == 1 && digit(old[at[0]]) && digit(now[at[0]]):
			a, b := old[at[0]], now[at[0]]
			if strings.Contains(alike, string([]byte{min(a, b), max(a, b)})) {
				return "one digit", 1, true
			}
			return "one digit", 1.3, true
		case len(at) == 2 && old[at[0]] == now[at[1]] && old[at[1]] == now[at[0]] && digit(old[at[0]]) && digit(old[at[1]]) && at[1] == at[0]+1:
			return "two digits exchanged", 1.1, true
		}
	case 1:
		for i := range len(now) {
			if now[:i]+now[i+1:] != old {
				continue
			}
			if now[i] == '0' {
				return "a nought was dropped", 1, true
			}
			if digit(now[i]) {
				return "a digit was lost", 1.4, true
			}
			return "the point was lost", 1.1, true
		}
	case -1:
		for i := range len(old) {
			if old[:i]+old[i+1:] != now {
				continue
			}
			if old[i] == '0' {
				return "a nought too many", 1.3, true
			}
			if digit(old[i]) {
				return "a digit too many", 1.4, true
			}
			return "a point too many", 1.1, true
		}
	}
	bare := func(s string) string {
		return strings.Trim(noPoint.Replace(s), "0")
	}
	if strings.ContainsAny(now, ".,") && bare(old) == bare(now) && bare(now) != "" && max(len(now)-len(old), len(old)-len(now)) <= 2 {
		return "the point was moved", 1.2, true
	}
	return "", 0, false
}

var noPoint = strings.NewReplacer(".", "", ",", "")

// A rewrite is another text for a cell.
type rewrite struct {
	text, how string
	cost      float64
}

// rewrites returns the texts that make one figure of a cell the one wanted, by
// one simple change each. Where rounded is set the figure need only come to it
// as far as its digits go.
func (c *cell) rewrites(t token, want quantity.Figure, rounded bool) (all []rewrite) {
	old := c.text[t.from:t.to]
	negative := t.letter < len(c.text) && c.text[t.letter] == 'T' || t.sign < t.from && c.text[t.sign] == '-'
	size := want
	if want.Sign() < 0 {
		size = want.Negative()
	}
	for _, text := range c.texts(size, old, rounded) {
		turned := negative != (want.Sign() < 0) && want.Sign() != 0
		if !turned {
			if how, cost, ok := simple(old, text); ok {
				all = append(all, rewrite{c.text[:t.from] + text + c.text[t.to:], how, cost})
			}
			continue
		}
		if text == old {
			all = append(all, c.turns(t)...)
		}
	}
	return all
}

// turns returns the texts that make a clearance of an interference, or the
// other way.
func (c *cell) turns(t token) (all []rewrite) {
	if !c.sheet.n.Fit {
		return nil
	}
	lettered := t.letter < len(c.text) && letterLT(c.text[t.letter])
	switch {
	case lettered && c.text[t.letter] == 'T':
		all = append(all, rewrite{c.text[:t.letter] + "L" + c.text[t.letter+1:], "the letter", 1})
	case lettered:
		all = append(all, rewrite{c.text[:t.letter] + "T" + c.text[t.letter+1:], "the letter", 1})
	case t.sign < t.from && c.text[t.sign] == '-':
		all = append(all, rewrite{c.text[:t.sign] + c.text[t.from:], "the sign", 1})
	case t.sign < t.from:
		all = append(all, rewrite{c.text[:t.sign] + "-" + c.text[t.from:], "the sign", 1})
	case strings.ContainsAny(c.text, "-+"):
		all = append(all, rewrite{c.text[:t.from] + "-" + c.text[t.from:], "a sign was lost", 1}, rewrite{c.text[:t.to] + "T" + c.text[t.to:], "a letter was lost", 1})
	default:
		all = append(all, rewrite{c.text[:t.to] + "T" + c.text[t.to:], "a letter was lost", 1})
	}
	return all
}

// texts writes a figure in the cell's unit in the manner of another, with the
// decimals that it needs and some either side.
func (c *cell) texts(f quantity.Figure, like string, rounded bool) (all []string) {
	d := decimals(like)
	for n := max(0, d-2); n <= d+2; n++ {
		text, exact := f.Text(c.unit, n)
		switch {
		case !exact && (!rounded || n < d-1), rounded && n > d && text[len(text)-1] == '0':
			continue // other digits, or noughts that nobody prints
		case rounded && strings.Trim(text, "0.") == "":
			continue // rounded to nothing
		}
		if strings.HasPrefix(like, ".") || strings.HasPrefix(like, ",") {
			text = strings.TrimPrefix(text, "0")
		}
		if c.sheet.n.Format.DecimalComma {
			text = strings.Replace(text, ".", ",", 1)
		}
		all = append(all, text)
	}
	return all
}

// edits returns all texts that one simple change makes of a figure: for cells
// of which nothing says what they should be.
func (c *cell) edits(t token) (all []rewrite) {
	old := c.text[t.from:t.to]
	add := func(now string) {
		if how, cost, ok := simple(old, now); ok && now != old {
			all = append(all, rewrite{c.text[:t.from] + now + c.text[t.to:], how, cost})
		}
	}
	for i := range len(old) {
		if !digit(old[i]) {
			continue
		}
		for d := byte('0'); d <= '9'; d++ {
			add(old[:i] + string(d) + old[i+1:])
		}
		if i+1 < len(old) && digit(old[i+1]) {
			add(old[:i] + string(old[i+1]) + string(old[i]) + old[i+2:])
		}
		if len(old) > 1 {
			add(old[:i] + old[i+1:])
		}
	}
	for i := range len(old) + 1 {
		add(old[:i] + "0" + old[i:])
	}
	bare := noPoint.Replace(old)
	for i := 1; i < len(bare); i++ {
		add(bare[:i] + "." + bare[i:])
	}
	add("0." + bare)
	return append(all, c.turns(t)...)
}

// A state is how well everything that some lines are part of holds.
type state struct {
	of     []*relation
	levels []level
	sheets []*sheet
	orders []bool
}

// stateOf notes how well all that the lines are part of holds.
func stateOf(sheets ...*sheet) state {
	var s state
	s.sheets = sheets
	for _, sheet := range sheets {
		for _, r := range sheet.of {
			if !slices.Contains(s.of, r) {
				s.of = append(s.of, r)
				s.levels = append(s.levels, r.level())
			}
		}
		s.orders = append(s.orders, sheet.ordered())
	}
	return s
}

// worse tells whether something holds less well than it did; mended counts
// what holds and did not.
func (s state) worse() (worse bool, mended int) {
	for i, r := range s.of {
		switch now := r.level(); {
		case now < s.levels[i]:
			return true, 0
		case now > broken && s.levels[i] == broken:
			mended++
		}
	}
	for i, sheet := range s.sheets {
		now := sheet.ordered()
		if s.orders[i] && !now {
			return true, 0
		}
		if now && !s.orders[i] {
			mended++
		}
	}
	return false, mended
}

// mends looks for single changes of one of the cells after which all of the
// relations hold, and everything that held before still does.
func (c *checker) mends(own []*relation, cells []*cell) []Mend {
	var all []Mend
	for _, cell := range cells {
		if cell.fixed {
			continue
		}
		all = append(all, c.mendsOf(own, cell)...)
	}
	all = append(all, c.exchanges(own, cells)...)
	return likeliest(all)
}

// mendsOf looks for single changes of one cell.
func (c *checker) mendsOf(own []*relation, cell *cell) (all []Mend) {
	before := stateOf(cell.sheet)
	printed := cell.text
	tried := map[string]bool{printed: true}
	for _, t := range tokens(printed) {
		for _, r := range own {
			gap, ok := r.gap()
			if !ok {
				continue
			}
			for _, term := range r.terms {
				if term.cell != cell {
					continue
				}
				by, err := gap.Scaled(-1, int64(term.times))
				if err != nil {
					continue
				}
				want, err := term.edge().At.Plus(1, by)
				if err != nil {
					continue
				}
				for _, w := range cell.rewrites(t, want, r.sort == inUnits) {
					if !tried[w.text] {
						tried[w.text] = true
						if m, ok := c.try(own, len(own), cell, w, before); ok {
							all = append(all, m)
						}
					}
				}
			}
		}
	}
	return all
}

// try makes the change, looks how everything stands, and takes it back. The
// relations are to hold then; at least least is how much it mends anyway.
func (c *checker) try(own []*relation, least int, cell *cell, w rewrite, before state) (Mend, bool) {
	m := Mend{Cell: cell.public(), New: w.text, How: w.how, cost: w.cost}
	text, was := cell.text, cell.Range
	usual := 0.0
	if !cell.second {
		c.usual.count(cell, -1)
		usual = c.usual.of(cell)
	}
	defer func() {
		cell.text, cell.Range = text, was
		if !cell.second {
			c.usual.count(cell, 1)
		}
	}()
	far := cell.sheet.isFar()
	if !cell.read(w.text) || cell.Range == was || !far && cell.sheet.isFar() || cell.Min == cell.Max && was.Min != was.Max {
		return m, false
	}
	m.to = cell.Range
	if cell.second {
		m.cost -= 0.6 // most were converted from the first
	}
	if _, ok := cell.sheet.size(); ok && tooWide(cell.sheet.asNew()) {
		m.cost += 2 // something else is wrong then
	}
	for _, r := range own {
		if r.level() != holds {
			return m, false
		}
	}
	worse, mended := before.worse()
	if worse {
		return m, false
	}
	m.mended = mended
	if more := mended - least; more > 0 {
		m.Why = append(m.Why, "it mends the other sums that the figure is in")
		m.cost -= 1.5 * float64(more)
	}
	if by := c.usual.of(cell) - usual; math.Abs(by) > 0.2 && !cell.second {
		m.cost -= by
		if by > 0 {
			m.Why = append(m.Why, "its figures are then like the book's others")
		}
	}
	return m, true
}

// exchanges looks for two neighbouring rows of one sort whose cells are
// exchanged.
func (c *checker) exchanges(own []*relation, cells []*cell) (all []Mend) {
	for _, cell := range cells {
		for _, by := range []int{-1, 1} {
			at := cell.sheet.at + by
			if at < 0 || at >= len(c.sheets) {
				continue
			}
			with := c.sheets[at].cell(cell.name)
			if with == nil || with.fixed || cell.fixed || with.unit != cell.unit || with.text == cell.text || with.sheet.line.IsClearance() != cell.sheet.line.IsClearance() {
				continue
			}
			if m, ok := c.exchange(own, cell, with); ok && !slices.ContainsFunc(all, func(o Mend) bool {
				return o.With.Line == m.Cell.Line && o.Cell.Line == m.With.Line
			}) {
				all = append(all, m)
			}
		}
	}
	return all
}

func (c *checker) exchange(own []*relation, a, b *cell) (Mend, bool) {
	with := b.public()
	m := Mend{Cell: a.public(), New: b.text, With: &with, WithNew: a.text, How: "two rows exchanged", cost: 1.5}
	before := stateOf(a.sheet, b.sheet)
	aText, aWas, bText, bWas := a.text, a.Range, b.text, b.Range
	defer func() { a.text, a.Range, b.text, b.Range = aText, aWas, bText, bWas }()
	if !a.read(bText) || !b.read(aText) {
		return m, false
	}
	for _, r := range own {
		if r.level() != holds {
			return m, false
		}
	}
	worse, mended := before.worse()
	m.mended = mended
	if more := mended - len(own); more > 0 {
		m.Why = append(m.Why, "it mends the other sums that the figures are in")
		m.cost -= 1.5 * float64(more)
	}
	return m, !worse
}

// likeliest keeps three mends at most, the likeliest first; of two that come to
// the same, one.
func likeliest(all []Mend) []Mend {
	slices.SortStableFunc(all, func(a, b Mend) int { return cmp.Compare(a.cost, b.cost) })
	var some []Mend
	for _, m := range all {
		if len(some) < 3 && !slices.ContainsFunc(some, func(o Mend) bool {
			return o.Cell.Line == m.Cell.Line && o.Cell.Name == m.Cell.Name && o.to == m.to
		}) {
			some = append(some, m)
		}
	}
	return some
}
