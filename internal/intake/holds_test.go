package intake_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
)

// printedBook is the book of a printed table, nothing of it answered.
func printedBook(t testing.TB, name string) []byte {
	t.Helper()
	return printed(t, name).Book(intake.Title{Engine: "E"})
}

// What waits goes out to a sheet and comes back from it, in both kinds of file,
// whatever stands in its cells.
func TestHoldsSheet(t *testing.T) {
	own := printedBook(t, "G1-TM9-6115-604-34")
	b, err := book.Load("b.yaml", own)
	if err != nil {
		t.Fatal(err)
	}
	waits := b.Doubts()
	if len(waits) < 5 {
		t.Fatalf("only %d cells wait", len(waits))
	}
	waits[0].Text = "=HYPERLINK(1)" // what is printed is no formula
	out := intake.HoldsSheet(waits)
	for i := range out.Rows[1:] {
		if i > 0 && i%2 == 0 {
			continue // stays unanswered
		}
		out.Rows[i+1][9] = fmt.Sprintf("=answer %d", i)
		if i == 0 {
			out.Rows[i+1][10], out.Rows[i+1][11] = "the drawing", "B. Turner"
		}
	}
	for _, kind := range []string{"xlsx", "csv"} {
		var file bytes.Buffer
		if kind == "xlsx" {
			err = table.WriteXLSX(&file, out)
		} else {
			err = table.WriteCSV(&file, out.Rows)
		}
		if err != nil {
			t.Fatal(err)
		}
		s, faults := table.Read("answers."+kind, "", file.Bytes())
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		sayings, open, faults := intake.Answers(s, "A. Fitter", "looked again", "2026-01-02")
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		if open+len(sayings) != len(waits) || open == 0 {
			t.Errorf("%s: %d open and %d answered of %d", kind, open, len(sayings), len(waits))
		}
		first, second := sayings[0], sayings[1]
		if first.Says != "=answer 0" || first.Text != "=HYPERLINK(1)" || first.By != "B. Turner" || first.Why != "the drawing" || first.Date != "2026-01-02" {
			t.Errorf("%s: %+v", kind, first)
		}
		if second.Line != waits[1].Line.Key || second.Cell != waits[1].Cell || second.Text != waits[1].Text || second.By != "A. Fitter" || second.Why != "looked again" ||
			second.Place != (book.Place{File: "answers." + kind, Line: 3, Column: 10}) {
			t.Errorf("%s: %+v, of %+v", kind, second, waits[1].Hold)
		}
	}
}

// Columns may be moved and rows taken out; what the sheet can't do without is
// told.
func TestAnswersFaults(t *testing.T) {
	read := func(text string) (string, int) {
		s, faults := table.Read("a.csv", "", []byte(text))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		all, _, faults := intake.Answers(s, "A", "w", "")
		return faults.Error(), len(all)
	}
	if got, n := read("x,,\nanswer,LINE,column,printed\n1.0030,bore,Service,\"1,0030\"\n"); got != "" || n != 1 {
		t.Errorf("%d, %s", n, got)
	}
	for _, c := range []struct{ text, want string }{
		{"Ref,Answer\n1,2\n", "a.csv: this is no sheet of what waits"},
		{"Line,Answer\nbore,2\n", `a.csv:1:1: "Column": the sheet has no such column`},
		{"Line,Column,Printed,Answer\nbore,new,x," + strings.Repeat("1", table.MaxChars+1) + "\n", "a.csv:2:4: Answer: "},
	} {
		if got, n := read(c.text); !strings.Contains(got, c.want) || n != 0 {
			t.Errorf("%q: %s, want %s", c.text, got, c.want)
		}
	}
}

// What the words of a row do not say can be settled by what is offered, and a cell
// that no kind can read waits beside it.
func TestUnknownKindIsSettled(t *testing.T) {
	s, faults := table.Read("t.csv", "", []byte("Ref,Description,New,Wear limit\n1,Gizmo,1.000 - 1.001,1.002\n2,Whatnot,1.000 - 1.0x1,\"1,002\"\n"))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	d, faults := intake.Read(s, intake.Mapping{Decimal: "point"})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	own := d.Book(intake.Title{})
	b, err := book.Load("b.yaml", own)
	if err != nil {
		t.Fatal(err)
	}
	waits := b.Doubts()
	if len(waits) != 4 || waits[0].Cell != "kind" || waits[1].Text != "1.000 - 1.0x1" || waits[2].Text != "1,002" {
		t.Fatalf("%+v", waits)
	}
	for _, kind := range waits[0].May {
		says := []book.Saying{
			{Line: waits[0].Line.Key, Cell: "kind", Says: kind, By: "A", Why: "w"},
			{Line: waits[1].Line.Key, Cell: "new", Says: "1.000..1.001", By: "A", Why: "w"},
			{Line: waits[1].Line.Key, Cell: "service", Says: "blank", By: "A", Why: "w"},
			{Line: waits[1].Line.Key, Cell: "kind", Says: kind, By: "A", Why: "w"},
		}
		_, done, err := book.Answer("b.yaml", own, nil, says, false)
		if err != nil {
			t.Errorf("%s: %v", kind, err)
			continue
		}
		for _, d := range done.Book.Doubts() {
			if d.Cell == "kind" {
				t.Errorf("%s: %s waits still", kind, d.Line.Key)
			}
		}
	}
}

// What people type who make a table for themselves: shortened words, units in the
// cells, and a heading that nobody knows, whose figures are not left out unsaid.
func TestTypedByOneself(t *testing.T) {
	read := func(text string) *intake.Draft {
		s, faults := table.Read("t.csv", "", []byte(text))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		d, faults := intake.Read(s, intake.Mapping{Unit: "in"})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return d
	}
	d := read("item,what,new,out at\n1,rod side clr,.008-.016,.022\n2,cam journ,1.3735-1.3745,1.3725\n3,rod bolt torque,480-520 in-lb,same as new\n4,outer spring load @1.4,110-120 lbf,105\n5,crank pins,2.1240/2.1250,2.122\n")
	want := []intake.Kind{intake.SideClearance, intake.Outside, intake.Torque, intake.SpringLoad, intake.Outside}
	for i := range d.Rows {
		if r := &d.Rows[i]; r.Kind != want[i] || r.Held() != (i == 4) {
			t.Errorf("%s", r)
		}
	}
	if h := d.Rows[4].Holds[0]; len(h.May) == 0 || h.May[0] != "2.1240..2.1250" {
		t.Errorf("%+v", h)
	}
	d = read("item,what,new,gone\n1,crank pin,2.1240-2.1250,2.122\n2,main journal,2.3740-2.3750,2.372\n")
	if len(d.Said) == 0 || !strings.Contains(d.Said[0], `what the column "gone" holds is not recognised, and its 2 figures are left out`) || !strings.Contains(d.Said[0], `--map "gone=service"`) {
		t.Errorf("%q", d.Said)
	}
}
