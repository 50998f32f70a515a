package web_test

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"tenths/internal/demo"
)

// pages are the pages of a shop with a job, by what must be found on each.
func pages(t *testing.T, w *world) []struct{ name, path, selector string } {
	t.Helper()
	state, err := w.shop.Record(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var edition string
	for _, e := range state.Editions {
		edition = e.Edition
	}
	const at = "/orders/" + demoOrder
	return []struct{ name, path, selector string }{
		{"floor", "/", "ul.floor li h2 a[href=" + at + "]"},
		{"people", "/people", "form[action=/people] input[name=handle]"},
		{"books", "/books", "form[action=/books] input[type=file]"},
		{"book", "/books/" + edition, "table td.fig"},
		{"order-new", "/orders/new", "form[action=/orders] input[name=edition]"},
		{"engine", at, ".engine-page .rows td a"},
		{"bench", at + "/bench?spot=crank.main-2.front.0", "form#reading input#figure[name=value]"},
		{"bench-bore", at + "/bench?spot=cylinder-1.bore.upper.0", "form.pad-bore"},
		{"bench-feeler", at + "/bench?spot=rod-4.side", "form.pad-feeler"},
		{"bench-yes", at + "/bench?spot=crank.crack", "form.pad-yes"},
		{"bench-dial", at + "/bench?spot=crank.flange.-.45", "form.pad-dial"},
		{"bench-open", at + "/bench", "form#reading"},
		{"limits", at + "/limits", "table.limits tr.line .c-rul svg"},
		{"sum", at + "/limits?sum=main-size-2", "main pre.workings"},
		{"items", at + "/items", "form[action=" + at + "/fitted] input[name=place]"},
		{"log", at + "/log", "ol.log li p"},
		{"log-as-of", at + "/log?as-of=40", "a.key[href=" + at + "/log]"},
		{"sign", at + "/sign", "table td a[href]"},
		{"sign-statement", at + "/sign?part=piston&as=performed", "main"},
		{"missing", "/nowhere", ".query p"},
	}
}

// Every page is there, is whole HTML, and holds nothing that a browser would
// run or fetch but what is ours.
func TestPages(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "mp")
	all := pages(t, w)
	all = append(all, struct{ name, path, selector string }{"sign-in", "/sign-in", "form[action=/sign-in] input[type=password]"})
	for _, p := range all {
		t.Run(p.name, func(t *testing.T) {
			a := c.get(p.path)
			a.t = t
			want := http.StatusOK
			if p.name == "missing" {
				want = http.StatusNotFound
			}
			if a.code != want {
				t.Fatalf("%d: %s", a.code, a.text())
			}
			a.one(p.selector)
			a.one("main#main")
			if title := textOf(a.one("head title")); !strings.HasSuffix(title, " tenths") || len(title) < 10 {
				t.Errorf("the title is %q", title)
			}
			if n := len(find(a.doc(), "h1")); n != 1 {
				t.Errorf("%d h1", n)
			}
			checkInert(t, a.doc())
		})
	}
}

// checkInert fails on whatever the policy forbids, and on what is fetched from
// elsewhere.
func checkInert(t *testing.T, doc *html.Node) {
	t.Helper()
	ids := map[string]bool{}
	for n := range doc.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		switch {
		case n.Data == "script" && (attr(n, "src") == "" || n.FirstChild != nil):
			t.Errorf("a script stands in the page: %s", textOf(n))
		case n.Data == "style":
			t.Error("a style stands in the page")
		case n.Data == "iframe" || n.Data == "object" || n.Data == "embed" || n.Data == "base":
			t.Errorf("<%s> stands in the page", n.Data)
		}
		for _, a := range n.Attr {
			switch key := strings.ToLower(a.Key); {
			case strings.HasPrefix(key, "on") || strings.HasPrefix(key, "hx-on"):
				t.Errorf("<%s> has a handler %s", n.Data, a.Key)
			case key == "style":
				t.Errorf("<%s> has a style of its own: %s", n.Data, a.Val)
			case key == "src" || key == "href" || key == "action" || key == "formaction" || key == "hx-get" || key == "hx-post":
				if v := strings.TrimSpace(a.Val); !(strings.HasPrefix(v, "/") && !strings.HasPrefix(v, "//") || strings.HasPrefix(v, "#") || strings.HasPrefix(v, "?")) {
					t.Errorf("<%s %s> leads to %q", n.Data, a.Key, a.Val)
				}
			case key == "id":
				if ids[a.Val] {
					t.Errorf("the id %q stands twice", a.Val)
				}
				ids[a.Val] = true
			}
		}
	}
}

