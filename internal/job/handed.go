package job

import (
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// HandedOver says who has the job in hand from now on.
type HandedOver struct {
	To   string `json:"to"`
	Note string `json:"note,omitempty"` // what the next one must know
}

// Kind is handed-over.
func (*HandedOver) Kind() string { return "handed-over" }

func (f *HandedOver) apply(s *State, e *Entry) {
	s.Holder = f.To
	s.Handed = append(s.Handed, mark(e))
}

// HandOver asks for the job to be handed over.
type HandOver struct{ HandedOver }

func (r *HandOver) decide(s *State, k Known) ([]Fact, error) {
	if err := record.Known("the job", s.Unknown); err != nil {
		return nil, err
	}
	to, err := k.Shop.In(r.To, k.Now)
	switch {
	case err != nil:
		return nil, err
	case r.To == s.Holder:
		return nil, record.Refuse("holder", "", "%s has the job already", to.Name)
	case to.Role == shoplog.Apprentice:
		return nil, record.Refuse("holder", "hand it to who supervises them", "%s is an apprentice", to.Name)
	}
	if by := k.Shop.People[k.By]; k.By != s.Holder && by.Role != shoplog.Inspector && by.Role != shoplog.Manager {
		return nil, record.Refuse("holder", "ask them, or an inspector or a manager", "the job is in the hands of %s", s.Holder)
	}
	return []Fact{&r.HandedOver}, record.Lines("the note", r.Note, record.Note, false)
}
