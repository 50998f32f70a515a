package web_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/alexedwards/scs/v2"
	"golang.org/x/net/html"

	"tenths/internal/demo"
	"tenths/internal/draft"
	"tenths/internal/job"
	"tenths/internal/shop"
	"tenths/internal/shoplog"
	"tenths/internal/store"
	"tenths/internal/store/memory"
	"tenths/internal/web"
)

// atEnd ends what tests share beside the server: the browser, where one is used.
var atEnd = func() {}

func TestMain(m *testing.M) {
	code := m.Run()
	atEnd()
	if shared.dir != "" {
		_ = os.RemoveAll(shared.dir)
	}
	os.Exit(code)
}

// Who works in the shop of these tests. None of them is anybody.
const password = "a tenth is small"

var people = []shoplog.PersonAdded{
	{Handle: "mp", Name: "M. Pohl", Role: shoplog.Manager, Certificate: "mechanic", Number: "1188"},
	{Handle: "kd", Name: "K. Dorn", Role: shoplog.Mechanic, Certificate: "mechanic", Number: "204411"},
	{Handle: "ow", Name: "O. Weiss", Role: shoplog.Inspector, Certificate: "inspection authorization", Number: "77120"},
	{Handle: "ap", Name: "A. Prentis", Role: shoplog.Apprentice},
}

// A world is a shop and the server of its pages.
type world struct {
	*httptest.Server
	shop  *shop.Shop // nil where the first page makes it
	store store.Store
	web   *web.Server
	log   *safeLog
	dir   string
	slow  sync.Map      // path: what its requests go through before they are served
	ended chan struct{} // closed with the test: no request waits any longer
}

// delay lets requests of a path wait until what comes back is called, with
// whether they are to be answered at all.
func (w *world) delay(path string) func(answer bool) {
	wait := make(chan struct{})
	answered := true
	w.slow.Store(path, func() bool {
		select {
		case <-wait:
			return answered
		case <-w.ended:
			return false
		}
	})
	return func(answer bool) {
		w.slow.Delete(path)
		answered = answer
		close(wait)
	}
}

// safeLog is a log that may be read while it is written.
type safeLog struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *safeLog) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *safeLog) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// newWorld serves a shop; empty: the first page is to make it.
func newWorld(empty bool) (*world, error) {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "tenths-web")
	if err != nil {
		return nil, err
	}
	w := &world{log: &safeLog{}, dir: dir, store: memory.New(), ended: make(chan struct{})}
	options := shop.Options{Dir: dir, Device: "shop", Program: "tenths test"}
	if !empty {
		if w.shop, err = makeShop(ctx, w.store, options); err != nil {
			return nil, err
		}
	}
	sessions := scs.New()
	sessions.Cookie.Name, sessions.Cookie.SameSite, sessions.Cookie.HttpOnly = "tenths", http.SameSiteStrictMode, true
	w.web, err = web.New(web.Options{
		Preferences: filepath.Join(dir, "preferences.json"),
		Drafts:      draft.In(filepath.Join(dir, "drafts")),
		Shop:        w.shop, Sessions: sessions, Log: slog.New(slog.NewTextHandler(w.log, nil)),
		Make: func(ctx context.Context, name string, first shoplog.PersonAdded, password string) (*shop.Shop, error) {
			return shop.Make(ctx, memory.New(), options, name, first, password)
		},
		Demo: func(ctx context.Context, s *shop.Shop, by shop.Who) error {
			edition, err := s.Adopt(ctx, by, "book.yaml", demo.Book)
			if err != nil {
				return err
			}
			return openDemo(ctx, s, by, edition.Edition, demoOrder, true)
		},
	})
	if err != nil {
		return nil, err
	}
	pages := w.web.Handler()
	w.Server = httptest.NewServer(http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		if through, ok := w.slow.Load(r.URL.Path); ok && !through.(func() bool)() {
			panic(http.ErrAbortHandler)
		}
		pages.ServeHTTP(rw, r)
	}))
	return w, nil
}

const demoOrder = "DEMO-1"

// makeShop makes the shop of these tests: its people, the invented engine's
// book, and that engine in the middle of its overhaul.
func makeShop(ctx context.Context, st store.Store, o shop.Options) (*shop.Shop, error) {
	all := make([]shoplog.PersonAdded, len(people))
	copy(all, people)
	for i := range all {
		all[i].Since = "2026-01-01"
	}
	s, err := shop.Make(ctx, st, o, "Invented shop", all[0], password)
	if err != nil {
		return nil, err
	}
	by := shop.Who{Handle: "mp"}
	for i := range all[1:] {
		if _, err := s.State(ctx, by, &all[i+1]); err != nil {
			return nil, err
		}
		if err := s.SetPassword(ctx, by, all[i+1].Handle, password); err != nil {
			return nil, err
		}
	}
	if _, err := s.State(ctx, by, &shoplog.PolicySet{TwoPeople: true, Why: "to be tested"}); err != nil {
		return nil, err
	}
	edition, err := s.Adopt(ctx, by, "book.yaml", demo.Book)
	if err != nil {
		return nil, err
	}
	return s, openDemo(ctx, s, by, edition.Edition, demoOrder, true)
}

