package main

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"

	"tenths/internal/shop"
)

// Other machines can't reach the pages.
func TestServeListensHere(t *testing.T) {
	for listen, good := range map[string]bool{
		"127.0.0.1:8117": true, "localhost:8117": true, "[::1]:8117": true, "127.9.9.9:0": true,
		":8117": false, "0.0.0.0:8117": false, "[::]:8117": false, "10.0.0.7:8117": false, "shop.example:8117": false,
		"127.0.0.1.shop.example:80": false, "127.0.0.1": false, "8117": false, "": false,
	} {
		if err := loopback(listen); (err == nil) != good {
			t.Errorf("--listen %q: %v", listen, err)
		}
	}
	dir := filepath.Join(t.TempDir(), "shop")
	var out, errOut strings.Builder
	if code := run([]string{"serve", "--shop", dir, "--listen", "0.0.0.0:0"}, &out, &errOut); code != exitBad || !strings.Contains(errOut.String(), "127.0.0.1") || out.Len() != 0 {
		t.Errorf("exit status %d, %s%s", code, out.String(), errOut.String())
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("a folder was made")
	}
}

// A request that never ends, in its head or in its body, ends nevertheless, and so
// does a connection on which nothing comes.
func TestServeTimes(t *testing.T) {
	serve := func(shorter time.Duration) (addr string) {
		h := httpServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if _, err := io.ReadAll(r.Body); err != nil {
				http.Error(w, "", http.StatusRequestTimeout)
			}
		}))
		for name, d := range map[string]*time.Duration{
			"the head's": &h.ReadHeaderTimeout, "the request's": &h.ReadTimeout, "the answer's": &h.WriteTimeout, "an idle connection's": &h.IdleTimeout,
		} {
			if *d <= 0 || *d > 2*time.Minute {
				t.Errorf("%s time is %v", name, *d)
			}
			*d /= shorter
		}
		s := httptest.NewUnstartedServer(nil)
		s.Config = h
		s.Start()
		t.Cleanup(s.Close)
		return s.Listener.Addr().String()
	}
	patient, hasty := serve(1), serve(500)
	for _, c := range []struct{ name, to, sent, want string }{
		{"a whole one", patient, "POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\nContent-Length: 4\r\n\r\nfull", "200"},
		{"a large head", patient, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + strings.Repeat("x", 80<<10) + "\r\n\r\n", "431"},
		{"half a head", hasty, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n", ""},
		{"half a body", hasty, "POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100\r\n\r\nhalf", ""},
		{"nothing", hasty, "", ""},
	} {
		conn, err := net.Dial("tcp", c.to)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(conn, c.sent); err != nil {
			t.Fatal(err)
		}
		answer, _ := io.ReadAll(conn) // until the server ends it
		conn.Close()
		status, _, _ := strings.Cut(string(answer), "\r\n")
		if got := strings.Fields(status + " - -")[1]; got != c.want && (c.want != "" || got != "-" && got != "408") {
			t.Errorf("%s is answered %q", c.name, status)
		}
	}
}

// Who is signed in is kept apart from the record, without what a thief of the file
// could use, for two hours from the last request and for twelve at most.
func TestServeSessions(t *testing.T) {
	a := &at{dir: t.TempDir()}
	m, end, err := a.sessions(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	s := httptest.NewServer(m.LoadAndSave(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		if m.GetString(r.Context(), "handle") == "" {
			m.Put(r.Context(), "handle", "kd")
		}
	})))
	defer s.Close()
	r, err := http.Get(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	cookie := r.Cookies()[0]
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Path != "/" || cookie.Domain != "" {
		t.Errorf("the cookie is %v", cookie)
	}
	db, err := sql.Open("sqlite", filepath.Join(a.dir, sessionsFile))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	row := func() (token string, data []byte, left time.Duration) {
		t.Helper()
		var days float64
		if err := db.QueryRowContext(t.Context(), "SELECT token, data, expiry - julianday('now') FROM sessions").Scan(&token, &data, &days); err != nil {
			t.Fatal(err)
		}
		return token, data, time.Duration(days * 24 * float64(time.Hour))
	}
	token, data, left := row()
	if strings.Contains(token, cookie.Value) || strings.Contains(string(data), cookie.Value) {
		t.Error("the file has the cookie itself")
	}
	if left > 2*time.Hour+time.Second || left < 2*time.Hour-5*time.Minute {
		t.Errorf("without a request it lasts %v", left)
	}
	deadline, values, err := scs.GobCodec{}.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	if d := time.Until(deadline); d > 12*time.Hour || d < 12*time.Hour-5*time.Minute {
		t.Errorf("it lasts %v at most", d)
	}

	// A request lengthens it, and never beyond the end that it had from the first.
	ask := func(wantHandle string) {
		t.Helper()
		ctx, err := m.Load(context.Background(), cookie.Value)
		if err != nil {
			t.Fatal(err)
		}
		if got := m.GetString(ctx, "handle"); got != wantHandle {
			t.Fatalf("the session is %q's", got)
		}
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.URL, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.AddCookie(&http.Cookie{Name: cookie.Name, Value: cookie.Value})
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
	}
	set := func(deadline time.Time, days float64) {
		t.Helper()
		data, err := scs.GobCodec{}.Encode(deadline, values)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.ExecContext(t.Context(), "UPDATE sessions SET data = ?, expiry = julianday('now') + ?", data, days); err != nil {
			t.Fatal(err)
		}
	}
	set(deadline, 1./24)
	ask("kd")
	if _, _, left := row(); left < 2*time.Hour-5*time.Minute {
		t.Errorf("after a request it lasts %v", left)
	}
	set(time.Now().Add(time.Hour), 1./24)
	ask("kd")
	if _, _, left := row(); left > time.Hour {
		t.Errorf("an hour before its end a request makes it last %v", left)
	}
	set(deadline, -1./24/60)
	ask("")
}

