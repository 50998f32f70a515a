package judge

import (
	"tenths/internal/book"
	"tenths/internal/reading"
)

// Readings are the readings of an engine, filed by spot: those that stand, and
// those that a later stage has put aside.
type Readings struct {
	start []int32
	list  []reading.Reading
	Past  []reading.Reading // of a stage that is over, or of an installed bore taken apart
}

// File sorts readings by spot for a book; of readings at one spot the order
// stays.
//
// At each site the readings of its latest stage stand: once a journal is
// reground, what it was found at is past. An installed bore has ended where one
// of the features it is made of has readings of a later stage: it must be
// measured again.
func File(b *book.Book, all []reading.Reading) *Readings {
	stage := make([]int, len(b.Sites))
	for i := range all {
		at := &stage[b.SiteAt(all[i].Spot).Index]
		*at = max(*at, all[i].Stage)
	}
	made := make([]int, len(b.Sites))
	for _, s := range b.Sites {
		for _, of := range s.MadeOf() {
			made[s.Index] = max(made[s.Index], stage[of.Index])
		}
	}
	stands := func(r *reading.Reading) bool {
		at := b.SiteAt(r.Spot).Index
		return r.Stage == stage[at] && r.Stage >= made[at]
	}
	r := &Readings{start: make([]int32, len(b.Spots)+2)}
	n := 0
	for i := range all {
		if stands(&all[i]) {
			r.start[all[i].Spot+2]++
			n++
		}
	}
	for i := 2; i < len(r.start); i++ {
		r.start[i] += r.start[i-1]
	}
	r.list = make([]reading.Reading, n)
	for i := range all {
		if !stands(&all[i]) {
			r.Past = append(r.Past, all[i])
			continue
		}
		next := &r.start[all[i].Spot+1]
		r.list[*next] = all[i]
		*next++
	}
	return r
}

// At returns the readings that stand at a spot. It is a [Here].
func (r *Readings) At(id book.SpotID) []reading.Reading {
	return r.list[r.start[id]:r.start[id+1]]
}

// Touched judges again just what a reading at a spot is part of, in the order
// of the book. Conditions are not looked at: the caller knows which lines are
// for its engine.
func Touched(b *book.Book, id book.SpotID, here Here) []Verdict {
	refs := b.Touches(id)
	all := make([]Verdict, len(refs))
	for i, r := range refs {
		all[i] = Line(r.Line, r.At, here)
	}
	return all
}
