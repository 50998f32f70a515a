package sqlite_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"tenths/internal/ledger"
	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// The figures are of the disk under TMPDIR: point it at the one that the shop's
// folder is on. In memory (tmpfs) a durable commit costs nothing, and nothing
// is measured.

// benchLine is an entry as the floor makes them, of about 400 bytes.
func benchLine(b testing.TB, l store.Log, seq int64) []byte {
	line, err := ledger.Encode(ledger.Entry{
		V: ledger.Version, Log: string(l), Seq: seq, Shop: 41, ID: fmt.Sprintf("0198c3d2-7a41-7c1e-9d55-%012x", seq),
		Made: ledger.At(time.UnixMilli(1790000000000 + seq)), Recorded: ledger.At(time.UnixMilli(1790000000100 + seq)),
		By: "ann", Device: "bench-2", Kind: "reading taken",
		Fact: []byte(fmt.Sprintf(`{"item":"0198c3d2-7a41-7c1e-9d55-00000000002a","stage":1,"spot":"rod-3.bigend.front.90","digits":"2.%04d","unit":"in","gauge":"micrometer 2-3"}`, seq%10000)),
	})
	if err != nil {
		b.Fatal(err)
	}
	return line
}

// BenchmarkRawInsert is what SQLite does by itself, with the same driver and
// settings: one row of the same bytes for each durable commit.
func BenchmarkRawInsert(b *testing.B) {
	db, err := sql.Open("sqlite", filepath.Join(b.TempDir(), "raw.db")+"?_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)")
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("CREATE TABLE entry (at INTEGER PRIMARY KEY, hash BLOB NOT NULL, line BLOB NOT NULL)"); err != nil {
		b.Fatal(err)
	}
	insert, err := db.Prepare("INSERT INTO entry (at, hash, line) VALUES (?, ?, ?)")
	if err != nil {
		b.Fatal(err)
	}
	defer insert.Close()
	line := benchLine(b, "shop", 1)
	hash := ledger.HashLine(line)
	at := 0
	for b.Loop() {
		at++
		if _, err := insert.Exec(at, hash[:], line); err != nil {
			b.Fatal(err)
		}
	}
	perEntry(b, 1)
}

// BenchmarkAppendOne commits one entry at a time.
func BenchmarkAppendOne(b *testing.B) { benchAppend(b, 1, 1) }

// BenchmarkAppendFifty commits fifty entries of one log at a time.
func BenchmarkAppendFifty(b *testing.B) { benchAppend(b, 1, 50) }

// BenchmarkAppendFiftyLogs commits one entry of each of fifty logs at a time.
func BenchmarkAppendFiftyLogs(b *testing.B) { benchAppend(b, 50, 1) }

// BenchmarkAppendFourLogsOfMany commits five hundred entries of each of four logs
// at a time, as four files that are imported at once.
func BenchmarkAppendFourLogsOfMany(b *testing.B) { benchAppend(b, 4, 500) }

func benchAppend(b *testing.B, logs, entries int) {
	s := create(b)
	defer s.Close()
	batches := make([]store.Batch, logs)
	for i := range batches {
		batches[i].Log = store.Log(fmt.Sprintf("job/0198c3d2-7a41-7c1e-9d55-%012x", i))
		for range entries {
			batches[i].Entries = append(batches[i].Entries, benchLine(b, batches[i].Log, 1))
		}
	}
	for b.Loop() {
		grown, err := s.Append(b.Context(), batches)
		if err != nil || grown != nil {
			b.Fatal(grown, err)
		}
		for i := range batches {
			batches[i].Size += int64(entries)
		}
	}
	perEntry(b, logs*entries)
}

// BenchmarkRead reads 100,000 entries of ten logs, and BenchmarkReadDecode
// reads what they say as well.
func BenchmarkRead(b *testing.B)       { benchRead(b, false) }
func BenchmarkReadDecode(b *testing.B) { benchRead(b, true) }

func benchRead(b *testing.B, decode bool) {
	const logs, each = 10, 10_000
	s := create(b)
	defer s.Close()
	for l := range logs {
		batch := store.Batch{Log: store.Log(fmt.Sprintf("job/%d", l))}
		for seq := range int64(each) {
			batch.Entries = append(batch.Entries, benchLine(b, batch.Log, seq+1))
		}
		if _, err := s.Append(b.Context(), []store.Batch{batch}); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		n := 0
		for l := range logs {
			for line, err := range s.Read(b.Context(), store.Log(fmt.Sprintf("job/%d", l)), 0) {
				if err != nil {
					b.Fatal(err)
				}
				if n++; decode {
					if _, err := ledger.Read(line); err != nil {
						b.Fatal(err)
					}
				}
			}
		}
		if n != logs*each {
			b.Fatalf("read %d entries", n)
		}
	}
	perEntry(b, logs*each)
}

// perEntry reports how long an entry takes, and how many there are in a second.
func perEntry(b *testing.B, entries int) {
	n := float64(b.N * entries)
	b.ReportMetric(n/b.Elapsed().Seconds(), "entries/s")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/n, "ns/entry")
}

// BenchmarkOpen opens and closes a record of a thousand logs.
func BenchmarkOpen(b *testing.B) {
	s := create(b)
	var batches []store.Batch
	for i := range 1000 {
		l := store.Log(fmt.Sprintf("job/%d", i))
		batches = append(batches, store.Batch{Log: l, Entries: [][]byte{benchLine(b, l, 1)}})
	}
	if _, err := s.Append(b.Context(), batches); err != nil {
		b.Fatal(err)
	}
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s, err := sqlite.Open(b.Context(), s.Path())
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
