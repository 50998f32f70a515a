package sqlite

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"

	codes "modernc.org/sqlite/lib"

	"tenths/internal/store"
)

// Check reads everything: that SQLite finds the file sound, every entry, every
// blob, every secret. What is damaged is told as [store.DamageError].
func (s *Store) Check(ctx context.Context) error {
	var verdict string
	if err := s.read.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&verdict); err != nil {
		return told(err)
	}
	if verdict != "ok" {
		return store.Damaged("SQLite finds: %s", verdict)
	}
	sizes, err := s.Logs(ctx)
	if err != nil {
		return err
	}
	for l := range sizes {
		for _, err := range s.Read(ctx, l, 0) {
			if err != nil {
				return err
			}
		}
	}
	if err := s.checkBlobs(ctx); err != nil {
		return err
	}
	_, damage, err := s.secrets(ctx)
	return errors.Join(damage, err)
}

func (s *Store) checkBlobs(ctx context.Context) error {
	rows, err := s.read.QueryContext(ctx, "SELECT sha256 FROM blob")
	if err != nil {
		return told(err)
	}
	defer rows.Close()
	for rows.Next() {
		var hash []byte
		if err := rows.Scan(&hash); err != nil {
			return told(err)
		}
		if _, err := s.Blob(ctx, hex.EncodeToString(hash)); err != nil {
			return err
		}
	}
	return told(rows.Err())
}

// Backup writes the record as of one moment to a new file, while it is in use.
// The copy is checked whole before it gets its name.
func (s *Store) Backup(ctx context.Context, file string) error {
	if _, err := os.Lstat(file); err == nil {
		return fmt.Errorf("%s is there already, and a backup replaces nothing: give it another name", file)
	}
	temp, err := os.CreateTemp(filepath.Dir(file), filepath.Base(file)+".part-*")
	if err != nil {
		return fmt.Errorf("the backup can't be written: %w", err)
	}
	defer removeAll(temp.Name())
	defer temp.Close()
	name, err := filepath.Abs(temp.Name()) // SQLite would take file:… for an address
	if err != nil {
		return err
	}
	db, err := connect(s.path)
	if err != nil {
		return err
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", name); err != nil {
		return fmt.Errorf("the backup can't be written: %w", told(err))
	}
	if err := whole(ctx, name); err != nil {
		return err
	}
	return place(temp, file)
}

// Restore puts a backup in the place of the record at path, which nobody may
// have open. The backup is copied and the copy checked whole before anything is
// replaced; what was there is put aside, with what SQLite had beside it, under
// the name that is returned (nothing, if nothing was there). Should the power
// fail between the two, nothing is at path and both are beside it.
func Restore(ctx context.Context, backup, path string) (aside string, err error) {
	// SQLite's files stand beside the file, not beside a link to it.
	if file, err := filepath.EvalSymlinks(path); err == nil {
		path = file
	}
	release, err := alone(ctx, path)
	if err != nil {
		return "", err
	}
	defer release()
	temp, err := copyOf(backup, path)
	if err != nil {
		return "", fmt.Errorf("the backup can't be copied, and nothing was replaced: %w", err)
	}
	defer removeAll(temp.Name())
	defer temp.Close()
	if err := whole(ctx, temp.Name()); err != nil {
		var damage *store.DamageError
		if errors.As(err, &damage) {
			return "", fmt.Errorf("the backup %s is damaged, and nothing was replaced: use another one (%s)", backup, damage.What)
		}
		return "", fmt.Errorf("the backup %s can't be used, and nothing was replaced: %w", backup, err)
	}
	if runtime.GOOS == "windows" {
		release() // what is open can't be renamed there, so that others can't have it open either
	}
	aside = path + ".replaced-" + time.Now().UTC().Format("20060102T150405.000Z")
	moved, err := putAside(path, aside)
	if err != nil {
		return "", fmt.Errorf("nothing was replaced: %w", err)
	}
	if err := place(temp, path); err != nil {
		return "", fmt.Errorf("nothing was replaced: %w", errors.Join(err, putBack(path, aside)))
	}
	if !moved {
		return "", nil
	}
	return aside, nil
}

// whole opens a file and checks it, and leaves nothing of it to a -wal.
func whole(ctx context.Context, name string) error {
	s, err := Open(ctx, name)
	if err != nil {
		return err
	}
	if err := errors.Join(s.Check(ctx), s.Close()); err != nil {
		return err
	}
	if _, err := os.Lstat(name + "-wal"); err == nil {
		return fmt.Errorf("%s could not be closed", name)
	}
	return nil
}

// copyOf copies the backup to a new file beside path.
func copyOf(backup, path string) (*os.File, error) {
	if _, err := os.Lstat(backup + "-wal"); err == nil {
		return nil, fmt.Errorf("%s-wal stands beside it: it is a record in use, and not a backup", backup)
	}
	from, err := os.Open(backup)
	if err != nil {
		return nil, err
	}
	defer from.Close()
	temp, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".part-*")
	if err != nil {
		return nil, err
	}
	if _, err := io.Copy(temp, from); err != nil {
		return nil, errors.Join(err, temp.Close(), os.Remove(temp.Name()))
	}
	return temp, nil
}

// alone sees to it that nobody has the record at path open, nor opens it until
// release: whoever has it open shares a lock on the file, so that SQLite won't
// lock it for one alone.
func alone(ctx context.Context, path string) (release func(), err error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return func() {}, nil
	}
	db, err := connect(path, "locking_mode(EXCLUSIVE)")
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	release = func() { db.Close() }
	_, err = db.ExecContext(ctx, "PRAGMA busy_timeout = 0; BEGIN EXCLUSIVE")
	if err == nil {
		return release, nil
	}
	switch primary, _ := code(err); primary {
	case codes.SQLITE_BUSY:
		err = fmt.Errorf("another program has the record at %s open: end it first; nothing was replaced", path)
	case codes.SQLITE_NOTADB, codes.SQLITE_CORRUPT:
		// SQLite gives up on such a file before it asks for the lock. Whoever
		// has it open, or ended without closing it, has left its -shm.
		if _, shm := os.Lstat(path + "-shm"); errors.Is(shm, fs.ErrNotExist) {
			return release, nil
		}
		err = fmt.Errorf("the record at %s can't be read, so that whether another program has it open is not known: see that none has, remove %s-shm and restore again; nothing was replaced", path, path)
	default:
		err = told(err)
	}
	release()
	return nil, err
}

// putAside gives the record at path, and what SQLite had beside it, another
// name. The record goes first: without it, SQLite reads nothing of the rest.
func putAside(path, aside string) (moved bool, err error) {
	to := withFiles(aside)
	for i, from := range withFiles(path) {
		switch err := os.Rename(from, to[i]); {
		case err == nil:
			moved = true
		case !errors.Is(err, fs.ErrNotExist):
			return moved, errors.Join(err, putBack(path, aside))
		}
	}
	return moved, nil
}

func putBack(path, aside string) error {
	to := withFiles(path)
	var errs []error
	for i, from := range slices.Backward(withFiles(aside)) {
		if err := os.Rename(from, to[i]); !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// place gives a file its name for good.
func place(temp *os.File, name string) error {
	if err := temp.Sync(); err != nil {
		return err
	}
	if err := temp.Close(); err != nil {
		return err
	}
	if err := os.Rename(temp.Name(), name); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(name))
}

// syncFolder sees to it that the names in a folder are on disk. Windows has no
// such call, and needs none.
func syncFolder(name string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	folder, err := os.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}

func removeAll(name string) {
	for _, n := range withFiles(name) {
		os.Remove(n)
	}
}
