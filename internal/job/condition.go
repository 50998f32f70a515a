package job

import (
	"cmp"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/record"
)

// ConditionStated says how something is that lines of the book depend on:
// whether the bushings are new or used, which part number is in. What was
// stated last holds.
type ConditionStated struct {
	Name string `json:"name"`
	Word string `json:"word"`
}

// Kind is condition-stated.
func (*ConditionStated) Kind() string { return "condition-stated" }

func (f *ConditionStated) apply(s *State, e *Entry) {
	s.own()
	s.Given[f.Name] = f.Word
	s.Touched = e.Seq
}

// StateCondition asks for a condition to be stated.
type StateCondition struct{ ConditionStated }

func (r *StateCondition) decide(s *State, k Known) ([]Fact, error) {
	n := slices.IndexFunc(k.Book.Conditions, func(c book.Condition) bool {
		return c.Name == r.Name && slices.Contains(c.Words, r.Word)
	})
	if n < 0 {
		var all []string
		for _, c := range k.Book.Conditions {
			all = append(all, c.Name+" ("+strings.Join(c.Words, ", ")+")")
		}
		return nil, record.Refuse("condition", "the book's conditions are "+cmp.Or(strings.Join(all, ", "), "none"), "the book has no condition %q that can be %q", r.Name, r.Word)
	}
	if s.Given[r.Name] == r.Word {
		return nil, record.Refuse("condition", "", "%s=%s is stated already", r.Name, r.Word)
	}
	return []Fact{&r.ConditionStated}, nil
}
