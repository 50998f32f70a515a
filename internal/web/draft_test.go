package web_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tenths/internal/table"
)

// careless is a table of limits as somebody typed it in their own way.
func careless(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "careless.csv"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// upload sends a form with a file.
func (c *client) upload(path, file string, data []byte, fields ...string) answered {
	c.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for i := 0; i < len(fields); i += 2 {
		if err := m.WriteField(fields[i], fields[i+1]); err != nil {
			c.t.Fatal(err)
		}
	}
	f, err := m.CreateFormFile("file", file)
	if err != nil {
		c.t.Fatal(err)
	}
	if _, err := f.Write(data); err != nil {
		c.t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		c.t.Fatal(err)
	}
	return c.do(c.request(http.MethodPost, path, m.FormDataContentType(), b.String()))
}

// asSent are the fields of a form as a browser would send it untouched.
func (a answered) asSent(selector string) map[string]string {
	a.t.Helper()
	form := a.one(selector)
	all := map[string]string{}
	for _, n := range find(form, "input") {
		switch kind := attr(n, "type"); {
		case kind == "radio" && !hasAttr(n, "checked"), kind == "file", kind == "checkbox" && !hasAttr(n, "checked"):
		default:
			all[attr(n, "name")] = attr(n, "value")
		}
	}
	for _, n := range find(form, "select") {
		for i, o := range find(n, "option") {
			if hasAttr(o, "selected") || i == 0 {
				v := attr(o, "value")
				if !hasAttr(o, "value") {
					v = textOf(o)
				}
				all[attr(n, "name")] = v
			}
		}
	}
	return all
}

// with are a form's fields, some of them said otherwise.
func with(all map[string]string, fields ...string) (list []string) {
	for i := 0; i < len(fields); i += 2 {
		all[fields[i]] = fields[i+1]
	}
	for k, v := range all {
		list = append(list, k, v)
	}
	return list
}

// draft brings the careless table in, and says what it asks of the whole.
func (c *client) draft(engine string) string {
	c.t.Helper()
	to := c.upload("/drafts", "my limits.csv", careless(c.t), "engine", engine).to()
	a := c.page(c.get(to).to())
	c.post(to+"/columns", with(a.asSent("form.columns"), "unit", "in")...).to()
	return to
}

// From a careless table to a book of the shop, without script.
func TestDraftWay(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	c.page("/books").one("form[action=/drafts] input[type=file]")
	to := c.upload("/drafts", `C:\shop\my limits.csv`, careless(t), "engine", "Old four <4>").to()
	if to != "/drafts/old-four-4" {
		t.Fatalf("the draft is at %s", to)
	}
	a := c.page(c.get(to).to())
	a.has("h1", "Old four <4>")
	a.has("table.maps .what select[name=c3] option[selected]", "new, most")
	a.has("fieldset legend", "nothing in the table says it")
	a.has("fieldset .note", "Likely inches")
	a.has(".sum-of", "30 rows = 0 lines + 30 held") // until the unit is said
	a.has("#preview .side-row b", "Main journal dia")
	checkInert(t, a.doc())

	// Nothing is kept of a look at how it would be.
	fields := a.asSent("form.columns")
	look := c.page(to + "/columns?" + form(with(fields, "c4", "skip", "unit", "mm")...))
	look.has("#preview", "30 = 0 lines + 30 held")
	c.page(to+"/columns").has("table.maps .what select[name=c4] option[selected]", "service limit")

	a = c.page(to + "/columns")
	next := c.post(to+"/columns", with(a.asSent("form.columns"), "unit", "in", "means0", "not stated")...).to()
	a = c.page(next)
	a.has(".sum-of", "30 rows = 26 lines + 4 held")
	a.has(".side-row .row-n", "6")
	a.has(".side-line .fig", "2.2490.. 2.2500")
	a.has(".is-held .why", "not a number")
	checkInert(t, a.doc())

	a = c.page(to + "/adopt")
	a.has(".adopt .list", ".O12")
	edition := c.post(to+"/adopt", with(a.asSent("form[action="+to+"/adopt]"), "do", "adopt", "number", "OM-1")...).to()
	edition, _, _ = strings.Cut(edition, "?")
	a = c.page(edition)
	a.has("h1", "Old four <4>")
	a.one("a.key[href=/orders/new?edition=" + strings.TrimPrefix(edition, "/books/") + "]")
	c.page("/books").has("table td a.fig", strings.TrimPrefix(edition, "/books/")[:16])
	for _, file := range []string{"draft.yaml", "old-four-4.yaml", "01-my-limits.csv", "01-my-limits.mapping.yaml"} {
		if _, err := os.Stat(filepath.Join(w.dir, "drafts", "old-four-4", file)); err != nil {
			t.Errorf("%s is not kept: %v", file, err)
		}
	}
	if kept, err := os.ReadFile(filepath.Join(w.dir, "drafts", "old-four-4", "01-my-limits.csv")); err != nil || !bytes.Equal(kept, careless(t)) {
		t.Errorf("the table is not kept as it came: %v", err)
	}
}

// Each hold and each finding is settled by a form of its own, without script.
func TestDraftHolds(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	to := c.draft("Holds")
	a := c.page(to + "/holds")
	a.has("h2", "6 Camshaft bearing bore")
	a.has(".tokens mark", "02")
	a.has(".hold-form .asrow td.hold", "1.5002")
	a.has(".holds h2", "0 of 5 settled")
	checkInert(t, a.doc())
	at := attr(a.one("input[name=at]"), "value")
	choice := attr(a.one(".readings input[type=radio]"), "value")
	if choice != "service 1.5020" {
		t.Errorf("the first reading is %q", choice)
	}

	// Nothing chosen, no reason, a text that can't be: the words, and nothing kept.
	for _, c1 := range []struct{ want, says, own, known string }{
		{"Nothing is chosen", "", "", "looked"},
		{"Nothing is chosen", "own service", "", "looked"},
		{"Say how you know", choice, "", ""},
		{"not a number", "own service", "1.5O2", "looked"},
		{"does not wait", "kind outside", "", "looked"},
	} {
		bad := c.post(to+"/holds", "at", at, "says", c1.says, "own", c1.own, "known", c1.known)
		if bad.code != http.StatusUnprocessableEntity {
			t.Errorf("%+v: %d", c1, bad.code)
		}
		bad.has(".query[role=alert]", c1.want)
		if c1.own != "" {
			if got := attr(bad.one("input[name=own]"), "value"); got != c1.own {
				t.Errorf("what was typed is lost: %q", got)
			}
		}
	}
	c.page(to+"/holds").has(".holds h2", "0 of 5 settled")

	next := c.post(to+"/holds", "at", at, "says", choice, "own", "", "known", "looked at the manual again", "words", "page 5-3").to()
	a = c.page(next)
	a.has("h2", "9 Camshaft end play")
	a.has(".holds h2", "1 of 5 settled")
	a.has(".sum-of", "30 rows = 26 lines + 4 held")
	a.has(".hold-list .done .fig", "1.5020")
	if !strings.HasPrefix(attr(a.one("input[name=words]"), "value"), "looked at the manual again: page 5-3") {
		t.Error("how one knows is not kept for the next")
	}
	// It may be settled otherwise.
	a = c.page(to + "/holds?at=" + strings.ReplaceAll(at, " limits", "+service"))
	a.has(".hold-form p", "looked at the manual again: page 5-3")
	c.post(to+"/holds", "at", strings.ReplaceAll(at, " limits", " service"), "says", "own service", "own", "1.5025", "known", "the maker’s letter").to()
	settled, err := os.ReadFile(filepath.Join(w.dir, "drafts", "holds", "holds.settled.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"1.5025", "1.5020", "before:", "M. Pohl", "the maker’s letter"} {
		if !strings.Contains(string(settled), want) {
			t.Errorf("the file has no %q:\n%s", want, settled)
		}
	}
	for range 4 {
		a = c.page(to + "/holds")
		next = c.post(to+"/holds", "at", attr(a.one("input[name=at]"), "value"), "says", attr(a.one(".readings input[type=radio]"), "value"), "known", "looked").to()
	}
	if next != to+"/fits" {
		t.Errorf("behind the last hold stands %s", next)
	}
	c.page(to+"/holds").has(".lead", "5 holds settled")
	c.page(to+"/adopt").has(".lead", "None is held")

	if a = c.post(to+"/adopt", "do", "adopt", "engine", "Holds"); a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "which manual it is from") {
		t.Errorf("adopted without a manual: %d %.200s", a.code, a.text())
	}

	// An edition is the book and what was settled of it.
	edition, _, _ := strings.Cut(c.post(to+"/adopt", "do", "adopt", "engine", "Holds", "number", "OM-1").to(), "?")
	text, err := w.shop.Text(t.Context(), strings.TrimPrefix(edition, "/books/"))
	if err != nil || !strings.Contains(string(text), "1.5025") || !strings.Contains(string(text), "format: settled/1") {
		t.Errorf("%v %s", err, text)
	}
	c.page(to+"/adopt").has(".query", "Adopted as edition")
}

// A cell that can be read, and is not as the manual has it, is said otherwise from
// its row; the table stays as it came.
func TestDraftDoubted(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	to := c.draft("Doubted")
	a := c.page(to + "/rows")
	c.page(attr(a.all(".is-held .why a")[1], "href")).has(".tokens mark", "O")
	at := attr(a.all(".side-line .svc-l a")[0], "href")
	a = c.page(at)
	a.has(".tokens mark", "2.2470")
	a.has(".hold-form p", "it can be read")
	a.has(".holds h2", "0 of 5 settled")
	checkInert(t, a.doc())
	cell := attr(a.one("input[name=at]"), "value")
	if bad := c.post(to+"/holds", "at", cell, "says", "own service", "own", "2.24x", "known", "k"); bad.code != http.StatusUnprocessableEntity {
		t.Errorf("what can't be read is kept: %d", bad.code)
	}
	back := c.post(to+"/holds", "at", cell, "says", "own service", "own", "2.2475", "known", "a slip of mine").to()
	if back != to+"/rows?table=0#row-6" {
		t.Errorf("back at %s", back)
	}
	a = c.page(to + "/rows")
	a.has(".said", "service “2.2470” is 2.2475: M. Pohl, a slip of mine")
	a.has(".sum-of", "30 rows = 25 lines + 5 held")
}

// A clearance is worked out from its sizes only where a person says so.
func TestDraftFits(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	csv := "Ref,Description,New (in),Wear limit\n1,Camshaft front journal dia,1.4985-1.4990,1.4970\n2,Camshaft bearing bore,1.5000-1.5010,1.5020\n3,\"Camshaft in bearing, clearance\",0.0010L-0.0025L,0.0040L\n"
	to := c.upload("/drafts", "t.csv", []byte(csv), "engine", "Fits").to()
	a := c.page(to + "/fits")
	a.has("h2", "3 Camshaft in bearing, clearance")
	a.has(".fit .of b", "2 Camshaft bearing bore")
	a.has(".fit .of b", "less 1 Camshaft front journal dia")
	a.has(".steps a[aria-current]", "Fits 1")
	checkInert(t, a.doc())
	at, fit := attr(a.one("input[name=at]"), "value"), attr(a.one("input[name=fit]"), "value")
	for _, bad := range [][]string{{"at", at}, {"at", at, "fit", "x.y - z.w"}, {"at", "none", "fit", fit}} {
		if a := c.post(to+"/fits", bad...); a.code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", bad, a.code)
		}
	}
	if text, err := os.ReadFile(filepath.Join(w.dir, "drafts", "fits", "fits.settled.yaml")); err == nil {
		t.Errorf("something is linked by itself:\n%s", text)
	}
	if next := c.post(to+"/fits", "at", at, "fit", fit).to(); next != to+"/findings" {
		t.Errorf("behind the last fit stands %s", next)
	}
	a = c.page(to + "/fits")
	a.has(".lead", "1 fit confirmed")
	a.has(".hold-list .note", "says M. Pohl")
	c.page(to+"/rows").has(".side-line .fig", "0.0010L")
	// What is confirmed does not keep the table from being read otherwise.
	a = c.page(to + "/columns")
	fields := a.asSent("form.columns")
	c.post(to+"/columns", with(fields, "c1", "part", "c0", "name")...).to()
	a = c.page(to + "/rows")
	a.has(".sum-of", "3 rows")
	if strings.Contains(a.text(), "can’t be judged by") {
		t.Error(a.text())
	}
}

