package wetness

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

	"plotwarden/weather"
)

const (
	python  = "/usr/bin/python3"
	scripts = "../../testdata/scipy/"
	airport = "../../../shared/datasets/nyc-hourly-2013/weather.csv"
)

// Hourly airport data of New York, 2013 (IEM ASOS archive, US Government
// observations), classified apart from this package by numpy. The raw file keeps
// a wind of 1048 mph and gaps: both must come out alike.
func TestAgreesWithNumpyOnHourlyData(t *testing.T) {
	if err := exec.Command(python, "-c", "import scipy").Run(); err != nil {
		t.Skipf("%s cannot import scipy (%v); install python3-scipy to run this check", python, err)
	}
	f, err := os.Open(airport)
	if os.IsNotExist(err) {
		t.Skipf("%s is not beside this repository; see its SOURCE.txt for where it is from", airport)
	}
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)

	vars := map[string]struct {
		v       weather.Var
		column  int
		convert func(float64) float64
	}{
		"temp": {weather.Temp, 5, func(f float64) float64 { return (f - 32) / 1.8 }},
		"dew":  {weather.DewPoint, 6, func(f float64) float64 { return (f - 32) / 1.8 }},
		"rh":   {weather.RH, 7, func(x float64) float64 { return x }},
		"wind": {weather.Wind, 9, func(mph float64) float64 { return mph * 0.44704 }},
		"rain": {weather.Rain, 11, func(in float64) float64 { return in * 25.4 }},
	}
	for _, station := range []string{"EWR", "JFK"} {
		s := weather.NewSeries(time.Date(2013, 1, 1, 5, 0, 0, 0, time.UTC), 365*24)
		o, err := s.AddOrigin(weather.Origin{Source: station, Kind: weather.Nearby})
		require.NoError(t, err)
		for _, row := range rows[1:] {
			at, err := time.Parse(time.RFC3339, row[14])
			require.NoError(t, err)
			i := s.Index(at)
			if row[0] != station || i < 0 || i >= s.Len() {
				continue
			}
			for _, c := range vars {
				if x, err := strconv.ParseFloat(row[c.column], 64); err == nil {
					s.Set(c.v, i, c.convert(x), o)
				}
			}
		}
		in := map[string]any{"threshold": 90}
		for name, c := range vars {
			col := make([]*float64, s.Len())
			for i := range col {
				if x := s.Value(c.v, i); !math.IsNaN(x) {
					col[i] = &x
				}
			}
			in[name] = col
		}
		want := runPython(t, in)
		for m, states := range want {
			got := Rule{Method: m}.Estimate(s, "", nil, nil)
			require.Len(t, states, len(got))
			wet := 0
			for i, st := range got {
				exp := Unknown
				if states[i] != nil {
					exp = Dry + State(*states[i])
				}
				if exp == Wet {
					wet++
				}
				if st != exp {
					assert.Equal(t, exp, st, "%s %s at %s", station, m, s.Time(i))
				}
			}
			assert.Greater(t, wet, 500, "%s %s", station, m)
		}
	}
}

func runPython(t *testing.T, in any) map[Method][]*uint8 {
	t.Helper()
	body, err := json.Marshal(in)
	require.NoError(t, err)
	cmd := exec.Command(python, "wetness.py")
	cmd.Dir, cmd.Env = scripts, append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1")
	cmd.Stdin = bytes.NewReader(body)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	answer, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	want := map[Method][]*uint8{}
	require.NoError(t, json.Unmarshal(answer, &want))
	require.Len(t, want, 2)
	return want
}
