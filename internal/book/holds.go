package book

import (
	"bytes"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tenths/metrology/limit"
)

// A Settlement says who settled a doubt, and why.
type Settlement struct {
	By, Why, Date string
	At            int // the line of the file that it stands in
}

// The cells of a line that can be held.
const (
	HoldNew     = "new"
	HoldService = "service"
	HoldKind    = "kind" // what the line judges is not certain
)

// NotStated is why a cell is held that nobody has entered yet; it then has no
// text.
const NotStated = "no limits stated yet"

// Unfilled tells a cell that nobody has entered yet.
func (h *Hold) Unfilled() bool { return h.Text == "" && h.Why == NotStated }

// Unfilled tells a line of whose limits nothing was entered yet.
func (l *Line) Unfilled() bool {
	return len(l.Holds) > 0 && l.Says == Cells{} && !slices.ContainsFunc(l.Holds, func(h Hold) bool { return !h.Unfilled() })
}

// Waits tells a line of which some cell waits for a person.
func (l *Line) Waits() bool {
	return len(l.Holds) > 0 || l.Limit.Held != nil || l.Contradiction != ""
}

// A Hold is a cell that can't be read for certain; it waits for a person, and
// until then the line is not graded.
type Hold struct {
	Cell     string   // new, service or kind
	Text     string   // as printed
	May      []string // likely readings
	Why      string
	FileLine int
}

// A SettledHold is a hold that a person settled, and what it says.
type SettledHold struct {
	Hold
	Says string
	Settlement
}

// Cells are a row's two cells in words.
type Cells struct{ New, Service string }

// A Link is a fit that a person has confirmed: which features the line adds up.
type Link struct {
	Fit string
	Settlement
}

// The second document as it is written.
type (
	rawSettledHolds struct {
		New     rawSays `book:"new"`
		Service rawSays `book:"service"`
		Kind    rawSays `book:"kind" doc:"the kind of the feature, as outside, or length wears larger"`
	}
	rawSays struct {
		Says text `book:"says" need:"yes" doc:"what the cell says, written as the book writes it; blank where it says nothing"`
		By   text `book:"by" need:"yes"`
		Why  text `book:"why" need:"yes" doc:"how one knows: another printing, the maker's letter"`
		Date text `book:"date"`
		Text text `book:"text" doc:"the cell as it was printed then; where it is otherwise now, this has lapsed"`

		Before []rawSaid `book:"before" doc:"what was said before, the last first"`
	}
	rawSaid struct {
		Says text `book:"says"`
		By   text `book:"by"`
		Why  text `book:"why"`
		Date text `book:"date"`
	}
	rawLink struct {
		Fit   text           `book:"fit" need:"yes" doc:"a signed sum: case.main - crank.main"`
		Mates []named[texts] `book:"mates" keys:"feature" doc:"by feature, which of its places the pairs have in turn"`
		By    text           `book:"by" need:"yes"`
		Why   text           `book:"why"`
		Date  text           `book:"date"`

		Before []rawLinked `book:"before" doc:"what was confirmed before, the last first"`
	}
	rawLinked struct {
		Fit   text           `book:"fit"`
		Mates []named[texts] `book:"mates" keys:"feature"`
		By    text           `book:"by"`
		Why   text           `book:"why"`
		Date  text           `book:"date"`
	}
	rawHolds struct {
		New     rawHold `book:"new"`
		Service rawHold `book:"service"`
		Kind    rawHold `book:"kind" doc:"what the line judges is not certain"`
	}
	rawHold struct {
		Text text   `book:"text" need:"yes" doc:"the cell as it is printed"`
		May  []text `book:"may" doc:"likely readings"`
		Why  text   `book:"why" doc:"why it can't be read for certain"`

		settled *SettledHold
		over    bool // the book can read the cell, and it was settled all the same
	}
	rawPrinted struct {
		New     text `book:"new" doc:"the new limits as they are printed"`
		Service text `book:"service" doc:"the service limit as it is printed"`
	}
)

// Join makes one text of a book and of what was settled of it: the text that an
// edition is the SHA-256 of. Nothing settled leaves the book as it is.
func Join(book, settled []byte) []byte {
	if len(bytes.TrimSpace(settled)) == 0 {
		return book
	}
	joined := bytes.Clone(book)
	if len(joined) > 0 && joined[len(joined)-1] != '\n' {
		joined = append(joined, '\n')
	}
	joined = append(joined, "---\n"...)
	return append(joined, settled...)
}

// says is a text without comments and blanks.
func says(data []byte) string {
	var b strings.Builder
	for line := range bytes.Lines(data) {
		if line = bytes.TrimSpace(line); len(line) > 0 && line[0] != '#' {
			b.Write(line)
		}
	}
	return b.String()
}

