package main

import (
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
)

// slower is how much slower than this machine the one at the bench is.
const slower = 4

// watch notes, in the page, what every key costs. The script and the layout of a
// key end where the layout is asked for behind the last of its handlers; what it
// changed is painted when the frame behind it is done. A key that keeps a figure
// is done when the next spot stands there.
const watch = `(() => {
	const keys = window.keys = [];
	let now = null;
	const end = () => { document.body.offsetHeight; now.done = performance.now() - now.begin; };
	addEventListener("keydown", (e) => {
		const one = now = { key: e.key, begin: performance.now(), done: 0, painted: 0, frames: 0 };
		keys.push(one);
		const frame = () => {
			one.frames++;
			const after = new MessageChannel();
			after.port1.onmessage = () => { if (one.done) one.painted = performance.now() - e.timeStamp; else requestAnimationFrame(frame); };
			after.port2.postMessage(0);
		};
		requestAnimationFrame(frame);
	}, true);
	addEventListener("input", end);
	new MutationObserver((list) => {
		if (now && now.key === "Enter" && !now.done) end();
	}).observe(document.getElementById("title"), { attributeFilter: ["data-spot"] });
})()`

// ready notes when the bench takes over what is typed: the last that its script
// does before it waits.
const ready = `(() => {
	let early;
	Object.defineProperty(window, "tenthsEarly", { get: () => early, set: (v) => { early = v; if (v === null) queueMicrotask(() => { window.ready = performance.now(); }); } });
})()`

// A tab is a person at a screen.
type tab struct {
	ctx  context.Context
	base string
	keys int
}

// browser starts one.
func browser(ctx context.Context) (context.Context, context.CancelFunc, error) {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		return nil, nil, errors.New("there is no chromium: install it (Debian: apt-get install chromium)")
	}
	all, end := chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))...)
	one, close := chromedp.NewContext(all)
	if err := chromedp.Do(one); err != nil {
		return nil, nil, errors.Join(err, one.Err())
	}
	return one, func() { close(); end() }, nil
}

// newTab opens a tab with cookies and a cache of its own.
func newTab(browser context.Context, c *client) (*tab, context.CancelFunc, error) {
	ctx, end := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	b := &tab{ctx: ctx, base: c.base}
	err := chromedp.Do(ctx)
	if err == nil {
		_, err = call(b, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 1024, Height: 768, DeviceScaleFactor: 1})
	}
	at, wrong := url.Parse(c.base)
	if err = errors.Join(err, wrong); err == nil {
		for _, k := range c.Jar.Cookies(at) {
			_, err = call(b, network.SetCookie, network.SetCookieParams{Name: k.Name, Value: k.Value, URL: c.base, Path: "/"})
		}
	}
	return b, end, err
}

func call[P, R any](b *tab, command cdp.Command[P, R], params P) (R, error) {
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	return chromedp.Call(ctx, command, params)
}

func js[T any](b *tab, expression string) (T, error) {
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	return chromedp.Run(ctx, chromedp.Evaluate[T](expression))
}

func (b *tab) open(path string) error {
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	return chromedp.Do(ctx, chromedp.Navigate(b.base+path))
}

// until waits until an expression is true in the page.
func (b *tab) until(expression string) error {
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if v, err := js[bool](b, "!!("+expression+")"); err == nil && v {
			return nil
		}
	}
	return fmt.Errorf("it never came: %s", expression)
}

// press presses keys, each so long behind the one before.
func (b *tab) press(keys string, each time.Duration) error {
	for _, k := range keys {
		p := input.DispatchKeyEventParams{Key: string(k), Text: string(k)}
		switch k {
		case '\r':
			p = input.DispatchKeyEventParams{Key: "Enter", Code: "Enter", WindowsVirtualKeyCode: 13, Text: "\r"}
		case '\b':
			p = input.DispatchKeyEventParams{Key: "Backspace", Code: "Backspace", WindowsVirtualKeyCode: 8}
		case ' ':
			p = input.DispatchKeyEventParams{Key: " ", Code: "Space", WindowsVirtualKeyCode: 32, Text: " "}
		}
		next := time.Now().Add(each)
		p.Type = input.DispatchKeyEventTypeKeyDown
		if _, err := call(b, input.DispatchKeyEvent, p); err != nil {
			return err
		}
		p.Type, p.Text = input.DispatchKeyEventTypeKeyUp, ""
		if _, err := call(b, input.DispatchKeyEvent, p); err != nil {
			return err
		}
		b.keys++
		time.Sleep(time.Until(next))
	}
	return nil
}

