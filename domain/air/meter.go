package air

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// Meter reads humidity. A meter without a place travels.
type Meter struct {
	ID           domain.MeterID
	Name         string
	Place        domain.AirPlaceID // where it usually lies; 0 when it travels
	Note         string
	Retired      time.Time // zero while in use
	Version      int
	Calibrations []Calibration // oldest first
}

// Check tidies the meter and returns an Invalid error that names each wrong
// field.
func (m *Meter) Check() error {
	f := domain.Fields{}
	m.Name = domain.Line(f, "name", m.Name, 60, true)
	m.Note = domain.Line(f, "note", m.Note, 300, false)
	return f.Err()
}

// Calibration is one check of a meter against salts. It is never changed: a
// newer one takes over.
type Calibration struct {
	ID     int64
	Meter  domain.MeterID
	At     time.Time
	By     string
	Points []Point // one or two
	Due    domain.Date
	Note   string
}

// Point is one salt of a calibration: what its air is, and what the meter said.
type Point struct {
	Salt    string          `json:"salt"`
	Celsius decimal.Decimal `json:"celsius"` // of the closed box
	Hours   decimal.Decimal `json:"hours"`   // the meter lay in it
	True    decimal.Decimal `json:"true"`    // % RH over the salt
	Read    decimal.Decimal `json:"read"`    // % RH that the meter showed
}

// Offset is what must be added to what the meter shows.
func (p Point) Offset() decimal.Decimal { return p.True.Sub(p.Read) }

// MostOffset and MostDrift are how far, in % RH, a meter may be out, and how far
// two checks running may lie apart, before it is retired. Common practice, no
// source.
var (
	MostOffset = percent(6)
	MostDrift  = percent(3)
)

// offset is what the calibration adds to a value read: between two points the
// straight line, beyond them the offset of the nearer one, with 2 decimals.
func (c Calibration) offset(raw decimal.Decimal) decimal.Decimal {
	points := slices.Clone(c.Points)
	slices.SortFunc(points, func(a, b Point) int { return a.Read.Cmp(b.Read) })
	low, high := points[0], points[len(points)-1]
	switch {
	case !raw.GreaterThan(low.Read):
		return low.Offset()
	case !raw.LessThan(high.Read):
		return high.Offset()
	}
	along := raw.Sub(low.Read).Mul(high.Offset().Sub(low.Offset()))
	return low.Offset().Add(along.DivRound(high.Read.Sub(low.Read), 6)).Round(2)
}

// Correct puts a value right that the meter showed at a moment, by its newest
// calibration not after it. Offset is what was added; the corrected value stays
// within 0 to 100 %. It is trusted only while the meter is in use and within its
// calibration, to the end of the day it is due; else why says what is wrong.
// Without a calibration the value comes back as it was read.
func (m Meter) Correct(raw decimal.Decimal, at time.Time) (corrected, offset decimal.Decimal, trusted bool, why string) {
	why = m.Doubt(at)
	now, _ := m.checks(at)
	if now == nil {
		return raw, decimal.Zero, false, why
	}
	corrected = raw.Add(now.offset(raw))
	corrected = decimal.Min(decimal.Max(corrected, decimal.Zero), percent(100))
	return corrected, corrected.Sub(raw), why == "", why
}

// Doubt says why the meter is not to be trusted at a moment, "" when it is: it
// is retired, was never calibrated, is overdue, is out by more than [MostOffset]
// or drifted by more than [MostDrift] between the last two checks.
func (m Meter) Doubt(at time.Time) string {
	now, before := m.checks(at)
	switch {
	case !m.Retired.IsZero() && !at.Before(m.Retired):
		return m.Name + " is retired"
	case now == nil:
		return m.Name + " was never calibrated"
	}
	if out := now.worst(); out.GreaterThan(MostOffset) {
		return fmt.Sprintf("%s is out by %s %%, more than %s: retire it", m.Name, out, MostOffset)
	}
	if before != nil {
		if d := now.drift(*before); d.GreaterThan(MostDrift) {
			return fmt.Sprintf("%s drifted by %s %% between two checks, more than %s: retire it", m.Name, d, MostDrift)
		}
	}
	if domain.DateOf(at) > now.Due {
		return fmt.Sprintf("%s was due for calibration on %s", m.Name, now.Due)
	}
	return ""
}

// DueOn is the day on which the next calibration is due as things stood at a
// moment, "" when there was none before.
func (m Meter) DueOn(at time.Time) domain.Date {
	if now, _ := m.checks(at); now != nil {
		return now.Due
	}
	return ""
}

// Last returns the newest calibration not after a moment, nil for none.
func (m Meter) Last(at time.Time) *Calibration {
	now, _ := m.checks(at)
	return now
}

// checks returns the newest calibration not after a moment and the one before.
func (m Meter) checks(at time.Time) (now, before *Calibration) {
	for i := range m.Calibrations {
		c := &m.Calibrations[i]
		if c.At.After(at) || len(c.Points) == 0 {
			continue
		}
		switch {
		case now == nil || !c.At.Before(now.At):
			now, before = c, now
		case before == nil || !c.At.Before(before.At):
			before = c
		}
	}
	return now, before
}

// worst is the largest offset of the points, without its sign.
func (c Calibration) worst() decimal.Decimal {
	out := decimal.Zero
	for _, p := range c.Points {
		out = decimal.Max(out, p.Offset().Abs())
	}
	return out
}

// drift is the largest change of the offset since an earlier calibration, at
// the values read in this one.
func (c Calibration) drift(before Calibration) decimal.Decimal {
	out := decimal.Zero
	for _, p := range c.Points {
		out = decimal.Max(out, p.Offset().Sub(before.offset(p.Read)).Abs())
	}
	return out
}
