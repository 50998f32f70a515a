package faults

import "syscall"

const (
	sysRenameat2     = 316
	sysCopyFileRange = 326
	cwd              = uint64(0xffffff9c) // AT_FDCWD
)

// legacy takes down the calls that only this kind of machine has.
func (t *tracing) legacy(tid int, c *call) error {
	a := &c.args
	switch c.nr {
	case syscall.SYS_OPEN, syscall.SYS_CREAT:
		flags := a[1]
		if c.nr == syscall.SYS_CREAT {
			flags = syscall.O_CREAT | syscall.O_TRUNC
		}
		if flags&(syscall.O_CREAT|syscall.O_TRUNC) == 0 {
			return nil
		}
		path, err := t.path(tid, cwd, a[0])
		c.args[2], c.path = flags, path
		return err
	case syscall.SYS_MKDIR:
		return t.named(tid, c, "mkdir", cwd, a[0], 0, 0)
	case syscall.SYS_UNLINK, syscall.SYS_RMDIR:
		return t.named(tid, c, "unlink", cwd, a[0], 0, 0)
	case syscall.SYS_RENAME:
		return t.named(tid, c, "rename", cwd, a[0], cwd, a[1])
	}
	return nil
}
