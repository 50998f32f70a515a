package job

import (
	"regexp"

	"tenths/internal/record"
)

// What limits were agreed to with the customer.
const (
	ServiceLimits = "service"
	NewLimits     = "new"
)

// JobOpened begins a job's log.
type JobOpened struct {
	Order         string `json:"order"` // the work-order number
	Model         string `json:"model"`
	Serial        string `json:"serial"`
	SinceNew      string `json:"since_new,omitempty"`      // hours in service, as the logbook has them
	SinceOverhaul string `json:"since_overhaul,omitempty"` // the same, since the last overhaul
	Reason        string `json:"reason"`
	Customer      string `json:"customer"`
	Edition       string `json:"edition"`   // of the book that it is judged by
	Authority     string `json:"authority"` // under which the shop does this work
	Limits        string `json:"limits"`    // agreed to: service or new
}

// Kind is job-opened.
func (*JobOpened) Kind() string { return "job-opened" }

func (f *JobOpened) apply(s *State, e *Entry) {
	s.About, s.Edition, s.Opened, s.Holder = *f, f.Edition, mark(e), e.By
	s.Touched = e.Seq
}

// Open asks for a job to be opened.
type Open struct{ JobOpened }

var hoursPattern = regexp.MustCompile(`^\d{1,6}([.,:]\d{1,2})?$`)

func (r *Open) decide(s *State, k Known) ([]Fact, error) {
	f := &r.JobOpened
	if s.Size > 0 {
		return nil, record.Refuse("order", "look at it with tenths job show", "the job is open already, since entry 1 by %s", s.Opened.By)
	}
	if f.Limits != ServiceLimits && f.Limits != NewLimits {
		return nil, record.Refuse("limits", "say what was agreed to: "+ServiceLimits+" limits, or "+NewLimits, "%q is neither", f.Limits)
	}
	if _, ok := k.Shop.Editions[f.Edition]; !ok {
		return nil, record.Refuse("edition", "a manager adopts it with tenths shop adopt", "the shop has not adopted that edition of the book")
	}
	for _, hours := range []string{f.SinceNew, f.SinceOverhaul} {
		if hours != "" && !hoursPattern.MatchString(hours) {
			return nil, record.Refuse("hours", "write them as the logbook does, as 1873.4 or 1873:24", "%q are not hours", hours)
		}
	}
	return []Fact{f}, record.First(
		record.Line("the work-order number", f.Order, 40, true),
		record.Line("the engine's model", f.Model, record.Short, true),
		record.Line("the engine's serial number", f.Serial, record.Short, true),
		record.Line("the reason", f.Reason, record.Long, true),
		record.Line("the customer", f.Customer, record.Long, true),
		record.Line("the authority", f.Authority, record.Long, true),
	)
}
