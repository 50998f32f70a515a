package web

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/internal/reading"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/metrology/quantity"
)

// A route is the order in which spots are measured: by part, one piece of metal
// after the other as the book has them, or by gauge, so that one micrometer is picked up once.
type route struct {
	By    string
	Stops []stop
	At    int // the index of the spot that is measured; −1: none
}

// A stop is one spot on the route.
type stop struct {
	ID    book.SpotID
	Spot  string
	Group string // what the stops of one part, or of one gauge, stand under
	First bool   // of its group
	Done  bool
	Skip  bool
	turn  int // of its part: all of rod 1 comes before rod 2
}

// routeOf orders the spots that lines for this engine look at.
func routeOf(j *job.Judged, by, part string, now book.SpotID) route {
	looked := make([]bool, len(j.Book.Spots))
	for i := range j.Verdicts {
		for _, id := range j.Verdicts[i].Line.Instances[j.Verdicts[i].At].Spots {
			looked[id] = true
		}
	}
	skipped := map[string]bool{}
	for i := range j.State.Skips {
		skipped[j.State.Skips[i].Spot] = true
	}
	r := route{By: by, At: -1}
	parts := map[*book.Part]int{}
	for i, p := range j.Book.Parts {
		parts[p] = 1000 * i // positions end at 999
	}
	for id := range j.Book.Spots {
		site := j.Book.SiteAt(book.SpotID(id))
		if !looked[id] || part != "" && site.Feature.Part.Key != part {
			continue
		}
		spot := j.Book.Spots[id].String()
		group := siteName(site)
		if by == "gauge" {
			group = gaugeOf(j, book.SpotID(id))
		}
		r.Stops = append(r.Stops, stop{ID: book.SpotID(id), Spot: spot, Group: group, Done: len(j.Readings.At(book.SpotID(id))) > 0, Skip: skipped[spot], turn: parts[site.Feature.Part] + site.Position})
	}
	slices.SortStableFunc(r.Stops, func(a, b stop) int {
		if by == "gauge" {
			return strings.Compare(a.Group, b.Group)
		}
		return cmp.Compare(a.turn, b.turn)
	})
	for i := range r.Stops {
		r.Stops[i].First = i == 0 || r.Stops[i].Group != r.Stops[i-1].Group
		if r.Stops[i].ID == now {
			r.At = i
		}
	}
	return r
}

// gaugeOf names what a spot is measured with: a micrometer by the inch that its
// size is in, or what such things are measured with.
func gaugeOf(j *job.Judged, id book.SpotID) string {
	f := j.Book.FeatureAt(id)
	switch f.Class {
	case book.Clearance:
		return "4 Feeler gauges"
	case book.Dial:
		return "5 Dial indicator"
	case book.Check:
		return "7 By eye"
	case book.Other:
		return "6 Testers and scales"
	}
	kind := map[book.Class]string{book.Outside: "1 Micrometer", book.Inside: "2 Bore gauge", book.Extent: "3 Depth and length"}[f.Class]
	for _, ref := range j.Book.Touches(id) {
		l := ref.Line
		if l.Judges != book.Size || len(l.Limit.Tiers) == 0 {
			continue
		}
		edge := l.Limit.Tiers[0].Range.Max
		if !edge.Set {
			edge = l.Limit.Tiers[0].Range.Min
		}
		step, unit := quantity.Inch, "in"
		width := 1
		if l.Unit == quantity.Millimetre {
			step, unit, width = quantity.Millimetre, "mm", 25
		}
		text, _ := edge.At.Text(step, 0)
		n, err := strconv.Atoi(text)
		if exact, _ := edge.At.Text(step, 4); err == nil && n > 0 && strings.HasPrefix(exact, strconv.Itoa(n-1)+".") {
			n-- // it was rounded up
		}
		if err == nil {
			from := n / width * width
			return fmt.Sprintf("%s %d–%d %s", kind, from, from+width, unit)
		}
	}
	return kind
}

// siteName is a site in words: "Main journal 2", "Big end, Connecting rod 3".
func siteName(s *book.Site) string {
	name := s.Feature.Name
	if s.Place != 0 {
		name += " " + strconv.Itoa(s.Place)
	}
	if s.Position != 0 {
		name = s.Feature.Part.Name + " " + strconv.Itoa(s.Position) + ", " + lower(name)
	}
	return name
}

