package draft_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"tenths/internal/book"
	"tenths/internal/draft"
	"tenths/internal/fault"
	"tenths/internal/intake"
	"tenths/internal/table"
)

const limits = `Ref,Description,New (in),Wear limit
1,Main journal dia,2.2490 - 2.2500,2.2470
2,Bearing bore,2.2515 - 2.2525,"2,2540"
3,Backlash,0.003 - 0.012,
4,Pin bore,1.0010 - 1.0020,1.0002
`

var ro = draft.Stamp{By: "R. Okafor", Date: "2026-11-25"}

// begun is a draft with that table.
func begun(t *testing.T, csv string) (all *draft.Drafts, dir, name string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "drafts")
	all = draft.In(dir)
	name, err := all.Begin(intake.Title{Engine: "Old four"}, draft.Upload{Name: "limits.csv", Data: []byte(csv), Stamp: ro})
	if err != nil {
		t.Fatal(err)
	}
	return all, filepath.Join(dir, name), name
}

func open(t *testing.T, all *draft.Drafts, name string) *draft.Draft {
	t.Helper()
	d, err := all.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	if d.Wrong != nil {
		t.Fatal(d.Wrong)
	}
	return d
}

func counts(t *testing.T, d *draft.Draft, rows, held int) {
	t.Helper()
	if r, h, _ := d.Count(); r != rows || h != held {
		t.Errorf("%d rows, %d held, want %d and %d", r, h, rows, held)
	}
}

func say(line, cell, says string) book.Saying {
	return book.Saying{Line: line, Cell: cell, Says: says, By: ro.By, Date: ro.Date, Why: "looked again"}
}

