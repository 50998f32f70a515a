package main

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
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
	counts, measured                    []string
	across                              string
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
allowed) or "same as new". Which unit its lengths are in is asked where nothing says
it, and answered with --unit; until then nothing is written.

Each row is one spot to measure until it is said otherwise: --count how many of a part
the engine has, by the part's name as the import prints it; --measured how many of a
row's thing each part has, and in which planes and directions each is measured
("3 places, front and rear, 0 and 90"; what begins with a letter is a plane, with a
digit a direction, unless "planes" or "directions" stands before it); --across in which
directions the diameters of the whole table are measured. A row's own --measured goes
before it. Of what wears smaller the smallest reading counts then, of what wears larger
the largest.

What can't be read for certain becomes a hold, with its likely readings and why. Every
row becomes a line, held or not. What was said of the table is kept beside the book
(book.mapping.yaml) and used again for the manual's next table, which is added to the
same book. A table that is imported once more with other answers takes the place of
what it came to before, as long as nobody has changed that. The book is checked, see
tenths book check.

A sheet that tenths book sheet or tenths book new has written comes back as the book
that it is, with what was filled in; empty limits go on waiting.

Exit status: 0 every row is a line; 2 the table can't be read, or its unit must be
said first; 3 rows are held.`,
		Example: `  tenths book import limits.csv --map "Wear limit=service" --into limits.yaml
  tenths book import limits.csv --answer "blank=not stated" --answer "(*)=same as new"
  tenths book import limits.csv --count "Main bearing=3" --measured "Main journal diameter=3 places, front and rear, 0 and 90"`,
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
	f.StringArrayVar(&o.counts, "count", nil, "how many of a part the engine has, as \"Cylinder=4\"")
	f.StringArrayVar(&o.measured, "measured", nil, "where a row is measured, as \"Main journal diameter=3 places, front and rear, 0 and 90\"")
	f.StringVar(&o.across, "across", "", "the directions in which diameters are measured, as \"0, 90\"; \"one\" takes it back")
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
		o.into = besideBook(name, ".yaml")
	}
	if o.mapping == "" {
		o.mapping = besideBook(o.into, ".mapping.yaml")
	}
	data, err := readFile(name, table.MaxSize)
	if err != nil {
		return err
	}
	s, faults := table.Read(name, o.sheet, data)
	first, unread := s, faults
	if o.sheet != "" {
		first, unread = table.Read(name, "", data)
	}
	sheets := len(unread) == 0 && intake.IsBookSheet(first)
	if len(faults) > 0 && !sheets {
		return faults
	}
	// What is added to a book, or settled of it, meanwhile would be lost.
	var tell func(io.Writer) error
	err = whole.Alone(book.SettledName(o.into), func() (err error) {
		before, m, err := o.said()
		switch {
		case err != nil:
		case sheets:
			tell, err = o.sheets(first, data, m)
		default:
			tell, err = o.table(name, s, before, m)
		}
		return err
	})
	if err != nil {
		return err
	}
	return tell(to)
}

// table imports a table, and returns what tells of it.
func (o *importing) table(name string, s table.Sheet, before, m intake.Mapping) (tell func(io.Writer) error, err error) {
	d, faults := intake.Read(s, m)
	if len(faults) > 0 {
		return nil, faults
	}
	if d.NeedsUnit() {
		return func(to io.Writer) error {
			out := bufio.NewWriter(to)
			tellDraft(out, name, d)
			if err := out.Flush(); err != nil {
				return err
			}
			return status{exitBad, errors.New("nothing was written: say which unit the lengths are in, with --unit in or --unit mm")}
		}, nil
	}
	made, err := o.book(s, d, before)
	if err != nil {
		return nil, err
	}
	// A mapping without its book does no harm; a book without it would be asked of
	// again.
	if err := whole.Write(o.mapping, m.Text()); err != nil {
		return nil, err
	}
	if err := whole.Write(o.into, made.text); err != nil {
		return nil, err
	}
	return func(to io.Writer) error { return o.tell(to, name, d, made) }, nil
}

// tell prints what a table came to, and what is to be done next.
func (o *importing) tell(to io.Writer, name string, d *intake.Draft, made made) error {
	out := bufio.NewWriter(to) // it keeps the first error
	tellDraft(out, name, d)
	fmt.Fprintf(out, "%s: %s; what was said of the table is in %s\n", o.into, made.how, o.mapping)
	fmt.Fprintf(out, "%s: %s to measure: %s; --count, --measured and --across say otherwise\n", o.into, counted(made.book.Asked(), "spot"), partsOf(d, made.book))
	n := checkBook(o.into, made.book).counts()
	fmt.Fprintf(out, "%s: checked: %s, %s, %s\n", o.into, counted(n.Faults, "fault"), counted(n.Doubts, "doubt"), counted(n.Notes, "note"))
	if n.Faults+n.Doubts > 0 {
		fmt.Fprintf(out, "tenths book check %s shows them\n", o.into)
	}
	if slices.ContainsFunc(made.book.Lines, func(l *book.Line) bool { return l.IsClearance() && l.Judges == book.Size }) {
		fmt.Fprintf(out, "tenths book links %s looks which clearances are the fit of two sizes, and need not be measured\n", o.into)
	}
	_, held := d.Count()
	if held > 0 {
		fmt.Fprintln(out, settleWith(o.into))
	}
	if err := out.Flush(); err != nil {
		return err
	}
	if held > 0 {
		return status{code: exitOpen}
	}
	return nil
}

// partsOf are the table's parts, and how many of each the book has.
func partsOf(d *intake.Draft, b *book.Book) string {
	var all []string
	for _, p := range d.Parts() {
		for _, q := range b.Parts {
			if q.Key == p.Key {
				all = append(all, fmt.Sprintf("%d × %s", max(1, q.Positions), p.Name))
			}
		}
	}
	return strings.Join(all, ", ")
}

// said is what the user said of the manual's tables, before and with what is said
// now.
func (o *importing) said() (before, m intake.Mapping, err error) {
	data, err := readFile(o.mapping, book.MaxSize)
	if err == nil {
		if before, err = intake.ParseMapping(data); err != nil {
			return before, m, fmt.Errorf("%s: %w", o.mapping, err)
		}
		m, err = intake.ParseMapping(data)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return before, m, err
	}
	for _, add := range []struct {
		list []string
		set  func(string) error
	}{{o.columns, m.Set}, {o.answers, m.Answer}, {o.kinds, m.Kind}, {o.counts, m.Count}, {o.measured, m.Measure}} {
		for _, text := range add.list {
			if err := add.set(text); err != nil {
				return before, m, err
			}
		}
	}
	if o.unit != "" {
		m.Unit = o.unit
	}
	if o.across != "" {
		across, err := intake.ParseAcross(o.across)
		if err != nil {
			return before, m, err
		}
		m.Across = strings.Join(across, ", ")
	}
	if o.decimal != "" {
		m.Decimal = o.decimal
	}
	if o.headings != 0 {
		m.Headings = o.headings
	}
	return before, m, m.Check()
}

// A made is the book with a table in it.
type made struct {
	text []byte
	book *book.Book // with what was settled of it
	how  string     // written, added to, written anew
}

// book makes the book with the table in it. A book that is there already is added
// to; where it is what the same table came to with what was said before, it is
// written anew.
func (o *importing) book(s table.Sheet, d *intake.Draft, before intake.Mapping) (m made, err error) {
	title := o.title
	was, err := readFile(o.into, book.MaxSize)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		m.how = "written"
	case err != nil:
		return m, err
	default:
		b, err := book.Load(o.into, was)
		if err != nil {
			return m, fmt.Errorf("the book that the table is to be added to has faults; nothing was written\n%w", err)
		}
		then := intake.Title{Engine: b.Engine, Manual: b.Manual.Title, Number: b.Manual.Number, Revision: b.Manual.Revision, Date: b.Manual.Date}
		if d0, faults := intake.Read(s, before); len(faults) == 0 && bytes.Equal(d0.Book(then), was) {
			title, was, m.how = o.titled(then), nil, "written anew"
			break
		}
		if d.Stands(b) {
			return m, fmt.Errorf("%s has every row of this table already, with the same limits as new, and has been changed since; nothing was added. To read the table anew, import it into a book of its own (--into), or take its lines out first", o.into)
		}
		m.how = "added to"
	}
	if m.text, m.book, err = d.Make(o.into, was, title); err != nil {
		return m, err
	}
	settled, err := readFile(book.SettledName(o.into), book.MaxSize)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return m, nil
	case err != nil:
		return m, err
	}
	if m.book, err = book.Load(o.into, book.Join(m.text, settled)); err != nil {
		return m, fmt.Errorf("what is settled in %s does not go with the book that the table comes to; nothing was written\n%w", book.SettledName(o.into), err)
	}
	return m, nil
}

// titled is what the user says of the book, and where that is nothing what it
// said of itself.
func (o *importing) titled(was intake.Title) intake.Title {
	t := o.title
	return intake.Title{
		Engine: cmp.Or(t.Engine, was.Engine), Manual: cmp.Or(t.Manual, was.Manual), Number: cmp.Or(t.Number, was.Number),
		Revision: cmp.Or(t.Revision, was.Revision), Date: cmp.Or(t.Date, was.Date),
	}
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
	tellAsks(out, d.Asks)
	rows, held := d.Count()
	fmt.Fprintf(out, "%s = %s + %d held\n", counted(rows, "row"), counted(rows-held, "line"), held)
}