// A finding is mended only as a person says, with how they know, or stands with a
// reason and a name; the table stays as it came.
func TestDraftFindings(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	csv := "Ref,Description,New (in),New (mm),Wear limit\n1,Main journal dia,2.2490 - 2.2560,57.125 - 57.150,2.2470\n2,Pin bore,1.0010-1.002,25.425-25.451,1.0030\n"
	to := c.upload("/drafts", "t.csv", []byte(csv), "engine", "Found").to()
	a := c.page(to + "/findings")
	a.has(".sev", "fault")
	a.has("h2", "do not say the same")
	a.one("pre.workings")
	a.has(".asrow td.hold", "2.2490 - 2.2560")
	a.has(".steps a .n", "1")
	checkInert(t, a.doc())
	at := attr(a.one("input[name=at]"), "value")
	mend := attr(a.one(".readings input[type=radio]"), "value")
	if !strings.HasPrefix(mend, "mend\n") {
		t.Fatalf("the first choice is %q", mend)
	}
	for _, bad := range [][]string{{"at", at}, {"at", at, "do", mend}, {"at", at, "do", "stands\nnonsense"}, {"at", at, "do", "mend\nx\nnew\n1", "known", "k"}, {"at", "other", "do", mend, "known", "k"}} {
		if a := c.post(to+"/findings", bad...); a.code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", bad, a.code)
		}
	}
	c.page(to+"/findings").has(".steps a .n", "1")
	c.post(to+"/findings", "at", at, "do", strings.ReplaceAll(mend, "\n", "\r\n"), "known", "another printing of the manual").to()
	a = c.page(to + "/findings")
	if text := a.text(); strings.Contains(text, "do not say the same") {
		t.Error("it is not mended")
	}
	a = c.page(to + "/rows")
	a.has(".said", "another printing of the manual")
	a.has(".sum-of", "2 rows = 2 lines + 0 held")

	// The note of the other row stands, and is shown so.
	a = c.page(to + "/findings?line=" + "bore")
	at = attr(a.one("input[name=at]"), "value")
	c.post(to+"/findings", "at", at, "do", "stands\nrounding", "words", "page 3").to()
	a = c.page(to + "/findings")
	a.has(".query", "The manual rounds (page 3), M. Pohl")
	c.page(to+"/adopt").has(".list .note", "the manual rounds (page 3), M. Pohl")
	if kept, err := os.ReadFile(filepath.Join(w.dir, "drafts", "found", "01-t.csv")); err != nil || string(kept) != csv {
		t.Errorf("the table changed: %v\n%s", err, kept)
	}
}

