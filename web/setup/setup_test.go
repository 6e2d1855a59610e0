package setup

import (
	"errors"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/store"
)

func TestAGroundFromAPlaceByName(t *testing.T) {
	s := newShed(t, nil)
	assert.Contains(t, s.get("/setup").Body.String(), "There is no ground yet")
	list := s.get("/setup/ground?q=Burlington,+VT").Body.String()
	assert.Contains(t, list, "Burlington, VT, United States")
	assert.Contains(t, list, "lat=44.476&amp;lon=-73.212")
	form := s.get("/setup/ground?lat=44.476&lon=-73.212&name=Burlington").Body.String()
	assert.Contains(t, form, `value="America/New_York"`)
	site := s.millLane()
	assert.Equal(t, garden.Metres(120), site.Elevation)
	assert.Len(t, site.Plots, 2)
	assert.Contains(t, s.get("/setup").Body.String(), "nothing planted yet")

	w := s.post("/setup/ground", "name", "Second", "latitude", "north", "longitude", "-73", "zone", "Amerika/New_York", "beds", "900")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "is not a number")
	assert.Contains(t, w.Body.String(), "Write a number from 0 to 200.")
	w = s.post("/setup/ground", "name", "Second", "latitude", "44", "longitude", "-73", "zone", "Amerika/New_York", "beds", "1")
	assert.Contains(t, w.Body.String(), "did you mean &#34;America/New_York&#34;")
	assert.Contains(t, w.Body.String(), `value="Second"`, "what was typed is still there")
	assert.Len(t, s.ground.Garden().Sites, 1)
}

// A bed is planted again at two touches.
func TestPlantingAgainAtTwoTouches(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	s.goes(s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "pea", "plantedOut", "2026-04-20"), "/setup/site/mill-lane?done=planted")
	assert.Contains(t, s.get("/setup/site/mill-lane").Body.String(), "/setup/site/mill-lane/plantings/pea-2026/end")
	s.goes(s.post("/setup/site/mill-lane/plantings/pea-2026/end"), "/setup/site/mill-lane/plots/bed-1/plant?done=ended")
	s.goes(s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "kale"), "/setup/site/mill-lane?done=planted")
	bed := s.ground.Now().Site("mill-lane").Plots[0]
	require.Len(t, bed.Plantings, 2)
	today := civil.New(2026, 6, 4)
	assert.Equal(t, today, bed.Plantings[0].Removed)
	assert.Equal(t, today, bed.Plantings[1].PlantedOut)
	assert.False(t, bed.Plantings[0].GrowingOn(today))
	assert.True(t, bed.Plantings[1].GrowingOn(today))
	assert.Contains(t, s.get("/setup/site/mill-lane/plots/bed-1").Body.String(), "ended 4 Jun 2026")

	// One entered by mistake goes, and its id is not used again: what was logged is
	// kept under it.
	s.goes(s.post("/setup/site/mill-lane/plantings/kale-2026/remove"), "/setup/site/mill-lane?done=removed")
	s.goes(s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "kale"), "/setup/site/mill-lane?done=planted")
	_, p := s.ground.Now().Site("mill-lane").Find("kale-2026-2")
	assert.NotNil(t, p)
}

func TestAPlantingIsChangedAndNobodyOverwritesAnother(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "tomato")
	_, p := s.ground.Now().Site("mill-lane").Find("tomato-2026")
	at := "/setup/site/mill-lane/plantings/tomato-2026"
	old := markOf(p)
	s.goes(s.post(at, "mark", old, "crop", "tomato", "cultivar", "Long Red", "plantedOut", "2026-05-20", "susceptibility", "resistant", "cover", "tunnel", "mulch", "straw", "irrigation", "drip"), "/setup/site/mill-lane?done=kept")
	_, p = s.ground.Now().Site("mill-lane").Find("tomato-2026")
	assert.Equal(t, &garden.Planting{ID: "tomato-2026", Crop: "tomato", Cultivar: "Long Red", PlantedOut: civil.New(2026, 5, 20), Susceptibility: garden.Resistant, Cover: garden.Tunnel, Mulch: garden.Straw, Irrigation: garden.Drip}, p)
	w := s.post(at, "mark", old, "crop", "tomato", "cultivar", "Yellow", "plantedOut", "2026-05-21")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "Somebody else changed this meanwhile")
	assert.Contains(t, w.Body.String(), "Yellow", "what was typed is still there")
	w = s.post(at, "mark", markOf(p), "crop", "tomato", "plantedOut", "2026-05-20", "removed", "2026-05-01")
	assert.Contains(t, w.Body.String(), "is not after the planting")
}

