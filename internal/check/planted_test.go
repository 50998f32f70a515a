package check_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/metrology/limit"
)

// A plot is a book of our own making whose rows all agree, laid out as manuals
// lay theirs out, so that faults can be planted in it.
type plot struct {
	rows    []plotRow
	rand    *rand.Rand
	noughts bool // 0.0010, not .0010
}

type plotRow struct {
	key, name, judges string
	asNew, service    string
	linked            bool
}

// inches writes ten-thousandths of an inch.
func (p *plot) inches(n int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := fmt.Sprintf("%s%d.%04d", sign, n/10000, n%10000)
	if !p.noughts {
		s = strings.TrimPrefix(s, "0")
	}
	return s
}

// loose writes a clearance with its letter.
func (p *plot) loose(n int) string {
	switch {
	case n < 0:
		return p.inches(-n) + "T"
	case n == 0:
		return p.inches(0)
	}
	return p.inches(n) + "L"
}

func (p *plot) add(key, name, judges, asNew, service string, linked bool) {
	p.rows = append(p.rows, plotRow{key, name, judges, asNew, service, linked})
}

func (p *plot) pick(of ...int) int { return of[p.rand.IntN(len(of))] }

// size makes the limits of a size, in ten-thousandths: new from least to most,
// and how far it may wear; 0 for none printed.
type size struct{ least, most, wear int }

func (s size) worn(way int) int {
	if way < 0 {
		return s.least - s.wear
	}
	return s.most + s.wear
}

func (p *plot) wear() int  { return p.pick(0, 5, 10, 10, 15, 20, 20, 30) }
func (p *plot) width() int { return p.pick(3, 5, 5, 8, 10, 10, 10, 15, 20) }

func (p *plot) sizeRow(key, name string, s size, way int) {
	service := ""
	if s.wear > 0 {
		service = p.inches(s.worn(way))
	}
	p.add(key, name, "size: p."+strings.ReplaceAll(key, "-", ""), p.inches(s.least)+" - "+p.inches(s.most), service, true)
}

// fitRow makes a fit of bore less shaft, with a service limit as manuals have
// it: what the sizes make, or tighter.
func (p *plot) fitRow(key, name, terms string, tightest, loosest, worst int, worn bool) {
	service := ""
	if worn {
		at := worst
		if p.rand.IntN(3) == 0 {
			at = loosest + (worst-loosest)*p.pick(3, 5, 6)/8/5*5
		}
		if at > loosest {
			service = p.loose(at)
		}
	}
	p.add(key, name, "fit: "+terms, p.loose(tightest)+" - "+p.loose(loosest), service, true)
}

