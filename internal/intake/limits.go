package intake

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// meanings are what a mark in a service cell can mean for a whole table.
var meanings = []string{"not stated", "none", "same as new"}

// bases are from which end of the new limits an amount of wear may be counted.
var bases = []string{"from min", "from max"}

var marks = regexp.MustCompile(`^(?:\(?\*+\)?|n/?a|n\.a\.|n/r|-+|–|—|none|nil|no limit|not applicable)$`)

// isMark tells a cell that says something which only the whole table can mean.
func isMark(text string) bool {
	if text != "" && text[len(text)-1] >= '0' && text[len(text)-1] <= '9' {
		return false // as most cells end
	}
	text = markOf(text)
	return text == "" || marks.MatchString(text)
}

// asked is the mark in the row's service cell, as one answers it, if it has one
// and nobody has said what it means.
func (r *Row) asked(m Mapping) (mark string, asked bool) {
	if !isMark(r.Printed.Service) || r.Printed.New == "" || r.Kind == Relation {
		return "", false
	}
	mark = markOf(r.Printed.Service)
	if mark == "" {
		mark = "blank"
	}
	_, known := m.answer(mark)
	return mark, !known
}

// answer is what the user says that a mark means.
func (m Mapping) answer(mark string) (string, bool) {
	for k, means := range m.Answers {
		if strings.EqualFold(k, mark) {
			return means, true
		}
	}
	return "", false
}

var (
	inBrackets = regexp.MustCompile(`^(.*[0-9A-Za-z".].*?)\s*[(\[]([^()\[\]]*[0-9][^()\[\]]*)[)\]]$`)
	seeText    = regexp.MustCompile(`(?i)^\(?(see .*?|by selection|ref(?:erence)?)\)?$`)
	oneFigure  = regexp.MustCompile(`^[+−-]?[0-9]*[.,]?[0-9]+(?: ?[LTlt])?(?: ?(?:in|inch|mm|")\.?)?$`)
)

// limits makes limits of the row's two cells, or holds.
func (d *Draft) limits(r *Row, m Mapping) {
	asNew, service := r.Printed.New, r.Printed.Service
	if r.Kind == Relation {
		return // what it says is in its words; a person looks whether it is so
	}
	for which, cell := range []*string{&asNew, &service} {
		if plain, second, unit, ok := d.second(r, *cell); ok {
			*cell = plain
			r.AlsoUnit = unit
			*[]*string{&r.Also.New, &r.Also.Service}[which] = second
		}
	}
	if isMark(asNew) {
		asNew = ""
	}
	asNew, service = r.plainly(asNew), r.plainly(service)
	if !onlyFigures(service) {
		if seen := seeText.FindStringSubmatch(service); seen != nil {
			service = strings.ToLower(seen[1])
		}
	}
	if strings.EqualFold(service, "as new") {
		service = "same as new"
	}
	r.doubtShortened()
	if r.Kind == Unknown {
		why := "its words do not say what is measured"
		if name := strings.ToLower(r.Name); r.Unit.Kind() == quantity.LengthKind && (torqueWords.fits(name) || springLoad.fits(name)) {
			why = "it may be a load or a torque, and nothing says in which unit: write it behind the figures, as 40 lbf or 400 lbf-in"
		}
		if r.unfit != Unknown {
			why = "it was said to be " + r.unfit.String() + ", which is not measured in " + r.Unit.String() + ": write its unit behind the figures, or give the table a column of units"
		}
		r.hold("kind", r.Name, why, "outside", "inside", "clearance", "length wears smaller", "length wears larger")
		r.Kind, r.Wears = Length, "either"
		r.New, r.Service = asNew, strings.TrimSpace(service)
		if isMark(r.Service) {
			r.Service = ""
		}
		if !r.doubtful(d, asNew) {
			r.unreadable(d)
		}
		return
	}
	mark, unasked := r.asked(m)
	means, _ := m.answer(mark)
	switch {
	case unasked:
		service = ""
	case mark != "" && means == "not stated", isMark(service) && mark == "":
		service = ""
	case mark != "":
		service = means
	}
	asNew = r.lone(asNew)
	if r.measured(asNew, service, d); r.doubtful(d, asNew) {
		return
	}
	n := r.notation(d)
	if r.isAmount(n, asNew, service) {
		service = "wear " + service
		if from, ok := m.answer("wear"); ok {
			service += " " + from
		} else {
			r.base = true
		}
	}
	r.New, r.Service = asNew, service
	if unasked {
		defer func() {
			if !r.holds("service") {
				r.hold("service", r.Printed.Service, "what the table means by "+quoted(mark)+" in this column nobody has said", "blank", "none", "same as new")
				r.Service = ""
			}
		}()
	}
	if asNew == "" && service == "" {
		if !unasked {
			r.hold("new", strings.TrimSpace(r.Printed.New+" "+r.Printed.Service), "the row has no limits")
		}
		return
	}
	_, err := n.Parse(asNew, service)
	r.refused(n, err)
}

