package book

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"tenths/internal/fault"
)

// A Doubt is a cell of a line that waits for a person: it can't be read for
// certain, or contradicts the line's other cell, or leaves open from where wear
// is counted.
type Doubt struct {
	Line *Line
	Hold
}

// Doubts returns all that waits for a person in the book's lines, in its order.
// Of two cells that contradict each other both are told; settling one is enough.
func (b *Book) Doubts() []Doubt {
	var all []Doubt
	for _, l := range b.Lines {
		for _, h := range l.Holds {
			all = append(all, Doubt{l, h})
		}
		switch {
		case l.Contradiction != "":
			all = append(all, l.doubt(HoldNew, l.Says.New, l.Contradiction), l.doubt(HoldService, l.Says.Service, l.Contradiction))
		case l.Limit.Held != nil:
			wear := l.Says.Service
			all = append(all, l.doubt(HoldService, wear, "it does not say from which end of the new limits wear is counted", wear+" from min", wear+" from max"))
		}
	}
	return all
}

// doubt is a cell that can be read, and waits all the same. One that was settled
// is known by what was printed.
func (l *Line) doubt(cell, says, why string, may ...string) Doubt {
	for _, s := range l.Settled {
		if s.Cell == cell {
			says = s.Text
		}
	}
	return Doubt{l, Hold{cell, says, may, why, l.FileLine}}
}

// A Place is where in a file something was said.
type Place struct {
	File         string
	Line, Column int
}

// A Saying is what a person says of a cell that waits.
type Saying struct {
	Line, Cell    string
	Text          string // the cell as printed when it was said; not held against the book if CheckText is false
	CheckText     bool
	Says          string // as the book writes it; blank where it says nothing
	By, Why, Date string
	Place         Place
}

// An Answered is what became of sayings.
type Answered struct {
	Settled, Same []Saying // Same: the very words stood there already
	Book          *Book    // as it is with them
}

// Answer settles cells of a book that wait for a person. own is the book's text,
// settled that of the file beside it, which may be empty; what comes back is the
// new text of that file. Where anything is wrong with one of the sayings the error
// is a fault list, each fault at the saying's place, and there is no text. What
// was said before is not overwritten unless again says so; it stays in the file,
// under "before".
func Answer(name string, own, settled []byte, sayings []Saying, again bool) ([]byte, Answered, error) {
	var done Answered
	b, err := Load(name, Join(own, settled))
	if err != nil {
		return nil, done, err
	}
	waits := map[[2]string]Doubt{}
	for _, d := range b.Doubts() {
		waits[[2]string{d.Line.Key, d.Cell}] = d
	}
	var faults fault.List
	said := map[[2]string]Saying{}
	for _, s := range sayings {
		bad := func(code, text, what, do string) { faults = append(faults, s.fault(code, text, what, do)) }
		at := [2]string{s.Line, s.Cell}
		l, ok := b.Line(s.Line)
		if !ok {
			bad("nowhere", s.Line, "the book has no such line", "name a line by its key")
			continue
		}
		first, twice := said[at]
		if twice && first.Says != s.Says {
			bad("doubled-key", s.Says, "the same cell says something else further up: "+first.Says, "keep one of the two")
		}
		if twice {
			continue
		}
		said[at] = s
		d, waiting := waits[at]
		was, known := l.settledCell(s.Cell)
		printed := d.Text
		if known {
			printed = was.Text
		}
		switch {
		case !known && !waiting:
			bad("nowhere", s.Cell, "this cell of "+l.Key+" does not wait for a person", "tenths book settle "+name+" lists those that do")
		case s.CheckText && !sameText(s.Text, printed):
			bad("nowhere", s.Text, "the book has "+quoted(printed)+" there now", "look at the manual, and answer that")
		case !utf8.ValidString(s.Says + s.By + s.Why):
			bad("encoding", s.Says, "is not UTF-8 text", "write it again")
		case strings.TrimSpace(s.Says) == "":
			bad("missing", "", "it says nothing", "write what the cell says, or blank where the manual has nothing there")
		case known && was.Says == s.Says:
			done.Same = append(done.Same, s)
		case known && !again:
			bad("doubled-key", s.Says, fmt.Sprintf("%s %s was settled as %s by %s: %s", l.Key, s.Cell, quoted(was.Says), strings.TrimSpace(was.By+" "+was.Date), was.Settlement.Why),
				"say --again to settle it otherwise; what was said before stays in the file")
		case strings.TrimSpace(s.By) == "":
			bad("missing", "", "it does not say who settles it", "give a name")
		case strings.TrimSpace(s.Why) == "":
			bad("missing", "", "it does not say how one knows", "say why: another printing, the maker's letter, looked at again")
		default:
			s.Text = printed
			done.Settled = append(done.Settled, s)
		}
	}
	if len(faults) > 0 {
		return nil, done, faults
	}
	if done.Book = b; len(done.Settled) == 0 {
		return settled, done, nil
	}
	text, err := settledWith(SettledName(name), settled, func(e *settledEdit) {
		for _, s := range done.Settled {
			e.say(s)
		}
	})
	if err != nil {
		return nil, done, err
	}
	done.Book, err = Load(name, Join(own, text))
	var wrong fault.List
	if errors.As(err, &wrong) {
		return nil, done, blamed(b, wrong, done.Settled)
	}
	if err != nil {
		return nil, done, err
	}
	return text, done, nil
}

