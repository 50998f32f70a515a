package picture

import (
	"fmt"
	"strings"
	"testing"

	"tenths/internal/book"
)

// someStates gives every site another state.
func someStates(s *book.Site) State { return State(s.Index) % 5 }

func someAddress(s *book.Site) string { return "/bench?at=" + s.String() + "&by=part" }

// Every journal of the book is drawn once, in the book's order, with a link of
// its own.
func TestCrankHasEveryJournal(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, c := range []struct {
		b     *book.Book
		count int
	}{{four, 7}, {six, 13}, {seven, 3}} {
		want := c.b.Layout.Shafts[0].Sites
		if len(want) != c.count {
			t.Fatalf("the book has %d", len(want))
		}
		_, all := read(t, Crank(c.b, someStates, someAddress, nil))
		at := 0
		x := -1.0
		for i := range all {
			d := &all[i]
			if d.name != "rect" || !d.has("hit") {
				continue
			}
			if at == len(want) || d.link != someAddress(want[at]) {
				t.Fatalf("%s: link %d is %s", c.b.Engine, at, d.link)
			}
			if d.n(t, "x") <= x {
				t.Errorf("%s: %s is not to the right of the one before", c.b.Engine, d.link)
			}
			x = d.n(t, "x")
			at++
		}
		if at != len(want) {
			t.Errorf("%s: %d journals, want %d", c.b.Engine, at, len(want))
		}
	}
}

// Names and states are told in words as well, and the throws stand as the book
// says: crankpins 1 and 4 up, 2 and 3 down.
func TestCrankTellsStates(t *testing.T) {
	four, _, _ := demoBooks(t)
	pin := four.Layout.Shafts[0].Sites
	states := map[*book.Site]State{pin[0]: New, pin[1]: Serviceable, pin[2]: Beyond, pin[3]: Open, pin[4]: Beyond}
	svg := Crank(four, func(s *book.Site) State { return states[s] }, someAddress, pin[4])
	_, all := read(t, svg)
	var names []string
	y := map[string]float64{}
	hatched := 0
	for i := range all {
		d := &all[i]
		if d.name == "title" {
			names = append(names, d.text)
		}
		if d.name == "rect" && d.link != "" && !d.has("hit") {
			y[d.link] = d.n(t, "y")
		}
		if d.has("hatch") {
			hatched++
		}
	}
	want := "[Main journal 1: new Crankpin 1: serviceable Crankpin 2: beyond Main journal 2: open Crankpin 3: being measured Crankpin 4: nothing to judge Main journal 3: nothing to judge]"
	if got := fmt.Sprint(names); got != want {
		t.Errorf("%s", got)
	}
	if hatched != 1 {
		t.Errorf("%d are hatched, want crankpin 2 alone", hatched)
	}
	for i, up := range []bool{false, true, false, false, false, true, false} {
		if i == 2 || i == 4 {
			if y[someAddress(pin[i])] <= y[someAddress(pin[0])] {
				t.Errorf("%s is not down", pin[i])
			}
		} else if up != (y[someAddress(pin[i])] < y[someAddress(pin[0])]) {
			t.Errorf("%s: up is %v", pin[i], !up)
		}
	}
	if got := fmt.Sprint(texts(all, "lit"), texts(all, "on-rev")); got != "[Pin 3] [Pin 2]" {
		t.Errorf("lit and reversed: %s", got)
	}
}

// Each target is 48 px where the drawing is as wide as it asks, and no two of
// them lie over each other.
func TestCrankTargets(t *testing.T) {
	four, six, seven := demoBooks(t)
	for _, c := range []struct {
		b     *book.Book
		least int
	}{{four, 398}, {six, 698}, {seven, 327}} {
		least := CrankLeast(c.b)
		if least != c.least {
			t.Errorf("%s: %d px are asked for, want %d", c.b.Engine, least, c.least)
		}
		svg := Crank(c.b, someStates, someAddress, nil)
		checkTargets(t, c.b.Engine, svg, least)
		_, all := read(t, svg)
		apart(t, c.b.Engine, targets(t, all))
		upright := CrankUpright(c.b, someStates, someAddress, nil)
		checkTargets(t, c.b.Engine, upright, uprightWide)
		if frame, _ := read(t, upright); frame[2] != uprightWide {
			t.Errorf("%s: the upright one is %v wide", c.b.Engine, frame[2])
		}
	}
}

// apart fails where two targets lie over each other.
func apart(t fataler, what string, all map[string][]box) {
	t.Helper()
	for a, as := range all {
		for b, bs := range all {
			if a >= b {
				continue
			}
			for _, x := range as {
				for _, y := range bs {
					if x.over(y) {
						t.Fatal(what, ": the targets of ", a, " and ", b, " lie over each other")
					}
				}
			}
		}
	}
}

// Upright, a journal with its cheek is one row, so that a list stands beside it.
func TestCrankUprightHasRows(t *testing.T) {
	_, six, _ := demoBooks(t)
	frame, all := read(t, CrankUpright(six, someStates, someAddress, nil))
	row := 0
	for i := range all {
		if d := &all[i]; d.has("hit") {
			// It is drawn lying and stood up by the frame: x is down.
			if d.n(t, "x") != UprightFirst+UprightRow*float64(row) || d.n(t, "width") != UprightRow {
				t.Errorf("row %d is at %s, %s high", row, d.attrs["x"], d.attrs["width"])
			}
			row++
		}
	}
	if row != 13 || frame[3] < UprightFirst+13*UprightRow {
		t.Errorf("%d rows in %v px", row, frame[3])
	}
	if _, all := read(t, CrankUpright(six, someStates, nil, nil)); all[0].attrs["aria-hidden"] != "true" {
		t.Error("without links it is not hidden, and the list beside it says all of it again")
	}
}

