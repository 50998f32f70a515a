package limit

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"tenths/metrology/quantity"
)

// Why a cell is not a limit.
var (
	ErrEmpty     = errors.New("neither a new nor a service limit")
	ErrAmbiguous = errors.New("can be read in more than one way")
	ErrLone      = errors.New("one figure alone: say whether it is the least or the most (min 1.67, max 1.67)")
	ErrInside    = errors.New("the service limit is narrower than the new limits")
	ErrBackwards = errors.New("no figure can meet it: the least is above the most")
	ErrLetter    = errors.New("the letters L and T belong to fits and clearances")
	ErrNoNew     = errors.New("needs new limits to start from")
	ErrAmount    = errors.New("far from the new limits, so it may be an amount of wear")
	ErrTier      = errors.New("is no tier of its own: each wants its figures")
	ErrNegative  = errors.New("an amount can't be negative")
	ErrNominal   = errors.New("is a tolerance, and new is not the one figure that it could be about")
	ErrIdle      = errors.New("limits only the side that wear does not touch")
)

// A CellError reports a cell that is not a limit.
type CellError struct {
	Service bool   // in the service cell, else in the new
	Tier    string // of a line with tiers: in which
	Text    string // as printed
	Err     error
	May     []string // likely readings, for a person to choose from
}

func (e *CellError) Error() string {
	s := fmt.Sprintf("%q: %v", e.Text, e.Err)
	if len(e.May) > 0 {
		s += "; did it mean " + strings.Join(e.May, " or ") + "?"
	}
	return s
}

func (e *CellError) Unwrap() error { return e.Err }

// A Notation says how a line's limits are to be read.
type Notation struct {
	Format quantity.Format
	Fit    bool // clearance: L, T, Press, Loose, tight and signs mean something
	Held   Side // the sides that a used part is held on
	Lone   Side // what one figure alone in the service cell is: Low the least, High the most, Both unknown
}

const maxCell = 200 // no cell is longer; longer text is refused unread

// Parse reads the two cells of a line, new and service; an empty cell is one
// that the manual leaves blank.
//
// A cell is, in any of the notations that manuals use:
//
//	2.2485..2.2495   6.498 - 6.500   0.006 - 0.004 (either order)
//	..0.005   max 0.005   1.67..   min 1.67   1.67 (alone: as Lone says)
//	under 0.008   reject 0.008 or more   over 1.67   reject 1.67 or less
//	0.0005T..0.0010L   0.005L-0.0015T   -0.0005 - -0.0001   +0.0002
//	0.001 Press / 0.0005 Loose   0.0005 - 0.0015 tight   0.0015T - 0
//	134.2 +/- 13.42   1.250 +0.002/-0.000
//	none   same as new   wear 0.001   wear 0.001 from min   +/- 4.39 (service)
//
// In a fit, where the service cell limits one side only, the other stays at
// the new limit: a used fit is held at both ends.
func (n Notation) Parse(newCell, serviceCell string) (Limit, error) {
	newCell, serviceCell = strings.TrimSpace(newCell), strings.TrimSpace(serviceCell)
	for i, cell := range []string{newCell, serviceCell} {
		if len(cell) > maxCell {
			return Limit{}, &CellError{Service: i == 1, Text: strings.ToValidUTF8(cell[:maxCell], "") + "…", Err: quantity.ErrSyntax}
		}
	}
	if newCell == "" && serviceCell == "" {
		return Limit{}, &CellError{Err: ErrEmpty}
	}
	if tolerance, ok := plusMinusAlone(serviceCell); ok && newCell != "" {
		if asNew, err := n.cell(newCell); err == nil && !asNew.lone {
			return Limit{}, &CellError{Service: true, Text: serviceCell, Err: ErrNominal}
		}
		r, err := n.cell(newCell + " ± " + tolerance)
		if err != nil {
			return Limit{}, cellError(err, true, serviceCell)
		}
		return Limit{Kind: PlusMinus, Tiers: []Tier{{"service", newCell + " " + serviceCell, r.Range}}}, nil
	}
	var l Limit
	var asNew parsed
	if newCell != "" {
		if ok, err := n.reference(&l, "new", newCell); err != nil {
			return Limit{}, cellError(err, false, newCell)
		} else if ok {
			if serviceCell != "" {
				return Limit{}, &CellError{Service: true, Text: serviceCell, Err: ErrAmbiguous}
			}
			return l, nil
		}
		var err error
		if asNew, err = n.cell(newCell); err != nil {
			return Limit{}, cellError(err, false, newCell)
		}
		if asNew.lone {
			return Limit{}, &CellError{Text: newCell, Err: ErrLone}
		}
		if asNew.Empty() {
			return Limit{}, &CellError{Text: newCell, Err: ErrBackwards}
		}
		if idle(asNew.Range, n.Held) {
			return Limit{}, &CellError{Text: newCell, Err: ErrIdle}
		}
		l.Kind = asNew.kind
		l.Tiers = append(l.Tiers, Tier{"new", newCell, asNew.Range})
	}
	if err := n.service(&l, "service", serviceCell); err != nil {
		return Limit{}, cellError(err, true, serviceCell)
	}
	return l, nil
}

