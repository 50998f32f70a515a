package web_test

import (
	"net/http"
	"testing"

	"tenths/internal/job"
)

// fields are what a browser without script sends of the bench's form.
func (a answered) fields(value string) []string {
	a.t.Helper()
	all := []string{"value", value}
	for _, in := range a.all("form#reading input[name]") {
		if name := attr(in, "name"); name != "value" {
			all = append(all, name, attr(in, "value"))
		}
	}
	for _, s := range a.all("form#reading select[name]") {
		chosen := ""
		for _, o := range find(s, "option[selected]") {
			if chosen = textOf(o); hasAttr(o, "value") {
				chosen = attr(o, "value")
			}
		}
		all = append(all, attr(s, "name"), chosen)
	}
	return all
}

// One calls and another writes: chosen once, both in the record with every
// reading, and what was kept stands there large to be read back.
func TestCaller(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "CALLER")
	c := w.client(t, "kd")
	a := c.page(at + "/bench?spot=crank.main-1.front.0")
	names := map[string]string{}
	for _, o := range a.all("datalist#callers option") {
		names[attr(o, "value")] = textOf(o)
	}
	if len(names) != 3 || names["ow"] != "O. Weiss" || names["kd"] != "" {
		t.Errorf("who can call: %v", names)
	}
	if !hasAttr(a.one("#called"), "hidden") {
		t.Error("nothing was kept, and something is read back")
	}
	fields := append(a.fields("2.3130"), "read_by", "ow", "gauge", "micrometer 2-3")
	for i := 0; i < len(fields)-4; i += 2 { // typed over
		if fields[i] == "read_by" || fields[i] == "gauge" {
			fields[i] = "was-" + fields[i]
		}
	}
	a = c.page(c.post(at+"/readings", fields...).to())
	check := func(place, value string) {
		t.Helper()
		a.t = t
		if hasAttr(a.one("#called"), "hidden") {
			t.Fatal("nothing is read back")
		}
		a.has("#called .note", "Kept: "+place)
		a.has("#called .fig", value)
		a.has("#beside", "O. Weiss reads")
	}
	check("Main journal 1, plane front, direction 0°", "2.3130 in")
	// Chosen once: the next one is sent as the page has it.
	a = c.page(c.post(at+"/readings", a.fields("58.745 mm")...).to())
	check("Main journal 1, plane front, direction 90°", "58.745 mm")

	entries, err := w.shop.Entries(t.Context(), "CALLER")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i := range entries {
		if r, ok := entries[i].What.(*job.ReadingTaken); ok {
			n++
			if r.ReadBy != "ow" || entries[i].By != "kd" || r.Gauge != "micrometer 2-3" {
				t.Errorf("entry %d: read by %q with %q, written by %q", entries[i].Seq, r.ReadBy, r.Gauge, entries[i].By)
			}
		}
	}
	if n != 2 {
		t.Errorf("%d readings", n)
	}

	// What is refused is not read back as kept.
	a = c.post(at+"/readings", a.fields("2.31x")...)
	if a.code != http.StatusUnprocessableEntity || !hasAttr(a.one("#called"), "hidden") {
		t.Errorf("refused: %d, %s", a.code, textOf(a.one("#called")))
	}
	// Who reads what they write is named once.
	c.post(at+"/readings", "spot", "crank.main-2.front.0", "value", "2.3130", "read_by", "kd").to()
	a = c.page(at + "/bench?spot=crank.main-2.front.90")
	if got := attr(a.one("form#reading input[name=read_by]"), "value"); got != "" || !hasAttr(a.one("#called"), "hidden") {
		t.Errorf("read by %q, read back: %s", got, textOf(a.one("#called")))
	}
}

// A setting stays for the next bore; what takes none is sent without it. Who
// signs in next has their own.
func TestBesideStays(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "BESIDE")
	c := w.client(t, "kd")
	c.post(at+"/readings", "spot", "cylinder-1.bore.upper.0", "value", "+3", "setting", "5.0000", "unit", "tenths", "sense", "plus smaller").to()
	a := c.page(at + "/bench?spot=cylinder-1.bore.upper.90")
	a.has("#beside", "set to 5.0000")
	c.post(at+"/readings", a.fields("-2")...).to()
	c.post(at+"/readings", c.page(at+"/bench?spot=crank.crack").fields("no")...).to()
	c.post(at+"/readings", c.page(at+"/bench?spot=rod-4.side").fields("0.004 goes, 0.005 does not")...).to()
	a = c.page(at + "/bench?spot=cylinder-1.bore.lower.0")
	a.has("#beside", "set to 5.0000")
	want := [][2]string{
		{"cylinder-1.bore.upper.0", "+3 tenths on 5.0000 in"},
		{"cylinder-1.bore.upper.90", "-2 tenths on 5.0000 in"},
		{"crank.crack", "no"},
		{"rod-4.side", "0.004 in goes, 0.005 in does not"},
	}
	got := w.taken(t, "BESIDE")
	for i := range want {
		if i >= len(got) || got[i] != want[i] {
			t.Fatalf("the log has %v, not %v", got, want)
		}
	}
	c.post("/sign-in", "handle", "ow", "password", password).to()
	if got := textOf(c.page(at + "/bench?spot=cylinder-1.bore.lower.0").one("#beside")); got != "" {
		t.Errorf("who signs in next has %q", got)
	}
}
