package sqlite

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"strconv"

	"tenths/internal/store"
)

// PutBlob is described at [store.Store].
func (s *Store) PutBlob(ctx context.Context, data []byte) (string, error) {
	hash := sha256.Sum256(data)
	name := hex.EncodeToString(hash[:])
	if _, err := s.Blob(ctx, name); !errors.Is(err, store.ErrNotFound) {
		return name, err
	}
	err := s.writing(ctx, func(ctx context.Context, w *writer) error {
		// The driver takes an empty slice for NULL.
		_, err := w.conn.ExecContext(ctx, "INSERT INTO blob (sha256, bytes) VALUES (?, ifnull(?, x'')) ON CONFLICT DO NOTHING", hash[:], data)
		return err
	})
	return name, err
}

// Blob is described at [store.Store].
func (s *Store) Blob(ctx context.Context, name string) ([]byte, error) {
	want, err := hex.DecodeString(name)
	if err != nil {
		return nil, store.ErrNotFound
	}
	var data []byte
	err = s.read.QueryRowContext(ctx, "SELECT bytes FROM blob WHERE sha256 = ?", want).Scan(&data)
	switch hash := sha256.Sum256(data); {
	case errors.Is(err, sql.ErrNoRows):
		return nil, store.ErrNotFound
	case err != nil:
		return nil, told(err)
	case !bytes.Equal(hash[:], want):
		return nil, store.Damaged("the blob %s is not what was written", name)
	}
	return data, nil
}

func derivedSum(code string, d store.Derived) []byte {
	return sum("derived", string(d.Log), code, strconv.FormatInt(d.Size, 10), string(d.Bytes))
}

// PutDerived is described at [store.Store].
func (s *Store) PutDerived(ctx context.Context, code string, rows []store.Derived) error {
	return s.writing(ctx, func(ctx context.Context, w *writer) error {
		for _, d := range rows {
			if _, err := w.conn.ExecContext(ctx, "REPLACE INTO derived (log, code, size, bytes, sum) VALUES (?, ?, ?, ifnull(?, x''), ?)",
				d.Log, code, d.Size, d.Bytes, derivedSum(code, d)); err != nil {
				return err
			}
		}
		return nil
	})
}

// Derived is described at [store.Store].
func (s *Store) Derived(ctx context.Context, code string) (all []store.Derived, err error) {
	rows, err := s.read.QueryContext(ctx, "SELECT log, size, bytes, sum FROM derived WHERE code = ?", code)
	if err != nil {
		return nil, told(err)
	}
	defer rows.Close()
	for rows.Next() {
		var l, size, data, guard []byte // whatever stands there
		if err := rows.Scan(&l, &size, &data, &guard); err != nil {
			return nil, told(err)
		}
		n, _ := strconv.ParseInt(string(size), 10, 64)
		d := store.Derived{Log: store.Log(l), Size: n, Bytes: data}
		if bytes.Equal(guard, derivedSum(code, d)) {
			all = append(all, d)
		}
	}
	return all, told(rows.Err())
}

// DropDerived is described at [store.Store].
func (s *Store) DropDerived(ctx context.Context) error {
	return s.writing(ctx, func(ctx context.Context, w *writer) error {
		_, err := w.conn.ExecContext(ctx, "DELETE FROM derived")
		return err
	})
}

// PutSecret is described at [store.Store].
func (s *Store) PutSecret(ctx context.Context, name, secret string) error {
	return s.writing(ctx, func(ctx context.Context, w *writer) error {
		_, err := w.conn.ExecContext(ctx, "REPLACE INTO secret (name, value, sum) VALUES (?, ?, ?)", name, secret, sum("secret", name, secret))
		return err
	})
}

// Secret is described at [store.Store].
func (s *Store) Secret(ctx context.Context, name string) (string, error) {
	all, damage, err := s.secrets(ctx)
	if err != nil {
		return "", err
	}
	secret, ok := all[name]
	switch {
	case ok:
		return secret, nil
	case damage != nil: // it may be the one that is asked for
		return "", damage
	}
	return "", store.ErrNotFound
}

// secrets reads them all, of which there are as many as people, and tells what
// is damaged among them.
func (s *Store) secrets(ctx context.Context) (all map[string]string, damage, err error) {
	rows, err := s.read.QueryContext(ctx, "SELECT name, value, sum FROM secret NOT INDEXED")
	if err != nil {
		return nil, nil, told(err)
	}
	defer rows.Close()
	all = map[string]string{}
	for rows.Next() {
		var name, value, guard []byte // whatever stands there
		if err := rows.Scan(&name, &value, &guard); err != nil {
			return nil, nil, told(err)
		}
		if !bytes.Equal(guard, sum("secret", string(name), string(value))) {
			damage = store.Damaged("the secret of %q is not what was written", name)
			continue
		}
		all[string(name)] = string(value)
	}
	return all, damage, told(rows.Err())
}
