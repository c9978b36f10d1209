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

func judged(in Input, airless bool) Judgement {
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
	return j.judgement()
}

// fitAll fits what follows the wood, and the air only without any of that: it
// shows the humidifier as much as the wood.
func (j *judge) fitAll() {
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
	out := Judgement{Verdict: StillDrinking}
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
		if j.grows() {
			out.Ready = Window{Text: "the crack is growing"}
		}
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
	j.checkAir()
	j.checkGap()
	j.checkWeight()
	j.checkArch()
	j.checkSpan()
}

// still is the span over which nothing may move, in days.
func (j *judge) still() float64 { return j.rule.StillHours / 24 }

// fresh reports whether a series was read lately, and notes when it was not.
func (j *judge) fresh(s series) bool {
	old := j.now - s.lastDay()
	if old > j.still()+1 {
		j.miss("The %s was last read %.0f days ago: read it again.", s.words, old)
		return false
	}
	return true
}

// checkAir looks at the air in the body.
func (j *judge) checkAir() {
	if !j.rh.any() {
		if !j.airless {
			j.miss("The air in the body was not read: a hold is steady only at %g to %g %%.", j.rule.LowRH, j.rule.HighRH)
		}
		return
	}
	if !j.rh.trusted[len(j.rh.trusted)-1] {
		j.miss("The air was read with a meter that is out of calibration: calibrate it or use another.")
		return
	}
	low, high := j.airOver(j.still())
	switch fresh := j.fresh(j.rh); {
	case low < j.rule.LowRH:
		j.miss("The air in the body was at %.4g %% in the last %.0f hours: it must stay at %g to %g %%.", low, j.rule.StillHours, j.rule.LowRH, j.rule.HighRH)
	case high > j.rule.HighRH:
		j.miss("The air in the body was at %.4g %% in the last %.0f hours: it must stay at %g to %g %%. Never push a crack shut with moister air.", high, j.rule.StillHours, j.rule.LowRH, j.rule.HighRH)
	case j.stuck():
		j.miss("The meter of the air may stick: confirm the air with another reading.")
	case fresh:
		j.fact("The air in the body stands at %.4g %%.", j.rh.last())
	}
}

// airOver returns the lowest and highest trusted reading of the last days.
func (j *judge) airOver(days float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i, v := range j.rh.value {
		if j.rh.trusted[i] && j.rh.lastDay()-j.rh.day[i] <= days {
			low, high = min(low, v), max(high, v)
		}
	}
	return low, high
}

// nearlyRight is by how many % RH the air may stray before a crack that does not
// move is excused by it. Our own judgement.
const nearlyRight = 3

// rightFor returns for how many days up to its last reading the air has given the
// crack the chance to close. Without air in a bare calculation that is always.
func (j *judge) rightFor() float64 {
	if !j.rh.any() && j.airless {
		return math.Inf(1)
	}
	n := len(j.rh.value)
	if n == 0 || !j.rh.trusted[n-1] || j.stuck() || j.now-j.rh.lastDay() > j.still()+1 {
		return 0
	}
	right := 0.0
	for i := n - 1; i >= 0; i-- {
		v := j.rh.value[i]
		if v < j.rule.LowRH-nearlyRight || v > j.rule.HighRH+nearlyRight {
			break
		}
		if j.rh.trusted[i] {
			right = j.rh.lastDay() - j.rh.day[i]
		}
	}
	return right
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
	change := last - first
	if math.Abs(change) > j.rule.GapStill+rounding {
		j.miss("The crack still moves: from %.2f to %.2f mm in the last %.0f hours.", first, last, 24*(j.gap.lastDay()-j.gap.day[from]))
	}
	width := mean(j.gap.value[from:])
	if width > j.rule.GapLimit+rounding {
		j.miss("The crack is %.2f mm wide: it counts as closed at %g mm.", last, j.rule.GapLimit)
		j.slow()
	}
	j.fact("The crack has stood at %.2f mm for %.0f hours.", last, j.rule.StillHours)
}

// rounding keeps 0.15 - 0.10 from being more than 0.05.
const rounding = 1e-9

// slow adds what to know about a crack that stays open.
func (j *judge) slow() {
	days, right := j.motionless(), j.rightFor()
	switch {
	case days < j.still():
	case right >= days*23/24:
		j.miss("The crack has not moved for %.0f days: it may not close.", days)
	case right > 0:
		j.miss("The crack has not moved for %.0f days, %.0f of them in the right air.", days, right)
	default:
		j.miss("The crack has not moved for %.0f days, but the air is not right: see to the air first.", days)
	}
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
		j.miss("The arch is at %+.1f mm: it must be back to %+.1f.", j.arch.last(), j.rule.ArchFrom)
		return
	}
	j.fact("The arch is back at %+.1f mm.", j.arch.last())
}

// checkSpan asks for readings over the still hours when neither crack nor weight
// has asked already.
func (j *judge) checkSpan() {
	if j.gap.any() || j.weight.any() {
		return
	}
	if _, ok := j.rh.since(j.still()); !ok && !j.airless {
		j.miss("The readings span %.0f hours: %.0f are needed.", 24*j.rh.span(), j.rule.StillHours)
	}
	if j.airless {
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
	if f == nil || j.grows() || j.now-f.lastDay() > j.still()+1 {
		return ""
	}
	from, ok := f.since(j.still())
	if !ok || mean(f.value[from:]) <= j.rule.GapLimit+rounding {
		return ""
	}
	high := j.in.HighDays
	if !(high > 0) {
		high = j.rule.GiveUpDays
	}
	days, right := j.motionless(), j.rightFor()
	switch {
	case f.level.P10 <= j.rule.GapLimit: // it may yet settle within the limit
	case min(days, right) >= j.rule.GiveUpDays*23/24:
		return fmt.Sprintf("The crack has not moved for %.0f days and is %.2f mm wide: over %g mm it does not count as closed.", days, f.last(), j.rule.GapLimit)
	case j.now > high && days >= j.still() && right >= j.still()*23/24:
		return fmt.Sprintf("After %.0f days the crack has settled at %.2f mm: over %g mm it does not count as closed.", j.now, f.level.P50, j.rule.GapLimit)
	}
	return ""
}

func (j *judge) gapFit() *fitted {
	if len(j.fits) > 0 && j.fits[0].name == "gap" {
		return j.fits[0]
	}
	return nil
}

// cautions warns of air that is too moist or changed too fast.
func (j *judge) cautions() []Caution {
	if !j.rh.any() {
		return nil
	}
	var out []Caution
	if last := j.rh.last(); last >= j.rule.StopRH {
		out = append(out, Caution{fmt.Sprintf("Air at %.4g %%: too moist. Stop, open the cabinet and let it come down slowly.", last), true})
	}
	if change := j.fastest(); math.Abs(change) > j.rule.MaxRate+rounding {
		out = append(out, Caution{Text: fmt.Sprintf("The air moved by %+g %% within a day; %g is the most. Slow down: quick changes open new cracks.", math.Round(change*10)/10, j.rule.MaxRate)})
	}
	return out
}

// fastest returns the largest change of the air to its last reading, in % RH a
// day: against every reading of the day before, or the one before that.
func (j *judge) fastest() float64 {
	worst, n := 0.0, len(j.rh.value)-1
	for i := n - 1; i >= 0; i-- {
		days := j.rh.lastDay() - j.rh.day[i]
		if days > 1 && i < n-1 {
			break
		}
		change := (j.rh.last() - j.rh.value[i]) / max(days, 1)
		if math.Abs(change) > math.Abs(worst) {
			worst = change
		}
	}
	return worst
}
