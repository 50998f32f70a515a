package job_test

import (
	"fmt"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/reading"
)

// other is the small book as its maker printed it next: a limit is narrower, one
// has an amendment, a line went and one came, and a part is gone.
func other(t *testing.T) *book.Book {
	return altered(t,
		`revision: "1", date: 2026-02-03`, `revision: "2", date: 2026-10-01`,
		"size: crank.main, new: 1.9990..2.0000", "size: crank.main, new: 1.9996..2.0000",
		"  crack: {ref: 10, page: 2-2, name: Cracks in a rod, check: rod.crack", "  scores: {ref: 11, page: 2-2, name: Scores in a rod, check: rod.crack",
		"  key:\n    name: Key\n    features:\n      width: {name: Width, kind: outside}\n", "",
		"new: 0.005..0.010, service: 0.015}", "new: 0.005..0.010, service: 0.013, amendment: letter3}",
	)
}

// What an edition alters is listed, and is accepted by who has read the list.
func TestChangeEdition(t *testing.T) {
	k := ready(t)
	k.take("key.width", "0.2500")
	k.take("rod-2.side", "0.014")
	k.strike(k.state.Size - 2) // the one that was measured before
	to := other(t)
	list := k.state.Alters(k.book, to)
	same(t, "what it alters", list, []string{
		"manual: Invented overhaul manual, INV-2, revision 2, 2026-10-01; was Invented overhaul manual, INV-2, revision 1, 2026-02-03",
		"line crack is gone: must be no",
		"line main: new 1.9996..2.0000, service min 1.9980; was new 1.9990..2.0000, service min 1.9980",
		"line side by INV-L3: new 0.005..0.010, service max 0.013, by INV-L3 of 2026-06-07; was new 0.005..0.010, service max 0.015",
		"line scores is new: must be no",
		"verdict main-1: serviceable; was new",
		"verdict main-2: serviceable; was new",
		"verdict side-2: beyond; was serviceable",
		"reading of entry 23, key.width 0.2500 in, counts no more: the book does not take it: spot: \"key.width\": the book has no such spot; the book's parts are crank, case, shell, rod [spot]",
	})
	ask := func(edition, accept string) job.Request {
		return &job.ChangeEdition{Edition: edition, Book: to, Accept: accept}
	}
	digest := job.ListDigest(list)
	rule(t, []ruling{
		{"accepted", k, "mp", ask(second, digest), "", "", ""},
		{"not accepted", k, "mp", ask(second, ""), "accept", "has not been accepted (9 changes)", digest[:16]},
		{"accepted by half", k, "mp", ask(second, digest[:16]), "accept", "has not been accepted", digest[:16]},
		{"another list accepted", k, "mp", ask(second, job.ListDigest(list[1:])), "accept", "has not been accepted", digest[:16]},
		{"the edition that it is by", k, "mp", ask(first, digest), "edition", "by that edition already", ""},
		{"one that is not adopted", k, "mp", ask(none, digest), "edition", "not adopted", "tenths shop adopt"},
		{"none", k, "mp", ask("", digest), "edition", "not adopted", "tenths shop adopt"},
	})

	// A list is accepted as it is, not as it was.
	was := k.state.Size
	k.take("crank.main-1", "1.9970")
	rule(t, []ruling{{"accepted before a reading came", k, "mp", ask(second, digest), "accept", "has not been accepted (8 changes)", "accept it by its digest"}})
	k.strike(was + 1)
	rule(t, []ruling{{"accepted, and the reading is gone", k, "mp", ask(second, digest), "", "", ""}})

	before := k.state.Snapshot()
	n := k.do("mp", ask(second, digest))
	f, ok := k.last(1)[0].(*job.EditionChanged)
	if !ok || f.Edition != second || f.Manual != to.Manual.String() || f.List != digest || f.More != 0 {
		t.Errorf("it comes to %+v", f)
	}
	same(t, "the list in the record", f.Alters, list)
	s := k.state
	if s.Edition != second || len(s.Editions) != 1 || s.Editions[0].Seq != n || s.Touched != n || s.About.Edition != first || before.Edition != first || len(before.Editions) != 0 {
		t.Errorf("it comes to %s, %d changes; opened by %s", s.Edition, len(s.Editions), s.About.Edition)
	}
	k.book = to
	if v := k.verdict("side-2"); v.Grade != judge.Beyond {
		t.Errorf("by the new one side 2 is %v", v.Grade)
	}
	if why := k.aside(23); !strings.HasPrefix(why, "the book does not take it") {
		t.Errorf("the key's reading does not count since %q", why)
	}
}

