package pack

import (
	"encoding/hex"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/weather"
)

var t0 = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)

func drawSeries(t *rapid.T) *weather.Series {
	start := time.Unix(rapid.Int64Range(-200_000, 600_000).Draw(t, "start")*3600, 0)
	s := weather.NewSeries(start, rapid.IntRange(0, 60).Draw(t, "hours"))
	for i := range rapid.IntRange(1, 4).Draw(t, "origins") {
		_, err := s.AddOrigin(weather.Origin{
			Source: fmt.Sprint("source ", i), Kind: weather.Kind(rapid.IntRange(1, 6).Draw(t, "kind")),
			Issued:    time.Unix(rapid.Int64Range(-1e10, 1e10).Draw(t, "issued"), int64(rapid.IntRange(0, 999_999_999).Draw(t, "ns"))).UTC(),
			Corrected: rapid.Bool().Draw(t, "corrected"),
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	value := rapid.OneOf(
		rapid.Map(rapid.IntRange(-500, 1500), func(n int) float64 { return float64(n) / 10 }),
		rapid.Float64(),
		rapid.Just(math.NaN()), rapid.Just(math.Copysign(0, -1)), rapid.Just(math.Pi))
	tenths := rapid.Bool().Draw(t, "tenths")
	for v := range weather.NumVars {
		if rapid.Bool().Draw(t, "absent") {
			continue
		}
		for i := range s.Len() {
			x := value.Draw(t, "x")
			if tenths {
				x = math.Round(math.Mod(x, 1000)*10) / 10
			}
			s.Set(v, i, x, uint8(rapid.IntRange(1, len(s.Origins())).Draw(t, "origin")))
		}
	}
	return s
}

// same compares bit for bit, with missing values equal to each other.
func same(a, b *weather.Series) string {
	if !a.Start().Equal(b.Start()) || a.Len() != b.Len() {
		return fmt.Sprintf("span %v+%d, want %v+%d", b.Start(), b.Len(), a.Start(), a.Len())
	}
	for v := range weather.NumVars {
		for i := range a.Len() {
			x, y := a.Value(v, i), b.Value(v, i)
			if math.Float64bits(x) != math.Float64bits(y) && !(math.IsNaN(x) && math.IsNaN(y)) {
				return fmt.Sprintf("%s at %v is %v, want %v", v, a.Time(i), y, x)
			}
			ox, okx := a.OriginAt(v, i)
			oy, oky := b.OriginAt(v, i)
			if ox != oy || okx != oky {
				return fmt.Sprintf("origin of %s at %v is %+v, want %+v", v, a.Time(i), oy, ox)
			}
		}
	}
	return ""
}

func TestSeriesRoundTripIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSeries(t)
		back, err := OpenSeries(Series(s))
		if err != nil {
			t.Fatal(err)
		}
		if diff := same(s, back); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestEveryFlippedBitIsNoticed(t *testing.T) {
	blob := Series(oneValue(weather.Temp, 3, 21.5, weather.Origin{Source: "a", Kind: weather.Forecast, Fetched: t0}))
	for i := range blob {
		for bit := range 8 {
			bad := append([]byte(nil), blob...)
			bad[i] ^= 1 << bit
			back, err := OpenSeries(bad)
			if err == nil { // zstd has bits without meaning; the contents must then be the same
				assert.Equal(t, 21.5, back.Value(weather.Temp, 3), "byte %d bit %d", i, bit)
			}
		}
	}
	for i := range blob {
		_, err := OpenSeries(blob[:i])
		assert.Error(t, err)
	}
	blob[1] = version + 1
	_, err := OpenSeries(blob)
	assert.ErrorContains(t, err, "newer")
	assert.NotErrorIs(t, err, ErrDamaged)
	_, err = OpenDays(Bytes([]byte("x")))
	assert.ErrorIs(t, err, ErrDamaged)
}

// A blob that was written by the first layout must stay readable for ever.
func TestFirstLayoutStaysReadable(t *testing.T) {
	const written = "530121edb44a28b52ffd0000990100f0ae3c0401017304ffdb8ff9ce030080aee6a10d00000200000101010001010102cc21d5260301010003ff182d4454fb210940"
	blob, err := hex.DecodeString(written)
	require.NoError(t, err)
	back, err := OpenSeries(blob)
	if err != nil {
		t.Logf("today's: %x", Series(layoutSample()))
	}
	require.NoError(t, err)
	assert.Empty(t, same(layoutSample(), back))
}

func layoutSample() *weather.Series {
	s := weather.NewSeries(t0, 4)
	h, err := s.AddOrigin(weather.Origin{Source: "s", Kind: weather.Forecast, Fetched: t0})
	if err != nil {
		panic(err)
	}
	s.Set(weather.Temp, 1, 21.5, h)
	s.Set(weather.Temp, 3, -3.25, h)
	s.Set(weather.Rain, 0, math.Pi, h)
	return s
}

func oneValue(v weather.Var, i int, x float64, o weather.Origin) *weather.Series {
	s := weather.NewSeries(t0, 10)
	h, err := s.AddOrigin(o)
	if err != nil {
		panic(err)
	}
	s.Set(v, i, x, h)
	return s
}

func TestMergeRules(t *testing.T) {
	at := func(k weather.Kind, fetched int) weather.Origin {
		return weather.Origin{Source: k.String(), Kind: k, Fetched: t0.Add(time.Duration(fetched) * time.Hour)}
	}
	for _, c := range []struct {
		name     string
		first    weather.Origin
		second   weather.Origin
		replaced bool
	}{
		{"a newer forecast", at(weather.Forecast, 1), at(weather.Forecast, 2), true},
		{"an older forecast that comes late", at(weather.Forecast, 2), at(weather.Forecast, 1), false},
		{"the same fetch again", at(weather.Forecast, 2), at(weather.Forecast, 2), true},
		{"an analysis over a forecast", at(weather.Forecast, 1), at(weather.Analysis, 2), true},
		{"a forecast over an analysis", at(weather.Analysis, 1), at(weather.Forecast, 9), false},
		{"an analysis over the own station", at(weather.Station, 1), at(weather.Analysis, 9), false},
		{"the own station over an analysis fetched later", at(weather.Analysis, 9), at(weather.Station, 1), true},
		{"a forecast over the own station", at(weather.Station, 1), at(weather.Forecast, 9), false},
		{"a filled gap over an observed value", at(weather.Nearby, 1), at(weather.Interpolated, 9), false},
		{"a corrected observation", at(weather.Nearby, 1), at(weather.Nearby, 9), true},
	} {
		g := NewGrid(t0.Add(-5*time.Hour), 20)
		g.Merge(oneValue(weather.Temp, 3, 1, c.first))
		g.Merge(oneValue(weather.Temp, 3, 2, c.second))
		g.Merge(weather.NewSeries(t0, 10)) // all missing: changes nothing
		s, err := g.Series()
		require.NoError(t, err)
		want, wantOrigin := 1.0, c.first
		if c.replaced {
			want, wantOrigin = 2, c.second
		}
		assert.Equal(t, want, s.Value(weather.Temp, 8), c.name)
		o, _ := s.OriginAt(weather.Temp, 8)
		assert.Equal(t, wantOrigin, o, c.name)
	}
}

func TestTooManyOriginsAreJoinedAndNeverLookYounger(t *testing.T) {
	g := NewGrid(t0, 2000)
	fetched := func(i int) time.Time { return t0.Add(time.Duration(i) * time.Hour) }
	for i := range 2000 { // a fetch an hour, each leaving one hour behind
		s := weather.NewSeries(t0, 2000)
		h, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Analysis, Fetched: fetched(i)})
		require.NoError(t, err)
		s.Set(weather.Temp, i, float64(i), h)
		g.Merge(s)
	}
	kept, err := Decode(g.Encode())
	require.NoError(t, err)
	s, err := kept.Series()
	require.NoError(t, err)
	assert.LessOrEqual(t, len(s.Origins()), weather.MaxOrigins)
	for i := range 2000 {
		assert.Equal(t, float64(i), s.Value(weather.Temp, i))
		o, ok := s.OriginAt(weather.Temp, i)
		require.True(t, ok)
		assert.False(t, o.Fetched.After(fetched(i)))
		assert.LessOrEqual(t, fetched(i).Sub(o.Fetched), 24*time.Hour)
	}

	many := NewGrid(t0, 300)
	for i := range 300 {
		s := weather.NewSeries(t0, 300)
		h, err := s.AddOrigin(weather.Origin{Source: fmt.Sprint(i), Kind: weather.Analysis})
		require.NoError(t, err)
		s.Set(weather.Temp, i, 1, h)
		many.Merge(s)
	}
	_, err = many.Series()
	assert.ErrorContains(t, err, "more than 255")
}

func FuzzDecodeSeries(f *testing.F) {
	for _, s := range []*weather.Series{layoutSample(), weather.NewSeries(t0, 0), oneValue(weather.Wetness, 0, 1, weather.Origin{Source: strings.Repeat("x", 40), Kind: 9})} {
		blob := Series(s)
		plain, err := open(kindSeries, blob)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(plain)
	}
	f.Fuzz(func(t *testing.T, plain []byte) {
		// The checksum would stop nearly every input; go past it.
		g, err := decodeGrid(plain)
		if err != nil {
			assert.ErrorIs(t, err, ErrDamaged)
			return
		}
		again, err := Decode(g.Encode())
		require.NoError(t, err, "what was decoded must encode")
		assert.Equal(t, g.Encode(), again.Encode())
	})
}

func FuzzOpen(f *testing.F) {
	f.Add(Bytes([]byte("hello")))
	f.Add(Series(layoutSample()))
	f.Add(Days(nil))
	f.Fuzz(func(t *testing.T, blob []byte) {
		_, _ = OpenBytes(blob)
		_, _ = OpenSeries(blob)
		_, _ = OpenDays(blob)
	})
}
