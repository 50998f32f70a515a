package intake

import (
	"slices"
	"strings"

	"tenths/internal/book"
	"tenths/internal/fault"
	"tenths/internal/table"
)

// The columns of a sheet of what waits for a person. The first two say which cell
// it is, and are not to be changed.
const (
	holdLine = iota
	holdCell
	holdRef
	holdPage
	holdName
	holdPrinted
	holdMay
	holdWhy
	holdBeside
	holdAnswer
	holdKnown
	holdWho
)

var holdColumns = []string{"Line", "Column", "Ref", "Page", "Name", "Printed", "Perhaps", "Why it waits", "The row's other limits", "Answer", "How you know", "Who"}

// HoldsSheet is a sheet of what waits for a person, to be filled in: a row a cell,
// with an empty column for the answer.
func HoldsSheet(waits []book.Doubt) table.Out {
	out := table.Out{Name: "To be settled", Head: 1, Widths: []int{24, 10, 8, 10, 34, 18, 24, 34, 26, 20, 24, 14}, Rows: [][]string{holdColumns}}
	for _, d := range waits {
		row := make([]string, len(holdColumns))
		row[holdLine], row[holdCell], row[holdRef], row[holdPage], row[holdName] = d.Line.Key, d.Cell, d.Line.Ref, d.Line.Page, d.Line.Name
		row[holdPrinted], row[holdMay], row[holdWhy], row[holdBeside] = d.Text, strings.Join(d.May, " or "), d.Why, beside(&d)
		out.Rows = append(out.Rows, row)
	}
	return out
}

// beside is what of the row's limits can be read beside a cell that waits.
func beside(d *book.Doubt) string {
	var all []string
	for _, c := range []struct{ cell, says string }{{book.HoldNew, d.Line.Says.New}, {book.HoldService, d.Line.Says.Service}} {
		if c.cell != d.Cell && c.says != "" {
			all = append(all, c.cell+" "+c.says)
		}
	}
	return strings.Join(all, ", ")
}

// Answers reads a sheet of what waits for a person, filled in. Rows without an
// answer are left out; open is how many. by and why stand where a row does not
// say who answers it and how one knows.
func Answers(s table.Sheet, by, why, date string) (all []book.Saying, open int, faults fault.List) {
	head := slices.IndexFunc(s.Rows, func(r table.SheetRow) bool { return heading(&r, "Line") >= 0 && heading(&r, "Answer") >= 0 })
	if head < 0 {
		return nil, 0, fault.List{{File: s.File, Code: "header", What: "this is no sheet of what waits for a person: no row has the headings Line and Answer", Do: "have one written with --out, and fill it in"}}
	}
	top := &s.Rows[head]
	at := make([]int, len(holdColumns))
	for i, name := range holdColumns {
		at[i] = heading(top, name)
		if at[i] < 0 && (i <= holdCell || i == holdPrinted || i == holdAnswer) {
			faults = append(faults, fault.Fault{File: s.File, Line: top.Line, Column: 1, Code: "column", Text: name, What: "the sheet has no such column", Do: "have it written anew with --out; its columns may be moved, and must keep their headings"})
		}
	}
	if len(faults) > 0 {
		return nil, 0, faults
	}
	for i := range s.Rows[head+1:] {
		row := &s.Rows[head+1+i]
		cell := func(column int) string {
			if at[column] < 0 {
				return ""
			}
			return row.At(at[column]).Text
		}
		answer := row.At(at[holdAnswer])
		switch {
		case answer.Doubt != "":
			faults = append(faults, fault.Fault{File: s.File, Line: row.Line, Column: at[holdAnswer] + 1, Field: "Answer", Code: "value", Text: answer.Text, What: answer.Doubt, Do: "write the answer as text"})
		case answer.Text == "" && cell(holdLine) != "":
			open++
		case answer.Text != "":
			say := book.Saying{
				Line: cell(holdLine), Cell: strings.ToLower(cell(holdCell)), Text: cell(holdPrinted), CheckText: true, Says: answer.Text,
				By: cell(holdWho), Why: cell(holdKnown), Date: date, Place: book.Place{File: s.File, Line: row.Line, Column: at[holdAnswer] + 1},
			}
			if say.By == "" {
				say.By = by
			}
			if say.Why == "" {
				say.Why = why
			}
			all = append(all, say)
		}
	}
	return all, open, faults
}

// heading finds the column of that heading, −1 where there is none.
func heading(r *table.SheetRow, name string) int {
	return slices.IndexFunc(r.Cells, func(c table.Cell) bool { return strings.EqualFold(c.Text, name) })
}
