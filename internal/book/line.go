package book

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

func (r *resolver) line(raw *named[rawLine]) {
	v := &raw.Value
	path := "lines." + raw.Key.value
	before := len(r.faults)
	if !lineKeyPattern.MatchString(raw.Key.value) {
		r.fault(raw.Key, "lines", "name", "is not a line's key", "use words of a–z and 0–9 with - between, each beginning with a letter")
	}
	l := &Line{
		Key: raw.Key.value, Ref: v.Ref.value, Page: v.Page.value, Name: v.Name.value, Note: v.Note.value,
		FileLine: raw.Key.line,
	}
	if l.Name == "" {
		r.fault(raw.Key, path, "missing", "the line has no name", "add \"name:\", as the manual prints it")
	}
	subject, ok := r.judges(l, v, raw.Key, path)
	if ok {
		r.terms(l, subject, path)
	}
	if len(r.faults) > before || len(l.Terms) == 0 {
		return // in the second case the fault is told where the feature stands
	}
	r.kinds(l, subject, path)
	r.lineUnit(l, v, path)
	if len(r.faults) > before {
		return
	}
	r.instances(l, v, subject, path)
	r.limits(l, v, raw.Key, path)
	if len(r.faults) > before {
		return
	}
	r.book.Lines = append(r.book.Lines, l)
	r.book.lines[l.Key] = l
}

// judges finds the one key that says what the line judges.
func (r *resolver) judges(l *Line, v *rawLine, key text, path string) (subject text, ok bool) {
	given := []text{Size: v.Size, Fit: v.Fit, OutOfRound: v.OutOfRound, Taper: v.Taper, TaperRate: v.TaperRate, RunOut: v.RunOut, Bend: v.Bend}
	for j, t := range given {
		if !t.set() {
			continue
		}
		if l.Judges != 0 {
			r.fault(t, path+"."+Judges(j).String(), "judges", "the line already judges a "+l.Judges.String(), "make two lines of it")
			return subject, false
		}
		l.Judges, subject = Judges(j), t
	}
	if l.Judges == 0 {
		r.fault(key, path, "judges", "the line does not say what it judges", "add one of "+strings.Join(judgesNames[1:], ", "))
		return subject, false
	}
	return subject, true
}

var (
	termPattern = regexp.MustCompile(`^\s*([+\-−]?)\s*(?:([1-9][0-9]?)\s+)?([a-z][a-z0-9]*\.[a-z][a-z0-9]*)`)
	refPattern  = regexp.MustCompile(`^[a-z][a-z0-9]*\.[a-z][a-z0-9]*$`)
)

// terms reads "part.feature", or for a fit a signed sum of several:
// "case.bore - 2 case.shell - crank.main".
func (r *resolver) terms(l *Line, subject text, path string) {
	field := path + "." + l.Judges.String()
	if l.Judges != Fit {
		if !refPattern.MatchString(subject.value) {
			r.fault(subject, field, "expression", "is not a feature", "write part.feature, as crank.main")
			return
		}
		r.term(l, 1, subject.value, subject, field)
		return
	}
	rest := subject.value
	for len(strings.TrimSpace(rest)) > 0 {
		m := termPattern.FindStringSubmatch(rest)
		if m == nil || len(l.Terms) > 0 && m[1] == "" || len(l.Terms) == 8 {
			r.fault(subject, field, "expression", "can't be read as a fit from "+strconv.Quote(strings.TrimSpace(rest)), "write what is inside less what goes in it, as case.main - crank.main, or case.bore - 2 case.shell - crank.main")
			return
		}
		times := 1
		if m[2] != "" {
			times, _ = strconv.Atoi(m[2])
		}
		if m[1] == "-" || m[1] == "−" {
			times = -times
		}
		if !r.term(l, times, m[3], subject, field) {
			return
		}
		rest = rest[len(m[0]):]
	}
	if len(l.Terms) < 2 {
		r.fault(subject, field, "expression", "a fit has at least two features", "write what is inside less what goes in it, as case.main - crank.main")
	}
}

func (r *resolver) term(l *Line, times int, ref string, where text, field string) bool {
	f, known := r.features[ref]
	if f == nil {
		if !known && !r.partsBad {
			where.value = ref
			r.fault(where, field, "nowhere", "there is no such feature", r.near(ref))
		}
		// A feature in fault is reported where it stands; the line waits for it.
		l.Terms = nil
		return false
	}
	l.Terms = append(l.Terms, Term{times, f})
	return true
}

