package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/internal/whole"
)

// An importing is what one table is imported with.
type importing struct {
	sheet, into, mapping, unit, decimal string
	columns, answers, kinds             []string
	headings                            int
	title                               intake.Title
}

func importCommand() *cobra.Command {
	var o importing
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Make a book of a table of limits in a spreadsheet or a CSV file",
		Long: `Make a book of a table of limits that is in a spreadsheet (.xlsx) or a file of
comma-separated values.

Columns are recognised by their headings, or set with --map: ref, page, part, name,
unit, new, new min, new max, service, service min, service max, note, skip; behind
new or service may stand a second unit ("new mm"). A column without a heading is
named by its letter. What a row judges is suggested from its words, and set with
--kind. What a table means by a blank, an asterisk or N/A in its column of service
limits is asked once, and answered with --answer: "not stated", "none" (no wear is
allowed) or "same as new".

What can't be read for certain becomes a hold, with its likely readings and why. Every
row becomes a line, held or not. What was said of the table is kept beside the book
(book.mapping.yaml) and used again for the manual's next table, which is added to the
same book.

Exit status: 0 every row is a line; 2 the table can't be read; 3 rows are held.`,
		Example: `  tenths book import limits.csv --map "Wear limit=service" --into limits.yaml
  tenths book import limits.csv --answer "blank=not stated" --answer "(*)=same as new"`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return o.run(cmd.OutOrStdout(), args[0])
		},
	}
	f := c.Flags()
	f.StringVar(&o.sheet, "sheet", "", "the sheet of a spreadsheet; the first that has cells if left out")
	f.StringArrayVar(&o.columns, "map", nil, "what a column holds, as \"Wear limit=service\" or \"C=new\"")
	f.StringArrayVar(&o.answers, "answer", nil, "what a mark means for the whole table, as \"blank=not stated\"")
	f.StringArrayVar(&o.kinds, "kind", nil, "what a row judges, as \"Cam lobe=outside\"")
	f.StringVar(&o.unit, "unit", "", "the unit of lengths, where the table does not say")
	f.IntVar(&o.headings, "headings", 0, "the row that the headings stand on, where it is not recognised; -1: there are none")
	f.StringVar(&o.decimal, "decimal", "", "point or comma, where that is not plain")
	f.StringVar(&o.into, "into", "", "the book to write, or to add to; FILE with .yaml if left out")
	f.StringVar(&o.mapping, "mapping", "", "the file that what was said is kept in; beside the book if left out")
	f.StringVar(&o.title.Engine, "engine", "", "of a new book: the engine model")
	f.StringVar(&o.title.Manual, "manual", "", "of a new book: the manual's title")
	f.StringVar(&o.title.Number, "number", "", "of a new book: the manual's number")
	f.StringVar(&o.title.Revision, "revision", "", "of a new book: its revision")
	f.StringVar(&o.title.Date, "date", "", "of a new book: its date")
	return c
}

func (o *importing) run(to io.Writer, name string) error {
	if o.into == "" {
		o.into = strings.TrimSuffix(name, filepath.Ext(name)) + ".yaml"
	}
	if o.mapping == "" {
		o.mapping = strings.TrimSuffix(o.into, filepath.Ext(o.into)) + ".mapping.yaml"
	}
	m, err := o.said()
	if err != nil {
		return err
	}
	data, err := readFile(name, table.MaxSize)
	if err != nil {
		return err
	}
	s, faults := table.Read(name, o.sheet, data)
	if len(faults) > 0 {
		return faults
	}
	d, faults := intake.Read(s, m)
	if len(faults) > 0 {
		return faults
	}
	text, added, err := o.book(d)
	if err != nil {
		return err
	}
	// A mapping without its book does no harm; a book without it would be asked of
	// again.
	if err := whole.Write(o.mapping, m.Text()); err != nil {
		return err
	}
	if err := whole.Write(o.into, text); err != nil {
		return err
	}
	out := bufio.NewWriter(to) // it keeps the first error
	tellDraft(out, name, d)
	if added {
		fmt.Fprintf(out, "%s: added to; what was said of the table is in %s\n", o.into, o.mapping)
	} else {
		fmt.Fprintf(out, "%s: written; what was said of the table is in %s\n", o.into, o.mapping)
	}
	_, held := d.Count()
	if held > 0 {
		fmt.Fprintf(out, "what is held is listed by tenths book settle %s, and settled by it\n", o.into)
	}
	if err := out.Flush(); err != nil {
		return err
	}
	if held > 0 {
		return status{code: exitOpen}
	}
	return nil
}

