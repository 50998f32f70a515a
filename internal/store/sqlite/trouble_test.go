//go:build linux || darwin

package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// fillUp records until there is no room, and goes on once there is: nothing that
// was acknowledged is missing, and nothing else is there.
func fillUp(ctx context.Context, s *sqlite.Store, want error, makeRoom func() error) error {
	text := strings.Repeat("x", 300)
	acknowledged := int64(0)
	three := func() []store.Batch { return batches("shop", acknowledged, text+"1", text+"2", text+"3") }
	var err error
	for err == nil {
		var grown []store.Log
		if grown, err = s.Append(ctx, three()); grown != nil {
			return fmt.Errorf("grown: %q", grown)
		}
		if err == nil {
			acknowledged += 3
		}
		if acknowledged > 100_000 {
			return errors.New("it never is full")
		}
	}
	if !errors.Is(err, store.ErrFull) && (want != nil || !strings.Contains(err.Error(), "the disk failed")) {
		return fmt.Errorf("when there was no room: %w", err)
	}
	if _, err := s.PutBlob(ctx, make([]byte, 1<<20)); err == nil {
		return errors.New("there is room for a blob")
	}
	look := func() error {
		n := int64(0)
		for line, err := range s.Read(ctx, "shop", 0) {
			if n++; err != nil || string(line) != text+fmt.Sprint((n-1)%3+1) {
				return fmt.Errorf("entry %d: %q, %w", n, line, err)
			}
		}
		if n != acknowledged {
			return fmt.Errorf("%d entries were acknowledged, and %d are there", acknowledged, n)
		}
		return s.Check(ctx)
	}
	if err := look(); err != nil {
		return err
	}
	if err := makeRoom(); err != nil {
		return err
	}
	if grown, err := s.Append(ctx, three()); err != nil || grown != nil {
		return fmt.Errorf("when there was room again: %q, %w", grown, err)
	}
	acknowledged += 3
	if err := look(); err != nil {
		return err
	}
	path := s.Path()
	if err := s.Close(); err != nil {
		return err
	}
	if s, err = sqlite.Open(ctx, path); err != nil {
		return err
	}
	return errors.Join(look(), s.Close())
}

// No room by SQLite's own count of pages.
func TestFull(t *testing.T) {
	s := create(t)
	if err := s.Say(t.Context(), "PRAGMA max_page_count = 40"); err != nil {
		t.Fatal(err)
	}
	if err := fillUp(t.Context(), s, store.ErrFull, func() error {
		return s.Say(t.Context(), "PRAGMA max_page_count = 4000")
	}); err != nil {
		t.Error(err)
	}
}

func init() {
	// No room by the system: files may not grow beyond 300 KB.
	children["limited"] = func(ctx context.Context, path string) error {
		signal.Ignore(syscall.SIGXFSZ)
		s, err := sqlite.Create(ctx, path)
		if err != nil {
			return err
		}
		var limit syscall.Rlimit
		if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
			return err
		}
		tight := limit
		tight.Cur = 300_000
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &tight); err != nil {
			return err
		}
		return fillUp(ctx, s, nil, func() error { return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit) })
	}
	children["read-only"] = func(ctx context.Context, folder string) error {
		if os.Geteuid() == 0 { // to whom nothing is read-only
			if err := syscall.Setuid(65534); err != nil {
				return err
			}
		}
		return readOnly(ctx, folder)
	}
}

func TestFileLimit(t *testing.T) {
	_, done := child(t, "limited", filepath.Join(t.TempDir(), "shop.db"))
	done()
}

// In a folder or a file that can't be written to, what can be read is, and
// recording says why it can't.
func TestReadOnly(t *testing.T) {
	folder := t.TempDir()
	for _, in := range []string{"folder", "file"} {
		if err := os.Mkdir(filepath.Join(folder, in), 0o700); err != nil {
			t.Fatal(err)
		}
		write(t, filepath.Join(folder, in, "shop.db"), known(t))
	}
	chmod := func(mode os.FileMode, names ...string) {
		for _, name := range names {
			if err := os.Chmod(filepath.Join(folder, name), mode); err != nil {
				t.Fatal(err)
			}
		}
	}
	chmod(0o444, "folder/shop.db", "file/shop.db")
	chmod(0o555, "folder")
	chmod(0o777, "file")
	chmod(0o755, ".", "..") // for somebody else to get there
	defer chmod(0o700, "folder", "file")
	_, done := child(t, "read-only", folder)
	done()
}

func readOnly(ctx context.Context, folder string) error {
	if _, err := sqlite.Open(ctx, filepath.Join(folder, "folder", "shop.db")); !errors.Is(err, store.ErrReadOnly) {
		return fmt.Errorf("open in a read-only folder: %w", err)
	}
	if _, err := sqlite.Create(ctx, filepath.Join(folder, "folder", "new.db")); !errors.Is(err, os.ErrPermission) {
		return fmt.Errorf("create in a read-only folder: %w", err)
	}
	s, err := sqlite.Open(ctx, filepath.Join(folder, "file", "shop.db"))
	if err != nil {
		return fmt.Errorf("open a read-only file: %w", err)
	}
	defer s.Close()
	if _, err := s.Append(ctx, batches("shop", 3, "later")); !errors.Is(err, store.ErrReadOnly) {
		return fmt.Errorf("append to a read-only file: %w", err)
	}
	p, errs := look(ctx, s, pictureOf(knownSteps()))
	if len(p.logs["shop"]) != len(pictureOf(knownSteps()).logs["shop"]) {
		return fmt.Errorf("read-only, the shop's log says %q", p.logs["shop"])
	}
	return errors.Join(append(errs, s.Check(ctx))...)
}
