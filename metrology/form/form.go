// Package form finds the simple errors of shape that a bench measures with a
// micrometer and a dial: out-of-round, taper, run-out and bend, each as a
// difference of readings. Nothing is fitted.
//
// Readings come as they were taken: by plane (along the part) and direction
// (around it), several at one spot where one was repeated. A repeat is not
// form: only readings at different spots are held against each other, and of
// repeats the one that makes the form worse counts.
//
// Rules are common practice of the trade, no source, but run-out: total
// indicator reading is the greatest less the smallest (TM 10-3930-664-24,
// p. 3-41), and bend is half of it (TM 10-3930-653-14&P, p. 79).
package form

import "tenths/metrology/quantity"

// A Spot is the least and greatest of the readings at one place of a part, and
// whether there are any.
type Spot struct {
	Least, Greatest quantity.Length
	Read            bool
}

// Add puts one reading to the spot.
func (s *Spot) Add(l quantity.Length) {
	if !s.Read || l.Cmp(s.Least) < 0 {
		s.Least = l
	}
	if !s.Read || l.Cmp(s.Greatest) > 0 {
		s.Greatest = l
	}
	s.Read = true
}

// A Spread is a difference between two spots of a row, named by their index.
type Spread struct {
	Size     quantity.Length // never negative
	High, Lo int             // where the greater and the smaller reading stand
	Found    bool            // at least two spots of the row have readings
}

// Difference returns the greatest difference between readings at two different
// spots of the row. With fewer than two spots read nothing is found. One more
// spot read never makes it smaller.
func Difference(row []Spot) Spread {
	var best Spread
	for i := range row {
		for j := range row {
			if i == j || !row[i].Read || !row[j].Read {
				continue
			}
			d := row[i].Greatest.Plus(-1, row[j].Least)
			if !best.Found || d.Cmp(best.Size) > 0 {
				best = Spread{d, i, j, true}
			}
		}
	}
	return best
}

// OutOfRound returns how far a section is from round: the greatest difference
// of its diameters across directions.
func OutOfRound(directions []Spot) Spread { return Difference(directions) }

// Taper returns the greatest difference of diameters along one direction of a
// part, from plane to plane.
func Taper(planes []Spot) Spread { return Difference(planes) }

// RunOut returns the total indicator reading of a dial: the greatest reading
// less the smallest, never their sum.
func RunOut(angles []Spot) Spread { return Difference(angles) }

// Bend returns half of a total indicator reading, exactly.
func Bend(tir quantity.Length) (quantity.Figure, error) { return tir.Figure().Scaled(1, 2) }

// TaperRate returns taper per unit of length: the greatest, over all pairs of
// planes, of the difference between them divided by their distance. along
// gives each plane's place along the part and must rise.
func TaperRate(planes []Spot, along []quantity.Length) (rate quantity.Figure, at Spread, err error) {
	for i := range planes {
		for j := range i {
			d := Difference([]Spot{planes[j], planes[i]})
			if !d.Found {
				continue
			}
			r, err := quantity.Per(d.Size, along[i].Plus(-1, along[j]))
			if err != nil {
				return quantity.Figure{}, Spread{}, err
			}
			if !at.Found || r.Cmp(rate) > 0 {
				rate = r
				at = Spread{d.Size, j, i, true}
				if d.High == 1 {
					at.High, at.Lo = i, j
				}
			}
		}
	}
	return rate, at, nil
}
