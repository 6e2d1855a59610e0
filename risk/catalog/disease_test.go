package catalog

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/risk/disease"
	"plotwarden/risk/model"
)

func spec[T model.Spec](t *testing.T, c *Catalogue, id string) T {
	t.Helper()
	m, ok := c.Model(id)
	require.True(t, ok, id)
	s, ok := m.Spec.(T)
	require.True(t, ok, "%s is a %T", id, m.Spec)
	return s
}

// cellOf looks a value up in the bands as the data file has them.
func cellOf(tables []model.CultivarTable, cultivar garden.Susceptibility, temp float64, hours int) float64 {
	for _, t := range tables {
		if t.Cultivar != cultivar {
			continue
		}
		for _, b := range t.Bands {
			if temp < b.From || temp > b.To {
				continue
			}
			v := 0.0
			for _, s := range b.Steps {
				if float64(hours) >= s.Hours {
					v = s.Value
				}
			}
			return v
		}
	}
	return 0
}

// Every cell at both ends of its hours and both ends of its band; hours and
// temperatures that no row names score 0.
func checkTable(t *testing.T, tables []model.CultivarTable, rows []severityRow, name string) {
	t.Helper()
	for _, r := range rows {
		for _, temp := range []float64{r.low, r.high} {
			for _, h := range []int{r.hoursLo, r.hoursHi} {
				assert.Equal(t, r.value, cellOf(tables, garden.Susceptibility(r.cultivar), temp, h), "%s: %v at %g C, %d h", name, r, temp, h)
			}
		}
	}
	classes := map[string]bool{}
	for _, r := range rows {
		classes[r.cultivar] = true
	}
	for class := range classes {
		for temp := -2.0; temp <= 34; temp++ {
			for h := 0; h <= 24; h++ {
				named := false
				for _, r := range rows {
					named = named || (r.cultivar == class && temp >= r.low && temp <= r.high && h >= r.hoursLo && h <= r.hoursHi)
				}
				if !named {
					assert.Zero(t, cellOf(tables, garden.Susceptibility(class), temp, h), "%s %q at %g C, %d h", name, class, temp, h)
				}
			}
		}
	}
}

func TestTomatoTable(t *testing.T) {
	c := shipped(t)
	for _, id := range []string{"tomato-early-blight/madden-1978", "septoria-leaf-spot/madden-1978", "tomato-anthracnose/madden-1978"} {
		s := spec[*model.SeverityTable](t, c, id)
		checkTable(t, s.Tables, tomatoRows, id)
		assert.Equal(t, model.Total, s.Count)
		assert.Equal(t, model.CountedHours, s.Mean)
		assert.Equal(t, 1.0, s.RoundTo)
		assert.True(t, s.ResetAtSpray, "the sum is put back to zero at each spray (Gleason 2009)")
		assert.Equal(t, model.FromInGround, s.Start().Kind, "from transplanting (Rutgers)")
		st := s.Stages()
		require.Len(t, st, 2)
		assert.Equal(t, 35.0, st[0].Value) // Rutgers; Gleason 2009
		assert.Equal(t, model.FirstSpray, st[0].Spray)
		assert.Equal(t, 20.0, st[1].Value) // Gleason 2009
		assert.Equal(t, model.NextSpray, st[1].Spray)
	}
}

func TestWallinTable(t *testing.T) {
	c := shipped(t)
	s := spec[*model.SeverityTable](t, c, "late-blight/wallin-1962")
	checkTable(t, s.Tables, wallinRows, "wallin")
	assert.Equal(t, 0.1, s.RoundTo)
	assert.Equal(t, 90.0, s.Hours.Humidity)
	require.Len(t, s.Stages(), 1)
	assert.Equal(t, 18.0, s.Stages()[0].Value) // Rutgers 1 July 2015; Wisconsin newsletters
}

func TestBlightUnits(t *testing.T) {
	s := spec[*model.SeverityTable](t, shipped(t), "late-blight/fry-1983")
	checkTable(t, s.Tables, fryRows, "blight units")
	assert.Equal(t, model.Noon, s.Day)
	assert.Equal(t, model.SumOfRuns, s.Count)
	assert.Equal(t, 90.0, s.Hours.Humidity)
	want := map[garden.Susceptibility]float64{garden.Susceptible: 30, garden.ModeratelySusceptible: 35, garden.ModeratelyResistant: 40, garden.Resistant: 40}
	for _, st := range s.Stages() {
		assert.Equal(t, want[st.Cultivar], st.Value, st.Name)
	}
	assert.Len(t, s.Stages(), len(want))
}

// Krause, Massie & Hyre 1975, from memory; published calls -1 to 2 are 0 to 3.
func TestKrauseMatrix(t *testing.T) {
	s := spec[*model.SprayMatrix](t, shipped(t), "late-blight/krause-1975")
	published := [2][6]int{{-1, -1, 0, 1, 1, 2}, {-1, 0, 1, 2, 2, 2}} // severity <3, 3, 4, 5, 6, >6
	assert.Equal(t, []float64{3, 4, 5, 6, 7}, s.Columns)
	for i, from := range []float64{0, 5} {
		assert.Equal(t, from, s.Rows[i].From)
		for j, call := range published[i] {
			assert.Equal(t, call+1, s.Rows[i].Cells[j], "row %d column %d", i, j)
		}
	}
	assert.Equal(t, model.MatrixBegins{Severity: 18, Favourable: 10}, s.Begins)
	checkTable(t, s.Severity.Tables, wallinRows, "krause")
}

