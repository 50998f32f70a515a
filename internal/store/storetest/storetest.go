// Package storetest holds a store to the promise of package store.
package storetest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tenths/internal/ledger"
	"tenths/internal/store"
)

// Run runs every test against stores that open makes, each new and empty; it
// closes them.
func Run(t *testing.T, open func(t *testing.T) store.Store) {
	for _, test := range []struct {
		name string
		run  func(*testing.T, store.Store)
	}{
		{"an empty store", empty},
		{"lines come back in order, from anywhere", order},
		{"batches of several logs land together", together},
		{"a grown log is left out and named", grown},
		{"a batch without entries is a condition of all", condition},
		{"one log twice in one append", twice},
		{"batches without entries", noEntries},
		{"lines of any bytes and of 64 KB", lines},
		{"the bytes are the store's own", copies},
		{"names of logs", names},
		{"many appenders, one sum", appenders},
		{"readers see one moment", moment},
		{"a loop that stops early", stops},
		{"reading within reading", nested},
		{"blobs", blobs},
		{"derived rows", derived},
		{"secrets", secrets},
		{"nothing lands after a cancel", cancelled},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := open(t)
			test.run(t, s)
			must(t, s.Close())
		})
	}
	t.Run("any history", func(t *testing.T) {
		rapid.Check(t, func(rt *rapid.T) {
			s := open(t)
			history(rt, s)
			must(rt, s.Close())
		})
	})
}

func empty(t *testing.T, s store.Store) {
	ctx := t.Context()
	wantLogs(t, s, map[store.Log]int64{})
	wantLines(t, s, "job/none", 0)
	wantLines(t, s, "job/none", 7)
	if _, err := s.Blob(ctx, hexSum(nil)); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("a blob that is not there: %v", err)
	}
	if _, err := s.Secret(ctx, "ann"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("a secret that is not there: %v", err)
	}
	if rows, err := s.Derived(ctx, "1"); err != nil || len(rows) != 0 {
		t.Errorf("derived rows: %v, %v", rows, err)
	}
}

func order(t *testing.T, s store.Store) {
	mustAppend(t, s, batch("shop", 0, "1", "2"))
	mustAppend(t, s, batch("job/a", 0, "a1"))
	mustAppend(t, s, batch("shop", 2, "3"))
	mustAppend(t, s, batch("job/a", 1, "a2", "a3", "a4"))
	wantLines(t, s, "shop", 0, "1", "2", "3")
	wantLines(t, s, "shop", 1, "2", "3")
	wantLines(t, s, "shop", 3)
	wantLines(t, s, "shop", 4)
	wantLines(t, s, "job/a", 0, "a1", "a2", "a3", "a4")
	wantLogs(t, s, map[store.Log]int64{"shop": 3, "job/a": 4})
}

func together(t *testing.T, s store.Store) {
	mustAppend(t, s, batch("shop", 0, "1"), batch("job/a", 0, "a1", "a2"), batch("job/b", 0, "b1"))
	mustAppend(t, s, batch("job/b", 1, "b2"), batch("shop", 1, "2"))
	wantLines(t, s, "shop", 0, "1", "2")
	wantLines(t, s, "job/a", 0, "a1", "a2")
	wantLines(t, s, "job/b", 0, "b1", "b2")
}

func grown(t *testing.T, s store.Store) {
	mustAppend(t, s, batch("shop", 0, "1"), batch("job/a", 0, "a1"))
	wantGrown(t, s, []store.Log{"shop", "job/c"},
		batch("job/a", 1, "a2"),
		batch("shop", 0, "another first"),
		batch("job/b", 0, "b1"),
		batch("job/c", 1, "not the first"), // shorter than its Size
	)
	wantLines(t, s, "shop", 0, "1")
	wantLines(t, s, "job/a", 0, "a1", "a2")
	wantLines(t, s, "job/b", 0, "b1")
	wantLogs(t, s, map[store.Log]int64{"shop": 1, "job/a": 2, "job/b": 1})
	wantGrown(t, s, []store.Log{"shop"}, batch("shop", -1, "before the first"))
}

