package service

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/outlook"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
)

// Refresh runs one round: the weather of all sites, then what follows from it for
// each. A site's failure is logged, counted
// and returned with the others; it does not stop them.
func (s *Service) Refresh(ctx context.Context) error {
	id := roundID()
	log := s.o.Log.With("round", id)
	g := s.o.Garden()
	sites := make([]*garden.Site, len(g.Sites))
	for i := range g.Sites {
		sites[i] = &g.Sites[i]
	}
	s.pull(ctx, log, sites)
	s.ensembles(ctx, log, sites)
	return s.rounds(ctx, log, sites)
}

// rounds does what follows from the weather, for each of the sites.
func (s *Service) rounds(ctx context.Context, log *slog.Logger, sites []*garden.Site) error {
	var errs []error
	for _, site := range sites {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		began := s.o.Now()
		err := s.round(ctx, log.With("site", site.ID), site, began)
		s.o.Metrics.RoundTime.Observe(s.o.Now().Sub(began).Seconds())
		result := "ok"
		if err != nil {
			result = "failed"
			log.Error("round failed", "site", site.ID, "error", err)
			errs = append(errs, fmt.Errorf("round of site %s: %w", site.ID, err))
		}
		s.o.Metrics.Rounds.WithLabelValues(result).Inc()
	}
	return errors.Join(errs...)
}

func (s *Service) round(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time) error {
	zone := site.Location()
	today := civil.Of(now, zone)
	s.history(ctx, log, site, now, today)

	q := s.disagree(ctx, log, site, now, s.quality(ctx, log, site, now))

	v, err := s.view(ctx, log, site, now, today, q)
	if err != nil {
		return err
	}
	v.facts.frost = s.frost.learn(site, v.past)
	r := store.Round{Site: site.ID, At: now.UTC(), Day: today, Assessments: v.assess(), Hours: s.workHours(v)}
	s.count(site.ID, v, r.Assessments)
	for _, a := range r.Assessments {
		log.Debug("decided", "planting", a.Planting, "threat", a.Threat, "readiness", a.Readiness, "code", a.Reason.Code, "reason", a.Reason.Text)
	}

	records, err := s.o.Store.Records(ctx, site.ID)
	if err != nil {
		return fmt.Errorf("load records: %w", err)
	}
	r.Reminders = v.reminders(records)

	if r.Messages, err = s.o.Messenger.Compose(ctx, site, now, &r); err != nil {
		return fmt.Errorf("compose the digest: %w", err)
	}
	if err := s.o.Store.SaveRound(ctx, r); err != nil {
		return fmt.Errorf("save: %w", err)
	}
	log.Info("round done", "assessments", len(r.Assessments), "messages", len(r.Messages), "weatherUntil", v.until)
	return nil
}

// view loads what a round looks at.
func (s *Service) view(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time, today civil.Date, q store.Quality) (*siteView, error) {
	zone := site.Location()
	season := seasonStart(site, today)
	hours, err := s.o.Store.LoadWeather(ctx, site.ID, season.AddDays(-1).Start(zone).Truncate(time.Hour), now.AddDate(0, 0, 30))
	if err != nil {
		return nil, fmt.Errorf("load weather: %w", err)
	}
	past, err := s.o.Store.LoadWeather(ctx, site.ID, season.AddDays(-366*s.o.HistoryYears).Start(zone).Truncate(time.Hour), season.Start(zone).Truncate(time.Hour))
	if err != nil {
		return nil, fmt.Errorf("load past years' weather: %w", err)
	}
	seen, err := s.o.Store.Scoutings(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load scoutings: %w", err)
	}
	done, err := s.o.Store.Treatments(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load treatments: %w", err)
	}
	past, _ = withhold(past, q.Doubts, false)
	if hours, err = s.believed(ctx, site, hours, now, q); err != nil {
		return nil, err
	}
	hours = weather.FillGaps(weather.Derive(untilKnown(hours)), maxFill)
	cat, tuned, stamp := s.catalogueOf(ctx, log, site.ID)
	region, neighbours := s.neighbours(ctx, log, site)
	return &siteView{
		site: s.withHeight(ctx, log, site), zone: zone, now: now, today: today,
		hours: hours, until: weather.LastObserved(hours, now), past: past, seen: garden.Looks(seen), done: done, materials: s.o.Garden().Materials,
		catalogue: cat, tuned: tuned, stamp: stamp, region: region, neighbours: neighbours, pastsOf: s.pastOf, rules: s.o.Rules, log: log,
		failed: func(m string) { s.o.Metrics.ModelErrors.WithLabelValues(m).Inc() },
		tracks: map[string]trackResult{}, pasts: s.pastOf(site.ID), forecastError: s.forecastError(q),
		runs: func() []*weather.Series { return s.runs(ctx, log, site.ID, now) },
	}, nil
}

