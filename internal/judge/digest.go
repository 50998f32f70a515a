package judge

import (
	"crypto/sha256"
	"encoding/hex"
	"strconv"
	"strings"

	"tenths/metrology/limit"
)

// Digest returns the SHA-256, in hexadecimal, of verdicts in words that mean
// the same for good: one line each, of fields with a tab between and a line
// feed behind:
//
//	main-fit-2  beyond  beyond  101600  110490/2  0  query  new[25400,63500] service[25400,101600]  912,913,871
//
// The instance; its grade; the grade so far; the smaller or tighter end and the
// larger or looser, each as a whole number or a fraction of its kind's base (a
// length's is 0.1 nm), or - where it is not known; how many spots are open; what
// is asked, with a comma between; each tier that it was held against, with its
// least and most, - where it has none, a round bracket where the limit itself is
// out; and the rows of the readings that stand at its spots, in their order. A
// line that is not graded has the reason in place of the grade.
//
// A signature carries it, so that what was signed can be told from what other
// readings, other limits, or another version of the rules come to.
func Digest(verdicts []Verdict, here Here) string {
	h := sha256.New()
	for i := range verdicts {
		h.Write([]byte(verdicts[i].line(here)))
	}
	return hex.EncodeToString(h.Sum(nil))
}

func (v *Verdict) line(here Here) string {
	grade, low, high := v.Grade.String(), "-", "-"
	if v.Ungraded != "" {
		grade = v.Ungraded
	}
	if v.Measured && len(v.Limit.Tiers) > 0 {
		if !v.NoLow {
			low = v.Ends.Low.Rat().RatString()
		}
		if !v.NoHigh {
			high = v.Ends.High.Rat().RatString()
		}
	}
	asks := make([]string, len(v.Asks))
	for i, a := range v.Asks {
		asks[i] = a.Kind.String()
	}
	tiers := make([]string, len(v.Limit.Tiers))
	for i, t := range v.Limit.Tiers {
		tiers[i] = t.Name + edge(t.Range.Min, "[", "(") + "," + edge(t.Range.Max, "]", ")")
	}
	var rows []string
	for _, id := range v.Line.Instances[v.At].Spots {
		for _, r := range here(id) {
			rows = append(rows, strconv.Itoa(r.Row))
		}
	}
	return strings.Join([]string{
		v.Line.ID(v.At), grade, v.SoFar.String(), low, high, strconv.Itoa(len(v.Missing)), strings.Join(asks, ","),
		strings.Join(tiers, " "), strings.Join(rows, ","),
	}, "\t") + "\n"
}

// edge writes one edge of a range with its bracket.
func edge(e limit.Edge, closed, open string) string {
	text, bracket := "-", closed
	if e.Set {
		text = e.At.Rat().RatString()
	}
	if e.Open {
		bracket = open
	}
	if bracket == "[" || bracket == "(" {
		return bracket + text
	}
	return text + bracket
}

// Decided tells whether the verdict is all that it can be: nothing is open, and
// no person is asked to settle what its readings are. What asks only whether a
// reading was misread does not keep it undecided.
func (v *Verdict) Decided() bool {
	return v.Ungraded != "" || v.Grade != NoGrade && !v.Open() && !v.asks(Settle) && !v.asks(Mixed)
}
