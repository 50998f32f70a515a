package web_test

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"tenths/internal/job"
	"tenths/internal/shop"
)

// What somebody may type who means ill, or whose clipboard does.
var hostile = map[string]string{
	"a script":         `<script>document.title="taken"</script>`,
	"the end of a tag": `"><img src=x onerror="document.title='taken'">`,
	"an apostrophe":    `' onmouseover='document.title="taken"' x='`,
	"a closing":        `</textarea></title></option></select></script><script>document.title="taken"</script>`,
	"a template":       `{{.}}{{template "head" .}}`,
	"an address":       `javascript:document.title="taken"`,
	"entities":         `&lt;script&gt;&quot;&#39;`,
	"right to left":    "kept \u202eforged\u202c",
	"a nought":         "before\x00after",
	"not text":         "\xff\xfe",
	"ten thousand":     strings.Repeat("long ", 2000),
	"a separator":      "one\u2028two",
	"a line":           "first\nsecond",
}

// In every field it is shown as text, or refused with words; it is never part
// of the page, and never a failure of ours.
func TestHostile(t *testing.T) {
	w := ownWorld(t, false)
	at := w.job(t, "HOSTILE")
	c := w.client(t, "mp")
	kd := w.client(t, "kd")
	const spot = "crank.main-1.front.0"
	edition := attr(c.page("/orders/new").all("input[name=edition]")[0], "value")
	forms := []struct {
		who    *client
		path   string
		fields []string
	}{
		{kd, at + "/readings", []string{"spot", spot, "value", "2.3130", "unit", "", "setting", "", "sense", "", "item", "", "stage", "", "step", "", "gauge", "", "temperature", "", "read_by", "", "note", "", "made", "", "known", "", "id", ""}},
		{kd, at + "/notes", []string{"text", "a note", "spot", "", "back", ""}},
		{kd, at + "/skips", []string{"spot", spot, "why", "away", "id", ""}},
		{kd, at + "/strikes", []string{"entry", "1", "why", "misread", "words", "", "settles", "", "back", "", "id", ""}},
		{kd, "/preferences", []string{"theme", "day", "route", "part", "back", ""}},
		{kd, at + "/conditions", []string{"name", "valve", "word", "used"}},
		{kd, at + "/items", []string{"item", "rod 1", "part", "rod", "number", "n", "serial", "s", "found", ""}},
		{kd, at + "/fitted", []string{"do", "fit", "place", "rod-1", "item", "rod 1"}},
		{kd, at + "/sign", []string{"part", "gear", "as", "performed", "statement", "x", "password", "y", "close", ""}},
		{c, "/orders", []string{"order", "H", "model", "m", "serial", "s", "since_new", "1", "since_overhaul", "1", "reason", "r", "customer", "c", "edition", edition, "authority", "a", "limits", "service"}},
		{c, "/people", []string{"name", "N", "handle", "nn", "role", "mechanic", "password", "long enough", "certificate", "c", "number", "n", "scope", "s", "mine", password}},
		{w.client(t, ""), "/sign-in", []string{"handle", "h", "password", "p", "to", "/"}},
	}
	n := 0
	for _, name := range slices.Sorted(maps.Keys(hostile)) {
		bad := hostile[name]
		n++
		t.Run(name, func(t *testing.T) {
			for _, f := range forms {
				for i := 0; i < len(f.fields); i += 2 {
					if f.path == "/people" && (f.fields[i] == "mine" || i/2%len(hostile) != n%(len(f.fields)/2)) {
						continue // each asks for a password, which takes its time: a field for each of the words
					}
					fields := append([]string{}, f.fields...)
					fields[i+1] = bad
					a := f.who.post(f.path, fields...)
					a.t = t
					checkTold(t, f.path+" "+f.fields[i], a)
				}
			}
			for _, query := range []string{
				at + "/bench?spot=", at + "/bench?part=", at + "/bench?by=", at + "/bench/spot?spot=", at + "/limits?find=", at + "/limits?part=", at + "/limits?grade=",
				at + "/limits?by=", at + "/limits?sum=", at + "/log?as-of=", at + "/sign?part=", at + "/sign?as=", "/sign-in?to=", "/orders/", "/books/", "/",
			} {
				a := kd.get(query + url.PathEscape(bad))
				if strings.HasSuffix(query, "=") {
					a = kd.get(query + url.QueryEscape(bad))
				}
				a.t = t
				checkTold(t, query, a)
			}
		})
	}
	// One of each is a new shop's, and its first person's.
	for i, name := range slices.Sorted(maps.Keys(hostile)) {
		w := ownWorld(t, true)
		c := w.client(t, "")
		fields := []string{"title", "S", "name", "N", "certificate", "c", "number", "n", "handle", "kd", "password", "long enough", "again", "long enough", "demo", ""}
		fields[i%5*2+1] = hostile[name]
		a := c.post("/first", fields...)
		checkTold(t, "/first "+fields[i%5*2]+" "+name, a)
		if a.code == http.StatusSeeOther {
			for _, path := range []string{"/", "/people", "/books", "/sign-in"} {
				checkInert(t, c.page(path).doc())
			}
		}
	}
	// Whatever of it was entered is text wherever it is shown.
	for _, path := range []string{"/", "/people", "/books", "/orders/new", at, at + "/bench?spot=" + spot, at + "/limits", at + "/items", at + "/log", at + "/sign"} {
		a := kd.page(path)
		checkInert(t, a.doc())
	}
	log := kd.page(at + "/log")
	log.has("ol.log li", hostile["a script"])
	log.has("ol.log li", hostile["entities"])
	if strings.Contains(log.body, "\u202e") {
		// It may stand in the record. It must not turn what stands beside it.
		for _, n := range log.all("ol.log li p") {
			if strings.Contains(textOf(n), "\u202e") && len(find(n, "bdi")) == 0 && attr(n, "dir") != "auto" {
				t.Errorf("what turns the line stands beside who wrote it: %q", textOf(n))
				break
			}
		}
	}
}

