package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/job"
)

// airReads are the reads of the air that use cases and pages share.
type airReads interface {
	AirPlaces(ctx context.Context) ([]air.Place, error) // by name, also the retired
	Meters(ctx context.Context) ([]air.Meter, error)    // by name, with their calibrations, also the retired
	// AirReadings are those of a place from one moment until before another,
	// oldest first, also what was replaced ([air.Standing] leaves that out).
	AirReadings(ctx context.Context, place domain.AirPlaceID, from, to time.Time) ([]air.Reading, error)
	LastAir(ctx context.Context) ([]air.Reading, error)                      // newest of each place that has any
	AlarmAnswers(ctx context.Context, since time.Time) ([]air.Answer, error) // newest first
}

// AirTx is what the use cases of the shop's air write and read in a transaction.
type AirTx interface {
	airReads
	AirPlace(ctx context.Context, id domain.AirPlaceID) (*air.Place, error)
	AddAirPlace(ctx context.Context, p *air.Place) error
	SaveAirPlace(ctx context.Context, p *air.Place) error
	AddMeter(ctx context.Context, m *air.Meter) error
	SaveMeter(ctx context.Context, m *air.Meter) error // not its calibrations
	AddCalibration(ctx context.Context, c *air.Calibration) error
	AirReading(ctx context.Context, id domain.AirReadingID) (*air.Reading, error)
	AddAirReading(ctx context.Context, r *air.Reading) error
	// AddLoggedAir adds rows of a logger and returns how many were new: one with
	// place, meter and moment of another is left out.
	AddLoggedAir(ctx context.Context, rs []air.Reading) (int, error)
	AddAlarmAnswer(ctx context.Context, a *air.Answer) error
}

// AirQueries are the reads of the shop's air.
type AirQueries interface {
	airReads
	AirReadingByID(ctx context.Context, id domain.AirReadingID) (*air.Reading, error)
	// AirReadingPage is a stretch of what AirReadings gives, newest first, and
	// how many there are.
	AirReadingPage(ctx context.Context, place domain.AirPlaceID, from, to time.Time, p Page) ([]air.Reading, int, error)
}

// UsualAirPlaces are the places a shop begins with; the cabinet and the rooms
// have the usual alarms.
func UsualAirPlaces() []air.Place {
	place := func(name string, k air.Kind) air.Place {
		return air.Place{Name: name, Kind: k, Rules: air.UsualRules(k)}
	}
	return []air.Place{
		place("Counter wall", air.Room), place("Bench", air.Room), place("Hold cabinet", air.Cabinet), place("Outdoors", air.Outdoors),
	}
}

// SetUpAir makes the usual places in a shop that has none yet; else it is a
// conflict.
func (w *Workshop) SetUpAir(ctx context.Context, by domain.Actor) error {
	_, err := w.do(ctx, by, ActMeter, func(tx Tx, at time.Time) (int64, error) {
		have, err := tx.AirPlaces(ctx)
		if err != nil {
			return 0, err
		}
		if len(have) > 0 {
			return 0, domain.Conflictf("the shop has places of air already; add others one by one")
		}
		for _, p := range UsualAirPlaces() {
			if err := tx.AddAirPlace(ctx, &p); err != nil {
				return 0, err
			}
		}
		return 0, note(ctx, tx, 0, by, at, "began to keep the shop's air", "", "")
	})
	return err
}

// airName is one thing of a list in which a name stands once.
type airName struct {
	id   int64
	name string
}

func taken(name string, id int64, all []airName) error {
	for _, o := range all {
		if o.id != id && strings.EqualFold(o.name, name) {
			text := "is taken by another"
			return &domain.Error{Kind: domain.Conflict, Text: "the name " + text, Fields: domain.Fields{"name": text}}
		}
	}
	return nil
}