// Where the book has no layout its order along the shaft is not known, and no
// throw is drawn; where it has no shaft, nothing is.
func TestCrankWithoutLayout(t *testing.T) {
	four, _, _ := demoBooks(t)
	bare := *four
	bare.Layout = nil
	_, all := read(t, Crank(&bare, someStates, someAddress, nil))
	cheeks := 0
	for i := range all {
		if all[i].has("cheek") {
			cheeks++
		}
	}
	if cheeks > 0 {
		t.Errorf("%d cheeks", cheeks)
	}
	none := &book.Book{Engine: "None"}
	if Crank(none, nil, nil, nil) != "" || CrankUpright(none, nil, nil, nil) != "" || CrankLeast(none) != 0 {
		t.Error("a crankshaft of nothing")
	}
}

func TestGoldenCrank(t *testing.T) {
	four, _, seven := demoBooks(t)
	golden(t, "crank-four", Crank(four, someStates, someAddress, four.Layout.Throws[2].Pin))
	golden(t, "crank-seven-upright", CrankUpright(seven, someStates, nil, nil))
}

func BenchmarkCrank(b *testing.B) {
	_, six, _ := demoBooks(b)
	b.ReportAllocs()
	for b.Loop() {
		Crank(six, someStates, someAddress, nil)
	}
}

// The flange is at the propeller's end, and each end has its name.
func TestCrankEnds(t *testing.T) {
	for _, c := range []struct{ first, left, right string }{
		{"propeller", "propeller end", "accessory end"},
		{"accessory", "accessory end", "propeller end"},
	} {
		text := anEngine("  arrangement: in-line\n  first: "+c.first+`
  viewpoint: accessory
  cylinders: 2
  throws: {crank.pin-1: {angle: 0, cylinders: [1]}, crank.pin-2: {angle: 180, cylinders: [2]}}`, "")
		b := load(t, strings.Replace(text, "features: {main:", "features: {flange: {name: Dial on the flange face, kind: dial}, main:", 1))
		_, all := read(t, Crank(b, nil, someAddress, nil))
		flange, main, ends := 0.0, 0.0, map[string]float64{}
		for i := range all {
			d := &all[i]
			switch {
			case d.name == "rect" && d.attrs["height"] == "132":
				flange = d.n(t, "x")
			case d.name == "rect" && d.has("hit") && strings.Contains(d.link, "main-1"):
				main = d.n(t, "x")
			case d.name == "text" && strings.HasSuffix(d.text, " end"):
				ends[d.text] = d.n(t, "x")
			}
		}
		if flange == 0 || (flange < main) != (c.first == "propeller") || ends[c.left] >= ends[c.right] {
			t.Errorf("first %s: the flange is at %v, main 1 at %v, %v", c.first, flange, main, ends)
		}
	}
}

// A shaft that ends in a crankpin has a cheek there, from which its end stands out.
func TestCrankEndsInPin(t *testing.T) {
	text := anEngine("  arrangement: in-line\n  first: propeller\n  viewpoint: accessory\n  cylinders: 2\n"+
		"  throws: {crank.pin-1: {angle: 0, cylinders: [1]}, crank.pin-2: {angle: 180, cylinders: [2]}}", "")
	cheeks := func(b *book.Book) (all [2]int) {
		for i, svg := range []SVG{Crank(b, nil, nil, nil), CrankUpright(b, nil, nil, nil)} {
			all[i] = strings.Count(string(svg), `class="cheek"`)
		}
		return all
	}
	if got := cheeks(load(t, text)); got != [2]int{3, 3} {
		t.Errorf("%v cheeks between main, pin, pin and main", got)
	}
	text = strings.Replace(text, "[crank.main-1, crank.pin-1, crank.pin-2, crank.main-2]", "[crank.main-1, crank.main-2, crank.pin-1, crank.pin-2]", 1)
	if got := cheeks(load(t, text)); got != [2]int{3, 3} {
		t.Errorf("%v cheeks beside pin and pin at the end", got)
	}
	text = strings.Replace(text, "[crank.main-1, crank.main-2, crank.pin-1, crank.pin-2]", "[crank.pin-1, crank.main-1, crank.main-2, crank.pin-2]", 1)
	if got := cheeks(load(t, text)); got != [2]int{4, 4} {
		t.Errorf("%v cheeks beside a pin at either end", got)
	}
}

// Between the cheeks, 0 is the throw's outer side, whichever way it points.
func TestBetweenTheCheeks(t *testing.T) {
	four, _, _ := demoBooks(t)
	for _, c := range []struct {
		pin int
		up  bool
	}{{1, true}, {2, false}} {
		_, outer := litAt(t, four, fmt.Sprintf("crank.width-%d.-.0", c.pin))
		_, inner := litAt(t, four, fmt.Sprintf("crank.width-%d.-.180", c.pin))
		if (outer < inner) != c.up {
			t.Errorf("crankpin %d: 0 at %v, 180 at %v down", c.pin, outer, inner)
		}
	}
}
