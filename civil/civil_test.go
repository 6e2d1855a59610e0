package civil

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseRejectsWithReason(t *testing.T) {
	for in, want := range map[string]string{
		"2026-02-30": "not a day of the calendar",
		"2026-13-01": "not a day of the calendar",
		"26-1-1":     "not a date of the form",
		"today":      "not a date of the form",
	} {
		_, err := Parse(in)
		assert.ErrorContains(t, err, want, in)
	}
}

func TestDateAgreesWithPackageTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(-5000, 200_000).Draw(t, "days")
		want := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n)
		d := New(1900, 1, 1).AddDays(n)
		y, m, day := d.YMD()
		if y != want.Year() || m != want.Month() || day != want.Day() || d.Weekday() != want.Weekday() || d.YearDay() != want.YearDay() {
			t.Fatalf("%s, want %s", d, want)
		}
		back, err := Parse(d.String())
		if err != nil || back != d {
			t.Fatalf("round trip of %s: %v %v", d, back, err)
		}
	})
	assert.True(t, New(1, 1, 1).IsZero())
}

// The clock changes are those of the IANA time-zone database.
func TestSlotOnClockChangeDays(t *testing.T) {
	for _, c := range []struct{ zone, date, clock, want string }{
		{"America/New_York", "2026-03-08", "02:30", "2026-03-08T07:00:00Z"}, // skipped: first instant after
		{"America/New_York", "2026-11-01", "01:30", "2026-11-01T05:30:00Z"}, // twice: the first
		{"America/New_York", "2026-11-01", "06:00", "2026-11-01T11:00:00Z"},
		{"America/Santiago", "2026-09-06", "00:00", "2026-09-06T04:00:00Z"}, // no midnight
		{"Africa/Cairo", "2026-04-24", "00:00", "2026-04-23T22:00:00Z"},
		{"America/Havana", "2026-03-08", "00:00", "2026-03-08T05:00:00Z"},
		{"America/Havana", "2026-11-01", "00:00", "2026-11-01T04:00:00Z"},
		{"Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:30:00Z"}, // half-hour change
		{"Pacific/Apia", "2011-12-30", "06:00", "2011-12-30T10:00:00Z"},        // a day that never was
		{"Asia/Kathmandu", "2026-07-01", "05:00", "2026-06-30T23:15:00Z"},
	} {
		loc, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		d, err := Parse(c.date)
		require.NoError(t, err)
		clock, err := time.Parse("15:04", c.clock)
		require.NoError(t, err)
		assert.Equal(t, c.want, d.Slot(clock.Hour(), clock.Minute(), loc).Format(time.RFC3339), "%s %s %s", c.zone, c.date, c.clock)
	}
}

func TestSlotShowsItsTimeOrFollowsAJump(t *testing.T) {
	zones := []string{"America/New_York", "America/Santiago", "Africa/Cairo", "America/Havana", "Asia/Beirut", "Australia/Lord_Howe", "Europe/Dublin", "Pacific/Kiritimati", "UTC"}
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d := New(2024, 1, 1).AddDays(rapid.IntRange(0, 2000).Draw(t, "day"))
		h := rapid.IntRange(0, 23).Draw(t, "hour")
		at := d.Slot(h, 0, loc)
		l := at.In(loc)
		if l.Hour() == h && l.Minute() == 0 && Of(at, loc) == d {
			return
		}
		before := at.Add(-time.Second).In(loc)
		if _, off := l.Zone(); func() bool { _, o := before.Zone(); return o >= off }() {
			t.Fatalf("%s %02d:00 in %s gave %s, which follows no jump", d, h, loc, l)
		}
	})
}

func TestMonthDay(t *testing.T) {
	m, err := ParseMonthDay("02-29")
	require.NoError(t, err)
	assert.Equal(t, "2027-03-01", m.In(2027).String())
	j, err := ParseMonthDay("07-01")
	require.NoError(t, err)
	assert.Equal(t, "2025-07-01", j.OnOrBefore(New(2026, 3, 1)).String())
	assert.Equal(t, "2026-07-01", j.OnOrBefore(New(2026, 7, 1)).String())
	_, err = ParseMonthDay("2-30")
	assert.Error(t, err)
}
