package shop_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/store/memory"
	"tenths/internal/store/sqlite"
)

// bookText is an invented engine with one camshaft and four rods.
const bookText = `format: book/1
engine: Small invented engine
manual: {title: Small manual, number: SM-1, revision: "1"}
unit: in
conditions:
  bushing: [new, used]
parts:
  cam:
    name: Camshaft
    features:
      front: {name: Front journal, kind: outside, directions: [0, 90]}
  rod:
    name: Rods
    positions: 4
    features:
      width: {name: Width, kind: outside, directions: [0, 180]}
lines:
  journal: {name: Front journal diameter, size: cam.front, new: 1.4985..1.4990, service: 1.4970}
  rod-width: {name: Width of rod, size: rod.width, new: 1.3660..1.3680, service: 1.3640, when: {bushing: used}}
  rod-width-new: {name: Width of rod, size: rod.width, new: 1.3665..1.3680, service: 1.3650, when: {bushing: new}}
`

// People of the test's shop, by handle.
const (
	manager    = "mp"
	inspector  = "ow"
	second     = "wi" // another inspector
	mechanic   = "kd"
	apprentice = "ap"
)

const password = "correct horse"

// order is the work order of the job that most tests are on.
const order = "2026-014"

// people are those beside the manager.
func people() []shoplog.PersonAdded {
	return []shoplog.PersonAdded{
		{Handle: inspector, Name: "O. Weiss", Role: shoplog.Inspector, Certificate: "inspection authorization", Number: "77120", Since: "2026-01-01"},
		{Handle: second, Name: "W. Immer", Role: shoplog.Inspector, Certificate: "inspection authorization", Number: "77121", Since: "2026-01-01"},
		{Handle: mechanic, Name: "K. Dorn", Role: shoplog.Mechanic, Certificate: "mechanic", Number: "204411", Since: "2026-01-01"},
		{Handle: apprentice, Name: "A. Prinz", Role: shoplog.Apprentice, Since: "2026-01-01"},
	}
}

// A clock goes on by a millisecond each time that it is looked at.
type clock struct{ milli atomic.Int64 }

func (c *clock) now() time.Time { return time.UnixMilli(c.milli.Add(1)).UTC() }

func (c *clock) set(t time.Time) { c.milli.Store(t.UnixMilli()) }

// A place is where a shop is kept, so that it can be opened again, and by two
// programs at once.
type place struct {
	dir   string
	clock *clock
	open  func(testing.TB) store.Store
}

func (p *place) options() shop.Options {
	return shop.Options{Dir: p.dir, Device: "bench", Program: "tenths test", Now: p.clock.now}
}

// reopen opens the shop as another program would.
func (p *place) reopen(t testing.TB) *shop.Shop {
	t.Helper()
	s, _ := p.through(t, func(st store.Store) store.Store { return st })
	return s
}

// through opens the shop on a store that hands on to its own.
func (p *place) through(t testing.TB, wrap func(store.Store) store.Store) (*shop.Shop, store.Store) {
	t.Helper()
	st := wrap(p.open(t))
	s, err := shop.Open(t.Context(), st, p.options())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, st
}

func inMemory(t testing.TB) *place {
	st := memory.New()
	return newPlace(t, func(testing.TB) store.Store { return st })
}

func onDisk(t testing.TB) *place {
	p := newPlace(t, nil)
	p.open = fileIn(p.dir)
	return p
}

// fileIn opens the record in a folder, and makes it the first time.
func fileIn(dir string) func(testing.TB) store.Store {
	path := filepath.Join(dir, shop.Database)
	return func(t testing.TB) store.Store {
		t.Helper()
		open := sqlite.Open
		if _, err := os.Stat(path); err != nil {
			open = sqlite.Create
		}
		st := must(open(t.Context(), path))(t)
		t.Cleanup(func() { st.Close() })
		return st
	}
}

