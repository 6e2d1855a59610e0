package plan

import (
	"fmt"
	"strings"

	"plotwarden/garden"
	"plotwarden/risk"
)

// label asks for what is not said and stops at a crop that the label does not
// name.
func (c *checker) label() {
	m := c.q.Material
	if m == nil {
		c.add(Ask, "no material", "This material is not in your list. Type it from its label first, so that its intervals, days before harvest and limits can be checked. "+LabelCaution, restSource)
		return
	}
	crop := c.q.Planting.Crop
	if k, ok := garden.CropByID(crop); ok {
		crop = k.Name
	}
	if allowed, said := m.Allows(c.q.Planting.Crop); said && !allowed {
		text := fmt.Sprintf("The label of %s, as you typed it, does not name %s. The label is the law: not here.", m.Label(), crop)
		if m.Kind == garden.KindHomeMix {
			text = fmt.Sprintf("You keep %s for %s; %s is not among them.", m.Label(), strings.Join(m.Crops, ", "), crop)
		}
		c.add(Stop, "crop", text, labelSource)
	}
	if missing := m.Unsaid(); len(missing) > 0 {
		c.add(Ask, "label", fmt.Sprintf("Not said for %s: %s. Read the label and type it; nothing is taken for granted.", m.Label(), strings.Join(missing, "; ")), labelSource)
	}
}

// groupSource: change groups within a pest's generations.
var groupSource = risk.Source{Text: "Rutgers: rotate groups of material within the window; common practice elsewhere", Standing: risk.Confirmed}

// times checks interval, season maximum and the mode-of-action group.
func (c *checker) times() {
	m := c.q.Material
	if m == nil || c.q.Record.Test {
		return
	}
	season := max(c.q.Planting.InGround(), c.q.Site.Season().OnOrBefore(c.day))
	n, group := 0, 0
	var last *garden.Record
	uses := c.uses()
	for i := range uses {
		r := &uses[i]
		if own := garden.MaterialByID(c.q.Own, r.Material); own != nil && own.Group == m.Group && m.Group != "" && c.local(r) <= c.day {
			group++
		} else {
			group = 0
		}
		if !c.sameMaterial(r) {
			continue
		}
		if c.local(r) >= season {
			n++
		}
		if last == nil || c.apart(r) < c.apart(last) {
			last = r
		}
	}
	if last != nil && m.IntervalDays > 0 && c.apart(last) < m.IntervalDays {
		c.add(Stop, "too soon", fmt.Sprintf("%s between this use and that of %s; the label wants %d.", count(c.apart(last), "day", "days"), c.date(last.Start), m.IntervalDays), labelSource)
	}
	if m.SeasonMax > 0 && n >= m.SeasonMax {
		c.add(Stop, "too many", fmt.Sprintf("Used %s on this planting already; the label allows %d in a season.", count(n, "time", "times"), m.SeasonMax), labelSource)
	}
	// Multi-site materials (groups M...) are not bound to change; from memory.
	if group >= 2 && !strings.HasPrefix(strings.ToUpper(m.Group), "M") {
		c.add(Warn, "same group", fmt.Sprintf("The last %d uses here were of group %s as well: change to another group, or the pest gets used to it.", group, m.Group), groupSource)
	}
}

// harvest checks the days before harvest against the next pick.
func (c *checker) harvest() {
	on := c.q.HarvestOn
	if on.IsZero() || on < c.day {
		return
	}
	pre := c.q.Record.Label.PreHarvestDays
	if pre == nil && c.q.Material != nil {
		pre = c.q.Material.PreHarvestDays
	}
	switch {
	case pre == nil && (c.q.Material == nil || c.q.Material.Kind != garden.KindHomeMix):
		c.add(Ask, "harvest", fmt.Sprintf("You mean to pick on %s, and the days before harvest are not said. Read the label before you spray.", day(on)), labelSource)
	case pre != nil && c.day.AddDays(*pre) > on:
		c.add(Stop, "harvest", fmt.Sprintf("You mean to pick on %s; with %s before harvest nothing may be picked before %s. Pick first, or do not spray.", day(on), count(*pre, "day", "days"), day(c.day.AddDays(*pre))), labelSource)
	}
}

// bloom holds the label's word on bees against open flowers.
func (c *checker) bloom() {
	switch c.q.Record.Seen.Bloom {
	case garden.OpenBloom:
		if m := c.q.Material; m != nil && m.Bees == garden.BeesNotBloom {
			c.add(Stop, "bees", "Flowers are open, and your label forbids it on open bloom.", labelSource)
			return
		}
		c.add(Warn, "bees", "Flowers are open: never onto them; within the hour before sunset and only while a light wind blows.", beeSource)
	case "":
		c.add(Ask, "bloom", "Is anything in flower there, weeds too? Spray never goes on open flowers.", beeSource)
	}
}

var homeSource = risk.Source{Text: "extension may not advise home mixes (UC IPM blog; Michigan State, Georgia, Penn State)", Standing: risk.Confirmed}

// homeMix shows what trials found of a home mix, what failed as well.
func (c *checker) homeMix() {
	text := c.q.Record.Ingredient + " " + c.q.Record.Product
	home := false
	if m := c.q.Material; m != nil {
		text, home = m.Ingredient+" "+m.Name, m.Kind == garden.KindHomeMix
	}
	in := IngredientOf(text)
	if in != nil && in.Kind == garden.KindHomeMix {
		home = true
	}
	if !home {
		return
	}
	c.add(Warn, "home mix", "A home mix has no label, so nobody vouches for it: no rate is given here, and extension services may not advise it. Try a few leaves first, and strain it, or it clogs the sprayer.", homeSource)
	if in == nil {
		c.add(Warn, "evidence", "No trial of it is known here.", risk.Source{Text: "the program's own list of trials", Standing: risk.Derived})
		return
	}
	if allowed := cropIn(in.Crops, c.q.Planting.Crop); !allowed && len(in.Crops) > 0 {
		c.add(Warn, "other crop", fmt.Sprintf("Its trials were on %s, not on this crop.", strings.Join(in.Crops, ", ")), in.Source)
	}
	parts, sources := make([]string, len(in.Evidence)), make([]string, len(in.Evidence))
	for i, e := range in.Evidence {
		parts[i], sources[i] = fmt.Sprintf("[%s] %s", e.Result, e.Text), e.Source.Text
	}
	c.add(Warn, "evidence", "What trials found: "+strings.Join(parts, " "), risk.Source{Text: strings.Join(sources, "; "), Standing: in.Source.Standing})
	for _, s := range in.Cautions {
		c.add(Warn, "home mix", s, in.Source)
	}
}

func cropIn(list []string, crop string) bool {
	for _, c := range list {
		if strings.EqualFold(c, crop) {
			return true
		}
	}
	return false
}
