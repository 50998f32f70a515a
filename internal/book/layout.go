package book

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"tenths/metrology/quantity"
)

// Numbering says which end number one is at and what left means, in the words
// of the manual. A position told without it may be looked for at the wrong end
// of the engine.
type Numbering struct {
	First     string // which end number one is at: "propeller end"
	Left      string // what left means: "the pilot's left"; empty where Viewpoint says it
	Viewpoint string // where one sees it from: "behind the engine"
}

// String returns the numbering as one sentence without its point, such as
// "1 is at the propeller end; left and right as seen from behind the engine".
// It is empty where the book says nothing.
func (n Numbering) String() string {
	if n.First == "" {
		return ""
	}
	first := strings.TrimPrefix(n.First, "at ")
	if !strings.HasPrefix(first, "the ") {
		first = "the " + first
	}
	seen := n.Viewpoint
	if seen != "" {
		seen = strings.TrimPrefix(strings.TrimPrefix(seen, "as "), "seen ")
		switch word, _, _ := strings.Cut(seen, " "); word {
		case "from", "standing", "looking", "facing":
		default:
			seen = "from " + seen
		}
		seen = "as seen " + seen
	}
	switch {
	case n.Left == "" && seen == "":
		return "1 is at " + first
	case n.Left == "":
		return "1 is at " + first + "; left and right " + seen
	case seen == "":
		return "1 is at " + first + "; left is " + n.Left
	}
	return "1 is at " + first + "; left is " + n.Left + ", " + seen
}

// A Shape is what a part looks like, for drawing it. Zero is not stated.
type Shape uint8

// The shapes. A shaft has journals; a case is one half or more; what is none
// of the others is plain.
const (
	ShaftShape Shape = iota + 1
	RodShape
	BarrelShape
	PistonShape
	PinShape
	CaseShape
	ValveShape
	SpringShape
	GearShape
	PlainShape
)

var shapeWords = []string{"shaft", "rod", "barrel", "piston", "pin", "case", "valve", "spring", "gear", "plain"}

// String returns the word that the book uses.
func (s Shape) String() string { return wordOf(shapeWords, int(s)) }

// A Metal is the sort of metal that a part is made of, as far as it follows
// from the book's words. Zero is not stated, or none of these.
type Metal uint8

// The metals that are told apart.
const (
	Steel Metal = iota + 1
	CastIron
	Aluminium
	Magnesium
	Bronze
)

var metalWords = []string{"steel", "cast iron", "aluminium", "magnesium", "bronze"}

// String returns the metal's name.
func (m Metal) String() string { return wordOf(metalWords, int(m)) }

func wordOf(words []string, n int) string {
	if n == 0 {
		return ""
	}
	return words[n-1]
}

// metalOf finds the metal in words such as "aluminum alloy casting". The last
// one named counts: aluminium bronze is a bronze, a chromium-plated steel a
// steel.
func metalOf(words string) Metal {
	words = strings.ReplaceAll(strings.ToLower(words), "aluminum", "aluminium")
	last, m := -1, Metal(0)
	for i, w := range metalWords {
		if at := strings.LastIndex(words, w); at > last {
			last, m = at, Metal(i+1)
		}
	}
	return m
}

// A Make is what a part is made of and what was done to it, as the book words
// it.
type Make struct {
	Material  string
	Metal     Metal // what of Material is known
	Treatment string
}

// A SetKind says how the members of a set belong together.
type SetKind uint8

// In a pair the first of the one belongs with the first of the other, the
// second with the second: each rod with its cap. In a whole set all belong
// with all: four pistons of one weight.
const (
	Pairs SetKind = iota + 1
	Whole
)

var setWords = []string{"pair", "set"}

// String returns the word that the book uses.
func (k SetKind) String() string { return wordOf(setWords, int(k)) }

