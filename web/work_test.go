package web

import (
	"encoding/csv"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/web/webtest"
)

func workDone() []garden.Treatment {
	return []garden.Treatment{{
		ID: "t1", Site: "mill-lane", Planting: "tomato-1", Threats: []string{"late-blight"}, At: webtest.Now().Add(-5 * time.Hour),
		Material: "copper from the shed", Ingredient: "copper hydroxide", Note: "=1+1", IntervalDays: 7, PreHarvestDays: 3, ReEntryHours: 24,
	}}
}

func TestWorkShowsHoursClocksAndRecord(t *testing.T) {
	d, data := deps(false)
	data.Done = workDone()
	h := New(d)
	body := get(t, h, "/site/mill-lane/work").Body.String()
	assert.Contains(t, body, "Hours for spraying")
	assert.Contains(t, body, "The label is the law")
	assert.Contains(t, body, "copper from the shed")
	assert.Contains(t, body, "copper hydroxide")
	// The user's own label value, three days, and nothing of ours.
	assert.Contains(t, body, webtest.Now().Add(-5*time.Hour).AddDate(0, 0, 3).Format("2 Jan"))
	assert.Equal(t, http.StatusNotFound, get(t, h, "/site/nowhere/work").Code)
}

func TestWorkWithoutWeatherCallsNoHourGood(t *testing.T) {
	d, data := deps(false)
	data.Weather, data.Done = nil, nil
	d.Garden().Treatments = nil
	body := get(t, New(d), "/site/mill-lane/work").Body.String()
	assert.Contains(t, body, "no hour can be called good")
	assert.NotContains(t, body, "good:")
	assert.Contains(t, body, "No treatment is on record.")
}

func TestRecordAsCSVIsSafeForSpreadsheets(t *testing.T) {
	d, data := deps(false)
	data.Done = workDone()
	r := get(t, New(d), "/site/mill-lane/record.csv")
	assert.Equal(t, "text/csv; charset=utf-8", r.Header().Get("Content-Type"))
	rows, err := csv.NewReader(strings.NewReader(r.Body.String())).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 2)
	assert.Contains(t, rows[1], "copper hydroxide")
	for _, cell := range rows[1] {
		assert.False(t, strings.HasPrefix(cell, "="), "a cell that a spreadsheet would run: %q", cell)
	}
}

func TestSeasonReportsAndItsTables(t *testing.T) {
	d, data := deps(false)
	data.Done = workDone()
	day := webtest.Today
	data.Seen = []garden.Scouting{
		{ID: "a", Site: "mill-lane", Planting: "tomato-1", Threat: "late-blight", Date: day - 10, Finding: garden.None, Plants: 10},
		{ID: "b", Site: "mill-lane", Planting: "tomato-1", Threat: "late-blight", Date: day - 3, Finding: garden.Found, Plants: 10},
	}
	h := New(d)
	body := get(t, h, "/site/mill-lane/season").Body.String()
	assert.Contains(t, body, "The season so far")
	assert.Contains(t, body, "Sprays: 1;")
	rows, err := csv.NewReader(strings.NewReader(get(t, h, "/site/mill-lane/season/arrivals.csv").Body.String())).ReadAll()
	require.NoError(t, err)
	found := false
	for _, r := range rows[1:] {
		for _, c := range r {
			found = found || c == (day-3).String()
		}
	}
	assert.True(t, found, "the find stands in the table: %v", rows)
	for _, table := range []string{"sprays.csv", "uses.csv"} {
		r := get(t, h, "/site/mill-lane/season/"+table)
		assert.Equal(t, http.StatusOK, r.Code)
		assert.Contains(t, r.Header().Get("Content-Disposition"), "attachment")
	}
	assert.Equal(t, http.StatusNotFound, get(t, h, "/site/mill-lane/season/nothing.csv").Code)
}
