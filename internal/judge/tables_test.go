package judge_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/reading"
)

// testdata/tables holds 246 rows of public manuals (docs/sources.md names
// them): the cells as they are printed, and beside them what they mean, as
// signed figures. Each row becomes a line of a book, two where it prints one
// limit for two things, and readings are graded at and just past every figure.
// The grades wanted are reckoned here, in ratios, from the signed figures; the
// book is made of the printed cells.

// A tableRow is one row of a table, by column.
type tableRow map[string]string

func (r tableRow) name() string { return r["table"] + " " + r["ref"] }

// tables reads the nine tables.
func tables(t testing.TB) (all []tableRow) {
	t.Helper()
	files, err := filepath.Glob("testdata/tables/*.csv")
	if err != nil || len(files) != 9 {
		t.Fatalf("%d tables, %v", len(files), err)
	}
	for _, file := range files {
		f, err := os.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		for _, cells := range rows[1:] {
			row := tableRow{"table": filepath.Base(file)[:2]}
			for i, column := range rows[0] {
				row[column] = cells[i]
			}
			all = append(all, row)
		}
	}
	return all
}

// A cellPair is what a person writes for the two cells of a row that can't go
// into a book as they are printed, and why: a part of the fault that the
// printed ones make.
type cellPair struct{ new, service, fault string }

// rewritten are those rows, beside the ones that [asWritten] knows by rule.
var rewritten = map[string]cellPair{
	"G1 CK-26":  {"0.1915 - 0.1945", "see crankshaft end clearance", "not a number"},
	"G2 OOR":    {"max 0.0020", "0.0030", "one figure alone"},
	"G2 CHOKE":  {"", "max 0", "more than one way"},
	"G2 A new":  {"", "0.0005 per inch", "unit missing or unknown"},
	"G2 A used": {"", "0.0010 per inch", "unit missing or unknown"},
	"G2 B new":  {"", "0.0005 per inch", "unit missing or unknown"},
	"G2 B used": {"", "0.0010 per inch", "unit missing or unknown"},
	"G2 5c":     {"max 1.28", "none", "one figure alone"},
	"G2 6c":     {"max 1.34", "none", "one figure alone"},
	"G2 7c":     {"max 1.47", "none", "one figure alone"},
	"G3 8":      {"0.0012 - 0.0037", "0.0057", "not a number"},
	"G3 16":     {"2.988 - 3.003", "none", "not a number"},
	"G4 D":      {"4.000 - 4.001", "same as new", "not a number"},
	"G4 M":      {"4.000 - 4.0010", "same as new", "not a number"},
	"G4 A4":     {"1.000 - 1.0012", "1.0020", "not a number"},
	"G4 P1":     {"0.9949 - 0.9961", "0.9941", "more than one way"},
	"G5 22":     {"0.001T - 0.001L", "", "more than one way"},
	"G8 K2":     {"max 0.01", "0.03", "one figure alone"},
}

// refused are rows whose limits contradict themselves in print, which a book
// must not take, with a part of the fault; what is wrong is in the manuals.
var refused = map[string]string{
	"G1 BL-B": "more than one way",            // 74.915 - 7.4935, a point misplaced
	"G3 18":   "narrower than the new limits", // service 0.0003 below new 0.0005-0.0025
	"G4 A2":   "narrower than the new limits", // service 4.0010 inside new 3.995-4.005
	"G4 M-A":  "narrower than the new limits", // service 0.0010L inside new 0.0015T-0.005L
}

// unsaid are the rows that are no limit: one nominal figure without a
// tolerance. A book can show them as a reference; nothing can be graded.
var unsaid = []string{"G1 SP-f", "G1 SP-il"}

// asWritten returns the cells as a person enters them; changed is false where
// they are the printed ones.
func asWritten(r tableRow) (c cellPair, changed bool) {
	if c, ok := rewritten[r.name()]; ok {
		return c, true
	}
	c = cellPair{new: r["printed_new"], service: r["printed_limit"]}
	switch {
	case r["limit_type"] == "amt" && c.new != "":
		// An amount of wear in a column of sizes.
		c.service, c.fault = "wear "+c.service, "may be an amount of wear"
		if shapeOf(r).side > 0 {
			c.fault = "narrower than the new limits"
		}
	case r["limit_type"] == "new":
		// (*) is, by the page's legend, to be replaced when outside new limits.
		c.service, c.fault = "same as new", "not a number"
	case r["edge"] == "open" && r["limit_type"] == "min":
		// The wording stands elsewhere in the manual; the cell has the figure.
		c.service = "reject " + c.service + " or less"
	case r["edge"] == "open":
		c.service = "reject " + c.service + " or more"
	default:
		return c, false
	}
	return c, true
}

