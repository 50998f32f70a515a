package book

import (
	"bytes"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// A node is a part of a YAML text: what the decoder looks at, and no more. A
// mapping's content are its keys and values in turn. It takes a third of the
// memory of the library's own.
type node struct {
	value        string
	content      []node
	line, column int32
	kind         nodeKind
	null         bool // nothing, or a word of YAML's for it
	flow         bool // written inside { } or [ ]
	anchor       bool
}

type nodeKind uint8

const (
	scalarNode nodeKind = iota
	sequenceNode
	mappingNode
	aliasNode
)

// pieceSize is how much of a text the library reads at a time: its nodes of the
// whole of a large book would take most of the memory there is for one.
const pieceSize = 64 << 10

// entryKey tells whether a line begins an entry of a top-level block.
func entryKey(line []byte) bool {
	return len(line) > 2 && line[0] == ' ' && line[1] == ' ' && !bytes.ContainsAny(line[2:3], " \t\r\n#-]}")
}

// inLines tells whether a text has no more than keys below each other: nothing
// that ends a document or asks for a key, and no break of a line where cutLine
// sees none.
func inLines(data []byte) bool {
	for len(data) > 0 {
		var line []byte
		line, data = cutLine(data)
		bare := bytes.TrimLeft(line, " ")
		switch {
		case bytes.HasPrefix(line, []byte("---")), bytes.HasPrefix(line, []byte("...")), bytes.HasPrefix(line, []byte("%")), bytes.HasPrefix(bare, []byte("?")):
			return false
		}
		if i := bytes.IndexByte(line, '\r'); i >= 0 && (i != len(line)-2 || line[i+1] != '\n') {
			return false
		}
		for _, end := range []string{"\u0085", "\u2028", "\u2029"} {
			if bytes.Contains(line, []byte(end)) {
				return false
			}
		}
	}
	return true
}

// A piece is some entries of a top-level block, behind the block's own head.
type piece struct {
	text  []byte
	line  int  // of its head
	gone  int  // lines that stand between its head and the rest
	first bool // of its block
	top   *node
}

// readPieces returns the top node of a text that before lines stand before. It
// reads a long block some entries at a time, and by as many cores as there are.
// Where a piece is not a block of entries by itself, as where a quote goes on
// into the next, it gives up, and the text is to be read whole.
func readPieces(data []byte, before, size int) (*node, bool) {
	if len(data) <= size || !inLines(data) {
		return nil, false
	}
	all := pieces(data, before, size)
	var at, failed atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(all)) {
		wait.Go(func() {
			for failed.Load() == 0 {
				i := int(at.Add(1)) - 1
				if i >= len(all) {
					return
				}
				if !all[i].read() {
					failed.Add(1)
				}
			}
		})
	}
	wait.Wait()
	if failed.Load() > 0 {
		return nil, false
	}
	var whole *node
	for i := range all {
		p := &all[i]
		switch {
		case p.top == nil && whole == nil: // nothing but comments
		case p.top == nil:
			return nil, false
		case whole == nil:
			whole = p.top
		case p.top.column != whole.column:
			return nil, false
		case p.first:
			whole.content = append(whole.content, p.top.content...)
		default:
			entries, more := &whole.content[len(whole.content)-1], &p.top.content[1]
			if !entries.block() || !more.block() || more.column != entries.column {
				return nil, false
			}
			entries.content = append(entries.content, more.content...)
		}
	}
	return whole, whole != nil
}

// block tells whether a node is a mapping that entries can be added to.
func (n *node) block() bool { return n.kind == mappingNode && !n.flow && !n.anchor }

// read reads a piece; false where it is no block by itself.
func (p *piece) read() bool {
	top, err := libraryYAML(p.text)
	if err != nil || top != nil && (!top.block() || len(top.content) != 2) {
		return false
	}
	p.text = nil
	if p.top = top; top != nil {
		top.move(p.line, p.gone)
	}
	return true
}

// move says of a node where it stands in the whole text.
func (n *node) move(head, gone int) {
	if n.line > 1 {
		n.line += int32(gone)
	}
	n.line += int32(head - 1)
	for i := range n.content {
		n.content[i].move(head, gone)
	}
}

// pieces cuts a text at its top-level keys, and long blocks of it further, at
// their entries.
func pieces(data []byte, before, size int) []piece {
	var all []piece
	for _, b := range blocks(data) {
		head, rest := cutLine(b.data)
		p := piece{line: before + b.line, first: true}
		for p.first || len(rest) > 0 {
			entries, lines := entriesOf(rest, size)
			rest = rest[len(entries):]
			p.text = slices.Concat(head, entries)
			all = append(all, p)
			p.gone, p.first = p.gone+lines, false
		}
	}
	return all
}

// entriesOf returns the next entries of a block, and how many lines they have.
func entriesOf(rest []byte, size int) (entries []byte, lines int) {
	end, some := 0, false
	for end < len(rest) {
		line, _ := cutLine(rest[end:])
		if entryKey(line) {
			if some && end >= size {
				break
			}
			some = true
		}
		end += len(line)
		lines++
	}
	return rest[:end], lines
}

func cutLine(data []byte) (line, rest []byte) {
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		return data[:i+1], data[i+1:]
	}
	return data, nil
}
