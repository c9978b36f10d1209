package workshop

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/templates"
)

// rowDue is a job promised for a day, likely done and with bad luck done after
// so many days from monday.
func rowDue(tag int, promised domain.Date, likely, late float64) QueueRow {
	on := func(days float64) time.Time { return monday.Add(time.Duration(days * 24 * float64(time.Hour))) }
	return QueueRow{
		JobRow:  JobRow{Tag: tag, Name: "Mara Oduya", Promised: promised},
		Promise: Promise{Window: queue.Window{P50: on(likely), P80: on(late)}},
	}
}

func TestQueueAnswer(t *testing.T) {
	shop := weekdays().Shop
	safe, may, will := rowDue(1, "2026-11-27", 2, 3), rowDue(2, "2026-11-27", 4, 6), rowDue(3, "2026-11-24", 4, 6)
	next := &queue.Window{P50: monday.AddDate(0, 0, 2), P80: monday.AddDate(0, 0, 4)}
	for _, c := range []struct {
		name        string
		rows, calls []QueueRow
		next        *queue.Window
		want        string
	}{
		{"nothing", nil, nil, nil, "No agreed work waits."},
		{"all well", []QueueRow{safe}, nil, nil, "One job is agreed. Every day that was said is likely kept."},
		{"one may", []QueueRow{safe, may}, []QueueRow{may}, nil, "2 jobs are agreed. 1 job may pass the day we said; call Mara Oduya about tag 2 first."},
		{"both", []QueueRow{safe, may, will}, []QueueRow{will, may}, next,
			"3 jobs are agreed. 1 job will likely pass the day we said and 1 more may; call Mara Oduya about tag 3 first. A cabinet place is likely free Wed 25 Nov, with bad luck Fri 27 Nov."},
		{"a place now", []QueueRow{safe}, nil, &queue.Window{P50: monday, P80: monday}, "One job is agreed. Every day that was said is likely kept. A cabinet place is free today."},
	} {
		if got := QueueAnswer(c.rows, c.calls, c.next, shop, monday); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
	moved := may
	moved.Moved = 3
	for r, want := range map[*QueueRow]bool{&safe: false, &may: false, &moved: true, &will: true} {
		if got := r.InDanger(time.UTC); got != want {
			t.Errorf("tag %d in danger: got %v, want %v", r.JobRow.Tag, got, want)
		}
	}
}

func TestPromiseAnswerSaysHowSure(t *testing.T) {
	f := weekdays()
	p := Promise{Window: queue.Window{P50: monday.AddDate(0, 0, 10)}, Say: "2026-12-07", Held: []queue.Held{{Cause: queue.InCabinet, Minutes: 9 * minutesADay}, {Cause: queue.Hands, Minutes: minutesADay}}}
	for said, sure := range map[Said]string{"": "eight of ten", SaidEven: "five of ten", SaidLate: "eight of ten", SaidSafe: "nineteen of twenty"} {
		f.Shop.Said = said
		if got, want := PromiseAnswer(p, f.Shop, monday), "likely Thu 3 Dec, say Mon 7 Dec ("+sure+" keep it). 9 of 10 days are the cabinet."; got != want {
			t.Errorf("%q: got %q, want %q", said, got, want)
		}
	}
}

// The running hold comes first, the steps fill the time without a gap, and each
// cause has the part that the plays gave it.
func TestStepsFillTheTimeToTheLikelyDay(t *testing.T) {
	f := weekdays()
	hold, crack := task(1, templates.PhaseHold, 20, "10"), task(2, templates.PhaseTouchUp, 60, "1")
	hold.Hold, hold.Name, crack.Name = true, "Hold", "Crack"
	j := &job.Job{ID: 7, Approved: monday, Tasks: []job.Task{crack, hold}, Holds: []job.Hold{{ID: 1, Task: 1, Start: monday.AddDate(0, 0, -2), Place: "place 1"}}}
	p := Promise{Window: queue.Window{P50: monday.AddDate(0, 0, 12)}, Held: []queue.Held{
		{Cause: queue.InCabinet, Minutes: 8 * minutesADay}, {Cause: queue.Waiting, Minutes: 2 * minutesADay}, {Cause: queue.ForBench, Minutes: minutesADay}, {Cause: queue.Hands, Minutes: minutesADay},
	}}
	steps := stepsOf(j, p, f)
	if len(steps) == 0 {
		t.Fatal("got no steps")
	}
	days, at := map[queue.Cause]float64{}, monday
	for _, s := range steps {
		if !s.From.Equal(at) || s.To.Before(s.From) {
			t.Errorf("%s runs from %v to %v, want it to begin at %v", s.Label, s.From, s.To, at)
		}
		days[s.Cause] += s.To.Sub(s.From).Hours() / 24
		at = s.To
	}
	if !at.Equal(p.P50) {
		t.Errorf("the steps end %v, want %v", at, p.P50)
	}
	if steps[0].Label != "Hold, in the cabinet" {
		t.Errorf("got %q first, want the running hold", steps[0].Label)
	}
	for cause, want := range map[queue.Cause]float64{queue.InCabinet: 8, queue.Waiting: 2, queue.ForBench: 1, queue.Hands: 1} {
		if got := days[cause]; got < want-0.01 || got > want+0.01 {
			t.Errorf("%s: got %.2f days, want %.0f", cause, got, want)
		}
	}
}

func TestTroubleNamesWhatToChange(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(f *Facts)
		want   string
	}{
		{"nobody works", func(f *Facts) { f.Staff = nil }, "Nobody works in the shop"},
		{"no hours", func(f *Facts) { f.Shop.Hours = [7]Hours{} }, "Runa has no hours: give the shop its opening hours"},
		{"a skill nobody has", func(f *Facts) { f.Jobs[0].Tasks[0].Skill = 5 }, "“Reset” on tag 318 needs skill 5, and nobody here has it"},
		{"no place", func(f *Facts) {
			f.Shop.Places, f.Jobs[0].Tasks[0].Hold, f.Jobs[0].Tasks[0].WaitDays = nil, true, exactDays("5")
		}, "“Reset” on tag 318 needs a place in the cabinet"},
		{"always away", func(f *Facts) { f.Staff[0].Away = []DaySpan{{From: "2026-11-01", To: "2029-12-31"}} }, "Runa has not one open minute"},
	} {
		f := weekdays()
		reset := task(1, templates.PhaseTouchUp, 60, "0")
		reset.Name = "Reset"
		f.Jobs = []*job.Job{{ID: 7, Tag: 318, Approved: monday, Tasks: []job.Task{reset}}}
		c.change(&f)
		_, err := queue.Simulate(PlanOf(f), queue.Options{Replications: 20})
		if err == nil {
			t.Errorf("%s: the queue was played, want an error", c.name)
			continue
		}
		if got := f.trouble(PlanOf(f), err); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s: got %q, want %q first", c.name, got, c.want)
		}
	}
}
