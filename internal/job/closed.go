package job

import (
	"fmt"

	"tenths/internal/judge"
	"tenths/internal/record"
)

// InspectionClosed says that everything the book asks for is measured, settled
// and signed. What is beyond its limits is found, and not yet mended.
type InspectionClosed struct {
	Statement string `json:"statement"`
	Verdicts  string `json:"verdicts"` // SHA-256 of all verdicts
	Program   string `json:"program"`
}

// Kind is inspection-closed.
func (*InspectionClosed) Kind() string { return "inspection-closed" }

func (f *InspectionClosed) apply(s *State, e *Entry) {
	m := mark(e)
	s.Closed = &m
}

// Close asks for the inspection to be closed. Who asks has given their password
// again, and has read the statement.
type Close struct{ Statement, Program string }

func (r *Close) decide(s *State, k Known) ([]Fact, error) {
	f, err := s.Judge(k.Book).Close(k, r.Program)
	if err != nil {
		return nil, err
	}
	if f.Statement != r.Statement {
		return nil, record.Refuse("statement", "read it again, then sign", "what you would sign has changed since you read it")
	}
	return []Fact{f}, nil
}

// Close returns what a person would sign to close the inspection, or why they
// can't.
func (j *Judged) Close(k Known, program string) (*InspectionClosed, error) {
	if err := record.Known("the job", j.State.Unknown); err != nil {
		return nil, err
	}
	if err := certificated(k); err != nil {
		return nil, err
	}
	if blocks := j.Blocks(); len(blocks) > 0 {
		return nil, record.Refuse("blocked", "tenths job show has the list", "%s can't be closed yet, the first because %s: %s", plural(len(blocks), "part"), blocks[0].Step, blocks[0].What)
	}
	if k.Shop.Policy.TwoPeople {
		// It may have been set since.
		for _, p := range j.parts() {
			performed, _ := j.signed(p.Key, Performed)
			if inspected, _ := j.signed(p.Key, Inspected); performed.By == inspected.By {
				return nil, record.Refuse("two-people", "somebody else must inspect it", "%s signed the %s as performed and as inspected", k.Shop.People[performed.By].Name, p.Name)
			}
		}
	}
	about, digest := &j.State.About, judge.Digest(j.Verdicts, j.Readings.At)
	person := k.Shop.People[k.By]
	return &InspectionClosed{
		Verdicts: digest, Program: program,
		Statement: fmt.Sprintf("I, %s, close the dimensional inspection of engine %s, serial %s, work order %s. By %s, edition %.16s, it found: %s. The verdicts have the SHA-256 %s, by %s. What is beyond its limits must be reworked or replaced; this approves nothing for return to service.",
			person.String(), about.Model, about.Serial, about.Order, j.Book.Manual.String(), j.State.Edition, tally(j.Verdicts), digest, program),
	}, nil
}

// InspectionReopened says why an inspection that was closed goes on.
type InspectionReopened struct {
	Why string `json:"why"`
}

// Kind is inspection-reopened.
func (*InspectionReopened) Kind() string { return "inspection-reopened" }

func (f *InspectionReopened) apply(s *State, _ *Entry) { s.Closed = nil }

// Reopen asks for the inspection to be reopened.
type Reopen struct{ InspectionReopened }

func (r *Reopen) decide(s *State, _ Known) ([]Fact, error) {
	if s.Closed == nil {
		return nil, record.Refuse("open", "", "the inspection is not closed")
	}
	return []Fact{&r.InspectionReopened}, record.Line("the reason", r.Why, record.Long, true)
}