// split cuts a text at the mark between a book and what was settled of it;
// before is how many lines stand before the second.
func split(data []byte) (book, settled []byte, before int) {
	line := 0
	for at := 0; at < len(data); {
		end := len(data)
		if n := bytes.IndexByte(data[at:], '\n'); n >= 0 {
			end = at + n + 1
		}
		line++
		// A mark that nothing stands before is the book's own.
		if rest, ok := bytes.CutPrefix(data[at:end], []byte("---")); ok && (len(rest) == 0 || bytes.IndexByte([]byte(" \t\r\n"), rest[0]) >= 0) && says(data[:at]) != "" {
			return data[:at], data[end:], line
		}
		at = end
	}
	return data, nil, 0
}

// settled reads the second document. Its places are counted through from the
// first line of the book, so that they sort behind the book's; Load gives its
// faults the name and the lines of its own file.
func (d *decoder) settled(data []byte, before int, into *rawSettled) {
	if says(data) == "" {
		return
	}
	n, err := parseYAML(data, before)
	if err != nil {
		d.syntax(block{before + 1, data}, err)
		return
	}
	d.into(n, "", reflect.ValueOf(into).Elem())
	switch {
	case !into.Format.set():
		d.fault(text{"", before + 1, 1}, "format", "missing", "what stands behind the book does not say its format", "begin it with the line \"format: "+SettledFormat+"\"")
	case into.Format.value != SettledFormat:
		d.fault(into.Format, "format", "format", "behind a book this program reads "+SettledFormat, "take it out, or write it as "+SettledFormat)
	}
}

// settle brings into the raw lines what a person settled, before they are read.
func (r *resolver) settle(raw *rawBook, s *rawSettled) {
	at := map[string]*unread{}
	if len(s.Holds)+len(s.Links) > 0 {
		for i := range raw.Lines.all {
			at[raw.Lines.all[i].key.value] = &raw.Lines.all[i]
		}
	}
	line := func(key text, field string) *rawLine {
		l := at[key.value]
		if l == nil {
			r.fault(key, field, "nowhere", "the book has no such line", "name a line by its key, or take this out")
			return nil
		}
		return r.kept(l)
	}
	for i := range s.Holds {
		key, cells := s.Holds[i].Key, &s.Holds[i].Value
		v := line(key, "holds")
		if v == nil {
			continue
		}
		path := "holds." + key.value
		r.saysOf(key, &cells.New, &v.Hold.New, &v.New, path+".new")
		r.saysOf(key, &cells.Service, &v.Hold.Service, &v.Service, path+".service")
		kind := v.Hold.Kind
		var none text
		if r.saysOf(key, &cells.Kind, &v.Hold.Kind, &none, path+".kind") {
			r.settleKind(raw, v, cells.Kind.Says, kind, path+".kind")
		}
	}
	var were []text
	for i := range s.Links {
		key, link := s.Links[i].Key, &s.Links[i].Value
		v := line(key, "links")
		if v == nil {
			continue
		}
		path := "links." + key.value
		if r.missing(key, path, link.Fit, "fit", "say which features the fit adds up") || r.missing(key, path, link.By, "by", "say who confirmed it") {
			continue
		}
		if !v.Size.set() && !v.Fit.set() {
			r.fault(key, path, "judges", "the line is no fit and no clearance, so it links nothing", "take it out")
			continue
		}
		was := v.Size
		v.Size, v.Fit, v.Mates = text{}, link.Fit, link.Mates
		v.link = &Link{link.Fit.value, r.settlement(link.By, link.Why, link.Date, key)}
		were = append(were, was)
	}
	r.forget(raw, were)
	top := text{"", r.before + 1, 1}
	r.book.Acknowledged, r.book.Struck = r.acknowledged(s.Acknowledged, top), r.struck(s.Struck, top)
}

func (r *resolver) missing(where text, path string, t text, key, do string) bool {
	if t.set() && t.value != "" {
		return false
	}
	where.value = ""
	r.fault(where, path+"."+key, "missing", "is not there", do)
	return true
}

func (r *resolver) settlement(by, why, date, at text) Settlement {
	return Settlement{by.value, why.value, date.value, at.line - r.before}
}

