package job_test

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/reading"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// A ruling is a request, whether it may stand, and what the refusal says.
type ruling struct {
	name  string
	bench *bench
	by    string
	ask   job.Request
	code  string // of the refusal; empty: it stands
	why   string // a part of it
	do    string // the same of what would help; empty: there is nothing
}

// rule holds each ruling against what Decide says. Deciding changes nothing.
func rule(t *testing.T, all []ruling) {
	t.Helper()
	for _, c := range all {
		k := c.bench
		before, inside := text(t, k.state), k.state.Inside()
		facts, err := job.Decide(k.state, k.known(c.by), c.ask)
		if text(t, k.state) != before || k.state.Inside() != inside {
			t.Errorf("%s: deciding changed the state", c.name)
		}
		if err == nil {
			if c.code != "" || len(facts) == 0 {
				t.Errorf("%s: it stands, as %d facts; want it refused as %q", c.name, len(facts), c.code)
			}
			continue
		}
		var r *record.Refusal
		if !errors.As(err, &r) {
			t.Errorf("%s: %v is no refusal", c.name, err)
			continue
		}
		if r.Code != c.code || c.why == "" || !strings.Contains(r.Why, c.why) || (r.Do == "") != (c.do == "") || !strings.Contains(r.Do, c.do) {
			t.Errorf("%s: refused as %q: %q; %q\nwant %q: …%s…; …%s…", c.name, r.Code, r.Why, r.Do, c.code, c.why, c.do)
		}
	}
}

// last returns the facts that the last so many lines hold.
func (k *bench) last(n int) []job.Fact {
	k.t.Helper()
	var all []job.Fact
	for _, e := range read(k.t, k.lines[len(k.lines)-n:]) {
		all = append(all, e.What)
	}
	return all
}

func same(t *testing.T, name string, got, want any) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", name, diff)
	}
}

func TestOpen(t *testing.T) {
	with := func(change func(*job.JobOpened)) *job.Open {
		f := opening()
		change(&f)
		return &job.Open{JobOpened: f}
	}
	all := func(*job.JobOpened) {}
	rule(t, []ruling{
		{"with all", unopened(t), "ia", with(all), "", "", ""},
		{"without hours", unopened(t), "ia", with(func(f *job.JobOpened) { f.SinceNew, f.SinceOverhaul = "", "" }), "", "", ""},
		{"to new limits", unopened(t), "ia", with(func(f *job.JobOpened) { f.Limits = job.NewLimits }), "", "", ""},
		{"twice", opened(t), "ia", with(all), "order", "since entry 1 by ia", "tenths job show"},
		{"to no limits", unopened(t), "ia", with(func(f *job.JobOpened) { f.Limits = "" }), "limits", `""`, "service limits, or new"},
		{"to other limits", unopened(t), "ia", with(func(f *job.JobOpened) { f.Limits = "Service" }), "limits", `"Service"`, "service limits, or new"},
		{"by an edition that is not adopted", unopened(t), "ia", with(func(f *job.JobOpened) { f.Edition = none }), "edition", "not adopted", "tenths shop adopt"},
		{"by no edition", unopened(t), "ia", with(func(f *job.JobOpened) { f.Edition = "" }), "edition", "not adopted", "tenths shop adopt"},
		{"without a number", unopened(t), "ia", with(func(f *job.JobOpened) { f.Order = "" }), "empty", "work-order number", "write it"},
		{"without a model", unopened(t), "ia", with(func(f *job.JobOpened) { f.Model = "" }), "empty", "model", "write it"},
		{"without a serial number", unopened(t), "ia", with(func(f *job.JobOpened) { f.Serial = "" }), "empty", "serial number", "write it"},
		{"without a reason", unopened(t), "ia", with(func(f *job.JobOpened) { f.Reason = "" }), "empty", "the reason", "write it"},
		{"without a customer", unopened(t), "ia", with(func(f *job.JobOpened) { f.Customer = "" }), "empty", "the customer", "write it"},
		{"without an authority", unopened(t), "ia", with(func(f *job.JobOpened) { f.Authority = "" }), "empty", "the authority", "write it"},
	})
	for _, hours := range []string{"0", "1873", "1873.4", "1873,4", "1873:24", "999999.99"} {
		rule(t, []ruling{{"hours " + hours, unopened(t), "ia", with(func(f *job.JobOpened) { f.SinceNew = hours }), "", "", ""}})
	}
	for _, hours := range []string{"-1", "1e3", "1 873", "1873 h", "1873.", ".5", "1873.456", "1234567", "0x10", "1873\n", "\x1b[2J", strings.Repeat("1", 10<<20)} {
		for _, f := range []*job.Open{with(func(f *job.JobOpened) { f.SinceNew = hours }), with(func(f *job.JobOpened) { f.SinceOverhaul = hours })} {
			rule(t, []ruling{{"hours " + hours[:min(len(hours), 8)], unopened(t), "ia", f, "hours", "are not hours", "1873.4 or 1873:24"}})
		}
	}

	k := opened(t)
	s := k.state
	same(t, "the job", s.About, opening())
	if s.Edition != first || s.Holder != "ia" || s.Opened.Seq != 1 || s.Opened.By != "ia" || s.Touched != 1 || s.At() != 1 || s.Closed != nil {
		t.Errorf("it comes to %s", text(t, s))
	}
}

// Nothing is entered into a job that is not opened.
func TestNotOpened(t *testing.T) {
	for _, r := range anyRequests() {
		if _, opens := r.(*job.Open); !opens {
			rule(t, []ruling{{reflect.TypeOf(r).String(), unopened(t), "ia", r, "no-job", "not opened", "tenths job open"}})
		}
	}
}

// anyRequests has one request of every kind, that an open job might take.
func anyRequests() []job.Request {
	return []job.Request{
		&job.Open{JobOpened: opening()},
		&job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "new"}},
		&job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "R9", Part: "rod"}},
		fit("rod-1", ""), &job.ReturnFromRework{Item: "R9", Sites: []string{"bigend"}, What: "honed"},
		&job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007"}},
		&job.StrikeReading{Entry: 2, Why: "misread"}, &job.ChangeEdition{Edition: second}, &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: "rod-1.side", Why: "later"}},
		&job.WriteNote{NoteWritten: job.NoteWritten{Text: "look"}}, &job.SignStep{Step: "rod", As: job.Performed},
		&job.HandOver{HandedOver: job.HandedOver{To: "rs"}}, &job.Close{}, &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "more"}},
	}
}

