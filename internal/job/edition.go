package job

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
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
	}
	a, b := s.Judge(from), s.Judge(to)
	was := map[string]judge.Grade{}
	for i := range a.Verdicts {
		was[a.Verdicts[i].Line.ID(a.Verdicts[i].At)] = a.Verdicts[i].Grade
	}
	for i := range b.Verdicts {
		v := &b.Verdicts[i]
		id := v.Line.ID(v.At)
		if grade, ok := was[id]; ok && grade != v.Grade {
			say("verdict %s: %s; was %s", id, v.Grade, grade)
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

// by names the amendment that a line is by.
func by(l *book.Line) string {
	if l.Amendment == nil {
		return ""
	}
	return " by " + l.Amendment.Number
}
