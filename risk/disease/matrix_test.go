package disease

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Krause, Massie & Hyre 1975, Plant Dis. Rep. 59:95-98, from memory: rows by
// rain-favourable days in the last 7 (below 5, 5 and more), columns by severity
// values in the last 7 (below 3, 3, 4, 5, 6, above 6). -1 no spray, 0 warning,
// 1 seven-day schedule, 2 five-day schedule; here one higher.
var krause = Matrix{
	Columns: []float64{3, 4, 5, 6, 7},
	Rows:    []float64{0, 5},
	Cells:   [][]int{{0, 0, 1, 2, 2, 3}, {0, 1, 2, 3, 3, 3}},
}

func TestMatrixCells(t *testing.T) {
	for _, c := range []struct {
		severity, favourable float64
		want                 int
	}{
		{0, 0, -1}, {2, 4, -1}, {3, 4, -1}, {4, 4, 0}, {5, 4, 1}, {6, 4, 1}, {7, 4, 2}, {28, 0, 2},
		{0, 5, -1}, {2, 7, -1}, {3, 5, 0}, {4, 5, 1}, {5, 5, 2}, {6, 5, 2}, {7, 5, 2}, {28, 7, 2},
	} {
		assert.Equal(t, c.want+1, krause.Call(c.severity, c.favourable), "%g severity values, %g days", c.severity, c.favourable)
	}
}

func TestMatrixSpanIsThatOfItsCalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sev, fav := rapid.IntRange(0, 12).Draw(t, "severity"), rapid.IntRange(0, 7).Draw(t, "favourable")
		sevHigh, favHigh := sev+rapid.IntRange(0, 6).Draw(t, "more"), fav+rapid.IntRange(0, 4).Draw(t, "more days")
		least, most := 9, 0
		for s := sev; s <= sevHigh; s++ {
			for f := fav; f <= favHigh; f++ {
				c := krause.Call(float64(s), float64(f))
				least, most = min(least, c), max(most, c)
			}
		}
		l, m := krause.Span(float64(sev), float64(sevHigh), float64(fav), float64(favHigh))
		if l != least || m != most {
			t.Fatalf("span %d to %d, calls %d to %d", l, m, least, most)
		}
	})
}

// The bounds of a table are those of all its values in the range.
func TestTableSpan(t *testing.T) {
	tab := NewTable(1, false, []Band{{8, 12, []Step{{7, 1}, {13, 5}}}, {13, 22, []Step{{7, 5}, {10, 6}, {13, 7}}}, {23, 27, []Step{{7, 1}, {19, 5}}}})
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 30).Draw(t, "low")
		high := low + rapid.Float64Range(0, 20).Draw(t, "span")
		from := rapid.IntRange(0, 24).Draw(t, "from")
		to := from + rapid.IntRange(0, 24-from).Draw(t, "more")
		least, most := tab.Value(low, from), 0.0
		for h := from; h <= to; h++ {
			for k := 0; k <= 400; k++ {
				v := tab.Value(low+(high-low)*float64(k)/400, h)
				least, most = min(least, v), max(most, v)
			}
		}
		l, m := tab.Span(from, to, low, high)
		if l != least || m != most {
			t.Fatalf("span %g to %g, values %g to %g", l, m, least, most)
		}
	})
	assert.Equal(t, 7.0, tab.Most(24))
	assert.Equal(t, 0.0, tab.Most(6))
	// 24 hours: 7 + 7 with a dry hour between, or 5 + 5 + 5 with two (23 hours).
	assert.Equal(t, 15.0, tab.MostOfRuns(24, 24))
	assert.Equal(t, 5.0, tab.MostOfRuns(8, 24))
	assert.Equal(t, 10.0, tab.MostOfRuns(14, 24))
	assert.Equal(t, 7.0, tab.MostOfRuns(14, 14), "two runs of 7 need 15 hours")
}
