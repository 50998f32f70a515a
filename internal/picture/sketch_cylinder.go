package picture

import (
	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// isContact tells of a share that is how much of a seat touches.
func (s *sketch) isContact() bool {
	return s.f.Unit.Kind() == quantity.RatioKind && s.name.has("seat", "contact", "face")
}

// cylinderView draws a spot of a cylinder, or of a head.
func (s *sketch) cylinderView() view {
	guide := s.name.has("guide", "inguide", "exguide")
	seat := s.name.has("seat", "contact", "inseat", "exseat", "face", "insert")
	switch s.f.Class {
	case book.Inside:
		switch {
		case s.axial():
			return view{side: slotSide, end: s.ifDirections(endStations), seen: "in section"}
		case guide:
			return view{side: guideSide, end: endInside, seen: "in section in its head"}
		case s.name.has("boss", "rocker", "ear", "shaft"):
			return view{side: bossSide, end: endInside, seen: "in section"}
		case s.name.has("cam", "camshaft", "bearing"):
			return view{side: webSide, end: endInside, seen: "in section along the head", along: true, counted: true}
		case s.name.has("port", "liner", "sleeve", "plug", "hole"):
			return view{side: boreSide, end: endInside, seen: "in section"}
		case likenessOf(s.p) == likeBarrel:
			return view{side: barrelSide, end: endBarrel, seen: "in section, its head up"}
		}
	case book.Outside:
		if s.name.has("pilot", "spigot", "skirt", "barrel") && !s.axial() {
			return view{side: barrelPilot, end: endOutside, seen: "from the side, its head up"}
		}
	case book.Extent, book.Other, book.Dial:
		switch {
		case seat && s.name.has("width", "wide"):
			return view{side: seatWidth, seen: "in section"}
		case seat && s.f.Class == book.Other:
			return view{side: shareSide, seen: "from above"}
		case seat || s.name.has("run", "runout"):
			return view{side: seatRunOut, seen: "in section"}
		}
	case book.Clearance:
		if s.name.has("gap", "ring") {
			return s.ringView()
		}
	case book.Check:
		switch {
		case seat:
			return view{side: seatLook, seen: "in section"}
		case s.name.has("plug"):
			return view{side: plugLook, seen: "from above"}
		}
		return view{side: barrelLook, seen: "from the side, its head up"}
	}
	return s.plainView()
}

// A barrel stands with its head up.
const (
	boreLeft, boreRight   = 130.0, 290.0
	barrelTop, barrelFoot = 54.0, 272.0
	flangeTop, flangeDeep = 206.0, 14.0
)

// barrelMetal draws a barrel: in section, or from outside.
func (s *sketch) barrelMetal(section bool, inner string) {
	const wall = 14.0
	// The head, pale over the bore.
	s.low.trace("metal", new(path).to('M', 108, 56).to('L', 108, 20).to('Q', 108, 12, 116, 12).to('L', 304, 12).to('Q', 312, 12, 312, 20).to('L', 312, 56).to('z'))
	for i := range 5 {
		y := 74 + float64(i)*25
		s.low.rect("metal", boreLeft-wall-26, y, 26, 7)
		s.low.rect("metal", boreRight+wall, y, 26, 7)
	}
	s.low.rect("metal", boreLeft-wall-44, flangeTop, 44, flangeDeep)
	s.low.rect("metal", boreRight+wall, flangeTop, 44, flangeDeep)
	if section {
		s.low.cut(boreLeft-wall, barrelTop, wall, barrelFoot-barrelTop)
		s.low.cut(boreRight, barrelTop, wall, barrelFoot-barrelTop)
		s.low.rect(inner, boreLeft, barrelTop, boreRight-boreLeft, barrelFoot-barrelTop)
	} else {
		s.low.rect(inner, boreLeft-wall, barrelTop, boreRight-boreLeft+2*wall, barrelFoot-barrelTop)
	}
	s.low.line("axis", (boreLeft+boreRight)/2, 4, (boreLeft+boreRight)/2, sideHigh-4)
}

func barrelSide(s *sketch) {
	s.order(footWords, headWords)
	s.barrelMetal(true, handClass)
	s.high.say("", atEnd, 96, 40, nameSize, "head")
	s.high.say("", atEnd, 66, flangeTop+18, nameSize, "flange")
	s.planesUp(barrelFoot-6, barrelTop+8, boreLeft, boreRight, 356, true)
}

// endBarrel is a barrel from its head.
func endBarrel(s *sketch) {
	const r = 86.0
	s.low.circle("behind", endX, endY, r+44)
	s.low.circle("metal", endX, endY, r+16)
	s.low.circle("wash", endX, endY, r)
	s.axisCross(endX, endY)
	s.across(endX, endY, r, r+20, true)
}

func barrelPilot(s *sketch) {
	s.barrelMetal(false, "metal")
	s.low.rect(handClass, boreLeft-14, flangeTop+flangeDeep, boreRight-boreLeft+28, barrelFoot-flangeTop-flangeDeep)
	s.order(footWords, headWords)
	s.planesUp(barrelFoot, flangeTop+flangeDeep, boreLeft-14, boreRight+14, 356, false)
}

func barrelLook(s *sketch) {
	s.barrelMetal(false, "metal")
	if s.name.has("leak", "head", "crack") {
		s.lens(210, 92, 56)
		return
	}
	s.lens(210, 150, 56)
}

// plugLook is a head from above, with its plug's threads.
func plugLook(s *sketch) {
	s.low.circle("metal", middleX, middleY, 124)
	s.low.circle("metal", middleX-44, middleY-6, 40)
	s.low.circle("metal", middleX+48, middleY-6, 36)
	s.low.circle(handClass, middleX, middleY+74, 18)
	s.low.circle(handClass, middleX, middleY-84, 18)
	s.lens(middleX, middleY-84, 34)
}

// headSection is a guide over its seat in a head, the port between.
func (s *sketch) headSection(guide, seat string) {
	const x = 200.0
	// The head's metal on both sides, the port's passage between.
	s.low.cut(x-110, 96, 84, 74)
	s.low.cut(x+26, 96, 84, 74)
	s.low.rect("metal", x-46, 22, 20, 150)
	s.low.rect("metal", x+26, 22, 20, 150)
	s.low.rect(guide, x-26, 22, 52, 150)
	s.low.cut(x-130, 232, 50, 40)
	s.low.cut(x+80, 232, 50, 40)
	s.low.poly(seat, x-80, 232, x-62, 232, x-48, 252, x-48, 272, x-80, 272)
	s.low.poly(seat, x+80, 232, x+62, 232, x+48, 252, x+48, 272, x+80, 272)
	s.low.line("axis", x, 6, x, 286)
}

func guideSide(s *sketch) {
	s.order([]string{"port", "bottom", "lower", "valve", "head"}, []string{"top", "spring", "upper", "rocker"})
	s.headSection(handClass, "metal")
	s.planesUp(168, 26, 174, 226, 330, true)
	s.high.say("", atStart, 342, 260, nameSize, "seat")
}

func seatWidth(s *sketch) {
	s.seatLarge(handClass)
	s.caliper("dir lit", 150, 84, 210, 168, false)
}

// seatLarge is one side of a seat, in section and large.
func (s *sketch) seatLarge(classes string) {
	s.low.cut(50, 84, 60, 150)
	s.low.trace("metal", corners(110, 84, 150, 84, 210, 168, 210, 234, 110, 234).to('z'))
	s.low.poly(classes, 150, 84, 158, 84, 218, 168, 210, 168)
	// The valve's head over it.
	s.low.trace("behind", corners(196, 60, 400, 60, 400, 150, 256, 150).to('z'))
	s.low.line("axis", 400, 30, 400, 262)
}

func seatRunOut(s *sketch) {
	s.headSection("metal", handClass)
	// A pilot in the guide carries the dial round the seat.
	const x = 200.0
	s.low.rect("metal", x-12, 22, 24, 208)
	s.high.line("dir lit", x+12, 200, 300, 200)
	s.dial(x+62, 242, 0.72, -0.69, 40)
}

func seatLook(s *sketch) {
	s.headSection("metal", handClass)
	s.lens(264, 246, 38)
}

// bossSide is the boss for a rocker's shaft, in its two ears.
func bossSide(s *sketch) {
	s.orderAlong()
	at := max(1, s.site.Place)
	n := max(1, s.f.Places)
	if n == 1 {
		s.boreSection(150, 330, 44, 34, 0)
		return
	}
	s.low.line("axis", 8, middleY, sideWide-8, middleY)
	for i := 1; i <= min(n, 3); i++ {
		wide := 360/float64(min(n, 3)) - 50
		x := 85 + float64(i-1)*(wide+50)
		classes, name := "behind", "jn"
		lit := i == min(at, 3)
		if lit {
			classes, name = handClass, "jn lit"
		}
		s.low.cut(x, middleY-88, wide, 42)
		s.low.cut(x, middleY+46, wide, 42)
		s.low.rect(classes, x, middleY-46, wide, 92)
		words := i
		if lit {
			words = at
			s.planesAcross(x, x+wide, middleY-46, middleY+46, middleY-100, true)
		}
		s.high.say(name, atMiddle, x+wide/2, sideHigh-14, nameSize, numbered("", words)[1:])
	}
}

// pistonView draws a spot of a piston.
func (s *sketch) pistonView() view {
	switch s.f.Class {
	case book.Outside:
		if s.axial() {
			return view{side: grooveWidth, seen: "from the side"}
		}
		return view{side: pistonSide, end: endPiston, seen: "from the side, along its pin", up: "along the pin"}
	case book.Inside:
		switch {
		case s.name.has("groove", "ring", "land") || s.axial():
			return view{side: grooveWidth, end: s.ifDirections(endStations), seen: "from the side"}
		}
		if s.f.Places <= 2 {
			return view{side: pistonBoss, end: endInside, seen: "in section through its pin"}
		}
	case book.Clearance:
		if s.name.has("ring", "groove", "side", "land") || s.name.begins("topring", "midring", "oilring") {
			return view{side: grooveFeeler, end: s.ifDirections(endStations), seen: "from the side"}
		}
	case book.Check:
		return view{side: pistonLook, seen: "from the side, along its pin"}
	}
	return s.plainView()
}

// A piston stands with its crown up.
const (
	pistonLeft, pistonRight = 130.0, 350.0
	pistonTop, pistonFoot   = 24.0, 270.0
)

// grooves are where a piston's rings are, from the crown down.
var grooves = [...]float64{50, 80, 110}

func (s *sketch) pistonMetal(classes string, pin bool) {
	s.low.rect(classes, pistonLeft, pistonTop, pistonRight-pistonLeft, pistonFoot-pistonTop)
	for _, y := range grooves {
		s.low.rect("metal", pistonLeft-1, y, 16, 10)
		s.low.rect("metal", pistonRight-15, y, 16, 10)
		s.low.line("fin", pistonLeft, y, pistonRight, y)
		s.low.line("fin", pistonLeft, y+10, pistonRight, y+10)
	}
	if pin {
		s.low.circle("metal", middleX, 182, 34)
		s.axisCross(middleX, 182)
	}
}

// pistonLevel is how far down a piston is measured, by its words.
func (s *sketch) pistonLevel() float64 {
	switch {
	case s.name.has("crown", "head") || s.name.has("top") && s.name.has("land"):
		return 37
	case s.name.has("land"):
		return 70
	case s.name.has("under", "below") || s.name.has("top", "upper"):
		return 136
	case s.name.has("pin", "middle"):
		return 182
	}
	return 256
}

func pistonSide(s *sketch) {
	s.pistonMetal(handClass, true)
	if len(s.f.Planes) > 0 {
		s.order(footWords, headWords)
		s.planesUp(pistonFoot, 130, pistonLeft, pistonRight, 392, false)
		return
	}
	y := s.pistonLevel()
	s.caliper("plane lit", pistonLeft, y, pistonRight, y, false)
}

// endPiston is a piston from its crown, its pin upright; where no direction is
// stated it is measured square to the pin.
func endPiston(s *sketch) {
	const r = 92.0
	s.low.circle("wash", endX, endY, r)
	s.low.rect("behind", endX-26, endY-r+10, 52, 2*r-20)
	s.low.line("axis", endX, endY-r-16, endX, endY+r+16)
	s.across(endX, endY, r, r, false)
}

// pistonBoss is a piston cut through its pin's bosses.
func pistonBoss(s *sketch) {
	at := max(1, s.site.Place)
	s.low.rect("metal", pistonLeft, pistonTop, pistonRight-pistonLeft, pistonFoot-pistonTop)
	s.low.rect("metal", pistonLeft+22, 140, pistonRight-pistonLeft-44, pistonFoot-140)
	for i, x := range [...]float64{pistonLeft, pistonRight - 70} {
		classes, name := "behind", "jn"
		lit := s.f.Places < 2 || i+1 == at
		if lit {
			classes, name = handClass, "jn lit"
		}
		s.low.cut(x, 132, 70, 22)
		s.low.cut(x, 214, 70, 22)
		s.low.rect(classes, x, 154, 70, 60)
		if lit && (s.f.Places == 2 || i == 0) {
			if len(s.f.Planes) > 0 {
				s.planesAcross(x, x+70, 154, 214, 124, true)
			} else {
				s.caliper("plane lit", x+35, 154, x+35, 214, true)
			}
		}
		if s.f.Places >= 2 {
			side := pistonLeft - 30
			if i == 1 {
				side = pistonRight + 30
			}
			s.high.say(name, atMiddle, side, 191, nameSize, numbered("", i+1)[1:])
		}
	}
	s.low.line("axis", 60, 184, 420, 184)
}

// grooveOf is which groove, by its words: 0 the top, then down.
func (s *sketch) grooveOf() int {
	switch {
	case s.name.has("oil", "third", "scraper", "lower", "bottom") || s.name.begins("oilring"):
		return 2
	case s.name.has("second", "mid", "middle", "intermediate") || s.name.begins("midring"):
		return 1
	}
	return 0
}

// groovesLarge draws the ring belt's edge large, and returns where the groove
// that is meant is.
func (s *sketch) groovesLarge() (y float64) {
	const right = 300.0
	d := new(path).to('M', 60, 20).to('L', right, 20)
	for i := range 3 {
		top := 56 + float64(i)*74
		d.to('L', right, top).to('L', right-110, top).to('L', right-110, top+36).to('L', right, top+36)
		if i == s.grooveOf() {
			y = top
		}
	}
	d.to('L', right, 276).to('L', 60, 276).to('z')
	s.low.trace("metal", d)
	return y
}

// grooveFeeler is a ring in its groove with a feeler beside it.
func grooveFeeler(s *sketch) {
	y := s.groovesLarge()
	for i := range 3 {
		top := 56 + float64(i)*74
		s.low.rect("metal", 206, top+9, 98, 27)
	}
	s.low.rect(handClass, 190, y, 114, 9)
	s.feeler(214, y+4.5, 1, 0, 170)
}

// grooveWidth is a groove measured, or over pins.
func grooveWidth(s *sketch) {
	y := s.groovesLarge()
	if s.name.has("pin", "over", "tapered") {
		// Two pins in the tapered groove, a gauge over them.
		s.low.circle(handClass, 268, y+18, 17)
		s.caliper("plane lit", 268, y+1, 268, y+35, false)
		return
	}
	s.low.rect(handClass, 190, y, 110, 36)
	s.caliper("plane lit", 250, y, 250, y+36, true)
}

func pistonLook(s *sketch) {
	s.pistonMetal(handClass, true)
	s.lens(200, 150, 48)
}

// weighPiston is a piston on the balance.
func weighPiston(s *sketch) {
	s.low.rect(handClass, 176, 22, 128, 128)
	for i := range 3 {
		s.low.line("fin", 176, 40+float64(i)*14, 304, 40+float64(i)*14)
	}
	s.low.circle("metal", 240, 112, 18)
	s.balance(150)
}

// ringView draws a spot of a piston ring.
func (s *sketch) ringView() view {
	switch s.f.Class {
	case book.Clearance:
		if s.name.has("side", "groove") {
			return view{side: grooveFeeler, seen: "from the side"}
		}
		return view{side: ringGapSide, end: endRingGap, noDirections: true, seen: "in its barrel, the head up"}
	case book.Extent, book.Outside:
		if s.axial() || s.f.Class == book.Extent {
			return view{side: slabThick, seen: "edge on"}
		}
		return view{side: barSide, end: endOutside, seen: "from the side"}
	case book.Inside:
		return view{side: boreSide, end: endInside, seen: "in section"}
	}
	return s.plainView()
}

// ringGapSide is a ring pushed square into its barrel.
func ringGapSide(s *sketch) {
	s.order(footWords, headWords)
	s.barrelMetal(true, "metal")
	ring := func(y float64, classes string) {
		s.low.rect(classes, boreLeft, y-6, boreRight-boreLeft, 12)
		s.low.rect("paperfill", 204, y-8, 12, 16)
	}
	n := len(s.f.Planes)
	if n == 0 {
		ring(180, handClass)
		s.feeler(210, 180, 0, -1, 60)
		return
	}
	for i, name := range s.f.Planes {
		y := 262 - (262-70)*s.share(i)
		classes := "pl"
		if i == s.plane {
			classes = "pl lit"
			ring(y, handClass)
			s.feeler(210, y+3, 0, -1, 50)
		} else {
			s.high.line("plane", boreLeft, y, 350, y)
		}
		s.high.say(classes, atStart, 356, y+7, planeSize, name)
		s.lettered = true
	}
}

// endRingGap is a ring in its barrel from above, with a feeler in its gap.
func endRingGap(s *sketch) {
	const r = 88.0
	s.low.circle("metal", endX, endY+10, r+22)
	s.low.circle("metal", endX, endY+10, r)
	const half = 3.4 // degrees
	x1, y1 := point(endX, endY+10, half, r-1)
	x2, y2 := point(endX, endY+10, -half, r-1)
	x3, y3 := point(endX, endY+10, -half, r-18)
	x4, y4 := point(endX, endY+10, half, r-18)
	s.low.trace("wash", new(path).to('M', x1, y1).to('A', r-1, r-1, 0, 1, 1, x2, y2).to('L', x3, y3).to('A', r-18, r-18, 0, 1, 0, x4, y4).to('z'))
	s.feeler(endX, endY+10-r+20, 0, 1, 50)
}

// pinView draws a spot of a piston pin, a knuckle pin or a rocker's shaft.
func (s *sketch) pinView() view {
	switch s.f.Class {
	case book.Outside:
		if s.axial() {
			return view{side: pinLength, seen: "from the side"}
		}
		return view{side: pinSide, end: endTube, seen: "from the side"}
	case book.Inside:
		return view{side: boreSide, end: endInside, seen: "in section"}
	case book.Extent:
		if s.name.has("plug") {
			return view{side: pinPlug, seen: "in section"}
		}
		return view{side: pinLength, seen: "from the side"}
	case book.Check:
		return view{side: pinLook, seen: "from the side"}
	}
	return s.plainView()
}

func (s *sketch) pinMetal(classes string) {
	s.low.trace(classes, corners(62, middleY-44, 70, middleY-52, 410, middleY-52, 418, middleY-44, 418, middleY+44, 410, middleY+52, 70, middleY+52, 62, middleY+44).to('z'))
	s.low.line("plane", 62, middleY-26, 418, middleY-26)
	s.low.line("plane", 62, middleY+26, 418, middleY+26)
	s.axisAlong(middleY)
}

func pinSide(s *sketch) {
	s.orderAlong()
	s.pinMetal(handClass)
	s.planesAcross(70, 410, middleY-52, middleY+52, middleY-90, false)
}

func pinLook(s *sketch) {
	s.pinMetal(handClass)
	s.lens(220, middleY, 50)
}

func pinLength(s *sketch) {
	s.pinMetal(handClass)
	s.caliper("plane lit", 62, middleY, 418, middleY, false)
}

// pinPlug is a pin with a plug in each end, the plug's head measured.
func pinPlug(s *sketch) {
	s.orderAlong()
	s.low.cut(110, middleY-56, 260, 26)
	s.low.cut(110, middleY+30, 260, 26)
	lit := s.plane
	if s.flip {
		lit = len(s.f.Planes) - 1 - lit
	}
	n := len(s.f.Planes)
	for i, x := range [...]float64{62, 370} {
		classes := "metal"
		on := s.plane < 0 && i == 0 || n == 2 && lit == i || n != 2 && s.plane >= 0 && i == min(1, lit)
		if on {
			classes = handClass
		}
		s.low.rect(classes, x, middleY-40, 48, 80)
		inner := x + 48
		if i == 1 {
			inner = x - 70
		}
		s.low.rect("metal", inner, middleY-28, 70, 56)
		if on {
			s.caliper("dir lit", x, middleY, x+48, middleY, false)
			if s.plane >= 0 {
				s.planeName(x+24, middleY-62)
			}
		}
	}
	s.axisAlong(middleY)
}

// endTube is a hollow pin end on.
func endTube(s *sketch) {
	const r = 84.0
	s.low.circle("wash", endX, endY, r)
	s.low.circle("behind", endX, endY, r*0.5)
	s.axisCross(endX, endY)
	s.across(endX, endY, r, r, false)
}
