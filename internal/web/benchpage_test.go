//go:build browser

package web_test

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// route walks the spots that follow one another, as the pages say.
func (c *client) route(order, from string, most int) []string {
	c.t.Helper()
	var all []string
	for spot := from; spot != "" && len(all) < most; {
		all = append(all, spot)
		spot = attr(c.page("/orders/"+order+"/bench/spot?spot="+url.QueryEscape(spot)).one("#title"), "data-next")
	}
	return all
}

// demoValues are what was read at each spot of the invented engine, as recorded.
func demoValues(t *testing.T, w *world) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, r := range w.taken(t, demoOrder) {
		all[r[0]] = r[1]
	}
	return all
}

// typedAs are the keys that a recorded value is typed with: without the unit
// of the book, feelers by their two letters, yes and no by one.
func typedAs(value string) string {
	value = strings.NewReplacer(" goes, ", "g", " does not", "n", "yes", "y", "no", "n").Replace(value)
	value, unit, _ := strings.Cut(value, " ")
	if unit == "mm" {
		value += unit
	}
	return value
}

func checkTaken(t *testing.T, w *world, order string, spots []string, want func(spot string) string) {
	t.Helper()
	var expected [][2]string
	for _, s := range spots {
		expected = append(expected, [2]string{s, want(s)})
	}
	var got [][2]string
	_ = until(t.Context(), func(context.Context) (bool, error) {
		got = w.taken(t, order)
		return len(got) >= len(expected), nil
	})
	for i := range max(len(got), len(expected)) {
		switch {
		case i >= len(got):
			t.Errorf("%v was typed and is not in the log", expected[i])
		case i >= len(expected):
			t.Errorf("%v is in the log and was not typed", got[i])
		case got[i] != expected[i]:
			t.Errorf("%v was typed, and the log has %v", expected[i], got[i])
		}
	}
}

// watch counts how often the figure loses the focus.
const watch = `window.lost = 0; figure.addEventListener("blur", () => { window.lost++ })`

// A whole crankshaft, by keyboard alone: sizes, widths, dials, a feeler's
// bracket, looks. It costs what is typed and one key more.
func TestCrankshaftByKeyboard(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "CRANK")
	c := w.client(t, "kd")
	spots := slices.DeleteFunc(c.route("CRANK", "crank.main-1.front.0", 1000), func(s string) bool { return !strings.HasPrefix(s, "crank.") })
	values := demoValues(t, w)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	js[int](b, watch+`; 0`)
	typed, now := 0, clock()
	for i, spot := range spots {
		if values[spot] == "" {
			values[spot] = values[spots[i-1]] // the demo leaves some open
		}
		b.until(`title.dataset.spot === ` + quoted(spot) + ` && figure.value === ""`)
		keys := typedAs(values[spot])
		now = b.keysAt(keys+enter, now.Add(300*time.Millisecond), 90*time.Millisecond)
		typed += len(keys) + 1
		b.focused()
	}
	if b.keys != typed {
		t.Errorf("%d keys for %d characters", b.keys, typed)
	}
	b.until(`!localStorage.getItem("tenths-held " + document.querySelector(".bench").dataset.order)?.includes("id")`)
	if lost := js[int](b, `lost`); lost != 0 {
		t.Errorf("the figure lost the focus %d times", lost)
	}
	checkTaken(t, w, "CRANK", spots, func(s string) string { return values[s] })
	t.Logf("%d spots, %d keys, %.1f a spot", len(spots), b.keys, float64(b.keys)/float64(len(spots)))
	if a := c.page(at); !strings.Contains(a.text(), "Crankshaft") || len(spots) < 80 {
		t.Errorf("%d spots only", len(spots))
	}
}

// Whoever types on without looking loses nothing: each figure goes to the spot
// that it was typed for, in order, whatever the pages are doing.
func TestTypingAhead(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "AHEAD")
	spots := w.client(t, "kd").route("AHEAD", "crank.main-1.front.0", 28)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1024, 768)
	b.ready()
	values := map[string]string{}
	all := ""
	for i, s := range spots {
		v := fmt.Sprintf("2.3%03d", 100+i)
		values[s] = v + " in"
		all += v + enter
	}
	b.press(all)
	checkTaken(t, w, "AHEAD", spots, func(s string) string { return values[s] })
	b.focused()
}

// Whoever types before the page's script is there loses nothing either.
func TestTypingEarly(t *testing.T) {
	w := ownWorld(t, false)
	at := w.job(t, "EARLY")
	spots := w.client(t, "kd").route("EARLY", "crank.main-1.front.0", 3)
	b := w.tab(t, "kd", "/people", 1440, 900)
	come := w.delay("/static/bench.js")
	js[int](b, `(location.href = `+quoted(at+"/bench?part=crank")+`, 0)`)
	b.until(`location.pathname.endsWith("/bench") && document.activeElement?.id === "figure"`)
	b.press("2.3130" + enter + "2.3128" + enter + "2.31")
	come(true)
	b.until(`title.dataset.spot === ` + quoted(spots[2]) + ` && figure.value === "2.31"`)
	b.focused()
	b.press("29" + enter)
	n := -1
	checkTaken(t, w, "EARLY", spots, func(string) string { n++; return []string{"2.3130 in", "2.3128 in", "2.3129 in"}[n] })
}

