package shoplog

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"tenths/internal/record"
)

// Roles of people, from the one who may least.
const (
	Apprentice = "apprentice" // takes readings under supervision, signs nothing
	Mechanic   = "mechanic"   // does the work and signs that it was performed
	Inspector  = "inspector"  // inspects and signs that it was inspected
	Manager    = "manager"    // runs the shop: people, policy, books, jobs
)

// Roles are all of them.
var Roles = []string{Apprentice, Mechanic, Inspector, Manager}

// PersonAdded says who somebody is. Whether they may do a thing is read off the
// role and the dates when they do it.
type PersonAdded struct {
	Handle      string `json:"handle"` // what entries name them by, for good
	Name        string `json:"name"`
	Role        string `json:"role"`
	Certificate string `json:"certificate,omitempty"` // its kind: mechanic, repairman, inspection authorization
	Number      string `json:"number,omitempty"`      // of the certificate
	Scope       string `json:"scope,omitempty"`       // ratings and limitations
	Since       string `json:"since"`                 // days, both in it; no Until: for now
	Until       string `json:"until,omitempty"`
}

// Kind is person-added.
func (*PersonAdded) Kind() string { return "person-added" }

var handlePattern = regexp.MustCompile(`^[a-z][a-z0-9-]{0,31}$`)

func (f *PersonAdded) check() error {
	switch {
	case !handlePattern.MatchString(f.Handle):
		return record.Refuse("handle", "a handle is short and in a–z, 0–9 and -, as kd", "%q is not a handle", f.Handle)
	case !slices.Contains(Roles, f.Role):
		return record.Refuse("role", "the roles are "+strings.Join(Roles, ", "), "there is no role %q", f.Role)
	case (f.Certificate == "") != (f.Number == ""):
		return record.Refuse("certificate", "give both, or neither", "a certificate has a kind and a number")
	case f.Scope != "" && f.Certificate == "":
		return record.Refuse("certificate", "give its kind and number too", "a scope is that of a certificate")
	case f.Since == "":
		return record.Refuse("date", "give the day with --since", "it does not say since when")
	}
	if err := record.First(record.Date("since", f.Since), record.Date("until", f.Until)); err != nil {
		return err
	}
	if f.Until != "" && f.Until < f.Since {
		return record.Refuse("date", "", "it ends on %s, before it begins on %s", f.Until, f.Since)
	}
	return record.First(
		record.Line("the name", f.Name, record.Short, true),
		record.Line("the certificate", f.Certificate, record.Short, false),
		record.Line("the certificate's number", f.Number, record.Short, false),
		record.Line("the scope", f.Scope, record.Long, false),
	)
}

func (f *PersonAdded) stands(s *State, _ time.Time) error {
	if p, ok := s.People[f.Handle]; ok {
		return record.Refuse("handle", "choose another handle; to say something else of them use tenths person change", "%s is %s already", f.Handle, p.Name)
	}
	return f.check()
}

func (f *PersonAdded) apply(s *State, e *Entry) { s.People[f.Handle] = Person{*f, e.Seq} }

// String names the person as a signature does: name, role and certificate.
func (f *PersonAdded) String() string {
	text := f.Name + ", " + f.Role
	if f.Certificate != "" {
		text += ", " + f.Certificate + " certificate " + f.Number
	}
	return text
}

// PersonChanged says everything of a person anew, and why.
type PersonChanged struct {
	PersonAdded
	Why string `json:"why"`
}

// Kind is person-changed.
func (*PersonChanged) Kind() string { return "person-changed" }

func (f *PersonChanged) stands(s *State, now time.Time) error {
	if _, ok := s.People[f.Handle]; !ok {
		return record.Refuse("person", "add them with tenths person add", "there is no person %q", f.Handle)
	}
	if err := record.First(f.check(), record.Line("the reason", f.Why, record.Long, true)); err != nil {
		return err
	}
	others := slices.DeleteFunc(s.Leaders(now), func(h string) bool { return h == f.Handle })
	if len(others) == 0 && !f.Leads(now) {
		return record.Refuse("last-manager", "make somebody else manager first, from today on and without an end", "nobody would be left who may run the shop today and from then on")
	}
	return nil
}

func (f *PersonChanged) apply(s *State, _ *Entry) {
	s.People[f.Handle] = Person{f.PersonAdded, s.People[f.Handle].Seq}
}
