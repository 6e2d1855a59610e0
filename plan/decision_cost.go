package plan

import (
	"fmt"
	"math"

	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// Stake is what is weighed before a treatment: what it costs, what the threat
// takes when nothing is done, and how much of that a treatment saves. Cost and
// loss are for one planting and in one measure, of the grower's choice: money,
// hours, meals.
type Stake struct {
	Cost     float64     // of one treatment with its work; at least 0
	Loss     float64     // when the threat comes and nothing was done; above 0
	Efficacy float64     // share of the loss that a treatment in time saves, above 0 to 1
	Source   risk.Source // who says so
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
	Act    bool    // the chance is above that from which a treatment pays
	Days   int     // within which the chance is
	Chance float64 // of the outlook, 0 to 1
	Pays   float64 // chance from which a treatment pays; above 1: never
	Stake  Stake
	Text   string // in a sentence
}

// Weigh holds the chance of an outlook against a stake. The chance is that within
// the shortest of the outlook's horizons that holds the given days, the longest
// when none does. It fails on a stake that cannot be weighed.
func Weigh(o *risk.Outlook, within int, name string, s Stake) (Weighing, error) {
	if err := s.Check(); err != nil {
		return Weighing{}, fmt.Errorf("weigh a treatment against %s: %w", name, err)
	}
	i := 0
	for i < len(risk.Horizons)-1 && risk.Horizons[i] < within {
		i++
	}
	w := Weighing{Days: risk.Horizons[i], Chance: o.Chance[i], Pays: s.Pays(), Stake: s}
	w.Act = w.Chance > w.Pays
	w.Text = w.sentence(name)
	return w, nil
}

func (w *Weighing) sentence(name string) string {
	s := w.Stake
	out := fmt.Sprintf("Treating costs about %s; %s left alone takes about %s, of which a treatment in time saves about %s",
		number(s.Cost), name, number(s.Loss), number(s.Loss*s.Efficacy))
	chance := fmt.Sprintf("the chance within %d days is %s", w.Days, percent(w.Chance))
	switch {
	case w.Pays >= 1:
		out += ": treating never saves what it costs."
	case w.Act:
		out += fmt.Sprintf(". That pays from a chance of %s on; %s, so it is worth acting now.", percent(w.Pays), chance)
	default:
		out += fmt.Sprintf(". That pays from a chance of %s on; %s, so it can wait.", percent(w.Pays), chance)
	}
	if s.Source.Standing == risk.FromMemory {
		out += " The figures are defaults, from memory: enter your own."
	}
	return out
}

// percent writes a chance in whole per cent; a small one is not made nothing, nor
// a large one certain.
func percent(p float64) string {
	switch {
	case p > 0 && p < 0.01:
		return "under 1 %"
	case p < 1 && p > 0.99:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
