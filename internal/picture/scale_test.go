package picture

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/book"
	"tenths/internal/demo"
	"tenths/internal/judge"
	"tenths/internal/reading"
	"tenths/metrology/quantity"
)

// An svgEl is an element of a drawing, with the words in it.
type svgEl struct {
	name, words string
	attrs       map[string]string
	in          *svgEl
}

func (e *svgEl) has(class string) bool {
	return slices.Contains(strings.Fields(e.attrs["class"]), class)
}

// at is an attribute's number of pixels on the narrowest ruler.
func (e *svgEl) at(name string) float64 {
	text, share := strings.CutSuffix(e.attrs[name], "%")
	n, _ := strconv.ParseFloat(text, 64)
	if share {
		n *= narrowest / 100.
	}
	return n
}

// readSVG reads a drawing; it must be well formed and of one element.
func readSVG(t testing.TB, s SVG) []*svgEl {
	t.Helper()
	var all, open []*svgEl
	for d := xml.NewDecoder(strings.NewReader(string(s))); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%v in %s", err, s)
		}
		switch x := token.(type) {
		case xml.StartElement:
			e := &svgEl{name: x.Name.Local, attrs: map[string]string{}}
			if len(open) > 0 {
				e.in = open[len(open)-1]
			} else if len(all) > 0 {
				t.Fatalf("two elements in %s", s)
			}
			for _, a := range x.Attr {
				if _, twice := e.attrs[a.Name.Local]; twice {
					t.Fatalf("%s twice in %s", a.Name.Local, s)
				}
				e.attrs[a.Name.Local] = a.Value
			}
			all, open = append(all, e), append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			open[len(open)-1].words += string(x)
		}
	}
	return all
}

// A judgedEngine is a book with what was judged by it.
type judgedEngine struct {
	name     string
	words    judge.Words
	verdicts []judge.Verdict
	here     judge.Here
}

