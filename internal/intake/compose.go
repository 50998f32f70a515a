package intake

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// A Title is what a book says of itself before its parts.
type Title struct{ Engine, Manual, Number, Revision, Date string }

// part is a part of the book that is being made.
type part struct {
	key, name string
	positions int // 0: nothing is said, and it stands alone
	features  []feature
}

type feature struct{ key, text string }

// A composer names parts, features and lines, each name once.
type composer struct {
	d     *Draft
	unit  quantity.Unit // the book's
	parts []*part
	byKey map[string]*part
	taken map[string]bool // features with their parts, and lines
	tried map[string]int  // how often a name was wanted again
	count map[string]int  // by part, how many the engine is said to have
	there map[string]*book.Part
	wrong error // why the parts can't be added to those that are there
}

func (d *Draft) composer(unit quantity.Unit) *composer {
	c := &composer{d: d, byKey: map[string]*part{}, taken: map[string]bool{}, tried: map[string]int{}, count: map[string]int{}, unit: unit}
	for _, p := range d.Parts() {
		c.count[p.Key] = p.Count
	}
	return c
}

// Book writes the book that the draft comes to. It loads.
func (d *Draft) Book(t Title) []byte {
	c := d.composer(d.unit)
	const usual = 320 // bytes of a line
	var lines strings.Builder
	lines.Grow(usual * len(d.Rows))
	for i := range d.Rows {
		c.line(&lines, &d.Rows[i])
	}
	var b bytes.Buffer
	b.Grow(lines.Len() + usual/2*len(d.Rows))
	b.WriteString("format: book/1\n")
	if t.Engine == "" {
		t.Engine = "Unnamed engine"
	}
	fmt.Fprintf(&b, "engine: %s\n", quote(t.Engine))
	var manual []string
	for _, f := range []struct{ key, value string }{{"title", t.Manual}, {"number", t.Number}, {"revision", t.Revision}, {"date", t.Date}} {
		if f.value != "" {
			manual = append(manual, f.key+": "+quote(f.value))
		}
	}
	if len(manual) > 0 {
		fmt.Fprintf(&b, "manual: {%s}\n", strings.Join(manual, ", "))
	}
	fmt.Fprintf(&b, "unit: %s\n", d.unit)
	if d.comma {
		b.WriteString("decimal: comma\n")
	}
	b.WriteString("\nparts:\n")
	for _, p := range c.parts {
		b.WriteString(p.text())
	}
	b.WriteString("\nlines:\n")
	b.WriteString(lines.String())
	return b.Bytes()
}

// text is the part as a book has it.
func (p *part) text() string {
	var b strings.Builder
	write(&b, "  ", p.key, ":\n    name: ", quote(p.name))
	if p.positions > 1 {
		write(&b, "\n    positions: ", strconv.Itoa(p.positions))
	}
	b.WriteString("\n    features:\n")
	for _, f := range p.features {
		write(&b, "      ", f.key, ": {", f.text, "}\n")
	}
	return b.String()
}

// line writes the lines that a row comes to: one, or two where it judges two
// forms at once.
func (c *composer) line(b *strings.Builder, r *Row) {
	p := c.part(r)
	r.Lines = nil
	ref := c.feature(p, r)
	kinds := []Kind{r.Kind}
	if r.Kind == TaperAndRound {
		kinds = []Kind{Taper, OutOfRound}
	}
	for _, k := range kinds {
		key := p.key + "-" + strings.Join(keyWords(r.stem), "-")
		if len(kinds) > 1 {
			key += "-" + k.String()
		}
		key = c.once(key, r.Ref)
		r.Lines = append(r.Lines, key)
		write(b, "  ", key, ":\n")
		put := func(key, value string) {
			if value != "" {
				write(b, "    ", key, ": ", quote(value), "\n")
			}
		}
		put("ref", r.Ref)
		put("page", r.Page)
		put("name", r.Name)
		put(judges(k), ref)
		put("new", r.New)
		put("service", r.Service)
		put("as", r.As)
		put("note", r.note())
		c.rest(b, r)
	}
}

// write is Fprint for text alone, which a book is made of.
func write(b *strings.Builder, all ...string) {
	for _, text := range all {
		b.WriteString(text)
	}
}

