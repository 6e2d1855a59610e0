package outlook

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/risk"
)

var may1 = civil.New(2026, 5, 1)

// track is one from a day on, its last forecast days forecast.
func track(start civil.Date, forecast int, values ...float64) *risk.Track {
	t := &risk.Track{Start: start}
	total := 0.0
	for i, v := range values {
		total += v
		t.Points = append(t.Points, risk.Point{Date: start.AddDays(i), Value: v, Total: total, Low: total, High: total, Forecast: i >= len(values)-forecast})
	}
	return t
}

func steady(v float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// years is a past year of a steady pace for each value, from 1 January on.
func years(paces ...float64) *History {
	var past []*risk.Track
	for i, v := range paces {
		past = append(past, track(civil.New(2024-i, 1, 1), 0, steady(v, 365)...))
	}
	return NewHistory(past...)
}

func TestQuantilesAreThoseOfTheDates(t *testing.T) {
	// 20 on 2 May; the days to gain 80 are 1, 2, 4, 5, 8, 10, 16, 20, 40, 80, each twice.
	paces := []float64{80, 40, 20, 16, 10, 8, 5, 4, 2, 1}
	f := NewFan(track(may1, 0, 10, 10), nil, years(append(paces, paces...)...))
	o := f.Outlook(Question{Event: "adults", Today: may1.AddDays(2), Threshold: 100})
	// Of 20 years the year to come falls before the second in 2 of 21 cases, and
	// before the eighteenth in 18 of 21: the ends lie just within and beyond them.
	assert.Equal(t, "2026-05-04", o.P10.String())
	assert.Equal(t, "2026-05-10", o.P50.String())
	assert.Equal(t, "2026-07-20", o.P90.String())
	assert.Equal(t, [4]float64{0.5, 0.6, 0.8, 0.8}, o.Chance) // by 10, 17, 24 and 31 May
	assert.Equal(t, 20, o.Members)
	assert.InDelta(t, 0.8*20/21, o.Inside, 1e-9, "of the ten paces all but the fastest and the slowest")
	assert.False(t, o.Rough)
	assert.Equal(t, "no forecast, then 20 past years run forward", o.Basis)
	assert.True(t, o.ForecastTo.IsZero())
}

func TestVersionsMeetYears(t *testing.T) {
	base := track(may1, 2, 10, 5, 5)
	slow, fast := track(may1, 2, 10, 0, 10), track(may1, 2, 10, 40, 50)
	f := NewFan(base, []*risk.Track{slow, fast}, years(append(steady(10, 10), steady(20, 10)...)...))
	o := f.Outlook(Question{Today: may1.AddDays(1), Threshold: 60})
	// The fast version is at 100 on 3 May whatever the year; the slow one is at 20
	// and needs 40 more, which at 10 a day is 4 days and at 20 a day 2. Its last day
	// stays 20 behind the mean of both, which takes 47 away in all, or half of the
	// year's first week where that is less: 35 of 70, and 47 of 140. At 10 a day it
	// has 40 on the eighth day (80 - 35*0.94), at 20 on the fourth (80 - 47*0.76).
	assert.Equal(t, "2026-05-03", o.P50.String())
	assert.Equal(t, "2026-05-11", o.P90.String())
	assert.Equal(t, 40, o.Members)
	assert.Equal(t, "2026-05-03", o.ForecastTo.String())
	assert.Equal(t, "2 forecast days in 2 versions, then 20 past years run forward", o.Basis)
}

func TestVersionsMayBeginLaterThanTheSeason(t *testing.T) {
	base := track(may1, 1, 10, 10, 10, 10)
	tail := track(may1.AddDays(2), 1, 10, 25) // run over the last days alone
	f := NewFan(base, []*risk.Track{tail}, years(steady(10, 20)...))
	o := f.Outlook(Question{Today: may1.AddDays(3), Threshold: 55})
	assert.Equal(t, "2026-05-04", o.P50.String())
}

func TestWhatWasMeasuredIsCertain(t *testing.T) {
	f := NewFan(track(may1, 1, 10, 10, 10, 10), nil, years(steady(1, 20)...))
	past := f.Outlook(Question{Today: may1.AddDays(3), Threshold: 20})
	assert.Equal(t, may1.AddDays(1), past.Reached)
	assert.Equal(t, past.Reached, past.P90)
	ahead := f.Outlook(Question{Today: may1.AddDays(3), Threshold: 40})
	assert.True(t, ahead.Reached.IsZero())
	assert.Equal(t, may1.AddDays(3), ahead.P50)
	assert.Equal(t, [4]float64{1, 1, 1, 1}, ahead.Chance)
	assert.False(t, ahead.Rough)
}

func TestASprayForgetsWhatWasReached(t *testing.T) {
	tr := track(may1, 0, 20, 20, 0, 5)
	tr.Points[2].Total, tr.Points[3].Total = 0, 5
	tr.Events = []risk.Event{{Kind: risk.Crossing, Date: may1}, {Kind: risk.Reset, Date: may1.AddDays(2)}}
	o := NewFan(tr, nil, years(steady(5, 20)...)).Outlook(Question{Today: may1.AddDays(4), Threshold: 20})
	assert.True(t, o.Reached.IsZero())
	assert.Equal(t, may1.AddDays(6), o.P50)
}

func TestBeyondTheHorizonThereIsNoDate(t *testing.T) {
	f := NewFan(track(may1, 0, 1), nil, years(steady(1, 20)...))
	o := f.Outlook(Question{Today: may1, Threshold: 1000})
	assert.True(t, o.P10.IsZero())
	_, ok := o.Lead()
	assert.False(t, ok)
	assert.Equal(t, may1.AddDays(Horizon), f.Outlook(Question{Today: may1, Threshold: 1 + Horizon}).P50)
	assert.True(t, f.Outlook(Question{Today: may1, Threshold: 2 + Horizon}).P50.IsZero())
}

func TestUncertainThresholdsSpreadTheDates(t *testing.T) {
	f := NewFan(track(may1, 0, 1), nil, years(steady(1, 20)...))
	o := f.Outlook(Question{Today: may1, Thresholds: []float64{6, 11, 16, 21, 26, 31, 36, 41, 46, 51}})
	assert.Equal(t, may1.AddDays(6), o.P10)
	assert.Equal(t, may1.AddDays(25), o.P50)
	assert.Equal(t, may1.AddDays(49), o.P90)
}

func TestInfectionsOfVersionsAndYears(t *testing.T) {
	past := func(year int, days ...civil.Date) *risk.Track {
		p := track(civil.New(year, 1, 1), 0, steady(0, 365)...)
		for _, d := range days {
			_, m, day := d.YMD()
			p.Events = append(p.Events, risk.Event{Kind: risk.Infection, Date: civil.New(year, m, day)})
		}
		return p
	}
	h := NewHistory(past(2024, may1.AddDays(9)), past(2023, may1.AddDays(2), may1.AddDays(19)), past(2022), past(2021, may1.AddDays(9)))
	base := track(may1, 4, 0, 0, 0, 0, 0)
	with := func(day int) *risk.Track {
		v := track(may1, 4, 0, 0, 0, 0, 0)
		v.Events = []risk.Event{{Kind: risk.Infection, Date: may1.AddDays(day)}}
		return v
	}
	f := NewFan(base, []*risk.Track{with(2), with(3), track(may1, 4, steady(0, 5)...), track(may1, 4, steady(0, 5)...)}, h)
	o := f.Outlook(Question{Today: may1.AddDays(1), Infection: true})
	// Of 16 ways 8 in the forecast; of the others a quarter each on 10 and 20 May, none, 10 May.
	assert.Equal(t, may1.AddDays(2), o.P10)
	assert.Equal(t, may1.AddDays(3), o.P50)
	assert.True(t, o.P90.IsZero(), "an eighth never has one")
	assert.Equal(t, [4]float64{0.5, 0.75, 0.875, 0.875}, o.Chance)
	assert.Equal(t, []risk.Period{
		{From: may1.AddDays(2), To: may1.AddDays(3), Chance: 0.5, Forecast: true},
		{From: may1.AddDays(5), To: may1.AddDays(11), Chance: 0.5},
		{From: may1.AddDays(19), To: may1.AddDays(25), Chance: 0.25},
	}, o.Periods)
}

func TestInfectionAlreadyOverIsNotNext(t *testing.T) {
	tr := track(may1, 1, 0, 0, 0)
	tr.Events = []risk.Event{{Kind: risk.Infection, Date: may1}, {Kind: risk.Infection, Date: may1.AddDays(2), Forecast: true}}
	o := NewFan(tr, nil, nil).Outlook(Question{Today: may1.AddDays(2), Infection: true})
	assert.Equal(t, may1.AddDays(2), o.P10)
	assert.Equal(t, 1.0, o.Chance[0])
	assert.Len(t, o.Periods, 1)
}

func TestHistoryRunsFromTheSameDay(t *testing.T) {
	past := &risk.Track{Start: civil.New(2023, 1, 1)}
	total := 0.0
	for d := past.Start; d < civil.New(2026, 5, 3); d++ {
		_, m, day := d.YMD()
		v := float64(int(m)*100 + day)
		total += v
		past.Points = append(past.Points, risk.Point{Date: d, Value: v, Total: total})
	}
	ys, _ := NewHistory(past).from(civil.New(2026, 5, 2))
	require.Len(t, ys, 3) // 2023, 2024, 2025; the current season is not its own past
	for _, y := range ys {
		assert.InDelta(t, 503, y.totals[1]-y.totals[0], 1e-6)
	}
	assert.Equal(t, "2023", ys[0].name)
}

func TestAYearWithAHoleIsLeftOut(t *testing.T) {
	whole, hole := track(civil.New(2024, 1, 1), 0, steady(1, 365)...), track(civil.New(2023, 1, 1), 0, steady(1, 365)...)
	for i := range hole.Points {
		hole.Points[i].UnknownHours = 24 * min(max(0, i-130), 6) // six days in May
	}
	h := NewHistory(whole, hole)
	ys, _ := h.from(may1)
	assert.Len(t, ys, 1)
	ys, _ = h.from(civil.New(2026, 6, 1))
	assert.Len(t, ys, 2, "after the hole the year is whole")
}

func TestLevelsAreNotAddedUp(t *testing.T) {
	// A level that stands at 10 and is 40 in the past from 20 May on.
	now := &risk.Track{Start: may1}
	for i := range 5 {
		now.Points = append(now.Points, risk.Point{Date: may1.AddDays(i), Value: 10, Total: 10})
	}
	past := &risk.Track{Start: civil.New(2024, 1, 1)}
	for d := past.Start; d.Year() == 2024; d++ {
		p := risk.Point{Date: d, Value: 10, Total: 10}
		if d >= civil.New(2024, 5, 20) {
			p.Total = 40
		}
		past.Points = append(past.Points, p)
	}
	o := NewFan(now, nil, NewHistory(past)).Outlook(Question{Today: may1.AddDays(5), Threshold: 40})
	assert.Equal(t, "2026-05-20", o.P50.String())
}

func TestFewYearsAreSpreadWider(t *testing.T) {
	few, many := []float64{8, 10, 12}, []float64{}
	for range 10 {
		many = append(many, few...)
	}
	q := Question{Today: may1.AddDays(1), Threshold: 301}
	a := NewFan(track(may1, 0, 1), nil, years(few...)).Outlook(q)
	b := NewFan(track(may1, 0, 1), nil, years(many...)).Outlook(q)
	assert.Equal(t, b.P50, a.P50)
	assert.Less(t, a.P10, b.P10)
	assert.Greater(t, a.P90, b.P90)
	assert.True(t, a.Rough)
	assert.Contains(t, a.Basis, "3 past years run forward, spread wider because they are few")
	one := NewFan(track(may1, 0, 1), nil, years(10)).Outlook(q)
	assert.Less(t, one.P10, one.P50)
	assert.Greater(t, one.P90, one.P50)
}

func TestPaceBracketsTheMean(t *testing.T) {
	tr := track(may1, 0, 10, 10, 10)
	o := NewFan(tr, nil, nil).Outlook(Question{Today: may1.AddDays(3), Threshold: 130})
	assert.InDelta(t, 10, o.P50.Sub(may1.AddDays(2)), 1)
	assert.LessOrEqual(t, o.P10.Sub(may1.AddDays(2)), 7)
	assert.GreaterOrEqual(t, o.P90.Sub(may1.AddDays(2)), 14)
	assert.True(t, o.Rough)
	assert.Contains(t, o.Basis, "no past years")
	none := NewFan(track(may1, 0, 0, 0), nil, nil).Outlook(Question{Today: may1, Threshold: 5})
	assert.True(t, none.P50.IsZero(), "no pace, no date")
}

// The means of years are the trap: half of the days at 5 C and half at 15 C have
// 2.5 degree-days above 10 C a day, their mean temperature none.
func TestYearsAndNotTheirMeanTemperature(t *testing.T) {
	cold, warm := steady(0, 10), steady(5, 10) // degree-days a day, ten years each
	o := NewFan(track(may1, 0, 0), nil, years(append(cold, warm...)...)).Outlook(Question{Today: may1, Threshold: 50})
	assert.Equal(t, may1.AddDays(10), o.P50)
	assert.Equal(t, 0.5, o.Chance[3])
}

func TestOutlooksAreOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.Float64Range(0, 30)
		season := rapid.SliceOfN(day, 1, 30).Draw(t, "season")
		forecast := rapid.IntRange(0, len(season)-1).Draw(t, "forecast")
		tr := track(may1, forecast, season...)
		var runs []*risk.Track
		for range rapid.IntRange(0, 4).Draw(t, "versions") {
			v := append(append([]float64{}, season[:len(season)-forecast]...), rapid.SliceOfN(day, 0, 16).Draw(t, "version")...)
			runs = append(runs, track(may1, len(v)-len(season)+forecast, v...))
		}
		var past []*risk.Track
		for i := range rapid.IntRange(0, 20).Draw(t, "years") {
			past = append(past, track(civil.New(2024-i, 4, 1), 0, rapid.SliceOfN(day, 70, 260).Draw(t, "year")...))
		}
		f := NewFan(tr, runs, NewHistory(past...))
		q := Question{Today: may1.AddDays(len(season) - forecast), Threshold: rapid.Float64Range(1, 800).Draw(t, "threshold")}
		o := f.Outlook(q)
		after := func(a, b civil.Date) bool { return b.IsZero() || (!a.IsZero() && a <= b) }
		if !after(o.P10, o.P50) || !after(o.P50, o.P90) {
			t.Fatalf("%v %v %v", o.P10, o.P50, o.P90)
		}
		for i, c := range o.Chance {
			if c < 0 || c > 1 || i > 0 && c < o.Chance[i-1] {
				t.Fatalf("chances: %v", o.Chance)
			}
		}
		later := f.Outlook(Question{Today: q.Today, Threshold: q.Threshold + 10})
		if !after(o.P50, later.P50) {
			t.Fatalf("%v for %v, %v for more", o.P50, q.Threshold, later.P50)
		}
	})
}