// judgedEngines are the demo and the two that use all that a book may say; each with
// its readings, some of them and none.
func judgedEngines(t testing.TB) (all []judgedEngine) {
	t.Helper()
	file := func(name string) []byte {
		data, err := os.ReadFile("../demo/more/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	for _, e := range []struct {
		name           string
		book, readings []byte
		given          judge.Given
	}{
		{"demo", demo.Book, demo.Readings, judge.Given{Conditions: map[string]string{"bushing": "used", "valve": "used"}, Serial: "1127"}},
		{"inline", file("inline.yaml"), file("inline.csv"), judge.Given{}},
		{"radial", file("radial.yaml"), file("radial.csv"), judge.Given{}},
	} {
		b, err := book.Load(e.name, e.book)
		if err != nil {
			t.Fatal(err)
		}
		f := reading.Load(e.name, e.readings, b, b.Comma)
		if len(f.Faults) > 0 {
			t.Fatal(f.Faults)
		}
		count := len(f.Readings)
		for _, c := range []struct {
			unit quantity.Unit
			n    int
		}{{quantity.NoUnit, count}, {quantity.NoUnit, 0}, {quantity.Millimetre, count}, {quantity.Inch, count / 2}} {
			here := judge.File(b, f.Readings[:c.n]).At
			all = append(all, judgedEngine{
				fmt.Sprintf("%s in %q with %d readings", e.name, c.unit, c.n),
				judge.Words{Book: b, Unit: c.unit},
				judge.Book(b, e.given, here), here,
			})
		}
	}
	return all
}

// taken are the figures read at the spots of a line that judges a size.
func taken(v *judge.Verdict, here judge.Here) (figures []quantity.Figure) {
	if v.Line.Judges != book.Size {
		return nil
	}
	for _, id := range v.Line.Instances[v.At].Spots {
		for _, r := range here(id) {
			if r.Exact() {
				figures = append(figures, r.Value)
			}
		}
	}
	return figures
}

// What a drawing may say, so that a strict content policy holds and many stand
// on one page; numbers have two decimals at most.
var (
	attrsAllowed = regexp.MustCompile(`^(class|role|aria-label|width|height|x|y|dx|x1|x2|y1|y2|d|overflow|text-anchor|stroke-dasharray|transform|display)$`)
	longNumber   = regexp.MustCompile(`\d\.\d{3}`)
	grades       = regexp.MustCompile(`\b(new|serviceable|beyond)\b`)
)

// Every verdict of three engines can be drawn, both ways: well formed, within
// its width, and saying of itself what the judge says and no grade beside.
func TestDrawsAll(t *testing.T) {
	drawn := 0
	for _, e := range judgedEngines(t) {
		for i := range e.verdicts {
			v := &e.verdicts[i]
			name := e.name + ": " + e.words.Name(v)
			scale, moving := Scale(e.words, v, taken(v, e.here)), MovingScale(e.words, v, taken(v, e.here))
			if v.Line.Judges == book.YesNo || v.Line.Judges == book.SameStep {
				if scale != "" || moving != "" || Column(e.words, v) != "" || MovingColumn(e.words, v) != "" {
					t.Errorf("%s: a ruler of no figure", name)
				}
				continue
			}
			var each [4][]*svgEl
			for k, s := range [...]SVG{scale, moving, Column(e.words, v), MovingColumn(e.words, v)} {
				drawn++
				all := readSVG(t, s)
				each[k] = all
				root := all[0]
				if root.name != "svg" || root.attrs["role"] != "img" || root.attrs["aria-label"] != Sentence(e.words, v) {
					t.Fatalf("%s: begins %+v", name, root)
				}
				if !strings.Contains(root.attrs["aria-label"], e.words.Standing(v)) {
					t.Errorf("%s: %q does not say %q", name, root.attrs["aria-label"], e.words.Standing(v))
				}
				if grade := grades.FindString(root.attrs["class"]); v.Grade == judge.NoGrade && grade != "" || v.Grade != judge.NoGrade && v.Ungraded == "" && grade != v.Grade.String() {
					t.Errorf("%s: %s, and the class is %q", name, e.words.Standing(v), root.attrs["class"])
				}
				for _, el := range all {
					for a, value := range el.attrs {
						if !attrsAllowed.MatchString(a) || a != "aria-label" && longNumber.MatchString(value) {
							t.Fatalf("%s: %s=%q", name, a, value)
						}
						if text, share := strings.CutSuffix(value, "%"); share && a != "aria-label" {
							if n, err := strconv.ParseFloat(text, 64); err != nil || n < 0 || n > 100 {
								t.Fatalf("%s: %s=%q", name, a, value)
							}
						}
					}
					if el.name == "text" && grades.MatchString(el.words) {
						t.Errorf("%s: the drawing says %q", name, el.words)
					}
					if (el.has("rev") || el.has("on-rev")) && el.attrs["display"] == "" && v.Grade != judge.Beyond {
						t.Errorf("%s is %s, and a figure is reversed", name, e.words.Standing(v))
					}
				}
			}
			figuresApart(t, name, each[0])
			movesAlike(t, name, RuleOf(e.words, v, OfScale), each[0], each[1])
			movesAlike(t, name, RuleOf(e.words, v, OfColumn), each[2], each[3])
		}
	}
	if drawn < 4*4*1000 {
		t.Errorf("%d drawn", drawn)
	}
}

// figuresApart holds the words of a scale apart, on the narrowest: no figure meets
// another, the margin, or the lead of one.
func figuresApart(t *testing.T, name string, all []*svgEl) {
	t.Helper()
	type box struct {
		words    string
		row      string
		from, to float64
	}
	var boxes []box
	for _, e := range all {
		if e.name != "text" {
			continue
		}
		size := 14.
		b := box{words: e.words, row: e.attrs["y"]}
		at := e.at("x") + e.at("dx")
		wide := 0.
		switch {
		case e.has("div"):
			wide = float64(utf8.RuneCountInString(e.words)) * 13 * 0.49
		case e.has("val"):
			at, size = e.in.at("x")+e.at("x"), 18
			fallthrough
		default:
			wide = figureWidth(e.words, size)
		}
		switch e.attrs["text-anchor"] {
		case "middle":
			at -= wide / 2
		case "end":
			at -= wide
		}
		b.from, b.to = at, at+wide
		boxes = append(boxes, b)
		if b.from < 0 || b.to > narrowest {
			t.Errorf("%s: %q goes from %.0f to %.0f of %d", name, b.words, b.from, b.to, narrowest)
		}
	}
	for i, a := range boxes {
		for _, b := range boxes[:i] {
			if a.row == b.row && min(a.to, b.to)-max(a.from, b.from) > 1 {
				t.Errorf("%s: %q and %q meet", name, a.words, b.words)
			}
		}
		for _, e := range all {
			if e.has("lead") && e.at("y2") > rowNew && a.row == fmt.Sprint(rowNew) && e.at("x1") > a.from+1 && e.at("x1") < a.to-1 {
				t.Errorf("%s: a lead goes through %q", name, a.words)
			}
		}
	}
}

// The value of one division is 1, 2 or 5 of the unit, printed, with no more than
// 30 in the domain and none finer than the figures.
func TestDivision(t *testing.T) {
	for _, c := range []struct {
		span     float64
		decimals int
		want     string
	}{
		{0.00336, 4, "0.0002"},
		{0.003, 4, "0.0001"},
		{0.0031, 4, "0.0002"},
		{0.0061, 4, "0.0005"},
		{0.00001, 4, "0.0001"},
		{0.168, 3, "0.01"},
		{0.05, 3, "0.002"},
		{13, 0, "1"},
		{61, 0, "5"},
		{900, 1, "50"},
		{1e9, 0, "50000000"},
	} {
		if _, got := division(c.span, c.decimals); got != c.want {
			t.Errorf("%v with %d decimals: 1 div = %s, want %s", c.span, c.decimals, got, c.want)
		}
	}
}

// Sorts of rulers, as drawings that one can read; TestDrawsAll draws the rest.
func TestGoldenDrawings(t *testing.T) {
	for _, c := range []struct {
		file, feature, line string
		values              []string
		draw                func(judge.Words, *judge.Verdict, []quantity.Figure) SVG
	}{
		{"scale-beyond", aShaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"0.9987", "0.9995"}, Scale},
		{"scale-fit", aGap, "size: p.f, new: 0.0005T..0.0010L, service: 0.0020L", []string{"0.0004"}, Scale},
		{"scale-off", aDial, "run-out: p.f, new: ..0.0010, service: 0.0020", []string{"0.0000", "0.0150"}, Scale},
		{"scale-at-most", aGap, "size: p.f, new: 0.002..0.004, service: under 0.006", []string{"0.005 does not"}, Scale},
		{"scale-moving", aBore, "size: p.f, new: ..1.0010, service: 1.0020", nil, MovingScale},
		{"column-beyond", aShaft, "size: p.f, new: 1.0000..1.0010, service: 0.9990", []string{"0.9987", "0.9995"}, plain(Column)},
		{"column-off", aBore, "size: p.f, new: ..1.0010, service: 1.0020", []string{"1.0100", "1.0005"}, plain(Column)},
		{"column-held", aShaft, "size: p.f, new: 1.0000..1.0010, service: wear 0.0020", []string{"0.9984", "1.0000"}, plain(Column)},
	} {
		w, v, readings := judged(t, c.feature, c.line, c.values...)
		got := strings.ReplaceAll(string(c.draw(w, v, readings)), "><", ">\n<") + "\n"
		file := "testdata/" + c.file + ".svg"
		if os.Getenv("UPDATE") != "" {
			if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s: %s", c.file, diff)
		}
	}
}

