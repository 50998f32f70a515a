// Package export is the file in which a job's record leaves the shop, and how a
// stranger proves from it what was altered since which seal.
//
// The file is lines of text, so that it can be looked at with anything. It has
// the shop's key, the seals, the blobs that entries name, and the entries of
// the shop's log and of the job's as they were written, each with its hash. A
// hash beside its entry proves nothing, since who alters one can alter the
// other; but who alters only the entry is told of by name. docs/formats.md
// specifies the bytes.
package export

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/ledger"
)

// Header is the first line of every file.
const Header = "tenths record/1"

// Bounds of a file that is read, in bytes: of one line, which may hold a blob,
// and of the whole.
const (
	maxLine = 128 << 20
	MaxFile = 1 << 30
)

// A Record is what a file holds.
type Record struct {
	Key   string   // public half of the shop's key
	Seals []string // signed notes, of both logs
	Blobs map[string][]byte
	Shop  []Line
	Job   []Line
	Whole bool // the file ends as it was ended
	Lines int  // of the file
}

// A Line is an entry's line and the hash that stands beside it.
type Line struct {
	Text []byte
	Hash ledger.Hash
}

// Of returns lines with their hashes.
func Of(lines [][]byte) []Line {
	all := make([]Line, len(lines))
	for i, l := range lines {
		all[i] = Line{l, ledger.HashLine(l)}
	}
	return all
}

// Write writes a file. The order is such that a file cut short still says what
// it should have had: key, seals, blobs, the shop's log, the job's.
func Write(to io.Writer, r *Record, names []string) error {
	w := bufio.NewWriter(to) // it keeps the first error
	n := 0
	line := func(parts ...string) {
		n++
		w.WriteString(strings.Join(parts, " ") + "\n")
	}
	line(Header)
	line("key", r.Key)
	for _, s := range r.Seals {
		quoted, err := ledger.Marshal(s)
		if err != nil {
			return err
		}
		line("seal", string(quoted))
	}
	for _, name := range names {
		line("blob", name, base64.StdEncoding.EncodeToString(r.Blobs[name]))
	}
	for _, l := range r.Shop {
		line("shop", l.Hash.String(), string(l.Text))
	}
	for _, l := range r.Job {
		line("job", l.Hash.String(), string(l.Text))
	}
	line("end", strconv.Itoa(n))
	return w.Flush()
}

// order is the order of the words that lines begin with.
var order = []string{"key", "seal", "blob", "shop", "job", "end"}

// A FormError says where a file is not one of ours.
type FormError struct {
	Line int
	What string
}

func (e *FormError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.What) }

// Read reads a file, and judges nothing of what it says.
func Read(from io.Reader) (*Record, error) {
	in := bufio.NewScanner(io.LimitReader(from, MaxFile))
	in.Buffer(make([]byte, 0, 64<<10), maxLine)
	r := &Record{Blobs: map[string][]byte{}}
	fail := func(format string, args ...any) (*Record, error) {
		return nil, &FormError{r.Lines, fmt.Sprintf(format, args...)}
	}
	in.Split(wholeLines)
	last := 0
	for in.Scan() {
		r.Lines++
		if r.Whole {
			return fail("something follows the end")
		}
		text := in.Text()
		if r.Lines == 1 {
			if text != Header {
				return fail("the file does not begin with %q: it is not a record that tenths exported", Header)
			}
			continue
		}
		word, rest, _ := strings.Cut(text, " ")
		place := slices.Index(order, word)
		switch {
		case place < 0:
			return fail("it begins with %q, which means nothing", cut(word))
		case (place == 0) != (r.Lines == 2):
			return fail("the second line is the key, and no other is")
		case place < last:
			return fail("a line with %q behind one with %q", word, order[last])
		}
		last = place
		switch word {
		case "key":
			if err := ledger.CheckKey(rest); err != nil {
				return fail("%v", err)
			}
			r.Key = rest
		case "seal":
			// A seal that can't be read is a finding, and not a fault of the form: kept as
			// it stands it is no seal either.
			note := rest
			if err := json.Unmarshal([]byte(rest), &note); err != nil {
				note = rest
			}
			r.Seals = append(r.Seals, note)
		case "blob":
			name, encoded, _ := strings.Cut(rest, " ")
			data, err := base64.StdEncoding.Strict().DecodeString(encoded)
			if err == nil && base64.StdEncoding.EncodedLen(len(data)) != len(encoded) {
				err = errors.New("it has a carriage return in it") // which the decoder passes over
			}
			if err != nil {
				return fail("the blob can't be read: %v", err)
			}
			if _, ok := r.Blobs[name]; ok {
				return fail("the blob %.16s stands here a second time", name)
			}
			r.Blobs[name] = data
		case "shop", "job":
			hash, entry, _ := strings.Cut(rest, " ")
			h, err := ledger.ParseHash(hash)
			if err != nil {
				return fail("the hash can't be read: it is %v", err)
			}
			l := Line{[]byte(entry), h}
			if word == "job" {
				r.Job = append(r.Job, l)
			} else {
				r.Shop = append(r.Shop, l)
			}
		case "end":
			if rest != strconv.Itoa(r.Lines-1) {
				return fail("the end says that %s lines stand before it, and there are %d", rest, r.Lines-1)
			}
			r.Whole = true
		}
	}
	if err := in.Err(); err != nil {
		return fail("the file can't be read on: %v", err)
	}
	if r.Lines == 0 {
		return fail("the file is empty")
	}
	if r.Key == "" {
		return fail("the file ends before its key")
	}
	return r, nil
}

// wholeLines splits at line feeds only: a carriage return is part of its line.
// A last line without a line feed is cut short, and left out.
func wholeLines(data []byte, atEOF bool) (advance int, token []byte, err error) {
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		return i + 1, data[:i], nil
	}
	if atEOF {
		return len(data), nil, nil
	}
	return 0, nil, nil
}

func cut(text string) string {
	const most = 24
	if r := []rune(text); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return text
}

// blobName is the name that a blob has by right.
func blobName(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