// A Set is parts that were made or matched to belong together and must not be
// mixed.
type Set struct {
	Key, Why string
	Kind     SetKind
	Groups   [][]Member // in each, what belongs together
}

// A Member is one piece of a set: a part, or what is fitted at one feature of
// it.
type Member struct {
	Part            *Part
	Feature         *Feature // nil: the part as a whole
	Position, Place int      // 0: stands alone
}

// String returns the member as the book would name it: rod-3, case.left-2.
func (m Member) String() string {
	if m.Feature == nil {
		return numbered(m.Part.Key, m.Position)
	}
	return site(m.Part.Key, m.Position, m.Feature.Key, m.Place)
}

// An Arrangement is how an engine's cylinders stand about its shaft.
type Arrangement uint8

// The arrangements.
const (
	Opposed Arrangement = iota + 1
	InLine
	Radial
)

var arrangementWords = []string{"opposed", "in-line", "radial"}

// String returns the word that the book uses.
func (a Arrangement) String() string { return wordOf(arrangementWords, int(a)) }

// An End is one of the two ends of an engine.
type End uint8

// The ends: that of the propeller, and the other.
const (
	PropellerEnd End = iota + 1
	AccessoryEnd
)

var endWords = []string{"propeller", "accessory"}

// String returns the word that the book uses.
func (e End) String() string { return wordOf(endWords, int(e)) }

// A Layout says where everything in an engine is, so that it can be drawn from
// its book alone.
//
// All angles are from straight up, clockwise as seen from Viewpoint: 90° is to
// the right there, 270° to the left.
type Layout struct {
	Arrangement Arrangement
	First       End // where number one is, and where the shafts' sites begin
	Viewpoint   End
	Cylinders   []Cylinder // cylinder 1 first
	Shafts      []Shaft
	Throws      []Throw         // as they follow along the shafts
	Of          map[*Part][]int // by position: the number of the cylinder that the part is of
}

// A Cylinder is one of the engine's cylinders. Where it is along the shaft is
// where its throw is.
type Cylinder struct {
	Angle quantity.Figure // which way its head points
	Throw int             // among the layout's throws
}

// A Shaft is a shaft's journals, pins and other sites, from end one on. A pin
// of a throw stands out from the axis; all else is about it.
type Shaft struct {
	Part  *Part
	Sites []*Site
}

// A Throw is one crankpin and the cylinders whose rods are on it.
type Throw struct {
	Pin       *Site
	Angle     quantity.Figure // in the shaft's position that the book's angles are for
	Cylinders []int
	Master    int // the cylinder of the master rod, whose big end carries the others; 0: none
}

