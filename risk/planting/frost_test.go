package planting

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/weather"
)

// Daily observations of 2012 to 2015 (testdata/daily, US Government data); the
// dates were read off the file by another program: last minimum of 0 C or less
// before mid-July, first after it.
func TestFrostDatesOfObservedYears(t *testing.T) {
	want := map[string][][2]string{
		"New York": {{"2012-03-27", "2012-11-06"}, {"2013-04-04", "2013-11-12"}, {"2014-04-16", "2014-11-15"}, {"2015-03-29", "2015-11-24"}},
		"Seattle":  {{"2012-03-19", "2012-11-10"}, {"2013-03-04", "2013-11-21"}, {"2014-02-09", "2014-11-12"}, {"2015-03-04", "2015-11-23"}},
	}
	f, err := os.Open("../../testdata/daily/weather.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	days := map[string][]weather.Day{}
	for _, r := range rows[1:] {
		d, err := civil.Parse(r[1])
		require.NoError(t, err)
		low, err := strconv.ParseFloat(r[4], 64)
		require.NoError(t, err)
		days[r[0]] = append(days[r[0]], weather.Day{Date: d, Min: low})
	}
	for place, dates := range want {
		seasons := Seasons(days[place], Frost, 45)
		require.Len(t, seasons, len(dates))
		for i, d := range dates {
			assert.Equal(t, d[0], seasons[i].LastSpring.String(), place)
			assert.Equal(t, d[1], seasons[i].FirstAutumn.String(), place)
			assert.True(t, seasons[i].Spring && seasons[i].Autumn)
		}
	}
	c := FrostChances(Seasons(days["New York"], Frost, 40.6), LastOfSpring, 40.6)
	assert.Equal(t, 4, c.Seasons)
	assert.True(t, c.Rough())
	for share, want := range map[float64]string{0.25: "03-27", 0.5: "03-29", 0.75: "04-04", 0.9: "04-16", 1: "04-16"} {
		got, ok := c.By(share)
		assert.True(t, ok)
		assert.Equal(t, want, got.String(), share)
	}
	for day, want := range map[string]float64{"03-27": 1, "03-28": 0.75, "04-04": 0.5, "04-05": 0.25, "04-17": 0} {
		md, err := civil.ParseMonthDay(day)
		require.NoError(t, err)
		got, ok := c.Risk(md)
		assert.True(t, ok)
		assert.Equal(t, want, got, day)
	}
	autumn := FrostChances(Seasons(days["New York"], Frost, 40.6), FirstOfAutumn, 40.6)
	got, ok := autumn.By(0.5)
	assert.True(t, ok)
	assert.Equal(t, "11-12", got.String())
	risk, _ := autumn.Risk(civil.MonthDay{Month: 11, Day: 12})
	assert.Equal(t, 0.5, risk)
}

// year makes the days of a season with frost on given days of it.
func year(start civil.Date, n int, frost ...int) []weather.Day {
	out := make([]weather.Day, n)
	for i := range out {
		out[i] = weather.Day{Date: start.AddDays(i), Min: 8}
	}
	for _, f := range frost {
		out[f].Min = -1
	}
	return out
}

func TestSouthernSeasonRunsFromJuly(t *testing.T) {
	days := year(civil.New(2024, 7, 1), 365, 10, 92, 320)
	s := Seasons(days, Frost, -35)
	require.Len(t, s, 1)
	assert.Equal(t, "2024-10-01", s[0].LastSpring.String())
	assert.Equal(t, "2025-05-17", s[0].FirstAutumn.String())
	c := FrostChances(s, LastOfSpring, -35)
	got, ok := c.By(0.5)
	assert.True(t, ok)
	assert.Equal(t, "10-01", got.String())
	risk, _ := FrostChances(s, FirstOfAutumn, -35).Risk(civil.MonthDay{Month: 5, Day: 17})
	assert.Equal(t, 1.0, risk)
}

func TestHalvesWithTooManyMissingDaysDoNotCount(t *testing.T) {
	days := year(civil.New(2025, 1, 1), 365, 90, 300)
	for i := 120; i < 120+MaxMissing; i++ {
		days[i].Min = nan
	}
	s := Seasons(days, Frost, 40)
	assert.True(t, s[0].Spring)
	days[150].Min = nan
	s = Seasons(days, Frost, 40)
	assert.False(t, s[0].Spring)
	assert.True(t, s[0].Autumn)
	assert.Zero(t, FrostChances(s, LastOfSpring, 40).Seasons)
	_, ok := FrostChances(s, LastOfSpring, 40).Risk(civil.MonthDay{Month: 5, Day: 1})
	assert.False(t, ok)
	s = Seasons(days[:250], Frost, 40)
	assert.False(t, s[0].Autumn, "a season that is not over has no first frost yet")
	assert.Nil(t, Seasons(nil, Frost, 40))
}

func TestSeasonsWithoutFrost(t *testing.T) {
	var days []weather.Day
	for y := range 4 {
		start := civil.New(2022+y, 1, 1)
		frost := []int{40}
		if y > 0 {
			frost = nil
		}
		days = append(days, year(start, civil.New(2023+y, 1, 1).Sub(start), frost...)...)
	}
	s := Seasons(days, Frost, 40)
	spring := FrostChances(s, LastOfSpring, 40)
	assert.Equal(t, 4, spring.Seasons)
	assert.Equal(t, 3, spring.NoFrost)
	_, ok := spring.By(0.5)
	assert.False(t, ok, "three of four had none")
	got, ok := spring.By(0.9)
	assert.True(t, ok)
	assert.Equal(t, "02-10", got.String())
	autumn := FrostChances(s, FirstOfAutumn, 40)
	_, ok = autumn.By(0.1)
	assert.False(t, ok)
	risk, ok := autumn.Risk(civil.MonthDay{Month: 12, Day: 31})
	assert.True(t, ok)
	assert.Zero(t, risk)
}

func TestLeapDayCountsAsTheFirstOfMarch(t *testing.T) {
	c := FrostChances(Seasons(year(civil.New(2024, 1, 1), 366, 59), Frost, 40), LastOfSpring, 40)
	got, ok := c.By(1)
	assert.True(t, ok)
	assert.Equal(t, "03-01", got.String())
}

// By and Risk tell one story: with a share of seasons past their last frost by a
// day, at most the rest meet one from the day after on.
func TestByAgreesWithRisk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		half := rapid.SampledFrom([]Half{LastOfSpring, FirstOfAutumn}).Draw(t, "half")
		n := rapid.IntRange(1, 15).Draw(t, "seasons")
		var seasons []Season
		for y := range n {
			s := Season{Start: civil.New(2000+y, 1, 1), Spring: true, Autumn: true}
			if rapid.Bool().Draw(t, "frost") {
				s.LastSpring = s.Start.AddDays(rapid.IntRange(0, 150).Draw(t, "last"))
				s.FirstAutumn = s.Start.AddDays(rapid.IntRange(210, 364).Draw(t, "first"))
			}
			seasons = append(seasons, s)
		}
		c := FrostChances(seasons, half, 40)
		share := rapid.Float64Range(0.01, 1).Draw(t, "share")
		md, ok := c.By(share)
		if !ok {
			return
		}
		if half == FirstOfAutumn {
			if r, _ := c.Risk(md); r < share-1e-9 {
				t.Fatalf("risk %g by %s, share %g", r, md, share)
			}
			return
		}
		_, m, d := md.In(referenceYear).AddDays(1).YMD()
		if r, _ := c.Risk(civil.MonthDay{Month: m, Day: d}); r > 1-share+1e-9 {
			t.Fatalf("risk %g after %s, share %g", r, md, share)
		}
	})
}

func TestColdNights(t *testing.T) {
	days := year(civil.New(2026, 5, 1), 10, 0, 3, 7)
	days[5].Min = nan
	assert.Equal(t, []civil.Date{civil.New(2026, 5, 4), civil.New(2026, 5, 8)}, ColdNights(days, civil.New(2026, 5, 2), Frost))
}
