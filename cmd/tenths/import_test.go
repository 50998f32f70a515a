package main

import (
	"archive/zip"
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"tenths/internal/table"
)

// A table that can't be read is refused with what is wrong and what to do, and
// nothing is written, beside it or over what is there.
func TestBadTablesWriteNothing(t *testing.T) {
	zipped := func(parts map[string]string) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for name, text := range parts {
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
	var whole bytes.Buffer
	if err := table.WriteXLSX(&whole, table.Out{Rows: [][]string{{"Description", "New (in)"}, {"Pin diameter", "1.0 - 1.1"}}}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, says string }{
		{"large.xlsx", "larger than"},
		{"bomb.xlsx", "unpacks to more"},
		{"password.xlsx", "password"},
		{"sealed.xlsx", "password"},
		{"cut.xlsx", "can't be read"},
		{"rows.csv", "more than 100000 rows"},
		{"zeros.csv", "neither a spreadsheet that is known nor text"},
		{"empty.csv", "no cells"},
	} {
		dir := t.TempDir()
		file := filepath.Join(dir, c.name)
		var data []byte
		switch c.name {
		case "bomb.xlsx":
			data = zipped(map[string]string{"xl/workbook.xml": "<workbook/>", "xl/_rels/workbook.xml.rels": strings.Repeat(" ", 64<<20)})
		case "password.xlsx":
			data = []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on")
		case "sealed.xlsx":
			data = zipped(map[string]string{"EncryptedPackage": "x"})
		case "cut.xlsx":
			data = whole.Bytes()[:whole.Len()/2]
		case "rows.csv":
			data = append([]byte("Description,New (in)\n"), bytes.Repeat([]byte("Pin diameter,1.0 - 1.1\n"), 1_000_000)...)
		case "zeros.csv":
			data = append([]byte("a,b"), make([]byte, 100)...)
		}
		if err := os.WriteFile(file, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if c.name == "large.xlsx" {
			if err := os.Truncate(file, 200<<20); err != nil {
				t.Fatal(err)
			}
		}
		into := filepath.Join(dir, "mine.yaml")
		for _, there := range []string{"", "format: book/1\n"} {
			if there != "" {
				if err := os.WriteFile(into, []byte(there), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			var out, wrong bytes.Buffer
			if got := run([]string{"book", "import", file, "--into", into, "--unit", "in"}, &out, &wrong); got != exitBad || !strings.Contains(wrong.String(), c.says) {
				t.Errorf("%s: exit status %d: %s", c.name, got, &wrong)
			}
			if now, _ := os.ReadFile(into); string(now) != there {
				t.Errorf("%s: the book is now %q", c.name, now)
			}
			left, err := os.ReadDir(dir)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range left {
				if f.Name() != c.name && f.Name() != "mine.yaml" {
					t.Errorf("%s: %s was written", c.name, f.Name())
				}
			}
		}
	}
}

// Tables in the encodings and with the cells that spreadsheets make: read, and
// what is doubtful in them said or held.
func TestOddTables(t *testing.T) {
	const text = "Description,New (mm),Limit\nPin diameter,\"1.0 - 1.1\",\"±0.5\"\n"
	latin := []byte(strings.Replace(text, "±", "\xb1", 1))
	wide := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(text)) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	for _, c := range []struct {
		name string
		data []byte
		says string
	}{
		{"latin.csv", latin, "read as Latin-1"},
		{"wide.csv", wide, "read as UTF-16"},
		{"error.csv", []byte("Description,New (mm),Limit\nPin diameter,#DIV/0!,0.9\n"), `held: Pin diameter: new "#DIV/0!"`},
	} {
		dir := t.TempDir()
		file := filepath.Join(dir, c.name)
		if err := os.WriteFile(file, c.data, 0o666); err != nil {
			t.Fatal(err)
		}
		var out, wrong bytes.Buffer
		got := run([]string{"book", "import", file}, &out, &wrong)
		if got != exitGood && got != exitOpen || !strings.Contains(out.String(), c.says) {
			t.Errorf("%s: exit status %d: %s%s", c.name, got, &out, &wrong)
		}
	}
}
