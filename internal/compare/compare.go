// Package compare says in words how one edition of a book differs from another:
// lines added, gone and changed, limits moved and by how much, pages, parts,
// amendments; and, given verdicts by both, which grades would change.
//
// Lines are matched by their keys, which are stable across editions. A line
// whose key is gone while another judges the same thing by the same reference
// is told as renamed.
//
// A limit that moves is stricter where a value within the old one may be
// outside the new, and wider the other way round. Figures are exact; editions
// in two units compare as sizes, not as digits.
//
// It does not say which edition is right, and what is printed otherwise and
// means the same is told apart from what means something else.
package compare

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Change is one thing that differs.
type Change struct {
	Code     string // one of Codes
	Key      string // of the line, part.feature, amendment or condition that it is about
	What     string // in words
	Effect   string // of a limit: stricter, wider; else empty
	Old, New *book.Line
}

// A Code names one sort of change, for programs.
type Code struct{ Code, Meaning string }

// Codes are all the sorts of change.
var Codes = []Code{
	{"manual", "the title, number, revision or date of the manual, or the engine"},
	{"amendment", "an amendment came, went or says something else"},
	{"condition", "what lines may depend on"},
	{"feature", "a part or a feature came, went or is measured otherwise"},
	{"drawing", "layout, sets or numbering"},
	{"line-added", "a line that was not there"},
	{"line-gone", "a line that is there no more"},
	{"line-renamed", "a line with another key"},
	{"limit", "a limit moved, came or went"},
	{"printed", "a limit is printed otherwise and means the same"},
	{"page", "the line stands on another page"},
	{"line", "something else that the line says"},
}

type comparison struct {
	old, now *book.Book
	all      []Change
}

// Books lists how the second book differs from the first: what is of the whole
// book, then line by line in the order of the second, then lines that are gone.
func Books(old, now *book.Book) []Change {
	c := &comparison{old: old, now: now}
	c.whole()
	c.features()
	renamed := c.renamed()
	for _, l := range now.Lines {
		was, ok := old.Line(l.Key)
		if !ok {
			was, ok = renamed[l], renamed[l] != nil
			if ok {
				c.say(Change{Code: "line-renamed", Key: l.Key, What: "the key was " + was.Key, Old: was, New: l})
			}
		}
		if !ok {
			c.say(Change{Code: "line-added", Key: l.Key, What: strings.TrimSuffix("added: "+l.Name+", "+limits(now, l)+by(l), ", "), New: l})
			continue
		}
		c.line(was, l)
	}
	for _, l := range old.Lines {
		if _, ok := now.Line(l.Key); !ok && !slices.Contains(slices.Collect(maps.Values(renamed)), l) {
			c.say(Change{Code: "line-gone", Key: l.Key, What: strings.TrimSuffix("gone: "+l.Name+", "+limits(old, l), ", "), Old: l})
		}
	}
	return c.all
}

func (c *comparison) say(x Change) { c.all = append(c.all, x) }

// differ says that two texts differ, if they do.
func (c *comparison) differ(code, key, name, was, is string, old, now *book.Line) {
	if was != is {
		c.say(Change{Code: code, Key: key, What: name + ": " + cmp.Or(is, "not stated") + "; was " + cmp.Or(was, "not stated"), Old: old, New: now})
	}
}

// whole compares what is said once in a book.
func (c *comparison) whole() {
	c.differ("manual", "", "engine", c.old.Engine, c.now.Engine, nil, nil)
	c.differ("manual", "", "manual", c.old.Manual.String(), c.now.Manual.String(), nil, nil)
	c.differ("manual", "", "unit", c.old.Unit.String(), c.now.Unit.String(), nil, nil)
	amendments := func(b *book.Book) map[string]string {
		all := map[string]string{}
		for _, a := range b.Amendments {
			all[a.Key] = a.String()
		}
		return all
	}
	c.named("amendment", amendments(c.old), amendments(c.now))
	conditions := func(b *book.Book) map[string]string {
		all := map[string]string{}
		for _, x := range b.Conditions {
			all[x.Name] = strings.Join(x.Words, " or ")
		}
		return all
	}
	c.named("condition", conditions(c.old), conditions(c.now))
	c.differ("drawing", "", "numbering", c.old.Numbering.String(), c.now.Numbering.String(), nil, nil)
	if (c.old.Layout == nil) != (c.now.Layout == nil) {
		c.say(Change{Code: "drawing", What: map[bool]string{true: "a layout was added", false: "the layout is gone"}[c.old.Layout == nil]})
	}
}

