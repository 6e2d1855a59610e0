package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A logger's file in American units goes into the station's record by the map that
// the example shows; bad cells are named with their line, and what cannot be is kept
// aside.
func TestReadings(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	write("shed.token", "0123456789abcdef\n")
	cfg := write("plotwarden.yaml", `
store: plot.db
sites: [{id: north, latitude: 40.6, longitude: -73.8, zone: America/New_York}]
weather: {sources: [{kind: station, name: shed, sites: [north], token_file: shed.token}]}
`)
	csv := write("logger.csv", "Date,Air,Humidity,Rain today,Wind\n2026-06-01 10:00,68,50,0,5\n2026-06-01 11:00,70.5,warm,0.10,5\n2026-06-01 12:00,71,52,0.10,1048.36\n")
	columns, err := filepath.Abs("../../deploy/columns.example.yaml")
	require.NoError(t, err)
	got := plotwarden(t, "", "readings", "--config", cfg, "--station", "shed", "--columns", columns, csv)
	require.Equal(t, 0, got.code, got.err)
	assert.Equal(t, "Kept for north: hours 3, from 2026-06-01T14:00Z to 2026-06-01T17:00Z; values set aside: 1\n", got.out)
	assert.Contains(t, got.err, `line 3, Humidity: "warm": not a number`)
	assert.Contains(t, got.err, "wind 468.66 m/s: outside 0 to 150 m/s")
	again := plotwarden(t, "", "readings", "--config", cfg, "--station", "shed", "--columns", columns, csv)
	assert.Equal(t, got.out, again.out)

	for name, args := range map[string][]string{
		`no station is named "shad"; known are: shed`: {"--station", "shad", "--columns", columns, csv},
		"column \"Date\" is not known":                {"--station", "shed", "--columns", columns, write("other.csv", "x\n1\n")},
		`zone: "" is not an IANA time zone`:           {"--station", "shed", "--columns", write("m.yaml", "time: Date\ntime_format: YYYY-MM-DD HH:mm\ncolumns: [{column: Air, is: temperature, unit: F}]\n"), csv},
		"key \"colums\" is not known":                 {"--station", "shed", "--columns", write("n.yaml", "colums: []\n"), csv},
	} {
		got := plotwarden(t, "", append([]string{"readings", "--config", cfg}, args...)...)
		assert.Equal(t, 2, got.code, name)
		assert.Contains(t, got.err, name)
	}
}
