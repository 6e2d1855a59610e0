package learn

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/outlook"
	"plotwarden/weather"
)

// evenly is curves of the given years that gain so much a day from 1 January on.
func evenly(gain float64, years ...int) map[int]Curve {
	out := map[int]Curve{}
	for _, y := range years {
		c := Curve{Start: civil.New(y, 1, 1)}
		for d := range 365 {
			c.Totals = append(c.Totals, gain*float64(d+1))
		}
		out[y] = c
	}
	return out
}

func found(year int, m time.Month, d int) Season {
	return Season{Year: year, First: civil.New(year, m, d)}
}

func TestLearnFromOneSeason(t *testing.T) {
	// 2 a day: 30 April is the 120th day, 240; the publication says 200.
	a, err := Learn(Input{Threat: "worm", Seasons: []Season{found(2025, 4, 30)}, Curves: evenly(2, 2025), Published: 200})
	require.NoError(t, err)
	assert.Equal(t, Blend, a.Chosen)
	assert.Contains(t, a.Why, "with 1 find there is too little to choose by")
	assert.InDelta(t, 239, a.Way(Local).Median, 3)
	b := a.Way(Blend)
	assert.True(t, b.Median > 205 && b.Median < 235, "between the two: %g", b.Median)
	assert.True(t, b.Weight > 0.1 && b.Weight < 0.9)
	assert.True(t, b.Low < b.Median && b.Median < b.High)
	assert.Empty(t, a.Way(Local).Tries, "there is no other season to predict it from")
	assert.True(t, math.IsNaN(a.Way(Local).Error))
	require.Len(t, b.Tries, 1, "the blend without the season is the published threshold")
	assert.InDelta(t, -20, b.Tries[0].Off, 1)
	assert.InDelta(t, -20, a.Way(Published).Tries[0].Off, 1)
	assert.Equal(t, 200.0, a.Way(Published).Median)
}

// With seasons that all come at one total the calendar scatters, the threshold
// doesn't.
func TestLearnChoosesByTheErrorInDays(t *testing.T) {
	curves, seasons := map[int]Curve{}, []Season{}
	for i := range 8 {
		y := 2010 + i
		for k, c := range evenly(2+0.15*float64(i%4), y) {
			curves[k] = c
		}
		c := curves[y]
		at, ok := c.Date(300)
		require.True(t, ok)
		seasons = append(seasons, Season{Year: y, First: at})
	}
	a, err := Learn(Input{Threat: "worm", Seasons: seasons, Curves: curves, Published: 150})
	require.NoError(t, err)
	assert.Contains(t, []Name{Blend, Local}, a.Chosen)
	assert.Less(t, a.Way(Local).Error, 1.0)
	assert.Less(t, a.Way(Blend).Error, 1.5)
	assert.Greater(t, a.Way(Calendar).Error, 5.0)
	assert.Greater(t, a.Way(Published).Error, 40.0)
	assert.InDelta(t, 300, a.Best().Median, 6)
	assert.Equal(t, 8, a.Best().Covered())
	for i, n := range Names() {
		assert.Equal(t, n, a.Ways[i].Name)
		assert.True(t, a.Ways[i].Usable)
	}
}

// Where the totals say nothing and the dates stay, the calendar is chosen.
func TestLearnChoosesTheCalendarWhenItIsBetter(t *testing.T) {
	curves, seasons := map[int]Curve{}, []Season{}
	for i := range 10 {
		y := 2010 + i
		for k, c := range evenly(1+0.5*float64(i%5), y) {
			curves[k] = c
		}
		seasons = append(seasons, found(y, 5, 18+i%3))
	}
	a, err := Learn(Input{Threat: "worm", Seasons: seasons, Curves: curves, Published: 300})
	require.NoError(t, err)
	assert.Equal(t, Calendar, a.Chosen)
	assert.Less(t, a.Way(Calendar).Error, 1.5)
}

