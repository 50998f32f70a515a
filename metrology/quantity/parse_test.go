package quantity

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Counts of tenths of a nanometre, from 25.4 mm to the inch.
const (
	inch       = 254_000_000
	thousandth = inch / 1000
	microinch  = inch / 1_000_000
	millimetre = 10_000_000
	micrometre = millimetre / 1000
)

func TestLengthIsParsedExactly(t *testing.T) {
	inches, comma := Format{Unit: Inch}, Format{Unit: Millimetre, DecimalComma: true}
	for _, c := range []struct {
		format Format
		text   string
		count  int64
		digits string
		unit   Unit
	}{
		// The unit stands in the text.
		{Format{}, "2.2490 in", 22490 * inch / 10000, "2.2490", Inch},
		{Format{}, `2.2490"`, 22490 * inch / 10000, "2.2490", Inch},
		{Format{}, "2.2490″", 22490 * inch / 10000, "2.2490", Inch},
		{Format{}, "2.2490in.", 22490 * inch / 10000, "2.2490", Inch},
		{Format{}, "2.2490 INCHES", 22490 * inch / 10000, "2.2490", Inch},
		{Format{}, "1.5 thou", 3 * thousandth / 2, "1.5", Thousandth},
		{Format{}, "2 mils", 2 * thousandth, "2", Thousandth},
		{Format{}, "12 µin", 12 * microinch, "12", Microinch},      // U+00B5, micro sign
		{Format{}, "12 \u03bcin", 12 * microinch, "12", Microinch}, // U+03BC, Greek letter
		{Format{}, "12 uin", 12 * microinch, "12", Microinch},
		{Format{}, "57.15 mm", 5715 * millimetre / 100, "57.15", Millimetre},
		{Format{}, "5.715 cm", 5715 * millimetre / 100, "5.715", Centimetre},
		{Format{}, "12.5 µm", 125 * micrometre / 10, "12.5", Micrometre},
		{Format{}, "12.5 \u03bcm", 125 * micrometre / 10, "12.5", Micrometre},
		{Format{}, "12.5um", 125 * micrometre / 10, "12.5", Micrometre},
		{Format{}, "0.0001 um", 1, "0.0001", Micrometre}, // the finest there is

		// The caller gives the unit; one in the text goes before it.
		{inches, "2.249", 2249 * inch / 1000, "2.249", Inch},
		{inches, "2.2490", 2249 * inch / 1000, "2.2490", Inch},
		{inches, "  2.2490 ", 2249 * inch / 1000, "2.2490", Inch},
		{inches, "25.4 mm", inch, "25.4", Millimetre},
		{inches, ".0015", 15 * inch / 10000, ".0015", Inch},
		{inches, "-.0015", -15 * inch / 10000, "-.0015", Inch},
		{inches, "\u2212.0015", -15 * inch / 10000, "\u2212.0015", Inch}, // the minus sign
		{inches, "+0.0015", 15 * inch / 10000, "+0.0015", Inch},
		{inches, "5.", 5 * inch, "5.", Inch},
		{inches, "-0.000", 0, "-0.000", Inch},
		{inches, "007", 7 * inch, "007", Inch},

		// Fractions as manuals print them: a spring's test length,
		// TM 5-3810-206-35, p. 3-73.
		{inches, "2 1/32", 65 * inch / 32, "2 1/32", Inch},
		{Format{}, "2 1/32 in", 65 * inch / 32, "2 1/32", Inch},
		{Format{}, `2 1/32"`, 65 * inch / 32, "2 1/32", Inch},
		{inches, "1/32", inch / 32, "1/32", Inch},
		{inches, "-1/64", -inch / 64, "-1/64", Inch},

		{comma, "57,150", 5715 * millimetre / 100, "57,150", Millimetre},
		{comma, ",05", 5 * millimetre / 100, ",05", Millimetre},

		// The ends of the range.
		{Format{}, "100000 mm", maxLength, "100000", Millimetre},
		{Format{}, "-100000 mm", -maxLength, "-100000", Millimetre},
	} {
		l, shown, err := c.format.Length(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if l.TenthsOfNanometre() != c.count {
			t.Errorf("%q is %d tenths of a nanometre, want %d", c.text, l.TenthsOfNanometre(), c.count)
		}
		if want := (Shown{c.digits, c.unit}); shown != want {
			t.Errorf("%q is shown as %q, want %q", c.text, shown, want)
		}
	}
}

// What can't be read for certain is refused, with the readings a person may
// choose from. The damaged tokens are from the tables of TM 9-2520-246-34
// (4.0004.001, l.000), TM 5-6115-584-34 (0,0057) and common practice, no
// source (O.019, 3A.4965).
func TestLengthIsRefused(t *testing.T) {
	inches, comma := Format{Unit: Inch}, Format{Unit: Inch, DecimalComma: true}
	for _, c := range []struct {
		format Format
		text   string
		why    error
		may    []string
	}{
		{inches, "O.019", ErrSyntax, []string{"0.019"}},
		{inches, "l.000", ErrSyntax, []string{"1.000"}},
		{inches, "I.000 in", ErrSyntax, []string{"1.000 in"}},
		{inches, "4.0004.001", ErrSyntax, []string{"4.000 and 4.001", "4.0004001"}},
		{inches, "4.0004.0010", ErrSyntax, []string{"4.000 and 4.0010", "4.00040010"}},
		{inches, "3A.4965", ErrSyntax, []string{"34.4965", "3.4965"}},
		{inches, "0,0057", ErrSyntax, []string{"0.0057"}},
		{inches, "2.24S0", ErrSyntax, []string{"2.2450", "2.240"}},
		{comma, "2.2490", ErrSyntax, []string{"2,2490"}},
		{comma, "O,019", ErrSyntax, []string{"0,019"}},

		// No unit of its own.
		{Format{}, "2.2490", ErrUnit, nil},
		{Format{}, "1/32", ErrUnit, nil},
		{inches, "2.2490 furlong", ErrUnit, nil},
		{inches, "2.2490 m", ErrUnit, nil},

		{inches, "5 lbf", ErrWrongKind, nil},
		{Format{}, "5 lbf", ErrWrongKind, nil},
		{Format{Unit: PoundForce}, "5", ErrWrongKind, nil},

		{inches, "0.00000001", ErrResolution, nil},
		{inches, "1/3", ErrResolution, nil},
		{Format{}, "0.00001 um", ErrResolution, nil},

		// Never a wrap: the last is 2⁶⁴ counts and one, the one before 2⁶³.
		{Format{}, "100000.0000001 mm", ErrRange, nil},
		{Format{}, "-100000.0000001 mm", ErrRange, nil},
		{inches, "3938", ErrRange, nil},
		{Format{}, "922337203685.4775808 mm", ErrRange, nil},
		{Format{}, "1844674407370.9551617 mm", ErrRange, nil},
		{inches, strings.Repeat("9", maxText), ErrRange, nil},

		// Numbers to a programmer, not to a bench.
		{inches, "1e3", ErrUnit, nil},
		{inches, "0x10", ErrUnit, nil},
		{inches, "1_000", ErrUnit, nil},
		{inches, "1,000", ErrSyntax, []string{"1.000"}},
		{inches, "1/0", ErrSyntax, nil},
		{inches, "3/2", ErrSyntax, nil},
		{inches, "2 3/2", ErrSyntax, nil},
		{inches, "2/2", ErrSyntax, nil},
		{inches, "1/2/3", ErrSyntax, nil},
		{inches, "1.5/2", ErrSyntax, nil},
		{inches, "1/-2", ErrSyntax, nil},
		{inches, "1 1/2 1/4", ErrSyntax, nil},
		{inches, "inf", ErrSyntax, nil},
		{inches, "NaN", ErrSyntax, nil},
		{inches, "+-1", ErrSyntax, nil},
		{inches, "--1", ErrSyntax, nil},
		{inches, "1-2", ErrUnit, nil},
		{inches, "1 2", ErrUnit, nil},
		{inches, "1.2.3.4", ErrSyntax, nil},
		{inches, "١", ErrSyntax, nil}, // a digit of another script

		{inches, "", ErrSyntax, nil},
		{inches, "  ", ErrSyntax, nil},
		{inches, ".", ErrSyntax, nil},
		{inches, "-", ErrSyntax, nil},
		{inches, "in", ErrSyntax, nil},
		{inches, "\xff\xfe", ErrSyntax, nil},
		{inches, "1\x00", ErrUnit, nil},
		{inches, strings.Repeat("0", maxText+1), ErrSyntax, nil},
		{inches, strings.Repeat("9", 1<<20), ErrSyntax, nil},
	} {
		l, shown, err := c.format.Length(c.text)
		var parse *ParseError
		if !errors.As(err, &parse) || !errors.Is(err, c.why) {
			t.Errorf("%.80q: error %v, want a ParseError of %q", c.text, err, c.why)
			continue
		}
		if diff := cmp.Diff(c.may, parse.May); diff != "" {
			t.Errorf("%.80q: likely readings (-want +got):\n%s", c.text, diff)
		}
		if l != (Length{}) || shown != (Shown{}) {
			t.Errorf("%.80q: refused, yet %v and %v", c.text, l, shown)
		}
	}
}

func TestErrorNamesTheTextAndItsLikelyReadings(t *testing.T) {
	_, _, err := Format{Unit: Inch}.Length("4.0004.001")
	want := `"4.0004.001": not a number; did it mean 4.000 and 4.001 or 4.0004001?`
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if _, _, err = (Format{}).Length("2.2490"); err == nil || err.Error() != `"2.2490": unit missing or unknown` {
		t.Errorf("got %v", err)
	}
}

// A reading that is offered is a number, if perhaps one with too many digits.
func TestLikelyReadingsAreNumbers(t *testing.T) {
	f := Format{Unit: Inch}
	for _, text := range []string{"O.019", "l.000", "4.0004.001", "3A.4965", "0,0057", "2.24S0", "Z.Z490 in", "B.OO1"} {
		var parse *ParseError
		if _, _, err := f.Length(text); !errors.As(err, &parse) || len(parse.May) == 0 {
			t.Errorf("%q: %v offers nothing", text, err)
			continue
		}
		for _, may := range parse.May {
			for _, one := range strings.Split(may, " and ") {
				if _, _, err := f.Length(one); err != nil && !errors.Is(err, ErrResolution) {
					t.Errorf("%q offers %q: %v", text, one, err)
				}
			}
		}
	}
}

func TestFiguresOfEveryKind(t *testing.T) {
	for _, c := range []struct {
		format Format
		text   string
		kind   Kind
		shown  string
	}{
		{Format{}, "134.2 lbf", ForceKind, "134.2 lbf"},
		{Format{}, "70 ft-lb", TorqueKind, "70 lbf-ft"},
		{Format{}, "500 in-lbf", TorqueKind, "500 lbf-in"},
		{Format{}, "0.0005 in/in", RatioKind, "0.0005 in/in"},
		{Format{}, "0.0005 per inch", RatioKind, "0.0005 in/in"},
		{Format{}, "30 deg", AngleKind, "30 °"},
		{Format{}, "1 7/8 lb", MassKind, "1 7/8 lb"},
		{Format{}, "60 psi", PressureKind, "60 psi"},
		{Format{}, "30 s", TimeKind, "30 s"},
		{Format{}, "68°F", TemperatureKind, "68 °F"},
		{Format{Unit: NewtonMetre}, "70 ft-lb", TorqueKind, "70 lbf-ft"},
	} {
		f, shown, err := c.format.Figure(c.text)
		if err != nil || f.Kind() != c.kind || shown.String() != c.shown {
			t.Errorf("%q: %v, %q, %v; want %v, %q", c.text, f.Kind(), shown, err, c.kind, c.shown)
		}
	}
	if _, _, err := (Format{Unit: NewtonMetre}).Figure("70 lbf"); !errors.Is(err, ErrWrongKind) {
		t.Errorf("a force where a torque is due: %v", err)
	}
}

func TestShownDecimals(t *testing.T) {
	for _, c := range []struct {
		digits string
		want   int
	}{{"2.2490", 4}, {"2,2490", 4}, {".0015", 4}, {"5.", 0}, {"5", 0}, {"2 1/32", 0}, {"-0.000", 3}} {
		if got := (Shown{c.digits, Inch}).Decimals(); got != c.want {
			t.Errorf("%q has %d decimals, want %d", c.digits, got, c.want)
		}
	}
}

// The short way through 64 bits and the long way through big.Rat read the same,
// also at the ends of the range and one digit finer than is taken.
func TestPlainFiguresAgreeWithBigRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		format := Format{
			Unit:         rapid.SampledFrom([]Unit{NoUnit, Inch, Thousandth, Tenth, Microinch, Millimetre, Centimetre, Micrometre, PoundForce, PerCent, NewtonMetre, Kilopascal, InchPerInch, Celsius, Fahrenheit}).Draw(t, "unit"),
			DecimalComma: rapid.Bool().Draw(t, "comma"),
		}
		digits := rapid.OneOf(
			rapid.StringMatching(`[0-9]{0,4}[.,]?[0-9]{0,8}`),
			rapid.StringMatching(`[0-9]{0,2}[.,][0-9]{0,4}0{0,22}`),
			rapid.StringMatching(`[0-9]{0,2}[.,][0-9]{0,2}[.,][0-9]{0,2}`),
			rapid.SampledFrom([]string{"100000", "100000.0000001", "99999.9999999", "3937.007874", "3937.0078741", "1000000000000000000", "999999999999999999", "18446744073709551617"}),
		).Draw(t, "digits")
		sign := rapid.SampledFrom([]string{"", "-", "\u2212", "+", "+-"}).Draw(t, "sign")
		unit := rapid.SampledFrom([]string{"", "", " in", "mm", " \u00b5m", " um", " MM", " tenths", " lbf", " F", " \u00b0C", " furlong"}).Draw(t, "unit in the text")
		text := sign + digits + unit

		number, rest := cutNumber(text)
		want, wantShown, err := format.figure(text, number, rest)
		got, gotShown, ok := format.plain(number, rest)
		plain := len(number) <= 18 && (rest == "" || unitBySpelling[rest] != NoUnit)
		if plain && err == nil && want.Kind() == LengthKind && !ok {
			t.Fatalf("%q in %s goes the long way", text, format.Unit)
		}
		if ok && (err != nil || got != want || gotShown != wantShown) {
			t.Fatalf("%q in %s: %v %v, by big.Rat %v %v, %v", text, format.Unit, got, gotShown, want, wantShown, err)
		}
	})
	if n := testing.AllocsPerRun(100, func() {
		if _, _, err := (Format{Unit: Inch}).Length("-2.2490"); err != nil {
			t.Fatal(err)
		}
	}); n > 0 {
		t.Errorf("a plain length takes %v pieces of memory", n)
	}
}

