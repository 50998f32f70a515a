package sqlite_test

import (
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
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

// What waits to be moved is never more than a bound and one commit, and is moved
// as soon as one log alone is written to: then nothing waits before it.
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
	if most < 500 || most > 1050 {
		t.Errorf("%d entries waited at most", most)
	}
	if waiting() == 0 {
		t.Fatal("none waits, and the last commits were of many logs")
	}
	appendTo(t, s, "job/3", sizes[3], "alone")
	if n := waiting(); n != 0 {
		t.Errorf("%d entries wait behind a commit of one log", n)
	}
	if err := errors.Join(s.Check(t.Context())); err != nil {
		t.Error(err)
	}
}
