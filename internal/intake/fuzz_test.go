package intake_test

import (
	"os"
	"path/filepath"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
)

// Whatever a table holds, each row becomes a line, and the book loads; so does a
// book that it is added to.
func FuzzImport(f *testing.F) {
	files, err := filepath.Glob("testdata/printed/*.csv")
	if err != nil || len(files) == 0 {
		f.Fatal(err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, "blank=not stated")
	}
	f.Add([]byte("Item,Measurement,New (mm),,Limit\n,,Min,Max,\nPump,,,,\n1,\"Shaft \"\"A\"\" : x\",1.0,2.0,*\n"), "*=none")
	f.Add([]byte("Description,New in. (mm),Wear limit\nBore,\"0,5 (12,7)\",wear\n- x,+1,'=1\n"), "wear=from min")
	f.Fuzz(func(t *testing.T, data []byte, answer string) {
		s, faults := table.Read("f.csv", "", data)
		if len(faults) > 0 || len(data) > 20_000 {
			return
		}
		var m intake.Mapping
		if m.Answer(answer) != nil || m.Check() != nil {
			m = intake.Mapping{}
		}
		d, faults := intake.Read(s, m)
		if len(faults) > 0 {
			return
		}
		text := d.Book(intake.Title{Engine: "E", Manual: answer})
		if len(d.Rows) == 0 {
			return
		}
		b, err := book.Load("book.yaml", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		rows, held := d.Count()
		lines, heldLines := 0, 0
		for i := range d.Rows {
			l := b.Lines[lines]
			if lines++; d.Rows[i].Kind == intake.TaperAndRound {
				lines++
			}
			if len(l.Holds) > 0 || l.Contradiction != "" {
				heldLines++
			}
			if l.Name != d.Rows[i].Name || len(l.Holds) != len(d.Rows[i].Holds) {
				t.Fatalf("row %d became line %s", d.Rows[i].FileLine, l.Key)
			}
		}
		if lines != len(b.Lines) || heldLines != held || len(d.Rows) != rows {
			t.Fatalf("%d rows became %d lines; %d held became %d", rows, len(b.Lines), held, heldLines)
		}
		both, err := d.Into(text, b)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		twice, err := book.Load("book.yaml", both)
		if err != nil {
			t.Fatalf("%v\n%s", err, both)
		}
		if len(twice.Lines) != 2*len(b.Lines) {
			t.Fatalf("%d lines and as many make %d", len(b.Lines), len(twice.Lines))
		}
	})
}

func FuzzMapping(f *testing.F) {
	f.Add([]byte("format: mapping/1\ncolumns: {Wear limit: service}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := intake.ParseMapping(data)
		if err != nil {
			return
		}
		if _, err := intake.ParseMapping(m.Text()); err != nil {
			t.Errorf("%v\n%s", err, m.Text())
		}
	})
}
