package outlook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"plotwarden/civil"
	"plotwarden/risk"
)

// climate draws one year after another of degree-days F above 50, by the day: a
// sine over the year, deviations with the size, by season, and the memory of
// those measured at 24 stations in 2020 (4.6 C in January, 2.2 C in July, 0.65
// from day to day), and a deviation of the whole year.
func climate(r *rand.Rand, first civil.Date, days int, warmth float64) *risk.Track {
	out := make([]float64, days)
	noise, year := r.NormFloat64(), 0.6*r.NormFloat64()
	for i := range out {
		day := float64(first.AddDays(i).YearDay())
		if day == 1 {
			year = 0.6 * r.NormFloat64()
		}
		noise = 0.65*noise + math.Sqrt(1-0.65*0.65)*r.NormFloat64()
		sd := 3.4 + 1.2*math.Cos(2*math.Pi*(day-15)/365)
		mean := warmth - 13*math.Cos(2*math.Pi*(day-20)/365) + year + sd*noise
		out[i] = max(0, mean*1.8+32-50)
	}
	t := track(first, 0, out...)
	t.Unit = "degree-days F"
	return t
}

// TestCoverageOnASimulatedClimate holds the interval against seasons of which the
// truth is known, by the number of past years and the days ahead.
//
//	go test ./risk/outlook -run Coverage -v
func TestCoverageOnASimulatedClimate(t *testing.T) {
	var b strings.Builder
	fmt.Fprintf(&b, "\n%-6s %22s %22s %22s\n", "years", "28 days ahead", "14 days ahead", "7 days ahead")
	r := rand.New(rand.NewPCG(5, 1))
	for _, n := range []int{1, 2, 3, 5, 10, 15, 20, 30} {
		var covered, all, stated [3]float64
		places := 160
		if n > 5 {
			places = 80
		}
		for range places {
			warmth := 7 + 6*r.Float64()
			first, start := civil.New(2025-n, 1, 1), civil.New(2026, 1, 1)
			h := NewHistory(climate(r, first, 365*n+n/4+1, warmth))
			season := climate(r, start, 365, warmth)
			for threshold := 200.0; threshold <= 1600; threshold += 350 {
				came := slices.IndexFunc(season.Points, func(p risk.Point) bool { return p.Total >= threshold })
				if came < 60 {
					continue
				}
				for k, lead := range []int{28, 14, 7} {
					seen := *season
					seen.Points = season.Points[:came-lead]
					at := start.AddDays(came)
					o := NewFan(&seen, nil, h).Outlook(Question{Today: at.AddDays(-lead), Threshold: threshold})
					all[k]++
					stated[k] += o.Inside
					if o.P10 <= at && (o.P90.IsZero() || at <= o.P90) {
						covered[k]++
					}
				}
			}
		}
		fmt.Fprintf(&b, "%-6d", n)
		for k := range all {
			c := covered[k] / all[k]
			fmt.Fprintf(&b, "   %4.0f %% (stated %2.0f %%)", 100*c, 100*stated[k]/all[k])
			assert.InDelta(t, 0.8, c, 0.07, "%d years, lead %d", n, k)
		}
		fmt.Fprintln(&b)
	}
	t.Log(b.String())
}
