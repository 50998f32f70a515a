// Record measures how fast entries are kept, beside raw SQLite in the same run,
// and makes records large enough to measure reading with.
//
//	record write               commits a second: raw SQLite, one writer, fifty
//	record shop FOLDER         makes a shop of 1,000 jobs with 1,000 entries each
//	record drop FOLDER         throws its derived rows away
//	record export FILE N       exports a job of N entries; prints the shop's key
package main

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"

	"tenths/internal/demo"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/reading"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

func main() {
	debug.SetGCPercent(-1) // as the program itself
	debug.SetMemoryLimit(160 << 20)
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "record:", err)
		os.Exit(2)
	}
}

func run(args []string) error {
	ctx := context.Background()
	switch {
	case len(args) == 1 && args[0] == "write":
		return write(ctx)
	case len(args) == 2 && args[0] == "shop":
		return largeShop(ctx, args[1])
	case len(args) == 2 && args[0] == "drop":
		st, err := sqlite.Open(ctx, filepath.Join(args[1], shop.Database))
		if err != nil {
			return err
		}
		return errors.Join(st.DropDerived(ctx), st.Close())
	case len(args) == 3 && args[0] == "export":
		n, err := strconv.Atoi(args[2])
		if err != nil {
			return err
		}
		return largeExport(ctx, args[1], n)
	}
	return errors.New("usage: record write | shop FOLDER | drop FOLDER | export FILE N")
}

var by = shop.Who{Handle: "mp"}

// newShop makes a shop with the demo's book.
func newShop(ctx context.Context, dir string) (*shop.Shop, *sqlite.Store, string, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, nil, "", err
	}
	st, err := sqlite.Create(ctx, filepath.Join(dir, shop.Database))
	if err != nil {
		return nil, nil, "", err
	}
	first := shoplog.PersonAdded{Handle: by.Handle, Name: "M. Pohl", Role: shoplog.Manager, Since: "2020-01-01"}
	s, err := shop.Make(ctx, st, shop.Options{Dir: dir, Device: "bench", Program: "bench"}, "Bench", first, "correct horse")
	if err != nil {
		return nil, nil, "", err
	}
	e, err := s.Adopt(ctx, by, "book.yaml", demo.Book)
	return s, st, e.Edition, err
}

func open(ctx context.Context, s *shop.Shop, order, edition string) (shop.Done, error) {
	return s.OpenJob(ctx, by, job.JobOpened{
		Order: order, Model: "Invented four", Serial: "1127", Reason: "overhaul", Customer: "a club",
		Edition: edition, Authority: "14 CFR 43", Limits: job.ServiceLimits,
	})
}

// take is a reading as a person enters it.
func take(n int) shop.Request {
	return shop.Request{Request: &job.Take{Row: reading.Row{
		Spot: "crank.main-1.front.0", Value: "2.31" + fmt.Sprintf("%02d", n%100), Gauge: "2-3 in micrometer", Temperature: "68 F",
	}}}
}

// rounds are how often each figure is taken, in turn; the median counts.
const rounds = 7

