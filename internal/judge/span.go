package judge

import (
	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/metrology/fit"
	"tenths/metrology/form"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// An interval is between which figures one end lies. For a size both are the
// figure itself.
type interval struct{ lo, hi reading.Bound }

// A span is what the readings of an instance come to: between which figures its
// low and its high end lie.
type span struct {
	low, high interval
	between   bool // some reading was no single figure
	// apart is how far apart the two ends are at least, whatever the truth is:
	// each may meet its limit by itself, and both not together.
	apart reading.Bound
}

func exactly(low, high quantity.Figure) span {
	l, h := reading.Bound{At: low, Set: true}, reading.Bound{At: high, Set: true}
	return span{low: interval{l, l}, high: interval{h, h}}
}

// wide returns the ends the furthest apart that the readings allow; where one
// is not bounded the other figure known of it stands in.
func (s span) wide() limit.Ends {
	e := limit.Ends{Low: s.low.lo.At, High: s.high.hi.At}
	if !s.low.lo.Set {
		e.Low = s.low.hi.At
	}
	if !s.high.hi.Set {
		e.High = s.high.lo.At
	}
	return e
}

// less returns the span with a size taken off all of it.
func (s span) less(size quantity.Length) span {
	off := func(b reading.Bound) reading.Bound {
		if b.Set {
			b.At = excess(b.At, size.Figure())
		}
		return b
	}
	s.low = interval{off(s.low.lo), off(s.low.hi)}
	s.high = interval{off(s.high.lo), off(s.high.hi)}
	return s
}

// meets tells whether the range is surely met on the sides held, whatever the
// truth is, and whether it may be met.
func (s span) meets(r limit.Range, held limit.Side) (surely, maybe bool) {
	surely, maybe = true, true
	if held != limit.High {
		surely = surely && atLeast(r, s.low.lo, true)
		maybe = maybe && atLeast(r, s.low.hi, false)
	}
	if held != limit.Low {
		surely = surely && atMost(r, s.high.hi, true)
		maybe = maybe && atMost(r, s.high.lo, false)
	}
	if held == limit.Both && r.Min.Set && r.Max.Set && s.apart.Set {
		c := s.apart.At.Cmp(excess(r.Max.At, r.Min.At))
		maybe = maybe && (c < 0 || c == 0 && !s.apart.Open && !r.Min.Open && !r.Max.Open)
	}
	return surely, maybe
}

// atLeast tells whether the truth, which is bounded by b, meets the range's
// lower edge: all of it where b is the least it can be, some of it where b is
// the most.
func atLeast(r limit.Range, b reading.Bound, all bool) bool {
	if !r.Min.Set || !b.Set {
		return !r.Min.Set || !all
	}
	c := b.At.Cmp(r.Min.At)
	if c != 0 {
		return c > 0
	}
	if all {
		return !r.Min.Open || b.Open
	}
	return !r.Min.Open && !b.Open
}

// atMost is atLeast for the upper edge.
func atMost(r limit.Range, b reading.Bound, all bool) bool {
	if !r.Max.Set || !b.Set {
		return !r.Max.Set || !all
	}
	c := b.At.Cmp(r.Max.At)
	if c != 0 {
		return c < 0
	}
	if all {
		return !r.Max.Open || b.Open
	}
	return !r.Max.Open && !b.Open
}

// bounds returns what a reading says of the truth.
func bounds(r *reading.Reading) interval {
	if r.Exact() {
		b := reading.Bound{At: r.Value, Set: true}
		return interval{b, b}
	}
	return interval{r.Low, r.High}
}

// spanOf returns what the readings of one instance come to; measured is false
// where there are not yet enough of them for any figure.
func spanOf(l *book.Line, inst *book.Instance, here Here) (s span, measured bool, err error) {
	switch l.Judges {
	case book.Size:
		if l.IsMean() {
			return meanSpan(inst.Sites, here)
		}
		s, measured = sizeSpan(inst.Sites[0], here)
		return s, measured, nil
	case book.Fit:
		s, measured = fitSpan(l, inst, here)
		return s, measured, nil
	case book.Difference:
		return differenceSpan(l, inst, here)
	case book.MeanOf:
		return meanSpan(inst.Sites, here)
	case book.Spread:
		return spreadSpan(inst, here)
	case book.Total:
		return totalSpan(inst, here)
	case book.YesNo, book.SameStep:
		return s, false, nil // no figure
	}
	w, err := worstForm(l, inst.Sites[0], here)
	return exactly(w.figure, w.figure), w.found, err
}

// sizeSpan returns between which figures the smallest and the largest of a
// site's readings lie.
func sizeSpan(site *book.Site, here Here) (s span, measured bool) {
	for _, id := range site.Spots {
		list := here(id)
		for i := range list {
			r := &list[i]
			if r.Exact() && !s.between {
				if f := r.Value; !measured {
					s = exactly(f, f)
				} else {
					if f.Cmp(s.low.lo.At) < 0 {
						s.low.lo.At, s.low.hi.At = f, f
					}
					if f.Cmp(s.high.lo.At) > 0 {
						s.high.lo.At, s.high.hi.At = f, f
					}
				}
				measured = true
				continue
			}
			b := bounds(r)
			if !measured {
				s = span{low: b, high: b}
			} else {
				s.low.lo, s.low.hi = least(s.low.lo, b.lo, false), least(s.low.hi, b.hi, true)
				s.high.lo, s.high.hi = most(s.high.lo, b.lo, true), most(s.high.hi, b.hi, false)
			}
			s.between = s.between || !r.Exact()
			measured = true
		}
	}
	return s, measured
}

// least returns the lesser of two bounds. One that is not set bounds nothing:
// it wins as a lower bound and gives way as an upper one.
func least(a, b reading.Bound, upper bool) reading.Bound {
	if !a.Set || !b.Set {
		if a.Set == upper {
			return a
		}
		return b
	}
	switch c := a.At.Cmp(b.At); {
	case c < 0, c == 0 && a.Open == upper:
		return a
	}
	return b
}

// most is least for the greater.
func most(a, b reading.Bound, lower bool) reading.Bound {
	if !a.Set || !b.Set {
		if a.Set == lower {
			return a
		}
		return b
	}
	switch c := a.At.Cmp(b.At); {
	case c > 0, c == 0 && a.Open == lower:
		return a
	}
	return b
}

// fitSpan adds up a fit or stack.
func fitSpan(l *book.Line, inst *book.Instance, here Here) (s span, measured bool) {
	var space [4]fit.Term
	terms := space[:0]
	var parts [8]span
	between := false
	for i := range l.Terms {
		one, ok := sizeSpan(inst.Sites[i], here)
		if !ok {
			return s, false
		}
		parts[i] = one
		between = between || one.between
		small, _ := one.low.lo.At.Length()
		large, _ := one.high.hi.At.Length()
		terms = append(terms, fit.Term{Times: l.Terms[i].Times, Smallest: small, Largest: large})
	}
	if !between {
		sum := fit.Of(terms...)
		return exactly(sum.Tightest.Figure(), sum.Loosest.Figure()), true
	}
	nought := quantity.Length{}.Figure()
	s = exactly(nought, nought)
	for i := range l.Terms {
		s.add(l.Terms[i].Times, parts[i])
	}
	return s, true
}

// plus adds an interval, taken times times.
func (a interval) plus(times int, b interval) interval {
	lo, hi := b.lo, b.hi
	if times < 0 {
		lo, hi = hi, lo
	}
	return interval{sum(a.lo, times, lo), sum(a.hi, times, hi)}
}

// sum adds a bound taken times times; what is not bounded, or does not fit,
// bounds nothing.
func sum(a reading.Bound, times int, b reading.Bound) reading.Bound {
	if !a.Set || !b.Set {
		return reading.Bound{}
	}
	at, err := a.At.Plus(times, b.At)
	return reading.Bound{At: at, Set: err == nil, Open: a.Open || b.Open}
}

// means returns, for each spot of the sites that is read, what it says.
func means(sites []*book.Site, here Here) (all []span, between bool) {
	for _, s := range sites {
		for _, id := range s.Spots {
			at := book.Site{Feature: s.Feature, Spots: []book.SpotID{id}}
			if one, ok := sizeSpan(&at, here); ok {
				all = append(all, one)
				between = between || one.between
			}
		}
	}
	return all, between
}

// meanSpan returns the mean over the spots read, taking of repeats the smallest
// for the low end and the largest for the high.
func meanSpan(sites []*book.Site, here Here) (s span, measured bool, err error) {
	all, between := means(sites, here)
	if len(all) == 0 {
		return s, false, nil
	}
	s.between = between
	for _, end := range []struct {
		to   *reading.Bound
		from func(*span) reading.Bound
	}{
		{&s.low.lo, func(one *span) reading.Bound { return one.low.lo }},
		{&s.low.hi, func(one *span) reading.Bound { return one.low.hi }},
		{&s.high.lo, func(one *span) reading.Bound { return one.high.lo }},
		{&s.high.hi, func(one *span) reading.Bound { return one.high.hi }},
	} {
		if *end.to, err = meanBound(all, end.from); err != nil {
			return s, false, err
		}
	}
	return s, true, nil
}

// meanBound returns the mean of one bound over the spots: none where one of
// them has none, open where one of them is.
func meanBound(all []span, of func(*span) reading.Bound) (b reading.Bound, err error) {
	figures := make([]quantity.Figure, 0, len(all))
	for i := range all {
		one := of(&all[i])
		if !one.Set {
			return reading.Bound{}, nil
		}
		b.Open = b.Open || one.Open
		figures = append(figures, one.At)
	}
	b.At, err = quantity.Mean(figures)
	b.Set = err == nil
	return b, err
}

// differenceSpan adds up the means of sites or of their planes, with signs.
func differenceSpan(l *book.Line, inst *book.Instance, here Here) (s span, measured bool, err error) {
	nought := quantity.Length{}.Figure()
	s = exactly(nought, nought)
	for i, t := range l.Terms {
		one, ok, err := meanSpan(inst.Sites[i:i+1], here)
		if err != nil || !ok {
			return s, false, err
		}
		s.add(t.Times, one)
	}
	return s, true, nil
}

// add adds a part of a signed sum: of what is taken off, the largest makes the
// low end and the smallest the high.
func (s *span) add(times int, one span) {
	low, high := one.low, one.high
	if times < 0 {
		low, high = high, low
	}
	s.low, s.high = s.low.plus(times, low), s.high.plus(times, high)
	s.between = s.between || one.between
	s.spread(times, one)
}

// spread notes how far apart the ends of one part of a sum are at least.
func (s *span) spread(times int, one span) {
	if one.high.lo.Set && one.low.hi.Set && one.high.lo.At.Cmp(one.low.hi.At) > 0 {
		apart := sum(one.high.lo, -1, one.low.hi)
		if !s.apart.Set {
			s.apart = sum(apart, -1, apart) // nought
		}
		s.apart = sum(s.apart, max(times, -times), apart)
	}
}

// spreadSpan returns the greatest less the smallest over a group: of readings
// at different spots, never two of one.
func spreadSpan(inst *book.Instance, here Here) (s span, measured bool, err error) {
	all, between := means(inst.Sites, here)
	if len(all) < 2 {
		return s, false, nil
	}
	// At most the widest two, as far apart as their readings allow; at least
	// the widest two as near. One that is not bounded leaves the most open.
	nought, _, err := quantity.Format{Unit: inst.Sites[0].Feature.Unit}.Figure("0")
	if err != nil {
		return s, false, err
	}
	s = exactly(nought, nought)
	s.between = between
	for i := range all {
		for k := range all {
			if i == k {
				continue
			}
			near := sum(all[i].high.lo, -1, all[k].low.hi)
			far := sum(all[i].high.hi, -1, all[k].low.lo)
			if near.Set {
				s.high.lo = most(s.high.lo, near, true)
			}
			s.high.hi = most(s.high.hi, far, false)
		}
	}
	s.low = s.high
	return s, true, nil
}

// totalSpan adds up a group, each place at its smallest for the low end and its
// largest for the high.
func totalSpan(inst *book.Instance, here Here) (s span, measured bool, err error) {
	for i, site := range inst.Sites {
		one, ok := sizeSpan(site, here)
		if !ok {
			return s, false, nil
		}
		if i == 0 {
			s = one
			s.spread(1, one)
			continue
		}
		s.add(1, one)
	}
	return s, true, nil
}

// A formWorst is the worst row of a site: what it comes to, and the spots that
// made it.
type formWorst struct {
	found     bool
	figure    quantity.Figure
	high, low book.SpotID
	spread    quantity.Length
}

// worstForm looks at each row of a site: the directions of a plane, or for a
// taper the planes of a direction. Only figures have form: a bracket has none.
func worstForm(l *book.Line, s *book.Site, here Here) (w formWorst, err error) {
	across := s.Across()
	planes := len(s.Spots) / across
	rows, length, step, next := planes, across, 1, across
	if l.Judges == book.Taper || l.Judges == book.TaperRate {
		rows, length, step, next = across, planes, across, 1
	}
	var space [16]form.Spot
	for r := range rows {
		row := space[:0]
		for i := range length {
			var at form.Spot
			list := here(s.Spots[r*next+i*step])
			for k := range list {
				if size, ok := list[k].Value.Length(); ok && list[k].Exact() {
					at.Add(size)
				}
			}
			row = append(row, at)
		}
		var d form.Spread
		var f quantity.Figure
		switch l.Judges {
		case book.OutOfRound:
			d = form.OutOfRound(row)
			f = d.Size.Figure()
		case book.Taper:
			d = form.Taper(row)
			f = d.Size.Figure()
		case book.TaperRate:
			f, d, err = form.TaperRate(row, s.Along)
		case book.RunOut:
			d = form.RunOut(row)
			f = d.Size.Figure()
		case book.Bend:
			d = form.RunOut(row)
			f, err = form.Bend(d.Size)
		default:
			panic("BUG: no form in a line that judges a " + l.Judges.String())
		}
		if err != nil {
			return formWorst{}, err
		}
		if d.Found && (!w.found || f.Cmp(w.figure) > 0) {
			w = formWorst{true, f, s.Spots[r*next+d.High*step], s.Spots[r*next+d.Lo*step], d.Size}
		}
	}
	return w, nil
}