func TestStateCondition(t *testing.T) {
	ask := func(name, word string) job.Request {
		return &job.StateCondition{ConditionStated: job.ConditionStated{Name: name, Word: word}}
	}
	k := opened(t)
	used := opened(t)
	used.do("rs", ask("bushing", "used"))
	without := opened(t)
	without.book = altered(t, "conditions: {bushing: [new, used]}\n", "", ", when: {bushing: new}", "", ", when: {bushing: used}", "")
	rule(t, []ruling{
		{"one of its words", k, "rs", ask("bushing", "new"), "", "", ""},
		{"the other, later", used, "rs", ask("bushing", "new"), "", "", ""},
		{"the same again", used, "rs", ask("bushing", "used"), "condition", "stated already", ""},
		{"another word", k, "rs", ask("bushing", "worn"), "condition", "worn", "bushing (new, used)"},
		{"a word in other letters", k, "rs", ask("bushing", "New"), "condition", "New", "bushing (new, used)"},
		{"no word", k, "rs", ask("bushing", ""), "condition", "bushing", "bushing (new, used)"},
		{"another condition", k, "rs", ask("valve", "new"), "condition", "valve", "bushing (new, used)"},
		{"a book without conditions", without, "rs", ask("bushing", "new"), "condition", "bushing", "conditions are none"},
	})
	before := used.state.Snapshot()
	n := used.do("rs", ask("bushing", "new"))
	if used.state.Given["bushing"] != "new" || before.Given["bushing"] != "used" || used.state.Touched != n {
		t.Errorf("it comes to %v, after %v", used.state.Given, before.Given)
	}
}

func TestRegisterItem(t *testing.T) {
	ask := func(change func(*job.ItemRegistered)) job.Request {
		f := job.ItemRegistered{Item: "R2", Part: "rod", Number: "61-2", Serial: "s2", Found: "rod-2"}
		change(&f)
		return &job.RegisterItem{ItemRegistered: f}
	}
	k := opened(t)
	one := opened(t)
	one.do("rs", ask(func(f *job.ItemRegistered) { f.Item, f.Serial, f.Found = "R1", "s1", "rod-1" }))
	out := opened(t)
	out.found("R1", "rod", "rod-1")
	out.fit("rod-1", "")
	rule(t, []ruling{
		{"with all", k, "rs", ask(func(*job.ItemRegistered) {}), "", "", ""},
		{"no more than must be", k, "rs", ask(func(f *job.ItemRegistered) { f.Number, f.Serial, f.Found = "", "", "" }), "", "", ""},
		{"where there is one", k, "rs", ask(func(f *job.ItemRegistered) { f.Part, f.Found = "crank", "crank" }), "", "", ""},
		{"without a tag", k, "rs", ask(func(f *job.ItemRegistered) { f.Item = "" }), "empty", "the tag", "write it"},
		{"two blanks in the tag", k, "rs", ask(func(f *job.ItemRegistered) { f.Item = "rod  2" }), "text", "blanks", "single spaces"},
		{"without a part", k, "rs", ask(func(f *job.ItemRegistered) { f.Part = "" }), "part", `""`, "crank, case, shell, rod, key"},
		{"another part", k, "rs", ask(func(f *job.ItemRegistered) { f.Part = "wheel" }), "part", `"wheel"`, "crank, case, shell, rod, key"},
		{"a position that there is not", k, "rs", ask(func(f *job.ItemRegistered) { f.Found = "rod-3" }), "position", "from rod-1 to rod-2", ""},
		{"the noughtth", k, "rs", ask(func(f *job.ItemRegistered) { f.Found = "rod-0" }), "position", `"rod-0"`, "rod-3"},
		{"a position in other words", k, "rs", ask(func(f *job.ItemRegistered) { f.Found = "Rod 2" }), "position", `"Rod 2"`, "rod-3"},
		{"no number where there are several", k, "rs", ask(func(f *job.ItemRegistered) { f.Found = "rod" }), "position", "from rod-1 to rod-2", ""},
		{"a number where there is one", k, "rs", ask(func(f *job.ItemRegistered) { f.Part, f.Found = "crank", "crank-1" }), "position", "one Crankshaft", "write crank"},
		{"a place for something else", k, "rs", ask(func(f *job.ItemRegistered) { f.Found = "shell-2" }), "position", "place for a shell", ""},
		{"a place of nothing", k, "rs", ask(func(f *job.ItemRegistered) { f.Found = "wheel-2" }), "part", `"wheel"`, "crank, case"},
		{"a tag that is on something", one, "rs", ask(func(f *job.ItemRegistered) { f.Item = "R1" }), "item", "since entry 2", "another tag"},
		{"a tag that is on another part", one, "rs", ask(func(f *job.ItemRegistered) { f.Item, f.Part, f.Found = "R1", "crank", "" }), "item", "on a rod already", "another tag"},
		{"a serial number again", one, "rs", ask(func(f *job.ItemRegistered) { f.Serial = "s1" }), "item", "R1 has that part number", "read the serial number"},
		{"the serial number of another part number", one, "rs", ask(func(f *job.ItemRegistered) { f.Number, f.Serial = "61-3", "s1" }), "", "", ""},
		{"no serial number, twice", one, "rs", ask(func(f *job.ItemRegistered) { f.Serial = "" }), "", "", ""},
		{"found where one was found", one, "rs", ask(func(f *job.ItemRegistered) { f.Found = "rod-1" }), "position", "at rod-1 was R1: entry 2", "then fit it"},
		{"found where one was, and is no more", out, "rs", ask(func(f *job.ItemRegistered) { f.Found = "rod-1" }), "position", "at rod-1 was R1: entry 2", "then fit it"},
	})

	n := one.do("kd", ask(func(*job.ItemRegistered) {}))
	item, ok := one.state.Item("R2")
	if !ok || *item != (job.Item{Tag: "R2", Part: "rod", Number: "61-2", Serial: "s2", Found: "rod-2", Mark: one.state.Last}) || one.state.Last.By != "kd" || one.state.Last.Seq != n {
		t.Errorf("it comes to %+v, %v", item, ok)
	}
	if one.state.Fitted["rod-2"] != "R2" || one.state.Where("R2", n) != "rod-2" || one.state.Where("R2", n-1) != "" || one.state.Touched != n {
		t.Errorf("it is at %v", one.state.Fitted)
	}
	seen := one.state.Snapshot()
	if item, ok := seen.Item("R2"); !ok || item.Serial != "s2" {
		t.Errorf("a snapshot has %+v", item)
	}
	if _, ok := seen.Item("R9"); ok {
		t.Error("a snapshot has an item that there is not")
	}
	if _, ok := one.state.Item("R9"); ok {
		t.Error("there is an item that there is not")
	}
	n = one.found("R3", "rod", "")
	if one.state.Where("R3", n) != "" || len(one.state.Fitted) != 2 {
		t.Errorf("what was not found anywhere is at %v", one.state.Fitted)
	}
}