// What an edition alters may be more than a line of the record has room for: the
// digest is of all of it.
func TestChangeEditionOfMuch(t *testing.T) {
	much := func(limit string) *book.Book {
		var text strings.Builder
		text.WriteString("format: book/1\nengine: Invented\nunit: in\nparts:\n  p:\n    name: Part\n    features:\n      f: {name: Feature, kind: outside}\nlines:\n")
		for i := range 1200 {
			fmt.Fprintf(&text, "  l%d: {name: \"Line %[1]d\", size: p.f, new: %s, service: 0.9}\n", i, limit)
		}
		b, err := book.Load("much.yaml", []byte(text.String()))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	k := opened(t)
	k.book = much("0.91..1.0")
	to := much("0.92..1.0")
	list := k.state.Alters(k.book, to)
	k.do("mp", &job.ChangeEdition{Edition: second, Book: to, Accept: job.ListDigest(list)})
	f := k.last(1)[0].(*job.EditionChanged)
	if len(list) != 1200 || f.More == 0 || len(f.Alters)+f.More != len(list) || f.List != job.ListDigest(list) {
		t.Errorf("of %d changes %d are in the record and %d more", len(list), len(f.Alters), f.More)
	}
	same(t, "those that are", f.Alters, list[:len(f.Alters)])
	if got := k.state.Words(&read(t, k.lines)[1]); !strings.Contains(got, "; 1200 changes accepted, list "+f.List[:16]) {
		t.Errorf("it says %s", got)
	}
}

// A digest tells every list from every other.
func TestListDigest(t *testing.T) {
	// By sha256sum of coreutils, of printf 'a\nb\n'.
	if got, want := job.ListDigest([]string{"a", "b"}), "911169ddaaf146aff539f58c26c489af3b892dff0fe283c1c264c65ae5aa59a2"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	seen := map[string]bool{}
	for _, list := range [][]string{nil, {""}, {"", ""}, {"a", "b"}, {"b", "a"}, {"ab"}, {"a", "b", ""}} {
		seen[job.ListDigest(list)] = true
	}
	if len(seen) != 7 {
		t.Errorf("seven lists have %d digests", len(seen))
	}
}

// An edition that alters nothing can be changed to, and what is recorded of it
// can be read back.
func TestChangeEditionThatAltersNothing(t *testing.T) {
	k := ready(t)
	k.do("mp", &job.ChangeEdition{Edition: second, Book: altered(t, "# A small engine", "# The small engine"), Accept: job.ListDigest(nil)})
	same(t, "the fact", k.last(1)[0].(*job.EditionChanged).Alters, []string{})
}

// Whatever a verdict rests on is listed where it changes, whether or not the
// verdict does yet.
func TestAltersTellsAll(t *testing.T) {
	k := opened(t)
	k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})
	k.found("S2", "shell", "shell-2")
	for _, c := range []struct {
		name     string
		old, new string
		want     string // how something begins that is listed
	}{
		{"a line's condition", "service: 0.5015, when: {bushing: used}", "service: 0.5015, when: {bushing: [new, used]}", "line bush-used: when: "},
		{"its serial numbers", "serials: [..99]", "serials: [..199]", "line side-old by INV-L3: serial numbers: "},
		{"which verdicts there are", "serials: [..99]", "serials: [..199]", "verdict side-1: is not judged"},
		{"and which come", "serials: [..99]", "serials: [..199]", "verdict side-old-1: none; was not judged"},
		{"what stands in for what", ", replaces: side}", "}", "line side-old by INV-L3: stands in for: none; was side"},
		{"what is judged", "fit: rod.bigend - crank.pin", "fit: rod.bigend - crank.main", "line rod-fit: judges: "},
		{"where", "kind: outside, places: 2, directions: [0, 90]", "kind: outside, places: 2, directions: [0, 45, 90]", "line pin: at: "},
		{"what counts", "{name: Crankpin, kind: outside", "{name: Crankpin, counts: mean, kind: outside", "line pin: features: "},
		{"which way it wears", "{name: Side clearance, kind: clearance}", "{name: Side clearance, kind: length, wears: larger}", "line side: features: "},
		{"what a bore is made of", "made-of: [case.bore, shell.wall]", "made-of: [case.bore]", "line fitted: features: "},
		{"steps", "{name: Crankpin, kind: outside", "{name: Crankpin, steps: {m003: {shift: -0.003}}, kind: outside", "line pin: features: "},
		{"limits at a step", "{name: Crankpin, kind: outside", "{name: Crankpin, steps: {m003: {shift: -0.003}}, kind: outside", "line pin: at steps: m003 "},
		{"how it is measured", "page: 2-2, name: Big end,", "page: 2-2, as: at 150 lbf-ft, name: Big end,", "line bigend: measured: at 150 lbf-ft; was none"},
		{"whether it is graded", "page: 2-2, name: Big end,", "page: 2-2, graded: no, name: Big end,", "line bigend: graded: "},
		{"the page", "ref: 6, page: 2-2", "ref: 6, page: 2-3", "line bigend: name, reference and page: "},
		{"words of a condition that was stated", "bushing: [new, used]", "bushing: [new, worn]", ""},
		{"a position where something is", "    positions: 2\n    features:\n      wall", "    positions: 1\n    features:\n      wall", ""},
		{"selected parts", "fit: rod.bigend - crank.pin,", "fit: rod.bigend - crank.pin, select: [0.0001, 0.0002],", "line rod-fit: selected parts: 0.0001, 0.0002; was none"},
		{"limits that move", "size: rod.bushing, new: 0.5000..0.5005, service: 0.5015,", "size: rod.bushing, new: 0.5000..0.5005, service: 0.5015, moves: {with: rod.bigend, from: 1.5, by: 3},", "line bush-used: moves with: rod.bigend from "},
		{"what governs", "page: 2-2, name: Big end,", "page: 2-2, governed-by: side, name: Big end,", "line bigend: is governed by: side; was none"},
	} {
		text := strings.Replace(bookText(), c.old, c.new, 1)
		switch c.name {
		case "words of a condition that was stated":
			text, c.want = strings.Replace(text, "when: {bushing: used}", "when: {bushing: worn}", 1), "condition bushing=used, as stated, is none of its"
		case "a position where something is":
			text = strings.NewReplacer("kind: outside, places: 2}", "kind: outside}", "kind: inside, places: 2", "kind: inside").Replace(text)
			c.want = "position shell-2, where S2 is, is gone"
		}
		to, err := book.Load("to.yaml", []byte(text))
		if err != nil || text == bookText() {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		list := k.state.Alters(k.book, to)
		found := false
		for _, l := range list {
			found = found || strings.HasPrefix(l, c.want)
		}
		if !found {
			t.Errorf("%s: %q is not in\n%s", c.name, c.want, strings.Join(list, "\n"))
		}
	}
}

// A reading that the new book takes in another place than the old one did is
// where the new one has it.
func TestReadingsOfAnotherEdition(t *testing.T) {
	k := opened(t)
	n := k.take("rod-1.bigend.-.90", "1.5015")
	k.do("rs", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007"}})
	k.book = altered(t, "bigend: {name: Big end, kind: inside, directions: [0, 90]}", "bigend: {name: Big end, kind: inside, directions: [0, 45]}")
	k.counts("rod-1.side=0.007 | 2")
	if why := k.aside(n); !strings.Contains(why, "no such spot") {
		t.Errorf("it does not count since %q", why)
	}
}
