package weather

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func row(hour int, v Var, x float64) Row {
	r := NewRow(start2026.Add(time.Duration(hour) * time.Hour))
	r.Values[v] = x
	return r
}

func TestAssemblePutsRowsInOrder(t *testing.T) {
	corrected := row(3, Temp, 17)
	corrected.Values[Rain] = 0.4
	off := row(4, Temp, 16)
	off.Time = off.Time.Add(53 * time.Minute)
	lost := NewRow(time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC))
	lost.Values[Temp] = 12
	a := Assemble([]Row{row(2, Temp, 18), row(0, Temp, 20), row(3, Temp, 17.5), corrected, row(2, RH, 80), row(5, Temp, 15), off, lost}, ownStation)
	assert.Equal(t, start2026, a.Series.Start())
	require.Equal(t, 6, a.Series.Len())
	assert.Equal(t, 2, a.Duplicates)
	assert.Equal(t, 2, a.OutOfOrder)
	assert.Equal(t, []float64{20, 18, 17, 15}, []float64{a.Series.Value(Temp, 0), a.Series.Value(Temp, 2), a.Series.Value(Temp, 3), a.Series.Value(Temp, 5)})
	assert.True(t, math.IsNaN(a.Series.Value(Temp, 1)))
	assert.Equal(t, 80.0, a.Series.Value(RH, 2), "a second row fills what the first lacks")
	assert.Equal(t, 0.4, a.Series.Value(Rain, 3))
	require.Len(t, a.Rejects, 3)
	assert.Equal(t, Reject{Time: lost.Time, Var: Temp, Value: 12, Origin: ownStation, Fault: FaultTime, Reason: "its time is more than 50 years from the other rows"}, a.Rejects[0])
	assert.Equal(t, Reject{Time: corrected.Time, Var: Temp, Value: 17.5, Origin: ownStation, Fault: FaultDuplicate, Reason: "a later record of the hour says 17 C"}, a.Rejects[1])
	assert.Equal(t, FaultTime, a.Rejects[2].Fault)
	assert.Equal(t, "its time is not on the hour", a.Rejects[2].Reason)
	assert.Zero(t, Assemble(nil, ownStation).Series.Len())
}

func TestAssembleLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []Row
		for range rapid.IntRange(0, 60).Draw(t, "rows") {
			rows = append(rows, row(rapid.IntRange(0, 30).Draw(t, "hour"), Temp, rapid.Float64Range(0, 3).Draw(t, "temp")))
		}
		a := Assemble(rows, ownStation)
		kept := 0
		for _, x := range a.Series.Column(Temp) {
			if !math.IsNaN(x) {
				kept++
			}
		}
		if same := len(rows) - kept - len(a.Rejects); same < 0 || kept+a.Duplicates != len(rows) {
			t.Fatalf("%d rows: %d hours, %d duplicates, %d rejects", len(rows), kept, a.Duplicates, len(a.Rejects))
		}
		last := map[int64]float64{}
		for _, r := range rows {
			last[r.Time.Unix()] = r.Values[Temp]
		}
		for at, x := range last {
			if got := a.Series.Value(Temp, a.Series.Index(time.Unix(at, 0))); got != x {
				t.Fatalf("hour %d has %v, its last row %v", at, got, x)
			}
		}
	})
}

// The clock changes are those of the IANA time-zone database.
func TestFromLocalClock(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	clock := func(day, hour, minute int, month time.Month) time.Time {
		return time.Date(2026, month, day, hour, minute, 0, 0, time.UTC)
	}
	show := func(ts []time.Time) (out []string) {
		for _, x := range ts {
			out = append(out, x.Format("02T15:04"))
		}
		return out
	}
	// Autumn: 01:00 comes twice.
	fall := []time.Time{clock(1, 0, 0, 11), clock(1, 1, 0, 11), clock(1, 1, 0, 11), clock(1, 2, 0, 11)}
	got, skipped := FromLocalClock(fall, ny)
	assert.Equal(t, []string{"01T04:00", "01T05:00", "01T06:00", "01T07:00"}, show(got))
	assert.Empty(t, skipped)
	// Newest first.
	got, _ = FromLocalClock([]time.Time{fall[3], fall[2], fall[1], fall[0]}, ny)
	assert.Equal(t, []string{"01T07:00", "01T06:00", "01T05:00", "01T04:00"}, show(got))
	// Half-hours, and a file that gives the hour once.
	got, _ = FromLocalClock([]time.Time{clock(1, 1, 0, 11), clock(1, 1, 30, 11), clock(1, 1, 0, 11), clock(1, 1, 30, 11), clock(1, 2, 0, 11)}, ny)
	assert.Equal(t, []string{"01T05:00", "01T05:30", "01T06:00", "01T06:30", "01T07:00"}, show(got))
	got, _ = FromLocalClock([]time.Time{clock(1, 0, 0, 11), clock(1, 1, 0, 11), clock(1, 2, 0, 11)}, ny)
	assert.Equal(t, []string{"01T04:00", "01T05:00", "01T07:00"}, show(got))
	// Spring: 02:30 is never shown.
	got, skipped = FromLocalClock([]time.Time{clock(8, 1, 0, 3), clock(8, 2, 30, 3), clock(8, 3, 0, 3)}, ny)
	assert.Equal(t, []int{1}, skipped)
	assert.True(t, got[1].IsZero())
	assert.Equal(t, "08T06:00", show(got)[0])
	assert.Equal(t, "08T07:00", show(got)[2])
}

func TestFromLocalClockTurnsBack(t *testing.T) {
	zones := []string{"America/New_York", "Europe/Dublin", "Australia/Lord_Howe", "Africa/Casablanca", "America/Havana", "Asia/Kathmandu", "Pacific/Apia"}
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		at := time.Unix(rapid.Int64Range(1262304000, 1900000000).Draw(t, "start")/1800*1800, 0).UTC()
		var want, readings []time.Time
		for range rapid.IntRange(2, 100).Draw(t, "n") {
			l := at.In(loc)
			want = append(want, at)
			readings = append(readings, time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), 0, 0, time.UTC))
			at = at.Add(30 * time.Minute)
		}
		got, skipped := FromLocalClock(readings, loc)
		if len(skipped) > 0 {
			t.Fatalf("skipped %v", skipped)
		}
		first := want[0]
		for i := range want {
			// A file that begins in the second round of a repeated hour cannot be told
			// from one that begins in the first.
			if !got[i].Equal(want[i]) && want[i].Sub(first) >= time.Hour {
				t.Fatalf("%v on the clock is %v, got %v", readings[i], want[i], got[i])
			}
		}
	})
}
