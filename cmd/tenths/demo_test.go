package main

import (
	"path/filepath"
	"testing"

	"tenths/internal/shop"
	"tenths/internal/store/sqlite"
)

// The demo's shop has an engine of each build on its floor, nearly all of it
// measured.
func TestDemoShop(t *testing.T) {
	a := &at{dir: t.TempDir()}
	path := filepath.Join(a.dir, shop.Database)
	if err := makeDemo(t.Context(), a, path); err != nil {
		t.Fatal(err)
	}
	st, err := sqlite.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	s, err := shop.Open(t.Context(), st, a.options())
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list, err := s.List(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, j := range list {
		seen[j.Order] = true
		if j.Problem != "" || j.Measured*100 < j.Spots*95 || j.Beyond == 0 {
			t.Errorf("%s: %d of %d spots measured, %d beyond: %s", j.Order, j.Measured, j.Spots, j.Beyond, j.Problem)
		}
	}
	if len(seen) != 3 || !seen["DEMO-1"] || !seen["DEMO-2"] || !seen["DEMO-3"] {
		t.Errorf("on the floor: %v", seen)
	}
}
