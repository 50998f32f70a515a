package record_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"tenths/internal/ledger"
	"tenths/internal/record"
)

// refusal returns the refusal that an error is.
func refusal(t testing.TB, err error) *record.Refusal {
	t.Helper()
	var r *record.Refusal
	if !errors.As(err, &r) {
		t.Fatalf("%v is no refusal", err)
	}
	return r
}

func TestText(t *testing.T) {
	const most = 40
	for _, c := range []struct {
		name, text string
		line       string // the code that Line refuses it with; empty: it stands
		lines      string // the same of Lines
	}{
		{"a name", "R. Sand", "", ""},
		{"nothing", "", "empty", "empty"},
		{"letters of other tongues", "Øyvind Čapek 山田 µ °", "", ""},
		{"a letter and its mark apart", "e\u0301", "", ""},
		{"as long as may be", strings.Repeat("x", most), "", ""},
		{"a byte longer", strings.Repeat("x", most+1), "long", "long"},
		{"too long in bytes, not in letters", strings.Repeat("µ", most/2+1), "long", "long"},
		{"10 MB", strings.Repeat("x", 10<<20), "long", "long"},
		{"10 MB of line feeds", strings.Repeat("\n", 10<<20), "text", "long"},
		{"a blank before", " a", "text", "text"},
		{"a blank behind", "a ", "text", "text"},
		{"a blank alone", " ", "text", "text"},
		{"a no-break space behind", "a\u00a0", "text", "text"},
		{"a no-break space", "a\u00a0b", "text", "text"},
		{"a line feed behind", "a\n", "text", "text"},
		{"two lines", "a\nb", "text", ""},
		{"an empty line between", "a\n\nb", "text", ""},
		{"lines ended as some systems do", "a\r\nb", "text", "text"},
		{"a tab", "a\tb", "text", "text"},
		{"a nought byte", "a\x00b", "text", "text"},
		{"what a terminal obeys", "a\x1b[2Jb", "text", "text"},
		{"a control character of Latin-1", "a\u009bb", "text", "text"},
		{"bytes that are not UTF-8", "a\xffb", "text", "text"},
		{"half a surrogate pair", "a\xed\xa0\x80b", "text", "text"},
		{"text turned round", "a\u202eb", "text", "text"},
		{"text set apart", "a\u2066b", "text", "text"},
		{"a space of no width", "a\u200bb", "text", "text"},
		{"a byte-order mark", "\ufeffa", "text", "text"},
		{"a soft hyphen", "a\u00adb", "text", "text"},
		{"a line separator", "a\u2028b", "text", "text"},
		{"a private character", "a\ue000b", "text", "text"},
		{"what stands for what could not be read", "a\ufffdb", "", ""},
	} {
		for _, way := range []struct {
			name string
			of   func(field, text string, most int, must bool) error
			code string
		}{{"Line", record.Line, c.line}, {"Lines", record.Lines, c.lines}} {
			err := way.of("the note", c.text, most, true)
			if way.code == "" {
				if err != nil {
					t.Errorf("%s: %s refuses it: %v", c.name, way.name, err)
				}
				continue
			}
			if err == nil {
				t.Errorf("%s: %s takes it", c.name, way.name)
				continue
			}
			r := refusal(t, err)
			if r.Code != way.code || r.Do == "" || !strings.HasPrefix(r.Why, "the note ") {
				t.Errorf("%s: %s refuses it as %q: %q; %q; want %q", c.name, way.name, r.Code, r.Why, r.Do, way.code)
			}
			if len(err.Error()) > 200 {
				t.Errorf("%s: %s says so in %d bytes", c.name, way.name, len(err.Error()))
			}
		}
	}
	for _, of := range []func(field, text string, most int, must bool) error{record.Line, record.Lines} {
		if err := of("the note", "", most, false); err != nil {
			t.Errorf("nothing, where nothing need be: %v", err)
		}
	}
}

// What is taken shows as it is, wherever it is shown.
func TestTextThatIsTakenCanBeSeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringN(0, 20, 60), rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) })).Draw(t, "text")
		line := record.Line("it", text, 60, false) == nil
		lines := record.Lines("it", text, 60, false) == nil
		if line && !lines {
			t.Fatalf("%q is one line and not several", text)
		}
		if lines && !line && !strings.Contains(text, "\n") {
			t.Fatalf("%q is several lines and has no line feed", text)
		}
		if !lines {
			return
		}
		if !utf8.ValidString(text) || len(text) > 60 || strings.TrimSpace(text) != text {
			t.Fatalf("%q was taken", text)
		}
		for _, r := range text {
			if r != '\n' && !unicode.IsGraphic(r) {
				t.Fatalf("%q was taken with %U in it", text, r)
			}
		}
	})
}

