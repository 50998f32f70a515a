package intake_test

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/book"
	"tenths/internal/demo"
	"tenths/internal/demo/more"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/metrology/limit"
)

// bare takes out of a book where it stands in its file, and returns what its maps
// by pointer say, by name: the rest is then compared deeply.
func bare(b *book.Book) (rest []string) {
	for _, p := range b.Parts {
		for _, f := range p.Features {
			for _, s := range f.Steps {
				for other, marks := range s.Mates {
					rest = append(rest, fmt.Sprint(f.Ref(), s.Mark, other.Ref(), marks))
				}
				s.Mates = nil
			}
		}
		if b.Layout != nil {
			if of, ok := b.Layout.Of[p]; ok {
				rest = append(rest, fmt.Sprint(p.Key, of))
			}
		}
	}
	if b.Layout != nil {
		b.Layout.Of = nil
	}
	for _, l := range b.Lines {
		l.FileLine = 0
		for i := range l.Holds {
			l.Holds[i].FileLine = 0
		}
		for of, both := range l.Reworked {
			one := l.Key
			for _, l := range []limit.Limit{*of, *both} {
				if l.Held != nil {
					one += fmt.Sprintf(" held %+v", *l.Held)
				}
				l.Held = nil
				one += fmt.Sprintf(" %+v", l)
			}
			rest = append(rest, one)
		}
		l.Reworked = nil
	}
	slices.Sort(rest)
	return rest
}

// there writes a book as sheets, reads them back, and returns what was read.
func there(t testing.TB, kind string, own []byte, m intake.Mapping) *intake.Filled {
	t.Helper()
	sheets, err := intake.BookSheets(own)
	if err != nil {
		t.Fatal(err)
	}
	f, ok, faults := readBookSheets("book."+kind, sheetFile(t, kind, sheets), m)
	if !ok || len(faults) > 0 {
		t.Fatalf("%v\n%v\n%s", ok, faults, own)
	}
	return f
}

// readBookSheets makes a book of a file; ok is false where it is no book's.
func readBookSheets(name string, data []byte, m intake.Mapping) (f *intake.Filled, ok bool, faults fault.List) {
	first, faults := table.Read(name, "", data)
	if len(faults) > 0 || !intake.IsBookSheet(first) {
		return nil, false, nil
	}
	f, faults = intake.ReadBookSheets(first, data, m)
	return f, true, faults
}