// typing prints what keys cost at the bench: figures typed along a crankshaft as
// a hand types them, on a machine that is slower.
func (c *client) typing(browser context.Context, order string) error {
	b, end, err := newTab(browser, c)
	if err != nil {
		return err
	}
	defer end()
	if err := b.open("/orders/" + order + "/bench?part=crank"); err != nil {
		return err
	}
	if _, err := call(b, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: slower}); err != nil {
		return err
	}
	if err := b.until(`window.tenthsEarly === null && document.activeElement === figure`); err != nil {
		return err
	}
	if _, err := js[any](b, watch); err != nil {
		return err
	}
	type cost struct {
		Key                  string
		Begin, Done, Painted float64
		Frames               int
	}
	const spots = 60
	for range spots {
		spot, err := js[string](b, `title.dataset.spot`)
		if err != nil {
			return err
		}
		if err := b.press("2.2985", 110*time.Millisecond); err != nil {
			return err
		}
		if err := b.press("\r", 250*time.Millisecond); err != nil {
			return err
		}
		if err := b.until(`title.dataset.spot !== "` + spot + `" && figure.value === ""`); err != nil {
			return err
		}
	}
	all, err := js[[]cost](b, `window.keys`)
	if err != nil {
		return err
	}
	for _, kind := range []struct {
		name string
		of   func(cost) bool
	}{{"a digit", func(k cost) bool { return k.Key != "Enter" }}, {"Enter, to the next spot", func(k cost) bool { return k.Key == "Enter" }}} {
		var done, painted []float64
		frames, unseen := 0, 0
		for _, k := range all {
			if !kind.of(k) {
				continue
			}
			if k.Done == 0 || k.Painted == 0 {
				unseen++
				continue
			}
			done, painted = append(done, k.Done), append(painted, k.Painted)
			frames = max(frames, k.Frames)
		}
		if len(done) == 0 || unseen > 0 {
			return fmt.Errorf("%s: %d were seen through, %d were not", kind.name, len(done), unseen)
		}
		slices.Sort(done)
		slices.Sort(painted)
		within := 0
		for _, p := range painted {
			if p <= 2*1000/60. {
				within++
			}
		}
		fmt.Printf("%-46s %8.1f ms, p99 %.1f, longest %.1f of %d\n", kind.name+": script and layout, median", share(done, 0.5), share(done, 0.99), share(done, 1), len(done))
		fmt.Printf("%-46s %8.1f ms, p99 %.1f, longest %.1f; %d of %d within two frames\n", "  painted, median", share(painted, 0.5), share(painted, 0.99), share(painted, 1), within, len(painted))
	}
	return nil
}

func share(sorted []float64, of float64) float64 { return sorted[int(of*float64(len(sorted)-1))] }

