package book

import (
	"errors"
	"fmt"
	"reflect"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"tenths/internal/fault"
	"tenths/metrology/quantity"
)

// FormatName is the format that books are written in.
const FormatName = "book/1"

// MaxSize bounds a book's file, in bytes; the largest printed table is a small
// part of it.
const MaxSize = 8 << 20

// maxSpots bounds what a book may name in all.
const maxSpots = 100_000

// The file as it is written.
type (
	rawBook struct {
		Format     text                  `book:"format" enum:"book/1" need:"yes"`
		Engine     text                  `book:"engine" need:"yes" doc:"the model the book is for"`
		Manual     rawManual             `book:"manual" doc:"the text it was entered from"`
		Unit       text                  `book:"unit" need:"yes" doc:"what lengths are in where nothing else is said"`
		Decimal    text                  `book:"decimal" enum:"point,comma" doc:"how this file writes its figures"`
		Numbering  rawNumbering          `book:"numbering" doc:"which end is number one, and what left means"`
		Conditions []named[texts]        `book:"conditions" keys:"name" doc:"what lines may depend on, each with the words it can be"`
		Amendments []named[rawAmendment] `book:"amendments" keys:"name" doc:"directives, bulletins and letters that change lines"`
		Parts      []named[rawPart]      `book:"parts" keys:"name" need:"yes" doc:"the parts that are measured"`
		Layout     rawLayout             `book:"layout" doc:"where everything is, for drawing the engine"`
		Sets       []named[rawSet]       `book:"sets" keys:"words" doc:"what was made or matched to belong together"`
		Lines      rawLines              `book:"lines" need:"yes" doc:"the lines of the table of limits"`
	}
	rawManual struct {
		Title    text `book:"title"`
		Number   text `book:"number"`
		Revision text `book:"revision"`
		Date     text `book:"date"`
	}
	rawAmendment struct {
		Number text `book:"number" need:"yes"`
		Date   text `book:"date" need:"yes"`
		Title  text `book:"title" need:"yes" doc:"what it changes"`
	}
	rawPart struct {
		Name      text                `book:"name"`
		Positions text                `book:"positions" doc:"how many, if they are numbered"`
		Numbering rawNumbering        `book:"numbering" doc:"where it is numbered otherwise than the engine"`
		Shape     text                `book:"shape" enum:"shaft,rod,barrel,piston,pin,case,valve,spring,gear,plain" doc:"what it looks like, for drawing it"`
		Material  text                `book:"material" doc:"what it is made of: steel"`
		Treatment text                `book:"treatment" doc:"what was done to it: nitrided"`
		Features  []named[rawFeature] `book:"features" keys:"name" need:"yes" doc:"what is measured on it"`
	}
	rawFeature struct {
		Name       text             `book:"name"`
		Kind       text             `book:"kind" need:"yes" enum:"outside,inside,length,clearance,dial,check,angle,mass,force,torque,pressure,time,flow,count,share"`
		Wears      text             `book:"wears" doc:"which way it goes as it wears, where that is not plain" enum:"smaller,larger,either"`
		Counts     text             `book:"counts" enum:"worst,mean" doc:"which of its readings counts"`
		Unit       text             `book:"unit" doc:"of its readings, if not the book's"`
		Places     text             `book:"places" doc:"how many, if they are numbered"`
		Planes     rawPlanes        `book:"planes" doc:"names along the part, or each with its place along it"`
		Directions []text           `book:"directions" doc:"names around the part"`
		Steps      []named[rawStep] `book:"steps" keys:"mark" doc:"undersizes or oversizes it may be at, by their mark"`
		Made       []text           `book:"made-of" doc:"features of which an installed bore is made: when one is changed, its readings have ended"`
	}
	rawStep struct {
		Shift text           `book:"shift" doc:"what it adds to the standard size: -0.010 for a shaft ground under"`
		Mates []named[texts] `book:"mates" keys:"feature" doc:"by feature, the steps that it may run with"`
	}
	// rawPlanes is a list of names, or a mapping from each to its place along
	// the part.
	rawPlanes struct {
		names, along []text
		at           text
	}
	rawLine struct {
		Ref        text              `book:"ref" doc:"the manual's reference: shown, never a key"`
		Page       text              `book:"page"`
		Name       text              `book:"name" need:"yes" doc:"as the manual prints it"`
		Note       text              `book:"note"`
		Size       text              `book:"size" doc:"judges a feature: part.feature"`
		Fit        text              `book:"fit" doc:"judges a signed sum: case.main - crank.main"`
		OutOfRound text              `book:"out-of-round" doc:"judges the greatest difference across directions in a plane"`
		Taper      text              `book:"taper" doc:"judges the greatest difference along one direction"`
		TaperRate  text              `book:"taper-rate" doc:"judges difference over distance between two planes: ..0.0005 per inch"`
		RunOut     text              `book:"run-out" doc:"judges a dial: greatest less smallest"`
		Bend       text              `book:"bend" doc:"judges a dial: half of greatest less smallest"`
		Difference text              `book:"difference" doc:"judges a signed sum of means, of planes if named: cylinder.bore.head - cylinder.bore.flange"`
		Spread     text              `book:"spread" doc:"judges the greatest less the smallest over a group of places"`
		Mean       text              `book:"mean" doc:"judges the mean over a group of places"`
		Total      text              `book:"total" doc:"judges the sum over a group of places"`
		SameStep   text              `book:"same-step" doc:"judges that a group of places is all at one step"`
		Check      text              `book:"check" doc:"judges a yes or no"`
		Want       text              `book:"want" enum:"yes,no" doc:"of a check: what is well"`
		Planes     []text            `book:"planes" doc:"the only planes that are looked at"`
		Groups     [][]text          `book:"groups" doc:"of a spread, mean, total or same-step: which places belong together; all in one if left out"`
		Mates      []named[texts]    `book:"mates" keys:"feature" doc:"by feature, which of its places the pairs have in turn"`
		Select     []text            `book:"select" doc:"of a fit: the sizes of selected washers or shims, one of which is taken off"`
		Unit       text              `book:"unit" doc:"what its limits are in, if not the feature's"`
		New        text              `book:"new" doc:"limits of a new part: 2.2490..2.2500, 0.0010L..0.0030L"`
		Service    text              `book:"service" doc:"limit of a used part: 2.2470, 0.0045L, none, same as new, wear 0.001 from min"`
		Also       rawAlso           `book:"also" doc:"the same limits in a second printed unit, which only checks"`
		Tiers      []named[text]     `book:"tiers" doc:"instead of new and service: each tier, from the narrowest"`
		Bands      []named[text]     `book:"bands" doc:"instead of new and service: use, rework, and above that reject"`
		Steps      []named[rawCells] `book:"steps" keys:"mark" doc:"by mark, limits of their own for a step"`
		Moves      rawMoves          `book:"moves" doc:"its upper limits grow with another reading"`
		When       []named[rawWords] `book:"when" keys:"name" doc:"the conditions it is for, each a word or a list of words"`
		Serials    []text            `book:"serials" doc:"the engines it is for: 1001..1999, ..1000, 2000.., A-101..A-250"`
		As         text              `book:"as" doc:"how it is measured: temperature, torque, zone"`
		Amendment  text              `book:"amendment" doc:"the amendment that governs it"`
		Replaces   text              `book:"replaces" doc:"the line that it stands in for"`
		Governor   text              `book:"governed-by" doc:"the line that governs where it has been measured"`
		Hold       rawHolds          `book:"hold" doc:"cells that can't be read for certain: the line waits for a person and is not graded"`
		Printed    rawPrinted        `book:"printed" doc:"the row as it is printed, where that is not what was entered"`
		Graded     text              `book:"graded" enum:"yes,no" doc:"no: only the fit is judged, either part may wear"`

		link *Link // that a person has confirmed
	}
	rawCells struct {
		New     text `book:"new" doc:"limits of a new part: 2.2490..2.2500, 0.0010L..0.0030L"`
		Service text `book:"service" doc:"limit of a used part: 2.2470, 0.0045L, none, same as new, wear 0.001 from min"`
	}
	rawAlso struct {
		Unit    text `book:"unit" need:"yes" doc:"what these are in"`
		New     text `book:"new"`
		Service text `book:"service"`
	}
	rawMoves struct {
		With text `book:"with" doc:"the other reading: part.feature"`
		From text `book:"from" doc:"the size from which the limits grow"`
		By   text `book:"by" doc:"how much for each unit, as the manual prints it"`
	}
	texts []text
	// rawWords is one word, or a list of them.
	rawWords struct{ words []text }
)

