package shoplog_test

import (
	"errors"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"tenths/internal/record"
	"tenths/internal/shoplog"
)

func TestShopMade(t *testing.T) {
	fact := func(change func(*shoplog.ShopMade)) shoplog.Fact {
		f := &shoplog.ShopMade{ID: "aa", Name: "Two Rivers", Key: "key"}
		change(f)
		return f
	}
	rule(t, []ruling{
		{"first", newLog(t), fact(func(*shoplog.ShopMade) {}), "", "", ""},
		{"twice", made(t), fact(func(*shoplog.ShopMade) {}), "shop", "Two Rivers", ""},
		{"without a name", newLog(t), fact(func(f *shoplog.ShopMade) { f.Name = "" }), "empty", "name", "write it"},
		{"without a key", newLog(t), fact(func(f *shoplog.ShopMade) { f.Key = "" }), "empty", "key", "write it"},
		{"without an id", newLog(t), fact(func(f *shoplog.ShopMade) { f.ID = "" }), "empty", "id", "write it"},
	})
	s := made(t).state
	if s.ID != "0198c2d4-5b60-7a11-8c3d-0000000000aa" || s.Name != "Two Rivers" || s.Key != "tenths.shop/aa+00+AA==" || s.Policy.TwoPeople {
		t.Errorf("it comes to %+v", s)
	}
}

// Nothing is entered before there is a shop.
func TestNoShop(t *testing.T) {
	for _, f := range []shoplog.Fact{
		person("mp", shoplog.Manager), changed(*person("mp", shoplog.Manager), "why"), &shoplog.PolicySet{TwoPeople: true, Why: "why"},
		&shoplog.EditionAdopted{Edition: edition(1), Engine: "E", Manual: "M"}, &shoplog.JobNumbered{Job: "j", Order: "1"}, &shoplog.JobSealed{Job: "j", Size: 1, Root: "r"},
		shoplog.Unknown{},
	} {
		rule(t, []ruling{{"first of all " + f.Kind(), newLog(t), f, "no-shop", "no shop", "tenths shop init"}})
	}
}

func TestUnknownIsNotEntered(t *testing.T) {
	rule(t, []ruling{{"unknown", made(t), shoplog.Unknown{}, "kind", "no such kind", ""}})
}

// What is said of a person, whether they are added or changed.
func TestPerson(t *testing.T) {
	fact := func(change func(*shoplog.PersonAdded)) shoplog.PersonAdded {
		f := shoplog.PersonAdded{
			Handle: "ia", Name: "Ina Abel", Role: shoplog.Inspector, Certificate: "mechanic", Number: "204412",
			Scope: "powerplant", Since: "2026-01-01", Until: "2027-12-31",
		}
		change(&f)
		return f
	}
	there := made(t, person("ia", shoplog.Mechanic))
	for _, c := range []struct {
		name          string
		change        func(*shoplog.PersonAdded)
		code, why, do string
	}{
		{"all of it", func(f *shoplog.PersonAdded) {}, "", "", ""},
		{"no more than must be", func(f *shoplog.PersonAdded) { f.Certificate, f.Number, f.Scope, f.Until = "", "", "", "" }, "", "", ""},
		{"an apprentice", func(f *shoplog.PersonAdded) { f.Role = shoplog.Apprentice }, "", "", ""},
		{"for one day", func(f *shoplog.PersonAdded) { f.Until = f.Since }, "", "", ""},
		{"no name", func(f *shoplog.PersonAdded) { f.Name = "" }, "empty", "the name", "write it"},
		{"no role", func(f *shoplog.PersonAdded) { f.Role = "" }, "role", `""`, "apprentice, mechanic, inspector, manager"},
		{"another role", func(f *shoplog.PersonAdded) { f.Role = "owner" }, "role", `"owner"`, "apprentice, mechanic, inspector, manager"},
		{"a role in other letters", func(f *shoplog.PersonAdded) { f.Role = "Inspector" }, "role", `"Inspector"`, "inspector"},
		{"a certificate without a number", func(f *shoplog.PersonAdded) { f.Number = "" }, "certificate", "a number", "give both"},
		{"a number without a certificate", func(f *shoplog.PersonAdded) { f.Certificate = "" }, "certificate", "a kind", "give both"},
		{"a scope of no certificate", func(f *shoplog.PersonAdded) { f.Certificate, f.Number = "", "" }, "certificate", "scope", "kind and number"},
		{"no beginning", func(f *shoplog.PersonAdded) { f.Since, f.Until = "", "" }, "date", "since when", "--since"},
		{"no such day", func(f *shoplog.PersonAdded) { f.Since = "2026-02-30" }, "date", "2026-02-30", "2026-11-25"},
		{"a day as others write it", func(f *shoplog.PersonAdded) { f.Since = "1.1.2026" }, "date", "1.1.2026", "2026-11-25"},
		{"an end that is no day", func(f *shoplog.PersonAdded) { f.Until = "2027" }, "date", "2027", "2026-11-25"},
		{"an end before the beginning", func(f *shoplog.PersonAdded) { f.Until = "2025-12-31" }, "date", "before it begins", ""},
	} {
		add, change := fact(c.change), fact(c.change)
		rule(t, []ruling{
			{c.name, made(t), &add, c.code, c.why, c.do},
			{c.name + ", changed", there, changed(change, "a new certificate"), c.code, c.why, c.do},
		})
	}
	for _, handle := range []string{"", "K", "Kd", "1k", "-k", "k d", "k_d", "kđ", "k\n", strings.Repeat("k", 33), "k\x00", strings.Repeat("k", 10<<20)} {
		f := fact(func(f *shoplog.PersonAdded) { f.Handle = handle })
		rule(t, []ruling{{"handle " + handle[:min(len(handle), 9)], made(t), &f, "handle", "is not a handle", "a–z"}})
	}
	for _, handle := range []string{"k", "k1", "k-d", strings.Repeat("k", 32)} {
		f := fact(func(f *shoplog.PersonAdded) { f.Handle = handle })
		rule(t, []ruling{{"handle " + handle, made(t), &f, "", "", ""}})
	}
}