// doubt holds the cells of the row that a person doubts. Where new limits are
// doubted the service limit waits with them: it may only be read beside them.
func (r *Row) doubt(m Mapping) {
	for _, h := range m.Holds {
		if h.Row != r.FileLine || r.Kind == Relation || r.holds(h.Cell) {
			continue
		}
		switch {
		case h.Cell == "service" && r.Service == h.Text:
			r.hold("service", r.Printed.Service, h.Why, h.May...)
			r.Service = ""
		case h.Cell == "new" && r.New == h.Text:
			r.hold("new", r.Printed.New, h.Why, h.May...)
			if r.New = ""; r.Service != "" {
				r.hold("service", r.Printed.Service, "waits for the new limits", r.Service)
				r.Service = ""
			}
		default:
			continue
		}
		r.Contradiction = ""
	}
}

func quoted(mark string) string {
	if mark == "blank" {
		return "a blank"
	}
	return `"` + mark + `"`
}

// likely adds to the readings that the parser offers those of the whole cell:
// letters for digits, and letters that are lost.
func (r *Row) likely(n limit.Notation, service bool, text string, err error, may []string) []string {
	// One figure of a range that is mended alone is no reading of the cell.
	may = slices.DeleteFunc(readings(may), func(m string) bool { return strings.Contains(m, "..") && !r.reads(n, service, m) })
	offer := func(reading string) {
		ok := reading != text && !slices.Contains(may, reading)
		if ok && r.reads(n, service, reading) {
			may = append(may, reading)
		}
	}
	offer(lettersForDigits.Replace(text))
	beside := r.Service
	if service {
		beside = r.New
	}
	for _, reading := range slips(text, beside) {
		offer(reading)
	}
	if lo, hi, ok := strings.Cut(text, "/"); ok && oneFigure.MatchString(strings.TrimSpace(lo)) && oneFigure.MatchString(strings.TrimSpace(hi)) && !n.Fit {
		offer(strings.TrimSpace(lo) + ".." + strings.TrimSpace(hi))
	}
	if ends := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" /", r) }); n.Fit && errors.Is(err, limit.ErrAmbiguous) && len(ends) == 2 {
		offer(ends[0] + "T.." + ends[1] + "L")
		offer(ends[0] + "L.." + ends[1] + "T")
	}
	return may
}

// reads tells whether the row's cell can be read as that.
func (r *Row) reads(n limit.Notation, service bool, reading string) bool {
	asNew, worn := reading, ""
	if service {
		asNew, worn = r.New, reading
	}
	_, err := n.Parse(asNew, worn)
	return err == nil
}

var lettersForDigits = strings.NewReplacer("i", "1", "I", "1", "l", "1", "|", "1", "O", "0", "o", "0", "S", "5", "B", "8", ",", ".")

// refused holds the cells that can't be read as limits.
func (r *Row) refused(n limit.Notation, err error) {
	var cell *limit.CellError
	if r.contradict(n, err) {
		return
	}
	for errors.As(err, &cell) {
		may := cell.May
		if cell.Service {
			why := whyNot(r.Service, cell.Err)
			if errors.Is(cell.Err, limit.ErrLone) {
				may = []string{"min " + r.Service, "max " + r.Service}
				why = "one figure alone: the least or the most?"
			}
			r.hold("service", r.Printed.Service, why, r.likely(n, true, r.Service, cell.Err, may)...)
			r.Service = ""
			if r.New == "" || r.holds("new") {
				return
			}
			_, err = n.Parse(r.New, "")
		} else {
			why := whyNot(r.New, cell.Err)
			if errors.Is(cell.Err, limit.ErrLone) {
				may = []string{"min " + r.New, "max " + r.New, "reference " + r.New}
				why = "one figure alone: the least, the most, or what it should be?"
			}
			r.hold("new", r.Printed.New, why, r.likely(n, false, r.New, cell.Err, may)...)
			r.New = ""
			if r.Service == "" {
				return
			}
			_, err = n.Parse("", r.Service)
			if errors.Is(err, limit.ErrNoNew) || strings.HasPrefix(r.Service, "+") || strings.HasPrefix(r.Service, "±") {
				return // it says something of the new limits, and is read with them
			}
		}
		cell = nil
	}
}