// rawLines are a book's lines, each read when it is wanted: as they are written
// they take more room than all that they come to.
type rawLines struct{ all []unread }

// An unread is a line that has not been read yet, or what is left of one that
// has been.
type unread struct {
	key                text
	value              *node
	raw                *named[rawLine] // where a person has settled something of it
	replaces, governor text
}

func (l *rawLines) decode(d *decoder, n *node, path string) {
	d.pairs(n, path, func(key text, value *node) {
		l.all = append(l.all, unread{key: key, value: value})
	})
}

// read reads a line.
func (d *decoder) read(l *unread, to *named[rawLine]) {
	*to = named[rawLine]{Key: l.key}
	d.under(l.value, "lines", l.key.value, reflect.ValueOf(&to.Value).Elem())
	*l.value = node{}
}

// kept reads a line of which a person has settled something, once.
func (d *decoder) kept(l *unread) *rawLine {
	if l.raw == nil {
		l.raw = &named[rawLine]{}
		d.read(l, l.raw)
	}
	return &l.raw.Value
}

func (w *rawWords) decode(d *decoder, n *node, path string) {
	if n.kind != sequenceNode {
		var one text
		d.into(n, path, reflect.ValueOf(&one).Elem())
		if one.set() {
			w.words = []text{one}
		}
		return
	}
	d.into(n, path, reflect.ValueOf(&w.words).Elem())
}

