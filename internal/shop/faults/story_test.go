package faults

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/store/sqlite"
)

// storyChild makes a shop in a folder and uses it in all ways that write, tells
// of each entry as soon as it is acknowledged, and ends as a program should.
func storyChild(ctx context.Context, args []string) error {
	dir := args[0]
	s, st, err := makeShop(ctx, dir, tell)
	if err != nil {
		return err
	}
	end := func() error { s.Close(); return st.Close() }
	for day := range 2 {
		tag := fmt.Sprint("day ", day)
		if err := write(ctx, s, tag+" morning", 4, 25, tell); err != nil {
			return err
		}
		for _, order := range orders {
			if err := sealTold(ctx, s, order); err != nil {
				return err
			}
		}
		// Large books: they fill the journal, so that it is moved into the file
		// while others write.
		errs := make(chan error, 1)
		go func() { errs <- write(ctx, s, tag+" noon", 2, 40, tell) }()
		for i := range 25 {
			text := bookText + strings.Repeat(fmt.Sprintf("# %s, edition %d\n", tag, i), 4000)
			if _, err := s.Adopt(ctx, by, "book.yaml", []byte(text)); err != nil {
				return err
			}
			if err := shopTold(ctx, s); err != nil {
				return err
			}
		}
		if err := <-errs; err != nil {
			return err
		}
		who := shoplog.PersonAdded{Handle: fmt.Sprint("new-", day), Name: "N. Neu", Role: shoplog.Mechanic, Since: "2026-01-01"}
		if _, err := s.State(ctx, by, &who); err != nil {
			return err
		}
		if err := errors.Join(shopTold(ctx, s), s.SetPassword(ctx, by, who.Handle, password)); err != nil {
			return err
		}
		if _, err := s.List(ctx); err != nil {
			return err
		}
		if err := write(ctx, s, tag+" evening", 4, 25, tell); err != nil {
			return err
		}
		if err := end(); err != nil {
			return err
		}
		if s, end, err = openShop(ctx, dir); err != nil {
			return err
		}
	}
	return end()
}

// sealTold seals a job and tells of the echo in the shop's log, and of the seal
// of that beside the record.
func sealTold(ctx context.Context, s *shop.Shop, order string) error {
	if _, err := s.Seal(ctx, by, order); err != nil {
		return err
	}
	return errors.Join(shopTold(ctx, s), besideTold(ctx, s))
}

// beside is what is told of the seal of the shop's log, and of how many entries
// it is.
const beside = "beside"

func besideTold(ctx context.Context, s *shop.Shop) error {
	state, err := s.Record(ctx)
	if err != nil {
		return err
	}
	tell(beside, "shop", state.Size)
	return nil
}

// shopTold tells of the last entry of the shop's log.
func shopTold(ctx context.Context, s *shop.Shop) error {
	entries, err := s.ShopEntries(ctx)
	if err != nil {
		return err
	}
	last := &entries[len(entries)-1]
	tell("shop", last.ID, last.Seq)
	return nil
}

// movedLogs are the logs of commits that are moved: each commit but every ninth
// has entries of all of them, and that one of the first alone. So what waits is
// moved for its number, at every sixth commit, and because of the ninth.
const (
	movedLogs    = 6
	movedEntries = 30 // of each in a commit
	ninth        = 9
)

// moveChild commits to a store in a folder, tells of each commit, and ends as a
// program should.
func moveChild(ctx context.Context, args []string) error {
	st, err := sqlite.Create(ctx, filepath.Join(args[0], shop.Database))
	if err != nil {
		return err
	}
	err = move(ctx, st, 0, 60, func(n int) { tell("commit", "-", int64(n)) })
	return errors.Join(err, st.Close())
}

// ofCommit returns how many logs the nth commit has entries of.
func ofCommit(n int) int {
	if n%ninth == 0 {
		return 1
	}
	return movedLogs
}

// move makes the commits behind the first so many.
func move(ctx context.Context, st store.Store, from, to int, done func(n int)) error {
	for n := from + 1; n <= to; n++ {
		var all []store.Batch
		for i := range ofCommit(n) {
			b := store.Batch{Log: store.Log(fmt.Sprint("job/", i))}
			for before := 1; before < n; before++ {
				if i < ofCommit(before) {
					b.Size += movedEntries
				}
			}
			for e := range int64(movedEntries) {
				b.Entries = append(b.Entries, fmt.Append(nil, b.Size+e))
			}
			all = append(all, b)
		}
		if grown, err := st.Append(ctx, all); err != nil || grown != nil {
			return fmt.Errorf("commit %d: grown %v, %w", n, grown, err)
		}
		done(n)
	}
	return nil
}

// moved tells how many commits are in a store, each whole.
func moved(ctx context.Context, st *sqlite.Store) (commits int, err error) {
	if err := st.Check(ctx); err != nil {
		return 0, err
	}
	sizes, err := st.Logs(ctx)
	if err != nil {
		return 0, err
	}
	want := make([]int64, movedLogs)
	for sizes["job/0"] > want[0] {
		commits++
		for i := range ofCommit(commits) {
			want[i] += movedEntries
		}
	}
	for i := range want {
		l := store.Log(fmt.Sprint("job/", i))
		n := int64(0)
		for line, err := range st.Read(ctx, l, 0) {
			if err != nil || string(line) != fmt.Sprint(n) {
				return 0, fmt.Errorf("entry %d of %s is %q: %w", n+1, l, line, err)
			}
			n++
		}
		if n != want[i] || sizes[l] != n {
			return 0, fmt.Errorf("after %d commits %s has %d entries and by its size %d, want %d", commits, l, n, sizes[l], want[i])
		}
	}
	return commits, nil
}