// Every answer says what may be done with it.
func TestHeaders(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "kd")
	answers := map[string]answered{
		"a page":        c.get("/"),
		"a missing one": c.get("/nowhere"),
		"a file":        c.get("/static/base.css"),
		"no file":       c.get("/static/none.css"),
		"a list":        c.get("/static/fonts/"),
		"a redirect":    w.client(t, "").get("/people"),
		"a refusal":     c.post("/orders/"+demoOrder+"/readings", "spot", "none", "value", "1"),
		"health":        c.get("/healthz"),
		"JSON": func() answered {
			r := c.request(http.MethodPost, "/orders/"+demoOrder+"/readings", "application/x-www-form-urlencoded", form("spot", "none"))
			r.Header.Set("Accept", "application/json")
			return c.do(r)
		}(),
		"a wrong host": func() answered {
			r := c.request(http.MethodGet, "/", "", "")
			r.Host = "elsewhere.example"
			return c.do(r)
		}(),
		"another site's": func() answered {
			r := c.request(http.MethodPost, "/sign-out", "", "")
			r.Header.Set("Sec-Fetch-Site", "cross-site")
			return c.do(r)
		}(),
		"a wrong method":   c.do(c.request(http.MethodPut, "/people", "", "")),
		"too large":        c.post("/orders/"+demoOrder+"/notes", "text", strings.Repeat("x", 2<<20)),
		"half a form":      c.do(c.request(http.MethodPost, "/books", "multipart/form-data; boundary=b", "--b\r\nContent-Disp")),
		"no such job":      c.get("/orders/none"),
		"no such line":     c.get("/orders/" + demoOrder + "/limits?sum=none"),
		"a part":           c.get("/orders/" + demoOrder + "/bench/spot?spot=crank.main-1.front.0"),
		"the door":         w.client(t, "").get("/sign-in"),
		"a wrong password": w.client(t, "").post("/sign-in", "handle", "nobody", "password", "x"),
		"of old": func() answered {
			r := c.request(http.MethodGet, "/people", "", "")
			r.AddCookie(&http.Cookie{Name: "tenths", Value: "a session that never was"})
			return w.client(t, "").do(r)
		}(),
		"a question": c.do(c.request(http.MethodOptions, "/", "", "")),
	}
	for name, a := range answers {
		t.Run(name, func(t *testing.T) {
			csp := a.header.Get("Content-Security-Policy")
			for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
				if !strings.Contains(csp, want) {
					t.Errorf("the policy %q has no %s", csp, want)
				}
			}
			if strings.Contains(csp, "unsafe") || strings.Contains(csp, "*") || strings.Contains(csp, "http") || strings.Contains(csp, "data:") {
				t.Errorf("the policy is wide: %q", csp)
			}
			for key, want := range map[string]string{
				"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin",
				"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
			} {
				if got := a.header.Get(key); got != want {
					t.Errorf("%s: %q, not %q", key, got, want)
				}
			}
			cache, want := a.header.Get("Cache-Control"), "no-store"
			switch name {
			case "a file":
				want = "private, max-age=3600"
			case "no file":
				want = ""
			}
			if cache != want {
				t.Errorf("Cache-Control: %q, not %q", cache, want)
			}
		})
	}
	if a := answers["a list"]; a.code != http.StatusNotFound {
		t.Errorf("the files are listed: %d", a.code)
	}
	if a := answers["health"]; a.code != http.StatusOK || a.body != "good\n" {
		t.Errorf("/healthz says %d %q", a.code, a.body)
	}
	if a := answers["another site's"]; a.code != http.StatusForbidden {
		t.Errorf("another site signs people out: %d", a.code)
	}
	c.page("/people")
}

