package job_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// stands tells which signatures under a part stand: who performed, who inspected.
func (k *bench) stands(part string) string {
	j := k.state.Judge(k.book)
	var all []string
	for i := range k.state.Signed {
		if s := &k.state.Signed[i]; s.Step == part && j.Stands(s) {
			all = append(all, s.As[:4]+" "+s.By)
		}
	}
	return strings.Join(all, ", ")
}

// code is the code of the refusal that an error is.
func code(t *testing.T, err error) string {
	t.Helper()
	var r *record.Refusal
	switch {
	case err == nil:
		return ""
	case !errors.As(err, &r):
		t.Errorf("%v is no refusal", err)
		return "none"
	}
	return r.Code
}

// A signature lapses when the verdicts under it become others, and stands while
// they are what was signed: its digest is of them.
func TestSignaturesLapse(t *testing.T) {
	k := ready(t)
	k.signAll("rs", "ia")
	if got, want := k.stands("rod"), "perf rs, insp ia"; got != want {
		t.Errorf("there stands %s, want %s", got, want)
	}
	n := k.take("rod-1.side", "0.012")
	if got := k.stands("rod"); got != "" {
		t.Errorf("after another reading there stands %s", got)
	}
	if got := k.stands("crank") + ", " + k.stands("shell"); got != "perf rs, insp ia, perf rs, insp ia" {
		t.Errorf("of the other parts there stands %s", got)
	}
	if err := k.close("ia"); code(t, err) != "blocked" || !strings.Contains(err.Error(), "1 part can't be closed yet, the first because rod: side-1 is not decided") {
		t.Errorf("it is closed: %v", err)
	}
	k.strike(n)
	if got := k.stands("rod"); got != "perf rs, insp ia" {
		t.Errorf("after that was struck there stands %s", got)
	}
	// A fit is of two parts: what is measured of one alters what is signed of both.
	k.strike(find(k, "crank.pin-1.-.0"))
	k.take("crank.pin-1.-.0", "1.4985")
	if got := k.stands("rod") + k.stands("crank") + "|" + k.stands("shell"); got != "|perf rs, insp ia" {
		t.Errorf("after a crankpin was measured anew there stands %s", got)
	}
	if err := k.sign("ia", "rod", job.Inspected); code(t, err) != "not-performed" {
		t.Errorf("what was performed before that is inspected: %v", err)
	}
	if blocks := k.state.Judge(k.book).Blocks(); len(blocks) != 2 || blocks[0].What != "not signed as performed, as it stands now" {
		t.Errorf("it is blocked by %+v", blocks)
	}
	if p := k.state.Judge(k.book).Progress(); p.Signed != 2 {
		t.Errorf("%d parts are signed", p.Signed)
	}
	// What is better than it was is another verdict, too.
	k.signed("kd", "rod", job.Performed)
	k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "new"}})
	if got := k.stands("rod"); got != "" {
		t.Errorf("with another condition there stands %s", got)
	}
}

// Who signs signs what they have read.
func TestSignedAsRead(t *testing.T) {
	k := ready(t)
	f, err := k.state.Judge(k.book).Sign(k.known("rs"), "rod", job.Performed, program)
	if err != nil {
		t.Fatal(err)
	}
	r := &job.SignStep{Step: "rod", As: job.Performed, Statement: f.Statement, Program: program}
	k.take("rod-1.side", "0.012")
	k.strike(k.state.Size)
	k.do("rs", r) // nothing has changed
	k.signed("ia", "rod", job.Inspected)
	k.signAllBut("rod", "rs", "ia")
	c, err := k.state.Judge(k.book).Close(k.known("ia"), program)
	if err != nil {
		t.Fatal(err)
	}
	k.strike(find(k, "rod-1.side"))
	k.take("rod-1.side", "0.0075")
	k.signed("rs", "rod", job.Performed)
	k.signed("ia", "rod", job.Inspected)
	k.refused("ia", &job.Close{Statement: c.Statement, Program: program}, "statement")
	if err := k.close("ia"); err != nil {
		t.Error(err)
	}
}

