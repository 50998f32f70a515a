//go:build browser

package web_test

import "testing"

// By keyboard alone the engine is chosen, drawn as it is, and begun.
func TestBeginByKeys(t *testing.T) {
	w := ownWorld(t, false)
	b := w.tab(t, "mp", "/books/begin", 1440, 900)
	b.until(`window.htmx && document.readyState === "complete"`)
	js[int](b, `(document.querySelector("#is-opposed").focus(), 0)`)
	b.press("↓")
	b.until(`document.querySelector(".seen svg.in-line") && document.activeElement.id === "is-in-line" && document.activeElement.checked`)
	b.press("↓")
	b.until(`document.querySelector(".seen svg.radial") && document.activeElement.id === "is-radial"`)
	b.press(tabKey + "↓")
	b.until(`document.activeElement.id === "cylinders-9" && document.activeElement.checked && document.querySelector(".seen svg.radial")`)
	b.until(`[...document.querySelectorAll(".seen .lying svg.radial text")].some(t => t.textContent === "9")`)
	// A number that is none of the list, typed; Enter draws it and begins nothing.
	b.press(tabKey + "1" + "1" + enter)
	b.until(`document.querySelector(".pick.typed.on input") && document.querySelector(".pick.typed.on input").value === "11" && [...document.querySelectorAll(".seen .lying svg.radial text")].some(t => t.textContent === "11")`)
	if path := js[string](b, "location.pathname"); path != "/books/begin" {
		t.Errorf("Enter in a number leads to %s", path)
	}
	for _, width := range []int64{1440, 820, 360} {
		b.size(width, 900, width < 1000)
		b.until(`document.documentElement.scrollWidth <= innerWidth`)
		small := js[string](b, `[...document.querySelectorAll("#main .pick, #main .key")].filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.width < 47.5 || r.height < 47.5); }).map(e => e.innerText).join(", ")`)
		if small != "" {
			t.Errorf("%d px: less than 48 px are %s", width, small)
		}
	}
	b.tap(`#begin button[formmethod=post]`)
	b.until(`location.pathname.startsWith("/drafts/") && document.querySelector(".whole svg.radial")`)
}
