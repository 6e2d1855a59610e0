package weather

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
)

var modelled = Origin{Source: "daily record", Kind: Modelled}

// Source: the paper's equations worked by hand for an equator-like day of 12
// hours with extremes 10 and 30 C.
func TestArcAgainstThePaper(t *testing.T) {
	a := arc{low: 10, high: 30, least: (6 + lagMin) * 3600, sunset: 18 * 3600, length: 12 * 3600}
	b := a
	b.least, b.sunset = a.least+86400, a.sunset+86400
	assert.InDelta(t, 10, a.byDay(a.least), 1e-9)
	assert.InDelta(t, 30, a.byDay(a.least+(6+1.86)*3600), 1e-9, "the sine peaks at half its length")
	// sin(pi 12.17 / 15.72) = 0.65142
	assert.InDelta(t, 10+20*0.65142, a.byDay(a.sunset), 1e-3)
	assert.InDelta(t, a.byDay(a.sunset), a.byNight(a.sunset, b), 1e-9, "no step at sunset")
	assert.InDelta(t, 10, a.byNight(b.least, b), 1e-9, "the night ends at the next minimum")
	// Half the night: (exp(-1.1) - exp(-2.2)) / (1 - exp(-2.2)) = 0.24974
	assert.InDelta(t, 10+20*0.65142*0.24974, a.byNight((a.sunset+b.least)/2, b), 1e-3)
}

func TestHoursFromDaysKeepsTheDays(t *testing.T) {
	zones := []string{"UTC", "America/New_York", "Asia/Kolkata", "Australia/Adelaide", "America/Santiago", "Pacific/Apia"}
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		lat := rapid.Float64Range(-75, 75).Draw(t, "lat")
		_, offset := time.Unix(0, 0).In(loc).Zone()
		lon := math.Remainder(float64(offset)/240+rapid.Float64Range(-20, 20).Draw(t, "off meridian"), 360)
		first := civil.New(2012, 1, 1).AddDays(rapid.IntRange(0, 3000).Draw(t, "first"))
		var days []Day
		for i := range rapid.IntRange(1, 12).Draw(t, "days") {
			d := NewDay(first.AddDays(i))
			d.Min = rapid.Float64Range(-30, 28).Draw(t, "min")
			d.Max = d.Min + rapid.Float64Range(0, 25).Draw(t, "range")
			d.Rain = rapid.SampledFrom([]float64{0, 0, 0.2, 1.9, 7.3, 55, 210}).Draw(t, "rain")
			d.Wind = rapid.Float64Range(0, 15).Draw(t, "wind")
			days = append(days, d)
		}
		s := HoursFromDays(days, lat, lon, loc, modelled)
		got := s.Days(loc)
		if len(got) != len(days) {
			t.Fatalf("%d days out of %d", len(got), len(days))
		}
		for i, d := range days {
			g := got[i]
			if g.Date != d.Date || g.Min != d.Min || g.Max != d.Max {
				t.Fatalf("day %v came back as %v", d, g)
			}
			if math.Abs(g.Rain-d.Rain) > 1e-9 || math.Abs(g.Wind-d.Wind) > 1e-9 {
				t.Fatalf("rain and wind %v, %v came back as %v, %v", d.Rain, d.Wind, g.Rain, g.Wind)
			}
		}
		for i := range s.Len() {
			if rh := s.Value(RH, i); !(rh > 0 && rh <= 100) {
				t.Fatalf("hour %v has humidity %v", s.Time(i), rh)
			}
			if s.Value(DewPoint, i) > s.Value(Temp, i)+1e-9 {
				t.Fatalf("hour %v has a dew point above its temperature", s.Time(i))
			}
		}
	})
}

func TestHoursFromDaysLeavesMissingMissing(t *testing.T) {
	a, b := NewDay(civil.New(2026, 6, 1)), NewDay(civil.New(2026, 6, 4))
	a.Min, a.Max = 12, 24
	b.Rain = 3
	s := HoursFromDays([]Day{b, a}, 41, -74, time.UTC, modelled)
	require.Equal(t, 4*24, s.Len())
	assert.False(t, math.IsNaN(s.Value(Temp, 5)))
	assert.True(t, math.IsNaN(s.Value(Rain, 5)))
	assert.True(t, math.IsNaN(s.Value(Wind, 5)))
	assert.True(t, math.IsNaN(s.Value(Temp, 30)), "a day that is not given")
	assert.True(t, math.IsNaN(s.Value(Temp, 80)), "a day without extremes")
	assert.Equal(t, 3.0, s.Days(time.UTC)[3].Rain)
	assert.Equal(t, 0, HoursFromDays(nil, 0, 0, time.UTC, modelled).Len())
	upside := NewDay(civil.New(2026, 6, 1))
	upside.Min, upside.Max = 24, 12
	assert.True(t, math.IsNaN(HoursFromDays([]Day{upside}, 0, 0, time.UTC, modelled).Value(Temp, 0)))
}

