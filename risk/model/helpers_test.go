package model

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/weather"
)

// hour is the weather of one hour of a test; NaN is unknown.
type hour struct{ temp, rh, rain float64 }

var (
	firstDay = civil.New(2026, 6, 1)
	dry      = hour{30, 40, 0}
	unknown  = hour{nan, nan, nan}
)

// sky makes a series of measured hours that begins at local midnight of day.
func sky(t require.TestingT, day civil.Date, zone *time.Location, hours []hour) *weather.Series {
	s := weather.NewSeries(day.Start(zone), len(hours))
	o, err := s.AddOrigin(weather.Origin{Source: "test", Kind: weather.Station})
	require.NoError(t, err)
	for i, h := range hours {
		s.Set(weather.Temp, i, h.temp, o)
		s.Set(weather.RH, i, h.rh, o)
		s.Set(weather.Rain, i, h.rain, o)
	}
	return s
}

// times returns n hours of one weather.
func times(n int, h hour) []hour {
	out := make([]hour, n)
	for i := range out {
		out[i] = h
	}
	return out
}

// join strings hours together.
func join(parts ...[]hour) []hour {
	var out []hour
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// track runs a rule from firstDay over hours in UTC.
func track(t testing.TB, p program, hours []hour) *risk.Track {
	t.Helper()
	tr, err := p.Run(&Input{Weather: sky(t, firstDay, time.UTC, hours), Start: firstDay})
	require.NoError(t, err)
	return tr
}

func values(tr *risk.Track) []float64 {
	var out []float64
	for _, p := range tr.Points {
		out = append(out, p.Value)
	}
	return out
}

func totals(tr *risk.Track) []float64 {
	var out []float64
	for _, p := range tr.Points {
		out = append(out, p.Total)
	}
	return out
}

// events writes a track's events as "date kind name".
func events(tr *risk.Track) []string {
	out := []string{}
	for _, e := range tr.Events {
		out = append(out, e.Date.Format("01-02")+" "+string(e.Kind)+" "+e.Name)
	}
	return out
}

func location(t testing.TB, name string) *time.Location {
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

// cases reads a table of risk/disease/testdata.
func cases(t testing.TB, name string) []map[string]float64 {
	t.Helper()
	f, err := os.Open("../disease/testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 2)
	var out []map[string]float64
	for _, row := range rows[1:] {
		m := map[string]float64{}
		for i, k := range rows[0] {
			if v, err := strconv.ParseFloat(row[i], 64); err == nil {
				m[k] = v
			}
		}
		out = append(out, m)
	}
	return out
}