func TestHistoryAndBringingBack(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "tomato")
	versions, err := s.ground.Sites.Versions(t.Context(), "mill-lane")
	require.NoError(t, err)
	s.goes(s.post("/setup/site/mill-lane/remove"), "/setup/history/site/mill-lane?done=removed")
	assert.Nil(t, s.ground.Now().Site("mill-lane"))
	page := s.get("/setup/history/site/mill-lane").Body.String()
	assert.Contains(t, page, "Now: Removed")
	assert.Contains(t, page, "planted tomato")
	assert.Contains(t, page, "Bring back")
	s.goes(s.post("/setup/history/site/mill-lane", "rev", itoa(versions[1].Rev)), "/setup/site/mill-lane?done=restored")
	_, p := s.ground.Now().Site("mill-lane").Find("tomato-2026")
	assert.NotNil(t, p)
	assert.Equal(t, http.StatusNotFound, s.get("/setup/history/setting/mail").Code, "settings hold what is not for everybody")
	assert.Equal(t, http.StatusNotFound, s.post("/setup/history/site/mill-lane", "rev", "99").Code)
}

func TestWhatTheFileHasIsShownAndNotChanged(t *testing.T) {
	s := newShed(t, fileGarden())
	body := s.get("/setup/site/written").Body.String()
	assert.Contains(t, body, "set in the configuration file")
	assert.NotContains(t, body, "<form", "nothing to change")
	for _, path := range []string{"/setup/site/written", "/setup/site/written/plots", "/setup/site/written/plots/a", "/setup/site/written/plots/a/plant", "/setup/site/written/plantings/peas/end", "/setup/site/written/remove", "/setup/people/ash"} {
		w := s.post(path, "name", "X", "plot", "Y", "crop", "kale", "zone", "UTC")
		assert.Equal(t, http.StatusForbidden, w.Code, path)
	}
	assert.Equal(t, fileGarden().Sites, s.ground.Garden().Sites)
}

func TestPeopleAndTheirWishes(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	s.goes(s.post("/setup/people", "name", "Wren", "email", "wren@plot.example", "sites", "mill-lane"), "/setup/people/wren?done=person")
	p := s.ground.Now().Person("wren")
	w := s.post("/setup/people/wren", "mark", markOf(p), "name", "Wren", "email", "wren@plot.example", "sites", "mill-lane", "units", "us", "language", "es", "digest", "05:30", "weekly", "sunday",
		"quietFrom", "21:00", "quietTo", "06:00", "quiet", "yes", "holidays", "2026-07-01 to 2026-07-14\n", "mute", "Late blight until 2026-08-31\n", "webhook", "https://hooks.example/x")
	require.Equal(t, http.StatusOK, w.Code, w.Body.String())
	assert.Contains(t, w.Body.String(), "whsec_drawn", "the secret is shown once")
	assert.Equal(t, "whsec_drawn", s.run.secrets[ground.WebhookSecret+"wren"])
	assert.NotContains(t, s.get("/setup/people/wren").Body.String(), "whsec_drawn")
	p = s.ground.Now().Person("wren")
	assert.Equal(t, garden.US, p.Units)
	assert.Equal(t, garden.Spanish, p.Language)
	assert.Equal(t, garden.ClockTime("05:30"), p.Digest)
	assert.Equal(t, garden.QuietHours{From: 21 * 60, To: 6 * 60}, p.QuietHours)
	assert.True(t, p.Quiet)
	assert.Equal(t, []garden.Mute{{Threat: "late-blight", Until: civil.New(2026, 8, 31)}}, p.Mute)
	assert.Equal(t, []garden.Holiday{{From: civil.New(2026, 7, 1), To: civil.New(2026, 7, 14)}}, p.Holidays)

	w = s.post("/setup/people/wren", "mark", markOf(p), "name", "Wren", "email", "not one", "quietFrom", "21:00", "mute", "nothing such", "holidays", "soon")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	for _, want := range []string{"Write both hours", "has no day at its end", "is not two days of the form"} {
		assert.Contains(t, w.Body.String(), want)
	}
	assert.Equal(t, "wren@plot.example", s.ground.Now().Person("wren").Email)

	s.goes(s.post("/setup/people/wren/test", "channel", "email"), "/setup/people/wren?done=sent")
	s.goes(s.post("/setup/people/wren/test", "channel", "webhook"), "/setup/people/wren?done=sent")
	assert.Equal(t, []string{"wren@plot.example", "hook wren"}, s.run.tests)
	s.run.refuse = errors.New("550 no such mailbox")
	w = s.post("/setup/people/wren/test", "channel", "email")
	assert.Equal(t, http.StatusBadGateway, w.Code)
	assert.Contains(t, w.Body.String(), "550 no such mailbox")

	// The person's own page changes the same, but neither name nor grounds.
	s.who = access.Of(s.ground.Garden(), "wren", access.Grower)
	s.who.Check, s.who.Via = "secret", access.BySession
	assert.Contains(t, s.get("/you").Body.String(), "Hour of the morning message")
	p = s.ground.Now().Person("wren")
	s.goes(s.post("/you", "mark", markOf(p), "name", "Queen", "email", "wren@plot.example", "sites", "", "webhook", p.Webhook.URL), "/you?done=kept")
	p = s.ground.Now().Person("wren")
	assert.Equal(t, "Wren", p.Name)
	assert.Equal(t, []string{"mill-lane"}, p.Sites)
	assert.Empty(t, p.Units)
	assert.Equal(t, "https://hooks.example/x", p.Webhook.URL)
}

