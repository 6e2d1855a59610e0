package archive

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

func text(t testing.TB, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(b)
}

func TestReadDly(t *testing.T) {
	d, err := ReadDly(strings.NewReader(text(t, "testdata/invented.dly")))
	require.NoError(t, err)
	assert.Equal(t, "USC00999001", d.Station)
	assert.True(t, d.Morning)
	require.Len(t, d.Days, 61, "1 February to 1 April of a leap year, March empty")
	day := func(m time.Month, n int) weather.Day { return d.Days[civil.New(2024, m, n).Sub(d.Days[0].Date)] }
	assert.Equal(t, 10.3, day(2, 1).Max)
	assert.Equal(t, 2.1, day(2, 1).Min)
	assert.Equal(t, weather.Nearby, day(2, 1).Kind)
	assert.Equal(t, 24, day(2, 1).Hours)
	assert.Equal(t, 12.3, day(2, 2).Rain)
	assert.Equal(t, 0.0, day(2, 3).Rain, "a trace counts as 0")
	assert.True(t, math.IsNaN(day(2, 4).Rain), "presumed zero is unknown")
	assert.True(t, math.IsNaN(day(2, 8).Rain), "not written is unknown")
	assert.True(t, math.IsNaN(day(2, 5).Min) && math.IsNaN(day(2, 5).Max), "40 C at least and 11.5 C at most: neither is trusted")
	assert.True(t, math.IsNaN(day(2, 7).Min))
	assert.Equal(t, 12.1, day(2, 7).Max)
	assert.Equal(t, 0, day(2, 7).Hours)
	assert.True(t, math.IsNaN(day(3, 15).Max))
	assert.Equal(t, weather.Kind(0), day(3, 15).Kind)
	assert.Equal(t, 3.4, day(4, 1).Wind)
	var why []string
	for _, r := range d.Rejects {
		why = append(why, r.String())
	}
	assert.Equal(t, []string{
		"2024-02-04 PRCP 0: missing, only presumed zero",
		"2024-02-05 TMAX 11.5: below the minimum of 40",
		"2024-02-05 TMIN 40: above the maximum of 11.5",
		"2024-02-07 TMIN -35: failed the archive's check G",
	}, why)
}

// The two CSV layouts of the same three days give the same days.
func TestTheTwoCSVLayoutsAgree(t *testing.T) {
	a, err := ReadByStation(strings.NewReader(text(t, "testdata/invented_by_station.csv")))
	require.NoError(t, err)
	b, err := ReadAccess(strings.NewReader(text(t, "testdata/invented_access.csv")))
	require.NoError(t, err)
	assertSameDays(t, a.Days, b.Days)
	assert.Equal(t, a.Rejects, b.Rejects)
	require.Len(t, a.Days, 3)
	assert.Equal(t, 30.1, a.Days[0].Max)
	assert.True(t, math.IsNaN(a.Days[1].Max))
	assert.Equal(t, 25.4, a.Days[2].Rain)
	assert.False(t, a.Morning)
}

func assertSameDays(t *testing.T, a, b []weather.Day) {
	t.Helper()
	require.Equal(t, len(a), len(b))
	same := func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) }
	for i := range a {
		x, y := a[i], b[i]
		assert.True(t, x.Date == y.Date && same(x.Min, y.Min) && same(x.Max, y.Max) && same(x.Rain, y.Rain) && same(x.Wind, y.Wind), "%+v\n%+v", x, y)
	}
}

// Real values of Seattle in January 2012 in three layouts of the archive agree
// where they overlap.
func TestLayoutsOfARealStationAgree(t *testing.T) {
	const dir = "../../../shared/api-shapes/ghcn/"
	if _, err := os.Stat(dir); err != nil {
		t.Skip("the sample records are not here: ../shared/api-shapes/ghcn")
	}
	dly, err := ReadDly(strings.NewReader(text(t, dir+"USW00024233_2012-01.dly")))
	require.NoError(t, err)
	by, err := ReadByStation(strings.NewReader(text(t, dir+"by_station_USW00024233.csv")))
	require.NoError(t, err)
	acc, err := ReadAccess(strings.NewReader(text(t, dir+"ncei_access_daily-summaries_metric.csv")))
	require.NoError(t, err)
	assert.Equal(t, civil.New(2012, 1, 1), dly.Days[0].Date)
	assertSameDays(t, dly.Days[:5], by.Days)
	assertSameDays(t, by.Days, acc.Days)
	s, err := ReadISDLite(strings.NewReader(text(t, dir+"isd-lite_725020-14734-2013_constructed.txt")), weather.Origin{Source: "x", Kind: weather.Nearby})
	require.NoError(t, err)
	assert.Equal(t, 3.9, s.Value(weather.Temp, s.Index(time.Date(2013, 1, 1, 6, 0, 0, 0, time.UTC))))
}