// service adds to l, which holds the new tier if there is one, what the
// service cell says.
func (n Notation) service(l *Limit, name, cell string) error {
	if cell != "" && wordless(cell) {
		return n.worn(l, name, cell)
	}
	haveNew := len(l.Tiers) > 0
	switch word := strings.ToLower(strings.Join(strings.Fields(cell), " ")); word {
	case "":
		l.Kind = Silent
		return nil
	case "none", "same", "same as new":
		if !haveNew {
			return ErrNoNew
		}
		l.Kind = None
		if word != "none" {
			l.Kind = AsNew
		}
		return nil
	default:
		if rest, ok := cutWord(word, "wear"); ok {
			return n.wear(l, name, cell, rest)
		}
	}
	if ok, err := n.reference(l, name, cell); ok || err != nil {
		return err
	}
	return n.worn(l, name, cell)
}

// worn adds a tier that the cell has figures for.
func (n Notation) worn(l *Limit, name, cell string) error {
	haveNew := len(l.Tiers) > 0
	s, err := n.cell(cell)
	if err != nil {
		return err
	}
	r := s.Range
	if s.lone {
		switch n.Lone {
		case Low:
			r.Max = Edge{}
		case High:
			r.Min = Edge{}
		default:
			return ErrLone
		}
	}
	l.Kind = s.kind
	if idle(r, n.Held) {
		return ErrIdle
	}
	if haveNew {
		asNew := l.Tiers[len(l.Tiers)-1].Range
		if r.kind() != asNew.kind() {
			return quantity.ErrWrongKind
		}
		if n.Held == Both {
			fill(&r, asNew)
		}
		if narrower(r, asNew, n.Held) {
			return ErrInside
		}
		if s.lone && n.Held == Low && isAmount(r.Min, asNew.Min) {
			return &CellError{Text: cell, Err: ErrAmount, May: []string{"wear " + cell, "min " + cell}}
		}
	}
	if r.Empty() {
		return ErrBackwards
	}
	if haveNew && closes(r, l.Tiers[len(l.Tiers)-1].Range, n.Held) {
		return ErrInside
	}
	l.Tiers = append(l.Tiers, Tier{name, cell, r})
	return nil
}

// referenceWords begin a cell that is shown and not graded.
var referenceWords = []string{"by selection", "reference", "see"}

// reference reads "by selection", "reference 0.0010..0.0030", "see end
// clearance".
func (n Notation) reference(l *Limit, name, cell string) (ok bool, err error) {
	if wordless(cell) {
		return false, nil
	}
	lower := lowerASCII(cell)
	for _, w := range referenceWords {
		if lower != w && !strings.HasPrefix(lower, w+" ") {
			continue
		}
		l.Kind, l.Printed, l.Ungraded = Reference, cell, len(l.Tiers) == 0
		rest := strings.TrimSpace(cell[len(w):])
		if rest == "" || w == "see" {
			return true, nil
		}
		p, err := n.cell(rest)
		if err != nil {
			return true, err
		}
		l.Tiers, l.Ungraded = append(l.Tiers, Tier{name, cell, p.Range}), true
		return true, nil
	}
	return false, nil
}

// A Cell is one column of a line's limits: its name and what is printed there.
type Cell struct{ Name, Text string }

