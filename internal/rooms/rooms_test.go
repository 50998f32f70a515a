// Package rooms holds the plan of which package may import which of ours, and
// why. A package that the plan does not name, and an import that it does not
// allow, fail.
package rooms

import (
	"os/exec"
	"path"
	"slices"
	"strings"
	"testing"
)

// A room is one package: its floor, and what of ours it may import with the
// reason. Imports go down, never up or across.
type room struct {
	floor int
	may   map[string]string
}

var plan = map[string]room{
	"metrology/quantity": {0, nil},
	"metrology/limit":    {1, map[string]string{"metrology/quantity": "limits are figures with edges"}},
	"metrology/form":     {1, map[string]string{"metrology/quantity": "form is a difference of lengths"}},
	"metrology/fit":      {2, map[string]string{"metrology/quantity": "a fit is a signed sum of lengths"}},

	"internal/fault": {0, nil},
	"internal/whole": {0, nil},
	"internal/table": {1, map[string]string{"internal/fault": "rows that can't be read are told like any fault"}},
	"internal/book": {3, map[string]string{
		"internal/fault":     "everything wrong in a book is told at once",
		"metrology/quantity": "spots along a part and units are figures",
		"metrology/limit":    "printed limits become ranges when the book loads",
	}},
	"internal/check": {4, map[string]string{
		"internal/book":      "looks through a book",
		"metrology/limit":    "reads its printed limits again, as they would be mended",
		"metrology/quantity": "with exact figures",
	}},
	"internal/compare": {6, map[string]string{
		"internal/book":      "holds two editions against each other",
		"internal/judge":     "and the verdicts that they give",
		"metrology/limit":    "limit by limit",
		"metrology/quantity": "in exact figures",
	}},
	"internal/intake": {4, map[string]string{
		"internal/book":      "what it makes is a book, or is added to one",
		"internal/fault":     "what can't be read is told at once",
		"internal/table":     "of a table's cells",
		"metrology/limit":    "each cell is read as the book will read it",
		"metrology/quantity": "with its unit",
	}},
	"internal/draft": {5, map[string]string{
		"internal/book":   "loads the book that the tables come to, with what was settled",
		"internal/fault":  "what can't be read is told at once",
		"internal/intake": "makes it of them",
		"internal/table":  "reads what was brought in",
		"internal/whole":  "keeps each file whole",
	}},
	"internal/reading": {4, map[string]string{
		"internal/book":      "a reading is taken at a spot of a book",
		"internal/fault":     "everything wrong in a file is told at once",
		"internal/table":     "files of readings are tables",
		"metrology/quantity": "a reading is a figure with its digits",
	}},
	"internal/judge": {5, map[string]string{
		"internal/book":      "verdicts are on a book's lines",
		"internal/reading":   "of readings",
		"metrology/quantity": "with exact figures",
		"metrology/limit":    "held against limits",
		"metrology/fit":      "of fits",
		"metrology/form":     "and of form",
	}},
	"internal/ledger": {0, nil},
	"internal/store":  {1, nil},
	"internal/store/memory": {2, map[string]string{
		"internal/store": "keeps the promise",
	}},
	"internal/store/sqlite": {2, map[string]string{
		"internal/store":  "keeps the promise",
		"internal/ledger": "each line is stored with its hash, so that a damaged one is told",
	}},
	"internal/store/storetest": {2, map[string]string{
		"internal/store":  "holds stores to the promise",
		"internal/ledger": "and knows how long a line may be",
	}},
	"internal/record": {1, map[string]string{"internal/ledger": "facts are read from the lines of a log"}},
	"internal/export": {1, map[string]string{"internal/ledger": "holds lines against their seals"}},
	"internal/shoplog": {2, map[string]string{
		"internal/ledger": "knows when entries were recorded",
		"internal/record": "its facts are of the record",
	}},
	"internal/job": {6, map[string]string{
		"internal/ledger":  "knows when entries were recorded",
		"internal/record":  "its facts are of the record",
		"internal/shoplog": "rules ask who is of the shop, and for its policy",
		"internal/book":    "positions and conditions are the book's",
		"internal/reading": "readings are taken as files have them",
		"internal/judge":   "what is signed are verdicts",
	}},
	"internal/shop": {7, map[string]string{
		"internal/whole":   "keeps seals beside the record",
		"internal/ledger":  "writes entries and seals",
		"internal/record":  "refuses",
		"internal/store":   "keeps the record",
		"internal/export":  "lets a record out",
		"internal/shoplog": "decides on the shop's log",
		"internal/job":     "decides on jobs' logs",
		"internal/book":    "loads editions",
		"internal/reading": "imports files of readings",
		"internal/fault":   "tells what is wrong in them",
	}},
	"internal/shop/faults": {8, nil},
	"internal/picture": {6, map[string]string{
		"internal/book":      "what the line judges says where nought is",
		"internal/judge":     "a ruler shows a verdict",
		"metrology/limit":    "against its limits",
		"metrology/quantity": "at its figures",
	}},
	"internal/web": {8, map[string]string{
		"internal/whole":     "keeps what people like of the pages",
		"internal/shop":      "does what people ask for",
		"internal/job":       "shows how jobs stand",
		"internal/judge":     "words verdicts",
		"internal/book":      "shows books, and the route through their spots",
		"internal/reading":   "takes readings in words",
		"internal/shoplog":   "shows people and editions",
		"internal/record":    "tells refusals from failures",
		"internal/ledger":    "shows when, and by which key",
		"internal/fault":     "shows what is wrong in a book",
		"internal/draft":     "shows books in the making",
		"internal/intake":    "and how their tables are understood",
		"internal/table":     "knows how large one may be",
		"internal/check":     "and what the check finds in them",
		"internal/picture":   "shows rulers and drawings",
		"metrology/limit":    "asks which end counts",
		"metrology/quantity": "moves marks by whole counts",
	}},
	"internal/demo":      {8, nil},
	"internal/demo/more": {8, nil},
	"internal/rooms":     {8, nil},
	"cmd/tenths": {9, map[string]string{
		"internal/whole":        "writes books and what was settled of them",
		"internal/book":         "loads it",
		"internal/reading":      "loads them",
		"internal/judge":        "asks for verdicts",
		"internal/check":        "looks through books",
		"internal/compare":      "compares editions",
		"internal/intake":       "makes books of tables",
		"internal/picture":      "shows rulers",
		"internal/draft":        "keeps books in the making",
		"internal/demo":         "writes the demo's files",
		"internal/demo/more":    "puts more engines on its floor",
		"internal/shop":         "does what people do in a shop",
		"internal/web":          "serves its pages",
		"internal/job":          "asks for it",
		"internal/shoplog":      "says who does it",
		"internal/record":       "refuses what can't be asked",
		"internal/ledger":       "prints seals and keys",
		"internal/export":       "verifies a record that came from elsewhere",
		"internal/store/sqlite": "opens the record",
		"internal/fault":        "prints what is wrong",
		"internal/table":        "knows how large a file may be",
		"metrology/quantity":    "prints figures in a unit",
		"metrology/limit":       "prints limits",
	}},
	"bench/pages": {9, map[string]string{
		"internal/book": "knows spots to measure",
		"internal/demo": "takes the demo's book",
	}},
	"bench/record": {9, map[string]string{
		"internal/shop":         "measures its writer",
		"internal/job":          "asks for readings to be taken",
		"internal/shoplog":      "makes a person",
		"internal/reading":      "writes readings in words",
		"internal/ledger":       "writes many entries",
		"internal/store":        "appends them",
		"internal/store/sqlite": "on disk",
		"internal/demo":         "takes the demo's book and readings",
	}},
	"bench/fits": {9, map[string]string{
		"metrology/quantity": "parses the rows",
		"metrology/fit":      "adds them up",
		"metrology/limit":    "judges them",
	}},
}

