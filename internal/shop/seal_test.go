package shop_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tenths/internal/export"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// A forger is somebody with the file and a program for databases, who knows how
// lines are hashed and has not the shop's key.
type forger struct {
	testing.TB
	db *sql.DB
}

// forge closes a shop that [measured] and sealed made, lets a forger at its
// file, and opens it again.
func forge(t *testing.T, forge func(f *forger, p *place)) (*place, *shop.Shop, error) {
	t.Helper()
	p := onDisk(t)
	s := measured(t, p)
	must(s.Seal(t.Context(), by(mechanic), order))(t)
	must(enter(t.Context(), s, mechanic, id(3), take(3)))(t) // behind the seal
	s.Close()
	db := must(sql.Open("sqlite", filepath.Join(p.dir, shop.Database)))(t)
	forge(&forger{t, db}, p)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	st := p.open(t)
	again, err := shop.Open(t.Context(), st, p.options())
	if err == nil {
		t.Cleanup(again.Close)
	}
	return p, again, err
}

func (f *forger) exec(query string, args ...any) {
	f.Helper()
	if n := must(must(f.db.Exec(query, args...))(f).RowsAffected())(f); n == 0 {
		f.Fatalf("%s changed nothing", query)
	}
}

// log returns the number of a log, by its name or what begins it.
func (f *forger) log(name string) (n int64) {
	f.Helper()
	if err := f.db.QueryRow("SELECT id FROM log WHERE name LIKE ?", name+"%").Scan(&n); err != nil {
		f.Fatal(err)
	}
	return n
}

func (f *forger) lines(log string) (lines []string) {
	f.Helper()
	n := f.log(log)
	rows := must(f.db.Query("SELECT line FROM entry WHERE at > ? AND at < ? ORDER BY at", n<<32, (n+1)<<32))(f)
	defer rows.Close()
	for rows.Next() {
		var line []byte
		if err := rows.Scan(&line); err != nil {
			f.Fatal(err)
		}
		lines = append(lines, string(line))
	}
	return lines
}

// alter writes something else into an entry, and its hash beside it.
func (f *forger) alter(log string, seq int64, old, now string) {
	f.Helper()
	line := f.lines(log)[seq-1]
	altered := []byte(strings.Replace(line, old, now, 1))
	if line == string(altered) {
		f.Fatalf("%q is not in %s", old, line)
	}
	hash := ledger.HashLine(altered)
	f.exec("UPDATE entry SET line = ?, hash = ? WHERE at = ?", altered, hash[:], f.log(log)<<32|seq)
}

// cut takes away all entries of a log behind so many.
func (f *forger) cut(log string, size int64) {
	f.Helper()
	n := f.log(log)
	f.exec("DELETE FROM entry WHERE at > ? AND at < ?", n<<32|size, (n+1)<<32)
}

func wantDamage(t *testing.T, what string, err error, words ...string) {
	t.Helper()
	if !errors.As(err, new(*store.DamageError)) {
		t.Errorf("%s: %v", what, err)
		return
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%s: %q does not say %q", what, err, w)
		}
	}
}

// What was sealed and is altered is told, though its hash was mended.
func TestAlteredEntry(t *testing.T) {
	_, s, err := forge(t, func(f *forger, _ *place) { f.alter("job/", 2, "1.4981", "1.4989") })
	if err != nil {
		t.Fatal(err) // only what is asked for is read
	}
	_, err = s.Job(t.Context(), order)
	wantDamage(t, "job", err, "was changed before its seal", "3 entries")
	_, err = s.Judged(t.Context(), order)
	wantDamage(t, "judged", err, "was changed before its seal")
	_, err = enter(t.Context(), s, mechanic, id(9), take(9))
	wantDamage(t, "enter", err, "was changed before its seal")
	_, err = s.Export(t.Context(), by(mechanic), order, new(bytes.Buffer))
	wantDamage(t, "export", err, "was changed before its seal")
	_, err = s.Check(t.Context())
	wantDamage(t, "check", err, "was changed before its seal", "job/")
	if list := must(s.List(t.Context()))(t); len(list) != 1 || !strings.Contains(list[0].Problem, "was changed before its seal") {
		t.Errorf("the list has %+v", list)
	}
	// Other jobs go on.
	open(t, s, "2026-015")
	must(s.Enter(t.Context(), by(mechanic), "2026-015", shop.Request{Request: take(1)}))(t)
}