func TestPersonAdded(t *testing.T) {
	rule(t, []ruling{
		{"a handle that somebody has", made(t), person("kd", shoplog.Inspector), "handle", "kd is Person kd already", "tenths person change"},
	})
	l := made(t)
	before := l.state.Snapshot()
	p := person("ia", shoplog.Inspector)
	l.enter("mp", p)
	if got := l.state.People["ia"]; got.PersonAdded != *p || got.Seq != 4 {
		t.Errorf("it comes to %+v", got)
	}
	if _, ok := before.People["ia"]; ok || before.Size != 3 {
		t.Errorf("what was known before is %+v", before)
	}
	if got := strings.Join(l.state.Handles(), " "); got != "ia kd mp" {
		t.Errorf("the handles are %s", got)
	}
}

func TestPersonChanged(t *testing.T) {
	as := func(handle, role, until string) shoplog.Fact {
		p := person(handle, role)
		p.Until = until
		return changed(*p, "so it is now")
	}
	two := func() *log { return made(t, person("mq", shoplog.Manager)) }
	left := person("mq", shoplog.Manager)
	left.Until = "2099-12-31"
	later, today := person("mq", shoplog.Manager), person("mq", shoplog.Manager)
	later.Since, today.Since = "2026-11-26", "2026-11-25"
	putOff := person("mp", shoplog.Manager)
	putOff.Since = "2026-11-26"
	rule(t, []ruling{
		{"nobody of that handle", made(t), as("xx", shoplog.Mechanic, ""), "person", `"xx"`, "tenths person add"},
		{"without a reason", made(t), changed(*person("kd", shoplog.Inspector), ""), "empty", "the reason", "write it"},
		{"another role", made(t), as("kd", shoplog.Inspector, ""), "", "", ""},
		{"gone", made(t), as("kd", shoplog.Mechanic, "2026-12-31"), "", "", ""},
		{"the manager stays one", made(t), as("mp", shoplog.Manager, ""), "", "", ""},
		{"the last manager is a mechanic", made(t), as("mp", shoplog.Mechanic, ""), "last-manager", "nobody", "somebody else manager"},
		{"the last manager leaves", made(t), as("mp", shoplog.Manager, "2030-01-01"), "last-manager", "nobody", "somebody else manager"},
		{"one of two managers leaves", two(), as("mp", shoplog.Manager, "2030-01-01"), "", "", ""},
		{"the other one has an end", made(t, left), as("mp", shoplog.Mechanic, ""), "last-manager", "nobody", "without an end"},
		{"the other one begins tomorrow", made(t, later), as("mp", shoplog.Mechanic, ""), "last-manager", "today", "from today on"},
		{"the other one begins today", made(t, today), as("mp", shoplog.Mechanic, ""), "", "", ""},
		{"the last manager begins tomorrow", made(t), changed(*putOff, "so it is now"), "last-manager", "today", "from today on"},
		{"one of two begins tomorrow", two(), changed(*putOff, "so it is now"), "", "", ""},
		{"the other one, who begins tomorrow, is put off", made(t, later), changed(*later, "so it is now"), "", "", ""},
	})
	l := made(t)
	before := l.state.Snapshot()
	p := *person("kd", shoplog.Inspector)
	p.Certificate, p.Number, p.Scope = "mechanic", "11", "engines"
	l.enter("mp", changed(p, "rating added"))
	if got := l.state.People["kd"]; got.PersonAdded != p || got.Seq != 3 {
		t.Errorf("it comes to %+v", got)
	}
	if before.People["kd"].Role != shoplog.Mechanic {
		t.Errorf("what was known before is %+v", before.People["kd"])
	}
}

