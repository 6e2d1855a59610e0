package view

import (
	"fmt"
	"math"
	"strings"

	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/say"
)

// Quality is how far a site's weather is to be trusted.
type Quality struct {
	Against string // what the forecasts were held against, in a sentence; empty before there is anything
	Sources []QualitySource
	Doubts  []string
	Apart   []string // sources whose forecasts differ widely
	Aside   []string // values that the checks took out
}

// QualitySource is how good one source's forecasts were.
type QualitySource struct {
	Name  string
	Leads []LeadRow
	Bias  []string
}

// LeadRow is the error of the forecasts for one stretch of days ahead.
type LeadRow struct {
	Ahead, Temp, Humid, Caught, False string
	Hours                             int
}

// leadDays are the stretches that are shown, in days from the issue.
var leadDays = [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 5}, {5, 7}, {7, 10}, {10, 16}}

// QualityOf builds the part from a site's account and the values set aside in
// the last 30 days.
func QualityOf(in *In, q store.Quality, aside []store.SetAside) *Quality {
	out := &Quality{}
	switch q.Against {
	case weather.Station, weather.Nearby:
		out.Against = fmt.Sprintf("Forecasts since %s, held against what %s measured.", in.Style.Moment(q.Since, in.Now, in.loc()), map[weather.Kind]string{weather.Station: "your own station", weather.Nearby: "a station near by"}[q.Against])
	case weather.Analysis:
		out.Against = fmt.Sprintf("Forecasts since %s, held against a weather service's own account of those hours. No station tells how far that is off at this ground, so the real error is larger.", in.Style.Moment(q.Since, in.Now, in.loc()))
	}
	for _, s := range q.Sources {
		row := QualitySource{Name: s.Source, Leads: in.leads(s.Error)}
		for _, b := range s.Bias {
			row.Bias = append(row.Bias, in.bias(b, q.Corrected))
		}
		if len(row.Leads) > 0 || len(row.Bias) > 0 {
			out.Sources = append(out.Sources, row)
		}
	}
	for _, d := range q.Doubts {
		out.Doubts = append(out.Doubts, in.doubt(d))
	}
	for _, d := range q.Disagreements {
		out.Apart = append(out.Apart, in.apart(d))
	}
	for _, a := range aside {
		out.Aside = append(out.Aside, fmt.Sprintf("%s: %s set aside (%s), the newest of %s: %s.", a.Source, say.Count(a.N, "value"), a.Fault, in.Style.Moment(a.Last, in.Now, in.loc()), a.Reason))
	}
	if out.Against == "" && len(out.Sources)+len(out.Doubts)+len(out.Apart)+len(out.Aside) == 0 {
		return nil
	}
	return out
}

func (in *In) leads(e weather.ForecastError) []LeadRow {
	var out []LeadRow
	for _, span := range leadDays {
		temp, rh, rain := sumOf(e.Temp, span), sumOf(e.RH, span), weather.RainCount{}
		for d := span[0]; d < min(span[1], len(e.Rain)); d++ {
			rain.Hits += e.Rain[d].Hits
			rain.Misses += e.Rain[d].Misses
			rain.FalseAlarms += e.Rain[d].FalseAlarms
			rain.DryRight += e.Rain[d].DryRight
		}
		hours := max(temp.N, rh.N, rain.Hours())
		if hours == 0 {
			continue
		}
		row := LeadRow{Ahead: fmt.Sprintf("day %d", span[1]), Temp: in.degrees(temp.MAE), Humid: figure(rh.MAE), Caught: share(rain.Caught()), False: share(rain.False()), Hours: hours}
		if span[1]-span[0] > 1 {
			row.Ahead = fmt.Sprintf("days %d to %d", span[0]+1, span[1])
		}
		out = append(out, row)
	}
	return out
}

// sumOf joins the errors of a stretch of days.
func sumOf(list []weather.Error, span [2]int) weather.Error {
	out := weather.Error{MAE: math.NaN()}
	var abs float64
	for d := span[0]; d < min(span[1], len(list)); d++ {
		if list[d].N > 0 {
			abs += float64(list[d].N) * list[d].MAE
			out.N += list[d].N
		}
	}
	if out.N > 0 {
		out.MAE = abs / float64(out.N)
	}
	return out
}

// degrees writes a difference of temperatures given in C.
func (in *In) degrees(c float64) string {
	if in.Style.US {
		c *= 1.8
	}
	return figure(c)
}

func figure(x float64) string {
	if math.IsNaN(x) {
		return say.Missing
	}
	return fmt.Sprintf("%.1f", x)
}

func share(x float64) string {
	if math.IsNaN(x) {
		return say.Missing
	}
	return fmt.Sprintf("%.0f %%", 100*x)
}

func (in *In) bias(b store.Bias, corrected bool) string {
	unit, size, more, less := in.Style.TempUnit(), in.degrees(math.Abs(b.All.Bias)), "too warm", "too cold"
	if b.Var == weather.RH {
		unit, size, more, less = "%", figure(math.Abs(b.All.Bias)), "too damp", "too dry"
	}
	way := more
	if b.All.Bias < 0 {
		way = less
	}
	s := fmt.Sprintf("Forecasts of the next three days were on average %s %s %s, over %s.", size, unit, way, say.Count(b.All.N, "hour"))
	if corrected {
		return s + " That is taken off, hour of the day by hour."
	}
	return s + " It is not taken off; correct_bias in the configuration turns that on."
}

// apart says how two sources differ.
func (in *In) apart(d store.Disagreement) string {
	write := func(x float64) string { return fmt.Sprintf("%.0f %s", x, d.Var.Unit()) }
	size := write(d.Mean)
	switch d.Var {
	case weather.Temp:
		write = func(x float64) string { return in.Style.Temp(x) + " " + in.Style.TempUnit() }
		size = in.degrees(d.Mean) + " " + in.Style.TempUnit()
	case weather.Rain:
		write = func(x float64) string { return in.Style.Rain(x) + " " + in.Style.RainUnit() + " a day" }
		size = write(d.Mean)
	case weather.Wind:
		write = func(x float64) string { return in.Style.Wind(x) + " " + in.Style.WindUnit() }
		size = write(d.Mean)
	}
	return fmt.Sprintf("%s and %s disagree widely on %s, since %s: by %s over %s to %s (%s and %s). One of the two is likely wrong; the first is used where it has a value.",
		d.A, d.B, d.Var, in.Style.Moment(d.Since, in.Now, in.loc()), size, say.Count(d.Hours, "hour"), in.Style.Moment(d.To, in.Now, in.loc()), write(d.MeanA), write(d.MeanB))
}

func (in *In) doubt(d store.Doubt) string {
	vars := make([]string, len(d.Vars))
	for i, v := range d.Vars {
		vars[i] = v.String()
	}
	what := strings.Join(vars, ", ")
	if d.Fault == weather.FaultClock {
		what = "every hour"
	}
	s := fmt.Sprintf("%s, %s from %s to %s: %s.", d.Source, what, in.Style.Moment(d.From, in.Now, in.loc()), in.Style.Moment(d.To, in.Now, in.loc()), d.Reason)
	switch {
	case !d.Sure:
		return s + " It may be so; the values are used."
	case d.Open:
		return s + " These values are not used, nor is what comes now, until it has been right for two weeks."
	}
	return s + " These values are not used."
}
