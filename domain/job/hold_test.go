package job

import (
	"math"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain/hold"
	"winterbench/domain/wood"
	"winterbench/templates"
)

func measured(v string, unit wood.Unit) wood.Measure {
	return wood.Measure{Known: wood.Measured, Typed: v, Value: decimal.RequireFromString(v), Unit: unit}
}

// closing is a hold whose crack nears 0.05 mm with a time constant in days,
// read once a day with a meter that is trusted or not.
func closing(tau float64, days int, trusted bool) Hold {
	h := Hold{Task: 1, Place: "place 1", Start: start}
	for d := range days + 1 {
		gap := decimal.NewFromFloat(0.05 + 0.3*math.Exp(-float64(d)/tau)).Round(2)
		h.Readings = append(h.Readings, Reading{
			At: start.Add(time.Duration(d) * 24 * time.Hour), RH: measured([]string{"46", "47", "48"}[d%3], wood.Percent), Gap: measured(gap.String(), wood.Millimetre),
			Weight: measured(decimal.NewFromFloat(2190-25*math.Exp(-float64(d)/tau)).Round(0).String(), wood.Gram), Trusted: trusted,
		})
	}
	return h
}

func TestJudgeHoldReadsTheBenchsMeasures(t *testing.T) {
	h := closing(2, 12, true)
	now := start.Add(12 * 24 * time.Hour)
	says := JudgeHold(h, Task{}, hold.Rule{}, hold.Prior{}, now)
	if says.Verdict != hold.Steady || says.Signal != "gap" {
		t.Errorf("got %s by %q (%q), want steady by the gap", says.Verdict, says.Signal, says.Why)
	}
	if early := JudgeHold(closing(2, 2, true), Task{}, hold.Rule{}, hold.Prior{}, start.Add(48*time.Hour)); early.Verdict != hold.StillDrinking || !early.Ready.Known {
		t.Errorf("after two days: %s, window %+v; want still drinking with a window", early.Verdict, early.Ready)
	}
	if doubted := JudgeHold(closing(2, 12, false), Task{}, hold.Rule{}, hold.Prior{}, now); doubted.Verdict == hold.Steady {
		t.Error("a meter out of calibration must not make a hold steady")
	}
	h.End = now
	if later := JudgeHold(h, Task{}, hold.Rule{}, hold.Prior{}, now.AddDate(1, 0, 0)); later.Verdict != hold.Steady {
		t.Errorf("a hold that ended is judged at its end, got %s a year later", later.Verdict)
	}
}

func TestTheHighWaitReachesTheJudge(t *testing.T) {
	h := Hold{Task: 1, Start: start}
	for d := range 9 {
		h.Readings = append(h.Readings, Reading{At: start.Add(time.Duration(d) * 24 * time.Hour), RH: measured([]string{"46", "47", "48"}[d%3], wood.Percent), Gap: measured("0.4", wood.Millimetre), Trusted: true})
	}
	now := start.Add(8*24*time.Hour + time.Hour)
	wait := func(high int64) Task { return Task{WaitDays: templates.Days{High: decimal.NewFromInt(high)}} }
	if got := JudgeHold(h, wait(7), hold.Rule{}, hold.Prior{}, now).Verdict; got != hold.WillNotClose {
		t.Errorf("past the high wait of 7 days: %s, want will not close", got)
	}
	if got := JudgeHold(h, wait(28), hold.Rule{}, hold.Prior{}, now).Verdict; got != hold.StillDrinking {
		t.Errorf("within the high wait of 28 days: %s, want still drinking", got)
	}
}

func TestPriorOfPastHolds(t *testing.T) {
	past := func(n int, taus ...float64) []hold.Judgement {
		var out []hold.Judgement
		for i := range n {
			tau := taus[i%len(taus)]
			out = append(out, hold.Judgement{Verdict: hold.Steady, TauDays: hold.Span{P50: tau}})
		}
		return out
	}
	if got := PriorOf(past(7, 2)); got != (hold.Prior{}) {
		t.Errorf("seven holds: got %+v, want the general prior", got)
	}
	if got := PriorOf(append(past(7, 2), hold.Judgement{Verdict: hold.WillNotClose, TauDays: hold.Span{P50: 2}})); got != (hold.Prior{}) {
		t.Errorf("a hold that did not close counts: %+v", got)
	}
	if got := PriorOf(past(8, 2)); math.Abs(got.LogDays-math.Log(2)) > 1e-12 || got.Spread != leastSpread {
		t.Errorf("eight like holds: got %+v, want ln 2 with the least spread", got)
	}
	// ln of 1 and e^2: mean 1; of eight with four each, the sample standard deviation is sqrt(8/7).
	if got := PriorOf(past(8, 1, math.Exp(2))); math.Abs(got.LogDays-1) > 1e-12 || math.Abs(got.Spread-math.Sqrt(8.0/7)) > 1e-12 {
		t.Errorf("got %+v, want mean 1 and spread sqrt(8/7)", got)
	}
}

// What the meter showed reaches the judge: an offset must not hide a fraction.
func TestReadingsOfTellWhatTheMeterShowed(t *testing.T) {
	h := Hold{Start: start, Readings: []Reading{
		{ID: 1, At: start, RH: measured("2.47", wood.Percent), Offset: decimal.NewFromInt(2), Trusted: true},
		{ID: 2, At: start.Add(time.Hour), RH: measured("47", wood.Percent), Trusted: true},
	}}
	got := ReadingsOf(h)
	if got[0].Shown == nil || *got[0].Shown != 0.47 || *got[0].RH != 2.47 || got[1].Shown != nil {
		t.Errorf("got %+v, want 0.47 shown of the first and nothing apart for the second", got)
	}
}
