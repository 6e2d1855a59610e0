package main

import (
	"errors"
	"fmt"

	"plotwarden/service/config"
	"plotwarden/strict"
)

type checkCmd struct {
	configFlag `embed:""`
}

// Run reports every fault, or what a good configuration describes.
func (c *checkCmd) Run(s streams) error {
	cfg, _, err := c.load(s.err)
	var faults strict.Faults
	if errors.As(err, &faults) && len(faults) > 1 {
		fmt.Fprintln(s.err, faults)
		return inputError{fmt.Errorf("%d faults in %s", len(faults), c.Config)}
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "%s: no faults; %s\n", c.Config, contents(cfg))
	return err
}

func contents(c *config.Config) string {
	plots, plantings := 0, 0
	for i := range c.Sites {
		plots += len(c.Sites[i].Plots)
		for j := range c.Sites[i].Plots {
			plantings += len(c.Sites[i].Plots[j].Plantings)
		}
	}
	return fmt.Sprintf("%s, %s, %s, %s, %s", count(len(c.Sites), "site", "sites"), count(plots, "plot", "plots"),
		count(plantings, "planting", "plantings"), count(len(c.People), "person", "people"),
		count(len(c.Scoutings)+len(c.Treatments), "log entry", "log entries"))
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