func (p *rawPlanes) decode(d *decoder, n *node, path string) {
	p.at = at(n)
	if n.kind != mappingNode {
		if n.kind != sequenceNode {
			d.shape(n, path, "a list of names, or names with their places along the part")
			return
		}
		for i := range n.content {
			c := &n.content[i]
			if c.kind != scalarNode {
				d.shape(c, path, "one value")
				continue
			}
			p.names = append(p.names, at(c))
		}
		return
	}
	d.pairs(n, path, func(key text, value *node) {
		if value.kind != scalarNode {
			d.shape(value, path, "one value")
			return
		}
		p.names = append(p.names, key)
		p.along = append(p.along, at(value))
	})
}

// Load reads a book, and what was settled of it, joined as [Join] does. name is
// the book's file, for its faults; those of what was settled are told of the
// file beside it. Where anything is wrong the error is a fault list with all of
// it, and no book is returned.
func Load(name string, data []byte) (*Book, error) {
	if len(data) > MaxSize {
		return nil, fmt.Errorf("%s: larger than %d bytes: a book is one engine's table of limits", name, MaxSize)
	}
	own, beside, before := split(data)
	d := &decoder{file: name, format: FormatName, before: before}
	var raw rawBook
	var settled rawSettled
	d.document(own, &raw)
	if before > 0 {
		d.settled(beside, before, &settled)
	}
	b := d.resolve(&raw, &settled)
	if len(d.faults) > 0 {
		d.faults.Sort()
		for i := range d.faults {
			if f := &d.faults[i]; before > 0 && f.Line > before {
				f.File, f.Line = SettledName(name), f.Line-before
			}
		}
		return nil, d.faults
	}
	return b, nil
}

type resolver struct {
	*decoder
	book     *Book
	features map[string]*Feature           // nil for one in fault
	lines    map[string]bool               // every key that a line has, in fault or not
	sitesOf  map[*Feature]map[string]*Site // by name, of those that lines name
	spots    int
	partsBad bool // some of the parts could not be read: don't blame the lines
}

func (d *decoder) resolve(raw *rawBook, settled *rawSettled) *Book {
	n := len(raw.Lines.all)
	r := &resolver{decoder: d, features: make(map[string]*Feature, n), lines: make(map[string]bool, n), book: &Book{
		ids: make(map[string]SpotID, n), lines: make(map[string]*Line, n),
	}}
	b := r.book
	top := text{"", 1, 1}
	switch {
	case !raw.Format.set():
		if !slices.Contains(d.broken, "format") {
			d.fault(top, "format", "missing", "the book does not say its format", "add the line \"format: "+FormatName+"\"")
		}
	case raw.Format.value != FormatName:
		d.fault(raw.Format, "format", "format", "this program reads "+FormatName, "use a program that knows the format, or write the book anew as "+FormatName)
	}
	b.Engine = r.required(raw.Engine, top, "engine", "say which engine model it is for")
	b.Manual = Manual{raw.Manual.Title.value, raw.Manual.Number.value, raw.Manual.Revision.value, raw.Manual.Date.value}
	if r.required(raw.Unit, top, "unit", "say what its lengths are in: \"unit: in\" or \"unit: mm\"") != "" {
		b.Unit = r.unit(raw.Unit, "unit", quantity.LengthKind)
	}
	if b.Unit == quantity.NoUnit {
		b.Unit = quantity.Inch // the book is refused; its other faults are told as well
	}
	switch raw.Decimal.value {
	case "", "point":
	case "comma":
		b.Comma = true
	default:
		r.choice(raw.Decimal, "decimal", "point", "comma")
	}
	b.Numbering = r.numbering(&raw.Numbering, "numbering", layoutNumbering(&raw.Layout))
	r.conditions(raw)
	r.settle(raw, settled)
	r.partsBad = slices.Contains(d.broken, "parts")
	if len(raw.Parts) == 0 && !r.partsBad {
		d.fault(top, "parts", "missing", "the book has no parts", "list the parts that are measured, with their features")
	}
	for i := range raw.Parts {
		r.part(&raw.Parts[i])
	}
	r.madeAndMates(raw)
	b.Layout = r.layout(&raw.Layout, func(p *Part) Shape { return p.Shape })
	b.Sets = r.sets(raw.Sets)
	if len(raw.Lines.all) == 0 && !slices.Contains(d.broken, "lines") {
		d.fault(top, "lines", "missing", "the book has no lines", "add the lines of the table of limits")
	}
	r.allLines(raw.Lines.all)
	r.betweenLines(raw)
	b.index()
	return b
}

