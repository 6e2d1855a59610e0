package model

import (
	"fmt"
	"testing"

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

// Running rules together gives what each gives alone.
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
