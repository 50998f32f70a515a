package shop_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// Who may do what: every role with everything that can be asked for. Common
// practice, no source.
func TestRights(t *testing.T) {
	const (
		all     = "apprentice mechanic inspector manager"
		workers = "mechanic inspector manager"
		leaders = "inspector manager"
	)
	p := inMemory(t)
	measured(t, p)
	enterIt := func(r job.Request) func(*testing.T, *shop.Shop, shop.Who) error {
		return func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.Enter(t.Context(), who, order, shop.Request{Request: r})
			return err
		}
	}
	state := func(f shoplog.Fact) func(*testing.T, *shop.Shop, shop.Who) error {
		return func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.State(t.Context(), who, f)
			return err
		}
	}
	signIt := func(step, as string) func(*testing.T, *shop.Shop, shop.Who) error {
		return func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, _, err := s.Signature(t.Context(), who, order, step, as)
			return err
		}
	}
	added := shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
	for _, right := range []struct {
		what string
		may  string
		ask  func(*testing.T, *shop.Shop, shop.Who) error
	}{
		{"take a reading", all, enterIt(take(3))},
		{"write a note", all, enterIt(&job.WriteNote{NoteWritten: job.NoteWritten{Text: "a note"}})},
		{"strike", workers, enterIt(&job.StrikeReading{Entry: 2, Why: "misread"})},
		{"register", workers, enterIt(&job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod A", Part: "rod", Found: "rod-1"}})},
		{"fit", workers, enterIt(&job.Fit{Places: []job.ItemFitted{{Position: "rod-1", Item: "rod A"}}})},
		{"rework", workers, enterIt(&job.ReturnFromRework{Item: "rod A", Sites: []string{"width"}, What: "ground"})},
		{"state a condition", workers, enterIt(&job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})},
		{"hand over", workers, enterIt(&job.HandOver{HandedOver: job.HandedOver{To: mechanic}})},
		{"sign as performed", workers, signIt("cam", job.Performed)},
		{"sign as inspected", "inspector", signIt("cam", job.Inspected)},
		{"close", "inspector", signIt("", "")},
		{"reopen", "inspector", enterIt(&job.Reopen{InspectionReopened: job.InspectionReopened{Why: "one more look"}})},
		{"change the edition", leaders, func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, change, err := s.Alters(t.Context(), order, adopt(t, s, bookText+"# next\n"))
			if err != nil {
				t.Fatal(err)
			}
			return enterIt(change)(t, s, who)
		}},
		{"open a job", leaders, func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.OpenJob(t.Context(), who, jobOf(t, s, "2026-015"))
			return err
		}},
		{"number a job", leaders, state(&shoplog.JobNumbered{Job: id(1), Order: "2026-015"})},
		{"seal", workers, func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.Seal(t.Context(), who, order)
			return err
		}},
		{"export what is not sealed", workers, func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.Export(t.Context(), who, order, new(bytes.Buffer))
			return err
		}},
		{"import", all, func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.ImportReadings(t.Context(), who, order, shop.Import{Name: "readings.csv", Data: []byte("spot,value\ncam.front.-.0,1.4980\n")})
			return err
		}},
		{"import and register", workers, func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.ImportReadings(t.Context(), who, order, shop.Import{Name: "readings.csv", Data: []byte("spot,value,item\nrod-1.width.-.0,1.3670,rod A\n"), Register: true})
			return err
		}},
		{"add a person", "manager", state(&added)},
		{"change a person", "manager", state(&shoplog.PersonChanged{PersonAdded: people()[2], Why: "a new certificate"})},
		{"set the policy", "manager", state(&shoplog.PolicySet{TwoPeople: true, Why: "as agreed"})},
		{"adopt", "manager", func(t *testing.T, s *shop.Shop, who shop.Who) error {
			_, err := s.Adopt(t.Context(), who, "book.yaml", []byte(bookText+"# another\n"))
			return err
		}},
		{"set another's password", "manager", func(t *testing.T, s *shop.Shop, who shop.Who) error {
			return s.SetPassword(t.Context(), who, second, password)
		}},
		{"make the shop again", "", state(&shoplog.ShopMade{ID: id(1), Name: "Another", Key: "key"})},
		{"ask for nothing", "", enterIt(nil)},
		{"ask for what is wrapped up", "", enterIt(shop.Request{Request: &job.SignStep{Step: "cam", As: job.Inspected}})},
	} {
		t.Run(right.what, func(t *testing.T) {
			t.Parallel()
			s := p.copy(t).reopen(t)
			before := must(s.Job(t.Context(), order))(t).Size
			for role, handle := range map[string]string{
				shoplog.Apprentice: apprentice, shoplog.Mechanic: mechanic, shoplog.Inspector: inspector, shoplog.Manager: manager,
			} {
				if slices.Contains(strings.Fields(right.may), role) {
					continue
				}
				err := right.ask(t, s, by(handle))
				if codeOf(err) != "right" || !strings.Contains(err.Error(), "ask ") {
					t.Errorf("of the %s: %v", role, err)
				}
			}
			for _, stranger := range []string{"", "nobody"} {
				wantRefused(t, right.ask(t, s, by(stranger)), "person")
			}
			if after := must(s.Job(t.Context(), order))(t).Size; after != before {
				t.Errorf("%d entries were made without the right", after-before)
			}
			for _, role := range strings.Fields(right.may) {
				handle := map[string]string{"apprentice": apprentice, "mechanic": mechanic, "inspector": inspector, "manager": manager}[role]
				if err := right.ask(t, p.copy(t).reopen(t), by(handle)); codeOf(err) == "right" || codeOf(err) == "person" {
					t.Errorf("refused to the %s: %v", role, err)
				}
			}
			whole(t, s)
		})
	}
}