// The counting in bulk against the plain one, way by way.
func TestCountingAgainstEachWayAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.Float64Range(0, 30)
		season := rapid.SliceOfN(day, 1, 10).Draw(t, "season")
		n := rapid.IntRange(0, 10).Draw(t, "forecast")
		var runs []*risk.Track
		for range rapid.IntRange(1, 6).Draw(t, "versions") {
			runs = append(runs, track(may1, n, append(append([]float64{}, season...), rapid.SliceOfN(day, n, n).Draw(t, "version")...)...))
		}
		var past []*risk.Track
		for i := range rapid.IntRange(15, 20).Draw(t, "years") {
			past = append(past, track(civil.New(2024-i, 1, 1), 0, steady(float64(i)*1.7, 365)...))
		}
		threshold := rapid.Float64Range(1, 900).Draw(t, "threshold")
		f := NewFan(track(may1, 0, season...), runs, NewHistory(past...))
		want := map[int]int{}
		for _, r := range runs {
			carry := 0.0
			if last := len(r.Points) - 1; n > 1 && len(runs) > 1 {
				for _, o := range runs {
					carry += (r.Points[last].Value - o.Points[last].Value) / float64(len(runs)) * ErrorCarry / (1 - ErrorCarry)
				}
			}
			for y := range past {
				total, day := 0.0, -1
				carry := max(carry, -leastCarry*7*float64(y)*1.7)
				for k := range len(season) + n + Horizon {
					if k < len(r.Points) {
						total = r.Points[k].Total
					} else {
						after := float64(k - len(r.Points) + 1)
						total = r.Points[len(r.Points)-1].Total + after*float64(y)*1.7 + carry*(1-math.Pow(ErrorCarry, after))
					}
					if total >= nudged(threshold) {
						day = max(0, k-len(season)+1)
						break
					}
				}
				want[day]++
			}
		}
		h := f.count(Question{Threshold: threshold})
		got := map[int]int{}
		sum := 0
		for d, n := range h.days {
			if n > 0 {
				got[d] = int(n)
				sum += int(n)
			}
		}
		if h.total > sum {
			got[-1] = h.total - sum
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Fatalf("counted %v, one by one %v", got, want)
		}
	})
}

