package shoplog

import (
	"time"

	"tenths/internal/record"
)

// JobNumbered gives a job its work-order number, before its own log begins.
type JobNumbered struct {
	Job   string `json:"job"` // its id
	Order string `json:"order"`
}

// Kind is job-numbered.
func (*JobNumbered) Kind() string { return "job-numbered" }

func (f *JobNumbered) stands(s *State, _ time.Time) error {
	if j, ok := s.Jobs[f.Order]; ok {
		return record.Refuse("order", "look at it with tenths job show, or use the number of another work order", "work order %s was opened by %s", f.Order, j.By)
	}
	if order, ok := s.Orders[f.Job]; ok {
		return record.Refuse("job", "", "job %q has the work order %s already", f.Job, order)
	}
	return record.First(record.Line("the job", f.Job, record.Short, true), record.Line("the work-order number", f.Order, 40, true))
}

func (f *JobNumbered) apply(s *State, e *Entry) {
	s.Jobs[f.Order] = Job{ID: f.Job, Order: f.Order, By: e.By}
	s.Orders[f.Job] = f.Order
}

// JobSealed echoes the seal of a job's log: a job that is dropped or cut short
// later shows by it.
type JobSealed struct {
	Job  string `json:"job"`
	Size int64  `json:"size"`
	Root string `json:"root"`
	Seal string `json:"seal"` // the signed note
}

// Kind is job-sealed.
func (*JobSealed) Kind() string { return "job-sealed" }

func (f *JobSealed) stands(s *State, _ time.Time) error {
	j, ok := s.Jobs[s.Orders[f.Job]]
	if !ok {
		return record.Refuse("job", "", "there is no job %q", f.Job)
	}
	if f.Size < 1 {
		return record.Refuse("sealed", "", "%d is not a size to be sealed", f.Size)
	}
	if n := len(j.Seals); n > 0 && j.Seals[n-1].Size >= f.Size {
		return record.Refuse("sealed", "", "the job is sealed already, with %d entries", j.Seals[n-1].Size)
	}
	return record.Line("the root", f.Root, record.Short, true)
}

func (f *JobSealed) apply(s *State, _ *Entry) {
	j := s.Jobs[s.Orders[f.Job]]
	j.Seals = append(j.Seals, *f)
	s.Jobs[j.Order] = j
}
