package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tenths/internal/book"
)

func acknowledgeCommand() *cobra.Command {
	var a book.Acknowledged
	var why string
	var back bool
	var words []string
	for _, r := range book.Reasons {
		words = append(words, r.Word)
	}
	c := &cobra.Command{
		Use:   "acknowledge BOOK CODE LINE",
		Short: "Say why a finding of the check may stand",
		Long: `Say why a finding of the check may stand, and who says so. It is written to the
file beside the book, NAME.settled.yaml; the check goes on showing the finding,
with the reason, and no longer counts it. Where the figures change afterwards, the
acknowledgement lapses. With --strike it is taken back: the finding counts again, and
what was said stays in the file, struck, with who took it back and why.

Reasons: ` + reasonWords() + `.`,
		Example: `  tenths book acknowledge book.yaml fit-service-tighter main-fit --reason as-printed --note "letter of 2026-03-01" --by "M. Pohl"
  tenths book acknowledge book.yaml fit-service-tighter main-fit --strike --why "the letter is of another model" --by "B. Turner"`,
		Args: cobra.ExactArgs(3),
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case back && (a.Reason != "" || a.Note != ""):
				return errors.New("--strike takes back what was acknowledged, and has --why: --reason and --note are of what may stand")
			case back:
				return noLongerStands(c, args[0], args[1], args[2], book.Striking{By: a.By, Why: why, Date: time.Now().Format(time.DateOnly)})
			case why != "":
				return errors.New("--why is of --strike: why a finding may stand is said with --reason, and more of it with --note")
			}
			if !slices.Contains(words, a.Reason) {
				return status{exitBad, fmt.Errorf("--reason %s: write one of %s", cmp.Or(a.Reason, "is missing"), strings.Join(words, ", "))}
			}
			if strings.TrimSpace(a.By) == "" {
				return status{exitBad, errors.New("--by is missing: say who acknowledges it")}
			}
			return acknowledge(c, args[0], args[1], args[2], a)
		},
	}
	f := c.Flags()
	f.StringVar(&a.Reason, "reason", "", "why it may stand: `"+strings.Join(words, "|")+"`")
	f.StringVar(&a.Note, "note", "", "a `TEXT` beside the reason: which letter, which shims")
	f.StringVar(&a.By, "by", os.Getenv("TENTHS_BY"), "who says so, by `NAME` (or TENTHS_BY)")
	f.StringVar(&why, "why", "", "with --strike: why it is taken back, in a `TEXT`")
	strikeFlag(c, &back, "acknowledged")
	return c
}

// noLongerStands takes back what was said of the findings of that code that stand
// under that line, also where it has lapsed.
func noLongerStands(c *cobra.Command, name, code, line string, why book.Striking) error {
	_, err := strike(c.OutOrStdout(), name, func(settled []byte) ([]book.Striking, error) {
		var all []book.Striking
		var there []string
		var stand []book.Acknowledged
		if len(settled) > 0 {
			var err error
			if stand, err = book.LoadSettled(book.SettledName(name), settled); err != nil {
				return nil, err
			}
		}
		for i := range stand {
			a := &stand[i]
			there = append(there, a.Code+" "+a.Lines[0])
			one := why
			one.Finding = a
			if a.Code == code && a.Lines[0] == line && !slices.ContainsFunc(all, func(s book.Striking) bool {
				return slices.Equal(s.Finding.Lines, a.Lines) && slices.Equal(s.Finding.Printed, a.Printed)
			}) {
				all = append(all, one)
			}
		}
		if len(all) == 0 {
			return nil, fmt.Errorf("no finding %s under %s is acknowledged in %s; there is %s", code, line, book.SettledName(name), cmp.Or(strings.Join(there, ", "), "none"))
		}
		return all, nil
	})
	return err
}

func reasonWords() string {
	var all []string
	for _, r := range book.Reasons {
		all = append(all, r.Word+" ("+r.Meaning+")")
	}
	return strings.Join(all, ", ")
}

// acknowledge writes down what was said of findings.
func acknowledge(c *cobra.Command, name, code, line string, why book.Acknowledged) error {
	var all []book.Acknowledged
	err := changeSettled(name, "acknowledged", func(b *book.Book, _, settled []byte) (text []byte, err error) {
		if all, err = mayStand(name, b, code, line, why); err != nil {
			return nil, err
		}
		return book.Acknowledge(book.SettledName(name), settled, all...)
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "%s acknowledged in %s: %s\n", counted(len(all), "finding"), book.SettledName(name), all[0].String())
	return err
}

// mayStand is what is said of the findings of that code that stand under that line.
func mayStand(name string, b *book.Book, code, line string, why book.Acknowledged) ([]book.Acknowledged, error) {
	var all []book.Acknowledged
	var there []string
	r := checkBook(name, b)
	for i := range r.findings {
		f := &r.findings[i]
		if f.Acknowledged != nil {
			continue
		}
		there = append(there, f.Code+" "+f.Lines[0].Key)
		if f.Code == code && f.Lines[0].Key == line {
			a := f.About()
			a.Reason, a.Note, a.By, a.Date = why.Reason, why.Note, why.By, time.Now().Format(time.DateOnly)
			all = append(all, a)
		}
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s has no finding %s under %s that is not acknowledged; it has %s", name, code, line, cmp.Or(strings.Join(there, ", "), "none"))
	}
	return all, nil
}
