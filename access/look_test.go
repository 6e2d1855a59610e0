package access

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWhoCorrectsAnEntry(t *testing.T) {
	g := ground()
	g.People[1].Sites = []string{"north", "south"}
	for name, c := range map[string]struct {
		who  Who
		want bool
	}{
		"finder": {Of(g, "elm", Grower), true}, "reads only": {Of(g, "elm", Reader), false}, "tends a bed": {Of(g, "ash", Grower), false},
		"volunteer": {Of(g, "oak", Volunteer), true}, "owner": {Of(g, "oak", Owner), true}, "shared link": {OfShare("north", "x"), false}, "nobody": {Who{}, false},
	} {
		assert.Equal(t, c.want, c.who.Correct("north", "elm"), name)
	}
	assert.True(t, Of(g, "ash", Grower).Correct("north", ""))
}
