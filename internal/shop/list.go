package shop

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"runtime"
	"slices"
	"sync"

	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// A Summary is what a list of jobs shows of one.
type Summary struct {
	Order    string      `json:"order"`
	Model    string      `json:"model"`
	Serial   string      `json:"serial"`
	Customer string      `json:"customer"`
	Holder   string      `json:"holder"`
	By       string      `json:"by"`   // who entered something last
	Last     ledger.Time `json:"last"` // and when
	Entries  int64       `json:"entries"`
	job.Progress
	Problem string `json:"-"` // why it can't be shown; empty: it can
}

// List returns a summary of every job, by work-order number. What was derived
// of a log that has not grown since is taken; the others are folded, and kept
// for the next time.
func (s *Shop) List(ctx context.Context) ([]Summary, error) {
	state, err := s.Record(ctx)
	if err != nil {
		return nil, err
	}
	sizes, err := s.store.Logs(ctx)
	if err != nil {
		return nil, err
	}
	code := s.options.Program + " summary"
	rows, err := s.store.Derived(ctx, code)
	if err != nil {
		return nil, err
	}
	known := make(map[store.Log]*store.Derived, len(rows))
	for i := range rows {
		known[rows[i].Log] = &rows[i]
	}
	orders := slices.Sorted(maps.Keys(state.Jobs))
	all := make([]Summary, len(orders))
	var stale []int
	for i, order := range orders {
		log := store.Log(jobLog(state.Jobs[order].ID))
		all[i].Order = order
		if d := known[log]; d == nil || d.Size != sizes[log] || json.Unmarshal(d.Bytes, &all[i]) != nil {
			stale = append(stale, i)
		}
	}
	if len(stale) == 0 {
		return all, nil
	}
	made := make([]store.Derived, len(stale))
	var wait sync.WaitGroup
	next := make(chan int)
	for range min(len(stale), runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for n := range next {
				i := stale[n]
				log := jobLog(state.Jobs[orders[i]].ID)
				sum, size, err := s.summary(ctx, state, orders[i], log)
				if err != nil {
					all[i] = Summary{Order: orders[i], Problem: err.Error()}
					continue
				}
				all[i] = sum
				if bytes, err := json.Marshal(sum); err == nil {
					made[n] = store.Derived{Log: store.Log(log), Size: size, Bytes: bytes}
				}
			}
		})
	}
	for n := range stale {
		next <- n
	}
	close(next)
	wait.Wait()
	made = slices.DeleteFunc(made, func(d store.Derived) bool { return d.Log == "" })
	// They are a help and no more: a record that can't be written can be read.
	if err := s.store.PutDerived(ctx, code, made); err != nil && !errors.Is(err, store.ErrReadOnly) && !errors.Is(err, store.ErrFull) {
		return nil, err
	}
	return all, nil
}

// summary folds a job's log, without keeping the state.
func (s *Shop) summary(ctx context.Context, shop *shoplog.State, order, log string) (Summary, int64, error) {
	to := &aheadJob{state: job.New(log), grown: true}
	if _, err := load(ctx, s.store, log, to, false, job.Kinds, func() []Sealed { return sealsOf(shop, log) }); err != nil {
		return Summary{}, 0, err
	}
	state := to.state
	if state.Size == 0 {
		return Summary{Order: order, Problem: "it has its number, and nothing was entered under it"}, 0, nil
	}
	b, err := s.Book(ctx, state.Edition)
	if err != nil {
		return Summary{}, 0, err
	}
	about := &state.About
	return Summary{
		Order: order, Model: about.Model, Serial: about.Serial, Customer: about.Customer, Holder: state.Holder,
		By: state.Last.By, Last: state.Last.Recorded, Entries: state.Size, Progress: state.Judge(b).Progress(),
	}, state.Size, nil
}