// newPlot makes a book. Sizes are near an even nominal, tolerances and wear of
// the widths that manuals print.
func newPlot(seed uint64) *plot {
	p := &plot{rand: rand.New(rand.NewPCG(seed, 6)), noughts: seed%2 == 0}
	names := []string{"camshaft", "idler", "rocker", "pin", "tappet", "governor", "pump", "starter", "magneto", "link"}
	for i, name := range names[:6+p.rand.IntN(5)] {
		bore := size{least: 3750 + p.rand.IntN(120)*625/2*2/2}
		bore.least = bore.least/5*5 + p.pick(0, 0, 0, 0, 1, 2, 3)
		bore.most, bore.wear = bore.least+p.width(), p.wear()
		shaft := size{most: bore.least - p.pick(-25, -15, -10, -5, 0, 5, 10, 10, 15, 20, 30, 45)}
		shaft.least, shaft.wear = shaft.most-p.width(), p.wear()
		b, s := fmt.Sprintf("b%c", 'a'+i), fmt.Sprintf("s%c", 'a'+i)
		p.sizeRow(b, "Bushing bore of the "+name, bore, 1)
		p.sizeRow(s, "Shaft of the "+name, shaft, -1)
		p.fitRow("fit-"+b, "Fit of the "+name, "p."+b+" - p."+s, bore.least-shaft.most, bore.most-shaft.least, bore.worn(1)-shaft.worn(-1), bore.wear > 0 && shaft.wear > 0)
		if p.rand.IntN(3) == 0 { // the same shaft runs in a second bore
			other := size{least: shaft.most + p.pick(-10, -5, 0, 5, 10, 15)}
			other.most, other.wear = other.least+p.width(), p.wear()
			o := fmt.Sprintf("o%c", 'a'+i)
			p.sizeRow(o, "Second bore of the "+name, other, 1)
			p.fitRow("fit-"+o, "Fit of the "+name+" in its second bore", "p."+o+" - p."+s, other.least-shaft.most, other.most-shaft.least, other.worn(1)-shaft.worn(-1), other.wear > 0 && shaft.wear > 0)
		}
		if p.rand.IntN(2) == 0 {
			least := p.pick(20, 40, 50, 60, 80)
			p.add("end-"+b, "End clearance of the "+name, "size: p.e"+b, p.inches(least)+" - "+p.inches(least+p.pick(20, 40, 60)), p.inches(least+120), false)
		}
	}
	for i, name := range []string{"main", "rod"} {
		if i == 1 && p.rand.IntN(2) == 0 {
			break
		}
		shell := size{least: p.pick(930, 1235, 1240, 1560, 1705)}
		shell.most, shell.wear = shell.least+p.pick(3, 5), p.pick(0, 10, 15)
		journal := size{most: 20000 + p.rand.IntN(80)*250}
		journal.least, journal.wear = journal.most-p.width(), p.wear()
		bore := size{least: journal.most + 2*shell.most + p.pick(5, 10, 15, 20, 30)}
		bore.most, bore.wear = bore.least+p.pick(5, 10, 10, 15), p.pick(0, 5, 10)
		b, w, j := fmt.Sprintf("hb%c", 'a'+i), fmt.Sprintf("hw%c", 'a'+i), fmt.Sprintf("hj%c", 'a'+i)
		p.sizeRow(b, "Bearing bore, "+name, bore, 1)
		p.sizeRow(w, "Shell thickness, "+name, shell, -1)
		p.sizeRow(j, "Journal, "+name, journal, -1)
		p.fitRow("stack-"+w, "Oil clearance, "+name, "p."+b+" - 2 p."+w+" - p."+j,
			bore.least-2*shell.most-journal.most, bore.most-2*shell.least-journal.least,
			bore.worn(1)-2*shell.worn(-1)-journal.worn(-1), bore.wear > 0 && shell.wear > 0 && journal.wear > 0)
		p.add("round-"+w, "Out-of-round of the journal, "+name, "out-of-round: p.r"+w, "", "max "+p.inches(10), false)
	}
	return p
}

func (p *plot) text() string {
	var features, lines strings.Builder
	seen := map[string]bool{}
	for n, r := range p.rows {
		for _, word := range strings.Fields(r.judges) {
			f, ok := strings.CutPrefix(word, "p.")
			if !ok || seen[f] {
				continue
			}
			seen[f] = true
			kind := "kind: outside"
			switch {
			case f[0] == 'b' || f[0] == 'o' || strings.HasPrefix(f, "hb"):
				kind = "kind: inside"
			case f[0] == 'e':
				kind = "kind: clearance"
			case f[0] == 'r':
				kind += ", directions: [0, 90]"
			}
			fmt.Fprintf(&features, "      %s: {%s}\n", f, kind)
		}
		fmt.Fprintf(&lines, "  %s: {ref: %d, page: 1-%d, name: %q, %s", r.key, n+1, n/20+1, r.name, r.judges)
		if r.asNew != "" {
			fmt.Fprintf(&lines, ", new: %q", r.asNew)
		}
		if r.service != "" {
			fmt.Fprintf(&lines, ", service: %q", r.service)
		}
		lines.WriteString("}\n")
	}
	return "format: book/1\nengine: Planted\nunit: in\nparts:\n  p:\n    features:\n" + features.String() + "lines:\n" + lines.String()
}

