package intake

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/internal/fault"
)

// A Measured says how many of a thing a part has, and in which planes and
// directions each is measured. What is nil or 0 is not said; a list that is empty
// says that there are none.
type Measured struct {
	Places             int
	Planes, Directions []string
}

const measuredExample = `write it as "3 places, front and rear, 0 and 90"`

// ParseMeasured reads "3 places, front and rear, 0 and 90". A name that begins with a
// letter is a plane and one that begins with a digit a direction, unless "planes" or
// "directions" stands before it; "one plane" and "one direction" say that none is
// named.
func ParseMeasured(text string) (at Measured, err error) {
	words := strings.Fields(strings.NewReplacer(",", " , ", ";", " , ", "&", " and ").Replace(strings.ToLower(text)))
	bad := func(form string, of ...any) (Measured, error) {
		return at, fmt.Errorf("%s: %s", fmt.Sprintf(form, of...), measuredExample)
	}
	var to, before *[]string // the list that is named, and the one that goes on
	around := false          // directions are named
	for i := 0; i < len(words); i++ {
		w := words[i]
		next := ""
		if i+1 < len(words) {
			next = strings.TrimSuffix(words[i+1], "s")
		}
		if w == "one" {
			w = "1"
		}
		n, number := strconv.Atoi(w)
		list := map[string]*[]string{"plane": &at.Planes, "direction": &at.Directions}[next]
		switch {
		case w == ",":
			before = nil
		case w == "and":
		case number == nil && next == "place":
			if n < 1 || n > book.MaxNumber {
				return bad("%q is not from 1 to %d places", w, book.MaxNumber)
			}
			if at.Places > 0 {
				return bad("the places are said twice")
			}
			at.Places = n
			i++
		case number == nil && list != nil && n == 1 && len(*list) == 0:
			*list = []string{}
			i++
		case number == nil && list != nil && i+2 >= len(words):
			return bad("%q does not say which", w+" "+words[i+1])
		case w == "planes":
			to = &at.Planes
		case w == "directions":
			to, around = &at.Directions, true
		case w == "place", w == "places", w == "plane", w == "direction":
			return bad("%q has no number before it", w)
		default:
			w = strings.TrimRight(w, "°")
			in, what, is := to, "a direction", book.IsDirection
			if in == nil {
				if in = &at.Planes; w != "" && w[0] >= '0' && w[0] <= '9' {
					in = &at.Directions
				}
			}
			if before != nil && in != before {
				return bad("%q is not of what stands before it", words[i])
			}
			before = in
			if in == &at.Planes {
				what, is = "a plane", book.IsName
			}
			if !is(w) || len(w) > maxWord {
				return bad("%q is no name of %s", words[i], what)
			}
			if slices.Contains(*in, w) {
				return bad("%q is said twice", w)
			}
			*in = append(*in, w)
		}
	}
	if len(at.Directions) == 1 && !around {
		return bad("%q alone may be a number of places as well as a direction", at.Directions[0])
	}
	if at.Places == 0 && at.Planes == nil && at.Directions == nil {
		return bad("%q says nothing", text)
	}
	return at, nil
}

// ParseAcross reads the directions in which all diameters of a table are measured:
// "0, 90". "one" is none, and says nothing.
func ParseAcross(text string) ([]string, error) {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "", "one", "one direction":
		return nil, nil
	}
	at, err := ParseMeasured("directions " + text)
	if err != nil || at.Places > 0 || at.Planes != nil || len(at.Directions) == 0 {
		return nil, fmt.Errorf("across %q is not a list of directions: write it as \"0, 90\", or \"one\" for one direction that has no name", text)
	}
	return at.Directions, nil
}

