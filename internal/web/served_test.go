//go:build browser

package web_test

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// served is the program itself, in a process of its own.
type served struct {
	t        *testing.T
	dir      string
	listen   string
	url      string
	password string
	run      *exec.Cmd
}

var built struct {
	once sync.Once
	dir  string
	err  error
}

// startServed serves the demo's shop on a port that stays the same.
func startServed(t *testing.T, dir string) *served {
	t.Helper()
	built.once.Do(func() {
		if built.dir, built.err = os.MkdirTemp("", "tenths-built"); built.err != nil {
			return
		}
		if out, err := exec.Command("go", "build", "-o", filepath.Join(built.dir, "tenths"), "tenths/cmd/tenths").CombinedOutput(); err != nil {
			built.err = fmt.Errorf("go build: %w\n%s", err, out)
		}
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &served{t: t, dir: dir, listen: l.Addr().String(), url: "http://" + l.Addr().String(), password: password}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	s.start()
	t.Cleanup(s.stop)
	return s
}

func (s *served) start() {
	s.t.Helper()
	s.run = exec.Command(filepath.Join(built.dir, "tenths"), "demo", s.dir, "--serve", "--listen", s.listen)
	out, err := s.run.StdoutPipe()
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.run.Start(); err != nil {
		s.t.Fatal(err)
	}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), s.url) {
			return
		}
	}
	s.t.Fatal("it does not say where it is")
}

// stop ends it as Ctrl-C does, and waits.
func (s *served) stop() {
	if s.run == nil {
		return
	}
	if err := s.run.Process.Signal(os.Interrupt); err != nil {
		s.t.Fatal(err)
	}
	if err := s.run.Wait(); err != nil {
		s.t.Errorf("it ends with %v", err)
	}
	s.run = nil
}

// count is how many entries the job has.
func (s *served) count(b *tab) int {
	s.t.Helper()
	b.t.Helper()
	js[int](b, `(window.size = 0, fetch("/orders/`+demoOrder+`/log").then((a) => a.text()).then((t) => { window.size = Number(new DOMParser().parseFromString(t, "text/html").querySelector("ol.log li .n").textContent) }), 0)`)
	b.until(`window.size`)
	return js[int](b, `window.size`)
}
