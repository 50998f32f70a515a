package demo

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/fit"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// load returns the demo as the program reads it, or fails with every fault.
func load(t testing.TB) (*book.Book, *reading.File) {
	t.Helper()
	b, err := book.Load("book.yaml", Book)
	if err != nil {
		t.Fatal(err)
	}
	f := reading.Load("readings.csv", Readings, b, false)
	if len(f.Faults) > 0 {
		t.Fatal(f.Faults)
	}
	return b, f
}

func verdicts(b *book.Book, readings []reading.Reading) []judge.Verdict {
	return judge.Book(b, judge.Given{}, judge.File(b, readings).At)
}

func id(v *judge.Verdict) string { return v.Line.ID(v.At) }

func TestCounts(t *testing.T) {
	b, f := load(t)
	for _, c := range []struct {
		what      string
		got, want int
	}{
		{"lines", len(b.Lines), 42},
		{"readings", len(f.Readings), 146},
		{"rows without a value", f.Blank, 1},
		{"spots", len(b.Spots), 148},
		{"verdicts", len(verdicts(b, f.Readings)), 136},
	} {
		if c.got != c.want {
			t.Errorf("%d %s, want %d", c.got, c.what, c.want)
		}
	}
}

// Whoever tries tenths should meet whatever a book can say at least once.
func TestBookShowsWhatBooksCanSay(t *testing.T) {
	b, _ := load(t)
	seen := map[string]bool{}
	for _, l := range b.Lines {
		seen["judges "+l.Judges.String()] = true
		seen["kind "+l.Limit.Kind.String()] = true
		last := l.Limit.Tiers[len(l.Limit.Tiers)-1]
		seen["least itself out"] = seen["least itself out"] || last.Range.Min.Open
		seen["most itself out"] = seen["most itself out"] || last.Range.Max.Open
		seen["wear, base stated"] = seen["wear, base stated"] || l.Limit.Kind == limit.Wear && l.Limit.Held == nil
		seen["wear, base not stated"] = seen["wear, base not stated"] || l.Limit.Held != nil
		seen["either side"] = seen["either side"] || l.Terms[0].Feature.Wears == book.Either
		seen["mean"] = seen["mean"] || l.Terms[0].Feature.Counts == book.Mean
		seen["unit "+l.Unit.String()] = true
		for _, tier := range l.Limit.Tiers {
			lo, hi := tier.Range.Min, tier.Range.Max
			seen["tight to loose"] = seen["tight to loose"] || lo.Set && hi.Set && lo.At.Sign() < 0 && hi.At.Sign() > 0
		}
		for _, term := range l.Terms {
			seen["twice in a stack"] = seen["twice in a stack"] || term.Times == -2
		}
		var mates []*book.Site
		for i := range l.Instances {
			mates = append(mates, l.Instances[i].Sites[len(l.Terms)-1])
		}
		seen["one mates with two"] = seen["one mates with two"] || len(mates) > 1 && mates[0] == mates[1]
	}
	want := []string{
		"least itself out", "most itself out", "wear, base stated", "wear, base not stated", "either side", "mean",
		"tight to loose", "twice in a stack", "one mates with two", "unit in", "unit mm", "unit g", "unit oz", "unit in/in",
	}
	for j := book.Size; j <= book.Bend; j++ {
		want = append(want, "judges "+j.String())
	}
	for k := limit.Absolute; k <= limit.Silent; k++ {
		want = append(want, "kind "+k.String())
	}
	for _, w := range want {
		if !seen[w] {
			t.Errorf("no line shows: %s", w)
		}
	}
}

// sizes are what a feature's size line allows.
type sizes struct{ asNew, service fit.Term }

// sizesOf reads the size lines of the book: new, and with all the wear that the
// service limit (or where there is none the new limits) leaves.
func sizesOf(t *testing.T, b *book.Book) map[*book.Feature]sizes {
	of := map[*book.Feature]sizes{}
	for _, l := range b.Lines {
		first, last := l.Limit.Tiers[0], l.Limit.Tiers[len(l.Limit.Tiers)-1]
		if l.Judges != book.Size || l.IsClearance() || first.Name != "new" || l.Unit.Kind() != quantity.LengthKind {
			continue
		}
		var s sizes
		s.asNew.Smallest, s.asNew.Largest = length(t, first.Range.Min), length(t, first.Range.Max)
		s.service = s.asNew
		if last.Range.Min.Set {
			s.service.Smallest = length(t, last.Range.Min)
		}
		if last.Range.Max.Set {
			s.service.Largest = length(t, last.Range.Max)
		}
		of[l.Terms[0].Feature] = s
	}
	return of
}

func length(t *testing.T, e limit.Edge) quantity.Length {
	t.Helper()
	l, ok := e.At.Length()
	if !e.Set || !ok {
		t.Fatalf("the edge %+v is not a length", e)
	}
	return l
}

