// Package sqlite keeps a shop's record in one SQLite file: the promise of
// package store, on disk.
//
// What Append and the other writers return without an error is on disk: the
// file is in WAL mode with synchronous=FULL. Writers take turns, also those of
// other processes; readers see the record as of one moment and wait for nobody.
//
// Whatever is read is checked: lines and blobs against their hashes, rows
// beside them against a sum, numbers against gaps. What SQLite can't notice by
// itself is noticed that way, and told as [store.DamageError].
//
// Beside the file stand, while it is open, its -wal with what was recorded last
// and its -shm. A copy of the file alone is not a backup: [Store.Backup] makes
// one. And no program that has the file open may open it in another way, were
// it only to read it: on Unix, closing it again would drop SQLite's locks.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"sync"

	"modernc.org/sqlite" // registers the driver
	codes "modernc.org/sqlite/lib"

	"tenths/internal/store"
)

// A Store keeps the record of one shop in one file.
type Store struct {
	path  string
	write *sql.DB // one connection
	read  *sql.DB // as many as are wanted, none of which can write

	turn    chan struct{} // taken by who writes
	writer  *writer
	entries *sql.Stmt
	recent  *sql.Stmt
	size    *sql.Stmt

	mu  sync.RWMutex
	ids map[store.Log]int64 // of the logs; they stay for good
}

var _ store.Store = (*Store)(nil)

// Create makes a new file and opens it. The folder must be there, and the file
// must not.
func Create(ctx context.Context, path string) (*Store, error) {
	// SQLite would throw away the -wal of a file that is gone.
	for _, name := range withFiles(path) {
		if _, err := os.Lstat(name); err == nil {
			return nil, fmt.Errorf("%s is there already: nothing was made", name)
		}
	}
	// It gets its name when all of it is on disk: a file of that name is a record,
	// whenever the program or the power fails.
	temp, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".part-*")
	if err != nil {
		return nil, fmt.Errorf("the record can't be made: %w", err)
	}
	defer removeAll(temp.Name())
	defer temp.Close()
	if err := create(ctx, temp.Name()); err != nil {
		return nil, fmt.Errorf("the record can't be made: %w", err)
	}
	if err := errors.Join(temp.Sync(), temp.Close()); err != nil {
		return nil, fmt.Errorf("the record can't be made: %w", err)
	}
	if err := os.Link(temp.Name(), path); err != nil { // never in place of another
		return nil, fmt.Errorf("the record can't be made: %w", err)
	}
	if err := errors.Join(os.Remove(temp.Name()), syncFolder(filepath.Dir(path))); err != nil {
		return nil, err
	}
	return Open(ctx, path)
}

// Open opens the file at path. One that an older program made is brought to the
// present version; but for that, nothing is written to it.
func Open(ctx context.Context, path string) (*Store, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no record at %s", path)
	case err != nil:
		return nil, fmt.Errorf("the record can't be opened: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder, not the file of a record", path)
	}
	s := &Store{path: path, turn: make(chan struct{}, 1), ids: map[store.Log]int64{}}
	if err := s.open(ctx); err != nil {
		// What is said to SQLite is right: where it finds it isn't, the file
		// is not what it should be.
		if primary, _ := code(err); primary == codes.SQLITE_ERROR {
			err = store.Damaged("%v", err)
		}
		return nil, errors.Join(err, s.Close())
	}
	// From now on Restore keeps away; before, it may have been at work.
	if now, err := os.Stat(path); err != nil || !os.SameFile(info, now) {
		return nil, errors.Join(fmt.Errorf("%s was replaced while it was opened: open it again", path), s.Close())
	}
	return s, nil
}

func (s *Store) open(ctx context.Context) (err error) {
	// Looked at first by a connection that can't write: the file may not be
	// ours.
	if s.read, err = connect(s.path, "query_only(1)"); err != nil {
		return err
	}
	s.read.SetMaxIdleConns(8)
	version, err := versionOf(ctx, s.read, s.path)
	if err != nil {
		return err
	}
	// fullfsync: on a Mac, a plain sync leaves it to the disk.
	if s.write, err = connect(s.path, "journal_mode(WAL)", "synchronous(FULL)", "fullfsync(1)"); err != nil {
		return err
	}
	s.write.SetMaxOpenConns(1)
	if version < current {
		if err := migrate(ctx, s.write); err != nil {
			return err
		}
	}
	if err := checkSchema(ctx, s.read); err != nil {
		return err
	}
	if s.entries, err = s.read.PrepareContext(ctx, entries); err != nil {
		return told(err)
	}
	if s.recent, err = s.read.PrepareContext(ctx, recent); err != nil {
		return told(err)
	}
	if s.size, err = s.read.PrepareContext(ctx, sizeOf); err != nil {
		return told(err)
	}
	if s.writer, err = newWriter(ctx, s.write); err != nil {
		return told(err)
	}
	_, err = s.Logs(ctx)
	return err
}

// Close ends all use of the file.
func (s *Store) Close() error {
	var errs []error
	if s.writer != nil {
		errs = append(errs, s.writer.close())
	}
	for _, db := range []*sql.DB{s.read, s.write} { // the last to close moves the -wal into the file
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	return errors.Join(errs...)
}

// Path returns where the file is.
func (s *Store) Path() string { return s.path }

// connect returns a pool of connections to the file, which must be there.
func connect(path string, pragmas ...string) (*sql.DB, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	path = filepath.ToSlash(path)
	if path[0] != '/' {
		path = "/" + path // C:/… is /C:/… in a URL
	}
	// _error_rc: no message that belongs to another error. _dqs: "text" in
	// double quotes is a name and nothing else.
	options := url.Values{
		"mode": {"rw"}, "_txlock": {"immediate"}, "_error_rc": {"1"}, "_dqs": {"0"},
		"_pragma": append([]string{"busy_timeout(5000)"}, pragmas...),
	}
	return sql.Open("sqlite", (&url.URL{Scheme: "file", Path: path, RawQuery: options.Encode()}).String())
}

// withFiles returns the names of the file and of what SQLite puts beside it.
func withFiles(path string) []string {
	return []string{path, path + "-wal", path + "-shm", path + "-journal"}
}

func init() {
	// A commit waits for the data, not for the file's time of change: as
	// durable, and as SQLite does it where its own build script configures it.
	// Where a system has no such call, it does without.
	_, _ = sqlite.Fdatasync(true)
}
