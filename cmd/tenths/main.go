// Tenths holds the measurements of an engine overhaul against its book. It
// advises; a certificated person decides and signs.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// Exit statuses, the same for every command: the first that applies.
const (
	exitGood   = 0
	exitBeyond = 1 // something is beyond its limits
	exitBad    = 2 // bad input, or an incomplete run
	exitOpen   = 3 // something is open, asked or held
)

// A status ends the program with an exit status after its output is written;
// what is said in err, if anything, goes to standard error.
type status struct {
	code int
	err  error
}

// code is the exit status that an error comes to.
func code(err error) int {
	if err == nil {
		return exitGood
	}
	s := status{code: exitBad}
	errors.As(err, &s)
	return s.code
}

func (s status) Error() string {
	if s.err == nil {
		return fmt.Sprintf("exit status %d", s.code)
	}
	return s.err.Error()
}

// memoryLimit is how much memory a command takes before any is collected, in bytes.
const memoryLimit = 160 << 20

func main() {
	// One run is short and small: nothing is collected while it takes less than
	// this, which is far under the memory of the smallest machine. A table or a
	// book of ten thousand rows takes more, and is collected as often as need be.
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(memoryLimit)
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

// run is the whole program but for the process around it.
func run(args []string, stdout, stderr io.Writer) int {
	root := command()
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.Execute()
	if err == nil {
		return exitGood
	}
	s := status{code: exitBad, err: err}
	errors.As(err, &s)
	if s.err != nil {
		fmt.Fprintf(stderr, "tenths: %v\n", s.err)
	}
	return s.code
}

const advice = `Tenths advises; it never approves. The maker's current manual, airworthiness
directives and local codes come first, and a certificated person decides and
signs.`

func command() *cobra.Command {
	root := &cobra.Command{
		Use:   "tenths",
		Short: "Hold the measurements of an engine overhaul against its book",
		Long: `Tenths holds the measurements taken at the overhaul of a piston aircraft engine
against the limits of its manual, exactly, and shows every verdict with its sum.

` + advice,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(judgeCommand(), bookCommand(), demoCommand(), shopCommand(), personCommand(), jobCommand(), serveCommand(), verifyCommand(), backupCommand(), restoreCommand())
	for _, c := range root.Commands() {
		if c.HasSubCommands() { // else a command that there is not would print the help, and be taken for done
			c.Args, c.DisableFlagsInUseLine = cobra.NoArgs, true
			c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
		}
	}
	return root
}

// readFile reads a file that the user named, at most most bytes of it.
func readFile(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	return data, nil
}
