package judge_test

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A taken is a reading at a spot of the bench, in ten-thousandths of an inch:
// the oracles below reckon with whole numbers.
type taken struct {
	spot   book.SpotID
	tenths int
}

const tenth = 254 * 100 // 0.0001 in, in tenths of a nanometre

// around says what readings of each feature of testdata/bench.yaml are drawn
// from, in ten-thousandths of an inch: from better than new to beyond.
var around = map[string][2]int{
	"crank.main":    {23726, 23757},
	"crank.dial":    {-45, 45},
	"crank.end":     {58, 205},
	"case.bore":     {25657, 25674},
	"case.shell":    {938, 946},
	"cylinder.bore": {51245, 51310},
	"rod.bush":      {9901, 9908},
	"pin.body":      {9887, 9902},
}

func anyValue(t *rapid.T, b *book.Book, id book.SpotID) int {
	r := around[b.FeatureAt(id).Ref()]
	return rapid.IntRange(r[0], r[1]).Draw(t, b.Spots[id].String())
}

// anyReadings draws readings of the bench; counts are how many one spot may
// have, one of which is drawn for each.
func anyReadings(t *rapid.T, b *book.Book, counts ...int) []taken {
	var all []taken
	for i := range b.Spots {
		for range rapid.SampledFrom(counts).Draw(t, "count") {
			all = append(all, taken{book.SpotID(i), anyValue(t, b, book.SpotID(i))})
		}
	}
	return all
}

// judged judges every line of the book on the readings.
func judged(b *book.Book, all []taken) []judge.Verdict {
	list := make([]reading.Reading, len(all))
	for i, m := range all {
		list[i] = reading.Reading{Spot: m.spot, Value: quantity.TenthsOfNanometre(int64(m.tenths) * tenth).Figure()}
	}
	return judge.Book(b, judge.Given{}, judge.File(b, list).At)
}

// sameVerdicts compares all of two verdicts but the line that they point at.
var sameVerdicts = cmp.Options{
	cmp.Comparer(func(a, b quantity.Figure) bool { return a == b }),
	cmpopts.IgnoreFields(judge.Verdict{}, "Line"),
	cmpopts.IgnoreFields(limit.Tier{}, "Printed"),
}

// rank orders how verdicts stand on what has been read, held between
// serviceable and beyond; −1 where nothing is measured.
func rank(v *judge.Verdict) int {
	switch {
	case !v.Measured:
		return -1
	case v.SoFar == judge.New:
		return 0
	case v.SoFar == judge.Serviceable:
		return 1
	case v.SoFar == judge.NoGrade:
		return 2
	}
	return 3
}

func isMean(v *judge.Verdict) bool {
	return v.Line.Judges == book.Size && v.Line.Terms[0].Feature.Counts == book.Mean
}

func TestOrderNeverMatters(t *testing.T) {
	b := loadBook(t, testdata(t, "bench.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyReadings(t, b, 0, 1, 1, 1, 2, 3)
		other := rapid.Permutation(all).Draw(t, "other order")
		if diff := cmp.Diff(judged(b, all), judged(b, other), sameVerdicts); diff != "" {
			t.Fatalf("in another order (-one +other):\n%s", diff)
		}
	})
}

// One more reading, at an open spot or at one that is measured, never tightens
// an end and never makes what is beyond better. A mean is not an extreme.
func TestOneMoreNeverHelps(t *testing.T) {
	b := loadBook(t, testdata(t, "bench.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyReadings(t, b, 0, 0, 1, 1, 2)
		id := book.SpotID(rapid.IntRange(0, len(b.Spots)-1).Draw(t, "spot"))
		before, after := judged(b, all), judged(b, append(slices.Clip(all), taken{id, anyValue(t, b, id)}))
		for i := range before {
			was, is := &before[i], &after[i]
			if isMean(was) || !was.Measured {
				continue
			}
			name := was.Line.ID(was.At)
			form := was.Line.Judges != book.Size && was.Line.Judges != book.Fit
			if is.Ends.High.Cmp(was.Ends.High) < 0 || !form && is.Ends.Low.Cmp(was.Ends.Low) > 0 {
				t.Errorf("%s: %s became %s", name, show(was), show(is))
			}
			if rank(is) < rank(was) || was.Grade == judge.Beyond && is.Grade != judge.Beyond {
				t.Errorf("%s: %s became better: %s", name, show(was), show(is))
			}
			// Held on both sides, the end that is further out may have the wider allowance.
			oneSide := was.Line.Held != limit.Both
			if oneSide && was.HasAllowance && is.HasAllowance && is.Allowance < was.Allowance {
				t.Errorf("%s: less of the allowance is used: %s, then %s", name, show(was), show(is))
			}
		}
	})
}

