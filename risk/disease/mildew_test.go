package disease

import (
	"math/bits"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The index of Gubler, Thomas et al. (APSnet 1999; westernfarmpress: confirmed):
// three consecutive days with 6 unbroken hours at 70-85 F start it, 20 each, else
// it falls back to 0; then +20 a warm day, -10 another, -10 a hot one, +10 one
// that is both, within 0 to 100.
var mildew = MildewIndex{Rise: 20, Fall: 10, StartDays: 3, Ceiling: 100, Unit: 10}

func TestMildewIndexDays(t *testing.T) {
	for _, c := range []struct {
		days string // w warm, c cool, h hot and not warm, b both
		want []float64
	}{
		{"wwww", []float64{20, 40, 60, 80}},
		{"wwcw", []float64{20, 40, 0, 20}},                                   // the start begins anew
		{"cccc", []float64{0, 0, 0, 0}},                                      // a cool spring stays at 0
		{"bbb", []float64{20, 40, 60}},                                       // in the start heat is not looked at
		{"wwwcch", []float64{20, 40, 60, 50, 40, 30}},                        // a hot day takes no more than 10
		{"wwwb", []float64{20, 40, 60, 70}},                                  // warm and hot: +10
		{"wwwwwwww", []float64{20, 40, 60, 80, 100, 100, 100, 100}},          // at most 100
		{"wwwcccccccw", []float64{20, 40, 60, 50, 40, 30, 20, 10, 0, 0, 20}}, // not below 0, and started once is started
	} {
		s := IndexStart()
		for i, d := range c.days {
			s = mildew.Step(s, flag(d == 'w' || d == 'b'), flag(d == 'h' || d == 'b'))
			low, high := mildew.Level(s)
			assert.Equal(t, c.want[i], low, "%s day %d", c.days, i+1)
			assert.Equal(t, low, high)
		}
	}
}

func flag(b bool) Tri {
	if b {
		return Yes
	}
	return No
}

// With unknown days the states are just those of all ways in which the days may
// have been.
func TestMildewIndexUnknownDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := []IndexStates{IndexStart()}
		s := IndexStart()
		for range rapid.IntRange(1, 12).Draw(t, "days") {
			warm, hot := rapid.SampledFrom([]Tri{No, Yes, Maybe}).Draw(t, "warm"), rapid.SampledFrom([]Tri{No, No, Yes, Maybe}).Draw(t, "hot")
			s = mildew.Step(s, warm, hot)
			seen := map[IndexStates]bool{}
			var next []IndexStates
			for _, a := range all {
				for _, w := range ways(warm) {
					for _, h := range ways(hot) {
						if n := mildew.Step(a, w, h); !seen[n] {
							seen[n] = true
							next = append(next, n)
						}
					}
				}
			}
			all = next
		}
		var union IndexStates
		for _, a := range all {
			if bits.OnesCount64(a.Started)+bits.OnesCount16(a.Starting) != 1 {
				t.Fatalf("known days lead to %+v, not to one state", a)
			}
			union.Started |= a.Started
			union.Starting |= a.Starting
		}
		if union != s {
			t.Fatalf("states %+v, all ways give %+v", s, union)
		}
	})
}

func ways(v Tri) []Tri {
	if v == Maybe {
		return []Tri{No, Yes}
	}
	return []Tri{v}
}
