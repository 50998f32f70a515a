package check

import (
	"fmt"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// mostRows is how many rows of one thing are held against each other, so that a
// book of a thousand alike is checked as well.
const mostRows = 8

// twice tells of one feature that stands in two rows with different figures.
func (c *checker) twice() {
	for _, p := range c.book.Parts {
		for _, f := range p.Features {
			for i, b := range c.sizes[f] {
				for _, a := range c.sizes[f][max(0, i-mostRows):i] {
					if sameUse(a.line, b.line) {
						c.unlike(a, b, f.Ref())
					}
				}
			}
		}
	}
	byName := map[string][]*sheet{}
	for _, s := range c.sheets {
		name := s.name + "\x00" + s.line.Judges.String()
		for _, other := range byName[name][max(0, len(byName[name])-mostRows):] {
			if other.line.Terms[0].Feature != s.line.Terms[0].Feature && sameUse(other.line, s.line) && oneThing(other, s) {
				c.unlike(other, s, s.line.Name)
			}
		}
		byName[name] = append(byName[name], s)
	}
}

// oneThing tells whether two rows of one name are likely one thing: they have
// one reference, or are sizes within a fiftieth of each other. Names such as
// "case bore" stand for many things, which a table tells apart by giving each a
// reference of its own.
func oneThing(a, b *sheet) bool {
	if a.line.Ref != "" && b.line.Ref != "" && (a.line.Ref == b.line.Ref || a.line.Page == b.line.Page) {
		return a.line.Ref == b.line.Ref
	}
	x, ok := a.size()
	y, ok2 := b.size()
	if !ok || !ok2 {
		return false
	}
	p := percent(x, y)
	return p >= 98 && p < 102
}

// sameUse tells whether two lines are for the same thing under the same
// conditions.
func sameUse(a, b *book.Line) bool {
	return together(a, b) && a.As == b.As && slices.Equal(a.Planes, b.Planes) && a.Amendment == b.Amendment &&
		a.Governor != b && b.Governor != a && len(a.When) == len(b.When) && len(a.Serials) == len(b.Serials)
}

func fold(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// unlike reports two rows of one thing whose figures differ.
func (c *checker) unlike(a, b *sheet, of string) {
	var own []*relation
	var cells []*cell
	var sum []string
	for _, name := range []string{"new", "service"} {
		x, y := a.cell(name), b.cell(name)
		if x == nil || y == nil {
			continue
		}
		for _, max := range []bool{false, true} {
			if (side{x, max}).edge() == (side{y, max}).edge() {
				continue // as most are
			}
			r := &relation{sort: sameSize, terms: []term{{side{y, max}, 1}, {side{x, max}, -1}}, what: name + " " + side{x, max}.end()}
			if r.level() == broken {
				own = append(own, r)
				sum = append(sum, r.what+": "+a.line.Key+" "+c.figure(x, r.terms[1].edge().At)+", "+b.line.Key+" "+c.figure(y, r.terms[0].edge().At))
			}
		}
	}
	if len(own) == 0 {
		return
	}
	cells = cellsOf(own)
	mends, _ := c.mendEach(own, cells)
	c.report("feature-twice", of+" stands in two rows with different figures", sum, mends, cells...)
}

// families tells of lines that are unlike their siblings, and of steps that are
// uneven.
func (c *checker) families() {
	for _, s := range c.sheets {
		var wrong []*relation
		for _, r := range s.own(stepEven) {
			if r.level() == broken {
				wrong = append(wrong, r)
			}
		}
		if len(wrong) > 0 {
			c.uneven(wrong)
		}
	}
	families := c.familiesOf()
	c.siblings(families)
	c.oversizes(families)
	c.tenTimes()
}

// uneven reports a step's own limits that are not the standard ones moved. Both
// ends off by one amount is a manual's own choice of another fit; so it is
// where the new limits are wider or narrower on purpose, and a person must say.
func (c *checker) uneven(wrong []*relation) {
	var sum []string
	for _, r := range wrong {
		own, std := r.terms[0], r.terms[1]
		gap, _ := r.gap()
		made := minus(own.edge().At, gap)
		sum = append(sum, own.end()+": standard "+c.figure(std.cell, std.edge().At)+" moved by the step is "+c.figure(own.cell, made)+"; printed "+c.figure(own.cell, own.edge().At)+", "+c.figure(own.cell, abs(gap))+" apart")
	}
	cells := cellsOf(wrong)
	mends, _ := c.mendEach(wrong, cells)
	c.report("step-uneven", "the step's limits are not the standard ones moved by the step", sum, mends, cells...)
}

// stem is a folded name without its numbers, and the numbers.
func stem(name string) (string, []string) {
	var b strings.Builder
	var numbers []string
	at := 0
	for _, t := range tokens(name) {
		b.WriteString(name[at:t.from])
		b.WriteByte('#')
		numbers = append(numbers, name[t.from:t.to])
		at = t.to
	}
	return b.String() + name[at:], numbers
}

// A family is lines whose names differ in numbers only.
func (c *checker) familiesOf() (all [][]*sheet) {
	index := map[string]int{}
	for _, s := range c.sheets {
		name, numbers := stem(s.name)
		if len(numbers) == 0 || len(s.cells) == 0 || len(s.line.When) > 0 {
			continue
		}
		key := name + "\x00" + s.line.Judges.String() + "\x00" + s.line.Unit.String()
		i, ok := index[key]
		if !ok {
			i = len(all)
			index[key] = i
			all = append(all, nil)
		}
		all[i] = append(all[i], s)
	}
	return slices.DeleteFunc(all, func(f []*sheet) bool { return len(f) < 3 })
}

// siblings tells of one cylinder's line that is unlike all its fellows, which
// are alike.
func (c *checker) siblings(families [][]*sheet) {
	for _, family := range families {
		for _, name := range []string{"new", "service"} {
			counts := map[limit.Range][]*sheet{}
			n := 0
			for _, s := range family {
				if cell := s.cell(name); cell != nil {
					counts[cell.Range] = append(counts[cell.Range], s)
					n++
				}
			}
			if n < 3 || len(counts) != 2 {
				continue
			}
			var odd, fellow *sheet
			for _, some := range counts {
				if len(some) == 1 {
					odd = some[0]
				}
				if len(some) == n-1 {
					fellow = some[0]
				}
			}
			if odd == nil || fellow == nil {
				continue
			}
			x, y := odd.cell(name), fellow.cell(name)
			var own []*relation
			for _, max := range []bool{false, true} {
				if r := (&relation{sort: sameSize, terms: []term{{side{x, max}, 1}, {side{y, max}, -1}}}); r.level() == broken {
					own = append(own, r)
				}
			}
			var mends []Mend
			if len(own) > 0 {
				mends = c.mends(own, []*cell{x})
			}
			c.report("sibling-unlike", x.text+" is unlike its fellows, which all have "+y.text, nil, mends, x, y)
		}
	}
}

// mostStep is how far a part may be ground or bored, in percent of its size: a
// figure of our own.
const mostStep = 10

// oversizes tells of a row whose limits do not go in step with the oversize in
// its name, when all the others do.
func (c *checker) oversizes(families [][]*sheet) {
	for _, family := range families {
		for _, name := range []string{"new", "service"} {
			for _, max := range []bool{false, true} {
				c.oversize(family, name, max)
			}
		}
	}
}

func (c *checker) oversize(family []*sheet, name string, max bool) {
	type member struct {
		*sheet
		step quantity.Figure
		at   side
	}
	var all []member
	for _, s := range family {
		cell := s.cell(name)
		if cell == nil || !(side{cell, max}).edge().Set {
			continue
		}
		_, numbers := stem(s.name)
		for _, text := range numbers {
			n := s.n.Format
			step, _, err := n.Figure(text)
			if at := (side{cell, max}).edge().At; err != nil || decimals(text) < 2 || step.Kind() != at.Kind() || percent(step, at) >= mostStep {
				continue
			}
			if slices.ContainsFunc(all, func(m member) bool { return m.step == step }) {
				return // the number in the name is no step
			}
			all = append(all, member{s, step, side{cell, max}})
			break
		}
	}
	if len(all) < 3 {
		return
	}
	for _, sign := range []int{1, -1} { // over or under
		bases := map[quantity.Figure][]member{}
		for _, m := range all {
			base, err := m.at.edge().At.Plus(-sign, m.step)
			if err != nil {
				return
			}
			bases[base] = append(bases[base], m)
		}
		if len(bases) != 2 {
			continue
		}
		for base, some := range bases {
			if len(some) != len(all)-1 {
				continue
			}
			var odd member
			for other, one := range bases {
				if other != base {
					odd = one[0]
				}
			}
			want, err := base.Plus(sign, odd.step)
			if err != nil {
				continue
			}
			r := &relation{sort: stepEven, terms: []term{{odd.at, 1}}, plus: want.Negative()}
			c.report("step-uneven", "the step does not go on as its fellows do: "+c.figure(odd.at.cell, want)+" would, printed is "+c.figure(odd.at.cell, odd.at.edge().At), nil,
				c.mends([]*relation{r}, []*cell{odd.at.cell}), odd.at.cell)
		}
	}
}

// tenTimes tells of a limit of form that is ten or a hundred times that of a
// line named alike but for one word: main journal, rod journal.
func (c *checker) tenTimes() {
	type word struct {
		*sheet
		words []string
	}
	var forms []word
	for _, s := range c.sheets {
		switch s.line.Judges {
		case book.OutOfRound, book.Taper, book.RunOut, book.Bend:
			forms = append(forms, word{s, strings.Fields(s.name)})
		}
	}
	index := map[string][]int{} // by the name without one of its words
	for i, b := range forms {
		var with []int
		for k := range b.words {
			if len(b.words) < 2 {
				break
			}
			key := fmt.Sprint(b.line.Judges, k, append(slices.Clone(b.words[:k]), b.words[k+1:]...))
			with = append(with, index[key][max(0, len(index[key])-mostRows):]...)
			index[key] = append(index[key], i)
		}
		for _, n := range with {
			a := forms[n]
			for _, name := range []string{"new", "service"} {
				x, y := a.cell(name), b.cell(name)
				if x == nil || y == nil || !x.Max.Set || !y.Max.Set || x.Max.At.Sign() <= 0 || y.Max.At.Sign() <= 0 || x.Max.At.Kind() != y.Max.At.Kind() {
					continue
				}
				for _, times := range []int64{10, 100} {
					for _, pair := range [][2]*cell{{x, y}, {y, x}} {
						if by, err := pair[1].Max.At.Scaled(times, 1); err == nil && by == pair[0].Max.At {
							own := []*relation{{sort: sameSize, terms: []term{{side{pair[0], true}, 1}, {side{pair[1], true}, -1}}}}
							c.report("ten-times", pair[0].text+" is "+map[int64]string{10: "ten", 100: "a hundred"}[times]+" times "+pair[1].text+" of "+pair[1].sheet.line.Name+": a nought dropped or added?", nil,
								c.mends(own, pair[:]), pair[0], pair[1])
						}
					}
				}
			}
		}
	}
}
