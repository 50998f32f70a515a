package shoplog_test

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tenths/internal/shoplog"
)

// tomorrow is the day after that on which the shops of these tests are made.
const tomorrow = "2026-11-26"

// A model is a shop as plainly as it can be told.
type model struct {
	made     bool
	role     map[string]string
	until    map[string]string
	since    map[string]string
	two      bool
	editions map[string]bool
	order    map[string]string // by job
	sealed   map[string]int64  // by job: entries of its last seal
}

func newModel() *model {
	return &model{role: map[string]string{}, until: map[string]string{}, since: map[string]string{}, editions: map[string]bool{}, order: map[string]string{}, sealed: map[string]int64{}}
}

// stands tells whether a fact may stand, and folds it in where it may.
func (m *model) stands(f shoplog.Fact) bool {
	switch f := f.(type) {
	case *shoplog.ShopMade:
		if m.made {
			return false
		}
		m.made = true
	case *shoplog.PersonAdded:
		if _, there := m.role[f.Handle]; !m.made || there {
			return false
		}
		m.role[f.Handle], m.until[f.Handle], m.since[f.Handle] = f.Role, f.Until, f.Since
	case *shoplog.PersonChanged:
		if _, there := m.role[f.Handle]; !m.made || !there || f.Why == "" {
			return false
		}
		role, until, since := maps.Clone(m.role), maps.Clone(m.until), maps.Clone(m.since)
		role[f.Handle], until[f.Handle], since[f.Handle] = f.Role, f.Until, f.Since
		managers := 0
		for h := range role {
			if role[h] == shoplog.Manager && until[h] == "" && since[h] != tomorrow {
				managers++
			}
		}
		if managers == 0 {
			return false
		}
		m.role, m.until, m.since = role, until, since
	case *shoplog.PolicySet:
		if !m.made || m.two == f.TwoPeople || f.Why == "" {
			return false
		}
		m.two = f.TwoPeople
	case *shoplog.EditionAdopted:
		if !m.made || m.editions[f.Edition] {
			return false
		}
		m.editions[f.Edition] = true
	case *shoplog.JobNumbered:
		taken := slices.Contains(slices.Collect(maps.Values(m.order)), f.Order)
		if _, there := m.order[f.Job]; !m.made || there || taken {
			return false
		}
		m.order[f.Job] = f.Order
	case *shoplog.JobSealed:
		if _, there := m.order[f.Job]; !m.made || !there || f.Size <= m.sealed[f.Job] {
			return false
		}
		m.sealed[f.Job] = f.Size
	}
	return true
}

// agrees tells where a state and the model part.
func (m *model) agrees(s *shoplog.State) error {
	if m.made != (s.ID != "") || m.two != s.Policy.TwoPeople || len(m.role) != len(s.People) || len(m.editions) != len(s.Editions) || len(m.order) != len(s.Jobs) {
		return fmt.Errorf("%+v is not %+v", s, m)
	}
	for h := range m.role {
		if p := s.People[h]; p.Role != m.role[h] || p.Until != m.until[h] || p.Since != m.since[h] {
			return fmt.Errorf("%s is %+v, want %s from %q until %q", h, p, m.role[h], m.since[h], m.until[h])
		}
	}
	for e := range m.editions {
		if s.Editions[e].Edition != e {
			return fmt.Errorf("edition %s is %+v", e, s.Editions[e])
		}
	}
	for id, order := range m.order {
		j := s.Jobs[order]
		last := int64(0)
		if len(j.Seals) > 0 {
			last = j.Seals[len(j.Seals)-1].Size
		}
		if j.ID != id || s.Orders[id] != order || last != m.sealed[id] {
			return fmt.Errorf("job %s is %+v, sealed with %d; want order %s, %d", id, j, last, order, m.sealed[id])
		}
	}
	return nil
}