// named compares what has a key and one text.
func (c *comparison) named(code string, old, now map[string]string) {
	for _, key := range slices.Sorted(maps.Keys(now)) {
		if was, ok := old[key]; !ok {
			c.say(Change{Code: code, Key: key, What: code + " added: " + now[key]})
		} else {
			c.differ(code, key, code, was, now[key], nil, nil)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(old)) {
		if _, ok := now[key]; !ok {
			c.say(Change{Code: code, Key: key, What: code + " gone: " + old[key]})
		}
	}
}

// features compares parts and what is measured on them.
func (c *comparison) features() {
	describe := func(b *book.Book) map[string]string {
		all := map[string]string{}
		for _, p := range b.Parts {
			for _, f := range p.Features {
				all[f.Ref()] = aspects(f)
			}
		}
		return all
	}
	c.named("feature", describe(c.old), describe(c.now))
}

var classNames = map[book.Class]string{
	book.Outside: "outside", book.Inside: "inside", book.Extent: "length", book.Clearance: "clearance",
	book.Dial: "dial", book.Other: "quantity", book.Check: "check",
}

// aspects says all that readings of a feature depend on.
func aspects(f *book.Feature) string {
	text := classNames[f.Class]
	switch f.Wears {
	case book.Smaller:
		text += ", wears smaller"
	case book.Larger:
		text += ", wears larger"
	}
	if f.Unit != quantity.NoUnit {
		text += ", read in " + f.Unit.String()
	}
	if f.Counts == book.Mean {
		text += ", the mean counts"
	}
	if f.Part.Positions > 0 {
		text += ", " + strconv.Itoa(f.Part.Positions) + " parts"
	}
	if f.Places > 0 {
		text += ", " + strconv.Itoa(f.Places) + " places"
	}
	list := func(name string, all []string) {
		if len(all) > 0 {
			text += ", " + name + " " + strings.Join(all, " ")
		}
	}
	planes := slices.Clone(f.Planes)
	for i, at := range f.Along {
		where, _ := at.Text(f.Unit, at.Figure().Decimals(f.Unit, 6))
		planes[i] += " at " + where
	}
	list("planes", planes)
	list("directions", f.Directions)
	for _, s := range f.Steps {
		shift, _ := s.Shift.Text(f.Unit, s.Shift.Decimals(f.Unit, 6))
		text += ", step " + s.Mark + " " + shift
		for _, m := range slices.SortedFunc(maps.Keys(s.Mates), func(a, b *book.Feature) int { return cmp.Compare(a.Ref(), b.Ref()) }) {
			text += " with " + m.Ref() + " " + strings.Join(s.Mates[m], " ")
		}
	}
	for _, m := range f.Made {
		text += ", made of " + m.Ref()
	}
	return text
}

// renamed finds, for lines whose key is new, the line that is gone and was the
// same: it judged the same and stood under the same reference and name.
func (c *comparison) renamed() map[*book.Line]*book.Line {
	same := func(l *book.Line) string { return expression(l) + "\x00" + l.Ref + "\x00" + l.Name }
	gone := map[string]*book.Line{}
	for _, l := range c.old.Lines {
		if _, ok := c.now.Line(l.Key); !ok {
			gone[same(l)] = l
		}
	}
	all := map[*book.Line]*book.Line{}
	for _, l := range c.now.Lines {
		if _, ok := c.old.Line(l.Key); ok {
			continue
		}
		if was := gone[same(l)]; was != nil {
			all[l] = was
			delete(gone, same(l))
		}
	}
	return all
}

// expression writes what a line judges, as books do.
func expression(l *book.Line) string {
	text := l.Judges.String() + ":"
	for i, t := range l.Terms {
		switch {
		case t.Times < 0:
			text += " -"
		case i > 0:
			text += " +"
		}
		if n := max(t.Times, -t.Times); n > 1 {
			text += " " + strconv.Itoa(n)
		}
		text += " " + strings.TrimSuffix(t.Feature.Ref()+"."+t.Plane, ".")
	}
	return text
}

// line compares one line.
func (c *comparison) line(was, is *book.Line) {
	c.limits(was, is)
	c.differ("page", is.Key, "page", was.Page, is.Page, was, is)
	for _, a := range [...]struct{ name, was, is string }{
		{"judges", expression(was), expression(is)},
		{"name", was.Name, is.Name},
		{"reference", was.Ref, is.Ref},
		{"at", places(was), places(is)},
		{"planes", strings.Join(was.Planes, ", "), strings.Join(is.Planes, ", ")},
		{"when", when(was), when(is)},
		{"serial numbers", was.Engines(), is.Engines()},
		{"measured", was.As, is.As},
		{"amendment", amendment(was), amendment(is)},
		{"stands in for", keyOf(was.Replaces), keyOf(is.Replaces)},
		{"is governed by", keyOf(was.Governor), keyOf(is.Governor)},
		{"graded", yes(!was.Ungraded), yes(!is.Ungraded)},
		{"selected parts", choices(was), choices(is)},
		{"moves with", moves(was), moves(is)},
		{"wanted", yes(was.WantYes), yes(is.WantYes)},
		{"second unit", also(was), also(is)},
		{"note", was.Note, is.Note},
	} {
		c.differ("line", is.Key, a.name, a.was, a.is, was, is)
	}
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func keyOf(l *book.Line) string {
	if l == nil {
		return ""
	}
	return l.Key
}

func amendment(l *book.Line) string {
	if l.Amendment == nil {
		return ""
	}
	return l.Amendment.Number
}

func by(l *book.Line) string {
	if l.Amendment == nil {
		return ""
	}
	return ", by " + l.Amendment.Number
}

func places(l *book.Line) string {
	var all []string
	for _, i := range l.Instances {
		var sites []string
		for _, s := range i.Sites {
			sites = append(sites, s.String())
		}
		all = append(all, strings.Join(sites, " with "))
	}
	return strings.Join(all, ", ")
}

func when(l *book.Line) string {
	var all []string
	for _, name := range slices.Sorted(maps.Keys(l.When)) {
		all = append(all, name+" "+strings.Join(l.When[name], " or "))
	}
	return strings.Join(all, ", ")
}

func also(l *book.Line) string {
	a := l.Also
	if a == nil {
		return ""
	}
	return strings.TrimSuffix(strings.Join([]string{a.New, a.Service, a.Unit.String()}, " "), " ")
}

func choices(l *book.Line) string {
	var all []string
	for _, c := range l.Choices {
		all = append(all, c.Text)
	}
	return strings.Join(all, ", ")
}

func moves(l *book.Line) string {
	m := l.Moves
	if m == nil {
		return ""
	}
	from, _ := m.From.Text(m.With.Unit, m.From.Decimals(m.With.Unit, 6))
	by, _ := m.By.Text(quantity.InchPerInch, m.By.Decimals(quantity.InchPerInch, 6))
	return m.With.Ref() + " from " + from + " by " + by
}

// limits compares what two lines allow.
func (c *comparison) limits(was, is *book.Line) {
	a, b := was.Limit, is.Limit
	before := len(c.all)
	for i, t := range b.Tiers {
		n := slices.IndexFunc(a.Tiers, func(o limit.Tier) bool { return o.Name == t.Name })
		if n < 0 {
			c.say(Change{Code: "limit", Key: is.Key, What: t.Name + " added: " + t.Printed, Old: was, New: is})
			continue
		}
		old := a.Tiers[n].Range
		for _, side := range []limit.Side{limit.Low, limit.High} {
			from, to := edge(old, side), edge(t.Range, side)
			if i > 0 && n > 0 && from == edge(a.Tiers[0].Range, side) && to == edge(b.Tiers[0].Range, side) {
				continue // the cell does not name this side
			}
			c.edge(was, is, edgeName(is, t, side), from, to, side)
		}
	}
	for _, t := range a.Tiers {
		if !slices.ContainsFunc(b.Tiers, func(o limit.Tier) bool { return o.Name == t.Name }) {
			c.say(Change{Code: "limit", Key: is.Key, What: t.Name + " is no longer stated; was " + t.Printed, Old: was, New: is})
		}
	}
	c.differ("limit", is.Key, "kind of limit", kind(a), kind(b), was, is)
	c.differ("limit", is.Key, "from where the wear is counted", base(a), base(b), was, is)
	if len(c.all) == before {
		c.differ("printed", is.Key, "printed", printed(a), printed(b), was, is)
	}
	c.steps(was, is)
}

func kind(l *limit.Limit) string {
	if l.Kind == limit.Reference {
		return cmp.Or(l.Printed, l.Kind.String())
	}
	return l.Kind.String()
}

func base(l *limit.Limit) string {
	if l.Kind == limit.Wear && l.Held == nil {
		return "stated"
	}
	return ""
}

func printed(l *limit.Limit) string {
	var all []string
	for _, t := range l.Tiers {
		all = append(all, t.Name+" "+t.Printed)
	}
	return strings.Join(all, ", ")
}

// steps compares the limits of under- and oversizes where they did not just
// move with the standard ones.
func (c *comparison) steps(was, is *book.Line) {
	for _, mark := range slices.Sorted(maps.Keys(is.AtStep)) {
		a, b := was.AtStep[mark], is.AtStep[mark]
		if a == nil || len(a.Tiers) != len(b.Tiers) || len(was.Limit.Tiers) != len(is.Limit.Tiers) || len(b.Tiers) != len(is.Limit.Tiers) {
			continue // a step that came or went is the feature's change
		}
		for i, t := range b.Tiers {
			for _, side := range []limit.Side{limit.Low, limit.High} {
				from, to := edge(a.Tiers[i].Range, side), edge(t.Range, side)
				std, stdNow := edge(was.Limit.Tiers[i].Range, side), edge(is.Limit.Tiers[i].Range, side)
				if apart(from, to) != apart(std, stdNow) {
					c.edge(was, is, "at step "+mark+" "+edgeName(is, t, side), from, to, side)
				}
			}
		}
	}
}

// apart is how far an edge moved; the zero value where it did not, or came.
func apart(from, to limit.Edge) quantity.Figure {
	d, err := to.At.Plus(-1, from.At)
	if err != nil || d.Sign() == 0 {
		return quantity.Figure{}
	}
	return d
}

func edge(r limit.Range, side limit.Side) limit.Edge {
	if side == limit.Low {
		return r.Min
	}
	return r.Max
}

// edgeName calls an edge as people do: the service limit, where a used part is
// held on one side; else new minimum.
func edgeName(l *book.Line, t limit.Tier, side limit.Side) string {
	one := t.Name != "new" && (l.Held == side || l.Held == limit.Both && side == limit.High && l.IsClearance())
	switch {
	case one:
		return t.Name + " limit"
	case side == limit.Low:
		return t.Name + " minimum"
	}
	return t.Name + " maximum"
}

// edge says how one edge moved.
func (c *comparison) edge(was, is *book.Line, name string, from, to limit.Edge, side limit.Side) {
	x := Change{Code: "limit", Key: is.Key, Old: was, New: is}
	switch {
	case !from.Set && !to.Set:
		return
	case !from.Set:
		x.What, x.Effect = name+" "+figure(c.now, is, to.At)+": none was stated", "stricter"
	case !to.Set:
		x.What, x.Effect = name+" is no longer stated; was "+figure(c.old, was, from.At), "wider"
	case from.At.Kind() != to.At.Kind():
		x.What = name + ": " + figure(c.now, is, to.At) + " " + is.Unit.String() + "; was " + figure(c.old, was, from.At) + " " + was.Unit.String()
	case from.At != to.At:
		d, err := to.At.Plus(-1, from.At)
		if err != nil {
			return
		}
		way, stricter := "up", side == limit.Low
		if d.Sign() < 0 {
			way, stricter, d = "down", !stricter, d.Negative()
		}
		x.What = fmt.Sprintf("%s %s %s: %s; was %s", name, way, amount(c.now, is, d), figure(c.now, is, to.At), figure(c.old, was, from.At))
		x.Effect = map[bool]string{true: "stricter", false: "wider"}[stricter]
	case from.Open != to.Open && to.Open:
		x.What, x.Effect = name+" "+figure(c.now, is, to.At)+": the equal value is now out", "stricter"
	case from.Open != to.Open:
		x.What, x.Effect = name+" "+figure(c.now, is, to.At)+": the equal value is now within", "wider"
	default:
		return
	}
	c.say(x)
}

// amount prints a difference as the line prints its figures.
func amount(b *book.Book, l *book.Line, f quantity.Figure) string {
	text, exact := f.Text(l.Unit, max(l.Decimals, f.Decimals(l.Unit, 6)))
	if b.Comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	if !exact {
		text = "≈" + text
	}
	return text
}

// figure prints a limit: a fit's as loose or tight.
func figure(b *book.Book, l *book.Line, f quantity.Figure) string {
	switch {
	case l.Judges != book.Fit || f.Sign() == 0:
		return amount(b, l, f)
	case f.Sign() < 0:
		return amount(b, l, f.Negative()) + "T"
	}
	return amount(b, l, f) + "L"
}

// limits writes what a line allows, as printed.
func limits(b *book.Book, l *book.Line) string { return printed(l.Limit) }
