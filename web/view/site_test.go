package view_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/say"
	"plotwarden/web/view"
	"plotwarden/web/webtest"
)

func input() *view.In {
	g := webtest.Garden(false)
	r := webtest.Round()
	return &view.In{Garden: g, Site: &g.Sites[0], Round: &r, Catalogue: webtest.Threats(), Now: webtest.Now(), Seen: g.Scoutings, Done: g.Treatments}
}

func TestCardsComeInOrderAndMerge(t *testing.T) {
	cards := input().Cards()
	var got []string
	for _, c := range cards {
		got = append(got, c.Readiness.String()+" "+c.Threat)
	}
	assert.Equal(t, []string{
		"present Imported cabbageworm", "act Late blight", "act Striped cucumber beetle",
		"approaching Early blight", "approaching Powdery mildew of pea", "approaching Squash vine borer",
		"blind 2 threats not judged", "blind Not judged yet",
	}, got)
	blight := cards[1]
	assert.Equal(t, []view.Link{
		{Text: "Bed 1: Tomato, Long Red", Href: "/site/mill-lane/planting/tomato-1/threat/late-blight"},
		{Text: "Bed 8: Tomato, Small Round", Href: "/site/mill-lane/planting/tomato-8/threat/late-blight"},
	}, blight.Beds, "two beds that stand alike are one entry")
	assert.Len(t, blight.Steps, 2)
	assert.Equal(t, 2, blight.More)
	assert.Equal(t, "tomorrow", blight.Steps[0].By)
	assert.Equal(t, "today 09:15 to 12:00 and 17:00 to 20:00; tomorrow 08:00 to 12:00 and 17:00 to 20:00", blight.Dry)
	assert.Len(t, cards[3].Steps, 1, "what is only approaching shows one step")
	blind := cards[6]
	assert.Empty(t, blind.Dry)
	assert.Contains(t, blind.Since, "Mon 8 Jun 14:00")
	assert.Len(t, blind.Beds, 2)
}

func TestCardsOfDifferentReasonsStayApart(t *testing.T) {
	in := input()
	for i := range in.Round.Assessments {
		if a := &in.Round.Assessments[i]; a.Planting == "tomato-8" {
			a.Reason.Text = "Conditions favoured infection on 9 Jun."
		}
	}
	n := 0
	for _, c := range in.Cards() {
		if c.Threat == "Late blight" {
			n++
			assert.Len(t, c.Beds, 1)
		}
	}
	assert.Equal(t, 2, n)
}

func TestRowsFollowTheGarden(t *testing.T) {
	p := view.Site(input())
	var got []string
	for _, r := range p.Rows {
		word := "-"
		if r.Readiness != 0 {
			word = r.Readiness.String()
		}
		got = append(got, r.Bed+" "+word)
	}
	assert.Equal(t, []string{"Bed 1 act", "Bed 2 present", "Bed 3 act", "Bed 4, by the pump blind", "Bed 5 approaching",
		"Bed 6 -", "Bed 7 -", "Bed 8 act", "Bed 9 blind"}, got)
	bed1 := p.Rows[0]
	require.Len(t, bed1.Lanes, 2)
	assert.Equal(t, "expected 12 Jun", bed1.Lanes[0].Brief)
	assert.Equal(t, "12 Jun and 13 Jun", bed1.Lanes[0].Infections)
	assert.Equal(t, "about 20 Jun (16 to 24 Jun)", bed1.Lanes[1].Brief)
	assert.Equal(t, "Tomato hornworm", bed1.Quiet[0].Text)
	assert.Equal(t, "beyond", p.Rows[4].Lanes[0].Late)
}

func TestAFarQuietThreatIsDrawnWhenTheLineIsLong(t *testing.T) {
	in := input()
	in.Now = webtest.Today.AddDays(10).Slot(9, 0, webtest.Loc())
	in.MaxAge = 30 * 24 * time.Hour
	assert.Len(t, view.Site(in).Rows[0].Lanes, 2)
	in.Days = 28
	assert.Len(t, view.Site(in).Rows[0].Lanes, 3, "the hornworm of 14 July comes into sight")
}

