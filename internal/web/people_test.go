package web_test

import (
	"strings"
	"testing"

	"tenths/internal/ledger"
	"tenths/internal/shoplog"
	"tenths/internal/store"
)

// What a newer program entered is told where it holds something up, and so is a
// clock that was set back.
func TestNotKnown(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	const unknown = "This version of tenths does not know an entry of "
	for _, path := range []string{"/people", "/orders/" + demoOrder} {
		if text := c.page(path).text(); strings.Contains(text, "not know") || strings.Contains(text, "clock went back") {
			t.Errorf("%s says %s", path, text)
		}
	}
	j, err := w.shop.Job(t.Context(), demoOrder)
	if err != nil {
		t.Fatal(err)
	}
	sizes, err := w.store.Logs(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, log := range []store.Log{shoplog.Log, store.Log(j.Log)} {
		// It was recorded at the beginning of time.
		line, err := ledger.Encode(ledger.Entry{V: 2, Log: string(log), Seq: sizes[log] + 1, Shop: sizes[shoplog.Log], ID: ledger.ID("new"), By: "mp", Kind: "gauge-added", Fact: []byte(`{}`)})
		if err != nil {
			t.Fatal(err)
		}
		if grown, err := w.store.Append(t.Context(), []store.Batch{{Log: log, Size: sizes[log], Entries: [][]byte{line}}}); err != nil || grown != nil {
			t.Fatal(grown, err)
		}
	}
	people := c.page("/people")
	people.has("p.query", unknown+"the shop's log")
	people.has("p.note", "The writer's clock went back at entry")
	c.page("/orders/"+demoOrder).has("p.query", unknown+"the job")
	c.page("/orders/"+demoOrder+"/sign").has("li", "this version of tenths does not know an entry of the job")
	c.page("/orders/"+demoOrder+"/sign?part=crank&as=performed").has("p.query", unknown)
	c.page("/orders/"+demoOrder+"/log").has("li", "gauge-added")
}
