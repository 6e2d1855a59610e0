package calc

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk/degreeday"
	"plotwarden/strict"
	"plotwarden/weather"
)

func newYork(t testing.TB) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	return loc
}

func TestReadDaysFillsGapsAndConverts(t *testing.T) {
	d, err := ReadDays("f", strings.NewReader("\xef\xbb\xbfdate,tmax,tmin,rain_mm\r\n2026-05-01,50,32,1.5\r\n2026-05-04,86, 68 ,\r\n"), degreeday.Fahrenheit)
	require.NoError(t, err)
	require.Len(t, d.List, 4)
	assert.InDelta(t, 0, d.List[0].Min, 1e-9)
	assert.InDelta(t, 10, d.List[0].Max, 1e-9)
	assert.Equal(t, 1.5, d.List[0].Rain)
	assert.True(t, math.IsNaN(d.List[0].Wind))
	assert.True(t, math.IsNaN(d.List[1].Min))
	assert.Equal(t, "2026-05-03", d.List[2].Date.String())
	assert.InDelta(t, 20, d.List[3].Min, 1e-9)
	assert.True(t, math.IsNaN(d.List[3].Rain))
	assert.Equal(t, []Gap{{2, "day", "2026-05-01"}}, d.Gaps)
}

func TestReadDaysNamesEveryFault(t *testing.T) {
	_, err := ReadDays("days.csv", strings.NewReader(`date,tmin,tmax
2026-05-01,10,20
2026-05-01,10,20
2026-04-30,10,20
2026-02-30,10,20
2026-05-02,21,20
2026-05-03,nan,20
2026-05-04,10,-9999
2026-05-05,10
2026-05-06,1e9,0x14
5/7/2026,10,20
2026-05-08,,
`), degreeday.Celsius)
	assert.EqualError(t, err, strings.TrimSpace(`
days.csv:3:1: date 2026-05-01 stands twice
days.csv:4:1: date 2026-04-30 is before 2026-05-01, the row above it; put the rows in order
days.csv:5:1: date: "2026-02-30" is not a day of the calendar
days.csv:6:12: tmin 21 is above tmax 20
days.csv:7:12: tmin: "nan" is not a number; leave what is missing empty
days.csv:8:15: tmax: -9999 is outside -95 to 65; leave what is missing empty
days.csv:9:1: the row has 2 fields and the header 3
days.csv:10:12: tmin: 1e9 is outside -95 to 65; leave what is missing empty
days.csv:10:16: tmax: "0x14" is not a number; leave what is missing empty
days.csv:11:1: date: "5/7/2026" is not a date of the form YYYY-MM-DD`))
}

func TestReadDaysHeader(t *testing.T) {
	for in, want := range map[string]string{
		"":                                 "f: the file is empty; the first line names the columns: date,tmin,tmax",
		"date,tmin\n2026-05-01,1\n":        "f:1:1: the header lacks tmax; it must name the columns: date,tmin,tmax",
		"date,tmin,tmax\n":                 "f:1:1: the file has no rows",
		"date,tmin,tmx\n":                  "f:1:1: the header lacks tmax; it must name the columns: date,tmin,tmax\nf:1:11: column \"tmx\" is not known; did you mean \"tmax\"?",
		"date,tmin,tmax,tmin\n":            "f:1:16: column \"tmin\" stands twice",
		"date;tmin;tmax\n":                 "f:1:1: column \"date;tmin;tmax\" is not known; known are: date, tmin, tmax, rain_mm, wind_ms, soil_c; fields are parted by commas\nf:1:1: the header lacks date, tmin, tmax; it must name the columns: date,tmin,tmax",
		"\xff\xfed\x00a\x00":               "f:1:1: the file is in UTF-16; save it as UTF-8",
		"date,tmin,tmax\n2026-05-01,\"1,2": "f:2:16: a quotation mark (\") stands where none can",
	} {
		_, err := ReadDays("f", strings.NewReader(in), degreeday.Celsius)
		assert.EqualError(t, err, want, in)
	}
}

func TestManyFaultsAreCut(t *testing.T) {
	_, err := ReadDays("f", strings.NewReader("date,tmin,tmax\n"+strings.Repeat("x,1,2\n", 1000)), degreeday.Celsius)
	faults, ok := strict.AsFaults(err)
	require.True(t, ok)
	require.Len(t, faults, maxFaults+1)
	assert.Equal(t, "more faults follow; they are not listed", faults[maxFaults].Message)
}

func TestReadHoursAcrossTheClockChange(t *testing.T) {
	f, err := os.Open("testdata/night.csv")
	require.NoError(t, err)
	defer f.Close()
	h, err := ReadHours("night.csv", f, newYork(t), WetnessColumns())
	require.NoError(t, err)
	assert.Equal(t, "2026-11-01T01:00:00Z", h.Series.Start().Format(time.RFC3339))
	assert.Equal(t, 12, h.Series.Len())
	assert.Equal(t, 9.8, h.Series.Value(weather.Temp, 4))
	assert.Equal(t, 9.5, h.Series.Value(weather.Temp, 5)) // the second 01:00
	assert.True(t, math.IsNaN(h.Series.Value(weather.RH, 5)))
	assert.Equal(t, []string{"2026-11-01T03:00", "2026-11-01T04:00", "2026-11-01T05:00", "2026-11-01T06:00"}, h.Labels[7:11])
	assert.Equal(t, []Gap{{2, "hour", "2026-11-01T03:00"}}, h.Gaps)
}