func TestAThreatWithoutAModelHasItsDates(t *testing.T) {
	a, err := Learn(Input{Threat: "mystery", Seasons: []Season{found(2023, 6, 1), found(2024, 6, 9), found(2025, 6, 5)}})
	require.NoError(t, err)
	assert.Equal(t, Calendar, a.Chosen)
	assert.Equal(t, "no model counts for this threat: the log's dates alone", a.Why)
	for _, n := range []Name{Published, Local, Blend} {
		assert.False(t, a.Way(n).Usable)
		assert.NotEmpty(t, a.Way(n).Why)
	}
	today := civil.New(2026, 5, 20)
	o, err := a.Outlook(Running{Today: today, Season: civil.New(2026, 1, 1)})
	require.NoError(t, err)
	assert.InDelta(t, 0, o.P50.Sub(civil.New(2026, 6, 5)), 2)
	assert.True(t, o.P10 < o.P50 && o.P50 < o.P90)
	assert.InDelta(t, 20, o.P90.Sub(o.P10), 8, "three seasons leave a wide interval")
	assert.Contains(t, o.Basis, "3 seasons of the log alone")
	assert.True(t, o.Chance[0] < o.Chance[1] && o.Chance[1] < o.Chance[2])
	assert.False(t, o.Rough)

	late, err := a.Outlook(Running{Today: civil.New(2026, 6, 10), Season: civil.New(2026, 1, 1), None: civil.New(2026, 6, 9)})
	require.NoError(t, err)
	assert.Greater(t, late.P10, civil.New(2026, 6, 8), "not found by the 9th: it comes after")
	assert.Greater(t, late.Chance[0], 0.5)
}

func TestFewSeasonsWithoutAPublishedThresholdStayWithTheCalendar(t *testing.T) {
	two := []Season{found(2023, 5, 1), found(2024, 5, 5)}
	a, err := Learn(Input{Threat: "worm", Seasons: two, Curves: evenly(2, 2023, 2024)})
	require.NoError(t, err)
	assert.Equal(t, Calendar, a.Chosen)
	assert.Contains(t, a.Why, "fewer than 3 seasons")
	assert.True(t, a.Way(Local).Usable, "it is shown all the same")
}

func TestCensoredSeasonsPushTheArrivalBack(t *testing.T) {
	seasons := []Season{found(2022, 5, 1), found(2023, 5, 1)}
	curves := evenly(2, 2022, 2023, 2024)
	without, err := Learn(Input{Threat: "worm", Seasons: seasons, Curves: curves, Published: 240})
	require.NoError(t, err)
	with, err := Learn(Input{Threat: "worm", Seasons: append(seasons, Season{Year: 2024, None: civil.New(2024, 6, 15)}), Curves: curves, Published: 240})
	require.NoError(t, err)
	assert.Equal(t, 1, with.Censored)
	for _, n := range []Name{Calendar, Local, Blend} {
		assert.Greater(t, with.Way(n).Median, without.Way(n).Median+1, n)
		assert.Greater(t, with.Way(n).High, without.Way(n).High+1, n)
	}
	early, err := Learn(Input{Threat: "worm", Seasons: append(seasons, Season{Year: 2024, None: civil.New(2024, 2, 1)}), Curves: curves, Published: 240})
	require.NoError(t, err)
	assert.InDelta(t, without.Way(Blend).Median, early.Way(Blend).Median, 0.5, "not there in February says nothing")
}

func TestAllCensoredKeepsThePublished(t *testing.T) {
	a, err := Learn(Input{Threat: "worm", Seasons: []Season{{Year: 2024, None: civil.New(2024, 4, 1)}}, Curves: evenly(2, 2024), Published: 400})
	require.NoError(t, err)
	assert.Equal(t, Blend, a.Chosen)
	assert.InDelta(t, 400, a.Best().Median, 25)
	none, err := Learn(Input{Threat: "worm", Published: 400})
	require.NoError(t, err)
	assert.Equal(t, Published, none.Chosen)
	_, err = Learn(Input{Threat: "worm"})
	assert.EqualError(t, err, "learn the arrival of worm: the log has no find and no model has a threshold")
}

func TestImpossibleSeasonsAreErrors(t *testing.T) {
	_, err := Learn(Input{Threat: "worm", Seasons: []Season{{Year: 2024, None: civil.New(2024, 5, 9), First: civil.New(2024, 5, 2)}}})
	assert.EqualError(t, err, "learn the arrival of worm: season 2024: last look without a find 2024-05-09 is not before the first find 2024-05-02")
}

func TestAHoleInTheWeatherIsNoTotal(t *testing.T) {
	curves := evenly(2, 2023, 2024)
	c := curves[2024]
	c.Unknown = make([]int32, len(c.Totals))
	for i := range c.Unknown {
		c.Unknown[i] = int32(min(max(0, i-50), 10) * 24)
	}
	curves[2024] = c
	a, err := Learn(Input{Threat: "worm", Seasons: []Season{found(2023, 5, 1), found(2024, 5, 1)}, Curves: curves, Published: 240})
	require.NoError(t, err)
	assert.Len(t, a.Way(Published).Tries, 1)
	assert.Len(t, a.Way(Calendar).Tries, 2)
}

