package workshop

import (
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/templates"
)

// The order is the rule of docs/queue.md, worked out by hand for four jobs.
func TestBenchOrderIsQuickStartersThenLeastSpareTime(t *testing.T) {
	f := weekdays()
	var rows []TaskRow
	for i, c := range []struct {
		minutes        int
		wait, promised string
		rest           []job.Task
	}{
		{300, "0", "2026-12-10", nil}, // five hours, and 17 days for them
		{120, "1", "2026-11-25", nil}, // starts a wait, but not a quick one: it goes by its spare time
		{20, "1", "2026-12-20", nil},  // quick, and starts a wait
		{30, "0", "2026-11-27", []job.Task{task(50, templates.PhaseKit, 30, "5")}}, // five days of waiting come behind it
	} {
		k := task(i+1, templates.PhaseTouchUp, c.minutes, c.wait)
		j := &job.Job{ID: domain.JobID(i + 1), Approved: monday, Tasks: append([]job.Task{k}, c.rest...)}
		f.Jobs = append(f.Jobs, j)
		rows = append(rows, TaskRow{Job: j.ID, Tag: i + 1, Promised: domain.Date(c.promised), Task: k})
	}
	got := BenchOrder(rows, f.Jobs, f)
	want := []struct {
		tag   int
		quick bool
		spare string
	}{{3, true, "26 days to spare"}, {4, false, "must begin now"}, {2, false, "one day to spare"}, {1, false, "17 days to spare"}}
	for i, w := range want {
		if got[i].Tag != w.tag || got[i].Quick != w.quick || got[i].SpareText() != w.spare {
			t.Errorf("place %d: tag %d, quick %v, %q (%v); want tag %d, %v, %q", i+1, got[i].Tag, got[i].Quick, got[i].SpareText(), got[i].Spare, w.tag, w.quick, w.spare)
		}
	}
}

func TestBenchOrderWithoutTheJob(t *testing.T) {
	f := weekdays()
	r := TaskRow{Job: 9, Promised: "2026-11-23", Task: task(1, templates.PhaseTouchUp, 60, "0")}
	if got := BenchOrder([]TaskRow{r}, nil, f); len(got) != 1 || got[0].Spare != 14*time.Hour {
		t.Errorf("got %+v, want 14 hours from 9:00 to the end of the day, less the hour of work", got)
	}
}