// Who may only look changes nothing, other sites change nothing, and nobody does
// who is not signed in.
func TestDraftRights(t *testing.T) {
	w := ownWorld(t, false)
	to := w.client(t, "kd").draft("Rights")
	before, err := os.ReadFile(filepath.Join(w.dir, "drafts", "rights", "draft.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	posts := map[string][]string{
		"/columns": {"headings", "4", "headings-were", "4", "c1", "name", "c2", "new", "unit", "mm"}, "/kinds": {"row", "6", "kind", "inside"}, "/counts": {"across", "0, 90"}, "/measured": {"row", "6", "places", "3"},
		"/holds": {"at", "camshaft-camshaft-end-play service", "says", "service .012", "known", "k"}, "/findings": {"at", "x", "do", "stands\nrounding"},
		"/strikes": {"of", "holds", "at", "x new", "why", "w"},
		"/adopt":   {"do", "adopt", "engine", "Rights"}, "/tables": {"do", "out"},
	}
	ap, kd, nobody := w.client(t, "ap"), w.client(t, "kd"), w.client(t, "")
	for path, fields := range posts {
		if a := ap.post(to+path, fields...); a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "may not prepare a book") {
			t.Errorf("an apprentice %s: %d %.200s", path, a.code, a.text())
		}
		if got := nobody.post(to+path, fields...).to(); got != "/sign-in" {
			t.Errorf("nobody %s: %s", path, got)
		}
		r := kd.request(http.MethodPost, to+path, "application/x-www-form-urlencoded", form(fields...))
		r.Header.Set("Sec-Fetch-Site", "cross-site")
		if a := kd.do(r); a.code != http.StatusForbidden {
			t.Errorf("another site %s: %d", path, a.code)
		}
	}
	if a := ap.upload("/drafts", "t.csv", careless(t), "engine", "E"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("an apprentice brings a table in: %d", a.code)
	}
	if after, err := os.ReadFile(filepath.Join(w.dir, "drafts", "rights", "draft.yaml")); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the draft changed: %v", err)
	}
	// A mechanic prepares, and a manager adopts.
	if a := kd.post(to+"/adopt", "do", "adopt", "engine", "Rights", "number", "1"); a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "may not adopt") {
		t.Errorf("a mechanic adopts: %d %.200s", a.code, a.text())
	}
	for _, who := range []*client{ap, kd} {
		for _, path := range []string{"/columns", "/rows", "/holds", "/findings", "/adopt"} {
			if a := who.page(to + path); len(find(a.doc(), "fieldset.bare[disabled]")) > 0 != (who == ap) && path != "/rows" {
				t.Errorf("%s: what may not be done can be pressed, or what may be can't", path)
			}
		}
	}
	for _, path := range []string{"/drafts/none", "/drafts/..", "/drafts/..%2Frights", "/drafts/Rights/rows", "/drafts/rights/nothing", "/drafts/%00/rows"} {
		if a := kd.get(path); a.code != http.StatusNotFound && a.code != http.StatusTemporaryRedirect && a.code != http.StatusMovedPermanently {
			t.Errorf("%s: %d", path, a.code)
		}
	}
}

