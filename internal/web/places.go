package web

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/record"
)

// A table prints one row for four cylinders, and does not say where a bore is
// measured. The rows' page asks how many of each part the engine has and in how many
// directions its diameters are measured, and of each row where it is.

// A placesBody is what is asked of the whole table.
type placesBody struct {
	Parts []partCount
	Ways  []pick // of diameters
	Said  bool   // anything is
	Spots int    // of the whole book
}

// A partCount is a part of the table, and how many of it the engine has.
type partCount struct {
	Key, Name   string
	Count, Rows int
}

const twoWays = "0, 90"

// placesOf is what a table says of its parts and where its diameters are measured.
func placesOf(d *draft.Draft, t *draft.Table) placesBody {
	b := placesBody{Spots: d.Loaded.Asked(), Said: t.Mapping.Across != ""}
	for _, p := range t.Read.Parts() {
		one := partCount{p.Key, p.Name, 1, p.Rows}
		for _, of := range d.Loaded.Parts {
			if of.Key == p.Key {
				one.Count = max(1, of.Positions)
			}
		}
		b.Said = b.Said || one.Count > 1
		b.Parts = append(b.Parts, one)
	}
	is, _ := intake.ParseAcross(t.Mapping.Across)
	now := strings.Join(is, ", ")
	b.Ways = []pick{{Value: "one", Words: "in one direction", On: now == ""}, {Value: twoWays, Words: "in two, 0° and 90°", On: now == twoWays}}
	if now != "" && now != twoWays {
		b.Ways = append(b.Ways, pick{Value: now, Words: "in " + strings.Join(is, " and "), On: true})
	}
	return b
}

// A measuredAt is where a row is measured, as a form has it.
type measuredAt struct {
	Words              string
	Places             int
	Planes, Directions string
}

func measuredOf(r *intake.Row) measuredAt {
	at := r.At()
	at.Places = max(1, at.Places)
	if len(at.Planes) == 0 {
		at.Planes = nil
	}
	if len(at.Directions) == 0 {
		at.Directions = nil
	}
	m := measuredAt{Words: at.String(), Places: at.Places, Planes: strings.Join(at.Planes, " and "), Directions: strings.Join(at.Directions, " and ")}
	if spots := at.Spots() * max(1, r.Positions); r.Positions > 1 {
		m.Words = fmt.Sprintf("%s on each of %d: %s", m.Words, r.Positions, plural(spots, "spot"))
	} else if spots > 1 && spots != at.Places {
		m.Words += ": " + plural(spots, "spot")
	}
	return m
}

// backToRows is where one goes on who said something of the rows.
func backToRows(r *http.Request, d *draft.Draft, n int, at string) string {
	q := url.Values{"table": {strconv.Itoa(n)}}
	for _, k := range []string{"only", "from"} {
		if v := r.FormValue(k); v != "" {
			q.Set(k, v)
		}
	}
	return fmt.Sprintf("%s/rows?%s#%s", draftPath(d.Name), q.Encode(), at)
}

// postCounts says how many of its parts the engine has.
func (s *Server) postCounts(w http.ResponseWriter, r *http.Request) error {
	d, _, err := s.draftToChange(r)
	if err != nil {
		return err
	}
	n := tableNumber(r, d)
	t := d.Tables[n]
	if t.Read == nil || t.Whole || d.Loaded == nil {
		return record.Refuse("counts", "look at the rows again", "the table has no parts to say anything of")
	}
	counts := map[string]int{}
	for _, p := range placesOf(d, t).Parts {
		text := value(r, "count-"+p.Key)
		count, err := strconv.Atoi(text)
		switch {
		case text == "":
		case err != nil || count < 1 || count > book.MaxNumber:
			return s.rowsPage(w, r, http.StatusUnprocessableEntity, d, fmt.Sprintf("“%s” is not how many of the part %s an engine has: write a number from 1 to %d.", text, p.Name, book.MaxNumber))
		case count != p.Count:
			counts[p.Key] = count
		}
	}
	across := value(r, "across")
	if across == "one" {
		across = ""
	}
	if err := s.options.Drafts.Count(d.Name, n, counts, across); err != nil {
		words, ok := refusedWords(err)
		if !ok {
			return err
		}
		return s.rowsPage(w, r, http.StatusUnprocessableEntity, d, strings.Join(words, " "))
	}
	http.Redirect(w, r, backToRows(r, d, n, "spots"), http.StatusSeeOther)
	return nil
}

