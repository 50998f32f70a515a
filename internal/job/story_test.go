package job_test

import (
	"strings"
	"testing"

	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/reading"
)

// A reading is of its item: where the item goes, it goes.
func TestTwoRodsChangePlaces(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	k.found("R2", "rod", "rod-2")
	k.take("rod-1.bigend.-.0", "1.5011")
	k.take("rod-1.bigend.-.90", "1.5012")
	k.take("rod-2.bigend.-.0", "1.5035")
	k.counts("rod-1.bigend.-.0=1.5011 of R1, rod-1.bigend.-.90=1.5012 of R1, rod-2.bigend.-.0=1.5035 of R2 |")
	if g := k.verdict("bigend-2"); g.Grade != judge.Beyond {
		t.Errorf("rod 2 is %v", g.Grade)
	}
	was := k.state.Snapshot()

	k.fit("rod-1", "R2", "rod-2", "R1")
	k.counts("rod-1.bigend.-.0=1.5035 of R2, rod-2.bigend.-.0=1.5011 of R1, rod-2.bigend.-.90=1.5012 of R1 |")
	if one, two := k.verdict("bigend-1"), k.verdict("bigend-2"); one.Grade != judge.Beyond || two.Grade != judge.New {
		t.Errorf("the rods are %v and %v", one.Grade, two.Grade)
	}
	// A reading is entered where the rod is now, and struck whoever it is of.
	k.take("rod-1.bigend.-.90", "1.5036")
	k.strike(6)
	k.counts("rod-1.bigend.-.90=1.5036 of R2, rod-2.bigend.-.0=1.5011 of R1, rod-2.bigend.-.90=1.5012 of R1 |")

	k.fit("rod-2", "")
	k.counts("rod-1.bigend.-.90=1.5036 of R2 | 4, 5")
	if why := k.aside(4); why != "R1 is fitted nowhere" {
		t.Errorf("R1's counts no more since %q", why)
	}
	if got := len(was.Judge(k.book).Live); got != 3 {
		t.Errorf("of what was known before the swap %d readings count", got)
	}
}

// A replacement is measured on the shelf, by the place that it is meant for, and
// counts once it is fitted, wherever that is.
func TestReplacementRod(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	k.take("rod-1.side", "0.016")
	k.found("R3", "rod", "")
	n := k.takeOf("R3", "rod-1.side", "0.006")
	k.takeOf("R3", "rod-2.bigend.-.0", "1.5011")
	k.counts("rod-1.side=0.016 of R1 | 5, 6")
	if why := k.aside(n); why != "R3 is fitted nowhere" {
		t.Errorf("R3's does not count since %q", why)
	}
	k.fit("rod-1", "R3")
	k.counts("rod-1.bigend.-.0=1.5011 of R3, rod-1.side=0.006 of R3 | 3")
	if g := k.verdict("side-1").Grade; g != judge.New {
		t.Errorf("the new one is %v", g)
	}
	k.fit("rod-1", "R1", "rod-2", "R3")
	k.counts("rod-2.bigend.-.0=1.5011 of R3, rod-1.side=0.016 of R1, rod-2.side=0.006 of R3 |")
}

// Readings taken before a thing had a tag become its own when it is registered
// as found there.
func TestTaggedLater(t *testing.T) {
	k := opened(t)
	k.take("rod-1.side", "0.007")
	k.take("rod-2.side", "0.008")
	k.counts("rod-1.side=0.007, rod-2.side=0.008 |")
	k.refused("rs", fit("rod-1", "R9"), "nameless")
	k.found("R1", "rod", "rod-1")
	k.counts("rod-1.side=0.007 of R1, rod-2.side=0.008 |")
	k.fit("rod-1", "")
	k.counts("rod-2.side=0.008 | 2")
	k.refused("rs", fit("rod-2", "R1"), "nameless")
	k.found("R2", "rod", "rod-2")
	k.fit("rod-1", "R2", "rod-2", "R1")
	k.counts("rod-1.side=0.008 of R2, rod-2.side=0.007 of R1 |")
}

