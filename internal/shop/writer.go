package shop

import (
	"bytes"
	"context"
	"errors"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// most is how many requests go into one commit.
const most = 256

// tries is how often a request is decided again because another process was
// quicker.
const tries = 20

// A Request is what is asked of a job, and the id of it.
type Request struct {
	ID string // a UUID, made where the request was made; empty: one is made
	job.Request
}

// An ask waits for the writer. One with neither facts nor requests only wants
// the log to be read up to its end.
type ask struct {
	ctx      context.Context
	by       Who
	log      string
	facts    []shoplog.Fact // for the shop's log
	requests []Request      // for a job's: all of them, or none
	founding bool           // the shop is being made: nobody has rights yet

	done   Done
	seen   *seen[*job.State] // the job's state, with what was entered
	err    error
	answer chan struct{} // once: it was answered, or it is its turn to write
	leads  bool

	left int // tries
}

// ErrClosed tells that the shop was closed before it was entered.
var ErrClosed = errors.New("tenths is stopping: nothing was recorded")

// errBroken tells whoever was in one batch with what broke the writer.
var errBroken = errors.New("the program failed while recording, and whether it was recorded is not known: enter it again under the same id")

// A line is the asks that wait for the writer. Who comes while nobody writes
// writes for all that wait; who comes later waits to be answered, or to be told
// that it is their turn. So a lone writer waits for nobody's wake-up, and many
// have one commit between them.
type line struct {
	mu      sync.Mutex
	waiting []*ask
	busy    bool
	closed  bool
	idle    sync.Cond // nobody writes
	crowd   int       // how many had something to enter, last time
}

// enter hands an ask to the writer and waits for the answer.
func (s *Shop) enter(ctx context.Context, a *ask) (Done, error) {
	a.ctx, a.answer, a.left = ctx, make(chan struct{}, 1), tries
	var err error
	if len(a.facts) > 0 {
		if a.by.ID, err = idOf(a.by.ID); err != nil {
			return Done{}, err
		}
	}
	for i := range a.requests {
		if a.requests[i].ID, err = idOf(a.requests[i].ID); err != nil {
			return Done{}, err
		}
	}
	if a.by.Device == "" {
		a.by.Device = s.options.Device
	}
	if err := record.Line("the device", a.by.Device, record.Short, false); err != nil {
		return Done{}, err
	}
	l := &s.line
	l.mu.Lock()
	if l.closed {
		l.mu.Unlock()
		return Done{}, ErrClosed
	}
	l.waiting = append(l.waiting, a)
	a.leads, l.busy = !l.busy, true
	l.mu.Unlock()
	if !a.leads {
		<-a.answer // it may be entered by now: who asks waits to be told
	}
	if a.leads {
		s.lead()
	}
	return a.done, a.err
}

// lead writes what waits, and tells who is next to do so.
func (s *Shop) lead() {
	l := &s.line
	l.gather()
	l.mu.Lock()
	n := min(len(l.waiting), most)
	batch := slices.Clone(l.waiting[:n])
	l.waiting = append(l.waiting[:0], l.waiting[n:]...)
	l.mu.Unlock()

	defer l.next(n)
	defer func() {
		for _, a := range batch {
			if !a.leads {
				a.answer <- struct{}{}
			}
		}
	}()
	finished := false
	defer func() {
		if finished {
			return
		}
		// It panicked: whoever asked along is not kept waiting, and the state is
		// folded anew.
		s.writer.own = nil
		clear(s.writer.jobs)
		for _, a := range batch {
			if a.err == nil {
				a.done, a.err = Done{}, errBroken
			}
		}
	}()
	for asks := batch; len(asks) > 0; {
		asks = s.writer.commit(asks)
	}
	finished = true
}

// patience is how long who leads waits for those who were answered just now to
// come again: a commit takes about as long, and one for all is quicker than two.
const patience = 150 * time.Microsecond

// gather waits until as many stand in line as last time, and not for long. Who
// is alone waits for nobody.
func (l *line) gather() {
	l.mu.Lock()
	crowd := min(l.crowd, most)
	l.mu.Unlock()
	if crowd < 2 {
		return
	}
	for begin := time.Now(); time.Since(begin) < patience; {
		runtime.Gosched()
		l.mu.Lock()
		n := len(l.waiting)
		l.mu.Unlock()
		if n >= crowd {
			return
		}
	}
}

// next tells who is next to write, if anybody waits, after n were answered.
func (l *line) next(n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.crowd = n + len(l.waiting)
	if len(l.waiting) == 0 {
		l.busy = false
		l.idle.Broadcast()
		return
	}
	next := l.waiting[0]
	next.leads = true
	next.answer <- struct{}{}
}

// close keeps others from entering anything, and waits for those who have.
func (l *line) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	for l.busy {
		l.idle.Wait()
	}
}

