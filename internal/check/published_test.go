package check_test

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"tenths/internal/check"
)

// Fits as ISO 286-2 and ANSI B4.1 publish them, each as two sizes and the fit
// that the publication prints, pass without a finding.
func TestPublishedFits(t *testing.T) {
	scale := map[string]*big.Rat{"um": big.NewRat(1, 1000), "thou": big.NewRat(1, 1000), "0.001 in": big.NewRat(1, 1000)}
	books := map[string]*[2]strings.Builder{}
	for i, r := range rows(t, "testdata/published.csv") {
		unit := r["nominal_unit"]
		by := scale[r["unit"]]
		if by == nil {
			t.Fatalf("no unit %q", r["unit"])
		}
		figure := func(text string) *big.Rat {
			f, ok := new(big.Rat).SetString(strings.TrimPrefix(text, "+"))
			if !ok {
				t.Fatalf("%q is no figure", text)
			}
			return f
		}
		size := func(deviation string) string {
			at := new(big.Rat).Mul(figure(deviation), by)
			return at.Add(at, figure(r["nominal"])).FloatString(5)
		}
		ends := func(of string) string { return new(big.Rat).Mul(figure(r[of]), by).FloatString(5) }
		if books[unit] == nil {
			books[unit] = &[2]strings.Builder{}
		}
		fmt.Fprintf(&books[unit][0], "      h%d: {kind: inside}\n      s%d: {kind: outside}\n", i, i)
		fmt.Fprintf(&books[unit][1], "  h%d: {name: %q, size: p.h%d, new: %s..%s}\n", i, r["fit"]+" hole", i, size(r["hole_lower"]), size(r["hole_upper"]))
		fmt.Fprintf(&books[unit][1], "  s%d: {name: %q, size: p.s%d, new: %s..%s}\n", i, r["fit"]+" shaft", i, size(r["shaft_lower"]), size(r["shaft_upper"]))
		fmt.Fprintf(&books[unit][1], "  f%d: {name: %q, fit: p.h%d - p.s%d, new: %q}\n", i, r["fit"], i, i, ends("tightest")+".."+ends("loosest"))
	}
	if len(books) != 2 {
		t.Fatalf("fits in %d units", len(books))
	}
	for unit, b := range books {
		for _, f := range check.Book(load(t, "format: book/1\nengine: Fits\nunit: "+unit+"\nparts:\n  p:\n    features:\n"+b[0].String()+"lines:\n"+b[1].String())) {
			t.Errorf("%s %v: %s %v", f.Code, f.Lines[0].Name, f.What, f.Sum)
		}
	}
}
