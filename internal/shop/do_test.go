package shop_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tenths/internal/job"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
)

// measured makes the shop with a job whose camshaft is measured.
func measured(t testing.TB, p *place) *shop.Shop {
	t.Helper()
	s := p.made(t)
	must(s.Enter(t.Context(), by(mechanic), order,
		shop.Request{ID: id(1), Request: at("cam.front.-.0", "1.4981")}, shop.Request{ID: id(2), Request: at("cam.front.-.90", "1.4979")}))(t)
	return s
}

// sign signs a step as somebody who has read the statement.
func sign(t testing.TB, s *shop.Shop, handle, step, as string) (shop.Done, shop.Sealed, error) {
	t.Helper()
	r, statement, err := s.Signature(t.Context(), by(handle), order, step, as)
	if err != nil {
		return shop.Done{}, shop.Sealed{}, err
	}
	if !strings.HasPrefix(statement, "I, ") || !strings.Contains(statement, "work order "+order) {
		t.Errorf("the statement is %q", statement)
	}
	return s.Sign(t.Context(), by(handle), passwordOf(handle), order, r)
}

// A signature wants the password, seals the job's log behind itself, and says
// what was signed.
func TestSign(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := measured(t, p)
		r, statement, err := s.Signature(t.Context(), by(mechanic), order, "cam", job.Performed)
		if err != nil {
			t.Fatal(err)
		}
		_, err = enter(t.Context(), s, mechanic, id(10), r)
		wantRefused(t, err, "password") // not past the password
		for wrong, handle := range map[string]string{"": mechanic, password: mechanic, passwordOf(mechanic): inspector} {
			_, _, err = s.Sign(t.Context(), by(handle), wrong, order, r)
			wantRefused(t, err, "password")
		}
		if n := len(must(s.Job(t.Context(), order))(t).Signed); n != 0 {
			t.Fatalf("%d signatures without the password", n)
		}
		// Another reading changes what would be signed.
		must(enter(t.Context(), s, mechanic, id(3), at("cam.front.-.0", "1.4980")))(t)
		_, _, err = s.Sign(t.Context(), by(mechanic), passwordOf(mechanic), order, r)
		wantRefused(t, err, "open") // two readings at one spot are to be settled first
		must(enter(t.Context(), s, mechanic, id(4), &job.StrikeReading{ID: id(1), Why: "misread"}))(t)
		_, _, err = s.Sign(t.Context(), by(mechanic), passwordOf(mechanic), order, r)
		wantRefused(t, err, "statement")

		_, _, err = sign(t, s, inspector, "cam", job.Inspected)
		wantRefused(t, err, "not-performed")
		done, sealed, err := sign(t, s, mechanic, "cam", job.Performed)
		if err != nil || sealed.Size != done.To || sealed.Note == "" {
			t.Fatalf("signed as %+v, sealed as %+v: %v", done, sealed, err)
		}
		state := must(s.Job(t.Context(), order))(t)
		signed := state.Signed[0]
		if signed.By != mechanic || signed.Program != "tenths test" || len(signed.Verdicts) != 64 || signed.Statement == statement {
			t.Errorf("signed: %+v", signed)
		}
		echo := must(s.Record(t.Context()))(t).Jobs[order].Seals
		if len(echo) != 1 || echo[0].Size != sealed.Size || echo[0].Root != sealed.Root.String() || echo[0].Seal != sealed.Note {
			t.Errorf("the shop's log echoes %+v of %+v", echo, sealed)
		}
		done, sealed, err = sign(t, s, inspector, "cam", job.Inspected)
		if err != nil || sealed.Size != done.To {
			t.Fatalf("signed as %+v, sealed as %+v: %v", done, sealed, err)
		}
		if n := len(must(s.Record(t.Context()))(t).Jobs[order].Seals); n != 2 {
			t.Errorf("%d seals are echoed", n)
		}
		whole(t, s)
		whole(t, p.reopen(t))
	})
}

// Where the policy wants two people, who performed a step does not inspect it.
func TestTwoPeople(t *testing.T) {
	s := measured(t, inMemory(t))
	if _, _, err := sign(t, s, inspector, "cam", job.Performed); err != nil {
		t.Fatal(err)
	}
	must(s.State(t.Context(), by(manager), &shoplog.PolicySet{TwoPeople: true, Why: "as agreed"}))(t)
	_, _, err := sign(t, s, inspector, "cam", job.Inspected)
	wantRefused(t, err, "two-people")
	if _, _, err := sign(t, s, second, "cam", job.Inspected); err != nil {
		t.Error(err)
	}
	whole(t, s)
}

