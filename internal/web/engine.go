package web

import (
	"errors"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/internal/record"
	"tenths/internal/shop"
)

// A partRow is a part of the engine with how it stands.
type partRow struct {
	Key, Name string
	Word      string // the worst of its lines
	Line      string // that line, in words
	Figure    string
	Ruler     template.HTML
	Measured  int
	Spots     int
	Signed    string
}

type engineBody struct {
	Drawing  engineDrawing
	Crank    crankDrawing
	Parts    []partRow
	Next     []nextStep
	Beyond   []engineLine
	Settle   []settling
	More     []settling // the further ones, by name only
	Held     []string   // the readings name different items at one place
	Asked    []string
	Aside    []asideRow
	NotKnown string           // entries that this version does not know
	Blocks   []job.Block      // by their parts
	Asks     []book.Condition // conditions that are not stated
	Progress job.Progress
	Closed   bool
	Skips    []skipRow
}

// A skipRow is a spot that was skipped, and why.
type skipRow struct {
	spotLink
	Why, By string
}

// An asideRow is a reading that is kept and not judged by.
type asideRow struct {
	spotLink
	Value, Why string
}

type nextStep struct {
	Spot, Name, Note string
	Left             int
}

type engineLine struct {
	ID, Name, Figure, Standing string
}

// settledAtOnce is how many spots that wait to be settled are shown with their
// readings: beyond, a line each.
const settledAtOnce = 6

func (s *Server) getEngine(w http.ResponseWriter, r *http.Request) error {
	j, err := s.stands(r.Context(), r.PathValue("order"))
	if err != nil {
		return err
	}
	words := judge.Words{Book: j.Book, From: "entry"}
	parts := slices.DeleteFunc(j.Blocks(), func(b job.Block) bool { return b.Step == job.Log })
	body := engineBody{Progress: j.Progress(), NotKnown: record.Unknown("the job", j.State.Unknown), Blocks: parts, Closed: j.State.Closed != nil}
	order := orderPath(j.State.About.Order)
	bySite, byPosition := standings(j)
	body.Drawing = wholeEngine(j, byPosition, order)
	body.Crank = crankOf(words, j, bySite, order)
	for _, p := range j.Book.Parts {
		if row, ok := partOf(words, j, p); ok {
			body.Parts = append(body.Parts, row)
		}
	}
	said := map[string]bool{}
	conditions := map[string]bool{}
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		if v.Grade == judge.Beyond {
			_, figure := actual(words, v)
			body.Beyond = append(body.Beyond, engineLine{v.Line.ID(v.At), words.Name(v), figure, rest(words.Standing(v), "beyond")})
		}
		for _, a := range v.Asks {
			text := words.Ask(v, a, j.Readings.At)
			told := text // what is asked of a line may read the same of another part's
			if a.Kind != judge.Mixed {
				told = words.Name(v) + ": " + text
			}
			switch {
			case a.Kind == judge.Which && isCondition(j.Book, a.Text):
				conditions[a.Text] = true
			case a.Kind == judge.Settle: // shown with their readings
			case said[told]:
			case a.Kind == judge.Mixed:
				said[told] = true
				body.Held = append(body.Held, text)
			default:
				said[told] = true
				body.Asked = append(body.Asked, told)
			}
		}
	}
	people, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	for _, k := range j.State.Skips {
		body.Skips = append(body.Skips, skipRow{linkOf(j.Book, k.Spot), k.Why, name(people, k.By)})
	}
	for _, a := range j.Aside {
		body.Aside = append(body.Aside, asideRow{linkOf(j.Book, a.Spot), a.Value, a.Why})
	}
	body.Settle = settlings(j, people, s.handle(r), -1)
	if len(body.Settle) > settledAtOnce {
		body.Settle, body.More = body.Settle[:settledAtOnce], body.Settle[settledAtOnce:]
	}
	for _, c := range j.Book.Conditions {
		if conditions[c.Name] {
			body.Asks = append(body.Asks, c)
		}
	}
	rt := routeOf(j, "part", "", -1)
	for i := 0; i < len(rt.Stops) && len(body.Next) < 5; i++ {
		st := rt.Stops[i]
		if st.Done || st.Skip {
			continue
		}
		site := j.Book.SiteAt(st.ID)
		n := nextStep{Spot: st.Spot, Name: siteName(site), Note: spotWords(j.Book.Spots[st.ID])}
		for ; i < len(rt.Stops) && rt.Stops[i].Group == st.Group; i++ {
			if !rt.Stops[i].Done {
				n.Left++
			}
		}
		i--
		body.Next = append(body.Next, n)
	}
	return s.show(w, r, http.StatusOK, "engine", s.about(j, "Engine", "engine"), body)
}

