package sqlite_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"iter"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
	"tenths/internal/store/storetest"
)

func TestStore(t *testing.T) {
	histories(t, 50)
	storetest.Run(t, func(t *testing.T) store.Store { return create(t) })
}

// Two handles take turns at one file, as two programs do.
func TestTwoHandles(t *testing.T) {
	histories(t, 25)
	storetest.Run(t, func(t *testing.T) store.Store {
		path := filepath.Join(t.TempDir(), "shop.db")
		handles := []*sqlite.Store{must(sqlite.Create(t.Context(), path))(t), must(sqlite.Open(t.Context(), path))(t)}
		var turn atomic.Int64
		return through{
			take: func(context.Context) (store.Store, func() error, error) {
				return handles[turn.Add(1)%2], func() error { return nil }, nil
			},
			close: func() error {
				for _, s := range handles {
					if err := s.Close(); err != nil {
						return err
					}
				}
				return nil
			},
		}
	})
}

// The file is opened for every operation and closed after it.
func TestReopened(t *testing.T) {
	histories(t, 12)
	storetest.Run(t, func(t *testing.T) store.Store {
		s := create(t)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		return through{
			take: func(ctx context.Context) (store.Store, func() error, error) {
				s, err := sqlite.Open(ctx, s.Path())
				if err != nil {
					return nil, nil, err
				}
				return s, s.Close, nil
			},
			close: func() error { return nil },
		}
	})
}

// histories says how many histories of a store to try: a commit to disk takes a
// while, and they have many.
func histories(t *testing.T, n int) {
	checks := flag.Lookup("rapid.checks")
	before := checks.Value.String()
	t.Cleanup(func() { checks.Value.Set(before) })
	if !torture {
		checks.Value.Set(strconv.Itoa(n))
	}
}

// create makes a record in a folder of its own.
func create(t testing.TB) *sqlite.Store {
	t.Helper()
	return must(sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "shop.db")))(t)
}

func must[V any](v V, err error) func(testing.TB) V {
	return func(t testing.TB) V {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// A through hands each operation to a store that it takes for it.
type through struct {
	take  func(context.Context) (s store.Store, release func() error, err error)
	close func() error
}

func via[V any](ctx context.Context, th through, do func(store.Store) (V, error)) (v V, err error) {
	s, release, err := th.take(ctx)
	if err != nil {
		return v, err
	}
	v, err = do(s)
	if closing := release(); err == nil {
		err = closing
	}
	return v, err
}

func (th through) Append(ctx context.Context, batches []store.Batch) ([]store.Log, error) {
	return via(ctx, th, func(s store.Store) ([]store.Log, error) { return s.Append(ctx, batches) })
}

func (th through) Read(ctx context.Context, l store.Log, from int64) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		stopped := false
		if _, err := via(ctx, th, func(s store.Store) (any, error) {
			for line, err := range s.Read(ctx, l, from) {
				if stopped = !yield(line, err); stopped {
					break
				}
			}
			return nil, nil
		}); err != nil && !stopped {
			yield(nil, err)
		}
	}
}

func (th through) Size(ctx context.Context, l store.Log) (int64, error) {
	return via(ctx, th, func(s store.Store) (int64, error) { return s.Size(ctx, l) })
}

func (th through) Logs(ctx context.Context) (map[store.Log]int64, error) {
	return via(ctx, th, func(s store.Store) (map[store.Log]int64, error) { return s.Logs(ctx) })
}

func (th through) PutBlob(ctx context.Context, data []byte) (string, error) {
	return via(ctx, th, func(s store.Store) (string, error) { return s.PutBlob(ctx, data) })
}

func (th through) Blob(ctx context.Context, sha256 string) ([]byte, error) {
	return via(ctx, th, func(s store.Store) ([]byte, error) { return s.Blob(ctx, sha256) })
}

func (th through) PutDerived(ctx context.Context, code string, rows []store.Derived) error {
	_, err := via(ctx, th, func(s store.Store) (any, error) { return nil, s.PutDerived(ctx, code, rows) })
	return err
}

func (th through) Derived(ctx context.Context, code string) ([]store.Derived, error) {
	return via(ctx, th, func(s store.Store) ([]store.Derived, error) { return s.Derived(ctx, code) })
}

func (th through) DropDerived(ctx context.Context) error {
	_, err := via(ctx, th, func(s store.Store) (any, error) { return nil, s.DropDerived(ctx) })
	return err
}

func (th through) PutSecret(ctx context.Context, name, secret string) error {
	_, err := via(ctx, th, func(s store.Store) (any, error) { return nil, s.PutSecret(ctx, name, secret) })
	return err
}

func (th through) Secret(ctx context.Context, name string) (string, error) {
	return via(ctx, th, func(s store.Store) (string, error) { return s.Secret(ctx, name) })
}

func (th through) Close() error { return th.close() }

func appendTo(t testing.TB, s store.Store, l store.Log, size int64, lines ...string) {
	t.Helper()
	if grown, err := s.Append(t.Context(), batches(l, size, lines...)); err != nil || grown != nil {
		t.Fatal(grown, err)
	}
}

// A blob may have 64 MB.
func TestLargeBlob(t *testing.T) {
	s := create(t)
	data := make([]byte, 64<<20)
	rand.NewChaCha8([32]byte{}).Read(data)
	name := must(s.PutBlob(t.Context(), data))(t)
	if got := must(s.Blob(t.Context(), name))(t); !bytes.Equal(got, data) {
		t.Errorf("%d bytes came back as %d others", len(data), len(got))
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

// A log that has as many entries as it can have takes no more.
func TestMostEntries(t *testing.T) {
	s := create(t)
	defer s.Close()
	appendTo(t, s, "shop", 0, "1")
	const most = 1<<31 - 1
	if err := s.Say(t.Context(), fmt.Sprintf("UPDATE entry SET at = (1<<32) + %d", most-1)); err != nil {
		t.Fatal(err)
	}
	// By another handle, which has not counted for itself.
	s = must(sqlite.Open(t.Context(), s.Path()))(t)
	defer s.Close()
	if _, err := s.Append(t.Context(), batches("shop", most-1, "last", "one more")); err == nil || !strings.Contains(err.Error(), "more than") {
		t.Errorf("two entries where one has room: %v", err)
	}
	appendTo(t, s, "shop", most-1, "last")
	if _, err := s.Append(t.Context(), batches("shop", most, "one more")); err == nil || !strings.Contains(err.Error(), "more than") {
		t.Errorf("one entry where none has room: %v", err)
	}
	appendTo(t, s, "job/a", 0, "1")
	if sizes := must(s.Logs(t.Context()))(t); !maps.Equal(sizes, map[store.Log]int64{"shop": most, "job/a": 1}) {
		t.Errorf("the logs have %v", sizes)
	}
}
