package check_test

import (
	"slices"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
)

// Of limits that contradict each other the likely readings are the mends that the
// check finds; those of other cells stay as the book has them.
func TestDoubts(t *testing.T) {
	b, err := book.Load("b.yaml", []byte(`format: book/1
engine: E
unit: in
parts: {case: {features: {bore: {kind: inside}, hole: {kind: inside}}}}
lines:
  bore: {name: Bore, size: case.bore, new: 2.0010..2.0020, service: 0.003}
  hole: {name: Hole, size: case.hole, new: 1.0010..1.0020, hold: {service: {text: "1,0030", may: [1.0030]}}}
`))
	if err != nil {
		t.Fatal(err)
	}
	all := check.Doubts(b)
	if len(all) != 3 || !slices.Equal(all[1].May, []string{"wear 0.003 from min", "wear 0.003 from max"}) || !slices.Equal(all[2].May, []string{"1.0030"}) {
		t.Errorf("%+v", all)
	}
}
