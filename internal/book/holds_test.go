package book

import (
	"errors"
	"strings"
	"testing"

	"tenths/internal/fault"
	"tenths/metrology/limit"
)

const heldBook = `format: book/1
engine: E
unit: in
parts:
  case: {features: {bore: {kind: inside}}}
  shaft: {features: {outside: {kind: outside}}}
  loose: {features: {gap: {kind: clearance}}}
  tab: {features: {height: {kind: outside}}}
lines:
  bore: {name: Bore, size: case.bore, new: 1.0010..1.0020, hold: {service: {text: "1,0030", may: [1.0030], why: a comma}}}
  shaft: {name: Shaft, size: shaft.outside, service: 0.9980, hold: {new: {text: "1.0000.999"}}}
  gap: {name: Clearance, size: loose.gap, new: 0.0010..0.0030, service: 0.0045, printed: {new: .0010 - .0030}, also: {unit: mm, new: 0.025..0.076, service: O.114}}
  tab: {name: Tab, size: tab.height, new: 0.500..0.510, service: 0.520, hold: {kind: {text: "Tab, base to tip", may: [outside, length]}}}
`

const settledBook = `format: settled/1
holds:
  bore: {service: {says: 1.0030, by: A. Fitter, why: the other printing}}
  shaft: {new: {says: 0.9990..1.0000, by: A. Fitter, why: the drawing, date: 2026-01-02}}
  tab: {kind: {says: length wears larger, by: A. Fitter, why: it stretches}}
acknowledged:
  - {code: service-equal, lines: [gap, bore], by: A. Fitter, reason: as-printed}
links:
  gap: {fit: case.bore - shaft.outside, by: A. Fitter}
`

// A book with holds loads; what can be read of a held line is there to show.
func TestHolds(t *testing.T) {
	b, err := Load("b.yaml", []byte(heldBook))
	if err != nil {
		t.Fatal(err)
	}
	bore, _ := b.Line("bore")
	if len(bore.Holds) != 1 || bore.Holds[0].Cell != HoldService || bore.Holds[0].Text != "1,0030" || bore.Holds[0].May[0] != "1.0030" || bore.Holds[0].FileLine != 10 {
		t.Errorf("%+v", bore.Holds)
	}
	if len(bore.Limit.Tiers) != 1 || bore.Limit.Kind != limit.Reference || bore.Limit.Printed != `held: service "1,0030"` {
		t.Errorf("%+v", bore.Limit)
	}
	shaft, _ := b.Line("shaft")
	if len(shaft.Limit.Tiers) != 1 || shaft.Limit.Tiers[0].Name != "service" {
		t.Errorf("%+v", shaft.Limit)
	}
	gap, _ := b.Line("gap")
	if gap.Printed.New != ".0010 - .0030" || gap.Also == nil || gap.Also.Service != "O.114" {
		t.Errorf("%+v %+v", gap.Printed, gap.Also)
	}
	tab, _ := b.Line("tab")
	if len(tab.Limit.Tiers) != 0 || !strings.Contains(tab.Limit.Printed, "new 0.500..0.510, service 0.520") {
		t.Errorf("%+v", tab.Limit)
	}
}

func TestSettledOfLines(t *testing.T) {
	b, err := Load("b.yaml", Join([]byte(heldBook), []byte(settledBook)))
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range b.Lines {
		if len(l.Holds) > 0 {
			t.Errorf("%s is held still", l.Key)
		}
	}
	bore, _ := b.Line("bore")
	if len(bore.Limit.Tiers) != 2 || bore.Settled[0].Says != "1.0030" || bore.Settled[0].Text != "1,0030" || bore.Settled[0].By != "A. Fitter" || bore.Settled[0].At != 3 {
		t.Errorf("%+v %+v", bore.Limit, bore.Settled)
	}
	tab, _ := b.Line("tab")
	if f := tab.Terms[0].Feature; f.Class != Extent || f.Wears != Larger || len(tab.Limit.Tiers) != 2 {
		t.Errorf("%+v", f)
	}
	gap, _ := b.Line("gap")
	if gap.Judges != Fit || len(gap.Terms) != 2 || gap.Link == nil || gap.Link.By != "A. Fitter" {
		t.Errorf("%+v", gap)
	}
	if _, there := b.Spot("loose.gap"); there || len(b.Parts) != 3 {
		t.Errorf("the clearance that was linked is asked for still: %d parts", len(b.Parts))
	}
}

