package web_test

import (
	"encoding/json"
	"io/fs"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/alexedwards/scs/v2"

	"tenths/internal/web"
)

// again is another server on the same shop, as after a restart: nobody is
// signed in.
func (w *world) again(t *testing.T) *world {
	t.Helper()
	sessions := scs.New()
	sessions.Cookie.Name = "tenths"
	next := &world{shop: w.shop, log: &safeLog{}, dir: w.dir}
	var err error
	next.web, err = web.New(web.Options{
		Shop: w.shop, Sessions: sessions, Log: slog.New(slog.NewTextHandler(next.log, nil)),
		Preferences: filepath.Join(w.dir, "preferences.json"),
	})
	if err != nil {
		t.Fatal(err)
	}
	next.Server = httptest.NewServer(next.web.Handler())
	t.Cleanup(next.Close)
	return next
}

// What a person likes outlives the server, and is theirs alone.
func TestPreferences(t *testing.T) {
	w := ownWorld(t, false)
	const at = "/orders/" + demoOrder
	c := w.client(t, "kd")
	a := c.page(at)
	if hasAttr(a.one("html"), "data-theme") || attr(a.one("form[action=/preferences] button"), "value") != "night" {
		t.Error("a theme is chosen for the person")
	}
	if to := c.post("/preferences", "theme", "night", "back", at).to(); to != at {
		t.Errorf("it leads to %s", to)
	}
	c.page(at + "/bench?by=gauge&spot=crank.pin-4.rear.90")
	c.page(at + "/limits?by=book")
	for _, bad := range []string{"", "red", `"><b>`} {
		if a := c.post("/preferences", "theme", bad); a.code != http.StatusUnprocessableEntity {
			t.Errorf("theme %q: %d", bad, a.code)
		}
	}
	if to := c.post("/preferences", "theme", "night", "back", "//elsewhere.example").to(); to != "/" {
		t.Errorf("it leads to %s", to)
	}

	for _, server := range []*world{w, w.again(t)} {
		c := server.client(t, "kd")
		a := c.page(at + "/bench?spot=crank.pin-4.rear.90")
		if got := attr(a.one("html"), "data-theme"); got != "night" {
			t.Errorf("the theme is %q", got)
		}
		if got := attr(a.one("form[action=/preferences] button"), "value"); got != "day" {
			t.Errorf("the key is for %q", got)
		}
		if got := textOf(a.one(".route a[aria-current]")); got != "by gauge" {
			t.Errorf("the route is %q", got)
		}
		if got := attr(c.page(at+"/limits").one("select[name=by] option[selected]"), "value"); got != "book" {
			t.Errorf("the lines are in order %q", got)
		}
		other := server.client(t, "ow").page(at + "/bench?spot=crank.pin-4.rear.90")
		if hasAttr(other.one("html"), "data-theme") || textOf(other.one(".route a[aria-current]")) != "by part" {
			t.Error("another has K. Dorn's preferences")
		}
	}
	if before, err := w.shop.Record(t.Context()); err != nil || len(before.People) != 4 {
		t.Error(err)
	}
	if left, _ := filepath.Glob(filepath.Join(w.dir, ".preferences*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A damaged file is put aside and told. It stops nobody.
func TestPreferencesDamaged(t *testing.T) {
	w := ownWorld(t, false)
	path := filepath.Join(w.dir, "preferences.json")
	for name, text := range map[string]string{
		"cut off":       `{"schema":"tenths/preferences/1","people":{"kd":{"rou`,
		"empty":         "",
		"another's":     `{"people":{"kd":{"route":"gauge"}}}`,
		"a later one":   `{"schema":"tenths/preferences/2","people":[]}`,
		"much too much": `{"schema":"tenths/preferences/1","x":"` + strings.Repeat("x", 1<<20) + `"}`,
	} {
		t.Run(name, func(t *testing.T) {
			if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			next := w.again(t)
			if log := next.log.String(); !strings.Contains(log, "level=ERROR") || !strings.Contains(log, "put aside") {
				t.Errorf("it is not told: %s", log)
			}
			if _, err := os.Stat(path); !os.IsNotExist(err) {
				t.Errorf("the damaged file stands there: %v", err)
			}
			aside, _ := filepath.Glob(path + ".damaged-*")
			if len(aside) != 1 {
				t.Fatalf("put aside: %v", aside)
			}
			if kept, err := os.ReadFile(aside[0]); err != nil || string(kept) != text {
				t.Errorf("what was put aside is not what stood there: %v", err)
			}
			if err := os.Remove(aside[0]); err != nil {
				t.Fatal(err)
			}
			c := next.client(t, "kd")
			c.post("/preferences", "theme", "night").to()
			if got := attr(c.page("/").one("html"), "data-theme"); got != "night" {
				t.Errorf("the theme is %q", got)
			}
			var file struct {
				Schema string
				People map[string]map[string]string
			}
			text, err := os.ReadFile(path)
			if err == nil {
				err = json.Unmarshal(text, &file)
			}
			if err != nil || file.Schema != "tenths/preferences/1" || file.People["kd"]["theme"] != "night" {
				t.Errorf("%v %s", err, text)
			}
		})
	}
	// Words that no version knows are left out.
	if err := os.WriteFile(path, []byte(`{"schema":"tenths/preferences/1","people":{"kd":{"theme":"\"><b>x","route":"by boat","more":1}}}`), 0o644); err != nil {
		t.Fatal(err)
	}
	a := w.again(t).client(t, "kd").page("/")
	if hasAttr(a.one("html"), "data-theme") {
		t.Error("a theme that nobody knows is on the page")
	}
}

// Where the file can't be written, the pages go on, and what people like lasts
// as long as the server.
func TestPreferencesNotWritten(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "kd")
	if err := os.Mkdir(filepath.Join(w.dir, "preferences.json"), 0o755); err != nil {
		t.Fatal(err)
	}
	c.post("/preferences", "theme", "night").to()
	if got := attr(c.page("/").one("html"), "data-theme"); got != "night" {
		t.Errorf("the theme is %q", got)
	}
	if log := w.log.String(); !strings.Contains(log, "they last until the server ends") {
		t.Errorf("it is not told: %s", log)
	}
	if left, _ := filepath.Glob(filepath.Join(w.dir, ".preferences*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Many change theirs at once; the file is whole at any time.
func TestPreferencesAtOnce(t *testing.T) {
	w := ownWorld(t, false)
	path := filepath.Join(w.dir, "preferences.json")
	var all sync.WaitGroup
	for _, handle := range []string{"kd", "ow", "mp", "ap"} {
		c := w.client(t, handle)
		all.Go(func() {
			for n := range 10 {
				c.post("/preferences", "theme", []string{"day", "night"}[n%2])
				text, err := os.ReadFile(path)
				if err != nil && !os.IsNotExist(err) || err == nil && !json.Valid(text) {
					t.Errorf("%v: %s", err, text)
				}
			}
		})
	}
	all.Wait()
	text, err := fs.ReadFile(os.DirFS(w.dir), "preferences.json")
	if err != nil || strings.Count(string(text), `"night"`) != 4 {
		t.Errorf("%v %s", err, text)
	}
}