// The file as it is written.
type (
	rawNumbering = placed[numberingKeys]
	rawLayout    = placed[layoutKeys]

	numberingKeys struct {
		First     text `book:"first" doc:"which end number one is at: propeller end"`
		Left      text `book:"left" doc:"what left means: the pilot's left"`
		Viewpoint text `book:"viewpoint" doc:"where one sees it from: behind the engine"`
	}
	rawSet struct {
		Kind text   `book:"kind" enum:"pair,set" need:"yes" doc:"pair: the first of the one with the first of the other; set: all belong together"`
		Of   []text `book:"of" need:"yes" doc:"what belongs together: parts (rod, rod-3) or features (case.left, case.left-2)"`
		Why  text   `book:"why" doc:"why, in the manual's words"`
	}
	layoutKeys struct {
		Arrangement text              `book:"arrangement" enum:"opposed,in-line,radial" need:"yes" doc:"how the cylinders stand about the shaft"`
		First       text              `book:"first" enum:"propeller,accessory" need:"yes" doc:"the end where number one is and the shafts' lists begin"`
		Viewpoint   text              `book:"viewpoint" enum:"propeller,accessory" need:"yes" doc:"the end from which left is left and angles are clockwise"`
		Cylinders   text              `book:"cylinders" need:"yes" doc:"how many"`
		Left        []text            `book:"left" doc:"of an opposed engine: the numbers of the cylinders on the left"`
		Right       []text            `book:"right" doc:"of an opposed engine: the numbers of the cylinders on the right"`
		Angles      []text            `book:"angles" doc:"of other engines: for each cylinder which way its head points, in degrees from straight up; if left out, in-line ones are upright and radial ones even, number one on top"`
		Shafts      []named[texts]    `book:"shafts" keys:"name" need:"yes" doc:"by part, all that is along the shaft, from end one: [crank.main-1, crank.pin-1, crank.main-2]"`
		Throws      []named[rawThrow] `book:"throws" keys:"site" need:"yes" doc:"by crankpin, as crank.pin-1"`
		Parts       []named[rawOf]    `book:"parts" keys:"name" doc:"by part, which cylinder each is of: each, or a list"`
	}
	rawThrow struct {
		Angle     text   `book:"angle" need:"yes" doc:"in degrees from straight up, 0 to less than 360, clockwise as seen from the viewpoint"`
		Cylinders []text `book:"cylinders" need:"yes" doc:"the cylinders whose rods are on this pin"`
		Master    text   `book:"master" doc:"the cylinder whose rod carries the others"`
	}
	// rawOf is the word each, or a list of cylinders.
	rawOf struct {
		each bool
		list []text // nil: neither, which has been told
		at   text
	}
	// placed is keys with the place where they stand, which tells that they
	// are there at all.
	placed[T any] struct {
		at   text
		keys T
	}
)

func (p *placed[T]) decode(d *decoder, n *node, path string) {
	if n.kind == scalarNode && n.null {
		return // "layout:" with nothing behind it says nothing
	}
	p.at = text{"", int(n.line), int(n.column)}
	d.fields(n, path, reflect.ValueOf(&p.keys).Elem())
}

func (p *rawOf) decode(d *decoder, n *node, path string) {
	p.at = at(n)
	switch n.kind {
	case scalarNode:
		if p.each = n.value == "each"; !p.each {
			d.fault(p.at, path, "choice", "is not the word it can be", "write each, or a list of cylinders")
		}
	case sequenceNode:
		p.list = []text{}
		for i := range n.content {
			c := &n.content[i]
			t := at(c)
			d.into(c, path, reflect.ValueOf(&t).Elem())
			p.list = append(p.list, t)
		}
	default:
		d.shape(n, path, "the word each, or a list of cylinders")
	}
}

// numbering reads which end is number one. What a part does not say stands as
// for the engine; but left and viewpoint explain each other, so that a part
// which says one of them takes neither from the engine.
func (r *resolver) numbering(raw *rawNumbering, path string, engine Numbering) Numbering {
	if !raw.at.set() {
		return engine
	}
	v := &raw.keys
	n := engine
	if v.First.value != "" {
		n.First = v.First.value
	}
	if v.Left.value != "" || v.Viewpoint.value != "" {
		n.Left, n.Viewpoint = v.Left.value, v.Viewpoint.value
	}
	if n.First == "" {
		r.fault(raw.at, path, "missing", "it does not say which end number one is at", "add \"first: propeller end\", or where it is")
	}
	return n
}

// layoutNumbering is the numbering that follows from a layout, for a book that
// does not word it.
func layoutNumbering(raw *rawLayout) Numbering {
	first, seen := raw.keys.First.value, raw.keys.Viewpoint.value
	if !slices.Contains(endWords, first) || !slices.Contains(endWords, seen) {
		return Numbering{}
	}
	return Numbering{First: first + " end", Viewpoint: "the " + seen + " end"}
}

// partShape reads what a part looks like.
func (r *resolver) partShape(t text, path string) Shape {
	return Shape(r.oneOf(t, path+".shape", shapeWords))
}