// FuzzParse holds that nothing panics, and that what is taken prints back as
// it was written and reads again as the same figure.
func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"2.2490", "2.2490 in", `2.2490"`, "-.0015", "−.0015 thou", "2 1/32 in", "12.5 µm", "57,15 mm", "5.",
		"O.019", "4.0004.001", "3A.4965", "0,0057", "1e3", "0x10", "1_000", "1/0", "3/2", "", "68°F",
		"134.2 lbf", "0.0005 per inch", "99999999999999999999 in", "0.00000001 in", "1/3 lb", "7 h", "−1,5/2\xff",
	} {
		for unit := range Unit(3) {
			f.Add(s, uint8(unit), false)
		}
		f.Add(s, uint8(PoundForce), true)
	}
	f.Fuzz(func(t *testing.T, text string, unit uint8, comma bool) {
		format := Format{Unit: Unit(unit % uint8(unitCount)), DecimalComma: comma}
		figure, shown, err := format.Figure(text)
		if err != nil {
			var parse *ParseError
			if !errors.As(err, &parse) {
				t.Fatalf("%q: %v is no ParseError", text, err)
			}
			return
		}
		if !strings.Contains(text, shown.Digits) {
			t.Errorf("%q is shown as %q, which nobody wrote", text, shown.Digits)
		}
		if len(shown.String()) > maxText {
			return // the unit's full name makes it too long to read
		}
		again, shownAgain, err := Format{DecimalComma: comma}.Figure(shown.String())
		if err != nil || again != figure || shownAgain != shown {
			t.Fatalf("%q reads again as %v %v, %v", shown, again, shownAgain, err)
		}
		if strings.Contains(shown.Digits, "/") || shown.Decimals() > 18 {
			return // has no end in decimals, or too late a one
		}
		printed, exact := figure.Text(shown.Unit, shown.Decimals())
		if want := plainDigits(shown.Digits); printed != want || !exact {
			t.Errorf("%q prints as %q (exact: %v), want %q", shown, printed, exact, want)
		}
		back, _, err := Format{Unit: shown.Unit}.Figure(printed)
		if err != nil || back != figure {
			t.Errorf("%q, printed %q, reads back as %v, %v", shown, printed, back, err)
		}
	})
}

// plainDigits is how a decimal prints: one sign at most, one nought at least
// before the point, and no more of them than that.
func plainDigits(digits string) string {
	rest := strings.TrimLeft(digits, "+-−")
	minus := len(rest) < len(digits) && digits[0] != '+'
	whole, part, _ := strings.Cut(strings.Replace(rest, ",", ".", 1), ".")
	plain := strings.TrimLeft(whole, "0")
	if plain == "" {
		plain = "0"
	}
	if part != "" {
		plain += "." + part
	}
	if minus && strings.Trim(plain, "0.") != "" {
		plain = "-" + plain
	}
	return plain
}

func BenchmarkLength(b *testing.B) {
	f := Format{Unit: Inch}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := f.Length("2.2490"); err != nil {
			b.Fatal(err)
		}
	}
}
