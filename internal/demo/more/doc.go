// Package more holds two more invented engines beside the demo, a radial and an
// in-line one in millimetres, that keep the book's format honest: between them
// their books use everything that docs/formats.md offers, and every line of
// them is reached by a reading. They also stand on the floor of the demo's shop,
// where their drawings are seen.
package more

import _ "embed"

// Inline is the book of the in-line engine.
//
//go:embed inline.yaml
var Inline []byte

// InlineReadings are the readings of its overhaul.
//
//go:embed inline.csv
var InlineReadings []byte

// Radial is the book of the radial engine.
//
//go:embed radial.yaml
var Radial []byte

// RadialReadings are the readings of its overhaul.
//
//go:embed radial.csv
var RadialReadings []byte
