package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tenths/internal/fault"
	"tenths/internal/job"
	"tenths/internal/judge"
	"tenths/internal/ledger"
	"tenths/internal/reading"
	"tenths/internal/record"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/table"
)

func jobCommand() *cobra.Command {
	a := &at{}
	c := &cobra.Command{
		Use: "job", Short: "Keep the record of an engine's overhaul, by its work order",
		Long: `Keep the record of an engine's overhaul. A job is named by the number of its work
order. What is entered stays for good: a wrong reading is struck and taken again.`,
	}
	a.flags(c)
	c.AddCommand(
		jobOpen(a), jobList(a), jobShow(a), jobJudge(a),
		jobTake(a), jobStrike(a), jobSkip(a), jobImport(a), jobItem(a), jobFit(a), jobRework(a), jobGiven(a), jobNote(a), jobEdition(a),
		jobSign(a), jobHand(a), jobClose(a), jobReopen(a),
		jobLogCommand(a), jobAsOf(a), jobSeal(a), jobExport(a),
	)
	return c
}

// editionsOf returns the editions that a shop has adopted, in order of their
// names.
func editionsOf(state *shoplog.State) []shoplog.EditionAdopted {
	return slices.SortedFunc(maps.Values(state.Editions), func(a, b shoplog.EditionAdopted) int {
		return cmp.Or(strings.Compare(a.Engine, b.Engine), strings.Compare(a.Edition, b.Edition))
	})
}

// edition returns the adopted edition whose name begins so, or whose manual has
// those words in its name.
func edition(state *shoplog.State, begins string) (string, error) {
	var found, all []string
	for _, e := range editionsOf(state) {
		all = append(all, fmt.Sprintf("%.16s (%s, %s)", e.Edition, e.Engine, e.Manual))
		if strings.HasPrefix(e.Edition, begins) || strings.Contains(e.Manual, begins) {
			found = append(found, e.Edition)
		}
	}
	if len(found) == 1 {
		return found[0], nil
	}
	why := "%q names %d of the shop's editions"
	if begins == "" {
		why = "no edition is named (%q), and the shop has %d"
	}
	return "", record.Refuse("edition", "the shop's editions are: "+cmp.Or(strings.Join(all, "; "), "none; a manager adopts one with tenths shop adopt"),
		why, begins, len(found))
}

func jobOpen(a *at) *cobra.Command {
	var f job.JobOpened
	c := &cobra.Command{
		Use: "open ORDER", Short: "Open a job under a work-order number",
		Example: `  tenths job open 2026-015 --edition "revision 3" --model "Invented four" --serial 1127 --since-new 1873.4 --reason "overhaul, time" --customer "North Field flying club" --authority "14 CFR 43" --by mp`,
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			state, err := s.Record(c.Context())
			if err != nil {
				return err
			}
			f.Order = args[0]
			if f.Edition, err = edition(state, f.Edition); err != nil {
				return err
			}
			done, err := s.OpenJob(c.Context(), a.who(), f)
			if err != nil {
				return err
			}
			e := state.Editions[f.Edition]
			fmt.Fprintf(c.OutOrStdout(), "Work order %s is open (entry %d), by %s, edition %.16s.\n", f.Order, done.From, e.Manual, e.Edition)
			return nil
		}),
	}
	fl := c.Flags()
	fl.StringVar(&f.Model, "model", "", "the engine's `MODEL`")
	fl.StringVar(&f.Serial, "serial", "", "its serial `NUMBER`")
	fl.StringVar(&f.SinceNew, "since-new", "", "`HOURS` in service since new, as the logbook has them")
	fl.StringVar(&f.SinceOverhaul, "since-overhaul", "", "`HOURS` since the last overhaul")
	fl.StringVar(&f.Reason, "reason", "", "`WHY` it is here")
	fl.StringVar(&f.Customer, "customer", "", "`WHO` it is for")
	fl.StringVar(&f.Authority, "authority", "", "`UNDER WHAT` the shop does this work: its certificate, or the rule")
	fl.StringVar(&f.Limits, "limits", job.ServiceLimits, "limits agreed to: `service|new`")
	fl.StringVar(&f.Edition, "edition", "", "the `EDITION` of the book, by how its name begins or by words of its manual's; not needed where the shop has one")
	a.byFlags(c)
	return c
}