func TestReadISDLite(t *testing.T) {
	s, err := ReadISDLite(strings.NewReader(text(t, "testdata/invented_isdlite.txt")), weather.Origin{Source: "x", Kind: weather.Nearby})
	require.NoError(t, err)
	ten := s.Index(time.Date(2024, 7, 1, 10, 0, 0, 0, time.UTC))
	assert.Equal(t, 20.1, s.Value(weather.Temp, ten))
	assert.Equal(t, 15.5, s.Value(weather.DewPoint, ten))
	assert.InDelta(t, weather.RelHumidity(20.1, 15.5), s.Value(weather.RH, ten), 1e-12)
	assert.Equal(t, 3.1, s.Value(weather.Wind, ten))
	assert.Equal(t, 25.0, s.Value(weather.Cloud, ten))
	assert.Equal(t, 0.0, s.Value(weather.Rain, ten), "labelled 11")
	assert.Equal(t, 3.4, s.Value(weather.Rain, ten+1), "labelled 12")
	assert.True(t, math.IsNaN(s.Value(weather.Cloud, ten+2)), "sky obscured tells no amount")
	assert.True(t, math.IsNaN(s.Value(weather.Temp, ten+3)), "an hour that is not in the record")
	assert.Equal(t, 0.0, s.Value(weather.Rain, ten+3), "a trace")
	assert.True(t, math.IsNaN(s.Value(weather.RH, ten+5)), "dew point above the air: no humidity can be made of it")
}

func TestBadRecordsAreNamedWithTheirLine(t *testing.T) {
	good := strings.Split(text(t, "testdata/invented.dly"), "\n")[0]
	o := weather.Origin{Source: "x", Kind: weather.Nearby}
	isd := func(r io.Reader) error { _, err := ReadISDLite(r, o); return err }
	dly := func(r io.Reader) error { _, err := ReadDly(r); return err }
	by := func(r io.Reader) error { _, err := ReadByStation(r); return err }
	acc := func(r io.Reader) error { _, err := ReadAccess(r); return err }
	for _, tc := range []struct {
		read func(io.Reader) error
		in   string
		want string
	}{
		{dly, good + "\n" + good[:200], "bad-line: line 2: it has 200 characters, want 269"},
		{dly, good[:11] + "20x402" + good[17:], `columns 12-17, "20x402", are not a year and month`},
		{dly, good[:21] + "  1x3" + good[26:], `day 1: "  1x3" is not a number`},
		{dly, good[:16] + "4" + good[17:261] + "  150   ", "a value on day 31 of 2024-04"},
		{dly, good + "\nUSW00999009" + good[11:], `line 2: station "USW00999009" after "USC00999001"`},
		{dly, "", "no-data"},
		{by, "A,20240701,TMAX,301,,,W", "line 1: it has 7 fields, want 8"},
		{by, "A,20240732,TMAX,301,,,W,", `field 2: "2024-07-32" is not a day of the calendar`},
		{by, "A,202407,TMAX,301,,,W,", "form YYYYMMDD"},
		{by, "A,20240701,TMAX,hot,,,W,", `field 4: "hot" is not a number`},
		{by, "A,20240701,SNOW,1,,,W,", "no-data"},
		{acc, "DATE,TMAX\n2024-07-01,3\n", "line 1: no columns STATION and DATE"},
		{acc, "STATION,DATE,TMAX\nA,2024-07-01,warm\n", `line 2: TMAX: "warm" is not a number`},
		{acc, "STATION,DATE,TMAX\nA,01/07/2024,3\n", "line 2:"},
		{acc, "STATION,DATE,TMAX\nA,2024-07-01\n", "line 2:"},
		{acc, "STATION,DATE,TMAX\n", "no-data"},
		{isd, "2024 07 01 10   201", "line 1: it has 19 characters, want 61"},
		{isd, "2024 02 30 10" + strings.Repeat("     0", 8), "are not year, month, day and hour"},
		{isd, "2024 02 20 10" + strings.Repeat("     x", 8), `columns 14-19: "x" is not a number`},
		{isd, "\n", "no-data"},
	} {
		err := tc.read(strings.NewReader(tc.in))
		if assert.Error(t, err, tc.in) {
			assert.Contains(t, err.Error(), tc.want)
		}
	}
}

