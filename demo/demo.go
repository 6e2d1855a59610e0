package demo

import (
	"bytes"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"plotwarden/alerts/inbox"
	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/service"
	"plotwarden/service/config"
	"plotwarden/weather"
	"plotwarden/web/page"
)

//go:embed garden.yaml
var gardenFile []byte

// Options are the few choices of the demonstration.
type Options struct {
	Dir     string // where store and mails go; empty: a new temporary folder. It must be new or empty.
	Listen  string // address of the dashboard
	Version string
	Out     io.Writer // what the user reads
	Log     *slog.Logger
	Now     func() time.Time
}

// Note is what every page and mail of the demonstration says.
var note = page.DemoNote{
	Title: "Demonstration",
	Lines: []string{
		"The garden and its people are invented, and the dates are moved to today.",
		"The weather was measured by day at New York from 2012 to 2015 (NOAA, public domain, by way of the npm package vega-datasets) and turned into hours after Parton & Logan 1981. The forecast is that of a perfect forecaster: what came next.",
	},
}

// Run shows the program on an invented garden until ctx ends: a weather service
// and a mail server on this machine, and the real daemon between them.
func Run(ctx context.Context, o Options) error {
	dir, err := folder(o.Dir)
	if err != nil {
		return err
	}
	cat, err := catalog.Load()
	if err != nil {
		return fmt.Errorf("load the catalogue: %w", err)
	}
	now := o.Now()
	cfg, weatherHours, err := season(now, cat)
	if err != nil {
		return err
	}

	site := &cfg.Sites[0]
	f := &forecaster{hours: weatherHours, lat: site.Latitude, lon: site.Longitude, elevation: float64(site.Elevation), now: o.Now}
	at, closeWeather, err := serveWeather(f)
	if err != nil {
		return err
	}
	defer closeWeather()
	mails := filepath.Join(dir, "mail")
	box, err := inbox.Listen("127.0.0.1:0", mails)
	if err != nil {
		return fmt.Errorf("start the mail receiver: %w", err)
	}
	defer box.Close()
	if err := point(cfg, at, box.Addr(), dir, o.Listen, now); err != nil {
		return err
	}

	h, err := service.Open(ctx, service.HostOptions{Config: cfg, Catalogue: cat, Log: o.Log, Now: o.Now, Version: o.Version, Demo: &note})
	if err != nil {
		return err
	}
	if err := h.Listen(); err != nil {
		return errors.Join(err, h.Close())
	}
	cfg.Mail.Link = "http://" + h.Addr()
	fmt.Fprintf(o.Out, "plotwarden demonstration: an invented garden on weather recorded in New York; dates are moved to today.\n\n"+
		"  dashboard  http://%s/\n  mails      %s (one .eml a message)\n  store      %s\n\nStop with Ctrl-C.\n", h.Addr(), mails, cfg.Store)
	err = h.Run(ctx)
	return errors.Join(err, h.Close())
}

// folder returns a place for the demonstration's files.
func folder(dir string) (string, error) {
	if dir == "" {
		return os.MkdirTemp("", "plotwarden-demo-")
	}
	entries, err := os.ReadDir(dir)
	if err == nil && len(entries) > 0 {
		return "", fmt.Errorf("the folder %s is not empty; the demonstration wants a new one", dir)
	}
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", fmt.Errorf("look at the demonstration's folder: %w", err)
	}
	return dir, os.MkdirAll(dir, 0o750)
}

// season moves garden and weather so that seasonDay is today.
func season(now time.Time, cat *catalog.Catalogue) (*config.Config, *weather.Series, error) {
	cfg, err := config.Parse("demo/garden.yaml", bytes.NewReader(gardenFile), func(string) ([]string, error) { return cat.IDs(), nil })
	if err != nil {
		return nil, nil, fmt.Errorf("read the demonstration's garden: %w", err)
	}
	site := &cfg.Sites[0]
	zone := site.Location()
	by := civil.Of(now, zone).Sub(seasonDay)
	days, err := record("New York")
	if err != nil {
		return nil, nil, err
	}
	// The hours are made on the record's own dates, whose sun they need, and
	// moved as a whole: nights stay cool at night even where the clocks differ.
	hours := weather.HoursFromDays(days, site.Latitude, site.Longitude, zone, weather.Origin{Source: "record", Kind: weather.Modelled})
	shiftGarden(&cfg.Garden, by)
	return cfg, hours.Shift(24 * by), nil
}

func serveWeather(f *forecaster) (addr string, stop func(), err error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", nil, fmt.Errorf("start the weather server: %w", err)
	}
	s := &http.Server{Handler: f.handler(), ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = s.Serve(l) }() // ends with Close
	return "http://" + l.Addr().String(), func() { _ = s.Close() }, nil
}

// point directs a configuration at the servers of this machine.
func point(cfg *config.Config, weatherAt, mailAt, dir, listen string, now time.Time) error {
	cfg.Store = filepath.Join(dir, "plotwarden.db")
	if listen != "" {
		cfg.Listen = listen
	}
	src := &cfg.Weather.Sources[0]
	src.ForecastURL, src.ArchiveURL = weatherAt+"/v1/forecast", weatherAt+"/v1/archive"
	cfg.Weather.HistoryYears = 3 // what the record has before its last season
	host, port, err := net.SplitHostPort(mailAt)
	if err != nil {
		return fmt.Errorf("address of the mail receiver: %w", err)
	}
	if _, err := fmt.Sscanf(port, "%d", &cfg.Mail.Port); err != nil {
		return fmt.Errorf("port of the mail receiver: %w", err)
	}
	cfg.Mail.Host, cfg.Mail.TLS, cfg.Mail.From = host, config.NoTLS, "Millrace Ground <beds@millrace.example>"
	// The morning message goes out at once, whatever the hour.
	local := now.In(cfg.Sites[0].Location())
	cfg.Digest.At = config.Clock{Hour: local.Hour(), Minute: local.Minute()}
	return nil
}
