package whole

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// patience is how long one waits for another's change.
const patience = 30 * time.Second

// Alone changes what is kept in a file while nobody else does who asks here, be it
// this program or another: read it, change it and write it inside of change. The
// file itself need not be there. What is locked is a hidden file beside it, which is
// taken away again where the system lets one; the lock of a program that died has
// died with it.
func Alone(name string, change func() error) error { return alone(name, patience, change) }

func alone(name string, patience time.Duration, change func() error) error {
	until, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	path := filepath.Join(filepath.Dir(name), "."+filepath.Base(name)+".lock")
	for {
		lock := flock.New(path, flock.SetFlag(os.O_CREATE|os.O_RDWR), flock.SetPermissions(0o666))
		switch _, err := lock.TryLockContext(until, 2*time.Millisecond); {
		case errors.Is(err, context.DeadlineExceeded):
			return fmt.Errorf("%s is being changed by another program, for %v already: wait for it or end it, then do this again; nothing was changed", name, patience)
		case err != nil:
			return fmt.Errorf("%s can't be kept from being changed by others meanwhile, so nothing was changed: %w", name, err)
		}
		// Who had it before has taken the file away: another may hold one of the same
		// name by now.
		if !same(lock, path) {
			if err := lock.Close(); err != nil {
				return err
			}
			continue
		}
		err := change()
		// Some systems keep a file that is open. It does no harm: it is empty.
		_ = os.Remove(path)
		return errors.Join(err, lock.Close())
	}
}

// same tells whether what is locked is still what stands there.
func same(lock *flock.Flock, path string) bool {
	locked, err := lock.Stat()
	if err != nil {
		return false
	}
	there, err := os.Stat(path)
	return err == nil && os.SameFile(locked, there)
}
