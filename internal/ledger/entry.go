// Package ledger knows the bytes of the record: how an entry is written as one
// line, how lines are hashed into the root of a log, and how a root is sealed.
// It knows nothing of engines, people or disks.
//
// A log is a list of entries, numbered from 1. An entry is one line of JSON.
// The line is hashed, stored and exported as it is and never written anew, so
// what was recorded once can be proved for good. docs/formats.md specifies the
// bytes for other programs.
package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
)

// MaxLine bounds an entry's line, in bytes.
const MaxLine = 64 << 10

// fields is how many an entry has.
const fields = 11

// Version is the version of the entries that this program writes.
const Version = 1

// An Entry is one line of a log. The fields stand in this order, all of them,
// always.
type Entry struct {
	V        int             `json:"v"`
	Log      string          `json:"log"`      // "shop", or "job/" and the job's id
	Seq      int64           `json:"seq"`      // from 1, without a gap
	Shop     int64           `json:"shop"`     // how many entries of the shop log were known
	ID       string          `json:"id"`       // made where the fact was made
	Made     Time            `json:"made"`     // by the clock of the device
	Recorded Time            `json:"recorded"` // by the clock of the writer
	By       string          `json:"by"`       // the person, by handle
	Device   string          `json:"device"`
	Kind     string          `json:"kind"`
	Fact     json.RawMessage `json:"fact"`
}

// A Time is a moment in UTC to the millisecond, written as
// 2026-11-25T14:03:09.120Z.
type Time struct{ milli int64 }

const timeForm = "2006-01-02T15:04:05.000Z"

// At returns the moment t, cut to the millisecond.
func At(t time.Time) Time { return Time{t.UnixMilli()} }

// Time returns the moment in UTC.
func (t Time) Time() time.Time { return time.UnixMilli(t.milli).UTC() }

// Before tells whether t is earlier than u.
func (t Time) Before(u Time) bool { return t.milli < u.milli }

// String returns the moment as entries write it.
func (t Time) String() string { return t.Time().Format(timeForm) }

// ParseTime reads exactly what String writes.
func ParseTime(text string) (Time, error) {
	at, err := time.Parse(timeForm, text)
	if err != nil || len(text) != len(timeForm) {
		return Time{}, fmt.Errorf("%q is not a time like %s", cut(text), timeForm)
	}
	return At(at), nil
}

// MarshalText writes the moment; a year that four digits can't hold is an
// error.
func (t Time) MarshalText() ([]byte, error) {
	if y := t.Time().Year(); y < 0 || y > 9999 {
		return nil, errors.New("the year is not between 0 and 9999")
	}
	return t.Time().AppendFormat(nil, timeForm), nil
}

// UnmarshalText reads exactly what MarshalText writes.
func (t *Time) UnmarshalText(text []byte) (err error) {
	*t, err = ParseTime(string(text))
	return err
}

// ID makes an id of texts: the same of the same. It is a UUID of version 8
// (RFC 9562, 5.8): the first bytes of the SHA-256 of the texts, a nought byte
// behind each.
func ID(texts ...string) string {
	var b []byte
	for _, t := range texts {
		b = append(append(b, t...), 0)
	}
	sum := sha256.Sum256(b)
	id := uuid.UUID(sum[:16])
	id[6], id[8] = id[6]&0x0f|0x80, id[8]&0x3f|0x80
	return id.String()
}

// Encode writes an entry's line, without a line feed.
func Encode(e Entry) ([]byte, error) {
	line, err := e.append(make([]byte, 0, 320+len(e.Fact)))
	if err != nil {
		return nil, err
	}
	if len(line) > MaxLine {
		return nil, fmt.Errorf("the entry has %d bytes and may have %d: write less, or in several entries", len(line), MaxLine)
	}
	return line, nil
}

// append writes the entry as [Marshal] would, in a fifth of the time: the fact
// is written already, and most texts need no escapes.
func (e *Entry) append(b []byte) ([]byte, error) {
	var err error
	text := func(key, s string) {
		b = append(append(b, key...), '"')
		if plain(s) {
			b = append(append(b, s...), '"')
			return
		}
		quoted, wrong := Marshal(s)
		if err = errors.Join(err, wrong); err == nil {
			b = append(b, quoted[1:]...)
		}
	}
	moment := func(key string, t Time) {
		m, wrong := t.MarshalText()
		err = errors.Join(err, wrong)
		b = append(append(append(append(b, key...), '"'), m...), '"')
	}
	b = strconv.AppendInt(append(b, `{"v":`...), int64(e.V), 10)
	text(`,"log":`, e.Log)
	b = strconv.AppendInt(append(b, `,"seq":`...), e.Seq, 10)
	b = strconv.AppendInt(append(b, `,"shop":`...), e.Shop, 10)
	text(`,"id":`, e.ID)
	moment(`,"made":`, e.Made)
	moment(`,"recorded":`, e.Recorded)
	text(`,"by":`, e.By)
	text(`,"device":`, e.Device)
	text(`,"kind":`, e.Kind)
	b = append(append(append(b, `,"fact":`...), e.Fact...), '}')
	return b, err
}

// plain tells text that stands for itself between quotes.
func plain(s string) bool {
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c > 0x7e || c == '"' || c == '\\' {
			return false
		}
	}
	return true
}