// partOf is a part's row: what stands worst of it.
func partOf(words judge.Words, j *job.Judged, p *book.Part) (row partRow, ok bool) {
	row = partRow{Key: p.Key, Name: p.Name}
	var worst *judge.Verdict
	seen := map[book.SpotID]bool{}
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		if v.Line.Part() != p {
			continue
		}
		for _, id := range v.Line.Instances[v.At].Spots {
			if !seen[id] && j.Book.FeatureAt(id).Part == p {
				seen[id] = true
				row.Spots++
				if len(j.Readings.At(id)) > 0 {
					row.Measured++
				}
			}
		}
		if worst == nil || rank(v) > rank(worst) || rank(v) == rank(worst) && v.HasAllowance && v.Allowance > worst.Allowance {
			worst = v
		}
	}
	if worst == nil {
		return row, false
	}
	row.Word, row.Line = gradeWord(worst), words.Name(worst)
	if worst.Measured {
		_, row.Figure = actual(words, worst)
	}
	row.Ruler = template.HTML(picture.Column(words, worst))
	return row, true
}

// rank orders verdicts by how much they want a person.
func rank(v *judge.Verdict) int {
	switch {
	case v.Ungraded != "":
		return 0
	case v.Grade == judge.Beyond:
		return 5
	case v.Open():
		return 3
	case v.Grade == judge.NoGrade:
		return 4
	case v.Grade == judge.Serviceable:
		return 2
	}
	return 1
}

// An itemPart is a kind of part, and what is fitted at its positions.
type itemPart struct {
	*book.Part
	Places []itemPlace
}

// An itemPlace is a position, and the item that is fitted there, if it is known.
type itemPlace struct {
	Position string
	itemRow
}

// An itemRow is an item of the job, and how far it has come.
type itemRow struct {
	job.Item
	Stage int
}

type itemsBody struct {
	Parts   []itemPart
	Away    []itemRow // registered, and fitted nowhere
	Problem string
}

func (s *Server) getItems(w http.ResponseWriter, r *http.Request) error {
	return s.itemsPage(w, r, http.StatusOK, "")
}

func (s *Server) itemsPage(w http.ResponseWriter, r *http.Request, code int, problem string) error {
	j, err := s.stands(r.Context(), r.PathValue("order"))
	if err != nil {
		return err
	}
	body := itemsBody{Problem: problem}
	at := map[string]itemRow{}
	for _, i := range j.State.Items {
		row := itemRow{Item: i, Stage: j.State.Stage(i.Tag, j.State.Size)}
		if where := j.State.Where(i.Tag, j.State.Size); where != "" {
			at[where] = row
		} else {
			body.Away = append(body.Away, row)
		}
	}
	for _, p := range j.Book.Parts {
		part := itemPart{Part: p}
		if p.Positions == 0 {
			part.Places = append(part.Places, itemPlace{p.Key, at[p.Key]})
		}
		for n := range p.Positions {
			position := p.Key + "-" + strconv.Itoa(n+1)
			part.Places = append(part.Places, itemPlace{position, at[position]})
		}
		body.Parts = append(body.Parts, part)
	}
	return s.show(w, r, code, "items", s.about(j, "Items", "items"), body)
}

// entered enters a request from a form, and shows the items again.
func (s *Server) entered(w http.ResponseWriter, r *http.Request, request job.Request) error {
	_, err := s.Shop().Enter(r.Context(), s.who(r), r.PathValue("order"), shop.Request{Request: request})
	var refusal *record.Refusal
	if errors.As(err, &refusal) {
		return s.itemsPage(w, r, http.StatusUnprocessableEntity, sentence(err.Error()))
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, orderPath(r.PathValue("order"))+"/items", http.StatusSeeOther)
	return nil
}

func (s *Server) postItem(w http.ResponseWriter, r *http.Request) error {
	part, found := value(r, "part"), value(r, "found")
	if part == "" { // what is found at a position is of its part
		part, _, _ = strings.Cut(found, "-")
	}
	return s.entered(w, r, &job.RegisterItem{ItemRegistered: job.ItemRegistered{
		Item: value(r, "item"), Part: part, Number: value(r, "number"), Serial: value(r, "serial"), Found: found,
	}})
}

// postFitted lets two positions change what they have, takes out what is at
// some, or fits an item at one.
func (s *Server) postFitted(w http.ResponseWriter, r *http.Request) error {
	j, err := s.stands(r.Context(), r.PathValue("order"))
	if err != nil {
		return err
	}
	places := r.PostForm["place"]
	fit := &job.Fit{}
	put := func(position, item string) {
		fit.Places = append(fit.Places, job.ItemFitted{Position: position, Item: item})
	}
	want := ""
	switch value(r, "do") {
	case "swap":
		if len(places) != 2 {
			want = "Tick the two positions that change places."
			break
		}
		put(places[0], j.State.Fitted[places[1]])
		put(places[1], j.State.Fitted[places[0]])
	case "out":
		if len(places) == 0 {
			want = "Tick the positions from which something is taken out."
		}
		for _, p := range places {
			put(p, "")
		}
	default:
		if len(places) != 1 || value(r, "item") == "" {
			want = "Tick one position, and choose what is fitted there."
			break
		}
		put(places[0], value(r, "item"))
	}
	if want != "" {
		return s.itemsPage(w, r, http.StatusUnprocessableEntity, want)
	}
	return s.entered(w, r, fit)
}

// isCondition tells whether a book has a condition of that name.
func isCondition(b *book.Book, name string) bool {
	return slices.ContainsFunc(b.Conditions, func(c book.Condition) bool { return c.Name == name })
}
