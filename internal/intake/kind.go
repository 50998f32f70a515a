package intake

import (
	"math/big"
	"regexp"
	"slices"
	"strings"

	"tenths/metrology/quantity"
)

// A Kind is what a row judges, as the trade names it.
type Kind uint8

// The kinds. Unknown is asked.
const (
	Unknown Kind = iota
	Outside
	Inside
	Thickness
	Width
	Length
	Depth
	Height
	OverPins
	Variation
	Clearance
	SideClearance
	EndClearance
	Backlash
	Gap
	Fit
	RunOut
	RunOutRate
	Bend
	Alignment
	OutOfRound
	Taper
	TaperAndRound
	WearOf
	SpringLoad
	SpringLength
	Torque
	Angle
	Relation
	Mass
	Pressure
)

var kindNames = [...]string{
	"unknown", "outside", "inside", "thickness", "width", "length", "depth", "height", "over pins", "variation",
	"clearance", "side clearance", "end clearance", "backlash", "gap", "fit",
	"run-out", "run-out per length", "bend", "alignment", "out-of-round", "taper", "taper and out-of-round", "wear",
	"spring load", "spring length", "torque", "angle", "relation", "weight", "pressure",
}

func (k Kind) String() string { return kindNames[k] }

// clearance tells whether a row's figures are loose and tight.
func (k Kind) clearance() bool { return k >= Clearance && k <= Fit }

// form tells what has a greatest and no least.
func (k Kind) form() bool { return k >= RunOut && k <= WearOf || k == Variation }

// measured tells a size that may wear either way: which, its limits say.
func (k Kind) measured() bool {
	switch k {
	case Thickness, Width, Length, Depth, Height, OverPins, SpringLoad, SpringLength, Torque, Angle, Mass, Pressure:
		return true
	}
	return false
}

// takes tells whether what is judged can be in a unit.
func (k Kind) takes(u quantity.Unit) bool {
	want := quantity.LengthKind
	switch k {
	case Unknown, Relation:
		return true
	case RunOutRate, Alignment:
		return u.Kind() == quantity.RatioKind || u.Kind() == quantity.LengthKind
	case SpringLoad:
		want = quantity.ForceKind
	case Torque:
		want = quantity.TorqueKind
	case Angle:
		want = quantity.AngleKind
	case Mass:
		want = quantity.MassKind
	case Pressure:
		want = quantity.PressureKind
	}
	return u.Kind() == want
}

// parseKind reads a kind, and the way it wears: "length", "length wears larger".
func parseKind(text string) (k Kind, wears string, ok bool) {
	text = strings.Join(strings.Fields(strings.ToLower(text)), " ")
	text, wears, _ = strings.Cut(text, " wears ")
	n := slices.Index(kindNames[:], strings.TrimSuffix(text, ","))
	return Kind(max(0, n)), wears, n > 0 && (wears == "" || wears == "smaller" || wears == "larger" || wears == "either")
}

// A rule suggests a kind from a row's words. The first that fits counts, so that
// what a row is of its form stands before what it is a form of.
type rule struct {
	kind Kind
	of   []string // one of these is in every text that fits: most rows are told by that
	is   *regexp.Regexp
}

func (r *rule) fits(name string) bool {
	for _, of := range r.of {
		if strings.Contains(name, of) {
			return r.is.MatchString(name)
		}
	}
	return false
}

func words(s string) *regexp.Regexp {
	return regexp.MustCompile(`(?:^|[^a-z])(?:` + s + `)(?:$|[^a-z])`)
}