// anyFact draws a fact, of few names, so that they meet.
func anyFact(t *rapid.T, m *model) shoplog.Fact {
	handle := rapid.SampledFrom([]string{"a", "b", "c", "d"})
	job := rapid.SampledFrom([]string{"j1", "j2", "j3"})
	person := func() shoplog.PersonAdded {
		return shoplog.PersonAdded{
			Handle: handle.Draw(t, "handle"), Name: "N", Role: rapid.SampledFrom(shoplog.Roles).Draw(t, "role"), Since: rapid.SampledFrom([]string{"2026-01-01", "2026-11-25", tomorrow}).Draw(t, "since"),
			Until: rapid.SampledFrom([]string{"", "", "2027-01-01"}).Draw(t, "until"),
		}
	}
	switch rapid.IntRange(0, 6).Draw(t, "kind") {
	case 0:
		return &shoplog.ShopMade{ID: "aa", Name: "S", Key: "k"}
	case 1:
		p := person()
		return &p
	case 2:
		return changed(person(), rapid.SampledFrom([]string{"so", "so", ""}).Draw(t, "why"))
	case 3:
		return &shoplog.PolicySet{TwoPeople: rapid.Bool().Draw(t, "two"), Why: rapid.SampledFrom([]string{"so", "so", ""}).Draw(t, "why")}
	case 4:
		return &shoplog.EditionAdopted{Edition: edition(rapid.IntRange(1, 3).Draw(t, "edition")), Engine: "E", Manual: "M"}
	case 5:
		j := job.Draw(t, "job")
		if _, there := m.order[j]; there {
			j = "j" + fmt.Sprint(len(m.order)+4) // a job is numbered once, by who makes its id
		}
		return &shoplog.JobNumbered{Job: j, Order: rapid.SampledFrom([]string{"o1", "o2", "o3"}).Draw(t, "order")}
	}
	return &shoplog.JobSealed{Job: job.Draw(t, "job"), Size: rapid.Int64Range(1, 6).Draw(t, "size"), Root: "r", Seal: "s"}
}

// Whatever is asked in whatever order: what stands is what a plain model says,
// a state that was handed out stays as it was, and folding what was recorded up
// to any entry gives what was known then.
func TestAnyHistoryOfTheShop(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m, l := newModel(), newLog(t)
		if rapid.IntRange(0, 9).Draw(rt, "made") > 0 {
			f := &shoplog.ShopMade{ID: "aa", Name: "S", Key: "k"}
			m.stands(f)
			l.enter("mp", f)
		}
		type known struct {
			state *shoplog.State
			text  string
		}
		handed := []known{{shoplog.New().Snapshot(), text(t, shoplog.New())}}
		if l.state.Size > 0 {
			handed = append(handed, known{l.state.Snapshot(), text(t, l.state)})
		}
		for range rapid.IntRange(1, 40).Draw(rt, "facts") {
			f := anyFact(rt, m)
			before := text(t, l.state)
			err := shoplog.Decide(l.state, f, begin)
			if text(t, l.state) != before {
				rt.Fatalf("deciding on %+v changed the state", f)
			}
			if stands := m.stands(f); stands != (err == nil) {
				rt.Fatalf("%s %+v: %v; by the model it stands: %v", f.Kind(), f, err, stands)
			}
			if err != nil {
				continue
			}
			l.enter("mp", f)
			if err := m.agrees(l.state); err != nil {
				rt.Fatal(err)
			}
			handed = append(handed, known{l.state.Snapshot(), text(t, l.state)})
		}
		entries := read(t, l.lines)
		if int64(len(entries)) != l.state.Size || l.state.At() != l.state.Size {
			rt.Fatalf("%d entries came to %d", len(entries), l.state.Size)
		}
		for n, was := range handed {
			if now := text(t, was.state); now != was.text {
				rt.Fatalf("what was known after entry %d has changed:\n%s\n%s", n, was.text, now)
			}
			if again := shoplog.Fold(entries[:n]).Snapshot(); !reflect.DeepEqual(again, was.state) {
				rt.Fatalf("folding %d entries gives\n%s\nand not\n%s", n, text(t, again), was.text)
			}
		}
		for i := range entries {
			if l.state.Seen(entries[i].ID) != entries[i].Seq {
				rt.Fatalf("entry %d was not seen", i+1)
			}
		}
		if l.state.Seen("another") != 0 {
			rt.Fatal("an entry was seen that there is not")
		}
	})
}
