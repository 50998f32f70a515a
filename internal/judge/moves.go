package judge

import (
	"slices"

	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// move makes the limits those that go with the other reading's value: the
// greatest one counts. Where that is a bracket the limits are those of the
// least that it can be, and the limits of the most are returned beside. It
// returns false while the other is not measured.
func (v *Verdict) move(at int, here Here) (generous *limit.Limit, ok bool) {
	m := v.Line.Moves
	with, measured := sizeSpan(m.Sites[at], here)
	if !measured {
		return nil, false
	}
	from := with.high.lo
	from.Open = false // where it is not reached the limits go further than its own
	least, err := movedBy(v.Limit, m, from)
	if err != nil {
		v.Asks = append(v.Asks, Ask{Kind: Wide})
		return nil, false
	}
	most, err := movedBy(v.Limit, m, with.high.hi)
	if err != nil {
		v.Asks = append(v.Asks, Ask{Kind: Wide})
		return nil, false
	}
	if !with.high.hi.Set {
		most = withoutMax(v.Limit)
	}
	v.Limit = least
	if with.between {
		return most, true
	}
	return nil, true
}

// withoutMax returns a limit with no upper edges.
func withoutMax(l *limit.Limit) *limit.Limit {
	free := *l
	free.Tiers = slices.Clone(l.Tiers)
	for i := range free.Tiers {
		free.Tiers[i].Range.Max = limit.Edge{}
	}
	if l.Held != nil {
		free.Held = &limit.Range{Min: l.Held.Min}
	}
	return &free
}

// movedBy returns a limit with its upper edges moved as far as goes with a bound
// of the other reading; one that is not set moves nothing. Where it is not
// reached itself, what is at the limits is out.
func movedBy(l *limit.Limit, m *book.Moves, bound reading.Bound) (*limit.Limit, error) {
	if !bound.Set {
		return l, nil
	}
	over, err := bound.At.Plus(-1, m.From)
	if err != nil || over.Sign() <= 0 {
		return l, err
	}
	by, err := over.Times(m.By)
	if err != nil {
		return nil, err
	}
	moved, err := l.Shifted(by)
	if err != nil {
		return nil, err
	}
	for i := range moved.Tiers {
		r := &moved.Tiers[i].Range
		r.Min, r.Max.Open = l.Tiers[i].Range.Min, r.Max.Open || bound.Open
	}
	if h := moved.Held; h != nil {
		h.Min, h.Max.Open = l.Held.Min, h.Max.Open || bound.Open
	}
	return &moved, nil
}

// gradeMoved withdraws a grade that the more generous limits would not give.
func (v *Verdict) gradeMoved(ends span, generous *limit.Limit) {
	other := Verdict{Line: v.Line, Limit: generous, Held: v.Held, Ends: v.Ends, Missing: v.Missing}
	other.grade(ends)
	switch {
	case other.SoFar == New && v.SoFar == Serviceable:
		v.Best = other.Best
	case other.SoFar != v.SoFar:
		v.Grade, v.SoFar = NoGrade, NoGrade
		if !v.asks(Undecided) {
			v.Asks = append(v.Asks, Ask{Kind: Undecided})
		}
	}
}

// choose finds which of the selected parts bring the fit into the narrowest
// tier that any brings it to, and returns the ends with the first of them; where
// none suits, with the one that is least out.
func (v *Verdict) choose(ends span) span {
	best, bestTier := ends, len(v.Limit.Tiers)+1
	for i, c := range v.Line.Choices {
		with := ends.less(c.Size)
		switch _, t := v.tiers(with); {
		case t < bestTier, t == bestTier && t == len(v.Limit.Tiers) && v.out(with) < v.out(best):
			best, bestTier, v.Picks = with, t, []int{i}
		case t == bestTier:
			v.Picks = append(v.Picks, i)
		}
	}
	if bestTier == len(v.Limit.Tiers) {
		v.Picks = nil
	}
	return best
}

// out is how far a span of lengths is out of the last tier, on the side where
// it is further, in tenths of a nanometre.
func (v *Verdict) out(s span) int64 {
	e, last := s.wide(), v.last()
	over := func(a, b quantity.Figure) int64 {
		d, _ := excess(a, b).Length()
		return d.TenthsOfNanometre()
	}
	most := int64(0)
	if last.Min.Set && e.Low.Kind() == last.Min.At.Kind() {
		most = max(most, over(last.Min.At, e.Low))
	}
	if last.Max.Set && e.High.Kind() == last.Max.At.Kind() {
		most = max(most, over(e.High, last.Max.At))
	}
	return most
}