// own prints what a digit takes of the processor for script, style and layout:
// what else the machine does meanwhile is not in it.
func (c *client) own(browser context.Context, order string) error {
	b, end, err := newTab(browser, c)
	if err != nil {
		return err
	}
	defer end()
	if _, err := call(b, performance.Enable, performance.EnableParams{TimeDomain: performance.EnableTimeDomainThreadTicks}); err != nil {
		return err
	}
	if err := b.open("/orders/" + order + "/bench?spot=crank.main-2.front.0"); err != nil {
		return err
	}
	if err := b.until(`window.tenthsEarly === null && document.activeElement === figure`); err != nil {
		return err
	}
	spent := func() (ms float64, err error) {
		r, err := call(b, performance.GetMetrics, cdp.Empty{})
		for _, m := range r.Metrics {
			switch m.Name {
			case "ScriptDuration", "LayoutDuration", "RecalcStyleDuration":
				ms += m.Value * 1000
			}
		}
		return ms, err
	}
	if err := b.press("2.298", 50*time.Millisecond); err != nil {
		return err
	}
	before, err := spent()
	if err != nil {
		return err
	}
	digits := strings.Repeat("5\b7\b", 20) // typed and rubbed out, so that every ruler moves
	if err := b.press(digits, 50*time.Millisecond); err != nil {
		return err
	}
	after, err := spent()
	fmt.Printf("%-46s %8.1f ms, mean of %d\n", "a digit: its own processor time, 4 × slower", slower*(after-before)/float64(len(digits)), len(digits))
	return err
}

// opening prints how long the bench takes until it takes keys, with nothing
// kept, on a machine that is slower.
func (c *client) opening(browser context.Context, order string) error {
	var took []float64
	for range 15 {
		one, err := c.openOnce(browser, order)
		if err != nil {
			return err
		}
		took = append(took, one)
	}
	slices.Sort(took)
	fmt.Printf("%-46s %8.0f ms, longest %.0f of %d\n", "bench ready, nothing kept, median", share(took, 0.5), share(took, 1), len(took))
	return nil
}

func (c *client) openOnce(browser context.Context, order string) (float64, error) {
	b, end, err := newTab(browser, c)
	if err != nil {
		return 0, err
	}
	defer end()
	if _, err := call(b, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: slower}); err != nil {
		return 0, err
	}
	if _, err := call(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: ready}); err != nil {
		return 0, err
	}
	if err := b.open("/orders/" + order + "/bench?part=crank"); err != nil {
		return 0, err
	}
	if err := b.until(`window.ready && document.activeElement === figure`); err != nil {
		return 0, err
	}
	if err := b.press("2", 0); err != nil {
		return 0, err
	}
	if err := b.until(`figure.value === "2"`); err != nil {
		return 0, err
	}
	return js[float64](b, `window.ready`)
}

// weigh prints what a browser with nothing kept fetches for a page, as it comes
// over the wire.
func (c *client) weigh(browser context.Context, order string) error {
	stranger, err := newClient(c.base)
	if err != nil {
		return err
	}
	for _, p := range []struct {
		name, path string
		by         *client
	}{
		{"sign-in", "/sign-in", stranger},
		{"floor", "/", c},
		{"engine", "/orders/" + order, c},
		{"bench", "/orders/" + order + "/bench?part=crank", c},
		{"table of limits", "/orders/" + order + "/limits", c},
	} {
		all, fonts, requests, err := p.by.fetched(browser, p.path)
		if err != nil {
			return err
		}
		fmt.Printf("%-46s %8.0f KB, %.0f KB with its fonts, %d requests\n", p.name+", nothing kept, compressed", float64(all-fonts)/1000, float64(all)/1000, requests)
	}
	return nil
}

func (c *client) fetched(browser context.Context, path string) (all, fonts int64, requests int, err error) {
	b, end, err := newTab(browser, c)
	if err != nil {
		return 0, 0, 0, err
	}
	defer end()
	var mu sync.Mutex
	open := map[network.RequestID]bool{} // is it a font?
	err = chromedp.Listen(b.ctx, func(ev any) {
		mu.Lock()
		defer mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			if strings.HasPrefix(ev.Request.URL, c.base) {
				open[ev.RequestID] = strings.HasSuffix(ev.Request.URL, ".woff2")
			}
		case *network.EventLoadingFinished:
			if font, ok := open[ev.RequestID]; ok {
				delete(open, ev.RequestID)
				requests++
				all += int64(ev.EncodedDataLength)
				if font {
					fonts += int64(ev.EncodedDataLength)
				}
			}
		}
	})
	if err != nil {
		return 0, 0, 0, err
	}
	if err := b.open(path); err != nil {
		return 0, 0, 0, err
	}
	if err := b.until(`document.readyState === "complete" && document.fonts.status === "loaded"`); err != nil {
		return 0, 0, 0, err
	}
	for quiet := 0; quiet < 20; quiet++ { // what the page fetches ahead comes too
		time.Sleep(25 * time.Millisecond)
		mu.Lock()
		if len(open) > 0 {
			quiet = 0
		}
		mu.Unlock()
	}
	return all, fonts, requests, nil
}

