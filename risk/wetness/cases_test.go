package wetness

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Both tables: see testdata/SOURCE.txt.

func readCases(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func num(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func TestTreeCases(t *testing.T) {
	rows := readCases(t, "tree_cases.csv")
	require.Len(t, rows, 20)
	for _, r := range rows {
		want := map[string]State{"D": Dry, "W": Wet}[r[4]]
		assert.Equal(t, want, treeState(num(t, r[0]), num(t, r[1]), num(t, r[2]), num(t, r[3])), "%v", r)
	}
}

func TestDailyCases(t *testing.T) {
	rows := readCases(t, "daily_cases.csv")
	require.Len(t, rows, 11)
	for _, r := range rows {
		assert.InDelta(t, num(t, r[3]), DailyHours(num(t, r[0]), num(t, r[1]), num(t, r[2]), 0), 0.5e-3, "%v", r)
	}
}

// The rain term of the same source: rain adds (1 - h/24) min(12, mm/5).
func TestDailyRain(t *testing.T) {
	h := DailyHours(60, 95, 10, 0)
	assert.InDelta(t, h+(1-h/24)*2, DailyHours(60, 95, 10, 10), 1e-12)
	assert.InDelta(t, h+(1-h/24)*12, DailyHours(60, 95, 10, 500), 1e-12)
	assert.LessOrEqual(t, DailyHours(99, 100, 10, 500), 24.0)
	assert.InDelta(t, 2, DailyHours(60, 100, -1, 10), 1e-12)
}

// FAO Irrigation and Drainage Paper 56, example 14: 3.2 m/s at 10 m is 2.4 m/s
// at 2 m; a library of the same equation prints 2.39.
func TestWindAt(t *testing.T) {
	assert.InDelta(t, 2.39, WindAt(3.2, 10, 2), 0.005)
	assert.InDelta(t, 4.87, math.Log(67.8*2-5.42), 0.005) // the constant of equation 47
	assert.Equal(t, 1.7, WindAt(1.7, TreeWindHeight, TreeWindHeight))
	assert.InDelta(t, 0.415, WindAt(1, 10, TreeWindHeight), 0.0005)
}
