package intake

import (
	"math/big"
	"regexp"
	"slices"
	"strings"
	"sync"

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

// A pattern is an expression, and what is in every text that it fits: most texts
// are told by that. It is compiled when it is first wanted, which most runs of the
// program never do.
type pattern struct {
	of []string
	is func() *regexp.Regexp
}

func patternOf(s string, stems ...string) pattern {
	return pattern{stems, sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(s) })}
}

// may tells whether the pattern may fit.
func (p *pattern) may(text string) bool {
	for _, of := range p.of {
		if strings.Contains(text, of) {
			return true
		}
	}
	return false
}

func (p *pattern) fits(text string) bool { return p.may(text) && p.is().MatchString(text) }

// A rule suggests a kind from a row's words. The first that fits counts, so that
// what a row is of its form stands before what it is a form of.
type rule struct {
	kind Kind
	pattern
}

// words are words of a name, in small letters; in each there is one of the stems.
func words(s string, stems ...string) pattern {
	return patternOf(`(?:^|[^a-z])(?:`+s+`)(?:$|[^a-z])`, stems...)
}

var rules = []rule{
	{Relation, words(`(must|shall|should|may) not (exceed|be)|not (greater|larger|smaller|less) than`, "not")},
	{RunOutRate, words(`(run-?out|run out|wobble)[^,;]* per (inch|in|mm|millimet(re|er)|foot)`, "per")},
	{TaperAndRound, words(`taper(,| and| or| &) ?(out[- ]of[- ]round(ness)?|ovality)|(out[- ]of[- ]round(ness)?|ovality)(,| and| or| &) ?taper`, "taper")},
	{OutOfRound, words(`out[- ]of[- ](round(ness)?|rnd)|o\.?o\.?r|ovality|roundness|oval`, "round", "rnd", "oor", "o.o", "oo.r", "oval")},
	{Taper, words(`taper|bell-?mouth`, "taper", "mouth")},
	{RunOut, words(`run-?out|run out|concentricity|eccentricity|wobble|t\.?i\.?r`, "run", "centricity", "wobble", "t.i.r", "tir")},
	{Bend, words(`bend|bow|bent|straightness|deflection`, "bend", "bow", "bent", "straight", "deflect")},
	{Variation, words(`variation|difference (in|between|of)`, "variation", "difference")},
	{Backlash, words(`back-?lash|back lash`, "lash")},
	{EndClearance, words(`end ?-?(clearance|play|thrust|float)`, "end")},
	{SideClearance, words(`side ?-?(clearance|play)`, "side")},
	{Gap, words(`(ring|end|electrode|point|air)? ?gap|butt clearance`, "gap", "butt")},
	{Alignment, words(`parallelism|squareness|twist|misalignment|alignment of|perpendicularity|flatness|out of (alignment|parallel|square|flat|true)`, "parallel", "square", "twist", "align", "perpend", "flat", "true")},
	{Torque, words(`torque`, "torque")},
	{SpringLoad, springLoad},
	{SpringLength, words(`free length|solid (length|height)|spring.* (length|height)`, "length", "height")},
	{Fit, words(`fit|interference|press fit|shrink`, "fit", "interference", "shrink")},
	{Clearance, words(`clearance|lash|oil film|play|looseness`, "clearance", "lash", "film", "play", "loose")},
	{OverPins, words(`over ([a-z0-9.]+ )?([0-9.]+ ?(in|inch|mm|")? )?(pins?|balls?|wires?|rolls?|rollers?)|measured over`, "over")},
	{WearOf, words(`wear`, "wear")},
	{Mass, words(`weight|mass`, "weight", "mass")},
	{Angle, words(`angle`, "angle")},
	{Depth, words(`depth`, "depth")},
	{Height, words(`height|protrusion|projection|stand-?out|drop|recession`, "height", "trusion", "jection", "stand", "drop", "recession")},
	{Thickness, words(`thickness|thick|margin|wall`, "thick", "margin", "wall")},
	{Length, words(`(outside|overall) width`, "width", "length", "long", "distance", "cent", "stroke", "lift", "travel")},
	{Width, words(`width|wide`, "wid")},
	{Length, words(`length|long|distance|between cent(er|re)s|cent(er|re) to cent(er|re)|stroke|lift|travel`, "width", "length", "long", "distance", "cent", "stroke", "lift", "travel")},
	{Inside, words(`inside dia(meter)?|internal dia(meter)?|i\.?d|bores?|holes?|inner dia(meter)?`, "ins", "int", "id", "i.d", "bore", "hole", "inn", "dia")},
	{Outside, words(`outside dia(meter)?|external dia(meter)?|o\.?d|outer dia(meter)?`, "out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia")},
	{Outside, words(`journals?|crankpins?|lobes?`, "out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia")},
	{Outside, words(`(pin|stem|shaft|journal|skirt|lobe|tappet|lifter|camshaft|crankshaft|piston|plunger|bolt|stud|rod|trunnion|spindle|collar|pilot|land|dowel|plug|roller)s? dia(meter)?`, "out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia")},
	{Outside, words(`(camshaft|crankshaft|shaft|pin|stem|piston|tappet|lifter|plunger|skirt)s?[a-z0-9 ,/-]* dia(meter)?`, "out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia")},
	{Outside, words(`dia(meter)? (of|over)[a-z0-9 ,-]* (pins?|shafts?|stems?|journals?|tips?|lobes?|skirts?|pistons?|studs?|bolts?|pilots?|dowels?|lands?)`, "out", "ext", "od", "o.d", "journal", "crankpin", "lobe", "dia")},
	{Inside, words(`(bushings?|guides?|bearings?|cylinders?|liners?|sleeves?|barrels?|bushes) dia(meter)?`, "ins", "int", "id", "i.d", "bore", "hole", "inn", "dia")},
}

