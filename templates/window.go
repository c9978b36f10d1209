package templates

import "github.com/shopspring/decimal"

// WaitDays returns the elapsed days that the task waits, its waits one after
// the other. Days with the player count; see [WindowDays] for the job's own.
func (t Template) WaitDays() (low, typical, high decimal.Decimal) {
	for _, w := range t.Waits {
		low, typical, high = low.Add(w.Low), typical.Add(w.Typical), high.Add(w.High)
	}
	return low, typical, high
}

// waitDays is WaitDays of what happens before hand-over, with the hold no
// shorter than HoldLow.
func (it Item) waitDays() (low, typical, high decimal.Decimal) {
	for _, w := range it.Template.Waits {
		if w.Kind == WaitWithPlayer {
			continue
		}
		l, t, h := w.Low, w.Typical, w.High
		if w.Kind == WaitHold && it.HoldLow != nil {
			l = decimal.NewFromInt(int64(max(*it.HoldLow, 0)))
			t, h = decimal.Max(l, t), decimal.Max(l, h)
		}
		low, typical, high = low.Add(l), typical.Add(t), high.Add(h)
	}
	return low, typical, high
}

// AtPitchDays is the day under string tension before hand-over, due when
// anything was glued or strung. Source: common practice, no source.
const AtPitchDays = 1

// WindowDays returns the elapsed days from the first task to hand-over that
// come from waiting alone: within one phase waits overlap, so the longest
// counts; phases follow each other, so they add; and a day at pitch at the end
// when a template asks for it. The queue and the work itself are not in it.
func WindowDays(items []Item) (low, typical, high decimal.Decimal) {
	type days struct{ low, typical, high decimal.Decimal }
	longest := map[Phase]days{}
	atPitch := false
	for _, it := range items {
		l, t, h := it.waitDays()
		d := longest[it.Template.Phase]
		longest[it.Template.Phase] = days{decimal.Max(d.low, l), decimal.Max(d.typical, t), decimal.Max(d.high, h)}
		atPitch = atPitch || it.Template.AtPitch
	}
	for _, d := range longest {
		low, typical, high = low.Add(d.low), typical.Add(d.typical), high.Add(d.high)
	}
	if atPitch {
		day := decimal.NewFromInt(AtPitchDays)
		low, typical, high = low.Add(day), typical.Add(day), high.Add(day)
	}
	return low, typical, high
}

// Ramp says how fast a hold may raise the humidity.
type Ramp struct {
	Target  decimal.Decimal // % RH where the ramp ends
	Step    decimal.Decimal // % RH a day, above 0
	Plateau int             // days at the target before the wood can be called steady
}

// DefaultRamp goes to 45 % by 5 % a day, then stays two days. Source: the step
// is museum guidance, no more than 5 % change in 24 hours (conservation manual,
// wood, Western Australian Museum); target and plateau are common practice, no source.
func DefaultRamp() Ramp {
	return Ramp{Target: decimal.NewFromInt(45), Step: decimal.NewFromInt(5), Plateau: 2}
}

// LowDays returns the fewest days a hold can take from the RH measured in the
// case: the ramp in whole days and the plateau. A case at or above the target
// needs the plateau alone. It panics when Step is not above 0.
func (r Ramp) LowDays(caseRH decimal.Decimal) int {
	if !r.Step.IsPositive() {
		panic("templates: a ramp needs a step above 0")
	}
	below := r.Target.Sub(caseRH)
	if !below.IsPositive() {
		return r.Plateau
	}
	whole, rest := below.QuoRem(r.Step, 0)
	days := int(whole.IntPart())
	if rest.IsPositive() {
		days++
	}
	return days + r.Plateau
}

// HoldLowDays is LowDays of the default ramp: 6 days from 27 %.
func HoldLowDays(caseRH decimal.Decimal) int { return DefaultRamp().LowDays(caseRH) }
