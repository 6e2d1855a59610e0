package outlook

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"plotwarden/civil"
	"plotwarden/risk"
)

// stationTracks reads degree-days F above 50 by the mean of the day's extremes at
// the 24 stations of 2020, or skips. A day without extremes gains nothing.
func stationTracks(t *testing.T) map[string]*risk.Track {
	t.Helper()
	f, err := os.Open("../../../shared/datasets/uscrn-daily-2020/uscrn-daily-2020-subset.csv")
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("the daily records of the US Climate Reference Network are not beside this tree (../shared/datasets/uscrn-daily-2020)")
	}
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	col := map[string]int{}
	for i, c := range rows[0] {
		col[c] = i
	}
	values := map[string][]float64{}
	for _, r := range rows[1:] {
		low, lowErr := strconv.ParseFloat(r[col["t_daily_min"]], 64)
		high, highErr := strconv.ParseFloat(r[col["t_daily_max"]], 64)
		gain := 0.0
		if lowErr == nil && highErr == nil && low > -90 && high > -90 {
			gain = max(0, (low+high)/2*1.8+32-50)
		}
		values[r[col["wban"]]] = append(values[r[col["wban"]]], gain)
	}
	out := map[string]*risk.Track{}
	for id, v := range values {
		out[id] = track(civil.New(2020, 1, 1), 0, v...)
		out[id].Unit = "degree-days F"
	}
	return out
}

// paceFrom makes the fit from some stations.
func paceFrom(tracks map[string]*risk.Track, without string) paceFit {
	type sample struct {
		daily, gained float64
		days          int
	}
	var all []sample
	for id, t := range tracks {
		if id == without {
			continue
		}
		for d := 60; d < 215 && t.Points[d-1].Total < 1800; d += 5 {
			daily := gained(t, d-PaceDays, d) / PaceDays
			if daily <= 0 {
				continue
			}
			for _, k := range []int{7, 14, 28, 42} {
				all = append(all, sample{daily, gained(t, d, d+k), k})
			}
		}
	}
	best, least := paceFit{}, math.Inf(1)
	for _, ceiling := range []float64{20, 25, 30, 35} {
		for rise := 0.1; rise < 0.41; rise += 0.05 {
			p, sum := paceFit{rise: rise, ceiling: ceiling}, 0.0
			for _, s := range all {
				off := (s.gained - p.gain(s.daily, PaceDays/2, s.days)) / float64(s.days)
				sum += off * off
			}
			if sum < least {
				best, least = p, sum
			}
		}
	}
	for i, at := range paceGains {
		low, high := at-1.5, at+1.5
		if i == 0 {
			low = 0
		}
		if i == len(paceGains)-1 {
			low, high = 18, math.Inf(1)
		}
		var times []float64
		for _, s := range all {
			want := best.gain(s.daily, PaceDays/2, s.days)
			if g := want / float64(s.days); g >= low && g < high {
				times = append(times, s.gained/want)
			}
		}
		slices.Sort(times)
		for k, q := range []float64{0.1, 0.5, 0.9} {
			best.times[i][k] = stat.Quantile(q, stat.Empirical, times, nil)
		}
	}
	return best
}

// TestPaceAtStationsLeftOut fits the fallback to 23 stations and holds it against
// the one that was left out, each in turn.
//
//	go test ./risk/outlook -run LeftOut -v
func TestPaceAtStationsLeftOut(t *testing.T) {
	tracks := stationTracks(t)
	require.Len(t, tracks, 24)
	fit := paceFrom(tracks, "")
	t.Logf("fitted to all 24: %.2f", fit)
	assert.InDelta(t, fit.rise, paceMeasured.rise, 0.001)
	assert.InDelta(t, fit.ceiling, paceMeasured.ceiling, 0.001)
	for i := range fit.times {
		for k := range fit.times[i] {
			assert.InDelta(t, fit.times[i][k], paceMeasured.times[i][k], 0.051, "%v", paceGains[i])
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "\n%-14s %6s %8s %8s   %s\n", "days ahead", "n", "error", "bias", "from the 10 to the 90 % date")
	for _, lead := range []int{28, 14, 7} {
		n, dated, covered, stated, off, bias := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
		for _, id := range slices.Sorted(maps.Keys(tracks)) {
			p := paceFrom(tracks, id)
			all := tracks[id]
			for threshold := 200.0; threshold <= 1800; threshold += 100 {
				came := slices.IndexFunc(all.Points, func(p risk.Point) bool { return p.Total >= threshold })
				if came-lead < 30 {
					continue
				}
				seen := *all
				seen.Points = all.Points[:came-lead]
				at := all.Points[came].Date
				o := newFan(&seen, nil, nil, &p).Outlook(Question{Today: at.AddDays(-lead), Threshold: threshold})
				n++
				stated += o.Inside
				if !o.P10.IsZero() && o.P10 <= at && (o.P90.IsZero() || at <= o.P90) {
					covered++
				}
				if !o.P50.IsZero() {
					dated++
					off += math.Abs(float64(o.P50.Sub(at)))
					bias += float64(o.P50.Sub(at))
				}
			}
		}
		fmt.Fprintf(&b, "%-14d %6.0f %8.1f %+8.1f   %.0f %% (stated %.0f %%)\n", lead, n, off/dated, bias/dated, 100*covered/n, 100*stated/n)
		assert.InDelta(t, 0.8, covered/n, 0.1, "%d days ahead", lead)
	}
	t.Log("every total from 200 to 1800 by 100 (not independent of each other):" + b.String())
}
