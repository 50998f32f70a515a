package check_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tenths/internal/check"
)

// Every code is found in the least book that has it, and in no other way than
// is said here; and every mend that is offered first. Figures of our own.
func TestEveryCode(t *testing.T) {
	const head = `format: book/1
engine: Least books
unit: in
parts:
  p:
    features:
      bore: {kind: inside}
      shaft: {kind: outside, steps: {m010: {shift: -0.010}}}
      shell: {kind: length, wears: smaller}
      end: {kind: clearance}
      round: {kind: outside, directions: [0, 90]}
      other: {kind: outside, directions: [0, 90]}
      a: {kind: outside}
      b: {kind: outside}
      c: {kind: outside}
lines:
`
	for _, tt := range []struct{ name, lines, want, mend string }{
		{"nothing", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 2.0020}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: 1.9970}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L, service: 0.0050L}`, "", ""},
		{"fit", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0300L}`, "fit-sum doubt", "fit new 0.0010L..0.0030L"},
		{"a letter of a fit", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010}
  shaft: {name: Shaft, size: p.shaft, new: 2.0005..2.0010}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0005L}`, "fit-sum doubt", "fit new 0.0010T..0.0005L"},
		{"rows exchanged", `
  shaft: {name: Shaft, size: p.shaft, new: 2.0000..2.0010}
  bore: {name: Bore, size: p.bore, new: 1.9964..1.9987}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0013L..0.0046L}`, "fit-sum doubt", "bore new 2.0000..2.0010, shaft new 1.9964..1.9987"},
		{"stack", `
  bore: {name: Bore, size: p.bore, new: 2.2510..2.2515}
  shell: {name: Shell, size: p.shell, new: 0.1240..0.1245}
  shaft: {name: Shaft, size: p.shaft, new: 2.0000..2.0010}
  fit: {name: Fit, fit: p.bore - 2 p.shell - p.shaft, new: 0.0010L..0.0053L}`, "stack-sum doubt", "fit new 0.0010L..0.0035L"},
		{"rounded", `
  bore: {name: Bore, size: p.bore, new: 2.00005..2.00100}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L}`, "fit-rounded note", ""},
		{"tighter", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 2.0020}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: same as new}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L, service: 0.0035L}`, "fit-service-tighter note", ""},
		{"looser", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 2.0020}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: none}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L, service: 0.0400L}`, "fit-service-looser doubt", "fit service 0.0040L"},
		{"below new", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0002L..0.0014L, service: 0.0016L}`, "fit-service-below-new doubt, fit-sum doubt", "shaft new 1.9980..1.9998"},
		{"far of a clearance", `
  end: {name: End clearance, size: p.end, new: 0.0015..0.0035, service: 0.06}`, "service-far doubt", "end service 0.006"},
		{"little of next to nothing", `
  end: {name: End clearance, size: p.end, new: 0.0000..0.0003, service: 0.0050}`, "", ""},
		{"the point of a service limit", `
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: 19.970}`, "service-inside fault", "shaft service 1.9970"},
		{"no point in a service limit", `
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: 1997}`, "service-inside fault", "shaft service 1.997"},
		{"a nought too many in a service limit", `
  end: {name: End clearance, size: p.end, new: 0.004..0.008, service: 0.0015}`, "service-inside fault", "end service 0.015"},
		{"service limits exchanged", `
  a: {name: Long pin, size: p.a, new: 1.9980..1.9990, service: 2.0030}
  bore: {name: Bushing, size: p.bore, new: 2.0000..2.0010, service: 1.9968}`, "service-inside fault, service-inside fault", "a service 1.9968, bore service 2.0030"},
		{"inside", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 2.0002}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: 1.9970}
  end: {name: End clearance, size: p.end, new: 0.004..0.008, service: 0.009}`, "service-inside fault", "bore service 2.0020"},
		{"crossed", `
  end: {name: End clearance, size: p.end, new: min 0.003, service: max 0.002}`, "limits-crossed fault", ""},
		{"an amount", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 0.0020}`, "service-is-amount fault", "bore service wear 0.0020 from min"},
		{"equal", `
  end: {name: End clearance, size: p.end, new: 0.004..0.008, service: 0.008}`, "service-equals-new note", ""},
		{"far", `
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: 1.5970}
  a: {name: Pin, size: p.a, new: 0.9980..0.9990, service: 0.9970}`, "service-far doubt", "shaft service 1.9970"},
		{"wide", `
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..11.9990}
  a: {name: Pin, size: p.a, new: 0.9980..0.9990}`, "range-wide doubt", "shaft new 1.9980..1.9990"},
		{"reversed", `
  shaft: {name: Shaft, size: p.shaft, new: 1.9990..1.9980}`, "range-reversed note", ""},
		{"units", `
  shaft: {name: Shaft, size: p.shaft, new: 2.0000..2.0010, also: {unit: mm, new: 50.800..50.285}}`, "unit-mismatch fault", "shaft also.new 50.800..50.825"},
		{"units cut off", `
  shaft: {name: Shaft, size: p.shaft, new: 2.0003..2.0010, also: {unit: mm, new: 50.80..50.82}}`, "unit-truncated note", ""},
		{"unit that can't be read", `
  shaft: {name: Shaft, size: p.shaft, new: 2.0000..2.0010, also: {unit: mm, new: 5O.800..50.825}}`, "unit-unreadable doubt", "shaft also.new 50.800..50.825"},
		{"decimals", `
  shaft: {name: Shaft, size: p.shaft, new: 2.000..2.0010}`, "decimals note", ""},
		{"a digit too many, where all others have four", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 2.00107}` + many(24), "decimals note", ""},
		{"a digit too many, where others have it too", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, service: 2.00107}` + many(5), "", ""},
		{"a step", `
  shaft: {name: Shaft, size: p.shaft, new: 2.0000..2.0010, steps: {m010: {new: 1.9900..1.9901}}}`, "step-uneven doubt", "shaft steps.m010.new 1.9900..1.9910"},
		{"an oversize", `
  a: {name: Bore 0.010 oversize, size: p.a, new: 2.0110..2.0120}
  b: {name: Bore 0.020 oversize, size: p.b, new: 2.0210..2.0220}
  c: {name: Bore 0.030 oversize, size: p.c, new: 2.0310..2.0380}`, "step-uneven doubt", "c new 2.0310..2.0320"},
		{"a sibling", `
  a: {name: Journal 1, size: p.a, new: 2.0010..2.0020}
  b: {name: Journal 2, size: p.b, new: 2.0010..2.0020}
  c: {name: Journal 3, size: p.c, new: 2.0070..2.0020}`, "sibling-unlike doubt, range-reversed note", "c new 2.0010..2.0020"},
		{"ten times", `
  round: {name: Main journal out-of-round, out-of-round: p.round, service: max 0.005}
  other: {name: Rod journal out-of-round, out-of-round: p.other, service: max 0.0005}`, "ten-times doubt", "round service max 0.0005"},
		{"twice", `
  a: {name: Pin, size: p.a, new: 2.0010..2.0020}
  b: {name: Pin again, size: p.a, new: 2.0010..2.0026}`, "feature-twice doubt", "b new 2.0010..2.0020"},
		{"twice by reference", `
  a: {ref: C2, name: End play, size: p.end, new: 0.05..0.28}
  b: {ref: C2, name: End play, size: p.a, new: 0.005..0.28}`, "range-wide doubt, feature-twice doubt, decimals note", "a new 0.005..0.28"},
		{"page", `
  a: {page: 1, name: Pin a, size: p.a, new: 2.0010..2.0020}
  b: {page: 1, name: Shaft b, size: p.b, new: 3.0010..3.0020}
  c: {name: Axle c, size: p.c, new: 4.0010..4.0020}`, "page-missing note", ""},
		{"a page left out", `
  a: {page: 3-1, name: Pin a, size: p.a, new: 2.0010..2.0020}
  b: {page: 3-2, name: Shaft b, size: p.b, new: 3.0010..3.0020}
  c: {page: 3-4, name: Axle c, size: p.c, new: 4.0010..4.0020}`, "page-gap note", ""},
		{"pages of another chapter", `
  a: {page: 3-1, name: Pin a, size: p.a, new: 2.0010..2.0020}
  b: {page: 3-2/3-3, name: Shaft b, size: p.b, new: 3.0010..3.0020}
  c: {page: 3-7, name: Axle c, size: p.c, new: 4.0010..4.0020}
  d: {page: 5-9, name: End, size: p.end, new: 0.0010L..0.0020L}`, "", ""},
		{"three things of one name", `
  a: {ref: A, page: 4-35, name: Case bore, size: p.a, new: 2.0010..2.0020}
  b: {ref: B, page: 4-35, name: Case bore, size: p.b, new: 2.0110..2.0120}
  c: {ref: C, page: 4-35, name: Case bore, size: p.c, new: 2.0050..2.0060}`, "", ""},
		{"one thing on two pages", `
  a: {ref: A, page: 4-35, name: Case bore, size: p.a, new: 2.0010..2.0020}
  b: {ref: 7, page: 5-2, name: Case bore, size: p.b, new: 2.0010..2.0030}`, "feature-twice doubt", "b new 2.0010..2.0020"},
		{"nowhere by reference", `
  a: {ref: 1, name: Pin a, size: p.a, new: 2.0010..2.0020}
  b: {ref: 2, name: Shaft b, size: p.b, new: 3.0010..3.0020, service: see item 1}
  c: {ref: 3, name: Axle c, size: p.c, new: 4.0010..4.0020, service: see item 9}
  d: {ref: 4, name: End, size: p.end, new: 0.0010L..0.0020L, service: see item 4}`, "reference-nowhere doubt, reference-nowhere doubt", ""},
		{"nowhere", `
  a: {name: Pin a, size: p.a, new: 2.0010..2.0020}
  b: {name: Shaft b, size: p.b, new: 3.0010..3.0020, service: see pin a}
  c: {name: Axle c, size: p.c, new: 4.0010..4.0020, service: see crankshaft}`, "reference-nowhere doubt", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			found := check.Book(load(t, head+tt.lines[1:]))
			var got []string
			for _, f := range found {
				got = append(got, f.Code+" "+f.Severity.String())
			}
			slices.Sort(got)
			want := strings.Split(tt.want, ", ")
			if tt.want == "" {
				want = nil
			}
			slices.Sort(want)
			if !slices.Equal(got, want) {
				t.Errorf("got %q, want %q", got, want)
			}
			var mends []string
			for _, f := range found {
				if len(f.Mends) > 3 {
					t.Errorf("%d mends", len(f.Mends))
				}
				for _, m := range f.Mends {
					text := m.Cell.Line.Key + " " + m.Cell.Name + " " + m.New
					if m.With != nil {
						text += ", " + m.With.Line.Key + " " + m.With.Name + " " + m.WithNew
					}
					mends = append(mends, text)
				}
			}
			if tt.mend == "" && len(mends) > 0 || tt.mend != "" && (len(mends) == 0 || mends[0] != tt.mend) {
				t.Errorf("mended by %q, want %q", mends, tt.mend)
			}
			for _, f := range found {
				covered[f.Code] = true
			}
		})
	}
	for _, c := range check.Codes {
		if !covered[c.Code] {
			t.Errorf("no book has %s", c.Code)
		}
	}
}

// many are lines of clearances that agree.
func many(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "\n  end-%c: {name: %c clearance, size: p.end, new: 0.0040..0.0080, service: 0.0090}", 'a'+i, 'A'+i)
	}
	return b.String()
}

var covered = map[string]bool{}
