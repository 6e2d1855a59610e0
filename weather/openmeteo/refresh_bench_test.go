package openmeteo_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/store/sqlite"
	"plotwarden/weather"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// The refresh: this many sites in this many grid cells, of past and coming days.
const (
	refreshSites = 10000
	refreshCells = 2000
	refreshPast  = 7
	refreshAhead = 16
	refreshHours = 24 * (refreshPast + refreshAhead)
)

var refreshNow = time.Date(2026, 7, 14, 10, 20, 0, 0, time.UTC)

// sites lie on a grid of 50 by 40 cells of 0.1 degree, five in each, in another
// order than that of the cells.
func sites() []openmeteo.Place {
	out := make([]openmeteo.Place, refreshSites)
	for i := range out {
		cell := i * 7 % refreshCells
		off := float64(i/refreshCells) * 0.015
		out[i] = openmeteo.Place{ID: fmt.Sprintf("site-%05d", i), Lat: 40.01 + float64(cell/50)*0.1 + off, Lon: -80.09 + float64(cell%50)*0.1 + off, Elev: 110}
	}
	return out
}

// hourlyBody is the hourly part of an answer; its values differ by variant.
func hourlyBody(variant int) []byte {
	var b bytes.Buffer
	b.WriteString(`"utc_offset_seconds":0,"elevation":110,"hourly_units":{"time":"unixtime","temperature_2m":"°C","relative_humidity_2m":"%","dew_point_2m":"°C","precipitation":"mm","precipitation_probability":"%","wind_speed_10m":"m/s","cloud_cover":"%","shortwave_radiation":"W/m²","soil_temperature_6cm":"°C"},"hourly":{"time":[`)
	start := refreshNow.Truncate(24*time.Hour).Unix() - 86400*refreshPast
	column := func(f func(i int) float64) {
		for i := range refreshHours {
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

// loopback answers forecast requests from bodies made beforehand.
func loopback(b *testing.B) (url string, requests, places, sent *atomic.Int64) {
	requests, places, sent = new(atomic.Int64), new(atomic.Int64), new(atomic.Int64)
	variants := make([][]byte, 16)
	for i := range variants {
		variants[i] = hourlyBody(i)
	}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		lats, lons := strings.Split(r.URL.Query().Get("latitude"), ","), strings.Split(r.URL.Query().Get("longitude"), ",")
		requests.Add(1)
		places.Add(int64(len(lats)))
		w.Header().Set("Content-Type", "application/json")
		write := func(p []byte) {
			n, _ := w.Write(p)
			sent.Add(int64(n))
		}
		for i := range lats {
			sep := "["
			if i > 0 {
				sep = ","
			}
			if len(lats) == 1 {
				sep = ""
			}
			write(fmt.Appendf(nil, `%s{"latitude":%s,"longitude":%s,`, sep, lats[i], lons[i]))
			write(variants[i%len(variants)])
		}
		if len(lats) > 1 {
			write([]byte("]"))
		}
	}))
	b.Cleanup(srv.Close)
	return srv.URL, requests, places, sent
}

// job is what a child process refreshes. Memory is measured in a process of its
// own, so that the server's and the benchmark's do not count.
type job struct {
	URL   string
	Cell  float64
	Store string // folder; "" stores nothing
}

func TestMain(m *testing.M) {
	if text := os.Getenv("REFRESH_JOB"); text != "" {
		var j job
		if err := json.Unmarshal([]byte(text), &j); err != nil {
			panic(err)
		}
		if err := refresh(j); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// refresh does what a round of the service does with weather: fetch, check,
// store the hours and the forecast as it was issued.
func refresh(j job) error {
	ctx := context.Background()
	c, err := openmeteo.New(openmeteo.Config{ForecastURL: j.URL, Cell: j.Cell, Source: source.Options{UserAgent: "plotwarden/bench"}})
	if err != nil {
		return err
	}
	var st *sqlite.Store
	if j.Store != "" {
		if st, err = sqlite.Open(ctx, filepath.Join(j.Store, "bench.db")); err != nil {
			return err
		}
	}
	places := sites()
	var last, clean *weather.Series
	var failed error
	stored := 0
	c.Each(ctx, refreshNow, places, refreshPast, refreshAhead, func(i int, r openmeteo.Result) {
		switch {
		case failed != nil:
			return
		case r.Err != nil:
			failed = r.Err
			return
		}
		if r.Series != last { // places of one cell share the series, and its check
			last = r.Series
			clean, _ = weather.Check(r.Series, weather.DefaultLimits())
		}
		if st != nil {
			if failed = st.SaveWeather(ctx, r.Place.ID, clean); failed == nil {
				failed = st.SaveForecast(ctx, r.Place.ID, c.Name(), refreshNow, r.Series.Slice(r.Series.Index(refreshNow), r.Series.Len()))
			}
		}
		stored++
	})
	if failed == nil && stored != refreshSites {
		failed = fmt.Errorf("%d of %d sites", stored, refreshSites)
	}
	if st != nil {
		if err := st.Close(); err != nil {
			return err
		}
	}
	return failed
}

// BenchmarkRefresh refreshes 10,000 sites in 2,000 grid cells from a loopback
// server and prints, for each way, the requests, the places asked for in them,
// the megabytes received, and the peak memory, processor and wall time of the
// refreshing process. The server runs beside it on the same cores.
//
//	go test -run xxx -bench Refresh -benchtime 1x ./weather/openmeteo
func BenchmarkRefresh(b *testing.B) {
	for _, kept := range []string{"fetched", "stored"} {
		for _, cell := range []float64{0, 0.1} {
			name := "no sharing"
			if cell > 0 {
				name = "sharing"
			}
			b.Run(name+", "+kept, func(b *testing.B) {
				url, requests, places, sent := loopback(b)
				var peak int64
				var cpu time.Duration
				for b.Loop() {
					j := job{URL: url + "/v1/forecast", Cell: cell}
					if kept == "stored" {
						j.Store = b.TempDir()
					}
					text, err := json.Marshal(j)
					require.NoError(b, err)
					cmd := exec.Command(os.Args[0])
					cmd.Env = append(os.Environ(), "REFRESH_JOB="+string(text))
					out, err := cmd.CombinedOutput()
					require.NoError(b, err, string(out))
					cpu += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
					peak = max(peak, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss)
				}
				n := float64(b.N)
				b.ReportMetric(float64(requests.Load())/n, "requests")
				b.ReportMetric(float64(places.Load())/n, "places")
				b.ReportMetric(float64(sent.Load())/n/1e6, "MB")
				b.ReportMetric(float64(peak)/1024, "peak-MiB")
				b.ReportMetric(cpu.Seconds()/n, "cpu-s")
				b.ReportMetric(b.Elapsed().Seconds()/n, "wall-s")
				b.ReportMetric(0, "ns/op")
			})
		}
	}
}
