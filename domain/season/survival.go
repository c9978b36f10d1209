package season

import (
	"math"
	"slices"
)

// Spell is how long something was watched, and whether it ended then or was only
// not watched any longer.
type Spell struct {
	Time  float64 // from 0 on, in any unit
	Ended bool    // false: it still held when it was last heard of
}

// Step is a point at which a survival curve falls.
type Step struct {
	Time   float64 // in the unit of the spells
	AtRisk int     // watched until just before
	Ended  int     // that ended at this time, 1 or more
	Share  float64 // that still holds from here on, 0 to 1
	Error  float64 // its standard error by Greenwood; 0 where nothing is left

	Low, High       float64 // 95 % limits on the log-log scale, 0 to 1
	LogLow, LogHigh float64 // 95 % limits on the log scale, 0 to 1
}

// Survival is the curve of Kaplan and Meier: one step for each time at which a spell
// ended. Without any end it has no steps, and the share is 1 as far as was watched.
// Spells that stop being watched at the time of an end still count as at risk there.
//
// Where the last spell ends no interval can be told, so both limits are the share.
//
// Source: Kaplan and Meier (1958), Journal of the American Statistical Association
// 53; the standard error is Greenwood's (1926).
func Survival(spells []Spell) []Step {
	sorted := slices.Clone(spells)
	slices.SortFunc(sorted, func(a, b Spell) int {
		switch {
		case a.Time < b.Time:
			return -1
		case a.Time > b.Time:
			return 1
		}
		return 0
	})
	var out []Step
	share, sum := 1.0, 0.0
	for i := 0; i < len(sorted); {
		n, ended, next := len(sorted)-i, 0, i
		for ; next < len(sorted) && sorted[next].Time == sorted[i].Time; next++ {
			if sorted[next].Ended {
				ended++
			}
		}
		if ended > 0 {
			share *= 1 - float64(ended)/float64(n)
			sum += float64(ended) / (float64(n) * float64(n-ended))
			out = append(out, stepOf(sorted[i].Time, n, ended, share, sum))
		}
		i = next
	}
	return out
}

// stepOf gives a step its limits; sum is Greenwood's.
func stepOf(time float64, n, ended int, share, sum float64) Step {
	s := Step{Time: time, AtRisk: n, Ended: ended, Share: share}
	if n == ended {
		s.Share = 0
		return s
	}
	root := math.Sqrt(sum)
	s.Error = share * root
	s.LogLow, s.LogHigh = share*math.Exp(-z95*root), min(1, share*math.Exp(z95*root))
	width := z95 * root / math.Abs(math.Log(share))
	s.Low, s.High = math.Pow(share, math.Exp(width)), math.Pow(share, math.Exp(-width))
	return s
}

// AtRisk counts the spells that were watched until a time or longer.
func AtRisk(spells []Spell, time float64) int {
	n := 0
	for _, s := range spells {
		if s.Time >= time {
			n++
		}
	}
	return n
}

// FewAtRisk is below how many watched cases a survival curve is not shown any
// further. Our rule, no source.
const FewAtRisk = 5

// Shown is how far a survival curve is worth showing: the time up to which at least
// [FewAtRisk] spells were watched; 0 when there never were as many.
func Shown(spells []Spell) float64 {
	if len(spells) < FewAtRisk {
		return 0
	}
	times := make([]float64, len(spells))
	for i, s := range spells {
		times[i] = s.Time
	}
	slices.Sort(times)
	return times[len(times)-FewAtRisk]
}