func (c *composer) rest(b *strings.Builder, r *Row) {
	if len(r.Holds) > 0 {
		b.WriteString("    hold:\n")
		for _, h := range r.Holds {
			fmt.Fprintf(b, "      %s: {text: %s", h.Cell, quote(h.Text))
			if len(h.May) > 0 {
				var may []string
				for _, m := range h.May {
					may = append(may, quote(m))
				}
				fmt.Fprintf(b, ", may: [%s]", strings.Join(may, ", "))
			}
			fmt.Fprintf(b, ", why: %s}\n", quote(h.Why))
		}
	}
	pair := func(key, extra string, cells Cells) {
		var all []string
		if extra != "" {
			all = append(all, extra)
		}
		if cells.New != "" {
			all = append(all, "new: "+quote(cells.New))
		}
		if cells.Service != "" {
			all = append(all, "service: "+quote(cells.Service))
		}
		fmt.Fprintf(b, "    %s: {%s}\n", key, strings.Join(all, ", "))
	}
	if was := (Cells{differs(r.Printed.New, r.New, r.holds("new")), differs(r.Printed.Service, r.Service, r.holds("service"))}); was != (Cells{}) {
		pair("printed", "", was)
	}
	if r.checks() {
		pair("also", "unit: "+quote(r.AlsoUnit.String()), r.Also)
	}
}

// checks tells whether the second unit can be held against the first: a weight
// beside a force can't.
func (r *Row) checks() bool {
	return r.Also != (Cells{}) && r.AlsoUnit != quantity.NoUnit && r.AlsoUnit.Kind() == r.Unit.Kind() && r.Kind != Relation
}

// note is what stands beside the row, and a second unit that checks nothing.
func (r *Row) note() string {
	if r.Also == (Cells{}) || r.checks() {
		return r.Why
	}
	also := "also printed: " + strings.TrimSpace(r.Also.New+" "+r.Also.Service)
	if r.AlsoUnit != quantity.NoUnit {
		also += ", in " + r.AlsoUnit.String()
	}
	return joined(r.Why, also)
}

// differs is a cell as printed where that is not what the book has.
func differs(printed, entered string, held bool) string {
	if held || printed == entered {
		return ""
	}
	return printed
}

// judges is the key of what a line of that kind judges.
func judges(k Kind) string {
	switch k {
	case OutOfRound:
		return "out-of-round"
	case Taper:
		return "taper"
	case RunOut:
		return "run-out"
	case Bend:
		return "bend"
	case Variation:
		return "spread"
	case Relation:
		return "check"
	}
	return "size"
}

// feature adds what a row measures to its part, and returns how the book names
// it. Every row has a feature of its own: which rows measure the same thing a
// person says.
func (c *composer) feature(p *part, r *Row) string {
	var f strings.Builder
	add := func(key, value string) { write(&f, ", ", key, ": ", value) }
	write(&f, "name: ", quote(r.Name))
	kind, wears := "length", r.Wears
	switch k := r.Kind; {
	case k == Outside:
		kind, wears = "outside", ""
	case k == Inside:
		kind, wears = "inside", ""
	case k.clearance(), k == Alignment && r.Unit.Kind() == quantity.LengthKind:
		kind, wears = "clearance", ""
	case k == RunOut, k == Bend:
		kind, wears = "dial", ""
	case k == RunOutRate, k == Alignment:
		kind, wears = "share", "larger"
		if r.Unit.Kind() == quantity.LengthKind {
			kind = "length"
		}
	case k == OutOfRound, k == Taper, k == TaperAndRound:
		kind, wears = "outside", ""
		if insideWords.fits(strings.ToLower(r.Name)) {
			kind = "inside"
		}
	case k == Variation:
		wears = "either"
	case k == WearOf:
		wears = "larger"
	case k == SpringLoad:
		kind = "force"
	case k == Torque:
		kind = "torque"
	case k == Angle:
		kind = "angle"
	case k == Mass:
		kind = "mass"
	case k == Pressure:
		kind = "pressure"
	case k == Relation:
		kind, wears = "check", ""
	}
	if of := kindOfUnit(r.Unit); kind == "length" && of != "" {
		kind = of // the words say a size, and the unit is of something else
		if wears == "" {
			wears = "either"
		}
	}
	r.Positions = p.positions
	at := r.At()
	if at.Places > 1 {
		add("places", strconv.Itoa(at.Places))
	}
	if len(at.Planes) > 0 {
		add("planes", listed(at.Planes))
	}
	if len(at.Directions) > 0 {
		add("directions", listed(at.Directions))
	}
	add("kind", kind)
	if wears != "" {
		add("wears", wears)
	}
	if r.Mean {
		add("counts", "mean")
	}
	if r.Unit != c.unit && r.Kind != Relation {
		add("unit", quote(r.Unit.String()))
	}
	key := featureKey(r.stem, p)
	if c.taken[p.key+"."+key] && r.Ref != "" {
		// Two rows in the same words have two references.
		key += strings.Join(keyWords(nameWords(r.Ref)), "")
	}
	key = strings.TrimPrefix(c.free(p.key+"."+key, "x"), p.key+".")
	c.taken[p.key+"."+key] = true
	p.features = append(p.features, feature{key, f.String()})
	return p.key + "." + key
}

func listed(names []string) string {
	var all []string
	for _, n := range names {
		all = append(all, quote(n))
	}
	return "[" + strings.Join(all, ", ") + "]"
}

