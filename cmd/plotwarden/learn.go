package main

import (
	"errors"
	"os"

	"plotwarden/calc"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/degreeday"
	"plotwarden/strict"
)

type learnCmd struct {
	Model          string                `required:"" placeholder:"ID" help:"The model, as plotwarden models lists it."`
	Weather        string                `required:"" placeholder:"FILE" help:"CSV file of daily or hourly weather over the seasons of the log."`
	Log            string                `arg:"" placeholder:"LOG" help:"CSV file of the log, or - for standard input."`
	Stage          string                `placeholder:"NAME" help:"Beginning of the name of the stage that the log is about; the model's first unless said."`
	Start          civil.MonthDay        `placeholder:"MM-DD" help:"Day of the year from which the model counts, for models that start at an event; else the model's own."`
	Season         civil.MonthDay        `default:"01-01" placeholder:"MM-DD" help:"Day of the year on which seasons begin; 01-01 unless said, south of the equator 07-01."`
	Susceptibility garden.Susceptibility `placeholder:"WORD" help:"Of the cultivar: susceptible, moderately resistant or resistant."`
	Unit           degreeday.Unit        `default:"C" placeholder:"F|C" help:"Unit of tmin and tmax in a file of days; C unless said."`
	Catalogue      string                `placeholder:"FOLDER" help:"A folder of data files to add to the catalogue."`
	zoneFlag
}

// Help describes the files.
func (*learnCmd) Help() string {
	return `Reads a log, year,date[,none][,sprayed]: the first find of each season, the last look without a find before it, the first spray before it. date is empty for a season without a find. Weather is date,tmin,tmax or hours. Writes a row for each way of predicting the first find: calendar mean, published threshold, local threshold, blend, with its mean miss in days when each season is predicted from the others, its estimate with the 10 and 90 % ends, and the dates that it means.`
}

// Run compares the ways of predicting.
func (c *learnCmd) Run(s streams) error {
	cat, err := catalogue(c.Catalogue)
	if err != nil {
		return err
	}
	m, ok := cat.Model(c.Model)
	if !ok {
		return usageError{errors.New(strict.Unknown("model", c.Model, cat.ModelIDs())), "plotwarden models lists them"}
	}
	loc, err := c.location()
	if err != nil {
		return err
	}
	if _, err := calc.StageOf(m.Spec, c.Stage, c.Susceptibility); err != nil {
		return usageError{error: err}
	}
	f, err := os.Open(c.Weather)
	if err != nil {
		return inputError{err}
	}
	defer f.Close()
	wx, err := calc.ReadFor(m.Spec, c.Weather, f, loc, c.Unit)
	if err != nil {
		return err
	}
	name, r, err := weatherFile{c.Log}.open(s)
	if err != nil {
		return err
	}
	defer r.Close()
	log, err := calc.ReadLog(name, r, c.Season)
	if err != nil {
		return err
	}
	notes, err := calc.Learn(s.out, m.Spec, wx, log, calc.LearnOptions{
		Name: c.Model, Threat: m.Threat, Zone: loc, Season: c.Season, Start: c.Start, Stage: c.Stage, Susceptibility: c.Susceptibility,
	})
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