// A page elsewhere can give its name the address of this machine. It is not
// answered then.
func TestHosts(t *testing.T) {
	w := sharedWorld(t)
	for host, good := range map[string]bool{
		"127.0.0.1:8117": true, "localhost:8117": true, "[::1]:8117": true, "127.0.0.1": true, "localhost": true,
		"elsewhere.example": false, "elsewhere.example:8117": false, "127.0.0.1.elsewhere.example": false,
		"10.0.0.7:8117": false, "0.0.0.0:8117": false, "localhost.elsewhere.example:80": false, "[fe80::1]:8117": false, "": false,
	} {
		r := httptest.NewRequest(http.MethodGet, "/sign-in", nil)
		r.Host = host
		to := httptest.NewRecorder()
		w.web.Handler().ServeHTTP(to, r)
		if (to.Code == http.StatusOK) != good {
			t.Errorf("host %q: %d", host, to.Code)
		}
	}
}

// What other sites make a browser send is refused; nothing is entered.
func TestOtherSites(t *testing.T) {
	w := sharedWorld(t)
	w.job(t, "SITES")
	c := w.client(t, "kd")
	for _, header := range []http.Header{
		{"Sec-Fetch-Site": {"cross-site"}},
		{"Sec-Fetch-Site": {"same-site"}},
		{"Origin": {"http://elsewhere.example"}},
		{"Origin": {"null"}},
		{"Origin": {"http://127.0.0.1:1"}},
	} {
		for _, path := range []string{"/orders/SITES/readings", "/orders/SITES/notes", "/sign-in", "/sign-out", "/people/password", "/first"} {
			r := c.request(http.MethodPost, path, "application/x-www-form-urlencoded", form("spot", "crank.main-1.front.0", "value", "2.3130", "text", "x"))
			for k, v := range header {
				r.Header[k] = v
			}
			if a := c.do(r); a.code != http.StatusForbidden {
				t.Errorf("%v %s: %d", header, path, a.code)
			}
		}
	}
	if got := w.taken(t, "SITES"); len(got) != 0 {
		t.Errorf("another site entered %v", got)
	}
	c.page("/people") // and did not sign anybody out
}

// What is larger than it may be is refused with words, and is not read.
func TestBounds(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "BOUNDS")
	c := w.client(t, "mp")
	large := strings.Repeat("x", 2<<20)
	for _, path := range []string{at + "/readings", at + "/notes", at + "/skips", at + "/fitted", "/sign-in", "/people", "/orders", "/people/password"} {
		a := c.post(path, "text", large, "value", large)
		if a.code != http.StatusRequestEntityTooLarge || !strings.Contains(a.text(), "too large") {
			t.Errorf("%s: %d %.80s", path, a.code, a.text())
		}
	}
	a := c.book("book.yaml", []byte(strings.Repeat("# a line of nothing\n", 17<<20/20)))
	if a.code != http.StatusRequestEntityTooLarge || !strings.Contains(a.text(), "too large") {
		t.Errorf("a book of 17 MB: %d %.120s", a.code, a.text())
	}
	if got := w.taken(t, "BOUNDS"); len(got) != 0 {
		t.Errorf("entered: %v", got)
	}
}

// book sends a book's file.
func (c *client) book(name string, text []byte) answered {
	c.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	f, err := m.CreateFormFile("book", name)
	if err != nil {
		c.t.Fatal(err)
	}
	if _, err := f.Write(text); err != nil {
		c.t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		c.t.Fatal(err)
	}
	return c.do(c.request(http.MethodPost, "/books", m.FormDataContentType(), b.String()))
}

