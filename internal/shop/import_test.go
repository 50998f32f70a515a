package shop_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"tenths/internal/fault"
	"tenths/internal/job"
	"tenths/internal/shop"
)

// csv makes a file of its lines.
func csv(lines ...string) []byte { return []byte(strings.Join(lines, "\n") + "\n") }

// imports imports a file as it is and returns what became of it.
func imports(t testing.TB, s *shop.Shop, data []byte) shop.Imported {
	t.Helper()
	return must(s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: data}))(t)
}

// wantImported wants so many rows added and so many that were there.
func wantImported(t testing.TB, what string, got shop.Imported, added, before int) {
	t.Helper()
	if got.Added != added || got.Before != before || got.Rows != added+before || len(got.Corrects)+len(got.Struck)+len(got.Faults) > 0 {
		t.Errorf("%s: %+v; want %d added and %d there before", what, got, added, before)
	}
}

func size(t testing.TB, s *shop.Shop) int64 {
	t.Helper()
	return must(s.Job(t.Context(), order))(t).Size
}

// The same rows again add nothing, whatever the file looks like.
func TestImportAgain(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		rows := csv("spot,value,gauge,note",
			"cam.front.-.0,1.4981,micrometer,",
			"cam.front.-.90,1.4979,micrometer,by the keyway",
			"rod-1.width.-.0,1.3670,micrometer,",
			"rod-1.width.-.180,,,") // not measured yet
		first := imports(t, s, rows)
		wantImported(t, "new", first, 3, 0)
		if first.Blank != 1 || first.From != 2 || first.To != 4 || first.Again {
			t.Errorf("new: %+v", first)
		}
		for what, same := range map[string][]byte{
			"the same file": rows,
			"columns in another order": csv("note,gauge,value,spot",
				",micrometer,1.4981,cam.front.-.0", "by the keyway,micrometer,1.4979,cam.front.-.90", ",micrometer,1.3670,rod-1.width.-.0"),
			"rows in another order": csv("spot,value,gauge,note",
				"rod-1.width.-.0,1.3670,micrometer,", "cam.front.-.90,1.4979,micrometer,by the keyway", "cam.front.-.0,1.4981,micrometer,"),
			"the unit in a column": csv("spot,value,unit,gauge,note",
				"cam.front.-.0,1.4981,in,micrometer,", "cam.front.-.90,1.4979,in,micrometer,by the keyway", "rod-1.width.-.0,1.3670,in,micrometer,"),
			"the spot in columns": csv("part,position,feature,direction,value,gauge,note",
				"cam,,front,0,1.4981,micrometer,", "cam,,front,90,1.4979,micrometer,by the keyway", "rod,1,width,0,1.3670,micrometer,"),
			"fewer rows": csv("spot,value,gauge", "cam.front.-.0,1.4981,micrometer"),
		} {
			rows := strings.Count(string(same), "1.4") + strings.Count(string(same), "1.3")
			wantImported(t, what, imports(t, s, same), 0, rows)
			wantImported(t, what+", by another program", imports(t, p.reopen(t), same), 0, rows)
		}
		if n := size(t, s); n != 4 {
			t.Errorf("%d entries, want 4", n)
		}
		// A row that was measured since adds itself; digits are part of a reading.
		more := append(rows, "rod-1.width.-.180,1.3671,micrometer,\n"...)
		wantImported(t, "one more row", imports(t, s, more), 1, 3)
		whole(t, s)
	})
}

// Where items have moved since, the same file still adds nothing: each row was of
// the item that was there then. One that is new says where its item is now.
func TestImportAgainAfterMoving(t *testing.T) {
	s := inMemory(t).made(t)
	rows := csv("spot,value,item", "rod-1.width.-.0,1.3670,rod 1", "rod-2.width.-.0,1.3668,rod 2")
	must(s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: rows, Register: true}))(t)
	swap := &job.Fit{Places: []job.ItemFitted{{Position: "rod-1", Item: "rod 2"}, {Position: "rod-2", Item: "rod 1"}}}
	must(enter(t.Context(), s, mechanic, id(30), swap))(t)
	n := size(t, s)
	wantImported(t, "the same file", imports(t, s, rows), 0, 2)
	if size(t, s) != n {
		t.Errorf("%d entries, before %d", size(t, s), n)
	}
	more := append(rows, "rod-1.width.-.180,1.3671,rod 1\n"...)
	_, err := s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: more})
	var faults fault.List
	if !errors.As(err, &faults) || len(faults) != 1 || faults[0].Line != 4 || !strings.Contains(faults[0].What, "is at rod-2") {
		t.Errorf("a new row of an item that has moved: %v", err)
	}
	more = append(rows, "rod-2.width.-.180,1.3671,rod 1\n"...)
	wantImported(t, "and one where it is now", imports(t, s, more), 1, 2)
	whole(t, s)
}