// contradict tells limits each of which can be read, and that contradict each
// other. The book takes them as they are printed and holds the line: what may be
// meant is for its check to say, which sees the other rows as well.
func (r *Row) contradict(n limit.Notation, err error) bool {
	if !errors.Is(err, limit.ErrInside) && !errors.Is(err, limit.ErrBackwards) || r.New == "" || r.Service == "" {
		return false
	}
	asNew, errNew := n.Parse(r.New, "")
	worn, errWorn := n.Parse("", r.Service)
	if errNew != nil || errWorn != nil || len(asNew.Tiers) != 1 || len(worn.Tiers) != 1 {
		return false
	}
	var cell *limit.CellError
	errors.As(err, &cell)
	r.Contradiction = cell.Err.Error()
	return true
}

// readings are likely readings as a book writes them: two figures that ran
// together are the ends of a range.
func readings(may []string) []string {
	all := make([]string, len(may))
	for i, m := range may {
		all[i] = strings.Replace(m, " and ", "..", 1)
	}
	return all
}

// unreadable holds the cells of a row of unknown kind that no kind could read:
// settling the kind alone would not do.
func (r *Row) unreadable(d *Draft) {
	f := quantity.Format{Unit: r.Unit, DecimalComma: d.comma}
	kinds := []limit.Notation{{Format: f, Held: limit.Low, Lone: limit.Low}, {Format: f, Fit: true, Held: limit.Both, Lone: limit.High}}
	for which, cell := range []*string{&r.New, &r.Service} {
		if *cell == "" {
			continue
		}
		var why error
		for _, n := range kinds {
			asNew, service := r.New, ""
			if which == 1 {
				service = *cell
			}
			if _, why = n.Parse(asNew, service); why == nil || errors.Is(why, limit.ErrInside) || errors.Is(why, limit.ErrBackwards) {
				why = nil
				break
			}
		}
		var bad *limit.CellError
		if why == nil || !errors.As(why, &bad) {
			continue
		}
		r.hold([]string{"new", "service"}[which], *cell, bad.Err.Error(), readings(bad.May)...)
		*cell = ""
	}
}

// doubtful holds the cells that the spreadsheet itself makes doubtful.
func (r *Row) doubtful(d *Draft, asNew string) bool {
	any := false
	for which, doubt := range r.doubts {
		if doubt == "" {
			continue
		}
		any = true
		if which == 0 {
			r.hold("new", r.Printed.New, doubt, r.mays[0]...)
			r.New = ""
		} else {
			r.hold("service", r.Printed.Service, doubt, r.mays[1]...)
			r.Service = ""
		}
	}
	if any && !r.holds("kind") {
		if r.holds("new") {
			if r.Service = ""; r.Printed.Service != "" && !r.holds("service") {
				r.hold("service", r.Printed.Service, "waits for the new limits")
			}
		} else {
			r.New = asNew
			if _, err := r.notation(d).Parse(asNew, ""); err != nil {
				r.hold("new", r.Printed.New, "can't be read without the service limit")
				r.New = ""
			}
		}
	}
	return any
}

func (r *Row) hold(cell, text, why string, may ...string) {
	if !r.holds(cell) {
		r.Holds = append(r.Holds, Hold{cell, text, may, why})
	}
}

func (r *Row) holds(cell string) bool {
	for i := range r.Holds {
		if r.Holds[i].Cell == cell {
			return true
		}
	}
	return false
}

// bracketed is a cell without what stands in brackets behind it, and that.
func bracketed(cell string) []string {
	if cell == "" || cell[len(cell)-1] != ')' && cell[len(cell)-1] != ']' {
		return nil
	}
	return inBrackets.FindStringSubmatch(cell)
}

// second takes a figure in brackets off a cell, where it is in another unit.
func (d *Draft) second(r *Row, cell string) (plain, second string, unit quantity.Unit, ok bool) {
	found := bracketed(cell)
	if found == nil {
		return "", "", 0, false
	}
	for from := range found[2] { // the longest unit that it ends in
		if u, err := quantity.ParseUnit(strings.TrimSpace(found[2][from:])); err == nil && u != r.Unit && !digit.MatchString(found[2][from:]) {
			return found[1], found[2], u, true
		}
	}
	// "2.2485 (57.11)" under "in. (mm)".
	other := otherUnit(r.Unit)
	for _, c := range d.Columns {
		h := tidyHeading(c.Heading)
		if (c.Role.isNew() || c.Role.isService()) && metricWords.MatchString(h) && inchWords.MatchString(h) && digit.MatchString(found[1]) {
			return found[1], found[2], other, true
		}
	}
	return "", "", 0, false
}