// ParseTiers reads limits of more than two tiers, or bands with what is to be
// done in each, from the narrowest to the widest. Each cell is as in [Parse];
// where one limits one side of a fit only, the other stays as in the tier
// before.
func (n Notation) ParseTiers(cells []Cell) (Limit, error) {
	var l Limit
	for i, c := range cells {
		text := strings.TrimSpace(c.Text)
		if text == "" {
			return Limit{}, &CellError{Tier: c.Name, Err: ErrEmpty}
		}
		if len(text) > maxCell {
			return Limit{}, &CellError{Tier: c.Name, Text: strings.ToValidUTF8(text[:maxCell], "") + "…", Err: quantity.ErrSyntax}
		}
		if err := n.service(&l, c.Name, text); err != nil {
			e := cellError(err, true, text)
			e.Tier = c.Name
			return Limit{}, e
		}
		if len(l.Tiers) != i+1 || l.Held != nil {
			return Limit{}, &CellError{Tier: c.Name, Text: text, Err: ErrTier}
		}
	}
	if len(cells) == 0 {
		return Limit{}, &CellError{Err: ErrEmpty}
	}
	return l, nil
}

// narrower tells whether r leaves out some of inner on a side that it holds.
func narrower(r, inner Range, held Side) bool {
	cuts := func(r, inner Edge, outward int) bool {
		if !r.Set || !inner.Set {
			return false
		}
		c := outward * r.At.Cmp(inner.At)
		return c < 0 || c == 0 && r.Open && !inner.Open
	}
	return held != High && cuts(r.Min, inner.Min, -1) || held != Low && cuts(r.Max, inner.Max, 1)
}

// closes tells whether r limits a side that it holds and inner leaves free: what
// is new would be beyond it.
func closes(r, inner Range, held Side) bool {
	return held != High && r.Min.Set && !inner.Min.Set || held != Low && r.Max.Set && !inner.Max.Set
}

// idle tells whether r limits nothing on the only side that is held.
func idle(r Range, held Side) bool {
	return held == Low && !r.Min.Set || held == High && !r.Max.Set
}

// kind is what the range's edges measure.
func (r Range) kind() quantity.Kind {
	if r.Min.Set {
		return r.Min.At.Kind()
	}
	return r.Max.At.Kind()
}

// isAmount tells a figure that can't be the size a part may wear to: less than
// a tenth of new. Manuals print amounts of wear among sizes.
func isAmount(service, asNew Edge) bool {
	if !service.Set || !asNew.Set || asNew.At.Sign() <= 0 {
		return false
	}
	tenth, err := asNew.At.Scaled(1, 10)
	return err == nil && service.At.Cmp(tenth) < 0
}

// wear reads an amount of wear: "wear 0.001" with "from min" or "from max"
// where the manual says from which end of the new limits it is counted.
func (n Notation) wear(l *Limit, name, cell, rest string) error {
	if len(l.Tiers) == 0 {
		return ErrNoNew
	}
	asNew := l.Tiers[0].Range
	base := ""
	for _, b := range []string{"min", "max"} {
		for _, form := range []string{" from " + b, " from new " + b} {
			if s, ok := strings.CutSuffix(rest, form); ok {
				rest, base = s, b
			}
		}
	}
	amount, err := amountIn(n.Format, rest)
	if err != nil {
		return err
	}
	if n.Lone == Both {
		return ErrLone
	}
	least, most := Range{}, Range{}
	if err := least.set(n.Lone, asNew.Min, amount); err != nil {
		return err
	}
	if err := most.set(n.Lone, asNew.Max, amount); err != nil {
		return err
	}
	stricter, generous := most, least
	if n.Lone == High {
		stricter, generous = least, most
	}
	if n.Held == Both {
		for _, r := range []*Range{&stricter, &generous, &least, &most} {
			fill(r, asNew)
		}
	}
	l.Kind = Wear
	pick := func(r Range, from Edge) error {
		if !from.Set {
			return ErrNoNew
		}
		if base != "" && narrower(r, asNew, n.Held) {
			return ErrInside
		}
		l.Tiers = append(l.Tiers, Tier{name, cell, r})
		return nil
	}
	switch base {
	case "min":
		return pick(least, asNew.Min)
	case "max":
		return pick(most, asNew.Max)
	}
	if !asNew.Min.Set || !asNew.Max.Set {
		return ErrNoNew
	}
	l.Held = &generous
	return pick(stricter, asNew.Min)
}

