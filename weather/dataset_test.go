package weather

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// sharedData opens a file of the open data sets that lie beside the repository,
// or skips.
func sharedData(t testing.TB, path string) *os.File {
	t.Helper()
	f, err := os.Open("../../shared/datasets/" + path)
	if errors.Is(err, fs.ErrNotExist) {
		t.Skipf("open data set %s is not beside the repository", path)
	}
	require.NoError(t, err)
	t.Cleanup(func() { assertClosed(t, f) })
	return f
}

func assertClosed(t testing.TB, c io.Closer) {
	if err := c.Close(); err != nil {
		t.Error(err)
	}
}

// airportHours reads one airport of the hourly sets of 2013 and 2014 (reports of
// US airports, degrees F, mph, inches), turned into the units of a Series with
// every value kept, the bad ones too. The reports are taken 9 minutes before the
// hour; they are put on the hour that their record names.
func airportHours(t testing.TB, path, airport string) *Series {
	t.Helper()
	year := map[string]int{"nyc-hourly-2013/weather.csv": 2013, "pnw-hourly-2014/weather.csv": 2014}[path]
	r := csv.NewReader(sharedData(t, path))
	_, err := r.Read()
	require.NoError(t, err)
	s := NewSeries(time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC), 8760+24)
	o, err := s.AddOrigin(Origin{Source: airport, Kind: Nearby})
	require.NoError(t, err)
	for {
		rec, err := r.Read()
		if errors.Is(err, io.EOF) {
			return s
		}
		require.NoError(t, err)
		if rec[0] != airport {
			continue
		}
		at, err := time.Parse(time.RFC3339, rec[14])
		if err != nil {
			at, err = time.Parse(time.DateTime, rec[14])
		}
		require.NoError(t, err)
		i := s.Index(at)
		put := func(v Var, field string, convert func(float64) float64) {
			if field == "NA" || field == "" {
				return
			}
			x, err := strconv.ParseFloat(field, 64)
			require.NoError(t, err)
			s.Set(v, i, convert(x), o)
		}
		celsius := func(f float64) float64 { return (f - 32) / 1.8 }
		put(Temp, rec[5], celsius)
		put(DewPoint, rec[6], celsius)
		put(RH, rec[7], func(x float64) float64 { return x })
		put(Wind, rec[9], func(x float64) float64 { return x * 0.44704 })
		put(Rain, rec[11], func(x float64) float64 { return x * 25.4 })
	}
}

// greensboroYear reads the typical year of Greensboro NC: temperature and
// radiation, local standard time (UTC-5), records named for the end of the hour.
// Its months are of different years; they are put into 2001.
func greensboroYear(t testing.TB) *Series {
	t.Helper()
	r := csv.NewReader(sharedData(t, "tmy3-greensboro/723170TYA.CSV"))
	r.FieldsPerRecord = -1
	recs, err := r.ReadAll()
	require.NoError(t, err)
	col := map[string]int{}
	for i, h := range recs[1] {
		col[h] = i
	}
	s := NewSeries(time.Date(2001, 1, 1, 5, 0, 0, 0, time.UTC), 8760)
	o, err := s.AddOrigin(Origin{Source: "Greensboro", Kind: Nearby})
	require.NoError(t, err)
	for _, rec := range recs[2:] {
		var month, day, year, hour, minute int
		_, err := fmt.Sscanf(rec[0]+" "+rec[1], "%d/%d/%d %d:%d", &month, &day, &year, &hour, &minute)
		require.NoError(t, err)
		end := time.Date(2001, time.Month(month), day, hour, 0, 0, 0, time.UTC).Add(5 * time.Hour)
		for v, name := range map[Var]string{Temp: "Dry-bulb (C)", DewPoint: "Dew-point (C)", RH: "RHum (%)", Wind: "Wspd (m/s)", Solar: "GHI (W/m^2)"} {
			x, err := strconv.ParseFloat(rec[col[name]], 64)
			require.NoError(t, err)
			i := s.Index(end)
			if v == Solar { // the mean of the hour that ended
				i--
			}
			if i < s.Len() {
				s.Set(v, i, x, o)
			}
		}
	}
	return s
}