func TestYouWithoutAnEntryOfYourOwn(t *testing.T) {
	s := newShed(t, fileGarden())
	assert.Contains(t, s.get("/you").Body.String(), "not among the people")
	assert.Equal(t, http.StatusNotFound, s.post("/you", "email", "x@y.example").Code)
	s.who = access.Of(s.ground.Garden(), "ash", access.Reader)
	s.who.Check = "secret"
	assert.Contains(t, s.get("/you").Body.String(), "configuration file")
	assert.Equal(t, http.StatusForbidden, s.post("/you", "email", "x@y.example").Code)
}

// We fill in nothing of a label.
func TestMaterialsFromTheLabel(t *testing.T) {
	s := newShed(t, nil)
	s.goes(s.post("/setup/materials", "name", "Copper", "ingredient", "copper octanoate", "kind", "copper", "preHarvestDays", "0", "maxTemp", "90 F", "crops", "Tomato, pepper"), "/setup/materials/copper?done=kept")
	m := s.ground.Now().Material("copper")
	require.NotNil(t, m.PreHarvestDays)
	assert.Zero(t, *m.PreHarvestDays)
	assert.Nil(t, m.ReEntryHours)
	assert.Zero(t, m.IntervalDays)
	assert.Nil(t, m.MinTemp)
	assert.InDelta(t, 32.2, float64(*m.MaxTemp), 0.1)
	assert.Equal(t, []string{"tomato", "pepper"}, m.Crops)
	assert.Contains(t, s.get("/setup/materials/copper").Body.String(), "Not typed yet: days between two uses")
	w := s.post("/setup/materials", "name", "Nameless", "maxTemp", "90", "crops", "tomatto", "kind", "copper")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "write the unit that the label uses")
	w = s.post("/setup/materials/copper", "mark", markOf(m), "name", "Copper", "kind", "copper")
	assert.Contains(t, w.Body.String(), "Material has no ingredient")
}

func TestMailServerAndItsPassword(t *testing.T) {
	s := newShed(t, nil)
	s.goes(s.post("/setup/messages", "host", "mail.example", "port", "587", "tls", "starttls", "username", "beds", "password", "four words in a row", "from", "beds@mail.example"), "/setup/messages?done=kept")
	assert.Equal(t, "four words in a row", s.run.secrets[ground.MailSecret])
	var m ground.Mail
	ok, err := s.ground.Now().Setting(ground.MailSetting, &m)
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, ground.Mail{Host: "mail.example", Port: 587, TLS: "starttls", Username: "beds", From: "beds@mail.example", Secret: true}, m)
	versions, err := s.store.ThingVersions(t.Context(), store.SettingThing, ground.MailSetting)
	require.NoError(t, err)
	assert.NotContains(t, string(versions[0].Body), "four words", "versions are kept for good; passwords are not among them")

	s.run.force.Mail = m
	assert.NotContains(t, s.get("/setup/messages").Body.String(), "four words")
	// Another server does not get the password of this one.
	s.goes(s.post("/setup/messages", "host", "elsewhere.example", "port", "587", "tls", "starttls", "username", "beds", "from", "beds@mail.example"), "/setup/messages?done=kept")
	_, err = s.ground.Now().Setting(ground.MailSetting, &m)
	require.NoError(t, err)
	w := s.post("/setup/messages", "host", "", "port", "587", "tls", "starttls", "from", "x@mail.example")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "Write the name of the mail server")
	s.goes(s.post("/setup/messages/test", "to", "a@plot.example"), "/setup/messages?done=sent")
	assert.Equal(t, []string{"a@plot.example"}, s.run.tests)
	s.run.force.MailFixed = true
	assert.Equal(t, http.StatusForbidden, s.post("/setup/messages", "host", "x").Code)
	assert.Contains(t, s.get("/setup/messages").Body.String(), "set in the configuration file")
}

