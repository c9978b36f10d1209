package air

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
)

// reading is "hours before now: RH" of a meter.
func series(meter domain.MeterID, pairs ...float64) []Reading {
	var out []Reading
	for i := 0; i < len(pairs); i += 2 {
		rh := dec(fmt.Sprint(pairs[i+1]))
		out = append(out, Reading{
			ID: domain.AirReadingID(100*int64(meter) + int64(i) + 1), Meter: meter,
			At: noon.Add(-time.Duration(pairs[i] * float64(time.Hour))), Raw: rh, RH: rh, Trusted: true,
		})
	}
	return out
}

func place(k Kind) Place { return Place{ID: 1, Name: "Here", Kind: k, Rules: UsualRules(k)} }

// good is a meter that nothing is wrong with.
func good(id domain.MeterID) Meter {
	return Meter{ID: id, Name: fmt.Sprintf("Meter %d", id), Place: 1, Calibrations: []Calibration{calibrated(noon.AddDate(0, 0, -3), point("75", "75"))}}
}

func kinds(as []Alarm) string {
	var out []string
	for _, a := range as {
		out = append(out, fmt.Sprintf("%s@%g", a.Kind, noon.Sub(a.Since).Hours()))
	}
	return strings.Join(out, ", ")
}

// The limits are those of the usual rules: common practice, no source.
func TestAlarms(t *testing.T) {
	all := []Meter{good(1), good(2)}
	for _, c := range []struct {
		name string
		kind Kind
		rs   []Reading
		want string // kind@hours since
	}{
		{"inside the band", Room, series(1, 9, 40, 1, 50), ""},
		{"out for just under 4 h", Room, series(1, 9, 45, 3.99, 39), ""},
		{"out for 4 h", Room, series(1, 9, 45, 4, 39), "out of band@4"},
		{"two readings running", Room, series(1, 9, 45, 2, 39.9, 1, 51), "out of band@2"},
		{"two readings at one moment are one", Room, slices.Concat(series(1, 1, 39), series(2, 1, 39)), ""},
		{"came back in", Room, series(1, 9, 39, 8, 39, 1, 40), ""},
		{"below 35 at once", Room, series(1, 9, 39, 0, 34.9), "too dry@0"},
		{"35 is not below 35", Room, series(1, 1, 35), ""},
		{"dry since the first that was", Room, series(1, 9, 39, 5, 30, 0, 31), "too dry@5"},
		{"room above 60", Room, series(1, 1, 60.5), "too moist@1"},
		{"cabinet at 58", Cabinet, series(1, 1, 58), ""},
		{"cabinet above 58", Cabinet, series(1, 1, 58.1), "too moist@1"},
		{"cabinet at 60", Cabinet, series(1, 1, 60), "too moist@1"},
		{"cabinet above 60", Cabinet, series(1, 3, 59, 1, 60.1), "stop@1"},
		{"no reading for just under 24 h", Room, series(1, 23.99, 45), ""},
		{"no reading for 24 h", Room, series(1, 24, 45), "no reading@24"},
		{"a case may be silent", Case, series(1, 100, 45), ""},
		{"outdoors has no band", Outdoors, series(1, 100, 12, 99, 99), ""},
		{"four times the same", Room, series(1, 8, 45, 6, 45, 4, 45, 2, 45), ""},
		{"five times the same", Room, series(1, 10, 45, 8, 45, 6, 45, 4, 45, 2, 45), "stuck@10"},
		{"five times, with another between", Room, series(1, 10, 45, 8, 45, 6, 46, 4, 45, 2, 45, 1, 45), ""},
		{"five times within minutes", Room, series(1, 0.5, 45, 0.4, 45, 0.3, 45, 0.2, 45, 0.1, 45), ""},
		{"two meters in turn are not one", Room, slices.Concat(series(1, 10, 45, 8, 45, 6, 45), series(2, 9, 45, 7, 45)), ""},
		{"5 apart", Room, slices.Concat(series(1, 2, 42), series(2, 1, 47)), ""},
		{"more than 5 apart", Room, slices.Concat(series(1, 2, 42), series(2, 1, 47.1)), "meters apart@1"},
		{"apart since the first", Room, slices.Concat(series(1, 4, 42, 2, 42.1), series(2, 3, 48, 1, 48.2)), "meters apart@3"},
		{"apart, but hours between", Room, slices.Concat(series(1, 4, 42), series(2, 1, 49)), ""},
		{"apart, then together", Room, slices.Concat(series(1, 4, 42, 1, 44), series(2, 3, 48, 1, 45)), ""},
		{"a reading still to come", Room, series(1, 1, 45, -1, 20), ""},
		{"out of order", Room, series(1, 1, 39, 9, 45, 2, 39), "out of band@2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := kinds(Alarms(place(c.kind), c.rs, all, nil, noon)); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestAlarmOfAPlaceNobodyRead(t *testing.T) {
	as := Alarms(place(Room), nil, nil, nil, noon)
	if len(as) != 1 || as[0].Kind != NoReading || !as[0].Since.IsZero() {
		t.Errorf("got %+v, want one alarm without a beginning", as)
	}
	p := place(Room)
	p.Retired = noon
	if as := Alarms(p, nil, nil, nil, noon); len(as) != 0 {
		t.Errorf("a retired place: got %+v, want none", as)
	}
}

func TestReplacedReadingsRaiseNoAlarm(t *testing.T) {
	rs := series(1, 2, 22, 1, 44)
	rs[1].Replaces, rs[1].At = rs[0].ID, rs[0].At
	if got := kinds(Alarms(place(Room), rs, []Meter{good(1)}, nil, noon)); got != "" {
		t.Errorf("got %q, want none: the dry reading was a slip", got)
	}
}

func TestMeterAlarms(t *testing.T) {
	never := Meter{ID: 3, Name: "New", Place: 1}
	travels := Meter{ID: 4, Name: "Traveller"}
	dueToday, overdue, retired := good(5), good(6), never
	dueToday.Calibrations[0].Due, overdue.Calibrations[0].Due = "2026-01-20", "2026-01-18"
	retired.Retired = noon
	for _, c := range []struct {
		name  string
		m     Meter
		text  string // "" for no alarm
		since time.Time
	}{
		{"good", good(1), "", time.Time{}},
		{"never", never, "New was never calibrated.", time.Time{}},
		{"elsewhere", travels, "", time.Time{}},
		{"retired", retired, "", time.Time{}},
		{"due today", dueToday, "Meter 5 is due for calibration today.", time.Date(2026, 1, 20, 0, 0, 0, 0, time.UTC)},
		{"overdue", overdue, "Meter 6 was due for calibration on Sun 18 Jan 2026.", time.Date(2026, 1, 18, 0, 0, 0, 0, time.UTC)},
	} {
		t.Run(c.name, func(t *testing.T) {
			as := MeterAlarms(1, []Meter{c.m}, noon)
			if c.text == "" && len(as) == 0 {
				return
			}
			if len(as) != 1 || as[0].Text != c.text || !as[0].Since.Equal(c.since) || as[0].Meter != c.m.ID {
				t.Errorf("got %+v, want %q since %v", as, c.text, c.since)
			}
		})
	}
	if as := MeterAlarms(0, []Meter{travels}, noon); len(as) != 1 {
		t.Errorf("travelling meters: got %+v, want one alarm", as)
	}
}

func TestAnsweredAlarm(t *testing.T) {
	rs, since := series(1, 4, 39, 3, 38), noon.Add(-4*time.Hour)
	answers := []Answer{
		{ID: 1, Place: 1, Alarm: OutOfBand, Since: since, Action: "filled the humidifier", At: noon.Add(-2 * time.Hour)},
		{ID: 2, Place: 1, Alarm: OutOfBand, Since: since, Action: "shut the window", At: noon.Add(-time.Hour)},
		{ID: 3, Place: 1, Alarm: TooDry, Since: since, Action: "another kind", At: noon},
		{ID: 4, Place: 2, Alarm: OutOfBand, Since: since, Action: "another place", At: noon},
		{ID: 5, Place: 1, Alarm: OutOfBand, Since: since.Add(-time.Hour), Action: "another time", At: noon},
	}
	as := Alarms(place(Room), rs, nil, answers, noon)
	if len(as) != 1 || as[0].Answered == nil || as[0].Answered.ID != 2 {
		t.Fatalf("got %+v, want the newest answer to this very alarm", as)
	}
	worse := append(rs, series(2, 1, 30)...)
	if as := Alarms(place(Room), worse, nil, answers, noon); len(as) != 1 || as[0].Kind != TooDry || as[0].Answered != nil {
		t.Errorf("when it got worse: got %+v, want a new alarm without an answer", as)
	}
}

// Hours are elapsed hours: on the night the clocks go forward in Toronto (8 March
// 2026, 02:00 to 03:00), 01:00 to 06:00 on the wall is four hours.
func TestHoursOverAChangeOfClocks(t *testing.T) {
	zone := mustZone(t, "America/Toronto")
	r := Reading{ID: 1, At: time.Date(2026, 3, 8, 1, 0, 0, 0, zone), Raw: dec("38"), RH: dec("38")}
	before, after := time.Date(2026, 3, 8, 5, 30, 0, 0, zone), time.Date(2026, 3, 8, 6, 0, 0, 0, zone)
	if as := Alarms(place(Room), []Reading{r}, nil, nil, before); len(as) != 0 {
		t.Errorf("after three and a half hours: got %+v, want none", as)
	}
	as := Alarms(place(Room), []Reading{r}, nil, nil, after)
	if len(as) != 1 || as[0].Kind != OutOfBand || !strings.Contains(as[0].Text, "not from a meter within its calibration") {
		t.Errorf("after four hours: got %+v, want out of band, by a meter that is not trusted", as)
	}
}