func TestPolicySet(t *testing.T) {
	two := made(t, &shoplog.PolicySet{TwoPeople: true, Why: "the manual of the shop"})
	rule(t, []ruling{
		{"on", made(t), &shoplog.PolicySet{TwoPeople: true, Why: "why"}, "", "", ""},
		{"off where it is off", made(t), &shoplog.PolicySet{Why: "why"}, "policy", "so already", ""},
		{"on where it is on", two, &shoplog.PolicySet{TwoPeople: true, Why: "why"}, "policy", "so already", ""},
		{"off", two, &shoplog.PolicySet{Why: "why"}, "", "", ""},
		{"without a reason", made(t), &shoplog.PolicySet{TwoPeople: true}, "empty", "the reason", "write it"},
	})
	if got := two.state.Policy; got != (shoplog.PolicySet{TwoPeople: true, Why: "the manual of the shop"}) {
		t.Errorf("it comes to %+v", got)
	}
}

func TestEditionAdopted(t *testing.T) {
	fact := func(change func(*shoplog.EditionAdopted)) *shoplog.EditionAdopted {
		f := &shoplog.EditionAdopted{Edition: edition(1), Engine: "E", Manual: "M", Amendments: []string{"INV-L3, 2026-06-07"}}
		change(f)
		return f
	}
	one := made(t, fact(func(*shoplog.EditionAdopted) {}))
	rule(t, []ruling{
		{"first", made(t), fact(func(*shoplog.EditionAdopted) {}), "", "", ""},
		{"again", one, fact(func(*shoplog.EditionAdopted) {}), "adopted", "E, M", ""},
		{"another of the engine", one, fact(func(f *shoplog.EditionAdopted) { f.Edition = edition(2) }), "", "", ""},
		{"no amendment", one, fact(func(f *shoplog.EditionAdopted) { f.Edition, f.Amendments = edition(2), nil }), "", "", ""},
		{"no engine", made(t), fact(func(f *shoplog.EditionAdopted) { f.Engine = "" }), "empty", "the engine", "write it"},
		{"no manual", made(t), fact(func(f *shoplog.EditionAdopted) { f.Manual = "" }), "empty", "the manual", "write it"},
		{"an amendment without words", made(t), fact(func(f *shoplog.EditionAdopted) { f.Amendments = []string{"a", ""} }), "empty", "an amendment", "write it"},
		{"no edition", made(t), fact(func(f *shoplog.EditionAdopted) { f.Edition = "" }), "edition", `""`, "SHA-256"},
		{"half an edition", made(t), fact(func(f *shoplog.EditionAdopted) { f.Edition = f.Edition[:32] }), "edition", "is not an edition", "SHA-256"},
		{"in large letters", made(t), fact(func(f *shoplog.EditionAdopted) { f.Edition = strings.Repeat("A", 64) }), "edition", "AAA", "SHA-256"},
	})
	if got := one.state.Editions[edition(1)]; got.Engine != "E" || got.Manual != "M" || len(got.Amendments) != 1 {
		t.Errorf("it comes to %+v", got)
	}
}

func TestJobNumbered(t *testing.T) {
	one := made(t, &shoplog.JobNumbered{Job: "job-a", Order: "26-014"})
	rule(t, []ruling{
		{"first", made(t), &shoplog.JobNumbered{Job: "job-a", Order: "26-014"}, "", "", ""},
		{"a number that is given", one, &shoplog.JobNumbered{Job: "job-b", Order: "26-014"}, "order", "opened by mp", "tenths job show"},
		{"another number", one, &shoplog.JobNumbered{Job: "job-b", Order: "26-015"}, "", "", ""},
		{"no number", one, &shoplog.JobNumbered{Job: "job-b"}, "empty", "work-order number", "write it"},
		{"a long number", one, &shoplog.JobNumbered{Job: "job-b", Order: strings.Repeat("1", 41)}, "long", "41 bytes", "fewer"},
		{"a job that has a number", one, &shoplog.JobNumbered{Job: "job-a", Order: "26-015"}, "job", "26-014", ""},
		{"no job", one, &shoplog.JobNumbered{Order: "26-015"}, "empty", "the job", "write it"},
	})
	got := one.state.Jobs["26-014"]
	if got.ID != "job-a" || got.Order != "26-014" || got.By != "mp" || len(got.Seals) != 0 || one.state.Orders["job-a"] != "26-014" {
		t.Errorf("it comes to %+v, %v", got, one.state.Orders)
	}
}

