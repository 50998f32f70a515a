package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
)

func TestSignIn(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "")
	// Everything but the door wants somebody.
	for _, p := range pages(t, w) {
		if p.name == "missing" {
			continue
		}
		to := c.get(p.path).to()
		if want := "/sign-in"; !strings.HasPrefix(to, want) {
			t.Errorf("%s leads to %s", p.path, to)
			continue
		}
		if p.path != "/" {
			if q, err := url.Parse(to); err != nil || q.Query().Get("to") != p.path {
				t.Errorf("%s leads to %s, and from there to %q", p.path, to, q.Query().Get("to"))
			}
		}
	}
	for _, path := range []string{"/people", "/books", "/orders", "/orders/" + demoOrder + "/readings", "/orders/" + demoOrder + "/sign"} {
		if to := c.post(path, "value", "1").to(); to != "/sign-in" {
			t.Errorf("POST %s leads to %s", path, to)
		}
	}
	r := c.request(http.MethodPost, "/orders/"+demoOrder+"/readings", "application/x-www-form-urlencoded", "")
	r.Header.Set("Accept", "application/json")
	if a := c.do(r); a.code != http.StatusUnauthorized || !strings.Contains(a.body, "Sign in again") {
		t.Errorf("the script is told %d %s", a.code, a.body)
	}

	a := c.post("/sign-in", "handle", "kd", "password", "a tenth is large", "to", "/people")
	if a.code != http.StatusUnprocessableEntity {
		t.Fatalf("a wrong password: %d", a.code)
	}
	a.has("[role=alert]", "do not go together")
	if attr(a.one("input[name=handle]"), "value") != "kd" || attr(a.one("input[name=to]"), "value") != "/people" || attr(a.one("input[name=password]"), "value") != "" {
		t.Error("what was typed does not stand there, or the password does")
	}
	if b := c.post("/sign-in", "handle", "nobody", "password", "x"); textOf(b.one("[role=alert]")) != textOf(a.one("[role=alert]")) {
		t.Error("a stranger learns which handles there are")
	}
	if to := c.post("/sign-in", "handle", " kd ", "password", password, "to", "/people").to(); to != "/people" {
		t.Errorf("it leads to %s", to)
	}
	c.page("/people").has(".me .who", "K. Dorn")
	if to := c.post("/sign-out").to(); to != "/sign-in" {
		t.Errorf("signing out leads to %s", to)
	}
	if a := c.get("/people"); a.code != http.StatusSeeOther {
		t.Errorf("who is signed out reads on: %d", a.code)
	}
}

// Signing in leads to our own pages alone.
func TestSignInStaysInside(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "kd")
	h := w.web.Handler()
	for to, want := range map[string]string{
		"/people": "/people", "/orders/A/bench?spot=x": "/orders/A/bench?spot=x", "": "/",
		"https://elsewhere.example/": "/", "//elsewhere.example": "/", `/\elsewhere.example`: "/", `\\elsewhere.example`: "/",
		"/\t/elsewhere.example": "/", "/\n/elsewhere.example": "/", "javascript:alert(1)": "/", "people": "/",
		" //elsewhere.example": "/", "/\x00/elsewhere.example": "/",
	} {
		if got := attr(c.page("/sign-in?to="+url.QueryEscape(to)).one("input[name=to]"), "value"); got != want {
			t.Errorf("the page takes %q as %q", to, got)
		}
		r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(form("handle", "kd", "password", password, "to", to)))
		r.Host = "127.0.0.1"
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		answer := httptest.NewRecorder()
		h.ServeHTTP(answer, r)
		if got := answer.Header().Get("Location"); got != want {
			t.Errorf("%q leads to %q", to, got)
		}
	}
}

// The session is renewed with whoever signs in, is not for scripts nor for other
// sites, and ends on the server.
func TestSessions(t *testing.T) {
	w := sharedWorld(t)
	c := w.client(t, "")
	a := c.post("/sign-in", "handle", "kd", "password", password)
	set := a.header.Get("Set-Cookie")
	for _, want := range []string{"tenths=", "HttpOnly", "SameSite=Strict", "Path=/"} {
		if !strings.Contains(set, want) {
			t.Errorf("the cookie has no %s: %s", want, set)
		}
	}
	first := c.cookie()
	if len(first) < 32 {
		t.Errorf("the session is %q", first)
	}
	c.post("/sign-in", "handle", "kd", "password", password).to()
	if c.cookie() == first {
		t.Error("signing in keeps the session that was there before")
	}
	kept := c.cookie()
	c.post("/sign-out").to()
	r := c.request(http.MethodGet, "/people", "", "")
	r.AddCookie(&http.Cookie{Name: "tenths", Value: kept})
	if a := w.client(t, "").do(r); a.code != http.StatusSeeOther {
		t.Errorf("a session that was ended goes on: %d", a.code)
	}
}

