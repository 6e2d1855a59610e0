package config

import (
	"net/url"
	"regexp"
	"slices"
	"strings"

	"plotwarden/strict"
	"plotwarden/weather/station"
)

func (c *checker) weather() {
	w := &c.cfg.Weather
	if len(w.Sources) == 0 {
		c.fault(&w.Sources, "no weather source; leave sources out to use %s", OpenMeteo)
	}
	names := map[string]bool{}
	for i := range w.Sources {
		s := &w.Sources[i]
		c.source(s)
		if s.Name != "" && names[s.Name] {
			c.fault(c.written(&s.Name, s), "weather source %q stands twice; give each a name of its own", s.Name)
		}
		names[s.Name] = true
	}
	if w.Contact != "" && (!strings.Contains(w.Contact, "@") && !strings.Contains(w.Contact, "://") || strings.ContainsAny(w.Contact, "\r\n()")) {
		c.fault(&w.Contact, "contact %q is neither an e-mail address nor a web page", w.Contact)
	}
	c.durationIn(&w.FetchEvery, "fetch_every", 10*Minute, 24*Hour)
	c.durationIn(&w.StaleAfter, "stale_after", 2*Hour, 7*Day)
	c.durationIn(&w.KeepForecasts, "keep_forecasts", 45*Day, maxDuration)
	c.in(&w.HistoryYears, "history_years", 0, 40)
	c.siteIDs(w.CorrectBias, w)
	c.pastOfSites()
}

// written returns at where its value was written, else the part that holds it.
func (c *checker) written(at, owner any) any {
	if c.where.Has(at) {
		return at
	}
	return owner
}

func (c *checker) source(s *Source) {
	switch {
	case s.Kind == "":
		c.missing(s, &s.Kind, "weather source has no kind; known are: %s", strings.Join(Kinds, ", "))
		return
	case !slices.Contains(Kinds, s.Kind):
		c.fault(&s.Kind, "%s", strict.Unknown("kind of weather source", s.Kind, Kinds))
	default:
		c.foreignKeys(s)
	}
	for _, at := range []*string{&s.ForecastURL, &s.ArchiveURL, &s.EnsembleURL, &s.URL} {
		if u, ok := c.address(at); ok && u.RawQuery != "" {
			c.fault(at, "address %q: leave out the part from ? on; the service writes its own", *at)
		} else if ok && s.APIKeyFile != "" && isFree(u) {
			c.fault(at, "the free address %s refuses a key; leave the address out to use the one for keys", u.Hostname())
		}
	}
	if who, ok := needsContact[s.Kind]; ok && c.cfg.Weather.Contact == "" && !c.refused(&c.cfg.Weather.Contact) {
		c.fault(&s.Kind, "%s refuses programs that do not say who runs them; write your e-mail address or web page under weather as contact", who)
	}
	c.siteIDs(s.Sites, s)
	switch s.Kind {
	case NWS:
		c.stationID(s, reportStation, false, "KCLE")
	case Archive:
		c.stationID(s, recordStation, true, "USW00014839")
	case Station:
		c.ownStation(s)
	case METNorway:
	default: // a misspelt kind is most likely the usual one
		c.in(&s.PastDays, "past_days", 0, maxPastDays)
		c.in(&s.ForecastDays, "forecast_days", 1, maxForecastDays)
	}
}

// foreignKeys refuses the keys that a source of this kind has no use for.
func (c *checker) foreignKeys(s *Source) {
	for _, k := range []struct {
		at    any
		key   string
		kinds []string
	}{
		{&s.ForecastURL, "forecast_url", []string{OpenMeteo}},
		{&s.ArchiveURL, "archive_url", []string{OpenMeteo}},
		{&s.EnsembleURL, "ensemble_url", []string{OpenMeteo}},
		{&s.Ensemble, "ensemble", []string{OpenMeteo}},
		{&s.APIKeyFile, "api_key_file", []string{OpenMeteo}},
		{&s.PastDays, "past_days", []string{OpenMeteo}},
		{&s.ForecastDays, "forecast_days", []string{OpenMeteo}},
		{&s.URL, "url", []string{NWS, METNorway, Archive}},
		{&s.Station, "station", []string{NWS, Archive}},
		{&s.TokenFile, "token_file", []string{Station}},
		{&s.MQTT, "mqtt", []string{Station}},
	} {
		if c.where.Has(k.at) && !slices.Contains(k.kinds, s.Kind) {
			c.fault(k.at, "%s has no meaning for the kind %s; it is for: %s", k.key, s.Kind, strings.Join(k.kinds, ", "))
		}
	}
}

