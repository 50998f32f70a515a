package main

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/fault"
)

func bookCommand() *cobra.Command {
	c := &cobra.Command{Use: "book", Short: "Work with books: an engine's manual as data"}
	c.AddCommand(newCommand(), importCommand(), settleCommand(), checkCommand(), acknowledgeCommand(), sheetCommand(), linksCommand(), schemaCommand(), diffCommand())
	return c
}

// readBook reads a book's file and, where one stands beside it, what was settled
// of it, as one text.
func readBook(name string) ([]byte, error) {
	own, settled, err := readBoth(name)
	if err != nil || settled == nil {
		return own, err
	}
	return book.Join(own, settled), nil
}

// readBoth reads a book's file, and what was settled of it: nil where no such file
// stands beside it.
func readBoth(name string) (own, settled []byte, err error) {
	if own, err = readFile(name, book.MaxSize); err != nil {
		return nil, nil, err
	}
	settled, err = readFile(book.SettledName(name), book.MaxSize)
	if errors.Is(err, fs.ErrNotExist) {
		return own, nil, nil
	}
	return own, settled, err
}

// loadBook reads a book; its faults, if any, are the error, counted.
func loadBook(name string) (*book.Book, error) {
	data, err := readBook(name)
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
