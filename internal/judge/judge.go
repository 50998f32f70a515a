// Package judge holds readings against a book: for every instance of every
// line, a verdict with its sum.
//
// Judging is a pure function of a line and the readings that stand at its
// spots. Who says which readings those are is the caller, so "what if" is the
// same function with other readings. No verdict passes through floating point.
//
// A reading need not be one figure: a feeler that goes and the next that does
// not say between which figures the truth lies. A grade is given where every
// figure between would have it; else the line says that the readings do not
// decide it.
package judge

import (
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Grade is how a line stands, as far as is already certain.
type Grade uint8

// The grades. NoGrade is for what is not certain yet: spots are open, or a
// person must first say what is meant.
const (
	NoGrade Grade = iota
	New
	Serviceable
	Beyond
)

var gradeNames = [...]string{"none", "new", "serviceable", "beyond"}

func (g Grade) String() string { return gradeNames[g] }

// An AskKind says why a person is asked.
type AskKind uint8

// Why a person is asked. An ask never changes a reading or a verdict.
const (
	Settle    AskKind = iota + 1 // more than one live reading at one spot: strike all but one
	Query                        // better than new on the side that does not wear: is it misread?
	Hold                         // the limit has two readings, and they disagree about this value
	Wide                         // the figures are too large to be added
	Undecided                    // a bracket, a band or a go gauge leaves the grade open
	Which                        // the line depends on a condition that nobody has stated
	Mark                         // the readings do not agree on the step the part is marked, or it has no such step
	OtherStep                    // the size is another step's than the one marked
	Mixed                        // readings of two items at one place
)

var askNames = [...]string{"", "settle", "query", "hold", "range", "undecided", "condition", "mark", "step", "items"}

func (k AskKind) String() string { return askNames[k] }

// An Ask is one thing that a person must look at.
type Ask struct {
	Kind AskKind
	Spot book.SpotID // for Settle
	Text string      // a condition's name, a step's mark
}

// A Verdict is how one instance of a line stands.
type Verdict struct {
	Line *book.Line
	At   int // which instance

	Grade Grade
	SoFar Grade // while spots are open: what the grade would be on the readings so far
	// Tier is the tier that the worse end meets: an index into Limit.Tiers,
	// their number where it meets none.
	Tier int
	Best int // the best tier that the readings allow: another than Tier where a bracket leaves it open

	// Limit is what was held against: the line's, moved by the part's step or
	// by another reading, and Held the sides of it: a reworked part's are both.
	Limit *limit.Limit
	Held  limit.Side

	Measured bool       // there are readings enough for the ends
	Ends     limit.Ends // smallest and largest size, tightest and loosest fit; a form has one figure
	Worse    limit.Side // Low or High: the end that stands worse
	Missing  []book.SpotID
	Asks     []Ask

	// Between is set where a reading was no single figure: the ends are then
	// the furthest apart that it allows.
	Between bool
	// NoLow and NoHigh tell that the readings do not bound that end: a feeler
	// went, and no thicker one was tried.
	NoLow, NoHigh bool

	HasAllowance bool
	Allowance    int64 // percent of the allowance used on the worse side, rounded down; never below 0

	Ungraded string // why nothing is graded: the line is for reference, or another governs; empty where it is
	Steps    []string
	Wrong    string // why it is beyond whatever its figures: mates that may not run together
	Picks    []int  // of selected parts: those that bring the fit into the tier, by index
}

// Open tells whether spots are still to be measured.
func (v *Verdict) Open() bool { return len(v.Missing) > 0 && v.Ungraded == "" }

// last is the widest tier's range; a line without figures has none.
func (v *Verdict) last() limit.Range {
	if n := len(v.Limit.Tiers); n > 0 {
		return v.Limit.Tiers[n-1].Range
	}
	return limit.Range{}
}

// Action is what the manual's bands say is to be done: use, rework, reject;
// empty where the line has none.
func (v *Verdict) Action() string {
	tiers := v.Limit.Tiers
	switch {
	case v.SoFar == NoGrade || len(tiers) == 0 || tiers[0].Name != "use" && tiers[0].Name != "rework":
		return ""
	}
	name := func(t int) string {
		if t < len(tiers) {
			return tiers[t].Name
		}
		return "reject"
	}
	if v.Best != v.Tier {
		return name(v.Best) + " or " + name(v.Tier)
	}
	return name(v.Tier)
}

// Here returns the live readings at a spot.
type Here func(book.SpotID) []reading.Reading

// Given is what is known of the engine beside its readings.
type Given struct {
	Conditions map[string]string // by name, one of the words it can be
	Serial     int64             // 0: not stated
}

// Book judges every instance of every line that is for this engine, in the
// order of the book. A line whose condition is not stated is judged and asks; a
// line that another stands in for is left out.
func Book(b *book.Book, given Given, here Here) []Verdict {
	lines, asks := applicable(b, given)
	surely := map[*book.Line]bool{}
	for i, l := range lines {
		surely[l] = asks[i] == ""
	}
	n := 0
	for _, l := range lines {
		n += len(l.Instances)
	}
	all := make([]Verdict, 0, n)
	for i, l := range lines {
		for at := range l.Instances {
			v := line(l, at, here, l.Governor != nil && surely[l.Governor])
			if asks[i] != "" && v.Ungraded == "" {
				v.Asks = append(v.Asks, Ask{Kind: Which, Text: asks[i]})
				v.Grade = NoGrade
			}
			all = append(all, v)
		}
	}
	return all
}

// applicable returns the lines that are for this engine, and for each the
// condition that nobody has stated, if it depends on one.
func applicable(b *book.Book, given Given) (lines []*book.Line, asks []string) {
	out := map[*book.Line]bool{}
	ask := map[*book.Line]string{}
	for _, l := range b.Lines {
		for _, c := range b.Conditions {
			want, depends := l.When[c.Name]
			if !depends {
				continue
			}
			switch have := given.Conditions[c.Name]; {
			case slices.Contains(want, have):
			case have == "":
				ask[l] = c.Name
			default:
				out[l] = true
			}
		}
		if len(l.Serials) > 0 {
			if given.Serial == 0 {
				ask[l] = "serial"
			} else if !book.In(given.Serial, l.Serials) {
				out[l] = true
			}
		}
	}
	for _, l := range b.Lines {
		if l.Replaces != nil && !out[l] && ask[l] != "" && ask[l.Replaces] == "" {
			ask[l.Replaces] = ask[l] // which of the two governs is not known
		}
	}
	replaced := map[*book.Line]bool{}
	for _, l := range b.Lines {
		if l.Replaces != nil && !out[l] && ask[l] == "" {
			replaced[l.Replaces] = true
		}
	}
	for _, l := range b.Lines {
		if !out[l] && !replaced[l] {
			lines, asks = append(lines, l), append(asks, ask[l])
		}
	}
	return lines, asks
}

// Line judges one instance of a line on the readings that here returns.
//
// While spots are open the grade is none, or beyond where that is already
// certain: one more reading can only make an extreme worse. A mean, a
// difference and a total can still go either way.
func Line(l *book.Line, at int, here Here) Verdict {
	return line(l, at, here, l.Governor != nil)
}

// line judges one instance; governed tells that the line that governs this one
// is for this engine.
func line(l *book.Line, at int, here Here, governed bool) Verdict {
	v := Verdict{Line: l, At: at, Limit: l.Limit, Held: l.Held, Ungraded: ungraded(l, at, here, governed)}
	inst := &l.Instances[at]
	v.lookAtReadings(inst, here)
	if !v.atStep(inst, here) {
		return v
	}
	if l.Judges == book.YesNo || l.Judges == book.SameStep {
		v.withoutFigures(inst, here)
		return v
	}
	var generous *limit.Limit
	if l.Moves != nil {
		var ok bool
		if generous, ok = v.move(at, here); !ok {
			return v
		}
	}
	ends, measured, err := spanOf(l, inst, here)
	if err != nil {
		v.Asks = append(v.Asks, Ask{Kind: Wide})
		return v
	}
	if !measured || v.Ungraded != "" {
		v.show(ends, measured)
		if !measured && !v.Open() && v.Ungraded == "" {
			v.Asks = append(v.Asks, Ask{Kind: Undecided}) // it wants figures, not brackets
		}
		return v
	}
	if len(l.Choices) > 0 {
		ends = v.choose(ends)
	}
	v.show(ends, true)
	v.grade(ends)
	if generous != nil {
		v.gradeMoved(ends, generous)
	}
	if v.Wrong != "" {
		v.Grade, v.SoFar, v.Tier = Beyond, Beyond, len(v.Limit.Tiers)
		v.Best = v.Tier
	}
	if v.Grade != Beyond && slices.ContainsFunc(v.Asks, func(a Ask) bool { return a.Kind == Mixed }) {
		v.Grade = NoGrade // of which of the two?
	}
	v.allowance()
	if v.betterThanNew() {
		v.Asks = append(v.Asks, Ask{Kind: Query})
	}
	v.otherStep()
	return v
}

// show notes what the readings come to.
func (v *Verdict) show(s span, measured bool) {
	v.Measured, v.Ends, v.Between = measured, s.wide(), s.between
	v.NoLow, v.NoHigh = measured && !s.low.lo.Set, measured && !s.high.hi.Set
}

// ungraded says why an instance is shown and not graded.
func ungraded(l *book.Line, at int, here Here, governed bool) string {
	switch {
	case l.Limit.Ungraded:
		return "reference"
	case l.Ungraded:
		return "only the fit is judged"
	case !governed:
		return ""
	}
	for _, id := range l.Governor.Instances[at].Spots {
		if len(here(id)) == 0 {
			return ""
		}
	}
	return l.Governor.Key + " governs"
}

// lookAtReadings notes what is open, doubled or mixed.
func (v *Verdict) lookAtReadings(inst *book.Instance, here Here) {
	mixed := false
	for _, s := range inst.Sites {
		item := ""
		for _, id := range s.Spots {
			list := here(id)
			for i := range list {
				if item == "" {
					item = list[i].Item
				}
				mixed = mixed || list[i].Item != "" && list[i].Item != item
			}
		}
	}
	for _, id := range inst.Spots {
		switch n := len(here(id)); {
		case n == 0 && v.Line.Judges == book.SameStep && !first(inst, id, here):
		case n == 0:
			v.Missing = append(v.Missing, id)
		case n > 1 && v.Line.Judges == book.SameStep: // the mark is what counts
		case n > 1:
			v.Asks = append(v.Asks, Ask{Kind: Settle, Spot: id})
		}
	}
	if v.Ungraded != "" {
		v.Asks = nil // nothing is judged here
		return
	}
	if mixed {
		v.Asks = append(v.Asks, Ask{Kind: Mixed})
	}
}

// first tells whether the spot is the first of a site that has no reading at
// all: to know a part's mark, one is enough.
func first(inst *book.Instance, id book.SpotID, here Here) bool {
	for _, s := range inst.Sites {
		if s.Spots[0] != id {
			continue
		}
		return !slices.ContainsFunc(s.Spots, func(id book.SpotID) bool { return len(here(id)) > 0 })
	}
	return false
}

// atStep finds the step that each site is marked and what follows: the limits
// of a size at that step, both sides of them for a reworked part, and whether
// mates may run together. It returns false where the mark is none of the
// feature's.
func (v *Verdict) atStep(inst *book.Instance, here Here) bool {
	l := v.Line
	reworked := false
	stepped := false
	for _, s := range inst.Sites {
		stepped = stepped || len(s.Feature.Steps) > 0
		for _, id := range s.Spots {
			list := here(id)
			for i := range list {
				reworked = reworked || list[i].Stage > 0
				stepped = stepped || list[i].Step != ""
			}
		}
	}
	if stepped {
		for _, s := range inst.Sites {
			mark, agree := markOf(s, here)
			v.Steps = append(v.Steps, mark)
			_, ok := s.Feature.Step(mark)
			if !agree || !ok && (len(s.Feature.Steps) > 0 || mark != book.Standard) {
				v.Asks = append(v.Asks, Ask{Kind: Mark, Text: mark})
				if found, measured, err := spanOf(l, inst, here); err == nil {
					v.show(found, measured)
				}
				return false
			}
		}
		if l.Judges == book.Size || l.Judges == book.MeanOf {
			if slices.ContainsFunc(v.Steps, func(mark string) bool { return mark != v.Steps[0] }) {
				// A mean over places at several steps has no limits of its own.
				v.Asks = append(v.Asks, Ask{Kind: Mark, Text: strings.Join(v.Steps, ", ")})
				return false
			}
			if at := l.AtStep[v.Steps[0]]; at != nil {
				v.Limit = at
			}
		}
		if l.Judges == book.Fit {
			v.Wrong = wrongMates(inst, v.Steps, here)
		}
	}
	if reworked && l.Judges == book.Size && l.Terms[0].Feature.Class != book.Dial {
		if both := l.Reworked[v.Limit]; both != nil {
			v.Limit, v.Held = both, limit.Both
		}
	}
	return true
}

// markOf returns the step that a site's readings say it is marked; agree is
// false where they say two.
func markOf(s *book.Site, here Here) (mark string, agree bool) {
	agree = true
	for _, id := range s.Spots {
		list := here(id)
		for i := range list {
			m := list[i].Step
			if m == "" {
				m = book.Standard
			}
			if mark == "" {
				mark = m
			}
			if m != mark {
				agree, mark = false, min(m, mark) // whatever their order
			}
		}
	}
	if mark == "" {
		mark = book.Standard
	}
	return mark, agree
}

// wrongMates says which two of a fit's parts may not run together.
func wrongMates(inst *book.Instance, marks []string, here Here) string {
	// The mark of a part without a reading is not known.
	read := func(s *book.Site) bool {
		return slices.ContainsFunc(s.Spots, func(id book.SpotID) bool { return len(here(id)) > 0 })
	}
	for i, s := range inst.Sites {
		step, ok := s.Feature.Step(marks[i])
		if !ok || !read(s) {
			continue
		}
		for k, other := range inst.Sites {
			if may, named := step.Mates[other.Feature]; named && read(other) && !slices.Contains(may, marks[k]) {
				return s.String() + " at step " + marks[i] + " may not run with " + other.String() + " at step " + marks[k]
			}
		}
	}
	return ""
}

// withoutFigures judges a yes or no, and whether a group is at one step.
func (v *Verdict) withoutFigures(inst *book.Instance, here Here) {
	if v.Ungraded != "" {
		return
	}
	v.SoFar = Serviceable
	if v.Line.Judges == book.SameStep {
		v.Measured = !v.Open()
		one := ""
		for i, s := range inst.Sites {
			if !slices.ContainsFunc(s.Spots, func(id book.SpotID) bool { return len(here(id)) > 0 }) {
				continue
			}
			if one != "" && v.Steps[i] != one {
				v.SoFar = Beyond
			}
			one = v.Steps[i]
		}
	} else {
		for _, id := range inst.Spots {
			list := here(id)
			for i := range list {
				v.Measured = true
				if list[i].Yes != v.Line.WantYes {
					v.SoFar = Beyond
				}
			}
		}
	}
	if !v.Open() || v.SoFar == Beyond {
		v.Grade = v.SoFar
	}
	if !v.Measured && v.SoFar != Beyond {
		v.SoFar = NoGrade
	}
}

// move makes the limits those that go with the other reading's value: the
// greatest one counts. Where that is a bracket the limits are those of the
// least that it can be, and the limits of the most are returned beside. It
// returns false while the other is not measured.
func (v *Verdict) move(at int, here Here) (generous *limit.Limit, ok bool) {
	m := v.Line.Moves
	with, measured := sizeSpan(m.Sites[at], here)
	if !measured {
		return nil, false
	}
	from := with.high.lo
	from.Open = false // where it is not reached the limits go further than its own
	least, err := movedBy(v.Limit, m, from)
	if err != nil {
		v.Asks = append(v.Asks, Ask{Kind: Wide})
		return nil, false
	}
	most, err := movedBy(v.Limit, m, with.high.hi)
	if err != nil {
		v.Asks = append(v.Asks, Ask{Kind: Wide})
		return nil, false
	}
	if !with.high.hi.Set {
		most = withoutMax(v.Limit)
	}
	v.Limit = least
	if with.between {
		return most, true
	}
	return nil, true
}

// withoutMax returns a limit with no upper edges.
func withoutMax(l *limit.Limit) *limit.Limit {
	free := *l
	free.Tiers = slices.Clone(l.Tiers)
	for i := range free.Tiers {
		free.Tiers[i].Range.Max = limit.Edge{}
	}
	return &free
}

// movedBy returns a limit with its upper edges moved as far as goes with a bound
// of the other reading; one that is not set moves nothing. Where it is not
// reached itself, what is at the limits is out.
func movedBy(l *limit.Limit, m *book.Moves, bound reading.Bound) (*limit.Limit, error) {
	if !bound.Set {
		return l, nil
	}
	over, err := bound.At.Plus(-1, m.From)
	if err != nil || over.Sign() <= 0 {
		return l, err
	}
	by, err := over.Times(m.By)
	if err != nil {
		return nil, err
	}
	moved, err := l.Shifted(by)
	if err != nil {
		return nil, err
	}
	for i := range moved.Tiers {
		r := &moved.Tiers[i].Range
		r.Min, r.Max.Open = l.Tiers[i].Range.Min, r.Max.Open || bound.Open
	}
	return &moved, nil
}

// gradeMoved withdraws a grade that the more generous limits would not give.
func (v *Verdict) gradeMoved(ends span, generous *limit.Limit) {
	other := Verdict{Line: v.Line, Limit: generous, Held: v.Held, Ends: v.Ends, Missing: v.Missing}
	other.grade(ends)
	switch {
	case other.SoFar == New && v.SoFar == Serviceable:
		v.Best = other.Best
	case other.SoFar != v.SoFar:
		v.Grade, v.SoFar = NoGrade, NoGrade
		v.Asks = append(v.Asks, Ask{Kind: Undecided})
	}
}

// choose finds which of the selected parts bring the fit into the narrowest
// tier that any brings it to, and returns the ends with the first of them.
func (v *Verdict) choose(ends span) span {
	best, bestTier := ends, len(v.Limit.Tiers)+1
	for i, c := range v.Line.Choices {
		with := ends.less(c.Size)
		switch _, t := v.tiers(with); {
		case t < bestTier:
			best, bestTier, v.Picks = with, t, []int{i}
		case t == bestTier:
			v.Picks = append(v.Picks, i)
		}
	}
	if bestTier == len(v.Limit.Tiers) {
		v.Picks = nil
	}
	return best
}

// grade finds the tier that the ends meet: the one that the worst figures
// which the readings allow meet, where the best do not meet another.
func (v *Verdict) grade(ends span) {
	l := v.Line
	best, worst := v.tiers(ends)
	v.Tier, v.Best = worst, best
	var grade Grade
	switch {
	case v.gradeAt(best) != v.gradeAt(worst) && v.gradeAt(worst) == Beyond, best == len(v.Limit.Tiers) && v.partsHeld(ends):
		if v.Open() {
			// Of a mean or a fit with a bracket nothing can be said; but what
			// is beyond at its best stays beyond.
			return
		}
		v.Asks = append(v.Asks, Ask{Kind: Undecided})
		return
	case worst < len(v.Limit.Tiers):
		grade = v.gradeAt(worst)
	case v.inDoubt(ends):
		v.Asks = append(v.Asks, Ask{Kind: Hold})
	default:
		grade = Beyond
	}
	v.SoFar = grade
	if best != worst && v.Action() != "" {
		v.Asks = append(v.Asks, Ask{Kind: Undecided}) // what is to be done is not
	}
	if !v.Open() || grade == Beyond && l.OnlyWorsens() {
		v.Grade = grade
	}
}

// inDoubt tells whether what is beyond the stricter reading of a held limit is
// within the more generous one.
func (v *Verdict) inDoubt(ends span) bool {
	if v.Limit.Held == nil {
		return false
	}
	surely, _ := ends.meets(*v.Limit.Held, v.Held)
	return surely
}

// partsHeld tells whether the more generous reading of a held limit parts the
// figures that the readings allow.
func (v *Verdict) partsHeld(ends span) bool {
	if v.Limit.Held == nil {
		return false
	}
	surely, maybe := ends.meets(*v.Limit.Held, v.Held)
	return surely != maybe
}

// gradeAt is what a tier grades by its name: new is new, a band to rework is not
// to be used as it is, every other tier may be used; beyond them all is beyond.
func (v *Verdict) gradeAt(tier int) Grade {
	switch {
	case tier == len(v.Limit.Tiers), v.Limit.Tiers[tier].Name == "rework":
		return Beyond
	case v.Limit.Tiers[tier].Name == "new":
		return New
	}
	return Serviceable
}

// tiers returns the best and the worst tier that the figures which the readings
// allow meet: one and the same where the readings are figures.
func (v *Verdict) tiers(ends span) (best, worst int) {
	if !ends.between {
		t := v.Limit.Tier(ends.wide(), v.Held)
		return t, t
	}
	worst, best = len(v.Limit.Tiers), len(v.Limit.Tiers)
	for i := len(v.Limit.Tiers) - 1; i >= 0; i-- {
		surely, maybe := ends.meets(v.Limit.Tiers[i].Range, v.Held)
		if surely {
			worst = i
		}
		if maybe {
			best = i
		}
	}
	return best, worst
}

// allowance works out which end stands worse and how much of the allowance
// between the first and the last limit is used there. Where the manual leaves
// two readings of the limit open there is no saying how much.
func (v *Verdict) allowance() {
	tiers := v.Limit.Tiers
	if v.Between {
		v.Worse = v.Held
		return
	}
	if v.SoFar == NoGrade && !slices.ContainsFunc(v.Asks, func(a Ask) bool { return a.Kind == Hold }) {
		return
	}
	first, last := &tiers[0].Range, &tiers[len(tiers)-1].Range
	used := func(side limit.Side) (percent int64, ok bool) {
		value, from, to := v.Ends.High, first.Max, last.Max
		if side == limit.Low {
			value, from, to = v.Ends.Low, first.Min, last.Min
		}
		if len(tiers) < 2 || v.Action() != "" || v.Limit.Held != nil || !from.Set || !to.Set || from.At == to.At {
			return 0, false
		}
		return quantity.Percent(value, from.At, to.At), true
	}
	if v.Worse = v.Held; v.Worse != limit.Both {
		v.Allowance, v.HasAllowance = used(v.Worse)
		return
	}
	low, hasLow := used(limit.Low)
	high, hasHigh := used(limit.High)
	v.Worse = limit.High
	switch outLow, outHigh := !last.AtLeast(v.Ends.Low), !last.AtMost(v.Ends.High); {
	case outLow && outHigh:
		if excess(last.Min.At, v.Ends.Low).Cmp(excess(v.Ends.High, last.Max.At)) > 0 {
			v.Worse = limit.Low
		}
	case outLow, !outHigh && hasLow && (!hasHigh || low > high):
		v.Worse = limit.Low
	}
	v.Allowance, v.HasAllowance = high, hasHigh
	if v.Worse == limit.Low {
		v.Allowance, v.HasAllowance = low, hasLow
	}
}

// excess returns a − b; nought where that does not fit, which lengths always
// do.
func excess(a, b quantity.Figure) quantity.Figure {
	d, err := a.Plus(-1, b)
	if err != nil {
		d, _ = a.Scaled(0, 1)
	}
	return d
}

// betterThanNew tells whether a used part is beyond new on the side that does
// not wear: few parts grow, so it is more often misread.
func (v *Verdict) betterThanNew() bool {
	if v.Limit.Tiers[0].Name != "new" || v.Between {
		return false
	}
	r := v.Limit.Tiers[0].Range
	switch v.Held {
	case limit.Low:
		return !r.AtMost(v.Ends.High)
	case limit.High:
		return v.Line.Judges == book.Size && !r.AtLeast(v.Ends.Low)
	}
	return false
}

// otherStep asks about a size that is not what its mark says and fits the
// limits of another step on both sides: the mark or the reading is wrong.
func (v *Verdict) otherStep() {
	l := v.Line
	if l.Judges != book.Size || len(l.AtStep) == 0 || v.Between || v.Grade != Beyond && !v.betterThanNew() {
		return
	}
	for _, s := range l.Terms[0].Feature.Steps {
		other := l.Limit
		if s.Mark != book.Standard {
			other = l.AtStep[s.Mark]
		}
		if s.Mark == v.Steps[0] || other == nil || l.Reworked[other] == nil {
			continue
		}
		if both := l.Reworked[other]; both.Tier(v.Ends, limit.Both) < len(both.Tiers) {
			v.Asks = append(v.Asks, Ask{Kind: OtherStep, Text: s.Mark})
			return
		}
	}
}

// By returns by how much the worse end is beyond the last tier; ok is false
// where it is not.
func (v *Verdict) By() (by quantity.Figure, ok bool) {
	last := v.last()
	switch {
	case v.SoFar != Beyond || !v.Measured || v.Between || v.Wrong != "" || v.Tier < len(v.Limit.Tiers):
		return by, false
	case v.Worse == limit.Low:
		return excess(last.Min.At, v.Ends.Low), last.Min.Set
	}
	return excess(v.Ends.High, last.Max.At), last.Max.Set
}
