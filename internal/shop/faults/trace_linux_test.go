package faults

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"unsafe"
)

// An event is what a program did to the files of a folder, or told: one call of
// the system. Begin and end number the moments when it was called and when it
// returned; all calls of a trace share one count.
type event struct {
	kind       string // write, truncate, sync, create, mkdir, unlink, rename, link, ack
	begin, end int
	file       *file  // what is written, truncated, synced (a folder too), created
	path, to   string // of create, mkdir, unlink, rename, link: below the folder
	off        int64  // of write; of truncate the size
	data       []byte // of write and ack
}

// A file is a file whatever its name is, or a folder.
type file struct {
	first string // the name that it was made under
	dir   bool
}

// tracing is a trace while it is taken.
type tracing struct {
	root   string
	events []*event
	moment int
	files  map[uint64]*file // by inode number, of those that have a name
	names  map[string]*file // below the folder
	inode  map[*file]uint64
	mem    *os.File
	inside map[int]*call // by thread: what it is in
}

// A call is a call of the system that has not returned yet.
type call struct {
	nr    uint64
	args  [6]uint64
	event *event
	path  string // of an open that may make a file
}

// trace runs a command to its end and returns what it did to the files of a
// folder, and what it wrote to its standard output. Every thread of it stops at
// every call of the system and is looked at: nothing that reaches a file is
// missed, and what would be is an error. Memory that files are mapped into is
// the exception; only SQLite's index of the journal is written so, and that is
// made anew after a power cut.
func trace(cmd *exec.Cmd, root string) ([]*event, error) {
	// One thread is the tracer, from the start to the end.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	r, w, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	defer w.Close()
	cmd.Stdout = w
	cmd.SysProcAttr = &syscall.SysProcAttr{Ptrace: true}
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("a process can't be traced here: %w", err)
	}
	defer cmd.Process.Release()
	go func() { // what it tells is in the trace
		buf := make([]byte, 1<<16)
		for {
			if _, err := r.Read(buf); err != nil {
				return
			}
		}
	}()
	info, err := os.Stat(root)
	if err != nil {
		return nil, err
	}
	top := &file{dir: true}
	t := &tracing{
		root: root, files: map[uint64]*file{inodeOf(info): top}, names: map[string]*file{".": top},
		inode: map[*file]uint64{top: inodeOf(info)}, inside: map[int]*call{},
	}
	if err := t.run(cmd.Process.Pid); err != nil {
		_ = syscall.Kill(cmd.Process.Pid, syscall.SIGKILL)
		return nil, err
	}
	return t.events, nil
}

func (t *tracing) run(pid int) error {
	const options = syscall.PTRACE_O_TRACESYSGOOD | syscall.PTRACE_O_TRACECLONE | syscall.PTRACE_O_TRACEEXEC | exitKill
	const noThread = 0x20000000 // __WNOTHREAD: only what this thread traces
	var status syscall.WaitStatus
	if _, err := syscall.Wait4(pid, &status, syscall.WALL|noThread, nil); err != nil {
		return err
	}
	if err := syscall.PtraceSetOptions(pid, options); err != nil {
		return fmt.Errorf("a process can't be traced here: %w", err)
	}
	mem, err := os.Open(fmt.Sprintf("/proc/%d/mem", pid))
	if err != nil {
		return err
	}
	defer mem.Close()
	t.mem = mem
	if err := syscall.PtraceSyscall(pid, 0); err != nil {
		return err
	}
	known := map[int]bool{pid: true}
	for {
		tid, err := syscall.Wait4(-1, &status, syscall.WALL|noThread, nil)
		if errors.Is(err, syscall.EINTR) {
			continue
		}
		if err != nil {
			return err
		}
		signal := 0
		switch {
		case status.Exited() || status.Signaled():
			if tid != pid {
				continue
			}
			if !status.Exited() || status.ExitStatus() != 0 {
				return fmt.Errorf("the traced program ended with %v", status)
			}
			return nil
		case status.StopSignal() == syscall.SIGTRAP|0x80:
			if err := t.stop(tid); err != nil {
				return err
			}
		case status.StopSignal() == syscall.SIGTRAP: // a clone, or the exec
		case status.StopSignal() == syscall.SIGSTOP && !known[tid]: // a thread begins
			known[tid] = true
		default:
			signal = int(status.StopSignal())
		}
		if err := syscall.PtraceSyscall(tid, signal); err != nil && !errors.Is(err, syscall.ESRCH) {
			return err
		}
	}
}

const (
	exitKill       = 0x100000 // PTRACE_O_EXITKILL
	getSyscallInfo = 0x420e   // PTRACE_GET_SYSCALL_INFO
)

