// Package store is the promise that a shop's record is kept by: logs of lines
// that only grow, blobs by their hash, and beside them what may be thrown away.
//
// store/sqlite keeps it in one file, store/memory in memory, and
// store/storetest holds every store to it.
package store

import (
	"context"
	"errors"
	"fmt"
	"iter"
)

// A Log names a log: "shop", or "job/" and the job's id.
type Log string

// A Batch is what is to be appended to one log, which has Size entries.
type Batch struct {
	Log     Log
	Size    int64
	Entries [][]byte // lines, none of them empty
}

// A Derived is what was made of a log at a size, to be found quickly: it can be
// made again from the log at any time.
type Derived struct {
	Log   Log
	Size  int64
	Bytes []byte
}

// ErrNotFound tells that there is no such blob or secret.
var ErrNotFound = errors.New("not found")

// ErrFull tells that the disk is full; nothing was written.
var ErrFull = errors.New("the disk is full: nothing was recorded; make room and enter it again")

// ErrReadOnly tells that the shop's folder can't be written in.
var ErrReadOnly = errors.New("the shop's folder can't be written in: nothing was recorded")

// A DamageError tells that what is stored is not what was written.
type DamageError struct {
	What string // where, and what is wrong with it
}

func (e *DamageError) Error() string {
	return "the record is damaged: " + e.What + "; stop, keep the file as it is, and restore the last backup"
}

// Damaged returns a [DamageError].
func Damaged(format string, args ...any) error {
	return &DamageError{What: fmt.Sprintf(format, args...)}
}

// A Store keeps a shop's record. All of it may be called at once, by several
// processes where the store is on disk. Nothing that reads waits for what
// writes.
type Store interface {
	// Append commits the batches together, durably, leaving out and naming the
	// logs that are not of their Size any more; when it returns, what it did
	// not name is on disk. A log begins with its first batch, of size 0. A batch
	// without entries is a condition of all others: where its log is not of its
	// Size, nothing is appended, and the logs of such batches are named. After
	// an error nothing of it was kept, unless the error says that this is not
	// known; then Size tells.
	Append(ctx context.Context, batches []Batch) (grown []Log, err error)

	// Read returns the lines of a log after the first from, in order, as of one
	// moment. A line that is not what was appended is a [DamageError]. A log
	// that is not there has no lines.
	Read(ctx context.Context, l Log, from int64) iter.Seq2[[]byte, error]

	// Size returns how many entries a log has; 0 where there is no such log.
	Size(ctx context.Context, l Log) (int64, error)

	// Logs returns the size of every log.
	Logs(ctx context.Context) (map[Log]int64, error)

	// PutBlob keeps bytes and returns the SHA-256 that they are found by, in
	// hexadecimal. The same bytes again are kept once.
	PutBlob(ctx context.Context, data []byte) (sha256 string, err error)

	// Blob returns the bytes of that hash: [ErrNotFound] where there are none,
	// a [DamageError] where they are not what was put.
	Blob(ctx context.Context, sha256 string) ([]byte, error)

	// PutDerived keeps rows made by some version of the code, each in place of
	// what that log had. They may be lost at any time.
	PutDerived(ctx context.Context, code string, rows []Derived) error

	// Derived returns every row that this version of the code made. A row that
	// is damaged is left out.
	Derived(ctx context.Context, code string) ([]Derived, error)

	// DropDerived throws all derived rows away.
	DropDerived(ctx context.Context) error

	// PutSecret keeps what a person's password is checked by, in place of what
	// there was.
	PutSecret(ctx context.Context, name, secret string) error

	// Secret returns it: [ErrNotFound] where there is none.
	Secret(ctx context.Context, name string) (string, error)

	// Close ends all use of the store.
	Close() error
}
