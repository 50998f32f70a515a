package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tenths/internal/book"
	"tenths/internal/check"
)

// A linking is what is confirmed, and by whom.
type linking struct {
	confirm []string
	choose  int
	by, why string
	again   bool
	strike  bool
}

func linksCommand() *cobra.Command {
	var o linking
	c := &cobra.Command{
		Use:   "links BOOK [LINE]",
		Short: "Suggest which rows of clearances are the fit of which rows of sizes",
		Long: `Suggest which rows of clearances of a book are the fit of which rows of sizes: by
their arithmetic (bore less shaft makes the printed clearance), their references,
their names, and where they stand. Nothing is linked by itself.

A link is confirmed with LINE and --choose, or with --confirm LINE=BORE,SHAFT, where
all are keys of lines; of a bearing with two like shells LINE=BORE,SHELL,JOURNAL. It
is written to the file beside the book, NAME.settled.yaml. The clearance is then
worked out from its parts, and no longer asked for as a reading; the check holds the
fit against its sizes. With --strike a link is taken back: the clearance is measured
again, and the link stays in the file, struck, with who took it back and why.

Exit status: 0 nothing is suggested, or it is confirmed; 2 it can't be linked so;
3 links are suggested.`,
		Example: `  tenths book links fits.yaml
  tenths book links fits.yaml pin-fit --choose 1 --by "A. Fitter"
  tenths book links fits.yaml --confirm pin-fit=bush-bore,pin-size --by "A. Fitter"
  tenths book links fits.yaml pin-fit --strike --why "that bush is the other rod's" --by "B. Turner"`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			line := ""
			if len(args) == 2 {
				line = args[1]
			}
			switch {
			case line == "" && o.choose != 0:
				return errors.New("say which line: tenths book links BOOK LINE --choose NUMBER")
			case o.choose != 0 && len(o.confirm) > 0:
				return errors.New("--choose takes what is suggested, and --confirm says it: one of the two")
			}
			switch {
			case o.strike && (o.choose != 0 || len(o.confirm) > 0 || o.again):
				return errors.New("--strike takes a link back: link it otherwise afterwards, or at once with --again")
			case o.strike && line == "":
				return errors.New("say which line: tenths book links BOOK LINE --strike")
			case o.strike:
				_, err := strike(c.OutOrStdout(), args[0], func([]byte) ([]book.Striking, error) {
					return []book.Striking{{Line: line, Link: true, By: o.by, Why: o.why, Date: time.Now().Format(time.DateOnly)}}, nil
				})
				return err
			}
			if o.choose != 0 || len(o.confirm) > 0 {
				return o.take(c.OutOrStdout(), args[0], line)
			}
			b, err := loadBook(args[0])
			if err != nil {
				return err
			}
			return tellLinks(c.OutOrStdout(), args[0], b, line)
		},
	}
	f := c.Flags()
	f.StringArrayVar(&o.confirm, "confirm", nil, "confirm a link: `LINE=BORE,SHAFT`")
	f.IntVar(&o.choose, "choose", 0, "confirm what is suggested, by `NUMBER`")
	f.StringVar(&o.by, "by", os.Getenv("TENTHS_BY"), "who confirms it, by `NAME` (or TENTHS_BY)")
	f.StringVar(&o.why, "why", "", "how one knows, in a `TEXT`, if there is more to say than the suggestion does; with --strike, why it is taken back")
	f.BoolVar(&o.again, "again", false, "link otherwise what was linked before")
	strikeFlag(c, &o.strike, "linked")
	return c
}

// equallyMany is what to do where the sizes of a fit are not equally many.
const equallyMany = "Say how many there are of each where the table is imported (--count, --measured), or in the book: positions, places, or a fit with mates"

// linksOf are the suggestions of one line, or of all.
func linksOf(b *book.Book, line string) (some []check.Link) {
	for _, k := range check.Links(b) {
		if line == "" || k.Line.Key == line {
			some = append(some, k)
		}
	}
	return some
}