// Faults of what was settled name its file and its line there.
func TestSettledOfLinesFaults(t *testing.T) {
	for _, c := range []struct {
		settled, file, code string
		line                int
	}{
		{"format: settled/1\nholds:\n  bore: {service: {says: 1,0030, by: A, why: w}}\n", "b.settled.yaml", "unknown-key", 3},
		{"format: settled/1\nholds:\n  bore: {service: {says: 1.OO30, by: A, why: w}}\n", "b.settled.yaml", "limit", 3},
		{"format: settled/1\nholds:\n  bore: {new: {says: 1.0030, by: A, why: w}}\n", "b.settled.yaml", "nowhere", 3},
		{"format: settled/1\nholds:\n  bore: {service: {says: 1.0030, why: w}}\n", "b.settled.yaml", "missing", 3},
		{"format: settled/1\nholds:\n  lost: {service: {says: 1.0030, by: A, why: w}}\n", "b.settled.yaml", "nowhere", 3},
		{"format: settled/1\nholds:\n  tab: {kind: {says: run-out, by: A, why: w}}\n", "b.settled.yaml", "kind", 3},
		{"format: settled/1\nlinks:\n\n  gap: {fit: case.bore - shaft.nowhere, by: A}\n", "b.settled.yaml", "nowhere", 4},
		{"format: settled/1\nlinks:\n  gap: {by: A}\n", "b.settled.yaml", "missing", 3},
		{"format: settled/1\nacknowledged:\n  - {code: c, by: A, reason: selection}\n", "b.settled.yaml", "missing", 3},
		{"format: settled/1\nacknowledged:\n  - {code: c, lines: [gap], by: A, reason: because}\n", "b.settled.yaml", "choice", 3},
		{"format: settled/2\n", "b.settled.yaml", "format", 1},
		{"\nholds: {}\n", "b.settled.yaml", "missing", 1},
		{"# two\n---\nformat: settled/1\nholds: [\n", "b.settled.yaml", "syntax", 4},
		{"format: settled/1\n---\nmore: 1\n", "b.settled.yaml", "syntax", 2},
		{"format: settled/1\nwhat: 1\n", "b.settled.yaml", "unknown-key", 2},
	} {
		_, err := Load("b.yaml", Join([]byte(heldBook), []byte(c.settled)))
		var list fault.List
		if !errors.As(err, &list) {
			t.Errorf("%q: no faults: %v", c.settled, err)
			continue
		}
		found := false
		for _, f := range list {
			found = found || f.File == c.file && f.Code == c.code && f.Line == c.line
		}
		if !found {
			t.Errorf("%q: wanted %s:%d [%s], got\n%v", c.settled, c.file, c.line, c.code, list)
		}
	}
}

func TestHoldFaults(t *testing.T) {
	for _, c := range []struct{ line, code string }{
		{"{name: A, size: case.bore, new: 1.0010..1.0020, service: 1.0030, hold: {service: {text: x}}}", "judges"},
		{"{name: A, size: case.bore, new: 1.0010..1.0020, hold: {service: {why: x}}}", "missing"},
		{"{name: A, size: case.bore, new: 1.0010..l.0020, hold: {service: {text: x}}}", "limit"},
		{"{name: A, size: case.bore, tiers: {new: 1.0010..1.0020}, hold: {service: {text: x}}}", "judges"},
		{"{name: A, size: case.bore, new: 1.0010..1.0020, also: {new: 25.4..25.5}}", "missing"},
		{"{name: A, size: case.bore, new: 1.0010..1.0020, also: {unit: furlong, new: 25.4..25.5}}", "unit"},
	} {
		list := faultsOf(t, "format: book/1\nengine: E\nunit: in\nparts: {case: {features: {bore: {kind: inside}}}}\nlines:\n  a: "+c.line+"\n")
		if len(list) != 1 || list[0].Code != c.code || list[0].Line != 6 {
			t.Errorf("%s: %v", c.line, list)
		}
	}
}

// Joined text is what an edition is the hash of: nothing settled changes
// nothing, and marks and line ends are put only where they are wanted.
func TestJoin(t *testing.T) {
	for _, c := range []struct{ book, settled, want string }{
		{"a: 1\n", "", "a: 1\n"},
		{"a: 1\n", " \n", "a: 1\n"},
		{"a: 1", "b: 2\n", "a: 1\n---\nb: 2\n"},
		{"a: 1\n", "# c\n---\nb: 2\n", "a: 1\n---\n# c\n---\nb: 2\n"},
	} {
		if got := string(Join([]byte(c.book), []byte(c.settled))); got != c.want {
			t.Errorf("%q + %q = %q", c.book, c.settled, got)
		}
	}
	if _, err := Load("b.yaml", []byte("# mine\n---\n"+heldBook)); err != nil {
		t.Errorf("a book with its own mark: %v", err)
	}
}