// openDemo opens a job on the invented engine, with or without its readings.
func openDemo(ctx context.Context, s *shop.Shop, by shop.Who, edition, order string, measured bool) error {
	_, err := s.OpenJob(ctx, by, job.JobOpened{
		Order: order, Model: "Invented four", Serial: "1127", SinceNew: "1873.4", Reason: "overhaul: time",
		Customer: "nobody", Edition: edition, Authority: "none: an invented engine", Limits: job.ServiceLimits,
	})
	if err == nil && measured {
		_, err = s.ImportReadings(ctx, by, order, shop.Import{Name: "readings.csv", Data: demo.Readings, Register: true, SkipFaults: true})
	}
	if err != nil {
		return err
	}
	for _, c := range []job.ConditionStated{{Name: "valve", Word: "used"}, {Name: "bushing", Word: "used"}} {
		if _, err := s.Enter(ctx, by, order, shop.Request{Request: &job.StateCondition{ConditionStated: c}}); err != nil {
			return err
		}
	}
	return nil
}

// shared is the shop that most tests look at. Who enters something opens a job
// of their own in it.
var shared struct {
	once sync.Once
	*world
	err error
	dir string
}

func sharedWorld(t testing.TB) *world {
	t.Helper()
	shared.once.Do(func() {
		if shared.world, shared.err = newWorld(false); shared.err == nil {
			shared.dir = shared.world.dir
		}
	})
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	return shared.world
}

// ownWorld is a shop for one test alone.
func ownWorld(t *testing.T, empty bool) *world {
	t.Helper()
	w, err := newWorld(empty)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		close(w.ended)
		w.Close()
		_ = os.RemoveAll(w.dir)
	})
	return w
}

// job opens a job of the test's own, of which nothing is measured.
func (w *world) job(t *testing.T, order string) string {
	t.Helper()
	state, err := w.shop.Record(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range state.Editions {
		if e.Engine == "Invented four-cylinder opposed engine" {
			if err := openDemo(t.Context(), w.shop, shop.Who{Handle: "mp"}, e.Edition, order, false); err != nil {
				t.Fatal(err)
			}
			return "/orders/" + url.PathEscape(order)
		}
	}
	t.Fatal("the shop has no book")
	return ""
}

// taken are the readings of a job, in order: spot and value.
func (w *world) taken(t *testing.T, order string) [][2]string {
	t.Helper()
	entries, err := w.shop.Entries(t.Context(), order)
	if err != nil {
		t.Fatal(err)
	}
	var all [][2]string
	for i := range entries {
		if r, ok := entries[i].What.(*job.ReadingTaken); ok {
			all = append(all, [2]string{r.Spot, r.Value})
		}
	}
	return all
}

// A client is a browser without script, of one person.
type client struct {
	t    testing.TB
	w    *world
	http *http.Client
}

// client returns one who is signed in; "": nobody.
func (w *world) client(t testing.TB, handle string) *client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &client{t, w, &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	if handle != "" {
		a := c.post("/sign-in", "handle", handle, "password", password)
		if a.code != http.StatusSeeOther {
			t.Fatalf("%s can't sign in: %d %s", handle, a.code, a.text())
		}
	}
	return c
}

// cookie is the session of a client, to be given to a browser.
func (c *client) cookie() string {
	at, err := url.Parse(c.w.URL)
	if err != nil {
		c.t.Fatal(err)
	}
	for _, k := range c.http.Jar.Cookies(at) {
		if k.Name == "tenths" {
			return k.Value
		}
	}
	c.t.Fatal("there is no session")
	return ""
}

// An answered is what came back.
type answered struct {
	t      testing.TB
	code   int
	header http.Header
	body   string
	at     string
}

func (c *client) do(r *http.Request) answered {
	c.t.Helper()
	resp, err := c.http.Do(r)
	if err != nil {
		c.t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		c.t.Fatal(err)
	}
	return answered{c.t, resp.StatusCode, resp.Header, string(body), r.Method + " " + r.URL.Path}
}

func (c *client) request(method, path, contentType, body string) *http.Request {
	c.t.Helper()
	r, err := http.NewRequestWithContext(c.t.Context(), method, c.w.URL+path, strings.NewReader(body))
	if err != nil {
		c.t.Fatal(err)
	}
	if contentType != "" {
		r.Header.Set("Content-Type", contentType)
	}
	return r
}

func (c *client) get(path string) answered {
	c.t.Helper()
	return c.do(c.request(http.MethodGet, path, "", ""))
}

// page gets a page that must be there.
func (c *client) page(path string) answered {
	c.t.Helper()
	a := c.get(path)
	if a.code != http.StatusOK {
		c.t.Fatalf("%s: %d %s", path, a.code, a.text())
	}
	return a
}

// form is a form's fields: names and values by turns.
func form(fields ...string) string {
	v := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		v.Add(fields[i], fields[i+1])
	}
	return v.Encode()
}

