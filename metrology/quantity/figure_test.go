package quantity

import (
	"errors"
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// whole draws counts from the whole range that a figure may hold, its ends
// and the small ones more often.
func whole() *rapid.Generator[int64] {
	return rapid.OneOf(
		rapid.Int64Range(-math.MaxInt64, math.MaxInt64),
		rapid.Int64Range(-3, 3),
		rapid.Int64Range(-maxLength, maxLength),
		rapid.SampledFrom([]int64{
			-math.MaxInt64, math.MaxInt64, math.MaxInt64 - 1, 1 - math.MaxInt64,
			1 << 47, 1<<47 - 1, 1 << 62, 1<<62 - 1, -1 << 47, -1 << 62,
			1 << 55, 1<<55 - 1, -1 << 55, 1 - 1<<55, 1 << 32, math.MaxInt32,
		}),
	)
}

// figures draws a figure together with what it is by math/big alone.
func figures(t *rapid.T, label string) (Figure, *big.Rat) {
	num := whole().Draw(t, label+" over")
	den := rapid.OneOf(
		rapid.Just(int64(1)),
		rapid.Just(int64(1)), // lengths, nearly always
		rapid.Int64Range(1, 100),
		rapid.Int64Range(1, math.MaxInt64),
		rapid.SampledFrom([]int64{math.MaxInt64, math.MaxInt64 - 1, 1 << 62}),
	).Draw(t, label+" under")
	r := big.NewRat(num, den)
	f, err := figure(LengthKind, r)
	if err != nil {
		t.Fatalf("%d/%d: %v", num, den, err)
	}
	return f, r
}

// agrees holds a result against the oracle's: equal, or refused because the
// oracle's lowest terms don't fit.
func agrees(t *rapid.T, what string, got Figure, err error, want *big.Rat) {
	t.Helper()
	limit := big.NewInt(math.MaxInt64)
	fits := want.Num().CmpAbs(limit) <= 0 && want.Denom().CmpAbs(limit) <= 0
	switch {
	case !fits && !errors.Is(err, ErrRange):
		t.Fatalf("%s is %v, %v; %s does not fit", what, got, err, want)
	case fits && (err != nil || got.Rat().Cmp(want) != 0):
		t.Fatalf("%s is %v, %v; want %s", what, got, err, want)
	}
}

func TestFigureAgreesWithBigRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, ra := figures(t, "a")
		b, rb := figures(t, "b")
		if got, want := a.Cmp(b), ra.Cmp(rb); got != want {
			t.Fatalf("%s against %s: %d, want %d", ra, rb, got, want)
		}
		if (a == b) != (ra.Cmp(rb) == 0) {
			t.Fatalf("%s == %s: %v", ra, rb, a == b)
		}
		if a.Sign() != ra.Sign() || a.Rat().Cmp(ra) != 0 {
			t.Fatalf("%s has sign %d, value %s", ra, a.Sign(), a.Rat())
		}
		if got := a.Negative().Rat(); got.Cmp(new(big.Rat).Neg(ra)) != 0 {
			t.Fatalf("−(%s) is %s", ra, got)
		}

		k := rapid.IntRange(-1000, 1000).Draw(t, "k")
		sum, err := a.Plus(k, b)
		want := new(big.Rat).Mul(rb, big.NewRat(int64(k), 1))
		agrees(t, "a + k·b", sum, err, want.Add(want, ra))

		n := rapid.Int64().Draw(t, "n")
		d := rapid.Int64().Filter(func(d int64) bool { return d != 0 }).Draw(t, "d")
		scaled, err := a.Scaled(n, d)
		agrees(t, "a·n/d", scaled, err, new(big.Rat).Mul(ra, big.NewRat(n, d)))
	})
}

