package intake_test

import (
	"strings"
	"testing"

	"tenths/internal/intake"
)

const openBook = `format: book/1
engine: E
unit: in
parts: {a: {features: {x: {kind: inside}, y: {kind: outside, directions: [0, 90]}, z: {kind: clearance}}}}
lines:
  x: {name: Bore, size: a.x, hold: {new: {text: "", why: no limits stated yet}, service: {text: "", why: no limits stated yet}}}
  y: {name: Shaft, size: a.y, hold: {new: {text: "", why: no limits stated yet}, service: {text: "", why: no limits stated yet}}}
  z: {name: Clearance, size: a.z, hold: {new: {text: "", why: no limits stated yet}, service: {text: "", why: no limits stated yet}}}
`

// enter writes the book as sheets, lets a person fill them in, and reads them.
func enter(t testing.TB, own string, m intake.Mapping, fill func(set func(line, column, text string))) (*intake.Filled, string) {
	t.Helper()
	sheets, err := intake.BookSheets([]byte(own))
	if err != nil {
		t.Fatal(err)
	}
	head := sheets[0].Rows[1]
	fill(func(line, column, text string) {
		for n, row := range sheets[0].Rows {
			if row[0] != line {
				continue
			}
			for i, c := range head {
				for c == column && i >= len(row) {
					row = append(row, "")
				}
				if c == column {
					row[i] = text
				}
			}
			sheets[0].Rows[n] = row
		}
	})
	f, ok, faults := readBookSheets("b.xlsx", sheetFile(t, "xlsx", sheets), m)
	if !ok {
		t.Fatal("this is no sheet of a book")
	}
	if len(faults) > 0 {
		return nil, faults.Error()
	}
	return f, ""
}

// What is filled in is taken, what is not goes on waiting, and what can't be read
// is held with its likely readings.
func TestFilledIn(t *testing.T) {
	f, faults := enter(t, openBook, intake.Mapping{}, func(set func(line, column, text string)) {
		set("x", "New", "1.000 - 1.001")
		set("x", "Service", "1,002")
		set("y", "New", "0.998 to 0.999")
		set("y", "Service", "blank")
	})
	if faults != "" {
		t.Fatal(faults)
	}
	if f.Unfilled != 1 || f.Held != 1 || len(f.Asks) != 0 {
		t.Errorf("%d without limits, %d held, %v", f.Unfilled, f.Held, f.Asks)
	}
	x, _ := f.Book.Line("x")
	y, _ := f.Book.Line("y")
	z, _ := f.Book.Line("z")
	if len(x.Holds) != 1 || x.Holds[0].Text != "1,002" || len(x.Holds[0].May) == 0 || x.Holds[0].May[0] != "1.002" || x.Says.New != "1.000 - 1.001" {
		t.Errorf("%+v %+v", x.Holds, x.Says)
	}
	if y.Waits() || len(y.Limit.Tiers) != 1 || !z.Unfilled() || len(z.Holds) != 2 {
		t.Errorf("%+v %+v", y.Limit, z.Holds)
	}
}

// What an empty cell means beside one that is filled in is asked once.
func TestFilledInBlank(t *testing.T) {
	fill := func(set func(line, column, text string)) {
		for _, line := range []string{"x", "y", "z"} {
			set(line, "New", "1.000 - 1.001")
		}
		set("z", "Service", "N/A")
	}
	f, _ := enter(t, openBook, intake.Mapping{}, fill)
	if f.Held != 3 || len(f.Asks) != 2 || f.Asks[0].Mark != "blank" || f.Asks[0].Rows != 2 || f.Asks[1].Mark != "n/a" {
		t.Errorf("%d held, %+v", f.Held, f.Asks)
	}
	f, _ = enter(t, openBook, intake.Mapping{Answers: map[string]string{"blank": "not stated", "N/A": "none"}}, fill)
	z, _ := f.Book.Line("z")
	if f.Held != 0 || f.Unfilled != 0 || len(f.Asks) != 0 || z.Says.Service != "none" {
		t.Errorf("%d held, %+v, %+v", f.Held, f.Asks, z.Says)
	}
}

