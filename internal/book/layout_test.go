package book

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/fault"
)

// Three invented engines, one of each arrangement. Cylinders of a radial
// engine are numbered clockwise as seen from the accessory end, the top one
// first: FAA-H-8083-32, chapter 1 (from memory).
const (
	opposedBook = `format: book/1
engine: Invented opposed engine
unit: in
numbering: {first: propeller end, left: the side of cylinders 2 and 4, viewpoint: behind the engine}
parts:
  crank:
    shape: shaft
    material: forged steel
    treatment: nitrided
    numbering: {first: accessory end}
    features:
      main: {kind: outside, places: 3}
      pin: {kind: outside, places: 4}
  case:
    shape: case
    material: aluminum alloy
    features:
      left: {kind: length, wears: smaller, places: 3}
      right: {kind: length, wears: smaller, places: 3}
  rod: {shape: rod, positions: 4, features: {bigend: {kind: inside}}}
  cap: {positions: 4, features: {width: {kind: outside}}}
  piston: {shape: piston, positions: 4, features: {skirt: {kind: outside}}}
  valve: {shape: valve, positions: 8, features: {stem: {kind: outside}}}
layout:
  arrangement: opposed
  first: propeller
  viewpoint: accessory
  cylinders: 4
  right: [1, 3]
  left: [2, 4]
  shafts:
    crank: [crank.main-3, crank.pin-1, crank.pin-2, crank.main-2, crank.pin-3, crank.pin-4, crank.main-1]
  throws:
    crank.pin-4: {angle: 0, cylinders: [4]}
    crank.pin-3: {angle: 180, cylinders: [3]}
    crank.pin-1: {angle: 0, cylinders: [1]}
    crank.pin-2: {angle: 180, cylinders: [2]}
  parts:
    rod: each
    piston: each
    valve: [1, 1, 2, 2, 3, 3, 4, 4]
sets:
  rod-and-cap: {kind: pair, of: [rod, cap], why: Bored together}
  inserts: {kind: pair, of: [case.left, case.right]}
  opposite: {kind: set, of: [rod-1, rod-2]}
  pistons: {kind: set, of: [piston], why: Of one weight}
lines:
  main: {name: Main, size: crank.main, new: 2.2490..2.2500}
`
	inLineBook = `format: book/1
engine: Invented in-line engine, inverted
unit: in
parts:
  crank:
    features:
      main: {kind: outside, places: 3}
      pin: {kind: outside, places: 2}
layout:
  arrangement: in-line
  first: propeller
  viewpoint: propeller
  cylinders: 2
  angles: [180, 180]
  shafts: {crank: [crank.main-1, crank.pin-1, crank.main-2, crank.pin-2, crank.main-3]}
  throws:
    crank.pin-1: {angle: 0, cylinders: [1]}
    crank.pin-2: {angle: 359.5, cylinders: [2]}
lines:
  main: {name: Main, size: crank.main, new: 2.2490..2.2500}
`
	radialBook = `format: book/1
engine: Invented radial engine
unit: in
parts:
  front: {shape: shaft, features: {main: {kind: outside}, pin: {kind: outside}}}
  rear: {shape: shaft, features: {main: {kind: outside}}}
  master: {shape: rod, features: {bigend: {kind: inside}}}
  link: {shape: rod, positions: 8, features: {bore: {kind: inside}}}
layout:
  arrangement: radial
  first: accessory
  viewpoint: accessory
  cylinders: 9
  shafts: {front: [rear.main, front.pin, front.main]}
  throws: {front.pin: {angle: 0, cylinders: [1, 2, 3, 4, 5, 6, 7, 8, 9], master: 5}}
  parts: {master: [5], link: [1, 2, 3, 4, 6, 7, 8, 9]}
lines:
  main: {name: Main, size: front.main, new: 2.2490..2.2500}
`
)

func loaded(t *testing.T, text string) *Book {
	t.Helper()
	b, err := Load("book.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestNumberingIsOneSentence(t *testing.T) {
	for _, c := range []struct {
		n    Numbering
		want string
	}{
		{Numbering{}, ""},
		{Numbering{First: "propeller end"}, "1 is at the propeller end"},
		{Numbering{First: "at the rear", Viewpoint: "from the rear"}, "1 is at the rear; left and right as seen from the rear"},
		{Numbering{First: "the propeller end", Viewpoint: "behind the engine"}, "1 is at the propeller end; left and right as seen from behind the engine"},
		{Numbering{First: "gear end", Viewpoint: "standing behind the engine, facing the propeller"}, "1 is at the gear end; left and right as seen standing behind the engine, facing the propeller"},
		{Numbering{First: "front", Left: "the pilot's left"}, "1 is at the front; left is the pilot's left"},
		{Numbering{First: "front", Left: "the magneto side", Viewpoint: "as seen from above"}, "1 is at the front; left is the magneto side, as seen from above"},
	} {
		if got := c.n.String(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.n, got, c.want)
		}
	}
}