func TestDayRules(t *testing.T) {
	c := shipped(t)
	// AHDB 11120018: two days, each minimum 10 C and at least 6 h of 90 %.
	h := spec[*model.ConsecutiveDays](t, c, "late-blight/hutton-2017")
	assert.Equal(t, []any{2, 10.0, 6, 90.0}, []any{h.Days, h.MinTemp, h.AtLeast, h.Hours.Humidity})
	// Smith 1956, from memory: 11 h; day from 09 to 09.
	s := spec[*model.ConsecutiveDays](t, c, "late-blight/smith-1956")
	assert.Equal(t, []any{2, 10.0, 11, 90.0, model.From09}, []any{s.Days, s.MinTemp, s.AtLeast, s.Hours.Humidity, s.Day})
	// Hyre 1954, second-hand: 5-day mean below 25.5 C, 10-day rain at least 30 mm, minimum 7.2 C.
	y := spec[*model.FavourableDays](t, c, "late-blight/hyre-1954")
	assert.Equal(t, []any{5, 25.5, 10, 30.0, 7.2, 10.0}, []any{y.Mean.Days, *y.Mean.Below, y.Rain.Days, y.Rain.AtLeast, *y.MinTemp, y.Stages()[0].Value})
	// Sands et al. 1979; Pscheidt & Stevenson 1986: 7, 21, 30 C; 300 from emergence.
	p := spec[*model.PDays](t, c, "potato-early-blight/pscheidt-stevenson-1986")
	assert.Equal(t, []float64{7, 21, 30, 300}, []float64{p.Lower, p.Best, p.Upper, p.Stages()[0].Value})
	// Purdue and Minnesota: 20-27 C.
	m := spec[*model.FavourableDays](t, c, "cucurbit-powdery-mildew/purdue-minnesota-2026")
	assert.Equal(t, []float64{20, 27}, []float64{*m.Mean.AtLeast, *m.Mean.AtMost})
	// Gubler, Thomas et al. 1999.
	g := spec[*model.MildewIndex](t, c, "grape-powdery-mildew/gubler-thomas-1999")
	assert.Equal(t, []any{70.0, 85.0, 6, 95.0, 20.0, 10.0, 3, 100.0}, []any{g.WarmFrom, g.WarmTo, g.WarmHours, g.HotFrom, g.Rise, g.Fall, g.StartDays, g.Ceiling})
	// Steiner, massfruitgrowers.org 2003.
	f := spec[*model.BlossomHeat](t, c, "fire-blight/steiner-2003")
	assert.Equal(t, []float64{65, 198, 40, 80, 60}, []float64{f.HeatAbove, f.HeatLeast, f.WindowAbove, f.WindowTotal, f.MeanLeast})
}

func TestNightsAndMornings(t *testing.T) {
	c := shipped(t)
	// Wu et al. 2002: 4 h from 06:00 standard time; 20 C over 3 h, 22 C over the next 4.
	w := spec[*model.WetMorning](t, c, "lettuce-downy-mildew/wu-2002")
	assert.Equal(t, []any{model.StandardClock, 6, 4, []model.WarmLimit{{Hours: 3, Above: 20}, {Hours: 4, Above: 22}}}, []any{w.Clock, w.At, w.Least, w.TooWarm})
	// Hildebrand & Sutton 1982, 1984: 95 % from 02:00 to dawn, 6-22 C, day before below 23-24 C.
	h := spec[*model.HumidNight](t, c, "onion-downy-mildew/hildebrand-sutton-1982")
	assert.Equal(t, []any{95.0, 2, 0, 6.0, 22.0, 24.0}, []any{h.Hours.Humidity, h.At, h.Least, *h.TempFrom, *h.TempTo, *h.DayMeanBelow})
	// Gilles et al. 2004: more than 8, 6, 4, 2 h above 27, 28, 29, 30 C; 4-24 C.
	g := spec[*model.HumidNight](t, c, "onion-downy-mildew/gilles-2004")
	assert.Equal(t, []model.HotLimit{{Above: 27, Hours: 8}, {Above: 28, Hours: 6}, {Above: 29, Hours: 4}, {Above: 30, Hours: 2}}, g.Hot)
	assert.Equal(t, []float64{4, 24}, []float64{*g.TempFrom, *g.TempTo})
	// Cohen & Ben-Naim 2016: 7.5 h and more of 95 % by night.
	b := spec[*model.HumidNight](t, c, "basil-downy-mildew/cohen-ben-naim-2016")
	assert.Equal(t, []any{95.0, 8}, []any{b.Hours.Humidity, b.Least})
}

// needs returns the hours that the file's table asks for at a temperature of a row.
func needs(k model.WetClass, temp float64) float64 {
	for _, w := range k.Needs {
		to := w.From
		if w.To != nil {
			to = *w.To
		}
		if temp >= w.From && temp <= to {
			return w.Hours
		}
	}
	return math.NaN()
}

