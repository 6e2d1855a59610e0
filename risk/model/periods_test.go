package model

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/disease"
)

const leafWet = "hours: {wetness: {method: humidity}}"

// scab is the revised table (MacHardy & Gadoury 1989, Stensvand et al. 1997,
// confirmed) with the West Virginia gap of 8 h.
func scab(t testing.TB, extra string) program {
	var rows []string
	for _, r := range cases(t, "scab_hours.csv") {
		c := func(f float64) int { return int((f-32)/1.8 + 0.5) }
		rows = append(rows, fmt.Sprintf("{from: %d, to: %d, hours: %g}", c(r["temp_lo_f"]), c(r["temp_hi_f"]), r["min_wet_hours"]))
	}
	return decode(t, "wet-period-table", "{"+leafWet+", gap: 8, temperature_unit: C, round_to: 1, between: interpolate, classes: [{event: infection, needs: ["+strings.Join(rows, ", ")+"]}], start: {kind: in ground, standing: common practice}"+extra+"}")
}

func TestScabTableThroughHours(t *testing.T) {
	p := scab(t, "")
	for _, r := range cases(t, "scab_hours.csv") {
		temp, need := (r["temp_lo_f"]-32)/1.8, int(r["min_wet_hours"])
		for n, want := range map[int]float64{need - 1: 0, need: 1, need + 30: 1} {
			tr := track(t, p, join(times(5, dry), times(n, hour{temp, 95, 0}), times(30, dry)))
			assert.Equal(t, want, tr.Points[len(tr.Points)-1].Total, "%g F, %d h", r["temp_lo_f"], n)
			if want == 1 {
				// The infection is dated on the day of the hour that was enough.
				day := firstDay.AddDays((5 + need - 1) / 24)
				assert.Equal(t, []risk.Event{{Kind: risk.Infection, Name: "infection", Date: day, Value: float64(need)}}, tr.Events, "%g F", r["temp_lo_f"])
			}
		}
	}
}

func TestScabGapAndNight(t *testing.T) {
	wet := hour{15, 95, 0} // needs 7 h
	for _, c := range []struct {
		name  string
		extra string
		hours []hour
		want  float64
	}{
		{"4 + 3 h over a gap of 7", "", join(times(8, dry), times(4, wet), times(7, dry), times(3, wet)), 1},
		{"4 + 3 h over a gap of 8", "", join(times(8, dry), times(4, wet), times(8, dry), times(3, wet)), 0},
		{"one long period infects once", "", times(60, wet), 1},
		{"two periods infect twice", "", join(times(10, wet), times(8, dry), times(10, wet)), 2},
		// From 20:00 to 13:00 there are 17 wet hours, but counted from 07:00 only 6.
		{"night rain, 6 h of day", ", night: {from: 19, to: 7}", join(times(20, dry), times(17, wet), times(20, dry)), 0},
		{"night rain, 7 h of day", ", night: {from: 19, to: 7}", join(times(20, dry), times(18, wet), times(20, dry)), 1},
		{"rain that began at 18:00 counts at once", ", night: {from: 19, to: 7}", join(times(18, dry), times(7, wet), times(20, dry)), 1},
	} {
		tr := track(t, scab(t, c.extra), c.hours)
		assert.Equal(t, c.want, tr.Points[len(tr.Points)-1].Total, c.name)
		assert.Len(t, tr.Events, int(c.want), c.name)
	}
}

// Rain wets whatever the humidity; an hour without a humidity or without its rain
// is unknown, and what it might have joined is in doubt.
func TestPeriodsWithUnknownHours(t *testing.T) {
	p := scab(t, "")
	wet := hour{15, 95, 0}
	rain := hour{15, 60, 1}
	tr := track(t, p, join(times(7, rain), times(20, dry)))
	assert.Equal(t, 1.0, tr.Points[0].Total)
	// 5 wet, 2 unknown, 2 wet hours: 7 if the two were dry (a short gap), 9 if wet.
	tr = track(t, p, join(times(5, wet), times(2, hour{15, nan, 0}), times(2, wet), times(30, dry)))
	assert.Equal(t, []float64{1, 0}, []float64{tr.Points[1].Total, tr.Points[1].Low})
	assert.GreaterOrEqual(t, tr.Points[1].High, 1.0)
	assert.Equal(t, 2, tr.Points[1].UnknownHours)
	// 8 h that are surely dry end the doubt.
	tr = track(t, p, join(times(1, hour{15, nan, 0}), times(23, dry), times(12, wet), times(12, dry)))
	assert.Equal(t, []float64{1, 1}, []float64{tr.Points[1].Value, tr.Points[1].Low - tr.Points[0].Low})
	assert.Equal(t, tr.Points[0].High, tr.Points[1].High-1)
	// A wet hour of unknown temperature may have changed the mean.
	tr = track(t, p, join(times(3, wet), times(1, hour{nan, 95, 0}), times(4, wet), times(16, dry)))
	assert.Equal(t, []float64{1, 0}, []float64{tr.Points[0].Total, tr.Points[0].Low})
}

