package job

import (
	"fmt"
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/judge"
	"tenths/internal/record"
)

// What a step is signed as.
const (
	Performed = "performed" // by who did the work
	Inspected = "inspected" // by who looked it over
)

// StepSigned is a person's signature under the measuring of one part: what they
// said, what the verdicts were, and by which program.
type StepSigned struct {
	Step      string `json:"step"`      // the part, by the book's key
	As        string `json:"as"`        // performed or inspected
	Statement string `json:"statement"` // in full, as it was read and signed
	Verdicts  string `json:"verdicts"`  // SHA-256 of the part's verdicts
	Program   string `json:"program"`   // its version: judging code changes
}

// Kind is step-signed.
func (*StepSigned) Kind() string { return "step-signed" }

// A Signature is a signature with the entry that it is in.
type Signature struct {
	StepSigned
	Mark
}

func (f *StepSigned) apply(s *State, e *Entry) { s.Signed = append(s.Signed, Signature{*f, mark(e)}) }

// SignStep asks for a step to be signed. Who asks has given their password
// again, and has read the statement that [State.Statement] made.
type SignStep struct {
	Step, As, Statement, Program string
}

func (r *SignStep) decide(s *State, k Known) ([]Fact, error) {
	j := s.Judge(k.Book)
	f, err := j.Sign(k, r.Step, r.As, r.Program)
	if err != nil {
		return nil, err
	}
	if f.Statement != r.Statement {
		return nil, record.Refuse("statement", "read it again, then sign", "what you would sign has changed since you read it")
	}
	return []Fact{f}, nil
}

// Sign returns the signature that a person would put under a step as it stands,
// or why they can't.
func (j *Judged) Sign(k Known, step, as, program string) (*StepSigned, error) {
	if err := record.Known("the job", j.State.Unknown); err != nil {
		return nil, err
	}
	part, err := partOf(j.Book, step)
	if err != nil {
		return nil, err
	}
	verdicts := j.Of(part.Key)
	if len(verdicts) == 0 {
		return nil, record.Refuse("step", "", "the book has no line of the %s", part.Name)
	}
	person := k.Shop.People[k.By]
	var did string
	switch as {
	case Performed:
		did = "measured"
	case Inspected:
		did = "inspected the measuring of"
		if _, ok := j.signed(step, Performed); !ok {
			return nil, record.Refuse("not-performed", "who measured it signs first, with --as performed", "nobody has signed the %s as performed, as it stands now", part.Name)
		}
	default:
		return nil, record.Refuse("as", "write "+Performed+" or "+Inspected, "%q is not what a step is signed as", as)
	}
	if k.Shop.Policy.TwoPeople {
		switch {
		case as == Inspected && j.signedBy(step, Performed, k.By):
			return nil, record.Refuse("two-people", "somebody else must inspect it", "%s performed it, and by the shop's policy may not inspect it", person.Name)
		case as == Performed && j.signedBy(step, Inspected, k.By):
			return nil, record.Refuse("two-people", "who else measured it signs", "%s inspected it, and by the shop's policy may not perform it", person.Name)
		}
	}
	if open := undecided(verdicts); open != "" {
		return nil, record.Refuse("open", "measure or settle it first: tenths job show has the list", "the %s can't be signed: %s", part.Name, open)
	}
	if j.signedBy(step, as, k.By) {
		return nil, record.Refuse("signed", "", "%s signed it so already", person.Name)
	}
	digest := judge.Digest(verdicts, j.Readings.At)
	about := &j.State.About
	return &StepSigned{
		Step: step, As: as, Verdicts: digest, Program: program,
		Statement: fmt.Sprintf("I, %s, %s the %s of engine %s, serial %s, work order %s, and found by %s, edition %.16s: %s. The verdicts have the SHA-256 %s, by %s. This is a record of measuring; it approves nothing for return to service.",
			person.String(), did, part.Name, about.Model, about.Serial, about.Order, j.Book.Manual.String(), j.State.Edition, tally(verdicts), digest, program),
	}, nil
}

