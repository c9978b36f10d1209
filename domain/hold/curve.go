package hold

import (
	"math"
	"time"
)

// curve is the fitted signal of a hold.
type curve struct {
	start time.Time
	draws []draw
	floor bool // the signal stops at zero
}

func (c *curve) at(day float64) Span {
	values := make([]float64, len(c.draws))
	for i, d := range c.draws {
		values[i] = d.level + d.amp*math.Exp(-day/d.tau)
		if c.floor {
			values[i] = max(values[i], 0)
		}
	}
	return spanOf(values)
}

// Curve returns the fitted signal at a moment, in the judgement's unit, with
// the band in which its true value lies in eight of ten cases. It returns false
// without a fit and before the hold began.
func (j Judgement) Curve(at time.Time) (Span, bool) {
	if j.curve == nil || at.Before(j.curve.start) {
		return Span{}, false
	}
	return j.curve.at(daysBetween(j.curve.start, at)), true
}

// daysBetween returns the days from a to b, by the clock and not the calendar.
func daysBetween(a, b time.Time) float64 { return b.Sub(a).Hours() / 24 }
