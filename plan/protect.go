package plan

import (
	"fmt"
	"time"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// Deposit is the state of a protectant on the leaves, by days and rain since.
// Millimetres and days are shown, never a share of protection: residue that is
// lost is not control that is lost.
type Deposit string

// The states of a deposit.
const (
	Fresh Deposit = "fresh"
	Thin  Deposit = "thin"
	Renew Deposit = "renew"
)

// The limits of a deposit: 25 and 50 mm and 7 days. They are a reading of
// trials on several crops that disagree among themselves (Ontario tree-fruit
// bulletin 2020; Missouri 2019 quoting Schilder 2010; derived), a caution level
// and not a property of any material.
const (
	thinRain  = 25.0
	renewRain = 50.0
	thinDays  = 7
)

var depositSource = risk.Source{Text: "25 and 50 mm, 7 days: a reading of wash-off trials (Ontario 2020; Schilder 2010 quoted in Missouri 2019)", Standing: risk.Derived}

// DepositState judges a spray from the rain since, the whole days since and the
// interval on the user's label (0 when not said).
func DepositState(rain float64, days, interval int) Deposit {
	switch {
	case rain >= renewRain, rain >= thinRain && days >= thinDays, interval > 0 && days >= interval:
		return Renew
	case rain >= thinRain, days >= thinDays:
		return Thin
	}
	return Fresh
}

// protected says whether earlier work still covers the planting.
func protected(c *Case) (decision, bool) {
	if c.Threat.Class == catalog.Insect {
		switch c.Planting.Cover {
		case garden.RowCover, garden.InsectNet:
			return decision{readiness: Protected, reason: Reason{
				Code: "covered",
				Text: fmt.Sprintf("The %s keeps it out while its edges are closed. Open it at flowering where bees must reach the flowers.", c.Planting.Cover),
			}}, true
		}
	}
	for i := len(c.Treatments) - 1; i >= 0; i-- {
		t := c.Treatments[i]
		if t.At.After(c.Now) {
			continue
		}
		rain, unknown := 0.0, 0
		if c.RainSince != nil {
			rain, unknown = c.RainSince(t.At)
		}
		days := int(c.Now.Sub(t.At) / (24 * time.Hour))
		// Unknown rain may have been a washing rain: it protects nothing.
		if unknown > 0 || DepositState(rain, days, t.IntervalDays) == Renew {
			return decision{}, false
		}
		state := DepositState(rain, days, t.IntervalDays)
		return decision{readiness: Protected, reason: Reason{
			Code: "sprayed",
			Text: fmt.Sprintf("Your treatment of %s (%s) is %s: %d days and %s mm of rain since.", clock(c, t.At), t.Material, state, days, number(rain)),
			Numbers: []Number{
				{Name: "days since", Value: float64(days), Unit: "days", Source: risk.Source{Text: "your log", Standing: risk.Confirmed}},
				{Name: "rain since", Value: rain, Unit: "mm", Source: depositSource},
			},
		}}, true
	}
	return decision{}, false
}
