package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/compare"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/internal/shop"
	"tenths/internal/table"
)

// exitDiffer is the exit status where two editions differ, as diff has it.
const exitDiffer = 1

type diffOptions struct {
	readings, job string
	json, comma   bool
	judge         judgeOptions // what is given of the engine
	at            at
}

func diffCommand() *cobra.Command {
	var o diffOptions
	c := &cobra.Command{
		Use:   "diff OLD NEW",
		Short: "Say in words how one edition of a book differs from another",
		Long: `Say in words how one edition of a book differs from another: the manual,
amendments, what is measured, lines added and gone, limits moved and by how much,
pages. A moved limit is stricter where what was within may now be beyond, and
wider the other way round.

With --readings or --job, also say which verdicts would have another grade.

Exit status: 0 they are the same, 1 they differ, 2 bad input.`,
		Example: `  tenths book diff book.yaml next.yaml
  tenths book diff book.yaml next.yaml --readings widths.csv
  tenths book diff book.yaml next.yaml --job 2026-014`,
		Args: cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error { return diffBooks(c, args[0], args[1], o) },
	}
	f := c.Flags()
	f.StringVar(&o.readings, "readings", "", "a `FILE` of readings, judged by both")
	f.StringVar(&o.job, "job", "", "a job, by its work `ORDER`, whose readings are judged by both")
	f.BoolVar(&o.json, "json", false, "print the changes as JSON, schema tenths/diff/1")
	f.StringArrayVar(&o.judge.given, "given", nil, "a condition that lines depend on, as `NAME=WORD`: bushing=used")
	f.StringVar(&o.judge.serial, "serial", "", "the engine's serial `NUMBER`, for lines that are for some engines only")
	f.BoolVar(&o.comma, "decimal-comma", false, "the readings file writes 2,2490 for 2.2490")
	o.at.flags(c)
	c.MarkFlagsMutuallyExclusive("readings", "job")
	for _, other := range []string{"given", "serial", "decimal-comma"} {
		c.MarkFlagsMutuallyExclusive("job", other) // the job states them
	}
	return c
}

// A difference is what there is to tell of two editions.
type difference struct {
	old, now *book.Book
	changes  []compare.Change
	grades   []compare.Grade
	notTaken []string // readings that the second edition has no place for
	judged   bool
}

func diffBooks(c *cobra.Command, oldName, newName string, o diffOptions) error {
	old, err := loadBook(oldName)
	if err != nil {
		return err
	}
	now, err := loadBook(newName)
	if err != nil {
		return err
	}
	d := difference{old: old, now: now, changes: compare.Books(old, now)}
	switch {
	case o.readings != "":
		err = d.byReadings(o)
	case o.job != "":
		err = o.at.in(func(c *cobra.Command, s *shop.Shop, _ []string) error { return d.byJob(c, s, o.job) })(c, nil)
	}
	if err != nil {
		return err
	}
	if o.json {
		err = d.json(c.OutOrStdout())
	} else {
		err = d.text(c.OutOrStdout())
	}
	if err == nil && len(d.changes)+len(d.grades)+len(d.notTaken) > 0 {
		err = status{code: exitDiffer}
	}
	return err
}

// byReadings judges a file of readings by both editions.
func (d *difference) byReadings(o diffOptions) error {
	data, err := readFile(o.readings, table.MaxSize)
	if err != nil {
		return status{exitBad, err}
	}
	file := reading.Load(o.readings, data, d.old, o.comma)
	if n := len(file.Faults); n > 0 {
		return status{exitBad, fmt.Errorf("by the old edition the readings have %s: mend the file\n%w", counted(n, "fault"), file.Faults)}
	}
	after := reading.Load(o.readings, data, d.now, o.comma)
	if after.Unusable {
		return status{exitBad, fmt.Errorf("by the new edition the readings can't be used: mend the file\n%w", after.Faults)}
	}
	for _, f := range after.Faults {
		d.notTaken = append(d.notTaken, f.String())
	}
	verdicts := func(b *book.Book, f *reading.File) ([]judge.Verdict, error) {
		given, err := o.judge.givenFor(b)
		if err != nil {
			return nil, status{exitBad, err}
		}
		return judge.Book(b, given, judge.File(b, f.Readings).At), nil
	}
	was, err := verdicts(d.old, file)
	if err != nil {
		return err
	}
	is, err := verdicts(d.now, after)
	if err != nil {
		return err
	}
	d.grades, d.judged = compare.Grades(was, is), true
	return nil
}

