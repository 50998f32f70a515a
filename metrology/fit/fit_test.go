package fit_test

import (
	"encoding/csv"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tenths/metrology/fit"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

func length(t testing.TB, text, unit string) quantity.Length {
	t.Helper()
	l, _, err := quantity.Format{}.Length(text + " " + unit)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// part is a term of the sizes from "smallest-largest" in inches, written in
// either order, as manuals do.
func part(t testing.TB, times int, sizes string) fit.Term {
	t.Helper()
	a, b, ranged := strings.Cut(sizes, "-")
	if !ranged {
		b = a
	}
	s, l := length(t, a, "in"), length(t, b, "in")
	if s.Cmp(l) > 0 {
		s, l = l, s
	}
	return fit.Term{Times: times, Smallest: s, Largest: l}
}

// rows reads a CSV file and calls do with each row's columns by name.
func rows(t testing.TB, path string, do func(col func(string) string)) int {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range all[0] {
		at[name] = i
	}
	for _, row := range all[1:] {
		do(func(name string) string {
			i, ok := at[name]
			if !ok {
				t.Fatalf("%s has no column %q", path, name)
			}
			return row[i]
		})
	}
	return len(all) - 1
}

// holeAndShaft is the fit of two parts from their deviations.
func holeAndShaft(nominal, holeUpper, holeLower, shaftUpper, shaftLower quantity.Length) fit.Ends {
	return fit.Of(
		fit.Term{Times: 1, Smallest: nominal.Plus(1, holeLower), Largest: nominal.Plus(1, holeUpper)},
		fit.Term{Times: -1, Smallest: nominal.Plus(1, shaftLower), Largest: nominal.Plus(1, shaftUpper)},
	)
}

// testdata/fits.csv holds fits of ISO 286 and ANSI B4.1 with their sources;
// the nominal sizes of the latter are our own, from inside the range.
func TestPublishedFits(t *testing.T) {
	n := rows(t, "testdata/fits.csv", func(col func(string) string) {
		deviation := func(name string) quantity.Length { return length(t, col(name), col("unit")) }
		got := holeAndShaft(length(t, col("nominal"), col("nominal_unit")),
			deviation("hole_upper"), deviation("hole_lower"), deviation("shaft_upper"), deviation("shaft_lower"))
		if want := (fit.Ends{Tightest: deviation("tightest"), Loosest: deviation("loosest")}); got != want {
			t.Errorf("%s: %v, want %v: %s", col("fit"), got, want, col("source"))
		}
	})
	if n != 12 {
		t.Errorf("%d fits", n)
	}
}

var isoFit = regexp.MustCompile(`^(\d+) H(\d)/([a-z])(\d)$`)

// The same ISO fits from the tables of tolerance grades and deviations
// (testdata/iso286.csv): an H hole begins at the nominal size, shafts e to g lie
// below it by their upper deviation, n to s above it by their lower one.
func TestFitsFromTheTablesOfISO286(t *testing.T) {
	micrometres := func(symbol, nominal string) quantity.Length {
		size := length(t, nominal, "mm")
		var um quantity.Length
		found := 0
		rows(t, "testdata/iso286.csv", func(col func(string) string) {
			over, upTo := length(t, col("over"), "mm"), length(t, col("upto"), "mm")
			if col("symbol") == symbol && size.Cmp(over) > 0 && size.Cmp(upTo) <= 0 { // the upper end is in
				um = length(t, col("um"), "um")
				found++
			}
		})
		if found != 1 {
			t.Fatalf("%d values of %s for %s mm", found, symbol, nominal)
		}
		return um
	}
	n := 0
	rows(t, "testdata/fits.csv", func(col func(string) string) {
		m := isoFit.FindStringSubmatch(col("fit"))
		if m == nil {
			return
		}
		n++
		nominal, letter := m[1], m[3]
		var none quantity.Length
		upper := micrometres(letter, nominal)
		lower := upper.Plus(-1, micrometres("IT"+m[4], nominal))
		if letter >= "n" {
			lower = micrometres(letter, nominal)
			upper = lower.Plus(1, micrometres("IT"+m[4], nominal))
		}
		got := holeAndShaft(length(t, nominal, "mm"), micrometres("IT"+m[2], nominal), none, upper, lower)
		want := fit.Ends{Tightest: length(t, col("tightest"), "um"), Loosest: length(t, col("loosest"), "um")}
		if got != want {
			t.Errorf("%s from the tables is %v, published %v", col("fit"), got, want)
		}
	})
	if n != 4 {
		t.Errorf("%d fits of ISO 286", n)
	}
}

// testdata/printed.csv holds bores and shafts of public military manuals with
// the fit they make by hand; where printed is empty the manual prints it too,
// elsewhere it prints what printed says, which its own sizes don't make.
func TestFitsOfPrintedSizes(t *testing.T) {
	off := 0
	n := rows(t, "testdata/printed.csv", func(col func(string) string) {
		got := fit.Of(part(t, 1, col("bore")), part(t, -1, col("shaft")))
		want := fit.Ends{Tightest: length(t, col("tightest"), "in"), Loosest: length(t, col("loosest"), "in")}
		if got != want {
			t.Errorf("%s: bore %s, shaft %s make %v, want %v", col("manual"), col("bore_ref"), col("shaft_ref"), got, want)
		}
		if tightest, loosest, ok := strings.Cut(col("printed"), ".."); ok {
			off++
			if got == (fit.Ends{Tightest: length(t, tightest, "in"), Loosest: length(t, loosest, "in")}) {
				t.Errorf("%s %s is as printed after all", col("manual"), col("fit_ref"))
			}
		}
	})
	if n != 23 || off != 5 {
		t.Errorf("%d fits, %d of them not as printed", n, off)
	}
}

func TestStacks(t *testing.T) {
	for _, c := range []struct {
		from              string
		terms             []fit.Term
		tightest, loosest string
	}{
		// The manual prints 0.0025 to 0.0065 and 0.0036 to 0.0075, which its own
		// sizes don't make.
		{
			"TM 9-6115-604-34, p. 1-14, CK-rc: rod bore, two shells, journal",
			[]fit.Term{part(t, 1, "4.5017-4.5027"), part(t, -2, "0.1237-0.1242"), part(t, -1, "4.2485-4.2500")},
			"0.0033", "0.0068",
		},
		{
			"TM 9-6115-604-34, p. 1-14, CK-mc: case bore, two shells, journal",
			[]fit.Term{part(t, 1, "6.8450-6.8460"), part(t, -2, "0.1700-0.1707"), part(t, -1, "6.498-6.500")},
			"0.0036", "0.0080",
		},
		{
			"the same, the shells measured one by one",
			[]fit.Term{part(t, 1, "4.5020"), part(t, -1, "0.1240"), part(t, -1, "0.1238"), part(t, -1, "4.2490")},
			"0.0052", "0.0052",
		},
		{
			"two like bores less their shafts, our own",
			[]fit.Term{part(t, 2, "1.0000-1.0004"), part(t, -2, "0.9990-0.9993")},
			"0.0014", "0.0028",
		},
		{"a part that does not count", []fit.Term{part(t, 1, "1.0000-1.0004"), part(t, 0, "5-7")}, "1.0000", "1.0004"},
		{"one part alone", []fit.Term{part(t, -1, "1.0000-1.0004")}, "-1.0004", "-1.0000"},
		{"no parts", nil, "0", "0"},
	} {
		want := fit.Ends{Tightest: length(t, c.tightest, "in"), Loosest: length(t, c.loosest, "in")}
		if got := fit.Of(c.terms...); got != want {
			t.Errorf("%s: %v, want %v", c.from, got, want)
		}
	}
}

// terms draws the parts of a stack.
func terms(t *rapid.T) []fit.Term {
	var all []fit.Term
	for range rapid.IntRange(0, 6).Draw(t, "parts") {
		s := rapid.Int64Range(-1e12, 1e12).Draw(t, "smallest")
		more := rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(0, 1e9)).Draw(t, "more")
		all = append(all, fit.Term{
			Times:    rapid.IntRange(-4, 4).Draw(t, "times"),
			Smallest: quantity.TenthsOfNanometre(s),
			Largest:  quantity.TenthsOfNanometre(s + more),
		})
	}
	return all
}

func TestOrderOfTermsNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := terms(t)
		want := fit.Of(all...)
		shuffled := rapid.Permutation(all).Draw(t, "order")
		if got := fit.Of(shuffled...); got != want {
			t.Fatalf("%v in this order, %v in that", want, got)
		}
		if want.Tightest.Cmp(want.Loosest) > 0 {
			t.Fatalf("tightest is looser than loosest: %v", want)
		}
	})
}

func TestWideningOnePartNeverNarrowsTheFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := terms(t)
		if len(all) == 0 {
			return
		}
		before := fit.Of(all...)
		i := rapid.IntRange(0, len(all)-1).Draw(t, "which")
		more := rapid.Int64Range(0, 1e9)
		all[i].Smallest = all[i].Smallest.Plus(-1, quantity.TenthsOfNanometre(more.Draw(t, "smaller")))
		all[i].Largest = all[i].Largest.Plus(1, quantity.TenthsOfNanometre(more.Draw(t, "larger")))
		after := fit.Of(all...)
		if after.Tightest.Cmp(before.Tightest) > 0 || after.Loosest.Cmp(before.Loosest) < 0 {
			t.Fatalf("the fit was %v, with a wider part %v", before, after)
		}
	})
}

// Every choice of sizes inside the parts' own lies between the two ends, and
// the ends are reached.
func TestEndsAreTheWorstOfAllChoices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := terms(t)
		ends := fit.Of(all...)
		var some, tightest, loosest quantity.Length
		for _, p := range all {
			width := p.Largest.Plus(-1, p.Smallest).TenthsOfNanometre()
			size := p.Smallest.Plus(1, quantity.TenthsOfNanometre(rapid.Int64Range(0, width).Draw(t, "size")))
			some = some.Plus(p.Times, size)
			small, large := p.Smallest, p.Largest
			if p.Times < 0 {
				small, large = large, small
			}
			tightest, loosest = tightest.Plus(p.Times, small), loosest.Plus(p.Times, large)
		}
		if some.Cmp(ends.Tightest) < 0 || some.Cmp(ends.Loosest) > 0 {
			t.Fatalf("%v lies outside of %v", some, ends)
		}
		if want := (fit.Ends{Tightest: tightest, Loosest: loosest}); ends != want {
			t.Fatalf("%v, want %v", ends, want)
		}
	})
}

