package judge_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/judge"
)

// What a line's keys do, one small book each: the lines in short, what is given
// ("bushing=new 2100"), the readings ("spot value", with step= and stage= behind
// where they are not standard and as found), and the verdicts as show writes
// them. Figures are our own.
func TestKeys(t *testing.T) {
	const (
		shaft   = "x: {kind: outside}"
		shafts  = "x: {kind: outside, places: 2}"
		gap     = "x: {kind: clearance}"
		lifts   = "x: {kind: length, wears: smaller, places: 3}"
		pairs   = "x: {kind: clearance, places: 4}"
		ground  = "x: {kind: outside, places: 2, steps: {std: {mates: {p.s: [std, m002]}}, m010: {shift: -0.010, mates: {p.s: [m010]}}}}"
		bearing = ground + ", s: {kind: length, wears: smaller, places: 2, steps: {m002: {shift: 0.001}, m010: {shift: 0.005}}}, h: {kind: inside, places: 2}"
		sizes   = "a: {size: p.x, new: 1.0000..1.0010, service: 0.9990}"
		stepped = "a: {size: p.x, new: 2.0000..2.0010, service: 1.9990}"
		clear   = "a: {fit: p.h - 2 p.s - p.x, new: 0.0010L..0.0030L, service: 0.0050L}"
		ends    = "x: {kind: outside}, h: {kind: inside}"
		washer  = "a: {fit: p.h - p.x, select: [0.121, 0.123, 0.125], new: 0.006..0.008, service: 0.010}"
		ring    = "gap: {kind: clearance}, bore: {kind: inside, directions: [0, 90]}"
		moved   = "a: {size: p.gap, new: 0.030..0.045, service: 0.060, moves: {with: p.bore, from: 5.1250, by: 3}}"
		barrel  = "x: {kind: inside, planes: [top, mid, low], directions: [0, 90]}"
		chain   = "a: {size: p.x, service: 0.9990}, b: {size: p.x, serials: [2000..], amendment: sb1, replaces: a, service: 0.9992}, c: {size: p.x, serials: [2500..], amendment: sb2, replaces: b, service: 0.9994}"
		newest  = "c: {size: p.x, serials: [2500..], amendment: sb2, replaces: b, service: 0.9994}, b: {size: p.x, serials: [2000..], amendment: sb1, replaces: a, service: 0.9992}, a: {size: p.x, service: 0.9990}"
		byBush  = "a: {size: p.x, when: {bushing: new}, service: 0.9995}, b: {size: p.x, when: {bushing: used}, service: 0.9990}"
		direct  = "e: {kind: clearance}, " + ends
		governs = "a: {fit: p.h - p.x, governed-by: b, service: 0.0050L}, b: {size: p.e, service: 0.0040}"
		forNew  = "a: {fit: p.h - p.x, governed-by: b, service: 0.0050L}, b: {size: p.e, when: {bushing: new}, service: 0.0040}"
	)
	tests := []struct{ name, features, lines, given, readings, want string }{
		// Tiers: only new is new; the others may be used, by their names.
		{"within the first tier", gap, "a: {size: p.x, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.026}}", "", "x 0.016", "a new 0.016 0%"},
		{"within the second", gap, "a: {size: p.x, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.026}}", "", "x 0.020", "a serviceable 0.020 40% [overhaul]"},
		{"within the last", gap, "a: {size: p.x, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.026}}", "", "x 0.026", "a serviceable 0.026 100%"},
		{"within none", gap, "a: {size: p.x, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.026}}", "", "x 0.0261", "a beyond 0.0261 101%"},
		{"the side that the last tiers don't name stays", gap, "a: {size: p.x, tiers: {new: 0.008..0.016, overhaul: ..0.020, service: ..0.026}}", "", "x 0.0079", "a beyond 0.0079 -"},

		// Bands: what is to be done; only use may go as it is.
		{"to be used", "x: {kind: dial, directions: [0, 90]}", "a: {run-out: p.x, bands: {use: ..0.002, rework: ..0.005}}", "", "x.-.0 0; x.-.90 0.002", "a serviceable 0.002 - to use"},
		{"to be reworked", "x: {kind: dial, directions: [0, 90]}", "a: {run-out: p.x, bands: {use: ..0.002, rework: ..0.005}}", "", "x.-.0 0; x.-.90 0.0021", "a beyond 0.0021 - to rework"},
		{"at its end", "x: {kind: dial, directions: [0, 90]}", "a: {run-out: p.x, bands: {use: ..0.002, rework: ..0.005}}", "", "x.-.0 0; x.-.90 0.005", "a beyond 0.005 - to rework"},
		{"to be rejected", "x: {kind: dial, directions: [0, 90]}", "a: {run-out: p.x, bands: {use: ..0.002, rework: ..0.005}}", "", "x.-.0 0; x.-.90 0.0051", "a beyond 0.0051 - to reject"},

		// Conditions: the line of another word is left out; where nothing is
		// stated both are judged, and held.
		{"stated", shaft, byBush, "bushing=new", "x 0.9992", "a beyond 0.9992 -"},
		{"stated otherwise", shaft, byBush, "bushing=used", "x 0.9992", "b serviceable 0.9992 -"},
		{"not stated", shaft, byBush, "", "x 0.9992", "a none 0.9992 - which:bushing\nb none 0.9992 - which:bushing"},
		{"not stated, nothing measured", shaft, byBush, "", "", "a ~none unmeasured - which:bushing open:1\nb ~none unmeasured - which:bushing open:1"},

		// Serial numbers: both ends are in, and so is a number alone.
		{"below", shaft, "a: {size: p.x, serials: [2001..2999, 4000], service: 0.9990}, b: {size: p.x, serials: [..2000], service: 0.9980}", "2000", "x 0.9985", "b serviceable 0.9985 -"},
		{"first", shaft, "a: {size: p.x, serials: [2001..2999, 4000], service: 0.9990}, b: {size: p.x, serials: [..2000], service: 0.9980}", "2001", "x 0.9985", "a beyond 0.9985 -"},
		{"last", shaft, "a: {size: p.x, serials: [2001..2999, 4000], service: 0.9990}, b: {size: p.x, serials: [..2000], service: 0.9980}", "2999", "x 0.9985", "a beyond 0.9985 -"},
		{"between", shaft, "a: {size: p.x, serials: [2001..2999, 4000], service: 0.9990}, b: {size: p.x, serials: [3000..3999], service: 0.9980}", "3000", "x 0.9985", "b serviceable 0.9985 -"},
		{"alone", shaft, "a: {size: p.x, serials: [2001..2999, 4000], service: 0.9990}, b: {size: p.x, serials: [3000..3999], service: 0.9980}", "4000", "x 0.9985", "a beyond 0.9985 -"},
		{"with letters", shaft, "a: {size: p.x, serials: [L-1001-A..L-1999-A], service: 0.9990}, b: {size: p.x, serials: [L-2000-A..], service: 0.9980}", "l1500a", "x 0.9985", "a beyond 0.9985 -"},
		{"another series", shaft, "a: {size: p.x, serials: [L-1001-A..L-1999-A], service: 0.9990}, b: {size: p.x, service: 0.9980}", "L-1500-B", "x 0.9985", "b serviceable 0.9985 -"},
		{"letters left out", shaft, "a: {size: p.x, serials: [L-1001-A..L-1999-A], service: 0.9990}", "1500", "x 0.9985", "a none 0.9985 - which:serial 1500"},
		{"no serial number", shaft, "a: {size: p.x, serials: [1001..1999], service: 0.9990}", "to be read", "x 0.9985", "a none 0.9985 - which:serial to be read"},
		{"no serial stated", shaft, "a: {size: p.x, serials: [2001..], service: 0.9990}", "", "x 0.9985", "a none 0.9985 - which:serial"},

		// An amendment's line stands in for another where it applies.
		{"not for this engine", shaft, chain, "1999", "x 0.9990", "a serviceable 0.9990 -"},
		{"amended", shaft, chain, "2000", "x 0.9990", "b beyond 0.9990 -"},
		{"amended again", shaft, chain, "2500", "x 0.9990", "c beyond 0.9990 -"},
		{"amended again, listed first", shaft, newest, "2500", "x 0.9990", "c beyond 0.9990 -"},
		{"amended once, listed first", shaft, newest, "2000", "x 0.9990", "b beyond 0.9990 -"},

		// The line measured directly governs, where it is measured.
		{"not yet measured", direct, governs, "", "h 1.0045; x 1.0000", "a serviceable 0.0045L -\nb ~none unmeasured - open:1"},
		{"measured", direct, governs, "", "h 1.0045; x 1.0000; e 0.0041", "a none 0.0045L - (b governs)\nb beyond 0.0041 -"},
		{"for this engine", direct, forNew, "bushing=new", "h 1.0045; x 1.0000; e 0.0041", "a none 0.0045L - (b governs)\nb beyond 0.0041 -"},
		{"what stands in for the governing line governs", direct, governs + ", c: {size: p.e, when: {bushing: new}, replaces: b, service: 0.0042}", "bushing=new", "h 1.0045; x 1.0000; e 0.0041", "a none 0.0045L - (c governs)\nc serviceable 0.0041 -"},
		{"and what stands in for that", direct, governs + ", c: {size: p.e, when: {bushing: new}, replaces: b, service: 0.0042}, d: {name: D, size: p.e, when: {bushing: new}, replaces: c, service: 0.0043}", "bushing=new", "h 1.0045; x 1.0000; e 0.0041", "a none 0.0045L - (d governs)\nd serviceable 0.0041 -"},
		{"a line for other engines governs nothing", direct, forNew, "bushing=used", "h 1.0045; x 1.0000; e 0.0041", "a serviceable 0.0045L -"},

		// Shown and not graded.
		{"either part may wear", ends, "a: {size: p.h, graded: no, new: 1.0000..1.0010}, b: {fit: p.h - p.x, service: 0.0050L}", "", "h 1.0050; x 1.0000", "a none 1.0050 - (only the fit is judged)\nb serviceable 0.0050L -"},
		{"for reference", shaft, "a: {size: p.x, new: reference 1.0000..1.0010}", "", "x 0.5", "a none 0.5000 - (reference)"},
		{"by selection", ends, "a: {fit: p.h - p.x, new: by selection}", "", "h 1.0050; x 1.0000", "a none 0.005L - (reference)"},

		// Limits that move with another reading: the upper ones only, by the
		// largest reading over from.
		{"at from", ring, moved, "", "gap 0.045; bore.-.0 5.1240; bore.-.90 5.1250", "a new 0.045 0%"},
		{"one over", ring, moved, "", "gap 0.048; bore.-.0 5.1240; bore.-.90 5.1260", "a new 0.048 0%"},
		{"past that", ring, moved, "", "gap 0.0481; bore.-.0 5.1240; bore.-.90 5.1260", "a serviceable 0.0481 0%"},
		{"to the end", ring, moved, "", "gap 0.063; bore.-.0 5.1240; bore.-.90 5.1260", "a serviceable 0.063 100%"},
		{"past the end", ring, moved, "", "gap 0.0631; bore.-.0 5.1240; bore.-.90 5.1260", "a beyond 0.0631 100%"},
		{"the least stays", ring, moved, "", "gap 0.029; bore.-.0 5.1240; bore.-.90 5.1260", "a beyond 0.029 -"},
		{"its bore open", ring, moved, "", "gap 0.0481", "a ~none unmeasured - open:2"},
		{"beyond so far, the bore not all measured", ring, moved, "", "gap 0.0631; bore.-.0 5.1260", "a ~beyond 0.0631 100% open:1"},
		{"a bore that is bracketed", ring, moved, "", "gap 0.0610; bore.-.0 5.1240; bore.-.90 5.1255 goes, 5.1260 does not go", "a serviceable 0.061 96%"},
		{"and is not as large as the gauge that does not go", ring, moved, "", "gap 0.063; bore.-.0 5.1240; bore.-.90 5.1255 goes, 5.1260 does not go", "a beyond 0.063 110%"},
		{"and leaves it undecided", ring, moved, "", "gap 0.0620; bore.-.0 5.1240; bore.-.90 5.1255 goes, 5.1260 does not go", "a none 0.062 - undecided"},

		// Selected parts: those that bring the fit into the narrowest tier.
		{"one part suits", ends, washer, "", "h 3.130; x 3.000", "a new 0.007L 0% pick 0.123"},
		{"two suit", ends, washer, "", "h 3.131; x 3.000", "a new 0.008L 0% pick 0.123 pick 0.125"},
		{"only into service", ends, washer, "", "h 3.135; x 3.000", "a serviceable 0.010L 100% pick 0.125"},
		{"none suits: the nearest", ends, washer, "", "h 3.140; x 3.000", "a beyond 0.015L 350%"},

		// Groups.
		{"spread", lifts, "a: {spread: p.x, new: ..0.002, service: 0.004}", "", "x-1 0.390; x-2 0.394; x-3 0.391", "a serviceable 0.004 100%"},
		{"spread by groups", lifts, "a: {spread: p.x, groups: [[p.x-1, p.x-2], [p.x-2, p.x-3]], service: 0.003}", "", "x-1 0.390; x-2 0.394; x-3 0.391", "a-1 beyond 0.004 -\na-2 serviceable 0.003 -"},
		{"spread while one is open", lifts, "a: {spread: p.x, service: 0.004}", "", "x-1 0.390; x-2 0.394", "a ~serviceable 0.004 - open:1"},
		{"spread beyond already", lifts, "a: {spread: p.x, service: 0.003}", "", "x-1 0.390; x-2 0.394", "a beyond 0.004 - open:1"},
		{"two readings of one place are no spread", lifts, "a: {spread: p.x, service: 0.003}", "", "x-1 0.390; x-1 0.394", "a ~none unmeasured - settle open:2"},
		{"mean at least, none below", lifts, "a: {mean: p.x, service: min 0.390}, b: {size: p.x, service: min 0.380}", "", "x-1 0.381; x-2 0.390; x-3 0.399", "a serviceable 0.390 -\nb-1 serviceable 0.381 -\nb-2 serviceable 0.390 -\nb-3 serviceable 0.399 -"},
		{"mean below", lifts, "a: {mean: p.x, service: min 0.390}", "", "x-1 0.381; x-2 0.390; x-3 0.398", "a beyond ≈0.389666667 -"},
		{"mean while one is open", lifts, "a: {mean: p.x, service: min 0.390}", "", "x-1 0.380; x-2 0.380", "a ~beyond 0.380 - open:1"},
		{"total", pairs, "a: {total: p.x, groups: [[p.x-1, p.x-2], [p.x-3, p.x-4]], new: 0.012..0.024}", "", "x-1 0.012; x-2 0.012; x-3 0.0059; x-4 0.006", "a-1 new 0.024 -\na-2 beyond 0.0119 -"},
		{"total of half", pairs, "a: {total: p.x, groups: [[p.x-1, p.x-2]], new: 0.012..0.024}", "", "x-1 0.025", "a ~none unmeasured - open:1"},

		// Differences of means, of planes where they are named.
		{"planes", barrel, "a: {difference: p.x.top - p.x.low, service: max 0}", "", "x.top.0 5.1250; x.top.90 5.1252; x.low.0 5.1251; x.low.90 5.1251", "a serviceable 0 -"},
		{"half a tenth over", barrel, "a: {difference: p.x.top - p.x.low, service: max 0}", "", "x.top.0 5.1250; x.top.90 5.1253; x.low.0 5.1251; x.low.90 5.1251", "a beyond 0.00005 -"},
		{"while one is open", barrel, "a: {difference: p.x.top - p.x.low, service: max 0}", "", "x.top.0 5.1253; x.low.0 5.1251; x.low.90 5.1251", "a ~beyond 0.0002 - open:1"},

		// A line that looks at some planes only.
		{"the top left out", barrel, "a: {size: p.x, planes: [mid, low], new: 5.1250..5.1260}", "", "x.mid.0 5.1250; x.mid.90 5.1252; x.low.0 5.1251; x.low.90 5.1251; x.top.0 5.2", "a new 5.1250..5.1252 -"},
		{"in a form too", barrel, "a: {taper: p.x, planes: [mid, low], new: ..0.0005}", "", "x.mid.0 5.1250; x.mid.90 5.1252; x.low.0 5.1251; x.low.90 5.1251; x.top.0 5.2; x.top.90 5.1", "a new 0.0001 -"},

		// Yes or no.
		{"yes is well", "x: {kind: check, places: 2}", "a: {check: p.x}", "", "x-1 yes; x-2 no", "a-1 serviceable answered -\na-2 beyond answered -"},
		{"no is well", "x: {kind: check, places: 2}", "a: {check: p.x, want: no}", "", "x-1 yes; x-2 no", "a-1 beyond answered -\na-2 serviceable answered -"},
		{"both answers", "x: {kind: check}", "a: {check: p.x}", "", "x yes; x no", "a beyond answered - settle"},
		{"not looked at", "x: {kind: check}", "a: {check: p.x}", "", "", "a ~none unmeasured - open:1"},

		// Steps: limits move by the shift, or are the step's own.
		{"at a step", ground + ", s: {kind: length, wears: smaller, steps: {m002: {shift: 0.001}, m010: {shift: 0.005}}}", stepped, "", "x-1 1.9980; x-2 1.9900 step=m010", "a-1 beyond 1.9980 200%\na-2 new 1.9900 0%"},
		{"worn at a step", ground + ", s: {kind: length, wears: smaller, steps: {m002: {shift: 0.001}, m010: {shift: 0.005}}}", stepped, "", "x-1 1.9990; x-2 1.9890 step=m010", "a-1 serviceable 1.9990 100%\na-2 serviceable 1.9890 100%"},
		{"limits of the step's own", bearing, "a: {size: p.x, new: 2.0000..2.0010, service: 1.9990, steps: {m010: {new: 1.9895..1.9900, service: 1.9885}}}", "", "x-1 2.0000; x-2 1.9885 step=m010", "a-1 new 2.0000 0%\na-2 serviceable 1.9885 100%"},
		{"the size of another step", bearing, stepped, "", "x-1 1.9905; x-2 2.0005 step=m010", "a-1 beyond 1.9905 950% step:m010\na-2 new 2.0005 0% query step:std"},
		{"no such step", bearing, stepped, "", "x-1 1.9905 step=m020; x-2 2.0000", "a-1 none 1.9905 - mark:m020\na-2 new 2.0000 0%"},
		{"worn, with thick shells", bearing, clear, "", "h-1 2.2000; s-1 0.0990 step=m002; x-1 1.9990; h-2 2.2000; s-2 0.0995; x-2 1.9990", "a-1 new 0.0030L 0%\na-2 new 0.0020L 0%"},
		{"ground, with shells that do not go with it", bearing, clear, "", "h-1 2.2000; s-1 0.1000 step=m002; x-1 1.9970 step=m010; h-2 2.2000; s-2 0.1040 step=m010; x-2 1.9900 step=m010", "a-1 beyond 0.0030L 0% wrong mates\na-2 new 0.0020L 0%"},
		{"the whole group at one step", shafts[:len(shafts)-1] + ", steps: {m010: {shift: -0.010}}}", "a: {same-step: p.x}", "", "x-1 2.0000; x-2 1.9900 step=m010", "a beyond std,m010 -"},
		{"all ground", shafts[:len(shafts)-1] + ", steps: {m010: {shift: -0.010}}}", "a: {same-step: p.x}", "", "x-1 1.9900 step=m010; x-2 1.9900 step=m010", "a serviceable m010,m010 -"},
		{"one not seen", shafts[:len(shafts)-1] + ", steps: {m010: {shift: -0.010}}}", "a: {same-step: p.x}", "", "x-1 1.9900 step=m010", "a ~none m010,std - open:1"},

		// A reworked part is held on both sides, a used one on its wear side.
		{"used, larger than new", shaft, sizes, "", "x 1.0011", "a new 1.0011 0% query"},
		{"reworked, larger than new", shaft, sizes, "", "x 1.0011 stage=rework 1", "a beyond 1.0011 -"},
		{"reworked, smaller than new", shaft, sizes, "", "x 0.9990 stage=rework 1", "a serviceable 0.9990 100%"},
		{"ground to its step and a tenth too large", bearing, stepped, "", "x-1 1.9911 step=m010 stage=rework 1; x-2 2.0000", "a-1 beyond 1.9911 -\na-2 new 2.0000 0%"},
		{"what was found is past", shaft, sizes, "", "x 0.9980; x 1.0000 stage=rework 1", "a new 1.0000 0%"},
		{"an installed bore ends with its insert", "i: {kind: length, wears: smaller}, x: {kind: inside, made-of: [p.i]}", "a: {size: p.x, new: 1.0000..1.0010}", "", "x 1.0005; i 0.1 stage=rework 1", "a ~none unmeasured - open:1"},
		{"and is measured again", "i: {kind: length, wears: smaller}, x: {kind: inside, made-of: [p.i]}", "a: {size: p.x, new: 1.0000..1.0010}", "", "x 1.0005; i 0.1 stage=rework 1; x 1.0010 stage=rework 1", "a new 1.0010 -"},

		// Brackets and bands.
		{"between two feelers, within", gap, "a: {size: p.x, new: 0.002..0.005, service: 0.008}", "", "x 0.004 goes, 0.005 does not go", "a new 0.004..0.005 -"},
		{"at a limit that no feeler of it went", gap, "a: {size: p.x, service: reject 0.008 or more}", "", "x 0.007 goes, 0.008 does not go", "a serviceable 0.007..0.008 -"},
		{"across a limit", gap, "a: {size: p.x, new: 0.002..0.005, service: 0.008}", "", "x 0.007 goes, 0.009 does not go", "a none 0.007..0.009 - undecided"},
		{"across new and service", gap, "a: {size: p.x, new: 0.002..0.005, service: 0.008}", "", "x 0.004 goes, 0.006 does not go", "a serviceable 0.004..0.006 -"},
		{"across rework and reject", gap, "a: {size: p.x, bands: {use: 0.002..0.005, rework: ..0.008}}", "", "x 0.007 goes, 0.009 does not go", "a beyond 0.007..0.009 - to rework or reject undecided"},
		{"across two tiers that may be used", gap, "a: {size: p.x, tiers: {overhaul: 0.002..0.005, service: ..0.008}}", "", "x 0.004 goes, 0.006 does not go", "a serviceable 0.004..0.006 -"},
		{"a strip in a fit", gap, "a: {size: p.x, new: 0.001..0.003, service: 0.005}", "", "x 0.0015..0.0020", "a new 0.0015..0.002 -"},
		{"two ends that may each be within, and not together", "x: {kind: outside, directions: [0, 90]}, h: {kind: inside}", "a: {fit: p.h - p.x, new: 0.0010L..0.0015L}", "", "h 2.0000 goes, 2.0020 does not go; x.-.0 1.9990; x.-.90 2.0000", "a beyond 0.0000..0.0030L -"},
		{"form wants figures", "x: {kind: inside, directions: [0, 90]}", "a: {out-of-round: p.x, service: 0.001}", "", "x.-.0 1.0000 goes, 1.0005 does not go; x.-.90 1.0002", "a none unmeasured - undecided"},
		{"an amount of wear, all of the bracket out", "x: {kind: inside}", "a: {size: p.x, new: 0.9903..0.9906, service: wear 0.001}", "", "x 0.9917 goes, 0.9919 does not go", "a beyond 0.9917..0.9919 -"},
		{"an amount of wear, some of the bracket in doubt", "x: {kind: inside}", "a: {size: p.x, new: 0.9903..0.9906, service: wear 0.001}", "", "x 0.9915 goes, 0.9919 does not go", "a none 0.9915..0.9919 - undecided"},
		{"an amount of wear, all of it in doubt", "x: {kind: inside}", "a: {size: p.x, new: 0.9903..0.9906, service: wear 0.001}", "", "x 0.9914 goes, 0.9916 does not go", "a none 0.9914..0.9916 - hold"},

		{"two items at one place", "x: {kind: outside, directions: [0, 90]}", sizes, "", "x.-.0 1.0000 item=A; x.-.90 1.0000 item=B", "a none 1.0000 0% mixed"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			lines := strings.NewReplacer("a: {", "a: {name: A, ", "b: {", "b: {name: B, ", "c: {", "c: {name: C, ").Replace(tt.lines)
			b := loadBook(t, []byte("format: book/1\nengine: Test\nunit: in\nconditions: {bushing: [new, used]}\n"+
				"amendments: {sb1: {number: SB-1, date: 2026-01-01, title: First}, sb2: {number: SB-2, date: 2026-02-01, title: Second}}\n"+
				"parts: {p: {features: {"+tt.features+"}}}\nlines: {"+lines+"}\n"))
			given := judge.Given{Conditions: map[string]string{}}
			if condition, word, ok := strings.Cut(tt.given, "="); ok {
				given.Conditions[condition] = word
			} else if tt.given != "" {
				given.Serial = tt.given
			}
			if diff := cmp.Diff(strings.Split(tt.want, "\n"), shown(b, given, loadReadings(t, b, readingsFile(tt.readings)))); diff != "" {
				t.Errorf("%s: %s (-want +got):\n%s", tt.lines, tt.readings, diff)
			}
		})
	}
}