// A fault is one cell with one change.
type planted struct {
	row     int
	service bool
	kind    string
	was     string
	other   int // of rows exchanged: the other
}

// plant changes one figure of one linked cell, as copying and scanning do; ok
// is false where the change comes to nothing.
func (p *plot) plant() (f planted, ok bool) {
	f.other = -1
	f.row = p.rand.IntN(len(p.rows))
	r := &p.rows[f.row]
	if !r.linked {
		return f, false
	}
	f.service = r.service != "" && p.rand.IntN(3) == 0
	cell := &r.asNew
	if f.service {
		cell = &r.service
	}
	f.was = *cell
	ends := strings.SplitAfter(*cell, " - ")
	at := p.rand.IntN(len(ends))
	end := ends[at]
	i := p.rand.IntN(len(end))
	isDigit := func(i int) bool { return i < len(end) && end[i] >= '0' && end[i] <= '9' }
	kinds := []string{"digit", "digit", "digit", "nought dropped", "nought added", "exchanged", "point", "letter", "lost", "rows"}
	f.kind = kinds[p.rand.IntN(len(kinds))]
	switch f.kind {
	case "digit":
		if !isDigit(i) {
			return f, false
		}
		end = end[:i] + string('0'+byte(p.rand.IntN(10))) + end[i+1:]
	case "nought dropped":
		if !isDigit(i) || end[i] != '0' || i == 0 {
			return f, false
		}
		end = end[:i] + end[i+1:]
	case "nought added":
		if !isDigit(i) || i == 0 {
			return f, false
		}
		end = end[:i] + "0" + end[i:]
	case "exchanged":
		if !isDigit(i) || !isDigit(i+1) {
			return f, false
		}
		end = end[:i] + string(end[i+1]) + string(end[i]) + end[i+2:]
	case "point":
		dot := strings.Index(end, ".")
		by := p.pick(-1, 1)
		if dot+by < 0 || dot+by+1 >= len(end) || !isDigit(dot+by) {
			return f, false
		}
		bytes := []byte(end)
		bytes[dot], bytes[dot+by] = bytes[dot+by], bytes[dot]
		end = string(bytes)
	case "letter":
		switch {
		case strings.Contains(end, "L"):
			end = strings.Replace(end, "L", "T", 1)
		case strings.Contains(end, "T"):
			end = strings.Replace(end, "T", "L", 1)
		default:
			return f, false
		}
	case "lost":
		if !isDigit(i) {
			return f, false
		}
		end = end[:i] + end[i+1:]
	case "rows":
		f.other = f.row + p.pick(-1, 1)
		if f.service || f.other < 0 || f.other >= len(p.rows) || !p.rows[f.other].linked || strings.HasPrefix(r.judges, "fit") != strings.HasPrefix(p.rows[f.other].judges, "fit") {
			return f, false
		}
		r.asNew, p.rows[f.other].asNew = p.rows[f.other].asNew, r.asNew
		return f, r.asNew != f.was
	}
	ends[at] = end
	*cell = strings.Join(ends, "")
	return f, *cell != f.was
}

