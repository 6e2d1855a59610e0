package plan

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"plotwarden/civil"
	"plotwarden/garden"
)

// sprayed is a case with one treatment some days ago under a rain of so many mm,
// all of it on the last day, and wet hours since.
func sprayed(material string, days int, rain float64, wet int) *Case {
	c := baseCase()
	at := c.Now.AddDate(0, 0, -days).Add(-time.Minute)
	c.Treatments = []garden.Treatment{{ID: "t", At: at, Material: material}}
	c.RainSince = func(from time.Time) (float64, int) { return rain, 0 }
	c.WetSince = func(time.Time) (int, int) { return wet, 0 }
	return c
}

// Sources: see the constants in wear.go. Bicarbonate, soap and pyrethrin, any
// wetting and it is gone: derived. Bt, 2-4 days of light:
// Cranshaw (Colorado State) in copies, confirmed second-hand.
func TestWearByMaterial(t *testing.T) {
	for _, c := range []struct {
		material  string
		days      int
		rain      float64
		wet       int
		want      Deposit
		holds     bool
		inTheText string
	}{
		{"mancozeb", 3, 24, 20, Fresh, true, "3 days and 24 mm"},
		{"mancozeb", 3, 25, 0, Thin, true, "Renew before the next infection period"},
		{"copper hydroxide", 7, 0, 0, Thin, true, "7 days and 0 mm"},
		{"copper hydroxide", 7, 25, 0, Renew, false, "7 days and 25 mm"},
		{"sulfur", 1, 50, 0, Renew, false, "50 mm"},
		{"potassium bicarbonate", 5, 0, 0, Fresh, true, "5 days"},
		{"potassium bicarbonate", 1, 0.2, 0, Gone, false, "any wetting"},
		{"potassium bicarbonate", 1, 0, 3, Gone, false, "any wetting"},
		{"potassium salts of fatty acids", 1, 0, 0, Gone, false, "once it has dried"},
		{"pyrethrins", 1, 0, 0, Gone, false, "once it has dried"},
		{"Bacillus thuringiensis kurstaki", 1, 0, 0, Fresh, true, "1 day and"},
		{"Bacillus thuringiensis kurstaki", 2, 0, 0, Thin, true, "2 days"},
		{"Bacillus thuringiensis kurstaki", 4, 0, 0, Gone, false, "light ends it in 2 to 4 days"},
		{"milk", 0, 0, 0, Gone, false, "home mix"},
		{"the red bottle", 3, 10, 50, Fresh, true, "3 days and 10 mm"},
	} {
		p := protection(sprayed(c.material, c.days, c.rain, c.wet))
		assert.Equal(t, c.want, p.State, "%+v", c)
		assert.Equal(t, c.holds, p.Holds(), "%+v", c)
		assert.Contains(t, p.Text, c.inTheText, "%+v", c)
		assert.NotContains(t, p.Text, "%", "mm and days, never a percentage")
		assert.Equal(t, c.days >= 3 && c.want != Gone, p.Growth != "", "%+v", c)
	}
}

// Rain within 2 hours: Ontario tree-fruit bulletin 2020, confirmed. Longer when
// the grower's label says so.
func TestRainBeforeItWasDry(t *testing.T) {
	c := sprayed("mancozeb", 1, 6, 0)
	sprayedAt := c.Treatments[0].At
	rainAt := sprayedAt.Add(3 * time.Hour)
	c.RainSince = func(from time.Time) (float64, int) {
		if from.After(rainAt) {
			return 0, 0
		}
		return 6, 0
	}
	assert.Equal(t, Fresh, protection(c).State, "rain after 3 hours")
	c.Materials = []garden.Material{{ID: "mancozeb", Ingredient: "mancozeb", Kind: garden.KindProtectant, DryingHours: 6}}
	p := protection(c)
	assert.Equal(t, Renew, p.State, "the label wants 6 hours")
	assert.Contains(t, p.Text, "rained before it had dried (within 6 h)")
	c.Materials[0].DryingHours = 0
	rainAt = sprayedAt.Add(time.Hour)
	assert.Equal(t, Renew, protection(c).State, "rain after 1 hour")
}

func TestUnknownDewIsNotTrusted(t *testing.T) {
	c := sprayed("potassium bicarbonate", 1, 0, 0)
	c.WetSince = nil
	p := protection(c)
	assert.False(t, p.Holds(), "a night passed, and nobody knows whether there was dew")
	assert.Contains(t, p.Text, "nothing is known")
}

func TestLabelIntervalOfTheMaterialCounts(t *testing.T) {
	c := sprayed("copper", 5, 0, 0)
	assert.Equal(t, Fresh, protection(c).State)
	c.Materials = []garden.Material{{ID: "copper", Ingredient: "copper", IntervalDays: 5}}
	assert.Equal(t, Renew, protection(c).State)
}

func TestWornTreatmentIsSaidInTheReason(t *testing.T) {
	c := sprayed("mancozeb", 3, 52, 0)
	a := Assess(c, DefaultRules())
	assert.Equal(t, Approaching, a.Readiness)
	assert.Contains(t, a.Reason.Text, "is due for renewal: 3 days and 52 mm of rain since")
	assert.Equal(t, Renew, a.Protection.State)
}

func TestOnlyWhatStaysResetsAModel(t *testing.T) {
	at := time.Date(2026, 6, 10, 2, 0, 0, 0, time.UTC)
	ny, err := time.LoadLocation("America/New_York")
	assert.NoError(t, err)
	ts := []garden.Treatment{
		{At: at, Material: "mancozeb"}, {At: at, Material: "insecticidal soap"}, {At: at, Material: "baking soda"},
		{At: at, Note: "clean-up"}, {At: at.AddDate(0, 0, 5), Material: "mancozeb"}, {At: at, Material: "mine"},
	}
	own := []garden.Material{{ID: "mine", Kind: garden.KindHomeMix}}
	assert.Equal(t, []civil.Date{civil.New(2026, 6, 9)}, Resets(ts, own, at.AddDate(0, 0, 1), ny))
}
