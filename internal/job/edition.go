package job

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/record"
)

// EditionChanged says that the job is judged by another edition of its book, or
// by the same with other amendments. What that altered was listed and accepted.
type EditionChanged struct {
	Edition string   `json:"edition"`
	Manual  string   `json:"manual"`
	Alters  []string `json:"alters"`         // as many as there is room for
	More    int      `json:"more,omitempty"` // how many there is no room for
	List    string   `json:"list"`           // SHA-256 of the whole list, a line feed behind each
}

// Kind is edition-changed.
func (*EditionChanged) Kind() string { return "edition-changed" }

// A Changed is a change of edition with the entry that it is in.
type Changed struct {
	EditionChanged
	Mark
}

func (f *EditionChanged) apply(s *State, e *Entry) {
	s.Edition = f.Edition
	s.Editions = append(s.Editions, Changed{*f, mark(e)})
	s.Touched = e.Seq
}

// ChangeEdition asks for another edition to be judged by.
type ChangeEdition struct {
	Edition string
	Book    *book.Book // of that edition
	Accept  string     // the SHA-256 of the list of what it alters, by who has read it
}

func (r *ChangeEdition) decide(s *State, k Known) ([]Fact, error) {
	if _, ok := k.Shop.Editions[r.Edition]; !ok {
		return nil, record.Refuse("edition", "a manager adopts it with tenths shop adopt", "the shop has not adopted that edition of the book")
	}
	if r.Edition == s.Edition {
		return nil, record.Refuse("edition", "", "the job is by that edition already")
	}
	alters := s.Alters(k.Book, r.Book)
	f := &EditionChanged{Edition: r.Edition, Manual: r.Book.Manual.String(), Alters: []string{}, List: ListDigest(alters)}
	const room = 40_000
	for size, i := 0, 0; i < len(alters); i++ {
		if size += len(alters[i]) + 3; size > room {
			f.More = len(alters) - i
			break
		}
		f.Alters = append(f.Alters, alters[i])
	}
	if r.Accept != f.List {
		return nil, record.Refuse("accept", "read the list, then accept it by its digest "+f.List[:16], "what that edition alters has not been accepted (%s)", plural(len(alters), "change"))
	}
	return []Fact{f}, nil
}

