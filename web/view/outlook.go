package view

import (
	"fmt"
	"html/template"
	"math"

	"plotwarden/risk"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// OutlookView is an outlook in words, dates and chances.
type OutlookView struct {
	Sure    string // the event and when it is expected
	Issued  string
	Early   string // 10 %
	Middle  string // 50 %
	Late    string // 90 %
	Chances []ChanceRow
	Basis   string
	Runs    string
	Rough   bool
}

// ChanceRow is the chance of the event within a number of days.
type ChanceRow struct {
	Within string // "7 days, by 17 Jun"
	Words  string // "about 6 in 10"
	Figure string // "58 %"
	Bar    template.HTML
}

// named puts the name of an event before what is said of it.
func named(event, words string) string {
	if event == "" {
		return words
	}
	return event + ": " + words
}

func (in *In) outlook(o *risk.Outlook) *OutlookView {
	v := &OutlookView{
		Sure:   say.Sentence(named(o.Event, in.Style.Sure(o, in.today()))),
		Issued: in.Style.Day(o.Issued, in.today()),
		Early:  in.cell(o.P10), Middle: in.cell(o.P50), Late: in.cell(o.P90),
		Basis: say.Sentence(o.Basis),
		Runs:  say.Count(o.Members, "run"),
		Rough: o.Rough,
	}
	if !o.Reached.IsZero() {
		return v // it has happened: no chances are left
	}
	for i, days := range risk.Horizons {
		p := o.Chance[i]
		row := ChanceRow{
			Within: fmt.Sprintf("%d days, by %s", days, in.Style.Date(o.Issued.AddDays(days), in.today())),
			Words:  say.Chance(p),
			Figure: say.Missing,
		}
		if !math.IsNaN(p) {
			row.Figure = fmt.Sprintf("%.0f %%", 100*p)
			row.Bar = draw.Bar(p)
		}
		v.Chances = append(v.Chances, row)
	}
	return v
}
