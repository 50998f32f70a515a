package quantity

// A Length is a signed, exact length in tenths of a nanometre: one microinch
// is 254 of them and one micrometre 10 000, so inch and metric readings are
// both whole counts and their sums and differences are exact. The zero value
// is no length.
//
// The inch is 25.4 mm exactly. Source: NIST SP 811 (2008), appendix B.6,
// "international inch".
type Length struct{ tenthNm int64 }

// maxLength bounds what is parsed: 100 m, far beyond any engine part, so that
// a million lengths may be added without a check.
const maxLength = 1_000_000_000_000

// TenthsOfNanometre returns the length of n tenths of a nanometre. It is for
// tests, storage and drawing; figures that people write go through [Format].
func TenthsOfNanometre(n int64) Length { return Length{n} }

// TenthsOfNanometre returns the whole count that a is.
func (a Length) TenthsOfNanometre() int64 { return a.tenthNm }

// Plus returns a + k·b. A million lengths as parsed, each taken a handful of
// times, stay far inside the range of the count.
func (a Length) Plus(k int, b Length) Length {
	return Length{a.tenthNm + int64(k)*b.tenthNm}
}

// Cmp returns −1, 0 or +1 as a is shorter than, equal to or longer than b.
func (a Length) Cmp(b Length) int {
	switch {
	case a.tenthNm < b.tenthNm:
		return -1
	case a.tenthNm > b.tenthNm:
		return 1
	}
	return 0
}

// Abs returns the length without its sign.
func (a Length) Abs() Length {
	if a.tenthNm < 0 {
		return Length{-a.tenthNm}
	}
	return a
}

// Figure returns a as a figure of kind [LengthKind].
func (a Length) Figure() Figure { return Figure{kind: LengthKind, num: a.tenthNm, den: 1} }

// Text prints a in the unit, which must be one of length, with that many
// decimals; see [Figure.Text].
func (a Length) Text(u Unit, decimals int) (text string, exact bool) {
	return a.Figure().Text(u, decimals)
}