// Where the key is gone it is signed, and said that it is not sealed; when the
// key is back, it can be.
func TestUnsealed(t *testing.T) {
	p := onDisk(t)
	s := measured(t, p)
	key, away := filepath.Join(p.dir, shop.KeyFile), filepath.Join(p.dir, "away")
	if err := os.Rename(key, away); err != nil {
		t.Fatal(err)
	}
	done, _, err := sign(t, s, mechanic, "cam", job.Performed)
	var unsealed *shop.UnsealedError
	if !errors.As(err, &unsealed) || codeOf(err) != "key" {
		t.Fatalf("without the key: %v", err)
	}
	state := must(s.Job(t.Context(), order))(t)
	if len(state.Signed) != 1 || done.From != state.Size {
		t.Errorf("answered as %+v, and signed: %+v", done, state.Signed)
	}
	if _, err := s.Seal(t.Context(), by(mechanic), order); codeOf(err) != "key" {
		t.Errorf("sealed without a key: %v", err)
	}
	whole(t, s)
	if err := os.Rename(away, key); err != nil {
		t.Fatal(err)
	}
	if sealed := must(s.Seal(t.Context(), by(mechanic), order))(t); sealed.Size != state.Size {
		t.Errorf("sealed as %+v", sealed)
	}
	whole(t, p.reopen(t))
}

// A step that is signed, inspected and closed goes on when it is reopened.
func TestCloseAndReopen(t *testing.T) {
	s := measured(t, inMemory(t))
	_, _, err := s.Signature(t.Context(), by(inspector), order, "", "")
	wantRefused(t, err, "blocked")
	must(enter(t.Context(), s, mechanic, id(3), &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}}))(t)
	for rod := range 4 {
		for d, spot := range []string{"0", "180"} {
			must(enter(t.Context(), s, mechanic, id(10+rod*2+d), at(fmt.Sprintf("rod-%d.width.-.%s", rod+1, spot), "1.3670")))(t)
		}
	}
	for _, step := range []string{"cam", "rod"} {
		for as, handle := range map[string]string{job.Performed: mechanic, job.Inspected: inspector} {
			if as == job.Inspected {
				if _, _, err := sign(t, s, mechanic, step, job.Performed); err != nil && codeOf(err) != "signed" {
					t.Fatal(err)
				}
			}
			if _, _, err := sign(t, s, handle, step, as); err != nil && codeOf(err) != "signed" {
				t.Fatal(err)
			}
		}
	}
	if _, _, err := sign(t, s, inspector, "", ""); err != nil {
		t.Fatal(err)
	}
	_, err = enter(t.Context(), s, mechanic, id(30), at("cam.front.-.0", "1.4980"))
	wantRefused(t, err, "closed")
	must(enter(t.Context(), s, mechanic, id(31), &job.WriteNote{NoteWritten: job.NoteWritten{Text: "collected on Friday"}}))(t)
	must(enter(t.Context(), s, inspector, id(32), &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "one more look"}}))(t)
	must(enter(t.Context(), s, mechanic, id(33), at("cam.front.-.0", "1.4980")))(t)
	whole(t, s)
}

// Whatever another program does meanwhile, and whenever: what people do comes to
// what it should.
func TestInterleaved(t *testing.T) {
	const readings = "spot,value,note\ncam.front.-.0,1.4981,from a file\ncam.front.-.90,1.4979,from a file\n"
	p := inMemory(t)
	measured(t, p)
	for _, do := range []struct {
		name string
		run  func(t *testing.T, s *shop.Shop) error
	}{
		{"enter", func(t *testing.T, s *shop.Shop) error {
			done, err := enter(t.Context(), s, mechanic, id(10), take(1))
			if err == nil {
				wantEntered(t, s, []acked{{order, id(10), done.From}})
			}
			return err
		}},
		{"be refused", func(t *testing.T, s *shop.Shop) error {
			_, err := enter(t.Context(), s, apprentice, id(10), &job.StrikeReading{Entry: 2, Why: "misread"})
			wantRefused(t, err, "right")
			return nil
		}},
		{"enter again", func(t *testing.T, s *shop.Shop) error {
			done, err := enter(t.Context(), s, mechanic, id(1), at("cam.front.-.0", "1.4981"))
			if err == nil && !done.Again {
				t.Errorf("entered twice: %+v", done)
			}
			return err
		}},
		{"state", func(t *testing.T, s *shop.Shop) error {
			_, err := s.State(t.Context(), by(manager), &shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"})
			return err
		}},
		{"open a job", func(t *testing.T, s *shop.Shop) error {
			_, err := s.OpenJob(t.Context(), by(inspector), jobOf(t, s, "2026-015"))
			return err
		}},
		{"import", func(t *testing.T, s *shop.Shop) error {
			out, err := s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: []byte(readings)})
			if err == nil && out.Added != 2 {
				t.Errorf("imported as %+v", out)
			}
			return err
		}},
		{"seal", func(t *testing.T, s *shop.Shop) error {
			sealed, err := s.Seal(t.Context(), by(mechanic), order)
			if err == nil && sealed.Size < 3 {
				t.Errorf("sealed as %+v", sealed)
			}
			return err
		}},
		{"sign", func(t *testing.T, s *shop.Shop) error {
			_, sealed, err := sign(t, s, second, "cam", job.Performed)
			if err == nil && sealed.Size < 4 {
				t.Errorf("sealed as %+v", sealed)
			}
			return err
		}},
		{"export", func(t *testing.T, s *shop.Shop) error {
			var out bytes.Buffer
			_, err := s.Export(t.Context(), by(mechanic), order, &out)
			if err == nil {
				wantVerified(t, s, out.Bytes())
			}
			return err
		}},
		{"list", func(t *testing.T, s *shop.Shop) error {
			list, err := s.List(t.Context())
			for _, sum := range list {
				if sum.Problem != "" && !strings.Contains(sum.Problem, "nothing was entered") {
					err = errors.New(sum.Problem)
				}
			}
			return err
		}},
		{"check", func(t *testing.T, s *shop.Shop) error {
			_, err := s.Check(t.Context())
			return err
		}},
	} {
		t.Run(do.name, func(t *testing.T) {
			t.Parallel()
			t.Logf("at each of %d calls", intrude(t, p, do.run, meanwhile))
		})
	}
	t.Run("open", func(t *testing.T) {
		t.Parallel()
		for n, calls := 1, 1; calls >= n; n++ {
			p := p.copy(t)
			other := p.reopen(t)
			calls = 0
			st := &hooked{Store: p.open(t), call: func(string) {
				if calls++; calls == n {
					meanwhile(t, other)
				}
			}}
			s, err := shop.Open(t.Context(), st, p.options())
			if err != nil {
				t.Fatalf("with another program at call %d: %v", n, err)
			}
			st.call = func(string) {}
			whole(t, s)
			s.Close()
		}
	})
}

