package report

import (
	"encoding/csv"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
)

var update = flag.Bool("update", false, "write golden files")

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func d(month time.Month, dayOf int) civil.Date { return civil.New(2026, month, dayOf) }

// assess makes a day's assessment: the median comes so many days after it.
func assess(planting, threat string, on civil.Date, r plan.Readiness, median civil.Date) plan.Assessment {
	a := plan.Assessment{Site: "north", Planting: planting, Threat: threat, Round: on.Slot(6, 0, time.UTC), Readiness: r}
	if !median.IsZero() {
		a.Outlook = &risk.Outlook{Issued: on, P10: median - 4, P50: median, P90: median + 6}
	}
	return a
}

func season() Input {
	percent, plants := func(x float64) *float64 { return &x }, 10
	in := Input{
		First: d(4, 1), Last: d(9, 30),
		Site: &garden.Site{ID: "north", Name: "North Ground", Zone: "UTC", Plots: []garden.Plot{
			{ID: "a", Name: "Bed 1", Plantings: []garden.Planting{
				{ID: "tom", Crop: "tomato", Cultivar: "red", PlantedOut: d(5, 12), Removed: d(9, 10)},
				{ID: "old", Crop: "kale", PlantedOut: civil.New(2025, 4, 1), Removed: civil.New(2025, 9, 1)},
			}},
			{ID: "b", Name: "Bed 2", Plantings: []garden.Planting{{ID: "kale", Crop: "kale", PlantedOut: d(4, 20)}, {ID: "squash", Crop: "zucchini", Sown: d(5, 20)}}},
		}},
		Name: func(id string) string {
			return map[string]string{"blight": "early blight", "worm": "cabbageworm", "borer": "vine borer", "mildew": "powdery mildew"}[id]
		},
		Seen: []garden.Scouting{
			{Planting: "tom", Threat: "blight", Date: d(6, 20), Finding: garden.None, Plants: plants},
			{Planting: "tom", Threat: "blight", Date: d(6, 27), Finding: garden.None, Plants: plants},
			{Planting: "tom", Threat: "blight", Date: d(7, 4), Finding: garden.Found, Percent: percent(5)},
			{Planting: "tom", Threat: "blight", Date: d(7, 20), Finding: garden.Found, Percent: percent(2)},
			{Planting: "kale", Threat: "worm", Date: d(5, 18), Finding: garden.Found, Percent: percent(20)},
			{Planting: "squash", Threat: "mildew", Date: d(8, 1), Finding: garden.None, Plants: plants},
			{Planting: "squash", Threat: "mildew", Date: d(8, 9), Finding: garden.None, Plants: plants},
		},
		Records: []garden.Record{
			{ID: "1", Planting: "tom", Threats: []string{"blight"}, Start: d(6, 15).Slot(19, 0, time.UTC), Product: "copper", Reason: garden.ByModel},
			{ID: "2", Planting: "tom", Threats: []string{"blight"}, Start: d(7, 5).Slot(19, 0, time.UTC), Product: "copper", Reason: garden.ByScouting},
			{ID: "3", Planting: "tom", Threats: []string{"blight"}, Start: d(7, 6).Slot(19, 0, time.UTC), Product: "copper"},
			{ID: "3b", Replaces: "3", Why: "entered twice", Withdrawn: true},
			{ID: "4", Planting: "tom", Start: d(5, 20).Slot(19, 0, time.UTC), Product: "copper", Test: true},
			{ID: "5", Planting: "kale", Start: d(5, 19).Slot(19, 0, time.UTC), Product: "Bt", Threats: []string{"worm"}, Result: garden.Better, Reason: garden.ByScouting},
			{ID: "6", Planting: "kale", Start: d(5, 21).Slot(19, 0, time.UTC), Method: "picked by hand", Threats: []string{"worm"}},
		},
	}
	for on := d(5, 1); on <= d(8, 31); on++ {
		r := plan.Quiet
		switch {
		case on >= d(6, 14):
			r = plan.Act
		case on >= d(6, 1):
			r = plan.Approaching
		}
		if on == d(6, 10) || on == d(6, 11) {
			r = plan.Blind
		}
		in.Assessments = append(in.Assessments, assess("tom", "blight", on, r, d(6, 25)))
		in.Assessments = append(in.Assessments, assess("kale", "worm", on, plan.Quiet, d(6, 20)))
		if on >= d(6, 1) && on <= d(6, 20) {
			in.Assessments = append(in.Assessments, assess("squash", "borer", on, plan.Act, d(6, 20)))
		}
		if on >= d(7, 20) && on <= d(8, 5) {
			in.Assessments = append(in.Assessments, assess("squash", "mildew", on, plan.Approaching, d(8, 10)))
		}
	}
	return in
}

func threatOf(r Report, planting, id string) *Threat {
	for i := range r.Plots {
		for j := range r.Plots[i].Plantings {
			p := &r.Plots[i].Plantings[j]
			for k := range p.Threats {
				if p.ID == planting && p.Threats[k].ID == id {
					return &p.Threats[k]
				}
			}
		}
	}
	return nil
}

