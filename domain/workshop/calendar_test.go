package workshop_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// winterShop is open from Tuesday to Friday in Austria.
func winterShop() *workshop.Shop {
	day := workshop.Hours{Open: "09:00", Close: "17:00"}
	return &workshop.Shop{
		Zone: "Europe/Vienna", Region: "AT", Hours: [7]workshop.Hours{1: day, 2: day, 3: day, 4: day},
		Closed: []workshop.DaySpan{{From: "2026-12-28", To: "2026-12-31", Why: "midwinter"}},
	}
}

func spans(text string) []workshop.Span { return workshop.ParseSpans(text) }

func TestSpansAreRead(t *testing.T) {
	for typed, want := range map[string]string{
		"":                         "",
		"09:00-12:30, 13:00-17:00": "09:00-12:30, 13:00-17:00",
		" 9 - 12:30 ;13–17":        "09:00-12:30, 13:00-17:00",
		"8.30-24:00":               "08:30-24:00",
		"20-24":                    "20:00-24:00",
		"nine to five":             "nine to five-",
		"09:00":                    "09:00-",
	} {
		if got := workshop.SpansText(workshop.ParseSpans(typed)); got != want {
			t.Errorf("%q: got %q, want %q", typed, got, want)
		}
	}
}

func TestHoursOfAPersonAreChecked(t *testing.T) {
	tests := []struct{ name, typed, want string }{
		{"none at all", "", ""},
		{"two stretches in any order", "13:00-17:00, 09:00-12:30", ""},
		{"stretches may touch", "09:00-12:00, 12:00-13:00", ""},
		{"words", "nine to five", "Wednesday: \"nine to five-\" is no stretch"},
		{"no end", "09:00", "Wednesday: \"09:00-\" is no stretch"},
		{"ends before it begins", "17:00-09:00", "Wednesday: 17:00-09:00 must begin before it ends"},
		{"no time at all", "09:00-09:00", "must begin before it ends"},
		{"after midnight", "22:00-25:00", "is no stretch"},
		{"they overlap", "12:00-14:00, 09:00-13:00", "Wednesday: the stretches that begin at 09:00 and 12:00 overlap"},
		{"a day in crumbs", "1-2,3-4,5-6,7-8,9-10,11-12,13-14,15-16,17-18", "at most 8 stretches, not 9"},
	}
	for _, tt := range tests {
		s := workshop.Staff{Name: "Odo", Roles: []domain.Role{domain.Bench}, Hours: workshop.Week{2: spans(tt.typed)}}
		err := s.Check()
		got := domain.FieldsOf(err)["hours[2]"]
		if (tt.want == "") != (err == nil) || !strings.Contains(got, tt.want) {
			t.Errorf("%s: got %v, want %q", tt.name, err, tt.want)
		}
	}
	s := workshop.Staff{Name: "Odo", Roles: []domain.Role{domain.Bench}, Hours: workshop.Week{2: spans("13-17, 9-12")}}
	s.Hours[3] = []workshop.Span{{From: "10:00", To: "11:00"}, {From: "9:00", To: "10:00"}}
	if err := s.Check(); err != nil || workshop.SpansText(s.Hours[3]) != "09:00-10:00, 10:00-11:00" {
		t.Errorf("got %v and %v, want 9:00 written as 09:00 and before 10:00", s.Hours[3], err)
	}
	if err := s.Check(); err != nil || workshop.SpansText(s.Hours[2]) != "09:00-12:00, 13:00-17:00" {
		t.Errorf("got %v and %v, want the stretches in order", s.Hours[2], err)
	}
}

func TestDaysAwayAreChecked(t *testing.T) {
	tests := []struct {
		name, field, want string
		away              workshop.DaySpan
	}{
		{"one day", "", "", workshop.DaySpan{From: "2026-12-01", To: "2026-12-01"}},
		{"a year", "", "", workshop.DaySpan{From: "2026-12-01", To: "2027-12-01"}},
		{"backwards", "away[0].to", "2026-11-30 is before the first day", workshop.DaySpan{From: "2026-12-01", To: "2026-11-30"}},
		{"no such day", "away[0].from", "is no date", workshop.DaySpan{From: "2026-02-30", To: "2026-03-01"}},
		{"no end", "away[0].to", "is no date", workshop.DaySpan{From: "2026-12-01"}},
		{"for ever", "away[0].to", "longer than 366 days", workshop.DaySpan{From: "2026-12-01", To: "2099-12-31"}},
		{"a novel", "away[0].why", "80", workshop.DaySpan{From: "2026-12-01", To: "2026-12-01", Why: strings.Repeat("x", 81)}},
	}
	for _, tt := range tests {
		s := workshop.Staff{Name: "Odo", Roles: []domain.Role{domain.Bench}, Away: []workshop.DaySpan{tt.away}}
		err := s.Check()
		if (tt.want == "") != (err == nil) || !strings.Contains(domain.FieldsOf(err)[tt.field], tt.want) {
			t.Errorf("%s: got %v, want %q under %q", tt.name, err, tt.want, tt.field)
		}
	}
	twice := workshop.DaySpan{From: "2026-12-01", To: "2026-12-01"}
	s := workshop.Staff{Name: "Odo", Roles: []domain.Role{domain.Bench}, Away: []workshop.DaySpan{{From: "2027-01-01", To: "2027-01-02"}, twice, twice}}
	if err := s.Check(); err != nil || len(s.Away) != 2 || s.Away[0] != twice {
		t.Errorf("got %v and %v, want each once and in order", s.Away, err)
	}
}

