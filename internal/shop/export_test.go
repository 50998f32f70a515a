package shop_test

import (
	"bytes"
	"strings"
	"testing"

	"tenths/internal/export"
	"tenths/internal/shop"
)

// wantVerified wants an exported record to be unaltered, by the shop's key.
func wantVerified(t testing.TB, s *shop.Shop, file []byte) *export.Record {
	t.Helper()
	r, err := export.Read(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	o, err := export.Verify(r, must(s.Record(t.Context()))(t).Key, "")
	if err != nil || o.Finding != export.Unaltered || o.After != 0 {
		t.Errorf("the export is found to be %+v: %v", o, err)
	}
	return r
}

// An export holds the job as it is, sealed, and what it rests on; exported again
// it is the same job, by the same seal.
func TestExport(t *testing.T) {
	eachPlace(t, func(t *testing.T, p *place) {
		s := measured(t, p)
		var out, again bytes.Buffer
		sealed := must(s.Export(t.Context(), by(mechanic), order, &out))(t)
		r := wantVerified(t, s, out.Bytes())
		entries := must(s.Entries(t.Context(), order))(t)
		if sealed.Size != int64(len(entries)) || len(r.Job) != len(entries) || len(r.Blobs) != 1 {
			t.Errorf("sealed as %+v, with %d entries and %d blobs; the job has %d entries", sealed, len(r.Job), len(r.Blobs), len(entries))
		}
		if same := must(s.Export(t.Context(), by(mechanic), order, &again))(t); same != sealed {
			t.Errorf("sealed as %+v, then as %+v", sealed, same)
		}
		wantVerified(t, s, again.Bytes())
		// The seal that was got at first goes on holding.
		must(enter(t.Context(), s, mechanic, id(20), take(20)))(t)
		again.Reset()
		must(s.Export(t.Context(), by(mechanic), order, &again))(t)
		r = wantVerified(t, s, again.Bytes())
		if o, err := export.Verify(r, "", sealed.Note); err != nil || o.Finding != export.Unaltered {
			t.Errorf("by the seal that was kept it is %+v: %v", o, err)
		}
		// Altered, and cut short.
		altered := bytes.Replace(again.Bytes(), []byte("1.4981"), []byte("1.4982"), 1)
		if bytes.Equal(altered, again.Bytes()) {
			t.Fatal("nothing was altered")
		}
		wantFound(t, s, altered, export.Altered)
		lines := strings.SplitAfter(again.String(), "\n")
		wantFound(t, s, []byte(strings.Join(lines[:len(lines)-3], "")), export.Shorter)
		_, err := s.Export(t.Context(), by(mechanic), "no-such-order", &again)
		wantRefused(t, err, "order")
		_, err = s.Export(t.Context(), by(apprentice), order, &again)
		if err != nil { // it is sealed as it is: who exports it seals nothing
			t.Error(err)
		}
		whole(t, s)
	})
}

func wantFound(t *testing.T, s *shop.Shop, file []byte, want export.Finding) {
	t.Helper()
	r, err := export.Read(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if o, err := export.Verify(r, must(s.Record(t.Context()))(t).Key, ""); err != nil || o.Finding != want {
		t.Errorf("found to be %+v: %v; want %d", o, err, want)
	}
}