// byJob judges a job's readings by both editions.
func (d *difference) byJob(c *cobra.Command, s *shop.Shop, order string) error {
	state, err := s.Job(c.Context(), order)
	if err != nil {
		return err
	}
	was, is := state.Judge(d.old), state.Judge(d.now)
	taken := map[int64]bool{}
	for _, a := range was.Aside {
		taken[a.Seq] = true
	}
	for _, a := range is.Aside {
		if !taken[a.Seq] {
			d.notTaken = append(d.notTaken, fmt.Sprintf("entry %d, %s %s: %s", a.Seq, a.Spot, a.Value, a.Why))
		}
	}
	d.grades, d.judged = compare.Grades(was.Verdicts, is.Verdicts), true
	return nil
}

func (d *difference) text(out io.Writer) error {
	p := newPage(out)
	heading := ""
	for _, c := range d.changes {
		h, what := d.heading(c), c.What
		if h != heading {
			p.wrap("", p.bold(h), 2)
			heading = h
		}
		if c.Effect != "" {
			what += " (" + c.Effect + ")"
		}
		p.wrap("  ", what, 4)
	}
	if len(d.changes) == 0 {
		fmt.Fprintln(p, "The two say the same.")
	}
	if d.judged {
		fmt.Fprintln(p)
		if len(d.grades) == 0 {
			fmt.Fprintln(p, "No grade would change.")
		} else {
			fmt.Fprintln(p, p.bold("Grades that would change"))
		}
		for _, g := range d.grades {
			p.wrap("  ", g.ID+"  "+d.gradeWords(g), 4)
		}
	}
	if len(d.notTaken) > 0 {
		fmt.Fprintln(p, "\n"+p.bold("Readings that the new edition does not take"))
		for _, r := range d.notTaken {
			p.wrap("  ", r, 4)
		}
	}
	fmt.Fprintln(p)
	n := map[string]int{}
	for _, c := range d.changes {
		n[c.Effect]++
	}
	total := fmt.Sprintf("%s: %d stricter, %d wider", counted(len(d.changes), "change"), n["stricter"], n["wider"])
	if d.judged {
		total += "; " + counted(len(d.grades), "other grade")
	}
	p.wrap("", total, 2)
	return p.Flush()
}

// heading is what changes are listed under: the line, or what of the book.
func (d *difference) heading(c compare.Change) string {
	l := c.New
	if l == nil {
		l = c.Old
	}
	if l == nil {
		return strings.ToUpper(c.Code[:1]) + c.Code[1:] + strings.TrimSuffix(" "+c.Key, " ")
	}
	head := c.Key + "  " + l.Name
	if l.Page != "" {
		head += ", page " + l.Page
	}
	return head
}

func (d *difference) gradeWords(g compare.Grade) string {
	word := func(b *book.Book, v *judge.Verdict) string {
		if v == nil {
			return "not judged"
		}
		w := judge.Words{Book: b}
		return w.Ends(v) + " " + w.Standing(v)
	}
	return word(d.now, g.New) + "; was " + word(d.old, g.Old)
}

// The JSON that diff prints, schema tenths/diff/1. Later versions only add to it.
type (
	jsonDiff struct {
		Schema   string       `json:"schema"`
		Old      jsonManual   `json:"old"`
		New      jsonManual   `json:"new"`
		Changes  []jsonChange `json:"changes"`
		Grades   []jsonGrade  `json:"grades"`
		NotTaken []string     `json:"readings_not_taken"`
	}
	jsonChange struct {
		Code    string `json:"code"`
		Key     string `json:"key,omitempty"`
		What    string `json:"what"`
		Effect  string `json:"effect,omitempty"`
		OldPage string `json:"old_page,omitempty"`
		NewPage string `json:"new_page,omitempty"`
	}
	jsonGrade struct {
		ID   string `json:"id"`
		Old  string `json:"old,omitempty"` // left out where the edition does not judge it
		New  string `json:"new,omitempty"`
		What string `json:"what"`
	}
)

func (d *difference) json(out io.Writer) error {
	doc := jsonDiff{
		Schema: "tenths/diff/1", Old: jsonManual(d.old.Manual), New: jsonManual(d.now.Manual),
		Changes: []jsonChange{}, Grades: []jsonGrade{}, NotTaken: append([]string{}, d.notTaken...),
	}
	for _, c := range d.changes {
		j := jsonChange{Code: c.Code, Key: c.Key, What: c.What, Effect: c.Effect}
		if c.Old != nil {
			j.OldPage = c.Old.Page
		}
		if c.New != nil {
			j.NewPage = c.New.Page
		}
		doc.Changes = append(doc.Changes, j)
	}
	for _, g := range d.grades {
		j := jsonGrade{ID: g.ID, What: d.gradeWords(g)}
		if g.Old != nil {
			j.Old = g.Old.Grade.String()
		}
		if g.New != nil {
			j.New = g.New.Grade.String()
		}
		doc.Grades = append(doc.Grades, j)
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(doc)
}
