package job_test

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
)

// examples are facts of every kind: with all its fields, then with those that
// must be there.
var examples = []job.Fact{
	&job.JobOpened{
		Order: "26-014", Model: "Invented two-cylinder engine", Serial: "L-150-A", SinceNew: "1873.4", SinceOverhaul: "412:30", Reason: "metal in the oil & \"due\"",
		Customer: "R. Owner <owner@example.org>", Edition: first, Authority: "repair station 4", Limits: job.NewLimits,
	},
	&job.JobOpened{Order: "1", Model: "E", Serial: "7", Reason: "due", Customer: "R. Owner", Edition: first, Authority: "own", Limits: job.ServiceLimits},
	&job.ConditionStated{Name: "bushing", Word: "used"},
	&job.ItemRegistered{Item: "rod 3", Part: "rod", Number: "61-2", Serial: "s/2", Found: "rod-2"},
	&job.ItemRegistered{Item: "R3", Part: "rod"},
	&job.ItemFitted{Position: "rod-2", Item: "R3"},
	&job.ItemRemoved{Position: "rod-2", Item: "rod 3"},
	&job.ItemReworked{Item: "K1", Stage: 2, Sites: []string{"main-1", "pin-2"}, What: "ground 0.003 under"},
	&job.ReadingTaken{
		Spot: "case.fitted-1", Value: "+3 tenths on 2.0010 in", Sense: "plus smaller", Item: "C1", Stage: 1, Step: "m003", With: []string{"S1", "S2"},
		Gauge: "bore gauge 2", Temperature: "68 °F", ReadBy: "M. Pohl", ReadAt: "2026-11-25 09:14", Note: "µ \\ \u2028",
		Known: 41,
	},
	&job.ReadingTaken{Spot: "rod-1.side", Value: "0.007 in goes, 0.008 in does not"},
	&job.ReadingStruck{Reading: "0198c2d4-5b60-7a11-8c3d-000000000001", Why: "misread"},
	&job.SpotSkipped{Spot: "rod-1.side", Why: "feelers are away"},
	&job.EditionChanged{Edition: second, Manual: "Invented overhaul manual, INV-2, revision 2", Alters: []string{"line side: max 0.013; was max 0.015", "verdict side-2: beyond; was serviceable"}, More: 7, List: none},
	&job.EditionChanged{Edition: second, Manual: "Invented overhaul manual", Alters: []string{}, List: none},
	&job.NoteWritten{Text: "a nick\n\tin the rear one", Spot: "rod-1.side", Item: "R3"},
	&job.NoteWritten{Text: "a nick"},
	&job.StepSigned{Step: "rod", As: job.Inspected, Statement: "I, Ina Čapek, inspected …", Verdicts: none, Program: "tenths 1.0"},
	&job.HandedOver{To: "rs", Note: "mains are measured"},
	&job.HandedOver{To: "rs"},
	&job.InspectionClosed{Statement: "I, Ina Čapek, close …", Verdicts: none, Program: "tenths 1.0"},
	&job.InspectionReopened{Why: "a rod was dropped"},
}

