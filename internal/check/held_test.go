package check_test

import (
	"strings"
	"testing"

	"tenths/internal/check"
)

// Of what a held cell may say, what makes the sum come out stands first and says
// so. Figures of our own, but for those of the table named.
func TestHoldsAreRanked(t *testing.T) {
	const head = `format: book/1
engine: Held
unit: in
parts:
  p: {features: {bore: {kind: inside}, shaft: {kind: outside}, shell: {kind: length, wears: smaller}, end: {kind: clearance}}}
lines:
`
	for _, tt := range []struct{ name, lines, want string }{
		{
			"the second reading", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010}
  shaft: {name: Shaft, size: p.shaft, hold: {new: {text: "1.998-l.999", may: [1.998..1.9990, 1.9980..1.9990, 1.9988..1.9990]}}}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0022L}`,
			"1.9988..1.9990! 1.998..1.9990 1.9980..1.9990",
		},
		{
			"a bore of the fourth table: 0.9949-0.0061", `
  bore: {name: Case bore, size: p.bore, new: 1.000..1.0012}
  shaft: {name: Shifter shaft outside diameter, size: p.shaft, hold: {new: {text: "0.9949-0.0061", may: [0.9949..0.0061, 0.9949 +0/-0.0061]}}}
  fit: {name: Shaft fit, fit: p.bore - p.shaft, new: 0.0039L..0.0063L}`,
			"0.9949..0.9961! 0.9949..0.0061 0.9949 +0/-0.0061",
		},
		{
			"nothing is known of the other", `
  bore: {name: Bore, size: p.bore, hold: {new: {text: 2.OOO - 2.OO1, may: [2.000..2.001]}}}
  shaft: {name: Shaft, size: p.shaft, hold: {new: {text: 1.99B - 1.999, may: [1.998..1.999]}}}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.001L..0.003L}`,
			"2.000..2.001 / 1.998..1.999",
		},
		{
			"what the sum asks for is unlike what is printed", `
  bore: {name: Bore, size: p.bore, hold: {new: {text: 3.7I5 - 3.716, may: [3.715..3.716]}}}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L}`,
			"3.715..3.716",
		},
		{
			"the fit itself", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010}
  shaft: {name: Shaft, size: p.shaft, new: 2.0005..2.0015}
  fit: {name: Fit, fit: p.bore - p.shaft, hold: {new: {text: 0.0015 / 0.0005, may: [0.0015L..0.0005T, 0.0015T..0.0005L]}}}`,
			"0.0015T..0.0005L! 0.0015L..0.0005T",
		},
		{
			"a shell of a stack", `
  bore: {name: Bore, size: p.bore, new: 2.2510..2.2515}
  shell: {name: Shell, size: p.shell, hold: {new: {text: "0.I240-0.1245", may: [0.1124..0.1245, 0.1240..0.1245]}}}
  shaft: {name: Shaft, size: p.shaft, new: 2.0000..2.0010}
  fit: {name: Fit, fit: p.bore - 2 p.shell - p.shaft, new: 0.0010L..0.0035L}`,
			"0.1240..0.1245! 0.1124..0.1245",
		},
		{
			"a service limit", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, hold: {service: {text: "2.OO2O", may: [2.0000, 2.0020, 2.0028]}}}
  shaft: {name: Shaft, size: p.shaft, new: 1.9980..1.9990, service: 1.9970}
  fit: {name: Fit, fit: p.bore - p.shaft, new: 0.0010L..0.0030L, service: 0.0050L}`,
			"2.0020! 2.0000 2.0028",
		},
		{
			"no fit", `
  bore: {name: Bore, size: p.bore, new: 2.0000..2.0010, hold: {service: {text: "2.OO2O", may: [2.0020]}}}
  kind: {name: Thing, size: p.shaft, new: 1..2, hold: {kind: {text: Thing, may: [outside]}}}`,
			"2.0020 / outside",
		},
	} {
		b := load(t, head+tt.lines[1:])
		var all []string
		for _, h := range check.Holds(b) {
			var one []string
			for _, r := range h.Readings {
				text := r.Text
				if r.Why != "" {
					text += "!"
					if !strings.Contains(r.Why, "as printed") {
						t.Errorf("%s: %s", tt.name, r.Why)
					}
				}
				one = append(one, text)
			}
			all = append(all, strings.Join(one, " "))
		}
		if got := strings.Join(all, " / "); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
		for _, h := range check.Holds(b) {
			if len(h.Readings) > 0 && h.Readings[0].Why != "" {
				t.Log(tt.name, h.Readings[0].Why)
			}
		}
	}
}
