package main

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"slices"
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
	problems, summary, json, skipFaults, comma bool
	explain, unit, part, line, grade           string
	given                                      []string
	serial                                     string
}

func judgeCommand() *cobra.Command {
	var o judgeOptions
	c := &cobra.Command{
		Use:   "judge BOOK READINGS",
		Short: "Hold a file of readings against a book",
		Long: `Hold a file of readings against a book and print, by part, how every line stands:
what was found, the limits, a ruler, the grade, the allowance used, what is open
or asked; then what is beyond, what is open, and the counts.

The ruler runs from smaller or tighter to larger or looser:
  ■ within new    ▭ out to service    ┃ beyond begins    ▼ found
  ▽ the other end of a size           │ a tier between   ╱ off the ruler
  ║ nought        ~ no limit there    ? a limit that can be read in two ways

Exit status, the first that applies: 2 bad input or an incomplete run, 1
something beyond, 3 something open, asked or held, 0.

` + advice,
		Example: `  tenths judge book.yaml readings.csv
  tenths judge --problems book.yaml readings.csv
  tenths judge --summary book.yaml readings.csv
  tenths judge --explain main-fit-2 book.yaml readings.csv
  tenths judge --unit mm book.yaml readings.csv
  tenths judge --json book.yaml readings.csv`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return judgeFiles(cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0], args[1], o)
		},
	}
	o.showFlags(c)
	f := c.Flags()
	f.BoolVar(&o.skipFaults, "skip-faults", false, "judge without the rows in fault; the outcome is marked incomplete")
	f.StringArrayVar(&o.given, "given", nil, "a condition that lines depend on, as `NAME=WORD`: bushing=used")
	f.StringVar(&o.serial, "serial", "", "the engine's serial `NUMBER`, for lines that are for some engines only")
	f.BoolVar(&o.comma, "decimal-comma", false, "the readings file writes 2,2490 for 2.2490")
	return c
}

// showFlags adds the flags that say what is shown of verdicts.
func (o *judgeOptions) showFlags(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&o.problems, "problems", false, "only what is beyond, open, asked or held")
	f.BoolVar(&o.summary, "summary", false, "only the counts, a row a part")
	f.StringVar(&o.explain, "explain", "", "open one `LINE` to its sum: a key (main-fit) or one of its instances (main-fit-2)")
	f.StringVar(&o.unit, "unit", "", "show lengths in `mm|in` (text only; judging is exact in either)")
	f.BoolVar(&o.json, "json", false, "print the verdicts as JSON, schema tenths/judge/1")
	f.StringVar(&o.part, "part", "", "only lines of this `PART`, by its key")
	f.StringVar(&o.line, "line", "", "only this `LINE`, by its key or one of its instances")
	f.StringVar(&o.grade, "grade", "", "only verdicts of this `GRADE`: new, serviceable, beyond, none")
	for _, other := range []string{"json", "problems", "summary", "part", "line", "grade"} {
		c.MarkFlagsMutuallyExclusive("explain", other)
	}
	c.MarkFlagsMutuallyExclusive("json", "summary")
	c.MarkFlagsMutuallyExclusive("problems", "summary")
	c.MarkFlagsMutuallyExclusive("json", "unit")
	c.MarkFlagsMutuallyExclusive("json", "problems")
}

// judged is a book with readings judged by it.
type judged struct {
	book     *book.Book
	file     *reading.File
	readings *judge.Readings
	verdicts []judge.Verdict
	words    judge.Words
	options  judgeOptions
	hint     string // how what lines depend on is stated
}

func judgeFiles(out, errOut io.Writer, bookName, readingsName string, o judgeOptions) error {
	if _, err := o.inUnit(); err != nil {
		return err
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
		if b.Comma && !o.comma {
			do += "; the book writes decimal commas: if the readings do too, say --decimal-comma"
		}
		return status{exitBad, fmt.Errorf("the readings have %s; nothing was judged: %s\n%w", counted(n, "fault"), do, file.Faults)}
	}
	given, err := o.givenFor(b)
	if err != nil {
		return status{exitBad, err}
	}
	r := &judged{
		options: o,
		book:    b, file: file, readings: judge.File(b, file.Readings),
		words: judge.Words{Book: b},
		hint:  "Conditions are stated by --given NAME=WORD, the serial number by --serial NUMBER.",
	}
	r.verdicts = judge.Book(b, given, r.readings.At)
	err = r.show(out)
	if len(file.Faults) > 0 && !o.json && code(err) != exitGood {
		fmt.Fprintf(errOut, "tenths: incomplete: rows in fault were skipped\n%v\n", fault.List(file.Faults))
	}
	return err
}

// inUnit is the unit that lengths are to be shown in.
func (o judgeOptions) inUnit() (quantity.Unit, error) {
	if o.unit == "" {
		return quantity.NoUnit, nil
	}
	unit, err := quantity.ParseUnit(o.unit)
	if err != nil || unit != quantity.Inch && unit != quantity.Millimetre {
		return quantity.NoUnit, status{exitBad, fmt.Errorf("--unit %s: write mm or in", o.unit)}
	}
	return unit, nil
}