// A part says only what is otherwise than for the engine.
func TestNumberingOfParts(t *testing.T) {
	for _, c := range []struct{ engine, part, want string }{
		{"", "", ""},
		{"", "{first: rear}", "1 is at the rear"},
		{"{first: front}", "", "1 is at the front"},
		{"{first: front, viewpoint: the rear}", "{first: rear}", "1 is at the rear; left and right as seen from the rear"},
		{"{first: front, left: the port side, viewpoint: the rear}", "{viewpoint: the front}", "1 is at the front; left and right as seen from the front"},
		{"{first: front, viewpoint: the rear}", "{left: the port side}", "1 is at the front; left is the port side"},
	} {
		b := loaded(t, "format: book/1\nengine: E\nunit: in\nnumbering: "+c.engine+
			"\nparts: {p: {numbering: "+c.part+"\n, features: {f: {kind: outside}}}}\nlines: {l: {name: L, size: p.f, new: 1..2}}\n")
		if got := b.Parts[0].Numbering.String(); got != c.want {
			t.Errorf("%s, %s: %q, want %q", c.engine, c.part, got, c.want)
		}
	}
	for _, c := range []struct{ text, want string }{
		{opposedBook, "1 is at the propeller end; left is the side of cylinders 2 and 4, as seen from behind the engine"},
		{inLineBook, "1 is at the propeller end; left and right as seen from the propeller end"}, // by its layout
	} {
		if got := loaded(t, c.text).Numbering.String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	for _, text := range []string{"numbering: {left: the port side}", "numbering: {}", "numbering: {first: \"\"}"} {
		list := faultsOf(t, strings.Replace(inLineBook, "layout:", text+"\nnolayout:", 1))
		if !slices.ContainsFunc(list, func(f fault.Fault) bool { return f.Code == "missing" && f.Field == "numbering" }) {
			t.Errorf("%s: %v", text, list)
		}
	}
}

func TestMetals(t *testing.T) {
	for _, c := range []struct {
		words string
		metal Metal
	}{
		{"", 0},
		{"titanium", 0},
		{"steel", Steel},
		{"Forged steel, chromium-plated", Steel},
		{"cast iron", CastIron},
		{"aluminum alloy casting", Aluminium},
		{"Aluminium", Aluminium},
		{"magnesium", Magnesium},
		{"aluminium bronze", Bronze},
		{"steel-backed bronze", Bronze},
	} {
		if got := metalOf(c.words); got != c.metal {
			t.Errorf("%q is %q, want %q", c.words, got, c.metal)
		}
	}
	p := loaded(t, opposedBook).Parts
	if diff := cmp.Diff(Make{"forged steel", Steel, "nitrided"}, p[0].Make); diff != "" {
		t.Error(diff)
	}
	if p[0].Shape != ShaftShape || p[1].Shape != CaseShape || p[3].Shape != 0 {
		t.Errorf("shapes %q, %q, %q", p[0].Shape, p[1].Shape, p[3].Shape)
	}
}

func TestSets(t *testing.T) {
	var got []string
	for _, s := range loaded(t, opposedBook).Sets {
		text := s.Key + " " + s.Kind.String() + " " + s.Why
		for _, g := range s.Groups {
			text += fmt.Sprint(" ", g)
		}
		got = append(got, text)
	}
	want := []string{
		"rod-and-cap pair Bored together [rod-1 cap-1] [rod-2 cap-2] [rod-3 cap-3] [rod-4 cap-4]",
		"inserts pair  [case.left-1 case.right-1] [case.left-2 case.right-2] [case.left-3 case.right-3]",
		"opposite set  [rod-1 rod-2]",
		"pistons set Of one weight [piston-1 piston-2 piston-3 piston-4]",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Sets can't name more than a program should hold.
func TestTooManyMembers(t *testing.T) {
	list := faultsOf(t, `format: book/1
engine: E
unit: in
parts: {p: {positions: 999, features: {f: {kind: outside, places: 90}, g: {kind: outside}}}}
sets: {a: {kind: set, of: [p.f]}, b: {kind: set, of: [p.f]}}
lines: {l: {name: L, size: p.g, new: 1..2}}
`)
	if len(list) != 1 || list[0].Code != "count" || list[0].Field != "sets.b.of" {
		t.Error(list)
	}
}

// described writes a layout so that a person can check it against its book.
func described(l *Layout) []string {
	all := []string{fmt.Sprintf("%s, one at %s, seen from %s", l.Arrangement, l.First, l.Viewpoint)}
	for i, c := range l.Cylinders {
		all = append(all, fmt.Sprintf("cylinder %d at %s° on throw %d", i+1, c.Angle.Rat().RatString(), c.Throw))
	}
	for _, s := range l.Shafts {
		all = append(all, fmt.Sprintf("%s: %v", s.Part.Key, s.Sites))
	}
	for _, t := range l.Throws {
		all = append(all, fmt.Sprintf("%s at %s° carries %d, master %d", t.Pin, t.Angle.Rat().RatString(), t.Cylinders, t.Master))
	}
	var of []string
	for p, numbers := range l.Of {
		of = append(of, fmt.Sprintf("%s of %d", p.Key, numbers))
	}
	slices.Sort(of)
	return append(all, of...)
}

func TestLayout(t *testing.T) {
	for _, c := range []struct {
		text string
		want []string
	}{
		{opposedBook, []string{
			"opposed, one at propeller, seen from accessory",
			"cylinder 1 at 90° on throw 0",
			"cylinder 2 at 270° on throw 1",
			"cylinder 3 at 90° on throw 2",
			"cylinder 4 at 270° on throw 3",
			"crank: [crank.main-3 crank.pin-1 crank.pin-2 crank.main-2 crank.pin-3 crank.pin-4 crank.main-1]",
			"crank.pin-1 at 0° carries [1], master 0",
			"crank.pin-2 at 180° carries [2], master 0",
			"crank.pin-3 at 180° carries [3], master 0",
			"crank.pin-4 at 0° carries [4], master 0",
			"piston of [1 2 3 4]",
			"rod of [1 2 3 4]",
			"valve of [1 1 2 2 3 3 4 4]",
		}},
		{inLineBook, []string{
			"in-line, one at propeller, seen from propeller",
			"cylinder 1 at 180° on throw 0",
			"cylinder 2 at 180° on throw 1",
			"crank: [crank.main-1 crank.pin-1 crank.main-2 crank.pin-2 crank.main-3]",
			"crank.pin-1 at 0° carries [1], master 0",
			"crank.pin-2 at 719/2° carries [2], master 0",
		}},
		{radialBook, []string{
			"radial, one at accessory, seen from accessory",
			"cylinder 1 at 0° on throw 0",
			"cylinder 2 at 40° on throw 0",
			"cylinder 3 at 80° on throw 0",
			"cylinder 4 at 120° on throw 0",
			"cylinder 5 at 160° on throw 0",
			"cylinder 6 at 200° on throw 0",
			"cylinder 7 at 240° on throw 0",
			"cylinder 8 at 280° on throw 0",
			"cylinder 9 at 320° on throw 0",
			"front: [rear.main front.pin front.main]",
			"front.pin at 0° carries [1 2 3 4 5 6 7 8 9], master 5",
			"link of [1 2 3 4 6 7 8 9]",
			"master of [5]",
		}},
	} {
		if diff := cmp.Diff(c.want, described(loaded(t, c.text).Layout)); diff != "" {
			t.Error(diff)
		}
	}
	if l := loaded(t, small+"  main: {name: Main, size: crank.main, new: 1..2}\n").Layout; l != nil {
		t.Errorf("a book without a layout has one: %+v", l)
	}
}

// One slip in a good book is one fault, at the place of the slip.
func TestLayoutFaults(t *testing.T) {
	for _, c := range []struct{ book, old, new, want string }{
		{opposedBook, "arrangement: opposed", "arrangement: flat", "layout.arrangement choice flat"},
		{opposedBook, "  arrangement: opposed\n", "", "layout.arrangement missing "},
		{opposedBook, "  first: propeller\n", "", "layout.first missing "},
		{opposedBook, "viewpoint: accessory", "viewpoint: above", "layout.viewpoint choice above"},
		{opposedBook, "  cylinders: 4\n", "", "layout.cylinders missing "},
		{opposedBook, "cylinders: 4", "cylinders: four", "layout.cylinders count four"},
		{opposedBook, "left: [2, 4]", "left: [2]", "layout missing "},
		{opposedBook, "left: [2, 4]", "left: [2, 4, 1]", "layout.right doubled-key 1"},
		{opposedBook, "left: [2, 4]", "left: [2, 4, 5]", "layout.left nowhere 5"},
		{opposedBook, "left: [2, 4]", "left: [2, 04, 4]", "layout.left nowhere 04"},
		{opposedBook, "left: [2, 4]", "left: 2", "layout missing |layout missing |layout.left shape 2"},
		{opposedBook, "right: [1, 3]", "angles: [0]", "layout.angles choice 0"},
		{opposedBook, "crank.pin-1, crank.pin-2, crank.main-2", "crank.pin-1, crank.pin-2, crank.pin-2, crank.main-2", "layout.shafts.crank doubled-key crank.pin-2"},
		{opposedBook, ", crank.main-1]", "]", "layout.shafts missing crank.main-2"},
		{opposedBook, ", crank.main-1]", ", crank.main-4]", "layout.shafts.crank nowhere crank.main-4"},
		{opposedBook, ", crank.main-1]", ", crank.main-1, crank.main]", "layout.shafts.crank nowhere crank.main"},
		{opposedBook, ", crank.main-1]", ", crank.main-1, cam.lobe-1]", "layout.shafts.crank nowhere cam.lobe-1"},
		{opposedBook, ", crank.main-1]", ", crank.main-1, crank.lobe-1]", "layout.shafts.crank nowhere crank.lobe-1"},
		{opposedBook, ", crank.main-1]", ", crank.main-1, crank]", "layout.shafts.crank nowhere crank"},
		{opposedBook, "    crank: [crank.main-3", "    camshaft: [crank.main-3", "layout.shafts nowhere camshaft"},
		{inLineBook, "  shafts: {crank: [crank.main-1, crank.pin-1, crank.main-2, crank.pin-2, crank.main-3]}\n", "", "layout.shafts missing "},
		{inLineBook, "[crank.main-1, crank.pin-1, crank.main-2, crank.pin-2, crank.main-3]", "[]", "layout.shafts.crank missing crank"},
		{inLineBook, "[crank.main-1, crank.pin-1, crank.main-2, crank.pin-2, crank.main-3]", "[crank.main-1, crank.main-2, crank.main-3]", "layout.throws nowhere crank.pin-1|layout.throws nowhere crank.pin-2"},
		{opposedBook, "crank.pin-4: {angle: 0, cylinders: [4]}", "crank.pin-5: {angle: 0, cylinders: [4]}", "layout.throws nowhere crank.pin-5"},
		{opposedBook, "    crank.pin-4: {angle: 0, cylinders: [4]}\n", "", "layout.throws missing crank.pin-3"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{angle: 0, cylinders: [4, 3]}", "layout.throws.crank.pin-3.cylinders doubled-key 3"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{angle: 0}", "layout.throws.crank.pin-4.cylinders missing crank.pin-4"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{cylinders: [4]}", "layout.throws.crank.pin-4.angle missing crank.pin-4"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{angle: 360, cylinders: [4]}", "layout.throws.crank.pin-4.angle figure 360"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{angle: -90, cylinders: [4]}", "layout.throws.crank.pin-4.angle figure -90"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{angle: up, cylinders: [4]}", "layout.throws.crank.pin-4.angle figure up"},
		{opposedBook, "{angle: 0, cylinders: [4]}", "{angle: 0, cylinders: [4], master: 3}", "layout.throws.crank.pin-4.master nowhere 3"},
		{radialBook, "  throws: {front.pin: {angle: 0, cylinders: [1, 2, 3, 4, 5, 6, 7, 8, 9], master: 5}}\n", "", "layout.throws missing "},
		{radialBook, ", master: 5", "", "layout.throws.front.pin.master missing front.pin"},
		{radialBook, "cylinders: 9\n", "cylinders: 9\n  left: [1]\n", "layout choice 1"},
		{radialBook, "cylinders: 9\n", "cylinders: 9\n  angles: [0, 40]\n", "layout.angles count 0"},
		{radialBook, "cylinders: 9\n", "cylinders: 9\n  angles: [0, 40, 80, 120, 160, 200, 240, 320, 280]\n", "layout.angles figure 280"},
		{radialBook, "cylinders: 9\n", "cylinders: 9\n  angles: [0, 4O, 80, 120, 160, 200, 240, 280, 320]\n", "layout.angles figure 4O"},
		{radialBook, "cylinders: 9\n", "cylinders: 9\n  angles: [0, 320, 280, 240, 200, 160, 120, 80, 40]\n", "layout.angles figure 280"},
		{radialBook, "link: [1, 2,", "link: [1, 1,", "layout.parts.link doubled-key link"},
		{radialBook, "link: [1, 2,", "link: [1, 10,", "layout.parts.link nowhere 10"},
		{radialBook, "parts: {master: [5], link: [1, 2, 3, 4, 6, 7, 8, 9]}", "parts: {link: [1, 2, 3, 4, 6, 7, 8, 9]}", "layout.parts missing link"},
		{radialBook, "link: [1, 2,", "link: [1,", "layout.parts.link count link"},
		{radialBook, "master: [5]", "master: each", "layout.parts.master count each"},
		{opposedBook, "rod: each", "rod: all", "layout.parts.rod choice all"},
		{opposedBook, "rod: each", "rods: each", "layout.parts nowhere rods"},
		{opposedBook, "rod: each", "rod: {1: 1}", "layout.parts.rod shape "},
		{opposedBook, "shape: shaft", "shape: crank", "parts.crank.shape choice crank"},
		{opposedBook, "treatment: nitrided", "treatment: Nitrided", ""},
		{opposedBook, "material: aluminum alloy", "{material: aluminum alloy, treatment: nitrided}", "syntax"},
		{opposedBook, "material: aluminum alloy", "material: aluminum alloy\n    treatment: nitrided", "parts.case.treatment choice nitrided"},
		{opposedBook, "kind: pair, of: [rod, cap]", "of: [rod, cap]", "sets.rod-and-cap.kind missing rod-and-cap"},
		{opposedBook, "kind: pair, of: [rod, cap]", "kind: both, of: [rod, cap]", "sets.rod-and-cap.kind choice both"},
		{opposedBook, "of: [rod, cap]", "of: []", "sets.rod-and-cap.of missing rod-and-cap"},
		{opposedBook, "of: [rod, cap]", "of: [rod, bolt]", "sets.rod-and-cap.of nowhere bolt"},
		{opposedBook, "of: [rod, cap]", "of: [rod, rod.cap]", "sets.rod-and-cap.of nowhere rod.cap"},
		{opposedBook, "of: [rod, cap]", "of: [rod, cap-5]", "sets.rod-and-cap.of nowhere cap-5"},
		{opposedBook, "of: [rod, cap]", "of: [rod, cap-0]", "sets.rod-and-cap.of nowhere cap-0"},
		{opposedBook, "of: [rod, cap]", "of: [rod, cap-1]", "sets.rod-and-cap.of count cap-1"},
		{opposedBook, "of: [rod, cap]", "of: [rod]", "sets.rod-and-cap.of count rod"},
		{opposedBook, "of: [rod, cap]", "of: [rod, rod-2]", "sets.rod-and-cap.of doubled-key rod-2"},
		{opposedBook, "of: [case.left, case.right]", "of: [case.left-1, case.right-4]", "sets.inserts.of nowhere case.right-4"},
		{opposedBook, "of: [piston]", "of: [piston-1]", "sets.pistons.of count piston-1"},
		{opposedBook, "pistons: {kind", "Pistons: {kind", "sets name Pistons"},
		{opposedBook, "pistons: {kind", "opposite: {kind", "sets doubled-key opposite"},
	} {
		text := strings.Replace(c.book, c.old, c.new, 1)
		if text == c.book {
			t.Fatalf("%q is not in the book", c.old)
		}
		var got []string
		for _, f := range faultsOf(t, text) {
			if f.Line == 0 || f.Column == 0 {
				t.Errorf("a fault without its place: %v", f)
			}
			got = append(got, f.Field+" "+f.Code+" "+f.Text)
		}
		if c.want == "syntax" {
			if len(got) == 0 {
				t.Errorf("%s: taken", c.new)
			}
			continue
		}
		if joined := strings.Join(got, "|"); joined != c.want {
			t.Errorf("%s → %s:\n got %s\nwant %s", c.old, c.new, joined, c.want)
		}
	}
}

// Throws stand in the order of the shaft, whatever the order in the file, and
// a radial engine's cylinders are even all round.
func TestLayoutLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 24).Draw(t, "cylinders")
		var shaft, throws []string
		for i := range n {
			shaft = append(shaft, fmt.Sprintf("crank.pin-%d", i+1))
			throws = append(throws, fmt.Sprintf("crank.pin-%d: {angle: %d, cylinders: [%d]}", i+1, i*7, i+1))
		}
		throws = rapid.Permutation(throws).Draw(t, "throws")
		b, err := Load("book.yaml", fmt.Appendf(nil, `format: book/1
engine: E
unit: in
parts: {crank: {features: {pin: {kind: outside, places: %d}}}}
layout: {arrangement: radial, first: propeller, viewpoint: propeller, cylinders: %d, shafts: {crank: [%s]}, throws: {%s}}
lines: {l: {name: L, size: crank.pin, new: 1..2}}
`, n, n, strings.Join(shaft, ", "), strings.Join(throws, ", ")))
		if err != nil {
			t.Fatal(err)
		}
		l := b.Layout
		for i, c := range l.Cylinders {
			if c.Throw != i || l.Throws[i].Pin != l.Shafts[0].Sites[i] || !slices.Equal(l.Throws[i].Cylinders, []int{i + 1}) {
				t.Errorf("cylinder %d is on %s", i+1, l.Throws[c.Throw].Pin)
			}
			if c.Angle.Cmp(degrees(i, n)) != 0 {
				t.Errorf("cylinder %d of %d at %s", i+1, n, c.Angle.Rat())
			}
		}
	})
}

