package shoplog_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"tenths/internal/ledger"
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

// begin is when the shops of these tests are made.
var begin = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)

// edition is the nth edition that there is.
func edition(n int) string { return fmt.Sprintf("%064x", n) }

// A log is a shop's log on its way: the state, and the lines that it came from.
type log struct {
	t     testing.TB
	state *shoplog.State
	lines [][]byte
}

// newLog begins a log with facts that stand.
func newLog(t testing.TB, facts ...shoplog.Fact) *log {
	t.Helper()
	l := &log{t: t, state: shoplog.New()}
	for _, f := range facts {
		l.enter("mp", f)
	}
	return l
}

// made is a shop with a manager, and a mechanic.
func made(t testing.TB, more ...shoplog.Fact) *log {
	t.Helper()
	return newLog(t, append([]shoplog.Fact{
		&shoplog.ShopMade{ID: "0198c2d4-5b60-7a11-8c3d-0000000000aa", Name: "Two Rivers", Key: "tenths.shop/aa+00+AA=="},
		person("mp", shoplog.Manager),
		person("kd", shoplog.Mechanic),
	}, more...)...)
}

func person(handle, role string) *shoplog.PersonAdded {
	return &shoplog.PersonAdded{Handle: handle, Name: "Person " + handle, Role: role, Since: "2020-01-01"}
}

func changed(p shoplog.PersonAdded, why string) *shoplog.PersonChanged {
	return &shoplog.PersonChanged{PersonAdded: p, Why: why}
}

// enter puts a fact behind the log, or fails.
func (l *log) enter(by string, f shoplog.Fact) {
	l.t.Helper()
	if err := shoplog.Decide(l.state, f, begin); err != nil {
		l.t.Fatalf("%s: %v", f.Kind(), err)
	}
	line := encode(l.t, l.state.Size+1, by, f)
	e, err := decode(line)
	if err != nil {
		l.t.Fatalf("%v: %s", err, line)
	}
	l.state.Apply(&e)
	l.lines = append(l.lines, line)
}

// encode writes a fact as the entry of that number.
func encode(t testing.TB, seq int64, by string, f shoplog.Fact) []byte {
	t.Helper()
	raw, err := ledger.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	at := ledger.At(begin.Add(time.Duration(seq) * time.Minute))
	line, err := ledger.Encode(ledger.Entry{
		V: ledger.Version, Log: shoplog.Log, Seq: seq, Shop: seq - 1, ID: ledger.ID("entry", fmt.Sprint(seq)),
		Made: at, Recorded: at, By: by, Device: "bench", Kind: f.Kind(), Fact: raw,
	})
	if err != nil {
		t.Fatal(err)
	}
	return line
}

// decode reads a line as one that somebody else may have written.
func decode(line []byte) (shoplog.Entry, error) {
	e, err := ledger.Decode(line)
	if err != nil {
		return shoplog.Entry{}, err
	}
	return shoplog.Kinds.Check(e)
}

// read reads lines as one's own.
func read(t testing.TB, lines [][]byte) []shoplog.Entry {
	t.Helper()
	all := make([]shoplog.Entry, len(lines))
	for i, line := range lines {
		var err error
		if all[i], err = shoplog.Kinds.Read(line); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// text is all of a state that others can see.
func text(t testing.TB, s *shoplog.State) string {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// A ruling is a fact, whether it may stand, and what the refusal says.
type ruling struct {
	name string
	log  *log
	fact shoplog.Fact
	code string // of the refusal; empty: it stands
	why  string // a part of it
	do   string // the same of what would help; empty: there is nothing
}

// rule holds each ruling against what Decide says. Deciding changes nothing.
func rule(t *testing.T, all []ruling) {
	t.Helper()
	for _, c := range all {
		before := text(t, c.log.state)
		err := shoplog.Decide(c.log.state, c.fact, begin)
		if text(t, c.log.state) != before {
			t.Errorf("%s: deciding changed the state", c.name)
		}
		if err == nil {
			if c.code != "" {
				t.Errorf("%s: it stands; want it refused as %q", c.name, c.code)
			}
			continue
		}
		var r *record.Refusal
		if !errors.As(err, &r) {
			t.Errorf("%s: %v is no refusal", c.name, err)
			continue
		}
		if r.Code != c.code || c.why == "" || !strings.Contains(r.Why, c.why) || (r.Do == "") != (c.do == "") || !strings.Contains(r.Do, c.do) {
			t.Errorf("%s: refused as %q: %q; %q\nwant %q: …%s…; …%s…", c.name, r.Code, r.Why, r.Do, c.code, c.why, c.do)
		}
	}
}
