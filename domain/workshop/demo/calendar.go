package demo

import (
	"sort"
	"time"

	"winterbench/domain/workshop"
)

// calendar knows the moments at which the shop is open.
type calendar struct {
	zone *time.Location
	days []openDay // in order
}

type openDay struct{ open, lunch, back, end time.Time }

// newCalendar lists the open days from first to last by the shop's hours, less
// the days around midwinter when it is shut.
func newCalendar(shop *workshop.Shop, first, last time.Time) calendar {
	c := calendar{zone: shop.Location()}
	first = first.In(c.zone)
	for i := 0; ; i++ {
		midnight := time.Date(first.Year(), first.Month(), first.Day()+i, 0, 0, 0, 0, c.zone)
		if midnight.After(last) {
			return c
		}
		h := shop.Hours[(int(midnight.Weekday())+6)%7]
		if h.Open == "" || shut(midnight) {
			continue
		}
		c.days = append(c.days, openDay{clockAt(midnight, h.Open), clockAt(midnight, "12:30"), clockAt(midnight, "13:00"), clockAt(midnight, h.Close)})
	}
}

func shut(d time.Time) bool {
	return d.Month() == time.December && d.Day() >= 24 && d.Day() <= 26 || d.Month() == time.January && d.Day() == 1
}

func clockAt(midnight time.Time, hhmm string) time.Time {
	t, err := time.Parse("15:04", hhmm)
	if err != nil {
		panic("demo: the shop's hours: " + err.Error())
	}
	return time.Date(midnight.Year(), midnight.Month(), midnight.Day(), t.Hour(), t.Minute(), 0, 0, midnight.Location()).UTC()
}

// day returns the open day at t and whether the shop is open at t.
func (c calendar) day(t time.Time) (openDay, bool) {
	i := sort.Search(len(c.days), func(i int) bool { return c.days[i].end.After(t) })
	if i == len(c.days) {
		return openDay{}, false
	}
	return c.days[i], !t.Before(c.days[i].open)
}

// next returns the first moment from t on at which the shop is open.
func (c calendar) next(t time.Time) time.Time {
	if d, open := c.day(t); !open && !d.open.IsZero() {
		return d.open.Add(12 * time.Minute)
	}
	return t
}

// before returns t, or the last moment before it at which the shop was open.
func (c calendar) before(t time.Time) time.Time {
	if _, open := c.day(t); open {
		return t
	}
	i := sort.Search(len(c.days), func(i int) bool { return c.days[i].end.After(t) })
	if i == 0 {
		return t
	}
	return c.days[i-1].end.Add(-20 * time.Minute)
}

// bench returns until when a person can work on from t, zero at lunch and when
// the shop is shut, and when work can begin again after that.
func (c calendar) bench(t time.Time) (until, again time.Time) {
	d, open := c.day(t)
	switch {
	case !open:
		return time.Time{}, d.open
	case t.Before(d.lunch):
		return d.lunch, d.back
	case t.Before(d.back):
		return time.Time{}, d.back
	}
	later, _ := c.day(d.end)
	return d.end, later.open
}
