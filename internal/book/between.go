package book

import (
	"regexp"
	"slices"
	"strings"

	"tenths/metrology/quantity"
)

// wordPattern is what a condition can be: new, used, or a part number.
var wordPattern = regexp.MustCompile(`^[a-z0-9][a-z0-9.-]*$`)

// conditions reads what lines may depend on, and the amendments.
func (r *resolver) conditions(raw *rawBook) {
	for _, c := range raw.Conditions {
		r.name(c.Key, "conditions")
		words := r.distinct(c.Value, "conditions."+c.Key.value, wordPattern.MatchString)
		if len(words) < 2 {
			r.fault(c.Key, "conditions."+c.Key.value, "missing", "a condition has at least two words it can be", "write them as a list: [new, used]")
		}
		r.book.Conditions = append(r.book.Conditions, Condition{c.Key.value, words})
	}
	for _, a := range raw.Amendments {
		r.name(a.Key, "amendments")
		v := a.Value
		if !v.Number.set() || !v.Date.set() || !v.Title.set() {
			r.fault(a.Key, "amendments."+a.Key.value, "missing", "an amendment has a number, a date and a title", "say which directive, bulletin or letter it is and what it changes")
		}
		r.book.Amendments = append(r.book.Amendments, &Amendment{a.Key.value, v.Number.value, v.Date.value, v.Title.value})
	}
}

// steps reads a feature's undersizes or oversizes. Standard is always one.
func (r *resolver) steps(f *Feature, v *rawFeature, path string) {
	if len(v.Steps) == 0 {
		return
	}
	path += ".steps"
	for i := range v.Steps {
		raw := &v.Steps[i]
		if !IsDirection(raw.Key.value) {
			r.fault(raw.Key, path, "name", "is not a step's mark", "use a–z and 0–9, as m010; \"std\" is standard")
			continue
		}
		s := &Step{Mark: raw.Key.value}
		nought, _, _ := quantity.Format{Unit: f.Unit}.Figure("0")
		s.Shift = nought
		switch {
		case raw.Value.Shift.set():
			shift, _, err := quantity.Format{Unit: f.Unit, DecimalComma: r.book.Comma}.Figure(raw.Value.Shift.value)
			if err != nil {
				r.figure(raw.Value.Shift, path+"."+s.Mark+".shift", err)
			} else {
				s.Shift = shift
			}
		case s.Mark != Standard:
			r.fault(raw.Key, path+"."+s.Mark, "missing", "the step does not say what it adds to the standard size", "add \"shift:\", as -0.010 for a shaft ground 0.010 under")
		}
		f.Steps = append(f.Steps, s)
	}
	if _, ok := f.Step(Standard); !ok {
		nought, _, _ := quantity.Format{Unit: f.Unit}.Figure("0")
		f.Steps = append([]*Step{{Mark: Standard, Shift: nought}}, f.Steps...)
	}
}

// madeAndMates resolves what names other features: what an installed bore is
// made of, and the mates of steps.
func (r *resolver) madeAndMates(raw *rawBook) {
	for i := range raw.Parts {
		p := &raw.Parts[i]
		for k := range p.Value.Features {
			v := &p.Value.Features[k]
			f := r.features[p.Key.value+"."+v.Key.value]
			if f == nil {
				continue
			}
			path := "parts." + f.Part.Key + ".features." + f.Key
			for _, t := range v.Value.Made {
				if other := r.find(t, path+".made-of"); other != nil {
					f.Made = append(f.Made, other)
				}
			}
			for _, s := range v.Value.Steps {
				r.stepMates(f, &s, path+".steps."+s.Key.value+".mates")
			}
		}
	}
}

func (r *resolver) stepMates(f *Feature, raw *named[rawStep], path string) {
	step, ok := f.Step(raw.Key.value)
	if !ok {
		return
	}
	for _, m := range raw.Value.Mates {
		other := r.find(m.Key, path)
		if other == nil {
			continue
		}
		var marks []string
		for _, t := range m.Value {
			if _, ok := other.Step(t.value); !ok {
				r.fault(t, path, "nowhere", other.Ref()+" has no such step", "name one of its steps, or give it this one")
				continue
			}
			marks = append(marks, t.value)
		}
		if step.Mates == nil {
			step.Mates = map[*Feature][]string{}
		}
		step.Mates[other] = marks
	}
}

