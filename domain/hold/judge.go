package hold

import (
	"fmt"
	"math"
	"slices"
)

// judge holds what is needed while a hold is judged.
type judge struct {
	*record
	in      Input
	rule    Rule
	fits    []*fitted
	airless bool // judge what there is although the air was not read
	missing []string
	facts   []string
}

// Judge says what the readings show. It is a plain function of its input, does
// not panic on any, and takes readings in any order.
func Judge(in Input) Judgement { return judged(in, false) }

func judged(in Input, airless bool) Judgement { return newJudge(in, airless).judgement() }

func newJudge(in Input, airless bool) *judge {
	in.complete()
	j := &judge{in: in, airless: airless}
	wrong := in.Rule.Check()
	j.rule = in.Rule
	j.record = tidy(in)
	if wrong != nil {
		j.rule = Usual()
		j.doubt("The shop's rule for holds makes no sense (%v); the usual rule was used.", wrong)
	}
	j.fitAll()
	return j
}

// fitAll fits what follows the wood, and the air only without any of that: it
// shows the humidifier as much as the wood. A crack that grows follows no curve
// of closing, and the wood beside it is not to be trusted to one either.
func (j *judge) fitAll() {
	if j.grows() {
		return
	}
	for _, s := range []series{j.gap, j.weight, j.arch, j.rh} {
		if s.name == "rh" && (j.gap.any() || j.weight.any() || j.arch.any()) {
			return
		}
		if f := fit(s, j.in.Start, j.in.Prior); f != nil {
			j.fits = append(j.fits, f)
		}
	}
}

// complete fills in what was left out.
func (in *Input) complete() {
	if in.Start.IsZero() && len(in.Readings) > 0 {
		in.Start = slices.MinFunc(in.Readings, earlier).At
	}
	if in.Now.IsZero() && len(in.Readings) > 0 {
		in.Now = slices.MaxFunc(in.Readings, earlier).At
	}
	if p := in.Prior; !(p.Spread >= 0.01 && p.Spread <= 10 && math.Abs(p.LogDays) <= 10) {
		in.Prior = generalPrior
	}
}

func (j *judge) judgement() Judgement {
	out := Judgement{Verdict: StillDrinking, worse: j.grows()}
	j.checkAll()
	switch open := j.openFor(); {
	case open != "":
		out.Verdict = WillNotClose
		out.Why = []string{open, "Offer a splint, or look for another cause: old cracks and lost wood do not close by water."}
		out.Ready.Text = "the crack has settled open"
	case len(j.missing) == 0:
		out.Verdict = Steady
		out.Why = append(j.facts, j.unmeasured()...)
		out.Ready = Window{Known: true, P10: j.in.Now, P50: j.in.Now, P90: j.in.Now, Text: "ready now"}
	default:
		out.Why = j.missing
		out.Ready = j.window()
	}
	out.carry(j.fits)
	out.Cautions = j.cautions()
	out.Doubts = j.doubts
	return out
}

// carry takes over the fit that carries the judgement: the crack's if there is
// one, else the weight's, the arch's, the air's.
func (out *Judgement) carry(fits []*fitted) {
	if len(fits) == 0 {
		return
	}
	f := fits[0]
	out.Signal, out.Unit, out.Level, out.TauDays, out.curve = f.name, f.unit, f.level, f.tau, f.curve
}

// miss notes what is missing to be steady.
func (j *judge) miss(format string, args ...any) {
	j.missing = append(j.missing, fmt.Sprintf(format, args...))
}

// fact notes what speaks for steady.
func (j *judge) fact(format string, args ...any) {
	j.facts = append(j.facts, fmt.Sprintf(format, args...))
}

// checkAll goes through the release rule. Source: common practice, no source.
func (j *judge) checkAll() {
	j.checkGrowth()
	j.checkAir()
	j.checkGap()
	j.checkWeight()
	j.checkArch()
	j.checkSpan()
}

// still is the span over which nothing may move, in days.
func (j *judge) still() float64 { return j.rule.StillHours / 24 }

// longest is how many days may pass without a reading: the still hours and a
// day. Source: common practice, no source.
func (j *judge) longest() float64 { return j.still() + 1 }

// fresh reports whether a series was read lately, and notes when it was not.
func (j *judge) fresh(s series) bool {
	old := j.now - s.lastDay()
	if old > j.longest() {
		j.miss("The %s was last read %.0f days ago: read it again.", s.words, old)
		return false
	}
	return true
}

// checkWeight looks at the weight.
func (j *judge) checkWeight() {
	if !j.weight.any() || !j.fresh(j.weight) {
		return
	}
	from, ok := j.weight.since(j.still())
	if !ok {
		j.miss("The weight has been read over %.0f hours: %.0f are needed.", 24*j.weight.span(), j.rule.StillHours)
		return
	}
	days := j.weight.lastDay() - j.weight.day[from]
	rate := (j.weight.last() - j.weight.value[from]) / days
	switch {
	case rate >= j.rule.WeightStill:
		j.miss("It still gains %.1f g a day: under %g is steady.", rate, j.rule.WeightStill)
	case rate <= -j.rule.WeightStill:
		j.miss("It loses %.1f g a day: look at the humidifier and the seal.", -rate)
	}
	j.fact("The weight changes by %.1f g a day.", rate)
}

// checkArch looks at the arch behind the bridge.
func (j *judge) checkArch() {
	if !j.arch.any() || !j.fresh(j.arch) {
		return
	}
	if j.arch.last() < j.rule.ArchFrom-rounding {
		j.miss("The arch is at %s mm: it must be back to %+.4g.", told("%+.*f", j.arch.last(), j.rule.ArchFrom, 1), j.rule.ArchFrom)
		return
	}
	j.fact("The arch is back at %+.1f mm.", j.arch.last())
}

// checkSpan says when a bare calculation has nothing to judge by; the air asks
// for its own span.
func (j *judge) checkSpan() {
	if j.airless && !j.gap.any() && !j.weight.any() {
		j.miss("There is no crack width or weight to judge by.")
	}
}

// unmeasured says what the verdict had to do without.
func (j *judge) unmeasured() []string {
	var out []string
	for _, s := range []struct {
		series
		text string
	}{
		{j.gap, "No crack was measured."},
		{j.weight, "The weight was not measured."},
		{j.arch, "The arch was not measured."},
		{j.rh, "The air was not read: in the shop it must be."},
	} {
		if !s.any() {
			out = append(out, s.text)
		}
	}
	return out
}
