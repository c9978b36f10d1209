package demo

import (
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// The calendar of the invented shop tells the same days open as its history was
// made with, and three people share the bench and the counter with hours of
// their own.
func TestHistoryKeepsToTheCalendar(t *testing.T) {
	for _, end := range []time.Time{time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC), time.Date(2027, 1, 4, 15, 0, 0, 0, time.UTC), time.Date(2026, 4, 7, 15, 0, 0, 0, time.UTC)} {
		s, err := newSim(7, end)
		if err != nil {
			t.Fatal(err)
		}
		shop := &s.b.season.Shop
		open := map[domain.Date]bool{}
		for _, d := range s.cal.days {
			open[domain.DateOf(d.open.In(s.cal.zone))] = true
		}
		today := domain.DateOf(end.In(s.cal.zone))
		days, err := workshop.OpenDays(shop, nil, today.AddDays(-399), today)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range days {
			if open[d.Day] != (d.Why == "") {
				t.Errorf("%s: the history has it open: %v; the calendar says %q", d.Day, open[d.Day], d.Why)
			}
		}
	}
}

func TestPeopleHaveHoursOfTheirOwn(t *testing.T) {
	end := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	s, err := newSim(7, end)
	if err != nil {
		t.Fatal(err)
	}
	shop := &s.b.season.Shop
	weekly, away := map[string]int{}, 0
	for i := range s.b.season.Staff {
		m := &s.b.season.Staff[i]
		week := m.Week(shop)
		weekly[m.Name] = week.Minutes()
		for _, a := range m.Away {
			if a.From > domain.DateOf(end) {
				away++
			}
		}
	}
	week := shop.Week()
	if weekly["Ines"] != week.Minutes()-5*30 || weekly["Teodor"] >= weekly["Ines"] || weekly["Ruben"] >= week.Minutes() || weekly["Noor"] != 360 {
		t.Errorf("got minutes a week %v of the shop's %d, want hours of their own", weekly, week.Minutes())
	}
	if away != 3 {
		t.Errorf("got %d absences ahead, want 3", away)
	}
	days, err := workshop.OpenDays(shop, nil, "2026-12-22", "2027-04-30")
	if err != nil {
		t.Fatal(err)
	}
	why := map[domain.Date]string{}
	for _, d := range days {
		why[d.Day] = d.Why
	}
	for day, want := range map[domain.Date]string{"2026-12-24": "Christmas closure", "2027-01-01": "New Year's Day", "2027-03-26": "Good Friday", "2026-12-23": ""} {
		if why[day] != want {
			t.Errorf("%s: got %q, want %q", day, why[day], want)
		}
	}
}
