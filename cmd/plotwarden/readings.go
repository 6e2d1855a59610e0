package main

import (
	"context"
	"fmt"
	"os"

	"plotwarden/service"
	"plotwarden/strict"
	"plotwarden/weather/station"
)

type readingsCmd struct {
	configFlag
	Station string `required:"" placeholder:"NAME" help:"The weather source of the kind station whose readings they are."`
	Columns string `required:"" placeholder:"FILE" help:"YAML that says which column is what, in which unit; see the README."`
	File    string `arg:"" help:"The logger's file, CSV."`
}

// Run puts a logger's file into a station's record and says what became of it.
func (c readingsCmd) Run(ctx context.Context, s streams) error {
	var m station.CSVMap
	text, err := os.Open(c.Columns)
	if err != nil {
		return inputError{err}
	}
	defer text.Close()
	if _, faults := strict.Decode(c.Columns, text, &m); len(faults) > 0 {
		return faults.Err()
	}
	if errs := m.Check(); len(errs) > 0 {
		for _, e := range errs {
			fmt.Fprintf(s.err, "%s: %v\n", c.Columns, e)
		}
		return inputError{fmt.Errorf("%s cannot be used", c.Columns)}
	}
	file, err := os.Open(c.File)
	if err != nil {
		return inputError{err}
	}
	defer file.Close()
	return c.with(ctx, s, func(h *service.Host) error {
		got, err := h.ImportReadings(ctx, c.Station, file, m)
		for _, p := range got.Problems {
			fmt.Fprintf(s.err, "%s: %v\n", c.File, p)
		}
		if err != nil {
			return inputError{fmt.Errorf("%s: %w", c.File, err)}
		}
		for _, r := range got.Rejects {
			fmt.Fprintf(s.err, "%s: set aside: %v\n", c.File, r)
		}
		if got.Hours == 0 {
			return inputError{fmt.Errorf("%s: not one hour could be read", c.File)}
		}
		_, err = fmt.Fprintf(s.out, "Kept for %s: hours %d, from %s to %s; values set aside: %d\n", got.Site, got.Hours, got.From.Format("2006-01-02T15:04Z"), got.To.Format("2006-01-02T15:04Z"), len(got.Rejects))
		return err
	})
}
