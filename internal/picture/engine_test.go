package picture

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tenths/internal/book"
)

func partStates(part string, position int) State { return State(len(part)+position) % 5 }

func partAddress(part string, position int) string {
	return fmt.Sprintf("/parts/%s/%d", part, position)
}

// links counts the links to each part.
func links(all []drawn) map[string]int {
	count := map[string]int{}
	for i := range all {
		if all[i].name == "a" {
			part, _, _ := strings.Cut(strings.TrimPrefix(all[i].attrs["href"], "/parts/"), "/")
			count[part]++
		}
	}
	return count
}

// An engine has all its cylinders and rods, its case, its crankshaft and its
// train, each a link of its own.
func TestEngineHasEveryPart(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, c := range []struct {
		b    *book.Book
		want string
	}{
		{four, "map[cam:1 case:1 crank:1 cylinder:4 gear:1 pump:1 rod:4]"},
		{six, "map[barrel:6 camshaft:1 case:1 crank:1 head:1 idler:1 pump:1 rod:6]"},
		{seven, "map[blower:1 cam:1 case:1 crank:1 cylinder:7 gear:1 link:6 master:1 pump:1]"},
	} {
		for _, svg := range []SVG{Engine(c.b, partStates, partAddress, false), EngineUpright(c.b, partStates, partAddress)} {
			_, all := read(t, svg)
			if got := fmt.Sprint(links(all)); got != c.want {
				t.Errorf("%s: %s", c.b.Engine, got)
			}
		}
		// The list has all of them.
		_, all := read(t, Parts(c.b, partStates, partAddress))
		got := links(all)
		for _, p := range c.b.Parts {
			if got[p.Key] != max(1, p.Positions) {
				t.Errorf("%s: the list has %s %d times", c.b.Engine, p.Key, got[p.Key])
			}
		}
	}
}

func TestEngineTargets(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, c := range []struct {
		b     *book.Book
		least int
	}{{four, 288}, {six, 456}, {seven, 288}} {
		least := EngineLeast(c.b)
		if least != c.least {
			t.Errorf("%s: %d px are asked for, want %d", c.b.Engine, least, c.least)
		}
		checkTargets(t, c.b.Engine, Engine(c.b, partStates, partAddress, false), least)
		checkTargets(t, c.b.Engine+" upright", EngineUpright(c.b, partStates, partAddress), 288)
		checkTargets(t, c.b.Engine+" as a list", Parts(c.b, partStates, partAddress), 288)
	}
	for _, b := range []*book.Book{four, six} {
		for _, svg := range []SVG{Engine(b, partStates, partAddress, false), EngineUpright(b, partStates, partAddress)} {
			_, all := read(t, svg)
			apart(t, b.Engine, targets(t, all))
		}
	}
}

// placeOfNumber is where a cylinder's number stands.
func placeOfNumber(t fataler, all []drawn, n int) (x, y float64) {
	t.Helper()
	for i := range all {
		if d := &all[i]; d.name == "text" && d.text == fmt.Sprint(n) && strings.Contains(d.link, "cylinder") {
			return d.n(t, "x"), d.n(t, "y")
		}
	}
	t.Fatal("cylinder ", n, " has no number")
	return 0, 0
}

// anEngine is a small book of an engine that is laid out so.
func anEngine(layout string, parts string) string {
	return `format: book/1
engine: Invented engine
unit: in
parts:
  crank: {name: Crankshaft, shape: shaft, features: {main: {kind: outside, places: 2, planes: [front, rear], directions: [0, 45]}, pin: {kind: outside, places: 2, planes: [front, rear], directions: [0, 90]}}}
` + parts + `
layout:
` + layout + `
  shafts: {crank: [crank.main-1, crank.pin-1, crank.pin-2, crank.main-2]}
lines: {l: {name: L, size: crank.main, new: 1..2}}
`
}

func load(t fataler, text string) *book.Book {
	t.Helper()
	b, err := book.Load("book.yaml", []byte(text))
	if err != nil {
		t.Fatal(err, text)
	}
	return b
}

