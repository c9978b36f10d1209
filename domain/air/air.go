// Package air knows the shop's own air: the places where it is read, the meters
// that read it and how far each is to be believed, and the alarms that follow.
//
// Humidity is relative humidity in %, temperature in °C, both exact decimals as
// they were typed or logged. A day is that of the zone of the moment given, so
// callers give moments in the shop's zone; hours are elapsed hours, whatever the
// clocks on the wall did meanwhile.
package air

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// Kind is what a place is.
type Kind string

// The kinds of place.
const (
	Room     Kind = "room"
	Cabinet  Kind = "cabinet"
	Case     Kind = "case"
	Outdoors Kind = "outdoors"
)

// Kinds lists the kinds of place in the order pages show them.
func Kinds() []Kind { return []Kind{Room, Cabinet, Case, Outdoors} }

// Place is where the shop knows its air.
type Place struct {
	ID      domain.AirPlaceID
	Name    string
	Kind    Kind
	Rules   Rules
	Retired time.Time // zero while in use
	Version int
}

// Rules are a place's band and alarms. The owner may edit all of them; 0
// switches a rule off.
type Rules struct {
	Target      decimal.Decimal `json:"target"`       // % RH aimed at; 0 for none
	Low         decimal.Decimal `json:"low"`          // lower edge of the band, % RH, still inside
	High        decimal.Decimal `json:"high"`         // upper edge of the band, % RH, still inside; 0: no band
	OutHours    int             `json:"out_hours"`    // an alarm after so long outside the band; two readings running are one too
	LowAtOnce   decimal.Decimal `json:"low_at_once"`  // an alarm at once below this
	HighAtOnce  decimal.Decimal `json:"high_at_once"` // an alarm at once above this
	Stop        decimal.Decimal `json:"stop"`         // above this everything stops and the place is opened
	SilentHours int             `json:"silent_hours"` // an alarm after so many hours without a reading
	StuckAfter  int             `json:"stuck_after"`  // an alarm when one meter shows the same value so often running
	Apart       decimal.Decimal `json:"apart"`        // an alarm when two meters here lie further apart, % RH
}

// UsualRules are the rules a new place of a kind begins with. A room is kept at
// 40 to 50 % in winter, alarms below 35 % and above 60 %; a cabinet alarms above
// 58 % and stops above 60 %; the air of a case is read on occasion and outdoors
// is a reference without a band. All are common practice, no source.
func UsualRules(k Kind) Rules {
	r := Rules{
		Target: percent(45), Low: percent(40), High: percent(50), OutHours: 4, LowAtOnce: percent(35), HighAtOnce: percent(60),
		SilentHours: 24, StuckAfter: 5, Apart: percent(5),
	}
	switch k {
	case Cabinet:
		r.High, r.HighAtOnce, r.Stop = percent(55), percent(58), percent(60)
	case Case:
		r.High, r.SilentHours = percent(55), 0
	case Outdoors:
		return Rules{StuckAfter: r.StuckAfter, Apart: r.Apart}
	}
	return r
}

func percent(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// Check tidies the place and returns an Invalid error that names each wrong
// field.
func (p *Place) Check() error {
	f := domain.Fields{}
	p.Name = domain.Line(f, "name", p.Name, 60, true)
	domain.OneOf(f, "kind", p.Kind, Kinds())
	f.AddErr("rules", p.Rules.Check())
	return f.Err()
}

// Check returns an Invalid error that names each rule that cannot be.
func (r Rules) Check() error {
	f := domain.Fields{}
	for _, v := range []struct {
		field string
		value decimal.Decimal
	}{
		{"target", r.Target}, {"low", r.Low}, {"high", r.High}, {"low_at_once", r.LowAtOnce}, {"high_at_once", r.HighAtOnce},
		{"stop", r.Stop}, {"apart", r.Apart},
	} {
		if v.value.IsNegative() || v.value.GreaterThan(percent(100)) {
			f.Add(v.field, "must be from 0 to 100 %%")
		}
	}
	above(f, "high", r.High, r.Low, "the lower edge of the band")
	above(f, "high_at_once", r.HighAtOnce, r.High, "the band")
	above(f, "stop", r.Stop, r.HighAtOnce, "the alarm at once")
	if r.LowAtOnce.GreaterThan(r.Low) {
		f.Add("low_at_once", "must not lie above the lower edge of the band")
	}
	if !r.Target.IsZero() && !r.High.IsZero() && (r.Target.LessThan(r.Low) || r.Target.GreaterThan(r.High)) {
		f.Add("target", "must lie inside the band")
	}
	if r.High.IsZero() && !r.Low.IsZero() {
		f.Add("high", "is needed for a band; 0 for both switches it off")
	}
	between(f, "out_hours", r.OutHours, 0, 24*14)
	between(f, "silent_hours", r.SilentHours, 0, 24*60)
	if r.StuckAfter != 0 {
		between(f, "stuck_after", r.StuckAfter, 3, 100)
	}
	return f.Err()
}

func above(f domain.Fields, field string, value, floor decimal.Decimal, what string) {
	if !value.IsZero() && value.LessThan(floor) {
		f.Add(field, "must not lie below %s", what)
	}
}

func between(f domain.Fields, field string, n, low, high int) {
	if n < low || n > high {
		f.Add(field, "must be a whole number from %d to %d", low, high)
	}
}

// Source says how a reading came in.
type Source string

// The two sources.
const (
	Hand   Source = "hand"   // somebody looked
	Logger Source = "logger" // out of a logger's file
)

// Reading is the air of a place at one moment. Readings are never changed: a
// correction is a new one that names the old.
type Reading struct {
	ID       domain.AirReadingID
	Place    domain.AirPlaceID
	Meter    domain.MeterID // 0 when nobody said which
	At       time.Time
	Raw      decimal.Decimal  // % RH as the meter showed it
	RH       decimal.Decimal  // % RH, put right by the calibration of that day
	Celsius  *decimal.Decimal // nil when not read
	Trusted  bool             // the meter was within its calibration
	Source   Source
	Note     string // of a correction: the reason
	Replaces domain.AirReadingID
	Noted    time.Time
	By       string
}

// Check tidies the reading and returns an Invalid error that names each wrong
// field: rh from 0 to 100 %, celsius from -50 to 60, at not after now.
func (r *Reading) Check(now time.Time) error {
	f := domain.Fields{}
	if r.Raw.IsNegative() || r.Raw.GreaterThan(percent(100)) {
		f.Add("rh", "must be from 0 to 100 %%")
	}
	if r.Celsius != nil && !warmth(*r.Celsius) {
		f.Add("celsius", "must be from -50 to 60 °C")
	}
	if r.At.After(now) {
		f.Add("at", "must not lie in the future")
	}
	if r.At.Before(now.AddDate(-10, 0, 0)) {
		f.Add("at", "must not lie more than ten years back")
	}
	r.Note = domain.Line(f, "note", r.Note, 300, r.Replaces != 0)
	return f.Err()
}

func warmth(c decimal.Decimal) bool {
	return !c.LessThan(percent(-50)) && !c.GreaterThan(percent(60))
}

// Standing leaves out the readings that a later one replaced. The order stays.
func Standing(rs []Reading) []Reading {
	gone := map[domain.AirReadingID]bool{}
	for _, r := range rs {
		gone[r.Replaces] = r.Replaces != 0
	}
	out := make([]Reading, 0, len(rs))
	for _, r := range rs {
		if r.ID == 0 || !gone[r.ID] {
			out = append(out, r)
		}
	}
	return out
}
