package picture

import (
	"encoding/xml"
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tenths/internal/book"
)

// loadedBook reads a book that is known to be good.
func loadedBook(t testing.TB, path string) *book.Book {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	b, err := book.Load(path, data)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// demoBooks are the three invented engines: an opposed, an in-line, a radial one.
func demoBooks(t testing.TB) (four, six, seven *book.Book) {
	t.Helper()
	return loadedBook(t, "../demo/book.yaml"), loadedBook(t, "../demo/more/inline.yaml"), loadedBook(t, "../demo/more/radial.yaml")
}

// A drawn is one element of a drawing, as a browser reads it.
type drawn struct {
	name, class, text string
	attrs             map[string]string
	link              string // the address of the link that it is in
}

func (d *drawn) n(t fataler, attr string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(d.attrs[attr], 64)
	if err != nil {
		t.Fatal(d.name, "has", attr, strconv.Quote(d.attrs[attr]))
	}
	return v
}

func (d *drawn) has(class string) bool { return slices.Contains(strings.Fields(d.class), class) }

// may is what a drawing may hold: shapes, words and links, and of attributes
// those that a strict content policy lets pass. No ids, so that many may stand
// on one page.
var (
	mayHold  = []string{"svg", "g", "rect", "line", "circle", "path", "text", "a", "title"}
	mayCarry = []string{
		"class", "viewBox", "role", "aria-label", "aria-hidden", "width", "height", "x", "y", "x1", "y1", "x2", "y2",
		"cx", "cy", "r", "d", "text-anchor", "font-size", "href", "transform",
	}
)

// read takes a drawing apart; it fails where it is not well formed, or holds
// what it may not.
func read(t fataler, svg SVG) (frame [4]float64, all []drawn) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	link := ""
	open := -1
	for {
		token, err := d.Token()
		if token == nil {
			break
		}
		if err != nil {
			t.Fatal(err, string(svg))
		}
		switch e := token.(type) {
		case xml.StartElement:
			if !slices.Contains(mayHold, e.Name.Local) {
				t.Fatal("holds a ", e.Name.Local)
			}
			one := drawn{name: e.Name.Local, attrs: map[string]string{}, link: link}
			for _, a := range e.Attr {
				if !slices.Contains(mayCarry, a.Name.Local) {
					t.Fatal(e.Name.Local, " carries ", a.Name.Local)
				}
				one.attrs[a.Name.Local] = a.Value
			}
			one.class = one.attrs["class"]
			if one.name == "a" {
				link = one.attrs["href"]
			}
			if len(all) > 0 && all[len(all)-1].name == "a" && one.name != "title" {
				t.Fatal("a link without a name")
			}
			open = len(all)
			all = append(all, one)
		case xml.EndElement:
			if e.Name.Local == "a" {
				link = ""
			}
			open = -1
		case xml.CharData:
			if open >= 0 {
				all[open].text += string(e)
			}
		}
	}
	if len(all) == 0 {
		t.Fatal("nothing was drawn")
	}
	fields := strings.Fields(all[0].attrs["viewBox"])
	if all[0].name != "svg" || len(fields) != 4 {
		t.Fatal("has no frame: ", string(svg)[:min(len(svg), 200)])
	}
	for i := range frame {
		v, err := strconv.ParseFloat(fields[i], 64)
		if err != nil || math.Abs(v) > 1e5 {
			t.Fatal("has frame ", all[0].attrs["viewBox"])
		}
		frame[i] = v
	}
	if frame[2] <= 0 || frame[3] <= 0 {
		t.Fatal("has frame ", all[0].attrs["viewBox"])
	}
	return frame, all
}

// texts are the words of a drawing that have a class.
func texts(all []drawn, class string) (words []string) {
	for i := range all {
		if all[i].name == "text" && all[i].has(class) {
			words = append(words, all[i].text)
		}
	}
	return words
}

var numbersOf = regexp.MustCompile(`-?[0-9]+(?:\.[0-9]+)?`)

