package form_test

import (
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tenths/metrology/form"
	"tenths/metrology/quantity"
)

func inches(t testing.TB, text string) quantity.Length {
	t.Helper()
	l, _, err := quantity.Format{Unit: quantity.Inch}.Length(text)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// row is the spots of a text: blanks between spots, a slash between the
// readings at one spot, a dash where nothing was read.
func row(t testing.TB, text string) []form.Spot {
	t.Helper()
	var spots []form.Spot
	for _, field := range strings.Fields(text) {
		var s form.Spot
		if field != "-" {
			for _, reading := range strings.Split(field, "/") {
				s.Add(inches(t, reading))
			}
		}
		spots = append(spots, s)
	}
	return spots
}

func TestDifference(t *testing.T) {
	for _, c := range []struct {
		from     string
		rule     func([]form.Spot) form.Spread
		row      string
		want     string
		high, lo int
	}{
		// The trap: adding the readings up gives 0.004.
		{"TM 10-3930-664-24, p. 3-41: run-out at 12, 3, 6 and 9 o'clock", form.RunOut, "0.000 +0.003 -0.002 +0.003", "0.005", 1, 2},
		{"common practice, no source: eight places of a dial", form.RunOut, "0.0000 0.0001 0.0002 0.0002 0.0001 0.0000 -0.0001 -0.0001", "0.0003", 2, 6},

		// Journals held against TM 9-6115-604-34, CK-o and CK-t; the readings
		// are our own.
		{"a good main journal, front", form.OutOfRound, "6.4978 6.4975", "0.0003", 0, 1},
		{"the same, rear", form.OutOfRound, "6.4974 6.4971", "0.0003", 0, 1},
		{"the same, along the first direction", form.Taper, "6.4978 6.4974", "0.0004", 0, 1},
		{"the same, along the second", form.Taper, "6.4975 6.4971", "0.0004", 0, 1},
		{"a steeper one, along the first direction", form.Taper, "6.4985 6.4979", "0.0006", 0, 1},
		{"the same, along the second", form.Taper, "6.4984 6.4978", "0.0006", 0, 1},
		{"the same, front", form.OutOfRound, "6.4985 6.4984", "0.0001", 0, 1},

		// Definitions of the trade, from memory; readings of our own.
		{"journal, plane A", form.OutOfRound, "2.3740 2.3736", "0.0004", 0, 1},
		{"journal, plane B", form.OutOfRound, "2.3738 2.3733", "0.0005", 0, 1},
		{"bore, plane A", form.OutOfRound, "2.3768 2.3771", "0.0003", 1, 0},
		{"bore, plane B", form.OutOfRound, "2.3769 2.3773", "0.0004", 1, 0},
		{"journal taper, first azimuth", form.Taper, "2.3740 2.3738", "0.0002", 0, 1},
		{"journal taper, second azimuth", form.Taper, "2.3736 2.3733", "0.0003", 0, 1},

		// Repeats at one spot are not form; the one that makes it worse counts.
		{"repeats that scatter more than the shape", form.OutOfRound, "1.0000/1.0009 1.0004/1.0005", "0.0005", 0, 1},
		{"the same, the spots turned about", form.OutOfRound, "1.0004/1.0005 1.0000/1.0009", "0.0005", 0, 1},
		{"all spots alike", form.Taper, "1.0000 1.0000 1.0000", "0", 0, 1},
		{"a spot in between not read", form.Taper, "1.0003 - 1.0001", "0.0002", 0, 2},
		{"a barrel: the ends alike, the middle larger", form.Taper, "1.0000 1.0006 1.0000", "0.0006", 1, 0},
	} {
		got := c.rule(row(t, c.row))
		if got.Size != inches(t, c.want) || !got.Found {
			t.Errorf("%s: %v, want %s", c.from, got, c.want)
		}
		// Where two pairs differ alike, either may be named.
		spots := row(t, c.row)
		if d := spots[got.High].Greatest.Plus(-1, spots[got.Lo].Least); d != got.Size || got.High == got.Lo {
			t.Errorf("%s: it is said to lie between spots %d and %d, which differ by %v", c.from, got.High, got.Lo, d)
		}
		if want := spots[c.high].Greatest.Plus(-1, spots[c.lo].Least); want != got.Size {
			t.Errorf("%s: spots %d and %d differ by %v, found %v", c.from, c.high, c.lo, want, got.Size)
		}
	}
}

func TestNothingIsFoundWithFewerThanTwoSpots(t *testing.T) {
	for _, text := range []string{"", "1.0000", "1.0000/1.0009", "- -", "- 1.0000/1.0009 -"} {
		if got := form.Difference(row(t, text)); got != (form.Spread{}) {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// TM 10-3930-653-14&P, p. 79: bend is half of the total indicator reading.
func TestBendIsExactlyHalf(t *testing.T) {
	for _, c := range []struct{ tir, want string }{
		{"0.004", "0.002"},
		{"0.005", "0.0025"},
		{"0.0001", "0.00005"},
		{"0", "0"},
	} {
		got, err := form.Bend(inches(t, c.tir))
		if err != nil || got != inches(t, c.want).Figure() {
			t.Errorf("of %s: %v, %v; want %s", c.tir, got, err, c.want)
		}
	}
	// Half of an odd count is no whole count, and is exact all the same.
	got, err := form.Bend(quantity.TenthsOfNanometre(3))
	if _, whole := got.Length(); err != nil || whole || got.Rat().Cmp(big.NewRat(3, 2)) != 0 {
		t.Errorf("of three counts: %v, %v (whole: %v)", got, err, whole)
	}
}

func TestTaperRate(t *testing.T) {
	for _, c := range []struct {
		from     string
		planes   string
		along    string
		num, den int64
		high, lo int
	}{
		// Definition, from memory: 0.0012 in over a 6 in arbor is 0.0002 per inch.
		{"a rod's arbor", "0.0012 0", "0 6.0", 1, 5000, 0, 1},
		{"0.0045 over blocks 6 in apart, between 0.0005 and 0.0010 per inch", "0.0045 0", "0 6.0", 3, 4000, 0, 1},
		{"0.0020 over the same, a third of 0.001", "0.0020 0", "0 6.0", 1, 3000, 0, 1},
		// The steepest pair, not the widest apart nor the most different.
		{"steep between two near planes", "1.0000 1.0003 1.0004", "0 1 4", 3, 10000, 1, 0},
		{"the same, read from the other end", "1.0004 1.0003 1.0000", "0 3 4", 3, 10000, 1, 2},
		{"a plane in between not read", "1.0000 - 1.0003", "0 1 3", 1, 10000, 2, 0},
		{"no taper", "1.0000 1.0000", "0 1", 0, 1, 0, 1},
		{"repeats: the worse of each plane", "1.0000/1.0001 1.0002/1.0003", "1 2", 3, 10000, 1, 0},
		{"planes counted from elsewhere", "1.0003 1.0000", "-1 2", 1, 10000, 0, 1},
	} {
		var along []quantity.Length
		for _, s := range strings.Fields(c.along) {
			along = append(along, inches(t, s))
		}
		planes := row(t, c.planes)
		rate, at, err := form.TaperRate(planes, along)
		if err != nil || rate.Kind() != quantity.RatioKind || rate.Rat().Cmp(big.NewRat(c.num, c.den)) != 0 {
			t.Errorf("%s: %v, %v; want %d/%d", c.from, rate.Rat(), err, c.num, c.den)
			continue
		}
		want := form.Spread{
			Size: planes[c.high].Greatest.Plus(-1, planes[c.lo].Least), High: c.high, Lo: c.lo, Found: true,
		}
		if c.num == 0 {
			want.High, want.Lo = at.High, at.Lo // either plane is as high as the other
		}
		if at != want {
			t.Errorf("%s: at %v, want %v", c.from, at, want)
		}
	}

	// Scaled to another length, from memory: 0.0002 per inch over 2 in is 0.0004.
	rate, _, err := form.TaperRate(row(t, "0.0012 0"), []quantity.Length{inches(t, "0"), inches(t, "6")})
	if err != nil {
		t.Fatal(err)
	}
	over, err := rate.Scaled(2, 1)
	if want, _ := quantity.Per(inches(t, "0.0004"), inches(t, "1")); err != nil || over != want {
		t.Errorf("over 2 in it is %v, %v", over.Rat(), err)
	}

	for _, c := range []struct{ planes, along string }{
		{"1.0000 1.0001", "1 1"},
		{"1.0000 1.0001", "2 1"},
		{"1.0000 1.0001 1.0002", "0 2 1"},
	} {
		var along []quantity.Length
		for _, s := range strings.Fields(c.along) {
			along = append(along, inches(t, s))
		}
		if rate, _, err := form.TaperRate(row(t, c.planes), along); err == nil {
			t.Errorf("planes at %s have a taper of %v", c.along, rate.Rat())
		}
	}
	if rate, at, err := form.TaperRate(row(t, "1.0000/1.0002 -"), []quantity.Length{inches(t, "0"), inches(t, "1")}); err != nil || at.Found || rate.Sign() != 0 {
		t.Errorf("one plane tapers by %v, %v, %v", rate.Rat(), at, err)
	}
}

// readings draws a row of spots as lists of readings, repeats and gaps
// included.
func readings(t *rapid.T) [][]int64 {
	one := rapid.OneOf(rapid.Int64Range(0, 9), rapid.Int64Range(-1e12, 1e12))
	return rapid.SliceOfN(rapid.SliceOfN(one, 0, 3), 0, 8).Draw(t, "readings")
}

func spots(all [][]int64) []form.Spot {
	row := make([]form.Spot, len(all))
	for i, repeats := range all {
		for _, n := range repeats {
			row[i].Add(quantity.TenthsOfNanometre(n))
		}
	}
	return row
}

// The greatest difference by the definition: over all pairs of readings that
// are not at one spot.
func TestDifferenceIsTheGreatestOfAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := readings(t)
		worst, found := int64(0), false
		for i := range all {
			for j := range all {
				for _, a := range all[i] {
					for _, b := range all[j] {
						if i != j {
							worst, found = max(worst, a-b), true
						}
					}
				}
			}
		}
		got := form.Difference(spots(all))
		if got.Found != found || got.Size.TenthsOfNanometre() != worst {
			t.Fatalf("%v, want %d (found: %v)", got, worst, found)
		}
	})
}

func TestOrderNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := readings(t)
		want := form.Difference(spots(all))
		shuffled := rapid.Permutation(all).Draw(t, "spots")
		for i, repeats := range shuffled {
			shuffled[i] = rapid.Permutation(repeats).Draw(t, "repeats")
		}
		if got := form.Difference(spots(shuffled)); got.Size != want.Size || got.Found != want.Found {
			t.Fatalf("%v in this order, %v in that", want, got)
		}
	})
}

