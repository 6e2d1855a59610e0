package weather

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestFillGapsShortOnly(t *testing.T) {
	nan := missing
	s := with(series(ownStation, Temp, nan, 10, nan, nan, 16, nan, nan, nan, 20, nan), ownStation, Rain, 0, nan, 0, 0, 0, 0, 0, 0, 0, 0)
	s = with(s, grid, RH, 90, nan, nan, nan, nan, nan, nan, nan, nan, 80)
	out := FillGaps(s, 2)
	for i, want := range []float64{nan, 10, 12, 14, 16, nan, nan, nan, 20, nan} {
		if math.IsNaN(want) {
			assert.True(t, math.IsNaN(out.Value(Temp, i)), "hour %d", i)
		} else {
			assert.InDelta(t, want, out.Value(Temp, i), 1e-9)
		}
	}
	o, ok := out.OriginAt(Temp, 2)
	assert.True(t, ok)
	assert.Equal(t, Origin{Source: "garden", Kind: Interpolated}, o)
	o, _ = out.OriginAt(Temp, 1)
	assert.Equal(t, ownStation, o, "measured values stay measured")
	assert.True(t, math.IsNaN(out.Value(Rain, 1)), "rain is never drawn")
	assert.Equal(t, []Gap{{0, 1}, {2, 4}, {5, 8}, {9, 10}}, s.Gaps(Temp))
	assert.Equal(t, []Gap{{0, 1}, {5, 8}, {9, 10}}, out.Gaps(Temp))
	assert.Equal(t, []Gap{{0, 10}}, s.Gaps(Wind))
	assert.Equal(t, 8, s.Gaps(RH)[0].Hours())
	assert.True(t, math.IsNaN(s.Value(Temp, 2)), "the input is left alone")

	mixed := with(series(ownStation, Wind, 2, nan, nan), grid, DewPoint, nan, nan, nan)
	mixed = with(mixed, grid, Wind)
	h, _ := mixed.AddOrigin(grid)
	mixed.Set(Wind, 2, 4, h)
	o, _ = FillGaps(mixed, 1).OriginAt(Wind, 1)
	assert.Equal(t, "garden + grid", o.Source)
}

func TestFillGapsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, most := rapid.IntRange(1, 80).Draw(t, "hours"), rapid.IntRange(0, 8).Draw(t, "most")
		s := series(ownStation, Temp, repeat(missing, n)...)
		h, _ := s.AddOrigin(ownStation)
		for i := range n {
			if rapid.Bool().Draw(t, "known") {
				s.Set(Temp, i, rapid.Float64Range(-20, 40).Draw(t, "temp"), h)
			}
		}
		out := FillGaps(s, most)
		for _, g := range s.Gaps(Temp) {
			filled := g.From > 0 && g.To < n && g.Hours() <= most
			for i := g.From; i < g.To; i++ {
				x := out.Value(Temp, i)
				if math.IsNaN(x) == filled {
					t.Fatalf("gap %v, most %d: hour %d is %v", g, most, i, x)
				}
				if a, b := s.Value(Temp, g.From-1), s.Value(Temp, g.To); filled && (x < math.Min(a, b) || x > math.Max(a, b)) {
					t.Fatalf("%v lies outside %v and %v", x, a, b)
				}
			}
		}
	})
}