func TestModelledDayHasItsHours(t *testing.T) {
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	var days []Day
	for i := range 3 {
		d := NewDay(civil.New(2026, 6, 20+i))
		d.Min, d.Max = 16, 29
		days = append(days, d)
	}
	s := HoursFromDays(days, 40.6, -73.8, loc, modelled)
	low, high := 0, 0
	for h := range 24 {
		if s.Value(Temp, 24+h) < s.Value(Temp, 24+low) {
			low = h
		}
		if s.Value(Temp, 24+h) > s.Value(Temp, 24+high) {
			high = h
		}
	}
	assert.Contains(t, []int{4, 5, 6}, low, "near sunrise, 5:25 on the clock")
	assert.Contains(t, []int{14, 15}, high, "past noon, 12:57 on the clock")
}

func TestRainIsSpreadAlikeEveryTime(t *testing.T) {
	d := civil.New(2026, 7, 4)
	assert.Equal(t, rainHours(7.5, d, 24), rainHours(7.5, d, 24))
	assert.Equal(t, make([]float64, 24), rainHours(0, d, 24))
	assert.Equal(t, make([]float64, 24), rainHours(math.NaN(), d, 24))
	wet := func(total float64) (n int) {
		for _, r := range rainHours(total, d, 24) {
			if r > 0 {
				n++
			}
		}
		return n
	}
	assert.Equal(t, []int{1, 1, 7, 24, 24}, []int{wet(0.2), wet(1.9), wet(7.5), wet(30), wet(300)})
	var byHour [24]float64
	for i := range 365 {
		for h, r := range rainHours(1, d.AddDays(i), 24) {
			byHour[h] += r
		}
	}
	for h, sum := range byHour {
		assert.InDelta(t, 365.0/24, sum, 4, "hour %d is favoured", h)
	}
}

// Hours made from real stations' daily extremes, against their real hours. The
// bounds are half as much again as what was measured; the table guards them.
func TestModelledHoursAgainstRealOnes(t *testing.T) {
	const nyc, pnw = "nyc-hourly-2013/weather.csv", "pnw-hourly-2014/weather.csv"
	for _, c := range []struct {
		file, airport, zone string
		lat, lon            float64
		temp, rh, humid     float64 // bounds: C, %, made hours at 90 % for each real one
	}{
		{nyc, "JFK", "America/New_York", 40.64, -73.78, 1.7, 19, 1},
		{nyc, "EWR", "America/New_York", 40.69, -74.17, 1.7, 18, 1.3},
		{nyc, "LGA", "America/New_York", 40.78, -73.87, 1.7, 23, 4.1},
		{pnw, "PDX", "America/Los_Angeles", 45.59, -122.60, 1.7, 13, 1.6},
		{pnw, "SEA", "America/Los_Angeles", 47.45, -122.31, 1.7, 13.5, 1.9},
	} {
		t.Run(c.airport, func(t *testing.T) {
			loc, err := time.LoadLocation(c.zone)
			require.NoError(t, err)
			hours := airportHours(t, c.file, c.airport)
			made := HoursFromDays(hours.Days(loc), c.lat, c.lon, loc, modelled)
			var temp, rh, bias, humid, madeHumid sum
			for i := range made.Len() {
				at := made.Time(i)
				if m := at.Month(); m < time.April || m > time.October {
					continue
				}
				x, y := made.Value(RH, i), hours.Value(RH, hours.Index(at))
				temp.add(math.Abs(made.Value(Temp, i) - hours.Value(Temp, hours.Index(at))))
				rh.add(math.Abs(x - y))
				bias.add(x - y)
				if y >= 90 {
					humid.add(1)
				}
				if x >= 90 && !math.IsNaN(y) {
					madeHumid.add(1)
				}
			}
			share := float64(madeHumid.n) / float64(humid.n)
			t.Logf("April to October, %d hours: mean absolute error %.2f C and %.1f %% humidity (bias %.1f); hours at 90 %% and more: %d real, %d made", temp.n, temp.mean(1), rh.mean(1), bias.mean(1), humid.n, madeHumid.n)
			assert.Greater(t, temp.n, 5000)
			assert.Less(t, temp.mean(1), c.temp)
			assert.Less(t, rh.mean(1), c.rh)
			assert.Less(t, share, c.humid)
		})
	}
}