func (s *Saying) fault(code, text, what, do string) fault.Fault {
	return fault.Fault{File: s.Place.File, Line: s.Place.Line, Column: s.Place.Column, Code: code, Text: text, What: what, Do: do}
}

// blamed tells the faults of a book that sayings have spoilt at the places of
// those sayings.
func blamed(b *Book, faults fault.List, sayings []Saying) fault.List {
	for i := range faults {
		f := &faults[i]
		best, most := -1, 0
		for n, s := range sayings {
			for points, field := range []string{"lines." + s.Line, "lines." + s.Line + "." + s.Cell, "holds." + s.Line + "." + s.Cell} {
				if points+1 > most && (f.Field == field || strings.HasPrefix(f.Field, field+".")) {
					best, most = n, points+1
				}
			}
			if l, ok := b.Line(s.Line); ok && s.Cell == HoldKind && most == 0 {
				part := l.Terms[0].Feature
				if strings.HasPrefix(f.Field, "parts."+part.Part.Key+".features."+part.Key) {
					best, most = n, 1
					f.Do = "write length wears larger, length wears smaller or length wears either"
				}
			}
		}
		if best < 0 {
			continue
		}
		s := sayings[best]
		f.File, f.Line, f.Column = s.Place.File, s.Place.Line, s.Place.Column
		f.Field = s.Line + " " + s.Cell
		if f.Text == "" || s.Cell == HoldKind {
			f.Text = s.Says
		}
	}
	return faults
}

// settledCell is what a person settled of a cell.
func (l *Line) settledCell(cell string) (SettledHold, bool) {
	for _, s := range l.Settled {
		if s.Cell == cell {
			return s, true
		}
	}
	return SettledHold{}, false
}

// sameText tells whether two texts are the same but for blanks, which
// spreadsheets put in order.
func sameText(a, b string) bool {
	return strings.Join(strings.Fields(a), " ") == strings.Join(strings.Fields(b), " ")
}

func quoted(text string) string {
	if text == "" {
		return "nothing"
	}
	return `"` + text + `"`
}

// A settledEdit changes the file beside a book, and keeps all else in it, and its
// comments.
type settledEdit struct{ top *yaml.Node }

// settledWith returns the text of the file beside a book, changed.
func settledWith(name string, data []byte, change func(*settledEdit)) ([]byte, error) {
	if len(bytes.TrimSpace(data)) == 0 {
		data = []byte("format: " + SettledFormat + "\n")
	}
	if _, err := LoadSettled(name, data); err != nil {
		return nil, err
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	change(&settledEdit{doc.Content[0]})
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	if err := errors.Join(enc.Encode(&doc), enc.Close()); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if _, err := LoadSettled(name, out.Bytes()); err != nil {
		return nil, fmt.Errorf("what would be written can't be read: %w", err)
	}
	return out.Bytes(), nil
}

// under returns the mapping under a key, made where there is none.
func under(n *yaml.Node, key string) *yaml.Node {
	v := child(n, key)
	if v == nil {
		v = &yaml.Node{Kind: yaml.MappingNode}
		n.Content = append(n.Content, scalar(key), v)
	}
	if v.Kind != yaml.MappingNode { // "holds:" with nothing behind it
		*v = yaml.Node{Kind: yaml.MappingNode, HeadComment: v.HeadComment, LineComment: v.LineComment, FootComment: v.FootComment}
	}
	v.Style = 0
	return v
}

func child(n *yaml.Node, key string) *yaml.Node {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}

// replace puts keys with their values into a mapping in place of what it has, which
// then stands under "before", in front of what stood there.
func replace(n *yaml.Node, keep []string, pairs ...[2]string) {
	var before []*yaml.Node
	if len(n.Content) > 0 {
		was := &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle}
		for _, k := range keep {
			if v := child(n, k); v != nil {
				was.Content = append(was.Content, scalar(k), v)
			}
		}
		before = append(before, was)
		if old := child(n, "before"); old != nil {
			before = append(before, old.Content...)
		}
	}
	n.Content = nil
	for _, p := range pairs {
		if p[1] != "" {
			n.Content = append(n.Content, scalar(p[0]), scalar(p[1]))
		}
	}
	if len(before) > 0 {
		n.Content = append(n.Content, scalar("before"), &yaml.Node{Kind: yaml.SequenceNode, Content: before})
	}
}