func jobList(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the jobs, how far each has come and what is beyond",
		Example: "  tenths job list",
		Args:    cobra.NoArgs,
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, _ []string) error {
			list, err := s.List(c.Context())
			if err != nil {
				return err
			}
			p := newPage(c.OutOrStdout())
			if len(list) == 0 {
				fmt.Fprintln(p, "There is no job yet: open one with tenths job open.")
			}
			for _, j := range list {
				if j.Problem != "" {
					p.wrap(fmt.Sprintf("%-12s ", j.Order), j.Problem, 13)
					continue
				}
				p.wrap(fmt.Sprintf("%-12s ", p.bold(j.Order)), fmt.Sprintf("%s, serial %s, for %s", j.Model, j.Serial, j.Customer), 13)
				how := fmt.Sprintf("%d of %d spots, %d beyond, %d undecided, %d of %d parts signed", j.Measured, j.Spots, j.Beyond, j.Undecided, j.Progress.Signed, j.Parts)
				if j.Closed {
					how += ", inspection closed"
				}
				p.wrap(strings.Repeat(" ", 13), how+fmt.Sprintf("; with %s, last entry %d by %s, %s", j.Holder, j.Entries, j.By, clock(j.Last)), 13)
			}
			return p.Flush()
		}),
	}
}

// clock prints a moment to the minute.
func clock(t ledger.Time) string { return t.Time().Format("2006-01-02 15:04 UTC") }

// judged puts a job's verdicts where the judge's own are shown from.
func judgedOf(j *job.Judged, o judgeOptions, order string) *judged {
	return &judged{
		options: o, book: j.Book, file: &reading.File{Readings: j.Live}, readings: j.Readings,
		verdicts: slices.Clone(j.Verdicts), words: judge.Words{Book: j.Book, From: "entry"},
		hint: "Conditions are stated with tenths job given " + order + " NAME=WORD.",
	}
}

func jobJudge(a *at) *cobra.Command {
	var o judgeOptions
	c := &cobra.Command{
		Use: "judge ORDER", Short: "Show how every line of a job stands, as tenths judge does",
		Example: `  tenths job judge 2026-014 --problems
  tenths job judge 2026-014 --explain main-fit-2`,
		Args: cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			j, err := s.Judged(c.Context(), args[0])
			if err != nil {
				return err
			}
			return judgedOf(j, o, args[0]).show(c.OutOrStdout())
		}),
	}
	o.showFlags(c)
	return c
}

func jobShow(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "show ORDER", Short: "Show a job: how far it has come, what is beyond, what keeps it from being closed",
		Example: "  tenths job show 2026-014",
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			j, err := s.Judged(c.Context(), args[0])
			if err != nil {
				return err
			}
			state, err := s.Record(c.Context())
			if err != nil {
				return err
			}
			return showJob(c, j, state)
		}),
	}
}