func twice(t *testing.T, s store.Store) {
	wantGrown(t, s, []store.Log{"shop"},
		batch("shop", 0, "1"), batch("shop", 1, "2", "3"), batch("shop", 1, "stale"), batch("shop", 3, "4"))
	wantLines(t, s, "shop", 0, "1", "2", "3", "4")
}

func noEntries(t *testing.T, s store.Store) {
	mustAppend(t, s)
	mustAppend(t, s, batch("shop", 0))
	wantLogs(t, s, map[store.Log]int64{})
	wantGrown(t, s, []store.Log{"job/a"}, batch("job/a", 1))
	mustAppend(t, s, batch("shop", 0), batch("shop", 0, "1"))
	wantLines(t, s, "shop", 0, "1")
}

func condition(t *testing.T, s store.Store) {
	mustAppend(t, s, batch("shop", 0, "1"), batch("job/a", 0, "a1"))
	wantGrown(t, s, []store.Log{"shop"}, batch("job/a", 1, "a2"), batch("shop", 0), batch("job/b", 0, "b1"))
	wantGrown(t, s, []store.Log{"shop", "job/c"}, batch("shop", 2), batch("job/a", 0, "grown, and not looked at"), batch("job/c", 1))
	wantLogs(t, s, map[store.Log]int64{"shop": 1, "job/a": 1})
	wantGrown(t, s, []store.Log{"job/b"}, batch("job/a", 1, "a2"), batch("shop", 1), batch("job/b", 1, "b2"))
	wantLines(t, s, "job/a", 0, "a1", "a2")
}

func lines(t *testing.T, s store.Store) {
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	long := bytes.Repeat([]byte("0123456789abcdef"), ledger.MaxLine/16)
	want := []string{string(all), string(long), "\x00", "é", string(long[:ledger.MaxLine-1]), " "}
	for i, line := range want {
		mustAppend(t, s, batch("job/a", int64(i), line))
	}
	wantLines(t, s, "job/a", 0, want...)
	mustAppend(t, s, batch("job/b", 0, slices.Repeat(want, 4)...))
	wantLines(t, s, "job/b", 0, slices.Repeat(want, 4)...)
}

// What was handed in or out may be written over afterwards.
func copies(t *testing.T, s store.Store) {
	ctx := t.Context()
	line, data, row := []byte("line"), []byte("data"), []byte("row")
	mustAppend(t, s, store.Batch{Log: "shop", Entries: [][]byte{line}})
	name, err := s.PutBlob(ctx, data)
	must(t, err)
	must(t, s.PutDerived(ctx, "1", []store.Derived{{Log: "shop", Size: 1, Bytes: row}}))
	for range 2 {
		for _, b := range [][]byte{line, data, row} {
			clear(b)
		}
		lines, err := collect(s.Read(ctx, "shop", 0))
		must(t, err)
		line = lines[0]
		data, err = s.Blob(ctx, name)
		must(t, err)
		rows, err := s.Derived(ctx, "1")
		must(t, err)
		row = rows[0].Bytes
		if string(line) != "line" || string(data) != "data" || string(row) != "row" {
			t.Fatalf("what is stored was written over: %q, %q, %q", line, data, row)
		}
	}
}

func names(t *testing.T, s store.Store) {
	want := map[store.Log]int64{}
	for _, l := range []store.Log{"shop", "Shop", "job/a", "job/A", "job/a ", "job/ä", "job/%", "job/'", "job/\"?", "job/\x00", "job/\x00\x00", ""} {
		mustAppend(t, s, batch(l, 0, "of "+string(l)))
		want[l] = 1
	}
	wantLogs(t, s, want)
	for l := range want {
		wantLines(t, s, l, 0, "of "+string(l))
	}
}

