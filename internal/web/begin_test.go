package web_test

import (
	"net/http"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
)

// chosen is what of a page's choices is chosen, by name.
func (a answered) chosen(name string) string {
	for _, n := range find(a.doc(), "input") {
		if attr(n, "name") == name && attr(n, "type") == "radio" && hasAttr(n, "checked") {
			return attr(n, "value")
		}
	}
	return ""
}

// The engine is drawn as it is chosen, and what follows from a choice is as usual.
func TestBegin(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	c.page("/books").one("a[href=/books/begin]")
	a := c.page("/books/begin")
	if got := a.chosen("arrangement") + a.chosen("cylinders") + a.chosen("mains") + a.chosen("unit"); got != "opposed43in" {
		t.Errorf("it begins with %s", got)
	}
	a.one(".seen svg.opposed")
	if n := len(a.all(".picks .drawn-pick svg")); n != 3 {
		t.Errorf("%d kinds of engines are drawn", n)
	}
	checkInert(t, a.doc())
	for _, c1 := range []struct{ say, want string }{
		{"cylinders=6", "opposed64"},
		{"mains=5", "opposed45"},
		{"mains-other=6", "opposed4"}, // it is none of the list
		{"cylinders-other=10", "opposed6"},
		{"arrangement=radial", "radial712"},
		{"arrangement=in-line", "in-line45"},
		{"unit=mm", "opposed43"},
	} {
		fields := a.asSent("#begin")
		name, says, _ := strings.Cut(c1.say, "=")
		b := c.page("/books/begin?" + form(with(fields, name, says)...))
		if got := b.chosen("arrangement") + b.chosen("cylinders") + b.chosen("rows") + b.chosen("mains"); got != c1.want {
			t.Errorf("%s: %s, want %s", c1.say, got, c1.want)
		}
		b.one(".seen svg.crank")
		if other, ok := strings.CutSuffix(name, "-other"); ok {
			if got := b.asSent("#begin")[name]; got != says || b.chosen(other) != "" {
				t.Errorf("%s: typed is %q", c1.say, got)
			}
			// One of the list takes its place.
			again := c.page("/books/begin?" + form(with(b.asSent("#begin"), other, "2")...))
			if again.chosen(other) != "2" || again.asSent("#begin")[name] != "" {
				t.Errorf("%s: %s and %q after one of the list is chosen", c1.say, again.chosen(other), again.asSent("#begin")[name])
			}
		}
	}
	two := c.page("/books/begin?arrangement=radial&cylinders=9&rows=2")
	two.has(".seen h2", "lines of")
	two.one(".seen svg.radial")

	// There is no such engine: it says why, and there is nothing to get.
	bad := c.page("/books/begin?arrangement=opposed&cylinders-other=5&engine=Odd")
	bad.has(".query[role=alert]", "even number of cylinders, not 5")
	if got := bad.asSent("#begin"); got["cylinders-other"] != "5" || got["engine"] != "Odd" {
		t.Errorf("what was said is lost: %v", got)
	}
	if !hasAttr(bad.one(".key.go"), "disabled") {
		t.Error("a sheet is offered of no engine")
	}
	for _, q := range []string{"cylinders=x", "cylinders=-4", "mains=99", "arrangement=radial&rows=99999999999", "arrangement=radial&cylinders=3&rows=13", "mains-other=1e3"} {
		c.page("/books/begin?"+q).has(".query[role=alert]", "not")
		if got := c.get("/books/begin/sheet?" + q); got.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: a sheet is answered with %d", q, got.code)
		}
	}
}

// The sheet that is got is the command's, and comes back filled in; or the book is
// begun there, and its sheet is got from it.
func TestBeginSheet(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	got := c.get("/books/begin/sheet?arrangement=radial&cylinders=7&rows=2&mains=3&unit=mm&engine=Twin+row&number=OM-14")
	if got.code != http.StatusOK || got.header.Get("Content-Disposition") != `attachment; filename="twin-row.xlsx"` {
		t.Fatalf("%d, %q", got.code, got.header.Get("Content-Disposition"))
	}
	read := func(data string) *intake.Filled {
		t.Helper()
		first, faults := table.Read("sheet.xlsx", "", []byte(data))
		if len(faults) > 0 || !intake.IsBookSheet(first) {
			t.Fatalf("it is no sheet of ours: %v", faults)
		}
		f, faults := intake.ReadBookSheets(first, []byte(data), intake.Mapping{})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return f
	}
	f := read(got.body)
	if b := f.Book; b.Engine != "Twin row" || b.Manual.Number != "OM-14" || len(b.Layout.Cylinders) != 14 || len(b.Layout.Throws) != 2 || b.Unit.String() != "mm" {
		t.Errorf("%s, %s, %+v", f.Book.Engine, f.Book.Manual, f.Book.Layout)
	}
	to := c.upload("/drafts", "twin-row.xlsx", []byte(got.body)).to()
	c.page(to+"/columns").has(".whole .lead", "have no limits yet")

	to = c.post("/books/begin", "arrangement", "in-line", "cylinders", "6", "mains", "7", "unit", "in", "engine", "Six").to()
	a := c.page(c.get(to).to())
	a.has("h1", "Six")
	a.one(".whole svg.in-line")
	sheet := c.get(to + "/sheet")
	if f = read(sheet.body); f.Book.Engine != "Six" || f.Unfilled < 80 || f.Book.Layout.Arrangement != book.InLine {
		t.Errorf("%s, %d without limits", f.Book.Engine, f.Unfilled)
	}
	// Also when it is called otherwise by now, it takes the book's place again.
	c.post(to+"/adopt", "do", "call", "engine", "Six of ours", "manual", "", "number", "OM-6", "revision", "", "date", "").to()
	sheet = c.get(to + "/sheet")
	c.upload(to+"/tables", "six.xlsx", []byte(sheet.body), "table", "0").to()
	c.page(to+"/columns").has("h1", "Six of ours")

	if got := c.get(c.draft("Tables") + "/sheet"); got.code != http.StatusNotFound {
		t.Errorf("a sheet of a draft of tables: %d", got.code)
	}
	onlooker := w.client(t, "ow")
	onlooker.page("/books/begin").one("#begin")
}
