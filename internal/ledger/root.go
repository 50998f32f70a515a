package ledger

import (
	"encoding/base64"
	"errors"
	"fmt"
	"math/bits"

	"golang.org/x/mod/sumdb/tlog"
)

// A Hash is a SHA-256 hash of a line or of a log. Its text is base64, as in
// seals.
type Hash = tlog.Hash

// HashLine returns the hash of one entry's line: SHA-256 of a nought byte and
// the line. Source: RFC 6962, 2.1.
func HashLine(line []byte) Hash { return tlog.RecordHash(line) }

// ParseHash reads a hash's text.
func ParseHash(text string) (h Hash, err error) {
	b, err := base64.StdEncoding.Strict().DecodeString(text)
	if err != nil || len(b) != len(h) || len(text) != base64.StdEncoding.EncodedLen(len(h)) { // it passes over carriage returns
		return h, errors.New("not a hash: 32 bytes in base64")
	}
	return Hash(b), nil
}

// A Tree is what is kept of a log to know its root and to go on: its size, and
// the roots of the full trees it is made of, largest first, one for each bit of
// the size. The zero Tree is the empty log's. Source: RFC 6962, 2.1.
type Tree struct {
	size  int64
	peaks []Hash
}

// Size returns how many lines the tree has.
func (t *Tree) Size() int64 { return t.size }

// Add appends a line by its hash.
func (t *Tree) Add(line Hash) {
	// Two full trees of one size become one: as often as the size ends in ones.
	for range bits.TrailingZeros64(^uint64(t.size)) {
		last := len(t.peaks) - 1
		line = tlog.NodeHash(t.peaks[last], line)
		t.peaks = t.peaks[:last]
	}
	t.peaks = append(t.peaks, line)
	t.size++
}

// Root returns the root of the log: of the empty one, SHA-256 of nothing.
func (t *Tree) Root() Hash {
	if t.size == 0 {
		h, _ := tlog.TreeHash(0, nil)
		return h
	}
	root := t.peaks[len(t.peaks)-1]
	for i := len(t.peaks) - 2; i >= 0; i-- {
		root = tlog.NodeHash(t.peaks[i], root)
	}
	return root
}

// Clone returns a tree that goes its own way.
func (t *Tree) Clone() Tree {
	return Tree{t.size, append([]Hash(nil), t.peaks...)}
}

// Chain checks a log's lines one after another: that each is an entry as
// entries are written, of this log, and next in order.
type Chain struct {
	Log  string
	Tree Tree
	shop int64
}

// Add takes the log's next line.
func (c *Chain) Add(line []byte) (Entry, error) {
	e, err := Decode(line)
	if err != nil {
		return e, err
	}
	switch {
	case e.Log != c.Log:
		return e, fmt.Errorf("it says it is of the log %q", cut(e.Log))
	case e.Seq != c.Tree.size+1:
		return e, fmt.Errorf("it says it is entry %d", e.Seq)
	case e.Shop < c.shop:
		return e, fmt.Errorf("it knew %d entries of the shop log, and the one before it %d", e.Shop, c.shop)
	}
	c.shop = e.Shop
	c.Tree.Add(HashLine(line))
	return e, nil
}
