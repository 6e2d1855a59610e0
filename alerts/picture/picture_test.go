package picture

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/web/draw"
)

var from = civil.New(2026, time.June, 4) // a Thursday

func axis() draw.Axis { return draw.Axis{From: from, Days: alerts.LaneDays, Loc: time.UTC} }

func lanes() []draw.Lane {
	return []draw.Lane{
		{Title: "Imported cabbageworm, Bed 9: Cabbage", Readiness: plan.Present, WorkFrom: from, WorkBy: from + 4},
		{Title: "Late blight, Bed 3: Tomato, large red", Readiness: plan.Act, P10: from + 2, P50: from + 2, P90: from + 2, Infections: []civil.Date{from + 2, from + 6}, WorkFrom: from, WorkBy: from + 1},
		{Title: "Squash vine borer, Bed 9: Summer squash", Readiness: plan.Approaching, P10: from + 5, P50: from + 9, P90: from + 30, WorkFrom: from, WorkBy: from + 20},
		{Title: "Flea beetles, Bed 1: a name that is far longer than the picture has room for, and then some more of it", Readiness: plan.Act, Reached: from - 2},
		{Title: "Cabbage aphid, Bed 9", Readiness: plan.Blind},
		{Title: "Leek moth, Bed 2", Readiness: plan.Protected, P10: from + 20, P50: from + 25},
		{Title: "Onion maggot, Bed 2", Readiness: plan.Quiet},
	}
}

func decode(t *testing.T, b []byte) image.Image {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	return img
}

func TestThePictureIsSmallAndTheSameAgain(t *testing.T) {
	b, size, err := Draw(axis(), lanes(), lang.English)
	require.NoError(t, err)
	again, _, err := Draw(axis(), lanes(), lang.English)
	require.NoError(t, err)
	assert.Equal(t, b, again)
	img := decode(t, b)
	assert.Equal(t, size.Mul(scale), img.Bounds().Size())
	assert.Less(t, len(b), 30<<10)
	t.Logf("%d lanes take %d bytes", len(lanes()), len(b))
	if out := os.Getenv("PLOTWARDEN_PICTURE"); out != "" {
		require.NoError(t, os.WriteFile(out, b, 0o600))
	}
	for _, l := range lanes() {
		c := rgb(alerts.LookOf(l.Readiness).Light)
		assert.Equal(t, c, color.RGBAModel.Convert(img.(*image.Paletted).Palette.Convert(c)), "%s has its own colour", l.Readiness)
	}
	es, _, err := Draw(axis(), lanes(), lang.New(garden.Spanish, garden.Metric))
	require.NoError(t, err)
	assert.NotEqual(t, b, es)
	many := append(append(lanes(), lanes()...), lanes()...)
	b, size, err = Draw(axis(), many, lang.English)
	require.NoError(t, err)
	assert.Equal(t, top+MaxRows*row+pad, size.Y)
	assert.Less(t, len(b), 30<<10, "the most rows that there are")
	none, _, err := Draw(axis(), nil, lang.English)
	require.NoError(t, err)
	assert.Empty(t, none)
}

// The bar stands over its days: it has the colour of the readiness from the early to the
// late date and none outside.
func TestTheBarStandsOverItsDays(t *testing.T) {
	for _, span := range [][2]int{{0, 0}, {0, 12}, {3, 3}, {5, 9}, {12, 12}, {2, 12}} {
		early, late := span[0], span[1]
		l := draw.Lane{Title: "x", Readiness: plan.Approaching, P10: from.AddDays(early), P50: from.AddDays(early), P90: from.AddDays(late)}
		b, _, err := Draw(axis(), []draw.Lane{l}, lang.English)
		require.NoError(t, err)
		img := decode(t, b)
		for day := range alerts.LaneDays {
			x := (at(axis(), from.AddDays(day)) + at(axis(), from.AddDays(day+1))) / 2
			assert.Equal(t, day >= early && day <= late, bluish(img.At(int(x*scale), (top+barY+barH/2)*scale-4)), "day %d of %d to %d", day, early, late)
		}
	}
}

func bluish(c color.Color) bool {
	r, _, b, _ := c.RGBA()
	return float64(b)-float64(r) > 0.1*math.MaxUint16
}

// Contrast of the words on their ground: 4.5 to 1 is what WCAG 2.2, 1.4.3 asks of
// text, 3 to 1 what 1.4.11 asks of marks.
func TestContrast(t *testing.T) {
	assert.GreaterOrEqual(t, contrast(ink, weekend), 4.5)
	assert.GreaterOrEqual(t, contrast(soft, weekend), 4.5)
	for r := plan.Present; r <= plan.Quiet; r++ {
		assert.GreaterOrEqual(t, contrast(rgb(alerts.LookOf(r).Light), weekend), 3.0, r)
	}
}

func contrast(a, b color.RGBA) float64 {
	l := func(c color.RGBA) float64 {
		lin := func(x uint8) float64 {
			s := float64(x) / 255
			if s <= 0.04045 {
				return s / 12.92
			}
			return math.Pow((s+0.055)/1.055, 2.4)
		}
		return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
	}
	x, y := l(a), l(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}