// A quarter of a day's runs lie in a quarter of the day: an end that falls into
// the first half of a day takes the day in, one in the second half leaves it out.
func TestEndsOfTheIntervalAreRounded(t *testing.T) {
	of := func(counts ...int) (string, string) {
		h := newHistogram(may1)
		for d, n := range counts {
			h.add(d, n)
		}
		low, high := h.interval(0, 0)
		return low.Format("2 Jan"), high.Format("2 Jan")
	}
	for _, c := range []struct {
		counts    []int
		low, high string
	}{
		{[]int{25, 50, 25}, "1 May", "3 May"},          // 10 of the first day's 25 pass before the end: its first half
		{[]int{15, 70, 15}, "2 May", "2 May"},          // 10 of 15: its second half
		{[]int{0, 0, 100}, "3 May", "3 May"},           // all on one day
		{[]int{8, 92}, "2 May", "2 May"},               // the end of the interval is before the middle of the day
		{[]int{20, 20, 20, 20, 20}, "1 May", "4 May"},  // both ends at noon: one day is taken in, one left out
		{[]int{19, 21, 20, 21, 19}, "2 May", "4 May"},  //
		{[]int{21, 19, 20, 19, 21}, "1 May", "5 May"},  //
		{[]int{0, 10, 0, 0, 80, 10}, "3 May", "5 May"}, // nothing falls between: the change of day
	} {
		low, high := of(c.counts...)
		assert.Equal(t, c.low, low, "%v", c.counts)
		assert.Equal(t, c.high, high, "%v", c.counts)
	}
}

// Whole days between the ends hold four fifths on average, whatever the spread.
func TestIntervalsHoldFourFifthsOnAverage(t *testing.T) {
	for _, sd := range []float64{1.5, 2, 3, 5, 10} {
		sum, n := 0.0, 0
		for shift := 0.0; shift < 1; shift += 0.01 {
			h, cdf := newHistogram(may1), func(x float64) float64 { return 0.5 * math.Erfc(-x/sd/math.Sqrt2) }
			for d := range 80 {
				x := float64(d) - 40 + shift
				h.add(d, int(math.Round(1e6*(cdf(x+1)-cdf(x)))))
			}
			low, high := h.interval(0, 0)
			sum += h.inside(low, high)
			n++
		}
		assert.InDelta(t, 0.8, sum/float64(n), 0.02, "standard deviation of %g days", sd)
	}
}
