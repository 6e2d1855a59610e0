package weather

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	nycFile = "nyc-hourly-2013/weather.csv"
	pnwFile = "pnw-hourly-2014/weather.csv"
)

// late returns the series as a station stamps it whose clock is n hours ahead.
func late(s *Series, n int) *Series {
	out := s.Slice(0, s.Len())
	out.start += int64(n)
	return out
}

func read(s *Series, v Var, f func(float64) float64) *Series {
	out := s.Slice(0, s.Len())
	for i, x := range out.cols[v] {
		out.cols[v][i] = f(x)
	}
	return out
}

// Airports 15 to 30 km apart differ by sea breeze and town, by up to an hour in
// summer. None of that may be sure to be a wrong clock, while a clock five hours
// off must be pointed out nearly always and one two hours off for some months; a
// sure amount may be an hour or, near half a day, a day off.
func TestClockAgainstANeighbour(t *testing.T) {
	ewr, lga, jfk := airportHours(t, nycFile, "EWR"), airportHours(t, nycFile, "LGA"), airportHours(t, nycFile, "JFK")
	for _, pair := range [][2]*Series{{ewr, lga}, {lga, ewr}, {ewr, jfk}, {jfk, ewr}, {lga, jfk}, {jfk, lga}} {
		for _, d := range clockAgainst(pair[0], pair[1]) {
			assert.False(t, d.Sure, d.Reason)
		}
		for _, shift := range []int{-12, -5, -2, 2, 5, 11} {
			covered, sure := time.Duration(0), time.Duration(0)
			for _, d := range clockAgainst(late(pair[0], shift), pair[1]) {
				covered += d.To.Sub(d.From)
				if d.Sure {
					off := math.Remainder((d.Late - time.Duration(shift)*time.Hour).Hours(), 24)
					assert.LessOrEqual(t, math.Abs(off), 1.0, "shift of %d h", shift)
					sure += d.To.Sub(d.From)
				}
			}
			t.Logf("shift of %3d h: %3.0f days doubted, %3.0f of them sure", shift, covered.Hours()/24, sure.Hours()/24)
			least := 330
			if shift == 2 || shift == -2 {
				least = 150
			}
			assert.Greater(t, covered, time.Duration(least)*24*time.Hour, "shift of %d h", shift)
		}
	}
}

// A station an hour off from its own true series, with the errors of a model
// beside it, is pointed out but not condemned.
func TestClockOneHourOff(t *testing.T) {
	jfk := airportHours(t, nycFile, "JFK")
	model := read(jfk, Temp, func(x float64) float64 { return 0.9*x + 1.5 })
	assert.Empty(t, clockAgainst(jfk, model))
	for _, shift := range []int{-1, 1} {
		d := clockAgainst(late(jfk, shift), model)
		require.Len(t, d, 1)
		assert.Equal(t, time.Duration(shift)*time.Hour, d[0].Late)
		assert.False(t, d[0].Sure)
		assert.Contains(t, d[0].Reason, map[int]string{1: "1 hour later", -1: "1 hour earlier"}[shift])
	}
}

func TestClockThatFollowsSummerTime(t *testing.T) {
	jfk := airportHours(t, nycFile, "JFK")
	from, to := jfk.Index(time.Date(2013, 3, 10, 7, 0, 0, 0, time.UTC)), jfk.Index(time.Date(2013, 11, 3, 6, 0, 0, 0, time.UTC))
	wrong := NewSeries(jfk.Start(), jfk.Len())
	h, err := wrong.AddOrigin(ownStation)
	require.NoError(t, err)
	for i := range jfk.Len() {
		j := i
		if i >= from && i < to {
			j = i + 1
		}
		wrong.Set(Temp, j, jfk.Value(Temp, i), h)
	}
	d := clockAgainst(wrong, jfk)
	require.Len(t, d, 1)
	assert.Equal(t, time.Hour, d[0].Late)
	assert.InDelta(t, 0, d[0].From.Sub(jfk.Time(from)).Hours(), stretch)
	assert.InDelta(t, 0, d[0].To.Sub(jfk.Time(to)).Hours(), stretch)
}

func TestClockAgainstTheSun(t *testing.T) {
	s := greensboroYear(t)
	const lat, lon = 36.1, -79.95
	assert.Empty(t, Doubts(s, nil, lat, lon), "a right clock")
	for _, shift := range []int{-5, -1, 1, 5, 9} {
		d := Doubts(late(s, shift), nil, lat, lon)
		require.Len(t, d, 1, "shift of %d h", shift)
		assert.True(t, d[0].Sure)
		assert.Equal(t, time.Duration(shift)*time.Hour, d[0].Late)
		assert.Greater(t, d[0].To.Sub(d[0].From), 300*24*time.Hour)
	}
	d := Doubts(late(s, 1), nil, lat, lon)
	clean, rejects := SetAside(late(s, 1), d)
	assert.True(t, math.IsNaN(clean.Value(Temp, 100)))
	assert.Greater(t, len(rejects), 4*300*24)
	assert.Equal(t, FaultClock, rejects[0].Fault)
	assert.Contains(t, rejects[0].Reason, "1 hour later than the sun stands highest")
}