// String is what [ParseMeasured] reads as the same.
func (at Measured) String() string {
	var all []string
	if at.Places > 0 || at.Planes == nil && at.Directions == nil {
		all = append(all, count(max(1, at.Places), "place"))
	}
	list := func(names []string, what string, plain func(string) bool) {
		switch {
		case names == nil:
		case len(names) == 0:
			all = append(all, "one "+what)
		case slices.ContainsFunc(names, func(w string) bool { return !plain(w) }), len(names) == 1 && what == "direction":
			all = append(all, what+"s "+strings.Join(names, " and "))
		default:
			all = append(all, strings.Join(names, " and "))
		}
	}
	digit := func(w string) bool { return w[0] >= '0' && w[0] <= '9' }
	list(at.Planes, "plane", func(w string) bool { return w != "planes" && w != "directions" })
	list(at.Directions, "direction", digit)
	return strings.Join(all, ", ")
}

func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return strconv.Itoa(n) + " " + what
}

// Spots is how many readings it takes.
func (at Measured) Spots() int {
	return max(1, at.Places) * max(1, len(at.Planes)) * max(1, len(at.Directions))
}

// over is what is said, and where that says nothing what stands otherwise.
func (at Measured) over(other Measured) Measured {
	if at.Places == 0 {
		at.Places = other.Places
	}
	if at.Planes == nil {
		at.Planes = other.Planes
	}
	if at.Directions == nil {
		at.Directions = other.Directions
	}
	return at
}

// usual is where a kind is measured that needs more than one reading: positions is
// how many of its part there are.
func (k Kind) usual(positions int) (at Measured) {
	switch k {
	case RunOut, Bend:
		at.Directions = []string{"0", "90", "180", "270"}
	case OutOfRound, Taper, TaperAndRound:
		if k != OutOfRound {
			at.Planes = []string{"front", "rear"}
		}
		if k != Taper {
			at.Directions = []string{"0", "90"}
		}
	case Variation:
		if positions <= 1 { // of several parts it is between them
			at.Places = 4
		}
	}
	return at
}

// But is what is said beside what stands otherwise: what is the same is not said.
func (at Measured) But(other Measured) Measured {
	if max(1, at.Places) == max(1, other.Places) {
		at.Places = 0
	}
	if slices.Equal(at.Planes, other.Planes) {
		at.Planes = nil
	}
	if slices.Equal(at.Directions, other.Directions) {
		at.Directions = nil
	}
	return at
}

// At is how many of the row's thing each part has, and where it is measured.
func (r *Row) At() Measured { return r.at.over(r.Kind.usual(r.Positions)) }

// A said is what a mapping says of places: in which directions diameters are measured,
// and where rows are, by their names.
type said struct {
	across []string
	rows   map[string]Measured
}

func (m Mapping) places() (all said, err error) {
	if all.across, err = ParseAcross(m.Across); err != nil {
		return all, err
	}
	all.rows = make(map[string]Measured, len(m.Measured))
	for _, name := range slices.Sorted(maps.Keys(m.Measured)) {
		if all.rows[name], err = ParseMeasured(m.Measured[name]); err != nil {
			return all, fmt.Errorf("measured, %q: %w", name, err)
		}
	}
	return all, nil
}

// measured settles where a row is measured, and how many of its part there are.
func (d *Draft) measured(r *Row, m Mapping, places said) {
	r.of.positions = m.countOf(r.of.name)
	r.Positions = r.of.positions
	if r.Kind == Outside || r.Kind == Inside {
		r.at.Directions = places.across
	}
	for name, at := range places.rows {
		if strings.EqualFold(name, r.Name) {
			r.at = at.over(r.at)
		}
	}
}

// countOf is how many of a part the engine is said to have; 0: nothing is said.
func (m Mapping) countOf(name string) int {
	for part, n := range m.Counts {
		if strings.EqualFold(part, name) {
			return n
		}
	}
	return 0
}

// A PartCount is a part of the table, and how many of it the engine has.
type PartCount struct {
	Key, Name string
	Count     int // 0: nothing is said, and it stands alone
	Rows      int
}

// Parts are the parts that the table's rows are of.
func (d *Draft) Parts() (all []PartCount) {
	at := map[string]int{}
	for i := range d.Rows {
		of := &d.Rows[i].of
		n, ok := at[of.key]
		if !ok {
			n = len(all)
			at[of.key] = n
			all = append(all, PartCount{Key: of.key, Name: of.name})
		}
		all[n].Rows++
		all[n].Count = max(all[n].Count, of.positions)
	}
	return all
}