// Of two live readings at one spot the worse governs, for every sort of line,
// and a person is asked to settle them.
func TestWorseOfTwoGoverns(t *testing.T) {
	b := loadBook(t, testdata(t, "bench.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyReadings(t, b, 1)
		at := rapid.IntRange(0, len(all)-1).Draw(t, "at")
		second := taken{all[at].spot, anyValue(t, b, all[at].spot)}
		swapped := slices.Clone(all)
		swapped[at] = second
		one, other, both := judged(b, all), judged(b, swapped), judged(b, append(slices.Clip(all), second))
		for i := range both {
			v := &both[i]
			if got, want := rank(v), max(rank(&one[i]), rank(&other[i])); got != want {
				t.Errorf("%s: with both %s; alone %s and %s", v.Line.ID(v.At), show(v), show(&one[i]), show(&other[i]))
			}
			var settle []book.SpotID
			for _, a := range v.Asks {
				if a.Kind == judge.Settle {
					settle = append(settle, a.Spot)
				}
			}
			var want []book.SpotID
			if slices.Contains(v.Line.Instances[v.At].Spots, second.spot) {
				want = append(want, second.spot)
			}
			if !slices.Equal(settle, want) {
				t.Errorf("%s: asked to settle %v, want %v", v.Line.ID(v.At), settle, want)
			}
		}
	})
}

// While spots are open the grade is none, or beyond where one more reading
// cannot change that; what it would be so far stands beside it.
func TestOpenHasNoGradeButBeyond(t *testing.T) {
	b := loadBook(t, testdata(t, "bench.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyReadings(t, b, 0, 1, 1, 1, 1, 1)
		read := map[book.SpotID]bool{}
		for _, m := range all {
			read[m.spot] = true
		}
		for _, v := range judged(b, all) {
			var missing []book.SpotID
			for _, id := range v.Line.Instances[v.At].Spots {
				if !read[id] {
					missing = append(missing, id)
				}
			}
			want := v.SoFar
			if len(missing) > 0 && (want != judge.Beyond || isMean(&v)) {
				want = judge.NoGrade
			}
			if !slices.Equal(v.Missing, missing) || v.Open() != (len(missing) > 0) || v.Grade != want {
				t.Errorf("%s: %s with %d open, want grade %s", v.Line.ID(v.At), show(&v), len(missing), want)
			}
		}
	})
}

// One inch is 25.4 mm exactly (NIST SP 811, 2008, appendix B): a book and
// readings in inches and the same in millimetres make the same verdicts.
func TestInchAndMillimetre(t *testing.T) {
	inch, metric := loadBook(t, testdata(t, "bench.yaml")), loadBook(t, testdata(t, "bench-mm.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyReadings(t, inch, 0, 1, 1, 1, 1, 2)
		var inInch, inMetric strings.Builder
		inInch.WriteString("spot,value\n")
		inMetric.WriteString("spot,value\n")
		for _, m := range all {
			sign, n := "", m.tenths
			if n < 0 {
				sign, n = "-", -n
			}
			fmt.Fprintf(&inInch, "%s,%s%d.%04d\n", inch.Spots[m.spot], sign, n/1e4, n%1e4)
			fmt.Fprintf(&inMetric, "%s,%s%d.%05d\n", inch.Spots[m.spot], sign, n*254/1e5, n*254%1e5)
		}
		judgeText := func(b *book.Book, text string) []judge.Verdict {
			f := reading.Load("readings.csv", []byte(text), b, false)
			if len(f.Faults) > 0 {
				t.Fatal(f.Faults)
			}
			return judge.Book(b, judge.Given{}, judge.File(b, f.Readings).At)
		}
		if diff := cmp.Diff(judgeText(inch, inInch.String()), judgeText(metric, inMetric.String()), sameVerdicts); diff != "" {
			t.Fatalf("in millimetres (-in +mm):\n%s", diff)
		}
	})
}

