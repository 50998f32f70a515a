package sqlite_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// A backup is taken while others write: it is the record as of one moment.
func TestBackup(t *testing.T) {
	s := create(t)
	defer s.Close()
	if err := record(t.Context(), s, knownSteps()); err != nil {
		t.Fatal(err)
	}
	stop := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		for n := int64(0); ; n++ {
			select {
			case <-stop:
				return
			default:
			}
			// Two logs grow together: in no backup is one ahead.
			if _, err := s.Append(t.Context(), []store.Batch{batch("job/x", n, fmt.Sprint(n)), batch("job/y", n, fmt.Sprint(n))}); err != nil {
				t.Error(err)
				return
			}
		}
	})
	folder := t.TempDir()
	for i := range 5 {
		file := filepath.Join(folder, fmt.Sprintf("%d.backup", i))
		if err := s.Backup(t.Context(), file); err != nil {
			t.Fatal(err)
		}
		b := must(sqlite.Open(t.Context(), file))(t)
		all := pictureOf(knownSteps())
		all.logs["job/x"], all.logs["job/y"] = nil, nil
		p, errs := look(t.Context(), b, all)
		if err := errors.Join(append(errs, b.Check(t.Context()), b.Close())...); err != nil {
			t.Error(err)
		}
		if x, y := p.logs["job/x"], p.logs["job/y"]; !reflect.DeepEqual(x, y) {
			t.Errorf("of what grew together the backup has %d and %d", len(x), len(y))
		}
		delete(p.logs, "job/x")
		delete(p.logs, "job/y")
		if !reflect.DeepEqual(p, pictureOf(knownSteps())) {
			t.Errorf("the backup says %q", p)
		}
	}
	close(stop)
	wg.Wait()
	wantFiles(t, folder, "0.backup", "1.backup", "2.backup", "3.backup", "4.backup")
}

func TestBackupRefused(t *testing.T) {
	s := create(t)
	defer s.Close()
	folder := t.TempDir()
	there := filepath.Join(folder, "there")
	write(t, there, []byte("a letter"))
	for file, words := range map[string]string{
		there:                            "is there already",
		s.Path():                         "is there already",
		filepath.Join(folder, "no", "b"): "can't be written",
	} {
		if err := s.Backup(t.Context(), file); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("backup to %s: %v", file, err)
		}
	}
	if got := must(os.ReadFile(there))(t); string(got) != "a letter" {
		t.Errorf("the file that was there says %q", got)
	}

	// A damaged record makes no backup that looks like one.
	path := filepath.Join(t.TempDir(), "shop.db")
	write(t, path, bytes.Replace(known(t), []byte("person added"), []byte("person hired"), 1))
	d := must(sqlite.Open(t.Context(), path))(t)
	defer d.Close()
	var damage *store.DamageError
	if err := d.Backup(t.Context(), filepath.Join(folder, "b")); !errors.As(err, &damage) || !strings.Contains(damage.What, "entry 2 of the log shop") {
		t.Errorf("backup of a damaged record: %v", err)
	}
	wantFiles(t, folder, "there")
}

func TestRestore(t *testing.T) {
	s := create(t)
	if err := record(t.Context(), s, knownSteps()); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(t.TempDir(), "backup")
	if err := errors.Join(s.Backup(t.Context(), backup), s.Close()); err != nil {
		t.Fatal(err)
	}
	file, wal := crashed(t)

	for name, old := range map[string]map[string][]byte{
		"where nothing is":              {},
		"over a record that was closed": {"": file},
		"over one that was not":         {"": file, "-wal": wal},
		"over a damaged one":            {"": append([]byte("garbage"), file[7:]...), "-wal": wal},
		"over what is no record":        {"": []byte("a letter")},
		"over an empty file":            {"": {}},
		"beside a -wal that was left":   {"-wal": wal},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shop.db")
			for beside, data := range old {
				write(t, path+beside, data)
			}
			aside, err := sqlite.Restore(t.Context(), backup, path)
			if err != nil {
				t.Fatal(err)
			}
			if (aside == "") != (len(old) == 0) {
				t.Errorf("%d files were put aside as %q", len(old), aside)
			}
			// What was there is there still, byte for byte.
			for beside, data := range old {
				if got := must(os.ReadFile(aside + beside))(t); !bytes.Equal(got, data) {
					t.Errorf("%d bytes of shop.db%s were put aside as %d others", len(data), beside, len(got))
				}
			}
			r := must(sqlite.Open(t.Context(), path))(t)
			defer r.Close()
			if p, errs := look(t.Context(), r, pictureOf(knownSteps())); len(errs) > 0 || !reflect.DeepEqual(p, pictureOf(knownSteps())) {
				t.Errorf("restored, it says %q, %v", p, errs)
			}
			if parts := must(filepath.Glob(path + ".part*"))(t); parts != nil {
				t.Errorf("%q are left", parts)
			}
		})
	}
}

