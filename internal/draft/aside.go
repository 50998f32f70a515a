package draft

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/intake"
)

// What was settled is of a row of a table. The keys of lines are not enough to know
// it by: where a table is left out, the lines of those behind it may be called
// otherwise, even as its own were. So whenever a draft is saved, what was settled
// follows its rows; what has no row or does not fit any more is put aside, and comes
// back once it does.

// AsideFormat is the format of the file in which that is kept.
const AsideFormat = "aside/1"

// A Place is the row of a table that a line was made of; it is none where the line is
// known by its key alone.
type Place struct {
	Table string `yaml:"table,omitempty"` // its file
	Sheet string `yaml:"sheet,omitempty"`
	Row   int    `yaml:"row,omitempty"`
	Which int    `yaml:"which,omitempty"` // of several lines of the row, counted from 0
}

// An Aside is what was settled of a line that is not in the book now, or that it
// does not fit any more.
type Aside struct {
	Place `yaml:",inline"`
	Line  string    `yaml:"line"`           // its key, when it was put aside
	Cell  string    `yaml:"cell,omitempty"` // of a settled hold
	Of    []Of      `yaml:"of,omitempty"`   // what else a link or a finding is of
	But   string    `yaml:"but,omitempty"`  // why it does not fit; "" where its row is not in the book
	Was   yaml.Node `yaml:"was"`            // as it stood under holds, links or acknowledged

	fresh bool // it stood in the book until now
}

// An Of is a line that a finding names, or a feature that a link does, with the row
// that it is of.
type Of struct {
	Place `yaml:",inline"`
	Name  string `yaml:"name"`
}

// Text is what it says of the cell, or the fit, or the code of the finding.
func (a *Aside) Text() string { return a.value("says") + a.value("fit") + a.value("code") }

// By is who said so, and when.
func (a *Aside) By() string { return strings.TrimSpace(a.value("by") + " " + a.value("date")) }

func (a *Aside) value(key string) string {
	if n := child(&a.Was, key); n != nil {
		return n.Value
	}
	return ""
}

func child(n *yaml.Node, key string) *yaml.Node {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}

type asideFile struct {
	Format string  `yaml:"format"`
	Aside  []Aside `yaml:"aside"`
}

func asideName(name string) string { return name + ".aside.yaml" }

// readAside reads what was put aside of a draft.
func (s *Drafts) readAside(name string) ([]Aside, error) {
	data, err := optional(s.path(name, asideName(name)))
	if err != nil || len(data) == 0 {
		return nil, err
	}
	var all asideFile
	dec := yaml.NewDecoder(bytes.NewReader(data))
	dec.KnownFields(true)
	if err := dec.Decode(&all); err != nil || all.Format != AsideFormat {
		return nil, fmt.Errorf("%s: what was put aside does not read as %s", s.path(name, asideName(name)), AsideFormat)
	}
	return all.Aside, nil
}

// writeAside writes it; a file that is not there stays so where nothing is aside.
func (s *Drafts) writeAside(name string, all []Aside) error {
	if was, err := s.readAside(name); err != nil || len(was)+len(all) == 0 {
		return err
	}
	text, err := yamlText(asideFile{AsideFormat, all})
	if err != nil {
		return err
	}
	return s.writeChanged(name, asideName(name), text)
}

func yamlText(v any) ([]byte, error) {
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	err := errors.Join(enc.Encode(v), enc.Close())
	return out.Bytes(), err
}

// A standing is how a draft's lines are called, and what they measure.
type standing struct {
	places   map[string]Place // by key
	keys     map[Place]string
	measures map[string]Place // by feature, of lines of sizes
	features map[Place]string
}

// standing tells it; b is its book, which need not be loaded.
func (d *Draft) standing(b *book.Book) standing {
	s := standing{map[string]Place{}, map[Place]string{}, map[string]Place{}, map[Place]string{}}
	for _, t := range d.Tables {
		// A whole book as a sheet says itself how its lines are called.
		if t.Read == nil || t.Out || t.Whole || t.Read.NeedsUnit() {
			continue
		}
		for i := range t.Read.Rows {
			r := &t.Read.Rows[i]
			for n, key := range r.Lines {
				p := Place{t.File, t.Entry.Sheet, r.FileLine, n}
				s.places[key], s.keys[p] = p, key
				if b == nil {
					continue
				}
				if l, ok := b.Line(key); ok && l.Judges == book.Size {
					ref := l.Terms[0].Feature.Ref()
					s.measures[ref], s.features[p] = p, ref
				}
			}
		}
	}
	return s
}

