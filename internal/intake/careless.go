package intake

import (
	"errors"
	"regexp"
	"slices"
	"strings"

	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// What is here is of tables that people type for themselves: the same said in other
// words, which is read; and slips of the keyboard, for which a likely reading is
// offered and none is taken.

var (
	mostWords  = regexp.MustCompile(`(?i)^(?:≤|<=|=<|not to exceed|not over|not more than|no more than|up to|max(?:imum)?\.?:?)\s*([0-9.,].*)$`)
	leastWords = regexp.MustCompile(`(?i)^(?:≥|>=|=>|not less than|no less than|not under|min(?:imum)?\.?:?)\s*([0-9.,].*)$`)
	underMark  = regexp.MustCompile(`^<\s*([0-9.,].*)$`)
	overMark   = regexp.MustCompile(`^>\s*([0-9.,].*)$`)
	endWord    = regexp.MustCompile(`(?i)^(.*[0-9"]\.?)\s*\(?\b(max|min)(?:imum)?\.?\)?$`)
	indicator  = regexp.MustCompile(`(?i)\s*\(?\b(?:t\.?i\.?r\.?|f\.?i\.?[mr]\.?|total(?: indicator)?(?: reading)?|full indicator(?: reading| movement)?)\)?$`)
	poundWord  = regexp.MustCompile(`(?i)([0-9]\s*)(?:lbs?|pounds)\b`)
	twoPrimes  = regexp.MustCompile(`([0-9])\s*(?:''|’’|′′|”)`)
)

// plainly writes a cell in the words that books have, where it says the same in
// others.
func (r *Row) plainly(cell string) string {
	if onlyFigures(cell) {
		return cell
	}
	cell = twoPrimes.ReplaceAllString(cell, `$1"`)
	if r.Kind == RunOut || r.Kind == Bend {
		if bare := indicator.ReplaceAllString(cell, ""); digit.MatchString(bare) {
			cell = bare
		}
	}
	if r.Unit == quantity.PoundForce {
		cell = poundWord.ReplaceAllString(strings.TrimSuffix(cell, "."), "${1}lbf")
	}
	if m := endWord.FindStringSubmatch(cell); m != nil && r.Unit.Kind() != quantity.TimeKind {
		if word := strings.ToLower(m[2]); plainFigure(m[1]) {
			return word + " " + m[1]
		}
	}
	for _, w := range []struct {
		is   *regexp.Regexp
		word string
	}{{mostWords, "max "}, {leastWords, "min "}, {underMark, "under "}, {overMark, "over "}} {
		if m := w.is.FindStringSubmatch(cell); m != nil && plainFigure(m[1]) {
			return w.word + m[1]
		}
	}
	return cell
}

// aDate is what a spreadsheet writes into a file of values where somebody typed 1-4
// or 1/4.
var aDate = regexp.MustCompile(`(?i)^(?:[0-9]{1,2}[-/. ]?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*(?:[-/. ][0-9]{2,4})?|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-/. ][0-9]{1,4}|[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}/[0-9]{1,2}/[0-9]{2,4})$`)

// whyNot says why a cell can't be read.
func whyNot(text string, err error) string {
	switch {
	case aDate.MatchString(text):
		return "it is a date: a spreadsheet makes one of what looks like it, as of 1-4 or 1/4; look at the manual"
	case errors.Is(err, quantity.ErrUnit):
		return "not a number, or its unit is unknown"
	}
	return err.Error()
}

// onlyFigures tells a cell of figures and what stands between them, as most are.
func onlyFigures(cell string) bool {
	for i := range len(cell) {
		if c := cell[i]; (c < '0' || c > '9') && strings.IndexByte(" .,+-", c) < 0 {
			return false
		}
	}
	return true
}

// isHeadings tells a row that has the table's headings again, as one has on each
// page of it.
func (d *Draft) isHeadings(from *table.SheetRow, under int) bool {
	if d.headings < 0 {
		return false
	}
	for i := d.headings; i < under; i++ {
		same, seen := 0, 0
		for k, c := range from.Cells {
			if c.Text == "" || c.Merged {
				continue
			}
			if seen++; !strings.EqualFold(c.Text, d.Sheet.Rows[i].At(k).Text) {
				break
			}
			same++
		}
		if same > 1 && same == seen {
			return true
		}
	}
	return false
}

// wordsColumn is the column whose heading says nothing and whose cells are words,
// where no heading says what is measured; nil where there is none.
func (d *Draft) wordsColumn(m Mapping) *Column {
	for i := range d.Columns {
		if c := &d.Columns[i]; c.Role == Skip && !m.says(c) && d.ofWords(c) {
			return c
		}
	}
	return nil
}

// ofWords tells a column most of whose cells are words.
func (d *Draft) ofWords(c *Column) bool {
	words, seen := 0, 0
	for k := range d.Sheet.Rows[d.headings+1:] {
		if text := d.Sheet.Rows[d.headings+1+k].At(c.At).Text; text != "" {
			seen++
			if letters.MatchString(text) {
				words++
			}
		}
	}
	return words > 0 && words*3 >= seen*2
}

// apart tells columns of which no row has two, and each of some row.
func (d *Draft) apart(all []*Column) bool {
	used := make([]bool, len(all))
	for k := range d.Sheet.Rows[d.headings+1:] {
		row, seen := &d.Sheet.Rows[d.headings+1+k], 0
		if isSub(row) {
			continue
		}
		for i, c := range all {
			if cell := row.At(c.At); cell.Text != "" && !cell.Merged {
				seen++
				used[i] = true
			}
		}
		if seen > 1 {
			return false
		}
	}
	return !slices.Contains(used, false)
}

// A headed is what the heading of a column says beside its role.
type headed struct {
	bothEnds   bool // "min. & max.": both stand in one cell
	clearances bool
}

func (c *Column) heads() headed {
	h := tidyHeading(c.Heading)
	return headed{minWords.MatchString(h) && maxWords.MatchString(h), clearanceHeading.MatchString(c.Heading)}
}

// endsApart puts the ends apart that stand in one cell.
func endsApart(text string) string {
	if m := twoEnds.FindStringSubmatch(text); m != nil {
		return ends(m[1], m[2])
	}
	return text
}

var (
	clearanceHeading = regexp.MustCompile(`(?i)\b(?:clearances?|fits?)\b`)
	twoEnds          = regexp.MustCompile(`^([0-9]*[.,]?[0-9]+ ?[LTlt]?)(?:\s+|\s*/\s*)([0-9]*[.,]?[0-9]+ ?[LTlt]?)$`)
)

// wordsAlone tells a column of words without a figure.
func (d *Draft) wordsAlone(c *Column) bool {
	words := false
	for k := range d.Sheet.Rows[d.headings+1:] {
		text := d.Sheet.Rows[d.headings+1+k].At(c.At).Text
		if digit.MatchString(text) {
			return false
		}
		words = words || letters.MatchString(text) && !isMark(text)
	}
	return words
}

var letters = regexp.MustCompile(`\p{L}{3}`)

// plainFigure tells one figure and its unit, without a word or a second figure.
func plainFigure(text string) bool {
	digits := strings.TrimLeft(text, "0123456789.,")
	if digits == text || strings.Count(text[:len(text)-len(digits)], ".")+strings.Count(text[:len(text)-len(digits)], ",") > 1 || strings.ContainsAny(digits, "0123456789±/") {
		return false
	}
	if digits = strings.TrimSpace(digits); digits == "" {
		return true
	}
	_, err := quantity.ParseUnit(digits)
	return err == nil
}

// ofEnd is what stands in a column of one end of a limit without the word that its
// heading says already: "0.010 max" under "Max".
func ofEnd(cell, word string) string {
	if onlyFigures(cell) {
		return cell
	}
	m := endWord.FindStringSubmatch(cell)
	if m != nil && strings.EqualFold(m[2], word) && plainFigure(strings.TrimSpace(m[1])) {
		return strings.TrimSpace(m[1])
	}
	words := mostWords
	if word == "min" {
		words = leastWords
	}
	if m := words.FindStringSubmatch(cell); m != nil && plainFigure(m[1]) {
		return m[1]
	}
	return cell
}

// markOf is a cell as the table's marks are written: in small letters, and out of
// brackets, but for an asterisk's.
func markOf(text string) string {
	text = strings.ToLower(strings.TrimSpace(text))
	if bare := strings.TrimSpace(strings.Trim(text, "()[]")); bare != "" && strings.Trim(bare, "*") != "" && marks.MatchString(bare) {
		return bare
	}
	return text
}

var (
	gap        = regexp.MustCompile(`([0-9.,]) +([0-9.,])`)
	manyMarks  = regexp.MustCompile(`([0-9])[.,]{2}([0-9])`)
	footnote   = regexp.MustCompile(`([0-9])\s*(?:\([0-9a-zA-Z*]{1,2}\)|[*†‡§#?⁰¹²³⁴⁵⁶⁷⁸⁹]+)(\.\.|\s+-\s+|\s+to\s+|$)`)
	aboutWords = regexp.MustCompile(`(?i)^(?:approx(?:imately)?|about|ca|circa|abt)\.?\s*|^[~≈]\s*`)
	endOnly    = regexp.MustCompile(`^(?:min|max) (.*(?:±|\+|[0-9]\s*-).*)$`)
	noPoint    = regexp.MustCompile(`(?:^|[^0-9.,])([0-9]{3,6})(?:$|[^0-9.,])`)
	onePoint   = regexp.MustCompile(`(?:^|[^0-9.,])([0-9]*)[.,][0-9]+`)
	wide1      = strings.NewReplacer("０", "0", "１", "1", "２", "2", "３", "3", "４", "4", "５", "5", "６", "6", "７", "7", "８", "8", "９", "9", "．", ".", "，", ",")
)

var (
	frontWords  = regexp.MustCompile(`(?i)^(?:[ø⌀*]|dia(?:meter)?\b\.?|std\b\.?|standard\b|(?:push|slip|press|drive) fit\b)\s*`)
	backWords   = regexp.MustCompile(`(?i)\s*\(?\b(?:std|standard|free|new|dia(?:meter)?)\.?\)?$`)
	between2    = regexp.MustCompile(`(?i)([0-9LT])\s*(?:~|…|;|&|\bthru\b|\bthrough\b|\band\b|\bor\b)\s*([0-9.])`)
	betweenAnd  = regexp.MustCompile(`(?i)^between (.*[0-9].*) and (.*[0-9].*)$`)
	firstLetter = regexp.MustCompile(`\b([LT])\s*([0-9]*[.,]?[0-9]+)`)
	shortEnd    = regexp.MustCompile(`^([0-9]*[.,][0-9]{2,})\s*[-–—/]\s*([0-9]{1,3})$`)
)

// shortened is a range of whose second figure only the last digits may stand there:
// "2.2490-95".
func shortened(text string) (whole string, ok bool) {
	const longest = len("— 123")
	if i := strings.LastIndexAny(text, "-–—/"); i < 0 || len(text)-i > longest {
		return "", false // as most are
	}
	m := shortEnd.FindStringSubmatch(text)
	if m == nil {
		return "", false
	}
	decimals := len(m[1]) - 1 - strings.IndexAny(m[1], ".,")
	end := m[1][:len(m[1])-min(len(m[2]), len(m[1]))] + m[2]
	if len(m[2]) >= decimals || end <= m[1] { // digits of one length: their order is that of their letters
		return "", false
	}
	return m[1] + ".." + end, true
}

// doubtShortened doubts a cell that can be read, and may say something else.
func (r *Row) doubtShortened() {
	for which, cell := range []string{r.Printed.New, r.Printed.Service} {
		if whole, ok := shortened(cell); ok && r.doubts[which] == "" {
			r.doubts[which], r.mays[which] = "its second figure may be the last digits of a longer one", []string{whole}
		}
	}
}

// slips are what a cell may have been meant to say that can't be read: without the
// blank in a figure, the second point, the mark of a footnote; with the dash or the
// point that is missing, of which beside says where it stands.
func slips(text, beside string) []string {
	all := []string{
		wide1.Replace(text), gap.ReplaceAllString(text, "$1$2"), gap.ReplaceAllString(text, "$1..$2"),
		footnote.ReplaceAllString(text, "$1$2"), aboutWords.ReplaceAllString(text, ""),
	}
	bare := between2.ReplaceAllString(frontWords.ReplaceAllString(backWords.ReplaceAllString(text, ""), ""), "$1..$2")
	all = append(all, bare, betweenAnd.ReplaceAllString(text, "$1..$2"), firstLetter.ReplaceAllString(text, "$2$1"))
	if whole, ok := shortened(text); ok {
		all = append(all, whole)
	}
	for _, at := range manyMarks.FindAllStringIndex(text, -1) {
		all = append(all, text[:at[0]+1]+"."+text[at[1]-1:])
	}
	if m := endOnly.FindStringSubmatch(text); m != nil {
		all = append(all, m[1])
		if lo, hi, ok := strings.Cut(m[1], " -"); ok && strings.Contains(lo, " +") {
			all = append(all, lo+"/-"+hi)
		}
	}
	apart := func(s string) string { return strings.ReplaceAll(s, "..", "  ") }
	whole := onePoint.FindStringSubmatch(apart(text))
	if whole == nil {
		whole = onePoint.FindStringSubmatch(apart(beside))
	}
	if at := noPoint.FindStringSubmatchIndex(apart(text)); at != nil && whole != nil && len(whole[1]) < at[3]-at[2] {
		cut := at[2] + len(whole[1])
		all = append(all, text[:cut]+"."+text[cut:])
	}
	return slices.DeleteFunc(all, func(s string) bool { return s == text })
}

// loadWords and torqueWords name what is read in no unit of length.
var (
	loadWords   = words(`spring|load|tension`, "spring", "load", "tension")
	torqueWords = words(`torque`, "torque")
)

// nameUnit is the unit of a load or a torque that the row's name says: "spring load
// (lbs)", "rod bolt torque, ft-lb"; NoUnit where it says none. Pounds are then of
// force.
func (r *Row) nameUnit() quantity.Unit {
	name := strings.ToLower(r.Name)
	load, torque := loadWords.fits(name), torqueWords.fits(name)
	if !load && !torque {
		return quantity.NoUnit
	}
	all := strings.FieldsFunc(name, func(c rune) bool { return strings.ContainsRune(" ,;:()[]@", c) })
	for long := 2; long > 0; long-- {
		for i := 0; i+long <= len(all); i++ {
			u, err := quantity.ParseUnit(strings.TrimSuffix(strings.Join(all[i:i+long], " "), "."))
			switch {
			case err != nil:
			case torque && u.Kind() == quantity.TorqueKind, load && u.Kind() == quantity.ForceKind && len(all[i]) > 1:
				return u
			case load && !torque && u == quantity.Pound:
				return quantity.PoundForce
			}
		}
	}
	return quantity.NoUnit
}
