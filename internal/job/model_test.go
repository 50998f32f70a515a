package job_test

import (
	"fmt"
	"slices"
	"strings"

	"tenths/internal/job"
	"tenths/internal/reading"
)

// A model is a job as plainly as it can be told: what happened to its pieces, in
// order, and what was read of them. What counts is found by going through all of
// it each time.
type model struct {
	size   int64
	part   map[string]string // of each tag
	events []event
	taken  []*observed
	word   string // of the bushing
	holder string
	closed bool
	role   map[string]string // of people
}

// An event is something that happened to a piece.
type event struct {
	seq   int64
	what  string // found, in, out, back from rework
	item  string
	at    string
	sites []string
	stage int
}

// An observed is a reading, and what was known when it was taken.
type observed struct {
	seq, known int64
	at, site   string // rod-1, bigend
	rest       string // .-.90
	item       string
	stage      int
	struck     bool
}

func newModel(k *bench) *model {
	m := &model{part: map[string]string{}, role: map[string]string{}}
	for h, p := range k.shop.People {
		if p.Until == "" {
			m.role[h] = p.Role
		}
	}
	return m
}

// places are the positions of the small book, with what goes there.
var places = map[string]string{
	"crank": "crank", "case": "case", "key": "key", "shell-1": "shell", "shell-2": "shell", "rod-1": "rod", "rod-2": "rod",
}

// sitesOf are the sites of its parts.
var sitesOf = map[string][]string{
	"crank": {"main-1", "main-2", "pin-1", "pin-2"}, "case": {"bore-1", "bore-2", "fitted-1", "fitted-2"}, "shell": {"wall"},
	"rod": {"bigend", "bushing", "side", "crack"}, "key": {"width"},
}

// there returns what is at a position after so many entries; known tells whether
// anything ever was.
func (m *model) there(at string, size int64) (item string, known bool) {
	for _, e := range m.events {
		if e.at == at && e.seq <= size {
			item, known = e.item, true
			if e.what == "out" {
				item = ""
			}
		}
	}
	return item, known
}

// where returns where an item is after so many entries.
func (m *model) where(item string, size int64) string {
	at := ""
	for _, e := range m.events {
		if e.item == item && e.seq <= size && e.at != "" {
			at = e.at
			if e.what == "out" {
				at = ""
			}
		}
	}
	return at
}

func (m *model) stage(item string, size int64) int {
	stage := 0
	for _, e := range m.events {
		if e.what == "back" && e.item == item && e.seq <= size {
			stage = e.stage
		}
	}
	return stage
}

// add notes that a fact was entered; what it is is for who adds it.
func (m *model) add() int64 {
	m.size++
	return m.size
}

// fits returns what a request to fit comes to: what leaves and what comes.
func (m *model) fits(places_ []job.ItemFitted) (out, in []event, ok bool) {
	named, items := map[string]bool{}, map[string]bool{}
	for _, p := range places_ {
		now, known := m.there(p.Position, m.size)
		_, place := places[p.Position]
		switch {
		case !place || named[p.Position] || p.Item == now:
			return nil, nil, false
		case p.Item != "" && !known && slices.ContainsFunc(m.taken, func(r *observed) bool { return r.item == "" && r.at == p.Position }):
			return nil, nil, false
		case p.Item != "" && (items[p.Item] || m.part[p.Item] != places[p.Position]):
			return nil, nil, false
		}
		named[p.Position], items[p.Item] = true, true
		if now != "" {
			out = append(out, event{what: "out", item: now, at: p.Position})
		}
	}
	for _, p := range places_ {
		if p.Item == "" {
			continue
		}
		if was := m.where(p.Item, m.size); was != "" && !named[was] {
			out = append(out, event{what: "out", item: p.Item, at: was})
		}
		in = append(in, event{what: "in", item: p.Item, at: p.Position})
	}
	return out, in, len(places_) > 0
}

