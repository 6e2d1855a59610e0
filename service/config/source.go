package config

import (
	"math"
	"net/url"
	"strings"
)

// Source is one weather source. Which keys it takes depends on its kind.
type Source struct {
	Name string `yaml:"name"` // in status, metrics and log; the kind when not written
	Kind string `yaml:"kind"` // one of Kinds
	// Sites are the ids of the sites that it serves; none written is all. A
	// station stands on one.
	Sites []string `yaml:"sites"`

	// The services' whole addresses without a query; empty is the public one.
	ForecastURL string `yaml:"forecast_url"`
	ArchiveURL  string `yaml:"archive_url"`
	EnsembleURL string `yaml:"ensemble_url"`
	// Ensemble says whether to ask for ensemble forecasts. Not written, they are
	// asked for where that is cheap; see Ensembles.
	Ensemble     *bool  `yaml:"ensemble"`
	URL          string `yaml:"url"`           // of a service with one address
	APIKeyFile   string `yaml:"api_key_file"`  // file that holds nothing but the key of a paid plan
	PastDays     int    `yaml:"past_days"`     // past days to ask for with each forecast
	ForecastDays int    `yaml:"forecast_days"` // days ahead to ask for

	Station string `yaml:"station"` // nws: whose reports to take, as KCLE; archive: whose record, as USW00014839

	TokenFile string `yaml:"token_file"` // station: file that holds nothing but the token it sends
	MQTT      MQTT   `yaml:"mqtt"`       // station: where it publishes, beside or instead of HTTP

	// Digest is that of a station's token which is in no file, SHA-256 in hex.
	Digest string `yaml:"-"`
}

// MQTT is where a station publishes its readings.
type MQTT struct {
	Broker       string `yaml:"broker"`    // mqtt://host:1883, or mqtts://host:8883 with TLS
	Topic        string `yaml:"topic"`     // one topic, without wildcards
	ClientID     string `yaml:"client_id"` // "plotwarden-" and the source's name when not written
	Username     string `yaml:"username"`
	PasswordFile string `yaml:"password_file"` // file that holds nothing but the password
}

// On says whether a broker is configured.
func (m *MQTT) On() bool { return m.Broker != "" }

// Password reads the password, or returns an empty one when none is configured.
func (m *MQTT) Password() (string, error) { return secret(m.PasswordFile) }

// The kinds of weather source.
const (
	OpenMeteo = "open-meteo" // a service that speaks Open-Meteo's protocol
	NWS       = "nws"        // US National Weather Service
	METNorway = "met-norway" // MET Norway: forecast only
	Station   = "station"    // the grower's own
	Archive   = "archive"    // NOAA daily records of one station: past years only
)

// Kinds are the kinds of weather source.
var Kinds = []string{OpenMeteo, NWS, METNorway, Station, Archive}

// needsContact are the services that refuse a User-Agent without a contact.
var needsContact = map[string]string{NWS: "the US National Weather Service", METNorway: "MET Norway"}

// tellsPast are the kinds that know the hours just past.
var tellsPast = map[string]bool{OpenMeteo: true, NWS: true, Station: true}

// Key reads the key, or returns an empty one when none is configured.
func (s *Source) Key() (string, error) { return secret(s.APIKeyFile) }

// Token reads the token of a station; it is empty when none is configured.
func (s *Source) Token() (string, error) { return secret(s.TokenFile) }

// cheapEnsembles is up to how many sites ensembles are asked for unless the
// configuration says otherwise. A place costs about 25 of the free service's 10,000
// calls a day, twice a day.
const cheapEnsembles = 20

// Ensembles returns up to how many sites ensemble forecasts are asked for; more
// sites get none. A server of one's own has them only where its address is written.
func (s *Source) Ensembles() int {
	switch {
	case s.Ensemble != nil && *s.Ensemble:
		return math.MaxInt
	case s.Ensemble != nil, s.ForecastURL != "" && s.EnsembleURL == "":
		return 0
	}
	return cheapEnsembles
}

// Serves says whether the source is for a site.
func (s *Source) Serves(site string) bool {
	for _, id := range s.Sites {
		if id == site {
			return true
		}
	}
	return len(s.Sites) == 0
}

// secretFiles are the files that the source names.
func (s *Source) secretFiles() []*string {
	return []*string{&s.APIKeyFile, &s.TokenFile, &s.MQTT.PasswordFile}
}

// Limits of Open-Meteo's forecast, from its API description.
const maxPastDays, maxForecastDays = 92, 16

var freeHosts = map[string]bool{"api.open-meteo.com": true, "archive-api.open-meteo.com": true, "ensemble-api.open-meteo.com": true}

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

func isFree(u *url.URL) bool { return freeHosts[strings.ToLower(u.Hostname())] }