// Guessing is slowed by who is guessed at and from where. Nobody else waits.
func TestSlow(t *testing.T) {
	w := ownWorld(t, false)
	h := w.web.Handler()
	try := func(handle, pass, from string) int {
		r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(form("handle", handle, "password", pass)))
		r.Host, r.RemoteAddr = "127.0.0.1", from
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		to := httptest.NewRecorder()
		h.ServeHTTP(to, r)
		if to.Code == http.StatusTooManyRequests && (to.Header().Get("Retry-After") == "" || !strings.Contains(to.Body.String(), "try again in")) {
			t.Error("who is to wait is not told how long")
		}
		return to.Code
	}
	for n := range 4 {
		if code := try("kd", "wrong", "127.0.0.1:1000"); code != http.StatusUnprocessableEntity {
			t.Fatalf("try %d: %d", n+1, code)
		}
	}
	if code := try("kd", password, "127.0.0.1:2000"); code != http.StatusTooManyRequests {
		t.Errorf("a fifth at once: %d", code)
	}
	if code := try("mp", password, "127.0.0.1:1000"); code != http.StatusSeeOther {
		t.Errorf("somebody else waits with them: %d", code)
	}
	if code := try("kd", password, "127.0.0.2:1000"); code != http.StatusSeeOther {
		t.Errorf("the person themself waits elsewhere: %d", code)
	}
	// The right one clears the count; three mistakes cost nothing.
	for n := range 3 {
		if code := try("ow", "wrong", "127.0.0.1:1"); code != http.StatusUnprocessableEntity {
			t.Fatalf("try %d: %d", n+1, code)
		}
	}
	if code := try("ow", password, "127.0.0.1:1"); code != http.StatusSeeOther {
		t.Errorf("after three mistakes: %d", code)
	}
	for n := range 3 {
		if code := try("ow", "wrong", "127.0.0.1:1"); code != http.StatusUnprocessableEntity {
			t.Fatalf("try %d after the right one: %d", n+1, code)
		}
	}
}

// Many guesses at once are slowed like one behind the other.
func TestSlowAtOnce(t *testing.T) {
	w := ownWorld(t, false)
	h := w.web.Handler()
	var mu sync.Mutex
	tried := 0
	var all sync.WaitGroup
	for range 24 {
		all.Go(func() {
			r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(form("handle", "kd", "password", "wrong")))
			r.Host = "127.0.0.1"
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			to := httptest.NewRecorder()
			h.ServeHTTP(to, r)
			if to.Code != http.StatusTooManyRequests {
				mu.Lock()
				tried++
				mu.Unlock()
			}
		})
	}
	all.Wait()
	if tried > 6 {
		t.Errorf("%d of 24 guesses at once were tried", tried)
	}
}

// Wherever a password is asked for, guessing at it is slowed.
func TestSlowInside(t *testing.T) {
	for path, fields := range map[string][]string{
		"/people/password":               {"mine", "wrong", "password", "another long one"},
		"/people":                        {"mine", "wrong", "handle", "xy", "name", "X", "role", "mechanic", "password", "another long one"},
		"/orders/" + demoOrder + "/sign": {"password", "wrong", "part", "gear", "as", "performed"},
	} {
		w := ownWorld(t, false)
		c := w.client(t, "mp")
		if strings.HasSuffix(path, "/sign") {
			a := c.page(path + "?part=gear&as=performed")
			fields = append(fields, "statement", attr(a.one("input[name=statement]"), "value"))
		}
		code := 0
		for range 6 {
			code = c.post(path, fields...).code
		}
		if code != http.StatusTooManyRequests {
			t.Errorf("%s: the sixth guess is answered %d", path, code)
		}
	}
}

