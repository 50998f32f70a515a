package picture

import (
	"math"

	"tenths/internal/book"
)

// A piece is one site along a shaft, where it is drawn.
type piece struct {
	site  *book.Site
	throw *book.Throw // of a crankpin
	lobe  bool
	cheek bool    // a cheek stands before it, else a neck
	angle float64 // of the throw, in degrees
	rise  float64 // how much of the throw is seen from the side, up

	x, y, w, d float64 // left, middle, length, diameter
}

// Lengths and diameters of a shaft that is drawn from the side, in units. What a
// book says of sizes is limits, not shapes: every shaft is drawn to these.
const (
	mainLong, mainWide = 80, 66
	pinLong, pinWide   = 74, 58
	lobeLong, lobeWide = 44, 62
	lobeLift           = 20
	cheekLong          = 20
	cheekReach         = 41 // past the middle of a journal
	neckLong, neckWide = 14, 44
	throwHigh          = 62
	flangeLong         = 14
	hubLong, hubWide   = 38, 52
	tailLong, tailWide = 54, 44
	axisY              = 150
)

// An along is a shaft as it lies in a drawing: end one at the left.
type along struct {
	pieces    []piece
	crank     bool
	propeller int // the end that it is at: −1 left, +1 right, 0 not stated
	flange    bool
	before    float64 // how long the cheek is between its end and the first piece: there is one where that is a crankpin
	behind    float64 // and behind the last
	w         float64
}

// degreesOf is an angle of the book's for drawing.
func degreesOf(t *book.Throw) float64 { return float(t.Angle) }

// crankOf finds the crankshaft: all shafts that have a crankpin, one behind the
// other as the book lists them. Without a layout it is what the first shaft of
// the book has that is measured across, in the book's order.
func crankOf(b *book.Book) (a along) {
	a.crank = true
	if l := b.Layout; l != nil {
		pins := make(map[*book.Site]*book.Throw, len(l.Throws))
		for i := range l.Throws {
			pins[l.Throws[i].Pin] = &l.Throws[i]
		}
		for i := range l.Shafts {
			has := false
			for _, s := range l.Shafts[i].Sites {
				has = has || pins[s] != nil
			}
			if has {
				a.add(l.Shafts[i].Sites, pins)
			}
		}
		a.ends(l)
		return a
	}
	for _, p := range b.Parts {
		if p.Positions > 0 || p.Shape != book.ShaftShape && !tradeOf(p.Key, p.Name).has("crank", "crankshaft") {
			continue
		}
		if len(acrossSites(p)) > 0 {
			a.add(acrossSites(p), nil)
			a.flange = hasFlange(p)
			return a
		}
	}
	return a
}

// shaftOf finds the shaft that a part is, or is on. ok is false where the book
// does not show one.
func shaftOf(b *book.Book, p *book.Part) (a along, ok bool) {
	crank := crankOf(b)
	for i := range crank.pieces {
		if crank.pieces[i].site.Feature.Part == p {
			return crank, true
		}
	}
	if l := b.Layout; l != nil {
		for i := range l.Shafts {
			if l.Shafts[i].Part == p {
				a.add(l.Shafts[i].Sites, nil)
				a.ends(l)
				return a, true
			}
		}
	}
	if p.Positions == 0 && likenessOf(p) == likeShaft {
		a.add(acrossSites(p), nil)
	}
	return a, len(a.pieces) > 0
}

// acrossSites are the sites of a part that are measured across it.
func acrossSites(p *book.Part) (all []*book.Site) {
	for _, f := range p.Features {
		if f.Class == book.Outside {
			all = append(all, f.Sites...)
		}
	}
	return all
}

func hasFlange(p *book.Part) bool {
	for _, f := range p.Features {
		if tradeOf(f.Key, f.Name).has("flange") {
			return true
		}
	}
	return false
}

// ends says which end of a shaft in a layout the propeller is at.
func (a *along) ends(l *book.Layout) {
	a.propeller = -1
	if l.First == book.AccessoryEnd {
		a.propeller = +1
	}
	for i := range a.pieces {
		a.flange = a.flange || a.crank && hasFlange(a.pieces[i].site.Feature.Part)
	}
}

func (a *along) add(sites []*book.Site, pins map[*book.Site]*book.Throw) {
	for _, s := range sites {
		p := piece{site: s, throw: pins[s]}
		if p.throw != nil {
			p.angle = degreesOf(p.throw)
			p.rise = math.Cos(p.angle * math.Pi / 180)
		}
		p.lobe = p.throw == nil && !a.crank && tradeOf(s.Feature.Key, s.Feature.Name).begins("lobe", "inlobe", "exlobe")
		if n := len(a.pieces); n > 0 {
			p.cheek = p.throw != nil || a.pieces[n-1].throw != nil
		}
		a.pieces = append(a.pieces, p)
	}
	a.before, a.behind = 0, 0
	if n := len(a.pieces); n > 0 && a.pieces[0].throw != nil {
		a.before = cheekLong
	}
	if n := len(a.pieces); n > 0 && a.pieces[n-1].throw != nil {
		a.behind = cheekLong
	}
}

