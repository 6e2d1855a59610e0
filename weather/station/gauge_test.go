package station

import (
	"math"
	"math/rand/v2"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/weather"
)

func newYork(t require.TestingT) *time.Location {
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	return loc
}

func TestGauge(t *testing.T) {
	g := Gauge{Zone: newYork(t)}
	at := func(clock string) time.Time {
		x, err := time.ParseInLocation("2006-01-02 15:04", clock, g.Zone)
		require.NoError(t, err)
		return x
	}
	const unknown = -1
	for _, step := range []struct {
		clock  string
		total  float64
		mm     float64
		before time.Duration
	}{
		{"2026-06-21 22:00", 3, unknown, 0}, // the first reading tells nothing
		{"2026-06-21 22:10", 3, 0, 10 * time.Minute},
		{"2026-06-21 22:20", 4.5, 1.5, 10 * time.Minute},
		{"2026-06-21 22:20", 4.5, unknown, 0}, // sent twice
		{"2026-06-21 23:55", 5, 0.5, 95 * time.Minute},
		{"2026-06-22 00:05", 0.3, 0.3, 5 * time.Minute}, // started anew at midnight
		{"2026-06-22 00:15", 0.2, unknown, 0},           // the console was restarted
		{"2026-06-22 00:25", 0.8, 0.6, 10 * time.Minute},
		{"2026-06-22 08:00", 2.8, unknown, 0}, // seven hours: when it fell is not known
		{"2026-06-22 23:58", 6, unknown, 0},
		{"2026-06-23 00:03", 6, 0, 5 * time.Minute}, // its midnight comes later
		{"2026-06-23 00:08", 0, 0, 5 * time.Minute},
		{"2026-06-23 02:00", 0.4, 0.4, 112 * time.Minute},
		{"2026-06-25 03:00", 2, 2, 3 * time.Hour}, // two days later: what fell since midnight
	} {
		mm, before := g.Since(at(step.clock), step.total)
		if step.mm == unknown {
			assert.True(t, math.IsNaN(mm), step.clock)
		} else {
			assert.InDelta(t, step.mm, mm, 1e-9, step.clock)
		}
		assert.Equal(t, step.before, before, step.clock)
	}
	mm, _ := g.Since(at("2026-06-25 03:10"), -1)
	assert.True(t, math.IsNaN(mm))
}

// A console that sends every five minutes: the sum of the differences is the
// rain, less what falls between a day's last reading and midnight, also over the
// changes of the clock, when the day has 23 or 25 hours.
func TestGaugeAgreesWithTheRain(t *testing.T) {
	loc := newYork(t)
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.SampledFrom([]civil.Date{civil.New(2026, 3, 7), civil.New(2026, 10, 31), civil.New(2026, 6, 20)}).Draw(t, "day")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		g := Gauge{Zone: loc}
		now, end := day.Start(loc).Add(62*time.Minute), day.AddDays(3).Start(loc)
		var total, rain, sum float64
		today := civil.Of(now, loc)
		g.Since(now, 0)
		for now.Before(end) {
			next := now.Add(5 * time.Minute)
			fell := 0.0
			if rng.IntN(4) == 0 {
				fell = float64(rng.IntN(5)) * 0.2
			}
			if d := civil.Of(next, loc); d != today { // midnight lies between: half of it before
				today, total = d, 0
				fell /= 2
			}
			total += fell
			rain += fell
			if mm, _ := g.Since(next, total); !math.IsNaN(mm) {
				sum += mm
			} else if fell > 0 {
				t.Fatalf("rain of %v unknown at %s", fell, next)
			}
			now = next
		}
		// A total that after midnight is above yesterday's at once cannot be told
		// from one not yet started anew; with at most 0.8 mm in five minutes that
		// hides yesterday's total only when it was as small.
		if sum > rain+1e-6 || sum < rain-2*0.8-1e-6 {
			t.Fatalf("%.2f mm fell that can be known, %.2f counted", rain, sum)
		}
	})
}

func TestDecodeConsole(t *testing.T) {
	form := func(s string) url.Values {
		f, err := url.ParseQuery(s)
		require.NoError(t, err)
		return f
	}
	g := &Gauge{Zone: time.UTC}
	first := "ID=x&PASSWORD=y&dateutc=2026-06-21+10%3A30%3A00&tempf=68&humidity=90&dewptf=65.3&rainin=0.4&dailyrainin=0.5&windspeedmph=10&solarradiation=412.3&soiltempf=60.8&leafwetness=9&action=updateraw"
	o, err := DecodeConsole(form(first), noon, g)
	require.NoError(t, err)
	assert.Equal(t, noon.Add(-90*time.Minute), o.Time)
	assert.InDelta(t, 20, o.Values[weather.Temp], 1e-9)
	assert.InDelta(t, 18.5, o.Values[weather.DewPoint], 1e-9)
	assert.InDelta(t, 4.4704, o.Values[weather.Wind], 1e-9)
	assert.InDelta(t, 16, o.Values[weather.Soil], 1e-9)
	assert.Equal(t, 412.3, o.Values[weather.Solar])
	assert.True(t, math.IsNaN(o.Values[weather.Rain]), "rain of the last hour is not used, and the first total tells nothing")
	assert.True(t, math.IsNaN(o.Values[weather.Wetness]), "its scale differs from make to make")

	o, err = DecodeConsole(form("dateutc=2026-06-21 10:35:00&tempf=-9999&dailyrainin=0.51&solarradiation=400&rainin=0.41"), noon, g)
	require.NoError(t, err)
	assert.InDelta(t, 0.254, o.Values[weather.Rain], 1e-9)
	assert.Equal(t, 5*time.Minute, o.Interval)
	assert.True(t, math.IsNaN(o.Values[weather.Temp]), "a sensor that does not answer")

	o, err = DecodeConsole(form("dateutc=now&dailyrainin=0.51&solarradiation=400"), noon, g)
	require.NoError(t, err)
	assert.Equal(t, noon, o.Time)
	assert.InDelta(t, 0, o.Values[weather.Rain], 1e-9)
	assert.True(t, math.IsNaN(o.Values[weather.Solar]), "a moment does not stand for an hour and a half")

	for in, want := range map[string]string{
		"tempf=3":                                 "no dateutc",
		"dateutc=yesterday":                       `dateutc: "yesterday" is neither`,
		"dateutc=now&tempf=warm":                  `tempf: "warm" is not a number`,
		"dateutc=now&dailyrainin=NaN":             "dailyrainin:",
		"dateutc=now&leafwetness=4":               "no field that we know has a value",
		"dateutc=now&tempf=-9999&humidity=&x=y12": "no field that we know has a value",
	} {
		_, err := DecodeConsole(form(in), noon, g)
		assert.ErrorContains(t, err, want, in)
	}
}

func FuzzDecodeConsole(f *testing.F) {
	f.Add("dateutc=2026-06-21+10%3A30%3A00&tempf=68&dailyrainin=0.5", "dateutc=now&dailyrainin=0.1")
	f.Fuzz(func(t *testing.T, a, b string) {
		g := &Gauge{Zone: time.UTC}
		for _, s := range []string{a, b} {
			form, err := url.ParseQuery(s)
			if err != nil {
				return
			}
			o, err := DecodeConsole(form, noon, g)
			if err == nil && (o.Values[weather.Rain] < 0 || o.Interval < 0) {
				t.Fatalf("%+v", o)
			}
		}
	})
}
