// Package fit adds up fits and stacks: signed sums of sizes with two ends.
//
// A clearance is loose where positive and tight (interference) where negative.
// Each part has a smallest and a largest size, so a fit has two ends:
//
//	loosest  = largest inside − smallest outside
//	tightest = smallest inside − largest outside
//
// and a stack (case bore − two shells − journal) the same with more terms.
// Sums are of whole counts: exact. Common practice, no source; the limits that
// ISO 286-1:2010 and ANSI B4.1-1967 print for clearance and interference
// follow from the same sums.
//
// It is not for thermal growth or measurement doubt.
package fit

import "tenths/metrology/quantity"

// A Term is one part of a fit: how often its size is added (+1 a bore, −1 a
// journal, −2 a pair of like shells) and its two ends.
type Term struct {
	Times             int
	Smallest, Largest quantity.Length
}

// Ends are the two ends of a fit; loose positive, tight negative.
type Ends struct{ Tightest, Loosest quantity.Length }

// Of returns the ends of the fit that the terms make. No terms make a fit of
// nought. Each term's Smallest must not be greater than its Largest.
func Of(terms ...Term) Ends {
	var e Ends
	for i := range terms {
		t := &terms[i]
		if t.Times >= 0 {
			e.Tightest = e.Tightest.Plus(t.Times, t.Smallest)
			e.Loosest = e.Loosest.Plus(t.Times, t.Largest)
		} else {
			e.Tightest = e.Tightest.Plus(t.Times, t.Largest)
			e.Loosest = e.Loosest.Plus(t.Times, t.Smallest)
		}
	}
	return e
}
