package sqlite_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"tenths/internal/store/sqlite"
)

// Every version that was released is kept as a record of the known steps, and
// opens. With UPDATE=1 the file of a version that has none yet is written; one
// that is there never is.
func TestReleasedVersions(t *testing.T) {
	for version := 1; version <= sqlite.Current; version++ {
		name := filepath.Join("testdata", fmt.Sprintf("v%d.db", version))
		kept, err := os.ReadFile(name)
		if errors.Is(err, os.ErrNotExist) && version == sqlite.Current && os.Getenv("UPDATE") != "" {
			kept = known(t)
			write(t, name, kept)
		} else if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "shop.db")
		write(t, path, kept)
		all := pictureOf(stepsOf(version))
		for range 2 {
			s := must(sqlite.Open(t.Context(), path))(t)
			p, errs := look(t.Context(), s, all)
			if err := errors.Join(append(errs, s.Check(t.Context()))...); err != nil || !reflect.DeepEqual(p, all) {
				t.Fatalf("version %d says %q, %v", version, p, err)
			}
			if err := errors.Join(record(t.Context(), s, moreSteps(all)), s.Close()); err != nil {
				t.Fatal(err)
			}
			all.logs["shop"] = append(all.logs["shop"], "later")
		}
	}
}

func moreSteps(p picture) []step {
	return []step{{append: batches("shop", int64(len(p.logs["shop"])), "later")}}
}

// What is not a record of ours, or of a program to come, is refused and stays as
// it was.
func TestRefused(t *testing.T) {
	altered := func(text string) []byte {
		path := filepath.Join(t.TempDir(), "shop.db")
		write(t, path, known(t))
		db := must(sql.Open("sqlite", path))(t)
		defer db.Close()
		must(db.Exec(text))(t)
		must(db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"))(t)
		return must(os.ReadFile(path))(t)
	}
	foreign := filepath.Join(t.TempDir(), "foreign.db")
	db := must(sql.Open("sqlite", foreign))(t)
	must(db.Exec("CREATE TABLE entry (at INTEGER PRIMARY KEY, hash BLOB NOT NULL, line BLOB NOT NULL)"))(t)
	db.Close()

	for _, test := range []struct {
		what  string
		data  []byte
		words string
	}{
		{"a version to come", altered(fmt.Sprintf("PRAGMA user_version = %d", sqlite.Current+1)), "use the program that wrote it, or a newer one"},
		{"no version", altered("PRAGMA user_version = 0"), "damaged"},
		{"another mark", altered("PRAGMA application_id = 7"), "is not the record of a shop"},
		{"a database of somebody else", must(os.ReadFile(foreign))(t), "is not the record of a shop"},
		{"a table more", altered("CREATE TABLE more (x)"), "the tables of the file are not those of a record"},
		{"a table less", altered("DROP TABLE secret"), "the tables of the file are not those of a record"},
		{"an empty file", nil, "is not the record of a shop"},
		{"a letter", bytes.Repeat([]byte("a letter "), 100), "damaged"},
	} {
		path := filepath.Join(t.TempDir(), "shop.db")
		write(t, path, test.data)
		if _, err := sqlite.Open(t.Context(), path); err == nil || !strings.Contains(err.Error(), test.words) {
			t.Errorf("%s: %v", test.what, err)
		}
		if got := must(os.ReadFile(path))(t); !bytes.Equal(got, test.data) {
			t.Errorf("%s was altered", test.what)
		}
		wantFiles(t, filepath.Dir(path), "shop.db")
	}

	folder := t.TempDir()
	for path, words := range map[string]string{
		filepath.Join(folder, "none"):       "there is no record at",
		filepath.Join(folder, "none", "db"): "there is no record at",
		folder:                              "is a folder",
	} {
		if _, err := sqlite.Open(t.Context(), path); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("open %s: %v", path, err)
		}
	}
	wantFiles(t, folder)
}

func TestCreateRefused(t *testing.T) {
	_, wal := crashed(t)
	for beside, data := range map[string][]byte{"": []byte("a letter"), "-wal": wal} {
		path := filepath.Join(t.TempDir(), "shop.db")
		write(t, path+beside, data)
		if _, err := sqlite.Create(t.Context(), path); err == nil || !strings.Contains(err.Error(), "is there already") {
			t.Errorf("over shop.db%s: %v", beside, err)
		}
		if got := must(os.ReadFile(path + beside))(t); !bytes.Equal(got, data) {
			t.Errorf("shop.db%s was altered", beside)
		}
		wantFiles(t, filepath.Dir(path), "shop.db"+beside)
	}
	if _, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "none", "shop.db")); err == nil {
		t.Error("a record was made in a folder that is not there")
	}
}

// To open a record, to read it and to close it writes nothing to it.
func TestOpenWritesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	file := known(t)
	write(t, path, file)
	before := must(os.Stat(path))(t)
	s := must(sqlite.Open(t.Context(), path))(t)
	look(t.Context(), s, pictureOf(knownSteps()))
	if err := errors.Join(s.Check(t.Context()), s.Close()); err != nil {
		t.Fatal(err)
	}
	after := must(os.Stat(path))(t)
	if !bytes.Equal(must(os.ReadFile(path))(t), file) || !after.ModTime().Equal(before.ModTime()) {
		t.Error("the file was written to")
	}
	wantFiles(t, filepath.Dir(path), "shop.db")
}

// A path may have any characters.
func TestPaths(t *testing.T) {
	for _, name := range []string{"a b", "ä", "50%", "a?b=c", "a#b", "a&b", "file:x", "'quoted'", "%41", ":memory:"} {
		path := filepath.Join(t.TempDir(), name)
		s := must(sqlite.Create(t.Context(), path))(t)
		appendTo(t, s, "shop", 0, "1")
		if err := errors.Join(s.Backup(t.Context(), path+" backup"), s.Close()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		wantFiles(t, filepath.Dir(path), name, name+" backup")
	}
}
