package shoplog

import (
	"time"

	"tenths/internal/record"
)

// ShopMade begins the shop's log.
type ShopMade struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Key  string `json:"key"` // public half of the key that seals are signed with
}

// Kind is shop-made.
func (*ShopMade) Kind() string { return "shop-made" }

func (f *ShopMade) stands(s *State, _ time.Time) error {
	if s.ID != "" {
		return record.Refuse("shop", "", "the shop is made already: it is %s", s.Name)
	}
	return record.First(record.Line("the shop's id", f.ID, record.Short, true), record.Line("the shop's name", f.Name, record.Short, true), record.Line("the key", f.Key, record.Long, true))
}

func (f *ShopMade) apply(s *State, _ *Entry) { s.ID, s.Name, s.Key = f.ID, f.Name, f.Key }
