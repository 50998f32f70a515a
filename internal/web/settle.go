package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
)

// strikeReasons and skipReasons are what is picked from, by a digit each; any
// other reason is typed.
var (
	strikeReasons = []string{
		"misread", "wrong spot", "part not clean", "gauge not set", "gauge slipped",
		"part and gauge not at one temperature", "entered for another", "read again to be sure",
	}
	skipReasons = []string{
		"covered: can't be reached yet", "part is away", "gauge is away", "damaged: can't be measured",
		"to be measured after rework", "does not apply to this engine", "left for the next shift", "to be asked",
	}
)

// A settling is a spot where more than one reading stands, until all but one
// are struck.
type settling struct {
	Spot, Name, Words string
	Readings          []settled
	Action, Back      string
	May               bool // who looks may strike
	Keys              bool // digits choose: the bench's script is here
}

// A settled is one of the readings that stand at one spot.
type settled struct {
	Entry        int64
	Figure       string // the size, where the gauge showed a deviation
	Long         bool   // in words rather than a figure
	Shown        string // what the gauge showed then
	By, Reader   string // who entered it, and who read it where that was another
	When         string
	Gauge, Notes string
	Counts       bool // it is the one that counts meanwhile
}

// settlings are the spots of a job that wait to be settled, in the order of the
// book; here: of one spot only, −1: of all.
func settlings(j *job.Judged, people *shoplog.State, handle string, here book.SpotID) []settling {
	wait := map[book.SpotID]bool{}
	for i := range j.Verdicts {
		for _, a := range j.Verdicts[i].Asks {
			if a.Kind == judge.Settle && (here < 0 || a.Spot == here) {
				wait[a.Spot] = true
			}
		}
	}
	may := shop.MayAsk(people, handle, &job.StrikeReading{}, time.Now())
	var all []settling
	for id := range j.Book.Spots {
		spot := book.SpotID(id)
		if !wait[spot] {
			continue
		}
		site := j.Book.SiteAt(spot)
		one := settling{
			Spot: j.Book.Spots[id].String(), Name: siteName(site), Words: spotWords(j.Book.Spots[id]),
			Action: orderPath(j.State.About.Order) + "/strikes", Back: orderPath(j.State.About.Order),
			May: may, Keys: here >= 0,
		}
		if here >= 0 {
			one.Back += "/bench?spot=" + one.Spot
		}
		counting := counts(j, site)
		list := j.Readings.At(spot)
		for i := range list {
			r := &list[i]
			t := takenIn(j.State, int64(r.Row))
			s := settled{
				Entry: t.Seq, Figure: r.Text(), By: name(people, t.By), When: t.ReadAt, Gauge: t.Gauge,
				Notes:  strings.Join(slices.DeleteFunc([]string{t.Item, t.Temperature, t.Note}, func(s string) bool { return s == "" }), ", "),
				Counts: r.Exact() && counting != nil && r.Value.Cmp(*counting) == 0,
			}
			if r.Kind == reading.Deviation {
				s.Figure, s.Shown = sizeOf(r)+" "+r.Setting.Unit.String(), r.Text()
			}
			s.Long = len(s.Figure) > 14
			if t.ReadBy != "" && t.ReadBy != t.By {
				s.Reader = name(people, t.ReadBy)
			}
			if s.When == "" {
				s.When = ago(t.Recorded.Time())
			}
			one.Readings = append(one.Readings, s)
		}
		all = append(all, one)
	}
	return all
}

// takenIn is the reading that an entry has.
func takenIn(s *job.State, entry int64) *job.Taken {
	n, ok := slices.BinarySearchFunc(s.Readings, entry, func(t job.Taken, entry int64) int { return int(t.Seq - entry) })
	if !ok {
		panic("BUG: a reading that stands is in no entry")
	}
	return &s.Readings[n]
}

// sizeOf is the size that a deviation comes to.
func sizeOf(r *reading.Reading) string {
	size, _ := r.Value.Text(r.Setting.Unit, max(r.Setting.Decimals(), r.Value.Decimals(r.Setting.Unit, 6)))
	return size
}

// reason is why something is done: picked, typed, or picked and said more of.
func reason(r *http.Request) string {
	why, words := value(r, "why"), value(r, "words")
	if why != "" && words != "" {
		return why + ": " + words
	}
	return why + words
}

// stillOpen refuses to settle a spot where only one reading is left: somebody
// else settled it since the page was made.
func stillOpen(j *job.Judged, spot string) error {
	if id, ok := j.Book.Spot(spot); ok && len(j.Readings.At(id)) > 1 {
		return nil
	}
	return record.Refuse("settled", "look again at what is left", "%s is settled already: one reading stands there", spot)
}
