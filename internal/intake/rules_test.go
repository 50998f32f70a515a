package intake

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tenths/internal/table"
)

// What tells most rows at once hides none: a text that a rule fits has one of the
// rule's stems in it.
func TestStemsHideNothing(t *testing.T) {
	files, err := filepath.Glob("testdata/*/*.csv")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	texts := 0
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		s, faults := table.Read(name, "", data)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		for i := range s.Rows {
			for _, c := range s.Rows[i].Cells {
				texts++
				text := strings.ToLower(c.Text)
				for _, r := range rules {
					if r.is.MatchString(text) != r.fits(text) {
						t.Errorf("%s: %q: the stems %v hide it", r.kind, text, r.of)
					}
				}
				for i, is := range partPatterns {
					if is.MatchString(text) && !slices.ContainsFunc(partStems[i], func(of string) bool { return strings.Contains(text, of) }) {
						t.Errorf("%s: %q: the stems %v hide it", partWords[i].key, text, partStems[i])
					}
				}
			}
		}
	}
	// Each alternative of a rule, as it is written, has a stem.
	for _, r := range rules {
		for _, alternative := range alternatives(r.is.String()) {
			if !slices.ContainsFunc(r.of, func(of string) bool { return strings.Contains(alternative, of) }) {
				t.Errorf("%s: no stem of %v is in %q", r.kind, r.of, alternative)
			}
		}
	}
	if texts < 1000 {
		t.Errorf("only %d texts", texts)
	}
}

// alternatives are the outermost alternatives of a pattern of words, with the
// marks that may stand in them left out.
func alternatives(pattern string) []string {
	_, pattern, _ = strings.Cut(pattern, "(?:^|[^a-z])(?:")
	pattern = strings.TrimSuffix(pattern, ")(?:$|[^a-z])")
	var all []string
	depth, from := 0, 0
	for i, c := range pattern {
		switch {
		case c == '(':
			depth++
		case c == ')':
			depth--
		case c == '|' && depth == 0:
			all = append(all, pattern[from:i])
			from = i + 1
		}
	}
	all = append(all, pattern[from:])
	for i := range all {
		all[i] = strings.NewReplacer(`-?`, "", ` ?`, "", `\`, "", `?`, "").Replace(all[i])
	}
	return all
}
