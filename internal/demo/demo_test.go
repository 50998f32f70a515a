package demo

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
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

// engine is what is known of the demo's engine beside its readings.
var engine = judge.Given{Conditions: map[string]string{"bushing": "used", "valve": "used"}, Serial: "1127"}

func verdicts(b *book.Book, readings []reading.Reading) []judge.Verdict {
	return judge.Book(b, engine, judge.File(b, readings).At)
}

func id(v *judge.Verdict) string { return v.Line.ID(v.At) }

// A complete dimensional inspection of a four-cylinder opposed engine, row by
// row: common practice, no source. The story leaves some spots open and looks at
// one twice.
func TestCounts(t *testing.T) {
	rows := []struct {
		part                   string
		spots, missing, double int
		features               string
	}{
		{"crankshaft", 74, 1, 1, "crank.main crank.pin crank.width crank.seal crank.pilot crank.thrust crank.centre crank.flange crank.rim crank.tail"},
		{"case", 96, 0, 0, "case.bore case.fitted case.left case.right case.cam case.lifter case.deck case.joint case.width case.thrust"},
		{"rods", 88, 0, 0, "rod.bigend rod.fitted rod.bushing rod.width rod.bolt rod.arbors rod.twist rod.weight"},
		{"piston pins", 36, 2, 0, "pin.outside pin.length pin.plug"},
		{"pistons", 56, 0, 0, "piston.skirt piston.top piston.land piston.boss piston.topring piston.midring piston.oilring piston.weight"},
		{"rings", 24, 0, 0, "ring.top ring.mid ring.oil"},
		{"cylinders", 132, 0, 0, "cylinder.bore cylinder.pilot cylinder.flange cylinder.inguide cylinder.exguide cylinder.inseat cylinder.exseat cylinder.inwidth cylinder.exwidth cylinder.boss"},
		{"valves", 72, 0, 0, "intake.stem intake.face intake.margin intake.length exhaust.stem exhaust.face exhaust.margin exhaust.length"},
		{"springs", 32, 0, 0, "outer.closed outer.open inner.closed inner.open"},
		{"rockers, shafts", 40, 0, 0, "rocker.bushing rocker.side shaft.outside"},
		{"push-rods", 16, 0, 0, "pushrod.length pushrod.runout"},
		{"lifters", 40, 0, 0, "lifter.body lifter.leak"},
		{"camshaft", 34, 0, 0, "cam.journal cam.inlobe cam.inbase cam.exlobe cam.exbase cam.pilot cam.centre"},
		// The gear dowel and its hole are among the eight of shafts and bushings.
		{"gears", 32, 0, 0, "gear.idler gear.cam gear.leftmag gear.rightmag gear.pump gear.tach gear.shaft gear.bushing crank.dowel crank.hole"},
		{"oil pump", 22, 0, 0, "pump.gear pump.body pump.width pump.depth pump.shaft pump.bushing pump.idler pump.end pump.spring pump.load"},
		{"assembled", 14, 1, 0, "crank.end cam.end rod.side lifter.dry"},
	}
	b, f := load(t)
	spots, missing, double := map[string]int{}, map[string]int{}, map[string]int{}
	here := judge.File(b, f.Readings).At
	for i := range b.Spots {
		feature := b.FeatureAt(book.SpotID(i))
		name := feature.Ref()
		if feature.Class == book.Check {
			name = "checks"
		}
		spots[name]++
		switch n := len(here(book.SpotID(i))); {
		case n == 0:
			missing[name]++
		case n > 1:
			double[name] += n - 1
		}
	}
	if spots["checks"] != 60 || missing["checks"]+double["checks"] != 0 {
		t.Errorf("%d things are answered yes or no, %d of them open, %d doubled; want 60", spots["checks"], missing["checks"], double["checks"])
	}
	delete(spots, "checks")
	all := 0
	for _, row := range rows {
		var got [3]int
		for _, name := range strings.Fields(row.features) {
			if spots[name] == 0 {
				t.Errorf("%s: %s is not there, or in two rows", row.part, name)
			}
			got = [3]int{got[0] + spots[name], got[1] + missing[name], got[2] + double[name]}
			delete(spots, name)
		}
		if want := [3]int{row.spots, row.missing, row.double}; got != want {
			t.Errorf("%s: spots, missing, double are %v, want %v", row.part, got, want)
		}
		all += row.spots
	}
	for name := range spots {
		t.Errorf("%s is in no row", name)
	}
	for _, c := range []struct {
		what      string
		got, want int
	}{
		{"spots in the rows", all, 808},
		{"readings", len(f.Readings), 808 - 4 + 1 + 60},
		{"rows without a value", f.Blank, 1},
		{"lines", len(b.Lines), 236},
		{"verdicts", len(verdicts(b, f.Readings)), 773},
	} {
		if c.got != c.want {
			t.Errorf("%d %s, want %d", c.got, c.what, c.want)
		}
	}
}