var rules = []rule{
	{Relation, []string{"not"}, words(`(must|shall|should|may) not (exceed|be)|not (greater|larger|smaller|less) than`)},
	{RunOutRate, []string{"per"}, words(`(run-?out|run out|wobble)[^,;]* per (inch|in|mm|millimet(re|er)|foot)`)},
	{TaperAndRound, []string{"taper"}, words(`taper(,| and| or| &) ?(out[- ]of[- ]round(ness)?|ovality)|(out[- ]of[- ]round(ness)?|ovality)(,| and| or| &) ?taper`)},
	{OutOfRound, []string{"round", "oval"}, words(`out[- ]of[- ]round(ness)?|ovality|roundness|oval`)},
	{Taper, []string{"taper", "mouth"}, words(`taper|bell-?mouth`)},
	{RunOut, []string{"run", "centricity", "wobble", "t.i.r", "tir"}, words(`run-?out|run out|concentricity|eccentricity|wobble|t\.?i\.?r`)},
	{Bend, []string{"bend", "bow", "bent", "straight", "deflect"}, words(`bend|bow|bent|straightness|deflection`)},
	{Variation, []string{"variation", "difference"}, words(`variation|difference (in|between|of)`)},
	{Backlash, []string{"lash"}, words(`back-?lash|back lash`)},
	{EndClearance, []string{"end"}, words(`end ?-?(clearance|play|thrust|float)`)},
	{SideClearance, []string{"side"}, words(`side ?-?(clearance|play)`)},
	{Gap, []string{"gap", "butt"}, words(`(ring|end|electrode|point|air)? ?gap|butt clearance`)},
	{Alignment, []string{"parallel", "square", "twist", "align", "perpend", "flat", "true"}, words(`parallelism|squareness|twist|misalignment|alignment of|perpendicularity|flatness|out of (alignment|parallel|square|flat|true)`)},
	{Torque, []string{"torque"}, words(`torque`)},
	{SpringLength, []string{"length", "height"}, words(`free length|solid (length|height)|spring.* (length|height)`)},
	{SpringLoad, []string{"load", "spring", "tension", "press"}, words(`spring (load|force|tension|pressure|compression)|load at|tension at|(load|pressure) when compressed`)},
	{Fit, []string{"fit", "interference", "shrink"}, words(`fit|interference|press fit|shrink`)},
	{Clearance, []string{"clearance", "lash", "film", "play", "loose"}, words(`clearance|lash|oil film|play|looseness`)},
	{OverPins, []string{"over"}, words(`over ([a-z0-9.]+ )?([0-9.]+ ?(in|inch|mm|")? )?(pins?|balls?|wires?|rolls?|rollers?)|measured over`)},
	{WearOf, []string{"wear"}, words(`wear`)},
	{Mass, []string{"weight", "mass"}, words(`weight|mass`)},
	{Angle, []string{"angle"}, words(`angle`)},
	{Depth, []string{"depth"}, words(`depth`)},
	{Height, []string{"height", "trusion", "jection", "stand", "drop", "recession"}, words(`height|protrusion|projection|stand-?out|drop|recession`)},
	{Thickness, []string{"thick", "margin", "wall"}, words(`thickness|thick|margin|wall`)},
	{Length, []string{"width", "length", "long", "distance", "cent", "stroke", "lift", "travel"}, words(`(outside|overall) width`)},
	{Width, []string{"wid"}, words(`width|wide`)},
	{Length, []string{"width", "length", "long", "distance", "cent", "stroke", "lift", "travel"}, words(`length|long|distance|between cent(er|re)s|cent(er|re) to cent(er|re)|stroke|lift|travel`)},
	{Inside, []string{"ins", "int", "id", "i.d", "bore", "hole", "inn", "dia"}, words(`inside dia(meter)?|internal dia(meter)?|i\.?d|bores?|holes?|inner dia(meter)?`)},
	{Outside, []string{"out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia"}, words(`outside dia(meter)?|external dia(meter)?|o\.?d|outer dia(meter)?`)},
	{Outside, []string{"out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia"}, words(`journals?|crankpins?|lobes?`)},
	{Outside, []string{"out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia"}, words(`(pin|stem|shaft|journal|skirt|lobe|tappet|lifter|camshaft|crankshaft|piston|plunger|bolt|stud|rod|trunnion|spindle|collar|pilot|land|dowel|plug|roller)s? dia(meter)?`)},
	{Outside, []string{"out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia"}, words(`(camshaft|crankshaft|shaft|pin|stem|piston|tappet|lifter|plunger|skirt)s?[a-z0-9 ,/-]* dia(meter)?`)},
	{Outside, []string{"out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia"}, words(`dia(meter)? (of|over)[a-z0-9 ,-]* (pins?|shafts?|stems?|journals?|tips?|lobes?|skirts?|pistons?|studs?|bolts?|pilots?|dowels?|lands?)`)},
	{Inside, []string{"ins", "int", "id", "i.d", "bore", "hole", "inn", "dia"}, words(`(bushings?|guides?|bearings?|cylinders?|liners?|sleeves?|barrels?|bushes) dia(meter)?`)},
}