// near suggests the features of the same part, or the parts.
func (r *resolver) near(ref string) string {
	part, _, _ := strings.Cut(ref, ".")
	var here, parts []string
	for _, p := range r.book.Parts {
		parts = append(parts, p.Key)
		if p.Key != part {
			continue
		}
		for _, f := range p.Features {
			here = append(here, f.Ref())
		}
	}
	if len(here) > 0 {
		return "the part has " + strings.Join(here, ", ")
	}
	if len(parts) > 12 {
		parts = append(parts[:12], "…")
	}
	return "the book's parts are " + strings.Join(parts, ", ")
}

// kinds checks that the features are such as the line can judge.
func (r *resolver) kinds(l *Line, subject text, path string) {
	field := path + "." + l.Judges.String()
	for _, t := range l.Terms {
		f := t.Feature
		length := f.Unit.Kind() == quantity.LengthKind
		switch l.Judges {
		case Size:
			if f.Class == Dial {
				r.fault(subject, field, "kind", f.Ref()+" is read on a dial, which has no size", "judge its run-out or its bend")
			}
		case Fit:
			if !length || f.Class == Dial {
				r.fault(subject, field, "kind", f.Ref()+" is no size of a part", "a fit is made of lengths measured on parts")
			}
		case RunOut, Bend:
			if f.Class != Dial {
				r.fault(subject, field, "kind", f.Ref()+" is not read on a dial", "give the feature \"kind: dial\"")
			}
			if len(f.Directions) < 2 {
				r.fault(subject, field, "planes", f.Ref()+" has fewer than two directions", "list the angles that the dial is read at under \"directions:\"")
			}
		case OutOfRound:
			if !length || len(f.Directions) < 2 {
				r.fault(subject, field, "planes", f.Ref()+" has fewer than two directions, so it has no out-of-round", "list the directions it is measured in")
			}
		case Taper, TaperRate:
			if !length || len(f.Planes) < 2 {
				r.fault(subject, field, "planes", f.Ref()+" has fewer than two planes, so it has no taper", "list the planes it is measured in")
			} else if l.Judges == TaperRate && len(f.Along) == 0 {
				r.fault(subject, field, "planes", f.Ref()+" does not say where its planes are", "give each plane its place along the part: planes: {front: 0.25, rear: 1.75}")
			}
		}
	}
}

// lineUnit settles what the line's limits are in.
func (r *resolver) lineUnit(l *Line, v *rawLine, path string) {
	f := l.Terms[0].Feature
	kind := f.Unit.Kind()
	l.Unit = f.Unit
	if l.Judges == TaperRate {
		kind = quantity.RatioKind
		l.Unit = quantity.InchPerInch
		if f.Unit != quantity.Inch {
			l.Unit = quantity.MillimetrePerMillimetre
		}
	}
	if v.Unit.set() {
		l.Unit = r.unit(v.Unit, path+".unit", kind)
	}
}

