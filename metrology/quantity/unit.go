package quantity

import (
	"fmt"
	"slices"
	"strings"
)

// A Kind says what a figure measures; figures of different kinds never
// compare or add.
type Kind uint8

// The kinds. The zero value is no kind.
const (
	NoKind Kind = iota
	LengthKind
	RatioKind
	AngleKind
	MassKind
	ForceKind
	TorqueKind
	PressureKind
	TimeKind
	TemperatureKind
	FlowKind
	CountKind
)

var kindNames = [...]string{"", "length", "ratio", "angle", "mass", "force", "torque", "pressure", "time", "temperature", "flow", "count"}

func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// A Unit is a unit of measurement that figures are written in. The zero value
// is no unit.
type Unit uint8

// The units. Two names for one size (in and ") are one unit.
const (
	NoUnit Unit = iota
	Inch
	Thousandth // 0.001 in
	Tenth      // 0.0001 in
	Microinch
	Millimetre
	Centimetre
	Micrometre
	InchPerInch
	MillimetrePerMillimetre
	PerCent
	Degree
	ArcMinute
	Pound
	Ounce
	Kilogram
	Gram
	PoundForce
	Newton
	InchPoundForce
	FootPoundForce
	NewtonMetre
	PoundPerSquareInch
	Kilopascal
	Bar
	Second
	Minute
	Hour
	Celsius
	Fahrenheit
	LitrePerMinute
	USGallonPerMinute
	USQuartPerMinute
	Each
	unitCount
)

// unitTable gives each unit's exact size as num/den of its kind's base, the
// name it is printed with, and every spelling that is read.
//
// Bases: length 0.1 nm; ratio 1; angle 1 degree; mass 1 lb; time 1 s; flow
// 1 L/min; temperature 1 K; force 1 lb·m/s², torque 1 lb·m²/s², pressure 1 lb/(m·s²).
// The pound-metre-second bases make both customary and SI units ratios of
// small numbers (1 lbf is 9.80665 lb·m/s², 1 N is 1/0.45359237 of it), so
// that a mantissa of ten digits in either still fits.
//
// Sources: in = 25.4 mm, lb = 0.45359237 kg, standard gravity 9.80665 m/s²:
// NIST SP 811 (2008), appendix B; psi and lbf·in follow from them. The US
// gallon is 231 in³ (the same, B.8).
var unitTable = [unitCount]struct {
	kind     Kind
	num, den int64
	name     string
	spelled  []string
}{
	Inch:       {LengthKind, 254_000_000, 1, "in", []string{"in", "inch", "inches", `"`, "″", "in."}},
	Thousandth: {LengthKind, 254_000, 1, "thou", []string{"thou", "mil", "mils"}},
	Tenth:      {LengthKind, 25_400, 1, "tenths", []string{"tenth"}},
	Microinch:  {LengthKind, 254, 1, "µin", []string{"uin", "microinch", "microinches"}},
	Millimetre: {LengthKind, 10_000_000, 1, "mm", []string{"mm"}},
	Centimetre: {LengthKind, 100_000_000, 1, "cm", []string{"cm"}},
	Micrometre: {LengthKind, 10_000, 1, "µm", []string{"um", "micrometre", "micrometer", "micron"}},

	InchPerInch:             {RatioKind, 1, 1, "in/in", []string{"in/in", "per inch", "per in"}},
	MillimetrePerMillimetre: {RatioKind, 1, 1, "mm/mm", []string{"mm/mm", "per mm"}},

	PerCent: {RatioKind, 1, 100, "%", []string{"percent"}},

	Degree:    {AngleKind, 1, 1, "°", []string{"°", "deg", "degree", "degrees"}},
	ArcMinute: {AngleKind, 1, 60, "′", []string{"′", "arcmin"}},

	Pound:    {MassKind, 1, 1, "lb", []string{"lb", "lbs", "pounds"}},
	Ounce:    {MassKind, 1, 16, "oz", []string{"oz"}},
	Kilogram: {MassKind, 100_000_000, 45_359_237, "kg", []string{"kg"}},
	Gram:     {MassKind, 100_000, 45_359_237, "g", []string{"g"}},

	PoundForce: {ForceKind, 980_665, 100_000, "lbf", []string{"lbf"}},
	Newton:     {ForceKind, 100_000_000, 45_359_237, "N", []string{"n"}},

	InchPoundForce: {TorqueKind, 24_908_891, 100_000_000, "lbf-in", []string{"lbf-in", "in-lbf", "lbf·in", "lbf in", "in-lb", "in lb", "in-lbs", "in lbs", "in.lb", "in.lbs", "lb-in", "lb in", "inch-pounds", "inch pounds"}},
	FootPoundForce: {TorqueKind, 298_906_692, 100_000_000, "lbf-ft", []string{"lbf-ft", "ft-lbf", "lbf·ft", "lbf ft", "ft-lb", "ft lb", "ft-lbs", "ft lbs", "ft.lb", "ft.lbs", "lb-ft", "lb ft", "foot-pounds", "foot pounds"}},
	NewtonMetre:    {TorqueKind, 100_000_000, 45_359_237, "N·m", []string{"n·m", "n-m", "nm"}},

	PoundPerSquareInch: {PressureKind, 9_806_650_000, 645_160, "psi", []string{"psi", "lbf/in2", "lbf/in²"}},
	Kilopascal:         {PressureKind, 100_000_000_000, 45_359_237, "kPa", []string{"kpa"}},
	Bar:                {PressureKind, 10_000_000_000_000, 45_359_237, "bar", []string{"bar"}},

	Second: {TimeKind, 1, 1, "s", []string{"s", "sec", "second", "seconds"}},
	Minute: {TimeKind, 60, 1, "min", []string{"min", "minute", "minutes"}},
	Hour:   {TimeKind, 3600, 1, "h", []string{"h", "hr", "hour", "hours"}},

	Celsius:    {TemperatureKind, 1, 1, "°C", []string{"°c", "c", "degc", "deg c"}},
	Fahrenheit: {TemperatureKind, 5, 9, "°F", []string{"°f", "f", "degf", "deg f"}},

	LitrePerMinute:    {FlowKind, 1, 1, "L/min", nil},
	USGallonPerMinute: {FlowKind, 3_785_411_784, 1_000_000_000, "US gal/min", []string{"gal/min"}},
	USQuartPerMinute:  {FlowKind, 946_352_946, 1_000_000_000, "US qt/min", []string{"qt/min"}},

	Each: {CountKind, 1, 1, "pcs", nil},
}

