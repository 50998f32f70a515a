package shop

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/whole"
)

// Sealed is a seal and the signed note that it is written as.
type Sealed struct {
	ledger.Seal
	Note string
}

// Seal seals a job's log as it is, echoes the seal in the shop's log, and seals
// that. A log that was sealed as it is keeps its seal.
func (s *Shop) Seal(ctx context.Context, by Who, order string) (Sealed, error) {
	by.ID = ""
	for left := tries; ; left-- {
		state, err := s.Record(ctx)
		if err != nil {
			return Sealed{}, err
		}
		now, err := s.now(ctx, order)
		if err != nil {
			return Sealed{}, err
		}
		if last, ok := lastSeal(state.Jobs[order]); ok && last.Size == now.state.Size {
			return last, s.sealShop(ctx)
		}
		secret, err := s.key()
		if err != nil {
			return Sealed{}, err
		}
		sealed, err := s.seal(secret, state, now.state.Log, &now.tree)
		if err != nil {
			return Sealed{}, err
		}
		if err := s.putSeal(ctx, sealed); err != nil {
			return Sealed{}, err
		}
		echo := &shoplog.JobSealed{Job: state.Jobs[order].ID, Size: sealed.Size, Root: sealed.Root.String(), Seal: sealed.Note}
		_, err = s.State(ctx, by, echo)
		var r *record.Refusal
		if errors.As(err, &r) && r.Code == "sealed" && left > 0 {
			continue // somebody else sealed as much, or more, meanwhile
		}
		if err != nil {
			return sealed, err
		}
		return sealed, s.sealShop(ctx)
	}
}

func lastSeal(j shoplog.Job) (Sealed, bool) {
	n := len(j.Seals)
	if n == 0 {
		return Sealed{}, false
	}
	seal, err := ledger.ReadSeal(j.Seals[n-1].Seal)
	return Sealed{seal, j.Seals[n-1].Seal}, err == nil
}

// seal seals a log by its tree, where the secret is that of the shop's own key: by
// another one nobody could check it.
func (s *Shop) seal(secret string, shop *shoplog.State, log string, tree *ledger.Tree) (Sealed, error) {
	seal := ledger.Seal{Shop: shop.ID, Log: log, Size: tree.Size(), Root: tree.Root(), At: ledger.At(s.options.Now())}
	note, err := seal.Sign(secret)
	if err == nil {
		_, err = ledger.OpenSeal(note, shop.Key)
	}
	if err != nil {
		return Sealed{}, noKey(s.keyFile()+" is not the shop's key "+ledger.Fingerprint(shop.Key), err)
	}
	return Sealed{seal, note}, nil
}

// sealShop seals the shop's log, beside the record.
func (s *Shop) sealShop(ctx context.Context) error {
	if s.options.Dir == "" {
		return nil
	}
	if _, err := s.Record(ctx); err != nil {
		return err
	}
	now := s.shop.Load()
	secret, err := s.key()
	if err != nil {
		return err
	}
	sealed, err := s.seal(secret, now.state, shoplog.Log, &now.tree)
	if err != nil {
		return err
	}
	return s.putSeal(ctx, sealed)
}

// sealFile is where a log's last seal is kept, beside the record.
func (s *Shop) sealFile(log string) string {
	return filepath.Join(s.options.Dir, SealsDir, strings.ReplaceAll(log, "/", "-")+".seal")
}