func TestWetPeriodTables(t *testing.T) {
	c := shipped(t)
	scab := spec[*model.WetPeriodTable](t, c, "apple-scab/machardy-gadoury-1989")
	for _, r := range scabRows { // F, whole C by rounding
		for _, f := range []float64{r.low, r.high} {
			assert.Equal(t, r.hours, needs(scab.Classes[0], math.Round((f-32)/1.8)), "scab at %g F", f)
		}
	}
	assert.Equal(t, 8, scab.Gap) // West Virginia
	assert.Equal(t, 7, scab.Night.To)
	rot := spec[*model.WetPeriodTable](t, c, "grape-black-rot/spotts-1977")
	for _, r := range blackRotRows {
		assert.Equal(t, r.hours, needs(rot.Classes[0], r.low), "black rot at %g F", r.low)
	}
	assert.Len(t, rot.Classes[0].Needs, len(blackRotRows))
	mills := spec[*model.WetPeriodTable](t, c, "apple-scab/mills-laplante-1951")
	for i, rows := range millsRows {
		for _, r := range rows {
			assert.Equal(t, r.hours, needs(mills.Classes[i], r.low), "mills class %d at %g F", i, r.low)
			assert.Equal(t, r.hours, needs(mills.Classes[i], r.high), "mills class %d at %g F", i, r.high)
		}
	}
	// Cohen 1977: 12 h at 5-10 C, 6 h at 10-15 C, 2 h at 20-25 C.
	cuc := spec[*model.WetPeriodTable](t, c, "cucurbit-downy-mildew/cohen-1977")
	for temp, h := range map[float64]float64{5: 12, 9: 12, 10: 6, 15: 6, 20: 2, 25: 2} {
		assert.Equal(t, h, needs(cuc.Classes[0], temp), "cucurbit downy mildew at %g C", temp)
	}
	assert.True(t, math.IsNaN(needs(cuc.Classes[0], 26)) && math.IsNaN(needs(cuc.Classes[0], 4)))
	// Lacy 1994: 12 h at 10-30 C. Weiss et al. 1980, Boland & Hall 1987: 39-64 h at 15-25 C.
	assert.Equal(t, 12.0, needs(spec[*model.WetPeriodTable](t, c, "celery-late-blight/lacy-1994").Classes[0], 10))
	assert.Equal(t, 39.0, needs(spec[*model.WetPeriodTable](t, c, "bean-white-mould/weiss-1980").Classes[0], 25))
}

// Magarey, Sutton & Thayer 2005 Table 2 and its re-fit: the three confirmed rows.
func TestGenericRows(t *testing.T) {
	c := shipped(t)
	row := func(id string) []float64 {
		m := spec[*model.InfectionModel](t, c, id)
		return []float64{m.Min, m.Best, m.Max, m.WetMin, m.WetMax, float64(m.Gap)}
	}
	assert.Equal(t, []float64{1, 20, 35, 6, 40.5, 24}, row("apple-scab/magarey-2005"))
	assert.Equal(t, []float64{1, 20, 30, 2, 14, 6}, row("grape-downy-mildew/magarey-2005"))
	assert.Equal(t, []float64{4, 21, 30.2, 2, 0}, row("grape-downy-mildew/brischetto-2021")[:5])
	count := 0
	for _, id := range c.ModelIDs() {
		if m, _ := c.Model(id); m.Spec.Kind() == "infection-model" {
			count++
		}
	}
	assert.Equal(t, 3, count, "only rows that were confirmed")
}

// The two equations, as printed in their abstracts, against the surfaces.
func TestSurfaces(t *testing.T) {
	c := shipped(t)
	carrot := func(t, w float64) float64 {
		return 0.004993 * math.Pow(t-8, 1.13125) * math.Pow(36-t, 0.53212) * (0.39219 / (1 + 25.93072*math.Exp(-0.16704*w)))
	}
	tomato := func(t, w float64) float64 {
		return 0.0001538 * math.Pow(t-8, 2.4855647) * math.Pow(32-t, 0.7091962) * (0.64289 / (1 + 21.26122*math.Exp(-0.12435*w)))
	}
	a := spec[*model.InfectionSurface](t, c, "carrot-alternaria/marcuzzo-tomasoni-2019").Beta
	b := spec[*model.InfectionSurface](t, c, "tomato-bacterial-spot/summa-phytopathologica-2026").Beta
	require.IsType(t, &disease.BetaSurface{}, a)
	for _, temp := range []float64{10, 15, 20, 25, 30} {
		for _, w := range []float64{6, 12, 24, 48} {
			assert.InDelta(t, carrot(temp, w), a.At(temp, w), 1e-12)
			assert.InDelta(t, tomato(temp, w), b.At(temp, w), 1e-12)
		}
	}
	// Values worked out from the same equations: 25 C and 48 h.
	assert.InDelta(t, 0.1715, a.At(25, 48), 5e-5)
	assert.InDelta(t, 0.42638, b.At(25, 48), 5e-6)
}
