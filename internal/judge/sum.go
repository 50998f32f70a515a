package judge

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/reading"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// moved says how the limits moved with another reading.
func (w Words) moved(v *Verdict, here Here) string {
	m := v.Line.Moves
	show := func(f quantity.Figure, u quantity.Unit) string {
		return w.textTo(max(commonDecimals(u), f.Decimals(u, mostDecimals)), u, v.Line, f, false)
	}
	site, u := m.Sites[v.At], m.With.Unit
	text := "upper limits grow by " + show(m.By, quantity.InchPerInch) + " times what " + site.String() + " is over " + show(m.From, u)
	with, ok := sizeSpan(site, here)
	if !ok || !with.high.lo.Set {
		return text
	}
	at := with.high.lo.At // of a bracket the least it can be
	over := excess(at, m.From)
	if over.Sign() <= 0 {
		return text + "; at " + show(at, u) + " by nothing"
	}
	by, err := over.Times(m.By)
	if err != nil {
		return text
	}
	return text + fmt.Sprintf(": (%s − %s) × %s = %s", show(at, u), show(m.From, u), show(m.By, quantity.InchPerInch), show(by, u))
}

// Sum opens a verdict to everything it stands on: readings, rule, arithmetic,
// limits as printed, page. One line of text each.
func (w Words) Sum(v *Verdict, here Here) []string {
	l := v.Line
	inst := &l.Instances[v.At]
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	add("rule: %s", w.rule(l))
	if s := l.Part().Numbering.String(); s != "" && l.Instances[v.At].Label != "" {
		add("%s", s)
	}
	seen := map[*book.Site]bool{}
	for _, s := range inst.Sites {
		if seen[s] {
			continue
		}
		seen[s] = true
		add("%s", s)
		for _, id := range s.Spots {
			list := here(id)
			if len(list) == 0 {
				add("  %-28s open", w.Book.Spots[id])
			}
			for i := range list {
				add("  %-28s %s", w.Book.Spots[id], w.reading(l, &list[i]))
			}
		}
	}
	if v.Measured {
		out = append(out, w.arithmetic(v, inst, here)...)
	}
	if len(v.Steps) > 0 && v.Steps[0] != book.Standard && v.Limit != l.Limit {
		add("at step %s", v.Steps[0])
	}
	if l.Moves != nil {
		add("%s", w.moved(v, here))
	}
	if v.Held == limit.Both && l.Held != limit.Both {
		add("a new or reworked part: held on both sides")
	}
	for i, t := range v.Limit.Tiers {
		add("%s (printed %q)", w.Tier(l, v.Limit, i), t.Printed)
	}
	for _, i := range v.Picks {
		add("with %s it is %s", l.Choices[i].Text, v.SoFar)
	}
	if v.Wrong != "" {
		add("wrong mates: %s", v.Wrong)
	}
	switch l.Limit.Kind {
	case limit.Silent:
		add("the manual states no service limit: graded by the new limits")
	case limit.None:
		add("the manual allows no wear: graded by the new limits")
	case limit.AsNew:
		add("the manual says that service is the same as new")
	case limit.Wear:
		add("the service cell is an amount of wear, counted from the new limits")
	}
	for _, e := range [...]limit.Edge{v.last().Min, v.last().Max} {
		if e.Set && e.Open {
			add("the manual's wording rejects the limit itself")
		}
	}
	if v.HasAllowance {
		add("%s", w.allowanceSum(v))
	}
	for _, a := range v.Asks {
		add("%s", w.Ask(v, a, here))
	}
	if m := w.manual(l); m != "" {
		add("from %s", m)
	}
	if a := l.Amendment; a != nil {
		add("amended by %s, %s: %s", a.Number, a.Date, a.Title)
	}
	for _, c := range w.Book.Conditions {
		if words := l.When[c.Name]; len(words) > 0 {
			add("for %s %s", strings.Join(words, " or "), c.Name)
		}
	}
	if l.As != "" {
		add("measured: %s", l.As)
	}
	if l.Note != "" {
		add("note: %s", l.Note)
	}
	add("grade: %s", w.Standing(v))
	if v.Open() {
		add("open: %s", w.Missing(v))
	}
	return out
}

