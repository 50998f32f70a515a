package main

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tenths/internal/ledger"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store/sqlite"
)

// version is the program's, as signatures carry it.
const version = "0.1"

// program names the program and its version, with the revision that it was
// built from where that is known.
func program() string {
	name := "tenths " + version
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			name += " (" + s.Value[:min(12, len(s.Value))] + ")"
		}
	}
	return name
}

// at is where the record is, and who works in it.
type at struct {
	dir, by, passwordFile string
}

// flags adds the flags of a command that reads the record.
func (a *at) flags(c *cobra.Command) {
	c.PersistentFlags().StringVar(&a.dir, "shop", cmp.Or(os.Getenv("TENTHS_SHOP"), "shop"), "the shop's `FOLDER` (or TENTHS_SHOP)")
}

// byFlags adds those of a command that writes.
func (a *at) byFlags(c *cobra.Command) {
	c.Flags().StringVar(&a.by, "by", os.Getenv("TENTHS_BY"), "who does it, by `HANDLE` (or TENTHS_BY)")
}

// passwordFlags adds those of a command that wants a password.
func (a *at) passwordFlags(c *cobra.Command) {
	c.Flags().StringVar(&a.passwordFile, "password-file", "", "read the password from the first line of `FILE`, - for standard input; else it is asked for")
}

func (a *at) who() shop.Who { return shop.Who{Handle: a.by} }

func (a *at) options() shop.Options {
	device, _ := os.Hostname()
	return shop.Options{Dir: a.dir, Device: strings.ToValidUTF8("command line, "+device, ""), Program: program()}
}

// open opens the shop; close ends its use.
func (a *at) open(ctx context.Context) (s *shop.Shop, close func(), err error) {
	path := filepath.Join(a.dir, shop.Database)
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		return nil, nil, status{exitBad, fmt.Errorf("there is no shop in %s: name its folder with --shop, or make one with tenths shop init", a.dir)}
	}
	st, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, nil, status{exitBad, err}
	}
	s, err = shop.Open(ctx, st, a.options())
	if err != nil {
		st.Close()
		return nil, nil, status{exitBad, err}
	}
	return s, func() { s.Close(); st.Close() }, nil
}

// empty opens a record in which there is no shop: it was left where making one
// did not come to its end.
func (a *at) empty(ctx context.Context, path string) (*sqlite.Store, error) {
	st, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	size, err := st.Size(ctx, shoplog.Log)
	if err == nil && size > 0 {
		err = fmt.Errorf("there is a shop in %s already", a.dir)
	}
	if err != nil {
		return nil, errors.Join(err, st.Close())
	}
	return st, nil
}

// in is a command's body that works in an open shop.
func (a *at) in(do func(c *cobra.Command, s *shop.Shop, args []string) error) func(*cobra.Command, []string) error {
	return func(c *cobra.Command, args []string) error {
		s, end, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer end()
		return do(c, s, args)
	}
}

// password asks for one, without showing it.
func (a *at) password(c *cobra.Command, question string) (string, error) {
	var from io.Reader
	switch a.passwordFile {
	case "":
		in, ok := c.InOrStdin().(*os.File)
		if !ok || !term.IsTerminal(int(in.Fd())) {
			return "", status{exitBad, errors.New("a password is wanted and there is no terminal to ask at: give --password-file FILE")}
		}
		fmt.Fprint(c.ErrOrStderr(), question+": ")
		text, err := term.ReadPassword(int(in.Fd()))
		fmt.Fprintln(c.ErrOrStderr())
		return string(text), err
	case "-":
		from = c.InOrStdin()
	default:
		f, err := os.Open(a.passwordFile)
		if err != nil {
			return "", status{exitBad, err}
		}
		defer f.Close()
		from = f
	}
	line, err := bufio.NewReader(io.LimitReader(from, 4096)).ReadString('\n')
	if err != nil && err != io.EOF {
		return "", err
	}
	return strings.TrimRight(line, "\r\n"), nil
}

