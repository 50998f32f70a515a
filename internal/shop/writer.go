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
	err    error
	answer chan struct{} // once: it was answered, or it is its turn to write
	leads  bool

	left int // tries
}

// ErrClosed tells that the shop was closed before it was entered.
var ErrClosed = errors.New("tenths is stopping: nothing was recorded")

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
	many    bool      // the last commit was of several; who leads knows
}

// enter hands an ask to the writer and waits for the answer.
func (s *Shop) enter(ctx context.Context, a *ask) (Done, error) {
	a.ctx, a.answer, a.left = ctx, make(chan struct{}, 1), tries
	var err error
	if a.by.ID, err = idOf(a.by.ID); err != nil {
		return Done{}, err
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
	if l.many {
		// Who was answered just now may have more: one commit for all of them.
		runtime.Gosched()
	}
	l.mu.Lock()
	n := min(len(l.waiting), most)
	l.many = n > 1
	batch := slices.Clone(l.waiting[:n])
	l.waiting = append(l.waiting[:0], l.waiting[n:]...)
	l.mu.Unlock()

	for asks := batch; len(asks) > 0; {
		asks = s.writer.commit(asks)
	}
	for _, a := range batch {
		if !a.leads {
			a.answer <- struct{}{}
		}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
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
	own  *ahead[*shoplog.State]
	jobs map[string]*ahead[*job.State] // by log
	turn int64
}

// ahead is a log's state as the writer has it, and the lines behind what is on
// disk that it is ahead by.
type ahead[S any] struct {
	state S
	tree  ledger.Tree
	base  int64 // entries on disk
	lines [][]byte
	turn  int64 // when it was used last
}

// commit decides a batch, commits what it comes to, and answers; it returns
// what must be decided again: since another process was quicker, or since what
// it was decided behind was taken back.
func (w *writer) commit(asks []*ask) (again []*ask) {
	ctx := context.Background()
	w.turn++
	touched, undone := map[string]bool{}, map[string]bool{}
	err := w.loadShop(ctx, slices.ContainsFunc(asks, func(a *ask) bool { return a.log == shoplog.Log && len(a.facts) == 0 }))
	for _, a := range asks {
		if a.err = err; a.err == nil {
			a.err = a.ctx.Err()
		}
		if a.err != nil || undone[a.log] {
			continue
		}
		touched[a.log] = true
		var half bool
		if a.done, half, a.err = w.decide(ctx, a); half {
			undone[a.log] = true
		}
	}
	for log := range undone {
		w.forget(log)
	}
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
		stale := a.err == nil && undone[a.log]
		if a.err != nil && errors.As(a.err, new(*record.Refusal)) {
			// By what is known here. Is that all there is to know?
			stale = w.behind(ctx, shoplog.Log) || w.behind(ctx, a.log)
		}
		if !stale {
			continue
		}
		if a.left--; a.left > 0 {
			again = append(again, a)
			continue
		}
		a.err = errors.New("another program kept writing to this record: nothing was recorded; try again")
	}
	w.evict()
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
		w.forget(string(l))
		undone[string(l)] = true
		if last := batches[len(batches)-1]; l == last.Log && len(last.Entries) == 0 {
			for log := range touched { // the condition did not hold: nothing was appended
				w.forget(log)
				undone[log] = true
			}
		}
	}
	return nil
}

// behind tells whether another process added to a log since it was read, and
// if so forgets it.
func (w *writer) behind(ctx context.Context, log string) bool {
	var base int64
	if log == shoplog.Log {
		if w.own == nil {
			return true
		}
		base = w.own.base
	} else if j, ok := w.jobs[log]; ok {
		base = j.base
	} else {
		return false // it was read just now, and forgotten
	}
	size, err := w.shop.store.Size(ctx, store.Log(log))
	if err != nil || size == base {
		return false
	}
	w.forget(log)
	return true
}

