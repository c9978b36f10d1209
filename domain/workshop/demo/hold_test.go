package demo

import (
	"testing"
	"time"

	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// everyVerdictStands asks for a hold in the cabinet in each way it can stand.
func everyVerdictStands(t *testing.T, s *workshop.Season, now time.Time) {
	seen := map[string]int{}
	for _, j := range s.Jobs {
		h := j.OpenHold()
		if h == nil {
			continue
		}
		says := workshop.Judge(h, j, s.Shop.Hold, hold.Prior{}, now)
		note := func(what string, is bool) {
			if is {
				seen[what]++
			}
		}
		note("still drinking with a window", says.Verdict == hold.StillDrinking && says.Ready.Known && !workshop.Settled(says, now))
		note("steady, not released", says.Verdict == hold.Steady)
		note("will not close", says.Verdict == hold.WillNotClose)
		note("one reading only", len(h.Readings) == 1)
		note("a meter out of calibration", len(h.Readings) > 1 && !h.Readings[len(h.Readings)-1].Trusted)
		note("a caution", len(says.Cautions) > 0)
	}
	for _, want := range []string{"still drinking with a window", "steady, not released", "will not close", "one reading only", "a meter out of calibration", "a caution"} {
		if seen[want] == 0 {
			t.Errorf("no hold in the cabinet stands like this: %s; there are %v", want, seen)
		}
	}
}

func TestMetersAreKept(t *testing.T) {
	s := usual(t)
	if len(s.Meters) < 2 || len(s.AirPlaces) == 0 {
		t.Fatalf("got %d meters and %d places of air, want two meters and the usual places", len(s.Meters), len(s.AirPlaces))
	}
	if why := s.Meters[0].Doubt(present); why != "" {
		t.Errorf("the meter of the cabinet is not to be trusted: %s", why)
	}
	if s.Meters[1].Doubt(present) == "" {
		t.Error("the forgotten meter is trusted")
	}
	for _, j := range s.Jobs {
		for _, h := range j.Holds {
			for _, r := range h.Readings {
				if r.Meter == 0 || r.RH.Is() && r.Offset.IsZero() {
					t.Fatalf("tag %d: a reading without a meter or not put right: %+v", j.Tag, r)
				}
			}
			if h.Reason == job.SteadyByMeasure && !h.Readings[len(h.Readings)-1].Trusted {
				t.Errorf("tag %d ended steady on a meter out of calibration", j.Tag)
			}
		}
	}
}
