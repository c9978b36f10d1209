package season

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"winterbench/domain"
)

// Load is what one job of a kind asks for.
type Load struct {
	Minutes  float64 // mean bench minutes
	Spread   float64 // standard deviation of the logarithm of the minutes
	Held     float64 // share of the jobs that go into the cabinet, 0 to 1
	HoldDays float64 // mean days there of those that do
	HoldVar  float64 // squared coefficient of variation of the days
	DueAfter int     // weeks until the minutes of a held job fall due; 0 is at once
}

// Capacity is what the shop has in each week; weeks after the last are like it.
type Capacity struct {
	Minutes []float64 // of bench work
	Places  int       // in the cabinet
}

// House is the work that is there before the first week.
type House struct {
	Minutes   float64   // of bench work
	Weeks     int       // over which the minutes fall due; 0: all were due before the first week
	HoldsLeft []float64 // days that each running hold still takes
}

// WeekLoad is what one week asks for against what there is.
type WeekLoad struct {
	Start      domain.Date
	Minutes    Range   // bench minutes of the jobs that come
	Places     Range   // places wanted at the week's middle
	OverChance float64 // that the week's own work is above its minutes
	FullChance float64 // that all places are wanted
	Backlog    float64 // minutes left over at the week's end, by the means
	Overloaded bool    // more minutes wanted than there are, by the means
	Short      float64 // minutes wanted above those there are; 0 when not overloaded
}

// LoadOf sets a forecast against the shop.
//
// Bench minutes are taken as a gamma with the mean and variance of lognormal jobs in
// negative binomial numbers, and the backlog runs on by the means. Places are a
// Poisson whose mean is the jobs in hold when they start evenly within each week
// (Eick, Massey and Whitt, Management Science 39, 1993; from memory), with lognormal
// hold times. Both checked against testdata/capacity.json.
func LoadOf(f Forecast, loads map[string]Load, c Capacity, in House) []WeekLoad {
	out := make([]WeekLoad, len(f.Weeks))
	backlog := 0.0
	if in.Weeks == 0 {
		backlog = in.Minutes
	}
	for w, week := range f.Weeks {
		l := WeekLoad{Start: week.Start}
		mean, variance := in.due(w), 0.0
		for _, kind := range slices.Sorted(maps.Keys(week.ByKind)) { // sums come out alike
			m, v := loads[kind].minutes(f.dueJobs(kind, loads[kind], w), f.Sizes[kind])
			mean, variance = mean+m, variance+v
		}
		have := c.minutes(w)
		l.Minutes = gammaRange(mean, variance)
		l.OverChance = gammaOver(mean, variance, have)
		l.Short = max(0, mean-have)
		l.Overloaded = l.Short > 0
		backlog = max(0, backlog+mean-have)
		l.Backlog = backlog
		held := placesAt(f, loads, in, 7*float64(w)+3.5)
		l.Places = poissonRange(held)
		l.FullChance = fullChance(held, c.Places)
		out[w] = l
	}
	return out
}

// due is the part of the house's minutes that falls due in a week.
func (h House) due(week int) float64 {
	if week >= h.Weeks {
		return 0
	}
	return h.Minutes / float64(h.Weeks)
}

// dueJobs is how many jobs of a kind are to be worked on in a week: those that come
// without a hold, and those that were held since an earlier week.
func (f Forecast) dueJobs(kind string, l Load, week int) float64 {
	jobs := f.Weeks[week].ByKind[kind].Mean * (1 - l.Held)
	if from := week - l.DueAfter; from >= 0 {
		jobs += f.Weeks[from].ByKind[kind].Mean * l.Held
	}
	return jobs
}

// DueMinutes is the mean of the minutes of a kind that fall due in a week of the
// forecast, counted from 0.
func DueMinutes(f Forecast, kind string, l Load, week int) float64 {
	return f.dueJobs(kind, l, week) * l.Minutes
}

func (c Capacity) minutes(week int) float64 {
	if len(c.Minutes) == 0 {
		return 0
	}
	return c.Minutes[min(week, len(c.Minutes)-1)]
}

// minutes is the mean and variance of the minutes of jobs in a negative binomial
// number with this mean and size.
func (l Load) minutes(jobs, size float64) (mean, variance float64) {
	mean = jobs * l.Minutes
	variance = jobs * l.Minutes * l.Minutes * math.Exp(l.Spread*l.Spread)
	if size > 0 {
		variance += mean * mean / size
	}
	return mean, variance
}

// gammaOver is the chance of a gamma with this mean and variance to be above limit.
func gammaOver(mean, variance, limit float64) float64 {
	switch {
	case mean <= 0:
		return 0
	case limit <= 0:
		return 1
	case variance <= 0:
		if mean > limit {
			return 1
		}
		return 0
	}
	return mathext.GammaIncRegComp(mean*mean/variance, limit*mean/variance)
}

func gammaRange(mean, variance float64) Range {
	if mean <= 0 || variance <= 0 {
		return Range{mean, mean, mean, mean}
	}
	if mean*mean/variance < 0.01 { // hardly ever anything: the quantiles would be lost
		return Range{Mean: mean}
	}
	q := func(p float64) float64 { return mathext.GammaIncRegInv(mean*mean/variance, p) * variance / mean }
	return Range{mean, q(0.1), q(0.5), q(0.9)}
}

// placesAt is the mean of the places wanted at a day of the forecast: jobs of each
// kind that started before and are not over, and running holds not yet over.
func placesAt(f Forecast, loads map[string]Load, in House, day float64) float64 {
	sum := 0.0
	for _, left := range in.HoldsLeft {
		if left > day {
			sum++
		}
	}
	for _, kind := range slices.Sorted(maps.Keys(loads)) {
		l := loads[kind]
		if l.HoldDays <= 0 || l.Held <= 0 {
			continue
		}
		for w, week := range f.Weeks {
			from := 7 * float64(w)
			if from >= day {
				break
			}
			to := min(day, from+7)
			sum += week.ByKind[kind].Mean * l.Held / 7 * (l.stillIn(day-from) - l.stillIn(day-to))
		}
	}
	return sum
}

// stillIn is the integral of the chance that a hold lasts longer than u days, for u
// from 0 to days: E[min(S, days)] of a lognormal.
func (l Load) stillIn(days float64) float64 {
	if days <= 0 {
		return 0
	}
	if l.HoldVar <= 0 {
		return min(days, l.HoldDays)
	}
	s2 := math.Log1p(l.HoldVar)
	s := math.Sqrt(s2)
	z := (math.Log(days/l.HoldDays) + s2/2) / s
	return l.HoldDays*normal(z-s) + days*normal(-z)
}

func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

func poissonRange(mean float64) Range {
	q := func(p float64) float64 {
		if mean > 500 { // the smallest chances would be lost
			return float64(drawCount(mean, poissonSize, p))
		}
		return float64(Quantile(mean, poissonSize, p))
	}
	return Range{mean, q(0.1), q(0.5), q(0.9)}
}

// fullChance is the chance that a Poisson with this mean is at least places.
func fullChance(mean float64, places int) float64 {
	if places <= 0 || mean <= 0 {
		if places <= 0 && mean > 0 {
			return 1
		}
		return 0
	}
	return mathext.GammaIncReg(float64(places), mean)
}
