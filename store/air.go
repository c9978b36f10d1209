package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/workshop"
)

// standing leaves out the readings that another replaced. A correction keeps
// place and moment, so the index by these finds it.
const standing = `NOT EXISTS (SELECT 1 FROM air_readings c
	WHERE c.place_id = air_readings.place_id AND c.read_at = air_readings.read_at AND c.replaces = air_readings.id)`

// airReads are the reads of the air that a transaction of work and a page share.
type airReads struct {
	db func(context.Context) *gorm.DB
}

func (s *Store) air() airReads { return airReads{s.db.WithContext} }
func (t *tx) air() airReads    { return airReads{t.db.WithContext} }

func (r airReads) places(ctx context.Context) ([]air.Place, error) {
	var rows []airPlaceRow
	if err := r.db(ctx).Order("name_key, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list places of air: %w", translate(err))
	}
	return eachErr(rows, (*airPlaceRow).place)
}

func (r airReads) meters(ctx context.Context) ([]air.Meter, error) {
	var rows []meterRow
	if err := r.db(ctx).Order("name_key, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list meters: %w", translate(err))
	}
	out := each(rows, (*meterRow).meter)
	var checks []calibrationRow
	if err := r.db(ctx).Order("made_at, id").Find(&checks).Error; err != nil {
		return nil, fmt.Errorf("list calibrations: %w", translate(err))
	}
	place := map[domain.MeterID]int{}
	for i := range out {
		place[out[i].ID] = i
	}
	for i := range checks {
		c, err := checks[i].calibration()
		if err != nil {
			return nil, err
		}
		m := &out[place[c.Meter]]
		m.Calibrations = append(m.Calibrations, c)
	}
	return out, nil
}

func (r airReads) readings(ctx context.Context, place domain.AirPlaceID, from, to time.Time) ([]air.Reading, error) {
	var rows []airReadingRow
	err := r.db(ctx).Where("place_id = ? AND read_at >= ? AND read_at < ?", place, at(from), at(to)).Order("read_at, id").Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the air of place %d: %w", place, translate(err))
	}
	return eachErr(rows, (*airReadingRow).reading)
}

func (r airReads) last(ctx context.Context) ([]air.Reading, error) {
	var rows []airReadingRow
	err := r.db(ctx).Where(`id IN (SELECT (SELECT air_readings.id FROM air_readings WHERE air_readings.place_id = p.id AND ` + standing + `
		ORDER BY air_readings.read_at DESC, air_readings.id DESC LIMIT 1) FROM air_places p)`).Order("place_id").Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the last air of each place: %w", translate(err))
	}
	return eachErr(rows, (*airReadingRow).reading)
}

func (r airReads) answers(ctx context.Context, since time.Time) ([]air.Answer, error) {
	var rows []alarmAnswerRow
	if err := r.db(ctx).Where("noted_at >= ?", at(since)).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list answers to alarms: %w", translate(err))
	}
	return each(rows, (*alarmAnswerRow).answer), nil
}

// AirPlaces reads all places by name, also the retired.
func (s *Store) AirPlaces(ctx context.Context) ([]air.Place, error) { return s.air().places(ctx) }

// Meters reads all meters by name with their calibrations, also the retired.
func (s *Store) Meters(ctx context.Context) ([]air.Meter, error) { return s.air().meters(ctx) }

// AirReadings reads what was read at a place from one moment until before
// another, oldest first, also what was replaced.
func (s *Store) AirReadings(ctx context.Context, place domain.AirPlaceID, from, to time.Time) ([]air.Reading, error) {
	return s.air().readings(ctx, place, from, to)
}

// LastAir reads the newest reading of each place that has any.
func (s *Store) LastAir(ctx context.Context) ([]air.Reading, error) { return s.air().last(ctx) }

// AlarmAnswers reads what was done about alarms since a moment, newest first.
func (s *Store) AlarmAnswers(ctx context.Context, since time.Time) ([]air.Answer, error) {
	return s.air().answers(ctx, since)
}

// AirReadingByID reads one reading.
func (s *Store) AirReadingByID(ctx context.Context, id domain.AirReadingID) (*air.Reading, error) {
	return airReading(s.db.WithContext(ctx), id)
}

// AirReadingPage reads a stretch of what was read at a place from one moment
// until before another, newest first, also what was replaced, and how many there
// are.
func (s *Store) AirReadingPage(ctx context.Context, place domain.AirPlaceID, from, to time.Time, p workshop.Page) ([]air.Reading, int, error) {
	var rows []airReadingRow
	var total int64
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		chosen := func() *gorm.DB {
			return db.Model(&airReadingRow{}).Where("place_id = ? AND read_at >= ? AND read_at < ?", place, at(from), at(to))
		}
		if err := chosen().Count(&total).Error; err != nil {
			return err
		}
		return chosen().Order("read_at DESC, id DESC").Limit(min(max(p.Limit, 1), mostRows)).Offset(max(p.Offset, 0)).Find(&rows).Error
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list the air of place %d: %w", place, err)
	}
	out, err := eachErr(rows, (*airReadingRow).reading)
	return out, int(total), err
}

