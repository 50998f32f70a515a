package check_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
)

// mend writes a mend into a plot; false where it is not of a row's own cells.
func (p *plot) mend(m check.Mend) bool {
	write := func(key, name, text string) bool {
		for i := range p.rows {
			if p.rows[i].key != key {
				continue
			}
			switch name {
			case "new":
				p.rows[i].asNew = text
				return true
			case "service":
				p.rows[i].service = text
				return true
			}
		}
		return false
	}
	if !write(m.Cell.Line.Key, m.Cell.Name, m.New) {
		return false
	}
	return m.With == nil || write(m.With.Line.Key, m.With.Name, m.WithNew)
}

// Every mend, once written into the book, makes its finding go and brings no
// fault or doubt that was not there; and looking changes nothing.
func TestMendsMend(t *testing.T) {
	tried := 0
	for seed := uint64(1); seed <= 300; seed++ {
		p := newPlot(seed)
		if _, ok := p.plant(); !ok {
			continue
		}
		b, err := book.Load("damaged", []byte(p.text()))
		if err != nil {
			continue
		}
		found := check.Book(b)
		if again := check.Book(b); !reflect.DeepEqual(found, again) {
			t.Fatalf("seed %d: twice looked at is not the same", seed)
		}
		was := map[string]bool{}
		for _, f := range found {
			was[identity(f)] = true
		}
		for _, f := range found {
			for _, m := range f.Mends {
				if strings.Contains(strings.Join(m.Why, " "), "only") {
					continue // it mends one end of two
				}
				mended := *p
				mended.rows = append([]plotRow{}, p.rows...)
				if !mended.mend(m) {
					t.Fatalf("seed %d: %+v is of no row", seed, m)
				}
				after, err := book.Load("mended", []byte(mended.text()))
				if err != nil {
					t.Fatalf("seed %d: %v", seed, err)
				}
				tried++
				for _, left := range check.Book(after) {
					if identity(left) == identity(f) || left.Severity > check.Note && !was[identity(left)] && left.Code != "fit-service-below-new" { // which waits until nothing mends the sum
						t.Errorf("seed %d: %s %q for %q leaves %s %s %v", seed, m.Cell.Line.Key, m.New, m.Cell.Text, left.Code, left.What, left.Sum)
					}
				}
			}
		}
	}
	if tried < 200 {
		t.Errorf("only %d mends were tried", tried)
	}
}

// Whatever is printed, looking at it ends, and what is offered can be written
// into a book.
func FuzzCheck(f *testing.F) {
	f.Add("0.0010L..0.0035L", "0.0050L", "0.025..0.089", false)
	f.Add("0.001 Press / 0.0005 Loose", "", "", false)
	f.Add("-0.0005 - -0.0001", "+0.0002", "", false)
	f.Add("1.250 +0.002/-0.000", "wear 0.001 from min", "31,75", true)
	f.Add("74.915 - 7.4935", "reject 1.67 or less", "190.284", false)
	f.Add(".0005-.0025", "none", "5.", false)
	f.Fuzz(func(t *testing.T, asNew, service, also string, fit bool) {
		judges := "size: p.bore"
		if fit {
			judges = "fit: p.bore - p.shaft"
		}
		text := fmt.Sprintf(`format: book/1
engine: Fuzz
unit: in
parts: {p: {features: {bore: {kind: inside}, shaft: {kind: outside}, b: {kind: inside}}}}
lines:
  shaft: {name: Shaft 1, size: p.shaft, new: 1.9980..1.9990, service: 1.9970}
  bore: {name: Bore 2, size: p.b, new: %q, service: "2.0020"}
  line: {name: Bore 3, %s, new: %[1]q, service: %[3]q, also: {unit: mm, new: %[4]q, service: %[4]q}}
`, asNew, judges, service, also)
		b, err := book.Load("fuzz", []byte(text))
		if err != nil {
			return
		}
		for _, found := range check.Book(b) {
			if len(found.Lines) == 0 || found.What == "" || len(found.Mends) > 3 {
				t.Fatalf("%+v", found)
			}
			for _, m := range found.Mends {
				if m.New == m.Cell.Text || m.How == "" {
					t.Fatalf("%+v mends nothing", m)
				}
			}
		}
	})
}