// lay gives the pieces their places, from x on.
func (a *along) lay(x, axis float64) {
	x0 := x
	x += a.end(-1) + a.before
	for i := range a.pieces {
		p := &a.pieces[i]
		if i > 0 {
			x += p.gap()
		}
		p.w, p.d = mainLong, mainWide
		switch {
		case p.throw != nil:
			p.w, p.d = pinLong, pinWide
		case p.lobe:
			p.w, p.d = lobeLong, lobeWide
		}
		p.x, p.y = x, axis-throwHigh*p.rise
		x += p.w
	}
	a.w = x + a.behind + a.end(+1) - x0
}

func (p *piece) gap() float64 {
	if p.cheek {
		return cheekLong
	}
	return neckLong
}

// end is how long the end of a shaft is: the propeller's or the other.
func (a *along) end(side int) float64 {
	switch {
	case a.propeller == side && a.flange:
		return flangeLong + hubLong
	case a.propeller == 0:
		return 24
	}
	return tailLong
}

// draw draws the metal between the journals: ends, cheeks, necks, the axis. The
// journals are whoever's who knows their states.
func (a *along) draw(p *brush, axis float64) {
	if len(a.pieces) == 0 {
		return
	}
	first, last := &a.pieces[0], &a.pieces[len(a.pieces)-1]
	a.drawEnd(p, first.x, axis, -1)
	for i := 1; i < len(a.pieces); i++ {
		drawJoint(p, &a.pieces[i-1], &a.pieces[i], axis)
	}
	a.drawEnd(p, last.x+last.w, axis, +1)
}

// drawJoint draws what is between two journals.
func drawJoint(p *brush, a, b *piece, axis float64) {
	x := a.x + a.w
	if !b.cheek {
		p.rect("metal", x, axis-neckWide/2, b.x-x, neckWide)
		return
	}
	drawCheek(p, x, min(a.y, b.y)-cheekReach, max(a.y, b.y)+cheekReach)
}

func drawCheek(p *brush, x, top, bottom float64) {
	const c = 6
	p.trace("cheek", new(path).to('M', x, top+c).to('l', c, -c).to('h', cheekLong-2*c).to('l', c, c).
		to('V', bottom-c).to('l', -c, c).to('h', 2*c-cheekLong).to('l', -c, -c).to('z'))
}

// drawEnd draws one end of a shaft, from the journal at x outwards.
func (a *along) drawEnd(p *brush, x, axis float64, side int) {
	out := float64(side)
	if a.before > 0 && side < 0 {
		x -= a.before
		y := a.pieces[0].y
		drawCheek(p, x, min(y, axis)-cheekReach, max(y, axis)+cheekReach)
	}
	if a.behind > 0 && side > 0 {
		y := a.pieces[len(a.pieces)-1].y
		drawCheek(p, x, min(y, axis)-cheekReach, max(y, axis)+cheekReach)
		x += a.behind
	}
	box := func(classes string, from, long, wide float64) {
		left := x + out*from
		if side < 0 {
			left -= long
		}
		p.rect(classes, left, axis-wide/2, long, wide)
	}
	switch {
	case a.propeller == side && a.flange:
		box("metal", 0, hubLong, hubWide)
		box("metal", hubLong, flangeLong, 2*mainWide)
	case a.propeller == side && a.crank:
		box("metal", 0, tailLong, hubWide)
		for i := range 3 { // splines
			y := axis + float64(i-1)*12
			p.line("thin", x+out*12, y, x+out*tailLong, y)
		}
	default:
		box("metal", 0, a.end(side), tailWide)
	}
}

// endWords names the two ends of what lies along the engine.
func (a *along) endWords() (left, right string) {
	switch a.propeller {
	case -1:
		return "propeller end", "accessory end"
	case +1:
		return "accessory end", "propeller end"
	}
	return "", ""
}

// drawPiece draws a journal, pin or lobe.
func drawPiece(p *brush, q *piece, classes string) {
	if !q.lobe {
		p.rect(classes, q.x, q.y-q.d/2, q.w, q.d)
		return
	}
	p.rect(classes, q.x, q.y-q.d/2-lobeLift, q.w, q.d+lobeLift)
}

