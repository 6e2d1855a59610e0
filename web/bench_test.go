package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"plotwarden/garden"
)

// BenchmarkPages prints what a page costs on the server and how many times it
// fits into the 50 ms that a page may take.
func BenchmarkPages(b *testing.B) {
	d, _ := deps(true)
	h := New(d)
	for _, name := range []string{"sites", "site", "why-insect", "weather", "threats"} {
		b.Run(name, func(b *testing.B) { serveAll(b, h, allPages[name]) })
	}
}

// BenchmarkSiteAmong10000 serves one site's page from a garden of one site and
// from one of 10,000, and prints the ratio of the two.
func BenchmarkSiteAmong10000(b *testing.B) {
	d, data := deps(false)
	one := New(d)
	g := garden.Garden{}
	for i := range 10_000 {
		site := d.Garden().Sites[0]
		site.ID = fmt.Sprintf("ground-%d", i)
		g.Sites = append(g.Sites, site)
	}
	data.Rounds["ground-9999"] = data.Rounds["mill-lane"]
	many := d
	many.Garden = func() *garden.Garden { return &g }
	all := New(many)
	var base, each time.Duration
	for b.Loop() { // in turn, so that a busy machine slows both
		start := time.Now()
		serveOnce(b, one, "/site/mill-lane")
		mid := time.Now()
		serveOnce(b, all, "/site/ground-9999")
		base, each = base+mid.Sub(start), each+time.Since(mid)
	}
	b.ReportMetric(float64(each)/float64(base), "times-one-site")
	each /= time.Duration(b.N)
	b.ReportMetric(float64(50*time.Millisecond)/float64(each), "fits-in-50ms")
}

func serveAll(b *testing.B, h http.Handler, path string) {
	for b.Loop() {
		serveOnce(b, h, path)
	}
	each := b.Elapsed() / time.Duration(b.N)
	b.ReportMetric(float64(50*time.Millisecond)/float64(each), "fits-in-50ms")
}

func serveOnce(b *testing.B, h http.Handler, path string) {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	if w.Code != http.StatusOK {
		b.Fatalf("%s: %d", path, w.Code)
	}
}
