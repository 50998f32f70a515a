package picture

import (
	"math"
	"slices"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// rodView draws a spot of a connecting rod.
func (s *sketch) rodView() view {
	switch s.f.Class {
	case book.Inside:
		if s.axial() {
			break
		}
		v := view{side: rodBore, end: endBig, seen: "in section", along: true, up: "along the beam"}
		switch {
		case s.f.Places > 2:
			v.end, v.up, v.noDirections = endKnuckles, "", true
		case s.small():
			v.end = endSmall
		}
		return v
	case book.Outside:
		if s.axial() {
			return view{side: rodWidth, end: s.ifDirections(endBigStations), seen: "edge on", along: true, up: "along the beam"}
		}
	case book.Clearance:
		if s.name.has("side") {
			return view{side: rodSideClearance, end: s.ifDirections(endBigStations), seen: "on its pin", along: true, up: "along the beam"}
		}
	case book.Extent:
		switch {
		case s.name.has("arbor", "centre", "center", "distance"):
			return view{side: arborSide, seen: "with arbors in both bores"}
		case s.name.has("twist", "bend"):
			return view{side: arborSide, seen: "with arbors in both bores"}
		case s.name.has("shell", "insert", "wall"):
			return view{side: shellSide, seen: "edge on"}
		}
	case book.Check:
		return view{side: rodLook, seen: "from its face"}
	}
	return s.plainView()
}

// small tells whether a bore is at the small end: by its words, or because it
// is the last of the rod's bores.
func (s *sketch) small() bool {
	switch {
	case s.name.has("small", "bush", "bushing", "piston", "gudgeon", "wrist") && !s.name.has("big", "bigend", "knuckle"):
		return true
	case s.name.has("big", "bigend", "bearing", "housing", "fitted", "knuckle", "eye", "insert", "crank", "crankpin", "large"):
		return false
	}
	var bores []*book.Feature
	for _, f := range s.p.Features {
		if f.Class == book.Inside {
			bores = append(bores, f)
		}
	}
	return len(bores) > 1 && slices.Index(bores, s.f) == len(bores)-1
}

func rodBore(s *sketch) {
	s.orderAlong()
	lining := 0.0
	if s.lined() {
		lining = 9
	}
	if s.small() {
		s.boreSection(150, 330, 42, 26, 8)
		return
	}
	s.boreSection(130, 350, 58, 30, lining)
}

// bigEnd is the big end of a rod from its face, its beam up, its cap below.
func (s *sketch) bigEnd(y, r float64, classes string) {
	ring := r + 24
	s.low.trace("metal", corners(endX-26, 0, endX-34, y-ring+6, endX+34, y-ring+6, endX+26, 0))
	s.low.trace("thin", corners(endX-12, 0, endX-14, y-ring))
	s.low.trace("thin", corners(endX+12, 0, endX+14, y-ring))
	if s.capped() {
		s.low.rect("metal", endX-ring-18, y-34, 34, 68)
		s.low.rect("metal", endX+ring-16, y-34, 34, 68)
	}
	s.low.circle("metal", endX, y, ring)
	if s.capped() {
		s.low.line("ink", endX-ring-18, y, endX-r, y)
		s.low.line("ink", endX+r, y, endX+ring+18, y)
	}
	if s.lined() {
		s.low.circle("metal is-done", endX, y, r+8)
	}
	s.low.circle(classes, endX, y, r)
	s.axisCross(endX, y)
}

// capped tells whether the big end has a cap: that of a rod in a radial engine is
// in one piece.
func (s *sketch) capped() bool {
	return !s.part.has("link", "articulated", "master") && (s.b.Layout == nil || s.b.Layout.Arrangement != book.Radial)
}

func endBig(s *sketch) {
	const y, r = 184.0, 68.0
	if s.master() {
		s.masterEnd(166, 58)
		s.across(endX, 166, 58, 66, true)
		return
	}
	s.bigEnd(y, r, "wash")
	s.across(endX, y, r, r+20, true)
}

// master tells whether the rod is one that carries others on its big end.
func (s *sketch) master() bool {
	l := s.b.Layout
	if l == nil {
		return s.part.has("master")
	}
	for i := range l.Throws {
		if slices.Contains(l.Of[s.p], l.Throws[i].Master) {
			return true
		}
	}
	return false
}

// masterEnd is the big end of a master rod from its face, in one piece, the holes
// of its knuckle pins pale.
func (s *sketch) masterEnd(y, r float64) {
	s.low.trace("metal", corners(endX-24, 0, endX-30, y-96, endX+30, y-96, endX+24, 0))
	s.low.circle("metal", endX, y, 128)
	for i := range 6 {
		x, y := point(endX, y, 360*float64(i+1)/7, 98)
		s.low.circle("behind", x, y, 18)
	}
	if s.lined() {
		s.low.circle("metal is-done", endX, y, r+8)
	}
	s.low.circle("wash", endX, y, r)
	s.axisCross(endX, y)
}

// endBigStations is the big end from its face, with places round it.
func endBigStations(s *sketch) {
	const y, r = 158.0, 64.0
	s.bigEnd(y, r, "wash")
	s.stations(endX, y, r+24, r+24)
}

// endSmall is the small end of a rod from its face, its beam down.
func endSmall(s *sketch) {
	const y, r = 128.0, 66.0
	s.low.trace("metal", corners(endX-30, y+r+14, endX-46, endWide, endX+46, endWide, endX+30, y+r+14))
	s.low.circle("metal", endX, y, r+30)
	s.low.circle("metal is-done", endX, y, r+9)
	s.low.circle("wash", endX, y, r)
	s.axisCross(endX, y)
	s.across(endX, y, r, r+28, true)
}

// endKnuckles is the big end of a master rod with the holes of its knuckle pins
// round it.
func endKnuckles(s *sketch) {
	const y = 166.0
	s.low.trace("metal", corners(endX-24, 0, endX-30, y-96, endX+30, y-96, endX+24, 0))
	s.low.circle("metal", endX, y, 132)
	s.low.circle("metal", endX, y, 58)
	n := s.f.Places
	var lx, ly, la float64
	for i := range n {
		// Round from the beam, which has no hole.
		a := 360 * float64(i+1) / float64(n+1)
		x, y := point(endX, y, a, 95)
		classes := "metal"
		r := min(22, 95*math.Sin(math.Pi/float64(n+1))*0.62)
		if i+1 == s.site.Place {
			classes, lx, ly, la = "wash", x, y, a
		}
		s.low.circle(classes, x, y, r)
		if r > 12 && i+1 != s.site.Place {
			s.high.say("", atMiddle, x, y+7, nameSize, numbered("", i+1)[1:])
		}
	}
	if lx == 0 && ly == 0 {
		return
	}
	ux, uy := point(0, 0, la+90, 1)
	r := min(22, 95*math.Sin(math.Pi/float64(n+1))*0.62)
	s.caliper("dir lit", lx-ux*r, ly-uy*r, lx+ux*r, ly+uy*r, true)
	s.high.say("dn lit", atMiddle, endX, y+8, 24, numbered("", s.site.Place)[1:])
}

// rodWidth is the big end edge on, with its width.
func rodWidth(s *sketch) {
	s.rodEdge(handClass)
	y := 190.0
	if at, _ := s.bearings(); len(at) > 0 {
		y -= 52 * math.Cos(at[s.direction]*math.Pi/180)
	}
	s.caliper("plane lit", middleX-64, y, middleX+64, y, false)
}

// rodEdge is a rod edge on: its big end below.
func (s *sketch) rodEdge(classes string) {
	s.low.rect("metal", middleX-20, 10, 40, 116)
	s.low.rect(classes, middleX-64, 116, 128, 150)
	s.low.line("axis", 90, 190, 390, 190)
	s.low.line("ink", middleX-64, 190, middleX+64, 190)
}

// rodSideClearance is a rod on its pin between the cheeks.
func rodSideClearance(s *sketch) {
	s.low.rect("cheek", 104, 30, 34, 236)
	s.low.rect("cheek", 342, 30, 34, 236)
	s.low.rect("metal", 138, 120, 204, 64)
	s.low.rect("metal", 150, 74, 178, 156)
	s.low.rect("metal", middleX-22, 4, 44, 70)
	s.low.rect(handClass, 328, 74, 14, 156)
	s.axisAlong(152)
	s.feeler(335, 96, 0, -1, 56)
}

// arborSide is a rod with an arbor in each bore: bend from the distance between
// them at both ends, twist from a feeler under one.
func arborSide(s *sketch) {
	if s.f.Class == book.Clearance || s.name.has("twist") {
		// Along the rod: both arbors on parallels.
		s.low.rect("metal", 40, 196, 400, 16)
		s.low.rect("metal", 70, 168, 44, 28)
		s.low.rect("metal", 366, 168, 44, 28)
		s.low.poly("metal", 60, 152, 420, 140, 420, 154, 60, 166)
		s.low.rect("metal", middleX-46, 96, 92, 112)
		s.low.rect(handClass, 366, 158, 44, 10)
		s.feeler(388, 162, 0.8, -0.6, 64)
		return
	}
	s.low.trace("metal", corners(middleX-18, 84, middleX-26, 196, middleX+26, 196, middleX+18, 84).to('z'))
	s.low.circle("metal", middleX, 70, 30)
	s.low.circle("metal", middleX, 216, 46)
	s.low.rect("metal", 60, 63, 360, 14)
	s.low.rect("metal", 60, 209, 360, 14)
	if s.f.Unit.Kind() == quantity.AngleKind {
		s.high.line("plane lit", 60, 84, 420, 56)
		s.low.line("plane", 60, 70, 420, 70)
		return
	}
	s.orderAlong()
	n := len(s.f.Planes)
	if n == 0 {
		s.caliper("plane lit", 92, 77, 92, 209, true)
		return
	}
	for i, name := range s.f.Planes {
		x := 92 + 296*float64(i)/float64(max(1, n-1))
		if s.flip {
			x = 480 - x
		}
		classes := "pl"
		if i == s.plane {
			classes = "pl lit"
			s.caliper("plane lit", x, 77, x, 209, true)
		} else {
			s.high.line("plane", x, 77, x, 209)
		}
		s.high.say(classes, atMiddle, x, 252, planeSize, name)
		s.lettered = true
	}
}

// rodLook is a rod from its face, with where to look: its numbers at the cap,
// or all of it.
func rodLook(s *sketch) {
	rodFace(s, handClass)
	if s.name.has("number", "bolt", "nut", "thread", "cap") {
		s.lens(150, 76, 36)
		return
	}
	s.lens(250, 130, 48)
}

// rodFace is a whole rod lying down, from its face.
func rodFace(s *sketch, classes string) {
	s.low.trace(classes, corners(210, 118, 372, 130, 372, 162, 210, 174).to('z'))
	if s.capped() {
		s.low.rect("metal", 132, 56, 36, 30)
		s.low.rect("metal", 132, 206, 36, 30)
	}
	s.low.circle(classes, 150, middleY, 80)
	s.low.circle("metal", 150, middleY, 54)
	s.low.circle(classes, 390, middleY, 40)
	s.low.circle("metal", 390, middleY, 24)
	if s.capped() {
		s.low.line("ink", 150, 56, 150, middleY-54)
		s.low.line("ink", 150, middleY+54, 150, 236)
	}
}

// weighRod is a rod on the balance.
func weighRod(s *sketch) {
	s.low.trace(handClass, corners(170, 70, 320, 80, 320, 104, 170, 114).to('z'))
	s.low.circle(handClass, 150, 92, 52)
	s.low.circle("metal", 150, 92, 34)
	s.low.circle(handClass, 336, 92, 28)
	s.low.circle("metal", 336, 92, 16)
	s.balance(150)
}

// balance is a balance under what lies on it, its pan at y.
func (s *sketch) balance(y float64) {
	s.low.rect("metal", 90, y, 300, 12)
	s.low.rect("metal", 226, y+12, 28, 16)
	s.low.trace("metal", corners(150, y+112, 168, y+28, 312, y+28, 330, y+112).to('z'))
	s.high.trace("dir", new(path).to('M', 198, y+84).to('A', 46, 46, 0, 0, 1, 282, y+84))
	s.high.line("dir lit", 240, y+98, 262, y+56)
}
