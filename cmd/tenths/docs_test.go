package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/compare"
)

// The tables of docs/formats.md that say what check and diff tell of are made
// from their codes.
func TestGeneratedFindings(t *testing.T) {
	const path = "../../docs/formats.md"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var findings, reasons, changes strings.Builder
	findings.WriteString("| code | severity | meaning |\n|---|---|---|\n")
	for _, c := range check.Codes {
		fmt.Fprintf(&findings, "| `%s` | %s | %s |\n", c.Code, c.Severity, c.Meaning)
	}
	reasons.WriteString("| reason | meaning |\n|---|---|\n")
	for _, r := range book.Reasons {
		fmt.Fprintf(&reasons, "| `%s` | %s |\n", r.Word, r.Meaning)
	}
	changes.WriteString("| code | meaning |\n|---|---|\n")
	for _, c := range compare.Codes {
		fmt.Fprintf(&changes, "| `%s` | %s |\n", c.Code, c.Meaning)
	}
	doc := string(data)
	for _, s := range []struct{ name, table string }{{"findings", findings.String()}, {"reasons", reasons.String()}, {"changes", changes.String()}} {
		begin, end := "<!-- generated: "+s.name+" -->\n", "<!-- end -->"
		before, rest, ok := strings.Cut(doc, begin)
		_, after, ok2 := strings.Cut(rest, end)
		if !ok || !ok2 {
			t.Fatalf("no marks for %s", s.name)
		}
		doc = before + begin + s.table + end + after
	}
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
