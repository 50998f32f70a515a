package picture

import (
	"fmt"
	"strings"
	"testing"
	"unicode"

	"tenths/internal/book"
)

func spotOf(t testing.TB, b *book.Book, text string) book.SpotID {
	t.Helper()
	id, ok := b.Spot(text)
	if !ok {
		t.Fatalf("the book has no %s", text)
	}
	return id
}

// checkSketch draws a spot from both sides and looks at what is lit.
func checkSketch(t fataler, b *book.Book, id book.SpotID) (side, end SVG) {
	t.Helper()
	read9 := func(book.SpotID) string { return "2.0612" }
	spot := b.Spots[id]
	side, end = SketchSide(b, id, nil), SketchEnd(b, id, nil)
	drawings := []SVG{side, SketchSide(b, id, read9)}
	if end != "" {
		drawings = append(drawings, end, SketchEnd(b, id, read9))
	}
	for _, svg := range drawings {
		_, all := read(t, svg)
		label := all[0].attrs["aria-label"]
		if all[0].attrs["role"] != "img" || !strings.HasSuffix(label, ".") || !strings.Contains(label, "; ") {
			t.Fatal(spot, " says ", label)
		}
		if first := []rune(label)[0]; !unicode.IsUpper(first) && unicode.IsLower(first) {
			t.Fatal(spot, " says ", label)
		}
	}
	_, all := read(t, side)
	blue := false
	for i := range all {
		blue = blue || all[i].has("lit") || all[i].has("is-hand") || all[i].has("anvil")
	}
	if !blue {
		t.Fatal(spot, ": nothing is lit")
	}
	if label, lit := all[0].attrs["aria-label"], texts(all, "lit"); spot.Plane != "" &&
		(!strings.Contains(label, "plane "+spot.Plane+" lit") || !anyBegins(lit, spot.Plane)) {
		t.Fatal(spot, " says ", label, ", lit are the names ", lit)
	}
	if spot.Direction != "" {
		if end == "" {
			t.Fatal(spot, " has a direction and is not drawn end on")
		}
		_, all := read(t, end)
		if label, lit := all[0].attrs["aria-label"], texts(all, "lit"); !strings.Contains(label, "direction "+spot.Direction+" lit") || !anyBegins(lit, spot.Direction) {
			t.Fatal(spot, " says ", label, ", lit are the names ", lit)
		}
	}
	return side, end
}

// Every spot of the three books has its drawing, with its plane and direction
// lettered in blue, and no two spots of one place have the same.
func TestEverySpotIsDrawn(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, c := range []struct {
		b     *book.Book
		spots int
	}{{four, 868}, {six, 284}, {seven, 280}} {
		drawings := 0
		for _, site := range c.b.Sites {
			seen := map[SVG]book.SpotID{}
			for _, id := range site.Spots {
				spot := c.b.Spots[id]
				side, end := checkSketch(t, c.b, id)
				if other, ok := seen[side+end]; ok {
					t.Errorf("%s and %s are drawn alike", spot, c.b.Spots[other])
				}
				seen[side+end] = id
				drawings++
			}
		}
		if drawings != c.spots {
			t.Errorf("%s: %d spots were drawn, want %d", c.b.Engine, drawings, c.spots)
		}
	}
}

func anyBegins(words []string, with string) bool {
	for _, w := range words {
		if w == with || strings.HasPrefix(w, with+" ") {
			return true
		}
	}
	return false
}

// The sentence is what a person hears who does not see the drawing.
func TestSketchesAreSentences(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, c := range []struct {
		b                     *book.Book
		spot, side, end, note string
	}{
		{
			four, "crank.pin-3.front.90",
			"Crankpin 3 from the side, plane front lit; measure across direction 90.",
			"Crankpin 3 end on, direction 90 lit; measure across direction 90, in plane front.",
			"The propeller end is at the left. Direction 0 is drawn upright, in line with the throw: the manual says where it counts from.",
		},
		{
			four, "case.fitted-2.rear.45",
			"Main bearing bore with inserts 2 in section along the case, plane rear lit; measure across direction 45.",
			"Main bearing bore with inserts 2 end on, direction 45 lit; measure across direction 45, in plane rear.",
			"The propeller end is at the left. Direction 0 is drawn upright, along the parting line of the two halves, and degrees run clockwise as seen from the accessory end: the manual says where it counts from.",
		},
		{four, "rod-3.side", "Connecting rod 3, side clearance on its pin; measure the clearance.", "", "The propeller end is at the left."},
		{four, "crank.crack", "Crankshaft, cracks from the side; look, and answer yes or no.", "", "The propeller end is at the left."},
		{four, "crank.centre.-.45", "Crankshaft, dial on the centre main from the side; read the dial at direction 45.", "Crankshaft, dial on the centre main end on, direction 45 lit; read the dial at direction 45.", "The propeller end is at the left. Direction 0 is drawn upright, and degrees run clockwise as seen from the accessory end: the manual says where it counts from."},
		{four, "outer-5.closed", "Outer valve spring 5, load at 1.900 in in the tester; read the load.", "", ""},
		{four, "piston-1.topring.-.180", "Piston 1, top ring in groove from the side; measure the clearance at direction 180.", "Piston 1, top ring in groove end on, direction 180 lit; measure the clearance at direction 180.", "Direction 0 is drawn upright: the manual says where it counts from."},
		{six, "head.cam-3.-.0", "Camshaft bearing 3 in section along the head; measure across direction 0.", "Camshaft bearing 3 end on, direction 0 lit; measure across direction 0.", "Number 1 is at the left: gear end. Direction 0 is drawn upright: the manual says where it counts from."},
		{seven, "master.hole-4.rear", "Knuckle pin hole 4 in section, plane rear lit; measure across it.", "Knuckle pin hole 4 end on; measure across it, in plane rear.", "The propeller end is at the left."},
	} {
		id := spotOf(t, c.b, c.spot)
		_, all := read(t, SketchSide(c.b, id, nil))
		if got := all[0].attrs["aria-label"]; got != c.side {
			t.Errorf("%s: %q", c.spot, got)
		}
		end := ""
		if svg := SketchEnd(c.b, id, nil); svg != "" {
			_, all := read(t, svg)
			end = all[0].attrs["aria-label"]
		}
		if end != c.end {
			t.Errorf("%s, end on: %q", c.spot, end)
		}
		if got := SketchNote(c.b, id); got != c.note {
			t.Errorf("%s: %q", c.spot, got)
		}
	}
}

