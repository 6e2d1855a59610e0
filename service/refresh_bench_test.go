package service

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// The round: this many sites in this many grid cells, of past and coming days.
const (
	roundSites = 10000
	roundCells = 2000
	roundPast  = 7
	roundAhead = 16
)

var roundNow = time.Date(2026, 7, 14, 10, 20, 0, 0, time.UTC)

// roundGarden is bare ground on a grid of 50 by 40 cells of 0.1 degree, five sites
// in each: weather alone is measured.
func roundGarden() *garden.Garden {
	g := &garden.Garden{Sites: make([]garden.Site, roundSites)}
	for i := range g.Sites {
		cell, off := i*7%roundCells, float64(i/roundCells)*0.015
		g.Sites[i] = garden.Site{
			ID: fmt.Sprintf("site-%05d", i), Latitude: 40.01 + float64(cell/50)*0.1 + off, Longitude: -80.09 + float64(cell%50)*0.1 + off,
			Elevation: 110, Zone: "America/New_York",
		}
	}
	return g
}

// roundBody is the hourly part of an answer; its values differ by variant.
func roundBody(variant int) []byte {
	const hours = 24 * (roundPast + roundAhead)
	var b bytes.Buffer
	b.WriteString(`"utc_offset_seconds":0,"elevation":110,"hourly_units":{"time":"unixtime","temperature_2m":"°C","relative_humidity_2m":"%","dew_point_2m":"°C","precipitation":"mm","precipitation_probability":"%","wind_speed_10m":"m/s","cloud_cover":"%","shortwave_radiation":"W/m²","soil_temperature_6cm":"°C"},"hourly":{"time":[`)
	start := roundNow.Truncate(24*time.Hour).Unix() - 86400*roundPast
	column := func(f func(i int) float64) {
		for i := range hours {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(strconv.FormatFloat(math.Round(10*f(i))/10, 'f', -1, 64))
		}
	}
	column(func(i int) float64 { return float64(start + int64(3600*i)) })
	wave := func(i int) float64 { return math.Sin((float64(i) - 9) / 24 * 2 * math.Pi) }
	noise := func(i int) float64 { return float64((i*7919+variant*104729)%1000) / 1000 }
	for name, f := range map[string]func(i int) float64{
		"temperature_2m":            func(i int) float64 { return 18 + 6*wave(i) + noise(i) },
		"relative_humidity_2m":      func(i int) float64 { return math.Round(72 - 20*wave(i) + 5*noise(i)) },
		"dew_point_2m":              func(i int) float64 { return 11 + noise(i) },
		"precipitation":             func(i int) float64 { return math.Max(0, noise(i)-0.9) * 8 },
		"precipitation_probability": func(i int) float64 { return math.Round(40 * noise(i)) },
		"wind_speed_10m":            func(i int) float64 { return 2 + noise(i) },
		"cloud_cover":               func(i int) float64 { return math.Round(100 * noise(i)) },
		"shortwave_radiation": func(i int) float64 {
			at := time.Unix(start+int64(3600*i)-1800, 0)
			return 800 * math.Max(0, math.Sin(weather.SunElevation(at, 42, -77.5)*math.Pi/180))
		},
		"soil_temperature_6cm": func(i int) float64 { return 17 + 2*wave(i) },
	} {
		fmt.Fprintf(&b, `],"%s":[`, name)
		column(f)
	}
	b.WriteString(`]}}`)
	return b.Bytes()
}

// roundServer answers forecast requests from bodies made beforehand.
func roundServer(b *testing.B) (url string, requests, sent *atomic.Int64) {
	requests, sent = new(atomic.Int64), new(atomic.Int64)
	variants := make([][]byte, 16)
	for i := range variants {
		variants[i] = roundBody(i)
	}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		lats, lons := strings.Split(r.URL.Query().Get("latitude"), ","), strings.Split(r.URL.Query().Get("longitude"), ",")
		requests.Add(1)
		w.Header().Set("Content-Type", "application/json")
		write := func(p string) {
			n, _ := w.Write([]byte(p))
			sent.Add(int64(n))
		}
		for i := range lats {
			switch {
			case i > 0:
				write(",")
			case len(lats) > 1:
				write("[")
			}
			write(fmt.Sprintf(`{"latitude":%s,"longitude":%s,`, lats[i], lons[i]))
			n, _ := w.Write(variants[i%len(variants)])
			sent.Add(int64(n))
		}
		if len(lats) > 1 {
			write("]")
		}
	}))
	b.Cleanup(srv.Close)
	return srv.URL, requests, sent
}

