package book

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// samePlain holds what the plain reader reads against the YAML library.
func samePlain(t *testing.T, text string) (plain bool) {
	t.Helper()
	n, ok := readPlain([]byte(text), 0)
	if !ok {
		return false
	}
	want, err := libraryYAML([]byte(text))
	if err != nil {
		t.Fatalf("%q is read, and is not YAML: %v", text, err)
	}
	if want == nil {
		t.Fatalf("%q is read, and says nothing", text)
	}
	if diff := cmp.Diff(want, n, cmp.AllowUnexported(node{})); diff != "" {
		t.Fatalf("%q is read otherwise than by the library:\n%s", text, diff)
	}
	return true
}

// Books as they are written, ours and others', are plain.
func TestBooksArePlain(t *testing.T) {
	var names []string
	for _, pattern := range []string{"../demo/*.yaml", "../judge/testdata/*.yaml", "../check/testdata/*.yaml"} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, found...)
	}
	if len(names) == 0 {
		t.Fatal("no books were found")
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if !samePlain(t, string(data)) {
			t.Errorf("%s is not plain", name)
		}
	}
}

var plainTexts = []string{
	"a: b\n",
	"# c\r\n\r\na: 'it''s'   # c\r\nb: \"x \\\"y\\\" \\\\z\"\r\n",
	"a:\n  b:\n  c: ~\n  d: null # c\ne: {}\nf: []\n",
	"  a:\n     - b\n     # c\n     - {c: d, e: [f, \"g\"], h: {i: j}}\n     -\n        k: l\n     -\n  m: 1\n",
	"a: {b: c,\n    # c\n    d: [e,\n  f ], g: h,\n  }\nb: -1\nc: -x\n",
	"größe: {Ø: ±0.01, b: 5° }  \nb: ü # c\n",
	"\"0.010\": a:b\nhttp://x: y#z\nx: 1..2, or [3] {4}\n",
	"a: b ",
	"a:",
}

var unplainTexts = []string{
	"", "# c\n", "a", "- a\n- b: c\n", "a: b\n c\n", "a: b: c\n", "a: &x b\n", "a: |\n  b\n", "a:\n- b\n", "a: {b, c: d}\n", "a: {b: }\n", "a: [b: c]\n",
	"---\na: b\n", "a: b\n---\nc: d\n", "a:\tb\n", "a: \"b\\n\"\n", "a: \"b\nc\"\n", "? a\n: b\n", "a: b\n  c: d\n", " a: b\nc: d\n", "a: [b\n", "a: {\"b\":c}\n",
	"a: {b: c}d\n", "a: [b]: c\n", "{a: b}: c\n", "a: \u2028\n", "a: \ufeff\n", "a: \x80\n", "a: {b: c[d]}\n", "a: {\nb: c}\n", "a: 'b'#c\n", ": a\n",
}

func TestPlain(t *testing.T) {
	for _, text := range plainTexts {
		if !samePlain(t, text) {
			t.Errorf("%q is not read", text)
		}
	}
	for _, text := range unplainTexts {
		if _, ok := readPlain([]byte(text), 0); ok {
			t.Errorf("%q is read", text)
		}
	}
	n, ok := readPlain([]byte("a: b\n"), 7)
	if !ok || n.line != 8 || n.content[1].line != 8 || n.content[1].column != 4 {
		t.Errorf("behind seven lines: %+v", n)
	}
}

func FuzzPlain(f *testing.F) {
	for _, text := range append(plainTexts, unplainTexts...) {
		f.Add(text)
	}
	f.Add(small)
	f.Add(opposedBook)
	f.Add(heldBook)
	f.Fuzz(func(t *testing.T, text string) { samePlain(t, text) })
}

// Slips of the pen in what is plain: whatever of it is still read is read as the
// library reads it.
func TestPlainSlips(t *testing.T) {
	rnd := rand.New(rand.NewPCG(6, 1))
	bits := []string{" ", "\n", "  ", ":", ": ", "-", "- ", "#", " #", ",", "{", "}", "[", "]", "\"", "'", "\\", "''", "~", "a", "é", "\t", "?", "!", "&", "|", "\r\n", "---"}
	texts := append([]string{small, heldBook, opposedBook[:min(600, len(opposedBook))]}, plainTexts...)
	read := 0
	const mutants = 5000
	for range mutants {
		text := texts[rnd.IntN(len(texts))]
		for range 1 + rnd.IntN(3) {
			at := rnd.IntN(len(text) + 1)
			end := min(len(text), at+rnd.IntN(3))
			text = text[:at] + bits[rnd.IntN(len(bits))] + text[end:]
		}
		if samePlain(t, text) {
			read++
		}
	}
	if read < mutants/5 {
		t.Errorf("only %d of %d are read", read, mutants)
	}
}
