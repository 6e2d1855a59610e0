package config

import (
	"fmt"
	"net"
	"slices"
	"strconv"

	"plotwarden/garden"
	"plotwarden/strict"
)

// checker gathers what is wrong with a decoded configuration.
type checker struct {
	cfg              Config
	where            *strict.Where
	faults, warnings strict.Faults
	decoded          map[place]bool // places of which the decoder complained
}

type place struct{ line, column int }

func places(faults strict.Faults) map[place]bool {
	m := map[place]bool{}
	for _, f := range faults {
		m[place{f.Line, f.Column}] = true
	}
	return m
}

func (c *checker) fault(at any, format string, args ...any) {
	if !c.refused(at) {
		c.faults = append(c.faults, c.where.Fault(at, format, args...))
	}
}

func (c *checker) warn(at any, format string, args ...any) {
	c.warnings = append(c.warnings, c.where.Fault(at, format, args...))
}

// missing reports a key that is needed, at the part that lacks it.
func (c *checker) missing(owner, field any, format string, args ...any) {
	if !c.refused(field) {
		c.fault(owner, format, args...)
	}
}

// refused says whether the decoder complained of the value behind ptr: it then
// holds nothing that could be judged.
func (c *checker) refused(ptr any) bool {
	f := c.where.Fault(ptr, "")
	return c.where.Has(ptr) && c.decoded[place{f.Line, f.Column}]
}

func (c *checker) check(threats []string) {
	if len(c.cfg.Sites) == 0 {
		c.warn(&c.cfg, "no sites in this file; there is nothing to watch until one is added in the browser")
	}
	problems, warnings := c.cfg.Validate(garden.Known{Threats: threats, Refused: c.refused})
	for _, p := range problems {
		c.fault(p.At, "%s", p.Message)
	}
	for _, p := range warnings {
		c.warn(p.At, "%s", p.Message)
	}
	c.emails()
	c.listen()
	c.weather()
	c.mail()
	c.digest()
	c.operator()
	c.access()
	c.rules()
	c.store()
	if !slices.Contains(levels, c.cfg.Log.Level) {
		c.fault(&c.cfg.Log.Level, "%s", strict.Unknown("log level", c.cfg.Log.Level, levels))
	}
}

func (c *checker) listen() {
	at := &c.cfg.Listen
	host, port, err := net.SplitHostPort(*at)
	if n, perr := strconv.ParseUint(port, 10, 16); err != nil || perr != nil || strconv.FormatUint(n, 10) != port {
		c.fault(at, "listen %q is not an address of the form 127.0.0.1:8080", *at)
		return
	}
	if !loopback(host) {
		c.warn(at, "the dashboard at %s can be reached from other machines and asks nobody for a password; put a server that does in front of it", *at)
	}
}

func (c *checker) digest() {
	seen := map[string]bool{}
	for i := range c.cfg.Digest.Sites {
		s := &c.cfg.Digest.Sites[i]
		if !slices.ContainsFunc(c.cfg.Sites, func(g garden.Site) bool { return g.ID == s.Site }) {
			known := make([]string, len(c.cfg.Sites))
			for j := range known {
				known[j] = c.cfg.Sites[j].ID
			}
			at := any(&s.Site)
			if !c.where.Has(at) {
				at = s
			}
			c.fault(at, "%s", strict.Unknown("site", s.Site, known))
		} else if seen[s.Site] {
			c.fault(&s.Site, "site %q has two digest times", s.Site)
		}
		seen[s.Site] = true
		if !c.where.Has(&s.At) {
			c.fault(s, "digest of site %q has no time; write at: 06:00", s.Site)
		}
	}
}

func (c *checker) rules() {
	r := &c.cfg.Rules
	c.in(&r.ApproachingDays, "approaching_days", 1, 90)
	c.in(&r.ActDays, "act_days", 1, 90)
	c.in(&r.LastingDays, "lasting_days", 1, 90)
	c.in(&r.InfectionDays, "infection_days", 1, 16)
	if r.ActDays > r.ApproachingDays {
		at := any(&r.ActDays)
		if !c.where.Has(at) {
			at = &r.ApproachingDays
		}
		c.fault(at, "act_days %d is more than approaching_days %d", r.ActDays, r.ApproachingDays)
	}
}

func (c *checker) in(at *int, key string, low, high int) {
	if *at < low || *at > high {
		c.fault(at, "%s %d is outside %d to %d", key, *at, low, high)
	}
}

func (c *checker) durationIn(at *Duration, key string, low, high Duration) {
	if *at < low || *at > high {
		c.fault(at, "%s %s is outside %s to %s", key, *at, low, high)
	}
}

// nameEntries gives the entries of the log that have no id one that stays the
// same as long as the entry does.
func nameEntries(c *Config) {
	taken := map[string]bool{}
	for i := range c.Scoutings {
		taken[c.Scoutings[i].ID] = true
	}
	for i := range c.Treatments {
		taken[c.Treatments[i].ID] = true
	}
	name := func(id *string, stem string) {
		if *id != "" {
			return
		}
		*id = stem
		for n := 2; taken[*id]; n++ {
			*id = fmt.Sprintf("%s-%d", stem, n)
		}
		taken[*id] = true
	}
	for i := range c.Scoutings {
		s := &c.Scoutings[i]
		name(&s.ID, fmt.Sprintf("seen-%s-%s-%s-%s", s.Site, or(s.Planting, s.Plot), s.Threat, s.Date))
	}
	for i := range c.Treatments {
		t := &c.Treatments[i]
		name(&t.ID, fmt.Sprintf("done-%s-%s-%s", t.Site, t.Planting, t.At.UTC().Format("20060102T1504")))
	}
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