// idOf returns the id that was given, or a new one.
func idOf(given string) (string, error) {
	if given == "" {
		id, err := uuid.NewV7()
		return id.String(), err
	}
	if id, err := uuid.Parse(given); err != nil || id.String() != given {
		return "", record.Refuse("id", "make one by RFC 9562, in small letters", "%q is not a UUID", given)
	}
	return given, nil
}

// A writer has what is decided on: the states with what is not committed yet.
type writer struct {
	shop *Shop
	own  *aheadShop
	jobs map[string]*aheadJob // by log
	turn int64
}

// ahead is a log's state as the writer has it, and the lines behind what is on
// disk that it is ahead by.
type ahead[F any, S state[F, S]] struct {
	state S
	tree  ledger.Tree
	base  int64 // entries on disk
	lines [][]byte
	turn  int64 // when it was used last

	disk  *seen[S] // as it is without the lines; readers see it
	grown bool     // another process added to it: what came is to be read
}

type (
	aheadShop = ahead[shoplog.Fact, *shoplog.State]
	aheadJob  = ahead[job.Fact, *job.State]
)

// now returns the state as it is, to come back to.
func (a *ahead[F, S]) now() *seen[S] { return &seen[S]{a.state.Snapshot(), a.tree.Clone()} }

// back takes back what was decided since the state was like that and so many
// lines waited.
func (a *ahead[F, S]) back(to *seen[S], lines int) {
	a.state.Back(to.state)
	a.tree = to.tree.Clone()
	a.lines = a.lines[:lines]
}

// settle tells that all lines are on disk.
func (a *ahead[F, S]) settle() {
	a.base, a.lines = a.base+int64(len(a.lines)), nil
	a.disk = a.now()
}

// takeBack takes back all that is not on disk, since another process was
// quicker: what it added is read when the state is wanted.
func (a *ahead[F, S]) takeBack() {
	a.back(a.disk, 0)
	a.grown = true
}

// commit decides a batch, commits what it comes to, and answers; it returns
// what must be decided again, since another process was quicker. What is
// entered in the shop's log is committed first: a job's entries rest on what
// the shop's log has on disk, and on nothing that may not land.
func (w *writer) commit(asks []*ask) (again []*ask) {
	w.turn++
	defer w.evict()
	ofShop := func(a *ask) bool { return a.log == shoplog.Log }
	jobs := slices.DeleteFunc(slices.Clone(asks), ofShop)
	if len(jobs) == len(asks) || len(jobs) == 0 {
		return w.commitPart(asks)
	}
	again = w.commitPart(slices.DeleteFunc(slices.Clone(asks), func(a *ask) bool { return !ofShop(a) }))
	return append(again, w.commitPart(jobs)...)
}