// said is what the user said of the manual's tables, now and before.
func (o *importing) said() (m intake.Mapping, err error) {
	switch data, err := readFile(o.mapping, book.MaxSize); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return m, err
	default:
		if m, err = intake.ParseMapping(data); err != nil {
			return m, fmt.Errorf("%s: %w", o.mapping, err)
		}
	}
	for _, add := range []struct {
		list []string
		set  func(string) error
	}{{o.columns, m.Set}, {o.answers, m.Answer}, {o.kinds, m.Kind}} {
		for _, text := range add.list {
			if err := add.set(text); err != nil {
				return m, err
			}
		}
	}
	if o.unit != "" {
		m.Unit = o.unit
	}
	if o.decimal != "" {
		m.Decimal = o.decimal
	}
	if o.headings != 0 {
		m.Headings = o.headings
	}
	return m, m.Check()
}

// book is the text of the book with the table in it; added tells that it was
// there already.
func (o *importing) book(d *intake.Draft) (text []byte, added bool, err error) {
	was, err := readFile(o.into, book.MaxSize)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, false, err
	default:
		added = true
	}
	text, err = d.Make(o.into, was, o.title)
	return text, added, err
}

// tellDraft prints what a table came to: how it was understood, what is asked,
// what is held, and that no row is lost.
func tellDraft(out io.Writer, name string, d *intake.Draft) {
	for _, s := range d.Said {
		fmt.Fprintf(out, "%s: %s\n", name, s)
	}
	for _, c := range d.Columns {
		if c.Heading == "" && c.Role == intake.Skip {
			continue
		}
		second := ""
		if c.Second {
			second = ", in " + c.Unit.String() + ", which checks"
		}
		fmt.Fprintf(out, "column %q: %s%s\n", c.Heading, c.Role, second)
	}
	for _, n := range d.Notes {
		what := "note"
		if n.Heading {
			what = "heading"
		}
		fmt.Fprintf(out, "%s:%d: %s: %s\n", name, n.Line, what, n.Text)
	}
	for i := range d.Rows {
		r := &d.Rows[i]
		if r.Contradiction != "" {
			fmt.Fprintf(out, "%s:%d: held: %s: new %q, service %q: %s; tenths book check says what may be meant\n", name, r.FileLine, r.Name, r.Printed.New, r.Printed.Service, r.Contradiction)
		}
		for _, h := range r.Holds {
			fmt.Fprintf(out, "%s:%d: held: %s: %s %q: %s", name, r.FileLine, r.Name, h.Cell, h.Text, h.Why)
			if len(h.May) > 0 {
				fmt.Fprintf(out, "; perhaps %s", strings.Join(h.May, ", or "))
			}
			fmt.Fprintln(out)
		}
	}
	for _, a := range d.Asks {
		what := "what does the table mean by " + a.Mark + " in its column of service limits"
		if a.Mark == "wear" {
			what = "from which end of the new limits are amounts of wear counted"
		}
		fmt.Fprintf(out, "asked: %s (%s)? Import the table again with --answer \"%s=…\": %s\n", what, counted(a.Rows, "row"), a.Mark, strings.Join(a.May, ", or "))
	}
	rows, held := d.Count()
	fmt.Fprintf(out, "%s = %s + %d held\n", counted(rows, "row"), counted(rows-held, "line"), held)
}
