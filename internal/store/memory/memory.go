// Package memory keeps a shop's record in memory, as long as the program runs:
// for tests, and for trying something out.
package memory

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"iter"
	"sync"

	"tenths/internal/store"
)

// New returns an empty store.
func New() store.Store {
	return &memory{
		logs:    map[store.Log][][]byte{},
		blobs:   map[string][]byte{},
		derived: map[store.Log]derived{},
		secrets: map[string]string{},
	}
}

type memory struct {
	mu      sync.RWMutex
	logs    map[store.Log][][]byte
	blobs   map[string][]byte
	derived map[store.Log]derived
	secrets map[string]string
}

type derived struct {
	code string
	store.Derived
}

func (m *memory) Append(ctx context.Context, batches []store.Batch) (grown []store.Log, err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, b := range batches {
		if len(b.Entries) == 0 && int64(len(m.logs[b.Log])) != b.Size {
			grown = append(grown, b.Log)
		}
	}
	if grown != nil {
		return grown, nil
	}
	for _, b := range batches {
		if len(b.Entries) > 0 && int64(len(m.logs[b.Log])) != b.Size {
			grown = append(grown, b.Log)
			continue
		}
		for _, line := range b.Entries {
			m.logs[b.Log] = append(m.logs[b.Log], bytes.Clone(line))
		}
	}
	return grown, nil
}

func (m *memory) Read(ctx context.Context, l store.Log, from int64) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		// What stands is never written again, so the lines of this moment are
		// these, however many follow.
		m.mu.RLock()
		lines := m.logs[l]
		m.mu.RUnlock()
		for i := from; i < int64(len(lines)); i++ {
			if err := ctx.Err(); err != nil {
				yield(nil, err)
				return
			}
			if !yield(bytes.Clone(lines[i]), nil) {
				return
			}
		}
	}
}

func (m *memory) Size(ctx context.Context, l store.Log) (int64, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return int64(len(m.logs[l])), ctx.Err()
}

func (m *memory) Logs(ctx context.Context) (map[store.Log]int64, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	sizes := map[store.Log]int64{}
	for l, lines := range m.logs {
		sizes[l] = int64(len(lines))
	}
	return sizes, ctx.Err()
}

func (m *memory) PutBlob(ctx context.Context, data []byte) (string, error) {
	if err := ctx.Err(); err != nil {
		return "", err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	sum := sha256.Sum256(data)
	name := hex.EncodeToString(sum[:])
	m.blobs[name] = bytes.Clone(data)
	return name, nil
}

func (m *memory) Blob(ctx context.Context, sha256 string) ([]byte, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	data, ok := m.blobs[sha256]
	if !ok {
		return nil, store.ErrNotFound
	}
	return bytes.Clone(data), ctx.Err()
}

func (m *memory) PutDerived(ctx context.Context, code string, rows []store.Derived) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, row := range rows {
		row.Bytes = bytes.Clone(row.Bytes)
		m.derived[row.Log] = derived{code, row}
	}
	return nil
}

func (m *memory) Derived(ctx context.Context, code string) (rows []store.Derived, err error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	for _, row := range m.derived {
		if row.code == code {
			row.Bytes = bytes.Clone(row.Bytes)
			rows = append(rows, row.Derived)
		}
	}
	return rows, ctx.Err()
}

func (m *memory) DropDerived(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	clear(m.derived)
	return nil
}

func (m *memory) PutSecret(ctx context.Context, name, secret string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.secrets[name] = secret
	return nil
}

func (m *memory) Secret(ctx context.Context, name string) (string, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	secret, ok := m.secrets[name]
	if !ok {
		return "", store.ErrNotFound
	}
	return secret, ctx.Err()
}

func (m *memory) Close() error { return nil }