func TestFit(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	k.found("R2", "rod", "rod-2")
	k.found("R3", "rod", "")
	k.found("K1", "crank", "")
	empty := opened(t)
	empty.found("R1", "rod", "")
	empty.found("R2", "rod", "")
	tagless := opened(t)
	tagless.found("R1", "rod", "")
	tagless.take("rod-1.side", "0.007")
	for _, c := range []struct {
		ruling
		want string // what the facts are
	}{
		{ruling{"on an empty place", empty, "rs", fit("rod-2", "R1"), "", "", ""}, "+rod-2 R1"},
		{ruling{"two at once", empty, "rs", fit("rod-2", "R1", "rod-1", "R2"), "", "", ""}, "+rod-2 R1 +rod-1 R2"},
		{ruling{"in place of another", k, "rs", fit("rod-1", "R3"), "", "", ""}, "-rod-1 R1 +rod-1 R3"},
		{ruling{"two change places", k, "rs", fit("rod-1", "R2", "rod-2", "R1"), "", "", ""}, "-rod-1 R1 -rod-2 R2 +rod-1 R2 +rod-2 R1"},
		{ruling{"one moves, and another comes", k, "rs", fit("rod-1", "R3", "rod-2", "R1"), "", "", ""}, "-rod-1 R1 -rod-2 R2 +rod-1 R3 +rod-2 R1"},
		{ruling{"one moves, and leaves its place empty", k, "rs", fit("rod-2", "R1"), "", "", ""}, "-rod-2 R2 -rod-1 R1 +rod-2 R1"},
		{ruling{"taken out", k, "rs", fit("rod-2", ""), "", "", ""}, "-rod-2 R2"},
		{ruling{"both taken out", k, "rs", fit("rod-2", "", "rod-1", ""), "", "", ""}, "-rod-2 R2 -rod-1 R1"},
		{ruling{"where there is one", k, "rs", fit("crank", "K1"), "", "", ""}, "+crank K1"},
		{ruling{"nothing", k, "rs", fit(), "position", "nothing is to be fitted", "name positions"}, ""},
		{ruling{"a place named twice", k, "rs", fit("rod-1", "R3", "rod-1", "R2"), "position", "rod-1 is named twice", "once"}, ""},
		{ruling{"an item at two places", k, "rs", fit("rod-1", "R3", "rod-2", "R3"), "item", "R3 would be at two positions", "once"}, ""},
		{ruling{"an item where it is", k, "rs", fit("rod-1", "R1"), "position", "R1 is at rod-1 already", ""}, ""},
		{ruling{"nothing out of nothing", empty, "rs", fit("rod-1", ""), "position", "nothing is fitted at rod-1", ""}, ""},
		{ruling{"an item that there is not", k, "rs", fit("rod-1", "R9"), "item", `"R9"`, "tenths job item"}, ""},
		{ruling{"a place for something else", k, "rs", fit("rod-1", "K1"), "position", "place for a rod, and K1 is a crank", ""}, ""},
		{ruling{"a place that there is not", k, "rs", fit("rod-3", "R3"), "position", "from rod-1 to rod-2", ""}, ""},
		{ruling{"a part that there is not", k, "rs", fit("wheel-1", "R3"), "part", `"wheel"`, "crank, case"}, ""},
		{ruling{"a number where there is one", k, "rs", fit("crank-1", "K1"), "position", "without a number", "write crank"}, ""},
		{ruling{"over what was measured without a tag", tagless, "rs", fit("rod-1", "R1"), "nameless", "rod-1", "register that one first"}, ""},
		{ruling{"elsewhere", tagless, "rs", fit("rod-2", "R1"), "", "", ""}, "+rod-2 R1"},
		{ruling{"what was measured without a tag, out", tagless, "rs", fit("rod-1", ""), "position", "nothing is fitted at rod-1", ""}, ""},
	} {
		rule(t, []ruling{c.ruling})
		facts, err := job.Decide(c.bench.state, c.bench.known(c.by), c.ask)
		var got []string
		for _, f := range facts {
			switch f := f.(type) {
			case *job.ItemRemoved:
				got = append(got, "-"+f.Position+" "+f.Item)
			case *job.ItemFitted:
				got = append(got, "+"+f.Position+" "+f.Item)
			default:
				t.Errorf("%s: a %s", c.name, f.Kind())
			}
		}
		if text := strings.Join(got, " "); err == nil && text != c.want {
			t.Errorf("%s: it comes to %s, want %s", c.name, text, c.want)
		}
	}

	before, size := k.state.Snapshot(), k.state.Size
	n := k.fit("rod-1", "R2", "rod-2", "R1")
	same(t, "the rods have changed places", k.state.Fitted, map[string]string{"rod-1": "R2", "rod-2": "R1"})
	same(t, "and had not", before.Fitted, map[string]string{"rod-1": "R1", "rod-2": "R2"})
	if k.state.Where("R1", n) != "rod-2" || k.state.Where("R1", size) != "rod-1" || k.state.Where("R1", size+1) != "" || k.state.Touched != n {
		t.Errorf("R1 is at %q, was at %q, %q", k.state.Where("R1", n), k.state.Where("R1", size), k.state.Where("R1", size+1))
	}
}

func TestReturnFromRework(t *testing.T) {
	ask := func(item, what string, sites ...string) job.Request {
		return &job.ReturnFromRework{Item: item, Sites: sites, What: what}
	}
	k := opened(t)
	k.found("K1", "crank", "crank")
	rule(t, []ruling{
		{"one site", k, "rs", ask("K1", "ground 0.003 under", "main-1"), "", "", ""},
		{"several", k, "rs", ask("K1", "ground 0.003 under", "pin-2", "main-1", "pin-1"), "", "", ""},
		{"an item that there is not", k, "rs", ask("K9", "ground", "main-1"), "item", `"K9"`, "tenths job item"},
		{"no item", k, "rs", ask("", "ground", "main-1"), "item", `""`, "tenths job item"},
		{"no site", k, "rs", ask("K1", "ground"), "site", "does not say what", "main-2"},
		{"a site that there is not", k, "rs", ask("K1", "ground", "main-1", "main-3"), "site", `crank has no "main-3"`, "main-1, main-2, pin-1, pin-2"},
		{"a feature without its number", k, "rs", ask("K1", "ground", "main"), "site", `"main"`, "main-1"},
		{"a site with its part", k, "rs", ask("K1", "ground", "crank.main-1"), "site", `"crank.main-1"`, "main-1"},
		{"without what was done", k, "rs", ask("K1", "", "main-1"), "empty", "what was done", "write it"},
	})
	n := k.do("rs", ask("K1", "ground", "pin-2", "main-1", "pin-2"))
	same(t, "it comes to", k.last(1)[0], job.Fact(&job.ItemReworked{Item: "K1", Stage: 1, Sites: []string{"main-1", "pin-2"}, What: "ground"}))
	if k.state.Stage("K1", n) != 1 || k.state.Stage("K1", n-1) != 0 || k.state.Touched != n || k.state.Reworks[0].Seq != n {
		t.Errorf("it comes to %+v", k.state.Reworks)
	}
	k.fit("crank", "")
	if n = k.do("rs", ask("K1", "polished", "main-2")); k.state.Stage("K1", n) != 2 {
		t.Errorf("away from the engine it comes to stage %d", k.state.Stage("K1", n))
	}
	gone := opened(t)
	gone.found("K1", "crank", "crank")
	gone.book = altered(t, "  key:\n    name: Key\n    features:\n      width: {name: Width, kind: outside}\n", "", "  crank:\n    name: Crankshaft\n", "  shaft:\n    name: Crankshaft\n",
		"size: crank.main", "size: shaft.main", "size: crank.pin", "size: shaft.pin", "case.fitted - crank.main", "case.fitted - shaft.main", "rod.bigend - crank.pin", "rod.bigend - shaft.pin")
	rule(t, []ruling{{"a part that is in the book no more", gone, "rs", ask("K1", "ground", "main-1"), "part", `"crank"`, "shaft, case"}})
}

