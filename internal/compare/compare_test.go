package compare_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/compare"
	"tenths/internal/judge"
	"tenths/internal/reading"
)

// Figures of our own.
const edition = `format: book/1
engine: Two-bearing engine
manual: {title: Overhaul manual, number: OM-1, revision: "4"}
unit: in
conditions: {bushing: [new, used]}
amendments: {sb7: {number: SB-7, date: 2026-03-01, title: End clearance}}
parts:
  crank:
    features:
      main: {kind: outside, places: 2, steps: {m010: {shift: -0.010}}}
      end: {kind: clearance}
      dial: {kind: dial, directions: [0, 90]}
  case:
    features:
      main: {kind: inside, places: 2}
lines:
  size: {ref: 1, page: 3-1, name: Main journal diameter, size: crank.main, new: 1.9980..1.9990, service: 1.9965}
  fit: {ref: 2, page: 3-1, name: Bearing clearance, fit: case.main - crank.main, new: 0.0005T..0.0030L, service: 0.0045L}
  end: {ref: 3, page: 3-2, name: End clearance, size: crank.end, new: 0.004..0.008, service: 0.012}
  run-out: {ref: 4, page: 3-2, name: Run-out, run-out: crank.dial, service: max 0.002}
`

func load(t testing.TB, text string) *book.Book {
	t.Helper()
	b, err := book.Load("book.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func told(c compare.Change) string {
	return strings.TrimSuffix(strings.Join([]string{c.Code, c.Key, c.What, c.Effect}, " | "), " | ")
}

func TestBooks(t *testing.T) {
	for _, tt := range []struct {
		name     string
		old, new string // what is written anew
		want     []string
	}{
		{"the same", "", "", nil},
		{"service limit of a shaft", "service: 1.9965", "service: 1.9960", []string{
			"limit | size | service limit down 0.0005: 1.9960; was 1.9965 | wider",
		}},
		{"service limit of a fit", "service: 0.0045L", "service: 0.0040L", []string{
			"limit | fit | service limit down 0.0005: 0.0040L; was 0.0045L | stricter",
		}},
		{"new limits of a shaft, and of the step with them", "1.9980..1.9990", "1.9985..1.9992", []string{
			"limit | size | new minimum up 0.0005: 1.9985; was 1.9980 | stricter",
			"limit | size | new maximum up 0.0002: 1.9992; was 1.9990 | wider",
		}},
		{"new limits of a fit, which service shares", "0.0005T..", "0.0010T..", []string{
			"limit | fit | new minimum down 0.0005: 0.0010T; was 0.0005T | wider",
		}},
		{"the equal value", "service: max 0.002", "service: reject 0.002 or more", []string{
			"limit | run-out | service limit 0.002: the equal value is now out | stricter",
		}},
		{"a limit that was not stated", ", service: 0.012}", "}", []string{
			"limit | end | service is no longer stated; was 0.012",
			"limit | end | kind of limit: not stated; was absolute",
		}},
		{"none for a figure", "service: 0.012", "service: none", []string{
			"limit | end | service is no longer stated; was 0.012",
			"limit | end | kind of limit: none allowed; was absolute",
		}},
		{"printed otherwise", "new: 0.004..0.008", "new: 0.0040 - 0.0080", []string{
			"printed | end | printed: new 0.0040 - 0.0080, service 0.012; was new 0.004..0.008, service 0.012",
		}},
		{"in millimetres", "new: 0.004..0.008, service: 0.012", "unit: mm, new: 0.1016..0.2032, service: 0.3302", []string{
			"limit | end | service limit up 0.0254: 0.3302; was 0.012 | wider",
		}},
		{"page", "page: 3-2, name: End", "page: 3-4, name: End", []string{"page | end | page: 3-4; was 3-2"}},
		{"gone and added", "  run-out: {ref: 4", "  wobble: {ref: 5", []string{
			"line-added | wobble | added: Run-out, service max 0.002",
			"line-gone | run-out | gone: Run-out, service max 0.002",
		}},
		{"renamed", "  run-out: {", "  wobble: {", []string{"line-renamed | wobble | the key was run-out"}},
		{"revision", `revision: "4"`, `revision: "5"`, []string{"manual |  | manual: Overhaul manual, OM-1, revision 5; was Overhaul manual, OM-1, revision 4"}},
		{"amendment", "date: 2026-03-01", "date: 2026-04-01", []string{"amendment | sb7 | amendment: SB-7, 2026-04-01, End clearance; was SB-7, 2026-03-01, End clearance"}},
		{"a line comes under one", "name: End clearance, size", "name: End clearance, amendment: sb7, size", []string{"line | end | amendment: SB-7; was not stated"}},
		{"condition", "ref: 3,", "ref: 3, when: {bushing: new},", []string{"line | end | when: bushing new; was not stated"}},
		{"places", "inside, places: 2", "inside, wears: either, places: 2", []string{"feature | case.main | feature: inside, read in in, 2 places; was inside, wears larger, read in in, 2 places"}},
		{"a step of its own", "new: 1.9980..1.9990, service: 1.9965", "new: 1.9980..1.9990, service: 1.9965, steps: {m010: {new: 1.9880..1.9888, service: 1.9865}}", []string{
			"limit | size | at step m010 new maximum down 0.0002: 1.9888; was 1.9890 | stricter",
		}},
		{"an amount of wear", "service: 1.9965", "service: wear 0.0015 from min", []string{
			"limit | size | kind of limit: amount of wear; was absolute",
			"limit | size | from where the wear is counted: stated; was not stated",
		}},
		{"tiers", "new: 0.004..0.008, service: 0.012", "tiers: {new: 0.004..0.008, overhaul: 0.010, service: 0.012}", []string{
			"limit | end | overhaul added: 0.010",
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if !strings.Contains(edition, tt.old) {
				t.Fatal("nothing to write anew")
			}
			was, is := load(t, edition), load(t, strings.Replace(edition, tt.old, tt.new, 1))
			var got []string
			for _, c := range compare.Books(was, is) {
				got = append(got, told(c))
				if !slices.ContainsFunc(compare.Codes, func(k compare.Code) bool { return k.Code == c.Code }) {
					t.Errorf("code %q is not in Codes", c.Code)
				}
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("got\n  %s\nwanted\n  %s", strings.Join(got, "\n  "), strings.Join(tt.want, "\n  "))
			}
			if back := compare.Books(is, was); len(back) != len(tt.want) {
				t.Errorf("backwards %d changes, not %d: %v", len(back), len(tt.want), back)
			}
		})
	}
}

// What is stricter one way is wider the other.
func TestBackwards(t *testing.T) {
	was := load(t, edition)
	is := load(t, strings.NewReplacer("service: 1.9965", "service: 1.9970", "0.0045L", "0.0050L", "max 0.002", "max 0.001").Replace(edition))
	there, back := compare.Books(was, is), compare.Books(is, was)
	if len(there) != 3 || len(back) != 3 {
		t.Fatalf("%d and %d", len(there), len(back))
	}
	turned := map[string]string{"stricter": "wider", "wider": "stricter"}
	for i := range there {
		if back[i].Effect != turned[there[i].Effect] {
			t.Errorf("%s, backwards %s", told(there[i]), told(back[i]))
		}
	}
}

func TestGrades(t *testing.T) {
	was := load(t, edition)
	is := load(t, strings.NewReplacer("service: 1.9965", "service: 1.9970", "  end: {ref", "  end-play: {ref").Replace(edition))
	const readings = "spot,value\ncrank.main-1,1.9966\ncrank.main-2,1.9985\ncrank.end,0.006\n"
	verdicts := func(b *book.Book) []judge.Verdict {
		f := reading.Load("readings.csv", []byte(readings), b, false)
		if len(f.Faults) > 0 {
			t.Fatal(f.Faults)
		}
		return judge.Book(b, judge.Given{}, judge.File(b, f.Readings).At)
	}
	var got []string
	for _, g := range compare.Grades(verdicts(was), verdicts(is)) {
		text := g.ID
		for _, v := range []*judge.Verdict{g.Old, g.New} {
			if v == nil {
				text += " -"
			} else {
				text += " " + v.Grade.String()
			}
		}
		got = append(got, text)
	}
	want := []string{"size-1 serviceable beyond", "end-play - new", "end new -"}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got %q, wanted %q", got, want)
	}
}
