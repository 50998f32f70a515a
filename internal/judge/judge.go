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

	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/metrology/limit"
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
	Settle      AskKind = iota + 1 // more than one live reading at one spot: strike all but one
	Query                          // better than new on the side that does not wear: is it misread?
	Hold                           // the limit has two readings, and they disagree about this value
	Wide                           // the figures are too large to be added
	Undecided                      // a bracket, a band or a go gauge leaves the grade open
	Which                          // the line depends on a condition that nobody has stated
	Mark                           // the readings do not agree on the step the part is marked, or it has no such step
	OtherStep                      // the size is another step's than the one marked
	Mixed                          // readings of two items at one place
	Contradicts                    // the line's limits contradict each other
	Held                           // a cell of the line can't be read for certain: it is not graded until a person settles it
)

var askNames = [...]string{"", "settle", "query", "hold", "range", "undecided", "condition", "mark", "step", "items", "contradiction", "held"}

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

// IsHeld tells whether a cell of the line waits for a person.
func (v *Verdict) IsHeld() bool { return v.asks(Held) }

// asks tells whether a person is asked such a thing.
func (v *Verdict) asks(kind AskKind) bool {
	return slices.ContainsFunc(v.Asks, func(a Ask) bool { return a.Kind == kind })
}

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
	Serial     string            // empty: not stated
}

// Book judges every instance of every line that is for this engine, in the
// order of the book. A line whose condition is not stated is judged and asks; a
// line that another stands in for is left out.
func Book(b *book.Book, given Given, here Here) []Verdict {
	lines, asks := applicable(b, given)
	surely := map[*book.Line]bool{}
	standIn := map[*book.Line]*book.Line{}
	for i, l := range lines {
		surely[l] = asks[i] == ""
		for r := l.Replaces; r != nil && surely[l]; r = r.Replaces {
			standIn[r] = l // also for what that one had replaced
		}
	}
	n := 0
	for _, l := range lines {
		n += len(l.Instances)
	}
	all := make([]Verdict, 0, n)
	for i, l := range lines {
		governor := l.Governor
		if by := standIn[governor]; by != nil && len(by.Instances) == len(l.Instances) {
			governor = by
		}
		if !surely[governor] {
			governor = nil
		}
		for at := range l.Instances {
			v := line(l, at, here, governor)
			if asks[i] != "" && v.Ungraded == "" {
				v.Asks = append(v.Asks, Ask{Kind: Which, Text: asks[i]})
				v.Grade = NoGrade
			}
			all = append(all, v)
		}
	}
	return all
}

// Serial is what a line asks for that is for some engines only, alone where the
// serial number is not stated, and with the one that is, where it can't be told
// whether the line is for that engine.
const Serial = "serial"

// isIn tells whether a serial number is in one of the spans, and whether that is
// sure.
func isIn(serial string, spans []book.Span) (in, sure bool) {
	s, err := book.ParseSerial(serial)
	if err != nil {
		return false, false
	}
	return book.In(s, spans)
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
			switch in, sure := isIn(given.Serial, l.Serials); {
			case given.Serial == "":
				ask[l] = Serial
			case !sure:
				ask[l] = Serial + " " + given.Serial
			case !in:
				out[l] = true
			}
		}
	}
	replaced := map[*book.Line]bool{}
	for _, l := range b.Lines {
		if l.Replaces != nil && !out[l] && ask[l] == "" {
			replaced[l.Replaces] = true
		}
	}
	for _, l := range b.Lines {
		if l.Replaces != nil && !out[l] && ask[l] != "" && ask[l.Replaces] == "" {
			ask[l.Replaces] = ask[l] // which of the two governs is not known
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
// difference and limits that move can still go either way.
func Line(l *book.Line, at int, here Here) Verdict {
	return line(l, at, here, l.Governor)
}

// line judges one instance; governor is the line that governs this one for this
// engine, if any does.
func line(l *book.Line, at int, here Here, governor *book.Line) Verdict {
	v := Verdict{Line: l, At: at, Limit: l.Limit, Held: l.Held, Ungraded: ungraded(l, at, here, governor)}
	inst := &l.Instances[at]
	v.lookAtReadings(inst, here)
	if l.Contradiction != "" {
		v.Asks = append(v.Asks, Ask{Kind: Contradicts})
	}
	if !v.atStep(inst, here) {
		return v
	}
	if len(l.Holds) > 0 && v.Ungraded == "" {
		v.held(inst, here)
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
	if v.Grade != Beyond && v.asks(Mixed) {
		v.Grade = NoGrade // of which of the two?
	}
	v.allowance()
	if v.betterThanNew() {
		v.Asks = append(v.Asks, Ask{Kind: Query})
	}
	v.otherStep()
	return v
}

// held shows what was found where a cell of the line waits for a person.
func (v *Verdict) held(inst *book.Instance, here Here) {
	v.Asks = append(v.Asks, Ask{Kind: Held})
	if v.Line.Judges == book.YesNo || v.Line.Judges == book.SameStep {
		return
	}
	ends, measured, err := spanOf(v.Line, inst, here)
	if err != nil {
		v.Asks = append(v.Asks, Ask{Kind: Wide})
		return
	}
	v.show(ends, measured)
}

// show notes what the readings come to.
func (v *Verdict) show(s span, measured bool) {
	v.Measured, v.Ends, v.Between = measured, s.wide(), s.between
	v.NoLow, v.NoHigh = measured && !s.low.lo.Set, measured && !s.high.hi.Set
}

// ungraded says why an instance is shown and not graded.
func ungraded(l *book.Line, at int, here Here, governor *book.Line) string {
	switch {
	case l.Contradiction != "":
		return "its limits contradict each other"
	case l.Limit.Ungraded:
		return "reference"
	case l.Ungraded:
		return "only the fit is judged"
	case governor == nil:
		return ""
	}
	for _, id := range governor.Instances[at].Spots {
		if len(here(id)) == 0 {
			return ""
		}
	}
	return governor.Key + " governs"
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

// itemsAt are the items that a site's readings name.
func itemsAt(s *book.Site, here Here) []string {
	var items []string
	for _, id := range s.Spots {
		for _, r := range here(id) {
			if r.Item != "" && !slices.Contains(items, r.Item) {
				items = append(items, r.Item)
			}
		}
	}
	return items
}

// first tells whether the spot is the first of a site that has no reading at
// all: to know a part's mark, one is enough.
func first(inst *book.Instance, id book.SpotID, here Here) bool {
	for _, s := range inst.Sites {
		if s.Spots[0] != id {
			continue
		}
		return !anyRead(s, here)
	}
	return false
}

// anyRead tells whether a site has a reading at all.
func anyRead(s *book.Site, here Here) bool {
	return slices.ContainsFunc(s.Spots, func(id book.SpotID) bool { return len(here(id)) > 0 })
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
			if !anyRead(s, here) {
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