// Every appender tries until its entry has landed: all are there, each once,
// and those of one appender in its order.
func appenders(t *testing.T, s store.Store) {
	ctx := t.Context()
	const writers, each = 8, 20
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for n := range each {
				line := fmt.Sprintf("%d %d", w, n)
				for landed := false; !landed; {
					size, err := s.Size(ctx, "shop")
					if err != nil {
						t.Error(err)
						return
					}
					own := store.Log(fmt.Sprintf("job/%d", w))
					grown, err := s.Append(ctx, []store.Batch{batch("shop", size, line)})
					if err != nil {
						t.Error(err)
						return
					}
					if landed = len(grown) == 0; landed {
						if grown, err = s.Append(ctx, []store.Batch{batch(own, int64(n), line)}); err != nil || grown != nil {
							t.Errorf("%s, which has one writer: %v, %v", own, grown, err)
							return
						}
					}
				}
			}
		})
	}
	wg.Wait()
	lines, err := collect(s.Read(ctx, "shop", 0))
	must(t, err)
	next := make([]int, writers)
	for _, line := range lines {
		var w, n int
		if _, err := fmt.Sscanf(string(line), "%d %d", &w, &n); err != nil || n != next[w] {
			t.Fatalf("%q where %d of writer %d was to be next", line, next[w], w)
		}
		next[w]++
	}
	want := map[store.Log]int64{"shop": writers * each}
	for w := range writers {
		want[store.Log(fmt.Sprintf("job/%d", w))] = each
		if next[w] != each {
			t.Errorf("writer %d landed %d entries, not %d", w, next[w], each)
		}
	}
	wantLogs(t, s, want)
}

// While batches of three are appended to two logs at once, readers see whole
// batches: never a part of one, never one log ahead where they ask for both.
func moment(t *testing.T, s store.Store) {
	ctx := t.Context()
	const batches = 40
	done := make(chan struct{})
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			for last := int64(0); ; {
				lines, err := collect(s.Read(ctx, "shop", 0))
				if err != nil {
					t.Error(err)
					return
				}
				size := int64(len(lines))
				if size%3 != 0 || size < last {
					t.Errorf("%d lines after %d", size, last)
				}
				for i, line := range lines {
					if string(line) != fmt.Sprint(i) {
						t.Errorf("line %d is %q", i, line)
					}
				}
				sizes, err := s.Logs(ctx)
				if err != nil {
					t.Error(err)
					return
				}
				if sizes["shop"] != sizes["job/a"] || sizes["shop"] < size {
					t.Errorf("sizes %v after %d", sizes, size)
				}
				last = size
				select {
				case <-done:
					return
				default:
				}
			}
		})
	}
	for b := range int64(batches) {
		three := []string{fmt.Sprint(3 * b), fmt.Sprint(3*b + 1), fmt.Sprint(3*b + 2)}
		mustAppend(t, s, batch("shop", 3*b, three...), batch("job/a", 3*b, three...))
	}
	close(done)
	wg.Wait()

	// A loop that has begun goes on as of its moment, whatever is appended.
	var seen int64
	for _, err := range s.Read(ctx, "shop", 0) {
		must(t, err)
		if seen++; seen <= 3 {
			mustAppend(t, s, batch("shop", 3*batches+seen-1, "later"))
		}
	}
	if seen != 3*batches {
		t.Errorf("a loop that began with %d lines saw %d", 3*batches, seen)
	}
}

func stops(t *testing.T, s store.Store) {
	mustAppend(t, s, batch("shop", 0, "1", "2", "3"))
	for range 50 {
		for line, err := range s.Read(t.Context(), "shop", 1) {
			must(t, err)
			if string(line) != "2" {
				t.Fatalf("the second line is %q", line)
			}
			break
		}
	}
	mustAppend(t, s, batch("shop", 3, "4"))
	wantLines(t, s, "shop", 3, "4")
}

func nested(t *testing.T, s store.Store) {
	const logs = 20
	var deep func(i int)
	deep = func(i int) {
		if i == logs {
			return
		}
		for line, err := range s.Read(t.Context(), store.Log(fmt.Sprint(i)), 0) {
			must(t, err)
			if string(line) != fmt.Sprint(i) {
				t.Fatalf("log %d says %q", i, line)
			}
			deep(i + 1)
		}
	}
	for i := range logs {
		mustAppend(t, s, batch(store.Log(fmt.Sprint(i)), 0, fmt.Sprint(i)))
	}
	deep(0)
}

