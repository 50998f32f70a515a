package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"iter"
	"strconv"

	"tenths/internal/ledger"
	"tenths/internal/store"
)

// most is how many logs there may be, and how many entries in each: where an
// entry stands is made of both.
const most = 1<<31 - 1

// at is where an entry of a log stands.
func at(id, seq int64) int64 { return id<<32 | seq }

// sizeOf finds the last entry of a log.
const sizeOf = `SELECT coalesce(
	(SELECT at FROM recent WHERE at > ?1 AND at < ?2 ORDER BY at DESC LIMIT 1),
	(SELECT at FROM entry WHERE at > ?1 AND at < ?2 ORDER BY at DESC LIMIT 1), ?1)`

func sizeBy(ctx context.Context, stmt *sql.Stmt, id int64) (size int64, err error) {
	err = stmt.QueryRowContext(ctx, at(id, 0), at(id+1, 0)).Scan(&size)
	return size - at(id, 0), told(err)
}

// entries and recent read the entries of a span, in their order. Where those
// stand that wait is said twice, by their row and by the index, and only where
// both say the same is it so: the hash is of the line alone, and a row that is
// found at another's place would pass.
const (
	entries = "SELECT at, hash, line FROM entry WHERE at > ? AND at <= ? ORDER BY at"
	recent  = `SELECT i.at, r.hash, r.line, r.at FROM recent AS i INDEXED BY sqlite_autoindex_recent_1
		CROSS JOIN recent AS r NOT INDEXED ON r.n = i.n WHERE i.at > ? AND i.at <= ? ORDER BY i.at`
)

// lookup finds the id of a log among those that are known.
func (s *Store) lookup(l store.Log) (id int64, ok bool) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	id, ok = s.ids[l]
	return id, ok
}

// A logRow is scanned as bytes, which whatever stands there can be.
type logRow struct {
	id        int64
	name, sum []byte
}

// check tells whether a row is the one that was written as that number.
func (s *Store) check(row logRow, number int) error {
	if row.id != int64(number) || !bytes.Equal(row.sum, row.guard()) {
		return store.Damaged("the name of log number %d is not what was written", number)
	}
	return nil
}

func (row logRow) guard() []byte {
	return sum("log", strconv.FormatInt(row.id, 10), string(row.name))
}

type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// learn reads the logs that began since it last did, and returns how many there
// are. They are committed, and stay for good.
func (s *Store) learn(ctx context.Context, q querier) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	rows, err := q.QueryContext(ctx, "SELECT id, name, sum FROM log WHERE id > ? ORDER BY id", len(s.ids))
	if err != nil {
		return 0, told(err)
	}
	defer rows.Close()
	for rows.Next() {
		var row logRow
		if err := rows.Scan(&row.id, &row.name, &row.sum); err != nil {
			return 0, told(err)
		}
		if err := s.check(row, len(s.ids)+1); err != nil {
			return 0, err
		}
		s.ids[store.Log(row.name)] = row.id
	}
	return int64(len(s.ids)), told(rows.Err())
}

// id finds a log; one that is not known may have begun since.
func (s *Store) id(ctx context.Context, l store.Log) (id int64, ok bool, err error) {
	if id, ok = s.lookup(l); !ok {
		if _, err := s.learn(ctx, s.read); err != nil {
			return 0, false, err
		}
		id, ok = s.lookup(l)
	}
	return id, ok, nil
}

// Read is described at [store.Store]. Until its loop ends, what others record
// stays in the -wal, and makes it longer.
func (s *Store) Read(ctx context.Context, l store.Log, from int64) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		if err := s.readLines(ctx, l, from, yield); err != nil {
			yield(nil, err)
		}
	}
}

func (s *Store) readLines(ctx context.Context, l store.Log, from int64, yield func([]byte, error) bool) error {
	id, ok, err := s.id(ctx, l)
	if err != nil || !ok {
		return err
	}
	tx, err := s.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return told(err)
	}
	defer tx.Rollback()
	// What is damaged can lead past some of the entries, and then the size, which
	// is found from the other end, is another.
	size, err := sizeBy(ctx, tx.StmtContext(ctx, s.size), id)
	if err != nil {
		return err
	}
	seq := from
	for _, stmt := range []*sql.Stmt{s.entries, s.recent} {
		stopped, err := span(ctx, tx.StmtContext(ctx, stmt), stmt == s.recent, l, id, from, &seq, yield)
		if err != nil || stopped {
			return err
		}
	}
	if seq != max(size, from) {
		return store.Damaged("the log %s has %d entries by their number and %d by their place", l, seq, size)
	}
	return nil
}