// commitPart commits what is of the shop's log alone, or of jobs' alone.
func (w *writer) commitPart(asks []*ask) (again []*ask) {
	ctx := context.Background()
	touched, undone := map[string]bool{}, map[string]bool{}
	err := w.loadShop(ctx, slices.ContainsFunc(asks, func(a *ask) bool { return a.log == shoplog.Log && len(a.facts) == 0 }))
	byLog := map[string][]*ask{}
	for _, a := range asks {
		if a.err = err; a.err == nil {
			a.err = a.ctx.Err()
		}
		if a.err == nil {
			touched[a.log] = true
			byLog[a.log] = append(byLog[a.log], a)
		}
	}
	w.decideAll(ctx, byLog)
	if err := w.append(ctx, touched, undone); err != nil {
		// What is on disk is read again before anything else is decided.
		for log := range touched {
			w.forget(log)
		}
		for _, a := range asks {
			if a.err == nil {
				a.done, a.err = Done{}, err
			}
		}
		return nil
	}
	for log := range touched {
		if !undone[log] {
			w.publish(log)
		}
	}
	for _, a := range asks {
		refused := a.err != nil && errors.As(a.err, new(*record.Refusal))
		stale := undone[a.log] && (a.err == nil || refused)
		if refused && !stale {
			// By what is known here. Is that all there is to know?
			stale = w.behind(ctx, shoplog.Log) || w.behind(ctx, a.log)
		}
		if j := w.jobs[a.log]; j != nil {
			a.seen = j.disk
		}
		if !stale {
			continue
		}
		a.done = Done{}
		if a.left--; a.left > 0 {
			again = append(again, a)
			continue
		}
		a.err = errors.New("another program kept writing to this record: nothing was recorded; try again")
	}
	return again
}

// append commits what was decided, all logs together, and adds to undone those
// whose entries did not land since another process was quicker.
func (w *writer) append(ctx context.Context, touched, undone map[string]bool) error {
	var batches []store.Batch
	for log := range touched {
		if base, lines := w.pending(log); len(lines) > 0 {
			batches = append(batches, store.Batch{Log: store.Log(log), Size: base, Entries: lines})
		}
	}
	if len(batches) == 0 {
		return nil
	}
	if !slices.ContainsFunc(batches, func(b store.Batch) bool { return b.Log == shoplog.Log }) {
		// Nothing is entered by rights that another process took away.
		batches = append(batches, store.Batch{Log: shoplog.Log, Size: w.own.base})
	}
	grown, err := w.shop.store.Append(ctx, batches)
	if err != nil || len(grown) == 0 {
		return err
	}
	for _, l := range grown {
		w.takeBack(string(l))
		undone[string(l)] = true
		if last := batches[len(batches)-1]; l == last.Log && len(last.Entries) == 0 {
			for log := range touched { // the condition did not hold: nothing was appended
				if j, ok := w.jobs[log]; ok {
					j.back(j.disk, 0)
				}
				undone[log] = true
			}
		}
	}
	return nil
}

// behind tells whether another process added to a log since it was read; what
// it added is read when the state is wanted.
func (w *writer) behind(ctx context.Context, log string) bool {
	base := int64(-1)
	if log == shoplog.Log && w.own != nil {
		base = w.own.base
	} else if j, ok := w.jobs[log]; ok {
		base = j.base
	}
	if base < 0 {
		return false // it was read just now, and could not be
	}
	size, err := w.shop.store.Size(ctx, store.Log(log))
	if err != nil || size == base {
		return false
	}
	w.takeBack(log)
	return true
}

// takeBack takes back what a log is ahead by.
func (w *writer) takeBack(log string) {
	if log == shoplog.Log && w.own != nil {
		w.own.takeBack()
	} else if j, ok := w.jobs[log]; ok {
		j.takeBack()
	}
}

// several is from how many jobs on deciding them side by side is worth it.
const several = 4

