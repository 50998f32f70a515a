package reading

import (
	"errors"
	"regexp"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// Senses of a gauge that shows deviations.
const (
	plusLarger  = "plus larger"
	plusSmaller = "plus smaller"
)

// observed is a row's value on its way into a reading.
type observed struct {
	*Reading
	feature *book.Feature
	text    string
	unit    quantity.Unit // of a figure that names none
	stated  quantity.Unit // by the row's column, where it does
	comma   bool
	fail    failFunc
}

// value reads what was observed. A figure's unit is the one in its text, else
// the row's, else the book's for the feature.
func (l *loader) value(r *Reading, row table.Row, f *book.Feature, fail failFunc) {
	o := observed{Reading: r, feature: f, text: l.cell(row, colValue), comma: l.comma, fail: fail}
	setting, sense := l.cell(row, colSetting), l.cell(row, colSense)
	r.Kind = kindOf(o.text)
	if f.Class == book.Check && r.Kind != YesNo {
		fail(colValue, "value", o.text, "is neither yes nor no", "write one of the two")
		return
	}
	if !o.units(l.cell(row, colUnit)) {
		return
	}
	if setting != "" {
		switch {
		case !takes(f.Class, Deviation):
			fail(colSetting, "setting", setting, f.Ref()+" is not measured as a deviation from a setting", "empty the cell")
			return
		case r.Kind == Deviation:
			fail(colSetting, "setting", setting, "the value names its setting already", "keep one of the two")
			return
		case r.Kind != Size:
			fail(colSetting, "setting", setting, "is a setting, and the value is "+r.Kind.String(), "empty the cell")
			return
		}
		r.Kind = Deviation
	}
	if !takes(f.Class, r.Kind) {
		fail(colValue, "kind", o.text, "is "+r.Kind.String()+", and "+f.Ref()+" is not measured so", "write "+taken(f.Class))
		return
	}
	switch strings.ToLower(strings.Join(strings.Fields(sense), " ")) {
	case "", plusLarger:
	case plusSmaller:
		r.Reversed = true
	default:
		fail(colSense, "sense", sense, "is not a sense", "write "+plusLarger+", or "+plusSmaller+" for a gauge that shows plus for what is smaller")
		return
	}
	if sense != "" && r.Kind != Deviation {
		do := "empty the cell"
		if takes(f.Class, Deviation) {
			do += "; or, if the value is one, write the setting master's size in the column \"setting\""
		}
		fail(colSense, "sense", sense, "is which way a deviation goes, and the value is "+r.Kind.String(), do)
		return
	}
	switch r.Kind {
	case Size:
		o.size()
	case Deviation:
		o.deviation(setting)
	case Bracket:
		o.bracket()
	case Band:
		o.band()
	case YesNo:
		r.Yes = o.text[0] == 'y' || o.text[0] == 'Y'
	}
}

// kindOf tells by its words and marks what a value means to be.
func kindOf(text string) Kind {
	words := strings.ToLower(text)
	has := func(s string) bool { return strings.Contains(words, s) }
	switch {
	case words == "yes" || words == "no" || words == "y" || words == "n":
		return YesNo
	case has(" on "):
		return Deviation
	case has("go") || has("does"):
		return Bracket
	case has("..") || has(" - ") || has(" – ") || has(" − "):
		return Band
	}
	return Size
}

// takes tells which kinds of reading say something about a class of feature.
// What goes bounds a size from one side, and which side is known only of what
// is hollow and of what is solid; a strip is crushed in a gap.
func takes(c book.Class, k Kind) bool {
	switch k {
	case Size:
		return c != book.Check
	case Deviation:
		return isSize(c)
	case Bracket:
		return c == book.Outside || c == book.Inside || c == book.Clearance
	case Band:
		return c == book.Inside || c == book.Clearance
	}
	return c == book.Check
}

// taken lists what takes takes of a class.
func taken(c book.Class) string {
	var all []string
	for k, example := range [...]string{"a figure", "a deviation, as +3 tenths on 2.2500", "what goes and what does not, as 0.004 goes, 0.005 does not", "a band, as 0.0015..0.0020"} {
		if takes(c, Kind(k)) {
			all = append(all, example)
		}
	}
	return strings.Join(all, "; or ")
}

// isSize tells a class whose figures are all above nought.
func isSize(c book.Class) bool {
	return c == book.Outside || c == book.Inside || c == book.Extent
}

// units settles what figures are in that name no unit.
func (o *observed) units(cell string) bool {
	o.unit = o.feature.Unit
	if cell == "" {
		return true
	}
	u, err := quantity.ParseUnit(cell)
	switch {
	case err != nil:
		o.fail(colUnit, "unit", cell, "is not a unit that is known", "write in, mm, µm, thou or the like")
		return false
	case o.feature.Class == book.Check:
		o.fail(colUnit, "unit", cell, "is a unit, and a yes or no has none", "empty the cell")
		return false
	case u.Kind() != o.unit.Kind():
		o.fail(colUnit, "unit", cell, "is a unit of "+u.Kind().String()+", and "+o.feature.Ref()+" is a "+o.unit.Kind().String(), "write the unit that the gauge showed")
		return false
	}
	o.unit, o.stated = u, u
	return true
}

// figure reads one figure of the value; without a unit it is in the one given.
func (o *observed) figure(text string, unit quantity.Unit) (quantity.Figure, quantity.Shown, bool) {
	v, shown, err := quantity.Format{Unit: unit, DecimalComma: o.comma}.Figure(text)
	if err != nil {
		what, do := figureFault(err, "the digits that the gauge showed, as 2.2490")
		if errors.Is(err, quantity.ErrUnit) || errors.Is(err, quantity.ErrWrongKind) {
			do = "write the digits alone, or with the unit that the gauge showed"
		}
		o.fail(colValue, "value", text, what, do)
		return v, shown, false
	}
	if o.stated != quantity.NoUnit && shown.Unit != o.stated {
		o.fail(colValue, "unit", text, "names a unit other than the row's "+o.stated.String(), "keep one of the two")
		return v, shown, false
	}
	return v, shown, true
}

// figureFault words why text is not a figure.
func figureFault(err error, write string) (what, do string) {
	var parse *quantity.ParseError
	if !errors.As(err, &parse) {
		panic("BUG: a figure refused without a reason: " + err.Error())
	}
	do = "write " + write
	if len(parse.May) > 0 {
		do = "look again: it may be " + strings.Join(parse.May, ", or ")
	}
	return parse.Err.Error(), do
}

// size reads a figure that is the value itself: a size, a clearance, a dial's
// reading, a force, a count.
func (o *observed) size() {
	v, shown, ok := o.figure(o.text, o.unit)
	switch {
	case !ok:
		return
	case isSize(o.feature.Class) && strings.ContainsAny(shown.Digits, "+-−"):
		o.fail(colValue, "setting", o.text, "has a sign, as a deviation has: what was the gauge set to?", "write the setting master's size in the column \"setting\", or the whole as +3 tenths on 2.2500")
		return
	case isSize(o.feature.Class) && v.Sign() <= 0:
		o.fail(colValue, "value", o.text, "is not a size: it is not above nought", "write what the gauge showed; if that was a deviation, add the setting master's size in the column \"setting\"")
		return
	case v.Kind() == quantity.CountKind && (v.Sign() < 0 || !v.Rat().IsInt()):
		o.fail(colValue, "value", o.text, "is not a count", "write a whole number, as 3")
		return
	}
	o.Value, o.Shown = v, shown
}

var onPattern = regexp.MustCompile(`(?i)^(.*\S)\s+on\s+(\S.*)$`)

// deviation reads how far a gauge was off what it was set to. The setting is
// the row's; where that is empty, the value names it.
func (o *observed) deviation(setting string) {
	text, column := o.text, colSetting
	if setting == "" {
		m := onPattern.FindStringSubmatch(text)
		if m == nil {
			o.fail(colValue, "value", text, "can't be read as a deviation", "write it as +3 tenths on 2.2500")
			return
		}
		text, setting, column = strings.TrimSpace(m[1]), strings.TrimSpace(m[2]), colValue
	}
	format := quantity.Format{Unit: o.feature.Unit, DecimalComma: o.comma}
	master, settingShown, err := format.Length(setting)
	if err == nil && master.Cmp(quantity.Length{}) <= 0 {
		o.fail(column, "setting", setting, "is not a size: it is not above nought", "write the setting master's size, as 2.2500")
		return
	}
	if err != nil {
		what, do := figureFault(err, "the setting master's size, as 2.2500")
		o.fail(column, "setting", setting, what, do)
		return
	}
	if format.Unit = o.stated; format.Unit == quantity.NoUnit {
		format.Unit = settingShown.Unit
	}
	v, shown, ok := o.figure(text, format.Unit)
	if !ok {
		return
	}
	off, _ := v.Length()
	// People write the marks of a dial, +3 or +1.5, be they tenths, thous or
	// hundredths: without a unit only what is written out as its setting is
	// (−0.0003 on 2.2500) is taken.
	if o.stated == quantity.NoUnit && text == shown.Digits && v.Sign() != 0 && shown.Decimals() < max(1, settingShown.Decimals()) {
		o.fail(colValue, "unit", text, "names no unit, and may be the marks of a dial: in what?", "write +3 tenths, +3 thou or +3 µm; or name it in the column \"unit\"")
		return
	}
	if setting == settingShown.Digits && isMetric(shown.Unit) != isMetric(settingShown.Unit) {
		o.fail(column, "setting", setting, "names no unit, and the deviation is in "+shown.Unit.String(), "write it with its unit, as 2.2500 in or 57.150 mm")
		return
	}
	if master.Cmp(quantity.Length{}.Plus(2, off.Abs())) <= 0 {
		o.fail(colValue, "value", text, "is no deviation from "+settingShown.String()+": no gauge goes so far", "write how far it was off its setting; or, if this is the size itself, leave the setting out")
		return
	}
	sign := 1
	if o.Reversed {
		sign = -1
	}
	o.Value, o.Shown, o.Setting = master.Plus(sign, off).Figure(), shown, settingShown
}

func isMetric(u quantity.Unit) bool {
	return u == quantity.Millimetre || u == quantity.Centimetre || u == quantity.Micrometre
}

// two reads two figures of the value. A unit that only one of them names is
// for both.
func (o *observed) two(texts [2]string) (v [2]quantity.Figure, shown [2]quantity.Shown, ok bool) {
	for i, text := range texts {
		if v[i], shown[i], ok = o.figure(text, o.unit); !ok {
			return v, shown, false
		}
	}
	for i, text := range texts {
		if unit := shown[1-i].Unit; unit != shown[i].Unit {
			if v[i], shown[i], ok = o.figure(text, unit); !ok {
				return v, shown, false
			}
		}
	}
	return v, shown, true
}

var sidePattern = regexp.MustCompile(`(?i)^(?:(go|no-go)\s+(.+)|(.+?)\s+(goes|go|does\s+not(?:\s+go)?|no-go))$`)

// bracket reads what goes and what does not. In what is hollow, what goes tells
// that it is at least so large, and what does not that it is less; over what is
// solid it is the other way round.
func (o *observed) bracket() {
	cannot := func() {
		o.fail(colValue, "value", o.text, "can't be read as what goes and what does not", "write 0.004 goes, 0.005 does not; or one of the two")
	}
	all := sides(o.text)
	if len(all) > 2 {
		cannot()
		return
	}
	var texts [2]string
	var goes [2]bool
	for i, side := range all {
		m := sidePattern.FindStringSubmatch(strings.TrimSpace(side))
		if m == nil || kindOf(m[2]+m[3]) == Bracket {
			cannot()
			return
		}
		word := strings.ToLower(m[1] + m[4])
		texts[i], goes[i] = m[2]+m[3], word == "go" || word == "goes"
	}
	if len(all) == 1 {
		texts[1] = texts[0]
	} else if goes[0] == goes[1] {
		o.fail(colValue, "value", o.text, "says the same of both", "write one that goes and one that does not")
		return
	}
	v, shown, ok := o.two(texts)
	if !ok {
		return
	}
	words := make([]string, len(all))
	for i := range all {
		if v[i].Sign() <= 0 {
			o.fail(colValue, "value", texts[i], "is not above nought", "write the size of what went or did not")
			return
		}
		words[i] = shown[i].String() + " goes"
		bound := &o.Low
		if goes[i] == (o.feature.Class == book.Outside) {
			bound = &o.High
		}
		if *bound = (Bound{At: v[i], Set: true, Open: !goes[i]}); !goes[i] {
			words[i] = shown[i].String() + " does not"
		}
	}
	if o.Low.Set && o.High.Set && o.Low.At.Cmp(o.High.At) >= 0 {
		than := "smaller"
		if o.feature.Class == book.Outside {
			than = "larger"
		}
		o.fail(colValue, "value", o.text, "what goes is not "+than+" than what does not", "try the two again")
		return
	}
	o.Shown.Unit, o.Words = shown[0].Unit, strings.Join(words, ", ")
}

// sides splits "0.004 goes, 0.005 does not", also where the decimals have
// commas: one with a digit right behind it is a decimal comma, but for one that
// stands right behind a word.
func sides(text string) []string {
	if strings.Contains(text, " / ") {
		return strings.Split(text, " / ")
	}
	isDigit := func(i int) bool { return i < len(text) && text[i] >= '0' && text[i] <= '9' }
	var all []string
	start := 0
	for i := range len(text) {
		if text[i] != ',' || isDigit(i+1) && (i == 0 || text[i-1] == ' ' || isDigit(i-1)) {
			continue
		}
		all = append(all, text[start:i])
		start = i + 1
	}
	return append(all, text[start:])
}

var bandPattern = regexp.MustCompile(`^(.+?)(?:\s*\.\.\s*|\s+[-–−]\s+)(.+)$`)

// band reads between which two marks a crushed strip came out.
func (o *observed) band() {
	m := bandPattern.FindStringSubmatch(o.text)
	if m == nil {
		o.fail(colValue, "value", o.text, "can't be read as a band", "write it as 0.0015..0.0020")
		return
	}
	v, shown, ok := o.two([2]string{m[1], m[2]})
	switch {
	case !ok:
		return
	case v[0].Sign() < 0 || v[0].Sign() == 0 && isSize(o.feature.Class):
		o.fail(colValue, "value", o.text, "begins too low for a gap", "write between which marks it lies, as 0.0015..0.0020")
		return
	case v[0].Cmp(v[1]) >= 0:
		o.fail(colValue, "value", o.text, "its first figure is not the smaller", "write the smaller first; if it lies at one mark, write that alone")
		return
	}
	first := shown[0].Digits
	if shown[0].Unit != shown[1].Unit {
		first = shown[0].String()
	}
	o.Low, o.High = Bound{At: v[0], Set: true}, Bound{At: v[1], Set: true}
	o.Shown.Unit, o.Words = shown[1].Unit, first+".."+shown[1].String()
}

// parseStage reads a stage as [StageName] writes it; nothing is as found.
func parseStage(text string) (stage int, ok bool) {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	switch text {
	case "", "found":
		return 0, true
	case "assembled":
		return Assembled, true
	}
	digits, ok := strings.CutPrefix(strings.Replace(text, "rework-", "rework ", 1), "rework ")
	n, err := strconv.Atoi(digits)
	return n, ok && err == nil && n >= 1 && n <= maxRework && strconv.Itoa(n) == digits
}