// showJob prints a job as it stands.
func showJob(c *cobra.Command, j *job.Judged, shopState *shoplog.State) error {
	p := newPage(c.OutOrStdout())
	s, n := j.State, j.Progress()
	about := &s.About
	name := func(handle string) string {
		if who, ok := shopState.People[handle]; ok {
			return who.Name
		}
		return handle
	}
	fmt.Fprintf(p, "%s\n", p.bold("Work order "+about.Order))
	p.wrap("", fmt.Sprintf("%s, serial %s, for %s: %s", about.Model, about.Serial, about.Customer, about.Reason), 2)
	var hours []string
	if about.SinceNew != "" {
		hours = append(hours, about.SinceNew+" h since new")
	}
	if about.SinceOverhaul != "" {
		hours = append(hours, about.SinceOverhaul+" h since overhaul")
	}
	if len(hours) > 0 {
		fmt.Fprintln(p, strings.Join(hours, ", "))
	}
	p.wrap("", fmt.Sprintf("Under %s, to %s limits, by %s, edition %.16s", about.Authority, about.Limits, j.Book.Manual.String(), s.Edition), 2)
	p.wrap("", fmt.Sprintf("In the hands of %s; %s, the last by %s at %s", name(s.Holder), counted(int(s.Size), "entry"), name(s.Last.By), clock(s.Last.Recorded)), 2)
	p.notKnown("the job", s.Unknown)
	p.back(s.Jumps)
	fmt.Fprintln(p)
	fmt.Fprintf(p, "%d of %d spots measured, by %s (%d struck)\n", n.Measured, n.Spots, counted(n.Readings, "reading"), n.Struck)
	fmt.Fprintf(p, "%s: %d beyond, %d undecided\n", counted(n.Lines, "line"), n.Beyond, n.Undecided)
	if about.Limits == job.NewLimits {
		fmt.Fprintf(p, "%s serviceable only, and new limits were agreed to\n", counted(n.Short, "line"))
	}
	words := judge.Words{Book: j.Book, From: "entry"}
	settle := map[string]bool{}
	for i := range j.Verdicts {
		v := &j.Verdicts[i]
		for _, ask := range v.Asks {
			if ask.Kind == judge.Settle {
				settle[words.Ask(v, ask, j.Readings.At)] = true
			}
		}
	}
	if len(settle) > 0 {
		fmt.Fprintln(p, p.bold("\nTo be settled"))
		for _, text := range slices.Sorted(maps.Keys(settle)) {
			p.wrap("  ", text, 4)
		}
	}
	if len(j.Aside) > 0 {
		fmt.Fprintln(p, p.bold("\nKept, and not judged by"))
		for _, x := range j.Aside {
			p.wrap(fmt.Sprintf("  entry %-5d ", x.Seq), x.Spot+" "+x.Value+": "+x.Why, 14)
		}
	}
	if len(s.Signed) > 0 {
		fmt.Fprintln(p, p.bold("\nSigned"))
		for i := range s.Signed {
			sig := &s.Signed[i]
			text := fmt.Sprintf("%s, by %s, entry %d, %s", sig.As, name(sig.By), sig.Seq, clock(sig.Recorded))
			if !j.Stands(sig) {
				text += "; its readings have changed since: sign again"
			}
			p.wrap(fmt.Sprintf("  %-12s ", sig.Step), text, 15)
		}
	}
	if s.Closed != nil {
		fmt.Fprintf(p, "\nThe inspection is closed, by %s, entry %d, %s.\n", name(s.Closed.By), s.Closed.Seq, clock(s.Closed.Recorded))
	} else if blocks := j.Blocks(); len(blocks) > 0 {
		fmt.Fprintln(p, p.bold("\nThe inspection can't be closed yet"))
		for _, b := range blocks {
			p.wrap(fmt.Sprintf("  %-12s ", b.Step), b.What+": "+b.Do, 15)
		}
	} else {
		fmt.Fprintln(p, "\nNothing keeps the inspection from being closed: tenths job close")
	}
	p.wrap("\n", "Tenths advises; the maker's current manual governs and a certificated person decides and signs.", 2)
	return p.Flush()
}

// told prints which entries were made.
func told(c *cobra.Command, done shop.Done, what string) {
	which := fmt.Sprintf("entry %d", done.From)
	if done.To > done.From {
		which = fmt.Sprintf("entries %d to %d", done.From, done.To)
	}
	if done.Again {
		what = "was there already: " + what
	}
	fmt.Fprintf(c.OutOrStdout(), "%s: %s\n", which, what)
}

// enters is the body of a command that enters one request.
func (a *at) enters(what func(*shop.Shop, []string) (job.Request, string, error)) func(*cobra.Command, []string) error {
	return a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
		r, words, err := what(s, args)
		if err != nil {
			return err
		}
		done, err := s.Enter(c.Context(), a.who(), args[0], shop.Request{Request: r})
		if err != nil {
			return err
		}
		told(c, done, words)
		return nil
	})
}

