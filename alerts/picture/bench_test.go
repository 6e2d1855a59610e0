package picture

import (
	"testing"

	"plotwarden/lang"
)

// BenchmarkDraw shows what a picture of seven lanes costs, in time and bytes.
func BenchmarkDraw(b *testing.B) {
	n := 0
	for b.Loop() {
		out, _, err := Draw(axis(), lanes(), lang.English)
		if err != nil {
			b.Fatal(err)
		}
		n = len(out)
	}
	b.ReportMetric(float64(n), "bytes/picture")
}
