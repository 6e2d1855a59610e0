package access

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"

	"plotwarden/garden"
)

func ground() *garden.Garden {
	return &garden.Garden{
		Sites: []garden.Site{
			{ID: "north", Plots: []garden.Plot{{ID: "a", Grower: "ash", Plantings: []garden.Planting{{ID: "pea"}}}, {ID: "b"}}},
			{ID: "south", Plots: []garden.Plot{{ID: "c"}}},
			{ID: "far"},
		},
		People:  []garden.Person{{ID: "ash", Name: "Ash"}, {ID: "elm", Name: "Elm", Sites: []string{"south"}}, {ID: "oak", Name: "Oak"}},
		Regions: []garden.Region{{ID: "valley", Sites: []string{"north", "south"}, Volunteers: []string{"oak", "elm"}}},
	}
}

// The whole table of who may what: a right that is given to one more role shows
// here.
func TestRights(t *testing.T) {
	g := ground()
	for name, c := range map[string]struct {
		who                     Who
		see, log, change        string // sites; change also "site/plot"
		tune, seeRegion, manage bool
		signedIn                bool
	}{
		"nobody":               {who: Who{}},
		"owner":                {who: Of(g, "oak", Owner), see: "north south far", log: "north south far", change: "north south far north/a north/b south/c", tune: true, seeRegion: true, manage: true, signedIn: true},
		"volunteer":            {who: Of(g, "oak", Volunteer), see: "north south", log: "north south", change: "north south north/a north/b south/c", tune: true, seeRegion: true, signedIn: true},
		"grower of a plot":     {who: Of(g, "ash", Grower), see: "north", log: "north", change: "north/a", signedIn: true},
		"grower without plot":  {who: Of(g, "elm", Grower), see: "south", log: "south", signedIn: true},
		"reader":               {who: Of(g, "elm", Reader), see: "south", signedIn: true},
		"reader who tends":     {who: Of(g, "ash", Reader), see: "north", signedIn: true},
		"somebody not known":   {who: Of(g, "yew", Grower), signedIn: true},
		"shared link":          {who: OfShare("south", "x"), see: "south", signedIn: true},
		"open, reading":        {who: Open(true), see: "north south far", seeRegion: true, signedIn: true},
		"open, demonstration":  {who: Open(false), see: "north south far", log: "north south far", change: "north south far north/a north/b south/c", tune: true, seeRegion: true, manage: true, signedIn: true},
		"empty name, a grower": {who: Of(g, "", Grower), signedIn: true},
	} {
		t.Run(name, func(t *testing.T) {
			var see, log, change []string
			for i := range g.Sites {
				s := &g.Sites[i]
				if c.who.See(s.ID) {
					see = append(see, s.ID)
				}
				if c.who.Log(s.ID) {
					log = append(log, s.ID)
				}
				if c.who.Change(s.ID, "") {
					change = append(change, s.ID)
				}
			}
			for i := range g.Sites {
				for _, p := range g.Sites[i].Plots {
					if c.who.Change(g.Sites[i].ID, p.ID) {
						change = append(change, g.Sites[i].ID+"/"+p.ID)
					}
				}
			}
			assert.Equal(t, c.see, join(see))
			assert.Equal(t, c.log, join(log))
			assert.Equal(t, c.change, join(change))
			assert.Equal(t, c.tune, c.who.Tune("valley"))
			assert.Equal(t, c.seeRegion, c.who.SeeRegion("valley"))
			assert.Equal(t, c.manage, c.who.Manage())
			assert.Equal(t, c.signedIn, c.who.SignedIn())
			assert.Len(t, c.who.Sites(g), len(see))
		})
	}
}

func TestContext(t *testing.T) {
	assert.False(t, From(context.Background()).SignedIn())
	assert.Equal(t, "ash", From(With(context.Background(), Of(ground(), "ash", Grower))).Person)
}

func TestRoleText(t *testing.T) {
	var r Role
	assert.NoError(t, r.UnmarshalText([]byte("grower")))
	assert.Equal(t, Grower, r)
	assert.ErrorContains(t, r.UnmarshalText([]byte("admin")), "owner, volunteer, grower, reader")
	assert.Error(t, r.UnmarshalText(nil))
}

func join(list []string) string {
	out := ""
	for i, s := range list {
		if i > 0 {
			out += " "
		}
		out += s
	}
	return out
}