func jobTake(a *at) *cobra.Command {
	var r job.Take
	var id string
	c := &cobra.Command{
		Use: "take ORDER SPOT VALUE", Short: "Enter a reading, and show what it comes to",
		Long: `Enter a reading: where it was taken and what the gauge showed, in the digits that it
showed. Written are a figure (2.2490, or 57.112 mm), a deviation (+3 tenths on
2.2500), what goes (0.004 goes, 0.005 does not), a band (0.0015..0.0020), yes or no.

A deviation that begins with a minus stands behind --, as any word that does.`,
		Example: `  tenths job take 2026-014 crank.pin-2.rear.90 2.0599 --gauge "2-3 in micrometer" --by kd`,
		Args:    cobra.ExactArgs(3),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			r.Spot, r.Value = args[1], args[2]
			done, err := s.Enter(c.Context(), a.who(), args[0], shop.Request{ID: id, Request: &r})
			if err != nil {
				return err
			}
			j, err := s.Judged(c.Context(), args[0])
			if err != nil {
				return err
			}
			for i := range j.State.Readings {
				if t := &j.State.Readings[i]; t.Seq == done.From {
					told(c, done, t.String())
				}
			}
			return showTouched(c, j, args[0], done.From)
		}),
	}
	f := c.Flags()
	f.StringVar(&r.Unit, "unit", "", "the `UNIT` of the value, where it names none")
	f.StringVar(&r.Item, "item", "", "the `TAG` of the item; else what is fitted there")
	f.StringVar(&r.Stage, "stage", "", "the `STAGE`: found, rework 1, assembled; else the item's")
	f.StringVar(&r.Step, "step", "", "the `MARK` of the undersize or oversize that the part bears")
	f.StringVar(&r.Setting, "setting", "", "the `SIZE` that the gauge was set to, where the value is a deviation")
	f.StringVar(&r.Sense, "sense", "", "`plus larger|plus smaller`: what plus on the gauge means")
	f.StringVar(&r.Gauge, "gauge", "", "which `GAUGE`")
	f.StringVar(&r.Temperature, "temperature", "", "of the part, as `68 F`")
	f.StringVar(&r.By, "read-by", "", "`WHO` read the gauge, where it is somebody else")
	f.StringVar(&r.Note, "note", "", "a `NOTE`")
	f.BoolVar(&r.Comma, "decimal-comma", false, "the value writes 2,2490 for 2.2490")
	f.StringVar(&id, "id", "", "the `UUID` of this reading, where it may be sent twice")
	f.Int64Var(&r.Known, "known", 0, "of a reading that comes late: the last `ENTRY` of the job that was known when it was taken")
	a.byFlags(c)
	return c
}

// showTouched prints how the lines stand that a reading is part of.
func showTouched(c *cobra.Command, j *job.Judged, order string, seq int64) error {
	n := slices.IndexFunc(j.Live, func(r reading.Reading) bool { return r.Row == int(seq) })
	if n < 0 || !slices.ContainsFunc(j.Readings.At(j.Live[n].Spot), func(r reading.Reading) bool { return r.Row == int(seq) }) {
		fmt.Fprintln(c.OutOrStdout(), "It is kept, and the engine as it is now is not judged by it.")
		return nil
	}
	r := judgedOf(j, judgeOptions{}, order)
	p := newPage(c.OutOrStdout())
	for _, ref := range j.Book.Touches(j.Live[n].Spot) {
		for i := range r.verdicts {
			if v := &r.verdicts[i]; v.Line == ref.Line && v.At == ref.At {
				r.row(p, v)
			}
		}
	}
	return p.Flush()
}

func jobStrike(a *at) *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "strike ORDER ENTRY", Short: "Strike a reading that is wrong; it stays in the record",
		Example: `  tenths job strike 2026-014 120 --why "read from the wrong pin" --by kd`,
		Args:    cobra.ExactArgs(2),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			n, err := entryNumber(args[1])
			return &job.StrikeReading{Entry: n, Why: why}, "entry " + args[1] + " is struck", err
		}),
	}
	c.Flags().StringVar(&why, "why", "", "the `REASON`")
	a.byFlags(c)
	return c
}

func jobSkip(a *at) *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "skip ORDER SPOT", Short: "Say why a spot is not measured for now; it stays open",
		Example: `  tenths job skip 2026-014 crank.pin-2.rear.90 --why "under the lead" --by kd`,
		Args:    cobra.ExactArgs(2),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			return &job.SkipSpot{SpotSkipped: job.SpotSkipped{Spot: args[1], Why: why}}, args[1] + " is skipped, and stays open", nil
		}),
	}
	c.Flags().StringVar(&why, "why", "", "the `REASON`")
	a.byFlags(c)
	return c
}

func entryNumber(text string) (int64, error) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		return 0, record.Refuse("entry", "tenths job log has them", "%q is not the number of an entry", text)
	}
	return n, nil
}

