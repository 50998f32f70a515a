package intake

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Where everything in an engine is usually, for the drawings of a book that is
// begun. Only the drawings rest on it, no verdict does, and the book says that it
// is to be held against the manual.

// Shaft is what is along the crankshaft, from the propeller on: the main journals
// among the crankpins. Where they can't stand between all or between pairs, one
// too many is at the propeller, and any others are spread as evenly as they go.
func (d skeletonData) Shaft() string {
	pins, mains := d.Pins(), d.Mains
	group := 1 // of pins that are between two mains
	if d.Opposed() && mains <= pins {
		group = 2
	}
	before := make([]int, pins+1) // how many mains are before each pin, and behind the last
	groups := pins / group
	switch {
	case mains == groups+2, mains > pins+1:
		before[0] = mains - groups - 1
		mains = groups + 1
	case mains > groups+1:
		group, groups = 1, pins
	}
	for i := range mains {
		at := 0
		if mains > 1 {
			at = (2*i*groups + mains - 1) / (2 * (mains - 1))
		}
		before[at*group]++
	}
	var all []string
	main := 0
	for i, n := range before {
		for range n {
			main++
			all = append(all, fmt.Sprintf("crank.main-%d", main))
		}
		if i < pins {
			all = append(all, d.pin(i+1))
		}
	}
	return strings.Join(all, ", ")
}

// pin names a crankpin.
func (d skeletonData) pin(n int) string {
	if d.Pins() == 1 {
		return "crank.pin"
	}
	return fmt.Sprintf("crank.pin-%d", n)
}

// Camshaft is what is along the camshaft.
func (d skeletonData) Camshaft() string {
	return list(d.Mains, func(n int) string { return fmt.Sprintf("cam.journal-%d", n) })
}

// A skeletonThrow is a crankpin with whose rods are on it.
type skeletonThrow struct {
	Pin, Angle, Cylinders string
	Master                int // 0: none
}

// Throws are the crankpins, at angles by which the cylinders fire evenly.
func (d skeletonData) Throws() (all []skeletonThrow) {
	for n := 1; n <= d.Pins(); n++ {
		t := skeletonThrow{Pin: d.pin(n), Angle: d.throw(n), Cylinders: strconv.Itoa(n)}
		if d.Radial() {
			row := d.row(n)
			t.Cylinders, t.Master = list(len(row), func(i int) string { return strconv.Itoa(row[i-1]) }), row[0]
		}
		all = append(all, t)
	}
	return all
}

// throw is the angle of a crankpin. The two cylinders of a pair of an opposed
// engine move against each other; the hinder half of a shaft of an in-line engine
// is the fore half seen in a mirror; the rows of a radial engine follow each other,
// the hindmost up.
func (d skeletonData) throw(n int) string {
	switch {
	case d.Radial():
		return angle(spreadOut(d.Rows-n, d.Rows), d.Rows)
	case d.Opposed():
		pairs := d.Cylinders / 2
		at := 2*spreadOut((n-1)/2, pairs) + pairs*((n-1)%2) // in halves of a pair's part
		return angle(at%(2*pairs), 2*pairs)
	case d.Cylinders%2 == 0:
		return angle(spreadOut(min(n-1, d.Cylinders-n), d.Cylinders/2), d.Cylinders/2)
	}
	return angle(spreadOut(n-1, d.Cylinders), d.Cylinders)
}

// spreadOut is which of so many even parts of a turn the i-th takes, so that
// those which follow each other are far apart: the first 0, then by turns from
// both sides.
func spreadOut(i, of int) int {
	if i%2 == 0 {
		return (of - i/2) % of
	}
	return (i + 1) / 2
}

// angle is so many parts of a turn in degrees, as a book writes it.
func angle(n, of int) string {
	whole, rest := 360*n/of, 360*n%of
	if rest == 0 {
		return strconv.Itoa(whole)
	}
	for by := rest; by > 1; by-- {
		if rest%by == 0 && of%by == 0 {
			rest, of = rest/by, of/by
		}
	}
	return fmt.Sprintf("%d %d/%d", whole, rest, of)
}

// row is the cylinders of a row of a radial engine, the fore row first. They are
// counted round all rows by turns, so that number one is of the hindmost.
func (d skeletonData) row(n int) (all []int) {
	for c := 1; c <= d.Cylinders; c++ {
		if (c-1)%d.Rows == d.Rows-n {
			all = append(all, c)
		}
	}
	return all
}

// Masters are the cylinders of the master rods, one a row.
func (d skeletonData) Masters() string {
	return list(d.Rows, func(n int) string { return strconv.Itoa(d.row(n)[0]) })
}

// Linked are the cylinders of the link rods, row by row, as the knuckle pins are
// in the master rods.
func (d skeletonData) Linked() string {
	var all []string
	for n := 1; n <= d.Rows; n++ {
		for _, c := range d.row(n)[1:] {
			all = append(all, strconv.Itoa(c))
		}
	}
	return strings.Join(all, ", ")
}

// Side is the cylinders of one side of an opposed engine: the odd ones on the
// right.
func (d skeletonData) Side(right bool) string {
	var all []string
	for c := 1; c <= d.Cylinders; c++ {
		if (c%2 == 1) == right {
			all = append(all, strconv.Itoa(c))
		}
	}
	return strings.Join(all, ", ")
}

// Twice is each cylinder twice, for what an intake and an exhaust valve have each.
func (d skeletonData) Twice() string {
	return list(d.Valves(), func(n int) string { return strconv.Itoa((n + 1) / 2) })
}

// EachOf are the parts of which every cylinder has one.
func (d skeletonData) EachOf() []string {
	all := []string{"pin", "piston", "ring", "cylinder", "intake", "exhaust", "shaft"}
	if !d.Radial() {
		all = slices.Insert(all, 0, "rod")
	}
	return all
}

// TwoOf are those of which every cylinder has two.
func (d skeletonData) TwoOf() []string {
	return []string{"outer", "inner", "rocker", "pushrod", "tappet"}
}

func list(n int, of func(int) string) string {
	all := make([]string, n)
	for i := range all {
		all[i] = of(i + 1)
	}
	return strings.Join(all, ", ")
}