// Faults are told where they stand in the sheet.
func TestFilledInFaults(t *testing.T) {
	for _, c := range []struct{ column, text, want string }{
		{"Of", "a.w", `b.xlsx:4:6: lines.x.size: "a.w": there is no such feature`},
		{"Judges", "length", "b.xlsx:4:"},
		{"Mates", "[a.x", `b.xlsx:4:16: "[a.x": begins like a list`},
		{"Unit", "furlong", `b.xlsx:4:7: lines.x.unit: "furlong"`},
		{"Line", "y", "b.xlsx:4:1: lines: \"y\": the key stands here a second time"},
		{"Line", "", "b.xlsx:3:1: the row does not say in its first column what it is of"},
		{"Tiers", "{new: 1.x}", "b.xlsx:4:18: lines.x.tiers: \"1.x\""},
	} {
		_, faults := enter(t, openBook, intake.Mapping{}, func(set func(line, column, text string)) {
			if c.column == "Tiers" || c.column == "Line" {
				set("x", "Held", "")
			}
			set("x", c.column, c.text)
		})
		if c.column != "Line" {
			c.want = strings.Replace(c.want, ":4:", ":3:", 1)
		}
		if !strings.Contains(faults, c.want) {
			t.Errorf("%s %s: %s, want %s", c.column, c.text, faults, c.want)
		}
	}
	for _, c := range []struct{ text, want string }{
		{"sheet/1\nLine,Ref,Judges,Of,Odd\n", `b.csv:2:5: "Odd": is no column of the table Limits`},
		{"sheet/1\nLine,Ref,Name,Name,Judges,Of\n", `b.csv:2:4: "Name": stands here a second time`},
		{"sheet/1\nLine,Ref,Name,Judges\n", `b.csv:2:1: "Of": the table Limits has no such column`},
		{"sheet/1\nx,1\n", "b.csv:2:1: \"x\": stands above the headings"},
		{"sheet/1\nLine,Ref,Judges,Of\nx,1,size,a.x,more\n", `b.csv:3:5: "more": stands under no heading`},
		{"sheet/1\nLine,Ref,Judges,Of\nx,1,size,a.x\n", "b.csv: format: the book does not say its format"},
	} {
		_, ok, faults := readBookSheets("b.csv", []byte(c.text), intake.Mapping{})
		if !ok || !strings.Contains(faults.Error(), c.want) {
			t.Errorf("%q: %v, want %s", c.text, faults, c.want)
		}
	}
	if _, ok, faults := readBookSheets("b.csv", []byte("Ref,New\n1,2\n"), intake.Mapping{}); ok || faults != nil {
		t.Error("a foreign table is taken for a book")
	}
	// Whatever a person sends.
	for _, text := range []string{"", "sheet/1", "sheet/1\n+,a\n+,b\n", "sheet/1\nLine,Ref,Judges,Of\n+,,,,,,,x\n", "sheet/1\nKey,Of,Which,Says\nlayout,a,,b\nlayout,,c,d\n"} {
		if f, _, _ := readBookSheets("b.csv", []byte(text), intake.Mapping{}); f != nil {
			t.Errorf("%q is a book", text)
		}
	}
}

// Lists of names may be typed without brackets, columns moved and left out.
func TestTypedSheet(t *testing.T) {
	const text = `sheet/1
Key,Of,Which,Says
format,,,book/1
engine,,,E
unit,,,in
Part,Feature,Kind,Directions,Planes
a,x,inside,"0, 90","front, rear"
Line,Ref,Service,New,Of,Judges,Name
x,1,1.003,1.000..1.001,a.x,size,Bore
`
	f, ok, faults := readBookSheets("b.csv", []byte(text), intake.Mapping{})
	if !ok || len(faults) > 0 {
		t.Fatal(ok, faults)
	}
	if len(f.Book.Spots) != 4 || len(f.Book.Lines) != 1 || f.Edition != "" || f.Held+f.Unfilled != 0 {
		t.Errorf("%d spots\n%s", len(f.Book.Spots), f.Text)
	}
}

func FuzzBookSheets(f *testing.F) {
	f.Add([]byte("sheet/1\nKey,Of,Which,Says\nformat,,,book/1\nengine,,,E\nunit,,,in\nPart,Feature,Kind\na,x,inside\nLine,Ref,New,Of,Judges,Name\nx,1,1.000..1.00l,a.x,size,Bore\n"))
	f.Add([]byte("sheet/1\nLine,Ref,Judges,Of,Held\nx,,size,a.x,\"{new: {text: \"\"\"\"}}\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		read, ok, faults := readBookSheets("b.csv", data, intake.Mapping{})
		if (read != nil) != (ok && len(faults) == 0) {
			t.Fatalf("%v %v %v", read, ok, faults)
		}
		if read != nil && len(read.Book.Spots) < 1000 {
			equal(t, read.Text)
		}
	})
}
