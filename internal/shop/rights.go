package shop

import (
	"slices"
	"strings"
	"time"

	"tenths/internal/job"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// A right is what a role may do. This is the one place where rights are
// checked, for every way in.
type right struct {
	what  string // in words, behind "may not"
	roles []string
	whole bool // only by who knows everything that the shop's log says
}

var (
	anybody    = shoplog.Roles
	workers    = []string{shoplog.Mechanic, shoplog.Inspector, shoplog.Manager}
	inspectors = []string{shoplog.Inspector}
	managers   = []string{shoplog.Manager}
	leaders    = []string{shoplog.Inspector, shoplog.Manager}
)

// ofJob returns the right that a request to a job needs.
func ofJob(r job.Request) right {
	switch r := r.(type) {
	case *job.Open:
		return right{"open a job", leaders, false}
	case *job.Take:
		return right{"enter a reading", anybody, false}
	case *job.SkipSpot:
		return right{"skip a spot", anybody, false}
	case *job.WriteNote:
		return right{"write a note", anybody, false}
	case *job.StrikeReading:
		return right{"strike a reading", workers, false}
	case *job.RegisterItem:
		return right{"register an item", workers, false}
	case *job.Fit:
		return right{"fit or remove an item", workers, false}
	case *job.ReturnFromRework:
		return right{"enter a return from rework", workers, false}
	case *job.StateCondition:
		return right{"state a condition", workers, false}
	case *job.HandOver:
		return right{"hand a job over", workers, true}
	case *job.SignStep:
		if r.As == job.Inspected {
			return right{"sign a step as inspected", inspectors, true}
		}
		return right{"sign a step as performed", workers, true}
	case *job.ChangeEdition:
		return right{"change the edition that a job is judged by", leaders, false}
	case *job.Close:
		return right{"close the inspection", inspectors, true}
	case *job.Reopen:
		return right{"reopen the inspection", inspectors, false}
	}
	return right{"do this", nil, false}
}

// ofShop returns the right that a fact of the shop's log needs.
func ofShop(f shoplog.Fact) right {
	switch f.(type) {
	case *shoplog.PersonAdded, *shoplog.PersonChanged:
		return right{"say who is of the shop", managers, true}
	case *shoplog.PolicySet:
		return right{"set the policy", managers, true}
	case *shoplog.EditionAdopted:
		return right{"adopt an edition of a book", managers, true}
	case *shoplog.JobNumbered:
		return right{"open a job", leaders, false}
	case *shoplog.JobSealed:
		return right{"seal a job", workers, false}
	}
	return right{"do this", nil, false}
}

// MayAsk tells whether a person may ask this of a job today: for what a page shows;
// asking is refused by itself.
func MayAsk(s *shoplog.State, handle string, r job.Request, now time.Time) bool {
	return mayJob(s, handle, r, now) == nil
}

// MayState tells whether a person may enter this of the shop today.
func MayState(s *shoplog.State, handle string, f shoplog.Fact, now time.Time) bool {
	return may(s, handle, ofShop(f), now) == nil
}

// MayPrepare refuses who may not prepare a book: bring tables in, say what they
// hold, settle what can't be read for certain. Nothing of it counts before the
// book is adopted.
func MayPrepare(s *shoplog.State, handle string, now time.Time) error {
	return may(s, handle, right{"prepare a book", workers, false}, now)
}

// mayJob refuses who may not ask this of a job.
func mayJob(s *shoplog.State, handle string, r job.Request, now time.Time) error {
	if err := may(s, handle, ofJob(r), now); err != nil {
		return err
	}
	// An inspection is signed under the inspector's own certificate.
	if sign, ok := r.(*job.SignStep); ok && sign.As == job.Inspected && s.People[handle].Certificate == "" {
		return record.Refuse("certificate", "a manager enters it with tenths person change", "the record names no certificate of %s, and who inspects needs one", s.People[handle].Name)
	}
	return nil
}

// may refuses who may not do this. An entry of the shop's log that this version
// does not know may have given or taken rights: by what it can't read it neither
// signs nor changes whose rights are which. Measuring goes on.
func may(s *shoplog.State, handle string, need right, now time.Time) error {
	if need.whole {
		if err := record.Known("the shop's log", s.Unknown); err != nil {
			return err
		}
	}
	p, err := s.In(handle, now)
	if err != nil {
		return err
	}
	if !slices.Contains(need.roles, p.Role) {
		return record.Refuse("right", "ask "+either(need.roles), "%s, %s, may not %s", p.Name, p.Role, need.what)
	}
	return nil
}

func either(roles []string) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = "a " + r
		if strings.ContainsAny(r[:1], "aei") {
			words[i] = "an " + r
		}
	}
	if len(words) == 0 {
		return "nobody: it can't be entered so"
	}
	return strings.Join(words, " or ")
}