func TestOneMoreReadingNeverMakesItSmaller(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := readings(t)
		before := form.Difference(spots(all))
		more := rapid.Int64Range(-1e12, 1e12).Draw(t, "more")
		i := rapid.IntRange(0, len(all)).Draw(t, "where")
		if i == len(all) {
			all = append(all, nil)
		}
		all[i] = append(all[i], more)
		after := form.Difference(spots(all))
		if after.Size.Cmp(before.Size) < 0 || before.Found && !after.Found {
			t.Fatalf("%v, with one more reading %v", before, after)
		}
	})
}

func TestRepeatsAtOneSpotAreNotForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s form.Spot
		for _, n := range rapid.SliceOfN(rapid.Int64Range(-1e12, 1e12), 1, 9).Draw(t, "repeats") {
			s.Add(quantity.TenthsOfNanometre(n))
		}
		if s.Least.Cmp(s.Greatest) > 0 || !s.Read {
			t.Fatalf("%v", s)
		}
		if got := form.Difference([]form.Spot{{}, s, {}}); got != (form.Spread{}) {
			t.Fatalf("one spot makes %v", got)
		}
	})
}

// The rate by the definition, in math/big: the steepest of all pairs.
func TestTaperRateIsTheSteepestPair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := readings(t)
		planes := spots(all)
		var along []quantity.Length
		place := int64(0)
		for range planes {
			place += rapid.Int64Range(1, 1e11).Draw(t, "step")
			along = append(along, quantity.TenthsOfNanometre(place))
		}
		worst, found := new(big.Rat), false
		for i := range planes {
			for j := range i {
				if d := form.Difference([]form.Spot{planes[i], planes[j]}); d.Found {
					apart := along[i].Plus(-1, along[j]).TenthsOfNanometre()
					found = true
					if r := big.NewRat(d.Size.TenthsOfNanometre(), apart); r.Cmp(worst) > 0 {
						worst = r
					}
				}
			}
		}
		rate, at, err := form.TaperRate(planes, along)
		if err != nil || at.Found != found || rate.Rat().Cmp(worst) != 0 {
			t.Fatalf("%s at %v, %v; want %s (found: %v)", rate.Rat(), at, err, worst, found)
		}
		if found {
			if d := planes[at.High].Greatest.Plus(-1, planes[at.Lo].Least); d != at.Size || at.High == at.Lo {
				t.Fatalf("planes %d and %d differ by %v, not %v", at.High, at.Lo, d, at.Size)
			}
		}
	})
}
