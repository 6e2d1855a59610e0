package openmeteo

import (
	"encoding/json"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Our number reader gives what the library's gives, to the last bit.
func TestParseNumberAgreesWithTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(
			rapid.Map(rapid.Float64Range(-1e6, 1e6), func(x float64) string {
				return strconv.FormatFloat(x, 'f', rapid.IntRange(0, 12).Draw(t, "decimals"), 64)
			}),
			rapid.Map(rapid.Float64(), func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }),
			rapid.StringMatching(`-?[0-9]{1,18}(\.[0-9]{1,18})?`),
		).Draw(t, "number")
		want, err := strconv.ParseFloat(s, 64)
		got, gotErr := parseNumber([]byte(s))
		if (err != nil || math.IsInf(want, 0) || math.IsNaN(want)) != (gotErr != nil) {
			t.Fatalf("%q: %v, library %v", s, gotErr, err)
		}
		if gotErr == nil && got != want {
			t.Fatalf("%q: %v, library %v", s, got, want)
		}
	})
}

func TestParseColumn(t *testing.T) {
	xs, err := parseColumn([]byte(" [ 1 ,null, -2.50,\n1e3] "))
	require.NoError(t, err)
	require.Len(t, xs, 4)
	assert.Equal(t, []float64{1, -2.5, 1000}, []float64{xs[0], xs[2], xs[3]})
	assert.True(t, math.IsNaN(xs[1]))
	for _, bad := range []string{"{}", "", "[1,x]", "[-]", "[NaN]", "[1e999]"} {
		_, err := parseColumn([]byte(bad))
		assert.Error(t, err, bad)
	}
}

// Whatever comes, the decoder returns either weather or one named error, and a
// value in a series is always a number with an origin.
func FuzzForecastAnswer(f *testing.F) {
	f.Add(fixture(f, "forecast_one.json"))
	f.Add(fixture(f, "forecast_two.json"))
	f.Add([]byte(`{"error":true,"reason":"x"}`))
	f.Add([]byte(`[null]`))
	c, err := New(Config{Source: source.Options{UserAgent: "plotwarden/test"}})
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, body []byte) {
		for n, places := range [][]Place{{lakeside}, {lakeside, hillside}} {
			as, err := decode("x", body, n+1)
			if err != nil {
				if source.CauseOf(err) == "unknown" {
					t.Fatalf("an error without a cause: %v", err)
				}
				continue
			}
			for i, a := range as {
				r := c.result(a, places[i], now, now, 0, 1)
				if (r.Err == nil) == (r.Series == nil) {
					t.Fatal("want weather or an error")
				}
				if r.Err != nil {
					if source.CauseOf(r.Err) == "unknown" {
						t.Fatalf("an error without a cause: %v", r.Err)
					}
					continue
				}
				if r.Series.Len() > 24*4 {
					t.Fatalf("%d hours for one day", r.Series.Len())
				}
				for v := range weather.NumVars {
					for i := range r.Series.Len() {
						_, has := r.Series.OriginAt(v, i)
						if x := r.Series.Value(v, i); has == math.IsNaN(x) || math.IsInf(x, 0) {
							t.Fatalf("%s at %d: %v, origin %v", v, i, x, has)
						}
					}
				}
			}
		}
	})
}

func FuzzEnsembleAnswer(f *testing.F) {
	f.Add(fixture(f, "ensemble.json"))
	f.Fuzz(func(t *testing.T, body []byte) {
		as, err := decode("x", body, 1)
		if err != nil {
			return
		}
		m := Members{Place: lakeside}
		if err := m.read(as[0], now, now, 1); err == nil && len(m.Series) == 0 {
			t.Fatal("neither a run nor an error")
		}
	})
}

// Totals are kept: what is labelled within the series, less the first label, is
// in it, each an hour earlier.
func TestShiftKeepsTotals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rain := rapid.SliceOfN(rapid.Float64Range(0, 20), 24, 24).Draw(t, "rain")
		times := make([]int64, 24)
		for i := range times {
			times[i] = day.Unix()/3600 + int64(i)
		}
		raw, _ := json.Marshal(rain)
		a := &answer{name: "x", times: times, Hourly: map[string]json.RawMessage{"precipitation": raw}}
		s := weather.NewSeries(day, 24)
		o, _ := s.AddOrigin(weather.Origin{Source: "x", Kind: weather.Forecast, Fetched: time.Time{}})
		_, err := a.fill(s, hourlyForecast, "", func(int) uint8 { return o })
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < 23; i++ {
			if s.Value(weather.Rain, i) != rain[i+1] {
				t.Fatalf("hour %d: %v, want %v", i, s.Value(weather.Rain, i), rain[i+1])
			}
		}
	})
}