// newPassword asks for one twice.
func (a *at) newPassword(c *cobra.Command, who string) (string, error) {
	first, err := a.password(c, "New password of "+who)
	if err != nil || a.passwordFile != "" {
		return first, err
	}
	second, err := a.password(c, "The same again")
	if err == nil && first != second {
		err = status{exitBad, errors.New("the two are not the same: nothing was set")}
	}
	return first, err
}

// personFlags adds what is said of a person.
func personFlags(c *cobra.Command, p *shoplog.PersonAdded) {
	f := c.Flags()
	f.StringVar(&p.Name, "name", "", "their `NAME`, as they sign")
	f.StringVar(&p.Role, "role", "", "`ROLE`: "+strings.Join(shoplog.Roles, ", "))
	f.StringVar(&p.Certificate, "certificate", "", "`KIND` of their certificate: mechanic, repairman, inspection authorization")
	f.StringVar(&p.Number, "number", "", "`NUMBER` of the certificate")
	f.StringVar(&p.Scope, "scope", "", "`RATINGS` and limitations")
	f.StringVar(&p.Since, "since", "", "first `DAY` that they are of the shop, as 2026-11-25")
	f.StringVar(&p.Until, "until", "", "last `DAY`; empty: for now")
}

func today() string { return time.Now().Format(time.DateOnly) }

func shopCommand() *cobra.Command {
	a := &at{}
	c := &cobra.Command{Use: "shop", Short: "Make a shop, and say how it works"}
	a.flags(c)
	c.AddCommand(shopInit(a), shopShow(a), shopPolicy(a), shopAdopt(a), shopLogCommand(a), shopCheck(a))
	return c
}

func shopInit(a *at) *cobra.Command {
	var name string
	p := shoplog.PersonAdded{}
	c := &cobra.Command{
		Use:   "init HANDLE",
		Short: "Make a shop and its first person, a manager",
		Long: `Make the shop's folder, with its record (tenths.db), the key that seals are signed
with (seal.key) and the last seals (seals/). HANDLE is what the first person is
named by in the record: short, in small letters, for good.

Keep seal.key to yourself, and a copy of it where the record is not: who has it
can sign seals. Give its public half, which is printed, to whoever gets a record
from you.`,
		Example: `  tenths shop init mp --shop ours --title "Corner Engine Shop" --name "M. Pohl" --password-file password.txt`,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			p.Handle, p.Role = args[0], shoplog.Manager
			p.Since = cmp.Or(p.Since, today())
			path := filepath.Join(a.dir, shop.Database)
			_, none := os.Stat(path)
			var st *sqlite.Store
			var err error
			if none == nil {
				if st, err = a.empty(c.Context(), path); err != nil {
					return status{exitBad, err}
				}
				defer st.Close()
			}
			password, err := a.newPassword(c, p.Name)
			if err != nil {
				return err
			}
			if none != nil {
				if err := os.MkdirAll(a.dir, 0o777); err != nil {
					return status{exitBad, err}
				}
				if st, err = sqlite.Create(c.Context(), path); err != nil {
					return status{exitBad, err}
				}
				defer st.Close()
			}
			s, err := shop.Make(c.Context(), st, a.options(), name, p, password)
			if err != nil {
				return status{exitBad, err}
			}
			defer s.Close()
			return showShop(c, s)
		},
	}
	c.Flags().StringVar(&name, "title", "", "the shop's `NAME`")
	personFlags(c, &p)
	a.passwordFlags(c)
	c.Flags().Lookup("role").Hidden = true
	return c
}