// Nobody writes down readings before he takes them, or at two places at once.
func TestReadingsComeInTurn(t *testing.T) {
	_, f := load(t)
	last := map[string]string{}
	for i := range f.Readings {
		r := &f.Readings[i]
		if r.When < last[r.By] {
			t.Errorf("row %d: %s is back at %s after %s", r.Row, r.By, r.When, last[r.By])
		}
		last[r.By] = r.When
	}
	if len(last) != 3 {
		t.Errorf("%d people took the readings, want 3", len(last))
	}
}

// Whoever tries tenths should meet whatever books and readings can say at least
// once.
func TestDemoShowsWhatCanBeSaid(t *testing.T) {
	b, f := load(t)
	seen := map[string]bool{}
	see := func(what string, is bool) { seen[what] = seen[what] || is }
	for _, l := range b.Lines {
		see("judges "+l.Judges.String(), true)
		see("kind "+l.Limit.Kind.String(), true)
		see("unit "+l.Unit.String(), true)
		first := l.Terms[0].Feature
		see("wear, base stated", l.Limit.Kind == limit.Wear && l.Limit.Held == nil)
		see("wear, base not stated", l.Limit.Held != nil)
		see("either side", first.Wears == book.Either)
		see("mean", first.Counts == book.Mean)
		see("one plane only", len(l.Planes) == 1)
		see("condition", len(l.When) > 0)
		see("serials, amended, replaces", len(l.Serials) > 0 && l.Amendment != nil && l.Replaces != nil)
		see("measured as", l.As != "")
		see("governed by", l.Governor != nil)
		see("graded: no", l.Ungraded && l.Limit.Kind != limit.Reference)
		see("selected parts", len(l.Choices) > 0)
		see("moves", l.Moves != nil)
		see("want no", l.Judges == book.YesNo && !l.WantYes)
		see("steps", len(l.AtStep) > 0)
		see("made of", len(first.Made) > 0)
		for _, tier := range l.Limit.Tiers {
			lo, hi := tier.Range.Min, tier.Range.Max
			see("tier "+tier.Name, true)
			see("tight to loose", lo.Set && hi.Set && lo.At.Sign() < 0 && hi.At.Sign() > 0)
			see("least itself out", lo.Open)
			see("most itself out", hi.Open)
		}
		for _, term := range l.Terms {
			see("twice in a sum", term.Times == -2)
			see("plane of a term", term.Plane != "")
		}
		var mates []*book.Site
		for i := range l.Instances {
			mates = append(mates, l.Instances[i].Sites[len(l.Terms)-1])
		}
		see("one mates with two", len(mates) > 1 && mates[0] == mates[1])
		see("groups", l.Judges == book.Spread && len(l.Instances) > 1)
	}
	for i := range f.Readings {
		r := &f.Readings[i]
		see("reading "+r.Kind.String(), true)
		see("plus smaller", r.Reversed)
		see("only what does not go", r.Kind == reading.Bracket && !r.Low.Set)
		see("step", r.Step != "")
		see("in mm", r.Shown.Unit == quantity.Millimetre)
	}
	want := []string{
		"wear, base stated", "wear, base not stated", "either side", "mean", "one plane only", "condition", "serials, amended, replaces",
		"measured as", "governed by", "graded: no", "selected parts", "moves", "want no", "steps", "made of",
		"tier new", "tier overhaul", "tier service", "tier use", "tier rework", "tight to loose", "least itself out", "most itself out",
		"twice in a sum", "plane of a term", "one mates with two", "groups",
		"unit in", "unit mm", "unit g", "unit oz", "unit lbf", "unit s", "unit in/in",
		"plus smaller", "only what does not go", "step", "in mm",
	}
	for j := book.Size; j <= book.YesNo; j++ {
		want = append(want, "judges "+j.String())
	}
	for k := limit.Absolute; k <= limit.Reference; k++ {
		want = append(want, "kind "+k.String())
	}
	for _, k := range []reading.Kind{reading.Size, reading.Deviation, reading.Bracket, reading.YesNo} {
		want = append(want, "reading "+k.String())
	}
	for _, w := range want {
		if !seen[w] {
			t.Errorf("nothing shows: %s", w)
		}
	}
}

