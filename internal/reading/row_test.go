package reading_test

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/book"
	"tenths/internal/demo"
	"tenths/internal/reading"
)

// What a reading is written as reads as the same reading, also where the book
// and the file have decimal commas and the row has not.
func TestWordsAndTake(t *testing.T) {
	for _, c := range []struct {
		name           string
		book, readings []byte
		comma          bool
		least          int
	}{
		{"opposed", demo.Book, demo.Readings, false, 800},
		{"radial", file(t, "radial.yaml"), file(t, "radial.csv"), false, 50},
		{"in-line, commas", file(t, "inline.yaml"), file(t, "inline.csv"), true, 50},
	} {
		b, err := book.Load(c.name, c.book)
		if err != nil {
			t.Fatal(err)
		}
		f := reading.Load(c.name, c.readings, b, c.comma)
		if len(f.Faults) > 0 || len(f.Readings) < c.least {
			t.Fatalf("%s: %d readings, %v", c.name, len(f.Readings), f.Faults)
		}
		for _, r := range f.Readings {
			w := r.InWords(b)
			again, err := reading.Take(b, w, false)
			if err != nil {
				t.Fatalf("%s row %d: %+v: %v", c.name, r.Row, w, err)
			}
			if diff := cmp.Diff(w, again.InWords(b)); diff != "" {
				t.Errorf("%s row %d (-written +read again):\n%s", c.name, r.Row, diff)
			}
			same := again.Kind == r.Kind && again.Value == r.Value && again.Low == r.Low && again.High == r.High &&
				again.Yes == r.Yes && again.Stage == r.Stage && again.Spot == r.Spot && again.Reversed == r.Reversed
			if !same {
				t.Errorf("%s row %d: %q reads as %q", c.name, r.Row, r.Text(), again.Text())
			}
		}
	}
}

// file reads a file of the test engines.
func file(t *testing.T, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("../demo/more/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestTakeRefuses(t *testing.T) {
	b, err := book.Load("book", demo.Book)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		row  reading.Row
		want string
	}{
		{reading.Row{Spot: "crank.main-1.front.0"}, "there is no value"},
		{reading.Row{Spot: "crank.main-1.front.0", Value: "2.3x"}, "unit missing"},
		{reading.Row{Spot: "crank.main-9.front.0", Value: "2.3"}, "no such spot"},
		{reading.Row{Spot: "crank.main-1.front.0", Value: "2.3130", Stage: "later"}, "is not a stage"},
	} {
		_, err := reading.Take(b, c.row, false)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.row, err, c.want)
		}
	}
}
