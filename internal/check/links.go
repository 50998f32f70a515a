package check

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A Link is a fit that a row of clearances may be: the sizes that it would be
// worked out from. It is only suggested, for a person to confirm.
type Link struct {
	Line  *book.Line
	Sizes []*book.Line // the bore, of a stack the shell or its two shells, and the shaft
	Fit   string       // as a book writes it: case.bore - crank.main
	Ends  int          // how many of its printed new ends are just what the sizes make
	Sum   []string     // the arithmetic, line by line
	Why   []string     // what else speaks for it
	But   string       // why it can't be linked as the book is: they are not equally many
}

// Links suggests which rows of clearances are fits of which rows of sizes, by the
// order of the book and the likeliest first; at most three of a row. What speaks
// for one is that bore less shaft makes the printed clearance, that the row's
// reference is made of theirs, that their names say the same things, and that they
// stand beside each other. Rows that were linked already are left out.
//
// Common practice, no source: what speaks for a link. How much is of our own.
func Links(b *book.Book) []Link {
	l := linker{book: b, number: map[string]int{}}
	l.collect()
	each := make([][]weighed, len(l.fits))
	first := map[string]int{} // by fit, the score of the row that it is the likeliest of
	for i, f := range l.fits {
		each[i] = l.of(f)
		slices.SortStableFunc(each[i], func(a, b weighed) int { return cmp.Compare(b.score, a.score) })
		// One feature may stand in several rows, and what is far less likely than the
		// first only confuses.
		const most = 3
		kept := each[i][:0]
		for _, w := range each[i] {
			if len(kept) == most || 4*w.score < 3*each[i][0].score {
				break
			}
			if !slices.ContainsFunc(kept, func(k weighed) bool { return k.fit() == w.fit() }) {
				kept = append(kept, w)
			}
		}
		if each[i] = kept; len(kept) > 0 {
			fit := kept[0].fit()
			first[fit] = max(first[fit], kept[0].score)
		}
	}
	var all []Link
	for i, some := range each {
		for n, w := range some {
			// So does what is another row's fit.
			if n == 0 || first[w.fit()] < w.score {
				all = append(all, w.link(l.fits[i]))
			}
		}
	}
	return all
}

// A linkRow is a row that may be part of a link. Lengths are in tenths of a
// nanometre.
type linkRow struct {
	line    *book.Line
	at      int // in the book's order
	lo, hi  int64
	worn    int64 // of a clearance without new limits: the most that it may be
	slack   int64 // how far a clearance may be from what the sizes make: half its last digit
	words   []int // what its name says, by number
	ref     []string
	reading string // of a cell that is held: the reading that is tried
}

type linker struct {
	book   *book.Book
	fits   []*linkRow
	bores  []*linkRow
	shafts []*linkRow // by lo
	shells []*linkRow
	widest int64 // of the shafts, hi − lo
	number map[string]int
}

var (
	shellWords = regexp.MustCompile(`\b(shells?|inserts?|linings?|walls?)\b`)
	axialWords = regexp.MustCompile(`\b(end (clearance|play|float|thrust)|side (clearance|play|float)|thrust)\b`)
	neverFits  = regexp.MustCompile(`\b(backlash|gap|lash|out of round|flat(ness)?|height|protrusion)\b`)
	ends       = strings.NewReplacer("big-end", "rod", "big end", "rod", "small-end", "rod", "small end", "rod", "gear-end", "gear")
	generic    = func() map[string]bool {
		all := map[string]bool{}
		for w := range strings.FieldsSeq("clearance fit diameter bore inside outside in on of to the and at for with by id od dia size installed standard new std maximum minimum max min between limit thickness width length a an as its per f") {
			all[w] = true
		}
		return all
	}()
)

