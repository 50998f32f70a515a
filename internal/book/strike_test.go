package book

import (
	"bytes"
	"strings"
	"testing"
)

const strikable = waitingBook + `  shaft: {name: Shaft, size: tab.shaft, new: 0.9990..1.0000}
  gap: {name: Clearance, size: tab.gap, new: 0.0010..0.0030, service: 0.0045}
`

// strikableBook is the waiting book with a clearance to link.
func strikableBook() []byte {
	return []byte(strings.Replace(strikable, "height: {kind: outside}", "height: {kind: outside}, shaft: {kind: outside}, gap: {kind: clearance}", 1))
}

func settledAll(t *testing.T) (own, settled []byte) {
	t.Helper()
	own = strikableBook()
	settled, _, err := Answer("b.yaml", own, []byte("# mine\nformat: settled/1\n"), []Saying{saying("bore", "service", "1.0031")}, false)
	if err != nil {
		t.Fatal(err)
	}
	settled, _, err = Answer("b.yaml", own, settled, []Saying{saying("bore", "service", "1.0030"), saying("tab", "kind", "length wears larger")}, true)
	if err != nil {
		t.Fatal(err)
	}
	settled, _, err = Confirm("b.yaml", own, settled, []Linking{{Line: "gap", Fit: "case.good - tab.shaft", By: "A. Fitter", Date: "2026-01-02"}}, false)
	if err != nil {
		t.Fatal(err)
	}
	settled, err = Acknowledge("b.yaml", settled, acknowledged)
	if err != nil {
		t.Fatal(err)
	}
	return own, settled
}

func striking(line, cell string) Striking {
	return Striking{Line: line, Cell: cell, By: "B. Turner", Why: "the wrong row", Date: "2026-01-03"}
}

