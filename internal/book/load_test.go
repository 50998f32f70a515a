package book

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/fault"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

var update = flag.Bool("update", os.Getenv("UPDATE") != "", "rewrite the golden files")

// golden compares text with a file of testdata, or rewrites it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", path, diff)
	}
}

func faultsOf(t *testing.T, text string) fault.List {
	t.Helper()
	b, err := Load("book.yaml", []byte(text))
	if err == nil {
		return nil
	}
	if b != nil {
		t.Error("a book in fault was returned all the same")
	}
	var list fault.List
	if !errors.As(err, &list) {
		t.Fatalf("not a list of faults: %v", err)
	}
	return list
}

// One book holds every sort of fault, and one run lists them all.
func TestGoldenEveryFault(t *testing.T) {
	data, err := os.ReadFile("testdata/faults.yaml")
	if err != nil {
		t.Fatal(err)
	}
	list := faultsOf(t, string(data))
	golden(t, "faults.txt", list.Error()+"\n")
	told := map[string]bool{}
	for _, f := range list {
		told[f.Code] = true
		if f.Line == 0 || f.Column == 0 || f.What == "" {
			t.Errorf("a fault without its place or what it is: %+v", f)
		}
		if !slices.ContainsFunc(Codes, func(c Code) bool { return c.Code == f.Code }) {
			t.Errorf("code %q is not in Codes", f.Code)
		}
	}
	for _, c := range Codes {
		if !told[c.Code] {
			t.Errorf("testdata/faults.yaml has no fault %q", c.Code)
		}
	}
}

const small = `format: book/1
engine: Small engine
unit: in
parts:
  crank:
    features:
      main: {kind: outside, places: 2, planes: {front: 0.25, rear: 1.75}, directions: [0, 90]}
  rod:
    positions: 2
    features:
      bigend: {kind: inside, directions: [0, 90]}
lines:
`

// Scalars are taken as text, whatever YAML's own rules would make of them.
func TestScalarsAreText(t *testing.T) {
	for _, c := range []struct{ written, service string }{
		{"2.2490", "2.2490"},
		{"4.10", "4.10"},
		{"010", "010"},
		{"+0.0002", "+0.0002"},
		{"1e3", "1e3"},
		{"0x10", "0x10"},
		{"yes", "yes"},
		{"2026-01-05", "2026-01-05"},
		{".5", ".5"},
		{"0o17", "0o17"},
		{"1_000", "1_000"},
		{".inf", ".inf"},
	} {
		b, err := Load("b", []byte(small+"  main:\n    name: "+c.written+"\n    ref: "+c.written+"\n    page: "+c.written+"\n    size: crank.main\n    new: 2.2490..2.2500\n"))
		if err != nil {
			t.Errorf("%s: %v", c.written, err)
			continue
		}
		if l := b.Lines[0]; l.Name != c.service || l.Ref != c.service || l.Page != c.service {
			t.Errorf("%s was read as %q, %q, %q", c.written, l.Name, l.Ref, l.Page)
		}
	}
}

// Limits keep the figure that the cell shows and refuse what is not a plain
// number, as YAML would not.
func TestLimitsAreText(t *testing.T) {
	for _, c := range []struct {
		cell     string
		decimals int // −1: refused
	}{
		{"min 2.2490", 4},
		{"min 4.10", 2},
		{"min 010", 0},
		{"min +0.0002", 4},
		{"min 1e3", -1},
		{"min 0x10", -1},
		{"yes", -1},
		{"2026-01-05", -1},
	} {
		b, err := Load("b", []byte(small+"  main: {name: Main, size: crank.main, new: "+c.cell+"}\n"))
		switch {
		case c.decimals < 0:
			if err == nil {
				t.Errorf("%s was taken as %+v", c.cell, b.Lines[0].Limit)
			}
		case err != nil:
			t.Errorf("%s: %v", c.cell, err)
		case b.Lines[0].Decimals != c.decimals:
			t.Errorf("%s has %d decimals, want %d", c.cell, b.Lines[0].Decimals, c.decimals)
		}
	}
}