// postMeasured says where rows of one name are measured.
func (s *Server) postMeasured(w http.ResponseWriter, r *http.Request) error {
	d, _, err := s.draftToChange(r)
	if err != nil {
		return err
	}
	n := tableNumber(r, d)
	t, row, err := rowSaid(r, d, n)
	if err != nil {
		return err
	}
	fail := func(err error) error { return s.rowRefused(w, r, d, row, err) }
	var said []string
	if text := value(r, "places"); text != "" {
		said = append(said, text+" places")
	}
	for _, of := range []string{"plane", "direction"} {
		switch names := value(r, of+"s"); names {
		case "":
			said = append(said, "one "+of)
		default:
			said = append(said, of+"s "+names)
		}
	}
	at, err := intake.ParseMeasured(strings.Join(said, ", "))
	if err != nil {
		return fail(&draft.RefusedError{What: "where it is measured can't be kept", Do: err.Error()})
	}
	m := t.Mapping
	m.Measured = maps.Clone(m.Measured)
	maps.DeleteFunc(m.Measured, func(name, _ string) bool { return strings.EqualFold(name, row.Name) })
	m.Format = intake.MappingFormat
	if at = at.But(unsaid(t, m, row.FileLine)); at.Places > 0 || at.Planes != nil || at.Directions != nil {
		if m.Measured == nil {
			m.Measured = map[string]string{}
		}
		m.Measured[row.Name] = at.String()
	}
	if err := s.options.Drafts.Say(d.Name, n, m); err != nil {
		return fail(err)
	}
	http.Redirect(w, r, backToRows(r, d, n, fmt.Sprintf("row-%d", row.FileLine)), http.StatusSeeOther)
	return nil
}

// rowRefused shows the rows with why what was said of one can't be. Where the book
// that it would come to can't be loaded, its faults are of that row.
func (s *Server) rowRefused(w http.ResponseWriter, r *http.Request, d *draft.Draft, row *intake.Row, err error) error {
	words, ok := refusedWords(err)
	if !ok || d.Loaded == nil {
		return err
	}
	var faults fault.List
	if errors.As(err, &faults) {
		words = nil
		var names []string
		for _, key := range row.Lines {
			if l, ok := d.Loaded.Line(key); ok {
				names = append(names, l.Terms[0].Feature.Ref(), "it")
			}
		}
		for _, f := range faults {
			words = append(words, sentence(strings.NewReplacer(names...).Replace(f.What+": "+f.Do)))
		}
	}
	return s.rowsPage(w, r, http.StatusUnprocessableEntity, d, row.Name+": "+strings.Join(words, " "))
}

// unsaid is where a row is measured while nothing is said of it by itself.
func unsaid(t *draft.Table, m intake.Mapping, line int) (at intake.Measured) {
	read := t.As(m).Read
	if read == nil {
		return at
	}
	n := slices.IndexFunc(read.Rows, func(r intake.Row) bool { return r.FileLine == line })
	if n < 0 {
		return at
	}
	return read.Rows[n].At()
}

// rowSaid is the row that a form says something of.
func rowSaid(r *http.Request, d *draft.Draft, n int) (*draft.Table, *intake.Row, error) {
	line, _ := strconv.Atoi(r.FormValue("row"))
	t := d.Tables[n]
	at := -1
	if t.Read != nil && !t.Whole {
		at = slices.IndexFunc(t.Read.Rows, func(row intake.Row) bool { return row.FileLine == line })
	}
	if at < 0 {
		return nil, nil, record.Refuse("row", "look at the rows again", "the table has no row %d that is a line", line)
	}
	return t, &t.Read.Rows[at], nil
}
