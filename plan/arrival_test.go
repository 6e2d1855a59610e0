package plan

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/learn"
)

// loggedYears is a log of five seasons with a find in the middle of June, by
// the calendar alone.
func loggedYears(t *testing.T, running civil.Date) *Arrival {
	t.Helper()
	in := learn.Input{Threat: "t"}
	for i, d := range []int{10, 12, 14, 16, 18} {
		found := civil.New(2020+i, 6, d)
		in.Seasons = append(in.Seasons, learn.Season{Year: 2020 + i, None: found - 3, First: found})
	}
	a, err := learn.Learn(in)
	require.NoError(t, err)
	o, err := a.Outlook(learn.Running{Today: running, Season: civil.New(2026, 1, 1)})
	require.NoError(t, err)
	return &Arrival{Learned: a, Outlook: o}
}

func TestTheLogSpeaksWhereNoModelDoes(t *testing.T) {
	for _, c := range []struct {
		today civil.Date
		want  Readiness
		code  string
	}{
		{civil.New(2026, 4, 1), Quiet, "log-far"},
		{civil.New(2026, 5, 20), Approaching, "log-median-within-four-weeks"},
		{civil.New(2026, 6, 1), Act, "log-early-date-near"},
		{civil.New(2026, 7, 1), Act, "log-past"},
		{civil.New(2026, 8, 20), Quiet, "log-past"},
	} {
		cs := baseCase()
		cs.Model, cs.Track, cs.Stages, cs.Outlooks = nil, nil, nil, nil
		cs.Waiting = "a find in your own log"
		cs.Today, cs.Now = c.today, c.today.Slot(10, 0, cs.Site.Location())
		cs.WeatherUntil = cs.Now
		cs.Arrival = loggedYears(t, c.today)
		a := Assess(cs, DefaultRules())
		assert.Equal(t, c.want.String(), a.Readiness.String(), c.today)
		assert.Equal(t, c.code, a.Reason.Code, c.today)
		if c.code != "log-past" {
			assert.Contains(t, a.Reason.Text, "No trustworthy model is known")
		}
		require.NotEmpty(t, a.Reason.Numbers)
		for _, n := range a.Reason.Numbers {
			if strings.HasPrefix(n.Name, "seasons of the log that came within") {
				assert.Equal(t, "seasons", n.Unit)
				assert.LessOrEqual(t, n.Value, 5.0)
				continue
			}
			if n.Name == "chance from which a treatment pays" {
				assert.NotEqual(t, Quiet, a.Readiness)
				continue
			}
			assert.Equal(t, risk.Derived, n.Source.Standing)
			assert.Equal(t, "days", n.Unit)
		}
	}
}

func TestAStageReachedGoesBeforeTheLog(t *testing.T) {
	c := baseCase()
	c.Arrival = loggedYears(t, c.Today)
	assert.Equal(t, "log-early-date-near", Assess(c, DefaultRules()).Reason.Code)
	c.Outlooks[0].Reached = c.Today - 3
	assert.Equal(t, "stage-reached", Assess(c, DefaultRules()).Reason.Code)
}
