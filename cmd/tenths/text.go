package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/picture"
)

const (
	rulerWidth = 24
	plainWidth = 100 // where the output is no terminal
	leastWidth = 60
)

// Styles of a terminal, by their codes (ECMA-48, select graphic rendition).
const (
	plain   = ""
	bold    = "1"
	reverse = "7"
)

// A page is where text goes: how wide it is and whether it may be set in bold
// and reverse. There is no colour.
type page struct {
	*bufio.Writer // it keeps the first error, for Flush to tell
	width         int
	styled        bool
}

func newPage(out io.Writer) page {
	p := page{Writer: bufio.NewWriter(out), width: plainWidth}
	f, ok := out.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return p
	}
	if w, _, err := term.GetSize(int(f.Fd())); err == nil {
		p.width = max(leastWidth, w)
	}
	p.styled = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	return p
}

func (p page) style(code, text string) string {
	if !p.styled || text == "" || code == plain {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

// visible is text that came from elsewhere as a terminal may show it: what it would
// obey, and bytes that are no text, are written out.
func visible(text string) string {
	quoted := strconv.QuoteToGraphic(text)
	if quoted == `"`+text+`"` {
		return text
	}
	return strings.NewReplacer(`\"`, `"`, `\\`, `\`, `\n`, "\n").Replace(quoted[1 : len(quoted)-1])
}

func (p page) bold(text string) string { return p.style(bold, text) }

// text prints the verdicts by part, then what needs a person, then the counts.
func (r *judged) text(out io.Writer) error {
	p := newPage(out)
	fmt.Fprintf(p, "%s\n", p.bold(r.book.Engine))
	if m := r.book.Manual.String(); m != "" {
		fmt.Fprintf(p, "by %s\n", m)
	}
	if s := r.book.Numbering.String(); s != "" {
		p.wrap("", s, 2)
	}
	if r.options.summary {
		r.closing(p)
		return p.Flush()
	}
	for _, part := range r.book.Parts {
		shown := r.of(part)
		if len(shown) > 0 {
			fmt.Fprintf(p, "\n%s\n", p.bold(part.Name))
			if s := part.Numbering.String(); s != "" && part.Numbering != r.book.Numbering {
				p.wrap("", s, 2)
			}
		}
		for _, v := range shown {
			r.row(p, v)
		}
	}
	r.summary(p)
	return p.Flush()
}

// of returns the verdicts of a part that the filters let through: first those
// that want a person, then the others, each in the order of the book.
func (r *judged) of(part *book.Part) []*judge.Verdict {
	var wanting, others []*judge.Verdict
	for i := range r.verdicts {
		switch v := &r.verdicts[i]; {
		case v.Line.Part() != part || r.options.problems && !problem(v):
		case problem(v):
			wanting = append(wanting, v)
		default:
			others = append(others, v)
		}
	}
	return append(wanting, others...)
}

// problem tells whether a verdict wants a person.
func problem(v *judge.Verdict) bool {
	return v.Ungraded == "" && (v.Grade == judge.Beyond || v.Open() || len(v.Asks) > 0 || v.Grade == judge.NoGrade)
}

// row prints one verdict:
//
//	4  Main journal diameter 1                      new 2.3745..2.3755, service min 2.3730
//	   ──┃▭▭▭▼▭▭▭■■■■■■■■■──  2.3741..2.3744       serviceable, 26 % used
//
// and under it what makes it up, what is open and what is asked.
func (r *judged) row(p page, v *judge.Verdict) {
	const margin = 6
	ref := v.Line.Ref
	name := r.words.Name(v)
	limits := r.words.Limits(v.Line, v.Limit)
	left := max(44, min(56, p.width/2))
	indent := strings.Repeat(" ", margin)
	head := fmt.Sprintf("%*s  %s", margin-2, ref, name)
	p.columns(head, limits, plain, left, margin)

	found := r.words.Ends(v)
	standing := r.words.Standing(v)
	code := map[judge.Grade]string{judge.Beyond: reverse, judge.Serviceable: bold}[v.Grade]
	p.columns(indent+picture.RulerText(v, rulerWidth)+"  "+found, standing, code, left, margin)
	if v.Line.Judges == book.Fit && v.Measured {
		p.wrap(indent+"of ", r.words.Members(v, r.readings.At), margin+3)
	}
	if v.Open() {
		p.wrap(indent+"open: ", r.words.Missing(v), margin+6)
	}
	for _, a := range v.Asks {
		p.wrap(indent, r.words.Ask(v, a, r.readings.At), margin+2)
	}
}

// columns prints two texts side by side, or under each other where the first
// is too long; the second in a style.
func (p page) columns(a, b, code string, left, margin int) {
	if n := utf8.RuneCountInString(a); n < left {
		fmt.Fprint(p, a, strings.Repeat(" ", left-n))
		p.lines(b, code, left, left)
		return
	}
	fmt.Fprintln(p, a)
	fmt.Fprint(p, strings.Repeat(" ", margin+2))
	p.lines(b, code, margin+2, margin+2)
}

// wrap prints a lead and a text that is broken at blanks and indented.
func (p page) wrap(lead, text string, indent int) {
	p.WriteString(lead)
	p.lines(text, "", utf8.RuneCountInString(lead), indent)
}

// lines prints a text from a column on, broken at blanks to the page's width;
// further lines begin at the indent.
func (p page) lines(text, code string, column, indent int) {
	start, at := 0, column // of the line that is being filled
	for from := 0; from <= len(text); {
		to := len(text)
		if i := strings.IndexByte(text[from:], ' '); i >= 0 {
			to = from + i
		}
		n := utf8.RuneCountInString(text[from:to])
		if from > start && at+1+n > p.width {
			p.WriteString(p.style(code, text[start:from-1]))
			p.WriteString("\n" + strings.Repeat(" ", indent))
			start, at = from, indent
		}
		if from > start {
			at++
		}
		at += n
		from = to + 1
	}
	p.WriteString(p.style(code, text[start:]))
	p.WriteString("\n")
}

// open prints each spot that is still to be measured, with the lines that wait
// for it.
func (r *judged) open(p page) {
	waits := map[book.SpotID][]book.Ref{}
	for i := range r.verdicts {
		v := &r.verdicts[i]
		if !v.Open() {
			continue
		}
		for _, id := range v.Missing {
			waits[id] = append(waits[id], book.Ref{Line: v.Line, At: v.At})
		}
	}
	if len(waits) > 0 {
		fmt.Fprintln(p, p.bold("Open"))
	}
	for id, spot := range r.book.Spots {
		if lines := waits[book.SpotID(id)]; lines != nil {
			p.wrap(fmt.Sprintf("  %-24s ", spot), "for "+instances(lines), 27)
		}
	}
}

// table prints the counts, a row a part.
func (r *judged) table(p page) {
	byPart := map[*book.Part][]judge.Verdict{}
	for i := range r.verdicts {
		part := r.verdicts[i].Line.Part()
		byPart[part] = append(byPart[part], r.verdicts[i])
	}
	name := 22
	for part := range byPart {
		name = max(name, min(34, utf8.RuneCountInString(part.Name)))
	}
	row := func(title string, n counts) {
		if r := []rune(title); len(r) > name {
			title = string(r[:name-1]) + "…"
		}
		fmt.Fprintf(p, "%-*s %8d %5d %6d %7d %6d %5d %6d\n", name, title, n.Verdicts, n.New, n.Serviceable, n.Beyond, n.None+n.Ungraded, n.Open, n.Asked)
	}
	fmt.Fprintln(p)
	fmt.Fprintf(p, "%-*s %8s %5s %6s %7s %6s %5s %6s\n", name, counted(len(r.file.Readings), "reading"), "verdicts", "new", "serv.", "beyond", "none", "open", "asked")
	for _, part := range r.book.Parts {
		if len(byPart[part]) > 0 && len(byPart) > 1 {
			row(part.Name, count(byPart[part]))
		}
	}
	row("All", count(r.verdicts))
}

// asked prints each thing asked once, with the lines that it touches. What is
// asked of two things may read alike: then each of them is named.
func (r *judged) asked(p page) {
	var order []string
	touches := map[string][]book.Ref{}
	for i := range r.verdicts {
		v := &r.verdicts[i]
		for _, a := range v.Asks {
			text := r.words.Ask(v, a, r.readings.At)
			if touches[text] == nil {
				order = append(order, text)
			}
			if of := (book.Ref{Line: v.Line, At: v.At}); !slices.Contains(touches[text], of) {
				touches[text] = append(touches[text], of)
			}
		}
	}
	if len(order) > 0 {
		fmt.Fprintln(p, p.bold("Asked"))
	}
	for _, text := range order {
		p.wrap("  ", instances(touches[text])+": "+text, 4)
	}
	if r.asksWhich() {
		p.wrap("  ", r.hint, 4)
	}
}

// instances names instances of lines, in their order: a line with all of its
// instances among them by its key and their number.
func instances(refs []book.Ref) string {
	var names []string
	for len(refs) > 0 {
		l, n := refs[0].Line, 1
		for n < len(refs) && refs[n].Line == l {
			n++
		}
		if n > 2 && n == len(l.Instances) {
			names = append(names, fmt.Sprintf("%s (all %d)", l.Key, n))
		} else {
			for _, r := range refs[:n] {
				names = append(names, l.ID(r.At))
			}
		}
		refs = refs[n:]
	}
	return strings.Join(names, ", ")
}

// asksWhich tells whether any line asks for what it depends on.
func (r *judged) asksWhich() bool {
	for i := range r.verdicts {
		for _, a := range r.verdicts[i].Asks {
			if a.Kind == judge.Which {
				return true
			}
		}
	}
	return false
}

// summary prints what needs a person and the counts.
func (r *judged) summary(p page) {
	n := count(r.verdicts)
	fmt.Fprintln(p)
	list := func(title string, pick func(*judge.Verdict) bool, say func(*judge.Verdict) string) {
		headed := false
		for i := range r.verdicts {
			v := &r.verdicts[i]
			if !pick(v) {
				continue
			}
			if !headed {
				fmt.Fprintln(p, p.bold(title))
				headed = true
			}
			p.wrap(fmt.Sprintf("  %-24s ", v.Line.ID(v.At)), say(v), 27)
		}
	}
	list("Beyond", func(v *judge.Verdict) bool { return v.Grade == judge.Beyond }, func(v *judge.Verdict) string {
		by := ""
		if v.Wrong != "" {
			return r.words.Name(v) + ": " + v.Wrong
		}
		if len(v.Limit.Tiers) == 0 {
			return r.words.Name(v) + ": " + r.words.Ends(v) + " (" + r.words.Limits(v.Line, v.Limit) + ")"
		}
		if d, ok := v.By(); ok && d.Sign() > 0 {
			by = ", by " + r.words.Difference(v.Line, d)
		}
		return fmt.Sprintf("%s: %s%s (%s)", r.words.Name(v), r.words.Ends(v), by, r.words.Crossed(v))
	})
	r.asked(p)
	r.open(p)
	if n.Beyond == 0 {
		fmt.Fprintln(p, "Nothing beyond.")
	}
	r.closing(p)
}

// closing prints the counts and what goes for all of them.
func (r *judged) closing(p page) {
	r.table(p)
	if past := len(r.readings.Past); past > 0 {
		p.wrap("", counted(past, "reading")+" of an earlier stage kept, and not judged by.", 2)
	}
	if r.file.Blank > 0 {
		p.wrap("", counted(r.file.Blank, "row")+" without a value yet.", 2)
	}
	if skipped := len(r.file.Faults); skipped > 0 {
		fmt.Fprintf(p, "INCOMPLETE: %s skipped.\n", counted(skipped, "row fault"))
	}
	p.wrap("", "Tenths advises; the maker's current manual governs and a certificated person decides and signs.", 2)
}