// Mills & Laplante 1951 (from memory): light, moderate and heavy at 50 F after 14,
// 19 and 29 h. Each class is reached once a period.
func TestClassesOfSeverity(t *testing.T) {
	classes := map[string][]string{}
	for _, r := range cases(t, "mills_hours.csv") {
		for _, k := range []string{"light", "moderate", "heavy"} {
			if f, ok := r["temp_f"]; ok {
				classes[k] = append(classes[k], fmt.Sprintf("{from: %g, hours: %g}", f, r[k+"_h"]))
			}
		}
	}
	text := "{" + leafWet + ", gap: 6, temperature_unit: F, round_to: 1, between: interpolate, classes: ["
	for _, k := range []string{"light", "moderate", "heavy"} {
		text += "{event: " + k + ", needs: [" + strings.Join(classes[k], ", ") + "]}, "
	}
	p := decode(t, "wet-period-table", text+"]"+", start: {kind: in ground, standing: common practice}}")
	tr := track(t, p, join(times(30, hour{10, 95, 0}), times(20, dry)))
	assert.Equal(t, []string{"06-01 infection light", "06-01 infection moderate", "06-02 infection heavy"}, events(tr))
	assert.Equal(t, []float64{14, 19, 29}, []float64{tr.Events[0].Value, tr.Events[1].Value, tr.Events[2].Value})
	assert.Equal(t, []float64{2, 3, 3}, totals(tr))
	assert.Equal(t, "infection classes", p.Unit())
}

// Cohen 1977, Can. J. Bot. 55:1478-1487 (abstract, confirmed): cucurbit downy
// mildew needs 2 wet hours from 20 C, 6 from 10 C and 12 from 5 C; 25 C at most.
func TestCucurbitDownyMildewHours(t *testing.T) {
	p := decode(t, "wet-period-table", "{"+leafWet+", gap: 1, temperature_unit: C, between: longer, classes: [{event: infection, needs: [{from: 5, to: 9.99, hours: 12}, {from: 10, to: 19.99, hours: 6}, {from: 20, to: 25, hours: 2}]}], start: {kind: in ground, standing: common practice}}")
	for _, c := range []struct {
		temp float64
		need int
	}{{4.9, 0}, {5, 12}, {9.9, 12}, {10, 6}, {19.9, 6}, {20, 2}, {25, 2}, {25.1, 0}} {
		for n := 1; n < 16; n++ {
			tr := track(t, p, join(times(n, hour{c.temp, 95, 0}), times(24-n, dry)))
			want := 0.0
			if c.need > 0 && n >= c.need {
				want = 1
			}
			assert.Equal(t, want, tr.Points[0].Total, "%g C, %d h", c.temp, n)
		}
	}
}

// Lacy 1994 (confirmed): celery late blight after 12 unbroken wet hours, valid
// from 10 to 30 C.
func TestCeleryTwelveHours(t *testing.T) {
	p := decode(t, "wet-period-table", "{"+leafWet+", gap: 1, temperature_unit: C, between: interpolate, classes: [{event: infection, needs: [{from: 10, to: 30, hours: 12}]}], start: {kind: in ground, standing: common practice}}")
	wet := hour{18, 95, 0}
	for _, c := range []struct {
		hours []hour
		want  float64
	}{
		{times(12, wet), 1}, {times(11, wet), 0},
		{join(times(8, wet), times(1, dry), times(8, wet)), 0},
		{times(20, hour{9.9, 95, 0}), 0}, {times(20, hour{30.1, 95, 0}), 0},
		{join(times(18, dry), times(12, wet)), 1}, // over midnight
	} {
		tr := track(t, p, c.hours)
		assert.Equal(t, c.want, tr.Points[len(tr.Points)-1].Total)
	}
}

