// Package more holds two more invented engines beside the demo, a radial and an
// in-line one in millimetres, that keep the book's format honest: between them
// their books use everything that docs/formats.md offers, and every line of
// them is reached by a reading. Only tests read them.
package more
