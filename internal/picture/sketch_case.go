package picture

import (
	"math"

	"tenths/internal/book"
)

// caseView draws a spot of a crankcase.
func (s *sketch) caseView() view {
	bearing := s.name.has("main", "bearing", "bore", "cam", "camshaft", "insert", "shell")
	switch s.f.Class {
	case book.Inside:
		switch {
		case s.axial():
			return view{side: slotSide, end: s.ifDirections(endStations), seen: "in section"}
		case s.name.has("lifter", "tappet", "guide", "follower"):
			return view{side: guideBoreSide, end: endInside, seen: "in section"}
		case bearing:
			return view{side: webSide, end: endCase, seen: "in section along the case", along: true, counted: true, up: s.partingWords()}
		}
	case book.Outside:
		if s.name.has("thrust") {
			return view{side: webThrust, end: s.ifDirections(endStations), seen: "in section along the case", along: true, counted: true}
		}
	case book.Extent:
		switch {
		case s.name.has("wall", "shell", "insert"):
			return view{side: shellSide, seen: "edge on"}
		case s.name.has("washer"):
			return view{side: washerSide, seen: "on its own"}
		case s.name.has("deck") && s.name.has("width", "distance"):
			return view{side: deckWidth, seen: "end on"}
		}
	case book.Clearance:
		if s.name.has("end", "thrust") {
			return view{side: endClearanceSide, end: s.ifDirections(endStations), seen: "in section"}
		}
	case book.Check:
		if s.name.has("deck") {
			return view{side: deckLook, seen: "from the cylinder's side"}
		}
		if s.name.has("stud", "thread", "dowel") {
			return view{side: halfLook, seen: "on its parting face"}
		}
		return view{side: webLook, seen: "in section along the case", along: true, counted: true}
	}
	return s.plainView()
}

// halved tells whether the case parts upright through its bearings: that of an
// opposed engine does; of others the book does not say it.
func (s *sketch) halved() bool {
	return s.b.Layout != nil && s.b.Layout.Arrangement == book.Opposed
}

func (s *sketch) partingWords() string {
	if s.halved() {
		return "along the parting line of the two halves"
	}
	return ""
}

// webs is how many bearings the case has side by side where this one is.
func (s *sketch) webs() (n, at int) {
	if s.f.Places == 0 {
		return 3, 2 // a case has several, and this is none of them in particular
	}
	return s.f.Places, s.site.Place
}

// webSide is the case in section along its shaft: its webs, the bore through
// each, the one that is measured large.
func webSide(s *sketch) {
	x0, x1, r := s.caseWebs(true)
	if s.ownNumbers() {
		s.orderCounted()
	} else {
		s.orderAlong()
	}
	s.crowded = s.f.Places > 1 // the bearings' numbers stand there
	names := middleY - r - 56
	if s.lined() {
		names -= 9
	}
	s.planesAcross(x0, x1, middleY-r, middleY+r, names, true)
}

// caseWebs draws up to five webs, the site's the widest. It returns where the
// bore of that one is.
func (s *sketch) caseWebs(lit bool) (x0, x1, r float64) {
	n, at := s.webs()
	from := max(1, at-1)
	to := min(n, from+2)
	from = max(1, to-2)
	const wide, slim, gap = 156.0, 40.0, 52.0
	total := wide + float64(to-from)*(slim+gap)
	x := middleX - total/2
	r = 50
	if s.name.has("cam", "camshaft") {
		r = 38
	}
	lining := 0.0
	if s.lined() {
		lining = 9
	}
	// The skin of the case, over and under the webs.
	left, right := x-30, x+total+30
	s.low.rect("metal", left, middleY-r-lining-48, right-left, 12)
	s.low.rect("metal", left, middleY+r+lining+36, right-left, 12)
	for i := from; i <= to; i++ {
		w := slim
		if i == at {
			w = wide
		}
		high := 36.0
		s.low.cut(x, middleY-r-lining-high, w, high)
		s.low.cut(x, middleY+r+lining, w, high)
		if lining > 0 {
			s.low.rect("metal is-done", x+3, middleY-r-lining, w-6, lining)
			s.low.rect("metal is-done", x+3, middleY+r, w-6, lining)
		}
		classes := "behind"
		name := "jn"
		if i == at {
			x0, x1 = x, x+w
			if lit {
				classes = handClass
			}
			name = "jn lit"
		}
		s.low.rect(classes, x, middleY-r, w, 2*r)
		if s.f.Places > 1 {
			s.high.say(name, atMiddle, x+w/2, sideHigh-12, nameSize, numbered("", i)[1:])
		}
		x += w + gap
	}
	s.axisAlong(middleY)
	a, b := s.endNames()
	s.high.say("jn", atStart, 6, 20, nameSize, fitting(a, nameSize, 220))
	s.high.say("jn", atEnd, sideWide-6, 20, nameSize, b)
	return x0, x1, r
}

// lined tells whether a bore is measured with its inserts in.
func (s *sketch) lined() bool {
	for _, f := range s.f.Made {
		if f.Class == book.Extent {
			return true
		}
	}
	return len(s.f.Made) > 0 && s.name.has("insert", "shell", "bushing", "fitted", "with")
}

// endCase is a bearing's bore end on, in its two halves where the case parts
// upright.
func endCase(s *sketch) {
	const r = 70.0
	s.low.rect("metal", 22, 16, 276, 288)
	if s.halved() {
		s.low.line("ink", endX, 16, endX, 304)
		for _, y := range [...]float64{32, 288} {
			s.low.line("med", 112, y, 208, y)
		}
	}
	if s.lined() {
		s.low.circle("metal is-done", endX, endY, r+9)
	}
	s.low.circle("wash", endX, endY, r)
	s.axisCross(endX, endY)
	s.across(endX, endY, r, r+10, true)
}

