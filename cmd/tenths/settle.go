package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/internal/whole"
)

// A settling is what is settled, and by whom.
type settling struct {
	cell, says, by, why string
	choose              int
	again, strike       bool
	out, from, sheet    string
}

func settleCommand() *cobra.Command {
	var o settling
	c := &cobra.Command{
		Use:   "settle BOOK [LINE]",
		Short: "List what of a book waits for a person, and settle it",
		Long: `List what of a book can't be read for certain: the line, its text as printed, its
likely readings and why it waits; and settle it, once the manual has been looked at.

With LINE one cell is settled: by --choose one of the likely readings, or by --as
what it says, written as the book writes it ("blank" where the manual has nothing
there; of what a line judges: outside, inside, clearance, or length wears larger).
--why says how one knows. It is written to the file beside the book,
NAME.settled.yaml; the book's own file does not change. What was settled before is
overwritten only with --again, and stays in the file. With --strike it is taken back:
the cell waits again, and what was said stays in the file, struck, with who took it
back and why. With LINE alone all that was said of a line is shown.

With --out all that waits is written to a spreadsheet (.xlsx) or a file of
comma-separated values, with a column for the answers; --from reads it back. Rows
without an answer go on waiting. Where one answer can't be read, or the book has
another text there by now, nothing of the sheet is taken.

Exit status: 0 nothing waits any more; 2 it can't be settled so; 3 something waits.`,
		Example: `  tenths book settle limits.yaml
  tenths book settle limits.yaml bearing-bearing-clearance --choose 1 --why "the other printing has a point" --by "A. Fitter"
  tenths book settle limits.yaml bearing-bearing-clearance --strike --why "that printing is of another engine" --by "B. Turner"
  tenths book settle limits.yaml --out to-settle.xlsx
  tenths book settle limits.yaml --from to-settle.xlsx`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			one := o.says != "" || o.choose != 0 || o.again && o.from == "" || o.cell != "" || o.strike
			switch {
			case len(args) == 2 && (o.out != "" || o.from != ""):
				return errors.New("a sheet is of the whole book: leave LINE out")
			case len(args) == 1 && one:
				return errors.New("say which line: tenths book settle BOOK LINE")
			case o.out != "" && o.from != "":
				return errors.New("--out writes a sheet and --from reads one: one of the two")
			case o.out != "":
				return o.write(c.OutOrStdout(), args[0])
			case o.from != "":
				return o.read(c.OutOrStdout(), args[0])
			case o.strike && (o.says != "" || o.choose != 0 || o.again):
				return errors.New("--strike takes back what was settled: settle it otherwise afterwards, or at once with --again")
			case len(args) == 2 && o.strike:
				return o.takeBack(c.OutOrStdout(), args[0], args[1])
			case len(args) == 2 && (o.says != "" || o.choose != 0):
				return o.one(c.OutOrStdout(), args[0], args[1])
			case len(args) == 2:
				return o.list(c.OutOrStdout(), args[0], args[1])
			}
			return o.list(c.OutOrStdout(), args[0], "")
		},
	}
	f := c.Flags()
	f.StringVar(&o.cell, "cell", "", "which `CELL` of the line: new, service, or kind; needed where several wait")
	f.StringVar(&o.says, "as", "", "what the cell says: a `TEXT` as the book writes it, or blank")
	f.IntVar(&o.choose, "choose", 0, "the likely reading of that `NUMBER`")
	f.StringVar(&o.why, "why", "", "how one knows, in a `TEXT`: another printing, the maker's letter; with --strike, why it is taken back")
	f.StringVar(&o.by, "by", os.Getenv("TENTHS_BY"), "who settles it, by `NAME` (or TENTHS_BY)")
	f.BoolVar(&o.again, "again", false, "settle otherwise what was settled before")
	strikeFlag(c, &o.strike, "settled")
	f.StringVar(&o.out, "out", "", "write what waits to this `FILE`, .xlsx or .csv")
	f.StringVar(&o.from, "from", "", "read the answers from this `FILE`")
	f.StringVar(&o.sheet, "sheet", "", "the sheet of a spreadsheet that is read; the first that has cells if left out")
	return c
}