// find resolves part.feature; a name that leads nowhere is a fault.
func (r *resolver) find(t text, field string) *Feature {
	f, known := r.features[t.value]
	if !known && !r.partsBad {
		r.fault(t, field, "nowhere", "there is no such feature", r.near(t.value))
	}
	return f
}

// betweenLines resolves what lines say of each other.
func (r *resolver) betweenLines(raw *rawBook) {
	for i := range raw.Lines.all {
		v := &raw.Lines.all[i]
		if !v.replaces.set() && !v.governor.set() {
			continue
		}
		l, path := r.book.lines[v.key.value], "lines."+v.key.value
		if l == nil {
			continue
		}
		l.Replaces = r.lineNamed(v.replaces, path+".replaces")
		l.Governor = r.lineNamed(v.governor, path+".governed-by")
		if g := l.Governor; g != nil {
			do := "name the line that measures the same thing directly"
			switch {
			case len(g.Instances) != len(l.Instances) || g == l:
				r.fault(v.governor, path+".governed-by", "mates", "it is not judged at as many places as this line", do)
			case g.Ungraded:
				r.fault(v.governor, path+".governed-by", "judges", "that line is not graded, so that neither would be", do)
			}
		}
		if l.Replaces == l {
			r.fault(v.replaces, path+".replaces", "nowhere", "a line can't stand in for itself", "name the line that the amendment changes")
		}
	}
	// Of lines that replace or govern each other none would be judged.
	for i := range raw.Lines.all {
		v := &raw.Lines.all[i]
		l := r.book.lines[v.key.value]
		if l == nil || l.Replaces == nil && l.Governor == nil {
			continue
		}
		path := "lines." + v.key.value
		if l.Replaces != l && circle(l, func(l *Line) *Line { return l.Replaces }) {
			r.fault(v.replaces, path+".replaces", "nowhere", "the lines stand in for each other", "name the line that the amendment changes")
		}
		if l.Governor != l && circle(l, func(l *Line) *Line { return l.Governor }) {
			r.fault(v.governor, path+".governed-by", "mates", "the lines govern each other", "leave it out of the line that measures the thing directly")
		}
	}
}

// circle tells whether going on from a line leads back to it.
func circle(l *Line, next func(*Line) *Line) bool {
	seen := map[*Line]bool{}
	for at := next(l); at != nil && !seen[at]; at = next(at) {
		if at == l {
			return true
		}
		seen[at] = true
	}
	return false
}

func (r *resolver) lineNamed(t text, field string) *Line {
	if !t.set() {
		return nil
	}
	if l := r.book.lines[t.value]; l != nil {
		return l
	}
	if !r.lines[t.value] {
		r.fault(t, field, "nowhere", "there is no such line", "name a line by its key")
	}
	return nil
}

// when reads the conditions, engines and amendment that a line is for.
func (r *resolver) when(l *Line, v *rawLine, path string) {
	for _, w := range v.When {
		n := slices.IndexFunc(r.book.Conditions, func(c Condition) bool { return c.Name == w.Key.value })
		if n < 0 {
			r.fault(w.Key, path+".when", "nowhere", "there is no such condition", "list it under \"conditions:\" with the words it can be")
			continue
		}
		if len(w.Value.words) == 0 {
			r.fault(w.Key, path+".when", "missing", "does not say for which word", "write one of "+strings.Join(r.book.Conditions[n].Words, ", "))
		}
		for _, t := range w.Value.words {
			if words := r.book.Conditions[n].Words; !slices.Contains(words, t.value) {
				r.choice(t, path+".when."+w.Key.value, words...)
				continue
			}
			if l.When == nil {
				l.When = map[string][]string{}
			}
			l.When[w.Key.value] = append(l.When[w.Key.value], t.value)
		}
	}
	for _, t := range v.Serials {
		if s, why, do := span(t.value); why == "" {
			l.Serials = append(l.Serials, s)
		} else {
			r.fault(t, path+".serials", "figure", why, do)
		}
	}
	l.As = v.As.value
	if v.Amendment.set() {
		n := slices.IndexFunc(r.book.Amendments, func(a *Amendment) bool { return a.Key == v.Amendment.value })
		if n < 0 {
			r.fault(v.Amendment, path+".amendment", "nowhere", "there is no such amendment", "list it under \"amendments:\" with its number, date and title")
		} else {
			l.Amendment = r.book.Amendments[n]
		}
	}
	switch v.Graded.value {
	case "", "yes":
	case "no":
		l.Ungraded = true
	default:
		r.choice(v.Graded, path+".graded", "yes", "no")
	}
}
