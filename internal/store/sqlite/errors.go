package sqlite

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"tenths/internal/store"
)

// code returns SQLite's result code, without and with its details; SQLITE_OK
// where the error is not SQLite's.
func code(err error) (primary, extended int) {
	if e := (*sqlite.Error)(nil); errors.As(err, &e) {
		return e.Code() & 0xff, e.Code()
	}
	return codes.SQLITE_OK, codes.SQLITE_OK
}

// told puts an error of SQLite into the words of the promise.
func told(err error) error {
	primary, extended := code(err)
	if extended == codes.SQLITE_IOERR_SHORT_READ {
		return store.Damaged("the file is cut off (%v)", err)
	}
	if extended == codes.SQLITE_IOERR_SHMSIZE { // the -shm finds no room
		return fmt.Errorf("%w (%w)", store.ErrFull, err)
	}
	switch primary {
	case codes.SQLITE_FULL:
		return fmt.Errorf("%w (%w)", store.ErrFull, err)
	case codes.SQLITE_READONLY, codes.SQLITE_CANTOPEN, codes.SQLITE_PERM:
		return fmt.Errorf("%w (%w)", store.ErrReadOnly, err)
	case codes.SQLITE_CORRUPT, codes.SQLITE_NOTADB:
		return store.Damaged("%v", err)
	case codes.SQLITE_CONSTRAINT, codes.SQLITE_MISMATCH:
		// Nothing is ever written to where something is, or without its parts: it
		// is what waited that is damaged.
		return store.Damaged("something stored can't be moved to where it is to stay (%v)", err)
	case codes.SQLITE_BUSY:
		return fmt.Errorf("another program has been writing for 5 s: nothing was recorded; let it end and enter it again (%w)", err)
	case codes.SQLITE_IOERR:
		return fmt.Errorf("the disk failed: nothing was recorded; look at the disk before going on (%w)", err)
	}
	return err
}

// unsure is told for an error of the commit itself: where the disk failed, what
// was to be recorded may be found after all when the file is opened again.
func unsure(err error) error {
	if primary, _ := code(err); primary == codes.SQLITE_IOERR {
		return fmt.Errorf("the disk failed while recording, and whether it was recorded is not known: look at the disk, start the program again and see (%w)", err)
	}
	return told(err)
}