func lower(name string) string { return strings.ToLower(name[:1]) + name[1:] }

// spotWords says which plane and direction of its site a spot is.
func spotWords(s book.Spot) string {
	var words []string
	if s.Plane != "" && s.Plane != "-" {
		words = append(words, "plane "+s.Plane)
	}
	if s.Direction != "" {
		d := s.Direction
		if _, err := strconv.Atoi(d); err == nil {
			d += "°"
		}
		words = append(words, "direction "+d)
	}
	return strings.Join(words, ", ")
}

// A benchBody is what the bench shows of one spot.
type benchBody struct {
	Order     string
	Spot      string
	Name      string // of the site
	Words     string // plane and direction
	Pad       string // which keys: size, dial, feeler, band, yes, count
	Unit      string
	Caution   string
	Sketch    template.HTML // from the side, with the plane lit
	End       template.HTML // from its end, with the direction lit
	Mini      template.HTML // both, small and without figures
	Note      string        // how they are drawn
	Taken     taken
	Lines     []benchLine
	Route     route
	RouteLine template.HTML
	Next      *stop
	Back      *stop
	Problem   string
	Value     string
	Kept      reading.Row // what is said beside a value, as it was said last
	People    []shoplog.Person
	Caller    string // who reads where another writes, by name
	Called    *called
	ID        string // of the reading that is to be entered: sent twice, it is one
	Rules     string // JSON for the script
	Size      int64  // entries that this page knows
	Last      *lastReading
	Settle    *settling // more than one reading stands here
	Part      string
	Parts     []*book.Part
	By        string
}

// lastReading is what was entered last by who is at the bench, to be struck.
type lastReading struct {
	Entry int64
	Spot  string
	Value string
}

// A called is what was kept last of what another reads, for the caller to hear.
type called struct {
	Name, Words, Value string
	Entry              int64
}

// taken are the readings at a site: planes by directions.
type taken struct {
	Columns []string
	Rows    []takenRow
	Rule    string // which of them counts
}

type takenRow struct {
	Name  string
	Cells []takenCell
}

type takenCell struct {
	Spot   string
	Values []takenValue
	Here   bool
	Long   bool // in words rather than a figure
}

// A takenValue is a reading: its figure, and of a deviation what the gauge showed.
type takenValue struct {
	Figure, Gauge string
	Counts        bool
}

// A benchLine is a line that the spot is part of.
type benchLine struct {
	ID, Name, Small string
	Figure          string
	Grade           string
	Standing        string
	Ruler           template.HTML
	Size            bool // of the size itself: its ruler is to scale
}

func (s *Server) getBench(w http.ResponseWriter, r *http.Request) error {
	body, j, err := s.bench(r, r.FormValue("spot"))
	if err != nil {
		return err
	}
	p := s.about(j, body.Name, "bench")
	p.Bench = true
	return s.show(w, r, http.StatusOK, "bench", p, body)
}

