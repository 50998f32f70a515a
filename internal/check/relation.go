package check

import (
	"slices"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A sort is what two or more cells must satisfy together.
type sort uint8

const (
	fitNew   sort = iota // the new limits of a fit, against those of its sizes
	fitWorn              // the service limit of a fit, against those of its sizes
	inUnits              // one edge in two units
	sameSize             // one edge in two rows
	stepEven             // one edge of a step, against the standard one moved
)

// A term is one edge, added so many times.
type term struct {
	side
	times int
}

// A relation is a sum of edges that should be nought. The first term is the
// one that the others make: of a fit, the fit.
type relation struct {
	sort  sort
	terms []term
	plus  quantity.Figure // added to the sum; the zero value adds nothing
	what  string          // tightest, loosest
}

// gap returns what the sum comes to; ok is false where an edge is not printed
// or the figures are too large.
func (r *relation) gap() (sum quantity.Figure, ok bool) {
	sum = r.plus
	for i, t := range r.terms {
		e := t.edge()
		if !e.Set {
			return sum, false
		}
		var err error
		if i == 0 && sum == (quantity.Figure{}) {
			sum, err = e.At.Scaled(int64(t.times), 1)
		} else {
			sum, err = sum.Plus(t.times, e.At)
		}
		if err != nil {
			return sum, false
		}
	}
	return sum, true
}

// slack is how much the printed digits can hide.
func (r *relation) slack() quantity.Figure {
	first := r.terms[0].cell
	if r.sort == inUnits {
		// One was converted from the other: it is off by half of its own last
		// digit at most, whichever it was.
		a, b := half(first.unit, r.figureDecimals(0)), half(r.terms[1].unit, r.figureDecimals(1))
		if a.Cmp(b) < 0 {
			return b
		}
		return a
	}
	fine, rest := first.sheet.decimals(), 0
	slack := quantity.Figure{}
	add := func(times int, f quantity.Figure) {
		if slack == (quantity.Figure{}) {
			slack, _ = f.Scaled(0, 1)
		}
		if more, err := slack.Plus(times, f); err == nil {
			slack = more
		}
	}
	for _, t := range r.terms[1:] {
		if t.unit != first.unit {
			add(max(t.times, -t.times), half(t.unit, t.cell.decimals()))
		} else {
			rest = max(rest, t.cell.decimals())
		}
	}
	if slack != (quantity.Figure{}) || rest > fine {
		add(1, half(first.unit, fine))
	} else {
		add(0, half(first.unit, fine))
	}
	return slack
}

// figureDecimals is how many decimals the very figure of a term is written
// with.
func (r *relation) figureDecimals(i int) int {
	t := r.terms[i]
	n := t.sheet.n.Format
	n.Unit = t.unit
	at := t.edge().At
	for _, tok := range tokens(t.text) {
		text := t.text[tok.from:tok.to]
		if f, _, err := n.Figure(text); err == nil && (f == at || f == at.Negative()) {
			return decimals(text)
		}
	}
	return t.cell.decimals()
}

// half is half a unit of that many decimals.
func half(u quantity.Unit, decimals int) quantity.Figure {
	one, _, err := quantity.Format{Unit: u}.Figure("1")
	if err != nil {
		return quantity.Figure{}
	}
	nought, _, _ := quantity.Format{Unit: u}.Figure("0")
	if one, err = one.Plus(-1, nought); err != nil {
		return quantity.Figure{}
	}
	by := int64(2)
	for range min(decimals, 12) {
		by *= 10
	}
	f, err := one.Scaled(1, by)
	if err != nil {
		return quantity.Figure{}
	}
	return f
}

// A level is how well a relation holds: a mend must lower none.
type level uint8

const (
	broken  level = iota
	tighter       // of service limits: legitimate
	holds
)

// level tells how well the relation holds. One that lacks an edge says nothing
// and holds.
func (r *relation) level() level {
	gap, ok := r.gap()
	switch {
	case !ok || gap.Sign() == 0:
		return holds
	case within(gap, r.slack()):
		return holds
	case r.sort == fitWorn && gap.Sign() < 0:
		return tighter // the fit less what the sizes make is below nought
	}
	return broken
}

func within(gap, slack quantity.Figure) bool {
	if gap.Sign() < 0 {
		gap = gap.Negative()
	}
	return gap.Kind() == slack.Kind() && gap.Cmp(slack) <= 0
}

// ordered tells whether the line's own cells agree: the service limit is not
// narrower than the new one on a side that it holds.
func (s *sheet) ordered() bool {
	asNew, worn := s.asNew(), s.worn()
	return asNew == nil || worn == nil || !s.cuts(asNew.Range, worn.Range) && !s.crossed(asNew.Range, worn.Range)
}

// crossed tells whether the least of one is above the most of the other, on a
// side that is held: then no figure meets both.
func (s *sheet) crossed(asNew, worn limit.Range) bool {
	above := func(least, most limit.Edge) bool {
		return least.Set && most.Set && least.At.Kind() == most.At.Kind() && least.At.Cmp(most.At) > 0
	}
	return s.n.Held != limit.Low && above(asNew.Min, worn.Max) || s.n.Held != limit.High && above(worn.Min, asNew.Max)
}

// cuts tells whether worn leaves out some of asNew on a side that is held.
func (s *sheet) cuts(asNew, worn limit.Range) bool {
	low := s.n.Held != limit.High && worn.Min.Set && asNew.Min.Set && asNew.Min.At.Kind() == worn.Min.At.Kind() && worn.Min.At.Cmp(asNew.Min.At) > 0
	high := s.n.Held != limit.Low && worn.Max.Set && asNew.Max.Set && asNew.Max.At.Kind() == worn.Max.At.Kind() && worn.Max.At.Cmp(asNew.Max.At) < 0
	return low || high
}

// relate finds what must agree with what.
func (c *checker) relate() {
	c.sizes = map[*book.Feature][]*sheet{}
	for _, s := range c.sheets {
		if l := s.line; l.Judges == book.Size && l.Terms[0].Feature.Unit.Kind() == quantity.LengthKind {
			c.sizes[l.Terms[0].Feature] = append(c.sizes[l.Terms[0].Feature], s)
		}
	}
	for _, s := range c.sheets {
		if s.line.Judges == book.Fit {
			for _, r := range c.relateFit(s) {
				join(r)
			}
		}
		c.relateUnits(s)
		c.relateSteps(s)
	}
}

// join notes a relation with every line that it is of.
func join(r *relation) *relation {
	for _, t := range r.terms {
		if s := t.sheet; !slices.Contains(s.of, r) {
			s.of = append(s.of, r)
		}
	}
	return r
}

// together tells whether two lines can be for one engine at one time.
func together(a, b *book.Line) bool {
	for name, words := range a.When {
		if other, ok := b.When[name]; ok && !slices.ContainsFunc(words, func(w string) bool { return slices.Contains(other, w) }) {
			return false
		}
	}
	if a.Replaces == b || b.Replaces == a {
		return false
	}
	if len(a.Serials) == 0 || len(b.Serials) == 0 {
		return true
	}
	for _, x := range a.Serials {
		for _, y := range b.Serials {
			if x.Meets(y) {
				return true
			}
		}
	}
	return false
}

// relateFit relates a fit to the sizes that it adds up. Where a size stands in
// several rows, it is related to those that agree, or disagree least.
func (c *checker) relateFit(s *sheet) []*relation {
	const most = 16
	choices := [][]*sheet{nil}
	for _, t := range s.line.Terms {
		var some []*sheet
		for _, size := range c.sizes[t.Feature] {
			l := size.line
			if !together(l, s.line) || size.asNew() == nil && size.worn() == nil {
				continue
			}
			if t.Plane != "" && len(l.Planes) > 0 && !slices.Contains(l.Planes, t.Plane) {
				continue
			}
			some = append(some, size)
		}
		if len(some) == 0 {
			return nil
		}
		var next [][]*sheet
		for _, head := range choices {
			for _, size := range some {
				if len(next) < most {
					next = append(next, append(slices.Clone(head), size))
				}
			}
		}
		choices = next
	}
	var best []*relation
	fewest := -1
	for _, sizes := range choices {
		all := fitRelations(s, sizes)
		wrong := 0
		for _, r := range all {
			switch r.level() {
			case broken:
				wrong += 2
			case tighter:
				wrong++
			}
		}
		if fewest < 0 || wrong < fewest {
			best, fewest = all, wrong
		}
	}
	return best
}

func fitRelations(s *sheet, sizes []*sheet) (all []*relation) {
	ends := []struct {
		max  bool
		what string
	}{{false, "tightest"}, {true, "loosest"}}
	if asNew := s.asNew(); asNew != nil && len(s.line.Choices) == 0 {
		for _, end := range ends {
			if r := addUp(fitNew, side{asNew, end.max}, s.line.Terms, sizes, (*sheet).asNew); r != nil {
				r.what = end.what
				all = append(all, r)
			}
			for _, mark := range marksOf(s.line.Terms) {
				if r := atStep(mark, side{asNew, end.max}, s.line.Terms, sizes); r != nil {
					r.what = end.what + " at step " + mark
					all = append(all, r)
				}
			}
		}
	}
	if worn := s.worn(); worn != nil && !worn.fixed && len(s.line.Choices) == 0 {
		if r := addUp(fitWorn, side{worn, true}, s.line.Terms, sizes, (*sheet).atWorst); r != nil {
			r.what = "loosest"
			all = append(all, r)
		}
	}
	return all
}

// addUp makes the relation of one end of a fit, nil where an edge is missing.
func addUp(sort sort, fit side, terms []book.Term, sizes []*sheet, of func(*sheet) *cell) *relation {
	r := &relation{sort: sort, terms: []term{{fit, 1}}}
	for i, t := range terms {
		e := side{of(sizes[i]), (t.Times > 0) == fit.max}
		if e.cell == nil {
			return nil
		}
		r.terms = append(r.terms, term{e, -t.Times})
	}
	if _, ok := r.gap(); !ok {
		return nil
	}
	return r
}

// atWorst is the cell that limits a used part; nil where the manual does not
// state it, or not from where the wear is counted.
func (s *sheet) atWorst() *cell {
	switch l := s.line.Limit; {
	case l.Kind == limit.None || l.Kind == limit.AsNew:
		return s.asNew()
	case l.Held != nil:
		return nil
	}
	return s.worn()
}

// marksOf lists the steps for which a size of the fit has limits of its own.
func marksOf(terms []book.Term) (all []string) {
	for _, t := range terms {
		for _, step := range t.Feature.Steps {
			if step.Mark != book.Standard && !slices.Contains(all, step.Mark) {
				all = append(all, step.Mark)
			}
		}
	}
	return all
}

// atStep makes the relation of one end of a fit whose parts are at a step. It
// is nil where no size has limits of its own there, or the shifts do not cancel
// out: then they do not run together.
func atStep(mark string, fit side, terms []book.Term, sizes []*sheet) *relation {
	r := &relation{sort: fitNew, terms: []term{{fit, 1}}}
	own := false
	var net, plus quantity.Figure
	add := func(to *quantity.Figure, times int, f quantity.Figure) {
		if *to == (quantity.Figure{}) {
			*to, _ = f.Scaled(0, 1)
		}
		if sum, err := to.Plus(times, f); err == nil {
			*to = sum
		}
	}
	for i, t := range terms {
		e := side{sizes[i].asNew(), (t.Times > 0) == fit.max}
		if step, ok := t.Feature.Step(mark); ok {
			add(&net, t.Times, step.Shift)
			if at := sizes[i].cell("steps." + mark + ".new"); at != nil {
				e.cell, own = at, true
			} else {
				add(&plus, -t.Times, step.Shift)
			}
		}
		if e.cell == nil {
			return nil
		}
		r.terms = append(r.terms, term{e, -t.Times})
	}
	r.plus = plus
	if _, ok := r.gap(); !ok || !own || net.Sign() != 0 {
		return nil
	}
	return r
}

// relateUnits relates the cells of the second printed unit to the first.
func (c *checker) relateUnits(s *sheet) {
	for _, second := range s.cells {
		if !second.second {
			continue
		}
		first := s.cell(second.name[len(alsoPrefix):])
		if first == nil {
			continue
		}
		for _, max := range []bool{false, true} {
			r := &relation{sort: inUnits, terms: []term{{side{first, max}, 1}, {side{second, max}, -1}}}
			if _, ok := r.gap(); ok {
				join(r)
			}
		}
	}
}

const alsoPrefix = "also."

// relateSteps relates a step's own limits to the standard ones, moved.
func (c *checker) relateSteps(s *sheet) {
	asNew := s.asNew()
	for _, step := range s.stepsOf() {
		own := s.cell("steps." + step.Mark + ".new")
		if own == nil || asNew == nil {
			continue
		}
		for _, max := range []bool{false, true} {
			r := &relation{sort: stepEven, terms: []term{{side{own, max}, 1}, {side{asNew, max}, -1}}, plus: step.Shift.Negative(), what: side{own, max}.end()}
			if _, ok := r.gap(); ok {
				join(r)
			}
		}
	}
}

func (s *sheet) stepsOf() []*book.Step {
	if s.line.Judges != book.Size {
		return nil
	}
	return s.line.Terms[0].Feature.Steps
}
