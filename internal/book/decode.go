package book

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"tenths/internal/fault"
)

// A text is a scalar exactly as it is written, with its place: 2.2490 stays
// 2.2490, 010 stays 010, yes stays yes. Nothing in a book passes through a
// number or a truth value of YAML's.
type text struct {
	value        string
	line, column int
}

func (t text) set() bool { return t.line > 0 }

// A named is one entry of a mapping whose keys are the user's names.
type named[T any] struct {
	Key   text
	Value T
}

// decoder turns nodes into the raw structs below, collecting every fault.
type decoder struct {
	file   string
	faults fault.List
	keys   map[reflect.Type]*keys
	format string   // that the file should be of
	broken []string // top-level keys whose text could not be read
	before int      // how many lines stand before what was settled; 0: nothing was
}

func (d *decoder) fault(at text, field, code, what, do string) {
	d.faults = append(d.faults, fault.Fault{
		File: d.file, Line: at.line, Column: at.column, Field: field,
		Code: code, Text: at.value, What: what, Do: do,
	})
}

func at(n *node) text { return text{n.value, int(n.line), int(n.column)} }

// document reads the whole of a book. Text that is not YAML is a fault; its
// other top-level blocks are then read one by one, so that one slip of
// indentation does not hide what else is wrong.
func (d *decoder) document(data []byte, into any) {
	root, err := parseYAML(data, 0)
	if err == nil {
		if root == nil {
			d.fault(text{"", 1, 1}, "", "missing", "the file is empty", "start it with the line \"format: "+d.format+"\"")
			return
		}
		d.into(root, "", reflect.ValueOf(into).Elem())
		return
	}
	if !utf8.Valid(data) {
		// One fault is enough: what is not text has no lines to speak of.
		d.broken = []string{"format", "engine", "unit", "parts", "lines"}
		d.fault(text{"", 1 + bytes.Count(data[:validPrefix(data)], []byte("\n")), 1}, "", "syntax", "the file is not UTF-8 text", "save it as UTF-8")
		return
	}
	whole := &node{kind: mappingNode, line: 1, column: 1}
	for _, b := range blocks(data) {
		n, err := parseYAML(b.data, b.line-1)
		if err != nil || n != nil && n.kind != mappingNode {
			if err == nil {
				err = errors.New("not a key with a value")
			}
			d.syntax(b, err)
			continue
		}
		if n != nil {
			whole.content = append(whole.content, n.content...)
		}
	}
	d.into(whole, "", reflect.ValueOf(into).Elem())
}

// parseYAML returns the top node of a text's first document, nil for an empty
// one. before is how many lines stand before it.
func parseYAML(data []byte, before int) (*node, error) {
	if n, ok := readPieces(data, before, pieceSize); ok {
		return n, nil
	}
	if before > 0 {
		data = append(bytes.Repeat([]byte("\n"), before), data...)
	}
	return libraryYAML(data)
}

// libraryYAML is parseYAML for a text written in any way that YAML allows.
func libraryYAML(data []byte) (*node, error) {
	if !utf8.Valid(data) {
		line := 1 + bytes.Count(data[:validPrefix(data)], []byte("\n"))
		return nil, fmt.Errorf("line %d: not UTF-8 text", line)
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc yaml.Node
	if err := dec.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, nil
		}
		return nil, err
	}
	var second yaml.Node
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		if err == nil {
			err = fmt.Errorf("line %d: a second document: a book is one", second.Line)
		}
		return nil, err
	}
	if len(doc.Content) == 0 {
		return nil, nil
	}
	n := nodeOf(doc.Content[0])
	return &n, nil
}

func nodeOf(y *yaml.Node) node {
	n := node{
		value: y.Value, line: int32(y.Line), column: int32(y.Column),
		null: y.Tag == "!!null", flow: y.Style&yaml.FlowStyle != 0, anchor: y.Anchor != "",
	}
	switch y.Kind {
	case yaml.SequenceNode:
		n.kind = sequenceNode
	case yaml.MappingNode:
		n.kind = mappingNode
	case yaml.AliasNode:
		n.kind = aliasNode
	}
	if len(y.Content) > 0 {
		n.content = make([]node, len(y.Content))
		for i, c := range y.Content {
			n.content[i] = nodeOf(c)
		}
	}
	return n
}

