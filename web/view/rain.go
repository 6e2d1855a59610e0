package view

import (
	"fmt"
	"html/template"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// RainDays is how many days the page looks ahead.
const RainDays = 10

// RainHref is the address of a site's page of the days ahead.
func RainHref(site string) string { return SiteHref(site) + "/rain" }

// RainPage is the coming days by the hour, side by side across the beds.
type RainPage struct {
	Site     Link
	First    string // in one sentence: when the rain comes and what fits before it
	Warning  string
	Labels   template.HTML
	Bands    template.HTML
	Drawing  template.HTML
	Beds     []RainBed
	Calm     string // stands in place of Beds when there are none
	Days     []RainDay
	RainUnit string
	TempUnit string
}

// RainBed is one threat to one planting whose infection periods may come.
type RainBed struct {
	Name, Threat, Href string
	Readiness          plan.Readiness
	Shape, Drawing     template.HTML
	Words              string
}

// RainDay is one day in words: the table beside the drawing.
type RainDay struct {
	Day, Low, High, Rain, Wet, Work string
	Unknown                         bool
}

// RainSpan is the time that the page shows.
func RainSpan(in *In) (from, to time.Time) {
	return in.today().Start(in.loc()), in.today().AddDays(RainDays).Start(in.loc())
}

// Rain builds the page from the hours of s, which may be nil.
func Rain(in *In, s *weather.Series, wet Wet) RainPage {
	axis := draw.Axis{From: in.today(), Days: RainDays, Loc: in.loc()}
	p := RainPage{
		Site: Link{in.Site.Name, SiteHref(in.Site.ID)}, Warning: in.warning(), Labels: draw.AxisLabels(axis, in.Style),
		RainUnit: in.Style.RainUnit(), TempUnit: in.Style.TempUnit(),
	}
	hours := in.rainHours(s, wet)
	p.Days = in.rainDays(hours)
	p.First = in.rainFirst(hours)
	low, high, most := math.Inf(1), math.Inf(-1), 0.0
	for _, h := range hours {
		if !math.IsNaN(h.Temp) {
			low, high = min(low, h.Temp), max(high, h.Temp)
		}
		if !math.IsNaN(h.Rain) {
			most = max(most, h.Rain)
		}
	}
	a := draw.Ahead{ID: "ahead", Title: fmt.Sprintf("The coming %d days by the hour", RainDays), Hours: hours}
	if low <= high {
		a.High, a.Low = in.Style.Temp(high)+" "+p.TempUnit, in.Style.Temp(low)
	}
	if most > 0 {
		a.Most = in.Style.Rain(most) + " " + p.RainUnit
	}
	var words []string
	for _, d := range p.Days {
		words = append(words, fmt.Sprintf("%s: %s to %s %s, rain %s %s, leaves wet %s, work %s", d.Day, d.Low, d.High, p.TempUnit, d.Rain, p.RainUnit, d.Wet, d.Work))
	}
	a.Desc = draw.Describe(words...)
	p.Drawing = draw.DrawAhead(axis, a)
	p.Bands = draw.AheadLabels(a, "air", "rain", "wet leaf", "work")
	in.rainBeds(&p, axis)
	if len(p.Beds) == 0 {
		p.Calm = "No infection period is in sight for what stands in the beds. That rests on the forecast; look all the same."
		if in.Round == nil {
			p.Calm = ""
		}
	}
	return p
}

// rainHours puts weather, wetness and working hours together by the hour, with
// the hours that are missing as unknown ones.
func (in *In) rainHours(s *weather.Series, wet Wet) []draw.Hour {
	from, to := RainSpan(in)
	var leaves []wetness.State
	if s != nil && s.Len() > 0 {
		leaves = wet.of(s)
	}
	var out []draw.Hour
	for t := from.Truncate(time.Hour); t.Before(to); t = t.Add(time.Hour) {
		h := draw.Hour{At: t, Temp: math.NaN(), Rain: math.NaN()}
		if s != nil {
			if i := s.Index(t); i >= 0 && i < s.Len() && s.Time(i).Equal(t) {
				h.Temp, h.Rain = s.Value(weather.Temp, i), s.Value(weather.Rain, i)
				h.Known, h.Wet = leaves[i] != wetness.Unknown, leaves[i] == wetness.Wet
			}
		}
		for _, r := range in.hours() {
			if r.Good && !t.Before(r.From) && t.Before(r.To) && !t.Add(time.Hour).Before(in.Now) {
				h.Work = true
			}
		}
		out = append(out, h)
	}
	return out
}

func (in *In) rainDays(hours []draw.Hour) []RainDay {
	runs := in.good()
	out := make([]RainDay, 0, RainDays)
	for n := range RainDays {
		d := in.today().AddDays(n)
		low, high, rain := math.Inf(1), math.Inf(-1), 0.0
		wetHours, unknown, rainUnknown := 0, 0, 0
		for _, h := range hours {
			if civil.Of(h.At, in.loc()) != d {
				continue
			}
			if !math.IsNaN(h.Temp) {
				low, high = min(low, h.Temp), max(high, h.Temp)
			}
			if math.IsNaN(h.Rain) {
				rainUnknown++
			} else {
				rain += h.Rain
			}
			switch {
			case !h.Known:
				unknown++
			case h.Wet:
				wetHours++
			}
		}
		row := RainDay{Day: say.Upper(in.Style.Day(d, in.today())), Low: say.Missing, High: say.Missing, Rain: say.Missing, Wet: "not known", Work: in.join(runs, d)}
		if low <= high {
			row.Low, row.High = in.Style.Temp(low), in.Style.Temp(high)
		}
		switch {
		case rainUnknown == 0:
			row.Rain = in.Style.Rain(rain)
		case rain > 0:
			row.Rain = "at least " + in.Style.Rain(rain)
		}
		if unknown == 0 {
			row.Wet = say.Count(wetHours, "hour")
		} else if wetHours > 0 {
			row.Wet = fmt.Sprintf("%s, %d not known", say.Count(wetHours, "hour"), unknown)
		}
		if row.Work == "" {
			row.Work = "none: " + in.against(d)
		}
		row.Unknown = unknown > 12
		out = append(out, row)
	}
	return out
}

// soaking is the rain in an hour, mm, from which the page speaks of rain and not
// of a few drops (the usual least reading of a gauge is 0.2 to 0.254; common practice).
const soaking = 0.25

// rainFirst says when the next rain comes and which dry hours lie before it.
func (in *In) rainFirst(hours []draw.Hour) string {
	var ahead []draw.Hour
	for _, h := range hours {
		if h.At.Add(time.Hour).After(in.Now) {
			ahead = append(ahead, h)
		}
	}
	known := 0
	for _, h := range ahead {
		if math.IsNaN(h.Rain) {
			break
		}
		known++
		if h.Rain < soaking {
			continue
		}
		when := in.Style.Moment(h.At, in.Now, in.loc())
		if !h.At.After(in.Now) {
			return "It rains now, by the forecast. " + in.afterRain(ahead)
		}
		for _, r := range in.good() {
			if r.from.Before(h.At) {
				to := r.to
				if to.After(h.At) {
					to = h.At
				}
				return fmt.Sprintf("The next rain is forecast for %s. Dry working hours before it: %s %s.", when, in.Style.Day(r.day, in.today()), in.Style.Hours(in.roundUp(r.from), to, in.loc()))
			}
		}
		return fmt.Sprintf("The next rain is forecast for %s. There are no dry working hours before it.", when)
	}
	switch {
	case known == 0:
		return "Nothing is known of the rain ahead: there is no forecast."
	case known < len(ahead):
		return fmt.Sprintf("No rain is forecast up to %s; what comes after is not known.", in.Style.Moment(ahead[known-1].At, in.Now, in.loc()))
	}
	return fmt.Sprintf("No rain is forecast for the coming %d days.", RainDays)
}

func (in *In) afterRain(ahead []draw.Hour) string {
	for _, r := range in.good() {
		return fmt.Sprintf("The next dry working hours: %s %s.", in.Style.Day(r.day, in.today()), in.Style.Hours(in.roundUp(r.from), r.to, in.loc()))
	}
	return fmt.Sprintf("No dry working hours in the next %d days.", RainDays)
}

// rainBeds adds the plantings and threats whose infection periods may come, and
// those of which nothing can be said.
func (in *In) rainBeds(p *RainPage, axis draw.Axis) {
	for n, it := range in.items() {
		o := it.Outlook
		blind := it.readiness == plan.Blind
		if !blind && (o == nil || len(o.Periods) == 0) {
			continue
		}
		if blind && (it.Model == "" || it.threat.Class != catalog.Disease) {
			continue
		}
		b := RainBed{
			Name: BedName(it.plot, it.planting), Threat: it.threat.Name, Href: WhyHref(in.Site.ID, it.Planting, it.Threat),
			Readiness: it.readiness, Shape: draw.Shape(it.readiness, 22),
		}
		c := draw.Chances{ID: fmt.Sprintf("bed-%d", n), Title: it.threat.Name + " in " + b.Name, Unknown: blind}
		var words []string
		if blind {
			words = append(words, "not known: the weather for it is missing or too old")
		} else {
			for _, q := range o.Periods {
				if q.From >= axis.End() || q.To < axis.From {
					continue
				}
				figure := fmt.Sprintf("%.0f %%", 100*q.Chance)
				c.Parts = append(c.Parts, draw.ChancePart{From: q.From, To: q.To, Chance: q.Chance, Label: figure})
				basis := "by past years"
				if q.Forecast {
					basis = "by the forecast"
				}
				days := in.Style.Day(q.From, in.today())
				if q.To != q.From {
					days += " to " + in.Style.Day(q.To, in.today())
				}
				words = append(words, fmt.Sprintf("%s: %s %s", days, figure, basis))
			}
			if len(c.Parts) == 0 {
				continue
			}
		}
		b.Words = say.Sentence(say.List(words))
		c.Desc = b.Words
		b.Drawing = draw.DrawChances(axis, c)
		p.Beds = append(p.Beds, b)
	}
}