// litAt is where the lit plane is: the middle of its line.
func litAt(t testing.TB, b *book.Book, spot string) (x, y float64) {
	t.Helper()
	_, all := read(t, SketchSide(b, spotOf(t, b, spot), nil))
	for i := range all {
		if d := &all[i]; d.name == "line" && d.has("plane") && d.has("lit") {
			return (d.n(t, "x1") + d.n(t, "x2")) / 2, (d.n(t, "y1") + d.n(t, "y2")) / 2
		}
	}
	t.Fatalf("%s: no plane is lit", spot)
	return 0, 0
}

// Planes are where their words say: front at the propeller's end, wherever that
// is drawn and in whichever order the book lists them; the head is up.
func TestPlanesAreWhereTheWordsSay(t *testing.T) {
	four, six, _ := demoBooks(t)
	left := func(b *book.Book, first, second string) {
		t.Helper()
		x1, _ := litAt(t, b, first)
		x2, _ := litAt(t, b, second)
		if x1 >= x2 {
			t.Errorf("%s is at %v and %s at %v", first, x1, second, x2)
		}
	}
	over := func(b *book.Book, first, second string) {
		t.Helper()
		_, y1 := litAt(t, b, first)
		_, y2 := litAt(t, b, second)
		if y1 >= y2 {
			t.Errorf("%s is at %v down and %s at %v", first, y1, second, y2)
		}
	}
	left(four, "crank.pin-3.front.0", "crank.pin-3.rear.0")
	left(four, "case.bore-1.front.45", "case.bore-1.rear.45")
	left(four, "rod-1.bigend.front.0", "rod-1.bigend.rear.0")
	left(four, "pin-1.outside.front.0", "pin-1.outside.middle.0")
	left(four, "intake-1.stem.neck.0", "intake-1.stem.tip.0")
	over(four, "cylinder-1.bore.head.0", "cylinder-1.bore.foot.0")
	over(four, "cylinder-1.inguide.top.0", "cylinder-1.inguide.port.0")
	over(six, "barrel-1.bore.top.0", "barrel-1.bore.foot.0") // listed from the top
	engine := func(first, planes string) *book.Book {
		text := anEngine("  arrangement: in-line\n  first: "+first+`
  viewpoint: accessory
  cylinders: 2
  throws: {crank.pin-1: {angle: 0, cylinders: [1]}, crank.pin-2: {angle: 180, cylinders: [2]}}`, "")
		return load(t, strings.ReplaceAll(text, "planes: [front, rear]", "planes: "+planes))
	}
	left(engine("propeller", "[front, rear]"), "crank.pin-1.front.0", "crank.pin-1.rear.0")
	left(engine("propeller", "[rear, front]"), "crank.pin-1.front.0", "crank.pin-1.rear.0")
	left(engine("accessory", "[front, rear]"), "crank.pin-1.rear.0", "crank.pin-1.front.0")
	left(engine("accessory", "[rear, front]"), "crank.pin-1.rear.0", "crank.pin-1.front.0")
	left(engine("accessory", "[a, b]"), "crank.pin-1.a.0", "crank.pin-1.b.0") // as they count
}

// A part that is counted from another end says so: its number one is at the
// left all the same, and no end of the engine is named.
func TestOwnNumbering(t *testing.T) {
	_, six, _ := demoBooks(t)
	_, all := read(t, SketchSide(six, spotOf(t, six, "head.cam-3.-.0"), nil))
	if got := fmt.Sprint(texts(all, "jn")); got != "[2 3 4 1: gear end ]" {
		t.Errorf("%s", got)
	}
	// The camshaft's layout says where each of its journals is.
	_, all = read(t, SketchSide(six, spotOf(t, six, "camshaft.journal-3.-.0"), nil))
	if got := fmt.Sprint(texts(all, "jn")); got != "[4 Journal 3 2 1 Nose propeller end accessory end]" {
		t.Errorf("%s", got)
	}
}

