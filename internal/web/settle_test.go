package web_test

import (
	"net/http"
	"strings"
	"testing"
)

// Two readings at one spot are settled where they are seen: on the engine's
// page and at the bench, by a form.
func TestSettle(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SETTLE")
	kd, ow := w.client(t, "kd"), w.client(t, "ow")
	const spot = "crank.main-1.front.0"
	kd.post(at+"/readings", "spot", spot, "value", "2.3130", "gauge", "micrometer 2-3", "read_by", "ap")
	if a := kd.page(at + "/bench?spot=" + spot); len(find(a.doc(), "#settle form")) != 0 {
		t.Error("one reading is to be settled")
	}
	ow.post(at+"/readings", "spot", spot, "value", "+3", "unit", "tenths", "setting", "2.2810")
	kd.post(at+"/readings", "spot", spot, "value", "2.3129", "note", "again", "temperature", "71 F")

	for path, back := range map[string]string{
		at: at, at + "/bench?spot=" + spot: at + "/bench?spot=" + spot, at + "/bench/spot?spot=" + spot: at + "/bench?spot=" + spot,
	} {
		a := kd.page(path)
		a.has("#settle legend", "3 readings at one spot: which is wrong?")
		first := a.one("#settle form .choice")
		if got := textOf(find(first, "span.fig")[0]); got != "2.3130 in" {
			t.Errorf("%s: the first reading is shown as %q", path, got)
		}
		a.has("#settle .choice", "Read by A. Prentis, written by K. Dorn")
		a.has("#settle .choice", "micrometer 2-3")
		a.has("#settle .choice .fig", "2.2813 in") // the size that the deviation comes to
		a.has("#settle .choice .note", "+3 tenths on 2.2810 in")
		a.has("#settle .choice .note", "By O. Weiss")
		a.has("#settle .choice .note", "71 °F, again")
		counting := 0
		for _, c := range a.all("#settle .choice") {
			if strings.Contains(textOf(c), "the one that counts until this is settled") {
				counting++
				if !strings.Contains(textOf(c), "2.2813") {
					t.Errorf("%s: %q counts", path, textOf(c))
				}
			}
		}
		if counting != 1 {
			t.Errorf("%s: %d of them count", path, counting)
		}
		if n := len(a.all("#settle input[name=entry][required]")); n != 3 {
			t.Errorf("%s: %d to choose from", path, n)
		}
		if n := len(a.all("#settle input[name=why]")); n != 8 {
			t.Errorf("%s: %d reasons", path, n)
		}
		if got := attr(a.one("#settle form input[name=back]"), "value"); got != back {
			t.Errorf("%s: it leads back to %q", path, got)
		}
	}
	// Who may not strike sees them, and who settles it.
	a := w.client(t, "ap").page(at)
	a.has("#settle", "2.3130 in")
	a.has("#settle p", "A mechanic, an inspector or a manager settles it.")
	a.one("#settle fieldset[disabled]")
	if len(find(a.doc(), "#settle button")) != 0 {
		t.Error("an apprentice has a key to strike with")
	}

	entry := func(n int) string {
		return attr(kd.page(at).all("#settle input[name=entry]")[n], "value")
	}
	first, second := entry(0), entry(1)
	a = kd.post(at+"/strikes", "entry", second, "settles", spot, "back", at)
	if a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "reason") {
		t.Errorf("without a reason: %d %s", a.code, a.text())
	}
	a = kd.post(at+"/strikes", "entry", second, "settles", spot, "back", at, "why", "gauge not set", "words", "the master was 2.3125")
	if got := a.to(); got != at {
		t.Errorf("it leads to %s", got)
	}
	kd.page(at).has("#settle legend", "2 readings at one spot")
	a = kd.post(at+"/strikes", "entry", first, "settles", spot, "back", at+"/bench?spot="+spot, "words", "read one turn off")
	if got := a.to(); got != at+"/bench?spot="+spot {
		t.Errorf("it leads to %s", got)
	}
	for _, path := range []string{at, at + "/bench?spot=" + spot} {
		if a := kd.page(path); len(find(a.doc(), "#settle form")) != 0 {
			t.Errorf("%s: it is settled, and asks", path)
		}
	}
	a = kd.page(at + "/log")
	a.has("li.is-struck .note", "gauge not set: the master was 2.3125")
	a.has("li.is-struck .note", "read one turn off")

	// A page that was made before does not strike the last one too.
	last := attr(a.one(".strike input[name=entry]"), "value")
	a = ow.post(at+"/strikes", "entry", last, "settles", spot, "back", at, "why", "misread")
	if a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), "settled already") {
		t.Errorf("an old page: %d %s", a.code, a.text())
	}
	if a := kd.page(at + "/log"); len(find(a.doc(), "li.is-struck")) != 2 {
		t.Error("the last reading was struck by an old page")
	}
}

// Where many spots wait, a few are shown with their readings and the rest lead
// to the bench.
func TestSettleMany(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "SETTLE-MANY")
	c := w.client(t, "kd")
	for _, site := range []string{"main-1", "main-2", "main-3", "pin-1"} {
		for _, spot := range []string{"front.0", "front.90"} {
			for _, value := range []string{"2.3130", "2.3131"} {
				c.post(at+"/readings", "spot", "crank."+site+"."+spot, "value", value)
			}
		}
	}
	a := c.page(at)
	if n := len(a.all("#settle form")); n != 6 {
		t.Errorf("%d are shown with their readings", n)
	}
	if n := len(a.all("#settle a.step")); n != 2 {
		t.Errorf("%d lead on", n)
	}
	a.one("#settle a.step[href=" + at + "/bench?spot=crank.pin-1.front.90]")
}
