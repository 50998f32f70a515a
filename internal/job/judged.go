package job

import (
	"fmt"
	"slices"
	"strconv"
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
	g := judge.Given{Conditions: s.Given}
	if n, err := strconv.ParseInt(s.About.Serial, 10, 64); err == nil && n > 0 {
		g.Serial = n
	}
	return g
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
		r.Stage, r.Row = t.Stage, int(t.Seq)
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

// ended says why a reading of an item, which is fitted, counts no more; "" where
// it does.
func (s *State) ended(t *Taken, item string, site *book.Site) string {
	if len(site.Feature.Made) > 0 && !slices.Equal(t.With, s.makes(site, item, s.Size)) {
		return "what the bore was made of is not so fitted any more"
	}
	for i := range s.Reworks {
		r := &s.Reworks[i]
		_, name, _ := strings.Cut(site.String(), ".")
		if r.Item == item && r.Stage > t.Stage && slices.Contains(r.Sites, name) {
			return fmt.Sprintf("%s came back from rework later: entry %d", item, r.Seq)
		}
		for _, of := range site.MadeOf() {
			_, name, _ := strings.Cut(of.String(), ".")
			if r.Seq > t.Seq && r.Item == s.Fitted[of.At()] && slices.Contains(r.Sites, name) {
				return fmt.Sprintf("%s, which the bore is made of, came back from rework later: entry %d", r.Item, r.Seq)
			}
		}
	}
	return ""
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
