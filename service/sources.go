package service

import (
	"fmt"

	"plotwarden/service/config"
	"plotwarden/weather/archive"
	"plotwarden/weather/metno"
	"plotwarden/weather/nws"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// sources makes the configured weather sources.
func sources(c *config.Weather, version string, m *Metrics, b *budgets) ([]Source, error) {
	agent := "plotwarden/" + version
	if c.Contact != "" {
		agent += " (" + c.Contact + ")"
	}
	var out []Source
	for i := range c.Sources {
		s := &c.Sources[i]
		made, err := makeSource(s, source.Options{Name: s.Name, UserAgent: agent, Retries: 2, Hooks: m.hooks()}, b)
		if err != nil {
			return nil, fmt.Errorf("weather source %s: %w", s.Name, err)
		}
		out = append(out, made)
	}
	return out, nil
}

func makeSource(s *config.Source, o source.Options, b *budgets) (Source, error) {
	switch s.Kind {
	case config.OpenMeteo:
		key, err := s.Key()
		if err != nil {
			return nil, err
		}
		client, err := openmeteo.New(openmeteo.Config{
			ForecastURL: s.ForecastURL, ArchiveURL: s.ArchiveURL, EnsembleURL: s.EnsembleURL, Key: key, Cell: openmeteo.DefaultCell, FreeBudget: b.free, Source: o,
		})
		return &OpenMeteo{Client: client, PastDays: s.PastDays, AheadDays: s.ForecastDays, EnsembleSites: s.Ensembles(), Sites: s.Sites}, err
	case config.NWS:
		client, err := nws.New(nws.Config{BaseURL: s.URL, Source: o})
		return &NWS{Client: client, Station: s.Station, Sites: s.Sites}, err
	case config.METNorway:
		client, err := metno.New(metno.Config{URL: s.URL, Source: o})
		return &METNorway{Client: client, Sites: s.Sites}, err
	case config.Archive:
		client, err := archive.New(archive.Config{AccessURL: s.URL, Source: o})
		return &Archive{Client: client, ID: s.Name, Station: s.Station, Sites: s.Sites}, err
	case config.Station:
		return newStation(s)
	}
	return nil, fmt.Errorf("kind %q is not known", s.Kind)
}

// credits returns the lines that the sources' licences ask for, each once.
func credits(ss []Source) []string {
	var out []string
	seen := map[source.Attribution]bool{{}: true}
	for _, s := range ss {
		a := s.Attribution()
		if seen[a] {
			continue
		}
		seen[a] = true
		out = append(out, fmt.Sprintf("%s (%s, %s)", a.Text, a.URL, a.Licence))
	}
	return out
}
