package intake

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tenths/internal/table"
)

// What tells most texts at once hides none: a text that a pattern fits has one of
// its stems in it.
func TestStemsHideNothing(t *testing.T) {
	all := []pattern{runOutWords, sizeWords, meanWords, insideWords}
	for i := range partPatterns {
		all = append(all, words(partWords[i].words, partPatterns[i].of...))
	}
	for i := range rules {
		all = append(all, rules[i].pattern)
	}
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
				for _, p := range append(all, between, fitLetters) {
					for _, text := range []string{text, c.Text} {
						if p.is().MatchString(text) != p.fits(text) {
							t.Errorf("%s: %q: the stems %v hide it", p.is(), text, p.of)
						}
					}
				}
			}
		}
	}
	// Each alternative of a pattern, as it is written, has a stem.
	for _, p := range all {
		for _, alternative := range alternatives(p.is().String()) {
			if !slices.ContainsFunc(p.of, func(of string) bool { return strings.Contains(alternative, of) }) {
				t.Errorf("no stem of %v is in %q", p.of, alternative)
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