func TestSkillGoesByTheHatsWhenNobodySaid(t *testing.T) {
	tests := []struct {
		name  string
		skill int
		hats  []domain.Role
		want  int
	}{
		{"counter", 0, []domain.Role{domain.Counter}, 1},
		{"bench", 0, []domain.Role{domain.Bench, domain.Counter}, 3},
		{"owner at the bench", 0, domain.Roles(), 4},
		{"owner in the office", 0, []domain.Role{domain.Owner}, 1},
		{"an apprentice", 2, []domain.Role{domain.Bench}, 2},
	}
	for _, tt := range tests {
		s := workshop.Staff{Name: "Odo", Roles: tt.hats, Skill: tt.skill}
		if got := s.Skilled(); got != tt.want {
			t.Errorf("%s: got %d, want %d", tt.name, got, tt.want)
		}
	}
	bad := workshop.Staff{Name: "Odo", Roles: domain.Roles(), Skill: 5}
	if err := bad.Check(); domain.FieldsOf(err)["skill"] == "" {
		t.Errorf("a skill of 5: got %v, want it refused", err)
	}
}

// 8 December is Mariä Empfängnis, a public holiday of Austria
// (Feiertagsruhegesetz 1957, section 1); in 2026 it is a Tuesday.
func TestShopKeepsHolidaysUnlessItOpens(t *testing.T) {
	shop := winterShop()
	from := time.Date(2026, 12, 7, 0, 0, 0, 0, shop.Location())
	c, err := shop.Calendar(from, 60)
	if err != nil {
		t.Fatal(err)
	}
	holiday := time.Date(2026, 12, 8, 10, 0, 0, 0, shop.Location())
	if c.Open(holiday) || !c.Open(holiday.AddDate(0, 0, 1)) {
		t.Error("want the holiday closed and the day after it open")
	}
	if closed := time.Date(2026, 12, 30, 10, 0, 0, 0, shop.Location()); c.Open(closed) || !c.Open(closed.AddDate(0, 0, 14)) {
		t.Error("want the closed week closed and a later one open")
	}
	shop.OpenOn = []domain.Date{"2026-12-08"}
	if c, err = shop.Calendar(from, 60); err != nil || !c.Open(holiday) {
		t.Errorf("want the holiday open when the shop says so; error %v", err)
	}
	shop.Region = ""
	if got := shop.Holidays("2026-01-01", "2026-12-31"); got != nil {
		t.Errorf("without a region: got %v, want no holidays", got)
	}
}

func TestPersonsCalendar(t *testing.T) {
	shop := winterShop()
	at := func(text string) time.Time {
		m, err := time.ParseInLocation("2006-01-02 15:04", text, shop.Location())
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	odo := &workshop.Staff{Hours: workshop.Week{0: spans("08:00-12:00"), 2: spans("09:00-12:30, 13:00-18:00")}, Away: []workshop.DaySpan{{From: "2026-12-09", To: "2026-12-09"}}}
	c, err := odo.Calendar(shop, at("2026-12-07 00:00"), 60)
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]bool{
		"2026-12-07 09:00": true,  // own hours on a Monday, though the shop is shut
		"2026-12-09 10:00": false, // away
		"2026-12-10 10:00": false, // no hours on Thursdays
		"2026-12-16 12:45": false, // lunch
		"2026-12-16 17:30": true,  // after the shop's closing time
		"2026-12-28 09:00": false, // the shop is closed for midwinter
	} {
		if got := c.Open(at(text)); got != want {
			t.Errorf("%s: got open %v, want %v", text, got, want)
		}
	}
	usual, err := (&workshop.Staff{}).Calendar(shop, at("2026-12-07 00:00"), 60)
	if err != nil || usual.Open(at("2026-12-07 09:00")) || !usual.Open(at("2026-12-10 10:00")) {
		t.Errorf("a person without hours: want the shop's; error %v", err)
	}
}

