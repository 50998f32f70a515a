package limit_test

import (
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

func TestEdges(t *testing.T) {
	for _, c := range []struct {
		limits, value string
		want          bool
	}{
		// A value exactly at a limit is within it.
		{"6.497..6.500", "6.497", true},
		{"6.497..6.500", "6.4970", true},
		{"6.497..6.500", "6.500", true},
		{"6.497..6.500", "6.496999", false},
		{"6.497..6.500", "6.500001", false},
		// Unless the wording rejects the equal value.
		{"1.67!..", "1.67", false},
		{"1.67!..", "1.670001", true},
		{"..0.008!", "0.008", false},
		{"..0.008!", "0.007999", true},
		// An edge that is not set holds nothing.
		{"..0.008", "-99", true},
		{"1.67..", "99", true},
		{"..", "0", true},
		// Tight is negative.
		{"-0.0100..-0.0020", "-0.0020", true},
		{"-0.0100..-0.0020", "-0.0019", false},
		{"-0.0015..0", "0", true},
		{"-0.0015..0", "0.000001", false},
		{"0.003..0.003", "0.003", true},
		{"0.003..0.003!", "0.003", false},
		// The absolute method of ASTM E29, sections 5 and 6 (seen in abstracts):
		// a reading is judged as read, never rounded to the limit's decimals.
		{"..2.35", "2.3504", false},
	} {
		r := written(t, c.limits, quantity.Inch)
		v := figure(t, c.value, quantity.Inch)
		if got := r.Contains(v); got != c.want {
			t.Errorf("%s within %s: %v, want %v", c.value, c.limits, got, c.want)
		}
		if got := r.AtLeast(v) && r.AtMost(v); got != c.want {
			t.Errorf("%s meets both edges of %s: %v, want %v", c.value, c.limits, got, c.want)
		}
	}
}

func TestEmpty(t *testing.T) {
	for _, c := range []struct {
		limits string
		want   bool
	}{
		{"0.003..0.002", true},
		{"0.003..0.003", false},
		{"0.003!..0.003", true},
		{"0.003..0.003!", true},
		{"0.003!..0.003001", false},
		{"..0.003", false},
		{"0.003!..", false},
		{"..", false},
	} {
		if got := written(t, c.limits, quantity.Inch).Empty(); got != c.want {
			t.Errorf("%s is empty: %v, want %v", c.limits, got, c.want)
		}
	}
}

// The limits are of the manuals named, the values our own.
func TestTierOfAValue(t *testing.T) {
	const in, lbf = quantity.Inch, quantity.PoundForce
	for _, c := range []struct {
		from         string
		wears        string
		unit         quantity.Unit
		new, service string
		value        string
		want         string
	}{
		{"TM 9-6115-604-34, CK-m", "smaller", in, "6.498 - 6.500", "6.497", "6.4970", "service"},
		{"TM 9-6115-604-34, CK-m", "smaller", in, "6.498 - 6.500", "6.497", "6.4969", "beyond"},
		{"TM 9-6115-604-34, CK-m", "smaller", in, "6.498 - 6.500", "6.497", "6.498", "new"},
		// Better than new on the side that does not wear is no matter here.
		{"TM 9-6115-604-34, CK-m", "smaller", in, "6.498 - 6.500", "6.497", "6.501", "new"},
		{"TM 9-2815-252-24, SP-f", "smaller", in, "1.72 - 1.79", "reject 1.67 or less", "1.67", "beyond"},
		{"TM 9-2815-252-24, SP-f", "smaller", in, "1.72 - 1.79", "reject 1.67 or less", "1.671", "service"},
		{"TM 5-3810-206-35, row 11", "fit", in, "0.0030 - 0.0059", "reject 0.008 or more", "0.008", "beyond"},
		{"TM 5-3810-206-35, row 11", "fit", in, "0.0030 - 0.0059", "reject 0.008 or more", "0.0079", "service"},
		{"TM 5-6115-584-34, row 17", "smaller", in, "0.9899 - 0.9901", "wear 0.001", "0.9891", "service"},
		{"TM 5-6115-584-34, row 17", "smaller", in, "0.9899 - 0.9901", "wear 0.001", "0.9889", "in doubt"},
		{"TM 5-6115-584-34, row 17", "smaller", in, "0.9899 - 0.9901", "wear 0.001", "0.9890", "in doubt"},
		{"TM 5-6115-584-34, row 17", "smaller", in, "0.9899 - 0.9901", "wear 0.001", "0.9888", "beyond"},
		{"TM 9-2815-220-24, row 7a", "both", lbf, "134.2", "+/- 13.42", "121.0", "service"},
		{"TM 9-2815-220-24, row 7a", "both", lbf, "134.2", "+/- 13.42", "120.5", "beyond"},
		{"TM 9-2815-220-24, row 7a", "both", lbf, "134.2", "+/- 13.42", "148.0", "beyond"},
		{"TM 9-2815-220-24, row 7a", "both", lbf, "134.2", "+/- 13.42", "120.78", "service"},
		{"TM 9-2815-220-24, row 7a", "both", lbf, "134.2", "+/- 13.42", "147.62", "service"},
		{"TM 9-2520-246-34, E-F", "fit", in, "0.0005T-0.0015T", "0.000T", "-0.0002", "service"},
		{"TM 9-2520-246-34, E-F", "fit", in, "0.0005T-0.0015T", "0.000T", "0.0001", "beyond"},
		{"TM 9-2520-246-34, E-F", "fit", in, "0.0005T-0.0015T", "0.000T", "-0.0016", "beyond"},
		{"TM 9-2520-246-34, C", "smaller", in, "4.3301 - 4.3307", "same as new", "4.3300", "beyond"},
	} {
		n := notation(c.wears, c.unit)
		l, err := n.Parse(c.new, c.service)
		if err != nil {
			t.Fatal(err)
		}
		v := figure(t, c.value, c.unit)
		ends := limit.Ends{Low: v, High: v}
		got := "beyond"
		if i := l.Tier(ends, n.Held); i < len(l.Tiers) {
			got = l.Tiers[i].Name
		}
		if got == "beyond" && l.Held != nil && l.Held.Meets(ends, n.Held) {
			got = "in doubt"
		}
		if got != c.want {
			t.Errorf("%s: %s against %q, %q is %s, want %s", c.from, c.value, c.new, c.service, got, c.want)
		}
	}
}

// A fit whose two ends lie on two sides of a limit is beyond it, however good
// one of them is.
func TestBothEndsCount(t *testing.T) {
	r := written(t, "0.0010..0.0035", quantity.Inch)
	for _, c := range []struct {
		low, high string
		held      limit.Side
		want      bool
	}{
		{"0.0010", "0.0035", limit.Both, true},
		{"0.0009", "0.0035", limit.Both, false},
		{"0.0010", "0.0036", limit.Both, false},
		{"0.0009", "0.0035", limit.High, true},
		{"0.0010", "0.0036", limit.High, false},
		{"0.0010", "0.0036", limit.Low, true},
		{"0.0009", "0.0035", limit.Low, false},
	} {
		ends := limit.Ends{Low: figure(t, c.low, quantity.Inch), High: figure(t, c.high, quantity.Inch)}
		if got := r.Meets(ends, c.held); got != c.want {
			t.Errorf("%s to %s, held on side %d: %v, want %v", c.low, c.high, c.held, got, c.want)
		}
	}
}

// ratio draws a figure with what it is by math/big, close together so that
// equal values are met often.
func ratio(t *rapid.T, label string) (quantity.Figure, *big.Rat) {
	num := rapid.OneOf(rapid.Int64Range(-9, 9), rapid.Int64Range(-1e12, 1e12)).Draw(t, label)
	den := rapid.Int64Range(1, 4).Draw(t, label+" under")
	f, err := quantity.TenthsOfNanometre(num).Figure().Scaled(1, den)
	if err != nil {
		t.Fatal(err)
	}
	return f, big.NewRat(num, den)
}

func TestRangeAgreesWithBigRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, rv := ratio(t, "v")
		within := true
		edge := func(label string, sign int) limit.Edge {
			at, ra := ratio(t, label)
			e := limit.Edge{At: at, Set: rapid.Bool().Draw(t, label+" set"), Open: rapid.Bool().Draw(t, label+" open")}
			if inside := sign * rv.Cmp(ra); e.Set && (inside < 0 || inside == 0 && e.Open) {
				within = false
			}
			return e
		}
		r := limit.Range{Min: edge("min", 1), Max: edge("max", -1)}
		if got := r.Contains(v); got != within {
			t.Fatalf("%s within %v: %v, want %v", rv, r, got, within)
		}
		if within && r.Empty() {
			t.Fatalf("%s lies within %v, which is empty", rv, r)
		}
		if got := r.Meets(limit.Ends{Low: v, High: v}, limit.Both); got != within {
			t.Fatalf("%s meets %v: %v, want %v", rv, r, got, within)
		}
	})
}

func TestWiderLimitsNeverMakeAVerdictWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, _ := ratio(t, "low")
		b, _ := ratio(t, "high")
		if a.Cmp(b) > 0 {
			a, b = b, a
		}
		ends := limit.Ends{Low: a, High: b}
		held := limit.Side(rapid.IntRange(0, 2).Draw(t, "held"))
		var narrow, wide limit.Limit
		for range rapid.IntRange(1, 3).Draw(t, "tiers") {
			var r, w limit.Range
			for i, e := range []*limit.Edge{&r.Min, &r.Max} {
				at, _ := ratio(t, "edge")
				*e = limit.Edge{At: at, Set: rapid.Bool().Draw(t, "set"), Open: rapid.Bool().Draw(t, "open")}
				further := *e
				if more, _ := ratio(t, "more"); more.Sign() > 0 {
					var err error
					if further.At, err = e.At.Plus(2*i-1, more); err != nil {
						t.Fatal(err)
					}
				}
				further.Open = e.Open && rapid.Bool().Draw(t, "still open")
				further.Set = e.Set && rapid.Bool().Draw(t, "still set")
				*[]*limit.Edge{&w.Min, &w.Max}[i] = further
			}
			narrow.Tiers = append(narrow.Tiers, limit.Tier{Range: r})
			wide.Tiers = append(wide.Tiers, limit.Tier{Range: w})
		}
		if n, w := narrow.Tier(ends, held), wide.Tier(ends, held); w > n {
			t.Fatalf("%v is in tier %d of %v, in tier %d of the wider %v", ends, n, narrow, w, wide)
		}
	})
}

