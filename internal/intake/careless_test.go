package intake_test

import (
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
)

// The likely readings of a figure that can't be read are readings of the whole
// cell: chosen, they lose neither end of a range.
func TestLikelyReadingsAreWhole(t *testing.T) {
	for _, c := range []struct{ low, high, want string }{
		{"2.249O", "2.2500", "2.2490..2.2500"},
		{"2.2490", "2.25l0", "2.2490..2.2510"},
		{"2,2490", "2.2500", "2.2490..2.2500"},
		{"2.24.90", "2.2500", "2.2490..2.2500"},
		{"2..2490", "2.2500", "2.2490..2.2500"},
		{"22490", "2.2500", "2.2490..2.2500"},
		{"2. 2490", "2.2500", "2.2490..2.2500"},
		{"2.2490*", "2.2500 (1)", ""},
		{"2.2490", "2.2500 (1)", "2.2490..2.2500"},
		{"2.2490", "2.2500†", "2.2490..2.2500"},
		{"2.2490", "２.2500", "2.2490..2.2500"},
		{"2.2495 ± 0.0005", "", "2.2495 ± 0.0005"},
		{"2.2490", "Ø2.2500", ""},
		{"2.2495 +.0005 -.0002", "", "2.2495 +.0005/-.0002"},
	} {
		d := read(t, intake.Mapping{Unit: "in"}, "ref,name,new min,new max,wear limit\n1,Journal diameter,\""+c.low+"\","+c.high+",2.2470\n")
		holds := d.Rows[0].Holds
		if len(holds) == 0 || holds[0].Cell != "new" {
			t.Errorf("%s, %s is not held: %s", c.low, c.high, &d.Rows[0])
			continue
		}
		if c.want != "" && (len(holds[0].May) == 0 || holds[0].May[0] != c.want) {
			t.Errorf("%s, %s: %q", c.low, c.high, holds[0].May)
		}
		for _, m := range holds[0].May {
			if !strings.Contains(m, "..") && !strings.ContainsAny(m, "±+") {
				t.Errorf("%s, %s: %q loses an end", c.low, c.high, m)
			}
		}
	}
}

// What says the same in other words is read, and stays as it is printed.
func TestOtherWords(t *testing.T) {
	for _, c := range []struct{ name, low, high, service, asNew, worn string }{
		{"Backlash", "", "0.010 max", "max. 0.020", "max 0.010", "max 0.020"},
		{"Backlash", "0.004 min.", "0.010 max.", "0.020 max.", "0.004..0.010", "max 0.020"},
		{"Backlash", "", "Max. 0.010", "≤ 0.020", "max 0.010", "max 0.020"},
		{"Backlash", "0.004''", "0.010''", "not to exceed 0.020\"", `0.004"..0.010"`, `max 0.020"`},
		{"Backlash", "0.004", "0.010", "< 0.020", "0.004..0.010", "under 0.020"},
		{"Shaft run-out", "", "0.002 TIR", "0.005 T.I.R.", "max 0.002", "0.005"},
		{"Shaft run-out", "", "0.002", "0.005 (full indicator reading)", "max 0.002", "0.005"},
		{"Spring load at 1.5 in.", "40 lb", "45 lbs", "38 lbs.", "40 lbf..45 lbf", "38 lbf"},
		{"Spring load (lbs) @ 1.5", "40", "45", "38", "40..45", "38"},
		{"Rod bolt torque ft lb", "35", "40", "same as new", "35..40", "same as new"},
		{"Nut torque", "48 Nm", "52 Nm", "same as new", "48 Nm..52 Nm", "same as new"},
		{"Seat angle", "44.5°", "45.5°", "same as new", "44.5°..45.5°", "same as new"},
	} {
		d := read(t, intake.Mapping{Unit: "in"}, "ref,name,new min,new max,wear limit\n1,"+c.name+","+strings.ReplaceAll(c.low, `"`, `""`)+","+c.high+",\""+strings.ReplaceAll(c.service, `"`, `""`)+"\"\n")
		if r := &d.Rows[0]; r.New != c.asNew || r.Service != c.worn || r.Held() {
			t.Errorf("%s", r)
		}
		if _, err := book.Load("b.yaml", d.Book(intake.Title{})); err != nil {
			t.Error(err)
		}
	}
}

// A mark in brackets is that mark; of an asterisk's they are a part.
func TestMarksInBrackets(t *testing.T) {
	d := read(t, intake.Mapping{Unit: "in", Answers: map[string]string{"none": "not stated"}}, "ref,name,new,wear limit\n1,Backlash,.003-.012,(None)\n2,Play,.003-.012,(N/A)\n3,Gap,.003-.012,(*)\n")
	var asked []string
	for _, a := range d.Asks {
		asked = append(asked, a.Mark)
	}
	if d.Rows[0].Held() || !slices.Equal(asked, []string{"(*)", "n/a"}) {
		t.Errorf("%s %q", &d.Rows[0], asked)
	}
}

