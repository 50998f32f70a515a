package reading

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/table"
)

func TestDeviations(t *testing.T) {
	b := testBook(t)
	const main, bush = "crank.main-1.front.0 ", "rod-1.bush-1.front "
	for _, c := range []loadCase{
		{"in columns", "spot,value,unit,setting\ncrank.main-1.front.0,+3,tenths,2.2500\n", false, []string{main + "+3 tenths on 2.2500 in = 2.250300"}},
		{"its own unit", "spot,value,setting\ncrank.main-1.front.0,-0.5 thou,2.2500\n", false, []string{main + "-0.5 thou on 2.2500 in = 2.249500"}},
		{"the setting's own unit", "spot,value,unit,setting\nrod-1.bush-1.front,+12,µm,25.400 mm\n", false, []string{bush + "+12 µm on 25.400 mm = 25.412000"}},
		{"written out, in the setting's unit", "spot,value,setting\nrod-1.bush-1.front,-0.0003,1.0000\nrod-1.bush-1.front,-0.010,25.40 mm\n", false, []string{bush + "-0.0003 in on 1.0000 in = 0.999700", bush + "-0.010 mm on 25.40 mm = 25.390000"}},
		{"no sign is plus, as an electronic gauge shows it", "spot,value,setting\ncrank.width,0.0003,1.0000\n", false, []string{"crank.width 0.0003 in on 1.0000 in = 1.000300"}},
		{"in one cell", "spot,value\ncrank.main-1.front.0,+3 tenths on 2.2500\ncrank.main-1.front.0,-0.0003 on 2.2500 in\ncrank.main-1.front.0,0 on 57.15 mm\ncrank.main-1.front.0,−2 µin  ON 2.25\n", false, []string{
			main + "+3 tenths on 2.2500 in = 2.250300", main + "-0.0003 in on 2.2500 in = 2.249700", main + "0 mm on 57.15 mm = 57.150000", main + "−2 µin on 2.25 in = 2.249998",
		}},
		{"in one cell, the unit in its column", "spot,value,unit\ncrank.main-1.front.0,+3 on 2.2500,tenths\n", false, []string{main + "+3 tenths on 2.2500 in = 2.250300"}},
		{"either sense", "spot,value,unit,setting,sense\nrod-1.bush-1.front,+3,tenths,1.0000,plus larger\nrod-1.bush-1.front,+3,tenths,1.0000,Plus Smaller\nrod-1.bush-1.front,-3,tenths,1.0000,plus smaller\n", false, []string{
			bush + "+3 tenths on 1.0000 in = 1.000300", bush + "+3 tenths on 1.0000 in, plus smaller = 0.999700", bush + "-3 tenths on 1.0000 in, plus smaller = 1.000300",
		}},
		{"decimal commas", "spot;value;setting\nrod-1.bush-1.front;+0,0003;1,0000\nrod-1.bush-1.front;+0,5 tenths on 1,0;\n", true, []string{bush + "+0,0003 in on 1,0000 in = 1.000300", bush + "+0,5 tenths on 1,0 in = 1.000050"}},
		{"a setting fraction", "spot,value\nrod-1.bush-1.front,-1/64 in on 1 1/32\n", false, []string{bush + "-1/64 in on 1 1/32 in = 1.015625"}},
		{"as far as a gauge may go", "spot,value\nrod-1.bush-1.front,-0.4999 on 1.0000\n", false, []string{bush + "-0.4999 in on 1.0000 in = 0.500100"}},
		{"an empty setting is a size", "spot,value,setting,sense\nrod-1.bush-1.front,1.0003,,\n", false, []string{bush + "1.0003 in = 1.000300"}},
		{"not measured yet, though the setting is known", "spot,value,setting,sense\nrod-1.bush-1.front,,1.0000,plus smaller\n", false, nil},
	} {
		c.check(t, b)
	}
}

