package shop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/reading"
	"tenths/internal/record"
)

// Import says how a file of readings is taken in.
type Import struct {
	Name     string
	Data     []byte
	Comma    bool   // it writes 2,2490 for 2.2490
	Register bool   // items that it names and the job has not: as found where the file has them
	Strike   string // why the readings that it corrects are to be struck; empty: they are named only

	SkipFaults bool // enter the rest where rows are in fault
}

// Imported is what became of a file.
type Imported struct {
	Done
	Rows       int        // with a reading
	Blank      int        // that name a spot and have no value
	Faults     fault.List // rows that were left out
	Added      int
	Before     int // that were there already
	Registered []string
	Struck     []int64     // entries that were struck
	Corrects   []Corrected // what the file says otherwise, and was not struck
}

// A Corrected is a reading that came from a file before, and is another in this
// one.
type Corrected struct {
	Entry      int64
	Spot       string
	Value, Now string
}

// ImportReadings enters the readings of a file that are not there yet, all in
// one commit. The same file again adds nothing.
func (s *Shop) ImportReadings(ctx context.Context, by Who, order string, in Import) (Imported, error) {
	var out Imported
	state, err := s.Job(ctx, order)
	if err != nil {
		return out, err
	}
	if err := job.MayGoOn(state, &job.Take{}); err != nil {
		return out, err
	}
	b, err := s.Book(ctx, state.Edition)
	if err != nil {
		return out, err
	}
	file := reading.Load(in.Name, in.Data, b, in.Comma)
	struck := state.Struck()
	there := map[string]bool{}
	for i := range state.Readings {
		there[state.Readings[i].ID] = true
	}
	rows := map[int]string{} // ids, by row
	equal := map[string]int{}
	for i := range file.Readings {
		r := &file.Readings[i]
		rows[r.Row] = rowID(state.Log, r.InWords(b), equal)
	}
	// What is there was looked at when it was entered: items have moved since.
	items, faults := itemsOf(b, state, file, func(r *reading.Reading) bool { return there[rows[r.Row]] })
	out.Faults = append(file.Faults, faults...)
	out.Faults.Sort()
	if len(out.Faults) > 0 && (file.Unusable || !in.SkipFaults) {
		return out, out.Faults
	}
	wrong := map[int]bool{}
	for _, f := range faults {
		wrong[f.Line] = true
	}
	file.Readings = slices.DeleteFunc(file.Readings, func(r reading.Reading) bool { return wrong[r.Row] })
	out.Rows, out.Blank = len(file.Readings), file.Blank
	out.Log, out.From, out.To = state.Log, state.Size+1, state.Size

	var requests []Request
	if len(items) > 0 && !in.Register {
		var tags []string
		for _, i := range items {
			tags = append(tags, i.Item+" ("+i.Found+")")
		}
		return out, record.Refuse("item", "import with --register to register each as found there, or register them with tenths job item",
			"the file names %d items that the job does not have: %s", len(items), few(tags))
	}
	for i := range items {
		requests = append(requests, Request{Request: &job.RegisterItem{ItemRegistered: items[i]}})
		out.Registered = append(out.Registered, items[i].Item)
	}

	type place struct {
		spot, item string
		stage      int
	}
	found := map[string]string{} // position → what was found there, which is what had no tag
	for i := range state.Items {
		found[state.Items[i].Found] = state.Items[i].Tag
	}
	for i := range items {
		found[items[i].Found] = items[i].Item
	}
	live := map[place][]*job.Taken{} // from files, by where they are of
	for i := range state.Readings {
		t := &state.Readings[i]
		if struck[t.Seq] == nil && fromFile(t.ID) {
			position, _, _ := strings.Cut(t.Spot, ".")
			at := place{t.Spot, cmp.Or(t.Item, found[position]), t.Stage}
			live[at] = append(live[at], t)
		}
	}
	kept := map[string]bool{} // ids of the rows of this file
	var fresh []int
	for i := range file.Readings {
		r := &file.Readings[i]
		id := rows[r.Row]
		kept[id] = true
		if there[id] {
			out.Before++
			continue
		}
		fresh = append(fresh, len(requests))
		requests = append(requests, Request{id, &job.Take{Row: r.InWords(b)}})
	}
	corrected := map[int64]bool{}
	for _, n := range fresh {
		row := &requests[n].Request.(*job.Take).Row
		at := place{row.Spot, row.Item, 0}
		if take, err := requests[n].Request.(*job.Take).Fact(state, b); err == nil {
			at = place{take.Spot, take.Item, take.Stage}
		} else if !slices.ContainsFunc(items, func(i job.ItemRegistered) bool { return i.Item == row.Item }) {
			continue // it is refused below
		}
		for _, t := range live[at] {
			if kept[t.ID] || corrected[t.Seq] {
				continue
			}
			corrected[t.Seq] = true
			if in.Strike == "" {
				out.Corrects = append(out.Corrects, Corrected{t.Seq, t.Spot, t.Value, row.Value})
				continue
			}
			out.Struck = append(out.Struck, t.Seq)
			requests = append(requests, Request{Request: &job.StrikeReading{Entry: t.Seq, Why: in.Strike}})
		}
	}
	out.Added = len(fresh)
	if len(requests) == 0 {
		return out, nil
	}
	done, err := s.Enter(ctx, by, order, requests...)
	var one *OneOfError
	if errors.As(err, &one) {
		if n := slices.Index(fresh, one.Index); n >= 0 {
			row := file.Readings[0].Row
			for i := range file.Readings {
				if r := file.Readings[i].InWords(b); r == requests[one.Index].Request.(*job.Take).Row {
					row = file.Readings[i].Row
					break
				}
			}
			return out, fmt.Errorf("%s:%d: %w; nothing of the file was entered", in.Name, row, one.Err)
		}
		return out, fmt.Errorf("%w; nothing of the file was entered", one.Err)
	}
	out.Done = done
	return out, err
}

