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
	codes := map[string]*check.Finding{} // by table, reference and code
	for _, file := range files {
		source := strings.TrimSuffix(filepath.Base(file), ".csv")
		b := tableBook(t, rows(t, file), links[source])
		all := check.Book(b)
		for i := range all {
			f := &all[i]
			codes[source[:2]+" "+f.Lines[0].Ref+" "+f.Code] = f
			switch f.Code {
			case "fit-sum", "stack-sum":
				found[source+" "+f.Lines[0].Ref] = f
			case "fit-service-looser", "fit-service-below-new":
				t.Errorf("%s %v: %s", source, refs(f), f.What) // no row has these
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
			sumHas(t, f, k["computed_clearance_min"], k["computed_clearance_max"])
		}
	}
	if n != 5 || len(found) != 2 {
		t.Errorf("%d fits and %d stacks do not agree; wanted 5 and 2", n, len(found))
	}
	sumHas(t, codes["G1 CK-rc stack-sum"], "0.0033", "0.0068")
	sumHas(t, codes["G1 CK-mc stack-sum"], "0.0036", "0.0080")

	// What else is told of the tables, and what would mend it.
	for _, tt := range []struct{ about, mend string }{
		{"G3 18 service-inside", ""},
		{"G4 A2 service-inside", ""},
		{"G4 M-A service-inside", ""},
		{"G3 1 service-equals-new", ""},
		{"G5 10 service-equals-new", ""},
		{"G4 P-A fit-service-tighter", ""},
		{"G4 P-B fit-service-tighter", ""},
		{"G6 M-oor ten-times", "max 0.0005"},
		{"G1 BL-A service-far", ""},
		{"G1 BL-B range-wide", "7.4935..7.4915"},
		{"G1 HD-7t range-wide", "4.745..4.755"},
		{"G4 M-A fit-sum", "3.9995..4.005"},
		{"G4 Q-A fit-sum", "-0.0100..-0.0044"},
		{"G1 PI-fit fit-sum", ""},
	} {
		f := codes[tt.about]
		if f == nil {
			t.Errorf("%s is not found", tt.about)
			continue
		}
		if tt.mend != "" && (len(f.Mends) == 0 || f.Mends[0].New != tt.mend) {
			t.Errorf("%s is mended by %+v, want %q", tt.about, f.Mends, tt.mend)
		}
	}
}

// sumHas tells whether a finding's sum comes to these clearances.
func sumHas(t *testing.T, f *check.Finding, wanted ...string) {
	t.Helper()
	if f == nil {
		t.Error("a stack is not found")
		return
	}
	for _, want := range wanted {
		text := "= " + strings.TrimPrefix(want, "-")
		if !strings.Contains(strings.Join(f.Sum, "\n"), text) {
			t.Errorf("%v: %q, want %s", refs(f), f.Sum, want)
		}
	}
}

func refs(f *check.Finding) (all []string) {
	for _, l := range f.Lines {
		all = append(all, l.Ref)
	}
	return slices.Compact(all)
}