// The log of requests says what was asked for by its pattern, and nothing that
// a person wrote or is.
func TestRequestLog(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "kd")
	at := w.job(t, "WO-SECRET")
	c.page(at + "/bench?spot=crank.main-1.front.0")
	c.post(at+"/readings", "spot", "crank.main-1.front.0", "value", "2.3137", "gauge", "gauge-secret")
	c.post(at+"/notes", "text", "note-secret")
	c.post("/sign-in", "handle", "handle-secret", "password", "password-secret")
	c.get("/nowhere-secret?query-secret")
	got := w.log.String()
	for _, never := range []string{"secret", "SECRET", "kd", "Dorn", "2.3137", password, "crank", "127.0.0.1"} {
		if strings.Contains(got, never) {
			t.Errorf("the log of requests has %q:\n%s", never, got)
		}
	}
	for _, want := range []string{`pattern="GET /orders/{order}/bench"`, `pattern="POST /orders/{order}/readings"`, `pattern="POST /sign-in"`, "status=422", "status=303", "status=404", "ms="} {
		if !strings.Contains(got, want) {
			t.Errorf("the log of requests has no %s:\n%s", want, got)
		}
	}
}

// Static files are compressed, typed and kept.
func TestStatic(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "")
	for path, kind := range map[string]string{
		"/static/base.css": "text/css", "/static/tokens.css": "text/css", "/static/bench.js": "text/javascript",
		"/static/htmx.js": "text/javascript", "/static/theme.js": "text/javascript", "/static/icon.svg": "image/svg+xml",
		"/static/fonts/text.woff2": "font/woff2", "/static/fonts/figures.woff2": "font/woff2",
	} {
		if a := c.page(path); !strings.HasPrefix(a.header.Get("Content-Type"), kind) {
			t.Errorf("%s is %q", path, a.header.Get("Content-Type"))
		}
	}
	css := c.page("/static/base.css").body + c.page("/static/tokens.css").body
	for _, m := range regexp.MustCompile(`url\(([^)]*)\)|@import[^;]*`).FindAllStringSubmatch(css, -1) {
		if ref := m[1]; ref == "" || !strings.HasPrefix(ref, "#") && !strings.HasPrefix(ref, "fonts/") {
			t.Errorf("a style fetches %q", m[0])
		}
	}
}

// ---- what the pages of a job say ----

func TestFloor(t *testing.T) {
	w := ownWorld(t, false)
	a := w.client(t, "kd").page("/")
	a.has("ul.floor li h2 a", demoOrder)
	a.has("ul.floor li p", "Invented four, serial 1127")
	a.has("ul.floor .count", "spots measured")
	a.has("ul.floor .verdict.beyond", "beyond")
	a.one("ul.floor .pic svg")
	if len(find(a.doc(), "a.key[href=/orders/new]")) != 0 {
		t.Error("a mechanic is offered to open a work order")
	}
	w.client(t, "ow").page("/").one("a.key[href=/orders/new]")
}

func TestEngine(t *testing.T) {
	w := sharedWorld(t)
	a := w.client(t, "kd").page("/orders/" + demoOrder)
	a.one("svg a[href]")
	for _, part := range []string{"Crankshaft", "Connecting rod", "Cylinder", "Oil pump"} {
		a.has(".rows td a", part)
	}
	a.has(".side h2", "Next")
	a.has(".side h2", "Beyond")
	a.has(".side a.step .verdict.beyond", "beyond")
	// Whatever it leads to is there.
	c := w.client(t, "kd")
	seen := map[string]bool{}
	for _, n := range a.all("main a[href]") {
		if to := attr(n, "href"); !seen[to] {
			seen[to] = true
			if b := c.get(to); b.code != http.StatusOK {
				t.Errorf("%s: %d %s", to, b.code, b.text())
			}
		}
	}
	if len(seen) < 30 {
		t.Errorf("the engine leads to %d places only", len(seen))
	}
}