// getSpot answers with the parts of the bench that change from spot to spot.
func (s *Server) getSpot(w http.ResponseWriter, r *http.Request) error {
	body, _, err := s.bench(r, r.FormValue("spot"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "bench-spot", page{Order: body.Order, Body: body})
}

// bench gathers what the bench shows of a spot; of none, of the first that is
// open on the route.
func (s *Server) bench(r *http.Request, spot string) (*benchBody, *job.Judged, error) {
	order := r.PathValue("order")
	j, err := s.stands(r.Context(), order)
	if err != nil {
		return nil, nil, err
	}
	by := r.FormValue("by")
	if by == "part" || by == "gauge" {
		s.likes.change(s.handle(r), func(p *preference) { p.Route = by })
	} else {
		by = s.route(r)
	}
	id, known := j.Book.Spot(spot)
	if spot != "" && !known {
		return nil, nil, record.Refuse("spot", "choose one in the engine's picture", "the book has no spot %q", spot)
	}
	part := r.FormValue("part")
	if known && by == "part" {
		part = j.Book.FeatureAt(id).Part.Key
	}
	rt := routeOf(j, by, part, id)
	if !known {
		n := slices.IndexFunc(rt.Stops, func(s stop) bool { return !s.Done && !s.Skip })
		if n < 0 && len(rt.Stops) == 0 {
			return nil, nil, record.Refuse("route", "choose another part", "no line looks at a spot of it")
		}
		id = rt.Stops[max(0, n)].ID
		if by == "part" {
			part = j.Book.FeatureAt(id).Part.Key
			rt = routeOf(j, by, part, id)
		} else {
			rt.At = max(0, n)
		}
	}
	people, err := s.Shop().Record(r.Context())
	if err != nil {
		return nil, nil, err
	}
	return s.benchAt(r, j, people, id, rt, part), j, nil
}

func (s *Server) benchAt(r *http.Request, j *job.Judged, people *shoplog.State, id book.SpotID, rt route, part string) *benchBody {
	b := j.Book
	site, f := b.SiteAt(id), b.FeatureAt(id)
	body := &benchBody{
		Order: j.State.About.Order, Spot: b.Spots[id].String(), Name: siteName(site), Words: spotWords(b.Spots[id]),
		Pad: padOf(f), Unit: f.Unit.String(), Route: rt, Size: j.State.Size, Part: part, Parts: b.Parts, By: rt.By,
		Sketch: sideOf(j, id), End: endOf(j, id), Mini: miniOf(j, id), Note: picture.SketchNote(b, id),
		Taken: takenAt(j, site, id),
	}
	body.ID = uuid.Must(uuid.NewV7()).String()
	body.Lines = linesAt(j, id)
	body.RouteLine = routeLine(rt)
	body.Next = after(j, rt)
	body.Back = before(j, rt)
	body.Rules = rulesAt(j, id)
	handle := s.handle(r)
	body.Kept = s.beside(r, body.Spot)
	if by := body.Kept.By; by != "" {
		body.Caller = name(people, by)
	}
	body.People = present(people, handle)
	if open := settlings(j, people, handle, id); len(open) > 0 {
		body.Settle = &open[0]
	}
	struck := j.State.Struck()
	for _, t := range slices.Backward(j.State.Readings) {
		if t.By == handle && struck[t.Seq] == nil {
			body.Last = &lastReading{t.Seq, t.Spot, t.Value}
			if id, ok := b.Spot(t.Spot); ok && t.ReadBy != "" && t.ReadBy == body.Kept.By {
				body.Called = &called{siteName(b.SiteAt(id)), spotWords(b.Spots[id]), t.Value, t.Seq}
			}
			break
		}
	}
	return body
}

// Keys of a session: what was said beside the last reading. It stays for the next
// one, until it is said anew.
const (
	besideGauge, besideTemperature, besideSetting = "gauge", "temperature", "setting"
	besideUnit, besideSense, besideReader         = "unit", "sense", "read_by"
	besideSize                                    = "set_for" // the feature that the setting is meant for
)

// beside is what the person said beside their last reading, as far as it is meant
// for a spot: a setting is for the things of one size.
func (s *Server) beside(r *http.Request, spot string) reading.Row {
	get := func(key string) string { return s.options.Sessions.GetString(r.Context(), key) }
	row := reading.Row{Gauge: get(besideGauge), Temperature: get(besideTemperature), By: get(besideReader)}
	if get(besideSize) == meantFor(spot) {
		row.Setting, row.Unit, row.Sense = get(besideSetting), get(besideUnit), get(besideSense)
	}
	return row
}

// meantFor is the feature that a spot is of, at whatever position; bench.js says
// the same.
func meantFor(spot string) string {
	s, err := book.ParseSpot(spot)
	if err != nil {
		return "" // it is refused where it is entered
	}
	return s.Part + "." + s.Feature
}

// putBeside keeps it for the next one; only what changed, since every change of
// a session is written to disk.
func (s *Server) putBeside(r *http.Request, row *reading.Row) {
	now, size := s.beside(r, row.Spot), meantFor(row.Spot)
	of := s.options.Sessions.GetString(r.Context(), besideSize)
	put := func(key, before, after string) {
		if before != after && len(after) <= record.Short {
			s.options.Sessions.Put(r.Context(), key, after)
		}
	}
	put(besideGauge, now.Gauge, row.Gauge)
	put(besideTemperature, now.Temperature, row.Temperature)
	put(besideReader, now.By, row.By)
	if row.Setting == "" && (!exact(row.Value) || of != size) {
		return // a look, a feeler and a thing of another size are sent without the setting, which the gauge still has
	}
	put(besideSize, of, size)
	put(besideSetting, now.Setting, row.Setting)
	put(besideUnit, now.Unit, row.Unit)
	put(besideSense, now.Sense, row.Sense)
}

// exact tells whether what was typed begins as a figure does, and is one alone.
func exact(value string) bool {
	return value != "" && !strings.ContainsAny(value, ", ") && strings.ContainsAny(value[:1], "+-−.0123456789")
}

// present are who is of the shop today and may read for another.
func present(people *shoplog.State, but string) []shoplog.Person {
	var all []shoplog.Person
	for _, h := range people.Handles() {
		if _, err := people.In(h, time.Now()); err == nil && h != but {
			all = append(all, people.People[h])
		}
	}
	return all
}

// after is the stop that follows on a route; behind the last of a part, the
// first of the next part. nil: there is none.
func after(j *job.Judged, rt route) *stop {
	if rt.At < 0 {
		return nil
	}
	if rt.At+1 == len(rt.Stops) && rt.By == "part" {
		rt = routeOf(j, rt.By, "", rt.Stops[rt.At].ID)
	}
	if rt.At+1 < len(rt.Stops) {
		return &rt.Stops[rt.At+1]
	}
	return nil
}

// before is the stop that went before on a route, in the part before it too. nil:
// there is none.
func before(j *job.Judged, rt route) *stop {
	if rt.At == 0 && rt.By == "part" {
		rt = routeOf(j, rt.By, "", rt.Stops[0].ID)
	}
	if rt.At > 0 {
		return &rt.Stops[rt.At-1]
	}
	return nil
}

// padOf is which keys a feature is entered with.
func padOf(f *book.Feature) string {
	switch {
	case f.Class == book.Check:
		return "yes"
	case f.Class == book.Clearance:
		return "feeler"
	case f.Class == book.Dial:
		return "dial"
	case f.Unit.Kind() == quantity.CountKind:
		return "count"
	case f.Class == book.Inside:
		return "bore"
	}
	return "size"
}

// takenAt are the readings that stand at a site.
func takenAt(j *job.Judged, site *book.Site, here book.SpotID) taken {
	var t taken
	across := site.Across()
	for i := range across {
		t.Columns = append(t.Columns, strings.TrimPrefix(spotWords(book.Spot{Direction: j.Book.Spots[site.Spots[i]].Direction}), "direction "))
	}
	counting := counts(j, site)
	for i, id := range site.Spots {
		if i%across == 0 {
			t.Rows = append(t.Rows, takenRow{Name: spotWords(book.Spot{Plane: j.Book.Spots[id].Plane})})
		}
		c := takenCell{Spot: j.Book.Spots[id].String(), Here: id == here}
		for _, r := range j.Readings.At(id) {
			v := takenValue{Figure: strings.TrimSuffix(r.Text(), " "+site.Feature.Unit.String())} // the unit stands beside the field
			if r.Kind == reading.Deviation {                                                      // the size, and what the gauge showed
				v = takenValue{Figure: sizeOf(&r), Gauge: r.Shown.Digits}
			}
			v.Counts = r.Exact() && counting != nil && r.Value.Cmp(*counting) == 0
			c.Values = append(c.Values, v)
			c.Long = c.Long || len(v.Figure) > 14
		}
		row := &t.Rows[len(t.Rows)-1]
		row.Cells = append(row.Cells, c)
	}
	f := site.Feature
	switch {
	case len(site.Spots) == 1: // nothing to choose from
	case f.Counts == book.Mean:
		t.Rule = "the mean counts"
	case f.Class == book.Dial: // none by itself: greatest less smallest
	case f.Wears == book.Larger:
		t.Rule = "largest counts"
	case f.Wears == book.Smaller:
		t.Rule = "smallest counts"
	}
	return t
}

// counts is the figure that counts of a site's readings; nil where none does
// by itself.
func counts(j *job.Judged, site *book.Site) *quantity.Figure {
	f := site.Feature
	if f.Counts == book.Mean || f.Wears == book.Either || f.Class == book.Dial {
		return nil
	}
	var worst *quantity.Figure
	for _, id := range site.Spots {
		for _, r := range j.Readings.At(id) {
			if !r.Exact() {
				return nil
			}
			v := r.Value
			if worst == nil || (v.Cmp(*worst) < 0) == (f.Wears == book.Smaller) && v.Cmp(*worst) != 0 {
				worst = &v
			}
		}
	}
	return worst
}

// linesAt are the lines that a spot is part of, the size itself first.
func linesAt(j *job.Judged, id book.SpotID) []benchLine {
	words := judge.Words{Book: j.Book, From: "entry"}
	var all []benchLine
	for _, ref := range touches(j.Book, id) {
		for i := range j.Verdicts {
			v := &j.Verdicts[i]
			if v.Line != ref.Line || v.At != ref.At {
				continue
			}
			l := benchLine{ID: v.Line.ID(v.At), Name: words.Name(v), Grade: gradeWord(v), Standing: rest(words.Standing(v), gradeWord(v)), Size: v.Line.Judges == book.Size && len(all) == 0}
			_, l.Figure = actual(words, v)
			if !v.Measured {
				l.Figure = ""
			}
			l.Small = words.Limits(v.Line, v.Limit)
			if l.Size {
				l.Ruler = template.HTML(picture.MovingScale(words, v, readingsOf(j, v)))
			} else {
				l.Ruler = template.HTML(picture.MovingColumn(words, v))
			}
			all = append(all, l)
		}
	}
	return all
}

// touches are the instances that a spot is part of, first those that judge the
// size itself.
func touches(b *book.Book, id book.SpotID) []book.Ref {
	refs := slices.Clone(b.Touches(id))
	other := func(r book.Ref) int {
		if r.Line.Judges == book.Size && r.Line.Terms[0].Feature == b.FeatureAt(id) {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(refs, func(a, b book.Ref) int { return other(a) - other(b) })
	return refs
}

// An answer says what became of a reading that was kept.
type answer struct {
	Entry int64    `json:"entry"`
	Again bool     `json:"again,omitempty"`
	Spot  string   `json:"spot"`
	Value string   `json:"value"` // as it was kept, in words
	Said  string   `json:"said"`  // how the size stands now
	Asks  []string `json:"asks,omitempty"`
}

// postReading enters one reading: from the bench's script as JSON fields of a
// form, or from the form itself.
func (s *Server) postReading(w http.ResponseWriter, r *http.Request) error {
	order := r.PathValue("order")
	known, _ := strconv.ParseInt(r.FormValue("known"), 10, 64)
	take := &job.Take{Row: reading.Row{
		Spot: value(r, "spot"), Value: value(r, "value"), Unit: value(r, "unit"), Setting: value(r, "setting"), Sense: value(r, "sense"),
		Item: value(r, "item"), Stage: value(r, "stage"), Step: value(r, "step"), Gauge: value(r, "gauge"),
		Temperature: value(r, "temperature"), By: value(r, "read_by"), Note: value(r, "note"),
	}, Known: known}
	who := s.who(r)
	json := r.Header.Get("Accept") == "application/json"
	if take.By == who.Handle {
		take.By = "" // who writes reads too
	}
	row := take.Row
	if !json && !exact(take.Value) { // the setting stands in the form from the last spot
		take.Setting, take.Unit, take.Sense = "", "", ""
	}
	if made := value(r, "made"); made != "" {
		at, err := time.Parse(time.RFC3339, made)
		if err != nil {
			return record.Refuse("made", "send it as 2026-11-25T14:03:09.120Z", "%q is not a time", made)
		}
		who.Made = at
	}
	done, err := s.Shop().Enter(r.Context(), who, order, shop.Request{ID: value(r, "id"), Request: take})
	if err != nil {
		var refusal *record.Refusal
		var faults fault.List
		if json || !errors.As(err, &refusal) && !errors.As(err, &faults) {
			return err
		}
		body, j, wrong := s.bench(r, take.Spot)
		if wrong != nil {
			return err
		}
		_, body.Problem = said(err)
		body.Value, body.Kept, body.Called = take.Value, row, nil
		p := s.about(j, body.Name, "bench")
		p.Bench = true
		return s.show(w, r, http.StatusUnprocessableEntity, "bench", p, body)
	}
	s.putBeside(r, &row)
	j, err := s.stands(r.Context(), order)
	if err != nil {
		return err
	}
	if !json {
		id, _ := j.Book.Spot(take.Spot)
		by, part := s.route(r), ""
		if by == "part" {
			part = j.Book.FeatureAt(id).Part.Key
		}
		rt := routeOf(j, by, part, id)
		next := take.Spot
		if s := after(j, rt); s != nil {
			next = s.Spot
		}
		http.Redirect(w, r, orderPath(order)+"/bench?spot="+next, http.StatusSeeOther)
		return nil
	}
	return writeJSON(w, answerOf(j, take.Spot, done))
}

// answerOf says what became of a reading.
func answerOf(j *job.Judged, spot string, done shop.Done) answer {
	a := answer{Entry: done.From, Again: done.Again, Spot: spot}
	for i := range j.State.Readings {
		if t := &j.State.Readings[i]; t.Seq == done.From {
			a.Value = t.Value
		}
	}
	words := judge.Words{Book: j.Book, From: "entry"}
	id, _ := j.Book.Spot(spot)
	for _, ref := range touches(j.Book, id) {
		for i := range j.Verdicts {
			v := &j.Verdicts[i]
			if v.Line != ref.Line || v.At != ref.At {
				continue
			}
			if a.Said == "" {
				a.Said = words.Name(v) + ": " + words.Standing(v)
			}
			for _, ask := range v.Asks {
				if ask.Kind == judge.Settle && ask.Spot != id {
					continue // it was asked when that spot was read
				}
				text := words.Ask(v, ask, j.Readings.At)
				if ask.Kind != judge.Which && !slices.Contains(a.Asks, text) {
					a.Asks = append(a.Asks, text)
				}
			}
		}
	}
	return a
}

func writeJSON(w http.ResponseWriter, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(data)
	return nil
}

func (s *Server) postStrike(w http.ResponseWriter, r *http.Request) error {
	entry, err := strconv.ParseInt(r.FormValue("entry"), 10, 64)
	if err != nil {
		return record.Refuse("entry", "choose it in the log", "%q is not an entry", r.FormValue("entry"))
	}
	why := reason(r)
	if why == "" {
		return record.Refuse("why", "pick a reason or type one", "a strike needs a reason")
	}
	if spot := value(r, "settles"); spot != "" {
		j, err := s.stands(r.Context(), r.PathValue("order"))
		if err == nil {
			err = stillOpen(j, spot)
		}
		if err != nil {
			return err
		}
	}
	_, err = s.Shop().Enter(r.Context(), s.who(r), r.PathValue("order"), shop.Request{ID: value(r, "id"), Request: &job.StrikeReading{Entry: entry, Why: why}})
	if err != nil {
		return err
	}
	return s.goOn(w, r, "/log")
}

func (s *Server) postSkip(w http.ResponseWriter, r *http.Request) error {
	_, err := s.Shop().Enter(r.Context(), s.who(r), r.PathValue("order"), shop.Request{ID: value(r, "id"), Request: &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: value(r, "spot"), Why: value(r, "why")}}})
	if err != nil {
		return err
	}
	return s.goOn(w, r, "/bench")
}

func (s *Server) postCondition(w http.ResponseWriter, r *http.Request) error {
	_, err := s.Shop().Enter(r.Context(), s.who(r), r.PathValue("order"), shop.Request{Request: &job.StateCondition{ConditionStated: job.ConditionStated{Name: value(r, "name"), Word: value(r, "word")}}})
	if err != nil {
		return err
	}
	return s.goOn(w, r, "")
}

func (s *Server) postNote(w http.ResponseWriter, r *http.Request) error {
	text := strings.TrimSpace(strings.ReplaceAll(r.FormValue("text"), "\r\n", "\n"))
	_, err := s.Shop().Enter(r.Context(), s.who(r), r.PathValue("order"), shop.Request{Request: &job.WriteNote{NoteWritten: job.NoteWritten{Text: text, Spot: value(r, "spot")}}})
	if err != nil {
		return err
	}
	return s.goOn(w, r, "/log")
}

// goOn answers what was entered: the script with its word, a form with the page
// that follows.
func (s *Server) goOn(w http.ResponseWriter, r *http.Request, place string) error {
	if r.Header.Get("Accept") == "application/json" {
		return writeJSON(w, struct{}{})
	}
	to := orderPath(r.PathValue("order")) + place
	if back := r.FormValue("back"); back != "" {
		to = inside(back)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}
