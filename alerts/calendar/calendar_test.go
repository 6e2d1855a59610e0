package calendar

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
)

var update = flag.Bool("update", false, "write the golden files")

type threats map[string]string

func (t threats) ByID(id string) (*catalog.Threat, bool) {
	name, ok := t[id]
	return &catalog.Threat{ID: id, Name: name}, ok
}

func on(m time.Month, d int) civil.Date { return civil.New(2026, m, d) }

func ptr(n int) *int { return &n }

// example is an invented ground in a zone east of Greenwich, on Thursday 4 June
// 2026 at 06:10 local time (04:10 UTC).
func example(t *testing.T) Input {
	t.Helper()
	zone := "Europe/Madrid"
	now := time.Date(2026, 6, 4, 4, 10, 0, 0, time.UTC)
	at := func(day, hour int) time.Time { return time.Date(2026, 6, day, hour, 0, 0, 0, time.UTC) }
	site := &garden.Site{ID: "long-field", Name: "Long Field, by the mill; north", Zone: zone, Latitude: 40.4, Longitude: -3.7,
		Plots: []garden.Plot{
			{ID: "1", Name: "Bed 1", Grower: "ada", Plantings: []garden.Planting{{ID: "tom-1", Crop: "tomato", PlantedOut: on(5, 10)}}},
			{ID: "2", Name: "Bed 2", Plantings: []garden.Planting{{ID: "kale-2", Crop: "kale", PlantedOut: on(4, 20)}}},
			{ID: "3", Name: "Bed 3", Grower: "bo", Plantings: []garden.Planting{{ID: "bean-3", Crop: "snap bean", Sown: on(5, 2)}}},
		}}
	look := plan.Step{Kind: plan.Scout, Text: "Look at 10 plants, at the edge and in the middle", From: on(6, 4), By: on(6, 11)}
	assess := func(planting, threat string, r plan.Readiness, steps ...plan.Step) plan.Assessment {
		return plan.Assessment{Site: site.ID, Planting: planting, Threat: threat, Round: now, Readiness: r, Steps: steps,
			Reason: plan.Reason{Code: "invented", Text: "invented for this test: 12 of 18 hours so far"}}
	}
	records := []garden.Record{
		{ID: "r1", Planting: "tom-1", Start: at(3, 17), End: at(3, 18), Material: "m1", Product: "an invented mix, 50%", Label: garden.LabelValues{PreHarvestDays: ptr(7), ReEntryHours: ptr(24)}},
		{ID: "r2", Planting: "kale-2", Start: at(4, 3), Product: "soap of the shed"},
		{ID: "r3", Planting: "bean-3", Start: at(3, 17), Product: "bo's own", Label: garden.LabelValues{PreHarvestDays: ptr(3), ReEntryHours: ptr(48)}},
		{ID: "r4", Planting: "tom-1", Start: at(1, 17), Product: "long over", Label: garden.LabelValues{PreHarvestDays: ptr(1), ReEntryHours: ptr(4)}},
		{ID: "r5", Planting: "tom-1", Start: at(3, 17), Reason: garden.ByCalendar, Note: "pulled lower leaves: nothing was put on"},
	}
	for i := range records {
		records[i].Fill(site, nil)
	}
	return Input{
		Site: site, Person: garden.Person{ID: "ada", Name: "Ada"}, Lang: lang.English, Home: "https://beds.example.org", Now: now,
		Hours: []plan.Hours{
			{From: at(4, 4), To: at(4, 7), Why: []string{"wet leaves"}},
			{From: at(4, 7), To: at(4, 9), Good: true},
			{From: at(4, 9), To: at(4, 10), Good: true},
			{From: at(4, 10), To: at(4, 16), Why: []string{"wind"}},
			{From: at(4, 16), To: at(4, 19), Good: true},
			{From: at(4, 19), To: at(5, 5), Why: []string{"dark"}},
			{From: at(5, 5), To: at(5, 8), Unknown: true, Why: []string{"weather missing"}},
		},
		Assessments: []plan.Assessment{
			assess("tom-1", "late-blight", plan.Act, plan.Step{Kind: plan.Prune, Text: "take off the lowest leaves", By: on(6, 9)},
				plan.Step{Kind: plan.MulchBed, Text: "mulch the soil; \"straw\" will do, 5 cm", By: on(6, 9)}, look, plan.Step{Kind: plan.Spray, Text: "if you spray: only by the label"}),
			assess("kale-2", "cabbageworm", plan.Approaching, plan.Step{Kind: plan.CoverBed, Text: "cover the bed", By: on(6, 20)}, look),
			assess("kale-2", "cabbageworm", plan.Quiet),
			assess("bean-3", "bean-beetle", plan.Act, look),
		},
		Records: records,
		Threats: threats{"late-blight": "late blight", "cabbageworm": "cabbageworm", "bean-beetle": "bean beetle"},
		Remind:  30 * time.Minute,
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "run with -update to accept")
}

