package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/fault"
)

// strikeFlag adds the flag by which something is taken back.
func strikeFlag(c *cobra.Command, strike *bool, what string) {
	c.Flags().BoolVar(strike, "strike", false, "take back what was "+what+", with --why and --by; it stays in the file, struck")
}

// strike takes back what was settled of a book: which, of what stands beside it.
func strike(to io.Writer, name string, which func(settled []byte) ([]book.Striking, error)) (book.Stricken, error) {
	var done book.Stricken
	err := changeBeside(name, "taken back", func(own, settled []byte) ([]byte, error) {
		all, err := which(settled)
		if err != nil {
			return nil, err
		}
		var text []byte
		text, done, err = book.Strike(name, own, settled, all...)
		return text, err
	})
	if err != nil {
		return done, err
	}
	p := newPage(to)
	for i := range done.Struck {
		s := &done.Struck[i]
		text := fmt.Sprintf("%s, %s, printed %q: no longer settled as %s", s.Line, s.Cell, s.Text, s.Says)
		switch {
		case s.Acknowledged != nil:
			text = fmt.Sprintf("%s of %s: no longer acknowledged", s.Acknowledged.Code, strings.Join(s.Acknowledged.Lines, ", "))
		case s.Fit != "":
			text = fmt.Sprintf("%s: no longer linked as %s", s.Line, s.Fit)
		}
		p.wrap("", text+"; it stays in "+book.SettledName(name)+", struck", 2)
	}
	if err := p.Flush(); err != nil {
		return done, err
	}
	var faults fault.List
	if errors.As(done.Wrong, &faults) {
		return done, fmt.Errorf("the book still has %s\n%w", counted(len(faults), "fault"), faults)
	}
	return done, done.Wrong
}

// tellSettled prints what was said of a line beside the book, and what was taken
// back of it.
func tellSettled(p page, b *book.Book, l *book.Line) {
	for i := range l.Settled {
		s := &l.Settled[i]
		p.wrap("  ", fmt.Sprintf("%s %q: settled as %s, %s", s.Cell, s.Text, s.Says, s.Settlement), 4)
	}
	if l.Link != nil {
		p.wrap("  ", fmt.Sprintf("linked as %s, %s", l.Link.Fit, l.Link.Settlement), 4)
	}
	for i := range b.Struck {
		switch s := &b.Struck[i]; {
		case s.Acknowledged != nil || s.Line != l.Key:
		case s.Fit != "":
			p.wrap("  ", "no longer linked as "+s.String(), 4)
		default:
			p.wrap("  ", fmt.Sprintf("%s %q: no longer settled as %s", s.Cell, s.Text, s), 4)
		}
	}
}