func TestJobSealed(t *testing.T) {
	seal := func(job string, size int64) shoplog.Fact {
		return &shoplog.JobSealed{Job: job, Size: size, Root: "root", Seal: "note\n"}
	}
	l := made(t, &shoplog.JobNumbered{Job: "job-a", Order: "26-014"}, &shoplog.JobNumbered{Job: "job-b", Order: "26-015"}, seal("job-a", 5))
	before := l.state.Snapshot()
	rule(t, []ruling{
		{"a job that there is not", l, seal("job-c", 9), "job", "job-c", ""},
		{"a job by its number", l, seal("26-014", 9), "job", "26-014", ""},
		{"as long as before", l, seal("job-a", 5), "sealed", "5 entries", ""},
		{"shorter than before", l, seal("job-a", 4), "sealed", "5 entries", ""},
		{"longer than before", l, seal("job-a", 6), "", "", ""},
		{"the other job", l, seal("job-b", 1), "", "", ""},
		{"of nothing", l, seal("job-b", 0), "sealed", "0 is not a size", ""},
		{"of less than nothing", l, seal("job-b", -5), "sealed", "-5 is not", ""},
		{"no root", l, &shoplog.JobSealed{Job: "job-b", Size: 1}, "empty", "the root", "write it"},
	})
	l.enter("mp", seal("job-a", 9))
	if got := l.state.Jobs["26-014"].Seals; len(got) != 2 || got[0].Size != 5 || got[1].Size != 9 || got[1].Root != "root" || got[1].Seal != "note\n" {
		t.Errorf("it comes to %+v", got)
	}
	if len(before.Jobs["26-014"].Seals) != 1 || len(l.state.Jobs["26-015"].Seals) != 0 {
		t.Errorf("before it was %+v; the other job has %+v", before.Jobs["26-014"], l.state.Jobs["26-015"])
	}
}

// Every text that a person may write is one line that can be seen.
func TestTextsOfTheShop(t *testing.T) {
	l := made(t)
	fields := []struct {
		name string
		most int
		fact func(text string) shoplog.Fact
	}{
		{"the shop's name", record.Short, func(s string) shoplog.Fact { return &shoplog.ShopMade{ID: "aa", Name: s, Key: "key"} }},
		{"a person's name", record.Short, func(s string) shoplog.Fact {
			return &shoplog.PersonAdded{Handle: "ia", Name: s, Role: shoplog.Mechanic, Since: "2026-01-01"}
		}},
		{"a certificate", record.Short, func(s string) shoplog.Fact {
			return &shoplog.PersonAdded{Handle: "ia", Name: "a", Role: shoplog.Mechanic, Since: "2026-01-01", Certificate: s, Number: "1"}
		}},
		{"its number", record.Short, func(s string) shoplog.Fact {
			return &shoplog.PersonAdded{Handle: "ia", Name: "a", Role: shoplog.Mechanic, Since: "2026-01-01", Certificate: "c", Number: s}
		}},
		{"its scope", record.Long, func(s string) shoplog.Fact {
			return &shoplog.PersonAdded{Handle: "ia", Name: "a", Role: shoplog.Mechanic, Since: "2026-01-01", Certificate: "c", Number: "1", Scope: s}
		}},
		{"why a person was changed", record.Long, func(s string) shoplog.Fact { return changed(*person("kd", shoplog.Inspector), s) }},
		{"why the policy was set", record.Long, func(s string) shoplog.Fact { return &shoplog.PolicySet{TwoPeople: true, Why: s} }},
		{"the engine", record.Long, func(s string) shoplog.Fact {
			return &shoplog.EditionAdopted{Edition: edition(1), Engine: s, Manual: "m"}
		}},
		{"the manual", record.Long, func(s string) shoplog.Fact {
			return &shoplog.EditionAdopted{Edition: edition(1), Engine: "e", Manual: s}
		}},
		{"an amendment", record.Long, func(s string) shoplog.Fact {
			return &shoplog.EditionAdopted{Edition: edition(1), Engine: "e", Manual: "m", Amendments: []string{s}}
		}},
		{"a work-order number", 40, func(s string) shoplog.Fact { return &shoplog.JobNumbered{Job: "j", Order: s} }},
	}
	for _, f := range fields {
		for _, c := range []struct{ text, code string }{
			{"a", ""},
			{strings.Repeat("x", f.most), ""},
			{strings.Repeat("x", f.most+1), "long"},
			{strings.Repeat("x", 10<<20), "long"},
			{"a\x1b[2Jb", "text"},
			{"a\xffb", "text"},
			{"a\u202eb", "text"},
			{" a", "text"},
			{"a ", "text"},
			{"a\nb", "text"},
		} {
			fact := f.fact(c.text)
			log := l
			if fact.Kind() == "shop-made" {
				log = newLog(t)
			}
			err := shoplog.Decide(log.state, fact, begin)
			var r *record.Refusal
			switch {
			case err == nil && c.code == "":
			case err == nil || !errors.As(err, &r) || r.Code != c.code || r.Why == "" || r.Do == "":
				t.Errorf("%s, %.20q of %d bytes: %.200v; want %q", f.name, c.text, len(c.text), err, c.code)
			}
		}
	}
}

