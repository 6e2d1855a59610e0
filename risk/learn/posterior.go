package learn

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/floats"
)

// A value of the next season is normal about a mean that belongs to the place,
// with a spread from year to year. Neither is known: a grid of means and spreads
// holds how likely each pair is after the seasons seen. What is said of the next
// season is the mixture of all pairs, so that few seasons give a wide interval.
type grid struct {
	mean, sd []float64   // of each cell
	prior    []float64   // log, up to a constant
	x        []float64   // values at which a belief is tabulated
	below    [][]float64 // for each x, the probability of at most x in each cell
}

// spreads are the grid's year-to-year spreads, as multiples of the expected one.
// Beforehand they are normal in the logarithm with the standard deviation
// spreadLog (derived: the expected spread is right within a factor of 2 two times
// in three; pests that keep to a total and pests that hardly do are both known).
var spreads = []float64{0.3, 0.45, 0.65, 0.95, 1.4, 2, 2.9, 4.2}

const (
	spreadLog = 0.7
	meanSteps = 80
)

// newGrid spans means from low to high. meanPrior is the logarithm of the prior
// of a mean; spread the expected year-to-year standard deviation.
func newGrid(low, high, spread float64, meanPrior func(float64) float64) *grid {
	// A step is at most twice the smallest spread, within reason.
	steps := int(min(4*meanSteps, max(meanSteps, (high-low)/(2*spreads[0]*spread))))
	step := (high - low) / float64(steps)
	edge := int(math.Ceil(2 * spreads[len(spreads)-1] * spread / step))
	edge = min(edge, 4*meanSteps)
	g := &grid{}
	// Values stand as far apart as means, so that the probability below a value
	// depends on how many steps it is from the mean alone.
	for i := -edge; i < steps+edge; i++ {
		g.x = append(g.x, low+step*(float64(i)+0.5))
		g.below = append(g.below, make([]float64, 0, steps*len(spreads)))
	}
	for _, s := range spreads {
		z := math.Log(s) / spreadLog
		apart := make([]float64, 2*(steps+edge)) // [k]: value k - steps - edge steps above the mean
		for k := range apart {
			apart[k] = between(math.Inf(-1), float64(k-steps-edge)*step/(s*spread))
		}
		for i := range steps {
			m := low + step*(float64(i)+0.5)
			g.mean = append(g.mean, m)
			g.sd = append(g.sd, s*spread)
			g.prior = append(g.prior, meanPrior(m)-z*z/2)
			for j := range g.x {
				g.below[j] = append(g.below[j], apart[j-edge-i+steps+edge])
			}
		}
	}
	return g
}

// interval is what one season says of the value: above low and at most high.
type interval struct{ low, high float64 }

// likelihood returns the log likelihood of an interval in every cell.
func (g *grid) likelihood(v interval) []float64 {
	out := make([]float64, len(g.mean))
	for i := range out {
		out[i] = math.Log(max(1e-300, between((v.low-g.mean[i])/g.sd[i], (v.high-g.mean[i])/g.sd[i])))
	}
	return out
}

// between is the probability that a standard normal lies from a to b, without
// the loss of digits of a difference of two numbers near 1.
func between(a, b float64) float64 {
	if a > 0 {
		a, b = -b, -a
	}
	return 0.5 * (math.Erfc(-b/math.Sqrt2) - math.Erfc(-a/math.Sqrt2))
}

// belief is what is believed of the next season's value: a distribution, as a
// table of the probability f of at most x.
type belief struct{ x, f []float64 }

// after returns the belief after seasons, given as their likelihoods summed.
func (g *grid) after(sum []float64) belief {
	w := make([]float64, len(g.prior))
	floats.AddTo(w, g.prior, sum)
	floats.AddConst(-floats.Max(w), w)
	for i := range w {
		w[i] = math.Exp(w[i])
	}
	floats.Scale(1/floats.Sum(w), w)
	b := belief{g.x, make([]float64, len(g.x))}
	for i := range b.f {
		b.f[i] = floats.Dot(w, g.below[i])
	}
	return b
}

// normal is the belief in one normal distribution.
func normal(mean, sd float64) belief {
	const steps, reach = 200, 4
	b := belief{floats.Span(make([]float64, steps), mean-reach*sd, mean+reach*sd), make([]float64, steps)}
	for i, x := range b.x {
		b.f[i] = between(math.Inf(-1), (x-mean)/sd)
	}
	return b
}

// cdf returns the probability of at most x.
func (b *belief) cdf(x float64) float64 {
	i := sort.SearchFloat64s(b.x, x)
	switch {
	case i == 0:
		return 0
	case i == len(b.x):
		return 1
	}
	return b.f[i-1] + (b.f[i]-b.f[i-1])*(x-b.x[i-1])/(b.x[i]-b.x[i-1])
}

// quantile returns the value that is not exceeded with probability q, given that
// it is above above (-Inf: no condition).
func (b *belief) quantile(q, above float64) float64 {
	if below := b.cdf(above); below > 0 {
		q = below + q*(1-below)
	}
	i := sort.SearchFloat64s(b.f, q)
	switch {
	case i == 0:
		return max(above, b.x[0])
	case i == len(b.f):
		return max(above, b.x[i-1])
	}
	v := b.x[i]
	if step := b.f[i] - b.f[i-1]; step > 0 {
		v = b.x[i-1] + (b.x[i]-b.x[i-1])*(q-b.f[i-1])/step
	}
	return max(above, v)
}

// quantiles returns the middles of n equally likely parts, above a value.
func (b *belief) quantiles(n int, above float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = b.quantile((float64(i)+0.5)/float64(n), above)
	}
	return out
}