// What is measured at a place that is known to be empty is of nobody knows what.
func TestNothingIsThere(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	early := k.state.Size
	k.fit("rod-1", "")
	k.refused("rs", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.007"}}, "item")
	k.late(early, "rod-1.side", "0.009") // it was still there when this was taken
	k.fit("rod-1", "R1")
	k.counts("rod-1.side=0.009 of R1 |")
}

// What was taken without a tag and told late is of what was there then: of the
// item that was found there, or of a piece that nobody knows.
func TestTakenWithoutATagToldLate(t *testing.T) {
	k := opened(t)
	early := k.state.Size
	k.found("R1", "rod", "rod-1")
	k.found("R2", "rod", "")
	k.fit("rod-2", "R2")
	k.late(early, "rod-1.side", "0.007")
	n := k.late(early, "rod-2.side", "0.008")
	k.counts("rod-1.side=0.007 of R1 | 6")
	if why := k.aside(n); !strings.Contains(why, "had no tag") {
		t.Errorf("it does not count since %q", why)
	}
	k.fit("rod-1", "R2")
	k.counts("| 5, 6")
}

// Rework ends the readings of the features that it names, of that item, and no
// others.
func TestRework(t *testing.T) {
	k := opened(t)
	k.found("K1", "crank", "crank")
	k.take("crank.main-1", "1.9995")
	k.take("crank.pin-1.-.0", "1.4975")
	k.take("crank.pin-1.-.90", "1.4996")
	k.take("crank.pin-2.-.0", "1.4997")
	n := k.rework("K1", "pin-1")
	k.counts("crank.main-1=1.9995 of K1, crank.pin-2.-.0=1.4997 of K1 | 4, 5")
	if why, want := k.aside(4), "K1 came back from rework later: entry 7"; why != want || n != 7 {
		t.Errorf("it counts no more since %q, want %q", why, want)
	}
	k.take("crank.pin-1.-.0", "1.4998")
	k.counts("crank.main-1=1.9995 of K1, crank.pin-1.-.0=1.4998 of K1 rework 1, crank.pin-2.-.0=1.4997 of K1 | 4, 5")
	k.rework("K1", "pin-1", "pin-2")
	k.counts("crank.main-1=1.9995 of K1 | 4, 5, 6, 8")
	k.take("crank.pin-2.-.0", "1.4998")
	if got := k.state.Readings[len(k.state.Readings)-1].Stage; got != 2 {
		t.Errorf("it is taken at stage %d", got)
	}
	// Another crank is not reworked by it.
	k.found("K2", "crank", "")
	k.takeOf("K2", "crank.pin-1.-.0", "1.4999")
	k.fit("crank", "K2")
	k.counts("crank.pin-1.-.0=1.4999 of K2 | 3, 4, 5, 6, 8, 10")
}

// What was left alone stays at its stage, however often the item went away: one
// more reading there puts aside none of the others, and it is held to the sides
// that a used part is held to.
func TestReworkElsewhere(t *testing.T) {
	k := opened(t)
	k.found("K1", "crank", "crank")
	k.take("crank.pin-1.-.0", "1.4995")
	k.take("crank.pin-1.-.90", "1.5002") // better than new: asked, and no more
	k.rework("K1", "main-1")
	n := k.take("crank.pin-1.-.0", "1.4995")
	k.strike(3)
	if got := k.state.Readings[2]; got.Seq != n || got.Stage != 1 {
		t.Errorf("it is recorded as %+v", got.ReadingTaken)
	}
	k.counts("crank.pin-1.-.0=1.4995 of K1, crank.pin-1.-.90=1.5002 of K1 |")
	if v := k.verdict("pin-1"); v.Grade != judge.New || len(v.Asks) != 1 || v.Asks[0].Kind != judge.Query {
		t.Errorf("the pin is %v, asked %v", v.Grade, v.Asks)
	}
	k.rework("K1", "pin-1")
	k.take("crank.pin-1.-.0", "1.4995")
	k.take("crank.pin-1.-.90", "1.5002")
	if v := k.verdict("pin-1"); v.Grade != judge.Beyond {
		t.Errorf("reground, the pin is %v", v.Grade)
	}
}

// What was measured as assembled ends with the rework that comes after it.
func TestAssembledThenReworked(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	k.do("rs", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.006", Stage: "assembled"}})
	k.rework("R1", "side")
	k.take("rod-1.side", "0.009")
	k.counts("rod-1.side=0.009 of R1 rework 1 | 3")
}

// A reading that was taken before grinding and arrives after it lands on the old
// stage, and on the item that was there; nothing is judged by it.
func TestReadingThatArrivesLate(t *testing.T) {
	k := opened(t)
	k.found("K1", "crank", "crank")
	k.found("R1", "rod", "rod-1")
	k.found("R2", "rod", "rod-2")
	early := k.state.Size
	k.rework("K1", "pin-1")
	k.fit("rod-1", "R2", "rod-2", "R1")
	k.take("crank.pin-1.-.0", "1.4995")
	n := k.late(early, "crank.pin-1.-.0", "1.4970")
	if taken := k.state.Readings[1]; taken.Item != "K1" || taken.Stage != 0 || taken.Seq != n {
		t.Errorf("it is recorded as %+v", taken.ReadingTaken)
	}
	k.late(early, "crank.pin-2.-.0", "1.4996")
	k.late(early, "rod-1.side", "0.007")
	k.counts("crank.pin-1.-.0=1.4995 of K1 rework 1, crank.pin-2.-.0=1.4996 of K1, rod-2.side=0.007 of R1 | 11")
	if v := k.verdict("pin-1"); v.Grade == judge.Beyond || v.SoFar != judge.New {
		t.Errorf("the pin is %v, so far %v", v.Grade, v.SoFar)
	}
	// Whoever names the stage knows of it, whatever their device did.
	k.do("rs", &job.Take{Row: reading.Row{Spot: "crank.pin-1.-.90", Value: "1.4996", Stage: "rework 1"}, Known: early})
	k.counts("crank.pin-1.-.0=1.4995 of K1 rework 1, crank.pin-1.-.90=1.4996 of K1 rework 1, crank.pin-2.-.0=1.4996 of K1, rod-2.side=0.007 of R1 | 11")
	k.strike(k.state.Size)
	// Told in words it is the same, however late.
	k.do("rs", &job.Take{Row: reading.Row{Spot: "crank.pin-1.-.90", Value: "1.4971", Stage: "found"}})
	if why := k.aside(k.state.Size); !strings.Contains(why, "came back from rework later") {
		t.Errorf("it does not count since %q", why)
	}
}

// bored is a case with shells in it, all with tags, and the first bore measured.
func bored(t *testing.T) (k *bench, reading int64) {
	t.Helper()
	k = opened(t)
	k.found("C1", "case", "case")
	k.found("S1", "shell", "shell-1")
	k.found("S2", "shell", "shell-2")
	n := k.take("case.fitted-1", "2.0015")
	k.take("case.fitted-2", "2.0016")
	k.counts("case.fitted-1=2.0015 of C1, case.fitted-2=2.0016 of C1 |")
	return k, n
}

// An installed bore's reading ends when what it is made of moves or is reworked:
// that of its own number.
func TestInstalledBore(t *testing.T) {
	moved := "what the bore was made of is not so fitted any more"
	for _, c := range []struct {
		name   string
		change func(*bench)
		want   string
		why    string
	}{
		{"a shell is taken out", func(k *bench) { k.fit("shell-1", "") }, "case.fitted-2=2.0016 of C1 | 5", moved},
		{"another shell goes in", func(k *bench) { k.found("S3", "shell", ""); k.fit("shell-1", "S3") }, "case.fitted-2=2.0016 of C1 | 5", moved},
		{"the shells change places", func(k *bench) { k.fit("shell-1", "S2", "shell-2", "S1") }, "| 5, 6", moved},
		{"another crank goes in", func(k *bench) { k.found("K2", "crank", ""); k.fit("crank", "K2") }, "case.fitted-1=2.0015 of C1, case.fitted-2=2.0016 of C1 |", ""},
		{"a shell is reworked", func(k *bench) { k.rework("S1", "wall") }, "case.fitted-2=2.0016 of C1 | 5", "S1, which the bore is made of, came back from rework later: entry 7"},
		{"the bore without shells is reworked", func(k *bench) { k.rework("C1", "bore-1") }, "case.fitted-2=2.0016 of C1 | 5", "C1, which the bore is made of, came back from rework later: entry 7"},
		{"the case is away", func(k *bench) { k.fit("case", "") }, "| 5, 6", "C1 is fitted nowhere"},
		{"the case was away", func(k *bench) { k.fit("case", ""); k.fit("case", "C1") }, "case.fitted-1=2.0015 of C1, case.fitted-2=2.0016 of C1 |", ""},
		{"a shell was out, and is back", func(k *bench) { k.fit("shell-1", ""); k.fit("shell-1", "S1") }, "case.fitted-2=2.0016 of C1 | 5", moved},
		{"a shell was reworked while it was out", func(k *bench) { k.fit("shell-1", ""); k.rework("S1", "wall"); k.fit("shell-1", "S1") }, "case.fitted-2=2.0016 of C1 | 5", ""},
	} {
		k, n := bored(t)
		c.change(k)
		if got := k.live(); got != c.want {
			t.Errorf("%s: what counts is %s, want %s", c.name, got, c.want)
		}
		if why := k.aside(n); why != c.why && c.why != "" {
			t.Errorf("%s: it counts no more since %q, want %q", c.name, why, c.why)
		}
	}
}

// The bore can be measured again after each of these, and a reading that was
// taken before it and arrives after it does not count.
func TestInstalledBoreAgain(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*bench)
		stage  string
	}{
		{"another shell", func(k *bench) { k.found("S3", "shell", ""); k.fit("shell-1", "S3") }, ""},
		{"the same shell, out and in", func(k *bench) { k.fit("shell-1", ""); k.fit("shell-1", "S1") }, ""},
		{"no shell that has a tag", func(k *bench) { k.fit("shell-1", "") }, ""},
		{"a reworked shell", func(k *bench) { k.rework("S1", "wall") }, " rework 1"},
		{"a shell that was reworked twice, and measured", func(k *bench) {
			k.rework("S1", "wall")
			k.rework("S1", "wall")
			k.take("shell-1.wall", "0.0995")
		}, " rework 2"},
		{"a reworked case", func(k *bench) { k.rework("C1", "bore-1") }, " rework 1"},
		{"a case reworked elsewhere, then the shell", func(k *bench) { k.rework("C1", "bore-2"); k.rework("S1", "wall") }, " rework 1"},
	} {
		k, _ := bored(t)
		early := k.state.Size
		c.change(k)
		late := k.late(early, "case.fitted-1", "2.0011")
		if why := k.aside(late); why == "" {
			t.Errorf("%s: what was taken before it counts", c.name)
		}
		k.take("case.fitted-1", "2.0018")
		if got := k.live(); !strings.Contains(got, "case.fitted-1=2.0018 of C1"+c.stage+",") && !strings.Contains(got, "case.fitted-1=2.0018 of C1"+c.stage+" |") {
			t.Errorf("%s: what counts is %s", c.name, got)
		}
	}
}

