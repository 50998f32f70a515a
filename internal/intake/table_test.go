package intake_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/demo"
	"tenths/internal/intake"
	"tenths/internal/table"
)

func read(t testing.TB, m intake.Mapping, csv string) *intake.Draft {
	t.Helper()
	s, faults := table.Read("f.csv", "", []byte(csv))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	d, faults := intake.Read(s, m)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return d
}

// show writes what the rows came to.
func show(d *intake.Draft) string {
	var b strings.Builder
	for i := range d.Rows {
		r := &d.Rows[i]
		fmt.Fprintf(&b, "%s|%s|%s|%s|%s", r.Part, r.Name, r.Kind, r.New, r.Service)
		if r.Also != (intake.Cells{}) {
			fmt.Fprintf(&b, "|also %s %s;%s", r.AlsoUnit, r.Also.New, r.Also.Service)
		}
		for _, h := range r.Holds {
			fmt.Fprintf(&b, "|held %s %q", h.Cell, h.Text)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// Tables as people lay them out.
func TestLayouts(t *testing.T) {
	stated := intake.Mapping{Answers: map[string]string{"blank": "not stated"}}
	for _, c := range []struct{ name, csv, want string }{
		{"min and max in two columns", `
Ref,Description,New min,New max,Service
1,Main journal diameter,2.2490,2.2500,2.2470
2,Backlash,0.003,0.012,0.020
`, `|Main journal diameter|outside|2.2490..2.2500|2.2470
|Backlash|backlash|0.003..0.012|0.020
`},
		{"two rows of headings, the unit in them", `
Table of limits,,,,,
Item,Measurement,New limits (mm),,Wear limit (mm),
,,Min,Max,Min,Max
1,Pin bore in rod,25.010,25.020,,25.050
2,Pin outside diameter,24.990,25.000,24.970,
3,Spring load at 40 mm,180,200,170,
`, `|Pin bore in rod|inside|25.010..25.020|max 25.050
|Pin outside diameter|outside|24.990..25.000|min 24.970
|Spring load at 40 mm|length|180..200|min 170|held kind "Spring load at 40 mm"
`},
		{"the limit first, ranges from high to low", `
Wear limit,New,Description
2.2470,2.2500 - 2.2490,Main journal diameter
0.0045,0.0030-0.0010,Main bearing clearance
`, `|Main journal diameter|outside|2.2500 - 2.2490|2.2470
|Main bearing clearance|clearance|0.0030-0.0010|0.0045
`},
		{"headings of parts, notes, blank rows", `
Description,New,Limit
CRANKSHAFT,,
,,
Main journal diameter,2.2490 - 2.2500,2.2470
Note: measure in two directions.,,
CAMSHAFT,,
Journal diameter,1.1875 - 1.1880,1.1860
`, `CRANKSHAFT|Main journal diameter|outside|2.2490 - 2.2500|2.2470
CAMSHAFT|Journal diameter|outside|1.1875 - 1.1880|1.1860
`},
		{"inch with millimetres beside", `
Description,New (inches),New (mm),Limit (inches),Limit (mm)
Main journal diameter,2.2490 - 2.2500,57.125 - 57.150,2.2470,57.07
`, `|Main journal diameter|outside|2.2490 - 2.2500|2.2470|also mm 57.125 - 57.150;57.07
`},
		{"millimetres in brackets", `
Description,New,Limit
Main journal diameter,2.2490 - 2.2500 (57.125 - 57.150 mm),2.2470 (57.07 mm)
`, `|Main journal diameter|outside|2.2490 - 2.2500|2.2470|also mm 57.125 - 57.150 mm;57.07 mm
`},
		{"decimal commas", `
Description;Unit;New;Limit
Main journal diameter;mm;57,125 - 57,150;57,07
`, `|Main journal diameter|outside|57,125 - 57,150|57,07
`},
		{"a comma among points", `
Description,Unit,New,Limit
Main journal diameter,mm,"57,125 - 57,150",57.07
Pin diameter,mm,20.000 - 20.010,19.98
`, `|Main journal diameter|outside||57.07|held new "57,125 - 57,150"
|Pin diameter|outside|20.000 - 20.010|19.98
`},
		{"a rule in words", `
Description,New,Limit
Head bore must not exceed flange bore,,replace if larger
`, `|Head bore must not exceed flange bore|relation||
`},
		{"what can't be read", `
Description,New,Limit
Journal diameter,2.2490 - 2.25OO,2.247O
Widget,1 - 2,3
Pin diameter,O.99O1,0.9881
Fit of pin in bore,0.0005T - 0.001O,0.0005L
`, `|Journal diameter|outside|||held new "2.2490 - 2.25OO"|held service "2.247O"
|Widget|length|1 - 2|3|held kind "Widget"
|Pin diameter|outside||0.9881|held new "O.99O1"
|Fit of pin in bore|fit||0.0005L|held new "0.0005T - 0.001O"
`},
	} {
		d := read(t, stated, c.csv[1:])
		got := show(d)
		if got != c.want {
			t.Errorf("%s:\n%swant:\n%s", c.name, got, c.want)
		}
		load(t, d)
	}
}

// What a table means by its marks is asked once for each, and one answer settles
// every row that has it.
func TestMarksAreAskedOnce(t *testing.T) {
	const csv = "Description,New,Limit\nA journal,1.0 - 1.1,*\nB journal,1.0 - 1.1,\nC journal,1.0 - 1.1,*\nD journal,1.0 - 1.1,N/A\nE journal,1.000 - 1.001,0.002\n"
	d := read(t, intake.Mapping{Unit: "in"}, csv)
	var asks []string
	for _, a := range d.Asks {
		asks = append(asks, fmt.Sprintf("%s %d", a.Mark, a.Rows))
	}
	if got := strings.Join(asks, ", "); got != "* 2, blank 1, n/a 1, wear 1" {
		t.Errorf("asked: %s", got)
	}
	if rows, held := d.Count(); rows != 5 || held != 4 {
		t.Errorf("%d of %d rows held", held, rows)
	}
	m := intake.Mapping{Unit: "in"}
	for _, a := range []string{"*=same as new", "blank=none", "N/A=not stated", "wear=from min"} {
		if err := m.Answer(a); err != nil {
			t.Fatal(err)
		}
	}
	d = read(t, m, csv)
	if want := "|A journal|outside|1.0 - 1.1|same as new\n|B journal|outside|1.0 - 1.1|none\n|C journal|outside|1.0 - 1.1|same as new\n|D journal|outside|1.0 - 1.1|\n|E journal|outside|1.000 - 1.001|wear 0.002 from min\n"; show(d) != want || len(d.Asks) > 0 {
		t.Errorf("%s%v", show(d), d.Asks)
	}
	load(t, d)
}

// The unit of lengths is taken from whatever says it, and asked where nothing
// does, with what the figures look like.
func TestUnitIsAsked(t *testing.T) {
	const rows = "Main journal diameter,2.2490 - 2.2500,2.2470\nBacklash,0.003 - 0.012,0.020\n"
	for _, c := range []struct {
		name, csv string
		m         intake.Mapping
		unit      string // "" where it is asked
		likely    string
	}{
		{"nothing", "Description,New,Limit\n" + rows, intake.Mapping{}, "", "in"},
		{"the user", "Description,New,Limit\n" + rows, intake.Mapping{Unit: "mm"}, "mm", ""},
		{"a heading, and the user otherwise", "Description,New (mm),Limit\n" + rows, intake.Mapping{Unit: "in"}, "mm", ""},
		{"a heading", "Description,New (mm),Limit\n" + rows, intake.Mapping{}, "mm", ""},
		{"a note above", "All dimensions in inches unless noted,,\nDescription,New,Limit\n" + rows, intake.Mapping{}, "in", ""},
		{"a note below", "Description,New,Limit\n" + rows + "Note: limits are in millimetres.,,\n", intake.Mapping{}, "mm", ""},
		{"two notes", "Dimensions in inches,,\nDescription,New,Limit\n" + rows + "Clearances are in mm,,\n", intake.Mapping{}, "", "in"},
		{"its rows", "Description,Unit,New,Limit\nPin bore,mm,1.0 - 1.1,1.2\nPin diameter,,1.0 - 1.1,0.9\nBolt torque,ft-lb,10 - 12,\n", intake.Mapping{}, "mm", ""},
		{"rows in two units", "Description,Unit,New,Limit\nPin bore,mm,1.0 - 1.1,1.2\nRod bore,in,1.0 - 1.1,1.2\nPin diameter,,1.0 - 1.1,0.9\n", intake.Mapping{}, "", ""},
		{"each row for itself", "Description,Unit,New,Limit\nPin bore,mm,1.0 - 1.1,1.2\nRod bore,in,1.0 - 1.1,1.2\n", intake.Mapping{}, "in", ""},
		{"its figures", "Description,New,Limit\nPin bore,1.0 - 1.1 mm,1.2 mm\nPin diameter,1.0 - 1.1 mm,0.9\n", intake.Mapping{}, "mm", ""},
		{"its brackets", "Description,New,Limit\nPin bore,1.000 - 1.001 (25.40 - 25.43 mm),1.002 (25.45 mm)\n", intake.Mapping{}, "in", ""},
		{"millimetres", "Description;New;Limit\nMain journal diameter;57,12 - 57,15;57,07\nBacklash;0,08 - 0,30;0,50\n", intake.Mapping{}, "", "mm"},
		{"either", "Description,New,Limit\nBacklash,0.03 - 0.12,0.20\n", intake.Mapping{}, "", ""},
		{"no lengths", "Description,Unit,New,Limit\nOil pressure,psi,40 - 60,30\n", intake.Mapping{}, "in", ""},
	} {
		d := read(t, c.m, c.csv)
		asked, likely := false, ""
		for _, a := range d.Asks {
			if a.Mark == "unit" {
				asked, likely = true, a.Likely
				if (likely == "") != (a.Why == "") {
					t.Errorf("%s: likely %q: %q", c.name, likely, a.Why)
				}
			}
		}
		if asked != (c.unit == "") || asked != d.NeedsUnit() || likely != c.likely {
			t.Errorf("%s: asked %v, likely %q", c.name, asked, likely)
		}
		if text := string(d.Book(intake.Title{})); !asked && !strings.Contains(text, "\nunit: "+c.unit+"\n") {
			t.Errorf("%s: %s", c.name, text)
		}
	}
}

func TestMapping(t *testing.T) {
	var m intake.Mapping
	for _, set := range []func() error{
		func() error { return m.Set("What=name") },
		func() error { return m.Set("C=service") },
		func() error { return m.Set("As made=new") },
		func() error { return m.Kind("Widget=length wears larger") },
	} {
		if err := set(); err != nil {
			t.Fatal(err)
		}
	}
	again, err := intake.ParseMapping(m.Text())
	if err != nil {
		t.Fatal(err)
	}
	d := read(t, again, "What,As made,Out\nWidget,1.0 - 2.0,3.0\n")
	if got := show(d); got != "|Widget|length|1.0 - 2.0|3.0\n" {
		t.Error(got)
	}
	// The manual's next table need not have the columns of this one.
	d = read(t, again, "Ref,Description,New,Limit\n1,Main journal diameter,1.0 - 1.1,\n")
	if got := show(d); !strings.HasPrefix(got, "|Main journal diameter|outside|1.0 - 1.1|") {
		t.Error(got)
	}
	if err := again.Set("What=name"); err != nil {
		t.Fatal(err)
	}
	next, _ := table.Read("f.csv", "", []byte("Ref,Description,New\n1,x,1 - 2\n"))
	if _, faults := intake.Read(next, again); len(faults) != 1 || faults[0].Text != "What" {
		t.Errorf("a column that is said of this table: %v", faults)
	}
	for _, bad := range []string{"What=nothing", "What", "=name"} {
		var m intake.Mapping
		if m.Set(bad) == nil && m.Check() == nil {
			t.Errorf("%q was taken", bad)
		}
	}
	s, _ := table.Read("f.csv", "", []byte("What,New\nx,1 - 2\n"))
	if _, faults := intake.Read(s, intake.Mapping{Columns: map[string]string{"Gone": "service"}}); len(faults) != 1 || !strings.Contains(faults[0].Do, `"What"`) {
		t.Errorf("a column that is not there: %v", faults)
	}
}

// Every table without what an import needs says so, and what to do.
func TestTablesThatAreNone(t *testing.T) {
	for _, c := range []struct{ csv, code string }{
		{"1,2\n3,4\n", "header"},
		{"Ref,Page\n3,4\n", "column"},
		{"Description,Note\nx,y\n", "column"},
		{"Description,New,Size,Limit\nx,1 - 2,1 - 2,3\n", "column"},
		{"Description,New,Limit\n", "empty"},
		{"Description,New (in),Limit\n" + strings.Repeat(strings.Repeat("Pin ", 300)+",1.0 - 1.1,1.2\n", 4000), "size"},
	} {
		s, faults := table.Read("f.csv", "", []byte(c.csv))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		if _, faults = intake.Read(s, intake.Mapping{}); len(faults) != 1 || faults[0].Code != c.code || faults[0].Do == "" {
			t.Errorf("%q: %v", c.csv, faults)
		}
	}
}

// The words that say what a row judges were chosen beside the printed tables.
// The lines of the invented engine were written before them, by others.
func TestKindsOfAnotherBook(t *testing.T) {
	b, err := book.Load("demo", demo.Book)
	if err != nil {
		t.Fatal(err)
	}
	classes := map[book.Class][]intake.Kind{
		book.Outside: {intake.Outside, intake.OutOfRound, intake.Taper}, book.Inside: {intake.Inside, intake.OutOfRound, intake.Taper},
		book.Extent:    {intake.Thickness, intake.Width, intake.Length, intake.Depth, intake.Height, intake.SpringLength, intake.OverPins, intake.Alignment},
		book.Clearance: {intake.Clearance, intake.SideClearance, intake.EndClearance, intake.Backlash, intake.Gap, intake.Fit, intake.Alignment},
		book.Dial:      {intake.RunOut, intake.Bend}, book.Other: {intake.SpringLoad, intake.Torque, intake.Angle, intake.Mass, intake.Pressure},
	}
	// The same limit, otherwise measured: a width with jaws inside or outside, a
	// run-out read off as one figure, faces out of parallel as a difference.
	otherwise := map[book.Class][]intake.Kind{
		book.Outside: {intake.Width, intake.Depth, intake.Alignment}, book.Inside: {intake.Width, intake.Depth, intake.Alignment},
		book.Extent: {intake.RunOut},
	}
	right, other, asked := 0, 0, 0
	var wrong []string
	for _, l := range b.Lines {
		f := l.Terms[0].Feature
		if l.Judges != book.Size && l.Judges != book.Fit && l.Judges != book.RunOut && l.Judges != book.OutOfRound && l.Judges != book.Taper || f.Class == book.Check {
			continue
		}
		class := f.Class
		if l.Judges == book.Fit {
			class = book.Clearance
		}
		var out bytes.Buffer
		asNew, service := "", ""
		for _, tier := range l.Limit.Tiers {
			if tier.Name == "new" {
				asNew = tier.Printed
			} else {
				service = tier.Printed
			}
		}
		if err := table.WriteCSV(&out, [][]string{{"Description", "Unit", "New", "Service"}, {l.Name, l.Unit.String(), asNew, service}}); err != nil {
			t.Fatal(err)
		}
		d := read(t, intake.Mapping{}, out.String())
		switch r := &d.Rows[0]; {
		case len(r.Holds) > 0 && r.Holds[0].Cell == "kind":
			asked++
			t.Logf("asked: %s", l.Name)
		case containsKind(classes[class], r.Kind):
			right++
		case containsKind(otherwise[class], r.Kind):
			other++
		default:
			wrong = append(wrong, fmt.Sprintf("%s is %s", l.Name, r.Kind))
		}
	}
	t.Logf("%d right, %d otherwise measured, %d asked, %d wrong", right, other, asked, len(wrong))
	if n := right + other + asked + len(wrong); len(wrong) > 0 || right*100 < 85*n || other*10 > n {
		t.Errorf("of %d: %d right, %d otherwise measured, %d asked, wrong: %s", n, right, other, asked, strings.Join(wrong, "; "))
	}
}

func containsKind(all []intake.Kind, k intake.Kind) bool {
	for _, a := range all {
		if a == k {
			return true
		}
	}
	return false
}

// What stood in a book stands in it still when a table is added.
func TestInto(t *testing.T) {
	d := read(t, intake.Mapping{Answers: map[string]string{"blank": "not stated"}}, "Description,New\nCrankshaft main journal diameter,2.2490 - 2.2500\nValve seat width,0.05 - 0.06\n")
	const was = `# mine
format: book/1
engine: E
unit: mm

parts:
  crank:
    name: Crankshaft   # of steel
    features:
      pin: {kind: outside}

  # the end of parts
lines:
  pin: {name: Pin, size: crank.pin, new: 50.0..50.1}
  # the end of lines
`
	b, err := book.Load("b.yaml", []byte(was))
	if err != nil {
		t.Fatal(err)
	}
	text, err := d.Into([]byte(was), b)
	if err != nil {
		t.Fatal(err)
	}
	b, err = book.Load("b.yaml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if len(b.Lines) != 3 || len(b.Parts) != 2 || len(b.Parts[0].Features) != 2 || b.Lines[1].Unit.String() != "in" {
		t.Errorf("%s", text)
	}
	rest := string(text)
	for line := range strings.Lines(was) {
		_, after, ok := strings.Cut(rest, line)
		if !ok {
			t.Fatalf("%q is not where it was:\n%s", line, text)
		}
		rest = after
	}
	flow := "format: book/1\nengine: E\nunit: in\nparts: {crank: {features: {pin: {kind: outside}}}}\nlines: {pin: {name: Pin, size: crank.pin, new: 1..2}}\n"
	if b, err = book.Load("b.yaml", []byte(flow)); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Into([]byte(flow), b); err == nil {
		t.Error("a book that is no text of blocks was added to")
	}
}

// A thousand rows as a manual prints them, from the spreadsheet to the book that
// is ready to judge by.
func benchmarkImport(b *testing.B, rows int) {
	files, err := filepath.Glob("testdata/printed/G*.csv")
	if err != nil {
		b.Fatal(err)
	}
	var all [][]string
	for n := 0; len(all) <= rows; n = (n + 1) % len(files) {
		data, err := os.ReadFile(files[n])
		if err != nil {
			b.Fatal(err)
		}
		s, faults := table.Read("f", "", data)
		if len(faults) > 0 {
			b.Fatal(faults)
		}
		for i := range s.Rows {
			if i == 0 && len(all) > 0 || len(all) > rows {
				continue
			}
			var cells []string
			for k := range s.Width {
				cells = append(cells, s.Rows[i].At(k).Text)
			}
			all = append(all, cells)
		}
	}
	var out bytes.Buffer
	if err := table.WriteXLSX(&out, table.Out{Rows: all}); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s, faults := table.Read("f.xlsx", "", out.Bytes())
		if len(faults) > 0 {
			b.Fatal(faults)
		}
		d, faults := intake.Read(s, intake.Mapping{})
		if len(faults) > 0 {
			b.Fatal(faults)
		}
		if _, err := book.Load("f.yaml", d.Book(intake.Title{})); err != nil || len(d.Rows) != rows {
			b.Fatal(err, len(d.Rows))
		}
	}
}

func BenchmarkImport1000(b *testing.B)  { benchmarkImport(b, 1000) }
func BenchmarkImport20000(b *testing.B) { benchmarkImport(b, 20_000) }
