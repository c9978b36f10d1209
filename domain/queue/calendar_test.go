package queue

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func zone(name string) *time.Location { return must(time.LoadLocation(name)) }

// table reads a CSV file of testdata; each row is by the names in the first.
func table(t testing.TB, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, v := range row {
			m[rows[0][i]] = v
		}
		out = append(out, m)
	}
	return out
}

func clock(t testing.TB, z *time.Location, s string) time.Time {
	t.Helper()
	v, err := time.ParseInLocation("2006-01-02T15:04", s, z)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// shortWeek is the week of calendar_cases.csv.
func shortWeek() Week {
	var w Week
	for day := time.Tuesday; day <= time.Friday; day++ {
		w[day] = []Span{{9*60 + 30, 12*60 + 30}, {13 * 60, 15*60 + 30}}
	}
	return w
}

func allWeek(from, to int) Week {
	var w Week
	for day := range w {
		w[day] = []Span{{from, to}}
	}
	return w
}

// Source: testdata/calendar_cases.csv, stepped minute by minute; exact.
func TestCalendarCases(t *testing.T) {
	for _, name := range []string{"UTC", "Europe/Berlin", "America/Halifax"} {
		z := zone(name)
		c, err := NewCalendar(clock(t, z, "2026-11-29T00:00"), 30, shortWeek(), Day("2026-12-03"))
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range table(t, "calendar_cases.csv") {
			start := clock(t, z, row["start"])
			work, _ := strconv.Atoi(row["working_minutes"])
			next, _ := c.NextOpen(start)
			if want := clock(t, z, row["next_open"]); !next.Equal(want) {
				t.Errorf("%s, %s: next open got %v, want %v", name, row["why"], next, want)
			}
			end, ok := c.Finish(start, work)
			if want := clock(t, z, row["finish"]); !ok || !end.Equal(want) {
				t.Errorf("%s, %s: finish got %v, want %v", name, row["why"], end, want)
			}
			if got := c.Minutes(start, end); got != work {
				t.Errorf("%s, %s: got %d minutes back, want %d", name, row["why"], got, work)
			}
		}
	}
}

// Dates of the changes: the European Union (directive 2000/84/EC) changes on the
// last Sundays of March and October at 01:00 UTC: 29 March and 25 October 2026.
// The expected minutes follow from 23 and 25 hours.
func TestClockChangesInOpenHours(t *testing.T) {
	z := zone("Europe/Berlin")
	tests := []struct {
		name, from, to string
		hours          Span
		want           int
	}{
		{"a spring day has 23 hours", "2026-03-29T00:00", "2026-03-30T00:00", Span{0, 1440}, 23 * 60},
		{"an autumn day has 25 hours", "2026-10-25T00:00", "2026-10-26T00:00", Span{0, 1440}, 25 * 60},
		{"a day without a change has 24", "2026-10-26T00:00", "2026-10-27T00:00", Span{0, 1440}, 24 * 60},
		{"from one to four in spring", "2026-03-29T00:00", "2026-03-30T00:00", Span{60, 240}, 120},
		{"from one to four in autumn", "2026-10-25T00:00", "2026-10-26T00:00", Span{60, 240}, 240},
		{"the skipped hour holds nothing", "2026-03-29T00:00", "2026-03-30T00:00", Span{120, 180}, 0},
		{"the usual day keeps its eight hours", "2026-03-29T00:00", "2026-03-30T00:00", Span{540, 1020}, 480},
	}
	for _, tt := range tests {
		c, err := NewCalendar(clock(t, z, "2026-03-01T00:00"), 300, allWeek(tt.hours.From, tt.hours.To))
		if err != nil {
			t.Fatal(err)
		}
		if got := c.Minutes(clock(t, z, tt.from), clock(t, z, tt.to)); got != tt.want {
			t.Errorf("%s: got %d minutes, want %d", tt.name, got, tt.want)
		}
	}
}

// A shop of 24 hours that also has its day cut in pieces loses no minute, whatever
// the zone: working minutes are real minutes.
func TestClockChangesLoseNoMinute(t *testing.T) {
	zones := []string{"Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Cairo", "Pacific/Apia", "UTC", "America/St_Johns", "Asia/Kathmandu"}
	rapid.Check(t, func(rt *rapid.T) {
		z := zone(rapid.SampledFrom(zones).Draw(rt, "zone"))
		start := time.Date(rapid.IntRange(2009, 2030).Draw(rt, "year"), 1, rapid.IntRange(1, 365).Draw(rt, "day"), 0, 0, 0, 0, time.UTC).In(z)
		cut := rapid.IntRange(1, 1439).Draw(rt, "cut")
		var w Week
		for d := range w {
			w[d] = []Span{{0, cut}, {cut, 1440}}
		}
		c, err := NewCalendar(start, 40, w)
		if err != nil {
			rt.Fatal(err)
		}
		minutes := rapid.IntRange(0, 30*1440).Draw(rt, "minutes")
		from := start.Add(time.Duration(rapid.IntRange(0, 3*1440).Draw(rt, "from")) * time.Minute)
		end, ok := c.Finish(from, minutes)
		if want := from.Add(time.Duration(minutes) * time.Minute); !ok || !end.Equal(want) {
			rt.Fatalf("%d minutes from %v end at %v, want %v", minutes, from, end, want)
		}
	})
}

// Finish and Minutes undo each other in any week.
func TestFinishAndMinutesAgree(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		z := zone(rapid.SampledFrom([]string{"Europe/Berlin", "America/Halifax", "UTC"}).Draw(rt, "zone"))
		start := time.Date(2026, 1, rapid.IntRange(1, 365).Draw(rt, "day"), rapid.IntRange(0, 23).Draw(rt, "hour"), 0, 0, 0, z)
		c, err := NewCalendar(start, 120, anyWeek(rt), Day(domain.DateOf(start.AddDate(0, 0, 5))))
		if err != nil {
			rt.Skip("a closed week")
		}
		from := start.Add(time.Duration(rapid.IntRange(0, 10*1440).Draw(rt, "from")) * time.Minute)
		minutes := rapid.IntRange(1, 2000).Draw(rt, "minutes")
		end, ok := c.Finish(from, minutes)
		if !ok {
			rt.Skip("too much work")
		}
		if got := c.Minutes(from, end); got != minutes {
			rt.Fatalf("from %v to %v: got %d minutes, want %d", from, end, got, minutes)
		}
		if !c.Open(end.Add(-time.Minute)) {
			rt.Fatalf("the last minute before %v is not open", end)
		}
		open, _ := c.NextOpen(from)
		if open.Before(from) || !c.Open(open) || c.Minutes(from, open) != 0 {
			rt.Fatalf("next open after %v is %v", from, open)
		}
	})
}