// Two rows that say the same are two readings; both again are the same two.
func TestImportEqualRows(t *testing.T) {
	s := inMemory(t).made(t)
	one := []string{"spot,value", "cam.front.-.0,1.4981"}
	two, three := append(one, one[1]), append(one, one[1], one[1])
	wantImported(t, "one", imports(t, s, csv(one...)), 1, 0)
	wantImported(t, "two", imports(t, s, csv(two...)), 1, 1)
	wantImported(t, "two again", imports(t, s, csv(two...)), 0, 2)
	wantImported(t, "three", imports(t, s, csv(three...)), 1, 2)
	wantImported(t, "one again", imports(t, s, csv(one...)), 0, 1)
	if n := size(t, s); n != 4 {
		t.Errorf("%d entries, want 4", n)
	}
	whole(t, s)
}

// A corrected file adds what it says otherwise, and names what that corrects; with
// a reason it strikes it.
func TestImportCorrected(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		by := by(mechanic)
		in := shop.Import{Name: "readings.csv", Data: csv("spot,value", "cam.front.-.0,1.4981", "cam.front.-.90,1.4979", "rod-1.width.-.0,1.3670")}
		must(s.ImportReadings(t.Context(), by, order, in))(t)
		must(enter(t.Context(), s, mechanic, "", at("cam.front.-.0", "1.4982")))(t) // by hand: no file corrects it
		in.Data = csv("spot,value", "cam.front.-.0,1.4980", "cam.front.-.90,1.4979", "rod-1.width.-.0,1.3670")
		got := must(s.ImportReadings(t.Context(), by, order, in))(t)
		want := shop.Corrected{Entry: 2, Spot: "cam.front.-.0", Value: "1.4981 in", Now: "1.4980 in"}
		if got.Added != 1 || got.Before != 2 || len(got.Corrects) != 1 || got.Corrects[0] != want || len(got.Struck) != 0 {
			t.Errorf("without a reason: %+v, want %+v", got, want)
		}
		if state := must(s.Job(t.Context(), order))(t); len(state.Strikes) != 0 || state.Size != 6 {
			t.Errorf("%d entries, struck %+v", state.Size, state.Strikes)
		}
		in.Data = csv("spot,value", "cam.front.-.0,1.4980", "cam.front.-.90,1.4978", "rod-1.width.-.0,1.3671")
		in.Strike = "copied wrongly"
		got = must(s.ImportReadings(t.Context(), by, order, in))(t)
		if got.Added != 2 || got.Before != 1 || len(got.Corrects) != 0 || fmt.Sprint(got.Struck) != "[3 4]" {
			t.Errorf("with a reason: %+v", got)
		}
		state := must(s.Job(t.Context(), order))(t)
		for _, strike := range state.Strikes {
			if strike.Why != in.Strike || strike.By != mechanic {
				t.Errorf("struck as %+v", strike)
			}
		}
		if len(state.Strikes) != 2 || state.Size != 10 {
			t.Errorf("%d entries, struck %+v", state.Size, state.Strikes)
		}
		wantImported(t, "again", must(s.ImportReadings(t.Context(), by, order, in))(t), 0, 3)
		whole(t, s)
	})
}

