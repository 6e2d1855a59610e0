package service

import (
	"fmt"

	"plotwarden/service/config"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// sources makes the configured weather sources.
func sources(c *config.Weather, version string, m *Metrics) ([]Source, error) {
	agent := "plotwarden/" + version
	if c.Contact != "" {
		agent += " (" + c.Contact + ")"
	}
	var out []Source
	for i := range c.Sources {
		s := &c.Sources[i]
		if s.Kind != config.OpenMeteo {
			return nil, fmt.Errorf("weather source %s: kind %q is not known", s.Name, s.Kind)
		}
		key, err := s.Key()
		if err != nil {
			return nil, fmt.Errorf("weather source %s: %w", s.Name, err)
		}
		client, err := openmeteo.New(openmeteo.Config{
			ForecastURL: s.ForecastURL, ArchiveURL: s.ArchiveURL, Key: key,
			Source: source.Options{Name: s.Name, UserAgent: agent, Retries: 2, Hooks: m.hooks()},
		})
		if err != nil {
			return nil, fmt.Errorf("weather source %s: %w", s.Name, err)
		}
		out = append(out, &OpenMeteo{Client: client, PastDays: s.PastDays, AheadDays: s.ForecastDays})
	}
	return out, nil
}

// credits returns the lines that the sources' licences ask for.
func credits(ss []Source) []string {
	var out []string
	for _, s := range ss {
		a := s.Attribution()
		out = append(out, fmt.Sprintf("%s (%s, %s)", a.Text, a.URL, a.Licence))
	}
	return out
}
