package job

import (
	"fmt"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
)

// Judged is a job's readings held against its book.
type Judged struct {
	State    *State
	Book     *book.Book
	Live     []reading.Reading // that were not put aside, each in its row the entry that it is in
	Readings *judge.Readings   // the same by spot
	Verdicts []judge.Verdict
	Aside    []Aside
}

// An Aside is a reading that was not struck and does not count, and why.
type Aside struct {
	*Taken
	Why string
}

// Judge holds the readings that stand, in the engine as it is fitted now,
// against the book. A reading is of its item: where the item goes, it goes.
func (s *State) Judge(b *book.Book) *Judged {
	j := &Judged{State: s, Book: b}
	j.Live = j.standing()
	j.Readings = judge.File(b, j.Live)
	for i := range j.Readings.Past {
		seq := int64(j.Readings.Past[i].Row)
		n, _ := slices.BinarySearchFunc(s.Readings, seq, func(t Taken, seq int64) int { return int(t.Seq - seq) })
		j.Aside = append(j.Aside, Aside{&s.Readings[n], "a later stage was measured"})
	}
	slices.SortFunc(j.Aside, func(a, b Aside) int { return int(a.Seq - b.Seq) })
	j.Verdicts = judge.Book(b, s.given(), j.Readings.At)
	return j
}

// given is what is known of the engine beside its readings.
func (s *State) given() judge.Given {
	return judge.Given{Conditions: s.Given, Serial: s.About.Serial}
}

// standing returns the readings that count, each in its row the entry that it
// is in.
func (j *Judged) standing() []reading.Reading {
	s := j.State
	struck := s.Struck()
	where := make(map[string]string, len(s.Fitted))
	for at, item := range s.Fitted {
		where[item] = at
	}
	tagged := map[string]bool{} // positions where an item ever was
	found := map[string]string{}
	for i := range s.Moves {
		tagged[s.Moves[i].Position] = true
	}
	for i := range s.Items {
		if at := s.Items[i].Found; at != "" {
			found[at] = s.Items[i].Tag
		}
	}
	all := make([]reading.Reading, 0, len(s.Readings))
	for i := range s.Readings {
		t := &s.Readings[i]
		if struck[t.Seq] != nil {
			continue
		}
		aside := func(why string) { j.Aside = append(j.Aside, Aside{t, why}) }
		spot, at := t.Spot, t.position()
		item := t.Item
		if item == "" && tagged[at] {
			if item = found[at]; item == "" {
				aside("what was measured had no tag, and another item was fitted there")
				continue
			}
		}
		if item != "" {
			now, fitted := where[item]
			if !fitted {
				aside(item + " is fitted nowhere")
				continue
			}
			spot = now + strings.TrimPrefix(spot, at)
		}
		r, err := reading.Take(j.Book, reading.Row{
			Spot: spot, Value: t.Value, Sense: t.Sense, Item: item, Step: t.Step,
			Gauge: t.Gauge, Temperature: t.Temperature, By: t.ReadBy, When: t.ReadAt, Note: t.Note,
		}, false)
		if err != nil {
			aside("the book does not take it: " + err.Error())
			continue
		}
		site := j.Book.SiteAt(r.Spot)
		r.Stage, r.Row = s.stageOf(item, site, t.Stage), int(t.Seq)
		if r.By == "" {
			r.By = t.By
		}
		if why := s.ended(t, item, site); why != "" {
			aside(why)
			continue
		}
		all = append(all, r)
	}
	return all
}

// stageOf is the stage of a site that a reading which did not end is of: that of
// the last rework that the site was named in. So what was left alone is as it
// was found, however often its item went away; and an installed bore is at the
// latest stage of what made it, whoever's stages those are.
func (s *State) stageOf(item string, site *book.Site, stage int) int {
	if stage == reading.Assembled {
		return stage
	}
	last := s.lastRework(item, site.Name())
	for _, of := range site.MadeOf() {
		if i := s.Fitted[of.At()]; i != "" {
			last = max(last, s.lastRework(i, of.Name()))
		}
	}
	return last
}

// ended says why a reading of an item, which is fitted, counts no more; "" where
// it does.
func (s *State) ended(t *Taken, item string, site *book.Site) string {
	for i := range s.Reworks {
		r := &s.Reworks[i]
		later := r.Seq > t.known()
		if r.Item == item && t.Stage != reading.Assembled {
			later = r.Stage > t.Stage // who names a stage knows of it
		}
		if later && r.Item == item && slices.Contains(r.Sites, site.Name()) {
			return fmt.Sprintf("%s came back from rework later: entry %d", item, r.Seq)
		}
		for _, of := range site.MadeOf() {
			if later && r.Item == s.Fitted[of.At()] && slices.Contains(r.Sites, of.Name()) {
				return fmt.Sprintf("%s, which the bore is made of, came back from rework later: entry %d", r.Item, r.Seq)
			}
		}
	}
	if s.takenApart(t, site) {
		return "what the bore was made of is not so fitted any more"
	}
	return ""
}

// takenApart tells whether what an installed bore was made of when a reading of
// it was taken has been moved since, even if it was put back. An item that was
// only given its tag has not moved.
func (s *State) takenApart(t *Taken, site *book.Site) bool {
	for _, of := range others(site) {
		at := of.At()
		if t.position() != site.At() {
			return true // what is at the other position did not come with it
		}
		for i := range s.Moves {
			if m := &s.Moves[i]; m.Position == at && m.Seq > t.known() {
				if tagged, ok := s.Item(m.Item); !ok || tagged.Seq != m.Seq {
					return true
				}
			}
		}
	}
	return false
}

// Of returns the verdicts on a part's lines.
func (j *Judged) Of(part string) []judge.Verdict {
	var all []judge.Verdict
	for i := range j.Verdicts {
		if j.Verdicts[i].Line.Part().Key == part {
			all = append(all, j.Verdicts[i])
		}
	}
	return all
}
