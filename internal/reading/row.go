package reading

import (
	"errors"
	"regexp"
	"strings"

	"tenths/internal/book"
	"tenths/internal/table"
)

// A Row is one reading in words, each as the column of that name has it in a
// file of readings.
type Row struct {
	Spot, Value, Unit, Setting, Sense, Item, Stage, Step string
	Gauge, Temperature, By, When, Note                   string
}

// ErrBlank tells that a row has no value: nothing was measured.
var ErrBlank = errors.New("there is no value: write what the gauge showed")

// Take reads one reading for the engine that b is of, as a row of a file would
// be read. What is wrong with it is a fault.List, or [ErrBlank].
func Take(b *book.Book, w Row, comma bool) (Reading, error) {
	cells := [colCount]string{
		colSpot: w.Spot, colValue: w.Value, colUnit: w.Unit, colSetting: w.Setting, colSense: w.Sense,
		colItem: w.Item, colStage: w.Stage, colStep: w.Step, colGauge: w.Gauge,
		colTemperature: w.Temperature, colBy: w.By, colWhen: w.When, colNote: w.Note,
	}
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	l := loader{book: b, comma: comma, file: &File{}}
	for col := range l.at {
		l.at[col] = col
	}
	for _, col := range []int{colPart, colPosition, colFeature, colPlace, colPlane, colDirection} {
		l.at[col] = -1
	}
	l.row(table.Row{Cells: cells[:]})
	switch {
	case len(l.file.Faults) > 0:
		return Reading{}, l.file.Faults
	case len(l.file.Readings) == 0:
		return Reading{}, ErrBlank
	}
	return l.file.Readings[0], nil
}

// besideDigit is a comma that is a decimal sign: in what [Reading.Text] writes,
// one between two figures has a letter before it and a space behind.
var besideDigit = regexp.MustCompile(`(\d),|,(\d)`)

func withPoints(text string) string {
	if !strings.Contains(text, ",") {
		return text
	}
	return besideDigit.ReplaceAllString(text, "$1.$2")
}

// InWords writes the reading as a row: every figure with the digits that the
// gauge showed, a point as its decimal sign, and its unit. Take reads the same
// reading from it, whatever the book's own units and signs are.
func (r *Reading) InWords(b *book.Book) Row {
	w := Row{
		Spot: b.Spots[r.Spot].String(), Value: r.Text(), Item: r.Item, Step: r.Step,
		Gauge: r.Gauge, By: r.By, When: r.When, Note: r.Note,
	}
	if r.Kind == Deviation {
		w.Value = r.Shown.String() + " on " + r.Setting.String()
	}
	if r.Reversed {
		w.Sense = plusSmaller
	}
	if r.Stage != 0 {
		w.Stage = StageName(r.Stage)
	}
	if t := r.Temperature; t.Digits != "" {
		w.Temperature = t.String()
	}
	w.Value, w.Temperature = withPoints(w.Value), withPoints(w.Temperature)
	return w
}
