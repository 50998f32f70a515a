package book

import (
	"bytes"
	"math"
	"strings"
	"unicode/utf8"
)

// A node is a part of a YAML text: what the decoder looks at, and no more. A
// mapping's content are its keys and values in turn.
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

// A plainReader reads YAML as books are nearly always written: blocks of keys
// with one-line values, lists, { } and [ ], quotes, comments. What is written
// otherwise, right or wrong, it gives up on, and the whole text is read by the
// YAML library instead, which is several times as slow and takes several times
// the memory. What it does read it reads as the library does, to the column;
// FuzzPlain holds the two against each other.
type plainReader struct {
	text  string
	at    int
	line  int32 // of at
	begin int   // where that line begins
	ascii bool  // nothing before the line's end is longer than a byte
	stack []node
	slab  []node
	depth int
}

const (
	plainLine  = 4096 // no line is longer
	plainDepth = 50
	plainKey   = 512
)

// readPlain returns the top node of a text that before lines stand before.
func readPlain(data []byte, before int) (*node, bool) {
	if len(data) > math.MaxInt32/2 || !plainBytes(data) {
		return nil, false
	}
	p := &plainReader{text: string(data), line: int32(before)}
	p.start(0)
	if !p.skip() {
		return nil, false
	}
	n, ok := p.block(-1)
	if !ok || p.at < len(p.text) {
		return nil, false
	}
	return &n, true
}

// plainBytes tells text without control characters and what breaks a line for
// YAML alone. A line feed may have a return before it.
func plainBytes(data []byte) bool {
	for i, c := range data {
		switch {
		case c >= ' ' && c < 0x7f, c == '\n':
		case c == '\r':
			if i+1 == len(data) || data[i+1] != '\n' {
				return false
			}
		case c < ' ', c == 0x7f:
			return false
		case c == 0xc2:
			if i+1 < len(data) && data[i+1] < 0xa0 {
				return false // U+0080 to U+009F
			}
		case c == 0xe2:
			if i+2 < len(data) && data[i+1] == 0x80 && (data[i+2] == 0xa8 || data[i+2] == 0xa9) {
				return false
			}
		case c == 0xef:
			if i+2 < len(data) && (data[i+1] == 0xbb && data[i+2] == 0xbf || data[i+1] == 0xbf && data[i+2] >= 0xbe) {
				return false
			}
		}
	}
	for _, mark := range []string{"---", "..."} {
		if bytes.HasPrefix(data, []byte(mark)) || bytes.Contains(data, []byte("\n"+mark)) {
			return false
		}
	}
	return utf8.Valid(data)
}

// start takes up the line that begins at i.
func (p *plainReader) start(i int) {
	p.at, p.begin = i, i
	p.line++
	p.ascii = true
	for ; i < len(p.text) && p.text[i] != '\n'; i++ {
		if p.text[i] >= utf8.RuneSelf {
			p.ascii = false
		}
	}
	if i-p.begin > plainLine {
		p.depth = plainDepth // nothing more is read
	}
}

// peek is the byte at a place, a line feed behind the end.
func (p *plainReader) peek(i int) byte {
	if i >= len(p.text) {
		return '\n'
	}
	if c := p.text[i]; c != '\r' {
		return c
	}
	return '\n'
}

func (p *plainReader) column(i int) int32 {
	if p.ascii {
		return int32(i-p.begin) + 1
	}
	return int32(utf8.RuneCountInString(p.text[p.begin:i])) + 1
}

// blanks goes over blanks, and a comment behind them; it tells whether the line
// ends there.
func (p *plainReader) blanks() (end bool) {
	from := p.at
	for p.peek(p.at) == ' ' {
		p.at++
	}
	if p.peek(p.at) == '#' && (p.at > from || p.at == p.begin) {
		for p.peek(p.at) != '\n' {
			p.at++
		}
	}
	return p.peek(p.at) == '\n'
}

// skip goes to the next line that says anything, over blanks and comments;
// false at the end of the text.
func (p *plainReader) skip() bool {
	for p.blanks() {
		n := strings.IndexByte(p.text[p.at:], '\n')
		if n < 0 {
			p.at = len(p.text)
			return false
		}
		p.start(p.at + n + 1)
	}
	return true
}

// indent is how far in the text at hand stands, -1 at the end.
func (p *plainReader) indent() int {
	if p.at >= len(p.text) {
		return -1
	}
	return p.at - p.begin
}

// block reads a block further in than its parent: a mapping or a list.
func (p *plainReader) block(parent int) (n node, ok bool) {
	in := p.indent()
	if in <= parent || p.depth >= plainDepth || p.at-p.begin != len(indentOf(p.text[p.begin:])) {
		return n, false
	}
	p.depth++
	defer func() { p.depth-- }()
	n = node{kind: mappingNode, line: p.line, column: p.column(p.at)}
	list := p.text[p.at] == '-' && p.peek(p.at+1) != '-' && isBlank(p.peek(p.at+1))
	if list {
		n.kind = sequenceNode
	}
	from := len(p.stack)
	for p.indent() == in {
		if p.depth > plainDepth {
			return n, false // a line too long was begun
		}
		if list {
			if p.text[p.at] != '-' || !isBlank(p.peek(p.at+1)) {
				return n, false
			}
			p.at++
		} else {
			key, ok := p.key(false)
			if !ok {
				return n, false
			}
			p.stack = append(p.stack, key)
		}
		value, ok := p.value(in)
		if !ok {
			return n, false
		}
		p.stack = append(p.stack, value)
	}
	n.content = p.keep(from)
	return n, p.indent() < in
}