func TestLimits(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "kd")
	const at = "/orders/" + demoOrder + "/limits"
	whole := c.page(at)
	all := len(whole.all("tr.line"))
	whole.has("#table .note", fmt.Sprintf("%d of %d lines", all, all))
	whole.has(".grp th", "Beyond, open or asked")
	for _, n := range whole.all("tr.line") {
		if find(n, ".c-name a[href]") == nil || textOf(find(n, ".verdict")[0]) == "" {
			t.Fatalf("a line has no sum or no word: %s", textOf(n))
		}
	}
	shown := func(query string) []*html.Node { return find(c.page(at+"?"+query).doc(), "tr.line") }
	for query, good := range map[string]func(*html.Node) bool{
		"grade=beyond":        func(n *html.Node) bool { return textOf(find(n, ".verdict")[0]) == "beyond" },
		"grade=new":           func(n *html.Node) bool { return textOf(find(n, ".verdict")[0]) == "new" },
		"find=main+journal":   func(n *html.Node) bool { return strings.Contains(strings.ToLower(textOf(n)), "main journal") },
		"part=crank&find=pin": func(n *html.Node) bool { return strings.Contains(strings.ToLower(textOf(n)), "pin") },
	} {
		list := shown(query)
		if len(list) == 0 || len(list) == all {
			t.Errorf("%s: %d of %d lines", query, len(list), all)
		}
		for _, n := range list {
			if !good(n) {
				t.Errorf("%s shows %s", query, textOf(n))
			}
		}
	}
	if len(find(c.page(at+"?by=book").doc(), "tr.line")) != all {
		t.Error("in the book's order there are other lines")
	}
	if a := c.page(at + "?find=no+such+line"); len(find(a.doc(), "tr.line")) != 0 || !strings.Contains(a.text(), "No line is so.") {
		t.Errorf("of nothing: %s", a.text())
	}
	// What a part of the page is asked for is a part of the page.
	r := c.request(http.MethodGet, at+"?grade=beyond", "", "")
	r.Header.Set("HX-Request", "true")
	if a := c.do(r); strings.Contains(a.body, "<html") || len(a.all("#table tr.line")) != len(shown("grade=beyond")) {
		t.Errorf("a part: %.200s", a.body)
	}

	id := attr(shown("grade=beyond")[0], "id")
	a := c.page(at + "?sum=" + id)
	a.one("main pre.workings")
	a.has("main .verdict", "beyond")
	a.one("main svg.ruler[role=img][aria-label]")
	a.one("main a[href]")
	if a := c.get(at + "?sum=none"); a.code != http.StatusNotFound {
		t.Errorf("a line that is not there: %d", a.code)
	}
}

func TestLogPage(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "LOG")
	c := w.client(t, "kd")
	for _, v := range []string{"2.3130", "2.3129"} {
		c.post(at+"/readings", "spot", "crank.main-1.front.0", "value", v).to()
	}
	a := c.page(at + "/log")
	rows := a.all("ol.log li")
	if first := textOf(rows[0]); !strings.Contains(first, "2.3129") || !strings.Contains(first, "K. Dorn") {
		t.Errorf("the newest is not first: %s", first)
	}
	entry := strings.TrimPrefix(attr(rows[0], "id"), "entry-")
	if to := c.post(at+"/strikes", "entry", entry, "why", "misread the drum").to(); to != at+"/log" {
		t.Errorf("a strike leads to %s", to)
	}
	a = c.page(at + "/log")
	a.has("li.is-struck .struck", "2.3129")
	a.has("li.is-struck .note", "misread the drum")
	if n := find(a.doc(), "li.is-struck form"); len(n) != 0 {
		t.Error("a struck reading may be struck again")
	}
	if a := c.post(at+"/strikes", "entry", entry, "why", "again"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("it is struck twice: %d", a.code)
	}
	if a := c.post(at+"/strikes", "entry", "1000", "why", "x"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("what is not there is struck: %d", a.code)
	}

	then := c.page(at + "/log?as-of=" + entry)
	if n := find(then.doc(), "li.is-struck"); len(n) != 0 {
		t.Error("it was struck before it was")
	}
	then.has("h1", "As it stood after entry "+entry)
	then.has("a.key", "As it stands now")
	if len(find(then.doc(), "form.note-form")) != 0 || len(find(then.doc(), "details.strike")) != 0 {
		t.Error("in the past something may be entered")
	}
	for _, bad := range []string{"0", "-1", "x", "9999999", "99999999999999999999", "1.5"} {
		if a := c.get(at + "/log?as-of=" + bad); a.code != http.StatusUnprocessableEntity {
			t.Errorf("as of %s: %d", bad, a.code)
		}
	}

	c.post(at+"/notes", "text", "first line\r\nsecond line").to()
	c.page(at+"/log").has("li.note-written p", "second line")
}