func TestUnitsAgainstANeighbour(t *testing.T) {
	fahrenheit := func(c float64) float64 { return 1.8*c + 32 }
	ewr, lga := airportHours(t, nycFile, "EWR"), airportHours(t, nycFile, "LGA")
	sea, pdx := airportHours(t, pnwFile, "SEA"), airportHours(t, pnwFile, "PDX")
	ewr, _ = Check(ewr, DefaultLimits())
	for name, pair := range map[string][2]*Series{"EWR beside LGA": {ewr, lga}, "SEA beside PDX": {sea, pdx}, "PDX beside SEA": {pdx, sea}, "EWR beside PDX": {late(ewr, 8760), pdx}} {
		for _, d := range unitsAgainst(pair[0], pair[1]) {
			assert.False(t, d.Sure, "%s: %s", name, d.Reason)
		}
	}
	for name, c := range map[string]struct {
		s      *Series
		v      Var
		reason string
	}{
		"F as C":          {read(ewr, Temp, fahrenheit), Temp, "Fahrenheit taken as Celsius"},
		"F as C, dew":     {read(ewr, DewPoint, fahrenheit), DewPoint, "Fahrenheit taken as Celsius"},
		"C as F":          {read(ewr, Temp, func(c float64) float64 { return (c - 32) / 1.8 }), Temp, "as if it were Fahrenheit"},
		"kelvin":          {read(ewr, Temp, func(c float64) float64 { return c + kelvin }), Temp, "kelvin"},
		"tenths":          {read(ewr, Temp, func(c float64) float64 { return 10 * c }), Temp, "tenths"},
		"inches":          {read(ewr, Rain, func(x float64) float64 { return x / 25.4 }), Rain, "inches taken as millimetres"},
		"mm as inches":    {read(ewr, Rain, func(x float64) float64 { return x * 25.4 }), Rain, "as if they were inches"},
		"km/h as m/s":     {read(ewr, Wind, func(x float64) float64 { return x * 3.6 }), Wind, "km/h"},
		"a winter in F":   {read(ewr.Slice(0, 60*24), Temp, fahrenheit), Temp, "Fahrenheit taken as Celsius"},
		"a summer in F":   {read(ewr.Slice(150*24, 240*24), Temp, fahrenheit), Temp, "Fahrenheit taken as Celsius"},
		"a summer C as F": {read(ewr.Slice(150*24, 240*24), Temp, func(c float64) float64 { return (c - 32) / 1.8 }), Temp, "as if it were Fahrenheit"},
	} {
		found := time.Duration(0)
		for _, d := range unitsAgainst(c.s, lga) {
			assert.Equal(t, []Var{c.v}, d.Vars, name)
			assert.Contains(t, d.Reason, c.reason, name)
			found += d.To.Sub(d.From)
		}
		assert.Greater(t, found, time.Duration(c.s.Len())*time.Hour*7/10, name)
	}
}

func TestStretchesCoverTheSeries(t *testing.T) {
	for n := range 3000 {
		next := 0
		for _, c := range stretches(n) {
			require.Equal(t, next, c[0])
			require.GreaterOrEqual(t, c[1]-c[0], stretchLeast)
			require.Less(t, c[1]-c[0], stretch+stretchLeast)
			next = c[1]
		}
		if n >= stretchLeast {
			require.Equal(t, n, next)
		}
	}
}

// A few spikes of a broken contact are no wrong clock: they are for Check.
func TestSpikesAreNoWrongClock(t *testing.T) {
	ewr, lga := airportHours(t, nycFile, "EWR"), airportHours(t, nycFile, "LGA")
	s := ewr.Slice(0, ewr.Len())
	for i := 100; i+1 < s.Len(); i += 300 {
		s.cols[Temp][i] = 71
	}
	for _, d := range clockAgainst(s, lga) {
		assert.False(t, d.Sure, d.Reason)
	}
	sure := 0
	for _, d := range clockAgainst(late(s, 5), lga) {
		if d.Sure {
			sure += int(d.To.Sub(d.From).Hours())
		}
	}
	assert.Greater(t, sure, 300*24, "nor do they hide one")
}
