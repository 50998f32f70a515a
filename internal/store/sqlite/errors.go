package sqlite

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"tenths/internal/store"
)

// told puts an error of SQLite into the words of the promise, by its code.
func told(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	if e.Code() == codes.SQLITE_READONLY_DBMOVED {
		return fmt.Errorf("the file of the record was moved or replaced while it was open: nothing was recorded; start the program again (%w)", err)
	}
	switch e.Code() & 0xff {
	case codes.SQLITE_FULL:
		return fmt.Errorf("%w (%w)", store.ErrFull, err)
	case codes.SQLITE_READONLY, codes.SQLITE_CANTOPEN, codes.SQLITE_PERM:
		return fmt.Errorf("%w (%w)", store.ErrReadOnly, err)
	case codes.SQLITE_CORRUPT, codes.SQLITE_NOTADB:
		return store.Damaged("%v", err)
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
	var e *sqlite.Error
	if errors.As(err, &e) && e.Code()&0xff == codes.SQLITE_IOERR {
		return fmt.Errorf("the disk failed while recording, and whether it was recorded is not known: look at the disk, start the program again and see (%w)", err)
	}
	return told(err)
}
