package job

import "tenths/internal/record"

// ReadingStruck says that a reading is wrong. It stays in the record and counts
// no more.
type ReadingStruck struct {
	Reading string `json:"reading"` // the id of its entry
	Why     string `json:"why"`
}

// Kind is reading-struck.
func (*ReadingStruck) Kind() string { return "reading-struck" }

// A Strike is a strike with the entry that it is in.
type Strike struct {
	Reading int64 // the entry that it strikes
	Why     string
	Mark
}

func (f *ReadingStruck) apply(s *State, e *Entry) {
	reading := s.find.seen[f.Reading]
	s.find.struck[reading] = e.Seq
	s.Strikes = append(s.Strikes, Strike{reading, f.Why, mark(e)})
	s.Touched = e.Seq
}

// StrikeReading asks for a reading to be struck, by the number or the id of its
// entry.
type StrikeReading struct {
	Entry int64
	ID    string
	Why   string
}

func (r *StrikeReading) decide(s *State, _ Known) ([]Fact, error) {
	entry := r.Entry
	if r.ID != "" {
		if entry = s.find.seen[r.ID]; entry == 0 {
			return nil, record.Refuse("reading", "look for its number in tenths job log", "no entry has the id %q", r.ID)
		}
	}
	i, ok := s.find.reading[entry]
	if !ok {
		return nil, record.Refuse("reading", "look for its number in tenths job log", "entry %d is not a reading", entry)
	}
	if by := s.find.struck[entry]; by != 0 {
		return nil, record.Refuse("struck", "", "entry %d is struck already, by entry %d", entry, by)
	}
	return []Fact{&ReadingStruck{s.Readings[i].ID, r.Why}}, record.Line("the reason", r.Why, record.Long, true)
}

// Struck returns for each struck reading, by its entry, what struck it.
func (s *State) Struck() map[int64]*Strike {
	all := make(map[int64]*Strike, len(s.Strikes))
	for i := range s.Strikes {
		all[s.Strikes[i].Reading] = &s.Strikes[i]
	}
	return all
}
