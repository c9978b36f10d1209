package job

import (
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// Warranty is what the shop stands for: its own workmanship for so many days
// after hand-over, in air between two limits. Local consumer law may give the
// customer more; the owner checks it.
type Warranty struct {
	Days   int `json:"days"`    // after hand-over; 0: none beyond the law
	LowRH  int `json:"low_rh"`  // %, below it the air is named as the cause
	HighRH int `json:"high_rh"` // %, above it likewise
}

// UsualWarranty is what a shop starts with: 90 days, air from 40 to 60 %.
// Source: common practice, no source.
var UsualWarranty = Warranty{Days: 90, LowRH: 40, HighRH: 60}

// OrUsual is w, or the usual one for a shop that never set any.
func (w Warranty) OrUsual() Warranty {
	if w == (Warranty{}) {
		return UsualWarranty
	}
	return w
}

// Check names each wrong figure.
func (w Warranty) Check() error {
	f := domain.Fields{}
	if w.Days < 0 || w.Days > 3650 {
		f.Add("days", "must be from 0 to 3650")
	}
	if w.LowRH < 0 || w.LowRH > 100 {
		f.Add("low_rh", "must be from 0 to 100 %%")
	}
	if w.HighRH < 0 || w.HighRH > 100 || w.HighRH <= w.LowRH {
		f.Add("high_rh", "must be from 0 to 100 %% and above the low limit, %d %%", w.LowRH)
	}
	return f.Err()
}

// Dry and Moist report whether measured air lies outside the limits; air that
// was not measured is neither.
func (w Warranty) Dry(rh wood.Measure) bool {
	return rh.Is() && rh.Value.LessThan(decimal.NewFromInt(int64(w.LowRH)))
}

// Moist is the other side of Dry.
func (w Warranty) Moist(rh wood.Measure) bool {
	return rh.Is() && rh.Value.GreaterThan(decimal.NewFromInt(int64(w.HighRH)))
}

// Decide records who pays for work that came back. It may be decided again; the
// diary keeps what stood before. Who paid nothing yet is no matter here: an
// issued invoice is refused by the use case.
func (j *Job) Decide(c Comeback) error {
	if j.ComebackOf == 0 {
		return domain.Conflictf("tag %d is not linked to an earlier job; link it first", j.Tag)
	}
	f := domain.Fields{}
	domain.OneOf(f, "cause", c.Cause, ComebackCauses())
	domain.OneOf(f, "share", c.Share, Shares())
	c.Why = domain.Line(f, "why", c.Why, 300, true)
	if err := f.Err(); err != nil {
		return err
	}
	j.Comeback = &c
	return nil
}

// Link names the earlier job that this one repeats. It must be an earlier visit
// of the same instrument; a nil earlier takes the link away, which a decision
// that stands forbids.
func (j *Job) Link(earlier *Job) error {
	switch {
	case earlier == nil && j.Comeback != nil:
		return domain.Conflictf("who pays was decided on this link; link another job instead")
	case earlier == nil:
		j.ComebackOf = 0
		return nil
	case earlier.ID == j.ID:
		return domain.Invalidf("a job does not come back from itself")
	case earlier.Instrument != j.Instrument:
		return domain.Invalidf("tag %d was another instrument", earlier.Tag)
	case earlier.Arrival.At.After(j.Arrival.At):
		return domain.Invalidf("tag %d came in later than tag %d", earlier.Tag, j.Tag)
	}
	j.ComebackOf = earlier.ID
	return nil
}

// String says the decision in words.
func (c *Comeback) String() string {
	if c == nil {
		return ""
	}
	return string(c.Share) + ": " + c.Cause + "; " + c.Why
}
