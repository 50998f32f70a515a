package picture

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

// judged judges one line on one feature, and returns what it is put in words by
// and its readings beside.
func judged(t fataler, feature, line string, values ...string) (judge.Words, *judge.Verdict, []quantity.Figure) {
	t.Helper()
	b, err := book.Load("b", []byte("format: book/1\nengine: E\nunit: in\nparts: {p: {features: {f: {"+feature+"}}}}\nlines: {l: {name: L, "+line+"}}\n"))
	if err != nil {
		t.Fatal(err)
	}
	csv := "spot,value\n"
	for i, v := range values {
		csv += fmt.Sprintf("%s,%q\n", b.Spots[i], v)
	}
	f := reading.Load("r", []byte(csv), b, false)
	if len(f.Faults) > 0 {
		t.Fatal(f.Faults)
	}
	v := judge.Line(b.Lines[0], 0, judge.File(b, f.Readings).At)
	var figures []quantity.Figure
	for i := range f.Readings {
		if f.Readings[i].Exact() {
			figures = append(figures, f.Readings[i].Value)
		}
	}
	return judge.Words{Book: b}, &v, figures
}

// What features are called in these tests.
const (
	aShaft  = "kind: outside, directions: [a, b]"
	aBore   = "kind: inside, directions: [a, b]"
	aGap    = "kind: clearance"
	aDial   = "kind: dial, directions: [a, b]"
	aSpring = "kind: force, unit: lbf, wears: smaller"
)

// In a column the limits of every line stand at the same places: 16 and 84 for
// service, 38 and 62 for new, the wall where new begins.
func TestColumnPlaces(t *testing.T) {
	for _, c := range []struct {
		what, feature, line string
		at                  []string // figures, in the feature's unit
		want                []float64
	}{
		{"a shaft", aShaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"0.9990", "0.9995", "1.0000", "1.0005", "1.0010"}, []float64{16, 27, 38, 50, 62}},
		{"a bore", aBore, "size: p.f, new: 1.0000..1.0010, service: 1.0030", []string{"1.0000", "1.0010", "1.0020", "1.0030"}, []float64{38, 62, 73, 84}},
		{"no service", aBore, "size: p.f, new: 1.0000..1.0010", []string{"1.0000", "1.0010"}, []float64{38, 62}},
		{"both service", aGap, "size: p.f, new: 0.0010..0.0030, service: 0.0005..0.0050", []string{"0.0005", "0.0010", "0.0030", "0.0050"}, []float64{16, 38, 62, 84}},
		{"service only", aShaft, "size: p.f, service: 0.9990", []string{"0.9990"}, []float64{16}},
		{"form", aDial, "run-out: p.f, new: ..0.0010, service: 0.0020", []string{"0", "0.0005", "0.0010", "0.0020"}, []float64{38, 50, 62, 84}},
		{"form, service only", aDial, "run-out: p.f, service: 0.0020", []string{"0", "0.0010", "0.0020"}, []float64{38, 61, 84}},
		{"three tiers", aGap, "size: p.f, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.024}", []string{"0.008", "0.016", "0.020", "0.024"}, []float64{38, 62, 73, 84}},
		{"bands", aDial, "run-out: p.f, bands: {use: ..0.0020, rework: ..0.0050}", []string{"0.0020", "0.0050"}, []float64{62, 84}},
		{"wear of no stated base", aShaft, "size: p.f, new: 1.0000..1.0010, service: wear 0.0020", []string{"0.9980", "0.9990", "1.0000"}, []float64{16, 27, 38}},
		{"force", aSpring, "size: p.f, new: 60..65, service: 57", []string{"57", "58.5", "60", "62.5", "65"}, []float64{16, 27, 38, 50, 62}},
		{"nominal", aBore, "size: p.f, new: 1.0000..1.0000, service: 1.0010", []string{"1.0000", "1.0010"}, []float64{50, 84}},
	} {
		w, v, _ := judged(t, c.feature, c.line)
		f := faceOf(w, v)
		r := f.rule(OfColumn)
		for i, text := range c.at {
			x, on := f.place(&r, f.figure(text))
			if math.Abs(x-c.want[i]) > 1e-9 || !on {
				t.Errorf("%s: %s is at %v (on the rule: %v), want %v", c.what, text, x, on, c.want[i])
			}
		}
	}
}