// saysOf lets a held cell say what a person settled; false where it does not.
func (r *resolver) saysOf(key text, s *rawSays, h *rawHold, cell *text, path string) bool {
	if !s.Says.set() && !s.By.set() && !s.Why.set() {
		return false
	}
	where := s.Says
	if !where.set() {
		where = key
	}
	if r.missing(where, path, s.Says, "says", "write what the cell says; blank where it says nothing") || r.missing(where, path, s.By, "by", "say who settled it") ||
		r.missing(where, path, s.Why, "why", "say how one knows") {
		return false
	}
	printed := h.Text
	if !h.Text.set() {
		// A cell that can be read waits where it contradicts the other.
		if !s.Text.set() || !cell.set() {
			r.fault(where, path, "nowhere", "the book does not hold that cell", "take this out, or write the cell into the book")
			return false
		}
		printed = *cell
	}
	if s.Text.set() && s.Text.value != printed.value {
		r.fault(s.Text, path, "nowhere", "the cell is "+strconv.Quote(printed.value)+" in the book now", "look at the manual, and settle it again")
		return false
	}
	h.over, h.Text = !h.Text.set(), printed
	settled := SettledHold{held(path[strings.LastIndex(path, ".")+1:], h), s.Says.value, r.settlement(s.By, s.Why, s.Date, s.Says)}
	*h = rawHold{settled: &settled, over: h.over}
	*cell = text{}
	if s.Says.value != "blank" {
		*cell = s.Says
	}
	return true
}

// overruled looks whether cells that the book can read, and that a person has
// settled all the same, keep the line from being judged. Where they do not, the
// book itself is to be changed.
func (r *resolver) overruled(n limit.Notation, v *rawLine, key text, path string) {
	was := *v
	over := false
	for _, c := range []struct {
		hold *rawHold
		cell *text
	}{{&v.Hold.New, &was.New}, {&v.Hold.Service, &was.Service}} {
		if s := c.hold.settled; s != nil {
			*c.cell = text{}
			if c.hold.over {
				over, *c.cell = true, text{s.Text, s.FileLine, 1}
			}
		}
	}
	if !over {
		return
	}
	before := len(r.faults)
	got, contradiction := r.cells(n, &was, key, path, true)
	r.faults = r.faults[:before]
	if got != nil && contradiction == "" && got.Held == nil {
		for _, h := range []rawHold{v.Hold.New, v.Hold.Service} {
			if h.settled != nil && h.over {
				r.fault(text{h.settled.Says, h.settled.At + r.before, 1}, path, "nowhere", "the line does not wait for a person: its cells can be read and agree", "take this out; where the book is not as the manual prints it, change the book")
			}
		}
	}
}

var kindWords = regexp.MustCompile(`^([a-z-]+)(?:,? wears ([a-z]+))?$`)

// settleKind makes what a line judges what a person says it is: a feature of
// that kind, where no other line looks at it.
func (r *resolver) settleKind(raw *rawBook, v *rawLine, says text, was rawHold, path string) {
	m := kindWords.FindStringSubmatch(says.value)
	f := r.rawFeature(raw, v.Size.value)
	if m == nil || f == nil || !slices.ContainsFunc(classes, func(c classWord) bool { return c.word == m[1] }) {
		r.fault(says, path, "kind", "can't be settled here", "write the kind of the feature, as outside, or length wears larger; for anything else change the line in the book and take its hold out")
		return
	}
	f.Kind = text{m[1], says.line, says.column}
	if f.Wears = (text{}); m[2] != "" {
		f.Wears = text{m[2], says.line, says.column}
	}
}

// rawFeature finds part.feature among what was read.
func (r *resolver) rawFeature(raw *rawBook, ref string) *rawFeature {
	part, feature, _ := strings.Cut(ref, ".")
	for i := range raw.Parts {
		for k := range raw.Parts[i].Value.Features {
			if raw.Parts[i].Key.value == part && raw.Parts[i].Value.Features[k].Key.value == feature {
				return &raw.Parts[i].Value.Features[k].Value
			}
		}
	}
	return nil
}

// forget takes out the clearances that lines measured before they were linked,
// where nothing else names them: nobody is to be asked for them.
func (r *resolver) forget(raw *rawBook, were []text) {
	if len(were) == 0 {
		return
	}
	features, parts := map[string]bool{}, map[string]bool{}
	for i := range raw.Lines.all {
		if l := &raw.Lines.all[i]; l.raw != nil {
			mentions(reflect.ValueOf(l.raw.Value), features)
		} else {
			l.value.mentions(features)
		}
	}
	for i := range raw.Parts {
		for _, f := range raw.Parts[i].Value.Features {
			mentions(reflect.ValueOf(f.Value), features)
		}
	}
	for _, v := range []reflect.Value{reflect.ValueOf(raw.Sets), reflect.ValueOf(raw.Layout)} {
		mentions(v, features)
		mentions(v, parts)
	}
	gone := map[string]bool{}
	for _, t := range were {
		f := r.rawFeature(raw, t.value)
		gone[t.value] = f != nil && f.Kind.value == "clearance" && !features[t.value]
	}
	for i := range raw.Parts {
		p := &raw.Parts[i]
		p.Value.Features = slices.DeleteFunc(p.Value.Features, func(f named[rawFeature]) bool { return gone[p.Key.value+"."+f.Key.value] })
	}
	raw.Parts = slices.DeleteFunc(raw.Parts, func(p named[rawPart]) bool {
		part := p.Key.value
		return len(p.Value.Features) == 0 && !parts[part] && slices.ContainsFunc(were, func(t text) bool { return strings.HasPrefix(t.value, part+".") })
	})
}