// What goes into a hole tells that it is at least so large, and what goes over
// a shaft that it is at most so large (common practice, no source).
func TestBracketsAndBands(t *testing.T) {
	b := testBook(t)
	const end, bush, main = "crank.end ", "rod-1.bush-1.front ", "crank.main-1.front.0 "
	file := func(spot string, cells ...string) string {
		return "spot;value\n" + spot + ";" + strings.Join(cells, "\n"+spot+";") + "\n"
	}
	for _, c := range []loadCase{
		{"feelers", file("crank.end", "0.004 goes, 0.005 does not", "0.004 goes", "0.005 does not", "0.005 does not go", "0.005 does not, 0.004 goes"), false, []string{
			end + "0.004 in goes, 0.005 in does not = [0.004000 0.005000)", end + "0.004 in goes = [0.004000 ..",
			end + "0.005 in does not = .. 0.005000)", end + "0.005 in does not = .. 0.005000)",
			end + "0.005 in does not, 0.004 in goes = [0.004000 0.005000)",
		}},
		{"plugs", file("rod-1.bush-1.front", "go 1.0000, no-go 1.0010", "GO 1.0000 / NO-GO 1.0010", "1.0000 go", "1.0010 no-go", "no-go 1.0010"), false, []string{
			bush + "1.0000 in goes, 1.0010 in does not = [1.000000 1.001000)", bush + "1.0000 in goes, 1.0010 in does not = [1.000000 1.001000)",
			bush + "1.0000 in goes = [1.000000 ..", bush + "1.0010 in does not = .. 1.001000)", bush + "1.0010 in does not = .. 1.001000)",
		}},
		{"rings and gaps", file("crank.main-1.front.0", "go 2.2500, no-go 2.2490", "2.2500 goes", "2.2490 does not"), false, []string{
			main + "2.2500 in goes, 2.2490 in does not = (2.249000 2.250000]", main + "2.2500 in goes = .. 2.250000]", main + "2.2490 in does not = (2.249000 ..",
		}},
		{"a unit for both", file("crank.end", "0.10 goes, 0.15 mm does not", "0.10 mm goes, 0.15 does not", "0.10 mm goes, 0.005 in does not", "4 thou goes"), false, []string{
			end + "0.10 mm goes, 0.15 mm does not = [0.100000 0.150000)", end + "0.10 mm goes, 0.15 mm does not = [0.100000 0.150000)",
			end + "0.10 mm goes, 0.005 in does not = [0.100000 0.127000)", end + "4 thou goes = [4.000000 ..",
		}},
		{"the unit's column", "spot,value,unit\ncrank.end,\"0.10 goes, 0.15 does not\",mm\ncrank.end,0.04 - 0.05,mm\n", false, []string{
			end + "0.10 mm goes, 0.15 mm does not = [0.100000 0.150000)", end + "0.04..0.05 mm = [0.040000 0.050000]",
		}},
		{"decimal commas", file("crank.end", "0,004 goes, 0,005 does not", "0,004 goes,0,005 does not", "go ,004,no-go ,005", "0,0015..0,0020"), true, []string{
			end + "0,004 in goes, 0,005 in does not = [0.004000 0.005000)", end + "0,004 in goes, 0,005 in does not = [0.004000 0.005000)",
			end + ",004 in goes, ,005 in does not = [0.004000 0.005000)", end + "0,0015..0,0020 in = [0.001500 0.002000]",
		}},
		{"strips", file("crank.end", "0.0015..0.0020", "0.0015 - 0.0020", "0.0015 – 0.0020 in", "0.0015 − 0.0020", "0.038 mm .. 0.0020 in", ".0015...0020", "0..0.001"), false, []string{
			end + "0.0015..0.0020 in = [0.001500 0.002000]", end + "0.0015..0.0020 in = [0.001500 0.002000]", end + "0.0015..0.0020 in = [0.001500 0.002000]",
			end + "0.0015..0.0020 in = [0.001500 0.002000]", end + "0.038 mm..0.0020 in = [≈0.001496 0.002000]", end + ".0015...0020 in = [0.001500 0.002000]", end + "0..0.001 in = [0.000000 0.001000]",
		}},
		{"a strip in a bore", file("rod-1.bush-1.front", "1.0005..1.0010"), false, []string{bush + "1.0005..1.0010 in = [1.000500 1.001000]"}},
		{"yes and no", file("crank.crack", "yes", "No", "y", "N"), false, []string{"crank.crack yes", "crank.crack no", "crank.crack yes", "crank.crack no"}},
	} {
		c.check(t, b)
	}
}