// stop looks at a thread that stands at the begin or the end of a call.
func (t *tracing) stop(tid int) error {
	// struct ptrace_syscall_info, see ptrace(2)
	var info struct {
		op     uint8
		_      [3]uint8
		_      uint32
		_, _   uint64
		nr     uint64 // at the end what it returned
		args   [6]uint64
		unused uint64
	}
	if _, _, errno := syscall.Syscall6(syscall.SYS_PTRACE, getSyscallInfo, uintptr(tid), unsafe.Sizeof(info), uintptr(unsafe.Pointer(&info)), 0, 0); errno != 0 {
		return fmt.Errorf("a call can't be looked at here: %w", errno)
	}
	t.moment++
	switch info.op {
	case 1:
		c := &call{nr: info.nr, args: info.args}
		t.inside[tid] = c
		return t.begin(tid, c)
	case 2:
		c := t.inside[tid]
		delete(t.inside, tid)
		if c == nil {
			return nil
		}
		return t.finish(tid, c, int64(info.nr))
	}
	return nil
}

// note takes an event down.
func (t *tracing) note(c *call, e *event) {
	e.begin = t.moment
	c.event = e
	t.events = append(t.events, e)
}

func (t *tracing) begin(tid int, c *call) error {
	a := &c.args
	switch c.nr {
	case syscall.SYS_WRITE:
		if a[0] == 1 {
			data, err := t.bytes(a[1], a[2])
			t.note(c, &event{kind: "ack", data: data})
			return err
		}
		f, path, err := t.fd(tid, a[0])
		if err != nil || f == nil {
			return err
		}
		// Where it goes is the file's own place, which is asked for.
		off, err := t.place(tid, a[0])
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		data, err := t.bytes(a[1], a[2])
		t.note(c, &event{kind: "write", file: f, off: off, data: data})
		return err
	case syscall.SYS_PWRITE64:
		f, path, err := t.fd(tid, a[0])
		if err != nil || f == nil || strings.HasSuffix(path, "-shm") {
			return err
		}
		data, err := t.bytes(a[1], a[2])
		t.note(c, &event{kind: "write", file: f, off: int64(a[3]), data: data})
		return err
	case syscall.SYS_FTRUNCATE:
		f, path, err := t.fd(tid, a[0])
		if err != nil || f == nil || strings.HasSuffix(path, "-shm") {
			return err
		}
		t.note(c, &event{kind: "truncate", file: f, off: int64(a[1])})
	case syscall.SYS_FSYNC, syscall.SYS_FDATASYNC:
		f, _, err := t.fd(tid, a[0])
		if err != nil || f == nil {
			return err
		}
		t.note(c, &event{kind: "sync", file: f})
	case syscall.SYS_MMAP:
		const shared = syscall.MAP_SHARED | 0x03 // or MAP_SHARED_VALIDATE
		if a[3]&syscall.MAP_ANON != 0 || a[2]&syscall.PROT_WRITE == 0 || a[3]&shared == syscall.MAP_PRIVATE {
			return nil
		}
		f, path, err := t.fd(tid, a[4])
		if err == nil && f != nil && !strings.HasSuffix(path, "-shm") {
			err = fmt.Errorf("%s is written through memory, which a trace does not see", path)
		}
		return err
	case syscall.SYS_OPENAT:
		if a[2]&syscall.O_CREAT == 0 && a[2]&syscall.O_TRUNC == 0 {
			return nil
		}
		path, err := t.path(tid, a[0], a[1])
		c.path = path
		return err
	case syscall.SYS_MKDIRAT:
		return t.named(tid, c, "mkdir", a[0], a[1], 0, 0)
	case syscall.SYS_UNLINKAT:
		return t.named(tid, c, "unlink", a[0], a[1], 0, 0)
	case syscall.SYS_RENAMEAT, sysRenameat2:
		return t.named(tid, c, "rename", a[0], a[1], a[2], a[3])
	case syscall.SYS_PWRITEV, syscall.SYS_WRITEV, syscall.SYS_FALLOCATE, syscall.SYS_SENDFILE, syscall.SYS_SPLICE, syscall.SYS_SYNC_FILE_RANGE, sysCopyFileRange:
		fd := a[0]
		if c.nr == sysCopyFileRange || c.nr == syscall.SYS_SPLICE {
			fd = a[2]
		}
		f, path, err := t.fd(tid, fd)
		if err == nil && f != nil {
			err = fmt.Errorf("%s is written by call %d, which a replay does not know", path, c.nr)
		}
		return err
	case syscall.SYS_LINKAT:
		return t.named(tid, c, "link", a[0], a[1], a[2], a[3])
	case syscall.SYS_SYMLINKAT, syscall.SYS_TRUNCATE:
		return fmt.Errorf("call %d is one that a replay does not know", c.nr)
	default:
		return t.legacy(tid, c)
	}
	return nil
}

// named takes down a call on names below the folder.
func (t *tracing) named(tid int, c *call, kind string, dir, path, dirTo, to uint64) error {
	e := &event{kind: kind}
	var err error
	if e.path, err = t.path(tid, dir, path); err != nil || e.path == "" {
		return err
	}
	if kind == "rename" || kind == "link" {
		if e.to, err = t.path(tid, dirTo, to); err != nil {
			return err
		}
		if e.to == "" {
			return fmt.Errorf("%s gets a name out of the folder", e.path)
		}
	}
	t.note(c, e)
	return nil
}