// decideAll decides what waits, of each log in its order. Jobs know nothing of
// each other, so that many are decided side by side.
func (w *writer) decideAll(ctx context.Context, byLog map[string][]*ask) {
	now := w.shop.options.Now()
	for _, a := range byLog[shoplog.Log] {
		a.done, a.err = w.decideShop(ctx, a, now)
	}
	delete(byLog, shoplog.Log)
	var ready []string
	for log, asks := range byLog {
		fresh := slices.ContainsFunc(asks, func(a *ask) bool { return len(a.requests) == 0 })
		if _, err := w.loadJob(ctx, log, fresh); err != nil {
			for _, a := range asks {
				a.err = err
			}
			continue
		}
		ready = append(ready, log)
	}
	decide := func(log string) {
		for _, a := range byLog[log] {
			a.done, a.err = w.decide(ctx, a, w.jobs[log], now)
		}
	}
	if len(ready) < several {
		for _, log := range ready {
			decide(log)
		}
		return
	}
	var wait sync.WaitGroup
	var next atomic.Int64
	var failed atomic.Pointer[any]
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					failed.Store(&p)
				}
			}()
			for n := int(next.Add(1)) - 1; n < len(ready); n = int(next.Add(1)) - 1 {
				decide(ready[n])
			}
		})
	}
	wait.Wait()
	if p := failed.Load(); p != nil {
		panic(*p) // in the hands of who leads, as if it had happened there
	}
}

// decide finds out what an ask of a job comes to, and puts its entries behind
// the log's: all of them, or none.
func (w *writer) decide(ctx context.Context, a *ask, j *aheadJob, now time.Time) (Done, error) {
	var before *seen[*job.State]
	waiting := len(j.lines)
	if len(a.requests) > 1 {
		before = j.now()
	}
	done := Done{Log: a.log, From: j.state.Size + 1, To: j.state.Size, Again: len(a.requests) > 0}
	last := int64(0)
	for i := range a.requests {
		one, err := w.decideJob(ctx, a, &a.requests[i], j, now)
		if err != nil {
			if len(a.requests) > 1 {
				j.back(before, waiting)
				err = &OneOfError{i, err}
			}
			return Done{}, err
		}
		if !one.Again {
			done.Again = false
			done.To = one.To
		}
		last = max(last, one.To)
		done.Each = append(done.Each, one.From)
	}
	if len(a.requests) > 0 && done.Again {
		done.From, done.To = done.Each[0], last
	}
	return done, nil
}

// A OneOfError says which of several requests, from 0, can't be entered. None
// of them was.
type OneOfError struct {
	Index int
	Err   error
}

func (e *OneOfError) Error() string { return e.Err.Error() }

// Unwrap returns why.
func (e *OneOfError) Unwrap() error { return e.Err }

// decideJob decides one request.
func (w *writer) decideJob(ctx context.Context, a *ask, r *Request, j *aheadJob, now time.Time) (Done, error) {
	if seq := j.state.Seen(r.ID); seq > 0 {
		return w.againJob(ctx, a, r, j, seq)
	}
	if err := mayJob(w.own.state, a.by.Handle, r.Request, now); err != nil {
		return Done{}, err
	}
	known, err := w.known(ctx, a, r, j.state, w.own.state, now)
	if err != nil {
		return Done{}, err
	}
	facts, err := job.Decide(j.state, known, r.Request)
	if err != nil {
		return Done{}, err
	}
	return put(a, r.ID, j, w.own.state.Size, now, facts)
}

// known is what the rules need to decide an ask beside the job.
func (w *writer) known(ctx context.Context, a *ask, r *Request, state *job.State, of *shoplog.State, now time.Time) (job.Known, error) {
	edition := state.Edition
	if open, ok := r.Request.(*job.Open); ok {
		edition = open.Edition
	}
	k := job.Known{By: a.by.Handle, Now: now, Shop: of}
	if edition == "" {
		return k, nil // the rules refuse it
	}
	var err error
	if k.Book, err = w.shop.Book(ctx, edition); errors.Is(err, store.ErrNotFound) {
		err = record.Refuse("edition", "a manager adopts it with tenths shop adopt", "the shop has no edition %.16s of a book", edition)
	}
	return k, err
}