func blobs(t *testing.T, s store.Store) {
	ctx := t.Context()
	chance := rand.NewChaCha8([32]byte{})
	photo := make([]byte, 3<<20+1)
	_, _ = chance.Read(photo)
	all := [][]byte{{}, {0}, []byte("a drawing"), photo, photo[:4096]}
	for range 2 { // the second time they are there already
		for _, data := range all {
			name, err := s.PutBlob(ctx, data)
			must(t, err)
			if name != hexSum(data) {
				t.Errorf("%d bytes are found by %s, not by their hash", len(data), name)
			}
		}
	}
	for _, data := range all {
		got, err := s.Blob(ctx, hexSum(data))
		must(t, err)
		if !bytes.Equal(got, data) {
			t.Errorf("%d bytes came back as %d others", len(data), len(got))
		}
	}
	for _, name := range []string{hexSum([]byte("another")), "", "00", "not hexadecimal"} {
		if _, err := s.Blob(ctx, name); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("blob %q, which is not there: %v", name, err)
		}
	}
}

func derived(t *testing.T, s store.Store) {
	ctx := t.Context()
	row := func(l store.Log, size int64, text string) store.Derived {
		return store.Derived{Log: l, Size: size, Bytes: []byte(text)}
	}
	must(t, s.PutDerived(ctx, "1", nil))
	must(t, s.PutDerived(ctx, "1", []store.Derived{row("shop", 3, "s3"), row("job/a", 1, ""), row("job/b", 2, "b2")}))
	wantDerived(t, s, "1", row("shop", 3, "s3"), row("job/a", 1, ""), row("job/b", 2, "b2"))
	wantDerived(t, s, "2")
	must(t, s.PutDerived(ctx, "1", []store.Derived{row("shop", 4, "s4")}))
	must(t, s.PutDerived(ctx, "2", []store.Derived{row("job/a", 1, "newer")}))
	wantDerived(t, s, "1", row("shop", 4, "s4"), row("job/b", 2, "b2"))
	wantDerived(t, s, "2", row("job/a", 1, "newer"))
	must(t, s.DropDerived(ctx))
	wantDerived(t, s, "1")
	wantDerived(t, s, "2")
	wantLogs(t, s, map[store.Log]int64{})
}

func secrets(t *testing.T, s store.Store) {
	ctx := t.Context()
	want := map[string]string{"ann": "argon2id$…", "bo": "", "Ann": "another"}
	for name, secret := range want {
		must(t, s.PutSecret(ctx, name, "an old one"))
		must(t, s.PutSecret(ctx, name, secret))
	}
	for name, secret := range want {
		got, err := s.Secret(ctx, name)
		must(t, err)
		if got != secret {
			t.Errorf("the secret of %s is %q, not %q", name, got, secret)
		}
	}
	if _, err := s.Secret(ctx, "cy"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("a secret that is not there: %v", err)
	}
}

