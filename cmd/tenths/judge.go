package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

type judgeOptions struct {
	problems, json, skipFaults, comma bool
	explain, unit                     string
}

func judgeCommand() *cobra.Command {
	var o judgeOptions
	c := &cobra.Command{
		Use:   "judge BOOK READINGS",
		Short: "Hold a file of readings against a book",
		Long: `Hold a file of readings against a book and print, by part, how every line stands:
what was found, the limits, a ruler, the grade, the allowance used, what is open
or asked; then what is beyond, what is open, and the counts.

Exit status, the first that applies: 2 bad input or an incomplete run, 1
something beyond, 3 something open, asked or held, 0.

` + advice,
		Example: `  tenths judge book.yaml readings.csv
  tenths judge --problems book.yaml readings.csv
  tenths judge --explain main-fit-2 book.yaml readings.csv
  tenths judge --unit mm book.yaml readings.csv
  tenths judge --json book.yaml readings.csv`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return judgeFiles(cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], args[1], o)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.problems, "problems", false, "only what is beyond, open, asked or held")
	f.StringVar(&o.explain, "explain", "", "open one `LINE` to its sum: a key (main-fit) or one of its instances (main-fit-2)")
	f.StringVar(&o.unit, "unit", "", "show lengths in `mm|in` (text only; judging is exact in either)")
	f.BoolVar(&o.json, "json", false, "print the verdicts as JSON, schema tenths/judge/1")
	f.BoolVar(&o.skipFaults, "skip-faults", false, "judge without the rows in fault; the outcome is marked incomplete")
	f.BoolVar(&o.comma, "decimal-comma", false, "the readings file writes 2,2490 for 2.2490")
	c.MarkFlagsMutuallyExclusive("json", "explain")
	c.MarkFlagsMutuallyExclusive("json", "unit")
	c.MarkFlagsMutuallyExclusive("json", "problems")
	return c
}

// A run is a book with readings judged by it.
type judged struct {
	book     *book.Book
	bookName string
	file     *reading.File
	readings *judge.Readings
	verdicts []judge.Verdict
	words    judge.Words
}

func judgeFiles(out, errOut io.Writer, bookName, readingsName string, o judgeOptions) error {
	unit := quantity.NoUnit
	if o.unit != "" {
		var err error
		if unit, err = quantity.ParseUnit(o.unit); err != nil || unit != quantity.Inch && unit != quantity.Millimetre {
			return status{exitBad, fmt.Errorf("--unit %s: write mm or in", o.unit)}
		}
	}
	b, err := loadBook(bookName)
	if err != nil {
		return err
	}
	data, err := readFile(readingsName, table.MaxSize)
	if err != nil {
		return status{exitBad, err}
	}
	file := reading.Load(readingsName, data, b, o.comma)
	if n := len(file.Faults); n > 0 && (file.Unusable || !o.skipFaults) {
		do := "mend the file, or judge without the rows in fault by --skip-faults"
		if file.Unusable {
			do = "mend the file"
		}
		return status{exitBad, fmt.Errorf("the readings have %s; nothing was judged: %s\n%w", counted(n, "fault"), do, file.Faults)}
	}
	r := &judged{
		book: b, bookName: bookName, file: file, readings: judge.File(b, file.Readings),
		words: judge.Words{Book: b, Unit: unit},
	}
	r.verdicts = judge.Book(b, judge.Given{}, r.readings.At)
	switch {
	case o.explain != "":
		err = r.explain(out, o.explain)
	case o.json:
		err = r.json(out)
	default:
		err = r.text(out, o.problems)
	}
	if err != nil {
		return err
	}
	if len(file.Faults) > 0 && !o.json {
		fmt.Fprintf(errOut, "tenths: incomplete: rows in fault were skipped\n%v\n", fault.List(file.Faults))
	}
	if code := r.exit(); code != exitGood {
		return status{code: code}
	}
	return nil
}

// exit is the exit status of the run.
func (r *judged) exit() int {
	n := r.counts()
	switch {
	case len(r.file.Faults) > 0:
		return exitBad
	case n.Beyond > 0:
		return exitBeyond
	case n.Open > 0 || n.Asked > 0:
		return exitOpen
	}
	return exitGood
}

// counts are the figures at the end of a run.
type counts struct {
	Verdicts    int `json:"verdicts"`
	New         int `json:"new"`
	Serviceable int `json:"serviceable"`
	Beyond      int `json:"beyond"`
	None        int `json:"none"`
	Open        int `json:"open"`
	Asked       int `json:"asked"`
	Readings    int `json:"readings"`
	Skipped     int `json:"skipped_faults"`
}

func (r *judged) counts() counts {
	n := counts{Verdicts: len(r.verdicts), Readings: len(r.file.Readings), Skipped: len(r.file.Faults)}
	for i := range r.verdicts {
		v := &r.verdicts[i]
		switch v.Grade {
		case judge.New:
			n.New++
		case judge.Serviceable:
			n.Serviceable++
		case judge.Beyond:
			n.Beyond++
		default:
			n.None++
		}
		if v.Open() {
			n.Open++
		}
		if len(v.Asks) > 0 {
			n.Asked++
		}
	}
	return n
}

// explain prints the sums of a line, or of one instance of it.
func (r *judged) explain(out io.Writer, name string) error {
	found := false
	for i := range r.verdicts {
		v := &r.verdicts[i]
		if id := v.Line.ID(v.At); name != id && name != v.Line.Key {
			continue
		}
		if found {
			fmt.Fprintln(out)
		}
		found = true
		fmt.Fprintf(out, "%s  %s\n", v.Line.ID(v.At), r.words.Name(v))
		for _, s := range r.words.Sum(v, r.readings.At) {
			fmt.Fprintf(out, "  %s\n", s)
		}
	}
	if !found {
		return status{exitBad, fmt.Errorf("--explain %s: the book has no such line; its lines are %s", name, r.lineKeys(name))}
	}
	return nil
}

// lineKeys lists the keys that begin like the one asked for, else all.
func (r *judged) lineKeys(name string) string {
	var near, all []string
	word, _, _ := strings.Cut(name, "-")
	for _, l := range r.book.Lines {
		all = append(all, l.Key)
		if strings.HasPrefix(l.Key, word) {
			near = append(near, l.Key)
		}
	}
	if len(near) > 0 {
		all = near
	}
	return strings.Join(all, ", ")
}
