package job_test

import (
	"math/bits"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/reading"
	"tenths/internal/shoplog"
)

// worn is a value of each feature that is beyond its limits.
var worn = map[string]string{
	"crank.main": "1.9970", "crank.pin": "1.4970", "case.fitted": "2.0040", "case.bore": "2.2100", "shell.wall": "0.0970",
	"rod.bigend": "1.5040", "rod.bushing": "0.5020", "rod.side": "0.017", "rod.crack": "yes", "key.width": "0.2400",
}

// A history is a job on its way, told three times: by the code that is tried, by
// a plain model, and by the same code from facts that never were bytes.
type history struct {
	*rapid.T
	*bench
	model  *model
	direct *job.State
	two    bool // policy asks for two people
	handed []handed
	to     *book.Book // of the other edition
}

// handed is a state that was handed out, and what it said then.
type handed struct {
	state *job.State
	text  string
}

// Of the requests below some are drawn at random, and stand or do not.
var people = []string{"rs", "kd", "ia", "ib", "mp", "ap"}

// n draws a number below max, all about as likely: whole numbers that rapid draws
// are small mostly, and few histories would come far.
func (h *history) n(max int) int {
	n := 0
	for range bits.Len(uint(max)) + 2 {
		if n *= 2; coin.Draw(h.T, "coin") {
			n++
		}
	}
	return n % max
}

var coin = rapid.Bool()

func (h *history) pick(from ...string) string { return from[h.n(len(from))] }

func (h *history) item() string {
	return h.pick("R1", "R2", "R3", "S1", "S2", "S3", "C1", "C2", "K1", "K2", "X")
}

// of draws an item of a part, mostly one that there is.
func (h *history) of(part string) string {
	var there []string
	for i := range h.state.Items {
		if h.state.Items[i].Part == part {
			there = append(there, h.state.Items[i].Tag)
		}
	}
	if len(there) > 0 && h.n(5) > 0 {
		return h.pick(there...)
	}
	return h.pick(map[string][]string{"rod": {"R1", "R2", "R3"}, "shell": {"S1", "S2", "S3"}, "case": {"C1", "C2"}, "crank": {"K1", "K2"}, "key": {"X"}, "": {"R1"}}[part]...)
}

// partOf is what an item of these histories mostly is.
func (h *history) partOf(item string) string {
	return map[byte]string{'R': "rod", 'S': "shell", 'C': "case", 'K': "crank", 'X': h.pick("key", "wheel")}[item[0]]
}

func (h *history) position() string {
	return h.pick("rod-1", "rod-2", "rod-1", "rod-2", "shell-1", "shell-2", "case", "crank", "key", "rod-3", "wheel")
}

