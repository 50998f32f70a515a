package picture

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tenths/internal/book"
)

// A State is how a part, or a place on one, stands: the worst of what is judged
// of it. None of them needs a colour to be told:
//
//	None         an outline: nothing of it is judged
//	Open         an outline with paper in it, and no mark
//	New          toned; the mark stands on the solid bar
//	Serviceable  toned; the mark stands on the open bar
//	Beyond       hatched; the mark stands past the stop, and its name is reversed
//
// Its zero value is None. States compare: the greater is the worse.
type State uint8

// The states.
const (
	None State = iota
	Open
	New
	Serviceable
	Beyond
)

// The side of the new limits that a state is on, where it is not the one that
// the feature wears to.
const (
	onSmaller State = 0x10
	onLarger  State = 0x20
	gradeOnly State = 0x0f
)

// OnSmaller is the state of something that is out on its smaller side, OnLarger
// of something out on its larger: a journal ground too large is Beyond.OnLarger().
// Without either the mark stands where the feature wears to.
func (s State) OnSmaller() State { return s.Grade() | onSmaller }

// OnLarger is as [State.OnSmaller] says.
func (s State) OnLarger() State { return s.Grade() | onLarger }

// With is how two parts stand together: beyond if one is, else open if one is,
// else as the worse of them.
func (s State) With(t State) State {
	a, b := s.Grade(), t.Grade()
	switch {
	case a == Beyond || b == Beyond:
		return Beyond
	case a == Open || b == Open:
		return Open
	}
	return max(a, b)
}

// Grade is the state without its side.
func (s State) Grade() State { return min(s&gradeOnly, Beyond) }

var stateWords = [...]string{"nothing to judge", "open", "new", "serviceable", "beyond"}

// String returns the state's word.
func (s State) String() string { return stateWords[s.Grade()] }

var stateClasses = [...]string{"metal", "journal is-open", "journal is-new", "journal is-serviceable", "journal is-beyond"}

// handClass is the surface that is being measured.
const handClass = "journal is-hand"

func (s State) classes() string { return stateClasses[s.Grade()] }

// larger tells on which side of the new limits the mark of a feature stands.
func (s State) larger(f *book.Feature) bool {
	switch {
	case s&onLarger != 0:
		return true
	case s&onSmaller != 0:
		return false
	}
	return f != nil && f.Wears == book.Larger
}

// A brush draws shapes with a pen.
type brush struct{ pen }

func (p *brush) rect(classes string, x, y, w, h float64) {
	p.el("rect", class(classes), num("x", x), num("y", y), num("width", w), num("height", h))
}

func (p *brush) line(classes string, x1, y1, x2, y2 float64) {
	p.el("line", class(classes), num("x1", x1), num("y1", y1), num("x2", x2), num("y2", y2))
}

func (p *brush) circle(classes string, x, y, r float64) {
	p.el("circle", class(classes), num("cx", x), num("cy", y), num("r", r))
}

func (p *brush) trace(classes string, d *path) { p.el("path", class(classes), trail(d)) }

// poly draws straight lines from corner to corner and back to the first.
func (p *brush) poly(classes string, xy ...float64) { p.trace(classes, corners(xy...).to('z')) }

// corners is the path through corners.
func corners(xy ...float64) *path {
	d := new(path).to('M', xy[0], xy[1])
	for i := 2; i+1 < len(xy); i += 2 {
		d.to('L', xy[i], xy[i+1])
	}
	return d
}

// Where lettering is held.
const (
	atStart  = "start"
	atMiddle = "middle"
	atEnd    = "end"
)

// say letters words; size is the font's, in the drawing's units.
func (p *brush) say(classes, anchor string, x, y, size float64, words string) {
	a := attr{}
	if classes != "" {
		a = class(classes)
	}
	p.text(words, a, num("x", x), num("y", y), str("text-anchor", anchor), num("font-size", size))
}

// A canvas is a drawing in two layers: the metal, and over it planes, gauges
// and names.
type canvas struct{ low, high brush }

// svg returns the drawing in a frame of its own.
func (c *canvas) svg(classes, as, label string, x, y, w, h float64, more ...attr) SVG {
	var p pen
	p.out = make([]byte, 0, len(c.low.out)+len(c.high.out)+len(label)+200)
	var box [96]byte
	view := number(box[:0], x)
	for _, n := range [...]float64{y, w, h} {
		view = number(append(view, ' '), n)
	}
	attrs := append([]attr{class(classes), str("viewBox", string(view))}, more...)
	if as != "" {
		attrs = append(attrs, str("role", as))
	}
	if label != "" {
		attrs = append(attrs, str("aria-label", label))
	}
	p.open("svg", attrs...)
	p.out = append(p.out, c.low.out...)
	p.out = append(p.out, c.high.out...)
	p.shut("svg")
	return p.svg()
}

// role is a drawing's: one with links in it is a group, one without a picture.
func role(links bool) string {
	if links {
		return "group"
	}
	return "img"
}

// link begins a link with its name, which a pointer that rests on it shows as
// well; whoever opens it shuts it, if it was opened.
func (p *brush) link(href, name string) (opened bool) {
	if href == "" {
		return false
	}
	p.open("a", str("href", href))
	p.words("title", name)
	return true
}

// reversed letters words as what is beyond is lettered: paper on ink.
func (p *brush) reversed(x, y, size float64, words string) {
	w := textWidth(words, size) + 0.7*size
	p.rect("rev", x-w/2, y-0.98*size, w, 1.34*size)
	p.say("on-rev", atMiddle, x, y, size, words)
}

// textWidth is about how wide words stand, in the text face: a little over
// half an em for each letter.
func textWidth(words string, size float64) float64 {
	return 0.54 * size * float64(utf8.RuneCountInString(words))
}

