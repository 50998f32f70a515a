package table

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestCSV(t *testing.T) {
	plain := Table{Line: 1, Header: []string{"spot", "value"}, Rows: []Row{{2, []string{"a.b", "1.0"}}, {3, []string{"a.c", "2.0"}}}}
	for _, c := range []struct{ name, text string }{
		{"plain", "spot,value\na.b,1.0\na.c,2.0\n"},
		{"no last newline", "spot,value\na.b,1.0\na.c,2.0"},
		{"byte order mark", "\xef\xbb\xbfspot,value\na.b,1.0\na.c,2.0\n"},
		{"CRLF", "spot,value\r\na.b,1.0\r\na.c,2.0\r\n"},
		{"CR alone", "spot,value\ra.b,1.0\ra.c,2.0\r"},
		{"semicolons", "spot;value\na.b;1.0\na.c;2.0\n"},
		{"tabs", "spot\tvalue\na.b\t1.0\na.c\t2.0\n"},
		{"quoted", "\"spot\",\"value\"\n\"a.b\",\"1.0\"\na.c,2.0\n"},
		{"blanks around", "spot , value\n a.b , 1.0\na.c,2.0 \n"},
		{"trailing blank rows", "spot,value\na.b,1.0\na.c,2.0\n,\n\n,,,\n"},
		{"empty cells beyond the header", "spot,value\na.b,1.0,,\na.c,2.0\n"},
	} {
		got, faults := CSV("", []byte(c.text))
		if len(faults) > 0 {
			t.Errorf("%s: %v", c.name, faults)
		}
		if diff := cmp.Diff(plain, got); diff != "" {
			t.Errorf("%s: %s", c.name, diff)
		}
	}
}

func TestCSVKeepsWhatIsInQuotes(t *testing.T) {
	got, faults := CSV("", []byte("spot,note\na.b,\"one, \"\"two\"\"\nthree\"\nshort\n"))
	want := []Row{{2, []string{"a.b", "one, \"two\"\nthree"}}, {4, []string{"short", ""}}}
	if diff := cmp.Diff(want, got.Rows); diff != "" || len(faults) > 0 {
		t.Errorf("%s %v", diff, faults)
	}
}

// A row that can't be read is told, and the others are there all the same.
func TestCSVFaults(t *testing.T) {
	for _, c := range []struct {
		text, code   string
		line, column int
		rows         int
	}{
		{"", "header", 1, 1, 0},
		{"\n\n,\n", "header", 1, 1, 0},
		{"a,b\n1,2,3\n4,5\n", "cells", 2, 3, 1},
		{"a,b\n1,\"2\n", "csv", 2, 2, 0},
		{"a,b\n1,2\"3\n4,5\n", "csv", 2, 2, 1},
		{"a,b\n1,\xff\n", "encoding", 2, 1, 0},
		{strings.Repeat("a,", MaxColumns) + "a\n", "csv", 1, 1, 0},
	} {
		got, faults := CSV("f.csv", []byte(c.text))
		if len(faults) == 0 {
			t.Errorf("%q: no fault", c.text)
			continue
		}
		f := faults[0]
		if f.Code != c.code || f.Line != c.line || f.Column != c.column || len(got.Rows) != c.rows {
			t.Errorf("%.20q: %v, %d rows", c.text, f, len(got.Rows))
		}
	}
	if _, faults := CSV("f.csv", make([]byte, MaxSize+1)); len(faults) == 0 {
		t.Error("a file over the size was read")
	}
}

func FuzzCSV(f *testing.F) {
	f.Add([]byte("spot,value\na.b,1.0\n"))
	f.Add([]byte("\xef\xbb\xbfa;b\r\n\"1\n2\";3;4\r\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, faults := CSV("f", data)
		for _, row := range got.Rows {
			if len(row.Cells) != len(got.Header) || row.Line < 1 {
				t.Errorf("row %+v under %d columns", row, len(got.Header))
			}
		}
		if got.Header == nil && len(faults) == 0 {
			t.Error("no header and no fault")
		}
	})
}
