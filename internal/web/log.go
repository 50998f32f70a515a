package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/record"
	"tenths/internal/shoplog"
)

// A logRow is an entry, in words.
type logRow struct {
	Seq           int64
	At            ledger.Time
	Made          ledger.Time
	Late          bool // it was made a minute or more before it was recorded
	Back          bool // the writer's clock went back before it
	By, Kind      string
	Words         string
	Reading       *logReading // of a reading, in place of words
	StruckBy      int64
	StruckWhy     string
	StruckReading bool // it may be struck
}

// A logReading is what was read, and where.
type logReading struct {
	Link  spotLink
	Value string
	How   string
}

type logBody struct {
	Rows []logRow
	AsOf int64
	Size int64
	job.Progress
	Beyond []string
}

func (s *Server) getLog(w http.ResponseWriter, r *http.Request) error {
	order := r.PathValue("order")
	entries, err := s.Shop().Entries(r.Context(), order)
	if err != nil {
		return err
	}
	size := int64(len(entries))
	body := logBody{Size: size, AsOf: size}
	if text := r.FormValue("as-of"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 || n > size {
			return record.Refuse("when", "", "the job has entries 1 to %d, and %q is none of them", size, text)
		}
		body.AsOf = n
	}
	state := job.Fold(entries[0].Log, entries[:body.AsOf])
	b, err := s.Shop().Book(r.Context(), state.Edition)
	if err != nil {
		return err
	}
	people, err := s.Shop().Record(r.Context())
	if err != nil {
		return err
	}
	j := state.Judge(b)
	body.Progress, body.Beyond = j.Progress(), beyondOf(j, 8)
	struck := state.Struck()
	for i := range entries[:body.AsOf] {
		e := &entries[i]
		row := logRow{
			Seq: e.Seq, At: e.Recorded, Made: e.Made, By: name(people, e.By), Kind: e.Kind, Words: state.Words(e),
			Back: slices.Contains(state.Jumps, e.Seq),
			Late: e.Recorded.Time().Sub(e.Made.Time()).Minutes() > 1,
		}
		if f, ok := e.What.(*job.ReadingTaken); ok {
			row.Reading = readingOf(b, people, f)
			row.StruckReading = body.AsOf == size
		}
		if by := struck[e.Seq]; by != nil {
			row.StruckBy, row.StruckWhy, row.StruckReading = by.Seq, by.Why, false
		}
		body.Rows = append(body.Rows, row)
	}
	slices.Reverse(body.Rows)
	p := s.about(j, "Log", "log")
	if body.AsOf < size {
		p.Title = fmt.Sprintf("As it stood after entry %d", body.AsOf)
	}
	return s.show(w, r, http.StatusOK, "log", p, body)
}

// readingOf is a reading as the log shows it, whoever read it by their name.
func readingOf(b *book.Book, people *shoplog.State, f *job.ReadingTaken) *logReading {
	told := *f
	told.ReadBy = name(people, f.ReadBy)
	return &logReading{Link: linkOf(b, f.Spot), Value: f.Value, How: told.How()}
}