// The least of 64 bits has no opposite, and is refused however it comes about.
func TestTheLeastCountIsRefused(t *testing.T) {
	least, one := TenthsOfNanometre(-math.MaxInt64).Figure(), TenthsOfNanometre(1).Figure()
	if f, err := least.Plus(-1, one); !errors.Is(err, ErrRange) {
		t.Errorf("less one: %v, %v", f, err)
	}
	if f, err := TenthsOfNanometre(1<<62).Figure().Scaled(-2, 1); !errors.Is(err, ErrRange) {
		t.Errorf("doubled: %v, %v", f, err)
	}
}

// Neighbours are where a comparison through floating point or 64 bits fails.
func TestCmpTellsNeighboursApart(t *testing.T) {
	const m = math.MaxInt64
	for _, c := range []struct {
		a, b [2]int64
		want int
	}{
		{[2]int64{m, 1}, [2]int64{m - 1, 1}, 1},
		{[2]int64{-m, 1}, [2]int64{1 - m, 1}, -1},
		{[2]int64{m, m - 1}, [2]int64{m - 1, m - 2}, -1}, // both one and a 10⁻¹⁹th
		{[2]int64{m - 1, m}, [2]int64{m - 2, m - 1}, 1},
		{[2]int64{-m, m - 1}, [2]int64{1 - m, m - 2}, 1},
		{[2]int64{1, m}, [2]int64{1, m - 1}, -1},
		{[2]int64{1, m}, [2]int64{0, 1}, 1},
		{[2]int64{-1, m}, [2]int64{0, 1}, -1},
		{[2]int64{-1, m}, [2]int64{1, m}, -1},
		{[2]int64{-m, 1}, [2]int64{m, 1}, -1},
		{[2]int64{1 << 53, 1}, [2]int64{1<<53 + 1, 1}, -1},
		{[2]int64{1, 3}, [2]int64{333333333333333333, 1000000000000000000}, 1},
	} {
		a, errA := figure(RatioKind, big.NewRat(c.a[0], c.a[1]))
		b, errB := figure(RatioKind, big.NewRat(c.b[0], c.b[1]))
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if got := a.Cmp(b); got != c.want {
			t.Errorf("%d/%d against %d/%d: %d, want %d", c.a[0], c.a[1], c.b[0], c.b[1], got, c.want)
		}
		if got := b.Cmp(a); got != -c.want {
			t.Errorf("%d/%d against %d/%d: %d, want %d", c.b[0], c.b[1], c.a[0], c.a[1], got, -c.want)
		}
	}
}

func TestFiguresOfTwoKindsDoNotMix(t *testing.T) {
	length, force := parsed(t, "1 in"), parsed(t, "1 lbf")
	if _, err := length.Plus(1, force); !errors.Is(err, ErrKind) {
		t.Errorf("a length and a force add up: %v", err)
	}
	if _, err := Mean([]Figure{length, force}); !errors.Is(err, ErrKind) {
		t.Errorf("a length and a force have a mean: %v", err)
	}
	if _, ok := fraction(length, force, force.Negative()); ok {
		t.Error("a length lies between two forces")
	}
	if _, ok := force.Length(); ok {
		t.Error("a force is a length")
	}
	defer func() {
		if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "BUG:") {
			t.Errorf("comparing a length with a force does not panic as a bug: %v", s)
		}
	}()
	length.Cmp(force)
}

func TestMeanIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		var all []Figure
		sum, sumFits := new(big.Rat), true
		for range n {
			f, r := figures(t, "f")
			all = append(all, f)
			sum.Add(sum, r)
			if _, err := figure(LengthKind, sum); err != nil {
				sumFits = false
			}
		}
		mean, err := Mean(all)
		if !sumFits {
			if !errors.Is(err, ErrRange) {
				t.Fatalf("a sum on the way does not fit, yet the mean is %v, %v", mean, err)
			}
			return
		}
		agrees(t, "mean", mean, err, sum.Quo(sum, big.NewRat(int64(n), 1)))
	})
	if _, err := Mean(nil); err == nil {
		t.Error("no figures have a mean")
	}
}

