package job

import (
	"maps"
	"slices"

	"tenths/internal/record"
)

// ItemFitted says that an item is at a position now.
type ItemFitted struct {
	Position string `json:"position"` // rod-3
	Item     string `json:"item"`
}

// Kind is item-fitted.
func (*ItemFitted) Kind() string { return "item-fitted" }

func (f *ItemFitted) apply(s *State, e *Entry) { s.move(f.Item, f.Position, true, e) }

// ItemRemoved says that an item is no longer at a position.
type ItemRemoved struct {
	Position string `json:"position"`
	Item     string `json:"item"`
}

// Kind is item-removed.
func (*ItemRemoved) Kind() string { return "item-removed" }

func (f *ItemRemoved) apply(s *State, e *Entry) { s.move(f.Item, f.Position, false, e) }

// A Move is an item that came to a position, or left it.
type Move struct {
	Item, Position string
	In             bool
	Mark
}

func (s *State) move(item, position string, in bool, e *Entry) {
	s.own()
	if in {
		s.Fitted[position] = item
	} else {
		delete(s.Fitted, position)
	}
	s.Moves = append(s.Moves, Move{item, position, in, mark(e)})
	s.Touched = e.Seq
}

// Where returns the position that an item is at after so many entries; "" where
// it is at none.
func (s *State) Where(item string, size int64) string {
	for i := len(s.Moves) - 1; i >= 0; i-- {
		if m := &s.Moves[i]; m.Item == item && m.Seq <= size {
			if m.In {
				return m.Position
			}
			return ""
		}
	}
	return ""
}

// Fit asks for items to be fitted, all together: a position is named with the
// item that is to be there, or with none to take out what is there. Who is at a
// position named leaves it first, so that two rods can change places.
type Fit struct{ Places []ItemFitted }

func (r *Fit) decide(s *State, k Known) ([]Fact, error) {
	if len(r.Places) == 0 {
		return nil, record.Refuse("position", "name positions with their items", "nothing is to be fitted")
	}
	fitted := maps.Clone(s.Fitted)
	var out, in []Fact
	leave := func(at string) {
		if item := fitted[at]; item != "" {
			out = append(out, &ItemRemoved{at, item})
			delete(fitted, at)
		}
	}
	named := map[string]bool{}
	for _, p := range r.Places {
		if _, err := position(k.Book, p.Position); err != nil {
			return nil, err
		}
		if named[p.Position] {
			return nil, record.Refuse("position", "name each position once", "%s is named twice", p.Position)
		}
		named[p.Position] = true
		switch {
		case p.Item == "" && fitted[p.Position] == "":
			return nil, record.Refuse("position", "", "nothing is fitted at %s", p.Position)
		case p.Item != "" && fitted[p.Position] == p.Item:
			return nil, record.Refuse("position", "", "%s is at %s already", p.Item, p.Position)
		case p.Item != "" && fitted[p.Position] == "" && s.nameless(p.Position):
			return nil, record.Refuse("nameless", "register that one first, as found there", "what is at %s was measured and has no tag", p.Position)
		}
		leave(p.Position)
	}
	for _, p := range r.Places {
		if p.Item == "" {
			continue
		}
		item, ok := s.Item(p.Item)
		if !ok {
			return nil, record.Refuse("item", "register it with tenths job item", "there is no item %q", p.Item)
		}
		if part, _ := position(k.Book, p.Position); item.Part != part.Key {
			return nil, record.Refuse("position", "", "%s is a place for a %s, and %s is a %s", p.Position, part.Key, p.Item, item.Part)
		}
		for _, at := range slices.Sorted(maps.Keys(fitted)) {
			switch {
			case fitted[at] != p.Item:
			case named[at]:
				return nil, record.Refuse("item", "name each item once", "%s would be at two positions", p.Item)
			default:
				leave(at)
			}
		}
		fitted[p.Position] = p.Item
		in = append(in, &ItemFitted{p.Position, p.Item})
	}
	return append(out, in...), nil
}

// nameless tells whether readings were taken at a position where no item was
// ever registered.
func (s *State) nameless(at string) bool {
	if slices.ContainsFunc(s.Moves, func(m Move) bool { return m.Position == at }) {
		return false
	}
	return slices.ContainsFunc(s.Readings, func(t Taken) bool { return t.Item == "" && t.position() == at })
}