// request draws a request of a kind that the model knows.
func (h *history) request() job.Request {
	switch h.n(20) {
	case 0:
		return &job.StateCondition{ConditionStated: job.ConditionStated{Name: h.pick("bushing", "bushing", "bushing", "valve"), Word: h.pick("new", "used", "used", "worn")}}
	case 1, 2, 3:
		r := &job.RegisterItem{}
		r.Item = h.item()
		r.Part = h.partOf(r.Item)
		if h.n(10) == 0 {
			r.Part = h.pick("rod", "wheel", "")
		}
		var at []string
		for p, part := range places {
			if part == r.Part {
				at = append(at, p)
			}
		}
		slices.Sort(at)
		r.Found = h.pick(append(at, "", h.position())...)
		return r
	case 4, 5, 6:
		r := &job.Fit{}
		for range h.pick("", "1", "1", "1", "22", "22", "333") {
			at := h.position()
			r.Places = append(r.Places, job.ItemFitted{Position: at, Item: h.pick("", h.item(), h.of(places[at]), h.of(places[at]), h.of(places[at]))})
		}
		return r
	case 7:
		// Two change places.
		return fit("rod-1", h.of("rod"), "rod-2", h.of("rod"))
	case 8, 9:
		part := h.pick("crank", "case", "shell", "shell", "rod", "rod")
		r := &job.ReturnFromRework{Item: h.of(part), What: "ground"}
		for range h.pick("", "1", "1", "22") {
			r.Sites = append(r.Sites, h.pick(append(slices.Repeat(sitesOf[part], 3), "main-3")...))
		}
		return r
	case 10, 11, 12, 13, 14:
		spot := h.book.Spots[h.n(len(h.book.Spots))].String()
		if h.n(4) == 0 {
			spot = h.pick("case.fitted-1", "case.fitted-2", "shell-1.wall")
		}
		from := good
		if h.n(10) == 0 {
			from = worn
		}
		r := &job.Take{Row: reading.Row{Spot: spot, Value: from[feature(h.book, spot)]}}
		if h.n(20) == 0 {
			r.Spot = h.pick("rod-3.side", "wheel.rim", "")
		}
		if h.n(3) == 0 {
			at, _, _ := strings.Cut(r.Spot, ".")
			r.Item = h.pick(h.item(), h.of(places[at]), h.of(places[at]))
		}
		if h.n(3) == 0 {
			r.Stage = h.pick("found", "rework 1", "rework 2", "assembled")
		}
		if h.n(3) == 0 {
			r.Known = int64(h.n(int(h.state.Size)+3)) - 1
		}
		return r
	case 15, 16:
		if n := len(h.state.Readings); n > 0 && h.n(5) > 0 {
			return &job.StrikeReading{Entry: h.state.Readings[h.n(n)].Seq, Why: "misread"}
		}
		return &job.StrikeReading{Entry: int64(h.n(int(h.state.Size) + 2)), Why: "misread"}
	case 17:
		if h.n(2) == 0 {
			return &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: "rod-1.side", Why: "later"}}
		}
		return &job.WriteNote{NoteWritten: job.NoteWritten{Text: "look at it"}}
	case 18:
		return &job.HandOver{HandedOver: job.HandedOver{To: h.pick(append(people, "xx", "")...)}}
	}
	return &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "more came"}}
}

// try asks for what the model knows, and holds the answer against what it says.
func (h *history) try(by string, r job.Request) {
	before := h.state.Size
	facts, err := h.ask(by, r)
	if stands := h.model.stands(by, r); stands != (err == nil) {
		h.T.Fatalf("%T by %s after %d entries: %v; by the model it stands: %v\n%+v", r, by, before, err, stands, r)
	}
	h.entered(by, facts)
}

// entered follows facts that stand.
func (h *history) entered(by string, facts []job.Fact) {
	for i, f := range facts {
		n := int(h.direct.Size)
		e, err := ledger.Decode(h.lines[n])
		if err != nil {
			h.T.Fatal(err)
		}
		h.direct.Apply(&job.Entry{Entry: e, What: f})
		if i < len(facts)-1 {
			h.direct.Snapshot()
		}
	}
	if len(facts) == 0 {
		return
	}
	h.handed = append(h.handed, handed{h.state.Snapshot(), text(h.bench.t, h.state)})
	if h.model.size != h.state.Size {
		h.T.Fatalf("the model has %d entries, the state %d", h.model.size, h.state.Size)
	}
	h.agrees()
	h.lawful()
}