func validPrefix(data []byte) int {
	n := 0
	for n < len(data) {
		r, size := utf8.DecodeRune(data[n:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		n += size
	}
	return n
}

type block struct {
	line int
	data []byte
}

var topKey = regexp.MustCompile(`^[^\s#:\-{}\[\],][^:]*:`)

// blocks cuts a file at the lines that begin a top-level key.
func blocks(data []byte) []block {
	var all []block
	begin := 0
	for at, line := 0, 1; at < len(data); line++ {
		text, _ := cutLine(data[at:])
		if len(all) == 0 || text[0] != ' ' && topKey.Match(text) {
			if len(all) > 0 {
				all[len(all)-1].data = data[begin:at]
			}
			all, begin = append(all, block{line: line}), at
		}
		at += len(text)
	}
	if len(all) > 0 {
		all[len(all)-1].data = data[begin:]
	}
	return all
}

var yamlLine = regexp.MustCompile(`line (\d+): `)

func (d *decoder) syntax(b block, err error) {
	what := strings.TrimPrefix(err.Error(), "yaml: ")
	line := b.line
	if m := yamlLine.FindStringSubmatch(what); m != nil {
		if n, err := strconv.Atoi(m[1]); err == nil {
			line = max(line, min(n, b.line+bytes.Count(b.data, []byte("\n"))))
		}
		what = strings.Replace(what, m[0], "", 1)
	}
	lines := bytes.Split(b.data, []byte("\n"))
	shown := ""
	if i := line - b.line; i < len(lines) {
		shown = string(lines[i])
	}
	key, _, _ := strings.Cut(string(lines[0]), ":")
	d.broken = append(d.broken, strings.TrimSpace(key))
	d.fault(text{shown, line, 1}, "", "syntax", "not YAML: "+what,
		"mend the indentation, quotes or brackets there; nothing under "+strconv.Quote(fault.Cut(key))+" was read")
}

// into fills v, a struct whose fields carry their key in a `book:"key"` tag, a
// text, a list of texts or of named values, or a type with a decode method.
func (d *decoder) into(n *node, path string, v reflect.Value) {
	d.under(n, path, "", v)
}

// under is into for what stands under a key; most are texts, of which the path is
// wanted only where something is wrong.
func (d *decoder) under(n *node, above, key string, v reflect.Value) {
	if n.kind == aliasNode || n.anchor {
		d.fault(at(n), join(above, key), "alias", "anchors and aliases are not used in a book", "write the value out")
		if n.kind == aliasNode {
			return
		}
	}
	to := v.Addr().Interface()
	if t, ok := to.(*text); ok {
		switch {
		case n.kind != scalarNode:
			d.shape(n, join(above, key), "one value")
		case n.null && n.value != "null": // "key:" with nothing behind it says nothing
		default:
			*t = at(n)
			if strings.ContainsFunc(n.value, unicode.IsControl) {
				d.fault(*t, join(above, key), "shape", "has a line break or a control character in it", "write it on one line")
			}
		}
		return
	}
	path := join(above, key)
	if own, ok := to.(interface {
		decode(d *decoder, n *node, path string)
	}); ok {
		own.decode(d, n, path)
		return
	}
	switch v.Kind() {
	case reflect.Slice:
		if elem := v.Type().Elem(); elem.Kind() == reflect.Struct {
			if elem.NumField() == 2 && elem.Field(0).Name == "Key" && elem.Field(0).Type == reflect.TypeFor[text]() {
				d.names(n, path, v)
				return
			}
		}
		if n.kind != sequenceNode {
			d.shape(n, path, "a list")
			return
		}
		for i := range n.content {
			item := &n.content[i]
			e := reflect.New(v.Type().Elem()).Elem()
			d.into(item, path, e)
			if t, ok := e.Addr().Interface().(*text); ok && !t.set() {
				*t = at(item) // an empty item stands somewhere too
			}
			v.Set(reflect.Append(v, e))
		}
	case reflect.Struct:
		d.fields(n, path, v)
	default:
		panic("BUG: no way to read a " + v.Type().String())
	}
}

func (d *decoder) shape(n *node, path, want string) {
	is := [...]string{scalarNode: "one value", sequenceNode: "a list", mappingNode: "keys with values", aliasNode: "an alias"}[n.kind]
	d.fault(at(n), path, "shape", "here is "+is+", wanted is "+want, "see docs/formats.md for an example")
}

// pairs walks a mapping, reporting keys that stand twice.
func (d *decoder) pairs(n *node, path string, each func(key text, value *node)) {
	if n.kind != mappingNode {
		if n.kind == scalarNode && n.null {
			return
		}
		d.shape(n, path, "keys with values")
		return
	}
	seen := map[string]int32{}
	for i := 0; i+1 < len(n.content); i += 2 {
		k, v := &n.content[i], &n.content[i+1]
		if k.kind != scalarNode {
			d.shape(k, path, "one value")
			continue
		}
		if first, ok := seen[k.value]; ok {
			d.fault(at(k), path, "doubled-key", fmt.Sprintf("the key stands here a second time (first on line %d)", first),
				"keep one of the two")
			continue
		}
		seen[k.value] = k.line
		each(at(k), v)
	}
}

func (d *decoder) names(n *node, path string, v reflect.Value) {
	// Room for all at once: lines are large, and copying them as a list grows
	// would be half of what reading them costs.
	all := reflect.MakeSlice(v.Type(), len(n.content)/2, len(n.content)/2)
	count := 0
	d.pairs(n, path, func(key text, value *node) {
		e := all.Index(count)
		count++
		*e.Field(0).Addr().Interface().(*text) = key
		d.under(value, path, key.value, e.Field(1))
	})
	if count > 0 {
		v.Set(all.Slice(0, count))
	}
}

func (d *decoder) fields(n *node, path string, v reflect.Value) {
	known := d.keysOf(v.Type())
	d.pairs(n, path, func(key text, value *node) {
		field, ok := known.index[key.value]
		if !ok {
			do := "the keys here are " + strings.Join(known.names, ", ")
			if n.flow && value.null && value.value == "" {
				do = "a comma ends a value inside { }: put the whole value into quotes; or " + do
			}
			d.fault(key, path, "unknown-key", "there is no such key here", do)
			return
		}
		d.under(value, path, key.value, v.Field(field))
	})
}

// keys are the keys of a struct and which field each fills.
type keys struct {
	names []string
	index map[string]int
}

func (d *decoder) keysOf(t reflect.Type) *keys {
	if k := d.keys[t]; k != nil {
		return k
	}
	k := &keys{index: map[string]int{}}
	for i := range t.NumField() {
		tag := t.Field(i).Tag.Get("book")
		if tag == "" {
			continue // nothing that is written
		}
		k.names = append(k.names, tag)
		k.index[tag] = i
	}
	if d.keys == nil {
		d.keys = map[reflect.Type]*keys{}
	}
	d.keys[t] = k
	return k
}

func join(path, key string) string {
	switch {
	case path == "":
		return key
	case key == "":
		return path
	}
	return path + "." + key
}
