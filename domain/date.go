package domain

import (
	"fmt"
	"time"
)

// Date is a civil date, without a time or a zone, in the form 2026-11-25.
// "" is no date. Dates compare as strings.
type Date string

// ParseDate reads an ISO 8601 calendar date and refuses days that do not exist.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1900 || t.Year() > 2200 {
		return "", Invalidf("%q is no date; write year-month-day, such as 2026-11-25", s)
	}
	return Date(s), nil
}

// DateOf returns the civil date of t in its own zone.
func DateOf(t time.Time) Date { return Date(t.Format(time.DateOnly)) }

// Time returns midnight at the start of the date in zone. It panics on a Date
// that ParseDate would refuse.
func (d Date) Time(zone *time.Location) time.Time {
	t, err := time.ParseInLocation(time.DateOnly, string(d), zone)
	if err != nil {
		panic(fmt.Sprintf("domain: %q is no date", string(d)))
	}
	return t
}

// AddDays returns the date n days later.
func (d Date) AddDays(n int) Date { return DateOf(d.Time(time.UTC).AddDate(0, 0, n)) }

// DaysTo returns how many days later than d the date e is, negative when it is
// earlier. Both must be dates that ParseDate takes.
func (d Date) DaysTo(e Date) int { return WholeDays(d.Time(time.UTC), e.Time(time.UTC)) }

// WholeDays returns how many times 24 hours have passed from one moment to
// another, whole ones only; negative when the second is earlier.
func WholeDays(from, to time.Time) int { return int(to.Sub(from) / (24 * time.Hour)) }
