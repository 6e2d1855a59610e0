package alerts

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
)

func TestOrderIsWhatCanStillBeChanged(t *testing.T) {
	d, send := Compose(busy())
	require.True(t, send)
	var got []string
	for _, n := range d.New {
		got = append(got, n.Readiness.String()+" "+n.Threat)
	}
	assert.Equal(t, []string{"present Imported cabbageworm", "act Late blight", "approaching Squash vine borer"}, got)
	assert.Len(t, d.New[1].Beds, 2, "what reads the same of two beds is one notice")
	assert.Equal(t, "North ground: 1 found, 1 to act on, 1 approaching — Thu 4 Jun", d.Subject)
}

func TestWhoIsToldOfWhat(t *testing.T) {
	beds := func(person string) string {
		in := busy()
		in.Person.ID = person
		d, _ := Compose(in)
		var out []string
		for _, n := range d.New {
			for _, b := range n.Beds {
				out = append(out, b.Name[:5])
			}
		}
		return strings.Join(out, ", ")
	}
	assert.Equal(t, "Bed 9, Bed 3, Bed 7, Bed 9", beds("cleo"), "someone without a bed: all")
	assert.Equal(t, "Bed 3, Bed 7", beds("ada"), "a grower: the own beds and those of nobody")
	assert.Equal(t, "Bed 9, Bed 7, Bed 9", beds("ben"))
}

func TestOneNoticeWhereSeveralModelsJudge(t *testing.T) {
	in := busy()
	calm := lateBlight("tom")
	calm.Model, calm.Readiness, calm.Reason.Text = "late-blight/other", plan.Quiet, "Nothing."
	in.Assessments = []plan.Assessment{calm, lateBlight("tom"), calm}
	d, _ := Compose(in)
	require.Len(t, d.New, 1)
	assert.Equal(t, plan.Act, d.New[0].Readiness)
	assert.Empty(t, d.Rest)
}

func TestCautionStandsWhereSprayingIsNamed(t *testing.T) {
	d, _ := Compose(busy())
	for _, n := range d.New {
		names := false
		for _, s := range n.First {
			names = names || strings.Contains(strings.ToLower(s.Text), "spray")
		}
		assert.Equal(t, names, n.Caution != "", n.Threat)
	}
	page, err := d.HTML()
	require.NoError(t, err)
	assert.Contains(t, page, "The label is the law")
	assert.Contains(t, strings.Join(strings.Fields(d.Text()), " "), Caution)
	// In short form no spray is named at all.
	d, _ = Compose(scenarios()["same"])
	assert.NotContains(t, strings.ToLower(d.Text()), "spray")
}

func TestQuietPeopleHearOnlyNews(t *testing.T) {
	in := scenarios()["same"]
	_, send := Compose(in)
	assert.True(t, send, "others get a short line")
	in.Person.Quiet = true
	_, send = Compose(in)
	assert.False(t, send)
	in.Assessments[0].Reason.Code = "early-date-near"
	_, send = Compose(in)
	assert.True(t, send)

	blind := toldBefore(scenarios()["blind"])
	blind.Person.Quiet = true
	_, send = Compose(blind)
	assert.False(t, send, "told once that it is blind")
	blind.Slot = at(today+4, 6) // Monday
	for i := range blind.Assessments {
		blind.Assessments[i].Round = blind.Slot
	}
	_, send = Compose(blind)
	assert.True(t, send, "and again every Monday: silence must not mean that all is well")
}