func anyWeek(rt *rapid.T) Week {
	var w Week
	for d := range w {
		cuts := rapid.SliceOfNDistinct(rapid.IntRange(0, 1440), 0, 6, rapid.ID[int]).Draw(rt, "cuts")
		if len(cuts)%2 == 1 {
			cuts = cuts[1:]
		}
		for i := range cuts { // insertion sort: the draw has any order
			for k := i; k > 0 && cuts[k] < cuts[k-1]; k-- {
				cuts[k], cuts[k-1] = cuts[k-1], cuts[k]
			}
		}
		for i := 0; i < len(cuts); i += 2 {
			w[d] = append(w[d], Span{cuts[i], cuts[i+1]})
		}
	}
	return w
}

func TestCalendarRefusals(t *testing.T) {
	from := time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)
	tests := []struct {
		name  string
		days  int
		hours Week
		shut  []Period
		want  string
	}{
		{"no hours at all", 30, Week{}, nil, "not one minute is open"},
		{"closed for ever", 30, allWeek(540, 1020), []Period{{"2020-01-01", "2199-12-31"}}, "not one minute is open"},
		{"ends before it begins", 30, allWeek(600, 540), nil, "10:00 to 09:00"},
		{"after midnight", 30, allWeek(600, 1500), nil, "no stretch of a day"},
		{"overlap", 30, Week{1: {{540, 700}, {650, 800}}}, nil, "Monday: the hours from 09:00 and from 10:50 overlap"},
		{"no date", 30, allWeek(540, 1020), []Period{Day("2026-02-30")}, "is no date"},
		{"backward period", 30, allWeek(540, 1020), []Period{{"2026-12-02", "2026-12-01"}}, "ends before it begins"},
		{"no days", 0, allWeek(540, 1020), nil, "1 to 3653 days"},
		{"too many days", 4000, allWeek(540, 1020), nil, "1 to 3653 days"},
	}
	for _, tt := range tests {
		_, err := NewCalendar(from, tt.days, tt.hours, tt.shut...)
		if domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want an invalid error with %q", tt.name, err, tt.want)
		}
	}
}

