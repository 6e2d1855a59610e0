package planting

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/risk"
)

func TestEveryFigureNamesACropAndASource(t *testing.T) {
	for _, p := range published {
		assert.NotEmpty(t, p.crops)
		for _, c := range p.crops {
			_, ok := garden.CropByID(c)
			assert.True(t, ok, c)
		}
		assert.NotEmpty(t, p.Source.Text)
		assert.NotEqual(t, risk.Unstated, p.Source.Standing)
		assert.Positive(t, p.Days)
		assert.True(t, p.F >= 32 && p.F <= 85, "%v", p)
	}
}

// The tables as printed: University of Georgia 2000 and Texas A&M 2014 give one
// list, Kansas (Upham) a lower one, the realistic values of Texas a third.
func TestPublishedSoilFigures(t *testing.T) {
	for crop, want := range map[string][]float64{
		"tomato":     {55, 60, 60},
		"cucumber":   {60, 60, 60, 60},
		"pepper":     {60, 70, 70},
		"melon":      {60, 60, 75, 75},
		"okra":       {75},
		"sweet corn": {55, 65},
		"pea":        {40, 40},
		"eggplant":   nil,
		"leek":       nil,
	} {
		assert.Equal(t, want, soilOf(t, crop, PlantOut), crop)
	}
	assert.Equal(t, []float64{50, 55, 55, 60, 60}, soilOf(t, "tomato", Sow))
	assert.Equal(t, []float64{60, 60, 60, 60, 64}, soilOf(t, "Cucumber", Sow))
}

func soilOf(t *testing.T, crop string, use Use) []float64 {
	t.Helper()
	fs, err := Figures(crop, use)
	require.NoError(t, err)
	var out []float64
	for _, f := range fs {
		if f.Measure == Soil {
			out = append(out, f.F)
		}
	}
	return out
}

func TestWarmSeasonCropsHaveTheTradesNights(t *testing.T) {
	for crop, want := range map[string][]float64{"tomato": {50, 60}, "pepper": {55, 60}, "cabbage": nil} {
		fs, err := Figures(crop, PlantOut)
		require.NoError(t, err)
		var got []float64
		for _, f := range fs {
			if f.Measure == Night {
				got = append(got, f.F)
			}
		}
		assert.Equal(t, want, got, crop)
	}
	fs, err := Figures("tomato", Sow)
	require.NoError(t, err)
	for _, f := range fs {
		assert.Equal(t, Soil, f.Measure, "sown seed meets the soil, not the night")
	}
}

func TestUnknownCrop(t *testing.T) {
	_, err := Figures("tomatoe", Sow)
	assert.ErrorContains(t, err, `did you mean "tomato"`)
	_, err = Check("tomatoe", Sow, nil, 0)
	assert.Error(t, err)
}

func TestOwnFigure(t *testing.T) {
	f := Own("tomato", PlantOut, Soil, 15)
	assert.InDelta(t, 15, f.C(), 1e-12)
	assert.InDelta(t, 59, f.F, 1e-12)
}
