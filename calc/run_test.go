package calc

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/risk/degreeday"
	"plotwarden/risk/wetness"
)

func TestDegreeDaysOfTheClassProblem(t *testing.T) {
	f, err := os.Open("testdata/class_problem.csv")
	require.NoError(t, err)
	defer f.Close()
	d, err := ReadDays("class_problem.csv", f, degreeday.Fahrenheit)
	require.NoError(t, err)
	rule, err := degreeday.New(degreeday.Average, "", 38, nil, degreeday.Fahrenheit)
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := d.DegreeDays(&out, rule, degreeday.Fahrenheit)
	require.NoError(t, err)
	assert.Empty(t, notes)
	// The published answer: 6, 15.5, 20, 25, 28, 27.5, 29.5, 32.5, 35; 219 in all.
	assert.Equal(t, `date,dd,total
2026-05-01,6,6
2026-05-02,15.5,21.5
2026-05-03,20,41.5
2026-05-04,25,66.5
2026-05-05,28,94.5
2026-05-06,27.5,122
2026-05-07,29.5,151.5
2026-05-08,32.5,184
2026-05-09,35,219
`, out.String())
}

func TestUnknownDaysAndProvisionalOnesAreSaid(t *testing.T) {
	d, err := ReadDays("f", strings.NewReader("date,tmin,tmax\n2026-05-01,50,70\n2026-05-02,,70\n2026-05-04,50,70\n2026-05-05,50,70\n"), degreeday.Fahrenheit)
	require.NoError(t, err)
	rule, err := degreeday.New(degreeday.DoubleTriangle, degreeday.None, 50, nil, degreeday.Fahrenheit)
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := d.DegreeDays(&out, rule, degreeday.Fahrenheit)
	require.NoError(t, err)
	assert.Equal(t, "date,dd,total\n2026-05-01,10,10\n2026-05-02,,10\n2026-05-03,,10\n2026-05-04,10,20\n2026-05-05,10,30\n", out.String())
	assert.Equal(t, []string{
		"1 day after 2026-05-02 has no row and is unknown",
		"the total is incomplete from 2026-05-02 on: 2 days are unknown and count as nothing",
		"the values of 2 days, the last 2026-05-05, are provisional: method double-triangle needs the minimum of the day after them",
	}, notes)
}

// A day of constant hours has the same degree-days by hours and by extremes; a
// day with too few hours is unknown.
func TestHourlyDegreeDays(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,temp_c\n")
	for hour := range 24 + 24 + 19 {
		fmt.Fprintf(&b, "%s,%d\n", time.Date(2026, 6, 1, hour, 0, 0, 0, time.UTC).Format("2006-01-02T15:04Z"), 10+10*(hour/24))
	}
	h, err := ReadHours("f", strings.NewReader(b.String()), time.UTC, nil)
	require.NoError(t, err)
	rule, err := degreeday.New(degreeday.Hourly, "", 8, nil, degreeday.Celsius)
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := h.DegreeDays(&out, rule, degreeday.Celsius, time.UTC)
	require.NoError(t, err)
	assert.Equal(t, "date,dd,total\n2026-06-01,2,2\n2026-06-02,12,14\n2026-06-03,,14\n", out.String())
	assert.Equal(t, []string{"the total is incomplete from 2026-06-03 on: 1 day is unknown and counts as nothing"}, notes)
}

func TestWetnessOfOneNight(t *testing.T) {
	f, err := os.Open("testdata/night.csv")
	require.NoError(t, err)
	defer f.Close()
	h, err := ReadHours("night.csv", f, newYork(t), WetnessColumns())
	require.NoError(t, err)
	var out bytes.Buffer
	notes, err := h.Wetness(&out, wetness.Rule{Method: wetness.Humidity})
	require.NoError(t, err)
	// Wet from 90 %; wet in rain; unknown without humidity and dew point, without
	// a row, and where it would be dry if no rain fell but the rain is missing.
	assert.Equal(t, `time,wet
2026-10-31T21:00,0
2026-10-31T22:00,1
2026-10-31T23:00,0
2026-11-01T00:00,1
2026-11-01T01:00,1
2026-11-01T01:00,
2026-11-01T02:00,
2026-11-01T03:00,1
2026-11-01T04:00,
2026-11-01T05:00,
2026-11-01T06:00,1
2026-11-01T07:00,0
`, out.String())
	assert.Equal(t, []string{"2 hours after 2026-11-01T03:00 have no row and are unknown", "of 12 hours 4 are unknown"}, notes)
	_, err = h.Wetness(&out, wetness.Rule{Method: wetness.DailyExtremes})
	assert.ErrorContains(t, err, "not which hours they are")
}

func TestWriteErrorIsReported(t *testing.T) {
	d, err := ReadDays("f", strings.NewReader("date,tmin,tmax\n2026-05-01,50,70\n"), degreeday.Fahrenheit)
	require.NoError(t, err)
	rule, err := degreeday.New(degreeday.Average, "", 50, nil, degreeday.Fahrenheit)
	require.NoError(t, err)
	_, err = d.DegreeDays(full{}, rule, degreeday.Fahrenheit)
	assert.ErrorIs(t, err, ErrWrite)
	assert.ErrorIs(t, err, errFull)
}

var errFull = errors.New("no space")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestFormat(t *testing.T) {
	for v, want := range map[float64]string{0: "0", math.Copysign(1e-9, -1): "0", 12.18: "12.18", 1.0 / 3: "0.333333", 219.00000000000003: "219", -1.5: "-1.5"} {
		assert.Equal(t, want, format(v))
	}
	assert.Equal(t, "", format(math.NaN()))
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		back, ok := parse(format(v))
		if !ok || math.Abs(back-v) > 5.1e-7 {
			t.Fatalf("%v became %q", v, format(v))
		}
	})
}
