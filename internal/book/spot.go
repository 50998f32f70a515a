package book

import (
	"fmt"
	"strconv"
	"strings"
)

// A Spot is where one reading is taken. Its text is the only key for it, in
// files, addresses and records, and for good:
//
//	part[-n].feature[-n][.plane[.direction]]
//
// rod-3.bigend-1.front.90 is the front plane, 90° direction of the first big
// end of the third rod. Part, feature and plane are names of a–z and 0–9 that
// begin with a letter; a direction may begin with a digit; - stands for a
// plane that is not stated (crank.seal.-.90). Position and Place are 0 where
// the thing stands alone.
type Spot struct {
	Part             string
	Position         int
	Feature          string
	Place            int
	Plane, Direction string
}

// String returns the spot's text.
func (s Spot) String() string {
	var b strings.Builder
	b.WriteString(site(s.Part, s.Position, s.Feature, s.Place))
	if s.Plane != "" || s.Direction != "" {
		b.WriteByte('.')
		if s.Plane == "" {
			b.WriteByte('-')
		}
		b.WriteString(s.Plane)
	}
	if s.Direction != "" {
		b.WriteByte('.')
		b.WriteString(s.Direction)
	}
	return b.String()
}

// site is the part of a spot's text that names a feature of a part.
func site(part string, position int, feature string, place int) string {
	return numbered(part, position) + "." + numbered(feature, place)
}

func numbered(name string, n int) string {
	if n == 0 {
		return name
	}
	return name + "-" + strconv.Itoa(n)
}

// IsName tells a name: a–z and 0–9, beginning with a letter.
func IsName(text string) bool { return IsDirection(text) && text[0] >= 'a' }

// IsDirection tells a name that may begin with a figure.
func IsDirection(text string) bool {
	for i := range len(text) {
		if c := text[i]; (c < 'a' || c > 'z') && (c < '0' || c > '9') {
			return false
		}
	}
	return text != ""
}

// isLineKey tells names with - between.
func isLineKey(text string) bool {
	for name := range strings.SplitSeq(text, "-") {
		if !IsName(name) {
			return false
		}
	}
	return true
}

// MaxNumber bounds positions and places: no engine has more of one thing.
const MaxNumber = 999

// ParseSpot reads a spot's text; it accepts exactly what String writes.
func ParseSpot(text string) (Spot, error) {
	fail := func(what string) (Spot, error) {
		return Spot{}, fmt.Errorf("%s: a spot is part[-n].feature[-n][.plane[.direction]], as rod-3.bigend-1.front.90", what)
	}
	fields := strings.Split(text, ".")
	if len(fields) < 2 || len(fields) > 4 {
		return fail("wants two to four names with points between")
	}
	var s Spot
	var ok bool
	if s.Part, s.Position, ok = CutNumber(fields[0]); !ok {
		return fail("the part's name is not one")
	}
	if s.Feature, s.Place, ok = CutNumber(fields[1]); !ok {
		return fail("the feature's name is not one")
	}
	if len(fields) > 2 {
		switch plane := fields[2]; {
		case plane == "-" && len(fields) == 4:
		case IsName(plane):
			s.Plane = plane
		default:
			return fail("the plane's name is not one")
		}
	}
	if len(fields) > 3 {
		if !IsDirection(fields[3]) {
			return fail("the direction's name is not one")
		}
		s.Direction = fields[3]
	}
	return s, nil
}

// CutNumber splits "rod-3" into its name and number.
func CutNumber(text string) (name string, n int, ok bool) {
	name, digits, numbered := strings.Cut(text, "-")
	if numbered {
		var err error
		if n, err = strconv.Atoi(digits); err != nil || n < 1 || n > MaxNumber || strconv.Itoa(n) != digits {
			return "", 0, false
		}
	}
	return name, n, IsName(name)
}