func cancelled(t *testing.T, s store.Store) {
	mustAppend(t, s, batch("shop", 0, "1", "2"))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	seen := 0
	var last error
	for _, err := range s.Read(ctx, "shop", 0) {
		seen, last = seen+1, err
		cancel()
	}
	if seen != 2 || !errors.Is(last, context.Canceled) {
		t.Errorf("a loop that was cancelled at its first line came round %d times and ended with: %v", seen, last)
	}
	_, appendErr := s.Append(ctx, []store.Batch{batch("shop", 2, "3"), batch("job/a", 0, "a1")})
	_, blobErr := s.PutBlob(ctx, []byte("blob"))
	for what, err := range map[string]error{
		"Append": appendErr, "PutBlob": blobErr,
		"PutDerived":  s.PutDerived(ctx, "1", []store.Derived{{Log: "shop", Size: 2}}),
		"DropDerived": s.DropDerived(ctx),
		"PutSecret":   s.PutSecret(ctx, "ann", "secret"),
	} {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s after a cancel: %v", what, err)
		}
	}
	wantLines(t, s, "shop", 0, "1", "2")
	wantLogs(t, s, map[store.Log]int64{"shop": 2})
	if _, err := s.Blob(t.Context(), hexSum([]byte("blob"))); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("a blob that was cancelled: %v", err)
	}
	wantDerived(t, s, "1")
	if _, err := s.Secret(t.Context(), "ann"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("a secret that was cancelled: %v", err)
	}
	mustAppend(t, s, batch("shop", 2, "3"))

	// Cancelled at any point on its way: all of it has landed, or nothing, as
	// the answer says.
	for i := range 200 {
		ctx, cancel := context.WithCancel(t.Context())
		sizes, err := s.Logs(t.Context())
		must(t, err)
		go cancel()
		_, err = s.Append(ctx, []store.Batch{batch("shop", sizes["shop"], "x"), batch("job/b", sizes["job/b"], "x")})
		if err != nil && !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
		if err == nil {
			sizes["shop"]++
			sizes["job/b"]++
		}
		if sizes["job/b"] == 0 {
			delete(sizes, "job/b")
		}
		wantLogs(t, s, sizes)
		if t.Failed() {
			t.Fatalf("round %d: the append had answered: %v", i, err)
		}
	}
}

// history does anything in any order, and holds the store against maps.
func history(t *rapid.T, s store.Store) {
	ctx := context.Background()
	logs := map[store.Log][]string{}
	blobs := map[string]string{}
	derived := map[store.Log][2]string{} // code, bytes
	secrets := map[string]string{}

	names := rapid.SampledFrom([]store.Log{"shop", "job/a", "job/b", "job/c"})
	codes := rapid.SampledFrom([]string{"1", "2"})
	line := rapid.StringN(1, 40, -1)

	look := func(t *rapid.T) {
		sizes := map[store.Log]int64{}
		for l, lines := range logs {
			if len(lines) > 0 {
				sizes[l] = int64(len(lines))
			}
		}
		wantLogs(t, s, sizes)
		for name, data := range blobs {
			got, err := s.Blob(ctx, name)
			must(t, err)
			if string(got) != data {
				t.Fatalf("the blob %q came back as %q", data, got)
			}
		}
		for name, secret := range secrets {
			got, err := s.Secret(ctx, name)
			must(t, err)
			if got != secret {
				t.Fatalf("the secret %q came back as %q", secret, got)
			}
		}
		for _, code := range []string{"1", "2"} {
			var want []store.Derived
			for l, row := range derived {
				if row[0] == code {
					want = append(want, store.Derived{Log: l, Size: int64(len(row[1])), Bytes: []byte(row[1])})
				}
			}
			wantDerived(t, s, code, want...)
		}
		for l, lines := range logs {
			wantLines(t, s, l, 0, lines...)
		}
	}
	t.Repeat(map[string]func(*rapid.T){
		"append": func(t *rapid.T) {
			var batches []store.Batch
			var want []store.Log
			more := map[store.Log]int64{} // that the batches before would append
			for range rapid.IntRange(0, 4).Draw(t, "batches") {
				l := names.Draw(t, "log")
				b := batch(l, int64(len(logs[l])), rapid.SliceOfN(line, 0, 40).Draw(t, "lines")...)
				off := rapid.SampledFrom([]int64{0, 0, 0, 0, 0, 1, -1}).Draw(t, "off")
				switch {
				case len(b.Entries) == 0 && off != 0:
					want = append(want, l)
				case len(b.Entries) > 0:
					off += more[l]
					more[l] += int64(len(b.Entries))
				}
				b.Size += off
				batches = append(batches, b)
			}
			held := len(want) == 0 // all that batches without entries demand
			for _, b := range batches {
				switch {
				case len(b.Entries) == 0 || !held:
				case b.Size != int64(len(logs[b.Log])):
					want = append(want, b.Log)
				default:
					for _, e := range b.Entries {
						logs[b.Log] = append(logs[b.Log], string(e))
					}
				}
			}
			got, err := s.Append(ctx, batches)
			must(t, err)
			if !slices.Equal(got, want) {
				t.Fatalf("Append named %v, not %v", got, want)
			}
		},
		"read": func(t *rapid.T) {
			l := names.Draw(t, "log")
			from := rapid.IntRange(0, len(logs[l])+1).Draw(t, "from")
			wantLines(t, s, l, int64(from), logs[l][min(from, len(logs[l])):]...)
		},
		"blob": func(t *rapid.T) {
			data := rapid.String().Draw(t, "data")
			name, err := s.PutBlob(ctx, []byte(data))
			must(t, err)
			blobs[name] = data
		},
		"derive": func(t *rapid.T) {
			code := codes.Draw(t, "code")
			var rows []store.Derived
			for _, l := range rapid.SliceOfN(names, 0, 3).Draw(t, "logs") {
				text := rapid.String().Draw(t, "row")
				rows = append(rows, store.Derived{Log: l, Size: int64(len(text)), Bytes: []byte(text)})
				derived[l] = [2]string{code, text}
			}
			must(t, s.PutDerived(ctx, code, rows))
		},
		"drop": func(t *rapid.T) {
			must(t, s.DropDerived(ctx))
			clear(derived)
		},
		"secret": func(t *rapid.T) {
			name, secret := rapid.SampledFrom([]string{"ann", "bo"}).Draw(t, "name"), rapid.String().Draw(t, "secret")
			must(t, s.PutSecret(ctx, name, secret))
			secrets[name] = secret
		},
		"look": func(t *rapid.T) { look(t) },
	})
	look(t)
}

