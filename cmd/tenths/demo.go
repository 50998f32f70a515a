package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"tenths/internal/demo"
)

// demoGiven is what is known of the invented engine beside its readings.
var demoGiven = judgeOptions{given: []string{"valve=used", "bushing=used"}, serial: 1127}

func demoCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "demo DIR",
		Short: "Write an invented engine's book and readings to DIR and judge them",
		Long: `Write DIR/book.yaml and DIR/readings.csv, the book and the readings of an invented
four-cylinder opposed engine in the middle of its overhaul, and print their
verdicts. DIR is made where it is not there; files in it are not overwritten
unless they are the demo's own.

The engine, its limits and its readings are invented. Use them for nothing but
trying tenths.`,
		Example: "  tenths demo engine",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := args[0]
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
				fmt.Fprintf(cmd.OutOrStdout(), "\nThe files are %[1]s and %[2]s. Judged with used valves and bushings, engine serial %[3]d. Try:\n  tenths judge --problems --given valve=new --given bushing=used --serial %[3]d %[1]s %[2]s\n",
					filepath.Join(dir, "book.yaml"), filepath.Join(dir, "readings.csv"), demoGiven.serial)
			}
			return err
		},
	}
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