// ---- forms without script ----

func TestReadingForm(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "FORM")
	c := w.client(t, "kd")
	spot := "crank.main-1.front.0"
	var went []string
	for n, v := range []string{"2.3130", ".0912", "58.745 mm"} {
		a := c.page(at + "/bench?spot=" + spot)
		if n == 0 && attr(a.one("form#reading input#figure"), "value") != "" {
			t.Error("a reading is filled in for the person")
		}
		fields := []string{"value", v}
		for _, in := range a.all("form#reading input[type=hidden]") {
			fields = append(fields, attr(in, "name"), attr(in, "value"))
		}
		to := c.post(attr(a.one("form#reading"), "action"), fields...).to()
		if want := attr(a.one("#title"), "data-next"); to != at+"/bench?spot="+want {
			t.Errorf("after %s comes %s, not %s", spot, to, want)
		}
		_, next, _ := strings.Cut(to, "spot=")
		went = append(went, spot)
		spot = next
	}
	want := [][2]string{{went[0], "2.3130 in"}, {went[1], ".0912 in"}, {went[2], "58.745 mm"}}
	if got := w.taken(t, "FORM"); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("the log has %v, not %v", got, want)
	}

	// What is refused stands there again, with why.
	for _, bad := range []string{"2.3l30", "O.019", "2,3130", "two", "2.3130 kg", `2.3130"><b>x</b>`} {
		a := c.post(at+"/readings", "spot", "crank.main-1.rear.90", "value", bad)
		if a.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", bad, a.code)
			continue
		}
		a.one("#ask .query")
		if got := attr(a.one("form#reading input#figure"), "value"); got != bad {
			t.Errorf("%q was typed, and %q stands there", bad, got)
		}
		if got := attr(a.one("form#reading input[name=spot]"), "value"); got != "crank.main-1.rear.90" {
			t.Errorf("the spot is now %s", got)
		}
	}
	a := c.post(at+"/readings", "spot", "crank.main-1.rear.90", "value", "2.31x", "gauge", "my gauge", "setting", "2.3", "read_by", "ow")
	for name, want := range map[string]string{"gauge": "my gauge", "setting": "2.3", "read_by": "ow"} {
		if got := attr(a.one("form#reading input[name="+name+"]"), "value"); got != want {
			t.Errorf("%s: %q was typed, and %q stands there", name, want, got)
		}
	}
}

// The form that is sent twice by a double press is one reading.
func TestReadingFormTwice(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "TWICE")
	c := w.client(t, "kd")
	a := c.page(at + "/bench?spot=crank.main-1.front.0")
	fields := []string{"value", "2.3130"}
	for _, in := range a.all("form#reading input[type=hidden]") {
		fields = append(fields, attr(in, "name"), attr(in, "value"))
	}
	c.post(at+"/readings", fields...).to()
	c.post(at+"/readings", fields...).to()
	if got := w.taken(t, "TWICE"); len(got) != 1 {
		t.Errorf("one reading sent twice is %d: %v", len(got), got)
	}
}

