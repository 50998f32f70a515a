// Package quantity holds the figures that inspection works with, exactly.
//
// A [Length] is a whole count of tenths of a nanometre. A [Figure] is an exact
// ratio of two whole numbers with a [Kind] (length, ratio, force…): it is what
// a printed limit is held against, so that means, tapers per inch and pounds
// per square inch are as exact as a micrometer reading. Nothing here goes
// through floating point.
//
// [Format] parses what a person, a gauge or a manual wrote, strictly and with
// no unit of its own: the unit stands in the text or is given by the caller,
// who has it from the book or from the file's column. [Shown] keeps the digits
// as they were written: 2.2490 is not 2.249, because the last digit says what
// the gauge could see.
//
// It is not for measurement doubt, temperature correction or shapes.
package quantity