// numbers are what a site has more than its feature.
var numbers = regexp.MustCompile(`-[0-9]+`)

var mentioned = regexp.MustCompile(`[a-z][a-z0-9]*(?:\.[a-z][a-z0-9]*)?`)

// mentions notes the parts and features that any text of a node names.
func (n *node) mentions(seen map[string]bool) {
	names(n.value, seen)
	for i := range n.content {
		n.content[i].mentions(seen)
	}
}

func names(text string, seen map[string]bool) {
	for _, m := range mentioned.FindAllString(numbers.ReplaceAllString(text, ""), -1) {
		seen[m] = true
		part, _, _ := strings.Cut(m, ".")
		seen[part] = true
	}
}

// mentions notes the parts and features that any text of v names.
func mentions(v reflect.Value, seen map[string]bool) {
	switch {
	case v.Kind() == reflect.Slice:
		for i := range v.Len() {
			mentions(v.Index(i), seen)
		}
	case v.Kind() == reflect.Struct && v.Type() == reflect.TypeFor[text]():
		names(v.Field(0).String(), seen)
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			mentions(v.Field(i), seen)
		}
	}
}

// holds reads which of the line's cells wait for a person, and which one has
// settled.
func (r *resolver) holds(l *Line, v *rawLine, path string) {
	for _, c := range []struct {
		cell string
		hold *rawHold
		text text
	}{{HoldNew, &v.Hold.New, v.New}, {HoldService, &v.Hold.Service, v.Service}, {HoldKind, &v.Hold.Kind, text{}}} {
		h := c.hold
		switch {
		case h.settled != nil:
			l.Settled = append(l.Settled, *h.settled)
			continue
		case !h.Text.set() && !h.Why.set() && len(h.May) == 0:
			continue
		}
		path := path + ".hold." + c.cell
		switch {
		case !h.Text.set():
			where := h.Why
			if !where.set() {
				where = h.May[0]
			}
			r.missing(where, path, h.Text, "text", "write the cell as it is printed")
			continue
		case c.text.set() && c.text.value != "":
			r.fault(c.text, path, "judges", "the cell is held, and has a value all the same", "leave the value out until the hold is settled, or take the hold out")
			continue
		}
		if len(v.Tiers) > 0 || len(v.Bands) > 0 {
			r.fault(h.Text, path, "judges", "tiers and bands can't be held", "write new and service, or leave out what can't be read and say so in the note")
			continue
		}
		l.Holds = append(l.Holds, held(c.cell, h))
	}
}

func held(cell string, h *rawHold) Hold {
	may := make([]string, len(h.May))
	for i, t := range h.May {
		may[i] = t.value
	}
	return Hold{cell, h.Text.value, may, h.Why.value, h.Text.line}
}

// heldLimit is what there is to show of a line that is held: the cell that
// can be read, if it can be read without the other.
func (r *resolver) heldLimit(l *Line, n limit.Notation, v *rawLine, key text, path string) *limit.Limit {
	onlyService := !slices.ContainsFunc(l.Holds, func(h Hold) bool { return h.Cell != HoldService })
	var got limit.Limit
	if read, err := n.Parse(v.New.value, v.Service.value); err == nil {
		got = read
	} else if onlyService && v.New.set() {
		r.cellFault(err, v, key, path)
		return nil
	}
	var all []string
	if got.Kind == limit.Reference {
		all = append(all, got.Printed)
	}
	if len(got.Tiers) == 0 {
		for _, c := range []struct{ name, text string }{{"new", v.New.value}, {"service", v.Service.value}} {
			if c.text != "" {
				all = append(all, c.name+" "+c.text)
			}
		}
	}
	if l.Unfilled() {
		all = append(all, NotStated)
	}
	for _, h := range l.Holds {
		if !l.Unfilled() {
			all = append(all, "held: "+h.Cell+" \""+h.Text+"\"")
		}
	}
	got.Kind, got.Printed, got.Ungraded, got.Held = limit.Reference, strings.Join(all, ", "), false, nil
	return &got
}
