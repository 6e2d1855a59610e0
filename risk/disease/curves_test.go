package disease

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func generic(t testing.TB, pathogen string) Generic {
	for _, r := range table(t, "generic_parameters.csv") {
		if r["pathogen"] == pathogen {
			g := Generic{number(t, r, "Tmin_c"), number(t, r, "Topt_c"), number(t, r, "Tmax_c"), number(t, r, "Wmin_h"), 0}
			if g.WetMax = UnknownWetMax(g.WetMin); r["Wmax_h"] != "" {
				g.WetMax = number(t, r, "Wmax_h")
			}
			require.NoError(t, g.Validate())
			return g
		}
	}
	t.Fatalf("no parameters of %s", pathogen)
	return Generic{}
}

func TestGenericModelCases(t *testing.T) {
	for _, r := range table(t, "generic_cases.csv") {
		g, temp := generic(t, r["pathogen"]), number(t, r, "temp_c")
		assert.InDelta(t, number(t, r, "f_T"), g.Response(temp), 6e-6, "%v", r)
		if r["required_wet_h"] == "inf" {
			assert.True(t, math.IsInf(g.At(temp), 1), "%v", r)
			continue
		}
		assert.InDelta(t, number(t, r, "required_wet_h"), g.At(temp), 6e-4, "%v", r)
	}
	assert.InDelta(t, 9.8, UnknownWetMax(2), 1e-12)
}

// Where the response is 0 no number of hours infects: the literal minimum of the
// two would infect in frost after WetMax hours.
func TestGenericModelDoesNotInfectInFrost(t *testing.T) {
	g := generic(t, "Plasmopara viticola (grape)")
	n := g.Need()
	for _, temp := range []float64{-5, 0, 1, 30, 31, 45, math.NaN()} {
		assert.False(t, n.Met(500, temp), "%g C", temp)
	}
}

// The lookup and the formula agree for whole hours.
func TestGenericLookupAgreesWithFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-5, 10).Draw(t, "min")
		best := low + rapid.Float64Range(2, 25).Draw(t, "to best")
		high := best + rapid.Float64Range(2, 15).Draw(t, "to max")
		wet := rapid.Float64Range(0.5, 24).Draw(t, "wet min")
		g := Generic{low, best, high, wet, wet * rapid.Float64Range(1, 6).Draw(t, "wet max over min")}
		n := g.Need()
		temp, hours := rapid.Float64Range(-10, 50).Draw(t, "temp"), rapid.IntRange(0, 200).Draw(t, "hours")
		if want := enough(hours, g.At(temp)); n.Met(hours, temp) != want {
			t.Fatalf("%d h at %g C: lookup %v, formula %v (%g h needed)", hours, temp, !want, want, g.At(temp))
		}
		if hours < n.Least() && n.Met(hours, temp) {
			t.Fatalf("%d h are enough, below the least of %d", hours, n.Least())
		}
	})
}

// So do the lookup and the rows of a table of hours.
func TestHoursLookupAgreesWithTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []HoursRow
		at := rapid.Float64Range(-5, 15).Draw(t, "from")
		for range rapid.IntRange(1, 8).Draw(t, "rows") {
			to := at + rapid.SampledFrom([]float64{0, 0, 3}).Draw(t, "wide")
			rows = append(rows, HoursRow{at, to, float64(rapid.IntRange(1, 40).Draw(t, "hours"))})
			at = to + rapid.Float64Range(0.5, 5).Draw(t, "gap")
		}
		between := rapid.SampledFrom([]Between{Interpolate, Longer, Shorter}).Draw(t, "between")
		h := NewHoursNeeded(rows, between, rapid.SampledFrom([]float64{0, 1, 0.1}).Draw(t, "step"), rapid.Bool().Draw(t, "F"))
		temp, hours := rapid.Float64Range(-30, 60).Draw(t, "temp"), rapid.IntRange(0, 60).Draw(t, "hours")
		if want := enough(hours, h.At(temp)); h.Met(hours, temp) != want {
			t.Fatalf("%d h at %g C: lookup %v, table %v (%g h needed)", hours, temp, !want, want, h.At(temp))
		}
	})
}

var (
	carrotAlternaria    = BetaSurface{0.004993, 8, 36, 1.13125, 0.53212, 0.39219, 25.93072, 0.16704}
	tomatoBacterialSpot = BetaSurface{0.0001538, 8, 32, 2.4855647, 0.7091962, 0.64289, 21.26122, 0.12435}
)

func TestSurfaces(t *testing.T) {
	for _, r := range table(t, "surfaces.csv") {
		temp, w := number(t, r, "temp_c"), number(t, r, "wet_hours")
		assert.InDelta(t, number(t, r, "alternaria_dauci_ES"), carrotAlternaria.At(temp, w), 6e-6, "%v", r)
		assert.InDelta(t, number(t, r, "xanthomonas_tomato_SE"), tomatoBacterialSpot.At(temp, w), 6e-6, "%v", r)
	}
	for _, s := range []BetaSurface{carrotAlternaria, tomatoBacterialSpot} {
		assert.NoError(t, s.Validate())
		assert.Zero(t, s.At(s.Low, 48))
		assert.Zero(t, s.At(s.High, 48))
		assert.Zero(t, s.At(-5, 48))
		most := s.Most(s.Low, s.High, 48)
		for temp := s.Low; temp <= s.High; temp += 0.01 {
			require.LessOrEqual(t, s.At(temp, 48), most+1e-15)
		}
		assert.InDelta(t, s.At(25, 48), s.Most(10, 25, 48), most) // within the range only
	}
}

func TestStrawberryBotrytis(t *testing.T) {
	s := LogitSurface{A: -4.268, W: -0.0901, WT: 0.0294, WT3: -0.0000235}
	for _, r := range table(t, "strawberry_botrytis.csv") {
		assert.InDelta(t, number(t, r, "botrytis_flower_index"), s.At(number(t, r, "temp_c"), number(t, r, "wet_hours")), 6e-5, "%v", r)
	}
	// Bulger, Ellis & Madden 1987, abstract: all flowers after 24 h at 20 C; much
	// less below 15 and above 25 C.
	assert.Greater(t, s.At(20, 24), 0.95)
	assert.Less(t, s.At(10, 24), s.At(20, 24))
	assert.Less(t, s.At(30, 24), s.At(20, 24))
}

var potato = PDays{7, 21, 30}

func TestPDaysCases(t *testing.T) {
	for _, r := range table(t, "pdays_cases.csv") {
		assert.InDelta(t, number(t, r, "pdays"), potato.Day(number(t, r, "tmin_c"), number(t, r, "tmax_c")), 6e-5, "%v", r)
	}
	for _, r := range table(t, "pdays_fahrenheit.csv") {
		c := func(key string) float64 { return (number(t, r, key) - 32) / 1.8 }
		mine := potato.Day(c("tmin_f"), c("tmax_f"))
		assert.InDelta(t, number(t, r, "pdays_celsius_formula"), mine, 6e-4, "%v", r)
		assert.LessOrEqual(t, math.Abs(mine-number(t, r, "pdays_unl_fahrenheit_code")), 0.23, "%v", r)
	}
	assert.True(t, math.IsNaN(potato.Day(math.NaN(), 20)))
	assert.True(t, math.IsNaN(potato.Day(10, math.NaN())))
}

func TestPDaysStayBetween0And10(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-30, 50).Draw(t, "min")
		v := potato.Day(low, low+rapid.Float64Range(0, 30).Draw(t, "span"))
		if !(v >= 0 && v <= 10) {
			t.Fatal(v)
		}
	})
}
