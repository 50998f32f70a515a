package picture

import (
	"encoding/json"
	"errors"
	"math"
	"math/big"
	"sort"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A RulerKind is one of the two rulers of a page.
type RulerKind uint8

// A scale is graduated and true to scale. A column has no graduations: its
// limits stand at the same places in every row of a table.
const (
	OfScale RulerKind = iota + 1
	OfColumn
)

// A Rule says where on a ruler a figure stands. [Scale] and [Column] place
// their marks by it, and a page's script by the same points: so a mark that is
// moved as digits are typed stands where the kept one will.
//
// A figure is a count: of a length tenths of a nanometre, of anything else a
// decimal part of its unit, so that every digit typed in Unit is one whole
// count: digits × One, the point moved. Between two points a figure stands by
// the straight line, reckoned in this order:
//
//	x = x₀ + (n − n₀) / (n₁ − n₀) × (x₁ − x₀)
//
// Before the first point and behind the last it is off the rule and stands at
// the margin on that side, with the edge broken beside it. The points rise, so
// a larger figure never stands further left. What is beyond a stop stands past
// it to the eye however little it is: there the points jump. Nothing is judged
// by a place.
type Rule struct {
	Ruler    string  `json:"ruler"`             // scale or column
	Unit     string  `json:"unit"`              // what its figures are in
	One      Count   `json:"one"`               // how many counts one of Unit is
	Decimals int     `json:"decimals"`          // what its figures have at least
	Comma    bool    `json:"comma,omitempty"`   // they are written with decimal commas
	Letters  string  `json:"letters,omitempty"` // behind a figure less than nought, and one more: "TL", or "T" where only the first has one
	Points   []Point `json:"points"`            // none: no figure is known, and all stand in the middle
	Left     float64 `json:"left"`              // the margins, in per cent
	Right    float64 `json:"right"`
	Stops    []Stop  `json:"stops,omitempty"`
	Heads    []Head  `json:"heads,omitempty"`
}

// A Point is a figure and where it stands, in per cent of the width.
type Point struct {
	At Count   `json:"at"`
	X  float64 `json:"x"`
}

// A Stop is where beyond begins on a side. Past is the first figure that is
// past it: the limit itself where the manual's wording rejects that.
type Stop struct {
	End  string  `json:"end"` // low or high
	At   Count   `json:"at"`
	Past Count   `json:"past"`
	X    float64 `json:"x"`
}

// A Head is an end of what was found that has a mark. One that does not count
// is hollow: the other end of a size.
type Head struct {
	End    string `json:"end"` // low or high
	Counts bool   `json:"counts"`
}

// The names of the two ends.
const (
	lowEnd  = "low"
	highEnd = "high"
)

// A Count is a whole number that JSON carries without loss: as a number where
// every reader's floating point holds it, else as a string of its digits.
type Count int64

// maxExact is the largest whole number up to which IEEE 754 binary64, which is
// all that a script has, holds every one.
const maxExact = 1 << 53

// MarshalJSON writes the count as a number or, beyond 2⁵³, as a string.
func (n Count) MarshalJSON() ([]byte, error) {
	text := strconv.AppendInt(nil, int64(n), 10)
	if n > maxExact || n < -maxExact {
		text = append(append([]byte{'"'}, text...), '"')
	}
	return text, nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Count) UnmarshalJSON(text []byte) error {
	var number json.Number
	if err := json.Unmarshal(text, &number); err != nil {
		return err
	}
	whole, err := number.Int64()
	*n = Count(whole)
	return err
}

// Place returns where a figure stands, in per cent of the width, and whether
// that is on the rule.
func (r *Rule) Place(n Count) (x float64, on bool) {
	last := len(r.Points) - 1
	switch {
	case last < 0:
		return 50, true
	case n < r.Points[0].At:
		return r.Left, false
	case n > r.Points[last].At:
		return r.Right, false
	}
	i := sort.Search(last, func(i int) bool { return r.Points[i].At >= n })
	b := r.Points[i]
	if i == 0 || b.At == n {
		return b.X, true
	}
	a := r.Points[i-1]
	// The conversions keep a compiler from rounding twice at once, which a
	// script's arithmetic would not.
	share := float64(n-a.At) / float64(b.At-a.At)
	return a.X + float64(share*(b.X-a.X)), true
}

// RuleOf returns the rule of a verdict's ruler: the one that [Scale] or [Column]
// draws by. It is made of the limits, and of what was found only where nothing
// limits it on that side. Of a line that judges no figure it is empty.
func RuleOf(w judge.Words, v *judge.Verdict, kind RulerKind) Rule {
	if !judgesFigure(v.Line) {
		return Rule{}
	}
	f := faceOf(w, v)
	r := f.rule(kind)
	r.Decimals, r.Comma = f.decimals(), w.Book != nil && w.Book.Comma
	switch {
	case v.Line.Judges == book.Fit:
		r.Letters = "TL"
	case v.Line.IsClearance():
		r.Letters = "T"
	}
	return r
}

// A face is what a ruler shows of a verdict, before it is placed.
type face struct {
	w       judge.Words
	v       *judge.Verdict
	unit    quantity.Unit
	one     Count // how many counts one of the unit is
	counted []counted

	lo, hi   side
	solid    bool // there are new limits; else the bar is open throughout
	lone     bool // the only tier is not new: its limits stand where those of service do
	judged   bool // bars and stops are shown
	wall     bool // nature's nought is the low limit
	measured bool // there are ends to show
}

// A side is one side of a ruler's limits; low and high ends are alike.
type side struct {
	bar  limit.Edge   // of the first tier: what a new part is held to
	out  limit.Edge   // of the last one, where that is wider
	stop limit.Edge   // where beyond begins
	ask  limit.Edge   // of a limit that can be read in two ways, the stricter
	mids []limit.Edge // of the tiers between
}

// faceOf looks at a verdict of a line that judges a figure.
func faceOf(w judge.Words, v *judge.Verdict) *face {
	l := v.Line
	f := &face{w: w, v: v, unit: l.Unit, judged: v.Ungraded == "" && len(v.Limit.Tiers) > 0}
	if w.Unit.Kind() == l.Unit.Kind() && w.Unit != quantity.NoUnit {
		f.unit = w.Unit
	}
	f.measured = v.Measured && v.Ends.Low.Kind() == f.unit.Kind() && v.Ends.High.Kind() == f.unit.Kind() && (!v.NoLow || !v.NoHigh)

	tiers := v.Limit.Tiers
	f.lo, f.hi = sideOf(v, limit.Low), sideOf(v, limit.High)
	f.solid = len(tiers) > 0 && (tiers[0].Name == "new" || tiers[0].Name == "use")
	f.lone = len(tiers) == 1 && !f.solid
	f.wall = f.judged && !f.lo.bar.Set && f.hi.bar.Set && f.hi.bar.At.Sign() >= 0 && neverNegative(l) &&
		(!f.measured || v.Ends.Low.Sign() >= 0)

	if f.one = bases[f.unit].one; f.one == 0 {
		f.one = Count(math.Pow10(parts))
	}
	return f
}

// sideOf sorts the limits of one side.
func sideOf(v *judge.Verdict, which limit.Side) (s side) {
	tiers := v.Limit.Tiers
	if len(tiers) == 0 {
		return s
	}
	edge := func(r limit.Range) limit.Edge {
		if which == limit.Low {
			return r.Min
		}
		return r.Max
	}
	s.bar = edge(tiers[0].Range)
	if v.Held != limit.Both && v.Held != which {
		return s // how a used part stands on this side is not judged
	}
	last := len(tiers) - 1
	s.out = edge(tiers[last].Range)
	if v.Limit.Held != nil {
		if other := edge(*v.Limit.Held); other.Set && other.At != s.out.At {
			s.ask, s.out = s.out, other // surely beyond is only what the more generous reading rejects
		}
	}
	use := last // a part in the band to rework is not to be used as it is
	for use >= 0 && tiers[use].Name == "rework" {
		use--
	}
	switch {
	case use == last:
		s.stop = s.out
	case use >= 0:
		s.stop = edge(tiers[use].Range)
	}
	if !s.bar.Set {
		s.bar = s.out
	}
	if s.out.At == s.bar.At {
		s.out = limit.Edge{}
	}
	for i := 1; i < last; i++ {
		if e := edge(tiers[i].Range); e.Set && e.At != s.bar.At && e.At != s.out.At {
			s.mids = append(s.mids, e)
		}
	}
	return s
}

// neverNegative tells whether what a line judges cannot be less than nought.
func neverNegative(l *book.Line) bool {
	switch l.Judges {
	case book.OutOfRound, book.Taper, book.TaperRate, book.RunOut, book.Bend, book.Spread:
		return true
	case book.Size, book.MeanOf, book.Total:
		switch l.Terms[0].Feature.Class {
		case book.Clearance, book.Dial:
			return true
		case book.Other:
			return l.Unit.Kind() != quantity.TemperatureKind
		}
	}
	return false
}

// decimals is how many decimals the line's figures are printed with at least.
func (f *face) decimals() int {
	text := f.w.Figure(f.v.Line, bases[f.unit].nought)
	if i := strings.IndexAny(text, ".,"); i >= 0 {
		return len(text) - i - 1
	}
	return 0
}

// digits returns so many of the last decimal as a count.
func (f *face) digits(n int) float64 {
	return float64(n) * max(1, float64(f.one)/math.Pow10(f.decimals()))
}

// edges returns every limit that is known.
func (f *face) edges() []limit.Edge {
	all := make([]limit.Edge, 0, 8)
	for _, s := range [...]*side{&f.lo, &f.hi} {
		for _, e := range [...]limit.Edge{s.bar, s.out, s.ask} {
			if e.Set {
				all = append(all, e)
			}
		}
		all = append(all, s.mids...)
	}
	return all
}

// A base is what counts in a unit start from: none of it and, of a length, how
// many counts one is.
type base struct {
	nought quantity.Figure
	one    Count
}

var bases = func() map[quantity.Unit]base {
	all := map[quantity.Unit]base{}
	for _, u := range quantity.Units() {
		none, _, err := quantity.Format{Unit: u}.Figure("0")
		one, _, err1 := quantity.Format{Unit: u}.Figure("1")
		if err := errors.Join(err, err1); err != nil {
			panic("BUG: " + err.Error())
		}
		b := base{nought: none}
		if l, ok := one.Length(); ok {
			b.one = Count(l.TenthsOfNanometre())
		}
		all[u] = b
	}
	return all
}()

// parts is how many decimals of a unit that is not of length a count is: much
// finer than its figures, so that what is typed is whole and a mean nearly so.
const parts = 8

// mostCount bounds a count: the difference of two stays inside 64 bits.
const mostCount = 1 << 58

// A counted is a figure with its count.
type counted struct {
	at quantity.Figure
	n  Count
}

// count returns the whole count nearest to a figure.
func (f *face) count(a quantity.Figure) Count {
	if l, whole := a.Length(); whole {
		return Count(max(-mostCount, min(mostCount, l.TenthsOfNanometre())))
	}
	for i := range f.counted { // each is asked for many times, and costs a division
		if f.counted[i].at == a {
			return f.counted[i].n
		}
	}
	n := int64(0)
	if a.Kind() == quantity.LengthKind { // a mean
		r := a.Rat()
		half := new(big.Int).Rsh(r.Denom(), 1)
		n = half.Add(half, r.Num()).Div(half, r.Denom()).Int64()
	} else {
		text, _ := a.Text(f.unit, parts)
		n, _ = strconv.ParseInt(strings.Replace(text, ".", "", 1), 10, 64) // of one too large the largest
	}
	f.counted = append(f.counted, counted{a, Count(max(-mostCount, min(mostCount, n)))})
	return f.counted[len(f.counted)-1].n
}

// Where rulers have things, in per cent of their width.
const (
	scaleFrom, scaleTo, scaleMargin    = 5, 95, 3.1
	columnFrom, columnTo, columnMargin = 8, 92, 4.5

	// How far past its stop what is beyond stands at least: clear of it on the
	// narrowest ruler.
	scalePast, columnPast = 1.4, 2.6
)

// rule places the face.
func (f *face) rule(kind RulerKind) Rule {
	r := Rule{
		Ruler: "scale", Unit: f.unit.String(), One: f.one,
		Left: scaleMargin, Right: 100 - scaleMargin,
	}
	past := scalePast
	if kind == OfColumn {
		r.Ruler, r.Left, r.Right = "column", columnMargin, 100-columnMargin
		past = columnPast
		r.Points = f.columnPoints()
	} else {
		r.Points = f.scalePoints()
	}
	f.stops(&r, past)
	r.Heads = f.heads(kind)
	return r
}

// known returns the least and the greatest limit; ok is false where there is
// none.
func (f *face) known() (least, most Count, ok bool) {
	add := func(n Count) {
		if !ok {
			least, most, ok = n, n, true
		}
		least, most = min(least, n), max(most, n)
	}
	for _, e := range f.edges() {
		add(f.count(e.At))
	}
	if f.wall {
		add(0)
	}
	return least, most, ok
}

// found returns the ends of what was found as counts.
func (f *face) found() (low, high Count) {
	low, high = f.count(f.v.Ends.Low), f.count(f.v.Ends.High)
	switch {
	case f.v.NoLow:
		low = high
	case f.v.NoHigh:
		high = low
	}
	return low, high
}

// alone is how many digits a ruler spans on a side where one limit or one
// figure alone says nothing of what is much.
const alone = 20

// scalePoints makes a domain of all limits and a third of their span on each
// side; where nothing limits a side, of the span once more and of what was
// found there.
func (f *face) scalePoints() []Point {
	least, most, ok := f.known()
	if !ok {
		if !f.measured {
			return nil
		}
		least, most = f.found()
	}
	span := max(float64(most-least), f.digits(4))
	if most == least {
		span = f.digits(alone)
	}
	pad := max(span*0.34, min(span*0.8, f.digits(3))) // a digit or two out is on the rule
	from, to := float64(least)-pad, float64(most)+pad
	switch {
	case f.wall:
		from = -(span + pad) * 0.08
	case !f.lo.bar.Set && ok:
		from = float64(least) - span*1.1
	}
	if !f.hi.bar.Set && ok {
		to = float64(most) + span*1.1
	}
	if f.measured {
		low, high := f.found()
		if room := float64(least - low); !f.wall && f.free(&f.lo) && room < span*alone {
			from = min(from, float64(least)-room*1.15)
		}
		if room := float64(high - most); f.free(&f.hi) && room < span*alone {
			to = max(to, float64(most)+room*1.15)
		}
	}
	return []Point{{Count(math.Floor(from)), scaleFrom}, {Count(math.Ceil(to)), scaleTo}}
}

// free tells whether nothing limits a side, or nothing is judged.
func (f *face) free(s *side) bool { return !s.bar.Set || !f.judged }

// columnPoints puts the limits at the places that every row has them at,
// with straight lines between, carried on at both ends to the margins.
func (f *face) columnPoints() []Point {
	all := make([]Point, 1, 8) // the first is the margin's
	add := func(n Count, x float64) {
		if last := len(all) - 1; last < 1 || all[last].At < n {
			all = append(all, Point{n, x})
		}
	}
	edge := func(e limit.Edge, x float64) {
		if e.Set {
			add(f.count(e.At), x)
		}
	}
	low, high := 100*newLow, 100*newHigh
	if f.lone {
		low, high = 100*serviceLow, 100*serviceHigh
	}
	if f.lo.bar.Set && f.hi.bar.Set && f.lo.bar.At == f.hi.bar.At {
		low, high = 50, 50 // a nominal
	}
	if f.wall {
		add(0, 100*newLow)
	}
	edge(f.lo.out, 100*serviceLow)
	edge(f.lo.bar, low)
	edge(f.hi.bar, high)
	edge(f.hi.out, 100*serviceHigh)
	if len(all) == 1 {
		if !f.measured {
			return nil
		}
		a, b := f.found()
		add(a+(b-a)/2, 50)
	}

	const share = 24 // of the width, for what a ruler spans alone
	perCount := func(a, b Point) float64 { return (b.X - a.X) / float64(b.At-a.At) }
	var left, right float64
	if n := len(all); n > 2 {
		left, right = perCount(all[1], all[2]), perCount(all[n-2], all[n-1])
	} else {
		left = share / f.digits(alone)
		right = left
	}
	first, last := all[1], all[len(all)-1]
	down, up := (first.X-columnFrom)/left, (columnTo-last.X)/right
	if f.measured {
		a, b := f.found()
		if room := float64(first.At - a); !f.wall && f.free(&f.lo) && room < down*alone {
			down = max(down, room*1.15)
		}
		if room := float64(b - last.At); f.free(&f.hi) && room < up*alone {
			up = max(up, room*1.15)
		}
	}
	all[0] = Point{first.At - Count(math.Ceil(down)), columnFrom}
	return append(all, Point{last.At + Count(math.Ceil(up)), columnTo})
}

// stops notes where beyond begins, and makes the points jump there.
func (f *face) stops(r *Rule, past float64) {
	if !f.judged {
		return
	}
	if e := f.lo.stop; e.Set {
		s := Stop{End: lowEnd, At: f.count(e.At)}
		s.Past = s.At - 1
		if e.Open {
			s.Past = s.At
		}
		s.X = r.near(s.At)
		r.Stops = append(r.Stops, s)
	}
	if e := f.hi.stop; e.Set {
		s := Stop{End: highEnd, At: f.count(e.At)}
		s.Past = s.At + 1
		if e.Open {
			s.Past = s.At
		}
		s.X = r.near(s.At)
		r.Stops = append(r.Stops, s)
	}
	straight := r.Ruler == "scale"
	for _, s := range r.Stops {
		if s.End == highEnd {
			r.Points = jump(r.Points, s, past, straight)
			continue
		}
		// The low side is the high one seen from behind.
		r.Points = mirrored(jump(mirrored(r.Points), Stop{At: -s.At, Past: -s.Past, X: fine(100 - s.X)}, past, straight))
	}
}

// near is Place, rounded.
func (r *Rule) near(n Count) float64 {
	x, _ := r.Place(n)
	return fine(x)
}

// fine rounds a place to what no screen shows, so that JSON has few digits of
// it.
func fine(x float64) float64 { return math.Round(x*1e4) / 1e4 }

func mirrored(all []Point) []Point {
	back := make([]Point, len(all))
	for i, p := range all {
		back[len(all)-1-i] = Point{-p.At, fine(100 - p.X)}
	}
	return back
}

// jump makes what is past a stop stand so far behind it at least, and leaves
// what is within where it stands. Where the lines are straight, and true to
// scale, it stands still until the truth is as far as that.
func jump(all []Point, s Stop, past float64, straight bool) []Point {
	was := Rule{Points: all}
	out := make([]Point, 0, len(all)+3)
	within := s.Past - 1
	for _, p := range all {
		if p.At < within {
			out = append(out, p)
		}
	}
	x := s.X
	if within != s.At {
		x = was.near(within)
	}
	out = append(out, Point{within, x})
	x = max(was.near(s.Past), fine(s.X+past))
	out = append(out, Point{s.Past, x})
	for i, p := range all {
		if p.At <= s.Past || p.X <= x {
			continue
		}
		if a := all[i-1]; straight && a.X < x {
			at := a.At + Count(math.Ceil((x-a.X)/(p.X-a.X)*float64(p.At-a.At)))
			if at > s.Past && at < p.At {
				out = append(out, Point{at, x})
			}
		}
		out = append(out, p)
	}
	return out
}

// heads says which ends have a head: of a size the one that counts, with the
// other beside it on a scale; both where both are held. A form is one figure.
func (f *face) heads(kind RulerKind) []Head {
	switch f.v.Line.Judges {
	case book.OutOfRound, book.Taper, book.TaperRate, book.RunOut, book.Bend, book.Spread:
		return []Head{{highEnd, true}}
	}
	held := f.v.Held
	all := make([]Head, 0, 2)
	if held != limit.High || kind == OfScale {
		all = append(all, Head{lowEnd, held != limit.High})
	}
	if held != limit.Low || kind == OfScale {
		all = append(all, Head{highEnd, held != limit.Low})
	}
	return all
}

// A mark is an end of what was found, placed.
type mark struct {
	end    string
	at     quantity.Figure
	x      float64
	on     bool // on the rule
	counts bool
	past   string // the end whose stop it is past; empty: none
}

// marks places what was found, the low end first. Of two ends that are one
// figure there is one mark; of what is not bounded on a side, none there.
func (f *face) marks(r *Rule) []mark {
	v := f.v
	if !f.measured {
		return nil
	}
	one := v.Ends.Low == v.Ends.High
	all := make([]mark, 0, 2)
	add := func(end string, at quantity.Figure, counts bool) {
		m := mark{end: end, at: at, counts: counts || v.Between || one}
		m.x, m.on = f.place(r, at)
		switch {
		case !f.judged, v.Between && v.SoFar != judge.Beyond:
			// What a limit cuts is not past it.
		case (one || end == lowEnd) && !(limit.Range{Min: f.lo.stop}).AtLeast(at):
			m.past = lowEnd
		case (one || end == highEnd) && !(limit.Range{Max: f.hi.stop}).AtMost(at):
			m.past = highEnd
		}
		all = append(all, m)
	}
	low := !v.NoLow && (!one || v.NoHigh || v.Held == limit.Low)
	if low {
		add(lowEnd, v.Ends.Low, v.Held != limit.High)
	}
	if !v.NoHigh && (!one || !low) {
		add(highEnd, v.Ends.High, v.Held != limit.Low)
	}
	return all
}

// place finds where a figure stands: one that no count is, on the side of each
// stop that it is on.
func (f *face) place(r *Rule, at quantity.Figure) (x float64, on bool) {
	n := f.count(at)
	for _, s := range r.Stops {
		if s.End == lowEnd {
			if (limit.Range{Min: f.lo.stop}).AtLeast(at) {
				n = max(n, s.Past+1)
			} else {
				n = min(n, s.Past)
			}
			continue
		}
		if (limit.Range{Max: f.hi.stop}).AtMost(at) {
			n = min(n, s.Past-1)
		} else {
			n = max(n, s.Past)
		}
	}
	return r.Place(n)
}

// x is where the line of a limit stands.
func (f *face) x(r *Rule, e limit.Edge) float64 {
	for _, s := range r.Stops {
		if s.End == lowEnd && f.lo.stop.At == e.At || s.End == highEnd && f.hi.stop.At == e.At {
			return s.X
		}
	}
	x, _ := r.Place(f.count(e.At))
	return x
}