// A tag alone moves nothing.
func TestShellsTaggedLater(t *testing.T) {
	k := opened(t)
	n := k.take("case.fitted-1", "2.0015")
	k.found("S1", "shell", "shell-1")
	k.counts("case.fitted-1=2.0015 |")
	k.found("C1", "case", "case")
	k.counts("case.fitted-1=2.0015 of C1 |")
	k.take("case.fitted-1", "2.0015")
	k.strike(n)
	k.counts("case.fitted-1=2.0015 of C1 |")
	k.fit("shell-1", "")
	k.counts("| 5")
	k.take("case.fitted-1", "2.0014")
	k.counts("case.fitted-1=2.0014 of C1 | 5")
}

// A case that was measured on the shelf counts, with the shells that are in it,
// once it is fitted.
func TestReplacementCase(t *testing.T) {
	k, _ := bored(t)
	k.found("C2", "case", "")
	k.takeOf("C2", "case.fitted-1", "2.0012")
	k.fit("case", "C2")
	k.counts("case.fitted-1=2.0012 of C2 | 5, 6")
	k.fit("shell-1", "S2", "shell-2", "S1")
	k.counts("| 5, 6, 8")
}

// A bore goes with its rod where it is made of the rod; and not where it is made
// of what stays behind.
func TestInstalledBoreThatMoves(t *testing.T) {
	k := opened(t)
	k.book = altered(t, "side: {name: Side clearance, kind: clearance}", "side: {name: Side clearance, kind: clearance, made-of: [crank.pin]}",
		"bushing: {name: Bushing, kind: inside}", "bushing: {name: Bushing, kind: inside, made-of: [rod.bigend]}")
	k.found("K1", "crank", "crank")
	k.found("R1", "rod", "rod-1")
	k.found("R2", "rod", "rod-2")
	k.take("rod-1.side", "0.007")
	k.take("rod-1.bushing", "0.5001")
	k.counts("rod-1.bushing=0.5001 of R1, rod-1.side=0.007 of R1 |")
	k.fit("rod-1", "R2", "rod-2", "R1")
	k.counts("rod-2.bushing=0.5001 of R1 | 5")
}