// What can't be read is told in words on the page of books, and nothing is kept.
func TestDraftBadFiles(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	for _, bad := range []struct{ name, data, want string }{
		{"a PDF", "%PDF-1.7 and so on", "This is a PDF"},
		{"protected", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + strings.Repeat("x", 100), "protected by a password"},
		{"corrupt", "PK\x03\x04" + strings.Repeat("x", 100), "can’t be read"},
		{"a bomb", bomb(t), "npacks to more than"},
		{"empty", "", "no"},
		{"too many rows", strings.Repeat("a,b\n", 100_001), "more than 100000 rows"},
		{"too many columns", strings.Repeat("a,", 300) + "b\n", "more than 200 columns"},
	} {
		a := c.upload("/drafts", bad.name, []byte(bad.data), "engine", "My engine")
		if a.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", bad.name, a.code)
		}
		text := strings.ReplaceAll(textOf(a.one("#bring .query")), "'", "’")
		if !strings.Contains(text, bad.want) {
			t.Errorf("%s: %q", bad.name, text)
		}
		if got := attr(a.one("form[action=/drafts] input[name=engine]"), "value"); got != "My engine" {
			t.Errorf("%s: the engine's name is lost: %q", bad.name, got)
		}
	}
	a := c.upload("/drafts", "large.csv", bytes.Repeat([]byte("x"), 66<<20), "engine", "E")
	if a.code != http.StatusRequestEntityTooLarge || !strings.Contains(a.text(), "too large") {
		t.Errorf("too large: %d %.100s", a.code, a.text())
	}
	c.post("/drafts", "engine", "E").has("#bring .query", "No file came")
	if list, err := os.ReadDir(filepath.Join(w.dir, "drafts")); err == nil && len(list) > 0 {
		t.Errorf("something is kept: %v", list)
	}
}