func (w Words) manual(l *book.Line) string {
	text := w.Book.Manual.String()
	for _, p := range [][2]string{{"page ", l.Page}, {"reference ", l.Ref}} {
		if p[1] == "" {
			continue
		}
		if text != "" {
			text += ", "
		}
		text += p[0] + p[1]
	}
	return text
}

func (w Words) rule(l *book.Line) string {
	switch l.Judges {
	case book.Size:
		f := l.Terms[0].Feature
		switch {
		case l.IsMean():
			return "the mean of all readings"
		case l.IsClearance():
			return "measured as a clearance: the least against the minimum, the most against the maximum"
		case f.Wears == book.Smaller:
			return "wears smaller: the smallest reading counts"
		case f.Wears == book.Larger:
			return "wears larger: the largest reading counts"
		}
		return "may be out on either side: the smallest and the largest reading count"
	case book.Fit:
		return "loosest = largest inside − smallest outside; tightest = smallest inside − largest outside"
	case book.OutOfRound:
		return "greatest difference between directions in one plane; the worst plane counts"
	case book.Taper:
		return "greatest difference between planes in one direction; the worst direction counts"
	case book.TaperRate:
		return "difference between two planes in one direction over their distance; the worst pair counts"
	case book.Difference:
		return "means of what is named, added with their signs"
	case book.Spread:
		return "the greatest less the smallest of the group"
	case book.MeanOf:
		return "the mean of all readings of the group"
	case book.Total:
		return "the sum of the group, each at its smallest and at its largest"
	case book.SameStep:
		return "all of the group must be at one step"
	case book.YesNo:
		return "yes or no"
	case book.RunOut:
		return "total indicator reading: the greatest less the smallest, never the sum"
	}
	return "half of the total indicator reading"
}

// reading prints a reading as shown, in the line's unit too where it was taken
// in another, and what is known of it.
func (w Words) reading(l *book.Line, r *reading.Reading) string {
	if !r.Exact() {
		text := r.Text()
		return text + w.about(r)
	}
	text := r.Text()
	if u := w.unit(l); (u != r.Shown.Unit || r.Kind == reading.Deviation) && u.Kind() == r.Value.Kind() {
		text += " = " + w.text(u, l, r.Value, false) + " " + u.String()
	}
	return text + w.about(r)
}

// about prints what is known of a reading beside its figure.
func (w Words) about(r *reading.Reading) string {
	var more []string
	if r.Stage > 0 {
		more = append(more, reading.StageName(r.Stage))
	}
	if r.Step != "" {
		more = append(more, "step "+r.Step)
	}
	for _, p := range [][2]string{{"item ", r.Item}, {"", r.Gauge}, {"by ", r.By}, {"at ", temperature(r)}, {"", r.When}, {"", r.Note}} {
		if p[1] != "" {
			more = append(more, p[0]+p[1])
		}
	}
	if r.Row > 0 {
		more = append(more, fmt.Sprintf("%s %d", cmp.Or(w.From, "row"), r.Row))
	}
	if len(more) == 0 {
		return ""
	}
	return "  (" + strings.Join(more, ", ") + ")"
}

func temperature(r *reading.Reading) string {
	if r.Temperature.Unit == quantity.NoUnit {
		return ""
	}
	return r.Temperature.String()
}