// Marshal writes a value as entries are written: one line of JSON without
// spaces, and <, > and & as themselves.
func Marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// Unmarshal reads into v, a pointer to a struct, exactly what [Marshal] writes
// of it: a doubled or unknown key, one in other letters, a field left out or in
// another place, a space, an escape that is not needed and text that is not
// UTF-8 are all refused, since two programs could read them in two ways.
func Unmarshal(data []byte, v any) error {
	if !utf8.Valid(data) {
		return errors.New("the text is not UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return err
	}
	again, err := Marshal(v)
	if err != nil {
		return err
	}
	if at := differ(data, again); at >= 0 {
		return fmt.Errorf("byte %d: %q stands where %q would be written: the text is not as entries are written", at+1, cut(string(data[at:])), cut(string(again[at:])))
	}
	return nil
}

// differ returns where two texts part, −1 where they don't.
func differ(a, b []byte) int {
	if bytes.Equal(a, b) {
		return -1
	}
	at := 0
	for at < len(a) && at < len(b) && a[at] == b[at] {
		at++
	}
	return at
}

func cut(text string) string {
	const most = 24
	if r := []rune(text); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return text
}

// Decode reads a line. It accepts exactly what Encode writes of an entry of any
// kind; whether the fact is one of its kind is for who knows the kind, with
// [Unmarshal].
func Decode(line []byte) (Entry, error) {
	if len(line) > MaxLine {
		return Entry{}, fmt.Errorf("the entry has %d bytes and may have %d", len(line), MaxLine)
	}
	n, err := wellFormed(line)
	if err != nil {
		return Entry{}, err
	}
	// What stands behind the fact readPlain takes for a part of it.
	e, ok := readPlain(line)
	if again, err := e.append(nil); !ok || n != fields || err != nil || !bytes.Equal(again, line) {
		e = Entry{}
		if err := Unmarshal(line, &e); err != nil { // which also says what is wrong
			return Entry{}, err
		}
	}
	switch {
	case e.V < 1:
		return Entry{}, fmt.Errorf("%d is not a version", e.V)
	case e.Seq < 1:
		return Entry{}, fmt.Errorf("%d is not a place in a log: the first is 1", e.Seq)
	case e.Shop < 0:
		return Entry{}, fmt.Errorf("%d is not a size of the shop log", e.Shop)
	case !isID(e.ID):
		return Entry{}, fmt.Errorf("%q is not an id: a UUID in small letters", cut(e.ID))
	case len(e.Fact) == 0 || e.Fact[0] != '{':
		return Entry{}, errors.New("the fact is not an object")
	}
	return e, nil
}

// isID tells a UUID in small letters.
func isID(text string) bool {
	return len(text) == 36 && uuid.Validate(text) == nil && strings.ToLower(text) == text
}

// Read reads a line that is known to be as it was written, by its hash: what
// Decode looks at, Read takes for granted. The fact is part of the line.
func Read(line []byte) (e Entry, err error) {
	if e, ok := readPlain(line); ok {
		return e, nil
	}
	err = json.Unmarshal(line, &e)
	return e, err
}

// readPlain reads a line whose texts have no escapes, as nearly all have: the
// fields stand in their order, so that nothing is looked for. A shop's first
// answer may wait for a million of them.
func readPlain(line []byte) (e Entry, ok bool) {
	ok = true
	take := func(what string) {
		if ok = ok && len(line) >= len(what) && string(line[:len(what)]) == what; ok {
			line = line[len(what):]
		}
	}
	whole := func(key string) (n int64) {
		take(key)
		i := 0
		for ; ok && i < len(line) && line[i] >= '0' && line[i] <= '9' && i < 18; i++ {
			n = n*10 + int64(line[i]-'0')
		}
		if ok = ok && i > 0; ok {
			line = line[i:]
		}
		return n
	}
	text := func(key string) []byte {
		take(key)
		take(`"`)
		i := bytes.IndexByte(line, '"')
		if ok = ok && i >= 0 && bytes.IndexByte(line[:max(i, 0)], '\\') < 0; !ok {
			return nil
		}
		s := line[:i]
		line = line[i+1:]
		return s
	}
	moment := func(key string) (t Time) {
		s := text(key)
		if ok {
			t, ok = readTime(s)
		}
		return t
	}
	e.V = int(whole(`{"v":`))
	e.Log = string(text(`,"log":`))
	e.Seq = whole(`,"seq":`)
	e.Shop = whole(`,"shop":`)
	e.ID = string(text(`,"id":`))
	e.Made = moment(`,"made":`)
	e.Recorded = moment(`,"recorded":`)
	e.By = string(text(`,"by":`))
	e.Device = string(text(`,"device":`))
	e.Kind = string(text(`,"kind":`))
	take(`,"fact":`)
	if !ok || len(line) < 3 || line[0] != '{' || line[len(line)-1] != '}' {
		return Entry{}, false
	}
	e.Fact = line[: len(line)-1 : len(line)-1]
	return e, true
}

// readTime reads a time that is known to be one.
func readTime(s []byte) (t Time, ok bool) {
	if len(s) != len(timeForm) {
		return t, false
	}
	n := func(from, to int) (v int) {
		for _, c := range s[from:to] {
			v = v*10 + int(c-'0')
		}
		return v
	}
	return At(time.Date(n(0, 4), time.Month(n(5, 7)), n(8, 10), n(11, 13), n(14, 16), n(17, 19), n(20, 23)*1e6, time.UTC)), true
}
