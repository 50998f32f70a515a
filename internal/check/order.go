package check

import (
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// Figures of our own: what is too far apart for one size.
const (
	wideLarge = 110 // percent: most over least, of a size over half an inch
	wideSmall = 160 // of a smaller one
	farTimes  = 20  // service allowance over the width of the new limits
	farShare  = 100 // and over a hundredth of the size

	farClearance = 15 // service limit of a clearance over its most as new

	scaleTimes = 5 // a service limit over new, or under it, that has its point elsewhere
	scaleShare = 5 // percent: of a size, how much of it may be worn away
)

// order looks at each line by itself.
func (c *checker) order() {
	for _, s := range c.sheets {
		asNew, worn := s.asNew(), s.worn()
		for _, cell := range s.cells {
			c.wide(cell)
			c.unlikeDecimals(cell)
			c.reversed(cell)
		}
		if asNew == nil || worn == nil || worn.fixed || s.line.Limit.Kind == limit.Wear {
			continue
		}
		c.fineness(s, asNew, worn)
		switch {
		case s.isAmount(asNew, worn):
			c.amount(s, asNew, worn)
		case s.crossed(asNew.Range, worn.Range) && !s.cuts(asNew.Range, worn.Range):
			c.report("limits-crossed", "no figure can meet both: the least, "+asNew.text+", is above the most, "+worn.text, nil, c.mendOrder(s, asNew, worn), worn, asNew)
		case !s.ordered():
			c.inside(s, asNew, worn)
		case s.equal(asNew, worn):
			c.report("service-equals-new", "the service limit is the new limit: no wear is allowed", nil, nil, worn, asNew)
		default:
			c.far(s, asNew, worn)
		}
	}
}

// size is the figure that a size's line is about: its least as new.
func (s *sheet) size() (quantity.Figure, bool) {
	f := s.line.Terms[0].Feature
	asNew := s.asNew()
	if s.line.Judges != book.Size || f.Class == book.Clearance || f.Unit.Kind() != quantity.LengthKind || asNew == nil || !asNew.Min.Set || asNew.Min.At.Sign() <= 0 {
		return quantity.Figure{}, false
	}
	return asNew.Min.At, true
}

// percent is a in hundredths of b, rounded down.
func percent(a, b quantity.Figure) int64 {
	nought, err := b.Scaled(0, 1)
	if err != nil || a.Kind() != b.Kind() || b.Sign() <= 0 {
		return 0
	}
	return quantity.Percent(a, nought, b)
}

// wide tells of ends that are too far apart for one size.
func (c *checker) wide(cell *cell) {
	if cell.isWorn() || cell.second || cell.fixed || !cell.Max.Set {
		return
	}
	s := cell.sheet
	if _, ok := s.size(); !ok || !tooWide(cell) {
		return
	}
	var mends []Mend
	before := stateOf(s)
	seen := map[string]bool{}
	for _, t := range tokens(cell.text) {
		for _, w := range cell.edits(t) {
			if seen[w.text] {
				continue
			}
			seen[w.text] = true
			text, was := cell.text, cell.Range
			narrow := cell.read(w.text) && !tooWide(cell) && c.usual.hasWidth(cell)
			cell.text, cell.Range = text, was
			if narrow {
				if m, ok := c.try(nil, 0, cell, w, before); ok {
					mends = append(mends, m)
				}
			}
		}
	}
	least, most := c.figure(cell, cell.Min.At), c.figure(cell, cell.Max.At)
	c.report("range-wide", "from "+least+" to "+most+" is too far for one size",
		[]string{most + " − " + least + " = " + c.figure(cell, minus(cell.Max.At, cell.Min.At))}, likeliest(mends), cell)
}

func minus(a, b quantity.Figure) quantity.Figure {
	d, err := a.Plus(-1, b)
	if err != nil {
		return a
	}
	return d
}

func tooWide(c *cell) bool {
	if !c.Min.Set || !c.Max.Set {
		return false
	}
	most := int64(wideSmall)
	if half, _, err := (quantity.Format{Unit: quantity.Inch}).Figure("0.5"); err == nil && c.Max.At.Cmp(half) >= 0 {
		most = wideLarge
	}
	return c.Min.At.Sign() <= 0 || percent(c.Max.At, c.Min.At) >= most
}

// hasWidth tells whether other cells of the book are as wide, or half or twice:
// what a mend makes should not be odd.
func (u *usual) hasWidth(c *cell) bool {
	w, ok := c.width()
	if !ok || w.by.Sign() <= 0 {
		return false
	}
	for known, n := range u.widths {
		if n > 0 && known.fit == w.fit && known.by.Kind() == w.by.Kind() {
			if p := percent(w.by, known.by); p >= 50 && p <= 200 {
				return true
			}
		}
	}
	return false
}

func (c *checker) unlikeDecimals(cell *cell) {
	toks := tokens(cell.text)
	if cell.fixed || cell.second || len(toks) != 2 || strings.ContainsAny(cell.text, "+±") {
		return
	}
	a, b := cell.text[toks[0].from:toks[0].to], cell.text[toks[1].from:toks[1].to]
	if decimals(a) == decimals(b) || !strings.ContainsAny(a, ".,") || !strings.ContainsAny(b, ".,") {
		return
	}
	c.report("decimals", a+" and "+b+" are printed with different decimals: a digit may be lost", nil, nil, cell)
}

// Figures of our own: of how many lines, in percent, both cells must be printed
// alike, and of how many lines, for one that is not to be odd.
const (
	alikeShare = 95
	alikeLines = 12
)

// fineness tells of a line whose service limit is not printed with the decimals of
// its new limits, in a book that does so nearly everywhere. Many manuals print
// wear limits more coarsely; in those it says nothing.
func (c *checker) fineness(s *sheet, asNew, worn *cell) {
	if u := &c.usual; u.pairs < alikeLines || u.alike*100 < u.pairs*alikeShare || sameDecimals(asNew, worn) {
		return
	}
	c.report("decimals", worn.text+" and "+asNew.text+" are printed with different decimals, and nearly all lines have both alike: a digit may be lost or too many", nil, nil, worn, asNew)
}

// sameDecimals tells whether the finest figures of two cells have the same
// decimals, where both have any.
func sameDecimals(a, b *cell) bool {
	x, y := a.decimals(), b.decimals()
	return x == y || x == 0 || y == 0
}

// reversed tells of a range from large to small, which is legitimate; a
// misplaced point makes one too.
func (c *checker) reversed(cell *cell) {
	toks := tokens(cell.text)
	if cell.isWorn() || cell.second || cell.fixed || cell.sheet.n.Fit && cell.sheet.line.Judges == book.Fit || len(toks) != 2 || !cell.Min.Set || !cell.Max.Set {
		return
	}
	n := cell.sheet.n.Format
	n.Unit = cell.unit
	for _, t := range toks {
		if t.sign < t.from || t.letter < len(cell.text) && letterLT(cell.text[t.letter]) {
			return
		}
	}
	first, _, err := n.Figure(cell.text[toks[0].from:toks[0].to])
	if err == nil && first == cell.Max.At && cell.Max.At != cell.Min.At {
		c.report("range-reversed", "the range is printed from large to small", nil, nil, cell)
	}
}

// equal tells a service limit that is the new limit.
func (s *sheet) equal(asNew, worn *cell) bool {
	return s.line.Limit.Kind == limit.Absolute && (s.n.Held != limit.High && worn.Min.Set && worn.Min == asNew.Min && !worn.Max.Set ||
		s.n.Held != limit.Low && worn.Max.Set && worn.Max == asNew.Max && !worn.Min.Set)
}

// isAmount tells a service figure that can't be a size: it is less than a
// tenth of new.
func (s *sheet) isAmount(asNew, worn *cell) bool {
	size, ok := s.size()
	if !ok {
		return false
	}
	at := worn.Max
	if !at.Set {
		at = worn.Min
	}
	return at.Set && at.At.Sign() >= 0 && percent(at.At, size) < 10 && at.At.Kind() == size.Kind()
}

func (c *checker) amount(s *sheet, asNew, worn *cell) {
	var mends []Mend
	for _, base := range []string{"min", "max"} {
		mends = append(mends, Mend{Cell: worn.public(), New: "wear " + worn.text + " from " + base, How: "an amount of wear", Why: []string{"the manual must say from which end it is counted"}})
	}
	c.report("service-is-amount", worn.text+" is far from the size, "+asNew.text+": an amount of wear?", nil, mends, worn, asNew)
}

// inside tells of a service limit inside new, or on the wrong side of it.
func (c *checker) inside(s *sheet, asNew, worn *cell) {
	where := "lies inside the new limits"
	at, edge := side{worn, true}, side{asNew, true}
	if s.n.Held != limit.High && worn.Min.Set && asNew.Min.Set && worn.Min.At.Cmp(asNew.Min.At) > 0 {
		at, edge = side{worn, false}, side{asNew, false}
	}
	if other := (side{asNew, !at.max}).edge(); other.Set {
		if cmp := at.edge().At.Cmp(other.At); at.max && cmp < 0 || !at.max && cmp > 0 {
			where = "lies on the wrong side of the new limits"
		}
	}
	sum := []string{c.clearance(worn, at.edge().At) + map[bool]string{true: " is less than ", false: " is more than "}[at.max] + c.clearance(asNew, edge.edge().At) + ", " + c.figure(worn, abs(minus(at.edge().At, edge.edge().At))) + " apart"}
	c.report("service-inside", "the service limit "+where, sum, c.mendOrder(s, asNew, worn), worn, asNew)
}

// mendOrder looks for changes of either cell after which the line agrees with
// itself: those that a sum it is in asks for, and those that allow as much wear
// as other lines do.
func (c *checker) mendOrder(s *sheet, asNew, worn *cell) []Mend {
	all := append(c.mendWorn(s, worn, 1), c.mendWorn(s, asNew, 1)...)
	for _, m := range c.exchanges(nil, []*cell{worn}) {
		if m.mended > 1 { // both rows, or one and a sum
			all = append(all, m)
		}
	}
	return likeliest(all)
}

// misscaled tells a change of the point or of a nought, of a service limit that is
// so far from new that it is no size of the thing: after it the wear allowed is a
// usual share of new, though no other line allows just as much.
func (s *sheet) misscaled(w rewrite, asNew, was limit.Range) bool {
	switch w.how {
	case "the point was moved", "the point was lost", "a nought too many", "a nought was dropped":
	default:
		return false
	}
	worn := s.worn()
	printed, base := was.Max, asNew.Max
	now := worn.Max
	if !printed.Set || s.n.Held == limit.Low {
		printed, base, now = was.Min, asNew.Min, worn.Min
	}
	if !printed.Set || !base.Set || !now.Set || printed.At.Sign() <= 0 || base.At.Sign() <= 0 || now.At.Sign() <= 0 {
		return false
	}
	if p := percent(printed.At, base.At); p <= 100*scaleTimes && p >= 100/scaleTimes {
		return false
	}
	p := percent(now.At, base.At)
	if s.line.IsClearance() {
		return p < 100*scaleTimes && !s.isFar()
	}
	return p > 100-scaleShare && p < 100+scaleShare && !s.isFar()
}

// mendWorn is that for one cell; least is how much each mends anyway.
func (c *checker) mendWorn(s *sheet, cell *cell, least int) (all []Mend) {
	asNew, worn := s.asNew(), s.worn()
	before := stateOf(s)
	seen := map[string]bool{}
	for _, t := range tokens(cell.text) {
		rewrites := c.wanted(cell, t)
		asked := len(rewrites)
		for i, w := range append(rewrites, cell.edits(t)...) {
			if seen[w.text] {
				continue
			}
			seen[w.text] = true
			text, was := cell.text, cell.Range
			good := cell.read(w.text) && s.ordered() && !s.equal(asNew, worn) && (i < asked || c.usual.hasAllowance(s) || cell == worn && s.misscaled(w, asNew.Range, was)) && (cell != asNew || !tooWide(asNew) || s.line.IsClearance())
			cell.text, cell.Range = text, was
			if good {
				if m, ok := c.try(nil, least, cell, w, before); ok {
					all = append(all, m)
				}
			}
		}
	}
	return all
}

// wanted returns the texts of a cell that a sum it is in asks for.
func (c *checker) wanted(cell *cell, t token) (all []rewrite) {
	for _, r := range cell.sheet.of {
		for _, term := range r.terms {
			if term.cell != cell {
				continue
			}
			gap, _ := r.gap()
			if by, err := gap.Scaled(-1, int64(term.times)); err == nil {
				if want, err := term.edge().At.Plus(1, by); err == nil {
					all = append(all, cell.rewrites(t, want, false)...)
				}
			}
		}
	}
	return all
}

// hasAllowance tells whether other lines of the book allow as much wear.
func (u *usual) hasAllowance(s *sheet) bool {
	a, ok := s.allowance()
	return ok && a.by.Sign() > 0 && u.allowances[a] > 0
}

// isFar tells an allowance that is very large, beside the new limits and beside
// the size; of a clearance beside its most as new.
func (s *sheet) isFar() bool {
	if s.line.IsClearance() {
		return s.isFarClearance()
	}
	size, ok := s.size()
	a, ok2 := s.allowance()
	if !ok || !ok2 {
		return false
	}
	w, ok := s.asNew().width()
	if !ok || w.by.Sign() <= 0 || percent(a.by, w.by) < farTimes*100 {
		return false
	}
	share, err := a.by.Scaled(farShare, 1)
	return err == nil && share.Cmp(size) >= 0
}

// isFarClearance is that of a clearance. One that is hardly any as new says nothing:
// many times of next to nothing is little.
func (s *sheet) isFarClearance() bool {
	asNew, worn := s.asNew(), s.worn()
	if asNew == nil || worn == nil || !asNew.Max.Set || !worn.Max.Set {
		return false
	}
	least, _, err := (quantity.Format{Unit: quantity.Inch}).Figure("0.001")
	if err != nil || asNew.Max.At.Kind() != least.Kind() || asNew.Max.At.Cmp(least) < 0 || percent(worn.Max.At, asNew.Max.At) < farClearance*100 {
		return false
	}
	w, ok := asNew.width()
	return !ok || w.by.Sign() <= 0 || percent(worn.Max.At, w.by) >= farClearance*100
}

// far tells of such an allowance.
func (c *checker) far(s *sheet, asNew, worn *cell) {
	if !s.isFar() {
		return
	}
	a, _ := s.allowance()
	w, _ := asNew.width()
	var mends []Mend
	before := stateOf(s)
	for _, t := range tokens(worn.text) {
		for _, e := range worn.edits(t) {
			text, was := worn.text, worn.Range
			good := worn.read(e.text) && s.ordered() && (c.usual.hasAllowance(s) || s.misscaled(e, asNew.Range, was))
			worn.text, worn.Range = text, was
			if good {
				if m, ok := c.try(nil, 0, worn, e, before); ok {
					mends = append(mends, m)
				}
			}
		}
	}
	beside := "the new limits, which are " + c.figure(asNew, w.by) + " wide"
	if s.line.IsClearance() {
		beside = "the most as new, " + c.clearance(asNew, asNew.Max.At)
	}
	c.report("service-far", "the wear allowed, "+c.figure(worn, a.by)+", is very large beside "+beside, nil, likeliest(mends), worn, asNew)
}
