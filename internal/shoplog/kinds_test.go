package shoplog_test

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// examples are facts of every kind: with all its fields, then with those that
// must be there.
var examples = []shoplog.Fact{
	&shoplog.ShopMade{ID: "0198c2d4-5b60-7a11-8c3d-0000000000aa", Name: "Two Rivers <Engines> & Sons", Key: "tenths.shop/0198c2d4+1f2e3d4c+AbCd=="},
	&shoplog.PersonAdded{
		Handle: "ia", Name: "Ina Čapek", Role: shoplog.Inspector, Certificate: "mechanic", Number: "204412", Scope: "powerplant", Since: "2026-01-01", Until: "2027-12-31",
	},
	&shoplog.PersonAdded{Handle: "kd", Name: "K. Dorn", Role: shoplog.Apprentice, Since: "2026-01-01"},
	changed(shoplog.PersonAdded{
		Handle: "ia", Name: "Ina Čapek", Role: shoplog.Manager, Certificate: "mechanic", Number: "204412", Scope: "powerplant", Since: "2026-01-01", Until: "2028-12-31",
	}, "runs the shop now"),
	changed(shoplog.PersonAdded{Handle: "kd", Name: "K. Dorn", Role: shoplog.Mechanic, Since: "2026-01-01"}, "has learnt"),
	&shoplog.PolicySet{TwoPeople: true, Why: "the shop's own manual asks for two"},
	&shoplog.PolicySet{Why: "one person on Sundays"},
	&shoplog.EditionAdopted{Edition: edition(0xabcdef), Engine: "Invented engine", Manual: "Invented manual, INV-4, revision 3", Amendments: []string{"INV-L7, 2026-08-24, Top ring gap", "INV-L8"}},
	&shoplog.EditionAdopted{Edition: edition(1), Engine: "E", Manual: "M"},
	&shoplog.JobNumbered{Job: "0198c2d4-5b60-7a11-8c3d-0000000000bb", Order: "26-014"},
	&shoplog.JobSealed{Job: "0198c2d4-5b60-7a11-8c3d-0000000000bb", Size: 41, Root: "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=", Seal: "tenths.shop/aa/job/bb\n41\nCsUY=\nsealed 2026-11-25T14:03:09.120Z\n\n— tenths.shop/aa AbCd=\n"},
}

