package reading

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

func testBook(t testing.TB) *book.Book {
	t.Helper()
	b, err := book.Load("book", []byte(`format: book/1
engine: Test engine
unit: in
parts:
  crank:
    features:
      main: {kind: outside, places: 2, planes: [front, rear], directions: [0, 90]}
      seal: {kind: outside, directions: [0, 90]}
      end: {kind: clearance}
      bolt: {kind: torque, wears: either, unit: lbf-in}
  rod:
    positions: 2
    features:
      bush: {kind: inside, places: 2, planes: [front]}
lines:
  seal: {name: Seal, size: crank.seal, new: 1..2}
`))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// show prints a reading for comparison: spot, digits as shown, exact value in
// the unit shown.
func show(b *book.Book, r *Reading) string {
	exact, ok := r.Value.Text(r.Shown.Unit, 6)
	if !ok {
		exact = "≈" + exact
	}
	return fmt.Sprintf("%s %s = %s", b.Spots[r.Spot], r.Shown, exact)
}

func TestLoad(t *testing.T) {
	b := testBook(t)
	for _, c := range []struct {
		name, text string
		comma      bool
		want       []string
	}{
		{"spot and value", "spot,value\ncrank.main-1.front.0,2.2490\n", false, []string{"crank.main-1.front.0 2.2490 in = 2.249000"}},
		{"any order, any case", "Value,SPOT\n.0015,crank.end\n", false, []string{"crank.end .0015 in = 0.001500"}},
		{"unit column", "spot,value,unit\ncrank.seal.-.90,57.112,mm\n", false, []string{"crank.seal.-.90 57.112 mm = 57.112000"}},
		{"unit in the text", "spot,value\ncrank.seal.-.90,57.112 mm\ncrank.end,\"0.004\"\"\"\n", false, []string{"crank.seal.-.90 57.112 mm = 57.112000", "crank.end 0.004 in = 0.004000"}},
		{"unit in both, the same", "spot,value,unit\ncrank.end,0.01 mm,mm\n", false, []string{"crank.end 0.01 mm = 0.010000"}},
		{"a torque", "spot,value\ncrank.bolt,440.5\n", false, []string{"crank.bolt 440.5 lbf-in = 440.500000"}},
		{"a tight clearance", "spot,value\ncrank.end,-0.0005\n", false, []string{"crank.end -0.0005 in = -0.000500"}},
		{"parts in columns", "part,position,feature,place,plane,direction,value\nrod,2,bush,1,front,,1.0\ncrank,,seal,,,0,2\n", false, []string{"rod-2.bush-1.front 1.0 in = 1.000000", "crank.seal.-.0 2 in = 2.000000"}},
		{"decimal comma, semicolons", "spot;value\ncrank.end;0,0045\n", true, []string{"crank.end 0,0045 in = 0.004500"}},
		{"no value yet", "spot,value\ncrank.end,\ncrank.seal.-.0,1\n", false, []string{"crank.seal.-.0 1 in = 1.000000"}},
		{"the same spot twice stands twice", "spot,value\ncrank.end,0.001\ncrank.end,0.002\n", false, []string{"crank.end 0.001 in = 0.001000", "crank.end 0.002 in = 0.002000"}},
	} {
		f := Load("r.csv", []byte(c.text), b, c.comma)
		if len(f.Faults) > 0 {
			t.Errorf("%s: %v", c.name, f.Faults)
		}
		var got []string
		for i := range f.Readings {
			got = append(got, show(b, &f.Readings[i]))
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: %s", c.name, diff)
		}
	}
}

func TestLoadKeepsAllThatIsKnown(t *testing.T) {
	b := testBook(t)
	f := Load("r.csv", []byte("spot,value,item,gauge,temperature,by,when,note\ncrank.end,0.0040,C7,dial 2,68 F,ab,2026-11-03 14:30,pushed both ways\n"), b, false)
	if len(f.Readings) != 1 || len(f.Faults) > 0 {
		t.Fatalf("%v", f.Faults)
	}
	r := f.Readings[0]
	got := []string{r.Item, r.Gauge, r.Temperature.String(), r.By, r.When, r.Note, fmt.Sprint(r.Row)}
	want := []string{"C7", "dial 2", "68 °F", "ab", "2026-11-03 14:30", "pushed both ways", "2"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestWhen(t *testing.T) {
	for _, s := range []string{"2026-03-09", "2026-03-09 14:30", "2026-03-09T14:30", "2026-03-09 14:30:05", "2026-03-09T14:30:05Z", "2026-03-09T14:30:05+02:00"} {
		if !isWhen(s) {
			t.Errorf("%s was refused", s)
		}
	}
	for _, s := range []string{"3/9/26", "09.03.2026", "2026-02-30", "2026-03-09 25:00", "yesterday", "14:30"} {
		if isWhen(s) {
			t.Errorf("%s was taken", s)
		}
	}
}

// Every sort of fault, in a file that one run lists.
func TestGoldenEveryFault(t *testing.T) {
	b := testBook(t)
	data, err := os.ReadFile("testdata/faults.csv")
	if err != nil {
		t.Fatal(err)
	}
	f := Load("faults.csv", data, b, false)
	got := f.Faults.Error() + "\n"
	if os.Getenv("UPDATE") != "" {
		if err := os.WriteFile("testdata/faults.txt", []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("testdata/faults.txt")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Error(diff)
	}
	if len(f.Readings) != 2 {
		t.Errorf("%d good rows were read, want the first and the last", len(f.Readings))
	}
	for _, code := range []string{"cells", "column", "csv", "spot", "value", "unit", "temperature", "when"} {
		if !strings.Contains(got, "["+code+"]") {
			t.Errorf("testdata/faults.csv has no fault %q", code)
		}
	}
}

// A file whose header can't be used says so and reads nothing.
func TestHeaderFaults(t *testing.T) {
	b := testBook(t)
	for _, c := range []struct{ text, say string }{
		{"value\n1\n", "no such column"},
		{"spot\ncrank.end\n", "no such column"},
		{"spot,part,value\n", "two ways"},
		{"part,value\n", "no such column"},
		{"", "no header"},
		{"\xff\n", "UTF-8"},
	} {
		f := Load("r.csv", []byte(c.text), b, false)
		if !f.Unusable || len(f.Readings) > 0 || !strings.Contains(f.Faults.Error(), c.say) {
			t.Errorf("%q: unusable %v, %v", c.text, f.Unusable, f.Faults)
		}
	}
}

func FuzzLoad(f *testing.F) {
	b := testBook(f)
	data, err := os.ReadFile("testdata/faults.csv")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data, false)
	f.Add([]byte("spot;value\r\ncrank.end;0,004\r\n"), true)
	f.Fuzz(func(t *testing.T, data []byte, comma bool) {
		file := Load("r.csv", data, b, comma)
		for i := range file.Readings {
			r := &file.Readings[i]
			if r.Shown.Unit == quantity.NoUnit || r.Value.Kind() != b.FeatureAt(r.Spot).Unit.Kind() {
				t.Errorf("a reading without its unit or of the wrong kind: %+v", r)
			}
			again, _, err := quantity.Format{Unit: r.Shown.Unit, DecimalComma: comma}.Figure(r.Shown.Digits)
			if err != nil || again != r.Value {
				t.Errorf("%q in %s does not give the reading again: %v", r.Shown.Digits, r.Shown.Unit, err)
			}
		}
		for _, one := range file.Faults {
			if one.Code == "" || one.What == "" || strings.Contains(one.String(), "\n") {
				t.Errorf("a fault without its code or words, or of more than a line: %q", one.String())
			}
		}
	})
}
