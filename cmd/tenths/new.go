package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/whole"
	"tenths/metrology/quantity"
)

// A beginning is the engine that a book is begun for, as it is said.
type beginning struct {
	engine intake.Engine
	unit   string
	sheet  string
}

func newCommand() *cobra.Command {
	var o beginning
	c := &cobra.Command{
		Use:   "new BOOK",
		Short: "Begin a book: the usual lines of an engine by name, to be filled in",
		Long: `Begin a book for an engine: its parts, what is usually measured on them, and every
usual line by name, as the book's file and as a spreadsheet beside it. Where
everything is (layout) is as it usually is, so that the engine is drawn: look it over.
Its limits are empty. Fill in the sheet from the manual in hand, take out what the engine has not
got, and import it again; or settle lines one by one. A line without limits is shown,
and not graded.

On a terminal it asks for what is not said by options.

Exit status: 0 it is written; 2 there is no such engine, or the files are there
already.`,
		Example: `  tenths book new begun.yaml --arrangement opposed --cylinders 4 --mains 3 --unit in --engine "My engine"`,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			asks := false
			if f, ok := c.InOrStdin().(*os.File); ok {
				asks = term.IsTerminal(int(f.Fd()))
			}
			if err := o.ask(c.InOrStdin(), c.OutOrStdout(), asks, c.Flags().Changed); err != nil {
				return err
			}
			return o.write(c.OutOrStdout(), args[0])
		},
	}
	f := c.Flags()
	e := &o.engine
	f.StringVar(&e.Arrangement, "arrangement", "", "how the cylinders stand: `opposed|in-line|radial`")
	f.IntVar(&e.Cylinders, "cylinders", 0, "how many cylinders: a `NUMBER`")
	f.IntVar(&e.Mains, "mains", 0, "how many main journals: a `NUMBER`")
	f.IntVar(&e.Rows, "rows", 1, "of a radial engine: how many rows, a `NUMBER`")
	f.StringVar(&o.unit, "unit", "", "the unit of lengths: `in|mm`")
	f.StringVar(&o.sheet, "sheet", "", "the spreadsheet, a `FILE` in .xlsx or .csv; BOOK with .xlsx if left out")
	f.StringVar(&e.Engine, "engine", "", "the engine model, by `NAME`")
	f.StringVar(&e.Manual, "manual", "", "the manual's `TITLE`")
	f.StringVar(&e.Number, "number", "", "the manual's `NUMBER`")
	f.StringVar(&e.Revision, "revision", "", "the manual's revision, a `TEXT`")
	f.StringVar(&e.Date, "date", "", "the manual's `DATE`")
	return c
}

// ask asks for what was not said; where nobody is there to be asked, what must be
// said and was not is an error.
func (o *beginning) ask(from io.Reader, to io.Writer, asks bool, said func(string) bool) error {
	e := &o.engine
	in := bufio.NewReader(from)
	number := func(n *int) func(string) error {
		return func(text string) (err error) {
			if *n, err = strconv.Atoi(text); err != nil {
				err = errors.New("write a number")
			}
			return err
		}
	}
	word := func(into *string, words ...string) func(string) error {
		return func(text string) error {
			for _, w := range words {
				if strings.EqualFold(text, w) {
					*into = w
					return nil
				}
			}
			*into = text
			if len(words) > 0 {
				return errors.New("write " + strings.Join(words, " or "))
			}
			return nil
		}
	}
	var missing []string
	for _, q := range []struct {
		option, question string
		needed           bool
		take             func(string) error
	}{
		{"engine", "Which engine model is the book for?", false, word(&e.Engine)},
		{"arrangement", "How do its cylinders stand: opposed, in-line or radial?", true, word(&e.Arrangement, intake.Arrangements...)},
		{"cylinders", "How many cylinders has it?", true, number(&e.Cylinders)},
		{"rows", "In how many rows?", false, number(&e.Rows)},
		{"mains", "How many main journals has its crankshaft?", true, number(&e.Mains)},
		{"unit", "Are lengths in the manual in in or in mm?", true, word(&o.unit, "in", "mm")},
		{"manual", "What is the manual's title?", false, word(&e.Manual)},
		{"number", "Its number?", false, word(&e.Number)},
		{"revision", "Its revision?", false, word(&e.Revision)},
		{"date", "Its date?", false, word(&e.Date)},
	} {
		switch {
		case said(q.option), q.option == "rows" && e.Arrangement != "radial":
		case !asks && q.needed:
			missing = append(missing, "--"+q.option)
		case asks:
			if err := question(in, to, q.question, q.needed, q.take); err != nil {
				return err
			}
		}
	}
	if len(missing) > 0 {
		return fmt.Errorf("say %s", strings.Join(missing, ", "))
	}
	u, err := quantity.ParseUnit(o.unit)
	if err != nil {
		return fmt.Errorf("--unit %s: write in or mm", o.unit)
	}
	e.Unit = u
	return e.Check()
}

// question asks until the answer is taken. An empty one leaves out what need not be
// said.
func question(in *bufio.Reader, to io.Writer, text string, needed bool, take func(string) error) error {
	for {
		if !needed {
			text = strings.TrimSuffix(text, " (or nothing)") + " (or nothing)"
		}
		fmt.Fprintf(to, "%s ", text)
		line, err := in.ReadString('\n')
		line = strings.TrimSpace(line)
		switch {
		case line == "" && err != nil:
			return errors.New("the questions were not answered")
		case line == "" && needed:
			continue
		case line == "":
			return nil
		}
		if err := take(line); err != nil {
			fmt.Fprintf(to, "%q: %v\n", line, err)
			continue
		}
		return nil
	}
}

// write writes the book and its sheet, both or none.
func (o *beginning) write(to io.Writer, name string) error {
	own, err := intake.Skeleton(o.engine)
	if err != nil {
		return err
	}
	b, err := book.Load(name, own)
	if err != nil {
		panic("BUG: a book that was begun: " + err.Error())
	}
	sheets, err := intake.BookSheets(own)
	if err != nil {
		return err
	}
	if o.sheet == "" {
		o.sheet = besideBook(name, ".xlsx")
	}
	if _, err := os.Lstat(name); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is there already: name another file, or take it away", name)
	}
	if err := writeSheets(o.sheet, sheets...); err != nil {
		return err
	}
	if err := whole.Write(name, own); err != nil {
		return errors.Join(err, os.Remove(o.sheet))
	}
	p := newPage(to)
	p.wrap("", fmt.Sprintf("%s: %s begun, of %s; no limits stated yet", name, counted(len(b.Lines), "line"), counted(len(b.Parts), "part")), 2)
	p.wrap("", fmt.Sprintf("fill in New and Service in %s from the manual, take out what the engine has not got, then: tenths book import %s --into %s", o.sheet, o.sheet, name), 2)
	p.wrap("", fmt.Sprintf("its drawings are by the layout as such an engine often has it: hold it against the manual (layout: in %s, the sheet Book in %s)", name, o.sheet), 2)
	return p.Flush()
}