// fitting is words with as many letters as stand in a width; what is cut ends
// in three points.
func fitting(words string, size, width float64) string {
	most := max(2, int(width/(0.54*size)))
	if utf8.RuneCountInString(words) <= most {
		return words
	}
	return strings.TrimRight(string([]rune(words)[:most-1]), " ,-") + "…"
}

// wrapped is words in at most two lines of a width.
func wrapped(words string, size, width float64) (lines []string) {
	if textWidth(words, size) <= width {
		return []string{words}
	}
	first, rest := "", words
	for {
		word, more, _ := strings.Cut(rest, " ")
		longer := strings.TrimSpace(first + " " + word)
		if first != "" && textWidth(longer, size) > width {
			break
		}
		if first, rest = longer, more; more == "" {
			break
		}
	}
	lines = append(lines, fitting(first, size, width))
	if rest != "" {
		lines = append(lines, fitting(rest, size, width))
	}
	return lines
}

// bar is a state's mark where there is no room for a ruler: the ruler's solid
// bar for new, its open bar for serviceable, nothing else.
func (p *brush) bar(s State, x, y, w, h float64) {
	switch s.Grade() {
	case New:
		p.rect("inkfill", x, y, w, h)
	case Serviceable:
		p.rect("svc", x, y, w, h)
	}
}

// The glyph of a ruler: where it has its stops and its marks.
const (
	glyphStop   = 17
	glyphBeyond = 22
	glyphLow    = 12.5
)

// glyph is the smallest ruler: where a state stands, in five places.
func (p *brush) glyph(s State, f *book.Feature, x, y, k float64) {
	p.trace("edge", new(path).to('M', x-25*k, y).to('h', 50*k))
	p.rect("new", x-8*k, y-5*k, 16*k, 5*k)
	p.trace("stop", new(path).to('M', x-glyphStop*k, y-9*k).to('v', 13*k).to('M', x+glyphStop*k, y-9*k).to('v', 13*k))
	at := 0.0
	switch s.Grade() {
	case None, Open:
		return
	case Serviceable:
		at = glyphLow
	case Beyond:
		at = glyphBeyond
	}
	if !s.larger(f) {
		at = -at
	}
	p.poly("mark", x+at*k, y-5*k, x+(at+5.5)*k, y-15*k, x+(at-5.5)*k, y-15*k)
}

// point is the place at a distance from another, in the direction of an angle
// from straight up, clockwise.
func point(x, y, degrees, r float64) (float64, float64) {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return x + r*sin, y - r*cos
}

// numbered is a name with its number, if it has one.
func numbered(name string, n int) string {
	if n == 0 {
		return name
	}
	return name + " " + strconv.Itoa(n)
}

// partWords names one of a part's positions: "Connecting rod 3", "Crankshaft".
func partWords(p *book.Part, position int) string { return numbered(p.Name, position) }

// siteWords names a site: "Crankpin 3"; "Connecting rod 3, big-end bore".
func siteWords(s *book.Site) string {
	name := numbered(s.Feature.Name, s.Place)
	if s.Position == 0 {
		return name
	}
	return partWords(s.Feature.Part, s.Position) + ", " + lowered(name)
}

// lowered is a name in the middle of a sentence: letters that stand together
// in capitals stay.
func lowered(name string) string {
	first, n := utf8.DecodeRuneInString(name)
	second, _ := utf8.DecodeRuneInString(name[n:])
	if unicode.IsUpper(second) {
		return name
	}
	return string(unicode.ToLower(first)) + name[n:]
}

// raised is a name that begins a sentence.
func raised(name string) string {
	first, n := utf8.DecodeRuneInString(name)
	return string(unicode.ToUpper(first)) + name[n:]
}

// shortWords names a site in few letters, by the book's key: "Main 2"; and by its
// name where the key is that run together, as of a table that was brought in.
func shortWords(s *book.Site) string {
	key := s.Feature.Key
	if runTogether(key, s.Feature.Name) {
		return numbered(raised(s.Feature.Name), s.Place)
	}
	return numbered(strings.ToUpper(key[:1])+key[1:], s.Place)
}

// runTogether tells a key that is made of two or more of a name's words, or of what they
// begin with: "mainjournaldia".
func runTogether(key, name string) bool {
	n := 0
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		same := 0
		for same < min(len(w), len(key)) && w[same] == key[same] {
			same++
		}
		if same > 1 {
			key = key[same:]
			n++
		}
	}
	return key == "" && n > 1
}

// trade are the words of a name that drawings are chosen by: small letters, a
// plural without its s.
type trade []string

// tradeOf takes keys and names apart into words.
func tradeOf(names ...string) trade {
	var all trade
	for _, name := range names {
		for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) }) {
			if n := len(w); n > 3 && w[n-1] == 's' && !strings.Contains("sui", w[n-2:n-1]) { // not: boss, radius, axis
				w = w[:len(w)-1]
			}
			all = append(all, w)
		}
	}
	return all
}

// has tells whether one of some words is among them.
func (t trade) has(words ...string) bool {
	for _, w := range t {
		for _, one := range words {
			if w == one {
				return true
			}
		}
	}
	return false
}

// begins tells whether one of the words begins so: keys join words (gearbolt,
// pinradius).
func (t trade) begins(parts ...string) bool {
	for _, w := range t {
		for _, one := range parts {
			if strings.HasPrefix(w, one) {
				return true
			}
		}
	}
	return false
}

// shares counts the words that two names have in common.
func (t trade) shares(u trade) (n int) {
	for _, w := range t {
		if len(w) > 2 && u.has(w) {
			n++
		}
	}
	return n
}