func TestInstances(t *testing.T) {
	b, err := Load("b", []byte(`format: book/1
engine: Engine
unit: in
parts:
  crank:
    features:
      main: {kind: outside, places: 3}
      pin: {kind: outside, places: 2, directions: [0, 90]}
  rod:
    positions: 4
    features:
      bigend: {kind: inside, planes: [front, rear]}
  piston:
    positions: 2
    features:
      ring: {kind: inside, places: 2}
      land: {kind: outside}
lines:
  main-size: {name: Main, size: crank.main, new: min 1}
  pin-fit:
    name: Two rods on a pin
    fit: rod.bigend - crank.pin
    mates: {crank.pin: [crank.pin-1, crank.pin-2, crank.pin-1, crank.pin-2]}
    new: 0.0010L..0.0030L
  ring-size: {name: Ring, size: piston.ring, new: max 1}
  ring-fit: {name: Ring in its bore, fit: piston.ring - piston.land, new: 0.0010L..0.0030L}
`))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range b.Lines {
		for at, inst := range l.Instances {
			text := l.ID(at) + ":"
			for _, s := range inst.Sites {
				text += " " + s.String()
			}
			for _, id := range inst.Spots {
				text += " " + b.Spots[id].String()
			}
			got = append(got, text)
		}
	}
	want := []string{
		"main-size-1: crank.main-1 crank.main-1",
		"main-size-2: crank.main-2 crank.main-2",
		"main-size-3: crank.main-3 crank.main-3",
		"pin-fit-1: rod-1.bigend crank.pin-1 rod-1.bigend.front rod-1.bigend.rear crank.pin-1.-.0 crank.pin-1.-.90",
		"pin-fit-2: rod-2.bigend crank.pin-2 rod-2.bigend.front rod-2.bigend.rear crank.pin-2.-.0 crank.pin-2.-.90",
		"pin-fit-3: rod-3.bigend crank.pin-1 rod-3.bigend.front rod-3.bigend.rear crank.pin-1.-.0 crank.pin-1.-.90",
		"pin-fit-4: rod-4.bigend crank.pin-2 rod-4.bigend.front rod-4.bigend.rear crank.pin-2.-.0 crank.pin-2.-.90",
		"ring-size-1.1: piston-1.ring-1 piston-1.ring-1",
		"ring-size-1.2: piston-1.ring-2 piston-1.ring-2",
		"ring-size-2.1: piston-2.ring-1 piston-2.ring-1",
		"ring-size-2.2: piston-2.ring-2 piston-2.ring-2",
		"ring-fit-1.1: piston-1.ring-1 piston-1.land piston-1.ring-1 piston-1.land",
		"ring-fit-1.2: piston-1.ring-2 piston-1.land piston-1.ring-2 piston-1.land",
		"ring-fit-2.1: piston-2.ring-1 piston-2.land piston-2.ring-1 piston-2.land",
		"ring-fit-2.2: piston-2.ring-2 piston-2.land piston-2.ring-2 piston-2.land",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for _, s := range b.Spots {
		if id, ok := b.Spot(s.String()); !ok || b.Spots[id] != s {
			t.Errorf("%s is not found by its text", s)
		}
	}
}

// Which way a feature wears decides which side a used part is held on.
func TestHeld(t *testing.T) {
	for _, c := range []struct {
		feature, line string
		held          limit.Side
		min, max      string // of the service tier
	}{
		{"{kind: outside}", "{name: L, size: p.f, new: 1.0000..1.0010, service: 0.9990}", limit.Low, "0.9990", ""},
		{"{kind: inside}", "{name: L, size: p.f, new: 1.0000..1.0010, service: 1.0020}", limit.High, "", "1.0020"},
		{"{kind: outside, wears: larger}", "{name: L, size: p.f, new: 1.0000..1.0010, service: 1.0020}", limit.High, "", "1.0020"},
		{"{kind: length, wears: either}", "{name: L, size: p.f, new: 1.0000..1.0010, service: 0.9990..1.0020}", limit.Both, "0.9990", "1.0020"},
		{"{kind: clearance}", "{name: L, size: p.f, new: 0.0010..0.0030, service: 0.0050}", limit.Both, "0.0010", "0.0050"},
		{"{kind: dial, directions: [0, 90]}", "{name: L, run-out: p.f, new: ..0.0010, service: 0.0020}", limit.High, "", "0.0020"},
	} {
		b, err := Load("b", []byte("format: book/1\nengine: E\nunit: in\nparts: {p: {features: {f: "+c.feature+"}}}\nlines: {l: "+c.line+"}\n"))
		if err != nil {
			t.Errorf("%s: %v", c.feature, err)
			continue
		}
		l := b.Lines[0]
		tier := l.Limit.Tiers[1]
		text := func(e limit.Edge) string {
			if !e.Set {
				return ""
			}
			s, _ := e.At.Text(quantity.Inch, 4)
			return s
		}
		if l.Held != c.held || text(tier.Range.Min) != c.min || text(tier.Range.Max) != c.max {
			t.Errorf("%s, %s: held %d, service %q..%q", c.feature, c.line, l.Held, text(tier.Range.Min), text(tier.Range.Max))
		}
	}
}

// A slip of syntax under one key does not hide the faults under another, nor
// blame what could not be read.
func TestSyntaxHidesNothing(t *testing.T) {
	list := faultsOf(t, `format: book/1
engine: E
unit: in
parts:
  crank: {features: {main: {kind: outside}}
lines:
  a: {name: A, size: crank.main, new: 1..2}
  b: {size: crank.main, new: 1..2, colour: red}
`)
	var codes []string
	for _, f := range list {
		codes = append(codes, f.Code)
	}
	slices.Sort(codes)
	if diff := cmp.Diff([]string{"missing", "syntax", "unknown-key"}, codes); diff != "" {
		t.Errorf("%s\n%v", diff, list)
	}
}

func TestNotABook(t *testing.T) {
	for _, text := range []string{"", "# only a comment\n", "- a\n- list\n", "just text", "\xff\xfe", "a: b\n---\nc: d\n", "a: *b\n", "[1, 2", "parts: {}\nlines: []\n"} {
		if list := faultsOf(t, text); len(list) == 0 {
			t.Errorf("%q was taken as a book", text)
		}
	}
	if _, err := Load("b", make([]byte, MaxSize+1)); err == nil {
		t.Error("a file over the size was read")
	}
}

// A book can't name more spots than a program should hold.
func TestTooManySpots(t *testing.T) {
	list := faultsOf(t, "format: book/1\nengine: E\nunit: in\nparts: {p: {positions: 999, features: {f: {kind: outside, places: 999}}}}\nlines: {l: {name: L, size: p.f, new: 1..2}}\n")
	if len(list) == 0 || list[0].Code != "count" {
		t.Errorf("%v", list)
	}
}

// However large a book is that names too many, no more are held.
func TestSpotsAreBounded(t *testing.T) {
	var b strings.Builder
	b.WriteString("format: book/1\nengine: E\nunit: in\nparts: {p: {positions: 999, features: {")
	for i := range 40 {
		fmt.Fprintf(&b, "f%d: {kind: outside, places: 90}, ", i)
	}
	b.WriteString("}}}\nlines: {}\n")
	d := &decoder{}
	var raw rawBook
	d.document([]byte(b.String()), &raw)
	if n := len(d.resolve(&raw, &rawSettled{}).Spots); n > maxSpots || len(d.faults) < 39 {
		t.Errorf("%d spots, %d faults", n, len(d.faults))
	}
}

// A book may name as many places as it has, in groups or as mates: each is found
// at once. Looked for one after the other, these took minutes.
func TestManyPlaces(t *testing.T) {
	var groups, mates strings.Builder
	for p := 1; p <= 999; p++ {
		groups.WriteString("[")
		for place := 1; place <= 45; place++ {
			fmt.Fprintf(&groups, "p-%d.a-%d, ", p, place)
			fmt.Fprintf(&mates, "p-%d.b-%d, ", p, 46-place)
		}
		groups.WriteString("], ")
	}
	b, err := Load("b.yaml", []byte("format: book/1\nengine: E\nunit: in\nparts: {p: {positions: 999, features: {"+
		"a: {kind: inside, places: 45}, b: {kind: outside, places: 45}}}}\nlines:\n"+
		"  groups: {name: G, spread: p.a, service: 0.5, groups: ["+groups.String()+"]}\n"+
		"  all: {name: A, spread: p.a, service: 0.5}\n"+
		"  mates: {name: M, fit: p.a - p.b, service: 0.5, mates: {p.b: ["+mates.String()+"]}}\n"))
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string][2]int{"groups": {999, 45}, "all": {1, 44955}, "mates": {44955, 2}} {
		l, _ := b.Line(key)
		if len(l.Instances) != want[0] || len(l.Instances[0].Spots) != want[1] {
			t.Errorf("%s: %d instances of %d spots, want %v", key, len(l.Instances), len(l.Instances[0].Spots), want)
		}
	}
}

