package intake_test

import (
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
)

func sheet(t testing.TB, csv string) table.Sheet {
	t.Helper()
	s, faults := table.Read("f.csv", "", []byte(csv))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return s
}

// A table whose headings say nothing is looked at all the same, and is read once
// somebody says what its columns hold.
func TestLook(t *testing.T) {
	s := sheet(t, "My table,,\nthing,fresh,worn out\nPin dia,1.10 - 1.11,1.09\n")
	columns, headings, faults := intake.Look(s, intake.Mapping{})
	if len(columns) != 3 || headings != 2 || len(faults) != 1 || faults[0].Code != "header" || columns[1].Heading != "fresh" || columns[1].Says() != "skip" {
		t.Fatalf("%+v %d %v", columns, headings, faults)
	}
	m := intake.Mapping{Headings: headings, Columns: map[string]string{}}
	for i, says := range []string{"name", "new", "service"} {
		m.Columns[columns[i].Key(columns)] = says
	}
	columns, headings, faults = intake.Look(s, m)
	if len(faults) > 0 || headings != 2 || columns[2].Says() != "service" {
		t.Fatalf("%+v %d %v", columns, headings, faults)
	}
	d, faults := intake.Read(s, m)
	if len(faults) > 0 || !d.NeedsUnit() || len(d.Rows) != 1 || show(d) != "|Pin dia|outside|1.10 - 1.11|1.09\n" {
		t.Errorf("%v %s", faults, show(d))
	}
	if again, err := intake.ParseMapping(m.Text()); err != nil || again.Headings != 2 {
		t.Errorf("%+v %v", again, err)
	}

	// A row of headings that is not there, and none at all.
	if _, _, faults := intake.Look(s, intake.Mapping{Headings: 9}); len(faults) != 1 || faults[0].Line != 9 {
		t.Error(faults)
	}
	d, faults = intake.Read(sheet(t, "Pin dia,1.10 - 1.11,1.09\nRod bore,1.2,1.3\n"), intake.Mapping{Headings: -1, Columns: map[string]string{"A": "name", "B": "new", "C": "service"}})
	if len(faults) > 0 || len(d.Rows) != 2 {
		t.Errorf("%v", faults)
	}
}

// Columns are named by what tells them apart.
func TestColumnKeys(t *testing.T) {
	columns, _, _ := intake.Look(sheet(t, "Name,Min,Max,Min,,B\nPin,1,2,1,2,3\n"), intake.Mapping{Headings: 1})
	var keys []string
	for i := range columns {
		keys = append(keys, columns[i].Key(columns))
	}
	if got := strings.Join(keys, " "); got != "Name B Max D E F" {
		t.Errorf("keys %s", got)
	}
}

// What was said of one table is said of the next, as far as that has the columns
// and does not name its unit itself.
func TestFor(t *testing.T) {
	said := intake.Mapping{Unit: "in", Headings: 4, Columns: map[string]string{"What": "name", "Worn": "service", "F": "skip"}, Answers: map[string]string{"blank": "none"}}
	m := said.For(sheet(t, "What,New,Used\nPin dia,1.10 - 1.11,\n"))
	if m.Unit != "in" || m.Headings != 0 || len(m.Columns) != 1 || m.Columns["What"] != "name" || m.Answers["blank"] != "none" {
		t.Errorf("%+v", m)
	}
	if m = said.For(sheet(t, "What,New (mm),Used\nPin dia,20.10 - 20.11,\n")); m.Unit != "" {
		t.Errorf("a table in millimetres is said to be in %s", m.Unit)
	}
	if len(said.Columns) != 3 {
		t.Errorf("the other table's mapping is changed: %+v", said)
	}
}

// Rows know the lines that they became, in a book of their own and in one that
// was there.
func TestRowsKnowTheirLines(t *testing.T) {
	d := read(t, intake.Mapping{}, "Ref,Description,New (in),Service (in)\n1,Pin dia,1.10-1.11,1.09\n2,Bore taper and out-of-round,max .002,.004\n")
	text, _, err := d.Make("b.yaml", nil, intake.Title{Engine: "E"})
	if err != nil {
		t.Fatal(err)
	}
	other := read(t, intake.Mapping{}, "Ref,Description,New (in),Service (in)\n1,Pin dia,1.20-1.21,1.19\n")
	if text, _, err = other.Make("b.yaml", text, intake.Title{}); err != nil {
		t.Fatal(err)
	}
	b, err := book.Load("b.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	rows := slices.Concat(d.Rows, other.Rows)
	lines := 0
	for i := range rows {
		for _, key := range rows[i].Lines {
			l, ok := b.Line(key)
			if !ok || l.Name != rows[i].Name {
				t.Errorf("%s is of no line %s", rows[i].Name, key)
			}
			lines++
		}
	}
	if lines != 4 || len(b.Lines) != 4 || rows[0].Lines[0] == rows[2].Lines[0] {
		t.Errorf("%d lines of %d", lines, len(b.Lines))
	}
}

// Figures without a nought before the point, in two columns, and headings that
// stand where references do.
func TestCarelessColumns(t *testing.T) {
	d := read(t, intake.Mapping{Unit: "in"}, "no,what,min,max,wear limit\nCRANK,,,,\n1,End play,.006,.016,.025\n* see the notes,,,,\n")
	if got := show(d); got != "CRANK|End play|end clearance|.006 to .016|.025\n" || len(d.Notes) != 2 {
		t.Errorf("%s %+v", got, d.Notes)
	}
}