// tellLinks prints what is suggested, with its arithmetic.
func tellLinks(to io.Writer, name string, b *book.Book, line string) error {
	if _, ok := b.Line(line); line != "" && !ok {
		return noLine(b, line)
	}
	p := newPage(to)
	all := linksOf(b, line)
	n := 0
	for i := range all {
		k := &all[i]
		if n++; i == 0 || all[i-1].Line != k.Line {
			n = 1
			p.wrap("", fmt.Sprintf("%s:%d: %s: new %s", name, k.Line.FileLine, title(k.Line), limitsOf(k.Line)), 2)
		}
		p.wrap("  ", fmt.Sprintf("%d  %s", n, k.Fit), 5)
		for _, l := range k.Sizes {
			p.wrap("     ", title(l), 7)
		}
		for _, s := range k.Sum {
			p.wrap("     ", s, 7)
		}
		if len(k.Why) > 0 {
			p.wrap("     ", strings.Join(k.Why, "; "), 7)
		}
		if k.But != "" {
			p.wrap("     ", "can't be linked as it is: "+k.But+" "+equallyMany, 7)
		}
	}
	if l, ok := b.Line(line); ok {
		if len(all) == 0 {
			p.wrap("", fmt.Sprintf("%s:%d: %s", name, l.FileLine, title(l)), 2)
		}
		tellSettled(p, b, l)
	}
	if len(all) == 0 {
		fmt.Fprintf(p, "%s: no links are suggested\n", name)
		return p.Flush()
	}
	p.wrap("", fmt.Sprintf("%s: links are suggested for %s", name, counted(rowsLinked(all), "row")), 2)
	p.wrap("", fmt.Sprintf("confirm one: tenths book links %s LINE --choose NUMBER --by NAME; none is made by itself", name), 2)
	if err := p.Flush(); err != nil {
		return err
	}
	return status{code: exitOpen}
}

// rowsLinked is how many rows links are suggested for.
func rowsLinked(all []check.Link) int {
	n := 0
	for i := range all {
		if i == 0 || all[i-1].Line != all[i].Line {
			n++
		}
	}
	return n
}

// limitsOf are a row's limits as the book has them.
func limitsOf(l *book.Line) string {
	text := l.Says.New
	if text == "" {
		text = "not stated"
	}
	if l.Says.Service != "" {
		text += ", service " + l.Says.Service
	}
	return text
}

// said are the links that are confirmed.
func (o *linking) said(b *book.Book, line string) (links []book.Linking, err error) {
	if _, ok := b.Line(line); line != "" && !ok {
		return nil, noLine(b, line)
	}
	date := time.Now().Format(time.DateOnly)
	if o.choose != 0 {
		some := linksOf(b, line)
		if o.choose < 1 || o.choose > len(some) {
			return nil, fmt.Errorf("--choose %d: for %s %s suggested: say it with --confirm %s=BORE,SHAFT", o.choose, line, suggested(len(some)), line)
		}
		if but := some[o.choose-1].But; but != "" {
			return nil, fmt.Errorf("%s can't be linked: %s %s", line, but, equallyMany)
		}
		return []book.Linking{{Line: line, Fit: some[o.choose-1].Fit, By: o.by, Why: o.why, Date: date}}, nil
	}
	for _, text := range o.confirm {
		key, of, ok := strings.Cut(text, "=")
		keys := strings.Split(of, ",")
		if !ok || len(keys) < 2 || len(keys) > 3 {
			return nil, fmt.Errorf("--confirm %s: write it as LINE=BORE,SHAFT, or LINE=BORE,SHELL,JOURNAL", text)
		}
		var refs []string
		for _, k := range keys {
			l, ok := b.Line(strings.TrimSpace(k))
			if !ok {
				return nil, noLine(b, strings.TrimSpace(k))
			}
			if l.Judges != book.Size {
				return nil, fmt.Errorf("%s is no size, but a %s: a fit is made of sizes", l.Key, l.Judges)
			}
			refs = append(refs, l.Terms[0].Feature.Ref())
		}
		fit := refs[0] + " - " + refs[1]
		if len(refs) == 3 {
			fit = refs[0] + " - 2 " + refs[1] + " - " + refs[2]
		}
		links = append(links, book.Linking{Line: strings.TrimSpace(key), Fit: fit, By: o.by, Why: o.why, Date: date})
	}
	return links, nil
}

func suggested(n int) string {
	switch n {
	case 0:
		return "none is"
	case 1:
		return "only one is"
	}
	return fmt.Sprintf("%d are", n)
}

// take confirms links, and writes them beside the book.
func (o *linking) take(to io.Writer, name, line string) error {
	var done book.Confirmed
	err := changeSettled(name, "linked", func(b *book.Book, own, settled []byte) ([]byte, error) {
		links, err := o.said(b, line)
		if err != nil {
			return nil, err
		}
		var text []byte
		text, done, err = book.Confirm(name, own, settled, links, o.again)
		return text, err
	})
	if err != nil {
		return err
	}
	p := newPage(to)
	for _, k := range done.Linked {
		p.wrap("", fmt.Sprintf("%s is %s; confirmed in %s", k.Line, k.Fit, book.SettledName(name)), 2)
	}
	for _, k := range done.Same {
		p.wrap("", fmt.Sprintf("%s is linked so already: nothing to add", k.Line), 2)
	}
	// What the link shows at once.
	r := checkBook(name, done.Book)
	for i := range r.findings {
		f := &r.findings[i]
		if f.Severity != check.Note && f.Acknowledged == nil && len(done.Linked) > 0 && f.Lines[0].Key == done.Linked[0].Line {
			r.finding(p, f)
		}
	}
	return p.Flush()
}