// meanwhile is what another program does: a reading that is struck again, a job,
// and a seal of each.
func meanwhile(t *testing.T, s *shop.Shop) {
	t.Helper()
	if _, err := s.OpenJob(t.Context(), by(inspector), jobOf(t, s, "2026-016")); err != nil {
		t.Errorf("meanwhile: %v", err)
	}
	for i, o := range []string{order, "2026-016"} {
		reading := id(50 + i)
		if _, err := s.Enter(t.Context(), by(mechanic), o,
			shop.Request{ID: reading, Request: take(1)}, shop.Request{Request: &job.StrikeReading{ID: reading, Why: "only to try"}}); err != nil {
			t.Errorf("meanwhile: %v", err)
		}
		if _, err := s.Seal(t.Context(), by(mechanic), o); err != nil {
			t.Errorf("meanwhile: %v", err)
		}
	}
}

// Many sign and seal at once: nobody is told of damage, nor that it is unsealed.
func TestManySeal(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		shops := []*shop.Shop{measured(t, p), p.reopen(t)}
		var wait sync.WaitGroup
		for n, s := range shops {
			for w := range 3 {
				wait.Go(func() {
					for i := range 5 {
						good(t)(enter(t.Context(), s, mechanic, id(10_000+n*1000+w*100+i), take(i)))
						if _, err := s.Seal(t.Context(), by(mechanic), order); err != nil {
							t.Errorf("program %d: %v", n+1, err)
						}
					}
				})
			}
		}
		wait.Wait()
		for _, s := range shops {
			whole(t, s)
			sealed := must(s.Seal(t.Context(), by(mechanic), order))(t)
			if state := must(s.Job(t.Context(), order))(t); sealed.Size != state.Size {
				t.Errorf("%d entries, of which %d are sealed", state.Size, sealed.Size)
			}
		}
		whole(t, p.reopen(t))
	})
}

func TestSignCancelled(t *testing.T) {
	s := measured(t, inMemory(t))
	r, _, err := s.Signature(t.Context(), by(mechanic), order, "cam", job.Performed)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := s.Sign(ctx, by(mechanic), passwordOf(mechanic), order, r); !errors.Is(err, context.Canceled) {
		t.Errorf("signed: %v", err)
	}
	if n := len(must(s.Job(t.Context(), order))(t).Signed); n != 0 {
		t.Errorf("%d signatures", n)
	}
}

// A book that does not say its manual is told with what to write into it.
func TestAdoptWantsTheManual(t *testing.T) {
	s := measured(t, inMemory(t))
	_, err := s.Adopt(t.Context(), by(manager), "book.yaml", []byte("format: book/1\nengine: E\nunit: in\nparts: {a: {features: {x: {kind: inside}}}}\nlines:\n  x: {name: X, size: a.x, new: 1.0..1.1}\n"))
	if err == nil || !strings.Contains(err.Error(), "does not say which manual") || !strings.Contains(err.Error(), "manual: {title:") {
		t.Error(err)
	}
}