// Left and right, front and back: an opposed engine is seen from above with
// number one at the top of the sheet, wherever the book sees it from.
func TestOpposedSides(t *testing.T) {
	for _, c := range []struct {
		first, viewpoint string
		right            bool // right stands at the sheet's right
	}{
		{"propeller", "accessory", true}, // the pilot's, flying up the sheet
		{"propeller", "propeller", false},
		{"accessory", "accessory", false}, // flying down it
		{"accessory", "propeller", true},
	} {
		b := load(t, anEngine(fmt.Sprintf(`  arrangement: opposed
  first: %s
  viewpoint: %s
  cylinders: 2
  right: [1]
  left: [2]
  throws: {crank.pin-1: {angle: 0, cylinders: [1]}, crank.pin-2: {angle: 180, cylinders: [2]}}
  parts: {cylinder: each}`, c.first, c.viewpoint), `  cylinder: {shape: barrel, positions: 2, features: {bore: {kind: inside}}}`))
		_, all := read(t, Engine(b, partStates, partAddress, false))
		x1, y1 := placeOfNumber(t, all, 1)
		x2, y2 := placeOfNumber(t, all, 2)
		if (x1 > x2) != c.right || y1 >= y2 {
			t.Errorf("first %s, seen from %s: cylinder 1 at %v, %v and 2 at %v, %v", c.first, c.viewpoint, x1, y1, x2, y2)
		}
		for i := range all {
			if d := &all[i]; d.text == "right" && (d.n(t, "x") > uprightW/2) != c.right {
				t.Errorf("first %s, seen from %s: right is written at the other side", c.first, c.viewpoint)
			}
		}
		var first string
		for i := range all {
			if strings.HasSuffix(all[i].text, ", number 1") {
				first = all[i].text
			}
		}
		if want := map[string]string{"propeller": "Propeller end, number 1", "accessory": "Accessory end, number 1"}[c.first]; first != want {
			t.Errorf("%q is at the top, want %q", first, want)
		}
	}
}

// A radial engine's cylinders run clockwise as seen from the viewpoint, that of
// number one as the book says.
func TestRadialRunsClockwise(t *testing.T) {
	_, _, seven := demoBooks(t)
	_, all := read(t, Engine(seven, partStates, partAddress, false))
	x1, y1 := placeOfNumber(t, all, 1)
	x2, _ := placeOfNumber(t, all, 2)
	x7, _ := placeOfNumber(t, all, 7)
	_, y4 := placeOfNumber(t, all, 4)
	if x1 != uprightW/2 || x2 <= x1 || x7 >= x1 || y4 <= y1 {
		t.Errorf("1 at %v, 2 at %v, 7 at %v", x1, x2, x7)
	}
	if !strings.Contains(all[0].attrs["aria-label"], "seen from the accessory end") {
		t.Errorf("%q", all[0].attrs["aria-label"])
	}
}

// Small, an engine is a picture without links that says what stands beyond.
func TestSmallEngine(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, b := range []*book.Book{four, six, seven} {
		n := len(b.Layout.Cylinders)
		for _, c := range []struct {
			third State
			want  string
		}{
			{New, fmt.Sprintf("of %d cylinders %d measured, 0 beyond, 0 open", n, n)},
			{Open, fmt.Sprintf("of %d cylinders %d measured, 0 beyond, 1 open", n, n-1)},
			{Beyond, fmt.Sprintf("of %d cylinders %d measured, 1 beyond, 0 open", n, n-1)},
		} {
			state := func(part string, position int) State {
				if position == 3 && (part == "cylinder" || part == "barrel") {
					return c.third
				}
				return New
			}
			frame, all := read(t, Engine(b, state, partAddress, true))
			if frame != [4]float64{0, 0, 120, 80} {
				t.Errorf("frame %v", frame)
			}
			hatched := 0
			for i := range all {
				if all[i].name == "a" || all[i].name == "text" {
					t.Errorf("%s: holds a %s", b.Engine, all[i].name)
				}
				if all[i].has("hatch") {
					hatched++
				}
			}
			if (hatched > 0) != (c.third == Beyond) {
				t.Errorf("%s: %d hatched with cylinder 3 %s", b.Engine, hatched, c.third)
			}
			if label := all[0].attrs["aria-label"]; !strings.HasSuffix(label, c.want) {
				t.Errorf("%q, want %q", label, c.want)
			}
		}
	}
}

func TestGoldenEngine(t *testing.T) {
	four, six, seven := demoBooks(t)
	golden(t, "engine-four", Engine(four, partStates, partAddress, false))
	golden(t, "engine-six-small", Engine(six, partStates, partAddress, true))
	golden(t, "engine-seven-small", Engine(seven, partStates, partAddress, true))
}

