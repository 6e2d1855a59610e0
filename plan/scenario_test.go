package plan_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

var update = flag.Bool("update", false, "write golden files")

// sky is the weather of one local day of a scenario.
type sky struct {
	low, high, dew  float64 // C; dew is the dew point
	rainFrom, rainN int     // local hour and number of hours with rain
	rain            float64 // mm an hour
	again           int     // local hour from which it rains for 3 hours more; 0: not
	wind, nightWind float64 // m/s at 10 m
	cloud           float64 // %
}

// ground is a scenario: a garden, its weather and a morning.
type ground struct {
	t     *testing.T
	cat   *catalog.Catalogue
	site  *garden.Site
	zone  *time.Location
	hours *weather.Series
	wet   []wetness.State
	now   time.Time
	today civil.Date
	seen  []garden.Scouting
	done  []garden.Treatment
	own   []garden.Material
	out   []string
}

// newGround makes hours for every day from first to last. Temperature runs as a
// cosine with its lowest at 3 and its highest at 15; what follows now is forecast.
func newGround(t *testing.T, first, today, last civil.Date, day func(civil.Date) sky, plots ...garden.Plot) *ground {
	t.Helper()
	cat, err := catalog.Load()
	require.NoError(t, err)
	g := &ground{t: t, cat: cat, today: today,
		site: &garden.Site{ID: "north", Name: "North Ground", Latitude: 42.4, Longitude: -72.5, Elevation: 60, Zone: "America/New_York", Plots: plots}}
	g.zone = g.site.Location()
	g.now = today.Slot(6, 0, g.zone)
	s := weather.NewSeries(first.Start(g.zone), int(last.AddDays(1).Start(g.zone).Sub(first.Start(g.zone))/time.Hour))
	seen, err := s.AddOrigin(weather.Origin{Source: "own", Kind: weather.Station})
	require.NoError(t, err)
	ahead, err := s.AddOrigin(weather.Origin{Source: "service", Kind: weather.Forecast})
	require.NoError(t, err)
	for i := range s.Len() {
		local := s.Time(i).In(g.zone)
		x, h := day(civil.Of(local, g.zone)), float64(local.Hour())
		o := seen
		if !s.Time(i).Before(g.now) {
			o = ahead
		}
		temp := (x.low+x.high)/2 - (x.high-x.low)/2*math.Cos((h-3)*math.Pi/12)
		dew := min(x.dew, temp)
		wind := x.wind
		if h < 8 || h >= 19 {
			wind = x.nightWind
		}
		rain := 0.0
		if k := local.Hour() - x.rainFrom; k >= 0 && k < x.rainN {
			rain = x.rain
		}
		if k := local.Hour() - x.again; x.again > 0 && k >= 0 && k < 3 {
			rain = x.rain
		}
		for v, y := range map[weather.Var]float64{weather.Temp: temp, weather.DewPoint: dew, weather.RH: weather.RelHumidity(temp, dew),
			weather.Rain: rain, weather.RainChance: min(100, rain*100), weather.Wind: wind, weather.Cloud: x.cloud, weather.Soil: (x.low+x.high)/2 - 1} {
			s.Set(v, i, y, o)
		}
	}
	g.hours = s
	g.wet = (wetness.Rule{Method: wetness.Humidity}).Estimate(s, garden.NoCover, nil, nil)
	return g
}

func (g *ground) rainSince(t time.Time) (mm float64, unknown int) {
	for i := g.hours.Index(t); i < g.hours.Index(g.now); i++ {
		mm += g.hours.Value(weather.Rain, i)
	}
	return mm, 0
}

func (g *ground) wetSince(t time.Time) (int, int) {
	return wetness.Count(g.wet[max(0, g.hours.Index(t)):g.hours.Index(g.now)])
}

