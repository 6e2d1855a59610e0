package service

import (
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/sqlite"
)

// Each site's morning comes once a local day, also on the days whose clocks
// jump over it, show it twice, or have no midnight (IANA time-zone database).
func TestTheMorningComesOnceADay(t *testing.T) {
	for _, c := range []struct {
		zone string
		at   config.Clock
		from string
		days int
	}{
		{"America/Havana", config.Clock{Hour: 0, Minute: 0}, "2026-03-07T05:00:00Z", 3},
		{"America/Havana", config.Clock{Hour: 0, Minute: 30}, "2026-10-31T04:00:00Z", 3},
		{"America/Santiago", config.Clock{Hour: 0, Minute: 0}, "2026-09-05T04:00:00Z", 3},
		{"Africa/Cairo", config.Clock{Hour: 0, Minute: 0}, "2026-04-22T22:00:00Z", 3},
		{"Asia/Beirut", config.Clock{Hour: 0, Minute: 0}, "2026-03-27T22:00:00Z", 3},
		{"Australia/Lord_Howe", config.Clock{Hour: 2, Minute: 15}, "2026-10-02T13:30:00Z", 3},
		{"America/New_York", config.Clock{Hour: 2, Minute: 30}, "2026-03-07T05:00:00Z", 3},
		{"America/New_York", config.Clock{Hour: 1, Minute: 30}, "2026-10-31T04:00:00Z", 3},
		{"Asia/Kolkata", config.Clock{Hour: 6, Minute: 0}, "2026-06-01T18:30:00Z", 3},
	} {
		t.Run(c.zone+" "+c.from[:10], func(t *testing.T) {
			from, err := time.Parse(time.RFC3339, c.from)
			require.NoError(t, err)
			zone, err := time.LoadLocation(c.zone)
			require.NoError(t, err)
			m, st := mornings(t, c.at)
			site := &garden.Site{ID: "north", Name: "North", Zone: c.zone}
			// Local days have 23 to 25 hours: tick until the last has ended.
			end := from.In(zone).AddDate(0, 0, c.days)
			for now := from; now.Before(end); now = now.Add(30 * time.Minute) {
				msgs, err := m.Compose(t.Context(), site, now, &store.Round{Site: "north", At: now})
				require.NoError(t, err)
				require.NoError(t, st.SaveRound(t.Context(), store.Round{Site: "north", At: now, Messages: msgs}))
			}
			all, err := st.Deliveries(t.Context(), "north", 100)
			require.NoError(t, err)
			dates := map[string]int{}
			for _, d := range all {
				dates[d.Slot.In(zone).Format(time.DateOnly)]++
			}
			assert.Len(t, dates, c.days, "%v", dates)
			for d, n := range dates {
				assert.Equal(t, 1, n, d)
			}
		})
	}
}

func mornings(t *testing.T, at config.Clock) (*messenger, *sqlite.Store) {
	t.Helper()
	st, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, st.Close()) })
	cat, err := catalog.Load()
	require.NoError(t, err)
	cfg := config.Defaults()
	cfg.Mail = config.Mail{Host: "127.0.0.1", Port: 1, TLS: config.NoTLS, From: "beds@plot.example"}
	cfg.Digest.At = at
	cfg.People = []garden.Person{{ID: "ada", Name: "Ada", Email: "ada@plot.example", Sites: []string{"north"}}}
	h := &Host{o: HostOptions{Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler)}, store: st}
	m, err := newMessenger(t.Context(), h, &cfg, NewMetrics("test"), nil)
	require.NoError(t, err)
	return m, st
}
