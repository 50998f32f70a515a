//go:build browser

package web_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// From one row for four cylinders to the bench that asks for each of their bores in
// two directions, by keyboard: the largest of each counts.
func TestPlacesToBench(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	to := c.upload("/drafts", "t.csv", []byte("Description,New (in),Service\nCylinder bore,5.1250 - 5.1260,5.1300\nMain journal diameter,2.2490 - 2.2500,2.2470\n"), "engine", "Four").to()
	b := w.tab(t, "mp", to+"/rows", 1440, 900)
	b.until(`document.querySelector(".counts summary").innerText.includes("2 spots to measure")`)
	js[int](b, `(document.querySelector(".counts summary").focus(), 0)`)
	b.press(tabKey + "4" + tabKey + tabKey + "↓" + enter)
	b.until(`document.readyState === "complete" && document.querySelector(".counts summary").innerText.includes("10 spots to measure")`)
	if got := b.text(".counts summary"); !strings.Contains(got, "4 × Cylinder") || js[bool](b, `document.querySelector(".counts").open`) {
		t.Errorf("the page says %q", got)
	}

	// The journals, at their row.
	js[int](b, `(document.querySelector("#row-3 .kind-of[href*='at=']").focus(), 0)`)
	b.press(enter)
	b.until(`document.activeElement.name === "places"`)
	js[int](b, `(document.activeElement.select(), 0)`)
	if !js[bool](b, `(() => { const at = document.activeElement.getBoundingClientRect(); return at.top > 0 && at.bottom < document.querySelector(".keys-of.stay").getBoundingClientRect().top; })()`) {
		t.Error("where the row is measured is out of sight")
	}
	b.press("3" + tabKey + "front and rear" + enter)
	b.until(`document.readyState === "complete" && document.querySelector(".counts summary").innerText.includes("20 spots to measure")`)
	if got := b.text("#row-3 .what"); !strings.Contains(got, "3 places, front and rear, 0 and 90: 12 spots") {
		t.Errorf("the row says %q", got)
	}
	b.press(enter) // on to the next step, where nothing has the focus
	b.until(`location.pathname === ` + quoted(to+"/findings"))

	a := c.page(to + "/adopt")
	edition := c.post(to+"/adopt", with(a.asSent("form[action="+to+"/adopt]"), "do", "adopt", "number", "OM-1")...).to()
	edition, _, _ = strings.Cut(strings.TrimPrefix(edition, "/books/"), "?")
	order := c.post("/orders", "order", "W4", "model", "Four", "serial", "9", "reason", "overhaul", "customer", "nobody", "edition", edition, "authority", "none", "limits", "service", "since_new", "1000").to()
	b.open(order + "/bench?spot=cylinder-1.bore.-.0")
	b.ready()
	var asked []string
	for i, figure := range []string{"5.1255", "5.1258", "5.1256", "5.1310", "5.1255", "5.1257", "5.1280", "5.1255"} {
		at := b.spot()
		asked = append(asked, at)
		b.press(figure + enter)
		b.until(fmt.Sprintf("title.dataset.spot !== %s", quoted(at)))
		if i == 7 && !strings.HasPrefix(b.spot(), "crank.") {
			t.Errorf("behind the last bore it asks for %s", b.spot())
		}
	}
	slices.Sort(asked)
	if want := "cylinder-1.bore.-.0 cylinder-1.bore.-.90 cylinder-2.bore.-.0 cylinder-2.bore.-.90 cylinder-3.bore.-.0 cylinder-3.bore.-.90 cylinder-4.bore.-.0 cylinder-4.bore.-.90"; strings.Join(asked, " ") != want {
		t.Errorf("the bench asks for %s", asked)
	}
	ro := w.web.Shop()
	if err := until(t.Context(), func(ctx context.Context) (bool, error) {
		j, err := ro.Job(ctx, "W4")
		return err == nil && len(j.Readings) == 8, err
	}); err != nil {
		t.Fatal(err)
	}
	j, err := ro.Judged(t.Context(), "W4")
	if err != nil {
		t.Fatal(err)
	}
	grades := ""
	for i := range j.Verdicts {
		if v := &j.Verdicts[i]; v.Measured {
			grades += v.Grade.String() + " "
		}
	}
	if grades != "new beyond new serviceable " {
		t.Errorf("the cylinders are %s", grades)
	}
}
