package picture

import (
	"math"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// The frame of a sketch from the side, and of one end on, in units. Lettering
// is 20 units and more, so that it is read where the side is 328 px wide.
const (
	sideWide, sideHigh = 480.0, 290.0
	endWide            = 320.0
	middleX            = sideWide / 2
	middleY            = 146.0
	endX, endY         = endWide / 2, endWide / 2
	planeSize          = 22.0
	nameSize           = 20.0
)

// SketchSide draws the part that a spot is on from the side or in section, the
// surface to be measured washed, its plane lit and the gauge across it; the other
// planes are dashed, or solid where all their readings are taken. What is no size
// across (a gap, a dial, a look, a load) has its own picture. The drawing is
// chosen by the part's shape, the feature's kind and the trade's words in their
// names; where they say nothing it is a plain section.
//
// readings returns the text of a spot's reading, or nothing; it may be nil.
func SketchSide(b *book.Book, spot book.SpotID, readings func(book.SpotID) string) SVG {
	s := newSketch(b, spot, readings)
	if s == nil {
		return ""
	}
	v := s.choose()
	v.side(s)
	if s.w == 0 {
		s.w, s.h = sideWide, sideHigh
	}
	if s.plane >= 0 && !s.lettered { // there is no line that it could stand at
		s.high.say("pl lit", atEnd, s.x+s.w-6, planeSize+2, planeSize, s.f.Planes[s.plane])
	}
	label := s.named()
	if v.seen != "" {
		label += " " + v.seen
	}
	if s.spot.Plane != "" {
		label += ", plane " + s.spot.Plane + " lit"
	}
	return s.svg("part side", "img", raised(label)+"; "+s.action()+".", s.x, 0, s.w, s.h)
}

// SketchEnd draws the same end on: its directions, with the one to be measured
// lit. It returns nothing where there is nothing to be seen from the end.
func SketchEnd(b *book.Book, spot book.SpotID, readings func(book.SpotID) string) SVG {
	s := newSketch(b, spot, readings)
	if s == nil {
		return ""
	}
	v := s.choose()
	if v.end == nil {
		return ""
	}
	v.end(s)
	label := s.named() + " end on"
	if s.spot.Direction != "" {
		label += ", direction " + s.spot.Direction + " lit"
	}
	label += "; " + s.action()
	if s.spot.Plane != "" {
		label += ", in plane " + s.spot.Plane
	}
	return s.svg("part end", "img", raised(label)+".", 0, 0, endWide, endWide)
}

// SketchNote says how the two sketches of a spot are drawn, as sentences: which
// end is at the left, and how directions lie. What a direction counts from, only
// the manual says.
func SketchNote(b *book.Book, spot book.SpotID) string {
	s := newSketch(b, spot, nil)
	if s == nil {
		return ""
	}
	v := s.choose()
	var notes []string
	if l := b.Layout; v.along && v.counted && s.ownNumbers() {
		notes = append(notes, "Number 1 is at the left: "+strings.TrimPrefix(s.p.Numbering.First, "at ")+".")
	} else if l != nil && v.along {
		notes = append(notes, "The "+l.First.String()+" end is at the left.")
	}
	if v.end == nil {
		return strings.Join(notes, " ")
	}
	at, how := s.bearings()
	if len(at) == 0 {
		return strings.Join(notes, " ")
	}
	switch how {
	case byDegrees:
		from := "Direction 0 is drawn upright"
		if v.up != "" {
			from += ", " + v.up
		}
		if l := b.Layout; l != nil && v.along && s.slanted(at) {
			from += ", and degrees run clockwise as seen from the " + l.Viewpoint.String() + " end"
		}
		notes = append(notes, from+": the manual says where it counts from.")
	case evenly:
		notes = append(notes, "The book does not say how its directions lie: they are drawn even all round.")
	}
	return strings.Join(notes, " ")
}

// slanted tells whether a direction is drawn otherwise when it is seen from the
// other end.
func (s *sketch) slanted(at []float64) bool {
	for _, d := range at {
		if d != 0 && d != 180 && (s.around() || d != 90) {
			return true
		}
	}
	return false
}

// A sketch is one being drawn.
type sketch struct {
	canvas
	b        *book.Book
	id       book.SpotID
	spot     book.Spot
	site     *book.Site
	f        *book.Feature
	p        *book.Part
	name     trade // the feature's words
	part     trade // the part's
	readings func(book.SpotID) string

	plane, direction int     // −1: none
	flip             bool    // planes are listed from the end that is drawn last
	crowded          bool    // there is no room for what was read
	lettered         bool    // the plane has its name
	x, w, h          float64 // the frame from the side; w 0: as usual
}

func newSketch(b *book.Book, id book.SpotID, readings func(book.SpotID) string) *sketch {
	if id < 0 || int(id) >= len(b.Spots) {
		return nil
	}
	site := b.SiteAt(id)
	s := &sketch{
		b: b, id: id, spot: b.Spots[id], site: site, f: site.Feature, p: site.Feature.Part,
		readings: readings, plane: -1, direction: -1,
	}
	s.name, s.part = tradeOf(s.f.Key, s.f.Name), tradeOf(s.p.Key, s.p.Name)
	i := int(id - site.Spots[0])
	if len(s.f.Planes) > 0 {
		s.plane = i / site.Across()
	}
	if len(s.f.Directions) > 0 {
		s.direction = i % site.Across()
	}
	return s
}

// A view is how a spot is drawn.
type view struct {
	side, end func(*sketch)
	seen      string // how the side is seen
	up        string // what is upright in the end view
	along     bool   // it lies along the engine, number one to the left
	counted   bool   // and is one of several that are counted along it

	noDirections bool // the end view has its own way to be measured
}

// named names what is measured, with its part where its own name does not.
func (s *sketch) named() string {
	name := siteWords(s.site)
	if s.site.Position != 0 || s.f.Class == book.Outside || s.f.Class == book.Inside || s.name.shares(s.part) > 0 {
		return name
	}
	return s.p.Name + ", " + lowered(name)
}

// action says what to do, in the middle of a sentence.
func (s *sketch) action() string {
	at := ""
	if d := s.spot.Direction; d != "" {
		at = " at direction " + d
	}
	switch s.f.Class {
	case book.Outside, book.Inside:
		switch {
		case s.spot.Direction == "":
			return "measure across it"
		case s.around():
			return "measure" + at
		}
		return "measure across direction " + s.spot.Direction
	case book.Extent:
		return "measure it" + at
	case book.Clearance:
		return "measure the clearance" + at
	case book.Dial:
		return "read the dial" + at
	case book.Check:
		return "look" + at + ", and answer yes or no"
	}
	switch s.f.Unit.Kind() {
	case quantity.MassKind:
		return "weigh it"
	case quantity.ForceKind:
		return "read the load" + at
	case quantity.TorqueKind:
		return "read the torque" + at
	case quantity.PressureKind:
		return "read the pressure" + at
	case quantity.TimeKind:
		return "take the time"
	case quantity.FlowKind:
		return "read the flow"
	case quantity.AngleKind:
		return "read the angle" + at
	case quantity.CountKind:
		return "count them"
	}
	return "judge the share" + at
}

// How directions lie.
type bearing uint8

const (
	byDegrees bearing = iota + 1 // their names are degrees
	byWords                      // their names are words that say so
	evenly                       // nothing says
)

// around tells whether directions are places round the part rather than
// diameters across it: so for gaps, dials and lengths, and for what names both
// ends of one diameter.
func (s *sketch) around() bool {
	if s.f.Class != book.Outside && s.f.Class != book.Inside || s.axial() {
		return true
	}
	at, ok := degreesIn(s.f.Directions)
	if !ok {
		return false
	}
	for i, a := range at {
		for _, b := range at[:i] {
			if a-b == 180 || b-a == 180 {
				return true
			}
		}
	}
	return false
}

// axial tells whether an outside or inside size lies along the part and not
// across it: a width, a depth.
func (s *sketch) axial() bool {
	return s.name.has("width", "thrust", "depth", "thickness", "wide", "deep", "thick", "length")
}

// degreesIn reads names that are degrees; 1, 2, 3 are numbers of directions.
func degreesIn(names []string) (at []float64, ok bool) {
	counted := true
	for i, name := range names {
		n, err := strconv.Atoi(name)
		if err != nil || n < 0 || n > 360 {
			return nil, false
		}
		counted = counted && n == i+1
		at = append(at, float64(n))
	}
	return at, len(at) > 0 && !counted
}

// bearings says how the directions lie, in degrees clockwise from straight up.
func (s *sketch) bearings() (at []float64, how bearing) {
	names := s.f.Directions
	if len(names) == 0 {
		return nil, 0
	}
	if at, ok := degreesIn(names); ok {
		return at, byDegrees
	}
	how = byWords
	for _, name := range names {
		switch {
		case tradeOf(name).has("axis", "axial", "pin", "crank", "shaft", "along", "long", "vertical", "up", "top", "upright", "beam", "throw"):
			at = append(at, 0)
		case tradeOf(name).has("thrust", "across", "cross", "transverse", "horizontal", "square", "right"):
			at = append(at, 90)
		case s.around() && tradeOf(name).has("down", "bottom"):
			at = append(at, 180)
		case s.around() && tradeOf(name).has("left"):
			at = append(at, 270)
		default:
			how = evenly
		}
	}
	for i, a := range at {
		for _, b := range at[:i] {
			if a == b {
				how = evenly // two names for one direction: they mean something else
			}
		}
	}
	if how == byWords {
		return at, how
	}
	turn := 180.0
	if s.around() {
		turn = 360
	}
	at = at[:0]
	for i := range names {
		at = append(at, turn*float64(i)/float64(len(names)))
	}
	return at, evenly
}

// Words for the ends that planes are named by.
var (
	foreWords = []string{"front", "fore", "forward", "prop", "propeller"}
	aftWords  = []string{"rear", "aft", "back", "behind", "acc", "accessory"}
	footWords = []string{"foot", "flange", "bottom", "base", "skirt", "lower", "low"}
	headWords = []string{"head", "top", "upper", "crown", "choke", "dome", "high"}
)

// order says which words name planes at the end that is drawn first, and which
// those at the other; planes that the book lists from the other end are drawn so.
func (s *sketch) order(first, other []string) {
	planes := s.f.Planes
	if len(planes) < 2 {
		return
	}
	one, last := tradeOf(planes[0]), tradeOf(planes[len(planes)-1])
	s.flip = (one.has(other...) || last.has(first...)) && !one.has(first...) && !last.has(other...)
}

// orderAlong is order for what lies along the engine, number one at the left.
func (s *sketch) orderAlong() {
	l := s.b.Layout
	if l == nil {
		s.orderCounted()
		return
	}
	if l.First == book.AccessoryEnd {
		s.order(aftWords, foreWords)
		return
	}
	s.order(foreWords, aftWords)
}

// orderCounted is order for what is counted from the end that the part's own
// words name. Where they name neither end of the engine, planes stay as they
// are listed.
func (s *sketch) orderCounted() {
	switch first := tradeOf(s.p.Numbering.First); {
	case first.has(aftWords...):
		s.order(aftWords, foreWords)
	case first.has(foreWords...), len(first) == 0:
		s.order(foreWords, aftWords)
	}
}

// ownNumbers tells whether the places of the part are counted from another end
// than the engine's; which of the two that is, its words alone say.
func (s *sketch) ownNumbers() bool {
	return s.p.Numbering.First != s.b.Numbering.First
}

// endNames names the ends of what lies along the engine with its number one at
// the left.
func (s *sketch) endNames() (left, right string) {
	l := s.b.Layout
	switch {
	case s.ownNumbers() || l == nil && s.p.Numbering.First != "":
		return "1: " + s.p.Numbering.First, ""
	case l == nil:
		return "", ""
	case l.First == book.AccessoryEnd:
		return "accessory end", "propeller end"
	}
	return "propeller end", "accessory end"
}

// share is where a plane is between the ends of what is measured, from 0 to 1.
func (s *sketch) share(i int) float64 {
	n := len(s.f.Planes)
	at := (float64(i) + 0.5) / float64(n)
	if len(s.f.Along) == n && n > 1 {
		from, to := s.f.Along[0].TenthsOfNanometre(), s.f.Along[n-1].TenthsOfNanometre()
		margin := 0.24 - 0.02*float64(min(n, 7)) // more planes need more of the part
		at = margin + (1-2*margin)*float64(s.f.Along[i].TenthsOfNanometre()-from)/float64(to-from)
	}
	if s.flip {
		return 1 - at
	}
	return at
}

// reading is what was read at a plane and direction.
func (s *sketch) reading(plane, direction int) string {
	if s.readings == nil {
		return ""
	}
	i := max(0, plane)*s.site.Across() + max(0, direction)
	if i >= len(s.site.Spots) {
		return ""
	}
	return s.readings(s.site.Spots[i])
}

// done tells whether all directions of a plane have been read.
func (s *sketch) done(plane int) bool {
	for d := range s.site.Across() {
		if s.reading(plane, d) == "" {
			return false
		}
	}
	return true
}

// k is what lettering grows by where the frame is wider than usual.
func (s *sketch) k() float64 {
	if s.w == 0 {
		return 1
	}
	return s.w / sideWide
}

// planesAcross draws the planes of what lies from x0 to x1, its surfaces at top
// and bottom, with their names over it.
func (s *sketch) planesAcross(x0, x1, top, bottom, names float64, inside bool) {
	n := len(s.f.Planes)
	if n == 0 {
		s.caliper("plane lit", (x0+x1)/2, top, (x0+x1)/2, bottom, inside)
		return
	}
	size := planeSize * s.k()
	widest := 0.0
	for _, name := range s.f.Planes {
		widest = max(widest, textWidth(name, size))
	}
	step := (x1 - x0) / float64(n)
	lit := x0 + (x1-x0)*s.share(s.plane)
	// Two names that do not stand over their planes stand apart.
	anchor := func(float64) (string, float64) { return atMiddle, 0 }
	if n == 2 && widest+10 > step {
		anchor = func(x float64) (string, float64) {
			if x < (x0+x1)/2 {
				return atEnd, 0.45 * size
			}
			return atStart, -0.45 * size
		}
	}
	for i, name := range s.f.Planes {
		x := x0 + (x1-x0)*s.share(i)
		if i == s.plane {
			continue
		}
		classes := "plane"
		if s.done(i) {
			classes = "dir"
		}
		out := 14.0
		if inside {
			out = (top - names) - 4
		}
		s.high.line(classes, x, top-out, x, bottom+14)
		if n == 2 || widest+10 <= step || far(x, lit, widest+10) && (i == 0 || i == n-1) {
			at, by := anchor(x)
			s.high.say("pl", at, x+by, names, size, name)
		}
		if text := s.reading(i, s.direction); text != "" && step > textWidth(text, 20)+8 && !s.crowded {
			under := bottom + 36
			if inside {
				under = bottom + (top - names) + 14 // under the wall
			}
			s.high.say("fg", atMiddle, x, under, 20, text)
		}
	}
	s.caliper("plane lit", lit, top, lit, bottom, inside)
	at, by := anchor(lit)
	s.lettered = true
	s.high.say("pl lit", at, lit+by, names, size, s.f.Planes[s.plane])
}

func far(a, b, least float64) bool { return a-b >= least || b-a >= least }

// planesUp draws the planes of what stands from y0 (below) to y1 (above), its
// surfaces at left and right, with their names beside it, and where the book
// says it how far along they are.
func (s *sketch) planesUp(y0, y1, left, right, names float64, inside bool) {
	n := len(s.f.Planes)
	if n == 0 {
		s.caliper("plane lit", left, (y0+y1)/2, right, (y0+y1)/2, inside)
		return
	}
	step := (y0 - y1) / float64(n)
	litAt := y0 + (y1-y0)*s.share(s.plane)
	decimals := 0
	for _, l := range s.f.Along {
		decimals = max(decimals, l.Figure().Decimals(s.b.Unit, 4))
	}
	last := math.Inf(1) // where the name before stands
	for k := range n {
		i := k
		if s.flip {
			i = n - 1 - k // from below up
		}
		name := s.f.Planes[i]
		if len(s.f.Along) == n {
			name += " " + s.length(s.f.Along[i], decimals)
		}
		y := y0 + (y1-y0)*s.share(i)
		at := min(y, last-24) // two that are close stand apart
		if i == s.plane {
			s.caliper("plane lit", left, y, right, y, inside)
			s.high.say("pl lit", atStart, names, at+7, planeSize, name)
			s.lettered = true
			last = at
			continue
		}
		classes := "plane"
		if s.done(i) {
			classes = "dir"
		}
		s.high.line(classes, left-8, y, names-6, y)
		if step >= 24 || far(y, litAt, 24) && (i == 0 || i == n-1) {
			s.high.say("pl", atStart, names, at+7, planeSize, name)
			last = at
		}
	}
}

// length is where a plane is, in the book's unit.
func (s *sketch) length(l quantity.Length, decimals int) string {
	text, _ := l.Text(s.b.Unit, decimals)
	if s.b.Comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text
}

// anvil is one jaw of a gauge: its point at x, y, its back towards ux, uy.
func (s *sketch) anvil(x, y, ux, uy, long float64) {
	half := long * 0.42
	s.high.poly("anvil", x, y, x+ux*long-uy*half, y+uy*long+ux*half, x+ux*long+uy*half, y+uy*long-ux*half)
}

// caliper is a size being measured from point to point: the line lit, and a jaw
// at each end, outside for what is solid, inside for what is hollow.
func (s *sketch) caliper(classes string, x1, y1, x2, y2 float64, inside bool) {
	s.high.line(classes, x1, y1, x2, y2)
	ux, uy, long := unit(x1, y1, x2, y2)
	jaw := 24.0
	if inside {
		jaw = min(24, long*0.3)
		s.anvil(x1, y1, ux, uy, jaw)
		s.anvil(x2, y2, -ux, -uy, jaw)
		return
	}
	s.anvil(x1, y1, -ux, -uy, jaw)
	s.anvil(x2, y2, ux, uy, jaw)
}

// feeler is a feeler's blade with its tip at x, y in a gap, its handle towards
// ux, uy.
func (s *sketch) feeler(x, y, ux, uy, long float64) {
	const blade, handle, half = 2.5, 40, 9
	ex, ey := x+ux*long, y+uy*long
	s.high.poly("anvil", x-uy*blade, y+ux*blade, ex-uy*blade, ey+ux*blade, ex+uy*blade, ey-ux*blade, x+uy*blade, y-ux*blade)
	s.high.poly("anvil", ex-uy*half, ey+ux*half, ex+ux*handle-uy*half, ey+uy*handle+ux*half,
		ex+ux*handle+uy*half, ey+uy*handle-ux*half, ex+uy*half, ey-ux*half)
}

// dial is an indicator with its point at x, y, its face towards ux, uy.
func (s *sketch) dial(x, y, ux, uy, stem float64) {
	const r = 27.0
	cx, cy := x+ux*(stem+r), y+uy*(stem+r)
	s.high.line("dir lit", x, y, x+ux*stem, y+uy*stem)
	s.high.circle(handClass, cx, cy, r)
	for i := range 8 {
		x1, y1 := point(cx, cy, float64(i)*45, r-6)
		x2, y2 := point(cx, cy, float64(i)*45, r-2)
		s.high.line("dir", x1, y1, x2, y2)
	}
	hx, hy := point(cx, cy, 40, r-8)
	s.high.line("dir lit", cx, cy, hx, hy)
}

// lens is where to look.
func (s *sketch) lens(x, y, r float64) {
	s.high.circle("dir lit", x, y, r)
	x1, y1 := point(x, y, 135, r)
	x2, y2 := point(x, y, 135, r+38)
	s.high.line("dir lit", x1, y1, x2, y2)
}

// pull is an arrow.
func (s *sketch) pull(classes string, x, y, ux, uy, long float64) {
	ex, ey := x+ux*long, y+uy*long
	s.high.line(classes, x, y, ex-ux*10, ey-uy*10)
	s.anvil(ex, ey, -ux, -uy, 20)
}

// cut is metal that is cut through: thin lines across it.
func (p *brush) cut(x, y, w, h float64) {
	p.rect("metal", x, y, w, h)
	const gap = 12.0
	d := new(path)
	for c := x + gap; c < x+w+h; c += gap { // each line falls to the left
		x1, y1 := c, y
		if x1 > x+w {
			x1, y1 = x+w, y+c-(x+w)
		}
		x2, y2 := c-h, y+h
		if x2 < x {
			x2, y2 = x, y+c-x
		}
		if y1 < y2 {
			d.to('M', x1, y1).to('L', x2, y2)
		}
	}
	p.trace("thin", d)
}

// across draws the directions of what is round about x, y: diameters, names
// beyond reach.
func (s *sketch) across(x, y, r, reach float64, inside bool) {
	at, _ := s.bearings()
	if len(at) == 0 {
		s.caliper("dir lit", x-r, y, x+r, y, inside)
		return
	}
	size := 24.0
	for i, a := range at {
		if i == s.direction {
			continue
		}
		out := r
		if !inside {
			out = r + 14
		}
		x1, y1 := point(x, y, a+180, out)
		x2, y2 := point(x, y, a, out)
		s.high.line("dir", x1, y1, x2, y2)
	}
	for i, a := range at {
		if i == s.direction {
			x1, y1 := point(x, y, a+180, r)
			x2, y2 := point(x, y, a, r)
			s.caliper("dir lit", x1, y1, x2, y2, inside)
		}
		s.directionName(x, y, a, reach, size, i, inside)
	}
}

// directionName letters a direction's name, and what was read along it.
func (s *sketch) directionName(x, y, a, reach, size float64, i int, inside bool) {
	lit := i == s.direction
	classes, out := "dn", reach+24
	if lit {
		classes = "dn lit"
		if !inside {
			out = reach + 44 // behind the jaw
		}
	}
	name := s.f.Directions[i]
	half := textWidth(name, size) / 2
	nx, ny := point(x, y, a, out)
	// Letters are wider than high: push them outwards by what they stick in.
	sx := 0.0
	if d := nx - x; d > 4 {
		sx = 1
	} else if d < -4 {
		sx = -1
	}
	nx += sx * max(0, half-size*0.45)
	s.high.say(classes, atMiddle, nx, ny+size*0.36, size, name)
	if text := s.reading(s.plane, i); text != "" && !lit {
		by := 22.0
		if ny < y-4 {
			by = -25 // away from the middle
		}
		s.high.say("fg", atMiddle, min(max(nx, 40), endWide-40), ny+size*0.36+by, 20, text)
	}
}

// stations draws directions as places round what is about x, y.
func (s *sketch) stations(x, y, r, reach float64) {
	at, _ := s.bearings()
	for i, a := range at {
		px, py := point(x, y, a, r)
		if i == s.direction {
			ux, uy := point(0, 0, a, 1)
			if s.f.Class == book.Dial {
				s.dial(px, py, ux, uy, 24)
				ix, iy := point(x, y, a, r*0.6)
				s.high.say("dn lit", atMiddle, ix, iy+8, 24, s.f.Directions[i])
				continue
			}
			s.anvil(px, py, ux, uy, 26)
			s.directionName(x, y, a, reach+8, 24, i, false)
			continue
		}
		s.high.circle("hollow", px, py, 5)
		if len(at) <= 12 {
			s.directionName(x, y, a, reach, 24, i, true)
		}
	}
}

// axisCross marks a middle.
func (s *sketch) axisCross(x, y float64) {
	s.low.trace("axis", new(path).to('M', x-14, y).to('h', 28).to('M', x, y-14).to('v', 28))
}

// axisAlong is the line through the middle of what is round.
func (s *sketch) axisAlong(y float64) { s.low.line("axis", 8, y, sideWide-8, y) }

func unit(x1, y1, x2, y2 float64) (ux, uy, long float64) {
	dx, dy := x2-x1, y2-y1
	long = math.Hypot(dx, dy)
	if long == 0 {
		return 0, 1, 0
	}
	return dx / long, dy / long, long
}
