package more_test

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/fit"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// An engine is a book with its readings, and what is known beside them.
type engine struct {
	name  string
	text  string // the book as it is written
	book  *book.Book
	file  *reading.File
	given judge.Given
}

func load(t testing.TB, name string) *engine {
	t.Helper()
	e := &engine{name: name}
	e.given.Conditions = map[string]string{"guides": "used", "bushings": "used"}
	e.given.Serial = "1500"
	if name == "inline" {
		e.given.Conditions = map[string]string{"bush": "used"}
		e.given.Serial = "120"
	}
	text, err := os.ReadFile(name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	readings, err := os.ReadFile(name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	e.text = string(text)
	if e.book, err = book.Load(name+".yaml", text); err != nil {
		t.Fatal(err)
	}
	e.file = reading.Load(name+".csv", readings, e.book, e.book.Comma)
	if len(e.file.Faults) > 0 {
		t.Fatal(e.file.Faults)
	}
	return e
}

func both(t testing.TB) []*engine { return []*engine{load(t, "radial"), load(t, "inline")} }

func (e *engine) verdicts(given judge.Given) []judge.Verdict {
	return judge.Book(e.book, given, judge.File(e.book, e.file.Readings).At)
}

func TestCounts(t *testing.T) {
	for i, e := range both(t) {
		for _, c := range []struct {
			what string
			got  int
			want [2]int
		}{
			{"lines", len(e.book.Lines), [2]int{68, 68}},
			{"spots", len(e.book.Spots), [2]int{280, 284}},
			{"readings", len(e.file.Readings), [2]int{281, 282}},
			{"verdicts", len(e.verdicts(e.given)), [2]int{282, 293}},
		} {
			if c.got != c.want[i] {
				t.Errorf("%s: %d %s, want %d", e.name, c.got, c.what, c.want[i])
			}
		}
	}
}

func TestEveryLineIsReached(t *testing.T) {
	for _, e := range both(t) {
		taken := map[book.SpotID]bool{}
		for i := range e.file.Readings {
			taken[e.file.Readings[i].Spot] = true
		}
		for _, l := range e.book.Lines {
			if !slices.ContainsFunc(l.Instances, func(inst book.Instance) bool {
				return slices.ContainsFunc(inst.Spots, func(s book.SpotID) bool { return taken[s] })
			}) {
				t.Errorf("%s: %s has no reading", e.name, l.Key)
			}
		}
	}
}

// What a book can say, and the line that says it.
func TestLinesSayEverything(t *testing.T) {
	judges := func(j book.Judges) func(*book.Line) bool {
		return func(l *book.Line) bool { return l.Judges == j }
	}
	kind := func(k limit.Kind) func(*book.Line) bool {
		return func(l *book.Line) bool { return l.Limit.Kind == k }
	}
	first := func(l *book.Line) limit.Range { return l.Limit.Tiers[0].Range }
	last := func(l *book.Line) limit.Range { return l.Limit.Tiers[len(l.Limit.Tiers)-1].Range }
	var table []use
	for j, by := range map[book.Judges]string{
		book.Size: "radial/main-size", book.Fit: "radial/knuckle-run", book.OutOfRound: "radial/pin-round", book.Taper: "inline/main-taper",
		book.TaperRate: "inline/main-taper-rate", book.RunOut: "radial/impeller-runout", book.Bend: "inline/shaft-bend",
		book.Difference: "radial/choke", book.Spread: "inline/leak-even", book.MeanOf: "radial/lift-mean", book.Total: "inline/washer-total",
		book.SameStep: "inline/main-alike", book.YesNo: "radial/leak",
	} {
		table = append(table, use{"judges " + j.String(), by, judges(j)})
	}
	for k, by := range map[limit.Kind]string{
		limit.Absolute: "radial/pin-size", limit.Wear: "inline/bush", limit.PlusMinus: "inline/spring-open", limit.AsNew: "radial/housing",
		limit.None: "radial/knuckle-hole", limit.Silent: "radial/blower-front", limit.Reference: "inline/idler-seat",
	} {
		table = append(table, use{"limits " + k.String(), by, kind(k)})
	}
	table = append(table, []use{
		{"a figure itself out, the least", "radial/stem-size", func(l *book.Line) bool { return last(l).Min.Open }},
		{"a figure itself out, the most", "inline/rod-side", func(l *book.Line) bool { return last(l).Max.Open }},
		{"wear whose base is stated", "inline/gudgeon", func(l *book.Line) bool { return l.Limit.Kind == limit.Wear && l.Limit.Held == nil }},
		{"wear whose base is not stated", "inline/rod-bolt", func(l *book.Line) bool { return l.Limit.Held != nil }},
		{"tight to loose", "inline/boss-fit", func(l *book.Line) bool { return first(l).Min.At.Sign() < 0 && first(l).Max.At.Sign() > 0 }},
		{"a fit with two alike", "inline/main-fit", func(l *book.Line) bool { return l.Terms[1].Times == -2 }},
		{"planes of a difference", "inline/barrel-taper", func(l *book.Line) bool { return l.Terms[0].Plane == "top" }},
		{"one mates with two", "inline/boss-fit", func(l *book.Line) bool { return l.Instances[0].Sites[1] == l.Instances[1].Sites[1] }},
		{"mates out of order", "radial/link-small-fit", func(l *book.Line) bool { return l.Instances[0].Sites[1].Position == 2 }},
		{"some planes only", "radial/bore-round", func(l *book.Line) bool { return slices.Equal(l.Planes, []string{"flange", "choke"}) }},
		{"some planes of a fit", "radial/knuckle-press", func(l *book.Line) bool { return len(l.Planes) == 2 && len(l.Instances[0].Spots) == 4 }},
		{"groups", "radial/link-weight-pair", func(l *book.Line) bool { return len(l.Instances) == 3 && len(l.Instances[0].Sites) == 2 }},
		{"all in one group", "radial/link-weight-set", func(l *book.Line) bool { return len(l.Instances) == 1 && len(l.Instances[0].Sites) == 6 }},
		{"limits of a step, shifted", "inline/pin-size", func(l *book.Line) bool {
			return l.AtStep["m25"] != nil && l.AtStep["m25"].Tiers[0].Range.Max.At.Cmp(first(l).Max.At) < 0
		}},
		{"limits of a step, of their own", "inline/main-size", func(l *book.Line) bool { return l.AtStep["m50"].Tiers[0].Printed == "59,480..59,495" }},
		{"tiers", "inline/end-clearance", func(l *book.Line) bool { return len(l.Limit.Tiers) == 3 && l.Limit.Tiers[1].Name == "overhaul" }},
		{"bands", "radial/shaft-runout", func(l *book.Line) bool { return l.Limit.Tiers[1].Name == "rework" }},
		{"a condition", "radial/stem-fit-new", func(l *book.Line) bool { return slices.Contains(l.When["guides"], "new") }},
		{"serials", "radial/ring-gap-second", func(l *book.Line) bool { return len(l.Serials) == 2 && l.Serials[1].To == "" }},
		{"an amendment", "inline/pump-flow-second", func(l *book.Line) bool { return l.Amendment.Number == "INV-S6-B1" }},
		{"in another's stead", "inline/pump-flow-second", func(l *book.Line) bool { return l.Replaces.Key == "pump-flow" }},
		{"how it is measured", "radial/pump-flow", func(l *book.Line) bool { return l.As != "" }},
		{"governed by another", "radial/pump-fit", func(l *book.Line) bool { return l.Governor.Key == "pump-end" }},
		{"not graded", "inline/guide", func(l *book.Line) bool { return l.Ungraded && !l.Limit.Ungraded }},
		{"limits that move", "radial/ring-gap", func(l *book.Line) bool { return l.Moves.With.Ref() == "cylinder.bore" }},
		{"a selected part", "inline/idler-fit", func(l *book.Line) bool { return len(l.Choices) == 3 }},
		{"a check that wants no", "radial/deck-crack", func(l *book.Line) bool { return !l.WantYes }},
		{"a unit of its own", "inline/seal", func(l *book.Line) bool { return l.Unit == quantity.Inch }},
		{"a mean that is its size", "inline/neck", (*book.Line).IsMean},
		{"the manual's reference and page, and a note", "inline/seal", func(l *book.Line) bool { return l.Ref != "" && l.Page != "" && l.Note != "" }},
	}...)
	engines := map[string]*engine{}
	for _, e := range both(t) {
		engines[e.name] = e
	}
	said := map[book.Judges]bool{}
	kinds := map[limit.Kind]bool{}
	for _, u := range table {
		name, key, _ := strings.Cut(u.by, "/")
		l, ok := engines[name].book.Line(key)
		if !ok || !u.is(l) {
			t.Errorf("%s does not show: %s", u.by, u.what)
			continue
		}
		said[l.Judges], kinds[l.Limit.Kind] = true, true
	}
	for j := book.Size; j <= book.YesNo; j++ {
		if !said[j] {
			t.Errorf("no line judges a %s", j)
		}
	}
	for k := limit.Absolute; k <= limit.Reference; k++ {
		if !kinds[k] {
			t.Errorf("no limits are %s", k)
		}
	}
}

type use struct {
	what, by string
	is       func(*book.Line) bool
}

// What a book can say of a feature, and the feature of which it does.
func TestFeaturesSayEverything(t *testing.T) {
	table := []struct {
		what, by string
		is       func(*book.Feature) bool
	}{
		{"outside", "inline/crank.main", func(f *book.Feature) bool { return f.Class == book.Outside && f.Wears == book.Smaller }},
		{"outside that wears larger", "inline/valve.neck", func(f *book.Feature) bool { return f.Class == book.Outside && f.Wears == book.Larger }},
		{"inside", "radial/cylinder.bore", func(f *book.Feature) bool { return f.Class == book.Inside && f.Wears == book.Larger }},
		{"inside that wears smaller", "radial/piston.groove", func(f *book.Feature) bool { return f.Class == book.Inside && f.Wears == book.Smaller }},
		{"a length that wears smaller", "radial/cam.lift", func(f *book.Feature) bool { return f.Class == book.Extent && f.Wears == book.Smaller }},
		{"a length that wears larger", "inline/valve.length", func(f *book.Feature) bool { return f.Class == book.Extent && f.Wears == book.Larger }},
		{"a length out on either side", "radial/crank.stretch", func(f *book.Feature) bool { return f.Class == book.Extent && f.Wears == book.Either }},
		{"a clearance", "radial/blower.front", func(f *book.Feature) bool { return f.Class == book.Clearance }},
		{"a dial", "radial/crank.dial", func(f *book.Feature) bool { return f.Class == book.Dial && len(f.Directions) == 4 }},
		{"a check", "inline/case.fretting", func(f *book.Feature) bool { return f.Class == book.Check }},
		{"the mean counts", "inline/valve.neck", func(f *book.Feature) bool { return f.Counts == book.Mean }},
		{"where planes are", "radial/cylinder.bore", func(f *book.Feature) bool { return len(f.Along) == 3 }},
		{"planes by name", "radial/knuckle.pin", func(f *book.Feature) bool { return len(f.Planes) == 3 && len(f.Along) == 0 }},
		{"places", "radial/master.hole", func(f *book.Feature) bool { return f.Places == 6 }},
		{"places of numbered parts", "inline/piston.boss", func(f *book.Feature) bool { return f.Part.Positions == 6 && f.Places == 2 }},
		{"steps", "inline/case.shell", func(f *book.Feature) bool { return len(f.Steps) == 4 && f.Steps[0].Mark == book.Standard }},
		{"mates of a step", "inline/crank.main", func(f *book.Feature) bool {
			std, _ := f.Step(book.Standard)
			for _, marks := range std.Mates {
				return slices.Equal(marks, []string{"std", "u05"})
			}
			return false
		}},
		{"what a bore is made of", "radial/link.bushing", func(f *book.Feature) bool { return f.Made[0].Ref() == "link.eye" }},
		{"numbered from the other end", "inline/camshaft.journal", func(f *book.Feature) bool { return f.Part.Numbering.First == "gear end" }},
	}
	for _, kind := range []struct {
		kind quantity.Kind
		by   string
	}{
		{quantity.CountKind, "radial/case.studs"},
		{quantity.RatioKind, "radial/cylinder.seat"},
		{quantity.AngleKind, "inline/rod.bend"},
		{quantity.MassKind, "radial/link.weight"},
		{quantity.ForceKind, "inline/spring.open"},
		{quantity.TorqueKind, "inline/camshaft.drag"},
		{quantity.PressureKind, "radial/pump.relief"},
		{quantity.FlowKind, "inline/pump.flow"},
		{quantity.TimeKind, "inline/lifter.leak"},
	} {
		table = append(table, struct {
			what, by string
			is       func(*book.Feature) bool
		}{kind.kind.String(), kind.by, func(f *book.Feature) bool { return f.Class == book.Other && f.Unit.Kind() == kind.kind }})
	}
	features := map[string]*book.Feature{}
	for _, e := range both(t) {
		for _, p := range e.book.Parts {
			for _, f := range p.Features {
				features[e.name+"/"+f.Ref()] = f
			}
		}
	}
	for _, u := range table {
		if f := features[u.by]; f == nil || !u.is(f) {
			t.Errorf("%s does not show: %s", u.by, u.what)
		}
	}
}

// A schema is as much of JSON Schema as the book's needs.
type schema struct {
	Ref               string             `json:"$ref"`
	Defs              map[string]*schema `json:"$defs"`
	Properties        map[string]*schema
	PatternProperties map[string]*schema
	Enum              []any // words; and what YAML 1.1 makes of yes and no
}

// uses notes the keys that a node of a book uses, and the words where there is
// a choice of them: "line.want", "line.want: no".
func (s *schema) uses(n *yaml.Node, name string, of *schema, used map[string]bool) {
	if def, ok := strings.CutPrefix(of.Ref, "#/$defs/"); ok {
		name, of = def, s.Defs[def]
	}
	if n.Kind != yaml.MappingNode {
		return
	}
	for i := 0; i < len(n.Content); i += 2 {
		key, value := n.Content[i].Value, n.Content[i+1]
		for _, each := range of.PatternProperties {
			s.uses(value, name, each, used)
		}
		if p := of.Properties[key]; p != nil {
			used[name+"."+key] = true
			if p.Enum != nil {
				used[name+"."+key+": "+value.Value] = true
			}
			s.uses(value, name+"."+key, p, used)
		}
	}
}

// Every key and every word that the schema knows is used in one of the books:
// what is added to the format must be added to them.
func TestBooksUseTheWholeSchema(t *testing.T) {
	elsewhere := map[string]string{
		"layout.left":                 "a side of an opposed engine",
		"layout.right":                "a side of an opposed engine",
		"layout.arrangement: opposed": "the demo is one",
		"layout.first: accessory":     "both count from the propeller",
		"layout.viewpoint: propeller": "both are seen from behind",
		"feature.counts: worst":       "goes without saying",
		"line.want: yes":              "goes without saying",
		"line.graded: yes":            "goes without saying",
		"book.decimal: point":         "goes without saying",
	}
	// What waits for a person belongs to tables that were read in: the scripts of
	// tenths book import and of held lines have it, and these books are settled.
	for _, what := range []string{"line.hold", "line.printed", "hold.text", "hold.may", "hold.why", "holds.new", "holds.service", "holds.kind", "printed.new", "printed.service"} {
		elsewhere[what] = "in tables that were read in"
	}
	var s schema
	if err := json.Unmarshal([]byte(book.Schema), &s); err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{}
	for _, e := range both(t) {
		var doc yaml.Node
		if err := yaml.Unmarshal([]byte(e.text), &doc); err != nil {
			t.Fatal(err)
		}
		s.uses(doc.Content[0], "book", &s, used)
	}
	known := 0
	want := func(what string) {
		known++
		if reason, out := elsewhere[what]; used[what] == out {
			t.Errorf("%s: used %v; listed as left out %v (%s)", what, used[what], out, reason)
		}
	}
	all := func(name string, of *schema) {
		for key, p := range of.Properties {
			want(name + "." + key)
			for _, word := range p.Enum {
				if word, ok := word.(string); ok {
					want(name + "." + key + ": " + word)
				}
			}
		}
	}
	all("book", &s)
	for name, def := range s.Defs {
		all(name, def)
	}
	if known < 100 {
		t.Errorf("only %d keys and words were found in the schema", known)
	}
}

// The notations of limits, as docs/formats.md lists them, with a line that is
// printed so.
func TestEveryNotation(t *testing.T) {
	table := []struct{ notation, by, printed string }{
		{"2.2485..2.2495", "radial/main-size", "new: 2.9528..2.9532"},
		{"6.498 - 6.500", "radial/pump-width", "new: 1.5000 - 1.5010"},
		{"0.006 - 0.004", "radial/link-side", "new: 0.018 - 0.010"},
		{"1.25 to 1.26", "radial/bolt-stretch", "new: 0.0085 to 0.0105"},
		{"..0.005", "radial/pin-round", "new: ..0.0005"},
		{"max 0.005", "radial/impeller-runout", "new: max 0.003"},
		{"0.005 maximum", "radial/link-bushing-round", "new: 0.0003 maximum"},
		{"1.67..", "radial/lift-each", "service: 0.380.."},
		{"min 1.67", "radial/lift-mean", "service: min 0.390"},
		{"at least 1.67", "radial/seat-contact", "new: at least 90"},
		{"2.2470", "radial/main-size", "service: 2.9526"},
		{"under 0.008", "inline/rod-side", "service: under 0,40"},
		{"reject 0.008 or more", "radial/gear-lash", "service: reject 0.012 or more"},
		{"over 1.67", "radial/stem-size", "service: over 0.4335"},
		{"reject 1.67 or less", "radial/pump-flow", "service: reject 7.0 or less"},
		{"0.0005T..0.0010L", "inline/boss-fit", "new: 0,010T..0,010L"},
		{"0.005L-0.0015T", "inline/cam-gear-fit", "service: 0,020L-0,005T"},
		{"0.001 Press / 0.0005 Loose", "inline/cam-gear-fit", "new: 0,005 Press / 0,010 Loose"},
		{"0.0005 - 0.0015 tight", "radial/knuckle-press", "new: 0.0003 - 0.0012 tight"},
		{"-0.0005 - -0.0001", "inline/idler-bush", "new: -0,040 - -0,010"},
		{"+0.0002", "radial/race-fit", "service: +0.0002"},
		{"0.0015T - 0", "radial/race-fit", "new: 0.0010T - 0"},
		{"134.2 +/- 13.42", "inline/spring-closed", "new: 205 +/- 12"},
		{"134.2 ± 13.42", "radial/relief", "new: 85 ± 5"},
		{"1.250 +0.002/-0.000", "inline/cam-pad", "new: 31,750 +0,050/-0,000"},
		{"+/- 4.39", "inline/spring-open", "service: +/- 25"},
		{"by selection", "inline/idler-seat", "new: by selection"},
		{"reference", "inline/barrel-mean", "new: reference\n"},
		{"reference 0.0010..0.0030", "radial/top-step", "new: reference -0.002..0.002"},
		{"see end clearance", "radial/cam-lash", "new: see the gear maker's card"},
		{"none", "radial/link-eye", "service: none"},
		{"same as new", "radial/housing", "service: same as new"},
		{"same", "radial/bolt-stretch", "service: same,"},
		{"wear 0.001 from min", "inline/bush", "service: wear 0,025 from min"},
		{"wear 0.001 from max", "inline/gudgeon", "service: wear 0,015 from max"},
		{"wear 0.001", "inline/rod-bolt", "service: wear 0,05\n"},
	}
	docs, err := os.ReadFile("../../../docs/formats.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(docs), "\n### Limits\n")
	section, _, _ = strings.Cut(section, "\n### ")
	listed := 0
	for row := range strings.Lines(section) {
		cells := strings.Split(row, "|")
		if len(cells) < 3 {
			continue
		}
		for _, m := range regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(cells[1], -1) {
			listed++
			if !slices.ContainsFunc(table, func(c struct{ notation, by, printed string }) bool { return c.notation == m[1] }) {
				t.Errorf("the documented notation %s stands in neither book", m[1])
			}
		}
	}
	if listed < 30 {
		t.Errorf("only %d notations were found in the documentation", listed)
	}
	engines := both(t)
	for _, c := range table {
		name, key, _ := strings.Cut(c.by, "/")
		e := engines[slices.IndexFunc(engines, func(e *engine) bool { return e.name == name })]
		_, block, _ := strings.Cut(e.text[strings.Index(e.text, "\nlines:"):], "\n  "+key+":")
		if end := regexp.MustCompile(`\n  [a-z#]`).FindStringIndex(block); end != nil {
			block = block[:end[0]+1]
		}
		if !strings.Contains(block, c.printed) {
			t.Errorf("%s does not print %q", c.by, c.printed)
		}
	}
}

// Kinds of reading, and why a person is asked: each occurs. Only figures too
// large to be added do not.
func TestReadingsSayEverything(t *testing.T) {
	seen := map[string]bool{}
	for _, e := range both(t) {
		for i := range e.file.Readings {
			r := &e.file.Readings[i]
			seen[r.Kind.String()] = true
			seen["stage "+reading.StageName(r.Stage)] = true
			seen["plus smaller"] = seen["plus smaller"] || r.Reversed
			seen["a step"] = seen["a step"] || r.Step != ""
			seen["in a unit of its own"] = seen["in a unit of its own"] || r.Shown.Unit != e.book.FeatureAt(r.Spot).Unit
			seen["one side of a bracket"] = seen["one side of a bracket"] || r.Kind == reading.Bracket && r.Low.Set != r.High.Set
		}
		for _, given := range []judge.Given{e.given, {}} {
			for _, v := range e.verdicts(given) {
				for _, a := range v.Asks {
					seen["asked "+a.Kind.String()] = true
				}
			}
		}
	}
	want := []string{"stage found", "stage rework 1", "stage assembled", "plus smaller", "a step", "in a unit of its own", "one side of a bracket"}
	for k := reading.Size; k <= reading.YesNo; k++ {
		want = append(want, k.String())
	}
	for k := judge.Settle; k <= judge.Mixed; k++ {
		if k != judge.Wide {
			want = append(want, "asked "+k.String())
		}
	}
	for _, w := range want {
		if !seen[w] {
			t.Errorf("no reading shows: %s", w)
		}
	}
}

// The layouts are those that the engines are built to.
func TestLayouts(t *testing.T) {
	radial, inline := load(t, "radial").book, load(t, "inline").book
	turn := func(n, of int64) quantity.Figure {
		f, _, err := quantity.Format{Unit: quantity.Degree}.Figure("360")
		if err == nil {
			f, err = f.Scaled(n, of)
		}
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	for i, c := range radial.Layout.Cylinders {
		if c.Angle != turn(int64(i), 7) {
			t.Errorf("cylinder %d of the radial is not %d sevenths round", i+1, i)
		}
	}
	if th := radial.Layout.Throws; len(th) != 1 || th[0].Master != 1 || len(th[0].Cylinders) != 7 {
		t.Errorf("the radial's throws are %+v", th)
	}
	for i, third := range []int64{0, 1, 2, 2, 1, 0} {
		th := inline.Layout.Throws[i]
		if th.Angle != turn(third, 3) || !slices.Equal(th.Cylinders, []int{i + 1}) {
			t.Errorf("throw %d of the in-line six is %+v", i+1, th)
		}
	}
	for _, c := range []struct{ what, got, want string }{
		{"radial", radial.Numbering.String(), "1 is at the propeller end; left and right as seen from behind the engine"},
		{"in-line", inline.Numbering.String(), "1 is at the propeller end; left is the exhaust side, as seen from behind the engine"},
		{"radial's sets", fmt.Sprint(len(radial.Sets), radial.Sets[0].Groups[0], radial.Sets[1].Groups[5]), "2 [master link-1 link-2 link-3 link-4 link-5 link-6] [link-6 knuckle-6]"},
		{"in-line's sets", fmt.Sprint(len(inline.Sets), inline.Sets[0].Groups[3], inline.Sets[1].Groups[0]), "2 [piston-4 gudgeon-4] [rod-1 rod-6]"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, want %s", c.what, c.got, c.want)
		}
	}
}

// A told is what a verdict is expected to be, as show writes it, and why.
type told struct{ id, stands, why string }

var radialStory = []told{
	// The crankshaft and the master rod.
	{"shaft-runout-1", "serviceable, use", "+0.0011 less 0.0000: the clamp stands well at the front"},
	{"shaft-runout-2", "beyond, rework", "+0.0012 less −0.0029 is 0.0041, in the band in which the clamp is set anew"},
	{"bolt-length", "serviceable", "3.255 is 0.003 over the new maximum, the limit itself"},
	{"race-bore-1", "none, only the fit is judged", "a race's bore has limits and no grade"},
	{"race-fit-1", "new", "0.0006T to 0.0004T"},
	{"pin-size", "serviceable, settle?", "two live readings at front.90, the worse of which is worn"},
	{"pin-round", "new, settle?", "the same pair"},
	{"pin-taper", "new, settle?", "0.0005 in 2.5 inches is 0.0002 per inch, the new maximum itself"},
	{"bearing-bore", "serviceable", "read as deviations: +9 tenths on 2.6280 is 2.6289"},
	{"bearing-fit", "serviceable, settle?", "2.6289 less 2.6239; the pin is to be settled"},
	{"master-side", "serviceable, overhaul", "0.0225 is over new and within the second of three tiers"},

	// Knuckle pins: tight in the master rod, loose in the links.
	{"knuckle-hole-3", "beyond, by 0.0006", "a pin that turned has worn its hole at the rear"},
	{"knuckle-press-3", "beyond, by 0.0002", "so the pin is 0.0001 loose there"},
	{"knuckle-run-3", "new", "and yet in its link the same pin is well"},
	{"knuckle-pin-3", "new", "for the pin itself has not worn"},
	{"knuckle-pin-4", "serviceable", "this one has, in the middle"},
	{"knuckle-press-4", "new", "where the master rod does not hold it"},
	{"knuckle-run-5", "serviceable", "a worn bushing with an unworn pin: 0.0025L of 0.0028L"},
	{"link-bushing-2", "none, open", "its eye was measured with the old bushing out: what was found in that is past"},
	{"link-bushing-round-2", "none, open", "the same"},
	{"knuckle-run-2", "none, open", "the same"},
	{"link-bushing-4", "new", "a new bushing too, and it has been bored and measured"},
	{"link-small-6", "none, so far serviceable, items?", "its two readings name two rods"},
	{"link-small-fit-6", "none, so far serviceable, items?", "the same"},
	{"link-side-1", "new", "0.016 goes and 0.018 does not: below 0.018 whatever it is"},
	{"link-side-4", "none, undecided?", "0.022 goes, 0.025 does not, and the limit of 0.024 lies between"},
	{"link-side-6", "none, undecided?", "0.024 does not go; nothing says what does"},
	{"link-weight-pair-2", "beyond, by 0.05", "27.80 against 27.55 across the master rod"},
	{"link-weight-set", "serviceable", "27.80 less 27.30 is 0.50 itself"},
	{"twist-used-4", "serviceable", "0.0031 is well with used bushings, and would not be with new ones"},
	{"wrist-size-5", "none, hold?", "1.1868 is worn 0.0004 from the new minimum, 0.0007 from the maximum: 0.0005 from which?"},
	{"wrist-size-7", "serviceable", "1.1871 is within by either reading"},
	{"groove-4", "beyond, by 0.0001", "over pins a worn groove measures less"},

	// Cylinders: a gap with its bore, choke, planes.
	{"ring-gap-4", "serviceable", "0.047 is over new: this bore is not worn"},
	{"ring-gap-5", "new", "0.039"},
	{"ring-gap-7", "beyond, by 0.0021", "0.060 and 3 times 0.0013 of bore is 0.0639"},
	{"ring-gap-6", "none, so far serviceable, open", "over 0.060, and with such a bore within; but not all of that is measured"},
	{"bore-choke-6", "none, so far serviceable, open", "one direction is not measured"},
	{"bore-round-6", "none, so far new, open", "the same"},
	{"choke-6", "none, so far new, open", "the same: a mean can still move"},
	{"choke-4", "beyond, by 0.0017", "5.0012 less 4.9969: worn straight where it should be narrow"},
	{"bore-choke-4", "serviceable", "though the bore itself is within there"},
	{"choke-1", "new", "by a gauge that shows plus for smaller"},
	{"top-step-6", "none, reference", "nothing is graded by it"},
	{"seat-contact-7.2", "beyond, by 5", "70 % of the way round"},
	{"stem-fit-used-3.2", "serviceable", "a worn guide with a good stem"},
	{"leak-5", "beyond", "bubbles"},

	// Case, cam, gears, blower, pump.
	{"studs", "serviceable", "3 is under 4"},
	{"deck-crack", "serviceable", "no is what is wanted"},
	{"cam-end", "serviceable", "0.010 goes: it may even be new"},
	{"cam-lash", "none, reference", "the manual sends one to another card"},
	{"lift-each-4", "beyond, by 0.0005", "one lobe is under the least"},
	{"lift-mean", "serviceable", "though the mean of six is well over its own"},
	{"tappet-size-9", "beyond, by 0.0001", "0.7479"},
	{"tappet-fit-9", "serviceable", "though it is not loose in its guide"},
	{"gear-lash-even", "beyond, by 0.0003", "0.0078 less 0.0055: each is new, and they are not alike"},
	{"gear-lash-3", "new", "one of them"},
	{"blower-even", "beyond, by 0.0015", "0.0330 less 0.0265, each of them new"},
	{"blower-front", "new", "one of them"},
	{"impeller-runout", "new", "0.0030 itself"},
	{"pump-fit-1", "none, pump-end governs", "the clearance itself was measured"},
	{"pump-end-1", "serviceable", "the strip says 0.0042 to 0.0050: all of that is serviceable"},
	{"pump-fit-2", "serviceable", "here it was not measured, so widths count"},
	{"pump-end-2", "none, open", "the same"},
	{"pump-flow", "beyond, by 0.0", "7.0 or less rejects 7.0"},
	{"relief", "new", "85 and 5 itself"},
}

var inlineStory = []told{
	// Mains ground 0,25 under but for two.
	{"main-size-1", "new", "within the standard limits less 0,25"},
	{"main-size-3", "serviceable", "not ground, nearly all of the allowance used"},
	{"main-size-6", "beyond, by 0.002", "ground too little: what was reworked is held on both sides"},
	{"main-alike", "beyond", "3 and 5 are standard, the others are not"},
	{"main-fit-3", "new", "a worn standard journal in 0,05 shells, as it may be"},
	{"main-fit-5", "beyond, wrong mates", "a standard journal in shells for one ground 0,25 under"},
	{"main-taper-rate-3", "new", "0,013 over 25 mm is 0,00052 for each"},
	{"main-taper-3", "beyond, by 0.001", "but it is more than 0,012 in all"},
	{"case-shell-3", "new", "2,510 is the least of a standard shell and 0,025"},
	{"pin-size-2", "serviceable", "0,002 under its step, which wear would allow"},
	{"pin-size-4", "beyond, by 0.237, step?", "marked 0,50 under, measured 0,25 under"},
	{"bigend-fit-4", "beyond, by 0.225", "so there is no room for its shells"},
	{"pin-alike", "serviceable", "by their marks all are alike"},
	{"shaft-bend", "new", "half of 0,044"},
	{"flange", "beyond, rework", "0,07 may be turned off"},
	{"seal", "new", "47,680 mm is 1,87717 in"},
	{"end-clearance", "serviceable, overhaul", "0,33"},
	{"washer-pair-2", "beyond, by 0.015", "2,305 less 2,270"},
	{"washer-3", "serviceable", "each half is within"},
	{"washer-total-1", "serviceable", "2,320 and 2,270 together"},
	{"fretting", "beyond", "yes is not what is wanted"},

	// Rods, pins, pistons, barrels.
	{"bush-2", "serviceable", "25,045 is 0,025 over the new minimum, the limit itself"},
	{"bush-fit-2", "beyond, by 0.001", "with a worn pin it is too loose"},
	{"gudgeon-2", "beyond, by 0.001", "24,984 is 0,016 under the new maximum"},
	{"rod-side-4", "serviceable", "0,39"},
	{"rod-side-5", "beyond, by 0.00", "under 0,40 rejects 0,40"},
	{"rod-weight-opposite-2", "beyond, by 1", "615 less 610"},
	{"rod-weight-set", "serviceable", "616 less 609"},
	{"bend-used-5", "beyond, by 0.5", "6,5 minutes of arc"},
	{"rod-bolt-6.1", "none, hold?", "9,95 is 0,04 under the new minimum, 0,07 under the maximum: 0,05 from which?"},
	{"gudgeon-4", "none, so far serviceable, open", "one end is not measured"},
	{"bush-fit-4", "none, so far serviceable, open", "the same"},
	{"boss-fit-4.1", "none, so far new, open", "the same"},
	{"boss-fit-4.2", "none, so far new, open", "the same"},
	{"boss-5.1", "new, query?", "smaller than new, and bores do not shrink"},
	{"boss-fit-5.1", "beyond, by 0.002", "by that reading the pin is too tight"},
	{"piston-fit-2", "beyond, wrong mates", "an oversize piston in a standard barrel"},
	{"skirt-2", "new", "though it is a good piston of its size"},
	{"piston-fit-6", "new", "an oversize piston in an oversize barrel"},
	{"barrel-taper-3", "beyond, by 0.008", "the means of two at the top and two at the foot"},
	{"barrel-3", "serviceable", "though no reading is beyond"},
	{"barrel-5", "none, mark?", "one of its readings says another step"},
	{"barrel-round-5", "none, mark?", "the same"},
	{"barrel-taper-5", "none, mark?", "the same"},
	{"barrel-mean-5", "none, reference, mark?", "the same"},
	{"piston-fit-5", "none, mark?", "the same"},

	// Head, camshaft, valves.
	{"cam-journal-2", "beyond, by 0.000", "27,990 or less rejects 27,990"},
	{"cam-pad", "new", "31,750 and all of +0,050"},
	{"cam-drag", "serviceable", "24 inch-pounds are 2,71 N·m"},
	{"cam-timing", "new", "13 and 1,5 itself"},
	{"cam-gear-fit", "new", "0,002 tight, between press and loose"},
	{"guide-4", "none, only the fit is judged", "far over new"},
	{"stem-fit-4", "serviceable", "and good enough with this stem"},
	{"stem-5", "beyond, by 0.001", "here the stem is worn out"},
	{"stem-fit-5", "serviceable", "though its fit is not"},
	{"valve-length-2", "serviceable", "112,40 itself: valves get longer"},
	{"neck-1", "new", "the mean of two"},
	{"port-4", "serviceable", "crust makes a hole smaller"},
	{"spring-closed-3", "new", "205 less 12 itself"},
	{"spring-open-6", "beyond, by 1", "410 less 25 is 385"},

	// Lifters, idler, pump.
	{"leak-2", "beyond, by 0.5", "9,5 s"},
	{"leak-7", "none, open", "not measured"},
	{"leak-even", "beyond, by 11, open", "one more can only make the spread greater"},
	{"idler-fit", "new, with 3,15", "30,13 less 26,71 is 3,42: the two thinner washers leave too much"},
	{"idler-seat", "none, reference", "by selection"},
	{"pump-pressure", "serviceable", "52 psi are 3,59 bar"},
	{"pump-flow", "new", "29,5 of 28: this engine has the first pump"},
}

func TestStory(t *testing.T) {
	for i, story := range [][]told{radialStory, inlineStory} {
		e := both(t)[i]
		stands := map[string]string{}
		for _, v := range e.verdicts(e.given) {
			id := v.Line.ID(v.At)
			stands[id] = show(&v)
			if v.Grade == judge.Beyond || v.Open() || len(v.Asks) > 0 {
				if !slices.ContainsFunc(story, func(s told) bool { return s.id == id }) {
					t.Errorf("%s: %s is %s, and the story does not tell of it", e.name, id, show(&v))
				}
			}
		}
		for _, s := range story {
			if got, ok := stands[s.id]; !ok || got != s.stands {
				t.Errorf("%s: %s (%s): %q, want %q", e.name, s.id, s.why, got, s.stands)
			}
		}
	}
}

// Which lines are for an engine follows from what is stated of it.
func TestWhichEngine(t *testing.T) {
	radial, inline := load(t, "radial"), load(t, "inline")
	none := ""
	for _, c := range []struct {
		e     *engine
		given judge.Given
		told
	}{
		{radial, judge.Given{Serial: "2100"}, told{"ring-gap-second-7", "serviceable", "0.066 of 0.0739 with rings of the second make"}},
		{radial, judge.Given{Serial: "2100"}, told{"ring-gap-7", none, "the amendment stands in its place"}},
		{radial, judge.Given{Serial: "4000"}, told{"ring-gap-second-7", "serviceable", "the first of a span without end"}},
		{radial, judge.Given{Serial: "3999"}, told{"ring-gap-second-7", none, "between the spans"}},
		{radial, judge.Given{Serial: "3999"}, told{"ring-gap-7", "beyond, by 0.0021", "so the book's own line counts"}},
		{radial, judge.Given{}, told{"ring-gap-second-7", "none, so far serviceable, condition?", "no serial is stated"}},
		{radial, judge.Given{}, told{"ring-gap-7", "none, so far beyond, by 0.0021, condition?", "so both are judged, and neither is certain"}},
		{radial, judge.Given{}, told{"twist-new-4", "none, so far beyond, by 0.0011, condition?", "are the bushings new?"}},
		{radial, judge.Given{}, told{"twist-used-4", "none, so far serviceable, condition?", "or used?"}},
		{radial, judge.Given{Conditions: map[string]string{"bushings": "new"}}, told{"twist-new-4", "beyond, by 0.0011", "new, and twisted"}},
		{radial, judge.Given{Conditions: map[string]string{"bushings": "new"}}, told{"twist-used-4", none, "not for these"}},
		{radial, judge.Given{Conditions: map[string]string{"guides": "new"}}, told{"stem-fit-new-3.2", "beyond, by 0.0009", "0.0049L in a new guide"}},
		{inline, judge.Given{Serial: "299"}, told{"pump-flow", "new", "the last with the first pump"}},
		{inline, judge.Given{Serial: "300"}, told{"pump-flow", none, "the first with the second"}},
		{inline, judge.Given{Serial: "300"}, told{"pump-flow-second", "beyond, by 0.5", "29,5 of 30"}},
	} {
		got := none
		for _, v := range c.e.verdicts(c.given) {
			if v.Line.ID(v.At) == c.id {
				got = show(&v)
			}
		}
		if got != c.stands {
			t.Errorf("%s %+v: %s (%s): %q, want %q", c.e.name, c.given, c.id, c.why, got, c.stands)
		}
	}
}

// What was measured of a bore has ended once what it is made of is of a later
// stage.
func TestPastReadings(t *testing.T) {
	e := load(t, "radial")
	var past []string
	for _, r := range judge.File(e.book, e.file.Readings).Past {
		past = append(past, e.book.Spots[r.Spot].String())
	}
	want := []string{"link-2.bushing.middle.0", "link-2.bushing.middle.90", "link-4.bushing.middle.0", "link-4.bushing.middle.90"}
	if diff := cmp.Diff(want, past); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

// show writes how a verdict stands: the grade, with what it would be so far;
// the action of bands and the tier where there are more than two; by how much
// it is beyond; what else there is to it; what is asked.
func show(v *judge.Verdict) string {
	words := []string{v.Grade.String()}
	if v.SoFar != v.Grade {
		words = append(words, "so far "+v.SoFar.String())
	}
	if a := v.Action(); a != "" {
		words = append(words, a)
	} else if n := len(v.Limit.Tiers); n > 2 && v.Tier < n && v.Grade == judge.Serviceable {
		words = append(words, v.Limit.Tiers[v.Tier].Name)
	}
	if by, ok := v.By(); ok {
		text, _ := by.Text(v.Line.Unit, max(v.Line.Decimals, by.Decimals(v.Line.Unit, 6)))
		words = append(words, "by "+text)
	}
	if v.Wrong != "" {
		words = append(words, "wrong mates")
	}
	for _, i := range v.Picks {
		words = append(words, "with "+v.Line.Choices[i].Text)
	}
	if v.Ungraded != "" {
		words = append(words, v.Ungraded)
	}
	if v.Open() {
		words = append(words, "open")
	}
	for _, a := range v.Asks {
		words = append(words, a.Kind.String()+"?")
	}
	return strings.Join(words, ", ")
}

func TestOrderNeverMatters(t *testing.T) {
	same := cmp.Options{
		cmp.Comparer(func(a, b quantity.Figure) bool { return a == b }),
		cmp.Comparer(func(a, b *book.Line) bool { return a == b }),
		cmp.Comparer(func(a, b *limit.Limit) bool {
			return a == b || cmp.Equal(*a, *b, cmp.Comparer(func(a, b quantity.Figure) bool { return a == b }))
		}),
	}
	for _, e := range both(t) {
		want := e.verdicts(e.given)
		rapid.Check(t, func(t *rapid.T) {
			shuffled := rapid.Permutation(e.file.Readings).Draw(t, "readings")
			got := judge.Book(e.book, e.given, judge.File(e.book, shuffled).At)
			if diff := cmp.Diff(want, got, same); diff != "" {
				t.Fatalf("%s: another order, other verdicts: -want +got\n%s", e.name, diff)
			}
		})
	}
}

// A fit's new limits are the sum of its sizes' where both have lines, and its
// service limits are no wider than the worn sizes allow.
func TestFitsAgreeWithSizes(t *testing.T) {
	type sizes struct{ asNew, worn fit.Term }
	for _, e := range both(t) {
		of := map[*book.Feature]sizes{}
		loose := map[*book.Feature]bool{} // of which only the fit is judged
		for _, l := range e.book.Lines {
			f := l.Terms[0].Feature
			if l.Judges != book.Size || len(l.Planes) > 0 || len(l.Limit.Tiers) == 0 || f.Class != book.Outside && f.Class != book.Inside && f.Class != book.Extent {
				continue
			}
			first, last := l.Limit.Tiers[0].Range, l.Limit.Tiers[len(l.Limit.Tiers)-1].Range
			if !first.Min.Set || !first.Max.Set {
				continue
			}
			var s sizes
			s.asNew.Smallest, s.asNew.Largest = length(t, first.Min), length(t, first.Max)
			s.worn = s.asNew
			if last.Min.Set {
				s.worn.Smallest = length(t, last.Min)
			}
			if last.Max.Set {
				s.worn.Largest = length(t, last.Max)
			}
			of[f], loose[f] = s, l.Ungraded
		}
		checked := 0
		for _, l := range e.book.Lines {
			if l.Judges != book.Fit {
				continue
			}
			var asNew, worn []fit.Term
			known, anyWear := true, false
			for _, term := range l.Terms {
				s, ok := of[term.Feature]
				known, anyWear = known && ok, anyWear || loose[term.Feature]
				s.asNew.Times, s.worn.Times = term.Times, term.Times
				asNew, worn = append(asNew, s.asNew), append(worn, s.worn)
			}
			if !known {
				continue
			}
			checked++
			first, last := l.Limit.Tiers[0].Range, l.Limit.Tiers[len(l.Limit.Tiers)-1].Range
			ends := fit.Of(asNew...)
			if len(l.Choices) > 0 {
				for _, end := range []quantity.Length{ends.Tightest, ends.Loosest} {
					if !slices.ContainsFunc(l.Choices, func(c book.Choice) bool { return first.Contains(end.Plus(-1, c.Size).Figure()) }) {
						t.Errorf("%s %s: no choice brings %v within", e.name, l.Key, end)
					}
				}
				continue
			}
			if got := (fit.Ends{Tightest: length(t, first.Min), Loosest: length(t, first.Max)}); got != ends {
				t.Errorf("%s %s: new is %v, and the sizes make %v", e.name, l.Key, got, ends)
			}
			if most := length(t, last.Max); !anyWear && most.Cmp(fit.Of(worn...).Loosest) > 0 {
				t.Errorf("%s %s: the fit may be looser (%v) than worn sizes are (%v)", e.name, l.Key, most, fit.Of(worn...).Loosest)
			}
		}
		if want := map[string]int{"radial": 11, "inline": 9}[e.name]; checked != want {
			t.Errorf("%s: %d fits were checked, want %d", e.name, checked, want)
		}
	}
}

func length(t *testing.T, e limit.Edge) quantity.Length {
	t.Helper()
	l, ok := e.At.Length()
	if !e.Set || !ok {
		t.Fatalf("the edge %+v is not a length", e)
	}
	return l
}