// The bytes of the record can't change unseen. Who changes this file changes
// what stands in records that there are.
func TestGoldenKinds(t *testing.T) {
	const name = "testdata/kinds.jsonl"
	var got []byte
	for i, f := range examples {
		got = append(append(got, encode(t, int64(i+1), "mp", f)...), '\n')
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
		if again := encode(t, e.Seq, e.By, e.What); !bytes.Equal(again, line) {
			t.Errorf("line %d is written again as %s", i+1, again)
		}
		fast, err := shoplog.Kinds.Read(line)
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
	for kind := range shoplog.Kinds {
		if !seen[kind] {
			t.Errorf("there is no example of %s", kind)
		}
		if got := shoplog.Kinds[kind]().Kind(); got != kind {
			t.Errorf("%q makes a %q", kind, got)
		}
	}
}

// What a newer version wrote is kept as it is, counted, and says that it is not
// known.
func TestUnknownKinds(t *testing.T) {
	l := made(t)
	for _, c := range []struct {
		v    int
		kind string
		fact string
	}{
		{2, "gauge-calibrated", `{"gauge":"m-4"}`},
		{2, "person-added", `{"handle":"zz","rights":["all"]}`},
		{3, "policy-set", `{"people":3}`},
	} {
		line, err := ledger.Encode(ledger.Entry{
			V: c.v, Log: shoplog.Log, Seq: l.state.Size + 1, Shop: l.state.Size, ID: ledger.ID(c.kind, c.fact), By: "mp", Kind: c.kind, Fact: json.RawMessage(c.fact),
		})
		if err != nil {
			t.Fatal(err)
		}
		e, err := decode(line)
		if err != nil {
			t.Fatal(err)
		}
		before := l.state.Snapshot()
		l.state.Apply(&e)
		if e.What != (shoplog.Unknown{}) || l.state.Size != before.Size+1 || len(l.state.People) != len(before.People) || l.state.Policy != before.Policy || l.state.Seen(e.ID) != e.Seq ||
			len(before.Unknown) != len(l.state.Unknown)-1 || l.state.Unknown[len(before.Unknown)] != (record.Strange{Seq: e.Seq, Kind: c.kind, V: c.v}) {
			t.Errorf("%s of version %d comes to %s", c.kind, c.v, text(t, l.state))
		}
		if again, err := ledger.Encode(e.Entry); err != nil || !bytes.Equal(again, line) {
			t.Errorf("it is written again as %s, %v", again, err)
		}
		if got := shoplog.Words(e.What); got != "of a kind that this version of tenths does not know" {
			t.Errorf("it says %q", got)
		}
	}
}

// What is recorded can be told in a sentence.
func TestWords(t *testing.T) {
	want := []string{
		"shop made: Two Rivers <Engines> & Sons, with the key tenths.shop/0198c2d4+1f2e3d4c+AbCd==",
		"person added: ia is Ina Čapek, inspector, mechanic certificate 204412, for powerplant, since 2026-01-01 until 2027-12-31",
		"person added: kd is K. Dorn, apprentice, since 2026-01-01",
		"person changed: ia is Ina Čapek, manager, mechanic certificate 204412, for powerplant, since 2026-01-01 until 2028-12-31 (runs the shop now)",
		"person changed: kd is K. Dorn, mechanic, since 2026-01-01 (has learnt)",
		"policy set: who performed a step may not inspect it (the shop's own manual asks for two)",
		"policy set: one person may perform and inspect a step (one person on Sundays)",
		"edition adopted: 0000000000000000, Invented engine, by Invented manual, INV-4, revision 3; amended by INV-L7, 2026-08-24, Top ring gap; amended by INV-L8",
		"edition adopted: 0000000000000000, E, by M",
		"job numbered: work order 26-014",
		"job 0198c2d4-5b60-7a11-8c3d-0000000000bb sealed with 41 entries, root CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=",
	}
	for i, f := range examples {
		if got := shoplog.Words(f); got != want[i] {
			t.Errorf("%q, want %q", got, want[i])
		}
	}
}

// Whatever bytes a fact has, reading it and folding it does not fail; and what
// is taken is written again to the same bytes.
func FuzzKinds(f *testing.F) {
	kinds := make([]string, 0, len(shoplog.Kinds))
	for kind := range shoplog.Kinds {
		kinds = append(kinds, kind)
	}
	slices.Sort(kinds)
	for _, e := range examples {
		raw, err := ledger.Marshal(e)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(uint8(slices.Index(kinds, e.Kind())), uint8(1), raw)
		f.Add(uint8(slices.Index(kinds, e.Kind())), uint8(2), raw)
	}
	f.Fuzz(func(t *testing.T, kind, version uint8, fact []byte) {
		e := ledger.Entry{V: int(version), Log: shoplog.Log, Seq: 4, Shop: 3, ID: ledger.ID("entry", "4"), By: "mp", Kind: kinds[int(kind)%len(kinds)], Fact: fact}
		checked, err := shoplog.Kinds.Check(e)
		if err != nil {
			return
		}
		s := made(t).state
		before := s.Snapshot()
		shoplog.Words(checked.What)
		refused := shoplog.Decide(s, checked.What, begin)
		s.Apply(&checked)
		if s.Size != 4 || before.Size != 3 {
			t.Errorf("after it the state is of %d entries, the one before of %d", s.Size, before.Size)
		}
		if checked.What == (shoplog.Unknown{}) {
			return
		}
		if again, err := ledger.Marshal(checked.What); err != nil || !bytes.Equal(again, fact) {
			t.Errorf("%q is written again as %q, %v", fact, again, err)
		}
		line, err := ledger.Encode(e)
		if err != nil {
			return // too long
		}
		if _, err := decode(line); err != nil && refused == nil {
			t.Errorf("%s may stand and its line can't be read: %v", line, err)
		}
		fast, err := shoplog.Kinds.Read(line)
		if err != nil || !reflect.DeepEqual(fast.What, checked.What) {
			t.Errorf("%s is read in haste as %+v, %v", line, fast.What, err)
		}
	})
}