func newPlace(t testing.TB, open func(testing.TB) store.Store) *place {
	p := &place{dir: t.TempDir(), clock: new(clock), open: open}
	p.clock.set(time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	return p
}

// eachPlace runs a test in memory and on disk.
func eachPlace(t *testing.T, run func(t *testing.T, p *place)) {
	t.Run("memory", func(t *testing.T) { t.Parallel(); run(t, inMemory(t)) })
	t.Run("sqlite", func(t *testing.T) { t.Parallel(); run(t, onDisk(t)) })
}

// made makes the shop with its people, who have passwords, and the job, and
// returns it open.
func (p *place) made(t testing.TB) *shop.Shop {
	t.Helper()
	p.fill(t, theShop(t))
	return p.reopen(t)
}

// A kept shop is one as it is, to be made again elsewhere.
type kept struct {
	logs    map[store.Log][][]byte
	secrets map[string]string
	files   map[string][]byte
	milli   int64
}

var shopOnce struct {
	sync.Once
	kept
}

// theShop is the shop of the tests. It is made once: passwords take their time
// by design.
func theShop(t testing.TB) kept {
	t.Helper()
	shopOnce.Do(func() {
		p := inMemory(t)
		s := found(t, p)
		for _, someone := range people() {
			must(s.State(t.Context(), by(manager), &someone))(t)
			if err := s.SetPassword(t.Context(), by(manager), someone.Handle, passwordOf(someone.Handle)); err != nil {
				t.Fatal(err)
			}
		}
		open(t, s, order)
		shopOnce.kept = p.keep(t)
	})
	if shopOnce.logs == nil {
		t.Fatal("the shop could not be made")
	}
	return shopOnce.kept
}

// passwordOf is somebody's password.
func passwordOf(handle string) string {
	if handle == manager {
		return password
	}
	return password + " " + handle
}

// found makes a shop and its first person.
func found(t testing.TB, p *place) *shop.Shop {
	t.Helper()
	first := shoplog.PersonAdded{Handle: manager, Name: "M. Pohl", Role: shoplog.Manager, Since: "2026-01-01"}
	s := must(shop.Make(t.Context(), p.open(t), p.options(), "Corner Engine Shop", first, password))(t)
	t.Cleanup(s.Close)
	return s
}

// keep returns what is in a place. The only blob that is known is the book.
func (p *place) keep(t testing.TB) kept {
	t.Helper()
	k := kept{map[store.Log][][]byte{}, map[string]string{}, map[string][]byte{}, p.clock.milli.Load()}
	st := p.open(t)
	for l := range must(st.Logs(t.Context()))(t) {
		for line, err := range st.Read(t.Context(), l, 0) {
			k.logs[l] = append(k.logs[l], must(line, err)(t))
		}
	}
	for _, handle := range []string{manager, inspector, second, mechanic, apprentice} {
		if secret, err := st.Secret(t.Context(), handle); !errors.Is(err, store.ErrNotFound) {
			k.secrets[handle] = must(secret, err)(t)
		}
	}
	for _, name := range []string{shop.KeyFile, shop.SealsDir + "/*"} {
		for _, path := range must(filepath.Glob(filepath.Join(p.dir, name)))(t) {
			k.files[must(filepath.Rel(p.dir, path))(t)] = must(os.ReadFile(path))(t)
		}
	}
	return k
}

// fill makes a kept shop again in an empty place.
func (p *place) fill(t testing.TB, k kept) {
	t.Helper()
	st := p.open(t)
	var batches []store.Batch
	for _, l := range slices.Backward(slices.Sorted(maps.Keys(k.logs))) { // the shop's is the first
		batches = append(batches, store.Batch{Log: l, Entries: k.logs[l]})
	}
	if grown := must(st.Append(t.Context(), batches))(t); len(grown) > 0 {
		t.Fatalf("%v are there already", grown)
	}
	must(st.PutBlob(t.Context(), []byte(bookText)))(t)
	for handle, secret := range k.secrets {
		if err := st.PutSecret(t.Context(), handle, secret); err != nil {
			t.Fatal(err)
		}
	}
	for name, data := range k.files {
		path := filepath.Join(p.dir, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o777), os.WriteFile(path, data, 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	p.clock.milli.Store(k.milli)
}

// open opens a job on the test's book, which it adopts the first time.
func open(t testing.TB, s *shop.Shop, order string) {
	t.Helper()
	must(s.OpenJob(t.Context(), by(inspector), jobOf(t, s, order)))(t)
}

// jobOf is a job as it is to be opened.
func jobOf(t testing.TB, s *shop.Shop, order string) job.JobOpened {
	t.Helper()
	return job.JobOpened{
		Order: order, Model: "Four", Serial: "1127", Reason: "overhaul", Customer: "a club", Authority: "14 CFR 43",
		Limits: job.ServiceLimits, Edition: adopt(t, s, bookText),
	}
}

// adopt adopts a book where it is not adopted yet.
func adopt(t testing.TB, s *shop.Shop, text string) (edition string) {
	t.Helper()
	e, err := s.Adopt(t.Context(), by(manager), "book.yaml", []byte(text))
	if err != nil && codeOf(err) != "adopted" {
		t.Fatal(err)
	}
	return e.Edition
}

func by(handle string) shop.Who { return shop.Who{Handle: handle} }

func must[V any](v V, err error) func(testing.TB) V {
	return func(t testing.TB) V {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// codeOf is the code of a refusal; "" where the error is none.
func codeOf(err error) string {
	var r *record.Refusal
	if errors.As(err, &r) {
		return r.Code
	}
	return ""
}

// wantRefused wants a refusal of that code, with its reason.
func wantRefused(t testing.TB, err error, code string) {
	t.Helper()
	var r *record.Refusal
	if !errors.As(err, &r) || r.Code != code || r.Why == "" {
		t.Errorf("refused for %v, want the code %q", err, code)
	}
}

// id makes the nth id of a test.
func id(n int) string { return ledger.ID("test", strconv.Itoa(n)) }

// take is a reading of the front journal, the nth of many.
func take(n int) *job.Take {
	r := &job.Take{}
	r.Spot, r.Value = "cam.front.-."+[]string{"0", "90"}[n%2], fmt.Sprintf("1.%04d", 4970+n%20)
	return r
}

// at is a reading of one value at a spot.
func at(spot, value string) *job.Take {
	r := &job.Take{}
	r.Spot, r.Value = spot, value
	return r
}

// enter enters one request with an id.
func enter(ctx context.Context, s *shop.Shop, handle, id string, r job.Request) (shop.Done, error) {
	return s.Enter(ctx, by(handle), order, shop.Request{ID: id, Request: r})
}

// whole holds a record to what is always so: it is as it was written and
// sealed; what readers see of a log is what its entries fold to; no id is in a
// log twice; and no entry knew more of the shop's log than there was.
func whole(t testing.TB, s *shop.Shop) {
	t.Helper()
	if _, err := s.Check(t.Context()); err != nil {
		t.Errorf("check: %v", err)
	}
	state := must(s.Record(t.Context()))(t)
	entries := must(s.ShopEntries(t.Context()))(t)
	unique(t, "shop", entries)
	if diff := cmp.Diff(shoplog.Fold(entries[:state.Size]).Snapshot(), state, inside); diff != "" {
		t.Errorf("what the shop's log folds to (-) is not what readers see (+):\n%s", diff)
	}
	for number, j := range state.Jobs {
		entries := must(s.Entries(t.Context(), number))(t)
		unique(t, number, entries)
		for i := range entries {
			if e := &entries[i]; e.Shop > state.Size {
				t.Errorf("%s: entry %d knew %d entries of the shop's log, and there are %d", number, e.Seq, e.Shop, state.Size)
			}
		}
		if len(entries) == 0 {
			continue // numbered, and never opened
		}
		seen := must(s.Job(t.Context(), number))(t)
		if diff := cmp.Diff(job.Fold("job/"+j.ID, entries[:seen.Size]).Snapshot(), seen, inside); diff != "" {
			t.Errorf("what %s folds to (-) is not what readers see (+):\n%s", number, diff)
		}
	}
}

// inside compares states as they are inside.
var inside = cmp.Exporter(func(reflect.Type) bool { return true })

func unique[F any](t testing.TB, log string, entries []record.Entry[F]) {
	t.Helper()
	at := map[string]int64{}
	for i := range entries {
		e := &entries[i]
		if e.Seq != int64(i)+1 {
			t.Errorf("%s: entry %d says that it is %d", log, i+1, e.Seq)
		}
		if first, ok := at[e.ID]; ok {
			t.Errorf("%s: the id of entry %d is that of entry %d too", log, e.Seq, first)
		}
		at[e.ID] = e.Seq
	}
}

// A hooked store is another that a test reaches into.
type hooked struct {
	store.Store
	call   func(name string) // before each call
	append func(ctx context.Context, batches []store.Batch) (grown []store.Log, err error)
}

func (h *hooked) before(name string) {
	if h.call != nil {
		h.call(name)
	}
}

func (h *hooked) Append(ctx context.Context, batches []store.Batch) ([]store.Log, error) {
	h.before("append")
	if h.append != nil {
		return h.append(ctx, batches)
	}
	return h.Store.Append(ctx, batches)
}

func (h *hooked) Read(ctx context.Context, l store.Log, from int64) iter.Seq2[[]byte, error] {
	h.before("read")
	return h.Store.Read(ctx, l, from)
}

func (h *hooked) Size(ctx context.Context, l store.Log) (int64, error) {
	h.before("size")
	return h.Store.Size(ctx, l)
}

func (h *hooked) Logs(ctx context.Context) (map[store.Log]int64, error) {
	h.before("logs")
	return h.Store.Logs(ctx)
}

func (h *hooked) Blob(ctx context.Context, sha256 string) ([]byte, error) {
	h.before("blob")
	return h.Store.Blob(ctx, sha256)
}

func (h *hooked) PutBlob(ctx context.Context, data []byte) (string, error) {
	h.before("put blob")
	return h.Store.PutBlob(ctx, data)
}

func (h *hooked) Secret(ctx context.Context, name string) (string, error) {
	h.before("secret")
	return h.Store.Secret(ctx, name)
}

func (h *hooked) Derived(ctx context.Context, code string) ([]store.Derived, error) {
	h.before("derived")
	return h.Store.Derived(ctx, code)
}

func (h *hooked) PutDerived(ctx context.Context, code string, rows []store.Derived) error {
	h.before("put derived")
	return h.Store.PutDerived(ctx, code, rows)
}

// hook opens the shop once more, on a store that the test reaches into.
func (p *place) hook(t testing.TB) (*shop.Shop, *hooked) {
	t.Helper()
	h := &hooked{}
	s, _ := p.through(t, func(st store.Store) store.Store { h.Store = st; return h })
	return s, h
}

func TestMakeAndOpen(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		st := p.open(t)
		if _, err := shop.Open(t.Context(), st, p.options()); codeOf(err) != "no-shop" {
			t.Errorf("an empty record: %v", err)
		}
		first := shoplog.PersonAdded{Handle: manager, Name: "M. Pohl", Role: shoplog.Mechanic, Since: "2026-01-01"}
		_, err := shop.Make(t.Context(), st, p.options(), "Corner Engine Shop", first, password)
		wantRefused(t, err, "role")
		first.Role = shoplog.Manager
		_, err = shop.Make(t.Context(), st, p.options(), "Corner Engine Shop", first, "short")
		wantRefused(t, err, "new-password")
		_, err = shop.Make(t.Context(), st, p.options(), "", first, password)
		wantRefused(t, err, "empty")
		// What was refused has left nothing, so that it can be done right now.
		s := found(t, p)
		must(s.OpenJob(t.Context(), by(manager), jobOf(t, s, order)))(t)
		_, err = shop.Make(t.Context(), p.open(t), p.options(), "Another", first, password)
		wantRefused(t, err, "shop")
		whole(t, s)
		again := p.reopen(t)
		whole(t, again)
		if diff := cmp.Diff(must(s.Job(t.Context(), order))(t), must(again.Job(t.Context(), order))(t), inside); diff != "" {
			t.Errorf("before (-) and opened again (+):\n%s", diff)
		}
		_, err = s.Job(t.Context(), "no-such-order")
		wantRefused(t, err, "order")
	})
}

// The number comes first. Where a job has no more than that, opening it goes on,
// whoever does it.
func TestNumberedAndNotOpened(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		p.made(t)
		s, h := p.hook(t)
		broken := errors.New("the disk failed")
		h.append = func(ctx context.Context, batches []store.Batch) ([]store.Log, error) {
			for _, b := range batches {
				if b.Log != shoplog.Log {
					return nil, broken
				}
			}
			return h.Store.Append(ctx, batches)
		}
		about := jobOf(t, s, "2026-015")
		who := by(inspector)
		who.ID = id(1)
		if _, err := s.OpenJob(t.Context(), who, about); !errors.Is(err, broken) {
			t.Fatalf("opened: %v", err)
		}
		h.append = nil
		_, err := s.Job(t.Context(), about.Order)
		wantRefused(t, err, "empty")
		list := must(s.List(t.Context()))(t)
		if len(list) != 2 || list[1].Problem == "" || list[0].Problem != "" {
			t.Errorf("the list has %+v", list)
		}
		whole(t, s)

		// The same again, by the same id, then again; and the other way about.
		done := must(s.OpenJob(t.Context(), who, about))(t)
		again := must(s.OpenJob(t.Context(), who, about))(t)
		if done.From != 1 || done.Again || !again.Again || again.From != 1 {
			t.Errorf("opened as %+v, then %+v", done, again)
		}
		_, err = s.OpenJob(t.Context(), by(manager), about)
		wantRefused(t, err, "order")
		whole(t, s)
		if n := len(must(s.Record(t.Context()))(t).Jobs); n != 2 {
			t.Errorf("there are %d jobs", n)
		}
	})
}

// A refused job takes no number.
func TestRefusedJobTakesNoNumber(t *testing.T) {
	s := inMemory(t).made(t)
	about := jobOf(t, s, "2026-015")
	for code, change := range map[string]func(*job.JobOpened){
		"limits":  func(j *job.JobOpened) { j.Limits = "some" },
		"edition": func(j *job.JobOpened) { j.Edition = strings.Repeat("0", 64) },
		"hours":   func(j *job.JobOpened) { j.SinceNew = "many" },
		"empty":   func(j *job.JobOpened) { j.Customer = "" },
		"long":    func(j *job.JobOpened) { j.Order = strings.Repeat("9", 41) },
	} {
		wrong := about
		change(&wrong)
		_, err := s.OpenJob(t.Context(), by(inspector), wrong)
		wantRefused(t, err, code)
	}
	_, err := s.OpenJob(t.Context(), by(mechanic), about)
	wantRefused(t, err, "right")
	if n := len(must(s.Record(t.Context()))(t).Jobs); n != 1 {
		t.Errorf("there are %d jobs", n)
	}
	whole(t, s)
}

// The writer's clock is only shown: the order of the entries is theirs.
func TestClockSetBack(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		must(enter(t.Context(), s, mechanic, id(1), take(1)))(t)
		p.clock.set(time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC))
		back := must(enter(t.Context(), s, mechanic, id(2), take(2)))(t)
		must(enter(t.Context(), s, mechanic, id(3), take(3)))(t)
		p.clock.set(time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC))
		told := must(s.State(t.Context(), by(manager), &shoplog.PolicySet{TwoPeople: true, Why: "so"}))(t)
		must(s.State(t.Context(), by(manager), &shoplog.PolicySet{Why: "not so"}))(t)
		for _, s := range []*shop.Shop{s, p.reopen(t)} {
			if state := must(s.Record(t.Context()))(t); !slices.Equal(state.Jumps, []int64{told.From}) || state.Size != told.From+1 {
				t.Errorf("%d entries of the shop's log, jumps at %v, want one at %d", state.Size, state.Jumps, told.From)
			}
			if state := must(s.Job(t.Context(), order))(t); !slices.Equal(state.Jumps, []int64{back.From}) || state.Size != back.From+1 {
				t.Errorf("%d entries, jumps at %v, want one at %d", state.Size, state.Jumps, back.From)
			}
		}
		whole(t, s)
	})
}

