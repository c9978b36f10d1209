package hold

import (
	"fmt"
	"math"
	"strconv"
)

// checkGrowth says first of all that a crack is getting worse.
func (j *judge) checkGrowth() {
	if j.grows() {
		j.miss("The crack is getting worse: %.2f mm at first, %.2f mm now. Look: it may run on, the air may be too dry, or the measure may be wrong.", j.gap.value[0], j.gap.last())
	}
}

// checkGap looks at the crack.
func (j *judge) checkGap() {
	if !j.gap.any() || !j.fresh(j.gap) {
		return
	}
	from, ok := j.gap.since(j.still())
	if !ok {
		j.miss("The crack has been read over %.0f hours: %.0f are needed.", 24*j.gap.span(), j.rule.StillHours)
		return
	}
	first, last := j.gap.value[from], j.gap.last()
	hours := 24 * (j.gap.lastDay() - j.gap.day[from])
	if math.Abs(last-first) > j.rule.GapStill+rounding {
		j.miss("The crack still moves: from %.2f to %.2f mm over %.0f hours%s.", first, last, hours, j.upTo(j.gap))
	}
	width := mean(j.gap.value[from:])
	if width > j.rule.GapLimit+rounding {
		j.miss("The crack is %s mm wide as the mean of %.0f hours: it counts as closed at %g mm.", j.width(width), hours, j.rule.GapLimit)
		j.slow()
	}
	j.fact("The crack has stood at %s mm, as the mean of %.0f hours.", j.width(width), hours)
}

// upTo says when the last reading was, when it was not today's.
func (j *judge) upTo(s series) string {
	if old := j.now - s.lastDay(); old > 1 {
		return ", last read " + ago(old)
	}
	return ""
}

// width writes a width of the crack so that it does not seem to keep a limit that
// it does not keep.
func (j *judge) width(v float64) string { return told("%.*f", v, j.rule.GapLimit, 2) }

// told writes a figure with as many places as it takes to see on which side of
// the limit it lies, at most six.
func told(format string, v, limit float64, places int) string {
	for ; places < 6; places++ {
		s := fmt.Sprintf(format, places, v)
		if shown, err := strconv.ParseFloat(s, 64); err == nil && (shown > limit) == (v > limit+rounding) && (shown < limit) == (v < limit-rounding) {
			return s
		}
	}
	return fmt.Sprintf(format, places, v)
}

// rounding keeps 0.15 - 0.10 from being more than 0.05.
const rounding = 1e-9

// slow adds what to know about a crack that stays open.
func (j *judge) slow() {
	days, right := j.motionless(), j.rightFor()
	switch {
	case days < j.still():
	case right >= days*lenient:
		j.miss("The crack has not moved for %.0f days: it may not close.", days)
	case right > 0:
		j.miss("The crack has not moved for %.0f days, %.0f of them in the right air.", days, right)
	default:
		j.miss("The crack has not moved for %.0f days, but the air is not right: see to the air first.", days)
	}
}

// motionless returns for how many days up to the last reading the crack has not
// moved: the longest span over which neither its halves nor its ends differ by
// more than a feeler tells apart.
func (j *judge) motionless() float64 {
	g := j.gap
	for from := range g.value {
		v := g.value[from:]
		half := (len(v) + 1) / 2
		drift := mean(v[:half]) - mean(v[len(v)-half:])
		if len(v) > 1 && math.Abs(drift) <= j.rule.GapStill/2+rounding && math.Abs(v[0]-v[len(v)-1]) <= j.rule.GapStill+rounding {
			return g.lastDay() - g.day[from]
		}
	}
	return 0
}

// openFor says why the crack will not close, "" when that cannot be said.
func (j *judge) openFor() string {
	f := j.gapFit()
	if f == nil || j.now-f.lastDay() > j.longest() {
		return ""
	}
	from, ok := f.since(j.still())
	if !ok {
		return ""
	}
	width := mean(f.value[from:])
	if width <= j.rule.GapLimit+rounding {
		return ""
	}
	high := j.in.HighDays
	if !(high > 0) {
		high = j.rule.GiveUpDays
	}
	days, right := j.motionless(), j.rightFor()
	switch {
	case f.level.P10 <= j.rule.GapLimit: // it may yet settle within the limit
	case min(days, right) >= j.rule.GiveUpDays*lenient:
		return fmt.Sprintf("The crack has not moved for %.0f days and is %s mm wide: over %g mm it does not count as closed.", days, j.width(width), j.rule.GapLimit)
	case j.now > high && days >= j.still() && right >= j.still()*lenient:
		return fmt.Sprintf("After %.0f days the crack has settled at %s mm: over %g mm it does not count as closed.", j.now, j.width(f.level.P50), j.rule.GapLimit)
	}
	return ""
}

func (j *judge) gapFit() *fitted {
	if len(j.fits) > 0 && j.fits[0].name == "gap" {
		return j.fits[0]
	}
	return nil
}
