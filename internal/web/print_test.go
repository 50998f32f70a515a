//go:build browser

package web_test

import (
	"testing"

	"github.com/chromedp/cdproto/emulation"
)

// On paper every verdict stands with its ruler, and how much of the allowance is
// used; what can only be pressed is gone.
func TestPrint(t *testing.T) {
	w := sharedWorld(t)
	b := w.tab(t, "mp", "/orders/"+demoOrder+"/limits", 700, 1000)
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	for _, path := range []string{"/limits", "/sign", ""} {
		b.open("/orders/" + demoOrder + path)
		b.until(`document.querySelector(".verdict")`)
		if n := js[int](b, `[...document.querySelectorAll("main .verdict, main .ruler")].filter((e) => !e.checkVisibility() && !e.closest(".upright, .lying, details")).length`); n > 0 {
			t.Errorf("%q hides %d verdicts and rulers", path, n)
		}
		if n := js[int](b, `[...document.querySelectorAll("main button, main .top > .key, nav")].filter((e) => e.checkVisibility()).length`); n > 0 {
			t.Errorf("%q has %d things to press", path, n)
		}
	}
	b.open("/orders/" + demoOrder + "/limits")
	if n := js[int](b, `[...document.querySelectorAll(".c-used, .c-page, .c-act")].filter((e) => !e.checkVisibility()).length`); n > 0 {
		t.Errorf("%d cells of the table are not printed", n)
	}
}
