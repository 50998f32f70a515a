package faults

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"tenths/internal/shop"
	"tenths/internal/shoplog"
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
