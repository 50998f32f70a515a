package intake_test

import (
	"bytes"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/metrology/quantity"
)

// Whatever engine a book is begun for, it loads, each of its lines is named and
// none is graded; and it goes to a sheet and comes back, as begun and filled in.
func TestSkeleton(t *testing.T) {
	engine := func(arrangement string, cylinders, mains, rows int, unit quantity.Unit) intake.Engine {
		return intake.Engine{Title: intake.Title{Engine: "E: 1", Number: "OM-1"}, Arrangement: arrangement, Cylinders: cylinders, Mains: mains, Rows: rows, Unit: unit}
	}
	for _, e := range []intake.Engine{
		engine("opposed", 4, 3, 0, quantity.Inch), engine("opposed", 2, 1, 0, quantity.Millimetre), engine("opposed", 8, 5, 1, quantity.Inch),
		engine("in-line", 6, 7, 0, quantity.Millimetre), engine("in-line", 2, 2, 0, quantity.Inch),
		engine("radial", 7, 2, 0, quantity.Inch), engine("radial", 14, 3, 2, quantity.Inch), engine("radial", 28, 5, 4, quantity.Millimetre), engine("radial", 3, 2, 1, quantity.Inch),
	} {
		own, err := intake.Skeleton(e)
		if err != nil {
			t.Fatal(err)
		}
		b, err := book.Load("b.yaml", own)
		if err != nil {
			t.Fatalf("%+v: %v\n%s", e, err, own)
		}
		if b.Engine != "E: 1" || b.Manual.Number != "OM-1" || len(b.Lines) < 70 {
			t.Errorf("%s, %s, %d lines", b.Engine, b.Manual, len(b.Lines))
		}
		looked := map[*book.Feature]bool{}
		for _, l := range b.Lines {
			for _, term := range l.Terms {
				looked[term.Feature] = true
			}
			if l.Judges != book.YesNo && !l.Unfilled() {
				t.Errorf("%s is not waiting to be filled in", l.Key)
			}
		}
		for _, p := range b.Parts {
			for _, f := range p.Features {
				if !looked[f] {
					t.Errorf("%+v: no line looks at %s", e, f.Ref())
				}
			}
		}
		equal(t, own)
		f := there(t, "xlsx", own, intake.Mapping{})
		if f.Unfilled == 0 || f.Held != 0 {
			t.Errorf("%d without limits, %d held", f.Unfilled, f.Held)
		}
		if bytes.Contains(own, []byte("<no value>")) {
			t.Errorf("%s", own)
		}
	}
	for _, c := range []struct {
		engine intake.Engine
		want   string
	}{
		{engine("vee", 8, 5, 0, quantity.Inch), "opposed, in-line or radial"},
		{engine("opposed", 3, 3, 0, quantity.Inch), "even number"},
		{engine("opposed", 4, 3, 2, quantity.Inch), "only a radial engine has rows"},
		{engine("in-line", 0, 3, 0, quantity.Inch), "2 to 36 cylinders"},
		{engine("in-line", 4, 0, 0, quantity.Inch), "1 to 20 main journals"},
		{engine("radial", 14, 2, 3, quantity.Inch), "all rows have as many"},
		{engine("in-line", 4, 5, 0, quantity.Pound), "in or mm"},
	} {
		if _, err := intake.Skeleton(c.engine); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %s", c.engine, err, c.want)
		}
	}
}
