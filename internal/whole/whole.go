// Package whole writes files whole or not at all: whoever reads one, also after the
// power failed, finds what was there or what was written. It lets one at a time
// change a file that many read, change and write.
package whole

import (
	"errors"
	"os"
	"path/filepath"
)

// Write puts data into the file of that name, in place of what it had. After an
// error the file is as it was, or, where only its folder could not be synced, as
// it was written.
func Write(name string, data []byte) error {
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, "."+filepath.Base(name)+".part-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Chmod(0o644), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return SyncDir(dir)
}

// SyncDir puts the names in a folder on disk.
func SyncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
