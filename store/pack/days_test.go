package pack

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/weather"
)

func drawDays(t *rapid.T) []weather.Day {
	x := rapid.OneOf(rapid.Map(rapid.IntRange(-300, 400), func(n int) float64 { return float64(n) / 10 }), rapid.Just(math.NaN()), rapid.Float64Range(-90, 60))
	var out []weather.Day
	date := civil.Date(rapid.IntRange(-100, 800_000).Draw(t, "first"))
	for range rapid.IntRange(0, 40).Draw(t, "days") {
		out = append(out, weather.Day{
			Date: date, Min: x.Draw(t, "min"), Max: x.Draw(t, "max"), Rain: x.Draw(t, "rain"), Soil: x.Draw(t, "soil"), Wind: x.Draw(t, "wind"),
			Hours: rapid.IntRange(0, 25).Draw(t, "hours"), Kind: weather.Kind(rapid.IntRange(0, 6).Draw(t, "kind")),
		})
		date += civil.Date(rapid.IntRange(1, 400).Draw(t, "gap"))
	}
	return out
}

func equalDays(a, b []weather.Day) bool {
	eq := func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) }
	return slices.EqualFunc(a, b, func(p, q weather.Day) bool {
		return p.Date == q.Date && eq(p.Min, q.Min) && eq(p.Max, q.Max) && eq(p.Rain, q.Rain) && eq(p.Soil, q.Soil) && eq(p.Wind, q.Wind) && p.Hours == q.Hours && p.Kind == q.Kind
	})
}

func TestDaysRoundTripIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := drawDays(t)
		back, err := OpenDays(Days(days))
		if err != nil {
			t.Fatal(err)
		}
		if !equalDays(days, back) {
			t.Fatalf("%v, want %v", back, days)
		}
	})
}

func TestMergeDaysIsIdempotentAndKeepsAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawDays(t), drawDays(t)
		once := MergeDays(a, b)
		if !equalDays(once, MergeDays(once, b)) {
			t.Fatal("merging the same days again changed something")
		}
		known := map[civil.Date]bool{}
		for _, d := range append(slices.Clone(a), b...) {
			known[d.Date] = true
		}
		if len(known) != len(once) {
			t.Fatalf("%d dates, want %d", len(once), len(known))
		}
	})
}

func TestMergeDaysRules(t *testing.T) {
	nan := math.NaN()
	d := civil.New(2026, 6, 4)
	day := func(lo, hi, rain float64, k weather.Kind) weather.Day {
		return weather.Day{Date: d, Min: lo, Max: hi, Rain: rain, Soil: nan, Hours: 24, Kind: k}
	}
	for _, c := range []struct {
		name           string
		have, in       weather.Day
		min, max, rain float64
		kind           weather.Kind
	}{
		{"newer observation", day(10, 20, 1, weather.Nearby), day(11, 21, 2, weather.Nearby), 11, 21, 2, weather.Nearby},
		{"forecast over observed", day(10, 20, 1, weather.Nearby), day(11, 21, 2, weather.Forecast), 10, 20, 1, weather.Nearby},
		{"forecast rain where none was observed", day(10, 20, nan, weather.Nearby), day(11, 21, 2, weather.Forecast), 10, 20, 2, weather.Nearby},
		{"missing changes nothing", day(10, 20, 1, weather.Forecast), day(nan, nan, nan, weather.Nearby), 10, 20, 1, weather.Forecast},
		{"observed over forecast", day(10, 20, 1, weather.Forecast), day(11, 21, nan, weather.Analysis), 11, 21, 1, weather.Analysis},
	} {
		got := MergeDays([]weather.Day{c.have}, []weather.Day{c.in})
		require.Len(t, got, 1, c.name)
		assert.Equal(t, []any{c.min, c.max, c.rain, c.kind}, []any{got[0].Min, got[0].Max, got[0].Rain, got[0].Kind}, c.name)
	}
}

func FuzzDecodeDays(f *testing.F) {
	plain, err := open(kindDays, Days([]weather.Day{{Date: 739_000, Min: 1, Max: 2.5, Rain: math.NaN(), Soil: math.Pi, Hours: 24, Kind: 2}, {Date: 739_002}}))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(plain)
	f.Fuzz(func(t *testing.T, plain []byte) {
		days, err := decodeDays(plain)
		if err != nil {
			assert.ErrorIs(t, err, ErrDamaged)
			return
		}
		back, err := OpenDays(Days(days))
		require.NoError(t, err)
		assert.True(t, equalDays(days, back))
	})
}