// A settled is one thing that was settled, on its way to where its row is now.
type settled struct {
	Aside
	aside   bool       // it was put aside before
	lineKey *yaml.Node // as they stand in the file
	lineOf  *yaml.Node
	cellKey *yaml.Node
}

// at is what nothing else may be settled at.
func (s *settled) at() [2]string {
	if s.Finding() { // of a line there may be many, and several may have said so
		texts := []string{s.Text(), s.By()}
		for _, key := range []string{"lines", "printed"} {
			if n := child(&s.Was, key); n != nil {
				for _, t := range n.Content {
					texts = append(texts, t.Value)
				}
			}
		}
		return [2]string{s.Line, strings.Join(texts, "\x00")}
	}
	return [2]string{s.Line, s.Cell}
}

// Finding tells an acknowledged finding.
func (a *Aside) Finding() bool { return a.Cell == "" && child(&a.Was, "code") != nil }

// names are the texts in which a finding names lines, and a link features.
func (a *Aside) names() (all []*yaml.Node) {
	switch fit := child(&a.Was, "fit"); {
	case a.Finding():
		if lines := child(&a.Was, "lines"); lines != nil {
			return lines.Content
		}
	case a.Cell == "" && fit != nil:
		return []*yaml.Node{fit}
	}
	return nil
}

var featureName = regexp.MustCompile(`[a-z][a-z0-9]*\.[a-z][a-z0-9]*`)

// findPlaces notes of which rows it is.
func (s *settled) findPlaces(before standing) {
	s.Place = before.places[s.Line]
	for _, n := range s.names() {
		if s.Finding() {
			s.Of = append(s.Of, Of{before.places[n.Value], n.Value})
			continue
		}
		for _, name := range featureName.FindAllString(n.Value, -1) {
			s.Of = append(s.Of, Of{before.measures[name], name})
		}
	}
}

// follow calls its lines as their rows are called now; false where one of them is
// not in the book. What is of no table's row is called as it was.
func (s *settled) follow(now standing) bool {
	there := true
	is := func(p Place, was string, names map[Place]string) string {
		if p.Table == "" {
			return was
		}
		name, ok := names[p]
		there = there && ok
		return name
	}
	line := is(s.Place, s.Line, now.keys)
	called := map[string]string{}
	for _, o := range s.Of {
		names := now.features
		if s.Finding() {
			names = now.keys
		}
		called[o.Name] = is(o.Place, o.Name, names)
	}
	if !there {
		return false
	}
	s.Line = line
	for i := range s.Of {
		s.Of[i].Name = called[s.Of[i].Name]
	}
	call := func(name string) string { return cmp.Or(called[name], name) }
	for _, n := range s.names() {
		if s.Finding() {
			n.Value = call(n.Value)
		} else {
			n.Value = featureName.ReplaceAllStringFunc(n.Value, call)
		}
	}
	return true
}

// apart takes a file of what was settled apart: its holds and links one by one, and
// the rest of it.
func apart(data []byte) (doc yaml.Node, all []*settled, err error) {
	if len(bytes.TrimSpace(data)) == 0 {
		data = []byte("format: " + book.SettledFormat + "\n")
	}
	if _, err := book.LoadSettled("what was settled", data); err != nil {
		return doc, nil, err
	}
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return doc, nil, err
	}
	if len(doc.Content) == 0 || doc.Content[0].Kind != yaml.MappingNode {
		return doc, nil, errors.New("what was settled is not to be read")
	}
	each := func(n *yaml.Node, f func(key, value *yaml.Node)) {
		if n != nil && n.Kind == yaml.MappingNode {
			for i := 0; i+1 < len(n.Content); i += 2 {
				f(n.Content[i], n.Content[i+1])
			}
		}
	}
	each(child(doc.Content[0], "holds"), func(line, cells *yaml.Node) {
		each(cells, func(cell, says *yaml.Node) {
			all = append(all, &settled{Aside: Aside{Line: line.Value, Cell: cell.Value, Was: *says}, lineKey: line, lineOf: cells, cellKey: cell})
		})
	})
	each(child(doc.Content[0], "links"), func(line, link *yaml.Node) {
		all = append(all, &settled{Aside: Aside{Line: line.Value, Was: *link}, lineKey: line})
	})
	if list := child(doc.Content[0], "acknowledged"); list != nil {
		for _, one := range list.Content {
			s := &settled{Aside: Aside{Was: *one}}
			if names := s.names(); len(names) > 0 {
				s.Line = names[0].Value
			}
			all = append(all, s)
		}
	}
	return doc, all, nil
}