// sizes are what a feature's size line allows.
type sizes struct{ asNew, service fit.Term }

// where is what a size line is of: a feature, or one plane of it.
type where struct {
	feature *book.Feature
	plane   string
}

// sizesOf reads the size lines of the book: new, and with all the wear that the
// service limit (or where there is none the new limits) leaves.
func sizesOf(t *testing.T, b *book.Book) map[where]sizes {
	of := map[where]sizes{}
	for _, l := range b.Lines {
		if l.Judges != book.Size || l.IsClearance() || l.Unit.Kind() != quantity.LengthKind || l.Limit.Kind == limit.Reference {
			continue
		}
		first, last := l.Limit.Tiers[0], l.Limit.Tiers[len(l.Limit.Tiers)-1]
		if !first.Range.Min.Set || !first.Range.Max.Set {
			continue // a run-out has no least
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
		planes := l.Planes
		if len(planes) == 0 {
			planes = []string{""}
		}
		for _, p := range planes {
			of[where{l.Terms[0].Feature, p}] = s
		}
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

// termsOf returns what a fit or a difference adds up, new and worn.
func termsOf(t *testing.T, of map[where]sizes, l *book.Line) (asNew, worn []fit.Term) {
	t.Helper()
	for _, term := range l.Terms {
		s, ok := of[where{term.Feature, term.Plane}]
		if !ok {
			t.Fatalf("%s: %s has no size line", l.Key, term.Feature.Ref())
		}
		s.asNew.Times, s.service.Times = term.Times, term.Times
		asNew, worn = append(asNew, s.asNew), append(worn, s.service)
	}
	return asNew, worn
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
		if l.Judges != book.Fit && l.Judges != book.Difference || len(l.Choices) > 0 {
			continue
		}
		fits++
		asNew, service := termsOf(t, of, l)
		first, last := l.Limit.Tiers[0].Range, l.Limit.Tiers[len(l.Limit.Tiers)-1].Range
		if got, want := (fit.Ends{Tightest: length(t, first.Min), Loosest: length(t, first.Max)}), fit.Of(asNew...); got != want {
			t.Errorf("%s: new %s..%s, but the sizes make %s..%s", l.Key, show(got.Tightest), show(got.Loosest), show(want.Tightest), show(want.Loosest))
		}
		if l.Judges == book.Fit && last.Min != first.Min {
			t.Errorf("%s: a used fit may be tighter than a new one", l.Key)
		}
		least, most, worn := length(t, last.Min), length(t, last.Max), fit.Of(service...)
		isWider := most.Cmp(worn.Loosest) > 0 || least.Cmp(worn.Tightest) < 0
		if why := wider[l.Key]; isWider != (why != "") {
			t.Errorf("%s: service %s..%s, the sizes at their service limits make %s..%s; expected to be wider: %q",
				l.Key, show(least), show(most), show(worn.Tightest), show(worn.Loosest), why)
		}
		if isWider && l.Note == "" {
			t.Errorf("%s: the book does not say why its service limit is wider than that of its sizes", l.Key)
		}
	}
	if fits != 24 {
		t.Errorf("%d fits were checked, want 24", fits)
	}
}

// Whatever the widths of new parts, and of parts worn to their limits, some
// thrust plate brings the end clearance of a new engine.
func TestThrustPlatesReach(t *testing.T) {
	b, _ := load(t)
	l, _ := b.Line("thrust-fit")
	asNew, worn := termsOf(t, sizesOf(t, b), l)
	limits := l.Limit.Tiers[0].Range
	for gap := fit.Of(asNew...).Tightest; gap.Cmp(fit.Of(worn...).Loosest) <= 0; gap = gap.Plus(1, quantity.TenthsOfNanometre(25_400)) {
		if !slices.ContainsFunc(l.Choices, func(c book.Choice) bool { return limits.Contains(gap.Plus(-1, c.Size).Figure()) }) {
			t.Errorf("no plate suits %s between the faces", show(gap))
		}
	}
}

// A guide that is at its limit for a new valve just makes, with the smallest
// stem that a new valve has, the loosest fit that is allowed.
func TestGuideForNewValveAgrees(t *testing.T) {
	b, _ := load(t)
	guide, _ := b.Line("exguide-renewed")
	stem, _ := b.Line("exstem-size")
	used, _ := b.Line("exguide-fit")
	most := length(t, guide.Limit.Tiers[1].Range.Max)
	if got, want := most.Plus(-1, length(t, stem.Limit.Tiers[0].Range.Min)), length(t, used.Limit.Tiers[1].Range.Max); got != want {
		t.Errorf("the guide at its limit makes %s, the fit allows %s", show(got), show(want))
	}
}

// End clearance is found in two ways, and its limits are the same.
func TestEndClearanceAgrees(t *testing.T) {
	b, _ := load(t)
	measured, _ := b.Line("end-clearance")
	added, _ := b.Line("thrust-fit")
	for _, name := range []string{"new", "service"} {
		tier := func(l *book.Line) limit.Range {
			return l.Limit.Tiers[slices.IndexFunc(l.Limit.Tiers, func(t limit.Tier) bool { return t.Name == name })].Range
		}
		if m, a := tier(measured), tier(added); m != a {
			t.Errorf("%s: measured %+v, by widths %+v", name, m, a)
		}
	}
}

// What is measured directly has the limits of what stands in for it where it is
// not.
func TestGovernedLinesAgree(t *testing.T) {
	b, _ := load(t)
	governed := 0
	for _, l := range b.Lines {
		if l.Governor == nil {
			continue
		}
		governed++
		for i := range l.Limit.Tiers {
			if own, governs := l.Limit.Tiers[i].Range, l.Governor.Limit.Tiers[i].Range; own != governs {
				t.Errorf("%s: %+v, %s: %+v", l.Key, own, l.Governor.Key, governs)
			}
		}
	}
	if governed != 3 {
		t.Errorf("%d lines are governed by others, want 3", governed)
	}
}

// A part that is new in size can't be more out of round, or stepped, than its
// tolerance is wide.
func TestFormAgreesWithSize(t *testing.T) {
	b, _ := load(t)
	of := sizesOf(t, b)
	forms := 0
	for _, l := range b.Lines {
		f := l.Terms[0].Feature
		if l.Judges != book.OutOfRound && l.Judges != book.Taper || f.Class == book.Clearance {
			continue
		}
		forms++
		found := false
		for at, s := range of {
			if at.feature != f || at.plane != "" && len(l.Planes) > 0 && !slices.Contains(l.Planes, at.plane) {
				continue
			}
			found = true
			if most := length(t, l.Limit.Tiers[0].Range.Max); most.Cmp(s.asNew.Largest.Plus(-1, s.asNew.Smallest)) > 0 {
				t.Errorf("%s: %s is more than the size allows", l.Key, show(most))
			}
		}
		if !found {
			t.Errorf("%s: %s has no size line", l.Key, f.Ref())
		}
	}
	if forms != 51 {
		t.Errorf("%d lines of form were checked, want 51", forms)
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
		{"pilot-size-1", judge.New, judge.New, false, 0, "", "", "one of two readings is under 5.2480, their mean is not"},
		{"centre-bend", judge.New, judge.New, false, 0, "", "", "the dial swings 0.0020; half of it is the new maximum itself"},
		{"crankpin-taper-4", judge.New, judge.New, false, 0, "", "", "0.0005 over 1.25 inch is 0.0004 per inch, the new maximum itself"},
		{"dowel-fit", judge.New, judge.New, false, 0, "", "", "a fit may be good where a size is not"},
		{"thrust-fit", judge.New, judge.New, false, 0, "", "", "with the right plate"},
		{"flange-runout", judge.Serviceable, judge.Serviceable, false, 16, "", "", "+0.0015 less −0.0010 is 0.0025"},
		{"end-clearance", judge.Serviceable, judge.Serviceable, false, 20, "", "", "a clearance measured as one, in the middle of three tiers"},
		{"bigend-bore-4", judge.Serviceable, judge.Serviceable, false, 80, "", "", "within, as is the crankpin that it runs on"},
		{"bigend-fitted-4", judge.Serviceable, judge.Serviceable, false, 80, "", "", "the same with inserts"},
		{"crankpin-size-4", judge.Serviceable, judge.Serviceable, false, 70, "", "", "within, as is the big end that runs on it"},
		{"rod-weight-1", judge.Serviceable, judge.Serviceable, false, none, "", "", "plus or minus is one tier: within it or not"},
		{"rod-weight-pair-2", judge.Serviceable, judge.Serviceable, false, none, "", "", "864.0 against 857.2 g"},
		{"piston-weight-2", judge.New, judge.New, false, none, "", "", "weighed in grams, held against ounces"},
		{"case-round-2", judge.New, judge.New, false, none, "", "", "the manual states no service limit: graded by new"},
		{"lifter-bore-3", judge.New, judge.New, false, 0, "", "", "0.005 over, and marked so: held to the limits of that step"},
		{"lifter-fit-3", judge.New, judge.New, false, 0, "", "", "with the lifter that goes with it; limits of a fit do not move"},
		{"bore-size-3", judge.Serviceable, judge.Serviceable, false, 94, "", "", "no reading of the barrel is over, its average is"},
		{"bore-round-3", judge.Serviceable, judge.Serviceable, false, 16, "", "", "0.0010 in three planes, read as deviations"},
		{"choke-3", judge.Serviceable, judge.Serviceable, false, 6, "", "", "most of the choke is left where the barrel wore all along"},
		{"skirt-fit-3", judge.Serviceable, judge.Serviceable, false, 80, "", "", "the mean at the foot less a scuffed skirt"},
		{"topring-gap-late-3", judge.New, judge.New, false, none, "", "", "within by itself, and the limits grow with the bore as well"},
		{"exlobe-mean", judge.Serviceable, judge.Serviceable, false, 54, "", "", "four lobes on average, while one is gone"},
		{"exguide-fit-3", judge.New, judge.New, false, none, "", "", "a plug that goes and one that does not are enough here"},

		// Exactly at a limit.
		{"crankpin-size-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "52.324 mm is 2.0600 in, the service minimum itself"},
		{"bushing-size-1", judge.Serviceable, judge.Serviceable, false, 100, "", "", "1.0626 is 0.0010 of wear from the new minimum"},
		{"bigend-fit-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "a fit whose loosest is the service maximum itself, one reading in mm"},
		{"rod-parallel-3", judge.Serviceable, judge.Serviceable, false, 100, "", "", "0.0060 over 6 inches is 0.0010 per inch"},
		{"rod-weight-3", judge.Serviceable, judge.Serviceable, false, none, "", "", "860 + 4 g itself"},
		{"piston-weight-4", judge.New, judge.New, false, none, "", "", "37.30 oz itself"},
		{"main-fit-1", judge.New, judge.New, false, 0, "", "", "its tight end is the least clearance itself, 0.0015L"},
		{"boss-fit-2.1", judge.New, judge.New, false, 0, "", "", "its tight end is 0.0002T itself"},
		{"boss-fit-3.2", judge.Serviceable, judge.Serviceable, false, 100, "", "", "26.924 mm is 1.0600 in: the loosest is 0.0008L itself"},
		{"inner-closed-4", judge.Serviceable, judge.Serviceable, false, 100, "", "", "28.0 lbf, the least itself"},

		// Beyond.
		{"crankpin-size-2", judge.Beyond, judge.Beyond, true, 130, "0.0003", "", "under; certain though one spot is open"},
		{"bushing-size-3", judge.Beyond, judge.Beyond, false, 133, "0.0002", "", "the worn bushing"},
		{"bushing-fit-3", judge.Beyond, judge.Beyond, false, 185, "0.0006", "", "the worn bushing with the worn pin"},
		{"bigend-fit-4", judge.Beyond, judge.Beyond, false, 110, "0.0001", "", "both sizes are within, their fit is not"},
		{"bolt-length-4.1", judge.Beyond, judge.Beyond, false, 103, "0.0001", "", "stretched more than 0.0030 from the new maximum"},
		{"insert-left-2", judge.Beyond, judge.Beyond, false, none, "0.0001", "", "no wear allowed"},
		{"dowel-size", judge.Beyond, judge.Beyond, false, none, "0.0002", "", "no service limit stated: beyond new is beyond"},
		{"seal-land", judge.Beyond, judge.Beyond, false, 100, "0.00", "", "67.90 or less rejects 67.90"},
		{"topring-side-3", judge.Beyond, judge.Beyond, false, none, "", "", "the 0.008 feeler goes, and 0.0080 or more is rejected"},
		{"bore-mean-3", judge.Beyond, judge.Beyond, false, 111, "0.0002", "", "the barrel past its average: 5.00373"},

		// What came off a lifter and where it went.
		{"lifter-faces-6", judge.Beyond, judge.Beyond, false, none, "", "", "spalled"},
		{"lifter-leak-6", judge.Beyond, judge.Beyond, false, none, "2", "", "8 s where 10 is the least"},
		{"lifter-leak-spread", judge.Beyond, judge.Beyond, false, none, "1", "", "29 less 8 s"},
		{"tappet-dry-6", judge.Beyond, judge.Beyond, false, none, "", "", "the 0.084 feeler goes"},
		{"exlobe-faces-3", judge.Beyond, judge.Beyond, false, none, "", "", "the lobe that it ran on"},
		{"exlobe-size-3", judge.Beyond, judge.Beyond, false, 131, "0.0028", "", "the same"},
		{"exlobe-alike", judge.Beyond, judge.Beyond, false, 200, "0.0050", "", "the same against the other three"},
		{"exlift-3", judge.Beyond, judge.Beyond, false, 148, "0.0034", "", "the same as lift"},
		{"cam-bearings-2", judge.Beyond, judge.Beyond, false, none, "", "", "scored"},
		{"cam-bore-2", judge.Beyond, judge.Beyond, false, 140, "0.0006", "", "the scored bearing"},
		{"cam-fit-2", judge.Beyond, judge.Beyond, false, 135, "0.0007", "", "the scored bearing with its journal"},
		{"pump-tip-2", judge.Beyond, judge.Beyond, false, 126, "0.0004", "", "the pump's body, scored as well; the gear is within"},
		{"case-saddles-2", judge.Beyond, judge.Beyond, false, none, "", "", "another matter: fretting"},

		// The exhaust valve of cylinder 2.
		{"exguide-fit-2", judge.Beyond, judge.Beyond, false, 127, "0.0004", "", "guide and stem are worn; with a new valve the guide is fine"},
		{"exseat-runout-2", judge.Beyond, judge.Beyond, false, none, "", "", "to be reworked"},
		{"exface-runout-2", judge.Beyond, judge.Beyond, false, none, "", "", "to be reworked"},
		{"exhaust-contact-2", judge.Beyond, judge.Beyond, false, none, "", "", "bare for a third of the way round"},
		{"outer-closed-4", judge.Beyond, judge.Beyond, false, 150, "2", "", "its spring is weak"},
		{"outer-open-4", judge.Beyond, judge.Beyond, false, 114, "1", "", "its spring is weak"},

		// Open.
		{"crankpin-round-2", judge.NoGrade, judge.New, true, 0, "", "", "one direction of the rear plane is not measured"},
		{"crankpin-taper-2", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"crankpin-whole-2", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"bigend-fit-2", judge.NoGrade, judge.Serviceable, true, 80, "", "", "the rest of the crankpin could still make it worse"},
		{"rod-side-4", judge.NoGrade, judge.NoGrade, true, none, "", "", "not measured at all"},
		{"rod-side-widths-4", judge.New, judge.New, false, 0, "", "", "so the widths have the word"},
		{"pin-size-4", judge.NoGrade, judge.Serviceable, true, none, "", "", "the rear of the pin is not measured"},
		{"pin-round-4", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"pin-step-4", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"bushing-fit-4", judge.NoGrade, judge.Serviceable, true, 28, "", "", "as above"},
		{"boss-fit-4.2", judge.NoGrade, judge.New, true, 0, "", "", "as above"},
		{"boss-fit-4.1", judge.Beyond, judge.Beyond, true, none, "0.0001", "", "too tight already; what is used on the loose side says nothing of that"},

		// Asked.
		{"main-size-2", judge.Serviceable, judge.Serviceable, false, 50, "", "settle", "two live readings at one spot: 2.3110 counts, not 2.3116"},
		{"main-round-2", judge.Serviceable, judge.Serviceable, false, 20, "", "settle", "0.0006 by the one, within new by the other"},
		{"main-rate-2", judge.New, judge.New, false, 0, "", "settle", "0.0005 over an inch by the one, 0.0001 by the other"},
		{"main-taper-2", judge.New, judge.New, false, 0, "", "settle", "the same as a whole"},
		{"main-step", judge.Serviceable, judge.Serviceable, false, none, "", "", "the journal is in this group"},
		{"main-fit-2", judge.Serviceable, judge.Serviceable, false, 80, "", "settle", "the journal is in this fit"},
		{"main-stack-2", judge.NoGrade, judge.NoGrade, false, none, "", "", "and in this sum, which is shown and not graded"},
		{"main-size-3", judge.New, judge.New, false, 0, "", "query", "2.3132 is larger than new, and journals don't grow"},
		{"boss-size-4.1", judge.New, judge.New, false, 0, "", "query", "1.0603 is smaller than new, and bores don't shrink"},
		{"pin-size-3", judge.NoGrade, judge.NoGrade, false, none, "", "hold", "1.0600 is 0.0005 from the new minimum and 0.0008 from the new maximum"},
		{"rod-side-3", judge.NoGrade, judge.NoGrade, false, none, "", "undecided", "the 0.016 feeler goes, and 0.016 is the most: what is in between?"},
		{"exguide-fit-4", judge.NoGrade, judge.NoGrade, false, none, "", "undecided", "the larger plug goes in: how much wider is it?"},
		{"rod-width-1", judge.NoGrade, judge.New, false, 0, "", "items", "rods 1 and 2 were swapped on the bench between two readings"},
		{"rod-width-2", judge.NoGrade, judge.New, false, 0, "", "items", "the same"},
		{"rod-square-1", judge.NoGrade, judge.New, false, 0, "", "items", "the same"},
		{"rod-square-2", judge.NoGrade, judge.New, false, 0, "", "items", "the same"},
		{"rod-side-widths-1", judge.NoGrade, judge.NoGrade, false, none, "", "", "the same; the feeler governs"},
		{"rod-side-widths-2", judge.NoGrade, judge.NoGrade, false, none, "", "", "the same; the feeler governs"},
	}

	b, f := load(t)
	all := map[string]*judge.Verdict{}
	var trouble []string
	list := verdicts(b, f.Readings)
	for i := range list {
		v := &list[i]
		all[id(v)] = v
		if v.Grade == judge.Beyond || v.Open() || len(v.Asks) > 0 || v.Grade == judge.NoGrade && v.Ungraded == "" {
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

// What lines depend on is asked for until it is stated, and then only the lines
// that are for this engine are judged.
func TestConditions(t *testing.T) {
	b, f := load(t)
	here := judge.File(b, f.Readings).At
	with := func(valve string) judge.Given {
		return judge.Given{Conditions: map[string]string{"bushing": "used", "valve": valve}, Serial: "1127"}
	}
	const absent = "not judged"
	for _, c := range []struct {
		id    string
		given judge.Given
		want  string
	}{
		{"exguide-fit-2", judge.Given{}, "none condition"},
		{"exguide-fit-2", with("used"), "beyond"},
		{"exguide-fit-2", with("new"), absent},
		{"exguide-renewed-2", judge.Given{}, "none condition"},
		{"exguide-renewed-2", with("used"), absent},
		{"exguide-renewed-2", with("new"), "serviceable"},
		{"exguide-fit-4", with("used"), "none undecided"},
		{"exguide-renewed-4", with("new"), "serviceable"},
		{"rod-twist-3", with("used"), "serviceable"},
		{"rod-twist-new-3", with("used"), absent},
		{"rod-twist-new-3", judge.Given{Conditions: map[string]string{"bushing": "new"}}, "beyond"},
		{"topring-gap-3", judge.Given{}, "none condition"}, // another may stand in for it
		{"topring-gap-late-3", judge.Given{}, "none condition"},
		{"topring-gap-3", judge.Given{Serial: "1100"}, "new"},
		{"topring-gap-late-3", judge.Given{Serial: "1100"}, absent},
		{"topring-gap-3", judge.Given{Serial: "1101"}, absent},
		{"topring-gap-late-3", judge.Given{Serial: "1101"}, "new"},
	} {
		got := absent
		for _, v := range judge.Book(b, c.given, here) {
			if id(&v) != c.id {
				continue
			}
			words := []string{v.Grade.String()}
			for _, a := range v.Asks {
				words = append(words, a.Kind.String())
			}
			got = strings.Join(words, " ")
		}
		if got != c.want {
			t.Errorf("%s given %+v: %s, want %s", c.id, c.given, got, c.want)
		}
	}
}

// The plates that suit are named.
func TestThrustPlatesChosen(t *testing.T) {
	b, f := load(t)
	for _, v := range verdicts(b, f.Readings) {
		if id(&v) == "thrust-fit" {
			var got []string
			for _, i := range v.Picks {
				got = append(got, v.Line.Choices[i].Text)
			}
			if diff := cmp.Diff([]string{"0.114", "0.116"}, got); diff != "" {
				t.Error(diff)
			}
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

// differ names the first verdict that is not the same in both; figures are
// compared exactly.
func differ(a, b []judge.Verdict) string {
	for i := range a {
		if !reflect.DeepEqual(a[i], b[i]) {
			return fmt.Sprintf("%s: %+v and %+v", id(&a[i]), a[i], b[i])
		}
	}
	return ""
}

func TestOrderNeverMatters(t *testing.T) {
	b, f := load(t)
	want := verdicts(b, f.Readings)
	rapid.Check(t, func(t *rapid.T) {
		shuffled := rapid.Permutation(f.Readings).Draw(t, "readings")
		if diff := differ(want, verdicts(b, shuffled)); diff != "" {
			t.Fatalf("another order, another verdict: %s", diff)
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
	column := func(name string) int { return slices.Index(rows[0], name) }
	value, unit, setting := column("value"), column("unit"), column("setting")
	mm := func(f quantity.Figure) string {
		text, exact := f.Text(quantity.Millimetre, 6)
		if !exact {
			t.Fatalf("%s mm is not exact", text)
		}
		return text
	}
	twins := map[reading.Kind]int{}
	for i := range f.Readings {
		r := &f.Readings[i]
		if r.Kind == reading.YesNo || r.Shown.Unit.Kind() != quantity.LengthKind || r.Shown.Unit == quantity.Millimetre {
			continue
		}
		twins[r.Kind]++
		row := rows[r.Row-1]
		row[unit] = "mm"
		switch r.Kind {
		case reading.Size:
			row[value] = mm(r.Value)
		case reading.Deviation:
			off, _, err := quantity.Format{Unit: r.Shown.Unit}.Figure(r.Shown.Digits)
			if err != nil {
				t.Fatal(err)
			}
			master, _, err := quantity.Format{Unit: r.Setting.Unit}.Figure(r.Setting.Digits)
			if err != nil {
				t.Fatal(err)
			}
			row[value], row[setting] = mm(off), mm(master)+" mm"
		case reading.Bracket:
			// Only in gaps and bores: what goes is the least that it can be.
			var sides []string
			if r.Low.Set {
				sides = append(sides, mm(r.Low.At)+" goes")
			}
			if r.High.Set {
				sides = append(sides, mm(r.High.At)+" does not")
			}
			row[value] = strings.Join(sides, ", ")
		}
	}
	if want := map[reading.Kind]int{reading.Size: 562, reading.Deviation: 40, reading.Bracket: 107}; !cmp.Equal(twins, want) {
		t.Errorf("twins were made of %v, want %v", twins, want)
	}
	var data bytes.Buffer
	if err := csv.NewWriter(&data).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	twin := reading.Load("twin.csv", data.Bytes(), b, false)
	if len(twin.Faults) > 0 {
		t.Fatal(twin.Faults)
	}
	if diff := differ(verdicts(b, f.Readings), verdicts(b, twin.Readings)); diff != "" {
		t.Errorf("in inches and in millimetres: %s", diff)
	}
}

func BenchmarkJudge(bench *testing.B) {
	b, f := load(bench)
	bench.ReportAllocs()
	for bench.Loop() {
		verdicts(b, f.Readings)
	}
}

func BenchmarkLoadBook(bench *testing.B) {
	bench.ReportAllocs()
	for bench.Loop() {
		if _, err := book.Load("book.yaml", Book); err != nil {
			bench.Fatal(err)
		}
	}
}

func BenchmarkLoadReadings(bench *testing.B) {
	b, _ := load(bench)
	bench.ReportAllocs()
	for bench.Loop() {
		if f := reading.Load("readings.csv", Readings, b, false); len(f.Faults) > 0 {
			bench.Fatal(f.Faults)
		}
	}
}
