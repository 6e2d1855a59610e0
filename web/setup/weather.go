package setup

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"
	"strings"

	"plotwarden/ground"
	"plotwarden/web/page"
)

func (s *server) weatherPage(w http.ResponseWriter, r *http.Request) {
	if s.manage(w, r) {
		s.showWeather(w, r, http.StatusOK, &sent{}, &sent{}, nil)
	}
}

// kindWords say what is to be known of a source before it is chosen.
func kindWords(t func(string, ...any) string, kind string) string {
	switch kind {
	case "open-meteo":
		return t("Open-Meteo: the whole world, past years too; free for what earns no money")
	case "nws":
		return t("US National Weather Service: the United States; needs a contact")
	case "met-norway":
		return t("MET Norway: the whole world, forecast only; needs a contact")
	}
	return kind
}

func (s *server) showWeather(w http.ResponseWriter, r *http.Request, status int, f, st *sent, secret *Secret) {
	t, force := s.Kit.T(r), s.Runtime.Force()
	v := View{Back: s.back(t), Title: t("Weather"), Done: words(t, r), Secret: secret, Lead: t("Where measured and forecast weather comes from. Several may be asked; the first has the last word.")}
	if force.SourcesFixed {
		v.Fixed = t("The sources are set in the configuration file and are changed there.")
	} else {
		now := force.Weather.Kinds
		if f.posted {
			now = f.v["kinds"]
		}
		group := Group{Legend: t("Sources"), Name: "kinds", Fault: f.faults["kinds"]}
		kinds := append(slices.Clone(now), s.Runtime.Kinds()...)
		for i, k := range kinds {
			if slices.Index(kinds, k) == i && slices.Contains(s.Runtime.Kinds(), k) {
				group.Choices = append(group.Choices, page.Choice{Value: k, Text: kindWords(t, k), Chosen: slices.Contains(now, k)})
			}
		}
		form := Form{Title: t("Services"), Action: "/setup/weather", Submit: t("Keep"), Groups: []Group{group}}
		if !force.ContactFixed {
			form.Fields = []page.Field{{Name: "contact", Label: t("Contact"), Value: force.Weather.Contact, Hint: t("Your e-mail address or web page. It is sent with each request, so that a weather service can reach you."), Max: 200}}
			delete(f.faults, "kinds")
			f.fill(form.Fields)
		}
		v.Forms = append(v.Forms, form)
	}
	l := List{Title: t("Own stations"), Empty: t("None. A station in the beds is believed before any forecast.")}
	for _, name := range s.Ground.Now().Settings(ground.StationPrefix) {
		var x ground.Station
		if ok, err := s.Ground.Now().Setting(name, &x); err != nil || !ok {
			continue
		}
		name = strings.TrimPrefix(name, ground.StationPrefix)
		site := s.Ground.Now().Site(x.Site)
		where := x.Site
		if site != nil {
			where = siteName(site)
		}
		l.Rows = append(l.Rows, Row{Text: name, Sub: t("stands on %s; sends to %s", where, ownAddress(r)+"/station/"+name), Acts: []Act{{Text: t("Remove"), About: name, Action: "/setup/weather/stations/" + name + "/remove"}}})
	}
	v.Lists = []List{l}
	if len(s.Ground.Garden().Sites) > 0 {
		sites := []page.Choice{}
		for i := range s.Ground.Garden().Sites {
			x := &s.Ground.Garden().Sites[i]
			sites = append(sites, page.Choice{Value: x.ID, Text: siteName(x)})
		}
		form := Form{Title: t("Add a station"), Lead: t("A token is made here and shown once. The station sends it with each reading."), Action: "/setup/weather/stations", Submit: t("Make a token"), Quiet: true, Fields: []page.Field{
			{Name: "station", Label: t("Name of the station"), Hint: t("Small letters, digits and hyphens: shed"), Required: true, Max: 64},
			{Name: "site", Label: t("Where it stands"), Type: "select", Choices: sites},
		}}
		st.fill(form.Fields)
		v.Forms = append(v.Forms, form)
	}
	s.show(w, r, status, v)
}

func (s *server) changeWeather(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	force, f := s.Runtime.Force(), sentBy(r)
	if force.SourcesFixed {
		s.fail(w, r, ground.ErrFile)
		return
	}
	x := ground.Weather{Kinds: f.v["kinds"], Contact: f.text("contact")}
	if force.ContactFixed {
		x.Contact = force.Weather.Contact
	}
	if s.settingFaults(f, s.Runtime.Check(&x)) {
		s.showWeather(w, r, http.StatusUnprocessableEntity, f, &sent{}, nil)
		return
	}
	if err := s.Ground.PutSetting(r.Context(), s.by(r, "changed the weather sources"), ground.WeatherSetting, x); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-setting", ground.WeatherSetting, strings.Join(x.Kinds, " "))
	s.done(w, r, "/setup/weather", "kept")
}

// StationNames is a Runtime that knows which names of stations will do.
type StationNames interface {
	// CheckStation says what is wrong with a name, also that the file has it.
	CheckStation(name string) error
}

func (s *server) addStation(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	st, t := sentBy(r), s.Kit.T(r)
	name, site := st.text("station"), st.text("site")
	if c, ok := s.Runtime.(StationNames); ok {
		if err := c.CheckStation(name); err != nil {
			st.faults["station"] = upperFirst(err.Error())
		}
	}
	if taken, _ := s.Ground.Now().Setting(ground.StationPrefix+name, new(ground.Station)); taken {
		st.faults["station"] = t("There is a station of that name already.")
	}
	if s.Ground.Now().Site(site) == nil {
		st.faults["site"] = t("Choose where it stands.")
	}
	if st.err() != nil {
		s.showWeather(w, r, http.StatusUnprocessableEntity, &sent{}, st, nil)
		return
	}
	token := rand.Text()
	digest := sha256.Sum256([]byte(token))
	if err := s.Ground.PutSetting(r.Context(), s.by(r, "added a station"), ground.StationPrefix+name, ground.Station{Site: site, Digest: hex.EncodeToString(digest[:])}); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "added-station", name, site)
	lead := t("The token of %s, shown this once. It posts JSON to %s with the header “Authorization: Bearer” and the token; a console puts the token into PASSWORD.", name, ownAddress(r)+"/station/"+name)
	s.showWeather(w, r, http.StatusOK, &sent{}, &sent{}, &Secret{lead, token})
}

func (s *server) removeStation(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	name := r.PathValue("station")
	if err := s.Ground.DropSetting(r.Context(), s.by(r, "removed a station"), ground.StationPrefix+name); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "removed-station", name, "")
	s.done(w, r, "/setup/weather", "kept")
}
