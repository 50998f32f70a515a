package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"tenths/internal/fault"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// A Role is what a column holds.
type Role uint8

// The roles. A column of limits may be in a second unit, which only checks.
const (
	Skip Role = iota
	Ref
	Page
	Name
	Part
	Unit
	New
	NewMin
	NewMax
	Service
	ServiceMin
	ServiceMax
	NoteCell
)

var roleNames = [...]string{
	"skip", "ref", "page", "name", "part", "unit", "new", "new min", "new max",
	"service", "service min", "service max", "note",
}

func (r Role) String() string  { return roleNames[r] }
func (r Role) isNew() bool     { return r >= New && r <= NewMax }
func (r Role) isService() bool { return r >= Service && r <= ServiceMax }
func (r Role) isEnd() bool {
	return r == NewMin || r == NewMax || r == ServiceMin || r == ServiceMax
}

// A Column is one column of the table and what it holds.
type Column struct {
	At      int // from 0
	Heading string
	Role    Role
	Unit    quantity.Unit // that its heading names
	Second  bool          // it repeats another in a second unit
}

var headings = []struct {
	role Role
	is   *regexp.Regexp
}{
	{NoteCell, regexp.MustCompile(`\b(notes?|remarks?|comments?)\b`)},
	{Unit, regexp.MustCompile(`^units?( of measure(ment)?)?$|^uom$`)},
	{Service, regexp.MustCompile(`\b(wear|worn|serv|svc|service(able)?|allow(able|ed)?|perm(iss(ible)?)?|repl(ace(ment)?)?|rej(ect(ion)?)?|used|in use|discard|repair|out at|scrap)\b`)},
	{Page, regexp.MustCompile(`^(page|pg|para(graph)?|work package|wp)\b`)},
	{Name, regexp.MustCompile(`\b(description|nomenclature|part or location|component|designation|name|what|inspection point|point of measurement|measurement|parts?)\b`)},
	{Ref, regexp.MustCompile(`\b(ref(erence)?|index|item|symbol|letter|key|fig(ure)?|no|nr|pos|number)\b|^#$`)},
	{Name, regexp.MustCompile(`\b(location|place|dimensions? of|fits? and clearances?)\b`)},
	{New, regexp.MustCompile(`\b(new|orig(inal)?|st(andar)?d|manuf(actur\w*)?|mfr|mfg|maker'?s?|as built|assembly|nom(inal)?|dim(ension)?s?|sizes?|tol(erance)?s?|specifications?|specs?|desired|factory)\b`)},
	{Service, regexp.MustCompile(`\blim(it)?s?\b`)},
}

var (
	minWords    = regexp.MustCompile(`\b(min(imum)?|low(er|est)?|least|smallest)\b`)
	maxWords    = regexp.MustCompile(`\b(max(imum)?|high(er|est)?|upper|most|greatest|largest)\b`)
	metricWords = regexp.MustCompile(`\b(mm|millimet(re|er)s?|metric)\b`)
	inchWords   = regexp.MustCompile(`\b(in|inch|inches|english)\b`)
	subWords    = regexp.MustCompile(`^[(\[]?(min|minimum|max|maximum|low|high|lower|upper|in|inch|inches|mm|millimet(re|er)s?|metric|from|to)\.?[)\]]?([ ./(]+(in|inch|inches|mm|min|max)\.?\)?)*$`)
	digit       = regexp.MustCompile(`[0-9]`)
)

// tidyHeading is a heading in small letters, without its marks.
func tidyHeading(text string) string {
	text = strings.ToLower(text)
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" \t\n.:()[]/*_-", r) }), " ")
}

// roleOf is what a heading says that its column holds.
func roleOf(heading string) (Role, quantity.Unit) {
	h := tidyHeading(heading)
	unit := quantity.NoUnit
	switch {
	case metricWords.MatchString(h) && inchWords.MatchString(h):
		// "in. (mm)": the first is the column's, the second stands in brackets.
		unit = quantity.Inch
		if metricWords.FindStringIndex(h)[0] < inchWords.FindStringIndex(h)[0] {
			unit = quantity.Millimetre
		}
	case metricWords.MatchString(h):
		unit = quantity.Millimetre
	case inchWords.MatchString(h):
		unit = quantity.Inch
	}
	for _, w := range headings {
		if w.is.MatchString(h) {
			return w.role, unit
		}
	}
	if minWords.MatchString(h) || maxWords.MatchString(h) {
		return New, unit
	}
	return Skip, unit
}