// SavePlace adds a place (identity 0) or changes one, with Version as the caller
// saw it. A place is retired, never removed: whatever moment Retired holds, the
// one at which it was first retired is kept.
func (w *Workshop) SavePlace(ctx context.Context, by domain.Actor, p air.Place) (domain.AirPlaceID, error) {
	id, err := w.do(ctx, by, ActMeter, func(tx Tx, at time.Time) (int64, error) {
		n := p
		if err := n.Check(); err != nil {
			return 0, err
		}
		all, err := tx.AirPlaces(ctx)
		if err != nil {
			return 0, err
		}
		var names []airName
		for _, o := range all {
			names = append(names, airName{int64(o.ID), o.Name})
		}
		if err := taken(n.Name, int64(n.ID), names); err != nil {
			return 0, err
		}
		if n.ID == 0 {
			n.Retired = retired(time.Time{}, n.Retired, at)
			if err := tx.AddAirPlace(ctx, &n); err != nil {
				return 0, err
			}
			return int64(n.ID), note(ctx, tx, 0, by, at, "keeps the air of "+n.Name, "", "")
		}
		old, err := tx.AirPlace(ctx, n.ID)
		if err != nil {
			return 0, err
		}
		n.Retired = retired(old.Retired, n.Retired, at)
		if err := tx.SaveAirPlace(ctx, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, "changed the place of air "+n.Name, rulesText(old.Rules), rulesText(n.Rules))
	})
	return domain.AirPlaceID(id), err
}

// retired is when something was retired: the moment it was before, now when it
// is new, zero when it is wanted back.
func retired(before, wanted, at time.Time) time.Time {
	switch {
	case wanted.IsZero():
		return time.Time{}
	case !before.IsZero():
		return before
	}
	return at
}

func rulesText(r air.Rules) string {
	if r.High.IsZero() {
		return "no band"
	}
	return fmt.Sprintf("band %s to %s %%", r.Low, r.High)
}

// SaveMeter adds a meter (identity 0) or changes one, with Version as the caller
// saw it. Its calibrations are left alone. It is retired as a place is.
func (w *Workshop) SaveMeter(ctx context.Context, by domain.Actor, m air.Meter) (domain.MeterID, error) {
	id, err := w.do(ctx, by, ActMeter, func(tx Tx, at time.Time) (int64, error) {
		n := m
		if err := n.Check(); err != nil {
			return 0, err
		}
		all, err := tx.Meters(ctx)
		if err != nil {
			return 0, err
		}
		var names []airName
		there, gone := n.ID == 0, time.Time{}
		for _, o := range all {
			names = append(names, airName{int64(o.ID), o.Name})
			if o.ID == n.ID {
				there, gone = true, o.Retired
			}
		}
		n.Retired = retired(gone, n.Retired, at)
		if !there {
			return 0, domain.NotFoundf("there is no meter %d", n.ID)
		}
		if err := taken(n.Name, int64(n.ID), names); err != nil {
			return 0, err
		}
		if n.Place != 0 {
			if _, err := placeFor(ctx, tx, n.Place, "place"); err != nil {
				return 0, err
			}
		}
		if n.ID == 0 {
			if err := tx.AddMeter(ctx, &n); err != nil {
				return 0, err
			}
			return int64(n.ID), note(ctx, tx, 0, by, at, "added the meter "+n.Name, "", "")
		}
		if err := tx.SaveMeter(ctx, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, "changed the meter "+n.Name, "", n.Note)
	})
	return domain.MeterID(id), err
}

// placeFor finds a place that readings may come from; an unknown or retired one
// is a wrong field.
func placeFor(ctx context.Context, tx Tx, id domain.AirPlaceID, field string) (*air.Place, error) {
	all, err := tx.AirPlaces(ctx)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(all, func(p air.Place) bool { return p.ID == id })
	text := ""
	switch {
	case i < 0:
		text = "is not a place of the shop's air; choose one of the list"
	case !all[i].Retired.IsZero():
		text = "is no longer in use: " + all[i].Name
	default:
		return &all[i], nil
	}
	return nil, &domain.Error{Kind: domain.Invalid, Text: "the place " + text, Fields: domain.Fields{field: text}}
}

// meterFor finds a meter; an unknown one is a wrong field. A retired one is
// found, and not trusted.
func meterFor(ctx context.Context, tx Tx, id domain.MeterID) (*air.Meter, error) {
	all, err := tx.Meters(ctx)
	if err != nil {
		return nil, err
	}
	if i := slices.IndexFunc(all, func(m air.Meter) bool { return m.ID == id }); i >= 0 {
		return &all[i], nil
	}
	text := "is not a meter of the shop; choose one of the list"
	return nil, &domain.Error{Kind: domain.Invalid, Text: "this " + text, Fields: domain.Fields{"meter": text}}
}

