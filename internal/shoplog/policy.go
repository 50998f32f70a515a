package shoplog

import (
	"time"

	"tenths/internal/record"
)

// PolicySet says how the shop works, whole: what is not set is off.
type PolicySet struct {
	TwoPeople bool   `json:"two_people"` // who performed a step may not be who inspects it
	Why       string `json:"why,omitempty"`
}

// Kind is policy-set.
func (*PolicySet) Kind() string { return "policy-set" }

func (f *PolicySet) stands(s *State, _ time.Time) error {
	if f.TwoPeople == s.Policy.TwoPeople {
		return record.Refuse("policy", "", "the policy is so already")
	}
	return record.Line("the reason", f.Why, record.Long, true)
}

func (f *PolicySet) apply(s *State, _ *Entry) { s.Policy = *f }
