//go:build browser

package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tenths/internal/job"
	"tenths/internal/shop"
)

// sends fills fields of a form, names and values by turns, and sends it, whatever
// the browser thinks of it; then it waits until the answer says something.
func sends(form, until string, fields ...string) func(*tab) {
	return func(b *tab) {
		b.t.Helper()
		for i := 0; i < len(fields); i += 2 {
			js[int](b, `(document.querySelector(`+quoted(form+" [name="+fields[i]+"]")+`).value = `+quoted(fields[i+1])+`, 0)`)
		}
		js[int](b, `((f) => { window.before = true; f.noValidate = true; f.requestSubmit(); return 0; })(document.querySelector(`+quoted(form)+`))`)
		b.until(`!window.before && document.readyState === "complete" && ` + until)
	}
}

const refusedSaid = `document.querySelector(".query[role=alert]")`

// states are what pages come to when something is to be settled, asked, refused
// or done, beside what the gallery has.
func states(t *testing.T, w *world) []visit {
	t.Helper()
	at := w.job(t, "STATES")
	kd, ow, mp := w.client(t, "kd"), w.client(t, "ow"), w.client(t, "mp")
	for i, spot := range []string{"front.0", "front.90", "rear.0", "rear.90"} {
		for _, site := range []string{"main-1", "main-2"} {
			kd.post(at+"/readings", "spot", "crank."+site+"."+spot, "value", "2.3130", "gauge", "micrometer 2-3", "read_by", "ap", "temperature", "71 F").to()
			ow.post(at+"/readings", "spot", "crank."+site+"."+spot, "value", []string{"2.3103", "58.745 mm", "2.3131", "2.3129"}[i], "note", "the drum was stiff, and read twice").to()
		}
	}
	kd.post(at+"/readings", "spot", "crank.main-3.front.0", "value", "2.3140").to() // asked about
	kd.post(at+"/skips", "spot", "crank.pin-1.rear.90", "why", "part is away").to()
	kd.post(at+"/items", "item", "rod 9", "part", "rod").to()
	kd.post(at+"/readings", "spot", "rod-1.bigend.front.0", "value", "2.3750", "item", "rod 9").to()
	kd.post(at+"/notes", "text", "washed in the hot tank\nand again by hand").to()

	// An engine that is measured, signed by two and closed.
	edition := ""
	state, err := w.shop.Record(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range state.Editions {
		if e.Engine == "Own engine" {
			edition = e.Edition
		}
	}
	if _, err := w.shop.OpenJob(t.Context(), shop.Who{Handle: "mp"}, job.JobOpened{Order: "CLOSED-1", Model: "Own", Serial: "1", SinceNew: "12", Reason: "overhaul", Customer: "nobody", Edition: edition, Authority: "none: an invented engine", Limits: job.ServiceLimits}); err != nil {
		t.Fatal(err)
	}
	const closed = "/orders/CLOSED-1"
	kd.post(closed+"/readings", "spot", "shaft.journal", "value", "1.9995").to()
	kd.post(closed+"/readings", "spot", "shaft.bore", "value", "2.0015").to()
	sign := func(c *client, query string, fields ...string) {
		statement := attr(c.page(closed+"/sign?"+query).one("input[name=statement]"), "value")
		if a := c.post(closed+"/sign", append(fields, "statement", statement, "password", password)...); a.code != 200 {
			t.Fatalf("%s: %d %s", query, a.code, a.text())
		}
	}
	sign(kd, "part=shaft&as=performed", "part", "shaft", "as", "performed")
	sign(ow, "part=shaft&as=inspected", "part", "shaft", "as", "inspected")
	sign(ow, "close=yes", "close", "yes")
	mp.page(closed).has(".side p", "The inspection is closed.")

	faulty := filepath.Join(t.TempDir(), "book.yaml")
	if err := os.WriteFile(faulty, []byte(strings.Replace(smallBook, "1.9990..2.0000", "1.9990 to two", 1)), 0o666); err != nil {
		t.Fatal(err)
	}
	spotIs := func(spot string) string { return at + "/bench?spot=" + spot }
	opened := func(selector string) func(*tab) {
		return func(b *tab) { js[int](b, `(document.querySelector(`+quoted(selector)+`).open = true, 0)`) }
	}
	return []visit{
		{"mp", "engine-settle", at, nil},
		{"mp", "engine-settle-chosen", at, func(b *tab) {
			js[int](b, `(document.querySelector("#settle [name=entry]").click(), document.querySelectorAll(".side details").forEach((d) => { d.open = true; }), 0)`)
		}},
		{"ap", "engine-settle-apprentice", at, nil},
		{"mp", "engine-closed", closed, nil},
		{"mp", "bench-settle", spotIs("crank.main-1.front.0"), opened("#settle details")},
		{"mp", "bench-settle-chosen", spotIs("crank.main-1.front.90"), func(b *tab) {
			b.press("/1")
			b.until(`document.querySelector("#settle [name=why]").checkVisibility()`)
		}},
		{"ap", "bench-settle-apprentice", spotIs("crank.main-1.front.0"), opened("#settle details")},
		{"kd", "bench-caller", spotIs("crank.main-3.front.90"), func(b *tab) {
			b.set("[name=read_by]", "ow")
			js[int](b, `(figure.focus(), 0)`)
			b.press("2.3120" + enter)
			b.until(`!called.hidden && called.innerText.includes("Kept:") && called.innerText.includes("2.3120")`)
		}},
		{"kd", "bench-caller-gauge", spotIs("crank.main-3.rear.0"), func(b *tab) {
			b.set("[name=read_by]", "ow")
			b.set("[name=gauge]", "micrometer 2-3")
			js[int](b, `(document.getElementById("gauge").open = true, 0)`)
		}},
		{"kd", "bench-asked", spotIs("crank.main-3.rear.90"), func(b *tab) {
			b.press("3.2130" + enter)
			b.until(`ask.textContent.includes("3.2130")`)
		}},
		{"kd", "bench-bounce", spotIs("crank.pin-2.front.0"), func(b *tab) {
			now := b.keysAt("2.0610"+enter, clock(), 5_000_000)
			b.keysAt("2.0610"+enter, now.Add(20_000_000), 5_000_000)
			b.until(`ask.textContent.includes("twice")`)
		}},
		{"kd", "bench-words", spotIs("crank.pin-3.front.0"), func(b *tab) {
			b.keysAt("*9", clock(), 200_000_000)
			b.until(`document.querySelector("#reasons input").checkVisibility()`)
		}},
		{"kd", "bench-held", spotIs("crank.pin-4.front.0"), func(b *tab) {
			b.until(`location.search.includes("pin-4")`)
			js[int](b, `(localStorage.setItem("tenths-held " + document.querySelector(".bench").dataset.order, JSON.stringify([{ by: "zz", title: "Crankpin 1, plane front", fields: { id: "x", spot: "crank.pin-1.front.0", value: "2.0612" } }])), 0)`)
			b.open(spotIs("crank.pin-4.front.0"))
			b.ready()
			b.until(`!strip.hidden`)
		}},
		{"mp", "bench-last", at + "/bench?spot=" + lastSpot(mp, "STATES"), func(b *tab) {
			js[int](b, `(localStorage.clear(), 0)`)
		}},
		{"mp", "limits-none", at + "/limits?find=no+such+line", nil},
		{"mp", "limits-open", at + "/limits?part=crank", nil},
		{"kd", "log-struck", at + "/log", func(b *tab) {
			b.until(`document.querySelector("details.strike form")`)
			sends("details.strike form", `document.querySelector(".is-struck")`, "why", "misread")(b)
		}},
		{"kd", "items-chosen", at + "/items", func(b *tab) {
			js[int](b, `(document.querySelectorAll("[name=place]")[1].click(), document.querySelector("[type=radio][name=item]").click(), 0)`)
		}},
		{"kd", "items-refused", at + "/items", func(b *tab) {
			js[int](b, `(document.querySelector("[value=out]").click(), 0)`)
			b.until(`document.readyState === "complete" && ` + refusedSaid)
		}},
		{"ow", "sign-closed", closed + "/sign", nil},
		{"ow", "sign-wrong", "/orders/OWN-1/sign?part=shaft&as=inspected", sends(".statement form", refusedSaid, "password", "no")},
		{"ow", "sign-sealed", "/orders/OWN-1/sign?part=shaft&as=inspected", sends(".statement form", `document.querySelector("pre.workings")`, "password", password)},
		{"ow", "sign-close", "/orders/OWN-1/sign?close=yes", nil},
		{"mp", "order-refused", "/orders/new", sends("form[action='/orders']", refusedSaid, "order", "STATES", "serial", "7")},
		{"mp", "books-refused", "/books", func(b *tab) {
			b.do(chromedp.SetUploadFiles(chromedp.CSS("form[action='/books'] [name=book]"), []string{faulty}))
			sends("form[action='/books']", refusedSaid)(b)
		}},
		{"kd", "books-read", "/books", nil},
		{"mp", "people-refused", "/people", sends("form[action='/people']", refusedSaid, "name", "N. Neu", "handle", "N N", "mine", password, "password", "long enough")},
		{"mp", "people-key", "/people", opened("main details")},
		{"mp", "refused", at, func(b *tab) { // a form of another page
			js[int](b, `((f) => { f.method = "post"; f.action = `+quoted(at+"/conditions")+`; document.body.append(f); f.submit(); return 0; })(document.createElement("form"))`)
			b.until(`document.readyState === "complete" && document.querySelector("h1")?.textContent === "Not done"`)
		}},
		{"kd", "floor-mechanic", "/", nil},
		{"", "sign-in-often", "/sign-in", func(b *tab) {
			for range 6 {
				sends("form", refusedSaid, "handle", "often", "password", "a wrong one")(b)
			}
			b.until(`document.querySelector("[role=alert]").textContent.includes("try again in")`)
		}},
		{"first", "first-refused", "/first", sends("form", refusedSaid, "title", "S", "name", "N", "handle", "kd", "password", "long enough", "again", "another one")},
		{"first", "floor-empty", "/first", sends("form", `document.querySelector(".empty")`, "title", "Small shop", "name", "N. Neu", "handle", "kd", "password", "long enough", "again", "long enough")},
		{"first", "books-empty", "/books", nil},
		{"ap", "people-changed", "/people", sends("form[action='/people/password']", `document.querySelector("main .query")`, "mine", password, "password", "another long one")},
	}
}

// lastSpot is where the route of a job ends.
func lastSpot(c *client, order string) string {
	c.t.Helper()
	all := c.route(order, "crank.main-1.front.0", 2000)
	return all[len(all)-1]
}