// Who is refused is told so in words that a screen can show, whatever they
// wrote.
func TestRefusalsOfTheShopCanBeShown(t *testing.T) {
	l := made(t)
	for _, text := range []string{strings.Repeat("x", 10<<20), "\x1b[2J", "\u202e", "\xff\xfe", strings.Repeat("\x00", 10<<20)} {
		for _, f := range []shoplog.Fact{
			&shoplog.PersonAdded{Handle: text}, &shoplog.PersonAdded{Handle: "ia", Role: text}, changed(shoplog.PersonAdded{Handle: text}, "why"),
			&shoplog.PersonAdded{Handle: "ia", Role: shoplog.Mechanic, Since: text}, &shoplog.PersonAdded{Handle: "ia", Role: shoplog.Mechanic, Since: "2026-01-01", Until: text},
			&shoplog.EditionAdopted{Edition: text}, &shoplog.JobNumbered{Job: text, Order: text}, &shoplog.JobSealed{Job: text, Size: 1},
		} {
			err := shoplog.Decide(l.state, f, begin)
			if err == nil {
				t.Errorf("%T of %.10q stands", f, text)
				continue
			}
			if said := err.Error(); len(said) > 3000 || !utf8.ValidString(said) || strings.ContainsFunc(said, func(r rune) bool { return !unicode.IsPrint(r) }) {
				t.Errorf("%T of %.10q is refused with %d bytes: %.200q", f, text, len(said), said)
			}
		}
		if _, err := l.state.In(text, begin); err == nil || len(err.Error()) > 3000 {
			t.Errorf("who %.10q is: %.200v", text, err)
		}
	}
}

// Both days of a person's time in the shop are in it.
func TestIn(t *testing.T) {
	p := person("ia", shoplog.Inspector)
	p.Since, p.Until = "2026-03-01", "2026-11-25"
	s := made(t, p).state
	for _, c := range []struct {
		handle, day   string
		ok            bool
		code, why, do string
	}{
		{"ia", "2026-02-28", false, "person", "from 2026-03-01", ""},
		{"ia", "2026-03-01", true, "", "", ""},
		{"ia", "2026-11-25", true, "", "", ""},
		{"ia", "2026-11-26", false, "person", "until 2026-11-25", "tenths person change"},
		{"mp", "2099-01-01", true, "", "", ""},
		{"", "2026-03-01", false, "person", "nobody", "--by"},
		{"xx", "2026-03-01", false, "person", `"xx"`, "tenths person add"},
	} {
		for _, hour := range []string{"00:00:00", "23:59:59"} {
			day, err := time.Parse(time.DateTime, c.day+" "+hour)
			if err != nil {
				t.Fatal(err)
			}
			got, err := s.In(c.handle, day)
			if (err == nil) != c.ok {
				t.Errorf("%q on %s: %v", c.handle, c.day, err)
			}
			if err == nil {
				if got.Handle != c.handle {
					t.Errorf("%q is %+v", c.handle, got)
				}
				continue
			}
			var r *record.Refusal
			if !errors.As(err, &r) || r.Code != c.code || !strings.Contains(r.Why, c.why) || !strings.Contains(r.Do, c.do) || (r.Do == "") != (c.do == "") {
				t.Errorf("%q on %s: %+v", c.handle, c.day, err)
			}
		}
	}
}
