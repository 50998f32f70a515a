package web_test

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const fourCylinders = `Ref,Description,New (in),Service
1,Main journal diameter,2.2490 - 2.2500,2.2470
2,Main bearing bore,2.2515 - 2.2525,2.2540
3,Main bearing clearance on journal,0.0015 - 0.0035,0.0060
4,Cylinder bore,5.1250 - 5.1260,"5,1300"
5,Piston skirt diameter,5.1150 - 5.1160,5.1120
`

// A table has one row for four cylinders: the page asks how many there are and where
// each row is measured, and what was settled and linked stays.
func TestPlacesWay(t *testing.T) {
	w := ownWorld(t, false)
	c := w.client(t, "mp")
	to := c.upload("/drafts", "t.csv", []byte(fourCylinders), "engine", "Four").to()
	a := c.page(to + "/holds")
	at := attr(a.one("input[name=at]"), "value")
	c.post(to+"/holds", "at", at, "says", attr(a.one("input[name=says]"), "value"), "known", "the older printing").to()
	a = c.page(to + "/fits")
	fit := attr(a.one("input[name=fit]"), "value")
	c.post(to+"/fits", "at", attr(a.one("input[name=at]"), "value"), "fit", fit).to()

	a = c.page(to + "/rows")
	a.has("details.counts summary", "4 spots to measure")
	counts := a.asSent(".counts form")
	if counts["count-cylinder"] != "1" || counts["across"] != "one" {
		t.Fatalf("the form says %q", counts)
	}
	c.post(to+"/counts", with(counts, "count-cylinder", "4", "count-piston", "4", "across", "0, 90")...).to()
	a = c.page(to + "/rows")
	a.has(".counts summary", "20 spots to measure")
	a.has(".counts summary", "4 × Cylinder")
	a.has("#row-5 .what", "1 place, 0 and 90 on each of 4: 8 spots")
	a.has(".sum-of", "5 rows = 5 lines + 0 held")
	a.has("#row-5 .said", "the older printing")

	// Three journals and one bearing are no fit: the link is put aside, and told, until
	// there are as many bearings.
	measured := c.page(to + "/rows?at=2").asSent("form.kind")
	c.post(to+"/measured", with(measured, "places", "3", "planes", "front and rear")...).to()
	c.page(to+"/rows").has(".query li", "crank.mainjournaldia is 3")
	a = c.page(to + "/fits")
	a.has(".choice .note", "Main bearing bore is 1, Main journal diameter is 3: who mates with whom? Say on Rows how many there are of each")
	if len(a.all("input[name=fit][disabled]")) == 0 {
		t.Error("a fit that can't be linked is offered")
	}
	c.post(to+"/counts", with(c.page(to+"/rows").asSent(".counts form"), "count-main", "3")...).to()
	a = c.page(to + "/fits")
	a.has(".hold-list .done", "Main bearing clearance on journal")
	c.page(to+"/rows").has(".counts summary", "34 spots to measure")

	// What is said of the whole goes on to reach the row of which something else is said.
	c.post(to+"/counts", with(c.page(to+"/rows").asSent(".counts form"), "across", "one")...).to()
	c.page(to+"/rows").has("#row-2 .what", "3 places, front and rear: 6 spots")
	// Said as it was before, nothing is left of it.
	measured = c.page(to + "/rows?at=2").asSent("form.kind")
	c.post(to+"/measured", with(measured, "places", "1", "planes", "")...).to()
	said, err := os.ReadFile(filepath.Join(w.dir, "drafts", "four", "01-t.mapping.yaml"))
	if err != nil || strings.Contains(string(said), "measured") || !strings.Contains(string(said), "Cylinder: 4") {
		t.Errorf("%v: the mapping is\n%s", err, said)
	}

	// What can't be is refused, and nothing is changed by it.
	for _, bad := range []struct {
		path, says string
		fields     []string
	}{
		{"/counts", "write a number from 1 to 999", []string{"count-cylinder", "0"}},
		{"/counts", "write a number from 1 to 999", []string{"count-cylinder", "four"}},
		{"/counts", "is not a list of directions", []string{"across", "0/90"}},
		{"/measured", "is no name of a plane", []string{"row", "2", "places", "1", "planes", "0 and 90"}},
		{"/measured", "more than", []string{"row", "2", "places", "999", "planes", "a b c d e f g h i j k l m n o p q r s t u v w x y z", "directions", "0 1 2 3 4 5 6 7 8 9"}},
		{"/measured", "no row 99", []string{"row", "99", "places", "1"}},
	} {
		if a := c.post(to+bad.path, bad.fields...); a.code != http.StatusUnprocessableEntity || !strings.Contains(a.text(), bad.says) {
			t.Errorf("%s %q: %d %.300s", bad.path, bad.fields, a.code, a.text())
		}
	}
	if now, err := os.ReadFile(filepath.Join(w.dir, "drafts", "four", "01-t.mapping.yaml")); err != nil || string(now) != string(said) {
		t.Errorf("%v: the mapping is now\n%s", err, now)
	}

	c.post(to+"/counts", with(c.page(to+"/rows").asSent(".counts form"), "across", "0, 90")...).to()
	c.post(to+"/measured", "row", "2", "places", "1", "planes", "front", "directions", "").to()
	if a := c.post(to+"/kinds", "row", "2", "kind", "out-of-round"); a.code == http.StatusSeeOther {
		t.Error("a journal of one direction is out-of-round")
	} else {
		a.has("[role=alert]", "Main journal diameter: It has fewer than two directions, so it has no out-of-round: list the directions it is measured in.")
		a.has(".counts summary", "spots to measure")
	}

	// The engine has as many for another table of it.
	if a := c.upload(to+"/tables", "more.csv", []byte("Description,New (in),Service\nCylinder flange thickness,0.500 - 0.510,min 0.490\nVariation in height of cylinders,max 0.01,max 0.02\n"), "table", "0"); a.code != http.StatusSeeOther {
		t.Fatalf("%d %s", a.code, a.text())
	}
	a = c.page(to + "/rows?table=1")
	a.has("#row-2 .what", "on each of 4")
	c.post(to+"/counts", with(a.asSent(".counts form"), "count-cylinder", "6")...).to()
	c.page(to+"/rows?table=0").has("#row-5 .what", "on each of 6")
}
