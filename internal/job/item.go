package job

import (
	"strings"

	"tenths/internal/record"
)

// ItemRegistered gives a piece of metal its tag. One that was found in the
// engine is fitted where it was, and readings that were taken there before it
// had a tag are its own.
type ItemRegistered struct {
	Item   string `json:"item"` // the tag that is tied to it
	Part   string `json:"part"` // what it is, by the book's key
	Number string `json:"number,omitempty"`
	Serial string `json:"serial,omitempty"`
	Found  string `json:"found,omitempty"` // the position it was found at
}

// Kind is item-registered.
func (*ItemRegistered) Kind() string { return "item-registered" }

// An Item is one piece of metal of the job.
type Item struct {
	Tag, Part, Number, Serial string
	Found                     string // the position it was found at, if it was
	Mark
}

func (f *ItemRegistered) apply(s *State, e *Entry) {
	s.find.item[f.Item] = len(s.Items)
	s.Items = append(s.Items, Item{f.Item, f.Part, f.Number, f.Serial, f.Found, mark(e)})
	if f.Found != "" {
		s.move(f.Item, f.Found, true, e)
	}
}

// RegisterItem asks for an item to be registered.
type RegisterItem struct{ ItemRegistered }

func (r *RegisterItem) decide(s *State, k Known) ([]Fact, error) {
	f := &r.ItemRegistered
	if _, err := partOf(k.Book, f.Part); err != nil {
		return nil, err
	}
	if f.Found != "" {
		p, err := position(k.Book, f.Found)
		if err == nil && p.Key != f.Part {
			err = record.Refuse("position", "", "%s is a place for a %s, and the item is a %s", f.Found, p.Key, f.Part)
		}
		if err != nil {
			return nil, err
		}
	}
	if strings.Join(strings.Fields(f.Item), " ") != strings.TrimSpace(f.Item) {
		// Readings name it with one: a person can't see two.
		return nil, record.Refuse("text", "write it with single spaces", "the tag has several blanks together")
	}
	if i, ok := s.Item(f.Item); ok {
		return nil, record.Refuse("item", "tie another tag to this one", "the tag %q is on a %s already, since entry %d", f.Item, i.Part, i.Seq)
	}
	if f.Serial != "" {
		for i := range s.Items {
			if o := &s.Items[i]; o.Part == f.Part && o.Number == f.Number && o.Serial == f.Serial {
				return nil, record.Refuse("item", "read the serial number again", "%s has that part number and serial number already", o.Tag)
			}
		}
	}
	for i := range s.Moves {
		if f.Found != "" && s.Moves[i].Position == f.Found {
			return nil, record.Refuse("position", "register it without saying where it was found, then fit it", "at %s was %s: entry %d", f.Found, s.Moves[i].Item, s.Moves[i].Seq)
		}
	}
	return []Fact{f}, record.First(
		record.Line("the tag", f.Item, record.Short, true), record.Line("the part number", f.Number, record.Short, false),
		record.Line("the serial number", f.Serial, record.Short, false),
	)
}