func TestGoldenFeed(t *testing.T) {
	got, _, err := Make(example(t), nil)
	require.NoError(t, err)
	golden(t, "feed.ics", got)
}

// An attachment in Spanish, after a change of the weather: hours moved, others
// gone, a treatment withdrawn.
func TestGoldenAttachmentAfterAChange(t *testing.T) {
	in := example(t)
	in.Lang, in.Method = lang.Spanish, Publish
	_, book, err := Make(in, nil)
	require.NoError(t, err)
	in = changed(in)
	got, _, err := Make(in, book)
	require.NoError(t, err)
	golden(t, "attachment-es.ics", got)
}

func changed(in Input) Input {
	in.Now = in.Now.Add(time.Hour)
	at := func(hour int) time.Time { return time.Date(2026, 6, 4, hour, 0, 0, 0, time.UTC) }
	in.Hours = []plan.Hours{{From: at(5), To: at(8), Why: []string{"wet leaves"}}, {From: at(8), To: at(9), Good: true}, {From: at(9), To: at(22), Why: []string{"rain within 6 hours"}}}
	in.Records = in.Records[1:]
	return in
}

func byAbout(t *testing.T, in Input, about ...string) *event {
	t.Helper()
	for _, e := range in.events() {
		if e.UID == in.uid(about...) {
			return &e
		}
	}
	return nil
}

func TestDryHours(t *testing.T) {
	in := example(t)
	am := byAbout(t, in, "dry hours", "2026-06-04 am", "0")
	require.NotNil(t, am)
	assert.Equal(t, time.Date(2026, 6, 4, 7, 0, 0, 0, time.UTC), am.From, "wet hours before it are not in it")
	assert.Equal(t, time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC), am.To, "runs that touch are one")
	assert.Contains(t, am.Description, "Late blight, Bed 1: Tomato", "what they are for")
	assert.NotContains(t, am.Description, "Cabbageworm", "approaching is not to act on")
	assert.NotContains(t, am.Description, "Bed 3", "another grower's bed")
	require.NotNil(t, byAbout(t, in, "dry hours", "2026-06-04 pm", "0"))
	assert.Nil(t, byAbout(t, in, "not known", "2026-06-04"))

	in.Now = time.Date(2026, 6, 4, 8, 20, 0, 0, time.UTC)
	assert.Equal(t, in.Now, byAbout(t, in, "dry hours", "2026-06-04 am", "0").From, "what is past is cut")
	in.Now = time.Date(2026, 6, 4, 9, 20, 0, 0, time.UTC)
	assert.Nil(t, byAbout(t, in, "dry hours", "2026-06-04 am", "0"), "less than an hour is left")
}

// An empty day must not read as a judged one.
func TestMissingWeatherIsSaid(t *testing.T) {
	for name, hours := range map[string][]plan.Hours{
		"none":    nil,
		"unknown": {{From: time.Date(2026, 6, 4, 0, 0, 0, 0, time.UTC), To: time.Date(2026, 6, 8, 0, 0, 0, 0, time.UTC), Unknown: true}},
		"past":    {{From: time.Date(2026, 6, 3, 0, 0, 0, 0, time.UTC), To: time.Date(2026, 6, 4, 4, 0, 0, 0, time.UTC), Good: true}},
	} {
		in := example(t)
		in.Hours = hours
		e := byAbout(t, in, "not known", "2026-06-04")
		require.NotNil(t, e, name)
		assert.Contains(t, e.Description, "not the same as no risk")
	}
}

func TestWalk(t *testing.T) {
	in := example(t)
	e := byAbout(t, in, "walk", "2026-06-07")
	require.NotNil(t, e, "the next Sunday")
	assert.Equal(t, on(6, 7), e.Day)
	assert.Contains(t, e.Description, "Bed 1: Tomato, late blight: Look at 10 plants")
	assert.Contains(t, e.Description, "Bed 2: Kale, cabbageworm")
	assert.NotContains(t, e.Description, "Bed 3")
	in.WalkOn = time.Thursday
	assert.NotNil(t, byAbout(t, in, "walk", "2026-06-04"), "today, when it is the day")

	// The step begins today in every round: the entry stays where it is.
	in.WalkOn = time.Sunday
	for range 4 {
		in.Now = in.Now.AddDate(0, 0, 1)
		for i := range in.Assessments {
			in.Assessments[i].Round = in.Now
			for j := range in.Assessments[i].Steps {
				if s := &in.Assessments[i].Steps[j]; s.Kind == plan.Scout {
					s.From, s.By = civil.Of(in.Now, in.loc()), civil.Of(in.Now, in.loc())+7
				}
			}
		}
		want := "2026-06-07"
		if civil.Of(in.Now, in.loc()) > on(6, 7) {
			want = "2026-06-14"
		}
		assert.NotNil(t, byAbout(t, in, "walk", want), in.Now)
	}
	for i := range in.Assessments {
		in.Assessments[i].Round = in.Now.Add(-25 * time.Hour)
	}
	assert.Nil(t, byAbout(t, in, "walk", "2026-06-14"), "a round that is a day old no longer stands")
}