// The log's outlook by thresholds: conditional on what was looked for.
func TestOutlookByTheBlend(t *testing.T) {
	a, err := Learn(Input{Threat: "worm", Unit: "degree-days F", Seasons: []Season{found(2022, 5, 1), found(2023, 5, 3), found(2024, 4, 29)}, Curves: evenly(2, 2022, 2023, 2024), Published: 240})
	require.NoError(t, err)
	season := civil.New(2026, 1, 1)
	now := &risk.Track{Start: season}
	for d := range 100 {
		now.Points = append(now.Points, risk.Point{Date: season.AddDays(d), Value: 2, Total: 2 * float64(d+1)})
	}
	past := &risk.Track{Start: civil.New(2000, 1, 1)}
	for d := range 365 * 24 {
		past.Points = append(past.Points, risk.Point{Date: past.Start.AddDays(d), Value: 2, Total: 2 * float64(d+1)})
	}
	fan := outlook.NewFan(now, nil, outlook.NewHistory(past))
	today := season.AddDays(100)
	free, err := a.Outlook(Running{Today: today, Season: season, Track: now, Fan: fan})
	require.NoError(t, err)
	assert.InDelta(t, 0, free.P50.Sub(civil.New(2026, 5, 1)), 2)
	assert.Contains(t, free.Basis, "blend, ")
	assert.Contains(t, free.Basis, "3 seasons of the log and the published threshold")
	looked, err := a.Outlook(Running{Today: today, Season: season, None: today.AddDays(-1), Track: now, Fan: fan})
	require.NoError(t, err)
	assert.GreaterOrEqual(t, looked.P10, today)
	assert.GreaterOrEqual(t, looked.P50, free.P50)

	u, ok := a.Usual(a.Best(), evenly(2, 2022, 2023, 2024))
	assert.True(t, ok)
	assert.InDelta(t, 120, u.Median, 2)
	assert.True(t, u.Low < 115 && u.High > 125)
}

func TestNeighboursMoveWhatIsExpected(t *testing.T) {
	curves := evenly(2, 2020, 2021, 2022, 2023, 2024)
	others := func(ground string, plots int, years ...int) []Season {
		var out []Season
		for p := range plots {
			for _, y := range years {
				s := found(y, 6, 9) // 320 against a published 240
				s.Place = Place{"r", ground, string(rune('a' + p))}
				out = append(out, s)
			}
		}
		return out
	}
	at := func(neighbours []Season, region string) *Arrival {
		a, err := Learn(Input{Threat: "worm", Curves: curves, Published: 240, Place: Place{region, "here", "mine"}, Neighbours: neighbours,
			NeighbourCurves: map[string]map[int]Curve{"there": curves}})
		require.NoError(t, err)
		return a
	}
	median := func(a *Arrival) float64 { return a.Way(Blend).Median }
	none := median(at(nil, "r"))
	assert.InDelta(t, 240, none, 2)
	region := median(at(others("there", 1, 2022, 2023), "r"))
	ground := median(at(others("here", 1, 2022, 2023), "r"))
	assert.Greater(t, region, none+10)
	assert.Greater(t, ground, region+10, "the same ground counts for more")
	assert.Less(t, ground, 320.0)
	assert.InDelta(t, none, median(at(others("there", 3, 2022, 2023), "elsewhere")), 1e-9, "another region counts for nothing")
	one, ten := at(others("here", 1, 2022), "r"), at(others("here", 10, 2022), "r")
	five := at(others("here", 1, 2020, 2021, 2022, 2023, 2024), "r")
	assert.Equal(t, 10, ten.Neighbours)
	width := func(a *Arrival) float64 { return math.Log(a.Way(Blend).High / a.Way(Blend).Low) }
	assert.Greater(t, median(five), median(one))
	assert.Less(t, width(five), width(ten), "five years tell more than ten plots of one year")
}

func TestNeighboursDatesForAThreatWithoutAModel(t *testing.T) {
	var others []Season
	for y := 2019; y <= 2025; y++ {
		s := found(y, 6, 10)
		s.Place = Place{"r", "here", "theirs"}
		others = append(others, s)
	}
	a, err := Learn(Input{Threat: "mystery", Place: Place{"r", "here", "mine"}, Neighbours: others})
	require.NoError(t, err)
	assert.Equal(t, Calendar, a.Chosen)
	assert.InDelta(t, 161, a.Best().Median, 1.5)
}

