package ledger

import (
	"errors"
	"fmt"
	"slices"
	"unicode/utf8"
)

// maxDepth bounds how deep objects and lists stand in each other, the entry
// itself counted.
const maxDepth = 8

// wellFormed refuses JSON that is not written as entries are: with spaces,
// doubled keys, numbers that are not whole, escapes that are not needed, null,
// or text that is not UTF-8. It is what can be said of a line without knowing
// its kind; docs/formats.md has the rules. It returns how many fields the object
// has that all else stands in.
func wellFormed(text []byte) (fields int, err error) {
	f := form{text: text}
	if err := f.value(0); err != nil {
		return 0, fmt.Errorf("byte %d: %w", f.at+1, err)
	}
	if f.at != len(text) {
		return 0, fmt.Errorf("byte %d: something stands behind the end", f.at+1)
	}
	return f.fields, nil
}

type form struct {
	text   []byte
	at     int
	fields int // of the outermost object
}

// next is the byte that is to be read; 0 at the end, where none fits.
func (f *form) next() byte {
	if f.at < len(f.text) {
		return f.text[f.at]
	}
	return 0
}

func (f *form) take(c byte) bool {
	if f.next() != c {
		return false
	}
	f.at++
	return true
}

func (f *form) value(depth int) error {
	switch c := f.next(); {
	case (c == '{' || c == '[') && depth >= maxDepth:
		return fmt.Errorf("more than %d objects and lists stand in each other", maxDepth)
	case c == '{':
		return f.object(depth)
	case c == '[':
		return f.list(depth)
	case c == '"':
		_, err := f.quoted()
		return err
	case c == '-' || c >= '0' && c <= '9':
		return f.number()
	}
	for _, word := range []string{"true", "false"} {
		if len(f.text)-f.at >= len(word) && string(f.text[f.at:f.at+len(word)]) == word {
			f.at += len(word)
			return nil
		}
	}
	return errors.New("neither an object, a list, a text, a whole number, true nor false, without a space before it")
}

func (f *form) object(depth int) error {
	f.at++
	if f.take('}') {
		return nil
	}
	var keys []string
	for {
		key, err := f.quoted()
		if err != nil {
			return err
		}
		keys = append(keys, string(key))
		if !f.take(':') {
			return errors.New("a colon is wanted")
		}
		if err := f.value(depth + 1); err != nil {
			return err
		}
		if f.take('}') {
			break
		}
		if !f.take(',') {
			return errors.New("a comma or } is wanted")
		}
	}
	if depth == 0 {
		f.fields = len(keys)
	}
	slices.Sort(keys)
	for i := 1; i < len(keys); i++ {
		if keys[i] == keys[i-1] {
			return fmt.Errorf("before it the key %q stands twice", cut(keys[i]))
		}
	}
	return nil
}

func (f *form) list(depth int) error {
	f.at++
	if f.take(']') {
		return nil
	}
	for {
		if err := f.value(depth + 1); err != nil {
			return err
		}
		if f.take(']') {
			return nil
		}
		if !f.take(',') {
			return errors.New("a comma or ] is wanted")
		}
	}
}

func (f *form) number() error {
	begin := f.at
	f.take('-')
	digits := f.at
	for c := f.next(); c >= '0' && c <= '9'; c = f.next() {
		f.at++
	}
	text := string(f.text[digits:f.at])
	if text == "" || len(text) > 1 && text[0] == '0' || text == "0" && begin != digits || len(text) > 18 {
		f.at = begin
		return errors.New("not a whole number as entries write it")
	}
	return nil
}

// escapes are the letters behind \ that stand for one character, but u.
const escapes = `"\bfnrt`

// quoted reads a text and returns what stands between its quotes.
func (f *form) quoted() ([]byte, error) {
	if !f.take('"') {
		return nil, errors.New("a text in quotes is wanted")
	}
	begin := f.at
	for {
		switch c := f.next(); {
		case f.at >= len(f.text):
			return nil, errors.New("the text has no end")
		case c == '"':
			f.at++
			return f.text[begin : f.at-1], nil
		case c == '\\':
			if err := f.escape(); err != nil {
				return nil, err
			}
		case c < 0x20:
			return nil, errors.New("a control character that is not escaped")
		case c < utf8.RuneSelf:
			f.at++
		default:
			r, size := utf8.DecodeRune(f.text[f.at:])
			if r == utf8.RuneError && size == 1 {
				return nil, errors.New("not UTF-8")
			}
			if r == '\u2028' || r == '\u2029' {
				return nil, errors.New("a line separator that is not escaped")
			}
			f.at += size
		}
	}
}

// escape reads what stands for a character that may not stand for itself, in
// the one way that it is written.
func (f *form) escape() error {
	rest := f.text[f.at+1:]
	if len(rest) > 0 && slices.Contains([]byte(escapes), rest[0]) {
		f.at += 2
		return nil
	}
	if len(rest) < 5 || rest[0] != 'u' {
		return errors.New("not an escape")
	}
	code := 0
	for _, c := range rest[1:5] {
		switch {
		case c >= '0' && c <= '9':
			code = code<<4 | int(c-'0')
		case c >= 'a' && c <= 'f':
			code = code<<4 | int(c-'a'+10)
		default:
			return errors.New("an escape wants four small hexadecimal digits")
		}
	}
	short := code == '\b' || code == '\f' || code == '\n' || code == '\r' || code == '\t'
	if (code >= 0x20 || short) && code != 0x2028 && code != 0x2029 {
		return errors.New("an escape that is not needed, or not written so")
	}
	f.at += 6
	return nil
}