// Whatever text stands in a request: it is refused, or what was written can be
// read back as entries are written.
func TestHostileText(t *testing.T) {
	s := inMemory(t).made(t)
	must(enter(t.Context(), s, mechanic, id(0), &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod A", Part: "rod", Found: "rod-1"}}))(t)
	reading := must(enter(t.Context(), s, mechanic, id(1), take(1)))(t)
	note := at("cam.front.-.0", "1.4980")
	for _, r := range []job.Request{
		note,
		&job.WriteNote{NoteWritten: job.NoteWritten{Text: "a note", Spot: "cam.front.-.0", Item: "rod A"}},
		&job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod B", Part: "rod", Number: "1", Serial: "2", Found: "rod-2"}},
		&job.StrikeReading{Entry: reading.From, Why: "misread"},
		&job.ReturnFromRework{Item: "rod A", Sites: []string{"width"}, What: "ground"},
		&job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}},
		&job.HandOver{HandedOver: job.HandedOver{To: mechanic, Note: "mind the rods"}},
		&job.Fit{Places: []job.ItemFitted{{Position: "rod-3", Item: "rod A"}}},
	} {
		for _, text := range []string{
			"\xff", "a\xc0\xafb", "\xed\xa0\x80", "a\x00b", "a\nb", "a\r\nb", "\u2028", "\u202e", "\ufeff", "\ufffd", " a", "a ", "<&>", `"\`, "\x7f", "é", "日本",
			strings.Repeat("x", 1<<20), strings.Repeat("é", 40_000), strings.Repeat("[", 5000), `{"a":1,"a":2}`,
		} {
			before := must(s.Job(t.Context(), order))(t).Size
			eachText(reflect.ValueOf(r).Elem(), text, func() {
				_, _ = s.Enter(t.Context(), by(inspector), order, shop.Request{Request: r})
			})
			who := by(mechanic)
			who.Device = text
			_, _ = s.Enter(t.Context(), who, order, shop.Request{Request: take(2)})
			if _, err := s.Check(t.Context()); err != nil {
				t.Fatalf("after %T with %.20q, behind entry %d: %v", r, text, before, err)
			}
		}
	}
	whole(t, s)
}

// eachText puts a text into each field that holds one, in turn.
func eachText(v reflect.Value, text string, try func()) {
	switch v.Kind() {
	case reflect.String:
		was := v.String()
		v.SetString(text)
		try()
		v.SetString(was)
	case reflect.Struct:
		for i := range v.NumField() {
			eachText(v.Field(i), text, try)
		}
	case reflect.Slice:
		for i := range v.Len() {
			eachText(v.Index(i), text, try)
		}
	}
}

// What readers were given stays as it is, whoever goes on using what it was
// made of.
func TestRequestsAreTheCallersOwn(t *testing.T) {
	s := inMemory(t).made(t)
	note, item := &job.WriteNote{}, &job.RegisterItem{}
	for i := range 4 {
		note.Text = fmt.Sprint("note ", i)
		item.ItemRegistered = job.ItemRegistered{Item: fmt.Sprint("rod ", i), Part: "rod", Found: fmt.Sprint("rod-", i+1)}
		must(s.Enter(t.Context(), by(mechanic), order, shop.Request{Request: note}, shop.Request{Request: item}))(t)
	}
	state := must(s.Job(t.Context(), order))(t)
	for i := range state.Notes {
		if want := fmt.Sprint("note ", i); state.Notes[i].Text != want {
			t.Errorf("note %d is %q", i, state.Notes[i].Text)
		}
	}
	whole(t, s)
}

// A book that alters nothing is another edition all the same.
func TestEditionThatAltersNothing(t *testing.T) {
	s := inMemory(t).made(t)
	next := adopt(t, s, bookText+"# as before\n")
	list, change, err := s.Alters(t.Context(), order, next)
	if err != nil || len(list) > 0 {
		t.Fatalf("it alters %q: %v", list, err)
	}
	must(enter(t.Context(), s, inspector, id(1), change))(t)
	if got := must(s.Job(t.Context(), order))(t).Edition; got != next {
		t.Errorf("the edition is %s", got)
	}
	whole(t, s)

	var out bytes.Buffer
	must(s.Export(t.Context(), by(mechanic), order, &out))(t)
	wantVerified(t, s, out.Bytes())
}