func TestTheSameYearOnTheSameGroundCountsOnce(t *testing.T) {
	mine := found(2024, 5, 1)
	mine.Place = Place{"r", "here", "mine"}
	theirs := found(2024, 7, 1)
	theirs.Place = Place{"r", "here", "theirs"}
	a, err := Learn(Input{Threat: "worm", Seasons: []Season{mine}, Curves: evenly(2, 2024), Published: 240, Place: mine.Place, Neighbours: []Season{theirs}})
	require.NoError(t, err)
	assert.Zero(t, a.Neighbours)
}

func TestBaseAndStartAreNotFittedOnFewSeasons(t *testing.T) {
	days := springs(t, 2020, 4)
	rule, err := degreeday.New(degreeday.Average, "", 10, nil, degreeday.Celsius)
	require.NoError(t, err)
	var seasons []Season
	for y := 2020; y < 2024; y++ {
		seasons = append(seasons, found(y, 5, 10))
	}
	_, err = FitRule(FitInput{Seasons: seasons, Days: days, Rule: rule, Start: civil.MonthDay{Month: 1, Day: 1}})
	assert.ErrorIs(t, err, ErrFewSeasons)
}

// springs is daily temperatures of made-up years.
func springs(t *testing.T, first, years int) []weather.Day {
	t.Helper()
	r := rand.New(rand.NewPCG(5, 5))
	var days []weather.Day
	noise := 0.0
	for d := civil.New(first, 1, 1); d < civil.New(first+years, 1, 1); d++ {
		noise = 0.8*noise + 2.5*r.NormFloat64()
		mean := 9 - 13*math.Cos(2*math.Pi*float64(d.YearDay()-20)/365) + noise
		day := weather.NewDay(d)
		day.Min, day.Max = mean-5, mean+5
		days = append(days, day)
	}
	return days
}

func TestFitFindsTheBaseThatMadeTheLog(t *testing.T) {
	days := springs(t, 2000, 14)
	make, err := degreeday.New(degreeday.Average, "", 6, nil, degreeday.Celsius)
	require.NoError(t, err)
	published, err := degreeday.New(degreeday.Average, "", 10, nil, degreeday.Celsius)
	require.NoError(t, err)
	march := civil.MonthDay{Month: time.March, Day: 1}
	var seasons []Season
	for y := 2000; y < 2014; y++ {
		total := 0.0
		for d := march.In(y); ; d++ {
			day := days[d.Sub(days[0].Date)]
			v, err := make.Day(day.Min, day.Max, math.NaN())
			require.NoError(t, err)
			if total += v; total >= 250 {
				seasons = append(seasons, Season{Year: y, First: d})
				break
			}
		}
	}
	f, err := FitRule(FitInput{Seasons: seasons, Days: days, Rule: published, Start: civil.MonthDay{Month: 1, Day: 1}})
	require.NoError(t, err)
	assert.Equal(t, 14, f.Seasons)
	assert.InDelta(t, 6, f.Lower, 1)
	assert.Less(t, f.Error, f.Published)
	assert.Less(t, f.Error, 1.5)
	assert.LessOrEqual(t, f.InSample, f.Error)

	// Where dates are noise, the nested error says that the fit is worth nothing.
	r := rand.New(rand.NewPCG(6, 6))
	for i := range seasons {
		seasons[i].First = civil.New(seasons[i].Year, 6, 1).AddDays(r.IntN(60))
	}
	f, err = FitRule(FitInput{Seasons: seasons, Days: days, Rule: published, Start: march})
	require.NoError(t, err)
	assert.Greater(t, f.Error, f.InSample)
}

func TestCurvesOfManyYears(t *testing.T) {
	tr := &risk.Track{Start: civil.New(2020, 1, 1)}
	total := 0.0
	for d := tr.Start; d < civil.New(2022, 6, 1); d++ {
		total++
		tr.Points = append(tr.Points, risk.Point{Date: d, Value: 1, Total: total})
	}
	cs := CurvesOf(tr, civil.MonthDay{Month: 3, Day: 1})
	require.Len(t, cs, 3)
	c := cs[2021]
	assert.Equal(t, 0.0, c.At(civil.New(2021, 2, 28)))
	assert.Equal(t, 1.0, c.At(civil.New(2021, 3, 1)))
	assert.True(t, math.IsNaN(c.At(civil.New(2022, 3, 1))))
	d, ok := c.Date(31)
	assert.True(t, ok)
	assert.Equal(t, civil.New(2021, 3, 31), d)
	_, ok = c.Date(400)
	assert.False(t, ok)
	assert.Len(t, cs[2022].Totals, 92)
	assert.Equal(t, 366.0+59+1, tr.Points[c.Start.Sub(tr.Start)].Total, "cut, not run anew")
}