// find returns the entry of the reading that counts at a spot.
func find(k *bench, spot string) int64 {
	struck := k.state.Struck()
	for i := range k.state.Readings {
		if r := &k.state.Readings[i]; r.Spot == spot && struck[r.Seq] == nil {
			return r.Seq
		}
	}
	k.t.Fatalf("nothing counts at %s", spot)
	return 0
}

func (k *bench) signAllBut(but, performer, inspector string) {
	k.t.Helper()
	for _, part := range []string{"crank", "case", "shell", "rod"} {
		if part != but {
			k.signed(performer, part, job.Performed)
			k.signed(inspector, part, job.Inspected)
		}
	}
}

// twoPeople is a job with everything measured, where policy asks for two.
func twoPeople(t *testing.T) *bench {
	k := ready(t)
	setShop(t, k.shop, &shoplog.PolicySet{TwoPeople: true, Why: "the shop's own manual"})
	return k
}

func TestTwoPeople(t *testing.T) {
	k := twoPeople(t)
	k.signed("ia", "rod", job.Performed)
	err := k.sign("ia", "rod", job.Inspected)
	if code(t, err) != "two-people" || !strings.Contains(err.Error(), "Person ia performed it, and by the shop's policy may not inspect it; somebody else must") {
		t.Errorf("who performed it inspects it: %v", err)
	}
	k.signed("ib", "rod", job.Inspected)
	// It is asked anew once the verdicts are others.
	k.strike(find(k, "rod-1.side"))
	k.take("rod-1.side", "0.0077")
	k.signed("ib", "rod", job.Performed)
	if err := k.sign("ib", "rod", job.Inspected); code(t, err) != "two-people" {
		t.Errorf("who performed it the second time inspects it: %v", err)
	}
	k.signed("ia", "rod", job.Inspected)
}

// Nor by a detour: not behind a second signature as performed, nor before it.
func TestTwoPeopleByADetour(t *testing.T) {
	k := twoPeople(t)
	k.signed("ia", "rod", job.Performed)
	k.signed("rs", "rod", job.Performed)
	if err := k.sign("ia", "rod", job.Inspected); code(t, err) != "two-people" {
		t.Errorf("one of two who performed it inspects it: %v", err)
	}
	k = twoPeople(t)
	k.signed("rs", "rod", job.Performed)
	k.signed("ia", "rod", job.Inspected)
	if err := k.sign("ia", "rod", job.Performed); code(t, err) != "two-people" || !strings.Contains(err.Error(), "Person ia inspected it") {
		t.Errorf("who inspected it performs it: %v", err)
	}
	// Policy that was set since is policy.
	k = ready(t)
	k.signAll("ia", "ib")
	k.signed("ia", "rod", job.Inspected)
	setShop(t, k.shop, &shoplog.PolicySet{TwoPeople: true, Why: "the shop's own manual"})
	if err := k.close("ib"); code(t, err) != "two-people" || !strings.Contains(err.Error(), "Person ia signed the Rods as performed and as inspected") {
		t.Errorf("what one person signed twice is closed: %v", err)
	}
	k.signed("rs", "rod", job.Performed)
	if err := k.close("ib"); err != nil {
		t.Error(err)
	}
}

// A signature that stands counts, whatever was signed and lapsed since.
func TestSignatureStandsAgain(t *testing.T) {
	k := ready(t)
	k.signed("rs", "rod", job.Performed)
	old := find(k, "rod-1.side")
	n := k.take("rod-1.side", "0.0079")
	if got := k.stands("rod"); got != "" {
		t.Errorf("with one more reading there stands %s", got)
	}
	k.strike(n)
	if got := k.stands("rod"); got != "perf rs" {
		t.Errorf("with that one struck there stands %s", got)
	}
	if err := k.sign("ia", "rod", job.Inspected); err != nil {
		t.Errorf("it can't be inspected: %v", err)
	}
	// The same value, read again: another reading than the one that was signed.
	k.strike(old)
	k.take("rod-1.side", "0.007")
	if got := k.stands("rod"); got != "" {
		t.Errorf("on a reading that nobody signed there stands %s", got)
	}
}

