package sqlite_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// Commits of many logs and of few, by two programs in turn, and what waits moved
// between them: each log reads as it was written, at every moment, by both.
func TestManyLogsAndFew(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		path := filepath.Join(t.TempDir(), "shop.db")
		programs := []*sqlite.Store{must(sqlite.Create(t.Context(), path))(t), nil}
		programs[1] = must(sqlite.Open(t.Context(), path))(t)
		defer func() {
			for _, s := range programs {
				s.Close()
			}
		}()
		want := map[store.Log][]string{}
		for range rapid.IntRange(1, 25).Draw(r, "commits") {
			s := programs[rapid.IntRange(0, 1).Draw(r, "program")]
			var all []store.Batch
			each := rapid.SampledFrom([]int{1, 2, 150}).Draw(r, "entries of each")
			for n := range rapid.IntRange(1, 8).Draw(r, "logs") {
				b := store.Batch{Log: store.Log(fmt.Sprint("job/", n))}
				b.Size = int64(len(want[b.Log]))
				for range each {
					line := fmt.Sprintf("%d of %s", len(want[b.Log]), b.Log)
					want[b.Log] = append(want[b.Log], line)
					b.Entries = append(b.Entries, []byte(line))
				}
				all = append(all, b)
			}
			if grown, err := s.Append(t.Context(), all); err != nil || grown != nil {
				r.Fatal(grown, err)
			}
			for _, s := range programs {
				sizes, err := s.Logs(t.Context())
				if err != nil || len(sizes) != len(want) {
					r.Fatal(sizes, err)
				}
				for l, lines := range want {
					size, err := s.Size(t.Context(), l)
					if err != nil || size != int64(len(lines)) || sizes[l] != size {
						r.Fatalf("%s has %d and %d entries, want %d; %v", l, size, sizes[l], len(lines), err)
					}
					from := rapid.IntRange(0, len(lines)).Draw(r, "from")
					var got []string
					for line, err := range s.Read(t.Context(), l, int64(from)) {
						if err != nil {
							r.Fatal(err)
						}
						got = append(got, string(line))
					}
					if !slices.Equal(got, lines[from:]) {
						r.Fatalf("%s reads %d lines from %d, want %d", l, len(got), from, len(lines)-from)
					}
				}
			}
		}
	})
}

