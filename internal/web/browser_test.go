//go:build browser

package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is the one that all tests share; each has a tab and cookies of its
// own.
var browser struct {
	once sync.Once
	ctx  context.Context
	end  []context.CancelFunc
	err  error
}

func endBrowser() {
	for i := len(browser.end) - 1; i >= 0; i-- {
		browser.end[i]()
	}
}

func startBrowser() error {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		return errors.New("these tests need a browser, and there is no chromium: make test installs it (Debian: apt-get install chromium)")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
	)
	ctx, end := chromedp.NewExecAllocator(context.Background(), options...)
	browser.end = append(browser.end, end)
	ctx, end = chromedp.NewContext(ctx)
	browser.end = append(browser.end, end)
	browser.ctx = ctx
	return chromedp.Do(ctx)
}

// A tab is a person at a screen.
type tab struct {
	t     *testing.T
	ctx   context.Context
	url   string
	keys  int       // pressed so far
	at    time.Time // when the last of them was, where keys say so
	mu    sync.Mutex
	wrong []string // what the page threw, was forbidden, or asked of others
}

// newTab opens a tab of a size, with a session; "": without.
func newTab(t *testing.T, url, session string, width, height int64) *tab {
	t.Helper()
	browser.once.Do(func() { browser.err = startBrowser() })
	if browser.err != nil {
		t.Fatal(browser.err)
	}
	ctx, end := chromedp.NewContext(browser.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	b := &tab{t: t, ctx: ctx, url: url}
	if err := chromedp.Do(ctx); err != nil { // opens it, for as long as the context lasts
		t.Fatal(err)
	}
	err := chromedp.Listen(ctx, func(ev any) {
		text := ""
		switch ev := ev.(type) {
		case *runtime.EventExceptionThrown:
			text = ev.ExceptionDetails.Text
			if ev.ExceptionDetails.Exception != nil {
				text += " " + ev.ExceptionDetails.Exception.Description
			}
		case *cdplog.EventEntryAdded:
			if strings.Contains(ev.Entry.Text, "Content Security Policy") {
				text = ev.Entry.Text
			}
		case *network.EventRequestWillBeSent:
			if !strings.HasPrefix(ev.Request.URL, url) && !strings.HasPrefix(ev.Request.URL, "data:") {
				text = "asks for " + ev.Request.URL
			}
		}
		if text != "" {
			b.mu.Lock()
			b.wrong = append(b.wrong, text)
			b.mu.Unlock()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, w := range b.wrong {
			t.Errorf("the page: %s", w)
		}
	})
	if session != "" {
		call(b, network.SetCookie, network.SetCookieParams{Name: "tenths", Value: session, URL: url, Path: "/"})
	}
	b.size(width, height, false)
	return b
}

// tab opens one of the shop's pages for somebody.
func (w *world) tab(t *testing.T, handle, path string, width, height int64) *tab {
	t.Helper()
	session := ""
	if handle != "" {
		session = w.client(t, handle).cookie()
	}
	b := newTab(t, w.URL, session, width, height)
	b.open(path)
	return b
}

// within bounds one step, so that a browser that hangs says at which.
func (b *tab) within() (context.Context, context.CancelFunc) {
	return context.WithTimeout(b.ctx, 20*time.Second)
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

func call[P, R any](b *tab, command cdp.Command[P, R], params P) R {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	r, err := chromedp.Call(ctx, command, params)
	if err != nil {
		b.t.Fatalf("%s: %v", command.Method, err)
	}
	return r
}

// js evaluates an expression in the page.
func js[T any](b *tab, expression string) T {
	b.t.Helper()
	ctx, cancel := b.within()
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

func quoted(s string) string {
	text, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return string(text)
}

func (b *tab) size(width, height int64, touch bool) {
	b.t.Helper()
	call(b, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: height, DeviceScaleFactor: 1, Mobile: touch})
	call(b, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: touch, MaxTouchPoints: 1})
}

func (b *tab) open(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.url + path))
}

// until waits until an expression is true in the page.
func (b *tab) until(expression string) {
	b.t.Helper()
	err := until(b.ctx, func(ctx context.Context) (bool, error) {
		v, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
		if err != nil && strings.Contains(err.Error(), "context was destroyed") || errors.Is(err, chromedp.ErrJSUndefined) {
			return false, nil // the page is going
		}
		if err != nil && ctx.Err() == nil {
			return false, nil // it has not come yet
		}
		return v, err
	})
	if err != nil {
		b.t.Fatalf("%s: %v; in the field %q, held %s; the page says: %.1200s", expression, err, js[string](b, "document.getElementById(\"figure\")?.value ?? \"\""), js[string](b, "JSON.stringify(localStorage)"), js[string](b, "document.body.innerText"))
	}
}