// What was measured before the items had their tags is corrected by a file that
// names them, and by one that does not.
func TestImportCorrectedBehindTags(t *testing.T) {
	for name, register := range map[string]bool{"registered by the file": false, "registered before": true} {
		t.Run(name, func(t *testing.T) {
			s := inMemory(t).made(t)
			in := shop.Import{Name: "readings.csv", Data: csv("spot,value", "rod-1.width.-.0,1.3670", "rod-2.width.-.0,1.3671"), Register: true}
			must(s.ImportReadings(t.Context(), by(mechanic), order, in))(t)
			in.Data = csv("spot,value,item", "rod-1.width.-.0,1.3672,rod A", "rod-2.width.-.0,1.3671,rod B")
			if register {
				in.Data = csv("spot,value", "rod-1.width.-.0,1.3672", "rod-2.width.-.0,1.3671")
				must(enter(t.Context(), s, mechanic, "", &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod A", Part: "rod", Found: "rod-1"}}))(t)
			}
			in.Strike = "copied wrongly"
			got := must(s.ImportReadings(t.Context(), by(mechanic), order, in))(t)
			if len(got.Struck) != got.Added || len(got.Struck) == 0 {
				t.Errorf("imported as %+v", got)
			}
			if live := must(s.Judged(t.Context(), order))(t).Live; len(live) != 2 {
				t.Errorf("%d readings stand at 2 spots", len(live))
			}
			whole(t, s)
		})
	}
}

// Items that a file names are registered as found where it has them, if it is
// asked for; a row that has one elsewhere is a fault.
func TestImportItems(t *testing.T) {
	s := inMemory(t).made(t)
	in := shop.Import{Name: "readings.csv", Data: csv("spot,value,item", "rod-1.width.-.0,1.3670,rod A", "rod-2.width.-.0,1.3671,rod B", "rod-1.width.-.180,1.3672,rod A")}
	ask := func() (shop.Imported, error) {
		return s.ImportReadings(t.Context(), by(mechanic), order, in)
	}
	_, err := ask()
	wantRefused(t, err, "item")
	for _, tag := range []string{"rod A", "rod B", "rod-1", "rod-2"} {
		if !strings.Contains(err.Error(), tag) {
			t.Errorf("%q does not name %s", err, tag)
		}
	}
	in.Register = true
	got := must(ask())(t)
	if fmt.Sprint(got.Registered) != "[rod A rod B]" || got.Added != 3 {
		t.Errorf("imported as %+v", got)
	}
	again := must(ask())(t)
	wantImported(t, "again", again, 0, 3)
	if len(again.Registered) != 0 || size(t, s) != 6 {
		t.Errorf("again: %+v, and %d entries", again, size(t, s))
	}
	for row, text := range []string{"rod-2.width.-.180,1.3670,rod A", "rod-1.width.-.0,1.3670,rod C", "rod-3.width.-.0,1.3670,rod D\nrod-4.width.-.0,1.3670,rod D", "rod-3.width.-.0,1.3670,rod D\nrod-3.width.-.180,1.3670,rod E"} {
		in.Data = csv("spot,value,item", "cam.front.-.0,1.4981,", text)
		_, err := ask()
		var faults fault.List
		if !errors.As(err, &faults) || len(faults) != 1 || faults[0].Line != 3+row/2 || faults[0].Field != "item" {
			t.Errorf("%q: %v", text, err)
		}
	}
	if n := size(t, s); n != 6 {
		t.Errorf("%d entries, want 6", n)
	}
	// The rest of such a file is entered where that is asked for.
	in.SkipFaults = true
	got = must(ask())(t)
	if got.Added != 2 || len(got.Faults) != 1 || fmt.Sprint(got.Registered) != "[rod D]" {
		t.Errorf("imported as %+v", got)
	}
	whole(t, s)
}

// A file is entered whole or not at all.
func TestImportWholeOrNotAtAll(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		must(enter(t.Context(), s, mechanic, id(1), &job.RegisterItem{ItemRegistered: job.ItemRegistered{Item: "rod A", Part: "rod", Found: "rod-1"}}))(t)
		var rows []string
		for i := range 50 {
			rows = append(rows, fmt.Sprintf("cam.front.-.%d,1.49%02d", i%2*90, i))
		}
		for what, bad := range map[string]string{
			"no such spot":     "cam.rear.-.0,1.4980,",
			"no figure":        "cam.front.-.0,long,",
			"no unit of it":    "cam.front.-.0,1.4980 lb,",
			"of another stage": "rod-1.width.-.0,1.3670,rework 3", // told by the job's rules, by its row
		} {
			data := csv(append(append([]string{"spot,value,stage"}, rows...), bad)...)
			got, err := s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: data})
			if err == nil || !strings.Contains(err.Error(), "readings.csv:52:") {
				t.Errorf("%s: %+v, %v", what, got, err)
			}
			if n := size(t, s); n != 2 {
				t.Fatalf("%s: %d entries, want 2", what, n)
			}
		}
		for what, data := range map[string]string{"empty": "", "no header": "1,2,3\n", "binary": "\x00\xff\xfe", "doubled column": "spot,spot,value\n"} {
			if got, err := s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: []byte(data), SkipFaults: true}); err == nil && (got.Added > 0 || len(got.Faults) == 0) {
				t.Errorf("%s: imported as %+v", what, got)
			}
		}
		if n := size(t, s); n != 2 {
			t.Errorf("%d entries, want 2", n)
		}
		whole(t, s)
	})
}

// Two import one file at once: it is entered once, and who was later is told so.
func TestImportAtOnce(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := p.made(t)
		data := csv("spot,value,item", "cam.front.-.0,1.4981,", "cam.front.-.90,1.4979,", "rod-1.width.-.0,1.3670,rod A")
		var wait sync.WaitGroup
		for _, s := range []*shop.Shop{s, s, p.reopen(t), p.reopen(t)} {
			wait.Go(func() {
				got, err := s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: data, Register: true})
				if err != nil && !strings.Contains(err.Error(), "nothing of the file was entered") {
					t.Errorf("%+v, %v", got, err)
				}
			})
		}
		wait.Wait()
		if n := size(t, s); n != 5 {
			t.Errorf("%d entries, want 5", n)
		}
		wantImported(t, "after it", imports(t, s, data), 0, 3)
		whole(t, s)
	})
}

// A decimal comma is the file's, and not the reading's.
func TestImportDecimalComma(t *testing.T) {
	s := inMemory(t).made(t)
	wantImported(t, "points", imports(t, s, csv("spot,value", "cam.front.-.0,1.4981")), 1, 0)
	got := must(s.ImportReadings(t.Context(), by(mechanic), order, shop.Import{Name: "readings.csv", Data: csv("spot;value", "cam.front.-.0;1,4981"), Comma: true}))(t)
	wantImported(t, "commas", got, 0, 1)
	whole(t, s)
}

// A file for a job that is closed, or that is not there, is refused before it is
// read.
func TestImportNowhere(t *testing.T) {
	s := inMemory(t).made(t)
	_, err := s.ImportReadings(t.Context(), by(mechanic), "no-such-order", shop.Import{Name: "readings.csv"})
	wantRefused(t, err, "order")
}
