package job

import (
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/internal/record"
)

// ReadingTaken is one observation: at a spot, of an item, at a stage. Its
// figures have the digits that the gauge showed, a point for a decimal sign,
// and always their unit.
type ReadingTaken struct {
	Spot        string   `json:"spot"`
	Value       string   `json:"value"`
	Sense       string   `json:"sense,omitempty"` // of a deviation whose gauge shows plus for smaller
	Item        string   `json:"item,omitempty"`  // none: what was at the position before anything there had a tag
	Stage       int      `json:"stage,omitempty"`
	Step        string   `json:"step,omitempty"`
	With        []string `json:"with,omitempty"` // of an installed bore: the items that made it
	Gauge       string   `json:"gauge,omitempty"`
	Temperature string   `json:"temperature,omitempty"`
	ReadBy      string   `json:"read_by,omitempty"` // who read the gauge, where another wrote it down
	ReadAt      string   `json:"read_at,omitempty"` // when, as written
	Note        string   `json:"note,omitempty"`
	Known       int64    `json:"known,omitempty"` // how many entries were known when it was taken, where more stand before it
}

// Kind is reading-taken.
func (*ReadingTaken) Kind() string { return "reading-taken" }

// A Taken is a reading with the entry that it is in.
type Taken struct {
	*ReadingTaken
	ID string
	Mark
}

// known is how many entries were known when the reading was taken.
func (t *Taken) known() int64 {
	if t.Known > 0 {
		return t.Known
	}
	return t.Seq - 1
}

// position is where the reading's part was.
func (t *Taken) position() string {
	at, _, _ := strings.Cut(t.Spot, ".")
	return at
}

func (f *ReadingTaken) apply(s *State, e *Entry) {
	s.find.reading[e.Seq] = len(s.Readings)
	s.Readings = append(s.Readings, Taken{f, e.ID, mark(e)})
	s.Touched = e.Seq
}

// Take asks for a reading to be entered.
type Take struct {
	reading.Row
	Comma bool // it writes 2,2490 for 2.2490; in a book that does so it may, and need not
	// Known is how many entries of the job the device knew when the reading was
	// taken; 0: all. What item is at a position, and its stage, is as of then,
	// however late the reading arrives.
	Known int64

	read *read
}

// read is a request whose words were read for a book.
type read struct {
	book  *book.Book
	taken reading.Reading
	words reading.Row
	err   error
}

// Prepare reads the words of the request for a book, so that it need not be
// done while others wait; deciding it by another book reads them again.
func (r *Take) Prepare(b *book.Book) {
	r.read = &read{book: b}
	if r.read.taken, r.read.err = reading.Take(b, r.Row, r.Comma || b.Comma && !strings.Contains(r.Row.Value+r.Row.Setting, ".")); r.read.err == nil {
		r.read.words = r.read.taken.InWords(b)
	}
}

func (r *Take) decide(s *State, k Known) ([]Fact, error) {
	f, err := r.Fact(s, k.Book)
	if err != nil {
		return nil, err
	}
	return []Fact{f}, nil
}

// Fact returns the reading as it would be recorded, or why it can't be.
func (r *Take) Fact(s *State, b *book.Book) (*ReadingTaken, error) {
	if r.read == nil || r.read.book != b {
		r.Prepare(b)
	}
	taken, words := &r.read.taken, &r.read.words
	if r.read.err != nil {
		return nil, &record.Refusal{Code: "reading", Why: r.read.err.Error(), Of: r.read.err}
	}
	size := s.Size
	late := int64(0)
	if r.Known > 0 && r.Known < size {
		size, late = r.Known, r.Known
	}
	f := &ReadingTaken{
		Spot: words.Spot, Value: words.Value, Sense: words.Sense, Item: words.Item, Step: words.Step,
		Gauge: words.Gauge, Temperature: words.Temperature, ReadBy: words.By, ReadAt: words.When, Note: words.Note, Known: late,
	}
	site := b.SiteAt(taken.Spot)
	at := site.At()
	if f.Item == "" {
		if f.Item = s.occupant(at, size); f.Item == "" && s.everAt(at, size) {
			return nil, record.Refuse("item", "name the item, or enter that it is fitted", "what was at %s was taken out", at)
		}
	} else if item, ok := s.Item(f.Item); !ok {
		return nil, record.Refuse("item", "register it with tenths job item, or leave the item out", "there is no item %q", f.Item)
	} else if item.Part != site.Feature.Part.Key {
		return nil, record.Refuse("item", "name another, or leave it out", "%s is a %s, and the reading is of a %s", f.Item, item.Part, site.Feature.Part.Key)
	} else if is := s.Where(f.Item, size); is != "" && is != at {
		return nil, record.Refuse("item", "measure it there, or enter that it was fitted elsewhere", "%s is at %s, and the reading is of %s", f.Item, is, at)
	}
	switch now := s.Stage(f.Item, s.Size); {
	case r.Stage == "":
		f.Stage = s.Stage(f.Item, size)
	case taken.Stage == reading.Assembled || taken.Stage <= now:
		f.Stage = taken.Stage
	case f.Item == "":
		return nil, record.Refuse("stage", "register the item, and enter its return with tenths job rework", "what is at %s has no tag, and nothing says that it was reworked", at)
	default:
		return nil, record.Refuse("stage", "enter its return with tenths job rework", "%s has not come back from %s yet: it is at %s", f.Item, reading.StageName(taken.Stage), reading.StageName(now))
	}
	f.With = s.makes(site, size)
	return f, record.First(
		record.Line("the item", f.Item, record.Short, false),
		record.Line("the value", f.Value, record.Long, true),
		record.Line("the step", f.Step, record.Short, false),
		record.Line("the temperature", f.Temperature, record.Short, false),
		record.Line("when it was read", f.ReadAt, record.Short, false),
		record.Line("the gauge", f.Gauge, record.Short, false),
		record.Line("who read it", f.ReadBy, record.Short, false),
		record.Line("the note", f.Note, record.Long, false),
	)
}

// occupant returns the item that was at a position after so many entries.
func (s *State) occupant(at string, size int64) string {
	if size >= s.Size {
		return s.Fitted[at]
	}
	for i := len(s.Moves) - 1; i >= 0; i-- {
		if m := &s.Moves[i]; m.Position == at && m.Seq <= size {
			if m.In {
				return m.Item
			}
			return ""
		}
	}
	return ""
}

// everAt tells whether something with a tag was ever at a position, in so many
// entries.
func (s *State) everAt(at string, size int64) bool {
	return slices.ContainsFunc(s.Moves, func(m Move) bool { return m.Position == at && m.Seq <= size })
}

// others returns the sites that an installed bore is made of on other pieces
// than its own.
func others(site *book.Site) []*book.Site {
	return slices.DeleteFunc(site.MadeOf(), func(of *book.Site) bool { return of.At() == site.At() })
}

// makes returns the other items that an installed bore was made of after so many
// entries.
func (s *State) makes(site *book.Site, size int64) []string {
	var all []string
	for _, of := range others(site) {
		if item := s.occupant(of.At(), size); item != "" {
			all = append(all, item)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}