// What of a journal or a bore a figure is that none has, its words must say.
func TestFormsOfSizes(t *testing.T) {
	for name, want := range map[string]intake.Kind{
		"Cyl bore oor": intake.OutOfRound, "Jnl out of rnd": intake.OutOfRound, "Bore o.o.r.": intake.OutOfRound,
		"Main journals": intake.Unknown, "Cylinder bore wobbliness": intake.Unknown, "Oil hole dia": intake.Inside,
		"Valve spring load at 1.43 in length": intake.Unknown,
	} {
		s, faults := table.Read("t.csv", "", []byte("ref,name,new min,new max,wear limit\n1,"+name+",,0.0005,0.0015\n"))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		d, _ := intake.Read(s, intake.Mapping{Unit: "in"})
		held := len(d.Rows[0].Holds) > 0 && d.Rows[0].Holds[0].Cell == "kind"
		if d.Rows[0].Kind != want && want != intake.Unknown || held != (want == intake.Unknown) {
			t.Errorf("%s", &d.Rows[0])
		}
	}
}

// Decimal commas are seen in columns of least and most as well; where no heading
// says what is measured the column that has words does; headings that stand again
// on the next page are no row.
func TestOtherLayouts(t *testing.T) {
	d := read(t, intake.Mapping{Unit: "mm", Columns: map[string]string{"Grenze": "service"}},
		"Nr,Benennung,min,max,Grenze\n1,Zapfen dia,\"57,112\",\"57,130\",\"57,05\"\nNr,Benennung,min,max,Grenze\n2,Spiel am Zapfen,\"0,05\",\"0,12\",\"0,2\"\n")
	if len(d.Rows) != 2 || d.Rows[0].Name != "Zapfen dia" || len(d.Notes) != 1 {
		t.Fatalf("%+v %+v", d.Rows, d.Notes)
	}
	for i := range d.Rows {
		for _, h := range d.Rows[i].Holds {
			if h.Cell != "kind" {
				t.Errorf("%s", &d.Rows[i])
			}
		}
	}
	if !slices.Contains(d.Said, "the figures have decimal commas") {
		t.Errorf("%q", d.Said)
	}
}

// A second figure that may be the end of a longer one is asked, though it can be
// read: 2.2490-95 is hardly a range to 95. What only looks like it is taken.
func TestShortenedRanges(t *testing.T) {
	for cell, want := range map[string]string{
		"2.2490-95": "2.2490..2.2495", "2.2490-5": "2.2490..2.2495", "2.2490/95": "2.2490..2.2495", "0.75-1": "", "1.25 - 3": "", "2.2490-2.2495": "",
		"STD 2.2490-2.2495": "2.2490-2.2495", "Ø2.2490-2.2495": "2.2490-2.2495", "2.2490 thru 2.2495": "2.2490..2.2495", "between 2.2490 and 2.2495": "2.2490..2.2495", "2.2490~2.2495": "2.2490..2.2495",
	} {
		d := read(t, intake.Mapping{Unit: "in"}, "ref,name,new,wear limit\n1,Lever length,\""+cell+"\",same as new\n")
		r := &d.Rows[0]
		switch {
		case want == "" && r.Held():
			t.Errorf("%s", r)
		case want != "" && (len(r.Holds) == 0 || len(r.Holds[0].May) == 0 || r.Holds[0].May[0] != want):
			t.Errorf("%s", r)
		}
	}
}

// A group of parts may be headed by a word that heads limits as well; a sheet that is
// no table names the others.
func TestGroupsAndSheets(t *testing.T) {
	d := read(t, intake.Mapping{Unit: "in"}, "Assembly,Item,Min,Max,Reject\nCrankshaft,Main journal dia,2.249,2.25,2.247\n,Pin dia,2.124,2.125,2.122\n")
	if got := show(d); got != "Crankshaft|Main journal dia|outside|2.249..2.25|2.247\n|Pin dia|outside|2.124..2.125|2.122\n" {
		t.Error(got)
	}
	_, faults := intake.Read(table.Sheet{File: "t.xlsx", Name: "Cover", Sheets: []string{"Cover", "Limits"}, Rows: []table.SheetRow{{Line: 1, Cells: []table.Cell{{Text: "Engine limits"}}}}, Width: 1}, intake.Mapping{})
	if len(faults) != 1 || !strings.Contains(faults.Error(), `in the sheet "Cover"; name another sheet, of Cover, Limits`) {
		t.Errorf("%v", faults)
	}
}

// A shortened word names the part as the whole one does.
func TestPartsOfShortWords(t *testing.T) {
	d := read(t, intake.Mapping{Unit: "in"}, "Pos,Item,Min,Max,Reject\n1,Cyl bore,5.125,5.126,5.131\n2,Main brg clr,.0015,.0035,.006\n")
	text := string(d.Book(intake.Title{}))
	if !strings.Contains(text, "cylinder:\n    name: Cylinder\n") || !strings.Contains(text, "main:\n    name: Main bearing\n") || d.Rows[0].Ref != "1" {
		t.Error(text)
	}
}

