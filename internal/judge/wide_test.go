package judge_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

// near says around what a feature's readings are drawn, in ten-thousandths of
// its unit.
var near = map[string][2]int{
	"crank.main": {23728, 23757}, "crank.dial": {-20, 20}, "crank.end": {48, 112}, "crank.width": {3980, 3990},
	"case.bore": {25659, 25672}, "case.insert": {939, 946}, "case.shell": {939, 946}, "case.width": {5198, 5208},
	"case.flat": {0, 1}, "case.crack": {0, 1},
	"cylinder.bore": {51248, 51268}, "cylinder.gap": {299, 330}, "spring.load": {57_0000, 63_0000},
	"cam.lift": {3888, 3906}, "pin.body": {9887, 9902},
}

// figureOf is tenths ten-thousandths of the feature's unit.
func figureOf(f *book.Feature, halves int) quantity.Figure {
	if f.Unit.Kind() == quantity.LengthKind {
		return quantity.TenthsOfNanometre(int64(halves) * tenth / 2).Figure()
	}
	if f.Class == book.Check {
		return quantity.Length{}.Figure()
	}
	text := fmt.Sprintf("%d.%05d", halves/20_000, halves%20_000*5)
	v, _, err := quantity.Format{Unit: f.Unit}.Figure(text)
	if err != nil {
		panic(err)
	}
	return v
}

func anyBound(t *rapid.T, f *book.Feature, halves int, label string) reading.Bound {
	return reading.Bound{At: figureOf(f, halves), Set: true, Open: rapid.Bool().Draw(t, label+" open")}
}

// anyOf draws one reading at a spot, of one of the kinds.
func anyOf(t *rapid.T, b *book.Book, id book.SpotID, kinds ...reading.Kind) reading.Reading {
	f := b.FeatureAt(id)
	r := reading.Reading{Spot: id, Kind: rapid.SampledFrom(kinds).Draw(t, b.Spots[id].String())}
	low, high := near[f.Ref()][0], near[f.Ref()][1]
	value := rapid.IntRange(low, high).Draw(t, "value")
	switch r.Kind {
	case reading.Size, reading.Deviation:
		r.Value = figureOf(f, 2*value)
	case reading.Bracket, reading.Band:
		width := rapid.IntRange(1, 4).Draw(t, "width")
		sides := rapid.SampledFrom([]string{"both", "both", "both", "low", "high"}).Draw(t, "sides")
		if sides != "high" {
			r.Low = anyBound(t, f, 2*value, "low")
		}
		if sides != "low" {
			r.High = anyBound(t, f, 2*(value+width), "high")
		}
	case reading.YesNo:
		r.Yes = rapid.Bool().Draw(t, "yes")
	}
	return r
}

// kindsFor are the kinds of reading that a feature takes from a file.
func kindsFor(f *book.Feature) []reading.Kind {
	if f.Class == book.Check {
		return []reading.Kind{reading.YesNo}
	}
	return []reading.Kind{reading.Size, reading.Size, reading.Size, reading.Deviation, reading.Bracket, reading.Band}
}

var everyKind = []reading.Kind{reading.Size, reading.Deviation, reading.Bracket, reading.Band, reading.YesNo}

// anyWide draws readings of the wide bench: at each spot one of the counts,
// with steps, stages and items.
func anyWide(t *rapid.T, b *book.Book, kinds func(*book.Feature) []reading.Kind, counts ...int) []reading.Reading {
	var all []reading.Reading
	odd := rapid.Bool().Draw(t, "steps, stages and items differ")
	for i := range b.Spots {
		id := book.SpotID(i)
		for range rapid.SampledFrom(counts).Draw(t, "count") {
			r := anyOf(t, b, id, kinds(b.FeatureAt(id))...)
			if odd {
				r.Step = rapid.SampledFrom([]string{"", "", "", "", "std", "m002", "m010", "none"}).Draw(t, "step")
				r.Stage = rapid.SampledFrom([]int{0, 0, 0, 0, 1, 2}).Draw(t, "stage")
				r.Item = rapid.SampledFrom([]string{"", "", "", "A", "B"}).Draw(t, "item")
			}
			all = append(all, r)
		}
	}
	return all
}