// collect finds the rows that can be parts of links.
func (l *linker) collect() {
	for at, line := range l.book.Lines {
		f := line.Terms[0].Feature
		if line.Judges != book.Size || f.Unit.Kind() != quantity.LengthKind || len(line.Choices) > 0 {
			continue
		}
		row := &linkRow{line: line, at: at, words: l.words(line.Name), ref: refWords(line.Ref)}
		has := row.limits(l.book)
		name := strings.ToLower(line.Name)
		switch {
		case f.Class == book.Clearance && !neverFits.MatchString(strings.NewReplacer("-", " ").Replace(name)):
			if has || row.worn > 0 {
				if slack, ok := half(line.Unit, line.Decimals).Length(); ok {
					row.slack = slack.TenthsOfNanometre()
				}
				l.fits = append(l.fits, row)
			}
		case !has:
		case f.Class == book.Inside:
			l.bores = append(l.bores, row)
		case f.Class == book.Outside:
			l.shafts = append(l.shafts, row)
		case f.Class == book.Extent && shellWords.MatchString(name):
			l.shells = append(l.shells, row)
		case f.Class == book.Extent:
			l.bores = append(l.bores, row)
			l.shafts = append(l.shafts, row)
		}
	}
	slices.SortStableFunc(l.shafts, func(a, b *linkRow) int { return cmp.Compare(a.lo, b.lo) })
	for _, s := range l.shafts {
		l.widest = max(l.widest, s.hi-s.lo)
	}
}

// limits reads a row's new limits, or of a clearance the most that it may be; of a
// cell that is held the first likely reading is tried.
func (r *linkRow) limits(b *book.Book) bool {
	tiers := r.line.Limit.Tiers
	for _, h := range r.line.Holds {
		if h.Cell == book.HoldNew && len(h.May) > 0 {
			if got, err := b.Notation(r.line).Parse(h.May[0], ""); err == nil {
				tiers, r.reading = got.Tiers, h.May[0]
			}
		}
	}
	for _, t := range tiers {
		lo, okLo := edgeLength(t.Range.Min)
		hi, okHi := edgeLength(t.Range.Max)
		switch {
		case t.Name == "new" && okLo && okHi && lo <= hi:
			r.lo, r.hi = lo, hi
			return true
		case t.Name == "new" && okHi && r.worn == 0, t.Name != "new" && okHi && r.worn == 0:
			r.worn = hi
		}
	}
	return false
}

func edgeLength(e limit.Edge) (int64, bool) {
	if !e.Set {
		return 0, false
	}
	l, ok := e.At.Length()
	return l.TenthsOfNanometre(), ok
}

// words are the words of a name that say what it is about.
func (l *linker) words(name string) (all []int) {
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '.' }) {
		w = strings.TrimSuffix(strings.Trim(w, "."), "s")
		if w == "" || generic[w] {
			continue
		}
		n, ok := l.number[w]
		if !ok {
			n = len(l.number)
			l.number[w] = n
		}
		if !slices.Contains(all, n) {
			all = append(all, n)
		}
	}
	return all
}

// refWords are what a reference is made of: its letters and numbers, apart.
func refWords(ref string) []string {
	return strings.FieldsFunc(strings.ToLower(ref), func(r rune) bool { return (r < 'a' || r > 'z') && (r < '0' || r > '9') })
}

// of returns what a row of clearances may be.
func (l *linker) of(f *linkRow) (all []weighed) {
	axial := axialWords.MatchString(ends.Replace(strings.ToLower(f.line.Name)))
	from, to := f.lo-(f.hi-f.lo), f.hi+(f.hi-f.lo)
	if f.worn > 0 {
		from, to = f.worn/8, f.worn
	}
	add := func(w weighed) {
		if w.weigh(f) && !(axial && w.ends < 2 && (w.bore.isRound() || w.shaft.isRound())) {
			all = append(all, w)
		}
	}
	bores, shafts := l.near(l.bores, f), l.near(l.shafts, f)
	var shells []*linkRow
	for _, s := range l.near(l.shells, f) {
		if !axial && common(s.words, f.words) > 0 {
			shells = append(shells, s)
		}
	}
	for _, b := range bores {
		if axial != (b.line.Terms[0].Feature.Class == book.Extent) && b.line.Terms[0].Feature.Class != book.Inside || !together(b.line, f.line) {
			continue
		}
		l.pairs(shafts, b, nil, nil, from, to, func(s *linkRow) { add(weighed{bore: b, shaft: s}) })
		for i, one := range shells {
			// A shell twice, or two of which one is not the other: they have no feature
			// in common, and are about one thickness.
			for _, other := range shells[i:] {
				if other == one || other.line.Terms[0].Feature != one.line.Terms[0].Feature && max(one.lo, other.lo) < 2*min(one.hi, other.hi) && together(one.line, other.line) {
					l.pairs(shafts, b, one, other, from, to, func(s *linkRow) { add(weighed{bore: b, one: one, other: other, shaft: s}) })
				}
			}
		}
	}
	return all
}

