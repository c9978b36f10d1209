package hold

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// What is known of each signal before any reading. Noise is the scatter of one
// reading by hand. Source: reference notes on drying for the noise of gap and
// weight and the prior of the time constant; the rest is our own judgement.
var (
	generalPrior = Prior{LogDays: math.Log(3), Spread: 1} // 95 %: 0.4 to 21 days

	gapModel  = model{noise: 0.04, level: believe(0, 0.2), amp: believe(0.5, 1.5)} // cut off at 0
	archModel = model{noise: 0.1, level: believe(1.5, 1), amp: believe(-1, 2)}
	rhModel   = model{noise: 1, level: believe(47.5, 3), amp: believe(-10, 15)}
)

// modelOf returns what is believed of a series. Wood of an instrument gains
// about 4 % of its dry mass from 25 to 50 % RH; not all of the weight is wood.
func modelOf(s series, p Prior) model {
	m := map[string]model{"gap": gapModel, "arch": archModel, "rh": rhModel}[s.name]
	if s.name == "weight" {
		first := s.value[0]
		m = model{noise: 1, level: believe(1.02*first, 0.02*first), amp: believe(-0.02*first, 0.04*first)}
	}
	m.logTau = believe(p.LogDays, p.Spread)
	return m
}

// fitted is one series with its curves.
type fitted struct {
	series
	curve      *curve
	level, tau Span
}

// The least a fit needs.
const (
	fitReadings = 3
	fitDays     = 1
)

// fit fits a series, nil when it is too short to say anything.
func fit(s series, start time.Time, p Prior) *fitted {
	if len(s.value) < fitReadings || s.span() < fitDays {
		return nil
	}
	d, m := data{s.day, s.value, make([]float64, len(s.day))}, modelOf(s, p)
	m.early = startExcess * (slices.Max(s.value) - slices.Min(s.value))
	m.noise *= excess(m, d)
	floor := s.name == "gap"
	c := &curve{start: start, draws: m.posterior(d, floor), floor: floor}
	f := &fitted{series: s, curve: c}
	f.level = c.span(func(d draw) float64 { return d.level })
	f.tau = c.span(func(d draw) float64 { return d.tau })
	return f
}

// startExcess is how much quicker than its last exponential a plate starts, as a
// share of the whole way: pi^2/8 - 1 for pure diffusion, 0 where the humidifier
// sets the pace.
const startExcess = 0.2

// excess is the factor by which the readings scatter more about the best curve
// than their noise explains; 1 where chance would do.
func excess(m model, d data) float64 {
	free := float64(len(d.t) - 3)
	if free < 3 {
		return 1
	}
	tau, s := m.best(d, 1e-3)
	ratio := 0.0
	for i, e := range d.decays(tau) {
		r := d.y[i] - s.level - s.amp*e
		ratio += r * r / m.variance(e) / free
	}
	if ratio < 2 {
		return 1
	}
	return math.Sqrt(ratio)
}

func (c *curve) span(of func(draw) float64) Span {
	values := make([]float64, len(c.draws))
	for i, d := range c.draws {
		values[i] = of(d)
	}
	return spanOf(values)
}

// farthest is the latest day that is counted with.
const farthest = 3650

// ready returns the day on which the draw meets the rule for its series.
//
// A crack is ready once it is within the limit, as near as the mean of a few
// readings tells, and has then stood still for the hours of the rule. Draws that
// never meet the rule are asked about by can.
func (r Rule) ready(name string, d draw) float64 {
	still := r.StillHours / 24
	moves := 1 - math.Exp(-still/d.tau) // share of the distance left that goes in the still hours
	day := 0.0
	switch name {
	case "gap":
		near := max(r.GapLimit-d.level, gapModel.noise/2)
		day = d.within(d.amp, min(near, r.GapStill/moves)) + still
	case "weight":
		day = d.within(math.Abs(d.amp), r.WeightStill*still/moves) + still
	case "arch":
		day = d.within(-d.amp, max(d.level-r.ArchFrom, archModel.noise))
	case "rh":
		room := max(d.level-r.LowRH, rhModel.noise)
		if d.amp > 0 {
			room = max(r.HighRH-d.level, rhModel.noise)
		}
		day = d.within(math.Abs(d.amp), room) + still
	}
	return min(max(day, 0), farthest)
}

