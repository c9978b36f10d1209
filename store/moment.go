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
		if t, ok := utcMoment(v); ok {
			m.Time = t
			return nil
		}
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

// utcMoment reads the text of a moment as this program writes it, in UTC and with up to
// six decimals, in a fifth of the time that time.Parse takes: lists of thousands of
// rows are read. False for any other text, which may be a moment all the same.
func utcMoment(s string) (time.Time, bool) {
	const bare, zone = len("2006-01-02 15:04:05"), "+00:00"
	if len(s) < bare+len(zone) || s[len(s)-len(zone):] != zone || s[4] != '-' || s[7] != '-' || s[10] != ' ' || s[13] != ':' || s[16] != ':' {
		return time.Time{}, false
	}
	ok := true
	digits := func(from, to int) int {
		n := 0
		for _, c := range []byte(s[from:to]) {
			ok = ok && c >= '0' && c <= '9'
			n = 10*n + int(c-'0')
		}
		return n
	}
	year, month, day := digits(0, 4), digits(5, 7), digits(8, 10)
	hour, minute, second := digits(11, 13), digits(14, 16), digits(17, 19)
	micros := 0
	if end := len(s) - len(zone); end > bare {
		if s[bare] != '.' || end-bare-1 < 1 || end-bare-1 > 6 {
			return time.Time{}, false
		}
		micros = digits(bare+1, end)
		for i := end - bare - 1; i < 6; i++ {
			micros *= 10
		}
	}
	t := time.Date(year, time.Month(month), day, hour, minute, second, micros*1000, time.UTC)
	if !ok || t.Month() != time.Month(month) || t.Day() != day || hour > 23 || minute > 59 || second > 59 {
		return time.Time{}, false
	}
	return t, true
}

// GormDataType tells gorm that a moment is a time.
func (moment) GormDataType() string { return "time" }
