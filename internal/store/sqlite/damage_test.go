package sqlite_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// torture tells that everything is to be tried, and not just most of it.
var torture = os.Getenv("TENTHS_TORTURE") != ""

// Whatever byte of the file is altered: what is read is what was written, or
// the beginning of it, or an error that says so; what is recorded afterwards is
// there; and Check finds nothing only where nothing is missing.
func TestFlippedByte(t *testing.T) {
	file := known(t)
	masks := []byte{0xff}
	if torture {
		masks = []byte{0xff, 0x01, 0x02, 0x10, 0x80}
	}
	for _, mask := range masks {
		everywhere(t, interesting(file), func(at int, path string) (outcome, error) {
			flipped := bytes.Clone(file)
			flipped[at] ^= mask
			return damaged(t.Context(), path, flipped, knownSteps(), torture || at%5 == 0)
		})
	}
}

// Where what waits stands is said by its row and by the index of those: each bit of
// both, since one of them leads to another's row, whose hash is right.
func TestFlippedBitOfWhatWaits(t *testing.T) {
	file := known(t)
	path := filepath.Join(t.TempDir(), "shop.db")
	write(t, path, file)
	db := must(sql.Open("sqlite", path+"?mode=ro"))(t)
	defer db.Close()
	rows := must(db.Query("SELECT pageno FROM dbstat WHERE name = 'recent' OR name = 'sqlite_autoindex_recent_1'"))(t)
	defer rows.Close()
	var places []int
	for rows.Next() {
		var page int
		if err := rows.Scan(&page); err != nil {
			t.Fatal(err)
		}
		for at := (page - 1) * 4096; at < page*4096; at++ {
			if file[at] != 0 && file[at] != 'a' { // long lines are of it: their hash tells
				places = append(places, at)
			}
		}
	}
	if err := rows.Err(); err != nil || len(places) < 300 {
		t.Fatalf("%d places: %v", len(places), err)
	}
	for bit := range 8 {
		everywhere(t, places, func(at int, path string) (outcome, error) {
			flipped := bytes.Clone(file)
			flipped[at] ^= 1 << bit
			return damaged(t.Context(), path, flipped, knownSteps(), true)
		})
	}
}

// The same of a record in which what waited was moved for its number, and from
// whose file pages are free: of that one, a part is tried.
func TestDamagedAfterMoving(t *testing.T) {
	file := fileOf(t, movedSteps())
	path := filepath.Join(t.TempDir(), "shop.db")
	write(t, path, file)
	db := must(sql.Open("sqlite", path+"?mode=ro"))(t)
	defer db.Close()
	var waiting, settled int
	if err := db.QueryRow("SELECT (SELECT count(*) FROM recent), (SELECT count(*) FROM entry)").Scan(&waiting, &settled); err != nil || waiting != 8 || settled < 1000 {
		t.Fatalf("%d entries wait and %d are in place, want 8 and more than 1000: %v", waiting, settled, err)
	}
	every := 293
	if torture {
		every = 5
	}
	var places, lengths []int
	for _, at := range interesting(file) {
		if at%every == 0 {
			places = append(places, at)
		}
	}
	for n := 0; n < len(file); n += 10 * every {
		lengths = append(lengths, n)
	}
	everywhere(t, places, func(at int, path string) (outcome, error) {
		flipped := bytes.Clone(file)
		flipped[at] ^= 0xff
		return damaged(t.Context(), path, flipped, movedSteps(), at%5 == 0)
	})
	everywhere(t, lengths, func(n int, path string) (outcome, error) {
		o, err := damaged(t.Context(), path, file[:n], movedSteps(), false)
		if err == nil && o != told {
			err = fmt.Errorf("%v", o)
		}
		return o, err
	})
}

// Wherever the file is cut off, it is told.
func TestCutFile(t *testing.T) {
	file := known(t)
	var lengths []int
	for n := range len(file) {
		if torture || n < 110 || n%256 < 2 || n%4096 > 4090 {
			lengths = append(lengths, n)
		}
	}
	everywhere(t, lengths, func(n int, path string) (outcome, error) {
		o, err := damaged(t.Context(), path, file[:n], knownSteps(), false)
		if err == nil && o != told {
			err = fmt.Errorf("%v", o)
		}
		return o, err
	})
}

