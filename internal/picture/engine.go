package picture

import (
	"math"
	"slices"
	"strconv"

	"tenths/internal/book"
)

// A whole engine is drawn along a (down the sheet, or to the right) and across
// c (out from the shaft). Everything that is a target is at least targetLong in
// both.
const (
	targetLong = 54.0 // along, of one cylinder
	shaftHalf  = targetLong / 2
	caseHalf   = 56.0 // here the barrels begin
	noseLong   = 54.0
	flangeOut  = 26.0
	uprightW   = 288.0 // a phone of 320 px less its margins
	wordSize   = 16.0
	cellHigh   = targetLong
	cellGap    = 8.0
)

// asker asks for states and addresses, either of which may be missing.
type asker struct {
	state func(part string, position int) State
	href  func(part string, position int) string
}

func (a asker) of(p *book.Part, position int) (s State, to string) {
	if p == nil {
		return None, ""
	}
	if a.state != nil {
		s = a.state(p.Key, position)
	}
	if a.href != nil {
		to = a.href(p.Key, position)
	}
	return s, to
}

// An owned is the part of some shape that a cylinder has.
type owned struct {
	part     *book.Part
	position int
}

// ownedBy finds what is of each cylinder, cylinder 1 first, among the parts of a
// likeness.
func ownedBy(b *book.Book, like likeness) []owned {
	l := b.Layout
	all := make([]owned, len(l.Cylinders))
	for _, p := range b.Parts {
		if len(l.Of[p]) == 0 || likenessOf(p) != like {
			continue
		}
		for i, n := range l.Of[p] {
			if n >= 1 && n <= len(all) && all[n-1].part == nil {
				all[n-1] = owned{p, min(i+1, p.Positions)}
			}
		}
	}
	return all
}

// together is how all that is of each cylinder stands.
func together(b *book.Book, ask asker) []State {
	all := make([]State, len(b.Layout.Cylinders))
	for _, p := range b.Parts {
		for i, n := range b.Layout.Of[p] {
			if n < 1 || n > len(all) {
				continue
			}
			s, _ := ask.of(p, min(i+1, p.Positions))
			all[n-1] = all[n-1].With(s)
		}
	}
	return all
}

// crankPart is the part that most of the crankshaft is of; nil where the book
// shows none.
func crankPart(a *along) *book.Part {
	for i := range a.pieces {
		if a.pieces[i].throw != nil {
			return a.pieces[i].site.Feature.Part
		}
	}
	if len(a.pieces) > 0 {
		return a.pieces[0].site.Feature.Part
	}
	return nil
}

// Engine draws the engine as a whole from its book: cylinders with their pistons
// and rods where they are, the crankshaft, the case, and in cells what else
// stands alone (the train). An opposed engine is seen from above, an in-line one
// from the side, a radial from its viewpoint; which end is which, where number
// one is and whence it is seen stand in words. A book without a layout gives
// [Parts].
//
// Every part is a link with a target of 48 px and more where the drawing is at
// least [EngineLeast] px wide. state and href may be nil.
//
// small gives a drawing of 120 × 80 px to know an engine by: each cylinder with
// all that is of it toned where it is measured, hatched where something is
// beyond; no names and no links.
func Engine(b *book.Book, state func(part string, position int) State, href func(part string, position int) string, small bool) SVG {
	ask := asker{state, href}
	switch {
	case small:
		return smallEngine(b, ask)
	case b.Layout == nil:
		return Parts(b, state, href)
	case b.Layout.Arrangement == book.Radial:
		return radialEngine(b, ask)
	}
	return planEngine(b, ask, twoSided(b.Layout))
}

// EngineUpright is as [Engine], for a phone: number one at the top, and never
// wider than 288 px.
func EngineUpright(b *book.Book, state func(part string, position int) State, href func(part string, position int) string) SVG {
	if b.Layout == nil || b.Layout.Arrangement == book.Radial {
		return Engine(b, state, href, false)
	}
	return planEngine(b, asker{state, href}, true)
}

// EngineLeast returns how many pixels wide the drawing of [Engine] must be for
// every target on it to be 48 px. On anything narrower [EngineUpright] serves.
func EngineLeast(b *book.Book) int {
	switch {
	case b.Layout == nil:
		return int(uprightW)
	case b.Layout.Arrangement == book.Radial:
		// Up to nine cylinders, even all round, have room on a phone.
		least := 48.0
		for _, s := range sectorsOf(b.Layout) {
			least = min(least, (radialShaft+radialRods)*math.Sin((s[1]-s[0])/2*math.Pi/180))
		}
		return int(math.Ceil(48 * uprightW / max(1, least)))
	case twoSided(b.Layout):
		return int(uprightW)
	}
	rows := rowsOf(b)
	return int(math.Ceil(48 * planWide(&rows) / targetLong))
}