func hatchPiece(p *brush, q *piece) { drawPiece(p, q, "hatch") }

// Crank draws the crankshaft from the side: its journals in the order of the
// book from the end where number one is, at the left, its throws as they stand
// in the position that the book's angles are for. Under each journal is its name
// and, as a small ruler, how it stands. state and href may be nil; hand is the
// site being measured, or nil.
//
// Every journal is a link with a target as high as the drawing and from cheek
// to cheek; [CrankLeast] says how wide the drawing must be for it to be 48 px.
// A book that has no shaft gives no drawing.
func Crank(b *book.Book, state func(site *book.Site) State, href func(site *book.Site) string, hand *book.Site) SVG {
	a := crankOf(b)
	if len(a.pieces) == 0 {
		return ""
	}
	a.lay(crankMargin, axisY)
	w := a.frame()
	margin := max(crankMargin, (w-a.w)/2)
	a.lay(margin, axisY)
	grow := min(1.5, max(1, w/780)) // a longer shaft is drawn smaller, and its lettering is not
	size := 19 * grow
	top := 44 - 1.3*size // over the cheeks, with room for the ends' names
	// Where no throw goes down the names come up under what there is.
	lowest := float64(axisY + mainWide/2)
	for i := range a.pieces {
		if q := &a.pieces[i]; q.cheek || i+1 < len(a.pieces) && a.pieces[i+1].cheek {
			lowest = max(lowest, q.y+cheekReach)
		}
	}
	names := 304.0 - max(0, axisY+throwHigh+cheekReach-lowest)
	bottom := names + 54
	var c canvas
	a.draw(&c.low, axisY)
	for i := range a.pieces {
		q := &a.pieces[i]
		s, to, name := askSite(q.site, state, href)
		classes := s.classes()
		word := s.String()
		if q.site == hand {
			classes, word = handClass, "being measured"
		}
		linked := c.low.link(to, name+": "+word)
		if linked {
			left, right := a.share(i)
			c.low.rect("hit", left, top, right-left, bottom-top)
		}
		drawPiece(&c.low, q, classes)
		if s.Grade() == Beyond && q.site != hand {
			hatchPiece(&c.low, q)
		}
		if linked {
			c.low.shut("a")
		}
		mid, room := q.x+q.w/2, q.w+q.gap()
		short := fitting(shortWords(q.site), size, room)
		switch {
		case q.site == hand:
			c.high.say("jn lit", atMiddle, mid, names, size, short)
		case s.Grade() == Beyond:
			c.high.reversed(mid, names, size, short)
		default:
			c.high.say("jn", atMiddle, mid, names, size, short)
		}
		if state != nil && s.Grade() != None {
			c.high.glyph(s, q.site.Feature, mid, names+38, min(1.5, 1.3*grow)*min(1, q.w/74))
		}
	}
	c.low.line("axis", 0, axisY, w, axisY)
	left, right := a.endWords()
	c.high.say("", atStart, margin, 36, size, left)
	c.high.say("", atEnd, w-margin, 36, size, right)
	return c.svg("part crank", role(href != nil), crankLabel(&a), 0, top, w, bottom-top)
}

const (
	crankMargin = 8.0
	crankFrame  = 640.0 // the least width: a short shaft is not blown up
)

// frame is how wide the drawing of a shaft is that has been laid.
func (a *along) frame() float64 { return max(crankFrame, a.w+2*crankMargin) }

func askSite(site *book.Site, state func(site *book.Site) State, href func(site *book.Site) string) (s State, to, name string) {
	if state != nil {
		s = state(site)
	}
	if href != nil {
		to = href(site)
	}
	return s, to, siteWords(site)
}

// share is how much of the shaft's length is a piece's: to the middle of what
// is beside it.
func (a *along) share(i int) (left, right float64) {
	q := &a.pieces[i]
	before, behind := cheekLong/2.0, cheekLong/2.0
	if i > 0 {
		before = q.gap() / 2
	}
	if i+1 < len(a.pieces) {
		behind = a.pieces[i+1].gap() / 2
	}
	return q.x - before, q.x + q.w + behind
}

func crankLabel(a *along) string {
	label := a.pieces[0].site.Feature.Part.Name + " from the side"
	switch a.propeller {
	case -1:
		label += ", number one and the propeller end at the left"
	case +1:
		label += ", number one and the accessory end at the left"
	default:
		label += "; the book does not say where along it each journal is"
	}
	return label
}

// CrankSites returns the journals of the crankshaft in the order of [Crank] and
// [CrankUpright]: the rows of the list beside the latter.
func CrankSites(b *book.Book) []*book.Site {
	a := crankOf(b)
	all := make([]*book.Site, len(a.pieces))
	for i := range a.pieces {
		all[i] = a.pieces[i].site
	}
	return all
}

