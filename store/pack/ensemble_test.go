package pack

import (
	"bytes"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

// gefs makes 31 runs of 35 days that drift apart, in tenths as services send them.
func gefs(t testing.TB) []*weather.Series {
	var out []*weather.Series
	for m := range 31 {
		s := weather.NewSeries(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), 35*24)
		o, err := s.AddOrigin(weather.Origin{Source: "open-meteo", Kind: weather.Forecast, Fetched: s.Start()})
		require.NoError(t, err)
		for i := range s.Len() {
			day := float64(i) / 24
			wave := math.Sin(day*2*math.Pi) + math.Sin(day*(0.8+float64(m)/40))*day/10
			tenth := func(x float64) float64 { return math.Round(x*10) / 10 }
			s.Set(weather.Temp, i, tenth(18+6*wave), o)
			s.Set(weather.RH, i, math.Round(70-15*wave), o)
			s.Set(weather.DewPoint, i, tenth(11+wave), o)
			s.Set(weather.Rain, i, tenth(max(0, 2*math.Sin(day*3+float64(m))-1.5)), o)
			s.Set(weather.Wind, i, tenth(3+wave), o)
			s.Set(weather.Cloud, i, math.Round(50+30*math.Sin(day*5+float64(m))), o)
			s.Set(weather.Solar, i, math.Round(max(0, 700*wave)), o)
		}
		out = append(out, s)
	}
	return out
}

func TestEnsembleComesBack(t *testing.T) {
	runs := gefs(t)
	blob := Ensemble(runs)
	got, err := OpenEnsemble(blob)
	require.NoError(t, err)
	require.Len(t, got, 31)
	values := 0
	for m, s := range got {
		for v := range weather.NumVars {
			assert.Equal(t, runs[m].Column(v), s.Column(v))
			values += len(s.Column(v))
		}
	}
	t.Logf("%d values in %d bytes", values, len(blob))
	assert.Less(t, len(blob), 2*values, "under two bytes a value")
	_, err = OpenSeries(blob)
	assert.ErrorIs(t, err, ErrDamaged, "runs are no series")
	got, err = OpenEnsemble(Ensemble(nil))
	require.NoError(t, err)
	assert.Empty(t, got)
}

func FuzzDecodeEnsemble(f *testing.F) {
	for _, n := range []int{0, 1, 2} {
		runs := gefs(f)[:n]
		for i := range runs {
			runs[i] = runs[i].Slice(0, 12)
		}
		blob := Ensemble(runs)
		plain, err := open(kindRuns, blob)
		require.NoError(f, err)
		f.Add(plain)
	}
	f.Add([]byte{2, 1})
	f.Fuzz(func(t *testing.T, plain []byte) {
		runs, err := decodeRuns(bytes.Clone(plain))
		if err != nil {
			assert.ErrorIs(t, err, ErrDamaged)
			return
		}
		again, err := OpenEnsemble(Ensemble(runs))
		require.NoError(t, err)
		require.Len(t, again, len(runs))
	})
}

func TestMergerIsMerge(t *testing.T) {
	runs := gefs(t)
	start := runs[0].Start().Add(-100 * time.Hour)
	var want []byte
	for range 2 { // the second time from memory
		m := NewMerger()
		for _, have := range [][]byte{nil, Series(runs[1])} {
			for range 2 {
				got, damaged, err := m.Merge(have, start, 240, runs[0])
				require.NoError(t, err)
				assert.False(t, damaged)
				g := NewGrid(start, 240)
				if have != nil {
					g, err = Decode(have)
					require.NoError(t, err)
				}
				g.Merge(runs[0])
				want = g.Encode()
				assert.Equal(t, want, got)
			}
		}
		blob, damaged, err := m.Merge([]byte("rubbish"), start, 240, runs[0])
		require.NoError(t, err)
		assert.True(t, damaged)
		assert.NotEmpty(t, blob)
		none, _, err := m.Merge(nil, start.Add(-1000*time.Hour), 24, runs[0])
		require.NoError(t, err)
		assert.Nil(t, none)
		assert.Equal(t, Series(runs[2]), m.Series(runs[2]))
		assert.Equal(t, Series(runs[2]), m.Series(runs[2]))
		_, _, err = m.Merge([]byte{kindSeries, version + 1, 0, 0, 0, 0}, start, 240, runs[0])
		assert.ErrorContains(t, err, "layout")
	}
}
