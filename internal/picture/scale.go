package picture

import (
	"math"
	"strconv"
	"strings"

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
//   - of each svg.head (also of class low or high) x, and display; in it the
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
	labels := f.ground(&p, &r, w)
	f.bars(&p, &r, bar{edge: scaleEdge, height: 9, rise: 18, fall: 16, wall: 14})
	f.figures(&p, &r, w, labels, step)
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
	case v.Open():
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
// there are at most 24, and none finer than the last decimal. It returns one
// division in words of the unit; empty where there is no figure to go by.
func (f *face) graduate(p *pen, r *Rule) (step string) {
	if len(r.Points) == 0 {
		return ""
	}
	a, b := r.Points[0], r.Points[len(r.Points)-1]
	size, step := division(float64(b.At-a.At)/float64(f.one), f.decimals)
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
	const most = 24
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
type bar struct{ edge, height, rise, fall, wall float64 }

// Where a bar without a limit ends, in per cent: the margin, but for the torn
// end.
const tornFrom, tornTo = 3, 97

// bars draws the limits: new solid, allowance open, and the stops.
func (f *face) bars(p *pen, r *Rule, b bar) {
	if f.wall {
		p.at("at", f.edgeFrom(r), b.edge)
		p.el("path", class("wall"), trail(new(path).to('M', 0, -b.wall).to('v', 2*b.wall).to('M', -4, -b.wall).to('v', 2*b.wall)))
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
// shelves for figures with what stands there already.
func (f *face) ground(p *pen, r *Rule, w judge.Words) *shelves {
	s := &shelves{zero: -1}
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
	s.take(0, at-1, at+1)
	s.take(1, at-17, at+17)
	return s
}

// shelves are the two rows of figures below a scale, and what is taken of them
// at its narrowest, in pixels.
type shelves struct {
	taken [2][]stretch
	zero  float64 // where nought is drawn; -1: it is not
}

type stretch struct{ from, to float64 }

func (s *shelves) take(row int, from, to float64) {
	s.taken[row] = append(s.taken[row], stretch{from, to})
}

// over is how many pixels of a stretch are taken, or outside the ruler.
func (s *shelves) over(row int, from, to float64) float64 {
	sum := max(0, -from) + max(0, to-narrowest)
	for _, t := range s.taken[row] {
		sum += max(0, min(to, t.to)-max(from, t.from))
	}
	return sum
}

// A seat is where a figure may stand: in which row, and how to its line.
type seat struct {
	row    int
	anchor string // as text-anchor has it
}

var (
	outwardLow  = []seat{{0, "end"}, {0, "start"}, {0, "middle"}, {1, "end"}, {1, "middle"}, {1, "start"}}
	outwardHigh = []seat{{0, "start"}, {0, "end"}, {0, "middle"}, {1, "start"}, {1, "middle"}, {1, "end"}}
	centred     = []seat{{0, "middle"}, {0, "start"}, {0, "end"}, {1, "middle"}, {1, "start"}, {1, "end"}}
	below       = []seat{{1, "middle"}, {1, "start"}, {1, "end"}, {0, "middle"}, {0, "start"}, {0, "end"}}
)

// seat finds the first of the seats that is free, else the one with least in
// the way, and takes it. A figure below the first row takes the way of its
// lead as well.
func (s *shelves) seat(x, width float64, seats []seat, leads bool) seat {
	at := x * narrowest / 100
	best, least := seats[0], math.Inf(1)
	for _, c := range seats {
		from, to := reach(at, width, c.anchor)
		over := s.over(c.row, from, to)
		if c.row == 1 && leads {
			over += s.over(0, at-2, at+2)
		}
		if over < least {
			best, least = c, over
		}
	}
	from, to := reach(at, width, best.anchor)
	s.take(best.row, from-4, to+4)
	if best.row == 1 && leads {
		s.take(0, at-3, at+3)
	}
	return best
}

// reach is from where to where a text goes that is anchored at a place.
func reach(at, width float64, anchor string) (from, to float64) {
	switch anchor {
	case "start":
		return at, at + width
	case "end":
		return at - width, at
	}
	return at - width/2, at + width/2
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

// figures writes the limits below the edge, each led down from its line: those
// of service and beyond in the second row, so that they never meet. The value
// of one division stands where there is room for it, away from them.
func (f *face) figures(p *pen, r *Rule, w judge.Words, s *shelves, step string) {
	const size = 14
	rows := [...]float64{rowNew, rowService}
	write := func(e limit.Edge, which string, ask bool, seats []seat) {
		text := w.Figure(f.v.Line, e.At)
		if e.Open && f.judged {
			text = map[string]string{lowEnd: "over ", highEnd: "under "}[which] + text
		}
		if ask {
			text += "?"
		}
		x := f.x(r, e)
		at := s.seat(x, figureWidth(text, size), seats, true)
		y := rows[at.row]
		aside := attr{}
		if math.Abs(x-s.zero) < 0.5 {
			aside = num("dx", map[string]float64{"start": 4, "end": -4}[at.anchor])
		}
		p.el("line", class("lead"), pc("x1", x), pc("x2", x), num("y1", scaleEdge), num("y2", y-14))
		p.text(text, class("lim"), pc("x", x), num("y", y), str("text-anchor", at.anchor), aside)
	}
	for _, s := range [...]struct {
		*side
		end string
	}{{&f.lo, lowEnd}, {&f.hi, highEnd}} {
		if s.out.Set {
			write(s.out, s.end, s.ask.Set, below)
		}
		if s.ask.Set {
			write(s.ask, s.end, true, below)
		}
	}
	low, high := outwardLow, outwardHigh
	switch {
	case f.lone:
		low, high = below, below
	case !f.lo.bar.Set || !f.hi.bar.Set:
		low, high = centred, centred
	}
	if f.lo.bar.Set {
		write(f.lo.bar, lowEnd, false, low)
	}
	if f.hi.bar.Set && (!f.lo.bar.Set || f.hi.bar.At != f.lo.bar.At) {
		write(f.hi.bar, highEnd, false, high)
	}
	for _, e := range f.lo.mids {
		write(e, lowEnd, false, outwardLow)
	}
	for _, e := range f.hi.mids {
		write(e, highEnd, false, outwardHigh)
	}
	aside := func(text string, seats []corner) {
		const size, half = 13, 0.49
		at, _ := s.free(seats, float64(len(text))*size*half)
		p.text(text, class("div"), pc("x", at.x), num("y", rows[at.row]), str("text-anchor", at.anchor))
	}
	right, left := corner{100, seat{1, "end"}}, corner{0, seat{1, "start"}}
	if f.hi.out.Set && !f.lo.out.Set || f.lone && f.hi.bar.Set {
		right, left = left, right
	}
	if step != "" {
		aside("1 div = "+w.Difference(f.v.Line, f.figure(step)), []corner{
			right, left, {50, seat{1, "middle"}}, {right.x, seat{0, right.anchor}}, {left.x, seat{0, left.anchor}}, {50, seat{0, "middle"}},
		})
	}
	if !f.judged {
		aside("not judged", []corner{left, right, {left.x, seat{0, left.anchor}}, {right.x, seat{0, right.anchor}}, {50, seat{1, "middle"}}})
	}
}

// A corner is a seat that is not tied to a line.
type corner struct {
	x float64
	seat
}

// free finds the first place with room, else the one with most, and takes it.
func (s *shelves) free(places []corner, width float64) (best corner, over float64) {
	over = math.Inf(1)
	for _, c := range places {
		from, to := reach(c.x*narrowest/100, width, c.anchor)
		if o := s.over(c.row, from, to); o < over {
			best, over = c, o
		}
	}
	from, to := reach(best.x*narrowest/100, width, best.anchor)
	s.take(best.row, from-4, to+4)
	return best, over
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
			p.open("svg", class("at head "+m.end), pc("x", m.x), num("y", scaleTip), str("overflow", "visible"), num("width", 1), num("height", 1), hidden)
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
	for i, m := range marks {
		at[i] = m.x * narrowest / 100
		if m.counts {
			texts[i] = w.Figure(f.v.Line, m.at)
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
