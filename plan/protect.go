package plan

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// Deposit is the state of a material on the leaves, by days and rain since.
// Millimetres and days are shown, never a share of protection: residue that is
// lost is not control that is lost.
type Deposit string

// The states of a deposit.
const (
	Fresh Deposit = "fresh"
	Thin  Deposit = "thin"
	Renew Deposit = "renew"
	Gone  Deposit = "gone" // nothing of it is left, or nothing ever stays
)

// words says the state within a sentence.
func (d Deposit) words() string {
	if d == Renew {
		return "due for renewal"
	}
	return string(d)
}

// Protection is the state of one treatment.
type Protection struct {
	State        Deposit     `json:"state"`
	Treatment    string      `json:"treatment"` // id
	Material     string      `json:"material"`
	At           time.Time   `json:"at"`
	Days         int         `json:"days"`   // whole days since
	Rain         float64     `json:"rainMm"` // since, mm; unknown hours not counted
	UnknownHours int         `json:"unknownHours,omitempty"`
	Text         string      `json:"text"` // one sentence with its numbers
	Said         []Said      `json:"said,omitempty"`
	Growth       string      `json:"growth,omitempty"`
	Source       risk.Source `json:"source"`
}

// Holds says whether it still counts as protection. Unknown rain may have been a
// washing rain: it protects nothing.
func (p *Protection) Holds() bool {
	return p.UnknownHours == 0 && (p.State == Fresh || p.State == Thin)
}

func (p *Protection) say(s Said) {
	p.Said = append(p.Said, s)
	p.Text = inEnglish(p.Said)
}

// growthDays is from how many days on new leaves are mentioned (common practice).
const growthDays = 3

const growthNote = "Leaves that have grown since then are bare: look at the tips, and in fast growth renew sooner."

// protection returns the state of the newest treatment that still holds, or else
// of the newest; nil when there was none by now. Work without a material is no
// treatment in this sense.
func protection(c *Case) *Protection {
	var newest *Protection
	for i := len(c.Treatments) - 1; i >= 0; i-- {
		t := &c.Treatments[i]
		if t.At.After(c.Now) || t.Material == "" && t.Ingredient == "" {
			continue
		}
		p := protectionOf(c, t)
		if p.Holds() {
			return &p
		}
		if newest == nil {
			newest = &p
		}
	}
	return newest
}

// Resets returns the local days of sprays at which a model that goes back to 0
// at a spray does so: those of materials that stay on the leaf for days. Soap,
// pyrethrins, Bt and home mixes protect no leaf from infection and reset nothing.
func Resets(ts []garden.Treatment, own []garden.Material, now time.Time, zone *time.Location) []civil.Date {
	var out []civil.Date
	for i := range ts {
		t := &ts[i]
		if t.At.After(now) || t.Material == "" && t.Ingredient == "" {
			continue
		}
		if w := wearOf(t, garden.MaterialByID(own, t.Material)); w.wear == ByWeather && !w.home {
			out = append(out, civil.Of(t.At, zone))
		}
	}
	return out
}

func protectionOf(c *Case, t *garden.Treatment) Protection {
	m := garden.MaterialByID(c.Materials, t.Material)
	w := wearOf(t, m)
	p := Protection{Treatment: t.ID, At: t.At, Material: materialName(t, m), Days: int(c.Now.Sub(t.At) / (24 * time.Hour)), Source: w.source}
	if c.RainSince != nil {
		p.Rain, p.UnknownHours = c.RainSince(t.At)
	}
	e := exposure{rain: p.Rain, days: p.Days, age: c.Now.Sub(t.At)}
	if c.RainSince != nil && e.age > w.drying {
		late, unknown := c.RainSince(t.At.Add(w.drying))
		if unknown == 0 && p.UnknownHours == 0 {
			e.early = p.Rain - late
		}
	} else {
		e.early = p.Rain
	}
	if w.wear == ByWetting && c.WetSince != nil {
		wet, unknown := c.WetSince(t.At)
		e.wet = wet
		p.UnknownHours = max(p.UnknownHours, unknown)
	} else if w.wear == ByWetting && e.age >= 12*time.Hour {
		// A night has passed, and nobody knows whether there was dew.
		p.UnknownHours = max(p.UnknownHours, 1)
	}
	var why *Said
	p.State, why = w.judge(e)
	p.say(said("Your treatment of %s (%s) is %s: %s and %s of rain since%s.", atTime(c.Site, t.At), given(p.Material), term(p.State.words()),
		counted(p.Days, "day"), figure(p.Rain, "mm"), Arg{Kind: ArgSaid, Said: why}))
	if p.UnknownHours > 0 && p.State != Gone {
		p.say(said("For %s nothing is known of rain or wet leaves, so it is not counted on.", counted(p.UnknownHours, "hour")))
	}
	if p.State == Thin {
		p.say(said("Renew before the next infection period."))
	}
	if p.Days >= growthDays && p.State != Gone {
		p.Growth = growthNote
	}
	return p
}

func materialName(t *garden.Treatment, m *garden.Material) string {
	switch {
	case m != nil:
		return m.Label()
	case t.Material != "":
		return t.Material
	case t.Ingredient != "":
		return t.Ingredient
	}
	return "material not said"
}

// protected says whether earlier work still covers the planting.
func protected(c *Case) (decision, bool) {
	if c.Threat.Class == catalog.Insect {
		switch c.Planting.Cover {
		case garden.RowCover, garden.InsectNet:
			return decision{readiness: Protected, reason: because("covered", covered(c)...)}, true
		}
	}
	p := protection(c)
	if p == nil || !p.Holds() {
		return decision{}, false
	}
	d := decision{readiness: Protected, reason: because("sprayed", p.Said...)}
	if p.Growth != "" {
		d.reason.add(said(p.Growth))
	}
	d.reason.Numbers = []Number{
		{Name: "days since", Value: float64(p.Days), Unit: "days", Source: risk.Source{Text: "your log", Standing: risk.Confirmed}},
		{Name: "rain since", Value: p.Rain, Unit: "mm", Source: p.Source},
	}
	return d, true
}

func covered(c *Case) []Said {
	out := []Said{said("The %s keeps it out while its edges are closed.", term(string(c.Planting.Cover)))}
	if w := (&windows{WindowInput: WindowInput{Planting: c.Planting}}); w.pickedFromFlowers() {
		out = append(out, said("Open it at %s, so that bees reach them.", term(w.bloom())))
	}
	return out
}

// worn says in a reason that earlier work no longer counts.
func worn(c *Case, d *decision) {
	if p := protection(c); p != nil && !p.Holds() && p.Days <= 2*thinDays {
		d.reason.add(p.Said...)
	}
}