// here is a moment on the shop's wall.
func here(ctx context.Context, tx Tx, at time.Time) (time.Time, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return at, err
	}
	return at.In(shop.Location()), nil
}

// Calibrate notes a check of a meter against salts: of each point the salt, its
// temperature, the hours and what the meter read, of another salt ([air.OtherSalt])
// also the true humidity. At is the moment it was read, zero for now. Due ""
// takes the usual day. It answers the identity of the calibration.
func (w *Workshop) Calibrate(ctx context.Context, by domain.Actor, c air.Calibration) (int64, error) {
	return w.do(ctx, by, ActMeter, func(tx Tx, at time.Time) (int64, error) {
		now, err := here(ctx, tx, at)
		if err != nil {
			return 0, err
		}
		n := c
		n.ID, n.By, n.Points = 0, by.Name, slices.Clone(c.Points)
		if n.At = domain.Moment(c.At); c.At.IsZero() {
			n.At = at
		}
		if err := n.Settle(now); err != nil {
			return 0, err
		}
		m, err := meterFor(ctx, tx, c.Meter)
		if err != nil {
			return 0, err
		}
		if n.Wrong != "" && m.Last(at) == nil {
			return 0, domain.Fields{"wrong": "must be empty: there is no earlier check"}.Err()
		}
		if last := m.Last(at); last != nil && n.At.Before(last.At) {
			return 0, domain.Conflictf("%s was calibrated after that, on %s; note a newer check", m.Name, domain.DateOf(last.At.In(now.Location())))
		}
		if err := tx.AddCalibration(ctx, &n); err != nil {
			return 0, err
		}
		return n.ID, note(ctx, tx, 0, by, at, "calibrated "+m.Name, replacedText(m, at, n), calibrationText(n))
	})
}

// replacedText is the check that a new one replaces, with the reason.
func replacedText(m *air.Meter, at time.Time, n air.Calibration) string {
	if n.Wrong == "" {
		return ""
	}
	return calibrationText(*m.Last(at)) + "; wrong: " + n.Wrong
}

func calibrationText(c air.Calibration) string {
	var parts []string
	for _, p := range c.Points {
		parts = append(parts, fmt.Sprintf("%s %s %%, read %s %%", p.Salt, p.True, p.Read))
	}
	return strings.Join(parts, "; ") + "; due " + string(c.Due)
}

// NoteAir notes a reading made by hand: Place, Raw, and as far as known Meter,
// Celsius and Note. At is the moment it was read, zero for now.
func (w *Workshop) NoteAir(ctx context.Context, by domain.Actor, r air.Reading) (domain.AirReadingID, error) {
	id, err := w.do(ctx, by, ActAir, func(tx Tx, at time.Time) (int64, error) {
		n := air.Reading{Place: r.Place, Meter: r.Meter, At: domain.Moment(r.At), Raw: r.Raw, Celsius: r.Celsius, Source: air.Hand, Note: r.Note, Noted: at, By: by.Name}
		if r.At.IsZero() {
			n.At = at
		}
		if err := n.Check(at); err != nil {
			return 0, err
		}
		if _, err := placeFor(ctx, tx, n.Place, "place"); err != nil {
			return 0, err
		}
		if err := correctAir(ctx, tx, &n); err != nil {
			return 0, err
		}
		err := tx.AddAirReading(ctx, &n)
		return int64(n.ID), err
	})
	return domain.AirReadingID(id), err
}

// correctAir puts a reading right by its meter.
func correctAir(ctx context.Context, tx Tx, r *air.Reading) error {
	var err error
	r.RH, _, r.Trusted, err = trust(ctx, tx, r.Meter, r.Raw, r.At)
	return err
}

// trust puts a value right that a meter showed at a moment. Without a meter it
// stays as it was read and is not trusted.
func trust(ctx context.Context, tx Tx, id domain.MeterID, raw decimal.Decimal, at time.Time) (rh, offset decimal.Decimal, trusted bool, err error) {
	if id == 0 {
		return raw, decimal.Zero, false, nil
	}
	m, err := meterFor(ctx, tx, id)
	if err != nil {
		return raw, decimal.Zero, false, err
	}
	when, err := here(ctx, tx, at)
	if err != nil {
		return raw, decimal.Zero, false, err
	}
	rh, offset, trusted, _ = m.Correct(raw, when)
	return rh, offset, trusted, nil
}