// Clocks change on 29 March and 25 October 2026 at 01:00 UTC (directive
// 2000/84/EC): the night shift has an hour less and an hour more.
func TestDaysOfTheClockChange(t *testing.T) {
	shop := winterShop()
	night := &workshop.Staff{ID: 7, Hours: workshop.Week{6: spans("00:00-06:00")}}
	for day, want := range map[domain.Date]int{"2026-03-22": 360, "2026-03-29": 300, "2026-10-18": 360, "2026-10-25": 420} {
		days, err := workshop.OpenDays(shop, night, day, day)
		if err != nil || len(days) != 1 || days[0].Minutes != want || workshop.SpansText(days[0].Spans) != "00:00-06:00" {
			t.Errorf("%s: got %+v and %v, want %d minutes", day, days, err, want)
		}
	}
	days, err := workshop.OpenDays(shop, nil, "2026-03-24", "2026-03-31")
	if err != nil || len(days) != 8 || days[0].Minutes != 480 || days[7].Minutes != 480 {
		t.Errorf("got %+v and %v, want eight hours before and after the change", days, err)
	}
}

// Egypt's and Lebanon's clocks change at midnight, so that a day has no midnight
// (time zone database, Africa/Cairo and Asia/Beirut); Lord Howe's by half an hour.
// Whatever the zone, open days that touch lose and double no minute.
func TestOpenDaysLoseNoMinute(t *testing.T) {
	all := workshop.Week{}
	for i := range all {
		all[i] = spans("00:00-24:00")
	}
	rapid.Check(t, func(rt *rapid.T) {
		zone := rapid.SampledFrom([]string{"Africa/Cairo", "Asia/Beirut", "Australia/Lord_Howe", "Europe/Vienna", "America/Halifax", "Pacific/Apia"}).Draw(rt, "zone")
		shop := &workshop.Shop{Zone: zone}
		from := domain.Date("2024-01-01").AddDays(rapid.IntRange(0, 1200).Draw(rt, "from"))
		to := from.AddDays(rapid.IntRange(0, 60).Draw(rt, "days"))
		got := 0
		days, err := workshop.OpenDays(shop, &workshop.Staff{Hours: all}, from, to)
		if err != nil {
			rt.Fatal(err)
		}
		for _, d := range days {
			got += d.Minutes
		}
		first, last := from.Time(shop.Location()), to.AddDays(1).Time(shop.Location())
		if want := int(last.Sub(first) / time.Minute); got != want {
			rt.Fatalf("%s to %s in %s: got %d minutes, want %d", from, to, zone, got, want)
		}
		usual, err := workshop.OpenDays(shop, &workshop.Staff{Hours: workshop.Week{0: spans("09:00-17:00"), 4: spans("09:00-17:00"), 6: spans("09:00-17:00")}}, from, to)
		if err != nil {
			rt.Fatal(err)
		}
		for _, d := range usual {
			if d.Why == "" && d.Minutes != 480 {
				rt.Fatalf("%s in %s: got %d minutes of the usual day, want 480", d.Day, zone, d.Minutes)
			}
		}
	})
}

func BenchmarkPersonsCalendar(b *testing.B) {
	shop := winterShop()
	odo := &workshop.Staff{Away: []workshop.DaySpan{{From: "2026-12-09", To: "2026-12-09"}}}
	from := time.Date(2026, 12, 7, 9, 0, 0, 0, shop.Location())
	for b.Loop() {
		if _, err := odo.Calendar(shop, from, 365); err != nil {
			b.Fatal(err)
		}
	}
}

