package book

import (
	"errors"
	"strings"
	"testing"

	"tenths/internal/fault"
)

const waitingBook = `format: book/1
engine: E
unit: in
parts:
  case: {features: {bore: {kind: inside}, wide: {kind: inside}, worn: {kind: inside}, good: {kind: inside}}}
  tab: {features: {height: {kind: outside}}}
lines:
  bore: {name: Bore, size: case.bore, new: 1.0010..1.0020, hold: {service: {text: "1,0030", may: [1.0030], why: a comma}}}
  wide: {name: Wide, size: case.wide, new: 1.0010..1.0020, service: 1.0002}
  worn: {name: Worn, size: case.worn, new: 1.0010..1.0020, service: wear 0.003}
  good: {name: Good, size: case.good, new: 1.0010..1.0020, service: 1.0040}
  tab: {name: Tab, size: tab.height, new: 0.500..0.510, service: 0.520, hold: {kind: {text: Tab}}}
`

func saying(line, cell, says string) Saying {
	return Saying{Line: line, Cell: cell, Says: says, By: "A. Fitter", Why: "looked again", Date: "2026-01-02", Place: Place{"answers.csv", 4, 7}}
}

func TestDoubts(t *testing.T) {
	b, err := Load("b.yaml", []byte(waitingBook))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, d := range b.Doubts() {
		got = append(got, d.Line.Key+" "+d.Cell+" "+d.Text+" "+strings.Join(d.May, "|"))
	}
	want := []string{
		"bore service 1,0030 1.0030", "wide new 1.0010..1.0020 ", "wide service 1.0002 ",
		"worn service wear 0.003 wear 0.003 from min|wear 0.003 from max", "tab kind Tab ",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if got := Count(b.Doubts()); got != "5 cells of 4 lines wait for a person" {
		t.Error(got)
	}
}

// Whatever waits can be settled, all at once; the lines are then judged by what
// was said, and the book's own text is what it was.
func TestAnswer(t *testing.T) {
	all := []Saying{
		saying("bore", "service", "1.0030"), saying("wide", "service", "1.0032"),
		saying("worn", "service", "wear 0.003 from min"), saying("tab", "kind", "length wears larger"),
	}
	text, done, err := Answer("b.yaml", []byte(waitingBook), []byte("# mine\nformat: settled/1\nholds: # all\n"), all, false)
	if err != nil {
		t.Fatal(err)
	}
	if len(done.Settled) != 4 || len(done.Book.Doubts()) != 0 || Count(nil) != "nothing waits for a person" {
		t.Errorf("%+v", done)
	}
	for _, kept := range []string{"# mine", "# all"} {
		if !strings.Contains(string(text), kept) {
			t.Errorf("%q is lost:\n%s", kept, text)
		}
	}
	b, err := Load("b.yaml", Join([]byte(waitingBook), text))
	if err != nil {
		t.Fatal(err)
	}
	wide, _ := b.Line("wide")
	if len(wide.Limit.Tiers) != 2 || wide.Contradiction != "" || wide.Settled[0].Text != "1.0002" || wide.Settled[0].By != "A. Fitter" || wide.Settled[0].Date != "2026-01-02" {
		t.Errorf("%+v %+v", wide.Limit, wide.Settled)
	}

	// The same again adds nothing; something else needs to be said again, and what
	// was said before stays.
	same, done, err := Answer("b.yaml", []byte(waitingBook), text, all, false)
	if err != nil || len(done.Same) != 4 || len(done.Settled) != 0 || string(same) != string(text) {
		t.Errorf("%v %+v", err, done)
	}
	other := []Saying{saying("wide", "service", "1.0035")}
	if _, _, err := Answer("b.yaml", []byte(waitingBook), text, other, false); err == nil || !strings.Contains(err.Error(), `was settled as "1.0032" by A. Fitter 2026-01-02: looked again; say --again`) {
		t.Error(err)
	}
	for _, says := range []string{"1.0035", "1.0036"} {
		text, _, err = Answer("b.yaml", []byte(waitingBook), text, []Saying{saying("wide", "service", says)}, true)
		if err != nil {
			t.Fatal(err)
		}
	}
	if last, old, oldest := strings.Index(string(text), "1.0036"), strings.Index(string(text), "1.0035"), strings.Index(string(text), "1.0032"); last < 0 || old < last || oldest < old {
		t.Errorf("what was said before is not kept:\n%s", text)
	}
}

// One saying that can't be taken, and nothing is; the fault is told at its place.
func TestAnswerFaults(t *testing.T) {
	with := func(change func(*Saying)) Saying {
		s := saying("bore", "service", "1.0030")
		change(&s)
		return s
	}
	for _, c := range []struct {
		say  Saying
		want string
	}{
		{saying("bore", "service", "1.x"), `answers.csv:4:7: bore service: "1.x"`},
		{saying("lost", "service", "1.0"), `answers.csv:4:7: "lost": the book has no such line`},
		{saying("good", "service", "1.0"), `answers.csv:4:7: "service": this cell of good does not wait`},
		{saying("bore", "new", "1.0"), `answers.csv:4:7: "new": this cell of bore does not wait`},
		{saying("bore", "service", " "), "answers.csv:4:7: it says nothing"},
		{saying("bore", "service", "\xff"), "is not UTF-8 text"},
		{saying("tab", "kind", "length"), `answers.csv:4:7: tab kind: "length": the book does not say which way the feature wears; write length wears larger`},
		{saying("tab", "kind", "run-out"), `answers.csv:4:7: tab kind: "run-out": can't be settled here`},
		{with(func(s *Saying) { s.By = "" }), "answers.csv:4:7: it does not say who settles it"},
		{with(func(s *Saying) { s.Why = "" }), "answers.csv:4:7: it does not say how one knows"},
		{with(func(s *Saying) { s.CheckText, s.Text = true, "1,0040" }), `answers.csv:4:7: "1,0040": the book has "1,0030" there now`},
	} {
		text, done, err := Answer("b.yaml", []byte(waitingBook), nil, []Saying{saying("worn", "service", "wear 0.003 from max"), c.say}, false)
		var list fault.List
		if !errors.As(err, &list) || len(list) != 1 || !strings.Contains(list[0].String(), c.want) || text != nil || done.Book != nil && len(done.Book.Doubts()) != 5 {
			t.Errorf("%+v: %v, want %s", c.say, err, c.want)
		}
	}
	twice := []Saying{saying("bore", "service", "1.0030"), saying("bore", "service", "1.0030"), saying("bore", "service", "1.0031")}
	if _, _, err := Answer("b.yaml", []byte(waitingBook), nil, twice, false); err == nil || !strings.Contains(err.Error(), "something else further up: 1.0030") {
		t.Error(err)
	}
}

// What was settled of other text has lapsed, and a cell that no doubt is about
// can't be settled past the book.
func TestSettledLapses(t *testing.T) {
	for _, c := range []struct{ settled, want string }{
		{"bore: {service: {text: \"1,0031\", says: 1.0030, by: A, why: w}}", `b.settled.yaml:3:26: holds.bore.service: "1,0031": the cell is "1,0030" in the book now`},
		{"wide: {service: {text: 1.0003, says: 1.0030, by: A, why: w}}", `the cell is "1.0002" in the book now`},
		{"good: {service: {text: 1.0040, says: 1.0030, by: A, why: w}}", "the line does not wait for a person"},
		{"good: {service: {says: 1.0030, by: A, why: w}}", "the book does not hold that cell"},
	} {
		_, err := Load("b.yaml", Join([]byte(waitingBook), []byte("format: settled/1\nholds:\n  "+c.settled+"\n")))
		var list fault.List
		if !errors.As(err, &list) || len(list) != 1 || !strings.Contains(list[0].String(), c.want) {
			t.Errorf("%s: %v, want %s", c.settled, err, c.want)
		}
	}
}

const looseBook = `format: book/1
engine: E
unit: in
parts:
  case: {features: {bore: {kind: inside}, other: {kind: inside}}}
  rod: {positions: 2, features: {bore: {kind: inside}}}
  shaft: {features: {outside: {kind: outside}}}
  loose: {features: {gap: {kind: clearance}}}
lines:
  bore: {name: Bore, size: case.bore, new: 1.0010..1.0020}
  other: {name: Other, size: case.other, new: 1.0010..1.0020}
  rods: {name: Rods, size: rod.bore, new: 1.0010..1.0020}
  shaft: {name: Shaft, size: shaft.outside, new: 0.9990..1.0000}
  gap: {name: Clearance, size: loose.gap, new: 0.0010..0.0030, service: 0.0045}
`

// A link is confirmed beside the book, once; another needs to be said again, and
// what was said before stays.
func TestConfirm(t *testing.T) {
	link := Linking{Line: "gap", Fit: "case.bore - shaft.outside", By: "A. Fitter", Date: "2026-01-02"}
	text, done, err := Confirm("b.yaml", []byte(looseBook), nil, []Linking{link}, false)
	if err != nil || len(done.Linked) != 1 {
		t.Fatal(err, done)
	}
	gap, _ := done.Book.Line("gap")
	if gap.Judges != Fit || gap.Link.By != "A. Fitter" || len(gap.Terms) != 2 {
		t.Errorf("%+v", gap)
	}
	same, done, err := Confirm("b.yaml", []byte(looseBook), text, []Linking{link}, false)
	if err != nil || len(done.Same) != 1 || string(same) != string(text) {
		t.Error(err, done)
	}
	link.Fit = "case.other - shaft.outside"
	if _, _, err := Confirm("b.yaml", []byte(looseBook), text, []Linking{link}, false); err == nil || !strings.Contains(err.Error(), `it was linked as "case.bore - shaft.outside" by A. Fitter 2026-01-02; say --again`) {
		t.Error(err)
	}
	text, done, err = Confirm("b.yaml", []byte(looseBook), text, []Linking{link}, true)
	if err != nil || !strings.Contains(string(text), "before:") || !strings.Contains(string(text), "case.bore - shaft.outside") {
		t.Errorf("%v\n%s", err, text)
	}
	if gap, _ := done.Book.Line("gap"); gap.Link.Fit != link.Fit {
		t.Errorf("%+v", gap.Link)
	}
	for _, c := range []struct {
		link Linking
		want string
	}{
		{Linking{Line: "lost", Fit: "case.bore - shaft.outside", By: "A"}, "lost: the book has no such line"},
		{Linking{Line: "bore", Fit: "case.bore - shaft.outside", By: "A"}, "is no clearance that is measured as one"},
		{Linking{Line: "gap", Fit: "case.bore - shaft.outside"}, "it does not say who confirms it"},
		{Linking{Line: "gap", Fit: "case.bore - shaft.outside", By: "\xff"}, "is not UTF-8"},
		{Linking{Line: "gap", Fit: "case.bore - shaft.lost", By: "A"}, "there is no such feature"},
		{Linking{Line: "gap", Fit: "rod.bore - shaft.outside", By: "A"}, "who mates with whom?"},
	} {
		if text, _, err := Confirm("b.yaml", []byte(looseBook), nil, []Linking{c.link}, false); err == nil || !strings.Contains(err.Error(), c.want) || text != nil {
			t.Errorf("%+v: %v, want %s", c.link, err, c.want)
		}
	}
}