// Rights last from the first day to the last, both in it.
func TestDaysOfThePeople(t *testing.T) {
	p := inMemory(t)
	s := p.made(t)
	must(s.State(t.Context(), by(manager), &shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-12-01", Until: "2026-12-03"}))(t)
	for day, may := range map[int]bool{30: false, 31: true, 32: true, 33: true, 34: false} { // of November, that is
		p.clock.set(time.Date(2026, 11, day, 23, 0, 0, 0, time.UTC))
		_, err := enter(t.Context(), s, "new", "", take(day))
		if may && err != nil || !may && codeOf(err) != "person" {
			t.Errorf("on day %d: %v", day, err)
		}
	}
	whole(t, s)
}

// An inspection wants a certificate.
func TestInspectorWithoutCertificate(t *testing.T) {
	s := measured(t, inMemory(t))
	if _, _, err := sign(t, s, mechanic, "cam", job.Performed); err != nil {
		t.Fatal(err)
	}
	bare := people()[0]
	bare.Certificate, bare.Number = "", ""
	must(s.State(t.Context(), by(manager), &shoplog.PersonChanged{PersonAdded: bare, Why: "it lapsed"}))(t)
	_, _, err := sign(t, s, inspector, "cam", job.Inspected)
	wantRefused(t, err, "certificate")
	whole(t, s)
}

// There is always somebody who can run the shop today: of the shop by now, for
// good, and with a password, which changing the shop wants.
func TestSomebodyLeads(t *testing.T) {
	for _, first := range []shoplog.PersonAdded{
		{Handle: manager, Name: "M. Pohl", Role: shoplog.Manager, Since: "2026-11-26"},
		{Handle: manager, Name: "M. Pohl", Role: shoplog.Manager, Since: "2026-01-01", Until: "2027-01-01"},
	} {
		p := inMemory(t)
		_, err := shop.Make(t.Context(), p.open(t), p.options(), "Corner Engine Shop", first, password)
		wantRefused(t, err, "date")
	}
	s := inMemory(t).made(t)
	state := func(f shoplog.Fact) error {
		_, err := s.State(t.Context(), by(manager), f)
		return err
	}
	old := must(s.Record(t.Context()))(t).People[manager].PersonAdded
	leaves := &shoplog.PersonChanged{PersonAdded: old, Why: "retires"}
	leaves.Role = shoplog.Mechanic
	heir := shoplog.PersonAdded{Handle: "he", Name: "H. Erb", Role: shoplog.Manager, Since: "2026-11-26"}
	if err := state(&heir); err != nil {
		t.Fatal(err)
	}
	if err := s.SetPassword(t.Context(), by(manager), "he", password); err != nil {
		t.Fatal(err)
	}
	wantRefused(t, state(leaves), "last-manager") // the heir is not there yet

	other := shoplog.PersonAdded{Handle: "ot", Name: "O. Thal", Role: shoplog.Manager, Since: "2026-11-25"}
	if err := state(&other); err != nil {
		t.Fatal(err)
	}
	err := state(leaves)
	wantRefused(t, err, "last-manager") // they are, and have no password
	if !strings.Contains(err.Error(), "ot has no password yet; set one first with tenths person password") {
		t.Errorf("it says %v", err)
	}
	if err := s.SetPassword(t.Context(), by(manager), "ot", password); err != nil {
		t.Fatal(err)
	}
	if err := state(leaves); err != nil {
		t.Fatal(err)
	}
	if _, err := s.State(t.Context(), by("ot"), &shoplog.PolicySet{TwoPeople: true, Why: "the first thing"}); err != nil {
		t.Errorf("who is left can't run the shop: %v", err)
	}
	whole(t, s)
}

// newcomer is somebody who is to be added.
func newcomer(handle string) *shoplog.PersonAdded {
	return &shoplog.PersonAdded{Handle: handle, Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
}

// What a newer program entered holds up signatures, whichever log it is in; of the
// shop's log it may have been a change of rights, so that nobody's are changed by
// this one. Measuring goes on, and the record is exported.
func TestNotKnownHoldsUp(t *testing.T) {
	for _, log := range []string{shoplog.Log, ""} {
		p := onDisk(t)
		s := measured(t, p)
		must(s.State(t.Context(), by(manager), newcomer("zz")))(t)
		if log == "" {
			log = must(s.Job(t.Context(), order))(t).Log
		}
		st := p.open(t)
		size := must(st.Size(t.Context(), store.Log(log)))(t)
		line := must(ledger.Encode(ledger.Entry{
			V: 2, Log: log, Seq: size + 1, Shop: must(st.Size(t.Context(), shoplog.Log))(t), ID: id(900), By: manager, Kind: "rights-withdrawn", Fact: []byte(`{"handle":"kd"}`),
		}))(t)
		if grown := must(st.Append(t.Context(), []store.Batch{{Log: store.Log(log), Size: size, Entries: [][]byte{line}}}))(t); grown != nil {
			t.Fatal(grown)
		}
		tries := map[string]error{}
		_, _, tries["performed"] = sign(t, s, mechanic, "cam", job.Performed)
		tries["handed over"] = errOf(enter(t.Context(), s, manager, id(901), &job.HandOver{HandedOver: job.HandedOver{To: second}}))
		_, _, tries["closed"] = s.Signature(t.Context(), by(inspector), order, "", "")
		if log == shoplog.Log {
			tries["somebody added"] = errOf(s.State(t.Context(), by(manager), newcomer("yy")))
			tries["somebody changed"] = errOf(s.State(t.Context(), by(manager), &shoplog.PersonChanged{PersonAdded: *newcomer("zz"), Why: "so"}))
			tries["the policy"] = errOf(s.State(t.Context(), by(manager), &shoplog.PolicySet{TwoPeople: true, Why: "so"}))
			tries["a password"] = s.SetPassword(t.Context(), by(manager), mechanic, password)
			_, tries["a book"] = s.Adopt(t.Context(), by(manager), "book.yaml", []byte(bookText+"# next\n"))
		}
		for what, err := range tries {
			if codeOf(err) != "unknown-entry" || !strings.Contains(err.Error(), fmt.Sprintf(`entry %d, "rights-withdrawn" of version 2`, size+1)) || !strings.Contains(err.Error(), "newer tenths") {
				t.Errorf("%s, %s: %v", log, what, err)
			}
		}
		good(t)(enter(t.Context(), s, mechanic, id(902), take(7)))
		if err := s.SetPassword(t.Context(), by(mechanic), mechanic, "one of my own"); err != nil {
			t.Error(err)
		}
		var out bytes.Buffer
		must(s.Export(t.Context(), by(mechanic), order, &out))(t)
		if !strings.Contains(out.String(), "rights-withdrawn") {
			t.Error("it is not in the exported record")
		}
		whole(t, s)
	}
}