// tester is what *testing.T and *rapid.T have in common.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

func must(t tester, err error) {
	t.Helper()
	if err != nil {
		t.Fatalf("%v", err)
	}
}

func batch(l store.Log, size int64, lines ...string) store.Batch {
	b := store.Batch{Log: l, Size: size}
	for _, line := range lines {
		b.Entries = append(b.Entries, []byte(line))
	}
	return b
}

func mustAppend(t tester, s store.Store, batches ...store.Batch) {
	t.Helper()
	wantGrown(t, s, nil, batches...)
}

func wantGrown(t tester, s store.Store, want []store.Log, batches ...store.Batch) {
	t.Helper()
	grown, err := s.Append(context.Background(), batches)
	must(t, err)
	if !slices.Equal(grown, want) {
		t.Fatalf("Append named %q as grown, not %q", grown, want)
	}
}

func collect(lines func(func([]byte, error) bool)) (all [][]byte, err error) {
	for line, err := range lines {
		if err != nil {
			return all, err
		}
		all = append(all, line)
	}
	return all, nil
}

func wantLines(t tester, s store.Store, l store.Log, from int64, want ...string) {
	t.Helper()
	ctx := context.Background()
	lines, err := collect(s.Read(ctx, l, from))
	must(t, err)
	got := make([]string, len(lines))
	for i, line := range lines {
		got[i] = string(line)
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
		t.Fatalf("the log %q from %d (-want +got):\n%s", l, from, diff)
	}
	if size, err := s.Size(ctx, l); err != nil || len(want) > 0 && size != from+int64(len(want)) {
		t.Fatalf("the log %q has %d lines from %d, and is told to have %d: %v", l, len(want), from, size, err)
	}
}

func wantLogs(t tester, s store.Store, want map[store.Log]int64) {
	t.Helper()
	got, err := s.Logs(context.Background())
	must(t, err)
	if !maps.Equal(got, want) {
		t.Fatalf("the logs have %v, not %v", got, want)
	}
}

func wantDerived(t tester, s store.Store, code string, want ...store.Derived) {
	t.Helper()
	got, err := s.Derived(context.Background(), code)
	must(t, err)
	byLog := cmpopts.SortSlices(func(a, b store.Derived) bool { return a.Log < b.Log })
	if diff := cmp.Diff(want, got, byLog, cmpopts.EquateEmpty()); diff != "" {
		t.Fatalf("derived by %q (-want +got):\n%s", code, diff)
	}
}

func hexSum(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
