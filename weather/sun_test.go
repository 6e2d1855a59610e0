package weather

import (
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
)

var sunDir = filepath.Join(referenceDir, "weather-sun")

// Source: npm astronomy-engine 2.1.19, see testdata/reference/weather-sun.
func checkSun(t *testing.T, rows []map[string]string) {
	require.Len(t, rows, 693)
	var worst time.Duration
	near := func(want string, got time.Time, what string) {
		if want == "" || got.IsZero() {
			assert.Equal(t, want == "", got.IsZero(), "%s: want %q, got %v", what, want, got)
			return
		}
		w, err := time.Parse(time.RFC3339, want)
		require.NoError(t, err)
		off := got.Sub(w).Abs()
		worst = max(worst, off)
		assert.LessOrEqual(t, off, 60*time.Second, "%s: want %s, got %s", what, want, got)
	}
	for _, r := range rows {
		lat, lon := number(t, r["lat"]), number(t, r["lon"])
		date, err := civil.Parse(r["date"])
		require.NoError(t, err)
		at := r["date"] + " at " + r["lat"] + ", " + r["lon"]
		day := Sun(date, lat, lon)
		near(r["noon"], day.Noon, "noon "+at)
		near(r["rise"], day.Rise, "rise "+at)
		near(r["set"], day.Set, "set "+at)
		instant, err := time.Parse(time.RFC3339, r["elevation_at"])
		require.NoError(t, err)
		assert.InDelta(t, number(t, r["elevation_deg"]), SunElevation(instant, lat, lon), 0.02, "elevation "+at)
		if r["rise"] == "" && r["set"] == "" {
			up := SunElevation(day.Noon, lat, lon) > -0.8
			assert.Equal(t, up, day.PolarDay, at)
			assert.Equal(t, !up, day.PolarNight, at)
		} else {
			assert.False(t, day.PolarDay || day.PolarNight, at)
		}
	}
	t.Logf("worst difference %v", worst)
}

func TestSunAgainstAstronomyEngine(t *testing.T) {
	checkSun(t, readTable(t, filepath.Join(sunDir, "vectors.csv")))
}

func TestSunAgainstAstronomyEngineLive(t *testing.T) {
	checkSun(t, parseTable(t, runNode(t, filepath.Join(sunDir, "vectors.js"), "astronomy-engine")))
}

func TestSunProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		date := civil.New(1950, 1, 1).AddDays(rapid.IntRange(0, 50000).Draw(t, "day"))
		lat, lon := rapid.Float64Range(-60, 60).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")
		d := Sun(date, lat, lon)
		if d.PolarDay || d.PolarNight || !d.Rise.Before(d.Noon) || !d.Noon.Before(d.Set) {
			t.Fatalf("rise %v, noon %v, set %v", d.Rise, d.Noon, d.Set)
		}
		if got := d.Set.Sub(d.Rise); (got - d.Length()).Abs() > time.Second {
			t.Fatalf("length %v, set less rise %v", d.Length(), got)
		}
		for _, at := range []time.Time{d.Rise, d.Set} {
			if e := SunElevation(at, lat, lon); math.Abs(e+0.833) > 0.01 {
				t.Fatalf("the sun's centre stands at %v degrees", e)
			}
		}
		next := Sun(date.AddDays(1), lat, lon)
		if gap := next.Noon.Sub(d.Noon); (gap - 24*time.Hour).Abs() > 40*time.Second {
			t.Fatalf("noons %v apart", gap)
		}
	})
}

func TestPolarLengths(t *testing.T) {
	assert.Equal(t, 24*time.Hour, Sun(civil.New(2026, 6, 21), 78.2, 15.6).Length())
	assert.Equal(t, time.Duration(0), Sun(civil.New(2026, 12, 21), 78.2, 15.6).Length())
	assert.False(t, Sun(civil.New(2026, 6, 21), 90, 0).PolarNight)
	assert.True(t, Sun(civil.New(2026, 12, 21), 90, 0).PolarNight)
}