// Lines by which nothing would be judged, each read as if all were well.
func TestLinesThatJudgeNothing(t *testing.T) {
	for _, c := range []struct{ lines, field, code string }{
		{"a: {name: A, spread: p.w, groups: [[]], service: 0.5 oz}", "lines.a.groups", "mates"},
		{"a: {name: A, spread: p.w, groups: [[p-1.w]], service: 0.5 oz}", "lines.a.groups", "mates"},
		{"a: {name: A, spread: p.w, planes: [], groups: [[p-1.w, p-1.w]], service: 0.5 oz}", "lines.a.groups", "mates"},
		{"a: {name: A, spread: one.w, service: 0.5 oz}", "lines.a.spread", "mates"},
		{"a: {name: A, fit: p.id - p.od, mates: {p.id: [], p.od: []}, new: 0.001..0.002}", "lines.a.mates", "mates"},
		{"a: {name: A, size: p.od, new: 1..2, replaces: a}", "lines.a.replaces", "nowhere"},
		{"a: {name: A, size: p.od, new: 1..2, replaces: b}\n  b: {name: B, size: p.od, new: 1..3, replaces: a}", "lines.a.replaces", "nowhere"},
		{"a: {name: A, size: p.od, new: 1..2, governed-by: b}\n  b: {name: B, size: p.od, new: 1..3, governed-by: a}", "lines.a.governed-by", "mates"},
		{"a: {name: A, size: p.od, new: 1..2, governed-by: b}\n  b: {name: B, size: p.od, graded: no, new: 1..3}", "lines.a.governed-by", "judges"},
		{"a: {name: A, size: p.od, new: 1..2, governed-by: b}\n  b: {name: B, size: p.od, new: by selection}", "lines.a.governed-by", "judges"},
		{"a: {name: A, check: p.ok, moves: {with: p.ok, from: 5 in, by: 3}}", "lines.a.moves", "judges"},
		{"a: {name: A, size: p.id, new: 1..2, moves: {by: 3}}", "lines.a.moves", "missing"},
	} {
		list := faultsOf(t, "format: book/1\nengine: E\nunit: in\nparts:\n"+
			"  p: {positions: 2, features: {od: {kind: outside}, id: {kind: inside}, ok: {kind: check}, w: {kind: mass, unit: oz, wears: either}}}\n"+
			"  one: {features: {w: {kind: mass, unit: oz, wears: either}}}\nlines:\n  "+c.lines+"\n")
		if len(list) == 0 || list[0].Field != c.field || list[0].Code != c.code || list[0].Line == 0 {
			t.Errorf("%s: want %s [%s]:\n%v", c.lines, c.field, c.code, list)
		}
	}
}