// What is measured as assembled comes after all that was measured before it,
// spot by spot of its site.
func TestAssembled(t *testing.T) {
	k := opened(t)
	k.found("R1", "rod", "rod-1")
	k.take("rod-1.bigend.-.0", "1.5011")
	n := k.take("rod-1.bigend.-.90", "1.5012")
	k.take("rod-1.side", "0.007")
	k.do("rs", &job.Take{Row: reading.Row{Spot: "rod-1.bigend.-.0", Value: "1.5013", Stage: "assembled"}})
	k.counts("rod-1.bigend.-.0=1.5013 of R1 assembled, rod-1.side=0.007 of R1 | 3, 4")
	if why := k.aside(n); why != "a later stage was measured" {
		t.Errorf("it counts no more since %q", why)
	}
}

// Two people at one spot: both readings stand, the worse counts, and people are
// asked until all but one are struck.
func TestTwoAtOneSpot(t *testing.T) {
	k := ready(t)
	k.found("R1", "rod", "rod-1")
	was := k.verdict("side-1")
	n := k.do("kd", &job.Take{Row: reading.Row{Spot: "rod-1.side", Value: "0.012"}})
	v := k.verdict("side-1")
	if len(v.Asks) != 1 || v.Asks[0].Kind != judge.Settle || v.Grade != judge.Serviceable || v.Decided() || !was.Decided() {
		t.Errorf("with two it is %v, decided %v, asked %v; with one %v", v.Grade, v.Decided(), v.Asks, was.Grade)
	}
	if blocks := k.state.Judge(k.book).Blocks(); len(blocks) != 4 || blocks[3] != (job.Block{Step: "rod", What: "side-1 is not decided", Do: "measure it, or settle what is asked"}) {
		t.Errorf("it is blocked by %+v", blocks)
	}
	if err := k.sign("rs", "rod", job.Performed); err == nil {
		t.Error("it can be signed before it is settled")
	}
	k.strike(n)
	if v := k.verdict("side-1"); len(v.Asks) != 0 || !v.Decided() || v.Grade != judge.New {
		t.Errorf("settled it is %v, asked %v", v.Grade, v.Asks)
	}
	k.signed("rs", "rod", job.Performed)
	// The same reading twice is still two.
	k.take("rod-1.side", "0.007")
	if v := k.verdict("side-1"); len(v.Asks) != 1 || v.Decided() {
		t.Errorf("the same twice is asked %v", v.Asks)
	}
}

