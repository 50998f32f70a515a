// Package judge holds readings against a book: for every instance of every
// line, a verdict with its sum.
//
// Judging is a pure function of a line and the readings that stand at its
// spots. Who says which readings those are is the caller, so "what if" is the
// same function with other readings. No verdict passes through floating point.
package judge

import (
	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/metrology/fit"
	"tenths/metrology/form"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Grade is how a line stands, as far as is already certain.
type Grade uint8

// The grades. NoGrade is for what is not certain yet: spots are open, or a
// person must first say what is meant.
const (
	NoGrade Grade = iota
	New
	Serviceable
	Beyond
)

var gradeNames = [...]string{"none", "new", "serviceable", "beyond"}

func (g Grade) String() string { return gradeNames[g] }

// An AskKind says why a person is asked.
type AskKind uint8

// Why a person is asked. An ask never changes a reading or a verdict.
const (
	Settle AskKind = iota + 1 // more than one live reading at one spot: strike all but one
	Query                     // better than new on the side that does not wear: is it misread?
	Hold                      // the limit has two readings, and they disagree about this value
	Wide                      // the figures are too large to be added
)

var askNames = [...]string{"", "settle", "query", "hold", "range"}

func (k AskKind) String() string { return askNames[k] }

// An Ask is one thing that a person must look at.
type Ask struct {
	Kind AskKind
	Spot book.SpotID // for Settle
}

// A Verdict is how one instance of a line stands.
type Verdict struct {
	Line *book.Line
	At   int // which instance

	Grade Grade
	SoFar Grade // while spots are open: what the grade would be on the readings so far

	Measured bool       // there are readings enough for the ends
	Ends     limit.Ends // smallest and largest size, tightest and loosest fit; a form has one figure
	Worse    limit.Side // Low or High: the end that stands worse
	Missing  []book.SpotID
	Asks     []Ask

	HasAllowance bool
	Allowance    int64 // percent of the allowance used on the worse side, rounded down; never below 0
}

// Open tells whether spots are still to be measured.
func (v *Verdict) Open() bool { return len(v.Missing) > 0 }

// Here returns the live readings at a spot.
type Here func(book.SpotID) []reading.Reading

// Readings files readings by their spot.
type Readings struct {
	start []int32
	list  []reading.Reading
}

// File sorts readings by spot for a book; of readings at one spot the order
// stays.
func File(b *book.Book, all []reading.Reading) *Readings {
	r := &Readings{start: make([]int32, len(b.Spots)+2), list: make([]reading.Reading, len(all))}
	for i := range all {
		r.start[all[i].Spot+2]++
	}
	for i := 2; i < len(r.start); i++ {
		r.start[i] += r.start[i-1]
	}
	for i := range all {
		next := &r.start[all[i].Spot+1]
		r.list[*next] = all[i]
		*next++
	}
	return r
}

// At returns the readings at a spot. It is a [Here].
func (r *Readings) At(id book.SpotID) []reading.Reading {
	return r.list[r.start[id]:r.start[id+1]]
}

// Book judges every instance of every line, in the order of the book.
func Book(b *book.Book, here Here) []Verdict {
	n := 0
	for _, l := range b.Lines {
		n += len(l.Instances)
	}
	all := make([]Verdict, 0, n)
	for _, l := range b.Lines {
		for at := range l.Instances {
			all = append(all, Line(l, at, here))
		}
	}
	return all
}

// Line judges one instance of a line on the readings that here returns.
//
// While spots are open the grade is none, or beyond where that is already
// certain: one more reading can only make an extreme worse. A mean can still go
// either way.
func Line(l *book.Line, at int, here Here) Verdict {
	v := Verdict{Line: l, At: at}
	inst := &l.Instances[at]
	for _, id := range inst.Spots {
		switch n := len(here(id)); {
		case n == 0:
			v.Missing = append(v.Missing, id)
		case n > 1:
			v.Asks = append(v.Asks, Ask{Kind: Settle, Spot: id})
		}
	}
	var err error
	v.Ends, v.Measured, err = ends(l, inst, here)
	if err != nil {
		v.Measured = false
		v.Asks = append(v.Asks, Ask{Kind: Wide})
	}
	if !v.Measured {
		return v
	}
	grade := Grade(0)
	switch t := l.Limit.Tier(v.Ends, l.Held); {
	case t < len(l.Limit.Tiers):
		grade = Serviceable
		if l.Limit.Tiers[t].Name == "new" {
			grade = New
		}
	case l.Limit.InDoubt(v.Ends, l.Held):
		v.Asks = append(v.Asks, Ask{Kind: Hold})
	default:
		grade = Beyond
	}
	v.SoFar = grade
	certain := !v.Open() || grade == Beyond && !l.IsMean()
	if certain {
		v.Grade = grade
	}
	v.allowance()
	if betterThanNew(l, v.Ends) {
		v.Asks = append(v.Asks, Ask{Kind: Query})
	}
	return v
}

// ends returns what the readings of one instance come to; measured is false
// where there are not yet enough of them for any figure.
func ends(l *book.Line, inst *book.Instance, here Here) (e limit.Ends, measured bool, err error) {
	switch l.Judges {
	case book.Size:
		if l.IsMean() {
			return meanEnds(inst.Sites[0], here)
		}
		return sizeEnds(inst.Sites[0], here)
	case book.Fit:
		return fitEnds(l, inst, here)
	default:
		return formEnds(l, inst.Sites[0], here)
	}
}

// sizeEnds returns the smallest and the largest reading.
func sizeEnds(s *book.Site, here Here) (e limit.Ends, measured bool, err error) {
	for _, id := range s.Spots {
		list := here(id)
		for i := range list {
			f := list[i].Value
			if !measured || f.Cmp(e.Low) < 0 {
				e.Low = f
			}
			if !measured || f.Cmp(e.High) > 0 {
				e.High = f
			}
			measured = true
		}
	}
	return e, measured, nil
}

// meanEnds returns the mean over the spots read, taking of repeats the
// smallest for the low end and the largest for the high.
func meanEnds(s *book.Site, here Here) (e limit.Ends, measured bool, err error) {
	var low, high []quantity.Figure
	for _, id := range s.Spots {
		at := book.Site{Feature: s.Feature, Spots: []book.SpotID{id}}
		if one, ok, _ := sizeEnds(&at, here); ok {
			low, high = append(low, one.Low), append(high, one.High)
		}
	}
	if len(low) == 0 {
		return e, false, nil
	}
	if e.Low, err = quantity.Mean(low); err != nil {
		return e, false, err
	}
	e.High, err = quantity.Mean(high)
	return e, err == nil, err
}

// fitEnds adds up a fit or stack.
func fitEnds(l *book.Line, inst *book.Instance, here Here) (e limit.Ends, measured bool, err error) {
	var space [4]fit.Term
	terms := space[:0]
	for i := range l.Terms {
		one, ok, _ := sizeEnds(inst.Sites[i], here)
		if !ok {
			return e, false, nil
		}
		small, _ := one.Low.Length()
		large, _ := one.High.Length()
		terms = append(terms, fit.Term{Times: l.Terms[i].Times, Smallest: small, Largest: large})
	}
	sum := fit.Of(terms...)
	return limit.Ends{Low: sum.Tightest.Figure(), High: sum.Loosest.Figure()}, true, nil
}

// formEnds returns the worst form error over the planes, or for a taper over
// the directions, of a site.
func formEnds(l *book.Line, s *book.Site, here Here) (e limit.Ends, measured bool, err error) {
	w, err := worstForm(l, s, here)
	if err != nil || !w.found {
		return e, false, err
	}
	return limit.Ends{Low: w.figure, High: w.figure}, true, nil
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
// taper the planes of a direction.
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
			for _, m := range here(s.Spots[r*next+i*step]) {
				size, _ := m.Value.Length()
				at.Add(size)
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
			f, d, err = form.TaperRate(row, s.Feature.Along)
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

// allowance works out which end stands worse and how much of the allowance
// between new and service limit is used there. Where the manual leaves two
// readings of the limit open there is no saying how much.
func (v *Verdict) allowance() {
	l := v.Line
	tiers := l.Limit.Tiers
	first, last := &tiers[0].Range, &tiers[len(tiers)-1].Range
	used := func(side limit.Side) (percent int64, ok bool) {
		value, from, to := v.Ends.High, first.Max, last.Max
		if side == limit.Low {
			value, from, to = v.Ends.Low, first.Min, last.Min
		}
		if len(tiers) < 2 || l.Limit.Held != nil || !from.Set || !to.Set || from.At == to.At {
			return 0, false
		}
		return quantity.Percent(value, from.At, to.At), true
	}
	if v.Worse = l.Held; v.Worse != limit.Both {
		v.Allowance, v.HasAllowance = used(v.Worse)
		return
	}
	low, hasLow := used(limit.Low)
	high, hasHigh := used(limit.High)
	v.Worse = limit.High
	switch outLow, outHigh := !last.AtLeast(v.Ends.Low), !last.AtMost(v.Ends.High); {
	case outLow && outHigh:
		if excess(last.Min.At, v.Ends.Low).Cmp(excess(v.Ends.High, last.Max.At)) > 0 {
			v.Worse = limit.Low
		}
	case outLow, !outHigh && hasLow && (!hasHigh || low > high):
		v.Worse = limit.Low
	}
	v.Allowance, v.HasAllowance = high, hasHigh
	if v.Worse == limit.Low {
		v.Allowance, v.HasAllowance = low, hasLow
	}
}

// excess returns a − b; nought where that does not fit, which lengths always
// do.
func excess(a, b quantity.Figure) quantity.Figure {
	d, err := a.Plus(-1, b)
	if err != nil {
		d, _ = a.Scaled(0, 1)
	}
	return d
}

// betterThanNew tells whether a used part is beyond new on the side that does
// not wear: few parts grow, so it is more often misread.
func betterThanNew(l *book.Line, e limit.Ends) bool {
	if l.Limit.Tiers[0].Name != "new" {
		return false
	}
	r := l.Limit.Tiers[0].Range
	switch l.Held {
	case limit.Low:
		return !r.AtMost(e.High)
	case limit.High:
		return l.Judges == book.Size && !r.AtLeast(e.Low)
	}
	return false
}

// By returns by how much the worse end is beyond the last tier; ok is false
// where it is not.
func (v *Verdict) By() (by quantity.Figure, ok bool) {
	last := v.Line.Limit.Tiers[len(v.Line.Limit.Tiers)-1].Range
	switch {
	case v.SoFar != Beyond:
		return by, false
	case v.Worse == limit.Low:
		return excess(last.Min.At, v.Ends.Low), last.Min.Set
	}
	return excess(v.Ends.High, last.Max.At), last.Max.Set
}