// putRight corrects the humidity of a hold's reading by the meter it names.
func putRight(ctx context.Context, tx Tx, r *job.Reading) error {
	r.Offset, r.Trusted = decimal.Zero, false
	if r.Meter == 0 {
		return nil
	}
	rh, offset, trusted, err := trust(ctx, tx, r.Meter, r.RH.Value, r.At)
	if err != nil || !r.RH.Is() {
		return err
	}
	// A reading outside 0 to 100 % is refused as it was typed, not put right.
	if !r.RH.Value.IsNegative() && !r.RH.Value.GreaterThan(decimal.NewFromInt(100)) {
		r.RH.Value, r.Offset, r.Trusted = rh, offset, trusted
	}
	return nil
}

// CorrectAir replaces a reading by another of the same place and moment, with
// the reason as its Note: Raw, Meter and Celsius are taken from r. The old one
// stays beside it. What was replaced before is a conflict.
func (w *Workshop) CorrectAir(ctx context.Context, by domain.Actor, r air.Reading) (domain.AirReadingID, error) {
	id, err := w.do(ctx, by, ActAir, func(tx Tx, at time.Time) (int64, error) {
		old, err := tx.AirReading(ctx, r.Replaces)
		if err != nil {
			return 0, err
		}
		there, err := tx.AirReadings(ctx, old.Place, old.At, old.At.Add(time.Microsecond))
		if err != nil {
			return 0, err
		}
		if slices.ContainsFunc(there, func(o air.Reading) bool { return o.Replaces == old.ID }) {
			return 0, domain.Conflictf("this reading was corrected before; correct the newer one")
		}
		n := air.Reading{
			Place: old.Place, Meter: r.Meter, At: old.At, Raw: r.Raw, Celsius: r.Celsius, Source: air.Hand, Note: r.Note, Replaces: old.ID, Noted: at, By: by.Name,
		}
		if err := n.Check(at); err != nil {
			return 0, err
		}
		if err := correctAir(ctx, tx, &n); err != nil {
			return 0, err
		}
		if err := tx.AddAirReading(ctx, &n); err != nil {
			return 0, err
		}
		return int64(n.ID), note(ctx, tx, 0, by, at, "corrected a reading of the air: "+n.Note, old.Raw.String()+" %", n.Raw.String()+" %")
	})
	return domain.AirReadingID(id), err
}

// AnswerAlarm notes what was done about an alarm, by the Place, Key and Since
// that AirAlarms gave. An alarm that is over, or was never otherwise, is a
// conflict.
func (w *Workshop) AnswerAlarm(ctx context.Context, by domain.Actor, a air.Answer) (int64, error) {
	return w.do(ctx, by, ActAir, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		action := domain.Line(f, "action", a.Action, 300, true)
		if err := f.Err(); err != nil {
			return 0, err
		}
		p, err := tx.AirPlace(ctx, a.Place)
		if err != nil {
			return 0, err
		}
		now, err := here(ctx, tx, at)
		if err != nil {
			return 0, err
		}
		alarms, err := AirAlarms(ctx, tx, now)
		if err != nil {
			return 0, err
		}
		i := slices.IndexFunc(alarms, func(x air.Alarm) bool {
			return x.Place == a.Place && x.Key() == a.Alarm && x.Since.Equal(a.Since)
		})
		if i < 0 {
			return 0, domain.Conflictf("this alarm of %s is over; look again", p.Name)
		}
		if alarms[i].Since.IsZero() {
			return 0, domain.Conflictf("this alarm ends by what it asks for: a reading, or a calibration")
		}
		n := air.Answer{Place: a.Place, Alarm: a.Alarm, Since: alarms[i].Since, Action: action, At: at, By: by.Name}
		if err := tx.AddAlarmAnswer(ctx, &n); err != nil {
			return 0, err
		}
		return n.ID, note(ctx, tx, 0, by, at, "saw to an alarm of "+p.Name+": "+alarms[i].Kind, "", action)
	})
}