// makeOf reads what a part is made of. Any words are good; the metals that
// other rules turn on are found in them.
func (r *resolver) makeOf(material, treatment text, path string) Make {
	m := Make{Material: material.value, Metal: metalOf(material.value), Treatment: treatment.value}
	words := strings.ToLower(m.Material)
	ferrous := strings.Contains(words, "steel") || strings.Contains(words, "iron") // a steel barrel in a head of aluminium
	if strings.Contains(strings.ToLower(m.Treatment), "nitrid") && m.Metal > CastIron && !ferrous {
		r.fault(treatment, path+".treatment", "choice", "is done to steel and iron, and the part is of "+m.Metal.String(),
			"look at the manual: one of the two is another part's")
	}
	return m
}

// oneOf returns the word's number from 1, or 0 where there is none, which is a
// fault unless nothing is said.
func (r *resolver) oneOf(t text, field string, words []string) int {
	if t.value == "" {
		return 0
	}
	n := slices.Index(words, t.value) + 1
	if n == 0 {
		r.choice(t, field, words...)
	}
	return n
}

// needed is oneOf where something must be said.
func (r *resolver) needed(t, at text, field string, words []string) int {
	if t.value == "" {
		r.fault(at, field, "missing", "is not there", "write one of "+strings.Join(words, ", "))
	}
	return r.oneOf(t, field, words)
}

// sets reads what belongs together.
func (r *resolver) sets(raw []named[rawSet]) []*Set {
	var all []*Set
	members := 0
	for i := range raw {
		key, v := raw[i].Key, &raw[i].Value
		path := "sets." + key.value
		before := len(r.faults)
		if !isLineKey(key.value) {
			r.fault(key, "sets", "name", "is not a set's key", "use words of a–z and 0–9 with - between, each beginning with a letter")
		}
		s := &Set{Key: key.value, Why: v.Why.value, Kind: SetKind(r.needed(v.Kind, key, path+".kind", setWords))}
		var lists [][]Member
		seen := map[Member]bool{}
		for _, t := range v.Of {
			list, ok := r.members(t, path+".of")
			if !ok {
				continue
			}
			members += len(list)
			if members > maxSpots {
				r.fault(t, path+".of", "count", fmt.Sprintf("with this the sets have more than %d members", maxSpots), "name what belongs together only once")
				return nil
			}
			for _, m := range list {
				if seen[m] {
					r.fault(t, path+".of", "doubled-key", m.String()+" is in the set a second time", "name it once")
					break
				}
				seen[m] = true
			}
			lists = append(lists, list)
		}
		if len(v.Of) == 0 {
			r.fault(key, path+".of", "missing", "it does not say what belongs together", "list parts or features under \"of:\", as [rod, cap]")
		}
		if len(r.faults) > before || len(lists) < len(v.Of) {
			continue
		}
		switch {
		case s.Kind == Whole && len(seen) < 2:
			r.fault(v.Of[0], path+".of", "count", "is one thing, and a set has at least two", "name what it belongs with")
		case s.Kind == Whole:
			s.Groups = [][]Member{slices.Concat(lists...)}
		case len(lists) != 2:
			r.fault(v.Of[0], path+".of", "count", fmt.Sprintf("a pair names two things, and here it names %d", len(lists)), "name two, or write \"kind: set\"")
		case len(lists[0]) != len(lists[1]):
			r.fault(v.Of[1], path+".of", "count", fmt.Sprintf("is %d, %s is %d: which belongs with which?", len(lists[1]), v.Of[0].value, len(lists[0])), "name them by their numbers, a pair at a time")
		default:
			for n := range lists[0] {
				s.Groups = append(s.Groups, []Member{lists[0][n], lists[1][n]})
			}
		}
		all = append(all, s)
	}
	return all
}