// What is no more as entries are written is told by Check, sealed or not; what
// is behind the last seal and well made can't be told, by anybody.
func TestAlteredBehindTheSeal(t *testing.T) {
	_, s, err := forge(t, func(f *forger, _ *place) { f.alter("job/", 4, `"spot":"`, `"spot": "`) })
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Check(t.Context())
	wantDamage(t, "check", err, "entry 4 of job/")

	_, s, err = forge(t, func(f *forger, _ *place) { f.alter("job/", 4, "1.4973", "1.4989") })
	if err != nil {
		t.Fatal(err)
	}
	whole(t, s)
}

// Sealed entries that are gone are told when the shop is opened.
func TestShortened(t *testing.T) {
	for name, cut := range map[string]func(*forger, *place){
		"the job's log":              func(f *forger, _ *place) { f.cut("job/", 2) },
		"the shop's log":             func(f *forger, _ *place) { f.cut("shop", int64(len(f.lines("shop")))-1) },
		"both, but the seals beside": func(f *forger, _ *place) { f.cut("job/", 2); f.cut("shop", int64(len(f.lines("shop")))-1) },
		"the whole job": func(f *forger, _ *place) {
			f.exec("DELETE FROM entry WHERE at > ?", f.log("job/")<<32)
			f.exec("DELETE FROM log WHERE name LIKE 'job/%'")
		},
		"everything": func(f *forger, _ *place) { f.exec("DELETE FROM entry"); f.exec("DELETE FROM log") },
		"the job's log, and the seals beside": func(f *forger, p *place) {
			f.cut("job/", 2)
			if err := os.RemoveAll(filepath.Join(p.dir, shop.SealsDir)); err != nil {
				f.Fatal(err)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, _, err := forge(t, cut)
			wantDamage(t, "open", err, "shorter than sealed")
		})
	}
}

// An entry of the shop's log that is altered is told by the seal beside it.
func TestAlteredShopLog(t *testing.T) {
	_, _, err := forge(t, func(f *forger, _ *place) { f.alter("shop", 3, "77120", "77129") })
	wantDamage(t, "open", err, "shop was changed before its seal")
}

