package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tenths/internal/ledger"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// What can't be told by what was asked for is told by itself: that a clock was set
// back, and that a newer program has entered what this one does not know.
func TestToldOfTheLogs(t *testing.T) {
	dir, now := t.TempDir(), time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	path := filepath.Join(dir, shop.Database)
	st, err := sqlite.Create(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	by := shop.Who{Handle: "mp"}
	s, err := shop.Make(t.Context(), st, shop.Options{Dir: dir, Program: "test", Now: func() time.Time { return now }}, "Ours", shoplog.PersonAdded{Handle: "mp", Name: "Pohl", Role: shoplog.Manager, Since: "2026-01-01"}, "correct horse")
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	shows := func(want bool, words string, args ...string) {
		t.Helper()
		var out bytes.Buffer
		if code := run(append(args, "--shop", dir), &out, &out); code != exitGood {
			t.Fatalf("exit status %d: %s", code, &out)
		}
		if got := strings.Contains(strings.Join(strings.Fields(out.String()), " "), words); got != want {
			t.Errorf("%v: it says %q: %v, want %v:\n%s", args, words, got, want, &out)
		}
	}
	const shown, logged, unknown = "The writer's clock went back at entry 3: the order", "the writer's clock went back by 1h0m0s", "This version of tenths does not know an entry of the shop's log"
	shows(false, "clock", "shop", "show")
	shows(false, unknown, "shop", "show")
	now = now.Add(-time.Hour)
	if _, err := s.State(t.Context(), by, &shoplog.PolicySet{TwoPeople: true, Why: "so"}); err != nil {
		t.Fatal(err)
	}
	shows(true, shown, "shop", "show")
	shows(true, logged, "shop", "log")

	line, err := ledger.Encode(ledger.Entry{V: 2, Log: shoplog.Log, Seq: 4, Shop: 3, ID: ledger.ID("new"), Recorded: ledger.At(now), By: "mp", Kind: "gauge-added", Fact: []byte(`{"gauge":"m-4"}`)})
	if err != nil {
		t.Fatal(err)
	}
	if grown, err := st.Append(t.Context(), []store.Batch{{Log: shoplog.Log, Size: 3, Entries: [][]byte{line}}}); err != nil || grown != nil {
		t.Fatal(grown, err)
	}
	shows(true, unknown+`: entry 4, "gauge-added" of version 2.`, "shop", "show")
	shows(true, "gauge-added", "shop", "log")
}