func jobImport(a *at) *cobra.Command {
	in := shop.Import{}
	c := &cobra.Command{
		Use: "import ORDER FILE", Short: "Enter the readings of a file that are not there yet",
		Long: `Enter the readings of a file (CSV, as tenths judge reads it), all of them at once or
none. The same file again adds nothing. Of a corrected file only what changed is
added; the readings that it corrects are named, and struck where --strike says why:
until then both stand, and are to be settled.`,
		Example: "  tenths job import 2026-014 widths.csv --register --by kd",
		Args:    cobra.ExactArgs(2),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			var err error
			in.Name = args[1]
			if in.Data, err = readFile(args[1], table.MaxSize); err != nil {
				return err
			}
			got, err := s.ImportReadings(c.Context(), a.who(), args[0], in)
			if err != nil {
				var faults fault.List
				if errors.As(err, &faults) {
					return fmt.Errorf("nothing was imported: mend the file, or leave the rows in fault out with --skip-faults\n%w", err)
				}
				return fmt.Errorf("nothing was imported: %w", err)
			}
			p := newPage(c.OutOrStdout())
			switch {
			case got.Added+len(got.Registered)+len(got.Struck) == 0:
				fmt.Fprintf(p, "Nothing to add: all %s were there already.\n", counted(got.Rows, "reading"))
			case got.Added > 0:
				fmt.Fprintf(p, "%s added, %d there already (entries %d to %d).\n", counted(got.Added, "reading"), got.Before, got.From, got.To)
			}
			if n := len(got.Faults); n > 0 {
				fmt.Fprintf(c.ErrOrStderr(), "tenths: incomplete: rows in fault were left out\n%v\n", got.Faults)
			}
			if got.Blank > 0 {
				fmt.Fprintf(p, "%s without a value yet.\n", counted(got.Blank, "row"))
			}
			if n := len(got.Registered); n > 0 {
				p.wrap("", counted(n, "item")+" registered, each as found where the file has it.", 2)
			}
			for _, e := range got.Struck {
				fmt.Fprintf(p, "Struck: entry %d\n", e)
			}
			for _, x := range got.Corrects {
				p.wrap("", fmt.Sprintf("Would strike entry %d: %s %s, now %s", x.Entry, x.Spot, x.Value, x.Now), 2)
			}
			if n := len(got.Corrects); n > 0 {
				p.wrap("", "Until then both stand and are to be settled: tenths job strike, each by its entry.", 2)
			}
			if err := p.Flush(); err != nil || len(got.Faults) == 0 {
				return err
			}
			return status{code: exitBad}
		}),
	}
	f := c.Flags()
	f.BoolVar(&in.SkipFaults, "skip-faults", false, "enter the rest where rows are in fault; exit status 2")
	f.BoolVar(&in.Comma, "decimal-comma", false, "the file writes 2,2490 for 2.2490")
	f.BoolVar(&in.Register, "register", false, "register the items that it names, each as found where the file has it")
	f.StringVar(&in.Strike, "strike", "", "strike what the file corrects, for this `REASON`")
	a.byFlags(c)
	return c
}

func jobItem(a *at) *cobra.Command {
	var r job.RegisterItem
	c := &cobra.Command{
		Use: "item ORDER TAG PART", Short: "Register a piece of metal by the tag that is tied to it",
		Example: `  tenths job item 2026-014 "rod 9" rod --number R-100 --serial 77 --by kd`,
		Args:    cobra.ExactArgs(3),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			r.Item, r.Part = args[1], args[2]
			words := r.Item + " is registered"
			if r.Found != "" {
				words += ", as found at " + r.Found
			}
			return &r, words, nil
		}),
	}
	f := c.Flags()
	f.StringVar(&r.Number, "number", "", "part `NUMBER`")
	f.StringVar(&r.Serial, "serial", "", "serial `NUMBER`")
	f.StringVar(&r.Found, "found", "", "the `POSITION` it was found at, as rod-3; readings taken there before are its own")
	a.byFlags(c)
	return c
}

func jobFit(a *at) *cobra.Command {
	c := &cobra.Command{
		Use: "fit ORDER POSITION=ITEM...", Short: "Fit items at positions, or take them out",
		Long: `Fit items at positions. What is at a position leaves it first, so that two items
change places when both are named. A position with nothing behind = is emptied.`,
		Example: `  tenths job fit 2026-014 "rod-1=rod 2" "rod-2=rod 1" --by kd
  tenths job fit 2026-014 rod-3= --by kd`,
		Args: cobra.MinimumNArgs(2),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			var r job.Fit
			var words []string
			for _, text := range args[1:] {
				position, item, ok := strings.Cut(text, "=")
				if !ok {
					return nil, "", record.Refuse("position", "write POSITION=ITEM, or POSITION= to empty it", "%q names no item", text)
				}
				r.Places = append(r.Places, job.ItemFitted{Position: position, Item: item})
				words = append(words, position+" has "+cmp.Or(item, "nothing"))
			}
			return &r, strings.Join(words, ", "), nil
		}),
	}
	a.byFlags(c)
	return c
}