// odd is a book of an odd engine: any arrangement, number of cylinders and of
// throws, either end, shapes given or not, hostile names.
func odd(t *rapid.T) string {
	n := rapid.IntRange(1, 12).Draw(t, "cylinders")
	kind := rapid.SampledFrom([]string{"opposed", "in-line", "radial"}).Draw(t, "arrangement")
	ends := []string{"propeller", "accessory"}
	var y strings.Builder
	name := rapid.SampledFrom([]string{"Plain", `<script>alert("1")</script>`, "a & b's \"c\"", "\\u00e9\\u2028\\ud83d", strings.Repeat("long ", 30), "界"}).Draw(t, "name")
	shape := func(s string) string {
		if rapid.Bool().Draw(t, s+" is said") {
			return "shape: " + s + ", "
		}
		return ""
	}
	throws := rapid.IntRange(1, n).Draw(t, "throws")
	mains := rapid.IntRange(1, throws+1).Draw(t, "mains")
	planes := rapid.SampledFrom([]string{"", ", planes: [front, rear]", ", planes: [rear, middle, front]", ", planes: {a: 1, b: 2, c: 2.1, d: 9}"}).Draw(t, "planes")
	directions := rapid.SampledFrom([]string{"", ", directions: [0, 90]", ", directions: [thrust, pin]", ", directions: [a, b, c]", ", directions: [0, 45, 90, 135, 180, 225, 270, 315]"}).Draw(t, "directions")
	fmt.Fprintf(&y, "format: book/1\nengine: %q\nunit: in\nparts:\n", name)
	fmt.Fprintf(&y, "  crank: {%sname: %q, features: {main: {kind: outside, places: %d%s%s}, pin: {kind: outside, places: %d%s%s}}}\n", shape("shaft"), name, mains, planes, directions, throws, planes, directions)
	fmt.Fprintf(&y, "  case: {%sfeatures: {bore: {kind: inside, places: %d%s%s}, left: {kind: length, wears: smaller}}}\n", shape("case"), mains, planes, directions)
	fmt.Fprintf(&y, "  rod: {%spositions: %d, features: {bigend: {kind: inside%s%s}, width: {kind: outside, directions: [0, 180]}}}\n", shape("rod"), n, planes, directions)
	fmt.Fprintf(&y, "  cylinder: {%spositions: %d, features: {bore: {kind: inside%s%s}}}\n", shape("barrel"), n, planes, directions)
	class := rapid.SampledFrom([]string{"outside", "inside", "length", "clearance", "dial", "check", "count", "share", "angle", "mass", "force", "torque", "pressure", "flow", "time"}).Draw(t, "kind")
	more := map[string]string{"length": ", wears: either", "count": ", wears: larger", "share": ", wears: smaller", "angle": ", wears: either, unit: deg", "mass": ", wears: either, unit: g", "force": ", wears: either, unit: N", "torque": ", wears: either, unit: N·m", "pressure": ", wears: either, unit: psi", "flow": ", wears: either, unit: L/min", "time": ", wears: either, unit: s"}[class]
	part := rapid.SampledFrom([]string{"shaft", "rod", "barrel", "piston", "pin", "case", "valve", "spring", "gear", "plain", ""}).Draw(t, "shape of the other")
	if part != "" {
		part = "shape: " + part + ", "
	}
	word := rapid.SampledFrom([]string{"end", "side", "width", "seat", "guide", "lobe", "base circle", "washer", "twist", "groove", "ring gap", "load", "thrust", "flange", "wall", "length", "number", "boss"}).Draw(t, "word")
	numbered := rapid.SampledFrom([]string{"", "positions: 3, "}).Draw(t, "numbered")
	other := rapid.SampledFrom([]string{"other", "pump", "rocker", "pushrod", "tappet", "ring", "head", "camshaft"}).Draw(t, "other")
	fmt.Fprintf(&y, "  %s: {%s%sname: %q, features: {what: {name: %q, kind: %s, places: %d%s%s%s}}}\n", other, part, numbered, name, word, class, rapid.IntRange(1, 9).Draw(t, "places"), planes, directions, more)
	if rapid.Bool().Draw(t, "layout") {
		fmt.Fprintf(&y, "layout:\n  arrangement: %s\n  first: %s\n  viewpoint: %s\n  cylinders: %d\n", kind, rapid.SampledFrom(ends).Draw(t, "first"), rapid.SampledFrom(ends).Draw(t, "viewpoint"), n)
		var left, right, list []string
		on := make([][]string, throws)
		for i := range n {
			c := fmt.Sprint(i + 1)
			if rapid.Bool().Draw(t, "left") {
				left = append(left, c)
			} else {
				right = append(right, c)
			}
			k := i % throws
			on[k] = append(on[k], c)
		}
		switch {
		case kind == "opposed":
			fmt.Fprintf(&y, "  left: [%s]\n  right: [%s]\n", strings.Join(left, ", "), strings.Join(right, ", "))
		case kind == "in-line" && rapid.Bool().Draw(t, "angles"):
			for range n {
				list = append(list, fmt.Sprint(rapid.SampledFrom([]int{0, 30, 180, 330}).Draw(t, "angle")))
			}
			fmt.Fprintf(&y, "  angles: [%s]\n", strings.Join(list, ", "))
		}
		var along []string
		for i := range max(mains, throws) {
			if i < mains {
				along = append(along, fmt.Sprintf("crank.main-%d", i+1))
			}
			if i < throws {
				along = append(along, fmt.Sprintf("crank.pin-%d", i+1))
			}
		}
		fmt.Fprintf(&y, "  shafts: {crank: [%s]}\n  throws:\n", strings.Join(along, ", "))
		for i := range throws {
			master := ""
			if kind == "radial" && len(on[i]) > 1 {
				master = ", master: " + on[i][0]
			}
			fmt.Fprintf(&y, "    crank.pin-%d: {angle: %d, cylinders: [%s]%s}\n", i+1, rapid.IntRange(0, 359).Draw(t, "throw"), strings.Join(on[i], ", "), master)
		}
		if rapid.Bool().Draw(t, "owners") {
			fmt.Fprint(&y, "  parts: {rod: each, cylinder: each}\n")
		}
	}
	fmt.Fprint(&y, "lines: {l: {name: L, size: rod.bigend, new: 1..2}}\n")
	return y.String()
}