// forecastOnly is a source without past years: they are fetched once, not in
// every round.
type forecastOnly struct{ o *OpenMeteo }

func (f forecastOnly) Name() string                    { return f.o.Name() }
func (f forecastOnly) Serves(*garden.Site) bool        { return true }
func (f forecastOnly) Attribution() source.Attribution { return f.o.Attribution() }
func (f forecastOnly) FetchAll(ctx context.Context, sites []*garden.Site, now time.Time, give func(int, Answer, error)) {
	f.o.FetchAll(ctx, sites, now, give)
}

// roundJob is what a child process does. Memory is measured in a process of its
// own, so that the server's and the benchmark's do not count.
type roundJob struct {
	URL   string
	Cell  float64
	Store string
	Whole bool // the whole round, else its weather alone
}

func TestMain(m *testing.M) {
	text := os.Getenv("PLOTWARDEN_ROUND_JOB")
	if text == "" {
		os.Exit(m.Run())
	}
	var j roundJob
	err := json.Unmarshal([]byte(text), &j)
	if err == nil {
		err = j.run()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

func (j roundJob) run() error {
	ctx := context.Background()
	clock := func() time.Time { return roundNow }
	c, err := openmeteo.New(openmeteo.Config{ForecastURL: j.URL, Cell: j.Cell, Source: source.Options{UserAgent: "plotwarden/bench", Now: clock}})
	if err != nil {
		return err
	}
	st, err := sqlite.Open(ctx, filepath.Join(j.Store, "bench.db"))
	if err != nil {
		return err
	}
	log := slog.New(slog.DiscardHandler)
	svc := New(Options{
		Garden: sync.OnceValue(roundGarden), Store: st, Sources: []Source{forecastOnly{&OpenMeteo{Client: c, PastDays: roundPast, AheadDays: roundAhead}}},
		Messenger: silent{}, Metrics: NewMetrics("bench"), Log: log, Now: clock,
		Rules: plan.DefaultRules(), Hours: plan.DefaultHourLimits(), FetchEvery: time.Hour,
	})
	if j.Whole {
		err = svc.Refresh(ctx)
	} else {
		svc.pull(ctx, log, svc.everySite())
	}
	if err != nil {
		return err
	}
	for _, i := range []int{0, roundSites / 2, roundSites - 1} {
		s, err := st.LoadWeather(ctx, svc.o.Garden().Sites[i].ID, roundNow, roundNow.Add(24*time.Hour))
		if err != nil || s.Column(weather.Temp) == nil {
			return fmt.Errorf("site %d has no weather: %w", i, err)
		}
	}
	return st.Close()
}

// BenchmarkRound refreshes 10,000 sites in 2,000 grid cells from a loopback
// server, storage included, and prints seconds, those of the processors, requests,
// megabytes and the peak memory of the process; for sharing of cells also the ratio of the time without
// to that with it.
//
//	go test -run xxx -bench Round -benchtime 1x ./service
func BenchmarkRound(b *testing.B) {
	var without float64
	for _, c := range []struct {
		name  string
		cell  float64
		whole bool
	}{
		{"weather, no sharing", 0, false},
		{"weather, sharing", openmeteo.DefaultCell, false},
		{"whole round, sharing", openmeteo.DefaultCell, true},
	} {
		b.Run(c.name, func(b *testing.B) {
			url, requests, sent := roundServer(b)
			var peak int64
			var cpu time.Duration
			for b.Loop() {
				text, err := json.Marshal(roundJob{URL: url + "/v1/forecast", Cell: c.cell, Store: b.TempDir(), Whole: c.whole})
				require.NoError(b, err)
				cmd := exec.Command(os.Args[0])
				cmd.Env = append(os.Environ(), "PLOTWARDEN_ROUND_JOB="+string(text))
				out, err := cmd.CombinedOutput()
				require.NoError(b, err, string(out))
				cpu += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
				peak = max(peak, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss)
			}
			n := float64(b.N)
			took := b.Elapsed().Seconds() / n
			b.ReportMetric(float64(requests.Load())/n, "requests")
			b.ReportMetric(float64(sent.Load())/n/1e6, "MB")
			b.ReportMetric(float64(peak)/1024, "peak-MiB")
			b.ReportMetric(took, "s")
			b.ReportMetric(cpu.Seconds()/n, "cpu-s")
			b.ReportMetric(0, "ns/op")
			switch {
			case c.cell == 0:
				without = took
			case !c.whole && without > 0:
				b.ReportMetric(without/took, "times-faster")
			}
		})
	}
}