func TestReadHoursNamesEveryFault(t *testing.T) {
	_, err := ReadHours("h.csv", strings.NewReader(`time,temp_c,rh_pct
2026-03-08T01:00,1,50
2026-03-08T02:00,1,50
2026-03-08T03:30,1,50
2026-03-08T01:00,1,50
2026-03-08T00:00,1,50
2026-03-08 04:00-04:00,1,101
2026-03-08T05:00:00,1,50
08.03.2026 06:00,1,50
`), newYork(t), []weather.Var{weather.Temp, weather.RH})
	assert.EqualError(t, err, strings.TrimSpace(`
h.csv:3:1: time 2026-03-08T02:00 does not exist in America/New_York: the clocks jump over it
h.csv:4:1: time 2026-03-08T03:30 is not on the hour; bring the values to hours first
h.csv:5:1: time 2026-03-08T01:00 stands twice
h.csv:6:1: time 2026-03-08T00:00 is before 2026-03-08T01:00, the row above it; put the rows in order
h.csv:7:26: rh_pct: 101 is outside 0 to 100; leave what is missing empty
h.csv:9:1: time "08.03.2026 06:00" is not of the form 2026-06-01T05:00, with or without an offset such as Z or -04:00`))

	_, err = ReadHours("h.csv", strings.NewReader("time,temp_c\n2026-03-08T01:00Z,1\n"), time.UTC, WetnessColumns())
	assert.EqualError(t, err, "h.csv:1:1: the header lacks rh_pct, rain_mm, wind_ms; it must name the columns: time,temp_c,rh_pct,rain_mm,wind_ms")
	_, err = ReadHours("h.csv", strings.NewReader("time,temp_c\n2026-03-08T05:00+05:30,1\n2026-03-08T00:00Z,1\n"), time.UTC, nil)
	assert.EqualError(t, err, "h.csv:3:1: time 2026-03-08T00:00Z falls into the same hour as the row above it")
}

// Kathmandu is 5 h 45 min ahead: its local day keeps its own hours.
func TestLocalDaysOfOddZones(t *testing.T) {
	loc, err := time.LoadLocation("Asia/Kathmandu")
	require.NoError(t, err)
	var b strings.Builder
	b.WriteString("time,temp_c\n")
	for d := 1; d <= 2; d++ {
		for hour := range 24 {
			b.WriteString(time.Date(2026, 6, d, hour, 0, 0, 0, time.UTC).Format("2006-01-02T15:04"))
			b.WriteString(map[int]string{1: ",10\n", 2: ",20\n"}[d])
		}
	}
	h, err := ReadHours("f", strings.NewReader(b.String()), loc, nil)
	require.NoError(t, err)
	days := h.Series.Days(loc)
	require.Len(t, days, 2)
	assert.Equal(t, [4]float64{10, 10, 20, 20}, [4]float64{days[0].Min, days[0].Max, days[1].Min, days[1].Max})
}

func FuzzReadDays(f *testing.F) {
	f.Add("date,tmin,tmax\n2026-05-01,1,2\n2026-05-09,,\n", false)
	f.Add("date,tmin,tmax\n0001-01-01,1,2\n9999-05-09,,\n", true)
	f.Add("date,tmin\n\"", true)
	f.Fuzz(func(t *testing.T, s string, us bool) {
		unit := degreeday.Celsius
		if us {
			unit = degreeday.Fahrenheit
		}
		d, err := ReadDays("f", strings.NewReader(s), unit)
		if err != nil {
			requireFaults(t, err)
			return
		}
		for i := range d.List {
			if x := d.List[i]; x.Min > x.Max+1e-9 || x.Date != d.List[0].Date.AddDays(i) || math.IsInf(x.Min, 0) {
				t.Fatalf("row %d is %v", i, x)
			}
		}
	})
}

func FuzzReadHours(f *testing.F) {
	night, err := os.ReadFile("testdata/night.csv")
	require.NoError(f, err)
	f.Add(string(night))
	f.Add("time,temp_c,rh_pct,rain_mm,wind_ms\n2026-03-08T01:00Z,1,2,3,4\n2026-03-08 05:00+05:45,,,,\n")
	loc := newYork(f)
	f.Fuzz(func(t *testing.T, s string) {
		h, err := ReadHours("f", strings.NewReader(s), loc, WetnessColumns())
		if err != nil {
			requireFaults(t, err)
			return
		}
		if len(h.Labels) != h.Series.Len() || h.Series.Len() == 0 {
			t.Fatalf("%d labels for %d hours", len(h.Labels), h.Series.Len())
		}
	})
}

func requireFaults(t *testing.T, err error) {
	faults, ok := strict.AsFaults(err)
	if !ok || len(faults) == 0 {
		t.Fatalf("not faults: %v", err)
	}
	for _, x := range faults {
		if x.Message == "" || x.File != "f" {
			t.Fatalf("a fault without message or file: %v", x)
		}
	}
}