// What is kept while another figure is on its way, and that one is cut off, is
// sent after it: each once, in order.
func TestCutOff(t *testing.T) {
	w := ownWorld(t, false)
	at := w.job(t, "CUT")
	spots := w.client(t, "kd").route("CUT", "crank.main-1.front.0", 3)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	cut := w.delay("/orders/CUT/readings")
	for i, v := range []string{"2.3130", "2.3128", "2.3129"} {
		b.until(`title.dataset.spot === ` + quoted(spots[i]))
		b.press(v + enter)
	}
	b.until(`title.dataset.spot !== ` + quoted(spots[2]))
	cut(false)
	n := -1
	checkTaken(t, w, "CUT", spots, func(string) string { n++; return []string{"2.3130 in", "2.3128 in", "2.3129 in"}[n] })
	b.until(`strip.hidden`)
}

// A figure that waits for its spot is held as well, and asked about when the page
// comes back without it.
func TestClosedBeforeItsSpot(t *testing.T) {
	w := ownWorld(t, false)
	at := w.job(t, "CLOSED")
	spots := w.client(t, "kd").route("CLOSED", "crank.main-1.front.0", 2)
	b := w.tab(t, "kd", "/people", 1440, 900)
	come := w.delay("/orders/CLOSED/bench/spot")
	b.open(at + "/bench?part=crank")
	b.ready()
	b.press("2.3130" + enter + "2.3128" + enter)
	checkTaken(t, w, "CLOSED", spots[:1], func(string) string { return "2.3130 in" })
	b.open("/people")
	come(true)
	b.open(at + "/bench?spot=" + spots[1])
	b.ready()
	b.until(`!strip.hidden && /2.3128.*before the page knew its spot/s.test(strip.innerText)`)
	js[int](b, `strip.querySelector("button").click(), 0`)
	b.until(`figure.value === "2.3128"`)
	b.focused()
	b.press(enter)
	n := -1
	checkTaken(t, w, "CLOSED", spots, func(string) string { n++; return []string{"2.3130 in", "2.3128 in"}[n] })
}

// taps are our own keys that a recorded value is typed with.
func taps(value string) []string {
	var all []string
	for _, k := range strings.TrimSuffix(typedAs(value), "mm") {
		switch {
		case k == 'g':
			all = append(all, `.pad .words[data-pad="feeler"] [data-add=" goes, "]`)
		case k == 'n' && strings.Contains(value, "does not"):
			all = append(all, `.pad .words[data-pad="feeler"] [data-add=" does not"]`)
		case k == 'y':
			all = append(all, `.pad [data-set="yes"]`)
		case k == 'n':
			all = append(all, `.pad [data-set="no"]`)
		case k == '+' || k == '-':
			all = append(all, `.pad .words[data-pad~="dial"] [data-add="`+string(k)+`"]`)
		default:
			all = append(all, `.pad [data-add="`+string(k)+`"]`)
		}
	}
	return all
}

// The same by one thumb, on our own keys, on a phone: the whole crankshaft.
func TestTouch(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "TOUCH")
	spots := slices.DeleteFunc(w.client(t, "kd").route("TOUCH", "crank.main-1.front.0", 1000), func(s string) bool { return !strings.HasPrefix(s, "crank.") })
	values := demoValues(t, w)
	b := w.tab(t, "kd", "/people", 360, 720)
	b.size(360, 720, true)
	b.open(at + "/bench?part=crank")
	b.ready()
	if mode := js[string](b, `figure.inputMode`); mode != "none" {
		t.Errorf("the screen's own keys come up: inputMode %q", mode)
	}
	tapped := 0
	for i, spot := range spots {
		if values[spot] == "" {
			values[spot] = values[spots[i-1]] // the demo leaves some open
		}
		b.until(`title.dataset.spot === ` + quoted(spot) + ` && figure.value === ""`)
		if value, unit, _ := strings.Cut(values[spot], " "); unit == "mm" { // no key has a unit: it is the spot's own
			values[spot] = value + " " + js[string](b, `title.dataset.unit`)
		}
		for _, key := range taps(values[spot]) {
			b.tap(key)
			tapped++
		}
		if got := b.figure(); got != strings.TrimSuffix(typedAs(values[spot]), "mm") && !strings.ContainsAny(typedAs(values[spot]), "gny") {
			t.Errorf("tapped %s, and %q stands there", typedAs(values[spot]), got)
		}
		// What is being typed is in sight, with the ruler of the size.
		if seen := js[bool](b, `[figure, document.querySelector("#lines .gauge .ruler")].every((e) => { if (!e) return true; const r = e.getBoundingClientRect(), p = document.querySelector(".pad").getBoundingClientRect(); return r.top >= 0 && r.bottom <= p.top + 1; })`); !seen {
			t.Errorf("%s: the figure or the size's ruler is not in sight above the keys", spot)
		}
		b.tap(`.pad [data-do="keep"]`)
		tapped++
	}
	if len(spots) < 80 || b.keys != tapped {
		t.Errorf("%d spots, %d keys for %d", len(spots), b.keys, tapped)
	}
	checkTaken(t, w, "TOUCH", spots, func(s string) string { return values[s] })
	// Rub out, and on an empty figure back.
	last := spots[len(spots)-1]
	b.until(`title.dataset.spot !== ` + quoted(last))
	b.tap(`.pad [data-add="7"]`)
	b.tap(`.pad [data-do="rub"]`)
	if got := b.figure(); got != "" {
		t.Errorf("rubbed out, and %q stands there", got)
	}
	b.tap(`.pad [data-do="rub"]`)
	b.until(`title.dataset.spot === ` + quoted(last))
}

