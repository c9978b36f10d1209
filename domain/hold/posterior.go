package hold

import (
	"math"
	"slices"
)

// draw is one curve that the readings and the beliefs allow.
type draw struct{ tau, level, amp float64 }

// draws is the number of curves that stand for the posterior, each as likely as
// the others. They are placed evenly, not at random: the same readings always
// give the same window.
const draws = 1024

// fine is the number of points of the second grid, laid where the posterior is.
const fine = 81

// posterior returns the curves that fit. floor holds the level at 0 or above,
// as that of a crack.
//
// The density of ln tau is integrated over a grid; for each tau level and
// amplitude are normal in closed form, the level cut off at the floor.
func (m model) posterior(d data, floor bool) []draw {
	low, high := m.support(d, floor)
	taus, cumulated := make([]float64, fine), make([]float64, fine)
	logs := make([]float64, fine)
	for i := range taus {
		taus[i] = gridTau(i, fine, low, high)
		logs[i] = m.evidence(m.solve(d, taus[i]), floor)
	}
	cumulate(cumulated, logs)
	out := make([]draw, draws)
	for k := range out {
		u, v, w := lattice(k)
		tau := inverse(taus, cumulated, u)
		out[k] = m.solve(d, tau).draw(tau, v, w, floor)
	}
	return out
}

// lattice returns point k of a sequence that fills the unit cube evenly: an
// equal step in the first direction, irrational steps in the others, by the
// powers of the plastic number (the real root of x^3 = x + 1).
func lattice(k int) (u, v, w float64) {
	const p = 1.324717957244746
	u = (float64(k) + 0.5) / draws
	_, v = math.Modf(0.5 + float64(k+1)/p)
	_, w = math.Modf(0.5 + float64(k+1)/(p*p))
	return u, v, w
}

// support returns the time constants between which nearly all of the posterior
// lies. What lies outside is less than e^-12 of the peak.
func (m model) support(d data, floor bool) (low, high float64) {
	logs := make([]float64, coarse)
	for i := range logs {
		logs[i] = m.evidence(m.solve(d, gridTau(i, coarse, minTau, maxTau)), floor)
	}
	top := slices.Max(logs)
	first, last := coarse, 0
	for i, l := range logs {
		if l > top-12 {
			first, last = min(first, i), max(last, i)
		}
	}
	return gridTau(max(first-1, 0), coarse, minTau, maxTau), gridTau(min(last+1, coarse-1), coarse, minTau, maxTau)
}

// evidence is the log density of the tau that s was solved for.
func (m model) evidence(s solved, floor bool) float64 {
	log := -s.cost/2 - math.Log(s.det())/2
	if floor {
		log += math.Log(max(1-normal(-s.level/s.levelSD()), 1e-300))
	}
	return log
}

// levelSD is the standard deviation of the level, whatever the amplitude.
func (s solved) levelSD() float64 { return math.Sqrt(s.pAA / s.det()) }

// draw returns the curve at the quantile v of the level and, given that, the
// quantile w of the amplitude.
func (s solved) draw(tau, v, w float64, floor bool) draw {
	sd := s.levelSD()
	if floor {
		cut := normal(-s.level / sd)
		v = cut + v*(1-cut)
	}
	level := s.level + sd*quantile(v)
	if floor {
		level = max(level, 0)
	}
	amp := s.amp - s.pLA/s.pAA*(level-s.level) + quantile(w)/math.Sqrt(s.pAA)
	return draw{tau, level, amp}
}

// normal is the share of the standard normal distribution below z.
func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// quantile is the inverse of normal, held within 6 standard deviations or so.
func quantile(p float64) float64 {
	const edge = 1e-9
	return math.Sqrt2 * math.Erfinv(2*min(max(p, edge), 1-edge)-1)
}

// cumulate sums the densities exp(logs) by trapezes into shares from 0 to 1.
func cumulate(into, logs []float64) {
	top, sum := slices.Max(logs), 0.0
	for i := range logs {
		if i > 0 {
			sum += (math.Exp(logs[i-1]-top) + math.Exp(logs[i]-top)) / 2
		}
		into[i] = sum
	}
	for i := range into {
		into[i] /= sum
	}
}

// inverse returns the tau below which the share u lies, straight in ln between
// the grid's points.
func inverse(taus, cumulated []float64, u float64) float64 {
	i, _ := slices.BinarySearch(cumulated, u)
	i = min(max(i, 1), len(taus)-1)
	part := (u - cumulated[i-1]) / (cumulated[i] - cumulated[i-1])
	return taus[i-1] * math.Pow(taus[i]/taus[i-1], min(max(part, 0), 1))
}

// spanOf sorts the values and returns their P10, P50 and P90.
func spanOf(values []float64) Span {
	slices.Sort(values)
	at := func(p float64) float64 { return values[int(p*float64(len(values)-1)+0.5)] }
	return Span{at(0.1), at(0.5), at(0.9)}
}
