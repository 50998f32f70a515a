// Package book holds what one engine model's manual says, as data: parts, the
// features that are measured on them and where, and the lines of its table of
// limits.
//
// The user enters a book from the manual in hand; tenths ships no maker's
// data. [Load] reads one YAML file and reports every fault in it at once, each
// with its place and what to do. What it returns has every name resolved and
// every printed limit turned into ranges, so that judging compares numbers and
// looks nothing up.
//
// docs/formats.md describes the file.
package book

import (
	"slices"
	"strings"

	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Book is one engine model's table of limits, ready to be judged by.
type Book struct {
	Engine string
	Manual Manual
	Unit   quantity.Unit // what a length is in where nothing else is said
	Comma  bool          // the book writes decimal commas
	Parts  []*Part
	Lines  []*Line
	Spots  []Spot // by SpotID
	Sites  []*Site

	// Conditions are what lines may depend on, each with the words it can be.
	Conditions []Condition
	Amendments []*Amendment

	// Acknowledged are the findings of the check that a person lets stand.
	Acknowledged []Acknowledged
	// Struck is what a person had settled, and what was taken back.
	Struck []Struck

	Numbering Numbering
	Layout    *Layout // nil: the book has none
	Sets      []*Set

	site  []*Site // by SpotID
	refs  [][]Ref // by SpotID
	ids   map[string]SpotID
	lines map[string]*Line
}

// Manual says which text a book was entered from.
type Manual struct{ Title, Number, Revision, Date string }

// String names the text: title, number, revision and date, as far as they are
// stated.
func (m Manual) String() string {
	revision := m.Revision
	if revision != "" {
		revision = "revision " + revision
	}
	parts := slices.DeleteFunc([]string{m.Title, m.Number, revision, m.Date}, func(s string) bool { return s == "" })
	return strings.Join(parts, ", ")
}

// A SpotID is a spot's index in its book: what readings are filed by.
type SpotID int32

// Spot returns the id of the spot with that text.
func (b *Book) Spot(text string) (SpotID, bool) {
	id, ok := b.ids[text]
	return id, ok
}

// SiteAt returns the site that a spot is on.
func (b *Book) SiteAt(id SpotID) *Site { return b.site[id] }

// FeatureAt returns the feature that a spot is on.
func (b *Book) FeatureAt(id SpotID) *Feature { return b.site[id].Feature }

// A Ref names one instance of a line.
type Ref struct {
	Line *Line
	At   int
}

// Touches returns what a reading at a spot is part of, in the book's order.
func (b *Book) Touches(id SpotID) []Ref { return b.refs[id] }

// index notes for every spot which instances look at it.
func (b *Book) index() {
	b.refs = make([][]Ref, len(b.Spots))
	each := make([]int, len(b.Spots))
	all := 0
	for _, l := range b.Lines {
		for at := range l.Instances {
			for _, id := range l.Instances[at].Spots {
				each[id]++
				all++
			}
		}
	}
	room := make([]Ref, all)
	for id, n := range each {
		b.refs[id], room = room[:0:n], room[n:]
	}
	for _, l := range b.Lines {
		for at := range l.Instances {
			for _, id := range l.Instances[at].Spots {
				b.refs[id] = append(b.refs[id], Ref{l, at})
			}
		}
	}
}

// Asked is how many spots the book's lines look at, each of which is to be measured.
func (b *Book) Asked() int {
	asked, n := make([]bool, len(b.Spots)), 0
	for _, l := range b.Lines {
		for i := range l.Instances {
			for _, id := range l.Instances[i].Spots {
				if !asked[id] {
					asked[id] = true
					n++
				}
			}
		}
	}
	return n
}

// Line returns the line with that key.
func (b *Book) Line(key string) (*Line, bool) {
	l, ok := b.lines[key]
	return l, ok
}

// A Part is a kind of part and how many of it the engine has.
type Part struct {
	Key, Name string
	Positions int       // 0: one, which stands alone
	Numbering Numbering // the engine's, where it has none of its own
	Shape     Shape
	Make      Make
	Features  []*Feature
}

// Wears says which way a feature goes as it wears.
type Wears uint8

// The ways. A shaft wears smaller and a bore larger; a length or a load may be
// out on either side.
const (
	Smaller Wears = iota + 1
	Larger
	Either
)

// Counts says which of a feature's readings its size is.
type Counts uint8

// Worst is the reading furthest gone on the wear side; Mean the mean of all.
const (
	Worst Counts = iota
	Mean
)

// A Class is what sort of thing a feature is.
type Class uint8

// The classes: a size across something solid, across something hollow, a
// length or thickness, a clearance measured as one (feeler, end clearance,
// backlash), a dial's reading, or a quantity that is no length.
const (
	Outside Class = iota + 1
	Inside
	Extent
	Clearance
	Dial
	Other
	Check // yes or no
)

// A Feature is a measurable thing on a part.
type Feature struct {
	Part       *Part
	Key, Name  string
	Class      Class
	Wears      Wears
	Counts     Counts
	Unit       quantity.Unit // of its readings, where a reading names none
	Places     int           // 0: one, which stands alone
	Planes     []string
	Along      []quantity.Length // where the planes are along the part, if the book says
	Directions []string
	Sites      []*Site
	Steps      []*Step

	// Made are the features that an installed bore is made of: when one of
	// them is changed, what was measured of the bore has ended.
	Made []*Feature
}

// A Step is an undersize or oversize that a part may be at.
type Step struct {
	Mark  string
	Shift quantity.Figure // its sizes are the standard ones plus this
	// Mates are, by feature, the marks of the steps that it may run with; a
	// feature that is not named may be at any.
	Mates map[*Feature][]string
}

// Step returns the feature's step of that mark; ok is false where there is
// none.
func (f *Feature) Step(mark string) (s *Step, ok bool) {
	for _, s := range f.Steps {
		if s.Mark == mark {
			return s, true
		}
	}
	return nil, false
}

// Standard is the mark of a part at no under- or oversize.
const Standard = "std"

// A Condition is something that lines depend on and a person must say: whether
// the bushing is new or used.
type Condition struct {
	Name  string
	Words []string
}

// An Amendment is a directive, bulletin or letter that changes lines of a book.
type Amendment struct{ Key, Number, Date, Title string }

// String names the amendment: number, date and title, as far as they are stated.
func (a *Amendment) String() string {
	parts := slices.DeleteFunc([]string{a.Number, a.Date, a.Title}, func(s string) bool { return s == "" })
	return strings.Join(parts, ", ")
}

// Ref is how the book names the feature: part.feature.
func (f *Feature) Ref() string { return f.Part.Key + "." + f.Key }

// A Site is one feature of one part: the second main journal, the big end of
// rod 3.
type Site struct {
	Feature         *Feature
	Index           int // among the book's sites
	Position, Place int
	Spots           []SpotID          // plane by plane, in each the directions
	Along           []quantity.Length // where the planes are along the part, if the book says
}

// planes returns the site as a line sees it that looks at some planes only.
func (s *Site) planes(names []string) *Site {
	if len(names) == 0 || len(s.Feature.Planes) == 0 {
		return s
	}
	some := *s
	some.Spots, some.Along = nil, nil
	across := s.Across()
	for i, plane := range s.Feature.Planes {
		if !slices.Contains(names, plane) {
			continue
		}
		some.Spots = append(some.Spots, s.Spots[i*across:(i+1)*across]...)
		if len(s.Along) > 0 {
			some.Along = append(some.Along, s.Along[i])
		}
	}
	return &some
}

// MadeOf returns the sites that an installed bore is made of: of each feature
// the one of its own number, where both are numbered.
func (s *Site) MadeOf() []*Site {
	var all []*Site
	for _, f := range s.Feature.Made {
		for _, of := range f.Sites {
			if a, b := of.number(), s.number(); a == 0 || b == 0 || a == b {
				all = append(all, of)
			}
		}
	}
	return all
}

func (s *Site) number() int {
	if s.Place != 0 {
		return s.Place
	}
	return s.Position
}

// At returns the position that the site's part is at: rod-3, crank.
func (s *Site) At() string { return numbered(s.Feature.Part.Key, s.Position) }

// String returns the site's text, as a spot's begins with.
func (s *Site) String() string {
	return site(s.Feature.Part.Key, s.Position, s.Feature.Key, s.Place)
}

// Name is the site's text within its part: bigend, main-2.
func (s *Site) Name() string { return numbered(s.Feature.Key, s.Place) }

// Across returns how many directions each plane of the site has.
func (s *Site) Across() int { return max(1, len(s.Feature.Directions)) }

// Judges says what a line judges.
type Judges uint8

// What lines judge: a feature's size, a fit or stack of several, or the form
// of one.
const (
	Size Judges = iota + 1
	Fit
	OutOfRound
	Taper
	TaperRate
	RunOut
	Bend
	Difference
	Spread
	MeanOf
	Total
	SameStep
	YesNo
)

var judgesNames = [...]string{
	"", "size", "fit", "out-of-round", "taper", "taper-rate", "run-out", "bend",
	"difference", "spread", "mean", "total", "same-step", "check",
}

// String returns the key that the book uses.
func (j Judges) String() string { return judgesNames[j] }

// A Term is one part of what a line adds up.
type Term struct {
	Times   int // +1 a bore, −1 a journal, −2 a pair of like shells
	Feature *Feature
	Plane   string // of a difference: the one plane that is looked at
}

// A Line is one limit to be met, at one or more instances: each journal, each
// pair that mates.
type Line struct {
	Key             string // ours, stable across editions
	Ref, Page, Name string // the manual's: shown, never keys
	Note            string
	Judges          Judges
	Terms           []Term // one for a size or a form, more for a fit
	Instances       []Instance
	Unit            quantity.Unit
	Decimals        int // as its limits are printed
	Limit           *limit.Limit
	Held            limit.Side                    // the sides that a used part is held on
	AtStep          map[string]*limit.Limit       // by mark: the limits of a part at that step
	Reworked        map[*limit.Limit]*limit.Limit // the same as a new or reworked part is held to them
	FileLine        int

	Planes    []string            // the only planes that are looked at; none: all
	When      map[string][]string // the conditions it is for: by name, the words
	Serials   []Span              // the engines it is for; none: all
	As        string              // how it is measured: temperature, torque, zone
	Amendment *Amendment
	Replaces  *Line // the line that it stands in for
	Governor  *Line // the line that governs where it has been measured
	// Contradiction says why the line is held: its limits contradict each
	// other, so that nothing can be judged by it until a person has looked at
	// the manual.
	Contradiction string
	Ungraded      bool     // shown, not graded: only the fit is judged, or there are no limits
	Choices       []Choice // of a fit: the selected parts that may go in, one of them
	Moves         *Moves
	Also          *Also // the same limits in a second printed unit
	WantYes       bool  // of a check: what is well

	Holds   []Hold        // cells that can't be read for certain: the line is not graded
	Settled []SettledHold // those that a person has settled
	Says    Cells         // its new and service limits as the book writes them
	Printed Cells         // the row as it is printed, where that is not what was entered
	Link    *Link         // the fit that a person has confirmed it to be; nil: none
}

// An Also is a line's limits as they are printed in a second unit. They judge
// nothing: the first unit does, and they are held against it.
type Also struct {
	Unit         quantity.Unit
	New, Service string // as printed; empty where that cell is not
}

// A Choice is a selected part (washer, shim) that may be put in: its size is
// taken off the fit.
type Choice struct {
	Text string
	Size quantity.Length
}

// Moves says that a line's upper limits grow with another reading: a ring gap
// with its bore, by the manual's own factor for each unit over From.
type Moves struct {
	With  *Feature
	From  quantity.Figure
	By    quantity.Figure // a ratio
	Sites []*Site         // by instance
}

// Part returns the part that the line is listed under: its first term's.
func (l *Line) Part() *Part { return l.Terms[0].Feature.Part }

// IsClearance tells whether the line's figures are loose and tight.
func (l *Line) IsClearance() bool {
	return l.Judges == Fit || l.Judges == Size && l.Terms[0].Feature.Class == Clearance
}

// IsMean tells whether the line judges the mean of a feature's readings. Fits
// and form look at the readings themselves.
func (l *Line) IsMean() bool { return l.Judges == Size && l.Terms[0].Feature.Counts == Mean }

// OnlyWorsens tells whether one more reading can only make the line's verdict
// worse: so it is with extremes, and not with means or with limits that move.
func (l *Line) OnlyWorsens() bool {
	return !l.IsMean() && l.Judges != MeanOf && l.Judges != Difference && l.Moves == nil
}

// An Instance is one thing that a line judges: for each term, the site that is
// added. Who mates with whom is data of the line.
type Instance struct {
	Label string // "2", or "2.1" for the first place of the second part; empty where there is one
	Sites []*Site
	Spots []SpotID // every spot that the line reads here, once each
}

// ID returns the text that names one instance of a line: its key, and its
// label where it has more than one.
func (l *Line) ID(at int) string {
	if l.Instances[at].Label == "" {
		return l.Key
	}
	return l.Key + "-" + l.Instances[at].Label
}
