package shop

import (
	"context"
	"errors"
	"slices"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// Enter enters requests to the job under a work order: all of them in one
// commit, or none. Where one of several can't be entered, the error is an
// [OneOfError].
func (s *Shop) Enter(ctx context.Context, by Who, order string, requests ...Request) (Done, error) {
	for _, r := range requests {
		switch r.Request.(type) {
		case *job.SignStep, *job.Close:
			return Done{}, record.Refuse("password", "give it", "a signature wants the password again")
		case *job.Open:
			return Done{}, record.Refuse("open", "", "a job is opened by itself")
		}
	}
	id, err := s.jobID(ctx, order)
	if err != nil {
		return Done{}, err
	}
	log := jobLog(id)
	if b := s.known(log); b != nil {
		for _, r := range requests {
			if take, ok := r.Request.(*job.Take); ok {
				take.Prepare(b)
			}
		}
	}
	return s.enter(ctx, &ask{by: by, log: log, requests: slices.Clone(requests)})
}

// OpenJob gives a job its number and opens its log. The number is in the
// shop's log first: where that is as far as it came, opening it again goes on.
func (s *Shop) OpenJob(ctx context.Context, by Who, open job.JobOpened) (Done, error) {
	state, err := s.Record(ctx)
	if err != nil {
		return Done{}, err
	}
	if by.ID, err = idOf(by.ID); err != nil {
		return Done{}, err
	}
	request := &job.Open{JobOpened: open}
	j, numbered := state.Jobs[open.Order]
	if !numbered {
		// It is decided before the number is given away.
		now := s.options.Now()
		if err := mayJob(state, by.Handle, request, now); err != nil {
			return Done{}, err
		}
		if _, err := job.Decide(job.New(""), job.Known{By: by.Handle, Now: now, Shop: state}, request); err != nil {
			return Done{}, err
		}
		j = shoplog.Job{ID: ledger.ID("tenths job", state.ID, open.Order), Order: open.Order}
		number := by
		number.ID = ledger.ID("tenths number", by.ID)
		if _, err := s.enter(ctx, &ask{by: number, log: shoplog.Log, facts: []shoplog.Fact{&shoplog.JobNumbered{Job: j.ID, Order: j.Order}}}); err != nil {
			return Done{}, err
		}
	}
	return s.enter(ctx, &ask{by: by, log: jobLog(j.ID), requests: []Request{{by.ID, request}}})
}

// Signature returns what a person would sign under a step, or to close the
// inspection where there is no step: its statement is to be read, and handed
// back with the password.
func (s *Shop) Signature(ctx context.Context, by Who, order, step, as string) (job.Request, string, error) {
	j, known, err := s.judged(ctx, by, order)
	if err != nil {
		return nil, "", err
	}
	var r job.Request
	if step == "" {
		r = &job.Close{Program: s.options.Program}
	} else {
		r = &job.SignStep{Step: step, As: as, Program: s.options.Program}
	}
	if err := mayJob(known.Shop, by.Handle, r, known.Now); err != nil {
		return nil, "", err
	}
	if err := job.MayGoOn(j.State, r); err != nil {
		return nil, "", err
	}
	switch r := r.(type) {
	case *job.Close:
		f, err := j.Close(known, r.Program)
		if err != nil {
			return nil, "", err
		}
		r.Statement = f.Statement
		return r, f.Statement, nil
	case *job.SignStep:
		f, err := j.Sign(known, step, as, r.Program)
		if err != nil {
			return nil, "", err
		}
		r.Statement = f.Statement
		return r, f.Statement, nil
	}
	panic("BUG: neither a step nor a close")
}

// Sign enters a signature that [Shop.Signature] made, by the person's password,
// and seals the job's log.
func (s *Shop) Sign(ctx context.Context, by Who, password, order string, r job.Request) (Done, Sealed, error) {
	if err := s.CheckPassword(ctx, by.Handle, password); err != nil {
		return Done{}, Sealed{}, err
	}
	id, err := s.jobID(ctx, order)
	if err != nil {
		return Done{}, Sealed{}, err
	}
	done, err := s.enter(ctx, &ask{by: by, log: jobLog(id), requests: []Request{{by.ID, r}}})
	if err != nil {
		return done, Sealed{}, err
	}
	sealed, err := s.Seal(ctx, by, order)
	if err != nil {
		err = &UnsealedError{err}
	}
	return done, sealed, err
}

// An UnsealedError says that something was entered, and that the log could not
// be sealed behind it.
type UnsealedError struct{ Err error }

func (e *UnsealedError) Error() string {
	return "it is signed and recorded, but could not be sealed: " + e.Err.Error() + "; seal it with tenths job seal"
}

// Unwrap returns why.
func (e *UnsealedError) Unwrap() error { return e.Err }

// Judged returns a job's readings held against its book.
func (s *Shop) Judged(ctx context.Context, order string) (*job.Judged, error) {
	state, err := s.Job(ctx, order)
	if err != nil {
		return nil, err
	}
	b, err := s.Book(ctx, state.Edition)
	if err != nil {
		return nil, err
	}
	return state.Judge(b), nil
}

func (s *Shop) judged(ctx context.Context, by Who, order string) (*job.Judged, job.Known, error) {
	j, err := s.Judged(ctx, order)
	if err != nil {
		return nil, job.Known{}, err
	}
	state, err := s.Record(ctx)
	return j, job.Known{By: by.Handle, Now: s.options.Now(), Book: j.Book, Shop: state}, err
}

// State enters a fact of the shop: people, policy.
func (s *Shop) State(ctx context.Context, by Who, f shoplog.Fact) (Done, error) {
	return s.enter(ctx, &ask{by: by, log: shoplog.Log, facts: []shoplog.Fact{f}})
}

// Adopt adopts the edition that a book's text is. It is kept whole.
func (s *Shop) Adopt(ctx context.Context, by Who, name string, text []byte) (shoplog.EditionAdopted, error) {
	b, err := book.Load(name, text)
	if err != nil {
		return shoplog.EditionAdopted{}, err
	}
	state, err := s.Record(ctx)
	if err != nil {
		return shoplog.EditionAdopted{}, err
	}
	f := shoplog.EditionAdopted{Engine: b.Engine, Manual: b.Manual.String()}
	for _, a := range b.Amendments {
		f.Amendments = append(f.Amendments, a.String())
	}
	if err := may(state, by.Handle, ofShop(&f), s.options.Now()); err != nil {
		return f, err
	}
	if f.Manual == "" {
		return f, record.Refuse("empty", "give the book a line as manual: {title: Overhaul manual, number: OM-1, revision: \"2\"}, with your manual's", "the book does not say which manual it was entered from")
	}
	// The text is there before anything names it.
	if f.Edition, err = s.store.PutBlob(ctx, text); err != nil {
		return f, err
	}
	_, err = s.State(ctx, by, &f)
	return f, err
}

// Alters lists what judging a job by another edition would alter, and returns
// the request that does it once the list is accepted.
func (s *Shop) Alters(ctx context.Context, order, edition string) ([]string, *job.ChangeEdition, error) {
	state, err := s.Job(ctx, order)
	if err != nil {
		return nil, nil, err
	}
	from, err := s.Book(ctx, state.Edition)
	if err != nil {
		return nil, nil, err
	}
	to, err := s.Book(ctx, edition)
	if errors.Is(err, store.ErrNotFound) {
		err = record.Refuse("edition", "a manager adopts it with tenths shop adopt", "the shop has not adopted that edition of the book")
	}
	if err != nil {
		return nil, nil, err
	}
	list := state.Alters(from, to)
	return list, &job.ChangeEdition{Edition: edition, Book: to, Accept: job.ListDigest(list)}, nil
}
