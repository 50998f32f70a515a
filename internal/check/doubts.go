package check

import (
	"slices"

	"tenths/internal/book"
)

// Doubts returns all that waits for a person in the book's lines, as
// [book.Book.Doubts] does. Where cells contradict each other the likely readings
// are the mends of what was found of them.
func Doubts(b *book.Book) []book.Doubt {
	all := b.Doubts()
	if !slices.ContainsFunc(all, func(d book.Doubt) bool { return d.Line.Contradiction != "" }) {
		return all
	}
	found := Book(b)
	for i := range all {
		d := &all[i]
		if d.Line.Contradiction == "" {
			continue
		}
		for k := range found {
			for _, m := range found[k].Mends {
				if m.With == nil && m.Cell.Line == d.Line && m.Cell.Name == d.Cell && !slices.Contains(d.May, m.New) {
					d.May = append(d.May, m.New)
				}
			}
		}
	}
	return all
}