// members reads part, part-3, part.feature or part-3.feature-2. What has no
// number where there are several stands for all of them, in order. ok is false
// where the name leads nowhere, or to something that is in fault itself.
func (r *resolver) members(t text, field string) (list []Member, ok bool) {
	m, ok := r.member(t, field)
	if !ok {
		return nil, false
	}
	for _, n := range which(m.Position, m.Part.Positions) {
		if m.Feature == nil {
			list = append(list, Member{Part: m.Part, Position: n})
			continue
		}
		for _, place := range which(m.Place, m.Feature.Places) {
			list = append(list, Member{m.Part, m.Feature, n, place})
		}
	}
	return list, true
}

// which returns the numbers that n of count means: all where n is 0.
func which(n, count int) []int {
	if n == 0 {
		return upTo(count)
	}
	return []int{n}
}

// member reads the name itself, with the numbers that it has.
func (r *resolver) member(t text, field string) (m Member, ok bool) {
	head, tail, ofFeature := strings.Cut(t.value, ".")
	key, position, IsName := CutNumber(head)
	m = Member{Part: r.partOf(key), Position: position}
	if !IsName || m.Part == nil {
		r.nowhere(t, field, "part", key)
		return m, false
	}
	if position > m.Part.Positions {
		r.fault(t, field, "nowhere", fmt.Sprintf("%s has no number %d", key, position), "see \"positions:\" of the part")
		return m, false
	}
	if !ofFeature {
		return m, true
	}
	name, place, IsName := CutNumber(tail)
	f, known := r.features[key+"."+name]
	if f == nil {
		if !known {
			r.nowhere(t, field, "feature", key+"."+name)
		}
		return m, false
	}
	if !IsName || place > f.Places {
		r.fault(t, field, "nowhere", fmt.Sprintf("%s has no number %d", f.Ref(), place), "see \"places:\" of the feature")
		return m, false
	}
	m.Feature, m.Place = f, place
	return m, true
}

func (r *resolver) partOf(key string) *Part {
	for _, p := range r.book.Parts {
		if p.Key == key {
			return p
		}
	}
	return nil
}

func (r *resolver) nowhere(t text, field, what, ref string) {
	if !r.partsBad {
		r.fault(t, field, "nowhere", "there is no such "+what, r.near(ref))
	}
}

// siteOf reads the name of one site: crank.pin-1.
func (r *resolver) siteOf(t text, field string) *Site {
	m, ok := r.member(t, field)
	switch {
	case !ok, m.Feature != nil && len(m.Feature.Sites) == 0: // too many, which has been told
		return nil
	case m.Feature == nil:
		r.fault(t, field, "nowhere", "is a part, not a place on one", "write it as crank.pin-1")
		return nil
	case m.Position == 0 && m.Part.Positions > 0, m.Place == 0 && m.Feature.Places > 0:
		r.fault(t, field, "nowhere", "is several places", "say which, as "+m.Feature.Sites[0].String())
		return nil
	}
	// Sites lie position by position, in each the places.
	return m.Feature.Sites[max(0, m.Position-1)*max(1, m.Feature.Places)+max(0, m.Place-1)]
}

// layout reads where everything is. shape tells what a part looks like. It
// returns nil where the book has no layout, or a faulty one.
func (r *resolver) layout(raw *rawLayout, shape func(*Part) Shape) *Layout {
	if !raw.at.set() {
		return nil
	}
	v := &raw.keys
	before := len(r.faults)
	l := &Layout{
		Arrangement: Arrangement(r.needed(v.Arrangement, raw.at, "layout.arrangement", arrangementWords)),
		First:       End(r.needed(v.First, raw.at, "layout.first", endWords)),
		Viewpoint:   End(r.needed(v.Viewpoint, raw.at, "layout.viewpoint", endWords)),
		Of:          map[*Part][]int{},
	}
	if !v.Cylinders.set() {
		r.fault(raw.at, "layout.cylinders", "missing", "is not there", "say how many cylinders the engine has")
	}
	n := r.count(v.Cylinders, "layout.cylinders")
	if n == 0 || l.Arrangement == 0 {
		return nil // all else is told by these
	}
	l.Cylinders = make([]Cylinder, n)
	if l.Arrangement == Opposed {
		r.sides(l, raw)
	} else {
		r.heads(l, raw)
	}
	if r.shafts(l, raw) {
		r.throws(l, raw) // pins are looked for on the shafts
	}
	r.owners(l, raw, shape)
	if len(r.faults) > before {
		return nil
	}
	return l
}

