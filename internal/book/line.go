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

// line resolves a line; nil where it is in fault. It changes nothing but the faults:
// lines are resolved side by side.
func (r *resolver) line(raw *named[rawLine]) *Line {
	v := &raw.Value
	path := "lines." + raw.Key.value
	before := len(r.faults)
	if !isLineKey(raw.Key.value) {
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
		return nil // in the second case the fault is told where the feature stands
	}
	r.kinds(l, subject, path)
	r.lineUnit(l, v, path)
	r.when(l, v, path)
	for _, t := range v.Planes {
		if f := l.Terms[0].Feature; !slices.Contains(f.Planes, t.value) {
			r.fault(t, path+".planes", "nowhere", "is no plane of "+f.Ref(), "its planes are "+strings.Join(f.Planes, ", "))
		}
	}
	if len(v.Planes) > 0 {
		l.Planes = r.distinct(v.Planes, path+".planes", IsName)
	}
	if len(r.faults) > before {
		return nil
	}
	r.holds(l, v, path)
	l.Link, l.Printed = v.link, Cells{v.Printed.New.value, v.Printed.Service.value}
	r.instances(l, v, subject, path)
	r.moves(l, v, path)
	r.also(l, v, path)
	r.limits(l, v, raw.Key, path)
	r.choices(l, v, path)
	if len(r.faults) > before {
		return nil
	}
	return l
}

// judges finds the one key that says what the line judges.
func (r *resolver) judges(l *Line, v *rawLine, key text, path string) (subject text, ok bool) {
	given := []text{
		Size: v.Size, Fit: v.Fit, OutOfRound: v.OutOfRound, Taper: v.Taper, TaperRate: v.TaperRate, RunOut: v.RunOut, Bend: v.Bend,
		Difference: v.Difference, Spread: v.Spread, MeanOf: v.Mean, Total: v.Total, SameStep: v.SameStep, YesNo: v.Check,
	}
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

var termPattern = regexp.MustCompile(`^\s*([+\-−]?)\s*(?:([1-9][0-9]?)\s+)?([a-z][a-z0-9]*\.[a-z][a-z0-9]*)(?:\.([a-z][a-z0-9]*))?`)

// terms reads "part.feature", or for a fit a signed sum of several:
// "case.bore - 2 case.shell - crank.main".
func (r *resolver) terms(l *Line, subject text, path string) {
	field := path + "." + l.Judges.String()
	if l.Judges != Fit && l.Judges != Difference {
		if part, feature, ok := strings.Cut(subject.value, "."); !ok || !IsName(part) || !IsName(feature) {
			r.fault(subject, field, "expression", "is not a feature", "write part.feature, as crank.main")
			return
		}
		r.term(l, Term{Times: 1}, subject.value, subject, field)
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
		if !r.term(l, Term{Times: times, Plane: m[4]}, m[3], subject, field) {
			return
		}
		rest = rest[len(m[0]):]
	}
	if len(l.Terms) < 2 {
		r.fault(subject, field, "expression", "it has at least two features", "write what is inside less what goes in it, as case.main - crank.main")
	}
}

func (r *resolver) term(l *Line, t Term, ref string, where text, field string) bool {
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
	if t.Plane != "" && !slices.Contains(f.Planes, t.Plane) {
		where.value = ref + "." + t.Plane
		r.fault(where, field, "nowhere", "the feature has no such plane", "its planes are "+strings.Join(f.Planes, ", "))
		return false
	}
	t.Feature = f
	l.Terms = append(l.Terms, t)
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
		return "the part has " + few(here)
	}
	return "the book's parts are " + few(parts)
}

// few lists as many names as a reader wants to see.
func few(names []string) string {
	const most = 12
	if len(names) > most {
		names = append(names[:most:most], "…")
	}
	return strings.Join(names, ", ")
}

