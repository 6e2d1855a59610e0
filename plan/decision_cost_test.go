package plan

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// Act if p > C/(L e): cost and loss as in the decision theory of forecasts
// (Bureau of Meteorology note; Richardson 2000; Wilks 2001), with the efficacy.
// The two figures are worked examples: late blight, cost 2, loss 60, efficacy
// 0.7, from 5 %; powdery mildew on squash, loss 8, from 36 %.
func TestWhenATreatmentPays(t *testing.T) {
	assert.InDelta(t, 0.0476, Stake{Cost: 2, Loss: 60, Efficacy: 0.7}.Pays(), 5e-4)
	assert.InDelta(t, 0.357, Stake{Cost: 2, Loss: 8, Efficacy: 0.7}.Pays(), 5e-4)
	cat, err := catalog.Load()
	require.NoError(t, err)
	for id := range losses {
		_, ok := cat.ByID(id)
		assert.True(t, ok, "%s is no threat of the catalogue", id)
	}
	blight, _ := cat.ByID("late-blight")
	mildew, _ := cat.ByID("cucurbit-powdery-mildew")
	assert.Less(t, DefaultStake(blight).Pays(), DefaultStake(mildew).Pays(), "thresholds differ by threat")
	assert.Equal(t, risk.FromMemory, DefaultStake(blight).Source.Standing)
}

func TestWeighingIsASentence(t *testing.T) {
	o := &risk.Outlook{Chance: [4]float64{0.02, 0.3, 0.5, 0.6}}
	own := risk.Source{Text: "entered by Wren", Standing: risk.Confirmed}
	for _, c := range []struct {
		within int
		stake  Stake
		act    bool
		text   string
	}{
		{14, Stake{2, 60, 0.7, own}, true, "Treating costs about 2; late blight left alone takes about 60, of which a treatment in time saves about 42. Treating pays from a chance of 5 % on; within 14 days it is 30 %, so it is worth acting now."},
		{7, Stake{2, 60, 0.7, own}, false, "Treating costs about 2; late blight left alone takes about 60, of which a treatment in time saves about 42. Treating pays from a chance of 5 % on; within 7 days it is 2 %, so treating can wait."},
		{14, Stake{50, 60, 0.7, own}, false, "Treating costs about 50; late blight left alone takes about 60, of which a treatment in time saves about 42. Treating never saves what it costs."},
	} {
		w, err := Weigh(o, c.within, "late blight", c.stake)
		require.NoError(t, err)
		assert.Equal(t, c.act, w.Act)
		assert.Equal(t, c.text, w.Text)
	}
	w, err := Weigh(o, 10, "late blight", Stake{2, 60, 0.7, fromHere})
	require.NoError(t, err)
	assert.Equal(t, 14, w.Days)
	assert.Contains(t, w.Text, "defaults, from memory: enter your own")
}

func TestWeighingRefusesWhatCannotBe(t *testing.T) {
	o := &risk.Outlook{}
	for want, s := range map[string]Stake{
		"cost -1 is not a number from 0 up":        {Cost: -1, Loss: 1, Efficacy: 1},
		"loss 0 is not a number above 0":           {Cost: 1, Efficacy: 1},
		"efficacy 70 is not above 0 and at most 1": {Cost: 1, Loss: 1, Efficacy: 70},
		"cost NaN": {Cost: math.NaN(), Loss: 1, Efficacy: 1},
	} {
		_, err := Weigh(o, 7, "x", s)
		assert.ErrorContains(t, err, want)
	}
}

