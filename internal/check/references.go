package check

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/metrology/limit"
)

// references tells of pages that are missing, and of words that lead nowhere.
func (c *checker) references() {
	pages := 0
	for _, s := range c.sheets {
		if s.line.Page != "" {
			pages++
		}
	}
	var names *index
	for _, s := range c.sheets {
		l := s.line
		if l.Page == "" && pages*2 > len(c.sheets) {
			c.reportLine("page-missing", "the line does not say on which page of the manual it stands, and others do", l)
		}
		if l.Limit.Kind != limit.Reference {
			continue
		}
		if rest, ok := strings.CutPrefix(fold(l.Limit.Printed), "see "); ok {
			if names == nil {
				names = c.names()
			}
			if !names.leads(rest, s.at) {
				c.reportLine("reference-nowhere", "\""+l.Limit.Printed+"\" leads to no line of the book", l)
			}
		}
	}
	c.gaps()
}

func (c *checker) reportLine(code, what string, l *book.Line) {
	c.found = append(c.found, Finding{Code: code, Severity: severityOf(code), Lines: []*book.Line{l}, What: what})
}

// An index finds lines by what they are called.
type index struct {
	called map[string][]int // by reference, key or page
	words  map[string][]int // by each word of their names
	names  []map[string]bool
}

func (c *checker) names() *index {
	x := &index{map[string][]int{}, map[string][]int{}, make([]map[string]bool, len(c.sheets))}
	for i, s := range c.sheets {
		l := s.line
		for _, text := range []string{fold(l.Ref), l.Key, fold(l.Page)} {
			x.called[text] = append(x.called[text], i)
		}
		x.names[i] = map[string]bool{}
		for _, w := range strings.Fields(s.name) {
			if !x.names[i][w] {
				x.names[i][w] = true
				x.words[w] = append(x.words[w], i)
			}
		}
	}
	return x
}

// leads tells whether words name a line other than the one they stand on: its
// reference, its key, its page, or a name that has them all.
func (x *index) leads(text string, from int) bool {
	all := strings.Fields(strings.Trim(text, "() ."))
	for len(all) > 1 && slices.Contains([]string{"item", "ref", "ref.", "reference", "line", "row", "page", "no.", "the"}, all[0]) {
		all = all[1:]
	}
	other := func(i int) bool { return i != from }
	if len(all) == 0 || slices.ContainsFunc(x.called[strings.Join(all, " ")], other) {
		return true
	}
	rare := slices.MinFunc(all, func(a, b string) int { return cmp.Compare(len(x.words[a]), len(x.words[b])) })
	return slices.ContainsFunc(x.words[rare], func(i int) bool {
		return other(i) && !slices.ContainsFunc(all, func(w string) bool { return !x.names[i][w] })
	})
}

// mostGap is how many pages in a row a table may seem to lack: where more have no
// line, they are likely of something else. A figure of our own.
const mostGap = 2

var pageNumber = regexp.MustCompile(`^(.*?)([0-9]{1,6})$`)

// gaps tells of pages that no line is from while the pages on both sides have
// lines, and at least one of those has a neighbour with lines too: a table that
// goes over several pages, one of which was left out.
func (c *checker) gaps() {
	type page struct {
		number int
		first  *book.Line
	}
	chapters := map[string][]page{}
	var order []string
	seen := map[string]bool{}
	for _, s := range c.sheets {
		for text := range strings.FieldsFuncSeq(s.line.Page, func(r rune) bool { return strings.ContainsRune("/,;& ", r) }) {
			m := pageNumber.FindStringSubmatch(text)
			if m == nil || seen[text] {
				continue
			}
			seen[text] = true
			number, err := strconv.Atoi(m[2])
			if err != nil {
				continue
			}
			if chapters[m[1]] == nil {
				order = append(order, m[1])
			}
			chapters[m[1]] = append(chapters[m[1]], page{number, s.line})
		}
	}
	for _, chapter := range order {
		all := chapters[chapter]
		slices.SortFunc(all, func(a, b page) int { return cmp.Compare(a.number, b.number) })
		for i := 1; i < len(all); i++ {
			gap := all[i].number - all[i-1].number - 1
			before := i > 1 && all[i-2].number == all[i-1].number-1
			after := i+1 < len(all) && all[i+1].number == all[i].number+1
			if gap < 1 || gap > mostGap || !before && !after {
				continue
			}
			missing := fmt.Sprintf("page %s%d", chapter, all[i].number-1)
			if gap > 1 {
				missing = fmt.Sprintf("pages %s%d to %d", chapter, all[i].number-gap, all[i].number-1)
			}
			c.reportLine("page-gap", "no line is from "+missing+", and there are lines from the pages before and behind", all[i].first)
		}
	}
}
