package hold

import (
	"math"
	"slices"
)

// draw is one curve that the readings and the beliefs allow.
type draw struct{ tau, level, amp float64 }

// draws is the number of curves that stand for the posterior, each as likely as
// the others. They are placed evenly, not at random: the same readings always
// give the same window. Each of the tauDraws time constants serves perTau curves.
const (
	draws    = tauDraws * perTau
	tauDraws = 64
	perTau   = 16
)

// fine is the number of points of the second grid, laid where the posterior is.
const fine = 61

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
	for i := range tauDraws {
		tau := inverse(taus, cumulated, (float64(i)+0.5)/tauDraws)
		s := m.solve(d, tau)
		s.fill(out[i*perTau:(i+1)*perTau], tau, i*perTau, floor)
	}
	return out
}

// lattice holds evenly spread pairs of shares, of the level's distribution and of
// the amplitude's, as normal deviates; the level's also as it is. The steps are powers of the
// plastic number, the real root of x^3 = x + 1, so that the pairs fill the
// square evenly over any stretch.
var lattice = func() (points [draws]struct{ share, level, amp float64 }) {
	const p = 1.324717957244746
	for k := range points {
		_, v := math.Modf(0.5 + float64(k+1)/p)
		_, w := math.Modf(0.5 + float64(k+1)/(p*p))
		points[k].share, points[k].level, points[k].amp = v, quantile(v), quantile(w)
	}
	return points
}()

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

// fill makes the curves of one time constant from the lattice's points first on.
func (s solved) fill(out []draw, tau float64, first int, floor bool) {
	sd, cut := s.levelSD(), 0.0
	if floor {
		cut = normal(-s.level / sd) // the share below 0, which cannot be
	}
	for k := range out {
		point := &lattice[first+k]
		level := s.level + sd*point.level
		if cut > 1e-6 {
			level = max(s.level+sd*quantile(cut+point.share*(1-cut)), 0)
		}
		amp := s.amp - s.pLA/s.pAA*(level-s.level) + point.amp/math.Sqrt(s.pAA)
		out[k] = draw{tau, level, amp}
	}
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

// spanOf returns P10, P50 and P90 of the values, which it puts in another order.
func spanOf(values []float64) Span {
	at := func(p float64) float64 { return nth(values, int(p*float64(len(values)-1)+0.5)) }
	return Span{at(0.1), at(0.5), at(0.9)}
}

// nth returns what would stand at place k if the values were sorted. It parts
// them about a middle value until k is reached, which is quicker than sorting.
func nth(values []float64, k int) float64 {
	low, high := 0, len(values)-1
	for low < high {
		pivot, i, j := values[(low+high)/2], low, high
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return values[k]
		}
	}
	return values[k]
}
