package faults

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"unsafe"

	"tenths/internal/shop"
	"tenths/internal/store/sqlite"
)

func init() { children["limited"] = limitedChild }

// limitedChild becomes another program whose disk is full, in one of these ways:
//
//	disk   SQLite can't write at or behind a place
//	index  nor can it make the journal's index larger
//	files  it can do both, and nothing else can be written to a file
//	size   the system bounds the size of files
func limitedChild(_ context.Context, args []string) error {
	runtime.LockOSThread()
	how, path := args[0], args[2]
	limit, err := strconv.ParseUint(args[1], 10, 32)
	if err != nil {
		return err
	}
	switch how {
	case "disk":
		err = refuse(syscall.SYS_PWRITE64, 1, fourth, uint32(limit))
	case "index":
		err = refuse(syscall.SYS_PWRITE64, 0, fourth, uint32(limit))
	case "files":
		// But for standard output and error, and for the few bytes by which the
		// program's own threads wake each other.
		err = refuse(syscall.SYS_WRITE, 16, first, 3)
	case "size":
		err = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: limit, Max: limit})
	}
	if err != nil {
		return err
	}
	return syscall.Exec(path, args[2:], slices.DeleteFunc(os.Environ(), func(v string) bool { return strings.HasPrefix(v, childVariable) }))
}

// Where the arguments of a call stand for the system's filter.
const first, third, fourth = 16, 32, 40

// refuse lets one call of the system fail as on a full disk, for this thread and
// for what it becomes: if it is of more bytes than so many, and one of its
// arguments is not less than so much. It is a program for the system's own
// filter, see seccomp(2).
func refuse(call, bytes uint32, argument, least uint32) error {
	const (
		load, ifEqual, ifAtLeast, ifMore, answer = 0x20, 0x15, 0x35, 0x25, 0x06
		noNewPrivileges, setFilter, filter       = 38, 22, 2
		allow, fail                              = 0x7fff0000, 0x00050000 | uint32(syscall.ENOSPC)
	)
	type instruction struct {
		code    uint16
		yes, no uint8 // how many to leave out
		number  uint32
	}
	program := []instruction{
		{load, 0, 0, 0}, // the call
		{ifEqual, 0, 5, call},
		{load, 0, 0, third},
		{ifMore, 0, 3, bytes},
		{load, 0, 0, argument},
		{ifAtLeast, 0, 1, least},
		{answer, 0, 0, fail},
		{answer, 0, 0, allow},
	}
	list := struct {
		n    uint16
		list *instruction
	}{uint16(len(program)), &program[0]}
	if _, _, errno := syscall.RawSyscall(syscall.SYS_PRCTL, noNewPrivileges, 1, 0); errno != 0 {
		return errno
	}
	if _, _, errno := syscall.RawSyscall(syscall.SYS_PRCTL, setFilter, filter, uintptr(unsafe.Pointer(&list))); errno != 0 {
		return fmt.Errorf("calls can't be filtered here: %w", errno)
	}
	runtime.KeepAlive(program)
	return nil
}

// A command is the program as people use it, in a folder.
type command struct {
	tenths string // the program
	dir    string
}

// build builds the program, once; everybody may run it.
func build(t *testing.T) string {
	t.Helper()
	path, err := built()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

var built = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "tenths")
	if err != nil {
		return "", err
	}
	atExit = func() { os.RemoveAll(dir) }
	path := filepath.Join(dir, "tenths")
	if out, err := exec.Command("go", "build", "-o", path, "tenths/cmd/tenths").CombinedOutput(); err != nil {
		return "", fmt.Errorf("go build: %w\n%s", err, out)
	}
	return path, os.Chmod(dir, 0o755)
})

// reachable lets everybody go through a folder that the test made.
func reachable(t *testing.T, dir string) {
	t.Helper()
	if err := errors.Join(os.Chmod(dir, 0o755), os.Chmod(filepath.Dir(dir), 0o755)); err != nil {
		t.Fatal(err)
	}
}

// run runs it and returns its exit status and what it printed.
func (c command) run(t *testing.T, cmd *exec.Cmd) (status int, out string) {
	t.Helper()
	cmd.Dir = c.dir
	cmd.Stderr = nil
	printed, err := cmd.CombinedOutput()
	if err != nil && !errors.As(err, new(*exec.ExitError)) {
		t.Fatalf("%v: %v", cmd.Args, err)
	}
	return cmd.ProcessState.ExitCode(), string(printed)
}

