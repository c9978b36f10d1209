package hold

import "math"

// The range of time constants that is searched, in days.
const (
	minTau = 0.05
	maxTau = 400
)

// data is a series in days since the start of the hold. decay is room for
// exp(-t/tau); solve makes it when it is missing.
type data struct{ t, y, decay []float64 }

// belief is a normal distribution of what is known beforehand; precision
// (1/sd squared) 0 is nothing known.
type belief struct{ mean, precision float64 }

func believe(mean, sd float64) belief { return belief{mean, 1 / (sd * sd)} }

// model is level + amp*exp(-t/tau) with normal noise.
type model struct {
	noise      float64 // standard deviation of one reading
	early      float64 // further standard deviation at the start; see variance
	level, amp belief
	logTau     belief
}

// solved is the best level and amplitude for one time constant, with their
// posterior precision.
type solved struct {
	level, amp    float64
	pLL, pLA, pAA float64
	cost          float64 // twice the negative log of the joint density, but for a constant
}

// det is the determinant of the precision.
func (s solved) det() float64 { return s.pLL*s.pAA - s.pLA*s.pLA }

// solve finds level and amplitude for one tau in closed form: for a given tau
// the model is a straight line in exp(-t/tau).
func (m model) solve(d data, tau float64) solved {
	s := solved{pLL: m.level.precision, pAA: m.amp.precision}
	bL, bA := m.level.precision*m.level.mean, m.amp.precision*m.amp.mean
	decay := d.decays(tau)
	for i, e := range decay {
		w := 1 / m.variance(e)
		s.pLL += w
		s.pLA += w * e
		s.pAA += w * e * e
		bL += w * d.y[i]
		bA += w * e * d.y[i]
	}
	det := s.det()
	if !(det > 1e-12*s.pLL*s.pAA) { // one parameter cannot be told from the other
		s.cost = math.Inf(1)
		return s
	}
	s.level = (s.pAA*bL - s.pLA*bA) / det
	s.amp = (s.pLL*bA - s.pLA*bL) / det
	s.cost = m.misfit(d, decay, s.level, s.amp) + m.penalty(tau, s.level, s.amp)
	return s
}

// variance is that of a reading at which the exponential has fallen to the share
// decay. Wood that follows Fick's law starts quicker than its last exponential: at
// the start by a quarter of the amplitude, and that excess dies away nine times as
// quickly as the exponential itself. So early readings count less.
func (m model) variance(decay float64) float64 {
	third := decay * decay * decay
	excess := m.early * third * third * third
	return m.noise*m.noise + excess*excess
}

// misfit is twice the negative log likelihood, but for a constant: the sum of
// squares over the variances, and the logs of these.
func (m model) misfit(d data, decay []float64, level, amp float64) float64 {
	sum, noise := 0.0, m.noise*m.noise
	for i, e := range decay {
		r, v := d.y[i]-level-amp*e, m.variance(e)
		sum += r * r / v
		if v > noise*(1+1e-4) { // the logarithm of nearly 1 is not worth its time
			sum += math.Log(v / noise)
		}
	}
	return sum
}

func (b belief) cost(x float64) float64 { return b.precision * (x - b.mean) * (x - b.mean) }

func (m model) penalty(tau, level, amp float64) float64 {
	return m.level.cost(level) + m.amp.cost(amp) + m.logTau.cost(math.Log(tau))
}

// decays returns exp(-t/tau) for every reading, valid until the next call.
func (d data) decays(tau float64) []float64 {
	if len(d.decay) != len(d.t) {
		d.decay = make([]float64, len(d.t))
	}
	for i, t := range d.t {
		d.decay[i] = math.Exp(-t / tau)
	}
	return d.decay
}

// coarse is the number of points of the log grid, each 1.25 times the last.
const coarse = 41

// gridTau returns point i of n between two time constants, evenly spaced in ln.
func gridTau(i, n int, low, high float64) float64 {
	return low * math.Pow(high/low, float64(i)/float64(n-1))
}

// best returns the most likely time constant and what belongs to it. Without
// beliefs it is the least-squares fit. The grid leaves no start value to guess;
// a golden section between the neighbours of the best point refines ln tau to
// the given width.
func (m model) best(d data, within float64) (tau float64, s solved) {
	at, least := 0, math.Inf(1)
	for i := range coarse {
		if c := m.solve(d, gridTau(i, coarse, minTau, maxTau)).cost; c < least {
			at, least = i, c
		}
	}
	low := math.Log(gridTau(max(at-1, 0), coarse, minTau, maxTau))
	high := math.Log(gridTau(min(at+1, coarse-1), coarse, minTau, maxTau))
	x := golden(low, high, within, func(x float64) float64 { return m.solve(d, math.Exp(x)).cost })
	tau = math.Exp(x)
	return tau, m.solve(d, tau)
}

// golden returns the least point of f between low and high by golden section.
func golden(low, high, within float64, f func(float64) float64) float64 {
	const r = 0.6180339887498949 // (sqrt 5 - 1) / 2
	a, b := high-r*(high-low), low+r*(high-low)
	fa, fb := f(a), f(b)
	for high-low > within {
		if fa < fb {
			high, b, fb = b, a, fa
			a = high - r*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + r*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}