// An item's stages stay below that of what is assembled.
func TestReworkedOftenEnough(t *testing.T) {
	k := opened(t)
	k.found("K1", "crank", "crank")
	for range reading.Assembled - 1 {
		f := &job.ItemReworked{Item: "K1", Stage: k.state.Stage("K1", k.state.Size) + 1, Sites: []string{"main-1"}, What: "polished"}
		k.state.Apply(&job.Entry{Entry: ledger.Entry{Seq: k.state.Size + 1}, What: f})
	}
	rule(t, []ruling{{"once more", k, "rs", &job.ReturnFromRework{Item: "K1", Sites: []string{"main-1"}, What: "polished"}, "stage", "999 times", "another item"}})
}

func TestTake(t *testing.T) {
	ask := func(change func(*job.Take)) job.Request {
		r := &job.Take{Row: reading.Row{Spot: "rod-1.bigend.-.90", Value: "1.5015"}}
		change(r)
		return r
	}
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	k.found("R2", "rod", "rod-2")
	k.found("R3", "rod", "")
	k.found("K1", "crank", "crank")
	early := k.state.Size
	k.rework("R1", "bigend")
	away := opened(t)
	away.found("R1", "rod", "rod-1")
	away.fit("rod-1", "")
	rule(t, []ruling{
		{"a spot and a value", k, "rs", ask(func(*job.Take) {}), "", "", ""},
		{"of the item that is there", k, "rs", ask(func(r *job.Take) { r.Item = "R1" }), "", "", ""},
		{"of an item on the shelf", k, "rs", ask(func(r *job.Take) { r.Item = "R3" }), "", "", ""},
		{"as found, told late", k, "rs", ask(func(r *job.Take) { r.Stage = "found" }), "", "", ""},
		{"after the rework", k, "rs", ask(func(r *job.Take) { r.Stage = "rework 1" }), "", "", ""},
		{"as assembled", k, "rs", ask(func(r *job.Take) { r.Stage = "assembled" }), "", "", ""},
		{"as assembled, without a tag", opened(t), "rs", ask(func(r *job.Take) { r.Stage = "assembled" }), "", "", ""},
		{"when fewer entries were known", k, "rs", ask(func(r *job.Take) { r.Known = early }), "", "", ""},
		{"when more entries were known than there are", k, "rs", ask(func(r *job.Take) { r.Known = 900 }), "", "", ""},
		{"when less than nothing was known", k, "rs", ask(func(r *job.Take) { r.Known = -4 }), "", "", ""},
		{"no spot", k, "rs", ask(func(r *job.Take) { r.Spot = "" }), "reading", "spot: is empty; say where", ""},
		{"a spot that there is not", k, "rs", ask(func(r *job.Take) { r.Spot = "rod-3.bigend.-.90" }), "reading", "no such spot; rod.bigend goes from", ""},
		{"no value", k, "rs", ask(func(r *job.Take) { r.Value = "" }), "reading", "no value: write what the gauge showed", ""},
		{"a value that can't be read", k, "rs", ask(func(r *job.Take) { r.Value = "l.5015" }), "reading", "may be 1.5015", ""},
		{"a comma", k, "rs", ask(func(r *job.Take) { r.Value = "1,5015" }), "reading", "1.5015", ""},
		{"a comma that is said", k, "rs", ask(func(r *job.Take) { r.Value, r.Comma = "1,5015", true }), "", "", ""},
		{"what is not measured so", k, "rs", ask(func(r *job.Take) { r.Value = "yes" }), "reading", "a yes or no", ""},
		{"an item that there is not", k, "rs", ask(func(r *job.Take) { r.Item = "R9" }), "item", `"R9"`, "leave the item out"},
		{"an item that is another part", k, "rs", ask(func(r *job.Take) { r.Item = "K1" }), "item", "K1 is a crank, and the reading is of a rod", "leave it out"},
		{"an item that is elsewhere", k, "rs", ask(func(r *job.Take) { r.Item = "R2" }), "item", "R2 is at rod-2, and the reading is of rod-1", "fitted elsewhere"},
		{"after a rework that it has not come back from", k, "rs", ask(func(r *job.Take) { r.Stage = "rework 2" }), "stage", "R1 has not come back from rework 2 yet: it is at rework 1", "tenths job rework"},
		{"after a rework of an item on the shelf", k, "rs", ask(func(r *job.Take) { r.Item, r.Stage = "R3", "rework 1" }), "stage", "R3 has not come back from rework 1 yet: it is at found", "tenths job rework"},
		{"after a rework, without a tag", opened(t), "rs", ask(func(r *job.Take) { r.Stage = "rework 1" }), "stage", "has no tag", "register the item"},
		{"a stage that is none", k, "rs", ask(func(r *job.Take) { r.Stage = "new" }), "reading", "is not a stage; write found", ""},
		{"where something was taken out", away, "rs", ask(func(*job.Take) {}), "item", "what was at rod-1 was taken out", "name the item"},
		{"of what was taken out", away, "rs", ask(func(r *job.Take) { r.Item = "R1" }), "", "", ""},
	})

	n := k.do("ap", &job.Take{Row: reading.Row{
		Spot: "rod-1.bigend.-.90", Value: "+3 tenths on 1.5010", Sense: "plus smaller", Item: " R1 ", Step: "std", Gauge: "bore  gauge 2",
		Temperature: "68 F", By: "M. Pohl", When: "2026-11-25 09:14", Note: "rear one",
	}})
	want := &job.ReadingTaken{
		Spot: "rod-1.bigend.-.90", Value: "+3 tenths on 1.5010 in", Sense: "plus smaller", Item: "R1", Stage: 1, Step: "std", Gauge: "bore gauge 2",
		Temperature: "68 °F", ReadBy: "M. Pohl", ReadAt: "2026-11-25 09:14", Note: "rear one",
	}
	same(t, "the fact", k.last(1)[0], job.Fact(want))
	if taken := k.state.Readings[0]; taken.Seq != n || taken.By != "ap" || taken.ID != id(n) || k.state.Touched != n {
		t.Errorf("it comes to %+v", taken)
	}
	k.do("ap", &job.Take{Row: reading.Row{Spot: "rod-2.bigend.-.0", Value: "38,1381 mm"}, Comma: true})
	same(t, "with a comma", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "rod-2.bigend.-.0", Value: "38.1381 mm", Item: "R2"}))
	k.do("ap", &job.Take{Row: reading.Row{Spot: "rod-2.side", Value: "0.007 goes, 0.008 does not"}})
	same(t, "a bracket", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "rod-2.side", Value: "0.007 in goes, 0.008 in does not", Item: "R2"}))
	k.do("ap", &job.Take{Row: reading.Row{Spot: "rod-1.bigend.-.0", Value: "1.5013"}, Known: early})
	same(t, "late", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "rod-1.bigend.-.0", Value: "1.5013 in", Item: "R1", Known: early}))
	k.do("ap", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.0070", Unit: "in", Setting: "", Stage: "assembled"}})
	same(t, "assembled", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "rod-1.side", Value: "0.0070 in", Item: "R1", Stage: 1000}))
	k.do("ap", &job.Take{Row: reading.Row{Spot: "case.fitted-1", Value: "2.0015"}})
	same(t, "an installed bore, nothing of which has a tag", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "case.fitted-1", Value: "2.0015 in"}))
	k.found("C1", "case", "case")
	k.found("S1", "shell", "shell-1")
	k.found("S2", "shell", "shell-2")
	k.book = altered(t, "{name: Side clearance, kind: clearance}", "{name: Side clearance, kind: clearance, made-of: [shell.wall, crank.main, crank.pin]}")
	k.do("ap", &job.Take{Row: reading.Row{Spot: "rod-2.side", Value: "0.007"}})
	same(t, "what several make, each once", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "rod-2.side", Value: "0.007 in", Item: "R2", With: []string{"K1", "S2"}}))
	k.book = small()
	k.do("ap", &job.Take{Row: reading.Row{Spot: "case.fitted-2", Value: "2.0015"}})
	same(t, "an installed bore", k.last(1)[0], job.Fact(&job.ReadingTaken{Spot: "case.fitted-2", Value: "2.0015 in", Item: "C1", With: []string{"S2"}}))
}