// Whatever byte of the -wal is altered, and wherever it is cut off: what is read
// is all that had been recorded by one of the commits.
func TestDamagedWAL(t *testing.T) {
	file, wal := crashed(t)
	moved, movedWAL := crashedIn(t, "crash-after-moving")
	places := interesting(wal)
	if !torture { // one check sum covers all of it, and trying takes long
		places = slices.DeleteFunc(places, func(at int) bool { return at%4 != 0 && at > 100 })
	}
	everywhere(t, places, func(at int, path string) (outcome, error) {
		flipped := bytes.Clone(wal)
		flipped[at] ^= 0xff
		return afterCommit(t.Context(), path, file, flipped, knownSteps())
	})
	var lengths []int
	for n := range len(wal) {
		if torture || n%251 == 0 || (n-32)%4120 > 4117 || (n-32)%4120 < 30 {
			lengths = append(lengths, n)
		}
	}
	everywhere(t, lengths, func(n int, path string) (outcome, error) {
		return afterCommit(t.Context(), path, file, wal[:n], knownSteps())
	})

	// The same where one of the commits moved what waited, for its number.
	every := 997
	if torture {
		every = 31
	}
	places, lengths = nil, nil
	for n := range len(movedWAL) {
		if n%every == 0 {
			places = append(places, n)
		}
		if n%(2*every) == 0 || (n-32)%4120 < 1 {
			lengths = append(lengths, n)
		}
	}
	everywhere(t, places, func(at int, path string) (outcome, error) {
		flipped := bytes.Clone(movedWAL)
		flipped[at] ^= 0xff
		return afterCommit(t.Context(), path, moved, flipped, movedSteps())
	})
	everywhere(t, lengths, func(n int, path string) (outcome, error) {
		return afterCommit(t.Context(), path, moved, movedWAL[:n], movedSteps())
	})
}

// Without the -wal, the file says what it said when it was last closed; without
// the -shm, nothing is missing.
func TestMissingFiles(t *testing.T) {
	file, wal := crashed(t)
	for _, test := range []struct {
		wal  []byte
		want outcome
	}{{wal, intact}, {nil, short}} {
		path := filepath.Join(t.TempDir(), "shop.db")
		got, err := afterCommit(t.Context(), path, file, test.wal, knownSteps())
		if err != nil || got != test.want {
			t.Errorf("with %d bytes of the -wal: %v, %v", len(test.wal), got, err)
		}
	}
}

// An outcome is what is left of a damaged record.
type outcome string

const (
	intact outcome = "all is there"
	short  outcome = "a beginning is there"
	told   outcome = "damage is told"
)

// known returns the file of a record of the known steps.
func known(t *testing.T) []byte {
	t.Helper()
	return fileOf(t, knownSteps())
}

// fileOf returns the file of a record of steps.
func fileOf(t *testing.T, steps []step) []byte {
	t.Helper()
	s := create(t)
	if err := errors.Join(record(t.Context(), s, steps), s.Close()); err != nil {
		t.Fatal(err)
	}
	return must(os.ReadFile(s.Path()))(t)
}

// crashed returns the file and the -wal of a record that was not closed: of the
// known steps, the first ones are in the file.
func crashed(t *testing.T) (file, wal []byte) { return crashedIn(t, "crash") }

func crashedIn(t *testing.T, program string) (file, wal []byte) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.db")
	_, done := child(t, program, path)
	done()
	return must(os.ReadFile(path))(t), must(os.ReadFile(path + "-wal"))(t)
}

func init() {
	children["crash"] = func(ctx context.Context, path string) error { return crash(ctx, path, knownSteps()) }
	children["crash-after-moving"] = func(ctx context.Context, path string) error { return crash(ctx, path, movedSteps()) }
}

// crash records steps, and ends without closing the record.
func crash(ctx context.Context, path string, steps []step) error {
	const first = 4
	s, err := sqlite.Create(ctx, path)
	if err != nil {
		return err
	}
	if err := errors.Join(record(ctx, s, steps[:first]), s.Close()); err != nil {
		return err
	}
	if s, err = sqlite.Open(ctx, path); err != nil {
		return err
	}
	return record(ctx, s, steps[first:])
}