// isRound tells a row that says itself that it is across: what plays along the shaft
// is not made of it, unless the figures say so.
func (r *linkRow) isRound() bool { return roundWords.MatchString(strings.ToLower(r.line.Name)) }

var roundWords = regexp.MustCompile(`\b(dia(meter)?s?|bores?|[io]\.?d|journals?|jnls?)\b`)

// In a book of more lines than manyLines only rows that stand within nearRows of a
// clearance are looked at: each with each would take minutes.
const (
	manyLines = 2000
	nearRows  = 100
)

// near are those of some rows that a row of clearances may be made of.
func (l *linker) near(rows []*linkRow, f *linkRow) []*linkRow {
	if len(l.book.Lines) <= manyLines {
		return rows
	}
	var some []*linkRow
	for _, r := range rows {
		if max(r.at-f.at, f.at-r.at) <= nearRows {
			some = append(some, r)
		}
	}
	return some
}

// pairs finds the shafts that, with the bore, make a clearance near the printed one.
func (l *linker) pairs(shafts []*linkRow, b, one, other *linkRow, from, to int64, each func(*linkRow)) {
	lo, hi := b.lo, b.hi
	if one != nil {
		lo, hi = lo-one.hi-other.hi, hi-one.lo-other.lo
	}
	first, _ := slices.BinarySearchFunc(shafts, lo-to-l.widest, func(s *linkRow, at int64) int { return cmp.Compare(s.lo, at) })
	for _, s := range shafts[first:] {
		if s.lo > hi-from {
			break
		}
		if s.hi >= lo-to && s.line != b.line && s.line.Terms[0].Feature != b.line.Terms[0].Feature {
			each(s)
		}
	}
}

// A weighed is a link with how much speaks for it. It is wanted by the thousand,
// and a few are kept.
type weighed struct {
	bore, shaft       *linkRow
	one, other        *linkRow // of a stack its shells: one row may be both
	tight, loose      int64
	ends, names, near int
	refs              bool
	score             int // in twelfths
}

// shells are the rows of a stack's shells: two, one, or none.
func (w *weighed) shells() []*linkRow {
	switch w.one {
	case nil:
		return nil
	case w.other:
		return []*linkRow{w.one}
	}
	return []*linkRow{w.one, w.other}
}

// weigh adds up what speaks for a link, and tells whether it is enough.
func (w *weighed) weigh(f *linkRow) bool {
	b, s := w.bore, w.shaft
	w.tight, w.loose = b.lo-s.hi, b.hi-s.lo
	if w.one != nil {
		w.tight, w.loose = w.tight-w.one.hi-w.other.hi, w.loose-w.one.lo-w.other.lo
	}
	if f.worn > 0 {
		if w.loose > f.worn || w.loose <= 0 {
			return false
		}
	} else {
		for _, off := range []int64{w.tight - f.lo, w.loose - f.hi} {
			if max(off, -off) <= f.slack {
				w.ends++
			}
		}
	}
	w.near = max(b.at-f.at, f.at-b.at, s.at-f.at, f.at-s.at)
	alike, rows := share(b.words, f.words)+share(s.words, f.words), 2
	said := 0
	for _, n := range f.words {
		if slices.Contains(b.words, n) || slices.Contains(s.words, n) || w.one != nil && (slices.Contains(w.one.words, n) || slices.Contains(w.other.words, n)) {
			said++
		}
	}
	if w.one != nil {
		alike, rows = alike+share(w.one.words, f.words), 3
	}
	if w.one != w.other {
		alike, rows = alike+share(w.other.words, f.words), 4
	}
	if len(f.words) > 0 {
		w.names = 4 * said * alike / (len(f.words) * rows) // in twelfths, of 48
	}
	w.refs = byRef(f, b, s)
	enough := w.refs
	switch {
	case enough:
	case w.ends == 2:
		enough = w.names >= 12 || w.near <= 3 || w.one != nil && w.names >= 6
	case w.ends == 1:
		enough = w.names >= 18 || w.near <= 3 && w.names > 0
	case f.worn > 0, w.one != nil:
		enough = w.names >= 22
	default:
		enough = w.names >= 36
	}
	if !enough || !together(s.line, f.line) || !together(s.line, b.line) {
		return false
	}
	w.score = 36*w.ends + 2*w.names
	if w.refs {
		w.score += 48
	}
	switch {
	case w.near <= 2:
		w.score += 24
	case w.near <= 8:
		w.score += 12
	}
	return true
}