// allLines resolves the lines, some at a time by as many cores as there are, and
// puts them into the book in their order.
func (r *resolver) allLines(all []unread) {
	const some = 32
	type done struct {
		lines  []*Line
		faults fault.List
	}
	chunks := slices.Collect(slices.Chunk(all, some))
	became := make([]done, len(chunks))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(chunks)) {
		wait.Go(func() {
			own := resolver{
				decoder: &decoder{file: r.file, format: r.format, broken: r.broken, before: r.before},
				book:    r.book, features: r.features, partsBad: r.partsBad,
			}
			var room named[rawLine]
			for i := next.Add(1) - 1; i < int64(len(chunks)); i = next.Add(1) - 1 {
				own.faults = nil
				to := &became[i]
				for k := range chunks[i] {
					l, v := &chunks[i][k], &room
					if l.raw != nil {
						v = l.raw
					} else {
						own.read(l, v)
					}
					if line := own.line(v); line != nil {
						to.lines = append(to.lines, line)
					}
					l.replaces, l.governor, l.raw = v.Value.Replaces, v.Value.Governor, nil
				}
				to.faults = own.faults
			}
		})
	}
	wait.Wait()
	for i := range all {
		r.lines[all[i].key.value] = true
	}
	for i := range became {
		r.faults = append(r.faults, became[i].faults...)
		for _, l := range became[i].lines {
			r.book.Lines = append(r.book.Lines, l)
			r.book.lines[l.Key] = l
		}
	}
}

func (r *resolver) required(t, where text, field, do string) string {
	if !t.set() && !slices.Contains(r.broken, field) {
		where.value = ""
		r.fault(where, field, "missing", "is not there", do)
	}
	return t.value
}

func (r *resolver) choice(t text, field string, words ...string) {
	r.fault(t, field, "choice", "is none of the words it can be", "write one of "+strings.Join(words, ", "))
}

// unit reads a unit; NoKind takes any.
func (r *resolver) unit(t text, field string, kind quantity.Kind) quantity.Unit {
	u, err := quantity.ParseUnit(t.value)
	if err != nil {
		var names []string
		for _, u := range quantity.Units() {
			if kind == quantity.NoKind || u.Kind() == kind {
				names = append(names, u.String())
			}
		}
		r.fault(t, field, "unit", "is not a unit that is known", "write one of "+strings.Join(names, ", "))
		return quantity.NoUnit
	}
	if kind != quantity.NoKind && u.Kind() != kind {
		r.fault(t, field, "unit", "is a unit of "+u.Kind().String()+"; wanted is one of "+kind.String(), "")
		return quantity.NoUnit
	}
	return u
}

// count reads a number of things: 0 where nothing is said.
func (r *resolver) count(t text, field string) int {
	if !t.set() {
		return 0
	}
	n, err := strconv.Atoi(t.value)
	if err != nil || n < 1 || n > MaxNumber || strconv.Itoa(n) != t.value {
		r.fault(t, field, "count", "is not a count", fmt.Sprintf("write how many there are, 1 to %d, or leave it out where one stands alone", MaxNumber))
		return 0
	}
	return n
}

func (r *resolver) name(t text, field string) bool {
	if IsName(t.value) {
		return true
	}
	r.fault(t, field, "name", "is not a name", "use a–z and 0–9, beginning with a letter")
	return false
}