// Acting above the threshold never costs more on average than not acting, and
// below it never less.
func TestTheThresholdIsWhereMeanCostsMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Stake{Cost: rapid.Float64Range(0, 50).Draw(t, "cost"), Loss: rapid.Float64Range(0.1, 100).Draw(t, "loss"), Efficacy: rapid.Float64Range(0.05, 1).Draw(t, "efficacy")}
		p := rapid.Float64Range(0, 1).Draw(t, "chance")
		w, err := Weigh(&risk.Outlook{Chance: [4]float64{p, p, p, p}}, 7, "x", s)
		if err != nil {
			t.Fatal(err)
		}
		act, wait := s.Cost+p*s.Loss*(1-s.Efficacy), p*s.Loss
		if w.Act && act > wait+1e-9 || !w.Act && wait > act+1e-9 {
			t.Fatalf("act %v: acting costs %g, waiting %g", w.Act, act, wait)
		}
	})
}

// The chance that pays differs by threat: at one in nine late blight calls for
// action, powdery mildew does not.
func TestWarningsAreWeighed(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	for id, want := range map[string]Readiness{"squash-vine-borer": Act, "cucurbit-powdery-mildew": Approaching} {
		c := baseCase()
		c.Threat, _ = cat.ByID(id)
		c.Outlooks[0].Chance = [4]float64{0.05, 0.09, 0.5, 0.9}
		a := Assess(c, DefaultRules())
		assert.Equal(t, want.String(), a.Readiness.String(), id)
		require.NotNil(t, a.Weighing)
		assert.Equal(t, want == Act, a.Weighing.Act)
		assert.Contains(t, a.Reason.Text, "Treating pays from a chance of", "a sentence")
		assert.Contains(t, a.Weighing.Text, "The figures are defaults, from memory: enter your own.")
	}

	// What the grower entered takes the default's place.
	c := baseCase()
	c.Threat, _ = cat.ByID("squash-vine-borer")
	cost, loss := 30.0, 40.0
	c.Plot.Stakes = []garden.Stake{{Threat: "squash-vine-borer", Cost: &cost, Loss: &loss}}
	c.Stake = StakeOf(c.Site, c.Plot, c.Planting, c.Threat)
	c.Outlooks[0].Chance = [4]float64{0.05, 0.09, 0.5, 0.9}
	a := Assess(c, DefaultRules())
	assert.Equal(t, Approaching.String(), a.Readiness.String(), "at 30 of 40 a treatment pays never")
	assert.Contains(t, a.Reason.Text, "Treating never saves what it costs.")
	assert.Equal(t, "cost and loss entered by the grower; efficacy a default of this program", c.Stake.Source.Text)
	assert.Equal(t, risk.FromMemory, c.Stake.Source.Standing)
}

// For infections only the forecast's own periods count, and a small chance is
// enough where the loss is great.
func TestInfectionsAreWeighed(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	for _, x := range []struct {
		threat   string
		chance   float64
		forecast bool
		want     Readiness
		code     string
	}{
		{"late-blight", 0.2, true, Act, "infection-worth-acting"},
		{"late-blight", 0.2, false, Quiet, "no-infection"},
		{"late-blight", 0.03, true, Quiet, "no-infection"},
		{"cucurbit-powdery-mildew", 0.2, true, Quiet, "no-infection"},
	} {
		c := baseCase()
		c.Threat, _ = cat.ByID(x.threat)
		c.Stages = nil
		c.Outlooks = []risk.Outlook{{Issued: today, ForecastTo: today + 14, P10: today + 20, P50: today + 40, Chance: [4]float64{x.chance, x.chance, x.chance, x.chance},
			Periods: []risk.Period{{From: today + 2, To: today + 3, Chance: x.chance, Forecast: x.forecast}}}}
		c.Unmeasured = x.forecast
		a := Assess(c, DefaultRules())
		assert.Equal(t, x.want.String(), a.Readiness.String(), "%v", x)
		assert.Equal(t, x.code, a.Reason.Code, "%v", x)
		for _, n := range a.Reason.Numbers {
			if n.Name == "chance within 14 days" {
				assert.Equal(t, x.forecast, n.Source.Standing == risk.FromMemory, "what is from memory says so")
			}
		}
	}
}