// A draft's files are those of the command line: each can be read by itself, and
// together they are what the draft says.
func TestFiles(t *testing.T) {
	all, dir, name := begun(t, limits)
	d := open(t, all, name)
	counts(t, d, 4, 3)
	m := d.Tables[0].Mapping
	m.Answers = map[string]string{"blank": "not stated"}
	if err := all.Say(name, 0, m); err != nil {
		t.Fatal(err)
	}
	if err := all.Add(name, draft.Upload{Name: `C:\my\other table.csv`, Data: []byte("Ref,Description,New (in),Wear limit\n9,Tappet bore,1.10-1.11,\n"), Stamp: ro}); err != nil {
		t.Fatal(err)
	}
	if err := all.Answer(name, say("bearing-bearing-bore", "service", "2.2540")); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	counts(t, d, 5, 1)
	if said := d.Tables[1].Mapping.Answers["blank"]; said != "not stated" {
		t.Errorf("what was said of the first table is not said of the second: %q", said)
	}

	table1, err := os.ReadFile(filepath.Join(dir, "01-limits.csv"))
	if err != nil || string(table1) != limits {
		t.Errorf("the table is not as it came: %v", err)
	}
	said, err := os.ReadFile(filepath.Join(dir, "02-other-table.mapping.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := intake.ParseMapping(said); err != nil {
		t.Error(err)
	}
	own, err := os.ReadFile(filepath.Join(dir, "old-four.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	settled, err := os.ReadFile(filepath.Join(dir, "old-four.settled.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if b, err := book.Load("b.yaml", book.Join(own, settled)); err != nil || len(b.Lines) != 5 || !bytes.Equal(book.Join(own, settled), d.Text()) {
		t.Errorf("the files are not the draft: %v", err)
	}
	list, err := all.List()
	if err != nil || len(list) != 1 || list[0].Name != "old-four" || list[0].Engine != "Old four" || len(list[0].Tables) != 2 || list[0].Begun != ro {
		t.Errorf("%+v %v", list, err)
	}

	// Another program opens the same.
	counts(t, open(t, draft.In(filepath.Dir(dir)), name), 5, 1)
}

// Names of files are ours, whatever those were called that were brought in, and
// no name leads out of the folder.
func TestNames(t *testing.T) {
	dir := t.TempDir()
	all := draft.In(filepath.Join(dir, "drafts"))
	for _, c := range []struct{ engine, file, name, kept string }{
		{"../../etc", "../../../passwd", "etc", "01-passwd.csv"},
		{"Ωμέγα", "таблица.csv", "book", "01-table.csv"},
		{"Old four", "a/b\\c..csv", "old-four", "01-c.csv"},
		{"Old Four!", "NAME.YAML", "old-four-2", "01-name.csv"},
		{strings.Repeat("long ", 30), strings.Repeat("x", 300) + ".csv", "long-long-long-long-long-long-long-long", "01-" + strings.Repeat("x", 40) + ".csv"},
	} {
		name, err := all.Begin(intake.Title{Engine: c.engine}, draft.Upload{Name: c.file, Data: []byte(limits), Stamp: ro})
		if err != nil || name != c.name {
			t.Errorf("%q: %q, want %q: %v", c.engine, name, c.name, err)
			continue
		}
		if _, err := os.Stat(filepath.Join(dir, "drafts", name, c.kept)); err != nil {
			t.Error(err)
		}
	}
	for _, name := range []string{"", ".", "..", "../drafts", "old-four/../old-four", "Old-four", "old-four\x00", "none"} {
		if _, err := all.Open(name); !errors.Is(err, draft.ErrNone) {
			t.Errorf("%q: %v", name, err)
		}
		if err := all.Add(name, draft.Upload{Name: "t.csv", Data: []byte(limits)}); !errors.Is(err, draft.ErrNone) {
			t.Errorf("%q: %v", name, err)
		}
	}
	// A file that somebody wrote by hand does not lead out either.
	about := filepath.Join(dir, "drafts", "etc", "draft.yaml")
	text, err := os.ReadFile(about)
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"../old-four/draft.yaml", ".hidden", "/etc/passwd"} {
		if err := os.WriteFile(about, bytes.Replace(text, []byte("01-passwd.csv"), []byte(bad), 1), 0o666); err != nil {
			t.Fatal(err)
		}
		if _, err := all.Open("etc"); err == nil || !strings.Contains(err.Error(), "no file of the draft's folder") {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

// What can't be read is told, and nothing is kept of it.
func TestRefused(t *testing.T) {
	dir := t.TempDir()
	all := draft.In(filepath.Join(dir, "drafts"))
	title := intake.Title{Engine: "E"}
	for name, data := range map[string]string{"pdf": "%PDF-1.7", "old or protected": "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "corrupt": "PK\x03\x04 no more", "empty": ""} {
		_, err := all.Begin(title, draft.Upload{Name: name, Data: []byte(data), Stamp: ro})
		var faults fault.List
		if !errors.As(err, &faults) {
			t.Errorf("%s: %v", name, err)
		}
	}
	var refused *draft.RefusedError
	for _, bad := range []intake.Title{{}, {Engine: "  "}, {Engine: strings.Repeat("x", 300)}} {
		if _, err := all.Begin(bad, draft.Upload{Name: "t.csv", Data: []byte(limits)}); !errors.As(err, &refused) {
			t.Errorf("%.20v: %v", bad, err)
		}
	}
	if list, err := all.List(); err != nil || len(list) != 0 {
		t.Errorf("something is kept: %v %v", list, err)
	}
	name, err := all.Begin(title, draft.Upload{Name: "t.csv", Data: []byte(limits), Stamp: ro})
	if err != nil {
		t.Fatal(err)
	}
	before := open(t, all, name)
	if err := all.Say(name, 0, intake.Mapping{Columns: map[string]string{"New (in)": "nonsense"}}); !errors.As(err, &refused) {
		t.Errorf("nonsense is kept: %v", err)
	}
	if err := all.Say(name, 7, intake.Mapping{}); !errors.Is(err, draft.ErrNone) {
		t.Error(err)
	}
	// A table that would make a book too large.
	large := "Ref,Description,New (in),Wear limit,Notes\n" + strings.Repeat("1,Pin dia,1.10-1.11,1.09,"+strings.Repeat("as it is ", 220)+"\n", 4500)
	if err := all.Add(name, draft.Upload{Name: "large.csv", Data: []byte(large), Stamp: ro}); err != nil {
		t.Fatal(err) // it is kept, and its page says why no book comes of it
	}
	if d, err := all.Open(name); err != nil || d.Wrong == nil || !strings.Contains(d.Wrong.Error(), "larger than") {
		t.Errorf("%v", err)
	}
	if err := all.Say(name, 1, intake.Mapping{Unit: "mm"}); !errors.As(err, &refused) || !strings.Contains(err.Error(), "larger than") {
		t.Error(err)
	}
	if err := all.LeaveOut(name, 1, true); err != nil {
		t.Error(err)
	}
	if after := open(t, all, name); !bytes.Equal(after.Text(), before.Text()) {
		t.Error("the draft changed")
	}
}

// What was settled stands when the table is read otherwise, also where the cell can
// be read now; what has no line any more is kept beside it.
func TestSettledStays(t *testing.T) {
	all, dir, name := begun(t, limits)
	for _, s := range []book.Saying{say("bearing-bearing-bore", "service", "2.2540"), say("backlash-backlash", "service", "0.020"), say("pin-pin-bore", "service", "1.0020")} {
		d := open(t, all, name)
		for _, l := range d.Loaded.Lines { // whatever its key is
			if strings.HasSuffix(l.Key, s.Line[strings.Index(s.Line, "-")+1:]) {
				s.Line = l.Key
			}
		}
		if err := all.Answer(name, s); err != nil {
			t.Fatal(err)
		}
	}
	d := open(t, all, name)
	counts(t, d, 4, 0)
	m := d.Tables[0].Mapping
	m.Answers = map[string]string{"blank": "none"}
	if err := all.Say(name, 0, m); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	counts(t, d, 4, 0)
	for _, l := range d.Loaded.Lines {
		if l.Name == "Backlash" && (l.Says.Service != "0.020" || len(l.Settled) != 1) {
			t.Errorf("what was settled does not stand: %+v", l)
		}
	}
	if err := all.LeaveOut(name, 0, true); err != nil {
		t.Fatal(err)
	}
	if err := all.Add(name, draft.Upload{Name: "t.csv", Data: []byte("Ref,Description,New (in),Wear limit\n1,Other pin dia,1.10-1.11,1.09\n"), Stamp: ro}); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	counts(t, d, 1, 0)
	if len(d.Settled) > 100 {
		t.Errorf("settled of lines that are not there:\n%s", d.Settled)
	}
	aside, err := os.ReadFile(filepath.Join(dir, name+".aside.yaml"))
	if err != nil || !strings.Contains(string(aside), "0.020") {
		t.Errorf("what was settled is lost: %v %s", err, aside)
	}
}

// A book that somebody edited is taken as it stands: its tables are not read anew
// over it, and what waits in it can be settled.
func TestEdited(t *testing.T) {
	all, dir, name := begun(t, limits)
	path := filepath.Join(dir, name+".yaml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, bytes.Replace(text, []byte("2.2470"), []byte("2.2475"), 1), 0o666); err != nil {
		t.Fatal(err)
	}
	d := open(t, all, name)
	if !d.Edited || !bytes.Contains(d.Text(), []byte("2.2475")) {
		t.Error("the edited book is not taken as it stands")
	}
	var refused *draft.RefusedError
	m := d.Tables[0].Mapping
	m.Answers = map[string]string{"blank": "none"}
	for what, err := range map[string]error{
		"a mapping": all.Say(name, 0, m), "a table": all.Add(name, draft.Upload{Name: "t.csv", Data: []byte(limits)}),
		"a title": all.Call(name, intake.Title{Engine: "Other"}), "leaving out": all.LeaveOut(name, 0, true),
	} {
		if !errors.As(err, &refused) || !strings.Contains(err.Error(), "edited outside") {
			t.Errorf("%s: %v", what, err)
		}
	}
	waits := d.Loaded.Doubts()
	if err := all.Answer(name, say(waits[0].Line.Key, waits[0].Cell, "2.2540")); err != nil {
		t.Fatal(err)
	}
	if now, err := os.ReadFile(path); err != nil || !bytes.Contains(now, []byte("2.2475")) {
		t.Errorf("the edited book is written over: %v", err)
	}
}

// A power cut between the files leaves a draft that opens: the book is made anew.
func TestCutBetweenFiles(t *testing.T) {
	all, dir, name := begun(t, limits)
	was, err := os.ReadFile(filepath.Join(dir, name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	m := open(t, all, name).Tables[0].Mapping
	m.Answers = map[string]string{"blank": "none"}
	if err := all.Say(name, 0, m); err != nil {
		t.Fatal(err)
	}
	now := open(t, all, name).Text()
	for what, cut := range map[string]func() error{
		"the book as it was": func() error { return os.WriteFile(filepath.Join(dir, name+".yaml"), was, 0o666) },
		"no book":            func() error { return os.Remove(filepath.Join(dir, name+".yaml")) },
	} {
		if err := cut(); err != nil {
			t.Fatal(err)
		}
		if d := open(t, draft.In(filepath.Dir(dir)), name); d.Edited || !bytes.Equal(d.Text(), now) {
			t.Errorf("%s: edited %v:\n%s", what, d.Edited, d.Text())
		}
	}
}

// A cell that can be read, and is wrong, is held as it was brought in and settled
// as a person says; the table stays as it is.
func TestCorrect(t *testing.T) {
	all, dir, name := begun(t, "Ref,Description,New (in),Wear limit\n1,Main journal dia,2.2490 - 2.2500,2.2470\n2,Crankpin dia,1.9990 - 2.0000,1.9970\n")
	d := open(t, all, name)
	journal, pin := d.Loaded.Lines[0].Key, d.Loaded.Lines[1].Key
	if err := all.Correct(name, "sibling-unlike: it is", say(journal, "new", "2.2495 - 2.2500"), say(pin, "service", "1.9960")); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	counts(t, d, 2, 0)
	l, _ := d.Loaded.Line(journal)
	if l.Says.New != "2.2495 - 2.2500" || l.Says.Service != "2.2470" || len(l.Settled) != 2 || l.Settled[0].Text != "2.2490 - 2.2500" || l.Settled[0].By != ro.By {
		t.Errorf("%+v %+v", l.Says, l.Settled)
	}
	if l, _ = d.Loaded.Line(pin); l.Says.Service != "1.9960" || len(l.Settled) != 1 || !strings.Contains(l.Settled[0].Hold.Why, "sibling-unlike") {
		t.Errorf("%+v %+v", l.Says, l.Settled)
	}
	// One that can't be is refused, and nothing of it is kept.
	before, err := os.ReadFile(filepath.Join(dir, "01-limits.mapping.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var faults fault.List
	if err := all.Correct(name, "x", say(journal, "service", "2.3"), say(pin, "new", "no figure")); !errors.As(err, &faults) {
		t.Errorf("refused: %v", err)
	}
	if after, err := os.ReadFile(filepath.Join(dir, "01-limits.mapping.yaml")); err != nil || !bytes.Equal(after, before) {
		t.Errorf("something is kept of it: %v\n%s", err, after)
	}
	counts(t, open(t, all, name), 2, 0)
}

// Sheets of a workbook: the first that has cells, another in its place, one more.
func TestSheets(t *testing.T) {
	var b bytes.Buffer
	rows := func(name, what string) table.Out {
		return table.Out{Name: name, Rows: [][]string{{"Description", "New (in)", "Wear limit"}, {what, "1.10 - 1.11", "1.09"}}}
	}
	if err := table.WriteXLSX(&b, table.Out{Name: "Notes"}, rows("Crank", "Pin dia"), rows("Case & cover", "Cover stud dia")); err != nil {
		t.Fatal(err)
	}
	all := draft.In(t.TempDir())
	name, err := all.Begin(intake.Title{Engine: "E"}, draft.Upload{Name: "w.xlsx", Data: b.Bytes(), Stamp: ro})
	if err != nil {
		t.Fatal(err)
	}
	d := open(t, all, name)
	if d.Tables[0].Entry.Sheet != "Crank" || strings.Join(d.Tables[0].Sheet.Sheets, "|") != "Notes|Crank|Case & cover" {
		t.Errorf("%+v", d.Tables[0].Entry)
	}
	if err := all.TakeSheet(name, 0, "Case & cover"); err != nil {
		t.Fatal(err)
	}
	if err := all.AddSheet(name, 0, "Crank", ro); err != nil {
		t.Fatal(err)
	}
	var faults fault.List
	if err := all.TakeSheet(name, 0, "Notes"); !errors.As(err, &faults) {
		t.Errorf("a sheet without cells: %v", err)
	}
	d = open(t, all, name)
	counts(t, d, 2, 0)
	if d.Loaded.Lines[0].Name != "Cover stud dia" || d.Loaded.Lines[1].Name != "Pin dia" {
		t.Errorf("%s, %s", d.Loaded.Lines[0].Name, d.Loaded.Lines[1].Name)
	}
	if err := all.LeaveOut(name, 0, true); err != nil {
		t.Fatal(err)
	}
	counts(t, open(t, all, name), 1, 0)
	if err := all.LeaveOut(name, 0, false); err != nil {
		t.Fatal(err)
	}
	counts(t, open(t, all, name), 2, 0)
}

// Two programs work in one folder at once, the pages and a command: what each
// settles is there.
func TestTogether(t *testing.T) {
	const many = 12
	var b strings.Builder
	b.WriteString("Description,New (in),Wear limit\n")
	for n := range many {
		fmt.Fprintf(&b, "Pin %c dia,1.9980 - 1.9990,\"1,9965\"\n", 'A'+n)
	}
	all, dir, name := begun(t, b.String())
	d := open(t, all, name)
	var work sync.WaitGroup
	for i, l := range d.Loaded.Lines {
		work.Go(func() {
			one := all
			if i%2 > 0 {
				one = draft.In(filepath.Dir(dir))
			}
			if err := one.Answer(name, say(l.Key, "service", "1.9965")); err != nil {
				t.Error(err)
			}
		})
	}
	work.Wait()
	counts(t, open(t, all, name), many, 0)
}

// What was settled of a table that is left out comes back with it, each to its own
// row: also where another table has rows of the same names, which are called as
// those were while they are out.
func TestLeftOutAndTakenIn(t *testing.T) {
	const csv = "Ref,Description,New (in),Wear limit\n1,Main journal dia,2.2490 - 2.2500,\"2,2470\"\n2,Pin dia,1.9990 - 2.0000,\"1,9970\"\n3,Pin bore,2.0010 - 2.0020,2.0030\n4,Pin in bore clearance,0.0010L - 0.0030L,0.0050L\n"
	all, dir, name := begun(t, csv)
	if err := all.Add(name, draft.Upload{Name: "other.csv", Data: []byte(csv), Stamp: ro}); err != nil {
		t.Fatal(err)
	}
	keys := func(table int) (lines []string) {
		t.Helper()
		d := open(t, all, name)
		for i := range d.Tables[table].Read.Rows {
			lines = append(lines, d.Tables[table].Read.Rows[i].Lines...)
		}
		return lines
	}
	says := func(table, row int) (string, *book.Link) {
		t.Helper()
		d := open(t, all, name)
		l, ok := d.Loaded.Line(d.Tables[table].Read.Rows[row].Lines[0])
		if !ok {
			t.Fatalf("row %d of table %d has no line", row, table)
		}
		return l.Says.Service, l.Link
	}
	feature := func(d *draft.Draft, key string) string {
		l, _ := d.Loaded.Line(key)
		return l.Terms[0].Feature.Ref()
	}
	for table, to := range []string{"2.2471", "2.2472"} {
		if err := all.Answer(name, say(keys(table)[0], "service", to)); err != nil {
			t.Fatal(err)
		}
		d := open(t, all, name)
		k := keys(table)
		if err := all.Confirm(name, book.Linking{Line: k[3], Fit: feature(d, k[2]) + " - " + feature(d, k[1]), By: ro.By, Date: ro.Date}); err != nil {
			t.Fatal(err)
		}
		if err := all.Acknowledge(name, book.Acknowledged{Code: "fit-sum", Lines: []string{k[3], k[2], k[1]}, Reason: "selection", By: ro.By}); err != nil {
			t.Fatal(err)
		}
	}
	// A table's link is of its own rows, and so is what was let stand.
	own := func(table int) {
		t.Helper()
		d, k := open(t, all, name), keys(table)
		if _, link := says(table, 3); link == nil || link.Fit != feature(d, k[2])+" - "+feature(d, k[1]) {
			t.Errorf("table %d links %+v", table, link)
		}
		if !slices.ContainsFunc(d.Loaded.Acknowledged, func(a book.Acknowledged) bool { return slices.Equal(a.Lines, []string{k[3], k[2], k[1]}) }) {
			t.Errorf("table %d lets stand %+v", table, d.Loaded.Acknowledged)
		}
	}
	settled := func() string {
		t.Helper()
		text, err := os.ReadFile(filepath.Join(dir, name+".settled.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	before, called := settled(), keys(1)

	if err := all.LeaveOut(name, 0, true); err != nil {
		t.Fatal(err)
	}
	d := open(t, all, name)
	if got, link := says(1, 0); got != "2.2472" || link != nil {
		t.Errorf("the other table's row says %s", got)
	}
	own(1)
	if slices.Equal(called, keys(1)) {
		t.Error("the test is for lines that are called otherwise")
	}
	if n := len(d.Aside()); n != 3 || d.Aside()[0].Text() != "2.2471" || d.Aside()[0].By() != "R. Okafor 2026-11-25" || d.Aside()[0].But != "" || d.Aside()[1].Cell != "" {
		t.Errorf("aside are %+v", d.Aside())
	}
	if err := all.LeaveOut(name, 0, false); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	for table, want := range []string{"2.2471", "2.2472"} {
		if got, _ := says(table, 0); got != want {
			t.Errorf("table %d says %s, want %s", table, got, want)
		}
		own(table)
	}
	if len(d.Aside()) != 0 {
		t.Errorf("aside are %+v", d.Aside())
	}
	if now := settled(); len(now) != len(before) {
		t.Errorf("settled was\n%s\nand is\n%s", before, now)
	}
	// Both out: there is no book, and nothing of it is lost.
	for _, out := range []bool{true, false} {
		for table := range 2 {
			if err := all.LeaveOut(name, table, out); err != nil {
				t.Fatal(err)
			}
		}
	}
	if got, _ := says(1, 0); got != "2.2472" {
		t.Errorf("it says %s", got)
	}
	own(0)
	own(1)
}

// What does not fit any more when its table comes back is told, and kept until it
// does.
func TestFitsNoMore(t *testing.T) {
	all, _, name := begun(t, "Ref,Description,New (in),Wear limit\n1,Main journal dia,2.2490 - 2.2500,\"2,2470\"\n2,Pin dia,1.9990 - 2.0000,\n")
	d := open(t, all, name)
	journal, pin := d.Loaded.Lines[0].Key, d.Loaded.Lines[1].Key
	if err := all.Answer(name, say(journal, "service", "2.2470"), say(pin, "service", "1.9970")); err != nil {
		t.Fatal(err)
	}
	m := d.Tables[0].Mapping
	if err := all.LeaveOut(name, 0, true); err != nil {
		t.Fatal(err)
	}
	said := m
	said.Answers = map[string]string{"blank": "none"}
	if err := all.Say(name, 0, said); err != nil {
		t.Fatal(err)
	}
	if err := all.LeaveOut(name, 0, false); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	l, _ := d.Loaded.Line(pin)
	if len(d.Aside()) != 1 || d.Aside()[0].Row != 3 || d.Aside()[0].But != "the cell can be read now: none" || l.Says.Service != "none" {
		t.Errorf("%+v %+v", d.Aside(), l.Says)
	}
	if l, _ := d.Loaded.Line(journal); l.Says.Service != "2.2470" {
		t.Errorf("%+v", l.Says)
	}
	// A cell that somebody settles anew is theirs.
	if err := all.Correct(name, "doubted", say(pin, "service", "1.9980")); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	l, _ = d.Loaded.Line(pin)
	if len(d.Aside()) != 1 || d.Aside()[0].But != "it was settled again since" || d.Aside()[0].Text() != "1.9970" || l.Says.Service != "1.9980" {
		t.Errorf("%+v %+v", d.Aside(), l.Says)
	}
	// And where that is taken back, what was there before comes with the table.
	if err := all.Strike(name, book.Striking{Line: pin, Cell: "service", By: ro.By, Why: "a slip", Date: ro.Date}); err != nil {
		t.Fatal(err)
	}
	if err := all.Say(name, 0, m); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	if l, _ = d.Loaded.Line(pin); len(d.Aside()) != 0 || l.Says.Service != "1.9970" || len(d.Loaded.Struck) != 1 {
		t.Errorf("%+v %+v", d.Aside(), l.Says)
	}
}

// A table that is read by other decimals keeps what was settled of its cells.
func TestSettledOfOtherDecimals(t *testing.T) {
	all, _, name := begun(t, "Description,New (in),Wear limit\nMain journal dia,2.2490 - 2.2500,\"2,2470\"\nPin dia,1.9990 - 2.0000,1.9970\n")
	d := open(t, all, name)
	if err := all.Answer(name, say(d.Loaded.Lines[0].Key, "service", "2.2471")); err != nil {
		t.Fatal(err)
	}
	m := d.Tables[0].Mapping
	for _, as := range []string{"comma", ""} {
		m.Decimal = as
		if err := all.Say(name, 0, m); err != nil {
			t.Fatal(err)
		}
	}
	d = open(t, all, name)
	if l := d.Loaded.Lines[0]; l.Says.Service != "2.2471" || len(d.Aside()) != 0 {
		t.Errorf("%+v %+v", l.Says, d.Aside())
	}
}

// Why something does not fit any more is said as it is: the cell has another text, or
// what its line judges is plain.
func TestFitsNoMoreWhy(t *testing.T) {
	all, dir, name := begun(t, "Description,New (in),Wear limit,Wear limit by letter\nMain journal dia,2.2490 - 2.2500,\"2,2470\",\"2,2460\"\nThing,1.9990 - 2.0000,1.9970,1.9960\n")
	d := open(t, all, name)
	m := d.Tables[0].Mapping
	m.Columns = map[string]string{"Wear limit": "service", "Wear limit by letter": "skip"}
	if err := all.Say(name, 0, m); err != nil {
		t.Fatal(err)
	}
	d = open(t, all, name)
	journal, thing := d.Loaded.Lines[0].Key, d.Loaded.Lines[1].Key
	if err := all.Answer(name, say(journal, "service", "2.2470"), say(thing, "kind", "outside")); err != nil {
		t.Fatal(err)
	}
	if err := all.LeaveOut(name, 0, true); err != nil {
		t.Fatal(err)
	}
	other := m
	other.Columns = map[string]string{"Wear limit": "skip", "Wear limit by letter": "service"}
	other.Kinds = map[string]string{"Thing": "inside"}
	for _, c := range []struct {
		said intake.Mapping
		want []string
	}{
		{other, []string{`2,2470: the cell is "2,2460" in the book now`, "what the line judges is plain now"}},
		{m, nil},
	} {
		if err := all.Say(name, 0, c.said); err != nil {
			t.Fatal(err)
		}
		if err := all.LeaveOut(name, 0, false); err != nil {
			t.Fatal(err)
		}
		var got []string
		d = open(t, all, name)
		for _, a := range d.Aside() {
			got = append(got, a.But)
		}
		slices.Sort(got)
		if !slices.Equal(got, c.want) {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	if l, _ := d.Loaded.Line(journal); l.Says.Service != "2.2470" {
		t.Errorf("%+v", l.Says)
	}

	// A file that is none is told, and nothing is changed.
	if err := os.WriteFile(filepath.Join(dir, name+".aside.yaml"), []byte("format: aside/9\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := all.LeaveOut(name, 0, true); err == nil || !strings.Contains(err.Error(), "does not read as aside/1") {
		t.Error(err)
	}
}