// between is a row that names two parts and no size: what lies between them.
var between = regexp.MustCompile(`[a-z] to [a-z]|[a-z] in [a-z]|(?:bushing|bearing|gear|hub|sleeve|cone|collar|wheel|roller|rotor|impeller|pulley)s? on [a-z]`)

// round is a row that names nothing but a thing that is round, or the places of a
// piston that are measured across: with a narrow size beside it, its diameter.
var (
	roundThing = regexp.MustCompile(`(?:shaft|pin|stem|spindle|pilot|dowel|trunnion|plunger)s?$|(?:^|[^a-z])skirt(?:$|[^a-z])`)
	landThing  = regexp.MustCompile(`(?:^|[^a-z])lands? (?:between|above|below|over|under)(?:$|[^a-z])`)
)

var (
	runOutWords = words(`run-?out|run out`)
	sizeWords   = words(`dia(meter)?|length|width|depth|height|thickness`)
	fitLetters  = regexp.MustCompile(`[0-9]\s?[LTlt](?:$|[^a-zA-Z])|(?i)[0-9]\s*\(?(?:press|tight|loose|interference)`)
	commaFigure = regexp.MustCompile(`[0-9],[0-9]`)
	pointFigure = regexp.MustCompile(`[0-9]?\.[0-9]`)
	atHeat      = regexp.MustCompile(`(?i)\bat -?[0-9]+ ?°? ?(?:deg(?:rees)? ?)?[FC]\b`)
	meanWords   = words(`average|mean|averaged`)
)

// shorts are words as people shorten them who type a table for themselves.
var shorts = map[string]string{
	"clr": "clearance", "clnc": "clearance", "brg": "bearing", "brgs": "bearings", "journ": "journal", "jnl": "journal", "int": "intake", "ex": "exhaust", "exh": "exhaust",
	"bush": "bushing", "cyl": "cylinder", "gde": "guide", "dia": "diameter",
}

// inFull writes out the words of a name that are shortened.
func inFull(name string) string {
	words := strings.Fields(name)
	for i, w := range words {
		if full, ok := shorts[strings.TrimRight(w, ".")]; ok {
			words[i] = full
		}
	}
	return strings.Join(words, " ")
}

// suggest is the kind that a row's words and figures say, and where they do not
// its words written out; Unknown where those do not either.
func suggest(r *Row) Kind {
	name := strings.ToLower(r.Name)
	k := suggestBy(r, name)
	if full := inFull(name); k == Unknown && full != name {
		k = suggestBy(r, full)
	}
	return k
}

