// Package reading takes in what was measured: one reading at one spot, its
// digits as the gauge showed them, and files of many.
package reading

import (
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

// A Reading is one observation at one spot.
type Reading struct {
	Spot  book.SpotID
	Kind  Kind
	Value quantity.Figure // exactly what the digits say, for a size or a deviation
	Low   Bound           // for a bracket or a band: the truth is at least this
	High  Bound           // and at most this
	Yes   bool            // for a yes or no

	Shown       quantity.Shown // as the gauge showed it
	Setting     quantity.Shown // for a deviation: the setting master's size
	Reversed    bool           // for a deviation: the gauge shows plus for smaller
	Stage       int            // as found 0, after the first rework 1, …
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
