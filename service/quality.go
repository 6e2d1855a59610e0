package service

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"log/slog"
	"math"
	"slices"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
)

// How the quality of a site's weather is worked out, common practice. The hours
// looked at are those of which weather.Doubts makes a stretch of four weeks and
// one of the last two, so that a station that reads right again is believed
// after two weeks.
const (
	qualityHours  = 42 * 24
	sampleEvery   = 24 * time.Hour // of the forecasts issued, one in so long
	referenceLead = 24 * time.Hour // what was forecast for the next day stands in for an analysis
	biasLead      = 72 * time.Hour
	leastMeasured = 7 * 24 // hours measured by a station, from which forecasts are held against it alone
)

// qualityStore is what the daily look at a site's weather needs of the store.
type qualityStore interface {
	SaveRejects(ctx context.Context, site string, rejects []weather.Reject) error
	Rejects(ctx context.Context, site string, from, to time.Time) ([]weather.Reject, error)
	SampleForecasts(ctx context.Context, site string, from, to time.Time, every time.Duration, use func(store.Forecast) error) error
	SaveQuality(ctx context.Context, q store.Quality) error
	Quality(ctx context.Context, site string) (store.Quality, error)
	ThinForecasts(ctx context.Context, site string, before time.Time) (int, error)
	PutBack(ctx context.Context, site string, rejects []weather.Reject) error
}

// quality works out, once a day, how good the site's forecasts were and
// whether its stations are to be believed, and returns the newest account.
func (s *Service) quality(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time) store.Quality {
	q, err := s.qualityOf(ctx, site)
	if err != nil {
		log.Error("quality of the weather not readable", "error", err)
	}
	if !q.At.IsZero() && q.At.After(lookedAt(site, now)) {
		return q
	}
	fresh, aside, err := s.judge(ctx, site, now, q.Doubts)
	if err != nil {
		log.Error("quality of the weather not worked out", "error", err)
		return q
	}
	fresh.Disagreements = q.Disagreements // looked at in every round
	if n, err := s.putBack(ctx, site, aside, fresh.Doubts); err != nil {
		log.Error("values set aside for a doubt that was withdrawn not put back", "error", err)
	} else if n > 0 {
		log.Info("weather put back, its doubt withdrawn", "count", n)
	}
	if err := s.o.Store.SaveQuality(ctx, fresh); err != nil {
		log.Error("quality of the weather not stored", "error", err)
	}
	for _, d := range fresh.Doubts {
		log.Warn("weather doubted", "source", d.Source, "sure", d.Sure, "open", d.Open, "from", d.From, "to", d.To, "reason", d.Reason)
	}
	s.mu.Lock()
	s.quals[site.ID] = fresh
	s.mu.Unlock()
	s.thin(ctx, log, site, now)
	return fresh
}

// thin leaves one forecast a day and source of those that are old.
func (s *Service) thin(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time) {
	if s.o.KeepForecasts <= 0 {
		return
	}
	n, err := s.o.Store.ThinForecasts(ctx, site.ID, now.Add(-s.o.KeepForecasts).UTC())
	if err != nil {
		log.Error("old forecasts not thinned", "error", err)
	} else if n > 0 {
		log.Debug("old forecasts thinned", "count", n)
	}
}

// lookedAt returns the last time at which a site's weather was due to be looked
// at: once a day, at an hour of its own, so that not all sites are on one round.
func lookedAt(site *garden.Site, now time.Time) time.Time {
	h := fnv.New32a()
	_, _ = h.Write([]byte(site.ID)) // never fails
	own := time.Duration(h.Sum32()%24) * time.Hour
	return now.Add(-own).Truncate(24 * time.Hour).Add(own)
}

// qualityOf returns the newest account of a site; it is zero before the first.
func (s *Service) qualityOf(ctx context.Context, site *garden.Site) (store.Quality, error) {
	s.mu.Lock()
	q, ok := s.quals[site.ID]
	s.mu.Unlock()
	if ok {
		return q, nil
	}
	q, err := s.o.Store.Quality(ctx, site.ID)
	if errors.Is(err, store.ErrNotFound) {
		err = nil
	}
	if err != nil {
		return q, err
	}
	s.mu.Lock()
	s.quals[site.ID] = q
	s.mu.Unlock()
	return q, nil
}