func suggestBy(r *Row, name string) Kind {
	cells := r.Printed.New + " " + r.Printed.Service
	switch r.Unit.Kind() {
	case quantity.TorqueKind:
		return Torque
	case quantity.ForceKind:
		return SpringLoad
	case quantity.AngleKind:
		return Angle
	case quantity.MassKind:
		return Mass
	case quantity.PressureKind:
		return Pressure
	case quantity.RatioKind:
		if runOutWords.MatchString(name) {
			return RunOutRate
		}
		return Alignment
	}
	for i := range rules {
		w := &rules[i]
		if !w.fits(name) {
			continue
		}
		switch {
		case w.kind == SpringLoad || w.kind == Torque || w.kind == Mass || w.kind == Angle:
			if r.Unit.Kind() == quantity.LengthKind {
				continue // the unit is not one that this has
			}
		case w.kind == Relation && digit.MatchString(cells):
			continue
		case w.kind.form() || w.kind == Depth || w.kind == Backlash:
		case !w.kind.clearance() && fitLetters.MatchString(cells) && between.MatchString(name):
			return Fit
		case (w.kind == Inside || w.kind == Outside) && between.MatchString(name) && !sizeWords.MatchString(name) && small(cells):
			return Clearance
		}
		return w.kind
	}
	switch {
	case fitLetters.MatchString(cells):
		return Fit
	case between.MatchString(name) && !sizeWords.MatchString(name) && small(cells):
		return Clearance
	case (roundThing.MatchString(name) || landThing.MatchString(name)) && !sizeWords.MatchString(name) && narrow(r.Printed.New):
		return Outside
	}
	return Unknown
}

// narrow tells new limits as diameters have them: within a two-hundredth of the
// size, which is no clearance. Lengths are seldom held so close; a figure of our
// own.
func narrow(cell string) bool {
	figures := anyFigure.FindAllString(strings.ReplaceAll(cell, "..", " "), -1)
	if len(figures) != 2 || small(cell) {
		return false
	}
	a, ok := new(big.Rat).SetString(strings.ReplaceAll(figures[0], ",", "."))
	b, ok2 := new(big.Rat).SetString(strings.ReplaceAll(figures[1], ",", "."))
	if !ok || !ok2 || a.Sign() <= 0 || b.Sign() <= 0 {
		return false
	}
	by := new(big.Rat).Sub(b, a)
	return by.Abs(by).Cmp(new(big.Rat).Quo(a, big.NewRat(200, 1))) <= 0
}

// small tells figures such as clearances have and sizes have not.
func small(cells string) bool {
	figures := anyFigure.FindAllString(strings.ReplaceAll(cells, "..", " "), -1)
	for _, f := range figures {
		f = strings.ReplaceAll(f, ",", ".")
		whole, _, _ := strings.Cut(f, ".")
		if strings.Trim(whole, "0") != "" || !strings.Contains(f, ".0") {
			return false
		}
	}
	return len(figures) > 0
}

var anyFigure = regexp.MustCompile(`[0-9]*[.,]?[0-9]+`)

// kindOf settles what a row judges: as the user says, as its words say, or held.
func (d *Draft) kindOf(r *Row, m Mapping) {
	for name, says := range m.Kinds {
		if strings.EqualFold(name, r.Name) {
			if k, wears, _ := parseKind(says); k.takes(r.Unit) {
				r.Kind, r.Wears = k, wears
			}
			return
		}
	}
	if r.Kind == Unknown {
		r.Kind = suggest(r)
	}
	if !r.Kind.takes(r.Unit) {
		r.Kind = Unknown
	}
	r.Mean = meanWords.MatchString(strings.ToLower(r.Name)) && (r.Kind == Inside || r.Kind == Outside || r.Kind.measured())
	r.As = atHeat.FindString(r.Name)
}

// siblings gives a row whose words do not say what it judges the kind of one
// that begins with the same words and whose figures say it: "bearing to block,
// front" is Press and Loose, so "bearing to block, rear" is a fit as well.
func (d *Draft) siblings() {
	fits := map[string]bool{}
	for i := range d.Rows {
		r := &d.Rows[i]
		if stem, _, ok := strings.Cut(r.Name, ","); ok && fitLetters.MatchString(r.Printed.New) {
			fits[stem] = true
		}
	}
	for i := range d.Rows {
		r := &d.Rows[i]
		if stem, _, ok := strings.Cut(r.Name, ","); ok && fits[stem] && r.Kind == Clearance && !strings.Contains(strings.ToLower(r.Name), "clearance") {
			r.Kind = Fit
		}
	}
}