func jobRework(a *at) *cobra.Command {
	var what string
	c := &cobra.Command{
		Use: "rework ORDER ITEM FEATURE...", Short: "Enter that an item came back from rework: what was measured of it before has ended",
		Example: `  tenths job rework 2026-014 "crankshaft A" pin-1 pin-2 pin-3 pin-4 --what "pins ground 0.010 under" --by kd`,
		Args:    cobra.MinimumNArgs(3),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			return &job.ReturnFromRework{Item: args[1], Sites: args[2:], What: what}, args[1] + " came back: measure " + strings.Join(args[2:], ", ") + " again", nil
		}),
	}
	c.Flags().StringVar(&what, "what", "", "`WHAT` was done")
	a.byFlags(c)
	return c
}

func jobGiven(a *at) *cobra.Command {
	c := &cobra.Command{
		Use: "given ORDER NAME=WORD", Short: "State a condition that lines depend on",
		Example: "  tenths job given 2026-014 bushing=used --by kd",
		Args:    cobra.ExactArgs(2),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			name, word, _ := strings.Cut(args[1], "=")
			return &job.StateCondition{ConditionStated: job.ConditionStated{Name: name, Word: word}}, args[1] + " is stated", nil
		}),
	}
	a.byFlags(c)
	return c
}

func jobNote(a *at) *cobra.Command {
	var r job.WriteNote
	c := &cobra.Command{
		Use: "note ORDER TEXT", Short: "Write a note",
		Example: `  tenths job note 2026-014 "bronze flakes in the sump screen" --by kd`,
		Args:    cobra.ExactArgs(2),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			r.Text = args[1]
			return &r, "noted", nil
		}),
	}
	c.Flags().StringVar(&r.Spot, "spot", "", "the `SPOT` it is about")
	c.Flags().StringVar(&r.Item, "item", "", "the `ITEM` it is about, by its tag")
	a.byFlags(c)
	return c
}

func jobEdition(a *at) *cobra.Command {
	var accept string
	c := &cobra.Command{
		Use: "edition ORDER EDITION", Short: "Judge a job by another edition of its book, once what that alters is accepted",
		Long: `Without --accept, list what judging the job by that edition would alter: lines,
limits, grades, readings that count no more. With --accept and the digest of that
list, enter the change.

Exit status without --accept: 3, as nothing was changed.`,
		Example: "  tenths job edition 2026-014 'revision 4'",
		Args:    cobra.ExactArgs(2),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			state, err := s.Record(c.Context())
			if err != nil {
				return err
			}
			to, err := edition(state, args[1])
			if err != nil {
				return err
			}
			list, r, err := s.Alters(c.Context(), args[0], to)
			if err != nil {
				return err
			}
			p := newPage(c.OutOrStdout())
			if accept == "" {
				for _, l := range list {
					p.wrap("  ", l, 4)
				}
				p.wrap("", fmt.Sprintf("%s. Nothing is changed yet; to accept them: tenths job edition %s %.16s --accept %.16s", counted(len(list), "change"), args[0], to, r.Accept), 2)
				if err := p.Flush(); err != nil {
					return err
				}
				return status{code: exitOpen}
			}
			if len(accept) < 16 || !strings.HasPrefix(r.Accept, accept) {
				return record.Refuse("accept", "read it with tenths job edition, without --accept", "%q is not the digest of what that edition alters now", accept)
			}
			done, err := s.Enter(c.Context(), a.who(), args[0], shop.Request{Request: r})
			if err != nil {
				return err
			}
			told(c, done, fmt.Sprintf("judged by edition %.16s from now on", to))
			return nil
		}),
	}
	c.Flags().StringVar(&accept, "accept", "", "the `DIGEST` of the list that was read")
	a.byFlags(c)
	return c
}

// signs is the body of a command that signs: it shows the statement in full,
// then asks for the password.
func (a *at) signs(c *cobra.Command, s *shop.Shop, order, step, as string) error {
	r, statement, err := s.Signature(c.Context(), a.who(), order, step, as)
	if err != nil {
		return err
	}
	p := newPage(c.OutOrStdout())
	p.wrap("  ", statement, 2)
	if err := p.Flush(); err != nil {
		return err
	}
	password, err := a.password(c, "To sign this, the password of "+a.by)
	if err != nil {
		return err
	}
	done, sealed, err := s.Sign(c.Context(), a.who(), password, order, r)
	if err != nil {
		return err
	}
	told(c, done, "signed")
	return sealedTold(c, s, sealed)
}

