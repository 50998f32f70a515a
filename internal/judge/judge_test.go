package judge_test

import (
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/limit"
)

// one judges one line of a book that has only it: features as a book lists
// them, all of a part p; what the line says; readings as "spot value; …".
func one(t *testing.T, features, line, readings string) (*book.Book, judge.Verdict, *judge.Readings) {
	t.Helper()
	b := loadBook(t, []byte("format: book/1\nengine: Test\nunit: in\n"+
		"parts: {p: {features: {"+features+"}}}\n"+
		"lines: {l: {name: Line, "+line+"}}\n"))
	var csv strings.Builder
	csv.WriteString("spot,value\n")
	for row := range strings.SplitSeq(readings, ";") {
		if spot, value, ok := strings.Cut(strings.TrimSpace(row), " "); ok {
			csv.WriteString("p." + spot + "," + value + "\n")
		}
	}
	r := loadReadings(t, b, []byte(csv.String()))
	return b, judge.Line(b.Lines[0], 0, r.At), r
}

// The features and lines that the tables below judge. Figures are our own.
const (
	journal     = "x: {kind: outside, directions: [0, 90]}"
	journalLine = "size: p.x, new: 2.3745..2.3755, service: 2.3730"
	bore        = "x: {kind: inside, directions: [0, 90]}"
	boreLine    = "size: p.x, new: 2.3770..2.3780, service: 2.3790"
	fit         = "x: {kind: inside}, y: {kind: outside, directions: [0, 90]}"
	fitLine     = "fit: p.x - p.y, new: 0.0015L..0.0035L, service: 0.0050L"
	pressLine   = "fit: p.x - p.y, new: 0.0015T..0.0005T, service: 0.0020T..0.0002L"
	planes      = "x: {kind: outside, planes: {a: 0.25, b: 1.00, c: 1.75}, directions: [0, 90]}"
	dial        = "x: {kind: dial, directions: [0, 90, 180, 270]}"
	mean        = "x: {kind: inside, counts: mean, planes: [a, b], directions: [0, 90]}"
)