// agrees holds the state against the model.
func (h *history) agrees() {
	s, m := h.state, h.model
	if diff := cmp.Diff(m.fitted(), s.Fitted); diff != "" {
		h.T.Fatalf("what is fitted (-model +state):\n%s", diff)
	}
	if s.Holder != m.holder || (s.Closed != nil) != m.closed || s.Given["bushing"] != m.word || len(s.Items) != len(m.part) || len(s.Readings) != len(m.taken) {
		h.T.Fatalf("%s has it, closed %v, bushing %q, %d items, %d readings; by the model %s, %v, %q, %d, %d",
			s.Holder, s.Closed != nil, s.Given["bushing"], len(s.Items), len(s.Readings), m.holder, m.closed, m.word, len(m.part), len(m.taken))
	}
	for tag := range m.part {
		if got, want := s.Stage(tag, s.Size), m.stage(tag, m.size); got != want {
			h.T.Fatalf("%s is at stage %d, by the model at %d", tag, got, want)
		}
		if got, want := s.Where(tag, s.Size), m.where(tag, m.size); got != want {
			h.T.Fatalf("%s is at %q, by the model at %q", tag, got, want)
		}
	}
	struck := s.Struck()
	for i, o := range m.taken {
		if r := s.Readings[i]; r.Seq != o.seq || r.Item != o.item || r.Stage != o.stage || (struck[r.Seq] != nil) != o.struck {
			h.T.Fatalf("reading %d is %+v of entry %d, struck %v; by the model %+v", i, r.ReadingTaken, r.Seq, struck[r.Seq] != nil, *o)
		}
	}
	got := map[string][]int64{}
	j := s.Judge(h.book)
	for i := range h.book.Spots {
		for _, r := range j.Readings.At(book.SpotID(i)) {
			spot := h.book.Spots[i].String()
			got[spot] = append(got[spot], int64(r.Row))
		}
	}
	want := m.counts()
	if diff := cmp.Diff(want, got); diff != "" {
		h.T.Fatalf("what counts after %d entries (-model +state):\n%s", s.Size, diff)
	}
	// Of every reading it is told whether it counts, was struck, or why not.
	all := len(j.Aside) + len(s.Strikes)
	for _, at := range got {
		all += len(at)
	}
	for _, a := range j.Aside {
		if a.Why == "" || struck[a.Seq] != nil {
			h.T.Fatalf("entry %d is put aside since %q, struck %v", a.Seq, a.Why, struck[a.Seq] != nil)
		}
	}
	if all != len(s.Readings) {
		h.T.Fatalf("of %d readings %d are told", len(s.Readings), all)
	}
}

// lawful holds the state against what may never be, whatever happened.
func (h *history) lawful() {
	s := h.state
	at := map[string]string{}
	for position, tag := range s.Fitted {
		if other, twice := at[tag]; twice {
			h.T.Fatalf("%s is at %s and at %s", tag, other, position)
		}
		at[tag] = position
		if item, ok := s.Item(tag); !ok || item.Part != places[position] {
			h.T.Fatalf("at %s is %q, %+v", position, tag, item)
		}
	}
	stage := map[string]int{}
	for _, r := range s.Reworks {
		if stage[r.Item]++; r.Stage != stage[r.Item] {
			h.T.Fatalf("%s went from stage %d to %d", r.Item, stage[r.Item]-1, r.Stage)
		}
	}
	struck := map[int64]bool{}
	for _, strike := range s.Strikes {
		if struck[strike.Reading] || strike.Reading >= strike.Seq {
			h.T.Fatalf("entry %d is struck by entry %d, twice: %v", strike.Reading, strike.Seq, struck[strike.Reading])
		}
		struck[strike.Reading] = true
	}
	// What was entered while the inspection was closed.
	closed := false
	for _, line := range h.lines[len(h.lines)-1:] {
		e, err := job.Kinds.Read(line)
		if err != nil {
			h.T.Fatal(err)
		}
		switch e.What.(type) {
		case *job.NoteWritten, *job.HandedOver, *job.InspectionReopened, *job.InspectionClosed:
		default:
			closed = s.Closed != nil
		}
		if closed {
			h.T.Fatalf("%s stands in a job that is closed", e.Kind)
		}
	}
	if !h.two {
		return
	}
	j := s.Judge(h.book)
	signed := map[string]string{}
	for i := range s.Signed {
		sig := &s.Signed[i]
		if !j.Stands(sig) {
			continue
		}
		if as := signed[sig.Step+" "+sig.By]; as != "" && as != sig.As {
			h.T.Fatalf("%s performed and inspected the %s", sig.By, sig.Step)
		}
		signed[sig.Step+" "+sig.By] = sig.As
	}
}

