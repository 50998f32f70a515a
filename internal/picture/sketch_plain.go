package picture

import (
	"math"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// plainView draws what no shape or word tells more of: by the feature's kind
// alone.
func (s *sketch) plainView() view {
	switch s.f.Class {
	case book.Outside:
		if s.axial() {
			return view{side: slabWide, end: s.ifDirections(endStations), seen: "from the side"}
		}
		return view{side: barSide, end: endOutside, seen: "from the side"}
	case book.Inside:
		if s.axial() {
			return view{side: slotSide, end: s.ifDirections(endStations), seen: "in section"}
		}
		return view{side: boreSide, end: endInside, seen: "in section"}
	case book.Extent:
		if s.name.has("length", "long", "distance") {
			return view{side: barLong, end: s.ifDirections(endStations), seen: "from the side"}
		}
		return view{side: slabThick, end: s.ifDirections(endStations), seen: "from the side"}
	case book.Clearance:
		return view{side: gapSide, end: s.ifDirections(endStations), seen: "in section"}
	case book.Dial:
		return view{side: dialSide, end: s.ifDirections(endDial), seen: "from the side"}
	case book.Check:
		return view{side: lookSide}
	}
	return s.gaugeView()
}

// ifDirections is a view from the end, where there are directions to be seen.
func (s *sketch) ifDirections(end func(*sketch)) func(*sketch) {
	if len(s.f.Directions) == 0 {
		return nil
	}
	return end
}

// barSide is a round bar, measured across.
func barSide(s *sketch) {
	s.orderAlong()
	s.low.rect("metal", 40, middleY-40, 60, 80)
	s.low.rect("metal", 380, middleY-40, 60, 80)
	s.low.rect(handClass, 100, middleY-62, 280, 124)
	s.axisAlong(middleY)
	s.planesAcross(110, 370, middleY-62, middleY+62, middleY-96, false)
}

// boreSide is a bore in section.
func boreSide(s *sketch) {
	s.orderAlong()
	s.boreSection(110, 370, 56, 34, 0)
}

// boreSection draws a bore in section, in walls, with a lining if it has one.
func (s *sketch) boreSection(x0, x1, r, wall, lining float64) {
	y0, y1 := middleY-r, middleY+r
	s.low.cut(x0, y0-lining-wall, x1-x0, wall)
	s.low.cut(x0, y1+lining, x1-x0, wall)
	if lining > 0 {
		s.low.rect("metal is-done", x0+6, y0-lining, x1-x0-12, lining)
		s.low.rect("metal is-done", x0+6, y1, x1-x0-12, lining)
	}
	s.low.rect(handClass, x0, y0, x1-x0, 2*r)
	s.axisAlong(middleY)
	s.planesAcross(x0, x1, y0, y1, y0-lining-wall-12, true)
}

// slabWide is the width of something solid, along its axis.
func slabWide(s *sketch) {
	s.low.rect(handClass, 160, middleY-66, 160, 132)
	s.axisAlong(middleY)
	s.caliper("plane lit", 160, middleY-30, 320, middleY-30, false)
}

// slotSide is the width or depth of something hollow, along its axis.
func slotSide(s *sketch) {
	s.low.cut(110, middleY-80, 40, 160)
	s.low.cut(330, middleY-80, 40, 160)
	s.low.cut(110, middleY+60, 260, 40)
	s.low.rect(handClass, 150, middleY-80, 180, 140)
	if s.name.has("depth", "deep") {
		s.caliper("plane lit", 210, middleY-80, 210, middleY+60, true)
		return
	}
	s.caliper("plane lit", 150, middleY-20, 330, middleY-20, true)
}

// barLong is the length of something.
func barLong(s *sketch) {
	s.low.rect(handClass, 70, middleY-34, 340, 68)
	s.axisAlong(middleY)
	if len(s.f.Planes) > 0 {
		s.levels(70, 410, middleY-22, middleY+22, middleY-50)
		return
	}
	s.caliper("plane lit", 70, middleY, 410, middleY, false)
}

// levels draws a length that is taken at several planes.
func (s *sketch) levels(x0, x1, y0, y1, names float64) {
	n := len(s.f.Planes)
	for i := range s.f.Planes {
		y := y0 + (y1-y0)*float64(i)/float64(max(1, n-1))
		if i == s.plane {
			s.caliper("plane lit", x0, y, x1, y, false)
			s.planeName((x0+x1)/2, names)
			continue
		}
		s.high.line("plane", x0, y, x1, y)
	}
}

// slabThick is the thickness of something flat.
func slabThick(s *sketch) {
	s.low.rect(handClass, 90, middleY-22, 300, 44)
	s.planesAcross(90, 390, middleY-22, middleY+22, middleY-56, false)
}

// gapSide is a gap between two faces, with a feeler in it.
func gapSide(s *sketch) {
	s.low.cut(60, middleY-90, 280, 84)
	s.low.cut(60, middleY+6, 280, 84)
	s.low.rect(handClass, 60, middleY-6, 280, 12)
	s.feeler(120, middleY, 1, 0, 240)
	s.planeName(240, middleY-104)
}

// planeName letters the plane where there is no line to stand at.
func (s *sketch) planeName(x, y float64) {
	if s.plane >= 0 {
		s.high.say("pl lit", atMiddle, x, y, planeSize, s.f.Planes[s.plane])
		s.lettered = true
	}
}

// dialSide is an indicator on something that turns between two blocks.
func dialSide(s *sketch) {
	s.low.rect("metal", 50, middleY+10, 380, 56)
	s.low.rect(handClass, 190, middleY, 100, 76)
	s.low.line("axis", 20, middleY+38, 460, middleY+38)
	s.block(90, middleY+66)
	s.block(390, middleY+66)
	s.dial(240, middleY, 0, -1, 40)
	s.planeName(330, middleY-20)
}

// block is a vee block under what turns, its top at y.
func (s *sketch) block(x, y float64) { s.low.poly("metal", x, y, x+26, y+42, x-26, y+42) }

// lookSide is a place to look at.
func lookSide(s *sketch) {
	s.low.rect(handClass, 110, middleY-70, 260, 140)
	s.lens(230, middleY-6, 52)
}

// endOutside is a round part end on, measured across.
func endOutside(s *sketch) {
	const r = 84
	if s.around() {
		endStations(s)
		return
	}
	s.low.circle("wash", endX, endY, r)
	s.axisCross(endX, endY)
	s.across(endX, endY, r, r, false)
}

// endInside is a bore end on, measured across.
func endInside(s *sketch) {
	const r = 76
	if s.around() {
		endStations(s)
		return
	}
	s.low.circle("metal", endX, endY, r+26)
	s.low.circle("wash", endX, endY, r)
	s.axisCross(endX, endY)
	s.across(endX, endY, r, r+26, true)
}

// endStations is something round with places round it.
func endStations(s *sketch) {
	s.low.circle("wash", endX, endY, 84)
	s.low.circle("metal", endX, endY, 34)
	s.axisCross(endX, endY)
	s.stations(endX, endY, 84, 84)
}

// endDial is something round with an indicator on it.
func endDial(s *sketch) {
	const r = 70
	s.low.circle("wash", endX, endY, r)
	s.axisCross(endX, endY)
	s.stations(endX, endY, r, r)
}

// gaugeView is what is read on a gauge of its own: a weight, a load, a pressure.
func (s *sketch) gaugeView() view {
	switch s.f.Unit.Kind() {
	case quantity.MassKind:
		return view{side: weighSide, seen: "on the balance"}
	case quantity.ForceKind:
		return view{side: loadSide, seen: "in the tester"}
	case quantity.TorqueKind:
		return view{side: torqueSide, seen: "from the end"}
	case quantity.PressureKind:
		return view{side: pressureSide, seen: "at its gauge"}
	case quantity.TimeKind:
		return view{side: timeSide, seen: "against the clock"}
	case quantity.FlowKind:
		return view{side: flowSide, seen: "at its gauge"}
	case quantity.AngleKind:
		return view{side: angleSide, seen: "from the side"}
	case quantity.CountKind:
		return view{side: countSide}
	}
	return view{side: shareSide, seen: "from above"}
}

// face is a gauge's face: a scale with its hand.
func (s *sketch) face(x, y, r float64) {
	s.low.circle(handClass, x, y, r)
	for i := range 9 {
		a := -120 + 30*float64(i)
		x1, y1 := point(x, y, a, r-12)
		x2, y2 := point(x, y, a, r-4)
		s.high.line("dir", x1, y1, x2, y2)
	}
	hx, hy := point(x, y, 35, r-18)
	s.high.line("dir lit", x, y, hx, hy)
}

func weighSide(s *sketch) {
	s.low.rect(handClass, 190, 60, 100, 96)
	s.low.rect("metal", 130, 156, 220, 12)
	s.low.rect("metal", 226, 168, 28, 18)
	s.low.trace("metal", corners(150, 260, 170, 186, 310, 186, 330, 260).to('z'))
	s.high.line("dir lit", 240, 246, 262, 208)
	s.high.trace("dir", new(path).to('M', 196, 236).to('A', 48, 48, 0, 0, 1, 284, 236))
}

func loadSide(s *sketch) {
	s.low.rect("metal", 150, 232, 180, 18)
	s.low.rect("metal", 170, 82, 140, 14)
	s.low.rect(handClass, 190, 96, 100, 136)
	s.pull("plane lit", 240, 16, 0, 1, 64)
}

func torqueSide(s *sketch) {
	s.low.circle(handClass, middleX, middleY, 56)
	s.axisCross(middleX, middleY)
	s.turning(middleX, middleY, 92)
}

// turning is an arrow round a middle.
func (s *sketch) turning(x, y, r float64) {
	x1, y1 := point(x, y, -70, r)
	x2, y2 := point(x, y, 58, r)
	s.high.trace("dir lit", new(path).to('M', x1, y1).to('A', r, r, 0, 0, 1, x2, y2))
	tx, ty := point(x, y, 72, r)
	ux, uy := point(0, 0, 70+90+180, 1)
	s.anvil(tx, ty, ux, uy, 26)
}

func pressureSide(s *sketch) {
	s.low.rect("metal", 226, 182, 28, 60)
	s.low.rect("metal", 60, 242, 360, 26)
	s.face(middleX, 110, 74)
}

func flowSide(s *sketch) {
	s.low.rect("metal", 40, 196, 400, 50)
	s.face(middleX, 104, 72)
	s.low.rect("metal", 228, 176, 24, 20)
	s.pull("plane lit", 70, 221, 1, 0, 110)
	s.pull("plane lit", 300, 221, 1, 0, 110)
}

func timeSide(s *sketch) {
	s.clock(middleX, middleY+8, 84)
}

// clock is a stop watch.
func (s *sketch) clock(x, y, r float64) {
	s.low.rect("metal", x-9, y-r-20, 18, 22)
	s.low.circle(handClass, x, y, r)
	for i := range 12 {
		x1, y1 := point(x, y, float64(i)*30, r-12)
		x2, y2 := point(x, y, float64(i)*30, r-4)
		s.high.line("dir", x1, y1, x2, y2)
	}
	hx, hy := point(x, y, 50, r-18)
	s.high.line("dir lit", x, y, hx, hy)
}

func angleSide(s *sketch) {
	s.low.circle("metal", 90, 220, 12)
	s.low.line("ink", 90, 220, 420, 220)
	x, y := point(90, 220, 64, 330)
	s.high.line("plane lit", 90, 220, x, y)
	ax, ay := point(90, 220, 64, 210)
	s.high.trace("dir lit", new(path).to('M', ax, ay).to('A', 210, 210, 0, 0, 1, 300, 220))
}

func countSide(s *sketch) {
	s.low.circle("metal", middleX, middleY, 104)
	s.low.circle("metal", middleX, middleY, 58)
	for i := range 8 {
		x, y := point(middleX, middleY, float64(i)*45+22.5, 81)
		s.low.circle(handClass, x, y, 11)
	}
}

func shareSide(s *sketch) {
	s.low.circle("metal", middleX, middleY, 104)
	s.low.circle("metal", middleX, middleY, 70)
	// The part of the ring that touches.
	x1, y1 := point(middleX, middleY, -100, 87)
	x2, y2 := point(middleX, middleY, 150, 87)
	s.low.circle("thin", middleX, middleY, 87)
	s.high.trace("dir lit", new(path).to('M', x1, y1).to('A', 87, 87, 0, 1, 1, x2, y2))
	s.axisCross(middleX, middleY)
}

// straightEdge is a straight-edge on a face, with a feeler under it.
func straightEdge(s *sketch) {
	s.low.cut(70, 150, 340, 110)
	// The face, hollow in the middle so that the gap can be seen.
	s.low.trace(handClass, new(path).to('M', 70, 150).to('Q', 240, 172, 410, 150).to('L', 410, 144).to('L', 70, 144).to('z'))
	s.low.rect("metal", 50, 104, 380, 40)
	s.feeler(250, 147, 1, 0, 176)
	s.planeName(middleX, 90)
}

// boltSide is a bolt, from end to end.
func boltSide(s *sketch) {
	s.low.rect("metal", 70, middleY-46, 40, 92)
	s.low.rect(handClass, 110, middleY-24, 290, 48)
	d := new(path)
	for x := 320.0; x < 396; x += 11 {
		d.to('M', x, middleY-24).to('l', 8, 48)
	}
	s.low.trace("fin", d)
	s.low.line("axis", 40, middleY, 440, middleY)
	if s.f.Class == book.Outside {
		s.caliper("plane lit", 220, middleY-24, 220, middleY+24, false)
		return
	}
	s.caliper("plane lit", 70, middleY, 400, middleY, false)
}

// toothed is the outline of a gear.
func toothed(x, y, r float64, teeth int, turned float64) *path {
	d := new(path)
	step := 360 / float64(teeth)
	for i := range teeth {
		a := turned + float64(i)*step
		for k, q := range [...][2]float64{{-0.25, -1}, {-0.14, 1}, {0.14, 1}, {0.25, -1}} {
			px, py := point(x, y, a+q[0]*step, r+q[1]*r*math.Min(0.1, 2.2/float64(teeth)))
			if i == 0 && k == 0 {
				d.to('M', px, py)
			} else {
				d.to('L', px, py)
			}
		}
	}
	return d.to('z')
}
