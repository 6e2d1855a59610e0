package learn

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestNoRuleIsWithinATenthWithOneSeason computes what no rule can do better. One
// find, so many days off the published date, is normal about the place's bias; the
// next one too. A prior over places gives every rule its mean ratio of miss to
// that of the better of published date (0) and find; the rule that is best on
// average under the prior is at some place at least as bad as its mean. Rules move
// the published date toward the find by a share of 0 to 1.
func TestNoRuleIsWithinATenthWithOneSeason(t *testing.T) {
	type place struct{ bias, sd, weight float64 }
	for _, c := range []struct {
		name  string
		prior []place
		least float64
	}{
		{"the spread from year to year is known", []place{{-4, 1, .033}, {-2.5, 1, .052}, {-2, 1, .109}, {-.3, 1, .037}, {0, 1, .53}, {.3, 1, .037}, {2, 1, .109}, {2.5, 1, .052}, {4, 1, .033}}, 1.095},
		{"it lies between 3 and 20 days", []place{{-20, 3, .032}, {-15, 3, .054}, {15, 3, .054}, {20, 3, .032}, {-3, 10, .034}, {0, 10, .712}, {3, 10, .034}, {0, 15, .033}}, 1.19},
	} {
		miss := func(mean, variance float64) float64 { // E|N(mean, variance)|
			s := math.Sqrt(variance)
			return s*math.Sqrt(2/math.Pi)*math.Exp(-mean*mean/2/variance) + mean*math.Erf(mean/s/math.Sqrt2)
		}
		all, sum := 0.0, 0.0
		for _, p := range c.prior {
			all += p.weight
		}
		const step = 0.02
		scale := c.prior[0].sd
		for x := -70 * scale; x < 70*scale; x += 10 * step * scale {
			best := math.Inf(1)
			for share := 0.0; share <= 1; share += step {
				mean := 0.0
				for _, p := range c.prior {
					z := (x - p.bias) / p.sd
					better := min(miss(p.bias, p.sd*p.sd), miss(0, 2*p.sd*p.sd))
					mean += p.weight / all * math.Exp(-z*z/2) / p.sd / math.Sqrt(2*math.Pi) * miss(p.bias-share*x, p.sd*p.sd) / better
				}
				best = min(best, mean)
			}
			sum += best * 10 * step * scale
		}
		t.Logf("%s: some place at least %.3f times the better part", c.name, sum)
		assert.Greater(t, sum, c.least)
	}
}
