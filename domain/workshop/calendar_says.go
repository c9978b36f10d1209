package workshop

import (
	"fmt"
	"time"

	"winterbench/domain"
)

// fortnight is how many days the answers about hours count.
const fortnight = 14

// ShopHoursAnswer says how much the shop works in the next two weeks, and when
// it is closed next on a day on which it usually works.
func ShopHoursAnswer(shop *Shop, today domain.Date) string {
	week := shop.Week()
	if week.Minutes() == 0 {
		return "The shop has no opening hours yet; give them in its settings."
	}
	days, err := OpenDays(shop, nil, today, today.AddDays(365))
	if err != nil {
		return "The days ahead cannot be laid out: " + domain.TextOf(err) + "."
	}
	said := "The shop works " + hoursSaid(days) + " in the next two weeks"
	for _, d := range days {
		if d.Why != "" && len(week[d.Day.Time(time.UTC).Weekday()]) > 0 {
			return fmt.Sprintf("%s; it is closed next on %s: %s.", said, day(d.Day, today), d.Why)
		}
	}
	return said + "; in the year ahead no day is closed but the usual ones."
}

// StaffHoursAnswer says how much a person works in the next two weeks, by whose
// hours, and when they are away next.
func StaffHoursAnswer(s *Staff, shop *Shop, today domain.Date) string {
	days, err := OpenDays(shop, s, today, today.AddDays(fortnight-1))
	if err != nil {
		return "The days ahead cannot be laid out: " + domain.TextOf(err) + "."
	}
	whose := "by own hours"
	if s.Hours.Empty() {
		whose = "by the shop's hours"
	}
	said := fmt.Sprintf("%s works %s in the next two weeks, %s", s.Name, hoursSaid(days), whose)
	for _, a := range s.Away {
		switch {
		case a.To < today:
		case a.From == a.To:
			return fmt.Sprintf("%s; away next on %s.", said, day(a.From, today))
		default:
			return fmt.Sprintf("%s; away next from %s to %s.", said, day(a.From, today), day(a.To, today))
		}
	}
	return said + "."
}

// hoursSaid sums the next two weeks: "56 h", "13 h 30 min", "nothing".
func hoursSaid(days []OpenDay) string {
	n := 0
	for _, d := range days[:min(fortnight, len(days))] {
		n += d.Minutes
	}
	switch {
	case n == 0:
		return "nothing"
	case n%60 == 0:
		return fmt.Sprintf("%d h", n/60)
	}
	return fmt.Sprintf("%d h %d min", n/60, n%60)
}
