package workshop

import (
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
)

// Change is what is tried out on the season. The zero value changes nothing.
type Change struct {
	Days        int         `json:"days"`          // more bench days a week, of BenchDayHours each
	Hours       int         `json:"hours"`         // a week, of one more person at the bench
	Places      int         `json:"places"`        // more places in the cabinet
	SetUpsMoved int         `json:"set_ups_moved"` // percent of the winter's set-ups that come in summer instead
	ClosedWeek  domain.Date `json:"closed_week"`   // a day of the week that is closed; "" for none
	Colder      int         `json:"colder"`        // percent more arrivals than foretold
	Degrees     int         `json:"degrees"`       // by how many degrees Celsius it is colder outdoors; needs a climate
}

// The most that can be tried.
const (
	MostDays      = 5
	MostHours     = 60
	MostPlaces    = 40
	MostColder    = 200
	MostDegrees   = 15
	BenchDayHours = 6 // at the bench on one day; common practice, no source
)

// None reports whether nothing is changed.
func (c Change) None() bool { return c == Change{} }

// Check returns an Invalid error that names each field that cannot be.
func (c Change) Check(today domain.Date) error {
	f := domain.Fields{}
	within := func(name string, got, most int, what string) {
		if got < 0 || got > most {
			f.Add(name, "must be from 0 to %d %s, not %d", most, what, got)
		}
	}
	within("days", c.Days, MostDays, "days a week")
	within("hours", c.Hours, MostHours, "hours a week")
	within("places", c.Places, MostPlaces, "places")
	within("set_ups_moved", c.SetUpsMoved, 100, "of a hundred")
	within("colder", c.Colder, MostColder, "percent")
	within("degrees", c.Degrees, MostDegrees, "degrees")
	if c.ClosedWeek != "" {
		switch _, err := domain.ParseDate(string(c.ClosedWeek)); {
		case err != nil:
			f.AddErr("closed_week", err)
		case mondayOf(c.ClosedWeek).AddDays(6) < today:
			f.Add("closed_week", "the week of %s is over; choose one that is still to come", c.ClosedWeek)
		case c.ClosedWeek > today.AddDays(7*seasonWeeks):
			f.Add("closed_week", "%s is beyond the weeks that are looked at; choose one of the next %d", c.ClosedWeek, seasonWeeks)
		}
	}
	return f.Err()
}

// Text says the change in words.
func (c Change) Text() string {
	var parts []string
	add := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, one)
		case n > 1:
			parts = append(parts, fmt.Sprintf(many, n))
		}
	}
	add(c.Days, "one more bench day a week", "%d more bench days a week")
	add(c.Hours, "a part-time hand of one hour a week", "a part-time hand of %d hours a week")
	add(c.Places, "one more cabinet place", "%d more cabinet places")
	if c.SetUpsMoved > 0 {
		parts = append(parts, fmt.Sprintf("%d of 100 set-ups moved to summer", c.SetUpsMoved))
	}
	if c.ClosedWeek != "" {
		parts = append(parts, "closed in the week of "+mondayOf(c.ClosedWeek).Time(time.UTC).Format("2 January"))
	}
	if c.Colder > 0 {
		parts = append(parts, fmt.Sprintf("%d percent more work comes", c.Colder))
	}
	add(c.Degrees, "one degree colder outdoors", "%d degrees colder outdoors")
	if len(parts) == 0 {
		return "nothing changed"
	}
	return strings.Join(parts, ", ")
}

// mondayOf is the first day of a day's week.
func mondayOf(d domain.Date) domain.Date {
	return d.AddDays(-(int(d.Time(time.UTC).Weekday()) + 6) % 7)
}

// seasonWeeks is how far the season looks ahead.
const seasonWeeks = 26