// within returns the day on which a distance of amp at the start has shrunk to near.
func (d draw) within(amp, near float64) float64 {
	if amp <= near {
		return 0
	}
	return d.tau * math.Log(amp/near)
}

// can reports whether the draw ever meets the rule for its series: a crack that
// settles over the limit does not, nor an arch that settles below its figure.
func (r Rule) can(name string, d draw) bool {
	switch name {
	case "gap":
		return d.level <= r.GapLimit
	case "arch":
		return d.level >= r.ArchFrom
	}
	return true
}

// outlook is what the curves of one series foretell.
type outlook struct {
	days  Span    // days on which those curves meet the rule that ever do
	share float64 // of the curves that ever do, 0 to 1
}

// few is the share of the curves below which nothing is foretold: the low bound
// of the level of a crack is over its limit then.
const few = 0.1

// foretell asks the curves of a series. The rule cannot be met before the
// earliest day.
func (j *judge) foretell(f *fitted, earliest float64) outlook {
	var days []float64
	for _, d := range f.curve.draws {
		if j.rule.can(f.name, d) {
			days = append(days, max(j.rule.ready(f.name, d), earliest))
		}
	}
	o := outlook{share: float64(len(days)) / float64(len(f.curve.draws))}
	if len(days) > 0 {
		o.days = spanOf(days)
	}
	return o
}

// window foretells when the rule is met by all series that were fitted: the
// later of each figure, as all of them follow the same wood.
func (j *judge) window() Window {
	if j.grows() {
		return Window{Text: "the crack is getting worse"}
	}
	var span Span
	earliest, hope := j.earliest(), 1.
	for _, f := range j.fits {
		o := j.foretell(f, earliest)
		if o.share < few {
			return Window{Text: j.hopeless(f)}
		}
		hope = min(hope, o.share)
		span = Span{max(span.P10, o.days.P10), max(span.P50, o.days.P50), max(span.P90, o.days.P90)}
	}
	if len(j.fits) == 0 || span.P90 > j.now+maxAhead {
		return Window{Text: "not enough readings yet"}
	}
	at := func(day float64) time.Time { // the next full minute, so as not to be early
		return j.in.Start.Add(time.Duration(day * 24 * float64(time.Hour))).Round(time.Second).Add(time.Minute - 1).Truncate(time.Minute)
	}
	w := Window{Known: true, P10: at(span.P10), P50: at(span.P50), P90: at(span.P90), Text: ahead(span, j.now) + j.provided(hope)}
	return w.notBefore(j.in.Now)
}

// hopeless says why a series is not foretold to meet the rule.
func (j *judge) hopeless(f *fitted) string {
	if f.name == "arch" {
		return fmt.Sprintf("by the curve the arch settles at %s mm: it may not come back to %+.4g", told("%+.*f", f.level.P50, j.rule.ArchFrom, 1), j.rule.ArchFrom)
	}
	return fmt.Sprintf("by the curve the crack settles at %s mm: it may not close", j.width(f.level.P50))
}

// provided says on what a window hangs; hope is the share of the curves that
// meet the rule at all.
func (j *judge) provided(hope float64) string {
	text := ""
	if j.airRun().out >= 0 && j.airSpan(j.airRun()) < j.still()*lenient {
		text = ", once the air is right"
	}
	if hope < 1-few {
		text += fmt.Sprintf("; if it comes back at all, as %.0f in 10 of the curves do", 10*hope)
	}
	return text
}

// maxAhead in days is how far ahead a window is worth saying.
const maxAhead = 200

// notBefore holds the window at now or later.
func (w Window) notBefore(now time.Time) Window {
	for _, t := range []*time.Time{&w.P10, &w.P50, &w.P90} {
		if t.Before(now) {
			*t = now
		}
	}
	return w
}

// ahead says a window in days from now.
func ahead(s Span, now float64) string {
	if s.P90-now < 0.5 {
		return "by the curve it has settled; what is still missing decides"
	}
	low, high := math.Floor(s.P10-now), math.Ceil(s.P90-now)
	if low == high {
		return fmt.Sprintf("likely in about %s", days(high))
	}
	return fmt.Sprintf("likely in %.0f to %.0f days, most likely about %.0f", low, high, s.P50-now)
}
