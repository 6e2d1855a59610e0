package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// propagate returns mean and variance of a normal quantity, given that jointly
// normal values with mean 0 and covariance k lie each within its bounds. to is
// the quantity's covariance with the values, own its variance; its mean is 0.
//
// The bounds are no normal likelihoods, so that the answer is approximate:
// expectation propagation (Rasmussen & Williams 2006, Gaussian Processes for
// Machine Learning, algorithms 3.5 and 3.6, from memory) with the moments of the
// normal distribution cut at both ends. With narrow brackets it is the exact
// linear prediction; see TestPropagateAgainstIntegration for the rest.
func propagate(k *mat.SymDense, to *mat.VecDense, own float64, bounds []interval) (mean, variance float64) {
	n := len(bounds)
	tau, nu := make([]float64, n), make([]float64, n)
	sigma, mu := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	sigma.CopySym(k)
	const sweeps, damp, enough = 60, 0.7, 1e-8
	for range sweeps {
		change := 0.0
		for i := range n {
			s, m := sigma.At(i, i), mu.AtVec(i)
			cavity := 1/s - tau[i]
			if cavity <= 1e-9 {
				continue
			}
			cm, cs := (m/s-nu[i])/cavity, math.Sqrt(1/cavity)
			tm, tv := cut(cm, cs, bounds[i])
			dt := damp * (max(1e-9, 1/tv-cavity) - tau[i])
			dn := damp * (tm/tv - cm*cavity - nu[i])
			tau[i], nu[i] = tau[i]+dt, nu[i]+dn
			change = max(change, math.Abs(dt)*s, math.Abs(dn)*math.Sqrt(s))
		}
		solve(k, tau, nu, sigma, mu)
		if change < enough {
			break
		}
	}
	chol, root := factor(k, tau)
	// Mean: to'(nu - z), z = root B^-1 root K nu.
	var kn, z mat.VecDense
	kn.MulVec(k, mat.NewVecDense(n, nu))
	stretch(&kn, root)
	must(chol.SolveVecTo(&z, &kn))
	stretch(&z, root)
	for i := range n {
		mean += to.AtVec(i) * (nu[i] - z.AtVec(i))
	}
	var w, v mat.VecDense
	w.CloneFromVec(to)
	stretch(&w, root)
	must(chol.SolveVecTo(&v, &w))
	return mean, max(1e-12, own-mat.Dot(&w, &v))
}

// factor returns the Cholesky factor of B = I + root K root, root being the root
// of tau: its eigenvalues are at least 1, so that it always exists.
func factor(k *mat.SymDense, tau []float64) (*mat.Cholesky, []float64) {
	n := len(tau)
	root := make([]float64, n)
	for i, t := range tau {
		root[i] = math.Sqrt(t)
	}
	b := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v := root[i] * k.At(i, j) * root[j]
			if i == j {
				v++
			}
			b.SetSym(i, j, v)
		}
	}
	var c mat.Cholesky
	if !c.Factorize(b) {
		panic("learn: a matrix that has a factor by its making has none")
	}
	return &c, root
}

// solve writes the values' posterior covariance and mean.
func solve(k *mat.SymDense, tau, nu []float64, sigma *mat.SymDense, mu *mat.VecDense) {
	n := len(tau)
	c, root := factor(k, tau)
	var rk, x mat.Dense
	rk.CloneFrom(k)
	for i := range n {
		for j := range n {
			rk.Set(i, j, rk.At(i, j)*root[i])
		}
	}
	must(c.SolveTo(&x, &rk))
	var less mat.Dense
	less.Mul(rk.T(), &x)
	for i := range n {
		for j := i; j < n; j++ {
			sigma.SetSym(i, j, k.At(i, j)-(less.At(i, j)+less.At(j, i))/2)
		}
	}
	mu.MulVec(sigma, mat.NewVecDense(n, nu))
}

func stretch(v *mat.VecDense, by []float64) {
	for i, b := range by {
		v.SetVec(i, v.AtVec(i)*b)
	}
}

// must is for systems that are well conditioned by their making.
func must(err error) {
	if err != nil {
		panic("learn: " + err.Error())
	}
}

// cut returns mean and variance of a normal value that lies within bounds.
func cut(mean, sd float64, b interval) (m, v float64) {
	lo, hi := (b.low-mean)/sd, (b.high-mean)/sd
	z := between(lo, hi)
	if width := hi - lo; width < 1e-2 || z < 1e-12 {
		// So narrow that it is flat in there, or so far out that all of it sits at
		// the near end.
		near := min(max(mean, b.low), b.high)
		if width < 1e-2 {
			near = (b.low + b.high) / 2
		}
		return near, max(1e-10, sd*sd*min(1e-2, width*width/12))
	}
	a, c := density(lo), density(hi)
	shift := (a - c) / z
	tail := 0.0
	if !math.IsInf(lo, 0) {
		tail += lo * a
	}
	if !math.IsInf(hi, 0) {
		tail -= hi * c
	}
	return mean + sd*shift, max(1e-10, sd*sd*(1+tail/z-shift*shift))
}

func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }
