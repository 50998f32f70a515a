package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/whole"
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
	return loaded(name, data)
}

// loaded loads a book's text.
func loaded(name string, data []byte) (*book.Book, error) {
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

// changeSettled changes what was settled of a book, while nobody else changes it or
// the book: what two people settle at once is there of both. change is given the
// book as it is then, its text, and the text of the file beside it, and returns that
// file's new text; where that is wrong, nothing was done, and that is said.
func changeSettled(name, done string, change func(b *book.Book, own, settled []byte) ([]byte, error)) error {
	return changeBeside(name, done, func(own, settled []byte) ([]byte, error) {
		b, err := loaded(name, book.Join(own, settled))
		if err != nil {
			return nil, err
		}
		return change(b, own, settled)
	})
}

// changeBeside is changeSettled of a book that need not load.
func changeBeside(name, done string, change func(own, settled []byte) ([]byte, error)) error {
	if _, err := os.Stat(name); err != nil {
		return err
	}
	return whole.Alone(book.SettledName(name), func() error {
		own, settled, err := readBoth(name)
		if err != nil {
			return err
		}
		text, err := change(own, settled)
		var faults fault.List
		if errors.As(err, &faults) {
			return fmt.Errorf("nothing was %s\n%w", done, faults)
		}
		if err != nil || bytes.Equal(text, settled) {
			return err
		}
		return whole.Write(book.SettledName(name), text)
	})
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
