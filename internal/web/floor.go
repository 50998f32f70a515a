package web

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"sync"
	"time"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
)

// judgedCache keeps how a job stands until its log grows: several pages, and
// every answer at the bench, ask for the same.
type judgedCache struct {
	mu   sync.Mutex
	jobs map[string]*cached
}

type cached struct {
	mu   sync.Mutex
	size int64
	job  *job.Judged
}

// kept is how many jobs the cache holds.
const kept = 50

// stands returns how a job stands.
func (s *Server) stands(ctx context.Context, order string) (*job.Judged, error) {
	state, err := s.Shop().Job(ctx, order)
	if err != nil {
		return nil, err
	}
	s.judged.mu.Lock()
	c, ok := s.judged.jobs[order]
	if !ok {
		if len(s.judged.jobs) >= kept {
			clear(s.judged.jobs)
		}
		c = &cached{}
		s.judged.jobs[order] = c
	}
	s.judged.mu.Unlock()
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job == nil || c.size < state.Size {
		b, err := s.Shop().Book(ctx, state.Edition)
		if err != nil {
			return nil, err
		}
		c.job, c.size = state.Judge(b), state.Size
	}
	return c.job, nil
}

// A floorRow is one engine on the floor.
type floorRow struct {
	shop.Summary
	Who     string // who entered something last
	Drawing any
	Beyond  []string // the first few
	Blocks  []job.Block
	More    int // blocks that are not shown
}

type floorBody struct {
	Rows     []floorRow
	MayOpen  bool
	Editions int
	Lead     string
}

// drawn is how many engines are drawn on the floor: beyond, a line each.
const drawn = 24

func (s *Server) getFloor(w http.ResponseWriter, r *http.Request) error {
	list, err := s.Shop().List(r.Context())
	if err != nil {
		return err
	}
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	body := floorBody{Editions: len(state.Editions)}
	body.MayOpen = shop.MayAsk(state, s.handle(r), &job.Open{}, time.Now())
	open, beyond := 0, 0
	for i, sum := range list {
		row := floorRow{Summary: sum, Who: name(state, sum.By)}
		if sum.Problem == "" {
			if !sum.Closed {
				open++
			}
			if sum.Progress.Beyond > 0 {
				beyond++
			}
		}
		if sum.Problem == "" && i < drawn {
			j, err := s.stands(r.Context(), sum.Order)
			if err != nil {
				return err
			}
			row.Drawing = smallEngine(j)
			row.Beyond = beyondOf(j, 3)
			row.Blocks = blocks(j)
			if row.More = len(row.Blocks) - 2; row.More > 0 {
				row.Blocks = row.Blocks[:2]
			}
		}
		body.Rows = append(body.Rows, row)
	}
	body.Lead = plural(open, "engine") + " open."
	switch {
	case beyond == 0 && open > 0:
		body.Lead += " Nothing beyond."
	case beyond == 1:
		body.Lead += " One stands beyond a limit."
	case beyond > 1:
		body.Lead += " " + plural(beyond, "engine") + " stand beyond a limit."
	}
	return s.show(w, r, http.StatusOK, "floor", page{Title: "Floor", Here: "floor"}, body)
}

// beyondOf names what is beyond, the first few, with what was found.
func beyondOf(j *job.Judged, most int) []string {
	words := judge.Words{Book: j.Book}
	var all []string
	for i := range j.Verdicts {
		if v := &j.Verdicts[i]; v.Grade == judge.Beyond && len(all) < most {
			all = append(all, words.Name(v))
		}
	}
	return all
}

// blocks says what keeps the inspection from being closed by the names of the
// parts, and of a line where there is one: other lines the engine's page has.
func blocks(j *job.Judged) []job.Block {
	all := j.Blocks()
	words := judge.Words{Book: j.Book}
	for i := range all {
		k := &all[i]
		undecided := slices.DeleteFunc(j.Of(k.Step), func(v judge.Verdict) bool { return v.Decided() })
		switch {
		case len(undecided) == 1:
			k.What = words.Name(&undecided[0]) + " is not decided"
		case len(undecided) > 1:
			k.What = plural(len(undecided), "line") + " are not decided"
		}
		if i := slices.IndexFunc(j.Book.Parts, func(p *book.Part) bool { return p.Key == k.Step && p.Name != "" }); i >= 0 {
			k.Step = j.Book.Parts[i].Name
		}
	}
	return all
}

// name is a person's, as they sign.
func name(state *shoplog.State, handle string) string {
	if p, ok := state.People[handle]; ok {
		return p.Name
	}
	return handle
}

// A newJob is the form that opens one.
type newJob struct {
	job.JobOpened
	Editions []pictured
	Problem  string
}

// A pictured edition is one with its engine drawn.
type pictured struct {
	shoplog.EditionAdopted
	Drawing template.HTML
}

// pictured draws the engine of each of the shop's editions.
func (s *Server) pictured(ctx context.Context, state *shoplog.State) ([]pictured, error) {
	var all []pictured
	for _, e := range editions(state) {
		b, err := s.Shop().Book(ctx, e.Edition)
		if err != nil {
			return nil, err
		}
		all = append(all, pictured{e, template.HTML(picture.Engine(b, nil, nil, true))})
	}
	return all, nil
}

func (s *Server) getNewJob(w http.ResponseWriter, r *http.Request) error {
	var open job.JobOpened
	if edition := r.FormValue("edition"); edition != "" {
		state, err := s.Shop().Record(r.Context())
		if err != nil {
			return err
		}
		if e, ok := state.Editions[edition]; ok {
			open.Edition, open.Model = e.Edition, e.Engine
		}
	}
	return s.newJobPage(w, r, http.StatusOK, newJob{JobOpened: open})
}

func (s *Server) newJobPage(w http.ResponseWriter, r *http.Request, code int, f newJob) error {
	state, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	if f.Editions, err = s.pictured(r.Context(), state); err != nil {
		return err
	}
	return s.show(w, r, code, "new-order", page{Title: "Open a work order", Here: "floor"}, f)
}

func (s *Server) postJob(w http.ResponseWriter, r *http.Request) error {
	f := newJob{JobOpened: job.JobOpened{
		Order: value(r, "order"), Model: value(r, "model"), Serial: value(r, "serial"),
		SinceNew: value(r, "since_new"), SinceOverhaul: value(r, "since_overhaul"), Reason: value(r, "reason"),
		Customer: value(r, "customer"), Edition: value(r, "edition"), Authority: value(r, "authority"), Limits: value(r, "limits"),
	}}
	if _, err := s.Shop().OpenJob(r.Context(), s.who(r), f.JobOpened); err != nil {
		var refusal *record.Refusal
		if !errors.As(err, &refusal) {
			return err
		}
		f.Problem = sentence(err.Error())
		return s.newJobPage(w, r, http.StatusUnprocessableEntity, f)
	}
	http.Redirect(w, r, orderPath(f.Order), http.StatusSeeOther)
	return nil
}

// ago says when, as people say it of the same day.
func ago(t time.Time) string {
	if now := time.Now(); now.Format(time.DateOnly) == t.Local().Format(time.DateOnly) {
		return t.Local().Format("15:04")
	}
	return t.Local().Format("2006-01-02 15:04")
}