// show prints what was asked for of the verdicts; the error has the exit status
// that they come to.
func (r *judged) show(out io.Writer) error {
	o := r.options
	var err error
	if r.words.Unit, err = o.inUnit(); err != nil {
		return err
	}
	if err := o.check(r.book); err != nil {
		return status{exitBad, err}
	}
	exit := r.exit() // of all: a filter hides nothing from a script
	r.verdicts = slices.DeleteFunc(r.verdicts, func(v judge.Verdict) bool { return o.explain == "" && !o.picks(&v) })
	switch {
	case o.explain != "":
		err = r.explain(out, o.explain)
	case o.json:
		err = r.json(out)
	default:
		err = r.text(out)
	}
	if err != nil {
		return err
	}
	if exit != exitGood {
		return status{code: exit}
	}
	return nil
}

// givenFor checks what is said of the engine against the book.
func (o judgeOptions) givenFor(b *book.Book) (judge.Given, error) {
	given := judge.Given{Conditions: map[string]string{}, Serial: o.serial}
	var names []string
	for _, c := range b.Conditions {
		names = append(names, c.Name+" ("+strings.Join(c.Words, ", ")+")")
	}
	for _, g := range o.given {
		name, word, _ := strings.Cut(g, "=")
		n := slices.IndexFunc(b.Conditions, func(c book.Condition) bool { return c.Name == name && slices.Contains(c.Words, word) })
		if n < 0 {
			return given, fmt.Errorf("--given %s: the book's conditions are %s", g, cmp.Or(strings.Join(names, ", "), "none"))
		}
		if said, ok := given.Conditions[name]; ok && said != word {
			return given, fmt.Errorf("--given %s: it is %s=%s already: state one of the two", g, name, said)
		}
		given.Conditions[name] = word
	}
	if o.serial != "" {
		if _, err := book.ParseSerial(o.serial); err != nil {
			return given, fmt.Errorf("--serial %w", err)
		}
	}
	return given, nil
}

// check checks the filters against the book.
func (o judgeOptions) check(b *book.Book) error {
	if o.part != "" && !slices.ContainsFunc(b.Parts, func(p *book.Part) bool { return p.Key == o.part }) {
		var keys []string
		for _, p := range b.Parts {
			keys = append(keys, p.Key)
		}
		return fmt.Errorf("--part %s: the book has no such part; its parts are %s", o.part, strings.Join(keys, ", "))
	}
	if o.line != "" && !hasLine(b, o.line) {
		return fmt.Errorf("--line %s: the book has no such line; its lines are %s", o.line, lineKeys(b, o.line))
	}
	if o.grade != "" && !slices.Contains([]string{"new", "serviceable", "beyond", "none"}, o.grade) {
		return fmt.Errorf("--grade %s: write new, serviceable, beyond or none", o.grade)
	}
	return nil
}

// picks tells whether a verdict is one of those asked for.
func (o judgeOptions) picks(v *judge.Verdict) bool {
	return (o.part == "" || v.Line.Part().Key == o.part) &&
		(o.line == "" || v.Line.Key == o.line || v.Line.ID(v.At) == o.line) &&
		(o.grade == "" || v.Grade.String() == o.grade)
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
	Ungraded    int `json:"not_graded"`
	Readings    int `json:"readings"`
	Skipped     int `json:"skipped_faults"`
}

func (r *judged) counts() counts {
	n := count(r.verdicts)
	n.Readings, n.Skipped = len(r.file.Readings), len(r.file.Faults)
	return n
}

// count counts how verdicts stand.
func count(verdicts []judge.Verdict) counts {
	n := counts{Verdicts: len(verdicts)}
	for i := range verdicts {
		v := &verdicts[i]
		switch v.Grade {
		case judge.New:
			n.New++
		case judge.Serviceable:
			n.Serviceable++
		case judge.Beyond:
			n.Beyond++
		case judge.NoGrade:
			if v.Ungraded != "" {
				n.Ungraded++
			} else {
				n.None++
			}
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
	w := bufio.NewWriter(out) // it keeps the first error
	for i := range r.verdicts {
		v := &r.verdicts[i]
		if id := v.Line.ID(v.At); name != id && name != v.Line.Key {
			continue
		}
		if found {
			fmt.Fprintln(w)
		}
		found = true
		fmt.Fprintf(w, "%s  %s\n", v.Line.ID(v.At), r.words.Name(v))
		for _, s := range r.words.Sum(v, r.readings.At) {
			fmt.Fprintf(w, "  %s\n", s)
		}
	}
	if !found && hasLine(r.book, name) {
		return status{exitBad, fmt.Errorf("--explain %s: by --given, --serial or an amendment the line is not for this engine", name)}
	}
	if !found {
		return status{exitBad, fmt.Errorf("--explain %s: the book has no such line; its lines are %s", name, lineKeys(r.book, name))}
	}
	return w.Flush()
}

// hasLine tells whether a name is a line's key or one of its instances.
func hasLine(b *book.Book, name string) bool {
	return slices.ContainsFunc(b.Lines, func(l *book.Line) bool {
		return l.Key == name || slices.ContainsFunc(l.Instances, func(i book.Instance) bool { return l.Key+"-"+i.Label == name })
	})
}

// lineKeys lists the keys that begin like the one asked for, else all; of many the
// first.
func lineKeys(b *book.Book, name string) string {
	var near, all []string
	word, _, _ := strings.Cut(name, "-")
	for _, l := range b.Lines {
		all = append(all, l.Key)
		if strings.HasPrefix(l.Key, word) {
			near = append(near, l.Key)
		}
	}
	if len(near) > 0 {
		all = near
	}
	const most = 40
	if n := len(all) - most; n > 0 {
		all = append(all[:most], fmt.Sprintf("and %d more", n))
	}
	return strings.Join(all, ", ")
}