// A link to the record is followed, as SQLite follows it.
func TestRestoreOverLink(t *testing.T) {
	file, wal := crashed(t)
	path := filepath.Join(t.TempDir(), "shop.db")
	write(t, path, file)
	write(t, path+"-wal", wal)
	link := filepath.Join(t.TempDir(), "link.db")
	if err := os.Symlink(path, link); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(t.TempDir(), "backup")
	write(t, backup, known(t))
	aside, err := sqlite.Restore(t.Context(), backup, link)
	if err != nil || filepath.Dir(aside) != filepath.Dir(path) {
		t.Fatalf("put aside as %q: %v", aside, err)
	}
	if got := must(os.ReadFile(aside + "-wal"))(t); !bytes.Equal(got, wal) {
		t.Errorf("%d bytes of the -wal were put aside as %d others", len(wal), len(got))
	}
	wantFiles(t, filepath.Dir(link), "link.db")
	s := must(sqlite.Open(t.Context(), link))(t)
	if err := errors.Join(s.Check(t.Context()), s.Close()); err != nil {
		t.Error(err)
	}
}

func TestRestoreRefused(t *testing.T) {
	file, wal := crashed(t)
	good := known(t)
	folder := t.TempDir()
	backup := func(name string, data []byte) string {
		write(t, filepath.Join(folder, name), data)
		return filepath.Join(folder, name)
	}
	live := backup("live", file)
	write(t, live+"-wal", wal)

	path := filepath.Join(t.TempDir(), "shop.db")
	write(t, path, file)
	refused := func(what, backup, words string) {
		t.Helper()
		aside, err := sqlite.Restore(t.Context(), backup, path)
		if err == nil || aside != "" || !strings.Contains(err.Error(), words) || !strings.Contains(err.Error(), "nothing was replaced") {
			t.Errorf("%s: %q, %v", what, aside, err)
		}
	}
	refused("a backup that is not there", filepath.Join(folder, "none"), "no such file")
	refused("a folder", folder, "is a directory")
	refused("an altered entry", backup("altered", bytes.Replace(good, []byte("struck"), []byte("strUck"), 1)), "entry 3 of the log job/a")
	refused("a backup cut off", backup("cut", good[:len(good)-100]), "damaged")
	refused("an empty file", backup("empty", nil), "is not the record of a shop")
	refused("a letter", backup("letter", []byte(strings.Repeat("a letter ", 100))), "damaged")
	refused("a record in use", live, "a record in use")
	refused("the record itself", path, "can't be")
	if got := must(os.ReadFile(path))(t); !bytes.Equal(got, file) {
		t.Error("the record was altered")
	}
	wantFiles(t, filepath.Dir(path), "shop.db")

	// Whoever has it open would go on writing to the file put aside.
	whole := backup("whole", good)
	first, done := child(t, "hold", path)
	if first != "open" {
		t.Fatal(first)
	}
	refused("while another program has it open", whole, "another program has the record")
	f := must(os.OpenFile(path, os.O_WRONLY, 0))(t)
	must(f.WriteAt([]byte("garbage"), 0))(t)
	refused("and can't be read any more", whole, "remove "+path+"-shm")
	must(f.WriteAt(file[:7], 0))(t)
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	done()
	s := must(sqlite.Open(t.Context(), path))(t)
	refused("while this program has it open", whole, "another program has the record")
	if err := errors.Join(s.Check(t.Context()), s.Close()); err != nil {
		t.Error(err)
	}
	if _, err := sqlite.Restore(t.Context(), whole, path); err != nil {
		t.Errorf("once nobody has it open: %v", err)
	}
}

func write(t *testing.T, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func wantFiles(t *testing.T, folder string, want ...string) {
	t.Helper()
	var got []string
	for _, e := range must(os.ReadDir(folder))(t) {
		got = append(got, e.Name())
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("in the folder are %q, not %q", got, want)
	}
}
