package judge_test

import "testing"

// Sums of the trade that a book can say: what a fixture or a rule comes to, and
// how it stands against a limit seen in print. Readings are our own.
func TestTradeSums(t *testing.T) {
	const (
		// The gap under the arbor end that is lifted, over the blocks' distance
		// (the powerplant handbook).
		twist = "x: {kind: clearance, planes: {resting: 0, lifted: 6}}"
		// Two distances between the arbors, at equal offsets to both sides (the
		// handbook, from memory).
		bend = "x: {kind: length, wears: either, planes: {left: 0, right: 10}}"
		// Two dials of a fixture: the error of length is their mean, the bend
		// their difference, with their signs (TM 9-2815-226-34-1, page 171).
		dials = "x: {kind: clearance, planes: [a, b]}"
		// A ring's gap and the bore it is measured in.
		ring = "gap: {kind: clearance}, bore: {kind: inside, directions: [0, 90]}"
	)
	tests := []struct{ name, features, line, readings, want string }{
		// TM 9-2815-220-24, WP 0143.
		{"twist per inch", twist, "taper-rate: p.x, service: 0.0005 per inch", "x.resting 0; x.lifted 0.0030", "serviceable 0.0005 -"},
		{"a micro-inch more", twist, "taper-rate: p.x, service: 0.0005 per inch", "x.resting 0; x.lifted 0.003001", "beyond ≈0.000500167 -"},
		{"bend per inch", bend, "taper-rate: p.x, service: 0.0005 per inch", "x.left 6.4310; x.right 6.4360", "serviceable 0.0005 -"},
		{"the other way", bend, "taper-rate: p.x, service: 0.0005 per inch", "x.left 6.4361; x.right 6.4310", "beyond 0.00051 -"},
		// TM 5-6115-593-34: totals, with the bushing in and without.
		{"bend in all, bushing in", bend, "taper: p.x, service: 0.004", "x.left 6.4310; x.right 6.4350", "serviceable 0.004 -"},
		{"and past it", bend, "taper: p.x, service: 0.004", "x.left 6.4310; x.right 6.4351", "beyond 0.0041 -"},
		{"bend in all, bushing out", bend, "taper: p.x, service: 0.008", "x.left 6.4310; x.right 6.4390", "serviceable 0.008 -"},
		{"twist in all, bushing in", twist, "taper: p.x, service: 0.010", "x.resting 0; x.lifted 0.0101", "beyond 0.0101 -"},
		{"twist in all, bushing out", twist, "taper: p.x, service: 0.020", "x.resting 0; x.lifted 0.020", "serviceable 0.020 -"},
		// TM 10-3930-671-24, page 436: 0.002 over 4 in, piston on the rod.
		{"0.002 over 4 in", "x: {kind: length, wears: either, planes: {low: 0, high: 4}}", "taper-rate: p.x, service: 0.0005 per inch", "x.low 2; x.high 2.002", "serviceable 0.0005 -"},
		{"a tenth more", "x: {kind: length, wears: either, planes: {low: 0, high: 4}}", "taper-rate: p.x, service: 0.0005 per inch", "x.low 2; x.high 2.0021", "beyond 0.000525 -"},

		{"error of length by two dials", dials, "mean: p.x, service: -0.001..0.001", "x.a 0.003; x.b -0.002", "serviceable 0.0005 -"},
		{"bend by two dials", dials, "difference: p.x.a - p.x.b, service: -0.004..0.004", "x.a 0.003; x.b -0.002", "beyond 0.005 -"},
		{"signs kept", dials, "difference: p.x.a - p.x.b, service: -0.004..0.004", "x.a -0.003; x.b -0.002", "serviceable -0.001 -"},

		// A ring's gap grows about three times the wear of its bore, 0.003 for
		// 0.001 (TM 5-6115-593-34); by its circumference it is π (derived).
		{"gap in a new bore", ring, "size: p.gap, service: 0.010..0.045, moves: {with: p.bore, from: 5.1250, by: 3}", "gap 0.045; bore.-.0 5.1248; bore.-.90 5.1250", "serviceable 0.045 -"},
		{"gap in a worn bore", ring, "size: p.gap, service: 0.010..0.045, moves: {with: p.bore, from: 5.1250, by: 3}", "gap 0.048; bore.-.0 5.1252; bore.-.90 5.1260", "serviceable 0.048 -"},
		{"and past it", ring, "size: p.gap, service: 0.010..0.045, moves: {with: p.bore, from: 5.1250, by: 3}", "gap 0.0481; bore.-.0 5.1252; bore.-.90 5.1260", "beyond 0.0481 -"},
		{"by π", ring, "size: p.gap, service: 0.010..0.045, moves: {with: p.bore, from: 5.1250, by: 3.1416}", "gap 0.048141; bore.-.0 5.1252; bore.-.90 5.1260", "serviceable 0.048141 -"},
		{"by π and past it", ring, "size: p.gap, service: 0.010..0.045, moves: {with: p.bore, from: 5.1250, by: 3.1416}", "gap 0.048142; bore.-.0 5.1252; bore.-.90 5.1260", "beyond 0.048142 -"},

		// The interference of a guide is by the means of its sizes (common
		// practice, no source).
		{"interference by means", "hole: {kind: inside, directions: [0, 90]}, guide: {kind: outside, directions: [0, 90]}", "difference: p.hole - p.guide, service: -0.0025..-0.0015", "hole.-.0 0.5000; hole.-.90 0.5003; guide.-.0 0.5020; guide.-.90 0.5013", "serviceable -0.0015 -"},
		{"and too loose", "hole: {kind: inside, directions: [0, 90]}, guide: {kind: outside, directions: [0, 90]}", "difference: p.hole - p.guide, service: -0.0025..-0.0015", "hole.-.0 0.5001; hole.-.90 0.5003; guide.-.0 0.5020; guide.-.90 0.5013", "beyond -0.00145 -"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, v, _ := one(t, tt.features, tt.line, tt.readings)
			if got := show(&v); got != tt.want {
				t.Errorf("%s: %s\n got %s\nwant %s", tt.line, tt.readings, got, tt.want)
			}
		})
	}
}
