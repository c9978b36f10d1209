package workshop

import (
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

// Forgotten is a clock that nobody stopped when the day was over.
type Forgotten struct {
	ClockRow
	Closed time.Time // when the person's day ended, or midnight after work out of hours
}

// overtime is how long after closing a clock still counts as work that runs over.
// Our default, no source.
const overtime = 30 * time.Minute

// ForgottenClocks picks the clocks that run on after the end of the day on which they
// began, by the hours of the person, else of the shop.
func ForgottenClocks(rows []ClockRow, staff []Staff, shop *Shop, now time.Time) []Forgotten {
	var out []Forgotten
	for _, r := range rows {
		if closed := closingOf(r, staff, shop); now.After(closed.Add(overtime)) {
			out = append(out, Forgotten{ClockRow: r, Closed: closed})
		}
	}
	return out
}

// closingOf is the end of the person's hours on the day a clock began; the end of the
// day itself when it began after them, or on a day without any: free, closed or away.
func closingOf(r ClockRow, staff []Staff, shop *Shop) time.Time {
	zone := shop.Location()
	since := r.Since.In(zone)
	day := domain.DateOf(since)
	week, off := shop.Week(), shop.ClosedPeriods(day, day)
	if i := slices.IndexFunc(staff, func(s Staff) bool { return s.ID == r.Staff }); i >= 0 {
		week, off = staff[i].Week(shop), append(off, periods(staff[i].Away)...)
	}
	end := 0
	if !slices.ContainsFunc(off, func(p queue.Period) bool { return p.From <= day && day <= p.To }) {
		for _, s := range week[since.Weekday()] {
			end = max(end, s.To)
		}
	}
	y, m, d := since.Date()
	closed := time.Date(y, m, d, end/60, end%60, 0, 0, zone)
	if !closed.After(since) {
		return time.Date(y, m, d+1, 0, 0, 0, 0, zone)
	}
	return closed
}

// Text asks for the end of a clock: "Runa’s clock on tag 297, Fret ends, ran on after
// closing, Tue 24 Nov 17:00: when did it stop?"
func (f Forgotten) Text(zone *time.Location, who domain.StaffID) string {
	whose := f.Name + "’s clock"
	if f.Staff == who {
		whose = "Your clock"
	}
	return fmt.Sprintf("%s on tag %d, %s, ran on after closing, %s: when did it stop?", whose, f.Tag, f.What, f.Closed.In(zone).Format("Mon 2 Jan 15:04"))
}
