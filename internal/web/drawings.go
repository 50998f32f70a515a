package web

import (
	"html/template"
	"strconv"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/picture"
)

// standings says how each site and each position stands: as the worst of the
// lines that look at it.
func standings(j *job.Judged) (sites map[*book.Site]picture.State, positions map[string]picture.State) {
	sites, positions = map[*book.Site]picture.State{}, map[string]picture.State{}
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		if v.Ungraded != "" {
			continue
		}
		state := stateOf(v)
		for _, s := range v.Line.Instances[v.At].Sites {
			whole := j.Book.Sites[s.Index]
			sites[whole] = sites[whole].With(state)
			positions[whole.At()] = positions[whole.At()].With(state)
		}
	}
	return sites, positions
}

// stateOf is how a drawing shows a verdict.
func stateOf(v *judge.Verdict) picture.State {
	switch {
	case v.Grade == judge.Beyond:
		return picture.Beyond
	case v.Open() || v.Grade == judge.NoGrade:
		return picture.Open
	case v.Grade == judge.Serviceable:
		return picture.Serviceable
	}
	return picture.New
}

// A crankDrawing is the crankshaft lying, and upright with a list beside it for
// where there is too little room; none where the book has no layout of one.
type crankDrawing struct {
	Lying, Upright template.HTML
	Least          string // the class that says from what width on it lies
	Rows           []crankRow
}

// A crankRow is a journal in the list beside the shaft: how it stands, as the
// worst of its lines does.
type crankRow struct {
	Spot, Name, Figure, Word string
	Ruler                    template.HTML
}

// crankLettering is the width under which the names under a lying shaft can't
// be read.
const crankLettering = 540

func crankOf(words judge.Words, j *job.Judged, sites map[*book.Site]picture.State, order string) crankDrawing {
	state := func(s *book.Site) picture.State { return sites[s] }
	href := func(s *book.Site) string { return order + "/bench?spot=" + j.Book.Spots[s.Spots[0]].String() }
	d := crankDrawing{
		Lying:   template.HTML(picture.Crank(j.Book, state, href, nil)),
		Upright: template.HTML(picture.CrankUpright(j.Book, state, nil, nil)),
		Least:   leastClass(max(crankLettering, picture.CrankLeast(j.Book))),
	}
	for _, site := range picture.CrankSites(j.Book) {
		row := crankRow{Spot: j.Book.Spots[site.Spots[0]].String(), Name: siteName(site)}
		if v := worstAt(j, site); v != nil {
			row.Word, row.Ruler = gradeWord(v), template.HTML(picture.Column(words, v))
			if v.Measured {
				_, row.Figure = actual(words, v)
			}
		}
		d.Rows = append(d.Rows, row)
	}
	return d
}

// worstAt is what stands worst of the lines that look at a site; nil where none
// does. Of equals it is the first in the book that has a ruler.
func worstAt(j *job.Judged, site *book.Site) *judge.Verdict {
	var worst *judge.Verdict
	worse := func(v *judge.Verdict) bool {
		return worst == nil || rank(v) > rank(worst) || rank(v) == rank(worst) && len(worst.Limit.Tiers) == 0 && len(v.Limit.Tiers) > 0
	}
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		if v.Line.Part() != site.Feature.Part || v.Line.Judges == book.SameStep && v.Grade != judge.Beyond {
			continue // that all are at one step says nothing of this one
		}
		for _, s := range v.Line.Instances[v.At].Sites {
			if s.Index == site.Index && worse(v) {
				worst = v
			}
		}
	}
	return worst
}

// An engineDrawing is the engine as a whole, lying and upright.
type engineDrawing struct {
	Lying, Upright template.HTML
	Least          string
	Wide           bool // it has no room beside the list of parts
}

// besideParts is how wide the place beside the list of parts is at least.
const besideParts = 288

// wholeEngine draws the engine, each part as it stands.
func wholeEngine(j *job.Judged, positions map[string]picture.State, order string) engineDrawing {
	state := func(part string, position int) picture.State { return positions[positionAt(part, position)] }
	href := func(part string, position int) string { return order + "/bench?part=" + part }
	least := picture.EngineLeast(j.Book)
	return engineDrawing{
		template.HTML(picture.Engine(j.Book, state, href, false)), template.HTML(picture.EngineUpright(j.Book, state, href)),
		leastClass(least), least > besideParts,
	}
}

// leastClass is the class of a drawing that needs so many pixels: the style
// sheet knows one for each hundred.
func leastClass(px int) string {
	const most = 1400
	if px > most {
		return "least-never"
	}
	return "least-" + strconv.Itoa(max(300, (px+99)/100*100))
}

// smallEngine draws the engine so that it is recognised on the floor.
func smallEngine(j *job.Judged) template.HTML {
	_, positions := standings(j)
	state := func(part string, position int) picture.State { return positions[positionAt(part, position)] }
	return template.HTML(picture.Engine(j.Book, state, nil, true))
}

func positionAt(part string, position int) string {
	if position == 0 {
		return part
	}
	return part + "-" + strconv.Itoa(position)
}

// sideOf draws the part that a spot is on from the side, endOf from its end.
func sideOf(j *job.Judged, id book.SpotID) template.HTML {
	return template.HTML(picture.SketchSide(j.Book, id, readingText(j)))
}

func endOf(j *job.Judged, id book.SpotID) template.HTML {
	return template.HTML(picture.SketchEnd(j.Book, id, readingText(j)))
}

// miniOf draws both for where there is little room.
func miniOf(j *job.Judged, id book.SpotID) template.HTML {
	return template.HTML(picture.SketchSide(j.Book, id, nil) + picture.SketchEnd(j.Book, id, nil))
}

// readingText is what was read at a spot, for a drawing.
func readingText(j *job.Judged) func(book.SpotID) string {
	return func(id book.SpotID) string {
		if list := j.Readings.At(id); len(list) > 0 {
			return list[len(list)-1].Shown.Digits
		}
		return ""
	}
}