// together makes the file of what is settled: the rest of it, and these.
func together(doc *yaml.Node, all []*settled) ([]byte, error) {
	top := doc.Content[0]
	holds, links, stand := &yaml.Node{Kind: yaml.MappingNode}, &yaml.Node{Kind: yaml.MappingNode}, &yaml.Node{Kind: yaml.SequenceNode}
	lines := map[string]*yaml.Node{}
	key := func(n *yaml.Node, text string) *yaml.Node {
		if n == nil {
			n = &yaml.Node{}
		}
		k := *n
		k.SetString(text)
		return &k
	}
	for _, s := range all {
		was := s.Was
		if s.Finding() {
			stand.Content = append(stand.Content, &was)
			continue
		}
		if s.Cell == "" {
			links.Content = append(links.Content, key(s.lineKey, s.Line), &was)
			continue
		}
		cells := lines[s.Line]
		if cells == nil {
			cells = &yaml.Node{Kind: yaml.MappingNode}
			if s.lineOf != nil {
				*cells = *s.lineOf
				cells.Content = nil
			}
			lines[s.Line] = cells
			holds.Content = append(holds.Content, key(s.lineKey, s.Line), cells)
		}
		cells.Content = append(cells.Content, key(s.cellKey, s.Cell), &was)
	}
	for _, part := range []struct {
		name string
		now  *yaml.Node
	}{{"holds", holds}, {"links", links}, {"acknowledged", stand}} {
		was := child(top, part.name)
		switch {
		case was != nil && was.Kind == part.now.Kind:
			was.Content = part.now.Content
		case was != nil:
			*was = *part.now
		case len(part.now.Content) > 0:
			top.Content = append(top.Content, key(nil, part.name), part.now)
		}
	}
	var left []*yaml.Node
	for i := 0; i+1 < len(top.Content); i += 2 {
		if n := top.Content[i+1]; n.Kind == yaml.ScalarNode || len(n.Content) > 0 {
			left = append(left, top.Content[i], n)
		}
	}
	top.Content = left
	return yamlText(doc)
}

// resettle returns what is settled of the draft as its tables are read now, and what
// is aside; before is how its lines were called when that was settled. Its tables may
// come to hold cells that they would not, so that what a person said stands.
func (d *Draft) resettle(before standing) (text []byte, aside []Aside, err error) {
	if len(bytes.TrimSpace(d.Settled)) == 0 && len(d.aside) == 0 {
		return d.Settled, nil, nil
	}
	doc, all, err := apart(d.Settled)
	if err != nil {
		return nil, nil, err
	}
	if len(d.aside) == 0 && d.Book != nil && maps.Equal(d.standing(nil).places, before.places) {
		if _, err := book.Load(d.File(), d.Text()); err == nil {
			return d.Settled, nil, nil
		}
	}
	plain, err := d.plain()
	if err != nil {
		return nil, nil, err
	}
	now := d.standing(plain)
	for _, s := range all {
		s.findPlaces(before)
	}
	for i := range d.aside {
		all = append(all, &settled{Aside: d.aside[i], aside: true})
	}

	// Each goes where its row is.
	var stay []*settled
	away := func(s *settled, but string) {
		s.But, s.fresh = but, !s.aside
		aside = append(aside, s.Aside)
	}
	taken := map[[2]string]*settled{}
	for _, s := range all {
		there := plain != nil && s.follow(now)
		if there && !s.Finding() {
			_, there = plain.Line(s.Line)
		}
		if !there {
			away(s, "")
			continue
		}
		switch first := taken[s.at()]; {
		case first == nil:
			taken[s.at()] = s
			stay = append(stay, s)
		case s.Text() != first.Text() || s.By() != first.By():
			away(s, "it was settled again since")
		}
	}
	if plain == nil {
		text, err = together(&doc, nil)
		return text, aside, err
	}

	if d.holdSettled(plain, stay) {
		if err := d.make(); err != nil {
			return nil, nil, err
		}
		if plain, err = d.plain(); err != nil {
			return nil, nil, err
		}
	}
	stay = drop(stay, away, d.unheld(plain))
	for {
		if text, err = together(&doc, stay); err != nil {
			return nil, nil, err
		}
		_, err := book.Load(d.File(), book.Join(d.Book, text))
		var faults fault.List
		switch {
		case err == nil:
			return text, aside, nil
		case len(stay) == 0 || !errors.As(err, &faults):
			return nil, nil, err
		}
		n := len(stay)
		if stay = drop(stay, away, blamed(faults)); len(stay) == n {
			stay = drop(stay, away, func(*settled) string { return "the book can’t be read with it" })
		}
	}
}