// A part that has no line for this engine is not signed, and keeps nothing open.
func TestPartWithoutLinesForThisEngine(t *testing.T) {
	k := opened(t)
	k.book = altered(t, "  crack: {ref: 10", "  key: {ref: 11, page: 2-3, name: Key, size: key.width, new: 0.2490..0.2500, serials: [..99]}\n  crack: {ref: 10")
	k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})
	k.measure()
	k.signAll("rs", "ia")
	if err := k.sign("rs", "key", job.Performed); code(t, err) != "step" {
		t.Errorf("the key is signed: %v", err)
	}
	if blocks := k.state.Judge(k.book).Blocks(); len(blocks) != 0 {
		t.Errorf("it is blocked by %+v", blocks)
	}
	if p := k.state.Judge(k.book).Progress(); p.Parts != 4 || p.Signed != 4 {
		t.Errorf("%d of %d parts are signed", p.Signed, p.Parts)
	}
	if err := k.close("ia"); err != nil {
		t.Error(err)
	}
}

// What keeps an inspection open is told by part, until nothing does.
func TestBlocks(t *testing.T) {
	blocks := func(k *bench) string {
		var all []string
		for _, b := range k.state.Judge(k.book).Blocks() {
			all = append(all, b.Step+": "+b.What+"; "+b.Do)
		}
		return strings.Join(all, "\n")
	}
	k := opened(t)
	const open = "; measure it, or settle what is asked"
	if got, want := blocks(k), "crank: 4 lines are not decided: main-1, main-2, pin-1 and 1 more"+open+"\n"+
		"case: 4 lines are not decided: fitted-1, fitted-2, main-fit-1 and 1 more"+open+"\n"+
		"shell: 2 lines are not decided: wall-1, wall-2"+open+"\n"+
		"rod: 12 lines are not decided: bigend-1, bigend-2, rod-fit-1 and 9 more"+open; got != want {
		t.Errorf("it is blocked by\n%s\nwant\n%s", got, want)
	}
	k.measure()
	if got, want := blocks(k), "crank: not signed as performed, as it stands now; tenths job sign --as performed\n"+
		"case: not signed as performed, as it stands now; tenths job sign --as performed\n"+
		"shell: not signed as performed, as it stands now; tenths job sign --as performed\n"+
		"rod: 4 lines are not decided: bush-new-1, bush-new-2, bush-used-1 and 1 more"+open; got != want {
		t.Errorf("measured, it is blocked by\n%s\nwant\n%s", got, want)
	}
	k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})
	k.signAllBut("rod", "rs", "ia")
	k.signed("rs", "rod", job.Performed)
	if got, want := blocks(k), "rod: not signed as inspected, as it stands now; tenths job sign --as inspected"; got != want {
		t.Errorf("signed, it is blocked by %s, want %s", got, want)
	}
	k.signed("ia", "rod", job.Inspected)
	if got := blocks(k); got != "" {
		t.Errorf("with everything done it is blocked by %s", got)
	}
	if err := k.close("ia"); err != nil {
		t.Fatal(err)
	}
	if p := k.state.Judge(k.book).Progress(); !p.Closed {
		t.Errorf("%+v", p)
	}
}

// What is beyond its limits is found, signed and closed like any other: mending
// it comes later.
func TestBeyondIsClosed(t *testing.T) {
	k := ready(t)
	k.strike(find(k, "rod-1.crack"))
	k.take("rod-1.crack", "yes")
	k.signAll("rs", "ia")
	if err := k.close("ia"); err != nil {
		t.Fatal(err)
	}
	if f := k.last(1)[0].(*job.InspectionClosed); !strings.Contains(f.Statement, "20 lines, 18 new, 1 serviceable, 1 beyond") {
		t.Errorf("it says %s", f.Statement)
	}
	k.do("ib", &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "another rod came"}})
	k.found("R1", "rod", "rod-1")
	k.found("R3", "rod", "")
	k.fit("rod-1", "R3")
	if got := len(k.state.Judge(k.book).Blocks()); got != 1 {
		t.Errorf("with a rod that nobody has measured %d parts are open", got)
	}
	if err := k.close("ia"); code(t, err) != "blocked" {
		t.Errorf("it is closed: %v", err)
	}
	k.measure()
	k.signed("rs", "rod", job.Performed)
	k.signed("ib", "rod", job.Inspected)
	if err := k.close("ib"); err != nil {
		t.Error(err)
	}
}