// The small book of somebody who measures their own engine.
//
//go:embed small.yaml
var smallBook []byte

// A person types five keys a second, and looks and thinks before each step.
const (
	aKey  = 200 * time.Millisecond
	aLook = 2 * time.Second
)

// firstVerdict prints how long it takes from nothing to the first verdict: a new
// shop, its first person, their own book, a work order, a reading.
func firstVerdict(browser context.Context, base, dir string) error {
	nobody, err := newClient(base)
	if err != nil {
		return err
	}
	b, end, err := newTab(browser, nobody)
	if err != nil {
		return err
	}
	defer end()
	path := filepath.Join(dir, "small.yaml")
	if err := os.WriteFile(path, smallBook, 0o666); err != nil {
		return err
	}
	begin := time.Now()
	if err := b.open("/"); err != nil {
		return err
	}
	steps := []struct{ at, keys, then string }{
		{"[name=title]", "Small shop", ""},
		{"[name=name]", "K. Dorn", ""},
		{"[name=handle]", "kd", ""},
		{"[name=certificate]", "mechanic", ""},
		{"[name=number]", "204411", ""},
		{"[name=password]", "long enough", ""},
		{"[name=again]", "long enough", ""},
		{".key.go", "\r", `location.pathname === "/"`},
		{".empty a", "\r", `location.pathname === "/books"`},
		{"form[action='/books'] [name=book]", "", ""},
		{"form[action='/books'] button", "\r", `location.pathname.startsWith("/books/")`},
		{"header a[href='/']", "\r", `location.pathname === "/"`},
		{"main a.key", "\r", `location.pathname === "/orders/new"`},
		{"[name=edition]", " ", ""},
		{"[name=order]", "1", ""},
		{"[name=customer]", "own", ""},
		{"[name=model]", "M", ""},
		{"[name=serial]", "2", ""},
		{"[name=reason]", "overhaul", ""},
		{"[name=authority]", "none", ""},
		{"[name=limits]", " ", ""},
		{".key.go", "\r", `location.pathname === "/orders/1"`},
		{".key.go", "\r", `window.tenthsEarly === null`},
		{"#figure", "1.9995\r", `said.textContent.includes("new")`},
	}
	for _, s := range steps {
		if err := b.step(s.at, s.keys, s.then, path); err != nil {
			return fmt.Errorf("%s: %w", s.at, err)
		}
	}
	fmt.Printf("%-46s %8.0f s, %d steps, %d keys\n", "from nothing to the first verdict, by hand", time.Since(begin).Seconds(), len(steps), b.keys)
	return nil
}

// step looks for a place and goes there; then what stands there is typed.
func (b *tab) step(at, keys, then, file string) error {
	text, err := json.Marshal(at)
	if err != nil {
		return err
	}
	place := "document.querySelector(" + string(text) + ")"
	if err := b.until(`document.readyState === "complete" && ` + place); err != nil {
		return err
	}
	time.Sleep(aLook)
	if keys == "" {
		return b.choose(file)
	}
	if _, err := js[bool](b, "("+place+".focus(), true)"); err != nil {
		return err
	}
	if err := b.press(keys, aKey); err != nil || then == "" {
		return err
	}
	return b.until(then)
}

// choose picks the book's file, as one does who has to find it first.
func (b *tab) choose(path string) error {
	time.Sleep(4 * aLook)
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	return chromedp.Do(ctx, chromedp.SetUploadFiles(chromedp.CSS("form[action='/books'] [name=book]"), []string{path}))
}