// A scale's domain is all limits and a third of their span on each side, never
// so narrow that a few digits out is off the rule.
func TestScaleDomain(t *testing.T) {
	for _, c := range []struct {
		what, feature, line string
		values              []string
		from, to            float64 // in
	}{
		{"a shaft", aShaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", nil, 0.99832, 1.00168},
		{"narrow", aBore, "size: p.f, new: 1.0000..1.0002", nil, 0.9997, 1.0005},
		{"form", aDial, "run-out: p.f, new: ..0.0010, service: 0.0020", nil, -0.0002144, 0.00268},
		{"no limit below, not measured", aBore, "size: p.f, new: ..1.0010, service: 1.0020", nil, 0.9999, 1.00234},
		{"no limit below, far below", aBore, "size: p.f, new: ..1.0010, service: 1.0020", []string{"0.9970"}, 0.9964, 1.00234},
		{"no limit below, misread", aBore, "size: p.f, new: ..1.0010, service: 1.0020", []string{"0.5000"}, 0.9999, 1.00234},
		{"one limit alone", aShaft, "size: p.f, service: 0.9990", nil, 0.99832, 1.0012},
		{"by selection", aBore, "size: p.f, new: by selection", []string{"1.005"}, 0.9982, 1.0118},
	} {
		w, v, _ := judged(t, c.feature, c.line, c.values...)
		points := RuleOf(w, v, OfScale).Points
		first, last := points[0], points[len(points)-1]
		off := func(p Point, in float64) bool { return math.Abs(float64(p.At)-in*254e6) > 1 } // a count for rounding
		if off(first, c.from) || off(last, c.to) || first.X != scaleFrom || last.X != scaleTo {
			t.Errorf("%s: from %v to %v, want from %v to %v", c.what, float64(first.At)/254e6, float64(last.At)/254e6, c.from, c.to)
		}
	}
}

// anyLine draws a line of limits that a book may have, and figures near them.
func anyLine(t *rapid.T) (feature, line string, near func(string) string) {
	kind := rapid.SampledFrom([]string{aShaft, aBore, aGap, aDial, aSpring}).Draw(t, "kind")
	base, digit := 10_000, 1
	if kind == aGap || kind == aDial {
		base = rapid.IntRange(0, 30).Draw(t, "least")
	}
	new0 := base
	new1 := new0 + rapid.IntRange(1, 30).Draw(t, "new")
	way := rapid.IntRange(1, 40).Draw(t, "allowance")
	figure := func(n int) string {
		sign := ""
		if n < 0 {
			sign, n = "-", -n
		}
		return fmt.Sprintf("%s%d.%04d", sign, n/10_000, n%10_000)
	}
	low, service := figure(new0), figure(new1+way)
	if kind == aShaft || kind == aSpring {
		service = figure(new0 - way)
	}
	what := "size: p.f"
	if kind == aDial {
		what, low = "run-out: p.f", ""
	}
	if rapid.Bool().Draw(t, "open") {
		word := map[bool]string{true: "or less", false: "or more"}[kind == aShaft || kind == aSpring]
		service = "reject " + service + " " + word
	}
	line = what
	switch rapid.SampledFrom([]string{"both", "new", "service", "wear"}).Draw(t, "cells") {
	case "both":
		line += fmt.Sprintf(", new: %s..%s, service: %s", low, figure(new1), service)
	case "new":
		line += fmt.Sprintf(", new: %s..%s", low, figure(new1))
	case "service":
		line += ", service: " + service
	case "wear":
		if kind == aDial || kind == aGap {
			line += fmt.Sprintf(", new: %s..%s, service: %s", low, figure(new1), service)
			break
		}
		line += fmt.Sprintf(", new: %s..%s, service: wear %s", low, figure(new1), figure(new1-new0+way))
	}
	return kind, line, func(label string) string {
		n := rapid.IntRange(-3*way-60, 3*way+60).Draw(t, label)
		if kind == aDial && new0+n < 0 {
			n = -new0
		}
		text := figure(new0 + n*digit)
		return text + rapid.SampledFrom([]string{"", "", "00", "01", "99"}).Draw(t, label+" finer")
	}
}

// A mark stands past its stop where the grade is beyond, and only there; and of
// two figures the larger never stands further left.
func TestPlacesAgreeWithGrades(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		feature, line, near := anyLine(t)
		kind := rapid.SampledFrom([]RulerKind{OfScale, OfColumn}).Draw(t, "ruler")
		value := near("value")
		values := []string{value}
		switch feature {
		case aShaft, aBore:
			values = append(values, value)
		case aDial:
			values = []string{"0", value}
		}
		w, v, _ := judged(t, feature, line, values...)
		f := faceOf(w, v)
		r := f.rule(kind)
		past := ""
		for _, m := range f.marks(&r) {
			for _, s := range r.Stops {
				clear := s.X - m.x
				if s.End == highEnd {
					clear = m.x - s.X
				}
				if (clear >= 1) != (m.past == s.End) || clear < 1 && clear > 1e-9 {
					t.Fatalf("%s on %q: the mark is %v past the %s stop, and past is %q", w.Ends(v), line, clear, s.End, m.past)
				}
			}
			past += m.past
		}
		if v.Grade == judge.Beyond != (past != "") {
			t.Fatalf("%s on %q is %s and stands past %q", w.Ends(v), line, w.Standing(v), past)
		}

		for i, p := range r.Points {
			if p.X < 0 || p.X > 100 || i > 0 && (p.At <= r.Points[i-1].At || p.X < r.Points[i-1].X) {
				t.Fatalf("%q: points %v do not rise", line, r.Points)
			}
		}
		a, b := f.figure(near("a")), f.figure(near("b"))
		if a.Cmp(b) > 0 {
			a, b = b, a
		}
		xa, _ := f.place(&r, a)
		xb, _ := f.place(&r, b)
		if xa > xb {
			t.Fatalf("%q: %v stands at %v, %v at %v", line, a, xa, b, xb)
		}
	})
}

