//go:build browser

package web_test

import "testing"

// Two readings at one spot are settled by the number pad: which is wrong, and
// why. The figure that is half typed stays.
func TestSettleByKeys(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SETTLEKEYS")
	const spot = "crank.main-1.front.0"
	c := w.client(t, "kd")
	for _, v := range []string{"2.3130", "2.3103"} {
		c.post(at+"/readings", "spot", spot, "value", v).to()
	}
	b := w.tab(t, "kd", at+"/bench?spot="+spot, 1440, 900)
	b.until(`document.activeElement === figure`)
	b.press("/")
	b.until(`document.activeElement.name === "entry" && document.querySelector("#settle details").open`)
	b.press("\x1b")
	b.focused()
	b.press("/2")
	b.until(`document.activeElement.name === "entry" && document.activeElement.checked`)
	b.press("9")
	b.until(`document.activeElement.name === "words"`)
	b.press("digits changed" + enter)
	b.until(`!document.querySelector("#settle form")`)
	b.focused()
	c.page(at+"/log").has("li.is-struck .note", "digits changed")
	c.page(at+"/log").has("li.is-struck .struck", "2.3103")
	if got := b.text(".taken td.here"); got != "2.3130" {
		t.Errorf("%q is left", got)
	}
}
