package draft

import (
	"fmt"
	"maps"
	"strings"

	"tenths/internal/intake"
)

// Count says how many of its parts the engine has, by their keys, and in which
// directions the diameters of one table are measured. Of a part that several tables
// have all of them are told: they are of one engine.
func (s *Drafts) Count(name string, n int, counts map[string]int, across string) error {
	return s.changeTable(name, n, func(d *Draft, t *Table) error {
		names := map[string]string{} // of the parts, by key
		for _, t := range d.Tables {
			if t.Read == nil || t.Whole {
				continue
			}
			for _, p := range t.Read.Parts() {
				names[p.Key] = p.Name
			}
		}
		for i, other := range d.Tables {
			if other.Whole {
				continue
			}
			said := other.Mapping
			said.Counts = maps.Clone(said.Counts)
			called := maps.Clone(names)
			if other.Read != nil {
				for _, p := range other.Read.Parts() {
					called[p.Key] = p.Name
				}
			}
			for key, count := range counts {
				if called[key] == "" {
					return &RefusedError{fmt.Sprintf("the tables have no part %q", key), "look at the rows again"}
				}
				maps.DeleteFunc(said.Counts, func(part string, _ int) bool { return strings.EqualFold(part, called[key]) })
				if count > 1 || count < 1 {
					if said.Counts == nil {
						said.Counts = map[string]int{}
					}
					said.Counts[called[key]] = count
				}
			}
			if other == t {
				said.Across = across
			}
			said.Format = intake.MappingFormat
			if err := said.Check(); err != nil {
				return &RefusedError{"what is said of the engine can't be kept", err.Error()}
			}
			d.Tables[i] = other.As(said)
		}
		return s.save(d)
	})
}
