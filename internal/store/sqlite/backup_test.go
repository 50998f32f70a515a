package sqlite_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"tenths/internal/store/sqlite"
)

func TestZ(t *testing.T) {
	s := create(t)
	app(t, s, "shop", 0, "a", "b")
	dir := t.TempDir()
	bak := filepath.Join(dir, "bak")
	fmt.Println(s.Backup(t.Context(), bak))
	fmt.Println(s.Backup(t.Context(), bak))
	app(t, s, "shop", 2, "c")
	ls := func(d string) {
		e, _ := os.ReadDir(d)
		for _, x := range e {
			i, _ := x.Info()
			fmt.Println("  ", x.Name(), i.Size())
		}
	}
	ls(dir)
	fmt.Println(sqlite.Restore(t.Context(), bak, s.Path()))
	ls(filepath.Dir(s.Path()))
	s.Close()
	first, done := child(t, "hold", s.Path())
	fmt.Println(first)
	fmt.Println(sqlite.Restore(t.Context(), bak, s.Path()))
	ls(filepath.Dir(s.Path()))
	// break the header while held
	f, err := os.OpenFile(s.Path(), os.O_WRONLY, 0)
	fmt.Println(err)
	f.WriteAt([]byte("garbage"), 0)
	f.Close()
	fmt.Println(sqlite.Restore(t.Context(), bak, s.Path()))
	fmt.Println(done())
	ls(filepath.Dir(s.Path()))
	fmt.Println(sqlite.Restore(t.Context(), bak, s.Path()))
	ls(filepath.Dir(s.Path()))
	fmt.Println(sqlite.Restore(t.Context(), bak, s.Path()))
	ls(filepath.Dir(s.Path()))
	fmt.Println(sqlite.Restore(t.Context(), bak, filepath.Join(dir, "new")))
	ls(dir)
	s, err = sqlite.Open(t.Context(), s.Path())
	fmt.Println(s, err)
	fmt.Println(s.Logs(t.Context()))
}
