package judge_test

import (
	"strings"
	"testing"

	"tenths/internal/judge"
)

const heldBook = `format: book/1
engine: E
unit: in
parts:
  case: {features: {bore: {kind: inside, places: 2}}}
  leak: {features: {any: {kind: check}}}
lines:
  bore: {name: Bore, size: case.bore, new: 1.0010..1.0020, hold: {service: {text: "1,0030", may: [1.0030], why: a comma in a book of points}}}
  lost: {name: Bore again, size: case.bore, hold: {new: {text: 1.00101.0020}, service: {text: "*"}}}
  leak: {name: Leaks, check: leak.any, want: no, hold: {kind: {text: Leaks}}}
`

// A line with a cell that can't be read is shown with what was found, asks, and
// has no grade whatever its readings are.
func TestHeldLine(t *testing.T) {
	b := loadBook(t, []byte(heldBook))
	words := judge.Words{Book: b}
	for _, readings := range []string{
		"spot,value\n",
		"spot,value\ncase.bore-1,1.5000\nleak.any,yes\n",
		"spot,value\ncase.bore-1,1.0015\ncase.bore-2,2.0000\nleak.any,no\n",
	} {
		have := loadReadings(t, b, []byte(readings))
		for _, v := range judge.Book(b, judge.Given{}, have.At) {
			if v.Grade != judge.NoGrade || v.SoFar != judge.NoGrade || v.Decided() || !v.IsHeld() {
				t.Errorf("%s: grade %s, decided %v", v.Line.ID(v.At), v.Grade, v.Decided())
			}
			if got := words.Standing(&v); got != "held" {
				t.Errorf("%s stands %q", v.Line.ID(v.At), got)
			}
			if strings.HasPrefix(v.Line.Key, "bore") && !strings.Contains(words.Limits(v.Line, v.Limit), `new 1.0010..1.0020, held: service "1,0030"`) {
				t.Errorf("limits %q", words.Limits(v.Line, v.Limit))
			}
			sum := strings.Join(words.Sum(&v, have.At), "\n")
			for _, h := range v.Line.Holds {
				if !strings.Contains(sum, h.Text) || !strings.Contains(sum, h.Why) {
					t.Errorf("%s: the sum does not show the hold:\n%s", v.Line.ID(v.At), sum)
				}
			}
			if v.Line.Key == "bore" && len(v.Missing) == 0 && words.Ends(&v) == "not measured" {
				t.Error("what was measured is not shown")
			}
		}
	}
}