func (w *writer) decideShop(ctx context.Context, a *ask, now time.Time) (Done, error) {
	if len(a.facts) == 0 {
		return Done{Log: a.log, To: w.own.state.Size}, nil
	}
	if seq := w.own.state.Seen(a.by.ID); seq > 0 {
		lines, err := w.lines(ctx, a.log, w.own.base, w.own.lines)
		if err != nil {
			return Done{}, err
		}
		return same(a, a.by.ID, lines, seq, a.facts)
	}
	if !a.founding { // else nobody has rights yet, and Make has looked at both facts
		fact := a.facts[0]
		if err := may(w.own.state, a.by.Handle, ofShop(fact), now); err != nil {
			return Done{}, err
		}
		if err := shoplog.Decide(w.own.state, fact, now); err != nil {
			return Done{}, err
		}
		if err := w.led(ctx, fact, now); err != nil {
			return Done{}, err
		}
	}
	return put(a, a.by.ID, w.own, w.own.state.Size, now, a.facts)
}

// led refuses a change after which only managers without a password were left:
// the shop asks for one before it is changed, and for a manager's to set another's.
// Passwords are not of the record, so that its own rules can't look at them.
func (w *writer) led(ctx context.Context, f shoplog.Fact, now time.Time) error {
	changed, ok := f.(*shoplog.PersonChanged)
	if !ok || changed.Leads(now) {
		return nil
	}
	var others []string
	for _, h := range w.own.state.Leaders(now) {
		if h == changed.Handle {
			continue
		}
		_, err := w.shop.store.Secret(ctx, h)
		if err == nil || !errors.Is(err, store.ErrNotFound) {
			return err
		}
		others = append(others, h)
	}
	return record.Refuse("last-manager", "set one first with tenths person password", "nobody would be left who can run the shop: %s has no password yet", strings.Join(others, ", "))
}

// againJob answers what came before under the same id: as it was answered then,
// where it is the same. It is decided as it was decided then: on the job and
// the shop as they were, on that day.
func (w *writer) againJob(ctx context.Context, a *ask, r *Request, j *aheadJob, seq int64) (Done, error) {
	lines, err := w.lines(ctx, a.log, j.base, j.lines)
	if err != nil {
		return Done{}, err
	}
	before := job.New(a.log)
	for i, line := range lines[:seq-1] {
		e, err := readLine(a.log, int64(i), line, job.Kinds)
		if err != nil {
			return Done{}, err
		}
		before.Apply(&e)
	}
	first, err := ledger.Read(lines[seq-1])
	if err != nil {
		return Done{}, err
	}
	of := shoplog.New()
	for line, err := range w.shop.store.Read(ctx, shoplog.Log, 0) {
		if err != nil {
			return Done{}, err
		}
		if of.Size == first.Shop {
			break
		}
		e, err := readLine(shoplog.Log, of.Size, line, shoplog.Kinds)
		if err != nil {
			return Done{}, err
		}
		of.Apply(&e)
	}
	then := first.Recorded.Time().In(w.shop.options.Now().Location()) // which day it was is the shop's to say
	known, err := w.known(ctx, a, r, before, of, then)
	if err != nil {
		return Done{}, err
	}
	facts, err := job.Decide(before, known, r.Request)
	if err != nil {
		return Done{}, otherBody(r.ID, seq)
	}
	return same(a, r.ID, lines, seq, facts)
}

// otherBody refuses an id that something else has.
func otherBody(id string, seq int64) error {
	return record.Refuse("id", "give what is new an id of its own", "entry %d has the id %s and says something else", seq, id)
}

// fact is a fact of either log.
type fact interface{ Kind() string }

// state is what the states of both logs have in common.
type state[F, S any] interface {
	Apply(*record.Entry[F])
	At() int64
	Snapshot() S
	Back(S)
}

