package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// The prediction interval of a normal sample is mean +- t SD sqrt(1 + 1/n), in
// every textbook. With 60 exact values the expected spread says little any more
// and the interval has to be that one.
func TestIntervalAgainstStudent(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, sd := range []float64{0.10, 0.15, 0.25} {
		x := make([]float64, 60)
		g := newGrid(-1, 1, YearCV, flat)
		sum := make([]float64, len(g.prior))
		for i := range x {
			x[i] = sd * r.NormFloat64()
			for k, l := range g.likelihood(interval{x[i] - 0.001, x[i] + 0.001}) {
				sum[k] += l
			}
		}
		mean, s := stat.MeanStdDev(x, nil)
		half := distuv.StudentsT{Sigma: 1, Nu: 59}.Quantile(0.9) * s * math.Sqrt(1+1.0/60)
		b := g.after(sum)
		none := math.Inf(-1)
		assert.InDelta(t, mean, b.quantile(0.5, none), 0.01)
		assert.InEpsilon(t, 2*half, b.quantile(0.9, none)-b.quantile(0.1, none), 0.08, "spread %g", sd)
	}
}

// The grid against plain integration on a fine one, for three seasons of which
// one is censored.
func TestBeliefAgainstIntegration(t *testing.T) {
	seen := []interval{{-0.05, 0.10}, {0.08, 0.15}, {0.30, math.Inf(1)}}
	p := placePrior{0, PlaceCV}
	g := newGrid(-1.2, 1, YearCV, p.log)
	sum := make([]float64, len(g.prior))
	for _, v := range seen {
		for k, l := range g.likelihood(v) {
			sum[k] += l
		}
	}
	b := g.after(sum)
	for _, x := range []float64{-0.1, 0.1, 0.2, 0.4} {
		total, below := 0.0, 0.0
		for _, s := range spreads {
			z := math.Log(s) / spreadLog
			for m := -1.2; m < 1; m += 0.001 {
				w := math.Exp(p.log(m) - z*z/2)
				for _, v := range seen {
					n := distuv.Normal{Mu: m, Sigma: s * YearCV}
					high := 1.0
					if !math.IsInf(v.high, 1) {
						high = n.CDF(v.high)
					}
					w *= high - n.CDF(v.low)
				}
				total += w
				below += w * distuv.Normal{Mu: m, Sigma: s * YearCV}.CDF(x)
			}
		}
		assert.InDelta(t, below/total, b.cdf(x), 0.004, "%g", x)
	}
}

func TestQuantileAboveWhatHasPassed(t *testing.T) {
	b := normal(0, 1)
	n := distuv.UnitNormal
	for _, q := range []float64{0.1, 0.5, 0.9} {
		assert.InDelta(t, n.Quantile(q), b.quantile(q, math.Inf(-1)), 0.01)
		assert.InDelta(t, n.Quantile(n.CDF(1)+q*(1-n.CDF(1))), b.quantile(q, 1), 0.02)
	}
	assert.Equal(t, 9.0, b.quantile(0.5, 9), "beyond all that was thought possible: any day")
	qs := b.quantiles(25, math.Inf(-1))
	assert.InDelta(t, 0, stat.Mean(qs, nil), 0.01)
	assert.IsIncreasing(t, qs)
}

func TestBetweenKeepsItsDigits(t *testing.T) {
	// Upper tails of the normal distribution: Abramowitz & Stegun 1964, table 26.2,
	// from memory: Q(5) = 2.8665e-7, Q(10) = 7.6199e-24.
	assert.InEpsilon(t, 2.8665157e-7, between(5, math.Inf(1)), 1e-6)
	assert.InEpsilon(t, 7.6198530e-24, between(10, math.Inf(1)), 1e-6)
	assert.InEpsilon(t, 7.6198530e-24, between(math.Inf(-1), -10), 1e-6)
	assert.InDelta(t, 0.6826895, between(-1, 1), 1e-6)
}

// One exact value: the linear prediction is covariance/variance times it.
func TestPropagateIsExactForNarrowBrackets(t *testing.T) {
	k := mat.NewSymDense(1, []float64{4})
	m, v := propagate(k, mat.NewVecDense(1, []float64{3}), 5, []interval{{1.999, 2.001}})
	assert.InDelta(t, 3.0/4*2, m, 1e-4)
	assert.InDelta(t, 5-9.0/4, v, 1e-4)
}

// Brackets and censored values against drawing from the joint distribution and
// keeping what fits the bounds.
func TestPropagateAgainstIntegration(t *testing.T) {
	k := mat.NewSymDense(3, []float64{1.5, 1, 0.5, 1, 1.5, 0.5, 0.5, 0.5, 1.2})
	to := []float64{1, 1, 0.5}
	const own = 1.0
	bounds := []interval{{-0.3, 0.6}, {0.8, math.Inf(1)}, {0.2, 1.5}}
	m, v := propagate(k, mat.NewVecDense(3, to), own, bounds)

	all := mat.NewSymDense(4, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			all.SetSym(i, j, k.At(i, j))
		}
		all.SetSym(i, 3, to[i])
	}
	all.SetSym(3, 3, own)
	all.SetSym(3, 3, own+1e-9)
	var c mat.Cholesky
	assert.True(t, c.Factorize(all))
	var l mat.TriDense
	c.LTo(&l)
	r := rand.New(rand.NewPCG(9, 9))
	sum, square, n := 0.0, 0.0, 0.0
	for range 2_000_000 {
		var z, x [4]float64
		ok := true
		for i := range 4 {
			z[i] = r.NormFloat64()
			for j := range i + 1 {
				x[i] += l.At(i, j) * z[j]
			}
			if i < 3 && (x[i] <= bounds[i].low || x[i] > bounds[i].high) {
				ok = false
				break
			}
		}
		if ok {
			sum, square, n = sum+x[3], square+x[3]*x[3], n+1
		}
	}
	mean := sum / n
	assert.InDelta(t, mean, m, 0.02)
	assert.InEpsilon(t, square/n-mean*mean, v, 0.05)
}