// everywhere runs try for all of many, on all cores, each time with a path where
// nothing is.
func everywhere(t *testing.T, many []int, try func(n int, path string) (outcome, error)) {
	t.Helper()
	var mu sync.Mutex
	tally := map[outcome]int{}
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		folder := t.TempDir()
		wg.Go(func() {
			for n := range next {
				path := filepath.Join(folder, "shop.db")
				for _, beside := range []string{"", "-wal", "-shm"} {
					os.Remove(path + beside)
				}
				o, err := try(n, path)
				if err != nil {
					t.Errorf("%d: %v", n, err)
				}
				mu.Lock()
				tally[o]++
				mu.Unlock()
			}
		})
	}
	for _, n := range many {
		next <- n
	}
	close(next)
	wg.Wait()
	t.Logf("of %d: %v", len(many), tally)
}

// interesting returns the places in a file that are not far inside a run of one
// byte; all of them under torture.
func interesting(file []byte) (places []int) {
	const far = 8
	for i := range file {
		around := file[max(0, i-far):min(len(file), i+far+1)]
		if torture || bytes.Count(around, file[i:i+1]) < len(around) {
			places = append(places, i)
		}
	}
	return places
}

// damaged looks at a damaged record of some steps, and goes on with it
// where that is wanted.
func damaged(ctx context.Context, path string, file []byte, steps []step, goOn bool) (outcome, error) {
	all := pictureOf(steps)
	if err := os.WriteFile(path, file, 0o600); err != nil {
		return "", err
	}
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		return told, unclear(err)
	}
	defer s.Close()
	p, errs := look(ctx, s, all)
	if err := errors.Join(p.wrong(all), unclear(errs...)); err != nil {
		return "", err
	}
	check := s.Check(ctx)
	if err := unclear(check); err != nil {
		return "", err
	}
	if goOn {
		if err := goneOn(ctx, s, all, p); err != nil {
			return "", err
		}
	}
	p.derived = all.derived // may be lost
	switch complete := reflect.DeepEqual(p, all); {
	case len(errs) > 0:
		return told, nil
	case complete:
		return intact, nil
	case check == nil:
		return short, errors.New("something is missing, and Check finds nothing")
	}
	return short, nil
}

// goneOn appends to every log, as it was read, and looks again.
func goneOn(ctx context.Context, s store.Store, all, p picture) error {
	want := all
	want.logs = maps.Clone(all.logs)
	landed := map[store.Log]bool{}
	for l, lines := range p.logs {
		grown, err := s.Append(ctx, []store.Batch{batch(l, int64(len(lines)), "later")})
		if err != nil && !errors.Is(err, store.ErrReadOnly) {
			if err := unclear(err); err != nil {
				return err
			}
		}
		if landed[l] = err == nil && grown == nil; landed[l] {
			want.logs[l] = append(slices.Clip(lines), "later")
		}
	}
	again, errs := look(ctx, s, want)
	for l := range landed {
		if len(errs) == 0 && landed[l] && !slices.Equal(again.logs[l], want.logs[l]) {
			return fmt.Errorf("%s, to which was appended, says %q, and not %q", l, again.logs[l], want.logs[l])
		}
	}
	return errors.Join(again.wrong(want), unclear(errs...))
}

// afterCommit looks at a record whose -wal is damaged: it is all as it was after
// one of the steps.
func afterCommit(ctx context.Context, path string, file, wal []byte, steps []step) (outcome, error) {
	if err := os.WriteFile(path, file, 0o600); err != nil {
		return "", err
	}
	if wal != nil {
		if err := os.WriteFile(path+"-wal", wal, 0o600); err != nil {
			return "", err
		}
	}
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		return told, unclear(err)
	}
	defer s.Close()
	p, errs := look(ctx, s, pictureOf(steps))
	if len(errs) > 0 {
		return told, unclear(errs...)
	}
	for n := range len(steps) + 1 {
		if reflect.DeepEqual(p, pictureOf(steps[:n])) {
			if n == len(steps) {
				return intact, nil
			}
			return short, nil
		}
	}
	return "", fmt.Errorf("after none of the commits it says %q", p)
}

// unclear returns the errors that don't say what is wrong.
func unclear(errs ...error) error {
	var dark []error
	for _, err := range errs {
		if err == nil || errors.As(err, new(*store.DamageError)) ||
			strings.Contains(err.Error(), "is not the record of a shop") || strings.Contains(err.Error(), "is of version") {
			continue
		}
		dark = append(dark, fmt.Errorf("not clear: %w", err))
	}
	return errors.Join(dark...)
}
