package table

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// texts are the cells of a sheet, a doubt behind its text in brackets.
func texts(s Sheet) [][]string {
	all := make([][]string, len(s.Rows))
	for i, r := range s.Rows {
		for _, c := range r.Cells {
			text := c.Text
			if c.Digits {
				text += " (digits unknown)"
			}
			if c.Merged {
				text += " (merged)"
			}
			if c.Doubt != "" {
				text += " [" + c.Doubt + "]"
			}
			all[i] = append(all[i], text)
		}
	}
	return all
}

// workbookOf makes a workbook of one sheet and the styles and strings given.
func workbookOf(t testing.TB, sheet, styles, shared string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{
		"_rels/.rels":                `<Relationships><Relationship Id="a" Type="x/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            `<workbook xmlns:r="r"><sheets><sheet name="Limits" sheetId="1" r:id="r1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/s.xml"/><Relationship Id="r2" Type="x/styles" Target="/xl/styles.xml"/><Relationship Id="r3" Type="x/sharedStrings" Target="sharedStrings.xml"/></Relationships>`,
		"xl/worksheets/s.xml":        "<worksheet>" + sheet + "</worksheet>",
		"xl/styles.xml":              "<styleSheet>" + styles + "</styleSheet>",
		"xl/sharedStrings.xml":       "<sst>" + shared + "</sst>",
	} {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A number has the digits that its format shows, and where that does not say
// they are unknown.
func TestDigitsOfNumbers(t *testing.T) {
	for _, c := range []struct{ code, value, want string }{
		{"General", "0.003", "0.003 (digits unknown)"},
		{"", "2.249", "2.249 (digits unknown)"},
		{"0.0000", "2.249", "2.2490"},
		{"0.0000", "2.2490000000000001", "2.2490"},
		{"0.0000", "2.2489999999999997", "2.2490"},
		{"0.000", "2.2494", "2.249 [the cell shows 2.249 and holds 2.2494]"},
		{"0.000", "0.9995", "1.000 [the cell shows 1.000 and holds 0.9995]"},
		{"0.0000", "5.0000000000000001E-4", "0.0005"},
		{"0.0000", "-5E-4", "-0.0005"},
		{"0.####", "0.003", "0.003 (digits unknown)"},
		{"#,##0.00", "1234.5", "1234.50"},
		{"0", "12", "12"},
		{"0", "0", "0"},
		{"0.00", "-0", "0.00"},
		{"0.0000\"L\"", "0.001", "0.0010L"},
		{"0.0000\\T", "0.001", "0.0010T"},
		{"0.0000_);(0.0000)", "0.001", "0.0010"},
		{"\"min \"0.00", "1.5", "min 1.50"},
		{"+0.0000;-0.0000", "0.0002", "+0.0002"},
		{"0.00%", "0.125", "12.50 %"},
		{"0.00E+00", "0.125", "0.125 (digits unknown)"},
		{"# ?/?", "0.5", "0.5 (digits unknown)"},
		{"0.0,", "1500", "1500 (digits unknown)"},
		{"[Red]0.000", "0.5", "0.500"},
		{"m/d/yyyy", "45000", "2023-03-15 [" + dateDoubt + "]"},
		{"[h]:mm", "1.5", "1899-12-31 [" + dateDoubt + "]"},
		{"0.0000", "soon", "soon [the cell has a number that can't be read]"},
		{"0.0000", "1e999", "1e999 [the cell has a number that can't be read]"},
	} {
		s := Sheet{Rows: []SheetRow{{1, []Cell{formatOf(c.code).show(c.value, false)}}}}
		if got := texts(s)[0][0]; got != c.want {
			t.Errorf("%s shown as %s: %s, want %s", c.value, c.code, got, c.want)
		}
	}
}

func TestCellsOfAWorkbook(t *testing.T) {
	s, faults := Read("b.xlsx", "", workbookOf(t, `<sheetData>
<row r="2"><c r="A2" t="s"><v>0</v></c><c r="C2" t="inlineStr"><is><r><t>New </t></r><r><t xml:space="preserve">limits</t></r><rPh><t>aid</t></rPh></is></c></row>
<row r="3"><c r="C3" t="str"><v>Min</v></c><c t="s"><v>1</v></c></row>
<row r="4"><c r="A4"><v>7</v></c><c r="C4" s="1"><v>1.5</v></c><c r="D4" s="1"><f>C4*2</f><v>3</v></c><c r="E4" t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="F4"><f>A1</f></c><c r="G4" t="b"><v>1</v></c></row>
<row r="5"/><row r="6"><c r="B6"/></row></sheetData>
<mergeCells><mergeCell ref="C2:D2"/><mergeCell ref="A2:A3"/><mergeCell ref="Z9:Z10"/><mergeCell ref="bad"/></mergeCells>`,
		`<numFmts><numFmt numFmtId="170" formatCode="0.0000"/></numFmts><cellStyleXfs><xf numFmtId="9"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="170"/></cellXfs>`,
		`<si><t>Ref &amp;
 no.</t></si><si><r><t>Ma</t></r><r><t>x</t></r></si>`))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	want := [][]string{
		{"Ref & no.", "", "New limits", "New limits (merged)"},
		{"Ref & no. (merged)", "", "Min", "Max"},
		{"7 (digits unknown)", "", "1.5000", "3.0000", "#DIV/0! [the cell's formula comes to an error]", " [the cell has a formula whose value is not saved]", "TRUE"},
	}
	if diff := cmp.Diff(want, texts(s)); diff != "" {
		t.Error(diff)
	}
	if s.Rows[2].Line != 4 || s.Name != "Limits" || s.Width != 7 {
		t.Errorf("line %d, sheet %q, width %d", s.Rows[2].Line, s.Name, s.Width)
	}
}

// What is written reads as it was written, whatever it is.
// A raised figure is a footnote's and no digit; what is struck out is doubted, and
// what is left of it kept.
func TestRaisedAndStruck(t *testing.T) {
	s, faults := Read("b.xlsx", "", workbookOf(t, `<sheetData><row r="1"><c t="s"><v>0</v></c><c t="s"><v>1</v></c><c t="s"><v>2</v></c>
<c t="inlineStr"><is><r><rPr><strike/></rPr><t>2.1</t></r><r><t>2.2</t></r></is></c><c s="1"><v>5</v></c><c s="0"><v>5</v></c></row></sheetData>`,
		`<fonts><font/><font><strike/></font></fonts><fills/><cellXfs><xf numFmtId="1" fontId="0"/><xf numFmtId="1" fontId="1"/></cellXfs>`,
		`<si><r><t>2.122</t></r><r><rPr><vertAlign val="superscript"/></rPr><t>1)</t></r></si>
<si><r><rPr><strike/></rPr><t>2.246</t></r><r><t>2.247</t></r></si><si><r><rPr><strike val="0"/></rPr><t>2.246</t></r></si>`))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	want := [][]string{{"2.122¹)", "2.2462.247 [a part of the cell is struck out]", "2.246", "2.12.2 [a part of the cell is struck out]", "5 [the cell is struck out]", "5"}}
	if diff := cmp.Diff(want, texts(s)); diff != "" {
		t.Error(diff)
	}
	if got := s.Rows[0].Cells[1].Holds + " " + s.Rows[0].Cells[3].Holds; got != "2.247 2.2" {
		t.Errorf("left are %s", got)
	}
}

func TestWrittenReadsAlike(t *testing.T) {
	rows := [][]string{
		{"Ref", "Name", "New"},
		{"1", "Pin <outside> & \"bore\"", "0.0010 - 0.0020"},
		{"=1+1", "+0.0002", "-0.0005 - -0.0001"},
		{"'-quoted", "@home", "'tis"},
		{"2.2490", "", "±0.001 µin"},
	}
	var x, c bytes.Buffer
	if err := WriteXLSX(&x, Out{Name: "Table/of limits", Head: 1, Widths: []int{8, 40}, Rows: rows}, Out{Name: "", Rows: nil}); err != nil {
		t.Fatal(err)
	}
	if err := WriteCSV(&c, rows); err != nil {
		t.Fatal(err)
	}
	for _, data := range [][]byte{x.Bytes(), c.Bytes()} {
		s, faults := Read("f", "", data)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		if diff := cmp.Diff(rows, texts(s)); diff != "" {
			t.Error(diff)
		}
	}
	for _, cell := range strings.FieldsFunc(c.String(), func(r rune) bool { return r == ',' || r == '\n' || r == '\ufeff' }) {
		if cell = strings.TrimPrefix(cell, `"`); strings.ContainsRune("=+-@", rune(cell[0])) {
			t.Errorf("%q is a formula to a spreadsheet", cell)
		}
	}
	if strings.Contains(x.String(), "<f>") {
		t.Error("a formula is written")
	}
}

