// Package reading takes in what was measured: one reading at one spot, its
// digits as the gauge showed them, and files of many.
package reading

import (
	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// A Reading is one observation at one spot.
type Reading struct {
	Spot        book.SpotID
	Value       quantity.Figure // exactly what the digits say
	Shown       quantity.Shown  // as the gauge showed it
	Item        string          // the piece of metal, by its tag
	Gauge, By   string
	Temperature quantity.Shown // as written; its Unit is NoUnit where none was
	When        string         // a date or a time by ISO 8601, as written
	Note        string
	Row         int // in its file
}
