package garden

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

func day(t *testing.T, s string) civil.Date {
	t.Helper()
	d, err := civil.Parse(s)
	require.NoError(t, err)
	return d
}

// good returns a garden with nothing to complain about.
func good(t *testing.T) *Garden {
	count := 2
	return &Garden{
		Sites: []Site{{
			ID: "north", Name: "North", Latitude: 40.6, Longitude: -73.8, Elevation: 4, Zone: "America/New_York",
			Plots: []Plot{
				{ID: "a", Grower: "wren", Plantings: []Planting{
					{ID: "kale", Crop: "kale", Sown: day(t, "2026-03-01"), PlantedOut: day(t, "2026-04-20")},
					{ID: "peas", Crop: "pea", Sown: day(t, "2026-03-20"), Removed: day(t, "2026-06-20")},
					{ID: "late-peas", Crop: "pea", Sown: day(t, "2026-06-20")},
				}},
				{ID: "b"},
			},
		}},
		People:     []Person{{ID: "wren", Email: "wren@example.org", Sites: []string{"north"}}},
		Regions:    []Region{{ID: "valley", Sites: []string{"north"}, Volunteers: []string{"wren"}}},
		Scoutings:  []Scouting{{ID: "s1", Site: "north", Planting: "kale", Plot: "a", Threat: "imported-cabbageworm", Date: day(t, "2026-05-10"), Finding: Found, Count: &count, By: "wren"}},
		Treatments: []Treatment{{ID: "t1", Site: "north", Planting: "kale", Threats: []string{"imported-cabbageworm"}, At: time.Date(2026, 5, 12, 20, 0, 0, 0, time.UTC), By: "wren"}},
	}
}

var known = Known{Threats: []string{"imported-cabbageworm", "squash-vine-borer"}}

func TestGoodGardenPasses(t *testing.T) {
	problems, warnings := good(t).Validate(known)
	assert.Empty(t, problems)
	assert.Empty(t, warnings)
}