// The ten readings of a standard cylinder bore; the exact mean is 5.7589,
// and no count of binary tenths. Source of the limits held against it:
// TM 9-2815-220-24, WP 0135; the readings are our own.
func TestMeanOfReadings(t *testing.T) {
	var all []Figure
	for _, s := range strings.Fields("5.7612 5.7584 5.7600 5.7580 5.7592 5.7578 5.7588 5.7580 5.7590 5.7586") {
		all = append(all, parsed(t, s+" in"))
	}
	mean, err := Mean(all)
	if err != nil || mean != parsed(t, "5.7589 in") {
		t.Errorf("mean is %v, %v", mean, err)
	}
	third, err := Mean([]Figure{TenthsOfNanometre(1).Figure(), TenthsOfNanometre(0).Figure(), TenthsOfNanometre(0).Figure()})
	if _, whole := third.Length(); err != nil || whole || third.Rat().Cmp(big.NewRat(1, 3)) != 0 {
		t.Errorf("a third of a count is %v, %v (whole: %v)", third, err, whole)
	}
}

func TestPerIsAnExactRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Int64Range(-maxLength, maxLength).Draw(t, "a")
		b := rapid.Int64Range(-3, maxLength).Draw(t, "b")
		rate, err := Per(TenthsOfNanometre(a), TenthsOfNanometre(b))
		if b <= 0 {
			if err == nil {
				t.Fatalf("a rate over a distance of %d", b)
			}
			return
		}
		if rate.Kind() != RatioKind {
			t.Fatalf("a rate is a %s", rate.Kind())
		}
		agrees(t, "a per b", rate, err, big.NewRat(a, b))
	})
	// Per inch and per millimetre are one figure.
	inches, _ := Per(thou(3), thou(6000))
	metric, _ := Per(TenthsOfNanometre(5000), TenthsOfNanometre(10_000_000))
	if inches != metric || inches != parsed(t, "0.0005 per inch") || inches != parsed(t, "0.0005 per mm") {
		t.Errorf("0.003 in over 6 in is %v, 0.0005 mm over 1 mm is %v", inches, metric)
	}
}

func thou(n int64) Length { return TenthsOfNanometre(n * thousandth) }

func TestFractionAndPercentAgreeWithBigRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, ra := figures(t, "a")
		from, rf := figures(t, "from")
		to, rt := figures(t, "to")
		got, ok := fraction(a, from, to)
		if rf.Cmp(rt) == 0 {
			if ok {
				t.Fatalf("a way of no length has a fraction, %s", got)
			}
			return
		}
		want := new(big.Rat).Sub(ra, rf)
		want.Quo(want, new(big.Rat).Sub(rt, rf))
		if !ok || got.Cmp(want) != 0 {
			t.Fatalf("fraction is %v, %v; want %s", got, ok, want)
		}

		percent := new(big.Int).Mul(want.Num(), big.NewInt(100))
		percent.Div(percent, want.Denom()) // rounds down
		if percent.Sign() < 0 {
			percent.SetInt64(0)
		}
		if !percent.IsInt64() {
			percent.SetInt64(math.MaxInt64)
		}
		if got := Percent(a, from, to); got != percent.Int64() {
			t.Fatalf("percent is %d, want %d", got, percent.Int64())
		}
	})
}

func TestPercentOfAnAllowance(t *testing.T) {
	for _, c := range []struct {
		a, from, to string
		want        int64
	}{
		{"6.4980 in", "6.498 in", "6.497 in", 0},
		{"6.4970 in", "6.498 in", "6.497 in", 100}, // exactly at the limit
		{"6.49701 in", "6.498 in", "6.497 in", 99}, // rounded down
		{"6.49699 in", "6.498 in", "6.497 in", 101},
		{"6.4985 in", "6.498 in", "6.497 in", 0}, // better than new
		{"6.2530 in", "6.2510 in", "6.2550 in", 50},
		{"0.0002 in", "-0.0001 in", "0.0002 in", 100},
		{"0 in", "-0.0001 in", "0.0002 in", 33},
		{"1 in", "2 in", "2 in", 0}, // no way to go
		{"3 in", "2 in", "2 in", 0},
	} {
		if got := Percent(parsed(t, c.a), parsed(t, c.from), parsed(t, c.to)); got != c.want {
			t.Errorf("from %s to %s, %s is %d %%, want %d", c.from, c.to, c.a, got, c.want)
		}
	}
}

