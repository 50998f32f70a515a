package intake_test

import (
	"bytes"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
)

// wholeOf reads a book as a sheet as a table.
func wholeOf(t testing.TB, own string, m intake.Mapping) *intake.Draft {
	t.Helper()
	sheets, err := intake.BookSheets([]byte(own))
	if err != nil {
		t.Fatal(err)
	}
	data := sheetFile(t, "xlsx", sheets)
	first, faults := table.Read("b.xlsx", "", data)
	if len(faults) > 0 || !intake.IsBookSheet(first) {
		t.Fatal(faults)
	}
	d, faults := intake.ReadWhole(first, data, m)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return d
}

// What is said of the engine and the manual stands in the book, and nothing else
// changes; what it says itself leaves it as it is.
func TestWholeTitled(t *testing.T) {
	for _, own := range []string{
		openBook,
		"format: book/1\nmanual: {title: Old, revision: A}\n" + openBook[len("format: book/1\n"):],
	} {
		f := wholeOf(t, own, intake.Mapping{}).Whole
		if !bytes.Equal(f.Titled(f.Title()), f.Text) {
			t.Errorf("its own title changes it:\n%s", f.Titled(f.Title()))
		}
		want := intake.Title{Engine: "Other: 2", Number: "OM-2", Date: "2026-01-02"}
		text := f.Titled(want)
		b, err := book.Load("b.yaml", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if got := (intake.Title{Engine: b.Engine, Manual: b.Manual.Title, Number: b.Manual.Number, Revision: b.Manual.Revision, Date: b.Manual.Date}); got != want {
			t.Errorf("%+v", got)
		}
		if len(b.Lines) != 3 || len(b.Parts) != 1 {
			t.Errorf("something else is changed:\n%s", text)
		}
	}
}

// A cell that a person doubts is held, and its service limit waits with it; one
// that says something else by now is not.
func TestWholeDoubted(t *testing.T) {
	const own = `format: book/1
engine: E
unit: in
parts: {a: {features: {x: {kind: inside}}}}
lines:
  x: {name: Bore, size: a.x, new: 1.000..1.001, service: 1.002}
`
	doubt := intake.Doubted{Row: 3, Cell: book.HoldNew, Text: "1.000..1.001", May: []string{"1.000..1.0015"}, Why: "the sum"}
	d := wholeOf(t, own, intake.Mapping{Holds: []intake.Doubted{doubt}})
	l, _ := d.Whole.Book.Line("x")
	if len(l.Holds) != 2 || l.Holds[0].Why != "the sum" || l.Holds[1].Text != "1.002" || len(d.Rows[0].Holds) != 2 || d.Rows[0].FileLine != 3 {
		t.Errorf("%+v, %+v", l.Holds, d.Rows)
	}
	doubt.Text = "1.000..1.002"
	d = wholeOf(t, own, intake.Mapping{Holds: []intake.Doubted{doubt}})
	if l, _ := d.Whole.Book.Line("x"); l.Waits() {
		t.Errorf("%+v", l.Holds)
	}
	if _, _, err := d.Make("b.yaml", []byte(own), intake.Title{}); err == nil {
		t.Error("a whole book was added to another")
	}
}
