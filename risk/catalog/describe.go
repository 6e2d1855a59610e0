package catalog

import (
	"fmt"
	"strconv"
	"strings"

	"plotwarden/risk/degreeday"
	"plotwarden/risk/model"
)

// Describe says what a rule computes with all its numbers, one sentence or row
// a line, in plain words. Stages and start are not in it.
func Describe(s model.Spec) []string {
	switch r := s.(type) {
	case *model.DegreeDays:
		return describeDegreeDays(r)
	case *model.SeverityTable:
		return describeTable(r)
	case *model.ConsecutiveDays:
		return []string{
			fmt.Sprintf("%s in a row, each (%s) with no hour below %s C and at least %d %s.", count(r.Days, "day"), r.Day, n(r.MinTemp), r.AtLeast, r.Hours.String()),
			"The hours need not be in a row.",
		}
	case *model.FavourableDays:
		return describeFavourable(r)
	case *model.SprayMatrix:
		return describeMatrix(r)
	case *model.PDays:
		return []string{fmt.Sprintf("P-days of each calendar day's lowest and highest temperature: none at %s C and below or at %s C and above, 10 at %s C.", n(r.Lower), n(r.Upper), n(r.Best))}
	case *model.InfectionModel:
		most := n(r.WetMax) + " hours"
		if r.WetMax == 0 {
			most = "3.8 + 3.0 times that"
		}
		return append([]string{fmt.Sprintf("Temperature from %s C, best %s C, to %s C; %s wet hours at the best temperature, at most %s.", n(r.Min), n(r.Best), n(r.Max), n(r.WetMin), most)}, describePeriod(&r.Period)...)
	case *model.WetPeriodTable:
		return describeWetTable(r)
	case *model.InfectionSurface:
		return describeSurface(r)
	case *model.WetMorning:
		out := []string{fmt.Sprintf("At least %d hours without a break from %02d:00 %s time on; what counts: %s.", r.Least, r.At, r.Clock, r.Hours.String())}
		for _, w := range r.TooWarm {
			out = append(out, fmt.Sprintf("Not when the mean of the next %d hours is above %s C.", w.Hours, n(w.Above)))
		}
		return out
	case *model.HumidNight:
		return describeNight(r)
	case *model.MildewIndex:
		u := r.Scale
		return []string{fmt.Sprintf("%s in a row with %d unbroken hours at %s-%s %s start the index (+%s each). Then a day with %d such hours adds %s and one with fewer takes %s; a reading of %s %s takes %s, and with the hours leaves +%s. Held from 0 to %s.",
			count(r.StartDays, "day"), r.WarmHours, n(r.WarmFrom), n(r.WarmTo), u, n(r.Rise), r.WarmHours, n(r.Rise), n(r.Fall), n(r.HotFrom), u, n(r.Fall), n(r.Rise-r.Fall), n(r.Ceiling))}
	case *model.BlossomHeat:
		u := r.Scale
		return []string{
			fmt.Sprintf("At least %s degree-hours above %s %s within the last %s degree-days above %s %s.", n(r.HeatLeast), n(r.HeatAbove), u, n(r.WindowTotal), n(r.WindowAbove), u),
			fmt.Sprintf("A day with a mean of at least %s %s and wetting; what counts: %s.", n(r.MeanLeast), u, r.Wetting.String()),
		}
	}
	return []string{"A rule of kind " + s.Kind() + "."}
}

func describeDegreeDays(r *model.DegreeDays) []string {
	of := "air temperature"
	if r.Of == model.Soil {
		of = "soil temperature"
	}
	line := fmt.Sprintf("Degree-days of %s above %s %s", of, n(r.Lower), r.Scale)
	if r.Upper != nil {
		line += fmt.Sprintf(", upper threshold %s %s", n(*r.Upper), r.Scale)
	}
	line += ", method " + string(r.Method)
	if r.Cutoff != "" && r.Cutoff != degreeday.None {
		line += ", " + string(r.Cutoff) + " cutoff"
	}
	return []string{line + "."}
}

