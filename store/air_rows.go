package store

import (
	"fmt"

	"winterbench/domain"
	"winterbench/domain/air"
)

// airPlaceRow is a row of air_places.
type airPlaceRow struct {
	ID        int64
	Name      string
	NameKey   string
	Kind      string
	Rules     string
	RetiredAt *moment
	Version   int
}

func (airPlaceRow) TableName() string { return "air_places" }
func (r *airPlaceRow) key() *int64    { return &r.ID }

func rowOfAirPlace(p *air.Place) (airPlaceRow, error) {
	rules, err := toJSON(p.Rules)
	return airPlaceRow{
		ID: int64(p.ID), Name: p.Name, NameKey: fold(p.Name), Kind: string(p.Kind), Rules: rules, RetiredAt: atOrNull(p.Retired), Version: p.Version,
	}, err
}

func (r *airPlaceRow) place() (air.Place, error) {
	p := air.Place{ID: domain.AirPlaceID(r.ID), Name: r.Name, Kind: air.Kind(r.Kind), Retired: r.RetiredAt.orZero(), Version: r.Version}
	return p, fromJSON(r.Rules, &p.Rules)
}

// meterRow is a row of meters.
type meterRow struct {
	ID        int64
	Name      string
	NameKey   string
	PlaceID   *int64
	Note      string
	RetiredAt *moment
	Version   int
}

func (meterRow) TableName() string { return "meters" }
func (r *meterRow) key() *int64    { return &r.ID }

func rowOfMeter(m *air.Meter) meterRow {
	return meterRow{
		ID: int64(m.ID), Name: m.Name, NameKey: fold(m.Name), PlaceID: idOrNull(m.Place), Note: m.Note, RetiredAt: atOrNull(m.Retired), Version: m.Version,
	}
}

// meter makes the meter of a row, without its calibrations.
func (r *meterRow) meter() air.Meter {
	return air.Meter{
		ID: domain.MeterID(r.ID), Name: r.Name, Place: orZero[domain.AirPlaceID](r.PlaceID), Note: r.Note, Retired: r.RetiredAt.orZero(), Version: r.Version,
	}
}

// calibrationRow is a row of calibrations.
type calibrationRow struct {
	ID      int64
	MeterID int64
	MadeAt  moment
	MadeBy  string
	Points  string
	DueOn   domain.Date
	Note    string
}

func (calibrationRow) TableName() string { return "calibrations" }
func (r *calibrationRow) key() *int64    { return &r.ID }

// pointRow is a salt of a calibration. The first carries what is said of the
// check before.
type pointRow struct {
	air.Point
	Wrong string `json:"before_was_wrong,omitempty"`
}

func rowOfCalibration(c *air.Calibration) (calibrationRow, error) {
	kept := each(c.Points, func(p *air.Point) pointRow { return pointRow{Point: *p} })
	if len(kept) > 0 {
		kept[0].Wrong = c.Wrong
	}
	points, err := toJSON(kept)
	return calibrationRow{ID: c.ID, MeterID: int64(c.Meter), MadeAt: at(c.At), MadeBy: c.By, Points: points, DueOn: c.Due, Note: c.Note}, err
}

func (r *calibrationRow) calibration() (air.Calibration, error) {
	c := air.Calibration{ID: r.ID, Meter: domain.MeterID(r.MeterID), At: r.MadeAt.Time, By: r.MadeBy, Due: r.DueOn, Note: r.Note}
	var kept []pointRow
	if err := fromJSON(r.Points, &kept); err != nil {
		return c, err
	}
	for _, p := range kept {
		c.Points, c.Wrong = append(c.Points, p.Point), c.Wrong+p.Wrong
	}
	return c, nil
}

// airReadingRow is a row of air_readings.
type airReadingRow struct {
	ID       int64
	PlaceID  int64
	MeterID  *int64
	ReadAt   moment
	RHRead   string `gorm:"column:rh_read"`
	RH       string `gorm:"column:rh"`
	Celsius  *string
	Trusted  bool
	Source   string
	Note     string
	Replaces *int64
	NotedAt  moment
	NotedBy  string
}

func (airReadingRow) TableName() string { return "air_readings" }
func (r *airReadingRow) key() *int64    { return &r.ID }

func rowOfAirReading(r *air.Reading) airReadingRow {
	row := airReadingRow{
		ID: int64(r.ID), PlaceID: int64(r.Place), MeterID: idOrNull(r.Meter), ReadAt: at(r.At), RHRead: r.Raw.String(), RH: r.RH.String(),
		Trusted: r.Trusted, Source: string(r.Source), Note: r.Note, Replaces: idOrNull(r.Replaces), NotedAt: at(r.Noted), NotedBy: r.By,
	}
	if r.Celsius != nil {
		digits := r.Celsius.String()
		row.Celsius = &digits
	}
	return row
}

func (r *airReadingRow) reading() (air.Reading, error) {
	out := air.Reading{
		ID: domain.AirReadingID(r.ID), Place: domain.AirPlaceID(r.PlaceID), Meter: orZero[domain.MeterID](r.MeterID), At: r.ReadAt.Time,
		Trusted: r.Trusted, Source: air.Source(r.Source), Note: r.Note, Replaces: orZero[domain.AirReadingID](r.Replaces), Noted: r.NotedAt.Time, By: r.NotedBy,
	}
	var err error
	if out.Raw, err = readDecimal(r.RHRead); err != nil {
		return out, err
	}
	if out.RH, err = readDecimal(r.RH); err != nil || r.Celsius == nil {
		return out, err
	}
	warm, err := readDecimal(*r.Celsius)
	out.Celsius = &warm
	return out, err
}

// alarmAnswerRow is a row of alarm_answers.
type alarmAnswerRow struct {
	ID      int64
	PlaceID int64
	Alarm   string
	Since   moment
	Action  string
	NotedAt moment
	NotedBy string
}

func (alarmAnswerRow) TableName() string { return "alarm_answers" }
func (r *alarmAnswerRow) key() *int64    { return &r.ID }

func rowOfAlarmAnswer(a *air.Answer) alarmAnswerRow {
	return alarmAnswerRow{ID: a.ID, PlaceID: int64(a.Place), Alarm: a.Alarm, Since: at(a.Since), Action: a.Action, NotedAt: at(a.At), NotedBy: a.By}
}

func (r *alarmAnswerRow) answer() air.Answer {
	return air.Answer{
		ID: r.ID, Place: domain.AirPlaceID(r.PlaceID), Alarm: r.Alarm, Since: r.Since.Time, Action: r.Action, At: r.NotedAt.Time, By: r.NotedBy,
	}
}

// eachErr is each for rows that may hold what cannot be read.
func eachErr[R, V any](rows []R, value func(*R) (V, error)) ([]V, error) {
	out := make([]V, len(rows))
	for i := range rows {
		v, err := value(&rows[i])
		if err != nil {
			return nil, fmt.Errorf("row %d of %d: %w", i+1, len(rows), err)
		}
		out[i] = v
	}
	return out, nil
}
