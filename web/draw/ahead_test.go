package draw

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestAhead(t *testing.T) {
	a := axis(t, 10)
	var hours []Hour
	for i := range 240 {
		h := Hour{At: a.From.Start(a.Loc).Add(time.Duration(i) * time.Hour), Temp: 15 + 8*math.Sin(float64(i)/4), Known: true}
		h.Wet, h.Work = i%24 < 6, i%24 > 8 && i%24 < 12
		if i > 50 && i < 56 {
			h.Rain = float64(i - 50)
		}
		if i > 200 {
			h.Temp, h.Rain, h.Known, h.Work = math.NaN(), math.NaN(), false, false
		}
		hours = append(hours, h)
	}
	x := Ahead{ID: "a", Title: "The coming <days>", Desc: `rain "soon"`, Hours: hours, High: "23 °C", Low: "7 °C", Most: "5 mm"}
	golden(t, "ahead", string(DrawAhead(a, x)))
	golden(t, "ahead-labels", string(AheadLabels(x, "air", "rain", "wet leaf", "work")))
}

// A drizzle stays low: it does not fill the band because nothing more falls.
func TestAheadDrizzle(t *testing.T) {
	a := axis(t, 10)
	out := string(DrawAhead(a, Ahead{ID: "a", Hours: []Hour{{At: a.From.Start(a.Loc), Temp: 10, Rain: 0.2, Known: true}}}))
	assert.Contains(t, out, `class="rain"`)
	assert.Contains(t, out, `height="2"`)
	assert.NotContains(t, out, "NaN")
}

// The hours of a day on which clocks change fill it exactly.
func TestHourOnClockChange(t *testing.T) {
	loc := newYork(t)
	for _, d := range []Axis{{From: day(3, 8), Days: 1, Loc: loc}, {From: day(11, 1), Days: 1, Loc: loc}} {
		from, to := d.From.Start(loc), d.From.AddDays(1).Start(loc)
		assert.NotEqual(t, 24.0, to.Sub(from).Hours())
		assert.InDelta(t, 0, d.hourOn(from), 1e-9)
		assert.InDelta(t, 50, d.hourOn(from.Add(to.Sub(from)/2)), 1e-9)
		assert.Greater(t, d.hourOn(to.Add(-time.Hour)), 95.0)
	}
}

func TestChances(t *testing.T) {
	a := axis(t, 10)
	golden(t, "chances", string(DrawChances(a, Chances{ID: "c", Title: "Late blight", Desc: "two", Parts: []ChancePart{
		{From: day(6, 8), To: day(6, 11), Chance: 0.3, Label: "30 %"}, {From: day(6, 15), To: day(6, 30), Chance: 1, Label: "100 %"}, {From: day(7, 5), To: day(7, 6), Chance: 0.5, Label: "50 %"},
	}})))
	blind := string(DrawChances(a, Chances{ID: "c", Unknown: true}))
	assert.Equal(t, 1, strings.Count(blind, "#hatch"))
}