func TestDate(t *testing.T) {
	for _, c := range []struct {
		text string
		ok   bool
	}{
		{"", true},
		{"2026-11-25", true},
		{"2024-02-29", true},
		{"2026-02-29", false},
		{"2026-11-31", false},
		{"2026-13-01", false},
		{"2026-1-2", false},
		{"26-11-25", false},
		{"2026-11-25T00:00", false},
		{" 2026-11-25", false},
		{"2026-11-25\n", false},
		{"25.11.2026", false},
		{"٢٠٢٦-١١-٢٥", false},
		{"today", false},
	} {
		err := record.Date("since", c.text)
		if (err == nil) != c.ok {
			t.Errorf("%q: %v", c.text, err)
		}
		if err != nil {
			if r := refusal(t, err); r.Code != "date" || !strings.Contains(r.Why, "since") || r.Do == "" {
				t.Errorf("%q is refused so: %+v", c.text, r)
			}
		}
	}
}

func TestRefusal(t *testing.T) {
	err := record.Refuse("holder", "ask them", "%s has %d", "kd", 2)
	if r := refusal(t, err); *r != (record.Refusal{Code: "holder", Why: "kd has 2", Do: "ask them"}) {
		t.Errorf("%+v", r)
	}
	if got, want := err.Error(), "kd has 2; ask them"; got != want {
		t.Errorf("it says %q, want %q", got, want)
	}
	if got, want := record.Refuse("holder", "", "kd has it").Error(), "kd has it"; got != want {
		t.Errorf("without what would help it says %q, want %q", got, want)
	}
}