// degrees returns n/of of a whole turn.
func degrees(n, of int) quantity.Figure {
	turn, _, err := quantity.Format{Unit: quantity.Degree}.Figure("360")
	if err == nil {
		turn, err = turn.Scaled(int64(n), int64(of))
	}
	if err != nil {
		panic("BUG: a turn has no parts: " + err.Error())
	}
	return turn
}

// sides reads on which side of an opposed engine each cylinder is.
func (r *resolver) sides(l *Layout, raw *rawLayout) {
	v := &raw.keys
	if len(v.Angles) > 0 {
		r.fault(v.Angles[0], "layout.angles", "choice", "the cylinders of an opposed engine are on its left or right", "list them under \"left:\" and \"right:\"")
		return
	}
	seen := make([]bool, len(l.Cylinders))
	for _, side := range []struct {
		field string
		list  []text
		angle quantity.Figure
	}{
		{"layout.left", v.Left, degrees(3, 4)},
		{"layout.right", v.Right, degrees(1, 4)},
	} {
		for _, n := range r.cylinders(side.list, side.field, seen) {
			l.Cylinders[n-1].Angle = side.angle
		}
	}
	r.allSeen(seen, raw.at, "layout", "is neither on the left nor on the right", "list it under \"left:\" or \"right:\"")
}

// heads reads which way the cylinders of any other engine point.
func (r *resolver) heads(l *Layout, raw *rawLayout) {
	v := &raw.keys
	if sides := slices.Concat(v.Left, v.Right); len(sides) > 0 {
		r.fault(sides[0], "layout", "choice", "left and right are the sides of an opposed engine", "list \"angles:\" instead, or leave them out")
		return
	}
	for i := range l.Cylinders {
		if l.Arrangement == Radial {
			l.Cylinders[i].Angle = degrees(i, len(l.Cylinders))
		} else {
			l.Cylinders[i].Angle = degrees(0, 1)
		}
	}
	if len(v.Angles) == 0 {
		return
	}
	if len(v.Angles) != len(l.Cylinders) {
		r.fault(v.Angles[0], "layout.angles", "count", fmt.Sprintf("here are %d angles for %d cylinders", len(v.Angles), len(l.Cylinders)), "give one for each cylinder, cylinder 1 first")
		return
	}
	var last *quantity.Figure // that could be read
	for i, t := range v.Angles {
		a, ok := r.angle(t, "layout.angles")
		if !ok {
			continue
		}
		if l.Arrangement == Radial && last != nil && a.Cmp(*last) <= 0 {
			r.fault(t, "layout.angles", "figure", "is not further round than the cylinder before", "the numbers of a radial engine run clockwise as seen from its viewpoint: look whether that is the other end")
			return // those that follow would be told as well
		}
		l.Cylinders[i].Angle, last = a, &a
	}
}

// angle reads degrees from 0 to less than a whole turn.
func (r *resolver) angle(t text, field string) (a quantity.Figure, ok bool) {
	a, _, err := quantity.Format{Unit: quantity.Degree, DecimalComma: r.book.Comma}.Figure(t.value)
	switch {
	case err != nil:
		r.figure(t, field, err)
	case a.Sign() < 0 || a.Cmp(degrees(1, 1)) >= 0:
		r.fault(t, field, "figure", "is not an angle from 0 to less than 360", "count it from straight up, clockwise as seen from the viewpoint")
	default:
		return a, true
	}
	return a, false
}

