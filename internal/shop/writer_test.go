package shop_test

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/job"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// An acked is an id that was answered as entered, and where.
type acked struct {
	order, id string
	seq       int64
}

// wantEntered wants each acknowledged entry where it was said to be.
func wantEntered(t testing.TB, s *shop.Shop, acks []acked) {
	t.Helper()
	logs := map[string][]job.Entry{}
	for _, a := range acks {
		entries, ok := logs[a.order]
		if !ok {
			entries = must(s.Entries(t.Context(), a.order))(t)
			logs[a.order] = entries
		}
		if a.seq < 1 || a.seq > int64(len(entries)) || entries[a.seq-1].ID != a.id {
			t.Errorf("%s: entry %d of %d is not %s", a.order, a.seq, len(entries), a.id)
		}
	}
}

// Writers and readers, all at once: what is answered is there, once, where it
// was said to be; what readers are given is the state after some number of
// entries, never one before what they had, and is never changed.
func TestManyWriters(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		const writers, each = 8, 30
		s := p.made(t)
		orders := []string{order, "2026-015"}
		open(t, s, orders[1])
		var mu sync.Mutex
		var acks []acked
		var seen []*job.State
		var shops []*shoplog.State
		var writing, reading sync.WaitGroup
		for w := range writers {
			writing.Go(func() {
				last := map[string]int64{}
				for n := range each {
					a := acked{order: orders[(w+n)%2], id: id(w*1000 + n)}
					done, err := s.Enter(t.Context(), by(mechanic), a.order, shop.Request{ID: a.id, Request: take(n)})
					if err != nil {
						t.Error(err)
						return
					}
					if done.From <= last[a.order] || done.To != done.From || done.Again {
						t.Errorf("behind entry %d it was entered as %+v", last[a.order], done)
					}
					last[a.order], a.seq = done.From, done.From
					mu.Lock()
					acks = append(acks, a)
					mu.Unlock()
					// Who was answered sees it.
					if state, err := s.Job(t.Context(), a.order); err != nil || state.Size < done.From {
						t.Errorf("entry %d is not to be seen: %v", done.From, err)
					}
				}
			})
		}
		writing.Go(func() {
			for n := range 5 {
				someone := shoplog.PersonAdded{Handle: fmt.Sprint("new-", n), Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
				if _, err := s.State(t.Context(), by(manager), &someone); err != nil {
					t.Error(err)
				}
			}
		})
		stop := make(chan struct{})
		for range 2 {
			reading.Go(func() {
				last := map[string]int64{}
				for n := 0; ; n++ {
					o := orders[n%2]
					state, err := s.Job(t.Context(), o)
					if err != nil || state.Size < last[o] {
						t.Errorf("%d entries were seen before, now %+v: %v", last[o], state, err)
						return
					}
					last[o] = state.Size
					if n%10 == 0 {
						b, err := s.Book(t.Context(), state.Edition)
						if err != nil {
							t.Error(err)
							return
						}
						state.Judge(b)
						record, err := s.Record(t.Context())
						if err != nil {
							t.Error(err)
							return
						}
						mu.Lock()
						seen, shops = append(seen, state), append(shops, record)
						mu.Unlock()
					}
					select {
					case <-stop:
						return
					default:
					}
				}
			})
		}
		writing.Wait()
		close(stop)
		reading.Wait()
		if len(acks) != writers*each {
			t.Fatalf("%d were answered", len(acks))
		}
		wantEntered(t, s, acks)
		whole(t, s)
		logs := map[string][]job.Entry{}
		for _, o := range orders {
			entries := must(s.Entries(t.Context(), o))(t)
			logs[entries[0].Log] = entries
		}
		if n := len(logs["job/"+must(s.Record(t.Context()))(t).Jobs[order].ID]); n != writers*each/2+1 {
			t.Errorf("the job has %d entries, want %d", n, writers*each/2+1)
		}
		for _, state := range seen {
			if diff := cmp.Diff(job.Fold(state.Log, logs[state.Log][:state.Size]).Snapshot(), state, inside); diff != "" {
				t.Fatalf("what %d entries of %s fold to (-) is not what a reader saw (+):\n%s", state.Size, state.Log, diff)
			}
		}
		entries := must(s.ShopEntries(t.Context()))(t)
		for _, state := range shops {
			if diff := cmp.Diff(shoplog.Fold(entries[:state.Size]).Snapshot(), state, inside); diff != "" {
				t.Fatalf("what %d entries of the shop's log fold to (-) is not what a reader saw (+):\n%s", state.Size, diff)
			}
		}
	})
}