// Every kind of value on every class of feature is read, or refused with the
// kinds that it takes.
func TestKindsByClass(t *testing.T) {
	b := testBook(t)
	values := []string{"1.0", "+3 tenths on 1.0", "1.0 goes", "1.0..2.0", "yes"}
	for _, c := range []struct{ spot, takes, words string }{
		{"crank.main-1.front.0", "figure deviation bracket", "write a figure; or a deviation, as +3 tenths on 2.2500; or what goes and what does not, as 0.004 goes, 0.005 does not ["},
		{"rod-1.bush-1.front", "figure deviation bracket band", "or a band, as 0.0015..0.0020 ["},
		{"crank.width", "figure deviation", "write a figure; or a deviation, as +3 tenths on 2.2500 ["},
		{"crank.end", "figure bracket band", "write a figure; or what goes"},
		{"crank.dial.-.0", "figure", "write a figure ["},
		{"crank.contact", "figure", "write a figure ["},
		{"crank.crack", "yes", "is neither yes nor no; write one of the two [value]"},
	} {
		var took []string
		for i, v := range values {
			f := Load("r.csv", []byte("spot;value\n"+c.spot+";"+v+"\n"), b, false)
			if len(f.Faults) == 0 {
				took = append(took, []string{"figure", "deviation", "bracket", "band", "yes"}[i])
			} else if !strings.Contains(f.Faults.Error(), c.words) {
				t.Errorf("%s %q: %v", c.spot, v, f.Faults)
			}
		}
		if diff := cmp.Diff(c.takes, strings.Join(took, " ")); diff != "" {
			t.Errorf("%s takes: %s", c.spot, diff)
		}
	}
}

func TestStages(t *testing.T) {
	for _, c := range []struct {
		text string
		want int
	}{
		{"", 0},
		{"found", 0},
		{"Found", 0},
		{"rework 1", 1},
		{"rework-2", 2},
		{"Rework  12", 12},
		{"rework 999", 999},
		{"assembled", Assembled},
		{"rework", -1},
		{"rework 0", -1},
		{"rework 01", -1},
		{"rework -1", -1},
		{"rework 1000", -1},
		{"rework1", -1},
		{"1", -1},
		{"after", -1},
	} {
		got, ok := parseStage(c.text)
		if ok != (c.want >= 0) || ok && got != c.want {
			t.Errorf("%q is stage %d, %v; want %d", c.text, got, ok, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, Assembled).Draw(t, "stage")
		if again, ok := parseStage(StageName(n)); !ok || again != n {
			t.Errorf("%d is %q, which reads as %d, %v", n, StageName(n), again, ok)
		}
	})
}

// A deviation's value is the setting plus or minus it, exactly, in whatever
// units the two are.
func TestDeviationIsExact(t *testing.T) {
	b := testBook(t)
	// Counts of 0.1 nm to the unit; the inch is 25.4 mm exactly (NIST SP 811).
	tenthNm := map[string]int64{"in": 254_000_000, "thou": 254_000, "tenths": 25_400, "mm": 10_000_000, "µm": 10_000}
	draw := func(t *rapid.T, what string, unit string, least, most int64, decimals int) (string, *big.Rat) {
		n := rapid.Int64Range(least, most).Draw(t, what)
		scale := int64(1)
		for range decimals {
			scale *= 10
		}
		r := big.NewRat(n, scale)
		return r.FloatString(decimals), r.Mul(r, new(big.Rat).SetInt64(tenthNm[unit]))
	}
	rapid.Check(t, func(t *rapid.T) {
		settingUnit := rapid.SampledFrom([]string{"in", "mm"}).Draw(t, "setting's unit")
		unit := rapid.SampledFrom([]string{"in", "thou", "tenths", "mm", "µm"}).Draw(t, "unit")
		setting, want := draw(t, "setting", settingUnit, 20_000, 400_000, 4)
		most, decimals := int64(99), 1
		if unit == "in" || unit == "mm" {
			decimals = 4
		}
		off, offCount := draw(t, "deviation", unit, -most, most, decimals)
		if offCount.Sign() > 0 && rapid.Bool().Draw(t, "plus is written") {
			off = "+" + off
		}
		value, unitCell, settingCell := off, unit, setting+" "+settingUnit
		switch rapid.IntRange(0, 2).Draw(t, "form") {
		case 1:
			value, unitCell = off+" "+unit, ""
		case 2:
			value, unitCell, settingCell = off+" "+unit+" on "+settingCell, "", ""
		}
		sense := rapid.SampledFrom([]string{"", "plus larger", "plus smaller"}).Draw(t, "sense")
		if sense == "plus smaller" {
			want.Sub(want, offCount)
		} else {
			want.Add(want, offCount)
		}
		f := Load("r.csv", fmt.Appendf(nil, "spot,value,unit,setting,sense\ncrank.main-1.front.0,%s,%s,%s,%s\n", value, unitCell, settingCell, sense), b, false)
		if len(f.Faults) > 0 {
			t.Fatal(f.Faults)
		}
		r := &f.Readings[0]
		if r.Kind != Deviation || r.Value.Rat().Cmp(want) != 0 || r.Shown.Digits != off || r.Setting.Digits != setting {
			t.Errorf("%s: %s is %s, want %s", r.Text(), sense, r.Value.Rat(), want)
		}
	})
}

