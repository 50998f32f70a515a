package intake

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// MappingFormat is the format of a mapping's file.
const MappingFormat = "mapping/1"

// A Mapping is what the user said of a manual's tables, kept for the next one.
type Mapping struct {
	Format   string            `yaml:"format"`
	Unit     string            `yaml:"unit,omitempty"`     // of lengths, where the table does not say
	Decimal  string            `yaml:"decimal,omitempty"`  // point or comma
	Headings int               `yaml:"headings,omitempty"` // the row that they stand on, where it is not recognised; −1: there are none
	Columns  map[string]string `yaml:"columns,omitempty"`  // by heading or letter, what it holds
	Answers  map[string]string `yaml:"answers,omitempty"`  // by mark, what it means
	Kinds    map[string]string `yaml:"kinds,omitempty"`    // by a row's name, what it judges
	Counts   map[string]int    `yaml:"counts,omitempty"`   // by a part's name, how many of it the engine has
	Measured map[string]string `yaml:"measured,omitempty"` // by a row's name, how many of its thing each part has, and where on each it is measured
	Across   string            `yaml:"across,omitempty"`   // the directions in which diameters are measured
	Holds    []Doubted         `yaml:"holds,omitempty"`    // cells that can be read, and that a person doubts

	// kept are the columns that were said of another table: this one need not
	// have them.
	kept map[string]bool
	// saidNow are the parts and rows that something is said of now: the table must
	// have them.
	saidNow []string
}

// A Doubted is a cell that can be read, and is held all the same: since the rest
// of the book speaks against it, or the manual says something else.
type Doubted struct {
	Row  int      `yaml:"row"`
	Cell string   `yaml:"cell"` // new or service
	Text string   `yaml:"text"` // as it was read then; where it is otherwise now, nothing is held
	May  []string `yaml:"may,omitempty,flow"`
	Why  string   `yaml:"why"`
}

// ParseMapping reads a mapping's file.
func ParseMapping(data []byte) (Mapping, error) {
	var m Mapping
	dec := yaml.NewDecoder(bytes.NewReader(data))
	dec.KnownFields(true)
	if err := dec.Decode(&m); err != nil && !errors.Is(err, io.EOF) {
		return m, fmt.Errorf("not a mapping: %s", strings.TrimPrefix(err.Error(), "yaml: "))
	}
	if m.Format != MappingFormat {
		return m, fmt.Errorf("not a mapping: it does not begin with \"format: %s\"", MappingFormat)
	}
	m.kept = map[string]bool{}
	for h := range m.Columns {
		m.kept[h] = true
	}
	return m, m.check()
}

// Text is the mapping's file.
func (m Mapping) Text() []byte {
	m.Format = MappingFormat
	var b bytes.Buffer
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	if err := enc.Encode(m); err != nil {
		panic("BUG: a mapping that can't be written: " + err.Error())
	}
	return b.Bytes()
}

// Set adds what the user says of a column, as "Wear limit=service".
func (m *Mapping) Set(text string) error {
	if i := strings.LastIndex(text, "="); i > 0 {
		delete(m.kept, strings.TrimSpace(text[:i]))
	}
	return set(&m.Columns, text, "HEADING=service")
}

// Answer adds what a mark means, as "blank=not stated".
func (m *Mapping) Answer(text string) error { return set(&m.Answers, text, "blank=not stated") }

// Kind adds what a row judges, as "Cam lobe=outside".
func (m *Mapping) Kind(text string) error { return set(&m.Kinds, text, "Cam lobe=outside") }

func set(to *map[string]string, text, example string) error {
	i := strings.LastIndex(text, "=")
	if i <= 0 {
		return fmt.Errorf("%q says nothing: write it as %q", text, example)
	}
	if *to == nil {
		*to = map[string]string{}
	}
	(*to)[strings.TrimSpace(text[:i])] = strings.TrimSpace(text[i+1:])
	return nil
}