var (
	reportStation = regexp.MustCompile(`^[A-Z0-9]{3,8}$`)
	recordStation = regexp.MustCompile(`^[A-Z]{2}[A-Z0-9]{9}$`)
	stationName   = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)
)

func (c *checker) stationID(s *Source, form *regexp.Regexp, needed bool, example string) {
	switch {
	case s.Station == "" && needed:
		c.missing(s, &s.Station, "%s has no station; write the id of the one whose record to use, as station: %s", s.Kind, example)
	case s.Station != "" && !form.MatchString(s.Station):
		c.fault(&s.Station, "station %q is not an id of capitals and digits, as %s", s.Station, example)
	}
}

func (c *checker) ownStation(s *Source) {
	if !stationName.MatchString(s.Name) {
		c.fault(c.written(&s.Name, s), "name %q of a station stands in its address; use lower-case letters, digits and hyphens only, 64 at most", s.Name)
	}
	if len(s.Sites) != 1 {
		c.fault(c.written(&s.Sites, s), "a station stands on one site; write its id, as sites: [%s]", c.firstSite())
	}
	m := &s.MQTT
	if s.TokenFile == "" && !c.where.Has(m) {
		c.missing(s, &s.TokenFile, "station %q has no way in; write token_file with the file that holds its token, or mqtt", s.Name)
	}
	if !c.where.Has(m) {
		return
	}
	if err := (station.MQTT{Broker: m.Broker, Topic: m.Topic, ClientID: m.ClientID}).Check(); err != nil {
		c.fault(m, "mqtt: %v", err)
	}
	switch {
	case m.Username == "" && m.PasswordFile != "":
		c.missing(&m.PasswordFile, &m.Username, "password_file without username")
	case m.Username != "" && m.PasswordFile == "":
		c.missing(&m.Username, &m.PasswordFile, "username without password_file; write the file that holds the password")
	case m.Username != "":
		if u, err := url.Parse(m.Broker); err == nil && u.Scheme == "mqtt" && !loopback(u.Hostname()) {
			c.warn(&m.Broker, "the password goes to %s in the clear; use mqtts if the broker takes it", u.Hostname())
		}
	}
}

func (c *checker) firstSite() string {
	if len(c.cfg.Sites) > 0 {
		return c.cfg.Sites[0].ID
	}
	return "millrace"
}

// siteIDs checks a list of sites.
func (c *checker) siteIDs(ids []string, owner any) {
	known := make([]string, len(c.cfg.Sites))
	for i := range known {
		known[i] = c.cfg.Sites[i].ID
	}
	for i := range ids {
		if at := &ids[i]; !slices.Contains(known, *at) {
			c.fault(c.written(at, owner), "%s", strict.Unknown("site", *at, known))
		} else if slices.Index(ids, *at) < i {
			c.fault(c.written(at, owner), "site %q stands twice", *at)
		}
	}
}

// pastOfSites warns of sites that no source tells the hours just past of: they
// would never be anything but blind.
func (c *checker) pastOfSites() {
	for i := range c.cfg.Sites {
		site := &c.cfg.Sites[i]
		if site.ID == "" || len(c.cfg.Weather.Sources) == 0 {
			continue
		}
		if !slices.ContainsFunc(c.cfg.Weather.Sources, func(s Source) bool {
			return s.Serves(site.ID) && (tellsPast[s.Kind] || !slices.Contains(Kinds, s.Kind))
		}) {
			c.warn(&site.ID, "no source tells the hours just past of site %s, so that it stays blind; add %s, %s or a %s", site.ID, OpenMeteo, NWS, Station)
		}
	}
}

// tokenFile looks at the token of a station.
func (c *checker) tokenFile(s *Source) {
	if text, err := s.Token(); err == nil && s.TokenFile != "" {
		if _, err := station.NewToken(text); err != nil {
			c.fault(&s.TokenFile, "%s: %v", s.TokenFile, err)
		}
	}
}