func TestClient(t *testing.T) {
	var gz bytes.Buffer
	z := gzip.NewWriter(&gz)
	_, _ = z.Write([]byte(text(t, "testdata/invented_isdlite.txt")))
	require.NoError(t, z.Close())
	var asked string
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = r.URL.String()
		switch {
		case r.URL.Path == "/isd/2024/725240-14820-2024.gz":
			_, _ = w.Write(gz.Bytes())
		case r.URL.Path == "/isd/2023/725240-14820-2023.gz":
			_, _ = w.Write(gz.Bytes()[:gz.Len()/2])
		case r.URL.Path == "/dly/USC00999001.dly":
			_, _ = w.Write([]byte(text(t, "testdata/invented.dly")))
		case r.URL.Path == "/access" && r.URL.Query().Get("stations") == "USW00999002":
			w.Header().Set("Content-Type", "text/csv")
			_, _ = w.Write([]byte(text(t, "testdata/invented_access.csv")))
		case r.URL.Path == "/access": // an unknown station or data set: nothing, with 200
		default:
			http.NotFound(w, r)
		}
	}))
	t.Cleanup(srv.Close)
	c, err := New(Config{AccessURL: srv.URL + "/access", DlyURL: srv.URL + "/dly/", ISDLiteURL: srv.URL + "/isd", Source: source.Options{UserAgent: "plotwarden/test"}})
	require.NoError(t, err)
	ctx := context.Background()

	d, err := c.Days(ctx, "USW00999002", civil.New(2024, 7, 1), civil.New(2024, 7, 3))
	require.NoError(t, err)
	assert.Len(t, d.Days, 3)
	for _, want := range []string{"units=metric", "startDate=2024-07-01", "endDate=2024-07-03", "format=csv", "TMAX%2CTMIN%2CPRCP"} {
		assert.Contains(t, asked, want)
	}
	_, err = c.Days(ctx, "USW00999003", civil.New(2024, 7, 1), civil.New(2024, 7, 3))
	assert.Equal(t, source.EmptyBody, source.CauseOf(err))
	d, err = c.Whole(ctx, "USC00999001")
	require.NoError(t, err)
	assert.Len(t, d.Days, 61)
	_, err = c.Whole(ctx, "USC00999009")
	assert.Equal(t, "http-404", source.CauseOf(err))
	s, err := c.Hours(ctx, "725240-14820", 2024)
	require.NoError(t, err)
	assert.Equal(t, 6, s.Len())
	o, _ := s.OriginAt(weather.Temp, 2)
	assert.Equal(t, "noaa-archive 725240-14820", o.Source)
	_, err = c.Hours(ctx, "725240-14820", 2023)
	assert.Equal(t, source.Truncated, source.CauseOf(err))
	for _, bad := range []string{"", "../../etc", "usw00999002"} {
		_, err = c.Whole(ctx, bad)
		assert.Equal(t, source.BadRequest, source.CauseOf(err))
		_, err = c.Hours(ctx, bad, 2024)
		assert.Equal(t, source.BadRequest, source.CauseOf(err))
	}
}

// Whatever comes, a reader gives days in order, each once, or a named error.
func FuzzReaders(f *testing.F) {
	f.Add(text(f, "testdata/invented.dly"))
	f.Add(text(f, "testdata/invented_by_station.csv"))
	f.Add(text(f, "testdata/invented_access.csv"))
	f.Add(text(f, "testdata/invented_isdlite.txt"))
	f.Fuzz(func(t *testing.T, in string) {
		for _, read := range []func(io.Reader) (Daily, error){ReadDly, ReadByStation, ReadAccess} {
			d, err := read(strings.NewReader(in))
			if err != nil {
				continue
			}
			if len(d.Days) == 0 {
				t.Fatal("no day and no error")
			}
			for i, day := range d.Days {
				if day.Date != d.Days[0].Date.AddDays(i) {
					t.Fatalf("day %d is %s", i, day.Date)
				}
				if day.Min > day.Max || day.Rain < 0 || math.IsInf(day.Max, 0) {
					t.Fatalf("%+v", day)
				}
			}
		}
		s, err := ReadISDLite(strings.NewReader(in), weather.Origin{Source: "x", Kind: weather.Nearby})
		if err == nil && s.Len() == 0 {
			t.Fatal("no hour and no error")
		}
	})
}
