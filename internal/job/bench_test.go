package job_test

import (
	"fmt"
	"slices"
	"testing"

	"tenths/internal/book"
	"tenths/internal/demo"
	"tenths/internal/job"
	"tenths/internal/ledger"
	"tenths/internal/reading"
)

// demoJob is the job of the demo's engine, all of its readings taken but for two:
// those name a rod that is elsewhere. Items are registered as found where the
// file first names them.
func demoJob(t testing.TB) *bench {
	t.Helper()
	b, err := book.Load("book.yaml", demo.Book)
	if err != nil {
		t.Fatal(err)
	}
	f := reading.Load("readings.csv", demo.Readings, b, b.Comma)
	if len(f.Faults) > 0 {
		t.Fatal(f.Faults)
	}
	k := unopened(t)
	k.book = b
	open := opening()
	open.Serial = "1127"
	k.enterFast(&open)
	for _, c := range b.Conditions {
		k.enterFast(&job.ConditionStated{Name: c.Name, Word: "used"})
	}
	var refused []string
	for i := range f.Readings {
		row := f.Readings[i].InWords(b)
		site := b.SiteAt(f.Readings[i].Spot)
		if _, known := k.state.Item(row.Item); row.Item != "" && !known {
			item := job.ItemRegistered{Item: row.Item, Part: site.Feature.Part.Key, Found: site.At()}
			if k.state.Fitted[site.At()] != "" {
				item.Found = ""
			}
			k.enterFast(&item)
		}
		facts, err := job.Decide(k.state, k.known("rs"), &job.Take{Row: row})
		if err != nil {
			refused = append(refused, err.Error())
			continue
		}
		k.enterFast(facts[0])
	}
	if len(refused) != 2 || refused[0][:34] != "rod 2 is at rod-2, and the reading" || refused[1][:34] != "rod 1 is at rod-1, and the reading" {
		t.Fatalf("what is refused is %q", refused)
	}
	return k
}

// enterFast puts a fact behind the log as the writer does: its line, and folded
// in as it is.
func (k *bench) enterFast(f job.Fact) {
	k.t.Helper()
	line := encode(k.t, k.state.Size+1, "rs", k.clock, f)
	e, err := ledger.Read(line)
	if err != nil {
		k.t.Fatal(err)
	}
	k.lines = append(k.lines, line)
	k.state.Apply(&job.Entry{Entry: e, What: f})
}

// long is a job's log of so many entries: the demo's, then of each twenty
// sixteen readings, a strike, a note, two rods that change places.
func long(t testing.TB, entries int) *bench {
	t.Helper()
	k := demoJob(t)
	taken := slices.Clone(k.state.Readings)
	for n := 0; k.state.Size < int64(entries); n++ {
		switch n % 20 {
		case 16:
			last := k.state.Readings[len(k.state.Readings)-1]
			k.enterFast(&job.ReadingStruck{Reading: last.ID, Why: "misread: the thimble was one turn off"})
		case 17:
			k.enterFast(&job.NoteWritten{Text: "the rear edge is nicked, see the photograph", Spot: "rod-1.weight"})
		case 18:
			k.enterFast(&job.ItemRemoved{Position: "rod-1", Item: "rod 1"})
		case 19:
			k.enterFast(&job.ItemFitted{Position: "rod-1", Item: "rod 1"})
		default:
			k.enterFast(taken[n%len(taken)].ReadingTaken)
		}
	}
	return k
}

func BenchmarkFold10000(b *testing.B) {
	k := long(b, 10_000)
	entries := read(b, k.lines)
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		if s := job.Fold(k.state.Log, entries); s.Size != k.state.Size {
			b.Fatalf("%d entries", s.Size)
		}
	}
}

func BenchmarkDecodeAndFold10000(b *testing.B) {
	k := long(b, 10_000)
	size := 0
	for _, line := range k.lines {
		size += len(line)
	}
	b.SetBytes(int64(size))
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		s := job.New(k.state.Log)
		for _, line := range k.lines {
			e, err := job.Kinds.Read(line)
			if err != nil {
				b.Fatal(err)
			}
			s.Apply(&e)
		}
		if s.Size != k.state.Size {
			b.Fatalf("%d entries", s.Size)
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	for _, of := range []struct {
		name  string
		bench func(testing.TB) *bench
	}{
		{"demo", demoJob},
		{"long", func(t testing.TB) *bench { return long(t, 10_000) }},
	} {
		b.Run(of.name, func(b *testing.B) {
			k := of.bench(b)
			s := k.state.Snapshot()
			b.ReportAllocs()
			b.ResetTimer()
			for range b.N {
				if j := s.Judge(k.book); len(j.Verdicts) == 0 || len(j.Live) == 0 {
					b.Fatal("nothing is judged")
				}
			}
			b.ReportMetric(float64(len(s.Readings)), "readings")
		})
	}
}

// What one more reading costs where 10,000 entries stand: decided, folded in, and
// handed out.
func BenchmarkTake(b *testing.B) {
	k := long(b, 10_000)
	r := &job.Take{Row: reading.Row{Spot: "crank.main-1.front.0", Value: "2.3130", Gauge: "mic 3"}}
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		facts, err := job.Decide(k.state, k.known("rs"), r)
		if err != nil {
			b.Fatal(err)
		}
		seq := k.state.Size + 1
		k.state.Apply(&job.Entry{Entry: ledger.Entry{Seq: seq, ID: fmt.Sprint(seq)}, What: facts[0]})
		k.state.Snapshot()
	}
}
