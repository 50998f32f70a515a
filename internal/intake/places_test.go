package intake_test

import (
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
)

// What is written of places, planes and directions, and the words that it is
// written again in; what can't be so is refused with what may be written.
func TestMeasuredWords(t *testing.T) {
	for _, c := range []struct {
		text, again string
		spots       int
	}{
		{"3 places, front and rear, 0 and 90", "3 places, front and rear, 0 and 90", 12},
		{"1 place", "1 place", 1},
		{"Front, Rear", "front and rear", 2},
		{"0° & 90°", "0 and 90", 2},
		{"2 places, directions thrust and across", "2 places, directions thrust and across", 4},
		{"planes top and foot, directions 0, a90", "top and foot, directions 0 and a90", 4},
		{"directions 90, planes front", "front, directions 90", 1},
		{"front, directions 90", "front, directions 90", 1},
		{"one direction, one plane", "one plane, one direction", 1},
	} {
		at, err := intake.ParseMeasured(c.text)
		if err != nil || at.String() != c.again || at.Spots() != c.spots {
			t.Errorf("%q: %s, %d spots, %v; want %s, %d", c.text, at, at.Spots(), err, c.again, c.spots)
		}
		if again, err := intake.ParseMeasured(at.String()); err != nil || again.String() != c.again {
			t.Errorf("%q comes back as %s, %v", at, again, err)
		}
	}
	for _, c := range []struct{ text, says string }{
		{"", "says nothing"},
		{"4", `"4" alone may be a number of places`},
		{"three places", `"places" has no number before it`},
		{"4 rows", `"rows" is not of what stands before it`},
		{"0 places", "not from 1 to 999"},
		{"1000 places", "not from 1 to 999"},
		{"2 places, 3 places", "said twice"},
		{"2 planes", `"2 planes" does not say which`},
		{"front and front", `"front" is said twice`},
		{"planes 0 and 90", `"0" is no name of a plane`},
		{"front/rear", "is no name of a plane"},
	} {
		if at, err := intake.ParseMeasured(c.text); err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "write it as") {
			t.Errorf("%q: %s, %v; want %s", c.text, at, err, c.says)
		}
	}
	for _, text := range []string{"0, 90 places", "2 directions", "0, 0", "0/90", "planes front"} {
		if all, err := intake.ParseAcross(text); err == nil || !strings.Contains(err.Error(), "write it as") {
			t.Errorf("across %q: %q, %v", text, all, err)
		}
	}
}

const fourCylinders = `Description,New (in),Service
Main journal diameter,2.2490 - 2.2500,2.2470
Main bearing bore,2.2515 - 2.2525,2.2540
Cylinder bore,5.1250 - 5.1260,5.1300
Cylinder bore out-of-round,max 0.0005,max 0.002
Crankshaft run-out,max 0.001,max 0.003
Piston skirt diameter,5.1150 - 5.1160,5.1120
Variation in size of pistons,max 0.002,max 0.004
`

func mapping(t *testing.T, text string) intake.Mapping {
	t.Helper()
	m, err := intake.ParseMapping([]byte("format: mapping/1\n" + text))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// An engine has four cylinders and three journals, each measured across: what a
// mapping says of it becomes positions, places, planes and directions, and each line
// is judged at all of them. Where nothing is said the book is what it was.
func TestPlaces(t *testing.T) {
	plain := read(t, intake.Mapping{}, fourCylinders)
	if text := string(plain.Book(intake.Title{})); strings.Contains(text, "positions") || strings.Count(text, "places: 4") != 1 || strings.Count(text, "directions") != 2 {
		t.Errorf("nothing is said, and the book has places:\n%s", text)
	}
	m := mapping(t, `counts: {cylinder: 4, Piston: 4, Main bearing: 3, Of another table: 2}
measured: {main journal diameter: "3 places, front and rear", Piston skirt diameter: one direction, Of another table: 2 places}
across: 0, 90
`)
	d := read(t, m, fourCylinders)
	b := load(t, d)
	want := map[string]struct{ instances, spots int }{
		"Main journal diameter": {3, 12}, "Main bearing bore": {3, 6}, "Cylinder bore": {4, 8}, "Cylinder bore out-of-round": {4, 8},
		"Crankshaft run-out": {1, 4}, "Piston skirt diameter": {4, 4}, "Variation in size of pistons": {1, 4},
	}
	for i := range d.Rows {
		r := &d.Rows[i]
		l, ok := b.Line(r.Lines[0])
		if !ok {
			t.Fatalf("%s has no line", r.Name)
		}
		spots := 0
		for k := range l.Instances {
			spots += len(l.Instances[k].Spots)
		}
		if w := want[r.Name]; len(l.Instances) != w.instances || spots != w.spots {
			t.Errorf("%s is %d of %d spots, want %+v", r.Name, len(l.Instances), spots, w)
		}
		if said := max(1, r.Positions) * r.At().Spots(); said != spots {
			t.Errorf("%s is said to be %d spots (%s), and has %d", r.Name, said, r.At(), spots)
		}
		if was := plain.Rows[i].Lines[0]; was != l.Key {
			t.Errorf("%s was the line %s, and is %s", r.Name, was, l.Key)
		}
	}
	if again := mapping(t, strings.TrimPrefix(string(m.Text()), "format: mapping/1\n")); string(again.Text()) != string(m.Text()) {
		t.Errorf("the mapping comes back as\n%s", again.Text())
	}
	for text, says := range map[string]string{
		"counts: {Cylinder: 0}": "from 1 to 999", "counts: {Cylinder: four}": "not a mapping", "measured: {Bore: 4 rows}": "write it as", "across: 0/90": "is not a list of directions",
	} {
		if _, err := intake.ParseMapping([]byte("format: mapping/1\n" + text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A part that the book has keeps its positions: the rows of another table are of as
// many, and another count is refused.
func TestPlacesInto(t *testing.T) {
	m := mapping(t, "counts: {Cylinder: 4}\n")
	was := read(t, m, fourCylinders).Book(intake.Title{})
	b, err := book.Load("book.yaml", was)
	if err != nil {
		t.Fatal(err)
	}
	const more = "Description,New (in),Service\nCylinder flange thickness,0.500 - 0.510,min 0.490\nVariation in height of cylinders,max 0.01,max 0.02\n"
	for _, said := range []string{"across: 0, 90\n", "counts: {Cylinder: 4}\n"} {
		d := read(t, mapping(t, said), more)
		text, err := d.Into(was, b)
		if err != nil {
			t.Fatal(err)
		}
		now, err := book.Load("book.yaml", text)
		if err != nil {
			t.Fatal(err)
		}
		for i, instances := range []int{4, 1} {
			if l, ok := now.Line(d.Rows[i].Lines[0]); !ok || len(l.Instances) != instances || d.Rows[i].Positions != 4 || d.Rows[i].At().Spots() != 1 {
				t.Errorf("%q: %s, %d positions, %s", said, d.Rows[i].Name, d.Rows[i].Positions, d.Rows[i].At())
			}
		}
	}
	for part, said := range map[string]string{"Cylinder": "counts: {Cylinder: 6}\n", "Piston": "counts: {Piston: 4}\n"} {
		csv := more + "Piston height,3.00 - 3.01,min 2.99\n"
		if _, err := read(t, mapping(t, said), csv).Into(was, b); err == nil || !strings.Contains(err.Error(), part) || !strings.Contains(err.Error(), "what stands in the book stays") {
			t.Errorf("%q: %v", said, err)
		}
	}
}