// CrankLeast returns how many pixels wide the drawing of [Crank] must be for
// every target on it to be 48 px. On anything narrower [CrankUpright] serves.
func CrankLeast(b *book.Book) int {
	a := crankOf(b)
	if len(a.pieces) == 0 {
		return 0
	}
	a.lay(crankMargin, axisY)
	least := math.Inf(1)
	for i := range a.pieces {
		left, right := a.share(i)
		least = min(least, right-left)
	}
	return int(math.Ceil(48 * a.frame() / least))
}

// The crankshaft upright, in pixels: each journal with its cheek is one row.
const (
	UprightRow   = 64 // how high a row is
	UprightFirst = 15 // where the first begins
	uprightWide  = 104
)

// CrankUpright draws the crankshaft for a phone: end one on top, throws to the
// left and right, each journal a row of [UprightRow] pixels from [UprightFirst]
// on, so that a list beside it has the names, figures and links. It has its size
// in pixels and is hidden from readers. href may be nil: the rows of the list
// are the targets; else a row's is 64 px high and as wide as the drawing.
func CrankUpright(b *book.Book, state func(site *book.Site) State, href func(site *book.Site) string, hand *book.Site) SVG {
	a := crankOf(b)
	n := len(a.pieces)
	if n == 0 {
		return ""
	}
	const (
		k     = 0.44
		cheek = 18.0
		axis  = uprightWide / 2
	)
	var p brush
	// Drawn along x and stood up by the frame: x is down, y is to the right.
	high := float64(UprightFirst + n*UprightRow + 36)
	end := func(side int, x float64) {
		out := float64(side)
		box := func(from, long, wide float64) {
			left := x + out*from
			if side < 0 {
				left -= long
			}
			p.rect("metal", left, axis-wide/2, long, wide)
		}
		if a.propeller == side && a.flange {
			box(0, 12, hubWide*k)
			box(12, 8, 2*mainWide*k)
			return
		}
		box(0, 20, tailWide*k)
	}
	web := func(x, from, to float64) {
		top, bottom := min(from, to)-cheekReach*k, max(from, to)+cheekReach*k
		const c = 3
		p.trace("cheek", new(path).to('M', x, top+c).to('l', c, -c).to('h', cheek-2*c).to('l', c, c).
			to('V', bottom-c).to('l', -c, c).to('h', 2*c-cheek).to('l', -c, -c).to('z'))
	}
	first, last := UprightFirst+cheek/2, float64(UprightFirst+n*UprightRow)-cheek/2
	if a.before > 0 {
		first -= cheek
	}
	end(-1, first)
	for i := range a.pieces {
		q := &a.pieces[i]
		q.x, q.w = float64(UprightFirst+i*UprightRow)+cheek/2, UprightRow-cheek
		q.d = mainWide * k
		if q.throw != nil {
			q.d = pinWide * k
		} else if q.lobe {
			q.d = lobeWide * k
		}
		q.y = axis - throwHigh*k*q.rise
		s, to, name := askSite(q.site, state, href)
		classes := s.classes()
		if q.site == hand {
			classes = handClass
		}
		linked := p.link(to, name+": "+s.String())
		if linked {
			p.rect("hit", float64(UprightFirst+i*UprightRow), 0, UprightRow, uprightWide)
		}
		if i > 0 {
			before := &a.pieces[i-1]
			x := before.x + before.w
			if q.cheek {
				web(x, before.y, q.y)
			} else {
				p.rect("metal", x, axis-neckWide*k/2, cheek, neckWide*k)
			}
		}
		p.rect(classes, q.x, q.y-q.d/2, q.w, q.d)
		if s.Grade() == Beyond && q.site != hand {
			p.rect("hatch", q.x, q.y-q.d/2, q.w, q.d)
		}
		if linked {
			p.shut("a")
		}
	}
	if a.behind > 0 {
		web(last, a.pieces[n-1].y, axis)
		last += cheek
	}
	end(+1, last)
	if a.before > 0 {
		web(first, a.pieces[0].y, axis)
	}
	p.line("axis", 0, axis, high, axis)
	var c canvas
	c.low.open("g", class("part"), str("transform", "matrix(0 1 1 0 0 0)"))
	c.low.out = append(c.low.out, p.out...)
	c.low.shut("g")
	hidden, label, as := str("aria-hidden", "true"), "", ""
	if href != nil {
		hidden, label, as = attr{}, crankLabel(&a), "group"
	}
	return c.svg("upright", as, label, 0, 0, uprightWide, high, num("width", uprightWide), num("height", high), hidden)
}