// A feature of too many places is told where it stands; the layout waits for it.
func TestLayoutOfTooMany(t *testing.T) {
	text := strings.Replace(opposedBook, "pin: {kind: outside, places: 4}", "pin: {kind: outside, places: 999}", 1)
	text = strings.Replace(text, "  crank:\n", "  crank:\n    positions: 999\n", 1)
	text = strings.Replace(text, "size: crank.main", "size: rod.bigend", 1)
	if list := faultsOf(t, text); len(list) == 0 || list[0].Code != "count" {
		t.Error(list)
	}
}

func FuzzLayout(f *testing.F) {
	for _, text := range []string{opposedBook, inLineBook, radialBook} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		b, err := Load("book.yaml", []byte(text))
		if err != nil {
			return
		}
		for _, s := range b.Sets {
			if len(s.Groups) == 0 || len(s.Groups[0]) < 2 {
				t.Errorf("set %s has nothing that belongs together", s.Key)
			}
		}
		if b.Layout == nil {
			return
		}
		for i, c := range b.Layout.Cylinders {
			if c.Angle.Sign() < 0 || c.Angle.Cmp(degrees(1, 1)) >= 0 {
				t.Errorf("cylinder %d at %s°", i+1, c.Angle.Rat())
			}
			throw := b.Layout.Throws[c.Throw]
			if !slices.Contains(throw.Cylinders, i+1) {
				t.Errorf("cylinder %d is not on its throw", i+1)
			}
			if !slices.ContainsFunc(b.Layout.Shafts, func(s Shaft) bool { return slices.Contains(s.Sites, throw.Pin) }) {
				t.Errorf("%s is on no shaft", throw.Pin)
			}
		}
	})
}

// The words that an editor offers are those that the program takes.
func TestWordsOfTags(t *testing.T) {
	var kinds []string
	for _, c := range classes {
		kinds = append(kinds, c.word)
	}
	for _, c := range []struct {
		of    reflect.Type
		field string
		words []string
	}{
		{reflect.TypeFor[rawFeature](), "Kind", kinds},
		{reflect.TypeFor[rawPart](), "Shape", shapeWords},
		{reflect.TypeFor[rawSet](), "Kind", setWords},
		{reflect.TypeFor[layoutKeys](), "Arrangement", arrangementWords},
		{reflect.TypeFor[layoutKeys](), "First", endWords},
		{reflect.TypeFor[layoutKeys](), "Viewpoint", endWords},
	} {
		f, _ := c.of.FieldByName(c.field)
		offered := strings.Split(f.Tag.Get("enum"), ",")
		slices.Sort(offered)
		if diff := cmp.Diff(slices.Sorted(slices.Values(c.words)), offered); diff != "" {
			t.Errorf("%s.%s: %s", c.of, c.field, diff)
		}
	}
}
