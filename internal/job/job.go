// Package job is the log of one engine's overhaul under one work order: the
// kinds of facts, when each may stand, and what they come to.
//
// [Decide] returns facts or a refusal; it looks at the state, at what is known
// beside it and at nothing else. [State.Apply] folds a fact in; it judges
// nothing, reads no clock and can't fail, so that folding any number of a log's
// entries gives what was known then. A kind is one file.
//
// "Released" and "overhauled" are not among the kinds: they need an engine that
// is assembled and tested.
package job

import (
	"maps"
	"slices"
	"strings"
	"time"

	"tenths/internal/book"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// A Fact is something that happened in a job.
type Fact interface {
	// Kind is what entries call it.
	Kind() string
	apply(*State, *Entry)
}

// An Entry is an entry of a job's log.
type Entry = record.Entry[Fact]

// Kinds are all kinds of facts of a job.
var Kinds = record.Kinds[Fact]{}

func init() {
	for _, fact := range []func() Fact{
		func() Fact { return new(JobOpened) },
		func() Fact { return new(ConditionStated) },
		func() Fact { return new(ItemRegistered) },
		func() Fact { return new(ItemFitted) },
		func() Fact { return new(ItemRemoved) },
		func() Fact { return new(ItemReworked) },
		func() Fact { return new(ReadingTaken) },
		func() Fact { return new(ReadingStruck) },
		func() Fact { return new(SpotSkipped) },
		func() Fact { return new(EditionChanged) },
		func() Fact { return new(NoteWritten) },
		func() Fact { return new(StepSigned) },
		func() Fact { return new(HandedOver) },
		func() Fact { return new(InspectionClosed) },
		func() Fact { return new(InspectionReopened) },
	} {
		Kinds[fact().Kind()] = fact
	}
	Kinds[""] = func() Fact { return Unknown{} }
}

// Unknown is a fact of a kind that a newer version of tenths wrote. It is kept
// and sealed like any other, and shown; who does not know what it says can't say
// that a state is whole, so that nothing is signed, closed or handed over by them.
type Unknown struct{}

// Kind returns nothing: the entry has it.
func (Unknown) Kind() string { return "" }

func (Unknown) apply(s *State, e *Entry) { s.Unknown = append(s.Unknown, e.Strange()) }

// A Request asks for facts to be entered.
type Request interface {
	decide(*State, Known) ([]Fact, error)
}

// Known is what rules need beside the job.
type Known struct {
	By   string // who asks, by handle
	Now  time.Time
	Book *book.Book // of the edition that the job is by, or is to be by
	Shop *shoplog.State
}

// Decide returns the facts that the request comes to, or why it can't be
// entered: a [record.Refusal].
func Decide(s *State, k Known, r Request) ([]Fact, error) {
	if err := MayGoOn(s, r); err != nil {
		return nil, err
	}
	return r.decide(s, k)
}

// MayGoOn refuses what the job is not open for.
func MayGoOn(s *State, r Request) error {
	switch r.(type) {
	case *Open:
		return nil
	case *Reopen, *WriteNote, *HandOver:
		if s.Size > 0 {
			return nil
		}
	}
	switch {
	case s.Size == 0:
		return record.Refuse("no-job", "open it with tenths job open", "the job is not opened yet")
	case s.Closed != nil:
		return record.Refuse("closed", "an inspector may reopen it with tenths job reopen", "the inspection is closed, since entry %d", s.Closed.Seq)
	}
	return nil
}

// A State is what a job's log comes to after some entries. Its lists only grow,
// and its maps are copied before they change once a snapshot has them: so a
// State that was handed out by [State.Snapshot] is never changed, and taking
// one costs nothing.
type State struct {
	Log  string
	Size int64
	Last Mark // the last entry

	About    JobOpened // as it was opened
	Opened   Mark
	Edition  string            // of the book that it is judged by now
	Holder   string            // who has the job in hand
	Given    map[string]string // conditions that were stated
	Fitted   map[string]string // position → tag of the item that is there
	Items    []Item
	Moves    []Move
	Reworks  []Rework
	Readings []Taken
	Strikes  []Strike
	Skips    []Skip
	Editions []Changed
	Notes    []Note
	Signed   []Signature
	Handed   []Mark
	Closed   *Mark            // nil: the inspection is open
	Unknown  []record.Strange // entries that a newer version of tenths wrote

	// Touched is the last entry that a verdict may depend on.
	Touched int64
	// Jumps are entries that the writer recorded at an earlier time than the
	// entry before: its clock was set back.
	Jumps []int64

	find   *find // for deciding; a snapshot has none
	shared bool
}

// find is what deciding looks things up in.
type find struct {
	seen    map[string]int64 // id → entry
	item    map[string]int   // tag → in Items
	reading map[int64]int    // entry → in Readings
	struck  map[int64]int64  // entry → the entry that struck it
}

// A Mark says which entry, by whom and when.
type Mark struct {
	Seq      int64
	By       string
	Recorded ledger.Time
}

func mark(e *Entry) Mark { return Mark{e.Seq, e.By, e.Recorded} }

// New returns the state of an empty log of that name.
func New(log string) *State {
	return &State{
		Log: log, Given: map[string]string{}, Fitted: map[string]string{},
		find: &find{map[string]int64{}, map[string]int{}, map[int64]int{}, map[int64]int64{}},
	}
}

// Fold returns the state after entries.
func Fold(log string, entries []Entry) *State {
	s := New(log)
	for i := range entries {
		s.Apply(&entries[i])
	}
	return s
}

// Apply folds the next entry in.
func (s *State) Apply(e *Entry) {
	if s.Size > 0 && e.Recorded.Before(s.Last.Recorded) {
		s.Jumps = append(s.Jumps, e.Seq)
	}
	s.Size, s.Last = e.Seq, mark(e)
	s.find.seen[e.ID] = e.Seq
	e.What.apply(s, e)
}

// own makes maps that no snapshot has.
func (s *State) own() {
	if s.shared {
		s.Given, s.Fitted = maps.Clone(s.Given), maps.Clone(s.Fitted)
		s.shared = false
	}
}

// Snapshot returns the state as it is, for readers; s goes on.
func (s *State) Snapshot() *State {
	s.shared = true
	c := *s
	c.find = nil
	return &c
}

// Back takes the state back to what it was when that snapshot of it was taken.
func (s *State) Back(to *State) {
	find := s.find
	*s = *to
	s.find = find
	maps.DeleteFunc(find.seen, func(_ string, seq int64) bool { return seq > s.Size })
	maps.DeleteFunc(find.item, func(_ string, n int) bool { return n >= len(s.Items) })
	maps.DeleteFunc(find.reading, func(seq int64, _ int) bool { return seq > s.Size })
	maps.DeleteFunc(find.struck, func(_, by int64) bool { return by > s.Size })
}

// Seen returns which entry has that id; 0 where none has.
func (s *State) Seen(id string) int64 { return s.find.seen[id] }

// At returns how many entries the state is of.
func (s *State) At() int64 { return s.Size }

// Item returns the item of that tag.
func (s *State) Item(tag string) (*Item, bool) {
	if s.find != nil {
		i, ok := s.find.item[tag]
		if !ok {
			return nil, false
		}
		return &s.Items[i], true
	}
	i := slices.IndexFunc(s.Items, func(i Item) bool { return i.Tag == tag })
	if i < 0 {
		return nil, false
	}
	return &s.Items[i], true
}

// partOf returns the book's part of that key.
func partOf(b *book.Book, key string) (*book.Part, error) {
	i := slices.IndexFunc(b.Parts, func(p *book.Part) bool { return p.Key == key })
	if i < 0 {
		keys := make([]string, len(b.Parts))
		for i, p := range b.Parts {
			keys[i] = p.Key
		}
		return nil, record.Refuse("part", "its parts are "+list(keys), "the book has no part %q", key)
	}
	return b.Parts[i], nil
}

// position returns the part that goes to a position, as rod-3 or crank.
func position(b *book.Book, text string) (*book.Part, error) {
	name, n, ok := book.CutNumber(text)
	if !ok {
		return nil, record.Refuse("position", "write the part and its number, as rod-3, or the part alone where there is one", "%q is no position", text)
	}
	p, err := partOf(b, name)
	switch {
	case err != nil:
		return nil, err
	case p.Positions == 0 && n != 0:
		return nil, record.Refuse("position", "write "+name, "there is one %s, without a number", p.Name)
	case p.Positions != 0 && (n < 1 || n > p.Positions):
		return nil, record.Refuse("position", "", "%q is no position: they go from %s-1 to %s-%d", text, name, name, p.Positions)
	}
	return p, nil
}

// list joins names, of many the first.
func list(names []string) string {
	const most = 12
	if len(names) > most {
		names = append(names[:most:most], "…")
	}
	return strings.Join(names, ", ")
}