// believed returns the hours without what doubted stations measured, for which
// the forecasts of their days stand in, and, where the site's owner wants it, with
// the bias taken off what lies ahead.
func (s *Service) believed(ctx context.Context, site *garden.Site, hours *weather.Series, now time.Time, q store.Quality) (*weather.Series, error) {
	left, held := withhold(hours, q.Doubts, false)
	if len(held) > 0 {
		parts := []*weather.Series{left}
		err := s.o.Store.SampleForecasts(ctx, site.ID, held[0].Time.Add(-referenceLead), now, sampleEvery, func(f store.Forecast) error {
			parts = append(parts, hoursBefore(f.Series, f.Issued.Add(referenceLead)))
			return nil
		})
		if err != nil {
			return nil, err
		}
		if left, err = weather.Combine(parts...); err != nil {
			return nil, fmt.Errorf("fill in for a doubted station: %w", err)
		}
	}
	if !slices.Contains(s.o.CorrectBias, site.ID) {
		return left, nil
	}
	n := left.Index(now)
	ahead, err := correct(left.Slice(n, left.Len()), q, site.Location())
	if err != nil {
		return nil, err
	}
	return weather.Combine(left.Slice(0, n), ahead)
}

// forecastError returns how far the forecasts that are believed first lay off. A
// source held against an analysis looks better than it is: what analyses are off by
// is added. The bias is left to correct_bias.
func (s *Service) forecastError(q store.Quality) outlook.Error {
	if q.Against == 0 {
		return outlook.StatedError()
	}
	for _, src := range s.sources() {
		for _, sq := range q.Sources {
			if sq.Source != src.Name() || len(sq.Error.Temp) == 0 {
				continue
			}
			f := sq.Error
			f.Temp = slices.Clone(f.Temp)
			for i := range f.Temp {
				f.Temp[i].Bias = 0
			}
			if q.Against == weather.Analysis {
				return outlook.AnalysedForecast(f, leastMeasured)
			}
			return outlook.MeasuredForecast(f, leastMeasured)
		}
	}
	return outlook.StatedError()
}

// untilKnown cuts off the hours after the last one with a temperature: beyond
// the forecast nothing is unknown, there is nothing.
func untilKnown(s *weather.Series) *weather.Series {
	n := s.Len()
	for n > 0 && math.IsNaN(s.Value(weather.Temp, n-1)) {
		n--
	}
	return s.Slice(0, n)
}

// maxFill is the longest gap, in hours, that is interpolated.
const maxFill = 3

// aheadDays is how far ahead hours of work are judged.
const aheadDays = 14

func (s *Service) workHours(v *siteView) []plan.Hours {
	if v.hours.Len() == 0 {
		return nil
	}
	wet := (wetness.Rule{Method: wetness.Humidity}).Estimate(v.hours, garden.NoCover, nil, nil)
	light := daylight(v.site, v.zone)
	return plan.WorkHours(v.hours, wet, v.today.Start(v.zone), v.today.AddDays(aheadDays).Start(v.zone), light, s.o.Hours)
}

// daylight tells whether the sun is up at the site, a day's sun computed once.
func daylight(site *garden.Site, zone *time.Location) plan.Daylight {
	days := map[civil.Date]weather.Daylight{}
	return func(t time.Time) bool {
		d := civil.Of(t, zone)
		sun, ok := days[d]
		if !ok {
			sun = weather.Sun(d, site.Latitude, site.Longitude)
			days[d] = sun
		}
		switch {
		case sun.PolarDay:
			return true
		case sun.PolarNight:
			return false
		}
		return (sun.Rise.IsZero() || !t.Before(sun.Rise)) && (sun.Set.IsZero() || !t.After(sun.Set))
	}
}

func (s *Service) count(site string, v *siteView, as []plan.Assessment) {
	s.mu.Lock()
	defer s.mu.Unlock()
	age := v.now.Sub(v.until)
	if v.until.IsZero() {
		age = math.MaxInt64
	}
	s.ages[site] = age
	s.ready[site] = map[plan.Readiness]int{}
	for _, a := range as {
		s.ready[site][a.Readiness]++
	}
	worst := time.Duration(0)
	total := map[plan.Readiness]int{}
	for id := range s.ages {
		worst = max(worst, s.ages[id])
		for r, n := range s.ready[id] {
			total[r] += n
		}
	}
	s.o.Metrics.WeatherAge.Set(worst.Seconds())
	for r := plan.Present; r <= plan.Quiet; r++ {
		s.o.Metrics.Readiness.WithLabelValues(r.String()).Set(float64(total[r]))
	}
}

func roundID() string {
	b := make([]byte, 6)
	_, _ = rand.Read(b) // never fails since Go 1.24
	return hex.EncodeToString(b)
}