// webThrust is the width of the case over its thrust faces.
func webThrust(s *sketch) {
	s.low.cut(170, middleY-110, 140, 56)
	s.low.cut(170, middleY+54, 140, 56)
	s.low.rect(handClass, 156, middleY-86, 14, 40)
	s.low.rect(handClass, 310, middleY-86, 14, 40)
	s.low.rect(handClass, 156, middleY+46, 14, 40)
	s.low.rect(handClass, 310, middleY+46, 14, 40)
	s.low.rect("behind", 170, middleY-54, 140, 108)
	s.axisAlong(middleY)
	level := middleY - 66
	if at, _ := s.bearings(); len(at) > 0 && math.Cos(at[s.direction]*math.Pi/180) < 0 {
		level = middleY + 66
	}
	s.caliper("plane lit", 156, level, 324, level, false)
}

// guideBoreSide is a small bore in a boss, as a lifter's.
func guideBoreSide(s *sketch) {
	s.order([]string{"inner", "inside", "bottom", "lower"}, []string{"outer", "outside", "top", "upper"})
	s.boreSection(100, 380, 40, 40, 0)
}

// shellSide is a bearing shell edge on, with its wall measured at its crown, or
// where a direction says; a left half is drawn as it lies at the left.
func shellSide(s *sketch) {
	const r, wall = 128.0, 20.0
	x, y, crown, words := middleX, 220.0, 0.0, ""
	switch {
	case s.name.has("left"):
		x, y, crown, words = middleX+64, middleY, 270, "left half"
	case s.name.has("right"):
		x, y, crown, words = middleX-64, middleY, 90, "right half"
	}
	x1, y1 := point(x, y, crown-90, r)
	x2, y2 := point(x, y, crown+90, r)
	x3, y3 := point(x, y, crown+90, r-wall)
	x4, y4 := point(x, y, crown-90, r-wall)
	s.low.trace(handClass, new(path).to('M', x1, y1).to('A', r, r, 0, 0, 1, x2, y2).to('L', x3, y3).
		to('A', r-wall, r-wall, 0, 0, 0, x4, y4).to('z'))
	ax, ay := point(x, y, crown-90, r+18)
	bx, by := point(x, y, crown+90, r+18)
	s.low.line("axis", ax, ay, bx, by)
	a := crown
	if at, _ := s.bearings(); len(at) > 0 {
		a += min(80, max(-80, at[s.direction]))
	}
	ix, iy := point(x, y, a, r-wall)
	ox, oy := point(x, y, a, r)
	s.caliper("dir lit", ix, iy, ox, oy, false)
	wx, wy := point(x, y, crown, 24)
	s.high.say("", atMiddle, wx, wy+6, nameSize, words)
	s.planeName(middleX, 18)
}

// washerSide is half a thrust washer, flat and edge on.
func washerSide(s *sketch) {
	const x, y, r = 160.0, 206.0, 120.0
	s.low.trace("metal", new(path).to('M', x-r, y).to('A', r, r, 0, 0, 1, x+r, y).to('L', x+64, y).to('A', 64, 64, 0, 0, 0, x-64, y).to('z'))
	s.low.rect(handClass, 366, 86, 22, 120)
	s.caliper("dir lit", 366, 146, 388, 146, false)
}

// deckWidth is the width of the case from deck to deck.
func deckWidth(s *sketch) {
	s.caseEnd()
	s.caliper("plane lit", 110, middleY-50, 370, middleY-50, false)
}

// caseEnd is the case end on, a deck on each side.
func (s *sketch) caseEnd() {
	s.low.trace(handClass, corners(150, 40, 330, 40, 346, 70, 370, 70, 370, 222, 346, 222, 330, 256, 150, 256, 134, 222, 110, 222, 110, 70, 134, 70).to('z'))
	s.low.circle("metal", middleX, middleY, 44)
	if s.halved() {
		s.low.line("ink", middleX, 40, middleX, middleY-44)
		s.low.line("ink", middleX, middleY+44, middleX, 256)
	}
	s.axisCross(middleX, middleY)
}

// deckLook is a cylinder's deck with its studs.
func deckLook(s *sketch) {
	s.low.rect("metal", 110, 24, 260, 244)
	s.low.circle("metal", middleX, middleY, 78)
	for i := range 8 {
		x, y := point(middleX, middleY, float64(i)*45+22.5, 104)
		s.low.circle(handClass, x, y, 8)
	}
	s.lens(middleX-96, middleY-36, 44)
}

// halfLook is a half of the case on its parting face, with its holes.
func halfLook(s *sketch) {
	s.low.rect("metal", 50, 60, 380, 170)
	for i := range 3 {
		x := 130 + float64(i)*110
		s.low.trace("metal", new(path).to('M', x-30, 60).to('A', 30, 30, 0, 0, 0, x+30, 60).to('z'))
		s.low.circle(handClass, x-42, 200, 8)
		s.low.circle(handClass, x+42, 200, 8)
	}
	s.lens(88, 196, 40)
}

// webLook is a place in the case to look at.
func webLook(s *sketch) {
	x0, x1, _ := s.caseWebs(s.f.Places > 0)
	s.lens((x0+x1)/2, middleY, 40)
}