// kinds checks that the features are such as the line can judge.
func (r *resolver) kinds(l *Line, subject text, path string) {
	field := path + "." + l.Judges.String()
	for _, t := range l.Terms {
		f := t.Feature
		length := f.Unit.Kind() == quantity.LengthKind
		switch l.Judges {
		case Size, Spread, MeanOf, Total:
			switch f.Class {
			case Dial:
				r.fault(subject, field, "kind", f.Ref()+" is read on a dial, which has no size", "judge its run-out or its bend")
			case Check:
				r.fault(subject, field, "kind", f.Ref()+" is a yes or no, which has no size", "judge it by \"check:\"")
			}
		case YesNo:
			if f.Class != Check {
				r.fault(subject, field, "kind", f.Ref()+" is no yes or no", "give the feature \"kind: check\"")
			}
		case SameStep:
			if len(f.Steps) == 0 {
				r.fault(subject, field, "kind", f.Ref()+" has no steps", "give the feature its steps")
			}
		case Fit, Difference:
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
			} else if l.Judges == TaperRate && len(f.Along) != len(f.Planes) {
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
		switch f.Unit {
		case quantity.Millimetre, quantity.Centimetre, quantity.Micrometre:
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
	switch l.Judges {
	case Spread, MeanOf, Total, SameStep:
		r.groups(l, v, subject, path)
		return
	}
	if len(v.Groups) > 0 {
		r.fault(subject, path+".groups", "judges", "a "+l.Judges.String()+" has no groups", "leave \"groups\" out")
	}
	lists := make([][]*Site, len(l.Terms))
	for i, t := range l.Terms {
		lists[i] = t.Feature.Sites
	}
	field := path + ".mates"
	before := len(r.faults)
	for i := range v.Mates {
		m := &v.Mates[i]
		n := slices.IndexFunc(l.Terms, func(t Term) bool { return t.Feature.Ref() == m.Key.value })
		if n < 0 || l.Judges != Fit && l.Judges != Difference {
			r.fault(m.Key, field, "mates", "is not a feature of this fit", "name one of the features that the fit adds up")
			continue
		}
		f := l.Terms[n].Feature
		sites := make([]*Site, 0, len(m.Value))
		for _, t := range m.Value {
			s := r.site(f, t.value)
			if s == nil {
				r.fault(t, field, "mates", "is not one of "+f.Ref(), "write it as "+f.Sites[0].String())
				continue
			}
			sites = append(sites, s)
		}
		if len(m.Value) == 0 {
			r.fault(m.Key, field, "mates", "no place is named, so nothing would be judged", "list the places that the pairs have in turn, or leave it out")
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
	byPosition(lists)
	for i, list := range lists {
		if len(list) != len(lists[0]) {
			r.fault(subject, path+"."+l.Judges.String(), "mates",
				unpaired(l.Terms[0].Feature, len(lists[0]), l.Terms[i].Feature, len(list)),
				"add \"mates:\" with, for a feature, the list of its places that the pairs have in turn")
			return
		}
	}
	names := labels(lists[0])
	for _, t := range l.Terms {
		has := func(plane string) bool { return slices.Contains(t.Feature.Planes, plane) }
		if len(l.Planes) > 0 && t.Plane == "" && len(t.Feature.Planes) > 0 && !slices.ContainsFunc(l.Planes, has) {
			r.fault(v.Planes[0], path+".planes", "planes", "none of these is a plane of "+t.Feature.Ref(), "its planes are "+strings.Join(t.Feature.Planes, ", "))
			return
		}
	}
	for n := range lists[0] {
		inst := Instance{}
		for i, list := range lists {
			planes := l.Planes
			if p := l.Terms[i].Plane; p != "" {
				planes = []string{p}
			}
			inst.add(list[n].planes(planes))
		}
		if len(lists[0]) > 1 {
			inst.Label = names[n]
		}
		l.Instances = append(l.Instances, inst)
	}
}

// Unpaired says of which two features of a fit nobody knows which mates with which,
// as where one is three and the other one: a line that has no mates can't be their
// fit. It is "" where they pair.
func Unpaired(of []*Feature) string {
	lists := make([][]*Site, len(of))
	for i, f := range of {
		lists[i] = f.Sites
	}
	byPosition(lists)
	for i, list := range lists {
		if len(list) != len(lists[0]) {
			return unpaired(of[0], len(lists[0]), of[i], len(list))
		}
	}
	return ""
}

func unpaired(f *Feature, n int, g *Feature, m int) string {
	return fmt.Sprintf("%s is %d, %s is %d: who mates with whom?", f.Ref(), n, g.Ref(), m)
}

// byPosition gives a feature that each part has once to every place of the part
// of the same number: both bosses of piston 2 have pin 2.
func byPosition(lists [][]*Site) {
	longest := slices.MaxFunc(lists, func(a, b []*Site) int { return len(a) - len(b) })
	for i, list := range lists {
		if len(list) == len(longest) {
			continue
		}
		var mates []*Site
		for _, s := range longest {
			at := slices.IndexFunc(list, func(o *Site) bool { return o.Position == s.Position })
			if s.Position == 0 || at < 0 || list[at].Place != 0 {
				return
			}
			mates = append(mates, list[at])
		}
		lists[i] = mates
	}
}

// add gives the instance of a few sites one more.
func (i *Instance) add(s *Site) {
	i.Sites = append(i.Sites, s)
	i.Spots = slices.Grow(i.Spots, len(s.Spots))
	for _, id := range s.Spots {
		if !slices.Contains(i.Spots, id) {
			i.Spots = append(i.Spots, id)
		}
	}
}

// site is the feature's site of that name; nil where it has none.
func (r *resolver) site(f *Feature, name string) *Site {
	sites := r.sitesOf[f]
	if sites == nil {
		sites = make(map[string]*Site, len(f.Sites))
		for _, s := range f.Sites {
			sites[s.String()] = s
		}
		if r.sitesOf == nil {
			r.sitesOf = map[*Feature]map[string]*Site{}
		}
		r.sitesOf[f] = sites
	}
	return sites[name]
}

// groups makes an instance of each group of places that belong together: all
// of them in one where the book names no groups.
func (r *resolver) groups(l *Line, v *rawLine, subject text, path string) {
	f := l.Terms[0].Feature
	if len(v.Groups) == 0 {
		var all Instance
		for _, s := range f.Sites {
			s = s.planes(l.Planes)
			all.Sites, all.Spots = append(all.Sites, s), append(all.Spots, s.Spots...)
		}
		l.Instances = []Instance{all}
		if l.Judges == Spread && len(all.Spots) < 2 {
			r.fault(subject, path+".spread", "mates", f.Ref()+" is one place, which has no spread", "judge its size")
		}
		return
	}
	for n, group := range v.Groups {
		inst := Instance{Label: strconv.Itoa(n + 1)}
		seen := map[*Site]bool{}
		for _, t := range group {
			of := r.site(f, t.value)
			if of == nil {
				r.fault(t, path+".groups", "mates", "is not one of "+f.Ref(), "write it as "+f.Sites[0].String())
				continue
			}
			s := of.planes(l.Planes)
			if inst.Sites = append(inst.Sites, s); !seen[of] {
				inst.Spots = append(inst.Spots, s.Spots...)
			}
			seen[of] = true
		}
		switch {
		case len(group) == 0:
			r.fault(subject, path+".groups", "mates", "one of the groups is empty", "list the places that belong together, or leave it out")
		case l.Judges == Spread && len(inst.Spots) < 2:
			r.fault(group[0], path+".groups", "mates", "is alone in its group, and one place has no spread", "name what it is held against")
		}
		l.Instances = append(l.Instances, inst)
	}
	if len(v.Groups) == 1 && len(l.Instances) == 1 {
		l.Instances[0].Label = ""
	}
}

// moves reads how a line's upper limits grow with another reading. Where that
// is of a part with as many positions, each instance has its own.
func (r *resolver) moves(l *Line, v *rawLine, path string) {
	m := &v.Moves
	if !m.With.set() && !m.From.set() && !m.By.set() {
		return
	}
	path += ".moves"
	at := m.With
	for _, t := range []text{m.From, m.By} {
		if !at.set() {
			at = t
		}
	}
	if l.Judges == YesNo || l.Judges == SameStep {
		r.fault(at, path, "judges", "a "+l.Judges.String()+" has no limits that could move", "leave \"moves\" out")
		return
	}
	if !m.With.set() || !m.From.set() || !m.By.set() {
		r.fault(at, path, "missing", "it does not say with what, from where and by how much the limits grow", "write it as {with: cylinder.bore, from: 5.1250, by: 3}")
		return
	}
	with := r.find(m.With, path+".with")
	if with == nil {
		return
	}
	from, _, err := quantity.Format{Unit: with.Unit, DecimalComma: r.book.Comma}.Figure(m.From.value)
	if err != nil {
		r.figure(m.From, path+".from", err)
		return
	}
	by, _, err := quantity.Format{Unit: quantity.InchPerInch, DecimalComma: r.book.Comma}.Figure(m.By.value)
	if err != nil {
		r.figure(m.By, path+".by", err)
		return
	}
	l.Moves = &Moves{With: with, From: from, By: by}
	for i := range l.Instances {
		inst := &l.Instances[i]
		at := slices.IndexFunc(with.Sites, func(s *Site) bool {
			return len(with.Sites) == 1 || s.Position == inst.Sites[0].Position && (s.Place == 0 || s.Place == inst.Sites[0].Place)
		})
		if at < 0 || with.Unit.Kind() != l.Unit.Kind() {
			r.fault(m.With, path+".with", "mates", "it is not measured where "+inst.Sites[0].String()+" is", "name a feature of the same part, or of one with as many positions")
			return
		}
		l.Moves.Sites = append(l.Moves.Sites, with.Sites[at])
		for _, id := range with.Sites[at].Spots {
			if !slices.Contains(inst.Spots, id) {
				inst.Spots = append(inst.Spots, id)
			}
		}
	}
}

// also takes the second printed unit, whose cells are read where they are
// checked: one that can't be read spoils no limit.
func (r *resolver) also(l *Line, v *rawLine, path string) {
	a := &v.Also
	at := a.New
	if !at.set() {
		at = a.Service
	}
	switch {
	case !a.Unit.set() && !at.set():
	case !a.Unit.set():
		r.fault(at, path+".also", "missing", "the second unit is not stated", "add \"unit:\", as {unit: mm, new: 0.05..0.28}")
	case !at.set():
		r.fault(a.Unit, path+".also", "missing", "nothing is printed in it", "add \"new:\" or \"service:\", or leave \"also\" out")
	case l.Judges == YesNo || l.Judges == SameStep:
		r.fault(a.Unit, path+".also", "judges", "a "+l.Judges.String()+" has no limits", "leave \"also\" out")
	default:
		if u := r.unit(a.Unit, path+".also.unit", l.Unit.Kind()); u != quantity.NoUnit {
			l.Also = &Also{u, a.New.value, a.Service.value}
		}
	}
}

// choices reads the selected parts, one of which goes into a fit.
func (r *resolver) choices(l *Line, v *rawLine, path string) {
	for _, t := range v.Select {
		size, _, err := quantity.Format{Unit: l.Unit, DecimalComma: r.book.Comma}.Length(t.value)
		if err != nil {
			r.figure(t, path+".select", err)
			continue
		}
		if r.book.Comma && len(v.Select) > 1 && !strings.Contains(t.value, ",") {
			// [3,05, 3,10] is four figures to YAML.
			r.fault(t, path+".select", "figure", "is half a figure, or one without decimals", "put each into quotes, as \"3,05\", or on a line of its own; and write 3 as 3,0")
			return
		}
		if slices.ContainsFunc(l.Choices, func(c Choice) bool { return c.Size == size }) {
			r.fault(t, path+".select", "doubled-key", "stands in the list a second time", "keep one of the two")
			continue
		}
		if l.Judges != Fit {
			r.fault(t, path+".select", "judges", "only a fit has selected parts", "leave \"select\" out")
			return
		}
		l.Choices = append(l.Choices, Choice{t.value, size})
	}
}

// labels number the instances as their first sites are numbered, or in order
// where that would name two alike.
func labels(sites []*Site) []string {
	all := make([]string, len(sites))
	seen := map[string]bool{}
	doubled := false
	for n, s := range sites {
		name := strconv.Itoa(s.Position)
		switch {
		case s.Position > 0 && s.Place > 0:
			name = fmt.Sprintf("%d.%d", s.Position, s.Place)
		case s.Place > 0:
			name = strconv.Itoa(s.Place)
		}
		all[n] = name
		doubled = doubled || seen[name]
		seen[name] = true
	}
	if doubled {
		for n := range all {
			all[n] = strconv.Itoa(n + 1)
		}
	}
	return all
}

// Notation says how the cells of a line are read: whether one figure
// alone is the least or the most, and which sides a used part is held on.
func (b *Book) Notation(l *Line) limit.Notation {
	n := limit.Notation{
		Format: quantity.Format{Unit: l.Unit, DecimalComma: b.Comma},
		Fit:    l.IsClearance(),
	}
	switch f := l.Terms[0].Feature; {
	case n.Fit, l.Judges == Difference:
		n.Held, n.Lone = limit.Both, limit.High
	case l.Judges == MeanOf, l.Judges == Total, l.Judges == Size:
		switch {
		case f.Class == Clearance:
			n.Held, n.Lone = limit.Both, limit.High
		case f.Wears == Smaller:
			n.Held, n.Lone = limit.Low, limit.Low
		case f.Wears == Larger:
			n.Held, n.Lone = limit.High, limit.High
		}
	default:
		n.Held, n.Lone = limit.High, limit.High
	}
	return n
}

// limits reads the cells of a line, and makes of them what parts at a step and
// new or reworked parts are held to.
func (r *resolver) limits(l *Line, v *rawLine, key text, path string) {
	if l.Judges == YesNo || l.Judges == SameStep {
		r.withoutLimits(l, v, path)
		return
	}
	n := r.book.Notation(l)
	l.Held = n.Held
	l.Says = Cells{v.New.value, v.Service.value}
	r.overruled(n, v, key, path)
	if len(l.Holds) > 0 {
		l.Limit = r.heldLimit(l, n, v, key, path)
	} else {
		l.Limit, l.Contradiction = r.cells(n, v, key, path, true)
	}
	if l.Limit == nil {
		return
	}
	l.Ungraded = l.Ungraded || l.Limit.Ungraded
	l.Reworked = map[*limit.Limit]*limit.Limit{}
	l.AtStep = map[string]*limit.Limit{}
	both := func(of *limit.Limit) {
		b := of.BothSides()
		l.Reworked[of] = &b
	}
	both(l.Limit)
	if l.Judges == Size || l.Judges == MeanOf {
		r.stepLimits(l, v, n, path)
		for _, s := range l.AtStep {
			both(s)
		}
	}
	l.Decimals = decimalsOf(l.Limit, l.Unit, r.book.Comma)
}

// withoutLimits is for lines that judge no figure.
func (r *resolver) withoutLimits(l *Line, v *rawLine, path string) {
	for _, t := range []text{v.New, v.Service} {
		if t.set() {
			r.fault(t, path, "limit", "a "+l.Judges.String()+" has no limits", "leave them out")
		}
	}
	switch v.Want.value {
	case "", "yes":
		l.WantYes = true
	case "no":
	default:
		r.choice(v.Want, path+".want", "yes", "no")
	}
	l.Limit = &limit.Limit{Kind: limit.Absolute}
}

// cells reads new and service, or tiers, or bands; nil where they are in fault.
// Where contradictions are let be, those of new and service come back with what
// they are.
func (r *resolver) cells(n limit.Notation, v *rawLine, key text, path string, letBe bool) (l *limit.Limit, contradiction string) {
	if len(v.Tiers) == 0 && len(v.Bands) == 0 {
		got, err := n.Parse(v.New.value, v.Service.value)
		if err == nil {
			return &got, ""
		}
		if letBe {
			if l, why := contradictory(n, v, err); l != nil {
				return l, why
			}
		}
		r.cellFault(err, v, key, path)
		return nil, ""
	}
	list, name := v.Tiers, ".tiers"
	if len(v.Bands) > 0 {
		list, name = v.Bands, ".bands"
	}
	if v.New.set() || v.Service.set() || len(v.Tiers) > 0 && len(v.Bands) > 0 {
		r.fault(list[0].Key, path+name, "judges", "the line's limits are stated twice", "keep new and service, or tiers, or bands")
		return nil, ""
	}
	var cells []limit.Cell
	for _, c := range list {
		if !isLineKey(c.Key.value) {
			r.fault(c.Key, path+name, "name", "is not a tier's name", "use words of a–z and 0–9 with - between, as new, overhaul, service")
			return nil, ""
		}
		if name == ".bands" && c.Key.value != "use" && c.Key.value != "rework" {
			r.choice(c.Key, path+name, "use", "rework")
			return nil, ""
		}
		cells = append(cells, limit.Cell{Name: c.Key.value, Text: c.Value.value})
	}
	got, err := n.ParseTiers(cells)
	if err != nil {
		var cell *limit.CellError
		errors.As(err, &cell)
		at := list[0].Key
		for _, c := range list {
			if cell != nil && c.Key.value == cell.Tier {
				at = c.Value
				if !at.set() {
					at = c.Key
				}
			}
		}
		r.limitFault(cell, at, path+name)
		return nil, ""
	}
	return &got, ""
}

// contradictory returns the limits of a line whose service limit contradicts
// the new one, each as printed, and why; nil where it is something else that is
// wrong. Such a line is held: a person must look at the manual.
func contradictory(n limit.Notation, v *rawLine, why error) (*limit.Limit, string) {
	if !v.New.set() || !v.Service.set() || !errors.Is(why, limit.ErrInside) && !errors.Is(why, limit.ErrBackwards) {
		return nil, ""
	}
	asNew, err := n.Parse(v.New.value, "")
	if err != nil || len(asNew.Tiers) != 1 {
		return nil, ""
	}
	worn, err := n.Parse("", v.Service.value)
	if err != nil || len(worn.Tiers) != 1 {
		return nil, ""
	}
	var cell *limit.CellError
	errors.As(why, &cell)
	return &limit.Limit{Kind: worn.Kind, Tiers: append(asNew.Tiers, worn.Tiers...)}, cell.Err.Error()
}

func (r *resolver) cellFault(err error, v *rawLine, key text, path string) {
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
	r.limitFault(cell, t, path+"."+name)
}

func (r *resolver) limitFault(cell *limit.CellError, t text, field string) {
	code, do := "limit", "see docs/formats.md for how limits are written"
	if errors.Is(cell.Err, limit.ErrInside) || errors.Is(cell.Err, limit.ErrBackwards) {
		code, do = "limit-order", "look at the manual: a digit, a sign or a letter may be wrong"
	}
	if len(cell.May) > 0 {
		do = "look at the manual: it may be " + strings.Join(cell.May, ", or ")
	}
	r.fault(t, field, code, cell.Err.Error(), do)
}

// stepLimits makes the limits of each step of a size: its own where the book
// has them, else the standard ones moved by the step's shift.
func (r *resolver) stepLimits(l *Line, v *rawLine, n limit.Notation, path string) {
	f := l.Terms[0].Feature
	for i := range v.Steps {
		raw := &v.Steps[i]
		if _, ok := f.Step(raw.Key.value); !ok {
			r.fault(raw.Key, path+".steps", "nowhere", f.Ref()+" has no such step", "give the feature the step, with its shift")
			continue
		}
		cells := rawLine{New: raw.Value.New, Service: raw.Value.Service}
		if own, _ := r.cells(n, &cells, raw.Key, path+".steps."+raw.Key.value, false); own != nil {
			l.AtStep[raw.Key.value] = own
		}
	}
	for _, s := range f.Steps {
		if l.AtStep[s.Mark] != nil || s.Mark == Standard {
			continue
		}
		moved, err := l.Limit.Shifted(s.Shift)
		if err != nil {
			r.fault(v.New, path+".steps", "figure", "the limits moved by step "+s.Mark+" are out of range", "look at the step's shift")
			continue
		}
		l.AtStep[s.Mark] = &moved
	}
}

// decimalsOf returns how many decimals the limits are printed with.
func decimalsOf(l *limit.Limit, u quantity.Unit, comma bool) int {
	most := 0
	for _, t := range l.Tiers {
		for _, e := range []limit.Edge{t.Range.Min, t.Range.Max} {
			if e.Set {
				most = max(most, e.At.Decimals(u, 6))
			}
		}
		most = max(most, printedDecimals(t.Printed, comma))
	}
	return most
}

// printedDecimals returns the most decimals that a figure of the cell shows.
func printedDecimals(cell string, comma bool) int {
	mark := byte('.')
	if comma {
		mark = ','
	}
	most := 0
	for i := range len(cell) {
		if cell[i] != mark || i > 0 && cell[i-1] == '.' {
			continue // in 68..72 the points are no decimal points
		}
		n := 0
		for i+1+n < len(cell) && cell[i+1+n] >= '0' && cell[i+1+n] <= '9' {
			n++
		}
		most = max(most, n)
	}
	return min(most, 9)
}