// end is the role of one end of new or service.
func end(r Role, heading string) Role {
	h := tidyHeading(heading)
	lo, hi := minWords.MatchString(h), maxWords.MatchString(h)
	switch {
	case lo == hi:
	case r == New && lo:
		return NewMin
	case r == New:
		return NewMax
	case r == Service && lo:
		return ServiceMin
	case r == Service:
		return ServiceMax
	}
	return r
}

// head finds the rows of headings and what each column holds; it returns how
// many rows stand above the first row of figures.
func (d *Draft) head(m Mapping) (int, fault.List) {
	s := &d.Sheet
	const look = 30
	best, bestScore := -1, 0
	for i := range min(look, len(s.Rows)) {
		if score := headScore(&s.Rows[i], m); score > bestScore {
			best, bestScore = i, score
		}
	}
	switch {
	case m.Headings < 0:
		best = -1
	case m.Headings > 0:
		best = slices.IndexFunc(s.Rows, func(r table.SheetRow) bool { return r.Line == m.Headings })
		if best < 0 {
			return 0, fault.List{{File: s.File, Line: m.Headings, Column: 1, Code: "header", What: "the table has no such row to take its headings from", Do: "name the row that they stand on"}}
		}
	case best < 0 || bestScore < 4:
		if len(m.Columns) == 0 || !m.byLetter() {
			what, other := "no row of headings is recognised", ""
			if len(s.Sheets) > 1 {
				what += fmt.Sprintf(" in the sheet %q", s.Name)
				other = "name another sheet, of " + strings.Join(s.Sheets[:min(len(s.Sheets), 10)], ", ") + "; or "
			}
			return 0, fault.List{{
				File: s.File, Line: s.Rows[0].Line, Column: 1, Code: "header", What: what,
				Do: other + "give the table headings (Ref, Description, New, Wear limit), or say what the columns hold: --map \"A=ref\" --map \"B=name\" --map \"C=new\"",
			}}
		}
		best = -1
	}
	d.headings = best
	under := best + 1
	top := make([]string, s.Width)
	if best >= 0 {
		for i := range top {
			top[i] = s.Rows[best].At(i).Text
		}
		if under < len(s.Rows) && isSub(&s.Rows[under]) {
			over := slices.Clone(top)
			for i := range top {
				if text := s.Rows[under].At(i).Text; text != "" && text != over[i] {
					top[i] = strings.TrimSpace(carried(over, i) + " " + text)
				}
			}
			under++
		}
	}
	for i, text := range top {
		c := Column{At: i, Heading: text}
		c.Role, c.Unit = roleOf(text)
		if c.Role == New || c.Role == Service {
			c.Role = end(c.Role, text)
		}
		d.Columns = append(d.Columns, c)
	}
	for n := range s.Rows[:max(0, best)] {
		d.Notes = append(d.Notes, Note{s.Rows[n].Line, s.Rows[n].At(0).Text, false})
	}
	return under, d.assign(m)
}

// carried is the heading that stands over a column: its own or, where that is
// empty, the one to its left, which it is wide enough for.
func carried(top []string, i int) string {
	for ; i >= 0; i-- {
		if top[i] != "" {
			return top[i]
		}
	}
	return ""
}

// headScore says how much a row looks like headings.
func headScore(r *table.SheetRow, m Mapping) int {
	score, figures := 0, 0
	seen := map[Role]bool{}
	for _, c := range r.Cells {
		if c.Text == "" || len(c.Text) > 80 {
			continue
		}
		role, ok := m.role(c.Text)
		if !ok {
			role, _ = roleOf(c.Text)
		}
		if role != Skip && !seen[role] {
			score += 2
		}
		seen[role] = true
		if digit.MatchString(c.Text) {
			figures++
		}
	}
	return score - 2*figures
}

// isSub tells a second row of headings: min and max, in and mm.
func isSub(r *table.SheetRow) bool {
	n := 0
	for _, c := range r.Cells {
		switch {
		case c.Text == "" || c.Merged:
		case subWords.MatchString(strings.ToLower(c.Text)):
			n++
		default:
			return false
		}
	}
	return n > 0
}