// However odd the engine, everything is drawn well formed, with as many
// cylinders as the book has, nothing of its names is taken for markup, and every
// target is large enough.
func TestOddEngines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := load(t, odd(t))
		all := []SVG{
			Engine(b, partStates, partAddress, false), Engine(b, nil, nil, false), Engine(b, partStates, nil, true),
			EngineUpright(b, partStates, partAddress), EngineUpright(b, nil, nil), Parts(b, partStates, partAddress),
		}
		for _, svg := range all {
			read(t, svg)
		}
		checkTargets(t, "engine", all[0], EngineLeast(b))
		upright := int(uprightW)
		if b.Layout != nil && b.Layout.Arrangement == book.Radial {
			upright = EngineLeast(b) // more than nine want more room
		}
		checkTargets(t, "engine upright", all[3], upright)
		checkTargets(t, "parts", all[5], 288)
		if b.Layout != nil && len(b.Layout.Of) > 0 {
			_, drawn := read(t, all[0])
			if got := links(drawn); got["cylinder"] != len(b.Layout.Cylinders) || got["rod"] != len(b.Layout.Cylinders) {
				t.Fatal("drawn are ", got, ", the book has ", len(b.Layout.Cylinders), " cylinders")
			}
		}
		hand := b.Sites[rapid.IntRange(0, len(b.Sites)-1).Draw(t, "hand")]
		if svg := Crank(b, someStates, someAddress, hand); svg != "" {
			checkTargets(t, "crank", svg, CrankLeast(b))
			checkTargets(t, "crank upright", CrankUpright(b, someStates, someAddress, hand), uprightWide)
			read(t, Crank(b, nil, nil, nil))
			read(t, CrankUpright(b, nil, nil, nil))
		} else if b.Layout != nil {
			t.Fatal("the crankshaft of a layout is not drawn")
		}
		// Of each feature the first and the last spot of its last place.
		for _, p := range b.Parts {
			for _, f := range p.Features {
				spots := f.Sites[len(f.Sites)-1].Spots
				checkSketch(t, b, spots[0])
				checkSketch(t, b, spots[len(spots)-1])
			}
		}
	})
}

func BenchmarkEngine(b *testing.B) {
	four, _, _ := demoBooks(b)
	b.ReportAllocs()
	for b.Loop() {
		Engine(four, partStates, partAddress, false)
	}
}

func BenchmarkEngineSmall(b *testing.B) {
	four, _, _ := demoBooks(b)
	b.ReportAllocs()
	for b.Loop() {
		Engine(four, partStates, nil, true)
	}
}
