package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"tenths/internal/demo"
	"tenths/internal/demo/more"
	"tenths/internal/job"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store/sqlite"
)

// demoGiven is what is known of the invented engine beside its readings.
var demoGiven = judgeOptions{given: []string{"valve=used", "bushing=used"}, serial: "1127"}

func demoCommand() *cobra.Command {
	var serve bool
	var listen string
	c := &cobra.Command{
		Use:   "demo DIR",
		Short: "Write an invented engine's book and readings to DIR and judge them",
		Long: `Write DIR/book.yaml and DIR/readings.csv, the book and the readings of an invented
four-cylinder opposed engine in the middle of its overhaul, and print their
verdicts. DIR is made where it is not there; files in it are not overwritten
unless they are the demo's own.

With --serve, make a shop in DIR/shop with the engine in the middle of its overhaul, and two others,
and serve its pages; who works there and their password are printed.

The engine, its limits and its readings are invented. Use them for nothing but
trying tenths.`,
		Example: "  tenths demo engine",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := args[0]
			if serve {
				return serveDemo(cmd, filepath.Join(dir, "shop"), listen)
			}
			if err := writeDemo(dir); err != nil {
				return status{exitBad, err}
			}
			err := judgeFiles(cmd.OutOrStdout(), cmd.ErrOrStderr(),
				filepath.Join(dir, "book.yaml"), filepath.Join(dir, "readings.csv"), demoGiven)
			var s status
			if errors.As(err, &s) && s.err == nil {
				err = nil // what the demo finds is what it is for
			}
			if err == nil {
				fmt.Fprintf(cmd.OutOrStdout(), "\nThe files are %[1]s and %[2]s. Judged with used valves and bushings, engine serial %[3]s. Try:\n  tenths judge --problems --given valve=new --given bushing=used --serial %[3]s %[1]s %[2]s\n",
					filepath.Join(dir, "book.yaml"), filepath.Join(dir, "readings.csv"), demoGiven.serial)
			}
			return err
		},
	}
	c.Flags().BoolVar(&serve, "serve", false, "serve the pages of a shop with the engine in it")
	c.Flags().StringVar(&listen, "listen", defaultListen, "the `ADDRESS` to listen on, of this machine only")
	return c
}

// Who works in the demo's shop. None of them is anybody.
const demoPassword = "a tenth is small"

var demoPeople = []shoplog.PersonAdded{
	{Handle: "mp", Name: "M. Pohl", Role: shoplog.Manager, Certificate: "mechanic", Number: "1188"},
	{Handle: "kd", Name: "K. Dorn", Role: shoplog.Mechanic, Certificate: "mechanic", Number: "204411"},
	{Handle: "ow", Name: "O. Weiss", Role: shoplog.Inspector, Certificate: "inspection authorization", Number: "77120"},
}

// demoMore are the other engines on its floor: of other builds, so that their
// drawings are seen.
var demoMore = []inventedEngine{
	{
		job.JobOpened{Order: "DEMO-2", Model: "Invented in-line six", Serial: "120", SinceNew: "642"},
		more.Inline, more.InlineReadings, true,
		[]string{"bush=used"},
		[]rework{
			{
				job.ItemRegistered{Item: "crankshaft", Part: "crank", Found: "crank"},
				[]string{"main-1", "main-2", "main-4", "main-6", "main-7", "pin-1", "pin-2", "pin-3", "pin-4", "pin-5", "pin-6"},
				"ground to the first undersize",
			},
			{job.ItemRegistered{Item: "barrel 6", Part: "barrel", Found: "barrel-6"}, []string{"bore"}, "honed"},
		},
	},
	{
		job.JobOpened{Order: "DEMO-3", Model: "Invented radial seven", Serial: "1500", SinceNew: "911.5"},
		more.Radial, more.RadialReadings, false,
		[]string{"guides=used", "bushings=used"},
		[]rework{
			{job.ItemRegistered{Item: "link 2", Part: "link", Found: "link-2"}, []string{"eye"}, "bushing pressed out"},
			{job.ItemRegistered{Item: "link 4", Part: "link", Found: "link-4"}, []string{"eye", "bushing"}, "new bushing"},
		},
	},
}

// serveDemo makes the demo's shop where it is not there, and serves it.
func serveDemo(c *cobra.Command, dir, listen string) error {
	a := &at{dir: dir}
	path := filepath.Join(dir, shop.Database)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		if err := makeDemo(c.Context(), a, path); err != nil {
			return err
		}
	}
	fmt.Fprintf(c.OutOrStdout(), "\nAn invented shop, with the engine under work order %s and two more. Sign in as mp (manager), kd (mechanic) or ow (inspector), with the password: %s\n", demoOrder, demoPassword)
	return a.serve(c, listen)
}

func makeDemo(ctx context.Context, a *at, path string) error {
	if err := os.MkdirAll(a.dir, 0o777); err != nil {
		return err
	}
	st, err := sqlite.Create(ctx, path)
	if err != nil {
		return err
	}
	defer st.Close()
	people := slices.Clone(demoPeople)
	for i := range people {
		people[i].Since = today()
	}
	s, err := shop.Make(ctx, st, a.options(), "Invented engine shop", people[0], demoPassword)
	if err != nil {
		return err
	}
	defer s.Close()
	by := shop.Who{Handle: people[0].Handle}
	for i := range people[1:] {
		p := &people[i+1]
		if _, err := s.State(ctx, by, p); err != nil {
			return err
		}
		if err := s.SetPassword(ctx, by, p.Handle, demoPassword); err != nil {
			return err
		}
	}
	if _, err := s.State(ctx, by, &shoplog.PolicySet{TwoPeople: true, Why: "to show it"}); err != nil {
		return err
	}
	if err := addDemo(ctx, s, by); err != nil {
		return err
	}
	for _, e := range demoMore {
		if err := addInvented(ctx, s, by, e); err != nil {
			return err
		}
	}
	return nil
}

// writeDemo writes the demo's files; a file of the same name that says
// something else is left alone.
func writeDemo(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	files := map[string][]byte{"book.yaml": demo.Book, "readings.csv": demo.Readings}
	for _, name := range []string{"book.yaml", "readings.csv"} {
		path := filepath.Join(dir, name)
		have, err := os.ReadFile(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			return err
		case string(have) == string(files[name]):
			continue
		default:
			return fmt.Errorf("%s is there and is not the demo's: give another folder, or move it away", path)
		}
		if err := os.WriteFile(path, files[name], 0o666); err != nil {
			return err
		}
	}
	return nil
}
