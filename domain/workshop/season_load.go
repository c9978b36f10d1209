package workshop

import (
	"math"

	"winterbench/domain"
)

// kindAhead is what is foretold of one kind of repair.
type kindAhead struct {
	kind SeasonKind
	mean []float64 // jobs in each week ahead
	size float64   // of the negative binomial week count
}

// loadOf sets what comes and what is in the house against hands and places, week
// by week. Hours of a kind that is held fall due when its holds are over; the
// work in the house is spread over the first weeks.
//
// The week's hours have the mean sum(l m) and the variance
// sum(l m^2 exp(s^2)) + sum(l^2 m^2 / r) for l jobs of m minutes with the spread s
// and the size r, and are taken as gamma. Places are an M/G/infinity queue: their
// number is Poisson around the jobs that came u days ago times the chance that a
// hold lasts longer than u. Source of both: standard queueing theory; the gamma
// was compared with a simulation in the notes behind docs/queue.md.
func loadOf(monday domain.Date, ahead []kindAhead, in house, hours []float64, places int) []SeasonWeek {
	out := make([]SeasonWeek, len(hours))
	behind := 0.0
	for w := range out {
		week := &out[w]
		week.Monday, week.HandsThere, week.PlacesThere = monday.AddDays(7*w), hours[w], places
		week.LastHands, week.LastPlaces = -1, -1
		jobs, jobVar, mean, variance := 0.0, 0.0, 0.0, 0.0
		for _, k := range ahead {
			jobs, jobVar = jobs+k.mean[w], jobVar+k.mean[w]+k.mean[w]*k.mean[w]/k.size
			m, v := k.hoursIn(w)
			mean, variance = mean+m, variance+v
		}
		week.Arrivals = likelyOf(jobs, jobVar)
		mean += houseShare(in, w)
		week.Hands = likelyOf(mean, variance)
		week.OverChance = aboveChance(mean, variance, hours[w])
		behind = math.Max(0, behind+mean-hours[w])
		week.Backlog = behind
		stand := placesIn(ahead, in, w)
		week.Places = likelyOf(stand, stand)
		week.WaitChance = fullChance(stand, places)
	}
	return out
}

// houseWeeks are the weeks over which the work in the house is spread; common
// practice, no source: about what a promise says.
const houseWeeks = 3

func houseShare(in house, week int) float64 {
	if week >= houseWeeks {
		return 0
	}
	return in.Minutes / 60 / houseWeeks
}

// hoursIn is the mean and the variance of the bench hours of a kind that fall due
// in a week: the held share comes when its hold is over.
func (k kindAhead) hoursIn(week int) (mean, variance float64) {
	lag := int(math.Round(k.kind.HoldDays / 7))
	jobs := k.mean[week] * (1 - k.kind.Held)
	if week >= lag {
		jobs += k.mean[week-lag] * k.kind.Held
	}
	m := k.kind.Minutes / 60
	return jobs * m, jobs*m*m*math.Exp(k.kind.Spread*k.kind.Spread) + jobs*jobs*m*m/k.size
}

// placesIn is the mean number of holds in the middle of a week.
func placesIn(ahead []kindAhead, in house, week int) float64 {
	now := float64(7*week) + 3.5 // days from the first Monday
	stand := 0.0
	for _, left := range in.Holds {
		if left > now {
			stand++
		}
	}
	for _, k := range ahead {
		if k.kind.Held == 0 {
			continue
		}
		for ago := 0.5; ago < now; ago++ {
			stand += k.mean[int(now-ago)/7] / 7 * k.kind.Held * k.kind.stands(ago)
		}
	}
	return stand
}

// stands is the chance that a hold lasts longer than some days: lognormal with
// the kind's mean and variation.
func (k SeasonKind) stands(days float64) float64 {
	if k.HoldDays <= 0 {
		return 0
	}
	s := math.Sqrt(math.Log1p(k.HoldVar))
	if s == 0 {
		if k.HoldDays > days {
			return 1
		}
		return 0
	}
	return 1 - normal((math.Log(days/k.HoldDays)+s*s/2)/s)
}

func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// likelyOf are quantiles of a gamma with that mean and variance, by the cube-root
// approximation. Source: Wilson and Hilferty 1931, from memory.
func likelyOf(mean, variance float64) Likely {
	if mean <= 0 {
		return Likely{}
	}
	k := mean * mean / math.Max(variance, 1e-9)
	at := func(z float64) float64 {
		return mean * math.Pow(math.Max(0, 1-1/(9*k)+z/(3*math.Sqrt(k))), 3)
	}
	return Likely{P50: at(0), P90: at(1.2815515655)}
}

// aboveChance is the chance that such a gamma is above a limit.
func aboveChance(mean, variance, limit float64) float64 {
	switch {
	case mean <= 0:
		return 0
	case limit <= 0:
		return 1
	}
	k := mean * mean / math.Max(variance, 1e-9)
	return 1 - normal((math.Cbrt(limit/mean)-1+1/(9*k))*3*math.Sqrt(k))
}

// fullChance is the chance that a Poisson number reaches so many places. A shop
// without a cabinet takes no holds.
func fullChance(mean float64, places int) float64 {
	if places <= 0 || mean <= 0 {
		return 0
	}
	term, below := math.Exp(-mean), 0.0
	for n := range places {
		below += term
		term *= mean / float64(n+1)
	}
	return math.Max(0, 1-below)
}
