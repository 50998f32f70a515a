package check

import (
	"slices"

	"tenths/internal/book"
)

// About says what a finding is acknowledged by: its code, its lines and the
// cells as they are printed.
func (f *Finding) About() book.Acknowledged {
	a := book.Acknowledged{Code: f.Code}
	for _, l := range f.Lines {
		a.Lines = append(a.Lines, l.Key)
	}
	for _, c := range f.Cells {
		a.Printed = append(a.Printed, c.Text)
	}
	return a
}

// Settle notes on each finding the acknowledgement that is of it, and returns
// those that are of none any more: the book no longer has the finding, or
// prints other figures.
func Settle(found []Finding, acknowledged []book.Acknowledged) (lapsed []book.Acknowledged) {
	for i := range acknowledged {
		a := &acknowledged[i]
		at := slices.IndexFunc(found, func(f Finding) bool {
			about := f.About()
			return a.Code == about.Code && slices.Equal(a.Lines, about.Lines) && slices.Equal(a.Printed, about.Printed)
		})
		if at < 0 {
			lapsed = append(lapsed, *a)
			continue
		}
		found[at].Acknowledged = a
	}
	return lapsed
}
