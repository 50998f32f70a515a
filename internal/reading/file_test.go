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
      width: {kind: length, wears: smaller}
      dial: {kind: dial, directions: [0, 90]}
      teeth: {kind: count, wears: either}
      contact: {kind: share, wears: either}
      leak: {kind: time, wears: either, unit: s}
      oil: {kind: flow, wears: either, unit: L/min}
      crack: {kind: check}
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

// show prints a reading for comparison: spot, what was observed, and the exact
// value, or between which figures it lies, in the unit shown.
func show(b *book.Book, r *Reading) string {
	text := b.Spots[r.Spot].String() + " " + r.Text()
	unit := r.Shown.Unit
	switch {
	case r.Kind == Deviation:
		unit = r.Setting.Unit
		fallthrough
	case r.Kind == Size:
		text += " = " + exact(r.Value, unit)
	case r.Kind != YesNo:
		low, high := "..", ".."
		if r.Low.Set {
			low = map[bool]string{false: "[", true: "("}[r.Low.Open] + exact(r.Low.At, unit)
		}
		if r.High.Set {
			high = exact(r.High.At, unit) + map[bool]string{false: "]", true: ")"}[r.High.Open]
		}
		text += " = " + low + " " + high
	}
	return text
}

func exact(f quantity.Figure, unit quantity.Unit) string {
	text, ok := f.Text(unit, 6)
	if !ok {
		return "≈" + text
	}
	return text
}

func TestLoad(t *testing.T) {
	b := testBook(t)
	for _, c := range []loadCase{
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
		{"a count", "spot,value\ncrank.teeth,27\ncrank.teeth,0\ncrank.teeth,27 pcs\n", false, []string{"crank.teeth 27 pcs = 27.000000", "crank.teeth 0 pcs = 0.000000", "crank.teeth 27 pcs = 27.000000"}},
		{"a share, a time, a flow", "spot,value,unit\ncrank.contact,80,\ncrank.contact,75 %,\ncrank.leak,12,\ncrank.leak,1.5,min\ncrank.oil,8.5,\n", false, []string{"crank.contact 80 % = 80.000000", "crank.contact 75 % = 75.000000", "crank.leak 12 s = 12.000000", "crank.leak 1.5 min = 1.500000", "crank.oil 8.5 L/min = 8.500000"}},
		{"a dial goes both ways from nought", "spot,value\ncrank.dial.-.0,+.003\ncrank.dial.-.90,-.002\n", false, []string{"crank.dial.-.0 +.003 in = 0.003000", "crank.dial.-.90 -.002 in = -0.002000"}},
	} {
		c.check(t, b)
	}
}

// A loadCase is a file without faults and what it reads as.
type loadCase struct {
	name, text string
	comma      bool
	want       []string
}

func (c *loadCase) check(t *testing.T, b *book.Book) {
	t.Helper()
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

func TestLoadKeepsAllThatIsKnown(t *testing.T) {
	b := testBook(t)
	f := Load("r.csv", []byte("spot,value,item,stage,step,gauge,temperature,by,when,note\ncrank.end,0.0040,C7,rework 2,m010,dial 2,68 F,ab,2026-11-03 14:30,\"pushed\n both ways\"\n"), b, false)
	if len(f.Readings) != 1 || len(f.Faults) > 0 {
		t.Fatalf("%v", f.Faults)
	}
	r := f.Readings[0]
	got := []string{r.Item, StageName(r.Stage), r.Step, r.Gauge, r.Temperature.String(), r.By, r.When, r.Note, fmt.Sprint(r.Row)}
	want := []string{"C7", "rework 2", "m010", "dial 2", "68 °F", "ab", "2026-11-03 14:30", "pushed both ways", "2"}
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
	for _, code := range []string{"cells", "column", "csv", "spot", "value", "kind", "unit", "setting", "sense", "stage", "step", "temperature", "when"} {
		if !strings.Contains(got, "["+code+"]") {
			t.Errorf("testdata/faults.csv has no fault %q", code)
		}
	}
}

// What a terminal would obey never gets as far as one.
func TestControlCharactersAreRefused(t *testing.T) {
	b := testBook(t)
	f := Load("r.csv", []byte("spot,value,note\ncrank.end,0.001,\x1b[2J\n"), b, false)
	if len(f.Readings) != 0 || len(f.Faults) != 1 || f.Faults[0].Code != "text" {
		t.Errorf("%v", f.Faults)
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
	f := Load("r.csv", []byte("\n\nspot,value,colour\n"), b, false)
	if len(f.Faults) != 1 || f.Faults[0].Line != 3 || f.Faults[0].Column != 3 {
		t.Errorf("a header on line 3: %v", f.Faults)
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
	f.Add([]byte("spot,value,stage,step\ncrank.end,.0015...0020,rework-3,m010\ncrank.crack,Y,assembled,\n"), false)
	f.Fuzz(func(t *testing.T, data []byte, comma bool) {
		file := Load("r.csv", data, b, comma)
		for i := range file.Readings {
			checkReading(t, b, &file.Readings[i], comma)
		}
		for _, one := range file.Faults {
			if one.Code == "" || one.What == "" || strings.Contains(one.String(), "\n") {
				t.Errorf("a fault without its code or words, or of more than a line: %q", one.String())
			}
		}
	})
}

// A file of a thousand sizes, as a bench writes them.
func BenchmarkLoad(b *testing.B) {
	book := testBook(b)
	data := []byte("spot,value,unit,gauge,by,when\n" + strings.Repeat("crank.main-1.front.0,2.2490,,M1,ab,2026-03-09 14:30\n", 1000))
	b.ReportAllocs()
	for b.Loop() {
		if f := Load("r.csv", data, book, false); len(f.Readings) != 1000 {
			b.Fatal(f.Faults)
		}
	}
}