// put writes facts as entries and puts them behind a log's.
func put[F fact, S state[F, S]](a *ask, id string, to *ahead[F, S], shopSize int64, now time.Time, facts []F) (Done, error) {
	done := Done{Log: a.log, From: to.state.At() + 1, To: to.state.At() + int64(len(facts))}
	lines := make([][]byte, len(facts))
	entries := make([]record.Entry[F], len(facts))
	for i, f := range facts {
		raw, err := ledger.Marshal(f)
		if err != nil {
			return Done{}, err
		}
		made := a.by.Made
		if made.IsZero() {
			made = now
		}
		e := ledger.Entry{
			V: ledger.Version, Log: a.log, Seq: done.From + int64(i), Shop: shopSize, ID: nth(id, i),
			Made: ledger.At(made), Recorded: ledger.At(now), By: a.by.Handle, Device: a.by.Device, Kind: f.Kind(), Fact: raw,
		}
		if lines[i], err = ledger.Encode(e); err != nil {
			return Done{}, record.Refuse("long", "", "%v", err)
		}
		entries[i] = record.Entry[F]{Entry: e, What: f}
	}
	for i := range entries {
		to.state.Apply(&entries[i])
		to.tree.Add(ledger.HashLine(lines[i]))
	}
	to.lines = append(to.lines, lines...)
	return done, nil
}

// nth is the id of the nth fact of a request: the first has the request's own.
func nth(id string, n int) string {
	if n == 0 {
		return id
	}
	return ledger.ID("tenths fact", id, strconv.Itoa(n))
}

// same answers again what entry seq answered, where the facts are what it and
// those behind it say, and all that they say.
func same[F fact](a *ask, id string, lines [][]byte, seq int64, facts []F) (Done, error) {
	done := Done{Log: a.log, From: seq, To: seq + int64(len(facts)) - 1, Again: true}
	if done.To > int64(len(lines)) {
		return Done{}, otherBody(id, seq)
	}
	for i, f := range facts {
		e, err := ledger.Read(lines[seq-1+int64(i)])
		if err != nil {
			return Done{}, err
		}
		raw, err := ledger.Marshal(f)
		if err != nil {
			return Done{}, err
		}
		if e.ID != nth(id, i) || e.By != a.by.Handle || e.Device != a.by.Device || e.Kind != f.Kind() ||
			!bytes.Equal(e.Fact, raw) || !a.by.Made.IsZero() && e.Made != ledger.At(a.by.Made) {
			return Done{}, otherBody(id, seq)
		}
	}
	if done.To < int64(len(lines)) {
		next, err := ledger.Read(lines[done.To])
		if err != nil {
			return Done{}, err
		}
		if next.ID == nth(id, len(facts)) {
			return Done{}, otherBody(id, seq)
		}
	}
	return done, nil
}

// lines returns all lines of a log: those on disk, and behind them those that
// wait.
func (w *writer) lines(ctx context.Context, log string, base int64, waiting [][]byte) ([][]byte, error) {
	all := make([][]byte, 0, base+int64(len(waiting)))
	for line, err := range w.shop.store.Read(ctx, store.Log(log), 0) {
		if err != nil {
			return nil, err
		}
		all = append(all, line)
	}
	if int64(len(all)) < base {
		return nil, store.Damaged("%s had %d entries and has %d", log, base, len(all))
	}
	return append(all[:base], waiting...), nil
}

// loadShop sees to it that there is a state of the shop; fresh looks whether
// another process added to it. Where it does not, Append tells.
func (w *writer) loadShop(ctx context.Context, fresh bool) error {
	var own *aheadShop
	own, w.own = w.own, nil // until it is read
	if own == nil {
		own = &aheadShop{state: shoplog.New(), grown: true}
	}
	news, err := load(ctx, w.shop.store, shoplog.Log, own, fresh, shoplog.Kinds, func() []Sealed { return w.shop.kept(ctx) })
	if err != nil {
		return err
	}
	w.own = own
	if news {
		w.publish(shoplog.Log)
	}
	return nil
}

