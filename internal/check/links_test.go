package check_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/demo"
	"tenths/internal/demo/more"
	"tenths/internal/intake"
	"tenths/internal/table"
)

// linked is the book of a printed table as it is imported, and where settled says
// so with each cell that waits settled by its first likely reading.
func linked(t testing.TB, name string, settled bool) *book.Book {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "intake", "testdata", "printed", name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	s, faults := table.Read(name+".csv", "", data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	d, faults := intake.Read(s, intake.Mapping{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	own := d.Book(intake.Title{})
	b, err := book.Load("b.yaml", own)
	if err != nil {
		t.Fatal(err)
	}
	if !settled {
		return b
	}
	var says []book.Saying
	for _, d := range b.Doubts() {
		if len(d.May) > 0 {
			says = append(says, book.Saying{Line: d.Line.Key, Cell: d.Cell, Says: d.May[0], By: "A", Why: "w"})
		}
	}
	_, done, err := book.Answer("b.yaml", own, nil, says, false)
	if err != nil {
		t.Fatal(err)
	}
	return done.Book
}

// Of the printed tables the true links are suggested, and first; what is false is
// counted. The counts stand in docs/sources.md.
func TestLinksOfPrintedTables(t *testing.T) {
	truth := trueLinks(t)
	files, err := filepath.Glob("../intake/testdata/printed/G*.csv")
	if err != nil || len(files) != 9 {
		t.Fatalf("%d tables, %v", len(files), err)
	}
	for _, settled := range []bool{false, true} {
		var got counted
		for _, file := range files {
			name := strings.TrimSuffix(filepath.Base(file), ".csv")
			got.count(check.Links(linked(t, name, settled)), func(k *check.Link) bool {
				var refs []string
				for _, l := range k.Sizes {
					refs = append(refs, l.Ref)
				}
				return slices.Equal(truth[name[:2]+" "+k.Line.Ref], refs)
			})
		}
		// The false one that comes first is of a shaft that is misprinted.
		if want := (counted{true_: 28, falseFirst: 1, false_: 6}); got != want || len(truth) != 29 {
			t.Errorf("settled %v: of %d links %+v, want %+v", settled, len(truth), got, want)
		}
	}
}

// counted are suggestions: how many rows have a true one first, and what else.
type counted struct{ true_, falseFirst, false_, trueLater int }

func (c *counted) count(all []check.Link, isTrue func(*check.Link) bool) {
	for i := range all {
		top := i == 0 || all[i].Line != all[i-1].Line
		right := isTrue(&all[i])
		switch {
		case right && top:
			c.true_++
		case right:
			c.trueLater++
		case top:
			c.falseFirst++
			c.false_++
		default:
			c.false_++
		}
	}
}

// The demo's books, which had no part in how links are weighed, with every fit of
// lengths made a row of clearances that nobody has linked.
func TestLinksOfUnlinkedBooks(t *testing.T) {
	var got counted
	fits := 0
	for _, own := range [][]byte{demo.Book, more.Inline, more.Radial} {
		var doc yaml.Node
		if err := yaml.Unmarshal(own, &doc); err != nil {
			t.Fatal(err)
		}
		top := doc.Content[0]
		value := func(n *yaml.Node, key string) *yaml.Node {
			for i := 0; i < len(n.Content); i += 2 {
				if n.Content[i].Value == key {
					return n.Content[i+1]
				}
			}
			return nil
		}
		b, err := book.Load("b.yaml", own)
		if err != nil {
			t.Fatal(err)
		}
		sized := map[string]bool{}
		for _, l := range b.Lines {
			if l.Judges == book.Size {
				sized[l.Terms[0].Feature.Ref()] = true
			}
		}
		was := map[string]string{}
		loose := &yaml.Node{Kind: yaml.MappingNode}
		lines := value(top, "lines")
		for i := 0; i < len(lines.Content); i += 2 {
			key, line := lines.Content[i].Value, lines.Content[i+1]
			fit := value(line, "fit")
			governed := value(line, "governed-by") != nil
			line.Content = without(line.Content, "governed-by")
			if fit == nil || value(line, "select") != nil || governed {
				continue
			}
			feature := fmt.Sprintf("f%d", i)
			l, _ := b.Line(key)
			if !slices.ContainsFunc(l.Terms, func(t book.Term) bool { return !sized[t.Feature.Ref()] }) {
				was[key], fits = fit.Value, fits+1
			}
			line.Content = without(line.Content, "mates", "planes")
			for k := 0; k < len(line.Content); k += 2 {
				if line.Content[k].Value == "fit" {
					line.Content[k].Value, line.Content[k+1].Value = "size", "loose."+feature
				}
			}
			var one yaml.Node
			if err := yaml.Unmarshal([]byte("{kind: clearance}"), &one); err != nil {
				t.Fatal(err)
			}
			var name yaml.Node
			name.SetString(feature)
			loose.Content = append(loose.Content, &name, one.Content[0])
		}
		var part, features yaml.Node
		part.SetString("loose")
		features.SetString("features")
		parts := value(top, "parts")
		parts.Content = append(parts.Content, &part, &yaml.Node{Kind: yaml.MappingNode, Content: []*yaml.Node{&features, loose}})
		text, err := yaml.Marshal(&doc)
		if err != nil {
			t.Fatal(err)
		}
		if b, err = book.Load("b.yaml", text); err != nil {
			t.Fatal(err)
		}
		plane := regexp.MustCompile(`\b([a-z0-9]+\.[a-z0-9]+)\.[a-z0-9]+`)
		got.count(check.Links(b), func(k *check.Link) bool {
			return plane.ReplaceAllString(was[k.Line.Key], "$1") == k.Fit
		})
	}
	// The two that come first and are false are end clearances that the books have
	// measured, beside a line that works them out just so.
	if want := (counted{true_: 32, falseFirst: 2, false_: 5}); got != want || fits != 32 {
		t.Errorf("of %d fits %+v, want %+v", fits, got, want)
	}
}

// without takes keys out of a mapping.
func without(content []*yaml.Node, keys ...string) (kept []*yaml.Node) {
	for k := 0; k < len(content); k += 2 {
		if !slices.Contains(keys, content[k].Value) {
			kept = append(kept, content[k], content[k+1])
		}
	}
	return kept
}

// trueLinks are the links that there are: those of the key of fits, the two stacks,
// and four that print no new clearance, which the key leaves out.
func trueLinks(t testing.TB) map[string][]string {
	truth := map[string][]string{
		"G1 CK-rc": {"CR-B", "CK-11", "CK-r"},
		"G1 CK-mc": {"BL-58m", "CK-19", "CK-m"},
		"G7 TA-c":  {"TA-b", "TA-d"},
		"G7 VG-c":  {"VG-b", "VA-s"},
		"G7 CC-g":  {"CB-g", "CJ-g"},
		"G9 17":    {"15", "16"},
	}
	for _, k := range rows(t, "testdata/fits.csv") {
		truth[k["source_id"][:2]+" "+k["fit_ref"]] = []string{k["bore_ref"], k["shaft_ref"]}
	}
	return truth
}

// In a long book a clearance is linked to sizes that stand near it, and not to
// those far away: each with each would take minutes.
func TestLinksOfLongBooks(t *testing.T) {
	const bore, shaft = "  bore: {name: Pump bushing, size: p.bore, new: 1.0010..1.0020}\n", "  shaft: {name: Pump shaft, size: p.shaft, new: 0.9990..1.0000}\n"
	const gap = "  gap: {name: Pump shaft in bushing, size: p.gap, new: 0.0010..0.0030}\n"
	for _, c := range []struct {
		lines, apart int
		want         bool
	}{{1000, 900, true}, {2500, 20, true}, {2500, 900, false}} {
		features, lines := strings.Builder{}, []string{bore, shaft}
		for i := range c.lines - 3 {
			fmt.Fprintf(&features, "      f%d: {kind: outside}\n", i)
			lines = append(lines, fmt.Sprintf("  f%d: {name: Stud, size: p.f%d, new: 9.0000..9.0001}\n", i, i))
		}
		lines = slices.Insert(lines, c.apart, gap)
		text := "format: book/1\nengine: E\nunit: in\nparts:\n  p:\n    features:\n      bore: {kind: inside}\n      shaft: {kind: outside}\n      gap: {kind: clearance}\n" + features.String() + "lines:\n" + strings.Join(lines, "")
		b, err := book.Load("b.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		all := check.Links(b)
		if got := len(all) == 1 && all[0].Fit == "p.bore - p.shaft"; got != c.want || !c.want && len(all) > 0 {
			t.Errorf("%d lines, %d apart: %+v", c.lines, c.apart, all)
		}
	}
}

// A stack whose two shells are rows of their own, thicker above than below, is
// suggested with both; one whose shells are one row with that twice.
func TestLinksOfStacks(t *testing.T) {
	const text = `format: book/1
engine: E
unit: in
parts:
  p:
    features: {mb: {kind: inside}, rb: {kind: inside}, upper: {kind: length, wears: smaller}, lower: {kind: length, wears: smaller}, rs: {kind: length, wears: smaller}, main: {kind: outside}, rod: {kind: outside}, mc: {kind: clearance}, rc: {kind: clearance}}
lines:
  mb: {name: Main bearing bore in crankcase, size: p.mb, new: 2.6865..2.6870}
  upper: {name: Main bearing shell thickness upper, size: p.upper, new: 0.0925..0.0927}
  lower: {name: Main bearing shell thickness lower, size: p.lower, new: 0.0935..0.0937}
  main: {name: Crankshaft main journal, size: p.main, new: 2.4980..2.4990}
  mc: {name: Main bearing clearance on journal, size: p.mc, new: 0.0011..0.0030}
  rb: {name: Connecting rod bearing bore, size: p.rb, new: 2.3120..2.3125}
  rs: {name: Connecting rod bearing shell thickness, size: p.rs, new: 0.0930..0.0932}
  rod: {name: Crankshaft rod journal, size: p.rod, new: 2.1230..2.1240}
  rc: {name: Connecting rod bearing clearance on journal, size: p.rc, new: 0.0016..0.0035}
`
	b, err := book.Load("b.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	first := map[string]check.Link{}
	for _, k := range check.Links(b) {
		if _, seen := first[k.Line.Key]; !seen {
			first[k.Line.Key] = k
		}
	}
	for key, want := range map[string][]string{
		"mc": {"p.mb - p.upper - p.lower - p.main", "mb upper lower main", "tightest = 2.6865 − 0.0927 − 0.0937 − 2.4990 = 0.0011L; printed is the same", "loosest = 2.6870 − 0.0925 − 0.0935 − 2.4980 = 0.0030L; printed is the same"},
		"rc": {"p.rb - 2 p.rs - p.rod", "rb rs rod", "tightest = 2.3120 − 2 × 0.0932 − 2.1240 = 0.0016L; printed is the same", "loosest = 2.3125 − 2 × 0.0930 − 2.1230 = 0.0035L; printed is the same"},
	} {
		k := first[key]
		var sizes []string
		for _, l := range k.Sizes {
			sizes = append(sizes, l.Key)
		}
		if got := append([]string{k.Fit, strings.Join(sizes, " ")}, k.Sum...); !slices.Equal(got, want) {
			t.Errorf("%s: %q\nwant %q", key, got, want)
		}
	}
}

// Sizes that are not equally many are suggested with why they can't be linked as
// the book is; those that are, or of which each part has one, can.
func TestLinksOfUnequals(t *testing.T) {
	for _, c := range []struct{ rod, pin, bush, but string }{
		{"", "", "", ""},
		{"positions: 4, ", "", "", "rod.bush is 4, pin.outside is 1: who mates with whom?"},
		{"positions: 4, ", "positions: 4, ", "", ""},
		{"positions: 4, ", "positions: 4, ", "places: 2, ", ""},
		{"", "positions: 4, ", "places: 2, ", "rod.bush is 2, pin.outside is 4: who mates with whom?"},
	} {
		text := "format: book/1\nengine: E\nunit: in\nparts:\n  rod: {" + c.rod + "features: {bush: {" + c.bush + "kind: inside}, gap: {kind: clearance}}}\n  pin: {" + c.pin + `features: {outside: {kind: outside}}}
lines:
  bush-bore: {name: Piston pin bushing in rod, size: rod.bush, new: 2.4010..2.4015}
  pin-size: {name: Piston pin diameter, size: pin.outside, new: 2.3988..2.3990}
  pin-fit: {name: Piston pin clearance in rod bushing, size: rod.gap, new: 0.0020..0.0027}
`
		b, err := book.Load("b.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		all := check.Links(b)
		if len(all) != 1 || all[0].But != c.but {
			t.Errorf("%+v: %+v", c, all)
			continue
		}
		_, _, err = book.Confirm("b.yaml", []byte(text), nil, []book.Linking{{Line: "pin-fit", Fit: all[0].Fit, By: "A. Fitter", Date: "2026-03-01"}}, false)
		if (err == nil) != (c.but == "") {
			t.Errorf("%+v: it is confirmed with %v", c, err)
		}
	}
}

// What plays along a shaft is not the fit of two diameters, though the words say the
// part and one figure is by chance the same; where both are, it is suggested.
func TestEndPlayIsNoFitOfDiameters(t *testing.T) {
	for _, c := range []struct {
		printed string
		want    int
	}{{"0.002-0.009", 0}, {"0.0015-0.0035", 1}} {
		s, faults := table.Read("t.csv", "", []byte("ref,name,new,wear limit\n1,Camshaft jnl OD,2.0605-2.0615,2.0595\n2,Cam brg bore in case,2.0630-2.0640,2.0650\n3,Cam end play,"+c.printed+",0.015\n"))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		d, faults := intake.Read(s, intake.Mapping{Unit: "in"})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		b, err := book.Load("b.yaml", d.Book(intake.Title{}))
		if err != nil {
			t.Fatal(err)
		}
		if links := check.Links(b); len(links) != c.want {
			t.Errorf("%s: %+v", c.printed, links)
		}
	}
}