// cylinders reads the numbers of cylinders, none of which has been seen.
func (r *resolver) cylinders(list []text, field string, seen []bool) (numbers []int) {
	for _, t := range list {
		n := r.cylinder(t, field, len(seen))
		if n == 0 {
			continue
		}
		if seen[n-1] {
			r.fault(t, field, "doubled-key", "the cylinder stands here a second time", "name it once")
			continue
		}
		seen[n-1] = true
		numbers = append(numbers, n)
	}
	return numbers
}

// cylinder reads a cylinder's number; 0 is a fault.
func (r *resolver) cylinder(t text, field string, most int) int {
	n, err := strconv.Atoi(t.value)
	if err != nil || n < 1 || n > most || strconv.Itoa(n) != t.value {
		r.fault(t, field, "nowhere", "is not one of the cylinders", fmt.Sprintf("they are 1 to %d", most))
		return 0
	}
	return n
}

func (r *resolver) allSeen(seen []bool, at text, field, what, do string) {
	for i, ok := range seen {
		if !ok {
			r.fault(at, field, "missing", fmt.Sprintf("cylinder %d %s", i+1, what), do)
		}
	}
}

// shafts reads what is along each shaft, all of a feature that is on it.
func (r *resolver) shafts(l *Layout, raw *rawLayout) (ok bool) {
	v := &raw.keys
	before := len(r.faults)
	if len(v.Shafts) == 0 {
		r.fault(raw.at, "layout.shafts", "missing", "is not there", "list what is along the crankshaft, from end one: crank: [crank.main-1, crank.pin-1, crank.main-2]")
	}
	seen := map[*Site]bool{}
	var features []*Feature
	last := map[*Feature]text{}
	for i := range v.Shafts {
		key, list := v.Shafts[i].Key, v.Shafts[i].Value
		field := "layout.shafts." + key.value
		s := Shaft{Part: r.partOf(key.value)}
		if s.Part == nil {
			r.nowhere(key, "layout.shafts", "part", key.value)
		}
		for _, t := range list {
			at := r.siteOf(t, field)
			if at == nil {
				continue
			}
			if seen[at] {
				r.fault(t, field, "doubled-key", "stands on the shafts a second time", "name it once")
				continue
			}
			seen[at] = true
			s.Sites = append(s.Sites, at)
			if _, known := last[at.Feature]; !known {
				features = append(features, at.Feature)
			}
			last[at.Feature] = t
		}
		if len(list) == 0 {
			r.fault(key, field, "missing", "nothing is along the shaft", "list it from end one: [crank.main-1, crank.pin-1, crank.main-2]")
		}
		l.Shafts = append(l.Shafts, s)
	}
	if len(r.faults) > before {
		return false
	}
	for _, f := range features {
		for _, s := range f.Sites {
			if !seen[s] {
				r.fault(last[f], "layout.shafts", "missing", s.String()+" is not on the shaft and others of "+f.Ref()+" are", "put it where it is along the shaft")
			}
		}
	}
	return len(r.faults) == before
}

