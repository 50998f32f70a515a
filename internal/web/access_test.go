//go:build browser

package web_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tenths/internal/book"
	"tenths/internal/job"
	"tenths/internal/shop"
)

// axe is the text of axe-core, which finds what people with other eyes, hands
// or ears could not use. It is fetched once, and kept beside the other caches.
func axe(t *testing.T) string {
	t.Helper()
	const version = "4.14.1"
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = os.TempDir()
	}
	dir := filepath.Join(cache, "tenths-test")
	path := filepath.Join(dir, "axe-core-"+version+".js")
	if text, err := os.ReadFile(path); err == nil {
		return string(text)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	if _, err := exec.LookPath("npm"); err != nil {
		t.Fatal("these tests need axe-core, which npm fetches, and there is no npm: make test installs it (Debian: apt-get install npm)")
	}
	pack := exec.Command("npm", "pack", "--silent", "axe-core@"+version)
	pack.Dir = t.TempDir()
	if out, err := pack.CombinedOutput(); err != nil {
		t.Fatalf("axe-core can't be fetched: %v; look whether npm reaches its registry\n%s", err, out)
	}
	text, err := fromPack(filepath.Join(pack.Dir, "axe-core-"+version+".tgz"), "package/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, text, 0o666); err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// fromPack returns a file of a package.
func fromPack(path, name string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("%s has no %s", path, name)
		}
		if err != nil {
			return nil, err
		}
		if h.Name == name {
			return io.ReadAll(r)
		}
	}
}

type screen struct {
	width, height int64
	scale         float64 // 2: at 200 % zoom
}

func (s screen) String() string {
	if s.scale == 2 {
		return fmt.Sprintf("%dx%d at 200 %%", 2*s.width, 2*s.height)
	}
	return fmt.Sprintf("%dx%d", s.width, s.height)
}

// looked are the screens that axe looks at, in both themes: a phone, a tablet, a
// desk. On the others a page must be no wider than the screen either.
var (
	looked = []screen{{360, 720, 1}, {820, 1180, 1}, {1440, 900, 1}}
	others = []screen{{320, 640, 1}, {1024, 768, 1}, {1920, 1080, 1}, {720, 450, 2}, {820, 1000, 1}, {1440, 700, 1}, {740, 360, 1}}
)

func (b *tab) screen(s screen) {
	b.t.Helper()
	call(b, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.width, Height: s.height, DeviceScaleFactor: s.scale})
}

func (b *tab) theme(name string) {
	b.t.Helper()
	scheme := map[string]string{"day": "light", "night": "dark"}[name]
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
}

// picture writes what is seen to testdata/pictures, to be looked at.
func (b *tab) picture(name string) {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join("testdata", "pictures", name+".png"), picture, 0o666); err != nil {
		b.t.Fatal(err)
	}
}

// A visit is a page as somebody finds it, and what they do there before it is
// looked at.
type visit struct {
	who, name, path string
	act             func(b *tab)
}

