// Package shop is what people do in a shop: who may do what, entering it into
// the record, and reading the record.
//
// All that is entered goes through one writer, which takes what waits, decides
// each request against the state in memory, commits all of it at once, and only
// then answers. What was answered is on disk. Readers get the state as
// of some moment and wait for nobody. Another process may write to the same
// record: the writer notices that a log has grown, reads what came, and decides
// again.
package shop

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/whole"
)

// Files in a shop's folder.
const (
	Database = "tenths.db" // the record
	KeyFile  = "seal.key"  // the secret half of the key that seals are signed with
	SealsDir = "seals"     // the last seal of each log, beside the record
)

// Options are what a shop is opened with.
type Options struct {
	Dir     string // of the key and the seals; empty: neither is kept
	Device  string // what entries say they were made on
	Program string // name and version, for signatures
	Now     func() time.Time
}

// A Shop is an open shop. All of it may be called at once.
type Shop struct {
	store   store.Store
	options Options

	line   line
	writer writer // of who leads the line

	mu    sync.Mutex
	shop  atomic.Pointer[seen[*shoplog.State]]
	jobs  map[string]*atomic.Pointer[seen[*job.State]] // by log
	books map[string]*book.Book                        // by edition

	hashing sync.Mutex // one password at a time: each takes 19 MiB
}

// seen is what readers see of a log.
type seen[S any] struct {
	state S
	tree  ledger.Tree
}

