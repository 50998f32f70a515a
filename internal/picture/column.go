package picture

import (
	"tenths/internal/judge"
	"tenths/metrology/limit"
)

// Heights in a column, in pixels.
const (
	columnHeight = 26
	columnEdge   = 19
	columnTip    = 12
)

// Column draws a verdict's ruler for a row of a table, 26 px high and as wide
// as its cell, at least 112 px. It has no graduations, so it claims no scale:
// new limits stand at 38 and 62 per cent and those of service at 16 and 84 in
// every row. Of a line that judges no figure it draws nothing.
func Column(w judge.Words, v *judge.Verdict) SVG { return drawColumn(w, v, false) }

// MovingColumn is [Column] for a script; see [MovingScale]. A column has no
// figures, and its edge is broken 9 px inward.
func MovingColumn(w judge.Words, v *judge.Verdict) SVG { return drawColumn(w, v, true) }

// The shapes of a column's marks.
const (
	columnHead  = "M0 1l6 -11h-12z"
	columnLess  = "M0 0l3.5 -7h-7z" // the end of a fit that stands better
	columnBreak = "M-3.5 5l3 -10M0.5 5l3 -10"
	columnGap   = "M-3.5 5l3 -10h4l-3 10z"
)

func drawColumn(w judge.Words, v *judge.Verdict, moving bool) SVG {
	if !judgesFigure(v.Line) {
		return ""
	}
	f := faceOf(w, v)
	r := f.rule(OfColumn)
	marks := f.marks(&r)
	if v.Held != limit.Both && !v.Between && len(marks) == 2 {
		// Of a size the end that counts alone: a row is read at a glance.
		if v.Held == limit.Low {
			marks = marks[:1]
		} else {
			marks = marks[1:]
		}
	}
	p := pen{make([]byte, 0, 1<<10)}
	f.root(&p, w, "col", columnHeight)
	p.el("line", class("edge"), pc("x1", f.edgeFrom(&r)), str("x2", "100%"), num("y1", columnEdge), num("y2", columnEdge))
	f.bars(&p, &r, bar{edge: columnEdge, height: 6, rise: 11, fall: 5, wall: "M0 -7v14M-4 -7v14"})
	f.hatches(&p, &r, marks, columnEdge-7, 7, moving)
	f.span(&p, &r, marks, columnEdge-12.5, moving)
	for _, h := range r.allHeads(marks, moving) {
		hidden := attr{}
		m := mark{end: h.End, on: true}
		if i := markAt(marks, h.End); i >= 0 {
			m = marks[i]
		} else {
			hidden = str("display", "none")
		}
		shape := columnHead
		if len(marks) == 2 && !v.Between && m.past == "" && (v.Worse == limit.Low && m.end == highEnd || v.Worse == limit.High && m.end == lowEnd) {
			shape = columnLess
		}
		p.open("svg", class("at pointer "+m.end), pc("x", m.x), num("y", columnTip), str("overflow", "visible"), num("width", 1), num("height", 1), hidden)
		f.broken(&p, m, 9, columnEdge-columnTip, columnGap, columnBreak, moving)
		p.el("path", class("mark"), str("d", shape))
		p.shut("svg")
	}
	p.shut("svg")
	return p.svg()
}