// Deviations by touch: the signs are there for every spot, not the first alone.
func TestTouchDeviations(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SIGNS")
	b := w.tab(t, "kd", "/people", 360, 720)
	b.size(360, 720, true)
	b.open(at + "/bench?spot=cylinder-1.bore.foot.0")
	b.ready()
	b.set(`[name=setting]`, "5.0000")
	b.set(`[name=unit]`, "tenths")
	for _, spot := range []string{"cylinder-1.bore.foot.0", "cylinder-1.bore.foot.90", "cylinder-1.bore.lower.0"} {
		b.until(`title.dataset.spot === ` + quoted(spot) + ` && figure.value === ""`)
		b.tap(`.pad .words[data-pad~="bore"] [data-add="+"]`)
		b.tap(`.pad [data-add="8"]`)
		b.tap(`.pad [data-do="keep"]`)
	}
	checkTaken(t, w, "SIGNS", []string{"cylinder-1.bore.foot.0", "cylinder-1.bore.foot.90", "cylinder-1.bore.lower.0"}, func(string) string { return "+8 tenths on 5.0000 in" })
}

// set says something of the gauge, as its field does.
func (b *tab) set(selector, value string) {
	b.t.Helper()
	js[int](b, `(() => { const e = document.querySelector(`+quoted("#reading "+selector)+`); e.value = `+quoted(value)+`; e.dispatchEvent(new Event("change", { bubbles: true })); return 0; })()`)
}

// A gauge that types: 200 characters a second, with whatever ending it was set
// to, leading signs and noughts, with a unit or without.
func TestFastGauge(t *testing.T) {
	w := sharedWorld(t)
	for name, ending := range map[string]string{"Enter": enter, "Tab": tabKey, "TabEnter": tabKey + enter, "EnterTab": enter + tabKey} {
		t.Run(name, func(t *testing.T) {
			order := "FAST-" + name
			at := w.job(t, order)
			spots := w.client(t, "kd").route(order, "crank.main-1.front.0", 6)
			b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
			b.ready()
			js[int](b, watch+`; 0`)
			sent := []string{"2.3130", "+2.3128", "+0002.3129", "02.3127in", "58.7502mm", "+058.7500 mm"}
			want := []string{"2.3130 in", "2.3128 in", "2.3129 in", "2.3127 in", "58.7502 mm", "58.7500 mm"}
			now := clock()
			for i, s := range sent {
				b.until(`title.dataset.spot === ` + quoted(spots[i]))
				b.keysAt(s+ending, now, 5*time.Millisecond)
				now = now.Add(time.Second)
				b.focused()
			}
			if lost := js[int](b, `lost`); lost != 0 {
				t.Errorf("the figure lost the focus %d times", lost)
			}
			n := -1
			checkTaken(t, w, order, spots, func(string) string { n++; return want[n] })
		})
	}
}

// The same figure from the same gauge within 150 ms is a bounce: it stays in the
// field and asks, and the digits behind it wait.
func TestBounce(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "BOUNCE")
	spots := w.client(t, "kd").route("BOUNCE", "crank.main-1.front.0", 3)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	now := clock()
	now = b.keysAt("2.3130"+enter, now, 5*time.Millisecond)
	now = b.keysAt("2.3130"+enter, now.Add(20*time.Millisecond), 5*time.Millisecond)
	b.until(`ask.textContent.includes("twice")`)
	if got := b.figure(); got != "2.3130" {
		t.Errorf("%q stands in the field", got)
	}
	b.focused()
	now = b.keysAt("2.3128", now.Add(time.Second), 5*time.Millisecond)
	if got := b.figure(); got != "2.3130" {
		t.Errorf("the next digits made it %q", got)
	}
	b.keysAt(enter, now.Add(time.Second), 0)
	b.until(`figure.value === "2.3128"`)
	b.keysAt(enter, now.Add(2*time.Second), 0)
	n := -1
	checkTaken(t, w, "BOUNCE", spots, func(string) string { n++; return []string{"2.3130 in", "2.3130 in", "2.3128 in"}[n] })
}