func TestStrikeReading(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	a, b := k.take("rod-1.side", "0.007"), k.take("rod-1.side", "0.017")
	rule(t, []ruling{
		{"by its number", k, "rs", &job.StrikeReading{Entry: b, Why: "misread"}, "", "", ""},
		{"by its id", k, "rs", &job.StrikeReading{ID: id(b), Why: "misread"}, "", "", ""},
		{"without a reason", k, "rs", &job.StrikeReading{Entry: b}, "empty", "the reason", "write it"},
		{"no entry", k, "rs", &job.StrikeReading{Why: "misread"}, "reading", "entry 0 is not a reading", "tenths job log"},
		{"what is no reading", k, "rs", &job.StrikeReading{Entry: 2, Why: "misread"}, "reading", "entry 2 is not a reading", "tenths job log"},
		{"what is no reading, by its id", k, "rs", &job.StrikeReading{ID: id(2), Why: "misread"}, "reading", "entry 2 is not a reading", "tenths job log"},
		{"an entry that there is not", k, "rs", &job.StrikeReading{Entry: 900, Why: "misread"}, "reading", "entry 900 is not a reading", "tenths job log"},
		{"less than nothing", k, "rs", &job.StrikeReading{Entry: -1, Why: "misread"}, "reading", "entry -1 is not a reading", "tenths job log"},
		{"an id that there is not", k, "rs", &job.StrikeReading{ID: id(900), Why: "misread"}, "reading", id(900), "tenths job log"},
	})
	before := k.state.Snapshot()
	n := k.do("kd", &job.StrikeReading{ID: id(b), Why: "misread"})
	same(t, "the fact", k.last(1)[0], job.Fact(&job.ReadingStruck{Reading: id(b), Why: "misread"}))
	struck := k.state.Struck()
	if s := struck[b]; len(struck) != 1 || s == nil || s.Reading != b || s.Seq != n || s.By != "kd" || s.Why != "misread" || k.state.Touched != n {
		t.Errorf("it comes to %+v", struck)
	}
	if len(before.Struck()) != 0 || len(k.state.Readings) != 2 {
		t.Errorf("before, %v were struck; %d readings are left", before.Struck(), len(k.state.Readings))
	}
	rule(t, []ruling{
		{"again", k, "rs", &job.StrikeReading{Entry: b, Why: "misread"}, "struck", "by entry 5", ""},
		{"again, by its id", k, "rs", &job.StrikeReading{ID: id(b), Why: "misread"}, "struck", "by entry 5", ""},
		{"the other", k, "rs", &job.StrikeReading{Entry: a, Why: "misread"}, "", "", ""},
		{"a strike", k, "rs", &job.StrikeReading{Entry: n, Why: "misread"}, "reading", "entry 5 is not a reading", "tenths job log"},
	})
}

func TestSkipSpot(t *testing.T) {
	ask := func(spot, why string) job.Request {
		return &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: spot, Why: why}}
	}
	k := opened(t)
	rule(t, []ruling{
		{"with a reason", k, "ap", ask("rod-1.side", "feelers are away"), "", "", ""},
		{"without one", k, "ap", ask("rod-1.side", ""), "empty", "the reason", "write it"},
		{"a spot that there is not", k, "ap", ask("rod-9.side", "feelers are away"), "spot", `"rod-9.side"`, "one of the book's"},
		{"a site of several spots", k, "ap", ask("rod-1.bigend", "gauge is away"), "spot", `"rod-1.bigend"`, "one of the book's"},
		{"no spot", k, "ap", ask("", "feelers are away"), "spot", `""`, "one of the book's"},
	})
	k = ready(t)
	touched, was := k.state.Touched, k.state.Judge(k.book).Progress()
	n := k.do("ap", ask("rod-1.side", "feelers are away"))
	if skip := k.state.Skips[0]; skip.Spot != "rod-1.side" || skip.Why != "feelers are away" || skip.Seq != n || skip.By != "ap" || k.state.Touched != touched {
		t.Errorf("it comes to %+v", skip)
	}
	// It is no reading, and takes none away.
	if p := k.state.Judge(k.book).Progress(); p != was {
		t.Errorf("it has come to %+v, from %+v", p, was)
	}
	k.strike(find(k, "rod-1.side"))
	if v := k.verdict("side-1"); len(v.Missing) != 1 {
		t.Errorf("it is measured: %+v", v)
	}
}

func TestWriteNote(t *testing.T) {
	ask := func(f job.NoteWritten) job.Request { return &job.WriteNote{NoteWritten: f} }
	k := opened(t)
	k.found("R1", "rod", "")
	rule(t, []ruling{
		{"a note", k, "ap", ask(job.NoteWritten{Text: "a nick\nin the rear one"}), "", "", ""},
		{"about a spot and an item", k, "ap", ask(job.NoteWritten{Text: "a nick", Spot: "rod-1.side", Item: "R1"}), "", "", ""},
		{"no text", k, "ap", ask(job.NoteWritten{}), "empty", "the note", "write it"},
		{"a spot that there is not", k, "ap", ask(job.NoteWritten{Text: "a nick", Spot: "rod-9.side"}), "spot", `"rod-9.side"`, "leave it out"},
		{"an item that there is not", k, "ap", ask(job.NoteWritten{Text: "a nick", Item: "R9"}), "item", `"R9"`, "leave it out"},
	})
	touched := k.state.Touched
	n := k.do("ap", ask(job.NoteWritten{Text: "a nick", Spot: "rod-1.side", Item: "R1"}))
	if note := k.state.Notes[0]; note.Text != "a nick" || note.Spot != "rod-1.side" || note.Item != "R1" || note.Seq != n || note.By != "ap" || k.state.Touched != touched {
		t.Errorf("it comes to %+v", note)
	}
}