// instances pairs the sites of the line's terms. A line on one feature has an
// instance for each of its sites. In a fit the first mates with the first, the
// second with the second; where the features are not equally many, or mate
// otherwise, "mates" lists for a feature which of its sites each instance has.
func (r *resolver) instances(l *Line, v *rawLine, subject text, path string) {
	lists := make([][]*Site, len(l.Terms))
	for i, t := range l.Terms {
		lists[i] = t.Feature.Sites
	}
	field := path + ".mates"
	before := len(r.faults)
	for i := range v.Mates {
		m := &v.Mates[i]
		n := slices.IndexFunc(l.Terms, func(t Term) bool { return t.Feature.Ref() == m.Key.value })
		if n < 0 || l.Judges != Fit {
			r.fault(m.Key, field, "mates", "is not a feature of this fit", "name one of the features that the fit adds up")
			continue
		}
		f := l.Terms[n].Feature
		sites := make([]*Site, 0, len(m.Value))
		for _, t := range m.Value {
			at := slices.IndexFunc(f.Sites, func(s *Site) bool { return s.String() == t.value })
			if at < 0 {
				r.fault(t, field, "mates", "is not one of "+f.Ref(), "write it as "+f.Sites[0].String())
				continue
			}
			sites = append(sites, f.Sites[at])
		}
		for n := range l.Terms {
			if l.Terms[n].Feature == f {
				lists[n] = sites
			}
		}
	}
	if len(r.faults) > before {
		return
	}
	for i, list := range lists {
		if len(list) != len(lists[0]) {
			r.fault(subject, path+"."+l.Judges.String(), "mates",
				fmt.Sprintf("%s is %d, %s is %d: who mates with whom?", l.Terms[0].Feature.Ref(), len(lists[0]), l.Terms[i].Feature.Ref(), len(list)),
				"add \"mates:\" with, for a feature, the list of its places that the pairs have in turn")
			return
		}
	}
	for n := range lists[0] {
		inst := Instance{}
		for _, list := range lists {
			inst.Sites = append(inst.Sites, list[n])
			for _, id := range list[n].Spots {
				if !slices.Contains(inst.Spots, id) {
					inst.Spots = append(inst.Spots, id)
				}
			}
		}
		if len(lists[0]) > 1 {
			inst.Label = label(lists[0], n)
		}
		l.Instances = append(l.Instances, inst)
	}
}

// label numbers an instance as its first site is numbered, or in order where
// that would name two alike.
func label(sites []*Site, n int) string {
	name := func(s *Site) string {
		switch {
		case s.Position > 0 && s.Place > 0:
			return fmt.Sprintf("%d.%d", s.Position, s.Place)
		case s.Place > 0:
			return strconv.Itoa(s.Place)
		}
		return strconv.Itoa(s.Position)
	}
	seen := map[string]bool{}
	for _, s := range sites {
		if seen[name(s)] {
			return strconv.Itoa(n + 1)
		}
		seen[name(s)] = true
	}
	return name(sites[n])
}

// limits reads the two cells.
func (r *resolver) limits(l *Line, v *rawLine, key text, path string) {
	n := limit.Notation{
		Format: quantity.Format{Unit: l.Unit, DecimalComma: r.book.Comma},
		Fit:    l.IsClearance(),
	}
	switch f := l.Terms[0].Feature; {
	case n.Fit:
		n.Held, n.Lone = limit.Both, limit.High
	case l.Judges != Size, f.Wears == Larger:
		n.Held, n.Lone = limit.High, limit.High
	case f.Wears == Smaller:
		n.Held, n.Lone = limit.Low, limit.Low
	}
	l.Held = n.Held
	var err error
	if l.Limit, err = n.Parse(v.New.value, v.Service.value); err != nil {
		var cell *limit.CellError
		if !errors.As(err, &cell) {
			panic("BUG: a limit refused without a reason: " + err.Error())
		}
		t, name := v.New, "new"
		if cell.Service {
			t, name = v.Service, "service"
		}
		if !t.set() {
			t, name = text{"", key.line, key.column}, "new"
		}
		do := "see docs/formats.md for how limits are written"
		if len(cell.May) > 0 {
			do = "look at the manual: it may be " + strings.Join(cell.May, ", or ")
		}
		code := "limit"
		if errors.Is(cell.Err, limit.ErrInside) || errors.Is(cell.Err, limit.ErrBackwards) {
			code, do = "limit-order", "look at the manual: a digit, a sign or a letter may be wrong"
		}
		r.fault(t, path+"."+name, code, cell.Err.Error(), do)
		return
	}
	for _, t := range l.Limit.Tiers {
		for _, e := range []limit.Edge{t.Range.Min, t.Range.Max} {
			if e.Set {
				l.Decimals = max(l.Decimals, e.At.Decimals(l.Unit, 6))
			}
		}
		l.Decimals = max(l.Decimals, printedDecimals(t.Printed, r.book.Comma))
	}
}

// printedDecimals returns the most decimals that a figure of the cell shows.
func printedDecimals(cell string, comma bool) int {
	mark := byte('.')
	if comma {
		mark = ','
	}
	most := 0
	for i := range len(cell) {
		if cell[i] != mark {
			continue
		}
		n := 0
		for i+1+n < len(cell) && cell[i+1+n] >= '0' && cell[i+1+n] <= '9' {
			n++
		}
		most = max(most, n)
	}
	return min(most, 9)
}