// gallery is a shop with an engine of each arrangement and one of somebody's own
// small book, and every page and state of a page that is to be looked at.
func gallery(t *testing.T) (w *world, empty *world, visits []visit) {
	t.Helper()
	w, empty = ownWorld(t, false), ownWorld(t, true)
	for _, v := range pages(t, w) { // before there are other books
		visits = append(visits, visit{"mp", v.name, v.path, nil})
	}
	mp := shop.Who{Handle: "mp"}
	open := func(order, file string, data []byte, readings string) {
		edition, err := w.shop.Adopt(t.Context(), mp, file, data)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.shop.OpenJob(t.Context(), mp, job.JobOpened{Order: order, Model: "Invented " + order, Serial: "2204", SinceNew: "611.0", Reason: "propeller strike", Customer: "nobody", Edition: edition.Edition, Authority: "none: an invented engine", Limits: job.ServiceLimits}); err != nil {
			t.Fatal(err)
		}
		if readings == "" {
			return
		}
		text, err := os.ReadFile(filepath.Join("../demo/more", readings))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.shop.ImportReadings(t.Context(), mp, order, shop.Import{Name: readings, Data: asFound(t, text), Register: true, SkipFaults: true}); err != nil {
			t.Fatal(err)
		}
	}
	for order, name := range map[string]string{"IN-LINE-6": "inline", "RADIAL-7": "radial"} {
		text, err := os.ReadFile(filepath.Join("../demo/more", name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		open(order, name+".yaml", text, name+".csv")
	}
	open("OWN-1", "own.yaml", []byte(smallBook), "")
	kd := w.client(t, "kd")
	kd.post("/orders/OWN-1/readings", "spot", "shaft.journal", "value", "1.9995").to()
	kd.post("/orders/OWN-1/readings", "spot", "shaft.bore", "value", "2.0031").to()
	statement := attr(kd.page("/orders/OWN-1/sign?part=shaft&as=performed").one("input[name=statement]"), "value")
	kd.post("/orders/OWN-1/sign", "part", "shaft", "as", "performed", "statement", statement, "password", password)

	mpc := w.client(t, "mp")
	made := mpc.draft("Old four")
	asks := mpc.upload("/drafts", "thing.csv", []byte("thing,fresh,worn out\nPin dia,1.10-1.11,1.09\nRing gap,.01-.02,.03\n"), "engine", "Asking engine").to()
	sheet := mpc.upload("/drafts", "begun.xlsx", begunSheet(t, someFilled...)).to()
	if two := mpc.upload(made+"/tables", "second table.csv", []byte("Ref,Description,New (mm),Service (mm)\n1,Rocker bush bore,19.05 - 19.07,19.10\n2,Spring thing,40.1,\n")); two.code != http.StatusSeeOther {
		t.Fatalf("no second table: %d %s", two.code, two.text())
	}
	// A hold that is settled, and one whose table is left out and read otherwise since.
	back := mpc.upload("/drafts", "limits.csv", []byte("Ref,Description,New (in),Wear limit\n1,Main journal dia,2.2490 - 2.2500,\"2,2470\"\n2,Pin dia,1.9990 - 2.0000,\n"), "engine", "Back").to()
	for range 2 {
		a := mpc.page(back + "/holds")
		mpc.post(back+"/holds", "at", attr(a.one("input[name=at]"), "value"), "says", attr(a.one(".readings input[type=radio]"), "value"), "known", "the maker’s letter").to()
	}
	mpc.post(back+"/tables", "table", "0", "do", "out").to()
	mpc.post(back+"/columns", with(mpc.page(back+"/columns").asSent("form.columns"), "means0", "none")...)
	four := mpc.upload("/drafts", "four.csv", []byte(fourCylinders), "engine", "Four of one").to()
	mpc.post(four+"/counts", "count-cylinder", "4", "count-piston", "4", "across", "0, 90").to()
	mpc.post(four+"/measured", "row", "2", "places", "3", "planes", "front and rear", "directions", "0 and 90").to()
	out := mpc.upload("/drafts", "limits.csv", []byte("Ref,Description,New (in),Wear limit\n1,Main journal dia,2.2490 - 2.2500,\"2,2470\"\n"), "engine", "Out").to()
	a := mpc.page(out + "/holds")
	mpc.post(out+"/holds", "at", attr(a.one("input[name=at]"), "value"), "says", attr(a.one(".readings input[type=radio]"), "value"), "known", "the maker’s letter").to()
	mpc.post(out+"/tables", "table", "0", "do", "out").to()
	mpc.post(back+"/tables", "table", "0", "do", "in").to()

	const at = "/orders/" + demoOrder
	click := func(selector, until string) func(*tab) {
		return func(b *tab) {
			js[int](b, `(document.querySelector(`+quoted(selector)+`).click(), 0)`)
			b.until(until)
		}
	}
	press := func(keys, until string) func(*tab) {
		return func(b *tab) { b.press(keys); b.until(until) }
	}
	return w, empty, append(visits, []visit{
		{"", "sign-in", "/sign-in", nil},
		{"", "sign-in-refused", "/sign-in", func(b *tab) {
			b.press("kd" + tabKey + "a wrong one" + enter)
			b.until(`document.querySelector("[role=alert]")`)
		}},
		{"first", "first", "/first", nil},
		{"mp", "engine-in-line", "/orders/IN-LINE-6", nil},
		{"mp", "engine-radial", "/orders/RADIAL-7", nil},
		{"mp", "engine-own", "/orders/OWN-1", nil},
		{"mp", "menu", at, click(".more summary", `document.querySelector(".more[open]")`)},
		{"mp", "bench-metric", "/orders/IN-LINE-6/bench?spot=crank.main-3.front.0", press("59,95", `document.querySelector(".hand")`)},
		{"mp", "bench-radial", "/orders/RADIAL-7/bench?part=master", nil},
		{"mp", "bench-own", "/orders/OWN-1/bench?spot=shaft.bore", press("2.0015", `figure.value === "2.0015"`)},
		{"mp", "bench-weight", at + "/bench?spot=piston-1.weight", nil},
		{"mp", "bench-beyond", at + "/bench?spot=crank.main-2.front.0", press("2.2990", `document.querySelector(".hand")`)},
		{"mp", "bench-gauge", at + "/bench?spot=cylinder-1.bore.upper.0", func(b *tab) {
			b.set("[name=setting]", "5.0000")
			js[int](b, `(document.getElementById("gauge").open = true, 0)`)
			b.press("+8")
		}},
		{"mp", "bench-reasons", at + "/bench?spot=crank.main-2.front.0", press("*", `reasons.open`)},
		{"mp", "bench-help", at + "/bench?spot=crank.main-2.front.0", press("?", `help.open`)},
		{"ap", "bench-refused", "/orders/IN-LINE-6/bench?spot=crank.main-3.front.0", press("5x"+enter+"99,1"+enter, `strip.querySelector("button") && document.querySelector("#ask .query")`)},
		{"mp", "sum-opened", at + "/limits?grade=beyond", func(b *tab) {
			b.until("window.htmx")
			click("tr.line:has(.verdict.beyond) .c-name a", `document.querySelector("tr.sumrow .workings")`)(b)
		}},
		{"mp", "limits-metric", "/orders/IN-LINE-6/limits?by=book", nil},
		{"kd", "log-strike", "/orders/OWN-1/log", click("details.strike summary", `document.querySelector("details.strike[open]")`)},
		{"mp", "sign-own", "/orders/OWN-1/sign", nil},
		{"ow", "sign-inspected", "/orders/OWN-1/sign?part=shaft&as=inspected", nil},
		{"ap", "sign-refused", at + "/sign?part=piston&as=performed", nil},
		{"ap", "people-apprentice", "/people", nil},
		{"mp", "draft-books", "/books", nil},
		{"mp", "draft-books-refused", "/books", func(b *tab) {
			js[int](b, `(() => { const f = document.querySelector("form[action='/drafts']"), d = new DataTransfer(); d.items.add(new File(["%PDF-1.4"], "a.pdf")); f.file.files = d.files; f.engine.value = "X"; f.requestSubmit(); return 0; })()`)
			b.until(`document.querySelector("[role=alert]")`)
		}},
		{"mp", "draft-columns", made + "/columns?table=0", nil},
		{"mp", "draft-columns-asks", asks + "/columns", nil},
		{"mp", "draft-rows", made + "/rows?table=0", nil},
		{"mp", "draft-rows-kind", made + "/rows?table=1&only=kind&kind=3", nil},
		{"mp", "draft-rows-at", four + "/rows?at=3", nil},
		{"mp", "draft-rows-counts", four + "/rows", click("details.counts summary", `document.querySelector("details.counts[open]")`)},
		{"ap", "draft-rows-apprentice", four + "/rows", nil},
		{"mp", "draft-fits-unequal", four + "/fits", nil},
		{"mp", "draft-holds", made + "/holds?at=camshaft-camshaft-end-play+service&known=the+maker%E2%80%99s+letter", func(b *tab) { b.press("1") }},
		{"mp", "draft-holds-two", made + "/holds?at=camshaft-camshaft-bearing-bore+limits", func(b *tab) { b.press("01.5O2" + enter + enter); b.until(`document.querySelector("[role=alert]")`) }},
		{"mp", "draft-holds-kind", made + "/holds?at=spring-spring-thing+kind", nil},
		{"mp", "draft-fits", made + "/fits", func(b *tab) { b.press("1") }},
		{"mp", "draft-findings", made + "/findings", func(b *tab) { b.press("1") }},
		{"mp", "draft-findings-note", made + "/findings?line=valves-intake-stem-guide", nil},
		{"mp", "draft-take-back", back + "/holds?at=crank-main-journal-dia+service", click("details.strike summary", `document.querySelector("details.strike[open]")`)},
		{"mp", "draft-aside-out", out + "/columns", click("details.away summary", `document.querySelector("details.away[open]")`)},
		{"mp", "draft-aside-unfit", back + "/columns", nil},
		{"mp", "draft-adopt", made + "/adopt", nil},
		{"ap", "draft-apprentice", made + "/adopt", nil},
		{"mp", "begin", "/books/begin", nil},
		{"mp", "begin-typed", "/books/begin?arrangement=radial&cylinders-other=11&rows=2", nil},
		{"ap", "begin-none", "/books/begin?arrangement=opposed&cylinders-other=5", nil},
		{"mp", "whole", sheet + "/columns", nil},
		{"mp", "whole-rows", sheet + "/rows", nil},
		{"mp", "whole-hold", sheet + "/holds?at=seal-land+service", nil},
		{"mp", "whole-open", sheet + "/enter?line=main-round", nil},
		{"mp", "whole-adopt", sheet + "/adopt", nil},
	}...)
}

// asFound is a file of readings without what they say of items and of rework.
func asFound(t *testing.T, text []byte) []byte {
	t.Helper()
	comma := rune(text[strings.IndexAny(string(text), ",;")])
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma = comma
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range rows[0] {
		for _, row := range rows[1:] {
			if name == "item" || name == "stage" || name == "step" {
				row[i] = ""
			}
		}
	}
	var out bytes.Buffer
	c := csv.NewWriter(&out)
	c.Comma = comma
	if err := c.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// On some benches keys go to what is opened before the rulers; on others what is
// said about a figure may push them down.
var (
	aside  = map[string]bool{"bench-gauge": true, "bench-caller-gauge": true, "bench-settle": true, "bench-settle-chosen": true, "bench-settle-apprentice": true}
	pushed = map[string]bool{"bench-refused": true, "bench-held": true, "bench-asked": true, "bench-bounce": true, "bench-caller": true, "bench-words": true}
)

// Every page, in both themes and on every screen: axe finds nothing, the page is
// no wider than its screen, and on the bench the figure and the ruler of the size
// stand in sight beside the keys.
func TestAccess(t *testing.T) {
	source := axe(t)
	if err := os.MkdirAll(filepath.Join("testdata", "pictures"), 0o777); err != nil {
		t.Fatal(err)
	}
	w, empty, visits := gallery(t)
	visits = append(visits, states(t, w)...)
	tabs := map[string]*tab{"first": newTab(t, empty.URL, "", 1440, 900)}
	for _, who := range []string{"", "mp", "kd", "ow", "ap"} {
		tabs[who] = w.tab(t, who, "/sign-in", 1440, 900)
	}
	for _, b := range tabs {
		call(b, page.SetBypassCSP, page.SetBypassCSPParams{Enabled: true})
	}
	for _, v := range visits {
		t.Run(v.name, func(t *testing.T) {
			b := tabs[v.who]
			b.t = t
			b.screen(screen{1440, 900, 1})
			b.open(v.path)
			bench := strings.HasPrefix(v.name, "bench")
			if bench {
				b.ready()
			}
			if v.act != nil {
				v.act(b)
			}
			js[bool](b, source+`; !!window.axe`)
			b.until(`document.fonts.status === "loaded"`)
			for _, s := range append(looked[:len(looked):len(looked)], others...) {
				b.screen(s)
				js[int](b, `(scrollTo(0, 0), 0)`)
				b.fits(s)
				if bench && !aside[v.name] {
					b.inSight(s, !pushed[v.name])
				}
				if !slices.Contains(looked, s) {
					if bench {
						b.picture(fmt.Sprintf("%s-%dx%d", v.name, s.width, s.height))
					}
					continue
				}
				for _, theme := range []string{"day", "night"} {
					b.theme(theme)
					// By night only colours are others.
					if found := b.axe(map[string]string{"day": `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`, "night": `{ type: "rule", values: ["color-contrast", "link-in-text-block"] }`}[theme]); found != "" {
						t.Errorf("%s, %s: %s", s, theme, found)
					}
					b.picture(fmt.Sprintf("%s-%d-%s", v.name, s.width, theme))
				}
				b.theme("day")
			}
		})
	}
}

// No spot of any invented engine makes a bench that is wider than its screen, or
// hides the figure.
func TestBenchFits(t *testing.T) {
	w, _, _ := gallery(t)
	b := w.tab(t, "mp", "/", 1440, 900)
	for order, path := range map[string]string{demoOrder: "../demo/book.yaml", "IN-LINE-6": "../demo/more/inline.yaml", "RADIAL-7": "../demo/more/radial.yaml"} {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		k, err := book.Load(path, text)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[*book.Feature]bool{}
		for _, site := range k.Sites {
			if seen[site.Feature] || len(k.Touches(site.Spots[0])) == 0 {
				continue
			}
			seen[site.Feature] = true
			spot := k.Spots[site.Spots[0]].String()
			t.Run(order+" "+spot, func(t *testing.T) {
				b.t = t
				b.open("/orders/" + order + "/bench?spot=" + spot)
				b.ready()
				for _, s := range []screen{{320, 640, 1}, {360, 720, 1}, {740, 360, 1}, {820, 1180, 1}, {1024, 768, 1}, {1440, 900, 1}} {
					b.screen(s)
					b.fits(s)
					b.inSight(s, true)
				}
			})
		}
	}
}

// fits fails where the page is wider than its screen.
func (b *tab) fits(s screen) {
	b.t.Helper()
	if wide := js[int64](b, `document.documentElement.scrollWidth`); wide > s.width {
		b.t.Errorf("%s: the page is %d wide: %s", s, wide, js[string](b, wideJS))
	}
}

// wideJS names what reaches out of the screen: elements, or words of theirs.
const wideJS = `(() => {
	const wide = (r) => r.right > document.documentElement.clientWidth + 0.5;
	const out = [...document.querySelectorAll("body *")].filter((e) => {
		if (wide(e.getBoundingClientRect())) return true;
		const words = document.createRange();
		return [...e.childNodes].some((n) => n.nodeType === 3 && (words.selectNodeContents(n), wide(words.getBoundingClientRect())));
	});
	return out.slice(-4).map((e) => e.outerHTML.slice(0, 160)).join(" | ");
})()`

// inSight fails unless the figure, and the ruler of the size, stand on the
// screen, and not under keys.
func (b *tab) inSight(s screen, ruler bool) {
	b.t.Helper()
	if hidden := js[string](b, `(() => {
		const box = (e) => e.getBoundingClientRect();
		const keys = [...document.querySelectorAll(".pad, .keys")].filter((e) => e.checkVisibility()).map(box);
		return [["the figure", figure], ["the ruler", `+strconv.FormatBool(ruler)+` && document.querySelector("#lines .gauge .ruler")]].filter(([, e]) => e).map(([name, e]) => [name, box(e)]).filter(([, r]) =>
			r.top < 0 || r.bottom > innerHeight || r.left < 0 || r.right > innerWidth + 1 || keys.some((k) => r.bottom > k.top + 1 && r.top < k.bottom - 1 && r.right > k.left + 1 && r.left < k.right - 1)).map(([name, r]) => name + " at " + Math.round(r.top) + ".." + Math.round(r.bottom)).join(", ");
	})()`); hidden != "" {
		b.t.Errorf("%s: not in sight: %s", s, hidden)
	}
}

// axe runs some of its rules on the page, and says what it finds. Where the menu
// is open it looks at that alone: what it covers is not to be touched.
func (b *tab) axe(rules string) string {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	found, err := chromedp.Run(ctx, chromedp.Evaluate[string](`axe.run(document.querySelector(".more[open]") ? ".head" : document, { resultTypes: ["violations"], runOnly: `+rules+` }).then((r) => r.violations.map((v) => v.id + ": " + v.help + "\n" + v.nodes.slice(0, 3).map((n) => "    " + n.target.join(" ") + "  " + n.html.slice(0, 160)).join("\n")).join("\n"))`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatal(err)
	}
	return found
}