// sealedTold prints a seal for whoever wants to keep it.
func sealedTold(c *cobra.Command, s *shop.Shop, sealed shop.Sealed) error {
	state, err := s.Record(c.Context())
	if err != nil {
		return err
	}
	fmt.Fprintf(c.OutOrStdout(), "Sealed with %s, root %s, key %s.\n", counted(int(sealed.Size), "entry"), sealed.Root, ledger.Fingerprint(state.Key))
	return nil
}

func jobSign(a *at) *cobra.Command {
	var as string
	c := &cobra.Command{
		Use: "sign ORDER PART", Short: "Sign the measuring of a part, as performed or as inspected",
		Long: `Sign the measuring of a part. The exact statement is shown first, and then the
password is asked for. Everything of the part must be measured and decided; what is
beyond its limits may be signed: the signature says what was found and approves
nothing. A signature stands until a reading that it rests on changes.`,
		Example: "  tenths job sign 2026-014 cam --as performed --by kd --password-file password.txt",
		Args:    cobra.ExactArgs(2),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			return a.signs(c, s, args[0], args[1], as)
		}),
	}
	c.Flags().StringVar(&as, "as", "", "`performed|inspected`")
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}

func jobClose(a *at) *cobra.Command {
	c := &cobra.Command{
		Use: "close ORDER", Short: "Close the inspection, when everything is measured, settled and signed",
		Example: "  tenths job close 2026-013 --by ow --password-file password.txt",
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			return a.signs(c, s, args[0], "", "")
		}),
	}
	a.byFlags(c)
	a.passwordFlags(c)
	return c
}

func jobReopen(a *at) *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "reopen ORDER", Short: "Reopen an inspection that was closed",
		Example: `  tenths job reopen 2026-012 --why "journal to be measured again" --by ow`,
		Args:    cobra.ExactArgs(1),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			return &job.Reopen{InspectionReopened: job.InspectionReopened{Why: why}}, "reopened", nil
		}),
	}
	c.Flags().StringVar(&why, "why", "", "the `REASON`")
	a.byFlags(c)
	return c
}

func jobHand(a *at) *cobra.Command {
	var note string
	c := &cobra.Command{
		Use: "hand ORDER HANDLE", Short: "Hand the job over to somebody",
		Example: `  tenths job hand 2026-014 kd --note "pins 1 and 2 are done" --by mp`,
		Args:    cobra.ExactArgs(2),
		RunE: a.enters(func(_ *shop.Shop, args []string) (job.Request, string, error) {
			return &job.HandOver{HandedOver: job.HandedOver{To: args[1], Note: note}}, "handed over to " + args[1], nil
		}),
	}
	c.Flags().StringVar(&note, "note", "", "what they must `KNOW`")
	a.byFlags(c)
	return c
}

// notKnown says which entries of a log this version does not know.
func (p page) notKnown(log string, all []record.Strange) {
	if text := record.Unknown(log, all); text != "" {
		p.wrap("", visible(text), 2)
	}
}

// back says where the clock was set back.
func (p page) back(jumps []int64) {
	if text := record.Back(jumps); text != "" {
		p.wrap("", text, 2)
	}
}

// entry prints an entry of a log on a line or a few.
func (p page) entry(e *ledger.Entry, words string, before ledger.Time) {
	if e.Recorded.Before(before) {
		p.wrap("       ", fmt.Sprintf("the writer's clock went back by %v", before.Time().Sub(e.Recorded.Time()).Round(time.Second)), 9)
	}
	p.wrap(fmt.Sprintf("%5d  %s  %-4s ", e.Seq, e.Recorded.Time().Format("2006-01-02 15:04:05"), e.By), words, 7)
	if late := e.Recorded.Time().Sub(e.Made.Time()); late > time.Minute || late < -time.Minute {
		p.wrap("       ", "made at "+clock(e.Made)+" by the clock of "+cmp.Or(e.Device, "its device"), 9)
	}
}

func jobLogCommand(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "log ORDER", Short: "Print a job's log, as it was entered; strikes stand beside what they strike",
		Example: "  tenths job log 2026-014",
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			state, err := s.Job(c.Context(), args[0])
			if err != nil {
				return err
			}
			entries, err := s.Entries(c.Context(), args[0])
			if err != nil {
				return err
			}
			struck := state.Struck()
			p := newPage(c.OutOrStdout())
			var before ledger.Time
			for i := range entries {
				e := &entries[i]
				words := state.Words(e)
				if by := struck[e.Seq]; by != nil {
					words += fmt.Sprintf(" [struck by entry %d: %s]", by.Seq, by.Why)
				}
				p.entry(&e.Entry, words, before)
				before = e.Recorded
			}
			return p.Flush()
		}),
	}
}