func TestProgress(t *testing.T) {
	k := opened(t)
	progress := func() job.Progress { return k.state.Judge(k.book).Progress() }
	same(t, "opened", progress(), job.Progress{Spots: 20, Lines: 22, Undecided: 22, Parts: 4})
	k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})
	k.measure()
	n := k.take("rod-1.side", "0.020")
	same(t, "one twice", progress(), job.Progress{Readings: 21, Spots: 20, Measured: 20, Lines: 20, Beyond: 1, Undecided: 1, Parts: 4})
	k.strike(n)
	k.strike(find(k, "rod-1.side"))
	k.take("rod-1.side", "0.014")
	k.signAllBut("rod", "rs", "ia")
	k.signed("rs", "rod", job.Performed)
	graded := k.book
	k.book = altered(t, "page: 2-1, name: Shell wall,", "page: 2-1, graded: no, name: Shell wall,")
	if got := progress(); got.Lines != 18 || got.Spots != 20 {
		t.Errorf("without what is not graded it has come to %+v", got)
	}
	k.book = graded
	same(t, "all but one", progress(), job.Progress{Readings: 22, Struck: 2, Spots: 20, Measured: 20, Lines: 20, Parts: 4, Signed: 3})
	k.state.About.Limits = job.NewLimits
	same(t, "agreed to be new", progress(), job.Progress{Readings: 22, Struck: 2, Spots: 20, Measured: 20, Lines: 20, Short: 1, Parts: 4, Signed: 3})
}

// Nothing is signed, handed over or closed beside an entry that this version does
// not know: it may say anything. All else goes on, and who knows it goes on with
// all.
func TestNotKnownHoldsUp(t *testing.T) {
	k := ready(t)
	k.signAll("rs", "ia")
	e, err := ledger.Encode(ledger.Entry{V: 2, Log: k.state.Log, Seq: k.state.Size + 1, ID: ledger.ID("new"), By: "rs", Kind: "gauge-questioned", Fact: []byte(`{"gauge":"m-4"}`)})
	if err != nil {
		t.Fatal(err)
	}
	line, err := decode(e)
	if err != nil {
		t.Fatal(err)
	}
	known := k.state.Snapshot()
	k.state.Apply(&line)
	said := fmt.Sprintf(`this version of tenths does not know an entry of the job: entry %d, "gauge-questioned" of version 2; %s`, line.Seq, record.Newer)
	for what, err := range map[string]error{
		"signed as performed": k.sign("kd", "rod", job.Performed), "signed as inspected": k.sign("ia", "rod", job.Inspected), "closed": k.close("ia"),
		"handed over": func() error { _, err := k.ask("rs", &job.HandOver{HandedOver: job.HandedOver{To: "kd"}}); return err }(),
	} {
		if code(t, err) != "unknown-entry" || err.Error() != said {
			t.Errorf("%s: %v", what, err)
		}
	}
	if blocks := k.state.Judge(k.book).Blocks(); len(blocks) != 1 || blocks[0].Step != job.Log || !strings.Contains(blocks[0].What, "gauge-questioned") || blocks[0].Do != record.Newer {
		t.Errorf("it is blocked by %+v", blocks)
	}
	if blocks := known.Judge(k.book).Blocks(); len(blocks) != 0 {
		t.Errorf("before, it is blocked by %+v", blocks)
	}
	k.take("rod-1.side", "0.012")
	k.do("rs", &job.WriteNote{NoteWritten: job.NoteWritten{Text: "goes on"}})
}