func showShop(c *cobra.Command, s *shop.Shop) error {
	state, err := s.Record(c.Context())
	if err != nil {
		return err
	}
	p := newPage(c.OutOrStdout())
	fmt.Fprintln(p, p.bold(state.Name))
	fmt.Fprintf(p, "%s, %s, %s\n", counted(len(state.People), "person"), counted(len(state.Editions), "edition"), counted(len(state.Jobs), "job"))
	if state.Policy.TwoPeople {
		fmt.Fprintln(p, "Policy: who performed a step may not inspect it.")
	} else {
		fmt.Fprintln(p, "Policy: one person may perform and inspect a step.")
	}
	for _, e := range editionsOf(state) {
		p.wrap("", fmt.Sprintf("Edition %.16s: %s, by %s", e.Edition, e.Engine, e.Manual), 2)
	}
	p.notKnown("the shop's log", state.Unknown)
	p.back(state.Jumps)
	fmt.Fprintf(p, "Key %s, public half:\n%s\n", ledger.Fingerprint(state.Key), state.Key)
	return p.Flush()
}

func shopShow(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "show", Short: "Say what the shop is and how it works",
		Example: "  tenths shop show",
		Args:    cobra.NoArgs,
		RunE:    a.in(func(c *cobra.Command, s *shop.Shop, _ []string) error { return showShop(c, s) }),
	}
}

func shopPolicy(a *at) *cobra.Command {
	var f shoplog.PolicySet
	c := &cobra.Command{
		Use: "policy one|two", Short: "Say whether one person may perform and inspect a step, or two are wanted",
		Example: `  tenths shop policy two --why "procedures manual, section 4" --by mp --password-file password.txt`,
		Args:    cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs), ValidArgs: []string{"one", "two"},
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			f.TwoPeople = args[0] == "two"
			if err := a.check(c, s); err != nil {
				return err
			}
			if _, err := s.State(c.Context(), a.who(), &f); err != nil {
				return err
			}
			return showShop(c, s)
		}),
	}
	c.Flags().StringVar(&f.Why, "why", "", "the `REASON`")
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}

// check asks for the password of who does it.
func (a *at) check(c *cobra.Command, s *shop.Shop) error {
	password, err := a.password(c, "Password of "+a.by)
	if err != nil {
		return err
	}
	return s.CheckPassword(c.Context(), a.by, password)
}

func shopAdopt(a *at) *cobra.Command {
	c := &cobra.Command{
		Use: "adopt BOOK", Short: "Adopt an edition of a book: jobs may be judged by it from now on",
		Long: `Adopt an edition of a book. It is the exact text of the file and of what was settled
of it in the file beside it (book.settled.yaml beside book.yaml), kept in the record
for good and named by its SHA-256. A book that is changed is another edition; jobs
stay with theirs until tenths job edition changes that.`,
		Example: "  tenths shop adopt book.yaml --by mp --password-file password.txt",
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			text, err := readBook(args[0])
			if err != nil {
				return err
			}
			if err := a.check(c, s); err != nil {
				return err
			}
			e, err := s.Adopt(c.Context(), a.who(), args[0], text)
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Edition %.16s adopted: %s, by %s\n", e.Edition, e.Engine, e.Manual)
			return nil
		}),
	}
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}

func shopLogCommand(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "log", Short: "Print the shop's log, as it was entered",
		Example: "  tenths shop log",
		Args:    cobra.NoArgs,
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, _ []string) error {
			entries, err := s.ShopEntries(c.Context())
			if err != nil {
				return err
			}
			p := newPage(c.OutOrStdout())
			var before ledger.Time
			for i := range entries {
				e := &entries[i]
				words := shoplog.Words(e.What)
				if _, unknown := e.What.(shoplog.Unknown); unknown {
					words = visible(e.Kind) + ": " + words
				}
				p.entry(&e.Entry, words, before)
				before = e.Recorded
			}
			return p.Flush()
		}),
	}
}

func shopCheck(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "check", Short: "Read the whole record and hold it against its seals",
		Example: "  tenths shop check",
		Args:    cobra.NoArgs,
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, _ []string) error {
			n, err := s.Check(c.Context())
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%d entries are as they were written, and as they were sealed.\n", n)
			return nil
		}),
	}
}
