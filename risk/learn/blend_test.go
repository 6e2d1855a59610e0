package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// meanMisses learns from logs of n seasons and returns the mean miss of each way
// over seasons to come. ratio 0 draws each place's threshold from the expected
// spread of places.
func meanMisses(t *testing.T, n, logs int, ratio, cv float64) (map[Name]float64, float64) {
	t.Helper()
	const more = 12
	r := rand.New(rand.NewPCG(20260401, uint64(n)))
	sum := map[Name]float64{}
	inside, all := 0.0, 0.0
	for range logs {
		q := ratio
		if q == 0 {
			q = math.Exp(PlaceCV * r.NormFloat64())
		}
		s := simulate(r, n, more, 7, q, cv)
		a, err := Learn(s.input())
		require.NoError(t, err)
		for k, v := range s.misses(a) {
			sum[k] += v / float64(logs)
		}
		w := a.Way(Blend)
		for y := 2000 + n; y < 2000+n+more; y++ {
			c := s.curves[y]
			low, _ := c.Date(w.Low)
			high, _ := c.Date(w.High)
			if s.arrivals[y] >= low && s.arrivals[y] <= high {
				inside++
			}
			all++
		}
	}
	return sum, inside / all
}

// TestBlendOnSimulatedLogs learns from logs whose truth is known, looked at once
// a week, of 1 to 15 seasons. Places differ as the prior expects (20 %), years by
// less than it expects (8 %), as much (15 %) and more (20 %).
func TestBlendOnSimulatedLogs(t *testing.T) {
	if testing.Short() {
		t.Skip("simulations take some seconds")
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%8s %3s  %9s %9s %9s %9s  %6s %9s\n", "year CV", "n", "calendar", "published", "local", "blend", "ratio", "covered")
	for _, cv := range []float64{0.08, YearCV, 0.20} {
		for n := 1; n <= 15; n++ {
			logs := 150
			if os.Getenv("PLOTWARDEN_BLEND") == "" {
				if n > 1 {
					logs = 70
				}
				if n != 1 && n != 8 && (cv != YearCV || n != 3 && n != 15) {
					continue
				}
			}
			m, covered := meanMisses(t, n, logs, 0, cv)
			better := min(m[Published], m[Local])
			fmt.Fprintf(&b, "%7.0f%% %3d  %9.2f %9.2f %9.2f %9.2f  %6.2f %8.0f%%\n", 100*cv, n, m[Calendar], m[Published], m[Local], m[Blend], m[Blend]/better, 100*covered)
			assert.LessOrEqual(t, m[Blend], 1.10*better, "blend of %d seasons, year to year %g", n, cv)
			assert.LessOrEqual(t, m["chosen"], 1.10*better, "chosen way of %d seasons, year to year %g", n, cv)
			if cv == YearCV {
				// Days are whole: an interval of them holds a little more than it says.
				assert.True(t, covered >= 0.75 && covered <= 0.90, "coverage of the 80 %% interval with %d seasons: %.0f %%", n, 100*covered)
			}
		}
	}
	t.Log("mean miss in days of a season to come, by the seasons logged:\n" + b.String())
}

// TestBlendWhereTheTruthIsFixed holds the truth of the place at one multiple of
// the published threshold. With one season the bound is looser: see
// TestBlendOverManyTruths.
func TestBlendWhereTheTruthIsFixed(t *testing.T) {
	if testing.Short() {
		t.Skip("simulations take some seconds")
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%5s %3s  %9s %9s %9s  %6s\n", "truth", "n", "published", "local", "blend", "ratio")
	ratios, seasons := []float64{0.8, 1, 1.25}, []int{1, 2, 4, 15}
	if os.Getenv("PLOTWARDEN_BLEND") != "" {
		ratios, seasons = []float64{0.8, 0.9, 1, 1.1, 1.25}, []int{1, 2, 4, 8, 15}
	}
	for _, ratio := range ratios {
		for _, n := range seasons {
			logs := 20
			if n <= 2 {
				logs = 60
			}
			m, _ := meanMisses(t, n, logs, ratio, YearCV)
			better := min(m[Published], m[Local])
			fmt.Fprintf(&b, "%5.2f %3d  %9.2f %9.2f %9.2f  %6.2f\n", ratio, n, m[Published], m[Local], m[Blend], m[Blend]/better)
			assert.LessOrEqual(t, m[Blend], 1.16*better, "truth at %g, %d seasons", ratio, n)
			if n >= 4 {
				assert.LessOrEqual(t, m[Blend], 1.10*better, "truth at %g, %d seasons", ratio, n)
			}
		}
	}
	t.Log("mean miss in days, the place's threshold a fixed multiple of the published one:\n" + b.String())
}

// TestBlendOverManyTruths holds the blend against the better of its parts where
// the pest comes 0 to 30 days after the published total, with a standard
// deviation of 3 to 20 days from year to year.
//
//	go test ./risk/learn -run OverManyTruths -v
//
// PLOTWARDEN_BLEND=300 makes so many logs for each, and all of 1 to 15 seasons; it
// takes an hour, 60 a fifth of it. With one or two
// seasons no rule can be within a tenth of the better part everywhere: one find
// 12 days late may be a place that is 12 days later every year, or one late year
// of a place where the published total holds. Whoever knew the spread from year to
// year would be at least 1.1 times as far off as the better part somewhere with
// one season; whoever knows only that it lies between 3 and 20 days, at least 1.2
// times (TestNoRuleIsWithinATenthWithOneSeason).
func TestBlendOverManyTruths(t *testing.T) {
	if testing.Short() {
		t.Skip("simulations take some seconds")
	}
	seasons, logs := []int{1, 3, 8}, 20
	biases, spreads := []float64{0, 10, 30}, []float64{3, 10, 20}
	if many, err := strconv.Atoi(os.Getenv("PLOTWARDEN_BLEND")); err == nil {
		seasons, logs = []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15}, many
		biases, spreads = []float64{0, 3, 6, 10, 15, 20, 30}, []float64{3, 6, 10, 15, 20}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "blend's mean miss as a multiple of that of the better of published and local threshold\n%8s", "bias, sd")
	for _, n := range seasons {
		fmt.Fprintf(&b, " %6s", fmt.Sprintf("n=%d", n))
	}
	fmt.Fprintln(&b)
	over, cells, sum := map[int]int{}, 0, map[int]float64{}
	for _, bias := range biases {
		for _, sd := range spreads {
			fmt.Fprintf(&b, "%4.0f, %2.0f", bias, sd)
			cells++
			for _, n := range seasons {
				r := rand.New(rand.NewPCG(uint64(100*bias+sd), uint64(n)))
				m := map[Name]float64{}
				for range logs {
					s := simulateDays(r, n, 12, bias, sd)
					a, err := Learn(s.input())
					require.NoError(t, err)
					for k, v := range s.misses(a) {
						m[k] += v
					}
				}
				ratio := m[Blend] / min(m[Published], m[Local])
				fmt.Fprintf(&b, " %6.2f", ratio)
				sum[n] += ratio
				if ratio > 1.10 {
					over[n]++
				}
			}
			fmt.Fprintln(&b)
		}
	}
	for _, n := range seasons {
		// Few logs make the ratios waver; with many, three seasons and more keep to it.
		if n >= 3 && logs >= 300 {
			assert.LessOrEqual(t, over[n], cells/10, "%d seasons", n)
		}
		assert.LessOrEqual(t, sum[n]/float64(cells), map[bool]float64{true: 1.1, false: 1.2}[n >= 2], "%d seasons, mean over the truths", n)
		fmt.Fprintf(&b, "%d seasons: mean %.2f, %d of %d truths above 1.10\n", n, sum[n]/float64(cells), over[n], cells)
	}
	t.Log(b.String())
}