var insideWords = words(`bores?|inside|cylinders?|liners?|sleeves?|bushings?|guides?|holes?|barrels?`,
	"bore", "inside", "cylinder", "liner", "sleeve", "bushing", "guide", "hole", "barrel")

// kindOfUnit is the kind of feature that is read in a unit of no length.
func kindOfUnit(u quantity.Unit) string {
	switch u.Kind() {
	case quantity.AngleKind:
		return "angle"
	case quantity.MassKind:
		return "mass"
	case quantity.ForceKind:
		return "force"
	case quantity.TorqueKind:
		return "torque"
	case quantity.PressureKind:
		return "pressure"
	case quantity.TimeKind:
		return "time"
	case quantity.FlowKind:
		return "flow"
	case quantity.CountKind:
		return "count"
	case quantity.RatioKind:
		return "share"
	}
	return ""
}

// partWords are what an engine is made of, by the words of a row; of several the
// one that stands first counts, and of two that begin together the longer. One of
// the words of "of" is in every text that names the part.
var partWords = []struct{ key, of, name, words string }{
	{"rod", "rod", "Connecting rod", `connecting rods?|conn? ?rods?|master rods?|link rods?|articulated rods?|rods?`},
	{"pin", "pin", "Piston pin", `piston pins?|wrist pins?|gudgeon pins?`},
	{"piston", "piston", "Piston", `pistons?`},
	{"ring", "ring", "Piston ring", `(piston |top |second |oil )?rings?`},
	{"crank", "crank journal", "Crankshaft", `crankshafts?|crank ?pins?|main journals?|rod journals?|crank`},
	{"cam", "cam", "Camshaft", `camshafts?|cams?|cam lobes?`},
	{"follower", "follower roller", "Cam follower", `cam followers?|cam rollers?|followers?`},
	{"tappet", "tappet lifter", "Tappet", `(hydraulic )?tappets?|(hydraulic )?lifters?`},
	{"rocker", "rocker", "Rocker arm", `rocker( arm)?s?( shafts?)?|rockers?`},
	{"guide", "guide", "Valve guide", `valve guides?|(stem to )?guides?`},
	{"seat", "seat", "Valve seat", `valve seats?( inserts?)?|seat inserts?|(intake|exhaust|inlet) valve seats?`},
	{"spring", "spring", "Valve spring", `((inner|outer|intermediate) )?(valve )?springs?`},
	{"valve", "valve stem", "Valve", `((intake|exhaust|inlet) )?valves?|valve stems?|(intake |exhaust )?stems?`},
	{"cylinder", "cylinder liner barrel", "Cylinder", `cylinders?( liners?)?|liners?|barrels?|rebored cylinders?`},
	{"head", "head injector", "Cylinder head", `cylinder heads?|heads?|crossheads?( guides?)?|injectors?( tips?)?`},
	{"main", "main", "Main bearing", `main bearings?`},
	{"case", "case block cover housing", "Crankcase", `crank ?cases?|cases?|blocks?|covers?|housings?`},
	{"gear", "gear", "Gear", `((timing|idler|camshaft|cam|crankshaft) )?gears?`},
	{"idler", "idler", "Idler", `idlers?( shafts?)?`},
	{"bearing", "bearing cup cone", "Bearing", `bearings?( cups?| cones?)?|thrust bearings?|cups?|cones?|rod bearings?`},
	{"bushing", "bush", "Bushing", `bushings?|bushes|bush`},
	{"flywheel", "flywheel", "Flywheel", `flywheels?`},
	{"damper", "damper", "Damper", `(vibration )?dampers?`},
	{"shaft", "shaft", "Shaft", `shafts?|((shifter|output|rear output) )?shafts?`},
	{"pump", "pump", "Oil pump", `(oil )?pumps?`},
	{"counterweight", "counterweight", "Counterweight", `counterweights?`},
	{"plug", "plug", "Plug", `plugs?`},
	{"dowel", "dowel", "Dowel", `dowels?( pins?)?`},
}

var partPatterns = func() (all []pattern) {
	for _, p := range partWords {
		all = append(all, words(`(`+p.words+`)`, strings.Fields(p.of)...))
	}
	return all
}()

// named gives a row the words that its names are made of, and the name of the part
// that it is of: by its group or by its words.
func (r *Row) named() {
	r.stem = nameWords(r.Name)
	if r.Part != "" {
		r.of = part{key: strings.Join(keyWords(nameWords(r.Part)), ""), name: r.Part}
		return
	}
	text := inFull(strings.ToLower(r.Name))
	r.of = part{key: "other", name: "Other parts"}
	at, long := len(text)+1, 0
	for i := range partPatterns {
		p := &partPatterns[i]
		if !p.may(text) {
			continue
		}
		m := p.is().FindStringSubmatchIndex(text)
		if m != nil && (m[2] < at || m[2] == at && m[3]-m[2] > long) {
			at, long = m[2], m[3]-m[2]
			r.of = part{key: partWords[i].key, name: partWords[i].name}
		}
	}
}

