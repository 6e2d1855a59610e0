package model

import (
	"fmt"
	"math"

	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
)

type problem struct {
	at   any
	text string
}

// build makes the lookup table of the bands, or says which band cannot be.
func (t *CultivarTable) build(unit degreeday.Unit, step float64) (*disease.Table, problem) {
	if len(t.Bands) == 0 {
		return nil, problem{t, "has no bands"}
	}
	var bands []disease.Band
	for i := range t.Bands {
		b := &t.Bands[i]
		at := func(format string, args ...any) (*disease.Table, problem) {
			return nil, problem{b, fmt.Sprintf("bands[%d]: ", i) + fmt.Sprintf(format, args...)}
		}
		switch {
		case b.From > b.To:
			return at("from %s is above to %s", num(b.From), num(b.To))
		case b.From < -40 || b.To > 150:
			return at("%s to %s is not a range of temperatures", num(b.From), num(b.To))
		case !onStep(b.From, step) || !onStep(b.To, step):
			return at("%s and %s must be multiples of round_to %s", num(b.From), num(b.To), num(step))
		case i > 0 && b.From <= t.Bands[i-1].To:
			return at("from %s is not above the band before it, which ends at %s", num(b.From), num(t.Bands[i-1].To))
		case i > 0 && b.From-t.Bands[i-1].To > step*1.001:
			return at("temperatures between %s and %s have no band; write one without steps if they score 0", num(t.Bands[i-1].To), num(b.From))
		}
		band := disease.Band{From: b.From, To: b.To}
		for j, s := range b.Steps {
			switch {
			case s.Hours < 1 || s.Hours > 25 || s.Hours != math.Trunc(s.Hours):
				return at("steps[%d].hours: %s is not a whole number from 1 to 25, the most hours that a day can have", j, num(s.Hours))
			case s.Value <= 0 || s.Value > 1000:
				return at("steps[%d].value: %s is not above 0 and at most 1000; hours that score 0 need no step", j, num(s.Value))
			case j > 0 && (s.Hours <= b.Steps[j-1].Hours || s.Value <= b.Steps[j-1].Value):
				return at("steps[%d]: hours and values must rise from step to step", j)
			}
			band.Steps = append(band.Steps, disease.Step{Hours: int(s.Hours), Value: s.Value})
		}
		bands = append(bands, band)
	}
	return disease.NewTable(step, unit == degreeday.Fahrenheit, bands), problem{}
}

func onStep(x, step float64) bool {
	q := x / step
	return math.Abs(q-math.Round(q)) < 1e-6
}
