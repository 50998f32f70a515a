// Package picture draws what tenths shows: for now the ruler, in text.
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

	"tenths/internal/book"
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
	tierRune  = '│' // a tier between the first and the last ends here
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

// An anchor ties a figure to a place on the ruler.
type anchor struct{ value, at float64 }

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
	first, last := tiers[0].Range, tiers[len(tiers)-1].Range
	stricter := last
	if held := v.Limit.Held; held != nil {
		last = *held // the stop stands at the more generous reading
	}
	serviceOnly := len(tiers) == 1 && tiers[0].Name != "new"
	nature := v.Line.Judges != book.Size && v.Held == limit.High && !first.Min.Set

	var anchors []anchor
	if nature {
		anchors = append(anchors, anchor{0, serviceLow})
	}
	low, high := newLow, newHigh
	switch {
	case serviceOnly:
		low, high = serviceLow, serviceHigh
		fill(shareOr(first.Min.Set || nature, low, 0), shareOr(first.Max.Set, high, 1), openRune)
	default:
		if last.Min.Set && last.Min != first.Min && v.Held != limit.High {
			fill(serviceLow, newLow, openRune)
			anchors = append(anchors, anchor{float(last.Min.At), serviceLow})
			low = serviceLow
		}
		if last.Max.Set && last.Max != first.Max && v.Held != limit.Low {
			fill(newHigh, serviceHigh, openRune)
			high = serviceHigh
		}
		fill(shareOr(first.Min.Set, newLow, shareOr(nature, serviceLow, 0)), shareOr(first.Max.Set, newHigh, 1), solidRune)
	}
	if first.Min.Set {
		anchors = append(anchors, anchor{float(first.Min.At), shareOr(serviceOnly, serviceLow, newLow)})
	}
	if first.Max.Set {
		anchors = append(anchors, anchor{float(first.Max.At), shareOr(serviceOnly, serviceHigh, newHigh)})
	}
	if high == serviceHigh && !serviceOnly {
		anchors = append(anchors, anchor{float(last.Max.At), serviceHigh})
	}
	if last.Min.Set && v.Held != limit.High {
		cells[cell(low)] = stopRune
	} else if nature {
		cells[cell(serviceLow)] = wallRune
	} else if !first.Min.Set {
		cells[0] = tornRune
	}
	if last.Max.Set && v.Held != limit.Low {
		cells[cell(high)] = stopRune
	} else if !first.Max.Set {
		cells[width-1] = tornRune
	}
	if v.Limit.Held != nil {
		at := stricter.Min.At
		if v.Held == limit.High || !stricter.Min.Set || stricter.Min == last.Min {
			at = stricter.Max.At
		}
		cells[cell(place(anchors, float(at)))] = askRune
	}
	for _, t := range tiers[:len(tiers)-1] {
		// Between the first tier and the last: overhaul, a band to rework.
		for _, e := range []limit.Edge{t.Range.Min, t.Range.Max} {
			if i := cell(place(anchors, float(e.At))); e.Set && cells[i] == openRune && e != first.Min && e != first.Max {
				cells[i] = tierRune
			}
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
			switch share := place(anchors, float(e.at)); {
			case share < 0:
				cells[0], cells[1] = e.mark, breakRune
			case share > 1:
				cells[width-1], cells[width-2] = e.mark, breakRune
			default:
				cells[offStop(cells, cell(share), e.at, v)] = e.mark
			}
		}
	}
	return string(cells)
}

// offStop keeps a mark off the stop where the rounding of a text cell would hide
// on which side of it the value lies.
func offStop(cells []rune, i int, end quantity.Figure, v *judge.Verdict) int {
	if cells[i] != stopRune {
		return i
	}
	tiers := v.Limit.Tiers
	last := tiers[len(tiers)-1].Range
	if v.Limit.Held != nil {
		last = *v.Limit.Held
	}
	right := i > len(cells)/2
	switch {
	case right && last.AtMost(end), !right && !last.AtLeast(end):
		return max(0, i-1)
	}
	return min(len(cells)-1, i+1)
}

func shareOr(yes bool, a, b float64) float64 {
	if yes {
		return a
	}
	return b
}

func float(f quantity.Figure) float64 {
	x, _ := f.Rat().Float64()
	return x
}

// place finds where a value lies by the straight lines between the anchors,
// the outermost carried on; one anchor alone, or none, gives the middle of
// what is on that side.
func place(anchors []anchor, value float64) float64 {
	switch len(anchors) {
	case 0:
		return 0.5
	case 1:
		a := anchors[0]
		switch {
		case value < a.value:
			return a.at - 0.12
		case value > a.value:
			return a.at + 0.12
		}
		return a.at
	}
	i := 1
	for i < len(anchors)-1 && value > anchors[i].value {
		i++
	}
	a, b := anchors[i-1], anchors[i]
	if a.value == b.value {
		return b.at
	}
	return a.at + (value-a.value)/(b.value-a.value)*(b.at-a.at)
}
