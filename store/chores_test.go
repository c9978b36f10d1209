package store

import (
	"testing"
	"time"

	"winterbench/domain"
)

func TestCopiesComeOnceADay(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	at := func(s string) time.Time {
		m, err := time.ParseInLocation("2006-01-02 15:04", s, zone)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	d := daily{at: "03:30", zone: func() *time.Location { return zone }}
	for _, c := range []struct {
		now, next string
		day       domain.Date
	}{
		{"2026-11-26 02:00", "2026-11-26 03:30", "2026-11-25"},
		{"2026-11-26 03:30", "2026-11-27 03:30", "2026-11-26"},
		{"2026-11-26 23:59", "2026-11-27 03:30", "2026-11-26"},
		{"2026-03-28 12:00", "2026-03-29 04:30", "2026-03-28"}, // the clocks leave 03:00 to 04:00 out
		{"2026-10-24 12:00", "2026-10-25 03:30", "2026-10-24"},
	} {
		if got := d.Next(at(c.now)); !got.Equal(at(c.next)) {
			t.Errorf("after %s: got %s, want %s", c.now, got.In(zone), c.next)
		}
		if got := d.day(at(c.now)); got != c.day {
			t.Errorf("at %s the copy of %s is due, want of %s", c.now, got, c.day)
		}
	}
	for _, p := range []CopyPlan{{At: "3 am", Keep: 1}, {At: "25:00", Keep: 1}, {At: "03:30"}} {
		if domain.KindOf(p.Check()) != domain.Invalid {
			t.Errorf("%+v is not refused", p)
		}
	}
}
