package workshop

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
)

func TestForgottenClocks(t *testing.T) {
	shop := &Shop{Zone: "Europe/Berlin"}
	for i := range 6 {
		shop.Hours[i] = Hours{Open: "09:00", Close: "17:00"}
	}
	zone := shop.Location()
	late := Staff{ID: 2, Name: "Ines"}
	late.Hours[1] = []Span{{From: "10:00", To: "12:30"}, {From: "13:00", To: "20:00"}}
	staff := []Staff{{ID: 1, Name: "Runa", Away: []DaySpan{{From: "2026-11-19", To: "2026-11-20"}}}, late}
	shop.Closed = []DaySpan{{From: "2026-11-26", To: "2026-11-26"}}
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 11, day, hour, minute, 0, 0, zone) }
	for _, c := range []struct {
		name       string
		who        domain.StaffID
		since, now time.Time
		closed     time.Time // zero: not forgotten
	}{
		{"at work", 1, at(24, 14, 0), at(24, 16, 0), time.Time{}},
		{"a little over", 1, at(24, 14, 0), at(24, 17, 30), time.Time{}},
		{"run on", 1, at(24, 14, 0), at(24, 17, 31), at(24, 17, 0)},
		{"the next morning", 1, at(24, 16, 59), at(25, 9, 0), at(24, 17, 0)},
		{"hours of their own", 2, at(24, 14, 0), at(24, 19, 0), time.Time{}},
		{"after hours of their own", 2, at(24, 14, 0), at(24, 21, 0), at(24, 20, 0)},
		{"a person who left", 9, at(24, 14, 0), at(24, 21, 0), at(24, 17, 0)},
		{"begun in the evening", 1, at(24, 21, 0), at(24, 23, 59), time.Time{}},
		{"over midnight", 1, at(24, 21, 0), at(25, 1, 0), at(25, 0, 0)},
		{"on a closed day", 1, at(26, 14, 0), at(27, 9, 0), at(27, 0, 0)},
		{"on a closed day, still there", 1, at(26, 14, 0), at(26, 19, 0), time.Time{}},
		{"back from a day away", 1, at(20, 14, 0), at(21, 9, 0), at(21, 0, 0)},
		{"on a closed Sunday", 1, at(22, 11, 0), at(23, 9, 0), at(23, 0, 0)},
		// On 25 October 2026 the clocks of Berlin go back at 3: the Saturday before
		// ends at 17:00 by the wall, and a clock of that Sunday at its midnight.
		{"before the clocks change", 1, time.Date(2026, 10, 24, 16, 0, 0, 0, zone), time.Date(2026, 10, 25, 9, 0, 0, 0, zone), time.Date(2026, 10, 24, 17, 0, 0, 0, zone)},
		{"while the clocks change", 1, time.Date(2026, 10, 25, 1, 0, 0, 0, zone), time.Date(2026, 10, 26, 9, 0, 0, 0, zone), time.Date(2026, 10, 25, 23, 0, 0, 0, time.UTC)},
	} {
		got := ForgottenClocks([]ClockRow{{Staff: c.who, Name: "Runa", Tag: 297, What: "Fret ends dressed", Since: c.since.UTC()}}, staff, shop, c.now.UTC())
		switch {
		case c.closed.IsZero() && len(got) > 0:
			t.Errorf("%s: forgotten since %s, want none", c.name, got[0].Closed)
		case !c.closed.IsZero() && (len(got) != 1 || !got[0].Closed.Equal(c.closed)):
			t.Errorf("%s: got %v, want closed at %s", c.name, got, c.closed)
		}
	}
	f := Forgotten{ClockRow: ClockRow{Staff: 1, Name: "Runa", Tag: 297, What: "Fret ends dressed"}, Closed: at(24, 17, 0)}
	if got := f.Text(zone, 2); got != "Runa’s clock on tag 297, Fret ends dressed, ran on after closing, Tue 24 Nov 17:00: when did it stop?" {
		t.Errorf("text %q", got)
	}
	if got := f.Text(zone, 1); !strings.HasPrefix(got, "Your clock on tag 297") {
		t.Errorf("text %q", got)
	}
}