// hostileBook is a book whose every word is a script.
func hostileBook() []byte {
	evil := func(name string) string { // a name of its own, so that each can be found
		text, err := json.Marshal(name + `"'><script>document.title="taken"</script><img src=x onerror="document.title='taken'">`)
		if err != nil {
			panic(err)
		}
		return string(text)
	}
	return []byte(`format: book/1
engine: ` + evil("engine") + `
manual: {title: ` + evil("manual") + `, number: ` + evil("number") + `, revision: ` + evil("revision") + `, date: 2026-01-01}
unit: in
parts:
  shaft:
    name: ` + evil("part") + `
    features:
      journal: {name: ` + evil("feature") + `, kind: outside, planes: [front, rear]}
      bore: {name: ` + evil("other") + `, kind: inside}
lines:
  journal: {ref: ` + evil("ref") + `, page: ` + evil("page") + `, name: ` + evil("line") + `, as: ` + evil("as") + `, size: shaft.journal, new: 1.9990..2.0000, service: min 1.9980}
  bore: {ref: 2, page: 1, name: ` + evil("second") + `, size: shaft.bore, new: 2.0010..2.0020, service: 2.0030}
  fit: {ref: 3, page: 1, name: ` + evil("fit") + `, fit: shaft.bore - shaft.journal, new: 0.0010L..0.0030L, service: 0.0050L}
`)
}

