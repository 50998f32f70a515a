// Package picture draws what tenths shows: rulers, in text for the terminal and
// as SVG for pages, and engines and their parts.
//
// A ruler runs from smaller (or tighter) at the left to larger (or looser) at
// the right. The new limits are a solid bar, the allowance out to the service
// limit an open one, and a stop stands where beyond begins; a mark shows the
// value. How a line stands is read from where the mark is, never from colour.
//
// Drawing is the one place where figures go through floating point; nothing is
// ever judged by it.
package picture

import (
	"strings"

	"tenths/internal/judge"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// Where a column ruler has its limits, as shares of its width: the eye runs
// down the marks of a table, so every line has them at the same place.
const (
	serviceLow  = 0.16
	newLow      = 0.38
	newHigh     = 0.62
	serviceHigh = 0.84
)

// The characters of a ruler in text.
const (
	edgeRune  = '─' // no limit says anything here
	openRune  = '▭' // between new and service
	solidRune = '■' // within new
	stopRune  = '┃' // beyond begins
	wallRune  = '║' // nature's nought
	tierRune  = '│' // a tier between the first and the last ends here, or a band past the stop
	tornRune  = '~' // no limit on this side
	markRune  = '▼' // the value that counts, or each end of a fit
	otherRune = '▽' // the other end of a size
	askRune   = '?' // the stricter reading of a limit that the manual leaves open
	breakRune = '╱' // the value is off the ruler
)

// A head is a mark at a figure.
type head struct {
	at   quantity.Figure
	mark rune
}

// RulerText draws the ruler of a verdict, width characters wide (at least 12).
func RulerText(v *judge.Verdict, width int) string {
	width = max(width, 12)
	cells := make([]rune, width)
	for i := range cells {
		cells[i] = edgeRune
	}
	cell := func(share float64) int { return max(0, min(width-1, int(share*float64(width-1)+0.5))) }
	fill := func(from, to float64, r rune) {
		for i := cell(from); i <= cell(to); i++ {
			cells[i] = r
		}
	}
	tiers := v.Limit.Tiers
	if len(tiers) == 0 {
		return strings.Repeat(" ", width)
	}
	f := faceOf(judge.Words{}, v)
	rule := f.rule(OfColumn)
	share := func(e limit.Edge) float64 { return f.x(&rule, e) / 100 }
	from, to := 0.0, 1.0
	switch {
	case f.lo.bar.Set:
		from = share(f.lo.bar)
	case f.wall:
		from = newLow
	}
	if f.hi.bar.Set {
		to = share(f.hi.bar)
	}
	if f.lo.out.Set {
		fill(share(f.lo.out), from, openRune)
	}
	if f.hi.out.Set {
		fill(to, share(f.hi.out), openRune)
	}
	if f.solid {
		fill(from, to, solidRune)
	} else {
		fill(from, to, openRune)
	}
	switch {
	case f.wall:
		cells[cell(newLow)] = wallRune
	case !f.lo.bar.Set:
		cells[0] = tornRune
	}
	if !f.hi.bar.Set {
		cells[width-1] = tornRune
	}
	for _, s := range [...]*side{&f.lo, &f.hi} {
		// Between the first tier and the last: overhaul, a band to rework.
		for _, e := range append(s.mids, s.out) {
			if e.Set && cells[cell(share(e))] == openRune {
				cells[cell(share(e))] = tierRune
			}
		}
		if s.stop.Set {
			cells[cell(share(s.stop))] = stopRune
		}
		if s.ask.Set {
			cells[cell(share(s.ask))] = askRune
		}
	}
	if v.Measured {
		ends := []head{{v.Ends.Low, markRune}, {v.Ends.High, markRune}}
		switch {
		case v.NoLow && v.NoHigh:
			ends = nil
		case v.NoLow:
			ends[0] = ends[1]
		case v.NoHigh:
			ends[1] = ends[0]
		}
		switch {
		case v.Between:
		case v.Held == limit.Low:
			ends[0], ends[1] = head{v.Ends.High, otherRune}, ends[0]
		case v.Held == limit.High:
			ends[0].mark = otherRune
		}
		for _, e := range ends {
			x, on := f.place(&rule, e.at)
			switch {
			case !on && x < 50:
				cells[0], cells[1] = e.mark, breakRune
			case !on:
				cells[width-1], cells[width-2] = e.mark, breakRune
			default:
				cells[offStop(cells, cell(x/100), e.at, f)] = e.mark
			}
		}
	}
	return string(cells)
}

// offStop keeps a mark off the stop where the rounding of a text cell would hide
// on which side of it the value lies.
func offStop(cells []rune, i int, end quantity.Figure, f *face) int {
	if cells[i] != stopRune {
		return i
	}
	within := limit.Range{Min: f.lo.stop, Max: f.hi.stop}
	right := i > len(cells)/2
	if right && within.AtMost(end) || !right && !within.AtLeast(end) {
		return max(0, i-1)
	}
	return min(len(cells)-1, i+1)
}

// float is a figure in the base of its kind, for drawing.
func float(f quantity.Figure) float64 {
	x, _ := f.Rat().Float64()
	return x
}