func TestWhatMakesNews(t *testing.T) {
	told := toldBefore(busy())
	change := func(edit func(*plan.Assessment)) string {
		in := told
		in.Assessments = append([]plan.Assessment(nil), told.Assessments...)
		a := vineBorer()
		edit(&a)
		in.Assessments[0] = a
		d, _ := Compose(in)
		for _, n := range d.New {
			if n.Threat == "Squash vine borer" {
				return n.Change
			}
		}
		return ""
	}
	shift := func(days int) func(*plan.Assessment) {
		return func(a *plan.Assessment) {
			o := *a.Outlook
			o.P50 = o.P50.AddDays(days)
			a.Outlook = &o
		}
	}
	for name, c := range map[string]struct {
		edit func(*plan.Assessment)
		want string
	}{
		"the same":           {func(*plan.Assessment) {}, ""},
		"3 days later":       {shift(3), ""},
		"4 days later":       {shift(4), "Changed: 4 days later than told before (22 Jun)."},
		"5 days sooner":      {shift(-5), "Changed: 5 days sooner than told before (22 Jun)."},
		"chance up":          {func(a *plan.Assessment) { o := *a.Outlook; o.Chance[1] = 0.4; a.Outlook = &o }, "Changed: the chance within 14 days went from about 1 in 10 to about 4 in 10."},
		"chance a bit up":    {func(a *plan.Assessment) { o := *a.Outlook; o.Chance[1] = 0.3; a.Outlook = &o }, ""},
		"no likely date now": {func(a *plan.Assessment) { o := *a.Outlook; o.P50, o.P90 = 0, 0; a.Outlook = &o }, "Changed: the likely date lies beyond the days looked at now; it was 22 Jun."},
		"now to act on":      {func(a *plan.Assessment) { a.Readiness = plan.Act }, "Changed: it was approaching before."},
		"another reason":     {func(a *plan.Assessment) { a.Reason.Code = "x" }, "Changed: there is another reason now."},
		"last day tomorrow":  {func(a *plan.Assessment) { a.Steps = []plan.Step{{Kind: plan.CoverBed, By: today + 1}} }, "The last day for it is tomorrow."},
		"a look by tomorrow": {func(a *plan.Assessment) { a.Steps = []plan.Step{{Kind: plan.Scout, By: today + 1}} }, ""},
	} {
		assert.Equal(t, c.want, change(c.edit), name)
	}
}

// TestSmallStepsAddUp: a date that drifts a day each morning is told again once
// it has moved by more than three days in all.
func TestSmallStepsAddUp(t *testing.T) {
	in := busy()
	in.Assessments = []plan.Assessment{vineBorer()}
	var news []int
	for day := range 9 {
		o := *in.Assessments[0].Outlook
		o.P50++
		in.Assessments[0].Outlook = &o
		d, _ := Compose(in)
		if len(d.New) > 0 {
			news = append(news, day)
		}
		raw, err := d.Told.Encode()
		require.NoError(t, err)
		in.Told, err = ParseTold(raw)
		require.NoError(t, err)
	}
	assert.Equal(t, []int{0, 4, 8}, news)
}

func TestAStaleRoundIsBlindWhateverItSaid(t *testing.T) {
	in := busy()
	in.Slot = at(today+1, 6).Add(time.Minute)
	d, _ := Compose(in)
	assert.Empty(t, d.New)
	require.Len(t, d.Blind, 1)
	assert.Contains(t, d.Blind[0].Since, "Not judged since yesterday 06:00")
	assert.Len(t, d.Blind[0].What, len(in.Assessments))
	assert.Contains(t, d.Subject, "blind")
	assert.NotContains(t, d.Text(), "quiet")
}

func TestNothingIsCalledQuietWithoutSayingWhatThatMeans(t *testing.T) {
	for name, in := range scenarios() {
		d, _ := Compose(in)
		text := strings.Join(strings.Fields(strings.ToLower(d.Text())), " ")
		if strings.Contains(text, "quiet.") || strings.Contains(text, " quiet,") {
			assert.Contains(t, text, "does not mean that nothing can come", name)
		}
		for _, claim := range []string{"you have", "no risk.", "safe", "infected"} {
			assert.NotContains(t, text, claim, name)
		}
	}
}