// assess runs a threat's default model as the service does, on this season
// alone, and returns where the planting stands with the season's work.
func (g *ground) assess(planting, threat string) (plan.Assessment, plan.ActionPlan) {
	plot, p := g.site.Find(planting)
	x, ok := g.cat.ByID(threat)
	require.True(g.t, ok)
	c := &plan.Case{Site: g.site, Plot: plot, Planting: p, Threat: x, Now: g.now, Today: g.today, WeatherUntil: g.now,
		RainSince: g.rainSince, WetSince: g.wetSince, Days: g.hours.Days(g.zone), Materials: g.own}
	for _, s := range g.seen {
		if s.Planting == planting && s.Threat == threat {
			c.Scoutings = append(c.Scoutings, s)
		}
	}
	for _, d := range g.done {
		if d.Planting == planting {
			c.Treatments = append(c.Treatments, d)
		}
	}
	m, ok := x.Default()
	if !ok {
		c.Waiting = "a find in your own log (no trustworthy model is known)"
	} else {
		g.run(c, m)
	}
	a := plan.Assess(c, plan.DefaultRules())
	w := plan.Windows(plan.WindowInput{Plot: plot, Planting: p, Threat: x, Today: g.today, Outlook: a.Outlook, Days: c.Days, Own: g.own, Here: a.Readiness == plan.Present}, plan.DefaultRules())
	return a, w
}

func (g *ground) run(c *plan.Case, m *catalog.Model) {
	c.Model = m
	start := c.Planting.InGround()
	if s := m.Spec.Start(); s.Kind == model.FromCalendar {
		start = max(s.Day.In(g.today.Year()), civil.Of(g.hours.Start(), g.zone))
	}
	tr, err := m.Spec.Run(&model.Input{Weather: g.hours, Zone: g.zone, Start: start, Now: g.now,
		Resets: plan.Resets(c.Treatments, g.own, g.now, g.zone), Susceptibility: c.Planting.Susceptibility, Cover: c.Planting.Cover})
	require.NoError(g.t, err)
	c.Track = tr
	fan := outlook.NewFan(tr, nil, nil) // no past years: the pace of the last days
	for _, st := range m.Spec.Stages() {
		if st.Holds(c.Planting.Susceptibility, len(c.Treatments) > 0) {
			c.Stages = append(c.Stages, st)
			c.Outlooks = append(c.Outlooks, fan.Outlook(outlook.Question{Event: st.Name, Today: g.today, Threshold: st.Value}))
		}
	}
	if len(m.Spec.Stages()) == 0 {
		c.Outlooks = []risk.Outlook{fan.Outlook(outlook.Question{Event: "infection", Today: g.today, Infection: true})}
	}
}

func (g *ground) say(lines ...string) { g.out = append(g.out, lines...) }

// tell writes one threat: the morning's decision, then the season's work.
func (g *ground) tell(planting, threat string) (plan.Assessment, plan.ActionPlan) {
	a, w := g.assess(planting, threat)
	x, _ := g.cat.ByID(threat)
	plot, _ := g.site.Find(planting)
	g.say("", fmt.Sprintf("%s, %s: %s", plot.Name, x.Name, strings.ToUpper(a.Readiness.String())), a.Reason.Text)
	for i := range a.Steps {
		g.say("- " + a.Steps[i].Line(g.today))
		assert.NotEqual(g.t, risk.Unstated, a.Steps[i].Source.Standing)
	}
	g.say("The season's work")
	g.say(w.Lines(g.today)...)
	return a, w
}

func (g *ground) sprayWeek(planting string, m *garden.Material, bloom garden.Bloom, work []plan.Step) plan.SprayWeek {
	_, p := g.site.Find(planting)
	w := plan.SprayHours(plan.SprayQuery{Site: g.site, Crop: p.Crop, Material: m, Series: g.hours, Wet: g.wet, Now: g.now, Bloom: bloom, Work: work})
	g.say("")
	g.say(w.Lines(g.zone)...)
	return w
}

// golden compares with the file that was read by eye, and holds every plan to
// the cautions.
func (g *ground) golden(name string) {
	g.t.Helper()
	got := strings.Join(g.out, "\n") + "\n"
	for i, para := range strings.Split(got, "\n\n") {
		lower := strings.ToLower(para)
		assert.NotContains(g.t, lower, "you have early", para)
		assert.NotContains(g.t, lower, "you have late", para)
		if i > 0 && (strings.Contains(lower, "if you spray") || strings.Contains(lower, "hours for spraying")) {
			assert.Contains(g.t, para, "The label is the law")
		}
	}
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(g.t, os.MkdirAll("testdata", 0o755))
		require.NoError(g.t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(g.t, err)
	assert.Equal(g.t, string(want), got)
}