// Two programs write to one job and to the shop's log at once: both are
// answered, and both see all of it.
func TestTwoPrograms(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		const writers, each = 3, 25
		p.made(t)
		shops := []*shop.Shop{p.reopen(t), p.reopen(t)}
		var mu sync.Mutex
		var acks []acked
		var wait sync.WaitGroup
		for n, s := range shops {
			for w := range writers {
				wait.Go(func() {
					for i := range each {
						a := acked{order: order, id: id(n*10_000 + w*1000 + i)}
						done, err := s.Enter(t.Context(), by(mechanic), order, shop.Request{ID: a.id, Request: take(i)})
						if err != nil {
							t.Errorf("program %d: %v", n+1, err)
							return
						}
						a.seq = done.From
						mu.Lock()
						acks = append(acks, a)
						mu.Unlock()
						if state, err := s.Job(t.Context(), order); err != nil || state.Size < done.From {
							t.Errorf("program %d does not see its entry %d: %v", n+1, done.From, err)
						}
					}
				})
			}
			wait.Go(func() {
				for i := range 8 {
					someone := shoplog.PersonAdded{Handle: fmt.Sprintf("new-%d-%d", n, i), Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
					if _, err := s.State(t.Context(), by(manager), &someone); err != nil {
						t.Errorf("program %d: %v", n+1, err)
					}
					about := jobOf(t, s, fmt.Sprintf("2027-%d-%d", n, i))
					if _, err := s.OpenJob(t.Context(), by(inspector), about); err != nil {
						t.Errorf("program %d: %v", n+1, err)
					}
				}
			})
		}
		wait.Wait()
		for _, s := range shops {
			wantEntered(t, s, acks)
			whole(t, s)
			state := must(s.Record(t.Context()))(t)
			if n := must(s.Job(t.Context(), order))(t).Size; n != 2*writers*each+1 || len(state.Jobs) != 1+2*8 {
				t.Errorf("%d entries of the job and %d jobs, want %d and %d", n, len(state.Jobs), 2*writers*each+1, 1+2*8)
			}
		}
	})
}

// What one program has entered, the other decides by.
func TestOtherProgramsEntriesCount(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		other := p.reopen(t)
		must(enter(t.Context(), s, mechanic, id(1), take(1)))(t)
		must(enter(t.Context(), other, mechanic, id(2), &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod A", Part: "rod", Found: "rod-1"}}))(t)
		r := at("rod-1.width.-.0", "1.3670")
		r.Item = "rod A"
		if _, err := enter(t.Context(), s, mechanic, id(3), r); err != nil {
			t.Errorf("of an item that the other program registered: %v", err)
		}
		added := shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
		must(other.State(t.Context(), by(manager), &added))(t)
		if _, err := enter(t.Context(), s, "new", id(4), take(4)); err != nil {
			t.Errorf("by a person whom the other program added: %v", err)
		}
		gone := shoplog.PersonChanged{PersonAdded: added, Why: "left"}
		gone.Until = "2026-02-01"
		must(other.State(t.Context(), by(manager), &gone))(t)
		_, err := enter(t.Context(), s, "new", id(5), take(5))
		wantRefused(t, err, "person")
		must(enter(t.Context(), other, mechanic, id(6), &job.StrikeReading{Entry: 2, Why: "misread"}))(t)
		_, err = enter(t.Context(), s, mechanic, id(7), &job.StrikeReading{Entry: 2, Why: "misread"})
		wantRefused(t, err, "struck")
		for _, s := range []*shop.Shop{s, other} {
			whole(t, s)
		}
	})
}

