package sqlite_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"

	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// A step is one thing that is recorded, in one commit.
type step struct {
	append  []store.Batch
	blob    string
	secret  [2]string // name, secret
	derived []store.Derived
}

// knownSteps is what the tests of damage and of versions record. It stands in
// testdata, so what each version has never changes.
func knownSteps() []step { return stepsOf(sqlite.Current) }

// stepsOf is what the record of a version was made by.
func stepsOf(version int) []step {
	long := `{"kind":"note","text":"` + strings.Repeat("a", 5000) + `"}` // longer than a page
	steps := []step{
		{append: []store.Batch{batch("shop", 0, `{"kind":"shop made"}`, `{"kind":"person added"}`)}},
		{append: []store.Batch{batch("job/a", 0, `{"kind":"opened"}`), batch("job/b", 0, `{"kind":"opened"}`, long)}},
		{blob: "a drawing"},
		{secret: [2]string{"ann", "argon2id$one"}},
		{append: []store.Batch{batch("job/b", 2, `{"kind":"note"}`), batch("shop", 2, `{"kind":"policy"}`)}},
		{derived: []store.Derived{{Log: "shop", Size: 3, Bytes: []byte("what the shop comes to")}, {Log: "job/a", Size: 1, Bytes: []byte("a")}}},
		{blob: "\xff\xd8" + strings.Repeat("\xff", 5000)},
		{secret: [2]string{"bo", "argon2id$two"}},
		{append: []store.Batch{batch("job/a", 1, `{"kind":"reading taken"}`, `{"kind":"struck"}`, `{"kind":"reading taken"}`)}},
	}
	if version > 1 { // entries of many logs in one commit
		steps = append(steps, step{append: []store.Batch{
			batch("shop", 3, `{"kind":"sealed"}`), batch("job/a", 4, `{"kind":"note"}`, long), batch("job/b", 3, `{"kind":"note"}`), batch("job/c", 0, `{"kind":"opened"}`),
		}})
	}
	return steps
}

// movedSteps are the known steps and commits of so many entries of many logs that
// what waits is moved for their number, and then another, which waits.
func movedSteps() []step {
	steps := knownSteps()
	size := map[store.Log]int64{}
	for _, st := range steps {
		for _, b := range st.append {
			size[b.Log] += int64(len(b.Entries))
		}
	}
	for _, each := range []int{120, 120, 120, 2} {
		var all []store.Batch
		for _, l := range []store.Log{"shop", "job/a", "job/b", "job/c"} {
			b := batch(l, size[l])
			for range each {
				size[l]++
				b.Entries = append(b.Entries, fmt.Appendf(nil, "%d of %s", size[l], l))
			}
			all = append(all, b)
		}
		steps = append(steps, step{append: all})
	}
	return steps
}

func batch(l store.Log, size int64, lines ...string) store.Batch {
	b := store.Batch{Log: l, Size: size}
	for _, line := range lines {
		b.Entries = append(b.Entries, []byte(line))
	}
	return b
}

func batches(l store.Log, size int64, lines ...string) []store.Batch {
	return []store.Batch{batch(l, size, lines...)}
}

func record(ctx context.Context, s store.Store, steps []step) error {
	for _, st := range steps {
		switch {
		case st.append != nil:
			if grown, err := s.Append(ctx, st.append); err != nil || grown != nil {
				return fmt.Errorf("grown: %v, %w", grown, err)
			}
		case st.blob != "":
			if _, err := s.PutBlob(ctx, []byte(st.blob)); err != nil {
				return err
			}
		case st.derived != nil:
			if err := s.PutDerived(ctx, "1", st.derived); err != nil {
				return err
			}
		default:
			if err := s.PutSecret(ctx, st.secret[0], st.secret[1]); err != nil {
				return err
			}
		}
	}
	return nil
}

// A picture is everything that a record says.
type picture struct {
	logs    map[store.Log][]string
	blobs   map[string]string // by hash
	secrets map[string]string
	derived map[store.Log]string
}

func newPicture() picture {
	return picture{map[store.Log][]string{}, map[string]string{}, map[string]string{}, map[store.Log]string{}}
}

// pictureOf is what the record says after the steps.
func pictureOf(steps []step) picture {
	p := newPicture()
	for _, st := range steps {
		for _, b := range st.append {
			for _, line := range b.Entries {
				p.logs[b.Log] = append(p.logs[b.Log], string(line))
			}
		}
		if st.blob != "" {
			p.blobs[hexSum(st.blob)] = st.blob
		}
		if st.secret[0] != "" {
			p.secrets[st.secret[0]] = st.secret[1]
		}
		for _, d := range st.derived {
			p.derived[d.Log] = string(d.Bytes)
		}
	}
	return p
}

// look reads what the record says, of what it may say, and every error that it
// is refused with. What is not found is left out.
func look(ctx context.Context, s store.Store, all picture) (p picture, errs []error) {
	p = newPicture()
	fail := func(err error) {
		if !errors.Is(err, store.ErrNotFound) {
			errs = append(errs, err)
		}
	}
	sizes, err := s.Logs(ctx)
	if err != nil {
		fail(err)
	}
	for l := range all.logs {
		var lines []string
		whole := true
		for line, err := range s.Read(ctx, l, 0) {
			if err != nil {
				whole = false
				fail(err)
				break
			}
			lines = append(lines, string(line))
		}
		size, err := s.Size(ctx, l)
		if err != nil {
			fail(err)
		} else if whole && size != int64(len(lines)) {
			fail(fmt.Errorf("%s has %d lines and is told to have %d", l, len(lines), size))
		}
		if whole && sizes != nil && sizes[l] != int64(len(lines)) {
			fail(fmt.Errorf("%s has %d lines, and of the logs it has %d", l, len(lines), sizes[l]))
		}
		if lines != nil {
			p.logs[l] = lines
		}
	}
	for l := range sizes {
		if _, ok := all.logs[l]; !ok {
			fail(fmt.Errorf("there is a log %q", l))
		}
	}
	for hash := range all.blobs {
		data, err := s.Blob(ctx, hash)
		if err != nil {
			fail(err)
			continue
		}
		p.blobs[hash] = string(data)
	}
	for name := range all.secrets {
		secret, err := s.Secret(ctx, name)
		if err != nil {
			fail(err)
			continue
		}
		p.secrets[name] = secret
	}
	rows, err := s.Derived(ctx, "1")
	if err != nil {
		fail(err)
	}
	for _, d := range rows {
		p.derived[d.Log] = string(d.Bytes)
	}
	return p, errs
}

// wrong tells what of p is neither there in all nor missing: logs may be
// shorter, and everything else may be gone.
func (p picture) wrong(all picture) error {
	for l, lines := range p.logs {
		if n := len(lines); n > len(all.logs[l]) || !slices.Equal(lines, all.logs[l][:n]) {
			return fmt.Errorf("the log %s says %q", l, lines)
		}
	}
	for hash, data := range p.blobs {
		if data != all.blobs[hash] {
			return fmt.Errorf("the blob %s is %q", hash, data)
		}
	}
	for name, secret := range p.secrets {
		if secret != all.secrets[name] {
			return fmt.Errorf("the secret of %s is %q", name, secret)
		}
	}
	for l, row := range p.derived {
		if row != all.derived[l] {
			return fmt.Errorf("derived of %s is %q", l, row)
		}
	}
	return nil
}

func hexSum(data string) string {
	sum := sha256.Sum256([]byte(data))
	return hex.EncodeToString(sum[:])
}
