package quantity

import (
	"errors"
	"fmt"
	"math/big"
	"math/bits"
	"strconv"
	"strings"
)

// A Figure is an exact ratio of two whole numbers with a kind: what a limit
// judges. A length is count/1, the mean of n lengths sum/n, a taper per inch
// one length over another. The zero value has no kind and is nought.
//
// A Figure is kept in lowest terms, so == means equal.
type Figure struct {
	kind     Kind
	num, den int64 // den > 0, except in the zero value
}

// ErrKind reports figures of two kinds put together: a length and a force.
var ErrKind = errors.New("figures of different kinds")

// Kind returns what the figure measures.
func (a Figure) Kind() Kind { return a.kind }

// Length returns the figure as a length; ok is false where it is of another
// kind or not a whole count of tenths of a nanometre (a mean can be such).
func (a Figure) Length() (l Length, ok bool) {
	return Length{a.num}, a.kind == LengthKind && a.den == 1
}

// Sign returns −1, 0 or +1.
func (a Figure) Sign() int {
	switch {
	case a.num < 0:
		return -1
	case a.num > 0:
		return 1
	}
	return 0
}

// Cmp returns −1, 0 or +1 as a is less than, equal to or greater than b, which
// must be of the same kind. The products are of 128 bits: there is no rounding
// and no overflow.
func (a Figure) Cmp(b Figure) int {
	if a.kind != b.kind {
		panic("BUG: comparing " + a.kind.String() + " with " + b.kind.String())
	}
	if a.den == b.den {
		switch {
		case a.num < b.num:
			return -1
		case a.num > b.num:
			return 1
		}
		return 0
	}
	return a.cmpWide(b)
}

func (a Figure) cmpWide(b Figure) int {
	as, bs := a.Sign(), b.Sign()
	if as != bs {
		if as < bs {
			return -1
		}
		return 1
	}
	hi1, lo1 := bits.Mul64(magnitude(a.num), uint64(b.denominator()))
	hi2, lo2 := bits.Mul64(magnitude(b.num), uint64(a.denominator()))
	c := 0
	switch {
	case hi1 < hi2 || hi1 == hi2 && lo1 < lo2:
		c = -1
	case hi1 > hi2 || hi1 == hi2 && lo1 > lo2:
		c = 1
	}
	if as < 0 {
		return -c
	}
	return c
}

func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n)
	}
	return uint64(n)
}

func (a Figure) denominator() int64 {
	if a.den == 0 {
		return 1
	}
	return a.den
}

// Rat returns the figure's value in the base of its kind as a big.Rat.
func (a Figure) Rat() *big.Rat { return big.NewRat(a.num, a.denominator()) }

// figure makes a figure of an exact rational; it wraps [ErrRange] where the
// lowest terms do not fit.
func figure(k Kind, r *big.Rat) (Figure, error) {
	if !r.Num().IsInt64() || !r.Denom().IsInt64() {
		return Figure{}, ErrRange
	}
	n, d := r.Num().Int64(), r.Denom().Int64()
	// math.MinInt64 has no opposite; refusing it keeps every sign change safe.
	if n == -n && n != 0 {
		return Figure{}, ErrRange
	}
	return Figure{k, n, d}, nil
}

// Negative returns −a.
func (a Figure) Negative() Figure { return Figure{a.kind, -a.num, a.den} }

// Plus returns a + k·b. Figures of two kinds wrap [ErrKind], a result that
// does not fit wraps [ErrRange].
func (a Figure) Plus(k int, b Figure) (Figure, error) {
	if a.kind != b.kind {
		return Figure{}, fmt.Errorf("%w: %s and %s", ErrKind, a.kind, b.kind)
	}
	// Whole counts, as sizes are, need no ratios while they are of a size that
	// neither the product nor the sum can be too large.
	if a.den == 1 && b.den == 1 && k>>15 == k>>63 && magnitude(b.num) < 1<<47 && magnitude(a.num) < 1<<62 {
		return Figure{a.kind, a.num + int64(k)*b.num, 1}, nil
	}
	r := new(big.Rat).Mul(big.NewRat(int64(k), 1), b.Rat())
	return figure(a.kind, r.Add(r, a.Rat()))
}

// Scaled returns a·n/d, of the same kind; d must not be 0. A result that does
// not fit wraps [ErrRange].
func (a Figure) Scaled(n, d int64) (Figure, error) {
	if a.den == 1 && d > 0 && (n == 1 || magnitude(n) < 1<<15 && magnitude(a.num) < 1<<47) {
		// A sum of whole counts on its way to their mean; a count ten times over.
		by := a.num * n
		g := divisor(magnitude(by), uint64(d))
		return Figure{a.kind, by / g, d / g}, nil
	}
	return figure(a.kind, new(big.Rat).Mul(a.Rat(), big.NewRat(n, d)))
}

// divisor returns the greatest common divisor of a and d, which is not nought.
func divisor(a, d uint64) int64 {
	for a > 0 {
		a, d = d%a, a
	}
	return int64(d)
}

