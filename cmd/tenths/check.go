package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/judge"
)

func checkCommand() *cobra.Command {
	var asJSON bool
	var line string
	c := &cobra.Command{
		Use:   "check BOOK",
		Short: "Read a book, report everything that is wrong in it, and what does not agree",
		Long: `Read a book and report everything that is wrong in it: file, line, column, what
stands there, what is wrong and what to do. A book that can be read is then held
against itself: fits against bore less shaft, stacks, service against new limits,
inch against millimetre, siblings, rows of one thing, references.

A finding is a fault (something is misprinted or miscopied), a doubt (it may be;
selection, rounding and shims are honest causes) or a note. Each is shown with its
sum, and with the single changes that would mend it, the likeliest first. Nothing
is changed: look at the manual. What may stand is acknowledged, see tenths book
acknowledge; it stays visible and no longer counts.

Exit status, the first that applies: 2 the book can't be read; 1 a fault; 3 a
doubt, or a limit that a person must settle; 0.`,
		Example: `  tenths book check book.yaml
  tenths book check book.yaml --line main-fit
  tenths book check book.yaml --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := loadBook(args[0])
			if err != nil {
				return err
			}
			if _, ok := b.Line(line); line != "" && !ok {
				return status{exitBad, fmt.Errorf("--line %s: the book has no such line; its lines are %s", line, lineKeys(b, line))}
			}
			var held []check.Held
			var wait sync.WaitGroup
			wait.Go(func() { held = check.Holds(b) }) // by another core
			r := checkBook(args[0], b)
			wait.Wait()
			r.held, r.line = held, line
			if asJSON {
				err = r.json(cmd.OutOrStdout())
			} else {
				err = r.text(cmd.OutOrStdout())
			}
			if exit := r.exit(); err == nil && exit != exitGood {
				err = status{code: exit}
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the findings as JSON, schema tenths/check/1")
	c.Flags().StringVar(&line, "line", "", "only what is about this `LINE`, by its key")
	return c
}

// checkBook checks a book, and takes what was acknowledged of it.
func checkBook(name string, b *book.Book) *checked {
	r := &checked{name: name, book: b, findings: check.Book(b)}
	r.lapsed = check.Settle(r.findings, b)
	return r
}

// checked is a book with what was found in it.
type checked struct {
	name     string
	book     *book.Book
	findings []check.Finding
	lapsed   []book.Acknowledged
	held     []check.Held
	line     string // the only one that is shown
}

// exit is the exit status of all that was found: a filter hides nothing from a
// script.
func (r *checked) exit() int {
	n := r.counts()
	switch {
	case n.Faults > 0:
		return exitBeyond
	case n.Doubts > 0 || n.Held > 0:
		return exitOpen
	}
	return exitGood
}

type checkCounts struct {
	Lines  int `json:"lines"`
	Faults int `json:"faults"`
	Doubts int `json:"doubts"`
	Notes  int `json:"notes"`
	Held   int `json:"held"`

	Acknowledged int `json:"acknowledged"`
}

func (r *checked) counts() checkCounts {
	n := checkCounts{Lines: len(r.book.Lines)}
	for i := range r.findings {
		if r.findings[i].Acknowledged != nil {
			n.Acknowledged++
			continue
		}
		switch r.findings[i].Severity {
		case check.Fault:
			n.Faults++
		case check.Doubt:
			n.Doubts++
		default:
			n.Notes++
		}
	}
	for _, l := range r.book.Lines {
		if l.Waits() {
			n.Held++
		}
	}
	return n
}

// shows tells whether a finding is one of those asked for.
func (r *checked) shows(f *check.Finding) bool {
	if r.line == "" {
		return true
	}
	for _, l := range f.Lines {
		if l.Key == r.line {
			return true
		}
	}
	return false
}

func (r *checked) text(out io.Writer) error {
	p := newPage(out)
	for _, severity := range []check.Severity{check.Fault, check.Doubt, check.Note} {
		for i := range r.findings {
			if f := &r.findings[i]; f.Severity == severity && r.shows(f) {
				r.finding(p, f)
			}
		}
	}
	for _, a := range r.lapsed {
		p.wrap("", fmt.Sprintf("%s: acknowledged and no longer found, or printed otherwise since: %s of %s: %s", book.SettledName(r.name), a.Code, strings.Join(a.Lines, ", "), a.String()), 2)
	}
	words := judge.Words{Book: r.book}
	instances := 0
	unfilled := 0
	held := r.held
	for _, l := range r.book.Lines {
		instances += len(l.Instances)
		if l.Unfilled() {
			unfilled++
		}
		for range l.Holds {
			if (r.line == "" || r.line == l.Key) && !l.Unfilled() {
				p.wrap("", heldCell(r.name, &held[0]), 2)
			}
			held = held[1:]
		}
		if l.Limit.Held != nil && (r.line == "" || r.line == l.Key) {
			p.wrap("", fmt.Sprintf("%s:%d: held: %s: %s; ask the maker, then write \"from min\" or \"from max\"", r.name, l.FileLine, l.Key, words.Limits(l, l.Limit)), 2)
		}
	}
	if r.line == "" {
		r.unlooked(p)
	}
	if unfilled > 0 {
		p.wrap("", r.name+": "+noLimits(unfilled), 2)
	}
	b, n := r.book, r.counts()
	p.wrap("", fmt.Sprintf("%s: %s, %s, %s, %s to judge", r.name, counted(len(b.Parts), "part"),
		counted(len(b.Spots), "spot"), counted(len(b.Lines), "line"), counted(instances, "verdict")), 2)
	p.wrap("", fmt.Sprintf("%s, %s, %s, %s held", counted(n.Faults, "fault"), counted(n.Doubts, "doubt"), counted(n.Notes, "note"), counted(n.Held, "line"))+acknowledged(n.Acknowledged), 2)
	return p.Flush()
}

// noLimits says how many lines nobody has filled in yet.
func noLimits(lines int) string {
	has := "has"
	if lines > 1 {
		has = "have"
	}
	return counted(lines, "line") + " " + has + " no limits yet: fill them in from the manual (tenths book sheet, then tenths book import)"
}

// heldCell says which cell can't be read for certain, and why.
func heldCell(name string, h *check.Held) string {
	text := fmt.Sprintf("%s:%d: held: %s: %s %q", name, h.Hold.FileLine, h.Line.Key, h.Hold.Cell, h.Hold.Text)
	var may []string
	for _, r := range h.Readings {
		if may = append(may, r.Text); r.Why != "" {
			may[len(may)-1] += " (" + r.Why + ")"
		}
	}
	if len(may) > 0 {
		text += ", perhaps " + strings.Join(may, " or ")
	}
	if h.Hold.Why != "" {
		text += ": " + h.Hold.Why
	}
	return text
}

// acknowledged says how many findings may stand, if any.
func acknowledged(n int) string {
	if n == 0 {
		return ""
	}
	return ", " + counted(n, "finding") + " acknowledged"
}

// finding prints one: where, what, the sum, the mends.
func (r *checked) finding(p page, f *check.Finding) {
	p.wrap("", fmt.Sprintf("%s:%d: %s: %s: %s [%s]", r.name, f.Lines[0].FileLine, f.Severity, f.Lines[0].Key, f.What, f.Code), 2)
	if f.Acknowledged != nil {
		p.wrap("  ", "acknowledged: "+f.Acknowledged.String(), 4)
		return
	}
	for _, s := range f.Struck {
		p.wrap("  ", "no longer acknowledged: "+s.String(), 4)
	}
	if f.Severity == check.Note {
		return
	}
	for _, l := range f.Lines {
		p.wrap("  ", title(l), 4)
	}
	for _, s := range f.Sum {
		p.wrap("    ", s, 6)
	}
	for _, m := range f.Mends {
		p.wrap("    ", mendWords(m), 6)
	}
	fmt.Fprintln(p)
}

// title names a line as the manual does, behind its key.
func title(l *book.Line) string {
	text := l.Key + "  " + l.Name
	if l.Ref != "" {
		text += ", ref " + l.Ref
	}
	if l.Page != "" {
		text += ", page " + l.Page
	}
	return text
}

func mendWords(m check.Mend) string {
	text := fmt.Sprintf("mended by %s %s: %q for %q", m.Cell.Line.Key, m.Cell.Name, m.New, m.Cell.Text)
	if m.With != nil {
		text += fmt.Sprintf(", and %s %s: %q for %q", m.With.Line.Key, m.With.Name, m.WithNew, m.With.Text)
	}
	return strings.Join(append([]string{text + ", " + m.How}, m.Why...), "; ")
}

// unlooked tells of features that no line looks at.
func (r *checked) unlooked(p page) {
	looked := map[*book.Feature]bool{}
	for _, l := range r.book.Lines {
		for _, t := range l.Terms {
			looked[t.Feature] = true
		}
		if l.Moves != nil {
			looked[l.Moves.With] = true
		}
	}
	for _, part := range r.book.Parts {
		for _, f := range part.Features {
			if !looked[f] {
				fmt.Fprintf(p, "%s: no line looks at %s\n", r.name, f.Ref())
			}
		}
	}
}

// The JSON that check prints, schema tenths/check/1. Later versions only add to
// it.
type (
	jsonCheck struct {
		Schema   string        `json:"schema"`
		Engine   string        `json:"engine"`
		Manual   jsonManual    `json:"manual"`
		Counts   checkCounts   `json:"counts"`
		Findings []jsonFinding `json:"findings"`
		Held     []string      `json:"held"`
		Holds    []jsonHold    `json:"holds"`
	}
	jsonHold struct {
		Line     string        `json:"line"`
		Row      int           `json:"row"` // where the hold stands in the file
		Cell     string        `json:"cell"`
		Text     string        `json:"text"`
		Why      string        `json:"why,omitempty"`
		Readings []jsonReading `json:"readings"`
	}
	jsonReading struct {
		Text string `json:"text"`
		Why  string `json:"why,omitempty"`
	}
	jsonFinding struct {
		Code     string     `json:"code"`
		Severity string     `json:"severity"`
		Lines    []string   `json:"lines"`
		Row      int        `json:"row"` // where the first stands in the file
		Page     string     `json:"page,omitempty"`
		Cells    []jsonCell `json:"cells"`
		What     string     `json:"what"`
		Sum      []string   `json:"sum"`
		Mends    []jsonMend `json:"mends"`

		Acknowledged *jsonAcknowledged `json:"acknowledged,omitempty"`
		Struck       []jsonStruck      `json:"struck,omitempty"` // acknowledgements that were taken back
	}
	jsonStruck struct {
		jsonAcknowledged
		Struck jsonSettled `json:"struck"`
	}
	jsonSettled struct {
		By   string `json:"by"`
		Why  string `json:"why"`
		Date string `json:"date,omitempty"`
	}
	jsonAcknowledged struct {
		Reason string `json:"reason"`
		Note   string `json:"note,omitempty"`
		By     string `json:"by"`
		Date   string `json:"date,omitempty"`
	}
	jsonCell struct {
		Line    string `json:"line"`
		Cell    string `json:"cell"`
		Printed string `json:"printed"`
	}
	jsonMend struct {
		jsonCell
		New     string    `json:"new"`
		With    *jsonCell `json:"with,omitempty"` // of two rows exchanged: the other
		WithNew string    `json:"with_new,omitempty"`
		How     string    `json:"how"`
		Why     []string  `json:"why"`
	}
)

func cellJSON(c check.Cell) jsonCell { return jsonCell{c.Line.Key, c.Name, c.Text} }

func (r *checked) json(out io.Writer) error {
	doc := jsonCheck{
		Schema: "tenths/check/1", Engine: r.book.Engine, Manual: jsonManual(r.book.Manual),
		Counts: r.counts(), Findings: []jsonFinding{}, Held: []string{}, Holds: []jsonHold{},
	}
	for i := range r.findings {
		f := &r.findings[i]
		if !r.shows(f) {
			continue
		}
		j := jsonFinding{
			Code: f.Code, Severity: f.Severity.String(), Row: f.Lines[0].FileLine, Page: f.Lines[0].Page,
			Cells: []jsonCell{}, What: f.What, Sum: append([]string{}, f.Sum...), Mends: []jsonMend{},
		}
		if a := f.Acknowledged; a != nil {
			j.Acknowledged = &jsonAcknowledged{a.Reason, a.Note, a.By, a.Date}
		}
		for _, s := range f.Struck {
			a := s.Acknowledged
			j.Struck = append(j.Struck, jsonStruck{jsonAcknowledged{a.Reason, a.Note, a.By, a.Date}, jsonSettled{s.By, s.Why, s.Date}})
		}
		for _, l := range f.Lines {
			j.Lines = append(j.Lines, l.Key)
		}
		for _, c := range f.Cells {
			j.Cells = append(j.Cells, cellJSON(c))
		}
		for _, m := range f.Mends {
			mend := jsonMend{jsonCell: cellJSON(m.Cell), New: m.New, WithNew: m.WithNew, How: m.How, Why: append([]string{}, m.Why...)}
			if m.With != nil {
				with := cellJSON(*m.With)
				mend.With = &with
			}
			j.Mends = append(j.Mends, mend)
		}
		doc.Findings = append(doc.Findings, j)
	}
	for _, l := range r.book.Lines {
		if l.Waits() && (r.line == "" || r.line == l.Key) {
			doc.Held = append(doc.Held, l.Key)
		}
	}
	for _, h := range r.held {
		if r.line != "" && r.line != h.Line.Key {
			continue
		}
		j := jsonHold{Line: h.Line.Key, Row: h.Hold.FileLine, Cell: h.Hold.Cell, Text: h.Hold.Text, Why: h.Hold.Why, Readings: []jsonReading{}}
		for _, may := range h.Readings {
			j.Readings = append(j.Readings, jsonReading(may))
		}
		doc.Holds = append(doc.Holds, j)
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(doc)
}
