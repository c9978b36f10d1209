package queue

import (
	"math"
	"slices"

	"winterbench/domain"
)

// Amount is a number of minutes that is not known exactly. By default it is
// lognormal: its logarithm is normal around ln Median with the standard deviation
// Spread; a Spread of 0 is exact. Points, when there are any, describe it instead.
type Amount struct {
	Median float64 // minutes, 0 to MaxMinutes
	Spread float64 // 0 to MaxSpread; counted in thousandths
	Points []Point // ascending in both; at most 5
}

// Point says that the amount is at most Minutes with probability P.
type Point struct {
	P       float64 // above 0, below 1
	Minutes float64
}

// Bounds of an Amount.
const (
	MaxMinutes = MaxDays * dayMinutes // ten years
	MaxSpread  = 3                    // P90 is 47 times the median
	maxPoints  = 5
)

// Exactly is an amount without any doubt.
func Exactly(minutes float64) Amount { return Amount{Median: minutes} }

// Lognormal is an amount with that median and standard deviation of its logarithm.
func Lognormal(median, spread float64) Amount { return Amount{Median: median, Spread: spread} }

// Range reads low, typical and high as the values that one time in ten, every
// other time and nine times in ten is not passed.
func Range(low, typical, high float64) Amount {
	if low == high {
		return Exactly(typical)
	}
	return Amount{Points: []Point{{0.1, low}, {0.5, typical}, {0.9, high}}}
}

// Check refuses amounts out of bounds.
func (a Amount) Check() error {
	if len(a.Points) > maxPoints {
		return domain.Invalidf("has %d points; at most %d", len(a.Points), maxPoints)
	}
	for i, p := range a.Points {
		if !(p.P > 0 && p.P < 1) || !(p.Minutes >= 0 && p.Minutes <= MaxMinutes) {
			return domain.Invalidf("has a point of %v at chance %v; minutes are from 0 to ten years, chances between 0 and 1", p.Minutes, p.P)
		}
		if i > 0 && (p.P <= a.Points[i-1].P || p.Minutes < a.Points[i-1].Minutes) {
			return domain.Invalidf("has points that do not rise: %v after %v", p, a.Points[i-1])
		}
	}
	if !(a.Median >= 0 && a.Median <= MaxMinutes) {
		return domain.Invalidf("must be from 0 to ten years, not %v minutes", a.Median)
	}
	if !(a.Spread >= 0 && a.Spread <= MaxSpread) {
		return domain.Invalidf("has a spread of %v; it must be from 0 to %d", a.Spread, MaxSpread)
	}
	return nil
}

// Typical returns the median in minutes.
func (a Amount) Typical() float64 {
	if len(a.Points) > 0 {
		return a.quantile(0) // the normal score of one half
	}
	return a.Median
}

// quantile returns the value of Points at a normal score. Between the points the
// logarithm, or the value itself where a point is 0, is a straight line in the
// score; outside them the outer lines go on. So two points make a lognormal.
func (a Amount) quantile(z float64) float64 {
	p := a.Points
	if len(p) == 1 {
		return p[0].Minutes
	}
	i := 1
	for i < len(p)-1 && z > score(p[i].P) {
		i++
	}
	z0, z1 := score(p[i-1].P), score(p[i].P)
	share := (z - z0) / (z1 - z0)
	if p[0].Minutes > 0 {
		l0, l1 := math.Log(p[i-1].Minutes), math.Log(p[i].Minutes)
		return min(math.Exp(l0+share*(l1-l0)), MaxMinutes)
	}
	return min(max(0, p[i-1].Minutes+share*(p[i].Minutes-p[i-1].Minutes)), MaxMinutes)
}

const (
	binBits = 10
	bins    = 1 << binBits
)

// sampler holds the mean of each of 1,024 equally likely parts of a distribution,
// ascending. One random bin number draws a value, and the mean is exact.
type sampler [bins]float32