func indentOf(line string) string {
	i := 0
	for i < len(line) && line[i] == ' ' {
		i++
	}
	return line[:i]
}

func isBlank(c byte) bool { return c == ' ' || c == '\n' }

// keep takes what was read since from off the stack, for good.
func (p *plainReader) keep(from int) []node {
	n := len(p.stack) - from
	if n == 0 {
		return nil
	}
	const most = 1024
	if len(p.slab) < n {
		p.slab = make([]node, max(most, n))
	}
	all := p.slab[:n:n]
	p.slab = p.slab[n:]
	copy(all, p.stack[from:])
	p.stack = p.stack[:from]
	return all
}

// value reads what stands behind a key's colon or an item's dash, in a block that
// stands so far in, and goes to the next line that says anything.
func (p *plainReader) value(in int) (n node, ok bool) {
	nothing := node{null: true, line: p.line, column: p.column(p.at)}
	if p.blanks() {
		if p.skip(); p.indent() <= in {
			if p.indent() == in && p.text[p.at] == '-' {
				return n, false // a list no further in than its key
			}
			return nothing, true
		}
		if c := p.text[p.at]; c != '{' && c != '[' {
			return p.block(in)
		}
	}
	switch p.text[p.at] {
	case '{', '[':
		n, ok = p.brackets(in)
	default:
		n, ok = p.scalar(false)
	}
	if !ok || p.peek(p.at) != ' ' && p.peek(p.at) != '\n' || !p.blanks() {
		return n, false
	}
	p.skip()
	return n, p.indent() <= in
}

// key reads a key with its colon.
func (p *plainReader) key(flow bool) (n node, ok bool) {
	from := p.at
	n, ok = p.scalar(flow)
	if !ok || n.value == "" || p.at-from > plainKey {
		return n, false
	}
	for p.peek(p.at) == ' ' {
		p.at++
	}
	if p.peek(p.at) != ':' || !isBlank(p.peek(p.at+1)) {
		return n, false
	}
	p.at++
	return n, true
}

// scalar reads a scalar that is written on one line.
func (p *plainReader) scalar(flow bool) (n node, ok bool) {
	n = node{line: p.line, column: p.column(p.at)}
	switch c := p.text[p.at]; c {
	case '"', '\'':
		n.value, ok = p.quoted(c)
		return n, ok
	case '-':
		if isBlank(p.peek(p.at + 1)) {
			return n, false
		}
	case '?', ':', ',', '[', ']', '{', '}', '#', '&', '*', '!', '|', '>', '%', '@', '`':
		return n, false
	}
	from, end := p.at, p.at
scan:
	for i := p.at; ; i++ {
		switch c := p.peek(i); c {
		case '\n':
			break scan
		case ' ':
			if p.peek(i+1) == '#' {
				break scan
			}
			continue
		case ':':
			next := p.peek(i + 1)
			if isBlank(next) {
				break scan
			}
			if flow && strings.IndexByte(",?[]{}", next) >= 0 {
				return n, false
			}
		case ',', ']', '}':
			if flow {
				break scan
			}
		case '[', '{', '?':
			if flow {
				return n, false
			}
		}
		end = i + 1
	}
	p.at = end
	n.value = p.text[from:end]
	switch n.value {
	case "~", "null", "Null", "NULL":
		n.null = true
	}
	return n, end > from
}

// quoted reads a scalar in quotes.
func (p *plainReader) quoted(mark byte) (string, bool) {
	p.at++
	from, escaped := p.at, false
	for {
		switch c := p.peek(p.at); {
		case c == '\n':
			return "", false
		case c == '\\' && mark == '"':
			if next := p.peek(p.at + 1); next != '"' && next != '\\' {
				return "", false
			}
			escaped = true
			p.at += 2
		case c == mark && mark == '\'' && p.peek(p.at+1) == mark:
			escaped = true
			p.at += 2
		case c == mark:
			text := p.text[from:p.at]
			p.at++
			if escaped && mark == '"' {
				text = unescape.Replace(text)
			} else if escaped {
				text = strings.ReplaceAll(text, "''", "'")
			}
			return text, true
		default:
			p.at++
		}
	}
}

var unescape = strings.NewReplacer(`\"`, `"`, `\\`, `\`)

// brackets reads a mapping in { } or a list in [ ], which may go on over lines
// that stand further in than its block.
func (p *plainReader) brackets(in int) (n node, ok bool) {
	if p.depth >= plainDepth {
		return n, false
	}
	p.depth++
	defer func() { p.depth-- }()
	n = node{kind: mappingNode, flow: true, line: p.line, column: p.column(p.at)}
	end := byte('}')
	if p.text[p.at] == '[' {
		n.kind, end = sequenceNode, ']'
	}
	p.at++
	from := len(p.stack)
	for {
		if !p.inside(in) {
			return n, false
		}
		if p.text[p.at] == end {
			break
		}
		if n.kind == mappingNode {
			key, ok := p.key(true)
			if !ok || p.blanks() {
				return n, false
			}
			p.stack = append(p.stack, key)
		}
		var value node
		switch p.text[p.at] {
		case '{', '[':
			value, ok = p.brackets(in)
		default:
			value, ok = p.scalar(true)
		}
		if !ok || !p.inside(in) {
			return n, false
		}
		p.stack = append(p.stack, value)
		if c := p.text[p.at]; c == ',' {
			p.at++
		} else if c != end {
			return n, false
		}
	}
	p.at++
	n.content = p.keep(from)
	return n, true
}

// inside goes to what comes next inside brackets.
func (p *plainReader) inside(in int) bool {
	line := p.line
	return p.skip() && (p.line == line || p.indent() > max(in, 0)) && p.depth <= plainDepth
}