// The rules are the trade's: common practice, no source, where no other is
// named.
func TestVerdicts(t *testing.T) {
	tests := []struct{ name, features, line, readings, want string }{
		// The end on the wear side counts.
		{"a shaft by its smallest", journal, journalLine, "x.-.0 2.3750; x.-.90 2.3744", "serviceable 2.3744..2.3750 6%"},
		{"a bore by its largest", bore, boreLine, "x.-.0 2.3775; x.-.90 2.3785", "serviceable 2.3775..2.3785 50%"},
		{"a groove that wears smaller over pins", "x: {kind: inside, wears: smaller, directions: [0, 90]}", journalLine, "x.-.0 2.3750; x.-.90 2.3729", "beyond 2.3729..2.3750 106%"},
		{"out on the low side", "x: {kind: force, unit: lbf, wears: either}", "size: p.x, new: 134.2, service: +/- 13.42", "x 120.77", "beyond 120.77 -"},
		{"out on the high side", "x: {kind: force, unit: lbf, wears: either}", "size: p.x, new: 134.2, service: +/- 13.42", "x 147.63", "beyond 147.63 -"},
		{"at both ends of a tolerance", "x: {kind: force, unit: lbf, wears: either, directions: [a, b]}", "size: p.x, new: 134.2, service: +/- 13.42", "x.-.a 120.78; x.-.b 147.62", "serviceable 120.78..147.62 -"},

		// A value exactly at a limit is within, unless the wording rejects it.
		{"at the new limit", journal, journalLine, "x.-.0 2.3745; x.-.90 2.3755", "new 2.3745..2.3755 0%"},
		{"a tenth under new", journal, journalLine, "x.-.0 2.3744; x.-.90 2.3744", "serviceable 2.3744 6%"},
		{"at the service limit", journal, journalLine, "x.-.0 2.3730; x.-.90 2.3755", "serviceable 2.3730..2.3755 100%"},
		{"0.1 nm under it", journal, journalLine, "x.-.0 60.2741999 mm; x.-.90 2.3755", "beyond ≈2.372999996..2.3755 100%"},
		{"at a limit that is itself out", journal, "size: p.x, new: 2.3745..2.3755, service: reject 2.3730 or less", "x.-.0 2.3730; x.-.90 2.3740", "beyond 2.3730..2.3740 100%"},
		{"0.1 nm above that", journal, "size: p.x, new: 2.3745..2.3755, service: reject 2.3730 or less", "x.-.0 60.2742001 mm; x.-.90 2.3740", "serviceable ≈2.373000004..2.3740 99%"},

		// Allowance used: down, never below 0, 100 exactly at the limit.
		{"93.3 % is 93", journal, journalLine, "x.-.0 2.3731; x.-.90 2.3745", "serviceable 2.3731..2.3745 93%"},
		{"99.9 % is 99", journal, journalLine, "x.-.0 2.373001; x.-.90 2.3745", "serviceable 2.373001..2.3745 99%"},
		{"beyond is over 100", journal, journalLine, "x.-.0 2.3729; x.-.90 2.3745", "beyond 2.3729..2.3745 106%"},
		{"better than new is 0", journal, journalLine, "x.-.0 2.3750; x.-.90 2.3751", "new 2.3750..2.3751 0%"},
		{"none where no new limit is printed", journal, "size: p.x, service: 2.3730", "x.-.0 2.3731; x.-.90 2.3745", "serviceable 2.3731..2.3745 -"},
		{"none where service is no wider", journal, "size: p.x, new: 2.3745..2.3755, service: 2.3745", "x.-.0 2.3745; x.-.90 2.3745", "new 2.3745 -"},
		{"none where the manual is silent", journal, "size: p.x, new: 2.3745..2.3755", "x.-.0 2.3745; x.-.90 2.3745", "new 2.3745 -"},

		// Better than new on the side that does not wear asks; it is no verdict.
		{"a shaft larger than new", journal, journalLine, "x.-.0 2.3740; x.-.90 2.3756", "serviceable 2.3740..2.3756 33% query"},
		{"a bore smaller than new", bore, boreLine, "x.-.0 2.3769; x.-.90 2.3775", "new 2.3769..2.3775 0% query"},
		{"which needs new limits to be better than", journal, "size: p.x, service: 2.3730..2.3755", "x.-.0 2.3740; x.-.90 2.3756", "serviceable 2.3740..2.3756 -"},
		{"nor does it hide what is beyond", journal, journalLine, "x.-.0 2.3700; x.-.90 2.3756", "beyond 2.3700..2.3756 300% query"},

		// What the manual says of service where it is no figure.
		{"silent, under new", journal, "size: p.x, new: 2.3745..2.3755", "x.-.0 2.3744; x.-.90 2.3750", "beyond 2.3744..2.3750 -"},
		{"none, at new", journal, "size: p.x, new: 2.3745..2.3755, service: none", "x.-.0 2.3745; x.-.90 2.3750", "new 2.3745..2.3750 -"},
		{"none, under new", journal, "size: p.x, new: 2.3745..2.3755, service: none", "x.-.0 2.3744; x.-.90 2.3750", "beyond 2.3744..2.3750 -"},
		{"same, over new", bore, "size: p.x, new: 2.3770..2.3780, service: same as new", "x.-.0 2.3781; x.-.90 2.3775", "beyond 2.3775..2.3781 -"},

		// A fit is held at both ends.
		{"loosest and tightest within", fit, fitLine, "x 2.3780; y.-.0 2.3745; y.-.90 2.3755", "new 0.0025L..0.0035L 0%"},
		{"loosest worn", fit, fitLine, "x 2.3780; y.-.0 2.3730; y.-.90 2.3755", "serviceable 0.0025L..0.0050L 100%"},
		{"loosest beyond", fit, fitLine, "x 2.3780; y.-.0 2.3729; y.-.90 2.3755", "beyond 0.0025L..0.0051L 106%"},
		{"tightest beyond, and no allowance there", fit, fitLine, "x 2.3769; y.-.0 2.3730; y.-.90 2.3755", "beyond 0.0014L..0.0039L -"},
		{"loosest beyond, and no allowance there", fit, "fit: p.x - p.y, new: 0.0015L..0.0035L, service: min 0.0010L", "x 2.3780; y.-.0 2.3740; y.-.90 2.3767", "beyond 0.0013L..0.0040L -"},
		{"zero has no letter", fit, pressLine, "x 2.3750; y.-.0 2.3750; y.-.90 2.3755", "serviceable 0.0005T..0.0000 71%"},
		{"tight is not loose", fit, pressLine, "x 2.3750; y.-.0 2.3755; y.-.90 2.3760", "new 0.0010T..0.0005T 0%"},
		{"only the tight side has an allowance", fit, "fit: p.x - p.y, new: 0.0015L..0.0035L, service: min 0.0010L", "x 2.3780; y.-.0 2.3745; y.-.90 2.3755", "new 0.0025L..0.0035L 0%"},
		{"the worse side's allowance", fit, pressLine, "x 2.3750; y.-.0 2.3755; y.-.90 2.3769", "serviceable 0.0019T..0.0005T 80%"},
		{"beyond on the side that used more", fit, pressLine, "x 2.3750; y.-.0 2.3740; y.-.90 2.3771", "beyond 0.0021T..0.0010L 214%"},
		{"a stack with two shells", "x: {kind: inside}, s: {kind: length, wears: smaller, directions: [1, 2]}, y: {kind: outside}", "fit: p.x - 2 p.s - p.y, new: 0.0010L..0.0030L, service: 0.0050L", "x 2.5000; s.-.1 0.0625; s.-.2 0.0620; y 2.3730", "new 0.0020L..0.0030L 0%"},

		// Out-of-round is of one plane, taper of one direction.
		{"out-of-round by plane", planes, "out-of-round: p.x, new: ..0.0002, service: 0.0005", "x.a.0 2.3750; x.a.90 2.3747; x.b.0 2.3740; x.b.90 2.3740; x.c.0 2.3730; x.c.90 2.3729", "serviceable 0.0003 33%"},
		{"taper by direction", planes, "taper: p.x, new: ..0.0002, service: 0.0005", "x.a.0 2.3750; x.b.0 2.3750; x.c.0 2.3746; x.a.90 2.3740; x.b.90 2.3741; x.c.90 2.3740", "serviceable 0.0004 66%"},
		{"taper rate is of the worst pair", planes, "taper-rate: p.x, new: ..0.0004, service: 0.0010", "x.a.0 2.3750; x.b.0 2.3744; x.c.0 2.3747; x.a.90 2.3740; x.b.90 2.3740; x.c.90 2.3740", "serviceable 0.0008 66%"},
		{"taper rate with no end in decimals", planes, "taper-rate: p.x, service: 0.0010", "x.a.0 2.3750; x.b.0 2.3743; x.c.0 2.3746; x.a.90 2.3740; x.b.90 2.3740; x.c.90 2.3740", "serviceable ≈0.000933333 -"},
		{"a repeat is not form", planes, "out-of-round: p.x, service: 0.0005", "x.a.0 2.3750; x.a.0 2.3700; x.b.90 2.3740", "~none unmeasured - settle open:4"},
		{"but the worse repeat counts", planes, "out-of-round: p.x, service: 0.0005", "x.a.0 2.3750; x.a.0 2.3700; x.a.90 2.3748", "beyond 0.0048 - settle open:4"},

		// TIR is the greatest less the smallest (TM 10-3930-664-24, p. 3-41);
		// bend is half of it (TM 10-3930-653-14&P, p. 79).
		{"run-out", dial, "run-out: p.x, service: max 0.008", "x.-.0 0.000; x.-.90 +0.003; x.-.180 -0.005; x.-.270 -0.002", "serviceable 0.008 -"},
		{"run-out that the wording rejects", dial, "run-out: p.x, service: reject 0.008 or more", "x.-.0 0.000; x.-.90 +0.003; x.-.180 -0.005; x.-.270 -0.002", "beyond 0.008 -"},
		{"bend", dial, "bend: p.x, service: max 0.0025", "x.-.0 0.000; x.-.90 +0.003; x.-.180 -0.002; x.-.270 0.001", "serviceable 0.0025 -"},
		{"bend at half a tenth", dial, "bend: p.x, service: max 0.0025", "x.-.0 0.000; x.-.90 +0.0031; x.-.180 -0.0020; x.-.270 0.001", "beyond 0.00255 -"},

		// The mean of all counts where the book says so.
		{"mean", mean, boreLine, "x.a.0 2.3800; x.a.90 2.3775; x.b.0 2.3780; x.b.90 2.3770", "serviceable 2.378125 12%"},
		{"mean exactly at the limit", mean, boreLine, "x.a.0 2.3800; x.a.90 2.3800; x.b.0 2.3780; x.b.90 2.3780", "serviceable 2.3790 100%"},
		{"of repeats the worse", mean, boreLine, "x.a.0 2.3800; x.a.0 2.3840; x.a.90 2.3800; x.b.0 2.3780; x.b.90 2.3780", "beyond 2.3790..2.3800 200% settle"},
		{"a third has no end", "x: {kind: inside, counts: mean, directions: [0, 60, 120]}", boreLine, "x.-.0 2.3780; x.-.60 2.3780; x.-.120 2.3781", "serviceable ≈2.378033333 3%"},
		{"a mean beyond figures that add up", "x: {kind: force, unit: lbf, wears: either, counts: mean, directions: [a, b]}", "size: p.x, new: 10..20", "x.-.a 12.3456789 lbf; x.-.b 61.2345678 N", "none unmeasured - wide"},

		// While spots are open the grade is none or beyond.
		{"nothing measured", journal, journalLine, "", "~none unmeasured - open:2"},
		{"so far new", journal, journalLine, "x.-.0 2.3750", "~new 2.3750 0% open:1"},
		{"so far serviceable", journal, journalLine, "x.-.0 2.3740", "~serviceable 2.3740 33% open:1"},
		{"beyond already", journal, journalLine, "x.-.0 2.3720", "beyond 2.3720 166% open:1"},
		{"half a fit", fit, fitLine, "x 2.3780", "~none unmeasured - open:2"},
		{"a fit so far", fit, fitLine, "x 2.3780; y.-.0 2.3740", "~serviceable 0.0040L 33% open:1"},
		{"a fit beyond already", fit, fitLine, "x 2.3780; y.-.0 2.3720", "beyond 0.0060L 166% open:1"},
		{"a mean may still go either way", mean, boreLine, "x.a.0 2.3800; x.a.90 2.3800; x.b.0 2.3800", "~beyond 2.3800 200% open:1"},
		{"a form of what has a mean may not", mean, "out-of-round: p.x, service: 0.0010", "x.a.0 2.3800; x.a.90 2.3770", "beyond 0.0030 - open:2"},

		// Two live readings at one spot: the worse governs, a person settles.
		{"of two on a shaft the smaller", journal, journalLine, "x.-.0 2.3750; x.-.0 2.3720; x.-.90 2.3750", "beyond 2.3720..2.3750 166% settle"},
		{"in the other order", journal, journalLine, "x.-.0 2.3720; x.-.0 2.3750; x.-.90 2.3750", "beyond 2.3720..2.3750 166% settle"},
		{"of two in a bore the larger", bore, boreLine, "x.-.0 2.3775; x.-.90 2.3795; x.-.90 2.3775", "beyond 2.3775..2.3795 150% settle"},
		{"both spots doubled", bore, boreLine, "x.-.0 2.3775; x.-.90 2.3775; x.-.90 2.3775; x.-.0 2.3775", "new 2.3775 0% settle settle"},

		// An amount of wear whose base is not stated: both readings of it stand,
		// so there is no one allowance to have used.
		{"wear: within both", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "x 0.9891", "serviceable 0.9891 -"},
		{"wear: between", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "x 0.9890", "none 0.9890 - hold"},
		{"wear: at the end of the doubt", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "x 0.9889", "none 0.9889 - hold"},
		{"wear: beyond both", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "x 0.9888", "beyond 0.9888 -"},
		{"wear: stated from min", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001 from min", "x 0.9889", "serviceable 0.9889 100%"},
		{"wear: stated from max", "x: {kind: outside}", "size: p.x, new: 0.9899..0.9901, service: wear 0.001 from max", "x 0.9890", "beyond 0.9890 112%"},
		{"wear of a bore: within both", "x: {kind: inside}", "size: p.x, new: 0.9903..0.9906, service: wear 0.001", "x 0.9913", "serviceable 0.9913 -"},
		{"wear of a bore: between", "x: {kind: inside}", "size: p.x, new: 0.9903..0.9906, service: wear 0.001", "x 0.9914", "none 0.9914 - hold"},
		{"wear of a bore: beyond both", "x: {kind: inside}", "size: p.x, new: 0.9903..0.9906, service: wear 0.001", "x 0.99161", "beyond 0.99161 -"},
		{"wear: in doubt while open", journal, "size: p.x, new: 0.9899..0.9901, service: wear 0.001", "x.-.0 0.9890", "~none 0.9890 - hold open:1"},
		{"wear less than the new range is wide: best", "x: {kind: outside}", "size: p.x, new: 2.988..3.003, service: wear 0.005", "x 3.003", "new 3.003 -"},
		{"wear less than the new range is wide: worst new", "x: {kind: outside}", "size: p.x, new: 2.988..3.003, service: wear 0.005", "x 2.988", "new 2.988 -"},
		{"wear less than the new range is wide: between", "x: {kind: outside}", "size: p.x, new: 2.988..3.003, service: wear 0.005", "x 2.987", "none 2.987 - hold"},
		{"wear less than the new range is wide: beyond both", "x: {kind: outside}", "size: p.x, new: 2.988..3.003, service: wear 0.005", "x 2.982", "beyond 2.982 -"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, v, _ := one(t, tt.features, tt.line, tt.readings)
			if got := show(&v); got != tt.want {
				t.Errorf("%s: %s\n got %s\nwant %s", tt.line, tt.readings, got, tt.want)
			}
		})
	}
}

