package plan

import (
	"fmt"
	"strings"

	"plotwarden/garden"
	"plotwarden/risk"
)

// Oil and sulfur: at least two weeks apart either way, longer if the label says
// (UC IPM, confirmed); many oil labels say 30 days (a trade article that quotes
// labels, confirmed second-hand).
const (
	oilSulfurDays  = 14
	oilSulfurOften = 30
)

var (
	oilSulfurSource = risk.Source{Text: "UC IPM: oils and sulfur at least two weeks apart, whichever came first, longer if the label says", Standing: risk.Confirmed}
	oilLabelsSource = risk.Source{Text: "a trade article quoting labels: many say 30 days", Standing: risk.SecondHand}
)

// oilAndSulfur looks for the other of the two on the planting within its days.
func (c *checker) oilAndSulfur() {
	kind := c.kind()
	other := garden.KindSulfur
	switch kind {
	case garden.KindOil:
	case garden.KindSulfur:
		other = garden.KindOil
	default:
		return
	}
	need, source := oilSulfurDays, oilSulfurSource
	if m := c.q.Material; m != nil && m.ApartDays > need {
		need, source = m.ApartDays, labelSource
	}
	for _, r := range c.uses() {
		if recordKind(&r, c.q.Own) != other {
			continue
		}
		if own := garden.MaterialByID(c.q.Own, r.Material); own != nil && own.ApartDays > need {
			need, source = own.ApartDays, labelSource
		}
		switch d := c.apart(&r); {
		case d < need:
			c.add(Stop, "oil and sulfur", fmt.Sprintf("An oil and sulfur burn leaves together: %s lie between this and the %s of %s; keep at least %d apart, and longer where the label says.", count(d, "day", "days"), other, c.date(r.Start), need), source)
			return
		case d < oilSulfurOften:
			c.add(Warn, "oil and sulfur", fmt.Sprintf("%s lie between this and the %s of %s; many labels want %d. Read yours.", count(d, "day", "days"), other, c.date(r.Start), oilSulfurOften), oilLabelsSource)
			return
		}
	}
}

func (c *checker) kind() garden.MaterialKind {
	if c.q.Material != nil {
		return kindOf(c.q.Material)
	}
	return recordKind(c.q.Record, c.q.Own)
}

// recordKind is the kind of what was used, from the grower's list, the record or
// the ingredient.
func recordKind(r *garden.Record, own []garden.Material) garden.MaterialKind {
	if m := garden.MaterialByID(own, r.Material); m != nil {
		return kindOf(m)
	}
	if r.Kind != "" {
		return r.Kind
	}
	if in := IngredientOf(r.Ingredient + " " + r.Product); in != nil {
		return in.Kind
	}
	return ""
}

var (
	surfactantSource = risk.Source{Text: "Univ. Delaware (Johnson): no surfactant with copper", Standing: risk.Confirmed}
	btCopperSource   = risk.Source{Text: "not checked against a text", Standing: risk.FromMemory}
)

// mix checks what goes into one tank.
func (c *checker) mix() {
	m := c.q.Material
	if m == nil {
		return
	}
	for i := range c.q.Mix {
		x := &c.q.Mix[i]
		pair := m.Label() + " and " + x.Label()
		a, b := kindOf(m), kindOf(x)
		switch {
		case forbids(m, x) || forbids(x, m):
			c.add(Stop, "do not mix", "The label, as you typed it, forbids mixing "+pair+".", labelSource)
		case is(a, b, garden.KindOil, garden.KindSulfur):
			c.add(Stop, "do not mix", pair+": an oil and sulfur never go together.", oilSulfurSource)
		case is(a, b, garden.KindCopper, garden.KindSoap), is(a, b, garden.KindCopper, garden.KindOil):
			c.add(Warn, "do not mix", pair+": with soap or oil copper gets into the leaf and burns it.", surfactantSource)
		case is(a, b, garden.KindCopper, garden.KindBiological):
			c.add(Warn, "do not mix", pair+": copper can kill what lives in the other.", btCopperSource)
		default:
			c.add(Ask, "mix", "Do both labels allow mixing "+pair+"? If they say nothing, use one alone.", labelSource)
		}
	}
}

func is(a, b, x, y garden.MaterialKind) bool { return a == x && b == y || a == y && b == x }

// forbids says whether the label of m, as typed, names x: its id, kind or
// ingredient.
func forbids(m, x *garden.Material) bool {
	for _, w := range m.DoNotMix {
		w = strings.ToLower(strings.TrimSpace(w))
		if w == "" {
			continue
		}
		if w == strings.ToLower(x.ID) || w == string(kindOf(x)) || strings.Contains(strings.ToLower(x.Ingredient), w) {
			return true
		}
		if in := IngredientOf(w); in != nil && in == IngredientOf(x.Ingredient) {
			return true
		}
	}
	return false
}