// A box is what a shape covers.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) wide() float64 { return b.x1 - b.x0 }
func (b box) high() float64 { return b.y1 - b.y0 }

func (b box) over(c box) bool {
	const touch = 0.1
	return b.x0 < c.x1-touch && c.x0 < b.x1-touch && b.y0 < c.y1-touch && c.y0 < b.y1-touch
}

// boxOf is what a rectangle or circle covers.
func (d *drawn) boxOf(t fataler) box {
	t.Helper()
	if d.name == "circle" {
		x, y, r := d.n(t, "cx"), d.n(t, "cy"), d.n(t, "r")
		return box{x - r, y - r, x + r, y + r}
	}
	x, y := d.n(t, "x"), d.n(t, "y")
	return box{x, y, x + d.n(t, "width"), y + d.n(t, "height")}
}

// targets are the largest boxes that each link of a drawing can be hit in: its
// hit areas, or its own shape. A sector's is the square that stands in it.
func targets(t fataler, all []drawn) map[string][]box {
	t.Helper()
	hits := map[string][]box{}
	own := map[string][]box{}
	for i := range all {
		d := &all[i]
		if d.link == "" || d.has("rev") {
			continue
		}
		switch {
		case d.name == "path" && d.has("hit"):
			var n []float64
			for _, text := range numbersOf.FindAllString(d.attrs["d"], -1) {
				v, _ := strconv.ParseFloat(text, 64)
				n = append(n, v)
			}
			// M inner-left L outer-left A r r 0 0 1 outer-right L inner-right …
			deep := math.Hypot(n[2]-n[0], n[3]-n[1])
			wide := math.Hypot((n[9]+n[11]-n[0]-n[2])/2, (n[10]+n[12]-n[1]-n[3])/2)
			hits[d.link] = append(hits[d.link], box{0, 0, wide, deep})
		case d.has("hit"):
			hits[d.link] = append(hits[d.link], d.boxOf(t))
		case d.name == "rect" || d.name == "circle":
			own[d.link] = append(own[d.link], d.boxOf(t))
		}
	}
	for link, boxes := range own {
		if len(hits[link]) == 0 {
			slices.SortFunc(boxes, func(a, b box) int { return int(b.wide()*b.high() - a.wide()*a.high()) })
			hits[link] = boxes[:1]
		}
	}
	return hits
}

// checkTargets fails where a target is less than 48 px, the drawing being as
// many pixels wide as it says.
func checkTargets(t fataler, what string, svg SVG, px int) {
	t.Helper()
	frame, all := read(t, svg)
	k := float64(px) / frame[2]
	for link, boxes := range targets(t, all) {
		for _, b := range boxes {
			if k*min(b.wide(), b.high()) < 47.95 {
				t.Fatal(fmt.Sprintf("%s: %s is a target of %.1f × %.1f px where the drawing is %d px wide", what, link, k*b.wide(), k*b.high(), px))
			}
		}
	}
}

// golden compares a drawing with the one that was looked at, an element a line.
func golden(t *testing.T, name string, svg SVG) {
	t.Helper()
	file := "testdata/" + name + ".svg"
	got := strings.ReplaceAll(string(svg), "><", ">\n<") + "\n"
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
		t.Errorf("%s: %s", file, diff)
	}
}