func (r *resolver) part(raw *named[rawPart]) {
	path := "parts." + raw.Key.value
	before := len(r.faults)
	r.name(raw.Key, "parts")
	p := &Part{Key: raw.Key.value, Name: raw.Value.Name.value, Positions: r.count(raw.Value.Positions, path+".positions")}
	if p.Name == "" {
		p.Name = strings.ToUpper(p.Key[:min(1, len(p.Key))]) + p.Key[min(1, len(p.Key)):]
	}
	p.Numbering = r.numbering(&raw.Value.Numbering, path+".numbering", r.book.Numbering)
	p.Shape = r.partShape(raw.Value.Shape, path)
	p.Make = r.makeOf(raw.Value.Material, raw.Value.Treatment, path)
	ok := len(r.faults) == before
	if len(raw.Value.Features) == 0 {
		r.fault(raw.Key, path, "missing", "the part has no features", "list what is measured on it under \"features:\"")
	}
	for i := range raw.Value.Features {
		f := r.feature(p, &raw.Value.Features[i])
		if f != nil && ok {
			p.Features = append(p.Features, f)
		} else {
			f = nil // what names it is not blamed for the part's own fault
		}
		r.features[p.Key+"."+raw.Value.Features[i].Key.value] = f
	}
	r.book.Parts = append(r.book.Parts, p)
}

type classWord struct {
	word  string
	class Class
	wears Wears
	kind  quantity.Kind
}

// classes are the kinds of feature that a book names, with the way each wears
// where that goes without saying and what its readings measure.
var classes = []classWord{
	{"outside", Outside, Smaller, quantity.LengthKind},
	{"inside", Inside, Larger, quantity.LengthKind},
	{"length", Extent, 0, quantity.LengthKind},
	{"clearance", Clearance, Larger, quantity.LengthKind},
	{"dial", Dial, Larger, quantity.LengthKind},
	{"angle", Other, 0, quantity.AngleKind},
	{"mass", Other, 0, quantity.MassKind},
	{"force", Other, 0, quantity.ForceKind},
	{"torque", Other, 0, quantity.TorqueKind},
	{"pressure", Other, 0, quantity.PressureKind},
	{"time", Other, 0, quantity.TimeKind},
	{"flow", Other, 0, quantity.FlowKind},
	{"count", Other, 0, quantity.CountKind},
	{"share", Other, 0, quantity.RatioKind},
	{"check", Check, Either, quantity.NoKind},
}

func (r *resolver) feature(p *Part, raw *named[rawFeature]) *Feature {
	path := "parts." + p.Key + ".features." + raw.Key.value
	v := &raw.Value
	before := len(r.faults)
	r.name(raw.Key, "parts."+p.Key+".features")
	f := &Feature{Part: p, Key: raw.Key.value, Name: v.Name.value}
	if v.Places.set() {
		f.Places = r.count(v.Places, path+".places")
	}
	if f.Name == "" {
		f.Name = p.Name + ", " + f.Key
	}
	kind := r.class(f, v, raw.Key, path)
	r.wears(f, v, raw.Key, path)
	switch v.Counts.value {
	case "", "worst":
	case "mean":
		f.Counts = Mean
	default:
		r.choice(v.Counts, path+".counts", "worst", "mean")
	}
	switch {
	case v.Unit.set() && f.Class == Check:
		r.fault(v.Unit, path+".unit", "unit", "a yes or no has no unit", "leave \"unit\" out")
	case v.Unit.set():
		f.Unit = r.unit(v.Unit, path+".unit", kind)
	case kind == quantity.LengthKind:
		f.Unit = r.book.Unit
	case kind == quantity.CountKind:
		f.Unit = quantity.Each
	case kind == quantity.RatioKind:
		f.Unit = quantity.PerCent
	case kind != quantity.NoKind:
		r.fault(raw.Key, path, "missing", "the feature's unit is not stated", "add \"unit:\", as the manual prints it")
	}
	if len(v.Planes.names)+len(v.Directions) > 0 {
		f.Planes = r.distinct(v.Planes.names, path+".planes", IsName)
		f.Directions = r.distinct(v.Directions, path+".directions", IsDirection)
	}
	r.along(f, &v.Planes, path)
	r.steps(f, v, path)
	if len(r.faults) > before {
		// Names must lead somewhere even so, or one fault would make many.
		r.features[f.Ref()] = nil
		return nil
	}
	r.sites(f, raw.Key, path)
	if len(f.Sites) == 0 {
		r.features[f.Ref()] = nil
		return nil
	}
	return f
}

