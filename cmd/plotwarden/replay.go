package main

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"plotwarden/calc"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/service"
	"plotwarden/store/engine"
	"plotwarden/weather"
)

type replayCmd struct {
	configFlag `embed:""`
	Season     int      `required:"" placeholder:"YEAR" help:"Year in which the season began."`
	Site       []string `placeholder:"ID" help:"Only this site. May be given more than once."`
	SVG        string   `placeholder:"FOLDER" help:"Folder to write drawings to: dates named day by day, and chances against what came."`
}

// Help describes the output.
func (*replayCmd) Help() string {
	return `Runs a past season of the stored weather as if live, with the forecasts that were kept, and holds what was said against the log, or against the rule over the measured weather where the log says nothing. Writes a row for each threat: hits, misses, false alarms, lead, errors of the median 28, 14 and 7 days ahead, Brier scores, sprays named against a fixed 7-day calendar.`
}

// Run replays every site.
func (c *replayCmd) Run(ctx context.Context, s streams) (err error) {
	cfg, cat, err := c.load(s.err)
	if err != nil {
		return err
	}
	st, err := openStore(ctx, cfg)
	if err != nil {
		return err
	}
	defer func() {
		if cerr := st.Close(); err == nil {
			err = cerr
		}
	}()
	sites, err := c.sites(cfg.Sites)
	if err != nil {
		return err
	}
	w := csv.NewWriter(s.out)
	_ = w.Write(calc.ReplayHeader())
	if w.Flush(); w.Error() != nil {
		return fmt.Errorf("write the result: %w", w.Error())
	}
	var faults []error
	for _, site := range sites {
		notes, err := c.one(ctx, s.out, st, site, cat)
		say(s, site.ID, notes)
		if errors.Is(err, calc.ErrWrite) || ctx.Err() != nil {
			return err
		}
		if err != nil {
			faults = append(faults, err)
		}
	}
	if len(faults) > 0 {
		return inputError{errors.Join(faults...)}
	}
	return nil
}

func (c *replayCmd) sites(all []garden.Site) ([]*garden.Site, error) {
	var out []*garden.Site
	wanted := map[string]bool{}
	for _, id := range c.Site {
		wanted[id] = true
	}
	for i := range all {
		if len(wanted) == 0 || wanted[all[i].ID] {
			out = append(out, &all[i])
			delete(wanted, all[i].ID)
		}
	}
	for id := range wanted {
		return nil, usageError{error: fmt.Errorf("--site: the configuration has no site %q", id)}
	}
	return out, nil
}

func (c *replayCmd) one(ctx context.Context, out io.Writer, st engine.Store, site *garden.Site, cat *catalog.Catalogue) ([]string, error) {
	zone := site.Location()
	end := time.Date(c.Season+2, 1, 1, 0, 0, 0, 0, zone)
	hours, err := st.LoadWeather(ctx, site.ID, end.AddDate(-60, 0, 0).Truncate(time.Hour), end.AddDate(30, 0, 0).Truncate(time.Hour))
	if err != nil {
		return nil, fmt.Errorf("load the weather of %s: %w", site.ID, err)
	}
	seen, err := st.Scoutings(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load the log of %s: %w", site.ID, err)
	}
	done, err := st.Treatments(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("load the treatments of %s: %w", site.ID, err)
	}
	in := calc.ReplayInput{
		Site: site, Catalogue: cat, Weather: service.Measured(weather.Derive(hours)), Scoutings: garden.Looks(seen), Treatments: done, Season: c.Season,
		Forecasts: func(d civil.Date) *weather.Series { return service.KeptForecast(ctx, st, site, d) },
		// The same season gives the same result each time.
		Noise: rand.New(rand.NewPCG(uint64(c.Season), 1)).NormFloat64, //nolint:gosec // no secret hangs on it
	}
	if c.SVG != "" {
		if err := os.MkdirAll(c.SVG, 0o755); err != nil {
			return nil, inputError{err}
		}
		in.Plot = func(name, svg string) error {
			return os.WriteFile(filepath.Join(c.SVG, name), []byte(svg), 0o644) //nolint:gosec // drawings are for everyone
		}
	}
	return calc.Replay(out, in)
}