func show(l quantity.Length) string {
	text, _ := l.Text(quantity.Inch, 6)
	return text
}

// A fit's limits follow from those of its sizes; where a manual's don't, it says
// why in a note.
func TestFitsAgreeWithSizes(t *testing.T) {
	wider := map[string]string{
		"dowel-fit": "hole and dowel have no service limit, and the fit may still relax to line to line",
	}
	b, _ := load(t)
	of := sizesOf(t, b)
	fits := 0
	for _, l := range b.Lines {
		if l.Judges != book.Fit {
			continue
		}
		fits++
		var asNew, service []fit.Term
		for _, term := range l.Terms {
			s, ok := of[term.Feature]
			if !ok {
				t.Fatalf("%s: %s has no size line", l.Key, term.Feature.Ref())
			}
			s.asNew.Times, s.service.Times = term.Times, term.Times
			asNew, service = append(asNew, s.asNew), append(service, s.service)
		}
		first, last := l.Limit.Tiers[0].Range, l.Limit.Tiers[len(l.Limit.Tiers)-1].Range
		if got, want := (fit.Ends{Tightest: length(t, first.Min), Loosest: length(t, first.Max)}), fit.Of(asNew...); got != want {
			t.Errorf("%s: new %s..%s, but the sizes make %s..%s", l.Key, show(got.Tightest), show(got.Loosest), show(want.Tightest), show(want.Loosest))
		}
		if last.Min != first.Min {
			t.Errorf("%s: a used fit may be tighter than a new one", l.Key)
		}
		most, worn := length(t, last.Max), fit.Of(service...).Loosest
		isWider := most.Cmp(worn) > 0
		if why := wider[l.Key]; isWider != (why != "") {
			t.Errorf("%s: service max %s, the sizes at their service limits make %s; expected to be wider: %q", l.Key, show(most), show(worn), why)
		}
		if isWider && l.Note == "" {
			t.Errorf("%s: the book does not say why its service limit is wider than that of its sizes", l.Key)
		}
	}
	if fits != 6 {
		t.Errorf("%d fits were checked, want 6", fits)
	}
}

// End clearance is found in two ways, and its limits are the same.
func TestEndClearanceAgrees(t *testing.T) {
	b, _ := load(t)
	measured, _ := b.Line("end-clearance")
	added, _ := b.Line("thrust-fit")
	for i := range measured.Limit.Tiers {
		if m, a := measured.Limit.Tiers[i].Range, added.Limit.Tiers[i].Range; m != a {
			t.Errorf("%s: measured %+v, by widths %+v", measured.Limit.Tiers[i].Name, m, a)
		}
	}
}

// A part that is new in size can't be more out of round, or stepped, than its
// tolerance is wide.
func TestFormAgreesWithSize(t *testing.T) {
	b, _ := load(t)
	of := sizesOf(t, b)
	forms := 0
	for _, l := range b.Lines {
		if l.Judges != book.OutOfRound && l.Judges != book.Taper {
			continue
		}
		forms++
		s := of[l.Terms[0].Feature].asNew
		if most := length(t, l.Limit.Tiers[0].Range.Max); most.Cmp(s.Largest.Plus(-1, s.Smallest)) > 0 {
			t.Errorf("%s: %s is more than the size allows", l.Key, show(most))
		}
	}
	if forms != 7 {
		t.Errorf("%d lines of form were checked, want 7", forms)
	}
}

