package store_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

func setUpTask() job.Task {
	return job.Task{
		Template: "SU", Edition: 1, Name: "Set up", Phase: templates.PhaseSetUp, Quantity: 1,
		Minutes: templates.Range{Low: 30, Typical: 40, High: 60}, WaitDays: days("0", "0", "0"), Skill: 1, Dry: true,
	}
}

func TestOpenTasks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		// Added against the order of tags and phases.
		held := approvedJob(t, s, p, 30, setUpTask(), crackTask(), holdTask())
		waiting := approvedJob(t, s, p, 20, setUpTask())
		worked := approvedJob(t, s, p, 10, setUpTask())
		addJob(t, s, p.newJob(5)) // nobody said yes
		done := fullJob(t, s, p)  // collected
		change(t, s, held.ID, func(j *job.Job) {
			j.Holds = []job.Hold{{Task: j.Tasks[2].ID, Place: "A1", Start: hours(2), By: "Runa"}}
		})
		change(t, s, waiting.ID, func(j *job.Job) {
			j.Promised = "2026-12-01"
			j.Waits = []job.Wait{
				{Kind: "deposit", Start: hours(1), End: hours(2), By: "Odo"},
				{Kind: "part ordered", Start: hours(2), Until: hours(72), By: "Odo"},
			}
		})
		now := domain.Moment(time.Now())
		change(t, s, worked.ID, func(j *job.Job) {
			task := j.Tasks[0].ID
			j.Clockings = []job.Clocking{
				{Task: task, Staff: p.odo.ID, Name: "Odo", Start: hours(2), End: hours(3)}, // one hour
				{Task: task, Staff: p.runa.ID, Name: "Runa", Start: now.Add(-10 * time.Minute)},
			}
		})
		change(t, s, worked.ID, func(j *job.Job) { // the hour was half an hour
			j.Clockings = append(j.Clockings, job.Clocking{
				Task: j.Tasks[0].ID, Staff: p.odo.ID, Name: "Odo", Start: hours(2), End: hours(2).Add(30 * time.Minute),
				Replaces: j.Clockings[0].ID, Reason: "lunch",
			})
		})

		got, err := s.OpenTasks(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		title := "Orrin No. 3, steel-string guitar"
		row := func(id domain.JobID, i int) workshop.TaskRow {
			j := readJob(t, s, id)
			return workshop.TaskRow{Job: id, Tag: j.Tag, Title: title, Promised: j.Promised, Task: j.Tasks[i]}
		}
		want := []workshop.TaskRow{row(worked.ID, 0), row(waiting.ID, 0), row(held.ID, 2), row(held.ID, 1), row(held.ID, 0)}
		want[2].InHold = true
		want[0].Clocked, want[0].Hands = 40, "Runa"
		want[1].Blocked, want[1].Until = "waits for part ordered", hours(72)
		want[3].Blocked = "the instrument is in hold, A1"
		want[4].Blocked = "the instrument is in hold, A1"
		if diff := cmp.Diff(want, got, sameValue); diff != "" {
			t.Errorf("open tasks, with job %d collected (-want +got):\n%s", done.ID, diff)
		}
	})
}

func TestOpenHolds(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		fullJob(t, s, p) // its hold has ended, in A1
		fresh := approvedJob(t, s, p, 10, holdTask())
		moist := approvedJob(t, s, p, 11, holdTask())
		change(t, s, fresh.ID, func(j *job.Job) {
			j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "B2", Start: hours(2), By: "Runa"}}
		})
		change(t, s, moist.ID, func(j *job.Job) {
			j.Holds = []job.Hold{{Task: j.Tasks[0].ID, Place: "B1", Start: hours(3), By: "Runa", Readings: []job.Reading{
				{At: hours(4), RH: percent("40"), Gap: mm("1", "1"), By: "Runa"},
				{At: hours(100), RH: percent("61"), Gap: couldNotReach, Weight: grams("2170"), By: "Runa"},
			}}}
		})
		got, err := s.OpenHolds(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		a, b := readJob(t, s, fresh.ID), readJob(t, s, moist.ID)
		want := []workshop.HoldRow{
			{Job: b.ID, Place: "B1", Start: hours(3), Readings: 2, LastAt: hours(100), RH: percent("61"), Gap: mm("1", "1"), Weight: grams("2170")},
			{Job: a.ID, Place: "B2", Start: hours(2)},
		}
		for i, j := range []*job.Job{b, a} {
			want[i].Tag, want[i].Title, want[i].Task, want[i].Hold = j.Tag, "Orrin No. 3, steel-string guitar", j.Tasks[0].ID, j.Holds[0].ID
			want[i].Days, want[i].Record = days("7", "11.5", "21"), j.Holds[0]
			want[i].Record.By = "" // who began it is not read
		}
		if diff := cmp.Diff(want, got, sameValue); diff != "" {
			t.Errorf("open holds (-want +got):\n%s", diff)
		}
		shop := &workshop.Shop{Places: []string{"B1", "B2", "B3"}}
		cab := workshop.CabinetOf(shop, got, nil, hold.Prior{}, hours(101))
		if cab.Held[0].Stop() == "" || !strings.Contains(cab.Answer, "too moist") {
			t.Errorf("air at 61 %% must be warned of first: %q", cab.Answer)
		}
	})
}

func TestRunningClocks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		fullJob(t, s, p)
		a, b := approvedJob(t, s, p, 10, crackTask()), approvedJob(t, s, p, 11, setUpTask())
		change(t, s, a.ID, func(j *job.Job) {
			j.Clockings = []job.Clocking{{Task: j.Tasks[0].ID, Staff: p.runa.ID, Name: "Runa", Start: hours(9)}}
		})
		change(t, s, b.ID, func(j *job.Job) {
			j.Clockings = []job.Clocking{{Task: j.Tasks[0].ID, Staff: p.odo.ID, Name: "Odo", Start: hours(8)}}
		})
		got, err := s.RunningClocks(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		want := []workshop.ClockRow{
			{Staff: p.odo.ID, Name: "Odo", Job: b.ID, Tag: 11, Task: b.Tasks[0].ID, What: "Set up", Since: hours(8)},
			{Staff: p.runa.ID, Name: "Runa", Job: a.ID, Tag: 10, Task: a.Tasks[0].ID, What: "Glue a crack", Since: hours(9)},
		}
		if diff := cmp.Diff(want, got, sameValue); diff != "" {
			t.Errorf("running clocks (-want +got):\n%s", diff)
		}
	})
}
