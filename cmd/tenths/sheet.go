package main

import (
	"bytes"
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

func sheetCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "sheet BOOK FILE",
		Short: "Write a book as a spreadsheet, to be filled in or changed and imported again",
		Long: `Write a book as a spreadsheet (.xlsx) or a file of comma-separated values: all that
it says, a row for each line of its table of limits, each part and each feature.
tenths book import FILE makes the same book of it again, with what was filled in or
changed; comments are lost. What was settled of the book stays in its own file.

Exit status: 0 it is written; 2 the book can't be read, or FILE is there already.`,
		Example: "  tenths book sheet book.yaml book.xlsx",
		Args:    cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			b, err := loadBook(args[0])
			if err != nil {
				return err
			}
			own, err := readFile(args[0], book.MaxSize)
			if err != nil {
				return err
			}
			sheets, err := intake.BookSheets(own)
			if err != nil {
				return err
			}
			if err := writeSheets(args[1], sheets...); err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "%s: %s written; tenths book import %s makes the book of it again\n", args[1], counted(len(b.Lines), "line"), args[1])
			return err
		},
	}
}

// sheets imports a book that was written as sheets, of which first is the first,
// and returns what tells of it.
func (o *importing) sheets(first table.Sheet, data []byte, m intake.Mapping) (tell func(io.Writer) error, err error) {
	f, faults := intake.ReadBookSheets(first, data, m)
	switch {
	case len(faults) > 0:
		return nil, fmt.Errorf("nothing was written\n%w", faults)
	case o.sheet != "" || o.unit != "" || o.decimal != "" || len(o.columns) > 0 || len(o.kinds) > 0 || o.title != (intake.Title{}):
		return nil, errors.New("this is a book as a sheet, which says all that itself: only --into, --mapping and --answer go with it")
	}
	switch was, err := readFile(o.into, book.MaxSize); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	case f.Edition != intake.Edition(was) && !bytes.Equal(f.Text, was):
		return nil, fmt.Errorf("%s is not the book that the sheet was written from: import the sheet with --into another file, and compare the two with tenths book diff", o.into)
	}
	switch settled, err := readFile(book.SettledName(o.into), book.MaxSize); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	default:
		if _, err := book.Load(o.into, book.Join(f.Text, settled)); err != nil {
			return nil, fmt.Errorf("what was settled of the book does not go with it any more; nothing was written\n%w", err)
		}
	}
	if len(m.Answers) > 0 {
		if err := whole.Write(o.mapping, m.Text()); err != nil {
			return nil, err
		}
	}
	if err := whole.Write(o.into, f.Text); err != nil {
		return nil, err
	}
	return func(to io.Writer) error { return o.tellSheets(to, f) }, nil
}

// tellSheets prints what sheets came to, and what is to be done next.
func (o *importing) tellSheets(to io.Writer, f *intake.Filled) error {
	p := newPage(to)
	for _, d := range f.Book.Doubts() {
		if !d.Unfilled() {
			p.wrap("", "held: "+title(d.Line), 2)
			tellDoubt(p, &d)
		}
	}
	tellAsks(p, f.Asks)
	p.wrap("", fmt.Sprintf("%s: %s: %d to judge by, %d without limits as yet, %d held", o.into, counted(len(f.Book.Lines), "line"), len(f.Book.Lines)-f.Unfilled-f.Held, f.Unfilled, f.Held), 2)
	if f.Held > 0 {
		p.wrap("", settleWith(o.into), 2)
	}
	if err := p.Flush(); err != nil {
		return err
	}
	if f.Held+f.Unfilled > 0 {
		return status{code: exitOpen}
	}
	return nil
}

// settleWith says where one goes on with what is held.
func settleWith(book string) string {
	return "what is held is listed by tenths book settle " + book + ", and settled by it"
}

// tellAsks prints what is asked of the whole table.
func tellAsks(out io.Writer, asks []intake.Ask) {
	for _, a := range asks {
		what := "what does the table mean by " + a.Mark + " in its column of service limits"
		switch a.Mark {
		case "wear":
			what = "from which end of the new limits are amounts of wear counted"
		case "unit":
			fmt.Fprintf(out, "asked: which unit are the lengths in (%s)? Import it again with --unit %s", counted(a.Rows, "row"), strings.Join(a.May, ", or --unit "))
			if a.Likely != "" {
				fmt.Fprintf(out, "; likely %s: %s", a.Likely, a.Why)
			}
			fmt.Fprintln(out)
			continue
		}
		fmt.Fprintf(out, "asked: %s (%s)? Import the table again with --answer \"%s=…\": %s\n", what, counted(a.Rows, "row"), a.Mark, strings.Join(a.May, ", or "))
	}
}

// besideBook names a file beside a book: engine.xlsx beside engine.yaml.
func besideBook(name, ext string) string { return strings.TrimSuffix(name, filepath.Ext(name)) + ext }