// What waits to be moved is never more than a bound, and is moved as soon as one
// log alone is written to: then nothing waits before it. A commit of more than the
// bound does not wait at all.
func TestRecentIsBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := must(sqlite.Create(t.Context(), path))(t)
	defer s.Close()
	db := must(sql.Open("sqlite", path+"?mode=ro"))(t)
	defer db.Close()
	waiting := func() (n int) {
		t.Helper()
		if err := db.QueryRow("SELECT count(*) FROM recent").Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	sizes := make([]int64, 50)
	most := 0
	for range 45 {
		var all []store.Batch
		for i := range sizes {
			all = append(all, batch(store.Log(fmt.Sprint("job/", i)), sizes[i], "a reading"))
			sizes[i]++
		}
		if grown, err := s.Append(t.Context(), all); err != nil || grown != nil {
			t.Fatal(grown, err)
		}
		most = max(most, waiting())
	}
	if most < 500 || most > 1000 {
		t.Errorf("%d entries waited at most", most)
	}
	if waiting() == 0 {
		t.Fatal("none waits, and the last commits were of many logs")
	}
	appendTo(t, s, "job/3", sizes[3], "alone")
	if n := waiting(); n != 0 {
		t.Errorf("%d entries wait behind a commit of one log", n)
	}
	all := make([]store.Batch, 4)
	for i := range all {
		all[i] = store.Batch{Log: store.Log(fmt.Sprint("large/", i)), Entries: slices.Repeat([][]byte{[]byte("a reading")}, 251)}
	}
	if grown, err := s.Append(t.Context(), all); err != nil || grown != nil {
		t.Fatal(grown, err)
	}
	if n := waiting(); n != 0 {
		t.Errorf("%d entries of a large commit wait", n)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}

func init() {
	// Commits to six logs at once, and now and then to one of them, and says how
	// many there were, until it is killed.
	children["move"] = func(ctx context.Context, path string) error {
		s, err := sqlite.Open(ctx, path)
		if err != nil {
			return err
		}
		for n := 1; ; n++ {
			logs := 6
			if n%9 == 0 {
				logs = 1
			}
			var all []store.Batch
			for i := range logs {
				l := store.Log(fmt.Sprint("job/", i))
				size, err := s.Size(ctx, l)
				if err != nil {
					return err
				}
				b := store.Batch{Log: l, Size: size}
				for e := range int64(30) {
					b.Entries = append(b.Entries, fmt.Append(nil, size+e))
				}
				all = append(all, b)
			}
			if grown, err := s.Append(ctx, all); err != nil || grown != nil {
				return fmt.Errorf("grown: %v, %w", grown, err)
			}
			fmt.Println(n)
		}
	}
}

// While one program moves what waits, and is killed anywhere, another reads each
// log whole, and all logs as of one moment; nothing acknowledged is missing.
func TestMovedUnderReaders(t *testing.T) {
	rounds := 6
	if torture {
		rounds = 50
	}
	path := filepath.Join(t.TempDir(), "shop.db")
	r := must(sqlite.Create(t.Context(), path))(t)
	defer r.Close()
	look := func() (commits int64, err error) {
		sizes, err := r.Logs(t.Context())
		if err != nil {
			return 0, err
		}
		for i := range 6 {
			l := store.Log(fmt.Sprint("job/", i))
			if i > 0 && sizes[l] != sizes["job/1"] || sizes["job/0"] < sizes["job/1"] || sizes[l]%30 != 0 {
				return 0, fmt.Errorf("a commit is there in part: %v", sizes)
			}
			n := int64(0)
			for line, err := range r.Read(t.Context(), l, 0) {
				if err != nil || string(line) != fmt.Sprint(n) {
					return 0, fmt.Errorf("entry %d of %s is %q: %w", n+1, l, line, err)
				}
				n++
			}
			if n < sizes[l] {
				return 0, fmt.Errorf("%s had %d entries and has %d", l, sizes[l], n)
			}
		}
		return sizes["job/0"] / 30, nil // each commit has entries of it
	}
	chance := rand.New(rand.NewPCG(3, 4))
	commits := int64(0) // acknowledged, or found after a kill
	for round := range rounds {
		cmd := command(t, "move", path)
		out := must(cmd.StdoutPipe())(t)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		stop, read := make(chan struct{}), make(chan error, 1)
		go func() {
			for {
				if _, err := look(); err != nil {
					read <- err
					return
				}
				select {
				case <-stop:
					read <- nil
					return
				default:
				}
			}
		}()
		said, until := int64(0), 20+chance.Int64N(20)
		for lines := bufio.NewScanner(out); said < until && lines.Scan(); {
			n, err := strconv.ParseInt(lines.Text(), 10, 64)
			if err != nil {
				t.Errorf("round %d: the other program says %q", round, lines.Text())
				break
			}
			said = n
		}
		killed := cmd.Process.Kill()
		cmd.Wait()
		close(stop)
		if err := errors.Join(killed, <-read); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		if said < until {
			t.Fatalf("round %d: the other program ended after %d commits", round, said)
		}
		there, err := look()
		if err = errors.Join(err, r.Check(t.Context())); err != nil || there < commits+said {
			t.Fatalf("round %d: %d commits of %d are there: %v", round, there, commits+said, err)
		}
		commits = there
	}
}

// Where the moving fails half-way, nothing has moved, and nothing of the commit
// that set it off is there; once it can be done, it is.
func TestMovingFails(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := must(sqlite.Create(t.Context(), path))(t)
	defer s.Close()
	db := must(sql.Open("sqlite", path+"?mode=ro"))(t)
	defer db.Close()
	tables := func(want string) {
		t.Helper()
		var got string
		if err := db.QueryRow("SELECT (SELECT count(*) FROM recent) || ' and ' || (SELECT count(*) FROM entry)").Scan(&got); err != nil || got != want {
			t.Errorf("%s entries wait and are in place, want %s; %v", got, want, err)
		}
	}
	var all []store.Batch
	for i := range 6 {
		all = append(all, batch(store.Log(fmt.Sprint("job/", i)), 0, "0", "1"))
	}
	if grown, err := s.Append(t.Context(), all); err != nil || grown != nil {
		t.Fatal(grown, err)
	}
	tables("12 and 0")
	if err := s.Say(t.Context(), "CREATE TEMP TRIGGER fails BEFORE DELETE ON recent BEGIN SELECT raise(ABORT, 'not now'); END"); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := s.Append(t.Context(), batches("job/3", 2, "2")); err == nil {
			t.Error("a commit is acknowledged, and what waits before it could not be moved")
		}
		tables("12 and 0")
	}
	if err := s.Say(t.Context(), "DROP TRIGGER fails"); err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, "job/3", 2, "2")
	tables("0 and 13")
	if err := errors.Join(s.Check(t.Context())); err != nil {
		t.Error(err)
	}
}

