package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"
)

var update = flag.Bool("update", os.Getenv("UPDATE") != "", "rewrite README.md and the scripts")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tenths": main})
}

// The command as people use it, each script one story.
func TestGoldenScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": statusCommand,
		},
	})
}

// statusCommand runs "status N command…" and wants that exit status.
func statusCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command args…")
	}
	err := ts.Exec(args[1], args[2:]...)
	got := "0"
	if err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = strconv.Itoa(exit.ExitCode())
	}
	if got != args[0] {
		ts.Fatalf("exit status %s, want %s", got, args[0])
	}
}

// buildTenths builds the command into a folder of its own.
func buildTenths(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	out, err := exec.Command("go", "build", "-o", filepath.Join(dir, "tenths"), ".").CombinedOutput()
	if err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return dir
}

// What the README shows is what the program does: its console blocks are run
// in order in one empty folder, and their outputs compared.
func TestGoldenReadme(t *testing.T) {
	const path = "../../README.md"
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	bin, dir := buildTenths(t), t.TempDir()
	console := regexp.MustCompile("(?s)```console\n(.*?)```\n")
	blocks := 0
	got := console.ReplaceAllStringFunc(string(data), func(block string) string {
		blocks++
		var out strings.Builder
		out.WriteString("```console\n")
		for _, c := range commands(console.FindStringSubmatch(block)[1]) {
			cmd := exec.Command("bash", "-c", c)
			cmd.Dir = dir
			cmd.Env = append(os.Environ(), "PATH="+bin+":"+os.Getenv("PATH"))
			printed, err := cmd.CombinedOutput()
			if _, bad := err.(*exec.ExitError); err != nil && !bad {
				t.Fatal(err)
			}
			out.WriteString("$ " + c + "\n" + string(printed))
		}
		return out.String() + "```\n"
	})
	if blocks < 4 {
		t.Fatalf("only %d console blocks in the README", blocks)
	}
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(string(data), got); diff != "" {
		t.Errorf("the README shows what the program does not print (-README +program):\n%s", diff)
	}
}

// commands returns what stands behind the prompts of a console block, here
// documents with their text.
func commands(block string) []string {
	var all []string
	inside := false
	for line := range strings.Lines(block) {
		line = strings.TrimSuffix(line, "\n")
		switch {
		case inside:
			all[len(all)-1] += "\n" + line
			inside = line != "END"
		case strings.HasPrefix(line, "$ "):
			all = append(all, line[2:])
			inside = strings.Contains(line, "<<'END'")
		}
	}
	return all
}

// Every example of --help runs, each in a folder with the demo's files and a
// shop as testdata/shop.sh makes it.
func TestHelpExamples(t *testing.T) {
	script, err := filepath.Abs("testdata/shop.sh")
	if err != nil {
		t.Fatal(err)
	}
	bin, ready := buildTenths(t), t.TempDir()
	run := func(dir, line string) (string, int) {
		cmd := exec.Command("bash", "-c", line)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "PATH="+bin+":"+os.Getenv("PATH"))
		out, _ := cmd.CombinedOutput()
		return string(out), cmd.ProcessState.ExitCode()
	}
	if out, code := run(ready, "bash "+script); code != 0 {
		t.Fatalf("exit status %d\n%s", code, out)
	}
	examples := 0
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		if c.Runnable() && !c.HasSubCommands() && c.Example == "" {
			t.Errorf("%s has no example", c.CommandPath())
		}
		last := ""
		for line := range strings.Lines(c.Example) {
			examples++
			line = strings.TrimSpace(line)
			before := last
			last = line
			dir := t.TempDir()
			if err := os.CopyFS(dir, os.DirFS(ready)); err != nil {
				t.Fatal(err)
			}
			if strings.Contains(line, "job export") {
				line = "rm 2026-014.tenths && " + line
			}
			if strings.Contains(line, "--strike ") && strings.HasPrefix(line, "tenths book ") {
				line = before + " >/dev/null; " + line // what the example above it did
			}
			if strings.Contains(line, "--out to-settle.xlsx") {
				line = "rm to-settle.xlsx && " + line
			}
			if line == "tenths serve" {
				line = "timeout --preserve-status -s INT 1 tenths serve --listen 127.0.0.1:0"
			}
			out, code := run(dir, line)
			if code == exitBad || out == "" {
				t.Errorf("%s: exit status %d\n%s", line, code, out)
			}
		}
		for _, sub := range c.Commands() {
			if sub.Name() != "help" {
				visit(sub)
			}
		}
	}
	visit(command())
	if examples < 5 {
		t.Errorf("only %d examples", examples)
	}
}

// The JSON has no numbers but counts, rows and whole percents: figures are
// text, in the line's unit.
func TestJSONFiguresAreText(t *testing.T) {
	dir := t.TempDir()
	if err := writeDemo(dir); err != nil {
		t.Fatal(err)
	}
	var out, errOut bytes.Buffer
	run([]string{"judge", "--json", filepath.Join(dir, "book.yaml"), filepath.Join(dir, "readings.csv")}, &out, &errOut)
	var doc map[string]any
	if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
		t.Fatalf("%v\n%s", err, errOut.String())
	}
	if doc["schema"] != jsonSchema {
		t.Errorf("schema %v", doc["schema"])
	}
	whole := map[string]bool{"allowance_used_percent": true}
	var visit func(path, key string, v any)
	visit = func(path, key string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, e := range v {
				if path != ".counts" {
					visit(path+"."+k, k, e)
				}
			}
		case []any:
			for _, e := range v {
				visit(path, key, e)
			}
		case float64:
			if !whole[key] {
				t.Errorf("%s is a number: %v", path, v)
			}
		}
	}
	visit("", "", doc)
}

// Bad use of the command is said, and is exit status 2.
func TestUsage(t *testing.T) {
	for _, args := range [][]string{
		{"judge"},
		{"judge", "no-such-file", "neither"},
		{"judge", "--unit", "furlong", "a", "b"},
		{"judge", "--json", "--unit", "mm", "a", "b"},
		{"judge", "--no-such-flag", "a", "b"},
		{"no-such-command"},
		{"book", "check"},
		{"demo"},
	} {
		var out, errOut bytes.Buffer
		if code := run(args, &out, &errOut); code != exitBad || !strings.HasPrefix(errOut.String(), "tenths: ") {
			t.Errorf("%v: exit status %d, %q", args, code, errOut.String())
		}
	}
}