// hostileJob opens a job by such a book, and measures some of it.
func (w *world) hostileJob(t *testing.T) {
	t.Helper()
	by := shop.Who{Handle: "mp"}
	edition, err := w.shop.Adopt(t.Context(), by, "book.yaml", hostileBook())
	if err != nil {
		t.Fatal(err)
	}
	evil := hostile["the end of a tag"]
	if _, err := w.shop.OpenJob(t.Context(), by, job.JobOpened{Order: "EVIL", Model: evil, Serial: evil, Reason: evil, Customer: evil, Edition: edition.Edition, Authority: evil, Limits: job.ServiceLimits}); err != nil {
		t.Fatal(err)
	}
	c := w.client(t, "kd")
	for _, value := range []string{"1.9970", "2.1000"} { // to be settled, and beyond
		c.post("/orders/EVIL/readings", "spot", "shaft.journal.front", "value", value, "gauge", hostile["a script"], "note", evil, "read_by", evil).to()
	}
	c.post("/orders/EVIL/readings", "spot", "shaft.bore", "value", "2.0010").to()
	c.post("/orders/EVIL/skips", "spot", "shaft.journal.rear", "why", evil).to()
	c.post("/orders/EVIL/notes", "text", evil).to()
}

var hostilePages = []string{
	"/", "/books", "/orders/new", "/orders/EVIL", "/orders/EVIL/bench?spot=shaft.journal.front", "/orders/EVIL/bench?spot=shaft.bore", "/orders/EVIL/bench?by=gauge", "/orders/EVIL/bench?by=part",
	"/orders/EVIL/limits", "/orders/EVIL/limits?sum=fit", "/orders/EVIL/items", "/orders/EVIL/log", "/orders/EVIL/sign", "/orders/EVIL/sign?part=shaft&as=performed",
}

// A book that somebody else wrote is text too, with the drawings made of its words.
func TestHostileBook(t *testing.T) {
	w := ownWorld(t, false)
	w.hostileJob(t)
	c := w.client(t, "mp")
	var all strings.Builder
	for _, path := range append(hostilePages[:len(hostilePages):len(hostilePages)], "/books/"+editionOf(t, w, "EVIL")) {
		a := c.page(path)
		checkInert(t, a.doc())
		for n := range a.doc().Descendants() {
			if n.Type == html.ElementNode && n.Data == "img" {
				t.Errorf("%s made a picture", path)
			}
		}
		all.WriteString(a.text())
	}
	for _, name := range []string{"engine", "manual", "number", "revision", "part", "feature", "other", "line", "as", "second", "fit", "ref", "page"} {
		if !strings.Contains(all.String(), name+`"'><script>`) {
			t.Errorf("nowhere is the %s told as it is written", name)
		}
	}
}

// editionOf is the edition that a job is judged by.
func editionOf(t *testing.T, w *world, order string) string {
	t.Helper()
	state, err := w.shop.Job(t.Context(), order)
	if err != nil {
		t.Fatal(err)
	}
	return state.Edition
}

// checkTold fails unless an answer is a page or a redirect of ours, or a refusal
// in words.
func checkTold(t *testing.T, what string, a answered) {
	t.Helper()
	switch {
	case a.code >= 500:
		t.Errorf("%s: %d %.300s", what, a.code, a.text())
	case a.code == http.StatusSeeOther:
		if to := a.header.Get("Location"); !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t\x00") {
			t.Errorf("%s leads to %q", what, to)
		}
	case strings.HasPrefix(a.header.Get("Content-Type"), "text/html"):
		checkInert(t, a.doc())
		if a.code >= 400 {
			words := ""
			for _, n := range append(find(a.doc(), ".query"), find(a.doc(), "[role=alert]")...) {
				words += textOf(n)
			}
			if len(strings.Fields(words)) < 3 {
				t.Errorf("%s: %d without words: %.300s", what, a.code, a.text())
			}
		}
	case a.code >= 400 && len(strings.Fields(a.body)) < 3:
		t.Errorf("%s: %d %q", what, a.code, a.body)
	}
	if strings.HasPrefix(a.header.Get("Content-Type"), "text/html") {
		for n := range a.doc().Descendants() {
			if n.Type == html.ElementNode && n.Data == "img" {
				t.Errorf("%s made a picture", what)
			}
		}
	}
}