func (c command) args(args []string) []string { return append([]string{c.tenths}, args...) }

// free runs it on a disk with room.
func (c command) free(t *testing.T, args ...string) (int, string) {
	return c.run(t, exec.CommandContext(t.Context(), c.tenths, args...))
}

// limited runs it on a disk that is full.
func (c command) limited(t *testing.T, how string, limit int, args ...string) (int, string) {
	return c.run(t, child(t, "limited", append([]string{how, fmt.Sprint(limit)}, c.args(args)...)...))
}

// shopFolder makes a shop for commands in a folder of its own, with a job whose
// camshaft is measured, and files that commands read.
func shopFolder(t *testing.T) (dir string, acks []acked) {
	t.Helper()
	dir = t.TempDir()
	at := filepath.Join(dir, "shop")
	if err := os.Mkdir(at, 0o777); err != nil {
		t.Fatal(err)
	}
	tell := func(log, id string, seq int64) { acks = append(acks, acked{log, id, seq}) }
	s, st, err := makeShop(t.Context(), at, tell)
	if err != nil {
		t.Fatal(err)
	}
	if err := write(t.Context(), s, "measured", 1, 2*len(orders), tell); err != nil { // both spots of each
		t.Fatal(err)
	}
	s.Close()
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	rows := "spot,value\n"
	for i := range 300 {
		rows += fmt.Sprintf("cam.front.-.%d,1.4%03d\n", i%2*90, i)
	}
	for name, text := range map[string]string{
		"password.txt": password + "\n", "readings.csv": rows,
		"book.yaml": bookText, "next.yaml": bookText + strings.Repeat("# next\n", 4000),
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir, acks
}

// sizes returns how many entries each log of a shop has, once it is found whole.
func sizes(t *testing.T, dir string, acks []acked) map[string]int64 {
	t.Helper()
	s, end, err := openShop(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := whole(t.Context(), s, acks); err != nil {
		t.Fatal(err)
	}
	state, err := s.Record(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]int64{"shop": state.Size}
	for order := range state.Jobs {
		entries, err := s.Entries(t.Context(), order)
		if err != nil {
			t.Fatal(err)
		}
		all[order] = int64(len(entries))
	}
	if err := end(); err != nil {
		t.Fatal(err)
	}
	return all
}

// commands are those that record something: what they add to which log, and
// whether it is more than one commit.
var commands = []struct {
	args  string
	adds  map[string]int64
	steps bool
}{
	{"job take 2026-014 cam.front.-.0 1.4981", map[string]int64{"2026-014": 1}, false},
	{"job note 2026-014 collected", map[string]int64{"2026-014": 1}, false},
	{"job strike 2026-014 2 --why misread", map[string]int64{"2026-014": 1}, false},
	{"job import 2026-014 readings.csv", map[string]int64{"2026-014": 300}, false},
	{"person add new --name Neu --role mechanic --since 2026-01-01 --password-file password.txt", map[string]int64{"shop": 1}, false},
	{"shop adopt next.yaml --password-file password.txt", map[string]int64{"shop": 1}, false},
	{"shop policy two --why agreed --password-file password.txt", map[string]int64{"shop": 1}, false},
	{"job open 2026-020 --edition SM-1 --model Four --serial 1 --reason overhaul --customer club --authority rules", map[string]int64{"shop": 1, "2026-020": 1}, true},
	{"job sign 2026-014 cam --as performed --password-file password.txt", map[string]int64{"2026-014": 1, "shop": 1}, true},
	{"job seal 2026-014", map[string]int64{"shop": 1}, false},
	{"job export 2026-014 record.tenths", map[string]int64{"shop": 1}, false},
}

// A full disk is told in words and by exit status 2; nothing of what was asked
// for is recorded by half, and with room on the disk it can be asked for again.
func TestDiskFull(t *testing.T) {
	tenths := build(t)
	dir, acks := shopFolder(t)
	before := sizes(t, filepath.Join(dir, "shop"), acks)
	refused, done := make([]int, len(commands)), make([]int, len(commands))
	for n, what := range commands {
		t.Run(what.args, func(t *testing.T) {
			t.Parallel()
			args := append(strings.Fields(what.args), "--by", by.Handle)
			for how, limits := range map[string][]int{
				"disk":  {0, 1, 4096, 8192, 12_289, 40_000, 1 << 20},
				"index": {0},
				"files": {0},
				"size":  {0, 8192, 40_000},
			} {
				for _, limit := range limits {
					where := fmt.Sprintf("%s, %d", how, limit)
					c := command{tenths, t.TempDir()}
					if err := os.CopyFS(c.dir, os.DirFS(dir)); err != nil {
						t.Fatal(err)
					}
					status, out := c.limited(t, how, limit, args...)
					now := sizes(t, filepath.Join(c.dir, "shop"), acks)
					after := maps.Clone(before)
					for log, n := range what.adds {
						after[log] += n
					}
					switch {
					case status == 0 || status == 3:
						done[n]++
						if !maps.Equal(now, after) {
							t.Errorf("%s: told as done, and there are %v entries, before %v", where, now, before)
						}
						continue
					case status != 2 || !inWords(out) || how != "size" && !strings.Contains(out, "the disk is full") && !strings.Contains(out, "no space left"):
						t.Errorf("%s: exit status %d, %q", where, status, out)
					case !what.steps && !maps.Equal(now, before) && !strings.Contains(out, "not known"):
						t.Errorf("%s: told as not recorded, and there are %v entries, before %v", where, now, before)
					}
					refused[n]++
					if left, err := filepath.Glob(filepath.Join(c.dir, "*export*")); err != nil || len(left) > 0 {
						t.Errorf("%s: it has left %v: %v", where, left, err)
					}
					if maps.Equal(now, after) {
						continue
					}
					status, out = c.free(t, args...)
					if strings.Contains(out, "signed it so already") { // and not sealed yet
						status, out = c.free(t, "job", "seal", "2026-014", "--by", by.Handle)
					}
					if status != 0 && status != 3 {
						t.Errorf("%s, and again with room: exit status %d, %s", where, status, out)
					}
					if now := sizes(t, filepath.Join(c.dir, "shop"), acks); !maps.Equal(now, after) {
						t.Errorf("%s, and again with room: there are %v entries, before %v", where, now, before)
					}
				}
			}
			if refused[n] == 0 || done[n] == 0 {
				t.Errorf("%d times it was refused and %d times done: the limits try nothing", refused[n], done[n])
			}
		})
	}
	t.Cleanup(func() {
		all := func(n []int) (sum int) {
			for _, n := range n {
				sum += n
			}
			return sum
		}
		t.Logf("%d commands on full disks: %d times refused, %d times done", len(commands), all(refused), all(done))
	})
}

// inWords tells whether what was printed ends with words for people.
func inWords(out string) bool {
	return strings.Contains("\n"+out, "\ntenths: ") && strings.Count(out, "\n") < 12 && !strings.Contains(out, "goroutine ")
}

// A shop that could not be made for want of room can be made with it.
func TestInitDiskFull(t *testing.T) {
	tenths := build(t)
	init := strings.Fields("shop init mp --title Ours --name Pohl --password-file password.txt")
	ready := t.TempDir()
	if err := os.WriteFile(filepath.Join(ready, "password.txt"), []byte(password+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	refused := 0
	for how, limits := range map[string][]int{
		"disk":  {0, 512, 4096, 4600, 8192, 16_384, 24_000, 36_000, 40_000},
		"index": {32_000},
		"files": {0},
		"size":  {0, 100, 512, 4096, 20_000, 40_000},
	} {
		for _, limit := range limits {
			c := command{tenths, t.TempDir()}
			if err := os.CopyFS(c.dir, os.DirFS(ready)); err != nil {
				t.Fatal(err)
			}
			status, out := c.limited(t, how, limit, init...)
			if status != 0 {
				refused++
				if status != 2 || !inWords(out) {
					t.Errorf("%s, %d: exit status %d, %q", how, limit, status, out)
				}
				if status, out := c.free(t, init...); status != 0 {
					left, _ := filepath.Glob(filepath.Join(c.dir, "shop", "*"))
					t.Errorf("%s, %d, and again with room: exit status %d, %q; there are %q", how, limit, status, out, left)
					continue
				}
			}
			sizes(t, filepath.Join(c.dir, "shop"), nil)
		}
	}
	if refused == 0 {
		t.Error("it was never refused: the limits try nothing")
	}
}

// Where making a shop came to its end half-way, killed or without power, it can
// be made once more.
func TestInitAgain(t *testing.T) {
	c := command{build(t), t.TempDir()}
	if err := os.WriteFile(filepath.Join(c.dir, "password.txt"), []byte(password+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	for what, left := range map[string]func(dir string) error{
		"an empty folder": func(string) error { return nil },
		"a record without a shop": func(dir string) error {
			st, err := sqlite.Create(t.Context(), filepath.Join(dir, shop.Database))
			if err != nil {
				return err
			}
			return st.Close()
		},
		"and with a key": func(dir string) error {
			st, err := sqlite.Create(t.Context(), filepath.Join(dir, shop.Database))
			if err != nil {
				return err
			}
			return errors.Join(st.Close(), os.WriteFile(filepath.Join(dir, shop.KeyFile), []byte("PRIVATE+KEY+of+nothing\n"), 0o600))
		},
	} {
		dir := strings.ReplaceAll(what, " ", "-")
		if err := errors.Join(os.Mkdir(filepath.Join(c.dir, dir), 0o777), left(filepath.Join(c.dir, dir))); err != nil {
			t.Fatal(err)
		}
		if status, out := c.free(t, "shop", "init", "mp", "--shop", dir, "--title", "Ours", "--name", "Pohl", "--password-file", "password.txt"); status != 0 {
			t.Errorf("%s: exit status %d, %s", what, status, out)
			continue
		}
		sizes(t, filepath.Join(c.dir, dir), nil)
	}
	// A shop that is there is never made anew.
	if status, out := c.free(t, "shop", "init", "mp", "--shop", "an-empty-folder", "--title", "Ours", "--name", "Pohl", "--password-file", "password.txt"); status != 2 || !inWords(out) {
		t.Errorf("made twice: exit status %d, %s", status, out)
	}
}

// A folder that can't be written in is told in words and by exit status 2, and
// stays as it is.
func TestReadOnly(t *testing.T) {
	tenths := build(t)
	ready, acks := shopFolder(t)
	// Others may come to the folder, and who runs the tests as root is somebody
	// else here: root may write everywhere.
	somebody := func(cmd *exec.Cmd) *exec.Cmd {
		if os.Getuid() == 0 {
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		}
		return cmd
	}
	for what, mode := range map[string]struct {
		folder, file os.FileMode
		reads        bool // while the shop is open elsewhere
	}{
		"files that can be read":  {0o555, 0o444, false},
		"files that can't":        {0o555, 0o000, false},
		"a folder that is closed": {0o000, 0o444, false},
		"while it is open":        {0o555, 0o444, true},
	} {
		t.Run(what, func(t *testing.T) {
			c := command{tenths, t.TempDir()}
			if err := os.CopyFS(c.dir, os.DirFS(ready)); err != nil {
				t.Fatal(err)
			}
			dir := filepath.Join(c.dir, "shop")
			before := sizes(t, dir, acks)
			if mode.reads {
				_, end, err := openShop(t.Context(), dir)
				if err != nil {
					t.Fatal(err)
				}
				defer end()
			}
			closeTo(t, c.dir, dir, mode.folder, mode.file)
			for _, what := range commands {
				args := append(strings.Fields(what.args), "--by", by.Handle)
				status, out := c.run(t, somebody(exec.CommandContext(t.Context(), tenths, args...)))
				if status != 2 || !inWords(out) {
					t.Errorf("%s: exit status %d, %q", what.args, status, out)
				}
			}
			for _, args := range []string{"job show 2026-014", "job list", "shop check", "job log 2026-014"} {
				status, out := c.run(t, somebody(exec.CommandContext(t.Context(), tenths, strings.Fields(args)...)))
				if status != 0 && (status != 2 || !inWords(out)) || mode.reads && status != 0 {
					t.Errorf("%s: exit status %d, %q", args, status, out)
				}
			}
			status, out := c.run(t, somebody(exec.CommandContext(t.Context(), tenths, strings.Fields("shop init mp --shop shop/inside --title Ours --name Pohl --password-file password.txt")...)))
			if status != 2 || !inWords(out) {
				t.Errorf("making a shop: exit status %d, %q", status, out)
			}
			closeTo(t, c.dir, dir, 0o755, 0o644)
			if now := sizes(t, dir, acks); !maps.Equal(now, before) {
				t.Errorf("there are %v entries, before %v", now, before)
			}
		})
	}
}

// closeTo sets what may be done in a shop's folder; the one above it is only
// there to be gone through.
func closeTo(t *testing.T, above, dir string, folder, file os.FileMode) {
	t.Helper()
	reachable(t, above)
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		return os.Chmod(path, file)
	}); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, folder); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(dir, 0o755) })
}