func (c *client) post(path string, fields ...string) answered {
	c.t.Helper()
	return c.do(c.request(http.MethodPost, path, "application/x-www-form-urlencoded", form(fields...)))
}

// to is where a redirect leads; a test fails where there is none.
func (a answered) to() string {
	a.t.Helper()
	if a.code != http.StatusSeeOther {
		a.t.Fatalf("%s: %d, no redirect: %s", a.at, a.code, a.text())
	}
	return a.header.Get("Location")
}

// ---- HTML by selectors ----

func (a answered) doc() *html.Node {
	a.t.Helper()
	n, err := html.Parse(strings.NewReader(a.body))
	if err != nil {
		a.t.Fatal(err)
	}
	return n
}

// text is what a person reads on the page.
func (a answered) text() string {
	if !strings.HasPrefix(a.header.Get("Content-Type"), "text/html") {
		return a.body
	}
	if main := find(a.doc(), "main"); len(main) > 0 {
		return textOf(main[0])
	}
	return textOf(a.doc())
}

// all are the elements that a selector finds; one and more must be there.
func (a answered) all(selector string) []*html.Node {
	a.t.Helper()
	list := find(a.doc(), selector)
	if len(list) == 0 {
		a.t.Fatalf("%s: nothing is found by %q in: %s", a.at, selector, a.text())
	}
	return list
}

func (a answered) one(selector string) *html.Node {
	a.t.Helper()
	return a.all(selector)[0]
}

// has fails unless the first element that a selector finds says this.
func (a answered) has(selector, text string) {
	a.t.Helper()
	var said []string
	for _, n := range a.all(selector) {
		if strings.Contains(textOf(n), text) {
			return
		}
		said = append(said, textOf(n))
	}
	a.t.Errorf("%s: %q does not say %q but %q", a.at, selector, text, said)
}

func textOf(n *html.Node) string {
	var b strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		switch {
		case n.Type == html.TextNode:
			b.WriteString(n.Data)
		case n.Type == html.ElementNode && (n.Data == "script" || n.Data == "style" || n.Data == "svg"):
			return
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
		if n.Type == html.ElementNode {
			b.WriteByte(' ')
		}
	}
	walk(n)
	return strings.Join(strings.Fields(b.String()), " ")
}

func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func hasAttr(n *html.Node, name string) bool {
	for _, a := range n.Attr {
		if a.Key == name {
			return true
		}
	}
	return false
}

// find knows the selectors that these tests use: names, #ids, .classes,
// [attributes], [attribute=value], one inside the other.
func find(n *html.Node, selector string) []*html.Node {
	now := []*html.Node{n}
	for _, part := range strings.Fields(selector) {
		seen := map[*html.Node]bool{}
		var next []*html.Node
		for _, from := range now {
			for d := range from.Descendants() {
				if d.Type == html.ElementNode && !seen[d] && matches(d, part) {
					seen[d] = true
					next = append(next, d)
				}
			}
		}
		now = next
	}
	return now
}

func matches(n *html.Node, part string) bool {
	name := part[:strings.IndexAny(part+"#", "#.[")]
	if name != "" && n.Data != name {
		return false
	}
	for rest := part[len(name):]; rest != ""; {
		kind := rest[0]
		end := 1 + strings.IndexAny(rest[1:]+"#", "#.[")
		if kind == '[' {
			end = strings.IndexByte(rest, ']') + 1
		}
		what := rest[1:end]
		rest = rest[end:]
		switch kind {
		case '#':
			if attr(n, "id") != what {
				return false
			}
		case '.':
			if !contains(strings.Fields(attr(n, "class")), what) {
				return false
			}
		case '[':
			key, want, valued := strings.Cut(strings.TrimSuffix(what, "]"), "=")
			if !hasAttr(n, key) || valued && attr(n, key) != want {
				return false
			}
		}
	}
	return true
}

func contains(list []string, s string) bool {
	for _, l := range list {
		if l == s {
			return true
		}
	}
	return false
}
