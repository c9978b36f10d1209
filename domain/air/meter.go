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
	Wrong  string // why the check before this one was wrong, which it replaces; "" when that stands
	Sure   bool   // a value more than [MostSlip] out is no slip of the pen; not kept
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

// MostSlip is how far, in % RH, a value may lie from the salt before it is asked
// whether it was typed right; NearHumidity is how near, in % RH, the air of two
// checks must be for their offsets to be compared: one offset says little about
// air far from its salt. Common practice, no source.
var (
	MostSlip     = percent(10)
	NearHumidity = percent(10)
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
	if why := m.fault(at); why != "" {
		return why
	}
	if now, _ := m.checks(at); domain.DateOf(at) > now.Due {
		return m.Name + " was due for calibration on " + now.Due.Time(time.UTC).Format("Mon 2 Jan 2006")
	}
	return ""
}

// IsDue reports whether a meter wants nothing but its next calibration, from the
// day itself on.
func (m Meter) IsDue(at time.Time) bool {
	return m.fault(at) == "" && m.DueOn(at) <= domain.DateOf(at)
}

// fault is what is wrong with a meter, the day of its calibration apart.
func (m Meter) fault(at time.Time) string {
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

// checks returns the newest calibration not after a moment and the one before,
// both of those that stand.
func (m Meter) checks(at time.Time) (now, before *Calibration) {
	for _, c := range m.standing() {
		if !c.At.After(at) && len(c.Points) > 0 {
			now, before = c, now
		}
	}
	return now, before
}

// standing lists the calibrations that no next one replaced, oldest first.
func (m Meter) standing() []*Calibration {
	all := make([]*Calibration, len(m.Calibrations))
	for i := range m.Calibrations {
		all[i] = &m.Calibrations[i]
	}
	slices.SortStableFunc(all, func(a, b *Calibration) int { return a.At.Compare(b.At) })
	var out []*Calibration
	for i, c := range all {
		if i+1 == len(all) || all[i+1].Wrong == "" {
			out = append(out, c)
		}
	}
	return out
}

// Replaced says why a calibration was wrong, in the words of the one that
// replaced it, "" for one that stands.
func (m Meter) Replaced(id int64) string {
	for i, c := range slices.Backward(m.Calibrations) {
		if c.ID == id && i+1 < len(m.Calibrations) {
			return m.Calibrations[i+1].Wrong
		}
	}
	return ""
}

// worst is the largest offset of the points, without its sign.
func (c Calibration) worst() decimal.Decimal {
	out := decimal.Zero
	for _, p := range c.Points {
		out = decimal.Max(out, p.Offset().Abs())
	}
	return out
}

// drift is the largest change of the offset since an earlier calibration,
// between salts whose air is within [NearHumidity]. Salts far apart are not
// compared, so a second salt is no drift.
func (c Calibration) drift(before Calibration) decimal.Decimal {
	out := decimal.Zero
	for _, p := range c.Points {
		for _, q := range before.Points {
			if p.True.Sub(q.True).Abs().LessThanOrEqual(NearHumidity) {
				out = decimal.Max(out, p.Offset().Sub(q.Offset()).Abs())
			}
		}
	}
	return out
}
