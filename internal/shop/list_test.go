package shop_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/job"
	"tenths/internal/shop"
	"tenths/internal/store"
)

// lists holds a list against the one that is made without anything derived.
func lists(t testing.TB, what string, s *shop.Shop, st store.Store) []shop.Summary {
	t.Helper()
	list := must(s.List(t.Context()))(t)
	if err := st.DropDerived(t.Context()); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(must(s.List(t.Context()))(t), list, inside); diff != "" {
		t.Errorf("%s: the list made anew (-) is not the one by what was derived (+):\n%s", what, diff)
	}
	return list
}

// What is derived changes nothing but how long a list takes.
func TestList(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		st := p.open(t)
		for i := range 20 {
			o := fmt.Sprintf("27-%03d", i)
			open(t, s, o)
			for n := range i % 4 {
				must(s.Enter(t.Context(), by(mechanic), o, shop.Request{Request: take(n)}))(t)
			}
		}
		lists(t, "new", s, st)
		list := lists(t, "unchanged", s, st)
		if len(list) != 21 || list[0].Order != order || list[20].Order != "27-019" {
			t.Fatalf("listed are %+v", list)
		}
		for _, sum := range list[1:] {
			var n int
			_, _ = fmt.Sscanf(sum.Order, "27-%03d", &n)
			if sum.Readings != n%4 || sum.Entries != int64(1+n%4) || sum.Customer != "a club" || sum.Holder != inspector || sum.Problem != "" {
				t.Errorf("%+v", sum)
			}
		}
		// Some have grown; one by another program.
		must(s.Enter(t.Context(), by(mechanic), "27-003", shop.Request{Request: take(1)}))(t)
		must(p.reopen(t).Enter(t.Context(), by(inspector), "27-005", shop.Request{Request: &job.HandOver{HandedOver: job.HandedOver{To: mechanic}}}))(t)
		list = lists(t, "grown", s, st)
		if list[4].Entries != 5 || list[4].By != mechanic || list[6].Holder != mechanic || list[6].By != inspector {
			t.Errorf("of those that have grown: %+v, %+v", list[4], list[6])
		}
		lists(t, "by another program", p.reopen(t), st)
		whole(t, s)
	})
}

// What another version derived is of no use, nor what is not what it should be.
func TestListByOtherVersions(t *testing.T) {
	p := inMemory(t)
	s := p.made(t)
	st := p.open(t)
	want := must(s.List(t.Context()))(t)
	log := store.Log("job/" + must(s.Record(t.Context()))(t).Jobs[order].ID)
	rows := must(st.Derived(t.Context(), "tenths test summary"))(t)
	if len(rows) != 1 || rows[0].Log != log || rows[0].Size != 1 {
		t.Fatalf("derived are %+v", rows)
	}
	for name, row := range map[string]store.Derived{
		"no JSON":         {Log: log, Size: 1, Bytes: []byte(`{"order":"2026-999","entr`)},
		"half of another": {Log: log, Size: 1, Bytes: []byte(`{"order":"2026-999","customer":7}`)},
		"of another size": {Log: log, Size: 2, Bytes: []byte(`{"order":"2026-999"}`)},
		"of no job":       {Log: "job/none", Size: 1, Bytes: rows[0].Bytes},
	} {
		if err := st.DropDerived(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := st.PutDerived(t.Context(), "tenths test summary", []store.Derived{row}); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, must(s.List(t.Context()))(t), inside); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
	options := p.options()
	options.Program = "tenths next"
	next, err := shop.Open(t.Context(), st, options)
	if err != nil {
		t.Fatal(err)
	}
	defer next.Close()
	if diff := cmp.Diff(want, must(next.List(t.Context()))(t), inside); diff != "" {
		t.Errorf("by another version (-want +got):\n%s", diff)
	}
}

// A record that can't be written in can be listed; any other failure is told.
func TestListWithoutDerived(t *testing.T) {
	p := inMemory(t)
	p.made(t)
	s, h := p.hook(t)
	for _, test := range []struct {
		err  error
		told bool
	}{{store.ErrReadOnly, false}, {store.ErrFull, false}, {store.Damaged("the file"), true}} {
		broken := &deriving{h.Store, fmt.Errorf("told: %w", test.err)}
		h.Store = broken
		list, err := s.List(t.Context())
		if told := err != nil; told != test.told || !told && len(list) != 1 {
			t.Errorf("%v: %v, %v", test.err, list, err)
		}
		h.Store = broken.Store
	}
}

// A deriving store keeps nothing that is derived.
type deriving struct {
	store.Store
	err error
}

func (d *deriving) PutDerived(context.Context, string, []store.Derived) error { return d.err }

// A job whose book is gone is listed with what is wrong, the others as ever.
func TestListWithProblems(t *testing.T) {
	_, s, err := forge(t, func(f *forger, _ *place) { f.exec("DELETE FROM blob") })
	if err != nil {
		t.Fatal(err)
	}
	open(t, s, "2026-015") // adopted again
	list := must(s.List(t.Context()))(t)
	if len(list) != 2 || list[1].Problem != "" {
		t.Errorf("listed are %+v", list)
	}
	_, s, err = forge(t, func(f *forger, _ *place) { f.exec("UPDATE blob SET bytes = x'00'") })
	if err != nil {
		t.Fatal(err)
	}
	list = must(s.List(t.Context()))(t)
	if len(list) != 1 || !strings.Contains(list[0].Problem, "damaged") {
		t.Errorf("listed are %+v", list)
	}
}
