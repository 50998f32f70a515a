package web_test

import (
	"bytes"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tenths/internal/book"
	"tenths/internal/intake"
	"tenths/internal/table"
	"tenths/metrology/quantity"
)

// begunSheet is the sheet of a book that was begun, with cells filled in: line,
// column, text.
func begunSheet(t testing.TB, cells ...[3]string) []byte {
	t.Helper()
	own, err := intake.Skeleton(intake.Engine{Title: intake.Title{Engine: "Invented flat four", Number: "OM-4"}, Arrangement: "opposed", Cylinders: 4, Mains: 3, Unit: quantity.Inch})
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := intake.BookSheets(own)
	if err != nil {
		t.Fatal(err)
	}
	rows := sheets[0].Rows
	for _, c := range cells {
		at := slices.Index(rows[1], c[1])
		n := slices.IndexFunc(rows, func(r []string) bool { return r[0] == c[0] })
		if at < 0 || n < 0 {
			t.Fatalf("the sheet has no cell for %v", c)
		}
		for len(rows[n]) <= at {
			rows[n] = append(rows[n], "")
		}
		rows[n][at] = c[2]
	}
	var b bytes.Buffer
	if err := table.WriteXLSX(&b, sheets...); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var someFilled = [][3]string{
	{"main-size", "New", "2.2490 - 2.2500"},
	{"main-size", "Service", "2.2470"},
	{"main-bore", "New", "2.2515 - 2.2525"},
	{"main-bore", "Service", "2,2540"},
	{"main-fit", "New", "0.0010L - 0.0035L"}, // it should be 0.0015L
	{"main-fit", "Service", "0.0060L"},
	{"seal-land", "New", "1.999 - 2.001"},
}

// From a sheet that was filled in to a book of the shop, without script.
func TestWholeWay(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	c.page("/books").has("#bring h3", "filled in")
	to := c.upload("/drafts", "begun.xlsx", begunSheet(t, someFilled...)).to()
	if to != "/drafts/invented-flat-four" {
		t.Fatalf("the draft is at %s", to)
	}
	a := c.page(c.get(to).to())
	a.has("h1", "Invented flat four")
	a.has(".steps a[aria-current=step]", "Sheet")
	a.has(".whole .lead", "have no limits yet")
	a.one(".whole svg.engine")
	a.has(".asks-of legend", "A blank service limit means")
	if len(find(a.doc(), "select")) > 0 {
		t.Error("it is asked what its columns hold")
	}
	checkInert(t, a.doc())

	// What a blank means is said of the whole sheet.
	next := c.post(to+"/columns", with(a.asSent("form.columns"), "means0", "not stated")...).to()
	a = c.page(next)
	a.has(".sum-of", "held")
	a.has(".sum-of", "without limits")
	a.has(".side-row", "no limits yet")
	if n := len(a.all(".side-row.is-held")); n != 1 {
		t.Errorf("%d rows are held, want that of the comma", n)
	}
	checkInert(t, a.doc())
	if n := len(c.page(to + "/rows?only=held").all(".side-row")); n != 1 {
		t.Errorf("%d rows are shown as held", n)
	}
	open := c.page(to + "/rows?only=open")
	enter := attr(open.one(".side-row .side-line a"), "href")

	// The hold is settled as any other, with its row as it stands in the sheet.
	a = c.page(to + "/holds")
	a.has(".holds h2", "Main bearing as fitted")
	a.has(".holds h2", "0 of 1 settled")
	a.has(".asrow td.hold", "2,2540")
	a.has(".asrow th", "Service")
	if says := attr(a.one(".readings input[type=radio]"), "value"); says != "service 2.2540" {
		t.Errorf("the first reading is %q", says)
	}
	c.post(to+"/holds", "at", attr(a.one("input[name=at]"), "value"), "says", "service 2.2540", "known", "looked at the manual again").to()

	// Limits of a line that has none yet are entered beside its drawing, one line
	// after the other; what can't be is told, and what was typed stays.
	a = c.page(enter)
	line := attr(a.one(".enter-form input[name=line]"), "value")
	a.has("h2", "Main journal out-of-round")
	a.one(".drawn svg.side")
	a.has(".enter-form .note", "Crankshaft, main journal: out-of-round, in inches")
	checkInert(t, a.doc())
	for _, bad := range []struct{ asNew, service, known, want string }{
		{"0.0000..0.0005", "", "the manual", "for service, or “blank”"},
		{"0.0000..O.0005", "blank", "the manual", "O.0005"},
		{"0.0000..0.0005", "blank", "", "Say how you know"},
	} {
		refused := c.post(to+"/enter", "line", line, "new", bad.asNew, "service", bad.service, "known", bad.known)
		if refused.code != http.StatusUnprocessableEntity || attr(refused.one("input[name=new]"), "value") != bad.asNew {
			t.Errorf("%+v: %d", bad, refused.code)
		}
		refused.has(".query[role=alert]", bad.want)
	}
	next = c.post(to+"/enter", "line", line, "new", "..0.0005", "service", "0.0010", "known", "the manual, page 5").to()
	a = c.page(next)
	a.has(".entered", "Main journal out-of-round")
	a.has("h2", "Main journal taper")
	if known := attr(a.one("input[name=known]"), "value"); known != "the manual, page 5" {
		t.Errorf("how one knows is not kept: %q", known)
	}
	c.post(to+"/enter", "line", line, "new", "1", "service", "1", "known", "k").has(".query[role=alert]", "by now")

	// A finding is mended, and the sheet stays as it came.
	a = c.page(to + "/findings")
	a.has(".hold-form h2", "doubt")
	a.has(".found-line .asrow td", "0.0010L - 0.0035L")
	var mend string
	for _, n := range a.all(".readings input[type=radio]") {
		if strings.Contains(attr(n, "value"), "0.0015") {
			mend = attr(n, "value")
		}
	}
	c.post(to+"/findings", "at", attr(a.one("input[name=at]"), "value"), "do", mend, "known", "looked at the manual again").to()

	a = c.page(to + "/adopt")
	a.has(".adopt .lead", "have no limits yet")
	if strings.Contains(a.text(), "Stays held") {
		t.Error("cells are listed as held: those without limits are counted")
	}
	edition := c.post(to+"/adopt", with(a.asSent("form[action="+to+"/adopt]"), "do", "adopt")...).to()
	edition, _, _ = strings.Cut(edition, "?")
	c.page(edition).has("h1", "Invented flat four")
	own, err := os.ReadFile(filepath.Join(w.dir, "drafts", "invented-flat-four", "invented-flat-four.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	settled, err := os.ReadFile(filepath.Join(w.dir, "drafts", "invented-flat-four", "invented-flat-four.settled.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	b, err := book.Load("b.yaml", book.Join(own, settled))
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{"main-bore": "2.2540", "main-fit": "0.0060L", line: "0.0010"} {
		if l, ok := b.Line(key); !ok || l.Waits() || l.Says.Service != want {
			t.Errorf("%s: %+v", key, l)
		}
	}

	// More tables are brought in; the sheet filled in further takes its own place.
	c.upload(to+"/tables", "more.csv", []byte("Ref,Description,New (in),Wear limit\n9,Oil pump bushing bore,1.10-1.11,1.12\n"), "table", "0").to()
	c.page(to+"/rows?table=1").has(".side-row", "Oil pump bushing bore")
	further := append(slices.Clone(someFilled), [3]string{"seal-land", "Service", "1.998"}, [3]string{"rod-side", "New", "0.009 - 0.016"}, [3]string{"rod-side", "Service", "0.022"})
	c.upload(to+"/tables", "begun again.xlsx", begunSheet(t, further...), "table", "0").to()
	a = c.page(to + "/rows?table=2")
	a.has(".side-row", "1.998")
	a.has(".tabs", "left out")
	c.page(to+"/holds").has(".lead", "Nothing waits any more")
}

// A sheet that can't be read says where, and what to do; and what can't go
// together says why.
func TestWholeFaults(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	bad := c.upload("/drafts", "begun.xlsx", begunSheet(t, [3]string{"main-size", "Of", "crank.mian"}, [3]string{"seal-land", "Mates", "[crank"}))
	if bad.code != http.StatusUnprocessableEntity {
		t.Errorf("answered %d", bad.code)
	}
	bad.has("#bring .query[role=alert]", "column P: “[crank” begins like a list")
	bad = c.upload("/drafts", "begun.xlsx", begunSheet(t, [3]string{"main-size", "Of", "crank.mian"}))
	bad.has("#bring .query[role=alert]", "Row 3, column F: “crank.mian” there is no such feature")
	bad.has("#bring .query[role=alert]", "Nothing is kept of the sheet")
	checkInert(t, bad.doc())
	if strings.Contains(c.page("/books").text(), "In the making") {
		t.Error("a draft is kept of it")
	}
	c.upload("/drafts", "limits.csv", []byte("Ref,Description,New (in),Wear limit\n9,Pin,1.10-1.11,1.12\n")).has("#bring .query", "which engine it is of")
	to := c.draft("Tables")
	c.upload(to+"/tables", "begun.xlsx", begunSheet(t), "table", "0").has(".query[role=alert]", "begin a book of its own with the sheet")
}