func describeTable(r *model.SeverityTable) []string {
	what := map[model.Count]string{model.Total: "all of them count", model.LongestRun: "the longest unbroken run counts", model.SumOfRuns: "each unbroken run is scored on its own and the values are added"}[r.Count]
	mean := "their mean temperature"
	if r.Mean == model.WholeDay {
		mean = "the whole day's mean temperature"
	}
	out := []string{fmt.Sprintf("Day: %s. Hours: %s; %s. Temperature: %s, rounded half up to %s %s.", r.Day, r.Hours.String(), what, mean, n(r.RoundTo), r.Scale)}
	if r.SumDays > 0 {
		out = append(out, fmt.Sprintf("The total is the sum of the last %d days.", r.SumDays))
	}
	if r.ResetAtSpray {
		out = append(out, "The total goes back to 0 at each spray.")
	}
	for _, t := range r.Tables {
		for _, b := range t.Bands {
			var cells []string
			for _, s := range b.Steps {
				cells = append(cells, fmt.Sprintf("%s from %s h", n(s.Value), n(s.Hours)))
			}
			line := fmt.Sprintf("%s-%s %s: %s.", n(b.From), n(b.To), r.Scale, strings.Join(append(cells, "0 below"), ", "))
			if len(cells) == 0 {
				line = fmt.Sprintf("%s-%s %s: 0.", n(b.From), n(b.To), r.Scale)
			}
			if t.Cultivar != "" {
				line = string(t.Cultivar) + ", " + line
			}
			if b.Note != "" {
				line += " (" + b.Note + ")"
			}
			out = append(out, line)
		}
	}
	return out
}

func describeFavourable(r *model.FavourableDays) []string {
	var limits []string
	add := func(p *float64, format string) {
		if p != nil {
			limits = append(limits, fmt.Sprintf(format, n(*p)))
		}
	}
	add(r.Mean.AtLeast, "at least %s C")
	add(r.Mean.AtMost, "at most %s C")
	add(r.Mean.Below, "below %s C")
	line := fmt.Sprintf("A day is favourable when the mean of the last %s, itself included, is %s", count(r.Mean.Days, "day"), strings.Join(limits, " and "))
	if r.Rain.Days > 0 {
		line += fmt.Sprintf(", and the rain of the last %s is at least %s mm", count(r.Rain.Days, "day"), n(r.Rain.AtLeast))
	}
	if r.MinTemp != nil {
		line += fmt.Sprintf(", and its minimum is not below %s C", n(*r.MinTemp))
	}
	out := []string{line + "."}
	if r.InARow {
		out = append(out, "An unfavourable day puts the count back to 0.")
	}
	return out
}

func describeMatrix(r *model.SprayMatrix) []string {
	out := []string{fmt.Sprintf("The call of the day from the severity of the last %d days and the favourable days among the last %d, once the season's severity has reached %s or its favourable days %s.",
		r.SeverityDays, r.FavourableOver, n(r.Begins.Severity), n(r.Begins.Favourable))}
	for _, row := range r.Rows {
		cells := []string{fmt.Sprintf("below %s: %s", n(r.Columns[0]), r.Calls[row.Cells[0]])}
		for i, from := range r.Columns {
			cells = append(cells, fmt.Sprintf("from %s: %s", n(from), r.Calls[row.Cells[i+1]]))
		}
		out = append(out, fmt.Sprintf("%s or more favourable days: %s.", n(row.From), strings.Join(cells, "; ")))
	}
	out = append(out, describeTable(&r.Severity)...)
	return append(out, describeFavourable(&r.Favourable)...)
}

