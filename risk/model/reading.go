package model

import (
	"fmt"
	"strings"

	"plotwarden/risk/degreeday"
)

// Reading says in plain words how a rule reads the weather: what two people who
// apply the same publication do differently. A part that the rule has no use for
// is empty.
type Reading struct {
	Day         string // what its day is
	Hours       string // which hours count, and how
	Temperature string // whose temperature is taken
	Rounding    string // how a band takes a real number
	Total       string // what the running total is
	Missing     string // what unknown hours do
}

// Describe returns the reading of a rule made by Decode, and a zero one of others.
func Describe(s Spec) Reading {
	p, ok := s.(interface{ reading() Reading })
	if !ok {
		return Reading{}
	}
	r := p.reading()
	if r.Missing == "" {
		r.Missing = "Hours that are unknown count neither as wet nor as dry; the lower and upper total say what they may have been."
	}
	return r
}

func dayText(d DayKind) string { return "The day runs from " + d.String() + ", by the site's clock." }

const missingDay = "A day with fewer than 20 known hours is unknown and adds nothing; the upper total says what it may have added."

func (d *DegreeDays) reading() Reading {
	of := "air"
	if d.Of == Soil {
		of = "the soil"
	}
	r := Reading{
		Day:         dayText(Calendar),
		Temperature: "The lowest and highest temperature of " + of + " in the day.",
		Rounding:    "Nothing is rounded before summing.",
		Total:       "The sum of the days since the start.",
		Missing:     missingDay,
	}
	if d.Method == degreeday.Hourly {
		r.Temperature = "The temperature of " + of + " of each hour."
	}
	if d.Method.Double() {
		r.Temperature += " The second half of the day runs to the next day's lowest; until that is known the value is provisional."
	}
	if d.Start().Exclusive {
		r.Total = "The sum of the days after the start, which itself does not count."
	}
	return r
}

func (s *SeverityTable) reading() Reading {
	r := Reading{
		Day:      dayText(s.Day),
		Rounding: fmt.Sprintf("The mean is rounded half up to %s %s, then both ends of a band are included. Hours are whole.", num(s.RoundTo), s.Scale),
		Total:    "The sum of the days since the start.",
	}
	hours := capital(s.Hours.String())
	switch s.Count {
	case Total:
		r.Hours = hours + ": all of the day, in one run or not."
	case LongestRun:
		r.Hours = hours + ": the longest unbroken run of the day."
	default:
		r.Hours = hours + ": each unbroken run of the day is scored on its own and the values are added."
	}
	r.Temperature = "The mean of the hours that count."
	if s.Count != Total {
		r.Temperature = "The mean of the hours of the run."
	}
	if s.Mean == WholeDay {
		r.Temperature = "The mean of all hours of the day."
	}
	if s.SumDays > 0 {
		r.Total = fmt.Sprintf("The sum of the last %d days.", s.SumDays)
	}
	if s.ResetAtSpray {
		r.Total += " A spray puts it to 0; counting goes on with the day after the spray."
	}
	return r
}

func (r *ConsecutiveDays) reading() Reading {
	return Reading{
		Day:         dayText(r.Day),
		Hours:       fmt.Sprintf("%s: at least %d in the day, in one run or not, on each of %d days in a row.", capital(r.Hours.String()), r.AtLeast, r.Days),
		Temperature: fmt.Sprintf("The lowest hour of the day is %s C or more.", num(r.MinTemp)),
		Rounding:    "Nothing is rounded.",
		Total:       "The number of days that completed such a run.",
	}
}

func (r *FavourableDays) reading() Reading {
	out := Reading{
		Day:         dayText(Calendar),
		Temperature: fmt.Sprintf("The mean of %d days, the day itself included, each day's mean being (lowest + highest)/2.", r.Mean.Days),
		Rounding:    "Nothing is rounded.",
		Total:       "The number of favourable days since the start.",
	}
	if r.Rain.Days > 0 {
		out.Hours = fmt.Sprintf("Rain of %d days, the day itself included.", r.Rain.Days)
	}
	if r.MinTemp != nil {
		out.Temperature += fmt.Sprintf(" A day whose lowest hour is below %s C is not favourable.", num(*r.MinTemp))
	}
	if r.InARow {
		out.Total = "The number of favourable days in a row."
	}
	return out
}

func (r *SprayMatrix) reading() Reading {
	out := r.Severity.reading()
	out.Temperature += " For favourable days: " + r.Favourable.reading().Temperature
	out.Total = fmt.Sprintf("The day's call, from the severity of the last %d days and the favourable days among the last %d, once the sums since the start have reached %s or %s.", r.SeverityDays, r.FavourableOver, num(r.Begins.Severity), num(r.Begins.Favourable))
	return out
}

func (r *PDays) reading() Reading {
	return Reading{
		Day:         dayText(Calendar),
		Temperature: "The lowest and highest of the day.",
		Rounding:    "Nothing is rounded.",
		Total:       "The sum of the days since the start.",
		Missing:     missingDay,
	}
}

func (p *Period) reading() Reading {
	gap := fmt.Sprintf("%d dry hours or more", p.Gap)
	if p.GapHumidity > 0 {
		gap = fmt.Sprintf("%d dry hours or more below %s %% relative humidity", p.Gap, num(p.GapHumidity))
	}
	r := Reading{
		Day:         "Wet periods run over midnight; they are dated on the calendar day in which they reach their hours.",
		Hours:       capital(p.Hours.String()) + ", summed over a wet period. A period ends with " + gap + ".",
		Temperature: "The mean of the wet hours of the period so far, without its gaps.",
		Total:       "The number of infection periods since the start.",
	}
	if p.Night != nil {
		r.Hours += fmt.Sprintf(" A period that begins between %d and %d o'clock counts from %d o'clock on.", p.Night.From, p.Night.To, p.Night.To)
	}
	return r
}

