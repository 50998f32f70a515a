package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/check"
	"tenths/internal/demo"
	"tenths/internal/judge"
	"tenths/internal/picture"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

// Whatever the two files say, a run ends without a panic: every verdict is
// worded, drawn, opened to its sum and written as JSON that can be read again.
// pick chooses further readings at the book's own spots, for few texts that are
// made by chance name one.
func FuzzRun(f *testing.F) {
	f.Add(string(demo.Book), string(demo.Readings), uint64(0))
	for i, name := range []string{"inline", "radial"} {
		more := [2]string{}
		for k, kind := range []string{".yaml", ".csv"} {
			data, err := os.ReadFile("../../internal/demo/more/" + name + kind)
			if err != nil {
				f.Fatal(err)
			}
			more[k] = string(data)
		}
		f.Add(more[0], more[1], uint64(i+1))
	}
	docs, err := os.ReadFile("../../docs/formats.md")
	if err != nil {
		f.Fatal(err)
	}
	for n, block := range strings.Split(string(docs), "```yaml\n")[1:] {
		if text, _, _ := strings.Cut(block, "```"); strings.HasPrefix(text, "format:") {
			f.Add(text, "spot,value\n", uint64(n+10))
		}
	}
	f.Fuzz(func(t *testing.T, bookText, readings string, pick uint64) {
		b, err := book.Load("book.yaml", []byte(bookText))
		if err != nil {
			_ = err.Error() // its words are put together only here
			return
		}
		file := reading.Load("readings.csv", []byte(readings), b, b.Comma)
		_ = file.Faults.Error()
		if pick > 0 {
			any := reading.Load("any.csv", []byte(anyReadings(b, pick)), b, b.Comma)
			_ = any.Faults.Error()
			file.Readings = append(file.Readings, any.Readings...)
			file.Faults = append(file.Faults, any.Faults...)
		}
		given := judge.Given{Conditions: map[string]string{}, Serial: []string{"", "A", "A-"}[pick%3] + fmt.Sprint(pick%3000)}
		for i, c := range b.Conditions {
			if n := int(pick>>i) % (len(c.Words) + 1); n < len(c.Words) {
				given.Conditions[c.Name] = c.Words[n]
			}
		}
		units := []quantity.Unit{quantity.NoUnit, quantity.Inch, quantity.Millimetre}
		r := &judged{
			book: b, file: file, readings: judge.File(b, file.Readings),
			words: judge.Words{Book: b, Unit: units[pick%3]},
		}
		r.verdicts = judge.Book(b, given, r.readings.At)
		if err := r.text(io.Discard); err != nil {
			t.Fatal(err)
		}
		for i := range r.verdicts {
			r.words.Sum(&r.verdicts[i], r.readings.At)
			picture.RulerText(&r.verdicts[i], int(pick%40))
		}
		var out bytes.Buffer
		if err := r.json(&out); err != nil {
			t.Fatal(err)
		}
		if !json.Valid(out.Bytes()) {
			t.Fatal("not JSON")
		}
		if err := (&checked{name: "book.yaml", book: b, findings: check.Book(b)}).text(io.Discard); err != nil && err.Error() == "" {
			t.Fatal("an error without words")
		}
		for id := range b.Spots {
			judge.Touched(b, book.SpotID(id), r.readings.At)
		}
		r.exit()
	})
}

// anyReadings writes readings of every sort at spots of the book, near its
// limits and far from them.
func anyReadings(b *book.Book, pick uint64) string {
	rng := rand.New(rand.NewPCG(pick, 1))
	mark := "."
	if b.Comma {
		mark = ","
	}
	edges := map[book.SpotID][]string{}
	for _, l := range b.Lines {
		for i := range l.Instances {
			for _, id := range l.Instances[i].Spots {
				for _, t := range l.Limit.Tiers {
					edges[id] = append(edges[id], strings.FieldsFunc(t.Printed, func(r rune) bool {
						return (r < '0' || r > '9') && string(r) != mark
					})...)
				}
			}
		}
	}
	var out strings.Builder
	out.WriteString("spot;value;unit;setting;sense;item;stage;step;temperature;when\n")
	one := func(list ...string) string { return list[rng.IntN(len(list))] }
	figure := func(id book.SpotID) string {
		if len(edges[id]) > 0 && rng.IntN(3) > 0 {
			return edges[id][rng.IntN(len(edges[id]))]
		}
		return one("1", "2"+mark+"25", "0"+mark+"0015", "0", "-3", "99999", "3", "4 1/2", "0"+mark+"000001", "3900", "9000000000000", "1/3")
	}
	for id := range b.Spots {
		id := book.SpotID(id)
		for rng.IntN(4) > 0 {
			f := b.FeatureAt(id)
			value := figure(id)
			setting, sense := "", ""
			switch rng.IntN(8) {
			case 0:
				value += " goes"
			case 1:
				value += " does not"
			case 2:
				value += " goes, " + figure(id) + " does not"
			case 3:
				value += ".." + figure(id)
			case 4:
				setting, sense = figure(id), one("", "plus smaller")
				value = one("+0"+mark+"0001", "0", "-3 tenths", "12 µm")
			}
			if f.Class == book.Check {
				value = one("yes", "no")
			}
			step := ""
			if len(f.Steps) > 0 && rng.IntN(2) > 0 {
				step = f.Steps[rng.IntN(len(f.Steps))].Mark
			} else if rng.IntN(9) == 0 {
				step = "m999"
			}
			fmt.Fprintf(&out, "%s;%s;%s;%s;%s;%s;%s;%s;%s;%s\n", b.Spots[id], value, one("", "", "", "mm", "in"), setting, sense,
				one("", "", "A1", "B2"), one("", "", "", "rework 1", "assembled"), step, one("", "68 F"), one("", "2026-03-09"))
			if rng.IntN(3) > 0 {
				break
			}
		}
	}
	return out.String()
}
