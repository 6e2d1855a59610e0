package degreeday

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rows are single days from publications and days computed elsewhere by
// closed form and by numerical integration; the last column of each says which.
// Printed to 4 decimals at most, so half a unit of the fourth is allowed.
func TestWorkedExamples(t *testing.T) {
	f, err := os.Open("testdata/worked_examples.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	num := func(s string) float64 {
		if s == "" {
			return math.NaN()
		}
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	published := 0
	for i, row := range rows[1:] {
		method, cutoff, unit, kind := Method(row[0]), Cutoff(row[6]), Unit(row[7]), row[9]
		if kind == "published" {
			published++
		}
		var upper *float64
		if row[5] != "" {
			u := num(row[5])
			upper = &u
		}
		r, err := New(method, cutoff, num(row[4]), upper, unit)
		require.NoError(t, err, "line %d", i+2)
		got, err := r.Day(unit.ToC(num(row[1])), unit.ToC(num(row[2])), unit.ToC(num(row[3])))
		require.NoError(t, err, "line %d", i+2)
		assert.InDelta(t, num(row[8]), unit.DiffFromC(got), 0.5e-4+1e-9, "line %d: %v", i+2, row)
	}
	assert.Equal(t, 17, published)
	assert.Equal(t, 114, len(rows)-1)
}

// The 9-day class problem of the same table: the start total is 100 and the
// final one 319, with nothing rounded between.
func TestClassProblemRunningTotal(t *testing.T) {
	days := [][2]float64{{39, 49}, {37, 70}, {44, 72}, {50, 76}, {52, 80}, {53, 78}, {52, 83}, {54, 87}, {58, 88}}
	r, err := New(Average, "", 38, nil, Fahrenheit)
	require.NoError(t, err)
	dd := make([]float64, len(days))
	for i, d := range days {
		dd[i], err = r.Day(FtoC(d[0]), FtoC(d[1]), math.NaN())
		require.NoError(t, err)
	}
	assert.Equal(t, 0, Running(dd, dd))
	assert.InDelta(t, 319, 100+DiffCtoF(dd[len(dd)-1]), 1e-9)
}