// twoSided tells whether cylinders stand on both sides of the shaft, which is
// seen from above.
func twoSided(l *book.Layout) bool {
	if l.Arrangement == book.Opposed {
		return true
	}
	for _, c := range l.Cylinders {
		if sin := math.Sin(float(c.Angle) * math.Pi / 180); math.Abs(sin) > 0.01 {
			return true
		}
	}
	return false
}

// rows are where the cylinders and the journals are along the shaft.
type rows struct {
	shaft    along
	piece    []float64 // the middles of the shaft's pieces
	cylinder []float64
	side     []float64 // of each cylinder: +1 right (or up), −1 left
	from, to float64   // of all cylinders, targets included
}

func rowsOf(b *book.Book) rows {
	l := b.Layout
	r := rows{shaft: crankOf(b)}
	const journal, cheek = 26.0, 8.0
	r.piece = make([]float64, len(r.shaft.pieces))
	pin := map[*book.Site]int{}
	for i := range r.shaft.pieces {
		r.piece[i] = float64(i) * (journal + cheek)
		pin[r.shaft.pieces[i].site] = i
	}
	// Right is as seen from the viewpoint; from above it is on the sheet's
	// right where the propeller points up it and one looks from behind.
	right := 1.0
	if l.Viewpoint == book.PropellerEnd {
		right = -right
	}
	if l.First == book.AccessoryEnd {
		right = -right
	}
	two := twoSided(l)
	r.cylinder = make([]float64, len(l.Cylinders))
	r.side = make([]float64, len(l.Cylinders))
	for i, c := range l.Cylinders {
		if c.Throw >= 0 && c.Throw < len(l.Throws) {
			if at, ok := pin[l.Throws[c.Throw].Pin]; ok {
				r.cylinder[i] = r.piece[at]
			}
		}
		r.side[i] = 1
		sin, cos := math.Sincos(float(c.Angle) * math.Pi / 180)
		if two && sin*right < 0 || !two && cos < 0 {
			r.side[i] = -1
		}
	}
	// The closest two of one side are a target apart.
	order := make([]int, len(l.Cylinders))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch d := r.cylinder[a] - r.cylinder[b]; {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	last := map[float64]float64{}
	least := math.Inf(1)
	for _, i := range order {
		if before, ok := last[r.side[i]]; ok && r.cylinder[i] > before {
			least = min(least, r.cylinder[i]-before)
		}
		last[r.side[i]] = r.cylinder[i]
	}
	k := 1.0
	if !math.IsInf(least, 1) {
		k = targetLong / least
	}
	k = max(0.6, min(2, k))
	for i := range r.piece {
		r.piece[i] *= k
	}
	clear(last)
	for _, i := range order {
		r.cylinder[i] *= k
		if before, ok := last[r.side[i]]; ok {
			r.cylinder[i] = max(r.cylinder[i], before+targetLong)
		}
		last[r.side[i]] = r.cylinder[i]
	}
	r.from, r.to = math.Inf(1), math.Inf(-1)
	for i := range r.cylinder {
		r.from, r.to = min(r.from, r.cylinder[i]-targetLong/2), max(r.to, r.cylinder[i]+targetLong/2)
	}
	for _, at := range r.piece {
		r.from, r.to = min(r.from, at-journal*k/2), max(r.to, at+journal*k/2)
	}
	return r
}

// planWide is how wide a plan is that lies along the sheet.
func planWide(r *rows) float64 { return r.to - r.from + 2*noseLong + 2*flangeOut + 8 }

// A plan is an engine drawn along its shaft: down the sheet, or to the right.
type plan struct {
	canvas
	down    bool
	a0, c0  float64 // where on the sheet along and across begin
	rodEnd  float64 // across: here a rod's target ends and a cylinder's begins
	headEnd float64 // and here that ends
}

// rect draws a box: from a, as long as la; from c outwards, as far as lc, on a
// side.
func (p *plan) rect(b *brush, classes string, a, c, la, lc, side float64) {
	if side < 0 {
		c = -c - lc
	}
	if p.down {
		b.rect(classes, p.c0+c, p.a0+a, lc, la)
		return
	}
	b.rect(classes, p.a0+a, p.c0-c-lc, la, lc)
}

func (p *plan) line(b *brush, classes string, a1, c1, a2, c2, side float64) {
	x1, y1 := p.at(a1, side*c1)
	x2, y2 := p.at(a2, side*c2)
	b.line(classes, x1, y1, x2, y2)
}

func (p *plan) at(a, c float64) (x, y float64) {
	if p.down {
		return p.c0 + c, p.a0 + a
	}
	return p.a0 + a, p.c0 - c
}

// planEngine draws an opposed or in-line engine.
func planEngine(b *book.Book, ask asker, down bool) SVG {
	l := b.Layout
	r := rowsOf(b)
	two := twoSided(l)
	p := plan{down: down, rodEnd: shaftHalf + 48, headEnd: uprightW/2 - 3}
	long := r.to - r.from + 2*noseLong // the case
	upper, lower := false, false       // which sides have cylinders
	for _, s := range r.side {
		upper, lower = upper || s > 0, lower || s < 0
	}
	w := uprightW
	size := wordSize
	top := 26.0 // under the words
	var high float64
	switch {
	case down && two:
		p.c0 = w / 2
		p.a0 = top + flangeOut
		high = p.a0 + long + flangeOut + 8
	case down:
		p.c0 = 64
		if lower {
			p.c0 = w - 64
		}
		p.headEnd = w - 64 - 8
		p.a0 = top + flangeOut
		high = p.a0 + long + flangeOut + 8
	default:
		w = planWide(&r)
		size = wordSize * targetLong / 48
		p.a0 = flangeOut + 4
		p.rodEnd = shaftHalf + targetLong
		p.headEnd = p.rodEnd + 70
		p.c0 = 8 + shaftHalf + 20
		if upper {
			p.c0 = 8 + p.headEnd
		}
		high = p.c0 + shaftHalf + 20
		if lower {
			high = p.c0 + p.headEnd + 8
		}
	}
	p.shell(b, ask, &r, long, upper, lower)
	p.cylinders(b, ask, &r)
	// Words: which end is which, where number one is, whence it is seen.
	first, other := "Propeller end, number 1", "Accessory end"
	if l.First == book.AccessoryEnd {
		first, other = "Accessory end, number 1", "Propeller end"
	}
	seen := "Seen from above"
	if !two {
		seen = "Seen from the side"
		if lower {
			seen += ", heads down"
		}
	}
	if down {
		mid := w / 2
		p.high.say("", atMiddle, mid, 17, size, first)
		if two {
			left, right := "left", "right"
			if (l.Viewpoint == book.PropellerEnd) != (l.First == book.AccessoryEnd) {
				left, right = right, left
			}
			p.high.say("", atStart, 2, 17, size, left)
			p.high.say("", atEnd, w-2, 17, size, right)
		} else if lower {
			seen = "Seen from the side; heads down, here to the left"
		} else {
			seen = "Seen from the side; heads up, here to the right"
		}
		p.high.say("", atMiddle, mid, high+10, size, other)
		high += 34
		for _, line := range wrapped(seen, size, w) {
			p.high.say("", atMiddle, mid, high, size, line)
			high += 21
		}
		high -= 8
	} else {
		p.high.say("", atStart, 2, high+16, size, first)
		p.high.say("", atEnd, w-2, high+16, size, other)
		p.high.say("", atStart, 2, high+39, size, seen)
		high += 48
	}
	high = trainCells(&p.low, b, ask, crankPart(&r.shaft), casePart(b), w, high+cellGap)
	return p.svg("part engine "+l.Arrangement.String(), role(ask.href != nil), engineLabel(b, seen), 0, 0, w, high)
}

func casePart(b *book.Book) *book.Part {
	for _, p := range b.Parts {
		if p.Positions == 0 && likenessOf(p) == likeCase {
			return p
		}
	}
	return nil
}

// shell draws the case, the flange, what is at the other end, and the shaft.
func (p *plan) shell(b *book.Book, ask asker, r *rows, long float64, upper, lower bool) {
	l := b.Layout
	half := func(yes bool) float64 {
		if yes {
			return caseHalf
		}
		return shaftHalf + 14
	}
	hi, lo := half(upper), half(lower)
	c := casePart(b)
	s, to := ask.of(c, 0)
	// The ends of the crankshaft, outside the case.
	crank := crankPart(&r.shaft)
	cs, cto := ask.of(crank, 0)
	linked := false
	if c != nil {
		linked = p.low.link(to, c.Name+": "+s.String())
	}
	if linked { // what is left of it: both its ends
		p.rect(&p.low, "hit", 0, -lo, noseLong, lo+hi, 1)
		p.rect(&p.low, "hit", long-noseLong, -lo, noseLong, lo+hi, 1)
	}
	// Towards the propeller the case narrows.
	nose, slope, tail, back := 26.0, noseLong*0.7, 12.0, 12.0
	if l.First == book.AccessoryEnd {
		nose, slope, tail, back = tail, back, nose, slope
	}
	outline := func(classes string) {
		d := new(path)
		for i, q := range [...][2]float64{
			{0, hi - nose},
			{slope, hi},
			{long - back, hi},
			{long, hi - tail},
			{long, tail - lo},
			{long - back, -lo},
			{slope, -lo},
			{0, nose - lo},
		} {
			x, y := p.at(q[0], q[1])
			if i == 0 {
				d.to('M', x, y)
			} else {
				d.to('L', x, y)
			}
		}
		p.low.trace(classes, d.to('z'))
	}
	outline(s.classes())
	if s.Grade() == Beyond {
		outline("hatch")
	}
	if linked {
		p.low.shut("a")
	}
	if crank != nil {
		linked = p.low.link(cto, partWords(crank, 0)+": "+cs.String())
		if linked {
			p.rect(&p.low, "hit", noseLong, -shaftHalf, long-2*noseLong, 2*shaftHalf, 1)
		}
	} else {
		linked = false
	}
	propellerAt, otherAt, out := 0.0, long, -1.0
	if l.First == book.AccessoryEnd {
		propellerAt, otherAt, out = long, 0, 1
	}
	box := func(classes string, from, long, half, at, out float64) {
		a := at + out*from
		if out < 0 {
			a -= long
		}
		p.rect(&p.low, classes, a, -half, long, 2*half, 1)
	}
	box("metal", 0, 12, 10, propellerAt, out)
	box("metal", 12, 10, 40, propellerAt, out)
	box("metal", 0, 18, 20, otherAt, -out)
	start := noseLong - r.from
	p.line(&p.low, "axis", -flangeOut, 0, long+flangeOut, 0, 1)
	// The shaft: journals and pins on the axis, cheeks between.
	if n := len(r.piece); n > 0 {
		step := 34.0
		if n > 1 {
			step = r.piece[1] - r.piece[0]
		}
		journal, cheek := step*26/34, step*8/34
		for i := range r.piece {
			q := &r.shaft.pieces[i]
			a := start + r.piece[i] - journal/2
			wide := 15.0
			if q.throw != nil {
				wide = 13 // on the axis: the cheeks tell it from a main
			}
			if i > 0 {
				if q.cheek {
					p.rect(&p.low, "cheek", a-cheek, -shaftHalf+2, cheek, 2*shaftHalf-4, 1)
				} else {
					p.rect(&p.low, "metal", a-cheek, -8, cheek, 16, 1)
				}
			}
			p.rect(&p.low, cs.classes(), a, -wide, journal, 2*wide, 1)
			if cs.Grade() == Beyond {
				p.rect(&p.low, "hatch", a, -wide, journal, 2*wide, 1)
			}
		}
	}
	if linked {
		p.low.shut("a")
	}
}

// cylinders draws each cylinder with its piston and rod.
func (p *plan) cylinders(b *book.Book, ask asker, r *rows) {
	l := b.Layout
	barrels, rods, pistons := ownedBy(b, likeBarrel), ownedBy(b, likeRod), ownedBy(b, likePiston)
	start := noseLong - r.from
	for i := range l.Cylinders {
		a, side := start+r.cylinder[i], r.side[i]
		// The rod, from its crankpin to its piston.
		s, to := ask.of(rods[i].part, rods[i].position)
		if rods[i].part != nil {
			linked := p.low.link(to, partWords(rods[i].part, rods[i].position)+": "+s.String())
			if linked {
				p.rect(&p.low, "hit", a-targetLong/2, shaftHalf, targetLong, p.rodEnd-shaftHalf, side)
			}
			p.rect(&p.low, s.classes(), a-5, 11, 10, caseHalf-6, side)
			x, y := p.at(a, side*4)
			p.low.circle(s.classes(), x, y, 12)
			if s.Grade() == Beyond {
				p.rect(&p.low, "hatch", a-5, 11, 10, caseHalf-6, side)
			}
			if linked {
				p.low.shut("a")
			}
		}
		p.barrel(ask, barrels[i], pistons[i], i+1, a, side)
	}
}

func (p *plan) barrel(ask asker, barrel, piston owned, n int, a, side float64) {
	s, to := ask.of(barrel.part, barrel.position)
	name := numbered("Cylinder", n)
	if barrel.part != nil {
		name = partWords(barrel.part, barrel.position)
	}
	linked := p.low.link(to, name+": "+s.String())
	if linked {
		p.rect(&p.low, "hit", a-targetLong/2, p.rodEnd, targetLong, p.headEnd-p.rodEnd, side)
	}
	headDeep := 30.0
	barrelLong := p.headEnd - caseHalf - headDeep
	p.rect(&p.low, s.classes(), a-18, caseHalf, 36, barrelLong, side)
	if s.Grade() == Beyond {
		p.rect(&p.low, "hatch", a-18, caseHalf, 36, barrelLong, side)
	}
	fins := int(barrelLong / 8)
	for k := 1; k < fins; k++ {
		c := caseHalf + barrelLong*float64(k)/float64(fins)
		p.line(&p.low, "fin", a-22, c, a+22, c, side)
	}
	if piston.part != nil {
		// The piston in its barrel, with its own state.
		ps, _ := ask.of(piston.part, piston.position)
		p.rect(&p.low, ps.classes(), a-13, caseHalf+4, 26, 16, side)
		if ps.Grade() == Beyond {
			p.rect(&p.low, "hatch", a-13, caseHalf+4, 26, 16, side)
		}
	}
	p.rect(&p.low, "chead", a-24, caseHalf+barrelLong, 48, headDeep, side)
	x, y := p.at(a, side*(caseHalf+barrelLong+headDeep/2))
	numberMark(&p.low, s, n, x, y+6)
	if linked {
		p.low.shut("a")
	}
}

// numberMark letters a cylinder's number with how it stands.
func numberMark(p *brush, s State, n int, x, y float64) {
	text := strconv.Itoa(n)
	if s.Grade() == Beyond {
		p.rect("rev", x-13, y-17, 26, 22)
		p.say("on-rev", atMiddle, x, y, 18, text)
		return
	}
	p.say("", atMiddle, x, y-2, 18, text)
	p.bar(s, x-9, y+1.5, 18, 5)
}

func engineLabel(b *book.Book, seen string) string {
	l := b.Layout
	label := b.Engine + ", " + strconv.Itoa(len(l.Cylinders)) + " cylinders, " + l.Arrangement.String() + ", " + lowered(seen)
	if n := b.Numbering.String(); n != "" {
		label += "; " + n
	}
	return label
}

// standsAlone tells whether a part is one of a kind and of no cylinder.
func standsAlone(b *book.Book, p *book.Part) bool {
	return p.Positions == 0 && (b.Layout == nil || len(b.Layout.Of[p]) == 0)
}

// trainCells draws what stands alone and has no place in the drawing, a cell
// each. It returns where the drawing ends.
func trainCells(p *brush, b *book.Book, ask asker, drawn, also *book.Part, w, y float64) float64 {
	columns := max(2, int(w/140))
	wide := (w - float64(columns-1)*cellGap - 4) / float64(columns)
	n := 0
	for _, part := range b.Parts {
		if part == drawn || part == also || !standsAlone(b, part) {
			continue
		}
		x := 2 + float64(n%columns)*(wide+cellGap)
		nameCell(p, ask, part, x, y+float64(n/columns)*(cellHigh+cellGap), wide)
		n++
	}
	return y + float64((n+columns-1)/columns)*(cellHigh+cellGap)
}

// nameCell is a part that stands alone, with its name in it.
func nameCell(p *brush, ask asker, part *book.Part, x, y, w float64) {
	s, to := ask.of(part, 0)
	linked := p.link(to, part.Name+": "+s.String())
	p.rect(s.classes(), x, y, w, cellHigh)
	lines := wrapped(part.Name, wordSize, w-14)
	base := y + 39 - 9.5*float64(len(lines))
	if s.Grade() == Beyond {
		p.rect("hatch", x, y, w, cellHigh)
		widest := 0.0
		for _, line := range lines {
			widest = max(widest, textWidth(line, wordSize))
		}
		p.rect("rev", x+4, base-16, min(w-8, widest+12), 3+19*float64(len(lines)))
	}
	for i, line := range lines {
		classes := ""
		if s.Grade() == Beyond {
			classes = "on-rev"
		}
		p.say(classes, atStart, x+9, base+19*float64(i), wordSize, line)
	}
	p.bar(s, x+9, y+cellHigh-10, 18, 5)
	if linked {
		p.shut("a")
	}
}

// Round a radial engine's shaft: where its target ends and the rods' begin, where
// these end and the cylinders' begin, and where those end.
const (
	radialShaft = 46.0
	radialRods  = 94.0
	radialHeads = 142.0
)

// sectorsOf is what each cylinder of a radial engine has of the circle, in
// degrees: from half way to the one before to half way to the next, and at most
// a quarter of it.
func sectorsOf(l *book.Layout) [][2]float64 {
	n := len(l.Cylinders)
	all := make([][2]float64, n)
	for i := range all {
		at := float(l.Cylinders[i].Angle)
		before, next := 360.0, 360.0
		if n > 1 {
			before = turn(at - float(l.Cylinders[(i+n-1)%n].Angle))
			next = turn(float(l.Cylinders[(i+1)%n].Angle) - at)
		}
		all[i] = [2]float64{at - min(45, before/2), at + min(45, next/2)}
	}
	return all
}

// turn brings degrees between 0 and 360.
func turn(degrees float64) float64 { return math.Mod(degrees+720, 360) }

// radialEngine draws a radial engine from its viewpoint.
func radialEngine(b *book.Book, ask asker) SVG {
	l := b.Layout
	const (
		w      = uprightW
		cx, cy = w / 2, 146.0
		shell  = 80.0 // the case
	)
	var c canvas
	p := &c.low
	n := len(l.Cylinders)
	barrels, rods, pistons := ownedBy(b, likeBarrel), ownedBy(b, likeRod), ownedBy(b, likePiston)
	sectors := sectorsOf(l)
	wedge := func(classes string, i int, from, to float64) {
		x1, y1 := point(cx, cy, sectors[i][0], from)
		x2, y2 := point(cx, cy, sectors[i][0], to)
		x3, y3 := point(cx, cy, sectors[i][1], to)
		x4, y4 := point(cx, cy, sectors[i][1], from)
		p.trace(classes, new(path).to('M', x1, y1).to('L', x2, y2).to('A', to, to, 0, 0, 1, x3, y3).
			to('L', x4, y4).to('A', from, from, 0, 0, 0, x1, y1).to('z'))
	}
	wide := min(40, 2*90*math.Sin(math.Pi/float64(max(3, n)))*0.66)
	spoke := func(classes string, at, left, from, wide, long float64) {
		// A box on a spoke, as a path: rotated corners.
		var xy [8]float64
		for i, q := range [...][2]float64{{left, from}, {left + wide, from}, {left + wide, from + long}, {left, from + long}} {
			x, y := point(cx, cy, at, q[1])
			sin, cos := math.Sincos(at * math.Pi / 180)
			xy[2*i], xy[2*i+1] = x+q[0]*cos, y+q[0]*sin
		}
		p.poly(classes, xy[:]...)
	}
	for i := range l.Cylinders {
		at := float(l.Cylinders[i].Angle)
		s, to := ask.of(barrels[i].part, barrels[i].position)
		name := numbered("Cylinder", i+1)
		if barrels[i].part != nil {
			name = partWords(barrels[i].part, barrels[i].position)
		}
		linked := p.link(to, name+": "+s.String())
		if linked {
			wedge("hit", i, radialRods, radialHeads)
		}
		spoke(s.classes(), at, -wide/2, shell-6, wide, 42)
		if s.Grade() == Beyond {
			spoke("hatch", at, -wide/2, shell-6, wide, 42)
		}
		for r := shell + 8; r < shell+34; r += 7 {
			spoke("fin", at, -wide*0.6, r, wide*1.2, 0)
		}
		spoke("chead", at, -wide*0.62, shell+36, wide*1.24, 26)
		x, y := point(cx, cy, at, shell+49)
		numberMark(p, s, i+1, x, y+6)
		if linked {
			p.shut("a")
		}
	}
	cs := None
	if part := casePart(b); part != nil {
		cs, _ = ask.of(part, 0)
	}
	p.circle(cs.classes(), cx, cy, shell)
	if cs.Grade() == Beyond {
		p.circle("hatch", cx, cy, shell)
	}
	// The rods: the master's big end is about its crankpin, the links' in it.
	for i := range l.Cylinders {
		part, position := rods[i].part, rods[i].position
		if part == nil {
			continue
		}
		at := float(l.Cylinders[i].Angle)
		var throw *book.Throw
		if k := l.Cylinders[i].Throw; k >= 0 && k < len(l.Throws) {
			throw = &l.Throws[k]
		}
		s, to := ask.of(part, position)
		linked := p.link(to, partWords(part, position)+": "+s.String())
		if linked {
			wedge("hit", i, radialShaft, radialRods)
		}
		px, py := cx, cy
		if throw != nil {
			px, py = point(cx, cy, degreesOf(throw), 20)
		}
		x1, y1 := point(px, py, at, 26)
		x2, y2 := point(cx, cy, at, shell-12)
		rodBar(p, s, x1, y1, x2, y2, throw != nil && throw.Master == i+1)
		ps, _ := ask.of(pistons[i].part, pistons[i].position)
		if pistons[i].part != nil {
			spoke(ps.classes(), at, -wide*0.38, shell-14, wide*0.76, 15)
			if ps.Grade() == Beyond {
				spoke("hatch", at, -wide*0.38, shell-14, wide*0.76, 15)
			}
		}
		if linked {
			p.shut("a")
		}
	}
	shaft := crankOf(b)
	crank := crankPart(&shaft)
	if crank != nil {
		s, to := ask.of(crank, 0)
		linked := p.link(to, partWords(crank, 0)+": "+s.String())
		if linked {
			p.circle("hit", cx, cy, radialShaft)
		}
		for i := range l.Throws {
			px, py := point(cx, cy, degreesOf(&l.Throws[i]), 20)
			p.circle("metal", px, py, 24) // the master rod's big end
		}
		p.circle("metal", cx, cy, 15)
		for i := range l.Throws {
			px, py := point(cx, cy, degreesOf(&l.Throws[i]), 20)
			p.circle(s.classes(), px, py, 13)
			if s.Grade() == Beyond {
				p.circle("hatch", px, py, 13)
			}
		}
		if linked {
			p.shut("a")
		}
	}
	p.trace("axis", new(path).to('M', cx-22, cy).to('h', 44).to('M', cx, cy-22).to('v', 44))
	seen := "Seen from the " + l.Viewpoint.String() + " end"
	c.high.say("", atMiddle, cx, 2*cy+22, wordSize, seen)
	first := "Number 1 along the shaft: " + l.First.String() + " end"
	c.high.say("", atMiddle, cx, 2*cy+44, wordSize, first)
	high := trainCells(p, b, ask, crank, nil, w, 2*cy+58)
	return c.svg("part engine radial", role(ask.href != nil), engineLabel(b, seen), 0, 0, w, high)
}

// rodBar draws a rod as a bar from one end to the other; the master is wider.
func rodBar(p *brush, s State, x1, y1, x2, y2 float64, master bool) {
	dx, dy := x2-x1, y2-y1
	long := math.Hypot(dx, dy)
	if long < 1 {
		return
	}
	half := 4.5
	if master {
		half = 7
	}
	ux, uy := dx/long*half, dy/long*half
	draw := func(classes string) {
		p.poly(classes, x1-uy, y1+ux, x2-uy, y2+ux, x2+uy, y2-ux, x1+uy, y1-ux)
	}
	draw(s.classes())
	if s.Grade() == Beyond {
		draw("hatch")
	}
}

// Parts draws every part of a book as a list: a cell for each position with its
// number, toned, hatched or empty as it stands. It is 288 px wide at least, and
// every cell is a target of 48 px and more.
func Parts(b *book.Book, state func(part string, position int) State, href func(part string, position int) string) SVG {
	ask := asker{state, href}
	var c canvas
	p := &c.low
	const across, cell = 6, 48.0
	y := 2.0
	for _, part := range b.Parts {
		if part.Positions == 0 {
			nameCell(p, ask, part, 1, y, uprightW-2)
			y += cellHigh + 12
			continue
		}
		p.say("", atStart, 1, y+14, wordSize, fitting(part.Name, wordSize, uprightW-4))
		y += 22
		for i := range part.Positions {
			x := float64(i%across) * cell
			top := y + float64(i/across)*cell
			s, to := ask.of(part, i+1)
			linked := p.link(to, partWords(part, i+1)+": "+s.String())
			p.rect(s.classes(), x+1, top, cell-1, cell-1)
			if s.Grade() == Beyond {
				p.rect("hatch", x+1, top, cell-1, cell-1)
			}
			if linked {
				p.rect("hit", x, top, cell, cell)
			}
			numberMark(p, s, i+1, x+cell/2, top+cell/2+6)
			if linked {
				p.shut("a")
			}
		}
		y += float64((part.Positions+across-1)/across)*cell + 12
	}
	return c.svg("part parts", role(href != nil), "Parts of "+b.Engine, 0, 0, uprightW, y)
}

// smallEngine draws an engine to be known by, in 120 × 80.
func smallEngine(b *book.Book, ask asker) SVG {
	const w, h = 120.0, 80.0
	var c canvas
	p := &c.low
	if b.Layout == nil {
		smallParts(p, b, ask, w, h)
		return c.svg("part engine small", "img", b.Engine, 0, 0, w, h)
	}
	l := b.Layout
	states := together(b, ask)
	beyond, open, done := 0, 0, 0
	for _, s := range states {
		switch s.Grade() {
		case Beyond:
			beyond++
		case Open, None:
			open++
		default:
			done++
		}
	}
	shaft := crankOf(b)
	crank, caseState := crankPart(&shaft), None
	if part := casePart(b); part != nil {
		caseState, _ = ask.of(part, 0)
	}
	crankState, _ := ask.of(crank, 0)
	if l.Arrangement == book.Radial {
		smallRadial(p, l, states, caseState, crankState, w, h)
	} else {
		smallPlan(p, b, states, caseState, crankState, w, h)
	}
	label := b.Engine + ", " + l.Arrangement.String() + ": of " + strconv.Itoa(len(states)) + " cylinders " +
		strconv.Itoa(done) + " measured, " + strconv.Itoa(beyond) + " beyond, " + strconv.Itoa(open) + " open"
	return c.svg("part engine small", "img", label, 0, 0, w, h)
}

func smallParts(p *brush, b *book.Book, ask asker, w, h float64) {
	// A square for each part, all of its positions together.
	n := len(b.Parts)
	columns := max(1, int(math.Ceil(math.Sqrt(float64(n)*w/h))))
	cell := min(w/float64(columns), h/math.Ceil(float64(n)/float64(columns)))
	for i, part := range b.Parts {
		s := None
		for k := range max(1, part.Positions) {
			one, _ := ask.of(part, min(k+1, part.Positions))
			s = s.With(one)
		}
		x, y := float64(i%columns)*cell, float64(i/columns)*cell
		p.rect(s.classes(), x+1, y+1, cell-2, cell-2)
		if s == Beyond {
			p.rect("hatch", x+1, y+1, cell-2, cell-2)
		}
	}
}

func smallRadial(p *brush, l *book.Layout, states []State, caseState, crankState State, w, h float64) {
	cx, cy := w/2, h/2
	n := float64(max(3, len(l.Cylinders)))
	wide := min(14, 2*22*math.Sin(math.Pi/n)*0.8)
	for i := range l.Cylinders {
		at := float(l.Cylinders[i].Angle)
		sin, cos := math.Sincos(at * math.Pi / 180)
		box := func(classes string, from, long, wide float64) {
			var xy [8]float64
			for k, q := range [...][2]float64{{-wide / 2, from}, {wide / 2, from}, {wide / 2, from + long}, {-wide / 2, from + long}} {
				x, y := point(cx, cy, at, q[1])
				xy[2*k], xy[2*k+1] = x+q[0]*cos, y+q[0]*sin
			}
			p.poly(classes, xy[:]...)
		}
		box(states[i].classes(), 14, 15, wide)
		if states[i] == Beyond {
			box("hatch", 14, 15, wide)
		}
		box("chead", 29, 10, wide*1.25)
	}
	p.circle(caseState.classes(), cx, cy, 16)
	if caseState.Grade() == Beyond {
		p.circle("hatch", cx, cy, 16)
	}
	p.circle(crankState.classes(), cx, cy, 6)
	if crankState.Grade() == Beyond {
		p.circle("hatch", cx, cy, 6)
	}
}

func smallPlan(p *brush, b *book.Book, states []State, caseState, crankState State, w, h float64) {
	l := b.Layout
	r := rowsOf(b)
	// Along the sheet, number one to the left.
	var upper, lower bool
	for _, s := range r.side {
		upper, lower = upper || s > 0, lower || s < 0
	}
	reach := 36.0
	if upper != lower {
		reach = 50
	}
	long := r.to - r.from
	k := min((w-34)/long, 0.5)
	mid := h / 2
	if upper && !lower {
		mid = h - 20
	} else if lower && !upper {
		mid = 20
	}
	x0 := w/2 - long*k/2
	caseHigh := 9.0
	for i := range states {
		x := x0 + (r.cylinder[i]-r.from)*k
		wide := min(20, targetLong*k*0.72)
		side := r.side[i] // right is up: the plan laid on its left side
		box := func(classes string, from, long, wide float64) {
			y := mid - side*from
			if side > 0 {
				y -= long
			}
			p.rect(classes, x-wide/2, y, wide, long)
		}
		box(states[i].classes(), caseHigh, reach-caseHigh-11, wide)
		if states[i] == Beyond {
			box("hatch", caseHigh, reach-caseHigh-11, wide)
		}
		box("chead", reach-11, 10, wide*1.25)
	}
	ends := 8.0
	left, right := x0-ends, x0+long*k+ends
	p.rect(caseState.classes(), left, mid-caseHigh, right-left, 2*caseHigh)
	if caseState.Grade() == Beyond {
		p.rect("hatch", left, mid-caseHigh, right-left, 2*caseHigh)
	}
	propeller, other := left-3, right+3
	if l.First == book.AccessoryEnd {
		propeller, other = right+3, left-3
	}
	p.rect("metal", propeller-2, mid-11, 4, 22)
	p.rect("metal", other-3, mid-6, 6, 12)
	p.rect(crankState.classes(), x0, mid-3, long*k, 6)
	if crankState.Grade() == Beyond {
		p.rect("hatch", x0, mid-3, long*k, 6)
	}
}