func jobAsOf(a *at) *cobra.Command {
	return &cobra.Command{
		Use: "as-of ORDER ENTRY|TIME", Short: "Show a job as it was known after an entry, or at a time",
		Long: `Show a job as it was known after an entry. A time (2026-11-25 14:30, in UTC) means
after the last entry that was recorded by then.`,
		Example: "  tenths job as-of 2026-014 40",
		Args:    cobra.ExactArgs(2),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			j, err := asOf(c.Context(), s, args[0], args[1])
			if err != nil {
				return err
			}
			state, err := s.Record(c.Context())
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "As it was known after entry %d, of %s:\n\n", j.State.Size, clock(j.State.Last.Recorded))
			return showJob(c, j, state)
		}),
	}
}

// asOf folds a job's log up to an entry or a time.
func asOf(ctx context.Context, s *shop.Shop, order, when string) (*job.Judged, error) {
	entries, err := s.Entries(ctx, order)
	if err != nil {
		return nil, err
	}
	n, err := strconv.Atoi(when)
	if err != nil {
		var t time.Time
		for _, form := range []string{time.DateOnly, "2006-01-02 15:04", time.DateTime, time.RFC3339} {
			if t, err = time.Parse(form, when); err == nil {
				break
			}
		}
		if err != nil {
			return nil, record.Refuse("when", "write its number, or a time as 2026-11-25 14:30", "%q is neither an entry nor a time", when)
		}
		for i := range entries {
			if !entries[i].Recorded.Time().After(t) {
				n = i + 1
			}
		}
	}
	if n < 1 || n > len(entries) {
		return nil, record.Refuse("when", "", "the job has entries 1 to %d, and %s is before or behind them", len(entries), when)
	}
	state := job.Fold(entries[0].Log, entries[:n])
	b, err := s.Book(ctx, state.Edition)
	if err != nil {
		return nil, err
	}
	return state.Judge(b), nil
}

func jobSeal(a *at) *cobra.Command {
	c := &cobra.Command{
		Use: "seal ORDER", Short: "Seal a job's log as it is, and print the seal for whoever wants to keep it",
		Example: "  tenths job seal 2026-014 --by kd",
		Args:    cobra.ExactArgs(1),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			sealed, err := s.Seal(c.Context(), a.who(), args[0])
			if err != nil {
				return err
			}
			fmt.Fprint(c.OutOrStdout(), sealed.Note)
			return nil
		}),
	}
	a.byFlags(c)
	return c
}

func jobExport(a *at) *cobra.Command {
	c := &cobra.Command{
		Use: "export ORDER FILE", Short: "Write a job's record to one file that a stranger can check",
		Long: `Write the whole record of a job to one file: its entries, those of the shop's log,
the editions it was judged by, the seals and the shop's key. tenths verify checks
it, and so can any program written by docs/formats.md. A file of that name is not
overwritten. Where the shop's key is lost, what was not sealed before goes with it
unsealed, and the exit status is 3.`,
		Example: "  tenths job export 2026-014 2026-014.tenths --by kd",
		Args:    cobra.ExactArgs(2),
		RunE: a.in(func(c *cobra.Command, s *shop.Shop, args []string) error {
			if _, err := os.Lstat(args[1]); err == nil {
				return fmt.Errorf("%s is there already: name another file", args[1])
			}
			f, err := os.CreateTemp(filepath.Dir(args[1]), ".export-*")
			if err != nil {
				return err
			}
			out, err := s.Export(c.Context(), a.who(), args[0], f)
			err = errors.Join(err, f.Chmod(0o644), f.Sync(), f.Close())
			if err == nil {
				err = os.Link(f.Name(), args[1]) // never in place of another
			}
			if err = errors.Join(err, os.Remove(f.Name())); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: %s of work order %s.\n", args[1], counted(int(out.Entries), "entry"), args[0])
			if out.Size > 0 {
				if err := sealedTold(c, s, out.Sealed); err != nil {
					return err
				}
			}
			if out.Unsealed != nil {
				return status{exitOpen, fmt.Errorf("it is written, and %s of it not sealed: %w", counted(int(out.Entries-out.Size), "entry"), out.Unsealed)}
			}
			return nil
		}),
	}
	a.byFlags(c)
	return c
}
