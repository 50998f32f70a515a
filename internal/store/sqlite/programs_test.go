package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

func init() {
	// Each appends fifty lines to the shop's log, trying again where another was
	// quicker.
	children["append"] = func(ctx context.Context, path string) error {
		s, err := sqlite.Open(ctx, path)
		if err != nil {
			return err
		}
		for n := 0; n < 50; {
			size, err := s.Size(ctx, "shop")
			if err != nil {
				return err
			}
			grown, err := s.Append(ctx, batches("shop", size, fmt.Sprintf("%d %d", os.Getpid(), n)))
			if err != nil {
				return err
			}
			if grown == nil {
				n++
			}
		}
		return s.Close()
	}
	// Eight writers say what they have recorded, once it is, until they are
	// killed.
	children["acknowledge"] = func(ctx context.Context, path string) error {
		s, err := sqlite.Open(ctx, path)
		if err != nil {
			return err
		}
		failed := make(chan error)
		for w := range 8 {
			go func() {
				for {
					l := store.Log(fmt.Sprintf("job/%d", w))
					size, err := s.Size(ctx, l)
					if err == nil {
						_, err = s.Append(ctx, batches(l, size, fmt.Sprint(size), fmt.Sprint(size+1)))
					}
					if err != nil {
						failed <- err
						return
					}
					fmt.Printf("%d %d\n", w, size+2)
				}
			}()
		}
		return <-failed
	}
}

// Three programs append to one log: every line is there, once, and those of one
// program in its order.
func TestPrograms(t *testing.T) {
	s := create(t)
	defer s.Close()
	var ends []func() string
	for range 3 {
		_, done := child(t, "append", s.Path())
		ends = append(ends, done)
	}
	for _, done := range ends {
		done()
	}
	next := map[int]int{}
	for line, err := range s.Read(t.Context(), "shop", 0) {
		var pid, n int
		if _, scan := fmt.Sscanf(string(line), "%d %d", &pid, &n); err != nil || scan != nil || n != next[pid] {
			t.Fatalf("%q where %d was to be next: %v, %v", line, next[pid], err, scan)
		}
		next[pid]++
	}
	if size := must(s.Size(t.Context(), "shop"))(t); size != 150 || len(next) != 3 {
		t.Errorf("of three programs with 50 lines each, %d lines of %d are there", size, len(next))
	}
}

// Killed at any point, everything that was acknowledged is there, in order,
// once, and no batch is there in part.
func TestKilled(t *testing.T) {
	rounds := 8
	if torture {
		rounds = 200
	}
	s := create(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	chance := rand.New(rand.NewPCG(1, 2))
	acknowledged := map[store.Log]int64{}
	for round := range rounds {
		cmd := command(t, "acknowledge", s.Path())
		var out strings.Builder
		cmd.Stdout = &out
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(20+chance.IntN(60)) * time.Millisecond)
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		cmd.Wait()
		said := strings.Split(out.String(), "\n")
		for _, line := range said[:len(said)-1] { // the last may be cut off
			var w string
			var size int64
			if _, err := fmt.Sscan(line, &w, &size); err != nil {
				t.Fatalf("the child says %q", line)
			}
			acknowledged[store.Log("job/"+w)] = size
		}
		r := must(sqlite.Open(t.Context(), s.Path()))(t)
		for l, size := range acknowledged {
			n := int64(0)
			for line, err := range r.Read(t.Context(), l, 0) {
				if err != nil || string(line) != fmt.Sprint(n) {
					t.Fatalf("round %d: entry %d of %s is %q: %v", round, n+1, l, line, err)
				}
				n++
			}
			if n < size || n%2 != 0 {
				t.Fatalf("round %d: of %s, %d entries were acknowledged and %d are there", round, l, size, n)
			}
		}
		if err := errors.Join(r.Check(t.Context()), r.Close()); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
	}
	t.Logf("killed %d times, with %v acknowledged", rounds, acknowledged)
}

// Whoever reads, and whoever opens, waits for nobody who writes; a second writer
// waits, and says so when that takes too long.
func TestWaiting(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := must(sqlite.Create(t.Context(), path))(t)
	defer s.Close()
	appendTo(t, s, "shop", 0, "1")
	if err := s.Say(t.Context(), "BEGIN IMMEDIATE; INSERT INTO blob VALUES (x'00', x'01')"); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			r, err := sqlite.Open(t.Context(), path)
			if err != nil {
				t.Error(err)
				return
			}
			if size, err := r.Size(t.Context(), "shop"); err != nil || size != 1 {
				t.Errorf("the log has %d entries: %v", size, err)
			}
			if err := errors.Join(r.Check(t.Context()), r.Close()); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	second := must(sqlite.Open(t.Context(), path))(t)
	defer second.Close()
	if err := second.Say(t.Context(), "PRAGMA busy_timeout = 20"); err != nil {
		t.Fatal(err)
	}
	if _, err := second.Append(t.Context(), batches("shop", 1, "2")); err == nil || !strings.Contains(err.Error(), "another program has been writing") {
		t.Errorf("a second writer: %v", err)
	}
	if err := s.Say(t.Context(), "ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	appendTo(t, second, "shop", 1, "2")
}