// waitFor waits until so many asks wait for the writer.
func waitFor(t testing.TB, s *shop.Shop, asks int) {
	t.Helper()
	for s.Waiting() != asks {
		if err := t.Context().Err(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(100 * time.Microsecond)
	}
}

// gate makes Append wait: entered tells that one does, and open lets it go on.
func gate(h *hooked) (entered, open chan struct{}) {
	entered, open = make(chan struct{}), make(chan struct{})
	var once sync.Once
	h.append = func(ctx context.Context, batches []store.Batch) ([]store.Log, error) {
		first := false
		once.Do(func() { first = true })
		if first {
			close(entered)
			<-open
		}
		return h.Store.Append(ctx, batches)
	}
	return entered, open
}

// queue lets asks wait behind one that is being written, so that they are in
// one batch, and returns what each came to.
func queue(t *testing.T, s *shop.Shop, h *hooked, asks ...func() (shop.Done, error)) (dones []shop.Done, errs []error) {
	t.Helper()
	entered, open := gate(h)
	var wait sync.WaitGroup
	wait.Go(func() { good(t)(enter(t.Context(), s, mechanic, "", take(0))) })
	<-entered
	dones, errs = make([]shop.Done, len(asks)), make([]error, len(asks))
	for i, ask := range asks {
		wait.Go(func() { dones[i], errs[i] = ask() })
	}
	waitFor(t, s, len(asks))
	close(open)
	wait.Wait()
	return dones, errs
}

// Who reads waits for nobody who writes.
func TestReadersDoNotWait(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		p.made(t)
		s, h := p.hook(t)
		must(s.Job(t.Context(), order))(t) // up to date from here on
		must(s.List(t.Context()))(t)
		entered, open := gate(h)
		done := make(chan error)
		go func() {
			_, err := enter(t.Context(), s, mechanic, id(1), take(1))
			done <- err
		}()
		<-entered
		// Were one of these to wait for the writer, it would wait for good.
		if state := must(s.Job(t.Context(), order))(t); state.Size != 1 {
			t.Errorf("a reading is seen that is not on disk: %d entries", state.Size)
		}
		must(s.Record(t.Context()))(t)
		must(s.Judged(t.Context(), order))(t)
		must(s.Entries(t.Context(), order))(t)
		must(s.ShopEntries(t.Context()))(t)
		must(s.List(t.Context()))(t)
		must(s.Check(t.Context()))(t)
		if err := s.CheckPassword(t.Context(), manager, password); err != nil {
			t.Error(err)
		}
		close(open)
		if err := <-done; err != nil {
			t.Error(err)
		}
		whole(t, s)
	})
}