func (r *InfectionModel) reading() Reading {
	out := r.Period.reading()
	out.Rounding = "Nothing is rounded; infection comes with the first whole hour that is enough. Where the response to temperature is 0 nothing infects."
	return out
}

func (r *WetPeriodTable) reading() Reading {
	out := r.Period.reading()
	round := "The mean is not rounded."
	if r.RoundTo > 0 {
		round = fmt.Sprintf("The mean is rounded half up to %s %s.", num(r.RoundTo), r.Scale)
	}
	between := map[Between]string{
		Interpolate: "the hours lie in a straight line between the two",
		Longer:      "the longer of the two holds",
		Shorter:     "the shorter of the two holds",
	}[r.Between]
	out.Rounding = round + " Between two rows " + between + "; beyond the first and last nothing infects."
	if len(r.Classes) > 1 {
		out.Total = "The number of classes reached since the start, each once a period."
	}
	return out
}

func (r *InfectionSurface) reading() Reading {
	out, t := r.Period.reading(), r.Tested
	out.Day = "Wet periods run over midnight; they are scored on the calendar day in which their end is known."
	out.Temperature = "The mean of the wet hours of the period, without its gaps."
	out.Rounding = fmt.Sprintf("Nothing is rounded. Periods below %s h, and means outside %s to %s C, score 0; longer ones score as %s h.", num(t.HoursFrom), num(t.TempFrom), num(t.TempTo), num(t.HoursTo))
	out.Total = "The sum of the scores since the start."
	return out
}

func (r *WetMorning) reading() Reading {
	out := Reading{
		Day:      "One morning of each calendar day, " + r.Clock.String() + ".",
		Hours:    fmt.Sprintf("%s: every one of the %d hours from %02d:00.", capital(r.Hours.String()), r.Least, r.At),
		Rounding: "Nothing is rounded.",
		Total:    "The number of infection days since the start.",
	}
	at := r.At
	var limits []string
	for _, l := range r.TooWarm {
		limits = append(limits, fmt.Sprintf("the mean from %02d:00 to %02d:00 is at most %s C", at, at+l.Hours, num(l.Above)))
		at += l.Hours
	}
	if len(limits) > 0 {
		out.Temperature = capital(strings.Join(limits, ", and ")) + "."
	}
	return out
}

func (r *HumidNight) reading() Reading {
	out := Reading{
		Day:      fmt.Sprintf("The night from %02d:00 to %02d:00, dated on the day it ends, %s.", r.At, r.To, r.Clock),
		Rounding: "Nothing is rounded.",
		Total:    "The number of such nights since the start.",
	}
	if r.Least == 0 {
		out.Hours = capital(r.Hours.String()) + ": the whole night without a break."
	} else {
		out.Hours = fmt.Sprintf("%s: at least %d in a row.", capital(r.Hours.String()), r.Least)
	}
	if r.DryFrom != nil {
		out.Hours += fmt.Sprintf(" Rain at or after %02d:00 prevents it.", *r.DryFrom)
	}
	var limits []string
	switch {
	case r.TempFrom != nil && r.TempTo != nil:
		limits = append(limits, fmt.Sprintf("the mean of the night's humid hours is %s to %s C", num(*r.TempFrom), num(*r.TempTo)))
	case r.TempFrom != nil:
		limits = append(limits, fmt.Sprintf("the mean of the night's humid hours is at least %s C", num(*r.TempFrom)))
	case r.TempTo != nil:
		limits = append(limits, fmt.Sprintf("the mean of the night's humid hours is at most %s C", num(*r.TempTo)))
	}
	for _, h := range r.Hot {
		limits = append(limits, fmt.Sprintf("the day before has no more than %d hours above %s C", h.Hours, num(h.Above)))
	}
	if r.DayMeanBelow != nil {
		limits = append(limits, fmt.Sprintf("the mean of the day before is below %s C", num(*r.DayMeanBelow)))
	}
	if len(limits) > 0 {
		out.Temperature = capital(strings.Join(limits, "; ")) + "."
	}
	return out
}

func (r *MildewIndex) reading() Reading {
	return Reading{
		Day:         dayText(Calendar),
		Hours:       fmt.Sprintf("%d hours in a row from %s to %s %s make a warm day.", r.WarmHours, num(r.WarmFrom), num(r.WarmTo), r.Scale),
		Temperature: fmt.Sprintf("The temperature of each hour; one hour at %s %s or more makes a hot day.", num(r.HotFrom), r.Scale),
		Rounding:    "Nothing is rounded.",
		Total:       fmt.Sprintf("The level of the index, 0 to %s.", num(r.Ceiling)),
	}
}

func (r *BlossomHeat) reading() Reading {
	return Reading{
		Day:         dayText(Calendar),
		Hours:       "The day needs one hour among " + r.Wetting.String() + ".",
		Temperature: fmt.Sprintf("Degree-hours above %s %s of each hour; degree-days above %s and the day's mean by (lowest + highest)/2, at least %s %s.", num(r.HeatAbove), r.Scale, num(r.WindowAbove), num(r.MeanLeast), r.Scale),
		Rounding:    "Nothing is rounded.",
		Total:       fmt.Sprintf("The degree-hours of the last days that hold no more than %s degree-days, none before the start.", num(r.WindowTotal)),
	}
}

// String says which clock is read, in plain words.
func (k Clock) String() string {
	if k == StandardClock {
		return "by standard time, without summer time"
	}
	return "by the site's clock"
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
