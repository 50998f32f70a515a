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

// crankOf draws the crankshaft, lying and upright; nothing where the book has
// no layout of one.
func crankOf(j *job.Judged, sites map[*book.Site]picture.State, order string) (lying, upright template.HTML) {
	state := func(s *book.Site) picture.State { return sites[s] }
	href := func(s *book.Site) string { return order + "/bench?spot=" + j.Book.Spots[s.Spots[0]].String() }
	return template.HTML(picture.Crank(j.Book, state, href, nil)), template.HTML(picture.CrankUpright(j.Book, state, href, nil))
}

// wholeEngine draws the engine, each part as it stands.
func wholeEngine(j *job.Judged, positions map[string]picture.State, order string) template.HTML {
	state := func(part string, position int) picture.State { return positions[positionAt(part, position)] }
	href := func(part string, position int) string { return order + "/bench?part=" + part }
	return `<div class="wide-only">` + template.HTML(picture.Engine(j.Book, state, href, false)) + `</div><div class="phone-only">` +
		template.HTML(picture.EngineUpright(j.Book, state, href)) + `</div>`
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
