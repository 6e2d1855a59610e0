package replay

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/weather"
)

func result(from civil.Date, warned string, came ...civil.Date) *Result {
	r := &Result{Case: &Case{Name: "made-up", From: from, To: from.AddDays(len(warned) - 1)}, Came: came, Until: from.AddDays(365)}
	for i, w := range warned {
		r.Issues = append(r.Issues, Issue{Day: from.AddDays(i), Warned: w == '!'})
	}
	return r
}

func TestWarningsAreHitsMissesAndFalseAlarms(t *testing.T) {
	d := civil.New(2026, 5, 1)
	for name, c := range map[string]struct {
		warned       string
		came         []civil.Date
		hits, misses int
		falseAlarms  int
		leads        []int
	}{
		"in time":             {"..!!!!!...", []civil.Date{d + 8}, 1, 0, 0, []int{6}},
		"on its last day":     {"..!!!!!!!!", []civil.Date{d + 9}, 1, 0, 0, []int{7}},
		"none":                {"..........", []civil.Date{d + 8}, 0, 1, 0, nil},
		"too late":            {"......!!!!", []civil.Date{d + 3}, 0, 1, 1, nil},
		"for nothing":         {"..!!!.....", nil, 0, 0, 1, nil},
		"twice, the 2nd hits": {"!!....!!..", []civil.Date{d + 58}, 0, 0, 2, nil},
		"two of one":          {"!!...!!...", []civil.Date{d + 8}, 1, 0, 0, []int{8}},
		"quiet all season":    {"..........", nil, 0, 0, 0, nil},
	} {
		t.Run(name, func(t *testing.T) {
			s := ScoreOf(Policy{}, result(d, c.warned, c.came...))
			assert.Equal(t, c.hits, s.Hits, "hits")
			assert.Equal(t, c.falseAlarms, s.FalseAlarms, "false alarms")
			assert.Equal(t, c.misses, s.Misses, "misses")
			assert.Equal(t, c.leads, s.LeadDays)
		})
	}
}

func TestWhatIsNotKnownIsNoFalseAlarm(t *testing.T) {
	r := result(civil.New(2026, 5, 1), "..!!!.....")
	r.Until = civil.New(2026, 5, 20) // the last look; it may have come after it
	assert.Zero(t, ScoreOf(Policy{}, r).FalseAlarms)
}

// The Brier score by hand: chances 0.2 and 0.9 of which the second came:
// (0.04 + 0.01) / 2.
func TestBrierByHand(t *testing.T) {
	d := civil.New(2026, 5, 1)
	r := result(d, "..", d+8)
	r.Issues[0].Outlook.Chance = [4]float64{0.2, 1, 1, 1}
	r.Issues[1].Outlook.Chance = [4]float64{0.9, 1, 1, 1}
	s := ScoreOf(Policy{}, r)
	c := s.Horizons[0]
	assert.Equal(t, 2, c.N)
	assert.InDelta(t, 0.025, c.Brier, 1e-12)
	assert.InDelta(t, 0.5, c.Base, 1e-12)
	assert.InDelta(t, 0.25, c.Always, 1e-12)
	assert.Equal(t, Bin{N: 1, Mean: 0.2, Came: 0}, c.Bins[2])
	assert.Equal(t, Bin{N: 1, Mean: 0.9, Came: 1}, c.Bins[9])
	assert.Zero(t, s.Horizons[1].Brier)
}

func TestMedianAndCoverageByHand(t *testing.T) {
	d := civil.New(2026, 5, 1)
	r := result(d, strings.Repeat(".", 40), d+30)
	at := func(lead int, p10, p50, p90 civil.Date) {
		r.Issues[30-lead].Outlook = risk.Outlook{P10: p10, P50: p50, P90: p90, Inside: 0.8}
	}
	at(28, d+20, d+34, d+40)
	at(14, d+31, d+33, d+36)
	at(7, d+25, d+29, 0) // no 90 % date: beyond what was looked at
	s := ScoreOf(Policy{}, r)
	assert.Equal(t, Lead{Days: 28, N: 1, Dated: 1, Error: 4, Bias: 4, Covered: 1, Stated: 0.8}, s.At[0])
	assert.Equal(t, Lead{Days: 14, N: 1, Dated: 1, Error: 3, Bias: 3, Covered: 0, Stated: 0.8}, s.At[1])
	assert.Equal(t, Lead{Days: 7, N: 1, Dated: 1, Error: 1, Bias: -1, Covered: 1, Stated: 0.8}, s.At[2])
}