// readingsFile writes readings as a file has them.
func readingsFile(text string) []byte {
	var csv strings.Builder
	csv.WriteString("spot,value,step,stage,item\n")
	for row := range strings.SplitSeq(text, ";") {
		spot, rest, ok := strings.Cut(strings.TrimSpace(row), " ")
		if !ok {
			continue
		}
		cells := map[string]string{}
		for _, key := range []string{"item", "stage", "step"} { // from the last
			rest, cells[key], _ = strings.Cut(rest, " "+key+"=")
		}
		csv.WriteString("p." + spot + `,"` + rest + `",` + cells["step"] + "," + cells["stage"] + "," + cells["item"] + "\n")
	}
	return []byte(csv.String())
}

// The least of a clearance stays where it is when the upper limits grow, also in
// the other reading of a limit that is held.
func TestHeldLimitMoves(t *testing.T) {
	_, v, _ := one(t, "x: {kind: clearance, directions: [0, 90]}, y: {kind: inside}",
		"size: p.x, new: 0.001..0.003, service: wear 0.002, moves: {with: p.y, from: 5.000, by: 0.5}",
		"x.-.0 0.0015; x.-.90 0.0050; y 5.002")
	// Counted from new max the most is 0.005 and 0.001 more, from new min 0.004.
	if v.Grade != judge.NoGrade || len(v.Asks) != 1 || v.Asks[0].Kind != judge.Hold {
		t.Errorf("%s, %v", v.Grade, v.Asks)
	}
}

// Where it is not known which of two amendments governs, what both supersede is
// left out, in whatever order the lines stand.
func TestSupersededTwice(t *testing.T) {
	lines := []string{
		"  first: {name: First, size: p.x, new: 1..2}\n",
		"  second: {name: Second, size: p.x, new: 1..3, replaces: first}\n",
		"  third: {name: Third, size: p.x, new: 1..4, serials: [2001..], replaces: second}\n",
	}
	for _, order := range [][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		b := loadBook(t, []byte("format: book/1\nengine: Test\nunit: in\nparts: {p: {features: {x: {kind: inside}}}}\nlines:\n"+
			lines[order[0]]+lines[order[1]]+lines[order[2]]))
		r := loadReadings(t, b, []byte("spot,value\np.x,1.5\n"))
		for _, v := range judge.Book(b, judge.Given{}, r.At) {
			if v.Line.Key == "first" || v.Grade != judge.NoGrade || len(v.Asks) != 1 || v.Asks[0].Kind != judge.Which {
				t.Errorf("%v: %s is %s, %v", order, v.Line.Key, v.Grade, v.Asks)
			}
		}
	}
}