// Workbooks that another program wrote.
func TestForeignWorkbooks(t *testing.T) {
	files, err := filepath.Glob("testdata/*.xlsx")
	if err != nil || len(files) == 0 {
		t.Fatalf("no workbooks: %v", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		s, faults := Read(name, "", data)
		if len(faults) > 0 {
			t.Errorf("%s: %v", name, faults)
			continue
		}
		want, err := os.ReadFile(strings.TrimSuffix(name, "xlsx") + "txt")
		if err != nil {
			t.Fatal(err)
		}
		var got strings.Builder
		for i, row := range texts(s) {
			fmt.Fprintf(&got, "%d: %s\n", s.Rows[i].Line, strings.Join(row, " | "))
		}
		if diff := cmp.Diff(string(want), got.String()); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

func TestEncodings(t *testing.T) {
	const text = "Ref;Name\r\n1;Ø 12 ±0,5 µm “x”\r\n"
	u16 := func(low, high int, mark bool) []byte {
		var b []byte
		if mark {
			text := [2]byte{}
			text[low], text[high] = 0xff, 0xfe
			b = append(b, text[:]...)
		}
		for _, r := range text {
			unit := [2]byte{}
			unit[low], unit[high] = byte(r), byte(r>>8)
			b = append(b, unit[:]...)
		}
		return b
	}
	latin := []byte("Ref;Name\r\n1;\xd8 12 \xb10,5 \xb5m \x93x\x94\r\n")
	for _, c := range []struct {
		name string
		data []byte
		said string
	}{
		{"UTF-8", []byte(text), ""},
		{"UTF-8 with a mark", []byte("\xef\xbb\xbf" + text), ""},
		{"UTF-16", u16(0, 1, true), "UTF-16"},
		{"UTF-16, the other way", u16(1, 0, true), "UTF-16"},
		{"UTF-16 without a mark", u16(0, 1, false), "UTF-16"},
		{"Latin-1", latin, "Latin-1"},
	} {
		s, faults := Read(c.name, "", c.data)
		if len(faults) > 0 {
			t.Errorf("%s: %v", c.name, faults)
			continue
		}
		if diff := cmp.Diff([][]string{{"Ref", "Name"}, {"1", "Ø 12 ±0,5 µm “x”"}}, texts(s)); diff != "" {
			t.Errorf("%s: %s", c.name, diff)
		}
		if said := strings.Join(s.Said, " "); !strings.Contains(said, c.said) || (said == "") != (c.said == "") {
			t.Errorf("%s: said %q", c.name, said)
		}
	}
}

// Which character parts the cells is what most lines agree on.
func TestParting(t *testing.T) {
	for _, c := range []struct {
		text string
		want rune
	}{
		{"a,b\n1,2\n", ','},
		{"a;b;c\n0,001;0,002;x\n0,003;;\n", ';'},
		{"Table of limits, page 1, in inches\na;b\n1;2\n3;4\n", ';'},
		{"a\tb\n1,5\t2\n", '\t'},
		{"\"a;b\",c\n\"1;2;3\",4\n", ','},
		{"alone\n", ','},
	} {
		if got := parting([]byte(c.text)); got != c.want {
			t.Errorf("%q: %q", c.text, got)
		}
	}
}

// Every file that can't be read says why, and what to do.
func TestSheetFaults(t *testing.T) {
	rows := func(n int) string {
		return "<sheetData>" + strings.Repeat("<row><c><v>1</v></c></row>", n) + "</sheetData>"
	}
	far := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, `<row><c r="GR%d"><v>1</v></c></row>`, i+1)
		}
		return "<sheetData>" + b.String() + "</sheetData>"
	}
	bomb := func() []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for _, name := range []string{"xl/workbook.xml", "xl/_rels/workbook.xml.rels"} {
			w, err := z.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := w.Write(bytes.Repeat([]byte(" "), 64<<20)); err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	whole := workbookOf(t, rows(1), "", "")
	for _, c := range []struct {
		name, sheet, code string
		data              []byte
	}{
		{"too large", "", "size", make([]byte, MaxSize+1)},
		{"password", "", "encrypted", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on")},
		{"PDF", "", "format", []byte("%PDF-1.7")},
		{"cut short", "", "corrupt", whole[:len(whole)-30]},
		{"only a head", "", "corrupt", []byte("PK\x03\x04")},
		{"bomb", "", "size", bomb()},
		{"a million rows", "", "rows", workbookOf(t, rows(1_000_000), "", "")},
		{"a million empty rows", "", "rows", workbookOf(t, "<sheetData>"+strings.Repeat("<row/>", 1_000_000)+"</sheetData>", "", "")},
		{"no such sheet", "Wear", "sheet", whole},
		{"a CSV has no sheets", "Wear", "sheet", []byte("a,b\n")},
		{"no cells", "", "empty", workbookOf(t, "<sheetData/>", "", "")},
		{"no cells in the sheet", "limits", "empty", workbookOf(t, "<sheetData/>", "", "")},
		{"text that is not there", "", "corrupt", workbookOf(t, `<sheetData><row><c t="s"><v>9</v></c></row></sheetData>`, "", "")},
		{"not XML", "", "corrupt", workbookOf(t, `<sheetData><row><c t="s"><v>`, "", "")},
		{"rows out of order", "", "corrupt", workbookOf(t, `<sheetData><row r="3"/><row r="2"/></sheetData>`, "", "")},
		{"too wide", "", "columns", workbookOf(t, `<sheetData><row r="1"><c r="XFD1"><v>1</v></c></row></sheetData>`, "", "")},
		{"CSV too wide", "", "columns", []byte(strings.Repeat("a,", MaxColumns) + "a\n")},
		{"CSV of a million rows", "", "rows", bytes.Repeat([]byte("1,2\n"), 1_000_000)},
		{"CSV of too many cells", "", "cells", bytes.Repeat([]byte(strings.Repeat("a,", 150)+"a\n"), 14_000)},
		{"too many cells", "", "cells", workbookOf(t, far(14_000), "", "")},
		{"too many cells by merging", "", "cells", workbookOf(t, strings.Replace(rows(14_000), "<c>", `<c r="GR1">`, 1)+`<mergeCells><mergeCell ref="GR1:GR14000"/></mergeCells>`, "", "")},
		{"CSV without cells", "", "empty", []byte("\n,,\n")},
		{"open quotation", "", "csv", []byte("a,b\n1,\"two" + strings.Repeat("\n3,4", 30))},
		{"neither", "", "encoding", append([]byte("a,b"), make([]byte, 100)...)},
	} {
		s, faults := Read("f", c.sheet, c.data)
		if len(faults) != 1 || faults[0].Code != c.code || faults[0].Do == "" || len(s.Rows) > MaxRows {
			t.Errorf("%s: %v, %d rows", c.name, faults, len(s.Rows))
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("", []byte("a;b\n1;0,5\n"))
	f.Add("", []byte("\xff\xfea\x00,\x00b\x00"))
	f.Add("x", workbookOf(f, `<sheetData><row><c><v>1</v></c></row></sheetData>`, "", ""))
	f.Fuzz(func(t *testing.T, sheet string, data []byte) {
		s, faults := Read("f", sheet, data)
		if len(faults) == 0 == (len(s.Rows) == 0) {
			t.Errorf("%d rows and %v", len(s.Rows), faults)
		}
	})
}

// The sheet's XML itself, which a zip would hide from the fuzzer.
func FuzzSheetXML(f *testing.F) {
	f.Add(`<sheetData><row r="2"><c r="B2" s="1"><f>A1</f><v>2.5</v></c></row></sheetData><mergeCells><mergeCell ref="A1:C3"/></mergeCells>`, `0.00"L"`)
	f.Add(`<sheetData><row><c t="s"><v>0</v></c><c t="inlineStr"><is><t>x</t></is></c></row></sheetData>`, "m/d/yy")
	f.Fuzz(func(t *testing.T, sheet, code string) {
		s, _ := Read("f", "", workbookOf(t, sheet, `<numFmts><numFmt numFmtId="170" formatCode="`+escaped(code)+`"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="170"/></cellXfs>`, `<si><t>text</t></si>`))
		for _, r := range s.Rows {
			for _, c := range r.Cells {
				if c.Text != tidy(c.Text) || len(c.Text) > MaxChars+3 {
					t.Errorf("%q", c.Text)
				}
			}
		}
	})
}

func FuzzWriteCSV(f *testing.F) {
	f.Add("=1+1", "'x")
	f.Fuzz(func(t *testing.T, a, b string) {
		a, b = tidy(a), tidy(b)
		if a == "" || b == "" || len(a) > MaxChars || len(b) > MaxChars {
			return
		}
		var out bytes.Buffer
		if err := WriteCSV(&out, [][]string{{a, b}, {b, a}}); err != nil {
			t.Fatal(err)
		}
		s, faults := Read("f", "", out.Bytes())
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		if diff := cmp.Diff([][]string{{a, b}, {b, a}}, texts(s)); diff != "" {
			t.Error(diff)
		}
	})
}

// A table as an import has it: six columns.
func benchmarkRead(b *testing.B, rows int) {
	var table [][]string
	for i := range rows {
		table = append(table, []string{"1-13", fmt.Sprintf("CF-%d", i), "Camshaft journal diameter, front and rear", "in", "2.2485 - 2.2495", "2.2470"})
	}
	var out bytes.Buffer
	if err := WriteXLSX(&out, Out{Rows: table}); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if s, faults := Read("f", "", out.Bytes()); len(s.Rows) != rows {
			b.Fatal(faults)
		}
	}
}

func BenchmarkRead1000(b *testing.B)  { benchmarkRead(b, 1000) }
func BenchmarkRead20000(b *testing.B) { benchmarkRead(b, 20_000) }
