package intake

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/table"
)

// A book as a sheet: all that its file says, and nothing else, in three tables.
// Limits has a row for each line, Parts one for each part and each feature, and
// Book one for each thing that the book says of itself. What is more than one
// word or figure stands in its cell as the book writes it, in [ ] or { }.
//
// In a spreadsheet each table is a sheet; in comma-separated values they follow
// each other, and are told apart by their headings.

// SheetFormat is the format of a book as a sheet; it stands in its first cell.
const SheetFormat = "sheet/1"

// fillIn is what the sheet says to who fills it in.
const fillIn = "New and Service: as the manual prints them (2.2490 - 2.2500, 0.0010L, min 0.5). Where the manual has nothing, write blank; what is empty is not entered yet. Then: tenths book import"

// A column is a heading and the key of the book whose values stand under it.
type column struct {
	heading, key string
	width        int
}

// A section is one of the tables. The first columns say what the row is of; in the
// others stand the values of keys.
type section struct {
	name    string
	columns []column
	names   int // how many columns say what the row is of
}

var (
	limitsSection = section{"Limits", []column{
		{"Line", "", 24},
		{"Ref", "ref", 8},
		{"Page", "page", 8},
		{"Name", "name", 40},
		{"Judges", "", 12},
		{"Of", "", 30},
		{"Unit", "unit", 8},
		{"New", "new", 22},
		{"Service", "service", 22},
		{"Note", "note", 24},
		{"As", "as", 14},
		{"Want", "want", 6},
		{"Graded", "graded", 8},
		{"Planes", "planes", 14},
		{"Groups", "groups", 14},
		{"Mates", "mates", 14},
		{"Select", "select", 14},
		{"Tiers", "tiers", 14},
		{"Bands", "bands", 14},
		{"Steps", "steps", 14},
		{"Moves", "moves", 14},
		{"Second unit", "also", 14},
		{"When", "when", 14},
		{"Serials", "serials", 14},
		{"Amendment", "amendment", 12},
		{"Replaces", "replaces", 14},
		{"Governed by", "governed-by", 14},
		{"Held", "hold", 20},
		{"Printed", "printed", 20},
	}, 1}
	partsSection = section{"Parts", []column{
		{"Part", "", 16},
		{"Feature", "", 16},
		{"Name", "name", 36},
		{"Positions", "positions", 10},
		{"Kind", "kind", 12},
		{"Wears", "wears", 10},
		{"Counts", "counts", 10},
		{"Unit", "unit", 8},
		{"Places", "places", 8},
		{"Planes", "planes", 24},
		{"Directions", "directions", 18},
		{"Steps", "steps", 24},
		{"Made of", "made-of", 20},
		{"Numbering", "numbering", 24},
		{"Shape", "shape", 10},
		{"Material", "material", 20},
		{"Treatment", "treatment", 20},
	}, 2}
	bookSection = section{"Book", []column{
		{"Key", "", 16}, {"Of", "", 16}, {"Which", "", 16}, {"Says", "", 60},
	}, 3}
	sections = []*section{&limitsSection, &partsSection, &bookSection}
)

// written is the key of the Book table under which the edition stands that the
// sheet was written from.
const written = "written from"

// judgesKeys are the keys of a line that say what it judges.
var judgesKeys = func() (all []string) {
	for j := book.Size; j <= book.YesNo; j++ {
		all = append(all, j.String())
	}
	return all
}()

