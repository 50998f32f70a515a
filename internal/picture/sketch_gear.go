package picture

import (
	"strings"

	"tenths/internal/book"
)

// gearView draws a spot of a gear or a train of them.
func (s *sketch) gearView() view {
	switch s.f.Class {
	case book.Clearance:
		if s.name.has("end", "side", "front", "rear") {
			return view{side: endClearanceSide, end: s.ifDirections(endStations), seen: "in section"}
		}
		return view{side: backlashSide, end: s.ifDirections(endGear), seen: "in mesh"}
	case book.Dial:
		return view{side: backlashSide, end: s.ifDirections(endGear), seen: "in mesh"}
	case book.Extent:
		if s.name.has("lift", "lobe") {
			return view{side: lobeLiftSide, seen: "end on"}
		}
	case book.Outside:
		if s.axial() {
			return view{side: gearWidth, end: s.ifDirections(endStations), seen: "edge on"}
		}
	case book.Check:
		return view{side: gearLook, seen: "from its face"}
	}
	return s.plainView()
}

// gearPair draws two gears in mesh.
func (s *sketch) gearPair(first, second string) {
	s.low.trace(first, toothed(168, middleY, 84, 22, 0))
	s.low.circle("metal", 168, middleY, 22)
	s.low.trace(second, toothed(322, middleY, 62, 16, 11.25))
	s.low.circle("metal", 322, middleY, 18)
	s.axisCross(168, middleY)
	s.axisCross(322, middleY)
}

// backlashSide is how far a gear turns while its mate stands still.
func backlashSide(s *sketch) {
	s.gearPair("metal", handClass)
	// Which two they are, where the name says it: crankshaft gear to idler.
	if first, second, ok := strings.Cut(s.f.Name, " to "); ok {
		s.high.say("", atMiddle, 130, sideHigh-12, nameSize, fitting(first, nameSize, 230))
		s.high.say("", atMiddle, 352, sideHigh-12, nameSize, fitting(second, nameSize, 230))
	}
	if s.f.Class == book.Clearance && s.name.has("feeler") {
		s.feeler(262, middleY, 0.2, -0.98, 90)
		return
	}
	x, y := point(322, middleY, 28, 64)
	s.dial(x, y, 0.9, -0.44, 26)
	s.turning(322, middleY, 96)
}

// endGear is a gear from its face with the places where it is turned to.
func endGear(s *sketch) {
	const r = 84.0
	s.low.trace("wash", toothed(endX, endY, r, 22, 0))
	s.low.circle("metal", endX, endY, 24)
	s.axisCross(endX, endY)
	s.stations(endX, endY, r+6, r+8)
}

func gearWidth(s *sketch) {
	s.low.rect("metal", 60, middleY-26, 360, 52)
	s.low.rect(handClass, 180, middleY-100, 120, 200)
	for i := range 7 {
		y := middleY - 100 + float64(i+1)*25
		s.low.line("fin", 180, y, 300, y)
	}
	s.axisAlong(middleY)
	s.caliper("plane lit", 180, middleY-62, 300, middleY-62, false)
}

func gearLook(s *sketch) {
	s.gearPair(handClass, handClass)
	s.lens(258, middleY, 44)
}

// pumpView draws a spot of an oil pump.
func (s *sketch) pumpView() view {
	switch s.f.Class {
	case book.Outside:
		switch {
		case s.axial():
			return view{side: gearWidth, end: s.ifDirections(endStations), seen: "edge on"}
		case s.name.has("gear", "tip"):
			return view{side: pumpGear, end: endPumpGear, seen: "in its body"}
		}
	case book.Inside:
		switch {
		case s.axial():
			return view{side: pumpDepth, end: s.ifDirections(endStations), seen: "in section"}
		case s.name.has("body", "chamber", "bore") && !s.name.has("bushing", "bush"):
			return view{side: pumpBody, end: endInside, seen: "from its face"}
		}
	case book.Clearance:
		if s.name.has("end", "side") {
			return view{side: pumpEnd, end: s.ifDirections(endStations), seen: "in section"}
		}
		return view{side: backlashSide, end: s.ifDirections(endGear), seen: "in mesh"}
	case book.Extent:
		if s.name.has("spring", "free") {
			return view{side: springLength, seen: "standing free"}
		}
	case book.Other:
		return view{side: springLoad, seen: "in the tester"}
	case book.Check:
		if !s.name.has("relief", "valve", "seat", "plunger", "crack", "shaft") {
			return view{side: pumpLook, seen: "from its face"}
		}
	}
	return s.plainView()
}

// pumpFace is a pump's body from its face with its two gears.
func (s *sketch) pumpFace(body, first, second string) {
	s.low.rect("metal", 60, 20, 360, 252)
	s.low.circle(body, 176, middleY, 84)
	s.low.circle(body, 304, middleY, 84)
	s.low.rect("paperfill", 230, middleY-50, 20, 100)
	s.low.trace(first, toothed(176, middleY, 70, 11, 8.2))
	s.low.trace(second, toothed(304, middleY, 70, 11, 24.5))
	s.low.circle("metal", 176, middleY, 16)
	s.low.circle("metal", 304, middleY, 16)
}

// which is which of a pump's two a site is: 0 or 1.
func (s *sketch) which() int {
	if s.site.Place == 2 {
		return 1
	}
	return 0
}

func pumpGear(s *sketch) {
	classes := [2]string{"metal", "metal"}
	classes[s.which()] = handClass
	s.pumpFace("metal", classes[0], classes[1])
	x := [2]float64{176, 304}[s.which()]
	s.caliper("plane lit", x, middleY-75, x, middleY+75, false)
}

func endPumpGear(s *sketch) {
	const r = 80.0
	s.low.trace("wash", toothed(endX, endY, r-4, 12, 0))
	s.low.circle("metal", endX, endY, 20)
	s.axisCross(endX, endY)
	s.across(endX, endY, r, r, false)
}

func pumpBody(s *sketch) {
	s.low.rect("metal", 60, 20, 360, 252)
	classes := [2]string{"metal", "metal"}
	classes[s.which()] = handClass
	s.low.circle(classes[1-s.which()], [2]float64{304, 176}[s.which()], middleY, 84)
	x := [2]float64{176, 304}[s.which()]
	s.low.circle(classes[s.which()], x, middleY, 84)
	a := 0.0
	if at, _ := s.bearings(); len(at) > 0 {
		a = at[s.direction]
	}
	x1, y1 := point(x, middleY, a+180, 84)
	x2, y2 := point(x, middleY, a, 84)
	s.caliper("dir lit", x1, y1, x2, y2, true)
	s.axisCross(x, middleY)
}

func pumpDepth(s *sketch) {
	s.low.cut(80, 60, 46, 190)
	s.low.cut(354, 60, 46, 190)
	s.low.cut(126, 204, 228, 46)
	s.low.rect(handClass, 126, 60, 228, 144)
	s.low.rect("metal", 60, 44, 360, 16)
	s.caliper("plane lit", 200, 60, 200, 204, true)
}

func pumpEnd(s *sketch) {
	s.low.cut(80, 96, 46, 170)
	s.low.cut(354, 96, 46, 170)
	s.low.cut(126, 222, 228, 44)
	s.low.rect("metal", 130, 108, 108, 114)
	s.low.rect("metal", 242, 108, 108, 114)
	s.low.rect(handClass, 126, 96, 228, 12)
	s.low.rect("metal", 60, 64, 300, 32)
	s.feeler(230, 102, 1, 0, 150)
}

func pumpLook(s *sketch) {
	s.pumpFace("metal", handClass, handClass)
	s.lens(240, middleY, 46)
}
