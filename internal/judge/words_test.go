package judge_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

var update = flag.Bool("update", os.Getenv("UPDATE") != "", "rewrite the golden files")

// Every verdict opens to its sum. The golden files are read by a person: each
// figure in them was checked by hand against the readings above it.
func TestGoldenSum(t *testing.T) {
	tests := []struct{ file, line, readings string }{
		{"fit.txt", "main-fit-2", `spot,value,item,gauge,by,when,note
case.bore-2.-.0,2.5666,C-118,bore gauge 4,ab,2026-03-09 14:30,
case.bore-2.-.90,65.19672 mm,C-118,bore gauge 4,ab,2026-03-09 14:32,
case.shell-2,.0942,S-7,,,2026-03-09,ball micrometer
crank.main-2.front.0,2.3748,K-31,M1,,,
crank.main-2.front.90,2.3746,K-31,M1,,,
crank.main-2.front.90,2.3706,K-32,M1,,,
crank.main-2.middle.0,2.3747,K-31,M1,,,
crank.main-2.rear.0,2.3744,K-31,M1,,,
crank.main-2.rear.90,2.3743,K-31,M1,,,
`},
		{"press.txt", "pin-fit", `spot,value,temperature
rod.bush.-.0,0.9902,68 F
rod.bush.-.90,0.9903,68 F
pin.body.-.0,0.9901,20 C
pin.body.-.90,0.9903,20 C
`},
		{"taper-rate.txt", "main-rate-1", `spot,value
crank.main-1.front.0,2.3750
crank.main-1.middle.0,2.3743
crank.main-1.rear.0,2.3746
crank.main-1.front.90,2.3750
crank.main-1.middle.90,2.3748
crank.main-1.rear.90,2.3746
`},
		{"held.txt", "pin-size", `spot,value
pin.body.-.0,0.9890
pin.body.-.90,0.9903
`},
		{"none-allowed.txt", "shell-size-1", `spot,value
case.shell-1,0.0939
`},
		{"mean.txt", "bore-mean", `spot,value
cylinder.bore.top.0,5.1262
cylinder.bore.top.0,5.1263
cylinder.bore.top.90,5.1261
cylinder.bore.middle.0,5.1262
`},
		{"bend.txt", "bend", `spot,value
crank.dial.-.0,0
crank.dial.-.90,+.0035
crank.dial.-.180,+.0010
crank.dial.-.270,-.0040
`},
	}
	b := loadBook(t, testdata(t, "bench.yaml"))
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			r := loadReadings(t, b, []byte(tt.readings))
			v := verdict(t, judge.Book(b, judge.Given{}, r.At), tt.line)
			w := judge.Words{Book: b}
			got := w.Name(v) + ": " + w.Limits(v.Line, v.Line.Limit) + "\n\n" + strings.Join(w.Sum(v, r.At), "\n") + "\n"
			file := filepath.Join("testdata", tt.file)
			if *update {
				if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			if diff := cmp.Diff(string(testdata(t, tt.file)), got); diff != "" {
				t.Errorf("%s (-golden +got):\n%s", file, diff)
			}
		})
	}
}

func verdict(t *testing.T, all []judge.Verdict, id string) *judge.Verdict {
	t.Helper()
	for i := range all {
		if all[i].Line.ID(all[i].At) == id {
			return &all[i]
		}
	}
	t.Fatalf("no verdict %s", id)
	return nil
}