// Edition is the SHA-256 of a book's own text, in small hexadecimal.
func Edition(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// BookSheets writes a book as sheets. text is the book's own file, without what was
// settled of it; it is one that loads.
func BookSheets(text []byte) ([]table.Out, error) {
	var doc yaml.Node
	if err := yaml.NewDecoder(bytes.NewReader(text)).Decode(&doc); err != nil {
		return nil, err
	}
	top := doc.Content[0]
	limits, parts, whole := limitsSection.out(), partsSection.out(), bookSection.out()
	limits.Rows = append([][]string{{SheetFormat, fillIn}}, limits.Rows...)
	limits.Head++
	each(top, func(key string, value *yaml.Node) {
		switch key {
		case "lines":
			each(value, func(key string, line *yaml.Node) {
				row := limitsSection.row(line)
				row[0] = key
				for _, k := range judgesKeys {
					if v := child(line, k); v != nil && !null(v) {
						row[4], row[5] = k, cellOf(v)
					}
				}
				limits.add(row)
			})
		case "parts":
			each(value, func(key string, part *yaml.Node) {
				row := partsSection.row(part)
				row[0] = key
				parts.add(row)
				each(child(part, "features"), func(feature string, f *yaml.Node) {
					row := partsSection.row(f)
					row[0], row[1] = key, feature
					parts.add(row)
				})
			})
		default:
			spread(value, []string{key, "", ""}, 1, func(names []string, v *yaml.Node) { whole.add(append(slices.Clone(names), cellOf(v))) })
		}
	})
	whole.add([]string{written, "", "", Edition(text)})
	return []table.Out{limits.Out, parts.Out, whole.Out}, nil
}

// An outSheet is a sheet that is being written.
type outSheet struct{ table.Out }

func (s *section) out() *outSheet {
	o := &outSheet{table.Out{Name: s.name, Head: 1, Rows: [][]string{nil}}}
	for _, c := range s.columns {
		o.Rows[0] = append(o.Rows[0], c.heading)
		o.Widths = append(o.Widths, c.width)
	}
	return o
}

// more begins a row that goes on where the one above ends.
const more = "+"

// add writes a row, in as many as its longest cell needs.
func (o *outSheet) add(row []string) {
	for rest := true; rest; {
		rest = false
		next := make([]string, len(row))
		for i, text := range row {
			if i > 0 && len(text) > table.MaxChars {
				row[i], next[i] = cut(text)
				rest = true
			}
		}
		end := len(row)
		for end > 0 && row[end-1] == "" {
			end--
		}
		o.Rows = append(o.Rows, row[:end])
		next[0] = more
		row = next
	}
}

// cut cuts a text that is too long for a cell, not beside a blank.
func cut(text string) (head, tail string) {
	at := table.MaxChars
	for at > 1 && (!utf8.RuneStart(text[at]) || text[at] == ' ' || text[at-1] == ' ') {
		at--
	}
	return text[:at], text[at:]
}

// row writes the values of keys into their columns.
func (s *section) row(of *yaml.Node) []string {
	row := make([]string, len(s.columns))
	for i, c := range s.columns {
		if v := child(of, c.key); c.key != "" && v != nil && !null(v) {
			row[i] = cellOf(v)
		}
	}
	return row
}

// spread walks the mappings of a value down to the third key.
func spread(v *yaml.Node, names []string, depth int, leaf func([]string, *yaml.Node)) {
	if v.Kind != yaml.MappingNode || depth == len(names) || len(v.Content) == 0 {
		if !null(v) {
			leaf(names, v)
		}
		return
	}
	each(v, func(key string, value *yaml.Node) {
		below := slices.Clone(names)
		below[depth] = key
		if null(value) && depth == len(names)-1 {
			leaf(below, value)
			return
		}
		spread(value, below, depth+1, leaf)
	})
}

func each(n *yaml.Node, do func(key string, value *yaml.Node)) {
	if n == nil || n.Kind != yaml.MappingNode {
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		do(n.Content[i].Value, n.Content[i+1])
	}
}

func child(n *yaml.Node, key string) (found *yaml.Node) {
	each(n, func(k string, v *yaml.Node) {
		if k == key {
			found = v
		}
	})
	return found
}

// null tells a value that says nothing. The word null is a word in a book.
func null(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Tag == "!!null" && n.Value != "null"
}

// cellOf is a value as its cell has it: text as it is where a cell can have it so,
// all else as the book writes it.
func cellOf(n *yaml.Node) string {
	if n.Kind == yaml.ScalarNode && !null(n) {
		if text := n.Value; table.Tidy(text) == text && text != "" && text != more && strings.IndexByte("\"[{~", text[0]) < 0 {
			return text
		}
	}
	return flow(n)
}

// flow is a value on one line.
func flow(n *yaml.Node) string {
	var all []string
	switch n.Kind {
	case yaml.MappingNode:
		each(n, func(key string, v *yaml.Node) { all = append(all, plain(key)+": "+flow(v)) })
		return "{" + strings.Join(all, ", ") + "}"
	case yaml.SequenceNode:
		for _, v := range n.Content {
			all = append(all, flow(v))
		}
		return "[" + strings.Join(all, ", ") + "]"
	}
	if null(n) {
		return "~"
	}
	return plain(n.Value)
}

// plain is a text as YAML has it on one line, with nothing in it that a cell of a
// spreadsheet would not keep.
func plain(text string) string {
	if bare(text) && !strings.Contains(text, "  ") {
		return text
	}
	var b strings.Builder
	b.WriteByte('"')
	last := rune(0)
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == ' ' && last == ' ':
			b.WriteString(`\x20`)
		case r != utf8.RuneError && unicode.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
		last = r
	}
	b.WriteByte('"')
	return b.String()
}

// nodeOf reads a cell back; what reads as neither list nor mapping nor quoted text
// is text.
func nodeOf(cell string) (*yaml.Node, error) {
	text := &yaml.Node{}
	text.SetString(cell)
	if cell == "" || strings.IndexByte("\"[{~", cell[0]) < 0 {
		return text, nil
	}
	var doc yaml.Node
	err := yaml.Unmarshal([]byte(cell), &doc)
	switch {
	case err == nil && len(doc.Content) == 1 && (cell[0] != '~' || null(doc.Content[0])) && (cell[0] != '"' || doc.Content[0].Kind == yaml.ScalarNode):
		return doc.Content[0], nil
	case err == nil || cell[0] == '"' || cell[0] == '~':
		return text, nil // "nominal" size
	}
	return nil, err
}