// Where a hundred times the way no longer fits 64 bits.
func TestPercentOfLongWays(t *testing.T) {
	const edge = 1 << 55
	for _, c := range []struct{ a, from, to, want int64 }{
		{edge - 1, 1 - edge, edge - 1, 100},
		{edge - 2, 1 - edge, edge - 1, 99},
		{edge, -edge, edge, 100},
		{edge - 1, 0, 1, 100 * (edge - 1)},
		{1 << 56, 0, 1, 100 << 56},
		{1 << 57, 0, 1, math.MaxInt64},
		{math.MaxInt64, -math.MaxInt64, math.MaxInt64, 100},
		{math.MaxInt64 - 1, -math.MaxInt64, math.MaxInt64, 99},
		{-math.MaxInt64, math.MaxInt64, 0, 200},
		{math.MaxInt64, -math.MaxInt64, 1 - math.MaxInt64, math.MaxInt64},
	} {
		f := func(n int64) Figure { return TenthsOfNanometre(n).Figure() }
		if got := Percent(f(c.a), f(c.from), f(c.to)); got != c.want {
			t.Errorf("from %d to %d, %d is %d %%, want %d", c.from, c.to, c.a, got, c.want)
		}
	}
}

// Text is characterised, not copied: it differs from the figure by half of
// its last digit at most, by exactly half only to an even digit, and exact
// says whether it differs at all.
func TestTextRoundsHalfToEvenAndSaysSo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, r := figures(t, "f")
		u := rapid.SampledFrom(lengthUnits).Draw(t, "unit")
		decimals := rapid.IntRange(0, 18).Draw(t, "decimals")
		if rapid.Bool().Draw(t, "tie") { // halves are too rare to be met by chance
			half := new(big.Rat).SetFrac(big.NewInt(2*rapid.Int64Range(-9999, 9999).Draw(t, "n")+1), pow10(decimals))
			half.Mul(half, big.NewRat(unitTable[u].num, 2))
			tie, err := figure(LengthKind, half)
			if err != nil {
				t.Fatal(err)
			}
			f, r = tie, half
		}
		text, exact := f.Text(u, decimals)
		printed, ok := new(big.Rat).SetString(text)
		if _, part, _ := strings.Cut(text, "."); !ok || len(part) != decimals {
			t.Fatalf("%q is no number of %d decimals", text, decimals)
		}
		if strings.HasPrefix(text, "-") && printed.Sign() == 0 {
			t.Fatalf("%q is nought with a sign", text)
		}
		off := new(big.Rat).Sub(printed, new(big.Rat).Quo(r, big.NewRat(unitTable[u].num, 1)))
		if exact != (off.Sign() == 0) {
			t.Fatalf("%s prints as %q, exact: %v, off by %s", r, text, exact, off)
		}
		halfDigit := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Mul(big.NewInt(2), pow10(decimals)))
		even := strings.ContainsRune("02468", rune(text[len(text)-1]))
		if c := off.Abs(off).Cmp(halfDigit); c > 0 || c == 0 && !even {
			t.Fatalf("%s %s prints as %q, off by %s", r, u, text, off)
		}
	})
}

var lengthUnits = []Unit{Inch, Thousandth, Microinch, Millimetre, Centimetre, Micrometre}