func TestValidateNamesTheFieldAndTheFix(t *testing.T) {
	negative, above := -1, 101.0
	for name, c := range map[string]struct {
		spoil func(g *Garden) (at any)
		want  string
	}{
		"site id form":     {func(g *Garden) any { g.Sites[0].ID = "North Field"; return &g.Sites[0].ID }, `id "North Field": use lower-case letters, digits and hyphens only, 64 at most`},
		"no plot id":       {func(g *Garden) any { g.Sites[0].Plots[1].ID = ""; return &g.Sites[0].Plots[1] }, `plot has no id; give it a short one, such as bed-1`},
		"doubled plot":     {func(g *Garden) any { g.Sites[0].Plots[1].ID = "a"; return &g.Sites[0].Plots[1].ID }, `plot id "a" is taken already on site north; ids must differ`},
		"doubled planting": {func(g *Garden) any { p := &g.Sites[0].Plots[0].Plantings[2].ID; *p = "peas"; return p }, `planting id "peas" is taken already on site north; ids must differ`},
		"no place":         {func(g *Garden) any { s := &g.Sites[0]; s.Latitude, s.Longitude = 0, 0; return s }, `site has no place; write latitude (north is positive) and longitude (east is positive) in degrees`},
		"latitude":         {func(g *Garden) any { p := &g.Sites[0].Latitude; *p = 406; return p }, `latitude 406 is outside -90 to 90 degrees`},
		"longitude":        {func(g *Garden) any { p := &g.Sites[0].Longitude; *p = -738; return p }, `longitude -738 is outside -180 to 180 degrees`},
		"elevation":        {func(g *Garden) any { p := &g.Sites[0].Elevation; *p = 9000; return p }, `elevation 9000 m is outside -430 to 8849 m`},
		"zone":             {func(g *Garden) any { p := &g.Sites[0].Zone; *p = "America/NewYork"; return p }, `zone "America/NewYork" is not known; did you mean "America/New_York"?`},
		"no zone":          {func(g *Garden) any { g.Sites[0].Zone = ""; return &g.Sites[0] }, `site has no zone; write its IANA time zone, such as America/New_York`},
		"grower":           {func(g *Garden) any { p := &g.Sites[0].Plots[0].Grower; *p = "wern"; return p }, `person "wern" is not known; did you mean "wren"?`},
		"crop":             {func(g *Garden) any { p := &g.Sites[0].Plots[0].Plantings[0].Crop; *p = "kalle"; return p }, `crop "kalle" is not known; did you mean "kale"?`},
		"crop of no list":  {func(g *Garden) any { p := &g.Sites[0].Plots[0].Plantings[0].Crop; *p = "quinoa"; return p }, `crop "quinoa" is not known; known are: ` + strings.Join(CropIDs(), ", ")},
		"no crop":          {func(g *Garden) any { p := &g.Sites[0].Plots[0].Plantings[0]; p.Crop = ""; return p }, `planting has no crop`},
		"no start":         {func(g *Garden) any { p := &g.Sites[0].Plots[0].Plantings[2]; p.Sown = 0; return p }, `planting has no start; write sown or planted_out`},
		"planted before sown": {func(g *Garden) any {
			p := &g.Sites[0].Plots[0].Plantings[0]
			p.PlantedOut = p.Sown - 1
			return &p.PlantedOut
		}, `planted_out 2026-02-28 is before sown 2026-03-01`},
		"removed before planted": {func(g *Garden) any {
			p := &g.Sites[0].Plots[0].Plantings[0]
			p.Removed = p.PlantedOut
			return &p.Removed
		}, `removed 2026-04-20 is not after the planting's start 2026-04-20`},
		"year":             {func(g *Garden) any { p := &g.Sites[0].Plots[0].Plantings[0].Sown; *p = civil.New(202, 6, 3); return p }, `0202-06-03: the year 202 is not between 1900 and 2199`},
		"person's site":    {func(g *Garden) any { p := &g.People[0].Sites[0]; *p = "nroth"; return p }, `site "nroth" is not known; did you mean "north"?`},
		"region's site":    {func(g *Garden) any { p := &g.Regions[0].Sites[0]; *p = "south-field"; return p }, `site "south-field" is not known; known are: north`},
		"volunteer":        {func(g *Garden) any { p := &g.Regions[0].Volunteers[0]; *p = "ola"; return p }, `person "ola" is not known; known are: wren`},
		"threat":           {func(g *Garden) any { p := &g.Scoutings[0].Threat; *p = "cabbageworm"; return p }, `threat "cabbageworm" is not known; known are: imported-cabbageworm, squash-vine-borer`},
		"no finding":       {func(g *Garden) any { p := &g.Scoutings[0]; p.Finding = ""; return p }, `scouting has no finding; write found, none or unsure`},
		"no date":          {func(g *Garden) any { p := &g.Scoutings[0]; p.Date = 0; return p }, `scouting has no date`},
		"count":            {func(g *Garden) any { p := &g.Scoutings[0]; p.Finding, p.Count = Unsure, &negative; return p.Count }, `count -1 is below 0`},
		"percent":          {func(g *Garden) any { g.Scoutings[0].Percent = &above; return &above }, `percent 101 is outside 0 to 100`},
		"contradiction":    {func(g *Garden) any { p := &g.Scoutings[0].Finding; *p = None; return p }, `finding none contradicts the count or percent above 0`},
		"unknown planting": {func(g *Garden) any { p := &g.Scoutings[0].Planting; *p = "kales"; return p }, `planting of site north "kales" is not known; did you mean "kale"?`},
		"wrong plot":       {func(g *Garden) any { g.Scoutings[0].Plot = "b"; return &g.Scoutings[0].Planting }, `planting "kale" does not stand in plot "b"`},
		"scouting's site":  {func(g *Garden) any { p := &g.Scoutings[0]; p.Site = ""; return p }, `scouting has no site`},
		"treatment's time": {func(g *Garden) any { p := &g.Treatments[0]; p.At = time.Time{}; return p }, `treatment has no time; write at: 2026-06-04T19:30:00-04:00`},
		"treated what":     {func(g *Garden) any { p := &g.Treatments[0]; p.Planting = ""; return p }, `treatment has no planting; write which one was treated`},
		"interval":         {func(g *Garden) any { p := &g.Treatments[0].IntervalDays; *p = -7; return p }, `interval_days -7 is below 0`},
	} {
		t.Run(name, func(t *testing.T) {
			g := good(t)
			at := c.spoil(g)
			problems, _ := g.Validate(known)
			for _, p := range problems {
				if p.At == at && p.Message == c.want {
					return
				}
			}
			assert.Fail(t, "not reported", "want %q in %v", c.want, problems)
		})
	}
}

