package book

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"tenths/metrology/quantity"
)

// The tables of docs/formats.md that say what the code knows are made from it.
func TestGeneratedDocs(t *testing.T) {
	const path = "../../docs/formats.md"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var faults, units strings.Builder
	faults.WriteString("| code | meaning |\n|---|---|\n")
	for _, c := range Codes {
		fmt.Fprintf(&faults, "| `%s` | %s |\n", c.Code, c.Meaning)
	}
	units.WriteString("| unit | of | also written |\n|---|---|---|\n")
	for _, u := range quantity.Units() {
		also := ""
		if s := u.Spellings(); len(s) > 0 {
			also = "`" + strings.Join(s, "` `") + "`"
		}
		fmt.Fprintf(&units, "| `%s` | %s | %s |\n", u, u.Kind(), also)
	}
	doc := section(t, section(t, string(data), "faults", faults.String()), "units", units.String())
	if doc == string(data) {
		return
	}
	if !*update {
		t.Fatalf("%s is not current: run make generate", path)
	}
	if err := os.WriteFile(path, []byte(doc), 0o666); err != nil {
		t.Fatal(err)
	}
}

// section replaces what stands between the marks of a generated table.
func section(t *testing.T, doc, name, table string) string {
	t.Helper()
	begin, end := "<!-- generated: "+name+" -->\n", "<!-- end -->"
	before, rest, ok := strings.Cut(doc, begin)
	_, after, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatalf("no marks for %s", name)
	}
	return before + begin + table + end + after
}

// Every whole book that docs/formats.md shows loads.
func TestBooksOfTheDocs(t *testing.T) {
	data, err := os.ReadFile("../../docs/formats.md")
	if err != nil {
		t.Fatal(err)
	}
	books := 0
	for i, block := range strings.Split(string(data), "```yaml\n") {
		text, _, _ := strings.Cut(block, "```")
		if i == 0 || !strings.HasPrefix(text, "format: book/") && !strings.HasPrefix(text, "format: settled/") {
			continue
		}
		if strings.HasPrefix(text, "format: "+SettledFormat) {
			if _, err := LoadSettled("docs", []byte(text)); err != nil {
				t.Errorf("%v\n%s", err, text)
			}
			continue
		}
		books++
		if _, err := Load("docs", []byte(text)); err != nil {
			t.Errorf("%v\n%s", err, text)
		}
	}
	if books < 2 {
		t.Errorf("only %d whole books", books)
	}
}