// Without a layout the words say which end number one is at.
func TestPlanesWithoutLayout(t *testing.T) {
	for _, c := range []struct {
		first string
		front bool // at the left
	}{{"", true}, {"{first: propeller end}", true}, {"{first: the rear}", false}, {"{first: gear end}", true}} {
		b := load(t, "format: book/1\nengine: E\nunit: in\nnumbering: "+c.first+"\nparts: {case: {shape: case, features: {bore: {name: Main bearing bore, kind: inside, places: 3, planes: [front, rear]}}}}\nlines: {l: {name: L, size: case.bore, new: 1..2}}\n")
		x1, _ := litAt(t, b, "case.bore-2.front")
		x2, _ := litAt(t, b, "case.bore-2.rear")
		if (x1 < x2) != c.front {
			t.Errorf("%s: front at %v, rear at %v", c.first, x1, x2)
		}
	}
}

// What has been read is in the drawing: a plane that is done is solid, and its
// figures stand at their directions.
func TestReadingsAreShown(t *testing.T) {
	four, _, _ := demoBooks(t)
	id := spotOf(t, four, "crank.pin-3.rear.90")
	site := four.SiteAt(id)
	readings := func(i book.SpotID) string {
		if i < id && i >= site.Spots[0] {
			return fmt.Sprintf("2.061%d", i-site.Spots[0])
		}
		return ""
	}
	count := func(svg SVG, class string) (n int) {
		_, all := read(t, svg)
		for i := range all {
			if d := &all[i]; d.name == "line" && d.class == class {
				n++
			}
		}
		return n
	}
	if open, done := count(SketchSide(four, id, nil), "plane"), count(SketchSide(four, id, readings), "plane"); open != 1 || done != 0 {
		t.Errorf("the front plane: %d dashed before, %d after", open, done)
	}
	_, all := read(t, SketchEnd(four, id, readings))
	if got := fmt.Sprint(texts(all, "fg")); got != "[2.0612]" {
		t.Errorf("read at direction 0: %s", got)
	}
}

// Directions lie by their names: degrees, the trade's words, else even.
func TestBearings(t *testing.T) {
	for _, c := range []struct {
		kind, directions string
		want             string
		how              bearing
	}{
		{"outside", "[0, 45, 90]", "[0 45 90]", byDegrees},
		{"outside", "[1, 2]", "[0 90]", evenly},
		{"outside", "[a, b, c]", "[0 60 120]", evenly},
		{"inside", "[thrust, axis]", "[90 0]", byWords},
		{"inside", "[thrust, across]", "[0 90]", evenly}, // two names for one
		{"dial", "[a, b, c, d]", "[0 90 180 270]", evenly},
		{"clearance", "[top, right, bottom, left]", "[0 90 180 270]", byWords},
		{"outside", "[400]", "[0]", evenly},
	} {
		b := load(t, "format: book/1\nengine: E\nunit: in\nparts: {p: {features: {f: {kind: "+c.kind+", directions: "+c.directions+"}}}}\nlines: {l: {name: L, "+map[bool]string{true: "run-out", false: "size"}[c.kind == "dial"]+": p.f, new: "+map[bool]string{true: "..1", false: "1..2"}[c.kind == "dial"]+"}}\n")
		at, how := newSketch(b, 0, nil).bearings()
		if fmt.Sprint(at) != c.want || how != c.how {
			t.Errorf("%s %s: %v, %d", c.kind, c.directions, at, how)
		}
	}
}

// A spot that the book has not is not drawn.
func TestNoSuchSpot(t *testing.T) {
	four, _, _ := demoBooks(t)
	for _, id := range []book.SpotID{-1, book.SpotID(len(four.Spots))} {
		if SketchSide(four, id, nil) != "" || SketchEnd(four, id, nil) != "" || SketchNote(four, id) != "" {
			t.Errorf("spot %d is drawn", id)
		}
	}
}

func TestGoldenSketches(t *testing.T) {
	four, _, seven := demoBooks(t)
	for _, c := range []struct {
		b          *book.Book
		name, spot string
	}{
		{four, "pin", "crank.pin-3.front.90"},
		{four, "bore", "cylinder-2.bore.middle.0"},
		{seven, "knuckle", "master.hole-4.rear"},
	} {
		id := spotOf(t, c.b, c.spot)
		golden(t, "sketch-"+c.name+"-side", SketchSide(c.b, id, nil))
		golden(t, "sketch-"+c.name+"-end", SketchEnd(c.b, id, nil))
	}
}

func BenchmarkSketch(b *testing.B) {
	four, _, _ := demoBooks(b)
	id := spotOf(b, four, "crank.pin-3.front.90")
	b.ReportAllocs()
	for b.Loop() {
		SketchSide(four, id, nil)
		SketchEnd(four, id, nil)
	}
}
