package demo

import (
	"context"
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

// meterReads is how far all meters show too little, in % RH.
const meterReads = 2

// openAir keeps the usual places and the meters that read them: those are checked
// every four weeks, the one that travels was forgotten half a year ago.
func (s *sim) openAir() {
	if !s.must("set up the air", s.w.SetUpAir(s.ctx, s.owner)) {
		return
	}
	places := s.b.season.AirPlaces
	for _, m := range []struct {
		name, note string
		place      domain.AirPlaceID
		until      time.Time
		to         *domain.MeterID
	}{
		{"Cabinet logger", "lies on the middle shelf", places[2].ID, s.end, &s.logger},
		{"Travelling logger", "goes into cases", 0, s.end.Add(-days(190)), &s.lost},
		{"Counter dial", "over the case rack", places[0].ID, s.end, &s.dials[0]},
		{"Bench dial", "beside the clamps", places[1].ID, s.end, &s.dials[1]},
		{"Outdoor dial", "north wall, under the roof", places[3].ID, s.end, &s.dials[2]},
		{"Bench logger", "writes each hour", places[1].ID, s.end, &s.dials[3]},
	} {
		id, err := s.w.SaveMeter(s.ctx, s.owner, air.Meter{Name: m.name, Note: m.note, Place: m.place})
		if !s.must("add a meter", err) {
			return
		}
		*m.to = id
		s.calibrate(id, m.until)
	}
}

// calibrate checks a meter now, and again every four weeks.
func (s *sim) calibrate(id domain.MeterID, until time.Time) {
	point := air.Point{Salt: "sodium chloride", Celsius: decimal.NewFromInt(20), Hours: decimal.NewFromInt(14)}
	rh, ok := wood.SaltRH(point.Salt, 20)
	if !ok {
		s.must("calibrate", fmt.Errorf("nothing is known of %s at 20 C", point.Salt))
		return
	}
	point.Read = decimal.NewFromFloat(rh).Round(1).Sub(decimal.NewFromInt(meterReads))
	_, err := s.w.Calibrate(s.ctx, s.techs[0].actor, air.Calibration{Meter: id, Points: []air.Point{point}})
	if next := s.cal.next(s.now.Add(days(26))); s.must("calibrate a meter", err) && next.Before(until) {
		s.at(next, func() { s.calibrate(id, until) })
	}
}

// metered is a reading of the air as one of the meters shows it.
func (w *walk) metered(r *job.Reading, rh int) {
	r.Meter = w.s.logger
	if w.bend.stands == untrusted {
		r.Meter = w.s.lost
	}
	r.RH = measure(fmt.Sprintf("%d %%", rh-meterReads), wood.Percent)
}

// AirPlaces returns the places of the air.
func (b *book) AirPlaces(context.Context) ([]air.Place, error) { return b.season.AirPlaces, nil }

// AddAirPlace keeps a place of the air.
func (b *book) AddAirPlace(_ context.Context, p *air.Place) error {
	id(b, "air places", &p.ID)
	b.season.AirPlaces = append(b.season.AirPlaces, *p)
	return nil
}

// Meters returns the meters with their calibrations. They must not be changed.
func (b *book) Meters(context.Context) ([]air.Meter, error) { return b.season.Meters, nil }

// AddMeter keeps a meter.
func (b *book) AddMeter(_ context.Context, m *air.Meter) error {
	id(b, "meters", &m.ID)
	b.season.Meters = append(b.season.Meters, *m)
	return nil
}

// AddCalibration keeps a check of a meter.
func (b *book) AddCalibration(_ context.Context, c *air.Calibration) error {
	id(b, "calibrations", &c.ID)
	for i := range b.season.Meters {
		if m := &b.season.Meters[i]; m.ID == c.Meter {
			m.Calibrations = append(m.Calibrations, *c)
		}
	}
	return nil
}
