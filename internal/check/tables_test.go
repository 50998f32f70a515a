package check_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
)

// A row is one row of a table, by column.
type row map[string]string

// rows reads a CSV file.
func rows(t testing.TB, file string) (all []row) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cells, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range cells[1:] {
		r := row{}
		for i, column := range cells[0] {
			r[column] = line[i]
		}
		all = append(all, r)
	}
	return all
}

// tableBook makes a book of one cured table, its fits linked to the sizes as
// said.
func tableBook(t testing.TB, table []row, links map[string]string) *book.Book {
	t.Helper()
	var numbers []string
	for i, r := range table {
		numbers = append(numbers, "{"+r["ref"]+"}", fmt.Sprintf("p.f%d", i))
	}
	featureOf := strings.NewReplacer(numbers...)
	var features, lines strings.Builder
	unit, made := "in", map[string]bool{}
	wanted := func(f, kind string) {
		if f = strings.TrimPrefix(f, "p."); !made[f] {
			made[f] = true
			fmt.Fprintf(&features, "      %s: {%s}\n", f, kind)
		}
	}
	for i, r := range table {
		if r["unit"] == "mm" {
			unit = "mm"
		}
		f := fmt.Sprintf("p.f%d", i)
		kind, judges := "", "size: "+f
		wears := "either"
		switch r["limit_type"] {
		case "min":
			wears = "smaller"
		case "max":
			wears = "larger"
		}
		switch r["kind"] {
		case "size_external", "size_over_pins":
			kind = "kind: outside"
		case "size_internal":
			kind = "kind: inside"
		case "size_width":
			kind = "kind: inside"
		case "size_thickness", "size_length", "size_depth", "size_height", "spring_length":
			kind = "kind: length, wears: " + wears
		case "out_of_round":
			kind, judges = "kind: outside, directions: [0, 90]", "out-of-round: "+f
		case "taper":
			kind, judges = "kind: outside, planes: [front, rear]", "taper: "+f
		case "runout":
			kind, judges = "kind: dial, directions: [0, 90]", "run-out: "+f
		case "angle", "torque":
			kind = "kind: " + r["kind"] + ", unit: " + r["unit"] + ", wears: either"
		case "spring_load":
			kind = "kind: force, unit: " + r["unit"] + ", wears: either"
		case "alignment_per_length", "runout_per_length":
			kind = "kind: share, unit: " + r["unit"] + ", wears: larger"
		case "relation":
			continue // words, no figures
		default:
			kind = "kind: clearance"
		}
		if fit, ok := links[r["ref"]]; ok {
			judges = "fit: " + featureOf.Replace(fit)
		} else {
			wanted(f, kind)
		}
		newCell, service := r["printed_new"], r["printed_limit"]
		signed := r["signed_new_min"] != "" && r["signed_new_max"] != ""
		if signed && !strings.Contains(newCell, "+/-") {
			newCell = r["signed_new_min"] + ".." + r["signed_new_max"]
		}
		switch r["limit_type"] {
		case "amt":
			service = "wear " + r["wear_amount"]
		case "see":
			service = strings.Trim(service, "()")
		case "new":
			service = "same as new"
		case "none":
			service = ""
		case "min", "max":
			service = r["limit_type"] + " " + r["signed_service"]
			if judges[:3] == "fit" {
				service = r["signed_service"]
				if !strings.HasPrefix(service, "-") && !strings.HasPrefix(service, "+") {
					service += "L"
				}
			}
		}
		if r["wear_amount"] != "" && newCell == "" {
			continue // an amount of wear of nothing that is printed
		}
		if newCell != "" && !signed {
			newCell = "max " + r["signed_new_max"]
			if r["signed_new_max"] == "" {
				newCell = "reference " + r["signed_new_min"]
				if r["limit_type"] == "tol" {
					newCell = r["signed_new_min"]
				} else {
					service = ""
				}
			}
		}
		fmt.Fprintf(&lines, "  r%d: {ref: %q, page: %q, name: %q, %s", i, r["ref"], r["page"], r["description"], judges)
		if newCell != "" {
			fmt.Fprintf(&lines, ", new: %q", newCell)
		}
		if service != "" {
			fmt.Fprintf(&lines, ", service: %q", service)
		}
		lines.WriteString("}\n")
	}
	text := "format: book/1\nengine: As in the manual\nunit: " + unit + "\nparts:\n  p:\n    features:\n" + features.String() + "lines:\n" + lines.String()
	b, err := book.Load("table.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// stacks are the fits of three sizes, which the key of fits has not.
var stacks = map[string]map[string]string{"G1-TM9-6115-604-34": {
	"CK-rc": "{CR-B} - 2 {CK-11} - {CK-r}",
	"CK-mc": "{BL-58m} - 2 {CK-19} - {CK-m}",
}}

func TestFitsOfPrintedTables(t *testing.T) {
	keys := rows(t, "testdata/fits.csv")
	links := map[string]map[string]string{}
	for table, fits := range stacks {
		links[table] = fits
	}
	for _, k := range keys {
		if links[k["source_id"]] == nil {
			links[k["source_id"]] = map[string]string{}
		}
		links[k["source_id"]][k["fit_ref"]] = "{" + k["bore_ref"] + "} - {" + k["shaft_ref"] + "}"
	}
	files, err := filepath.Glob("testdata/tables/*.csv")
	if err != nil || len(files) != 9 {
		t.Fatalf("%d tables, %v", len(files), err)
	}
	found := map[string]*check.Finding{}
	for _, file := range files {
		source := strings.TrimSuffix(filepath.Base(file), ".csv")
		b := tableBook(t, rows(t, file), links[source])
		all := check.Book(b)
		for i := range all {
			f := &all[i]
			t.Logf("%s %s %v %s: %s", source[:2], f.Severity, refs(f), f.Code, f.What)
			for _, s := range f.Sum {
				t.Logf("        %s", s)
			}
			for _, m := range f.Mends {
				t.Logf("        mend %s %s: %q -> %q: %s %v %.2f", m.Cell.Line.Ref, m.Cell.Name, m.Cell.Text, m.New, m.How, m.Why, check.Cost(m))
			}
			if f.Code == "fit-sum" || f.Code == "stack-sum" {
				found[source+" "+f.Lines[0].Ref] = f
			}
		}
	}
	n := 0
	for _, k := range keys {
		f := found[k["source_id"]+" "+k["fit_ref"]]
		if (f != nil) != (k["status"] == "INCONSISTENT") {
			t.Errorf("%s %s is %s: %v", k["source_id"], k["fit_ref"], k["status"], f)
		}
		if f != nil {
			n++
			delete(found, k["source_id"]+" "+k["fit_ref"])
		}
	}
	if n != 5 || len(found) != 2 {
		t.Errorf("%d fits and %d stacks do not agree; wanted 5 and 2", n, len(found))
	}
}

func refs(f *check.Finding) (all []string) {
	for _, l := range f.Lines {
		all = append(all, l.Ref)
	}
	return slices.Compact(all)
}
