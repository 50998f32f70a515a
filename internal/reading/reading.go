// Package reading takes in what was measured: one reading at one spot, its
// digits as the gauge showed them, and files of many.
package reading

import (
	"strconv"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// A Kind says what sort of observation a reading is.
type Kind uint8

// The kinds. A size and a deviation from a setting are figures; a bracket (a
// feeler goes, the next does not), a go or no-go gauge and a band (plastic
// strip) say between which figures the truth lies; a yes or no is neither.
const (
	Size Kind = iota
	Deviation
	Bracket
	Band
	YesNo
)

var kindNames = [...]string{"a figure", "a deviation from a setting", "a bracket", "a band", "a yes or no"}

// String returns what the kind is called, with its article.
func (k Kind) String() string { return kindNames[k] }

// A Reading is one observation at one spot.
type Reading struct {
	Spot  book.SpotID
	Kind  Kind
	Value quantity.Figure // exactly what the digits say, for a size or a deviation
	Low   Bound           // for a bracket or a band: the truth is at least this
	High  Bound           // and at most this
	Yes   bool            // for a yes or no

	Shown       quantity.Shown // as the gauge showed it; a bracket and a band have its unit only
	Setting     quantity.Shown // for a deviation: the setting master's size
	Reversed    bool           // for a deviation: the gauge shows plus for smaller
	Words       string         // for a bracket or a band: what was written, each figure with its unit
	Stage       int            // as found 0, after the first rework 1, …, as assembled [Assembled]
	Step        string         // the undersize or oversize that the part is marked; empty: standard
	Item        string         // the piece of metal, by its tag
	Gauge, By   string
	Temperature quantity.Shown // as written; its Unit is NoUnit where none was
	When        string         // a date or a time by ISO 8601, as written
	Note        string
	Row         int // in its file
}

// A Bound is one end of where the truth lies.
type Bound struct {
	At   quantity.Figure
	Set  bool
	Open bool // the truth is not the figure itself: a feeler of it did not go
}

// Exact tells whether the reading is one figure.
func (r *Reading) Exact() bool { return r.Kind == Size || r.Kind == Deviation }

// Text returns what was observed, in the digits that were written, each with
// its unit: "2.2490 in", "+3 tenths on 2.2500 in", "0.004 in goes, 0.005 in
// does not", "0.0015..0.0020 in", "yes".
func (r *Reading) Text() string {
	switch r.Kind {
	case Deviation:
		text := r.Shown.String() + " on " + r.Setting.String()
		if r.Reversed {
			text += ", " + plusSmaller
		}
		return text
	case Bracket, Band:
		return r.Words
	case YesNo:
		if r.Yes {
			return "yes"
		}
		return "no"
	}
	return r.Shown.String()
}

// Assembled is the stage of what is measured when all is put together: it
// comes after every rework.
const Assembled = maxRework + 1

// maxRework bounds how often a part is reworked: none lasts so long.
const maxRework = 999

// StageName returns a stage as the files write it: found, rework 1, assembled.
func StageName(stage int) string {
	switch stage {
	case 0:
		return "found"
	case Assembled:
		return "assembled"
	}
	return "rework " + strconv.Itoa(stage)
}
