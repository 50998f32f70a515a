package sqlite_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"tenths/internal/store/sqlite"
)

// The test program runs itself as another program where a test needs one: what
// it is to do there stands under its name, with what it is given.
var children = map[string]func(ctx context.Context, arg string) error{
	"hold": func(ctx context.Context, path string) error {
		s, err := sqlite.Open(ctx, path)
		if err != nil {
			return err
		}
		fmt.Println("open")
		_, err = io.Copy(io.Discard, os.Stdin) // until the test lets go
		return errors.Join(err, s.Close())
	},
}

func TestMain(m *testing.M) {
	if name, arg, ok := strings.Cut(os.Getenv("STORE_CHILD"), " "); ok {
		if err := children[name](context.Background(), arg); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// command is a child that was not started.
func command(t *testing.T, name, arg string) *exec.Cmd {
	cmd := exec.CommandContext(t.Context(), os.Args[0])
	cmd.Env = append(os.Environ(), "STORE_CHILD="+name+" "+arg)
	cmd.Stderr = os.Stderr
	return cmd
}

// child starts a child and waits for its first line; done lets it end.
func child(t *testing.T, name, arg string) (first string, done func() string) {
	t.Helper()
	cmd := command(t, name, arg)
	in := must(cmd.StdinPipe())(t)
	out := must(cmd.StdoutPipe())(t)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	first, _ = lines.ReadString('\n')
	return strings.TrimSpace(first), func() string {
		in.Close()
		rest, _ := io.ReadAll(lines)
		if err := cmd.Wait(); err != nil {
			t.Errorf("%s: %v: %s%s", name, err, first, rest)
		}
		return string(rest)
	}
}
