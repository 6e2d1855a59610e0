package season

import (
	"fmt"
	"math"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/weather"
)

// WeeklyWater is what a bed wants in a week, mm: about an inch (common practice;
// 1 in. is 62 gallons on 100 square feet, 25 litres on a square metre,
// confirmed).
const WeeklyWater = 25.0

// comingDays is how many days of forecast rain are set against a shortfall.
const comingDays = 3

var waterSource = risk.Source{Text: "about 25 mm (1 in.) a week, wetted deep, in the morning, at the base; gardeners misjudge storms, so measure in the bed", Standing: risk.CommonPractice}

// Watering is water given to a planting: 1 mm is 1 litre on a square metre.
type Watering struct {
	Planting string     `yaml:"planting" json:"planting"`
	Date     civil.Date `yaml:"date" json:"date"`
	Mm       float64    `yaml:"mm" json:"mm"`
}

// Ledger is the water of one planting over the last seven days, today left out.
type Ledger struct {
	Plot        string     `json:"plot"`
	Planting    string     `json:"planting"`
	From        civil.Date `json:"from"` // first of the seven days
	To          civil.Date `json:"to"`   // last of them
	Rain        float64    `json:"rainMm"`
	UnknownDays int        `json:"unknownDays,omitempty"` // days whose rain is not known
	Given       float64    `json:"givenMm"`
	Want        float64    `json:"wantMm"`
	Short       float64    `json:"shortMm"`  // of Want, 0 when there is enough; unknown days count as dry
	Coming      float64    `json:"comingMm"` // forecast for the next days
	Dry         bool       `json:"underTunnel,omitempty"`
	Text        string     `json:"text"`
}

// Water makes the ledger of every planting that stands in its bed. A planting
// younger than seven days has as many days as it has stood.
func Water(site *garden.Site, days []weather.Day, given []Watering, today civil.Date) []Ledger {
	var out []Ledger
	for i := range site.Plots {
		for j := range site.Plots[i].Plantings {
			if p := &site.Plots[i].Plantings[j]; p.GrowingOn(today) {
				out = append(out, ledger(&site.Plots[i], p, days, given, today))
			}
		}
	}
	return out
}

func ledger(plot *garden.Plot, p *garden.Planting, days []weather.Day, given []Watering, today civil.Date) Ledger {
	l := Ledger{Plot: plot.ID, Planting: p.ID, From: max(today-7, p.InGround()), To: today - 1, Dry: p.Cover == garden.Tunnel}
	n := l.To.Sub(l.From) + 1
	l.Want = WeeklyWater * float64(n) / 7
	known := 0
	for k := range days {
		d := &days[k]
		switch {
		case math.IsNaN(d.Rain):
		case d.Date >= l.From && d.Date <= l.To:
			l.Rain += d.Rain
			known++
		case d.Date >= today && d.Date < today+comingDays:
			l.Coming += d.Rain
		}
	}
	l.UnknownDays = n - known
	if l.Dry {
		l.Rain, l.Coming, l.UnknownDays = 0, 0, 0
	}
	for _, w := range given {
		if w.Planting == p.ID && w.Date >= l.From && w.Date <= l.To && w.Mm > 0 {
			l.Given += w.Mm
		}
	}
	l.Short = max(0, l.Want-l.Rain-l.Given)
	l.Text = l.words(n)
	return l
}

func (l *Ledger) words(n int) string {
	rain := fmt.Sprintf("%s mm of rain", number(l.Rain))
	if l.Dry {
		rain = "no rain under the tunnel"
	}
	text := fmt.Sprintf("Last %s: %s and %s mm given, of about %s mm.", count(n, "day", "days"), rain, number(l.Given), number(l.Want))
	if l.UnknownDays > 0 {
		text += fmt.Sprintf(" Rain is not known for %s: feel the soil a finger deep before you water.", count(l.UnknownDays, "day", "days"))
	}
	if l.Short < 1 {
		return text + " Enough."
	}
	text += fmt.Sprintf(" %s mm short: %s litres on each square metre, at the base, in the morning.", number(l.Short), number(l.Short))
	if l.Coming >= 1 {
		text += fmt.Sprintf(" %s mm of rain is forecast within %d days.", number(l.Coming), comingDays)
	}
	return text
}

// Task turns a shortfall into work. It is false when there is enough, when less
// than 5 mm is missing, or when the forecast makes it good.
func (l *Ledger) Task(today civil.Date) (Task, bool) {
	if l.Short < 5 || l.Short <= l.Coming {
		return Task{}, false
	}
	return Task{l.Plot, l.Planting, plan.Step{Kind: plan.WaterBed, Text: l.Text, From: today, By: today + 1, Source: waterSource}}, true
}

// WaterSource is where the week's water comes from.
func WaterSource() risk.Source { return waterSource }
