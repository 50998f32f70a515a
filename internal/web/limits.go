package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

// A limitsRow is one line of the table of limits, filled in.
type limitsRow struct {
	ID, Ref, Page, Name, Note string
	New, Service              string
	Less, Actual              string // the other end, and the one that counts
	Ruler                     template.HTML
	Used                      string
	Grade                     string
	Standing                  string
	Open                      []spotLink // the first few spots that are not measured
	MoreOpen                  int
	Settle                    []spotLink // where more than one reading stands
	Asks                      []string
	Spot                      string // where the first reading of it is taken
}

// A spotLink leads to a spot at the bench.
type spotLink struct {
	Spot, Words string
	Readings    string // those that stand there, where one is to be struck
}

func linkTo(b *book.Book, id book.SpotID) spotLink {
	link := spotLink{Spot: b.Spots[id].String(), Words: siteName(b.SiteAt(id))}
	if words := spotWords(b.Spots[id]); words != "" {
		link.Words += ", " + words
	}
	return link
}

// linkOf leads to the spot of that name; without a spot where the edition has none.
func linkOf(b *book.Book, name string) spotLink {
	if id, ok := b.Spot(name); ok {
		return linkTo(b, id)
	}
	return spotLink{Words: name}
}

// openShown is how many open spots a line names.
const openShown = 3

// A limitsGroup is what stands under one heading.
type limitsGroup struct {
	Title string
	Rows  []limitsRow
}

type limitsBody struct {
	Groups             []limitsGroup
	Parts              []*book.Part
	Part, Grade, Order string
	Find               string
	Shown, All         int
}

func (s *Server) getLimits(w http.ResponseWriter, r *http.Request) error {
	order := r.PathValue("order")
	j, err := s.stands(r.Context(), order)
	if err != nil {
		return err
	}
	if id := r.FormValue("sum"); id != "" {
		return s.getSum(w, r, j, id)
	}
	body := limitsBody{
		Parts: j.Book.Parts, Part: r.FormValue("part"), Grade: r.FormValue("grade"),
		Order: r.FormValue("by"), Find: value(r, "find"), All: len(j.Verdicts),
	}
	if r.Form.Has("by") {
		s.likes.change(s.handle(r), func(p *preference) { p.Lines = body.Order })
	} else {
		body.Order = s.likes.of(s.handle(r)).Lines
	}
	body.Groups = groups(j, &body)
	if r.Header.Get("HX-Request") != "" {
		return s.render(w, http.StatusOK, "limits-table", page{Order: order, Body: body})
	}
	return s.show(w, r, http.StatusOK, "limits", s.about(j, "Limits", "limits"), body)
}

// about is the page of a job.
func (s *Server) about(j *job.Judged, title, here string) page {
	return page{Title: title, Order: j.State.About.Order, About: j.Book.Engine, Here: here}
}

// groups picks the rows that were asked for, under their headings.
func groups(j *job.Judged, body *limitsBody) []limitsGroup {
	words := judge.Words{Book: j.Book, From: "entry"}
	problems := limitsGroup{Title: "Beyond, open or asked"}
	byPart := map[*book.Part]*limitsGroup{}
	var order []*book.Part
	find := strings.ToLower(body.Find)
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		part := v.Line.Part()
		word := gradeWord(v)
		name := words.Name(v)
		switch {
		case body.Part != "" && part.Key != body.Part,
			body.Grade == "asked" && len(v.Asks) == 0,
			body.Grade != "" && body.Grade != "asked" && word != body.Grade,
			find != "" && !strings.Contains(strings.ToLower(v.Line.Ref+" "+name+" "+v.Line.ID(v.At)), find):
			continue
		}
		body.Shown++
		row := rowOf(words, j, v, name, word)
		if body.Order != "book" && v.Ungraded == "" && (!v.Decided() || v.Grade == judge.Beyond) {
			problems.Rows = append(problems.Rows, row)
			continue
		}
		g := byPart[part]
		if g == nil {
			g = &limitsGroup{Title: part.Name}
			byPart[part] = g
			order = append(order, part)
		}
		g.Rows = append(g.Rows, row)
	}
	var all []limitsGroup
	if len(problems.Rows) > 0 {
		all = append(all, problems)
	}
	for _, p := range order {
		all = append(all, *byPart[p])
	}
	return all
}

