package station

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

func logger() CSVMap {
	return CSVMap{
		Time: "Zeit", TimeFormat: "DD.MM.YYYY HH:mm", Zone: "Europe/Vienna", Separator: ";", Decimal: ",", Skip: 1, Missing: []string{"---"},
		Columns: []CSVColumn{
			{Column: "Luft", Is: "temperature", Unit: "C"},
			{Column: "Feuchte", Is: "humidity", Unit: "%"},
			{Column: "Regen", Is: "rain", Unit: "mm"},
			{Column: "Blatt", Is: "leaf wetness", Unit: "min"},
		},
	}
}

func TestReadCSVOverTheStartOfSummerTime(t *testing.T) {
	f, err := os.Open("testdata/logger.csv")
	require.NoError(t, err)
	defer func() { assert.NoError(t, f.Close()) }()
	obs, problems, err := ReadCSV(f, logger())
	require.NoError(t, err)
	var why []string
	for _, p := range problems {
		why = append(why, p.String())
	}
	assert.Equal(t, []string{
		`line 6, Zeit: "29.03.2026 02:30": the clock of Europe/Vienna never showed this time`,
		`line 8, Luft: "viel": not a number; if it means no value, list it under missing`,
		`line 8, Regen: "-1,0": below 0`,
		`line 9, Zeit: "29.03.2026 05": not a time of the form DD.MM.YYYY HH:mm`,
	}, why)
	require.Len(t, obs, 6)
	assert.Equal(t, time.Date(2026, 3, 28, 22, 0, 0, 0, time.UTC), obs[0].Time)
	assert.True(t, math.IsNaN(obs[0].Values[weather.Rain]), "of what time the first row tells is not known")
	assert.Equal(t, 8.4, obs[0].Values[weather.Temp])
	assert.Equal(t, time.Hour, obs[1].Interval)
	assert.Equal(t, 0.4, obs[1].Values[weather.Rain])
	assert.Equal(t, 0.5, obs[1].Values[weather.Wetness])
	assert.True(t, math.IsNaN(obs[2].Values[weather.Rain]), "--- is unknown")
	// 01:00 CET to 03:00 CEST is one hour.
	assert.Equal(t, time.Date(2026, 3, 29, 1, 0, 0, 0, time.UTC), obs[3].Time)
	assert.Equal(t, time.Hour, obs[3].Interval)
	assert.Equal(t, 90.0, obs[4].Values[weather.RH], "the rest of a row with a bad cell is kept")
	assert.Equal(t, 1007.0, obs[5].Values[weather.Temp], "what cannot be is left to the quality checks")
	assert.Equal(t, 2*time.Hour, obs[5].Interval)
}

func TestReadCSVUnitsStampsAndDailyTotals(t *testing.T) {
	m := CSVMap{
		Time: "time", TimeFormat: "YYYY-MM-DD HH:mm", Zone: "UTC", Stamp: "start", Every: "1h",
		Columns: []CSVColumn{
			{Column: "t", Is: "temperature", Unit: "F"}, {Column: "w", Is: "wind", Unit: "km/h"},
			{Column: "rain today", Is: "rain", Unit: "in", Total: "day"}, {Column: "wet", Is: "leaf wetness", Unit: "%"},
		},
	}
	obs, problems, err := ReadCSV(strings.NewReader("time,t,w,rain today,wet\n2026-06-21 22:00,68,36,1.0,50\n2026-06-21 22:30,68,36,1.0,50\n2026-06-21 23:30,50,,0.1,100\n"), m)
	require.NoError(t, err)
	assert.Empty(t, problems)
	require.Len(t, obs, 3)
	assert.Equal(t, time.Date(2026, 6, 21, 23, 0, 0, 0, time.UTC), obs[0].Time, "the start of the interval plus its length")
	assert.InDelta(t, 20, obs[0].Values[weather.Temp], 1e-9)
	assert.InDelta(t, 10, obs[0].Values[weather.Wind], 1e-9)
	assert.Equal(t, 0.5, obs[0].Values[weather.Wetness])
	assert.True(t, math.IsNaN(obs[0].Values[weather.Rain]))
	assert.InDelta(t, 0, obs[1].Values[weather.Rain], 1e-9)
	assert.InDelta(t, 2.54, obs[2].Values[weather.Rain], 1e-9, "after midnight")
	assert.True(t, math.IsNaN(obs[2].Values[weather.Wind]))
}

// The hours of a logger's summer day in 10-minute rows are those of its values.
func TestReadCSVIntoHours(t *testing.T) {
	var b strings.Builder
	b.WriteString("Timestamp,Temp_C,Rain_mm\n")
	for i := 0; i <= 18; i++ {
		at := noon.Add(time.Duration(i) * 10 * time.Minute)
		b.WriteString(at.Format("2006-01-02 15:04") + ",20.5,0.1\n")
	}
	obs, _, err := ReadCSV(strings.NewReader(b.String()), CSVMap{Time: "Timestamp", TimeFormat: "YYYY-MM-DD HH:mm", Zone: "UTC", Columns: []CSVColumn{{Column: "Temp_C", Is: "temperature", Unit: "C"}, {Column: "Rain_mm", Is: "rain", Unit: "mm"}}})
	require.NoError(t, err)
	s := Hours(obs, own)
	for i := range 3 {
		assert.InDelta(t, 0.6, s.Value(weather.Rain, i), 1e-9)
	}
	assert.Equal(t, 4, s.Len())
}

func TestAWrongMapIsSaidWhole(t *testing.T) {
	_, _, err := ReadCSV(strings.NewReader(""), CSVMap{
		TimeFormat: "HH:MM", Zone: "Vienna", Stamp: "middle", Every: "1 hour", Separator: "", Decimal: ";",
		Columns: []CSVColumn{{Column: "a", Is: "temprature", Unit: "C"}, {Column: "b", Is: "rain", Unit: "inch"}, {Is: "wind"}, {Column: "c", Is: "wind", Unit: "mph", Total: "day"}},
	})
	require.Error(t, err)
	for _, want := range []string{
		"time: the name of the column", `"HH:MM" has no YY`, `zone: "Vienna" is not an IANA time zone`, `stamp: word "middle"`, `interval: "1 hour"`, `decimal ";"`,
		`columns[0]: is: word "temprature" is not known; did you mean "temperature"?`,
		`columns[1]: rain: unit "inch" is not known; known are: cm, in, mm`, "columns[2]: column:", `columns[3]: total: "day"`,
	} {
		assert.Contains(t, err.Error(), want)
	}
	m := logger()
	_, _, err = ReadCSV(strings.NewReader("x\nZeit;Luft;Feuchte;Rain;Blatt\n"), m)
	assert.ErrorContains(t, err, `the file: column "Regen" is not known; known are: Zeit, Luft, Feuchte, Rain, Blatt`)
	_, _, err = ReadCSV(strings.NewReader(""), m)
	assert.ErrorContains(t, err, "read the line of column names")
}

func FuzzReadCSV(f *testing.F) {
	b, err := os.ReadFile("testdata/logger.csv")
	require.NoError(f, err)
	f.Add(string(b))
	f.Fuzz(func(t *testing.T, in string) {
		obs, _, err := ReadCSV(strings.NewReader(in), logger())
		if err != nil {
			return
		}
		for i, o := range obs {
			if o.Interval < 0 || o.Values[weather.Rain] < 0 || i > 0 && o.Time.Before(obs[i-1].Time) {
				t.Fatalf("%d: %+v", i, o)
			}
		}
	})
}
