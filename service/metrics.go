package service

import (
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"plotwarden/weather/source"
)

// Metrics are the daemon's own figures. Labels are bounded: sources, causes,
// models and readinesses are small fixed sets; sites and people are never labels.
type Metrics struct {
	Registry       *prometheus.Registry
	Rounds         *prometheus.CounterVec // result: ok, failed
	RoundTime      prometheus.Histogram   // seconds a site
	Fetches        *prometheus.CounterVec // source, cause ("ok" or the failure's cause)
	SourceGood     *prometheus.GaugeVec   // source: Unix time of the last good fetch
	WeatherAge     prometheus.Gauge       // seconds: age of the newest measured hour of the worst site
	Requests       *prometheus.CounterVec // source, outcome: requests sent, tries included
	Bytes          *prometheus.CounterVec // source: bytes of answers
	BudgetLeft     *prometheus.GaugeVec   // source, window: what is left of a request budget
	BreakerOpen    *prometheus.GaugeVec   // source: 1 while a failing source is left alone
	Places         *prometheus.CounterVec // source: sites for which weather was wanted
	Kept           *prometheus.CounterVec // source: answers that still held, so that nothing was asked
	RoundDelay     prometheus.Gauge       // seconds by which the last round was put off, so that not all ask at once
	Asked          *prometheus.CounterVec // source: places asked for, sites of one grid cell together
	Stations       *prometheus.CounterVec // status: requests of growers' stations
	Rejects        *prometheus.CounterVec // variable
	Apart          *prometheus.GaugeVec   // variable: pairs of sources whose forecasts of a site differ widely
	Readiness      *prometheus.GaugeVec   // readiness: plantings and threats that stand there
	ModelErrors    *prometheus.CounterVec // model
	Deliveries     *prometheus.CounterVec // channel, result: sent, retry, failed
	Outbox         *prometheus.GaugeVec   // state
	OutboxAge      prometheus.Gauge       // seconds: age of the oldest message not sent
	TemplateFaults prometheus.Counter
}

// NewMetrics returns metrics in a registry of their own.
func NewMetrics(version string) *Metrics {
	const ns = "plotwarden"
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: ns, Name: name, Help: help}, labels)
	}
	gauge := func(name, help string, labels ...string) *prometheus.GaugeVec {
		return prometheus.NewGaugeVec(prometheus.GaugeOpts{Namespace: ns, Name: name, Help: help}, labels)
	}
	m := &Metrics{
		Registry:    prometheus.NewRegistry(),
		Rounds:      counter("rounds_total", "Rounds finished, one a site.", "result"),
		RoundTime:   prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: ns, Name: "round_duration_seconds", Help: "Time of one site's round.", Buckets: prometheus.ExponentialBuckets(0.005, 2, 14)}),
		Fetches:     counter("source_fetches_total", "Fetches from weather sources by how they ended.", "source", "cause"),
		SourceGood:  gauge("source_last_good_timestamp_seconds", "Time of the last good fetch of a source.", "source"),
		WeatherAge:  prometheus.NewGauge(prometheus.GaugeOpts{Namespace: ns, Name: "weather_age_seconds", Help: "Age of the newest measured hour of the site that is worst off."}),
		Requests:    counter("source_requests_total", "Requests to weather services, tries included.", "source", "outcome"),
		Bytes:       counter("source_bytes_total", "Bytes of weather services' answers.", "source"),
		BudgetLeft:  gauge("source_budget_left", "What is left of a source's request budget.", "source", "window"),
		BreakerOpen: gauge("source_breaker_open", "1 while a failing source is left alone.", "source"),
		Places:      counter("source_places_total", "Sites for which weather was wanted from a source that takes many at once.", "source"),
		Kept:        counter("source_kept_answers_total", "Answers of weather services that still held, so that nothing was asked.", "source"),
		RoundDelay:  prometheus.NewGauge(prometheus.GaugeOpts{Namespace: ns, Name: "round_delay_seconds", Help: "By how much the last round was put off, so that not all ask at once."}),
		Asked:       counter("source_places_asked_total", "Places asked for in their stead: sites of one grid cell share one.", "source"),
		Stations:    counter("station_requests_total", "Requests of growers' own stations by the status they got.", "status"),
		Rejects:     counter("weather_rejects_total", "Weather values set aside by the quality checks.", "variable"),
		Apart:       gauge("forecasts_apart", "Pairs of sources whose newest forecasts of one site differ widely.", "variable"),
		Readiness:   gauge("readiness", "Plantings and threats by readiness.", "readiness"),
		ModelErrors: counter("model_errors_total", "Runs of a model that failed.", "model"),
		Deliveries:  counter("deliveries_total", "Attempts to deliver a message.", "channel", "result"),
		Outbox:      gauge("outbox_messages", "Messages in the outbox by state.", "state"),
		OutboxAge:   prometheus.NewGauge(prometheus.GaugeOpts{Namespace: ns, Name: "outbox_oldest_age_seconds", Help: "Age of the oldest message that is due and not sent."}),
	}
	m.TemplateFaults = prometheus.NewCounter(prometheus.CounterOpts{Namespace: ns, Name: "template_faults_total", Help: "Times a template of the operator's was broken and the built-in one went out."})
	build := gauge("build_info", "The running version.", "version")
	build.WithLabelValues(version).Set(1)
	m.Registry.MustRegister(m.Rounds, m.RoundTime, m.Fetches, m.SourceGood, m.WeatherAge, m.Requests, m.Bytes, m.BudgetLeft, m.BreakerOpen, m.Places, m.Kept, m.RoundDelay, m.Asked, m.Stations, m.Rejects, m.Apart, m.Readiness,
		m.ModelErrors, m.Deliveries, m.Outbox, m.OutboxAge, m.TemplateFaults, build,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

func (m *Metrics) fetched(source, cause string, at time.Time) {
	m.Fetches.WithLabelValues(source, cause).Inc()
	if cause == "ok" {
		m.SourceGood.WithLabelValues(source).Set(float64(at.Unix()))
	}
}

// hooks count what the weather clients do.
func (m *Metrics) hooks() source.Hooks {
	return source.Hooks{
		Attempt: func(name string, a source.Attempt) {
			outcome := a.Cause
			switch {
			case outcome == "" && a.Status == http.StatusNotModified:
				outcome = "not-modified"
			case outcome == "":
				outcome = "ok"
			}
			m.Requests.WithLabelValues(name, outcome).Inc()
			m.Bytes.WithLabelValues(name).Add(float64(a.Bytes))
		},
		Budget: func(name string, per time.Duration, left float64) {
			m.BudgetLeft.WithLabelValues(name, per.String()).Set(left)
		},
		Kept: func(name string) { m.Kept.WithLabelValues(name).Inc() },
		Breaker: func(name, _, to string) {
			open := 0.0
			if to == "open" {
				open = 1
			}
			m.BreakerOpen.WithLabelValues(name).Set(open)
		},
		Shared: func(name string, places, fetched int) {
			m.Places.WithLabelValues(name).Add(float64(places))
			m.Asked.WithLabelValues(name).Add(float64(fetched))
		},
	}
}