// On the sides that a limit holds, its service tier leaves out nothing of the
// new one, and a held reading nothing of either.
func TestParsedTiersWiden(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wears := rapid.SampledFrom([]string{"smaller", "larger", "fit"}).Draw(t, "wears")
		count := rapid.Int64Range(1, 60)
		text := func(n int64) string {
			s, _ := quantity.TenthsOfNanometre(n*25_400).Text(quantity.Inch, 4)
			return s
		}
		newCell := text(count.Draw(t, "a")) + " - " + text(count.Draw(t, "b"))
		figure := text(count.Draw(t, "c"))
		serviceCell := rapid.SampledFrom([]string{
			"C", "wear C", "wear C from min", "wear C from max", "max C", "min C", "under C", "over C",
		}).Draw(t, "service")
		n := notation(wears, quantity.Inch)
		l, err := n.Parse(newCell, strings.Replace(serviceCell, "C", figure, 1))
		if err != nil {
			return
		}
		// Where the base of an amount of wear is not stated, the stricter reading
		// may lie inside the new range; the more generous one goes beyond both.
		narrow, wide := []limit.Range{l.Tiers[0].Range}, l.Tiers[1].Range
		if l.Held != nil {
			narrow, wide = append(narrow, wide), *l.Held
		}
		v := quantity.TenthsOfNanometre(rapid.Int64Range(0, 120).Draw(t, "v") * 25_400).Figure()
		ends := limit.Ends{Low: v, High: v}
		for _, r := range narrow {
			if r.Meets(ends, n.Held) && !wide.Meets(ends, n.Held) {
				t.Fatalf("%s %q, %q: %v is within %v, not within the wider %v", wears, newCell, serviceCell, v, r, wide)
			}
		}
	})
}
