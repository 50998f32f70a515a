package draft_test

import (
	"errors"
	"strings"
	"testing"

	"tenths/internal/draft"
	"tenths/internal/intake"
)

// All tables of a draft are of one engine: what is said of a part is said of it in
// each of them, and a whole book, which says it itself, keeps what it has.
func TestCount(t *testing.T) {
	all := draft.In(t.TempDir())
	const one, two = "Description,New (in)\nCylinder bore,5.1250 - 5.1260\n", "Description,New (in)\nCylinder height,6.000 - 6.010\nPiston height,3.00 - 3.01\n"
	name, err := all.Begin(intake.Title{Engine: "Four"}, draft.Upload{Name: "one.csv", Data: []byte(one), Stamp: ro})
	if err == nil {
		err = all.Add(name, draft.Upload{Name: "two.csv", Data: []byte(two), Stamp: ro})
	}
	if err != nil {
		t.Fatal(err)
	}
	positions := func(want string) {
		t.Helper()
		got := ""
		for _, p := range open(t, all, name).Loaded.Parts {
			got += p.Key + strings.Repeat("+", p.Positions) + " "
		}
		if got != want {
			t.Errorf("the parts are %s, want %s", got, want)
		}
	}
	positions("cylinder piston ")
	for _, c := range []struct {
		table  int
		counts map[string]int
		want   string
	}{
		{1, map[string]int{"cylinder": 4, "piston": 2}, "cylinder++++ piston++ "},
		{0, map[string]int{"cylinder": 6}, "cylinder++++++ piston++ "},
		{1, map[string]int{"cylinder": 1}, "cylinder piston++ "},
	} {
		if err := all.Count(name, c.table, c.counts, ""); err != nil {
			t.Fatal(err)
		}
		positions(c.want)
	}
	var refused *draft.RefusedError
	for _, counts := range []map[string]int{{"rod": 4}, {"piston": 0}, {"piston": 1000}} {
		if err := all.Count(name, 0, counts, ""); !errors.As(err, &refused) {
			t.Errorf("%v: %v", counts, err)
		}
	}
	if err := all.Count(name, 0, nil, "0/90"); !errors.As(err, &refused) {
		t.Errorf("across: %v", err)
	}
	positions("cylinder piston++ ")

	if name, err = all.Begin(intake.Title{}, sheetUp(filledSheet(t, "xlsx"))); err == nil {
		err = all.Add(name, draft.Upload{Name: "one.csv", Data: []byte(one), Stamp: ro})
	}
	if err != nil {
		t.Fatal(err)
	}
	before := string(open(t, all, name).Book)
	if err := all.Count(name, 1, map[string]int{"cylinder": 7}, ""); !errors.As(err, &refused) || !strings.Contains(err.Error(), "the book has 4 of the part") {
		t.Errorf("another count than the whole book has: %v", err)
	}
	if now := string(open(t, all, name).Book); now != before {
		t.Error("what was refused has changed the book")
	}
}
