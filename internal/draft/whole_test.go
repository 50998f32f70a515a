package draft_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/draft"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// filledSheet is the sheet of a book that was begun, as a spreadsheet or as
// comma-separated values, with cells filled in: line, column, text.
func filledSheet(t testing.TB, kind string, cells ...[3]string) []byte {
	t.Helper()
	own, err := intake.Skeleton(intake.Engine{Title: intake.Title{Engine: "Invented flat four"}, Arrangement: "opposed", Cylinders: 4, Mains: 3, Unit: quantity.Inch})
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := intake.BookSheets(own)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cells {
		done := false
		for i := range sheets {
			head := slices.IndexFunc(sheets[i].Rows, func(r []string) bool { return slices.Contains(r, c[1]) })
			if head < 0 {
				continue
			}
			at := slices.Index(sheets[i].Rows[head], c[1])
			for n, row := range sheets[i].Rows {
				if row[0] == c[0] && !done {
					for len(row) <= at {
						row = append(row, "")
					}
					row[at] = c[2]
					sheets[i].Rows[n], done = row, true
				}
			}
		}
		if !done {
			t.Fatalf("the sheet has no cell for %v", c)
		}
	}
	var b bytes.Buffer
	if kind == "csv" {
		var rows [][]string
		for _, s := range sheets {
			rows = append(rows, s.Rows...)
		}
		err = table.WriteCSV(&b, rows)
	} else {
		err = table.WriteXLSX(&b, sheets...)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func sheetUp(data []byte) draft.Upload {
	return draft.Upload{Name: "begun.xlsx", Data: data, Stamp: ro}
}

// A book as a sheet begins a draft: its lines are what was filled in, held or
// without limits yet, and it says itself what it is of.
func TestWhole(t *testing.T) {
	for _, kind := range []string{"xlsx", "csv"} {
		all := draft.In(t.TempDir())
		name, err := all.Begin(intake.Title{Number: "OM-4"}, sheetUp(filledSheet(
			t, kind, [3]string{"main-size", "New", "2.2490 - 2.2500"}, [3]string{"main-size", "Service", "2.2470"},
			[3]string{"main-bore", "New", "2.2515 - 2.2525"}, [3]string{"main-bore", "Service", "2,2540"}, [3]string{"end-clearance", "New", "0.008 - 0.016"},
		)))
		if err != nil {
			t.Fatal(err)
		}
		d := open(t, all, name)
		if rows, held, waits := d.Count(); name != "invented-flat-four" || d.Engine != "Invented flat four" || d.Number != "OM-4" || rows != len(d.Loaded.Lines) || held != 2 || waits < 80 {
			t.Errorf("%s: %s of %s, %s: %d rows, %d held, %d without limits", kind, name, d.Engine, d.Number, rows, held, waits)
		}
		if d.Loaded.Manual.Number != "OM-4" || d.Loaded.Layout == nil {
			t.Errorf("the book: %+v, %v", d.Loaded.Manual, d.Loaded.Layout)
		}
		// What a mark means is said of the table.
		m := d.Tables[0].Mapping
		m.Answers = map[string]string{"blank": "not stated"}
		if err := all.Say(name, 0, m); err != nil {
			t.Fatal(err)
		}
		// A cell is settled, one that is open as well, and one that can be read corrected.
		if err := all.Answer(name, say("main-bore", "service", "2.2540"), say("seal-land", "new", "1.000..1.002"), say("seal-land", "service", "blank")); err != nil {
			t.Fatal(err)
		}
		if err := all.Correct(name, "doubted", say("main-size", "new", "2.2480..2.2500")); err != nil {
			t.Fatal(err)
		}
		if err := all.Call(name, intake.Title{Engine: "Flat: four", Manual: "Overhaul", Number: "OM-5", Date: "2026-02-01"}); err != nil {
			t.Fatal(err)
		}
		d = open(t, all, name)
		l, _ := d.Loaded.Line("main-size")
		if _, held, _ := d.Count(); held != 0 || l.Says.New != "2.2480..2.2500" || len(l.Settled) != 2 || d.Loaded.Engine != "Flat: four" || d.Loaded.Manual.Title != "Overhaul" || d.Loaded.Manual.Date != "2026-02-01" {
			t.Errorf("%d held, %+v, %+v of %s", held, l.Settled, d.Loaded.Manual, d.Loaded.Engine)
		}
		if tab, row, ok := d.Row("main-bore"); !ok || tab.Printed(row.FileLine).At(0).Text != "main-bore" {
			t.Errorf("the line's row is %+v", row)
		}
	}
}

// Tables are added to it; filled in further it takes its own place, and what was
// settled stays; another book's sheet does not.
func TestWholeGoesOn(t *testing.T) {
	dir := t.TempDir()
	all := draft.In(dir)
	size := [3]string{"main-size", "New", "2.2490 - 2.2500"}
	name, err := all.Begin(intake.Title{}, sheetUp(filledSheet(t, "xlsx", size, [3]string{"main-size", "Service", "2,2470"})))
	if err != nil {
		t.Fatal(err)
	}
	if err := all.Answer(name, say("main-size", "service", "2.2470")); err != nil {
		t.Fatal(err)
	}
	if err := all.Add(name, draft.Upload{Name: "more.csv", Data: []byte("Ref,Description,New (in),Wear limit\n9,Tappet bore,1.10-1.11,1.12\n"), Stamp: ro}); err != nil {
		t.Fatal(err)
	}
	before := open(t, all, name)
	lines := len(before.Loaded.Lines)
	if tab, _, ok := before.Row(before.Loaded.Lines[lines-1].Key); !ok || tab.Whole || before.Loaded.Lines[lines-1].Name != "Tappet bore" {
		t.Errorf("the table's line is not in the book: %+v", before.Loaded.Lines[lines-1])
	}
	// Filled in further.
	if err := all.Add(name, sheetUp(filledSheet(t, "xlsx", size, [3]string{"main-size", "Service", "2,2470"}, [3]string{"seal-land", "New", "1.000 - 1.002"}, [3]string{"seal-land", "Service", "blank"}))); err != nil {
		t.Fatal(err)
	}
	d := open(t, all, name)
	_, held, waits := d.Count()
	_, _, waited := before.Count()
	l, _ := d.Loaded.Line("main-size")
	if held != 0 || waits != waited-1 || len(d.Loaded.Lines) != lines || len(d.Tables) != 3 || !d.Tables[0].Out || len(l.Settled) != 1 || l.Settled[0].Says != "2.2470" {
		t.Errorf("%d held, %d then %d without limits, %d lines, %+v", held, waited, waits, len(d.Loaded.Lines), l.Settled)
	}
	// The one before is taken in again in its place.
	if err := all.LeaveOut(name, 0, false); err != nil {
		t.Fatal(err)
	}
	if d = open(t, all, name); d.Tables[0].Out || !d.Tables[2].Out || d.Loaded == nil {
		t.Errorf("of two sheets of one book both are in, or none")
	}

	var refused *draft.RefusedError
	other, err := intake.Skeleton(intake.Engine{Arrangement: "radial", Cylinders: 7, Mains: 2, Unit: quantity.Inch})
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := intake.BookSheets(other)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := table.WriteXLSX(&b, sheets...); err != nil {
		t.Fatal(err)
	}
	if err := all.Add(name, sheetUp(b.Bytes())); !errors.As(err, &refused) || !strings.Contains(err.Error(), "not written from the book") {
		t.Errorf("another book's sheet: %v", err)
	}
	if err := all.AddSheet(name, 0, "Parts", ro); !errors.As(err, &refused) {
		t.Errorf("a sheet of its own: %v", err)
	}
	if err := all.TakeSheet(name, 0, "Parts"); !errors.As(err, &refused) {
		t.Errorf("another sheet: %v", err)
	}
	foreign, err := all.Begin(intake.Title{Engine: "Foreign"}, draft.Upload{Name: "limits.csv", Data: []byte(limits), Stamp: ro})
	if err != nil {
		t.Fatal(err)
	}
	if err := all.Add(foreign, sheetUp(b.Bytes())); !errors.As(err, &refused) || !strings.Contains(err.Error(), "begin a book of its own") {
		t.Errorf("a book added to tables: %v", err)
	}
	if files, err := os.ReadDir(filepath.Join(dir, foreign)); err != nil || slices.ContainsFunc(files, func(f os.DirEntry) bool { return strings.HasPrefix(f.Name(), "02") }) {
		t.Errorf("what was refused is kept: %v %v", files, err)
	}
}

// Faults of a sheet are told where they stand, and nothing is kept of it.
func TestWholeFaults(t *testing.T) {
	dir := t.TempDir()
	all := draft.In(dir)
	_, err := all.Begin(intake.Title{}, sheetUp(filledSheet(t, "xlsx", [3]string{"main-size", "Of", "crank.mian"}, [3]string{"crank", "Positions", "many"})))
	var whole *draft.WholeError
	if !errors.As(err, &whole) {
		t.Fatal(err)
	}
	for _, want := range []string{`begun.xlsx:3:6: lines.main-size.size: "crank.mian"`, `begun.xlsx, sheet Parts:2:4: parts.crank.positions: "many"`} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nwant %s", err, want)
		}
	}
	if files, err := os.ReadDir(dir); err != nil || len(files) > 0 {
		t.Errorf("something is kept: %v, %v", files, err)
	}
	name, err := all.Begin(intake.Title{}, sheetUp(filledSheet(t, "csv")))
	if err != nil {
		t.Fatal(err)
	}
	if err := all.Add(name, sheetUp(filledSheet(t, "csv", [3]string{"main-size", "Of", "crank.mian"}))); !errors.As(err, &whole) {
		t.Errorf("%v", err)
	}
	if d := open(t, all, name); len(d.Tables) != 1 || d.Tables[0].Out || !slices.ContainsFunc(d.Loaded.Lines, (*book.Line).Unfilled) {
		t.Errorf("a sheet with faults has changed the draft")
	}
}
