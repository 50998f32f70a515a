package job

import "tenths/internal/record"

// SpotSkipped says why a spot is not measured for now. It stays open.
type SpotSkipped struct {
	Spot string `json:"spot"`
	Why  string `json:"why"`
}

// Kind is spot-skipped.
func (*SpotSkipped) Kind() string { return "spot-skipped" }

// A Skip is a skip with the entry that it is in.
type Skip struct {
	SpotSkipped
	Mark
}

func (f *SpotSkipped) apply(s *State, e *Entry) { s.Skips = append(s.Skips, Skip{*f, mark(e)}) }

// SkipSpot asks for a spot to be skipped.
type SkipSpot struct{ SpotSkipped }

func (r *SkipSpot) decide(_ *State, k Known) ([]Fact, error) {
	if _, ok := k.Book.Spot(r.Spot); !ok {
		return nil, record.Refuse("spot", "name one of the book's", "the book has no spot %q", r.Spot)
	}
	return []Fact{&r.SpotSkipped}, record.Line("the reason", r.Why, record.Long, true)
}
