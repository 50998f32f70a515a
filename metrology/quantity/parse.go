package quantity

import (
	"errors"
	"math/big"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Why text is not a figure. A [ParseError] wraps one of them.
var (
	ErrSyntax     = errors.New("not a number")
	ErrUnit       = errors.New("unit missing or unknown")
	ErrWrongKind  = errors.New("unit of another kind")
	ErrResolution = errors.New("finer than a tenth of a nanometre")
	ErrRange      = errors.New("out of range")
)

// A ParseError reports text that is not a figure, with what it may have meant.
type ParseError struct {
	Text string   // as written
	Err  error    // one of the errors above
	May  []string // likely readings, for a person to choose from; none is taken
}

func (e *ParseError) Error() string {
	s := strconv.Quote(e.Text) + ": " + e.Err.Error()
	if len(e.May) > 0 {
		s += "; did it mean " + strings.Join(e.May, " or ") + "?"
	}
	return s
}

func (e *ParseError) Unwrap() error { return e.Err }

// Shown is a figure as it was written: its digits, never reformatted, and the
// unit it is in.
type Shown struct {
	Digits string // "2.2490", "-.0015", "2 1/32"
	Unit   Unit
}

// String returns the digits with their unit.
func (s Shown) String() string { return s.Digits + " " + s.Unit.String() }

// Decimals returns how many decimals were written: 4 for 2.2490.
func (s Shown) Decimals() int {
	if i := strings.LastIndexAny(s.Digits, ".,"); i >= 0 {
		return len(s.Digits) - i - 1
	}
	return 0
}

// A Format says how figures are written where they come from. The zero value
// takes decimal points and asks every text for its unit.
type Format struct {
	Unit         Unit // what a figure without a unit is in; NoUnit refuses it
	DecimalComma bool // the source writes 2,2490; a point is then refused
}

const maxText = 64 // no figure is longer; longer text is refused unread

// Length parses a length: an optional sign, digits with at most one decimal
// point (".0015" and "5." too), or a fraction as manuals print them
// ("2 1/32"), then an optional unit. Errors are *[ParseError].
func (f Format) Length(text string) (Length, Shown, error) {
	if f.Unit != NoUnit && f.Unit.Kind() != LengthKind {
		return Length{}, Shown{}, &ParseError{Text: text, Err: ErrWrongKind}
	}
	fig, shown, err := f.Figure(text)
	if err != nil {
		return Length{}, Shown{}, err
	}
	l, ok := fig.Length()
	if !ok {
		return Length{}, Shown{}, &ParseError{Text: text, Err: ErrWrongKind}
	}
	return l, shown, nil
}

// Figure parses a figure of any kind, by the grammar of [Format.Length]. Where
// the format has a unit, a unit in the text must be of the same kind.
func (f Format) Figure(text string) (Figure, Shown, error) {
	if len(text) > maxText {
		return Figure{}, Shown{}, &ParseError{Text: text[:maxText] + "…", Err: ErrSyntax}
	}
	digits, rest := cutNumber(strings.TrimSpace(text))
	if fig, shown, ok := f.plain(digits, rest); ok {
		return fig, shown, nil
	}
	return f.figure(text, digits, rest)
}

// plain reads what nearly every figure is, a decimal of at most 18 digits, in
// words of 64 bits. What it does not take, figure reads or refuses.
func (f Format) plain(digits, rest string) (Figure, Shown, bool) {
	unit := f.Unit
	if rest != "" {
		if unit = unitBySpelling[rest]; f.Unit != NoUnit && unit.Kind() != f.Unit.Kind() {
			return Figure{}, Shown{}, false
		}
	}
	mark := byte('.')
	if f.DecimalComma {
		mark = ','
	}
	token, negative := cutSign(digits)
	count, scale, seen, decimals := uint64(0), uint64(1), 0, false
	for i := range len(token) {
		switch c := token[i]; {
		case c >= '0' && c <= '9' && seen < 18:
			count = count*10 + uint64(c-'0')
			seen++
			if decimals {
				scale *= 10
			}
		case c == mark && !decimals:
			decimals = true
		default:
			return Figure{}, Shown{}, false
		}
	}
	if seen == 0 || unit == NoUnit {
		return Figure{}, Shown{}, false
	}
	of := unit.small
	if unit.Kind() == LengthKind {
		of = unit.length
	}
	fig, ok := of(count, scale, negative)
	return fig, Shown{Digits: digits, Unit: unit}, ok
}

// figure reads text that is cut after its number, of any kind and size.
func (f Format) figure(text, digits, rest string) (Figure, Shown, error) {
	fail := func(why error, may ...string) (Figure, Shown, error) {
		return Figure{}, Shown{}, &ParseError{Text: text, Err: why, May: may}
	}
	value, ok := f.value(digits)
	if !ok {
		return fail(ErrSyntax, f.likely(strings.TrimSpace(text))...)
	}
	unit := f.Unit
	if rest != "" {
		var err error
		if unit, err = ParseUnit(rest); err != nil {
			if may := f.likely(strings.TrimSpace(text)); len(may) > 0 {
				return fail(ErrSyntax, may...)
			}
			return fail(ErrUnit)
		}
		if f.Unit != NoUnit && unit.Kind() != f.Unit.Kind() {
			return fail(ErrWrongKind)
		}
	}
	if unit == NoUnit {
		return fail(ErrUnit)
	}
	fig, err := unit.of(value)
	if err != nil {
		return fail(err)
	}
	return fig, Shown{Digits: digits, Unit: unit}, nil
}

// cutNumber splits text after its longest run of number characters.
func cutNumber(text string) (digits, rest string) {
	end := 0
	for end < len(text) {
		r, size := utf8.DecodeRuneInString(text[end:])
		switch {
		case r >= '0' && r <= '9', r == '.', r == ',', r == '/':
		case (r == '+' || r == '-' || r == '−') && end == 0:
		case r == ' ' && fractionFollows(text[end:]):
		default:
			return text[:end], strings.TrimSpace(text[end:])
		}
		end += size
	}
	return text, ""
}

// fractionFollows tells " 1/32…", the blank inside a mixed number.
func fractionFollows(s string) bool {
	s = strings.TrimLeft(s, " ")
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n > 0 && n < len(s) && s[n] == '/'
}

// value reads a whole number token; ok is false where it is none.
func (f Format) value(token string) (v *big.Rat, ok bool) {
	token, negative := cutSign(token)
	if strings.Contains(token, "/") {
		v, ok = mixedNumber(token)
	} else {
		v, ok = f.decimal(token)
	}
	if ok && negative {
		v.Neg(v)
	}
	return v, ok
}

func cutSign(token string) (rest string, negative bool) {
	for _, minus := range []string{"-", "−"} {
		if rest, negative = strings.CutPrefix(token, minus); negative {
			return rest, true
		}
	}
	return strings.TrimPrefix(token, "+"), false
}

func (f Format) decimal(token string) (*big.Rat, bool) {
	mark := "."
	if f.DecimalComma {
		mark = ","
	}
	whole, part, _ := strings.Cut(token, mark)
	if whole+part == "" || !allDigits(whole) || !allDigits(part) {
		return nil, false
	}
	n, ok := new(big.Int).SetString(whole+part, 10)
	if !ok {
		return nil, false
	}
	return new(big.Rat).SetFrac(n, pow10(len(part))), true
}

// mixedNumber reads "1/32" and "2 1/32"; the fraction must be a proper one.
func mixedNumber(token string) (*big.Rat, bool) {
	whole, fraction, mixed := strings.Cut(token, " ")
	if !mixed {
		whole, fraction = "0", token
	}
	above, below, _ := strings.Cut(strings.TrimSpace(fraction), "/")
	if whole == "" || above == "" || below == "" || !allDigits(whole) || !allDigits(above) || !allDigits(below) {
		return nil, false
	}
	w, _ := new(big.Int).SetString(whole, 10)
	a, _ := new(big.Int).SetString(above, 10)
	b, _ := new(big.Int).SetString(below, 10)
	if b.Sign() == 0 || a.Cmp(b) >= 0 {
		return nil, false
	}
	r := new(big.Rat).SetFrac(a, b)
	return r.Add(r, new(big.Rat).SetInt(w)), true
}

func allDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// lookAlike maps what a scanner, a keyboard or an old typeface puts in place
// of a digit.
var lookAlike = map[rune]string{
	'O': "0", 'o': "0", 'Q': "0", 'D': "0", 'Ø': "0",
	'l': "1", 'I': "1", 'i': "1", '|': "1", '!': "1",
	'Z': "2", 'z': "2", 'A': "4", 'S': "5", 's': "5", 'G': "6", 'b': "6", 'B': "8", 'g': "9", 'q': "9",
}

// likely offers what text that is not a number may have meant. It never
// decides: a person does.
func (f Format) likely(text string) []string {
	number, unit := text, ""
	if i := strings.LastIndex(text, " "); i >= 0 {
		if _, err := ParseUnit(text[i+1:]); err == nil {
			number, unit = text[:i], text[i:]
		}
	}
	var may []string
	offer := func(s string) {
		if _, ok := f.value(s); !ok {
			return
		}
		for _, have := range may {
			if have == s+unit {
				return
			}
		}
		may = append(may, s+unit)
	}
	if strings.IndexFunc(number, func(r rune) bool { return r >= '0' && r <= '9' }) < 0 {
		return nil
	}
	var swapped, dropped strings.Builder
	for _, r := range number {
		digit, alike := lookAlike[r]
		if !alike {
			swapped.WriteRune(r)
			dropped.WriteRune(r)
			continue
		}
		swapped.WriteString(digit)
	}
	if swapped.String() != number {
		offer(swapped.String())
		if d := dropped.String(); d != "" && d[0] >= '0' && d[0] <= '9' {
			offer(d)
		}
	}
	mark, other := ".", ","
	if f.DecimalComma {
		mark, other = ",", "."
	}
	if strings.Count(number, other) == 1 && !strings.Contains(number, mark) {
		offer(strings.Replace(number, other, mark, 1))
	}
	if strings.Count(number, mark) == 2 {
		may = append(may, runTogether(number, mark, unit)...)
		last := strings.LastIndex(number, mark)
		offer(number[:last] + number[last+1:])
	}
	return may
}

// runTogether splits two numbers that lost the dash between them, where both
// then have whole parts of one length: 4.0004.001 is 4.000 and 4.001.
func runTogether(number, mark, unit string) []string {
	first, second := strings.Index(number, mark), strings.LastIndex(number, mark)
	cut := second - first
	if cut <= first {
		return nil
	}
	left, right := number[:cut], number[cut:]
	if !allDigits(strings.Replace(left, mark, "", 1)) || !allDigits(strings.Replace(right, mark, "", 1)) {
		return nil
	}
	return []string{left + " and " + right + unit}
}