func TestDryHours(t *testing.T) {
	in := busy()
	assert.Equal(t, "today 06:00 to 09:00, 17:00 to 20:00", in.dryBy(today+1))
	assert.Equal(t, "today 06:00 to 09:00, 17:00 to 20:00; Sat 6 Jun 08:00 to 13:00; Sun 7 Jun 08:00 to 13:00", in.dryBy(today+20))
	in.Now = at(today, 6).Add(26 * time.Minute)
	assert.Equal(t, "today 06:30 to 09:00, 17:00 to 20:00", in.dryBy(today+1))
	in.Now = at(today, 10)
	assert.Equal(t, "today 17:00 to 20:00", in.dryBy(today+1), "composed late: the morning is past")
	in.Slot = at(today, 8).Add(30 * time.Minute)
	in.Now = time.Time{}
	assert.Equal(t, "today 17:00 to 20:00", in.dryBy(today+1), "half an hour is no run of hours")
	in.Slot = at(today, 21)
	assert.Equal(t, "none by tomorrow (no daylight left); the first after it is Sat 6 Jun 08:00 to 13:00", in.dryBy(today+1))
	in.Slot = at(today+1, 6)
	assert.Equal(t, "none by today (wet leaves and rain within 6 hours); the first after it is tomorrow 08:00 to 13:00", in.dryBy(today+1))
	in.Slot = at(today+5, 6)
	assert.Equal(t, "not known: the weather ahead is missing", in.dryBy(today+7))
	in.Slot = at(today+4, 14)
	assert.Equal(t, "none up to Wed 10 Jun, as far as the forecast for them reaches", in.dryBy(today+12))
	in.Hours = nil
	assert.Equal(t, "not known: the weather ahead is missing", in.dryBy(today+7))
	assert.Nil(t, in.dryDays())
}

func TestKeysAreOnePerSlotAndNeverShared(t *testing.T) {
	slot := at(today, 6)
	assert.Equal(t, "digest/north/ada/email/2026-06-04T10:00:00Z", DigestKey("north", "ada", "email", slot))
	assert.Equal(t, DigestKey("north", "ada", "email", slot), DigestKey("north", "ada", "email", slot.UTC()))
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.StringMatching(`[a/%2F]{0,4}`)
		a := [2]string{part.Draw(t, "site"), part.Draw(t, "person")}
		b := [2]string{part.Draw(t, "other site"), part.Draw(t, "other person")}
		if (a == b) != (DigestKey(a[0], a[1], "email", slot) == DigestKey(b[0], b[1], "email", slot)) {
			t.Fatalf("%q and %q", a, b)
		}
	})
}

func TestToldRoundTrip(t *testing.T) {
	d, _ := Compose(busy())
	raw, err := d.Told.Encode()
	require.NoError(t, err)
	back, err := ParseTold(raw)
	require.NoError(t, err)
	assert.Equal(t, d.Told, back)
	none, err := ParseTold(nil)
	require.NoError(t, err)
	assert.Nil(t, none)
	_, err = ParseTold([]byte("{"))
	assert.ErrorContains(t, err, "read what was told")
}

// TestAnyMorningRenders: no combination of readiness, missing parts and person
// breaks a form or leaves out an assessment that asks for something.
func TestAnyMorningRenders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := busy()
		in.Person.Units = rapid.SampledFrom([]garden.Units{"", garden.Metric, garden.US}).Draw(t, "units")
		in.Assessments = nil
		ask := 0
		for _, planting := range []string{"tom", "tom2", "cab", "squash", "gone"} {
			a := base(planting, rapid.SampledFrom([]string{"late-blight", "unknown-threat"}).Draw(t, "threat"), plan.Readiness(rapid.IntRange(1, 6).Draw(t, "readiness")), "x", rapid.SampledFrom([]string{"", "why"}).Draw(t, "why"))
			if rapid.Bool().Draw(t, "dated") {
				a.Outlook = &risk.Outlook{P10: today.AddDays(rapid.IntRange(-5, 40).Draw(t, "p10"))}
			}
			if planting != "gone" && a.Readiness <= plan.Blind {
				ask++
			}
			in.Assessments = append(in.Assessments, a)
		}
		d, _ := Compose(in)
		told := 0
		for _, n := range d.New {
			told += len(n.Beds)
		}
		for _, b := range d.Blind {
			told += len(b.What)
		}
		if told != ask {
			t.Fatalf("%d told of %d", told, ask)
		}
		if _, err := d.HTML(); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(d.Subject, "\n") || d.Text() == "" {
			t.Fatal("broken form")
		}
	})
}