func describePeriod(p *model.Period) []string {
	line := fmt.Sprintf("Wet hours: %s. A period ends after %s", p.Hours.String(), count(p.Gap, "dry hour"))
	if p.GapHumidity > 0 {
		line += fmt.Sprintf(" below %s %% humidity", n(p.GapHumidity))
	}
	out := []string{line + "."}
	if p.Night != nil {
		out = append(out, fmt.Sprintf("A period that begins between %02d:00 and %02d:00 counts from %02d:00.", p.Night.From, p.Night.To, p.Night.To))
	}
	return out
}

func describeWetTable(r *model.WetPeriodTable) []string {
	out := describePeriod(&r.Period)
	between := map[model.Between]string{model.Interpolate: "a straight line", model.Longer: "the longer of the two", model.Shorter: "the shorter of the two"}[r.Between]
	out = append(out, "Between rows: "+between+"; beyond the first and last row nothing infects.")
	for _, k := range r.Classes {
		var cells []string
		for _, w := range k.Needs {
			at := n(w.From)
			if w.To != nil {
				at += "-" + n(*w.To)
			}
			cells = append(cells, fmt.Sprintf("%s %s %s h", at, r.Scale, n(w.Hours)))
		}
		out = append(out, k.Event+": "+strings.Join(cells, ", ")+".")
	}
	return out
}

func describeSurface(r *model.InfectionSurface) []string {
	var out []string
	if b := r.Beta; b != nil {
		out = append(out, fmt.Sprintf("%s: %s (T-%s)^%s (%s-T)^%s * %s/(1+%s exp(-%s W)), T being the mean temperature of the wet hours in C and W their number.",
			r.Counts, n(b.Scale), n(b.Low), n(b.LowPower), n(b.High), n(b.HighPower), n(b.Top), n(b.B), n(b.Rate)))
	}
	if l := r.Logit; l != nil {
		out = append(out, fmt.Sprintf("%s: logit = %s + %s W + %s W T + %s W T^2 + %s W T^3, T being the mean temperature of the wet hours in C and W their number.",
			r.Counts, n(l.A), n(l.W), n(l.WT), n(l.WT2), n(l.WT3)))
	}
	t := r.Tested
	out = append(out, fmt.Sprintf("Used for %s-%s wet hours (longer ones count as %s) and %s-%s C.", n(t.HoursFrom), n(t.HoursTo), n(t.HoursTo), n(t.TempFrom), n(t.TempTo)))
	return append(out, describePeriod(&r.Period)...)
}

func describeNight(r *model.HumidNight) []string {
	line := fmt.Sprintf("Night from %02d:00 to %02d:00 %s time", r.At, r.To, r.Clock)
	if r.Least > 0 {
		line += fmt.Sprintf(" with at least %d hours in a row that count", r.Least)
	} else {
		line += ", all of whose hours count"
	}
	out := []string{line + "; what counts: " + r.Hours.String() + "."}
	if r.TempFrom != nil {
		out = append(out, fmt.Sprintf("Their mean temperature is at least %s C.", n(*r.TempFrom)))
	}
	if r.TempTo != nil {
		out = append(out, fmt.Sprintf("Their mean temperature is at most %s C.", n(*r.TempTo)))
	}
	for _, h := range r.Hot {
		out = append(out, fmt.Sprintf("Not after a day with more than %s above %s C.", count(h.Hours, "hour"), n(h.Above)))
	}
	if r.DayMeanBelow != nil {
		out = append(out, fmt.Sprintf("The day before has a mean below %s C.", n(*r.DayMeanBelow)))
	}
	if r.DryFrom != nil {
		out = append(out, fmt.Sprintf("Not with rain at or after %02d:00.", *r.DryFrom))
	}
	return out
}

// n writes a number as it stands in the data file.
func n(x float64) string { return strconv.FormatFloat(x, 'g', 12, 64) }

func count(k int, unit string) string {
	if k == 1 {
		return "1 " + unit
	}
	return strconv.Itoa(k) + " " + unit + "s"
}
