package book

import (
	"bytes"
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"tenths/internal/fault"
)

// A Struck is what a person settled, linked or acknowledged, and what was taken
// back since. It counts for nothing, and stays on record.
type Struck struct {
	Line, Cell   string        // of a settled hold; of a link without a cell
	Text, Says   string        // of a settled hold: as it was printed, and what it was settled as
	Fit          string        // of a link
	Acknowledged *Acknowledged // of a finding; nil else
	Was          Settlement    // who had said so
	Settlement                 // who struck it
}

// String says what was struck, and by whom.
func (s *Struck) String() string {
	var text string
	switch {
	case s.Acknowledged != nil:
		text = s.Acknowledged.String()
	case s.Fit != "":
		text = s.Fit + ", " + s.Was.String()
	default:
		text = s.Says + ", " + s.Was.String()
	}
	return text + "; struck by " + s.Settlement.String()
}

// String says who settled it, and why.
func (s Settlement) String() string {
	text := strings.TrimSpace(s.By + " " + s.Date)
	if s.Why != "" {
		text += ": " + s.Why
	}
	return text
}

type (
	rawStruck struct {
		Hold         rawStruckHold   `book:"hold" doc:"a settled hold, with its line and cell"`
		Link         rawStruckLink   `book:"link" doc:"a confirmed link, with its line"`
		Acknowledged rawAcknowledged `book:"acknowledged" doc:"an acknowledged finding"`
		By           text            `book:"by" need:"yes" doc:"who struck it"`
		Why          text            `book:"why" need:"yes"`
		Date         text            `book:"date"`
	}
	rawStruckHold struct {
		Line   text      `book:"line" need:"yes"`
		Cell   text      `book:"cell" need:"yes" enum:"new,service,kind"`
		Says   text      `book:"says" need:"yes"`
		By     text      `book:"by" need:"yes"`
		Why    text      `book:"why"`
		Date   text      `book:"date"`
		Text   text      `book:"text"`
		Before []rawSaid `book:"before"`
	}
	rawStruckLink struct {
		Line   text           `book:"line" need:"yes"`
		Fit    text           `book:"fit" need:"yes"`
		Mates  []named[texts] `book:"mates" keys:"feature"`
		By     text           `book:"by" need:"yes"`
		Why    text           `book:"why"`
		Date   text           `book:"date"`
		Before []rawLinked    `book:"before"`
	}
)

// struck reads what was taken back; top is where the file begins.
func (r *resolver) struck(raw []rawStruck, top text) []Struck {
	var all []Struck
	for _, s := range raw {
		where := top
		for _, t := range append([]text{s.Acknowledged.By, s.Acknowledged.Code, s.Link.By, s.Link.Line, s.Hold.By, s.Hold.Line, s.Date, s.Why, s.By}, s.Acknowledged.Lines...) {
			if t.set() {
				where = t
			}
		}
		const path = "struck"
		if r.missing(where, path, s.By, "by", "say who struck it") || r.missing(where, path, s.Why, "why", "say why it was struck") {
			continue
		}
		one := Struck{Settlement: r.settlement(s.By, s.Why, s.Date, s.By)}
		hold, link, finding := s.Hold, s.Link, s.Acknowledged
		switch isHold, isLink, isFinding := hold.Line.set(), link.Line.set(), finding.Code.set(); {
		case isHold && !isLink && !isFinding && hold.Cell.set() && hold.Says.set() && hold.By.set():
			if !slices.Contains([]string{HoldNew, HoldService, HoldKind}, hold.Cell.value) {
				r.choice(hold.Cell, path+".hold.cell", HoldNew, HoldService, HoldKind)
			}
			one.Line, one.Cell, one.Text, one.Says = hold.Line.value, hold.Cell.value, hold.Text.value, hold.Says.value
			one.Was = r.settlement(hold.By, hold.Why, hold.Date, hold.Line)
		case isLink && !isHold && !isFinding && link.Fit.set() && link.By.set():
			one.Line, one.Fit = link.Line.value, link.Fit.value
			one.Was = r.settlement(link.By, link.Why, link.Date, link.Line)
		case isFinding && !isHold && !isLink:
			was := r.acknowledged([]rawAcknowledged{finding}, where)
			one.Acknowledged, one.Was = &was[0], r.settlement(finding.By, finding.Note, finding.Date, finding.Code)
		default:
			r.fault(where, path, "missing", "it does not say what was struck", "write one of hold: {line, cell, says, by, why}, link: {line, fit, by} and acknowledged: {code, lines, reason, by}, as it stood there before")
			continue
		}
		all = append(all, one)
	}
	return all
}