// signs asks for a signature, and looks at the one that stands.
func (h *history) signs(by, step, as string) {
	j := h.state.Judge(h.book)
	f, err := j.Sign(h.known(by), step, as, program)
	statement := "I, somebody, signed"
	if err == nil {
		statement = f.Statement
		if len(j.Of(step)) == 0 || h.model.closed && h.state.Closed == nil {
			h.T.Fatalf("%s signs the %s", by, step)
		}
		for _, v := range j.Of(step) {
			if !v.Decided() {
				h.T.Fatalf("%s signs the %s, and %s is not decided", by, step, v.Line.ID(v.At))
			}
		}
	}
	facts, asked := h.ask(by, &job.SignStep{Step: step, As: as, Statement: statement, Program: program})
	if want := err == nil && !h.model.closed; want != (asked == nil) {
		h.T.Fatalf("%s signs the %s: %v; offered %v", by, step, asked, err)
	}
	if asked != nil {
		return
	}
	h.model.add()
	sig := &h.state.Signed[len(h.state.Signed)-1]
	if !h.state.Judge(h.book).Stands(sig) {
		h.T.Fatalf("%s has signed the %s, and it does not stand", by, step)
	}
	h.entered(by, facts)
}

// closes asks for the inspection to be closed.
func (h *history) closes(by string) {
	j := h.state.Judge(h.book)
	f, err := j.Close(h.known(by), program)
	statement := ""
	if err == nil {
		statement = f.Statement
		for _, v := range j.Verdicts {
			if !v.Decided() {
				h.T.Fatalf("%s closes, and %s is not decided", by, v.Line.ID(v.At))
			}
		}
		if p := j.Progress(); p.Signed != p.Parts || p.Undecided != 0 || len(j.Blocks()) != 0 {
			h.T.Fatalf("%s closes, and it has come to %+v", by, p)
		}
	}
	facts, asked := h.ask(by, &job.Close{Statement: statement, Program: program})
	if want := err == nil && !h.model.closed; want != (asked == nil) {
		h.T.Fatalf("%s closes: %v; offered %v", by, asked, err)
	}
	if asked != nil {
		return
	}
	h.model.add()
	h.model.closed = true
	h.entered(by, facts)
}

// changes asks for the other edition.
func (h *history) changes(by string) {
	edition := first
	if h.state.Edition == first {
		edition = second
	}
	list := h.state.Alters(h.book, h.to)
	if h.n(3) == 0 {
		list = list[1:]
	}
	facts, err := h.ask(by, &job.ChangeEdition{Edition: edition, Book: h.to, Accept: job.ListDigest(list)})
	if want := len(list) == len(h.state.Alters(h.book, h.to)) && !h.model.closed; want != (err == nil) && err != nil {
		h.T.Fatalf("%s changes the edition: %v", by, err)
	}
	if err != nil {
		return
	}
	h.model.add()
	h.book, h.to = h.to, h.book
	if h.state.Edition != edition {
		h.T.Fatalf("the edition is %s", h.state.Edition)
	}
	h.entered(by, facts)
}

// measures takes readings wherever they are missing, by what was removed too.
func (h *history) measures(by string) {
	for _, spot := range missing(h.state.Judge(h.book)) {
		h.try(by, &job.Take{Row: reading.Row{Spot: spot, Value: good[feature(h.book, spot)]}})
	}
}

// finds gives tags to what was found in the engine.
func (h *history) finds(by string) {
	for _, pair := range [][2]string{{"K1", "crank"}, {"C1", "case"}, {"S1", "shell-1"}, {"S2", "shell-2"}, {"R1", "rod-1"}, {"R2", "rod-2"}} {
		h.try(by, &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: pair[0], Part: places[pair[1]], Found: pair[1]}})
	}
}

// settles strikes all but one reading wherever there are more.
func (h *history) settles(by string) {
	j := h.state.Judge(h.book)
	for i := range h.book.Spots {
		for n, r := range j.Readings.At(book.SpotID(i)) {
			if n > 0 {
				h.try(by, &job.StrikeReading{Entry: int64(r.Row), Why: "the other one is right"})
			}
		}
	}
}

