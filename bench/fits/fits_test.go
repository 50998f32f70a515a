package main

import "testing"

// load reads rows.csv with its exact verdicts.
func load(tb testing.TB) (given []text, exact []bool) {
	tb.Helper()
	given, err := read("rows.csv")
	if err != nil {
		tb.Fatal(err)
	}
	if exact, err = truth(given); err != nil {
		tb.Fatal(err)
	}
	return given, exact
}

func TestOursHasNoneWrong(t *testing.T) {
	given, exact := load(t)
	rows, err := parseOurs(given)
	if err != nil {
		t.Fatal(err)
	}
	verdicts := make([]bool, len(rows))
	judgeOurs(rows, verdicts)
	for i := range verdicts {
		if verdicts[i] != exact[i] {
			t.Errorf("row %d, %v: within = %t", i+1, given[i], verdicts[i])
		}
	}
}

// The rows must be such that a wrong way shows: floats fail on them, and there
// is enough inside and outside.
func TestRowsTellWaysApart(t *testing.T) {
	given, exact := load(t)
	rows, err := parseFloat(given)
	if err != nil {
		t.Fatal(err)
	}
	verdicts := make([]bool, len(rows))
	judgeFloat(rows, verdicts)
	if wrong(verdicts, exact) == 0 {
		t.Error("floats judge every row right")
	}
	within := 0
	for _, w := range exact {
		if w {
			within++
		}
	}
	if within < 100 || within > 350 {
		t.Errorf("%d of %d rows are within: not a mix", within, len(rows))
	}
}

func BenchmarkOurs(b *testing.B) {
	given, exact := load(b)
	rows, err := parseOurs(given)
	if err != nil {
		b.Fatal(err)
	}
	measure(b, exact, func(verdicts []bool) { judgeOurs(rows, verdicts) })
}

func BenchmarkFloat(b *testing.B) {
	given, exact := load(b)
	rows, err := parseFloat(given)
	if err != nil {
		b.Fatal(err)
	}
	measure(b, exact, func(verdicts []bool) { judgeFloat(rows, verdicts) })
}

// measure times all rows together and reports one verdict's share.
func measure(b *testing.B, exact []bool, judge func([]bool)) {
	b.Helper()
	b.ReportAllocs()
	verdicts := make([]bool, len(exact))
	for b.Loop() {
		judge(verdicts)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(exact)), "ns/verdict")
	b.ReportMetric(float64(wrong(verdicts, exact)), "wrong")
}
