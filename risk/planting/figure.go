package planting

import (
	"fmt"
	"slices"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/degreeday"
	"plotwarden/strict"
	"plotwarden/weather"
)

// Use is what a figure is for.
type Use string

// The uses.
const (
	Sow      Use = "sow"
	PlantOut Use = "plant out"
	Either   Use = "sow or plant out" // the source does not tell them apart
)

// Measure is the temperature that a figure is about.
type Measure string

// The measures. Each must reach the figure.
const (
	// Soil is the soil's temperature as a grower reads it in the morning. What a
	// weather service gives is the mean of the day at about 6 cm, which stands for
	// it here and is a little higher.
	Soil    Measure = "soil temperature"
	Night   Measure = "lowest temperature of the night"
	DayMean Measure = "mean temperature of the day"
	DayHigh Measure = "highest temperature of the day"
)

// of returns the measure of a day, C, NaN when unknown.
func (m Measure) of(d *weather.Day) float64 {
	switch m {
	case Soil:
		return d.Soil
	case Night:
		return d.Min
	case DayMean:
		return (d.Min + d.Max) / 2
	}
	return d.Max
}

// Figure is one published number for one crop.
type Figure struct {
	Crop    string // garden crop id
	Use     Use
	Measure Measure
	F       float64 // degrees Fahrenheit, as printed
	Days    int     // days running on which it must be reached; 1 when the source does not say
	How     string  // how the source reads it: depth, time of day
	Source  risk.Source
}

// C returns the figure in degrees Celsius.
func (f Figure) C() float64 { return degreeday.FtoC(f.F) }

// Own is a figure that a grower set, from degrees Celsius.
func Own(crop string, use Use, m Measure, c float64) Figure {
	return Figure{crop, use, m, degreeday.CtoF(c), 3, "", risk.Source{Text: "your own setting", Standing: risk.CommonPractice}}
}

// Figures returns every figure for a crop and a use, the lowest of each measure
// first; those that hold for either use are among them. It fails on a crop that
// garden does not know; a known crop without figures has none.
func Figures(crop string, use Use) ([]Figure, error) {
	c, ok := garden.CropByID(crop)
	if !ok {
		return nil, fmt.Errorf("%s", strict.Unknown("crop", crop, garden.CropIDs()))
	}
	var out []Figure
	for _, p := range published {
		if slices.Contains(p.crops, c.ID) && (p.Use == use || p.Use == Either || use == Either) {
			f := p.Figure
			f.Crop = c.ID
			out = append(out, f)
		}
	}
	if c.Warm && use != Sow {
		for _, f := range warmSeason {
			f.Crop = c.ID
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b Figure) int {
		if a.Measure != b.Measure {
			return order(a.Measure) - order(b.Measure)
		}
		switch {
		case a.F < b.F:
			return -1
		case a.F > b.F:
			return 1
		}
		return 0
	})
	return out, nil
}

func order(m Measure) int { return slices.Index([]Measure{Soil, Night, DayMean, DayHigh}, m) }