// A script has JSON and 64-bit floating point, and places a mark where Go does.
func TestScriptPlacesAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		feature, line, near := anyLine(t)
		w, v, _ := judged(t, feature, line)
		r := RuleOf(w, v, rapid.SampledFrom([]RulerKind{OfScale, OfColumn}).Draw(t, "ruler"))
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		var s struct {
			Points      []struct{ At, X float64 }
			Left, Right float64
		}
		if err := json.Unmarshal(text, &s); err != nil {
			t.Fatal(err)
		}
		n := faceOf(w, v).count(faceOf(w, v).figure(near("figure")))
		place := func(n float64) float64 {
			last := len(s.Points) - 1
			if n < s.Points[0].At {
				return s.Left
			}
			if n > s.Points[last].At {
				return s.Right
			}
			i := 0
			for s.Points[i].At < n {
				i++
			}
			if s.Points[i].At == n {
				return s.Points[i].X
			}
			a, b := s.Points[i-1], s.Points[i]
			return a.X + float64((n-a.At)/(b.At-a.At)*(b.X-a.X))
		}
		if x, _ := r.Place(n); x != place(float64(n)) {
			t.Fatalf("%d stands at %v, by the script at %v", n, x, place(float64(n)))
		}
	})
}

func TestRuleJSON(t *testing.T) {
	w, v, _ := judged(t, aShaft, "size: p.f, new: 1.0000..1.0010, service: reject 0.9990 or less")
	text, err := json.Marshal(RuleOf(w, v, OfColumn))
	if err != nil {
		t.Fatal(err)
	}
	want := `{"ruler":"column","unit":"in","one":254000000,"decimals":4,` +
		`"points":[{"at":253653636,"x":8},{"at":253746000,"x":13.4},{"at":253746001,"x":16.0001},{"at":254000000,"x":38},{"at":254254000,"x":62},{"at":254571500,"x":92}],` +
		`"left":4.5,"right":95.5,"stops":[{"end":"low","at":253746000,"past":253746000,"x":16}],"heads":[{"end":"low","counts":true}]}`
	if diff := cmp.Diff(want, string(text)); diff != "" {
		t.Error(diff)
	}
	w, v, _ = judged(t, aGap, "size: p.f, new: 0.0010T..0.0030L")
	if r := RuleOf(w, v, OfScale); r.Letters != "T" || len(r.Heads) != 2 || !r.Heads[0].Counts || !r.Heads[1].Counts {
		t.Errorf("a clearance: letters %q, heads %v", r.Letters, r.Heads)
	}
	w, v, _ = judged(t, "kind: check", "check: p.f")
	if diff := cmp.Diff(Rule{}, RuleOf(w, v, OfScale)); diff != "" {
		t.Error(diff)
	}
}

// What floating point does not hold goes as a string of digits.
func TestCountJSON(t *testing.T) {
	for n, want := range map[Count]string{
		0: "0", -254: "-254", 1 << 53: "9007199254740992", -1 << 53: "-9007199254740992",
		1<<53 + 1: `"9007199254740993"`, -1<<53 - 1: `"-9007199254740993"`, mostCount: `"288230376151711744"`,
	} {
		text, err := json.Marshal(n)
		if err != nil || string(text) != want {
			t.Errorf("%d is written %s (%v), want %s", int64(n), text, err, want)
		}
		var back Count
		if err := json.Unmarshal(text, &back); err != nil || back != n {
			t.Errorf("%s is read %d (%v)", text, int64(back), err)
		}
	}
	for _, text := range []string{`1.5`, `"a"`, `[]`, `"9223372036854775808"`} {
		var n Count
		if err := json.Unmarshal([]byte(text), &n); err == nil {
			t.Errorf("%s is read %d", text, int64(n))
		}
	}
}