func rowOf(words judge.Words, j *job.Judged, v *judge.Verdict, name, word string) limitsRow {
	l := v.Line
	row := limitsRow{
		ID: l.ID(v.At), Ref: l.Ref, Page: l.Page, Name: name, Note: l.As, Grade: word,
		Standing: words.Standing(v), Ruler: template.HTML(picture.Column(words, v)),
	}
	row.New, row.Service = tiers(words, v)
	row.Less, row.Actual = actual(words, v)
	if v.HasAllowance && v.Allowance > 0 {
		row.Used = fmt.Sprintf("%d %%", v.Allowance)
	}
	for i, id := range v.Missing {
		if i == openShown {
			row.MoreOpen = len(v.Missing) - openShown
			break
		}
		row.Open = append(row.Open, linkTo(j.Book, id))
	}
	for _, a := range v.Asks {
		if a.Kind == judge.Settle {
			link := linkTo(j.Book, a.Spot)
			var shown []string
			for _, r := range j.Readings.At(a.Spot) {
				shown = append(shown, r.Text())
			}
			link.Readings = strings.Join(shown, " and ")
			row.Settle = append(row.Settle, link)
			continue
		}
		row.Asks = append(row.Asks, words.Ask(v, a, j.Readings.At))
	}
	if spots := l.Instances[v.At].Spots; len(spots) > 0 {
		row.Spot = j.Book.Spots[spots[0]].String()
		if len(v.Missing) > 0 {
			row.Spot = j.Book.Spots[v.Missing[0]].String()
		}
	}
	return row
}

// tiers prints the first and the last tier of a limit.
func tiers(words judge.Words, v *judge.Verdict) (first, last string) {
	n := len(v.Limit.Tiers)
	if n == 0 {
		return words.Limits(v.Line, v.Limit), ""
	}
	text := func(i int) string {
		text := words.Tier(v.Line, v.Limit, i)
		for _, head := range []string{"new ", "service "} { // as the column's head says
			text = strings.TrimPrefix(text, head)
		}
		return text
	}
	if n == 1 {
		if v.Limit.Tiers[0].Name == "service" {
			return "", text(0)
		}
		return text(0), ""
	}
	return text(0), text(n - 1)
}

// actual prints what was found: the end that counts, and before it the other.
func actual(words judge.Words, v *judge.Verdict) (less, counts string) {
	if !v.Measured || len(v.Limit.Tiers) == 0 || v.NoLow || v.NoHigh || v.Ends.Low == v.Ends.High {
		return "", words.Ends(v)
	}
	low, high := words.Figure(v.Line, v.Ends.Low), words.Figure(v.Line, v.Ends.High)
	if v.Worse == limit.Low {
		return high, low
	}
	return low, high
}

// A sum is a line opened to where its figures come from.
type sum struct {
	Row   limitsRow
	Lines []string
	Ruler template.HTML
}

// getSum shows one line opened to its sum.
func (s *Server) getSum(w http.ResponseWriter, r *http.Request, j *job.Judged, id string) error {
	words := judge.Words{Book: j.Book, From: "entry"}
	n := slices.IndexFunc(j.Verdicts, func(v judge.Verdict) bool { return v.Line.ID(v.At) == id })
	if n < 0 {
		return errNoPage
	}
	v := &j.Verdicts[n]
	name := words.Name(v)
	body := sum{
		Row: rowOf(words, j, v, name, gradeWord(v)), Lines: words.Sum(v, j.Readings.At),
		Ruler: template.HTML(picture.Scale(words, v, readingsOf(j, v))),
	}
	p := s.about(j, name, "limits")
	if r.Header.Get("HX-Request") != "" {
		return s.render(w, http.StatusOK, "sum-row", page{Order: p.Order, Body: body})
	}
	return s.show(w, r, http.StatusOK, "sum", p, body)
}

// readingsOf are the figures that a size's ruler pricks.
func readingsOf(j *job.Judged, v *judge.Verdict) []quantity.Figure {
	if v.Line.Judges != book.Size {
		return nil
	}
	var all []quantity.Figure
	for _, id := range v.Line.Instances[v.At].Spots {
		for _, r := range j.Readings.At(id) {
			if r.Exact() {
				all = append(all, r.Value)
			}
		}
	}
	return all
}
