package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"

	"modernc.org/sqlite"

	"tenths/internal/ledger"
	"tenths/internal/store"
)

// A writer is the one connection that writes. What it says for every entry it
// says to the driver itself: between it and the driver, database/sql took as long
// as all that is decided on an entry.
type writer struct {
	conn *sql.Conn
	size *sql.Stmt

	begin, commit, rollback driver.StmtExecContext
	entry, late             driver.StmtExecContext // into entry, into recent
	move, empty             driver.StmtExecContext // from recent into entry
	count                   *sql.Stmt

	// The sizes of logs, as long as nobody else has written: of fifty logs that
	// one Append goes on with, asking would take longer than writing.
	sizes   map[int64]int64
	waiting int64  // rows of recent; −1: not asked yet
	version uint32 // of what is in the file, as SQLite counts
}

func newWriter(ctx context.Context, db *sql.DB) (w *writer, err error) {
	w = &writer{sizes: map[int64]int64{}, waiting: -1}
	if w.conn, err = db.Conn(ctx); err != nil {
		return nil, err
	}
	if w.size, err = w.conn.PrepareContext(ctx, sizeOf); err == nil {
		w.count, err = w.conn.PrepareContext(ctx, "SELECT (SELECT count(*) FROM recent NOT INDEXED), (SELECT count(*) FROM recent INDEXED BY sqlite_autoindex_recent_1 WHERE at IS NOT NULL)")
	}
	if err == nil {
		err = w.conn.Raw(w.prepare)
	}
	if err != nil {
		return nil, errors.Join(err, w.close())
	}
	return w, nil
}

func (w *writer) statements() map[*driver.StmtExecContext]string {
	return map[*driver.StmtExecContext]string{
		&w.begin:    "BEGIN IMMEDIATE",
		&w.commit:   "COMMIT",
		&w.rollback: "ROLLBACK",
		&w.entry:    "INSERT INTO entry (at, hash, line) VALUES (?, ?, ?)",
		&w.late:     "INSERT INTO recent (at, hash, line) VALUES (?, ?, ?)",
		&w.move: `INSERT INTO entry SELECT r.at, r.hash, r.line FROM recent AS i INDEXED BY sqlite_autoindex_recent_1
			CROSS JOIN recent AS r NOT INDEXED ON r.n = i.n WHERE r.at = i.at ORDER BY i.at`,
		&w.empty: "DELETE FROM recent",
	}
}

func (w *writer) prepare(conn any) error {
	for stmt, text := range w.statements() {
		made, err := conn.(driver.Conn).Prepare(text)
		if err != nil {
			return err
		}
		*stmt = made.(driver.StmtExecContext)
	}
	return nil
}

// exec runs a statement of the driver's.
func (w *writer) exec(ctx context.Context, stmt driver.StmtExecContext, args ...driver.NamedValue) error {
	return w.conn.Raw(func(any) error {
		_, err := stmt.ExecContext(ctx, args)
		return err
	})
}

// execAll is exec of a statement that must say how many rows it made.
func (w *writer) execAll(ctx context.Context, stmt driver.StmtExecContext) (rows int64, err error) {
	err = w.conn.Raw(func(any) error {
		done, err := stmt.ExecContext(ctx, nil)
		if err == nil {
			rows, err = done.RowsAffected()
		}
		return err
	})
	return rows, err
}

// close closes the statements first: with one of them open, SQLite would keep
// the connection.
func (w *writer) close() error {
	var errs []error
	for stmt := range w.statements() {
		if *stmt != nil {
			errs = append(errs, (*stmt).(driver.Stmt).Close())
		}
	}
	for _, stmt := range []*sql.Stmt{w.size, w.count} {
		if stmt != nil {
			errs = append(errs, stmt.Close())
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
			w.forget()
			_ = w.exec(on, w.rollback) // may have been done by SQLite already
		}
	}()
	if err := w.exec(on, w.begin); err != nil {
		return told(err)
	}
	w.hear()
	if err := do(on, w); err != nil {
		return told(err)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := w.exec(on, w.commit); err != nil {
		return unsure(err)
	}
	w.version = w.now()
	return nil
}

// Append is described at [store.Store].
func (s *Store) Append(ctx context.Context, batches []store.Batch) (grown []store.Log, err error) {
	err = s.writing(ctx, func(ctx context.Context, w *writer) error {
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
		if a.insert, err = w.into(ctx, batches); err != nil {
			return err
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

	insert driver.StmtExecContext // into entry or into recent
}

// many is from how many logs on their entries are put into recent.
const many = 4

// mostRecent is how many entries may wait in recent: so many of fifty jobs fill
// a few pages of each, and are moved within milliseconds.
const mostRecent = 1000

// into tells where entries of these batches go. Those of few logs go to where
// they stay, behind what waits in recent of the same logs, and so do those for
// which it has no room: what waits is moved then, which opens the same pages, and
// nothing is written twice in one commit.
func (w *writer) into(ctx context.Context, batches []store.Batch) (driver.StmtExecContext, error) {
	logs, entries := 0, int64(0)
	for _, b := range batches {
		if len(b.Entries) > 0 {
			logs++
			entries += int64(len(b.Entries))
		}
	}
	if w.waiting < 0 {
		var indexed int64
		if err := w.count.QueryRowContext(ctx).Scan(&w.waiting, &indexed); err != nil {
			return nil, err
		}
		if indexed != w.waiting {
			return nil, store.Damaged("%d entries wait to be moved to where they stay, and %d are found", w.waiting, indexed)
		}
	}
	if logs >= many && w.waiting+entries <= mostRecent {
		return w.late, nil
	}
	if w.waiting > 0 {
		return w.entry, w.settle(ctx)
	}
	return w.entry, nil
}

// settle moves all that waits in recent to where it stays; of what is damaged
// nothing, since then it would be found in a wrong place for good.
func (w *writer) settle(ctx context.Context) error {
	waited := w.waiting
	w.waiting = 0
	moved, err := w.execAll(ctx, w.move)
	if err != nil {
		return err
	}
	if moved != waited {
		return store.Damaged("%d entries wait to be moved to where they stay, and %d are found where they wait", waited, moved)
	}
	return w.exec(ctx, w.empty)
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
	if a.insert == a.w.late {
		a.w.waiting += int64(len(b.Entries))
	}
	for i, line := range b.Entries {
		hash := ledger.HashLine(line)
		err := a.w.exec(ctx, a.insert,
			driver.NamedValue{Ordinal: 1, Value: at(id, size+int64(i)+1)}, driver.NamedValue{Ordinal: 2, Value: hash[:]}, driver.NamedValue{Ordinal: 3, Value: line})
		if err != nil {
			return false, err
		}
	}
	return true, nil
}

// hear forgets the sizes of logs if others have written since the last commit.
func (w *writer) hear() {
	if now := w.now(); now != w.version || now == 0 {
		w.forget()
		w.version = now
	}
}

func (w *writer) forget() {
	clear(w.sizes)
	w.waiting = -1
}

// now is the version of what the connection sees in the file: after BEGIN it is
// as of then. 0 where SQLite does not say.
func (w *writer) now() (version uint32) {
	err := w.conn.Raw(func(conn any) (err error) {
		version, err = conn.(sqlite.FileControl).FileControlDataVersion("main")
		return err
	})
	if err != nil {
		return 0
	}
	return version
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