// throws reads the crankpins, and puts them in the order of the shafts.
func (r *resolver) throws(l *Layout, raw *rawLayout) {
	v := &raw.keys
	if len(v.Throws) == 0 {
		r.fault(raw.at, "layout.throws", "missing", "is not there", "give each crankpin its angle and its cylinders: crank.pin-1: {angle: 0, cylinders: [1]}")
		return
	}
	along := map[*Site]int{}
	for _, s := range l.Shafts {
		for _, at := range s.Sites {
			along[at] = len(along)
		}
	}
	before := len(r.faults)
	seen := make([]bool, len(l.Cylinders))
	for i := range v.Throws {
		key, one := v.Throws[i].Key, &v.Throws[i].Value
		field := "layout.throws." + key.value
		pin := r.siteOf(key, "layout.throws")
		if _, on := along[pin]; pin != nil && !on {
			r.fault(key, "layout.throws", "nowhere", "the crankpin is not on a shaft", "put it into the shaft's list under \"shafts:\"")
		}
		t := Throw{Pin: pin, Cylinders: r.cylinders(one.Cylinders, field+".cylinders", seen)}
		if len(one.Cylinders) == 0 {
			r.fault(key, field+".cylinders", "missing", "no rod is on the crankpin", "list the cylinders whose rods are on it")
		}
		if one.Angle.set() {
			t.Angle, _ = r.angle(one.Angle, field+".angle")
		} else {
			r.fault(key, field+".angle", "missing", "the throw's angle is not stated", "give it in degrees, from straight up")
		}
		switch {
		case one.Master.set():
			t.Master = r.cylinder(one.Master, field+".master", len(l.Cylinders))
			if t.Master > 0 && !slices.Contains(t.Cylinders, t.Master) {
				r.fault(one.Master, field+".master", "nowhere", "the master rod's cylinder is not on this crankpin", "name one of its cylinders")
			}
		case l.Arrangement == Radial && len(one.Cylinders) > 1:
			r.fault(key, field+".master", "missing", "it does not say which rod is the master", "add \"master:\" with the cylinder of the master rod")
		}
		l.Throws = append(l.Throws, t)
	}
	if len(r.faults) > before {
		return
	}
	r.allSeen(seen, v.Throws[0].Key, "layout.throws", "is on no throw", "add it to the throw that its rod is on")
	slices.SortStableFunc(l.Throws, func(a, b Throw) int {
		return along[a.Pin] - along[b.Pin]
	})
	for i, t := range l.Throws {
		for _, n := range t.Cylinders {
			l.Cylinders[n-1].Throw = i
		}
	}
}

// owners reads which parts each cylinder has. A cylinder has one rod, one
// barrel and one piston, if the book tells of such parts at all.
func (r *resolver) owners(l *Layout, raw *rawLayout, shape func(*Part) Shape) {
	v := &raw.keys
	before := len(r.faults)
	has := map[Shape][]bool{RodShape: nil, BarrelShape: nil, PistonShape: nil}
	for i := range v.Parts {
		key, one := v.Parts[i].Key, &v.Parts[i].Value
		field := "layout.parts." + key.value
		p := r.partOf(key.value)
		if p == nil {
			r.nowhere(key, "layout.parts", "part", key.value)
			continue
		}
		var numbers []int
		switch positions := max(1, p.Positions); {
		case one.each && positions != len(l.Cylinders):
			r.fault(one.at, field, "count", fmt.Sprintf("%s is %d in number, and the cylinders are %d", p.Key, positions, len(l.Cylinders)), "list for each of them the cylinder that it is of")
			continue
		case one.each:
			numbers = upTo(positions)
		case one.list == nil:
			continue
		case len(one.list) != positions:
			r.fault(key, field, "count", fmt.Sprintf("%s is %d in number, and the list has %d", p.Key, positions, len(one.list)), "list for each of them the cylinder that it is of")
			continue
		default:
			for _, t := range one.list {
				if n := r.cylinder(t, field, len(l.Cylinders)); n > 0 {
					numbers = append(numbers, n)
				}
			}
		}
		l.Of[p] = numbers
		s := shape(p)
		seen, single := has[s]
		if !single {
			continue
		}
		if seen == nil {
			seen = make([]bool, len(l.Cylinders))
			has[s] = seen
		}
		for _, n := range numbers {
			if seen[n-1] {
				r.fault(key, field, "doubled-key", fmt.Sprintf("cylinder %d has a second %s", n, s), "look at the list: a cylinder has one")
			}
			seen[n-1] = true
		}
	}
	for _, s := range []Shape{RodShape, BarrelShape, PistonShape} {
		if has[s] != nil && len(r.faults) == before {
			r.allSeen(has[s], v.Parts[0].Key, "layout.parts", "has no "+s.String(), "list which part is of it")
		}
	}
}