// A Striking is what a person takes back, and why: the only settled cell of a line,
// or that one; or its confirmed link; or an acknowledged finding.
type Striking struct {
	Line, Cell    string
	Link          bool
	Finding       *Acknowledged // by its code, lines and printed cells
	By, Why, Date string
}

// A Stricken is what became of strikings.
type Stricken struct {
	Struck []Struck
	Book   *Book // as it is then; nil where it could not be loaded before and can't be now
	Wrong  error // why not
}

// Strike takes back what a person settled of a book, as [Answer] settles it: what
// comes back is the new text of the file beside the book, in which it stands
// under "struck", or a fault list and no text. A cell waits again then, a
// clearance is measured again, a finding counts again: what was said before that
// does not come back by itself. What has lost its line or its cell can be taken back
// too, so the book need not load before.
func Strike(name string, own, settled []byte, strikes ...Striking) ([]byte, Stricken, error) {
	var done Stricken
	var faults fault.List
	text, err := settledWith(SettledName(name), settled, func(e *settledEdit) {
		for i := range strikes {
			e.strike(&strikes[i], &faults)
		}
	})
	if len(faults) > 0 {
		return nil, done, faults
	}
	if err != nil {
		return nil, done, err
	}
	had, now, err := struckIn(settled, text)
	if err != nil {
		return nil, done, err
	}
	done.Struck = now[had:]
	if done.Book, done.Wrong = Load(name, Join(own, text)); done.Wrong == nil {
		return text, done, nil
	}
	if _, err := Load(name, Join(own, settled)); err == nil {
		return nil, done, done.Wrong
	}
	return text, done, nil
}

// struckIn returns how many were struck before, and all that are now.
func struckIn(before, now []byte) (had int, all []Struck, err error) {
	if len(bytes.TrimSpace(before)) > 0 {
		_, were, err := readSettled("", before)
		if err != nil {
			return 0, nil, err
		}
		had = len(were)
	}
	_, all, err = readSettled("", now)
	return had, all, err
}