// list prints what waits, of one line or of all.
func (o *settling) list(to io.Writer, name, line string) error {
	b, err := loadBook(name)
	if err != nil {
		return err
	}
	if _, ok := b.Line(line); line != "" && !ok {
		return noLine(b, line)
	}
	p := newPage(to)
	all := check.Doubts(b)
	var last *book.Line
	unfilled := map[*book.Line]bool{}
	for i := range all {
		d := &all[i]
		if d.Line.Unfilled() && line == "" {
			unfilled[d.Line] = true
			continue
		}
		if line != "" && d.Line.Key != line {
			continue
		}
		if d.Line != last {
			p.wrap("", fmt.Sprintf("%s:%d: %s", name, d.FileLine, title(d.Line)), 2)
		}
		last = d.Line
		tellDoubt(p, d)
	}
	if l, ok := b.Line(line); ok {
		if last == nil {
			p.wrap("", fmt.Sprintf("%s:%d: %s", name, l.FileLine, title(l)), 2)
		}
		tellSettled(p, b, l)
	}
	if len(unfilled) > 0 {
		p.wrap("", name+": "+noLimits(len(unfilled)), 2)
	}
	p.wrap("", name+": "+book.Count(all), 2)
	if len(all) > 0 {
		p.wrap("", fmt.Sprintf("settle one: tenths book settle %s LINE --choose NUMBER (or --as TEXT) --why \"how you know\" --by NAME; or all in a sheet: --out FILE.xlsx", name), 2)
	}
	if err := p.Flush(); err != nil || len(all) == 0 {
		return err
	}
	return status{code: exitOpen}
}

// tellDoubt prints one cell that waits: what is printed, why, the likely readings,
// and the row as each would make it.
func tellDoubt(p page, d *book.Doubt) {
	text := d.Cell + ", nothing there"
	if d.Text != "" {
		text = fmt.Sprintf("%s %q", d.Cell, d.Text)
	}
	if d.Why != "" {
		text += ": " + d.Why
	}
	p.wrap("  ", text, 4)
	for n, m := range d.May {
		text := fmt.Sprintf("%d  %s", n+1, m)
		if d.Cell != book.HoldKind {
			text += "  (the row: " + written(d, m) + ")"
		}
		p.wrap("    ", text, 7)
	}
}

// written is a row's limits as they would be with a cell settled.
func written(d *book.Doubt, says string) string {
	cells := d.Line.Says
	if says == "blank" {
		says = ""
	}
	if d.Cell == book.HoldNew {
		cells.New = says
	} else {
		cells.Service = says
	}
	var all []string
	for _, c := range []struct{ name, says string }{{"new", cells.New}, {"service", cells.Service}} {
		if c.says != "" {
			all = append(all, c.name+" "+c.says)
		}
	}
	return cmp.Or(strings.Join(all, ", "), "no limits")
}

// one settles one cell.
func (o *settling) one(to io.Writer, name, line string) error {
	return o.take(to, name, 0, func(b *book.Book) ([]book.Saying, error) {
		if _, ok := b.Line(line); !ok {
			return nil, noLine(b, line)
		}
		d, err := find(b, line, o.cell)
		if err != nil {
			return nil, err
		}
		says := o.says
		switch {
		case o.says != "" && o.choose != 0:
			return nil, errors.New("--as says what the cell says, and --choose chooses it: one of the two")
		case o.choose != 0 && (o.choose < 1 || o.choose > len(d.May)):
			return nil, fmt.Errorf("--choose %d: %s of %s has %s: say what it says with --as", o.choose, d.Cell, line, counted(len(d.May), "likely reading"))
		case o.choose != 0:
			says = d.May[o.choose-1]
		}
		return []book.Saying{{Line: line, Cell: d.Cell, Says: says, By: o.by, Why: o.why, Date: time.Now().Format(time.DateOnly)}}, nil
	})
}

// takeBack takes back what was settled of a cell.
func (o *settling) takeBack(to io.Writer, name, line string) error {
	done, err := strike(to, name, func([]byte) ([]book.Striking, error) {
		return []book.Striking{{Line: line, Cell: o.cell, By: o.by, Why: o.why, Date: time.Now().Format(time.DateOnly)}}, nil
	})
	if err != nil {
		return err
	}
	waits := done.Book.Doubts()
	if _, err := fmt.Fprintf(to, "%s: %s\n", name, book.Count(waits)); err != nil || len(waits) == 0 {
		return err
	}
	return status{code: exitOpen}
}

func noLine(b *book.Book, line string) error {
	return fmt.Errorf("the book has no line %q; its lines are %s", line, lineKeys(b, line))
}