func TestPlantedFaults(t *testing.T) {
	const want = 1000
	type tally struct{ all, found, held, note, first, any int }
	counts := map[string]*tally{}
	count := func(kind string) *tally {
		if counts[kind] == nil {
			counts[kind] = &tally{}
		}
		return counts[kind]
	}
	n := 0
	for seed := uint64(1); n < want; seed++ {
		p := newPlot(seed)
		clean := p.text()
		whole, err := book.Load("clean", []byte(clean))
		if err != nil {
			t.Fatalf("%v\n%s", err, clean)
		}
		was := map[string]bool{}
		for _, f := range check.Book(whole) {
			if f.Severity > check.Note {
				t.Fatalf("a clean book: %s %s %v", f.Code, f.What, f.Sum)
			}
			was[identity(f)] = true
		}
		f, ok := p.plant()
		if !ok {
			continue
		}
		row := p.rows[f.row]
		damaged, err := book.Load("damaged", []byte(p.text()))
		var now limit.Range
		if err == nil {
			now = rangeOf(damaged, row.key, f.service)
			if now == rangeOf(whole, row.key, f.service) {
				continue // it says the same
			}
		}
		n++
		for _, c := range []*tally{count("all"), count(f.kind), count(map[bool]string{false: "in new", true: "in service"}[f.service])} {
			c.all++
			if err != nil {
				c.found++
				c.held++
			}
		}
		if err != nil {
			continue
		}
		var fresh []check.Finding
		for _, found := range check.Book(damaged) {
			if !was[identity(found)] {
				fresh = append(fresh, found)
			}
		}
		slices.SortStableFunc(fresh, func(a, b check.Finding) int { return int(b.Severity) - int(a.Severity) })
		found := slices.ContainsFunc(fresh, func(found check.Finding) bool {
			return slices.ContainsFunc(found.Lines, func(l *book.Line) bool { return l.Key == row.key })
		})
		noted := found && !slices.ContainsFunc(fresh, func(found check.Finding) bool { return found.Severity > check.Note })
		first, any := false, false
		for _, found := range fresh {
			if len(found.Mends) == 0 {
				continue
			}
			for i, m := range found.Mends {
				if isTrue(m, p, f, whole) {
					any = true
					first = first || i == 0
				}
			}
			break
		}
		for _, c := range []*tally{count("all"), count(f.kind), count(map[bool]string{false: "in new", true: "in service"}[f.service])} {
			if found {
				c.found++
			}
			if noted {
				c.note++
			}
			if first {
				c.first++
			}
			if any {
				c.any++
			}
		}
	}
	for _, kind := range slices.Sorted(maps.Keys(counts)) {
		c := counts[kind]
		t.Logf("%-15s %4d planted, %4d found (%d held, %d only a note), first mend true %4d, one of three %4d", kind, c.all, c.found, c.held, c.note, c.first, c.any)
	}
	all := count("all")
	if all.found*100 < all.all*97 {
		t.Errorf("%d of %d found", all.found, all.all)
	}
	if all.first*100 < all.all*60 {
		t.Errorf("the first mend is the true one for %d of %d", all.first, all.all)
	}
}

// identity is what a finding is about, without its figures.
func identity(f check.Finding) string {
	text := f.Code
	for _, l := range f.Lines {
		text += " " + l.Key
	}
	return text
}

func rangeOf(b *book.Book, key string, service bool) limit.Range {
	l, _ := b.Line(key)
	tiers := l.Limit.Tiers
	if service {
		return tiers[len(tiers)-1].Range
	}
	return tiers[0].Range
}

// isTrue tells whether a mend brings back what stood there.
func isTrue(m check.Mend, p *plot, f planted, whole *book.Book) bool {
	row := p.rows[f.row]
	if f.other >= 0 {
		return m.With != nil && (m.Cell.Line.Key == row.key && m.With.Line.Key == p.rows[f.other].key || m.With.Line.Key == row.key && m.Cell.Line.Key == p.rows[f.other].key)
	}
	name := map[bool]string{false: "new", true: "service"}[f.service]
	if m.Cell.Line.Key != row.key || m.Cell.Name != name || m.With != nil {
		return false
	}
	p.rows[f.row] = row
	mended := p.rows[f.row]
	if f.service {
		mended.service = m.New
	} else {
		mended.asNew = m.New
	}
	p.rows[f.row] = mended
	b, err := book.Load("mended", []byte(p.text()))
	p.rows[f.row] = row
	return err == nil && rangeOf(b, row.key, f.service) == rangeOf(whole, row.key, f.service)
}