// Dimensions and clearances in columns of their own, each with both ends in one cell.
func TestTwoColumnsOfLimits(t *testing.T) {
	const head = "Ref,Nomenclature,Dimensions min & max,Serviceable dimension,Clearance min & max,Serviceable max clearance\n"
	d := read(t, intake.Mapping{Unit: "in", Answers: map[string]string{"blank": "not stated"}}, head+
		"1,Main journal dia,2.3735 2.3745,2.3720,,\n1,Main bearings and crankshaft,,,.0011L .0041L,.0060L\n2,Gears,,,.004/.008,.012\n")
	want := "|Main journal dia|outside|2.3735..2.3745|2.3720\n|Main bearings and crankshaft|fit|.0011L to .0041L|max .0060L\n|Gears|clearance|.004 to .008|max .012\n"
	if got := show(d); got != want {
		t.Error(got)
	}
	s, faults := table.Read("t.csv", "", []byte(head+"1,Main journal dia,2.3735 2.3745,2.3720,.001 .002,\n"))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if _, faults := intake.Read(s, intake.Mapping{Unit: "in"}); len(faults) != 1 || faults[0].Code != "column" {
		t.Errorf("%v", faults)
	}
}

// Headings as people shorten them; one of service limits is none of new ones.
func TestShortHeadings(t *testing.T) {
	for heading, want := range map[string]intake.Role{
		"Serv max": intake.Service, "Svc limit": intake.Service, "Max allow.": intake.Service, "Max. permiss.": intake.Service, "Repl. at": intake.Service, "Rej": intake.Service, "Lim.": intake.Service,
		"Mfr": intake.New, "Orig.": intake.New, "Std": intake.New, "Nom.": intake.New, "Dim.": intake.New, "Tol": intake.New,
	} {
		other := "Wear"
		if want == intake.Service {
			other = "New"
		}
		d := read(t, intake.Mapping{Unit: "in"}, "Ref,Name,"+other+","+heading+"\n1,Main journal dia,2.2490-2.2500,2.2490-2.2500\n")
		if got := d.Columns[3].Role; got != want {
			t.Errorf("%s is %s", heading, got)
		}
	}
}

// A kind that is said, and that the row's unit is none of, is not passed over unsaid.
func TestKindOfAnotherUnit(t *testing.T) {
	d := read(t, intake.Mapping{Unit: "in", Kinds: map[string]string{"Stud": "torque"}}, "Ref,Name,New,Wear\n1,Stud,30-35,same as new\n")
	if h := d.Rows[0].Holds; len(h) != 1 || !strings.Contains(h[0].Why, "said to be torque, which is not measured in in") {
		t.Errorf("%s", &d.Rows[0])
	}
}

// What a spreadsheet raises is a footnote's, and what it strikes out is asked.
func TestRaisedAndStruck(t *testing.T) {
	cell := func(text, doubt, holds string) table.Cell { return table.Cell{Text: text, Doubt: doubt, Holds: holds} }
	rows := []table.SheetRow{{Line: 1, Cells: []table.Cell{cell("Ref", "", ""), cell("Name", "", ""), cell("New", "", ""), cell("Wear limit", "", "")}}}
	for i, service := range []table.Cell{cell("2.122¹", "", ""), cell("2.12102.122", "a part of the cell is struck out", "2.122")} {
		rows = append(rows, table.SheetRow{Line: i + 2, Cells: []table.Cell{cell("1", "", ""), cell("Pin dia", "", ""), cell("2.1240-2.1250", "", ""), service}})
	}
	d, faults := intake.Read(table.Sheet{File: "t.xlsx", Rows: rows, Width: 4}, intake.Mapping{Unit: "in"})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for i := range d.Rows {
		if h := d.Rows[i].Holds; len(h) != 1 || !slices.Equal(h[0].May, []string{"2.122"}) {
			t.Errorf("%s", &d.Rows[i])
		}
	}
}

// A date in a file of values is told as what it is.
func TestDates(t *testing.T) {
	for text, want := range map[string]bool{"4-Jan": true, "Jan-04": true, "1/4/2026": true, "2026-01-04": true, "04 Mar 26": true, "4-5": false, "0.5 max": false, "March": false} {
		d := read(t, intake.Mapping{Unit: "in"}, "ref,name,new,wear limit\n1,Backlash,"+text+",0.020\n")
		holds := d.Rows[0].Holds
		if got := len(holds) > 0 && holds[0].Cell == "new" && strings.Contains(holds[0].Why, "it is a date"); got != want {
			t.Errorf("%s: %s", text, &d.Rows[0])
		}
	}
}
