package store

import (
	"database/sql/driver"
	"fmt"
	"time"

	"winterbench/domain"
)

// moment is a point in time as rows hold it: UTC, whole microseconds. A column
// that may be NULL is a *moment. It exists because a STRICT table of SQLite
// keeps moments as text, which does not scan into a time.Time.
//
// gorm fills a field named CreatedAt or UpdatedAt by itself when it is zero; rows
// that must not get the machine's time set it always.
type moment struct{ time.Time }

// sqliteMoment is how the SQLite driver writes a time.
const sqliteMoment = "2006-01-02 15:04:05.999999999-07:00"

// at makes a moment.
func at(t time.Time) moment { return moment{domain.Moment(t)} }

// atOrNull makes a moment for a column that may be NULL; the zero time is NULL.
func atOrNull(t time.Time) *moment {
	if t.IsZero() {
		return nil
	}
	m := at(t)
	return &m
}

// orZero returns the time, the zero time for NULL.
func (m *moment) orZero() time.Time {
	if m == nil {
		return time.Time{}
	}
	return m.Time
}

// Value gives the driver a time in UTC and whole microseconds.
func (m moment) Value() (driver.Value, error) { return domain.Moment(m.Time), nil }

// Scan takes what either driver read.
func (m *moment) Scan(read any) error {
	switch v := read.(type) {
	case time.Time:
		*m = at(v)
		return nil
	case string:
		t, err := time.Parse(sqliteMoment, v)
		if err != nil {
			return fmt.Errorf("read a moment: the text is not of the form %q", sqliteMoment)
		}
		*m = at(t)
		return nil
	case nil:
		return fmt.Errorf("read a moment: NULL; the row must use *moment for this column")
	}
	return fmt.Errorf("read a moment: got %T, want a time or a text", read)
}

// GormDataType tells gorm that a moment is a time.
func (moment) GormDataType() string { return "time" }
