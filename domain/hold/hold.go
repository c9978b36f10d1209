// Package hold tells from the readings of a rehumidify hold whether the wood
// still drinks, is steady, or has a crack that will not close, and when it is
// likely to be ready.
//
// A hold ends by measurement, not by days. The verdict is a plain rule on the
// readings; the fitted curve and its window only foretell it. docs/science.md,
// "The hold", explains the model, its range and its uncertainty.
package hold

import (
	"time"

	"winterbench/domain"
)

// Verdict is what the readings say of a hold.
type Verdict string

// The verdicts.
const (
	StillDrinking Verdict = "still drinking"
	Steady        Verdict = "steady"
	WillNotClose  Verdict = "will not close"
)

// Rule holds the owner's figures for releasing a hold. A field that is zero is
// completed by Usual. The figures are common practice, no source, unless said.
type Rule struct {
	LowRH       float64 `json:"low_rh"`       // % RH: body air from here is right for work
	HighRH      float64 `json:"high_rh"`      // % RH: body air up to here is right for work
	GapLimit    float64 `json:"gap_limit"`    // mm: a crack no wider counts as closed
	WeightStill float64 `json:"weight_still"` // g a day: a change below it counts as none
	StillHours  float64 `json:"still_hours"`  // hours over which nothing may move
	GapStill    float64 `json:"gap_still"`    // mm: a change up to it counts as none, what a feeler tells apart
	ArchFrom    float64 `json:"arch_from"`    // mm behind the bridge: the arch must be back to this
	MaxRate     float64 `json:"max_rate"`     // % RH in 24 h. Source: Western Australian Museum, conservation manual, wood
	StopRH      float64 `json:"stop_rh"`      // % RH: from here the hold is stopped
	GiveUpDays  float64 `json:"give_up_days"` // days: an open crack that has not moved for so long will not close
}

// Usual returns the usual rule.
func Usual() Rule {
	return Rule{
		LowRH: 45, HighRH: 50, GapLimit: 0.1, WeightStill: 2, StillHours: 48, GapStill: 0.05,
		ArchFrom: 0.5, MaxRate: 5, StopRH: 60, GiveUpDays: 14,
	}
}

// Complete returns the rule with the usual figures in place of zeros.
func (r Rule) Complete() Rule {
	usual := Usual()
	full := usual.figures()
	for i, f := range r.figures() {
		if *f.value == 0 {
			*f.value = *full[i].value
		}
	}
	return r
}

// figure is one figure of a rule with the range that makes sense.
type figure struct {
	name      string
	value     *float64
	low, high float64
	unit      string
}

func (r *Rule) figures() []figure {
	return []figure{
		{"low_rh", &r.LowRH, 30, 60, "% RH"},
		{"high_rh", &r.HighRH, 35, 65, "% RH"},
		{"gap_limit", &r.GapLimit, 0.01, 2, "mm"},
		{"weight_still", &r.WeightStill, 0.1, 50, "g a day"},
		{"still_hours", &r.StillHours, 12, 240, "hours"},
		{"gap_still", &r.GapStill, 0.01, 0.5, "mm"},
		{"arch_from", &r.ArchFrom, -3, 3, "mm"},
		{"max_rate", &r.MaxRate, 1, 30, "% RH a day"},
		{"stop_rh", &r.StopRH, 50, 75, "% RH"},
		{"give_up_days", &r.GiveUpDays, 2, 120, "days"},
	}
}

// Check completes the rule and returns an Invalid error that names every figure
// outside the range that makes sense.
func (r *Rule) Check() error {
	*r = r.Complete()
	f := domain.Fields{}
	for _, fig := range r.figures() {
		if !(*fig.value >= fig.low && *fig.value <= fig.high) { // NaN is outside
			f.Add(fig.name, "must be from %g to %g %s", fig.low, fig.high, fig.unit)
		}
	}
	if r.LowRH >= r.HighRH {
		f.Add("high_rh", "must be above the low figure, %g %% RH", r.LowRH)
	}
	if r.StopRH <= r.HighRH {
		f.Add("stop_rh", "must be above the high figure, %g %% RH", r.HighRH)
	}
	return f.Err()
}

// Reading is what was read at one moment of a hold; nil is not measured.
type Reading struct {
	At      time.Time
	RH      *float64 // % relative humidity of the body's air, with the meter's offset
	Shown   *float64 // % as the meter showed RH before its offset; nil: it has none
	Gap     *float64 // mm, width of the worst crack
	Arch    *float64 // mm, behind the bridge; negative is sunken
	Weight  *float64 // g
	Trusted bool     // RH was read with a meter within its calibration
}

// Input is a hold as far as it has come.
type Input struct {
	Start    time.Time // zero: the first reading
	Now      time.Time // zero: the last reading
	Readings []Reading // in any order
	Rule     Rule      // completed by Usual
	Prior    Prior     // zero: what is known of holds in general
	HighDays float64   // the template's high wait in days, 0 unknown
}

// Prior is what is known of the time constant before any reading: its natural
// logarithm is taken as normal.
type Prior struct {
	LogDays float64 // mean of ln(time constant in days), -10 to 10
	Spread  float64 // its standard deviation, 0.01 to 10; outside the prior is the general one
}

// Span is a figure with its uncertainty: one in ten lies below P10, half below
// P50, nine in ten below P90.
type Span struct{ P10, P50, P90 float64 }

// Window says when the release rule is likely to be met.
type Window struct {
	Known         bool
	P10, P50, P90 time.Time // zero when not known
	Text          string    // one sentence; why, when not known
}

// Caution is something the bench must see at once.
type Caution struct {
	Text string
	Stop bool // stop the hold now
}

// Judgement is what Judge found.
type Judgement struct {
	Verdict  Verdict
	Why      []string // what is missing to be steady, or what makes the verdict
	Signal   string   // series that carries the fit: gap, weight, arch or rh; "" for none
	Unit     string   // of the signal
	Level    Span     // where the signal settles; zero without a fit
	TauDays  Span     // time constant in days; zero without a fit
	Ready    Window
	Cautions []Caution
	Doubts   []string // what is wrong with the data, and what was done about it

	curve *curve
	worse bool // the crack grows
}