// set puts on the wear side the edge that lies the amount beyond from.
func (r *Range) set(wears Side, from Edge, amount quantity.Figure) error {
	if !from.Set {
		return nil
	}
	k := 1
	if wears == Low {
		k = -1
	}
	at, err := from.At.Plus(k, amount)
	if err != nil {
		return err
	}
	if wears == Low {
		r.Min = Edge{At: at, Set: true}
	} else {
		r.Max = Edge{At: at, Set: true}
	}
	return nil
}

// amountIn reads an amount: how far, not where on a scale, so that 5 °F is
// five degrees and not 5 °F above the coldest there is.
func amountIn(f quantity.Format, text string) (quantity.Figure, error) {
	a, err := differenceIn(f, text)
	if err == nil && a.Sign() < 0 {
		err = ErrNegative
	}
	return a, err
}

// differenceIn is amountIn for one that may be negative.
func differenceIn(f quantity.Format, text string) (quantity.Figure, error) {
	a, shown, err := f.Figure(strings.TrimSpace(text))
	if err != nil {
		return quantity.Figure{}, err
	}
	nought, _, err := quantity.Format{Unit: shown.Unit}.Figure("0")
	if err != nil {
		return quantity.Figure{}, err
	}
	return a.Plus(-1, nought)
}

type parsed struct {
	Range
	kind Kind
	lone bool // one figure: both edges are it

	swapped bool // the greater was written first
}

// cell reads one cell that holds figures.
func (n Notation) cell(text string) (parsed, error) {
	words := !wordless(text)
	if words || strings.Contains(text, "  ") {
		text = strings.ToValidUTF8(strings.Join(strings.Fields(text), " "), "?")
	}
	// Each form is tried where it may be: most cells are figures alone.
	if words {
		if p, ok, err := n.oneSided(text); ok || err != nil {
			return p, err
		}
	}
	if strings.ContainsAny(text, "±+/") {
		if p, ok, err := n.plusMinus(text); ok || err != nil {
			return p, err
		}
	}
	if p, ok, err := n.dotted(text); ok || err != nil {
		return p, err
	}
	if strings.ContainsAny(text, "-–—/ ") {
		if p, ok, err := n.dashed(text); ok || err != nil {
			return p, err
		}
	}
	at, err := n.end(text)
	if err != nil {
		return parsed{}, err
	}
	e := Edge{At: at.Figure, Set: true}
	return parsed{Range: Range{e, e}, lone: true}, nil
}

// rejectWords introduce a cell that says when a part is out.
var rejectWords = []string{"reject if", "replace if", "reject at", "replace at", "reject", "replace"}

func (n Notation) oneSided(text string) (parsed, bool, error) {
	if !strings.ContainsAny(text, "aeiouAEIOU") {
		return parsed{}, false, nil // every word below has one, and most cells have no word
	}
	lower := lowerASCII(text)
	for _, w := range rejectWords {
		rest, ok := cutWord(lower, w)
		if !ok {
			continue
		}
		for _, s := range []struct {
			suffix string
			low    bool
		}{{"or less", true}, {"or under", true}, {"or more", false}, {"or greater", false}, {"or over", false}} {
			if figure, ok := strings.CutSuffix(rest, " "+s.suffix); ok {
				start := len(text) - len(rest)
				return n.worded(text[start:start+len(figure)], s.low, true)
			}
		}
		return parsed{}, false, ErrAmbiguous
	}
	for _, s := range []struct {
		word      string
		low, open bool
	}{
		{"max", false, false},
		{"maximum", false, false},
		{"at most", false, false},
		{"min", true, false},
		{"minimum", true, false},
		{"at least", true, false},
		{"under", false, true},
		{"less than", false, true},
		{"over", true, true},
		{"more than", true, true},
	} {
		if rest, ok := cutWord(lower, s.word); ok {
			return n.worded(text[len(text)-len(rest):], s.low, s.open)
		}
		minutes := s.word == "min" && n.Format.Unit.Kind() == quantity.TimeKind
		if rest, ok := strings.CutSuffix(lower, " "+s.word); ok && !minutes && !s.open {
			return n.worded(text[:len(rest)], s.low, s.open)
		}
	}
	return parsed{}, false, nil
}