// write measures commits.
func write(ctx context.Context) error {
	dir, err := os.MkdirTemp("", "record-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	s, st, edition, err := newShop(ctx, filepath.Join(dir, "shop"))
	if err != nil {
		return err
	}
	defer func() { s.Close(); st.Close() }()
	const jobs = 51
	for i := range jobs {
		if _, err := open(ctx, s, strconv.Itoa(i), edition); err != nil {
			return err
		}
	}
	raw, err := sql.Open("sqlite", "file:"+filepath.Join(dir, "raw.db")+"?_txlock=immediate&_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)")
	if err != nil {
		return err
	}
	defer raw.Close()
	raw.SetMaxOpenConns(1)
	if _, err := raw.Exec("CREATE TABLE entry (id INTEGER PRIMARY KEY, line BLOB NOT NULL)"); err != nil {
		return err
	}
	insert, err := raw.Prepare("INSERT INTO entry (line) VALUES (?)")
	if err != nil {
		return err
	}
	sample, err := s.Entries(ctx, "0")
	if err != nil {
		return err
	}
	line, err := ledger.Encode(sample[0].Entry)
	if err != nil {
		return err
	}
	disk, err := os.Create(filepath.Join(dir, "disk"))
	if err != nil {
		return err
	}
	defer disk.Close()
	page := make([]byte, 4096)
	kinds := []struct {
		name    string
		writers int
		do      func(writer, n int) error
	}{
		{"bare write of a page and fsync", 1, func(_, n int) error {
			_, err := disk.WriteAt(page, int64(n)*4096)
			return errors.Join(err, disk.Sync())
		}},
		{"raw SQLite, one insert a commit", 1, func(int, int) error {
			_, err := insert.Exec(line)
			return err
		}},
		{"one writer", 1, func(_, n int) error {
			_, err := s.Enter(ctx, by, "50", take(n))
			return err
		}},
		{"50 writers on one job", 50, func(_, n int) error {
			_, err := s.Enter(ctx, by, "50", take(n))
			return err
		}},
		{"50 writers on 50 jobs", 50, func(w, n int) error {
			_, err := s.Enter(ctx, by, strconv.Itoa(w), take(n))
			return err
		}},
	}
	rates := make([][]float64, len(kinds))
	for range rounds {
		for i, k := range kinds {
			rate, err := measure(k.writers, k.do)
			if err != nil {
				return fmt.Errorf("%s: %w", k.name, err)
			}
			rates[i] = append(rates[i], rate)
		}
	}
	median := func(i int) float64 { return slices.Sorted(slices.Values(rates[i]))[rounds/2] }
	for i, k := range kinds {
		fmt.Printf("%-34s %9.0f a second  %6.2f × raw\n", k.name, median(i), median(i)/median(1))
	}
	if _, err := s.Check(ctx); err != nil {
		return err
	}
	return nil
}

// measure lets writers write for half a second and returns how many writes a
// second were acknowledged.
func measure(writers int, do func(writer, n int) error) (float64, error) {
	var n atomic.Int64
	var wait sync.WaitGroup
	errs := make(chan error, writers)
	begin := time.Now()
	for w := range writers {
		wait.Go(func() {
			for i := 0; time.Since(begin) < 500*time.Millisecond; i++ {
				if err := do(w, i); err != nil {
					errs <- err
					return
				}
				n.Add(1)
			}
		})
	}
	wait.Wait()
	took := time.Since(begin)
	select {
	case err := <-errs:
		return 0, err
	default:
		return float64(n.Load()) / took.Seconds(), nil
	}
}

// demoJob returns the facts of a job with the demo's readings, without the
// first, which opens it.
func demoJob(ctx context.Context, s *shop.Shop, edition string) ([]job.Entry, error) {
	if _, err := open(ctx, s, "demo", edition); err != nil {
		return nil, err
	}
	if _, err := s.ImportReadings(ctx, by, "demo", shop.Import{Name: "readings.csv", Data: demo.Readings, Register: true, SkipFaults: true}); err != nil {
		return nil, err
	}
	entries, err := s.Entries(ctx, "demo")
	return entries[1:], err
}

// fill appends as many of the facts as a job of n entries wants, again from the
// first when they are at their end: then as notes, since an item is registered
// once.
func fill(ctx context.Context, st store.Store, log string, facts []job.Entry, n int) error {
	known, err := st.Size(ctx, shoplog.Log)
	if err != nil {
		return err
	}
	lines := make([][]byte, 0, n)
	for i := 1; i < n; i++ {
		e := facts[(i-1)%len(facts)].Entry
		if i > len(facts) && e.Kind != "reading-taken" {
			e.Kind, e.Fact = "note-written", []byte(`{"text":"as before"}`)
		}
		e.Log, e.Seq, e.Shop, e.ID = log, int64(i)+1, known, uuid.Must(uuid.NewV7()).String()
		line, err := ledger.Encode(e)
		if err != nil {
			return err
		}
		lines = append(lines, line)
	}
	_, err = st.Append(ctx, []store.Batch{{Log: store.Log(log), Size: 1, Entries: lines}})
	return err
}

func largeShop(ctx context.Context, dir string) error {
	s, st, edition, err := newShop(ctx, dir)
	if err != nil {
		return err
	}
	defer func() { s.Close(); st.Close() }()
	facts, err := demoJob(ctx, s, edition)
	if err != nil {
		return err
	}
	for i := range 999 {
		done, err := open(ctx, s, fmt.Sprintf("2026-%03d", i), edition)
		if err == nil {
			err = fill(ctx, st, done.Log, facts, 1000)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func largeExport(ctx context.Context, name string, n int) error {
	dir, err := os.MkdirTemp("", "record-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	s, st, edition, err := newShop(ctx, dir)
	if err != nil {
		return err
	}
	defer func() { s.Close(); st.Close() }()
	facts, err := demoJob(ctx, s, edition)
	if err != nil {
		return err
	}
	done, err := open(ctx, s, "large", edition)
	if err == nil {
		err = fill(ctx, st, done.Log, facts, n)
	}
	if err != nil {
		return err
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	_, err = s.Export(ctx, by, "large", w)
	if err = errors.Join(err, w.Flush(), f.Close()); err != nil {
		return err
	}
	state, err := s.Record(ctx)
	if err == nil {
		fmt.Println(state.Key)
	}
	return err
}