// A route by gauge is kept without script too, across parts.
func TestRouteByGaugeForm(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "GAUGE")
	c := w.client(t, "kd")
	const last = "crank.pin-4.rear.90"
	next := attr(c.page(at+"/bench?by=gauge&spot="+last).one("#title"), "data-next")
	if next == "" || strings.HasPrefix(next, "crank.pin") {
		t.Fatalf("by gauge %s follows %s", next, last)
	}
	if to := c.post(at+"/readings", "spot", last, "value", "2.0613").to(); to != at+"/bench?spot="+next {
		t.Errorf("the form leads to %s, the page to %s", to, next)
	}
	// And it is remembered of the person, over their sign-ins.
	c.post("/sign-out").to()
	c.post("/sign-in", "handle", "kd", "password", password).to()
	if got := attr(c.page(at+"/bench?spot="+last).one("#title"), "data-next"); got != next {
		t.Errorf("after signing in anew the route goes to %s, not %s", got, next)
	}
}

func TestSkipAndCondition(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SKIP")
	c := w.client(t, "kd")
	c.post(at+"/skips", "spot", "crank.pin-1.rear.90", "why", "part is away").to()
	a := c.page(at)
	a.has(".side li", "Crankpin 1, plane rear, direction 90°")
	a.has(".side li", "part is away")
	if a := c.post(at+"/skips", "spot", "crank.pin-1.rear.90", "why", ""); a.code != http.StatusUnprocessableEntity {
		t.Errorf("a skip without a reason: %d", a.code)
	}
	if a := c.post(at+"/conditions", "name", "valve", "word", "half new"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("a word that the book has not: %d", a.code)
	}
	if to := c.post(at+"/conditions", "name", "valve", "word", "new").to(); to != at {
		t.Errorf("it leads to %s", to)
	}
	for back, want := range map[string]string{"/people": "/people", "//elsewhere.example": "/", "https://elsewhere.example": "/"} {
		if to := c.post(at+"/notes", "text", "x", "back", back).to(); to != want {
			t.Errorf("back to %q leads to %q", back, to)
		}
	}
}

func TestItems(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "ITEMS")
	c := w.client(t, "kd")
	for _, n := range []string{"1", "2"} {
		c.post(at+"/items", "item", "rod "+n, "part", "rod", "number", "R-4", "serial", "00"+n, "found", "rod-"+n).to()
	}
	for _, n := range []string{"1", "2"} {
		c.post(at+"/readings", "spot", "rod-"+n+".bigend.front.0", "value", "2.375"+n).to()
	}
	read := func(n string) string {
		return textOf(c.page(at + "/bench?spot=rod-" + n + ".bigend.front.0").one(".taken td.here"))
	}
	if read("1") != "2.3751" || read("2") != "2.3752" {
		t.Fatalf("rods read %q and %q", read("1"), read("2"))
	}
	c.post(at+"/fitted", "do", "swap", "place", "rod-1", "place", "rod-2").to()
	if read("1") != "2.3752" || read("2") != "2.3751" {
		t.Errorf("after they changed places the rods read %q and %q", read("1"), read("2"))
	}
	for name, fields := range map[string][]string{
		"no position":   {},
		"one to swap":   {"do", "swap", "place", "rod-1"},
		"none to take":  {"do", "out"},
		"no such place": {"do", "fit", "place", "rod-9", "item", "rod 1"},
		"no such item":  {"do", "fit", "place", "rod-1", "item", "rod 7"},
		"another part":  {"do", "fit", "place", "crank", "item", "rod 1"},
	} {
		a := c.post(at+"/fitted", fields...)
		if a.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", name, a.code)
			continue
		}
		a.one(".query[role=alert]")
	}
	c.post(at+"/fitted", "do", "out", "place", "rod-1").to()
	if got := attr(c.page(at+"/items").one("[type=radio][name=item]"), "value"); got != "rod 2" {
		t.Errorf("taken out is %q", got)
	}
	c.post(at+"/fitted", "do", "fit", "place", "rod-1", "item", "rod 2").to()
	if read("1") != "2.3752" {
		t.Errorf("put back, the rod reads %q", read("1"))
	}
	if a := c.post(at+"/items", "item", "rod 1", "part", "rod"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("a tag is given twice: %d", a.code)
	}
}