func TestStates(t *testing.T) {
	outside, inside := &book.Feature{Wears: book.Smaller}, &book.Feature{Wears: book.Larger}
	for _, c := range []struct {
		s       State
		f       *book.Feature
		word    string
		larger  bool
		classes string
	}{
		{None, outside, "nothing to judge", false, "metal"},
		{Open, outside, "open", false, "journal is-open"},
		{New, inside, "new", true, "journal is-new"},
		{Serviceable, outside, "serviceable", false, "journal is-serviceable"},
		{Beyond, inside, "beyond", true, "journal is-beyond"},
		{Beyond.OnSmaller(), inside, "beyond", false, "journal is-beyond"},
		{Beyond.OnLarger(), outside, "beyond", true, "journal is-beyond"},
		{Serviceable.OnLarger().OnSmaller(), inside, "serviceable", false, "journal is-serviceable"},
		{State(0xff), nil, "beyond", true, "journal is-beyond"},
	} {
		if c.s.String() != c.word || c.s.larger(c.f) != c.larger || c.s.classes() != c.classes {
			t.Errorf("%d: %q, larger %v, %q", c.s, c.s, c.s.larger(c.f), c.s.classes())
		}
	}
	for _, c := range []struct{ a, b, want State }{
		{None, None, None},
		{None, New, New},
		{New, Serviceable, Serviceable},
		{Open, New, Open},
		{Open, Beyond.OnLarger(), Beyond},
		{Beyond, Open, Beyond},
	} {
		if got := c.a.With(c.b); got != c.want {
			t.Errorf("%s with %s is %s, want %s", c.a, c.b, got, c.want)
		}
	}
}

func TestTradeWords(t *testing.T) {
	got := []string(tradeOf("pinradius", "Push-rods; bosses, Gudgeon pins"))
	if diff := cmp.Diff([]string{"pinradius", "push", "rod", "bosse", "gudgeon", "pin"}, got); diff != "" {
		t.Error(diff)
	}
	for _, c := range []struct {
		part book.Part
		want likeness
	}{
		{book.Part{Key: "crank", Shape: book.ShaftShape}, likeShaft},
		{book.Part{Key: "x", Name: "Crankshaft"}, likeShaft},
		{book.Part{Key: "shaft", Name: "Rocker shafts"}, likePin},
		{book.Part{Key: "r", Name: "Rockers"}, likeRocker},
		{book.Part{Key: "p", Name: "Push-rods"}, likePushrod},
		{book.Part{Key: "rod", Name: "Connecting rods"}, likeRod},
		{book.Part{Key: "ring", Name: "Piston rings", Shape: book.PlainShape}, likeRing},
		{book.Part{Key: "pump", Shape: book.GearShape}, likePump},
		{book.Part{Key: "head", Name: "Cylinder head"}, likeHead},
		{book.Part{Key: "race", Name: "Inner races of the main bearings"}, likePlain},
		{book.Part{Key: "blower"}, likePlain},
	} {
		if got := likenessOf(&c.part); got != c.want {
			t.Errorf("%s %q is drawn as %d, want %d", c.part.Key, c.part.Name, got, c.want)
		}
	}
}

func TestWordsFit(t *testing.T) {
	for _, c := range []struct {
		words string
		width float64
		want  []string
	}{
		{"Oil pump", 120, []string{"Oil pump"}},
		{"Cylinder head and camshaft bearings", 200, []string{"Cylinder head and", "camshaft bearings"}},
		{"Cylinder head and camshaft bearings", 120, []string{"Cylinder head", "and camshaft…"}},
		{"Incomprehensibilities", 60, []string{"Incom…"}},
		{"", 60, []string{""}},
	} {
		if diff := cmp.Diff(c.want, wrapped(c.words, 16, c.width)); diff != "" {
			t.Errorf("%q in %v: %s", c.words, c.width, diff)
		}
	}
}

// A drawing names what it shows by the book's key, and by the name where the key is
// the name's words run together.
func TestShortWords(t *testing.T) {
	for _, c := range []struct {
		key, name string
		place     int
		want      string
	}{
		{"main", "Main journal", 2, "Main 2"},
		{"mainjournaldia", "Main journal diameter", 0, "Main journal diameter"},
		{"crankpindia", "crankpin dia.", 3, "Crankpin dia. 3"},
		{"camfront", "Front camshaft bearing", 0, "Camfront"},
		{"seal", "", 0, "Seal"},
	} {
		s := &book.Site{Feature: &book.Feature{Key: c.key, Name: c.name}, Place: c.place}
		if got := shortWords(s); got != c.want {
			t.Errorf("%s, %q is named %q, want %q", c.key, c.name, got, c.want)
		}
	}
}
