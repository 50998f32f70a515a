package judge_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"tenths/internal/book"
	"tenths/internal/judge"
)

// cases are the inspection cases that are held against the judge. Each file
// names its source, and holds a book, the readings and what is wanted: a line
// for each verdict, as show writes it. Where that hangs on a condition, each
// "want" names what is given ("want bushing=new"); readings of its own stand in
// "readings bushing=new".
var cases = []string{
	"GC01", "GC04", "GC07", "GC08", "GC09", "GC10", "GC11", "GC12", "GC13", "GC14", "GC15", "GC16", "GC17", "GC18", "GC19", "GC20",
	"GC21", "GC22", "GC23", "GC24",
}

func TestCases(t *testing.T) {
	files, err := filepath.Glob("testdata/cases/*.txtar")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, file := range files {
		names = append(names, strings.TrimSuffix(filepath.Base(file), ".txtar"))
	}
	if diff := cmp.Diff(cases, names); diff != "" {
		t.Errorf("the files are not the cases (-cases +files):\n%s", diff)
	}
	for i, file := range files {
		t.Run(names[i], func(t *testing.T) {
			archive, err := txtar.ParseFile(file)
			if err != nil {
				t.Fatal(err)
			}
			parts := map[string][]byte{}
			for _, f := range archive.Files {
				parts[f.Name] = f.Data
			}
			comment := string(archive.Comment)
			for _, want := range []string{names[i] + "  ", "\norigin: ", "\nsource: ", "\ntrap: "} {
				if !strings.Contains(comment, want) {
					t.Errorf("the comment has no %q", want)
				}
			}
			b := loadBook(t, parts["book.yaml"])
			wants := 0
			for _, f := range archive.Files {
				name, given, _ := strings.Cut(f.Name, " ")
				if name != "want" {
					continue
				}
				wants++
				readings := parts["readings "+given]
				if readings == nil {
					readings = parts["readings.csv"]
				}
				g := judge.Given{Conditions: map[string]string{}}
				if condition, word, ok := strings.Cut(given, "="); ok {
					g.Conditions[condition] = word
				}
				if diff := cmp.Diff(lines(string(f.Data)), shown(b, g, loadReadings(t, b, readings))); diff != "" {
					t.Errorf("%s: verdicts (-want +got):\n%s", f.Name, diff)
				}
			}
			if wants == 0 {
				t.Error("nothing is wanted")
			}
		})
	}
}

// The cell of case GC17 as it stands in print, an amount alone among sizes,
// must not be taken for the least diameter: the book waits for a person, with
// both readings offered.
func TestAmountAloneIsNotASize(t *testing.T) {
	archive, err := txtar.ParseFile("testdata/cases/GC17.txtar")
	if err != nil {
		t.Fatal(err)
	}
	text := string(archive.Files[0].Data)
	printed := strings.Replace(text, "service: wear 0.001", "service: 0.001", 1)
	if printed == text {
		t.Fatal("the case has no such cell")
	}
	_, err = book.Load("book.yaml", []byte(printed))
	if err == nil {
		t.Fatal("0.001 was taken for a diameter of a pin of 0.99 in")
	}
	for _, want := range []string{"wear 0.001", "min 0.001"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v: it does not offer %q", err, want)
		}
	}
	stated := strings.Replace(text, "service: wear 0.001", "service: min 0.001", 1)
	loadBook(t, []byte(stated))
}