// TestStory holds the demo to what it is meant to show. No other verdict is
// beyond, open or asked.
func TestStory(t *testing.T) {
	const none = -1 // no allowance that could be used
	story := []struct {
		id           string
		grade, soFar judge.Grade
		open         bool
		used         int64
		by           string // how far beyond
		asks         string
		why          string
	}{
		// Inside.
		{"main-size-1", judge.New, judge.New, false, 0, "", "", "within new, its largest reading at the new maximum"},
		{"gear-pilot", judge.New, judge.New, false, none, "", "", "service is the same as new, and 1.8745 is the new minimum itself"},
		{"seal-bore", judge.New, judge.New, false, 0, "", "", "two of three readings are over 3.5420, their mean is not"},
		{"centre-bend", judge.New, judge.New, false, 0, "", "", "the dial swings 0.0020; half of it is the new maximum itself"},
		{"crankpin-taper-4", judge.New, judge.New, false, 0, "", "", "0.0005 over 1.25 inch is 0.0004 per inch, the new maximum itself"},
		{"dowel-fit", judge.New, judge.New, false, 0, "", "", "a fit may be good where a size is not"},
		{"flange-runout", judge.Serviceable, judge.Serviceable, false, 16, "", "", "+0.0015 less −0.0010 is 0.0025"},
		{"end-clearance", judge.Serviceable, judge.Serviceable, false, 20, "", "", "a clearance measured as one"},
		{"thrust-fit", judge.Serviceable, judge.Serviceable, false, 26, "", "", "the same clearance by widths, rounded down from 26.6"},
		{"bigend-bore-4", judge.Serviceable, judge.Serviceable, false, 80, "", "", "within, as is the crankpin that it runs on"},
		{"crankpin-size-4", judge.Serviceable, judge.Serviceable, false, 70, "", "", "within, as is the big end that runs on it"},
		{"rod-weight-1", judge.Serviceable, judge.Serviceable, false, none, "", "", "plus or minus is one tier: within it or not"},
		{"piston-weight-2", judge.New, judge.New, false, none, "", "", "weighed in grams, held against ounces"},
		{"case-round-2", judge.New, judge.New, false, none, "", "", "the manual states no service limit: graded by new"},

		// Exactly at a limit.
		{"crankpin-size-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "52.324 mm is 2.0600 in, the service minimum itself"},
		{"bushing-size-1", judge.Serviceable, judge.Serviceable, false, 100, "", "", "1.0626 is 0.0010 of wear from the new minimum"},
		{"bigend-fit-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "a stack whose loosest is the service maximum itself, one reading in mm"},
		{"rod-side-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "the 0.016 feeler goes: the service maximum itself"},
		{"rod-parallel-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "0.0060 over 6 inches is 0.0010 per inch"},
		{"rod-weight-3", judge.Serviceable, judge.Serviceable, false, none, "", "", "860 + 4 g itself"},
		{"piston-weight-4", judge.New, judge.New, false, none, "", "", "37.30 oz itself"},
		{"main-fit-1", judge.New, judge.New, false, 0, "", "", "its tight end is the least clearance itself, 0.0015L"},
		{"boss-fit-2.1", judge.New, judge.New, false, 0, "", "", "its tight end is 0.0002T itself"},
		{"boss-fit-3.2", judge.Serviceable, judge.Serviceable, false, 100, "", "", "26.924 mm is 1.0600 in: the loosest is 0.0008L itself"},

		// Beyond.
		{"crankpin-size-2", judge.Beyond, judge.Beyond, true, 130, "0.0003", "", "under; certain though one spot is open"},
		{"bushing-size-3", judge.Beyond, judge.Beyond, false, 133, "0.0002", "", "the worn bushing"},
		{"bushing-fit-3", judge.Beyond, judge.Beyond, false, 185, "0.0006", "", "the worn bushing with the worn pin"},
		{"bigend-fit-4", judge.Beyond, judge.Beyond, false, 110, "0.0001", "", "both sizes are within, their fit is not"},
		{"bolt-length-4.1", judge.Beyond, judge.Beyond, false, 103, "0.0001", "", "stretched more than 0.0030 from the new maximum"},
		{"insert-left-2", judge.Beyond, judge.Beyond, false, none, "0.0001", "", "no wear allowed"},
		{"dowel-size", judge.Beyond, judge.Beyond, false, none, "0.0002", "", "no service limit stated: beyond new is beyond"},
		{"seal-land", judge.Beyond, judge.Beyond, false, 100, "0.00", "", "67.90 or less rejects 67.90"},
		{"ring-groove-3", judge.Beyond, judge.Beyond, false, 100, "0.0000", "", "0.1000 or more rejects 0.1000"},

		// Open.
		{"crankpin-round-2", judge.NoGrade, judge.New, true, 0, "", "", "one direction of the rear plane is not measured"},
		{"crankpin-taper-2", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"bigend-fit-2", judge.NoGrade, judge.Serviceable, true, 80, "", "", "the rest of the crankpin could still make it worse"},
		{"rod-side-4", judge.NoGrade, judge.NoGrade, true, none, "", "", "not measured at all"},
		{"pin-size-4", judge.NoGrade, judge.Serviceable, true, -1, "", "", "the rear of the pin is not measured"},
		{"pin-step-4", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"bushing-fit-4", judge.NoGrade, judge.Serviceable, true, 28, "", "", "as above"},
		{"boss-fit-4.2", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"boss-fit-4.1", judge.Beyond, judge.Beyond, true, none, "0.0001", "", "too tight already; what is used on the loose side says nothing of that"},

		// Asked.
		{"main-size-2", judge.Serviceable, judge.Serviceable, false, 50, "", "settle", "two live readings at one spot: 2.3110 counts, not 2.3116"},
		{"main-round-2", judge.Serviceable, judge.Serviceable, false, 20, "", "settle", "0.0006 by the one, within new by the other"},
		{"main-taper-2", judge.New, judge.New, false, 0, "", "settle", "0.0005 by the one, 0.0001 by the other"},
		{"main-fit-2", judge.Serviceable, judge.Serviceable, false, 80, "", "settle", "the journal is in this fit"},
		{"main-size-3", judge.New, judge.New, false, 0, "", "query", "2.3132 is larger than new, and journals don't grow"},
		{"boss-size-4.1", judge.New, judge.New, false, 0, "", "query", "1.0603 is smaller than new, and bores don't shrink"},
		{"pin-size-3", judge.NoGrade, judge.NoGrade, false, none, "", "hold", "1.0600 is 0.0005 from the new minimum and 0.0008 from the new maximum"},
	}

	b, f := load(t)
	all := map[string]*judge.Verdict{}
	var trouble []string
	list := verdicts(b, f.Readings)
	for i := range list {
		v := &list[i]
		all[id(v)] = v
		if v.Grade == judge.Beyond || v.Open() || len(v.Asks) > 0 || v.Grade == judge.NoGrade {
			trouble = append(trouble, id(v))
		}
	}
	var told []string
	for _, s := range story {
		told = append(told, s.id)
		v, ok := all[s.id]
		if !ok {
			t.Errorf("%s: no such verdict", s.id)
			continue
		}
		var asks []string
		for _, a := range v.Asks {
			asks = append(asks, a.Kind.String())
		}
		used, by := int64(none), ""
		if v.HasAllowance {
			used = v.Allowance
		}
		if d, ok := v.By(); ok {
			by, _ = d.Text(v.Line.Unit, v.Line.Decimals)
		}
		got := []any{v.Grade, v.SoFar, v.Open(), used, by, strings.Join(asks, " ")}
		want := []any{s.grade, s.soFar, s.open, s.used, s.by, s.asks}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (%s): -want +got\n%s", s.id, s.why, diff)
		}
	}
	for _, name := range trouble {
		if !slices.Contains(told, name) {
			t.Errorf("%s is beyond, open or asked, and the story does not tell of it", name)
		}
	}
}

func TestEveryLineIsReached(t *testing.T) {
	b, f := load(t)
	here := judge.File(b, f.Readings).At
	for _, l := range b.Lines {
		reached := slices.ContainsFunc(l.Instances, func(inst book.Instance) bool {
			return slices.ContainsFunc(inst.Spots, func(s book.SpotID) bool { return len(here(s)) > 0 })
		})
		if !reached {
			t.Errorf("%s has no reading", l.Key)
		}
	}
}

// sameVerdicts compares verdicts of one book, figures exactly.
var sameVerdicts = cmp.Options{
	cmp.Comparer(func(a, b quantity.Figure) bool { return a == b }),
	cmp.Comparer(func(a, b *book.Line) bool { return a == b }),
}

func TestOrderNeverMatters(t *testing.T) {
	b, f := load(t)
	want := verdicts(b, f.Readings)
	rapid.Check(t, func(t *rapid.T) {
		shuffled := rapid.Permutation(f.Readings).Draw(t, "readings")
		if diff := cmp.Diff(want, verdicts(b, shuffled), sameVerdicts); diff != "" {
			t.Fatalf("another order, other verdicts: -want +got\n%s", diff)
		}
	})
}

// The readings taken in inches and their exact twins in millimetres give the
// same verdicts.
func TestMillimetreTwin(t *testing.T) {
	b, f := load(t)
	rows, err := csv.NewReader(bytes.NewReader(Readings)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	value, unit := slices.Index(rows[0], "value"), slices.Index(rows[0], "unit")
	twins := 0
	for i := range f.Readings {
		r := &f.Readings[i]
		if r.Shown.Unit != quantity.Inch {
			continue
		}
		text, exact := r.Value.Text(quantity.Millimetre, 6)
		if !exact {
			t.Fatalf("row %d: %s has no exact twin", r.Row, r.Shown)
		}
		rows[r.Row-1][value], rows[r.Row-1][unit] = text, "mm"
		twins++
	}
	if twins < 100 {
		t.Fatalf("only %d readings are in inches", twins)
	}
	var data bytes.Buffer
	if err := csv.NewWriter(&data).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	twin := reading.Load("twin.csv", data.Bytes(), b, false)
	if len(twin.Faults) > 0 {
		t.Fatal(twin.Faults)
	}
	if diff := cmp.Diff(verdicts(b, f.Readings), verdicts(b, twin.Readings), sameVerdicts); diff != "" {
		t.Errorf("in inches and in millimetres: -in +mm\n%s", diff)
	}
}

func BenchmarkJudge(bench *testing.B) {
	b, f := load(bench)
	bench.ReportAllocs()
	for bench.Loop() {
		verdicts(b, f.Readings)
	}
}

func BenchmarkLoad(bench *testing.B) {
	bench.ReportAllocs()
	for bench.Loop() {
		load(bench)
	}
}
