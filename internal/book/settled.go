package book

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// SettledFormat is the format of the file beside a book in which what a person
// has settled stands.
const SettledFormat = "settled/1"

// SettledName names that file: engine.settled.yaml beside engine.yaml.
func SettledName(book string) string {
	ext := filepath.Ext(book)
	if ext != ".yaml" && ext != ".yml" {
		return book + ".settled.yaml"
	}
	return strings.TrimSuffix(book, ext) + ".settled.yaml"
}

// Acknowledged says that a finding of the check was looked at, and why it may
// stand. It is for the figures that were printed then: where they change, it
// has lapsed.
type Acknowledged struct {
	Code     string
	Lines    []string // keys, in the order of the finding
	Printed  []string // the cells that it is about
	Reason   string   // one of Reasons
	Note     string
	By, Date string
}

// A Reason is why a finding may stand.
type Reason struct{ Word, Meaning string }

// Reasons are all of them.
var Reasons = []Reason{
	{"selection", "parts are selected to fit each other"},
	{"rounding", "the manual rounds"},
	{"shims", "shims or selected washers make the difference"},
	{"as-printed", "as printed, confirmed with the maker"},
}

type (
	rawSettled struct {
		Format       text                     `book:"format" enum:"settled/1"`
		Holds        []named[rawSettledHolds] `book:"holds" keys:"words" doc:"by line, what its held cells say"`
		Links        []named[rawLink]         `book:"links" keys:"words" doc:"by line, the fit that it is confirmed to be"`
		Acknowledged []rawAcknowledged        `book:"acknowledged" doc:"findings of the check that may stand"`
		Struck       []rawStruck              `book:"struck" doc:"what of these was taken back"`
	}
	rawAcknowledged struct {
		Code    text   `book:"code"`
		Lines   []text `book:"lines"`
		Printed []text `book:"printed"`
		Reason  text   `book:"reason"`
		Note    text   `book:"note"`
		By      text   `book:"by"`
		Date    text   `book:"date"`
	}
)

// LoadSettled reads of what was settled the findings that may stand. What it says
// of a book's lines is read with the book, by [Load]. Where anything is wrong the
// error is a fault list with all of it.
func LoadSettled(name string, data []byte) ([]Acknowledged, error) {
	all, _, err := readSettled(name, data)
	return all, err
}

// readSettled is LoadSettled, with what was struck.
func readSettled(name string, data []byte) ([]Acknowledged, []Struck, error) {
	if len(data) > MaxSize {
		return nil, nil, fmt.Errorf("%s: larger than %d bytes: it settles one book", name, MaxSize)
	}
	d := &decoder{file: name, format: SettledFormat}
	var raw rawSettled
	d.document(data, &raw)
	r := &resolver{decoder: d}
	top := text{"", 1, 1}
	if raw.Format.value != SettledFormat && !slices.Contains(d.broken, "format") {
		at := raw.Format
		if !at.set() {
			at = top
		}
		d.fault(at, "format", "format", "this program reads "+SettledFormat, "begin the file with \"format: "+SettledFormat+"\"")
	}
	all, struck := r.acknowledged(raw.Acknowledged, top), r.struck(raw.Struck, top)
	if len(d.faults) > 0 {
		d.faults.Sort()
		return nil, nil, d.faults
	}
	return all, struck, nil
}

// acknowledged reads the findings that may stand; top is where the file begins.
func (r *resolver) acknowledged(raw []rawAcknowledged, top text) []Acknowledged {
	var words []string
	for _, w := range Reasons {
		words = append(words, w.Word)
	}
	var all []Acknowledged
	for _, a := range raw {
		const path = "acknowledged"
		at := top
		for _, t := range append([]text{a.By, a.Reason, a.Code}, a.Lines...) {
			if t.set() {
				at = t
			}
		}
		if a.Code.value == "" || len(a.Lines) == 0 || a.By.value == "" {
			r.fault(at, path, "missing", "a finding is acknowledged with its code, its lines, a reason and a name", "write {code: fit-sum, lines: [fit, bore, shaft], printed: […], reason: selection, by: M. Pohl}, or let tenths book acknowledge write it")
		}
		if !slices.Contains(words, a.Reason.value) {
			if a.Reason.set() {
				at = a.Reason
			}
			r.choice(at, path+".reason", words...)
		}
		one := Acknowledged{Code: a.Code.value, Reason: a.Reason.value, Note: a.Note.value, By: a.By.value, Date: a.Date.value}
		for _, t := range a.Lines {
			one.Lines = append(one.Lines, t.value)
		}
		for _, t := range a.Printed {
			one.Printed = append(one.Printed, t.value)
		}
		all = append(all, one)
	}
	return all
}

// Acknowledge adds to the text of a file of what was settled, which may be
// empty. All else in it stays as it is.
func Acknowledge(name string, data []byte, all ...Acknowledged) ([]byte, error) {
	for _, a := range all {
		for _, t := range append(append([]string{a.Code, a.Note, a.By, a.Date}, a.Lines...), a.Printed...) {
			if !utf8.ValidString(t) {
				return nil, fmt.Errorf("%q is not UTF-8 text", t)
			}
		}
	}
	return settledWith(name, data, func(e *settledEdit) { e.acknowledge(all) })
}

func (e *settledEdit) acknowledge(all []Acknowledged) {
	list := child(e.top, "acknowledged")
	if list == nil {
		list = &yaml.Node{Kind: yaml.SequenceNode}
		e.top.Content = append(e.top.Content, scalar("acknowledged"), list)
	}
	if list.Kind != yaml.SequenceNode {
		*list = yaml.Node{Kind: yaml.SequenceNode, HeadComment: list.HeadComment, LineComment: list.LineComment, FootComment: list.FootComment}
	}
	list.Style = 0
	for _, a := range all {
		one := &yaml.Node{Kind: yaml.MappingNode}
		add := func(key string, value *yaml.Node) { one.Content = append(one.Content, scalar(key), value) }
		seq := func(of []string) *yaml.Node {
			n := &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle}
			for _, s := range of {
				n.Content = append(n.Content, scalar(s))
			}
			return n
		}
		add("code", scalar(a.Code))
		add("lines", seq(a.Lines))
		add("printed", seq(a.Printed))
		add("reason", scalar(a.Reason))
		if a.Note != "" {
			add("note", scalar(a.Note))
		}
		add("by", scalar(a.By))
		add("date", scalar(a.Date))
		list.Content = append(list.Content, one)
	}
}

// scalar is a text, never a number or a truth value: quoted where it must be.
func scalar(s string) *yaml.Node {
	n := &yaml.Node{}
	n.SetString(s)
	return n
}

// String says the reason in words, and who it is by.
func (a *Acknowledged) String() string {
	text := a.Reason
	for _, r := range Reasons {
		if r.Word == a.Reason {
			text = r.Meaning
		}
	}
	if a.Note != "" {
		text += " (" + a.Note + ")"
	}
	return text + ", " + cmp.Or(strings.TrimSpace(a.By+" "+a.Date), "nobody")
}