// text is what an element says; "" where it is not there.
func (b *tab) text(selector string) string {
	b.t.Helper()
	return js[string](b, "(document.querySelector("+quoted(selector)+")?.innerText ?? '').trim()")
}

// ready waits until the bench takes keys.
func (b *tab) ready() {
	b.t.Helper()
	b.until(`window.tenthsEarly === null && document.activeElement.id === "figure"`)
}

func (b *tab) spot() string { b.t.Helper(); return js[string](b, "title.dataset.spot") }

func (b *tab) figure() string { b.t.Helper(); return js[string](b, "figure.value") }

// focused fails unless the figure has the focus.
func (b *tab) focused() {
	b.t.Helper()
	if at := js[string](b, "document.activeElement.id || document.activeElement.outerHTML"); at != "figure" {
		b.t.Errorf("the focus is not on the figure, but on %.200s", at)
	}
}

// Keys that are no characters.
const (
	enter     = "\r"
	tabKey    = "\t"
	backspace = "\b"
	escape    = "\x1b"
)

var named = map[string]input.DispatchKeyEventParams{
	enter:     {Key: "Enter", Code: "Enter", WindowsVirtualKeyCode: 13, Text: "\r"},
	tabKey:    {Key: "Tab", Code: "Tab", WindowsVirtualKeyCode: 9},
	backspace: {Key: "Backspace", Code: "Backspace", WindowsVirtualKeyCode: 8},
	escape:    {Key: "Escape", Code: "Escape", WindowsVirtualKeyCode: 27},
	" ":       {Key: " ", Code: "Space", WindowsVirtualKeyCode: 32, Text: " "},
	"↑":       {Key: "ArrowUp", Code: "ArrowUp", WindowsVirtualKeyCode: 38},
	"↓":       {Key: "ArrowDown", Code: "ArrowDown", WindowsVirtualKeyCode: 40},
}

// press presses keys, as fast as the browser takes them: each as a keyboard
// sends it.
func (b *tab) press(keys string) {
	b.t.Helper()
	b.keysAt(keys, time.Time{}, 0)
}

// clock is a moment from which a test says when its keys were pressed. It lies
// ahead, so that none is older than the page that takes it: for such a one the
// browser never answers.
func clock() time.Time { return time.Now().Add(time.Minute) }

// keysAt presses keys that say when they were pressed: the first at a moment,
// each of the others so much later.
func (b *tab) keysAt(keys string, at time.Time, each time.Duration) time.Time {
	b.t.Helper()
	if at.IsZero() && !b.at.IsZero() { // once keys say when, none is older than those before it
		at, each = b.at.Add(300*time.Millisecond), 90*time.Millisecond
	}
	for _, k := range keys {
		p, ok := named[string(k)]
		if !ok {
			p = input.DispatchKeyEventParams{Key: string(k), Text: string(k)}
		}
		if !at.IsZero() {
			p.Timestamp = input.TimeSinceEpoch(float64(at.UnixMicro()) / 1e6)
			b.at = at
			at = at.Add(each)
		}
		p.Type = input.DispatchKeyEventTypeKeyDown
		call(b, input.DispatchKeyEvent, p)
		p.Type, p.Text = input.DispatchKeyEventTypeKeyUp, ""
		call(b, input.DispatchKeyEvent, p)
		b.keys++
	}
	return at
}

// tap touches the middle of an element, which must be what is there to touch.
func (b *tab) tap(selector string) {
	b.t.Helper()
	type at struct {
		X, Y, W, H float64
		Covered    string
	}
	p := js[at](b, `(() => { const e = document.querySelector(`+quoted(selector)+`); if (!e) return { Covered: "it is not there" };
		const r = e.getBoundingClientRect(), X = r.left + r.width / 2, Y = r.top + r.height / 2, hit = document.elementFromPoint(X, Y);
		return { X, Y, W: r.width, H: r.height, Covered: hit && (e === hit || e.contains(hit)) ? "" : "there is " + (hit ? hit.outerHTML.slice(0, 120) : "nothing") }; })()`)
	if p.Covered != "" {
		b.t.Fatalf("%s can't be touched: %s", selector, p.Covered)
	}
	if p.W < 48 || p.H < 48 {
		b.t.Errorf("%s is %v by %v px", selector, p.W, p.H)
	}
	b.do(chromedp.TapXY(p.X, p.Y))
	b.keys++
}

func init() { atEnd = endBrowser }

// until waits for something that is sure to come. It fails a test that would
// hang, and measures nothing.
func until(ctx context.Context, what func(context.Context) (bool, error)) error {
	ctx, cancel := context.WithTimeout(ctx, 15*time.Second)
	defer cancel()
	for {
		ok, err := what(ctx)
		if err != nil {
			return err
		}
		if ok {
			return nil
		}
		select {
		case <-ctx.Done():
			return errors.New("it did not come")
		case <-time.After(5 * time.Millisecond):
		}
	}
}