// decide finds out what an ask comes to, and puts its entries behind the log's.
// half tells that some of them stand there and the others may not.
func (w *writer) decide(ctx context.Context, a *ask) (done Done, half bool, err error) {
	now := w.shop.options.Now()
	if a.log == shoplog.Log {
		done, err = w.decideShop(ctx, a, now)
		return done, false, err
	}
	j, err := w.loadJob(ctx, a.log, len(a.requests) == 0)
	if err != nil {
		return Done{}, false, err
	}
	before := len(j.lines)
	done = Done{Log: a.log, From: j.state.Size + 1, To: j.state.Size, Again: len(a.requests) > 0}
	for i := range a.requests {
		one, err := w.decideJob(ctx, a, &a.requests[i], j, now)
		if err != nil {
			if len(a.requests) > 1 {
				err = &OneOfError{i, err}
			}
			return Done{}, len(j.lines) > before, err
		}
		if !one.Again {
			done.Again = false
			done.To = one.To
		}
		done.Each = append(done.Each, one.From)
	}
	if len(a.requests) > 0 && done.Again {
		done.From, done.To = done.Each[0], done.Each[len(done.Each)-1]
	}
	return done, false, nil
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
func (w *writer) decideJob(ctx context.Context, a *ask, r *Request, j *ahead[*job.State], now time.Time) (Done, error) {
	if seq := j.state.Seen(r.ID); seq > 0 {
		return w.againJob(ctx, a, r, j, seq, now)
	}
	if err := mayJob(w.own.state, a.by.Handle, r.Request, now); err != nil {
		return Done{}, err
	}
	known, err := w.known(ctx, a, r, j.state, now)
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
func (w *writer) known(ctx context.Context, a *ask, r *Request, state *job.State, now time.Time) (job.Known, error) {
	edition := state.Edition
	if open, ok := r.Request.(*job.Open); ok {
		edition = open.Edition
	}
	k := job.Known{By: a.by.Handle, Now: now, Shop: w.own.state}
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
		if err := shoplog.Decide(w.own.state, fact); err != nil {
			return Done{}, err
		}
	}
	return put(a, a.by.ID, w.own, w.own.state.Size, now, a.facts)
}

// againJob answers what came before under the same id: as it was answered then,
// where it is the same.
func (w *writer) againJob(ctx context.Context, a *ask, r *Request, j *ahead[*job.State], seq int64, now time.Time) (Done, error) {
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
	known, err := w.known(ctx, a, r, before, now)
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
type state[F any] interface {
	Apply(*record.Entry[F])
	At() int64
}

// put writes facts as entries and puts them behind a log's.
func put[F fact, S state[F]](a *ask, id string, to *ahead[S], shopSize int64, now time.Time, facts []F) (Done, error) {
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
// those behind it say.
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
	if w.own != nil && !fresh {
		return nil
	}
	if w.own != nil {
		size, err := w.shop.store.Size(ctx, shoplog.Log)
		if err != nil || size == w.own.base {
			return err
		}
	}
	own := &ahead[*shoplog.State]{state: shoplog.New()}
	if err := load(ctx, w.shop.store, shoplog.Log, own, shoplog.Kinds, nil); err != nil {
		return err
	}
	w.own = own
	w.publish(shoplog.Log)
	return nil
}

// loadJob returns a job's state; fresh looks whether another process added to
// it. Where it does not, Append tells.
func (w *writer) loadJob(ctx context.Context, log string, fresh bool) (*ahead[*job.State], error) {
	j, ok := w.jobs[log]
	if ok && fresh && len(j.lines) == 0 {
		size, err := w.shop.store.Size(ctx, store.Log(log))
		if err != nil {
			return nil, err
		}
		ok = size == j.base
	}
	if !ok {
		j = &ahead[*job.State]{state: job.New(log)}
		if err := load(ctx, w.shop.store, log, j, job.Kinds, sealsOf(w.own.state, log)); err != nil {
			return nil, err
		}
		w.jobs[log] = j
	}
	j.turn = w.turn
	return j, nil
}

// load folds a log from its first entry, and holds its root against the seals
// that the shop's log echoes of it.
func load[F any, S state[F]](ctx context.Context, st store.Store, log string, to *ahead[S], kinds record.Kinds[F], seals []shoplog.JobSealed) error {
	for line, err := range st.Read(ctx, store.Log(log), 0) {
		if err != nil {
			return err
		}
		e, err := readLine(log, to.base, line, kinds)
		if err != nil {
			return err
		}
		to.state.Apply(&e)
		to.tree.Add(ledger.HashLine(line))
		to.base++
		if len(seals) > 0 && seals[0].Size == to.base {
			if to.tree.Root().String() != seals[0].Root {
				return store.Damaged("%s was changed before its seal with %d entries", log, to.base)
			}
			seals = seals[1:]
		}
	}
	if n := len(seals); n > 0 {
		return store.Damaged("%s is shorter than sealed: it has %d entries, and had %d", log, to.base, seals[n-1].Size)
	}
	return nil
}

// sealsOf returns the seals of a job's log that the shop's log echoes.
func sealsOf(s *shoplog.State, log string) []shoplog.JobSealed {
	return s.Jobs[s.Orders[strings.TrimPrefix(log, jobLog(""))]].Seals
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
		w.own.base, w.own.lines = w.own.base+int64(len(w.own.lines)), nil
		w.shop.shop.Store(&seen[*shoplog.State]{w.own.state.Snapshot(), w.own.tree.Clone()})
		return
	}
	j, ok := w.jobs[log]
	if !ok {
		return // it could not be read
	}
	j.base, j.lines = j.base+int64(len(j.lines)), nil
	w.shop.job(log).Store(&seen[*job.State]{j.state.Snapshot(), j.tree.Clone()})
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
