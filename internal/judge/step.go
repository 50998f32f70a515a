package judge

import (
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
)

// atStep finds the step that each site is marked and what follows: the limits
// of a size at that step, both sides of them for a reworked part, and whether
// mates may run together. It returns false where the mark is none of the
// feature's.
func (v *Verdict) atStep(inst *book.Instance, here Here) bool {
	l := v.Line
	reworked := false
	stepped := false
	for _, s := range inst.Sites {
		stepped = stepped || len(s.Feature.Steps) > 0
		for _, id := range s.Spots {
			list := here(id)
			for i := range list {
				reworked = reworked || list[i].Stage > 0
				stepped = stepped || list[i].Step != ""
			}
		}
	}
	if stepped {
		for _, s := range inst.Sites {
			mark, agree := markOf(s, here)
			v.Steps = append(v.Steps, mark)
			_, ok := s.Feature.Step(mark)
			if !agree || !ok && (len(s.Feature.Steps) > 0 || mark != book.Standard) {
				v.Asks = append(v.Asks, Ask{Kind: Mark, Text: mark})
				if found, measured, err := spanOf(l, inst, here); err == nil {
					v.show(found, measured)
				}
				return false
			}
		}
		if l.Judges == book.Size || l.Judges == book.MeanOf {
			if slices.ContainsFunc(v.Steps, func(mark string) bool { return mark != v.Steps[0] }) {
				// A mean over places at several steps has no limits of its own.
				v.Asks = append(v.Asks, Ask{Kind: Mark, Text: strings.Join(v.Steps, ", ")})
				return false
			}
			if at := l.AtStep[v.Steps[0]]; at != nil {
				v.Limit = at
			}
		}
		if l.Judges == book.Fit {
			v.Wrong = wrongMates(inst, v.Steps, here)
		}
	}
	if reworked && l.Judges == book.Size && l.Terms[0].Feature.Class != book.Dial {
		if both := l.Reworked[v.Limit]; both != nil {
			v.Limit, v.Held = both, limit.Both
		}
	}
	return true
}

// markOf returns the step that a site's readings say it is marked; agree is
// false where they say two.
func markOf(s *book.Site, here Here) (mark string, agree bool) {
	agree = true
	for _, id := range s.Spots {
		list := here(id)
		for i := range list {
			m := list[i].Step
			if m == "" {
				m = book.Standard
			}
			if mark == "" {
				mark = m
			}
			if m != mark {
				agree, mark = false, min(m, mark) // whatever their order
			}
		}
	}
	if mark == "" {
		mark = book.Standard
	}
	return mark, agree
}

// wrongMates says which two of a fit's parts may not run together.
func wrongMates(inst *book.Instance, marks []string, here Here) string {
	// The mark of a part without a reading is not known.
	for i, s := range inst.Sites {
		step, ok := s.Feature.Step(marks[i])
		if !ok || !anyRead(s, here) {
			continue
		}
		for k, other := range inst.Sites {
			if may, named := step.Mates[other.Feature]; named && anyRead(other, here) && !slices.Contains(may, marks[k]) {
				return s.String() + " at step " + marks[i] + " may not run with " + other.String() + " at step " + marks[k]
			}
		}
	}
	return ""
}

// otherStep asks about a size that is not what its mark says and fits the
// limits of another step on both sides: the mark or the reading is wrong.
func (v *Verdict) otherStep() {
	l := v.Line
	if l.Judges != book.Size || len(l.AtStep) == 0 || v.Between || v.Grade != Beyond && !v.betterThanNew() {
		return
	}
	for _, s := range l.Terms[0].Feature.Steps {
		other := l.Limit
		if s.Mark != book.Standard {
			other = l.AtStep[s.Mark]
		}
		if s.Mark == v.Steps[0] || other == nil || l.Reworked[other] == nil {
			continue
		}
		if both := l.Reworked[other]; both.Tier(v.Ends, limit.Both) < len(both.Tiers) {
			v.Asks = append(v.Asks, Ask{Kind: OtherStep, Text: s.Mark})
			return
		}
	}
}
