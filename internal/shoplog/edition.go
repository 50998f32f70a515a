package shoplog

import (
	"regexp"
	"time"

	"tenths/internal/record"
)

// EditionAdopted says that the shop works by one exact text of a book from now
// on, with the amendments that are in it.
type EditionAdopted struct {
	Edition    string   `json:"edition"` // SHA-256 of the book's text, in hexadecimal
	Engine     string   `json:"engine"`
	Manual     string   `json:"manual"` // as the book names it
	Amendments []string `json:"amendments,omitempty"`
}

// Kind is edition-adopted.
func (*EditionAdopted) Kind() string { return "edition-adopted" }

var editionPattern = regexp.MustCompile(`^[0-9a-f]{64}$`)

func (f *EditionAdopted) stands(s *State, _ time.Time) error {
	if _, ok := s.Editions[f.Edition]; ok {
		return record.Refuse("adopted", "", "that edition is adopted already: %s, %s", f.Engine, f.Manual)
	}
	if !editionPattern.MatchString(f.Edition) {
		return record.Refuse("edition", "it is the SHA-256 of the book's text, in small hexadecimal", "%q is not an edition", f.Edition)
	}
	errs := []error{record.Line("the engine", f.Engine, record.Long, true), record.Line("the manual", f.Manual, record.Long, true)}
	for _, a := range f.Amendments {
		errs = append(errs, record.Line("an amendment", a, record.Long, true))
	}
	return record.First(errs...)
}

func (f *EditionAdopted) apply(s *State, _ *Entry) { s.Editions[f.Edition] = *f }
