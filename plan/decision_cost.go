package plan

import (
	"fmt"
	"math"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// Stake is what is weighed before a treatment: what it costs, what the threat
// takes when nothing is done, and how much of that a treatment saves. Cost and
// loss are for one planting and in one measure, of the grower's choice: money,
// hours, meals.
type Stake struct {
	Cost     float64     `json:"cost"`     // of one treatment with its work; at least 0
	Loss     float64     `json:"loss"`     // when the threat comes and nothing was done; above 0
	Efficacy float64     `json:"efficacy"` // share of the loss that a treatment in time saves, above 0 to 1
	Source   risk.Source `json:"source"`   // who says so
}

// Check says what cannot be weighed, or nil.
func (s Stake) Check() error {
	switch {
	case !(s.Cost >= 0) || math.IsInf(s.Cost, 0):
		return fmt.Errorf("cost %g is not a number from 0 up", s.Cost)
	case !(s.Loss > 0) || math.IsInf(s.Loss, 0):
		return fmt.Errorf("loss %g is not a number above 0; it is what the threat takes when nothing is done, in the measure of the cost", s.Loss)
	case !(s.Efficacy > 0 && s.Efficacy <= 1):
		return fmt.Errorf("efficacy %g is not above 0 and at most 1; it is the share of the loss that a treatment saves", s.Efficacy)
	}
	return nil
}

// fromHere is the source of the default stakes: no publication weighs a garden's
// plantings, so that they are this program's guesses to be replaced.
var fromHere = risk.Source{Text: "a default of this program, in multiples of half of a treatment's cost; enter your own", Standing: risk.FromMemory}

const (
	usualCost     = 2.0
	usualLoss     = 20.0
	usualEfficacy = 0.7
)

// losses are the threats whose loss is far from the usual, against a treatment
// that costs 2: what kills whole plants or plots, and what mostly spoils leaves.
var losses = map[string]float64{
	"late-blight": 60, "cucurbit-downy-mildew": 40, "basil-downy-mildew": 40, "squash-vine-borer": 40,
	"striped-cucumber-beetle": 30, "cabbage-maggot": 30, "onion-maggot": 30, "swede-midge": 30, "colorado-potato-beetle": 30,
	"tomato-powdery-mildew": 8, "cucurbit-powdery-mildew": 8, "spinach-leafminer": 8, "cabbage-aphid": 10, "pea-aphid": 10,
	"green-peach-aphid": 10, "melon-aphid": 10, "lettuce-aphid": 10, "bean-rust": 10,
}

// DefaultStake is what is weighed for a threat of which the grower has entered
// nothing.
func DefaultStake(t *catalog.Threat) Stake {
	s := Stake{Cost: usualCost, Loss: usualLoss, Efficacy: usualEfficacy, Source: fromHere}
	if l, ok := losses[t.ID]; ok {
		s.Loss = l
	}
	return s
}

// Pays returns the chance of the threat from which a treatment saves more than
// it costs: cost / (loss * efficacy). Above 1 it never does.
func (s Stake) Pays() float64 { return s.Cost / (s.Loss * s.Efficacy) }

// Weighing is a chance held against a stake.
type Weighing struct {
	Act    bool    `json:"act"`    // the chance is above that from which a treatment pays
	Days   int     `json:"days"`   // within which the chance is
	Chance float64 `json:"chance"` // of the outlook, 0 to 1
	Pays   float64 `json:"pays"`   // chance from which a treatment pays; above 1: never
	Stake  Stake   `json:"stake"`
	Text   string  `json:"text"` // in sentences
	// Said is Text by its parts, one for each of its sentences.
	Said []Said `json:"said,omitempty"`
}

// Weigh holds the chance of an outlook against a stake. The chance is that within
// the shortest of the outlook's horizons that holds the given days, the longest
// when none does. It fails on a stake that cannot be weighed.
func Weigh(o *risk.Outlook, within int, name string, s Stake) (Weighing, error) {
	i := 0
	for i < len(risk.Horizons)-1 && risk.Horizons[i] < within {
		i++
	}
	return weighChance(o.Chance[i], risk.Horizons[i], name, s)
}

func weighChance(chance float64, days int, name string, s Stake) (Weighing, error) {
	if err := s.Check(); err != nil {
		return Weighing{}, fmt.Errorf("weigh a treatment against %s: %w", name, err)
	}
	w := Weighing{Days: days, Chance: chance, Pays: s.Pays(), Stake: s}
	w.Act = w.Chance > w.Pays
	w.Said = []Said{
		said("Treating costs about %s; %s left alone takes about %s, of which a treatment in time saves about %s.", digits(s.Cost), term(name), digits(s.Loss), digits(s.Loss*s.Efficacy)),
		w.verdict(),
	}
	if s.Source.Standing == risk.FromMemory {
		w.Said = append(w.Said, said("The figures are defaults, from memory: enter your own."))
	}
	w.Text = inEnglish(w.Said)
	return w, nil
}

// verdict says from which chance on a treatment pays, and whether it does now.
func (w *Weighing) verdict() Said {
	switch {
	case w.Pays >= 1:
		return said("Treating never saves what it costs.")
	case w.Act:
		return said("Treating pays from a chance of %s on; within %s it is %s, so it is worth acting now.", percent(w.Pays), counted(w.Days, "day"), percent(w.Chance))
	}
	return said("Treating pays from a chance of %s on; within %s it is %s, so treating can wait.", percent(w.Pays), counted(w.Days, "day"), percent(w.Chance))
}

// percent writes a chance in whole per cent; a small one is not made nothing, nor
// a large one certain.
func percent(p float64) Arg {
	switch {
	case p > 0 && p < 0.01:
		return term("under 1 %")
	case p < 1 && p > 0.99:
		return term("over 99 %")
	}
	return figure(math.Round(100*p), "%")
}

// weigh holds what lies ahead against what is at stake and says the outcome. A
// chance that a treatment pays for calls for action, however late the early date:
// what takes whole plants is worth it at a small chance, what spoils some leaves
// at a large one. Steps that cost nothing are not put off by it.
func weigh(c *Case, r Rules, d *decision) {
	o := d.outlook
	if o == nil || !o.Reached.IsZero() {
		return
	}
	stake := c.Stake
	if stake == (Stake{}) {
		stake = DefaultStake(c.Threat)
	}
	var w Weighing
	var err error
	infection := c.Model != nil && len(c.Stages) == 0
	if infection {
		w, err = weighChance(forecastChance(o, c.Today, r.InfectionDays), r.InfectionDays, c.Threat.Name, stake)
	} else {
		w, err = Weigh(o, r.ActDays, c.Threat.Name, stake)
	}
	if err != nil {
		return // entered stakes are checked where they are read
	}
	d.weighing = &w
	switch {
	case infection && w.Act && (d.readiness == Quiet || d.readiness == Approaching):
		numbers := d.reason.Numbers
		d.readiness = Act
		d.reason = because("infection-worth-acting", said("The forecast may bring conditions that favour infection within %s. A protectant works only before it.", counted(w.Days, "day")))
		d.reason.Numbers = numbers
	case w.Act && d.readiness == Approaching:
		d.readiness, d.reason.Code = Act, "worth-acting"
	}
	if d.readiness == Act || d.readiness == Approaching {
		d.reason.add(w.verdict())
		d.reason.Numbers = append(d.reason.Numbers, called(said("chance from which a treatment pays"), Number{Value: max(1, math.Round(100*w.Pays)), Unit: "%",
			Source: risk.Source{Text: w.Text, Standing: stake.Source.Standing}}))
	}
}

// forecastChance is the greatest chance of an infection period that the forecast
// brings within some days. Past years do not count: that a month is mostly wet is
// no reason to treat today.
func forecastChance(o *risk.Outlook, today civil.Date, days int) float64 {
	most := 0.0
	for _, p := range o.Periods {
		if p.Forecast && p.From.Sub(today) <= days {
			most = max(most, p.Chance)
		}
	}
	return most
}

// StakeOf returns what is weighed for a threat to a planting: what its grower
// entered, and where that is less than all, the default.
func StakeOf(site *garden.Site, plot *garden.Plot, p *garden.Planting, t *catalog.Threat) Stake {
	s := DefaultStake(t)
	own := garden.StakeFor(site, plot, t.ID, p.Crop)
	if own == nil {
		return s
	}
	if own.Cost != nil && own.Loss != nil {
		s.Cost, s.Loss = *own.Cost, *own.Loss
		s.Source = risk.Source{Text: "entered by the grower", Standing: risk.Confirmed}
	}
	if own.Efficacy != nil {
		s.Efficacy = *own.Efficacy
	}
	switch {
	case own.Cost == nil:
		s.Source.Text = "efficacy entered by the grower; cost and loss: " + s.Source.Text
	case own.Efficacy == nil:
		s.Source = risk.Source{Text: "cost and loss entered by the grower; efficacy a default of this program", Standing: risk.FromMemory}
	}
	return s
}
