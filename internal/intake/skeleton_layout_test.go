package intake_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/picture"
	"tenths/metrology/quantity"
)

func someEngines() (all []intake.Engine) {
	add := func(arrangement string, cylinders, rows int, mains ...int) {
		for _, m := range mains {
			all = append(all, intake.Engine{Title: intake.Title{Engine: fmt.Sprintf("%s %d in %d, %d mains", arrangement, cylinders, rows, m)}, Arrangement: arrangement, Cylinders: cylinders, Mains: m, Rows: rows, Unit: quantity.Inch})
		}
	}
	add("opposed", 2, 1, 1, 2, 3, 4)
	add("opposed", 4, 1, 1, 2, 3, 4, 5, 6)
	add("opposed", 6, 1, 3, 4, 5, 6, 7, 8)
	add("opposed", 8, 1, 2, 4, 5, 7, 9)
	add("opposed", 36, 1, 1, 19, 20)
	add("in-line", 2, 1, 1, 2, 3)
	add("in-line", 3, 1, 2, 4)
	add("in-line", 4, 1, 3, 5)
	add("in-line", 5, 1, 6)
	add("in-line", 6, 1, 4, 7, 8)
	add("in-line", 36, 1, 20)
	add("radial", 3, 1, 1, 2)
	add("radial", 5, 1, 2)
	add("radial", 9, 1, 2, 3)
	add("radial", 14, 2, 2, 3, 4)
	add("radial", 18, 2, 3)
	add("radial", 28, 4, 5)
	add("radial", 36, 12, 1, 13, 20)
	return all
}

// linksOf reads a drawing and counts its links by what they lead to.
func linksOf(t *testing.T, svg picture.SVG) map[string]int {
	t.Helper()
	count := map[string]int{}
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return count
		}
		if err != nil {
			t.Fatalf("the drawing is no picture: %v\n%s", err, svg)
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "a" {
			for _, a := range e.Attr {
				if a.Name.Local == "href" {
					count[a.Value]++
				}
			}
		}
	}
}

// Whatever engine a book is begun for, it is drawn: each cylinder with its rod,
// the crankshaft with each of its journals once.
func TestSkeletonIsDrawn(t *testing.T) {
	for _, e := range someEngines() {
		own, err := intake.Skeleton(e)
		if err != nil {
			t.Fatal(err)
		}
		b, err := book.Load("b.yaml", own)
		if err != nil {
			t.Fatalf("%s: %v\n%s", e.Engine, err, own)
		}
		if b.Layout == nil {
			t.Errorf("%s has no layout", e.Engine)
			continue
		}
		part := func(part string, position int) string { return fmt.Sprintf("%s/%d", part, position) }
		want := map[string]int{"crank/0": 1, "case/0": 1, "cam/0": 1, "gear/0": 1, "pump/0": 1}
		if e.Arrangement == "radial" {
			for n := range e.Rows {
				want[part("master", map[bool]int{true: n + 1}[e.Rows > 1])] = 1
			}
			for n := range e.Cylinders - e.Rows {
				want[part("link", n+1)] = 1
			}
		}
		for n := range e.Cylinders {
			want[part("cylinder", n+1)] = 1
			if e.Arrangement != "radial" {
				want[part("rod", n+1)] = 1
			}
		}
		for _, svg := range []picture.SVG{picture.Engine(b, nil, part, false), picture.EngineUpright(b, nil, part)} {
			if got := linksOf(t, svg); fmt.Sprint(got) != fmt.Sprint(want) {
				t.Errorf("%s: drawn are %v, want %v", e.Engine, got, want)
			}
		}
		sites := map[string]int{}
		for _, f := range b.Parts[0].Features {
			if f.Key == "main" || f.Key == "pin" {
				for _, s := range f.Sites {
					sites[s.String()] = 1
				}
			}
		}
		site := func(s *book.Site) string { return s.String() }
		for _, svg := range []picture.SVG{picture.Crank(b, nil, site, nil), picture.CrankUpright(b, nil, site, nil)} {
			if got := linksOf(t, svg); fmt.Sprint(got) != fmt.Sprint(sites) {
				t.Errorf("%s: along the shaft are %v, want %v", e.Engine, got, sites)
			}
		}
		if small := picture.Engine(b, nil, nil, true); small == "" {
			t.Errorf("%s has no small drawing", e.Engine)
		}
	}
}

