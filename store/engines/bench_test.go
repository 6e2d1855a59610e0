package engines

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/store/pgtest"
	"plotwarden/store/postgres"
	"plotwarden/weather"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var t0 = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

// forecast is shaped as a service's answer: two days back, sixteen ahead, eight
// columns.
func forecast(cell int, fetched time.Time) *weather.Series {
	s := weather.NewSeries(fetched.Truncate(24*time.Hour).Add(-48*time.Hour), 18*24)
	o, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Forecast, Fetched: fetched})
	if err != nil {
		panic(err)
	}
	noise := uint32(cell*2654435761 + int(fetched.Unix()))
	tenth := func(x float64) float64 { return math.Round(x*10) / 10 }
	for i := range s.Len() {
		noise = noise*1664525 + 1013904223
		n, day := float64(noise>>16)/65536, math.Sin(float64(i-8)/24*2*math.Pi)
		for v, x := range map[weather.Var]float64{weather.Temp: tenth(18 + 6*day + 2*n), weather.RH: math.Round(75 - 20*day + 8*n), weather.DewPoint: tenth(12 + 3*n), weather.Rain: tenth(math.Max(0, n-0.8) * 5),
			weather.RainChance: math.Round(30 * n), weather.Wind: tenth(2 + 2*n), weather.Cloud: math.Round(100 * n), weather.Solar: math.Round(math.Max(0, 700*day) * (0.5 + n/2))} {
			s.Set(v, i, x, o)
		}
	}
	return s
}

const batch = 500

func fetches(round, perCell int) []store.Fetched {
	at := t0.Add(time.Duration(round) * time.Hour)
	out := make([]store.Fetched, batch)
	var cell, ahead *weather.Series // shared, as by those who ask once for a cell
	for i := range out {
		if i%perCell == 0 {
			cell = forecast(i, at)
			ahead = cell.Slice(48, cell.Len())
		}
		out[i] = store.Fetched{Site: fmt.Sprintf("site-%05d", i), Source: "a", At: at, Hours: cell, Ahead: ahead}
	}
	return out
}

// BenchmarkSaveFetched refreshes 500 sites an hour apart on both engines in turn, and
// prints what one site costs of processor time on each, the server's own included,
// and the ratio of the times that both took in one run.
func BenchmarkSaveFetched(b *testing.B) {
	for _, perCell := range []int{1, 5} {
		b.Run(fmt.Sprintf("%d sites a cell", perCell), func(b *testing.B) {
			server, err := Open(b.Context(), pgtest.New(b), Options{})
			require.NoError(b, err)
			defer server.Close()
			file, err := Open(b.Context(), filepath.Join(b.TempDir(), "plot.db"), Options{})
			require.NoError(b, err)
			defer file.Close()
			var wall, own, theirs [2]time.Duration
			n := 0
			for b.Loop() {
				list := fetches(n, perCell)
				for i, s := range []engine.Store{server, file} {
					began, before, there := time.Now(), processor(b), backends(b, server)
					failed, err := s.SaveFetched(context.Background(), list)
					wall[i] += time.Since(began)
					own[i] += processor(b) - before
					theirs[i] += backends(b, server) - there
					require.NoError(b, err)
					require.NoError(b, errors.Join(failed...))
				}
				n++
			}
			each := func(d time.Duration) float64 { return float64(d.Microseconds()) / float64(n*batch) }
			b.ReportMetric(each(own[0]), "postgres-client-us/site")
			b.ReportMetric(each(theirs[0]), "postgres-server-us/site")
			b.ReportMetric(each(own[1]), "sqlite-us/site")
			b.ReportMetric(float64(own[0]+theirs[0])/float64(own[1]), "cpu-ratio")
			b.ReportMetric(float64(wall[0])/float64(wall[1]), "time-ratio")
		})
	}
}

// processor is the processor time that this process has taken.
func processor(b *testing.B) time.Duration {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// backends is the processor time that the server's processes for us have taken.
func backends(b *testing.B, s engine.Full) (sum time.Duration) {
	rows, err := s.(*postgres.Store).Pool().Query(b.Context(), `SELECT pid FROM pg_stat_activity WHERE application_name = 'plotwarden'`)
	require.NoError(b, err)
	pids, err := pgx.CollectRows(rows, pgx.RowTo[int])
	require.NoError(b, err)
	for _, pid := range pids {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		require.NoError(b, err)
		_, after, _ := strings.Cut(string(stat), ") ")
		f := strings.Fields(after) // from the third field on; proc(5)
		for _, ticks := range f[11:13] {
			n, err := strconv.Atoi(ticks)
			require.NoError(b, err)
			sum += time.Duration(n) * 10 * time.Millisecond
		}
	}
	return sum
}