// lone says of one figure alone in the new column whether it is the least or the
// most, where the kind or the row's words say it.
func (r *Row) lone(asNew string) string {
	if !oneFigure.MatchString(asNew) {
		return asNew
	}
	name := tidyHeading(r.Name)
	switch lo, hi := minWords.MatchString(name), maxWords.MatchString(name); {
	case hi && !lo, r.Kind.form():
		return "max " + asNew
	case lo && !hi:
		return "min " + asNew
	}
	return asNew
}

// measured finds which way a size goes as it wears, by where its service limit
// stands beside the new ones.
func (r *Row) measured(asNew, service string, d *Draft) {
	if !r.Kind.measured() || r.Wears != "" {
		return
	}
	r.Wears = "either"
	n := limit.Notation{Format: quantity.Format{Unit: r.Unit, DecimalComma: d.comma}, Held: limit.Both, Lone: limit.High}
	name := tidyHeading(r.Name)
	switch {
	case minWords.MatchString(name) && !maxWords.MatchString(name):
		r.Wears = "smaller"
		return
	case maxWords.MatchString(name) && !minWords.MatchString(name):
		r.Wears = "larger"
		return
	}
	at, err := n.Parse("", service)
	if err != nil || len(at.Tiers) != 1 || !oneFigure.MatchString(service) && !plainFigure(service) {
		if r.Kind == Thickness && (service == "" || isMark(service)) {
			r.Wears = "smaller" // what is thick wears thin
		}
		return
	}
	is, err := n.Parse(asNew, "")
	if err != nil || len(is.Tiers) != 1 || !is.Tiers[0].Range.Min.Set || !is.Tiers[0].Range.Max.Set {
		if asNew == "" && r.Kind == Thickness {
			r.Wears = "smaller"
		}
		return
	}
	figure := at.Tiers[0].Range.Max.At
	tenth, err := is.Tiers[0].Range.Min.At.Scaled(1, 10)
	switch {
	case figure.Kind() != is.Tiers[0].Range.Min.At.Kind():
	case err == nil && figure.Cmp(tenth) < 0:
		// An amount of wear says nothing of the side.
		switch {
		case r.Kind == Width || r.Kind == Depth:
			r.Wears = "larger"
		case r.Kind == Thickness:
			r.Wears = "smaller"
		}
	case figure.Cmp(is.Tiers[0].Range.Min.At) <= 0:
		r.Wears = "smaller"
	case figure.Cmp(is.Tiers[0].Range.Max.At) >= 0:
		r.Wears = "larger"
	}
}

// notation is how the book will read the row's cells.
func (r *Row) notation(d *Draft) limit.Notation {
	n := limit.Notation{Format: quantity.Format{Unit: r.Unit}, Fit: r.Kind.clearance(), Held: limit.High, Lone: limit.High}
	if d != nil {
		n.Format.DecimalComma = d.comma
	}
	switch {
	case r.Kind.clearance():
		n.Held = limit.Both
	case r.Kind == Outside, r.Wears == "smaller":
		n.Held, n.Lone = limit.Low, limit.Low
	case r.Wears == "either":
		n.Held, n.Lone = limit.Both, limit.Both
	}
	return n
}

// isAmount tells a service figure that can't be a size: less than a tenth of
// new. Manuals print amounts of wear among sizes.
func (r *Row) isAmount(n limit.Notation, asNew, service string) bool {
	if r.Kind.clearance() || r.Kind.form() || !oneFigure.MatchString(service) || n.Lone == limit.Both {
		return false
	}
	is, err := n.Parse(asNew, "")
	if err != nil || len(is.Tiers) != 1 || !is.Tiers[0].Range.Min.Set || !is.Tiers[0].Range.Max.Set {
		return false
	}
	n.Held, n.Lone = limit.Both, limit.High
	at, err := n.Parse("", service)
	if err != nil || at.Tiers[0].Range.Max.At.Kind() != is.Tiers[0].Range.Min.At.Kind() {
		return false
	}
	tenth, err := is.Tiers[0].Range.Min.At.Scaled(1, 10)
	return err == nil && at.Tiers[0].Range.Max.At.Cmp(tenth) < 0
}

// String shows a row on one line, for who looks at what was understood.
func (r *Row) String() string {
	text := fmt.Sprintf("%s: %s: new %q service %q", r.Name, r.Kind, r.New, r.Service)
	for _, h := range r.Holds {
		text += fmt.Sprintf("; held %s %q: %s", h.Cell, h.Text, h.Why)
		if len(h.May) > 0 {
			text += ", perhaps " + strings.Join(h.May, " or ")
		}
	}
	if r.Contradiction != "" {
		text += "; held: " + r.Contradiction
	}
	return text
}