// strike moves to what is struck what a person takes back.
func (e *settledEdit) strike(s *Striking, faults *fault.List) {
	bad := func(code, field, what, do string) {
		*faults = append(*faults, fault.Fault{Code: code, Field: field, What: what, Do: do})
	}
	about := s.Line
	if s.Finding != nil {
		about = s.Finding.Code + " of " + strings.Join(s.Finding.Lines, ", ")
	}
	switch {
	case !utf8.ValidString(s.By + s.Why):
		bad("encoding", about, "is not UTF-8 text", "write it again")
		return
	case strings.TrimSpace(s.By) == "":
		bad("missing", about, "it does not say who takes it back", "give a name")
		return
	case strings.TrimSpace(s.Why) == "":
		bad("missing", about, "it does not say why it is taken back", "say why: the wrong row, another printing, a slip")
		return
	}
	var taken [][2]*yaml.Node // what it was, under which key
	switch {
	case s.Finding != nil:
		taken = e.takeFinding(s.Finding)
	case s.Link:
		if was := e.take("links", s.Line); was != nil {
			taken = append(taken, [2]*yaml.Node{scalar("link"), with(was, [2]string{"line", s.Line})})
		}
	default:
		cell := s.Cell
		if of := child(orEmpty(child(e.top, "holds")), s.Line); cell == "" && of != nil && of.Kind == yaml.MappingNode {
			var names []string
			for i := 0; i < len(of.Content); i += 2 {
				names = append(names, of.Content[i].Value)
			}
			if len(names) > 1 {
				bad("missing", about, "several of its cells are settled: "+strings.Join(names, ", "), "say which")
				return
			}
			cell = strings.Join(names, "")
		}
		about = strings.TrimSpace(s.Line + " " + cell)
		if was := e.take("holds", s.Line, cell); was != nil {
			taken = append(taken, [2]*yaml.Node{scalar("hold"), with(was, [2]string{"line", s.Line}, [2]string{"cell", cell})})
		}
	}
	if len(taken) == 0 {
		what := map[bool]string{true: "is not linked", false: "is not settled"}[s.Link]
		if s.Finding != nil {
			what = "is not acknowledged"
		}
		bad("nowhere", about, what+", so there is nothing to take back", "look at what stands in the file beside the book")
		return
	}
	list := child(e.top, "struck")
	if list == nil {
		list = &yaml.Node{Kind: yaml.SequenceNode}
		e.top.Content = append(e.top.Content, scalar("struck"), list)
	}
	if list.Kind != yaml.SequenceNode {
		*list = yaml.Node{Kind: yaml.SequenceNode, HeadComment: list.HeadComment, LineComment: list.LineComment, FootComment: list.FootComment}
	}
	list.Style = 0
	for _, t := range taken {
		one := &yaml.Node{Kind: yaml.MappingNode, Content: t[:]}
		list.Content = append(list.Content, with(one, [2]string{}, [2]string{"by", strings.TrimSpace(s.By)}, [2]string{"why", strings.TrimSpace(s.Why)}, [2]string{"date", s.Date}))
	}
}

// with puts texts before a mapping's keys; behind an empty one stand those that
// come behind them.
func with(n *yaml.Node, pairs ...[2]string) *yaml.Node {
	var first, last []*yaml.Node
	to := &first
	for _, p := range pairs {
		switch {
		case p[0] == "":
			to = &last
		case p[1] != "":
			*to = append(*to, scalar(p[0]), scalar(p[1]))
		}
	}
	n.Content = slices.Concat(first, n.Content, last)
	return n
}

func orEmpty(n *yaml.Node) *yaml.Node { return cmp.Or(n, &yaml.Node{}) }

// take takes out what stands under these keys, and what is empty without it; nil
// where there is nothing.
func (e *settledEdit) take(keys ...string) *yaml.Node {
	n := e.top
	var above []*yaml.Node
	for _, k := range keys {
		above = append(above, n)
		if n = child(n, k); n == nil || n.Kind != yaml.MappingNode {
			return nil
		}
	}
	for i := len(keys) - 1; i >= 0; i-- {
		drop(above[i], keys[i])
		if len(above[i].Content) > 0 {
			break
		}
	}
	return n
}

func drop(n *yaml.Node, key string) {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			n.Content = slices.Delete(n.Content, i, i+2)
			return
		}
	}
}

// takeFinding takes out what was said of a finding.
func (e *settledEdit) takeFinding(f *Acknowledged) (taken [][2]*yaml.Node) {
	list := child(e.top, "acknowledged")
	if list == nil {
		return nil
	}
	list.Content = slices.DeleteFunc(list.Content, func(n *yaml.Node) bool {
		texts := func(key string) (all []string) {
			for _, t := range orEmpty(child(n, key)).Content {
				all = append(all, t.Value)
			}
			return all
		}
		if orEmpty(child(n, "code")).Value != f.Code || !slices.Equal(texts("lines"), f.Lines) || !slices.Equal(texts("printed"), f.Printed) {
			return false
		}
		taken = append(taken, [2]*yaml.Node{scalar("acknowledged"), n})
		return true
	})
	if len(list.Content) == 0 {
		drop(e.top, "acknowledged")
	}
	return taken
}