func sheetFile(t testing.TB, kind string, sheets []table.Out) []byte {
	t.Helper()
	var b bytes.Buffer
	var err error
	if kind == "xlsx" {
		err = table.WriteXLSX(&b, sheets...)
	} else {
		var rows [][]string
		for _, s := range sheets {
			rows = append(append(rows, s.Rows...), nil)
		}
		err = table.WriteCSV(&b, rows)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// equal fails where the book that came back is another one.
func equal(t testing.TB, own []byte) {
	t.Helper()
	for _, kind := range []string{"xlsx", "csv"} {
		want, err := book.Load("b.yaml", own)
		if err != nil {
			t.Fatalf("%v\n%s", err, own)
		}
		f := there(t, kind, own, intake.Mapping{})
		got, err := book.Load("b.yaml", f.Text)
		if err != nil {
			t.Fatalf("%v\n%s", err, f.Text)
		}
		if a, b := bare(want), bare(got); !slices.Equal(a, b) || !reflect.DeepEqual(want, got) {
			for i := range want.Lines {
				if !reflect.DeepEqual(want.Lines[i], got.Lines[i]) {
					t.Errorf("%+v\n%+v", want.Lines[i], got.Lines[i])
				}
			}
			t.Fatalf("%s: of\n%s\ncame\n%s\n%s", kind, own, f.Text, cmp.Diff(a, b))
		}
		if f.Edition != intake.Edition(own) {
			t.Errorf("written from %s", f.Edition)
		}
	}
}

// Every line of the demo's books, of books made of printed tables and of one with
// one of each of the rest goes to a sheet and comes back as it was.
func TestBookSheets(t *testing.T) {
	for name, own := range map[string][]byte{"demo": demo.Book, "in-line": more.Inline, "radial": more.Radial, "rest": []byte(restBook)} {
		t.Run(name, func(t *testing.T) { equal(t, own) })
	}
	for name := range maps.Keys(answers) {
		t.Run(name, func(t *testing.T) { equal(t, printedBook(t, name)) })
	}
}

const restBook = `# A comment.
---
format: book/1
engine: "Rest:  of it"
unit: in
numbering:
conditions: {bush: [new, used]}
parts:
  a: {positions: 2, features: {x: {kind: inside}, y: {kind: outside, directions: [000, 010]}, z: {kind: check}, w: {kind: outside, steps: {std: , u10: {shift: -0.010}}}}}
layout:
sets: {}
lines:
  x: {name: "+", size: a.x, new: 1.0..1.1, note: "~", hold: {service: {text: "", may: ["[1", "\"1\""], why: "= 1 + 1"}}}
  y: {name: "\"quoted\"", ref: "", page: null, size: a.y, service: none, new: 1.00-1.01, when: {bush: new}}
  z: {name: '[bracket]', note: "no\u00a0break  two\u200bzero \ufeff\u2028 {", check: a.z, want: no}
  w: {name: =SUM(A1), note: "'=quoted", size: a.w, new: 1.0..1.1, steps: {u10: {new: 0.99..1.0, service: 0.98}}}
  fit: {name: -1, note: "@x\\y", fit: a.x - a.y, new: 0..0.1}
`

// A cell that is too long for a spreadsheet goes on in the next row.
func TestLongCells(t *testing.T) {
	var groups []string
	for n := range 120 {
		groups = append(groups, fmt.Sprintf("[a-%d.x, a-%d.x]", n*2+1, n*2+2))
	}
	equal(t, []byte("format: book/1\nengine: E\nunit: in\nparts: {a: {positions: 600, features: {x: {kind: inside}}}}\nlines:\n  x: {name: "+
		strings.Repeat("é and a  ", 900)+"z, spread: a.x, new: ..0.1, groups: ["+strings.Join(groups, ", ")+"]}\n"))
}

// Any book comes back as it was: random ones of all that a book can say.
func TestRandomBookSheets(t *testing.T) {
	loaded := 0
	for seed := range 120 {
		own := randomBook(rand.New(rand.NewPCG(uint64(seed), 6)))
		if _, err := book.Load("b.yaml", own); err != nil {
			t.Fatalf("seed %d: the generator made a book with faults: %v\n%s", seed, err, own)
		}
		loaded++
		equal(t, own)
	}
	if loaded != 120 {
		t.Errorf("%d books", loaded)
	}
}

// randomBook makes a book that loads.
func randomBook(r *rand.Rand) []byte {
	some := func(all ...string) string { return all[r.IntN(len(all))] }
	// A text that a spreadsheet may spoil.
	text := func() string {
		var b strings.Builder
		for range 1 + r.IntN(4) {
			b.WriteString(some("=", "+", "-", "@", "'", `\"`, `\\`, "Main journal", "  ", "\\u00a0", "é", "{", "[", "]", ", ", ": ", "# ", "~", "null", "1.0", "010", "\\u2028", "\\ufeff", "|", ";", "0x1", "yes", "1e5", "2026-01-02"))
		}
		return `"x` + b.String() + `y"`
	}
	maybe := func(key, value string) string {
		if r.IntN(3) == 0 {
			return ", " + key + ": " + value
		}
		return ""
	}
	comma := r.IntN(3) == 0
	fig := func(s string) string { // a figure as the book writes it
		if comma {
			return `"` + strings.ReplaceAll(s, ".", ",") + `"`
		}
		return s
	}
	span := func(a, b string) string {
		if comma {
			return `"` + strings.ReplaceAll(a, ".", ",") + ".." + strings.ReplaceAll(b, ".", ",") + `"`
		}
		return a + ".." + b
	}
	var b strings.Builder
	fmt.Fprintf(&b, "format: book/1\nengine: %s\nunit: %s\n", text(), some("in", "mm"))
	if comma {
		b.WriteString("decimal: comma\n")
	}
	if r.IntN(2) == 0 {
		fmt.Fprintf(&b, "manual: {title: %s%s}\n", text(), maybe("revision", `"4"`))
	}
	if r.IntN(2) == 0 {
		fmt.Fprintf(&b, "numbering: {first: %s%s%s}\n", text(), maybe("left", text()), maybe("viewpoint", text()))
	}
	fmt.Fprintf(&b, "conditions: {bush: [new, used], rod: [6102-a, \"6140\"]}\namendments: {sb: {number: %s, date: 2026-03-01, title: %s}}\n", text(), text())
	n := 2 * (1 + r.IntN(3))
	fmt.Fprintf(&b, `parts:
  crank:
    name: %s
    treatment: %s
    features:
      main: {kind: outside, places: %d, planes: {front: %s, rear: %s}, directions: [0, 090]%s, steps: {std: {mates: {case.shell: [std]}}, u10: {shift: %s}}}
      dial: {kind: dial, directions: [0, 90]}
      end: {kind: clearance}
      nuts: {kind: torque, unit: %s, wears: either}
  case: {features: {bore: {kind: inside, places: %d, directions: [0, 90]}, shell: {kind: length, wears: smaller, places: %d, steps: {u10: {shift: %s}}}, made: {kind: inside, made-of: [case.bore, crank.nuts], counts: mean, directions: [0, 90]}}}
  rod: {name: %s, positions: %d%s, features: {weight: {kind: mass, unit: oz, wears: either}, leak: {kind: check}, gap: {kind: clearance%s}, hole: {kind: inside, planes: [top, foot]}}}
`, text(), text(), n, fig("0.25"), fig("1.75"), maybe("counts", "worst"), fig("-0.010"), some("lbf-in", "N·m"), n, n, fig("0.010"), text(), n, maybe("numbering", "{first: "+text()+"}"), maybe("name", text()))
	if r.IntN(2) == 0 {
		fmt.Fprintf(&b, "sets:\n  rods: {kind: %s, of: [rod-1, rod-2]%s}\n", some("pair", "set"), maybe("why", text()))
	}
	b.WriteString("lines:\n")
	count := 0
	line := func(body string) {
		count++
		fmt.Fprintf(&b, "  l%d: {name: %s, %s%s%s%s%s%s%s%s}\n", count, text(), body, maybe("ref", text()), maybe("page", text()), maybe("note", text()), maybe("as", text()),
			maybe("when", some("{bush: new}", "{bush: [new, used], rod: \"6140\"}")), maybe("serials", some("[..1000]", "[1001..1999, \"2000..\"]")), maybe("amendment", "sb"))
	}
	for range 2 + r.IntN(20) {
		limits := "new: " + span("2.2485", "2.2500") + maybe("service", fig("2.2470"))
		switch r.IntN(15) {
		case 0:
			line("size: crank.main, " + limits + maybe("steps", "{u10: {new: "+span("2.2385", "2.2390")+"}}") + maybe("planes", "[rear]") + maybe("graded", "no"))
		case 1:
			line("fit: case.bore - 2 case.shell - crank.main, new: " + span("0.0010", "0.0030") + maybe("select", "["+fig("0.121")+", "+fig("0.123")+"]"))
		case 2:
			line("fit: case.bore - crank.main, new: " + span("0.0010", "0.0030") + ", mates: {crank.main: [crank.main-1], case.bore: [case.bore-2]}" + maybe("service", fig("0.0045")))
		case 3:
			line("out-of-round: crank.main, service: " + fig("0.0005"))
		case 4:
			line(`taper-rate: crank.main, new: "` + some("..", "max ") + strings.Trim(fig("0.0005"), `"`) + ` per inch"`)
		case 5:
			line("run-out: crank.dial, bands: {use: .." + some("2", "3") + ", rework: ..5}")
		case 6:
			line("size: crank.end, tiers: {new: 8..16, overhaul: ..20, service: ..26}")
		case 7:
			line("spread: rod.weight, groups: [[rod-1.weight, rod-2.weight]], service: max 1")
		case 8:
			line("check: rod.leak, want: " + some("yes", "no"))
		case 9:
			line("size: rod.gap, new: " + span("0.030", "0.045") + ", moves: {with: rod.hole, from: " + fig("5.125") + ", by: 3}")
		case 10:
			line("difference: rod.hole.top - rod.hole.foot, new: " + span("0.006", "0.010"))
		case 11:
			line("size: case.made, new: " + span("2.2510", "2.2520") + ", also: {unit: " + some("mm", "in") + ", new: " + text() + "}, printed: {new: " + text() + maybe("service", text()) + "}")
		case 12:
			line("size: rod.hole, hold: {" + some("new", "service", "kind") + ": {text: " + text() + maybe("may", "["+text()+", "+text()+"]") + maybe("why", text()) + "}}")
		case 13:
			line("same-step: crank.main")
		case 14:
			line("size: crank.nuts, unit: lbf-ft, new: 35..40")
		}
	}
	return []byte(b.String())
}
