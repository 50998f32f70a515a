package job

import (
	"slices"
	"strings"

	"tenths/internal/reading"
	"tenths/internal/record"
)

// ItemReworked says that an item came back from rework: it is at its next
// stage, and what was measured of the named sites before has ended.
type ItemReworked struct {
	Item  string   `json:"item"`
	Stage int      `json:"stage"`
	Sites []string `json:"sites"` // features of the part: main-2, bigend
	What  string   `json:"what"`  // was done
}

// Kind is item-reworked.
func (*ItemReworked) Kind() string { return "item-reworked" }

// A Rework is a return of an item from rework.
type Rework struct {
	ItemReworked
	Mark
}

func (f *ItemReworked) apply(s *State, e *Entry) {
	s.Reworks = append(s.Reworks, Rework{*f, mark(e)})
	s.Touched = e.Seq
}

// Stage returns the stage that an item is at after so many entries.
func (s *State) Stage(item string, size int64) int {
	stage := 0
	for i := range s.Reworks {
		if r := &s.Reworks[i]; r.Item == item && r.Seq <= size {
			stage = r.Stage
		}
	}
	return stage
}

// lastRework returns the stage that an item came to when a site of it was
// reworked last; 0 where it never was.
func (s *State) lastRework(item, site string) int {
	for _, r := range slices.Backward(s.Reworks) {
		if r.Item == item && slices.Contains(r.Sites, site) {
			return r.Stage
		}
	}
	return 0
}

// ReturnFromRework asks to enter that an item came back.
type ReturnFromRework struct {
	Item  string
	Sites []string
	What  string
}

func (r *ReturnFromRework) decide(s *State, k Known) ([]Fact, error) {
	item, ok := s.Item(r.Item)
	if !ok {
		return nil, record.Refuse("item", "register it with tenths job item", "there is no item %q", r.Item)
	}
	part, err := partOf(k.Book, item.Part)
	if err != nil {
		return nil, err
	}
	if len(r.Sites) == 0 {
		return nil, record.Refuse("site", "name the features, as main-2", "it does not say what was reworked")
	}
	var all []string
	for _, f := range part.Features {
		for _, site := range f.Sites {
			_, text, _ := strings.Cut(site.String(), ".")
			if !slices.Contains(all, text) {
				all = append(all, text)
			}
		}
	}
	sites := slices.Compact(slices.Sorted(slices.Values(r.Sites)))
	for _, site := range sites {
		if !slices.Contains(all, site) {
			return nil, record.Refuse("site", "the part has "+list(all), "%s has no %q", item.Part, site)
		}
	}
	f := &ItemReworked{Item: r.Item, Stage: s.Stage(r.Item, s.Size) + 1, Sites: sites, What: r.What}
	if f.Stage == reading.Assembled {
		return nil, record.Refuse("stage", "register what is left of it as another item", "%s was reworked %d times", r.Item, f.Stage-1)
	}
	return []Fact{f}, record.Line("what was done", r.What, record.Long, true)
}