// By hand the same figure at the next spot is the same figure.
func TestSameFigureByHand(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SAME")
	spots := w.client(t, "kd").route("SAME", "crank.main-1.front.0", 3)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	now := clock()
	for range spots {
		now = b.keysAt("2.3130"+enter, now.Add(400*time.Millisecond), 120*time.Millisecond)
	}
	checkTaken(t, w, "SAME", spots, func(string) string { return "2.3130 in" })
	// A slow Tab moves on through the page, and keeps nothing.
	b.until(`figure.value === ""`)
	b.keysAt("2.31"+tabKey, now.Add(time.Second), 200*time.Millisecond)
	if js[bool](b, `document.activeElement === figure`) {
		t.Error("a slow Tab does not move on")
	}
	if got := b.figure(); got != "2.31" {
		t.Errorf("after a slow Tab %q stands there", got)
	}
	checkTaken(t, w, "SAME", spots, func(string) string { return "2.3130 in" })
}

// A bore in deviations: the gauge's setting and sense are said once.
func TestDeviations(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "BORE")
	c := w.client(t, "kd")
	spots := c.route("BORE", "cylinder-1.bore.foot.0", 10)
	values := demoValues(t, w)
	b := w.tab(t, "kd", at+"/bench?spot=cylinder-1.bore.foot.0", 1440, 900)
	b.ready()
	b.set(`[name=setting]`, "5.0000")
	b.set(`[name=unit]`, "tenths")
	b.set(`[name=sense]`, "plus smaller")
	js[int](b, `figure.focus(), 0`)
	if got := b.text(`[data-do="gauge"]`); !strings.Contains(got, "5.0000") {
		t.Errorf("what the gauge is set to is not shown: %q", got)
	}
	now := clock()
	for _, spot := range spots {
		b.until(`title.dataset.spot === ` + quoted(spot) + ` && figure.value === ""`)
		now = b.keysAt(typedAs(values[spot])+enter, now.Add(300*time.Millisecond), 90*time.Millisecond)
	}
	checkTaken(t, w, "BORE", spots, func(s string) string { return values[s] })
	a := c.page(at + "/bench?spot=cylinder-1.bore.head.90")
	a.has(".taken td", "4.9970")

	// At a thing of another size the setting is not meant.
	b.open(at + "/bench?spot=crank.main-1.front.0")
	b.ready()
	b.press("2.3130" + enter)
	checkTaken(t, w, "BORE", append(spots, "crank.main-1.front.0"), func(s string) string {
		if s == "crank.main-1.front.0" {
			return "2.3130 in"
		}
		return values[s]
	})
}

// Feelers by two letters, looks by one.
func TestFeelersAndLooks(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "FEEL")
	b := w.tab(t, "kd", at+"/bench?spot=rod-1.side", 1440, 900)
	var spots []string
	values := map[string]string{}
	for _, s := range []struct{ spot, keys, value string }{
		{"rod-1.side", "0.009g0.010n", "0.009 in goes, 0.010 in does not"},
		{"rod-2.side", ".004n", ".004 in does not"},
		{"rod-3.side", "0.009g", "0.009 in goes"},
		{"rod-4.side", "0.25 mm goes, 0.30 mm does not", "0.25 mm goes, 0.30 mm does not"},
		{"crank.crack", "n", "no"},
		{"crank.plugs", "y", "yes"},
		{"rod-1.thread", "yn", "no"},
	} {
		b.open(at + "/bench?spot=" + s.spot)
		b.ready()
		before := b.keys
		b.press(s.keys + enter)
		if b.keys-before != len(s.keys)+1 {
			t.Errorf("%s took %d keys", s.spot, b.keys-before)
		}
		spots = append(spots, s.spot)
		values[s.spot] = s.value
		b.until(`title.dataset.spot !== ` + quoted(s.spot))
		b.until(`!localStorage.getItem("tenths-held " + document.querySelector(".bench").dataset.order)?.includes("id")`)
	}
	checkTaken(t, w, "FEEL", spots, func(s string) string { return values[s] })
}

