package picture

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// Hatch is the pattern that what is beyond is filled with. A page has it once,
// before its pictures; it takes no room.
const Hatch SVG = `<svg width="0" height="0" aria-hidden="true" focusable="false" class="unseen"><defs>` +
	`<pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
	`<path d="M1.5 0v6" fill="none"/></pattern></defs></svg>`

// Heights on a scale, in pixels.
const (
	scaleHeight = 106
	scaleEdge   = 46 // the edge that graduations hang from
	scaleTip    = 34 // where the heads' places begin: just above the bar
	rowNew      = 82 // figures of the first row below
	rowService  = 102
)

// narrowest is the least width that a scale is shown at, in pixels. Figures are
// set so that none meets another there; on a wider one they only stand further
// apart.
const narrowest = 280

// Scale draws a verdict's ruler graduated and true to scale, 106 px high and as
// wide as where it stands, at least 280 px. Each of the readings on the rule is
// a prick. Of a line that judges no figure (yes or no, all at one step) it
// draws nothing.
func Scale(w judge.Words, v *judge.Verdict, readings []quantity.Figure) SVG {
	return drawScale(w, v, readings, false)
}

// MovingScale is [Scale] for a script: what can move is there from the start,
// hidden where it is not in use. The script sets
//
//   - on the root the class hand while a figure is not kept;
//   - of each svg.pointer (also of class low or high) x, and display; in it the
//     words of .val with its x, and of .box its x and width, and display of .off,
//     which breaks the edge, with a transform of 13 px inward;
//   - of line.span x1 and x2, of rect.hatch (of class low or high) x and width,
//     from the stop to the head.
func MovingScale(w judge.Words, v *judge.Verdict, readings []quantity.Figure) SVG {
	return drawScale(w, v, readings, true)
}

func drawScale(w judge.Words, v *judge.Verdict, readings []quantity.Figure, moving bool) SVG {
	if !judgesFigure(v.Line) {
		return ""
	}
	f := faceOf(w, v)
	r := f.rule(OfScale)
	marks := f.marks(&r)
	p := pen{make([]byte, 0, 6<<10)}
	f.root(&p, w, "scale", scaleHeight)
	step := f.graduate(&p, &r)
	p.el("line", class("edge"), pc("x1", f.edgeFrom(&r)), str("x2", "100%"), num("y1", scaleEdge), num("y2", scaleEdge))
	labels := f.ground(&p, &r)
	f.figures(&p, &r, w, labels, step) // first: their leads go under the stops
	f.bars(&p, &r, bar{edge: scaleEdge, height: 9, rise: 18, fall: 16, wall: "M0 -14v28M-4 -14v28"})
	for _, at := range readings {
		if at.Kind() != f.unit.Kind() {
			continue
		}
		if x, on := f.place(&r, at); on {
			p.el("line", class("prick"), pc("x1", x), pc("x2", x), num("y1", scaleEdge-17), num("y2", scaleEdge-10))
		}
	}
	f.scaleMarks(&p, &r, w, marks, moving)
	p.shut("svg")
	return p.svg()
}

// judgesFigure tells whether a line judges a figure.
func judgesFigure(l *book.Line) bool { return l.Judges != book.YesNo && l.Judges != book.SameStep }

// root opens the ruler's element.
func (f *face) root(p *pen, w judge.Words, kind string, height float64) {
	p.open("svg", class("ruler "+kind+" v-"+f.state()), str("role", "img"), str("aria-label", Sentence(w, f.v)),
		str("width", "100%"), num("height", height))
}

// state is what a stylesheet may know of the verdict: its grade where it has
// one.
func (f *face) state() string {
	switch v := f.v; {
	case v.Ungraded != "":
		return "unjudged"
	case v.Grade != judge.NoGrade:
		return v.Grade.String()
	case v.Open() && !v.IsHeld():
		return "open"
	}
	return "held"
}

// Sentence says what a verdict's ruler shows, in the judge's words.
func Sentence(w judge.Words, v *judge.Verdict) string {
	text := strings.Replace(w.Ends(v), "..", " to ", 1) + ": " + w.Standing(v)
	if limits := w.Limits(v.Line, v.Limit); limits != "" {
		text += "; " + limits
	}
	return text
}

// edgeFrom is where the edge begins: nothing is less than nature's nought.
func (f *face) edgeFrom(r *Rule) float64 {
	if !f.wall {
		return 0
	}
	x, _ := r.Place(0)
	return x
}

// graduate hangs graduations from the edge: of 1, 2 or 5 in the unit, so that
// there are at most 30, and none finer than the last decimal. It returns one
// division in words of the unit; empty where there is no figure to go by.
func (f *face) graduate(p *pen, r *Rule) (step string) {
	if len(r.Points) == 0 {
		return ""
	}
	a, b := r.Points[0], r.Points[len(r.Points)-1]
	size, step := division(float64(b.At-a.At)/float64(f.one), f.decimals())
	each := size * float64(f.one)
	from := a.At
	if f.wall {
		from = max(from, 0)
	}
	for k := math.Ceil(float64(from) / each); k*each <= float64(b.At); k++ {
		long := 6.0
		switch {
		case math.Mod(k, 10) == 0:
			long = 14
		case math.Mod(k, 5) == 0:
			long = 10
		}
		// By the scale itself: the jump at a stop is for marks.
		x := a.X + (k*each-float64(a.At))/float64(b.At-a.At)*(b.X-a.X)
		p.el("line", class("tick"), pc("x1", x), pc("x2", x), num("y1", scaleEdge), num("y2", scaleEdge+long))
	}
	return step
}

// division chooses the size of one division of so wide a domain, and prints it.
func division(span float64, decimals int) (size float64, text string) {
	const most = 30
	power := -decimals
	for {
		for _, times := range [...]float64{1, 2, 5} {
			if size = times * math.Pow10(power); span <= most*size {
				return size, strconv.FormatFloat(size, 'f', max(0, -power), 64)
			}
		}
		power++
	}
}

// A bar says how high the things on a ruler's edge are, in pixels.
type bar struct {
	edge, height, rise, fall float64
	wall                     string // its path
}

// Where a bar without a limit ends, in per cent: the margin, but for the torn
// end.
const tornFrom, tornTo = 3, 97

// bars draws the limits: new solid, allowance open, and the stops.
func (f *face) bars(p *pen, r *Rule, b bar) {
	if f.wall {
		p.at("at", f.edgeFrom(r), b.edge)
		p.el("path", class("wall"), str("d", b.wall))
		p.shut("svg")
	}
	if !f.judged {
		return
	}
	from, to := float64(tornFrom), float64(tornTo)
	switch {
	case f.lo.bar.Set:
		from = f.x(r, f.lo.bar)
	case f.wall:
		from = f.edgeFrom(r)
	}
	if f.hi.bar.Set {
		to = f.x(r, f.hi.bar)
	}
	if f.solid {
		p.el("rect", class("new"), pc("x", from), num("y", b.edge-b.height), pc("width", to-from), num("height", b.height))
	} else {
		f.open(p, from, to, b, false)
	}
	if !f.lo.bar.Set && !f.wall {
		f.torn(p, from, -1, b)
	}
	if !f.hi.bar.Set {
		f.torn(p, to, 1, b)
	}
	for _, s := range [...]*side{&f.lo, &f.hi} {
		inner := from
		if s == &f.hi {
			inner = to
		}
		if s.ask.Set {
			x := f.x(r, s.ask)
			f.open(p, inner, x, b, false)
			inner = x
		}
		if s.out.Set {
			f.open(p, inner, f.x(r, s.out), b, s.ask.Set)
		}
		for _, e := range s.mids {
			x := f.x(r, e)
			p.el("line", class("tier"), pc("x1", x), pc("x2", x), num("y1", b.edge-b.height-2), num("y2", b.edge))
		}
	}
	for _, s := range r.Stops {
		p.el("line", class("stop"), pc("x1", s.X), pc("x2", s.X), num("y1", b.edge-b.rise), num("y2", b.edge+b.fall))
	}
}

// open draws an open bar from one place to another; in doubt, where the manual
// can be read in two ways, dashed.
func (f *face) open(p *pen, from, to float64, b bar, doubt bool) {
	if from > to {
		from, to = to, from
	}
	dashed := attr{}
	if doubt {
		dashed = str("stroke-dasharray", "3 3")
	}
	const line = 1.5
	p.el("rect", class("svc"), pc("x", from), num("y", b.edge-b.height+line/2), pc("width", to-from), num("height", b.height-line), dashed)
}

// torn ends a bar that no limit ends: way is 1 to the right, −1 to the left.
func (f *face) torn(p *pen, x, way float64, b bar) {
	long, h := way*b.height*2/3, b.height/4
	p.at("at", x, b.edge-b.height)
	if f.solid {
		p.el("path", class("new"), trail(new(path).to('M', -way, 0).to('h', long+way).to('l', -long*0.7, h).to('l', long*0.7, h).to('l', -long*0.7, h).to('l', long*0.7, h).to('h', -long-way).to('z')))
	} else {
		const line = 1.5
		h = (b.height - line) / 4
		p.el("path", class("svc"), trail(new(path).to('M', -way*line, line/2).to('H', long).to('l', -long*0.7, h).to('l', long*0.7, h).to('l', -long*0.7, h).to('l', long*0.7, h).to('H', -way*line)))
	}
	p.shut("svg")
}

// ground draws nought where a fit turns from tight to loose, and returns the
// shelf for figures with that on it.
func (f *face) ground(p *pen, r *Rule) *shelf {
	s := &shelf{zero: -1}
	least, most, ok := f.known()
	if !ok || !f.v.Line.IsClearance() || f.wall || least > 0 || most < 0 {
		return s
	}
	x, _ := r.Place(0)
	for _, stop := range r.Stops {
		if stop.At == 0 {
			x = stop.X
		}
	}
	p.el("line", class("zero"), pc("x1", x), pc("x2", x), num("y1", scaleEdge-22), num("y2", scaleEdge+44))
	p.text("T", class("side"), pc("x", x), num("dx", -7), num("y", rowService), str("text-anchor", "end"))
	p.text("L", class("side"), pc("x", x), num("dx", 7), num("y", rowService))
	s.zero = x
	at := x * narrowest / 100
	s.taken = append(s.taken, stretch{0, at - 1, at + 1}, stretch{1, at - 17, at + 17})
	return s
}

// A shelf is what is to stand below a scale, in two rows.
type shelf struct {
	labels []label
	taken  []stretch // what stands there already
	zero   float64   // where nought is drawn; -1: it is not
}

// A label is a text below a scale and the seats that it may have, the best
// first. A limit's is led down from its line, at x.
type label struct {
	text, class string
	x           float64
	led         bool
	width       float64 // in pixels
	seats       []seat
}

// A seat is a place for a label: in which row, where, and to which side of
// that, as text-anchor has it.
type seat struct {
	row    int
	x      float64
	anchor string
}

// A stretch of a row, in pixels of the narrowest ruler.
type stretch struct {
	row      int
	from, to float64
}

// by returns how much two stretches overlap.
func (a stretch) by(b stretch) float64 {
	if a.row != b.row {
		return 0
	}
	return max(0, min(a.to, b.to)-max(a.from, b.from))
}

// on is what a label takes on a seat: its own stretch, and of the row above it
// what its lead goes through.
func (l *label) on(at seat) (own, lead stretch) {
	x := at.x * narrowest / 100
	own = stretch{at.row, x - l.width/2, x + l.width/2}
	switch at.anchor {
	case "start":
		own.from, own.to = x, x+l.width
	case "end":
		own.from, own.to = x-l.width, x
	}
	if l.led && at.row == 1 {
		x = l.x * narrowest / 100
		return own, stretch{0, x - 3, x + 3}
	}
	return own, stretch{-1, 0, 0}
}

// seated finds for each label a seat so that as little as can be meets, and
// then that as many as can have their best: by trying all, which are few, and
// leaving off where it has become worse than what was found.
func (s *shelf) seated() []seat {
	const apart, meets = 4, 100 // pixels between two; what a pixel counts against a better seat
	best, least := make([]seat, len(s.labels)), math.Inf(1)
	now := make([]seat, 0, len(s.labels))
	var try func(taken []stretch, cost float64)
	try = func(taken []stretch, cost float64) {
		if cost >= least {
			return
		}
		if len(now) == len(s.labels) {
			least = cost
			copy(best, now)
			return
		}
		l := &s.labels[len(now)]
		for i, at := range l.seats {
			own, lead := l.on(at)
			over := max(0, -own.from) + max(0, own.to-narrowest)
			for _, t := range taken {
				over += t.by(stretch{own.row, own.from - apart, own.to + apart}) + t.by(lead)
			}
			worse := float64(i)
			if l.led && at.row != l.seats[0].row {
				worse += 4 // the rows say which limit it is
			}
			now = append(now, at)
			try(append(taken[:len(taken):len(taken)], own, lead), cost+over*meets+worse)
			now = now[:len(now)-1]
		}
	}
	try(s.taken, 0)
	return best
}

// figureWidth is about how wide a figure is: a digit is half an em, a point
// less.
func figureWidth(text string, size float64) float64 {
	n := 0.0
	for _, r := range text {
		if r == '.' || r == ',' {
			n += 0.31
		} else {
			n += 0.5
		}
	}
	return n * size
}

// The seats of a limit's figure at its line: of new ones in the first row,
// outward; of those of service in the second, so that they never meet.
var (
	outwardLow  = []seat{{row: 0, anchor: "end"}, {row: 0, anchor: "start"}, {row: 0, anchor: "middle"}, {row: 1, anchor: "end"}, {row: 1, anchor: "middle"}, {row: 1, anchor: "start"}}
	outwardHigh = []seat{{row: 0, anchor: "start"}, {row: 0, anchor: "end"}, {row: 0, anchor: "middle"}, {row: 1, anchor: "start"}, {row: 1, anchor: "middle"}, {row: 1, anchor: "end"}}
	centred     = []seat{{row: 0, anchor: "middle"}, {row: 0, anchor: "start"}, {row: 0, anchor: "end"}, {row: 1, anchor: "middle"}, {row: 1, anchor: "start"}, {row: 1, anchor: "end"}}
	below       = []seat{{row: 1, anchor: "middle"}, {row: 1, anchor: "start"}, {row: 1, anchor: "end"}, {row: 0, anchor: "middle"}, {row: 0, anchor: "start"}, {row: 0, anchor: "end"}}

	// What is tied to no line stands at a corner, or where there is room.
	rightCorner = []seat{{1, 100, "end"}, {1, 0, "start"}, {0, 100, "end"}, {0, 0, "start"}, {1, 50, "middle"}, {0, 50, "middle"}, {1, 30, "middle"}, {1, 70, "middle"}, {0, 30, "middle"}, {0, 70, "middle"}}
	leftCorner  = []seat{{1, 0, "start"}, {1, 100, "end"}, {0, 0, "start"}, {0, 100, "end"}, {1, 50, "middle"}, {0, 50, "middle"}, {1, 70, "middle"}, {1, 30, "middle"}, {0, 70, "middle"}, {0, 30, "middle"}}
)

// limit puts a limit's figure on the shelf.
func (s *shelf) limit(text string, x float64, seats []seat) {
	const size = 14
	l := label{text: text, class: "lim", x: x, led: true, width: figureWidth(text, size), seats: make([]seat, len(seats))}
	for i, at := range seats {
		at.x = x
		switch own, _ := l.on(at); {
		case own.from < 0:
			at.x, at.anchor = 0, "start"
		case own.to > narrowest:
			at.x, at.anchor = 100, "end"
		}
		l.seats[i] = at
	}
	s.labels = append(s.labels, l)
}

// aside puts words on the shelf.
func (s *shelf) aside(words string, seats []seat) {
	const size, half = 13, 0.49 // the text's face is narrower than its figures
	s.labels = append(s.labels, label{text: words, class: "div", width: float64(utf8.RuneCountInString(words)) * size * half, seats: seats})
}

// figures writes the limits below the edge, each led down from its line, and
// the value of one division away from those of service.
func (f *face) figures(p *pen, r *Rule, w judge.Words, s *shelf, step string) {
	put := func(e limit.Edge, end string, ask bool, seats []seat) {
		text := w.Figure(f.v.Line, e.At)
		switch {
		case !e.Open || !f.judged:
		case end == lowEnd:
			text = "over " + text // the figure itself is out
		default:
			text = "under " + text
		}
		if ask {
			text += "?"
		}
		s.limit(text, f.x(r, e), seats)
	}
	low, high := outwardLow, outwardHigh
	switch {
	case f.lone:
		low, high = below, below
	case !f.lo.bar.Set || !f.hi.bar.Set:
		low, high = centred, centred
	}
	if f.lo.out.Set {
		put(f.lo.out, lowEnd, f.lo.ask.Set, below)
	}
	if f.hi.out.Set {
		put(f.hi.out, highEnd, f.hi.ask.Set, below)
	}
	if f.lo.ask.Set {
		put(f.lo.ask, lowEnd, true, below)
	}
	if f.hi.ask.Set {
		put(f.hi.ask, highEnd, true, below)
	}
	if f.lo.bar.Set {
		put(f.lo.bar, lowEnd, false, low)
	}
	if f.hi.bar.Set && (!f.lo.bar.Set || f.hi.bar.At != f.lo.bar.At) {
		put(f.hi.bar, highEnd, false, high)
	}
	for _, e := range f.lo.mids {
		put(e, lowEnd, false, outwardLow)
	}
	for _, e := range f.hi.mids {
		put(e, highEnd, false, outwardHigh)
	}
	corner, other := rightCorner, leftCorner
	if f.hi.out.Set && !f.lo.out.Set || f.lone && f.hi.bar.Set {
		corner, other = other, corner
	}
	if step != "" {
		s.aside("1 div = "+w.Difference(f.v.Line, f.figure(step)), corner)
	}
	if !f.judged {
		s.aside("not judged", other)
	}
	rows := [...]float64{rowNew, rowService}
	for i, at := range s.seated() {
		l := &s.labels[i]
		aside := attr{}
		if l.led {
			p.el("line", class("lead"), pc("x1", l.x), pc("x2", l.x), num("y1", scaleEdge), num("y2", rows[at.row]-14))
			if math.Abs(l.x-s.zero) < 0.5 && at.anchor != "middle" {
				aside = num("dx", 4) // clear of nought's upright
				if at.anchor == "end" {
					aside = num("dx", -4)
				}
			}
		}
		p.text(l.text, class(l.class), pc("x", at.x), num("y", rows[at.row]), str("text-anchor", at.anchor), aside)
	}
}

// figure makes a figure of digits in the face's unit.
func (f *face) figure(digits string) quantity.Figure {
	at, _, err := quantity.Format{Unit: f.unit}.Figure(digits)
	if err != nil {
		panic("BUG: no figure of " + digits + " " + f.unit.String())
	}
	return at
}

// The shapes of a scale's marks, in pixels from where the head points.
const (
	headShape  = "M0 1.5l8.5 -14.5h-17z"
	otherShape = "M0 0l5 -9h-10z"
	breakShape = "M-5 7l4 -14M1 7l4 -14"
	gapShape   = "M-5 7l4 -14h6l-4 14z"
)

func (f *face) scaleMarks(p *pen, r *Rule, w judge.Words, marks []mark, moving bool) {
	f.hatches(p, r, marks, scaleEdge-10, 10, moving)
	f.span(p, r, marks, scaleTip-9, moving)
	shifts, texts := f.captions(w, marks)
	for pass := range 2 { // the heads that count over the others
		for _, h := range r.allHeads(marks, moving) {
			i := markAt(marks, h.End)
			hidden := attr{}
			m := mark{end: h.End, counts: h.Counts, on: true}
			text, shift := "", 0.0
			if i >= 0 {
				m, text, shift = marks[i], texts[i], shifts[i]
			} else {
				hidden = str("display", "none")
			}
			if m.counts != (pass == 1) {
				continue
			}
			p.open("svg", class("at pointer "+m.end), pc("x", m.x), num("y", scaleTip), str("overflow", "visible"), num("width", 1), num("height", 1), hidden)
			f.broken(p, m, 13, scaleEdge-scaleTip, gapShape, breakShape, moving)
			if !m.counts {
				p.el("path", class("mark other"), str("d", otherShape))
			} else {
				p.el("path", class("halo"), str("d", "M0 0v12"))
				p.el("path", class("mark"), str("d", headShape))
				p.el("path", class("scribe"), str("d", "M0 0v12"))
				f.caption(p, m, text, shift, moving)
			}
			p.shut("svg")
		}
	}
}

// allHeads are the heads to be drawn: those that have a mark, and for a script
// all that may get one.
func (r *Rule) allHeads(marks []mark, moving bool) []Head {
	var all []Head
	if moving {
		all = append(all, r.Heads...)
	}
	for _, m := range marks {
		known := false
		for _, h := range all {
			known = known || h.End == m.end
		}
		if !known {
			all = append(all, Head{m.end, m.counts})
		}
	}
	return all
}

func markAt(marks []mark, end string) int {
	for i := range marks {
		if marks[i].end == end {
			return i
		}
	}
	return -1
}

// hatches shows how far past their stops marks are.
func (f *face) hatches(p *pen, r *Rule, marks []mark, y, height float64, moving bool) {
	for _, s := range r.Stops {
		drawn := false
		for _, m := range marks {
			if m.past == s.End {
				from, to := min(m.x, s.X), max(m.x, s.X)
				p.el("rect", class("hatch "+s.End), pc("x", from), num("y", y), pc("width", to-from), num("height", height))
				drawn = true
			}
		}
		if moving && !drawn {
			p.el("rect", class("hatch "+s.End), pc("x", s.X), num("y", y), num("width", 0), num("height", height))
		}
	}
}

// span joins two ends. Where readings do not bound an end it runs out to the
// margin, or to the wall, dashed.
func (f *face) span(p *pen, r *Rule, marks []mark, y float64, moving bool) {
	dashed := str("stroke-dasharray", "4 4")
	switch {
	case len(marks) == 2:
		p.el("line", class("span"), pc("x1", marks[0].x), pc("x2", marks[1].x), num("y1", y), num("y2", y))
	case len(marks) == 1 && f.v.NoLow:
		p.el("line", class("span"), pc("x1", marks[0].x), pc("x2", f.edgeFrom(r)), num("y1", y), num("y2", y), dashed)
	case len(marks) == 1 && f.v.NoHigh:
		p.el("line", class("span"), pc("x1", marks[0].x), pc("x2", 100), num("y1", y), num("y2", y), dashed)
	case moving && len(r.Heads) == 2:
		p.el("line", class("span"), num("x1", 0), num("x2", 0), num("y1", y), num("y2", y), str("display", "none"))
	}
}

// broken breaks the edge inward of a head that is off the rule.
func (f *face) broken(p *pen, m mark, inward, down float64, gap, strokes string, moving bool) {
	hidden := attr{}
	switch {
	case !m.on:
	case moving:
		hidden = str("display", "none")
	default:
		return
	}
	if m.x > 50 {
		inward = -inward
	}
	p.open("g", class("off"), str("transform", "translate("+strconv.FormatFloat(inward, 'f', -1, 64)+" "+strconv.FormatFloat(down, 'f', -1, 64)+")"), hidden)
	p.el("path", class("torn"), str("d", gap))
	p.el("path", class("brk"), str("d", strokes))
	p.shut("g")
}

// captions are the figures above the heads that count, and how far each stands
// from its head so that none meets the other or the margin.
func (f *face) captions(w judge.Words, marks []mark) (shifts []float64, texts []string) {
	const size, room = 18, 5
	shifts, texts = make([]float64, len(marks)), make([]string, len(marks))
	at, half := make([]float64, len(marks)), make([]float64, len(marks))
	pair := strings.SplitN(w.Ends(f.v), "..", 2) // both with the decimals of the finer
	for i, m := range marks {
		at[i] = m.x * narrowest / 100
		if m.counts {
			texts[i] = w.Figure(f.v.Line, m.at)
			if len(marks) == 2 && len(pair) == 2 {
				texts[i], _, _ = strings.Cut(pair[i], " ") // without the unit
			}
			half[i] = figureWidth(texts[i], size)/2 + room
			shifts[i] = max(half[i], min(narrowest-half[i], at[i])) - at[i]
		}
	}
	if len(marks) == 2 && marks[0].counts && marks[1].counts {
		a, b := at[0]+shifts[0], at[1]+shifts[1]
		if over := half[0] + half[1] + 2 - (b - a); over > 0 {
			a = max(half[0], a-over/2)
			b = min(narrowest-half[1], max(b, a+half[0]+half[1]+2))
			a = min(a, b-half[0]-half[1]-2)
		}
		shifts[0], shifts[1] = a-at[0], b-at[1]
	}
	return shifts, texts
}

// caption writes a head's figure; reversed where the judge says that it is
// beyond.
func (f *face) caption(p *pen, m mark, text string, shift float64, moving bool) {
	const size, room = 18, 5
	wide := figureWidth(text, size) + 2*room
	words, hidden := "val", attr{}
	if f.v.Grade == judge.Beyond && m.past != "" {
		words = "val on-rev"
	} else {
		hidden = str("display", "none")
	}
	if moving || hidden.name == "" {
		p.el("rect", class("rev box"), num("x", shift-wide/2), num("y", -scaleTip), num("width", wide), num("height", 21), hidden)
	}
	p.text(text, class(words), num("x", shift), num("y", 16-scaleTip), str("text-anchor", "middle"))
}