// What the judge finds is what comes of trying every choice of readings: one
// at each spot for a mean, one of each feature for a fit, each pair at two
// spots for a form. The oracle reckons in ratios of whole ten-thousandths.
func TestEndsAgainstEveryChoice(t *testing.T) {
	b := loadBook(t, testdata(t, "bench.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyReadings(t, b, 0, 1, 1, 1, 2)
		for _, v := range judged(b, all) {
			choices := everyChoice(b, v.Line, v.At, all)
			if v.Measured != (len(choices) > 0) {
				t.Fatalf("%s: measured is %v, with %d choices", v.Line.ID(v.At), v.Measured, len(choices))
			}
			if !v.Measured {
				continue
			}
			most := slices.MaxFunc(choices, (*big.Rat).Cmp)
			least := slices.MinFunc(choices, (*big.Rat).Cmp)
			if v.Line.Judges != book.Size && v.Line.Judges != book.Fit {
				least = most
			}
			count := big.NewRat(tenth, 1)
			if v.Line.Judges == book.TaperRate {
				count = big.NewRat(1, 1)
			}
			low, high := new(big.Rat).Mul(least, count), new(big.Rat).Mul(most, count)
			if v.Ends.Low.Rat().Cmp(low) != 0 || v.Ends.High.Rat().Cmp(high) != 0 {
				t.Errorf("%s: %s, want %s to %s", v.Line.ID(v.At), show(&v), least.FloatString(6), most.FloatString(6))
			}
		}
	})
}

// everyChoice returns, for every choice of readings, what it comes to.
func everyChoice(b *book.Book, l *book.Line, at int, all []taken) []*big.Rat {
	of := func(s *book.Site) (list []taken) {
		for _, m := range all {
			if slices.Contains(s.Spots, m.spot) {
				list = append(list, m)
			}
		}
		return list
	}
	sites := l.Instances[at].Sites
	here := of(sites[0])
	var out []*big.Rat
	switch {
	case l.Judges == book.Fit:
		sums := []int{0}
		for i, s := range sites {
			var longer []int
			for _, sum := range sums {
				for _, m := range of(s) {
					longer = append(longer, sum+l.Terms[i].Times*m.tenths)
				}
			}
			sums = longer
		}
		for _, sum := range sums {
			out = append(out, big.NewRat(int64(sum), 1))
		}
	case l.Judges == book.Size && l.Terms[0].Feature.Counts == book.Mean:
		sums, spots := []int{0}, 0
		for _, id := range sites[0].Spots {
			var longer []int
			for _, m := range here {
				if m.spot == id {
					for _, sum := range sums {
						longer = append(longer, sum+m.tenths)
					}
				}
			}
			if len(longer) > 0 {
				sums, spots = longer, spots+1
			}
		}
		if spots == 0 {
			return nil
		}
		for _, sum := range sums {
			out = append(out, big.NewRat(int64(sum), int64(spots)))
		}
	case l.Judges == book.Size:
		for _, m := range here {
			out = append(out, big.NewRat(int64(m.tenths), 1))
		}
	default:
		for _, m := range here {
			for _, n := range here {
				if r := formOf(b, l, m, n); r != nil {
					out = append(out, r)
				}
			}
		}
	}
	return out
}

// formOf returns the form error that two readings of a site show, nil where
// they show none: taken at one spot, or not in one plane or direction.
func formOf(b *book.Book, l *book.Line, m, n taken) *big.Rat {
	p, q := b.Spots[m.spot], b.Spots[n.spot]
	lengthwise := l.Judges == book.Taper || l.Judges == book.TaperRate
	if m.spot == n.spot || lengthwise && p.Direction != q.Direction || !lengthwise && p.Plane != q.Plane {
		return nil
	}
	r := big.NewRat(int64(m.tenths-n.tenths), 1)
	r.Abs(r)
	switch l.Judges {
	case book.Bend:
		r.Mul(r, big.NewRat(1, 2))
	case book.TaperRate:
		f := l.Terms[0].Feature
		along := func(s book.Spot) int64 {
			return f.Along[slices.Index(f.Planes, s.Plane)].TenthsOfNanometre()
		}
		distance := big.NewRat(along(p)-along(q), tenth)
		r.Quo(r, distance.Abs(distance))
	}
	return r
}