// stands tells whether a request may stand, and notes what it comes to.
func (m *model) stands(by string, r job.Request) bool {
	if m.size == 0 {
		return false
	}
	if m.closed {
		switch r.(type) {
		case *job.WriteNote, *job.HandOver, *job.Reopen:
		default:
			return false
		}
	}
	switch r := r.(type) {
	case *job.StateCondition:
		if r.Name != "bushing" || r.Word != "new" && r.Word != "used" || r.Word == m.word {
			return false
		}
		m.word = r.Word
		m.add()
	case *job.RegisterItem:
		_, used := m.part[r.Item]
		_, known := m.there(r.Found, m.size)
		if _, part := sitesOf[r.Part]; !part || used || r.Item == "" || r.Found != "" && (places[r.Found] != r.Part || known) {
			return false
		}
		m.part[r.Item] = r.Part
		m.events = append(m.events, event{seq: m.add(), what: "found", item: r.Item, at: r.Found})
	case *job.Fit:
		out, in, ok := m.fits(r.Places)
		if !ok {
			return false
		}
		for _, e := range append(out, in...) {
			e.seq = m.add()
			m.events = append(m.events, e)
		}
	case *job.ReturnFromRework:
		part, known := m.part[r.Item]
		if !known || len(r.Sites) == 0 || slices.ContainsFunc(r.Sites, func(s string) bool { return !slices.Contains(sitesOf[part], s) }) {
			return false
		}
		stage := m.stage(r.Item, m.size) + 1
		m.events = append(m.events, event{seq: m.add(), what: "back", item: r.Item, sites: r.Sites, stage: stage})
	case *job.Take:
		return m.take(r)
	case *job.StrikeReading:
		for _, o := range m.taken {
			if o.seq == r.Entry && !o.struck {
				o.struck = true
				m.add()
				return true
			}
		}
		return false
	case *job.WriteNote, *job.SkipSpot:
		m.add()
	case *job.HandOver:
		role := m.role[r.To]
		if role == "" || role == "apprentice" || r.To == m.holder || by != m.holder && m.role[by] != "inspector" && m.role[by] != "manager" {
			return false
		}
		m.holder = r.To
		m.add()
	case *job.Reopen:
		if !m.closed {
			return false
		}
		m.closed = false
		m.add()
	default:
		return false
	}
	return true
}

func (m *model) take(r *job.Take) bool {
	size := m.size
	if r.Known > 0 && r.Known < size {
		size = r.Known
	}
	at, rest, _ := strings.Cut(r.Spot, ".")
	site, rest, _ := strings.Cut(rest, ".")
	o := &observed{known: m.size, at: at, site: site, rest: rest, item: r.Item}
	part, ok := places[at]
	if !ok || !slices.Contains(sitesOf[part], site) {
		return false
	}
	if o.item == "" {
		was := false
		if o.item, was = m.there(at, size); o.item == "" && was {
			return false
		}
	} else if is := m.where(o.item, size); m.part[o.item] != part || is != "" && is != at {
		return false
	}
	switch n := 0; {
	case r.Stage == "":
		o.stage = m.stage(o.item, size)
	case r.Stage == "assembled":
		o.stage = reading.Assembled
	case r.Stage != "found":
		if _, err := fmt.Sscanf(r.Stage, "rework %d", &n); err != nil || n > m.stage(o.item, m.size) {
			return false
		}
		o.stage = n
	}
	if size < o.known {
		o.known = size
	}
	o.seq = m.add()
	m.taken = append(m.taken, o)
	return true
}

// counted is a reading that counts, where it does.
type counted struct {
	*observed
	owner, now string
}

// counts returns the readings that count, by spot.
func (m *model) counts() map[string][]int64 {
	var all []counted
	for _, o := range m.taken {
		owner, now := m.owner(o)
		if o.struck || now == "" || m.over(o, owner) {
			continue
		}
		all = append(all, counted{o, owner, now})
	}
	// What is assembled comes after all else.
	assembled := map[string]bool{}
	for _, c := range all {
		if c.stage == reading.Assembled {
			assembled[c.now+"."+c.site] = true
		}
	}
	by := map[string][]int64{}
	for _, c := range all {
		put := assembled[c.now+"."+c.site]
		if n, bore := strings.CutPrefix(c.site, "fitted-"); bore {
			put = put || assembled["case.bore-"+n] || assembled["shell-"+n+".wall"]
		}
		if put && c.stage != reading.Assembled {
			continue
		}
		spot := strings.TrimSuffix(c.now+"."+c.site+"."+c.rest, ".")
		by[spot] = append(by[spot], c.seq)
	}
	return by
}

// owner returns whose a reading is, and where that is now; "" where it is
// nowhere.
func (m *model) owner(o *observed) (item, now string) {
	if o.item != "" {
		return o.item, m.where(o.item, m.size)
	}
	for _, e := range m.events {
		if e.at != o.at {
			continue
		}
		if e.what == "found" && e.seq > o.known {
			return e.item, m.where(e.item, m.size)
		}
		return "", "" // of a piece that nobody gave a tag
	}
	return "", o.at
}

// over tells whether something happened since a reading was taken that ended it.
func (m *model) over(o *observed, owner string) bool {
	n, bore := strings.CutPrefix(o.site, "fitted-")
	for _, e := range m.events {
		since := e.seq > o.known
		back := e.what == "back"
		if back && owner != "" && e.item == owner && (e.stage > o.stage || since && o.stage == reading.Assembled) {
			if slices.Contains(e.sites, o.site) || bore && slices.Contains(e.sites, "bore-"+n) {
				return true
			}
		}
		if bore && since {
			in, _ := m.there("shell-"+n, m.size)
			if e.at == "shell-"+n && e.what != "found" || back && e.item == in && in != "" && slices.Contains(e.sites, "wall") {
				return true
			}
		}
	}
	return false
}

// fitted returns what is where now.
func (m *model) fitted() map[string]string {
	all := map[string]string{}
	for at := range places {
		if item, _ := m.there(at, m.size); item != "" {
			all[at] = item
		}
	}
	return all
}
