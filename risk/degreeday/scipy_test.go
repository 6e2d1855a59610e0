package degreeday

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/weather"
)

const (
	python   = "/usr/bin/python3"
	scripts  = "../../testdata/scipy/"
	datasets = "../../../shared/datasets/"
)

// needScipy skips when the machine has no scipy for its system Python.
func needScipy(t testing.TB) {
	t.Helper()
	if err := exec.Command(python, "-c", "import scipy").Run(); err != nil {
		t.Skipf("%s cannot import scipy (%v); install python3-scipy to run this check", python, err)
	}
}

// openDataset opens an open data file that lies beside the repository.
func openDataset(t testing.TB, name string) io.ReadCloser {
	t.Helper()
	f, err := os.Open(datasets + name)
	if os.IsNotExist(err) {
		t.Skipf("%s is not beside this repository; see its SOURCE.txt for where it is from", datasets+name)
	}
	require.NoError(t, err)
	return f
}

type pythonRule struct {
	Method Method   `json:"method"`
	Cutoff Cutoff   `json:"cutoff"`
	Lower  float64  `json:"lower"`
	Upper  *float64 `json:"upper"`
}

func orNull(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// allRules is every method with every cutoff that it takes, at thresholds inside
// the range of the data.
func allRules() (rules []Rule, forPython []pythonRule) {
	for _, m := range methods {
		for _, c := range cutoffs {
			r := Rule{m, c, 8, 24}
			if m == Average && c != None || m.average() && m != Average && c != Horizontal {
				continue
			}
			rules = append(rules, r)
			p := pythonRule{m, c, r.Lower, &r.Upper}
			if c == None {
				p.Upper = nil
			}
			forPython = append(forPython, p)
		}
	}
	return rules, forPython
}

func runPython(t *testing.T, script string, in, out any) {
	t.Helper()
	body, err := json.Marshal(in)
	require.NoError(t, err)
	cmd := exec.Command(python, script)
	cmd.Dir, cmd.Env = scripts, append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1")
	cmd.Stdin = bytes.NewReader(body)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	answer, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	require.NoError(t, json.Unmarshal(answer, out))
}

// Hourly airport data of New York, 2013 (IEM ASOS archive, US Government
// observations): hours for the hourly method, and their daily extremes for the
// others, against scipy.
func TestAgreesWithScipyOnHourlyData(t *testing.T) {
	needScipy(t)
	f := openDataset(t, "nyc-hourly-2013/weather.csv")
	defer f.Close()
	s := readAirport(t, f, "JFK")
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	ws := s.Windows(loc, 0, false)
	days := s.Days(loc)
	hours := make([][]*float64, len(ws))
	for k, w := range ws {
		for i := max(0, w.From); i < min(w.To, s.Len()); i++ {
			hours[k] = append(hours[k], orNull(s.Value(weather.Temp, i)))
		}
	}
	known := checkAgainstScipy(t, days, hours, func(r Rule, out []float64) error { return r.Windows(s.Column(weather.Temp), ws, out) })
	assert.Greater(t, known, 350)
}

// Daily extremes of three stations of the US Climate Reference Network, 2020
// (NOAA NCEI daily01, public domain).
func TestAgreesWithScipyOnDailyData(t *testing.T) {
	needScipy(t)
	f := openDataset(t, "uscrn-daily-2020/uscrn-daily-2020-subset.csv")
	defer f.Close()
	stations := readDaily(t, f)
	require.GreaterOrEqual(t, len(stations), 3)
	for _, days := range stations[:3] {
		known := checkAgainstScipy(t, days, [][]*float64{}, nil)
		assert.Greater(t, known, 300)
	}
}

// checkAgainstScipy compares every rule day by day and returns the days known.
func checkAgainstScipy(t *testing.T, days []weather.Day, hours [][]*float64, hourly func(Rule, []float64) error) int {
	t.Helper()
	rules, forPython := allRules()
	var kept []int
	var pairs [][3]*float64
	for i, d := range days {
		if math.IsNaN(d.Min) || math.IsNaN(d.Max) {
			continue
		}
		next := math.NaN()
		if i+1 < len(days) && days[i+1].Date == d.Date+1 {
			next = days[i+1].Min
		}
		kept = append(kept, i)
		pairs = append(pairs, [3]*float64{&days[i].Min, &days[i].Max, orNull(next)})
	}
	var want [][]*float64
	runPython(t, "integrate.py", map[string]any{"rules": forPython, "days": pairs, "hours": hours}, &want)
	require.Len(t, want, len(rules))
	out := make([]float64, len(days))
	for k, r := range rules {
		if r.Method == Hourly {
			if hourly == nil {
				continue
			}
			require.NoError(t, hourly(r, out))
			require.Len(t, want[k], len(out))
			for i := range out {
				if want[k][i] == nil {
					assert.True(t, math.IsNaN(out[i]), "%s on %s", r, days[i].Date)
					continue
				}
				assert.InDelta(t, *want[k][i], out[i], 1e-9, "%s on %s", r, days[i].Date)
			}
			continue
		}
		require.NoError(t, r.Days(days, out))
		for j, i := range kept {
			require.NotNil(t, want[k][j])
			assert.InDelta(t, *want[k][j], out[i], 1e-8, "%s on %s", r, days[i].Date)
		}
	}
	return len(kept)
}

func readAirport(t testing.TB, f io.Reader, station string) *weather.Series {
	t.Helper()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	s := weather.NewSeries(time.Date(2013, 1, 1, 5, 0, 0, 0, time.UTC), 365*24)
	o, err := s.AddOrigin(weather.Origin{Source: station, Kind: weather.Nearby})
	require.NoError(t, err)
	for _, row := range rows[1:] {
		at, err := time.Parse(time.RFC3339, row[14])
		require.NoError(t, err)
		i := s.Index(at)
		if v, err := strconv.ParseFloat(row[5], 64); row[0] == station && err == nil && i >= 0 && i < s.Len() {
			s.Set(weather.Temp, i, FtoC(v), o)
		}
	}
	return s
}

func readDaily(t *testing.T, f io.Reader) (stations [][]weather.Day) {
	t.Helper()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	last := ""
	num := func(s string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	for _, row := range rows[1:] {
		if row[0] != last {
			last = row[0]
			stations = append(stations, nil)
		}
		date, err := civil.Parse(row[1])
		require.NoError(t, err)
		k := len(stations) - 1
		stations[k] = append(stations[k], weather.Day{Date: date, Max: num(row[5]), Min: num(row[6]), Hours: 24})
	}
	return stations
}