// ListDigest returns the SHA-256 of a list, in hexadecimal.
func ListDigest(list []string) string {
	sum := sha256.New()
	for _, l := range list {
		sum.Write([]byte(l + "\n"))
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// Alters lists what judging the job by another book alters: lines that come,
// go and say something else, grades that become others, and readings that it
// does not take.
func (s *State) Alters(from, to *book.Book) []string {
	var all []string
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	if from.Manual != to.Manual {
		say("manual: %s; was %s", to.Manual.String(), from.Manual.String())
	}
	old := judge.Words{Book: from}
	now := judge.Words{Book: to}
	for _, l := range from.Lines {
		if _, ok := to.Line(l.Key); !ok {
			say("line %s is gone: %s", l.Key, old.Limits(l, l.Limit))
		}
	}
	for _, l := range to.Lines {
		before, ok := from.Line(l.Key)
		if !ok {
			say("line %s is new%s: %s", l.Key, by(l), now.Limits(l, l.Limit))
			continue
		}
		if a, b := old.Limits(before, before.Limit), now.Limits(l, l.Limit); a != b {
			say("line %s%s: %s; was %s", l.Key, by(l), b, a)
		}
		a, b := aspects(old, before), aspects(now, l)
		for i := range b {
			if a[i] != b[i] {
				say("line %s%s: %s: %s; was %s", l.Key, by(l), aspectNames[i], cmp.Or(b[i], "none"), cmp.Or(a[i], "none"))
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(s.Given)) {
		if !slices.ContainsFunc(to.Conditions, func(c book.Condition) bool { return c.Name == name && slices.Contains(c.Words, s.Given[name]) }) {
			say("condition %s=%s, as stated, is none of its", name, s.Given[name])
		}
	}
	for _, at := range slices.Sorted(maps.Keys(s.Fitted)) {
		if _, err := position(to, at); err != nil {
			say("position %s, where %s is, is gone", at, s.Fitted[at])
		}
	}
	a, b := s.Judge(from), s.Judge(to)
	was := map[string]judge.Grade{}
	for i := range a.Verdicts {
		was[a.Verdicts[i].Line.ID(a.Verdicts[i].At)] = a.Verdicts[i].Grade
	}
	for i := range b.Verdicts {
		v := &b.Verdicts[i]
		id := v.Line.ID(v.At)
		_, both := from.Line(v.Line.Key)
		switch grade, ok := was[id]; {
		case ok && grade != v.Grade:
			say("verdict %s: %s; was %s", id, v.Grade, grade)
		case !ok && both:
			say("verdict %s: %s; was not judged", id, v.Grade)
		}
		delete(was, id)
	}
	for i := range a.Verdicts {
		id := a.Verdicts[i].Line.ID(a.Verdicts[i].At)
		if _, left := was[id]; !left {
			continue
		}
		if _, both := to.Line(a.Verdicts[i].Line.Key); both {
			say("verdict %s: is not judged; was %s", id, was[id])
		}
	}
	for _, x := range b.Aside {
		if !slices.ContainsFunc(a.Aside, func(y Aside) bool { return y.Seq == x.Seq }) {
			say("reading of entry %d, %s %s, counts no more: %s", x.Seq, x.Spot, x.Value, x.Why)
		}
	}
	for i := range all {
		all[i] = strings.ReplaceAll(all[i], "\n", " ")
	}
	return all
}

// aspectNames are what a line says beside its limits.
var aspectNames = [...]string{
	"judges", "at", "in the planes", "when", "serial numbers", "stands in for", "is governed by", "graded",
	"measured", "selected parts", "moves with", "features", "at steps", "name, reference and page",
}

// aspects returns all that verdicts on a line depend on beside its limits, and
// what it is called: each in words that are the same where the thing is.
func aspects(w judge.Words, l *book.Line) (all [len(aspectNames)]string) {
	key := func(l *book.Line) string {
		if l == nil {
			return ""
		}
		return l.Key
	}
	all[0] = l.Judges.String()
	var features []string
	for _, t := range l.Terms {
		f := t.Feature
		all[0] += fmt.Sprintf(" %+d %s", t.Times, strings.TrimSuffix(f.Ref()+"."+t.Plane, "."))
		text := fmt.Sprintf("%s of class %d, wears %d, counts %d, in %s", f.Ref(), f.Class, f.Wears, f.Counts, f.Unit)
		for _, m := range f.Made {
			text += ", made of " + m.Ref()
		}
		for _, at := range f.Along {
			text += fmt.Sprintf(", at %v", at)
		}
		for _, s := range f.Steps {
			text += fmt.Sprintf(", step %s by %s", s.Mark, s.Shift.Rat().RatString())
			for _, m := range slices.SortedFunc(maps.Keys(s.Mates), func(a, b *book.Feature) int { return cmp.Compare(a.Ref(), b.Ref()) }) {
				text += " with " + m.Ref() + " " + strings.Join(s.Mates[m], " ")
			}
		}
		if !slices.Contains(features, text) {
			features = append(features, text)
		}
	}
	var places []string
	for i := range l.Instances {
		var sites []string
		for _, id := range l.Instances[i].Spots {
			sites = append(sites, w.Book.Spots[id].String())
		}
		places = append(places, l.ID(i)+" ("+strings.Join(sites, ", ")+")")
	}
	all[1], all[2] = strings.Join(places, "; "), strings.Join(l.Planes, ", ")
	for _, name := range slices.Sorted(maps.Keys(l.When)) {
		all[3] = strings.TrimPrefix(all[3]+"; "+name+" "+strings.Join(l.When[name], " or "), "; ")
	}
	all[4] = l.Engines()
	all[5], all[6], all[7] = key(l.Replaces), key(l.Governor), fmt.Sprint(!l.Ungraded)
	all[8] = l.As
	for _, c := range l.Choices {
		all[9] = strings.TrimPrefix(all[9]+", "+c.Text, ", ")
	}
	if m := l.Moves; m != nil {
		all[10] = fmt.Sprintf("%s from %s by %s", m.With.Ref(), m.From.Rat().RatString(), m.By.Rat().RatString())
	}
	all[11] = strings.Join(features, "; ")
	for _, mark := range slices.Sorted(maps.Keys(l.AtStep)) {
		all[12] = strings.TrimPrefix(all[12]+"; "+mark+" "+w.Limits(l, l.AtStep[mark]), "; ")
	}
	all[13] = l.Name + ", " + l.Ref + ", " + l.Page
	return all
}

// by names the amendment that a line is by.
func by(l *book.Line) string {
	if l.Amendment == nil {
		return ""
	}
	return " by " + l.Amendment.Number
}