// Without the key, the echo of a seal can't be mended after what it seals.
func TestAlteredWithItsEcho(t *testing.T) {
	_, s, err := forge(t, func(f *forger, p *place) {
		var tree, forged ledger.Tree
		for _, line := range f.lines("job/")[:3] {
			tree.Add(ledger.HashLine([]byte(line)))
		}
		f.alter("job/", 2, "1.4981", "1.4989")
		for _, line := range f.lines("job/")[:3] {
			forged.Add(ledger.HashLine([]byte(line)))
		}
		f.alter("shop", int64(len(f.lines("shop"))), tree.Root().String(), forged.Root().String())
		if err := os.RemoveAll(filepath.Join(p.dir, shop.SealsDir)); err != nil {
			f.Fatal(err)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Check(t.Context())
	wantDamage(t, "check", err, "not as it was signed")
}

// Whoever alters an entry alone is told of it by name.
func TestAlteredWithoutItsHash(t *testing.T) {
	_, s, err := forge(t, func(f *forger, _ *place) {
		f.exec("UPDATE entry SET line = CAST(replace(CAST(line AS TEXT), '1.4973', '1.4989') AS BLOB) WHERE at = ?", f.log("job/")<<32|4)
	})
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Job(t.Context(), order)
	wantDamage(t, "job", err, "entry 4")
}

// A log that nobody numbered is no job.
func TestUnknownLog(t *testing.T) {
	p := onDisk(t)
	s := p.made(t)
	st := p.open(t)
	must(st.Append(t.Context(), []store.Batch{{Log: "job/" + store.Log(id(1)), Entries: [][]byte{[]byte("{}")}}}))(t)
	_, err := s.Check(t.Context())
	wantDamage(t, "check", err, "does not know")
	_, err = shop.Open(t.Context(), st, p.options())
	wantDamage(t, "open", err, "does not know")
}

// The seals beside the record are of this shop, and of what it has.
func TestSealsBeside(t *testing.T) {
	p := onDisk(t)
	s := measured(t, p)
	sealed := must(s.Seal(t.Context(), by(mechanic), order))(t)
	key := must(s.Record(t.Context()))(t).Key
	file := filepath.Join(p.dir, shop.SealsDir, strings.ReplaceAll(sealed.Log, "/", "-")+".seal")
	note := must(os.ReadFile(file))(t)
	if seal, err := ledger.OpenSeal(string(note), key); err != nil || seal != sealed.Seal || string(note) != sealed.Note {
		t.Errorf("beside the record is %q: %v", note, err)
	}
	own := must(os.ReadFile(filepath.Join(p.dir, shop.SealsDir, "shop.seal")))(t)
	if seal, err := ledger.OpenSeal(string(own), key); err != nil || seal.Size != must(s.Record(t.Context()))(t).Size {
		t.Errorf("of the shop's log there is %q: %v", own, err)
	}
	if again := must(s.Seal(t.Context(), by(mechanic), order))(t); again != sealed {
		t.Errorf("sealed as %+v, and unchanged as %+v", sealed, again)
	}

	other := inMemory(t)
	found(t, other)
	foreign := must(os.ReadFile(filepath.Join(other.dir, shop.SealsDir, "shop.seal")))(t)
	for name, text := range map[string]string{
		"shop.seal": string(foreign), "empty.seal": "", "words.seal": "words\n", "half.seal": string(note[:len(note)/2]),
		"signed.seal": strings.Replace(string(note), "\n3\n", "\n2\n", 1),
	} {
		path := filepath.Join(p.dir, shop.SealsDir, name)
		before, had := os.ReadFile(path)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		_, err := shop.Open(t.Context(), p.open(t), p.options())
		if codeOf(err) != "seal" || !strings.Contains(err.Error(), path) {
			t.Errorf("with %s: %v", name, err)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		if had == nil {
			if err := os.WriteFile(path, before, 0o666); err != nil {
				t.Fatal(err)
			}
		}
	}
	whole(t, p.reopen(t))

	// A folder without them can be used, and has them again.
	if err := os.RemoveAll(filepath.Join(p.dir, shop.SealsDir)); err != nil {
		t.Fatal(err)
	}
	s = p.reopen(t)
	must(enter(t.Context(), s, mechanic, id(20), take(20)))(t)
	must(s.Seal(t.Context(), by(mechanic), order))(t)
	if files := must(os.ReadDir(filepath.Join(p.dir, shop.SealsDir)))(t); len(files) != 2 {
		t.Errorf("beside the record are %v", files)
	}
	whole(t, s)
}

// The journal of a record in use is lost, with everything that was not yet moved
// into the file: what was sealed of it is told.
func TestJournalLost(t *testing.T) {
	p := onDisk(t)
	s := measured(t, p)
	must(s.Seal(t.Context(), by(mechanic), order))(t)
	copied := newPlace(t, nil)
	if err := os.CopyFS(copied.dir, os.DirFS(p.dir)); err != nil {
		t.Fatal(err)
	}
	for _, beside := range []string{"-wal", "-shm"} {
		if err := os.Remove(filepath.Join(copied.dir, shop.Database+beside)); err != nil {
			t.Fatal(err)
		}
	}
	copied.open = fileIn(copied.dir)
	_, err := shop.Open(t.Context(), copied.open(t), copied.options())
	wantDamage(t, "open", err, "shorter than sealed")
	whole(t, s)
}

// A seal is only of what is on disk, however many enter at once and whatever
// fails.
func TestSealWhatIsOnDisk(t *testing.T) {
	p := onDisk(t)
	measured(t, p)
	s, h := p.hook(t)
	broken := errors.New("the disk failed")
	h.append = func(context.Context, []store.Batch) ([]store.Log, error) { return nil, broken }
	if _, err := enter(t.Context(), s, mechanic, id(9), take(9)); !errors.Is(err, broken) {
		t.Fatal(err)
	}
	if _, err := s.Seal(t.Context(), by(mechanic), order); !errors.Is(err, broken) {
		t.Errorf("sealed while nothing can be written: %v", err)
	}
	// The seal that is kept beside is of what there is, and is echoed later.
	h.append = nil
	whole(t, p.reopen(t))
	sealed := must(s.Seal(t.Context(), by(mechanic), order))(t)
	if sealed.Size != must(s.Job(t.Context(), order))(t).Size {
		t.Errorf("sealed as %+v", sealed)
	}
	whole(t, s)

	// Signed, and the echo fails.
	r, _, err := s.Signature(t.Context(), by(mechanic), order, "cam", job.Performed)
	if err != nil {
		t.Fatal(err)
	}
	h.append = func(ctx context.Context, batches []store.Batch) ([]store.Log, error) {
		for _, b := range batches {
			if b.Log == shoplog.Log && len(b.Entries) > 0 {
				return nil, broken
			}
		}
		return h.Store.Append(ctx, batches)
	}
	done, _, err := s.Sign(t.Context(), by(mechanic), passwordOf(mechanic), order, r)
	if !errors.As(err, new(*shop.UnsealedError)) || !errors.Is(err, broken) || done.From != sealed.Size+1 {
		t.Errorf("signed as %+v: %v", done, err)
	}
	h.append = nil
	whole(t, p.reopen(t))
	if again := must(s.Seal(t.Context(), by(mechanic), order))(t); again.Size != done.To {
		t.Errorf("sealed as %+v", again)
	}
	whole(t, s)
}

// Without the shop's key, by a damaged one or by another shop's nothing is sealed:
// the refusal says which file it is and what to do. Work goes on, what is sealed
// stays proven, and the record is exported with the seals that there are. With the
// key back all is as before.
func TestLostKey(t *testing.T) {
	other := inMemory(t)
	found(t, other)
	foreign := must(os.ReadFile(filepath.Join(other.dir, shop.KeyFile)))(t)
	for what, alter := range map[string]func(key []byte) []byte{
		"gone":                         func([]byte) []byte { return nil },
		"empty":                        func([]byte) []byte { return []byte{} },
		"half of it":                   func(key []byte) []byte { return key[:len(key)/2] },
		"words":                        func([]byte) []byte { return []byte("the key is in the safe\n") },
		"another shop's":               func([]byte) []byte { return foreign },
		"another one of the same name": func(key []byte) []byte { return again(t, key) },
	} {
		p := onDisk(t)
		s := measured(t, p)
		sealed := must(s.Seal(t.Context(), by(mechanic), order))(t)
		state := must(s.Record(t.Context()))(t)
		path := filepath.Join(p.dir, shop.KeyFile)
		good := must(os.ReadFile(path))(t)
		if bad := alter(good); bad == nil {
			must(0, os.Remove(path))(t)
		} else {
			must(0, os.WriteFile(path, bad, 0o600))(t)
		}
		s = p.reopen(t)
		must(enter(t.Context(), s, mechanic, id(20), take(20)))(t)
		_, err := s.Seal(t.Context(), by(mechanic), order)
		if codeOf(err) != "key" || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "put the copy of it back") || !strings.Contains(err.Error(), "tenths shop init") {
			t.Errorf("%s: sealed: %v", what, err)
		}
		if now := must(s.Record(t.Context()))(t); now.Size != state.Size {
			t.Errorf("%s: the shop's log has %d entries, before %d", what, now.Size, state.Size)
		}

		var out bytes.Buffer
		exported, err := s.Export(t.Context(), by(mechanic), order, &out)
		if err != nil || codeOf(exported.Unsealed) != "key" || exported.Sealed != sealed || exported.Entries != sealed.Size+1 {
			t.Errorf("%s: exported as %+v: %v", what, exported, err)
		}
		r := must(export.Read(&out))(t)
		if o := must(export.Verify(r, state.Key, ""))(t); o.Finding != export.Unaltered || o.Seal.Size != sealed.Size || o.After != 1 {
			t.Errorf("%s: it is found to be %+v", what, o)
		}
		whole(t, s)

		must(0, os.WriteFile(path, good, 0o600))(t)
		out.Reset()
		exported, err = s.Export(t.Context(), by(mechanic), order, &out)
		if err != nil || exported.Unsealed != nil || exported.Entries != sealed.Size+1 || exported.Size != exported.Entries {
			t.Errorf("%s, and back: exported as %+v: %v", what, exported, err)
		}
		wantVerified(t, s, out.Bytes())
	}
}

// again is another key of the same name.
func again(t *testing.T, key []byte) []byte {
	t.Helper()
	name := strings.Split(string(key), "+")[2]
	secret, _, err := ledger.NewKey(strings.TrimPrefix(name, "tenths.shop/"))
	if err != nil {
		t.Fatal(err)
	}
	return []byte(secret + "\n")
}

// A job that was never sealed is exported without the key too: it agrees with
// itself, and no more can be said.
func TestLostKeyNeverSealed(t *testing.T) {
	p := onDisk(t)
	s := measured(t, p)
	must(0, os.Remove(filepath.Join(p.dir, shop.KeyFile)))(t)
	var out bytes.Buffer
	exported := must(s.Export(t.Context(), by(mechanic), order, &out))(t)
	if exported.Size != 0 || exported.Entries != 3 || codeOf(exported.Unsealed) != "key" {
		t.Errorf("exported as %+v", exported)
	}
	r := must(export.Read(&out))(t)
	if o := must(export.Verify(r, must(s.Record(t.Context()))(t).Key, ""))(t); o.Finding != export.Itself {
		t.Errorf("it is found to be %+v", o)
	}
}