// A shape says how a row is measured.
type shape struct {
	features string   // of the part p; # stands for the row's number
	judges   []string // the lines
	side     int      // held at its low side −1, its high side +1, both 0
	// readings are what makes the line's figure x: by feature, plane and
	// direction.
	readings func(x *big.Rat) map[string]*big.Rat
}

var inch = big.NewRat(1, 1)

func plus(a, b *big.Rat) *big.Rat  { return new(big.Rat).Add(a, b) }
func times(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

// probes is how many values a row is graded at, at most: a position each.
const probes = 24

func shapeOf(r tableRow) shape {
	one := func(kind string, side int) shape {
		return shape{"f#: {" + kind + "}", []string{"size: p.f#"}, side, func(x *big.Rat) map[string]*big.Rat {
			return map[string]*big.Rat{"f#": x}
		}}
	}
	// two readings that differ by x
	apart := func(features string, at, other string, factor int64, judges ...string) shape {
		return shape{features, judges, 1, func(x *big.Rat) map[string]*big.Rat {
			return map[string]*big.Rat{at: inch, other: plus(inch, times(x, big.NewRat(factor, 1)))}
		}}
	}
	// A size that wears the way its limit lies; where it has none, the way its
	// one new figure lies, else either.
	wears, side := ", wears: either", 0
	switch {
	case r["limit_type"] == "min":
		wears, side = ", wears: smaller", -1
	case r["limit_type"] == "max", r["limit_type"] == "none" && r["signed_new_min"] == "":
		wears, side = ", wears: larger", 1
	}
	switch kind := r["kind"]; kind {
	case "size_external", "size_over_pins":
		return one("kind: outside", -1)
	case "size_internal":
		s := one("kind: inside", 1)
		if strings.Contains(strings.ToLower(r["description"]), "average") {
			s.features = "f#: {kind: inside, counts: mean, directions: [0, 90]}"
			s.readings = func(x *big.Rat) map[string]*big.Rat {
				off := big.NewRat(12, 10_000)
				return map[string]*big.Rat{"f#.-.0": plus(x, off), "f#.-.90": plus(x, off.Neg(off))}
			}
		}
		return s
	case "size_width":
		if r["limit_type"] == "amt" { // a groove
			return one("kind: inside", 1)
		}
		return one("kind: length"+wears, side)
	case "size_thickness", "size_length", "size_depth", "size_height", "spring_length":
		return one("kind: length"+wears, side)
	case "clearance", "fit":
		return shape{"b#: {kind: inside}, s#: {kind: outside}", []string{"fit: p.b# - p.s#"}, 0, func(x *big.Rat) map[string]*big.Rat {
			return map[string]*big.Rat{"b#": plus(inch, x), "s#": inch}
		}}
	case "side_clearance", "end_clearance", "backlash", "end_gap":
		return one("kind: clearance", 0)
	case "angle", "torque":
		return one("kind: "+kind+", unit: "+r["unit"]+", wears: either", 0)
	case "spring_load":
		return one("kind: force, unit: "+r["unit"]+", wears: either", 0)
	case "out_of_round":
		return apart("f#: {kind: outside, directions: [0, 90]}", "f#.-.0", "f#.-.90", 1, "out-of-round: p.f#")
	case "taper":
		return apart("f#: {kind: outside, planes: [front, rear]}", "f#.front", "f#.rear", 1, "taper: p.f#")
	case "taper_oor":
		s := apart("f#: {kind: outside, directions: [0, 90], planes: [front, rear]}", "", "", 1, "out-of-round: p.f#", "taper: p.f#")
		s.readings = func(x *big.Rat) map[string]*big.Rat {
			return map[string]*big.Rat{"f#.front.0": inch, "f#.front.90": plus(inch, x), "f#.rear.0": plus(inch, x), "f#.rear.90": inch}
		}
		return s
	case "runout":
		return apart("f#: {kind: dial, directions: [0, 90]}", "f#.-.0", "f#.-.90", 1, "run-out: p.f#")
	case "bend":
		return apart("f#: {kind: dial, directions: [0, 90]}", "f#.-.0", "f#.-.90", 2, "bend: p.f#")
	case "alignment_per_length":
		return apart("f#: {kind: length, wears: either, planes: {left: 0, right: 4}}", "f#.left", "f#.right", 4, "taper-rate: p.f#")
	case "runout_per_length": // what a dial shows over the radius, divided by hand
		return one("kind: share, wears: larger, unit: "+r["unit"], 1)
	case "size_variation":
		var groups []string
		for i := range probes {
			groups = append(groups, fmt.Sprintf("[p-%d.f#-1, p-%[1]d.f#-2]", i+1))
		}
		return apart("f#: {kind: length, wears: either, places: 2}", "f#-1", "f#-2", 1, "spread: p.f#, groups: ["+strings.Join(groups, ", ")+"]")
	case "relation":
		s := apart("f#: {kind: inside, planes: [flange, head]}", "f#.flange", "f#.head", 1, "difference: p.f#.head - p.f#.flange")
		s.side = 0
		return s
	case "wear": // worn travel over unworn end: the new size is not printed
		s := apart("f#: {kind: inside, planes: [unworn, worn]}", "f#.unworn", "f#.worn", 1, "difference: p.f#.worn - p.f#.unworn")
		s.side = 0
		return s
	}
	panic("no shape for a " + r["kind"])
}

// entry writes a row's part of a book: features and lines.
func entry(r tableRow, n int, c cellPair) (features, lines string) {
	s := shapeOf(r)
	number := func(text string) string { return strings.ReplaceAll(text, "#", fmt.Sprint(n)) }
	for i, what := range s.judges {
		line := fmt.Sprintf("  r%d-%c: {ref: %q, page: %q, name: %q, %s", n, 'a'+i, r["ref"], r["page"], r["description"], number(what))
		if c.new != "" {
			line += fmt.Sprintf(", new: %q", c.new)
		}
		if c.service != "" {
			line += fmt.Sprintf(", service: %q", c.service)
		}
		for _, bushing := range []string{"new", "used"} {
			if strings.HasSuffix(r["description"], bushing+" pin bushing") {
				line += ", when: {bushing: " + bushing + "}"
			}
		}
		lines += line + "}\n"
	}
	return "      " + strings.ReplaceAll(number(s.features), "}, ", "}\n      ") + "\n", lines
}

func tableBook(unit, features, lines string) []byte {
	return []byte("format: book/1\nengine: As in the manuals\nunit: " + unit + "\nconditions: {bushing: [new, used]}\n" +
		"parts:\n  p:\n    positions: " + fmt.Sprint(probes) + "\n    features:\n" + features + "lines:\n" + lines)
}

func unitOf(r tableRow) string {
	if r["unit"] == "mm" {
		return "mm"
	}
	return "in"
}

// A meaning is what a row says, from its signed figures.
type meaning struct {
	side     int // as in shape
	new      [2]*big.Rat
	hasNew   bool
	last     [2]*big.Rat // the service limits, the stricter reading of them
	hasLast  bool
	open     bool        // the equal value is out, of last
	generous [2]*big.Rat // the other reading
}

func rat(text string) *big.Rat {
	if text == "" {
		return nil
	}
	r, ok := new(big.Rat).SetString(strings.Replace(text, "+", "", 1))
	if !ok {
		panic("not a number: " + text)
	}
	return r
}

func meaningOf(r tableRow, side int) meaning {
	m := meaning{side: side, open: r["edge"] == "open"}
	m.new = [2]*big.Rat{rat(r["signed_new_min"]), rat(r["signed_new_max"])}
	m.hasNew = m.new[0] != nil || m.new[1] != nil
	m.last = m.new
	service, amount := rat(r["signed_service"]), rat(r["wear_amount"])
	minus := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
	switch r["limit_type"] {
	case "min":
		m.last[0], m.hasLast = service, true
	case "max":
		m.last[1], m.hasLast = service, true
	case "rule": // no figure stands there: head less flange, not above nought
		m.last[1], m.hasLast = new(big.Rat), true
	case "tol":
		m.last, m.hasLast, m.hasNew = [2]*big.Rat{minus(m.new[0], amount), plus(m.new[0], amount)}, true, false
	case "amt":
		m.hasLast = true
		switch {
		case !m.hasNew:
			m.last[1] = amount
		case side < 0:
			m.last[0], m.generous[0] = minus(m.new[1], amount), minus(m.new[0], amount)
		default:
			m.last[1], m.generous[1] = plus(m.new[0], amount), plus(m.new[1], amount)
		}
	}
	return m
}

func (m *meaning) within(x *big.Rat, r [2]*big.Rat, open bool) bool {
	inside := func(edge *big.Rat, sign int) bool {
		c := sign * x.Cmp(edge)
		return c > 0 || c == 0 && !open
	}
	return (m.side > 0 || r[0] == nil || inside(r[0], 1)) && (m.side < 0 || r[1] == nil || inside(r[1], -1))
}

// grade is what a value is worth, "held" where the two readings of an amount of
// wear part.
func (m *meaning) grade(x *big.Rat) string {
	doubt := m.generous[0] != nil || m.generous[1] != nil
	switch {
	case m.hasNew && m.within(x, m.new, false):
		return "new"
	case m.hasLast && m.within(x, m.last, m.open):
		return "serviceable"
	case doubt && m.within(x, m.generous, false):
		return "held"
	}
	return "beyond"
}

// values are every figure of the row, one unit of its last printed decimal to
// both sides of it, and where it is a length 0.1 nm to both sides.
func (m *meaning) values(r tableRow, sh shape) []*big.Rat {
	var all []*big.Rat
	decimals := 0
	for _, c := range []string{"signed_new_min", "signed_new_max", "signed_service", "wear_amount"} {
		if _, after, ok := strings.Cut(r[c], "."); ok {
			decimals = max(decimals, len(after))
		}
	}
	if r["limit_type"] == "rule" {
		decimals = 4
	}
	count := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals)), nil))
	steps := []*big.Rat{new(big.Rat), count}
	switch {
	case r["kind"] == "alignment_per_length":
		steps = append(steps, big.NewRat(1, 4*254_000_000)) // 0.1 nm over 4 in
	case r["unit"] == "in" && r["kind"] != "bend":
		steps = append(steps, big.NewRat(1, 254_000_000))
	case r["unit"] == "mm":
		steps = append(steps, big.NewRat(1, 10_000_000))
	}
	for _, edge := range slices.Concat(m.new[:], m.last[:], m.generous[:]) {
		for i, step := range steps {
			for _, sign := range []int64{1, -1} {
				if edge == nil || i == 0 && sign < 0 {
					continue
				}
				x := plus(edge, times(step, big.NewRat(sign, 1)))
				form := len(sh.judges) > 1 || !strings.HasPrefix(sh.judges[0], "size") && !strings.HasPrefix(sh.judges[0], "fit") && !strings.HasPrefix(sh.judges[0], "diff")
				if form && x.Sign() < 0 || slices.ContainsFunc(all, func(y *big.Rat) bool { return y.Cmp(x) == 0 }) {
					continue
				}
				all = append(all, x)
			}
		}
	}
	return all
}

