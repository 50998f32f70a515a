package check_test

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
)

// printedTwice are the rows of inch-and-mm.csv, each as a line with its second
// unit: the other cells of the row from the cured tables, the second units of
// cells that are not named as the manual's neighbours show them, converted and
// rounded. The last two are of manuals whose other rows we have not.
var printedTwice = []struct {
	ref                    string
	kind, asNew, service   string
	unit, alsoNew, alsoSvc string
	wantSum, wantMend      string
}{
	{"CK-rc", "clearance", "0.0025..0.0065", "0.0090", "mm", "0.089..0.165", "0.229", "0.0025 in is 0.0635 mm; printed 0.089 mm", "new 0.0035..0.0065"},
	{"VA-A", "length, wears: smaller", "", "0.105", "mm", "", "12.67", "0.105 in is 2.667 mm; printed 12.67 mm", "also.service 2.67"},
	{"VG-25", "outside", "0.8456..0.8461", "", "mm", "21.378..21.491", "", "0.8456 in is 21.47824 mm; printed 21.378 mm", "also.new 21.478..21.491"},
	{"VG-7", "inside", "0.8435..0.8445", "", "mm", "21.415..21.450", "", "0.8435 in is 21.4249 mm; printed 21.415 mm", "also.new 21.425..21.450"},
	{"BL-B", "inside", "74.915..7.4935", "", "mm", "190.284..190.335", "", "74.915 in is 1902.841 mm; printed 190.335 mm", "new 7.4915..7.4935"},
	{"HD-7t", "length, wears: smaller", "4.745..34.755", "4.715", "mm", "120.523..120.78", "119.761", "34.755 in is 882.777 mm; printed 120.78 mm", "new 4.745..4.755"},
	{"VD-v", "clearance", "", "max 0.010", "mm", "", "max 2.54", "0.010 in is 0.254 mm; printed 2.54 mm", "also.service max 0.254"},
	{"A new", "share, unit: in/in, wears: larger", "", "0.0005", "mm/mm", "", "0.0127", "0.0005 in/in is 0.0005 mm/mm; printed 0.0127 mm/mm", ""},
	{"guide clearance", "clearance", "", "max 0.006", "mm", "", "max 0.015", "0.006 in is 0.1524 mm; printed 0.015 mm", "also.service max 0.15"},
	{"pin to bushing", "clearance", "0.008..0.002", "", "mm", "0.02..0.06", "", "0.008 in is 0.2032 mm; printed 0.06 mm", "new 0.0008..0.002"},
	{"stem diameter", "outside", "0.3715 +/- 0.005", "", "mm", "9.445 +/- 0.015", "", "is 9.3091 mm; printed 9.430 mm", ""},
}

func printedTwiceBook(t *testing.T) *book.Book {
	t.Helper()
	var features, lines strings.Builder
	for i, r := range printedTwice {
		cell := func(name, text string) string {
			if text == "" {
				return ""
			}
			return fmt.Sprintf(", %s: %q", name, text)
		}
		fmt.Fprintf(&features, "      f%d: {kind: %s}\n", i, r.kind)
		fmt.Fprintf(&lines, "  r%d: {ref: %q, name: %q, size: p.f%d%s%s, also: {unit: %s%s%s}}\n", i, r.ref, r.ref, i,
			cell("new", r.asNew), cell("service", r.service), r.unit, cell("new", r.alsoNew), cell("service", r.alsoSvc))
	}
	return load(t, "format: book/1\nengine: Two units\nunit: in\nparts:\n  p:\n    features:\n"+features.String()+"lines:\n"+lines.String())
}

