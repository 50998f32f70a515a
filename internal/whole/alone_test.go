package whole

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// Many add a line each to one file, all at once: every line is there.
func TestAlone(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "file")
	const many = 40
	var all sync.WaitGroup
	for range many {
		all.Go(func() {
			for range 5 {
				err := Alone(name, func() error {
					was, err := os.ReadFile(name)
					if err != nil && !errors.Is(err, os.ErrNotExist) {
						return err
					}
					return Write(name, append(was, "line\n"...))
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	got, err := os.ReadFile(name)
	if n := strings.Count(string(got), "line\n"); err != nil || n != 5*many {
		t.Errorf("%d lines are there of %d, %v", n, 5*many, err)
	}
}

func TestAloneErrors(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "file")
	// What went wrong inside is told, and the lock is off.
	wrong := errors.New("wrong")
	if err := Alone(name, func() error { return wrong }); !errors.Is(err, wrong) {
		t.Errorf("%v, want %v", err, wrong)
	}
	if err := Alone(name, func() error { return nil }); err != nil {
		t.Error(err)
	}
	// Nobody waits for ever.
	err := Alone(name, func() error {
		return alone(name, time.Millisecond, func() error { t.Error("two are alone"); return nil })
	})
	if err == nil || !strings.Contains(err.Error(), "is being changed by another program") {
		t.Errorf("waiting for what never ends: %v", err)
	}
	if err := Alone(filepath.Join(dir, "none", "file"), func() error { t.Error("it was changed"); return nil }); err == nil {
		t.Error("a file was locked in a folder that is not there")
	}
}
