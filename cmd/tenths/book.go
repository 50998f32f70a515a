package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/judge"
)

func bookCommand() *cobra.Command {
	c := &cobra.Command{Use: "book", Short: "Work with books: an engine's manual as data"}
	c.AddCommand(&cobra.Command{
		Use:   "check BOOK",
		Short: "Read a book and report everything that is wrong in it",
		Long: `Read a book and report everything that is wrong in it: file, line, column, what
stands there, what is wrong and what to do.

Exit status: 0 the book can be judged by; 2 it can't; 3 it can, but holds limits
that a person must settle.`,
		Example: "  tenths book check book.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := loadBook(args[0])
			if err != nil {
				return err
			}
			return checkBook(cmd.OutOrStdout(), args[0], b)
		},
	})
	c.AddCommand(schemaCommand(), diffCommand())
	return c
}

// loadBook reads a book; its faults, if any, are the error, counted.
func loadBook(name string) (*book.Book, error) {
	data, err := readFile(name, book.MaxSize)
	if err != nil {
		return nil, status{exitBad, err}
	}
	b, err := book.Load(name, data)
	var faults fault.List
	if errors.As(err, &faults) {
		return nil, status{exitBad, fmt.Errorf("the book has %s; nothing was judged\n%w", counted(len(faults), "fault"), faults)}
	}
	if err != nil {
		return nil, status{exitBad, err}
	}
	return b, nil
}

func checkBook(to io.Writer, name string, b *book.Book) error {
	out := bufio.NewWriter(to) // it keeps the first error
	instances, held := 0, 0
	words := judge.Words{Book: b}
	for _, l := range b.Lines {
		instances += len(l.Instances)
		if l.Limit.Held != nil {
			held++
			fmt.Fprintf(out, "%s:%d: held: %s: %s; ask the maker, then write \"from min\" or \"from max\"\n", name, l.FileLine, l.Key, words.Limits(l, l.Limit))
		}
	}
	looked := map[*book.Feature]bool{}
	for _, l := range b.Lines {
		for _, t := range l.Terms {
			looked[t.Feature] = true
		}
		if l.Moves != nil {
			looked[l.Moves.With] = true
		}
	}
	for _, p := range b.Parts {
		for _, f := range p.Features {
			if !looked[f] {
				fmt.Fprintf(out, "%s: no line looks at %s\n", name, f.Ref())
			}
		}
	}
	fmt.Fprintf(out, "%s: %s, %s, %s, %s to judge\n", name, counted(len(b.Parts), "part"),
		counted(len(b.Spots), "spot"), counted(len(b.Lines), "line"), counted(instances, "verdict"))
	if err := out.Flush(); err != nil {
		return err
	}
	if held > 0 {
		return status{code: exitOpen}
	}
	return nil
}

// counted writes "1 line", "2 lines".
func counted(n int, thing string) string {
	switch {
	case n == 1:
		return "1 " + thing
	case thing == "person":
		return fmt.Sprintf("%d people", n)
	case strings.HasSuffix(thing, "y"):
		return fmt.Sprintf("%d %sies", n, strings.TrimSuffix(thing, "y"))
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
