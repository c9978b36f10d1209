package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
)

// ForgottenError reports that a clock of the same person ran on overnight: it is not
// stopped at the present moment, for nobody worked through the night.
type ForgottenError struct {
	Forgotten
	Zone *time.Location
	who  domain.StaffID
}

// Error asks when the clock stopped.
func (e *ForgottenError) Error() string { return e.Text(e.Zone, e.who) }

// ErrorKind makes it a conflict: it is over once the end was told.
func (e *ForgottenError) ErrorKind() domain.Kind { return domain.Conflict }

// Stopped is when a clock truly stopped, with the reason why nobody stopped it.
type Stopped struct {
	At     time.Time // zero: now
	Reason string
}

// ClockOnAfter starts the clock of by on a task, and first ends the clock that runs
// elsewhere at the moment given: the stretch that ran on stays on record, and the
// shorter one counts.
func (w *Workshop) ClockOnAfter(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, stopped Stopped) error {
	return w.clockOn(ctx, by, id, task, true, stopped)
}

// clockOn starts the clock of by on a task.
func (w *Workshop) clockOn(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, switchOver bool, stopped Stopped) error {
	return w.onJob(ctx, by, ActClock, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if err := clockOffElsewhere(ctx, tx, by, j, switchOver, stopped, at); err != nil {
			return did{}, err
		}
		t, err := j.Task(task)
		if err != nil {
			return did{}, err
		}
		return did{what: "clocked on: " + t.Name}, j.ClockOn(task, by, at)
	})
}

// clockOffElsewhere ends the clock that by has running on any job.
func clockOffElsewhere(ctx context.Context, tx Tx, by domain.Actor, here *job.Job, switchOver bool, stopped Stopped, at time.Time) error {
	other, task, err := tx.RunningElsewhere(ctx, by.Staff)
	if err != nil || other == 0 {
		return err
	}
	j := here
	if other != here.ID {
		if j, err = tx.Job(ctx, other); err != nil {
			return err
		}
	}
	t, err := j.Task(task)
	if err != nil {
		return err
	}
	entry := Entry{Job: j.ID, At: at, By: by.Name, What: "clocked off: " + t.Name, After: "switched over"}
	if stopped.At.IsZero() {
		err = stopNow(ctx, tx, j, by, t, switchOver, at)
	} else {
		entry.After = "stopped " + stopped.At.UTC().Format(time.RFC3339) + ": " + stopped.Reason
		err = endAt(j, by, stopped, at)
	}
	if err != nil {
		return err
	}
	if err := tx.SaveJob(ctx, j); err != nil {
		return err
	}
	return tx.Note(ctx, &entry)
}

// stopNow stops the clock of by on a task of j at the present moment, unless it ran on
// overnight or the person did not say to switch over.
func stopNow(ctx context.Context, tx Tx, j *job.Job, by domain.Actor, t *job.Task, switchOver bool, at time.Time) error {
	if err := notOvernight(ctx, tx, j, by, t.ID, at); err != nil {
		return err
	}
	if !switchOver {
		return domain.Conflictf("your clock runs on tag %d, %s; stop it there, or switch over", j.Tag, t.Name)
	}
	return j.ClockOff(t.ID, by, at)
}

// endAt ends the running clock of by on j at the moment told.
func endAt(j *job.Job, by domain.Actor, stopped Stopped, at time.Time) error {
	end := domain.Moment(stopped.At)
	if end.After(at) {
		return &domain.Error{Kind: domain.Invalid, Text: "the end lies in the future", Fields: domain.Fields{"end": "must not lie in the future"}}
	}
	c := j.Running(by.Staff)
	if c == nil {
		return domain.Conflictf("your clock does not run on this job")
	}
	return j.CorrectClocking(c.ID, c.Start, end, stopped.Reason, by)
}

// notOvernight refuses to stop the clock of by on a task at the present moment when it
// began on an earlier day and that day's work is over.
func notOvernight(ctx context.Context, tx Tx, j *job.Job, by domain.Actor, task domain.TaskID, at time.Time) error {
	c := j.Running(by.Staff)
	if c == nil || c.Task != task {
		return nil
	}
	shop, err := tx.Shop(ctx)
	if err != nil {
		return err
	}
	if shop.Today(c.Start) == shop.Today(at) {
		return nil
	}
	who, err := tx.Staff(ctx, by.Staff)
	if err != nil {
		return err
	}
	t, err := j.Task(task)
	if err != nil {
		return err
	}
	row := ClockRow{Staff: by.Staff, Name: by.Name, Job: j.ID, Tag: j.Tag, Task: task, What: t.Name, Since: c.Start}
	if left := ForgottenClocks([]ClockRow{row}, []Staff{*who}, shop, at); len(left) > 0 {
		return &ForgottenError{Forgotten: left[0], Zone: shop.Location(), who: by.Staff}
	}
	return nil
}

// mayCorrect lets people put their own clockings right, and owners all.
func mayCorrect(j *job.Job, id domain.ClockingID, by domain.Actor) error {
	for _, c := range j.Clockings {
		if c.ID == id && c.Staff != by.Staff && !by.Wears(domain.Owner) {
			return domain.Deniedf("this is %s’s time; they put it right themselves, or an owner does", c.Name)
		}
	}
	return nil
}

// clockedMinutes is the minutes on a task in words.
func clockedMinutes(j *job.Job, task domain.TaskID, at time.Time) string {
	return fmt.Sprintf("%d min on it so far", j.Minutes(task, at))
}
