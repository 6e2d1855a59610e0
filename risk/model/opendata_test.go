package model

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/weather"
)

const datasets = "../../../shared/datasets/"

// airport reads one station of hourly airport observations: New York 2013, US
// Government data in Fahrenheit and inches, with hours missing.
func airport(t testing.TB, origin string) *weather.Series {
	t.Helper()
	name := datasets + "nyc-hourly-2013/weather.csv"
	f, err := os.Open(name)
	if os.IsNotExist(err) {
		t.Skipf("%s is not beside this repository", name)
	}
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	col := map[string]int{}
	for i, k := range rows[0] {
		col[k] = i
	}
	s := weather.NewSeries(time.Date(2013, 1, 1, 5, 0, 0, 0, time.UTC), 365*24)
	o, err := s.AddOrigin(weather.Origin{Source: origin, Kind: weather.Nearby})
	require.NoError(t, err)
	for _, r := range rows[1:] {
		if r[col["origin"]] != origin {
			continue
		}
		at, err := time.Parse(time.RFC3339, r[col["time_hour"]])
		require.NoError(t, err)
		number := func(key string) float64 {
			v, err := strconv.ParseFloat(r[col[key]], 64)
			if err != nil {
				return math.NaN()
			}
			return v
		}
		i := s.Index(at)
		s.Set(weather.Temp, i, (number("temp")-32)/1.8, o)
		s.Set(weather.RH, i, number("humid"), o)
		s.Set(weather.Rain, i, number("precip")*25.4, o)
	}
	return s
}

// A year of three airports through the program and through an independent
// calculation in Python: every day's severity, every two-day period and the date
// of every infection agree, holes included.
func TestOpenDataAgreesWithPython(t *testing.T) {
	needNumpy(t)
	zone := location(t, "America/New_York")
	start := civil.New(2013, 1, 1)
	for _, origin := range []string{"EWR", "JFK", "LGA"} {
		s := airport(t, origin)
		in := &Input{Weather: s, Zone: zone, Start: start}
		tracks, errs := RunAll([]Spec{decode(t, "severity-table", tomatoTable), decode(t, "consecutive-days", oneLine(hutton)), decode(t, "infection-model", genericScab)}, in)
		for _, err := range errs {
			require.NoError(t, err)
		}
		want := pythonDiseases(t, s, zone)
		unknown, severity, periods := 0, 0.0, 0
		for i, day := range want.Days {
			p := tracks[0].Points[i]
			require.Equal(t, day, p.Date.String())
			require.Equal(t, want.Severity[i], p.Value, "%s %s", origin, day)
			unknown += want.Unknown[i]
			require.Equal(t, unknown, p.UnknownHours, "%s %s", origin, day)
			severity += p.Value
			if h := want.Hutton[i]; h != nil {
				require.Equal(t, float64(*h), tracks[1].Points[i].Value, "%s %s", origin, day)
				periods += *h
			}
		}
		var dates []string
		for _, e := range tracks[2].Events {
			require.Equal(t, risk.Infection, e.Kind)
			dates = append(dates, e.Date.String())
		}
		assert.Equal(t, want.Infection, dates, origin)
		// The year must have something to disagree on.
		assert.Greater(t, severity, 20.0, origin)
		assert.Greater(t, periods, 1, origin)
		assert.Greater(t, len(dates), 10, origin)
		assert.Greater(t, unknown, 0, origin)
	}
}

type pythonDays struct {
	Days      []string  `json:"days"`
	Severity  []float64 `json:"severity"`
	Unknown   []int     `json:"unknown"`
	Hutton    []*int    `json:"hutton"`
	Infection []string  `json:"infection"`
}

func pythonDiseases(t testing.TB, s *weather.Series, zone *time.Location) pythonDays {
	column := func(v weather.Var) []*float64 {
		out := make([]*float64, s.Len())
		for i := range out {
			if x := s.Value(v, i); !math.IsNaN(x) {
				out[i] = &x
			}
		}
		return out
	}
	days := make([]string, s.Len())
	for i := range days {
		days[i] = s.Time(i).In(zone).Format("2006-01-02")
	}
	text, err := json.Marshal(map[string]any{"temp": column(weather.Temp), "rh": column(weather.RH), "rain": column(weather.Rain), "day": days})
	require.NoError(t, err)
	cmd := exec.Command(python, "disease.py")
	cmd.Dir, cmd.Env, cmd.Stdin, cmd.Stderr = scripts, append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1"), bytes.NewReader(text), os.Stderr
	answer, err := cmd.Output()
	require.NoError(t, err)
	var out pythonDays
	require.NoError(t, json.Unmarshal(answer, &out))
	require.Len(t, out.Days, 365)
	return out
}