// signsAll signs all that can be signed.
func (h *history) signsAll(performer, inspector string) {
	for _, part := range []string{"crank", "case", "shell", "rod"} {
		h.signs(performer, part, job.Performed)
		h.signs(inspector, part, job.Inspected)
	}
}

// step does one thing, or several that belong together.
func (h *history) step() {
	by := h.pick(people...)
	if h.model.closed && h.n(3) == 0 {
		h.try(by, &job.Reopen{InspectionReopened: job.InspectionReopened{Why: "more came"}})
	}
	switch h.n(25) {
	case 0:
		h.measures(by)
	case 1:
		h.settles(by)
	case 2, 3:
		h.signsAll(by, h.pick(people...))
	case 11: // and all of it
		h.try(by, &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})
		h.measures(by)
		h.settles(by)
		h.signsAll(by, h.pick(people...))
		h.closes(h.pick("ia", "ib"))
	case 4, 5:
		h.signs(by, h.pick("crank", "case", "shell", "rod", "key"), h.pick(job.Performed, job.Inspected))
	case 6, 7:
		h.closes(by)
	case 8:
		h.changes(by)
	case 9:
		h.finds(by)
	case 10:
		facts, err := h.ask(by, &job.Open{JobOpened: opening()})
		if err == nil {
			h.T.Fatalf("it is opened twice: %v", facts)
		}
	default:
		h.try(by, h.request())
	}
}

// Whatever is asked by whomever in whatever order: what stands is what a plain
// model says, nothing that may not be is reached, a state that was handed out
// stays as it was, folding what was recorded up to any entry gives what was known
// then, and the facts say the same whether or not they were bytes.
func TestAnyHistory(t *testing.T) {
	reached := map[string]int{}
	other := altered(t, `revision: "1"`, `revision: "2"`)
	rapid.Check(t, func(rt *rapid.T) {
		k := unopened(t)
		h := &history{T: rt, bench: k, model: newModel(k), direct: job.New("job/014"), two: coin.Draw(rt, "two people"), to: other}
		if h.two {
			setShop(t, k.shop, &shoplog.PolicySet{TwoPeople: true, Why: "the shop's own manual"})
		}
		h.handed = append(h.handed, handed{k.state.Snapshot(), text(t, k.state)})
		if h.n(10) == 0 {
			h.try("rs", h.request())
		}
		facts, err := h.ask("ia", &job.Open{JobOpened: opening()})
		if err != nil {
			rt.Fatal(err)
		}
		h.model.add()
		h.model.holder = "ia"
		h.entered("ia", facts)
		if h.n(2) == 0 {
			h.finds("rs")
		}
		for range 5 + h.n(45) {
			h.step()
		}

		entries := read(t, k.lines)
		if k.state.At() != int64(len(entries)) {
			rt.Fatalf("%d entries came to %d", len(entries), k.state.At())
		}
		for _, was := range h.handed {
			if now := text(t, was.state); now != was.text {
				rt.Fatalf("what was known after entry %d has changed:\n%s\n%s", was.state.Size, was.text, now)
			}
			again := job.Fold("job/014", entries[:was.state.Size]).Snapshot()
			if !reflect.DeepEqual(again, was.state) {
				rt.Fatalf("folding %d entries gives\n%s\nand not\n%s", was.state.Size, text(t, again), was.text)
			}
		}
		k.state.Snapshot()
		h.direct.Snapshot()
		if !reflect.DeepEqual(h.direct, k.state) {
			rt.Fatalf("facts that never were bytes come to\n%s\nand not\n%s", text(t, h.direct), text(t, k.state))
		}
		for i := range entries {
			if k.state.Seen(entries[i].ID) != entries[i].Seq || k.state.Words(&entries[i]) == "" {
				rt.Fatalf("entry %d was not seen, or has no words", i+1)
			}
			reached[entries[i].Kind]++
		}
	})
	// Histories that come to nothing would prove nothing.
	for kind := range job.Kinds {
		if kind != "" && reached[kind] == 0 && !testing.Short() { // in short there are few
			t.Errorf("no history has a %s", kind)
		}
	}
	t.Log(reached)
}
