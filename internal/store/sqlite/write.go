package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"tenths/internal/ledger"
	"tenths/internal/store"
)

// A writer is the one connection that writes, with what it says often.
type writer struct {
	conn                    *sql.Conn
	begin, commit, rollback *sql.Stmt
	version, size, entry    *sql.Stmt

	// The sizes of logs, as long as nobody else has written: of fifty logs that
	// one Append goes on with, asking would take longer than writing.
	sizes  map[int64]int64
	others int64 // changes with what others write
}

func newWriter(ctx context.Context, db *sql.DB) (w *writer, err error) {
	w = &writer{sizes: map[int64]int64{}}
	if w.conn, err = db.Conn(ctx); err != nil {
		return nil, err
	}
	for stmt, text := range w.statements() {
		if *stmt, err = w.conn.PrepareContext(ctx, text); err != nil {
			return nil, errors.Join(err, w.close())
		}
	}
	return w, nil
}

func (w *writer) statements() map[**sql.Stmt]string {
	return map[**sql.Stmt]string{
		&w.begin:    "BEGIN IMMEDIATE",
		&w.commit:   "COMMIT",
		&w.rollback: "ROLLBACK",
		&w.version:  "PRAGMA data_version",
		&w.size:     sizeOf,
		&w.entry:    "INSERT INTO entry (at, hash, line) VALUES (?, ?, ?)",
	}
}

// close closes the statements first: with one of them open, SQLite would keep
// the connection.
func (w *writer) close() error {
	var errs []error
	for stmt := range w.statements() {
		if *stmt != nil {
			errs = append(errs, (*stmt).Close())
		}
	}
	return errors.Join(append(errs, w.conn.Close())...)
}

// writing runs do in a transaction and commits it; after an error nothing of it
// is kept. Once do runs, it is carried through even where ctx ends.
func (s *Store) writing(ctx context.Context, do func(ctx context.Context, w *writer) error) (err error) {
	if err := ctx.Err(); err != nil {
		return err
	}
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
		return ctx.Err()
	}
	w, on := s.writer, context.WithoutCancel(ctx)
	defer func() {
		if err != nil {
			clear(w.sizes)
			_, _ = w.rollback.ExecContext(on) // may have been done by SQLite already
		}
	}()
	if _, err := w.begin.ExecContext(on); err != nil {
		return told(err)
	}
	if err := do(on, w); err != nil {
		return told(err)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	_, err = w.commit.ExecContext(on)
	return unsure(err)
}

// Append is described at [store.Store].
func (s *Store) Append(ctx context.Context, batches []store.Batch) (grown []store.Log, err error) {
	err = s.writing(ctx, func(ctx context.Context, w *writer) error {
		if err := w.hear(ctx); err != nil {
			return err
		}
		a := appending{s: s, w: w, begun: map[store.Log]int64{}, logs: -1}
		for _, b := range batches {
			if len(b.Entries) > 0 {
				continue
			}
			if _, size, err := a.size(ctx, b.Log); err != nil {
				return err
			} else if size != b.Size {
				grown = append(grown, b.Log)
			}
		}
		if grown != nil {
			return nil
		}
		for _, b := range batches {
			if len(b.Entries) == 0 {
				continue
			}
			ok, err := a.add(ctx, b)
			if err != nil {
				return err
			}
			if !ok {
				grown = append(grown, b.Log)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return grown, nil
}

// An appending is one Append while it runs.
type appending struct {
	s     *Store
	w     *writer
	begun map[store.Log]int64 // the logs that begin here
	logs  int64               // how many there were before; −1 while that is not asked
}

// find finds the id of a log; 0 where there is no such log.
func (a *appending) find(ctx context.Context, l store.Log) (id int64, err error) {
	if id, ok := a.s.lookup(l); ok {
		return id, nil
	}
	// Asked once, and before any log begins here: what is learnt is committed.
	if a.logs < 0 {
		if a.logs, err = a.s.learn(ctx, a.w.conn); err != nil {
			return 0, err
		}
		if id, ok := a.s.lookup(l); ok {
			return id, nil
		}
	}
	return a.begun[l], nil
}

// size finds the id and the size of a log; 0 and 0 where there is no such log.
func (a *appending) size(ctx context.Context, l store.Log) (id, size int64, err error) {
	if id, err = a.find(ctx, l); err != nil {
		return 0, 0, err
	}
	size, err = a.w.sizeOf(ctx, id)
	return id, size, err
}

// add appends a batch; false where its log is not of its size.
func (a *appending) add(ctx context.Context, b store.Batch) (ok bool, err error) {
	id, size, err := a.size(ctx, b.Log)
	if err != nil {
		return false, err
	}
	if size != b.Size {
		return false, nil
	}
	if size+int64(len(b.Entries)) > most {
		return false, fmt.Errorf("the log %s would have more than %d entries", b.Log, most)
	}
	if id == 0 {
		id = a.logs + int64(len(a.begun)) + 1
		if id > most {
			return false, fmt.Errorf("the record would have more than %d logs", most)
		}
		row := logRow{id: id, name: []byte(b.Log)}
		if _, err := a.w.conn.ExecContext(ctx, "INSERT INTO log (id, name, sum) VALUES (?, ?, ?)", id, b.Log, row.guard()); err != nil {
			return false, err
		}
		a.begun[b.Log] = id
	}
	a.w.sizes[id] = size + int64(len(b.Entries))
	for i, line := range b.Entries {
		hash := ledger.HashLine(line)
		if _, err := a.w.entry.ExecContext(ctx, at(id, size+int64(i)+1), hash[:], line); err != nil {
			return false, err
		}
	}
	return true, nil
}

// hear forgets the sizes of logs if others have written.
func (w *writer) hear(ctx context.Context) error {
	var others int64
	if err := w.version.QueryRowContext(ctx).Scan(&others); err != nil {
		return err
	}
	if others != w.others {
		clear(w.sizes)
		w.others = others
	}
	return nil
}

// sizeOf tells the size of a log; 0 where it has not begun.
func (w *writer) sizeOf(ctx context.Context, id int64) (size int64, err error) {
	if size, ok := w.sizes[id]; ok || id == 0 {
		return size, nil
	}
	if size, err = sizeBy(ctx, w.size, id); err == nil {
		w.sizes[id] = size
	}
	return size, err
}