func TestFixedSprays(t *testing.T) {
	d := civil.New(2026, 6, 1)
	assert.Equal(t, 14, FixedSprays(d, d+91, 7)) // 1 June, then thirteen weeks
	assert.Equal(t, 1, FixedSprays(d, d+6, 7))
	assert.Zero(t, FixedSprays(d, d-1, 7))
}

// A whole season day by day: only what lies before a day may change what was said
// on it.
func TestReplaySeesNothingOfTheFuture(t *testing.T) {
	days := places(t)["New York"]
	e := events(t)[0]
	past, err := e.spec.Run(&model.Input{Days: days[:366+365], Start: days[0].Date})
	require.NoError(t, err)
	run := func(days []weather.Day) *Result {
		c := &Case{Name: "New York 2014", Record: &Record{Days: days}, Spec: e.spec, Start: civil.New(2014, 1, 1), From: civil.New(2014, 3, 1), To: civil.New(2014, 6, 30),
			Event: e.name, Threshold: e.threshold, History: outlook.NewHistory(past)}
		r, err := Run(c, Assumed{Error: outlook.StatedError()}, Policy{})
		require.NoError(t, err)
		return r
	}
	a := run(days)
	changed := append([]weather.Day(nil), days...)
	from := civil.New(2014, 4, 20)
	for i := range changed {
		if changed[i].Date >= from {
			changed[i].Min += 4
			changed[i].Max += 4
		}
	}
	b := run(changed)
	assert.NotEqual(t, a.Came, b.Came)
	for i := range b.Issues {
		if a.Issues[i].Day <= from {
			assert.Equal(t, a.Issues[i], b.Issues[i])
		}
	}
	s := ScoreOf(Policy{}, a)
	assert.Equal(t, 1, s.Hits)
	assert.Zero(t, s.FalseAlarms+s.Misses)
	assert.Greater(t, s.LeadDays[0], 7)
	assert.Less(t, s.Horizons[1].Brier, s.Horizons[1].Always)
	assert.Len(t, a.Sprays, 1)
}

// Forecasts that were kept are used, and the days that followed are not.
func TestKeptForecastsTakeTheFuturesPlace(t *testing.T) {
	days := places(t)["Seattle"][:366+365]
	w := weather.HoursFromDays(days, 47.4, -122.3, time.UTC, weather.Origin{Source: "record", Kind: weather.Nearby})
	e := events(t)[0]
	d := civil.New(2013, 5, 1)
	asked := 0
	kept := func(on civil.Date) *weather.Series {
		asked++
		f := weather.NewSeries(on.Start(time.UTC), 24*10)
		o, err := f.AddOrigin(weather.Origin{Source: "kept", Kind: weather.Forecast, Issued: on.Start(time.UTC)})
		if err != nil {
			panic(err)
		}
		for i := range f.Len() {
			f.Set(weather.Temp, i, 45, o) // a heat that never was
		}
		return f
	}
	c := &Case{Name: "Seattle", Record: &Record{Hours: w, Forecasts: kept}, Spec: e.spec, Start: civil.New(2013, 1, 1), From: d, To: d, Threshold: 375}
	r, err := Run(c, Assumed{Days: 10, Error: outlook.StatedError()}, Policy{})
	require.NoError(t, err)
	assert.Equal(t, 1, asked)
	assert.LessOrEqual(t, r.Issues[0].Outlook.P90, d.AddDays(10))
	c.Record = &Record{Days: days, Forecasts: kept}
	byDay, err := Run(c, Assumed{Days: 10, Error: outlook.StatedError()}, Policy{})
	require.NoError(t, err)
	assert.Equal(t, 2, asked)
	assert.LessOrEqual(t, byDay.Issues[0].Outlook.P90, d.AddDays(10))
	assert.InDelta(t, 0, byDay.Issues[0].Outlook.P50.Sub(r.Issues[0].Outlook.P50), 1)
	assert.Greater(t, r.Came[0], d.AddDays(10), "what came goes by what was measured")
}