// shownAs writes a reading: in the row's unit where six decimals hold it, else
// in millimetres, where seven hold every length.
func shownAs(x *big.Rat, unit string) string {
	if text := x.FloatString(6); rat(text).Cmp(x) == 0 {
		return text + " " + unit
	}
	if unit == "in" {
		x = times(x, big.NewRat(254, 10))
	}
	text := x.FloatString(7)
	if rat(text).Cmp(x) != 0 {
		panic("not a whole count: " + x.String())
	}
	return text + " mm"
}

func TestTables(t *testing.T) {
	rows, grades := 0, 0
	byTable := map[string][]tableRow{}
	for _, r := range tables(t) {
		rows++
		if refused[r.name()] == "" && !slices.Contains(unsaid, r.name()) {
			byTable[r["table"]] = append(byTable[r["table"]], r)
		}
	}
	if left := rows - len(refused) - len(unsaid); rows != 246 || left != 240 {
		t.Errorf("%d rows of %d are expressed, want 240 of 246", left, rows)
	}
	for name, rows := range byTable {
		t.Run(name, func(t *testing.T) {
			var features, lines, readings strings.Builder
			readings.WriteString("spot,value\n")
			want, about := map[string]string{}, map[string]string{} // by instance
			for n, r := range rows {
				c, _ := asWritten(r)
				f, l := entry(r, n, c)
				features.WriteString(f)
				lines.WriteString(l)
				sh := shapeOf(r)
				m := meaningOf(r, sh.side)
				values := m.values(r, sh)
				if len(values) == 0 || len(values) > probes {
					t.Fatalf("%s: %d values to grade", r.name(), len(values))
				}
				for i, x := range values {
					for k := range sh.judges {
						id := fmt.Sprintf("r%d-%c-%d", n, 'a'+k, i+1)
						want[id], about[id] = m.grade(x), r.name()+" at "+x.FloatString(9)
					}
					for spot, v := range sh.readings(x) {
						unit := r["unit"]
						if r["kind"] == "alignment_per_length" {
							unit = "in" // the gap, over 4 in
						}
						fmt.Fprintf(&readings, "p-%d.%s,%s\n", i+1, strings.ReplaceAll(spot, "#", fmt.Sprint(n)), shownAs(v, unit))
					}
				}
			}
			b := loadBook(t, tableBook(unitOf(rows[0]), features.String(), lines.String()))
			here := loadReadings(t, b, []byte(readings.String())).At
			got := map[string]string{}
			for _, bushing := range []string{"new", "used"} {
				for _, v := range judge.Book(b, judge.Given{Conditions: map[string]string{"bushing": bushing}}, here) {
					id := v.Line.ID(v.At)
					if want[id] == "" {
						continue // a position without readings
					}
					got[id] = v.Grade.String()
					for _, a := range v.Asks {
						switch {
						case a.Kind == judge.Hold && v.Grade == judge.NoGrade:
							got[id] = "held"
						case a.Kind != judge.Query:
							t.Errorf("%s: asks %d", about[id], a.Kind)
						}
					}
					if v.Open() || v.Ungraded != "" {
						t.Errorf("%s: open, or not graded", about[id])
					}
				}
			}
			for id, grade := range want {
				if got[id] != grade {
					t.Errorf("%s: %s, want %s", about[id], got[id], grade)
				}
			}
			grades += len(want)
		})
	}
	if grades != 2736 {
		t.Errorf("%d grades were held against the tables, want 2736", grades)
	}
}