// A strike of what was just kept, by two keys, and the spot taken again; then a
// skip by two keys.
func TestStrikeAndSkip(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "STRIKE")
	c := w.client(t, "kd")
	spots := c.route("STRIKE", "crank.main-1.front.0", 5)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	b.press("2.3130" + enter + "2.3218" + enter)
	// At once, whatever the page knows by now.
	b.press("/")
	b.until(`reasons.open`)
	if got := b.text("#reasons h2"); !strings.Contains(got, "2.3218") {
		t.Errorf("the last one entered is to be struck, and it asks %q", got)
	}
	if js[bool](b, `document.querySelector("#reasons label").checkVisibility()`) {
		t.Error("the field for words stands there before words are wanted")
	}
	b.press("1")
	b.until(`!reasons.open && title.dataset.spot === ` + quoted(spots[1]))
	b.focused()
	b.press("2.3128" + enter)
	b.until(`title.dataset.spot === ` + quoted(spots[2]) + ` && figure.value === ""`)
	a := c.page(at + "/log")
	a.has("li.is-struck .struck", "2.3218")
	a.has("li.is-struck .note", "misread")
	n := -1
	checkTaken(t, w, "STRIKE", []string{spots[0], spots[1], spots[1]}, func(string) string { n++; return []string{"2.3130 in", "2.3218 in", "2.3128 in"}[n] })
}

func TestSkipByKey(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SKIPKEY")
	c := w.client(t, "kd")
	spots := c.route("SKIPKEY", "crank.main-1.front.0", 4)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	b.press("*")
	b.until(`reasons.open`)
	b.press(escape)
	b.until(`!reasons.open`)
	b.focused()
	b.press("*2")
	b.until(`title.dataset.spot === ` + quoted(spots[1]))
	b.focused()
	b.press("*9")
	b.until(`document.activeElement.tagName === "INPUT" && document.activeElement !== figure`)
	b.press("nitriding flaked" + enter)
	b.until(`title.dataset.spot === ` + quoted(spots[2]))
	b.focused()
	a := c.page(at)
	a.has(".side li", "part is away")
	a.has(".side li", "nitriding flaked")
	// Back over what is empty, on without keeping.
	b.press(backspace)
	b.until(`title.dataset.spot === ` + quoted(spots[1]))
	b.press("↓")
	b.until(`title.dataset.spot === ` + quoted(spots[2]))
	b.press("↑")
	b.until(`title.dataset.spot === ` + quoted(spots[1]))
	b.press("2.31" + escape)
	if got := b.figure(); got != "" {
		t.Errorf("Esc leaves %q", got)
	}
	b.press("?")
	b.until(`help.open`)
	b.press(escape)
	b.until(`!help.open`)
	b.focused()
	if got := w.taken(t, "SKIPKEY"); len(got) != 0 {
		t.Errorf("something was kept: %v", got)
	}
}

// What the server refuses stays on this device, in sight, until it is settled.
func TestRefused(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "REFUSED")
	spots := w.client(t, "kd").route("REFUSED", "crank.main-1.front.0", 3)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	b.press("2.3l30" + enter)
	b.until(`!strip.hidden && strip.textContent.includes("2.3l30")`)
	b.until(`[...strip.querySelectorAll("button")].length === 2`)
	b.press("2.3129" + enter)
	b.until(`title.dataset.spot === ` + quoted(spots[2]))
	b.open(at + "/bench?spot=" + spots[2])
	b.until(`!strip.hidden && strip.textContent.includes("2.3l30")`)
	js[int](b, `strip.querySelector("button").click(), 0`)
	b.until(`title.dataset.spot === ` + quoted(spots[0]) + ` && figure.value === "2.3l30"`)
	b.focused()
	b.press(backspace + backspace + backspace + "130" + enter)
	b.until(`strip.hidden`)
	checkTaken(t, w, "REFUSED", []string{spots[1], spots[0]}, func(s string) string {
		return map[string]string{spots[0]: "2.3130 in", spots[1]: "2.3129 in"}[s]
	})
}

// A figure far off is kept, and asked about at once, without stopping the hand.
func TestFarOff(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "FAR")
	spots := w.client(t, "kd").route("FAR", "crank.main-1.front.0", 3)
	b := w.tab(t, "kd", at+"/bench?part=crank", 1440, 900)
	b.ready()
	b.press("3.2130" + enter)
	b.until(`ask.textContent.includes("3.2130")`)
	b.focused()
	b.press("2.3130" + enter)
	b.until(`title.dataset.spot === ` + quoted(spots[2]))
	checkTaken(t, w, "FAR", spots[:2], func(s string) string {
		return map[string]string{spots[0]: "3.2130 in", spots[1]: "2.3130 in"}[s]
	})
}

