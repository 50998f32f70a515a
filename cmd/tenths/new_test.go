package main

import (
	"bytes"
	"strings"
	"testing"

	"tenths/internal/intake"
	"tenths/metrology/quantity"
)

// On a terminal what is not said is asked, until it is answered.
func TestNewAsks(t *testing.T) {
	var o beginning
	o.engine.Rows = 1
	var out bytes.Buffer
	err := o.ask(strings.NewReader("Nine\nvee\nRADIAL\n\nnine\n9\n1\n2\nin\n\nOM-9\n\n2026-01-02\n"), &out, true, func(string) bool { return false })
	if err != nil {
		t.Fatal(err)
	}
	want := intake.Engine{Title: intake.Title{Engine: "Nine", Number: "OM-9", Date: "2026-01-02"}, Arrangement: "radial", Cylinders: 9, Mains: 2, Rows: 1, Unit: quantity.Inch}
	if o.engine != want {
		t.Errorf("%+v", o.engine)
	}
	for _, said := range []string{`"vee": write opposed or in-line or radial`, `"nine": write a number`, "In how many rows? (or nothing) How"} {
		if !strings.Contains(out.String(), said) {
			t.Errorf("%q is not in %q", said, out.String())
		}
	}
	if n := strings.Count(out.String(), "How many cylinders"); n != 3 {
		t.Errorf("asked %d times how many cylinders", n)
	}
	o = beginning{}
	if err := o.ask(strings.NewReader("Nine\n"), &out, true, func(string) bool { return false }); err == nil || err.Error() != "the questions were not answered" {
		t.Error(err)
	}
	// What was said is not asked again.
	o = beginning{engine: want, unit: "mm"}
	if err := o.ask(strings.NewReader(""), &out, true, func(string) bool { return true }); err != nil || o.engine.Unit != quantity.Millimetre {
		t.Error(err)
	}
}
