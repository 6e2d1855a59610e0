package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/planting"
)

// years are seasons whose first autumn frost falls on the days of October given, a
// year each from 2020, and whose last of spring falls on 10 May.
func years(october ...int) planting.Chances {
	var ss []planting.Season
	for i, d := range october {
		ss = append(ss, planting.Season{Start: civil.New(2020+i, 1, 1), LastSpring: civil.New(2020+i, 5, 10), FirstAutumn: civil.New(2020+i, 10, d), Spring: true, Autumn: true})
	}
	return planting.FrostChances(ss, planting.FirstOfAutumn, 41)
}

func TestLastPick(t *testing.T) {
	today := civil.New(2026, 7, 1)
	autumn := years(5, 10, 15, 20)
	for name, c := range map[string]struct {
		p    garden.Planting
		want civil.Date
	}{
		"planned end":        {garden.Planting{Crop: "lettuce", Removed: civil.New(2026, 7, 20)}, civil.New(2026, 7, 19)},
		"before the frost":   {garden.Planting{Crop: "tomato"}, civil.New(2026, 10, 9)},
		"hardy, not known":   {garden.Planting{Crop: "kale"}, 0},
		"taken out long ago": {garden.Planting{Crop: "kale", Removed: civil.New(2026, 6, 1)}, 0},
	} {
		assert.Equal(t, c.want, LastPick(&c.p, autumn, today), name)
	}
	assert.Zero(t, LastPick(&garden.Planting{Crop: "tomato"}, planting.Chances{}, today), "no past years")
}
