package access

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"plotwarden/garden"
)

// Neighbours on one ground: ash tends bed a, elm is on the ground of the south.
func TestFindNeedsConsent(t *testing.T) {
	g := ground()
	g.People = append(g.People, garden.Person{ID: "fir", Name: "Fir", Sites: []string{"north"}})
	find := func(by, plot string, share bool) garden.Scouting {
		return garden.Scouting{Site: "north", By: by, Plot: plot, Share: share}
	}
	for name, c := range map[string]struct {
		who       Who
		find      garden.Scouting
		see, pool bool
	}{
		"own":                            {Of(g, "ash", Grower), find("ash", "b", false), true, true},
		"of the own bed, by a helper":    {Of(g, "ash", Grower), find("fir", "a", false), true, true},
		"of the own planting":            {Of(g, "ash", Grower), garden.Scouting{Site: "north", Planting: "pea", By: "fir"}, true, true},
		"of another planting":            {Of(g, "ash", Grower), garden.Scouting{Site: "north", Planting: "bean", By: "fir"}, false, false},
		"neighbour's, not shared":        {Of(g, "ash", Grower), find("fir", "b", false), false, false},
		"neighbour's, shared":            {Of(g, "ash", Grower), find("fir", "b", true), true, true},
		"neighbour reads, not shared":    {Of(g, "fir", Reader), find("ash", "a", false), false, false},
		"another ground's, shared":       {Of(g, "elm", Grower), find("ash", "a", true), false, false},
		"volunteer, not shared":          {Of(g, "oak", Volunteer), find("ash", "a", false), false, true},
		"volunteer, shared":              {Of(g, "oak", Volunteer), find("ash", "a", true), true, true},
		"volunteer, own":                 {Of(g, "oak", Volunteer), find("oak", "a", false), true, true},
		"owner":                          {Of(g, "oak", Owner), find("ash", "a", false), true, true},
		"from the file":                  {Of(g, "fir", Reader), find("", "a", false), true, true},
		"shared link, not shared":        {OfShare("north", "x"), find("ash", "a", false), false, false},
		"shared link, from the file":     {OfShare("north", "x"), find("", "", false), false, false},
		"shared link, shared":            {OfShare("north", "x"), find("ash", "a", true), true, true},
		"shared link, to another ground": {OfShare("south", "x"), find("ash", "a", true), false, false},
		"nobody":                         {Who{}, find("", "", true), false, false},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.see, c.who.SeeFind(c.find))
			assert.Equal(t, c.pool, c.who.PoolFind(c.find))
			assert.Len(t, c.who.Finds([]garden.Scouting{c.find}), map[bool]int{true: 1}[c.see])
		})
	}
}

// What is not shared is never read by somebody who neither found it nor tends the
// bed, whatever the garden looks like; the owner aside.
func TestFindNeverLeaks(t *testing.T) {
	names := rapid.SampledFrom([]string{"ash", "elm", "oak", "yew"})
	sites := rapid.SampledFrom([]string{"north", "south", "far"})
	plots := rapid.SampledFrom([]string{"a", "b"})
	rapid.Check(t, func(t *rapid.T) {
		g := &garden.Garden{}
		for _, s := range []string{"north", "south", "far"} {
			site := garden.Site{ID: s}
			for _, p := range []string{"a", "b"} {
				site.Plots = append(site.Plots, garden.Plot{ID: p, Grower: names.Draw(t, "grower")})
			}
			g.Sites = append(g.Sites, site)
		}
		for _, n := range []string{"ash", "elm", "oak"} {
			g.People = append(g.People, garden.Person{ID: n, Sites: rapid.SliceOf(sites).Draw(t, "sites")})
		}
		g.Regions = []garden.Region{{ID: "r", Sites: rapid.SliceOf(sites).Draw(t, "region"), Volunteers: rapid.SliceOf(names).Draw(t, "volunteers")}}
		who := Of(g, names.Draw(t, "who"), rapid.SampledFrom([]Role{Volunteer, Grower, Reader}).Draw(t, "role"))
		f := garden.Scouting{Site: sites.Draw(t, "at"), Plot: plots.Draw(t, "plot"), By: names.Draw(t, "by"), Share: rapid.Bool().Draw(t, "share")}
		tends := false
		for _, s := range g.Sites {
			for _, p := range s.Plots {
				tends = tends || s.ID == f.Site && p.ID == f.Plot && p.Grower == who.Person
			}
		}
		if who.SeeFind(f) && !f.Share && f.By != who.Person && !tends {
			t.Fatalf("%+v reads %+v", who, f)
		}
		if who.SeeFind(f) && !who.See(f.Site) {
			t.Fatalf("%+v reads of a ground that they do not see", who)
		}
	})
}

func BenchmarkIndexOf(b *testing.B) {
	g := &garden.Garden{People: []garden.Person{{ID: "ash", Sites: []string{"s"}}}}
	for range 10_000 {
		g.Sites = append(g.Sites, garden.Site{ID: "s", Plots: make([]garden.Plot, 10)})
	}
	x := NewIndex(g)
	b.Run("index", func(b *testing.B) {
		for b.Loop() {
			x.Of("ash", Grower)
		}
	})
	b.Run("whole garden", func(b *testing.B) {
		for b.Loop() {
			Of(g, "ash", Grower)
		}
	})
}
