package web_test

import (
	"strings"
	"testing"

	"tenths/internal/demo/more"
	"tenths/internal/job"
	"tenths/internal/shop"
)

// Each build is drawn lying and upright; the page says from what width on it
// lies. Beside the upright shaft each journal is a row, in the shaft's order,
// that leads to its first spot.
func TestEngineDrawings(t *testing.T) {
	w := ownWorld(t, false)
	by := shop.Who{Handle: "mp"}
	c := w.client(t, "mp")
	for _, e := range []struct {
		order        string
		book         []byte
		engine       string
		crank, whole string // from what width on they lie
		stacked      bool
		rows         int
		first, last  string
	}{
		{demoOrder, nil, "opposed", "least-600", "least-300", false, 7, "crank.main-1.front.0", "crank.main-3.front.0"},
		{"IN-LINE", more.Inline, "in-line", "least-700", "least-500", true, 13, "crank.main-1.front.0", "crank.main-7.front.0"},
		{"RADIAL", more.Radial, "radial", "least-600", "least-300", false, 3, "crank.main-1.-.0", "crank.main-2.-.0"},
	} {
		t.Run(e.engine, func(t *testing.T) {
			if e.book != nil {
				edition, err := w.shop.Adopt(t.Context(), by, "book.yaml", e.book)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := w.shop.OpenJob(t.Context(), by, job.JobOpened{
					Order: e.order, Model: e.engine, Serial: "120", Reason: "overhaul", Customer: "nobody",
					Edition: edition.Edition, Authority: "none", Limits: job.ServiceLimits,
				}); err != nil {
					t.Fatal(err)
				}
			}
			a := c.page("/orders/" + e.order)
			a.t = t
			a.one(".fits." + e.crank + " .lying svg.crank a[href]")
			a.one(".fits." + e.crank + " .upright svg.upright[aria-hidden=true]")
			a.one(".plan." + e.whole + " .lying svg." + e.engine + " a[href]")
			a.one(".plan." + e.whole + " .upright svg." + e.engine + " a[href]")
			if got := len(find(a.doc(), ".pair.stacked")) == 1; got != e.stacked {
				t.Errorf("above the list of parts: %v", got)
			}
			rows := a.all(".stand ol li a")
			if len(rows) != e.rows {
				t.Fatalf("%d journals in the list", len(rows))
			}
			for n, spot := range map[int]string{0: e.first, e.rows - 1: e.last} {
				if got, want := attr(rows[n], "href"), "/orders/"+e.order+"/bench?spot="+spot; got != want {
					t.Errorf("row %d leads to %s, not %s", n+1, got, want)
				}
				c.page(attr(rows[n], "href"))
			}
			floor := c.page("/")
			floor.t = t
			drawn := false
			for _, svg := range floor.all("ul.floor a.pic svg") {
				drawn = drawn || strings.Contains(attr(svg, "aria-label"), e.engine)
			}
			if !drawn {
				t.Error("it is not drawn on the floor")
			}
		})
	}
	a := c.page("/orders/" + demoOrder)
	a.has(".stand li", "Crankpin 2 beyond 2.0597")
}

// What is asked of two parts that read alike is asked of each.
func TestAsksThatReadAlike(t *testing.T) {
	w := sharedWorld(t)
	at := w.job(t, "ALIKE")
	c := w.client(t, "kd")
	for _, n := range []string{"1", "2"} {
		c.post(at+"/readings", "spot", "crank.main-"+n+".front.0", "value", "2.3140").to()
	}
	text := c.page(at).text()
	for _, n := range []string{"1", "2"} {
		if !strings.Contains(text, "Main journal diameter "+n+": look again") {
			t.Errorf("nothing is asked of main journal %s", n)
		}
	}
}

// An engine whose serial number can't be held against the book's is asked about;
// that is no condition that could be stated with a button.
func TestSerialNumberAsked(t *testing.T) {
	w := sharedWorld(t)
	state, err := w.shop.Record(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range state.Editions {
		if e.Engine == "Invented four-cylinder opposed engine" {
			open := job.JobOpened{
				Order: "SERIAL", Model: "Invented four", Serial: "L-1127-A", Reason: "overhaul", Customer: "nobody", Edition: e.Edition, Authority: "none", Limits: job.ServiceLimits,
			}
			if _, err := w.shop.OpenJob(t.Context(), shop.Who{Handle: "mp"}, open); err != nil {
				t.Fatal(err)
			}
		}
	}
	c := w.client(t, "kd")
	if text := c.page("/orders/SERIAL").text(); !strings.Contains(text, "it can't be told whether L-1127-A is one of them") {
		t.Errorf("it is not asked about: %s", text)
	}
}