// say notes what a cell says.
func (e *settledEdit) say(s Saying) {
	cell := under(under(under(e.top, "holds"), s.Line), s.Cell)
	replace(cell, []string{"says", "by", "why", "date"},
		[2]string{"text", s.Text}, [2]string{"says", strings.TrimSpace(s.Says)}, [2]string{"by", strings.TrimSpace(s.By)},
		[2]string{"why", strings.TrimSpace(s.Why)}, [2]string{"date", s.Date})
}

// Count says in words how many cells of how many lines wait.
func Count(all []Doubt) string {
	lines := map[*Line]bool{}
	for _, d := range all {
		lines[d.Line] = true
	}
	if len(all) == 0 {
		return "nothing waits for a person"
	}
	return fmt.Sprintf("%d %s of %d %s %s for a person", len(all), plural(len(all), "cell"), len(lines), plural(len(lines), "line"), cmp.Or(map[bool]string{true: "waits"}[len(all) == 1], "wait"))
}

func plural(n int, thing string) string {
	if n == 1 {
		return thing
	}
	return thing + "s"
}

// A Linking is what a person confirms: which features a row of clearances adds up.
type Linking struct {
	Line, Fit     string // the fit as a book writes it
	By, Why, Date string
}

// A Confirmed is what became of linkings.
type Confirmed struct {
	Linked, Same []Linking // Same: the very fit stood there already
	Book         *Book     // as it is with them
}

// Confirm links rows of clearances to the sizes that they are worked out from, as
// [Answer] settles cells: what comes back is the new text of the file beside the
// book, or a fault list and no text. What was confirmed before is not overwritten
// unless again says so; it stays in the file, under "before".
func Confirm(name string, own, settled []byte, links []Linking, again bool) ([]byte, Confirmed, error) {
	var done Confirmed
	b, err := Load(name, Join(own, settled))
	if err != nil {
		return nil, done, err
	}
	var faults fault.List
	bad := func(k *Linking, code, text, what, do string) {
		faults = append(faults, fault.Fault{Code: code, Text: text, Field: k.Line, What: what, Do: do})
	}
	for i := range links {
		k := &links[i]
		l, ok := b.Line(k.Line)
		switch {
		case !ok:
			bad(k, "nowhere", "", "the book has no such line", "name a line by its key")
		case !utf8.ValidString(k.Fit + k.By + k.Why):
			bad(k, "encoding", k.Fit, "is not UTF-8 text", "write it again")
		case l.Link == nil && (l.Judges != Size || l.Terms[0].Feature.Class != Clearance):
			bad(k, "judges", l.Name, "is no clearance that is measured as one", "only those are linked; a fit is worked out already")
		case l.Link != nil && l.Link.Fit == k.Fit:
			done.Same = append(done.Same, *k)
		case l.Link != nil && !again:
			bad(k, "doubled-key", k.Fit, fmt.Sprintf("it was linked as %s by %s", quoted(l.Link.Fit), strings.TrimSpace(l.Link.By+" "+l.Link.Date)), "say --again to link it otherwise; what was confirmed before stays in the file")
		case strings.TrimSpace(k.By) == "":
			bad(k, "missing", "", "it does not say who confirms it", "give a name")
		default:
			done.Linked = append(done.Linked, *k)
		}
	}
	if len(faults) > 0 {
		return nil, done, faults
	}
	if done.Book = b; len(done.Linked) == 0 {
		return settled, done, nil
	}
	text, err := settledWith(SettledName(name), settled, func(e *settledEdit) {
		for _, k := range done.Linked {
			e.link(k)
		}
	})
	if err != nil {
		return nil, done, err
	}
	if done.Book, err = Load(name, Join(own, text)); err != nil {
		return nil, done, err
	}
	return text, done, nil
}

// link notes which fit a line is.
func (e *settledEdit) link(k Linking) {
	replace(under(under(e.top, "links"), k.Line), []string{"fit", "mates", "by", "why", "date"},
		[2]string{"fit", k.Fit}, [2]string{"by", strings.TrimSpace(k.By)}, [2]string{"why", strings.TrimSpace(k.Why)}, [2]string{"date", k.Date})
}