// bomb is a workbook that unpacks to far more than it is.
func bomb(t *testing.T) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, size := range map[string]int{"xl/workbook.xml": 1 << 20, "xl/_rels/workbook.xml.rels": 300 << 20} {
		f, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		for n := 0; n < size; n += 1 << 20 {
			if _, err := f.Write(make([]byte, 1<<20)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Whatever a table says is shown as text, and never part of the page.
func TestDraftHostile(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	var csv bytes.Buffer
	rows := [][]string{{"Ref", "Description", "New (in)", "Wear limit", "Notes"}}
	for name, bad := range hostile {
		if name == "a nought" || name == "not text" {
			continue // in no file of text
		}
		rows = append(rows, []string{bad, bad, bad, bad, bad}, []string{"1", "Pin dia " + bad, "1.10-1.11", bad, bad})
	}
	if err := table.WriteCSV(&csv, rows); err != nil {
		t.Fatal(err)
	}
	for n, bad := range []string{hostile["a script"], hostile["the end of a tag"], hostile["a template"], hostile["an address"]} {
		to := c.upload("/drafts", bad+".csv", csv.Bytes(), "engine", bad).to()
		for _, path := range []string{"/columns", "/rows", "/holds", "/findings", "/adopt"} {
			a := c.page(to + path)
			checkInert(t, a.doc())
			if !strings.Contains(a.text(), strings.TrimSpace(bad)[:8]) {
				t.Errorf("%d %s: the engine's name is not shown", n, path)
			}
		}
		for i := range 6 { // a hold each
			a := c.page(fmt.Sprintf("%s/holds", to))
			list := a.all(".hold-list a")
			checkInert(t, c.page(attr(list[i%len(list)], "href")).doc())
		}
		a := c.page(to + "/holds")
		bad := c.post(to+"/holds", "at", attr(a.one("input[name=at]"), "value"), "says", "own service", "own", bad, "known", bad)
		checkInert(t, bad.doc())
	}
	checkInert(t, c.page("/books").doc())
}

// Several people at one draft: each hold is settled once by each, and what one
// says is not lost by another.
func TestDraftTogether(t *testing.T) {
	w := ownWorld(t, false)
	to := w.client(t, "mp").draft("Together")
	holds := map[string]string{
		"camshaft-camshaft-end-play service": ".012", "cylinders-top-ring-side-clearance service": "0.006",
		"cylinders-piston-pin-dia service": "1.1235", "pinsrods-rod-twist service": "blank", "camshaft-camshaft-bearing-bore service": "1.5020",
	}
	var all sync.WaitGroup
	for at, says := range holds {
		for _, who := range []string{"mp", "kd"} {
			c := w.client(t, who)
			all.Go(func() {
				for _, path := range []string{"/columns", "/rows", "/holds", "/findings", "/adopt"} {
					if a := c.get(to + path); a.code != http.StatusOK {
						t.Errorf("%s: %d", path, a.code)
					}
				}
				if a := c.post(to+"/holds", "at", at, "says", "own service", "own", says, "known", "looked"); a.code != http.StatusSeeOther {
					t.Errorf("%s: %d %.300s", at, a.code, a.text())
				}
			})
		}
	}
	all.Wait()
	w.client(t, "mp").page(to+"/rows").has(".sum-of", "30 rows = 30 lines + 0 held")
}

// What was settled, confirmed or let stand is taken back where it is seen, with why
// and by whom; it stays on record, and is shown.
func TestDraftTakeBack(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	csv := "Ref,Description,New (in),Wear limit\n1,Camshaft front journal dia,1.4985-1.4990,1.4970\n2,Camshaft bearing bore,1.5000-1.5010,\"1,5020\"\n3,\"Camshaft in bearing, clearance\",0.0010L-0.0030L,0.0040L\n"
	to := c.upload("/drafts", "t.csv", []byte(csv), "engine", "Back").to()
	settled := func() string {
		t.Helper()
		text, err := os.ReadFile(filepath.Join(w.dir, "drafts", "back", "back.settled.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}

	// A settled hold.
	hold := attr(c.page(to+"/holds").one("input[name=at]"), "value")
	says := attr(c.page(to+"/holds").one(".readings input[type=radio]"), "value")
	c.post(to+"/holds", "at", hold, "says", says, "known", "the maker’s letter").to()
	a := c.page(to + "/holds?at=" + url.QueryEscape(hold))
	a.has(".strike summary", "Take back what it was settled as")
	checkInert(t, a.doc())
	form := func() map[string]string { return a.asSent("#take-back") }
	before := settled()
	for _, bad := range [][]string{with(form()), with(form(), "why", " "), with(form(), "at", "none new", "why", "x"), with(form(), "of", "fits", "why", "x"), with(form(), "of", "findings", "why", "x")} {
		if a := c.post(to+"/strikes", bad...); a.code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", bad, a.code)
		}
	}
	if settled() != before {
		t.Errorf("something is struck:\n%s", settled())
	}
	back := c.post(to+"/strikes", with(form(), "why", "that letter is of another engine")...).to()
	a = c.page(back)
	a.has(".query", "It is struck")
	a.has(".once", "Once settled as 1.5020, M. Pohl")
	a.has(".once", "struck by M. Pohl")
	a.has(".once", "that letter is of another engine")
	a.has(".sum-of", "3 rows = 2 lines + 1 held")
	if text := settled(); !strings.Contains(text, "struck:") || strings.Contains(text, "\nholds:") {
		t.Errorf("what was settled is\n%s", text)
	}
	c.post(to+"/holds", "at", hold, "says", says, "known", "looked at the manual again").to()

	// A confirmed fit.
	a = c.page(to + "/fits")
	fit := attr(a.one("input[name=at]"), "value")
	c.post(to+"/fits", "at", fit, "fit", attr(a.one("input[name=fit]"), "value")).to()
	a = c.page(to + "/fits?at=" + url.QueryEscape(fit))
	a.has(".strike summary", "Take back the fit")
	a = c.page(c.post(to+"/strikes", with(a.asSent("#take-back"), "why", "the other bearing")...).to())
	a.has(".once", "Once confirmed as ")
	a.has(".once", "the other bearing")
	c.post(to+"/fits", "at", fit, "fit", attr(a.one("input[name=fit]"), "value")).to()

	// A finding that was let stand.
	a = c.page(to + "/findings?at=&line=" + url.QueryEscape(fit))
	a.has(".sev", "doubt")
	found := attr(a.one("input[name=at]"), "value")
	c.post(to+"/findings", "at", found, "do", "stands\nselection").to()
	a = c.page(to + "/findings?at=" + found)
	a.has(".strike summary", "Take back that it may stand")
	a = c.page(c.post(to+"/strikes", with(a.asSent("#take-back"), "why", "nobody selects them")...).to())
	a.has(".once", "Once let stand: parts are selected to fit each other, M. Pohl")
	a.has(".steps a .n", "1")

	// Who may only look is shown what was struck, and strikes nothing.
	c.post(to+"/findings", "at", found, "do", "stands\nselection").to()
	other := w.client(t, "ap")
	a = other.page(to + "/findings?at=" + found)
	a.has(".once", "nobody selects them")
	if strings.Contains(a.text(), "Take back") {
		t.Error("it can be taken back by who may only look")
	}
	if a := other.post(to+"/strikes", "of", "findings", "at", found, "why", "x"); a.code != http.StatusUnprocessableEntity && a.code != http.StatusForbidden {
		t.Errorf("struck by who may only look: %d", a.code)
	}
}

// What was settled of a table that is left out is told, and comes back with it; what
// does not fit any more is told too.
func TestDraftAside(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	csv := "Ref,Description,New (in),Wear limit\n1,Main journal dia,2.2490 - 2.2500,\"2,2470\"\n2,Pin dia,1.9990 - 2.0000,\n"
	to := c.upload("/drafts", "t.csv", []byte(csv), "engine", "Aside").to()
	for range 2 {
		a := c.page(to + "/holds")
		says := attr(a.one(".readings input[type=radio]"), "value")
		c.post(to+"/holds", "at", attr(a.one("input[name=at]"), "value"), "says", says, "known", "the maker’s letter").to()
	}
	c.page(to+"/columns").has(".sum-of", "2 rows = 2 lines + 0 held")
	a := c.page(c.post(to+"/tables", "table", "0", "do", "out").to())
	a.has(".away summary", "2 things settled of rows that are not in the book now")
	a.has(".away li", "t.csv, row 2, service: settled as 2.2470, M. Pohl")
	checkInert(t, a.doc())
	c.post(to+"/columns", with(a.asSent("form.columns"), "means0", "none")...)
	a = c.page(c.post(to+"/tables", "table", "0", "do", "in").to())
	a.has(".query", "1 thing that was settled does not fit any more, and is kept. Look at it again.")
	a.has(".query li", "t.csv, row 3, service: settled as ")
	a.has(".query li", "but the cell can be read now: none")
	a.has(".sum-of", "2 rows = 2 lines + 0 held")
	c.page(to+"/holds").has(".hold-list .note", "settled by M. Pohl")
}