// Check tells whether everything that the mapping says is known.
func (m Mapping) check() error {
	for _, h := range m.headings() {
		if _, _, _, ok := parseRole(m.Columns[h]); !ok {
			return fmt.Errorf("column %q: %q is nothing that a column holds: write %s; behind new or service may stand a second unit, as \"new mm\"", h, m.Columns[h], strings.Join(roleNames[:], ", "))
		}
	}
	for _, mark := range slices.Sorted(maps.Keys(m.Answers)) {
		may := meanings
		if strings.EqualFold(mark, "wear") {
			may = bases
		}
		if !slices.Contains(may, m.Answers[mark]) {
			return fmt.Errorf("answer %q: %q is nothing that it can mean: write %s", mark, m.Answers[mark], strings.Join(may, ", "))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(m.Kinds)) {
		if _, _, ok := parseKind(m.Kinds[name]); !ok {
			return fmt.Errorf("kind %q: %q is nothing that a row judges: write one of %s", name, m.Kinds[name], strings.Join(kindNames[1:], ", "))
		}
	}
	if err := m.checkPlaces(); err != nil {
		return err
	}
	for _, h := range m.Holds {
		if h.Cell != book.HoldNew && h.Cell != book.HoldService {
			return fmt.Errorf("holds: row %d: %q is no cell that can be held: write new or service", h.Row, h.Cell)
		}
	}
	if m.Headings < -1 {
		return fmt.Errorf("headings %d: write the row that the headings stand on, or -1 where there are none", m.Headings)
	}
	if m.Decimal != "" && m.Decimal != "point" && m.Decimal != "comma" {
		return fmt.Errorf("decimal %q: write point or comma", m.Decimal)
	}
	return nil
}

// Check tells whether everything that the mapping says is known.
func (m Mapping) Check() error { return m.check() }

func (m Mapping) headings() []string { return slices.Sorted(maps.Keys(m.Columns)) }

// parseRole reads "service", "new max", "new mm".
func parseRole(text string) (role Role, second bool, unit quantity.Unit, ok bool) {
	text = strings.Join(strings.Fields(strings.ToLower(text)), " ")
	for _, u := range []quantity.Unit{quantity.Millimetre, quantity.Inch} {
		if rest, cut := strings.CutSuffix(text, " "+u.String()); cut {
			text, unit, second = rest, u, true
		}
	}
	n := slices.Index(roleNames[:], text)
	if n < 0 || second && !Role(n).isNew() && !Role(n).isService() {
		return 0, false, 0, false
	}
	return Role(n), second, unit, true
}

// role is what the user says that a heading's column holds.
func (m Mapping) role(heading string) (Role, bool) {
	for h, says := range m.Columns {
		if tidyHeading(h) == tidyHeading(heading) {
			role, _, _, ok := parseRole(says)
			return role, ok
		}
	}
	return 0, false
}

// column is role, for a column that may be named by its letter.
func (m Mapping) column(c *Column) (role Role, second bool, unit quantity.Unit, heading string, ok bool) {
	for _, h := range m.headings() {
		if h == letter(c.At) && (!m.kept[h] || c.Role == Skip) || c.Heading != "" && tidyHeading(h) == tidyHeading(c.Heading) {
			role, second, unit, ok = parseRole(m.Columns[h])
			return role, second, unit, h, ok
		}
	}
	return 0, false, 0, "", false
}

func (m Mapping) says(c *Column) bool {
	_, _, _, _, ok := m.column(c)
	return ok
}

// byLetter tells whether columns are named by letter.
func (m Mapping) byLetter() bool {
	return slices.ContainsFunc(m.headings(), func(h string) bool { return len(h) <= 2 && strings.ToUpper(h) == h })
}

// letter is a column's letter in a spreadsheet.
func letter(column int) string {
	name := ""
	for column++; column > 0; column = (column - 1) / 26 {
		name = string(rune('A'+(column-1)%26)) + name
	}
	return name
}
