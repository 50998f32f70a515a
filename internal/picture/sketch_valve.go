package picture

import (
	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// valveView draws a spot of a valve.
func (s *sketch) valveView() view {
	switch s.f.Class {
	case book.Outside:
		if !s.axial() {
			if s.name.has("head") {
				return view{side: valveHead, end: endOutside, seen: "from the side"}
			}
			return view{side: valveStem, end: endOutside, seen: "from the side"}
		}
	case book.Extent, book.Dial:
		switch {
		case s.name.has("run", "runout", "face") && !s.name.has("width"):
			return view{side: valveRunOut, end: s.ifDirections(endDial), seen: "turned on its stem"}
		case s.name.has("margin", "edge", "width"):
			return view{side: valveMargin, seen: "from the side"}
		}
		return view{side: valveLength, seen: "from the side"}
	case book.Check:
		return view{side: valveLook, seen: "from the side"}
	}
	return s.plainView()
}

// valveMetal is a valve lying down, its head at the left.
func (s *sketch) valveMetal(head, stem string) {
	s.low.rect(stem, 140, middleY-15, 290, 30)
	s.low.trace(head, new(path).to('M', 40, middleY-78).to('L', 54, middleY-78).to('L', 74, middleY-60).
		to('Q', 96, middleY-18, 142, middleY-15).to('L', 142, middleY+15).to('Q', 96, middleY+18, 74, middleY+60).
		to('L', 54, middleY+78).to('L', 40, middleY+78).to('z'))
	s.low.line("fin", 404, middleY-15, 404, middleY+15)
	s.low.line("fin", 412, middleY-15, 412, middleY+15)
	s.low.line("axis", 20, middleY, 452, middleY)
}

func valveStem(s *sketch) {
	s.order([]string{"neck", "head", "bottom", "lower", "port"}, []string{"tip", "top", "upper", "end", "keeper"})
	s.valveMetal("metal", handClass)
	x0, x1 := 150.0, 398.0
	if s.name.has("neck") {
		x0, x1 = 140, 210
	}
	s.planesAcross(x0, x1, middleY-15, middleY+15, middleY-50, false)
}

func valveHead(s *sketch) {
	s.valveMetal(handClass, "metal")
	s.caliper("plane lit", 47, middleY-78, 47, middleY+78, false)
}

func valveLength(s *sketch) {
	s.valveMetal(handClass, handClass)
	s.low.line("med", 40, middleY+78, 40, 262)
	s.low.line("med", 430, middleY+15, 430, 262)
	s.caliper("plane lit", 40, 246, 430, 246, false)
}

func valveRunOut(s *sketch) {
	s.valveMetal(handClass, "metal")
	s.block(220, middleY+15)
	s.block(360, middleY+15)
	s.dial(64, middleY-70, 0.74, -0.67, 30)
}

// valveMargin is the edge of a valve's head, large.
func valveMargin(s *sketch) {
	s.low.trace("metal", new(path).to('M', 150, 270).to('L', 150, 70).to('L', 220, 70).to('L', 320, 170).to('Q', 350, 230, 430, 250).to('L', 430, 270).to('z'))
	s.low.rect(handClass, 150, 62, 70, 16)
	s.low.line("ink", 150, 70, 150, 270)
	s.caliper("plane lit", 150, 92, 220, 92, true)
	s.high.say("", atStart, 290, 120, nameSize, "face")
}

func valveLook(s *sketch) {
	s.valveMetal(handClass, handClass)
	s.lens(92, middleY-30, 44)
}

// isLoad tells of a force that a spring is tested by.
func (s *sketch) isLoad() bool { return s.f.Unit.Kind() == quantity.ForceKind }

// springView draws a spot of a spring.
func (s *sketch) springView() view {
	switch s.f.Class {
	case book.Other:
		return view{side: springLoad, seen: "in the tester"}
	case book.Extent:
		return view{side: springLength, seen: "standing free"}
	case book.Check:
		return view{side: springLook, seen: "standing free"}
	}
	return s.plainView()
}

// coil draws a spring from y0 down to y1.
func (s *sketch) coil(classes string, x, y0, y1, half float64, turns int) {
	step := (y1 - y0) / float64(turns)
	for i := 1; i < turns; i++ { // the wire behind
		y := y0 + float64(i)*step
		s.low.line("med", x-half+6, y-5, x+half-6, y+5)
	}
	for i := range turns {
		y := y0 + float64(i)*step
		s.low.poly(classes, x-half, y+step-9, x+half, y, x+half, y+9, x-half, y+step)
	}
}

func springLoad(s *sketch) {
	// The further it is pressed, the shorter it is drawn.
	top := 78.0
	if s.name.has("open") {
		top = 120
	}
	s.low.rect("metal", 130, 250, 220, 18)
	s.low.rect("metal", 150, top-16, 180, 16)
	s.coil(handClass, middleX, top, 250, s.coilHalf(), 6)
	s.pull("plane lit", middleX, top-72, 0, 1, 56)
	s.low.line("med", 340, top, 410, top)
	s.low.line("med", 340, 250, 410, 250)
	s.high.line("dir", 396, top, 396, 250)
	s.face(70, top+60, 46)
}

// coilHalf is half of how wide a spring is: the inner one of a pair is slim.
func (s *sketch) coilHalf() float64 {
	if s.part.has("inner") || s.name.has("inner") {
		return 42
	}
	return 62
}

func springLength(s *sketch) {
	s.coil(handClass, middleX, 40, 256, s.coilHalf(), 6)
	s.low.line("med", middleX+70, 40, 400, 40)
	s.low.line("med", middleX+70, 256, 400, 256)
	s.caliper("plane lit", 372, 40, 372, 256, true)
}

func springLook(s *sketch) {
	s.coil(handClass, middleX, 40, 256, s.coilHalf(), 6)
	s.lens(middleX, 140, 48)
}

// rockerView draws a spot of a rocker.
func (s *sketch) rockerView() view {
	switch s.f.Class {
	case book.Inside:
		return view{side: rockerSide, end: endInside, seen: "from the side"}
	case book.Clearance:
		return view{side: rockerClearance, end: s.ifDirections(endStations), seen: "on its shaft, from above"}
	case book.Check:
		return view{side: rockerLook, seen: "from the side"}
	}
	return s.plainView()
}

// rockerMetal is a rocker from the side: the push-rod's cup at the left, the
// valve's foot at the right.
func (s *sketch) rockerMetal(classes string) {
	s.low.trace(classes, new(path).to('M', 60, 176).to('L', 66, 130).to('Q', 150, 120, 200, 92).to('L', 280, 92).
		to('Q', 340, 104, 420, 150).to('L', 424, 190).to('Q', 412, 214, 384, 204).to('Q', 360, 172, 292, 194).
		to('L', 190, 194).to('Q', 150, 170, 104, 178).to('L', 96, 192).to('L', 64, 192).to('z'))
}

func rockerSide(s *sketch) {
	s.rockerMetal("metal")
	s.low.circle("metal is-done", middleX, middleY, 46)
	s.low.circle(handClass, middleX, middleY, 37)
	s.axisCross(middleX, middleY)
	a := 90.0
	if at, _ := s.bearings(); len(at) > 0 {
		a = at[s.direction]
	}
	x1, y1 := point(middleX, middleY, a+180, 37)
	x2, y2 := point(middleX, middleY, a, 37)
	s.caliper("dir lit", x1, y1, x2, y2, true)
}

func rockerClearance(s *sketch) {
	s.low.cut(60, 40, 70, 210)
	s.low.cut(350, 40, 70, 210)
	s.low.rect("metal", 20, middleY-30, 440, 60)
	s.low.rect("metal", 130, 70, 208, 152)
	s.low.rect(handClass, 338, 70, 12, 152)
	s.axisAlong(middleY)
	s.feeler(344, 96, 0, -1, 50)
}

func rockerLook(s *sketch) {
	s.rockerMetal(handClass)
	s.low.circle("metal", middleX, middleY, 37)
	s.lens(392, 180, 40)
}

// pushrodView draws a spot of a push-rod.
func (s *sketch) pushrodView() view {
	switch s.f.Class {
	case book.Extent, book.Dial:
		if s.name.has("run", "runout", "bend", "straightness") {
			return view{side: pushrodRunOut, end: s.ifDirections(endDial), seen: "turned on two blocks"}
		}
		return view{side: pushrodLength, seen: "from the side"}
	case book.Check:
		return view{side: pushrodLook, seen: "from the side"}
	}
	return s.plainView()
}

func (s *sketch) pushrodMetal(classes string) {
	s.low.circle("metal", 52, middleY, 14)
	s.low.circle("metal", 428, middleY, 14)
	s.low.rect(classes, 60, middleY-13, 360, 26)
	s.low.line("fin", 84, middleY-13, 84, middleY+13)
	s.low.line("fin", 396, middleY-13, 396, middleY+13)
	s.axisAlong(middleY)
}

func pushrodLength(s *sketch) {
	s.pushrodMetal(handClass)
	s.low.line("med", 38, middleY, 38, 232)
	s.low.line("med", 442, middleY, 442, 232)
	s.caliper("plane lit", 38, 216, 442, 216, true)
}

func pushrodRunOut(s *sketch) {
	s.pushrodMetal(handClass)
	s.block(110, middleY+13)
	s.block(370, middleY+13)
	s.dial(middleX, middleY-13, 0, -1, 34)
}

func pushrodLook(s *sketch) {
	s.pushrodMetal(handClass)
	s.lens(60, middleY, 40)
}

// lifterView draws a spot of a lifter.
func (s *sketch) lifterView() view {
	switch s.f.Class {
	case book.Outside:
		return view{side: lifterSide, end: endOutside, seen: "from the side"}
	case book.Clearance:
		return view{side: tappetClearance, seen: "between rocker and valve"}
	case book.Check:
		return view{side: lifterLook, seen: "from the side"}
	}
	return s.plainView()
}

// lifterMetal is a lifter lying down, its face at the left.
func (s *sketch) lifterMetal(face, body string) {
	s.low.rect(body, 110, middleY-48, 280, 96)
	s.low.rect(face, 84, middleY-66, 28, 132)
	s.low.line("fin", 250, middleY-48, 250, middleY+48)
	s.low.line("fin", 266, middleY-48, 266, middleY+48)
	s.low.rect("behind", 352, middleY-22, 38, 44)
	s.axisAlong(middleY)
}

func lifterSide(s *sketch) {
	s.order([]string{"inner", "face", "cam", "bottom", "lower"}, []string{"outer", "socket", "top", "upper", "pushrod"})
	s.lifterMetal("metal", handClass)
	s.planesAcross(120, 380, middleY-48, middleY+48, middleY-86, false)
}

func lifterLook(s *sketch) {
	s.lifterMetal(handClass, "metal")
	s.lens(98, middleY, 48)
}

// tappetClearance is the gap between a rocker's foot and the tip of its valve.
func tappetClearance(s *sketch) {
	s.low.trace("metal", new(path).to('M', 60, 60).to('L', 330, 60).to('Q', 400, 64, 400, 110).to('Q', 372, 150, 330, 138).to('L', 60, 120).to('z'))
	s.low.circle("metal", 110, 90, 24)
	s.low.rect("metal", 338, 158, 44, 124)
	s.low.rect(handClass, 330, 144, 60, 14)
	s.feeler(350, 151, -1, 0, 210)
}

// leakDownSide is a lifter under its load, and the clock.
func leakDownSide(s *sketch) {
	s.low.rect("metal", 60, 244, 190, 18)
	s.low.rect(handClass, 110, 120, 90, 124)
	s.low.rect("metal", 134, 84, 42, 36)
	s.pull("plane lit", 155, 18, 0, 1, 62)
	s.clock(350, middleY+14, 74)
}
