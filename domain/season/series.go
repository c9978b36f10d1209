package season

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// series is one row of counts with what explains it. Times and offsets go on over
// the weeks to foretell.
type series struct {
	y      []float64 // NaN where missing
	years  []float64 // time in years; the phase of the year is its fraction
	offset []float64 // logarithm of the shape, 0 when flat
	extra  []float64 // a driver as it is seen after the known weeks; nil is none
	air    *air      // what the driver is made of; nil is none
	guess  float64   // expected mean count with no records; 0 is none
	shaped bool      // the offset is a shape that is stated or borrowed
}

// draws is how often the parameters are drawn. Source: our choice; the study behind
// docs/season.md used as many.
const draws = 400

// row is the explaining columns of one week: level, trend in years from the end of
// the records, and two waves of the year.
func (s series) row(i int) []float64 {
	angle := 2 * math.Pi * s.years[i]
	s1, c1 := math.Sincos(angle)
	s2, c2 := math.Sincos(2 * angle)
	row := []float64{1, s.years[i] - s.years[max(0, len(s.y)-1)], c1, s1, c2, s2}
	if s.extra != nil {
		row = append(row, s.extra[i])
	}
	return row
}

// prior are the pulls; sources beside the numbers in docs/season.md.
func (s series) prior(mean float64, n int) prior {
	level, sd := math.Log(max(mean, 0.02)), 2.0
	if n == 0 {
		sd = 0.5
		level = math.Log(max(s.guess, 0.02))
	}
	first, second := 0.70, 0.35
	if s.shaped {
		first, second = 0.35, 0.20
	}
	p := prior{centre: []float64{level, 0, 0, 0, 0, 0}, shrink: true}
	for _, d := range []float64{sd, 0.10, first, first, second, second} {
		p.precision = append(p.precision, 1/(d*d))
	}
	if s.extra != nil {
		p.centre, p.precision = append(p.centre, 0), append(p.precision, 1/(0.3*0.3))
	}
	return p
}

// fit fits the series' known weeks; with none the prior stands.
func (s series) fit() (fitted, error) {
	in := sample{}
	total, expected := 0.0, 0.0
	for i, y := range s.y {
		if math.IsNaN(y) {
			continue
		}
		in.x, in.y, in.offset = append(in.x, s.row(i)), append(in.y, y), append(in.offset, s.offset[i])
		total, expected = total+y, expected+math.Exp(s.offset[i])
	}
	p := s.prior(total/max(expected, 1e-9), len(in.y))
	if len(in.y) == 0 {
		h := mat.NewSymDense(len(p.centre), nil)
		for i, v := range p.precision {
			h.SetSym(i, i, v)
		}
		return fitted{theta: p.centre, size: 10, hessian: h}, nil
	}
	return fit(in, p, 10, true)
}

// foretold is the draws of one week, counted: at[k] draws gave k jobs.
type foretold struct {
	mean float64
	at   []int
}

// ahead draws the weeks from one to another: parameters from their normal
// distribution, then counts.
func (s series) ahead(f fitted, from, to int, seed uint64) ([]foretold, error) {
	var chol mat.Cholesky
	if !chol.Factorize(f.hessian) {
		return nil, errNoFit
	}
	var upper mat.TriDense
	chol.UTo(&upper)
	random := rand.New(rand.NewPCG(seed, 0x5ea50))
	n := len(f.theta)
	out := make([]foretold, to-from)
	rows := make([][]float64, to-from)
	for i := range rows {
		rows[i] = s.row(from + i)
	}
	theta := make([]float64, n)
	for range draws {
		drawTheta(theta, f.theta, &upper, random)
		for i, row := range rows {
			eta := s.offset[from+i]
			for k, v := range row {
				eta += v * theta[k]
			}
			mu := math.Exp(min(12, eta))
			out[i].mean += mu / draws
			out[i].add(drawCount(mu, f.size, random.Float64()))
		}
	}
	return out, nil
}

// drawTheta solves U·d = z, so that d has the inverse of U'U as its covariance.
func drawTheta(into, centre []float64, upper *mat.TriDense, random *rand.Rand) {
	n := len(centre)
	for i := range n {
		into[i] = random.NormFloat64()
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			into[i] -= upper.At(i, k) * into[k]
		}
		into[i] /= upper.At(i, i)
	}
	for i := range n {
		into[i] += centre[i]
	}
}

// drawCount is the count at a uniform number u of a negative binomial.
func drawCount(mu, size, u float64) int {
	if mu > 300 { // the smallest chances would be lost; the normal is close here
		sd := math.Sqrt(mu + mu*mu/size)
		return int(max(0, math.Round(mu+sd*math.Sqrt2*math.Erfinv(2*u-1))))
	}
	return Quantile(mu, size, u)
}

// Quantile is the least count that a negative binomial with this mean and size does
// not pass with chance p, from 0 to below 1. A size of 1e5 or more is a Poisson.
func Quantile(mu, size, p float64) int {
	chance := math.Exp(-size * math.Log1p(mu/size))
	ratio := mu / (mu + size)
	grown := size
	if size >= poissonSize {
		chance = math.Exp(-mu)
	}
	sum := chance
	for k := 0; ; k++ {
		if sum >= p || chance == 0 || k > MaxCount {
			return k
		}
		if size >= poissonSize {
			chance *= mu / float64(k+1)
		} else {
			chance *= ratio * grown / float64(k+1)
			grown++
		}
		sum += chance
	}
}

func (f *foretold) add(count int) {
	count = min(count, MaxCount)
	if count >= len(f.at) {
		f.at = slices.Grow(f.at, count+1-len(f.at))[:count+1]
	}
	f.at[count]++
}

// quantile is the least count that p of the draws do not pass.
func (f foretold) quantile(p float64) float64 {
	sum := 0
	for k, n := range f.at {
		if sum += n; float64(sum) >= p*draws {
			return float64(k)
		}
	}
	return float64(len(f.at) - 1)
}

func (f foretold) rangeOf() Range {
	return Range{Mean: f.mean, P10: f.quantile(0.1), P50: f.quantile(0.5), P90: f.quantile(0.9)}
}

// errorOf is the standard error of a coefficient.
func (f fitted) errorOf(i int) float64 {
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(f.hessian) || chol.InverseTo(&inverse) != nil {
		return math.Inf(1)
	}
	return math.Sqrt(inverse.At(i, i))
}