// Times returns a·r, of a's kind; r must be a ratio. A result that does not fit
// wraps [ErrRange].
func (a Figure) Times(r Figure) (Figure, error) {
	if r.kind != RatioKind {
		return Figure{}, fmt.Errorf("%w: %s times %s", ErrKind, a.kind, r.kind)
	}
	return figure(a.kind, new(big.Rat).Mul(a.Rat(), r.Rat()))
}

// Mean returns the exact mean of one or more figures of one kind.
func Mean(all []Figure) (Figure, error) {
	if len(all) == 0 {
		return Figure{}, errors.New("mean of no figures")
	}
	sum := all[0]
	for _, f := range all[1:] {
		var err error
		if sum, err = sum.Plus(1, f); err != nil {
			return Figure{}, err
		}
	}
	return sum.Scaled(1, int64(len(all)))
}

// Per returns the ratio a/b of two lengths, a taper per inch for one: the
// inches cancel, so the figure is the same in millimetres per millimetre. It
// fails where b is not greater than nought.
func Per(a, b Length) (Figure, error) {
	if b.tenthNm <= 0 {
		return Figure{}, errors.New("a rate needs a distance greater than nought")
	}
	return figure(RatioKind, big.NewRat(a.tenthNm, b.tenthNm))
}

// fraction returns (a − from) / (to − from) as an exact ratio; ok is false
// where to equals from or the kinds differ. It is how far a has gone from one
// limit to the other.
func fraction(a, from, to Figure) (r *big.Rat, ok bool) {
	if a.kind != from.kind || from.kind != to.kind || from == to {
		return nil, false
	}
	f := from.Rat()
	num, den := new(big.Rat).Sub(a.Rat(), f), new(big.Rat).Sub(to.Rat(), f)
	return num.Quo(num, den), true
}

// kelvinAtZero is what each temperature scale's nought is in kelvin.
var kelvinAtZero = map[Unit]*big.Rat{
	Celsius:    big.NewRat(27315, 100),
	Fahrenheit: big.NewRat(45967*5, 900),
}

// of returns the figure that is value units; the exact rational may be out of
// range.
func (u Unit) of(value *big.Rat) (Figure, error) {
	t := &unitTable[u]
	r := new(big.Rat).Mul(value, big.NewRat(t.num, t.den))
	if zero := kelvinAtZero[u]; zero != nil {
		r.Add(r, zero)
	}
	if t.kind == LengthKind {
		if !r.IsInt() {
			return Figure{}, ErrResolution
		}
		if r.Num().CmpAbs(big.NewInt(maxLength)) > 0 {
			return Figure{}, ErrRange
		}
	}
	return figure(t.kind, r)
}

// length is of, for count / scale units of length, which is a whole count of
// the smallest; ok is false where it is none, or out of range.
func (u Unit) length(count, scale uint64, negative bool) (f Figure, ok bool) {
	high, low := bits.Mul64(count, uint64(unitTable[u].num))
	if high >= scale {
		return Figure{}, false
	}
	length, finer := bits.Div64(high, low, scale)
	if finer != 0 || length > maxLength {
		return Figure{}, false
	}
	l := Length{int64(length)}
	if negative {
		l.tenthNm = -l.tenthNm
	}
	return l.Figure(), true
}

// small is of, for count / scale units that are no length; ok is false where a
// step of it does not fit in 62 bits.
func (u Unit) small(count, scale uint64, negative bool) (f Figure, ok bool) {
	ok = true
	times := func(a, b uint64) int64 {
		high, low := bits.Mul64(a, b)
		ok = ok && high == 0 && low < 1<<62
		return int64(low)
	}
	t := &unitTable[u]
	num, den := times(count, uint64(t.num)), times(scale, uint64(t.den))
	if negative {
		num = -num
	}
	if zero := kelvinAtZero[u]; zero != nil {
		above, below := zero.Num().Int64(), zero.Denom().Int64()
		num = times(magnitude(num), uint64(below))
		if negative {
			num = -num
		}
		num += times(uint64(above), uint64(den))
		den = times(uint64(den), uint64(below))
	}
	if !ok {
		return Figure{}, false
	}
	d := divisor(magnitude(num), uint64(den))
	return Figure{t.kind, num / d, den / d}, true
}

// in returns how many units the figure is, exactly.
func (a Figure) in(u Unit) *big.Rat {
	t := &unitTable[u]
	if t.kind != a.kind {
		panic("BUG: printing a " + a.kind.String() + " in " + u.String())
	}
	r := a.Rat()
	if zero := kelvinAtZero[u]; zero != nil {
		r.Sub(r, zero)
	}
	return r.Mul(r, big.NewRat(t.den, t.num))
}