// springLoad are words of what a spring bears.
var springLoad = words(`spring,? (load|force|tension|pressure|compression)|(load|tension) ?(at|@)|(load|pressure),? (when )?compressed`, "load", "spring", "tension", "press")

// between is a row that names two parts and no size: what lies between them.
var between = patternOf(`[a-z] to [a-z]|[a-z] in [a-z]|(?:bushing|bearing|gear|hub|sleeve|cone|collar|wheel|roller|rotor|impeller|pulley)s? on [a-z]`, " to ", " in ", " on ")

// round is a row that names nothing but a thing that is round, or the places of a
// piston that are measured across: with a narrow size beside it, its diameter.
var (
	roundThing = regexp.MustCompile(`(?:shaft|pin|stem|spindle|pilot|dowel|trunnion|plunger)s?$|(?:^|[^a-z])skirt(?:$|[^a-z])`)
	landThing  = regexp.MustCompile(`(?:^|[^a-z])lands? (?:between|above|below|over|under)(?:$|[^a-z])`)
)

var (
	runOutWords = words(`run-?out|run out`, "run")
	sizeWords   = words(`dia(meter)?|length|width|depth|height|thickness`, "dia", "length", "width", "depth", "height", "thickness")
	fitLetters  = patternOf(`[0-9]\s?[LTlt](?:$|[^a-zA-Z])|(?i)[0-9]\s*\(?(?:press|tight|loose|interference)`, "L", "T", "l", "t", "p", "P", "I")
	commaFigure = regexp.MustCompile(`[0-9],[0-9]`)
	pointFigure = regexp.MustCompile(`\.[0-9]`)
	atHeat      = patternOf(`(?i)\bat -?[0-9]+ ?°? ?(?:deg(?:rees)? ?)?[FC]\b`, "at ", "At ", "AT ", "aT ")
	meanWords   = words(`average|mean|averaged`, "average", "mean")
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
		if runOutWords.fits(name) {
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
		case w.kind == SpringLoad || w.kind == Torque:
			if r.Unit.Kind() == quantity.LengthKind {
				return Unknown // it can't be in the table's unit, and which it is in nothing says
			}
		case w.kind == Mass || w.kind == Angle:
			if r.Unit.Kind() == quantity.LengthKind {
				continue // the unit is not one that this has
			}
		case w.kind == Relation && digit.MatchString(cells):
			continue
		case w.kind.form() || w.kind == Depth || w.kind == Backlash:
		case !w.kind.clearance() && fitLetters.fits(cells) && between.fits(name):
			return Fit
		case (w.kind == Inside || w.kind == Outside) && between.fits(name) && !sizeWords.fits(name) && small(cells):
			return Clearance
		case (w.kind == Inside || w.kind == Outside) && !sizeWords.fits(name) && small(cells) && !narrow(r.Printed.New):
			return Unknown // a journal of 0.0005 is none: of what of it that is, its words do not say
		}
		return w.kind
	}
	switch {
	case fitLetters.fits(cells):
		return Fit
	case between.fits(name) && !sizeWords.fits(name) && small(cells):
		return Clearance
	case (roundThing.MatchString(name) || landThing.MatchString(name)) && !sizeWords.fits(name) && narrow(r.Printed.New):
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
			} else {
				r.unfit = k
			}
			return
		}
	}
	if r.Kind == Unknown {
		r.Kind = suggest(r)
	}
	if r.Kind == Unknown && r.between {
		r.Kind = Clearance
	}
	if !r.Kind.takes(r.Unit) {
		r.Kind = Unknown
	}
	r.Mean = meanWords.fits(strings.ToLower(r.Name)) && (r.Kind == Inside || r.Kind == Outside || r.Kind.measured())
	if atHeat.may(r.Name) {
		r.As = atHeat.is().FindString(r.Name)
	}
}

// siblings gives a row whose words do not say what it judges the kind of one
// that begins with the same words and whose figures say it: "bearing to block,
// front" is Press and Loose, so "bearing to block, rear" is a fit as well.
func (d *Draft) siblings() {
	fits := map[string]bool{}
	for i := range d.Rows {
		r := &d.Rows[i]
		if stem, _, ok := strings.Cut(r.Name, ","); ok && fitLetters.fits(r.Printed.New) {
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