func TestFirst(t *testing.T) {
	w := ownWorld(t, true)
	c := w.client(t, "")
	for _, path := range []string{"/", "/people", "/sign-in", "/orders/X/bench"} {
		if to := c.get(path).to(); to != "/first" {
			t.Errorf("%s leads to %s", path, to)
		}
	}
	if a := c.get("/healthz"); a.code != http.StatusOK {
		t.Errorf("/healthz: %d", a.code)
	}
	a := c.page("/first")
	a.has("label.tick", "invented engine")
	if hasAttr(a.one("input[name=demo]"), "checked") {
		t.Error("the invented engine is taken for granted")
	}
	checkInert(t, a.doc())

	good := []string{"title", `My "shop" <b>`, "handle", "kd", "name", "K. Dorn", "certificate", "mechanic", "number", "1", "password", "long enough", "again", "long enough"}
	with := func(name, value string) []string {
		all := append([]string{}, good...)
		for i := 0; i < len(all); i += 2 {
			if all[i] == name {
				all[i+1] = value
			}
		}
		return all
	}
	for what, fields := range map[string][]string{
		"two passwords":     with("again", "another one"),
		"a short password":  append(with("password", "short"), "x", "y")[:len(good)],
		"no name":           with("name", ""),
		"no title":          with("title", " "),
		"a bad handle":      with("handle", "K D"),
		"no handle":         with("handle", ""),
		"two lines of name": with("name", "K.\nDorn"),
		"a nought in it":    with("title", "a\x00b"),
	} {
		a := c.post("/first", fields...)
		if a.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", what, a.code)
			continue
		}
		a.one("[role=alert]")
		if what == "two passwords" && (attr(a.one("input[name=title]"), "value") != `My "shop" <b>` || attr(a.one("input[name=handle]"), "value") != "kd") {
			t.Error("what was typed is gone")
		}
		if w.web.Shop() != nil {
			t.Fatalf("%s: there is a shop now", what)
		}
	}
	if to := c.post("/first", append(good, "demo", "yes")...).to(); to != "/" {
		t.Errorf("it leads to %s", to)
	}
	b := c.page("/")
	b.has(".where b", `My "shop" <b>`)
	b.has(".me .who", "K. Dorn")
	b.has("ul.floor h2 a", demoOrder)
	// And never again.
	if to := c.get("/first").to(); to != "/" {
		t.Errorf("the first page leads to %s", to)
	}
	if a := c.post("/first", good...); a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "shop already") {
		t.Errorf("a second shop: %d %s", a.code, a.text())
	}
	c.post("/sign-out").to()
	c.post("/sign-in", "handle", "kd", "password", "long enough").to()
}

func TestFirstWithoutDemo(t *testing.T) {
	w := ownWorld(t, true)
	c := w.client(t, "")
	c.post("/first", "title", "S", "handle", "kd", "name", "K", "password", "long enough", "again", "long enough").to()
	c.page("/").has(".empty", "No engine is on the floor yet.")
	c.page("/books").has("td", "None is adopted yet.")
}

func TestPeople(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	add := func(fields ...string) answered {
		all := append([]string{}, fields...)
		given := map[string]bool{}
		for i := 0; i < len(fields); i += 2 {
			given[fields[i]] = true
		}
		for _, f := range [][2]string{{"handle", "nn"}, {"name", "N. Neu"}, {"role", "mechanic"}, {"mine", password}, {"password", "long enough"}} {
			if !given[f[0]] {
				all = append(all, f[0], f[1])
			}
		}
		return c.post("/people", all...)
	}
	for what, a := range map[string]answered{
		"a wrong password of mine": add("mine", "no"),
		"a short first password":   add("password", "abc"),
		"no role":                  add("role", ""),
		"a role that is none":      add("role", "owner"),
		"a handle that is there":   add("handle", "kd"),
		"a bad handle":             add("handle", "N N"),
		"no name":                  add("name", ""),
	} {
		if a.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", what, a.code)
			continue
		}
		a.one("[role=alert]")
		if state, err := w.shop.Record(t.Context()); err != nil || len(state.People) != len(people) {
			t.Errorf("%s: there are %d people now, %v", what, len(state.People), err)
		}
		if what == "a short first password" && attr(a.one("form[action=/people] input[name=name]"), "value") != "N. Neu" {
			t.Error("what was typed is gone")
		}
	}
	if to := add().to(); to != "/people" {
		t.Errorf("it leads to %s", to)
	}
	c.page("/people").has("td b", "N. Neu")
	n := w.client(t, "")
	n.post("/sign-in", "handle", "nn", "password", "long enough").to()
	if len(find(n.page("/people").doc(), "form[action=/people]")) != 0 {
		t.Error("a mechanic is offered to add people")
	}
	if a := n.post("/people", "handle", "xx", "name", "X", "role", "manager", "mine", "long enough", "password", "long enough"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("a mechanic adds a manager: %d", a.code)
	}

	// Changing a password wants the old one, and ends what was begun with it.
	elsewhere := w.client(t, "")
	elsewhere.post("/sign-in", "handle", "nn", "password", "long enough").to()
	if a := n.post("/people/password", "mine", "wrong", "password", "longer than before"); a.code != http.StatusUnprocessableEntity {
		t.Errorf("a password is changed without the old one: %d", a.code)
	}
	n.post("/people/password", "mine", "long enough", "password", "longer than before").has(".query", "changed")
	n.page("/people")
	if a := elsewhere.get("/people"); a.code != http.StatusSeeOther {
		t.Errorf("after the password was changed, who signed in with the old one goes on: %d", a.code)
	}
}