// Whoever is refused is told why in few words, whatever they wrote.
func TestRefusalOfLongText(t *testing.T) {
	long := strings.Repeat("µ", 5<<20)
	for _, format := range []string{"there is no %q", "there is no %s"} {
		text := record.Refuse("item", "", format, long).Error()
		if len(text) > 1000 || !utf8.ValidString(text) || !strings.Contains(text, "µµµ…") {
			t.Errorf("%s: %d bytes: %.80s", format, len(text), text)
		}
	}
	if got, want := record.Refuse("item", "", "%s of %d", "µ", 5).Error(), "µ of 5"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestFirst(t *testing.T) {
	a, b := errors.New("a"), errors.New("b")
	for _, c := range []struct {
		in   []error
		want error
	}{{nil, nil}, {[]error{nil, nil}, nil}, {[]error{nil, b, a}, b}, {[]error{a}, a}} {
		if got := record.First(c.in...); got != c.want {
			t.Errorf("of %v the first is %v, want %v", c.in, got, c.want)
		}
	}
}

// A fact is a fact of the kinds that are read here.
type fact interface{ is() string }

type noted struct {
	Text string `json:"text"`
	More string `json:"more,omitempty"`
}

func (*noted) is() string { return "noted" }

type unknown struct{}

func (unknown) is() string { return "" }

var kinds = record.Kinds[fact]{
	"noted": func() fact { return new(noted) },
	"":      func() fact { return unknown{} },
}

func TestKinds(t *testing.T) {
	for _, c := range []struct {
		name    string
		v       int
		kind    string
		fact    string
		want    fact   // what Check reads; nil: it refuses
		refused string // and what the refusal says
	}{
		{"known", 1, "noted", `{"text":"a"}`, &noted{Text: "a"}, ""},
		{"with all", 1, "noted", `{"text":"a","more":"b"}`, &noted{"a", "b"}, ""},
		{"of a newer version", 2, "noted", `{"text":"a"}`, unknown{}, ""},
		{"of a newer version, in another form", 2, "noted", `{"words":["a"]}`, unknown{}, ""},
		{"a kind of a newer version", 2, "weighed", `{}`, unknown{}, ""},
		{"no kind, of a newer version", 2, "", `{}`, unknown{}, ""},
		{"no kind", 1, "", `{}`, nil, `kind ""`},
		{"no such kind", 1, "weighed", `{}`, nil, `"weighed"`},
		{"an empty field written out", 1, "noted", `{"text":"a","more":""}`, nil, "byte"},
		{"a field left out", 1, "noted", `{}`, nil, "byte"},
		{"fields in another order", 1, "noted", `{"more":"b","text":"a"}`, nil, "byte"},
		{"a field that it has not", 1, "noted", `{"text":"a","size":1}`, nil, "size"},
		{"a field in other letters", 1, "noted", `{"Text":"a"}`, nil, "byte"},
		{"a field twice", 1, "noted", `{"text":"a","text":"b"}`, nil, "byte"},
		{"a field of another type", 1, "noted", `{"text":1}`, nil, "number"},
		{"a space", 1, "noted", `{"text": "a"}`, nil, "byte"},
		{"something behind", 1, "noted", `{"text":"a"}{}`, nil, "byte"},
		{"null", 1, "noted", `null`, nil, "byte"},
		{"a list", 1, "noted", `[]`, nil, "array"},
		{"nothing", 1, "noted", ``, nil, "EOF"},
		{"bytes that are not UTF-8", 1, "noted", "{\"text\":\"\xff\"}", nil, "UTF-8"},
	} {
		got, err := kinds.Check(ledger.Entry{V: c.v, Kind: c.kind, Fact: json.RawMessage(c.fact)})
		switch {
		case c.want == nil && (err == nil || !strings.Contains(err.Error(), c.refused)):
			t.Errorf("%s: refused as %v, want %q", c.name, err, c.refused)
		case c.want != nil && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.want != nil && !same(got.What, c.want):
			t.Errorf("%s: %+v, want %+v", c.name, got.What, c.want)
		}
		if string(got.Fact) != c.fact || got.Kind != c.kind {
			t.Errorf("%s: the entry came back as %+v", c.name, got.Entry)
		}
	}
}

// What was written is read back without being looked at twice.
func TestRead(t *testing.T) {
	line := func(v int, kind, fact string) []byte {
		line, err := ledger.Encode(ledger.Entry{V: v, Log: "job/1", Seq: 1, ID: "1", By: "kd", Kind: kind, Fact: json.RawMessage(fact)})
		if err != nil {
			t.Fatal(err)
		}
		return line
	}
	for _, c := range []struct {
		name string
		line []byte
		want fact // nil: an error
	}{
		{"known", line(1, "noted", `{"text":"a"}`), &noted{Text: "a"}},
		{"of a newer version", line(2, "noted", `{"words":1}`), unknown{}},
		{"a kind of a newer version", line(2, "weighed", `{"g":5}`), unknown{}},
		{"a kind that is none", line(1, "weighed", `{}`), unknown{}},
		{"no kind", line(1, "", `{}`), unknown{}},
		{"a fact that is none", line(1, "noted", `[]`), nil},
		{"half a line", line(1, "noted", `{"text":"a"}`)[:40], nil},
		{"no line", nil, nil},
	} {
		got, err := kinds.Read(c.line)
		if (err != nil) != (c.want == nil) {
			t.Errorf("%s: %v", c.name, err)
		}
		if err == nil && (!same(got.What, c.want) || got.Seq != 1 || got.By != "kd") {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// same tells whether two facts are of one kind and say the same.
func same(a, b fact) bool {
	if x, ok := a.(*noted); ok {
		y, ok := b.(*noted)
		return ok && *x == *y
	}
	return a == b
}

// Which entries are not known is told by number, kind and version, and so that it
// can be shown, whatever they are called.
func TestNotKnown(t *testing.T) {
	one := record.Strange{Seq: 4, Kind: "weighed", V: 2}
	for _, c := range []struct {
		all  []record.Strange
		want string
	}{
		{nil, ""},
		{[]record.Strange{one}, `this version of tenths does not know an entry of the job: entry 4, "weighed" of version 2`},
		{[]record.Strange{one, {Seq: 9, V: 1}}, `this version of tenths does not know 2 entries of the job, the first of them entry 4, "weighed" of version 2`},
		{[]record.Strange{{Seq: 1, Kind: "\x1b[2J\u202e", V: 1}}, `this version of tenths does not know an entry of the job: entry 1, "\x1b[2J\u202e" of version 1`},
	} {
		if got := record.NotKnown("the job", c.all); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
		err, told := record.Known("the job", c.all), record.Unknown("the job", c.all)
		if c.want == "" && (err != nil || told != "") || c.want != "" && (err == nil || err.Error() != c.want+"; "+record.Newer || !strings.HasPrefix(told, "T"+c.want[1:]+". ") || !strings.HasSuffix(told, record.Newer+".")) {
			t.Errorf("%v: refused as %v, told as %q", c.all, err, told)
		}
	}
}

func TestBack(t *testing.T) {
	for _, c := range []struct {
		jumps []int64
		want  string
	}{
		{nil, ""},
		{[]int64{4}, "The writer's clock went back at entry 4: the order of the entries is right, their times are not."},
		{[]int64{4, 9}, "The writer's clock went back at entry 4, entry 9: the order of the entries is right, their times are not."},
		{[]int64{1, 2, 3, 4, 5, 6, 7}, "The writer's clock went back at entry 1, entry 2, entry 3, entry 4, entry 5, 2 more: the order of the entries is right, their times are not."},
	} {
		if got := record.Back(c.jumps); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