// A disease by the hour: sprays named only when the rule asks, infections scored.
func TestReplayOfADiseaseByTheHour(t *testing.T) {
	days := places(t)["New York"]
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	w := weather.HoursFromDays(days, 40.6, -73.8, zone, weather.Origin{Source: "record", Kind: weather.Nearby})
	spec, err := decode("consecutive-days", "day: calendar\nhours: {humidity: 94}\nat_least: 6\nmin_temperature: 14\ndays: 2\nevent: two-day period\nstart: {kind: in ground, standing: common practice}\nstages: [{name: first, value: 1}]\n")
	require.NoError(t, err)
	past, err := spec.Run(&model.Input{Weather: w, Zone: zone, Start: civil.New(2012, 1, 3)})
	require.NoError(t, err)
	c := &Case{Name: "New York 2013", Record: &Record{Hours: w, Zone: zone}, Spec: spec, Start: civil.New(2013, 5, 15), From: civil.New(2013, 5, 20), To: civil.New(2013, 8, 20), Infection: true, History: outlook.NewHistory(past)}
	r, err := Run(c, Assumed{Days: 7, Error: outlook.StatedError(), Noise: rand.New(rand.NewPCG(1, 2)).NormFloat64}, Policy{})
	require.NoError(t, err)
	s := ScoreOf(Policy{}, r)
	assert.NotEmpty(t, r.Came)
	assert.Equal(t, s.Events, s.Hits+s.Misses)
	assert.Greater(t, s.Hits, s.Misses, "a week's forecast with its errors")
	assert.Less(t, s.Sprays, s.Fixed)
	assert.Equal(t, 14, s.Fixed)
	assert.Less(t, s.Horizons[0].Brier, s.Horizons[0].Always)
}

// A severity sum that goes back at each spray: as many sprays as the sum fills
// the threshold, and each at least a day after the one before.
func TestSpraysOfASumThatGoesBack(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	var m *catalog.Model
	for _, id := range cat.ModelIDs() {
		x, _ := cat.Model(id)
		if s, ok := x.Spec.(*model.SeverityTable); ok && s.ResetAtSpray && len(s.Stages()) > 0 {
			m = x
			break
		}
	}
	require.NotNil(t, m, "the catalogue has a rule whose sum goes back at a spray")
	days := places(t)["New York"][:366]
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	w := weather.HoursFromDays(days, 40.6, -73.8, zone, weather.Origin{Source: "record", Kind: weather.Nearby})
	first := m.Spec.Stages()[0].Value
	c := &Case{Name: "New York 2012", Record: &Record{Hours: w, Zone: zone}, Spec: m.Spec, Start: civil.New(2012, 5, 1), From: civil.New(2012, 5, 2), To: civil.New(2012, 9, 30), Threshold: first}
	sprays, err := c.sprays(c.Record.from(c.Start-known), nil, Policy{}.filled(&Case{}))
	require.NoError(t, err)
	require.NotEmpty(t, sprays)
	plain, err := c.measured(c.Record.from(c.Start-known), nil)
	require.NoError(t, err)
	for i := 1; i < len(sprays); i++ {
		assert.Greater(t, sprays[i], sprays[i-1])
	}
	// The sum that reached the first threshold is not counted twice.
	p, ok := plain.At(sprays[0].AddDays(-1))
	require.True(t, ok)
	assert.GreaterOrEqual(t, p.Total, first)
	before, _ := plain.At(sprays[0].AddDays(-2))
	assert.Less(t, before.Total, first)
	last := plain.Points[len(plain.Points)-1].Total
	assert.LessOrEqual(t, float64(len(sprays)-1)*5, last, "a spray for fewer than five severity values each")
}

// What the grower found is the truth where there is a log, and a look that found
// nothing conditions what the log is asked.
func TestReplayAgainstALog(t *testing.T) {
	days := places(t)["Seattle"]
	e := events(t)[0]
	past, err := e.spec.Run(&model.Input{Days: days, Start: days[0].Date})
	require.NoError(t, err)
	curves := learn.CurvesOf(past, civil.MonthDay{Month: 1, Day: 1})
	var seasons []learn.Season
	for y := 2012; y <= 2014; y++ {
		c := curves[y]
		at, ok := c.Date(460)
		require.True(t, ok)
		seasons = append(seasons, learn.Season{Year: y, First: at, None: at - 5})
	}
	a, err := learn.Learn(learn.Input{Threat: "worm", Seasons: seasons, Curves: curves, Published: 375})
	require.NoError(t, err)
	c2015 := curves[2015]
	at, _ := c2015.Date(460)
	log := learn.Season{Year: 2015, First: at, None: at - 5}
	run := func(learnt *learn.Arrival) Score {
		c := &Case{Name: "Seattle 2015", Record: &Record{Days: days}, Spec: e.spec, Start: civil.New(2015, 1, 1), From: civil.New(2015, 3, 15), To: civil.New(2015, 7, 1), Threshold: 375, History: outlook.NewHistory(past), Log: &log, Learnt: learnt}
		r, err := Run(c, Assumed{Error: outlook.StatedError()}, Policy{})
		require.NoError(t, err)
		require.Equal(t, []civil.Date{at - 2}, r.Came)
		return ScoreOf(Policy{}, r)
	}
	published, learnt := run(nil), run(a)
	for i := range Leads {
		assert.LessOrEqual(t, learnt.At[i].Error, published.At[i].Error, "%d days ahead", Leads[i])
	}
	censored := learn.Season{Year: 2015, None: civil.New(2015, 6, 15)}
	c := &Case{Name: "Seattle 2015", Record: &Record{Days: days}, Spec: e.spec, Start: civil.New(2015, 1, 1), From: civil.New(2015, 3, 15), To: civil.New(2015, 6, 15), Threshold: 375, History: outlook.NewHistory(past), Log: &censored}
	r, err := Run(c, Assumed{Error: outlook.StatedError()}, Policy{})
	require.NoError(t, err)
	assert.Empty(t, r.Came)
	assert.Equal(t, civil.New(2015, 6, 15), r.Until)
}