// FuzzValue holds, for every class of feature, that a value that is taken is
// one that the class takes and reads again from its own text.
func FuzzValue(f *testing.F) {
	b := testBook(f)
	for spot := range b.Spots {
		for _, value := range []string{
			"2.2490", "-0.0005", "27", "+3", "+3 tenths on 2.2500", "-0.0003 on 57.15 mm", "0 on 1 1/32", "yes", "N",
			"0.004 goes, 0.005 does not", "go .3750 / no-go .3760 in", "no-go 0.10 mm,0.15 go", ".0015...0020", "0.04 – 0.0020 in",
		} {
			f.Add(uint8(spot), value, "", "", "", false)
		}
	}
	f.Add(uint8(0), "+3", "tenths", "2.2500", "plus smaller", false)
	f.Add(uint8(0), "+0,012", "mm", "57,150 mm", "plus larger", true)
	f.Add(uint8(0), "0,004 goes,0,005 does not", "", "", "", true)
	f.Fuzz(func(t *testing.T, spot uint8, value, unit, setting, sense string, comma bool) {
		id := book.SpotID(int(spot) % len(b.Spots))
		r, faults := observe(b, id, comma, value, unit, setting, sense)
		if len(faults) == 0 {
			checkReading(t, b, &r, comma)
		}
	})
}

// observe reads one row's value.
func observe(b *book.Book, id book.SpotID, comma bool, value, unit, setting, sense string) (r Reading, faults []string) {
	l := &loader{book: b, comma: comma}
	for i := range l.at {
		l.at[i] = -1
	}
	l.at[colValue], l.at[colUnit], l.at[colSetting], l.at[colSense] = 0, 1, 2, 3
	r.Spot = id
	row := table.Row{Cells: []string{value, unit, setting, sense}}
	l.value(&r, row, b.FeatureAt(id), func(col int, code, text, what, do string) {
		faults = append(faults, fmt.Sprintf("%s: %q %s; %s [%s]", Columns[col], text, what, do, code))
	})
	return r, faults
}

// checkReading holds what is true of every reading that was taken: it is of a
// kind that its feature takes, and its text reads as the same again.
func checkReading(t *testing.T, b *book.Book, r *Reading, comma bool) {
	t.Helper()
	feature := b.FeatureAt(r.Spot)
	if !takes(feature.Class, r.Kind) {
		t.Errorf("%s is %s: %+v", feature.Ref(), r.Kind, r)
	}
	if r.Kind != YesNo && (r.Shown.Unit.Kind() != feature.Unit.Kind() || r.Exact() && r.Value.Kind() != feature.Unit.Kind()) {
		t.Errorf("a reading without its unit or of the wrong kind: %+v", r)
	}
	if (r.Kind == Bracket || r.Kind == Band) != (r.Low.Set || r.High.Set) || r.Low.Set && r.High.Set && r.Low.At.Cmp(r.High.At) >= 0 {
		t.Errorf("%s: the truth lies nowhere: %+v", r.Text(), r)
	}
	text, sense := r.Text(), ""
	if r.Reversed {
		text, sense = strings.TrimSuffix(text, ", plus smaller"), plusSmaller
	}
	if len(text) > 64 {
		return // longer than a figure may be, with its unit's full name
	}
	row, faults := observe(b, r.Spot, comma, text, "", "", sense)
	row.Row, row.Item, row.Stage, row.Step, row.Gauge, row.By = r.Row, r.Item, r.Stage, r.Step, r.Gauge, r.By
	row.Temperature, row.When, row.Note = r.Temperature, r.When, r.Note
	if len(faults) > 0 || row != *r {
		t.Errorf("%q reads again as %+v, was %+v: %v", r.Text(), row, *r, faults)
	}
}