// The marks move with every digit, and stand where the server then puts them.
func TestMarksMove(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "MARKS")
	c := w.client(t, "kd")
	// The bearing's other half is known, so that its clearance moves too.
	for _, s := range []string{"front", "rear"} {
		for _, d := range []string{"45", "90", "135"} {
			c.post(at+"/readings", "spot", "case.fitted-1."+s+"."+d, "value", "2.3150").to()
		}
	}
	b := w.tab(t, "kd", at+"/bench?spot=crank.main-1.front.0", 1440, 900)
	b.ready()
	// heads are where the marks of the size and of the fits stand, and what they say.
	const heads = `[...document.querySelectorAll("#lines [data-line]")].filter((l) => /^main-(size|fit)/.test(l.dataset.line)).map((l) => l.dataset.line + ": " + [...l.querySelectorAll("svg.pointer")].filter((p) => p.getAttribute("display") !== "none").map((p) => (Math.round(parseFloat(p.getAttribute("x")) * 4) / 4).toFixed(2)).sort().join(" ") + " " + (l.querySelector(":scope > .fig")?.textContent.trim() ?? "")).join("\n")`
	open := js[string](b, heads)
	seen := map[string]bool{}
	for _, k := range "2.3114" {
		b.press(string(k))
		seen[js[string](b, heads)] = true
	}
	if len(seen) < 3 {
		t.Errorf("the marks took %d places for six digits", len(seen))
	}
	for range 6 {
		b.press(backspace)
	}
	if got := js[string](b, heads); got != open {
		t.Errorf("with an empty figure the marks stand at %s, not %s", got, open)
	}
	for _, v := range []string{"2.3114", "2.3131", "2.3095", "2.3100", "2.3130", "58.72 mm", "3.1"} {
		t.Run(v, func(t *testing.T) {
			order := "MARKS " + v
			at := w.job(t, order)
			c := w.client(t, "kd")
			for _, s := range []string{"front", "rear"} {
				for _, d := range []string{"45", "90", "135"} {
					c.post(at+"/readings", "spot", "case.fitted-1."+s+"."+d, "value", "2.3150").to()
				}
			}
			c.post(at+"/readings", "spot", "crank.main-1.rear.0", "value", "2.3120").to()
			b := w.tab(t, "kd", at+"/bench?spot=crank.main-1.front.0", 1440, 900)
			b.ready()
			b.press(v)
			typed := js[string](b, heads)
			lines := js[int](b, `[...document.querySelectorAll("#lines svg.ruler.hand")].length`)
			if lines < 2 {
				t.Errorf("%d rulers are in the hand: the size's and the clearance's should be", lines)
			}
			b.press(enter)
			b.until(`title.dataset.spot !== "crank.main-1.front.0"`)
			b.until(`!localStorage.getItem("tenths-held " + document.querySelector(".bench").dataset.order)?.includes("id")`)
			b.open(at + "/bench?spot=crank.main-1.front.0")
			b.ready()
			if kept := js[string](b, heads); kept != typed {
				t.Errorf("typed, the marks stood at\n%s\nand kept, at\n%s", typed, kept)
			}
		})
	}
}

// Rods change places on the page of items, by keyboard; the bench then shows
// each rod's own readings.
func TestRodsSwapped(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "RODS")
	c := w.client(t, "kd")
	for _, n := range []string{"1", "2"} {
		c.post(at+"/items", "item", "rod "+n, "part", "rod", "found", "rod-"+n).to()
	}
	b := w.tab(t, "kd", at+"/bench?spot=rod-1.bigend.front.0", 1024, 768)
	b.ready()
	b.press("2.3751" + enter)
	b.until(`title.dataset.spot !== "rod-1.bigend.front.0"`)
	checkTaken(t, w, "RODS", []string{"rod-1.bigend.front.0"}, func(string) string { return "2.3751 in" })
	b.open(at + "/items")
	b.until(`document.querySelector("[name=place][value=rod-1]")`)
	js[int](b, `document.querySelector("[name=place][value=rod-1]").focus(), 0`)
	b.press(" " + tabKey + " " + enter)
	b.until(`document.readyState === "complete" && document.querySelector("[name=place][value=rod-1]").closest("label").innerText.includes("rod 2")`)
	b.open(at + "/bench?spot=rod-2.bigend.front.0")
	if got := b.text(".taken td.here"); !strings.Contains(got, "2.3751") {
		t.Errorf("at position 2 stands %q", got)
	}
	b.open(at + "/bench?spot=rod-1.bigend.front.0")
	if got := b.text(".taken td.here"); strings.Contains(got, "2.3751") {
		t.Errorf("at position 1 stands %q", got)
	}
}

// The route by gauge, chosen on the page.
func TestRouteByGauge(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "ROUTE")
	b := w.tab(t, "kd", at+"/bench?spot=crank.pin-4.rear.90", 1440, 900)
	b.ready()
	byPart := js[string](b, `title.dataset.next`)
	js[int](b, `[...document.querySelectorAll("#route .by a")].find((a) => a.textContent === "by gauge").click(), 0`)
	b.until(`window.tenthsEarly === null && document.activeElement === figure && title.dataset.next !== ` + quoted(byPart))
	if got := b.spot(); got != "crank.pin-4.rear.90" {
		t.Errorf("choosing the route went to %s", got)
	}
	next := js[string](b, `title.dataset.next`)
	b.press("2.0613" + enter)
	b.until(`title.dataset.spot === ` + quoted(next))
	b.focused()
}

