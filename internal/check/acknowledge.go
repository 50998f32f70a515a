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

// Settle notes on each finding of a book the acknowledgement that is of it, and
// those that were taken back. It returns those that are of none any more: the
// book no longer has the finding, or prints other figures.
func Settle(found []Finding, b *book.Book) (lapsed []book.Acknowledged) {
	of := func(a *book.Acknowledged) *Finding {
		at := slices.IndexFunc(found, func(f Finding) bool {
			about := f.About()
			return a.Code == about.Code && slices.Equal(a.Lines, about.Lines) && slices.Equal(a.Printed, about.Printed)
		})
		if at < 0 {
			return nil
		}
		return &found[at]
	}
	for i := range b.Acknowledged {
		if f := of(&b.Acknowledged[i]); f != nil {
			f.Acknowledged = &b.Acknowledged[i]
		} else {
			lapsed = append(lapsed, b.Acknowledged[i])
		}
	}
	for i := range b.Struck {
		if s := &b.Struck[i]; s.Acknowledged != nil {
			if f := of(s.Acknowledged); f != nil {
				f.Struck = append(f.Struck, s)
			}
		}
	}
	return lapsed
}
