package intake

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"tenths/internal/book"
)

// Into adds the draft's parts and lines to a book that is there already, and
// returns its text: what stood there stays as it stood, byte for byte. was is
// that text, loaded.
func (d *Draft) Into(text []byte, was *book.Book) ([]byte, error) {
	if was.Comma != d.comma && d.figures() {
		words := map[bool]string{false: "points", true: "commas"}
		return nil, fmt.Errorf("the book writes decimal %s and the table decimal %s: import the table into a book of its own", words[was.Comma], words[d.comma])
	}
	c := d.composer(was.Unit)
	c.there = map[string]*book.Part{}
	for _, p := range was.Parts {
		c.there[p.Key] = p
		for _, f := range p.Features {
			c.taken[f.Ref()] = true
		}
	}
	for _, l := range was.Lines {
		c.taken[l.Key] = true
	}
	var lines strings.Builder
	for i := range d.Rows {
		c.line(&lines, &d.Rows[i])
	}
	if c.wrong != nil {
		return nil, c.wrong
	}
	all := strings.SplitAfter(string(text), "\n")
	if n := len(all); all[n-1] == "" {
		all = all[:n-1]
	} else {
		all[n-1] += "\n"
	}
	for _, p := range c.parts {
		var err error
		if all, err = p.into(all, was); err != nil {
			return nil, err
		}
	}
	_, end, ok := blockOf(all, "lines", 0)
	if !ok {
		return nil, errNotPlain
	}
	all = insert(all, end, lines.String())
	return []byte(strings.Join(all, "")), nil
}

// Stands tells whether a book has every row of the table already: its name,
// reference, page and new limits.
func (d *Draft) Stands(b *book.Book) bool {
	type row struct{ ref, page, name, asNew string }
	has := map[row]int{}
	for _, l := range b.Lines {
		asNew := l.Printed.New
		for _, h := range l.Holds {
			if h.Cell == book.HoldNew {
				asNew = h.Text
			}
		}
		if asNew == "" && len(l.Limit.Tiers) > 0 && l.Limit.Tiers[0].Name == "new" {
			asNew = l.Limit.Tiers[0].Printed
		}
		has[row{l.Ref, l.Page, l.Name, asNew}]++
	}
	for i := range d.Rows {
		r := &d.Rows[i]
		if k := (row{r.Ref, r.Page, r.Name, r.Printed.New}); has[k] == 0 {
			if k.asNew = r.New; has[k] == 0 {
				return false
			}
		}
	}
	return len(d.Rows) > 0
}

var errNotPlain = errors.New("its parts and lines are not written one below the other, so nothing can be added to it: import the table into a book of its own")

// figures tells whether any row has a figure that a decimal mark matters to.
func (d *Draft) figures() bool {
	for i := range d.Rows {
		if cells := d.Rows[i].Printed; pointFigure.MatchString(cells.New+cells.Service) || commaFigure.MatchString(cells.New+cells.Service) {
			return true
		}
	}
	return false
}

// into writes the part's features below those that the book has of it.
func (p *part) into(all []string, was *book.Book) ([]string, error) {
	from, end, ok := blockOf(all, "parts", 0)
	if !ok {
		return nil, errNotPlain
	}
	there := false
	for _, q := range was.Parts {
		there = there || q.Key == p.key
	}
	if !there {
		return insert(all, end, p.text()), nil
	}
	part, partEnd, ok := blockOf(all[from:end], p.key, 1)
	if !ok {
		return nil, errNotPlain
	}
	part, partEnd = part+from, partEnd+from
	at, atEnd, ok := blockOf(all[part:partEnd], "features", 2)
	if !ok {
		return nil, errNotPlain
	}
	indent := indentation(all[part+at])
	var b strings.Builder
	for _, f := range p.features {
		fmt.Fprintf(&b, "%s%s: {%s}\n", indent, f.key, f.text)
	}
	return insert(all, part+atEnd, b.String()), nil
}

func insert(all []string, at int, text string) []string {
	return append(all[:at:at], append([]string{text}, all[at:]...)...)
}

func indentation(line string) string { return line[:len(line)-len(strings.TrimLeft(line, " "))] }

var keyLine = regexp.MustCompile(`^( *)("?[A-Za-z][A-Za-z0-9-]*"?):\s*(#.*)?$`)

// blockOf finds the block under a key that stands alone on its line: from its
// first line to behind its last one that says anything. Keys of depth 0 stand at
// the margin; the others are the least indented that there are.
func blockOf(lines []string, key string, depth int) (from, end int, ok bool) {
	level := -1
	for i, line := range lines {
		trimmed := strings.TrimSpace(line)
		if trimmed == "" || trimmed[0] == '#' {
			continue
		}
		indent := len(indentation(line))
		if level < 0 {
			level = indent
		}
		m := keyLine.FindStringSubmatch(strings.TrimRight(line, "\r\n"))
		if m == nil || m[2] != key || len(m[1]) != level || depth == 0 && level != 0 {
			continue
		}
		from, end = i+1, i+1
		for k := i + 1; k < len(lines); k++ {
			trimmed := strings.TrimSpace(lines[k])
			if trimmed == "" || trimmed[0] == '#' {
				continue
			}
			if len(indentation(lines[k])) <= level {
				break
			}
			end = k + 1
		}
		return from, end, end > from
	}
	return 0, 0, false
}