func FuzzLoad(f *testing.F) {
	data, err := os.ReadFile("testdata/faults.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(data))
	f.Add(small + "  main: {name: Main, size: crank.main, new: 2.2490..2.2500, service: 2.2470}\n")
	f.Add(small + "  fit: {name: Fit, fit: rod.bigend - crank.main, new: 0.0005T - 0.0010L, service: wear 0.001}\n")
	f.Add("a: &x [*x]\n<<: *x\n? {a: b}\n: c\n")
	f.Fuzz(func(t *testing.T, text string) {
		b, err := Load("book.yaml", []byte(text))
		if err == nil {
			for _, l := range b.Lines {
				if len(l.Instances) == 0 {
					t.Errorf("line %s: nothing is judged by it", l.Key)
				}
				for at := range l.Instances {
					if l.ID(at) == "" || len(l.Instances[at].Spots) == 0 {
						t.Errorf("line %s: an instance without a name or a spot", l.Key)
					}
				}
			}
			return
		}
		var list fault.List
		if !errors.As(err, &list) || len(list) == 0 {
			t.Fatalf("an error that is no list of faults: %v", err)
		}
		for _, one := range list {
			if one.Line < 1 || one.Code == "" || one.What == "" {
				t.Errorf("a fault without its place, code or words: %+v", one)
			}
			if strings.ContainsAny(one.String(), "\n") {
				t.Errorf("a fault of more than one line: %q", one.String())
			}
		}
	})
}

func TestSpotText(t *testing.T) {
	for _, s := range []string{
		"rod-3.bigend-1.front.90", "crank.seal.-.90", "crank.seal", "piston-2.skirt.top", "crank.main-12", "a.b.c.d", "a1.b2-999.c3.0",
	} {
		spot, err := ParseSpot(s)
		if err != nil || spot.String() != s {
			t.Errorf("%s: %v, %v", s, spot, err)
		}
	}
	for _, s := range []string{
		"", "rod", "rod.", ".a", "Rod.bigend", "rod-0.a", "rod-01.a", "rod-1000.a", "rod--1.a", "rod-.a", "1rod.a", "rod.a.-", "rod.a.90", "rod.a.b.c.d", "rod.a.b.", "rod.a..90", "rod .a", "rod.a.b.9°",
	} {
		if spot, err := ParseSpot(s); err == nil {
			t.Errorf("%q was taken as %+v", s, spot)
		}
	}
}

func FuzzParseSpot(f *testing.F) {
	f.Add("rod-3.bigend-1.front.90")
	f.Add("crank.seal.-.90")
	f.Fuzz(func(t *testing.T, s string) {
		spot, err := ParseSpot(s)
		if err == nil && spot.String() != s {
			t.Errorf("%q prints as %q", s, spot)
		}
	})
}
