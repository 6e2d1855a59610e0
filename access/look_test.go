package access

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"plotwarden/garden"
)

// A ground neighbour sees a find only with the finder's consent.
func TestWhoReadsALook(t *testing.T) {
	g := ground()
	g.People[1].Sites = []string{"north", "south"}
	own := garden.Scouting{Site: "north", By: "elm"}
	shared, nobody, far := own, own, own
	shared.Share, nobody.By, far.Site = true, "", "far"
	for name, c := range map[string]struct {
		who                               Who
		plot                              string
		own, shared, nobody, far, correct bool
	}{
		"finder":        {Of(g, "elm", Grower), "b", true, true, true, false, true},
		"reads only":    {Of(g, "elm", Reader), "b", true, true, true, false, false},
		"tends the bed": {Of(g, "ash", Grower), "a", true, true, true, false, false},
		"tends another": {Of(g, "ash", Grower), "b", false, true, true, false, false},
		"volunteer":     {Of(g, "oak", Volunteer), "b", true, true, true, false, true},
		"owner":         {Of(g, "oak", Owner), "b", true, true, true, true, true},
		"shared link":   {OfShare("north", "x"), "b", false, true, true, false, false},
		"nobody":        {Who{}, "b", false, false, false, false, false},
	} {
		assert.Equal(t, c.own, c.who.ReadLook(&own, c.plot), "%s: the finder's own", name)
		assert.Equal(t, c.shared, c.who.ReadLook(&shared, c.plot), "%s: shared", name)
		assert.Equal(t, c.nobody, c.who.ReadLook(&nobody, c.plot), "%s: nobody's", name)
		assert.Equal(t, c.far, c.who.ReadLook(&far, c.plot), "%s: another ground", name)
		assert.Equal(t, c.correct, c.who.Correct("north", own.By), "%s: correct", name)
	}
	assert.True(t, Of(g, "ash", Grower).Correct("north", ""))
}