// contradiction tells why a line of the book is held, and that it is then not
// graded but asked about.
func contradiction(t *testing.T, b *book.Book) (why error) {
	t.Helper()
	for _, l := range b.Lines {
		if l.Contradiction == "" {
			continue
		}
		why = errors.New(l.Contradiction)
		v := judge.Line(l, 0, func(book.SpotID) []reading.Reading { return nil })
		if v.Ungraded == "" || len(v.Asks) != 1 || !strings.Contains(judge.Words{Book: b}.Ask(&v, v.Asks[0], nil), l.Contradiction) {
			t.Errorf("%s contradicts itself and is %+v", l.Name, v)
		}
	}
	return why
}

// The cells as printed: those that stand in a book unchanged are taken, and of
// the others all are refused, or held where they contradict each other, but where only wording elsewhere in the manual
// changes what the figure means.
func TestTablesAsPrinted(t *testing.T) {
	unchanged := 0
	for _, r := range tables(t) {
		c, changed := asWritten(r)
		switch {
		case refused[r.name()] != "":
			c.fault = refused[r.name()]
		case slices.Contains(unsaid, r.name()):
			c.fault = "one figure alone"
		case !changed:
			unchanged++
		}
		f, l := entry(r, 1, cellPair{new: r["printed_new"], service: r["printed_limit"]})
		b, err := book.Load("book.yaml", tableBook(unitOf(r), f, l))
		if err == nil {
			err = contradiction(t, b)
		}
		switch {
		case c.fault == "" && err != nil:
			t.Errorf("%s: %v", r.name(), err)
		case c.fault != "" && (err == nil || !strings.Contains(err.Error(), c.fault)):
			t.Errorf("%s: %q, %q make the fault %v, want %q", r.name(), r["printed_new"], r["printed_limit"], err, c.fault)
		}
	}
	if unchanged != 202 {
		t.Errorf("%d rows are taken as printed, want 202", unchanged)
	}
}
