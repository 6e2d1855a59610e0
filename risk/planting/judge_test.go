package planting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

var (
	nan = math.NaN()
	may = civil.New(2026, 5, 1)
)

func soilDays(f ...float64) []weather.Day {
	out := make([]weather.Day, len(f))
	for i, v := range f {
		out[i] = weather.Day{Date: may.AddDays(i), Soil: degreeday.FtoC(v), Min: nan, Max: nan}
	}
	return out
}

func TestJudgeOnBothSidesOfTheFigure(t *testing.T) {
	f := Figure{Measure: Soil, F: 60, Days: 3}
	days := soilDays(61, 59.9, 60, 60, 60, nan, 61, 61, 59, nan)
	for i, want := range []State{Unknown, NotYet, NotYet, NotYet, Met, Unknown, Unknown, Unknown, NotYet, NotYet} {
		assert.Equal(t, want, f.Judge(days, may.AddDays(i)).State, "day %d", i)
	}
	v := f.Judge(days, may+4)
	assert.Equal(t, 3, v.Running)
	assert.InDelta(t, degreeday.FtoC(60), v.Value, 1e-9)
	assert.Equal(t, Unknown, f.Judge(days, may+40).State)
	assert.Equal(t, Unknown, f.Judge(nil, may).State)
}

func TestFirst(t *testing.T) {
	f := Figure{Measure: Soil, F: 60, Days: 3}
	days := soilDays(61, 59.9, 60, 60, 60, 60, 40, 60, 60, 60)
	for from, want := range map[int]int{-5: 4, 0: 4, 4: 4, 5: 5, 6: 9} {
		got, ok := f.First(days, may.AddDays(from))
		assert.True(t, ok)
		assert.Equal(t, may.AddDays(want), got, "from %d", from)
	}
	_, ok := f.First(days, may.AddDays(10))
	assert.False(t, ok)
	_, ok = f.First(nil, may)
	assert.False(t, ok)
}

func TestFirstIsTheFirstMetDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.SampledFrom([]float64{55, 60, 65, nan}), 1, 30).Draw(t, "soil")
		days := soilDays(values...)
		f := Figure{Measure: Soil, F: 60, Days: rapid.IntRange(1, 5).Draw(t, "days")}
		from := may.AddDays(rapid.IntRange(-3, 30).Draw(t, "from"))
		want := civil.Date(0)
		for d := from; d <= days[len(days)-1].Date; d++ {
			if f.Judge(days, d).State == Met {
				want = d
				break
			}
		}
		got, ok := f.First(days, from)
		if ok != (want != 0) || got != want {
			t.Fatalf("first %s %v, want %s", got, ok, want)
		}
	})
}

func TestReportShowsTheDisagreement(t *testing.T) {
	days := soilDays(57, 57, 57, 57, 57)
	for i := range days {
		days[i].Min, days[i].Max = 11, 24
	}
	r, err := Check("tomato", PlantOut, days, may+4, Own("tomato", PlantOut, Soil, 12))
	require.NoError(t, err)
	states := map[float64]State{}
	for _, v := range r.Verdicts {
		if v.Figure.Measure == Soil {
			states[math.Round(v.Figure.F*10)/10] = v.State
		}
	}
	assert.Equal(t, map[float64]State{53.6: Met, 55: Met, 60: NotYet}, states)
	low, high, n := r.Spread(Soil)
	assert.InDelta(t, 53.6, low, 1e-9)
	assert.Equal(t, 60.0, high)
	assert.Equal(t, 4, n)
	assert.Equal(t, len(r.Verdicts), r.Met+r.NotYet+r.Unknown)
	assert.Zero(t, r.Unknown)
	assert.Equal(t, 3, r.Met, "own soil figure, Kansas soil figure, nights of 50 F")

	r, err = Check("tomato", PlantOut, nil, may)
	require.NoError(t, err)
	assert.Equal(t, len(r.Verdicts), r.Unknown, "without weather nothing is ready and nothing is too cold")
	_, _, n = r.Spread(DayMean)
	assert.Zero(t, n)
}

func TestMeasures(t *testing.T) {
	d := weather.Day{Min: 10, Max: 30, Soil: 15}
	for m, want := range map[Measure]float64{Soil: 15, Night: 10, DayMean: 20, DayHigh: 30} {
		assert.Equal(t, want, m.of(&d), m)
	}
}
