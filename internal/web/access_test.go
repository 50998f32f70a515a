//go:build browser

package web_test

import (
	"archive/tar"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
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

type screen struct{ width, height int64 }

// screens are what the pages are looked at on, a phone, a tablet, a desk; wider
// and narrower ones must do too.
var (
	screens = []screen{{360, 720}, {820, 1180}, {1440, 900}}
	others  = []screen{{320, 640}, {1024, 768}, {740, 360}}
)

func (b *tab) theme(name string) {
	b.t.Helper()
	scheme := map[string]string{"day": "light", "night": "dark"}[name]
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}})
}

// Every page, in both themes and on every screen: axe finds nothing, the page is
// no wider than its screen. Their pictures are in testdata/pictures, to be looked at.
func TestAccess(t *testing.T) {
	w := sharedWorld(t)
	source := axe(t)
	folder := filepath.Join("testdata", "pictures")
	if err := os.MkdirAll(folder, 0o777); err != nil {
		t.Fatal(err)
	}
	type visit struct{ who, name, path string }
	visits := []visit{{"", "sign-in", "/sign-in"}}
	for _, p := range pages(t, w) {
		visits = append(visits, visit{"mp", p.name, p.path})
	}
	visits = append(visits, visit{"first", "first", "/first"})
	empty := ownWorld(t, true)
	tabs := map[string]*tab{
		"":      w.tab(t, "", "/sign-in", 1440, 900),
		"mp":    w.tab(t, "mp", "/", 1440, 900),
		"first": newTab(t, empty.URL, "", 1440, 900),
	}
	for _, b := range tabs {
		call(b, page.SetBypassCSP, page.SetBypassCSPParams{Enabled: true})
	}
	for _, v := range visits {
		t.Run(v.name, func(t *testing.T) {
			b := tabs[v.who]
			b.t = t
			b.size(1440, 900, false)
			b.open(v.path)
			if strings.HasPrefix(v.name, "bench") {
				b.ready()
			}
			js[bool](b, source+`; !!window.axe`)
			js[int](b, `document.fonts.ready, 0`)
			for _, s := range append(screens[:len(screens):len(screens)], others...) {
				b.size(s.width, s.height, false)
				if wide := js[int64](b, `document.documentElement.scrollWidth`); wide > s.width {
					t.Errorf("on a screen of %d px the page is %d wide: %s", s.width, wide, js[string](b, wideJS))
				}
				if s.width == 320 || s.width == 1024 || s.width == 740 {
					continue
				}
				for _, theme := range []string{"day", "night"} {
					b.theme(theme)
					if found := b.axe(); found != "" {
						t.Errorf("%d px, %s: %s", s.width, theme, found)
					}
					picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
					if err != nil {
						t.Fatal(err)
					}
					if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%s-%d-%s.png", v.name, s.width, theme)), picture, 0o666); err != nil {
						t.Fatal(err)
					}
				}
			}
		})
	}
}

// wideJS names what reaches out of the screen.
const wideJS = `[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1).slice(0, 3).map((e) => e.outerHTML.slice(0, 120)).join(" | ")`

// axe runs it on the page, and says what it finds.
func (b *tab) axe() string {
	b.t.Helper()
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`axe.run(document, { resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }).then((r) => r.violations.map((v) => v.id + ": " + v.help + "\n" + v.nodes.slice(0, 3).map((n) => "    " + n.target.join(" ") + "  " + n.html.slice(0, 160)).join("\n")).join("\n"))`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatal(err)
	}
	return found
}
