package season

import (
	"fmt"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
)

// Clash is a planting in a bed that held its family too lately.
type Clash struct {
	Plot     string          `json:"plot"`
	Planting string          `json:"planting"`
	Crop     string          `json:"crop"`
	Before   string          `json:"before"`   // crop that stood there
	Last     civil.Date      `json:"last"`     // the last day on which it stood
	Years    int             `json:"years"`    // seasons since; 0: the same season
	FreeFrom int             `json:"freeFrom"` // first year in which the family may come back
	Rule     garden.Rotation `json:"-"`
	Same     bool            `json:"sameSeason"` // one after the other in one season
}

// Clashes looks through a plot's plantings, past years' with them, for plantings
// of one family that follow each other sooner than the rotation of its family
// allows. A family is kept off for its years after the season in which it last
// stood. Plantings that were taken out before from are not reported themselves.
func Clashes(plot *garden.Plot, from civil.Date) []Clash {
	var out []Clash
	for i := range plot.Plantings {
		p := &plot.Plantings[i]
		c, ok := garden.CropByID(p.Crop)
		in := p.InGround()
		if !ok || c.Perennial || in.IsZero() || !p.Removed.IsZero() && p.Removed < from {
			continue
		}
		rule, ok := garden.RotationOf(c.Family)
		if !ok {
			continue
		}
		if x, ok := lastOfFamily(plot, p, c.Family); ok {
			years := in.Year() - x.last.Year()
			if years <= rule.Years {
				out = append(out, Clash{plot.ID, p.ID, p.Crop, x.crop, x.last, years, x.last.Year() + rule.Years + 1, rule, years == 0})
			}
		}
	}
	return out
}

type stood struct {
	crop string
	last civil.Date
}

// lastOfFamily finds the planting of a family that stood last before another, or
// still stood when it began.
func lastOfFamily(plot *garden.Plot, p *garden.Planting, family string) (stood, bool) {
	var out stood
	for i := range plot.Plantings {
		q := &plot.Plantings[i]
		c, ok := garden.CropByID(q.Crop)
		if q == p || !ok || c.Family != family || c.Perennial || q.InGround().IsZero() || q.InGround() >= p.InGround() {
			continue
		}
		last := q.Removed
		if last.IsZero() || last > p.InGround() {
			last = p.InGround()
		}
		if last > out.last {
			out = stood{q.Crop, last}
		}
	}
	return out, !out.last.IsZero()
}

// FreeFrom returns the first year in which a family may stand in a plot again,
// by the plantings of the past; false when its rotation is not known or it never
// stood there.
func FreeFrom(plot *garden.Plot, family string, today civil.Date) (int, bool) {
	rule, ok := garden.RotationOf(family)
	if !ok {
		return 0, false
	}
	x, ok := lastOfFamily(plot, &garden.Planting{Sown: today + 1}, family)
	if !ok {
		return 0, false
	}
	return x.last.Year() + rule.Years + 1, true
}

// Task says a clash as work.
func (c *Clash) Task() Task {
	text := fmt.Sprintf("%s stands where %s stood until %s. Keep the family off this bed for %s (free again in %d)", upper(cropName(c.Crop)), cropName(c.Before), c.Last.Format("2 Jan 2006"), yearsText(c.Rule), c.FreeFrom)
	if c.Rule.Except != "" {
		text += "; longer after " + c.Rule.Except
	}
	text += ". Now that it stands: take every scrap of the old crop out, and look at this bed first. " + garden.RotationNote
	if c.Same {
		text = fmt.Sprintf("%s follows %s of the same family in this bed within one season. Take every scrap of the first crop out, and give the family another bed next year. %s", upper(cropName(c.Crop)), cropName(c.Before), garden.RotationNote)
	}
	return Task{c.Plot, c.Planting, plan.Step{Kind: plan.Rotate, Text: text, Source: risk.Source{Text: c.Rule.Source, Standing: standing(c.Rule.Standing)}}}
}

func yearsText(r garden.Rotation) string {
	if r.UpTo > r.Years {
		return fmt.Sprintf("%d to %d years", r.Years, r.UpTo)
	}
	return count(r.Years, "year", "years")
}

func standing(words string) risk.Standing {
	var s risk.Standing
	if s.UnmarshalText([]byte(words)) != nil {
		return risk.FromMemory
	}
	return s
}

func upper(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