// Magarey, Sutton & Thayer 2005 with the row of Venturia inaequalis: 1, 20 and
// 35 C, 6 to 40.5 h, gap 24 h, dry hours counting below 95 %.
const genericScab = "{" + leafWet + ", gap: 24, gap_humidity_below: 95, temperature_min: 1, temperature_best: 20, temperature_max: 35, wet_min: 6, wet_max: 40.5, event: infection, start: {kind: in ground, standing: common practice}}"

func TestInfectionModelTraps(t *testing.T) {
	p := decode(t, "infection-model", genericScab)
	for _, c := range []struct {
		name  string
		hours []hour
		want  float64
	}{
		{"10 C, 10 h (needs 9.276)", join(times(10, hour{10, 95, 0}), times(20, dry)), 1},
		{"10 C, 9 h", join(times(9, hour{10, 95, 0}), times(20, dry)), 0},
		{"2 C, 41 h: the cap", join(times(41, hour{2, 95, 0}), times(20, dry)), 1},
		{"2 C, 40 h", join(times(40, hour{2, 95, 0}), times(20, dry)), 0},
		{"-5 C, 200 h: frost never infects", times(200, hour{-5, 95, 0}), 0},
		{"35 C, 200 h", times(200, hour{35, 95, 0}), 0},
		{"5 + 5 h over 23 dry hours", join(times(5, hour{10, 95, 0}), times(23, dry), times(5, hour{10, 95, 0})), 1},
		{"5 + 5 h over 24", join(times(5, hour{10, 95, 0}), times(24, dry), times(5, hour{10, 95, 0})), 0},
		// The temperature of the gap is not in the mean: 10 h at 10 C with a hot gap.
		{"hot gap", join(times(5, hour{10, 95, 0}), times(10, hour{34, 30, 0}), times(5, hour{10, 95, 0})), 1},
	} {
		tr := track(t, p, c.hours)
		assert.Equal(t, c.want, tr.Points[len(tr.Points)-1].Total, c.name)
	}
	// 30 hours that are dry by the limit of wetness but above 95 % are no gap.
	damp := strings.Replace(genericScab, "{method: humidity}", "{method: humidity, threshold: 98}", 1)
	damp2 := join(times(5, hour{10, 99, 0}), times(30, hour{10, 96, 0}), times(5, hour{10, 99, 0}))
	assert.Equal(t, 1.0, track(t, decode(t, "infection-model", damp), damp2).Points[1].Total)
	// Plasmopara viticola re-fitted without a longest need: 3.8 + 3.0 x 2 = 9.8 h.
	q := decode(t, "infection-model", "{"+leafWet+", gap: 6, temperature_min: 4, temperature_best: 21, temperature_max: 30.2, wet_min: 2, event: infection, start: {kind: in ground, standing: common practice}}")
	assert.Equal(t, 0.0, track(t, q, times(9, hour{4.5, 95, 0})).Points[0].Total)
	assert.Equal(t, 1.0, track(t, q, times(10, hour{4.5, 95, 0})).Points[0].Total)
}

// A period is scored when its end is known, by its hours and their mean.
func TestSurfaceOfWetPeriods(t *testing.T) {
	text := "{unit: share, " + leafWet + ", gap: 1, beta: {scale: 0.0001538, low: 8, high: 32, low_power: 2.4855647, high_power: 0.7091962, top: 0.64289, b: 21.26122, rate: 0.12435}, tested: {hours_from: 6, hours_to: 48, temperature_from: 8, temperature_to: 32}, event_at: 0.1, event: infection, start: {kind: in ground, standing: common practice}}"
	p := decode(t, "infection-surface", text)
	for _, r := range cases(t, "surfaces.csv") {
		n := int(r["wet_hours"])
		tr := track(t, p, join(times(3, dry), times(n, hour{r["temp_c"], 95, 0}), times(30, dry)))
		last := tr.Points[len(tr.Points)-1]
		assert.InDelta(t, r["xanthomonas_tomato_SE"], last.Total, 6e-6, "%v", r)
		end := tr.Points[(3+n)/24]
		assert.InDelta(t, last.Total, end.Value, 1e-12, "scored on the day of its first dry hour")
		assert.Equal(t, r["xanthomonas_tomato_SE"] >= 0.1, len(tr.Events) == 1, "%v", r)
	}
	at := func(n int, temp float64) float64 {
		tr := track(t, p, join(times(n, hour{temp, 95, 0}), times(10, dry)))
		return tr.Points[len(tr.Points)-1].Total
	}
	assert.Zero(t, at(5, 20), "shorter than tested")
	assert.Positive(t, at(6, 20))
	assert.Equal(t, at(48, 20), at(90, 20), "longer than tested")
	assert.Zero(t, at(24, 7.9))
	assert.Zero(t, track(t, p, times(20, hour{20, 95, 0})).Points[0].Total, "not over yet")
	// An unknown hour within the period: not surely scored, and more is possible.
	tr := track(t, p, join(times(10, hour{20, 95, 0}), times(1, unknown), times(10, hour{20, 95, 0}), times(27, dry)))
	last := tr.Points[1]
	assert.Zero(t, last.Low)
	assert.Positive(t, last.Total)
	assert.Greater(t, last.High, last.Total)
}

