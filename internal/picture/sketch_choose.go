package picture

import "tenths/internal/book"

// A likeness is what a part is drawn as.
type likeness uint8

const (
	likePlain likeness = iota
	likeShaft
	likeRod
	likeBarrel
	likeHead
	likePiston
	likePin
	likeRing
	likeCase
	likeValve
	likeSpring
	likeRocker
	likePushrod
	likeLifter
	likeGear
	likePump
)

// likenessOf finds what a part is drawn as: by its shape, and where the book gives
// none, or only "plain", by the trade's words in its key and name.
func likenessOf(p *book.Part) likeness {
	words := tradeOf(p.Key, p.Name)
	switch p.Shape {
	case book.ShaftShape:
		return likeShaft
	case book.RodShape:
		return likeRod
	case book.BarrelShape:
		return likeBarrel
	case book.PistonShape:
		return likePiston
	case book.PinShape:
		return likePin
	case book.CaseShape:
		return likeCase
	case book.ValveShape:
		return likeValve
	case book.SpringShape:
		return likeSpring
	case book.GearShape:
		if words.has("pump") {
			return likePump
		}
		return likeGear
	}
	switch {
	case words.has("pushrod") || words.has("push") && words.has("rod"):
		return likePushrod
	case words.has("lifter", "tappet", "follower"):
		return likeLifter
	case words.has("rocker") && words.has("shaft"):
		return likePin
	case words.has("rocker"):
		return likeRocker
	case words.has("pump"):
		return likePump
	case words.has("head"):
		return likeHead
	case words.has("crankshaft", "camshaft", "crank", "cam", "shaft") && !words.has("bearing"):
		return likeShaft
	case words.has("crankcase", "case"):
		return likeCase
	case words.has("cylinder", "barrel") && !words.has("head"):
		return likeBarrel
	case words.has("ring") && !words.has("gear"):
		return likeRing
	case words.has("piston") && !words.has("pin"):
		return likePiston
	case words.has("spring"):
		return likeSpring
	case words.has("valve"):
		return likeValve
	case words.has("rod"):
		return likeRod
	case words.has("pin", "gudgeon"):
		return likePin
	case words.has("gear"):
		return likeGear
	}
	return likePlain
}

// choose finds how a spot is drawn. Where it has directions it can be seen from
// the end, whatever it is.
func (s *sketch) choose() view {
	v := s.likely()
	switch {
	case len(s.f.Directions) == 0:
	case v.end == nil:
		v.end = endStations
	case v.noDirections:
		v.end = endRound(s.f.Class)
	}
	return v
}

func endRound(c book.Class) func(*sketch) {
	switch c {
	case book.Outside:
		return endOutside
	case book.Inside:
		return endInside
	}
	return endStations
}

// likely finds how a spot is drawn by its part and words.
func (s *sketch) likely() view {
	switch s.f.Class {
	case book.Other:
		// A weight, a time, a pressure looks alike whatever it is of.
		if !s.isLoad() && !s.isContact() {
			return s.otherView()
		}
	case book.Clearance:
		if s.name.has("edge", "deck", "flatness") || s.name.has("flange", "joint", "face") && !s.name.has("end", "side") {
			return view{side: straightEdge, end: s.ifDirections(endStations), seen: "under a straight-edge"}
		}
		if s.name.has("arbor", "twist", "bend") {
			return view{side: arborSide, seen: "with arbors in both bores"}
		}
	case book.Extent, book.Outside:
		if s.name.has("bolt", "stud", "screw") {
			return view{side: boltSide, seen: "from the side"}
		}
	}
	switch likenessOf(s.p) {
	case likeShaft:
		return s.shaftView()
	case likeRod:
		return s.rodView()
	case likeBarrel, likeHead:
		return s.cylinderView()
	case likePiston:
		return s.pistonView()
	case likePin:
		return s.pinView()
	case likeRing:
		return s.ringView()
	case likeCase:
		return s.caseView()
	case likeValve:
		return s.valveView()
	case likeSpring:
		return s.springView()
	case likeRocker:
		return s.rockerView()
	case likePushrod:
		return s.pushrodView()
	case likeLifter:
		return s.lifterView()
	case likeGear:
		return s.gearView()
	case likePump:
		return s.pumpView()
	}
	return s.plainView()
}
