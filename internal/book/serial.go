package book

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// A Serial is a serial number, as an engine's plate or a book writes it: runs of
// letters and of digits, with nothing, a blank, a hyphen, a point, a slash or an
// underscore between them. Large and small letters, what stands between, and
// noughts before digits make no difference: L-0150-A is l150a.
type Serial struct {
	text string
	runs []run
}

// A run is one of letters, in capitals, or of digits.
type run struct {
	letters string // empty: digits
	number  int64
}

// mostDigits is how many digits a run may have.
const mostDigits = 18

// ParseSerial reads a serial number.
func ParseSerial(text string) (Serial, error) {
	s := Serial{text: text}
	between := true
	kind := func(r rune) int {
		switch {
		case '0' <= r && r <= '9':
			return 1
		case unicode.IsLetter(r):
			return 2
		case strings.ContainsRune(" -./_", r):
			return 0
		}
		return -1
	}
	for rest := []rune(text); len(rest) > 0; {
		k, n := kind(rest[0]), 1
		for n < len(rest) && k > 0 && kind(rest[n]) == k {
			n++
		}
		word := string(rest[:n])
		rest = rest[n:]
		switch k {
		case 0:
			if between {
				return s, fmt.Errorf("%q has nothing before or between its marks", text)
			}
			between = true
			continue
		case 1:
			digits := strings.TrimLeft(word, "0")
			if len(digits) > mostDigits {
				return s, fmt.Errorf("%q has more than %d digits in a row", text, mostDigits)
			}
			number, _ := strconv.ParseInt("0"+digits, 10, 64)
			s.runs = append(s.runs, run{number: number})
		case 2:
			s.runs = append(s.runs, run{letters: strings.ToUpper(word)})
		default:
			return s, fmt.Errorf("%q has a character in it that serial numbers don't have here: they are of letters, digits, and - . / _ or a blank between", text)
		}
		between = false
	}
	if between {
		return s, fmt.Errorf("%q ends with nothing behind its mark, or is empty", text)
	}
	return s, nil
}

func (s Serial) String() string { return s.text }

// counts returns the places of its digits.
func (s Serial) counts() []int {
	var all []int
	for i, r := range s.runs {
		if r.letters == "" {
			all = append(all, i)
		}
	}
	return all
}

// letters are those of its runs that are not digits.
func (s Serial) letters() []string {
	var all []string
	for _, r := range s.runs {
		if r.letters != "" {
			all = append(all, r.letters)
		}
	}
	return all
}

// A Span is a range of serial numbers, both ends in it: those that are as its
// ends but for one number. Of the ends one may be open.
type Span struct {
	From, To string // as the book writes them; empty: open

	like     Serial // of which form
	at       int    // the run that counts
	from, to int64
}

func (s Span) String() string {
	if s.From == s.To {
		return s.From
	}
	return s.From + ".." + s.To
}

// span reads a range of serial numbers, or says what is wrong with it and what
// to do.
func span(text string) (s Span, why, do string) {
	const write = "write 1001..1999, ..1000, 2000.., A-101..A-250, or one number"
	from, to, isRange := strings.Cut(text, "..")
	if !isRange {
		to = from
	}
	s.From, s.To = strings.TrimSpace(from), strings.TrimSpace(to)
	var ends []Serial
	for _, end := range []string{s.From, s.To} {
		if end == "" {
			continue
		}
		one, err := ParseSerial(end)
		if err != nil {
			return s, "is not a range of serial numbers: " + err.Error(), write
		}
		ends = append(ends, one)
	}
	if len(ends) == 0 || !isRange && len(ends) < 2 {
		return s, "is not a range of serial numbers", write
	}
	s.like, s.from, s.to = ends[0], 0, 1<<63-1
	counts := s.like.counts()
	if len(ends) == 2 {
		other := ends[1]
		if !alike(ends[0], other) {
			return s, "is not a range of serial numbers: its ends differ in more than a number", "write the letters of both ends alike: A-101..A-250"
		}
		counts = slices.DeleteFunc(counts, func(i int) bool { return s.like.runs[i].number == other.runs[i].number })
		if len(counts) == 0 && s.like.counts() != nil {
			counts = s.like.counts()[:1] // one number, all of which must be so
		}
	}
	switch {
	case len(counts) == 0:
		return s, "is not a range of serial numbers: there is no number in it", write
	case len(counts) > 1 && len(ends) == 2:
		return s, "is not a range of serial numbers: its ends differ in more than one number", "write a range for each"
	case len(counts) > 1:
		return s, "is open at one end, and which of its numbers counts can't be told", "write both ends"
	}
	s.at = counts[0]
	if s.From != "" {
		s.from = ends[0].runs[s.at].number
	}
	if s.To != "" {
		s.to = ends[len(ends)-1].runs[s.at].number
	}
	if s.from > s.to || s.From != "" && s.from == 0 || s.To != "" && s.to == 0 {
		return s, "is not a range of serial numbers", write
	}
	return s, "", ""
}

// Engines lists the engines that a line is for; "" where it is for all.
func (l *Line) Engines() string {
	all := make([]string, len(l.Serials))
	for i, s := range l.Serials {
		all[i] = s.String()
	}
	return strings.Join(all, ", ")
}

// alike tells whether two are the same but for their numbers.
func alike(a, b Serial) bool {
	return slices.EqualFunc(a.runs, b.runs, func(x, y run) bool { return x.letters == y.letters })
}

// fits tells whether a serial number is of the span's form: as its ends but for
// the number that counts.
func (s *Span) fits(n Serial) bool {
	if !alike(s.like, n) {
		return false
	}
	for i := range n.runs {
		if i != s.at && n.runs[i].number != s.like.runs[i].number {
			return false
		}
	}
	return true
}

// Meets tells whether an engine may be in both spans.
func (s *Span) Meets(o Span) bool {
	if !alike(s.like, o.like) {
		return false
	}
	for i := range s.like.runs {
		// What a run may be in each: a number, or those of the span.
		from, to := s.like.runs[i].number, s.like.runs[i].number
		if i == s.at {
			from, to = s.from, s.to
		}
		least, most := o.like.runs[i].number, o.like.runs[i].number
		if i == o.at {
			least, most = o.from, o.to
		}
		if from > most || least > to {
			return false
		}
	}
	return true
}

// In tells whether an engine's serial number is in one of the spans, and whether
// that is sure. One of another form is of another series, where it has letters
// that the book's has not: L-1500-B is not in L-1001-A..L-1999-A. Where the one
// only leaves out what the other has, it may be the same written short, and
// 1500 is not known to be in or out.
func In(serial Serial, spans []Span) (in, sure bool) {
	fits, short := false, false
	for i := range spans {
		s := &spans[i]
		if s.fits(serial) {
			switch n := serial.runs[s.at].number; {
			case n == 0: // none is given so: it stands for one that is not known
				return false, false
			case s.from <= n && n <= s.to:
				return true, true
			}
			fits = true
			continue
		}
		a, b := s.like.letters(), serial.letters()
		short = short || !alike(s.like, serial) && (within(a, b) || within(b, a))
	}
	return false, fits || !short
}

// within tells whether all of a stand in b, in their order.
func within(a, b []string) bool {
	for _, word := range b {
		if len(a) > 0 && a[0] == word {
			a = a[1:]
		}
	}
	return len(a) == 0
}