// AirPlaces reads all places by name, also the retired. It locks none.
func (t *tx) AirPlaces(ctx context.Context) ([]air.Place, error) { return t.air().places(ctx) }

// Meters reads all meters with their calibrations. It locks none.
func (t *tx) Meters(ctx context.Context) ([]air.Meter, error) { return t.air().meters(ctx) }

// AirReadings is that of the store.
func (t *tx) AirReadings(ctx context.Context, place domain.AirPlaceID, from, to time.Time) ([]air.Reading, error) {
	return t.air().readings(ctx, place, from, to)
}

// LastAir is that of the store.
func (t *tx) LastAir(ctx context.Context) ([]air.Reading, error) { return t.air().last(ctx) }

// AlarmAnswers is that of the store.
func (t *tx) AlarmAnswers(ctx context.Context, since time.Time) ([]air.Answer, error) {
	return t.air().answers(ctx, since)
}

// AirPlace reads one place and locks the row.
func (t *tx) AirPlace(ctx context.Context, id domain.AirPlaceID) (*air.Place, error) {
	var row airPlaceRow
	if err := takeRow(locked(t.db.WithContext(ctx)), &row, id, "place of air"); err != nil {
		return nil, err
	}
	p, err := row.place()
	return &p, err
}

// AirReading reads one reading and locks the row.
func (t *tx) AirReading(ctx context.Context, id domain.AirReadingID) (*air.Reading, error) {
	return airReading(locked(t.db.WithContext(ctx)), id)
}

func airReading(db *gorm.DB, id domain.AirReadingID) (*air.Reading, error) {
	var row airReadingRow
	if err := takeRow(db, &row, id, "reading of the air"); err != nil {
		return nil, err
	}
	r, err := row.reading()
	return &r, err
}

// AddAirPlace inserts a place and sets the identity.
func (t *tx) AddAirPlace(ctx context.Context, p *air.Place) error {
	row, err := rowOfAirPlace(p)
	if err != nil {
		return err
	}
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	p.ID, p.Version = domain.AirPlaceID(row.ID), row.Version
	return nil
}

// SaveAirPlace writes a place unless somebody saved it since it was read.
func (t *tx) SaveAirPlace(ctx context.Context, p *air.Place) error {
	row, err := rowOfAirPlace(p)
	if err != nil {
		return err
	}
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, p.Version, p.Name); err != nil {
		return err
	}
	p.Version = row.Version
	return nil
}

// AddMeter inserts a meter without calibrations and sets the identity.
func (t *tx) AddMeter(ctx context.Context, m *air.Meter) error {
	row := rowOfMeter(m)
	row.Version = 1
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	m.ID, m.Version = domain.MeterID(row.ID), row.Version
	return nil
}

// SaveMeter writes a meter, not its calibrations, unless somebody saved it since
// it was read.
func (t *tx) SaveMeter(ctx context.Context, m *air.Meter) error {
	row := rowOfMeter(m)
	row.Version++
	if err := saveRow(t.db.WithContext(ctx), &row, m.Version, m.Name); err != nil {
		return err
	}
	m.Version = row.Version
	return nil
}

// AddCalibration inserts a calibration and sets the identity.
func (t *tx) AddCalibration(ctx context.Context, c *air.Calibration) error {
	row, err := rowOfCalibration(c)
	if err != nil {
		return err
	}
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	c.ID = row.ID
	return nil
}

// AddAirReading inserts a reading and sets the identity.
func (t *tx) AddAirReading(ctx context.Context, r *air.Reading) error {
	row := rowOfAirReading(r)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	r.ID = domain.AirReadingID(row.ID)
	return nil
}

// AddLoggedAir inserts the rows of a logger, many at a time, and returns how many
// were new: one that has place, meter and moment of another logged row is left
// out. It sets no identities.
func (t *tx) AddLoggedAir(ctx context.Context, rs []air.Reading) (int, error) {
	added := int64(0)
	for len(rs) > 0 {
		n := min(len(rs), rowsAtOnce)
		rows := make([]airReadingRow, n)
		for i := range rows {
			rows[i] = rowOfAirReading(&rs[i])
		}
		res := t.db.WithContext(ctx).Clauses(clause.OnConflict{DoNothing: true}).Create(&rows)
		if res.Error != nil {
			return 0, fmt.Errorf("add logged air: %w", translate(res.Error))
		}
		added, rs = added+res.RowsAffected, rs[n:]
	}
	return int(added), nil
}

// AddAlarmAnswer inserts what was done about an alarm and sets the identity.
func (t *tx) AddAlarmAnswer(ctx context.Context, a *air.Answer) error {
	row := rowOfAlarmAnswer(a)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	a.ID = row.ID
	return nil
}