var givens = []judge.Given{
	{},
	{Serial: "2100"},
	{Serial: "100", Conditions: map[string]string{"bushing": "new"}},
	{Serial: "4000", Conditions: map[string]string{"bushing": "used"}},
}

// Whatever is read and however, every line comes to something: a grade, spots
// that are open, a question, or the reason why it is not graded. And whatever
// it comes to has its words.
func TestEveryLineComesToSomething(t *testing.T) {
	b := loadBook(t, testdata(t, "wide.yaml"))
	for name, kinds := range map[string]func(*book.Feature) []reading.Kind{
		"as a file gives them": kindsFor,
		"any anywhere":         func(*book.Feature) []reading.Kind { return everyKind },
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				r := judge.File(b, anyWide(t, b, kinds, 0, 1, 1, 1, 1, 1, 2))
				w := judge.Words{Book: b, Unit: rapid.SampledFrom([]quantity.Unit{quantity.NoUnit, quantity.Millimetre}).Draw(t, "unit")}
				for _, v := range judge.Book(b, rapid.SampledFrom(givens).Draw(t, "given"), r.At) {
					id := v.Line.ID(v.At)
					switch {
					case v.Grade == judge.NoGrade && !v.Open() && len(v.Asks) == 0 && v.Ungraded == "":
						t.Errorf("%s: no grade, and nothing says why", id)
					case v.Ungraded != "" && (v.Grade != judge.NoGrade || v.SoFar != judge.NoGrade):
						t.Errorf("%s: graded %s, and not graded: %s", id, v.Grade, v.Ungraded)
					case v.Open() && v.Grade != judge.NoGrade && v.Grade != judge.Beyond:
						t.Errorf("%s: %s with spots open", id, v.Grade)
					case v.Grade != judge.NoGrade && v.SoFar != v.Grade:
						t.Errorf("%s: %s, and so far %s", id, v.Grade, v.SoFar)
					}
					if w.Standing(&v) == "" || w.Ends(&v) == "" || len(w.Sum(&v, r.At)) < 3 {
						t.Errorf("%s: %s has no words", id, show(&v))
					}
				}
			})
		})
	}
}

// The order of readings changes nothing, whatever their kind.
func TestOrderNeverMattersToAnyKind(t *testing.T) {
	b := loadBook(t, testdata(t, "wide.yaml"))
	rapid.Check(t, func(t *rapid.T) {
		all := anyWide(t, b, kindsFor, 0, 1, 1, 1, 2, 3)
		given := rapid.SampledFrom(givens).Draw(t, "given")
		other := rapid.Permutation(all).Draw(t, "other order")
		one, two := judge.Book(b, given, judge.File(b, all).At), judge.Book(b, given, judge.File(b, other).At)
		if diff := cmp.Diff(one, two, sameVerdicts, cmp.Comparer(func(a, b *book.Line) bool { return a == b })); diff != "" {
			t.Fatalf("in another order (-one +other):\n%s", diff)
		}
	})
}

// inside returns figures that a reading allows, in tenths of a nanometre: every
// half of a tenth between its bounds, what is next to a bound that is open, and
// where it has none as far as any limit goes and further.
func inside(r *reading.Reading) (all []int64) {
	const far = 2 * tenth * 10_000
	count := func(b reading.Bound) int64 {
		length, _ := b.At.Length()
		return length.TenthsOfNanometre()
	}
	low, high := count(r.Low), count(r.High)
	if !r.Low.Set {
		low, all = high-80*tenth, []int64{high - far}
	}
	if !r.High.Set {
		high, all = low+80*tenth, []int64{low + far}
	}
	for at := low; at <= high; at += tenth / 2 {
		all = append(all, at)
	}
	if r.Low.Open {
		all = append(all, low+1)
	}
	if r.High.Open {
		all = append(all, high-1)
	}
	slices.Sort(all)
	return slices.DeleteFunc(slices.Compact(all), func(n int64) bool {
		return n == low && r.Low.Open || n == high && r.High.Open
	})
}

