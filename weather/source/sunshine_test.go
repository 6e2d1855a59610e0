package source

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

// greensboro reads the measured global radiation of a typical year: rows are
// labelled with the end of the hour in local standard time, UTC-5 (NREL TMY3,
// 723170). by moves every hour.
func greensboro(t *testing.T, by int) *weather.Series {
	t.Helper()
	f, err := os.Open("../../../shared/datasets/tmy3-greensboro/723170TYA.CSV")
	if err != nil {
		t.Skip("the year of measured radiation is not here: ../shared/datasets/tmy3-greensboro")
	}
	defer func() { assert.NoError(t, f.Close()) }()
	s := weather.NewSeries(time.Date(1997, 1, 1, 5, 0, 0, 0, time.UTC), 8760)
	o, err := s.AddOrigin(weather.Origin{Source: "measured", Kind: weather.Station})
	require.NoError(t, err)
	sc := bufio.NewScanner(f)
	for n := -2; sc.Scan(); n++ {
		if n < 0 {
			continue
		}
		ghi, err := strconv.ParseFloat(strings.Split(sc.Text(), ",")[4], 64)
		require.NoError(t, err)
		if at := n + by; at >= 0 && at < s.Len() {
			s.Set(weather.Solar, at, ghi, o)
		}
	}
	require.NoError(t, sc.Err())
	return s
}

// In every stretch of the year that is long enough, the right hours pass and
// hours moved by one, or by a whole zone, are found.
func TestSunshineOnAYearOfMeasuredRadiation(t *testing.T) {
	const lat, lon = 36.1, -79.95
	for _, days := range []int{leastSunDays, 23} {
		for _, by := range []int{-5, -1, 0, 1, 4} {
			s := greensboro(t, by)
			most, windows := 0.0, 0
			for from := 24; from+24*days < s.Len()-24; from += 24 * 5 {
				off, ok := sunOffset(s.Slice(from, from+24*days), lat, lon)
				require.True(t, ok)
				most = max(most, math.Abs(off-float64(by)))
				windows++
			}
			t.Logf("%2d days, moved by %+d h: %d stretches, found to within %.2f h", days, by, windows, most)
			assert.Less(t, most, min(mostOffset, 1-mostOffset), "a right hour must not reach %.2f h, nor a moved one fall below", mostOffset)
		}
	}
	s := greensboro(t, 1)
	assert.ErrorContains(t, CheckSunshine("x", s, lat, lon), "x: shifted: by the radiation of the first days all hours are about 1.1 h late")
	assert.NoError(t, CheckSunshine("x", greensboro(t, 0), lat, lon))
}

func TestSunshineNeedsEnoughRadiation(t *testing.T) {
	assert.NoError(t, CheckSunshine("x", weather.NewSeries(noon, 480), 36, -80))
	assert.NoError(t, CheckSunshine("x", greensboro(t, 3).Slice(0, 24*6), 36.1, -79.95), "six days prove nothing")
	dark := weather.NewSeries(noon, 480)
	o, _ := dark.AddOrigin(weather.Origin{Source: "x", Kind: weather.Forecast})
	for i := range dark.Len() {
		dark.Set(weather.Solar, i, 0, o)
	}
	assert.NoError(t, CheckSunshine("x", dark, 80, 0), "a polar night is no error")
}

func BenchmarkCheckSunshine(b *testing.B) {
	s := weather.NewSeries(noon, 24*23)
	o, _ := s.AddOrigin(weather.Origin{Source: "x", Kind: weather.Forecast})
	for i := range s.Len() {
		s.Set(weather.Solar, i, math.Max(0, 500*math.Sin(weather.SunElevation(s.Time(i), 40, -80)*math.Pi/180)), o)
	}
	for b.Loop() {
		if err := CheckSunshine("x", s, 40, -80); err != nil {
			b.Fatal(err)
		}
	}
}
