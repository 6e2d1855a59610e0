package main

import (
	"errors"
	"slices"

	"plotwarden/calc"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/degreeday"
	"plotwarden/strict"
)

type modelCmd struct {
	ID string `arg:"" placeholder:"ID" help:"The model, as plotwarden models lists it."`
	weatherFile
	Start          civil.Date            `placeholder:"DATE" help:"First day, for models that start at an event and for other hemispheres; else the model's own day of the year."`
	Spray          []civil.Date          `placeholder:"DATE" help:"Day of a spray, for sums that start again at one. May be given more than once."`
	Susceptibility garden.Susceptibility `placeholder:"WORD" help:"Of the cultivar: susceptible, moderately resistant or resistant."`
	Unit           degreeday.Unit        `default:"C" placeholder:"F|C" help:"Unit of tmin and tmax in a file of days; C unless said."`
	Catalogue      string                `placeholder:"FOLDER" help:"A folder of data files to add to the catalogue."`
	zoneFlag
}

// Help describes the files.
func (*modelCmd) Help() string {
	return `Reads hours, time,temp_c,rh_pct,rain_mm,wind_ms[,dewpoint_c][,soil_c], as far as the model needs them, or for models of daily values date,tmin,tmax[,rain_mm][,wind_ms][,soil_c]. Writes date,value,total,event for a year from the start at most. value is empty on an unknown day.`
}

// Run writes the track of the model over the file.
func (c *modelCmd) Run(s streams) error {
	cat, err := catalogue(c.Catalogue)
	if err != nil {
		return err
	}
	m, ok := cat.Model(c.ID)
	if !ok {
		return usageError{errors.New(strict.Unknown("model", c.ID, cat.ModelIDs())), "plotwarden models lists them"}
	}
	loc, err := c.location()
	if err != nil {
		return err
	}
	slices.Sort(c.Spray)
	o := calc.ModelOptions{Name: c.ID, Zone: loc, Start: c.Start, Sprays: c.Spray, Susceptibility: c.Susceptibility}
	name, r, err := c.open(s)
	if err != nil {
		return err
	}
	defer r.Close()
	w, err := calc.ReadFor(m.Spec, name, r, loc, c.Unit)
	if err != nil {
		return err
	}
	notes, err := w.Model(s.out, m.Spec, o)
	switch {
	case errors.Is(err, calc.ErrWrite):
		return err
	case errors.Is(err, calc.ErrNoStart):
		return usageError{error: err}
	case err != nil:
		return strict.Faults{{File: name, Line: 1, Column: 1, Message: err.Error()}}
	}
	say(s, name, notes)
	return nil
}
