package model

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/weather"
)

// A track that grew hour by hour, with forecasts replaced, sprays and water
// added and time passing, is bit for bit the one computed at once.
func TestRefreshEqualsRecomputation(t *testing.T) {
	specs := examples(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 24*20).Draw(t, "hours")
		in := drawnInput(t, drawnSeries(t, n))
		sn := NewSeason(in.Weather, in.Zone, in.Now)
		runners := make([]*Runner, len(specs))
		for i, s := range specs {
			r, err := sn.NewRunner(s, in)
			require.NoError(t, err)
			runners[i] = r
		}
		for range rapid.IntRange(1, 5).Draw(t, "updates") {
			from := rapid.IntRange(0, in.Weather.Len()).Draw(t, "from")
			w := in.Weather.Slice(0, in.Weather.Len())
			w = w.Extend(w.Start(), w.End().Add(hours(rapid.IntRange(0, 60).Draw(t, "grow"))))
			fill(t, w, from)
			in.Weather = w
			if rapid.Bool().Draw(t, "time passes") {
				in.Now = w.Time(rapid.IntRange(0, w.Len()).Draw(t, "now"))
			}
			if rapid.IntRange(0, 3).Draw(t, "spray again") == 0 {
				in.Resets = append([]civilDate(nil), append(in.Resets, in.Start.AddDays(rapid.IntRange(0, 20).Draw(t, "spray")))...)
			}
			if rapid.IntRange(0, 5).Draw(t, "water again") == 0 {
				in.Irrigated = append(append([]int(nil), in.Irrigated...), w.Len()-1)
			}
			require.NoError(t, sn.Update(w, in.Now, from))
			for i, r := range runners {
				if rapid.IntRange(0, 9).Draw(t, "skip") == 0 {
					continue // refreshed at a later round
				}
				got, err := r.Refresh(in)
				require.NoError(t, err)
				want, err := specs[i].Run(in)
				require.NoError(t, err)
				require.Equal(t, fmt.Sprint(want.Points), fmt.Sprint(got.Points), "%s %d", specs[i].Kind(), i)
				require.Equal(t, fmt.Sprint(want.Events), fmt.Sprint(got.Events), "%s %d", specs[i].Kind(), i)
				require.Equal(t, want.Start, got.Start)
			}
		}
	})
}

// Running rules together gives what each gives alone, in memory that an earlier
// run left behind as in a new season.
func TestRunAllEqualsRun(t *testing.T) {
	specs := examples(t)
	rapid.Check(t, func(t *rapid.T) {
		in := drawnInput(t, drawnSeries(t, rapid.IntRange(0, 24*15).Draw(t, "hours")))
		tracks, errs := RunAll(specs, in)
		for i, s := range specs {
			require.NoError(t, errs[i])
			alone, err := s.Run(in)
			require.NoError(t, err)
			require.Equal(t, alone, tracks[i], s.Kind())
			anew, err := NewSeason(in.Weather, in.Zone, in.Now).Run(s, in)
			require.NoError(t, err)
			require.Equal(t, anew, tracks[i], s.Kind())
		}
	})
}

// The windows of a season are those of package weather.
func TestWindowsAgreeWithSeries(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawnInput(t, drawnSeries(t, rapid.IntRange(0, 24*40).Draw(t, "hours")))
		sn := NewSeason(in.Weather, in.Zone, in.Now)
		for _, k := range []DayKind{Calendar, Noon, From09, From06} {
			hour, endDated := k.begins()
			want := in.Weather.Windows(in.Zone, hour, endDated)
			require.Equal(t, append([]weather.Window{}, want...), append([]weather.Window{}, sn.window(k)...), string(k))
		}
		clock := sn.clock(LocalClock)
		for i := range clock {
			require.Equal(t, in.Weather.Time(i).In(in.Zone).Hour(), int(clock[i]))
		}
	})
}

