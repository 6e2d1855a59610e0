package draw

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/say"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".svg")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got+"\n"), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "run go test -update after a change that is meant")
	assert.True(t, string(want) == got+"\n", "%s differs from what is drawn; compare after go test -update", file)
}

func day(m time.Month, d int) civil.Date { return civil.New(2026, m, d) }

func newYork(t *testing.T) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	return loc
}

func axis(t *testing.T, days int) Axis {
	return Axis{From: day(6, 10), Days: days, Loc: newYork(t)}
}

func TestLanes(t *testing.T) {
	for name, l := range map[string]Lane{
		"within":    {Readiness: plan.Act, P10: day(6, 12), P50: day(6, 15), P90: day(6, 19), WorkFrom: day(6, 10), WorkBy: day(6, 12)},
		"open-end":  {Readiness: plan.Approaching, P10: day(6, 18), P50: day(6, 29), P90: 0},
		"over-edge": {Readiness: plan.Approaching, P10: day(6, 20), P50: day(6, 23), P90: day(7, 2)},
		"beyond":    {Readiness: plan.Approaching, P10: day(7, 1), P50: day(7, 5), P90: day(7, 9)},
		"reached":   {Readiness: plan.Act, Reached: day(6, 3), P10: day(6, 3), P50: day(6, 3), P90: day(6, 3)},
		"infection": {Readiness: plan.Act, P10: day(6, 12), P50: day(6, 12), P90: day(6, 12), Infections: []civil.Date{day(6, 9), day(6, 12), day(6, 13), day(6, 30)}},
		"blind":     {Readiness: plan.Blind},
		"quiet":     {Readiness: plan.Quiet},
	} {
		l.ID, l.Title, l.Desc = "l1", "Late blight <on> Bed 3", `most likely "12 Jun"`
		golden(t, "lane-"+name, string(DrawLane(axis(t, 14), l)))
	}
}

func TestAxisLabels(t *testing.T) {
	golden(t, "axis-14", string(AxisLabels(axis(t, 14), say.Style{})))
	golden(t, "axis-28-us", string(AxisLabels(axis(t, 28), say.Style{US: true})))
}

func TestHours(t *testing.T) {
	a := axis(t, 14)
	at := func(d civil.Date, h int) time.Time { return d.Slot(h, 0, a.Loc) }
	runs := []plan.Hours{
		{From: at(day(6, 10), 6), To: at(day(6, 10), 8)}, // wet
		{From: at(day(6, 10), 8), To: at(day(6, 10), 12), Good: true},
		{From: at(day(6, 10), 12), To: at(day(6, 11), 9)},
		{From: at(day(6, 11), 9), To: at(day(6, 12), 1), Good: true}, // past midnight
		{From: at(day(6, 12), 1), To: at(day(6, 12), 12), Unknown: true},
	}
	golden(t, "hours", string(DrawHours(a, Hours{ID: "h", Title: "Dry working hours", Desc: "…", Runs: runs, Now: at(day(6, 10), 9)})))
	golden(t, "hours-none", string(DrawHours(a, Hours{ID: "h", Title: "Dry working hours", Now: at(day(6, 10), 9)})))
	golden(t, "hour-labels", string(HourLabels(func(h int) string { return fmt.Sprintf("%d:00", h) })))
}

func TestShapes(t *testing.T) {
	seen := map[string]plan.Readiness{}
	for r := plan.Present; r <= plan.Quiet; r++ {
		require.NotEmpty(t, shapes[r], r)
		other, twice := seen[shapes[r]]
		assert.False(t, twice, "%s has the shape of %s", r, other)
		seen[shapes[r]] = r
		golden(t, "shape-"+r.String(), string(Shape(r, 22)))
	}
}

// points makes a track: 8 a day, a gap of two unknown days, the last five days
// forecast.
func points(n int) []risk.Point {
	var out []risk.Point
	total, unknown, spread := 0.0, 0, 0.0
	for i := range n {
		v := 8.0
		if i == 20 || i == 21 {
			v, unknown, spread = 0, unknown+24, spread+16
		}
		total += v
		out = append(out, risk.Point{Date: day(4, 20).AddDays(i), Value: v, Total: total, Low: total, High: total + spread, UnknownHours: unknown, Forecast: i >= n-5})
	}
	return out
}

func TestCharts(t *testing.T) {
	ch := Chart{ID: "c", Title: "Total against its threshold", Desc: "…", Points: points(56), Today: day(6, 10),
		Levels: []Level{{"adults", 300}, {"eggs", 310}, {"larvae", 500}, {"second adults", 2000}},
		Events: []risk.Event{{Kind: risk.Infection, Date: day(5, 30)}, {Kind: risk.Crossing, Date: day(5, 27)}}}
	golden(t, "chart", string(DrawChart(ch)))
	ch.Points = points(200)
	golden(t, "chart-long", string(DrawChart(ch)))
	ch.Points, ch.Levels = points(20), nil
	ch.Today = day(5, 5)
	golden(t, "chart-days", string(DrawChart(ch)))
	ch.Points = nil
	assert.Empty(t, DrawChart(ch))
}

func TestBarKeepsInside(t *testing.T) {
	assert.Contains(t, Bar(0.583), `width="58.3%"`)
	assert.Contains(t, Bar(1.4), `class="part" width="100%"`)
	assert.Contains(t, Bar(-1), `class="part" width="0%"`)
}