func TestStationsAndSources(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	w := s.post("/setup/weather/stations", "station", "shed", "site", "mill-lane")
	require.Equal(t, http.StatusOK, w.Code)
	var st ground.Station
	ok, err := s.ground.Now().Setting(ground.StationPrefix+"shed", &st)
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, "mill-lane", st.Site)
	assert.Len(t, st.Digest, 64, "only the digest of the token is kept")
	assert.Contains(t, w.Body.String(), `class="secret"`)
	assert.NotContains(t, s.get("/setup/weather").Body.String(), `class="secret"`)
	assert.Contains(t, s.post("/setup/weather/stations", "station", "shed", "site", "mill-lane").Body.String(), "already")
	s.goes(s.post("/setup/weather", "kinds", "nws", "kinds", "open-meteo", "contact", "a@plot.example"), "/setup/weather?done=kept")
	var x ground.Weather
	_, err = s.ground.Now().Setting(ground.WeatherSetting, &x)
	require.NoError(t, err)
	assert.Equal(t, []string{"nws", "open-meteo"}, x.Kinds)
	s.goes(s.post("/setup/weather/stations/shed/remove"), "/setup/weather?done=kept")
	assert.Empty(t, s.ground.Now().Settings(ground.StationPrefix))
	s.run.force.SourcesFixed = true
	assert.Equal(t, http.StatusForbidden, s.post("/setup/weather", "kinds", "nws").Code)
}

func TestRegions(t *testing.T) {
	s := newShed(t, fileGarden())
	s.goes(s.post("/setup/regions", "name", "The Valley"), "/setup/regions/the-valley?done=kept")
	x := s.ground.Now().Region("the-valley")
	s.goes(s.post("/setup/regions/the-valley", "mark", markOf(x), "name", "Valley", "sites", "written", "volunteers", "ash"), "/setup/regions/the-valley?done=kept")
	assert.Equal(t, &garden.Region{ID: "the-valley", Name: "Valley", Sites: []string{"written"}, Volunteers: []string{"ash"}}, s.ground.Now().Region("the-valley"))
	s.goes(s.post("/setup/regions/the-valley/remove"), "/setup/history/region/the-valley?done=removed")
}

// Every route of set-up, by role: what is not for somebody is not there for them.
func TestWhoMaySetUp(t *testing.T) {
	s := newShed(t, nil)
	s.millLane()
	_, err := s.ground.People.Add(t.Context(), ground.By{}, garden.Person{ID: "elm", Name: "Elm", Sites: []string{"mill-lane"}})
	require.NoError(t, err)
	require.NoError(t, s.ground.Sites.Change(t.Context(), ground.By{}, "mill-lane", func(x *garden.Site) error { x.Plots[0].Grower = "elm"; return nil }))
	manage := []string{"/setup/ground", "/setup/people", "/setup/people/elm", "/setup/regions", "/setup/materials", "/setup/messages", "/setup/weather", "/setup/history/person/elm"}
	as := func(role access.Role) {
		s.who = access.Of(s.ground.Garden(), "elm", role)
		s.who.Check, s.who.Via = "secret", access.BySession
	}
	for _, role := range []access.Role{access.Volunteer, access.Grower, access.Reader} {
		as(role)
		for _, path := range manage {
			assert.Equal(t, http.StatusNotFound, s.get(path).Code, "%s %s", role, path)
			assert.Equal(t, http.StatusNotFound, s.post(path, "name", "X").Code, "%s %s", role, path)
		}
		assert.Equal(t, http.StatusOK, s.get("/setup").Code)
		assert.Equal(t, http.StatusOK, s.get("/you").Code)
		assert.Equal(t, http.StatusOK, s.get("/setup/site/mill-lane").Code)
	}
	as(access.Grower)
	assert.Equal(t, http.StatusSeeOther, s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "kale").Code, "the own bed")
	assert.Equal(t, http.StatusForbidden, s.post("/setup/site/mill-lane/plots/bed-2/plant", "crop", "kale").Code, "another's")
	assert.Equal(t, http.StatusForbidden, s.post("/setup/site/mill-lane", "name", "X").Code)
	as(access.Reader)
	assert.Equal(t, http.StatusForbidden, s.post("/setup/site/mill-lane/plots/bed-1/plant", "crop", "kale").Code)
	assert.Equal(t, http.StatusForbidden, s.get("/setup/site/mill-lane/import").Code)
	s.who = access.Of(s.ground.Garden(), "yew", access.Grower)
	assert.Equal(t, http.StatusNotFound, s.get("/setup/site/mill-lane").Code)
}
