package job

import "tenths/internal/record"

// NoteWritten is something that a person wants to be known.
type NoteWritten struct {
	Text string `json:"text"`
	Spot string `json:"spot,omitempty"` // what it is about, where it is about one spot
	Item string `json:"item,omitempty"` // or one item
}

// Kind is note-written.
func (*NoteWritten) Kind() string { return "note-written" }

// A Note is a note with the entry that it is in.
type Note struct {
	*NoteWritten
	Mark
}

func (f *NoteWritten) apply(s *State, e *Entry) { s.Notes = append(s.Notes, Note{f, mark(e)}) }

// WriteNote asks for a note to be entered.
type WriteNote struct{ NoteWritten }

func (r *WriteNote) decide(s *State, k Known) ([]Fact, error) {
	if _, ok := k.Book.Spot(r.Spot); r.Spot != "" && !ok {
		return nil, record.Refuse("spot", "name one of the book's, or leave it out", "the book has no spot %q", r.Spot)
	}
	if _, ok := s.Item(r.Item); r.Item != "" && !ok {
		return nil, record.Refuse("item", "register it with tenths job item, or leave it out", "there is no item %q", r.Item)
	}
	f := r.NoteWritten // the state keeps it, and the request is the asker's
	return []Fact{&f}, record.Lines("the note", r.Text, record.Note, true)
}