// Text prints the figure in the unit with that many decimals (0 to 18), the
// unit left out. Where digits are dropped, exact is false and the text is
// rounded to the nearest, half to the even digit; a printed figure must never
// be judged again. Source of the rounding: ISO 80000-1:2009, annex B, rule A
// (from memory).
//
// The unit must be of the figure's kind.
func (a Figure) Text(u Unit, decimals int) (text string, exact bool) {
	decimals = max(0, min(decimals, 18))
	if a.kind == LengthKind && a.den == 1 {
		if text, ok := lengthText(a.num, u, decimals); ok {
			return text, true
		}
	}
	if text, exact, ok := a.smallText(u, decimals); ok {
		return text, exact
	}
	scaled := a.in(u)
	scaled.Mul(scaled, new(big.Rat).SetInt(pow10(decimals)))
	whole, rest := new(big.Int).QuoRem(new(big.Int).Abs(scaled.Num()), scaled.Denom(), new(big.Int))
	exact = rest.Sign() == 0
	if half := new(big.Int).Lsh(rest, 1).Cmp(scaled.Denom()); half > 0 || half == 0 && whole.Bit(0) == 1 {
		whole.Add(whole, big.NewInt(1))
	}
	return point(whole.String(), decimals, scaled.Sign() < 0 && whole.Sign() != 0), exact
}

// smallText is Text for a figure whose terms in the unit, in lowest terms, fit
// in 64 bits; ok is false where they don't or the unit is of temperature.
func (a Figure) smallText(u Unit, decimals int) (text string, exact, ok bool) {
	t := &unitTable[u]
	if t.kind != a.kind || kelvinAtZero[u] != nil {
		return "", false, false
	}
	n, d := magnitude(a.num), uint64(a.denominator())
	by, over := uint64(t.den), uint64(t.num)
	if g := uint64(divisor(n, over)); g > 1 {
		n, over = n/g, over/g
	}
	if g := uint64(divisor(by, d)); g > 1 {
		by, d = by/g, d/g
	}
	scale := uint64(1)
	for range decimals {
		scale *= 10
	}
	high, num := bits.Mul64(n, by)
	tooLarge, den := bits.Mul64(d, over)
	if high != 0 || tooLarge != 0 {
		return "", false, false
	}
	high, low := bits.Mul64(num, scale)
	if high >= den {
		return "", false, false
	}
	whole, rest := bits.Div64(high, low, den)
	if rest > den-rest || rest == den-rest && whole%2 == 1 {
		if whole++; whole == 0 {
			return "", false, false
		}
	}
	return point(strconv.FormatUint(whole, 10), decimals, a.num < 0 && whole != 0), rest == 0, true
}

// lengthText is Text for the common case, a whole count that the decimals can
// hold; ok is false where they can't or the unit is not of length.
func lengthText(n int64, u Unit, decimals int) (text string, ok bool) {
	if u.Kind() != LengthKind || decimals > 9 {
		return "", false
	}
	size := unitTable[u].num
	whole, rest := magnitude(n)/uint64(size), magnitude(n)%uint64(size)
	scale := uint64(1)
	for range decimals {
		scale *= 10
	}
	if rest*scale%uint64(size) != 0 {
		return "", false
	}
	if whole > 1<<63/scale {
		return "", false
	}
	return point(strconv.FormatUint(whole*scale+rest*scale/uint64(size), 10), decimals, n < 0), true
}

// point puts the decimal point into a string of digits.
func point(digits string, decimals int, negative bool) string {
	if pad := decimals + 1 - len(digits); pad > 0 {
		digits = strings.Repeat("0", pad) + digits
	}
	if decimals > 0 {
		cut := len(digits) - decimals
		digits = digits[:cut] + "." + digits[cut:]
	}
	if negative {
		return "-" + digits
	}
	return digits
}

func pow10(n int) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil)
}

// Decimals returns the fewest decimals that print the figure in the unit
// exactly, at most most; a figure with no end in that unit (1/3) gets most.
func (a Figure) Decimals(u Unit, most int) int {
	if a.kind == LengthKind && a.den == 1 && u.Kind() == LengthKind {
		size := uint64(unitTable[u].num)
		rest := magnitude(a.num) % size
		for n := range most {
			if rest == 0 {
				return n
			}
			rest = rest * 10 % size
		}
		return most
	}
	for n := range most {
		if _, exact := a.Text(u, n); exact {
			return n
		}
	}
	return most
}

// Percent returns how far a has gone from one figure to another, in whole
// percent rounded down and never below 0: 100 exactly at to. The figures must
// be of one kind and to must differ from from.
func Percent(a, from, to Figure) int64 {
	const bound = 1 << 55 // keeps the differences and the product inside 64 bits
	if a.den == from.den && from.den == to.den && a.kind == from.kind &&
		max(magnitude(a.num), magnitude(from.num), magnitude(to.num)) < bound {
		// Whole counts of one size: lengths, nearly always.
		gone, way := a.num-from.num, to.num-from.num
		if way < 0 {
			gone, way = -gone, -way
		}
		if gone <= 0 {
			return 0
		}
		if way > 0 {
			return gone * 100 / way
		}
	}
	r, ok := fraction(a, from, to)
	if !ok || r.Sign() <= 0 {
		return 0
	}
	p := new(big.Int).Mul(r.Num(), big.NewInt(100))
	if p.Quo(p, r.Denom()); !p.IsInt64() {
		return 1<<63 - 1
	}
	return p.Int64()
}