// A bracket or a band says between which figures the truth lies. It gives the
// grade that every figure between gives; where some are new and some serviceable
// that is serviceable, and where some are beyond and some not there is none.
// Limits stand at whole tenths, so halves of a tenth and what is next to an open
// bound stand for all figures between.
func TestBracketGradesAsEveryFigureInIt(t *testing.T) {
	b := loadBook(t, testdata(t, "wide.yaml"))
	judges := map[string]bool{}
	for _, l := range b.Lines {
		switch l.Judges {
		case book.Size, book.Fit, book.Total, book.MeanOf, book.Spread, book.Difference:
			judges[l.Key] = len(l.Choices) == 0 // each figure may choose another part
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		// One line, its spots read, most of them once, and up to three of the
		// readings brackets.
		l := rapid.SampledFrom(b.Lines).Filter(func(l *book.Line) bool { return judges[l.Key] }).Draw(t, "line")
		at := rapid.IntRange(0, len(l.Instances)-1).Draw(t, "at")
		var fixed, brackets []reading.Reading
		for _, id := range l.Instances[at].Spots {
			for range rapid.SampledFrom([]int{1, 1, 1, 1, 2}).Draw(t, "count") {
				r := anyOf(t, b, id, reading.Size, reading.Bracket)
				oneSided := !r.Low.Set || !r.High.Set
				if r.Kind == reading.Size || len(brackets) == 3 || oneSided && len(brackets) > 0 || b.FeatureAt(id).Unit.Kind() != quantity.LengthKind {
					r = anyOf(t, b, id, reading.Size)
					fixed = append(fixed, r)
					continue
				}
				brackets = append(brackets, r)
			}
		}
		verdictOf := func(list []reading.Reading) judge.Verdict {
			return judge.Line(l, at, judge.File(b, list).At)
		}
		got := verdictOf(append(slices.Clone(fixed), brackets...))
		grades := map[string]bool{}
		var try func(n int, list []reading.Reading)
		try = func(n int, list []reading.Reading) {
			if n == len(brackets) {
				v := verdictOf(list)
				grades[held(&v)] = true
				return
			}
			for _, n01 := range inside(&brackets[n]) {
				one := brackets[n]
				one.Kind, one.Value = reading.Size, quantity.TenthsOfNanometre(n01).Figure()
				try(n+1, append(slices.Clip(list), one))
			}
		}
		try(0, fixed)
		// Of new and serviceable the lesser is certain; of what is beyond or
		// held and what is not nothing is.
		want := "none"
		switch {
		case len(grades) == 1:
			for want = range grades {
			}
		case len(grades) == 2 && grades["new"] && grades["serviceable"]:
			want = "serviceable"
		}
		if held(&got) != want {
			t.Errorf("%s: %s, and figures in the brackets give %v\n%+v\n%+v", l.ID(at), show(&got), grades, fixed, brackets)
		}
	})
}

// held is a verdict's grade, or that it is held by an amount of wear.
func held(v *judge.Verdict) string {
	if slices.ContainsFunc(v.Asks, func(a judge.Ask) bool { return a.Kind == judge.Hold }) {
		return "held"
	}
	return v.Grade.String()
}

