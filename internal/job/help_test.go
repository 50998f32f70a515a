package job_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/ledger"
	"tenths/internal/reading"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// A law that does not hold is told within seconds; a longer search for the
// least example is for who asks for it.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.shrinktime", "1s"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// begin is when the jobs of these tests are opened.
var begin = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)

// first and second are editions that the shop has adopted, none is one that it
// has not.
var (
	first  = strings.Repeat("1a", 32)
	second = strings.Repeat("2b", 32)
	none   = strings.Repeat("3c", 32)
)

const program = "tenths 1.0"

var bookText = sync.OnceValue(func() string {
	text, err := os.ReadFile("testdata/book.yaml")
	if err != nil {
		panic(err)
	}
	return string(text)
})

var small = sync.OnceValue(func() *book.Book {
	b, err := book.Load("testdata/book.yaml", []byte(bookText()))
	if err != nil {
		panic(err)
	}
	return b
})

// altered is the small book with texts replaced by others: old, new, old, new.
func altered(t testing.TB, pairs ...string) *book.Book {
	t.Helper()
	text := bookText()
	for i := 0; i < len(pairs); i += 2 {
		if strings.Count(text, pairs[i]) != 1 {
			t.Fatalf("%q stands %d times in the book", pairs[i], strings.Count(text, pairs[i]))
		}
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	b, err := book.Load("altered.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// newShop is the shop of these tests: rs and kd are mechanics, ia and ib
// inspectors with certificates, ic one without; mp is manager, ap an apprentice
// and xx has left.
func newShop(t testing.TB) *shoplog.State {
	t.Helper()
	s := shoplog.New()
	person := func(handle, role, certificate string) *shoplog.PersonAdded {
		p := &shoplog.PersonAdded{Handle: handle, Name: "Person " + handle, Role: role, Since: "2020-01-01"}
		if certificate != "" {
			p.Certificate, p.Number = "mechanic", certificate
		}
		return p
	}
	gone := person("xx", shoplog.Mechanic, "")
	gone.Until = "2026-10-31"
	for _, f := range []shoplog.Fact{
		&shoplog.ShopMade{ID: "aa", Name: "Two Rivers", Key: "key"},
		person("mp", shoplog.Manager, ""),
		person("rs", shoplog.Mechanic, ""),
		person("kd", shoplog.Mechanic, "7731"),
		person("ia", shoplog.Inspector, "204412"),
		person("ib", shoplog.Inspector, "204413"),
		person("ic", shoplog.Inspector, ""),
		person("ap", shoplog.Apprentice, ""),
		gone,
		&shoplog.EditionAdopted{Edition: first, Engine: "Invented two-cylinder engine", Manual: "Invented overhaul manual"},
		&shoplog.EditionAdopted{Edition: second, Engine: "Invented two-cylinder engine", Manual: "Invented overhaul manual"},
	} {
		setShop(t, s, f)
	}
	return s
}

func setShop(t testing.TB, s *shoplog.State, f shoplog.Fact) {
	t.Helper()
	if err := shoplog.Decide(s, f, begin); err != nil {
		t.Fatal(err)
	}
	s.Apply(&shoplog.Entry{Entry: ledger.Entry{Seq: s.Size + 1, ID: fmt.Sprint(s.Size + 1), By: "mp"}, What: f})
}

// A bench is a job on its way: what is known beside it, the state, and the lines
// that the state came from.
type bench struct {
	t     testing.TB
	shop  *shoplog.State
	book  *book.Book
	state *job.State
	lines [][]byte
	clock time.Time
}

// opening is how the jobs of these tests are opened.
func opening() job.JobOpened {
	return job.JobOpened{
		Order: "26-014", Model: "Invented two-cylinder engine", Serial: "150", SinceNew: "1873.4", SinceOverhaul: "412:30",
		Reason: "due by hours", Customer: "R. Owner", Edition: first, Authority: "repair station 4", Limits: job.ServiceLimits,
	}
}

// unopened is a job that nobody has opened yet.
func unopened(t testing.TB) *bench {
	return &bench{t: t, shop: newShop(t), book: small(), state: job.New("job/014"), clock: begin}
}

// opened is a job with nothing in it but that it was opened, by ia.
func opened(t testing.TB) *bench {
	t.Helper()
	k := unopened(t)
	k.do("ia", &job.Open{JobOpened: opening()})
	return k
}

func (k *bench) known(by string) job.Known {
	return job.Known{By: by, Now: k.clock, Book: k.book, Shop: k.shop}
}

// ask decides a request and enters what it comes to. Whatever is refused, and
// whatever is decided before it is entered, leaves the state as it was.
func (k *bench) ask(by string, r job.Request) ([]job.Fact, error) {
	k.t.Helper()
	before, inside := text(k.t, k.state), k.state.Inside()
	facts, err := job.Decide(k.state, k.known(by), r)
	if text(k.t, k.state) != before || k.state.Inside() != inside {
		k.t.Errorf("deciding on %T changed the state", r)
	}
	if err != nil {
		return nil, err
	}
	for _, f := range facts {
		k.enter(by, f)
	}
	return facts, nil
}

// enter puts a fact behind the log. It is folded in as it is read back from its
// line, as somebody else's line is read.
func (k *bench) enter(by string, f job.Fact) {
	k.t.Helper()
	k.clock = k.clock.Add(time.Minute)
	line := encode(k.t, k.state.Size+1, by, k.clock, f)
	e, err := decode(line)
	if err != nil {
		k.t.Fatalf("an entry can't be read back: %v: %s", err, line)
	}
	k.state.Apply(&e)
	k.lines = append(k.lines, line)
}

// encode writes a fact as the entry of that number.
func encode(t testing.TB, seq int64, by string, at time.Time, f job.Fact) []byte {
	t.Helper()
	raw, err := ledger.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	line, err := ledger.Encode(ledger.Entry{
		V: ledger.Version, Log: "job/014", Seq: seq, Shop: 11, ID: id(seq),
		Made: ledger.At(at), Recorded: ledger.At(at), By: by, Device: "bench", Kind: f.Kind(), Fact: raw,
	})
	if err != nil {
		t.Fatal(err)
	}
	return line
}

// id is the id of the entry of that number.
func id(seq int64) string { return ledger.ID("entry", fmt.Sprint(seq)) }

// decode reads a line as one that somebody else may have written.
func decode(line []byte) (job.Entry, error) {
	e, err := ledger.Decode(line)
	if err != nil {
		return job.Entry{}, err
	}
	return job.Kinds.Check(e)
}

// read reads lines as one's own.
func read(t testing.TB, lines [][]byte) []job.Entry {
	t.Helper()
	all := make([]job.Entry, len(lines))
	for i, line := range lines {
		var err error
		if all[i], err = job.Kinds.Read(line); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// text is all of a state that others can see.
func text(t testing.TB, s *job.State) string {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// do asks for what must stand, and returns the number of its last entry.
func (k *bench) do(by string, r job.Request) int64 {
	k.t.Helper()
	if _, err := k.ask(by, r); err != nil {
		k.t.Fatalf("%T by %s: %v", r, by, err)
	}
	return k.state.Size
}

// refused asks for what may not stand.
func (k *bench) refused(by string, r job.Request, code string) *record.Refusal {
	k.t.Helper()
	_, err := k.ask(by, r)
	var refusal *record.Refusal
	if !errors.As(err, &refusal) || refusal.Code != code {
		k.t.Errorf("%T by %s: %v; want it refused as %q", r, by, err, code)
		return &record.Refusal{}
	}
	return refusal
}

// take enters a reading of what is at its position.
func (k *bench) take(spot, value string) int64 {
	k.t.Helper()
	return k.do("rs", &job.Take{Row: reading.Row{Spot: spot, Value: value}})
}

// takeOf enters a reading of an item.
func (k *bench) takeOf(item, spot, value string) int64 {
	k.t.Helper()
	return k.do("rs", &job.Take{Row: reading.Row{Spot: spot, Value: value, Item: item}})
}

// late enters a reading that was taken when so many entries were known.
func (k *bench) late(known int64, spot, value string) int64 {
	k.t.Helper()
	return k.do("rs", &job.Take{Row: reading.Row{Spot: spot, Value: value}, Known: known})
}

// found registers an item where it was found; on the shelf without a position.
func (k *bench) found(item, part, position string) int64 {
	k.t.Helper()
	return k.do("rs", &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: item, Part: part, Found: position}})
}

// fit fits items: position, item, position, item.
func (k *bench) fit(pairs ...string) int64 {
	k.t.Helper()
	return k.do("rs", fit(pairs...))
}

func fit(pairs ...string) *job.Fit {
	r := &job.Fit{}
	for i := 0; i < len(pairs); i += 2 {
		r.Places = append(r.Places, job.ItemFitted{Position: pairs[i], Item: pairs[i+1]})
	}
	return r
}

func (k *bench) rework(item string, sites ...string) int64 {
	k.t.Helper()
	return k.do("rs", &job.ReturnFromRework{Item: item, Sites: sites, What: "ground"})
}

func (k *bench) strike(entry int64) int64 {
	k.t.Helper()
	return k.do("rs", &job.StrikeReading{Entry: entry, Why: "misread"})
}

// sign asks for a step to be signed, as who reads the statement and signs it.
func (k *bench) sign(by, step, as string) error {
	k.t.Helper()
	f, err := k.state.Judge(k.book).Sign(k.known(by), step, as, program)
	if err != nil {
		return err
	}
	_, err = k.ask(by, &job.SignStep{Step: step, As: as, Statement: f.Statement, Program: program})
	return err
}

func (k *bench) signed(by, step, as string) {
	k.t.Helper()
	if err := k.sign(by, step, as); err != nil {
		k.t.Fatalf("%s as %s by %s: %v", step, as, by, err)
	}
}

// close asks for the inspection to be closed, likewise.
func (k *bench) close(by string) error {
	k.t.Helper()
	f, err := k.state.Judge(k.book).Close(k.known(by), program)
	if err != nil {
		return err
	}
	_, err = k.ask(by, &job.Close{Statement: f.Statement, Program: program})
	return err
}

// live shows the readings that count, each as spot=value, in their order, with
// its item and stage; behind a bar those that were put aside.
func (k *bench) live() string {
	k.t.Helper()
	j := k.state.Judge(k.book)
	var live []string
	for _, s := range k.book.Spots {
		at, _ := k.book.Spot(s.String())
		for _, r := range j.Readings.At(at) {
			text := s.String() + "=" + strings.TrimSuffix(r.Text(), " in")
			if r.Item != "" {
				text += " of " + r.Item
			}
			if r.Stage != 0 {
				text += " " + reading.StageName(r.Stage)
			}
			live = append(live, text)
		}
	}
	var aside []string
	for _, a := range j.Aside {
		aside = append(aside, fmt.Sprint(a.Seq))
	}
	return strings.TrimSpace(strings.Join(live, ", ") + " | " + strings.Join(aside, ", "))
}

// counts fails where other readings count than these.
func (k *bench) counts(want string) {
	k.t.Helper()
	if got := k.live(); got != want {
		k.t.Errorf("what counts is\n%s\nwant\n%s", got, want)
	}
}

// aside returns why a reading was put aside; empty where it was not.
func (k *bench) aside(entry int64) string {
	for _, a := range k.state.Judge(k.book).Aside {
		if a.Seq == entry {
			return a.Why
		}
	}
	return ""
}

// verdict returns the verdict of that name.
func (k *bench) verdict(id string) *judge.Verdict {
	k.t.Helper()
	j := k.state.Judge(k.book)
	i := slices.IndexFunc(j.Verdicts, func(v judge.Verdict) bool { return v.Line.ID(v.At) == id })
	if i < 0 {
		k.t.Fatalf("there is no verdict %s", id)
	}
	return &j.Verdicts[i]
}

// good is a value of each feature that is well within its limits.
var good = map[string]string{
	"crank.main": "1.9995", "crank.pin": "1.4995", "case.fitted": "2.0015", "case.bore": "2.2000", "shell.wall": "0.0995",
	"rod.bigend": "1.5015", "rod.bushing": "0.5002", "rod.side": "0.007", "rod.crack": "no", "key.width": "0.2500",
}

// measure takes a good reading wherever one is missing.
func (k *bench) measure() {
	k.t.Helper()
	for _, spot := range missing(k.state.Judge(k.book)) {
		k.take(spot, good[feature(k.book, spot)])
	}
}

// missing returns the spots that lines still look for.
func missing(j *job.Judged) []string {
	var all []string
	for i := range j.Verdicts {
		for _, id := range j.Verdicts[i].Missing {
			if spot := j.Book.Spots[id].String(); !slices.Contains(all, spot) {
				all = append(all, spot)
			}
		}
	}
	return all
}

// feature is the feature that a spot is of.
func feature(b *book.Book, spot string) string {
	at, _ := b.Spot(spot)
	return b.FeatureAt(at).Ref()
}

// signAll signs every part that can be.
func (k *bench) signAll(performer, inspector string) {
	k.t.Helper()
	for _, part := range []string{"crank", "case", "shell", "rod"} {
		k.signed(performer, part, job.Performed)
		k.signed(inspector, part, job.Inspected)
	}
}

// ready is a job in which everything is measured, and nothing signed.
func ready(t testing.TB) *bench {
	t.Helper()
	k := opened(t)
	k.do("rs", &job.StateCondition{ConditionStated: job.ConditionStated{Name: "bushing", Word: "used"}})
	k.measure()
	return k
}