func TestReplayNamesWhatIsMissing(t *testing.T) {
	e := events(t)[0]
	_, err := Run(&Case{Name: "nowhere", Record: &Record{}, Spec: e.spec}, Assumed{}, Policy{})
	assert.EqualError(t, err, "replay nowhere: the record has no weather")
	days := places(t)["Seattle"]
	_, err = Run(&Case{Name: "Seattle", Record: &Record{Days: days}, Spec: e.spec, Start: civil.New(2016, 1, 1), From: civil.New(2016, 3, 1), To: civil.New(2016, 4, 1)}, Assumed{}, Policy{})
	assert.ErrorContains(t, err, "do not lie within the record, 2012-01-01 to 2015-12-31")
}

// Sixty made-up years, each from the others: as many events lie in the interval
// as the outlooks state, and of the chances stated as many come true.
func TestOutlooksAreCalibrated(t *testing.T) {
	r := rand.New(rand.NewPCG(60, 60))
	var days []weather.Day
	noise, year := 0.0, 0.0
	for d := civil.New(1950, 1, 1); d < civil.New(2010, 1, 1); d++ {
		if d.YearDay() == 1 {
			year = r.NormFloat64()
		}
		noise = 0.7*noise + 3*r.NormFloat64()
		x := weather.NewDay(d)
		mean := 10 - 13*math.Cos(2*math.Pi*float64(d.YearDay()-20)/365) + year + noise
		x.Min, x.Max = mean-5, mean+5
		days = append(days, x)
	}
	e := events(t)[0]
	past, err := e.spec.Run(&model.Input{Days: days, Start: days[0].Date})
	require.NoError(t, err)
	h := outlook.NewHistory(past)
	var results []*Result
	for y := 1951; y < 2009; y++ {
		c := &Case{Name: "made-up", Record: &Record{Days: days}, Spec: e.spec, Start: civil.New(y, 1, 1), From: civil.New(y, 3, 20), To: civil.New(y, 7, 1), Event: e.name, Threshold: e.threshold, History: h}
		res, err := Run(c, Assumed{Days: 10, Error: outlook.StatedError(), Noise: r.NormFloat64, Versions: 10}, Policy{})
		require.NoError(t, err)
		results = append(results, res)
	}
	s := ScoreOf(Policy{}, results...)
	for _, l := range s.At {
		assert.InDelta(t, l.Stated, l.Coverage(), 0.10, "%d days ahead: %d of %d, stated %.2f", l.Days, l.Covered, l.N, l.Stated)
		assert.InDelta(t, 0, l.Bias, 1.5)
	}
	for _, c := range s.Horizons {
		assert.Less(t, c.Brier, 0.5*c.Always, "within %d days", c.Days)
		for _, b := range c.Bins {
			if b.N >= 150 {
				assert.InDelta(t, b.Mean, b.Came, 0.12, "within %d days: %d outlooks that stated %.2f", c.Days, b.N, b.Mean)
			}
		}
	}
	assert.Equal(t, 58, s.Hits)
	assert.Zero(t, s.Misses)
	compare(t, "fan.svg", FanSVG(results[0]))
	compare(t, "reliability.svg", ReliabilitySVG("made-up", s.Horizons[1]))
	compare(t, "side-by-side.svg", SideBySideSVG("made-up", s, s))
}

// compare holds a drawing against the kept one; UPDATE=1 keeps a new one.
func compare(t *testing.T, name, got string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(got))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			require.NoError(t, err, "%s is not XML", name)
		}
	}
	assert.NotContains(t, got, "NaN")
	file := filepath.Join("testdata", name)
	if os.Getenv("UPDATE") != "" {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got, "%s changed; look at it and run with UPDATE=1", name)
}