func load(t testing.TB, text string) *book.Book {
	t.Helper()
	b, err := book.Load("book.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return b
}

func TestUnitsOfPrintedRows(t *testing.T) {
	found := map[string]check.Finding{}
	for _, f := range check.Book(printedTwiceBook(t)) {
		if f.Code == "unit-mismatch" {
			found[f.Lines[0].Ref] = f
		}
	}
	printed := rows(t, "testdata/inch-and-mm.csv")
	if len(printed) != len(printedTwice) {
		t.Fatalf("%d rows are printed", len(printed))
	}
	for i, r := range printedTwice {
		if printed[i]["Ref"] != r.ref {
			t.Fatalf("row %d is %s", i, printed[i]["Ref"])
		}
		f, ok := found[r.ref]
		if !ok {
			t.Errorf("%s is not found", r.ref)
			continue
		}
		if !strings.Contains(strings.Join(f.Sum, "\n"), r.wantSum) {
			t.Errorf("%s: %q, want %q", r.ref, f.Sum, r.wantSum)
		}
		var mends []string
		for _, m := range f.Mends {
			mends = append(mends, m.Cell.Name+" "+m.New)
		}
		if i == len(printedTwice)-2 { // two misprints in one cell: any of them, and the true one among them
			if !slices.Contains(mends, r.wantMend) {
				t.Errorf("%s is mended by %q, want %q among them", r.ref, mends, r.wantMend)
			}
			continue
		}
		if r.wantMend == "" && len(mends) > 0 || r.wantMend != "" && (len(mends) == 0 || mends[0] != r.wantMend) {
			t.Errorf("%s is mended by %q, want %q", r.ref, mends, r.wantMend)
		}
	}
	// The key has one row more: printed twice, and not in two units.
	for _, k := range rows(t, "testdata/units.csv") {
		if _, ok := found[k["ref"]]; !ok && k["ref"] != "C2" {
			t.Errorf("%s, %s: not found", k["ref"], k["comment"])
		}
	}
	if f := found["A new"]; !strings.Contains(f.What, "a rate is the same in any unit") {
		t.Errorf("a rate: %s", f.What)
	}
}

// Where the two units disagree, the sums that the figure is in say which of them
// the rest of the book bears out. Figures of our own.
func TestWhichUnitIsBorneOut(t *testing.T) {
	for _, tt := range []struct{ name, bore, also, want, mend string }{
		{"the inches", "2.0000..2.0010", "50.800..50.285", "the sums of fit bear out the in", "also.new 50.800..50.825"},
		{"the millimetres", "2.0000..2.0100", "50.800..50.825", "the sums of fit bear out the mm", "new 2.0000..2.0010"},
	} {
		found := check.Book(load(t, `format: book/1
engine: Which
unit: in
parts: {p: {features: {bore: {kind: inside}, shaft: {kind: outside}}}}
lines:
  bore: {name: Bore, size: p.bore, new: `+tt.bore+`, also: {unit: mm, new: `+tt.also+`}}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L}
`))
		at := slices.IndexFunc(found, func(f check.Finding) bool { return f.Code == "unit-mismatch" })
		if at < 0 {
			t.Errorf("%s: %+v", tt.name, found)
			continue
		}
		f := found[at]
		if f.Sum[len(f.Sum)-1] != tt.want || len(f.Mends) == 0 || f.Mends[0].Cell.Name+" "+f.Mends[0].New != tt.mend {
			t.Errorf("%s: %q, mended by %+v", tt.name, f.Sum, f.Mends)
		}
	}
}

// A hundred pairs of our own, rounded as manuals round: from inches to
// millimetres with two to four decimals and the other way, half up and half to
// even, noughts at the end left out or not. None is found.
func TestTruePairs(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 25))
	var features, lines strings.Builder
	factor := big.NewRat(254, 10)
	round := func(r *big.Rat, decimals int, even bool) string {
		s := r.FloatString(decimals) // half away from nought
		if even {
			// One unit less where it was exactly half and is odd.
			scaled := new(big.Rat).Mul(r, new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals)), nil)))
			twice := new(big.Rat).Mul(scaled, big.NewRat(2, 1))
			if twice.IsInt() && twice.Num().Bit(0) == 1 {
				floor := new(big.Int).Div(scaled.Num(), scaled.Denom())
				if floor.Bit(0) == 1 {
					floor.Add(floor, big.NewInt(1))
				}
				s = new(big.Rat).Quo(new(big.Rat).SetInt(floor), new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals)), nil))).FloatString(decimals)
			}
		}
		if rng.IntN(3) == 0 && strings.Contains(s, ".") {
			s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
		}
		return s
	}
	for i := range 100 {
		least := int64(rng.IntN(80_000) + 20)
		most := least + int64(rng.IntN(40)+1)
		inchDecimals, mmDecimals := 3+rng.IntN(2), 2+rng.IntN(3)
		even := rng.IntN(2) == 0
		var in, mm [2]string
		for k, n := range []int64{least, most} {
			exact := big.NewRat(n, 10_000)
			if rng.IntN(2) == 0 { // the inches were there first
				in[k] = round(exact, inchDecimals, even)
				exact, _ = new(big.Rat).SetString(in[k])
				mm[k] = round(new(big.Rat).Mul(exact, factor), mmDecimals, even)
			} else {
				mm[k] = round(new(big.Rat).Mul(exact, factor), mmDecimals, even)
				exact, _ = new(big.Rat).SetString(mm[k])
				in[k] = round(new(big.Rat).Quo(exact, factor), inchDecimals, even)
			}
		}
		fmt.Fprintf(&features, "      f%d: {kind: outside}\n", i)
		fmt.Fprintf(&lines, "  r%d: {name: Row %d of many, size: p.f%d, new: %q, also: {unit: mm, new: %q}}\n", i, i, i, in[0]+".."+in[1], mm[0]+".."+mm[1])
	}
	for _, f := range check.Book(load(t, "format: book/1\nengine: Two units\nunit: in\nparts:\n  p:\n    features:\n"+features.String()+"lines:\n"+lines.String())) {
		if strings.HasPrefix(f.Code, "unit") {
			t.Errorf("%s %s: %s %v", f.Code, f.Lines[0].Key, f.What, f.Sum)
		}
	}
}