// part finds the part that a row is of.
func (c *composer) part(r *Row) *part {
	p := c.byKey[r.of.key]
	if p == nil {
		p = &part{key: r.of.key, name: r.of.name}
		c.parts, c.byKey[p.key] = append(c.parts, p), p
		p.positions = c.count[p.key]
		if there, ok := c.there[p.key]; ok {
			if n := max(1, there.Positions); p.positions > 0 && p.positions != n && c.wrong == nil {
				c.wrong = fmt.Errorf("the book has %d of the part %s already, and %d are said of it: what stands in the book stays; say %d, or change its positions there", n, quote(there.Name), p.positions, n)
			}
			p.positions = there.Positions
		}
	}
	return p
}

// nameWords are the words of a row's name that names are made of.
func nameWords(name string) []string {
	name = strings.ToLower(name)
	if i := strings.IndexByte(name, '('); i > 3 {
		name = name[:i] // what stands in brackets explains
	}
	var all []string
	for _, w := range strings.FieldsFunc(name, func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '.' && r != '+' }) {
		w = strings.ReplaceAll(strings.Trim(w, "."), ".", "")
		w = strings.ReplaceAll(w, "+", "plus")
		if w == "" || skipped[w] {
			continue
		}
		all = append(all, w[:min(len(w), maxWord)])
	}
	return all
}

const maxWord = 24 // no word of a key is longer

var skipped = map[string]bool{
	"the": true, "a": true, "an": true, "of": true, "and": true, "in": true, "at": true, "to": true, "for": true, "on": true, "with": true, "by": true, "per": true,
}

// keyWords are words as keys have them: each begins with a letter.
func keyWords(stem []string) []string {
	const most = 6
	var all []string
	for _, w := range stem {
		if w[0] >= '0' && w[0] <= '9' {
			w = "n" + w
		}
		if all = append(all, w); len(all) == most {
			break
		}
	}
	if len(all) == 0 {
		return []string{"row"}
	}
	return all
}

// short are words as the names of features have them.
var short = strings.NewReplacer(
	"outside diameter", "od", "inside diameter", "id", "diameter", "dia", "clearance", "clr", "crankshaft", "crank", "camshaft", "cam",
	"connecting rod", "rod", "standard", "std", "undersize", "under", "oversize", "over", "bushing", "bush", "bearing", "brg",
)

// featureKey makes a feature's name of a row's words, without its part's.
func featureKey(stem []string, p *part) string {
	text := short.Replace(strings.Join(stem, " "))
	var all []string
	for _, w := range strings.Fields(text) {
		if w != p.key && w != strings.ToLower(p.name) && len(all) < 5 {
			all = append(all, w)
		}
	}
	if len(all) == 0 {
		all = keyWords(stem)
	}
	key := strings.Join(all, "")
	if key[0] >= '0' && key[0] <= '9' {
		key = "n" + key
	}
	return key
}

// once makes a line's key that no other line has: of two rows in the same words
// by their references.
func (c *composer) once(key, ref string) string {
	if c.taken[key] && ref != "" {
		key += "-" + strings.Join(keyWords(nameWords(ref)), "-")
	}
	key = c.free(key, "-x")
	c.taken[key] = true
	return key
}

// free is a name that is not taken: with a number behind it if need be.
func (c *composer) free(name, mark string) string {
	if !c.taken[name] {
		return name
	}
	for n := max(2, c.tried[name]); ; n++ {
		if free := name + mark + strconv.Itoa(n); !c.taken[free] {
			c.tried[name] = n + 1
			return free
		}
	}
}

// bare tells text that YAML takes as it stands, in a list as well.
func bare(text string) bool {
	for i := range len(text) {
		c := text[i]
		switch {
		case c >= '0' && c <= '9', c >= 'A' && c <= 'Z', c >= 'a' && c <= 'z':
		case i > 0 && (c == '.' || c == '(' || c == ')' || c == '+'):
		case i > 0 && i < len(text)-1 && (c == ' ' || c == '_' || c == '/' || c == '-'):
		default:
			return false
		}
	}
	return text != "" && text != "null" && text != "Null" && text != "NULL"
}

// quote writes text as YAML reads it back: with quotes where it would be
// something else without.
func quote(text string) string {
	if bare(text) {
		return text
	}
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\ufeff' || r == '\ufffe' || r == '\uffff' {
			return ' ' // which YAML does not take
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
	return `"` + escaped.Replace(text) + `"`
}

var escaped = strings.NewReplacer(`\`, `\\`, `"`, `\"`)