// judge compares the forecasts issued in the last weeks with what was observed,
// and what stations measured with the forecasts. before are the doubts that were
// held; it also returns what was set aside of the hours looked at.
func (s *Service) judge(ctx context.Context, site *garden.Site, now time.Time, before []store.Doubt) (store.Quality, []weather.Reject, error) {
	end := now.UTC().Truncate(time.Hour)
	start := end.Add(-qualityHours * time.Hour)
	q := store.Quality{Site: site.ID, At: now.UTC(), Since: start, Corrected: slices.Contains(s.o.CorrectBias, site.ID)}
	stored, err := s.o.Store.LoadWeather(ctx, site.ID, start, end)
	if err != nil {
		return q, nil, fmt.Errorf("load weather: %w", err)
	}
	aside, err := s.o.Store.Rejects(ctx, site.ID, start, end)
	if err != nil {
		return q, nil, err
	}
	issued := map[string][]weather.Issue{}
	var issuers []string
	var next []*weather.Series // what each forecast said of its next day
	err = s.o.Store.SampleForecasts(ctx, site.ID, start.AddDate(0, 0, -16), now, sampleEvery, func(f store.Forecast) error {
		if issued[f.Source] == nil {
			issuers = append(issuers, f.Source)
		}
		issued[f.Source] = append(issued[f.Source], weather.Issue{At: f.Issued, Series: f.Series})
		next = append(next, hoursBefore(f.Series, f.Issued.Add(referenceLead)))
		return nil
	})
	if err != nil {
		return q, nil, err
	}
	ref, err := weather.Combine(next...)
	if err != nil {
		return q, nil, fmt.Errorf("join forecasts: %w", err)
	}
	names := measuring(stored, aside)
	for _, name := range names {
		s := measuredBy(stored, aside, name)
		q.Doubts = append(q.Doubts, carried(before, doubtsOf(s, name, ref, site), s, ref, name, site)...)
	}
	for _, d := range before { // of a station that has been silent for long nothing is taken back
		if d.Sure && !slices.Contains(names, d.Source) {
			q.Doubts = append(q.Doubts, d)
		}
	}
	observed, _ := withhold(stored, q.Doubts, false)
	var trusted func(weather.Origin) bool
	q.Against, trusted = against(observed)
	for _, name := range issuers {
		trust, own := trusted, false
		if q.Against == weather.Analysis {
			trust, own = ofOthers(observed, name)
		}
		sq := store.SourceQuality{Source: name, Own: own, Error: weather.ForecastErrors(observed, trust, issued[name])}
		if q.Against == weather.Station || q.Against == weather.Nearby {
			sq.Bias = biases(observed, name, site.Location(), issued[name])
		}
		q.Sources = append(q.Sources, sq)
	}
	slices.SortFunc(q.Sources, func(a, b store.SourceQuality) int { return cmp.Compare(a.Source, b.Source) })
	return q, aside, nil
}

// ofOthers trusts the analyses of other sources than the one that is looked at where
// there are enough of them; else its own have to do, which says own.
func ofOthers(s *weather.Series, name string) (trusted func(weather.Origin) bool, own bool) {
	n := 0
	for i := range s.Len() {
		if o, ok := s.OriginAt(weather.Temp, i); ok && o.Kind == weather.Analysis && o.Source != name {
			n++
		}
	}
	if n < leastMeasured {
		return nil, true
	}
	return func(o weather.Origin) bool { return o.Source != name }, false
}

// hoursBefore returns the part of a series before an instant.
func hoursBefore(s *weather.Series, end time.Time) *weather.Series {
	return s.Slice(0, s.Index(end))
}

// against says what the forecasts are held against: stations where one measured
// long enough, else every observed hour, of which the least trusted kind is named.
func against(s *weather.Series) (weather.Kind, func(weather.Origin) bool) {
	count := map[weather.Kind]int{}
	for i := range s.Len() {
		if o, ok := s.OriginAt(weather.Temp, i); ok {
			count[o.Kind]++
		}
	}
	for _, k := range []weather.Kind{weather.Station, weather.Nearby} {
		if count[k] >= leastMeasured {
			return k, func(o weather.Origin) bool { return o.Kind == k }
		}
	}
	if count[weather.Analysis] > 0 {
		return weather.Analysis, nil
	}
	return 0, nil
}

// biased are the variables of which a bias is worked out.
var biased = []weather.Var{weather.Temp, weather.RH}

func biases(station *weather.Series, name string, zone *time.Location, issues []weather.Issue) []store.Bias {
	var near []*weather.Series
	for _, is := range issues {
		near = append(near, hoursBefore(is.Series, is.At.Add(biasLead)))
	}
	var out []store.Bias
	for _, v := range biased {
		b := weather.EstimateBias(station, name, v, zone, near...)
		if b.Forecast.N > 0 {
			out = append(out, store.Bias{Var: v, All: b.Forecast, ByHour: b.ByHour})
		}
	}
	return out
}

// leastBias is from how many hours compared a bias is taken off: of all, and of
// one hour of the clock. common practice
const (
	leastBias     = 14 * 24
	leastBiasHour = 14
)

// correct takes the bias of each source off its forecasts. Humidity and dew point
// of an hour whose temperature was moved are made to agree again.
func correct(s *weather.Series, q store.Quality, zone *time.Location) (*weather.Series, error) {
	for _, src := range q.Sources {
		for _, b := range src.Bias {
			if b.All.N < leastBias {
				continue
			}
			var err error
			if s, err = (weather.Bias{Source: src.Source, Var: b.Var, Zone: zone, Forecast: b.All, ByHour: b.ByHour}).Apply(s, leastBiasHour); err != nil {
				return nil, err
			}
		}
	}
	for i := range s.Len() {
		moved := false
		for _, v := range biased {
			o, ok := s.OriginAt(v, i)
			moved = moved || ok && o.Corrected
		}
		if moved && !math.IsNaN(s.Value(weather.RH, i)) {
			s.Set(weather.DewPoint, i, math.NaN(), 0) // Derive makes it of the two others
		}
	}
	return s, nil
}
