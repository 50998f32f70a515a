//go:build browser

package web_test

import (
	"context"
	"strings"
	"testing"
)

// drop gives a file to the page's form, as its dialog would: opened by a key, the
// file picked by three, taken by one.
func (b *tab) drop(name string, data []byte) {
	b.t.Helper()
	b.until(`document.activeElement.name === "file"`)
	js[int](b, `(() => { const d = new DataTransfer(); d.items.add(new File([`+quoted(string(data))+`], `+quoted(name)+`)); document.activeElement.files = d.files; return 0; })()`)
	b.keys += 5
}

// A new user's way, by keyboard alone: from an empty folder and a careless table
// to a reading with its grade.
func TestCarelessTableToGrade(t *testing.T) {
	w := ownWorld(t, true)
	b := w.tab(t, "", "/first", 1440, 900)
	steps := map[string]int{}
	var names []string
	step := func(name string) {
		done := b.keys
		for _, n := range steps {
			done -= n
		}
		steps[name] = done
		names = append(names, name)
	}
	at := func(path string) {
		b.t.Helper()
		b.until(`location.pathname === ` + quoted(path) + ` && document.readyState === "complete"`)
	}

	b.until(`document.activeElement.name === "title"`)
	b.press("My shop" + tabKey + "R. Okafor" + tabKey + "ro" + tabKey + tabKey + tabKey + password + tabKey + password + enter)
	at("/")
	step("a shop")
	b.open("/books") // the empty floor's link
	b.press(enter)
	b.keys += 5 // to it, by Tab
	at("/books")
	b.drop("my limits.csv", careless(t))
	b.press(tabKey + "Old four" + enter)
	at("/drafts/old-four/columns")
	step("the table brought in")

	// The unit, which nothing says; what a blank and an asterisk mean.
	b.until(`window.htmx && document.activeElement.id === "unit-in"`)
	b.press(" ")
	b.until(`document.querySelector("#unit-in").checked && document.activeElement.id === "unit-in" && document.querySelectorAll("#preview li").length === 8`)
	b.press(tabKey + tabKey + "↓")
	b.until(`document.activeElement.id === "means0-0" && document.activeElement.checked && document.querySelector("#preview > .note").innerText.includes("26 lines + 4 held")`)
	b.press(tabKey + "↓")
	b.until(`document.activeElement.id === "means1-0" && document.activeElement.checked && document.querySelector("#preview > .note").innerText.includes("27 lines + 3 held")`)
	b.press(enter)
	at("/drafts/old-four/rows")
	step("what the columns hold")
	if got := b.text(".sum-of"); got != "30 rows = 27 lines + 3 held" {
		t.Errorf("the sum is %q", got)
	}
	b.press(enter)
	at("/drafts/old-four/holds")
	step("the rows looked at")

	// Two cells that contradict each other, and two smudges; one blank.
	b.until(`document.querySelector(".hold-form")`)
	left := func() int { return js[int](b, `document.querySelectorAll(".hold-list li:not(.done)").length`) }
	n := left()
	b.press("11" + enter)
	for k := n - 1; k > 0; k-- {
		b.until(`document.readyState === "complete" && document.querySelectorAll(".hold-list li:not(.done)").length === ` + string(rune('0'+k)))
		b.press("1" + enter)
	}
	at("/drafts/old-four/fits")
	step("the holds settled")
	// Clearances that are the fits of their sizes.
	for n = left(); n > 0; n-- {
		b.until(`document.readyState === "complete" && document.querySelectorAll(".hold-list li:not(.done)").length === ` + string(rune('0'+n)))
		b.press("1" + enter)
	}
	at("/drafts/old-four/findings")
	step("the fits confirmed")
	if got := b.text(".sum-of"); got != "30 rows = 30 lines + 0 held" {
		t.Errorf("the sum is %q", got)
	}
	// A note, that two figures of one row have different decimals, may stand.
	b.press("4" + enter)
	at("/drafts/old-four/adopt")
	step("the findings looked at")
	js[int](b, `(document.querySelector("[name=number]").focus(), 0)`)
	b.keys += 9 // to it, by Tab
	b.press("OM-1" + enter)
	b.until(`location.pathname.startsWith("/books/") && document.activeElement.matches(".key.go")`)
	step("adopted")
	b.press(enter)
	at("/orders/new")
	b.until(`document.activeElement.name === "order"`)
	b.press("1" + tabKey + "me" + tabKey + tabKey + "77" + tabKey + tabKey + tabKey + "time" + tabKey + "own" + tabKey + " " + enter)
	at("/orders/1")
	step("a work order")
	js[int](b, `(document.querySelector(".top .key.go").focus(), 0)`)
	b.keys += 9
	b.press(enter)
	b.ready()
	b.press("2.2475" + enter)
	step("a reading")
	ro := w.web.Shop()
	err := until(t.Context(), func(ctx context.Context) (bool, error) {
		j, err := ro.Job(ctx, "1")
		return err == nil && len(j.Readings) == 1, err
	})
	if err != nil {
		t.Fatal(err)
	}
	j, err := ro.Judged(t.Context(), "1")
	if err != nil {
		t.Fatal(err)
	}
	graded := ""
	for i := range j.Verdicts {
		if v := &j.Verdicts[i]; v.Measured {
			graded += v.Line.Name + " " + v.Grade.String()
		}
	}
	if graded != "Main journal dia serviceable" {
		t.Errorf("the reading is graded %q", graded)
	}
	for _, name := range names {
		t.Logf("%-26s %d keys", name, steps[name])
	}
	t.Logf("%-26s %d keys", "all", b.keys)
}