// A struck reading stays in the record and counts no more; one that is taken
// again counts.
func TestStruckAndTakenAgain(t *testing.T) {
	k := opened(t)
	n := k.take("rod-1.side", "0.170")
	k.strike(n)
	k.counts("|")
	k.take("rod-1.side", "0.017")
	k.counts("rod-1.side=0.017 |")
	j := k.state.Judge(k.book)
	if len(j.Live) != 1 || j.Live[0].By != "rs" || j.Live[0].Row != 4 {
		t.Errorf("what counts is %+v", j.Live)
	}
	k.do("ap", &job.Take{Row: reading.Row{Spot: "rod-2.side", Value: "0.009", By: "M. Pohl", When: "2026-11-25"}})
	if r := k.state.Judge(k.book).Live[1]; r.By != "M. Pohl" || r.When != "2026-11-25" {
		t.Errorf("the other one is %+v", r)
	}
	if len(k.state.Readings) != 3 || k.state.Readings[0].Value != "0.170 in" {
		t.Errorf("the record has %d readings, the first %s", len(k.state.Readings), k.state.Readings[0].Value)
	}
}

// Lines may depend on what is stated of the engine: its serial number, and
// conditions.
func TestConditionsAndSerialNumber(t *testing.T) {
	ids := func(k *bench) string {
		var all []string
		for _, v := range k.state.Judge(k.book).Of("rod") {
			text := v.Line.ID(v.At)
			for _, a := range v.Asks {
				text += "?" + a.Text
			}
			if strings.HasSuffix(v.Line.ID(v.At), "-1") && !strings.HasPrefix(text, "bigend") && !strings.HasPrefix(text, "rod-fit") && !strings.HasPrefix(text, "crack") {
				all = append(all, text)
			}
		}
		return strings.Join(all, " ")
	}
	for _, c := range []struct{ serial, bushing, want string }{
		{"150", "", "bush-new-1?bushing bush-used-1?bushing side-1"},
		{"150", "used", "bush-used-1 side-1"},
		{"150", "new", "bush-new-1 side-1"},
		{"99", "used", "bush-used-1 side-old-1"},
		{"0099", "used", "bush-used-1 side-old-1"},
		{"0", "used", "bush-used-1 side-1?serial 0 side-old-1?serial 0"},
		{"-99", "used", "bush-used-1 side-1?serial -99 side-old-1?serial -99"},
		{"L-99-36", "used", "bush-used-1 side-1?serial L-99-36 side-old-1?serial L-99-36"},
		{"99999999999999999999", "used", "bush-used-1 side-1?serial 99999999999999999999 side-old-1?serial 99999999999999999999"},
	} {
		k := unopened(t)
		f := opening()
		f.Serial = c.serial
		k.do("ia", &job.Open{JobOpened: f})
		if c.bushing != "" {
			k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: c.bushing}})
		}
		if got := ids(k); got != c.want {
			t.Errorf("serial %s, bushing %s: %s, want %s", c.serial, c.bushing, got, c.want)
		}
	}
}

// The demo's story is a job like any other: of every reading it is told whether
// it counts, and as much is open as the story leaves open.
func TestDemo(t *testing.T) {
	k := demoJob(t)
	j := k.state.Judge(k.book)
	if got, want := len(j.Live)+len(j.Aside)-len(j.Readings.Past), len(k.state.Readings); got != want || want < 800 {
		t.Errorf("of %d readings %d are told", want, got)
	}
	p := j.Progress()
	if p.Readings < 800 || p.Measured < 800 || p.Beyond == 0 || p.Undecided == 0 || p.Lines < 700 {
		t.Errorf("it has come to %+v", p)
	}
	for i := range k.lines {
		if _, err := decode(k.lines[i]); err != nil {
			t.Fatalf("entry %d: %v", i+1, err)
		}
	}
}
