package config

import (
	"plotwarden/plan"
	"plotwarden/strict"
)

// Defaults returns a configuration with every default and nothing else. It is
// the only place where they stand.
func Defaults() Config {
	r := plan.DefaultRules()
	return Config{
		Store:  "plotwarden.db",
		Listen: "127.0.0.1:8080",
		Weather: Weather{
			Sources:       []Source{defaultSource(Source{Kind: OpenMeteo}, notWritten)},
			FetchEvery:    60 * Minute,
			StaleAfter:    Duration(r.StaleHours) * Hour,
			HistoryYears:  10,
			KeepForecasts: 400 * Day,
		},
		Mail:   Mail{TLS: StartTLS},
		Digest: Digest{At: Clock{6, 0}},
		Log:    Log{Level: "info"},
		Rules:  Rules{r.ApproachingDays, r.ActDays, r.LastingDays, r.InfectionDays},
	}
}

// mailPorts are those registered for mail submission and relay.
var mailPorts = map[string]int{StartTLS: 587, TLS: 465, NoTLS: 25}

// fill sets the defaults that depend on what was written.
func fill(c *Config, w *strict.Where) {
	for i := range c.Weather.Sources {
		s := &c.Weather.Sources[i]
		written := *s
		*s = defaultSource(written, func(field string) bool {
			return field == "past_days" && w.Has(&s.PastDays) || field == "forecast_days" && w.Has(&s.ForecastDays)
		})
	}
	if !w.Has(&c.Mail.Port) {
		c.Mail.Port = mailPorts[StartTLS]
		if p, ok := mailPorts[c.Mail.TLS]; ok {
			c.Mail.Port = p
		}
	}
}

func notWritten(string) bool { return false }

// defaultSource fills a source. Seven past days bridge the delay after which
// the archive of past weather begins; sixteen days is all that the forecast has.
func defaultSource(s Source, written func(field string) bool) Source {
	if s.Name == "" {
		s.Name = s.Kind
	}
	switch s.Kind {
	case OpenMeteo:
		if !written("past_days") {
			s.PastDays = 7
		}
		if !written("forecast_days") {
			s.ForecastDays = 16
		}
	case Station:
		if s.MQTT.ClientID == "" {
			s.MQTT.ClientID = "plotwarden-" + s.Name
		}
	}
	return s
}