// What was settled, linked or acknowledged is taken back: it counts no more, and
// all that was said of it stays in the file.
func TestStrike(t *testing.T) {
	own, settled := settledAll(t)
	link, finding := striking("gap", ""), striking("", "")
	link.Link, finding.Finding = true, &Acknowledged{Code: acknowledged.Code, Lines: acknowledged.Lines, Printed: acknowledged.Printed}
	text, done, err := Strike("b.yaml", own, settled, striking("bore", ""), link, finding)
	if err != nil {
		t.Fatal(err)
	}
	b := done.Book
	bore, _ := b.Line("bore")
	gap, _ := b.Line("gap")
	if len(bore.Settled) != 0 || !bore.Waits() || gap.Link != nil || gap.Judges != Size || len(b.Acknowledged) != 0 {
		t.Errorf("%+v %+v %+v", bore, gap, b.Acknowledged)
	}
	var got []string
	for _, s := range b.Struck {
		got = append(got, strings.TrimSpace(s.Line+" "+s.Cell)+": "+s.String())
	}
	want := []string{
		"bore service: 1.0030, A. Fitter 2026-01-02: looked again; struck by B. Turner 2026-01-03: the wrong row",
		"gap: case.good - tab.shaft, A. Fitter 2026-01-02; struck by B. Turner 2026-01-03: the wrong row",
		": " + acknowledged.String() + "; struck by B. Turner 2026-01-03: the wrong row",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	for _, kept := range []string{"# mine", "1.0031", "text: 1,0030", "kind:"} {
		if !strings.Contains(string(text), kept) {
			t.Errorf("%q is lost:\n%s", kept, text)
		}
	}
	for _, key := range []string{"links:", "\nacknowledged:", "service:"} {
		if strings.Contains(string(text), key) {
			t.Errorf("%q is left:\n%s", key, text)
		}
	}
	// Settled anew, it can be struck anew: both stay.
	text, _, err = Answer("b.yaml", own, text, []Saying{saying("bore", "service", "1.0032")}, false)
	if err != nil {
		t.Fatal(err)
	}
	_, done, err = Strike("b.yaml", own, text, striking("bore", "service"), striking("tab", "kind"))
	if err != nil || len(done.Struck) != 2 || len(done.Book.Struck) != 5 || done.Struck[0].Says != "1.0032" || done.Struck[1].Cell != "kind" {
		t.Errorf("%v %+v", err, done)
	}
	if again, err := Load("b.yaml", Join(own, settled)); err != nil || len(again.Struck) != 0 {
		t.Errorf("%v %+v", err, again)
	}
}

func TestStrikeFaults(t *testing.T) {
	own, settled := settledAll(t)
	link, finding, nobody, why, odd := striking("bore", ""), striking("", ""), striking("bore", ""), striking("bore", ""), striking("bore", "")
	link.Link, nobody.By, why.Why, odd.Why = true, " ", "", "\xff"
	finding.Finding = &Acknowledged{Code: acknowledged.Code, Lines: acknowledged.Lines}
	for _, c := range []struct {
		one  Striking
		want string
	}{
		{striking("wide", ""), "wide: is not settled"},
		{striking("bore", "new"), "bore new: is not settled"},
		{striking("lost", "new"), "lost new: is not settled"},
		{link, "bore: is not linked"},
		{finding, "is not acknowledged"},
		{nobody, "who takes it back"},
		{why, "why it is taken back"},
		{odd, "is not UTF-8"},
	} {
		text, _, err := Strike("b.yaml", own, settled, striking("tab", "kind"), c.one)
		if err == nil || !strings.Contains(err.Error(), c.want) || text != nil {
			t.Errorf("%+v: %v, want %s", c.one, err, c.want)
		}
	}
	if _, _, err := Strike("b.yaml", own, nil, striking("bore", "")); err == nil || !strings.Contains(err.Error(), "is not settled") {
		t.Error(err)
	}
	both, _, err := Answer("b.yaml", own, nil, []Saying{saying("wide", "new", "1.0001..1.0020"), saying("wide", "service", "1.0032")}, false)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := Strike("b.yaml", own, both, striking("wide", "")); err == nil || !strings.Contains(err.Error(), "several of its cells are settled: new, service; say which") {
		t.Error(err)
	}
	if _, _, err := Strike("b.yaml", own, []byte("what: 1\n"), striking("wide", "")); err == nil {
		t.Error("a file that can't be read is changed")
	}
}

// What has lost its line or its cell keeps a book from loading; taken back, it does
// so no more.
func TestStrikeLapsed(t *testing.T) {
	own, settled := settledAll(t)
	changed := []byte(strings.NewReplacer(`"1,0030"`, `"1,0040"`, "  worn: {", "  renamed: {").Replace(string(own)))
	settled, _, err := Answer("b.yaml", own, settled, []Saying{saying("worn", "service", "wear 0.003 from min")}, false)
	if err != nil {
		t.Fatal(err)
	}
	settled, done, err := Strike("b.yaml", changed, settled, striking("bore", "service"))
	if err != nil || done.Book != nil || len(done.Struck) != 1 || done.Wrong == nil {
		t.Fatal(err, done)
	}
	_, done, err = Strike("b.yaml", changed, settled, striking("worn", ""))
	if err != nil || done.Book == nil || len(done.Book.Struck) != 2 {
		t.Fatal(err, done)
	}
}

// A book that could not be loaded with what was taken back stays as it is.
func TestStrikeTooMuch(t *testing.T) {
	own, settled := settledAll(t)
	own = append(own, bytes.Repeat([]byte("#"), MaxSize-len(Join(own, settled))-1)...)
	if _, err := Load("b.yaml", Join(own, settled)); err != nil {
		t.Fatal(err)
	}
	text, _, err := Strike("b.yaml", own, settled, striking("bore", ""))
	if err == nil || text != nil {
		t.Errorf("%v: %d bytes", err, len(text))
	}
}

func TestStruckFaults(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"[{hold: {line: a, cell: new, says: 1, by: A}, why: w}]", "say who struck it"},
		{"[{hold: {line: a, cell: new, says: 1, by: A}, by: B}]", "say why it was struck"},
		{"[{by: B, why: w}]", "it does not say what was struck"},
		{"[{hold: {line: a, cell: new, by: A}, by: B, why: w}]", "it does not say what was struck"},
		{"[{hold: {line: a, cell: new, says: 1, by: A}, link: {line: a, fit: b.c - d.e, by: A}, by: B, why: w}]", "it does not say what was struck"},
		{"[{acknowledged: {code: a, lines: [b], reason: because, by: A}, by: B, why: w}]", "write one of selection"},
		{"[{acknowledged: {code: a}, by: B, why: w}]", "with its code, its lines, a reason and a name"},
		{"{a: 1}", "wanted is a list"},
	} {
		data := []byte("format: settled/1\nstruck: " + tt.text + "\n")
		if _, err := LoadSettled("s.yaml", data); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %s", tt.text, err, tt.want)
		}
		if _, err := Load("b.yaml", Join(strikableBook(), data)); err == nil || !strings.Contains(err.Error(), "b.settled.yaml:2:") || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s behind a book: %v, want %s", tt.text, err, tt.want)
		}
	}
}