// A commit that fails answers nobody as done, whether nothing of it landed or
// all of it did and only the answer was lost. The same again, by the same ids,
// is then entered once.
func TestFailedCommit(t *testing.T) {
	lost := errors.New("the disk failed, and whether it was recorded is not known")
	for name, fail := range map[string]func(context.Context, store.Store, []store.Batch) ([]store.Log, error){
		"before it landed": func(context.Context, store.Store, []store.Batch) ([]store.Log, error) { return nil, lost },
		"after it landed": func(ctx context.Context, st store.Store, batches []store.Batch) ([]store.Log, error) {
			if grown, err := st.Append(ctx, batches); err != nil || grown != nil {
				return grown, err
			}
			return nil, lost
		},
	} {
		t.Run(name, func(t *testing.T) {
			eachPlace(t, func(t *testing.T, p *place) {
				open(t, p.made(t), "2026-015")
				s, h := p.hook(t)
				must(enter(t.Context(), s, mechanic, id(1), take(1)))(t)
				someone := shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
				manages := by(manager)
				manages.ID = id(9)
				asks := []func() (shop.Done, error){
					func() (shop.Done, error) { return enter(t.Context(), s, mechanic, id(2), take(2)) },
					func() (shop.Done, error) { return enter(t.Context(), s, mechanic, id(3), take(3)) },
					func() (shop.Done, error) {
						return s.Enter(t.Context(), by(mechanic), "2026-015", shop.Request{ID: id(4), Request: take(4)})
					},
					func() (shop.Done, error) { return s.State(t.Context(), manages, &someone) },
					func() (shop.Done, error) {
						return enter(t.Context(), s, apprentice, id(5), &job.StrikeReading{Entry: 2})
					},
				}
				entered, open := gate(h)
				first, gated := true, h.append
				h.append = func(ctx context.Context, batches []store.Batch) ([]store.Log, error) {
					if first {
						first = false
						return gated(ctx, batches)
					}
					return fail(ctx, h.Store, batches)
				}
				var wait sync.WaitGroup
				wait.Go(func() { _, _ = enter(t.Context(), s, mechanic, "", take(0)) })
				<-entered
				errs := make([]error, len(asks))
				for i, ask := range asks {
					wait.Go(func() {
						var done shop.Done
						if done, errs[i] = ask(); !reflect.DeepEqual(done, shop.Done{}) {
							t.Errorf("ask %d is answered as %+v", i, done)
						}
					})
				}
				waitFor(t, s, len(asks))
				close(open)
				wait.Wait()
				for i, err := range errs[:4] {
					if !errors.Is(err, lost) {
						t.Errorf("ask %d is answered with %v", i, err)
					}
				}
				wantRefused(t, errs[4], "right")
				h.append = nil
				whole(t, s)

				// A state that was folded anew: everything goes on.
				var acks []acked
				for i, ask := range asks[:4] {
					done, err := ask()
					if err != nil || done.Again != (name == "after it landed") {
						t.Errorf("ask %d again: %+v, %v", i, done, err)
					}
					if i < 3 {
						acks = append(acks, acked{map[bool]string{true: "2026-015", false: order}[i == 2], id(i + 2), done.From})
					}
				}
				wantEntered(t, s, acks)
				if state := must(s.Job(t.Context(), order))(t); state.Size != 5 {
					t.Errorf("%d entries, want 5", state.Size)
				}
				must(enter(t.Context(), s, "new", id(6), take(6)))(t)
				whole(t, s)
				whole(t, p.reopen(t))
			})
		})
	}
}

// Of a batch, what lands lands, and what another program was quicker with is
// decided again: on what is there now.
func TestPartlyGrown(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		open(t, p.made(t), "2026-015")
		other := p.reopen(t)
		s, h := p.hook(t)
		for _, o := range []string{order, "2026-015"} {
			must(s.Job(t.Context(), o))(t)
		}
		calls := 0
		h.call = func(name string) {
			if name != "append" {
				return
			}
			if calls++; calls == 2 { // the first is what the asks wait behind
				good(t)(enter(t.Context(), other, mechanic, id(50), take(50)))
				good(t)(enter(t.Context(), other, mechanic, id(51), &job.StrikeReading{Entry: 2, Why: "misread"}))
			}
		}
		dones, errs := queue(t, s, h,
			func() (shop.Done, error) { return enter(t.Context(), s, mechanic, id(1), take(1)) },
			func() (shop.Done, error) {
				return enter(t.Context(), s, mechanic, id(2), &job.StrikeReading{Entry: 2, Why: "double"})
			},
			func() (shop.Done, error) { return enter(t.Context(), s, mechanic, id(50), take(50)) },
			func() (shop.Done, error) {
				return s.Enter(t.Context(), by(mechanic), "2026-015", shop.Request{ID: id(3), Request: take(3)})
			},
		)
		if errs[0] != nil || errs[2] != nil || errs[3] != nil {
			t.Errorf("%v", errs)
		}
		wantRefused(t, errs[1], "struck")
		if !dones[2].Again || dones[0].Again {
			t.Errorf("%+v", dones)
		}
		wantEntered(t, s, []acked{{order, id(1), dones[0].From}, {order, id(50), dones[2].From}, {"2026-015", id(3), dones[3].From}})
		whole(t, s)
		whole(t, other)
	})
}

