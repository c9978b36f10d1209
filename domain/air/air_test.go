package air

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func mustZone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

var noon = time.Date(2026, 1, 20, 12, 0, 0, 0, time.UTC)

func point(truth, read string) Point {
	return Point{Salt: "sodium chloride", True: dec(truth), Read: dec(read)}
}

func calibrated(at time.Time, points ...Point) Calibration {
	return Calibration{At: at, Points: points, Due: domain.DateOf(at).AddDays(30)}
}

// The corrections are worked by hand from the rule: offset = true - read, on the
// straight line between two points, the nearer point's beyond them.
func TestCorrect(t *testing.T) {
	month := noon.AddDate(0, 0, -10)
	two := calibrated(month, point("75.3", "73.3"), point("33", "37")) // +2 at 73.3, -4 at 37
	retired := Meter{Name: "Old", Calibrations: []Calibration{two}, Retired: noon}
	old := calibrated(noon.AddDate(0, 0, -40), point("75.3", "72.3")) // +3
	for _, c := range []struct {
		name              string
		m                 Meter
		raw, want, offset string
		why               string
	}{
		{"never calibrated", Meter{Name: "New"}, "42", "42", "0", "New was never calibrated"},
		{"calibrated only afterwards", Meter{Name: "New", Calibrations: []Calibration{calibrated(noon.Add(time.Second), point("75", "70"))}}, "42", "42", "0", "never calibrated"},
		{"at the very moment", Meter{Calibrations: []Calibration{calibrated(noon, point("75", "70"))}}, "42", "47", "5", ""},
		{"one point", Meter{Calibrations: []Calibration{calibrated(month, point("75.3", "77.8"))}}, "42", "39.5", "-2.5", ""},
		{"at the lower point", Meter{Calibrations: []Calibration{two}}, "37", "33", "-4", ""},
		{"at the upper point", Meter{Calibrations: []Calibration{two}}, "73.3", "75.3", "2", ""},
		{"half way between", Meter{Calibrations: []Calibration{two}}, "55.15", "54.15", "-1", ""},
		{"a quarter of the way", Meter{Calibrations: []Calibration{two}}, "46.075", "43.575", "-2.5", ""},
		{"below both", Meter{Calibrations: []Calibration{two}}, "20", "16", "-4", ""},
		{"above both", Meter{Calibrations: []Calibration{two}}, "90", "92", "2", ""},
		{"never above 100", Meter{Calibrations: []Calibration{two}}, "99", "100", "1", ""},
		{"never below 0", Meter{Calibrations: []Calibration{two}}, "1.5", "0", "-1.5", ""},
		{"retired", retired, "37", "33", "-4", "Old is retired"},
		{"out by 6", Meter{Calibrations: []Calibration{calibrated(month, point("75", "69"))}}, "40", "46", "6", ""},
		{"out by more", Meter{Calibrations: []Calibration{calibrated(month, point("75", "68.9"))}}, "40", "46.1", "6.1", "out by 6.1 %"},
		{"drifted by 3", Meter{Calibrations: []Calibration{old, calibrated(month, point("75.3", "75.3"))}}, "40", "40", "0", ""},
		{"drifted by more", Meter{Calibrations: []Calibration{old, calibrated(month, point("75.3", "75.4"))}}, "40", "39.9", "-0.1", "drifted by 3.1 %"},
		{"in any order", Meter{Calibrations: []Calibration{calibrated(month, point("75.3", "75.4")), old}}, "40", "39.9", "-0.1", "drifted by 3.1 %"},
		{"a second salt is no drift", Meter{Calibrations: []Calibration{calibrated(month, point("75.3", "73.3")), calibrated(month, point("75.3", "73"), point("33", "37"))}}, "37", "33", "-4", ""},
		{"drifted at one of two", Meter{Calibrations: []Calibration{calibrated(month, point("33", "33"), point("75.3", "75.3")), calibrated(month, point("33", "36.1"))}}, "40", "36.9", "-3.1", "drifted by 3.1 %"},
		{"10 apart is near", Meter{Calibrations: []Calibration{calibrated(month, point("65.3", "65.3")), calibrated(month, point("75.3", "72.2"))}}, "40", "43.1", "3.1", "drifted by 3.1 %"},
		{"a slip replaced", Meter{Calibrations: []Calibration{old, calibrated(month, point("75.3", "60")), {At: month, Points: []Point{point("75.3", "73.3")}, Due: "2026-02-20", Wrong: "typed 60"}}}, "40", "42", "2", ""},
		{"overdue", Meter{Calibrations: []Calibration{calibrated(noon.AddDate(0, 0, -31), point("75", "74"))}}, "40", "41", "1", "due for calibration on Mon 19 Jan 2026"},
		{"on the day it is due", Meter{Calibrations: []Calibration{calibrated(noon.AddDate(0, 0, -30), point("75", "74"))}}, "40", "41", "1", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, offset, trusted, why := c.m.Correct(dec(c.raw), noon)
			if !got.Equal(dec(c.want)) || !offset.Equal(dec(c.offset)) {
				t.Errorf("got %s with offset %s, want %s with %s", got, offset, c.want, c.offset)
			}
			if trusted != (c.why == "") || !strings.Contains(why, c.why) || trusted != (why == "") {
				t.Errorf("got trusted %v because %q, want %q", trusted, why, c.why)
			}
		})
	}
}

// The day a meter is due ends at midnight on the shop's wall.
func TestDueDayIsTheShops(t *testing.T) {
	zone := mustZone(t, "America/Toronto")
	m := Meter{Calibrations: []Calibration{{At: noon, Points: []Point{point("75", "75")}, Due: "2026-02-20"}}}
	evening := time.Date(2026, 2, 20, 23, 30, 0, 0, zone) // the 21st in UTC
	if why := m.Doubt(evening); why != "" {
		t.Errorf("on the evening of the due day: got %q, want trust", why)
	}
	if why := m.Doubt(evening.Add(time.Hour)); why == "" {
		t.Error("half an hour after midnight: got trust, want a doubt")
	}
}

func TestRulesCheck(t *testing.T) {
	for _, k := range Kinds() {
		if err := UsualRules(k).Check(); err != nil {
			t.Errorf("usual rules of a %s: %v", k, err)
		}
	}
	for field, spoil := range map[string]func(*Rules){
		"high":         func(r *Rules) { r.High = dec("39") },
		"low":          func(r *Rules) { r.Low = dec("-1") },
		"stop":         func(r *Rules) { r.Stop = dec("57") },
		"high_at_once": func(r *Rules) { r.HighAtOnce = dec("101") },
		"low_at_once":  func(r *Rules) { r.LowAtOnce = dec("41") },
		"target":       func(r *Rules) { r.Target = dec("20") },
		"out_hours":    func(r *Rules) { r.OutHours = -1 },
		"stuck_after":  func(r *Rules) { r.StuckAfter = 1 },
		"silent_hours": func(r *Rules) { r.SilentHours = 100000 },
	} {
		r := UsualRules(Cabinet)
		spoil(&r)
		if fields := domain.FieldsOf(r.Check()); fields[field] == "" {
			t.Errorf("spoilt %s: got %v, want that field named", field, fields)
		}
	}
}