// What is held for one person is not entered as another's.
func TestHeldIsTheirs(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "THEIRS")
	b := w.tab(t, "kd", at+"/bench?spot=crank.main-1.front.0", 1440, 900)
	b.ready()
	// The session ends while a figure is kept.
	js[int](b, `fetch("/sign-out", { method: "POST" }).then(() => { window.out = true }), 0`)
	b.until(`window.out`)
	b.press("2.3130" + enter)
	b.until(`location.pathname === "/sign-in"`)
	b.until(`document.readyState === "complete"`)
	b.do(chromedp.SendKeys(chromedp.CSS("[name=handle]"), "ow"), chromedp.SendKeys(chromedp.CSS("[name=password]"), password+"\r"))
	b.until(`location.pathname.endsWith("/bench")`)
	b.ready()
	b.press("2.3128")
	entries, err := w.shop.Entries(t.Context(), "THEIRS")
	if err != nil {
		t.Fatal(err)
	}
	b.until(`document.getElementById("strip").checkVisibility() && strip.textContent.includes("2.3130")`)
	for i := range entries {
		if entries[i].By == "ow" {
			t.Errorf("what K. Dorn measured is entered as O. Weiss's: %v", entries[i].What)
		}
	}
}

// A line of the table opens to its sum, and closes again.
func TestSumOpens(t *testing.T) {
	w := sharedWorld(t)
	b := w.tab(t, "kd", "/orders/"+demoOrder+"/limits", 1440, 900)
	b.until(`window.htmx`)
	const first = `document.querySelector("tr.line .c-name a")`
	js[int](b, first+`.focus(), 0`)
	b.press(enter)
	b.until(`document.querySelectorAll("tr.sumrow").length === 1`)
	b.until(`document.querySelector("tr.sumrow .workings").checkVisibility()`)
	b.press(enter)
	b.until(`![...document.querySelectorAll("tr.sumrow")].some((r) => r.checkVisibility())`)
	js[int](b, `(document.querySelector("[name=find]").focus(), 0)`)
	b.press("main journal")
	b.until(`document.querySelectorAll("tr.line").length > 0 && [...document.querySelectorAll("tr.line")].every((r) => /main journal/i.test(r.innerText))`)
	if got := js[string](b, `document.activeElement.name`); got != "find" {
		t.Errorf("while searching the focus went to %s", got)
	}
}

// The theme is kept, and its key says what it does.
func TestTheme(t *testing.T) {
	w := sharedWorld(t)
	b := w.tab(t, "kd", "/people", 1440, 900)
	if got := b.text("[data-theme-key]"); got != "Night" {
		t.Errorf("by day the key says %q", got)
	}
	js[int](b, `document.querySelector("[data-theme-key]").click(), 0`)
	b.open("/books")
	if got := js[string](b, `document.documentElement.dataset.theme`); got != "night" {
		t.Errorf("the next page is by %s", got)
	}
	if got := b.text("[data-theme-key]"); got != "Day" {
		t.Errorf("by night the key says %q", got)
	}
}

// Nothing typed is lost and nothing doubled when the server is stopped and
// started in the middle.
func TestServerStops(t *testing.T) {
	s := startServed(t, filepath.Join(t.TempDir(), "engine"))
	b := newTab(t, s.url, "", 1440, 900)
	b.open("/sign-in")
	b.do(chromedp.SendKeys(chromedp.CSS("[name=handle]"), "kd"), chromedp.SendKeys(chromedp.CSS("[name=password]"), s.password+"\r"))
	b.until(`location.pathname === "/" && document.querySelector("ul.floor")`)
	b.open("/orders/" + demoOrder + "/bench?spot=rod-4.bigend.front.0")
	b.ready()
	before := s.count(b)
	typed := []string{"2.2371", "2.2372", "2.2373", "2.2374"}
	spots := []string{b.spot()}
	next := func() { spots = append(spots, js[string](b, `title.dataset.next`)) }
	next()
	b.press(typed[0] + enter)
	b.until(`strip.hidden && title.dataset.spot === ` + quoted(spots[1]))
	next()
	s.stop()
	b.press(typed[1] + enter)
	b.until(`!strip.hidden && strip.textContent.includes("2.2372")`)
	// Whatever becomes of the third, it is held or stands in the field.
	b.press(typed[2] + enter)
	b.until(`(strip.textContent + figure.value).includes("2.2373")`)
	b.focused()
	s.start()
	b.until(`strip.hidden && title.dataset.spot !== ` + quoted(spots[1]))
	b.focused()
	if b.figure() == typed[2] {
		b.press(enter)
	}
	b.until(`strip.hidden && figure.value === "" && title.dataset.spot !== ` + quoted(spots[2]))
	b.press(typed[3] + enter)
	b.until(`!localStorage.getItem("tenths-held /orders/` + demoOrder + `")?.includes("id")`)
	if got := s.count(b); got != before+len(typed) {
		t.Errorf("the log has %d more entries for %d figures", got-before, len(typed))
	}
	b.open("/orders/" + demoOrder + "/log")
	log := js[string](b, `[...document.querySelectorAll("ol.log li")].slice(0, 6).map((l) => l.innerText).join("\n")`)
	for _, v := range typed {
		if n := strings.Count(log, v); n != 1 {
			t.Errorf("%s stands %d times in:\n%s", v, n, log)
		}
	}
}