// putSeal keeps a log's last seal beside the record, where the record can be
// held against it: whole or not at all, and never in place of one that is of
// more.
func (s *Shop) putSeal(ctx context.Context, sealed Sealed) error {
	if s.options.Dir == "" {
		return nil
	}
	path := s.sealFile(sealed.Log)
	if before, err := os.ReadFile(path); err == nil {
		if old, err := ledger.ReadSeal(string(before)); err == nil && old.Size > sealed.Size {
			size, err := s.store.Size(ctx, store.Log(sealed.Log))
			if err == nil && size < old.Size {
				err = store.Damaged("%s was sealed with %d entries and has %d", sealed.Log, old.Size, size)
			}
			return err // it was sealed once more meanwhile
		}
	}
	dir := filepath.Dir(path)
	err := os.Mkdir(dir, 0o777)
	if err == nil {
		err = whole.SyncDir(s.options.Dir)
	}
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("the seals beside the record: %w", err)
	}
	if err := whole.Write(path, []byte(sealed.Note)); err != nil {
		return fmt.Errorf("the seals beside the record: %w", err)
	}
	return nil
}

// checkSeals holds the record against its seals: those in the shop's log, and
// the last ones that are kept beside it. What was sealed must be there. Others
// may write meanwhile, so that what is looked at first must be the older.
func (s *Shop) checkSeals(ctx context.Context) error {
	beside, err := s.beside()
	if err != nil {
		return err
	}
	known, err := s.store.Logs(ctx)
	if err != nil {
		return err
	}
	state, err := s.Record(ctx)
	if err != nil {
		return err
	}
	sizes, err := s.store.Logs(ctx)
	if err != nil {
		return err
	}
	for log := range known {
		id, isJob := strings.CutPrefix(string(log), jobLog(""))
		if _, ok := state.Orders[id]; string(log) != shoplog.Log && (!isJob || !ok) {
			return store.Damaged("there is a log %s that the shop's log does not know", log)
		}
	}
	short := func(seal ledger.Seal, where string) error {
		if size := sizes[store.Log(seal.Log)]; size < seal.Size {
			return store.Damaged("%s is shorter than sealed: it has %d entries, and by its seal of %s (%s) it had %d", seal.Log, size, seal.At, where, seal.Size)
		}
		return nil
	}
	for _, order := range state.Jobs {
		if last, ok := lastSeal(order); ok {
			if err := short(last.Seal, "in the shop's log"); err != nil {
				return err
			}
		}
	}
	for path, note := range beside {
		seal, err := ledger.OpenSeal(note, state.Key)
		if state.ID == "" { // and no key to check it by: but there was a shop
			seal, err = ledger.ReadSeal(note)
		}
		if err != nil || state.ID != "" && seal.Shop != state.ID {
			return record.Refuse("seal", "if it does not belong there, move it away", "%s is not a seal of this shop", path)
		}
		if err := short(seal, path); err != nil {
			return err
		}
	}
	return nil
}

// beside returns the seals that are kept beside the record, by their files.
func (s *Shop) beside() (map[string]string, error) {
	if s.options.Dir == "" {
		return nil, nil
	}
	files, err := os.ReadDir(filepath.Join(s.options.Dir, SealsDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("the seals beside the record: %w", err)
	}
	notes := map[string]string{}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".seal") {
			continue
		}
		path := filepath.Join(s.options.Dir, SealsDir, f.Name())
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, fmt.Errorf("the seals beside the record: %w", err)
		}
		notes[path] = string(text)
	}
	return notes, nil
}

// kept returns the seal of the shop's log that is kept beside the record. Where
// it is not this shop's, that is for [Shop.checkSeals] to say.
func (s *Shop) kept(ctx context.Context) []Sealed {
	if s.options.Dir == "" {
		return nil
	}
	note, err := os.ReadFile(s.sealFile(shoplog.Log))
	if err != nil {
		return nil
	}
	for line, err := range s.store.Read(ctx, shoplog.Log, 0) {
		if err != nil {
			return nil
		}
		e, err := shoplog.Kinds.Read(line)
		made, ok := e.What.(*shoplog.ShopMade)
		if err != nil || !ok {
			return nil
		}
		seal, err := ledger.OpenSeal(string(note), made.Key)
		if err != nil || seal.Shop != made.ID || seal.Log != shoplog.Log {
			return nil
		}
		return []Sealed{{seal, string(note)}}
	}
	return nil
}
