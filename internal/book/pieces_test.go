package book

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// samePieces holds what is read in pieces of about that size against the same
// text read whole.
func samePieces(t *testing.T, text string, size int) (ok bool) {
	t.Helper()
	n, ok := readPieces([]byte(text), 0, size)
	if !ok {
		return false
	}
	want, err := libraryYAML([]byte(text))
	if err != nil {
		t.Fatalf("%q is read in pieces, and whole it is not YAML: %v", text, err)
	}
	if diff := cmp.Diff(want, n, cmp.AllowUnexported(node{})); diff != "" {
		t.Fatalf("%q is read otherwise in pieces of %d than whole:\n%s", text, size, diff)
	}
	return true
}

func TestBooksInPieces(t *testing.T) {
	var names []string
	for _, pattern := range []string{"../demo/*.yaml", "../demo/more/*.yaml", "../judge/testdata/*.yaml", "../check/testdata/*.yaml"} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, found...)
	}
	if len(names) < 3 {
		t.Fatal("books are not found")
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, size := range []int{1, 100, len(data) / 2} {
			if !samePieces(t, string(data), size) {
				t.Errorf("%s can't be read in pieces of %d", name, size)
			}
		}
	}
}

var (
	pieceTexts = []string{
		"a:\n  b:\n  c: ~\n  d: null # c\ne: {}\nf: []\n",
		"# c\r\n\r\na: 'it''s'   # c\r\nb: \"x \\\"y\\\" \\\\z\"\r\n",
		"größe: {Ø: ±0.01, b: 5° }  \nb: ü # c\n",
		"a: # c\n\n  # c\n  b: 1\n  c:\n    d: |\n      e\n  f: [g,\n    h]\n",
		"a:\n- b\n- c: d\n  e: f\n",
		"a: |\n  b: c\n  d: e\n",
		"a: 'b\n  c: d\n  e: f'\n",
		"a: {b: c,\n  d: e}\n",
		"a: &x\n  b: c\n  d: e\n",
		"a:\n  b: &x c\n  d: *x\n",
		"a:\n  b: c\n...\nd: e\n",
		"a: b\n---\nc: d\n",
		"%YAML 1.1\n---\na: b\n",
		"a:\n  b: c\n d: e\n",
		"a:\n  b: c\n  b: d\na: e\n",
		"a: ? b\n  ? c\n",
		"", "# c\n", "- a\n", "a: \x80\n", "a:\n  b: \ufeff\n",
	}
	behind = "a:\n  b: c\n  d: e\nf: g\n"
)

func TestPieces(t *testing.T) {
	for _, text := range pieceTexts {
		for size := range 30 {
			samePieces(t, text, size)
		}
	}
	n, ok := readPieces([]byte(behind), 7, 1)
	if !ok || n.line != 8 || n.content[1].content[2].line != 10 || n.content[1].content[2].column != 3 || n.content[2].line != 11 {
		t.Errorf("behind seven lines: %+v", n)
	}
	for _, unread := range []string{"a: |\n  b: c\n  d: e\n", "a: 'b\n  c: d\n  e: f'\n", "a: b\n---\nc: d\n", "- a\n- b\n"} {
		if _, ok := readPieces([]byte(unread), 0, 1); ok {
			t.Errorf("%q is read in pieces", unread)
		}
	}
}

func FuzzPieces(f *testing.F) {
	for _, text := range append(pieceTexts, behind, small, opposedBook, heldBook) {
		f.Add(text, 1)
	}
	f.Fuzz(func(t *testing.T, text string, size int) { samePieces(t, text, size) })
}

// Slips of the pen: whatever is still read in pieces is read as it is whole.
func TestPiecesWithSlips(t *testing.T) {
	rnd := rand.New(rand.NewPCG(6, 1))
	bits := []string{" ", "\n", "  ", ":", ": ", "-", "- ", "#", " #", ",", "{", "}", "[", "]", "\"", "'", "\\", "''", "~", "a", "é", "\t", "?", "!", "&", "|", ">", "\r\n", "---", "...", "\n  a: b\n"}
	texts := append([]string{small, heldBook, opposedBook[:min(600, len(opposedBook))], behind}, pieceTexts[:4]...)
	read := 0
	const mutants = 5000
	for range mutants {
		text := texts[rnd.IntN(len(texts))]
		for range 1 + rnd.IntN(3) {
			at := rnd.IntN(len(text) + 1)
			end := min(len(text), at+rnd.IntN(3))
			text = text[:at] + bits[rnd.IntN(len(bits))] + text[end:]
		}
		if samePieces(t, text, 1+rnd.IntN(80)) {
			read++
		}
	}
	if read < mutants/10 {
		t.Errorf("only %d of %d are read", read, mutants)
	}
}