// Who signs in and out writes nothing into the record.
func TestServeSessionsApart(t *testing.T) {
	s := startServe(t)
	record := filepath.Join(s.dir, shop.Database)
	before := tables(t, record)
	s.signIn()
	if after := tables(t, record); after != before {
		t.Errorf("signing in made\n%s\nof\n%s", after, before)
	}
	if strings.Contains(before, "session") {
		t.Errorf("the record has sessions: %s", before)
	}
}

// tables are a file's tables, and how many rows each has.
func tables(t *testing.T, path string) string {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.QueryContext(t.Context(), "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var names []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	all := ""
	for _, name := range names {
		n := 0
		if err := db.QueryRowContext(t.Context(), "SELECT count(*) FROM "+name).Scan(&n); err != nil {
			t.Fatal(err)
		}
		all += fmt.Sprintln(name, n)
	}
	return all
}

// serving is the program itself, serving a shop of the invented engine.
type serving struct {
	t        *testing.T
	bin, dir string
	url      string
	run      *exec.Cmd
	http     *http.Client
}

func startServe(t *testing.T) *serving {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	s := &serving{t: t, bin: filepath.Join(buildTenths(t), "tenths"), dir: filepath.Join(t.TempDir(), "shop"), http: &http.Client{Jar: jar}}
	s.start()
	t.Cleanup(func() {
		if s.run.ProcessState == nil {
			_ = s.run.Process.Kill()
			_ = s.run.Wait()
		}
	})
	s.post("/first", "title", "S", "name", "K. Dorn", "handle", "kd", "password", "long enough", "again", "long enough", "demo", "yes")
	return s
}

func (s *serving) start() {
	s.t.Helper()
	s.run = exec.Command(s.bin, "serve", "--shop", s.dir, "--listen", "127.0.0.1:0")
	out, err := s.run.StdoutPipe()
	if err != nil {
		s.t.Fatal(err)
	}
	if err := s.run.Start(); err != nil {
		s.t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		s.t.Fatal(err)
	}
	s.url = strings.TrimSuffix(strings.TrimSpace(line), "/")
}

func (s *serving) signIn() {
	s.t.Helper()
	s.post("/sign-in", "handle", "kd", "password", "long enough")
}

func (s *serving) post(path string, fields ...string) {
	s.t.Helper()
	form := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		form.Set(fields[i], fields[i+1])
	}
	r, err := s.http.PostForm(s.url+path, form)
	if err != nil {
		s.t.Fatal(err)
	}
	defer r.Body.Close()
	if r.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(r.Body)
		s.t.Fatalf("%s: %s %s", path, r.Status, text)
	}
}

// What is being entered when the server is told to stop is answered and on the
// record; nobody else is let in; the server ends well.
func TestServeStopsGracefully(t *testing.T) {
	s := startServe(t)
	at, err := url.Parse(s.url)
	if err != nil {
		t.Fatal(err)
	}
	cookie := s.http.Jar.Cookies(at)[0]
	const many = 8
	var open []net.Conn
	var answers []*bufio.Reader
	body := func(n int) string {
		return url.Values{"id": {fmt.Sprintf("00000000-0000-4000-8000-00000000000%d", n)}, "spot": {"crank.main-1.front.0"}, "value": {fmt.Sprintf("2.312%d", n)}}.Encode()
	}
	for n := range many { // each sends all but its last characters, once it is asked for them
		c, err := net.Dial("tcp", at.Host)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		b := body(n)
		if _, err := fmt.Fprintf(c, "POST /orders/%s/readings HTTP/1.1\r\nHost: %s\r\nCookie: %s=%s\r\nAccept: application/json\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\nExpect: 100-continue\r\n\r\n",
			demoOrder, at.Host, cookie.Name, cookie.Value, len(b)); err != nil {
			t.Fatal(err)
		}
		answer := bufio.NewReader(c)
		if r, err := http.ReadResponse(answer, nil); err != nil || r.StatusCode != http.StatusContinue {
			t.Fatal(r, err)
		}
		if _, err := io.WriteString(c, b[:len(b)-3]); err != nil {
			t.Fatal(err)
		}
		open, answers = append(open, c), append(answers, answer)
	}
	if err := s.run.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	for { // until nobody else is let in
		c, err := net.Dial("tcp", at.Host)
		if err != nil {
			break
		}
		c.Close()
	}
	for n, c := range open {
		b := body(n)
		if _, err := io.WriteString(c, b[len(b)-3:]); err != nil {
			t.Fatal(err)
		}
		r, err := http.ReadResponse(answers[n], nil)
		if err != nil {
			t.Fatalf("reading %d is not answered: %v", n, err)
		}
		text, _ := io.ReadAll(r.Body)
		if r.StatusCode != http.StatusOK {
			t.Errorf("reading %d: %s %s", n, r.Status, text)
		}
	}
	if err := s.run.Wait(); err != nil {
		t.Errorf("it ends with %v", err)
	}
	s.start()
	s.signIn()
	r, err := s.http.Get(s.url + "/orders/" + demoOrder + "/log")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	log, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	for n := range many {
		if got := strings.Count(string(log), fmt.Sprintf("2.312%d in", n)); got < 1 {
			t.Errorf("reading %d is in the log %d times", n, got)
		}
	}
}