func shaftOf(t *testing.T, arrangement string, cylinders, mains, rows int) (along string, throws string) {
	t.Helper()
	own, err := intake.Skeleton(intake.Engine{Arrangement: arrangement, Cylinders: cylinders, Mains: mains, Rows: rows, Unit: quantity.Inch})
	if err != nil {
		t.Fatal(err)
	}
	b, err := book.Load("b.yaml", own)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range b.Layout.Shafts[0].Sites {
		along += s.Feature.Key[:1]
	}
	for _, one := range b.Layout.Throws {
		throws += " " + one.Angle.Rat().RatString()
	}
	return along, strings.TrimSpace(throws)
}

// What follows what along the shaft, and the throws' angles, are as one finds them.
func TestSkeletonShaft(t *testing.T) {
	for _, c := range []struct {
		arrangement            string
		cylinders, mains, rows int
		along, throws          string
	}{
		{"opposed", 2, 2, 1, "mppm", "0 180"},
		{"opposed", 2, 3, 1, "mpmpm", "0 180"},
		{"opposed", 4, 1, 1, "mpppp", "0 180 180 0"},
		{"opposed", 4, 2, 1, "mppppm", "0 180 180 0"},
		{"opposed", 4, 3, 1, "mppmppm", "0 180 180 0"},
		{"opposed", 4, 4, 1, "mmppmppm", "0 180 180 0"},
		{"opposed", 4, 5, 1, "mpmpmpmpm", "0 180 180 0"},
		{"opposed", 4, 6, 1, "mmpmpmpmpm", "0 180 180 0"},
		{"opposed", 6, 4, 1, "mppmppmppm", "0 180 120 300 240 60"},
		{"opposed", 8, 5, 1, "mppmppmppmppm", "0 180 90 270 270 90 180 0"},
		{"opposed", 8, 7, 1, "mpmppmpmpmppmpm", "0 180 90 270 270 90 180 0"},
		{"in-line", 2, 2, 1, "mppm", "0 0"},
		{"in-line", 3, 4, 1, "mpmpmpm", "0 120 240"},
		{"in-line", 4, 3, 1, "mppmppm", "0 180 180 0"},
		{"in-line", 6, 7, 1, "mpmpmpmpmpmpm", "0 120 240 240 120 0"},
		{"in-line", 8, 9, 1, "mpmpmpmpmpmpmpmpm", "0 90 270 180 180 270 90 0"},
		{"radial", 9, 2, 1, "mpm", "0"},
		{"radial", 9, 3, 1, "mmpm", "0"},
		{"radial", 14, 3, 2, "mpmpm", "180 0"},
	} {
		along, throws := shaftOf(t, c.arrangement, c.cylinders, c.mains, c.rows)
		if along != c.along || throws != c.throws {
			t.Errorf("%s %d, %d mains: %s at %s, want %s at %s", c.arrangement, c.cylinders, c.mains, along, throws, c.along, c.throws)
		}
	}
}

// In a radial engine the links, their knuckle pins and the cylinders that they are
// of go with the master rod which the fits say they are in.
func TestSkeletonRowsAgree(t *testing.T) {
	own, err := intake.Skeleton(intake.Engine{Arrangement: "radial", Cylinders: 18, Mains: 3, Rows: 2, Unit: quantity.Inch})
	if err != nil {
		t.Fatal(err)
	}
	b, err := book.Load("b.yaml", own)
	if err != nil {
		t.Fatal(err)
	}
	cylinders := map[string][]int{}
	for p, of := range b.Layout.Of {
		cylinders[p.Key] = of
	}
	throw := func(part string, position int) int { return b.Layout.Cylinders[cylinders[part][position-1]-1].Throw }
	l, ok := b.Line("knuckle-in-master")
	if !ok {
		t.Fatal("the knuckle pins' line is not there")
	}
	seen := 0
	for i := range l.Instances {
		master, knuckle := l.Instances[i].Sites[0], l.Instances[i].Sites[1]
		seen++
		if throw("master", master.Position) != throw("link", knuckle.Position) || throw("knuckle", knuckle.Position) != throw("link", knuckle.Position) {
			t.Errorf("%s is in %s, and their cylinders are on different throws", knuckle, master)
		}
	}
	if seen != 16 {
		t.Errorf("%d knuckle pins, want 16", seen)
	}
	if l, _ := b.Line("master-fit"); l == nil {
		t.Fatal("the master rods' line is not there")
	}
	for i, one := range b.Layout.Throws {
		if at := slices.Index(cylinders["master"], one.Master); at != i {
			t.Errorf("the master rod of throw %d is number %d", i+1, at+1)
		}
	}
}