// What is in the state is the state's: who asked may use the request again.
func TestRequestsAreNotKept(t *testing.T) {
	k := opened(t)
	r := &job.WriteNote{NoteWritten: job.NoteWritten{Text: "a nick"}}
	facts, err := job.Decide(k.state, k.known("ap"), r)
	if err != nil {
		t.Fatal(err)
	}
	k.state.Apply(&job.Entry{Entry: ledger.Entry{Seq: 2}, What: facts[0]})
	if r.Text = "another"; k.state.Notes[0].Text != "a nick" {
		t.Errorf("the note says %q", k.state.Notes[0].Text)
	}
}

func TestHandOver(t *testing.T) {
	ask := func(to, note string) job.Request {
		return &job.HandOver{HandedOver: job.HandedOver{To: to, Note: note}}
	}
	k := opened(t) // by ia
	held := opened(t)
	held.do("ia", ask("rs", ""))
	left := opened(t)
	left.do("ia", ask("kd", ""))
	setShop(t, left.shop, &shoplog.PersonChanged{
		PersonAdded: shoplog.PersonAdded{Handle: "kd", Name: "Person kd", Role: shoplog.Mechanic, Since: "2020-01-01", Until: "2026-11-24"}, Why: "left",
	})
	rule(t, []ruling{
		{"to a mechanic", k, "ia", ask("rs", "mains are measured\nrods are not"), "", "", ""},
		{"to a manager", k, "ia", ask("mp", ""), "", "", ""},
		{"to who has it", k, "ia", ask("ia", ""), "holder", "Person ia has the job already", ""},
		{"to an apprentice", k, "ia", ask("ap", ""), "holder", "Person ap is an apprentice", "who supervises them"},
		{"to nobody", k, "ia", ask("", ""), "person", "nobody is named", "--by"},
		{"to a stranger", k, "ia", ask("zz", ""), "person", `"zz"`, "tenths person add"},
		{"to who has left", k, "ia", ask("xx", ""), "person", "was of the shop until 2026-10-31", "tenths person change"},
		{"by a mechanic who has it not", k, "rs", ask("kd", ""), "holder", "in the hands of ia", "an inspector or a manager"},
		{"by a mechanic who has it", held, "rs", ask("kd", ""), "", "", ""},
		{"to oneself, by a mechanic who has it not", held, "kd", ask("kd", ""), "holder", "in the hands of rs", "an inspector or a manager"},
		{"by another inspector", held, "ib", ask("ib", ""), "", "", ""},
		{"by a manager", held, "mp", ask("kd", ""), "", "", ""},
		{"by a mechanic, of one who has left", left, "rs", ask("rs", ""), "holder", "in the hands of kd", "an inspector or a manager"},
		{"by an inspector, of one who has left", left, "ia", ask("rs", ""), "", "", ""},
	})
	touched := held.state.Touched
	n := held.do("rs", ask("kd", "go on"))
	if s := held.state; s.Holder != "kd" || len(s.Handed) != 2 || s.Handed[1].Seq != n || s.Handed[1].By != "rs" || s.Touched != touched {
		t.Errorf("it comes to %s, %+v", s.Holder, s.Handed)
	}
}

func TestSignStep(t *testing.T) {
	ask := func(step, as, statement string) job.Request {
		return &job.SignStep{Step: step, As: as, Statement: statement, Program: program}
	}
	statement := func(k *bench, by, step, as string) string {
		f, err := k.state.Judge(k.book).Sign(k.known(by), step, as, program)
		if err != nil {
			t.Fatal(err)
		}
		return f.Statement
	}
	open := opened(t)
	one := ready(t)
	one.take("rod-1.side", "0.008")
	k := ready(t)
	said := statement(k, "rs", "rod", job.Performed)
	half := ready(t)
	half.signed("rs", "rod", job.Performed)
	rule(t, []ruling{
		{"as performed", k, "rs", ask("rod", job.Performed, said), "", "", ""},
		{"another part", k, "rs", ask("crank", job.Performed, statement(k, "rs", "crank", job.Performed)), "", "", ""},
		{"as inspected, behind it", half, "ia", ask("rod", job.Inspected, statement(half, "ia", "rod", job.Inspected)), "", "", ""},
		{"one person, where policy lets it", half, "rs", ask("rod", job.Inspected, statement(half, "rs", "rod", job.Inspected)), "", "", ""},
		{"a second one as performed", half, "kd", ask("rod", job.Performed, statement(half, "kd", "rod", job.Performed)), "", "", ""},
		{"the same again", half, "rs", ask("rod", job.Performed, said), "signed", "Person rs signed it so already", ""},
		{"another's statement", k, "kd", ask("rod", job.Performed, said), "statement", "has changed", "read it again"},
		{"no statement", k, "rs", ask("rod", job.Performed, ""), "statement", "has changed", "read it again"},
		{"another version of the program", k, "rs", &job.SignStep{Step: "rod", As: job.Performed, Statement: said, Program: "tenths 1.1"}, "statement", "has changed", "read it again"},
		{"as something else", k, "rs", ask("rod", "checked", said), "as", `"checked"`, "performed or inspected"},
		{"as nothing", k, "rs", ask("rod", "", said), "as", `""`, "performed or inspected"},
		{"a part that there is not", k, "rs", ask("wheel", job.Performed, said), "part", `"wheel"`, "crank, case"},
		{"a part that no line is of", k, "rs", ask("key", job.Performed, said), "step", "no line of the Key", ""},
		{"as inspected, before it is performed", k, "ia", ask("rod", job.Inspected, said), "not-performed", "nobody has signed the Rods as performed", "signs first"},
		{"before it is measured", open, "rs", ask("shell", job.Performed, said), "open", "the Shells can't be signed: 2 lines are not decided: wall-1, wall-2", "measure or settle"},
		{"before it is settled", one, "rs", ask("rod", job.Performed, said), "open", "the Rods can't be signed: side-1 is not decided", "measure or settle"},
	})

	touched := k.state.Touched
	n := k.do("rs", ask("rod", job.Performed, said))
	sig := k.state.Signed[0]
	if sig.Step != "rod" || sig.As != job.Performed || sig.Statement != said || sig.Program != program || sig.Seq != n || sig.By != "rs" || k.state.Touched != touched {
		t.Errorf("it comes to %+v", sig)
	}
	for _, part := range []string{
		"I, Person rs, mechanic, measured the Rods of engine Invented two-cylinder engine, serial 150, work order 26-014, and found by Invented overhaul manual, INV-2, revision 1, 2026-02-03, edition 1a1a1a1a1a1a1a1a: ",
		"10 lines, 8 new, 2 serviceable, 0 beyond", sig.Verdicts, program, "it approves nothing for return to service",
	} {
		if !strings.Contains(said, part) {
			t.Errorf("the statement\n%s\ndoes not say %q", said, part)
		}
	}
	if len(sig.Verdicts) != 64 || !strings.Contains(statement(half, "ia", "rod", job.Inspected), "I, Person ia, inspector, mechanic certificate 204412, inspected the measuring of the Rods") {
		t.Errorf("verdicts %q; inspected: %s", sig.Verdicts, statement(half, "ia", "rod", job.Inspected))
	}
}