// What is entered rests on entries of the shop's log that are there: where
// another program is quicker, nothing stands that rested on what did not land.
func TestEntriesRestOnTheShopsLog(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		p.made(t)
		other := p.reopen(t)
		s, h := p.hook(t)
		must(s.Job(t.Context(), order))(t)
		added := func(s *shop.Shop, handle string) (shop.Done, error) {
			return s.State(t.Context(), by(manager), &shoplog.PersonAdded{Handle: handle, Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"})
		}
		calls := 0
		h.call = func(name string) {
			if name != "append" {
				return
			}
			if calls++; calls == 2 {
				good(t)(added(other, "elsewhere"))
			}
		}
		_, errs := queue(t, s, h,
			func() (shop.Done, error) { return added(s, "new") },
			func() (shop.Done, error) { return enter(t.Context(), s, "new", id(1), take(1)) },
		)
		if errs[0] != nil || errs[1] != nil && codeOf(errs[1]) != "person" {
			t.Errorf("%v", errs)
		}
		shops := must(s.ShopEntries(t.Context()))(t)
		entries := must(s.Entries(t.Context(), order))(t)
		for i := range entries {
			e := &entries[i]
			if _, ok := shoplog.Fold(shops[:e.Shop]).People[e.By]; !ok {
				t.Errorf("entry %d is by %s, who was not of the shop at entry %d of its log", e.Seq, e.By, e.Shop)
			}
		}
		whole(t, s)
		whole(t, other)
	})
}

// Several requests land whole or not at all, and keep nobody else's from being
// entered, however many fail.
func TestWholeOrNotAtAll(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		p.made(t)
		s, h := p.hook(t)
		bad := at("cam.front.-.0", "long")
		var asks []func() (shop.Done, error)
		const n = 40
		for i := range n {
			asks = append(asks,
				func() (shop.Done, error) {
					return s.Enter(t.Context(), by(mechanic), order,
						shop.Request{ID: id(i), Request: take(i)}, shop.Request{ID: id(100 + i), Request: bad}, shop.Request{ID: id(200 + i), Request: take(i)})
				},
				func() (shop.Done, error) {
					return s.Enter(t.Context(), by(mechanic), order,
						shop.Request{ID: id(300 + i), Request: take(i)}, shop.Request{ID: id(400 + i), Request: take(i)})
				})
		}
		dones, errs := queue(t, s, h, asks...)
		var acks []acked
		for i := range n {
			var one *shop.OneOfError
			if !errors.As(errs[2*i], &one) || one.Index != 1 || codeOf(one) != "reading" {
				t.Errorf("the bad one is told as %v", errs[2*i])
			}
			done := dones[2*i+1]
			if errs[2*i+1] != nil || done.To != done.From+1 || !reflect.DeepEqual(done.Each, []int64{done.From, done.To}) {
				t.Errorf("the good one is told as %+v, %v", done, errs[2*i+1])
			}
			acks = append(acks, acked{order, id(300 + i), done.From}, acked{order, id(400 + i), done.To})
		}
		wantEntered(t, s, acks)
		whole(t, s)
		if size := must(s.Job(t.Context(), order))(t).Size; size != 2+2*n {
			t.Errorf("%d entries, want %d", size, 2+2*n)
		}
	})
}

