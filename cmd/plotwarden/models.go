package main

import (
	"encoding/csv"
	"errors"
	"io"
	"strconv"
	"strings"

	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/strict"
)

type modelsCmd struct {
	ID        string `arg:"" optional:"" placeholder:"ID" help:"A threat or a model; all when left out."`
	CSV       bool   `name:"csv" help:"Write threat,model,title,default,kind,unit,start,stages,source,standing,weakest,validated, a row a model."`
	Catalogue string `placeholder:"FOLDER" help:"A folder of data files to add to the catalogue."`
}

// Run lists the threats with their models.
func (c *modelsCmd) Run(s streams) error {
	cat, err := catalogue(c.Catalogue)
	if err != nil {
		return err
	}
	list, err := c.chosen(cat)
	if err != nil {
		return err
	}
	if c.CSV {
		return modelsCSV(s.out, list)
	}
	return catalog.List(s.out, &catalog.Catalogue{Threats: list})
}

func (c *modelsCmd) chosen(cat *catalog.Catalogue) ([]catalog.Threat, error) {
	if c.ID == "" {
		return cat.Threats, nil
	}
	if t, ok := cat.ByID(c.ID); ok {
		return []catalog.Threat{*t}, nil
	}
	if m, ok := cat.Model(c.ID); ok {
		t, _ := cat.ByID(m.Threat)
		one := *t
		one.Models = []catalog.Model{*m}
		return []catalog.Threat{one}, nil
	}
	known := append(cat.IDs(), cat.ModelIDs()...)
	return nil, usageError{errors.New(strict.Unknown("threat or model", c.ID, known)), "plotwarden models lists them"}
}

func stageValue(s model.Stage) string {
	v := strconv.FormatFloat(s.Value, 'f', -1, 64)
	if s.Through != 0 {
		v += " to " + strconv.FormatFloat(s.Through, 'f', -1, 64)
	}
	return v
}

func modelsCSV(w io.Writer, list []catalog.Threat) error {
	c := csv.NewWriter(w)
	_ = c.Write([]string{"threat", "model", "title", "default", "kind", "unit", "start", "stages", "source", "standing", "weakest", "validated"}) // Flush keeps the error
	for i := range list {
		for j := range list[i].Models {
			m := &list[i].Models[j]
			var stages []string
			for _, st := range m.Spec.Stages() {
				stages = append(stages, st.Name+" "+stageValue(st))
			}
			_ = c.Write([]string{list[i].ID, m.ID, m.Title, strconv.FormatBool(m.Default), m.Spec.Kind(), m.Spec.Unit(), catalog.StartWords(m.Spec.Start()),
				strings.Join(stages, "; "), m.Source.Text, m.Source.Standing.String(), m.Weakest().String(), m.Validated})
		}
	}
	c.Flush()
	return c.Error()
}
