package service

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/station"
)

// Imported says what became of a logger's file.
type Imported struct {
	Site     string
	From, To time.Time // of the hours kept; zero for none
	Hours    int       // kept: those with any value
	Problems []station.Problem
	Rejects  []weather.Reject // what the checks set aside
}

// ImportReadings reads a logger's file and keeps it as the hours of one of the
// configured stations, after the same checks as what the station sends. What was
// measured and fetched later stays. Importing a file again changes nothing.
func (h *Host) ImportReadings(ctx context.Context, name string, file io.Reader, m station.CSVMap) (Imported, error) {
	s := h.service
	var out Imported
	all := s.stations()
	i := slices.IndexFunc(all, func(st *Station) bool { return st.ID == name })
	if i < 0 {
		var names []string
		for _, st := range all {
			names = append(names, st.ID)
		}
		if names == nil {
			return out, fmt.Errorf("the configuration has no weather source of the kind station; add one for %q", name)
		}
		return out, fmt.Errorf("no station is named %q; known are: %s", name, strings.Join(names, ", "))
	}
	site, ok := s.site(all[i].Sites[0])
	if !ok {
		return out, fmt.Errorf("station %s: there is no site %s", name, all[i].Sites[0])
	}
	out.Site = site.ID
	obs, problems, err := station.ReadCSV(file, m)
	if out.Problems = problems; err != nil {
		return out, err
	}
	now := s.o.Now()
	obs = slices.DeleteFunc(obs, func(o station.Observation) bool { return o.Time.After(now.Add(station.Ahead)) })
	hours := station.Hours(obs, weather.Origin{Source: name, Kind: weather.Station, Fetched: now.UTC()})
	clean, rejects := weather.Check(hours, weather.DefaultLimits())
	log := s.o.Log.With("site", site.ID)
	clean, out.Rejects, err = s.sift(ctx, log, site, name, clean, rejects)
	if err != nil {
		return out, err
	}
	if err := s.o.Store.SaveRejects(ctx, site.ID, out.Rejects); err != nil {
		return out, err
	}
	for i := range clean.Len() {
		for v := range weather.NumVars {
			if _, ok := clean.OriginAt(v, i); ok {
				if out.Hours++; out.Hours == 1 {
					out.From = clean.Time(i)
				}
				out.To = clean.Time(i + 1)
				break
			}
		}
	}
	return out, s.o.Store.SaveWeather(ctx, site.ID, clean)
}