func TestValidateWarns(t *testing.T) {
	for name, c := range map[string]struct {
		slip func(g *Garden)
		want string
	}{
		"forgotten removal": {func(g *Garden) { g.Sites[0].Plots[0].Plantings[1].Removed = 0 }, "planting late-peas of pea begins while planting peas of it stands in plot a; if that was pulled, write its removed"},
		"no minus sign":     {func(g *Garden) { g.Sites[0].Longitude = 73.8 }, "longitude 73.8 lies far from the zone America/New_York; west of Greenwich is negative"},
		"fixed zone":        {func(g *Garden) { g.Sites[0].Zone = "EST" }, "zone EST never changes its clocks; a place's own zone has a name such as America/New_York"},
		"no email":          {func(g *Garden) { g.People[0].Email = "" }, "person wren has sites but no email, so no digest can reach them"},
		"not yet planted":   {func(g *Garden) { g.Scoutings[0].Date = day(t, "2026-04-01") }, "planting kale did not stand in its bed on 2026-04-01"},
	} {
		t.Run(name, func(t *testing.T) {
			g := good(t)
			c.slip(g)
			problems, warnings := g.Validate(known)
			assert.Empty(t, problems)
			require.Len(t, warnings, 1)
			assert.Equal(t, c.want, warnings[0].Message)
		})
	}
}

// What the decoder refused is not reported a second time as missing.
func TestRefusedIsNotMissing(t *testing.T) {
	g := good(t)
	p := &g.Sites[0].Plots[0].Plantings[2]
	p.Sown = 0
	k := known
	k.Refused = func(ptr any) bool { return ptr == any(&p.Sown) }
	problems, _ := g.Validate(k)
	assert.Empty(t, problems)
}

func TestZones(t *testing.T) {
	for _, z := range Zones() {
		_, err := loadZone(z)
		assert.NoError(t, err, z)
	}
	for in, want := range map[string]string{
		"America/Los Angeles": "America/Los_Angeles",
		"america/los_angeles": "America/Los_Angeles",
		"Los Angeles":         "America/Los_Angeles",
		"Europe/Berlim":       "Europe/Berlin",
		"Kathmandu":           "Asia/Kathmandu",
	} {
		assert.Equal(t, suggestZone(in, want), unknownZone(in))
	}
	assert.Contains(t, unknownZone("the moon and back"), "write an IANA name")
	for _, bad := range []string{"", "Local", "America", "../UTC"} {
		_, err := loadZone(bad)
		assert.Error(t, err, bad)
	}
}

func TestMetres(t *testing.T) {
	for in, want := range map[string]float64{"120": 120, "120 m": 120, "394 ft": 394 * 0.3048, "394ft": 394 * 0.3048, "-2.5 m": -2.5} {
		var m Metres
		require.NoError(t, m.UnmarshalText([]byte(in)), in)
		assert.InDelta(t, want, float64(m), 1e-9, in)
	}
	for in, want := range map[string]string{
		"120 yd": `unit "yd" is not known; known are: m, ft`,
		"high":   `"high" is not a number with a unit`,
		"1.2.3":  `not a number`,
		"":       `not a number`,
		"m":      `not a number`,
	} {
		var m Metres
		assert.ErrorContains(t, m.UnmarshalText([]byte(in)), want, in)
	}
}

func FuzzMetres(f *testing.F) {
	f.Add("120 m")
	f.Add("1e5 ft")
	f.Fuzz(func(t *testing.T, s string) {
		var m Metres
		if m.UnmarshalText([]byte(s)) == nil && m != m {
			t.Fatalf("%q gave no number", s)
		}
	})
}
