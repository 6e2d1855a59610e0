package alerts

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/plan"
)

func TestLooksAreToldApartByEachOfThree(t *testing.T) {
	words, shapes, light, dark := map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}
	for r := plan.Present; r <= plan.Quiet; r++ {
		l := LookOf(r)
		assert.Equal(t, r.String(), l.Word)
		words[l.Word], shapes[l.Shape], light[l.Light], dark[l.Dark] = true, true, true, true
	}
	for _, m := range []map[string]bool{words, shapes, light, dark} {
		assert.Len(t, m, 6)
	}
}

// TestContrast wants 4.5 to 1 between words and ground, light and dark (WCAG
// 2.2, success criterion 1.4.3).
func TestContrast(t *testing.T) {
	for r := plan.Present; r <= plan.Quiet; r++ {
		l := LookOf(r)
		assert.GreaterOrEqual(t, contrast(t, l.Light, "#ffffff"), 4.5, "%s on white", r)
		assert.GreaterOrEqual(t, contrast(t, l.Light, "#fbfaf7"), 4.5, "%s on the light ground", r)
		assert.GreaterOrEqual(t, contrast(t, l.Dark, "#1b2124"), 4.5, "%s on the dark card", r)
		assert.GreaterOrEqual(t, contrast(t, l.Dark, "#14191b"), 4.5, "%s on the dark ground", r)
	}
}

// contrast is the contrast ratio of WCAG 2.2; black on white is 21.
func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(t *testing.T, hex string) float64 {
	var out float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		require.NoError(t, err)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		out += weight * c
	}
	return out
}

func TestContrastOfBlackOnWhite(t *testing.T) {
	assert.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 1e-9)
}
