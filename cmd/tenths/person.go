package main

import (
	"cmp"
	"fmt"

	"github.com/spf13/cobra"

	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
)

func personCommand() *cobra.Command {
	a := &at{}
	c := &cobra.Command{Use: "person", Short: "Say who works in the shop"}
	a.flags(c)
	c.AddCommand(personAdd(a), personChange(a), personList(a), personPassword(a))
	return c
}

func personAdd(a *at) *cobra.Command {
	p := shoplog.PersonAdded{}
	c := &cobra.Command{
		Use: "add HANDLE", Short: "Add a person",
		Long: `Add a person. HANDLE is what the record names them by, for good. Their role says
what they may do: an apprentice takes readings; a mechanic strikes them too, fits
items and signs what was performed; an inspector signs what was inspected, and
closes; a manager says who is of the shop, adopts books and opens jobs.`,
		Example: `  tenths person add rs --name "R. Sand" --role mechanic --certificate mechanic --number 204412 --by mp --password-file password.txt`,
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			p.Handle, p.Since = args[0], cmp.Or(p.Since, today())
			if err := a.check(c, s); err != nil {
				return err
			}
			if _, err := s.State(c.Context(), a.who(), &p); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s is %s. They choose a password with tenths person password %s.\n", p.Handle, p.String(), p.Handle)
			return nil
		}),
	}
	personFlags(c, &p)
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}

func personChange(a *at) *cobra.Command {
	var said shoplog.PersonAdded
	f := shoplog.PersonChanged{}
	c := &cobra.Command{
		Use: "change HANDLE", Short: "Say something else of a person; what was said before stays in the record",
		Example: `  tenths person change ow --scope "engines" --why "rating added" --by mp --password-file password.txt`,
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			state, err := s.Record(c.Context())
			if err != nil {
				return err
			}
			now, ok := state.People[args[0]]
			if !ok {
				return record.Refuse("person", "tenths person list has them", "there is no person %q", args[0])
			}
			f.PersonAdded = now.PersonAdded
			for name, to := range map[string]struct{ from, to *string }{
				"name": {&said.Name, &f.Name}, "role": {&said.Role, &f.Role},
				"certificate": {&said.Certificate, &f.Certificate}, "number": {&said.Number, &f.Number},
				"scope": {&said.Scope, &f.Scope}, "since": {&said.Since, &f.Since}, "until": {&said.Until, &f.Until},
			} {
				if c.Flags().Changed(name) {
					*to.to = *to.from
				}
			}
			if err := a.check(c, s); err != nil {
				return err
			}
			if _, err := s.State(c.Context(), a.who(), &f); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s is %s.\n", f.Handle, f.String())
			return nil
		}),
	}
	personFlags(c, &said)
	c.Flags().StringVar(&f.Why, "why", "", "the `REASON`")
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}

func personList(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the people of the shop",
		Example: "  tenths person list",
		Args:    cobra.NoArgs,
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, _ []string) error {
			state, err := s.Record(c.Context())
			if err != nil {
				return err
			}
			p := newPage(c.OutOrStdout())
			for _, h := range state.Handles() {
				who := state.People[h]
				text := who.String()
				if who.Scope != "" {
					text += ", for " + who.Scope
				}
				text += ", since " + who.Since
				if who.Until != "" {
					text += " until " + who.Until
				}
				p.wrap(fmt.Sprintf("%-12s ", h), text, 13)
			}
			return p.Flush()
		}),
	}
}

func personPassword(a *at) *cobra.Command {
	var next string
	c := &cobra.Command{
		Use: "password HANDLE", Short: "Set a password: one's own, or as a manager somebody else's",
		Long: `Set the password that HANDLE signs with. Who sets it gives their own password
first; a manager may set that of somebody who has none or has forgotten it.`,
		Example: "  tenths person password mp --by mp --password-file password.txt --new-password-file new.txt",
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			if err := a.check(c, s); err != nil {
				return err
			}
			b := at{passwordFile: next}
			password, err := b.newPassword(c, args[0])
			if err != nil {
				return err
			}
			if err := s.SetPassword(c.Context(), a.who(), args[0], password); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "The password of %s is set.\n", args[0])
			return nil
		}),
	}
	c.Flags().StringVar(&next, "new-password-file", "", "read the new password from the first line of `FILE`; else it is asked for")
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}
