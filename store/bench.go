package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// benchStages are the stages between the yes and the quality check.
var benchStages = []job.Stage{job.Approved, job.InHold, job.OnBench, job.Waiting}

// ofBench chooses the rows that belong to jobs on the bench.
const ofBench = "job_id IN (SELECT id FROM jobs WHERE stage IN ?)"

// benchJob is a job as far as the bench list needs it.
type benchJob struct {
	job   *job.Job
	title string
}

// OpenTasks reads the open tasks of the jobs between the yes and the quality
// check, by tag and phase, each with the reason why it is not free.
func (s *Store) OpenTasks(ctx context.Context) ([]workshop.TaskRow, error) {
	var jobs []benchJob
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		jobs, err = readBench(db)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list the open tasks: %w", err)
	}
	now := s.db.NowFunc()
	var out []workshop.TaskRow
	for _, b := range jobs {
		out = append(out, taskRows(b, now)...)
	}
	return out, nil
}

// readBench reads the jobs on the bench by tag, each with its open tasks, waits
// and holds, and all of its clockings.
func readBench(db *gorm.DB) ([]benchJob, error) {
	var heads []struct {
		ID         int64
		Tag        int
		Promised   *string
		ApprovedAt moment
		Maker      string
		Model      string
		Kind       string
	}
	err := db.Raw(`SELECT j.id, j.tag, j.promised, j.approved_at, i.maker, i.model, i.kind
		FROM jobs j JOIN instruments i ON i.id = j.instrument_id WHERE j.stage IN ? ORDER BY j.tag`, benchStages).Scan(&heads).Error
	if err != nil {
		return nil, err
	}
	out, byID := make([]benchJob, len(heads)), make(map[int64]*job.Job, len(heads))
	for i, h := range heads {
		j := &job.Job{ID: domain.JobID(h.ID), Tag: h.Tag, Promised: orEmpty[domain.Date](h.Promised), Approved: h.ApprovedAt.Time}
		out[i], byID[h.ID] = benchJob{j, titleOf(h.Maker, h.Model, h.Kind)}, j
	}
	return out, readBenchChildren(db, byID)
}

// holdsThatMatter are those that run and those of open tasks: the last of them
// may have served.
const holdsThatMatter = "(ended_at IS NULL OR task_id IN (SELECT id FROM tasks WHERE done_at IS NULL AND dropped_at IS NULL))"

func readBenchChildren(db *gorm.DB, jobs map[int64]*job.Job) error {
	var c childRows
	for _, read := range []struct {
		rows any
		only string
	}{
		{&c.tasks, "done_at IS NULL AND dropped_at IS NULL"}, {&c.waits, "ended_at IS NULL"},
		{&c.holds, holdsThatMatter}, {&c.clockings, "1 = 1"},
	} {
		if err := db.Where(ofBench, benchStages).Where(read.only).Order("id").Find(read.rows).Error; err != nil {
			return err
		}
	}
	for i := range c.tasks {
		t, err := c.tasks[i].task()
		if err != nil {
			return err
		}
		j := jobs[c.tasks[i].JobID]
		j.Tasks = append(j.Tasks, t)
	}
	for i := range c.waits {
		j := jobs[c.waits[i].JobID]
		j.Waits = append(j.Waits, c.waits[i].wait())
	}
	for i := range c.holds {
		j := jobs[c.holds[i].JobID]
		j.Holds = append(j.Holds, c.holds[i].hold())
	}
	for i := range c.clockings {
		j := jobs[c.clockings[i].JobID]
		j.Clockings = append(j.Clockings, c.clockings[i].clocking())
	}
	return nil
}

// taskRows makes the rows of one job, by phase.
func taskRows(b benchJob, now time.Time) []workshop.TaskRow {
	j := b.job
	out := make([]workshop.TaskRow, 0, len(j.Tasks))
	for i := range j.Tasks {
		t := &j.Tasks[i]
		row := workshop.TaskRow{
			Job: j.ID, Tag: j.Tag, Title: b.title, Promised: j.Promised, Task: *t, Blocked: j.Blocked(t),
			Clocked: j.Minutes(t.ID, now), Hands: handsOn(j, t.ID), InHold: t.Hold && j.OpenHold() != nil,
			Served: t.Hold && j.Served(t.ID),
		}
		if row.Blocked != "" {
			row.Until = waitEnd(j, t.ID)
		}
		out = append(out, row)
	}
	slices.SortStableFunc(out, func(a, b workshop.TaskRow) int { return cmp.Compare(a.Task.Phase, b.Task.Phase) })
	return out
}

// waitEnd returns the expected end of the wait that keeps a task, the first one
// as in [job.Job.Blocked]; the zero time for another reason, as nobody knows
// when that ends.
func waitEnd(j *job.Job, id domain.TaskID) time.Time {
	for _, w := range j.Waits {
		if w.End.IsZero() && (w.Task == 0 || w.Task == id) {
			return w.Until
		}
	}
	return time.Time{}
}

// handsOn names who has the clock running on a task.
func handsOn(j *job.Job, id domain.TaskID) string {
	var names []string
	for _, c := range j.Clockings {
		if c.Task == id && c.End.IsZero() {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, ", ")
}

// RunningClocks reads the running clocks, longest first.
func (s *Store) RunningClocks(ctx context.Context) ([]workshop.ClockRow, error) {
	var rows []struct {
		StaffID   int64
		Name      string
		JobID     int64
		Tag       int
		TaskID    int64
		What      string
		StartedAt moment
	}
	err := s.db.WithContext(ctx).Raw(`SELECT c.staff_id, c.name, c.job_id, j.tag, c.task_id, t.name AS what, c.started_at
		FROM clockings c JOIN jobs j ON j.id = c.job_id JOIN tasks t ON t.id = c.task_id
		WHERE c.ended_at IS NULL ORDER BY c.started_at, c.id`).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("list the running clocks: %w", translate(err))
	}
	out := make([]workshop.ClockRow, len(rows))
	for i, r := range rows {
		out[i] = workshop.ClockRow{
			Staff: domain.StaffID(r.StaffID), Name: r.Name, Job: domain.JobID(r.JobID), Tag: r.Tag,
			Task: domain.TaskID(r.TaskID), What: r.What, Since: r.StartedAt.Time,
		}
	}
	return out, nil
}
