package season

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// poissonSize is the size from which a negative binomial is taken for a Poisson:
// at a mean of 50 the spread differs by less than 0.03 percent.
const poissonSize = 1e5

// sample is what a regression of counts is fitted to: log(mean) = offset + x·theta.
type sample struct {
	x      [][]float64
	offset []float64 // nil is 0 throughout
	y      []float64
}

// prior pulls theta towards centre with a precision (1/sd²) each, and the logarithm
// of the size towards ln 10 when shrink is set. No pull is maximum likelihood.
type prior struct {
	centre, precision []float64
	shrink            bool
}

// fitted is what a regression found.
type fitted struct {
	theta   []float64
	size    float64       // poissonSize or more is a Poisson
	hessian *mat.SymDense // of the penalised negative log likelihood in theta
}

var errNoFit = errors.New("the regression found no end: got columns that say the same, or counts that no curve follows")

// fit finds theta and the size in turn: a Newton step limited to 1 in each, the size
// on a grid of 40, refined between its points, every fourth step.
//
// Source of the weights and the gradient: generalized linear models with a
// logarithmic link; checked against the coefficients in testdata.
func fit(s sample, p prior, size float64, findSize bool) (fitted, error) {
	f := fitted{theta: append([]float64(nil), p.centre...), size: size}
	mu := make([]float64, len(s.y))
	tails := tailCounts(s.y)
	for step := range 200 {
		s.means(f.theta, mu)
		if findSize && step%4 == 3 {
			f.size = bestSize(s.y, mu, tails, p.shrink)
		}
		moved, err := f.newton(s, p, mu)
		if err != nil {
			return f, err
		}
		if moved < 1e-9 && (!findSize || step > 8) {
			s.means(f.theta, mu)
			f.hessianOf(s, p, mu)
			return f, nil
		}
	}
	return f, errNoFit
}

// means fills mu; a mean is held within e^±30 so that a wild step overflows nothing.
func (s sample) means(theta, mu []float64) {
	for i, row := range s.x {
		eta := 0.0
		if s.offset != nil {
			eta = s.offset[i]
		}
		for k, v := range row {
			eta += v * theta[k]
		}
		mu[i] = math.Exp(min(30, max(-30, eta)))
	}
}

func (f *fitted) hessianOf(s sample, p prior, mu []float64) {
	n := len(f.theta)
	h := make([]float64, n*n)
	for i, row := range s.x {
		w := mu[i] / (1 + mu[i]/f.size)
		for a := range n {
			wa := w * row[a]
			for b := a; b < n; b++ {
				h[a*n+b] += wa * row[b]
			}
		}
	}
	for a := range n {
		h[a*n+a] += p.precision[a]
	}
	f.hessian = mat.NewSymDense(n, h)
}

// newton moves theta once and returns the largest move.
func (f *fitted) newton(s sample, p prior, mu []float64) (float64, error) {
	n := len(f.theta)
	f.hessianOf(s, p, mu)
	g := mat.NewVecDense(n, nil)
	for a := range n {
		g.SetVec(a, -p.precision[a]*(f.theta[a]-p.centre[a]))
	}
	for i, row := range s.x {
		d := (s.y[i] - mu[i]) / (1 + mu[i]/f.size)
		for a := range n {
			g.SetVec(a, g.AtVec(a)+d*row[a])
		}
	}
	var chol mat.Cholesky
	var move mat.VecDense
	if !chol.Factorize(f.hessian) || chol.SolveVecTo(&move, g) != nil {
		return 0, errNoFit
	}
	most := 0.0
	for a := range n {
		most = max(most, math.Abs(move.AtVec(a)))
	}
	scale := 1.0
	if most > 1 {
		scale = 1 / most
	}
	for a := range n {
		f.theta[a] += scale * move.AtVec(a)
	}
	return most, nil
}

// tailCounts tells for each j how many counts are above j: log gamma(y+r) - log
// gamma(r) is then a short sum of logarithms.
func tailCounts(y []float64) []float64 {
	most := 0.0
	for _, v := range y {
		most = max(most, v)
	}
	tails := make([]float64, int(most))
	for _, v := range y {
		for j := range int(v) {
			tails[j]++
		}
	}
	return tails
}

// bestSize is the likeliest size between 0.1 and poissonSize: the best of 40 points
// evenly apart in the logarithm, found by every fourth and then its neighbours, and
// the top of parabolas through it and ever nearer points.
func bestSize(y, mu, tails []float64, shrink bool) float64 {
	likelihood := func(logSize float64) float64 { return sizeLikelihood(y, mu, tails, logSize, shrink) }
	lo, hi := math.Log(0.1), math.Log(poissonSize)
	step := (hi - lo) / 39
	best, k := math.Inf(-1), 0
	try := func(i int) {
		if l := likelihood(lo + float64(i)*step); l > best {
			best, k = l, i
		}
	}
	for i := 0; i < 40; i += 4 {
		try(i)
	}
	for i, last := max(0, k-3), min(39, k+3); i <= last; i++ {
		try(i)
	}
	at := lo + float64(k)*step
	for range 4 {
		left, middle, right := likelihood(at-step), likelihood(at), likelihood(at+step)
		if bend := left - 2*middle + right; bend < 0 {
			at += step * min(1, max(-1, (left-right)/(2*bend)))
		}
		step /= 6
	}
	return math.Exp(at)
}

// sizeLikelihood is the log likelihood of a size, without what does not hang on it.
// Shrunk, ln size has the prior N(ln 10, 0.7).
func sizeLikelihood(y, mu, tails []float64, logSize float64, shrink bool) float64 {
	r := math.Exp(logSize)
	sum := 0.0
	for j, n := range tails {
		sum += n * math.Log(1+float64(j)/r)
	}
	for i, m := range mu {
		sum -= (y[i] + r) * math.Log1p(m/r)
	}
	if shrink {
		z := (logSize - math.Log(10)) / 0.7
		sum -= z * z / 2
	}
	return sum
}