// A wet hour of unknown temperature counts its hour and is one that is missing.
func TestSurfaceWithUnknownTemperature(t *testing.T) {
	p := decode(t, "infection-surface", "{unit: share, hours: {humidity: 90}, gap: 1, beta: {scale: 0.0001538, low: 8, high: 32, low_power: 2.4855647, high_power: 0.7091962, top: 0.64289, b: 21.26122, rate: 0.12435}, tested: {hours_from: 6, hours_to: 48, temperature_from: 8, temperature_to: 32}, start: {kind: in ground, standing: common practice}}")
	wet := hour{20, 95, 0}
	tr := track(t, p, join(times(4, wet), times(2, hour{nan, 95, 0}), times(4, wet), times(14, dry)))
	pt := tr.Points[0]
	assert.Equal(t, 2, pt.UnknownHours)
	assert.Zero(t, pt.Low)
	assert.InDelta(t, tomatoSpot(20, 10), pt.Total, 1e-12)
	assert.Greater(t, pt.High, pt.Total)
}

func tomatoSpot(temp, wet float64) float64 {
	s := disease.BetaSurface{Scale: 0.0001538, Low: 8, High: 32, LowPower: 2.4855647, HighPower: 0.7091962, Top: 0.64289, B: 21.26122, Rate: 0.12435}
	return s.At(temp, wet)
}

// The stretches of equal hours give what going hour by hour gives.
func TestStretchesEqualHours(t *testing.T) {
	night := &Night{From: 20, To: 6}
	p := decode(t, "wet-period-table", "{hours: {humidity: 80}, gap: 3, temperature_unit: C, between: interpolate, classes: [{event: light, needs: [{from: 5, hours: 6}, {from: 25, hours: 2}]}, {event: heavy, needs: [{from: 5, hours: 9}, {from: 25, hours: 5}]}], start: {kind: in ground, standing: common practice}}").(*WetPeriodTable)
	rapid.Check(t, func(t *rapid.T) {
		s := weatherWithoutHoles(t)
		r := *p
		r.Gap = rapid.IntRange(1, 6).Draw(t, "gap")
		r.Night = rapid.SampledFrom([]*Night{nil, night}).Draw(t, "night")
		r.GapHumidity = rapid.SampledFrom([]float64{0, 70}).Draw(t, "gap humidity")
		first := s.Start()
		tr, err := r.Run(&Input{Weather: s, Start: dateIn(first)})
		require.NoError(t, err)
		var want []string
		var w disease.Period
		for i := range s.Len() {
			temp, rh := s.Value(0, i), s.Value(1, i)
			leaf := disease.LeafDry
			switch {
			case rh >= 80:
				leaf = disease.LeafWet
			case r.GapHumidity > 0 && rh >= r.GapHumidity:
				leaf = disease.LeafDamp
			}
			at := s.Time(i).Hour()
			w.Hour(leaf, temp, r.Gap, r.Night != nil && (at >= 20 || at < 6))
			if leaf != disease.LeafWet || w.Known == 0 {
				continue
			}
			for class, n := range r.tables {
				if bit := uint8(1) << class; w.Reached&bit == 0 && float64(w.Wet) >= n.At(w.Mean()) {
					w.Reached |= bit
					want = append(want, s.Time(i).Format("01-02")+" infection "+r.Classes[class].Event)
				}
			}
		}
		require.Equal(t, append([]string{}, want...), events(tr))
	})
}

func dateIn(t time.Time) civilDate { return civil.Of(t, time.UTC) }