// assign settles what the columns hold: by what the user says, and by what they
// are beside each other.
func (d *Draft) assign(m Mapping) fault.List {
	used := map[string]bool{}
	for i := range d.Columns {
		c := &d.Columns[i]
		role, second, unit, heading, ok := m.column(c)
		if !ok {
			continue
		}
		used[heading] = true
		c.Role, c.Second = role, second
		if unit != quantity.NoUnit {
			c.Unit = unit
		}
	}
	for _, heading := range m.headings() {
		if !used[heading] && !m.kept[heading] {
			var names []string
			for _, c := range d.Columns {
				if c.Heading != "" {
					names = append(names, fmt.Sprintf("%q", c.Heading))
				}
			}
			return fault.List{{File: d.Sheet.File, Code: "column", Text: heading, What: "the table has no such column", Do: "its headings are " + strings.Join(names, ", ")}}
		}
	}
	set := func(role Role) []*Column {
		var all []*Column
		for i := range d.Columns {
			if d.Columns[i].Role == role && !d.Columns[i].Second {
				all = append(all, &d.Columns[i])
			}
		}
		return all
	}
	// "Assembly" and "Standard" head limits as well as groups of parts: what has words
	// and no figure is no limit.
	for _, c := range set(New) {
		if !m.says(c) && len(set(Part)) == 0 && d.wordsAlone(c) {
			c.Role = Part
		}
	}
	// A second unit: the same role again, in the other unit.
	for _, role := range []Role{New, NewMin, NewMax, Service, ServiceMin, ServiceMax} {
		all := set(role)
		for i, c := range all {
			if i > 0 && c.Unit != quantity.NoUnit && c.Unit != all[0].Unit && !m.says(c) {
				c.Second = true
			}
		}
	}
	// Of one column alone a "maximum" is the general word for the limit.
	for _, pair := range [][3]Role{{ServiceMin, ServiceMax, Service}} {
		for k, role := range pair[:2] {
			if all := set(role); len(all) == 1 && len(set(pair[1-k])) == 0 && len(set(Service)) == 0 && !m.says(all[0]) {
				all[0].Role = pair[2]
			}
		}
	}
	// Of two names the first is the part's.
	if names := set(Name); len(names) > 1 && len(set(Part)) == 0 && !m.says(names[0]) && !m.says(names[1]) {
		if h := tidyHeading(names[0].Heading); strings.Contains(h, "part") || strings.Contains(h, "component") || strings.Contains(h, "item") {
			names[0].Role = Part
		}
	}
	// An "item" is a number or a thing.
	for _, c := range set(Ref) {
		if len(set(Name)) == 0 && !m.says(c) && d.ofWords(c) {
			c.Role = Name
		}
	}
	if len(set(Name)) == 0 && len(set(Part)) == 0 {
		if c := d.wordsColumn(m); c != nil {
			c.Role = Name
			d.Said = append(d.Said, fmt.Sprintf("no heading says what is measured: the column %q is taken for it, since it has words", c.Heading))
		}
	}
	if len(set(Name)) == 0 {
		for _, role := range []Role{Part, Ref} {
			if all := set(role); len(all) > 0 && !m.says(all[0]) {
				all[0].Role = Name
				break
			}
		}
	}
	limits := slices.ContainsFunc(d.Columns, func(c Column) bool { return (c.Role.isNew() || c.Role.isService()) && !c.Second })
	if len(set(Name)) == 0 || !limits {
		what := "no column of limits is recognised"
		if len(set(Name)) == 0 {
			what = "no column says what is measured"
		}
		return fault.List{{File: d.Sheet.File, Code: "column", What: what, Do: "say what the columns hold: --map \"HEADING=name\", and new, new min, new max, service, service min, service max, ref, page, part, unit, note or skip"}}
	}
	// Two columns of one role would write over each other. Limits may have two, of
	// dimensions and of clearances, of which each row fills in one.
	for _, role := range []Role{New, NewMin, NewMax, Service, ServiceMin, ServiceMax, Ref, Page, Unit, Part} {
		if all := set(role); len(all) > 1 && !(role.isNew() || role.isService()) || len(all) > 1 && !d.apart(all) {
			return fault.List{{File: d.Sheet.File, Code: "column", Text: all[1].Heading, What: fmt.Sprintf("is %q as well as %q", role, all[0].Heading), Do: "say which is meant: --map \"" + all[1].Heading + "=skip\""}}
		}
	}
	return nil
}
