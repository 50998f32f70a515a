package book

import (
	"reflect"
	"strings"
	"testing"

	"tenths/internal/fault"
)

func TestSettledName(t *testing.T) {
	for _, tt := range []struct{ book, want string }{
		{"engine.yaml", "engine.settled.yaml"},
		{"dir.yaml/engine.yml", "dir.yaml/engine.settled.yaml"},
		{"engine", "engine.settled.yaml"},
		{"engine.v2", "engine.v2.settled.yaml"},
	} {
		if got := SettledName(tt.book); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.book, got, tt.want)
		}
	}
}

var acknowledged = Acknowledged{
	Code: "fit-sum", Lines: []string{"fit", "bore"}, Printed: []string{"0.0010L - 0.0030L", "yes", "2.2490", ""},
	Reason: "as-printed", Note: "letter of 2026-03-01: \"as it is\"", By: "M. Pohl", Date: "2026-11-25",
}

func TestAcknowledge(t *testing.T) {
	first, err := Acknowledge("a", nil, acknowledged)
	if err != nil {
		t.Fatal(err)
	}
	text := "# Kept.\n" + strings.Replace(string(first), "acknowledged:", "acknowledged: # by hand", 1)
	second := acknowledged
	second.Code, second.Note, second.Reason = "unit-mismatch", "", "rounding"
	both, err := Acknowledge("a", []byte(text), second)
	if err != nil {
		t.Fatal(err)
	}
	s, err := LoadSettled("a", both)
	if err != nil {
		t.Fatal(err)
	}
	if want := []Acknowledged{acknowledged, second}; !reflect.DeepEqual(s, want) {
		t.Errorf("got %+v\nwant %+v", s, want)
	}
	for _, kept := range []string{"# Kept.", "# by hand"} {
		if !strings.Contains(string(both), kept) {
			t.Errorf("%q is lost:\n%s", kept, both)
		}
	}
	if got, want := acknowledged.String(), `as printed, confirmed with the maker (letter of 2026-03-01: "as it is"), M. Pohl 2026-11-25`; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}

func TestSettledFaults(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"", "the file is empty; start it with the line \"format: settled/1\""},
		{"format: book/1\n", "this program reads settled/1"},
		{"acknowledged: []\n", "this program reads settled/1"},
		{"format: settled/1\nacknowledged: [{code: a, lines: [b], reason: selection}]\n", "with its code, its lines, a reason and a name"},
		{"format: settled/1\nacknowledged: [{code: a, lines: [b], reason: because, by: M. Pohl}]\n", "write one of selection, rounding, shims, as-printed"},
		{"format: settled/1\nacknowledged: [{code: a, lines: [b], by: M. Pohl}]\n", "write one of selection"},
		{"format: settled/1\nacknowledged: {}\n", "wanted is a list"},
		{"format: settled/1\nwhat: 1\n", "there is no such key here"},
		{"format: [\n", "not YAML"},
	} {
		_, err := LoadSettled("s.yaml", []byte(tt.text))
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: %v, want %s", tt.text, err, tt.want)
		}
		if _, err := Acknowledge("s.yaml", []byte(tt.text), acknowledged); err == nil && tt.text != "" {
			t.Errorf("%q is added to", tt.text)
		}
	}
	if _, err := LoadSettled("s.yaml", make([]byte, MaxSize+1)); err == nil {
		t.Error("any size is read")
	}
}

func FuzzSettled(f *testing.F) {
	text, err := Acknowledge("a", nil, acknowledged)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text, "code", "note")
	f.Add([]byte("format: settled/1\nacknowledged:\n  - {code: a, lines: [b], reason: shims, by: x}\n"), "~", "a: b # c")
	f.Fuzz(func(t *testing.T, data []byte, code, note string) {
		before, err := LoadSettled("s", data)
		if err != nil {
			return
		}
		added := Acknowledged{Code: code, Lines: []string{note}, Reason: "shims", Note: note, By: code}
		text, err := Acknowledge("s", data, added)
		if err != nil {
			return // control characters, or no code
		}
		after, err := LoadSettled("s", text)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(before); len(after) != n+1 || after[n].Code != code || after[n].Note != note {
			t.Fatalf("%q: %+v", text, after)
		}
		// It is taken back, and nothing else is lost.
		back := settledWithout(t, text, &added)
		if left, struck, err := readSettled("s", back); err != nil || len(left) >= len(after) || len(struck) == 0 || struck[len(struck)-1].Acknowledged.Note != note {
			t.Fatalf("%q: %v %+v %+v", back, err, left, struck)
		}
	})
}

func settledWithout(t *testing.T, text []byte, a *Acknowledged) []byte {
	t.Helper()
	var faults fault.List
	back, err := settledWith("s", text, func(e *settledEdit) {
		e.strike(&Striking{Finding: a, By: "B", Why: "w"}, &faults)
	})
	if err != nil || len(faults) > 0 {
		t.Fatalf("%q: %v %v", text, err, faults)
	}
	return back
}
