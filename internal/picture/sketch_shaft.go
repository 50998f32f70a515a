package picture

import (
	"math"
	"strconv"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// shaftView draws a spot of a crankshaft, a camshaft or another shaft.
func (s *sketch) shaftView() view {
	a, ok := shaftOf(s.b, s.p)
	host := s.host(&a)
	long := view{side: shaftSide, seen: "from the side", along: true}
	switch s.f.Class {
	case book.Outside, book.Inside:
		switch {
		case s.name.has("thrust"):
			return view{side: collarSide, end: s.ifDirections(endStations), seen: "from the side"}
		case s.f.Class == book.Inside && host >= 0 && s.name.has("width", "cheek"):
			long.end, long.up = s.ifDirections(endPinStations), "in line with the throw"
			return long
		case ok && a.find(s.site) >= 0:
			long.end = endOutside
			q := &a.pieces[a.find(s.site)]
			switch {
			case q.throw != nil:
				long.end, long.up = endPin, "in line with the throw"
			case q.lobe:
				long.end, long.noDirections = endLobe, true
			case a.oneLine():
				long.end, long.up = endMain, "in line with the throws"
			}
			return long
		case s.name.begins("lobe", "inlobe", "exlobe") || s.name.has("base") && s.name.has("circle"):
			long.end, long.noDirections = endLobe, true
			if !ok {
				long.side = barSide
			}
			return long
		case ok && s.f.Class == book.Outside && s.atEnd() != 0 && !s.name.has("dowel", "key", "bolt"):
			long.end = endOutside
			return long
		}
	case book.Dial:
		if ok {
			long.end = s.ifDirections(endDial)
			return long
		}
	case book.Clearance:
		if s.name.has("end", "thrust", "float") {
			return view{side: endClearanceSide, end: s.ifDirections(endStations), seen: "in section"}
		}
	case book.Check:
		if ok {
			return long
		}
	case book.Extent:
		if s.name.has("lift", "lobe") {
			return view{side: lobeLiftSide, seen: "end on"}
		}
		if s.name.has("journal") && s.name.has("length", "width", "long", "wide") {
			return view{side: collarSide, end: s.ifDirections(endStations), seen: "from the side"}
		}
	}
	return s.plainView()
}

// find is a site's place among the pieces; −1: it is none of them.
func (a *along) find(site *book.Site) int {
	for i := range a.pieces {
		if a.pieces[i].site == site {
			return i
		}
	}
	return -1
}

// oneLine tells whether all throws lie in one plane through the axis.
func (a *along) oneLine() bool {
	throws := false
	for i := range a.pieces {
		if a.pieces[i].throw == nil {
			continue
		}
		throws = true
		if math.Abs(math.Sin(a.pieces[i].angle*math.Pi/180)) > 0.01 {
			return false
		}
	}
	return throws
}

// host finds the journal that a feature is at which is none itself (a fillet,
// the width between cheeks): that of its place, among those that are as many and
// share the most words with it. −1: none.
func (s *sketch) host(a *along) int {
	if at := a.find(s.site); at >= 0 {
		return at
	}
	best, most := -1, 0
	for i := range a.pieces {
		f := a.pieces[i].site.Feature
		if f.Part != s.p || f.Places != s.f.Places || a.pieces[i].site.Place != s.site.Place {
			continue
		}
		words := tradeOf(f.Key, f.Name)
		n := s.name.shares(words)
		for _, w := range words { // pinradius is at a pin
			if len(w) > 2 && s.name.begins(w) {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// atEnd tells at which end of the shaft a feature is, by its words: −1 the
// propeller's, +1 the other, 0 not told.
func (s *sketch) atEnd() int {
	switch {
	case s.name.has("flange", "propeller", "prop", "seal", "front", "rim"):
		return -1
	case s.name.has("pilot", "gear", "tail", "nose", "rear", "accessory"):
		return +1
	}
	return 0
}

// middle is the journal about the middle of the shaft, where run-out is taken
// between outer supports.
func (a *along) middle() int {
	best, at := math.Inf(1), 0
	for i := range a.pieces {
		if a.pieces[i].throw != nil || a.pieces[i].lobe {
			continue
		}
		if d := math.Abs(float64(i) - float64(len(a.pieces)-1)/2); d < best {
			best, at = d, i
		}
	}
	return at
}

// journal is the feature that most of a shaft's journals are of: the first that
// is neither pin nor lobe.
func (a *along) journal() *book.Feature {
	for i := range a.pieces {
		if a.pieces[i].throw == nil && !a.pieces[i].lobe {
			return a.pieces[i].site.Feature
		}
	}
	return nil
}

// dialledAt is the journal that a dial stands on, by its words and number.
func (s *sketch) dialledAt(a *along) int {
	if s.name.has("centre", "center", "middle") {
		return a.middle()
	}
	n := s.site.Place
	if n == 0 {
		n = numberIn(s.f.Name)
	}
	if n > 0 {
		// The nth of what the name speaks of, or of the journals.
		for i := range a.pieces {
			site := a.pieces[i].site
			if site.Place == n && s.name.shares(tradeOf(site.Feature.Key, site.Feature.Name)) > 0 {
				return i
			}
		}
		for i := range a.pieces {
			if a.pieces[i].throw == nil && a.pieces[i].site.Place == n {
				return i
			}
		}
	}
	return a.middle()
}

// numberIn is the number in a name: Dial on main 4.
func numberIn(name string) int {
	n := 0
	for _, r := range name {
		switch {
		case r >= '0' && r <= '9' && n < 1000:
			n = 10*n + int(r-'0')
		case n > 0:
			return n
		}
	}
	return n
}

// shaftSide draws the shaft about the place that is measured: what is there and
// two on each side; what is cut off has its break.
func shaftSide(s *sketch) {
	a, _ := shaftOf(s.b, s.p)
	host := s.host(&a)
	where := 0 // the end that is meant, when no journal is
	if s.f.Class == book.Dial {
		host = s.dialledAt(&a)
	}
	if host < 0 || s.f.Class == book.Dial && s.f.Places == 0 {
		where = s.atEnd()
		if a.propeller > 0 {
			where = -where
		}
	}
	if a.propeller == 0 && where != 0 && s.f.Class != book.Dial {
		where = -1
	}
	n := len(a.pieces)
	focus := host
	switch {
	case where < 0:
		focus = 0
	case where > 0:
		focus = n - 1
	case focus < 0:
		focus = a.middle()
	}
	from := max(0, focus-2)
	to := min(n-1, from+4)
	from = max(0, to-4)
	w := a
	w.pieces = append([]piece(nil), a.pieces[from:to+1]...)
	if from > 0 {
		w.before = 0
	}
	if to < n-1 {
		w.behind = 0
	}
	const axis = 142.0
	w.lay(0, axis)
	s.w = max(sideWide, w.w+16)
	s.h = sideHigh * s.k()
	shift := (s.w - w.w) / 2
	drop := s.h/2 - axis + 2
	for i := range w.pieces {
		w.pieces[i].x += shift
		w.pieces[i].y += drop
	}
	y := axis + drop
	s.window(&w, y, from > 0, to < n-1)
	at := focus - from
	lit := where == 0 && host >= 0 && (a.find(s.site) >= 0 || s.name.has("base"))
	size := nameSize * s.k()
	for i := range w.pieces {
		o := &w.pieces[i]
		classes, name := "metal", "jn"
		if lit && i == at {
			classes = handClass
		}
		if i == at && where == 0 && host >= 0 {
			name = "jn lit"
		}
		s.drawLobed(o, y, classes)
		words := shortWords(o.site)
		if room := o.w + o.gap() - 4; textWidth(words, size) > room && name == "jn" {
			words = ""
			if o.site.Place > 0 {
				words = strconv.Itoa(o.site.Place)
			}
		}
		s.high.say(name, atMiddle, o.x+o.w/2, s.h-10, size, fitting(words, size, 150))
	}
	s.low.line("axis", 4, y, s.w-4, y)
	left, right := a.endWords()
	s.high.say("jn", atStart, 6, size, size, left)
	s.high.say("jn", atEnd, s.w-6, size, size, right)
	s.atShaft(&w, at, where, host, y)
}

// drawLobed draws a piece; the nose of the lobe that is measured over its base
// circle points at whoever looks.
func (s *sketch) drawLobed(o *piece, axis float64, classes string) {
	if o.lobe && s.name.has("base") {
		s.low.rect(classes, o.x, axis-o.d/2, o.w, o.d)
		return
	}
	drawPiece(&s.low, o, classes)
}

// window draws the metal of a part of a shaft.
func (s *sketch) window(w *along, y float64, cutLeft, cutRight bool) {
	p := &s.low
	first, last := &w.pieces[0], &w.pieces[len(w.pieces)-1]
	broken := func(x, out float64, joint *piece) {
		half := 26.0
		if joint.throw != nil {
			y := joint.y
			p.rect("metal", min(x, x+out*26), y-half, 26, 2*half)
			s.breakLine(x+out*26, y, half+6)
			return
		}
		p.rect("metal", min(x, x+out*26), y-neckWide/2, 26, neckWide)
		s.breakLine(x+out*26, y, neckWide/2+6)
	}
	if cutLeft {
		broken(first.x, -1, first)
	} else {
		w.drawEnd(p, first.x, y, -1)
	}
	for i := 1; i < len(w.pieces); i++ {
		drawJoint(p, &w.pieces[i-1], &w.pieces[i], y)
	}
	if cutRight {
		broken(last.x+last.w, +1, last)
	} else {
		w.drawEnd(p, last.x+last.w, y, +1)
	}
}

// breakLine is where a drawing is cut off.
func (s *sketch) breakLine(x, y, half float64) {
	s.low.trace("cheek", corners(x, y-half, x-5, y-half/2, x+5, y, x-5, y+half/2, x, y+half,
		x+6, y+half, x+1, y+half/2, x+11, y, x+1, y-half/2, x+6, y-half).to('z'))
}

// atShaft draws the gauge at its place on the shaft.
func (s *sketch) atShaft(w *along, at, where, host int, y float64) {
	q := &w.pieces[at]
	x0, x1 := q.x, q.x+q.w
	first, last := &w.pieces[0], &w.pieces[len(w.pieces)-1]
	// The end that is meant: where it begins, and outwards.
	end, out := first.x, -1.0
	if where > 0 {
		end, out = last.x+last.w, 1
	}
	atFlange := where != 0 && w.flange && w.propeller == where
	switch s.f.Class {
	case book.Dial:
		switch {
		case atFlange && s.name.has("face"):
			face := end + out*(hubLong+flangeLong)
			s.dial(face, y-40, out, 0, 20)
			if out < 0 { // the dial stands out of the frame
				s.x = min(0, face-82)
				s.w -= s.x
			} else {
				s.w = max(s.w, face+82)
			}
		case atFlange:
			s.dial(end+out*(hubLong+flangeLong/2), y-mainWide, 0, -1, 14)
		case where != 0:
			s.low.rect(handClass, min(end, end+out*tailLong), y-tailWide/2, tailLong, tailWide)
			s.dial(end+out*tailLong/2, y-tailWide/2, 0, -1, 30)
		default:
			s.low.rect(handClass, q.x, q.y-q.d/2, q.w, q.d)
			s.dial(q.x+q.w/2, q.y-q.d/2, 0, -1, 24)
		}
		// On blocks under the outermost journals, but for the one dialled.
		var held [2]*piece
		for i := range w.pieces {
			o := &w.pieces[i]
			if o.throw != nil || o.lobe || o == q && where == 0 || w.journal() != o.site.Feature {
				continue
			}
			if held[0] == nil {
				held[0] = o
			}
			held[1] = o
		}
		for i, o := range held {
			if o != nil && (i == 0 || o != held[0]) {
				s.block(o.x+o.w/2, o.y+o.d/2)
			}
		}
	case book.Check:
		if host >= 0 && where == 0 {
			if s.name.has("fillet", "radius", "radii") || s.name.begins("pinradius", "mainradius") {
				s.lens(x0+4, q.y-q.d/2+4, 26)
				s.lens(x1-4, q.y-q.d/2+4, 26)
				return
			}
			s.lens(q.x+q.w/2, q.y, 40)
			return
		}
		if where != 0 {
			s.lens(end+out*16, y, 30)
			return
		}
		s.lens(q.x+q.w/2, q.y, 60)
	default:
		switch {
		case where != 0 && host < 0:
			long, wide := hubLong, hubWide
			if !atFlange {
				long, wide = tailLong, tailWide
			}
			left := min(end, end+out*float64(long))
			s.low.rect(handClass, left, y-float64(wide)/2, float64(long), float64(wide))
			s.planesAcross(left, left+float64(long), y-float64(wide)/2, y+float64(wide)/2, y-float64(wide)/2-34, false)
		case s.f.Class == book.Inside && s.name.has("width", "cheek"):
			// Between the cheeks, at the throw's own side or the other.
			level := q.y
			if at, _ := s.bearings(); len(at) > 0 {
				rise := math.Cos(at[s.direction] * math.Pi / 180)
				if q.rise < 0 {
					rise = -rise
				}
				level = q.y - rise*(q.d/2+4)
			}
			s.caliper("plane lit", x0, level, x1, level, true)
		case q.lobe:
			top := q.y - q.d/2 - lobeLift
			if s.name.has("base") {
				top += lobeLift
			}
			s.orderAlong()
			s.planesAcross(x0, x1, top, q.y+q.d/2, top-34, false)
		default:
			s.orderAlong()
			s.planesAcross(x0+8, x1-8, q.y-q.d/2, q.y+q.d/2, q.y-q.d/2-34, false)
		}
	}
}

// collarSide is a journal between two thrust faces, or from face to face.
func collarSide(s *sketch) {
	inside := s.f.Class != book.Outside
	s.low.rect("metal", 30, middleY-34, 90, 68)
	s.low.rect("metal", 360, middleY-34, 90, 68)
	s.low.rect("cheek", 104, middleY-92, 26, 184)
	s.low.rect("cheek", 350, middleY-92, 26, 184)
	s.low.rect(handClass, 130, middleY-54, 220, 108)
	s.axisAlong(middleY)
	level := middleY - 70
	if at, _ := s.bearings(); len(at) > 0 && math.Cos(at[s.direction]*math.Pi/180) < -0.5 {
		level = middleY + 70
	}
	if inside {
		s.caliper("plane lit", 130, level, 350, level, true)
		return
	}
	s.caliper("plane lit", 130, level, 350, level, false)
}

// endClearanceSide is a shaft pushed to and fro in its bearing, with the gap at
// its collar.
func endClearanceSide(s *sketch) {
	s.low.cut(150, 30, 130, 76)
	s.low.cut(150, 186, 130, 76)
	s.low.rect("metal", 40, 106, 250, 80)
	s.low.rect(handClass, 280, 106, 10, 80)
	s.low.rect("metal", 290, 64, 30, 164)
	s.low.rect("metal", 320, 112, 110, 68)
	s.axisAlong(middleY)
	s.feeler(285, 100, 0, -1, 46)
	s.pull("dir", 60, 228, 1, 0, 62)
	s.pull("dir", 122, 246, -1, 0, 62)
}

// lobeLiftSide is a lobe end on, with how much it lifts.
func lobeLiftSide(s *sketch) {
	s.low.trace(handClass, lobePath(200, 170, 66, 34))
	s.low.circle("thin", 200, 170, 66)
	s.axisCross(200, 170)
	s.low.line("med", 200, 104, 380, 104)
	s.low.line("med", 200, 70, 380, 70)
	s.high.line("dir lit", 350, 40, 350, 134)
	s.anvil(350, 70, 0, -1, 22)
	s.anvil(350, 104, 0, 1, 22)
}

// lobePath is the outline of a cam lobe, its nose up.
func lobePath(x, y, r, lift float64) *path {
	const nose = 0.42 // of the base circle's radius
	n := r * nose
	top := y - r - lift + n
	return new(path).to('M', x-n, top).to('A', n, n, 0, 0, 1, x+n, top).
		to('Q', x+r*0.98, y-r*0.55, x+r, y).to('A', r, r, 0, 0, 1, x-r, y).to('Q', x-r*0.98, y-r*0.55, x-n, top).to('z')
}

// endLobe is a lobe end on, measured over its nose or across its base circle.
func endLobe(s *sketch) {
	const r, lift = 74.0, 40.0
	const y = endY + 18
	s.low.trace("wash", lobePath(endX, y, r, lift))
	s.axisCross(endX, y)
	if s.name.has("base") {
		s.caliper("dir lit", endX-r, y, endX+r, y, false)
		return
	}
	s.caliper("dir lit", endX, y-r-lift, endX, y+r, false)
}

// endPin is a crankpin end on, its throw up, the cheek and the main behind it
// pale.
func endPin(s *sketch) {
	const r, y, below = 74.0, 128.0, 116.0
	s.throwBehind(y, r+14, y+below, 54)
	s.low.circle("wash", endX, y, r)
	s.axisCross(endX, y)
	s.across(endX, y, r, r, false)
}

// endMain is a main journal end on, with a throw behind it pale and up.
func endMain(s *sketch) {
	const r, y, above = 72.0, 186.0, 122.0
	s.throwBehind(y, r+12, y-above, 48)
	s.low.circle("wash", endX, y, r)
	s.axisCross(endX, y)
	s.across(endX, y, r, r, false)
}

// throwBehind is a cheek from one journal to another, with what is at its other
// end.
func (s *sketch) throwBehind(y, r, other, otherR float64) {
	sweep := 1.0
	if other < y {
		sweep = 0
	}
	s.low.trace("behind", new(path).to('M', endX-r, y).to('A', r, r, 0, 0, sweep, endX+r, y).
		to('L', endX+otherR, other).to('A', otherR, otherR, 0, 0, sweep, endX-otherR, other).to('z'))
}

// endPinStations is a crankpin end on with places round it.
func endPinStations(s *sketch) {
	const r, y = 74.0, 132.0
	s.throwBehind(y, r+14, y+110, 54)
	s.low.circle("wash", endX, y, r)
	s.axisCross(endX, y)
	s.stations(endX, y, r, r)
}

// otherView draws what is read on a gauge of its own where the part has a
// picture for it.
func (s *sketch) otherView() view {
	if s.f.Unit.Kind() == quantity.AngleKind && likenessOf(s.p) == likeRod {
		return view{side: arborSide, seen: "with arbors in both bores"}
	}
	if s.f.Unit.Kind() == quantity.AngleKind && likenessOf(s.p) == likeShaft {
		return view{side: timingSide, seen: "end on"}
	}
	if s.f.Unit.Kind() == quantity.MassKind {
		switch likenessOf(s.p) {
		case likeRod:
			return view{side: weighRod, seen: "on the balance"}
		case likePiston:
			return view{side: weighPiston, seen: "on the balance"}
		}
	}
	if s.f.Unit.Kind() == quantity.TimeKind && likenessOf(s.p) == likeLifter {
		return view{side: leakDownSide, seen: "leaking down against the clock"}
	}
	return s.gaugeView()
}

// timingSide is a degree disc with its pointer.
func timingSide(s *sketch) {
	const x, y, r = middleX, 156.0, 104.0
	s.low.circle(handClass, x, y, r)
	s.low.circle("metal", x, y, 26)
	for i := range 24 {
		in := r - 10
		if i%6 == 0 {
			in = r - 20
		}
		x1, y1 := point(x, y, float64(i)*15, in)
		x2, y2 := point(x, y, float64(i)*15, r-2)
		s.high.line("dir", x1, y1, x2, y2)
	}
	s.anvil(x, y-r, 0, -1, 34)
	ax, ay := point(x, y, -38, 66)
	bx, by := point(x, y, 0, 66)
	s.high.trace("dir lit", new(path).to('M', ax, ay).to('A', 66, 66, 0, 0, 1, bx, by))
}
