package judge

import (
	"fmt"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// Words puts verdicts into text. Every figure is printed exactly where the
// decimals allow; one that is not begins with ≈ and is never judged by.
type Words struct {
	Book *book.Book
	Unit quantity.Unit // what lengths are shown in; NoUnit: each line's own
	From string        // what a reading's row is the number of; empty: of a row of its file
}

func (w Words) unit(l *book.Line) quantity.Unit {
	if w.Unit != quantity.NoUnit && w.Unit.Kind() == l.Unit.Kind() {
		return w.Unit
	}
	return l.Unit
}

// mostDecimals bounds what is printed: 1 µin.
const mostDecimals = 6

// decimals is how many decimals the line's figures have at least in a unit: as
// its limits are printed, or in another unit about as fine.
func (w Words) decimals(l *book.Line, u quantity.Unit) int {
	switch {
	case u.Kind() != l.Unit.Kind():
		return commonDecimals(u) // the lengths that a rate is made of
	case len(l.Limit.Tiers) == 0:
		return max(0, commonDecimals(u)-1) // the manual prints no figure to follow
	case u == l.Unit:
		return l.Decimals
	case u == quantity.Millimetre:
		return l.Decimals + 1
	}
	return l.Decimals + 2
}

// commonDecimals is how many decimals lengths are written with: to tenths or to
// hundredths of a millimetre.
func commonDecimals(u quantity.Unit) int {
	switch u {
	case quantity.Inch:
		return 4
	case quantity.Millimetre:
		return 2
	}
	return 0
}

// unitWord names the unit behind a figure where it is not the page's.
func (w Words) unitWord(l *book.Line) string {
	switch u := w.unit(l); u {
	case quantity.InchPerInch:
		return " per inch"
	case quantity.MillimetrePerMillimetre:
		return " per mm"
	case w.Book.Unit, w.Unit:
		return ""
	default:
		return " " + u.String()
	}
}

// Figure prints a figure of the line: a clearance as loose or tight, with as
// many decimals as the line's limits have, or more where the figure needs them.
func (w Words) Figure(l *book.Line, f quantity.Figure) string {
	return w.text(w.unit(l), l, f, l.IsClearance())
}

// text prints a figure with the decimals that it needs.
func (w Words) text(u quantity.Unit, l *book.Line, f quantity.Figure, clearance bool) string {
	return w.textTo(w.needs(u, l, f), u, l, f, clearance)
}

// needs is how many decimals a figure is printed with: the line's, or more where
// it needs them; a figure that six can't hold gets one more than the line.
func (w Words) needs(u quantity.Unit, l *book.Line, f quantity.Figure) int {
	least := w.decimals(l, u)
	decimals := max(least, f.Decimals(u, mostDecimals))
	if _, exact := f.Text(u, decimals); !exact {
		decimals = min(decimals, least+1)
	}
	return decimals
}

func (w Words) textTo(decimals int, u quantity.Unit, l *book.Line, f quantity.Figure, clearance bool) string {
	letter := ""
	switch {
	case !clearance:
	case f.Sign() < 0:
		letter, f = "T", f.Negative()
	case f.Sign() > 0 && l.Judges == book.Fit:
		letter = "L" // what is measured as a clearance is loose without saying so
	}
	text, exact := f.Text(u, decimals)
	if w.Book != nil && w.Book.Comma {
		text = strings.Replace(text, ".", ",", 1)
	}
	if !exact {
		text = "≈" + text
	}
	return text + letter
}

// Difference prints how far one figure of the line is from another: no letter.
func (w Words) Difference(l *book.Line, f quantity.Figure) string {
	return w.text(w.unit(l), l, f, false) + w.unitWord(l)
}

// Ends prints what was found: one figure, or the two ends where they differ.
func (w Words) Ends(v *Verdict) string {
	switch {
	case v.Line.Judges == book.SameStep:
		return strings.Join(slices.Compact(slices.Sorted(slices.Values(v.Steps))), ", ")
	case !v.Measured:
		return "not measured"
	case v.Line.Judges == book.YesNo:
		if (v.SoFar == Beyond) == v.Line.WantYes {
			return "no"
		}
		return "yes"
	}
	unit := w.unitWord(v.Line)
	switch {
	case v.NoLow && v.NoHigh:
		return "not bounded"
	case v.NoLow:
		return "at most " + w.Figure(v.Line, v.Ends.High) + unit
	case v.NoHigh:
		return "at least " + w.Figure(v.Line, v.Ends.Low) + unit
	}
	return w.pair(v.Line, v.Ends, v.Line.IsClearance()) + unit
}

// pair prints two ends, both with the decimals of the finer, or the one figure
// that both are.
func (w Words) pair(l *book.Line, e limit.Ends, clearance bool) string {
	u := w.unit(l)
	if e.Low == e.High {
		return w.text(u, l, e.Low, clearance)
	}
	decimals := max(w.needs(u, l, e.Low), w.needs(u, l, e.High))
	return w.textTo(decimals, u, l, e.Low, clearance) + ".." + w.textTo(decimals, u, l, e.High, clearance)
}

// Range prints a range as books write them: 2.2485..2.2495, max 0.0050L, over
// 1.67.
func (w Words) Range(l *book.Line, r limit.Range) string {
	return w.bare(l, r) + w.unitWord(l)
}

func (w Words) bare(l *book.Line, r limit.Range) string {
	switch {
	case r.Min.Set && r.Max.Set && r.Min.At == r.Max.At:
		return w.Figure(l, r.Min.At) // a nominal, for reference
	case r.Min.Set && r.Max.Set:
		text := w.pair(l, limit.Ends{Low: r.Min.At, High: r.Max.At}, l.IsClearance())
		if r.Min.Open {
			text += ", the least itself out"
		}
		if r.Max.Open {
			text += ", the most itself out"
		}
		return text
	case r.Max.Set && r.Max.Open:
		return "under " + w.Figure(l, r.Max.At)
	case r.Max.Set:
		return "max " + w.Figure(l, r.Max.At)
	case r.Min.Open:
		return "over " + w.Figure(l, r.Min.At)
	case r.Min.Set:
		return "min " + w.Figure(l, r.Min.At)
	}
	return "no limit"
}

// Tier prints one tier of a limit of the line with its name. A side that is no
// wider than the tier before is left out.
func (w Words) Tier(l *book.Line, of *limit.Limit, i int) string {
	t := of.Tiers[i]
	r := t.Range
	if i > 0 {
		narrow := of.Tiers[i-1].Range
		if r.Min.Set && r.Max.Set && r.Min == narrow.Min {
			r.Min = limit.Edge{}
		} else if r.Min.Set && r.Max.Set && r.Max == narrow.Max {
			r.Max = limit.Edge{}
		}
	}
	text := t.Name + " " + w.Range(l, r)
	if i == len(of.Tiers)-1 && of.Held != nil {
		text += " or " + w.Range(l, *of.Held) + " (base of wear not stated)"
	}
	return text
}

// Crossed prints the edge of the last tier on the side that stands worse, with
// the tier's name: what a value beyond is beyond of.
func (w Words) Crossed(v *Verdict) string {
	t := v.Limit.Tiers[len(v.Limit.Tiers)-1]
	if v.Tier == len(v.Limit.Tiers)-1 && v.Tier > 0 {
		// Within the band to rework, past the one before it.
		return "past " + w.Tier(v.Line, v.Limit, v.Tier-1) + ", within " + w.Tier(v.Line, v.Limit, v.Tier)
	}
	if v.Worse == limit.Low {
		t.Range.Max = limit.Edge{}
	} else {
		t.Range.Min = limit.Edge{}
	}
	return t.Name + " " + w.Range(v.Line, t.Range)
}

// Limits prints the limits of a line, with what the manual says of service
// where that is no figure.
func (w Words) Limits(l *book.Line, of *limit.Limit) string {
	switch l.Judges {
	case book.YesNo:
		if !l.WantYes {
			return "must be no"
		}
		return "must be yes"
	case book.SameStep:
		return "all at one step"
	}
	var all []string
	for i := range of.Tiers {
		all = append(all, w.Tier(l, of, i))
	}
	if a := l.Amendment; a != nil {
		all = append(all, "by "+a.Number+" of "+a.Date)
	}
	switch of.Kind {
	case limit.Reference:
		if of.Ungraded {
			all = nil // the tier is what is printed
		}
		all = append(all, of.Printed)
	case limit.Silent:
		all = append(all, "no service limit stated")
	case limit.None:
		all = append(all, "no wear allowed")
	case limit.AsNew:
		all = append(all, "service same as new")
	}
	return strings.Join(all, ", ")
}

// Ask says in words what a person is asked.
func (w Words) Ask(v *Verdict, a Ask, here Here) string {
	switch a.Kind {
	case Settle:
		list := here(a.Spot)
		shown := make([]string, len(list))
		items := map[string]bool{}
		for i := range list {
			shown[i] = list[i].Text()
			if list[i].Item != "" {
				items[list[i].Item] = true
			}
		}
		text := fmt.Sprintf("to be settled: %s has %d live readings, %s; the worse counts until all but one are struck",
			w.Book.Spots[a.Spot], len(list), strings.Join(shown, " and "))
		if len(items) > 1 {
			text += " (they name different items)"
		}
		return text
	case Query:
		better, end, word := v.Limit.Tiers[0].Range.Max.At, v.Ends.High, "larger"
		if v.Held == limit.High {
			better, end, word = v.Limit.Tiers[0].Range.Min.At, v.Ends.Low, "smaller"
		}
		return fmt.Sprintf("look again: %s is %s than new (%s), and this wears the other way: misread, plated or another part?",
			w.Figure(v.Line, end), word, w.Figure(v.Line, better))
	case Hold:
		strict, generous := "new max", "new min"
		if v.Worse == limit.High {
			strict, generous = generous, strict
		}
		return fmt.Sprintf("held: the manual does not state the base of the wear; counted from %s, %s is out (%s), from %s within (%s): which does it mean?",
			strict, w.worseFigure(v), w.Range(v.Line, v.last()), generous, w.Range(v.Line, *v.Limit.Held))
	case Undecided:
		if !v.Measured {
			return "not decided: this wants figures, and a bracket or a band is none"
		}
		if v.Ends.Low == v.Ends.High {
			return "not decided: what was measured bounds it on one side only (" + w.Ends(v) + "): measure it with a gauge that shows a figure"
		}
		return "not decided: all that is known is " + w.Ends(v) + ", and a limit cuts that: measure it with a gauge that shows a figure"
	case Which:
		if a.Text == Serial {
			return "held: the line is for some engines only: state the serial number"
		}
		if serial, ok := strings.CutPrefix(a.Text, Serial+" "); ok {
			return fmt.Sprintf("held: the line is for engines %s, and it can't be told whether %s is one of them: the serial number must be written as the book writes its own", v.Line.Engines(), serial)
		}
		for _, c := range w.Book.Conditions {
			if c.Name == a.Text {
				return "held: the line depends on \"" + c.Name + "\": state whether it is " + strings.Join(c.Words, " or ")
			}
		}
		return "held: the line depends on \"" + a.Text + "\": state which it is"
	case Mark:
		return "held: the readings do not say one step that the part can be at (" + a.Text + "); " + marks(v.Line) + ": look at its mark"
	case OtherStep:
		return "look again: the size is that of step " + a.Text + ", and the part is marked " + v.Steps[0] + ": is the mark or the reading wrong?"
	case Contradicts:
		return "held: " + v.Line.Contradiction + ": look at the manual, and settle it; tenths book check says what may be meant"
	case Held:
		return w.holds(v.Line)
	case Mixed:
		return "held: the readings name different items at one place: " + strings.Join(doubled(&v.Line.Instances[v.At], here), "; ") + ": which one is fitted?"
	default:
		return "held: the figures are too large to be added"
	}
}

// doubled names the places of an instance where more than one item was read,
// each with its items.
func doubled(inst *book.Instance, here Here) []string {
	var all []string
	for _, s := range inst.Sites {
		if items := itemsAt(s, here); len(items) > 1 {
			all = append(all, s.String()+" ("+strings.Join(items, " and ")+")")
		}
	}
	return all
}

// holds says which cells of a line can't be read for certain.
func (w Words) holds(l *book.Line) string {
	if l.Unfilled() {
		return "held: " + book.NotStated + ": fill them in from the manual"
	}
	text := "held: the book can't be read for certain here:"
	for i, h := range l.Holds {
		if i > 0 {
			text += ";"
		}
		text += " " + h.Cell + " \"" + h.Text + "\""
		if h.Why != "" {
			text += " (" + h.Why + ")"
		}
		if len(h.May) > 0 {
			text += ", perhaps " + strings.Join(h.May, " or ")
		}
	}
	return text + ": look at the manual, and settle it"
}

// bounded prints between which figures a size lies.
func (w Words) bounded(l *book.Line, s span) string {
	show := func(f quantity.Figure) string { return w.text(w.unit(l), l, f, false) }
	switch {
	case !s.low.lo.Set && !s.high.hi.Set:
		return "not bounded"
	case !s.low.lo.Set:
		return "at most " + show(s.high.hi.At)
	case !s.high.hi.Set:
		return "at least " + show(s.low.lo.At)
	}
	return w.pair(l, s.wide(), false)
}

// marks lists the steps of a line's features.
func marks(l *book.Line) string {
	var all []string
	for _, t := range l.Terms {
		for _, s := range t.Feature.Steps {
			if !slices.Contains(all, s.Mark) {
				all = append(all, s.Mark)
			}
		}
	}
	if len(all) == 0 {
		return "the book gives it none"
	}
	return "the book has " + strings.Join(all, ", ")
}

func (w Words) worseFigure(v *Verdict) string {
	if v.Worse == limit.Low {
		return w.Figure(v.Line, v.Ends.Low)
	}
	return w.Figure(v.Line, v.Ends.High)
}

// Name prints the line's name with the instance it is of.
func (w Words) Name(v *Verdict) string {
	switch v.Line.Judges {
	case book.Spread, book.MeanOf, book.Total, book.SameStep:
		// A group's number is not a part's: its members say which they are.
		if v.Line.Instances[v.At].Label == "" {
			return v.Line.Name
		}
		var members []string
		for _, s := range v.Line.Instances[v.At].Sites {
			members = append(members, s.String())
		}
		return v.Line.Name + " (" + strings.Join(members, ", ") + ")"
	}
	if label := v.Line.Instances[v.At].Label; label != "" {
		return v.Line.Name + " " + label
	}
	return v.Line.Name
}

// Standing prints the grade, by how much where beyond, and the allowance used.
func (w Words) Standing(v *Verdict) string {
	grade, before := v.Grade, ""
	if v.Ungraded != "" {
		return "not graded: " + v.Ungraded
	}
	if grade == NoGrade {
		if v.SoFar == NoGrade {
			switch {
			case v.IsHeld():
				return "held"
			case v.Open():
				return "open"
			case v.asks(Undecided):
				return "not decided"
			}
			return "held"
		}
		grade, before = v.SoFar, "so far "
	}
	text := before + grade.String()
	switch {
	case v.Line.Judges == book.YesNo && grade == Beyond:
		return text + ": not as wanted"
	case v.Line.Judges == book.YesNo:
		return before + "as wanted"
	case grade == Serviceable && v.Best < len(v.Limit.Tiers) && v.gradeAt(v.Best) == New && v.Best != v.Tier:
		text += ", perhaps new"
	}
	if a := v.Action(); a != "" {
		text += ": " + a
	}
	if v.Wrong != "" {
		text += ": wrong mates"
	}
	for i, pick := range v.Picks {
		text += []string{" with ", " or "}[min(i, 1)] + v.Line.Choices[pick].Text
	}
	if by, ok := v.By(); ok && grade == Beyond {
		if by.Sign() == 0 {
			text += ": the limit itself is out"
		} else {
			text += " by " + w.Difference(v.Line, by)
		}
	}
	if v.HasAllowance && v.Allowance > 0 {
		text += fmt.Sprintf(", %d %% used", v.Allowance)
	}
	return text
}

// Missing lists the spots that are open, as many as a reader wants to see.
func (w Words) Missing(v *Verdict) string {
	const most = 6
	var names []string
	for _, id := range v.Missing {
		if len(names) == most {
			names = append(names, fmt.Sprintf("and %d more", len(v.Missing)-most))
			break
		}
		names = append(names, w.Book.Spots[id].String())
	}
	return strings.Join(names, ", ")
}

// Members prints the sizes that a fit is made of, each with its two ends.
func (w Words) Members(v *Verdict, here Here) string {
	var parts []string
	inst := &v.Line.Instances[v.At]
	for i, t := range v.Line.Terms {
		span, ok := sizeSpan(inst.Sites[i], here)
		text := inst.Sites[i].String() + " open"
		if ok {
			text = inst.Sites[i].String() + " " + w.bounded(v.Line, span)
		}
		switch {
		case t.Times < -1:
			text = fmt.Sprintf("less %d × %s", -t.Times, text)
		case t.Times < 0:
			text = "less " + text
		case t.Times > 1:
			text = fmt.Sprintf("%d × %s", t.Times, text)
		}
		parts = append(parts, text)
	}
	if len(v.Picks) > 0 {
		parts = append(parts, "less "+v.Line.Choices[v.Picks[0]].Text)
	}
	return strings.Join(parts, ", ")
}
