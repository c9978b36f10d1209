package demo

import (
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// lunch stands between the two stretches of a bench day.
const lunchFrom, lunchTo = "12:30", "13:00"

// benchWeek is the shop's hours less lunch, without the days that are free.
func benchWeek(shop *workshop.Shop, free ...time.Weekday) workshop.Week {
	var w workshop.Week
	for i, h := range shop.Hours {
		if h.Open != "" {
			w[i] = []workshop.Span{{From: h.Open, To: lunchFrom}, {From: lunchTo, To: h.Close}}
		}
	}
	for _, day := range free {
		w[(int(day)+6)%7] = nil
	}
	return w
}

// worksOn are the public holidays on which the shop is open from now on. In the
// years of its history it worked on all but those about midwinter.
var worksOn = []string{"Easter Monday", "Civic/Provincial Day", "National Day for Truth and Reconciliation", "Remembrance Day"}

// closeDays shuts the shop about midwinter and opens it on public holidays, for
// the winters of the history, which ends today, and the next ones.
func closeDays(shop *workshop.Shop, first, today domain.Date) {
	year := first.Time(time.UTC).Year()
	for y := year; y < year+5; y++ {
		shop.Closed = append(shop.Closed, workshop.DaySpan{
			From: domain.Date(fmt.Sprintf("%d-12-24", y)), To: domain.Date(fmt.Sprintf("%d-12-26", y)), Why: "Christmas closure",
		})
	}
	for _, h := range shop.Holidays(first, domain.Date(fmt.Sprintf("%d-12-31", year+4))) {
		if slices.Contains(worksOn, h.Name) || h.Date <= today && !shut(h.Date.Time(time.UTC)) {
			shop.OpenOn = append(shop.OpenOn, h.Date)
		}
	}
}

// engage fills the calendar of the shop and gives everybody their hours: Ruben and Noor share the counter's week,
// the bench is worked by Ines all week and by Teodor without his Tuesdays. Two
// of them are away for a few days after today, and Ines for three weeks of the
// next January, when the shop is fullest.
func (b *book) engage(first, today domain.Date) error {
	shop, staff := &b.season.Shop, b.season.Staff
	closeDays(shop, first, today)
	if err := shop.Check(); err != nil {
		return fmt.Errorf("demo: the shop's calendar: %w", err)
	}
	for i := range staff {
		s := &staff[i]
		switch s.Name {
		case "Ruben":
			s.Hours = benchWeek(shop, time.Saturday)
		case "Noor":
			s.Hours[5] = []workshop.Span{{From: shop.Hours[5].Open, To: shop.Hours[5].Close}}
		case "Ines":
			s.Hours, s.Skill = benchWeek(shop), 4
			school := midJanuary(today)
			s.Away = []workshop.DaySpan{{From: today.AddDays(16), To: today.AddDays(16), Why: "a course"}, {From: school, To: school.AddDays(19), Why: "teaching at the school"}}
		case "Teodor":
			s.Hours, s.Skill = benchWeek(shop, time.Tuesday), 3
			s.Away = []workshop.DaySpan{{From: today.AddDays(8), To: today.AddDays(10), Why: "with the family"}}
		}
		if err := s.Check(); err != nil {
			return fmt.Errorf("demo: the hours of %s: %w", s.Name, err)
		}
	}
	return nil
}

// midJanuary is the first 11 January that is four weeks ahead or more.
func midJanuary(today domain.Date) domain.Date {
	for year := yearOf(today); ; year++ {
		if d := domain.Date(fmt.Sprintf("%d-01-11", year)); d >= today.AddDays(28) {
			return d
		}
	}
}

func yearOf(d domain.Date) int { return d.Time(time.UTC).Year() }