// The bytes of the record can't change unseen. Who changes this file changes
// what stands in records that there are.
func TestGoldenKinds(t *testing.T) {
	const name = "testdata/kinds.jsonl"
	var got []byte
	for i, f := range examples {
		got = append(append(got, encode(t, int64(i+1), "rs", begin.Add(time.Duration(i)*time.Second), f)...), '\n')
	}
	if os.Getenv("UPDATE") != "" {
		if err := os.WriteFile(name, got, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Error(diff)
	}
	for i, line := range bytes.Split(bytes.TrimSpace(want), []byte("\n")) {
		e, err := decode(line)
		if err != nil {
			t.Errorf("line %d: %v", i+1, err)
			continue
		}
		if diff := cmp.Diff(examples[i], e.What); diff != "" {
			t.Errorf("line %d is read as another fact (-written +read):\n%s", i+1, diff)
		}
		if again := encode(t, e.Seq, e.By, e.Recorded.Time(), e.What); !bytes.Equal(again, line) {
			t.Errorf("line %d is written again as %s", i+1, again)
		}
		fast, err := job.Kinds.Read(line)
		if err != nil || !reflect.DeepEqual(fast, e) {
			t.Errorf("line %d is read in haste as %+v, %v", i+1, fast, err)
		}
	}
}

// Every kind has an example with every field in it, so that no field can change
// unseen.
func TestExamplesAreWhole(t *testing.T) {
	seen := map[string]bool{"": true}
	for _, f := range examples {
		if seen[f.Kind()] {
			continue
		}
		seen[f.Kind()] = true
		v := reflect.ValueOf(f).Elem()
		for _, field := range reflect.VisibleFields(v.Type()) {
			if v.FieldByIndex(field.Index).IsZero() {
				t.Errorf("the first example of %s has no %s", f.Kind(), field.Name)
			}
		}
	}
	for kind := range job.Kinds {
		if !seen[kind] {
			t.Errorf("there is no example of %s", kind)
		}
		if got := job.Kinds[kind]().Kind(); got != kind {
			t.Errorf("%q makes a %q", kind, got)
		}
	}
}

// What a newer version wrote is kept as it is, counted, and says that it is not
// known.
func TestUnknownKinds(t *testing.T) {
	k := opened(t)
	for i, c := range []struct {
		v    int
		kind string
		fact string
	}{
		{2, "engine-assembled", `{"torque":["a"]}`},
		{2, "reading-taken", `{"spot":"rod-1.side","values":["0.007 in"]}`},
		{9, "inspection-closed", `{}`},
	} {
		line, err := ledger.Encode(ledger.Entry{V: c.v, Log: k.state.Log, Seq: k.state.Size + 1, ID: ledger.ID(c.kind), By: "rs", Kind: c.kind, Fact: json.RawMessage(c.fact)})
		if err != nil {
			t.Fatal(err)
		}
		e, err := decode(line)
		if err != nil {
			t.Fatal(err)
		}
		before := k.state.Snapshot()
		k.state.Apply(&e)
		if s := k.state; len(s.Unknown) != i+1 || s.Unknown[i] != (record.Strange{Seq: e.Seq, Kind: c.kind, V: c.v}) || s.Size != before.Size+1 || s.Closed != nil || len(s.Readings) != 0 || s.Seen(e.ID) != e.Seq {
			t.Errorf("%s of version %d comes to %s", c.kind, c.v, text(t, k.state))
		}
		if again, err := ledger.Encode(e.Entry); err != nil || !bytes.Equal(again, line) {
			t.Errorf("it is written again as %s, %v", again, err)
		}
		if got, want := k.state.Words(&e), c.kind+": of a kind that this version of tenths does not know"; got != want {
			t.Errorf("it says %q, want %q", got, want)
		}
	}
	if back := job.Fold(k.state.Log, read(t, k.lines)); len(back.Unknown) != 0 {
		t.Errorf("of what came before there is not known %v", back.Unknown)
	}
	if got := (job.Unknown{}).Kind(); got != "" {
		t.Errorf("what is not known is a %q", got)
	}
}

// What is recorded can be told in a sentence.
func TestWords(t *testing.T) {
	want := []string{
		`job opened: Invented two-cylinder engine, serial L-150-A, for R. Owner <owner@example.org>; metal in the oil & "due"; 1873.4 h since new; 412:30 h since overhaul; under repair station 4, to new limits, by edition 1a1a1a1a1a1a1a1a`,
		"job opened: E, serial 7, for R. Owner; due; under own, to service limits, by edition 1a1a1a1a1a1a1a1a",
		"condition stated: bushing=used",
		"item registered: rod 3, a rod, part number 61-2, serial s/2, found at rod-2",
		"item registered: R3, a rod",
		"item fitted: R3 at rod-2",
		"item removed: rod 3 from rod-2",
		"item reworked: K1, main-1, pin-2: ground 0.003 under; now at rework 2",
		"reading taken: case.fitted-1 +3 tenths on 2.0010 in, plus smaller, C1, step m003, bore gauge 2, 68 °F, read by M. Pohl, 2026-11-25 09:14, µ \\ \u2028, rework 1, with S1, S2, taken when entry 41 was the last known",
		"reading taken: rod-1.side 0.007 in goes, 0.008 in does not",
		"reading struck (misread)",
		"spot skipped: rod-1.side (feelers are away)",
		"edition changed: 2b2b2b2b2b2b2b2b, Invented overhaul manual, INV-2, revision 2; 9 changes accepted, list 3c3c3c3c3c3c3c3c",
		"edition changed: 2b2b2b2b2b2b2b2b, Invented overhaul manual; 0 changes accepted, list 3c3c3c3c3c3c3c3c",
		"note on rod-1.side R3: a nick\n\tin the rear one",
		"note: a nick",
		"step signed as inspected: rod: I, Ina Čapek, inspected …",
		"handed over to rs: mains are measured",
		"handed over to rs",
		"inspection closed: I, Ina Čapek, close …",
		"inspection reopened: a rod was dropped",
	}
	k := opened(t)
	for i, f := range examples {
		if got := k.state.Words(&job.Entry{Entry: ledger.Entry{Seq: 9, Kind: f.Kind()}, What: f}); got != want[i] {
			t.Errorf("%q, want %q", got, want[i])
		}
	}
	// A strike names the entry that it struck.
	k.strike(k.take("rod-1.side", "0.170"))
	k.strike(k.take("rod-1.side", "0.171"))
	entries := read(t, k.lines)
	for n, want := range map[int]string{2: "reading struck: entry 2 (misread)", 4: "reading struck: entry 4 (misread)"} {
		if got := k.state.Words(&entries[n]); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Whatever bytes a fact has, reading, folding, showing and judging it does not
// fail; and what is taken is written again to the same bytes.
func FuzzKinds(f *testing.F) {
	kinds := make([]string, 0, len(job.Kinds))
	for kind := range job.Kinds {
		kinds = append(kinds, kind)
	}
	slices.Sort(kinds)
	add := func(fact job.Fact) {
		raw, err := ledger.Marshal(fact)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(uint8(slices.Index(kinds, fact.Kind())), uint8(1), raw)
		f.Add(uint8(slices.Index(kinds, fact.Kind())), uint8(2), raw)
	}
	for _, e := range examples {
		add(e)
	}
	add(&job.ItemFitted{Position: "shell-1", Item: "S9"})
	add(&job.ItemRemoved{Position: "shell-1", Item: ""})
	add(&job.ItemRegistered{Item: "S1", Part: "wheel", Found: "rod-1"})
	add(&job.ItemReworked{Item: "C1", Stage: -1, Sites: []string{"fitted-1", "bore-1"}})
	add(&job.ReadingTaken{Spot: "case.fitted-1", Value: "2.0015 in", Item: "C1", Stage: 1000, With: []string{"S9"}})
	add(&job.ReadingTaken{Spot: "case", Value: "2.0015 in", Item: "S1"})
	add(&job.ReadingStruck{Reading: id(3)})
	f.Fuzz(func(t *testing.T, kind, version uint8, fact []byte) {
		k := unopened(t)
		open := opening()
		for _, f := range []job.Fact{
			&open, &job.ItemRegistered{Item: "C1", Part: "case", Found: "case"}, &job.ReadingTaken{Spot: "case.fitted-1", Value: "2.0015 in", Item: "C1"},
			&job.ReadingTaken{Spot: "rod-1.side", Value: "0.007 in"},
		} {
			k.state.Apply(&job.Entry{Entry: ledger.Entry{Seq: k.state.Size + 1, ID: id(k.state.Size + 1)}, What: f})
		}
		size := k.state.Size
		e := ledger.Entry{V: int(version), Log: k.state.Log, Seq: size + 1, ID: id(size + 1), By: "rs", Kind: kinds[int(kind)%len(kinds)], Fact: fact}
		checked, err := job.Kinds.Check(e)
		if err != nil {
			return
		}
		before := k.state.Snapshot()
		k.state.Apply(&checked)
		if k.state.Size != size+1 || before.Size != size {
			t.Errorf("after it the state is of %d entries, the one before of %d", k.state.Size, before.Size)
		}
		k.state.Words(&checked)
		k.state.Snapshot().Judge(k.book).Progress()
		for _, r := range anyRequests() {
			if c, ok := r.(*job.ChangeEdition); ok {
				c.Book = k.book
			}
			_, _ = job.Decide(k.state, k.known("ia"), r) // a log that somebody made up is decided on, somehow
		}
		if checked.What == (job.Unknown{}) {
			return
		}
		if again, err := ledger.Marshal(checked.What); err != nil || !bytes.Equal(again, fact) {
			t.Errorf("%q is written again as %q, %v", fact, again, err)
		}
		line, err := ledger.Encode(e)
		if err != nil {
			return // too long
		}
		fast, err := job.Kinds.Read(line)
		if err != nil || !reflect.DeepEqual(fast.What, checked.What) {
			t.Errorf("%s is read in haste as %+v, %v", line, fast.What, err)
		}
	})
}

// Whatever is recorded says something, on as many lines as it has.
func TestEveryKindHasWords(t *testing.T) {
	k := opened(t)
	for kind, empty := range job.Kinds {
		if kind == "" {
			continue
		}
		got := k.state.Words(&job.Entry{Entry: ledger.Entry{Seq: 9, Kind: kind}, What: empty()})
		if got == "" || strings.Contains(got, "does not know") {
			t.Errorf("%s says %q", kind, got)
		}
	}
}
