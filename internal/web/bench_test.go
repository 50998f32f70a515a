package web_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// The table of limits of the invented engine, 773 lines: as it is rendered, and
// as it goes out to a browser.
func BenchmarkLimits(b *testing.B) {
	w := sharedWorld(b)
	cookie := "tenths=" + w.client(b, "mp").cookie()
	pages := w.web.Handler()
	for _, encoding := range []string{"identity", "gzip"} {
		b.Run(encoding, func(b *testing.B) {
			b.ReportAllocs()
			size := 0
			for b.Loop() {
				r := httptest.NewRequestWithContext(b.Context(), http.MethodGet, "http://127.0.0.1/orders/"+demoOrder+"/limits", nil)
				r.Header.Set("Cookie", cookie)
				r.Header.Set("Accept-Encoding", encoding)
				to := httptest.NewRecorder()
				pages.ServeHTTP(to, r)
				if encoding == "identity" && !strings.Contains(to.Body.String(), "773 of 773 lines") || to.Code != http.StatusOK {
					b.Fatalf("%d: %.200s", to.Code, to.Body)
				}
				size = to.Body.Len()
			}
			b.ReportMetric(float64(size), "B/page")
		})
	}
}