// find finds the cell of a line that waits, or that was settled, by its name; an
// empty name means the only one that waits, or else the only one settled.
func find(b *book.Book, line, cell string) (d book.Doubt, err error) {
	var all []book.Doubt
	for _, d := range check.Doubts(b) {
		if d.Line.Key == line && (cell == "" || d.Cell == cell) {
			all = append(all, d)
		}
	}
	if l, _ := b.Line(line); len(all) == 0 {
		for _, s := range l.Settled {
			if cell == "" || s.Cell == cell {
				all = append(all, book.Doubt{Line: l, Hold: s.Hold})
			}
		}
	}
	switch {
	case len(all) == 1:
		return all[0], nil
	case len(all) == 0:
		return d, fmt.Errorf("%s does not wait for a person; tenths book settle lists what does", strings.TrimSpace(line+" "+cell))
	}
	var names []string
	for _, d := range all {
		names = append(names, "--cell "+d.Cell)
	}
	return d, fmt.Errorf("several cells of %s wait: say which with %s", line, strings.Join(names, " or "))
}

// take settles what is said, and writes it beside the book; open rows of a sheet
// said nothing.
func (o *settling) take(to io.Writer, name string, open int, said func(*book.Book) ([]book.Saying, error)) error {
	var done book.Answered
	err := changeSettled(name, "settled", func(b *book.Book, own, settled []byte) ([]byte, error) {
		sayings, err := said(b)
		if err != nil {
			return nil, err
		}
		var text []byte
		text, done, err = book.Answer(name, own, settled, sayings, o.again)
		return text, err
	})
	if err != nil {
		return err
	}
	p := newPage(to)
	for _, s := range done.Settled {
		l, _ := done.Book.Line(s.Line)
		p.wrap("", fmt.Sprintf("%s, %s, printed %q: settled as %s", s.Line, s.Cell, s.Text, s.Says), 2)
		if l.Contradiction != "" {
			p.wrap("  ", "it waits still: "+l.Contradiction, 4)
		}
	}
	if n := len(done.Settled); n > 0 {
		p.wrap("", fmt.Sprintf("%s settled in %s", counted(n, "cell"), book.SettledName(name)), 2)
	}
	if n := len(done.Same); n > 0 {
		p.wrap("", fmt.Sprintf("%s settled so already: nothing to add", counted(n, "cell")), 2)
	}
	if open > 0 {
		p.wrap("", fmt.Sprintf("%s without an answer", counted(open, "row")), 2)
	}
	waits := done.Book.Doubts()
	p.wrap("", name+": "+book.Count(waits), 2)
	if err := p.Flush(); err != nil || len(waits) == 0 {
		return err
	}
	return status{code: exitOpen}
}

// write writes what waits to a sheet.
func (o *settling) write(to io.Writer, name string) error {
	b, err := loadBook(name)
	if err != nil {
		return err
	}
	waits := check.Doubts(b)
	if len(waits) == 0 {
		_, err := fmt.Fprintf(to, "%s: %s; no sheet was written\n", name, book.Count(waits))
		return err
	}
	if err := writeSheets(o.out, intake.HoldsSheet(waits)); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(to, "%s: %s, a row each in %s: fill in Answer, How you know and Who, then tenths book settle %s --from %s\n", name, book.Count(waits), o.out, name, o.out); err != nil {
		return err
	}
	return status{code: exitOpen}
}

// read settles what a sheet answers.
func (o *settling) read(to io.Writer, name string) error {
	data, err := readFile(o.from, table.MaxSize)
	if err != nil {
		return err
	}
	s, faults := table.Read(o.from, o.sheet, data)
	if len(faults) > 0 {
		return faults
	}
	sayings, open, faults := intake.Answers(s, o.by, o.why, time.Now().Format(time.DateOnly))
	if len(faults) > 0 {
		return fmt.Errorf("nothing was settled\n%w", faults)
	}
	return o.take(to, name, open, func(*book.Book) ([]book.Saying, error) { return sayings, nil })
}

// writeSheets writes sheets to a new file, of the kind that its name says: of
// comma-separated values the rows of all, one sheet below the other.
func writeSheets(name string, sheets ...table.Out) error {
	var b bytes.Buffer
	var err error
	switch strings.ToLower(filepath.Ext(name)) {
	case ".xlsx":
		err = table.WriteXLSX(&b, sheets...)
	case ".csv":
		var rows [][]string
		for i, s := range sheets {
			if i > 0 {
				rows = append(rows, nil)
			}
			rows = append(rows, s.Rows...)
		}
		err = table.WriteCSV(&b, rows)
	default:
		return fmt.Errorf("%s: a sheet's name ends in .xlsx or .csv", name)
	}
	if err != nil {
		return err
	}
	// What is there may be filled in.
	if _, err := os.Lstat(name); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is there already: name another file, or take it away", name)
	}
	return whole.Write(name, b.Bytes())
}