// What is not graded is told beside what is.
func TestSignStepWithWhatIsNotGraded(t *testing.T) {
	k := opened(t)
	k.book = altered(t, "page: 2-1, name: Shell wall,", "page: 2-1, graded: no, name: Shell wall,")
	f, err := k.state.Judge(k.book).Sign(k.known("rs"), "shell", job.Performed, program)
	if err != nil || !strings.Contains(f.Statement, ": 0 lines, 0 new, 0 serviceable, 0 beyond, 2 more for reference.") {
		t.Errorf("%+v, %v", f, err)
	}
}

func TestCloseAndReopen(t *testing.T) {
	k := ready(t)
	early := k.state.Judge(k.book)
	if _, err := early.Close(k.known("ia"), program); err == nil {
		t.Error("it can be closed before anything is signed")
	}
	rule(t, []ruling{
		{"with nothing signed", k, "ia", &job.Close{Program: program}, "blocked", "4 parts can't be closed yet, the first because crank: not signed as performed", "tenths job show"},
		{"with nothing measured", opened(t), "ia", &job.Close{Program: program}, "blocked", "4 parts can't be closed yet, the first because crank: 4 lines are not decided", "tenths job show"},
		{"without a certificate", k, "ic", &job.Close{Program: program}, "certificate", "no certificate of Person ic", "tenths person change"},
		{"reopened while it is open", k, "ia", &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "more"}}, "open", "not closed", ""},
	})
	k.signAll("rs", "ia")
	f, err := k.state.Judge(k.book).Close(k.known("ib"), program)
	if err != nil {
		t.Fatal(err)
	}
	rule(t, []ruling{
		{"another's statement", k, "ia", &job.Close{Statement: f.Statement, Program: program}, "statement", "has changed", "read it again"},
		{"no statement", k, "ib", &job.Close{Program: program}, "statement", "has changed", "read it again"},
		{"without a certificate, signed", k, "ic", &job.Close{Statement: f.Statement, Program: program}, "certificate", "no certificate of Person ic", "tenths person change"},
		{"with it", k, "ib", &job.Close{Statement: f.Statement, Program: program}, "", "", ""},
	})
	n := k.do("ib", &job.Close{Statement: f.Statement, Program: program})
	if s := k.state; s.Closed == nil || s.Closed.Seq != n || s.Closed.By != "ib" {
		t.Errorf("it comes to %+v", k.state.Closed)
	}
	for _, part := range []string{
		"I, Person ib, inspector, mechanic certificate 204413, close the dimensional inspection of engine Invented two-cylinder engine, serial 150, work order 26-014.",
		"it found: 20 lines, 18 new, 2 serviceable, 0 beyond", f.Verdicts, "must be reworked or replaced; this approves nothing for return to service",
	} {
		if !strings.Contains(f.Statement, part) {
			t.Errorf("the statement\n%s\ndoes not say %q", f.Statement, part)
		}
	}

	// What may still be said of a job that is closed.
	for _, r := range anyRequests() {
		switch r.(type) {
		case *job.WriteNote, *job.HandOver, *job.Reopen:
			rule(t, []ruling{{reflect.TypeOf(r).String() + " while it is closed", k, "ia", r, "", "", ""}})
		case *job.Open:
			rule(t, []ruling{{"opened while it is closed", k, "ia", r, "order", "open already", "tenths job show"}})
		default:
			rule(t, []ruling{{reflect.TypeOf(r).String() + " while it is closed", k, "ia", r, "closed", "closed, since entry", "tenths job reopen"}})
		}
	}
	closed := k.state.Snapshot()
	rule(t, []ruling{{"reopened without a reason", k, "ia", &job.Reopen{}, "empty", "the reason", "write it"}})
	k.do("ia", &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "a rod was dropped"}})
	if k.state.Closed != nil || closed.Closed == nil || closed.Closed.Seq != n {
		t.Errorf("reopened it is %+v; before, %+v", k.state.Closed, closed.Closed)
	}
	k.take("rod-1.side", "0.009")
}

// Every text that a person may write can be seen, is as long as may be, and is
// one line but where notes are.
func TestTextsOfAJob(t *testing.T) {
	k := opened(t)
	k.found("K1", "crank", "crank")
	k.take("rod-1.side", "0.007")
	open := func(set func(*job.JobOpened)) job.Request {
		f := opening()
		set(&f)
		return &job.Open{JobOpened: f}
	}
	for _, field := range []struct {
		name  string
		most  int
		lines bool
		ask   func(text string) job.Request
	}{
		{"the work-order number", 40, false, func(s string) job.Request { return open(func(f *job.JobOpened) { f.Order = s }) }},
		{"the model", record.Short, false, func(s string) job.Request { return open(func(f *job.JobOpened) { f.Model = s }) }},
		{"the serial number", record.Short, false, func(s string) job.Request { return open(func(f *job.JobOpened) { f.Serial = s }) }},
		{"why it is opened", record.Long, false, func(s string) job.Request { return open(func(f *job.JobOpened) { f.Reason = s }) }},
		{"the customer", record.Long, false, func(s string) job.Request { return open(func(f *job.JobOpened) { f.Customer = s }) }},
		{"the authority", record.Long, false, func(s string) job.Request { return open(func(f *job.JobOpened) { f.Authority = s }) }},
		{"a tag", record.Short, false, func(s string) job.Request {
			return &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: s, Part: "rod"}}
		}},
		{"a part number", record.Short, false, func(s string) job.Request {
			return &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "R1", Part: "rod", Number: s}}
		}},
		{"a serial number of an item", record.Short, false, func(s string) job.Request {
			return &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "R1", Part: "rod", Serial: s}}
		}},
		{"what was done", record.Long, false, func(s string) job.Request {
			return &job.ReturnFromRework{Item: "K1", Sites: []string{"main-1"}, What: s}
		}},
		{"why a spot is skipped", record.Long, false, func(s string) job.Request {
			return &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: "rod-1.side", Why: s}}
		}},
		{"why a reading is struck", record.Long, false, func(s string) job.Request { return &job.StrikeReading{Entry: 3, Why: s} }},
		{"a note", record.Note, true, func(s string) job.Request { return &job.WriteNote{NoteWritten: job.NoteWritten{Text: s}} }},
		{"a note for the next one", record.Note, true, func(s string) job.Request {
			return &job.HandOver{HandedOver: job.HandedOver{To: "rs", Note: s}}
		}},
	} {
		for _, c := range []struct{ text, code string }{
			{"a", ""},
			{"µ < \"2\" & \\", ""},
			{strings.Repeat("x", field.most), ""},
			{strings.Repeat("x", field.most+1), "long"},
			{strings.Repeat("x", 10<<20), "long"},
			{"a\x1b[2Jb", "text"},
			{"a\x00b", "text"},
			{"a\xffb", "text"},
			{"a\u202eb", "text"},
			{" a", "text"},
			{"a ", "text"},
			{"a\n", "text"},
			{"a\nb", "lines"},
		} {
			if c.code == "lines" {
				c.code = "text"
				if field.lines {
					c.code = ""
				}
			}
			r := field.ask(c.text)
			b := k
			if _, opens := r.(*job.Open); opens {
				b = unopened(t)
			}
			_, err := job.Decide(b.state, b.known("ia"), r)
			var refusal *record.Refusal
			switch {
			case err == nil && c.code == "":
			case err == nil || !errors.As(err, &refusal) || refusal.Code != c.code || refusal.Why == "" || refusal.Do == "":
				t.Errorf("%s, %.20q of %d bytes: %.200v; want %q", field.name, c.text, len(c.text), err, c.code)
			}
		}
	}
}

