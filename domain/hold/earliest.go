package hold

import "math"

// earliest returns the first day on which the whole rule can be met, whatever
// the curve foretells: it counts from what has been read, takes one more reading
// then for granted, and takes it that the wood does not turn back.
func (j *judge) earliest() float64 {
	return max(j.now, j.airEarliest(), j.gapEarliest(), j.weightEarliest())
}

// airEarliest is when trusted readings in range can span the still hours: those
// of the present run count, else they begin now.
func (j *judge) airEarliest() float64 {
	if j.airless && !j.rh.any() {
		return j.now
	}
	r := j.airRun()
	if r.from == len(j.air.day) || j.now-j.air.lastDay() > j.longest() {
		return j.now + j.still()
	}
	return j.air.day[r.from] + j.still()
}

// gapEarliest is when the mean of the crack over the still hours can be within
// the limit and its change within what a feeler tells apart. The next reading is
// taken as narrow as that change allows.
func (j *judge) gapEarliest() float64 {
	return j.spanEarliest(j.gap, func(from int, _ float64) bool {
		v := j.gap.value[from]
		next := max(v-j.rule.GapStill, 0)
		if j.gap.last() < next-rounding { // it has moved too far already
			return false
		}
		n := float64(len(j.gap.value) - from)
		return (mean(j.gap.value[from:])*n+next)/(n+1) <= j.rule.GapLimit+rounding
	})
}

// weightEarliest is when the weight can have changed little enough: at best it
// stays as it is now.
func (j *judge) weightEarliest() float64 {
	return j.spanEarliest(j.weight, func(from int, at float64) bool {
		return math.Abs(j.weight.last()-j.weight.value[from])/(at-j.weight.day[from]) < j.rule.WeightStill
	})
}

// spanEarliest returns the first day on which a span of still hours may end that
// can do by what is read of a series: the span that begins with reading from is
// asked about at its end. A span that has not begun yet can always do.
func (j *judge) spanEarliest(s series, can func(from int, at float64) bool) float64 {
	if !s.any() {
		return j.now
	}
	for i := j.spanBegins(s); i < len(s.day); i++ {
		if at := max(s.day[i]+j.still(), j.now); can(i, at) {
			return at
		}
	}
	return j.now + j.still()
}

// spanBegins is the newest reading that was at least the still hours ago, the
// first when none was.
func (j *judge) spanBegins(s series) int {
	for i := len(s.day) - 1; i > 0; i-- {
		if j.now-s.day[i] >= j.still()*lenient {
			return i
		}
	}
	return 0
}