// arithmetic writes the sum out.
func (w Words) arithmetic(v *Verdict, inst *book.Instance, here Here) []string {
	l := v.Line
	switch l.Judges {
	case book.Size:
		if v.Between {
			return []string{"comes to " + w.Ends(v)}
		}
		if l.IsMean() {
			return []string{w.meanSum(v, inst, here)}
		}
		if v.Ends.Low == v.Ends.High {
			return []string{"comes to " + w.Ends(v)}
		}
		return []string{"smallest " + w.Figure(l, v.Ends.Low) + ", largest " + w.Figure(l, v.Ends.High)}
	case book.YesNo, book.SameStep:
		return nil
	case book.MeanOf:
		return []string{w.meanSum(v, inst, here)}
	case book.Difference:
		return []string{w.differenceSum(v, inst, here)}
	case book.Spread:
		return []string{w.spreadSum(v, inst, here)}
	case book.Total:
		return []string{w.totalSum(v, inst, here)}
	case book.Fit:
		switch {
		case len(v.Picks) > 0:
			return []string{"less " + l.Choices[v.Picks[0]].Text + " comes to " + w.Ends(v)}
		case v.Between || len(l.Choices) > 0:
			return []string{"comes to " + w.Ends(v)}
		}
		return []string{
			w.signedSum("loosest ", l, inst, here, 1) + " = " + w.Figure(l, v.Ends.High),
			w.signedSum("tightest", l, inst, here, -1) + " = " + w.Figure(l, v.Ends.Low),
		}
	}
	worst, err := worstForm(l, inst.Sites[0], here)
	if err != nil || !worst.found {
		return nil
	}
	text := fmt.Sprintf("worst: %s less %s = %s", w.Book.Spots[worst.high], w.Book.Spots[worst.low], w.text(w.lengthUnit(l), l, worst.spread.Figure(), false))
	switch l.Judges {
	case book.TaperRate:
		text += ", over their distance of " + w.apart(l, worst) + ": " + w.Figure(l, worst.figure) + w.unitWord(l)
	case book.Bend:
		text += ", half of it " + w.Figure(l, worst.figure)
	}
	return []string{text}
}

// comesTo is the end of a sum that is not written out: a bracket is no figure
// to add, and of repeats either may be meant.
func (w Words) comesTo(v *Verdict) string { return "comes to " + w.Ends(v) }

// plainSum tells whether the readings make one figure, so that the sum can be
// written out.
func plainSum(v *Verdict) bool { return !v.Between && v.Ends.Low == v.Ends.High }

// meanSum writes "(5.1250 + 5.1252 + 5.1254) / 3 = 5.1252".
func (w Words) meanSum(v *Verdict, inst *book.Instance, here Here) string {
	all, _ := means(inst.Sites, here)
	const most = 12
	if !plainSum(v) || len(all) > most {
		return fmt.Sprintf("the mean of %d places %s", len(all), w.comesTo(v))
	}
	var parts []string
	for i := range all {
		parts = append(parts, w.text(w.unit(v.Line), v.Line, all[i].low.lo.At, false))
	}
	return fmt.Sprintf("(%s) / %d = %s", strings.Join(parts, " + "), len(all), w.Figure(v.Line, v.Ends.Low))
}

// differenceSum writes "mean 5.1208 (cylinder-1.bore.head) − mean 5.1230
// (cylinder-1.bore.flange) = …".
func (w Words) differenceSum(v *Verdict, inst *book.Instance, here Here) string {
	if !plainSum(v) {
		return w.comesTo(v)
	}
	var text strings.Builder
	for i, t := range v.Line.Terms {
		one, _, err := meanSpan(inst.Sites[i:i+1], here)
		if err != nil {
			return w.comesTo(v)
		}
		text.WriteString(times(i, t.Times))
		fmt.Fprintf(&text, "mean %s (%s)", w.text(w.unit(v.Line), v.Line, one.low.lo.At, false), placeOf(inst.Sites[i], t))
	}
	return text.String() + " = " + w.Ends(v)
}

// times is the sign and the count before a term of a sum.
func times(i, n int) string {
	text := ""
	switch {
	case n < 0 && i == 0:
		text = "−"
	case n < 0:
		text = " − "
	case i > 0:
		text = " + "
	}
	if n = max(n, -n); n > 1 {
		text += fmt.Sprintf("%d × ", n)
	}
	return text
}

// placeOf names what a term looks at.
func placeOf(s *book.Site, t book.Term) string {
	if t.Plane != "" {
		return s.String() + "." + t.Plane
	}
	return s.String()
}