// Make makes a shop in a store that is empty: its key, its log, and the first
// person, who is a manager.
func Make(ctx context.Context, st store.Store, o Options, name string, first shoplog.PersonAdded, password string) (*Shop, error) {
	size, err := st.Size(ctx, shoplog.Log)
	if err != nil {
		return nil, err
	}
	if size > 0 {
		return nil, record.Refuse("shop", "", "there is a shop there already")
	}
	id := uuid.Must(uuid.NewV7()).String()
	secret, public, err := ledger.NewKey(id)
	if err != nil {
		return nil, err
	}
	if first.Role != shoplog.Manager {
		return nil, record.Refuse("role", "make the first person manager", "somebody must run the shop")
	}
	hash, err := hashPassword(password)
	if err != nil {
		return nil, err
	}
	s := start(st, o)
	// Both facts are looked at before either is written.
	now := s.options.Now()
	made := &shoplog.ShopMade{ID: id, Name: name, Key: public}
	begun := shoplog.New()
	err = shoplog.Decide(begun, made, now)
	if err == nil {
		begun.ID = id
		err = shoplog.Decide(begun, &first, now)
	}
	if err == nil && !first.Leads(now) {
		err = record.Refuse("date", "let the first person begin today or before, without an end", "nobody could run the shop today and from then on")
	}
	if err != nil {
		s.Close()
		return nil, err
	}
	if err := s.putKey(secret); err != nil {
		s.Close()
		return nil, err
	}
	if err := st.PutSecret(ctx, first.Handle, hash); err != nil {
		s.Close()
		return nil, err
	}
	_, err = s.enter(ctx, &ask{by: Who{Handle: first.Handle}, log: shoplog.Log, facts: []shoplog.Fact{made, &first}, founding: true})
	if err == nil {
		err = s.sealShop(ctx)
	}
	if err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// Open opens the shop that is in a store. The seals beside it must not be of
// more than it holds.
func Open(ctx context.Context, st store.Store, o Options) (*Shop, error) {
	s := start(st, o)
	state, err := s.Record(ctx)
	if err == nil {
		err = s.checkSeals(ctx)
	}
	if err == nil && state.ID == "" {
		err = record.Refuse("no-shop", "make it with tenths shop init", "there is no shop yet")
	}
	if err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

func start(st store.Store, o Options) *Shop {
	if o.Now == nil {
		o.Now = time.Now
	}
	s := &Shop{
		store: st, options: o,
		jobs: map[string]*atomic.Pointer[seen[*job.State]]{}, books: map[string]*book.Book{},
	}
	s.line.idle.L = &s.line.mu
	s.writer = writer{shop: s, jobs: map[string]*aheadJob{}}
	return s
}

// Close ends all entering, after what waits. The store stays open.
func (s *Shop) Close() { s.line.close() }

// Who is somebody who does something, on a device.
type Who struct {
	Handle string
	Device string    // empty: the shop's own
	ID     string    // of what they do, made on the device; empty: one is made
	Made   time.Time // by the clock of the device; zero: now
}

// Done is what was entered: the entries of one log. Again is set where they
// were there already, under the same id and with the same body.
type Done struct {
	Log   string
	From  int64 // the first entry
	To    int64 // the last
	Again bool
	Each  []int64 // of several requests, the first entry of each
}

// Record returns the state of the shop's log.
func (s *Shop) Record(ctx context.Context) (*shoplog.State, error) {
	size, err := s.store.Size(ctx, shoplog.Log)
	if err != nil {
		return nil, err
	}
	if now := s.shop.Load(); now != nil && now.state.Size >= size {
		return now.state, nil
	}
	if _, err := s.enter(ctx, &ask{log: shoplog.Log}); err != nil {
		return nil, err
	}
	return s.shop.Load().state, nil
}

// Job returns the state of the job under a work order.
func (s *Shop) Job(ctx context.Context, order string) (*job.State, error) {
	now, err := s.now(ctx, order)
	if err != nil {
		return nil, err
	}
	return now.state, nil
}

// now is what is to be seen of a job.
func (s *Shop) now(ctx context.Context, order string) (*seen[*job.State], error) {
	id, err := s.jobID(ctx, order)
	if err != nil {
		return nil, err
	}
	log := jobLog(id)
	size, err := s.store.Size(ctx, store.Log(log))
	if err != nil {
		return nil, err
	}
	if size == 0 {
		return nil, record.Refuse("empty", "open it again with tenths job open", "work order %s has its number, and nothing was entered under it", order)
	}
	if now := s.job(log).Load(); now != nil && now.state.Size >= size {
		return now, nil
	}
	a := &ask{log: log}
	if _, err := s.enter(ctx, a); err != nil {
		return nil, err
	}
	return a.seen, nil // by now the state of another job may have taken its place
}

// job is where readers find a job's state.
func (s *Shop) job(log string) *atomic.Pointer[seen[*job.State]] {
	s.mu.Lock()
	defer s.mu.Unlock()
	p, ok := s.jobs[log]
	if !ok {
		p = new(atomic.Pointer[seen[*job.State]])
		s.jobs[log] = p
	}
	return p
}

// forget lets a job's state go that nobody asked for in a while.
func (s *Shop) forget(log string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.jobs, log)
}

func jobLog(id string) string { return "job/" + id }

// jobID returns the id of the job under a work order.
func (s *Shop) jobID(ctx context.Context, order string) (string, error) {
	// A number is given once, for good: what was seen of it holds.
	if now := s.shop.Load(); now != nil {
		if j, ok := now.state.Jobs[order]; ok {
			return j.ID, nil
		}
	}
	state, err := s.Record(ctx)
	if err != nil {
		return "", err
	}
	if j, ok := state.Jobs[order]; ok {
		return j.ID, nil
	}
	return "", record.Refuse("order", "tenths job list has them", "there is no work order %q", order)
}

// Book returns an edition of a book.
func (s *Shop) Book(ctx context.Context, edition string) (*book.Book, error) {
	s.mu.Lock()
	b := s.books[edition]
	s.mu.Unlock()
	if b != nil {
		return b, nil
	}
	data, err := s.store.Blob(ctx, edition)
	if err != nil {
		return nil, fmt.Errorf("the book of edition %.16s: %w", edition, err)
	}
	if b, err = book.Load("edition "+edition[:min(16, len(edition))], data); err != nil {
		return nil, fmt.Errorf("this version of tenths does not read edition %.16s: %w", edition, err)
	}
	s.mu.Lock()
	s.books[edition] = b
	s.mu.Unlock()
	return b, nil
}

// known is the book that a job is judged by, as far as it was seen; nil: it was
// not.
func (s *Shop) known(log string) *book.Book {
	now := s.job(log).Load()
	if now == nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.books[now.state.Edition]
}

// Text returns the text of an edition.
func (s *Shop) Text(ctx context.Context, edition string) ([]byte, error) {
	return s.store.Blob(ctx, edition)
}

// Entries returns the entries of a job after the first from, as they were
// written, with what they say.
func (s *Shop) Entries(ctx context.Context, order string) ([]job.Entry, error) {
	id, err := s.jobID(ctx, order)
	if err != nil {
		return nil, err
	}
	return readAll(ctx, s.store, jobLog(id), job.Kinds)
}

// ShopEntries returns the entries of the shop's log.
func (s *Shop) ShopEntries(ctx context.Context) ([]shoplog.Entry, error) {
	return readAll(ctx, s.store, shoplog.Log, shoplog.Kinds)
}

func readAll[F any](ctx context.Context, st store.Store, log string, kinds record.Kinds[F]) ([]record.Entry[F], error) {
	var all []record.Entry[F]
	for line, err := range st.Read(ctx, store.Log(log), 0) {
		if err != nil {
			return nil, err
		}
		e, err := readLine(log, int64(len(all)), line, kinds)
		if err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}

// readLine reads the line after the first n of a log.
func readLine[F any](log string, n int64, line []byte, kinds record.Kinds[F]) (record.Entry[F], error) {
	e, err := kinds.Read(line)
	if err != nil {
		return e, store.Damaged("entry %d of %s can't be read: %v", n+1, log, err)
	}
	if e.Log != log || e.Seq != n+1 {
		return e, store.Damaged("where entry %d of %s should be is entry %d of %s", n+1, log, e.Seq, e.Log)
	}
	return e, nil
}

// putKey keeps the secret half of the shop's key, for its owner's eyes only.
func (s *Shop) putKey(secret string) error {
	if s.options.Dir == "" {
		return nil
	}
	path := filepath.Join(s.options.Dir, KeyFile)
	// A key without a shop is of one that was not made to its end, or that is
	// gone: it is put aside, since who has a record of that shop may want it.
	aside := path + ".replaced-" + s.options.Now().UTC().Format("20060102T150405.000Z")
	if err := os.Rename(path, aside); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("the shop's key: %w", err)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("the shop's key: %w", err)
	}
	_, err = f.WriteString(secret + "\n")
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("the shop's key: %w", err)
	}
	return whole.SyncDir(s.options.Dir)
}

// key returns the secret half of the shop's key.
func (s *Shop) key() (string, error) {
	data, err := os.ReadFile(s.keyFile())
	if err != nil {
		return "", noKey("the shop's key can't be read", err)
	}
	return strings.TrimSpace(string(data)), nil
}

// keyFile is where the secret half of the shop's key is kept.
func (s *Shop) keyFile() string { return filepath.Join(s.options.Dir, KeyFile) }

// noKey refuses to seal without the shop's key.
func noKey(what string, err error) error {
	return record.Refuse("key", "put the copy of it back that you kept: nothing can be sealed without it. If there is none, what is sealed stays proven and can be exported, and new work orders go into a new shop (tenths shop init --shop FOLDER)", "%s: %v", what, err)
}