func TestLastDays(t *testing.T) {
	in := example(t)
	e := byAbout(t, in, "last day", "tom-1", "late-blight")
	require.NotNil(t, e)
	assert.Equal(t, on(6, 9), e.Day)
	assert.Equal(t, on(6, 10), e.Until, "the end of whole days is the day after (RFC 5545, 3.6.1)")
	assert.Contains(t, e.Description, "Take off the lowest leaves.")
	assert.Equal(t, "https://beds.example.org/site/long-field/planting/tom-1/threat/late-blight", e.URL)
	in.Assessments[0].Steps[0].By = on(6, 3)
	in.Assessments[0].Steps[1].By = on(6, 12)
	e = byAbout(t, in, "last day", "tom-1", "late-blight")
	require.NotNil(t, e)
	assert.Equal(t, on(6, 12), e.Day, "a day that has passed is none; the entry keeps its name")
}

// The clocks follow the label values that were typed, and nothing else.
func TestClocks(t *testing.T) {
	in := example(t)
	e := byAbout(t, in, "keep out", "r1")
	require.NotNil(t, e)
	assert.Equal(t, time.Date(2026, 6, 3, 17, 0, 0, 0, time.UTC), e.From)
	assert.Equal(t, time.Date(2026, 6, 4, 18, 0, 0, 0, time.UTC), e.To, "24 hours from the end of the work")
	e = byAbout(t, in, "no harvest", "r1")
	require.NotNil(t, e)
	assert.Equal(t, on(6, 3), e.Day)
	assert.Equal(t, on(6, 10), e.Until, "with 7 days, work on the 3rd allows harvest on the 10th")
	assert.Contains(t, e.Description, "10 June 2026")
	e = byAbout(t, in, "label", "r2")
	require.NotNil(t, e, "values that were not typed are asked for")
	assert.Contains(t, e.Description, "days before harvest")
	assert.Contains(t, e.Description, "hours before re-entry")
	assert.Contains(t, e.Description, "does not mean that there is none")
	for _, id := range []string{"r3", "r4", "r5"} {
		for _, about := range []string{"keep out", "no harvest", "label"} {
			assert.Nil(t, byAbout(t, in, about, id), "%s of %s", about, id)
		}
	}
	in.Person = garden.Person{ID: "warden"}
	assert.NotNil(t, byAbout(t, in, "keep out", "r3"), "someone without a plot sees all")

	in.Records[1].Kind = garden.KindHomeMix
	assert.Nil(t, byAbout(t, in, "label", "r2"), "a home mix has no label")
	in.Records[1].Kind, in.Records[1].Label.ReEntryDry = "", true
	assert.Contains(t, byAbout(t, in, "label", "r2").Description, "keep out until it is dry")
}

func TestNamesTellNothingAndDifferByInstallation(t *testing.T) {
	in := example(t)
	seen := map[string]bool{}
	for _, e := range in.events() {
		assert.False(t, seen[e.UID], "name given twice: %s", e.Summary)
		seen[e.UID] = true
		assert.NotContains(t, e.UID, "ada")
	}
	in.Home = "https://other.example.org"
	for _, e := range in.events() {
		assert.False(t, seen[e.UID])
	}
}

func TestLinksOnlyWithPages(t *testing.T) {
	in := example(t)
	in.Home = "beds"
	for _, e := range in.events() {
		assert.Empty(t, e.URL)
	}
}

func TestETag(t *testing.T) {
	a, _, err := Make(example(t), nil)
	require.NoError(t, err)
	b, _, err := Make(example(t), nil)
	require.NoError(t, err)
	assert.Equal(t, ETag(a), ETag(b))
	assert.NotEqual(t, ETag(a), ETag([]byte("x")))
	assert.Regexp(t, `^"[A-Za-z0-9_-]{24}"$`, ETag(a))
	assert.True(t, strings.HasSuffix(string(a), "END:VCALENDAR\r\n"))
}