// spreadSum writes "20.9 (rod-3.weight) − 20.1 (rod-1.weight) = 0.8".
func (w Words) spreadSum(v *Verdict, inst *book.Instance, here Here) string {
	if v.Between {
		return w.comesTo(v)
	}
	var ids []book.SpotID
	for _, id := range inst.Spots {
		if len(here(id)) > 0 {
			ids = append(ids, id)
		}
	}
	all, _ := means(inst.Sites, here)
	for i := range all {
		for k := range all {
			high, low := all[i].high.hi.At, all[k].low.lo.At
			if i != k && len(all) == len(ids) && excess(high, low) == v.Ends.High {
				u := w.unit(v.Line)
				return fmt.Sprintf("%s (%s) − %s (%s) = %s", w.text(u, v.Line, high, false), w.Book.Spots[ids[i]],
					w.text(u, v.Line, low, false), w.Book.Spots[ids[k]], w.Ends(v))
			}
		}
	}
	return w.comesTo(v)
}

// totalSum writes "0.0062 (rod-1.side) + 0.0071 (rod-2.side) = 0.0133".
func (w Words) totalSum(v *Verdict, inst *book.Instance, here Here) string {
	if !plainSum(v) {
		return w.comesTo(v)
	}
	var parts []string
	for _, s := range inst.Sites {
		one, _ := sizeSpan(s, here)
		parts = append(parts, w.text(w.unit(v.Line), v.Line, one.low.lo.At, false)+" ("+s.String()+")")
	}
	return strings.Join(parts, " + ") + " = " + w.Ends(v)
}

// distance returns how far apart the two planes of a taper are.
func (w Words) distance(l *book.Line, worst formWorst) quantity.Length {
	f := l.Terms[0].Feature
	along := func(id book.SpotID) quantity.Length {
		return f.Along[slices.Index(f.Planes, w.Book.Spots[id].Plane)]
	}
	return along(worst.high).Plus(-1, along(worst.low)).Abs()
}

// apart prints that distance with its unit.
func (w Words) apart(l *book.Line, worst formWorst) string {
	u, d := w.lengthUnit(l), w.distance(l, worst).Figure()
	return w.textTo(min(w.needs(u, l, d), max(2, d.Decimals(u, mostDecimals))), u, l, d, false) + " " + u.String()
}

// lengthUnit is what lengths of the line's feature are shown in.
func (w Words) lengthUnit(l *book.Line) quantity.Unit {
	if w.Unit != quantity.NoUnit {
		return w.Unit
	}
	return l.Terms[0].Feature.Unit
}

// signedSum writes "loosest = 2.3782 (case.main-2) − 2.3749 (crank.main-2)";
// end is +1 for the loosest, −1 for the tightest.
func (w Words) signedSum(name string, l *book.Line, inst *book.Instance, here Here, end int) string {
	text := name + " = "
	for i, t := range l.Terms {
		span, _ := sizeSpan(inst.Sites[i], here)
		size := span.wide().High
		if t.Times*end < 0 {
			size = span.wide().Low
		}
		text += times(i, t.Times) + w.text(w.unit(l), l, size, false) + " (" + placeOf(inst.Sites[i], t) + ")"
	}
	return text
}

// allowanceSum writes out the allowance used on the worse side.
func (w Words) allowanceSum(v *Verdict) string {
	l := v.Line
	first, last := v.Limit.Tiers[0].Range, v.last()
	value, from, to := v.Ends.High, first.Max.At, last.Max.At
	if v.Worse == limit.Low {
		value, from, to = v.Ends.Low, first.Min.At, last.Min.At
	}
	signed := func(f quantity.Figure) string {
		if f.Sign() < 0 {
			return "(−" + w.text(w.unit(l), l, f.Negative(), false) + ")"
		}
		return w.text(w.unit(l), l, f, false)
	}
	return fmt.Sprintf("allowance used: (%s − %s) / (%s − %s) = %d %%, never below 0, rounded down",
		signed(value), signed(from), signed(to), signed(from), v.Allowance)
}
