package compare

import (
	"tenths/internal/judge"
)

// A Grade is a verdict that is another by the other edition.
type Grade struct {
	ID       string         // of the line's instance, in the second book
	Old, New *judge.Verdict // nil where the line is not judged there
}

// Grades lists the verdicts that differ in grade, or that only one of two
// editions gives, in the order of the second; what the first alone judges comes
// last. A line that the other edition has not, and on which nothing is certain,
// is not among them.
func Grades(old, now []judge.Verdict) (all []Grade) {
	index := func(list []judge.Verdict) map[string]*judge.Verdict {
		all := make(map[string]*judge.Verdict, len(list))
		for i := range list {
			all[id(&list[i])] = &list[i]
		}
		return all
	}
	was, is := index(old), index(now)
	for i := range now {
		v := &now[i]
		before := was[id(v)]
		if before == nil && v.Grade == judge.NoGrade {
			continue
		}
		if before == nil || before.Grade != v.Grade || (before.Ungraded == "") != (v.Ungraded == "") {
			all = append(all, Grade{id(v), before, v})
		}
	}
	for i := range old {
		if v := &old[i]; is[id(v)] == nil && v.Grade != judge.NoGrade {
			all = append(all, Grade{id(v), v, nil})
		}
	}
	return all
}

func id(v *judge.Verdict) string { return v.Line.ID(v.At) }
