package service

import (
	"context"
	"log/slog"
	"math"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
)

// Two forecasts of the same hours that lie further apart than this cannot both be
// about right. common practice
var widely = map[weather.Var]float64{
	weather.Temp: 4,  // C, mean of the hours
	weather.RH:   25, // %
	weather.Wind: 4,  // m/s
	weather.Rain: 10, // mm a day, of the totals
}

const (
	compareAhead  = 72 * time.Hour // of the hours from now
	compareLeast  = 24             // hours that both must have
	compareNewest = 12 * time.Hour // issued longer ago, a forecast is not compared
)

// disagree compares the newest forecasts of the site's sources with each other and
// keeps in the account of its weather which lie widely apart.
func (s *Service) disagree(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time, q store.Quality) store.Quality {
	found, err := s.disagreements(ctx, site, now, q.Disagreements)
	if err != nil {
		log.Error("forecasts not compared", "error", err)
		return q
	}
	s.countApart(site.ID, found)
	if len(found)+len(q.Disagreements) == 0 {
		return q
	}
	for _, d := range found {
		if d.Since.Equal(now.UTC()) {
			log.Warn("forecasts disagree widely", "sources", []string{d.A, d.B}, "variable", d.Var.String(), "mean", d.Mean, "hours", d.Hours)
		}
	}
	q.Site, q.Disagreements = site.ID, found
	if err := s.o.Store.SaveQuality(ctx, q); err != nil {
		log.Error("quality of the weather not stored", "error", err)
		return q
	}
	s.mu.Lock()
	s.quals[site.ID] = q
	s.mu.Unlock()
	return q
}

func (s *Service) disagreements(ctx context.Context, site *garden.Site, now time.Time, before []store.Disagreement) ([]store.Disagreement, error) {
	var names []string
	for _, src := range s.sources() {
		if _, own := src.(*Station); !own && src.Serves(site) {
			names = append(names, src.Name())
		}
	}
	if len(names) < 2 {
		return nil, nil
	}
	list, err := s.o.Store.Forecasts(ctx, site.ID, now.Add(-compareNewest), now.Add(time.Minute))
	if err != nil {
		return nil, err
	}
	newest := map[string]*weather.Series{}
	for _, f := range list { // in order of issue
		newest[f.Source] = f.Series
	}
	var out []store.Disagreement
	for v := range weather.NumVars {
		limit, ok := widely[v]
		for i := 0; ok && i < len(names); i++ {
			for j := i + 1; j < len(names); j++ {
				a, b := newest[names[i]], newest[names[j]]
				if a == nil || b == nil {
					continue
				}
				d, ok := apart(a, b, v, now)
				if !ok || d.Mean <= limit {
					continue
				}
				d.A, d.B, d.Limit, d.Since = names[i], names[j], limit, now.UTC()
				for _, old := range before {
					if old.A == d.A && old.B == d.B && old.Var == v {
						d.Since = old.Since
					}
				}
				out = append(out, d)
			}
		}
	}
	return out, nil
}

// apart compares one variable of two forecasts over the hours ahead that both have;
// false where these are too few.
func apart(a, b *weather.Series, v weather.Var, now time.Time) (store.Disagreement, bool) {
	from := now.UTC().Truncate(time.Hour).Add(time.Hour)
	d := store.Disagreement{Var: v}
	for at := from; at.Before(from.Add(compareAhead)); at = at.Add(time.Hour) {
		x, y := a.Value(v, a.Index(at)), b.Value(v, b.Index(at))
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		if d.Hours == 0 {
			d.From = at
		}
		d.To = at.Add(time.Hour)
		d.Hours++
		d.MeanA += x
		d.MeanB += y
		d.Mean += math.Abs(x - y)
	}
	if d.Hours < compareLeast {
		return d, false
	}
	n := float64(d.Hours)
	if v == weather.Rain { // hours of showers need not agree, days should
		d.Mean = math.Abs(d.MeanA - d.MeanB)
		n /= 24
	}
	d.Mean, d.MeanA, d.MeanB = d.Mean/n, d.MeanA/n, d.MeanB/n
	return d, true
}

// countApart shows how many pairs of sources disagree, over all sites.
func (s *Service) countApart(site string, list []store.Disagreement) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.apart == nil {
		s.apart = map[string][]store.Disagreement{}
	}
	if s.apart[site] = list; len(list) == 0 {
		delete(s.apart, site)
	}
	n := map[weather.Var]int{}
	for _, l := range s.apart {
		for _, d := range l {
			n[d.Var]++
		}
	}
	for v := range widely {
		s.o.Metrics.Apart.WithLabelValues(v.String()).Set(float64(n[v]))
	}
}
