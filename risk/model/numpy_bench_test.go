package model

import (
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

const (
	python  = "/usr/bin/python3"
	scripts = "../../testdata/scipy/"
)

// needNumpy skips when the machine has no numpy for its system Python.
func needNumpy(t testing.TB) {
	t.Helper()
	if err := exec.Command(python, "-c", "import numpy").Run(); err != nil {
		t.Skipf("%s cannot import numpy (%v); install python3-scipy to run this check", python, err)
	}
}

// tomatoTable is the table of testdata/scipy/vectorised.py: Madden, Pennypacker &
// MacNab 1978 as used by Pitblado 1992, from memory.
const tomatoTable = `{unit: severity values, day: calendar, hours: {humidity: 90}, count: total, mean_of: counted hours, temperature_unit: C, round_to: 1,
  tables: [{bands: [
    {from: 13, to: 17, steps: [{hours: 7, value: 1}, {hours: 16, value: 2}, {hours: 21, value: 3}]},
    {from: 18, to: 20, steps: [{hours: 4, value: 1}, {hours: 9, value: 2}, {hours: 16, value: 3}, {hours: 23, value: 4}]},
    {from: 21, to: 25, steps: [{hours: 3, value: 1}, {hours: 6, value: 2}, {hours: 13, value: 3}, {hours: 21, value: 4}]},
    {from: 26, to: 29, steps: [{hours: 4, value: 1}, {hours: 9, value: 2}, {hours: 16, value: 3}, {hours: 23, value: 4}]}]}],
  start: {kind: in ground, standing: common practice}}`

// numpyYear is the invented year of testdata/scipy/bench.py.
func numpyYear(t require.TestingT) *weather.Series {
	s := weather.NewSeries(civil.New(2024, 1, 1).Start(time.UTC), 8784)
	o, err := s.AddOrigin(weather.Origin{Source: "invented", Kind: weather.Analysis})
	require.NoError(t, err)
	for i := range s.Len() {
		d, h := float64(i/24), 2*math.Pi*float64(i%24)/24
		mean := 11 - 13*math.Cos(2*math.Pi*d/366) + 3*math.Sin(d*1.7)
		s.Set(weather.Temp, i, mean-(6+3*math.Sin(d*0.9))*math.Cos(h), o)
		s.Set(weather.RH, i, 78+18*math.Cos(h)+7*math.Sin(float64(i)/17), o)
	}
	return s
}

// best is the shortest time of many runs: what a busy machine does between them
// is not counted, here as in bench.py.
func best(f func()) float64 {
	shortest := math.Inf(1)
	for end := time.Now().Add(600 * time.Millisecond); time.Now().Before(end); {
		began := time.Now()
		f()
		shortest = min(shortest, time.Since(began).Seconds())
	}
	return shortest
}

// BenchmarkAgainstNumpy prints how many times longer the vectorised numpy version
// takes for one site-season of the same severity table, of degree-days by the
// single sine, and of both. Both sides begin with temperatures and wet hours (for
// degree-days daily extremes) in memory and end with the running total of each day,
// of which the last must agree: "ratio" with one site in numpy's arrays, and with
// 50. "ratio-track" takes the whole of the Go side, which also bounds each total,
// counts unknown hours, flags forecasts and finds thresholds crossed;
// "ratio-refresh" bringing that track up to date after 24 new hours.
func BenchmarkAgainstNumpy(b *testing.B) {
	needNumpy(b)
	w := numpyYear(b)
	in := &Input{Weather: w, Start: civil.New(2024, 1, 1)}
	severity := decode(b, "severity-table", tomatoTable)
	sine := decode(b, "degree-days", "{method: single-sine, cutoff: horizontal, lower: 10, upper: 30, unit: C, start: {kind: calendar, day: 01-01, standing: confirmed}}")
	for _, c := range []struct {
		task  string
		rules []program
	}{
		{"severity", []program{severity}},
		{"degreedays-single-sine", []program{sine}},
		{"degreedays-and-severity", []program{sine, severity}},
	} {
		b.Run(c.task, func(b *testing.B) {
			cmd := exec.Command(python, "bench.py", c.task)
			cmd.Dir, cmd.Env = scripts, append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1")
			text, err := cmd.Output()
			require.NoError(b, err)
			sn := NewSeason(w, nil, time.Time{})
			var runners []*Runner
			for _, p := range c.rules {
				r, err := sn.NewRunner(p, in)
				require.NoError(b, err)
				runners = append(runners, r)
			}
			outdate := func(r *Runner) {
				if r.col.stale = 0; r.col.tallies != nil {
					r.col.tallies.stale = 0
				}
			}
			totals := make([][]float64, len(runners))
			for i, r := range runners {
				totals[i] = make([]float64, len(r.col.v))
			}
			same := best(func() {
				for i, r := range runners {
					outdate(r)
					r.col.refresh(r.p, &r.env)
					degreeday.Running(r.col.v, totals[i])
				}
			})
			whole := best(func() {
				for _, r := range runners {
					outdate(r)
					r.run(0)
				}
			})
			fromHours := best(func() {
				sn := NewSeason(w, nil, time.Time{})
				for _, p := range c.rules {
					_, _ = sn.Run(p, in)
				}
			})
			refresh := best(func() {
				_ = sn.Update(w, time.Time{}, w.Len()-24)
				for _, r := range runners {
					_, _ = r.Refresh(in)
				}
			})
			for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
				f := strings.Fields(line)
				require.Len(b, f, 3+len(runners), line)
				seconds, err := strconv.ParseFloat(f[1], 64)
				require.NoError(b, err, line)
				for i, r := range runners {
					theirs, err := strconv.ParseFloat(f[3+i], 64)
					require.NoError(b, err, line)
					last := len(totals[i]) - 1
					require.InEpsilon(b, theirs, totals[i][last], 1e-9)
					require.InEpsilon(b, theirs, r.Track().Points[last].Total, 1e-9)
				}
				if sites := f[2]; sites == "1" {
					b.ReportMetric(seconds/same, "ratio")
					b.ReportMetric(seconds/whole, "ratio-track")
					b.ReportMetric(seconds/refresh, "ratio-refresh")
				} else {
					b.ReportMetric(seconds/same, "ratio-"+sites+"-sites")
				}
			}
			b.ReportMetric(same*1e6, "µs")
			b.ReportMetric(whole*1e6, "µs-track")
			b.ReportMetric(fromHours*1e6, "µs-from-hours")
			b.ReportMetric(refresh*1e6, "µs-refresh")
			b.ReportMetric(0, "ns/op")
		})
	}
}