// Rules that share hours may be refreshed at different times: what one has not
// seen yet must not get lost when another is brought up to date.
func TestRefreshAtDifferentTimes(t *testing.T) {
	period := decode(t, "infection-model", genericScab)
	table := decode(t, "severity-table", "{unit: u, day: calendar, "+leafWet+", count: total, mean_of: counted hours, temperature_unit: C, round_to: 1, tables: [{bands: [{from: 0, to: 40, steps: [{hours: 1, value: 1}, {hours: 9, value: 2}]}]}], start: {kind: in ground, standing: common practice}}")
	wet, arid := times(24, hour{15, 95, 0}), times(24, dry)
	in := &Input{Weather: sky(t, firstDay, time.UTC, join(arid, arid, arid, arid, arid)), Start: firstDay}
	sn := NewSeason(in.Weather, nil, time.Time{})
	slow, err := sn.NewRunner(period, in)
	require.NoError(t, err)
	quick, err := sn.NewRunner(table, in)
	require.NoError(t, err)
	// First the second day changes and only the table looks, then the fourth.
	for _, c := range []struct {
		hours []hour
		from  int
	}{{join(arid, wet, arid, arid, arid), 24}, {join(arid, wet, arid, wet, arid), 72}} {
		in.Weather = sky(t, firstDay, time.UTC, c.hours)
		require.NoError(t, sn.Update(in.Weather, time.Time{}, c.from))
		_, err := quick.Refresh(in)
		require.NoError(t, err)
	}
	got, err := slow.Refresh(in)
	require.NoError(t, err)
	want, err := period.Run(in)
	require.NoError(t, err)
	require.Equal(t, want.Points, got.Points)
	require.Equal(t, want.Events, got.Events)
	require.Len(t, got.Events, 2)
}

// A runner that missed many updates, and whose parts the season has forgotten,
// comes back whole.
func TestRefreshAfterBeingForgotten(t *testing.T) {
	p := decode(t, "infection-model", genericScab)
	in := &Input{Weather: sky(t, firstDay, time.UTC, join(times(24, dry), times(24, hour{15, 95, 0}))), Start: firstDay, Irrigated: []int{3}}
	sn := NewSeason(in.Weather, nil, time.Time{})
	r, err := sn.NewRunner(p, in)
	require.NoError(t, err)
	for range 10 {
		require.NoError(t, sn.Update(in.Weather, time.Time{}, 40))
	}
	in.Weather = sky(t, firstDay, time.UTC, join(times(24, hour{15, 95, 0}), times(24, dry)))
	require.NoError(t, sn.Update(in.Weather, time.Time{}, 0))
	require.Empty(t, sn.columns)
	got, err := r.Refresh(in)
	require.NoError(t, err)
	want, err := p.Run(in)
	require.NoError(t, err)
	require.Equal(t, want.Points, got.Points)
	require.Len(t, sn.columns, 1)
	require.NoError(t, sn.Update(in.Weather, time.Time{}, 47))
	again, err := r.Refresh(in)
	require.NoError(t, err)
	require.Equal(t, want.Points, again.Points)
}

// Daily records refresh as hours do.
func TestRefreshOfDays(t *testing.T) {
	p := decode(t, "degree-days", "{method: double-sine, lower: 10, unit: C, start: {kind: calendar, day: 01-01, standing: confirmed}, stages: [{name: a, value: 20}]}")
	days := daysOf(firstDay, [2]float64{8, 20}, [2]float64{9, 22}, [2]float64{10, 24})
	sn, err := NewDaySeason(days, nil, time.Time{})
	require.NoError(t, err)
	in := &Input{Days: days, Start: firstDay}
	r, err := sn.NewRunner(p, in)
	require.NoError(t, err)
	in.Days = append(append([]weather.Day(nil), days[:2]...), daysOf(firstDay+2, [2]float64{4, 12}, [2]float64{12, 26})...)
	require.NoError(t, sn.UpdateDays(in.Days, time.Time{}, 2))
	got, err := r.Refresh(in)
	require.NoError(t, err)
	want, err := p.Run(in)
	require.NoError(t, err)
	require.Equal(t, want.Points, got.Points)
	require.Equal(t, want.Events, got.Events)

	require.ErrorContains(t, sn.UpdateDays(daysOf(firstDay+1, [2]float64{1, 2}), time.Time{}, 0), "begins on")
	require.ErrorContains(t, sn.Update(nil, time.Time{}, 0), "daily records")
	w := weather.NewSeries(firstDay.Start(time.UTC), 24)
	hours := NewSeason(w, nil, time.Time{})
	require.ErrorContains(t, hours.UpdateDays(days, time.Time{}, 0), "with daily records")
	require.ErrorContains(t, hours.Update(weather.NewSeries(firstDay.Start(time.UTC).Add(time.Hour), 24), time.Time{}, 0), "begins at")
}
