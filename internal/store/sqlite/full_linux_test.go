package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

func init() {
	// No room on a small disk in memory, which only this child sees. A ballast
	// is taken off to make room.
	children["small-disk"] = func(ctx context.Context, folder string) error {
		if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, "size=1m"); err != nil {
			fmt.Println("none")
			return nil
		}
		fmt.Println("mounted")
		ballast := filepath.Join(folder, "ballast")
		if err := os.WriteFile(ballast, make([]byte, 300_000), 0o600); err != nil {
			return err
		}
		s, err := sqlite.Create(ctx, filepath.Join(folder, "shop.db"))
		if err != nil {
			return err
		}
		return fillUp(ctx, s, store.ErrFull, func() error { return os.Remove(ballast) })
	}
}

// Where the system lets a test have a disk of its own, it is filled; the other
// tests of no room need no such leave.
func TestSmallDisk(t *testing.T) {
	cmd := command(t, "small-disk", t.TempDir())
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{HostID: os.Getgid(), Size: 1}},
	}
	out, err := cmd.Output()
	if errors.As(err, new(*exec.ExitError)) {
		t.Errorf("%s%v", out, err)
	}
	t.Logf("a disk of its own: %s%v", out, err)
}
