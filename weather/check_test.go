package weather

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	ownStation = Origin{Source: "garden", Kind: Station}
	grid       = Origin{Source: "grid", Kind: Analysis}
	start2026  = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
)

// series makes a series of one column from values.
func series(o Origin, v Var, values ...float64) *Series {
	s := NewSeries(start2026, len(values))
	return with(s, o, v, values...)
}

func with(s *Series, o Origin, v Var, values ...float64) *Series {
	h, err := s.AddOrigin(o)
	if err != nil {
		panic(err)
	}
	for i, x := range values {
		s.Set(v, i, x, h)
	}
	return s
}

func repeat(x float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = x
	}
	return out
}

// daily is a plain day after day: mean and half range.
func daily(n int, mean, half float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = mean - half*math.Cos(2*math.Pi*float64(i-4)/24) + 0.1*math.Sin(float64(i))
	}
	return out
}

func faults(rejects []Reject) map[Fault]int {
	out := map[Fault]int{}
	for _, r := range rejects {
		out[r.Fault]++
	}
	return out
}

func TestCheckSetsAsideWhatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		s      *Series
		fault  Fault
		n      int
		reason string
	}{
		"too hot":             {series(ownStation, Temp, 20, 61, 20), FaultRange, 1, "outside -90 to 60 C (WMO-No. 305"},
		"kelvin":              {series(ownStation, Temp, 293.1), FaultRange, 1, "reads like kelvin"},
		"rain that rises":     {series(ownStation, Rain, 0, -1, 0), FaultRange, 1, "outside 0 to 305 mm"},
		"humidity of 105 %":   {series(ownStation, RH, 80, 105), FaultRange, 1, "by definition"},
		"a dead sensor":       {series(ownStation, Temp, 21, 20, -30, 19, 18), FaultStep, 1, "leaps from 20 and back, more than 15 C"},
		"three dead hours":    {series(ownStation, Temp, 21, 20, -30, -30, -31, 19, 18), FaultStep, 3, "leaps from 20"},
		"a leap at the end":   {series(ownStation, Temp, 21, 20, -30), FaultStep, 1, "held back until the next hour"},
		"stuck":               {series(ownStation, Temp, append([]float64{18}, repeat(20, 40)...)...), FaultFlat, 40, "the same for 40 hours"},
		"stuck wet":           {series(ownStation, RH, repeat(100, 200)...), FaultFlat, 200, "the limit is 168"},
		"stuck rain":          {series(ownStation, Rain, repeat(0.3, 12)...), FaultFlat, 12, "the limit is 12"},
		"dew point too high":  {with(series(ownStation, Temp, 15, 15), ownStation, DewPoint, 14, 16.5), FaultHumidity, 1, "1.5 C above the temperature"},
		"humidity off":        {with(with(series(ownStation, Temp, 25), ownStation, DewPoint, 5), ownStation, RH, 80), FaultHumidity, 2, "disagree by 52.47 points"},
		"a year in degrees F": {series(ownStation, Temp, append(daily(2000, 35, 12), daily(2000, 75, 12)...)...), FaultUnit, 4000, "Fahrenheit taken as Celsius"},
	} {
		t.Run(name, func(t *testing.T) {
			before := c.s.Slice(0, c.s.Len())
			clean, rejects := Check(c.s, DefaultLimits())
			assert.Equal(t, map[Fault]int{c.fault: c.n}, faults(rejects))
			require.NotEmpty(t, rejects)
			assert.Contains(t, rejects[0].Reason, c.reason)
			assert.Contains(t, rejects[0].String(), rejects[0].Var.String())
			for _, r := range rejects {
				i := clean.Index(r.Time)
				assert.True(t, math.IsNaN(clean.Value(r.Var, i)))
				assert.Equal(t, before.Value(r.Var, i), r.Value, "kept aside as it was")
				assert.Equal(t, ownStation, r.Origin)
			}
			for i := range before.Len() { // the input is left alone
				if x := before.Value(Temp, i); !math.IsNaN(x) {
					require.Equal(t, x, c.s.Value(Temp, i))
				}
			}
		})
	}
}

// Records of the WMO archive of weather extremes and other extremes as reported;
// from memory where no place is named in limits.go. All happened, so all must
// pass.
func TestCheckLetsRealExtremesPass(t *testing.T) {
	front := append(daily(40, 20, 6), 19, 2, -1, -3, -4, -4)
	hot := append(daily(30, 42, 6), append(daily(51, 45.9, 3.8), daily(30, 42, 6)...)...)
	for name, s := range map[string]*Series{
		"hottest, Furnace Creek 1913":          series(ownStation, Temp, 50, 54, 56.7, 55, 50),
		"coldest, Vostok 1983":                 series(ownStation, Temp, -85, -88, -89.2, -88),
		"warmest night, Quriyat 2018":          series(ownStation, Temp, hot...),
		"rise of 27 C, Spearfish 1943":         series(ownStation, Temp, -20, -20, 7, 8, 10, 12),
		"and its fall":                         series(ownStation, Temp, 12, 12, -20, -20, -19),
		"a cold front":                         series(ownStation, Temp, front...),
		"a heat burst":                         with(series(ownStation, Temp, 24, 23, 35, 33, 25, 23), ownStation, DewPoint, 20, 20, 3, 5, 17, 19),
		"most rain in an hour":                 series(ownStation, Rain, 0, 2, 305, 10, 0),
		"strongest gust, Barrow Island 1996":   series(ownStation, Wind, 60, 80, 113, 90, 70),
		"highest dew point, Dhahran 2003":      with(series(ownStation, Temp, 42, 42, 41), ownStation, DewPoint, 33, 35, 34),
		"a week's calm":                        series(ownStation, Wind, repeat(0, 168)...),
		"fog for three days":                   series(ownStation, RH, repeat(100, 72)...),
		"two dry months":                       series(ownStation, Rain, repeat(0, 1500)...),
		"a forecast of one same value":         series(Origin{Source: "grid", Kind: Forecast}, Temp, repeat(11, 100)...),
		"supersaturated by a rounding":         with(series(ownStation, Temp, 15), ownStation, DewPoint, 15.6),
		"humidity over ice, over water":        with(with(series(ownStation, Temp, -20), ownStation, DewPoint, -20), ownStation, RH, 60),
		"a switch of source, not a step":       with(series(ownStation, Temp, 20, 20, missing, 20, 20), grid, Temp, missing, missing, 2, missing, missing),
		"a day without a reading in between":   series(ownStation, Temp, 20, missing, missing, missing, missing, -5, missing, missing, missing, missing, 20),
		"eleven hours of one same rain":        series(ownStation, Rain, repeat(0.2, 11)...),
		"thirty-nine hours of one temperature": series(ownStation, Temp, repeat(4, 39)...),
	} {
		clean, rejects := Check(s, DefaultLimits())
		assert.Empty(t, rejects, name)
		for v := range NumVars {
			for i := range s.Len() {
				if x := s.Value(v, i); !math.IsNaN(x) {
					assert.Equal(t, x, clean.Value(v, i), name)
				}
			}
		}
	}
}