// score is the normal score of a probability, its inverse.
func score(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// above is the probability that a normal score is above z.
func above(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }

// edges and centres are the normal scores of the bins' bounds and the means of
// the scores in each.
var edges, centres = func() (e [bins + 1]float64, c [bins]float64) {
	e[0], e[bins] = math.Inf(-1), math.Inf(1)
	for i := 1; i < bins; i++ {
		e[i] = score(float64(i) / bins)
	}
	density := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
	for i := range c {
		c[i] = bins * (density(e[i]) - density(e[i+1]))
	}
	return e, c
}()

// lognormalSampler is for a median of 1. The mean between two bounds of a lognormal
// is exp(s²/2) times the normal probability between the scores less s.
func lognormalSampler(spread float64) *sampler {
	var t sampler
	factor := bins * math.Exp(spread*spread/2)
	// The upper tail is used above the middle and the lower below: differences of
	// small numbers stay exact.
	for i := range t {
		a, b := edges[i]-spread, edges[i+1]-spread
		if a > 0 {
			t[i] = float32(factor * (above(a) - above(b)))
		} else {
			t[i] = float32(factor * (above(-b) - above(-a)))
		}
	}
	return &t
}

// pointSampler is for Points.
func pointSampler(a Amount) *sampler {
	var t sampler
	for i := range t {
		t[i] = float32(a.quantile(centres[i]))
	}
	return &t
}

// constant is for exact amounts.
var constant = func() *sampler {
	var t sampler
	for i := range t {
		t[i] = 1
	}
	return &t
}()

// leftSampler is what is left of an amount after so many minutes, given that it is
// not done. What has passed all that can be expected ends about a tenth of the
// spent time later.
func leftSampler(a Amount, whole *sampler, scale, spent float64) *sampler {
	var t sampler
	if len(a.Points) == 0 && a.Spread > 0 && a.Median > 0 {
		z := math.Log(spent/a.Median) / a.Spread
		if tail := above(z); tail > 1e-300 {
			for i := range t {
				share := (float64(i) + 0.5) / bins // of the tail, still above
				value := a.Median * math.Exp(-a.Spread*score(tail*share))
				t[bins-1-i] = float32(min(max(0, value-spent), MaxMinutes))
			}
			return &t
		}
	} else if from, _ := slices.BinarySearch(whole[:], float32(spent/max(scale, 1e-9))); from < bins {
		for i := range t {
			t[i] = max(0, whole[from+i*(bins-from)/bins]*float32(scale)-float32(spent))
		}
		return &t
	}
	for i := range t {
		t[i] = float32(spent / 10)
	}
	return &t
}

// samplers makes each table once.
type samplers struct {
	spreads map[int]*sampler
	points  map[[2 * maxPoints]float64]*sampler
	gammas  map[float64]*sampler
}

func newSamplers() samplers {
	return samplers{map[int]*sampler{}, map[[2 * maxPoints]float64]*sampler{}, map[float64]*sampler{}}
}

// gamma returns the table of a week's factor.
func (s *samplers) gamma(size float64) *sampler {
	if s.gammas[size] == nil {
		s.gammas[size] = gammaSampler(size)
	}
	return s.gammas[size]
}

// of returns the table and what its values are multiplied with.
func (s *samplers) of(a Amount) (*sampler, float64) {
	if len(a.Points) > 0 {
		var key [2 * maxPoints]float64
		for i, p := range a.Points {
			key[2*i], key[2*i+1] = p.P, p.Minutes
		}
		if s.points[key] == nil {
			s.points[key] = pointSampler(a)
		}
		return s.points[key], 1
	}
	thousandths := int(math.Round(a.Spread * 1000))
	if thousandths == 0 {
		return constant, a.Median
	}
	if s.spreads[thousandths] == nil {
		s.spreads[thousandths] = lognormalSampler(float64(thousandths) / 1000)
	}
	return s.spreads[thousandths], a.Median
}