// The same id with the same body is answered as it was; with another body it is
// refused. It does not matter when, nor by which program.
func TestSameAgain(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s, h := p.madeHooked(t)
		register := &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod A", Part: "rod", Found: "rod-1"}}
		register2 := &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod B", Part: "rod", Found: "rod-2"}}
		swap := &job.Fit{Places: []job.ItemFitted{{Position: "rod-1", Item: "rod B"}, {Position: "rod-2", Item: "rod A"}}}
		who := shop.Who{Handle: mechanic, Device: "phone", Made: p.clock.now()}
		send := func(s *shop.Shop, n int, r job.Request) (shop.Done, error) {
			return s.Enter(t.Context(), who, order, shop.Request{ID: id(n), Request: r})
		}
		both := func(s *shop.Shop) (shop.Done, error) {
			return s.Enter(t.Context(), who, order, shop.Request{ID: id(5), Request: take(5)}, shop.Request{ID: id(6), Request: take(6)})
		}
		all := []func(s *shop.Shop) (shop.Done, error){
			func(s *shop.Shop) (shop.Done, error) { return send(s, 1, register) },
			func(s *shop.Shop) (shop.Done, error) { return send(s, 2, register2) },
			func(s *shop.Shop) (shop.Done, error) { return send(s, 3, swap) }, // four entries
			func(s *shop.Shop) (shop.Done, error) { return send(s, 4, take(4)) },
			both,
			func(s *shop.Shop) (shop.Done, error) {
				return send(s, 7, &job.HandOver{HandedOver: job.HandedOver{To: mechanic}})
			},
			func(s *shop.Shop) (shop.Done, error) {
				who := by(manager)
				who.ID = id(8)
				return s.State(t.Context(), who, &shoplog.PersonAdded{Handle: "new", Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"})
			},
		}
		who.Handle = inspector // who may hand over
		var first []shop.Done
		for _, ask := range all {
			done := must(ask(s))(t)
			if done.Again {
				t.Errorf("new, and answered as %+v", done)
			}
			first = append(first, done)
		}
		same := func(when string, s *shop.Shop) {
			t.Helper()
			for i, ask := range all {
				done, err := ask(s)
				want := first[i]
				want.Again = true
				if err != nil || !reflect.DeepEqual(done, want) {
					t.Errorf("%s: answered as %+v, %v, at first as %+v", when, done, err, first[i])
				}
			}
		}
		same("at once", s)
		whole(t, s)

		// In one batch with what comes before it, and with itself.
		var asks []func() (shop.Done, error)
		for range 3 {
			asks = append(asks, func() (shop.Done, error) { return send(s, 20, take(20)) })
		}
		asks = append(asks,
			func() (shop.Done, error) {
				return s.Enter(t.Context(), who, order, shop.Request{ID: id(21), Request: take(21)}, shop.Request{ID: id(21), Request: take(21)})
			},
			func() (shop.Done, error) {
				return s.Enter(t.Context(), who, order, shop.Request{ID: id(22), Request: take(22)}, shop.Request{ID: id(22), Request: take(23)})
			})
		dones, errs := queue(t, s, h, asks...)
		again := 0
		for _, d := range dones[:3] {
			if d.From != dones[0].From {
				t.Errorf("one reading sent three times is at %+v", dones)
			}
			if d.Again {
				again++
			}
		}
		if again != 2 || errors.Join(errs[:4]...) != nil || dones[3].Each[0] != dones[3].Each[1] {
			t.Errorf("%+v, %v", dones, errs)
		}
		wantRefused(t, errs[4], "id")
		whole(t, s)

		// Other bodies.
		device := who
		device.Device = "another"
		person := who
		person.Handle = mechanic
		made := who
		made.Made = made.Made.AddDate(0, 0, 1)
		for _, err := range []error{
			errOf(send(s, 4, take(5))),
			errOf(send(s, 4, register)),
			errOf(send(s, 3, &job.Fit{Places: swap.Places[:1]})),
			errOf(s.Enter(t.Context(), device, order, shop.Request{ID: id(4), Request: take(4)})),
			errOf(s.Enter(t.Context(), person, order, shop.Request{ID: id(4), Request: take(4)})),
			errOf(s.Enter(t.Context(), made, order, shop.Request{ID: id(4), Request: take(4)})),
			errOf(s.State(t.Context(), shop.Who{Handle: manager, ID: id(8)}, &shoplog.PersonAdded{Handle: "new", Name: "N. Alt", Role: shoplog.Mechanic, Since: "2026-01-01"})),
		} {
			wantRefused(t, err, "id")
		}
		_, err := s.Enter(t.Context(), who, order, shop.Request{ID: "4", Request: take(4)})
		wantRefused(t, err, "id")
		_, err = s.Enter(t.Context(), who, order, shop.Request{ID: strings.ToUpper(id(4)), Request: take(4)})
		wantRefused(t, err, "id")
		whole(t, s)

		// Later, when the one who has the job in hand has left, and who sent it too.
		for _, someone := range people()[:3] {
			gone := shoplog.PersonChanged{PersonAdded: someone, Why: "left"}
			gone.Until = "2026-11-30"
			must(s.State(t.Context(), by(manager), &gone))(t)
		}
		must(s.State(t.Context(), by(manager), &shoplog.PolicySet{TwoPeople: true, Why: "as agreed"}))(t)
		p.clock.set(who.Made.AddDate(0, 1, 0))
		same("a month later", s)
		same("to another program", p.reopen(t))
		whole(t, s)
	})
}

