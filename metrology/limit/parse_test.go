package limit_test

import (
	"encoding/csv"
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// notation is how a line is read whose part wears smaller (a shaft), larger
// (a bore), which is a fit, or which is held on both sides.
func notation(wears string, unit quantity.Unit) limit.Notation {
	n := limit.Notation{Format: quantity.Format{Unit: unit}}
	switch wears {
	case "smaller":
		n.Held, n.Lone = limit.Low, limit.Low
	case "larger":
		n.Held, n.Lone = limit.High, limit.High
	case "fit":
		n.Fit, n.Held, n.Lone = true, limit.Both, limit.High
	}
	return n
}

func figure(t testing.TB, text string, unit quantity.Unit) quantity.Figure {
	t.Helper()
	f, _, err := quantity.Format{Unit: unit}.Figure(text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// written is a range as the tests write it: "0.001..0.002", "..0.002", an
// open end with a bang, "0.001..0.002!". No range at all is "".
func written(t testing.TB, text string, unit quantity.Unit) limit.Range {
	t.Helper()
	least, most, ok := strings.Cut(text, "..")
	if !ok {
		t.Fatalf("%q is no range", text)
	}
	edge := func(s string) limit.Edge {
		if s == "" {
			return limit.Edge{}
		}
		s, open := strings.CutSuffix(s, "!")
		return limit.Edge{At: figure(t, s, unit), Set: true, Open: open}
	}
	return limit.Range{Min: edge(least), Max: edge(most)}
}

// tiers are what a limit says, by the name of its tiers and "held".
func tiers(l limit.Limit) map[string]limit.Range {
	all := map[string]limit.Range{}
	for _, tier := range l.Tiers {
		all[tier.Name] = tier.Range
	}
	if l.Held != nil {
		all["held"] = *l.Held
	}
	return all
}

var sameFigure = cmp.Comparer(func(a, b quantity.Figure) bool { return a == b })

// reasons are the words that the test data use for why a cell is refused.
var reasons = map[string]error{
	"syntax":    quantity.ErrSyntax,
	"inside":    limit.ErrInside,
	"ambiguous": limit.ErrAmbiguous,
	"lone":      limit.ErrLone,
}

// testdata/cells.csv holds the limits of nine public military manuals: each
// cell as the page prints it, or as a book must write it where the print
// leaves out what its column means (printed_new, printed_service then have the
// print), and what it means. Rows are as printed, misprints included: those
// that can be seen from the cells must be refused.
func TestPrintedTables(t *testing.T) {
	file, err := os.Open("testdata/cells.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	head := rows[0]
	tables, wanting := map[string]int{}, map[string]int{}
	for _, row := range rows[1:] {
		col := func(name string) string { return row[slices.Index(head, name)] }
		name := col("manual") + " " + col("page") + " " + col("ref")
		tables[col("table")]++
		unit, err := quantity.ParseUnit(col("unit"))
		if err != nil {
			t.Fatal(name, err)
		}
		got, err := notation(col("wears"), unit).Parse(col("new"), col("service"))
		if why := col("refused"); why != "" {
			wanting[why]++
			if !errors.Is(err, reasons[why]) {
				t.Errorf("%s: %q, %q is read as %v, %v; want it refused: %v",
					name, col("new"), col("service"), tiers(got), err, reasons[why])
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		wanting[col("kind")]++
		want := map[string]limit.Range{}
		expect := func(tier, least, most string) {
			if least+most != "" {
				want[tier] = written(t, least+".."+most, unit)
			}
		}
		expect("new", col("new_min"), col("new_max"))
		expect("service", col("service_min"), col("service_max"))
		if col("open") != "" {
			r := want["service"]
			r.Min.Open, r.Max.Open = col("wears") == "smaller", col("wears") != "smaller"
			want["service"] = r
		}
		switch col("wears") {
		case "smaller":
			expect("held", col("held"), "")
		default:
			expect("held", "", col("held"))
		}
		if diff := cmp.Diff(want, tiers(got), sameFigure); diff != "" {
			t.Errorf("%s: %q, %q (-want +got):\n%s", name, col("new"), col("service"), diff)
		}
		if got.Kind.String() != col("kind") {
			t.Errorf("%s: %q, %q is %s, want %s", name, col("new"), col("service"), got.Kind, col("kind"))
		}
	}
	if len(tables) != 9 || len(rows) < 240 {
		t.Errorf("%d rows of %d tables", len(rows), len(tables))
	}
	for _, kind := range []string{
		"absolute", "amount of wear", "plus or minus", "same as new", "none allowed", "not stated",
		"syntax", "inside", "ambiguous", "lone",
	} {
		if wanting[kind] == 0 {
			t.Errorf("no row is %q", kind)
		}
	}
}

// One thing in all the notations that manuals use for it. The kinds of
// notation are seen in the tables of testdata/cells.csv; where a row has no
// source of its own it is common practice, no source.
func TestNotations(t *testing.T) {
	const in, lbf, mm = quantity.Inch, quantity.PoundForce, quantity.Millimetre
	type want = map[string]string
	for _, c := range []struct {
		wears        string
		unit         quantity.Unit
		new, service string
		want         want
		kind         limit.Kind
	}{
		// Sizes.
		{"smaller", in, "2.2485..2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2485 .. 2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2485-2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2485 \u2013 2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2485 \u2014 2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2485 to 2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2485 / 2.2495", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "2.2495 - 2.2485", "", want{"new": "2.2485..2.2495"}, limit.Silent}, // high to low
		{"smaller", in, "2.2495..2.2485", "", want{"new": "2.2485..2.2495"}, limit.Silent},
		{"smaller", in, "57.15 - 57.18 mm", "", want{"new": "2.25..57.18 mm"}, limit.Silent},
		{"smaller", in, "2 1/32 - 2 3/32", "", want{"new": "2.03125..2.09375"}, limit.Silent},
		{"smaller", in, "6.498 - 6.500", "6.497", want{"new": "6.498..6.500", "service": "6.497.."}, limit.Absolute},
		{"larger", in, "6.2495 - 6.2510", "6.2550", want{"new": "6.2495..6.2510", "service": "..6.2550"}, limit.Absolute},
		{"larger", in, "6.2495 - 6.2510", "6.2550 max", want{"new": "6.2495..6.2510", "service": "..6.2550"}, limit.Absolute},
		{"smaller", in, "6.498 - 6.500", "min 6.497", want{"new": "6.498..6.500", "service": "6.497.."}, limit.Absolute},
		{"smaller", in, "6.498 - 6.500", "6.497..", want{"new": "6.498..6.500", "service": "6.497.."}, limit.Absolute},

		// One side only.
		{"larger", in, "", "..0.005", want{"service": "..0.005"}, limit.Absolute},
		{"larger", in, "", "max 0.005", want{"service": "..0.005"}, limit.Absolute},
		{"larger", in, "", "Maximum 0.005", want{"service": "..0.005"}, limit.Absolute},
		{"larger", in, "", "at most 0.005", want{"service": "..0.005"}, limit.Absolute},
		{"larger", in, "", "0.005", want{"service": "..0.005"}, limit.Absolute},
		{"larger", in, "..0.002", "..0.003", want{"new": "..0.002", "service": "..0.003"}, limit.Absolute},
		{"smaller", in, "", "at least 0.094", want{"service": "0.094.."}, limit.Absolute},
		{"smaller", in, "", "0.094 minimum", want{"service": "0.094.."}, limit.Absolute},
		{"both", quantity.Second, "", "5 min", nil, 0}, // five minutes: a figure alone
		{"both", quantity.Second, "", "max 5 min", want{"service": "..300"}, limit.Absolute},

		// The equal value is out: spring of TM 9-2815-252-24, p. 3-58, and
		// bearing of TM 5-3810-206-35, p. 3-73.
		{"smaller", in, "1.72 - 1.79", "reject 1.67 or less", want{"new": "1.72..1.79", "service": "1.67!.."}, limit.Absolute},
		{"smaller", in, "1.72 - 1.79", "replace if 1.67 or less", want{"new": "1.72..1.79", "service": "1.67!.."}, limit.Absolute},
		{"smaller", in, "1.72 - 1.79", "over 1.67", want{"new": "1.72..1.79", "service": "1.67!.."}, limit.Absolute},
		{"fit", in, "0.0030 - 0.0059", "reject 0.008 or more", want{"new": "0.0030..0.0059", "service": "0.0030..0.008!"}, limit.Absolute},
		{"fit", in, "0.0030 - 0.0059", "under 0.008", want{"new": "0.0030..0.0059", "service": "0.0030..0.008!"}, limit.Absolute},
		{"fit", in, "0.0030 - 0.0059", "less than 0.008 in", want{"new": "0.0030..0.0059", "service": "0.0030..0.008!"}, limit.Absolute},

		// Fits: loose positive, tight negative.
		{"fit", in, "0.0005T..0.0010L", "", want{"new": "-0.0005..0.0010"}, limit.Silent},
		{"fit", in, "0.0005T-0.0010L", "0.0015L", want{"new": "-0.0005..0.0010", "service": "-0.0005..0.0015"}, limit.Absolute},
		{"fit", in, "0.0010L - 0.0005T", "", want{"new": "-0.0005..0.0010"}, limit.Silent},
		{"fit", in, "0.0024T-0.0100T", "0.0020T", want{"new": "-0.0100..-0.0024", "service": "-0.0100..-0.0020"}, limit.Absolute},
		{"fit", in, "0.0005T-0.0015T", "0.000T", want{"new": "-0.0015..-0.0005", "service": "-0.0015..0"}, limit.Absolute},
		{"fit", in, "0.0039L-0.0063L", "0.0070L", want{"new": "0.0039..0.0063", "service": "0.0039..0.0070"}, limit.Absolute},
		{"fit", in, "0.0005 T - 0.0010 L", "", want{"new": "-0.0005..0.0010"}, limit.Silent},
		{"fit", in, "0.0005 in T - 0.0010 in L", "", want{"new": "-0.0005..0.0010"}, limit.Silent},
		{"fit", in, "0.0015T - 0", "", want{"new": "-0.0015..0"}, limit.Silent}, // nought without a letter
		{"fit", in, "0 - 0.0015T", "", want{"new": "-0.0015..0"}, limit.Silent},
		{"fit", in, "0.0000 - 0.0015L", "", want{"new": "0..0.0015"}, limit.Silent},
		{"fit", in, "0.001 Press / 0.0005 Loose", "", want{"new": "-0.001..0.0005"}, limit.Silent},
		{"fit", in, "0.0015 Press / 0.0000", "", want{"new": "-0.0015..0"}, limit.Silent},
		{"fit", in, "0.001 (pressure) - 0.0005 (loose)", "", want{"new": "-0.001..0.0005"}, limit.Silent},
		{"fit", in, "0.0005 - 0.0015 tight", "", want{"new": "-0.0015..-0.0005"}, limit.Silent},
		{"fit", in, "0.0005 - 0.0015\ntight", "", want{"new": "-0.0015..-0.0005"}, limit.Silent},
		{"fit", in, "0.0015 - 0.0005 Tight", "", want{"new": "-0.0015..-0.0005"}, limit.Silent},
		{"fit", in, "0.0005 - 0.0015 interference", "", want{"new": "-0.0015..-0.0005"}, limit.Silent},
		{"fit", in, "0.0005 - 0.0015 loose", "", want{"new": "0.0005..0.0015"}, limit.Silent},
		{"fit", in, "0.0005 tight - 0.0015 loose", "", want{"new": "-0.0005..0.0015"}, limit.Silent},
		{"fit", in, "-0.0005 - -0.0001", "+0.0002", want{"new": "-0.0005..-0.0001", "service": "-0.0005..0.0002"}, limit.Absolute},
		{"fit", in, "-0.0005--0.0001", "", want{"new": "-0.0005..-0.0001"}, limit.Silent},
		{"fit", in, "\u22120.0005 \u2013 \u22120.0001", "", want{"new": "-0.0005..-0.0001"}, limit.Silent},
		{"fit", in, "-0.0005 - +0.0002", "", want{"new": "-0.0005..0.0002"}, limit.Silent},
		{"fit", in, "-0.0005..+0.0002", "", want{"new": "-0.0005..0.0002"}, limit.Silent},
		// A used fit is held at both ends: the end not printed stays.
		{"fit", in, "0.0010L-0.0035L", "..0.0050L", want{"new": "0.0010..0.0035", "service": "0.0010..0.0050"}, limit.Absolute},
		{"fit", in, "0.0010L-0.0035L", "min 0.0005L", want{"new": "0.0010..0.0035", "service": "0.0005..0.0035"}, limit.Absolute},
		{"fit", in, "0.0010L-0.0035L", "0.0005L-0.0050L", want{"new": "0.0010..0.0035", "service": "0.0005..0.0050"}, limit.Absolute},
		{"fit", in, "", "0.004", want{"service": "..0.004"}, limit.Absolute},

		// Plus or minus: springs of TM 9-2815-220-24, WP 0145.
		{"both", lbf, "43.9", "+/- 4.39", want{"service": "39.51..48.29"}, limit.PlusMinus},
		{"both", lbf, "43.9", "± 4.39", want{"service": "39.51..48.29"}, limit.PlusMinus},
		{"both", lbf, "134.2 +/- 13.42", "", want{"new": "120.78..147.62"}, limit.Silent},
		{"both", lbf, "134.2±13.42 lbf", "", want{"new": "120.78..147.62"}, limit.Silent},
		{"both", in, "1.250 +0.002/-0.000", "", want{"new": "1.250..1.252"}, limit.Silent},
		{"both", in, "1.250 +0.002 / -0.001", "", want{"new": "1.249..1.252"}, limit.Silent},
		{"both", in, "1.250 +.002/\u2212.001", "", want{"new": "1.249..1.252"}, limit.Silent},
		{"both", in, "25.4 +/- 0.5 mm", "", want{"new": "24.9 mm..25.9 mm"}, limit.Silent},
		{"smaller", in, "1.250 +0.002/-0.000", "1.248", want{"new": "1.250..1.252", "service": "1.248.."}, limit.Absolute},

		// Amounts of wear: the pin of TM 5-6115-584-34, p. 1-5, row 17. Where
		// the base is not stated the stricter reading counts, the other is held.
		{"smaller", in, "0.9899 - 0.9901", "wear 0.001", want{"new": "0.9899..0.9901", "service": "0.9891..", "held": "0.9889.."}, limit.Wear},
		{"smaller", in, "0.9899 - 0.9901", "wear 0.001 from min", want{"new": "0.9899..0.9901", "service": "0.9889.."}, limit.Wear},
		{"smaller", in, "0.9899 - 0.9901", "wear 0.001 from max", want{"new": "0.9899..0.9901", "service": "0.9891.."}, limit.Wear},
		{"smaller", in, "0.9899 - 0.9901", "Wear 0.001 in from new min", want{"new": "0.9899..0.9901", "service": "0.9889.."}, limit.Wear},
		{"larger", in, "0.9903 - 0.9906", "wear 0.001", want{"new": "0.9903..0.9906", "service": "..0.9913", "held": "..0.9916"}, limit.Wear},
		{"larger", in, "0.9903 - 0.9906", "wear 0.001 from max", want{"new": "0.9903..0.9906", "service": "..0.9916"}, limit.Wear},
		{"larger", in, "0.9903 - 0.9906", "wear 0.001 from min", want{"new": "0.9903..0.9906", "service": "..0.9913"}, limit.Wear},
		// Less than the new range is wide: the stricter reading lies inside it.
		{"smaller", in, "2.988 - 3.003", "wear 0.005", want{"new": "2.988..3.003", "service": "2.998..", "held": "2.983.."}, limit.Wear},
		{"fit", in, "0.0010L-0.0020L", "wear 0.002", want{"new": "0.0010..0.0020", "service": "0.0010..0.0030", "held": "0.0010..0.0040"}, limit.Wear},
		{"smaller", in, "min 0.120", "wear 0.005 from min", want{"new": "0.120..", "service": "0.115.."}, limit.Wear},
		{"smaller", in, "2.2500 - 2.2505", "min 0.002", want{"new": "2.2500..2.2505", "service": "0.002.."}, limit.Absolute}, // a size, says the word
		{"smaller", mm, "25.0 - 25.2", "wear 0.01 in from min", want{"new": "25.0..25.2", "service": "24.746.."}, limit.Wear},

		// Words.
		{"smaller", in, "4.3301 - 4.3307", "same as new", want{"new": "4.3301..4.3307"}, limit.AsNew},
		{"smaller", in, "4.3301 - 4.3307", "Same  as new", want{"new": "4.3301..4.3307"}, limit.AsNew},
		{"smaller", in, "4.3301 - 4.3307", "none", want{"new": "4.3301..4.3307"}, limit.None},
		{"both", in, "max 1.28", "none", want{"new": "..1.28"}, limit.None},
		{"both", in, "0.003 - 0.0045", " ", want{"new": "0.003..0.0045"}, limit.Silent},
		{"both", quantity.FootPoundForce, "68 - 72 lbf-ft", "", want{"new": "68..72"}, limit.Silent},
		{"both", quantity.FootPoundForce, "68-72 ft-lb", "", want{"new": "68..72"}, limit.Silent},
		{"larger", quantity.InchPerInch, "", "0.0005 per inch", want{"service": "..0.0005"}, limit.Absolute},
		{"both", quantity.Degree, "30 - 30", "", want{"new": "30..30"}, limit.Silent},
	} {
		got, err := notation(c.wears, c.unit).Parse(c.new, c.service)
		if c.want == nil {
			if !errors.Is(err, limit.ErrLone) {
				t.Errorf("%s %q, %q: %v, %v", c.wears, c.new, c.service, tiers(got), err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s %q, %q: %v", c.wears, c.new, c.service, err)
			continue
		}
		ranges := map[string]limit.Range{}
		for name, text := range c.want {
			ranges[name] = written(t, text, c.unit)
		}
		if diff := cmp.Diff(ranges, tiers(got), sameFigure); diff != "" {
			t.Errorf("%s %q, %q (-want +got):\n%s", c.wears, c.new, c.service, diff)
		}
		if got.Kind != c.kind {
			t.Errorf("%s %q, %q is %s, want %s", c.wears, c.new, c.service, got.Kind, c.kind)
		}
	}
}

func TestDecimalComma(t *testing.T) {
	n := notation("fit", quantity.Millimetre)
	n.Format.DecimalComma = true
	for _, text := range []string{"0,025L - 0,010T", "0,025L..0,010T", "0,010T / 0,025L"} {
		l, err := n.Parse(text, "")
		if want := written(t, "-0.010..0.025", quantity.Millimetre); err != nil || l.Tiers[0].Range != want {
			t.Errorf("%q is read as %v, %v", text, tiers(l), err)
		}
	}
	if l, err := n.Parse("0.025L - 0.010T", ""); err == nil {
		t.Errorf("points are read as %v in a book of commas", tiers(l))
	}
}

// The printed cell stays as it is, whatever it is read as.
func TestTiersKeepWhatIsPrinted(t *testing.T) {
	l, err := notation("fit", quantity.Inch).Parse(" 0.0005T..0.0010L ", "0.0015L")
	if err != nil {
		t.Fatal(err)
	}
	if l.Tiers[0].Printed != "0.0005T..0.0010L" || l.Tiers[1].Printed != "0.0015L" {
		t.Errorf("printed %q and %q", l.Tiers[0].Printed, l.Tiers[1].Printed)
	}
	l, err = notation("both", quantity.PoundForce).Parse("43.9", "+/- 4.39")
	if err != nil || len(l.Tiers) != 1 || l.Tiers[0].Printed != "43.9 +/- 4.39" {
		t.Errorf("%v, %v", l.Tiers, err)
	}
}

// What can't be read for certain is never guessed.
func TestCellsAreRefused(t *testing.T) {
	const in = quantity.Inch
	for _, c := range []struct {
		wears        string
		new, service string
		inService    bool // the cell at fault
		why          error
		may          []string
	}{
		{"fit", "", "", false, limit.ErrEmpty, nil},
		{"fit", " ", "\t", false, limit.ErrEmpty, nil},

		// A letter on one end only leaves the other end's side open.
		{"fit", "0.0005-0.0015T", "", false, limit.ErrAmbiguous, []string{"0.0005T and 0.0015T", "0.0005L and 0.0015T"}},
		{"fit", "0.0015T-0.0005", "", false, limit.ErrAmbiguous, nil},
		{"fit", "0.0015 Press / 0.0005", "", false, limit.ErrAmbiguous, nil},
		{"fit", "0.0010L-0.0035L", "0.0005-0.0015T", true, limit.ErrAmbiguous, []string{"0.0005T and 0.0015T", "0.0005L and 0.0015T"}},
		// Both letters lost: TM 5-3820-233-35/2, row 22; tight to loose in a
		// sister manual.
		{"fit", "0.001 / 0.001", "", false, limit.ErrAmbiguous, nil},
		{"fit", "-0.0005T", "", false, limit.ErrAmbiguous, nil},
		// Small l is as likely the digit 1.
		{"fit", "0.000l - 0.0015L", "", false, limit.ErrAmbiguous, nil},
		// The most of an interference is the least of a clearance.
		{"fit", "0.0015T-0.0010L", "max 0.0020T", true, limit.ErrAmbiguous, nil},
		{"fit", "0.0024T-0.0100T", "reject 0.0020T or less", true, limit.ErrAmbiguous, nil},
		{"fit", "0.0010T +0.0005/-0.0000", "", false, limit.ErrAmbiguous, nil},
		{"both", "68...72", "", false, limit.ErrAmbiguous, nil}, // 68 to 72 or to .72
		{"both", "1-2-3", "", false, quantity.ErrUnit, nil},
		// What one end of a range may say is offered as the whole range.
		{"smaller", "2.249O..2.2500", "2.2470", false, quantity.ErrSyntax, []string{"2.2490..2.2500", "2.249..2.2500"}},
		{"larger", "0.003 - 0.004", "reject over 0.008", true, limit.ErrAmbiguous, nil},

		// One figure alone.
		{"fit", "0.0015L", "", false, limit.ErrLone, nil},
		{"smaller", "3.349", "", false, limit.ErrLone, nil},
		{"both", "1.28", "none", false, limit.ErrLone, nil}, // TM 9-2815-220-24, WP 0145, row 5c: a maximum
		{"both", "0.003 - 0.004", "0.005", true, limit.ErrLone, nil},
		{"both", "", "0.005", true, limit.ErrLone, nil},
		{"both", "0.003 - 0.004", "wear 0.001", true, limit.ErrLone, nil},

		// L and T on a size.
		{"smaller", "2.2485L..2.2495", "", false, limit.ErrLetter, nil},
		{"smaller", "2.2485 - 2.2495T", "", false, limit.ErrLetter, nil},
		{"larger", "0.9903 - 0.9906", "0.9913 loose", true, limit.ErrLetter, nil},
		{"larger", "0.0005 - 0.0015 tight", "", false, limit.ErrLetter, nil},

		// The service limit inside the new ones.
		{"larger", "3.995 - 4.005", "4.0010", true, limit.ErrInside, nil},
		{"smaller", "6.498 - 6.500", "6.499", true, limit.ErrInside, nil},
		{"fit", "0.0005 - 0.0025", "0.0003", true, limit.ErrInside, nil},
		{"fit", "0.005L-0.0015T", "0.0010L", true, limit.ErrInside, nil},
		{"fit", "0.0010L-0.0035L", "0.0015L-0.0050L", true, limit.ErrInside, nil},
		{"fit", "0.0030 - 0.0080", "reject 0.008 or more", true, limit.ErrInside, nil}, // leaves out 0.0080
		{"fit", "max 0.005", "0.001..0.006", true, limit.ErrInside, nil},               // new has no least
		{"either", "min 1.25", "1.24..1.26", true, limit.ErrInside, nil},
		{"smaller", "1.67 - 1.79", "reject 1.67 or less", true, limit.ErrInside, nil},
		{"larger", "0.9903 - 0.9906", "wear 0.0001 from min", true, limit.ErrInside, nil},
		{"smaller", "0.9899 - 0.9901", "wear 0.0001 from max", true, limit.ErrInside, nil},

		// Amounts of wear printed among sizes: TM 5-6115-584-34, rows 3, 4 and 6.
		{"smaller", "2.2500 - 2.2505", "0.002", true, limit.ErrAmount, []string{"wear 0.002", "min 0.002"}},
		{"smaller", "1.185 - 1.189", "0.005", true, limit.ErrAmount, []string{"wear 0.005", "min 0.005"}},
		{"larger", "0.9903 - 0.9906", "0.001", true, limit.ErrInside, nil},

		// No figure can meet it.
		{"fit", "min 0.003", "max 0.002", true, limit.ErrBackwards, nil},
		{"fit", "over 0.003", "max 0.003", true, limit.ErrBackwards, nil},

		// Nothing to start from.
		{"smaller", "", "none", true, limit.ErrNoNew, nil},
		{"smaller", "", "same as new", true, limit.ErrNoNew, nil},
		{"larger", "", "wear 0.008", true, limit.ErrNoNew, nil}, // TM 5-4320-218-15, p. 108: bore wear
		{"smaller", "54.985 -0.015", "", false, limit.ErrAmbiguous, nil},
		{"smaller", "54.985-0.015", "", false, limit.ErrAmbiguous, nil},
		{"smaller", "54.970-985", "", false, limit.ErrAmbiguous, nil},
		{"larger", "min 0.9903", "wear 0.001", false, limit.ErrIdle, nil},
		{"larger", "min 0.9903", "wear 0.001 from max", false, limit.ErrIdle, nil},
		{"smaller", "max 1.28", "", false, limit.ErrIdle, nil},
		{"both", "", "+/- 4.39", true, quantity.ErrSyntax, nil},

		{"larger", "0.9903 - 0.9906", "wear -0.001", true, limit.ErrNegative, nil},
		{"both", "1.250 +/- -0.002", "", false, limit.ErrNegative, nil},
		{"both", "43.9", "+/- -4.39", true, limit.ErrNegative, nil},

		// Damaged and half-written cells.
		{"larger", "4.0004.001", "", false, quantity.ErrSyntax, []string{"4.000 and 4.001", "4.0004001"}},
		{"fit", "0.0012 - 0.0037", "0,0057", true, quantity.ErrSyntax, []string{"0.0057"}},
		{"larger", "O.019", "", false, quantity.ErrSyntax, []string{"0.019"}},
		{"larger", "i.000-l.0012", "", false, quantity.ErrSyntax, nil},
		{"larger", "..", "", false, quantity.ErrSyntax, nil},
		{"larger", "-", "", false, quantity.ErrSyntax, nil},
		{"larger", "0.003 - ", "", false, quantity.ErrUnit, nil},
		{"larger", "max", "", false, quantity.ErrSyntax, nil},
		{"larger", "0.003 - 0.004", "(*)", true, quantity.ErrSyntax, nil},
		{"larger", "0.003 - 0.004", "N/A", true, quantity.ErrSyntax, nil},
		{"larger", "0.003 - 0.004", "(see crankshaft end clearance)", true, quantity.ErrSyntax, nil},
		{"larger", "0.003 - 0.004", "1.67 or less", true, quantity.ErrUnit, nil},
		{"larger", "5 lbf", "", false, quantity.ErrWrongKind, nil},
		{"larger", "0.0005..0.0006 lbf", "", false, quantity.ErrWrongKind, nil},
		{"larger", "0.0005 lbf..0.0006", "", false, quantity.ErrWrongKind, nil},
		{"fit", "L", "", false, quantity.ErrSyntax, nil},
		{"fit", "0.001X - 0.002X", "", false, quantity.ErrUnit, nil},
		{"larger", "\xff..\xfe", "", false, quantity.ErrSyntax, nil},
	} {
		l, err := notation(c.wears, in).Parse(c.new, c.service)
		var cell *limit.CellError
		if !errors.As(err, &cell) || !errors.Is(err, c.why) {
			t.Errorf("%s %q, %q is read as %v, %v; want it refused: %v", c.wears, c.new, c.service, tiers(l), err, c.why)
			continue
		}
		if len(l.Tiers) > 0 {
			t.Errorf("%s %q, %q is refused, yet read as %v", c.wears, c.new, c.service, tiers(l))
		}
		at := strings.TrimSpace(c.new)
		if c.inService {
			at = strings.TrimSpace(c.service)
		}
		if cell.Service != c.inService || cell.Text != at {
			t.Errorf("%s %q, %q: the fault is put in %q (service: %v)", c.wears, c.new, c.service, cell.Text, cell.Service)
		}
		if c.may != nil && cmp.Diff(c.may, cell.May) != "" {
			t.Errorf("%s %q, %q: offers %q, want %q", c.wears, c.new, c.service, cell.May, c.may)
		}
	}
}

// A service limit on the side that wear does not touch limits nothing.
func TestServiceLimitOnTheIdleSideIsRefused(t *testing.T) {
	for _, c := range []struct{ wears, new, service string }{
		{"larger", "3.9363 - 3.9372", "min 3.9300"},
		{"larger", "3.9363 - 3.9372", "3.9300.."},
		{"smaller", "6.498 - 6.500", "max 6.510"},
		{"smaller", "6.498 - 6.500", "reject 6.510 or more"},
	} {
		if l, err := notation(c.wears, quantity.Inch).Parse(c.new, c.service); err == nil {
			t.Errorf("%s %q, %q is read as %v: whatever the wear, it is met", c.wears, c.new, c.service, tiers(l))
		}
	}
}

// Ten degrees more is not ten degrees on the scale.
func TestPlusMinusOfTemperature(t *testing.T) {
	l, err := notation("both", quantity.Fahrenheit).Parse("185 +/- 5", "")
	if err != nil {
		t.Fatal(err)
	}
	if want := written(t, "180..190", quantity.Fahrenheit); l.Tiers[0].Range != want {
		t.Errorf("185 +/- 5 °F is %v, want %v", l.Tiers[0].Range, want)
	}
}

// An amount that takes the edge out of range must not leave the side unheld.
func TestWearOutOfRangeIsRefused(t *testing.T) {
	n := notation("larger", quantity.Kilopascal)
	if l, err := n.Parse("90000000 - 92000000", "wear 1000000 from max"); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("read as %v, %v", tiers(l), err)
	}
}

func TestCellsOfTwoKindsAreRefused(t *testing.T) {
	n := notation("larger", quantity.NoUnit)
	for _, service := range []string{"3 lbf", "wear 0.001 lbf from max"} {
		if l, err := n.Parse("1 - 2 in", service); err == nil {
			t.Errorf("%q after a length is read as %v", service, tiers(l))
		}
	}
}

// Every dash may be the one between two ends, so a long cell of them is work.
func TestLongCellsAreRefusedUnread(t *testing.T) {
	long := strings.Repeat("1-", 5000)
	for _, cells := range [][2]string{{long, ""}, {"0.003 - 0.004", long}} {
		_, err := notation("larger", quantity.Inch).Parse(cells[0], cells[1])
		var cell *limit.CellError
		if !errors.As(err, &cell) || cell.Service != (cells[0] != long) || len(err.Error()) > 1000 {
			t.Errorf("%.100v", err)
		}
	}
}

func TestErrorNamesTheCell(t *testing.T) {
	_, err := notation("fit", quantity.Inch).Parse("0.0005-0.0015T", "")
	want := `"0.0005-0.0015T": can be read in more than one way; did it mean 0.0005T and 0.0015T or 0.0005L and 0.0015T?`
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// FuzzParse holds that nothing panics, that a refusal names the cell, and that
// what is taken is a limit some figure can meet.
func FuzzParse(f *testing.F) {
	for _, cells := range [][2]string{
		{"2.2485..2.2495", "2.2480"},
		{"0.0005T..0.0010L", "0.0015L"},
		{"0.0005 - 0.0015 tight", "none"},
		{"0.001 Press / 0.0005 Loose", "same as new"},
		{"-0.0005 - -0.0001", "+0.0002"},
		{"134.2 +/- 13.42", "+/- 4.39"},
		{"1.250 +0.002/-0.000", "wear 0.001 from min"},
		{"0.9899 - 0.9901", "wear 0.001"},
		{"1.72 in - 1.79 in", "reject 1.67 in or less"},
		{"max 5 min", "under 0.008 lbf"},
		{"0.0005-0.0015T", "0,0057"},
		{"4.0004.001", "i.000-l.0012"},
		{"68...72 lbf-ft", "2 1/32 to 2 3/32 in"},
		{"over 0.003", "max 0.003"},
		{"185 ± 5 °F", "\xff.."},
		{"", "0.0009l"},
	} {
		for _, unit := range []quantity.Unit{quantity.NoUnit, quantity.Inch, quantity.PoundForce} {
			for _, how := range []uint8{0, 1, 2, 3 + 1, 6 + 2, 9, 9 + 5, 9 + 8} {
				f.Add(cells[0], cells[1], uint8(unit), how)
			}
		}
	}
	f.Fuzz(func(t *testing.T, newCell, serviceCell string, unit, how uint8) {
		n := limit.Notation{
			Format: quantity.Format{Unit: quantity.Unit(int(unit) % (len(quantity.Units()) + 1)), DecimalComma: how&64 != 0},
			Held:   limit.Side(how % 3),
			Lone:   limit.Side(how / 3 % 3),
			Fit:    how&128 != 0 || how/9%2 == 1,
		}
		l, err := n.Parse(newCell, serviceCell)
		if err != nil {
			var cell *limit.CellError
			if !errors.As(err, &cell) || cell.Err == nil {
				t.Fatalf("%q, %q: %v is no CellError", newCell, serviceCell, err)
			}
			return
		}
		if len(l.Tiers) == 0 {
			t.Fatalf("%q, %q is a limit without tiers", newCell, serviceCell)
		}
		for name, r := range tiers(l) {
			if r.Empty() {
				t.Errorf("%q, %q: no figure meets %s, %v", newCell, serviceCell, name, r)
			}
			if !r.Min.Set && !r.Max.Set {
				t.Errorf("%q, %q: %s limits nothing", newCell, serviceCell, name)
			}
		}
	})
}
