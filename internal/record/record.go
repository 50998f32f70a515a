// Package record is what the logs of the shop and of its jobs have in common:
// kinds of facts, how a fact is read back from its line, what text may stand in
// one, and how a request is refused.
package record

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tenths/internal/ledger"
)

// A Refusal says why something can't be entered, and what would help. Nothing
// was recorded.
type Refusal struct {
	Code string // stable, for programs
	Why  string
	Do   string
	Of   error // what Why tells, where that is an error of its own
}

// Unwrap returns what the refusal tells, if anything.
func (r *Refusal) Unwrap() error { return r.Of }

func (r *Refusal) Error() string {
	if r.Do == "" {
		return r.Why
	}
	return r.Why + "; " + r.Do
}

// Refuse returns a [Refusal]: its code, what would help, and why as a format.
// Texts in it are cut: what somebody wrote may be of any length.
func Refuse(code, do, why string, args ...any) error {
	for i, a := range args {
		if text, ok := a.(string); ok {
			args[i] = cut(text)
		}
	}
	return &Refusal{Code: code, Why: fmt.Sprintf(why, args...), Do: do}
}

func cut(text string) string {
	const most = 400
	n := 0
	for i := range text {
		if n++; n > most {
			return text[:i] + "…"
		}
	}
	return text
}

// How long texts may be, in bytes: a name or a number; a sentence; a note.
const (
	Short = 120
	Long  = 1000
	Note  = 16_000
)

// Line refuses text that is not one line of plain text of at most so many
// bytes, and where it must be there, one that is empty.
func Line(field, text string, most int, must bool) error {
	if strings.ContainsRune(text, '\n') {
		return Refuse("text", "write it on one line", "%s has several lines", field)
	}
	return Lines(field, text, most, must)
}

// Lines is [Line] for text that may have line feeds in it.
func Lines(field, text string, most int, must bool) error {
	switch {
	case text == "" && must:
		return Refuse("empty", "write it", "%s is empty", field)
	case len(text) > most:
		return Refuse("long", "say it in fewer words", "%s has %d bytes and may have %d", field, len(text), most)
	case !utf8.ValidString(text):
		return Refuse("text", "enter it again as UTF-8", "%s is not text", field)
	case strings.TrimSpace(text) != text:
		return Refuse("text", "leave it out", "%s begins or ends with a space", field)
	}
	for _, r := range text {
		if r != '\n' && !unicode.IsPrint(r) {
			return Refuse("text", "write it again", "%s has a character in it that can't be seen (%U)", field, r)
		}
	}
	return nil
}

// First returns the first error of several.
func First(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Date refuses what is not a day like 2026-11-25; nothing is one.
func Date(field, text string) error {
	if _, err := time.Parse(time.DateOnly, text); text != "" && err != nil {
		return Refuse("date", "write it as 2026-11-25", "%s %q is not a date", field, text)
	}
	return nil
}

// An Entry is a line that was read: the envelope, and the fact that is in it.
type Entry[F any] struct {
	ledger.Entry
	What F
}

// Kinds are the facts of a log by kind: for each, a pointer to an empty one.
// "" is for kinds of a newer version, which are kept and shown.
type Kinds[F any] map[string]func() F

// A Strange is an entry that only a newer version of tenths can read: which, of
// which kind, and of which version.
type Strange struct {
	Seq  int64
	Kind string
	V    int
}

// Strange returns what is known of an entry that is not known.
func (e *Entry[F]) Strange() Strange { return Strange{e.Seq, e.Kind, e.V} }

// String names the entry in words.
func (s Strange) String() string {
	return fmt.Sprintf("entry %d, %q of version %d", s.Seq, cut(s.Kind), s.V)
}

// NotKnown says which of a log's entries this version does not know; "" where it
// knows them all.
func NotKnown(log string, all []Strange) string {
	switch len(all) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("this version of tenths does not know an entry of %s: %s", log, all[0])
	}
	return fmt.Sprintf("this version of tenths does not know %d entries of %s, the first of them %s", len(all), log, all[0])
}

// Unknown says the same as sentences, with what it means and what helps.
func Unknown(log string, all []Strange) string {
	text := NotKnown(log, all)
	if text == "" {
		return ""
	}
	return "T" + text[1:] + ". What is not known is kept; nothing is signed, handed over or closed beside it: " + Newer + "."
}

// Back says where the writer's clock was set back.
func Back(jumps []int64) string {
	if len(jumps) == 0 {
		return ""
	}
	const most = 5
	which := make([]string, 0, most+1)
	for i, seq := range jumps {
		if i == most {
			which = append(which, fmt.Sprintf("%d more", len(jumps)-most))
			break
		}
		which = append(which, fmt.Sprintf("entry %d", seq))
	}
	return "The writer's clock went back at " + strings.Join(which, ", ") + ": the order of the entries is right, their times are not."
}

// Newer is what helps where an entry is not known.
const Newer = "do it with the newer tenths that wrote it, or one as new"

// Known refuses what must not be done by who does not know all of a log: what
// it says there may change everything behind it.
func Known(log string, all []Strange) error {
	if text := NotKnown(log, all); text != "" {
		return Refuse("unknown-entry", Newer, "%s", text)
	}
	return nil
}

// Read reads a line that is known to be as it was written.
func (k Kinds[F]) Read(line []byte) (Entry[F], error) {
	var e Entry[F]
	var err error
	if e.Entry, err = ledger.Read(line); err != nil {
		return e, err
	}
	if make, ok := k[e.Kind]; ok && e.Kind != "" && e.V == ledger.Version {
		e.What = make()
		return e, json.Unmarshal(e.Fact, e.What)
	}
	e.What = k[""]()
	return e, nil
}

// Check reads a fact that somebody else may have written: only what would be
// written just so is one. A kind of a newer version can't be looked at.
func (k Kinds[F]) Check(e ledger.Entry) (Entry[F], error) {
	if make, ok := k[e.Kind]; ok && e.Kind != "" && e.V == ledger.Version {
		what := make()
		return Entry[F]{e, what}, ledger.Unmarshal(e.Fact, what)
	}
	if e.V == ledger.Version {
		return Entry[F]{e, k[""]()}, fmt.Errorf("there is no kind %q", e.Kind)
	}
	return Entry[F]{e, k[""]()}, nil
}
