// Package shoplog is the log of the shop: who works in it and with what
// certificates, its policy, the editions of books that it works by, which jobs
// there are, and the seals of their logs.
//
// A fact is decided once, against the state it was entered in; folding facts
// decides nothing, reads no clock and can't fail.
package shoplog

import (
	"maps"
	"slices"
	"time"

	"tenths/internal/ledger"
	"tenths/internal/record"
)

// Log is the name of the shop's log.
const Log = "shop"

// A Fact is something that happened in the shop.
type Fact interface {
	// Kind is what entries call it.
	Kind() string
	// stands refuses a fact that may not stand after what the state knows, when
	// it is entered.
	stands(*State, time.Time) error
	apply(*State, *Entry)
}

// An Entry is an entry of the shop's log.
type Entry = record.Entry[Fact]

// Kinds are all kinds of facts of the shop.
var Kinds = record.Kinds[Fact]{}

func init() {
	for _, fact := range []func() Fact{
		func() Fact { return new(ShopMade) },
		func() Fact { return new(PersonAdded) },
		func() Fact { return new(PersonChanged) },
		func() Fact { return new(PolicySet) },
		func() Fact { return new(EditionAdopted) },
		func() Fact { return new(JobNumbered) },
		func() Fact { return new(JobSealed) },
	} {
		Kinds[fact().Kind()] = fact
	}
	Kinds[""] = func() Fact { return Unknown{} }
}

// Unknown is a fact of a kind that a newer version of tenths wrote. It is kept
// and sealed like any other, and shown.
type Unknown struct{}

// Kind returns nothing: the entry has it.
func (Unknown) Kind() string { return "" }

func (Unknown) stands(*State, time.Time) error {
	return record.Refuse("kind", "", "there is no such kind of entry")
}
func (Unknown) apply(s *State, e *Entry) { s.Unknown = append(s.Unknown, e.Strange()) }

// A State is what the log comes to after some entries. A State that was handed
// out by [State.Snapshot] is never changed.
type State struct {
	Size     int64
	ID       string
	Name     string
	Key      string // public half, by which seals are checked
	Policy   PolicySet
	People   map[string]Person
	Editions map[string]EditionAdopted // by edition
	Jobs     map[string]Job            // by work-order number
	Orders   map[string]string         // work-order number, by job id
	Last     ledger.Time               // when the last entry was recorded
	Unknown  []record.Strange          // entries that a newer version of tenths wrote
	// Jumps are entries that the writer recorded at an earlier time than the
	// entry before: its clock was set back.
	Jumps []int64

	seen   map[string]int64
	shared bool
}

// A Person is somebody of the shop, as last stated, and when they were added.
type Person struct {
	PersonAdded
	Seq int64
}

// A Job is one of the shop's jobs, by the order it is under.
type Job struct {
	ID    string
	Order string
	By    string
	Seals []JobSealed
}

// Fold returns the state after entries.
func Fold(entries []Entry) *State {
	s := New()
	for i := range entries {
		s.Apply(&entries[i])
	}
	return s
}

// New returns the state of an empty log.
func New() *State {
	return &State{
		People: map[string]Person{}, Editions: map[string]EditionAdopted{},
		Jobs: map[string]Job{}, Orders: map[string]string{}, seen: map[string]int64{},
	}
}

// Apply folds the next entry in.
func (s *State) Apply(e *Entry) {
	s.own()
	if s.Size > 0 && e.Recorded.Before(s.Last) {
		s.Jumps = append(s.Jumps, e.Seq)
	}
	s.Size = e.Seq
	s.Last = e.Recorded
	s.seen[e.ID] = e.Seq
	e.What.apply(s, e)
}

// own makes maps that nobody else reads.
func (s *State) own() {
	if !s.shared {
		return
	}
	s.People, s.Editions = maps.Clone(s.People), maps.Clone(s.Editions)
	s.Jobs, s.Orders = maps.Clone(s.Jobs), maps.Clone(s.Orders)
	s.shared = false
}

// Snapshot returns the state as it is, for readers; s goes on.
func (s *State) Snapshot() *State {
	s.shared = true
	c := *s
	c.seen = nil
	return &c
}

// Back takes the state back to what it was when that snapshot of it was taken.
func (s *State) Back(to *State) {
	seen := s.seen
	*s = *to
	s.seen = seen
	maps.DeleteFunc(seen, func(_ string, seq int64) bool { return seq > s.Size })
}

// Seen returns which entry has that id; 0 where none has.
func (s *State) Seen(id string) int64 { return s.seen[id] }

// At returns how many entries the state is of.
func (s *State) At() int64 { return s.Size }

// Decide refuses a fact that may not stand when it is entered. It alone asks for
// the day: folding does not, so that a log comes to the same whenever it is read.
func Decide(s *State, f Fact, now time.Time) error {
	if _, first := f.(*ShopMade); !first && s.ID == "" {
		return record.Refuse("no-shop", "make it with tenths shop init", "there is no shop yet")
	}
	return f.stands(s, now)
}

// In returns the person of that handle, who must be of the shop that day.
func (s *State) In(handle string, day time.Time) (Person, error) {
	p, ok := s.People[handle]
	date := day.Format(time.DateOnly)
	switch {
	case handle == "":
		return p, record.Refuse("person", "say who it is with --by HANDLE", "nobody is named")
	case !ok:
		return p, record.Refuse("person", "add them with tenths person add, or look in tenths person list", "there is no person %q", handle)
	case p.Since > date:
		return p, record.Refuse("person", "", "%s is of the shop from %s", p.Name, p.Since)
	case p.Until != "" && p.Until < date:
		return p, record.Refuse("person", "if they are back, change the day with tenths person change", "%s was of the shop until %s", p.Name, p.Until)
	}
	return p, nil
}

// Leads tells whether a person may run the shop on a day, and for as long as
// nothing else is said of them. Who begins later does not yet, and with whom an
// end is agreed will not for good.
func (f *PersonAdded) Leads(day time.Time) bool {
	return f.Role == Manager && f.Until == "" && f.Since <= day.Format(time.DateOnly)
}

// Leaders returns the handles of those who may run the shop on a day, in order.
func (s *State) Leaders(day time.Time) []string {
	return slices.DeleteFunc(s.Handles(), func(h string) bool {
		p := s.People[h]
		return !p.Leads(day)
	})
}

// Handles returns everybody's handle, in order.
func (s *State) Handles() []string { return slices.Sorted(maps.Keys(s.People)) }