// plain is the draft's book without what was settled of it; nil while it has none.
func (d *Draft) plain() (*book.Book, error) {
	if d.Book == nil {
		return nil, nil
	}
	return book.Load(d.File(), d.Book)
}

// drop puts aside what why has a reason for.
func drop(all []*settled, away func(*settled, string), why func(*settled) string) []*settled {
	return slices.DeleteFunc(all, func(s *settled) bool {
		but := why(s)
		if but != "" {
			away(s, but)
		}
		return but != ""
	})
}

// waits are the cells of a book that wait for a person.
func waits(b *book.Book) map[[2]string]bool {
	all := map[[2]string]bool{}
	for _, w := range b.Doubts() {
		all[[2]string{w.Line.Key, w.Cell}] = true
	}
	return all
}

// unheld says why a cell can't be settled: it can be read.
func (d *Draft) unheld(plain *book.Book) func(*settled) string {
	held := waits(plain)
	return func(s *settled) string {
		switch {
		case s.Finding():
		case s.Cell == book.HoldKind && !held[s.at()]:
			return "what the line judges is plain now"
		case s.Cell != "" && !held[s.at()]:
			l, _ := plain.Line(s.Line)
			return "the cell can be read now: " + readNow(l, s.Cell)
		}
		return ""
	}
}

func readNow(l *book.Line, cell string) string {
	if says := map[string]string{book.HoldNew: l.Says.New, book.HoldService: l.Says.Service}[cell]; says != "" {
		return says
	}
	return "blank"
}

// blamed says why the book can't be loaded with what was settled.
func blamed(faults fault.List) func(*settled) string {
	return func(s *settled) string {
		if s.Finding() {
			return ""
		}
		for _, f := range faults {
			in := func(path string) bool { return f.Field == path || strings.HasPrefix(f.Field, path+".") }
			if s.Cell != "" && in("holds."+s.Line+"."+s.Cell) || s.Cell == "" && in("links."+s.Line) || in("lines."+s.Line) {
				return strings.TrimPrefix(strings.TrimSpace(f.Text+" ")+": ", ": ") + f.What
			}
		}
		return ""
	}
}

// holdSettled goes on holding the cells that a person has settled and that can be
// read now, since the tables are read otherwise: what they said stands.
func (d *Draft) holdSettled(plain *book.Book, all []*settled) (any bool) {
	held := waits(plain)
	for _, s := range all {
		l, ok := plain.Line(s.Line)
		t, r, made := d.Row(s.Line)
		if s.aside || s.Finding() || !ok || !made || held[s.at()] || s.Cell != book.HoldNew && s.Cell != book.HoldService {
			continue
		}
		text := map[string]string{book.HoldNew: l.Says.New, book.HoldService: l.Says.Service}[s.Cell]
		t.Mapping.Holds = append(slices.Clone(t.Mapping.Holds), intake.Doubted{Row: r.FileLine, Cell: s.Cell, Text: text, Why: "settled when the table was read otherwise"})
		any = true
	}
	if any {
		for i, t := range d.Tables {
			d.Tables[i] = t.As(t.Mapping)
		}
	}
	return any
}