func TestCheckRoundsOff(t *testing.T) {
	clean, rejects := Check(with(series(ownStation, RH, 99, 103.5, 100), ownStation, Solar, -3, 0, 40), DefaultLimits())
	assert.Empty(t, rejects)
	assert.Equal(t, []float64{99, 100, 100}, clean.Column(RH))
	assert.Equal(t, []float64{0, 0, 40}, clean.Column(Solar))
}

func TestCheckTakesTheOwnersLimits(t *testing.T) {
	l := DefaultLimits()
	l.Range[Wind] = Range{0, 40, "the owner"}
	l.Step[Temp] = Limit{}
	l.Flat[Temp] = Limit{}
	s := with(series(ownStation, Temp, append(repeat(20, 80), -40, 20)...), ownStation, Wind, 41)
	_, rejects := Check(s, l)
	require.Len(t, rejects, 1)
	assert.Contains(t, rejects[0].Reason, "outside 0 to 40 m/s (the owner)")
}

// Real reports with their real faults; each set aside value was looked at.
func TestCheckOnRealReports(t *testing.T) {
	for _, c := range []struct {
		file, airport string
		want          []string // time, variable and fault of each reject
	}{
		// 1048.36 mph, in the archive's own file.
		{"nyc-hourly-2013/weather.csv", "EWR", []string{"2013-02-12T08:00:00Z wind range"}},
		// 13.1 F between 57 and 57 F: the Celsius value under the Fahrenheit heading.
		{"nyc-hourly-2013/weather.csv", "JFK", []string{"2013-05-09T02:00:00Z temperature step", "2013-05-09T02:00:00Z dew point step"}},
		{"nyc-hourly-2013/weather.csv", "LGA", nil},
		// 3282.8 F.
		{"pnw-hourly-2014/weather.csv", "PDX", []string{"2014-10-17T09:00:00Z dew point range"}},
		{"pnw-hourly-2014/weather.csv", "SEA", nil},
	} {
		t.Run(c.airport, func(t *testing.T) {
			s := airportHours(t, c.file, c.airport)
			_, rejects := Check(s, DefaultLimits())
			var got []string
			for _, r := range rejects {
				got = append(got, r.Time.Format(time.RFC3339)+" "+r.Var.String()+" "+string(r.Fault))
				t.Log(r)
			}
			assert.Equal(t, c.want, got)
		})
	}
}

func TestCheckProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 200).Draw(t, "hours")
		s := NewSeries(start2026, n)
		handles := make([]uint8, 0, 3)
		for _, o := range []Origin{ownStation, grid, {Source: "garden", Kind: Station, Fetched: start2026}} {
			h, err := s.AddOrigin(o)
			if err != nil {
				t.Fatal(err)
			}
			handles = append(handles, h)
		}
		for range rapid.IntRange(0, 400).Draw(t, "values") {
			if n == 0 {
				break
			}
			s.Set(Var(rapid.IntRange(0, int(NumVars)-1).Draw(t, "var")), rapid.IntRange(0, n-1).Draw(t, "hour"),
				rapid.Float64Range(-300, 400).Draw(t, "value"), rapid.SampledFrom(handles).Draw(t, "origin"))
		}
		clean, rejects := Check(s, DefaultLimits())
		at := map[[2]int64]bool{}
		for k, r := range rejects {
			at[[2]int64{r.Time.Unix(), int64(r.Var)}] = true
			if k > 0 && r.Time.Before(rejects[k-1].Time) {
				t.Fatal("rejects out of order")
			}
		}
		if len(at) != len(rejects) {
			t.Fatal("a value was set aside twice")
		}
		l := DefaultLimits()
		for v := range NumVars {
			for i := range n {
				x, y := s.Value(v, i), clean.Value(v, i)
				if gone := !math.IsNaN(x) && math.IsNaN(y); gone != at[[2]int64{s.Time(i).Unix(), int64(v)}] {
					t.Fatalf("%v at %d: %v became %v", v, i, x, y)
				}
				if y < l.Range[v].Low || y > l.Range[v].High {
					t.Fatalf("%v of %v was kept", v, y)
				}
			}
		}
		again, more := Check(clean, l)
		if len(more) > 0 && len(rejects) == 0 || again.Len() != n {
			t.Fatal("a clean series was not clean")
		}
	})
}
