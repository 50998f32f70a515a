//go:build browser

package web_test

import (
	"maps"
	"slices"
	"strings"
	"testing"
)

// What a stranger wrote into a book, and what is typed with ill will, runs nowhere:
// not as the server sends it, nor as the bench's script puts it in place.
func TestHostileShown(t *testing.T) {
	w := ownWorld(t, false)
	w.hostileJob(t)
	b := w.tab(t, "kd", "/", 1440, 900)
	check := func(what string) {
		t.Helper()
		if got := js[string](b, `document.title`); got == "taken" {
			t.Fatalf("%s: a script of a stranger's ran", what)
		}
		if n := js[int](b, `document.querySelectorAll("img, body script:not([src])").length`); n != 0 {
			t.Errorf("%s: what was written became %d elements", what, n)
		}
	}
	for _, path := range hostilePages {
		b.open(path)
		b.until(`document.readyState === "complete"`)
		check(path)
	}
	// From spot to spot, by the script; a reason in words; a note of the gauge.
	b.open("/orders/EVIL/bench?spot=shaft.journal.front")
	b.ready()
	b.press("↓")
	b.until(`title.dataset.spot === "shaft.journal.rear"`)
	check("on")
	for _, field := range []string{"gauge", "read_by", "setting"} {
		b.set("[name="+field+"]", hostile["the end of a tag"])
	}
	js[int](b, `(figure.focus(), 0)`)
	b.press("1.9995" + enter)
	b.until(`strip.querySelector("button")`) // refused: that is no setting
	check("what is set")
	for _, field := range []string{"gauge", "read_by", "setting"} {
		b.set("[name="+field+"]", "")
	}
	// In the field itself, each of them, and held.
	for _, name := range slices.Sorted(maps.Keys(hostile)) {
		bad := strings.ToValidUTF8(hostile[name], "?")
		if len(bad) > 200 {
			bad = bad[:200]
		}
		for js[bool](b, `!strip.hidden`) {
			js[int](b, `([...strip.querySelectorAll("button")].find((k) => k.textContent === "Leave it out")?.click(), 0)`)
		}
		js[int](b, `(figure.value = `+quoted(bad)+`, figure.form.requestSubmit(), 0)`)
		b.until(`[...strip.querySelectorAll("button")].length >= 2 && figure.value === ""`)
		if got, want := js[string](b, `strip.querySelector(".fig").textContent`), js[string](b, `((i) => { i.value = `+quoted(bad)+`; return i.value.trim(); })(document.createElement("input"))`); strings.Join(strings.Fields(got), " ") != strings.Join(strings.Fields(want), " ") {
			t.Errorf("%s: %q was typed, and %q is held", name, want, got)
		}
		check(name)
	}
}