// good wants an answer without an error; it may be asked for by any goroutine.
func good(t testing.TB) func(shop.Done, error) {
	return func(_ shop.Done, err error) {
		t.Helper()
		if err != nil {
			t.Error(err)
		}
	}
}

func errOf(_ shop.Done, err error) error { return err }

// madeHooked makes the shop and opens it on a store that the test reaches into.
func (p *place) madeHooked(t testing.TB) (*shop.Shop, *hooked) {
	t.Helper()
	p.made(t)
	return p.hook(t)
}

// A job's state that other jobs took the place of is read again.
func TestMoreJobsThanAreKept(t *testing.T) {
	p := inMemory(t)
	made := p.made(t)
	var orders []string
	for i := range 240 {
		orders = append(orders, fmt.Sprint("27-", i))
		open(t, made, orders[i])
	}
	s, h := p.hook(t)
	must(s.Record(t.Context()))(t)
	for _, write := range []bool{false, true} {
		var asks []func() (shop.Done, error)
		for i, o := range orders {
			asks = append(asks, func() (shop.Done, error) {
				if write {
					return s.Enter(t.Context(), by(mechanic), o, shop.Request{ID: id(i), Request: take(i)})
				}
				state, err := s.Job(t.Context(), o)
				if err == nil && (state == nil || state.About.Order != o) {
					err = fmt.Errorf("of %s is seen %+v", o, state)
				}
				return shop.Done{}, err
			})
		}
		_, errs := queue(t, s, h, asks...)
		if err := errors.Join(errs...); err != nil {
			t.Error(err)
		}
	}
	whole(t, s)
}

// Who gave up before it was their turn has entered nothing.
func TestCancelled(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s, h := p.madeHooked(t)
		ctx, cancel := context.WithCancel(t.Context())
		entered, open := gate(h)
		var wait sync.WaitGroup
		wait.Go(func() { good(t)(enter(t.Context(), s, mechanic, id(1), take(1))) })
		<-entered
		wait.Go(func() {
			if _, err := enter(ctx, s, mechanic, id(2), take(2)); !errors.Is(err, context.Canceled) {
				t.Errorf("cancelled while it waited: %v", err)
			}
		})
		wait.Go(func() { good(t)(enter(t.Context(), s, mechanic, id(3), take(3))) })
		waitFor(t, s, 2)
		cancel()
		close(open)
		wait.Wait()
		if _, err := enter(ctx, s, mechanic, id(4), take(4)); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled before: %v", err)
		}
		if size := must(s.Job(t.Context(), order))(t).Size; size != 3 {
			t.Errorf("%d entries, want 3", size)
		}
		whole(t, s)

		// Once it is being written, it is carried through: who asked is told.
		ctx, cancel = context.WithCancel(t.Context())
		entered, open = gate(h)
		wait.Go(func() {
			if _, err := enter(ctx, s, mechanic, id(5), take(5)); err != nil {
				t.Errorf("cancelled while it was written: %v", err)
			}
		})
		<-entered
		cancel()
		close(open)
		wait.Wait()
		whole(t, s)
	})
}

// Close waits for what is being written; whoever waits is answered, and whoever
// comes later is refused. What was answered as done is there.
func TestClose(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s, h := p.madeHooked(t)
		entered, open := gate(h)
		var wait sync.WaitGroup
		wait.Go(func() { good(t)(enter(t.Context(), s, mechanic, id(0), take(0))) })
		<-entered
		const n = 20
		dones, errs := make([]shop.Done, n), make([]error, n)
		for i := range n {
			wait.Go(func() { dones[i], errs[i] = enter(t.Context(), s, mechanic, id(i+1), take(i+1)) })
		}
		waitFor(t, s, n)
		closed := make(chan struct{})
		go func() { s.Close(); close(closed) }()
		close(open)
		wait.Wait()
		<-closed
		var acks []acked
		for i := range n {
			switch {
			case errs[i] == nil:
				acks = append(acks, acked{order, id(i + 1), dones[i].From})
			case !errors.Is(errs[i], shop.ErrClosed):
				t.Errorf("told as %v", errs[i])
			}
		}
		for i := range 50 {
			if _, err := enter(t.Context(), s, mechanic, id(100+i), take(i)); !errors.Is(err, shop.ErrClosed) {
				t.Fatalf("entered after it was closed: %v", err)
			}
		}
		again := p.reopen(t)
		wantEntered(t, again, acks)
		whole(t, again)
		if size := must(again.Job(t.Context(), order))(t).Size; size != int64(2+len(acks)) {
			t.Errorf("%d entries, and %d were answered", size, len(acks))
		}
	})
}

