package faults

import (
	"fmt"
	"math/rand/v2"
	"os"
	"sync"
	"syscall"
	"testing"
	"time"
)

// Killed at any moment while eight write, alone or beside another program: what
// was acknowledged is there, and the shop goes on.
func TestKilled(t *testing.T) {
	const writers = 8
	const most = 250 * time.Millisecond // a child needs a fifth of it to begin
	const folder = 8                    // rounds in one folder, so that it does not grow for ever
	n := rounds(8, 200)
	chance := rand.New(rand.NewPCG(1, uint64(n)))
	var dir string
	var acks []acked
	kills, entries, silent := 0, 0, 0
	for round := range n {
		if round%folder == 0 {
			dir, acks = t.TempDir(), nil
			s, st, err := makeShop(t.Context(), dir, func(log, id string, seq int64) { acks = append(acks, acked{log, id, seq}) })
			if err != nil {
				t.Fatal(err)
			}
			s.Close()
			if err := st.Close(); err != nil {
				t.Fatal(err)
			}
		}
		programs := 1 + round%2
		var mu sync.Mutex
		var wait sync.WaitGroup
		for p := range programs {
			after := time.Duration(chance.Int64N(int64(most)))
			wait.Go(func() {
				got, err := killed(t, after, dir, fmt.Sprintf("round %d, program %d", round, p), writers)
				if err != nil {
					t.Errorf("round %d: %v", round, err)
				}
				mu.Lock()
				defer mu.Unlock()
				kills++
				entries += len(got)
				if len(got) == 0 {
					silent++
				}
				acks = append(acks, got...)
			})
		}
		wait.Wait()
		at := dir
		if round%3 == 2 {
			// The next child finds it as the kill has left it.
			at = t.TempDir()
			if err := os.CopyFS(at, os.DirFS(dir)); err != nil {
				t.Fatal(err)
			}
		}
		s, end, err := openShop(t.Context(), at)
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		if err := whole(t.Context(), s, acks); err != nil {
			t.Fatalf("round %d, %d acknowledged: %v", round, len(acks), err)
		}
		more, err := goOn(t.Context(), s, fmt.Sprintf("behind round %d", round))
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		if at == dir {
			acks = append(acks, more...)
		}
		if err := end(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d rounds, %d programs killed, %d entries acknowledged by them, %d killed before their first", n, kills, entries, silent)
	if entries == 0 {
		t.Error("nothing was acknowledged before the kills")
	}
}

// killed lets a child write for a while, kills it, and returns what it
// acknowledged.
func killed(t *testing.T, after time.Duration, dir, tag string, writers int) ([]acked, error) {
	cmd := child(t, "write", dir, tag, fmt.Sprint(writers), "1000000")
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	stop := time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	defer stop.Stop()
	acks, err := readAcks(out)
	if err != nil {
		return nil, err
	}
	err = cmd.Wait()
	if status, ok := cmd.ProcessState.Sys().(syscall.WaitStatus); !ok || !status.Signaled() {
		return acks, fmt.Errorf("the child was not killed, and ended with %v", err)
	}
	return acks, nil
}
