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
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Book is one engine model's table of limits, ready to be judged by.
type Book struct {
	Engine  string
	Manual  Manual
	Unit    quantity.Unit // what a length is in where nothing else is said
	Comma   bool          // the book writes decimal commas
	Parts   []*Part
	Lines   []*Line
	Spots   []Spot // by SpotID
	feature []*Feature
	ids     map[string]SpotID
	lines   map[string]*Line
}

// Manual says which text a book was entered from.
type Manual struct{ Title, Number, Revision, Date string }

// A SpotID is a spot's index in its book: what readings are filed by.
type SpotID int32

// Spot returns the id of the spot with that text.
func (b *Book) Spot(text string) (SpotID, bool) {
	id, ok := b.ids[text]
	return id, ok
}

// FeatureAt returns the feature that a spot is on.
func (b *Book) FeatureAt(id SpotID) *Feature { return b.feature[id] }

// Line returns the line with that key.
func (b *Book) Line(key string) (*Line, bool) {
	l, ok := b.lines[key]
	return l, ok
}

// A Part is a kind of part and how many of it the engine has.
type Part struct {
	Key, Name string
	Positions int // 0: one, which stands alone
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
}

// Ref is how the book names the feature: part.feature.
func (f *Feature) Ref() string { return f.Part.Key + "." + f.Key }

// A Site is one feature of one part: the second main journal, the big end of
// rod 3.
type Site struct {
	Feature         *Feature
	Position, Place int
	Spots           []SpotID // plane by plane, in each the directions
}

// String returns the site's text, as a spot's begins with.
func (s *Site) String() string {
	return site(s.Feature.Part.Key, s.Position, s.Feature.Key, s.Place)
}

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
)

var judgesNames = [...]string{"", "size", "fit", "out-of-round", "taper", "taper-rate", "run-out", "bend"}

// String returns the key that the book uses.
func (j Judges) String() string { return judgesNames[j] }

// A Term is one part of what a line adds up.
type Term struct {
	Times   int // +1 a bore, −1 a journal, −2 a pair of like shells
	Feature *Feature
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
	Limit           limit.Limit
	Held            limit.Side // the sides that a used part is held on
	FileLine        int
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
