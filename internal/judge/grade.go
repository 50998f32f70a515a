package judge

import (
	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// grade finds the tier that the ends meet: the one that the worst figures
// which the readings allow meet, where the best do not meet another.
func (v *Verdict) grade(ends span) {
	l := v.Line
	best, worst := v.tiers(ends)
	v.Tier, v.Best = worst, best
	var grade Grade
	switch {
	case v.gradeAt(best) != v.gradeAt(worst) && v.gradeAt(worst) == Beyond, best == len(v.Limit.Tiers) && v.partsHeld(ends):
		if v.Open() {
			// Of a mean or a fit with a bracket nothing can be said; but what
			// is beyond at its best stays beyond.
			return
		}
		v.Asks = append(v.Asks, Ask{Kind: Undecided})
		return
	case worst < len(v.Limit.Tiers):
		grade = v.gradeAt(worst)
	case v.inDoubt(ends):
		v.Asks = append(v.Asks, Ask{Kind: Hold})
	default:
		grade = Beyond
	}
	v.SoFar = grade
	if best != worst && v.Action() != "" {
		v.Asks = append(v.Asks, Ask{Kind: Undecided}) // what is to be done is not
	}
	if !v.Open() || grade == Beyond && l.OnlyWorsens() {
		v.Grade = grade
	}
}

// inDoubt tells whether what is beyond the stricter reading of a held limit is
// within the more generous one.
func (v *Verdict) inDoubt(ends span) bool {
	if v.Limit.Held == nil {
		return false
	}
	surely, _ := ends.meets(*v.Limit.Held, v.Held)
	return surely
}

// partsHeld tells whether the more generous reading of a held limit parts the
// figures that the readings allow.
func (v *Verdict) partsHeld(ends span) bool {
	if v.Limit.Held == nil {
		return false
	}
	surely, maybe := ends.meets(*v.Limit.Held, v.Held)
	return surely != maybe
}

// gradeAt is what a tier grades by its name: new is new, a band to rework is not
// to be used as it is, every other tier may be used; beyond them all is beyond.
func (v *Verdict) gradeAt(tier int) Grade {
	switch {
	case tier == len(v.Limit.Tiers), v.Limit.Tiers[tier].Name == "rework":
		return Beyond
	case v.Limit.Tiers[tier].Name == "new":
		return New
	}
	return Serviceable
}

// tiers returns the best and the worst tier that the figures which the readings
// allow meet: one and the same where the readings are figures.
func (v *Verdict) tiers(ends span) (best, worst int) {
	if !ends.between {
		t := v.Limit.Tier(ends.wide(), v.Held)
		return t, t
	}
	worst, best = len(v.Limit.Tiers), len(v.Limit.Tiers)
	for i := len(v.Limit.Tiers) - 1; i >= 0; i-- {
		surely, maybe := ends.meets(v.Limit.Tiers[i].Range, v.Held)
		if surely {
			worst = i
		}
		if maybe {
			best = i
		}
	}
	return best, worst
}

// allowance works out which end stands worse and how much of the allowance
// between the first and the last limit is used there. Where the manual leaves
// two readings of the limit open there is no saying how much.
func (v *Verdict) allowance() {
	tiers := v.Limit.Tiers
	if v.Between {
		v.Worse = v.Held
		return
	}
	if v.SoFar == NoGrade && !v.asks(Hold) {
		return
	}
	first, last := &tiers[0].Range, &tiers[len(tiers)-1].Range
	used := func(side limit.Side) (percent int64, ok bool) {
		value, from, to := v.Ends.High, first.Max, last.Max
		if side == limit.Low {
			value, from, to = v.Ends.Low, first.Min, last.Min
		}
		if len(tiers) < 2 || v.Action() != "" || v.Limit.Held != nil || !from.Set || !to.Set || from.At == to.At {
			return 0, false
		}
		return quantity.Percent(value, from.At, to.At), true
	}
	if v.Worse = v.Held; v.Worse != limit.Both {
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
func (v *Verdict) betterThanNew() bool {
	if v.Limit.Tiers[0].Name != "new" || v.Between {
		return false
	}
	r := v.Limit.Tiers[0].Range
	switch v.Held {
	case limit.Low:
		return !r.AtMost(v.Ends.High)
	case limit.High:
		return v.Line.Judges == book.Size && !r.AtLeast(v.Ends.Low)
	}
	return false
}

// By returns by how much the worse end is beyond the last tier; ok is false
// where it is not.
func (v *Verdict) By() (by quantity.Figure, ok bool) {
	last := v.last()
	switch {
	case v.SoFar != Beyond || !v.Measured || v.Between || v.Wrong != "" || v.Tier < len(v.Limit.Tiers):
		return by, false
	case v.Worse == limit.Low:
		return excess(last.Min.At, v.Ends.Low), last.Min.Set
	}
	return excess(v.Ends.High, last.Max.At), last.Max.Set
}
