package web_test

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
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