// loadJob returns a job's state; fresh looks whether another process added to
// it. Where it does not, Append tells.
func (w *writer) loadJob(ctx context.Context, log string, fresh bool) (*aheadJob, error) {
	j, ok := w.jobs[log]
	if !ok {
		j = &aheadJob{state: job.New(log), grown: true}
	}
	if _, err := load(ctx, w.shop.store, log, j, fresh, job.Kinds, func() []Sealed { return sealsOf(w.own.state, log) }); err != nil {
		delete(w.jobs, log)
		return nil, err
	}
	w.jobs[log] = j
	j.turn = w.turn
	return j, nil
}

// load folds what a state has not of its log, where that is known or looked for,
// and holds the log's root against its seals. It tells whether there was any.
func load[F any, S state[F, S]](ctx context.Context, st store.Store, log string, to *ahead[F, S], fresh bool, kinds record.Kinds[F], sealsOf func() []Sealed) (news bool, err error) {
	if fresh && !to.grown && len(to.lines) == 0 {
		size, err := st.Size(ctx, store.Log(log))
		if err != nil {
			return false, err
		}
		to.grown = size != to.base
	}
	if !to.grown {
		return false, nil
	}
	seals := sealsOf()
	before := to.base
	for line, err := range st.Read(ctx, store.Log(log), to.base) {
		if err != nil {
			return false, err
		}
		e, err := readLine(log, to.base, line, kinds)
		if err != nil {
			return false, err
		}
		to.state.Apply(&e)
		to.tree.Add(ledger.HashLine(line))
		to.base++
		if seals, err = hold(seals, &to.tree); err != nil {
			return false, err
		}
	}
	if n := len(seals); n > 0 && seals[n-1].Size > to.base {
		return false, store.Damaged("%s is shorter than sealed: it has %d entries, and by its seal of %s it had %d", log, to.base, seals[n-1].At, seals[n-1].Size)
	}
	if to.disk != nil && to.base == before {
		return false, store.Damaged("%s had %d entries and has fewer", log, before)
	}
	to.grown, to.disk = false, to.now()
	return true, nil
}

// sealsOf returns the seals of a job's log that the shop's log echoes.
func sealsOf(s *shoplog.State, log string) []Sealed {
	id := strings.TrimPrefix(log, jobLog(""))
	var seals []Sealed
	for _, echo := range s.Jobs[s.Orders[id]].Seals {
		root, _ := ledger.ParseHash(echo.Root)
		seal, _ := ledger.ReadSeal(echo.Seal)
		seals = append(seals, Sealed{ledger.Seal{Shop: s.ID, Log: log, Size: echo.Size, Root: root, At: seal.At}, echo.Seal})
	}
	return seals
}

// pending returns what waits to be committed to a log.
func (w *writer) pending(log string) (base int64, lines [][]byte) {
	if log == shoplog.Log && w.own != nil {
		return w.own.base, w.own.lines
	}
	if j, ok := w.jobs[log]; ok {
		return j.base, j.lines
	}
	return 0, nil // it could not be read, or was taken back
}

// forget drops a log's state: it is read anew when it is needed.
func (w *writer) forget(log string) {
	if log == shoplog.Log {
		w.own = nil
		return
	}
	delete(w.jobs, log)
}

// publish lets readers see a log's state: all that it is ahead by is on disk.
func (w *writer) publish(log string) {
	if log == shoplog.Log {
		w.own.settle()
		w.shop.shop.Store(w.own.disk)
		return
	}
	j, ok := w.jobs[log]
	if !ok {
		return // it could not be read
	}
	j.settle()
	w.shop.job(log).Store(j.disk)
}

// loaded is how many jobs the writer keeps in memory.
const loaded = 100

// evict drops the states that were not used for longest.
func (w *writer) evict() {
	for len(w.jobs) > loaded {
		oldest := ""
		for log, j := range w.jobs {
			if oldest == "" || j.turn < w.jobs[oldest].turn {
				oldest = log
			}
		}
		delete(w.jobs, oldest)
		w.shop.forget(oldest)
	}
}
