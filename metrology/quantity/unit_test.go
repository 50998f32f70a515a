package quantity

import (
	"encoding/csv"
	"math/big"
	"os"
	"strings"
	"testing"
)

// table reads a CSV file whose first row names the columns.
func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, record := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func parsed(t *testing.T, text string) Figure {
	t.Helper()
	f, _, err := Format{}.Figure(text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// rat is the product of decimal texts.
func rat(t *testing.T, factors ...string) *big.Rat {
	t.Helper()
	product := big.NewRat(1, 1)
	for _, s := range factors {
		f, ok := new(big.Rat).SetString(s)
		if !ok {
			t.Fatalf("%q is no number", s)
		}
		product.Mul(product, f)
	}
	return product
}

// testdata/units.csv names the source of each row and whether it was seen.
func TestUnitsAgainstPublishedValues(t *testing.T) {
	rows := table(t, "testdata/units.csv")
	for _, row := range rows {
		figure := parsed(t, row["text"])
		unit, err := ParseUnit(row["unit"])
		if err != nil {
			t.Fatal(err)
		}
		_, part, _ := strings.Cut(row["equals"], ".")
		text, exact := figure.Text(unit, len(part))
		if text != row["equals"] || exact != (row["exact"] == "yes") {
			t.Errorf("%s prints as %s %s (exact: %v), published %s: %s",
				row["text"], text, unit, exact, row["equals"], row["source"])
		}
		if row["exact"] == "yes" && figure != parsed(t, row["equals"]+" "+row["unit"]) {
			t.Errorf("%s is not %s %s: %s", row["text"], row["equals"], row["unit"], row["source"])
		}
	}
	if len(rows) < 19 {
		t.Errorf("only %d rows", len(rows))
	}
}

// The exact definitions: in = 25.4 mm, lb = 0.45359237 kg, standard gravity
// 9.80665 m/s². Source: NIST SP 811 (2008), appendix B (from memory).
func TestUnitsAgainstTheirDefinitions(t *testing.T) {
	const lb, g, in = "0.45359237", "9.80665", "0.0254"
	over := func(r *big.Rat, by *big.Rat) *big.Rat { return new(big.Rat).Quo(r, by) }
	for _, c := range []struct {
		unit, si Unit
		want     *big.Rat
	}{
		{Inch, Millimetre, rat(t, in, "1000")},
		{Thousandth, Millimetre, rat(t, in)},
		{Microinch, Micrometre, rat(t, in)},
		{Micrometre, Millimetre, rat(t, "0.001")},
		{Centimetre, Millimetre, rat(t, "10")},
		{Pound, Kilogram, rat(t, lb)},
		{Ounce, Gram, over(rat(t, lb, "1000"), rat(t, "16"))},
		{Gram, Kilogram, rat(t, "0.001")},
		{PoundForce, Newton, rat(t, lb, g)},
		{InchPoundForce, NewtonMetre, rat(t, lb, g, in)},
		{FootPoundForce, NewtonMetre, rat(t, lb, g, in, "12")},
		{PoundPerSquareInch, Kilopascal, over(rat(t, lb, g), rat(t, in, in, "1000"))},
		{Bar, Kilopascal, rat(t, "100")},
		{Minute, Second, rat(t, "60")},
		{Hour, Second, rat(t, "3600")},
		{Degree, ArcMinute, rat(t, "60")},
		{InchPerInch, MillimetrePerMillimetre, rat(t, "1")},
	} {
		if got := parsed(t, "1 "+c.unit.String()).in(c.si); got.Cmp(c.want) != 0 {
			t.Errorf("1 %s is %s %s, want %s", c.unit, got.RatString(), c.si, c.want.RatString())
		}
	}
}

func TestUnitNames(t *testing.T) {
	owner := map[string]Unit{}
	for _, u := range Units() {
		for _, s := range u.Spellings() {
			if got, err := ParseUnit(s); err != nil || got != u || s == u.String() {
				t.Errorf("%q is said to be another spelling of %s, and is read as %q, %v", s, u, got, err)
			}
		}
		if u.Kind() == NoKind || u.Kind().String() == "" || u.String() == "" {
			t.Errorf("unit %d has kind %q and name %q", u, u.Kind(), u)
		}
		for _, s := range append([]string{u.String()}, unitTable[u].spelled...) {
			if other, taken := owner[foldUnit(s)]; taken && other != u {
				t.Errorf("%q names both %s and %s", s, other, u)
			}
			owner[foldUnit(s)] = u
			for _, cased := range []string{s, strings.ToUpper(s), " " + s + " "} {
				if got, err := ParseUnit(cased); err != nil || got != u {
					t.Errorf("%q is read as %q, %v; want %q", cased, got, err, u)
				}
			}
		}
	}
	for _, s := range []string{"", "furlong", "lbf-", "i n", "1"} {
		if u, err := ParseUnit(s); err == nil {
			t.Errorf("%q is read as %s", s, u)
		}
	}
	if u := unitCount; u.Kind() != NoKind || u.String() != "" || u.Spellings() != nil {
		t.Errorf("what is no unit has kind %q, name %q and spellings %q", u.Kind(), u, u.Spellings())
	}
}

// Ten digits fit in every unit: of length down to a tenth of a nanometre or a
// microinch, of the others down to the fifth decimal.
func TestTenDigitsFitInEveryUnit(t *testing.T) {
	for _, u := range Units() {
		decimals := 5
		if u.Kind() == LengthKind {
			decimals = map[Unit]int{Inch: 6, Thousandth: 3, Tenth: 2, Microinch: 0, Millimetre: 7, Centimetre: 8, Micrometre: 4}[u]
		}
		digits := "1234567891"
		text := digits[:10-decimals] + "." + digits[10-decimals:]
		f, _, err := Format{Unit: u}.Figure(text)
		if err != nil {
			t.Errorf("%s %s: %v", text, u, err)
			continue
		}
		if got, exact := f.Text(u, decimals); strings.TrimSuffix(text, ".") != got || !exact {
			t.Errorf("%s %s prints as %s (exact: %v)", text, u, got, exact)
		}
	}
}