func TestRooms(t *testing.T) {
	// -deps is not wanted: only what each package itself imports. Imports of
	// tests are left out: a test may look anywhere.
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}}:{{join .Imports " "}}`, "tenths/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	seen := map[string]bool{}
	for line := range strings.Lines(string(out)) {
		name, imports, _ := strings.Cut(strings.TrimSpace(line), ":")
		name = strings.TrimPrefix(name, "tenths/")
		seen[name] = true
		r, ok := plan[name]
		if !ok {
			t.Errorf("%s is not in the plan: say on which floor it is and what it may import, with the reason", name)
			continue
		}
		for _, i := range strings.Fields(imports) {
			ours, isOurs := strings.CutPrefix(i, "tenths/")
			if !isOurs {
				continue
			}
			if r.may[ours] == "" {
				t.Errorf("%s imports %s, which the plan does not allow", name, ours)
			}
			if plan[ours].floor >= r.floor {
				t.Errorf("%s (floor %d) imports %s (floor %d): imports go down", name, r.floor, ours, plan[ours].floor)
			}
		}
		imported := strings.Fields(imports)
		for ours := range r.may {
			if !slices.Contains(imported, "tenths/"+ours) {
				t.Errorf("the plan lets %s import %s, and it does not: take it out", name, ours)
			}
			if strings.HasPrefix(name, "metrology/") && strings.HasPrefix(ours, "internal/") {
				t.Errorf("the plan lets %s import %s: metrology imports nothing of internal", name, ours)
			}
		}
	}
	for name := range plan {
		if !seen[name] {
			t.Errorf("the plan names %s, which is not there", name)
		}
	}
}

// Metrology is pure: no disk, clock, network or log.
func TestMetrologyIsPure(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}}:{{join .Imports " "}}`, "tenths/metrology/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	pure := []string{"cmp", "errors", "fmt", "maps", "math", "math/big", "math/bits", "regexp", "slices", "sort", "strconv", "strings", "unicode", "unicode/utf8"}
	for line := range strings.Lines(string(out)) {
		name, imports, _ := strings.Cut(strings.TrimSpace(line), ":")
		for _, i := range strings.Fields(imports) {
			if !slices.Contains(pure, i) && path.Dir(i) != "tenths/metrology" {
				t.Errorf("%s imports %s", name, i)
			}
		}
	}
}
