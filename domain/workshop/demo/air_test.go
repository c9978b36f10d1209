package demo

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/air"
)

// The demo's air must be a history that the shop could have noted itself: known
// places and meters, nothing ahead, values put right by the meter of that day.
func TestAirOfTheDemo(t *testing.T) {
	s := usual(t)
	meters := map[domain.MeterID]air.Meter{}
	for _, m := range s.Meters {
		meters[m.ID] = m
	}
	logged, dry := 0, 0
	for _, r := range s.AirReadings {
		m, ok := meters[r.Meter]
		if !ok || r.Place < 1 || int(r.Place) > len(s.AirPlaces) || r.At.After(present) {
			t.Fatalf("got %+v, want a known place and meter and no later than the present", r)
		}
		rh, _, trusted, _ := m.Correct(r.Raw, r.At.In(s.Shop.Location()))
		if !rh.Equal(r.RH) || trusted != r.Trusted {
			t.Fatalf("got %s (trusted %v) of %s, want %s (%v)", r.RH, r.Trusted, r.Raw, rh, trusted)
		}
		if r.Source == air.Logger {
			logged++
		}
		if r.Place <= 2 && r.RH.LessThan(air.UsualRules(air.Room).LowAtOnce) {
			dry++
		}
	}
	if logged < 2*loggedDays*24 || len(s.AirReadings) < 3000 || dry == 0 {
		t.Errorf("got %d readings, %d of loggers, %d of dry rooms; want three winters", len(s.AirReadings), logged, dry)
	}
}

// Today one alarm of a room waits and one was answered, and one meter is not to
// be trusted.
func TestAlarmsOfTheDemo(t *testing.T) {
	s := usual(t)
	now := present.In(s.Shop.Location())
	open, answered, doubted := 0, 0, 0
	for _, p := range s.AirPlaces {
		var rs []air.Reading
		for _, r := range s.AirReadings {
			if r.Place == p.ID && present.Sub(r.At) < days(loggedDays) {
				rs = append(rs, r)
			}
		}
		for _, a := range air.Alarms(p, rs, s.Meters, s.AirAnswers, now) {
			t.Logf("%s: %s %s answered %v", p.Name, a.Kind, a.Text, a.Answered)
			switch {
			case a.Answered != nil:
				answered++
			default:
				open++
			}
		}
	}
	for _, m := range s.Meters {
		if why := m.Doubt(now); why != "" {
			t.Log(why)
			doubted++
		}
	}
	if open != 1 || answered != 1 || doubted != 1 || len(s.AirAnswers) < 4 {
		t.Errorf("got %d open, %d answered now, %d in all, %d meters in doubt; want 1, 1, several, 1", open, answered, len(s.AirAnswers), doubted)
	}
}

func BenchmarkKeepAir(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		s, err := newSim(1, present)
		if err != nil {
			b.Fatal(err)
		}
		s.openAir()
		b.StartTimer()
		if err := s.keepAir(); err != nil {
			b.Fatal(err)
		}
	}
}