// signed returns the last signature of a step that still stands: nothing has
// changed that its verdicts rest on.
func (j *Judged) signed(step, as string) (Signature, bool) {
	for _, sig := range slices.Backward(j.State.Signed) {
		if sig.Step == step && sig.As == as && j.Stands(&sig) {
			return sig, true
		}
	}
	return Signature{}, false
}

// signedBy tells whether a person's signature of a step stands.
func (j *Judged) signedBy(step, as, by string) bool {
	return slices.ContainsFunc(j.State.Signed, func(sig Signature) bool {
		return sig.Step == step && sig.As == as && sig.By == by && j.Stands(&sig)
	})
}

// Stands tells whether the verdicts are what was signed.
func (j *Judged) Stands(sig *Signature) bool {
	return sig.Verdicts == judge.Digest(j.Of(sig.Step), j.Readings.At)
}

// undecided says what is open among verdicts; "" where nothing is.
func undecided(verdicts []judge.Verdict) string {
	var ids []string
	for i := range verdicts {
		if v := &verdicts[i]; !v.Decided() {
			ids = append(ids, v.Line.ID(v.At))
		}
	}
	switch len(ids) {
	case 0:
		return ""
	case 1:
		return ids[0] + " is not decided"
	}
	const most = 3
	text := fmt.Sprintf("%d lines are not decided: ", len(ids)) + strings.Join(ids[:min(most, len(ids))], ", ")
	if len(ids) > most {
		text += fmt.Sprintf(" and %d more", len(ids)-most)
	}
	return text
}

// tally counts verdicts in words.
func tally(verdicts []judge.Verdict) string {
	var n [4]int
	ungraded := 0
	for i := range verdicts {
		if verdicts[i].Ungraded != "" {
			ungraded++
		} else {
			n[verdicts[i].Grade]++
		}
	}
	words := []string{plural(n[judge.New]+n[judge.Serviceable]+n[judge.Beyond]+n[judge.NoGrade], "line")}
	for _, g := range []judge.Grade{judge.New, judge.Serviceable, judge.Beyond} {
		words = append(words, fmt.Sprintf("%d %s", n[g], g))
	}
	if n[judge.NoGrade] > 0 {
		words = append(words, fmt.Sprintf("%d not decided", n[judge.NoGrade]))
	}
	if ungraded > 0 {
		words = append(words, fmt.Sprintf("%d more for reference", ungraded))
	}
	return strings.Join(words, ", ")
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// A Block is something that keeps the inspection from being closed.
type Block struct {
	Step string // the part, or Log
	What string
	Do   string
}

// Log is in place of a part's name where the job's log itself blocks.
const Log = "log"

// Blocks returns what keeps the inspection from being closed.
func (j *Judged) Blocks() []Block {
	var all []Block
	if text := record.NotKnown("the job", j.State.Unknown); text != "" {
		all = append(all, Block{Log, text, record.Newer})
	}
	for _, p := range j.parts() {
		verdicts := j.Of(p.Key)
		if open := undecided(verdicts); open != "" {
			all = append(all, Block{p.Key, open, "measure it, or settle what is asked"})
			continue
		}
		for _, as := range []string{Performed, Inspected} {
			if _, ok := j.signed(p.Key, as); !ok {
				all = append(all, Block{p.Key, "not signed as " + as + ", as it stands now", "tenths job sign --as " + as})
				break
			}
		}
	}
	return all
}

// parts returns the parts that have lines for this engine.
func (j *Judged) parts() []*book.Part {
	var all []*book.Part
	for _, p := range j.Book.Parts {
		if slices.ContainsFunc(j.Verdicts, func(v judge.Verdict) bool { return v.Line.Part() == p }) {
			all = append(all, p)
		}
	}
	return all
}

// certificated refuses who has no certificate.
func certificated(k Known) error {
	if p := k.Shop.People[k.By]; p.Certificate == "" {
		return record.Refuse("certificate", "a manager enters it with tenths person change", "the record names no certificate of %s, and this wants one", p.Name)
	}
	return nil
}