func (t *tracing) finish(tid int, c *call, result int64) error {
	e := c.event
	if e == nil {
		if c.path == "" || result < 0 {
			return nil
		}
		return t.opened(tid, c, uint64(result))
	}
	e.end = t.moment
	if result < 0 {
		e.kind = "nothing" // it failed
		return nil
	}
	switch e.kind {
	case "write":
		e.data = e.data[:result]
	case "mkdir":
		info, err := os.Stat(filepath.Join(t.root, e.path))
		if err != nil {
			return err
		}
		e.file = t.newFile(e.path, inodeOf(info))
		e.file.dir = true
	case "unlink":
		t.unname(e.path)
	case "rename":
		t.unname(e.to)
		t.names[e.to] = t.names[e.path]
		delete(t.names, e.path)
	case "link":
		t.names[e.to] = t.names[e.path]
	}
	return nil
}

// unname takes a name from its file. Without any, its number may be another's
// soon.
func (t *tracing) unname(path string) {
	f := t.names[path]
	delete(t.names, path)
	for _, other := range t.names {
		if other == f {
			return
		}
	}
	if f != nil {
		delete(t.files, t.inode[f])
	}
}

// opened looks whether an open made a file, or emptied one.
func (t *tracing) opened(tid int, c *call, fd uint64) error {
	if strings.HasSuffix(c.path, "-shm") {
		return nil
	}
	info, err := os.Stat(fmt.Sprintf("/proc/%d/fd/%d", tid, fd))
	if err != nil {
		return err
	}
	if t.names[c.path] == nil {
		e := &event{kind: "create", path: c.path, file: t.newFile(c.path, inodeOf(info)), end: t.moment}
		t.note(c, e)
	} else if c.args[2]&syscall.O_TRUNC != 0 {
		t.note(c, &event{kind: "truncate", file: t.names[c.path], end: t.moment})
	}
	return nil
}

func (t *tracing) newFile(path string, inode uint64) *file {
	f := &file{first: path}
	t.files[inode], t.names[path], t.inode[f] = f, f, inode
	return f
}

// fd returns the file of the folder that a descriptor is of; nil where it is of
// none.
func (t *tracing) fd(tid int, fd uint64) (*file, string, error) {
	path, err := os.Readlink(fmt.Sprintf("/proc/%d/fd/%d", tid, int32(fd)))
	if err != nil {
		return nil, "", nil // it is not open: the call will fail
	}
	if path != t.root && !strings.HasPrefix(path, t.root+"/") {
		return nil, path, nil
	}
	if strings.HasSuffix(path, "-shm") {
		return nil, path, nil
	}
	info, err := os.Stat(fmt.Sprintf("/proc/%d/fd/%d", tid, int32(fd)))
	if err != nil {
		return nil, path, err
	}
	f := t.files[inodeOf(info)]
	if f == nil && !strings.HasSuffix(path, " (deleted)") {
		return nil, path, fmt.Errorf("%s was made by nothing in the trace", path)
	}
	return f, path, nil
}

// place returns where the next write to a descriptor goes.
func (t *tracing) place(tid int, fd uint64) (off int64, err error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/fdinfo/%d", tid, fd))
	if err != nil {
		return 0, err
	}
	_, err = fmt.Sscanf(string(text), "pos:\t%d", &off)
	return off, err
}

// path returns the name below the folder that a call names; "" where it is
// elsewhere.
func (t *tracing) path(tid int, dir, at uint64) (string, error) {
	text, err := t.bytes(at, 4096)
	if err != nil {
		return "", err
	}
	name, _, _ := bytes.Cut(text, []byte{0})
	path := string(name)
	if !filepath.IsAbs(path) {
		from := fmt.Sprintf("/proc/%d/cwd", tid)
		if int32(dir) >= 0 {
			from = fmt.Sprintf("/proc/%d/fd/%d", tid, int32(dir))
		}
		base, err := os.Readlink(from)
		if err != nil {
			return "", err
		}
		path = filepath.Join(base, path)
	}
	rel, err := filepath.Rel(t.root, path)
	if err != nil || rel == ".." || strings.HasPrefix(rel, "../") {
		return "", nil // it is elsewhere
	}
	return rel, nil
}

// bytes reads the program's memory; less than was asked for where it ends.
func (t *tracing) bytes(at, n uint64) ([]byte, error) {
	data := make([]byte, n)
	got, err := t.mem.ReadAt(data, int64(at))
	if got == 0 && n > 0 {
		return nil, fmt.Errorf("the memory of the program can't be read: %w", err)
	}
	return data[:got], nil
}

func inodeOf(info os.FileInfo) uint64 { return info.Sys().(*syscall.Stat_t).Ino }