var unitBySpelling = func() map[string]Unit {
	m := map[string]Unit{}
	for u := NoUnit + 1; u < unitCount; u++ {
		t := &unitTable[u]
		for _, s := range append([]string{strings.ToLower(t.name)}, t.spelled...) {
			m[foldUnit(s)] = u
		}
	}
	return m
}()

// foldUnit makes the spellings of one unit equal: the micro sign and the
// Greek letter mu (both code points) become u, letters lower case, blanks one.
func foldUnit(s string) string {
	s = strings.ToLower(strings.Join(strings.Fields(s), " "))
	s = strings.ReplaceAll(s, "\u00b5", "u")
	return strings.ReplaceAll(s, "\u03bc", "u")
}

// ParseUnit returns the unit that text names: "in", `"`, "thou", "µin", "mm",
// "um", "lbf", "lbf-in", "psi" and the like; case is not significant. Text
// that names none is an error that wraps [ErrUnit].
func ParseUnit(text string) (Unit, error) {
	if u, ok := unitBySpelling[foldUnit(text)]; ok {
		return u, nil
	}
	return NoUnit, &ParseError{Text: text, Err: ErrUnit}
}

// Kind returns what the unit measures.
func (u Unit) Kind() Kind {
	if u < unitCount {
		return unitTable[u].kind
	}
	return NoKind
}

// String returns the unit's name as tenths prints it.
func (u Unit) String() string {
	if u < unitCount {
		return unitTable[u].name
	}
	return ""
}

// Units returns every unit that figures may be written in.
func Units() []Unit {
	all := make([]Unit, 0, unitCount-1)
	for u := NoUnit + 1; u < unitCount; u++ {
		all = append(all, u)
	}
	return all
}

// Spellings returns the other texts that [ParseUnit] reads as the unit.
func (u Unit) Spellings() []string {
	if u >= unitCount {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(unitTable[u].spelled), func(s string) bool {
		return foldUnit(s) == foldUnit(unitTable[u].name)
	})
}
