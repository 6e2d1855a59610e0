package say

import (
	"math"
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

var (
	metric = StyleOf(garden.Metric)
	us     = StyleOf(garden.US)
	today  = civil.New(2026, 6, 10)
)

func on(m time.Month, d int) civil.Date { return civil.New(2026, m, d) }

func TestDates(t *testing.T) {
	assert.Equal(t, "12 Jun", metric.Date(on(6, 12), today))
	assert.Equal(t, "Jun 12", us.Date(on(6, 12), today))
	assert.Equal(t, "12 Jun 2025", metric.Date(civil.New(2025, 6, 12), today))
	assert.Equal(t, "Jun 12, 2025", us.Date(civil.New(2025, 6, 12), today))
	assert.Equal(t, "today", metric.Day(today, today))
	assert.Equal(t, "tomorrow", metric.Day(today+1, today))
	assert.Equal(t, "yesterday", metric.Day(today-1, today))
	assert.Equal(t, "Fri 12 Jun", metric.Day(on(6, 12), today))
	assert.Equal(t, "Mon 8 Jun, already past", metric.By(on(6, 8), today))
	assert.Equal(t, "8 and 17 Jun", metric.Between(on(6, 8), on(6, 17), today))
	assert.Equal(t, "28 May and 3 Jun", metric.Between(on(5, 28), on(6, 3), today))
	assert.Equal(t, "Jun 8 and 17", us.Between(on(6, 8), on(6, 17), today))
	assert.Equal(t, "8 to 17 Jun", metric.Span(on(6, 8), on(6, 17), today))
	assert.Equal(t, "8 Jun", metric.Span(on(6, 8), on(6, 8), today))
	assert.Equal(t, "28 Dec and 3 Jan 2027", metric.Between(on(12, 28), civil.New(2027, 1, 3), today))
	assert.Equal(t, "Jan 3 and 5, 2027", us.Between(civil.New(2027, 1, 3), civil.New(2027, 1, 5), today))
	assert.Equal(t, "3 and 5 Jan 2027", metric.Between(civil.New(2027, 1, 3), civil.New(2027, 1, 5), today))
}

func TestClock(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	at := func(d civil.Date, h, m int) time.Time { return d.Slot(h, m, ny) }
	assert.Equal(t, "14:00", metric.Clock(at(today, 14, 0), ny))
	assert.Equal(t, "2 pm", us.Clock(at(today, 14, 0), ny))
	assert.Equal(t, "2:30 pm", us.Clock(at(today, 14, 30), ny))
	assert.Equal(t, "12 am", us.Clock(at(today, 0, 0), ny))
	assert.Equal(t, "14:00 to 19:00", metric.Hours(at(today, 14, 0), at(today, 19, 0), ny))
	assert.Equal(t, "2 to 7 pm", us.Hours(at(today, 14, 0), at(today, 19, 0), ny))
	assert.Equal(t, "9 am to 2 pm", us.Hours(at(today, 9, 0), at(today, 14, 0), ny))
	assert.Equal(t, "20:00 to midnight", metric.Hours(at(today, 20, 0), at(today+1, 0, 0), ny))
	assert.Equal(t, "11 pm to midnight", us.Hours(at(today, 23, 0), at(today+1, 0, 0), ny))
	assert.Equal(t, "yesterday 14:00", metric.Moment(at(today-1, 14, 0), at(today, 9, 0), ny))
	now := at(today, 9, 0)
	assert.Equal(t, "20 minutes ago", Ago(now.Add(-20*time.Minute), now))
	assert.Equal(t, "1 hour ago", Ago(now.Add(-time.Hour), now))
	assert.Equal(t, "47 hours ago", Ago(now.Add(-47*time.Hour), now))
	assert.Equal(t, "2 days ago", Ago(now.Add(-49*time.Hour), now))
	assert.Equal(t, "just now", Ago(now, now))
	assert.Equal(t, "in 3 hours", Ago(now.Add(3*time.Hour), now))
}

func TestChance(t *testing.T) {
	for p, want := range map[float64]string{
		0: "less than 1 in 40", 0.05: "about 1 in 20", 0.1: "about 1 in 10", 0.58: "about 6 in 10",
		0.9: "about 9 in 10", 0.95: "about 19 in 20", 1: "more than 39 in 40",
	} {
		assert.Equal(t, want, Chance(p), p)
	}
	assert.Equal(t, "unknown", Chance(math.NaN()))
}

func TestSure(t *testing.T) {
	for _, c := range []struct {
		o           risk.Outlook
		sure, brief string
	}{
		{risk.Outlook{P10: on(6, 8), P50: on(6, 12), P90: on(6, 17)}, "most likely 12 Jun, 8 in 10 chance between 8 and 17 Jun", "about 12 Jun (8 to 17 Jun)"},
		{risk.Outlook{P10: on(6, 8), P50: on(6, 12)}, "most likely around 12 Jun, 1 in 10 chance before 8 Jun, may come much later", "about 12 Jun or later"},
		{risk.Outlook{P10: on(6, 8)}, "1 in 10 chance by 8 Jun, more likely later", "from 8 Jun or later"},
		{risk.Outlook{}, "not expected in the days looked at", "not expected"},
		{risk.Outlook{P10: on(6, 8), P50: on(6, 8), P90: on(6, 8)}, "expected on 8 Jun if the forecast holds", "expected 8 Jun"},
		{risk.Outlook{Reached: on(6, 3), P10: on(6, 3), P50: on(6, 3), P90: on(6, 3)}, "reached on 3 Jun", "since 3 Jun"},
		{risk.Outlook{P10: on(6, 8), P50: on(6, 12), P90: on(6, 17), Rough: true}, "most likely 12 Jun, 8 in 10 chance between 8 and 17 Jun (rough: few runs behind it)", "about 12 Jun (8 to 17 Jun)"},
	} {
		assert.Equal(t, c.sure, metric.Sure(&c.o, today))
		assert.Equal(t, c.brief, metric.Brief(&c.o, today))
	}
	assert.Equal(t, "no date can be given", metric.Sure(nil, today))
	assert.Equal(t, "no date", metric.Brief(nil, today))
}

// The pairs are fixed points of the scales: NIST SP 811 (2008), B.8 and B.9.
func TestMeasures(t *testing.T) {
	assert.Equal(t, "32", us.Temp(0))
	assert.Equal(t, "212", us.Temp(100))
	assert.Equal(t, "-40", us.Temp(-40))
	assert.Equal(t, "18.2", metric.Temp(18.24))
	assert.Equal(t, "0.0", metric.Temp(-0.04))
	assert.Equal(t, "1.00", us.Rain(25.4))
	assert.Equal(t, "100", us.Wind(44.704)) // 1 mi/h is 0.44704 m/s
	assert.Equal(t, "36", metric.Wind(10))
	assert.Equal(t, Missing, metric.Temp(math.NaN()))
	assert.Equal(t, Missing, us.Rain(math.NaN()))
	assert.Equal(t, "18.0 °C", metric.Figure(18, "C"))
	assert.Equal(t, "64 °F", us.Figure(18, "C"))
	assert.Equal(t, "412 degree-days F", us.Figure(412.3, "degree-days F"))
	assert.Equal(t, "12.5 %", metric.Figure(12.5, "%"))
	assert.Equal(t, "?", metric.Figure(math.NaN(), ""))
	assert.Equal(t, "20", Number(20))
	assert.Equal(t, "0", Number(-0.001))
}

func TestEveryReadinessHasAMeaning(t *testing.T) {
	for r := plan.Present; r <= plan.Quiet; r++ {
		assert.NotEmpty(t, Meaning(r), r)
	}
	assert.Empty(t, Meaning(0))
}

func TestSentenceAndList(t *testing.T) {
	assert.Equal(t, "Look now.", Sentence("look now"))
	assert.Equal(t, "Look now?", Sentence("Look now?"))
	assert.Equal(t, "", Sentence(""))
	assert.Equal(t, "a, b and c", List([]string{"a", "b", "c"}))
	assert.Equal(t, "a and b", List([]string{"a", "b"}))
}

// Whatever the spread, the words never promise and always end cleanly.
func TestSureNeverPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var o risk.Outlook
		d := today
		for _, q := range []*civil.Date{&o.P10, &o.P50, &o.P90} {
			if rapid.Bool().Draw(t, "beyond") {
				break
			}
			d = d.AddDays(rapid.IntRange(0, 90).Draw(t, "days"))
			*q = d
		}
		for _, s := range []Style{metric, us} {
			got := s.Sure(&o, today)
			if got == "" || got[len(got)-1] == '.' {
				t.Fatalf("%+v: %q", o, got)
			}
		}
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		if c := Chance(p); c == "about 0 in 10" || c == "about 10 in 10" {
			t.Fatalf("%g: %s", p, c)
		}
	})
}
