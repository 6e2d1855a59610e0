package service

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/service/config"
	"plotwarden/store"
)

// slotZones have a clock change at midnight, one of half an hour, one that skipped a
// whole day in the past, an odd distance from UTC, or none (IANA time-zone database).
var slotZones = []string{
	"America/Havana", "America/Santiago", "Africa/Cairo", "Asia/Beirut", "Australia/Lord_Howe", "Pacific/Apia", "Etc/UTC", "Asia/Kathmandu", "America/New_York",
}

// A tick in UTC every five minutes through a whole year finds each local date due
// once and its slot the same at every tick of the day, at hours that clock changes
// pass over and show twice as well.
func TestAYearOfSlots(t *testing.T) {
	for _, name := range slotZones {
		zone, err := time.LoadLocation(name)
		require.NoError(t, err)
		for _, at := range []config.Clock{{}, {Hour: 2, Minute: 30}, {Hour: 23, Minute: 59}} {
			slots := map[civil.Date]time.Time{}
			begin := civil.New(2026, time.January, 1).Start(zone)
			end := civil.New(2027, time.January, 1).Start(zone).Add(4 * time.Minute) // the last slot has its tick
			wrong := 0
			for now := begin; now.Before(end); now = now.Add(5 * time.Minute) {
				slot, due := slotOf(now, at.Hour, at.Minute, zone)
				if !due || slot.Before(begin) || !slot.Before(end.Add(-4*time.Minute)) {
					continue
				}
				day := civil.Of(slot, zone)
				was, ok := slots[day]
				if !ok {
					slots[day] = slot
					if late := now.Sub(slot); late >= 5*time.Minute {
						wrong++
					}
				} else if !was.Equal(slot) {
					wrong++
				}
			}
			assert.Zero(t, wrong, "%s %v", name, at)
			assert.Len(t, slots, 365, "%s %v: one slot for each local date", name, at)
			distinct := map[time.Time]civil.Date{}
			for day, slot := range slots {
				if other, taken := distinct[slot]; taken {
					t.Errorf("%s %v: %s and %s share a slot", name, at, day, other)
				}
				distinct[slot] = day
				l := slot.In(zone)
				assert.Equal(t, day, civil.Of(slot, zone), "%s %v", name, at)
				behind := time.Duration(l.Hour()-at.Hour)*time.Hour + time.Duration(l.Minute()-at.Minute)*time.Minute
				assert.True(t, behind >= 0 && behind <= time.Hour, "%s %v: %s on %s", name, at, l.Format("15:04"), day)
			}
		}
	}
}

// Apia left out 30 December 2011 (IANA time-zone database, australasia): no slot, and
// none twice, on the days around it.
func TestADayThatNeverWas(t *testing.T) {
	zone, err := time.LoadLocation("Pacific/Apia")
	require.NoError(t, err)
	days := map[string]int{}
	last := time.Time{}
	for now := time.Date(2011, 12, 28, 10, 0, 0, 0, time.UTC); now.Before(time.Date(2012, 1, 2, 10, 0, 0, 0, time.UTC)); now = now.Add(time.Minute) {
		if slot, due := slotOf(now, 6, 0, zone); due && !slot.Equal(last) {
			last = slot
			days[civil.Of(now, zone).String()]++
		}
	}
	assert.Equal(t, map[string]int{"2011-12-28": 1, "2011-12-29": 1, "2011-12-31": 1, "2012-01-01": 1, "2012-01-02": 1}, days)
}

// Rounds an hour apart, and a slot between the last of a day and midnight: it is told
// after midnight, once, and not at noon.
func TestALateSlotIsNotLostAtMidnight(t *testing.T) {
	m, st := mornings(t, config.Clock{Hour: 23, Minute: 45})
	site := &garden.Site{ID: "north", Name: "North", Zone: "Etc/UTC"}
	for now := time.Date(2026, 6, 4, 12, 30, 0, 0, time.UTC); now.Before(time.Date(2026, 6, 7, 12, 0, 0, 0, time.UTC)); now = now.Add(time.Hour) {
		msgs, err := m.Compose(t.Context(), site, now, &store.Round{Site: "north", At: now})
		require.NoError(t, err)
		require.NoError(t, st.SaveRound(t.Context(), store.Round{Site: "north", At: now, Messages: msgs}))
	}
	all, err := st.Deliveries(t.Context(), "north", 100)
	require.NoError(t, err)
	var slots []string
	for _, d := range all {
		slots = append(slots, d.Slot.UTC().Format("2 15:04"))
	}
	assert.ElementsMatch(t, []string{"4 23:45", "5 23:45", "6 23:45"}, slots)
	_, due := slotOf(time.Date(2026, 6, 7, 5, 45, 0, 0, time.UTC), 23, 45, time.UTC)
	assert.False(t, due, "six hours later it is no morning's message any more")
}

// The same through the messenger and the store for a year of one zone: a message a
// local day, whatever the ticks.
func TestAYearOfMornings(t *testing.T) {
	m, st := mornings(t, config.Clock{})
	site := &garden.Site{ID: "north", Name: "North", Zone: "America/Havana"}
	zone := site.Location()
	end := civil.New(2027, time.January, 1).Start(zone)
	for now := civil.New(2026, time.January, 1).Start(zone); now.Before(end); now = now.Add(7*time.Hour + 50*time.Minute) {
		for range 2 { // a second process, or the same once more
			msgs, err := m.Compose(t.Context(), site, now, &store.Round{Site: "north", At: now})
			require.NoError(t, err)
			require.NoError(t, st.SaveRound(t.Context(), store.Round{Site: "north", At: now, Messages: msgs}))
		}
	}
	all, err := st.Deliveries(t.Context(), "north", 1000)
	require.NoError(t, err)
	dates := map[string]int{}
	for _, d := range all {
		dates[d.Slot.In(zone).Format(time.DateOnly)]++
	}
	assert.Len(t, dates, 365)
	assert.Len(t, all, 365)
}