func TestRuleAndLimits(t *testing.T) {
	tests := []struct{ features, line, rule, limits string }{
		{journal, journalLine, "wears smaller: the smallest reading counts", "new 2.3745..2.3755, service min 2.3730"},
		{bore, boreLine, "wears larger: the largest reading counts", "new 2.3770..2.3780, service max 2.3790"},
		{mean, boreLine, "the mean of all readings", "new 2.3770..2.3780, service max 2.3790"},
		{"x: {kind: length, wears: smaller}", "size: p.x, new: 1.72 - 1.79, service: reject 1.67 or less", "wears smaller: the smallest reading counts", "new 1.72..1.79, service over 1.67"},
		{"x: {kind: force, unit: lbf, wears: either}", "size: p.x, new: 134.2, service: +/- 13.42", "may be out on either side: the smallest and the largest reading count", "service 120.78..147.62 lbf"},
		{"x: {kind: clearance}", "size: p.x, new: 0.006..0.013, service: 0.020", "measured as a clearance: the least against the minimum, the most against the maximum", "new 0.006..0.013, service max 0.020"},
		{fit, pressLine, "loosest = largest inside − smallest outside; tightest = smallest inside − largest outside", "new 0.0015T..0.0005T, service 0.0020T..0.0002L"},
		{planes, "out-of-round: p.x, new: ..0.0005, service: none", "greatest difference between directions in one plane; the worst plane counts", "new max 0.0005, no wear allowed"},
		{planes, "taper: p.x, new: ..0.0005, service: same", "greatest difference between planes in one direction; the worst direction counts", "new max 0.0005, service same as new"},
		{planes, "taper-rate: p.x, new: ..0.0005", "difference between two planes in one direction over their distance; the worst pair counts", "new max 0.0005 per inch, no service limit stated"},
		{planes, "taper-rate: p.x, unit: mm/mm, new: ..0.0005", "difference between two planes in one direction over their distance; the worst pair counts", "new max 0.0005 per mm, no service limit stated"},
		{dial, "run-out: p.x, service: reject 0.008 or more", "total indicator reading: the greatest less the smallest, never the sum", "service under 0.008"},
		{dial, "bend: p.x, service: max 0.004", "half of the total indicator reading", "service max 0.004"},
		{"x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "wears smaller: the smallest reading counts", "new 0.9899..0.9901, service min 0.9891 or min 0.9889 (base of wear not stated)"},
	}
	for _, tt := range tests {
		t.Run(tt.line, func(t *testing.T) {
			b, v, r := one(t, tt.features, tt.line, "")
			w := judge.Words{Book: b}
			if got, want := w.Sum(&v, r.At)[0], "rule: "+tt.rule; got != want {
				t.Errorf("got %s\nwant %s", got, want)
			}
			if got := w.Limits(v.Line, v.Line.Limit); got != tt.limits {
				t.Errorf("got %s\nwant %s", got, tt.limits)
			}
		})
	}
}

// The short texts beside the ruler.
func TestStanding(t *testing.T) {
	stack := "x: {kind: inside, directions: [0, 90]}, s: {kind: length, wears: smaller}, y: {kind: outside}"
	stackLine := "fit: p.x - 2 p.s - p.y, new: 0.0010L..0.0030L, service: 0.0050L"
	tests := []struct{ name, features, line, readings, standing, missing, members string }{
		{"nothing measured", journal, journalLine, "", "open", "p.x.-.0, p.x.-.90", ""},
		{"so far", journal, journalLine, "x.-.0 2.3740", "so far serviceable, 33 % used", "p.x.-.90", ""},
		{"beyond", journal, journalLine, "x.-.0 2.3740; x.-.90 2.3728", "beyond by 0.0002, 113 % used", "", ""},
		{"at a limit that is out", dial, "run-out: p.x, service: reject 0.008 or more", "x.-.0 0; x.-.90 .008; x.-.180 0; x.-.270 0", "beyond: the limit itself is out", "", ""},
		{"held", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "x 0.9890", "held", "", ""},
		{"most of it open", planes, "out-of-round: p.x, service: 0.0005", "", "open", "p.x.a.0, p.x.a.90, p.x.b.0, p.x.b.90, p.x.c.0, p.x.c.90", ""},
		{"more than are listed", "x: {kind: inside, directions: [0, 30, 60, 90, 120, 150, 180, 210]}", boreLine, "", "open", "p.x.-.0, p.x.-.30, p.x.-.60, p.x.-.90, p.x.-.120, p.x.-.150, and 2 more", ""},
		{"a stack", stack, stackLine, "x.-.0 2.5000; x.-.90 2.5004; s .0625", "open", "p.y", "p.x 2.5000..2.5004, less 2 × p.s 0.0625, less p.y open"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, v, r := one(t, tt.features, tt.line, tt.readings)
			w := judge.Words{Book: b}
			got := []string{w.Standing(&v), w.Missing(&v), ""}
			if v.Line.Judges == book.Fit {
				got[2] = w.Members(&v, r.At)
			}
			if diff := cmp.Diff([]string{tt.standing, tt.missing, tt.members}, got); diff != "" {
				t.Errorf("standing, missing, members (-want +got):\n%s", diff)
			}
		})
	}
}

// Showing in the other unit changes the text alone, and what it shows is the
// same length to the last digit.
func TestOtherUnit(t *testing.T) {
	b := loadBook(t, testdata(t, "bench.yaml"))
	r := loadReadings(t, b, []byte("spot,value\ncrank.main-1.front.0,2.3742\ncrank.main-1.front.90,2.3741\n"))
	all := judge.Book(b, judge.Given{}, r.At)
	tests := []struct {
		line       string
		unit       quantity.Unit
		ends, tier string
	}{
		{"main-size-1", quantity.NoUnit, "2.3741..2.3742", "service min 2.3730"},
		{"main-size-1", quantity.Millimetre, "60.30214..60.30468", "service min 60.27420"},
		{"main-oor-1", quantity.Millimetre, "0.00254", "service max 0.03810"},
		{"main-rate-1", quantity.Millimetre, "not measured", "service max 0.0010 per inch"},
	}
	for _, tt := range tests {
		v, w := verdict(t, all, tt.line), judge.Words{Book: b, Unit: tt.unit}
		if got := w.Ends(v); got != tt.ends {
			t.Errorf("%s in %s: %s, want %s", tt.line, tt.unit, got, tt.ends)
		}
		if got := w.Tier(v.Line, v.Line.Limit, len(v.Line.Limit.Tiers)-1); got != tt.tier {
			t.Errorf("%s in %s: %s, want %s", tt.line, tt.unit, got, tt.tier)
		}
	}
}

// Which engines a line is for is asked in words: that nothing is stated, or what
// can't be held against the book's own.
func TestWhichEngine(t *testing.T) {
	b := loadBook(t, []byte("format: book/1\nengine: Test\nunit: in\nparts: {p: {features: {x: {kind: outside}}}}\n"+
		"lines: {a: {name: A, size: p.x, new: 1..2, serials: [L-1001-A..L-1999-A, L-2500-A]}}\n"))
	for serial, want := range map[string]string{
		"":         "held: the line is for some engines only: state the serial number",
		"1500":     "held: the line is for engines L-1001-A..L-1999-A, L-2500-A, and it can't be told whether 1500 is one of them: the serial number must be written as the book writes its own",
		"L-1500-A": "",
	} {
		got := ""
		for _, v := range judge.Book(b, judge.Given{Serial: serial}, func(book.SpotID) []reading.Reading { return nil }) {
			for _, a := range v.Asks {
				got += judge.Words{Book: b}.Ask(&v, a, func(book.SpotID) []reading.Reading { return nil })
			}
		}
		if got != want {
			t.Errorf("%q: %q, want %q", serial, got, want)
		}
	}
}