// fit is the link as a book writes it.
func (w *weighed) fit() string {
	text := w.bore.line.Terms[0].Feature.Ref()
	times := " - 2 "
	if w.one != w.other {
		times = " - "
	}
	for _, s := range w.shells() {
		text += times + s.line.Terms[0].Feature.Ref()
	}
	return text + " - " + w.shaft.line.Terms[0].Feature.Ref()
}

// link words what was weighed.
func (w *weighed) link(f *linkRow) Link {
	k := Link{Line: f.line, Fit: w.fit(), Ends: w.ends}
	if w.refs {
		k.Why = append(k.Why, "its reference is made of theirs")
	}
	if w.names >= 24 {
		k.Why = append(k.Why, "their names say the same")
	}
	if w.near <= 2 {
		k.Why = append(k.Why, "they stand beside each other")
	}
	for _, r := range slices.Concat([]*linkRow{w.bore}, w.shells(), []*linkRow{w.shaft}) {
		k.Sizes = append(k.Sizes, r.line)
		if r.reading != "" {
			k.Why = append(k.Why, fmt.Sprintf("if %s is read as %s", r.line.Key, r.reading))
		}
	}
	var of []*book.Feature
	for _, l := range k.Sizes {
		of = append(of, l.Terms[0].Feature)
	}
	k.But = book.Unpaired(of)
	k.sum(f, w)
	return k
}

// byRef tells a reference that is made of those of a bore and a shaft: R-A of A1
// and R, or 17-18 of 17 and 18.
func byRef(f, b, s *linkRow) bool {
	if len(f.ref) != 2 {
		return false
	}
	is := func(word string, r *linkRow) bool {
		return len(r.ref) == 1 && (r.ref[0] == word || strings.TrimRight(r.ref[0], "0123456789") == word)
	}
	return is(f.ref[0], b) && is(f.ref[1], s) || is(f.ref[0], s) && is(f.ref[1], b)
}

// share is how many twelfths of the words are among others.
func share(words, others []int) int {
	if len(words) == 0 {
		return 0
	}
	return 12 * common(words, others) / len(words)
}

func common(words, others []int) int {
	n := 0
	for _, w := range words {
		if slices.Contains(others, w) {
			n++
		}
	}
	return n
}

// sum writes the arithmetic of a link.
func (k *Link) sum(f *linkRow, w *weighed) {
	u, b, s := f.line.Unit, w.bore, w.shaft
	text := func(n int64, of *linkRow) string {
		t, exact := quantity.TenthsOfNanometre(n).Text(u, max(of.line.Decimals, f.line.Decimals))
		if !exact {
			t = "≈" + t
		}
		return t
	}
	signed := func(n int64) string {
		t, _ := quantity.TenthsOfNanometre(max(n, -n)).Text(u, max(b.line.Decimals, s.line.Decimals, f.line.Decimals))
		switch {
		case n < 0:
			return t + "T"
		case n > 0:
			return t + "L"
		}
		return t
	}
	end := func(what string, bore, shaft int64, shell func(*linkRow) int64, made, printed int64) {
		line := fmt.Sprintf("%s = %s", what, text(bore, b))
		times := "2 × "
		if w.one != w.other {
			times = ""
		}
		for _, r := range w.shells() {
			line += " − " + times + text(shell(r), r)
		}
		line += fmt.Sprintf(" − %s = %s", text(shaft, s), signed(made))
		switch {
		case f.worn > 0 && what == "tightest":
		case f.worn > 0:
			line += fmt.Sprintf("; at most %s is printed", signed(f.worn))
		case max(made-printed, printed-made) <= f.slack:
			line += "; printed is the same"
		default:
			line += "; printed is " + signed(printed)
		}
		k.Sum = append(k.Sum, line)
	}
	end("tightest", b.lo, s.hi, func(r *linkRow) int64 { return r.hi }, w.tight, f.lo)
	end("loosest", b.hi, s.lo, func(r *linkRow) int64 { return r.lo }, w.loose, f.hi)
}
