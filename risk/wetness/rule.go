package wetness

import (
	"errors"
	"fmt"
	"math"

	"plotwarden/risk"
)

// Rule is a method with its parameters. A parameter left at 0 takes its default,
// so Rule{Method: Humidity} is the 90 % rule.
type Rule struct {
	Method Method `yaml:"method"`
	// Threshold is the relative humidity, %, from which Humidity calls an hour
	// wet: 90 (Sentelhas et al. 2008, confirmed). It belongs to the disease model
	// that uses the hours: 80, 85, 87 and 95 occur too.
	Threshold float64 `yaml:"threshold"`
	// Onset and DryOff are the distances from the dew point, C, below which
	// leaves get wet and above which they dry; between them they stay as they
	// were. 1.8 and 2.2 (from memory; others use 2.0 and 3.8).
	Onset  float64 `yaml:"onset"`
	DryOff float64 `yaml:"dry_off"`
	// WetFrom and DryBelow are the relative humidities, %, of ExtendedHumidity:
	// 87 and 70 (Wichink Kruit et al. 2004, from memory). Between them a rise of
	// more than Rise % in the hour is wet, a fall of more than Fall % dry, and
	// less of either leaves things as they were. The paper's 3 % and 2 % belong
	// to half an hour: 6 and 4 are those rates over an hour (derived).
	WetFrom  float64 `yaml:"wet_from"`
	DryBelow float64 `yaml:"dry_below"`
	Rise     float64 `yaml:"rise"`
	Fall     float64 `yaml:"fall"`
	// WindHeight is the height, m, at which the wind was measured: 10, that of
	// weather.Wind. The tree works on the wind at 0.3 m.
	WindHeight float64 `yaml:"wind_height"`
	// Share is the part of an hour, 0 to 1, from which a sensor's hour counts as
	// wet: 0.5 (common practice).
	Share float64 `yaml:"share"`
	// Trace is the rain, mm, up to which an hour is not wetted by it: 0.
	Trace float64 `yaml:"trace"`
}

var errDaily = errors.New("method daily-extremes gives the number of wet hours in a day, not which hours they are; use the daily figures")

// Defaults returns the rule with every parameter left at 0 filled in.
func (r Rule) Defaults() Rule {
	fill := func(p *float64, v float64) {
		if *p == 0 {
			*p = v
		}
	}
	fill(&r.Threshold, 90)
	fill(&r.Onset, 1.8)
	fill(&r.DryOff, 2.2)
	fill(&r.WetFrom, 87)
	fill(&r.DryBelow, 70)
	fill(&r.Rise, 6)
	fill(&r.Fall, 4)
	fill(&r.WindHeight, 10)
	fill(&r.Share, 0.5)
	return r
}

// Validate says what keeps Estimate from working with the rule, or nil.
func (r Rule) Validate() error {
	if err := r.Method.check(); err != nil {
		return err
	}
	if r.Method == DailyExtremes {
		return errDaily
	}
	d := r.Defaults()
	for _, p := range []struct {
		name     string
		v        float64
		low, top float64
		unit     string
	}{
		{"threshold", d.Threshold, 1, 100, "%"},
		{"onset", d.Onset, 0.01, 20, "C"},
		{"dry_off", d.DryOff, 0.01, 20, "C"},
		{"wet_from", d.WetFrom, 1, 100, "%"},
		{"dry_below", d.DryBelow, 1, 100, "%"},
		{"rise", d.Rise, 0.01, 100, "% an hour"},
		{"fall", d.Fall, 0.01, 100, "% an hour"},
		{"wind_height", d.WindHeight, lowestWind, 200, "m"},
		{"share", d.Share, 0.001, 1, "of an hour"},
		{"trace", d.Trace, 0, 10, "mm"},
	} {
		if !(p.v >= p.low && p.v <= p.top) || math.IsNaN(p.v) {
			return fmt.Errorf("%s %g %s is outside %g to %g", p.name, p.v, p.unit, p.low, p.top)
		}
	}
	if d.Onset > d.DryOff {
		return fmt.Errorf("onset %g C is above dry_off %g C", d.Onset, d.DryOff)
	}
	if d.DryBelow > d.WetFrom {
		return fmt.Errorf("dry_below %g %% is above wet_from %g %%", d.DryBelow, d.WetFrom)
	}
	return nil
}

// Parameter is one number of a rule, for showing.
type Parameter struct {
	Name   string
	Value  float64
	Unit   string
	Source risk.Source
}

// Parameters returns the numbers that the rule's method uses, each with its
// source. A number that the rule changed has no published source.
func (r Rule) Parameters() []Parameter {
	d, std := r.Defaults(), Rule{}.Defaults()
	own := risk.Source{Text: "set by the model that uses the hours", Standing: risk.CommonPractice}
	row := func(name string, v, def float64, unit, text string, st risk.Standing) Parameter {
		if v != def {
			return Parameter{name, v, unit, own}
		}
		return Parameter{name, v, unit, risk.Source{Text: text, Standing: st}}
	}
	var out []Parameter
	switch r.Method {
	case Humidity:
		out = append(out, row("wet from a humidity of", d.Threshold, std.Threshold, "%", "Sentelhas et al. 2008", risk.Confirmed))
	case DewPointDepression:
		out = append(out,
			row("wet below a dew-point depression of", d.Onset, std.Onset, "C", "as compared in Sentelhas et al. 2008; others 2.0", risk.FromMemory),
			row("dry above a dew-point depression of", d.DryOff, std.DryOff, "C", "as compared in Sentelhas et al. 2008; others 3.8", risk.FromMemory))
	case ExtendedHumidity:
		out = append(out,
			row("wet from a humidity of", d.WetFrom, std.WetFrom, "%", "Wichink Kruit et al. 2004", risk.FromMemory),
			row("dry below a humidity of", d.DryBelow, std.DryBelow, "%", "Wichink Kruit et al. 2004", risk.FromMemory),
			row("wet at a rise of more than", d.Rise, std.Rise, "% an hour", "3 % in 30 minutes of Wichink Kruit et al. 2004, over an hour", risk.Derived),
			row("dry at a fall of more than", d.Fall, std.Fall, "% an hour", "2 % in 30 minutes of Wichink Kruit et al. 2004, over an hour", risk.Derived))
	case Tree:
		out = append(out, row("wind measured at", d.WindHeight, std.WindHeight, "m", "the height at which weather services give wind", risk.CommonPractice))
	case Measured:
		out = append(out, row("wet from a share of the hour of", d.Share, std.Share, "", "half the hour", risk.CommonPractice))
	}
	return append(out, row("wetted by rain of more than", d.Trace, 0, "mm", "any rain that was measured", risk.CommonPractice))
}