// What stands in both tables is told, wherever it is found: whoever reads it, or
// writes behind it, and Check. Neither table is the truth then.
func TestInBothTables(t *testing.T) {
	for what, forge := range map[string]string{
		"the last one, the same":    "INSERT INTO recent (at, hash, line) SELECT at, hash, line FROM entry WHERE at = 1<<32 | 3",
		"the last one, another":     "INSERT INTO recent (at, hash, line) SELECT 1<<32 | 3, hash, line FROM entry WHERE at = 1<<32 | 1",
		"one before":                "INSERT INTO recent (at, hash, line) SELECT at, hash, line FROM entry WHERE at = 1<<32 | 2",
		"all of them":               "INSERT INTO recent (at, hash, line) SELECT at, hash, line FROM entry WHERE at >> 32 = 1 ORDER BY at",
		"the last one and one more": "INSERT INTO recent (at, hash, line) SELECT at, hash, line FROM entry WHERE at = 1<<32 | 3; INSERT INTO recent (at, hash, line) SELECT 1<<32 | 4, hash, line FROM entry WHERE at = 1<<32 | 3",
		"one that waits":            "INSERT INTO entry (at, hash, line) SELECT at, hash, line FROM recent WHERE at = 2<<32 | 1",
	} {
		path := filepath.Join(t.TempDir(), "shop.db")
		s := must(sqlite.Create(t.Context(), path))(t)
		appendTo(t, s, "shop", 0, "1", "2", "3")
		waiting := []store.Batch{batch("job/1", 0, "1"), batch("job/2", 0, "1"), batch("job/3", 0, "1"), batch("job/4", 0, "1")}
		if grown, err := s.Append(t.Context(), waiting); err != nil || grown != nil {
			t.Fatal(grown, err)
		}
		if err := s.Check(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := s.Say(t.Context(), forge); err != nil {
			t.Fatal(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		s = must(sqlite.Open(t.Context(), path))(t)
		if err := s.Check(t.Context()); !errors.As(err, new(*store.DamageError)) || !strings.Contains(err.Error(), "is there twice") {
			t.Errorf("%s: Check finds %v", what, err)
		}
		log := store.Log("shop")
		if what == "one that waits" {
			log = "job/1"
		}
		var err error
		for _, err = range s.Read(t.Context(), log, 0) {
			if err != nil {
				break
			}
		}
		if !errors.As(err, new(*store.DamageError)) {
			t.Errorf("%s: it is read: %v", what, err)
		}
		// One log alone has what waits moved before it.
		if _, err := s.Append(t.Context(), batches("job/9", 0, "1")); !errors.As(err, new(*store.DamageError)) {
			t.Errorf("%s: it is moved over what is there: %v", what, err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