func TestAPartLessItselfIsNought(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := quantity.TenthsOfNanometre(rapid.Int64Range(-1e12, 1e12).Draw(t, "x"))
		k := rapid.IntRange(1, 4).Draw(t, "k")
		got := fit.Of(fit.Term{Times: k, Smallest: x, Largest: x}, fit.Term{Times: -k, Smallest: x, Largest: x})
		if got != (fit.Ends{}) {
			t.Fatalf("%v less itself is %v", x, got)
		}
		// A part of which only the ends are known may differ from its like.
		y := x.Plus(1, quantity.TenthsOfNanometre(rapid.Int64Range(0, 1e9).Draw(t, "width")))
		got = fit.Of(fit.Term{Times: 1, Smallest: x, Largest: y}, fit.Term{Times: -1, Smallest: x, Largest: y})
		if got.Loosest != y.Plus(-1, x) || got.Tightest != x.Plus(-1, y) {
			t.Fatalf("%v to %v less its like is %v", x, y, got)
		}
	})
}

// BenchmarkFit judges fits of two parts at both ends. The parts are drawn by
// chance, so that no verdict can be foretold from the ones before it, and about
// a third each are new, serviceable and beyond.
func BenchmarkFit(b *testing.B) {
	n := limit.Notation{
		Format: quantity.Format{Unit: quantity.Inch},
		Fit:    true, Held: limit.Both, Lone: limit.High,
	}
	l, err := n.Parse("0.0010L..0.0035L", "0.0050L")
	if err != nil {
		b.Fatal(err)
	}
	tenth := func(n int) quantity.Length { return quantity.TenthsOfNanometre(int64(n) * 25_400) }
	chance := rand.New(rand.NewPCG(1, 2))
	pairs := make([][2]fit.Term, 1<<12)
	for i := range pairs {
		bore, shaft := 22498+chance.IntN(36), 22480-chance.IntN(6)
		pairs[i] = [2]fit.Term{
			{Times: 1, Smallest: tenth(bore), Largest: tenth(bore + chance.IntN(5))},
			{Times: -1, Smallest: tenth(shaft - chance.IntN(5)), Largest: tenth(shaft)},
		}
	}
	var seen [3]int
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		p := &pairs[i%len(pairs)]
		i++
		e := fit.Of(p[0], p[1])
		seen[l.Tier(limit.Ends{Low: e.Tightest.Figure(), High: e.Loosest.Figure()}, limit.Both)]++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "fits/s")
	for tier, times := range seen {
		if b.N > len(pairs) && times < b.N/5 {
			b.Errorf("only %d of %d fits were in tier %d", times, b.N, tier)
		}
	}
}