func TestNewJob(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "ow")
	a := c.page("/orders/new")
	edition := attr(a.all("input[name=edition]")[0], "value")
	fields := []string{
		"order", "WO 7/26 & more", "model", "Invented four", "serial", "9", "reason", "overhaul", "customer", "nobody",
		"edition", edition, "authority", "none", "limits", "service", "since_new", "1000",
	}
	to := c.post("/orders", fields...).to()
	if to != "/orders/WO%207%2F26%20&%20more" {
		t.Errorf("it leads to %s", to)
	}
	c.page(to).has(".where b", "WO 7/26 & more")
	for _, n := range c.page(to).all("main a[href]")[:12] {
		if b := c.get(attr(n, "href")); b.code != http.StatusOK {
			t.Errorf("%s: %d", attr(n, "href"), b.code)
		}
	}
	if to := c.post(to+"/readings", "spot", "crank.main-1.front.0", "value", "2.3130").to(); !strings.Contains(to, "WO%207%2F26") {
		t.Errorf("a reading leads to %s", to)
	}
	// Whoever has to sign in first comes back to the very place.
	stranger := w.client(t, "")
	door := stranger.get(to + "/bench?spot=crank.pin-1.front.0").to()
	at := attr(stranger.page(door).one("input[name=to]"), "value")
	if at != to+"/bench?spot=crank.pin-1.front.0" {
		t.Errorf("signing in leads to %q, not to the bench", at)
	}

	// The same again is refused, and what was typed stands there.
	a = c.post("/orders", append(fields[:len(fields):len(fields)], "customer", "x")...)
	if a.code != http.StatusUnprocessableEntity || attr(a.one("input[name=order]"), "value") != "WO 7/26 & more" {
		t.Errorf("a number is given twice: %d", a.code)
	}
	if a := w.client(t, "kd").post("/orders", fields...); a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "may not open a job") {
		t.Errorf("a mechanic opens a job: %d %s", a.code, a.text())
	}
}

func TestBooks(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	faulty := bytes.Replace(demo.Book, []byte("new: 2.3120..2.3130"), []byte("new: 2.3120 to 2.3130 or so"), 1)
	a := c.book("book.yaml", faulty)
	if a.code != http.StatusUnprocessableEntity {
		t.Fatalf("a book in fault: %d", a.code)
	}
	a.has(".query[role=alert] li", "book.yaml")
	a = c.book(`<img src=x onerror=alert(1)>.yaml`, []byte("engine: <script>alert(1)</script>\n"))
	if a.code != http.StatusUnprocessableEntity {
		t.Errorf("no book: %d", a.code)
	}
	checkInert(t, a.doc())
	if a := c.do(c.request(http.MethodPost, "/books", "application/x-www-form-urlencoded", "")); a.code != http.StatusUnprocessableEntity {
		t.Errorf("no file: %d", a.code)
	}
	other := bytes.Replace(demo.Book, []byte("Invented four-cylinder opposed engine"), []byte("Another four"), 1)
	to := c.book("other.yaml", other).to()
	b := c.page(to)
	b.has("h1", "Another four")
	b.has("table td", "2.3120..2.3130")
	b.has("table td .note", "by INV-L7")
	c.page("/books").has("td a", "Another four")
	if a := c.get("/books/" + strings.Repeat("0", 64)); a.code != http.StatusNotFound {
		t.Errorf("a book that is not there: %d", a.code)
	}
	if a := w.client(t, "kd").book("other.yaml", other); a.code != http.StatusUnprocessableEntity {
		t.Errorf("a mechanic adopts a book: %d", a.code)
	}
}
