package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"tenths/internal/shop"
	"tenths/internal/store/sqlite"
)

func backupCommand() *cobra.Command {
	a := &at{}
	c := &cobra.Command{
		Use: "backup FILE", Short: "Write a copy of the record to a file, while it is in use",
		Long: `Write a copy of the record, as of one moment, to a file, while it is in use. A file
of that name is not overwritten. The shop's key is not in it: keep a copy of seal.key
apart from both.`,
		Example: "  tenths backup saturday.db",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			st, err := sqlite.Open(c.Context(), filepath.Join(a.dir, shop.Database))
			if err != nil {
				return err
			}
			defer st.Close()
			if err := st.Backup(c.Context(), args[0]); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s is a copy of the record, read once more and sound. The shop's key is not in it.\n", args[0])
			return nil
		},
	}
	a.flags(c)
	return c
}

func restoreCommand() *cobra.Command {
	a := &at{}
	var older bool
	c := &cobra.Command{
		Use: "restore FILE", Short: "Put a backup in place of the record, once it is checked",
		Long: `Put a backup in place of the record. It is read whole first, and held against its
seals and those beside the record. What was there is put aside, not deleted. Stop
every program that has the record open before.

A backup that has less than was sealed since is refused: entries would be lost that
somebody may hold a seal of. Where that is all there is, --older takes it, and puts
the seals aside too.`,
		Example: "  tenths restore friday.db",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			n, err := a.checkBackup(c, args[0], a.dir)
			aside := ""
			if err != nil && older {
				// All but the seals beside the record must hold.
				if n, err = a.checkBackup(c, args[0], ""); err != nil {
					return err
				}
				seals := filepath.Join(a.dir, shop.SealsDir)
				aside = seals + ".before-" + time.Now().UTC().Format("20060102-150405")
				if err := os.Rename(seals, aside); err != nil {
					return err
				}
			}
			if err != nil {
				return fmt.Errorf("the backup was not put in place: %w", err)
			}
			was, err := sqlite.Restore(c.Context(), args[0], filepath.Join(a.dir, shop.Database))
			if err != nil {
				if aside != "" {
					err = errors.Join(err, os.Rename(aside, filepath.Join(a.dir, shop.SealsDir)))
				}
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "The record is the one in %s, %s.\n", args[0], counted(int(n), "entry"))
			for _, name := range []string{was, aside} {
				if name != "" {
					fmt.Fprintf(c.OutOrStdout(), "What was there is in %s.\n", name)
				}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&older, "older", false, "take a backup that has less than was sealed since")
	a.flags(c)
	return c
}

// checkBackup reads a backup whole, and holds it against the seals of a folder.
func (a *at) checkBackup(c *cobra.Command, file, dir string) (entries int64, err error) {
	if _, err := os.Stat(file); err != nil {
		return 0, err
	}
	st, err := sqlite.Open(c.Context(), file)
	if err != nil {
		return 0, err
	}
	defer st.Close()
	if err := st.Check(c.Context()); err != nil {
		return 0, err
	}
	o := a.options()
	o.Dir = dir
	s, err := shop.Open(c.Context(), st, o)
	if err != nil {
		return 0, err
	}
	defer s.Close()
	return s.Check(c.Context())
}
