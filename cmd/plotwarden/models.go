package main

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"plotwarden/risk"
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
	b := bufio.NewWriter(s.out)
	for i := range list {
		if i > 0 {
			fmt.Fprintln(b)
		}
		describe(b, &list[i], c.ID != "")
	}
	return b.Flush()
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

// describe writes a threat with its models; whole adds the numbers of each.
func describe(w io.Writer, t *catalog.Threat, whole bool) {
	fmt.Fprintf(w, "%s: %s (%s), %s of %s\n", t.ID, t.Name, t.Latin, t.Class, strings.Join(t.CropNames(), ", "))
	if t.LogOnly != "" {
		fmt.Fprintf(w, "  log only: %s\n", t.LogOnly)
	}
	for i := range t.Models {
		m := &t.Models[i]
		used := ""
		if m.Default {
			used = " (used for assessments)"
		}
		fmt.Fprintf(w, "  %s%s\n", m.ID, used)
		fmt.Fprintf(w, "    %s\n", m.Title)
		fmt.Fprintf(w, "    counts %s %s\n", m.Spec.Unit(), startText(m.Spec.Start()))
		if whole {
			for _, line := range catalog.Describe(m.Spec) {
				fmt.Fprintf(w, "    rule: %s\n", line)
			}
		}
		for _, st := range m.Spec.Stages() {
			fmt.Fprintf(w, "    at %s: %s%s\n", stageValue(st), st.Name, sourceOf(st.From))
		}
		fmt.Fprintf(w, "    source: %s [%s]\n", m.Source.Text, m.Source.Standing)
		fmt.Fprintf(w, "    validated: %s\n", m.Validated)
		for _, n := range m.Notes {
			fmt.Fprintf(w, "    note: %s\n", n)
		}
		if m.Added != "" {
			fmt.Fprintf(w, "    added by: %s\n", m.Added)
		}
	}
	for _, d := range t.Disagree {
		fmt.Fprintf(w, "  sources disagree: %s [%s]\n", d.Text, d.Standing)
	}
}

func sourceOf(s risk.Source) string {
	if s.Text == "" {
		return ""
	}
	return fmt.Sprintf(" (%s) [%s]", s.Text, s.Standing)
}

func stageValue(s model.Stage) string {
	v := strconv.FormatFloat(s.Value, 'f', -1, 64)
	if s.Through != 0 {
		v += " to " + strconv.FormatFloat(s.Through, 'f', -1, 64)
	}
	return v
}

func startText(s model.Start) string {
	text := "from " + s.Day.String()
	switch s.Kind {
	case model.FromInGround:
		text = "from the day the crop is in the ground"
	case model.FromCatch:
		text = "from " + s.Event
	}
	if s.Exclusive {
		text += ", that day not counted"
	}
	if s.Standing != risk.Unstated {
		text += " [" + s.Standing.String() + "]"
	}
	return text
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
			_ = c.Write([]string{list[i].ID, m.ID, m.Title, strconv.FormatBool(m.Default), m.Spec.Kind(), m.Spec.Unit(), startText(m.Spec.Start()),
				strings.Join(stages, "; "), m.Source.Text, m.Source.Standing.String(), m.Weakest().String(), m.Validated})
		}
	}
	c.Flush()
	return c.Error()
}
