package outlook

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/risk"
)

var may1 = civil.New(2026, 5, 1)

func track(values ...float64) *risk.Track {
	t := &risk.Track{Start: may1}
	total := 0.0
	for i, v := range values {
		total += v
		t.Points = append(t.Points, risk.Point{Date: may1.AddDays(i), Value: v, Total: total, Low: total, High: total})
	}
	return t
}

func steady(v float64, n int) Member {
	m := Member{Values: make([]float64, n)}
	for i := range m.Values {
		m.Values[i] = v
	}
	return m
}

func TestComputeQuantilesOfDates(t *testing.T) {
	tr := track(10, 10) // 20 on 2 May
	var ms []Member
	for _, v := range []float64{80, 40, 20, 16, 10, 8, 5, 4, 2, 1} { // days to gain 80: 1 2 4 5 8 10 16 20 40 80
		ms = append(ms, steady(v, 100))
	}
	o := Compute(Question{Event: "adults", Today: may1.AddDays(1), Threshold: 100}, tr, ms)
	assert.Equal(t, "2026-05-03", o.P10.String())
	assert.Equal(t, "2026-05-10", o.P50.String())
	assert.Equal(t, "2026-06-11", o.P90.String())
	assert.Equal(t, [4]float64{0.4, 0.6, 0.8, 0.8}, o.Chance)
	assert.False(t, o.Rough)
}

func TestComputeInsideTheTrack(t *testing.T) {
	tr := track(10, 10, 10, 10)
	past := Compute(Question{Today: may1.AddDays(3), Threshold: 20}, tr, nil)
	assert.Equal(t, may1.AddDays(1), past.Reached)
	ahead := Compute(Question{Today: may1, Threshold: 40}, tr, nil)
	assert.True(t, ahead.Reached.IsZero())
	assert.Equal(t, may1.AddDays(3), ahead.P50)
	assert.Equal(t, [4]float64{1, 1, 1, 1}, ahead.Chance)
}

func TestComputeForgetsWhatASprayReset(t *testing.T) {
	tr := track(20, 20, 0, 5)
	tr.Points[2].Total, tr.Points[3].Total = 0, 5
	tr.Events = []risk.Event{{Kind: risk.Crossing, Date: may1}, {Kind: risk.Reset, Date: may1.AddDays(2)}}
	o := Compute(Question{Today: may1.AddDays(3), Threshold: 20}, tr, []Member{steady(5, 30)})
	assert.True(t, o.Reached.IsZero())
	assert.Equal(t, may1.AddDays(6), o.P50)
}

func TestComputeBeyondTheMembersHasNoDate(t *testing.T) {
	o := Compute(Question{Today: may1, Threshold: 1000}, track(1), []Member{steady(1, 10), steady(math.NaN(), 10)})
	assert.True(t, o.P10.IsZero())
	assert.True(t, o.Rough)
	_, ok := o.Lead()
	assert.False(t, ok)
}

func TestInfectionOutlook(t *testing.T) {
	tr := track(0, 0)
	a, b := Member{Infections: []bool{false, true}}, Member{Infections: make([]bool, 40)}
	o := Compute(Question{Today: may1, Infection: true}, tr, []Member{a, b})
	assert.Equal(t, may1.AddDays(3), o.P50)
	assert.Equal(t, 0.5, o.Chance[3])
	tr.Events = []risk.Event{{Kind: risk.Infection, Date: may1.AddDays(1), Forecast: true}}
	o = Compute(Question{Today: may1, Infection: true}, tr, []Member{a, b})
	assert.Equal(t, may1.AddDays(1), o.P10)
	assert.Equal(t, 1.0, o.Chance[0])
}

func TestYearsContinueFromTheSameDay(t *testing.T) {
	past := &risk.Track{Start: civil.New(2023, 1, 1)}
	for d := past.Start; d < civil.New(2026, 5, 3); d++ {
		_, m, day := d.YMD()
		past.Points = append(past.Points, risk.Point{Date: d, Value: float64(int(m)*100 + day)})
	}
	ms := Years(track(1, 1), []*risk.Track{past})
	require.Len(t, ms, 3) // 2023, 2024, 2025; the current season is not its own past
	for _, m := range ms {
		assert.Equal(t, 503.0, m.Values[0])
		assert.LessOrEqual(t, len(m.Values), Horizon)
	}
	assert.Equal(t, "2023", ms[0].Name)
}

func TestPaceBracketsTheMean(t *testing.T) {
	tr := track(10, 10, 10)
	o := Compute(Question{Today: may1.AddDays(2), Threshold: 130}, tr, Pace(tr))
	assert.Equal(t, may1.AddDays(12), o.P50)
	assert.Less(t, o.P10, o.P50)
	assert.Greater(t, o.P90, o.P50)
}

func TestQuantilesAreOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := track(rapid.SliceOfN(rapid.Float64Range(0, 30), 1, 30).Draw(t, "track")...)
		var ms []Member
		for range rapid.IntRange(1, 20).Draw(t, "n") {
			ms = append(ms, Member{Values: rapid.SliceOfN(rapid.Float64Range(0, 30), 0, 60).Draw(t, "values")})
		}
		o := Compute(Question{Today: may1.AddDays(len(tr.Points) - 1), Threshold: rapid.Float64Range(1, 800).Draw(t, "threshold")}, tr, ms)
		after := func(a, b civil.Date) bool { return b.IsZero() || (!a.IsZero() && a <= b) }
		if !after(o.P10, o.P50) || !after(o.P50, o.P90) {
			t.Fatalf("%v %v %v", o.P10, o.P50, o.P90)
		}
		for i := 1; i < len(o.Chance); i++ {
			if o.Chance[i] < o.Chance[i-1] {
				t.Fatalf("chances fall: %v", o.Chance)
			}
		}
	})
}
