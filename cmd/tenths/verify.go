package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tenths/internal/export"
)

// Exit statuses of verify alone, beside the general ones.
const (
	exitAltered = 1
	exitShorter = 4
)

func verifyCommand() *cobra.Command {
	var key, seal string
	c := &cobra.Command{
		Use: "verify FILE", Short: "Check that an exported record is as it was sealed",
		Long: `Check an exported record against the seals in it, by the public half of the shop's
key as you know it (--key, the key or a file with it) or against a seal that you were
given and kept (--seal, a file). Get the key from the shop, not from the file: who
alters a record can put another key in it.

A seal proves that nothing was altered since. It does not prove that what was
entered is true, and entries behind the last seal are not covered by it.

Exit status: 0 unaltered since its last seal; 3 it agrees with itself, and without a
key or a seal no more can be said; 4 shorter than sealed; 1 altered; 2 the file is
not an exported record.`,
		Example: "  tenths verify 2026-014.tenths",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return verifyFile(c, args[0], key, seal)
		},
	}
	c.Flags().StringVar(&key, "key", "", "the public half of the shop's `KEY`, or a file with it")
	c.Flags().StringVar(&seal, "seal", "", "a `FILE` with a seal that you kept")
	return c
}

func verifyFile(c *cobra.Command, name, key, sealName string) error {
	if data, err := readFile(key, 4096); key != "" && err == nil {
		key = strings.TrimSpace(string(data))
		if key == "" {
			return fmt.Errorf("the file that --key names is empty: give the public half of the shop's key")
		}
	}
	var kept string
	if sealName != "" {
		data, err := readFile(sealName, 64<<10)
		if err != nil {
			return err
		}
		if kept = string(data); kept == "" {
			return fmt.Errorf("%s is empty: give a file with a seal", sealName)
		}
	}
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	r, err := export.Read(f)
	var form *export.FormError
	if errors.As(err, &form) {
		return fmt.Errorf("%s:%d: %s", name, form.Line, visible(form.What))
	}
	if err != nil {
		return err
	}
	o, err := export.Verify(r, key, kept)
	if err != nil {
		return fmt.Errorf("%s: %s", name, visible(err.Error()))
	}
	return printOutcome(c, name, r, o)
}

// printOutcome says what was found, and returns the exit status.
func printOutcome(c *cobra.Command, name string, r *export.Record, o export.Outcome) error {
	p := newPage(c.OutOrStdout())
	if o.Order != "" {
		p.wrap("", visible(fmt.Sprintf("%s: work order %s, engine %s, %s", name, o.Order, o.Engine, counted(len(r.Job), "entry"))), 2)
	}
	exit := exitGood
	switch o.Finding {
	case export.Unaltered, export.Itself:
		if o.Seal != nil && o.Finding == export.Unaltered {
			fmt.Fprintln(p, p.bold("Unaltered since the seal of "+clock(o.Seal.At)+"."))
		} else {
			fmt.Fprintln(p, p.bold("It agrees with itself."))
			exit = exitOpen
		}
		if o.Seal != nil {
			p.wrap("  ", fmt.Sprintf("%s, root %s, key %s.", counted(int(o.Seal.Size), "entry"), o.Seal.Root, o.Fingers), 2)
		}
		if o.After > 0 {
			p.wrap("  ", counted(int(o.After), "entry")+" behind the seal: nothing proves them yet.", 2)
		}
		if exit == exitOpen {
			p.wrap("  ", "Anybody could have made it: give the shop's key (--key) as you got it from the shop, or a seal that you kept (--seal).", 2)
		}
	case export.Shorter:
		fmt.Fprintln(p, p.bold("Shorter than sealed."))
		exit = exitShorter
	case export.Altered:
		fmt.Fprintln(p, p.bold("Altered."))
		exit = exitAltered
	}
	for _, reason := range o.Reasons {
		p.wrap("  ", visible(reason), 4)
	}
	if err := p.Flush(); err != nil {
		return err
	}
	if exit != exitGood {
		return status{code: exit}
	}
	return nil
}