func TestArrivalsAgainstForecasts(t *testing.T) {
	r := Make(season())
	b := threatOf(r, "tom", "blight")
	assert.Equal(t, FoundWarned, b.Outcome)
	assert.Equal(t, []civil.Date{d(6, 27), d(7, 4)}, []civil.Date{b.NotBefore, b.Found}, "the arrival is an interval")
	assert.Equal(t, d(6, 15), b.Treated)
	assert.Equal(t, d(6, 1), b.Warned, "the first day of the warning, blind days in it bridged")
	assert.Equal(t, 33, b.WarnDays)
	assert.Equal(t, 2, b.BlindDays)
	require.Len(t, b.Forecasts, 4)
	assert.Equal(t, -3, *b.Forecasts[0].Off, "25 June against 28 June at the earliest")
	assert.True(t, b.Forecasts[0].Within, "21 June to 1 July")

	in := season()
	in.Seen[2].Date, in.Seen[1].Date, in.Seen[0].Date = d(9, 8), d(9, 5), d(9, 4)
	for i := range in.Assessments {
		if a := &in.Assessments[i]; a.Planting == "tom" && a.Round.After(d(8, 1).Start(time.UTC)) {
			a.Readiness = plan.Quiet
		}
	}
	in.Seen[3].Date = d(9, 9)
	assert.Equal(t, FoundUnwarned, threatOf(Make(in), "tom", "blight").Outcome, "a warning that ended five weeks before is none")

	w := threatOf(r, "kale", "worm")
	assert.Equal(t, FoundUnwarned, w.Outcome)
	assert.True(t, w.NotBefore.IsZero())
	assert.Equal(t, 33, *w.Forecasts[len(w.Forecasts)-1].Off, "the find was on 18 May")
	assert.Equal(t, WarnedNobodyLooked, threatOf(r, "squash", "borer").Outcome)
	assert.Equal(t, WarnedNotFound, threatOf(r, "squash", "mildew").Outcome)
}

func TestSpraysAgainstACalendar(t *testing.T) {
	r := Make(season())
	require.Len(t, r.Plots, 2)
	require.Len(t, r.Plots[0].Plantings, 1, "last year's kale is not of this season")
	tom := r.Plots[0].Plantings[0].Totals
	assert.Equal(t, 2, tom.Sprays, "withdrawn, test and hand work are no sprays")
	// 12 May to 9 September is 120 days after the first: 17 more weeks.
	assert.Equal(t, 18, tom.Calendar)
	assert.Equal(t, []int{1, 1, 0, 0}, []int{tom.ByModel, tom.ByScouting, tom.ByCalendar, tom.NoReason})
	assert.Equal(t, 3, r.Ground.Sprays)
	assert.Equal(t, r.Plots[0].Totals.Calendar+r.Plots[1].Totals.Calendar, r.Ground.Calendar)
	in := season()
	in.Days = 14
	assert.Equal(t, 9, Make(in).Plots[0].Totals.Calendar)
}

func TestHowItLookedAfterwards(t *testing.T) {
	r := Make(season())
	uses := r.Plots[0].Plantings[0].Uses
	require.Len(t, uses, 2)
	assert.Equal(t, garden.Result(""), uses[0].Result, "5 % after, nothing counted before")
	assert.Equal(t, garden.Better, uses[1].Result, "5 % before, 2 % after")
	assert.Equal(t, 5.0, uses[1].Before.Share)
	assert.Equal(t, []Material{{Name: "copper", Uses: 2, Better: 1, NotLooked: 1}, {Name: "Bt", Uses: 1, Better: 1}}, r.Material)
}

func TestGoldenReport(t *testing.T) {
	r := Make(season())
	golden(t, "report.txt", strings.Join(r.Lines(), "\n")+"\n")
	for name, write := range map[string]func() ([]byte, error){"arrivals.csv": r.ArrivalsCSV, "sprays.csv": r.SpraysCSV, "uses.csv": r.UsesCSV} {
		b, err := write()
		require.NoError(t, err)
		rows, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
		require.NoError(t, err, "every line has as many cells as the heading")
		assert.Greater(t, len(rows), 2, name)
		golden(t, name, string(b))
	}
}

func TestNothingLoggedIsAReportToo(t *testing.T) {
	in := Input{Site: season().Site, First: d(4, 1), Last: d(9, 30)}
	r := Make(in)
	assert.Zero(t, r.Ground.Sprays)
	assert.NotZero(t, r.Ground.Calendar)
	assert.Empty(t, r.Plots[0].Plantings[0].Threats)
	assert.Contains(t, strings.Join(r.Lines(), "\n"), "Sprays: 0; a 7-day calendar would have made")
}

// A median within the bracket is off by nothing; one before it is early, one
// after it late; without a look that found none only lateness can be said.
func TestOffOfAForecast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		found := d(7, 1)
		x := Threat{Found: found}
		if rapid.Bool().Draw(t, "looked before") {
			x.NotBefore = found - civil.Date(rapid.IntRange(1, 20).Draw(t, "gap"))
		}
		median := found.AddDays(rapid.IntRange(-40, 40).Draw(t, "median"))
		a := assess("p", "t", found-7, plan.Act, median)
		f, ok := forecast(&a, &x, 7)
		if !ok {
			t.Fatal("no forecast")
		}
		switch {
		case median > found:
			if *f.Off != median.Sub(found) {
				t.Fatal(*f.Off)
			}
		case x.NotBefore.IsZero():
			if f.Off != nil {
				t.Fatal(*f.Off)
			}
		case median > x.NotBefore:
			if *f.Off != 0 || !f.Within {
				t.Fatal(*f.Off, f.Within)
			}
		default:
			if *f.Off >= 0 {
				t.Fatal(*f.Off)
			}
		}
	})
}