// From nothing to a first verdict, in a new shop, on somebody's own small book,
// by keyboard.
func TestFirstVerdict(t *testing.T) {
	w := ownWorld(t, true)
	b := newTab(t, w.URL, "", 1440, 900)
	steps := 0
	step := func(keys string) { steps++; b.press(keys) }
	b.open("/")
	b.until(`document.activeElement.name === "title"`)
	step("Small shop" + tabKey + "K. Dorn" + tabKey + "kd" + tabKey + "mechanic" + tabKey + "204411" + tabKey + "long enough" + tabKey + "long enough" + enter)
	b.until(`location.pathname === "/" && document.querySelector(".empty a")`)
	js[int](b, `document.querySelector(".empty a").focus(), 0`)
	step(enter)
	b.until(`location.pathname === "/books" && document.querySelector("[name=book]")`)
	path := filepath.Join(t.TempDir(), "book.yaml")
	if err := os.WriteFile(path, []byte(smallBook), 0o666); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.SetUploadFiles(chromedp.CSS("form[action='/books'] [name=book]"), []string{path}))
	js[int](b, `document.querySelector("form[action='/books'] button").focus(), 0`)
	step(enter)
	b.until(`location.pathname.startsWith("/books/")`)
	b.open("/orders/new")
	js[int](b, `document.querySelector("main input").focus(), 0`)
	fields := js[[]string](b, `[...document.querySelectorAll("main form input:not([type=hidden]), main form select")].map((e) => e.name)`)
	given := map[string]string{"order": "1", "model": "M", "serial": "2", "reason": "overhaul", "customer": "own", "authority": "none", "edition": " ", "limits": " "}
	keys, last := "", ""
	for _, f := range fields {
		if f == last {
			continue // of several to choose from
		}
		if last != "" {
			keys += tabKey
		}
		keys, last = keys+given[f], f
	}
	step(keys)
	if at := js[string](b, `document.activeElement.name`); at != "limits" {
		t.Errorf("the last field is %s", at)
	}
	step(enter)
	b.until(`location.pathname === "/orders/1" && document.querySelector(".key.go")`)
	js[int](b, `document.querySelector(".key.go").focus(), 0`)
	step(enter)
	b.ready()
	step("1.9995" + enter)
	b.until(`said.textContent.includes("new")`)
	t.Logf("from nothing to the first verdict: %d steps, %d keys; it says %q", steps, b.keys, js[string](b, `said.textContent`))
}

// Without a key to type it, the unit of a figure in the other one is a tap away.
func TestOtherUnitByThumb(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "OTHERUNIT")
	b := w.tab(t, "kd", at+"/bench?spot=crank.main-1.front.0", 360, 800)
	b.size(360, 800, true)
	b.ready()
	for _, key := range "58.737" {
		b.tap(`.pad [data-add="` + string(key) + `"]`)
	}
	b.tap(`[data-do="unit"]`)
	if got := b.figure(); got != "58.737 mm" {
		t.Errorf("the figure is %q", got)
	}
	b.tap(`[data-do="unit"]`)
	if got := b.figure(); got != "58.737" {
		t.Errorf("taken back it is %q", got)
	}
	b.tap(`[data-do="unit"]`)
	b.tap(`.pad [data-do="keep"]`)
	b.until(`said.textContent.includes("new")`)
	w.client(t, "kd").page(at+"/log").has(".log .v", "58.737 mm")
}

const smallBook = `format: book/1
engine: Own engine
manual: {title: A manual, number: M-1, revision: "1", date: 2026-01-01}
unit: in
parts:
  shaft:
    name: Shaft
    features:
      journal: {name: Journal, kind: outside}
      bore: {name: Bearing bore, kind: inside}
lines:
  journal: {ref: 1, page: 1, name: Journal diameter, size: shaft.journal, new: 1.9990..2.0000, service: min 1.9980}
  bore: {ref: 2, page: 1, name: Bearing bore, size: shaft.bore, new: 2.0010..2.0020, service: 2.0030}
  fit: {ref: 3, page: 1, name: Journal in bearing, fit: shaft.bore - shaft.journal, new: 0.0010L..0.0030L, service: 0.0050L}
`