func plain(draw func(judge.Words, *judge.Verdict) SVG) func(judge.Words, *judge.Verdict, []quantity.Figure) SVG {
	return func(w judge.Words, v *judge.Verdict, _ []quantity.Figure) SVG { return draw(w, v) }
}

// movesAlike holds what is drawn for a script against the plain drawing: it shows
// the same, and has a head for each that its rule names and a hatch for each
// stop, hidden where there is nothing to show.
func movesAlike(t *testing.T, name string, r Rule, still, moving []*svgEl) {
	t.Helper()
	shown := func(all []*svgEl) (heads []string) {
		for _, e := range all {
			if e.has("pointer") && e.attrs["display"] == "" {
				heads = append(heads, e.attrs["class"]+" "+e.attrs["x"])
			}
		}
		slices.Sort(heads)
		return heads
	}
	if diff := cmp.Diff(shown(still), shown(moving)); diff != "" {
		t.Errorf("%s: %s", name, diff)
	}
	for _, h := range r.Heads {
		if !slices.ContainsFunc(moving, func(e *svgEl) bool { return e.has("pointer") && e.has(h.End) }) {
			t.Errorf("%s: no head at the %s end", name, h.End)
		}
	}
	for _, s := range r.Stops {
		if !slices.ContainsFunc(moving, func(e *svgEl) bool { return e.has("hatch") && e.has(s.End) }) {
			t.Errorf("%s: no hatch at the %s stop", name, s.End)
		}
	}
}

func BenchmarkColumns(b *testing.B) {
	e := judgedEngines(b)[0]
	var some []*judge.Verdict
	for i := range e.verdicts {
		if judgesFigure(e.verdicts[i].Line) && len(some) < 500 {
			some = append(some, &e.verdicts[i])
		}
	}
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		n = 0
		for _, v := range some {
			n += len(Column(e.words, v))
		}
	}
	b.ReportMetric(float64(n)/float64(len(some)), "B/ruler")
	b.ReportMetric(float64(len(some)), "rulers/op")
}

func BenchmarkScale(b *testing.B) {
	e := judgedEngines(b)[0]
	v := &e.verdicts[0]
	figures := taken(v, e.here)
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		n = len(Scale(e.words, v, figures))
	}
	b.ReportMetric(float64(n), "B/ruler")
}