func TestOpenDaysSayWhyNot(t *testing.T) {
	shop := winterShop()
	odo := &workshop.Staff{ID: 7, Away: []workshop.DaySpan{{From: "2026-12-10", To: "2026-12-10", Why: "the north"}, {From: "2026-12-11", To: "2026-12-11"}}}
	text := func(days []workshop.OpenDay) (out []string) {
		for _, d := range days {
			out = append(out, fmt.Sprintf("%s %s %d %s", d.Day[5:], workshop.SpansText(d.Spans), d.Minutes, d.Why))
		}
		return out
	}
	days, err := workshop.OpenDays(shop, nil, "2026-12-07", "2026-12-09")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"12-07  0 no hours on Mondays", "12-08  0 Mariä Empfängnis", "12-09 09:00-17:00 480 "}, text(days)); diff != "" {
		t.Errorf("the shop (-want +got):\n%s", diff)
	}
	days, err = workshop.OpenDays(shop, odo, "2026-12-09", "2026-12-11")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"12-09 09:00-17:00 480 ", "12-10  0 away: the north", "12-11  0 away"}, text(days)); diff != "" {
		t.Errorf("the person (-want +got):\n%s", diff)
	}
	days, err = workshop.OpenDays(shop, nil, "2026-12-29", "2026-12-30")
	if err != nil || days[1].Why != "midwinter" || days[1].Minutes != 0 {
		t.Errorf("got %+v and %v, want a span that is all closed to be no error", days, err)
	}
	for _, wrong := range [][2]domain.Date{{"2026-12-09", "2026-12-08"}, {"2026-12-09", "2029-12-08"}, {"", "2026-12-08"}} {
		if _, err := workshop.OpenDays(shop, nil, wrong[0], wrong[1]); domain.KindOf(err) != domain.Invalid {
			t.Errorf("from %q to %q: got %v, want an invalid error", wrong[0], wrong[1], err)
		}
	}
}

func TestShopsCalendarIsChecked(t *testing.T) {
	for field, spoil := range map[string]func(*workshop.Shop){
		"region":         func(s *workshop.Shop) { s.Region = "XX" },
		"said":           func(s *workshop.Shop) { s.Said = "p99" },
		"open_on":        func(s *workshop.Shop) { s.OpenOn = []domain.Date{"2026-13-01"} },
		"closed[0].to":   func(s *workshop.Shop) { s.Closed = []workshop.DaySpan{{From: "2026-12-02", To: "2026-12-01"}} },
		"closed[1].from": func(s *workshop.Shop) { s.Closed = append(s.Closed, workshop.DaySpan{To: "2026-12-01"}) },
	} {
		s := winterShop()
		spoil(s)
		if text := domain.FieldsOf(s.Check())[field]; text == "" {
			t.Errorf("%s: got %v, want it refused", field, s.Check())
		}
	}
	good := winterShop()
	good.Check()
	for _, field := range []string{"region", "said", "open_on", "closed"} {
		if text := domain.FieldsOf(good.Check())[field]; text != "" {
			t.Errorf("%s: got %q, want it accepted", field, text)
		}
	}
	for said, want := range map[workshop.Said]float64{"": 0.8, "p50": 0.5, "p80": 0.8, "p95": 0.95} {
		if got := said.Share(); got != want {
			t.Errorf("%q: got %v, want %v", said, got, want)
		}
	}
}

func TestHoursAreSaid(t *testing.T) {
	shop, today := winterShop(), domain.Date("2026-12-03")
	own := workshop.Week{2: spans("09:00-12:30, 13:00-17:00")}
	tests := []struct{ name, got, want string }{
		{"a holiday ahead", workshop.ShopHoursAnswer(shop, today), "The shop works 56 h in the next two weeks; it is closed next on Tue 8 Dec: Mariä Empfängnis."},
		{"no holidays kept", workshop.ShopHoursAnswer(&workshop.Shop{Hours: shop.Hours}, today), "The shop works 64 h in the next two weeks; in the year ahead no day is closed but the usual ones."},
		{"no hours", workshop.ShopHoursAnswer(&workshop.Shop{}, today), "The shop has no opening hours yet; give them in its settings."},
		{"a person by the shop's hours", workshop.StaffHoursAnswer(&workshop.Staff{Name: "Odo"}, shop, today), "Odo works 56 h in the next two weeks, by the shop's hours."},
		{"own hours and days away", workshop.StaffHoursAnswer(&workshop.Staff{Name: "Odo", Hours: own, Away: []workshop.DaySpan{{From: "2026-11-02", To: "2026-11-03"}, {From: "2026-12-16", To: "2027-01-05"}}}, shop, today),
			"Odo works 7 h 30 min in the next two weeks, by own hours; away next from Wed 16 Dec to Tue 5 Jan 2027."},
		{"one day away", workshop.StaffHoursAnswer(&workshop.Staff{Name: "Odo", Hours: own, Away: []workshop.DaySpan{{From: "2026-12-09", To: "2026-12-09"}}}, shop, today),
			"Odo works 7 h 30 min in the next two weeks, by own hours; away next on Wed 9 Dec."},
		{"away all the time", workshop.StaffHoursAnswer(&workshop.Staff{Name: "Odo", Away: []workshop.DaySpan{{From: "2026-12-01", To: "2026-12-31"}}}, shop, today),
			"Odo works nothing in the next two weeks, by the shop's hours; away next from Tue 1 Dec to Thu 31 Dec."},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, tt.got, tt.want)
		}
	}
}