// notOf says what was said of parts and rows that the table does not have. What was
// said of another table of the manual need not be of this one.
func (d *Draft) notOf(m Mapping) (faults fault.List) {
	if len(m.saidNow) == 0 {
		return nil
	}
	var parts, rows []string
	for _, p := range d.Parts() {
		parts = append(parts, p.Name)
	}
	for i := range d.Rows {
		rows = append(rows, d.Rows[i].Name)
	}
	is := func(all []string, name string) bool {
		return slices.ContainsFunc(all, func(n string) bool { return strings.EqualFold(n, name) })
	}
	for _, name := range m.saidNow {
		if _, ok := m.Counts[name]; ok && !is(parts, name) {
			faults = append(faults, fault.Fault{
				File: d.Sheet.File, Code: "nowhere", Text: name, What: "the table has no part of that name, to say how many the engine has",
				Do: "name one of its parts: " + strings.Join(parts, ", "),
			})
		}
		if _, ok := m.Measured[name]; ok && !is(rows, name) {
			faults = append(faults, fault.Fault{
				File: d.Sheet.File, Code: "nowhere", Text: name, What: "the table has no row of that name, to say where it is measured",
				Do: "name a row as it stands in the table",
			})
		}
	}
	return faults
}

// Count adds how many of a part the engine has, as "Cylinder=4".
func (m *Mapping) Count(text string) error {
	name, says, ok := cutLast(text)
	n, err := strconv.Atoi(says)
	if !ok || err != nil || n < 1 || n > book.MaxNumber {
		return fmt.Errorf("%q does not say how many of a part there are: write it as %q, from 1 to %d", text, "Cylinder=4", book.MaxNumber)
	}
	if m.Counts == nil {
		m.Counts = map[string]int{}
	}
	for part := range m.Counts {
		if strings.EqualFold(part, name) {
			delete(m.Counts, part)
		}
	}
	m.Counts[name], m.saidNow = n, append(m.saidNow, name)
	return nil
}

// Measure adds where a row's thing is measured, as "Main journal diameter=3 places,
// front and rear, 0 and 90".
func (m *Mapping) Measure(text string) error {
	name, says, ok := cutLast(text)
	if !ok {
		return fmt.Errorf("%q does not say where a row is measured: write it as %q", text, "Main journal diameter=3 places, front and rear, 0 and 90")
	}
	if m.Measured == nil {
		m.Measured = map[string]string{}
	}
	for row := range m.Measured {
		if strings.EqualFold(row, name) {
			delete(m.Measured, row)
		}
	}
	m.Measured[name], m.saidNow = says, append(m.saidNow, name)
	return nil
}

func cutLast(text string) (name, says string, ok bool) {
	i := strings.LastIndex(text, "=")
	if i <= 0 {
		return "", "", false
	}
	name, says = strings.TrimSpace(text[:i]), strings.TrimSpace(text[i+1:])
	return name, says, name != "" && says != ""
}

// checkPlaces tells whether what is said of parts and places can be so.
func (m Mapping) checkPlaces() error {
	for _, name := range slices.Sorted(maps.Keys(m.Counts)) {
		if n := m.Counts[name]; n < 1 || n > book.MaxNumber {
			return fmt.Errorf("counts, %q: %d: an engine has from 1 to %d of a part", name, n, book.MaxNumber)
		}
	}
	_, err := m.places()
	return err
}

// A CountError says that a book has other than so many of a part already.
type CountError struct {
	Part      string
	Has, Said int
}

func (e *CountError) Error() string { return e.What() + ": " + e.Do() }

// What is what is wrong.
func (e *CountError) What() string {
	return fmt.Sprintf("the book has %d of the part %s already, and %d are said of it", e.Has, fault.Cut(e.Part), e.Said)
}

// Do is what to do.
func (e *CountError) Do() string {
	return fmt.Sprintf("what stands in the book stays; say %d, or change its positions there", e.Has)
}
