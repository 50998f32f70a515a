package whole_test

import (
	"os"
	"path/filepath"
	"testing"

	"tenths/internal/whole"
)

func TestWrite(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "file")
	for _, text := range []string{"one", "and another", ""} {
		if err := whole.Write(name, []byte(text)); err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(name)
		if err != nil || string(got) != text {
			t.Errorf("%q, %v; want %q", got, err, text)
		}
	}
	// A folder can't be written over: nothing of the attempt is left.
	full := filepath.Join(dir, "folder", "inside")
	if err := os.MkdirAll(full, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := whole.Write(filepath.Dir(full), []byte("x")); err == nil {
		t.Error("a file was written over a folder")
	}
	if err := whole.Write(filepath.Join(dir, "none", "file"), nil); err == nil {
		t.Error("a file was written in a folder that is not there")
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 2 {
		t.Errorf("left are %v, %v", left, err)
	}
}