// By how much, and at which end: the one that is further out.
func TestBy(t *testing.T) {
	tests := []struct {
		name, features, line, readings string
		worse                          limit.Side
		by                             string // empty: not beyond
	}{
		{"within", journal, journalLine, "x.-.0 2.3730", limit.Low, ""},
		{"a shaft", journal, journalLine, "x.-.0 2.3728; x.-.90 2.3740", limit.Low, "0.0002"},
		{"a bore", bore, boreLine, "x.-.0 2.3793; x.-.90 2.3740", limit.High, "0.0003"},
		{"at a limit that is out", dial, "run-out: p.x, service: reject 0.008 or more", "x.-.0 0; x.-.90 0.008", limit.High, "0.000"},
		{"a fit too loose", fit, fitLine, "x 2.3780; y.-.0 2.3720", limit.High, "0.0010"},
		{"a fit too tight", fit, fitLine, "x 2.3780; y.-.0 2.3770", limit.Low, "0.0005"},
		{"a fit out at both ends, looser", fit, fitLine, "x 2.3780; y.-.0 2.3700; y.-.90 2.3766", limit.High, "0.0030"},
		{"a fit out at both ends, tighter", fit, fitLine, "x 2.3780; y.-.0 2.3729; y.-.90 2.3776", limit.Low, "0.0011"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, v, _ := one(t, tt.features, tt.line, tt.readings)
			got := ""
			if by, ok := v.By(); ok {
				got = judge.Words{Book: b}.Difference(v.Line, by)
			}
			if v.Worse != tt.worse || got != tt.by {
				t.Errorf("%s: worse side %d by %q, want %d by %q", show(&v), v.Worse, got, tt.worse, tt.by)
			}
		})
	}
}

// What if is the same function with other readings, and changes nothing.
func TestWhatIf(t *testing.T) {
	b, v, r := one(t, journal, journalLine, "x.-.0 2.3740; x.-.90 2.3720")
	_, _, better := one(t, journal, journalLine, "x.-.90 2.3750")
	spot, _ := b.Spot("p.x.-.90")
	there := func(id book.SpotID) []reading.Reading {
		if id == spot {
			return better.At(id)
		}
		return r.At(id)
	}
	if v2 := judge.Line(v.Line, v.At, there); v2.Grade != judge.Serviceable {
		t.Errorf("with another reading: %s, want serviceable", v2.Grade)
	}
	if v3 := judge.Line(v.Line, v.At, r.At); v3.Grade != judge.Beyond {
		t.Errorf("afterwards: %s, want beyond", v3.Grade)
	}
}
