package intake

import (
	_ "embed"
	"fmt"
	"strings"
	"text/template"

	"tenths/internal/book"
	"tenths/metrology/quantity"
)

// An Engine is what kind of engine a book is to be begun for. What is measured
// follows from it as it usually is (common practice, no source); the manual
// governs.
type Engine struct {
	Title
	Arrangement string // opposed, in-line or radial
	Cylinders   int
	Mains       int           // main journals
	Rows        int           // of a radial engine; 1 if 0
	Unit        quantity.Unit // of lengths
}

// Arrangements are how cylinders may stand about the shaft.
var Arrangements = []string{"opposed", "in-line", "radial"}

// UsualCylinders is how many cylinders a row of such an engine often has, to begin
// with. Common practice, no source.
func UsualCylinders(arrangement string) int {
	if arrangement == "radial" {
		return 7
	}
	return 4
}

// UsualMains is how many main journals such an engine often has: one beside each
// throw, or each pair of opposed throws. Common practice, no source.
func (e Engine) UsualMains() int {
	switch e.Arrangement {
	case "opposed":
		return e.Cylinders/2 + 1
	case "in-line":
		return e.Cylinders + 1
	}
	return max(2, e.Rows+1)
}

// Most cylinders and mains that are begun for.
const (
	mostCylinders = 36
	mostMains     = 20
)

// Check tells whether there is such an engine; the error says what to do.
func (e *Engine) Check() error {
	rows := max(1, e.Rows)
	switch {
	case e.Arrangement != "opposed" && e.Arrangement != "in-line" && e.Arrangement != "radial":
		return fmt.Errorf("how the cylinders stand is opposed, in-line or radial, not %q", e.Arrangement)
	case e.Cylinders < 2 || e.Cylinders > mostCylinders:
		return fmt.Errorf("an engine has 2 to %d cylinders, not %d", mostCylinders, e.Cylinders)
	case e.Mains < 1 || e.Mains > mostMains:
		return fmt.Errorf("a crankshaft has 1 to %d main journals, not %d", mostMains, e.Mains)
	case e.Arrangement == "opposed" && e.Cylinders%2 != 0:
		return fmt.Errorf("an opposed engine has an even number of cylinders, not %d", e.Cylinders)
	case e.Arrangement != "radial" && rows != 1:
		return fmt.Errorf("only a radial engine has rows")
	case e.Arrangement == "radial" && (e.Cylinders%rows != 0 || e.Cylinders/rows < 3):
		return fmt.Errorf("a row of a radial engine has 3 cylinders or more, and all rows have as many: %d cylinders in %d rows are not so", e.Cylinders, rows)
	case e.Unit.Kind() != quantity.LengthKind:
		return fmt.Errorf("lengths are in in or mm")
	}
	return nil
}

//go:embed skeleton.tmpl
var skeletonText string

var skeleton = template.Must(template.New("skeleton").Funcs(template.FuncMap{
	"text":  quote,
	"lower": strings.ToLower,
	"wait": func() string {
		return fmt.Sprintf(", hold: {new: {text: \"\", why: %[1]s}, service: {text: \"\", why: %[1]s}}", book.NotStated)
	},
}).Parse(skeletonText))

// Skeleton writes the book that is begun for an engine: every usual line by name,
// its limits still to be filled in. It loads, and its lines are not graded.
func Skeleton(e Engine) ([]byte, error) {
	if err := e.Check(); err != nil {
		return nil, err
	}
	if e.Engine == "" {
		e.Engine = "Unnamed engine"
	}
	e.Rows = max(1, e.Rows)
	var b strings.Builder
	if err := skeleton.Execute(&b, skeletonData(e)); err != nil {
		panic("BUG: the skeleton of a book: " + err.Error())
	}
	return []byte(b.String()), nil
}

// skeletonData is what the skeleton asks of an engine.
type skeletonData Engine

func (d skeletonData) Opposed() bool   { return d.Arrangement == "opposed" }
func (d skeletonData) Radial() bool    { return d.Arrangement == "radial" }
func (d skeletonData) Valves() int     { return 2 * d.Cylinders }
func (d skeletonData) Links() int      { return d.Cylinders - d.Rows }
func (d skeletonData) LinksOfRow() int { return d.Cylinders/d.Rows - 1 }

// Pins are the crankpins: one a rod, or one a row.
func (d skeletonData) Pins() int {
	if d.Radial() {
		return d.Rows
	}
	return d.Cylinders
}

// Tappet is what follows the cam.
func (d skeletonData) Tappet() string {
	if d.Arrangement == "opposed" {
		return "Lifter"
	}
	return "Tappet"
}

func (d skeletonData) metric() bool { return d.Unit != quantity.Inch }

func (d skeletonData) Torque() string {
	if d.metric() {
		return "N·m"
	}
	return "lbf-in"
}

func (d skeletonData) Force() string {
	if d.metric() {
		return "N"
	}
	return "lbf"
}

func (d skeletonData) Mass() string {
	if d.metric() {
		return "g"
	}
	return "oz"
}