// The same for figures of every kind and size, in every unit.
func TestTextInEveryUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(Units()).Draw(t, "unit")
		r := big.NewRat(rapid.Int64Range(-1<<62, 1<<62).Draw(t, "numerator"), rapid.Int64Range(1, 1<<62).Draw(t, "denominator"))
		if rapid.Bool().Draw(t, "small") {
			r = big.NewRat(rapid.Int64Range(-99_999, 99_999).Draw(t, "n"), rapid.Int64Range(1, 9999).Draw(t, "d"))
		}
		f, err := figure(u.Kind(), r)
		if err != nil {
			t.Fatal(err)
		}
		decimals := rapid.IntRange(0, 18).Draw(t, "decimals")
		text, exact := f.Text(u, decimals)
		printed, ok := new(big.Rat).SetString(text)
		if !ok {
			t.Fatalf("%q is no number", text)
		}
		off := new(big.Rat).Sub(printed, f.in(u))
		halfDigit := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Mul(big.NewInt(2), pow10(decimals)))
		even := strings.ContainsRune("02468", rune(text[len(text)-1]))
		if c := new(big.Rat).Abs(off).Cmp(halfDigit); c > 0 || c == 0 && !even || exact != (off.Sign() == 0) {
			t.Fatalf("%s %s prints as %q, exact: %v, off by %s", f.in(u), u, text, exact, off)
		}
	})
}

// The first seven: ASTM E29, rounding method (from memory). The rest: our own.
func TestTextRounds(t *testing.T) {
	for _, c := range []struct {
		figure   string
		unit     Unit
		decimals int
		want     string
		exact    bool
	}{
		{"2.1245 in", Inch, 3, "2.124", false},
		{"2.1235 in", Inch, 3, "2.124", false},
		{"2.1245001 mm", Millimetre, 3, "2.125", false},
		{"1.00649 in", Inch, 3, "1.006", false},
		{"2.5 in", Inch, 0, "2", false},
		{"3.5 in", Inch, 0, "4", false},
		{"40.5 in", Inch, 0, "40", false},
		{"0.5 in", Inch, 0, "0", false},
		{"-0.5 in", Inch, 0, "0", false},
		{"-0.00004 in", Inch, 4, "0.0000", false},
		{"-2.5 in", Inch, 0, "-2", false},
		{"-3.5 in", Inch, 0, "-4", false},
		{"2.2490 in", Inch, 4, "2.2490", true},
		{"2.2490 in", Inch, 6, "2.249000", true},
		{"-.0015 in", Inch, 4, "-0.0015", true},
		{"2.2490 in", Inch, -1, "2", false},
		{"2.2490 in", Inch, 99, "2.249000000000000000", true},
		{"1 mm", Inch, 6, "0.039370", false},
		{"1 in", Millimetre, 1, "25.4", true},
		{"100000 mm", Micrometre, 4, "100000000.0000", true},
		{"68 °F", Celsius, 0, "20", true},
		{"70 °F", Celsius, 2, "21.11", false},
		{"1 psi", Kilopascal, 3, "6.895", false},
	} {
		text, exact := parsed(t, c.figure).Text(c.unit, c.decimals)
		if text != c.want || exact != c.exact {
			t.Errorf("%s in %s with %d decimals: %q, %v; want %q, %v",
				c.figure, c.unit, c.decimals, text, exact, c.want, c.exact)
		}
	}
	defer func() {
		if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "BUG:") {
			t.Errorf("printing a length in lbf does not panic as a bug: %v", s)
		}
	}()
	parsed(t, "1 in").Text(PoundForce, 3)
}

// A sum may be far longer than what is parsed.
func TestTextOfTheLongestSums(t *testing.T) {
	for _, c := range []struct {
		unit     Unit
		decimals int
		want     string
	}{
		{Micrometre, 4, "922337203685477.5807"},
		{Micrometre, 9, "922337203685477.580700000"},
		{Millimetre, 9, "922337203685.477580700"},
		{Centimetre, 8, "92233720368.54775807"},
		{Inch, 0, "36312488334"},
	} {
		text, exact := TenthsOfNanometre(math.MaxInt64).Text(c.unit, c.decimals)
		minus, _ := TenthsOfNanometre(-math.MaxInt64).Text(c.unit, c.decimals)
		if text != c.want || minus != "-"+c.want || exact != (c.unit != Inch) {
			t.Errorf("in %s: %s, %s, %v; want %s", c.unit, text, minus, exact, c.want)
		}
	}
}

func TestPrintAndParseReturnTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := TenthsOfNanometre(rapid.Int64Range(-maxLength, maxLength).Draw(t, "count"))
		for _, u := range lengthUnits {
			decimals := rapid.IntRange(0, 18).Draw(t, "decimals")
			text, exact := l.Text(u, decimals)
			if !exact {
				continue // a rounded text is never read again
			}
			back, shown, err := Format{Unit: u}.Length(text)
			if err != nil || back != l || shown != (Shown{text, u}) {
				t.Fatalf("%d prints as %q %s, which reads as %d, %q, %v", l, text, u, back, shown, err)
			}
			named, _, err := Format{}.Length(text + " " + u.String())
			if err != nil || named != l {
				t.Fatalf("%d prints as %q %s, which reads as %d, %v", l, text, u, named, err)
			}
		}
		// Every length has an end in the metric units.
		if text, exact := l.Text(Micrometre, 4); !exact {
			t.Fatalf("%d prints as %q µm", l, text)
		}
	})
}

func TestDecimalsAreTheFewest(t *testing.T) {
	for _, c := range []struct {
		figure string
		unit   Unit
		most   int
		want   int
	}{
		{"2.2490 in", Inch, 6, 3},
		{"2.2490 in", Inch, 2, 2},
		{"2 in", Inch, 6, 0},
		{"2 1/32 in", Inch, 6, 5},
		{"1 mm", Inch, 6, 6}, // no end
		{"1 in", Millimetre, 6, 1},
		{"1/3 lb", Pound, 9, 9},
	} {
		if got := parsed(t, c.figure).Decimals(c.unit, c.most); got != c.want {
			t.Errorf("%s in %s needs %d decimals, want %d", c.figure, c.unit, got, c.want)
		}
	}
}

func TestLengthArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := rapid.Int64Range(-maxLength, maxLength)
		n, m := counts.Draw(t, "n"), counts.Draw(t, "m")
		k := rapid.IntRange(-100, 100).Draw(t, "k")
		a, b := TenthsOfNanometre(n), TenthsOfNanometre(m)
		if got := a.Plus(k, b); got.TenthsOfNanometre() != n+int64(k)*m {
			t.Fatalf("%d + %d·%d is %v", n, k, m, got)
		}
		if a.Plus(-1, a) != (Length{}) || a.Plus(k, b).Plus(-k, b) != a {
			t.Fatalf("%d + %d·%d does not come back", n, k, m)
		}
		if a.Cmp(b) != a.Figure().Cmp(b.Figure()) || a.Cmp(b) != -b.Cmp(a) {
			t.Fatalf("%d against %d: %d", n, m, a.Cmp(b))
		}
		if got := a.Abs(); got.Cmp(Length{}) < 0 || got != a && got != (Length{}).Plus(-1, a) {
			t.Fatalf("|%d| is %v", n, got)
		}
		if back, ok := a.Figure().Length(); !ok || back != a {
			t.Fatalf("%d as a figure is the length %v, %v", n, back, ok)
		}
	})
}

// A million of the longest lengths add up without a wrap.
func TestAMillionLengthsAddUp(t *testing.T) {
	most, _, err := Format{}.Length(strconv.Itoa(maxLength/millimetre) + " mm")
	if err != nil {
		t.Fatal(err)
	}
	if sum := (Length{}).Plus(1_000_000, most); sum.TenthsOfNanometre() != 1_000_000*maxLength {
		t.Errorf("the sum is %v", sum)
	}
}

func BenchmarkCmp(b *testing.B) {
	third, _ := figure(RatioKind, big.NewRat(1, 3))
	nearly, _ := figure(RatioKind, big.NewRat(333333333333333333, 1000000000000000000))
	less := 0
	for _, c := range []struct {
		name string
		a, b Figure
	}{
		{"lengths", TenthsOfNanometre(22490 * inch / 10000).Figure(), TenthsOfNanometre(22495 * inch / 10000).Figure()},
		{"ratios", nearly, third},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				less += c.a.Cmp(c.b)
			}
		})
	}
}
