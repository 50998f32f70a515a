package intake_test

import (
	"fmt"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/intake"
)

// settledCells are what a person settles of the printed tables' holds, as the
// remarks on them explain: letters for digits, lost dashes, a decimal comma, two
// misplaced points. By table, reference and cell.
var settledCells = map[string][][3]string{
	"G1-TM9-6115-604-34": {{"BL-B", "new", "7.4915 - 7.4935"}},
	"G3-TM5-6115-584-34": {{"8", "service", "0.0057"}},
	"G4-TM9-2520-246-34-T4-6": {
		{"D", "new", "4.000 - 4.001"}, {"M", "new", "4.000 - 4.0010"}, {"A4", "new", "1.000 - 1.0012"}, {"P1", "new", "0.9949 - 0.9961"},
	},
	"G5-TM5-3820-233-35-2": {{"22", "new", "0.001T - 0.001L"}},
}

// From the page to the findings: the printed tables imported, their holds settled
// and their fits linked beside the book, and checked. Every fit that the key
// calls inconsistent is found, with the same sums, and none that it calls
// consistent; so are the two stacks.
func TestSettledTables(t *testing.T) {
	keys := records(t, "../check/testdata/fits.csv")
	links := map[string]map[string]string{"G1-TM9-6115-604-34": {
		"CK-rc": "{CR-B} - 2 {CK-11} - {CK-r}",
		"CK-mc": "{BL-58m} - 2 {CK-19} - {CK-m}",
	}}
	for _, k := range keys {
		if links[k["source_id"]] == nil {
			links[k["source_id"]] = map[string]string{}
		}
		links[k["source_id"]][k["fit_ref"]] = "{" + k["bore_ref"] + "} - {" + k["shaft_ref"] + "}"
	}
	found := map[string]check.Finding{}
	for table, fits := range links {
		d := printed(t, table, answers[table]...)
		text := d.Book(intake.Title{Engine: "E"})
		b := load(t, d)
		lines, features := map[string]*book.Line{}, []string{}
		for _, l := range b.Lines {
			lines[l.Ref] = l
			features = append(features, "{"+l.Ref+"}", l.Terms[0].Feature.Ref())
		}
		var says strings.Builder
		says.WriteString("format: settled/1\nholds:\n")
		for _, s := range settledCells[table] {
			if l := lines[s[0]]; l == nil {
				t.Fatalf("%s has no row %s", table, s[0])
			} else if len(l.Holds) > 0 {
				fmt.Fprintf(&says, "  %s: {%s: {says: %q, by: A. Fitter, why: the remarks on the table}}\n", l.Key, s[1], s[2])
			}
		}
		says.WriteString("links:\n")
		for ref, fit := range fits {
			fmt.Fprintf(&says, "  %s: {fit: %q, by: A. Fitter}\n", lines[ref].Key, strings.NewReplacer(features...).Replace(fit))
		}
		b, err := book.Load("book.yaml", book.Join(text, []byte(says.String())))
		if err != nil {
			t.Fatalf("%s: %v\n%s", table, err, &says)
		}
		for _, f := range check.Book(b) {
			switch f.Code {
			case "fit-sum", "stack-sum":
				found[table+" "+f.Lines[0].Ref] = f
			case "fit-service-looser", "fit-service-below-new":
				t.Errorf("%s %s: %s", table, f.Lines[0].Ref, f.What) // no row has these
			}
		}
	}
	sums := map[string][]string{
		"G1-TM9-6115-604-34 CK-rc": {"0.0033", "0.0068"},
		"G1-TM9-6115-604-34 CK-mc": {"0.0036", "0.0080"},
	}
	for _, k := range keys {
		if k["status"] == "INCONSISTENT" {
			sums[k["source_id"]+" "+k["fit_ref"]] = []string{strings.TrimPrefix(k["computed_clearance_min"], "-"), k["computed_clearance_max"]}
		}
	}
	if len(sums) != 7 {
		t.Fatalf("the key has %d rows that do not agree, stacks included; wanted 7", len(sums))
	}
	for row, want := range sums {
		f, ok := found[row]
		if !ok {
			t.Errorf("%s is not found", row)
		}
		for _, figure := range want {
			if !strings.Contains(strings.Join(f.Sum, "\n"), "= "+strings.TrimPrefix(figure, "-")) {
				t.Errorf("%s: %q, want %s", row, f.Sum, figure)
			}
		}
		delete(found, row)
	}
	for row, f := range found {
		t.Errorf("%s agrees, and is found: %v", row, f.Sum)
	}
}