// A journal ground to a step, its limits there and the shells that go with it
// move together: by whatever amount, each is graded as the standard one is.
func TestStepsMoveTogether(top *testing.T) {
	rapid.Check(top, func(t *rapid.T) {
		under := 2 * rapid.IntRange(-150, 150).Draw(t, "under by, in tenths")
		inches := func(tenths int) string {
			text, _ := quantity.TenthsOfNanometre(int64(tenths)*tenth).Text(quantity.Inch, 4)
			return text
		}
		b := loadBook(top, []byte(`format: book/1
engine: Steps
unit: in
parts:
  crank: {features: {main: {kind: outside, directions: [0, 90], steps: {std: {mates: {case.shell: [std]}}, u: {shift: `+inches(-under)+`, mates: {case.shell: [u]}}}}}}
  case: {features: {bore: {kind: inside}, shell: {kind: length, wears: smaller, steps: {u: {shift: `+inches(under/2)+`}}}}}
lines:
  main: {name: Main, size: crank.main, new: 2.3745..2.3755, service: 2.3730}
  tiers: {name: Main, size: crank.main, tiers: {new: 2.3745..2.3755, overhaul: min 2.3740, service: over 2.3730}}
  shell: {name: Shell, size: case.shell, new: 0.0940..0.0945, service: wear 0.0003}
  fit: {name: Fit, fit: case.bore - 2 case.shell - crank.main, new: 0.0015L..0.0045L, service: 0.0060L}
`))
		stage := rapid.IntRange(0, 1).Draw(t, "stage")
		var standard, ground []reading.Reading
		for i := range b.Spots {
			id := book.SpotID(i)
			r := anyOf(t, b, id, reading.Size)
			r.Stage = stage
			standard = append(standard, r)
			shift := map[string]int{"crank.main": -under, "case.shell": under / 2}[b.FeatureAt(id).Ref()]
			if b.FeatureAt(id).Key != "bore" {
				r.Step = "u"
			}
			moved, err := r.Value.Plus(1, quantity.TenthsOfNanometre(int64(shift)*tenth).Figure())
			if err != nil {
				t.Fatal(err)
			}
			r.Value = moved
			ground = append(ground, r)
		}
		is := judge.Book(b, judge.Given{}, judge.File(b, ground).At)
		for i, was := range judge.Book(b, judge.Given{}, judge.File(b, standard).At) {
			if v := is[i]; v.Grade != was.Grade || v.Tier != was.Tier || v.Allowance != was.Allowance || v.Wrong != "" || held(&v) != held(&was) {
				t.Errorf("%s: standard %s, at the step %s", was.Line.Key, show(&was), show(&v))
			}
		}
		// With the standard shells instead it is beyond, whatever its figures.
		for i := range ground {
			if b.FeatureAt(ground[i].Spot).Key == "shell" {
				ground[i] = standard[i]
			}
		}
		for _, v := range judge.Book(b, judge.Given{}, judge.File(b, ground).At) {
			if v.Line.Judges == book.Fit && (v.Grade != judge.Beyond || v.Wrong == "") {
				t.Errorf("with the standard shells: %s", show(&v))
			}
		}
	})
}

// Of each thing the readings of its last stage stand; an installed bore ends
// when what it is made of has a later stage than it. Those that do not stand
// change nothing, and none is lost.
func TestLaterStagesStand(t *testing.T) {
	b := loadBook(t, testdata(t, "wide.yaml"))
	site := func(r *reading.Reading) string { return b.SiteAt(r.Spot).String() }
	rapid.Check(t, func(t *rapid.T) {
		var all []reading.Reading
		last := map[string]int{}
		for i := range b.Spots {
			for range rapid.SampledFrom([]int{0, 1, 1, 2}).Draw(t, "count") {
				r := anyOf(t, b, book.SpotID(i), kindsFor(b.FeatureAt(book.SpotID(i)))...)
				r.Stage = rapid.SampledFrom([]int{0, 0, 0, 1, 2}).Draw(t, "stage")
				last[site(&r)] = max(last[site(&r)], r.Stage)
				all = append(all, r)
			}
		}
		made := map[string]string{"case.bore-1": "case.insert-1", "case.bore-2": "case.insert-2"}
		var standing []reading.Reading
		for _, r := range all {
			if at := site(&r); r.Stage == last[at] && r.Stage >= last[made[at]] {
				standing = append(standing, r)
			}
		}
		filed := judge.File(b, all)
		if len(filed.Past)+len(standing) != len(all) {
			t.Errorf("%d are past of %d, of which %d stand", len(filed.Past), len(all), len(standing))
		}
		want := judge.Book(b, judge.Given{}, judge.File(b, standing).At)
		if diff := cmp.Diff(want, judge.Book(b, judge.Given{}, filed.At), sameVerdicts); diff != "" {
			t.Errorf("with what does not stand (-without +with):\n%s", diff)
		}
	})
}
