package config

import (
	"net/url"
	"slices"
	"strings"

	"plotwarden/strict"
)

// Source is one weather source.
type Source struct {
	Name string `yaml:"name"` // in status, metrics and log; the kind when not written
	Kind string `yaml:"kind"` // one of Kinds
	// The services' whole addresses without a query; empty is the public one.
	ForecastURL  string `yaml:"forecast_url"`
	ArchiveURL   string `yaml:"archive_url"`
	APIKeyFile   string `yaml:"api_key_file"`  // file that holds nothing but the key of a paid plan
	PastDays     int    `yaml:"past_days"`     // past days to ask for with each forecast
	ForecastDays int    `yaml:"forecast_days"` // days ahead to ask for
}

// OpenMeteo is the kind of a service that speaks Open-Meteo's protocol.
const OpenMeteo = "open-meteo"

// Kinds are the kinds of weather source.
var Kinds = []string{OpenMeteo}

// Key reads the key, or returns an empty one when none is configured.
func (s *Source) Key() (string, error) { return secret(s.APIKeyFile) }

// Limits of Open-Meteo's forecast, from its API description.
const maxPastDays, maxForecastDays = 92, 16

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
			at := any(&s.Name)
			if !c.where.Has(at) {
				at = s
			}
			c.fault(at, "weather source %q stands twice; give each a name of its own", s.Name)
		}
		names[s.Name] = true
	}
	if w.Contact != "" && (!strings.Contains(w.Contact, "@") && !strings.Contains(w.Contact, "://") || strings.ContainsAny(w.Contact, "\r\n()")) {
		c.fault(&w.Contact, "contact %q is neither an e-mail address nor a web page", w.Contact)
	}
	c.durationIn(&w.FetchEvery, "fetch_every", 10*Minute, 24*Hour)
	c.durationIn(&w.StaleAfter, "stale_after", 2*Hour, 7*Day)
	c.in(&w.HistoryYears, "history_years", 0, 40)
}

func (c *checker) source(s *Source) {
	switch {
	case s.Kind == "":
		c.missing(s, &s.Kind, "weather source has no kind; known are: %s", strings.Join(Kinds, ", "))
	case !slices.Contains(Kinds, s.Kind):
		c.fault(&s.Kind, "%s", strict.Unknown("kind of weather source", s.Kind, Kinds))
	}
	for _, at := range []*string{&s.ForecastURL, &s.ArchiveURL} {
		if u, ok := c.address(at); ok && u.RawQuery != "" {
			c.fault(at, "address %q: leave out the part from ? on; the service writes its own", *at)
		} else if ok && s.APIKeyFile != "" && freeHosts[strings.ToLower(u.Hostname())] {
			c.fault(at, "the free address %s refuses a key; leave the address out to use the one for keys", u.Hostname())
		}
	}
	c.in(&s.PastDays, "past_days", 0, maxPastDays)
	c.in(&s.ForecastDays, "forecast_days", 1, maxForecastDays)
}

var freeHosts = map[string]bool{"api.open-meteo.com": true, "archive-api.open-meteo.com": true}

// address checks a web address, if one is written.
func (c *checker) address(at *string) (*url.URL, bool) {
	if *at == "" {
		return nil, false
	}
	u, err := url.Parse(*at)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || u.User != nil || u.Fragment != "" {
		c.fault(at, "%q is not a web address of the form https://host/path", *at)
		return nil, false
	}
	return u, true
}