// rowID is the id of a file's row: of the job, its fields, and how many equal
// rows stand before it. So the order of columns, the unit of a column and the
// name of the file change nothing.
func rowID(log string, r reading.Row, equal map[string]int) string {
	fields := []string{
		r.Spot, r.Value, r.Sense, r.Item, r.Stage, r.Step, r.Gauge, r.Temperature, r.By, r.When, r.Note,
	}
	key := strings.Join(fields, "\x00")
	n := equal[key]
	equal[key]++
	return ledger.ID(append([]string{"tenths row", log, strconv.Itoa(n)}, fields...)...)
}

// fromFile tells an id that was made of a row.
func fromFile(id string) bool {
	u, err := uuid.Parse(id)
	return err == nil && u.Version() == 8
}

// itemsOf returns the items that a file names and the job has not, each as
// found at the position that the file has it at first; and rows that have an
// item elsewhere than it is, but for rows that are there already.
func itemsOf(b *book.Book, state *job.State, file *reading.File, there func(*reading.Reading) bool) (fresh []job.ItemRegistered, faults fault.List) {
	where := map[string]string{} // item → position
	at := map[string]string{}    // position → item
	for position, item := range state.Fitted {
		where[item], at[position] = position, item
	}
	for i := range state.Items {
		if tag := state.Items[i].Tag; where[tag] == "" {
			where[tag] = anywhere
		}
	}
	for i := range file.Readings {
		r := &file.Readings[i]
		if r.Item == "" || there(r) {
			continue
		}
		site := b.SiteAt(r.Spot)
		is, here := where[r.Item], site.At()
		wrong := func(what, do string) {
			faults = append(faults, fault.Fault{File: file.Name, Line: r.Row, Column: 1, Field: "item", Code: "item", Text: r.Item, What: what, Do: do})
		}
		switch other := at[here]; {
		case is == anywhere || is == here:
		case is != "":
			wrong("is at "+is+", and the row has it at "+here, "say which of the two is right")
		case other != "":
			wrong("is at "+here+", and so is "+other, "if it is another piece, register it with tenths job item; else give it the one tag")
		default:
			where[r.Item], at[here] = here, r.Item
			fresh = append(fresh, job.ItemRegistered{Item: r.Item, Part: site.Feature.Part.Key, Found: here})
		}
	}
	return fresh, faults
}

// anywhere is where an item is that is not fitted: its readings may be of any
// position.
const anywhere = "-"

// few lists as many names as a reader wants to see.
func few(names []string) string {
	const most = 12
	if n := len(names); n > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", n-most)
	}
	return strings.Join(names, ", ")
}
