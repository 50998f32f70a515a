package shop

import (
	"cmp"
	"context"
	"errors"
	"io"
	"slices"

	"tenths/internal/export"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// Exported is what was exported of a job.
type Exported struct {
	Sealed         // its last seal; of size 0 where it has none
	Entries  int64 // of the job's log
	Unsealed error // why those behind the seal are not sealed; nil: they are
}

// Export writes the record of a job: its entries, those of the shop's log, the
// editions that it was judged by, all its seals and the shop's key. A log that
// grew since its last seal is sealed first. Where the shop's key is lost it is
// not, and the seals that there are go with it: they prove as much as before.
func (s *Shop) Export(ctx context.Context, by Who, order string, to io.Writer) (Exported, error) {
	var out Exported
	sealed, err := s.Seal(ctx, by, order)
	var refused *record.Refusal
	if errors.As(err, &refused) && refused.Code == "key" {
		out.Unsealed, err = err, nil
	}
	if err != nil {
		return out, err
	}
	first, err := s.Job(ctx, order)
	if err != nil {
		return out, err
	}
	if _, err := s.Record(ctx); err != nil {
		return out, err
	}
	now := s.shop.Load()
	state := now.state
	if last, ok := lastSeal(state.Jobs[order]); ok && last.Size > sealed.Size {
		sealed = last // somebody else sealed it once more meanwhile, or it is the last that there is
	}
	out.Sealed, out.Entries = sealed, sealed.Size
	if out.Unsealed != nil {
		out.Entries = max(sealed.Size, first.Size) // all of them known before the shop's log was
	}
	j, err := s.Job(ctx, order) // it has all that is sealed
	if err != nil {
		return out, err
	}
	r := &export.Record{Key: state.Key, Blobs: map[string][]byte{}}
	for _, echo := range state.Jobs[order].Seals {
		r.Seals = append(r.Seals, echo.Seal)
	}
	if out.Unsealed == nil {
		secret, err := s.key()
		if err != nil {
			return out, err
		}
		own, err := s.seal(secret, state, shoplog.Log, &now.tree)
		if err != nil {
			return out, err
		}
		r.Seals = append(r.Seals, own.Note)
	} else {
		for _, kept := range s.kept(ctx) {
			r.Seals = append(r.Seals, kept.Note)
		}
	}
	editions := []string{j.About.Edition}
	for i := range j.Editions {
		if !slices.Contains(editions, j.Editions[i].Edition) {
			editions = append(editions, j.Editions[i].Edition)
		}
	}
	for _, e := range editions {
		if r.Blobs[e], err = s.store.Blob(ctx, e); err != nil {
			return out, err
		}
	}
	if r.Shop, err = s.raw(ctx, shoplog.Log, now.tree.Size()); err != nil {
		return out, err
	}
	if r.Job, err = s.raw(ctx, j.Log, out.Entries); err != nil {
		return out, err
	}
	return out, export.Write(to, r, editions)
}

// raw returns the first size lines of a log as they were written.
func (s *Shop) raw(ctx context.Context, log string, size int64) ([]export.Line, error) {
	all := make([]export.Line, 0, size)
	for line, err := range s.store.Read(ctx, store.Log(log), 0) {
		if err != nil {
			return nil, err
		}
		if all = append(all, export.Line{Text: line, Hash: ledger.HashLine(line)}); int64(len(all)) == size {
			break
		}
	}
	return all, nil
}

// Check reads the whole record and holds it against everything that it can be
// held against: every entry is as entries are written and in its place, every
// kind is known, the roots are what was sealed, and the seals are the shop's.
func (s *Shop) Check(ctx context.Context) (entries int64, err error) {
	if err := s.checkSeals(ctx); err != nil {
		return 0, err
	}
	beside, err := s.beside()
	if err != nil {
		return 0, err
	}
	sizes, err := s.store.Logs(ctx)
	if err != nil {
		return 0, err
	}
	state, err := s.Record(ctx)
	if err != nil {
		return 0, err
	}
	for log := range sizes {
		chain := ledger.Chain{Log: string(log)}
		seals := sealsOf(state, string(log))
		for _, seal := range seals {
			signed, err := ledger.OpenSeal(seal.Note, state.Key)
			if err != nil || signed != seal.Seal {
				return entries, store.Damaged("the seal of %s with %d entries, in the shop's log, is not as it was signed", log, seal.Size)
			}
		}
		for _, note := range beside {
			if seal, err := ledger.OpenSeal(note, state.Key); err == nil && seal.Log == string(log) {
				seals = append(seals, Sealed{seal, note})
			}
		}
		slices.SortStableFunc(seals, func(a, b Sealed) int { return cmp.Compare(a.Size, b.Size) })
		for line, err := range s.store.Read(ctx, log, 0) {
			if err != nil {
				return entries, err
			}
			at := chain.Tree.Size() + 1
			e, err := chain.Add(line)
			if err == nil && log == shoplog.Log {
				_, err = shoplog.Kinds.Check(e)
			} else if err == nil {
				_, err = job.Kinds.Check(e)
			}
			if err != nil {
				return entries, store.Damaged("entry %d of %s: %v", at, log, err)
			}
			entries++
			if seals, err = hold(seals, &chain.Tree); err != nil {
				return entries, err
			}
		}
	}
	return entries, nil
}

// hold holds the root of a log that grows against its seals of that size, and
// returns those that are of more.
func hold(seals []Sealed, tree *ledger.Tree) ([]Sealed, error) {
	for len(seals) > 0 && seals[0].Size <= tree.Size() {
		if seals[0].Size == tree.Size() && tree.Root() != seals[0].Root {
			return nil, store.Damaged("%s was changed before its seal of %s with %d entries", seals[0].Log, seals[0].At, seals[0].Size)
		}
		seals = seals[1:]
	}
	return seals, nil
}