// wordless tells a text of figures, marks and blanks alone, as most cells are.
func wordless(text string) bool {
	for i := range len(text) {
		if c := text[i]; c < ' ' || c > '9' {
			return false
		}
	}
	return true
}

// lowerASCII makes letters small and leaves every byte in its place.
func lowerASCII(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' {
			return r + 'a' - 'A'
		}
		return r
	}, strings.ToValidUTF8(text, "?"))
}

// cutWord cuts a leading word and the blank after it.
func cutWord(text, word string) (rest string, ok bool) {
	if len(text) > len(word) && text[len(word)] == ' ' && text[:len(word)] == word {
		return text[len(word)+1:], true
	}
	return text, false
}

// worded is edge for a side said in a word: the most of an interference is the
// least of a clearance, and either may be meant.
func (n Notation) worded(figure string, low, open bool) (parsed, bool, error) {
	if at, err := n.end(strings.TrimSpace(figure)); err == nil && at.tight && at.Sign() != 0 {
		return parsed{}, false, ErrAmbiguous
	}
	return n.edge(figure, low, open)
}

func (n Notation) edge(figure string, low, open bool) (parsed, bool, error) {
	at, err := n.end(strings.TrimSpace(figure))
	if err != nil {
		return parsed{}, false, err
	}
	e := Edge{At: at.Figure, Set: true, Open: open}
	if low {
		return parsed{Range: Range{Min: e}}, true, nil
	}
	return parsed{Range: Range{Max: e}}, true, nil
}

// plusMinusAlone reads a service cell that holds only a tolerance.
func plusMinusAlone(cell string) (tolerance string, ok bool) {
	for _, sign := range []string{"±", "+/-", "+/−", "+-"} {
		if rest, ok := strings.CutPrefix(cell, sign); ok {
			return strings.TrimSpace(rest), true
		}
	}
	return "", false
}

// plusMinus reads "134.2 +/- 13.42" and "1.250 +0.002/-0.000".
func (n Notation) plusMinus(text string) (parsed, bool, error) {
	for _, sign := range []string{"±", "+/-", "+/−", "+-"} {
		if nominal, tolerance, ok := strings.Cut(text, sign); ok {
			return n.tolerance(nominal, tolerance, tolerance)
		}
	}
	if !strings.Contains(text, "/") {
		return parsed{}, false, nil
	}
	m := twoTolerances.FindStringSubmatch(text)
	if m == nil {
		return parsed{}, false, nil
	}
	one, other := m[2]+m[3]+m[6], m[4]+m[5]+m[6]
	if m[2] == "+" {
		one = m[3] + m[6]
	}
	if m[4] == "+" {
		other = m[5] + m[6]
	}
	return n.offsets(m[1]+m[6], one, other)
}

// twoTolerances is a nominal with two signed tolerances and perhaps a unit:
// 1.250 +0.002/-0.000, 54.985 -0.000/-0.015 mm.
var twoTolerances = regexp.MustCompile(`^(.*[^\s+−-])\s*([+−-])([0-9.,]+)\s*/\s*([+−-])([0-9.,]+)(\s*[^0-9\s.,][^0-9]*)?$`)

// offsets reads a nominal with two tolerances that carry their signs.
func (n Notation) offsets(nominal, one, other string) (parsed, bool, error) {
	a, err := differenceIn(n.Format, one)
	if err != nil {
		return parsed{}, false, err
	}
	b, err := differenceIn(n.Format, other)
	if err != nil {
		return parsed{}, false, err
	}
	at, err := n.end(strings.TrimSpace(nominal))
	if err != nil {
		return parsed{}, false, err
	}
	if at.Kind() != a.Kind() || at.Kind() != b.Kind() {
		return parsed{}, false, quantity.ErrWrongKind
	}
	if at.tight {
		return parsed{}, false, ErrAmbiguous // more tight, or more clearance?
	}
	if a.Cmp(b) > 0 {
		a, b = b, a
	}
	lo, err := at.Plus(1, a)
	if err != nil {
		return parsed{}, false, err
	}
	hi, err := at.Plus(1, b)
	if err != nil {
		return parsed{}, false, err
	}
	return parsed{Range: Range{Edge{At: lo, Set: true}, Edge{At: hi, Set: true}}, kind: PlusMinus}, true, nil
}