func (r *resolver) class(f *Feature, v *rawFeature, key text, path string) quantity.Kind {
	var words []string
	for _, c := range classes {
		if c.word == v.Kind.value {
			f.Class, f.Wears = c.class, c.wears
			return c.kind
		}
		words = append(words, c.word)
	}
	if !v.Kind.set() {
		r.fault(key, path, "missing", "the feature's kind is not stated", "add \"kind:\", one of "+strings.Join(words, ", "))
	} else {
		r.choice(v.Kind, path+".kind", words...)
	}
	return quantity.NoKind
}

func (r *resolver) wears(f *Feature, v *rawFeature, key text, path string) {
	if f.Class == 0 {
		return
	}
	switch v.Wears.value {
	case "":
		if f.Wears == 0 {
			r.fault(key, path, "missing", "the book does not say which way the feature wears", "add \"wears: smaller\", \"larger\" or \"either\"")
		}
	case "smaller":
		f.Wears = Smaller
	case "larger":
		f.Wears = Larger
	case "either":
		f.Wears = Either
	default:
		r.choice(v.Wears, path+".wears", "smaller", "larger", "either")
	}
	if v.Wears.set() && (f.Class == Clearance || f.Class == Dial || f.Class == Check) {
		r.fault(v.Wears, path+".wears", "kind", "a "+v.Kind.value+" does not wear one way", "leave \"wears\" out here")
	}
}

// distinct reads a list of names, each once.
func (r *resolver) distinct(raw []text, field string, is func(string) bool) []string {
	var names []string
	for _, t := range raw {
		switch {
		case !is(t.value):
			r.fault(t, field, "name", "is not a name", "use a–z and 0–9; a plane begins with a letter")
		case slices.Contains(names, t.value):
			r.fault(t, field, "doubled-key", "stands in the list a second time", "keep one of the two")
		default:
			names = append(names, t.value)
		}
	}
	return names
}

// along reads where the planes are, which must rise.
func (r *resolver) along(f *Feature, raw *rawPlanes, path string) {
	for i, t := range raw.along {
		l, _, err := quantity.Format{Unit: r.book.Unit, DecimalComma: r.book.Comma}.Length(t.value)
		if err != nil {
			r.figure(t, path+".planes."+raw.names[i].value, err)
			continue
		}
		if n := len(f.Along); n > 0 && l.Cmp(f.Along[n-1]) <= 0 {
			r.fault(t, path+".planes", "planes", "is not further along the part than the plane before", "list the planes in order from one end")
		}
		f.Along = append(f.Along, l)
	}
}

// figure reports text that should be a figure.
func (r *resolver) figure(t text, field string, err error) {
	var parse *quantity.ParseError
	do := "write it as a plain number"
	if errors.As(err, &parse) {
		err = parse.Err
		if len(parse.May) > 0 {
			do = "look at the manual: it may be " + strings.Join(parse.May, ", or ")
		}
	}
	r.fault(t, field, "figure", err.Error(), do)
}

// sites lays out a feature's sites and spots.
func (r *resolver) sites(f *Feature, key text, path string) {
	across, planes := f.Directions, f.Planes
	if len(across) == 0 {
		across = []string{""}
	}
	if len(planes) == 0 {
		planes = []string{""}
	}
	spots := max(1, f.Part.Positions) * max(1, f.Places) * len(planes) * len(across)
	if r.spots+spots > maxSpots {
		r.fault(key, path, "count", fmt.Sprintf("with this feature the book has more than %d spots", maxSpots), "look at positions, places, planes and directions")
		return
	}
	r.spots += spots
	b := r.book
	for _, position := range upTo(f.Part.Positions) {
		for _, place := range upTo(f.Places) {
			s := &Site{Feature: f, Index: len(b.Sites), Position: position, Place: place, Along: f.Along}
			b.Sites = append(b.Sites, s)
			for _, plane := range planes {
				for _, direction := range across {
					id := SpotID(len(b.Spots))
					spot := Spot{f.Part.Key, position, f.Key, place, plane, direction}
					b.Spots = append(b.Spots, spot)
					b.site = append(b.site, s)
					b.ids[spot.String()] = id
					s.Spots = append(s.Spots, id)
				}
			}
			f.Sites = append(f.Sites, s)
		}
	}
}

// upTo returns 1 to n, or just 0 for what stands alone.
func upTo(n int) []int {
	if n == 0 {
		return []int{0}
	}
	all := make([]int, n)
	for i := range all {
		all[i] = i + 1
	}
	return all
}