func TestRemovedPlantingsAreGone(t *testing.T) {
	in := input()
	in.Site.Plots[0].Plantings[0].Removed = webtest.Today
	for _, c := range in.Cards() {
		for _, b := range c.Beds {
			assert.NotContains(t, b.Text, "Bed 1:")
		}
	}
	_, ok := view.Why(in, "tomato-1", "late-blight", "")
	assert.False(t, ok)
}

func TestTheGravestOfSeveralModelsSpeaks(t *testing.T) {
	in := input()
	quiet := in.Round.Assessments[2] // early blight, approaching
	quiet.Model, quiet.Readiness = "early-blight/other-2025", plan.Quiet
	in.Round.Assessments = append(in.Round.Assessments, quiet)
	assert.Equal(t, plan.Approaching, view.Site(in).Rows[0].Lanes[1].Readiness)
	p, ok := view.Why(in, "tomato-1", "early-blight", "")
	require.True(t, ok)
	assert.Equal(t, plan.Approaching, p.Readiness)
	require.Len(t, p.Others, 1)
	assert.Equal(t, "early-blight/other-2025: quiet", p.Others[0].Text)
	p, ok = view.Why(in, "tomato-1", "early-blight", "early-blight/other-2025")
	require.True(t, ok)
	assert.Equal(t, plan.Quiet, p.Readiness)
}

func TestNoDryHours(t *testing.T) {
	in := input()
	in.Round.Hours = in.Round.Hours[:0]
	assert.Equal(t, "not known: there is no forecast to judge them from", in.Cards()[0].Dry)
	assert.Equal(t, "not known yet", in.DryDays(1)[0].Why)
	in.Round.Hours = webtest.Hours()
	in.Now = webtest.Today.AddDays(2).Slot(9, 0, webtest.Loc()) // the wet days
	for i := range in.Round.Assessments {
		for j := range in.Round.Assessments[i].Steps {
			in.Round.Assessments[i].Steps[j].By = webtest.Today.AddDays(3)
		}
	}
	in.MaxAge = 1000 * time.Hour
	assert.Equal(t, "none by tomorrow; the first after it is Sun 14 Jun 08:00 to 12:00 and 17:00 to 20:00", in.Cards()[0].Dry)
	assert.Equal(t, "wet leaves and rain within 6 hours", in.DryDays(1)[0].Why)
}

func TestUnitsOfTheReader(t *testing.T) {
	in := input()
	in.Style = say.Style{US: true}
	assert.Equal(t, "today 9:15 am to 12 pm and 5 to 8 pm; tomorrow 8 am to 12 pm and 5 to 8 pm", in.Cards()[1].Dry)
	p, ok := view.Why(in, "cabbage-2", "cabbageworm", "")
	require.True(t, ok)
	assert.Equal(t, "49 °F", p.Numbers[1].Figure)
	assert.Equal(t, "300 degree-days F", p.Numbers[0].Figure, "a model keeps its published unit")
}

// Whatever a round says, blind never reads as quiet, every active assessment has
// its place among the entries, and no bed is named twice for one threat.
func TestNothingIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := input()
		for i := range in.Round.Assessments {
			a := &in.Round.Assessments[i]
			a.Readiness = plan.Readiness(rapid.IntRange(1, 6).Draw(t, "readiness"))
			if rapid.Bool().Draw(t, "without outlook") {
				a.Outlook = nil
			} else {
				a.Outlook = &risk.Outlook{P10: day(t, "p10"), P50: day(t, "p50"), P90: day(t, "p90")}
			}
		}
		links := map[string]int{}
		for _, c := range in.Cards() {
			for _, b := range c.Beds {
				links[b.Href]++
			}
		}
		for _, a := range in.Round.Assessments {
			want := 0
			if a.Readiness <= plan.Blind {
				want = 1
			}
			href := view.WhyHref("mill-lane", a.Planting, a.Threat)
			if links[href] != want {
				t.Fatalf("%s is %s and named %d times", href, a.Readiness, links[href])
			}
		}
		for _, r := range view.Site(in).Rows {
			for _, l := range r.Lanes {
				if l.Readiness == plan.Blind && !strings.Contains(string(l.Drawing), "hatch") {
					t.Fatal("a blind lane without its hatching")
				}
			}
		}
	})
}

func day(t *rapid.T, name string) civil.Date {
	n := rapid.IntRange(-20, 200).Draw(t, name)
	if n < -10 {
		return 0
	}
	return webtest.Today.AddDays(n)
}