func TestCalendarEnds(t *testing.T) {
	from := time.Date(2026, 12, 1, 9, 0, 30, 0, time.UTC) // half a minute late: begins at 09:01
	c, err := NewCalendar(from, 2, allWeek(540, 600))
	if err != nil {
		t.Fatal(err)
	}
	if end, ok := c.Finish(from, 59+60); !ok || !end.Equal(time.Date(2026, 12, 2, 10, 0, 0, 0, time.UTC)) {
		t.Errorf("got %v %v, want the last minute of the calendar", end, ok)
	}
	if _, ok := c.Finish(from, 59+61); ok {
		t.Error("a minute more than there is was found")
	}
	late := from.AddDate(0, 0, 5)
	if _, ok := c.NextOpen(late); ok || c.OpenDay(late) != "" || c.Minutes(late, late.AddDate(0, 0, 1)) != 0 {
		t.Error("a calendar of two days is open on the sixth")
	}
	if end, ok := c.Finish(late, 0); !ok || end.Before(late) {
		t.Errorf("nothing to do ends at %v, want at once", end)
	}
	if _, ok := c.Finish(late, 1); ok {
		t.Error("work after the end was done")
	}
}

func TestOpenDay(t *testing.T) {
	z := zone("Europe/Berlin")
	c, err := NewCalendar(clock(t, z, "2026-11-29T00:00"), 30, shortWeek(), Day("2026-12-03"))
	if err != nil {
		t.Fatal(err)
	}
	for in, want := range map[string]domain.Date{
		"2026-12-01T10:00": "2026-12-01",
		"2026-12-01T15:30": "2026-12-01", // done at closing
		"2026-12-01T15:31": "2026-12-02",
		"2026-12-02T16:00": "2026-12-04", // the holiday is skipped
		"2026-12-05T12:00": "2026-12-08",
	} {
		if got := c.OpenDay(clock(t, z, in)); got != want {
			t.Errorf("open day of %s: got %s, want %s", in, got, want)
		}
	}
}

// Dates from outside: Easter of 2026 is 5 April and of 2027 is 28 March (any
// almanac); Independence Day of 2026 falls on a Saturday and federal offices close
// on Friday, 3 July (United States Office of Personnel Management); New Year's Day
// of 2028 falls on a Saturday, kept on Friday, 31 December 2027.
func TestHolidays(t *testing.T) {
	tests := []struct {
		region string
		year   int
		day    domain.Date
		inst   bool
	}{
		{"DE-BY", 2026, "2026-04-03", false}, {"DE-BY", 2026, "2026-04-06", false}, {"DE-BY", 2026, "2026-01-06", false},
		{"GB", 2027, "2027-03-26", false}, {"FR", 2026, "2026-07-14", false}, {"CA", 2026, "2026-07-01", false},
		{"US", 2026, "2026-07-04", false}, {"US", 2026, "2026-07-03", true}, {"US", 2027, "2027-12-31", true},
		{"US", 2026, "2026-11-26", false}, {"AU-VIC", 2026, "2026-01-26", false}, {"NL", 2026, "2026-04-27", false},
	}
	for _, tt := range tests {
		list, err := Holidays(tt.region, tt.year)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for i, h := range list {
			found = found || h.Date == tt.day && h.Instead == tt.inst && h.Name != ""
			if i > 0 && list[i-1].Date > h.Date {
				t.Errorf("%s %d: %s stands after %s", tt.region, tt.year, h.Date, list[i-1].Date)
			}
		}
		if !found {
			t.Errorf("%s %d: %s (instead: %v) is missing in %v", tt.region, tt.year, tt.day, tt.inst, list)
		}
	}
	if de, _ := Holidays("DE", 2026); cmp.Equal(de, must(Holidays("DE-BY", 2026))) {
		t.Error("Bavaria keeps no day of its own")
	}
	for _, r := range Regions() {
		if list, err := Holidays(r, 2026); err != nil || len(list) < 5 {
			t.Errorf("%s: got %d holidays, %v; want at least 5", r, len(list), err)
		}
	}
	if _, err := Holidays("XX", 2026); domain.KindOf(err) != domain.NotFound {
		t.Errorf("an unknown region: got %v", err)
	}
	if _, err := Holidays("US", 1999); domain.KindOf(err) != domain.Invalid {
		t.Errorf("a year before: got %v", err)
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
