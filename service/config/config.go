// Package config reads the service's configuration: one YAML file with the
// garden, the store, the weather sources, the mail server and a few rules. It
// is decoded strictly: an unknown key, a wrong unit or an impossible value is a
// fault with its line and the fix, and all faults are reported at once.
package config

import (
	"log/slog"
	"math"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/strict"
)

// Config is a whole configuration. One that Load or Parse returned is valid and
// has every default filled in.
type Config struct {
	garden.Garden `yaml:",inline"`

	Store string `yaml:"store"` // path of the SQLite file, or postgres://user@host/database
	// StorePasswordFile holds nothing but the PostgreSQL user's password. Where it is
	// empty PGPASSWORD and PGPASSFILE count.
	StorePasswordFile string   `yaml:"store_password_file"`
	Catalogue         string   `yaml:"catalogue"` // folder of data files to add to the catalogue; may be empty
	Listen            string   `yaml:"listen"`    // address of the dashboard, host:port
	Weather           Weather  `yaml:"weather"`
	Mail              Mail     `yaml:"mail"`
	Digest            Digest   `yaml:"digest"`
	Operator          Operator `yaml:"operator"`
	Links             Links    `yaml:"links"`
	Access            Access   `yaml:"access"`
	Log               Log      `yaml:"log"`
	Rules             Rules    `yaml:"rules"`

	// Written is what the file says, so that the browser leaves it alone.
	Written Written `yaml:"-"`

	// Warnings is what may stand but is likely a slip, in the order of the text.
	Warnings strict.Faults `yaml:"-"`
}

// Weather is where the weather comes from, and when.
type Weather struct {
	Sources []Source `yaml:"sources"` // in order of preference
	// Contact is an e-mail address or web page of whoever runs the service. It
	// goes into the User-Agent, by which weather services reach operators.
	Contact      string   `yaml:"contact"`
	FetchEvery   Duration `yaml:"fetch_every"`   // between two rounds
	StaleAfter   Duration `yaml:"stale_after"`   // age of the newest observed hour from which a site is blind
	HistoryYears int      `yaml:"history_years"` // past years to fetch for outlooks
	// KeepForecasts is how long every forecast issued is kept; of older ones, the
	// first of each day and source stays. A site's forecasts of one source take
	// about 35 MiB a year at a round an hour, thinned 1.3 MiB.
	KeepForecasts Duration `yaml:"keep_forecasts"`
	// CorrectBias are the ids of the sites whose forecasts are moved by what
	// they were off by, on average, against the site's own or a nearby station.
	CorrectBias []string `yaml:"correct_bias"`
}

// Digest is when the morning message goes out.
type Digest struct {
	At    Clock        `yaml:"at"`    // local time of each site
	Sites []SiteDigest `yaml:"sites"` // sites with another time
	// Templates is a folder of the operator's own digest.html and digest.txt;
	// may be empty.
	Templates string `yaml:"templates"`
}

// SiteDigest is one site's own time.
type SiteDigest struct {
	Site string `yaml:"site"`
	At   Clock  `yaml:"at"`
}

// AtSite returns the local time of a site's digest.
func (d Digest) AtSite(site string) Clock {
	for _, s := range d.Sites {
		if s.Site == site {
			return s.At
		}
	}
	return d.At
}

// Log is what the service writes to standard error.
type Log struct {
	Level string `yaml:"level"` // debug, info, warn or error
}

var levels = []string{"debug", "info", "warn", "error"}

// Slog returns the level for package slog.
func (l Log) Slog() slog.Level {
	var v slog.Level
	if err := v.UnmarshalText([]byte(l.Level)); err != nil {
		return slog.LevelInfo // not reached with a checked configuration
	}
	return v
}

// Rules are the adjustable numbers of decisions, in days. Their defaults are
// common practice: prevention starts two to four weeks before the usual date.
type Rules struct {
	ApproachingDays int `yaml:"approaching_days"` // median date within this many days: approaching
	ActDays         int `yaml:"act_days"`         // early date within this many days: act
	LastingDays     int `yaml:"lasting_days"`     // how long a stage or a find counts without a new look
	InfectionDays   int `yaml:"infection_days"`   // how far ahead, and back, an infection calls for action
}

// PlanRules returns the rules as plan takes them. Part of an hour counts whole.
func (c *Config) PlanRules() plan.Rules {
	return plan.Rules{
		ApproachingDays: c.Rules.ApproachingDays, ActDays: c.Rules.ActDays,
		LastingDays: c.Rules.LastingDays, InfectionDays: c.Rules.InfectionDays,
		StaleHours: int(math.Ceil(c.Weather.StaleAfter.Std().Hours())),
	}
}