func (n Notation) tolerance(nominal, up, down string) (parsed, bool, error) {
	u, err := amountIn(n.Format, up)
	if err != nil {
		return parsed{}, false, err
	}
	_, shown, err := n.Format.Figure(strings.TrimSpace(up))
	if err != nil {
		return parsed{}, false, err
	}
	f := n.Format
	f.Unit = shown.Unit
	d, err := amountIn(f, down)
	if err != nil {
		return parsed{}, false, err
	}
	inUnit := n
	inUnit.Format = f
	at, err := inUnit.end(strings.TrimSpace(nominal))
	if err != nil {
		return parsed{}, false, err
	}
	if at.tight && u != d {
		return parsed{}, false, ErrAmbiguous // more tight, or more clearance?
	}
	lo, err := at.Plus(-1, d)
	if err != nil {
		return parsed{}, false, err
	}
	hi, err := at.Plus(1, u)
	if err != nil {
		return parsed{}, false, err
	}
	return parsed{Range: Range{Edge{At: lo, Set: true}, Edge{At: hi, Set: true}}, kind: PlusMinus}, true, nil
}

func (n Notation) dotted(text string) (parsed, bool, error) {
	left, right, ok := strings.Cut(text, "..")
	if !ok {
		return parsed{}, false, nil
	}
	if left != "" && strings.HasPrefix(right, ".") {
		return parsed{}, false, ErrAmbiguous // 68...72: to 72, or to .72?
	}
	left, right = strings.TrimSpace(left), strings.TrimSpace(right)
	switch {
	case left == "" && right == "":
		return parsed{}, false, &quantity.ParseError{Text: text, Err: quantity.ErrSyntax}
	case left == "":
		return n.edge(right, false, false)
	case right == "":
		return n.edge(left, true, false)
	}
	p, err := n.span(left, right)
	return p, err == nil, err
}

// dashed reads a range with a dash, "to" or a slash between its ends. Where
// more than one dash could be the one between, it is ambiguous.
func (n Notation) dashed(text string) (parsed, bool, error) {
	var found []parsed
	var ambiguous error
	for _, mark := range []string{"-", "–", "—", " to ", " / "} {
		for from := 0; ; {
			i := strings.Index(text[from:], mark)
			if i < 0 {
				break
			}
			at := from + i
			from = at + len(mark)
			left, right := strings.TrimSpace(text[:at]), strings.TrimSpace(text[from:])
			p, err := n.span(left, right)
			switch {
			case err == nil && n.mayBeTolerance(p, left, right, mark == "-" && strings.HasPrefix(text[from-2:], " -") && !strings.HasPrefix(text[from:], " ")):
				ambiguous = &CellError{Text: text, Err: ErrAmbiguous, May: []string{
					left + ".." + right, left + " +0/-" + right,
				}}
			case err == nil:
				found = append(found, p)
			case errors.Is(err, ErrAmbiguous):
				ambiguous = err
			}
		}
	}
	switch {
	case len(found) == 1:
		return found[0], true, nil
	case len(found) > 1:
		return parsed{}, false, ErrAmbiguous
	}
	return parsed{}, false, ambiguous
}

// mayBeTolerance tells a dash that may be a minus, or an end that is cut short:
// "54.985 -0.015", "54.985-0.015", "54.970-985". The ends of a size's limits are
// not far apart.
func (n Notation) mayBeTolerance(r parsed, left, right string, minus bool) bool {
	if n.Fit {
		return false
	}
	if minus {
		return true
	}
	three, err := r.Min.At.Scaled(3, 1)
	if err != nil || r.Min.At.Sign() <= 0 || r.Max.At.Cmp(three) < 0 {
		return false
	}
	decimals := func(s string) int { return len(s) - strings.LastIndexAny(s, ".,") }
	hasPoint := func(s string) bool { return strings.ContainsAny(s, ".,") }
	return r.swapped || hasPoint(left) != hasPoint(right) || hasPoint(left) && decimals(left) != decimals(right)
}

