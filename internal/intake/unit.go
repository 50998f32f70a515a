package intake

import (
	"fmt"
	"regexp"
	"strings"

	"tenths/internal/fault"
	"tenths/metrology/quantity"
)

// readUnit finds the unit that lengths are in where a row does not say: as a
// heading of limits does, as a note over or under the table does, as the rows
// that name one do, as the figures do that carry one, or as the user says.
func (d *Draft) readUnit(m Mapping) fault.List {
	says := quantity.NoUnit
	if m.Unit != "" {
		var err error
		if says, err = quantity.ParseUnit(m.Unit); err != nil || says.Kind() != quantity.LengthKind {
			return fault.List{{File: d.Sheet.File, Code: "unit", Text: m.Unit, What: "is not a unit of length", Do: "write in or mm"}}
		}
	}
	for _, find := range []func() (quantity.Unit, string){d.unitOfHeadings, d.unitOfNotes, d.unitOfRows, d.unitOfFigures} {
		if u, said := find(); u != quantity.NoUnit {
			d.unit = u
			if said != "" {
				d.Said = append(d.Said, said)
			}
			if says != quantity.NoUnit && says != u {
				d.Said = append(d.Said, "the table itself says that its lengths are in "+u.String()+": the unit "+says.String()+" that was said is for tables that say none")
			}
			return nil
		}
	}
	if says != quantity.NoUnit {
		d.unit = says
		return nil
	}
	d.unit, d.unasked = quantity.Inch, true
	if likely, _ := d.likelyUnit(); likely != quantity.NoUnit {
		d.unit = likely
	}
	return nil
}

var (
	unitNote      = regexp.MustCompile(`(?i)\b(?:dimensions?|measurements?|limits?|figures?|values?|sizes?|lengths?|clearances?|all|are|is|given|units?)\b.{0,40}?\b(?:in|:|=|are)\s+(inch(?:es)?|in\.|mm|millimet(?:er|re)s?)`)
	unitOfFigure  = regexp.MustCompile(`(?i)[0-9]\s?(inch(?:es)?|in|mm|")(?:[^a-z]|$)`)
	decimalFigure = regexp.MustCompile(`[0-9]*[.,][0-9]+`)
)

func unitOfWord(word string) quantity.Unit {
	if word = strings.ToLower(word); strings.HasPrefix(word, "m") {
		return quantity.Millimetre
	}
	return quantity.Inch
}

func otherUnit(u quantity.Unit) quantity.Unit {
	if u == quantity.Millimetre {
		return quantity.Inch
	}
	return quantity.Millimetre
}

// only is the unit that alone was counted.
func only(counts map[quantity.Unit]int) quantity.Unit {
	if len(counts) != 1 {
		return quantity.NoUnit
	}
	for u := range counts {
		return u
	}
	return quantity.NoUnit
}

// unitOfHeadings is the unit that a heading of limits says.
func (d *Draft) unitOfHeadings() (quantity.Unit, string) {
	for _, c := range d.Columns {
		if c.Unit != quantity.NoUnit && !c.Second && (c.Role.isNew() || c.Role.isService()) {
			return c.Unit, ""
		}
	}
	return quantity.NoUnit, ""
}

// unitOfNotes is the unit that a row of words alone says: "all dimensions in
// inches".
func (d *Draft) unitOfNotes() (quantity.Unit, string) {
	counts := map[quantity.Unit]int{}
	for i := range d.Sheet.Rows {
		text, n := "", 0
		for _, c := range d.Sheet.Rows[i].Cells {
			if c.Text != "" && !c.Merged {
				text = c.Text
				n++
			}
		}
		if n != 1 {
			continue
		}
		for _, m := range unitNote.FindAllStringSubmatch(text, -1) {
			counts[unitOfWord(m[1])]++
		}
	}
	return only(counts), ""
}

