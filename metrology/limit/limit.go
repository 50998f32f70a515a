// Package limit holds ranges with edges and the kinds of limit that manuals
// print.
//
// A manual's column mixes absolute sizes, amounts of wear, plus-or-minus
// tolerances, "same as new" and words. [Parse] turns each into a [Limit]: one
// or more tiers, each a closed or open [Range]. Only ranges are ever compared;
// the kind explains and decides nothing.
//
// A value exactly at a limit is within it, unless the manual's wording rejects
// the equal value ("1.67 or less", "0.008 or more"): then the edge is open.
//
// Clearance is signed: loose positive, tight negative. 0.0010T is −0.0010.
//
// What can't be read for certain is an error or, for an amount of wear whose
// base the manual does not state, a hold: both readings are kept and a person
// decides.
package limit

import (
	"slices"

	"tenths/metrology/quantity"
)

// An Edge is one end of a range. The zero value sets no limit on that side.
type Edge struct {
	At   quantity.Figure
	Set  bool
	Open bool // the equal value is out
}

// A Range is what lies between two edges, either of which may be absent.
type Range struct{ Min, Max Edge }

// AtLeast tells whether v meets the lower edge.
func (r Range) AtLeast(v quantity.Figure) bool { return !r.Min.Set || r.Min.within(v.Cmp(r.Min.At)) }

// AtMost tells whether v meets the upper edge.
func (r Range) AtMost(v quantity.Figure) bool { return !r.Max.Set || r.Max.within(-v.Cmp(r.Max.At)) }

// within takes how far inside the edge a value lies: −1 outside, 0 at it.
func (e Edge) within(inward int) bool { return inward > 0 || inward == 0 && !e.Open }

// Contains tells whether v lies within both edges.
func (r Range) Contains(v quantity.Figure) bool { return r.AtLeast(v) && r.AtMost(v) }

// Empty tells whether no figure lies within: the least above the greatest.
func (r Range) Empty() bool {
	if !r.Min.Set || !r.Max.Set {
		return false
	}
	c := r.Min.At.Cmp(r.Max.At)
	return c > 0 || c == 0 && (r.Min.Open || r.Max.Open)
}

// A Kind says how a limit was printed.
type Kind uint8

// The kinds of printed limit.
const (
	Absolute  Kind = iota // the figure itself
	Wear                  // an amount that the part may wear
	PlusMinus             // a nominal with its tolerance
	AsNew                 // "same as new"
	None                  // the manual allows no wear
	Silent                // the manual states nothing
	Reference             // shown, not graded: by selection, reference, see another
)

var kindNames = [...]string{"absolute", "amount of wear", "plus or minus", "same as new", "none allowed", "not stated", "reference"}

func (k Kind) String() string { return kindNames[k] }

// A Side says which ends of a value a limit holds.
type Side uint8

// The sides. A shaft's diameter wears smaller and is held on its low side; a
// bore's on its high side; a fit, a spring's load and a new part on both.
const (
	Both Side = iota
	Low
	High
)

// Ends are the two ends of what was found: the smallest and largest size, or
// the tightest and loosest fit.
type Ends struct{ Low, High quantity.Figure }

// Meets tells whether the ends lie within the range on the sides it holds.
func (r Range) Meets(e Ends, held Side) bool {
	return (held == High || r.AtLeast(e.Low)) && (held == Low || r.AtMost(e.High))
}

// A Limit is what a line of a table of limits says, as tiers from the
// narrowest to the widest.
type Limit struct {
	Tiers   []Tier
	Kind    Kind   // of the last tier
	Printed string // where the kind is Reference: what the cell says
	// Ungraded: nothing is judged by the line; its tiers, if any, are shown.
	Ungraded bool
	// Held is the other reading of the last tier, where the manual leaves two
	// open: an amount of wear whose base is not stated. Then the last tier is
	// the stricter of the two, Held the more generous, and where they disagree
	// about a value a person must say which is meant.
	Held *Range
}

// A Tier is one step of a limit: new, service.
type Tier struct {
	Name    string
	Printed string // the cell as the book has it
	Range   Range
}

// Tier returns the index of the first tier whose range the ends meet on the
// sides held; len(l.Tiers) where they meet none.
func (l *Limit) Tier(e Ends, held Side) int {
	for i := range l.Tiers {
		if l.Tiers[i].Range.Meets(e, held) {
			return i
		}
	}
	return len(l.Tiers)
}

// Shifted returns the limit with every edge moved by d: that of a shaft ground
// 0.010 under is the standard one less 0.010. It fails where an edge does not
// fit.
func (l *Limit) Shifted(d quantity.Figure) (Limit, error) {
	s := *l
	s.Tiers = slices.Clone(l.Tiers)
	var failed error
	move := func(e *Edge) {
		if !e.Set {
			return
		}
		at, err := e.At.Plus(1, d)
		if err != nil {
			failed = err
		}
		e.At = at
	}
	for i := range s.Tiers {
		move(&s.Tiers[i].Range.Min)
		move(&s.Tiers[i].Range.Max)
	}
	if l.Held != nil {
		held := *l.Held
		move(&held.Min)
		move(&held.Max)
		s.Held = &held
	}
	return s, failed
}

// BothSides returns the limit as a new or a reworked part is held to it: where
// a tier names one side only, the other is that of the first tier.
func (l *Limit) BothSides() Limit {
	s := *l
	s.Tiers = slices.Clone(l.Tiers)
	for i := range s.Tiers {
		fill(&s.Tiers[i].Range, s.Tiers[0].Range)
	}
	if l.Held != nil {
		held := *l.Held
		fill(&held, s.Tiers[0].Range)
		s.Held = &held
	}
	return s
}

// fill gives r the edges of from that it has not.
func fill(r *Range, from Range) {
	if !r.Min.Set {
		r.Min = from.Min
	}
	if !r.Max.Set {
		r.Max = from.Max
	}
}