// span reads the two ends of a range, in either order. A unit or a word
// ("tight") after the second stands for both.
func (n Notation) span(left, right string) (parsed, error) {
	b, err := n.end(right)
	if err != nil {
		return parsed{}, err
	}
	inUnit := n
	inUnit.Format.Unit = b.unit
	a, err := inUnit.end(left)
	if err != nil {
		return parsed{}, err
	}
	bare := func(e end) bool { return !e.lettered && !e.signed && e.Sign() != 0 }
	switch {
	case b.tight && b.word && bare(a):
		a.Figure = a.Negative()
	case b.tight && bare(a):
		return parsed{}, &CellError{
			Text: left + " - " + right, Err: ErrAmbiguous,
			May: []string{left + "T and " + right, left + "L and " + right},
		}
	case a.tight && bare(b):
		return parsed{}, &CellError{
			Text: left + " - " + right, Err: ErrAmbiguous,
			May: []string{left + " and " + right + "T", left + " and " + right + "L"},
		}
	case n.Fit && bare(a) && bare(b) && a.Figure == b.Figure:
		return parsed{}, ErrAmbiguous // no fit has one clearance only: the letters are lost
	}
	lo, hi := Edge{At: a.Figure, Set: true}, Edge{At: b.Figure, Set: true}
	swapped := lo.At.Cmp(hi.At) > 0
	if swapped {
		lo, hi = hi, lo
	}
	return parsed{Range: Range{lo, hi}, swapped: swapped}, nil
}

// An end is one figure of a cell, signed.
type end struct {
	quantity.Figure
	unit                          quantity.Unit
	lettered, word, tight, signed bool
}

// fitWords are what may stand behind a clearance; longer ones first.
var fitWords = []struct {
	text        string
	word, tight bool
}{
	{"interference", true, true},
	{"(pressure)", true, true},
	{"pressure", true, true},
	{"(loose)", true, false},
	{"(press)", true, true},
	{"(tight)", true, true},
	{"clearance", true, false},
	{"loose", true, false},
	{"press", true, true},
	{"tight", true, true},
	{"l", false, false},
	{"t", false, true},
}

func (n Notation) end(text string) (end, error) {
	var e end
	lower, words := text, fitWords
	if wordless(text) {
		words = nil
	} else {
		lower = lowerASCII(text)
	}
	for _, w := range words {
		rest, ok := strings.CutSuffix(lower, w.text)
		if !ok {
			continue
		}
		rest = strings.TrimSpace(rest)
		if rest == "" {
			break
		}
		if last := rest[len(rest)-1]; !w.word && (last < '0' || last > '9') && last != '.' && !endsInUnit(rest) {
			continue
		}
		if text[len(rest):] == "l" {
			return e, ErrAmbiguous // as likely the digit 1
		}
		if !n.Fit {
			if w.word || endsInDigit(rest) {
				return e, ErrLetter
			}
			continue
		}
		text = text[:len(rest)]
		e.lettered, e.word, e.tight = true, w.word, w.tight
		break
	}
	f, shown, err := n.Format.Figure(text)
	if err != nil {
		return e, err
	}
	e.Figure, e.unit = f, shown.Unit
	e.signed = strings.IndexAny(shown.Digits, "+-−") == 0
	if e.lettered && e.signed {
		return e, ErrAmbiguous
	}
	if e.tight {
		e.Figure = f.Negative()
	}
	return e, nil
}

func endsInDigit(s string) bool {
	last := s[len(s)-1]
	return last >= '0' && last <= '9'
}

// endsInUnit tells "0.0010 in" before its letter.
func endsInUnit(s string) bool {
	i := strings.LastIndex(s, " ")
	if i < 0 {
		return false
	}
	_, err := quantity.ParseUnit(s[i+1:])
	return err == nil
}

// cellError makes any error of the parser one that names its cell.
func cellError(err error, service bool, text string) *CellError {
	e := &CellError{Service: service, Text: text, Err: err}
	var cell *CellError
	var parse *quantity.ParseError
	switch {
	case errors.As(err, &cell):
		e.Err, e.May = cell.Err, cell.May
	case errors.As(err, &parse):
		e.Err, e.May = parse.Err, inCell(parse, text)
	}
	return e
}

// inCell are the likely readings of a figure that can't be read as those of the
// whole cell: of one end of a range, the range with that end.
func inCell(bad *quantity.ParseError, text string) []string {
	if bad.Text == "" || bad.Text == text || !strings.Contains(text, bad.Text) {
		return bad.May
	}
	all := make([]string, len(bad.May))
	for i, m := range bad.May {
		all[i] = strings.ReplaceAll(text, bad.Text, m)
	}
	return all
}