// unitOfRows is the unit that rows name in a column of units, where they name
// one; of two the more frequent is none for the rows that name none.
func (d *Draft) unitOfRows() (quantity.Unit, string) {
	counts := map[quantity.Unit]int{}
	for _, c := range d.Columns {
		if c.Role != Unit {
			continue
		}
		for i := range d.Sheet.Rows {
			if u, err := quantity.ParseUnit(d.Sheet.Rows[i].At(c.At).Text); err == nil && u.Kind() == quantity.LengthKind {
				counts[u]++
			}
		}
	}
	return only(counts), ""
}

// unitOfFigures is the unit that most figures carry, where none carries another.
func (d *Draft) unitOfFigures() (quantity.Unit, string) {
	counts, cells := map[quantity.Unit]int{}, 0
	d.limitCells(func(text, brackets string) {
		cells++
		if m := unitOfFigure.FindStringSubmatch(brackets); m != nil && !unitOfFigure.MatchString(text) {
			counts[otherUnit(unitOfWord(m[1]))]++ // what stands in brackets is the other
			return
		}
		if !strings.ContainsAny(text, `iImM"`) {
			return
		}
		if m := unitOfFigure.FindStringSubmatch(text); m != nil {
			counts[unitOfWord(m[1])]++
		}
	})
	if u := only(counts); u != quantity.NoUnit && counts[u]*2 > cells {
		return u, fmt.Sprintf("the lengths are in %s: %d of %d limits say so", u, counts[u], cells)
	}
	return quantity.NoUnit, ""
}

// limitCells goes over the limits that have a decimal mark, each with what stands
// in brackets behind it.
func (d *Draft) limitCells(each func(text, brackets string)) {
	for i := range d.Sheet.Rows {
		for _, c := range d.Columns {
			if !c.Second && (c.Role.isNew() || c.Role.isService()) {
				text, brackets := d.Sheet.Rows[i].At(c.At).Text, ""
				if m := bracketed(text); m != nil {
					text, brackets = m[1], m[2]
				}
				if decimalFigure.MatchString(text) {
					each(text, brackets)
				}
			}
		}
	}
}

// likelyUnit is the unit that the figures look like, and why: inches are printed
// with four decimals, and few parts of an engine are as large as twelve of them;
// millimetres with two or three. Common practice, no source; twelve is a figure
// of our own.
func (d *Draft) likelyUnit() (quantity.Unit, string) {
	figures, fine, large := 0, 0, 0
	d.limitCells(func(text, _ string) {
		for _, f := range decimalFigure.FindAllString(text, -1) {
			i := strings.IndexAny(f, ".,")
			figures++
			if len(f)-i-1 >= 4 {
				fine++
			}
			if whole := strings.TrimLeft(f[:i], "0"); len(whole) > 2 || len(whole) == 2 && whole >= "12" {
				large++
			}
		}
	})
	switch {
	case fine*3 >= figures && fine > 0:
		return quantity.Inch, fmt.Sprintf("%d of %d figures have four decimals, as inches are printed", fine, figures)
	case large*3 > figures && fine*10 < figures:
		return quantity.Millimetre, fmt.Sprintf("%d of %d figures are 12 or more, and nearly none has four decimals", large, figures)
	}
	return quantity.NoUnit, ""
}

// askUnit asks for the unit, where rows are lengths of which nothing says it.
func (d *Draft) askUnit() {
	rows := 0
	for i := range d.Rows {
		if d.Rows[i].unasked && d.Rows[i].Unit.Kind() == quantity.LengthKind && d.Rows[i].Kind != Relation {
			rows++
		}
	}
	if rows == 0 {
		return
	}
	a := Ask{Mark: "unit", Rows: rows, May: []string{"in", "mm"}}
	if likely, why := d.likelyUnit(); likely != quantity.NoUnit {
		a.Likely, a.Why = likely.String(), why
	}
	d.Asks = append(d.Asks, a)
}