// What a reading says in words is cut out of blanks as the file's rows are; the
// rest is as everywhere.
func TestTextsOfAReading(t *testing.T) {
	k := opened(t)
	k.found("R 1", "rod", "rod-1")
	for _, field := range []struct {
		name string
		set  func(r *job.Take, text string)
		get  func(*job.ReadingTaken) string
		most int
	}{
		{"the gauge", func(r *job.Take, s string) { r.Gauge = s }, func(f *job.ReadingTaken) string { return f.Gauge }, record.Short},
		{"who read it", func(r *job.Take, s string) { r.By = s }, func(f *job.ReadingTaken) string { return f.ReadBy }, record.Short},
		{"the note", func(r *job.Take, s string) { r.Note = s }, func(f *job.ReadingTaken) string { return f.Note }, record.Long},
	} {
		for _, c := range []struct{ text, want, code string }{
			{"", "", ""},
			{"µm 4", "µm 4", ""},
			{" a ", "a", ""},
			{"a\n  b", "a b", ""},
			{strings.Repeat("x", field.most), strings.Repeat("x", field.most), ""},
			{strings.Repeat("x", field.most+1), "", "long"},
			{strings.Repeat("x", 10<<20), "", "long"},
			{"a\x1b[2Jb", "", "reading"},
			{"a\x00b", "", "reading"},
			{"a\xffb", "", "text"},
			{"a\u202eb", "", "text"},
		} {
			r := &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007"}}
			field.set(r, c.text)
			facts, err := job.Decide(k.state, k.known("rs"), r)
			var refusal *record.Refusal
			switch {
			case c.code != "":
				if !errors.As(err, &refusal) || refusal.Code != c.code {
					t.Errorf("%s, %.20q of %d bytes: %.200v; want %q", field.name, c.text, len(c.text), err, c.code)
				}
			case err != nil || field.get(facts[0].(*job.ReadingTaken)) != c.want:
				t.Errorf("%s, %.20q of %d bytes: %.200v, %+v", field.name, c.text, len(c.text), err, facts)
			}
		}
	}
	// Where words can't be what they must be, whatever their length.
	for name, set := range map[string]func(r *job.Take, text string){
		"spot": func(r *job.Take, s string) { r.Spot = s }, "value": func(r *job.Take, s string) { r.Value = s }, "unit": func(r *job.Take, s string) { r.Unit = s },
		"setting": func(r *job.Take, s string) { r.Setting = s }, "sense": func(r *job.Take, s string) { r.Sense = s }, "stage": func(r *job.Take, s string) { r.Stage = s },
		"step": func(r *job.Take, s string) { r.Step = s }, "temperature": func(r *job.Take, s string) { r.Temperature = s }, "when": func(r *job.Take, s string) { r.When = s },
		"item": func(r *job.Take, s string) { r.Item = s },
	} {
		for _, text := range []string{"\x1b[2J", "a\x00b", "a\xffb", "a\u202eb", "a b c", strings.Repeat("x ", 1<<20), strings.Repeat("1", 10<<20)} {
			if name == "step" && text[0] == '1' {
				continue // the mark of a step may be
			}
			r := &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007"}}
			set(r, text)
			_, err := job.Decide(k.state, k.known("rs"), r)
			var refusal *record.Refusal
			if !errors.As(err, &refusal) || !slices.Contains([]string{"reading", "item"}, refusal.Code) {
				t.Errorf("%s %.10q of %d bytes: %.200v", name, text, len(text), err)
			}
		}
	}
}

// A line has room for whatever may be entered.
func TestReadingsHaveRoom(t *testing.T) {
	k := opened(t)
	k.refused("rs", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007", Step: strings.Repeat("a", 121)}}, "long")
	k.refused("rs", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007", When: "2026-11-25T09:14:00." + strings.Repeat("0", 1000)}}, "long")
}

// Who is refused is told so in words that a screen can show, whatever they
// wrote.
func TestRefusalsCanBeShown(t *testing.T) {
	k := opened(t)
	k.found("K1", "crank", "crank")
	for _, text := range []string{strings.Repeat("x", 10<<20), "\x1b[2J", "a\u202eb", "\xff\xfe", strings.Repeat("\x00", 1<<20)} {
		for _, r := range []job.Request{
			&job.StateCondition{ConditionStated: job.ConditionStated{Name: text, Word: text}},
			&job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: text, Part: "rod"}},
			&job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "R1", Part: text}},
			&job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "R1", Part: "rod", Found: text}},
			fit(text, "K1"), fit("crank", text), fit("rod-1", text),
			&job.ReturnFromRework{Item: text}, &job.ReturnFromRework{Item: "K1", Sites: []string{text}},
			&job.StrikeReading{ID: text}, &job.ChangeEdition{Edition: text}, &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: text}},
			&job.WriteNote{NoteWritten: job.NoteWritten{Spot: text}}, &job.WriteNote{NoteWritten: job.NoteWritten{Item: text}},
			&job.SignStep{Step: text}, &job.SignStep{Step: "rod", As: text}, &job.HandOver{HandedOver: job.HandedOver{To: text}},
			&job.Take{Row: reading.Row{Spot: text, Value: "1"}}, &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: text}},
			&job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007", Item: text}},
		} {
			_, err := job.Decide(k.state, k.known("ia"), r)
			if err == nil {
				t.Errorf("%T of %.10q stands", r, text)
				continue
			}
			if said := err.Error(); len(said) > 4000 || !utf8.ValidString(said) || strings.ContainsFunc(said, func(r rune) bool { return !unicode.IsPrint(r) }) {
				t.Errorf("%T of %.10q is refused with %d bytes: %.200q", r, text, len(said), said)
			}
		}
	}
}

// A clock that was set back shows; the order stays.
func TestClockSetBack(t *testing.T) {
	k := opened(t)
	k.take("rod-1.side", "0.007")
	k.clock = begin.Add(-48 * time.Hour)
	n := k.take("rod-2.side", "0.007")
	k.take("rod-2.side", "0.008")
	same(t, "the jumps", k.state.Jumps, []int64{n})
	if k.state.Last.Seq != n+1 || k.state.Size != n+1 {
		t.Errorf("the last entry is %+v", k.state.Last)
	}
}

// What was entered is known by its id.
func TestSeen(t *testing.T) {
	k := opened(t)
	n := k.take("rod-1.side", "0.007")
	if k.state.Seen(id(n)) != n || k.state.Seen(id(n+1)) != 0 || k.state.Seen("") != 0 {
		t.Errorf("seen are %d, %d, %d", k.state.Seen(id(n)), k.state.Seen(id(n+1)), k.state.Seen(""))
	}
}
