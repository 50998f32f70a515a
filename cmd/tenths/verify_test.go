package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode"

	"github.com/spf13/cobra"

	"tenths/internal/export"
)

// A stranger's file says nothing that a terminal obeys.
func TestVerifyShowsWhatATerminalWouldObey(t *testing.T) {
	hostile := "log \x1b[2J \u009b31m \x9b \x00 \u202e end"
	var out bytes.Buffer
	c := &cobra.Command{}
	c.SetOut(&out)
	err := printOutcome(c, "f.tenths", &export.Record{}, export.Outcome{Finding: export.Altered, Order: hostile, Engine: hostile, Reasons: []string{hostile, "a \"name\" of µ\\x"}})
	if err == nil {
		t.Fatal("an altered record ends well")
	}
	for _, r := range out.String() {
		if r != '\n' && (!unicode.IsGraphic(r) || r == unicode.ReplacementChar) {
			t.Errorf("%q is printed", r)
		}
	}
	for _, want := range []string{`\x1b[2J`, `\u009b31m`, `\x00`, "end", `a "name" of µ\x`} {
		if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), want) {
			t.Errorf("%q is not in:\n%s", want, out.String())
		}
	}
}