// A signature: the statement is read, then signed with the password, by two
// people where the shop says so.
func TestSign(t *testing.T) {
	w := ownWorld(t, false)
	const at = "/orders/" + demoOrder + "/sign"
	part := "gear"
	kd, ow := w.client(t, "kd"), w.client(t, "ow")

	a := kd.page(at + "?part=" + part + "&as=performed")
	statement := attr(a.one("input[name=statement]"), "value")
	if said := textOf(a.one("blockquote")); said == "" || strings.Join(strings.Fields(statement), " ") != said {
		t.Fatalf("it shows %q and signs %q", said, statement)
	}
	for what, fields := range map[string][]string{
		"another statement":   {"part", part, "as", "performed", "statement", statement + " ", "password", password},
		"no statement":        {"part", part, "as", "performed", "password", password},
		"a wrong password":    {"part", part, "as", "performed", "statement", statement, "password", "no"},
		"no password":         {"part", part, "as", "performed", "statement", statement},
		"a mechanic inspects": {"part", part, "as", "inspected", "statement", statement, "password", password},
		"no such part":        {"part", "wing", "as", "performed", "statement", statement, "password", password},
		"no such sense":       {"part", part, "as", "admired", "statement", statement, "password", password},
	} {
		b := kd.post(at, fields...)
		if b.code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", what, b.code)
			continue
		}
		b.one("[role=alert]")
	}
	b := kd.post(at, "part", part, "as", "performed", "statement", statement, "password", password)
	if b.code != http.StatusOK {
		t.Fatalf("%d %s", b.code, b.text())
	}
	b.has(".query", "Signed, and the log is sealed.")
	b.has("pre.workings", "sealed ")
	b.has("td", "K. Dorn")

	// Who performed it may not inspect it; an apprentice signs nothing.
	w.client(t, "ap").page(at+"?part="+part+"&as=performed").has("[role=alert]", "may not")
	c := ow.page(at + "?part=" + part + "&as=inspected")
	d := ow.post(at, "part", part, "as", "inspected", "statement", attr(c.one("input[name=statement]"), "value"), "password", password)
	if d.code != http.StatusOK {
		t.Fatalf("the inspector: %d %s", d.code, d.text())
	}
	e := ow.page(at + "?part=pump&as=performed")
	ow.post(at, "part", "pump", "as", "performed", "statement", attr(e.one("input[name=statement]"), "value"), "password", password)
	ow.page(at+"?part=pump&as=inspected").has("[role=alert]", "performed")
	ow.page(at).has("ul.list li b", "Crankshaft")
	ow.page("/orders/"+demoOrder+"/log").has("li.step-signed p", "O. Weiss")

	// What is measured behind a signature unsettles it.
	kd.post("/orders/"+demoOrder+"/readings", "spot", "gear.shaft.-.0", "value", "0.9990")
	row := ""
	for _, n := range kd.page(at).all("table tbody tr") {
		if strings.Contains(textOf(n), "Gears") {
			row = textOf(n)
		}
	}
	if strings.Contains(row, "K. Dorn") {
		t.Errorf("a signature stands that was given before a reading: %s", row)
	}
}