// intrude lets something happen, by another program, at the nth call of the
// store while do runs, each time in a copy of the shop. It tries n from the first
// call on until do makes no more.
func intrude(t *testing.T, p *place, do func(t *testing.T, s *shop.Shop) error, then func(t *testing.T, s *shop.Shop)) (points int) {
	t.Helper()
	for n := 1; ; n++ {
		p := p.copy(t)
		other := p.reopen(t)
		s, h := p.hook(t)
		must(s.Job(t.Context(), order))(t)
		var calls atomic.Int64
		h.call = func(string) {
			if calls.Add(1) == int64(n) {
				then(t, other)
			}
		}
		err := do(t, s)
		h.call = nil
		if err != nil {
			t.Errorf("with another program at call %d: %v", n, err)
		}
		whole(t, s)
		whole(t, other)
		if calls.Load() < int64(n) || t.Failed() {
			return n - 1
		}
	}
}

// copy copies a shop, into memory.
func (p *place) copy(t testing.TB) *place {
	t.Helper()
	c := inMemory(t)
	c.fill(t, p.keep(t))
	return c
}

// Whoever is in one batch with what breaks the program is told, and whoever
// comes later is served: where a server catches what one request broke, the
// writer must not be lost with it.
func TestPanic(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s, h := p.madeHooked(t)
		calls := 0
		h.call = func(name string) {
			if name != "append" {
				return
			}
			if calls++; calls == 2 { // the first is what the asks wait behind
				panic("BUG: only to try")
			}
		}
		var panicked atomic.Int64
		var asks []func() (shop.Done, error)
		for i := range 4 {
			asks = append(asks, func() (done shop.Done, err error) {
				defer func() {
					if x := recover(); x != nil {
						panicked.Add(1)
						err = errors.New("it panicked")
					}
				}()
				return enter(t.Context(), s, mechanic, id(i), take(i))
			})
		}
		dones, errs := queue(t, s, h, asks...)
		for i, err := range errs {
			if err == nil {
				t.Errorf("ask %d is answered as %+v", i, dones[i])
			}
		}
		if n := panicked.Load(); n != 1 {
			t.Errorf("%d of them panicked", n)
		}
		h.call = nil
		for i := range asks {
			must(enter(t.Context(), s, mechanic, id(i), take(i)))(t)
		}
		if size := must(s.Job(t.Context(), order))(t).Size; size != 6 {
			t.Errorf("%d entries, want 6", size)
		}
		whole(t, s)
		s.Close()
	})
}

// What is asked again is decided again as of the day that it was in the shop, not
// elsewhere: where the shop is ahead of UTC, who began today was there this
// morning.
func TestAgainOnTheShopsDay(t *testing.T) {
	p := inMemory(t)
	s := p.made(t)
	ahead := time.FixedZone("far east", 13*60*60)
	o := p.options()
	o.Now = func() time.Time { return time.Date(2026, 11, 26, 8, 0, 0, 0, ahead) } // the 25th in UTC
	s.Close()
	s = must(shop.Open(t.Context(), p.open(t), o))(t)
	defer s.Close()
	must(s.State(t.Context(), by(manager), &shoplog.PersonAdded{Handle: "zz", Name: "Z. Neu", Role: shoplog.Mechanic, Since: "2026-11-26"}))(t)
	hand := &job.HandOver{HandedOver: job.HandedOver{To: "zz"}}
	first := must(enter(t.Context(), s, manager, id(40), hand))(t)
	if again := must(enter(t.Context(), s, manager, id(40), hand))(t); !again.Again || again.From != first.From {
		t.Errorf("answered as %+v, first as %+v", again, first)
	}
}
