package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/calc"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/degreeday"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
)

const replayConfig = `
sites:
  - id: ground
    name: The ground
    latitude: 40.64
    longitude: -73.78
    elevation: 4 m
    zone: America/New_York
    plots:
      - id: bed
        name: Bed
        plantings:
          - {id: cabbages, crop: cabbage, planted_out: 2015-04-20}
store: STORE
weather:
  sources: [{kind: open-meteo}]
  contact: someone@example.org
`

func TestReplayCommand(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "store.db")
	config := filepath.Join(dir, "plotwarden.yaml")
	require.NoError(t, os.WriteFile(config, []byte(strings.Replace(replayConfig, "STORE", db, 1)), 0o600))

	r := plotwarden(t, "", "replay", "--config", config, "--season", "2014")
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "the store of the configuration")

	// Four years by the hour of what the embedded record has by the day, and a log.
	f, err := os.Open(newYorkDays(t))
	require.NoError(t, err)
	defer f.Close()
	days, err := calc.ReadDays("days", f, degreeday.Celsius)
	require.NoError(t, err)
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	ctx := context.Background()
	st, err := sqlite.Open(ctx, db)
	require.NoError(t, err)
	require.NoError(t, st.SaveWeather(ctx, "ground", weather.HoursFromDays(days.List, 40.64, -73.78, zone, weather.Origin{Source: "record", Kind: weather.Analysis})))
	for i, l := range []garden.Scouting{{Finding: garden.None, Date: civil.New(2014, 5, 3)}, {Finding: garden.Found, Date: civil.New(2014, 5, 10)}} {
		l.ID, l.Site, l.Planting, l.Threat = fmt.Sprint(i), "ground", "cabbages", "imported-cabbageworm"
		require.NoError(t, st.AddScouting(ctx, l))
	}
	require.NoError(t, st.Close())

	svg := filepath.Join(dir, "drawings")
	r = plotwarden(t, "", "replay", "--config", config, "--season", "2014", "--svg", svg)
	require.Equal(t, 0, r.code, r.err)
	rows, err := csv.NewReader(strings.NewReader(r.out)).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, calc.ReplayHeader(), rows[0])
	require.GreaterOrEqual(t, len(rows), 2)
	var worm []string
	for _, row := range rows[1:] {
		assert.Equal(t, "2014", row[0])
		assert.Equal(t, "ground", row[1])
		if row[2] == "imported-cabbageworm" {
			worm = row
		}
	}
	require.NotNil(t, worm)
	assert.Equal(t, "log", worm[5])
	assert.Equal(t, "2014-05-07", worm[6], "the middle of the bracket")
	assert.Equal(t, []string{"1", "0", "0"}, worm[7:10])
	for _, e := range worm[11:14] {
		assert.NotEmpty(t, e)
	}
	assert.Equal(t, "18", worm[20], "weekly from 20 April for 120 days")
	assert.Contains(t, r.err, "cabbage-maggot/collier-finch-1985: not replayed, the season's weather has no, or too little, soil temperature")
	assert.Contains(t, r.err, "ground: other years of the record, earlier and later ones")
	drawings, err := filepath.Glob(filepath.Join(svg, "ground-2014-*.svg"))
	require.NoError(t, err)
	assert.NotEmpty(t, drawings)
	again := plotwarden(t, "", "replay", "--config", config, "--season", "2014")
	assert.Equal(t, r.out, again.out, "the same season gives the same result")

	r = plotwarden(t, "", "replay", "--config", config, "--season", "1999")
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "site ground has weather from 2012-01-01 to 2015-12-31; the season of 1999")
	r = plotwarden(t, "", "replay", "--config", config, "--season", "2014", "--site", "nowhere")
	assert.Equal(t, 2, r.code)
}
