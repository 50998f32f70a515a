// Fits judges the fits of rows.csv once, as tenths does or by plain floats, and
// prints how many verdicts are wrong. It is the whole process beside those of
// the peers; one verdict alone is timed by the benchmarks.
//
//	fits ours|float ROWS.csv
package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"

	"tenths/metrology/fit"
	"tenths/metrology/limit"
	"tenths/metrology/quantity"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "fits:", err)
		os.Exit(2)
	}
}

func run(args []string) error {
	if len(args) != 2 {
		return fmt.Errorf("usage: fits ours|float ROWS.csv")
	}
	given, err := read(args[1])
	if err != nil {
		return err
	}
	exact, err := truth(given)
	if err != nil {
		return err
	}
	verdicts := make([]bool, len(given))
	switch args[0] {
	case "ours":
		rows, err := parseOurs(given)
		if err != nil {
			return err
		}
		judgeOurs(rows, verdicts)
	case "float":
		rows, err := parseFloat(given)
		if err != nil {
			return err
		}
		judgeFloat(rows, verdicts)
	default:
		return fmt.Errorf("%s: write ours or float", args[0])
	}
	fmt.Println(wrong(verdicts, exact))
	return nil
}

// A text is a row as the file has it: bore, shaft, least and most clearance.
type text [4]string

func read(name string) ([]text, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, err
	}
	if len(all) != 401 || !slices.Equal(all[0], []string{"bore", "shaft", "min", "max"}) {
		return nil, fmt.Errorf("%s: not 400 rows of bore,shaft,min,max", name)
	}
	var rows []text
	for _, r := range all[1:] {
		rows = append(rows, text(r))
	}
	return rows, nil
}

// truth returns the exact verdicts by whole numbers of 0.0001 inch, with
// nothing of what is measured here: a figure of four decimals without its
// point is such a number.
func truth(rows []text) ([]bool, error) {
	exact := make([]bool, len(rows))
	for i, r := range rows {
		var n [4]int
		for k, figure := range r {
			whole, part, _ := strings.Cut(figure, ".")
			var err error
			if n[k], err = strconv.Atoi(whole + part); err != nil || len(part) != 4 {
				return nil, fmt.Errorf("row %d: %q is not a figure of four decimals", i+1, figure)
			}
		}
		exact[i] = n[2] <= n[0]-n[1] && n[0]-n[1] <= n[3]
	}
	return exact, nil
}

func wrong(verdicts, exact []bool) int {
	n := 0
	for i := range verdicts {
		if verdicts[i] != exact[i] {
			n++
		}
	}
	return n
}

// A ours is a row as a book and a file of readings hold it.
type ours struct {
	bore, shaft quantity.Length
	limit       limit.Limit
}

func parseOurs(given []text) ([]ours, error) {
	format := quantity.Format{Unit: quantity.Inch}
	notation := limit.Notation{Format: format, Fit: true, Held: limit.Both, Lone: limit.High}
	rows := make([]ours, len(given))
	for i, g := range given {
		r := &rows[i]
		var err error
		if r.bore, _, err = format.Length(g[0]); err != nil {
			return nil, err
		}
		if r.shaft, _, err = format.Length(g[1]); err != nil {
			return nil, err
		}
		if r.limit, err = notation.Parse(g[2]+".."+g[3], "none"); err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// judgeOurs takes the steps that the judge takes for a fit.
func judgeOurs(rows []ours, verdicts []bool) {
	for i := range rows {
		r := &rows[i]
		sum := fit.Of(
			fit.Term{Times: 1, Smallest: r.bore, Largest: r.bore},
			fit.Term{Times: -1, Smallest: r.shaft, Largest: r.shaft},
		)
		ends := limit.Ends{Low: sum.Tightest.Figure(), High: sum.Loosest.Figure()}
		verdicts[i] = r.limit.Tier(ends, limit.Both) < len(r.limit.Tiers)
	}
}

type float struct{ bore, shaft, least, most float64 }

func parseFloat(given []text) ([]float, error) {
	rows := make([]float, len(given))
	for i, g := range given {
		var n [4]float64
		for k, figure := range g {
			var err error
			if n[k], err = strconv.ParseFloat(figure, 64); err != nil {
				return nil, err
			}
		}
		rows[i] = float{n[0], n[1], n[2], n[3]}
	}
	return rows, nil
}

func judgeFloat(rows []float, verdicts []bool) {
	for i := range rows {
		r := &rows[i]
		clearance := r.bore - r.shaft
		verdicts[i] = r.least <= clearance && clearance <= r.most
	}
}
