package picture

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
)

// A fataler is a test or a property.
type fataler interface {
	Helper()
	Fatal(args ...any)
}

// verdict judges one size by a line on it.
func verdict(t fataler, feature, line string, values ...string) *judge.Verdict {
	t.Helper()
	b, err := book.Load("b", []byte("format: book/1\nengine: E\nunit: in\nparts: {p: {features: {f: {"+feature+"}}}}\nlines: {l: {name: L, "+line+"}}\n"))
	if err != nil {
		t.Fatal(err)
	}
	csv := "spot,value\n"
	for i, v := range values {
		csv += fmt.Sprintf("%s,%s\n", b.Spots[i], v)
	}
	f := reading.Load("r", []byte(csv), b, false)
	if len(f.Faults) > 0 {
		t.Fatal(f.Faults)
	}
	v := judge.Line(b.Lines[0], 0, judge.File(b, f.Readings).At)
	return &v
}

// Every sort of ruler, as a page that one can read.
func TestGoldenRulers(t *testing.T) {
	const shaft, bore, gap, run = "kind: outside, directions: [a, b]", "kind: inside", "kind: clearance", "kind: dial, directions: [a, b]"
	var out strings.Builder
	for _, c := range []struct {
		what, feature, line string
		values              []string
	}{
		{"a shaft, new", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"1.0004", "1.0006"}},
		{"exactly at new", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"1.0000", "1.0010"}},
		{"serviceable", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"0.9994", "1.0000"}},
		{"exactly at service, within", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"0.9990", "1.0000"}},
		{"0.1 nm past it, beyond", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"25.3745999 mm", "1.0000"}},
		{"far off", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"0.9700", "1.0200"}},
		{"larger than new", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"1.0004", "1.0013"}},
		{"not measured", shaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", nil},
		{"no service limit", shaft, "size: p.f, new: 1.0000..1.0010", []string{"1.0004", "1.0006"}},
		{"service only", shaft, "size: p.f, service: 0.9990", []string{"0.9994", "1.0000"}},
		{"base of wear not stated", shaft, "size: p.f, new: 1.0000..1.0010, service: wear 0.0020", []string{"0.9984", "1.0000"}},
		{"a bore", bore, "size: p.f, new: 1.0000..1.0010, service: 1.0020", []string{"1.0015"}},
		{"a bore, one limit", bore, "size: p.f, new: ..1.0010, service: 1.0020", []string{"1.0005"}},
		{"a clearance, both ends held", gap, "size: p.f, new: 0.0010..0.0030, service: 0.0050", []string{"0.0040"}},
		{"a clearance, too little", gap, "size: p.f, new: 0.0010..0.0030, service: 0.0050", []string{"0.0008"}},
		{"the limit itself is out", gap, "size: p.f, new: 0.0010..0.0030, service: reject 0.0050 or more", []string{"0.0050"}},
		{"run-out from nought", run, "run-out: p.f, new: ..0.0010, service: 0.0020", []string{"0.0000", "0.0015"}},
		{"run-out, none", run, "run-out: p.f, new: ..0.0010, service: 0.0020", []string{"0.0000", "0.0000"}},
		{"three tiers", gap, "size: p.f, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.026}", []string{"0.021"}},
		{"bands", run, "run-out: p.f, bands: {use: ..0.0020, rework: ..0.0050}", []string{"0.0000", "0.0030"}},
		{"yes or no", "kind: check", "check: p.f", []string{}},
		{"run-out, service only", run, "run-out: p.f, service: 0.0020", []string{"0.0000", "0.0015"}},
	} {
		fmt.Fprintf(&out, "%-28s %s\n", c.what, RulerText(verdict(t, c.feature, c.line, c.values...), 24))
	}
	if os.Getenv("UPDATE") != "" {
		if err := os.WriteFile("testdata/rulers.txt", []byte(out.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("testdata/rulers.txt")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), out.String()); diff != "" {
		t.Error(diff)
	}
}

// The mark stands on the side of the stop that the grade says, however the
// figure falls and however narrow the ruler.
func TestMarkAgreesWithGrade(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(12, 60).Draw(t, "width")
		tenths := rapid.IntRange(-400, 400).Draw(t, "microinches from the limit")
		count := 999_000 + tenths
		v := verdict(t, "kind: outside", "size: p.f, new: 1.0000..1.0010, service: 0.9990", fmt.Sprintf("%d.%06d", count/1_000_000, count%1_000_000))
		ruler := RulerText(v, width)
		if n := utf8.RuneCountInString(ruler); n != width {
			t.Fatalf("%d characters, want %d", n, width)
		}
		mark, stop := strings.IndexRune(ruler, markRune), strings.IndexRune(ruler, stopRune)
		if (v.Grade == judge.Beyond) != (mark < stop) {
			t.Fatalf("%s is %s", ruler, v.Grade)
		}
	})
}