// Whoever says things faster than the page shows what they come to loses none.
func TestColumnsFasterThanPreview(t *testing.T) {
	w := ownWorld(t, false)
	to := w.client(t, "mp").upload("/drafts", "my limits.csv", careless(t), "engine", "Fast").to()
	b := w.tab(t, "mp", to+"/columns", 1440, 900)
	b.until(`window.htmx && document.activeElement.id === "unit-in"`)
	answer := w.delay(to + "/columns")
	b.press(" " + tabKey + tabKey + "↓" + tabKey + "↓")
	answer(true)
	const all = `["unit-in", "means0-0", "means1-0"].every((id) => document.getElementById(id).checked)`
	b.until(all + ` && document.querySelector("#preview > .note").innerText.includes("27 lines + 3 held")`)
	if !js[bool](b, all+` && document.activeElement.id === "means1-0"`) {
		t.Error("what was said is lost, or where the hand was")
	}
	b.press(enter)
	b.until(`location.pathname.endsWith("/rows")`)
	if got := b.text(".sum-of"); got != "30 rows = 27 lines + 3 held" {
		t.Errorf("the sum is %q", got)
	}
}

// A hold and a finding are settled by thumb, on a phone: whatever is touched is
// large enough, and under nothing else.
func TestHoldsByThumb(t *testing.T) {
	w := ownWorld(t, false)
	to := w.client(t, "mp").draft("Thumb")
	b := w.tab(t, "mp", to+"/holds?at=camshaft-camshaft-end-play+service", 360, 720)
	b.size(360, 720, true)
	tap := func(selector string) {
		t.Helper()
		js[int](b, `(document.querySelector(`+quoted(selector)+`).scrollIntoView({ block: "center" }), 0)`)
		b.tap(selector)
	}
	b.until(`document.querySelector(".hold-form")`)
	tap(".readings label.choice")
	tap(".whys label:nth-of-type(2)")
	tap(".keys-of .go")
	b.until(`location.search.includes("top-ring-side") && document.readyState === "complete"`)
	tap("[data-skip]")
	b.until(`location.search.includes("pin-dia") && document.readyState === "complete"`)
	b.open(to + "/findings")
	tap(".readings label.choice")
	tap(".whys label:nth-of-type(1)")
	tap(".keys-of .go")
	b.until(`location.pathname.endsWith("/adopt") && document.readyState === "complete"`)
	if got := b.text(".sum-of"); got != "30 rows = 27 lines + 3 held" {
		t.Errorf("the sum is %q", got)
	}
}

// Enter twice sends a fit once: nobody is told that nothing was chosen who chose.
func TestFitEnteredTwice(t *testing.T) {
	w := ownWorld(t, false)
	to := w.client(t, "mp").draft("Twice")
	b := w.tab(t, "mp", to+"/fits", 1440, 900)
	b.until(`document.querySelector(".hold-form")`)
	js[int](b, `(window.before = 1)`)
	answer := w.delay(to + "/fits")
	b.press("1" + enter + enter)
	answer(true)
	b.until(`document.readyState === "complete" && !window.before && document.querySelector("main")`)
	if got := b.text("main"); strings.Contains(got, "Nothing that is suggested is chosen") {
		t.Errorf("%s", got)
	}
	if n := strings.Count(w.log.String(), `pattern="POST /drafts/{draft}/fits"`); n != 1 {
		t.Errorf("sent %d times", n)
	}
}