// span yields the entries behind the first seq that a statement finds, and
// counts them. It looks from the first of them that was asked for on: what stands
// in both tables would be passed over else. twice: it also says where it stands
// by its own row.
func span(ctx context.Context, stmt *sql.Stmt, twice bool, l store.Log, id, from int64, seq *int64, yield func([]byte, error) bool) (stopped bool, err error) {
	rows, err := stmt.QueryContext(ctx, at(id, from), at(id+1, 0))
	if err != nil {
		return false, told(err)
	}
	defer rows.Close()
	var place int64
	var hash, line, own sql.RawBytes
	into := []any{&place, &hash, &line, &own}
	if !twice {
		into = into[:3]
	}
	var digits [20]byte
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return false, told(err)
		}
		if len(into) > 3 && !bytes.Equal(own, strconv.AppendInt(digits[:0], place, 10)) {
			return false, store.Damaged("where entry %d of the log %s should be is another", place-at(id, 0), l)
		}
		if place <= at(id, *seq) {
			return false, store.Damaged("entry %d of the log %s is there twice", place-at(id, 0), l)
		}
		*seq++
		if place != at(id, *seq) {
			return false, store.Damaged("entry %d of the log %s is missing", *seq, l)
		}
		if h := ledger.HashLine(line); !bytes.Equal(h[:], hash) {
			return false, store.Damaged("entry %d of the log %s is not what was written", *seq, l)
		}
		if err := ctx.Err(); err != nil {
			return false, err
		}
		if !yield(bytes.Clone(line), nil) {
			return true, nil
		}
	}
	return false, told(rows.Err())
}

// Size is described at [store.Store].
func (s *Store) Size(ctx context.Context, l store.Log) (int64, error) {
	id, ok, err := s.id(ctx, l)
	if err != nil || !ok {
		return 0, err
	}
	return sizeBy(ctx, s.size, id)
}

// Logs is described at [store.Store]. It also looks whether there are logs
// without an entry, or entries without a log: neither is ever written.
func (s *Store) Logs(ctx context.Context) (map[store.Log]int64, error) {
	tx, err := s.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, told(err)
	}
	defer tx.Rollback()
	rows, err := tx.QueryContext(ctx, `
		SELECT id, name, sum, coalesce(
			(SELECT at FROM recent WHERE at > id<<32 AND at < (id+1)<<32 ORDER BY at DESC LIMIT 1),
			(SELECT at FROM entry WHERE at > id<<32 AND at < (id+1)<<32 ORDER BY at DESC LIMIT 1),
			id<<32) FROM log ORDER BY id`)
	if err != nil {
		return nil, told(err)
	}
	defer rows.Close()
	sizes := map[store.Log]int64{}
	for rows.Next() {
		var row logRow
		var last int64
		if err := rows.Scan(&row.id, &row.name, &row.sum, &last); err != nil {
			return nil, told(err)
		}
		if err := s.check(row, len(sizes)+1); err != nil {
			return nil, err
		}
		if last == at(row.id, 0) {
			return nil, store.Damaged("the log %s has lost its entries", row.name)
		}
		sizes[store.Log(row.name)] = last - at(row.id, 0)
	}
	if err := rows.Err(); err != nil {
		return nil, told(err)
	}
	var first, last int64
	if err := tx.QueryRowContext(ctx, `
		SELECT min(coalesce((SELECT at FROM entry ORDER BY at LIMIT 1), 1<<32), coalesce((SELECT at FROM recent ORDER BY at LIMIT 1), 1<<32)),
		       max(coalesce((SELECT at FROM entry ORDER BY at DESC LIMIT 1), 0), coalesce((SELECT at FROM recent ORDER BY at DESC LIMIT 1), 0))`).Scan(&first, &last); err != nil {
		return nil, told(err)
	}
	if first < at(1, 0) || last > at(int64(len(sizes))+1, 0) {
		return nil, store.Damaged("there are entries of a log that has no name")
	}
	return sizes, nil
}
